/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/audit_look.h"

#include <math.h>
#include <string.h>

#include "earthing/electrode.h"

/* Common practice, no source: rods as they are driven. */
static const double rod_m = 3, rod_diameter_m = 0.016, most_rods = 10;
/* Half of what the table's lowest resistivity gives is still believed: ground varies. */
static const double believed = 0.5;
static const double loop_most_ohm = 0.35; /* declared for TN-C-S, seen */
static const double uneven_v = 23;        /* a tenth of 230 V: common practice, no source */
static const double charger_least_a = 6;  /* IEC 61851-1, from memory */

static void say(struct pd_audit_result *result, enum pd_audit_reason reason)
{
    pd_reasons_add(&result->reasons, reason);
}

/* The least that a row of rods of this whole length has in this soil, standing far apart. */
static double least_rods(double length_m, double soil_ohm_m)
{
    const double rods = fmin(fmax(1, floor(length_m / rod_m)), most_rods);
    const struct pd_shape_size one = {.length_m = length_m / rods,
                                      .diameter_m = fmin(rod_diameter_m, length_m / rods / 10),
                                      .soil_ohm_m = soil_ohm_m,
                                      .count = 1};
    return believed * pd_shape_resistance(PD_ROD, &one) / rods;
}

static void look_at_electrode(const struct pd_audit *audit, const struct pd_site *site,
                              struct pd_look *look, struct pd_audit_result *result)
{
    const double ohm = site->number[PD_S_ELECTRODE];
    const int shape = site->choice[PD_S_SHAPE];
    const char *const soil = site->text[PD_S_SOIL];
    double length_m = site->number[PD_S_ROD_LENGTH];
    size_t i = 0;
    if (isnan(ohm) || soil[0] == '\0' || (shape >= 0 && shape != PD_ROD))
        return;
    while (i < audit->soils && strcmp(audit->soil[i].name, soil) != 0)
        i++;
    if (i == audit->soils) {
        say(result, PD_A_SOIL_UNKNOWN);
        return;
    }
    if (isnan(length_m)) {
        length_m = rod_m * most_rods;
        say(result, PD_A_TEN_RODS);
    }
    const double least_ohm = least_rods(length_m, audit->soil[i].low_ohm_m);
    if (ohm >= least_ohm)
        return;
    result->figure[PD_F_LEAST_OHM] = least_ohm;
    say(result, PD_A_ELECTRODE_LOW);
    look->distrusted |= PD_REST_ELECTRODE;
}

static double transformer_ohm(const struct pd_audit *audit, const char *name,
                              struct pd_audit_result *result)
{
    for (size_t i = 0; i < audit->transformers && name[0] != '\0'; i++)
        if (strcmp(audit->transformer[i].name, name) == 0)
            return audit->transformer[i].ohm;
    say(result, name[0] != '\0' ? PD_A_TRANSFORMER_UNKNOWN : PD_A_ANY_TRANSFORMER);
    return audit->least_transformer_ohm;
}

static void look_at_loop(const struct pd_audit *audit, const struct pd_site *site,
                         struct pd_look *look, struct pd_audit_result *result)
{
    const double ohm = site->number[PD_S_LOOP];
    const bool pen = site->choice[PD_S_EARTHING] == PD_TN_C_S;
    if (isnan(ohm))
        return;
    if (pen && ohm >= 10) {
        say(result, PD_A_LOOP_UNIT);
        look->unproved |= PD_REST_ALL;
    } else if (ohm < transformer_ohm(audit, site->text[PD_S_TRANSFORMER], result)) {
        say(result, PD_A_LOOP_LOW);
        look->unproved |= PD_REST_ALL;
    } else if (pen && ohm > loop_most_ohm) {
        say(result, PD_A_LOOP_HIGH);
    }
}

static void look_at_voltages(const struct pd_audit *audit, const struct pd_site *site,
                             struct pd_look *look, struct pd_audit_result *result)
{
    double least_v = INFINITY, most_v = -INFINITY;
    bool unit = false;
    for (int line = 0; line < PD_LINES; line++) {
        const double v = site->number[PD_S_VOLTAGE_L1 + line];
        if (isnan(v))
            continue;
        unit |= v < 1 || (v > 360 && v < 440 && audit->limits.nominal_v < 300);
        least_v = fmin(least_v, v);
        most_v = fmax(most_v, v);
    }
    if (most_v < least_v)
        return;
    if (unit) {
        say(result, PD_A_VOLTAGE_UNIT);
        look->unproved |= PD_REST_ALL;
        return;
    }
    if (least_v < audit->limits.supply_low_v || most_v > audit->limits.supply_high_v)
        say(result, PD_A_VOLTAGE_OUTSIDE);
    if (most_v - least_v > uneven_v)
        say(result, PD_A_VOLTAGE_UNEVEN);
}

static void look_at_units(const struct pd_site *site, struct pd_look *look,
                          struct pd_audit_result *result)
{
    const double charger_a = site->number[PD_S_CHARGER];
    /* 7.4 is a size in kW, not in A: currents are set in whole ampere. */
    if (charger_a < charger_least_a || (charger_a < 25 && charger_a != floor(charger_a))) {
        say(result, PD_A_CHARGER_UNIT);
        look->distrusted |= PD_REST_LOADS;
    }
    if (site->number[PD_S_RCD] < 1) {
        say(result, PD_A_RCD_UNIT);
        look->distrusted |= PD_REST_TT;
    }
    if (site->number[PD_S_DELAY] >= 100) {
        say(result, PD_A_DELAY_UNIT);
        look->distrusted |= PD_REST_DEVICE;
    }
    for (int line = 0; line < PD_LINES; line++)
        if (site->number[PD_S_LEAST_L1 + line] > site->number[PD_S_DEMAND_L1 + line]) {
            say(result, PD_A_LEAST_ABOVE);
            look->distrusted |= PD_REST_LOADS;
        }
    if (site->number[PD_S_LOW] >= site->number[PD_S_HIGH]) {
        say(result, PD_A_BAND_UPSIDE_DOWN);
        look->distrusted |= PD_REST_DEVICE;
    }
}

static void look_at_season(const struct pd_site *site, struct pd_look *look,
                           struct pd_audit_result *result)
{
    const int season = site->choice[PD_S_SEASON];
    if (isnan(site->number[PD_S_ELECTRODE]) || !isnan(site->number[PD_S_SEASON_FACTOR]) ||
        season == PD_SEASON_DRY)
        return;
    say(result, season < 0 ? PD_A_NO_SEASON : PD_A_SEASON_FACTOR);
    look->unproved |= PD_REST_ELECTRODE;
}

static void look_at_copies(const struct pd_site *site, unsigned copied, struct pd_look *look,
                           struct pd_audit_result *result)
{
    if ((copied & 1u << PD_READ_ELECTRODE) != 0 && !isnan(site->number[PD_S_ELECTRODE])) {
        say(result, PD_A_ELECTRODE_COPIED);
        look->unproved |= PD_REST_ELECTRODE;
    }
    if ((copied & 1u << PD_READ_LOOP) != 0 && !isnan(site->number[PD_S_LOOP])) {
        say(result, PD_A_LOOP_COPIED);
        look->unproved |= PD_REST_ALL;
    }
    if ((copied & 1u << PD_READ_VOLTAGE) != 0 && !isnan(site->number[PD_S_VOLTAGE_L1])) {
        say(result, PD_A_VOLTAGE_COPIED);
        look->unproved |= PD_REST_ALL;
    }
}

struct pd_look pd_audit_look(const struct pd_audit *audit, const struct pd_site *site,
                             unsigned copied, struct pd_audit_result *result)
{
    struct pd_look look = {0};
    if (site->wrong > 0) {
        say(result, PD_A_CELL_WRONG);
        look.unproved |= PD_REST_ALL;
    }
    look_at_electrode(audit, site, &look, result);
    look_at_season(site, &look, result);
    look_at_loop(audit, site, &look, result);
    look_at_voltages(audit, site, &look, result);
    look_at_units(site, &look, result);
    look_at_copies(site, copied, &look, result);
    return look;
}
