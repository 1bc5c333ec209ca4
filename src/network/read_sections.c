/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "network/read.h"
#include "table/table.h"
#include "table/words.h"

enum column {
    SECTION,
    FROM,
    TO,
    LENGTH,
    CABLE,
    LINE_R,
    LINE_X,
    PEN_R,
    PEN_X,
    NEUTRAL,
    LINES,
    COLUMNS
};

static const struct pd_column columns[COLUMNS] = {
    [SECTION] = {"section", true},
    [FROM] = {"from", true},
    [TO] = {"to", true},
    [LENGTH] = {"length_m", false},
    [CABLE] = {"cable", false},
    [LINE_R] = {"line_r_ohm", false},
    [LINE_X] = {"line_x_ohm", false},
    [PEN_R] = {"pen_r_ohm", false},
    [PEN_X] = {"pen_x_ohm", false},
    [NEUTRAL] = {"neutral", false},
    [LINES] = {"lines", false},
};

struct reading {
    const struct pd_cables *cables;
    struct pd_network *network;
};

static bool has_ohms(const struct pd_row *row)
{
    return pd_row_has(row, LINE_R) || pd_row_has(row, LINE_X) || pd_row_has(row, PEN_R) ||
           pd_row_has(row, PEN_X);
}

static void report_cable(const struct pd_row *row, const struct pd_cables *cables,
                         struct pd_errors *errors)
{
    const char *const name = pd_row_text(row, CABLE);
    /* The search is O(n): not for each of a hundred thousand errors that are only counted. */
    const bool kept = errors->count < PD_ERRORS_KEPT;
    const char *const near = kept ? pd_names_nearest(cables->names, name) : NULL;
    if (near != NULL)
        pd_row_error(row, CABLE, errors, "no cable type '%s'; did you mean '%s'?",
                     pd_show(name).text, near);
    else
        pd_row_error(row, CABLE, errors,
                     "no cable type '%s'; take one of the reference table or add it to cables.csv",
                     pd_show(name).text);
}

static bool read_by_cable(const struct pd_row *row, const struct pd_cables *cables, double length_m,
                          struct pd_matrix *z, struct pd_errors *errors)
{
    const struct pd_cable *const cable = pd_cables_find(cables, pd_row_text(row, CABLE));
    const bool has_length = pd_row_has(row, LENGTH);
    if (!has_length)
        pd_row_error(row, LENGTH, errors, "is empty; a cable needs its length");
    if (cable == NULL && !cables->damaged)
        report_cable(row, cables, errors);
    if (cable == NULL)
        return has_length && cables->damaged; /* then the case fails anyhow */
    *z = pd_matrix_diagonal(cable->line_ohm_per_km * (length_m / 1000),
                            cable->pen_ohm_per_km * (length_m / 1000));
    return has_length;
}

static bool read_by_ohms(const struct pd_row *row, struct pd_matrix *z, struct pd_errors *errors)
{
    const struct pd_range ohms = {0, 1e6, NULL};
    double line_r = 0, line_x = 0, pen_r = 0, pen_x = 0;
    bool good = true;
    if (!pd_row_has(row, LINE_R) || !pd_row_has(row, PEN_R)) {
        pd_row_error(row, pd_row_has(row, LINE_R) ? PEN_R : LINE_R, errors,
                     "is empty; give a cable and length_m, or line_r_ohm and pen_r_ohm");
        good = false;
    }
    good &= pd_row_number_or_keep(row, LINE_R, ohms, &line_r, errors);
    good &= pd_row_number_or_keep(row, LINE_X, ohms, &line_x, errors);
    good &= pd_row_number_or_keep(row, PEN_R, ohms, &pen_r, errors);
    good &= pd_row_number_or_keep(row, PEN_X, ohms, &pen_x, errors);
    *z = pd_matrix_diagonal(CMPLX(line_r, line_x), CMPLX(pen_r, pen_x));
    return good;
}

static enum pd_status read_section(const struct pd_row *row, void *context,
                                   struct pd_errors *errors)
{
    static const char *const neutrals[] = {"pen", "separate"};
    const struct reading *const reading = context;
    struct pd_section section = {.row = row->line};
    double length_m = 0;
    section.name = pd_row_name(row, SECTION, errors);
    section.from = pd_row_name(row, FROM, errors);
    section.to = pd_row_name(row, TO, errors);
    bool good = section.name != NULL && section.from != NULL && section.to != NULL;
    good &= pd_row_number_or_keep(row, LENGTH, (struct pd_range){0, 1e5, NULL}, &length_m, errors);
    if (pd_row_has(row, CABLE) && has_ohms(row)) {
        pd_row_error(row, CABLE, errors, "give a cable or ohms, not both");
        good = false;
    } else if (pd_row_has(row, CABLE)) {
        good &= read_by_cable(row, reading->cables, length_m, &section.z_ohm, errors);
    } else {
        good &= read_by_ohms(row, &section.z_ohm, errors);
    }
    size_t choice = 0;
    if (pd_row_has(row, NEUTRAL))
        good &= pd_row_choice(row, NEUTRAL, neutrals, 2, &choice, errors);
    section.separate = choice == 1;
    if (pd_row_has(row, LINES)) {
        good &= pd_row_choice(row, LINES, pd_phase_names, PD_PHASES, &choice, errors);
        section.lines = pd_phase_lines((enum pd_phase)choice);
    }
    return good ? pd_network_add_section(reading->network, &section, errors) : PD_ERR_INPUT;
}

enum pd_status pd_sections_read(const char *path, const struct pd_overrides *overrides,
                                const struct pd_cables *cables, struct pd_network *network,
                                struct pd_errors *errors)
{
    struct reading reading = {cables, network};
    return pd_table_read_set(path, overrides, "sections.csv", columns, COLUMNS, read_section,
                             &reading, errors);
}
