/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/electrode.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "table/grow.h"
#include "table/names.h"
#include "table/words.h"

enum column {
    ELECTRODE,
    NODE,
    RESISTANCE,
    SHAPE,
    LENGTH,
    DIAMETER,
    DEPTH,
    COUNT,
    SPACING,
    SOIL,
    SEASON,
    X,
    Y,
    COLUMNS
};

static const struct pd_column columns[COLUMNS] = {
    [ELECTRODE] = {"electrode", true},
    [NODE] = {"node", true},
    [RESISTANCE] = {"resistance_ohm", false},
    [SHAPE] = {"shape", false},
    [LENGTH] = {"length_m", false},
    [DIAMETER] = {"diameter_mm", false},
    [DEPTH] = {"depth_m", false},
    [COUNT] = {"count", false},
    [SPACING] = {"spacing_m", false},
    [SOIL] = {"soil_ohm_m", false},
    [SEASON] = {"season_factor", false},
    [X] = {"x_m", false},
    [Y] = {"y_m", false},
};

static const struct pd_range resistances = {
    0.01, 1e9, "a lower reading is a fault of the test, for a higher one leave the electrode out"};
static const struct pd_range lengths = {0.05, 1000, NULL};

double pd_electrode_dry(const struct pd_electrode *electrode)
{
    return electrode->resistance_ohm * electrode->season_factor;
}

static bool is_known(const struct pd_row *row, enum column column, const char *shape,
                     struct pd_errors *errors)
{
    if (pd_row_has(row, column))
        return true;
    pd_row_error(row, column, errors, "is empty; a %s needs it", shape);
    return false;
}

static bool is_unused(const struct pd_row *row, enum column column, const char *shape,
                      struct pd_errors *errors)
{
    if (!pd_row_has(row, column))
        return true;
    pd_row_error(row, column, errors, "a %s has none", shape);
    return false;
}

/* Whether the row has what the shape needs and nothing that would be read past in silence, apart
 * from a depth, which makes no shape worse. An error for each. */
static bool check_given(const struct pd_row *row, enum pd_shape shape, struct pd_errors *errors)
{
    const char *const name = pd_shape_names[shape];
    const bool solid = shape == PD_PLATE || shape == PD_FOUNDATION;
    const bool rods = shape == PD_ROD || shape == PD_SQUARE;
    bool good = is_known(row, LENGTH, name, errors);
    good &= solid ? is_unused(row, DIAMETER, name, errors) : is_known(row, DIAMETER, name, errors);
    if (!rods && shape != PD_PLATE)
        good &= is_known(row, DEPTH, name, errors);
    if (shape == PD_SQUARE)
        good &= is_known(row, COUNT, "square of rods", errors);
    if (!rods) {
        good &= is_unused(row, COUNT, name, errors);
        good &= is_unused(row, SPACING, name, errors);
    }
    if (!pd_row_has(row, RESISTANCE)) /* else the ground is what the reading says */
        good &= is_known(row, SOIL, name, errors);
    return good;
}

/* Reads the sizes, whether or not they are needed. */
static bool read_size(const struct pd_row *row, struct pd_shape_size *size,
                      struct pd_errors *errors)
{
    double diameter_mm = NAN, count = 1;
    bool good = pd_row_number_or_keep(row, LENGTH, lengths, &size->length_m, errors);
    good &= pd_row_number_or_keep(row, SOIL, (struct pd_range){0.1, 1e5, NULL}, &size->soil_ohm_m,
                                  errors);
    good &= pd_row_number_or_keep(row, DIAMETER, (struct pd_range){1, 1000, NULL}, &diameter_mm,
                                  errors);
    good &=
        pd_row_number_or_keep(row, DEPTH, (struct pd_range){0, 100, NULL}, &size->depth_m, errors);
    good &= pd_row_number_or_keep(
        row, COUNT, (struct pd_range){1, 36, "10 rods in a line, 36 in a square"}, &count, errors);
    good &= pd_row_number_or_keep(row, SPACING, lengths, &size->spacing_m, errors);
    if (count != floor(count)) {
        pd_row_error(row, COUNT, errors, "%s is not a whole number",
                     pd_show(pd_row_text(row, COUNT)).text);
        good = false;
    }
    size->diameter_m = diameter_mm / 1000;
    size->count = (size_t)count;
    return good;
}

static bool check_spacing(const struct pd_row *row, const struct pd_shape_size *size,
                          struct pd_errors *errors)
{
    if (size->count > 1)
        return is_known(row, SPACING, "row of rods", errors);
    if (!pd_row_has(row, SPACING))
        return true;
    pd_row_error(row, SPACING, errors, "a single rod has none; give the count of rods too");
    return false;
}

/* The conditions of the formulas that sizes may break, worst first; false where none of them is the
 * reason. */
static bool report_thick(const struct pd_row *row, enum pd_shape shape,
                         const struct pd_shape_size *size, struct pd_errors *errors)
{
    const char *const name = pd_shape_names[shape];
    if (size->diameter_m > size->length_m / 10)
        pd_row_error(row, DIAMETER, errors,
                     "%g mm is more than a tenth of length_m %g m: the formula for a %s is for a "
                     "thin conductor",
                     1000 * size->diameter_m, size->length_m, name);
    else if (size->depth_m < size->diameter_m)
        pd_row_error(row, DEPTH, errors, "%g m is less than the diameter of the %s, %g mm",
                     size->depth_m, name, 1000 * size->diameter_m);
    else
        return false;
    return true;
}

static bool report_rods(const struct pd_row *row, enum pd_shape shape,
                        const struct pd_shape_size *size, struct pd_errors *errors)
{
    const size_t most = 10;
    if (shape == PD_SQUARE && (size->count < 4 || size->count % 4 != 0))
        pd_row_error(row, COUNT, errors,
                     "%zu rods do not stand evenly round a square: give 4, 8, 12 ... 36",
                     size->count);
    else if (shape == PD_ROD && size->count > most)
        pd_row_error(row, COUNT, errors, "%zu rods: the table for rods in a line ends at %zu",
                     size->count, most);
    else if (size->count > 1 && size->spacing_m < size->length_m)
        pd_row_error(row, SPACING, errors,
                     "%g m is less than length_m %g m: rods so close are outside the formula",
                     size->spacing_m, size->length_m);
    else
        return false;
    return true;
}

/* Says which of the formula's conditions the sizes break. */
static void report_range(const struct pd_row *row, enum pd_shape shape,
                         const struct pd_shape_size *size, struct pd_errors *errors)
{
    const bool rods = shape == PD_ROD || shape == PD_SQUARE;
    struct pd_shape_size shown = *size;
    if (rods)
        shown.depth_m = NAN; /* a rod's depth is not used */
    if (report_thick(row, shape, &shown, errors))
        return;
    if (rods && report_rods(row, shape, size, errors))
        return;
    pd_row_error(row, SHAPE, errors,
                 "these sizes are outside the range of the formula for a %s: %s",
                 pd_shape_names[shape], pd_shape_formula(shape)->range);
}

static void read_shape(const struct pd_row *row, struct pd_electrode *electrode,
                       struct pd_errors *errors)
{
    size_t choice;
    struct pd_shape_size size = {
        .length_m = NAN, .depth_m = NAN, .spacing_m = NAN, .soil_ohm_m = NAN};
    bool good = read_size(row, &size, errors);
    if (!pd_row_choice(row, SHAPE, pd_shape_names, PD_SHAPES, &choice, errors))
        return;
    const enum pd_shape shape = (enum pd_shape)choice;
    good &= check_given(row, shape, errors);
    if (!good || ((shape == PD_ROD || shape == PD_SQUARE) && !check_spacing(row, &size, errors)))
        return;
    struct pd_shape_size unit = size;
    unit.soil_ohm_m = 1;
    const double ohm_per_ohm_m = pd_shape_resistance(shape, &unit); /* all formulas go with soil */
    electrode->shaped = true;
    electrode->calculated = !pd_row_has(row, RESISTANCE);
    electrode->shape = shape;
    electrode->size = size;
    if (electrode->calculated)
        electrode->resistance_ohm = pd_shape_resistance(shape, &size);
    else if (!pd_row_has(row, SOIL))
        electrode->size.soil_ohm_m = electrode->resistance_ohm / ohm_per_ohm_m;
    if (isnan(ohm_per_ohm_m))
        report_range(row, shape, &size, errors);
}

static bool has_size(const struct pd_row *row)
{
    for (enum column column = LENGTH; column <= SOIL; column++)
        if (pd_row_has(row, column))
            return true;
    return false;
}

/* Shape and sizes beside a measured resistance say what ground it was measured in: the resistance
 * is the reading's all the same. */
static void read_earth(const struct pd_row *row, struct pd_electrode *electrode,
                       struct pd_errors *errors)
{
    struct pd_shape_size size = {
        .length_m = NAN, .depth_m = NAN, .spacing_m = NAN, .soil_ohm_m = NAN};
    pd_row_number_or_keep(row, RESISTANCE, resistances, &electrode->resistance_ohm, errors);
    if (pd_row_has(row, SHAPE)) {
        read_shape(row, electrode, errors);
        return;
    }
    if (!pd_row_has(row, RESISTANCE) && has_size(row))
        pd_row_error(row, SHAPE, errors,
                     "is empty; the sizes need one of: rod, wire, plate, ring, square, strip, "
                     "foundation; or give resistance_ohm");
    if (read_size(row, &size, errors))
        electrode->size.soil_ohm_m = size.soil_ohm_m;
}

static enum pd_status append(struct pd_electrodes *electrodes, const struct pd_electrode *electrode)
{
    struct pd_electrode *const larger =
        pd_grow(electrodes->electrode, electrodes->count, sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    electrodes->electrode = larger;
    electrodes->electrode[electrodes->count++] = *electrode;
    return PD_OK;
}

/* Each name and its electrode have the same number. */
struct reading {
    struct pd_electrodes *electrodes;
    struct pd_names *names;
};

/* Appends the electrode unless another has its name. */
static enum pd_status keep(const struct pd_row *row, const struct reading *reading,
                           const struct pd_electrode *electrode, struct pd_errors *errors)
{
    size_t index;
    int added;
    const enum pd_status status = pd_names_add(reading->names, electrode->name, &index, &added);
    if (status != PD_OK)
        return status;
    if (!added)
        return pd_row_error(
            row, ELECTRODE, errors,
            "'%s' is already the electrode of line %zu; each electrode needs its own "
            "name",
            electrode->name, reading->electrodes->electrode[index].row);
    return append(reading->electrodes, electrode);
}

static enum pd_status read_electrode(const struct pd_row *row, void *context,
                                     struct pd_errors *errors)
{
    struct pd_electrode electrode = {.resistance_ohm = NAN,
                                     .season_factor = 1,
                                     .size = {.soil_ohm_m = NAN},
                                     .x_m = NAN,
                                     .y_m = NAN,
                                     .row = row->line};
    const char *const name = pd_row_name(row, ELECTRODE, errors);
    const char *const node = pd_row_name(row, NODE, errors);
    read_earth(row, &electrode, errors);
    pd_row_number_or_keep(row, SEASON,
                          (struct pd_range){1, 100, "dry-season resistance over this one"},
                          &electrode.season_factor, errors);
    electrode.season_declared = pd_row_has(row, SEASON);
    pd_row_number_or_keep(row, X, (struct pd_range){-1e5, 1e5, NULL}, &electrode.x_m, errors);
    pd_row_number_or_keep(row, Y, (struct pd_range){-1e5, 1e5, NULL}, &electrode.y_m, errors);
    /* half a place would be read as none, and none couples with nothing */
    if (pd_row_has(row, X) != pd_row_has(row, Y))
        pd_row_error(row, pd_row_has(row, X) ? Y : X, errors,
                     "is empty; a place takes both x_m and y_m, or neither");
    if (name == NULL || node == NULL)
        return PD_ERR_INPUT;
    snprintf(electrode.name, sizeof electrode.name, "%s", name);
    snprintf(electrode.node_name, sizeof electrode.node_name, "%s", node);
    return keep(row, context, &electrode, errors);
}

enum pd_status pd_electrodes_read(const char *path, const struct pd_overrides *overrides,
                                  struct pd_electrodes *electrodes, struct pd_errors *errors)
{
    struct reading reading = {.electrodes = electrodes};
    enum pd_status status = pd_names_new(&reading.names);
    for (size_t i = 0, index; i < electrodes->count && status == PD_OK; i++)
        status = pd_names_add(reading.names, electrodes->electrode[i].name, &index, NULL);
    if (status == PD_OK)
        status = pd_table_read_set(path, overrides, "electrodes.csv", columns, COLUMNS,
                                   read_electrode, &reading, errors);
    pd_names_free(&reading.names);
    return status;
}

void pd_electrodes_free(struct pd_electrodes *electrodes)
{
    free(electrodes->electrode);
    *electrodes = (struct pd_electrodes){0};
}
