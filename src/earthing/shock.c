/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/shock.h"

#include <math.h>
#include <stdio.h>

#include "table/reference.h"
#include "table/table.h"

const char *const pd_curve_names[PD_CURVES] = {[PD_CURVE_A] = "a",
                                               [PD_CURVE_B] = "b",
                                               [PD_CURVE_C1] = "c1",
                                               [PD_CURVE_C2] = "c2",
                                               [PD_CURVE_C3] = "c3"};

const char *const pd_zone_names[PD_ZONES] = {
    [PD_AC_1] = "AC-1",     [PD_AC_2] = "AC-2",     [PD_AC_3] = "AC-3",
    [PD_AC_4_1] = "AC-4.1", [PD_AC_4_2] = "AC-4.2", [PD_AC_4_3] = "AC-4.3"};

const char *pd_zone_effect(enum pd_zone_kind kind)
{
    static const char *const effects[PD_ZONES] = {
        [PD_AC_1] = "may be felt, not more",
        [PD_AC_2] = "felt, muscles twitch; as a rule no harm",
        [PD_AC_3] = "cramp: may not be able to let go, breathing hard; as a rule no lasting harm",
        [PD_AC_4_1] = "the heart may stop or fibrillate: up to about 5 % of people",
        [PD_AC_4_2] = "the heart fibrillates in up to about 50 % of people",
        [PD_AC_4_3] = "the heart fibrillates in more than about 50 % of people"};
    return effects[kind];
}

enum column { CURVE, TIME, CURRENT, STATUS, SOURCE, COLUMNS };
static const struct pd_column columns[COLUMNS] = {
    [CURVE] = {"curve", true},   [TIME] = {"time_s", true},   [CURRENT] = {"current_ma", true},
    [STATUS] = {"status", true}, [SOURCE] = {"source", true},
};

static enum pd_status read_point(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct pd_shock_curves *const curves = context;
    size_t kind;
    double current_ma;
    if (!pd_row_choice(row, CURVE, pd_curve_names, PD_CURVES, &kind, errors))
        return PD_ERR_INPUT;
    struct pd_shock_curve *const curve = &curves->curve[kind];
    const size_t i = curve->count;
    if (i == PD_CURVE_POINTS_MAX)
        return pd_row_error(row, CURVE, errors, "has more rows than there is room for");
    bool good =
        pd_row_number(row, TIME, (struct pd_range){0.001, 100, NULL}, &curve->time_s[i], errors);
    good &= pd_row_number(row, CURRENT, (struct pd_range){0.01, 10000, NULL}, &current_ma, errors);
    if (!good)
        return PD_ERR_INPUT;
    curve->current_a[i] = current_ma / 1000;
    if (i > 0 && !(curve->time_s[i] > curve->time_s[i - 1]))
        return pd_row_error(row, TIME, errors, "does not rise");
    if (i > 0 && curve->current_a[i] > curve->current_a[i - 1])
        return pd_row_error(row, CURRENT, errors, "rises with time");
    snprintf(curve->status, sizeof curve->status, "%s", pd_row_text(row, STATUS));
    snprintf(curve->source, sizeof curve->source, "%s", pd_row_text(row, SOURCE));
    curve->count++;
    return PD_OK;
}

enum pd_status pd_shock_curves_read(struct pd_shock_curves *curves, struct pd_errors *errors)
{
    *curves = (struct pd_shock_curves){0};
    return pd_table_read_text(pd_reference_shock_curves, pd_reference_shock_curves_length,
                              "reference/shock_curves.csv", columns, COLUMNS, read_point, curves,
                              errors);
}

double pd_shock_curve_a(const struct pd_shock_curves *curves, enum pd_curve kind, double time_s)
{
    const struct pd_shock_curve *const curve = &curves->curve[kind];
    size_t i = 1;
    if (curve->count == 0 || !(time_s >= curve->time_s[0]))
        return NAN;
    if (time_s >= curve->time_s[curve->count - 1])
        return curve->current_a[curve->count - 1];
    while (time_s > curve->time_s[i])
        i++;
    const double part =
        log(time_s / curve->time_s[i - 1]) / log(curve->time_s[i] / curve->time_s[i - 1]);
    return curve->current_a[i - 1] * pow(curve->current_a[i] / curve->current_a[i - 1], part);
}

/* Whether a current is surely above a curve, and whether it may be: a curve not stated at a
 * duration is not lower than at its first point. */
static void hold_against(const struct pd_shock_curves *curves, enum pd_curve kind, double amps,
                         double time_s, bool *surely, bool *maybe)
{
    const double stated_a = pd_shock_curve_a(curves, kind, time_s);
    *surely = amps >= stated_a; /* false where it is not stated */
    *maybe = *surely || (isnan(stated_a) && !(amps < curves->curve[kind].current_a[0]));
}

struct pd_zone pd_zone_of(const struct pd_shock_curves *curves, double body_a, double heart_a,
                          double time_s)
{
    struct pd_zone zone = {.known = isfinite(body_a) && isfinite(heart_a) && body_a >= 0 &&
                                    heart_a >= 0 && time_s >= 0};
    bool below = false;
    for (int curve = PD_CURVE_A; curve < PD_CURVES && zone.known; curve++) {
        const double amps = curve >= PD_CURVE_C1 ? heart_a : body_a;
        bool surely, maybe;
        hold_against(curves, (enum pd_curve)curve, amps, time_s, &surely, &maybe);
        below |= !maybe;
        if (surely)
            zone.least = (enum pd_zone_kind)(PD_AC_1 + curve + 1);
        if (!below)
            zone.most = (enum pd_zone_kind)(PD_AC_1 + curve + 1);
    }
    return zone;
}

enum pd_status pd_permissible_touch(const struct pd_body *body,
                                    const struct pd_shock_curves *curves, double time_s,
                                    double *touch_v)
{
    const double heart_a = pd_shock_curve_a(curves, PD_CURVE_C2, time_s);
    enum pd_status doubt = PD_OK;
    double sum_v = 0;
    *touch_v = NAN;
    for (int path = 0; path < PD_PATHS; path++) {
        double path_v;
        const enum pd_status status =
            pd_body_voltage(body, PD_SKIN_DRY, PD_PEOPLE_50, (enum pd_path)path,
                            heart_a / body->path[path].heart_factor, &path_v);
        if (status < PD_OK)
            return status;
        doubt = status > doubt ? status : doubt;
        sum_v += body->path[path].share * path_v;
    }
    *touch_v = sum_v / PD_PATHS;
    return doubt;
}
