/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/earth.h"

#include <math.h>

bool pd_earth_own(const struct pd_case *c, size_t i)
{
    return c->network != NULL && c->installation != PD_NONE && pd_case_own(c, c->tie[i].node);
}

/* Every formula goes with the soil's resistivity: so does a reading. */
static bool take_kind(const struct pd_soil_kind *soil, void *context)
{
    struct pd_earth *const earth = context;
    const struct pd_electrode *const e = earth->electrode;
    if (earth->kinds == PD_EARTH_KINDS)
        return false;
    const double ohm_per_ohm_m = e->resistance_ohm / e->size.soil_ohm_m;
    earth->kind[earth->kinds++] =
        (struct pd_earth_kind){.soil = *soil,
                               .low_ohm = e->shaped ? ohm_per_ohm_m * soil->low_ohm_m : NAN,
                               .high_ohm = e->shaped ? ohm_per_ohm_m * soil->high_ohm_m : NAN};
    return true;
}

/* The rule asks of what is on the main earthing terminal, or on TT on the charging point: of one
 * electrode only where it is there alone. */
static bool is_asked(const struct pd_case *c, size_t i)
{
    const struct pd_node *const node = c->network->node;
    const bool tt = c->earthing == PD_TT;
    size_t others = 0;
    for (size_t k = 0; k < c->electrodes.count; k++)
        others += k != i && pd_earth_own(c, k) && (node[c->tie[k].node].pe_node == PD_NONE) == tt;
    return others == 0 && (node[c->tie[i].node].pe_node == PD_NONE) == tt;
}

enum pd_status pd_earth_find(const struct pd_assessment *a, size_t i, struct pd_earth *earth)
{
    const struct pd_electrode *const e = &a->study_case->electrodes.electrode[i];
    const double most_ohm = is_asked(a->study_case, i) ? a->rule.electrode_max_ohm : NAN;
    *earth = (struct pd_earth){
        .electrode = e,
        .dry_ohm = pd_electrode_dry(e),
        .year_ohm = NAN,
        .most_ohm = most_ohm,
        .most_now_ohm = isfinite(most_ohm) && most_ohm > 0 ? most_ohm / e->season_factor : NAN,
    };
    enum pd_status status = pd_season_measured(&earth->year);
    if (status == PD_OK && !e->season_declared)
        earth->year_ohm = e->resistance_ohm * earth->year.factor;
    if (status == PD_OK)
        status = pd_soil_kinds_each(take_kind, earth, NULL);
    return status;
}
