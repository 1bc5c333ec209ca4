/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/json_parts.h"
#include "report/making.h"
#include "study/earth.h"

static json_t *kinds_array(const struct pd_earth *earth)
{
    struct pd_making array = pd_json_make_array();
    for (size_t k = 0; k < earth->kinds && earth->electrode->shaped; k++) {
        const struct pd_earth_kind *const kind = &earth->kind[k];
        struct pd_making object = pd_json_make_object();
        pd_json_put(&object, "soil", pd_json_text(kind->soil.name));
        pd_json_put(&object, "low_ohm", pd_json_number(kind->low_ohm));
        pd_json_put(&object, "high_ohm", pd_json_number(kind->high_ohm));
        pd_json_append(&array, pd_json_made(&object));
    }
    return pd_json_made(&array);
}

static json_t *earth_object(const struct pd_assessment *a, size_t i)
{
    const struct pd_electrode *const e = &a->study_case->electrodes.electrode[i];
    struct pd_earth earth;
    struct pd_making object = pd_json_make_object();
    if (pd_earth_find(a, i, &earth) != PD_OK)
        return NULL;
    pd_json_put(&object, "electrode", pd_json_text(e->name));
    pd_json_put(&object, "node", pd_json_text(e->node_name));
    pd_json_put(&object, "resistance_ohm", pd_json_number(e->resistance_ohm));
    pd_json_put(&object, "calculated", json_boolean(e->calculated));
    pd_json_put(&object, "season_factor",
                pd_json_number(e->season_declared ? e->season_factor : NAN));
    pd_json_put(&object, "dry_ohm", pd_json_number(earth.dry_ohm));
    pd_json_put(&object, "year_ohm", pd_json_number(earth.year_ohm));
    pd_json_put(&object, "most_ohm", pd_json_number(earth.most_ohm));
    pd_json_put(&object, "most_now_ohm", pd_json_number(earth.most_now_ohm));
    pd_json_put(&object, "soil_ohm_m", pd_json_number(e->size.soil_ohm_m));
    pd_json_put(&object, "in_other_ground", kinds_array(&earth));
    return pd_json_made(&object);
}

json_t *pd_json_earth(const struct pd_assessment *a)
{
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < a->study_case->electrodes.count; i++)
        if (pd_earth_own(a->study_case, i))
            pd_json_append(&array, earth_object(a, i));
    return pd_json_made(&array);
}
