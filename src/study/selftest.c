/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/selftest.h"

#include <math.h>
#include <string.h>

#include "earthing/electrode.h"
#include "earthing/ground.h"
#include "earthing/soil.h"
#include "limits/limits.h"
#include "study/selftest_inputs.h"
#include "study/selftest_people.h"
#include "study/selftest_star.h"
#include "table/reference.h"

enum column { CHECK, KIND, QUANTITY, INPUTS, WANT, TOLERANCE, UNIT, SEEN, SOURCE, COLUMNS };

static const struct pd_column columns[COLUMNS] = {
    [CHECK] = {"check", true},   [KIND] = {"kind", true}, [QUANTITY] = {"quantity", true},
    [INPUTS] = {"inputs", true}, [WANT] = {"want", true}, [TOLERANCE] = {"tolerance", true},
    [UNIT] = {"unit", true},     [SEEN] = {"seen", true}, [SOURCE] = {"source", true},
};

enum kind {
    STAR,
    FORMULA,
    ROD,
    WIRE,
    PLATE,
    RING,
    SQUARE,
    STRIP,
    FOUNDATION,
    FOUR_PIN,
    STEP,
    PERMISSIBLE,
    TOLERABLE,
    KINDS
};
static const char *const kind_names[KINDS] = {
    "star",  "formula",    "rod",      "wire", "plate",       "ring",     "square",
    "strip", "foundation", "four-pin", "step", "permissible", "tolerable"};
static const char *const formula_quantities[] = {"max_ohm"};
static const char *const permissible_quantities[] = {"touch_v"};
static const char *const shape_quantities[] = {"resistance_ohm"};
static const char *const pin_quantities[] = {"apparent_ohm_m"};
static const char *const step_quantities[] = {"touch_share"};

/* How the value got to us: read in the source, its inputs read there, from memory, or worked out by
 * this project. */
static const char *const seen_names[] = {"seen", "inputs seen", "memory", "derived"};

/* Two roads to one number differ by rounding only. */
static const double roads_apart = 1e-9;

struct walk {
    pd_selftest_function *function;
    void *context;
};

static double by_formula(const struct pd_inputs *inputs)
{
    const double *const value = inputs->value;
    return pd_electrode_formula(value[PD_I_NOMINAL_V], value[PD_I_CURRENT_A], value[PD_I_LIMIT_V],
                                value[PD_I_FACTOR]);
}

static double by_shape(enum pd_shape shape, const struct pd_inputs *inputs)
{
    const double *const value = inputs->value;
    const struct pd_shape_size size = {
        .length_m = value[PD_I_LENGTH_M],
        .diameter_m = value[PD_I_DIAMETER_M],
        .depth_m = value[PD_I_DEPTH_M],
        .spacing_m = value[PD_I_SPACING_M],
        .soil_ohm_m = value[PD_I_SOIL_OHM_M],
        .count = value[PD_I_COUNT] >= 1 ? (size_t)value[PD_I_COUNT] : 1,
    };
    return pd_shape_resistance(shape, &size);
}

/* In the numerical ground; NaN where that is not to be leaned on. */
static double by_ground(const struct pd_inputs *inputs)
{
    const double *const value = inputs->value;
    const struct pd_shape_size size = {
        .length_m = value[PD_I_LENGTH_M], .diameter_m = value[PD_I_DIAMETER_M], .count = 1};
    const struct pd_soil soil = pd_soil_uniform(value[PD_I_SOIL_OHM_M]);
    const struct pd_place place = {value[PD_I_AT_M], 0, 0};
    struct pd_conductors conductors = {0};
    struct pd_ground *ground = NULL;
    double share = NAN, one_a = 1;
    const gsl_vector_view current = gsl_vector_view_array(&one_a, 1);
    if (pd_conductors_add_shape(&conductors, PD_ROD, &size, 0, 0, 0) == PD_OK &&
        pd_ground_solve(&conductors, &soil, NULL, &ground) == PD_OK)
        share = pd_ground_touch_v(ground, &current.vector, 0, &place) / pd_ground_ohm(ground, 0);
    pd_ground_free(&ground);
    pd_conductors_free(&conductors);
    return share;
}

static double by_four_pins(const struct pd_inputs *inputs)
{
    return pd_soil_four_pin_ohm_m(inputs->value[PD_I_SPACING_M],
                                  inputs->value[PD_I_RESISTANCE_OHM]);
}

static void take_one_road(struct pd_selftest_result *result, const char *road, double got)
{
    result->roads = 1;
    result->road[0] = road;
    result->got[0] = got;
}

static enum pd_status by_tables(const struct pd_inputs *inputs, struct pd_selftest_result *result)
{
    double touch_v;
    const enum pd_status status = pd_selftest_permissible(inputs, &touch_v);
    take_one_road(result, "tables", touch_v);
    return status;
}

static enum pd_status compute(enum kind kind, size_t quantity, const struct pd_inputs *inputs,
                              struct pd_selftest_result *result)
{
    switch (kind) {
    case STAR:
        return pd_selftest_star(inputs, (enum pd_star_quantity)quantity, result);
    case FORMULA:
        take_one_road(result, "formula", by_formula(inputs));
        return PD_OK;
    case ROD:
    case WIRE:
    case PLATE:
    case RING:
    case SQUARE:
    case STRIP:
    case FOUNDATION:
        take_one_road(result, "formula", by_shape((enum pd_shape)(PD_ROD + (kind - ROD)), inputs));
        return PD_OK;
    case FOUR_PIN:
        take_one_road(result, "formula", by_four_pins(inputs));
        return PD_OK;
    case STEP:
        take_one_road(result, "ground", by_ground(inputs));
        return PD_OK;
    case PERMISSIBLE:
        return by_tables(inputs, result);
    case TOLERABLE:
        take_one_road(result, "formula",
                      pd_selftest_tolerable(inputs, (enum pd_tolerable_quantity)quantity));
        return PD_OK;
    case KINDS:
        break;
    }
    return PD_ERR_ARGUMENT;
}

static bool within(double got, double want, double tolerance, bool angle)
{
    const double apart = angle ? remainder(got - want, 360) : got - want;
    return fabs(apart) <= tolerance; /* false for NaN */
}

static void judge(struct pd_selftest_result *result)
{
    const bool angle = strcmp(result->unit, "deg") == 0;
    result->passed = result->roads > 0;
    for (size_t i = 0; i < result->roads; i++) {
        const double agreed = roads_apart * fmax(1, fabs(result->got[0]));
        result->passed &= within(result->got[i], result->want, result->tolerance, angle) &&
                          within(result->got[i], result->got[0], agreed, angle);
    }
}

static bool read_quantity(const struct pd_row *row, enum kind kind, size_t *quantity,
                          struct pd_errors *errors)
{
    if (kind == STAR)
        return pd_row_choice(row, QUANTITY, pd_star_quantity_names, PD_STAR_QUANTITIES, quantity,
                             errors);
    if (kind == TOLERABLE)
        return pd_row_choice(row, QUANTITY, pd_tolerable_quantity_names, PD_TOLERABLE_QUANTITIES,
                             quantity, errors);
    const char *const *const quantities = kind == FORMULA       ? formula_quantities
                                          : kind == PERMISSIBLE ? permissible_quantities
                                          : kind == FOUR_PIN    ? pin_quantities
                                          : kind == STEP        ? step_quantities
                                                                : shape_quantities;
    return pd_row_choice(row, QUANTITY, quantities, 1, quantity, errors);
}

/* Reads what the answer is held against. */
static bool read_expected(const struct pd_row *row, struct pd_selftest_result *result,
                          struct pd_errors *errors)
{
    size_t seen;
    bool good = pd_row_name(row, CHECK, errors) != NULL;
    good &= pd_row_number(row, WANT, (struct pd_range){-1e9, 1e9, NULL}, &result->want, errors);
    good &= pd_row_number(row, TOLERANCE, (struct pd_range){1e-9, 1e3, NULL}, &result->tolerance,
                          errors);
    good &= pd_row_choice(row, SEEN, seen_names, sizeof seen_names / sizeof seen_names[0], &seen,
                          errors);
    if (!pd_row_has(row, SOURCE)) {
        pd_row_error(row, SOURCE, errors, "is empty; a check without a source is none");
        good = false;
    }
    result->check = pd_row_text(row, CHECK);
    result->quantity = pd_row_text(row, QUANTITY);
    result->unit = pd_row_text(row, UNIT);
    result->seen = pd_row_text(row, SEEN);
    result->source = pd_row_text(row, SOURCE);
    return good;
}

static enum pd_status run_row(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    const struct walk *const walk = context;
    struct pd_selftest_result result = {.got = {NAN, NAN}};
    struct pd_inputs inputs;
    size_t kind, quantity = 0;
    bool good = read_expected(row, &result, errors);
    good &= pd_inputs_read(row, INPUTS, &inputs, errors);
    good &= pd_row_choice(row, KIND, kind_names, KINDS, &kind, errors) &&
            read_quantity(row, (enum kind)kind, &quantity, errors);
    if (!good)
        return PD_ERR_INPUT;
    const enum pd_status status = compute((enum kind)kind, quantity, &inputs, &result);
    if (status == PD_ERR_ARGUMENT)
        return pd_row_error(row, INPUTS, errors, "these do not describe a %s", kind_names[kind]);
    if (status != PD_OK)
        return status;
    judge(&result);
    return walk->function(&result, walk->context) ? PD_OK : PD_ERR_INTERRUPTED;
}

enum pd_status pd_selftest_run_text(const char *text, size_t length, pd_selftest_function *function,
                                    void *context, struct pd_errors *errors)
{
    struct walk walk = {function, context};
    return pd_table_read_text(text, length, "reference/checks.csv", columns, COLUMNS, run_row,
                              &walk, errors);
}

enum pd_status pd_selftest_run(pd_selftest_function *function, void *context,
                               struct pd_errors *errors)
{
    return pd_selftest_run_text(pd_reference_checks, pd_reference_checks_length, function, context,
                                errors);
}
