/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>

#include "earthing/body.h"
#include "table/reference.h"
#include "table/table.h"

const char *const pd_skin_names[PD_SKINS] = {[PD_SKIN_DRY] = "dry",
                                             [PD_SKIN_WATER_WET] = "water-wet",
                                             [PD_SKIN_SALTWATER_WET] = "saltwater-wet"};

const char *const pd_path_names[PD_PATHS] = {[PD_LEFT_HAND_TO_FEET] = "left-hand-to-feet",
                                             [PD_RIGHT_HAND_TO_FEET] = "right-hand-to-feet",
                                             [PD_HANDS_TO_FEET] = "hands-to-feet",
                                             [PD_HAND_TO_HAND] = "hand-to-hand"};

enum column { CONDITION, TOUCH, P5, P50, P95, STATUS, SOURCE, COLUMNS };
static const struct pd_column columns[COLUMNS] = {
    [CONDITION] = {"condition", true}, [TOUCH] = {"touch_v", true}, [P5] = {"p5_ohm", true},
    [P50] = {"p50_ohm", true},         [P95] = {"p95_ohm", true},   [STATUS] = {"status", true},
    [SOURCE] = {"source", true},
};

static enum pd_status read_point(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct pd_body *const body = context;
    const struct pd_range volts = {1, 10000, NULL}, ohms = {1, 100000, NULL};
    size_t skin;
    if (!pd_row_choice(row, CONDITION, pd_skin_names, PD_SKINS, &skin, errors))
        return PD_ERR_INPUT;
    struct pd_body_curve *const curve = &body->curve[skin];
    const size_t i = curve->count;
    if (i == PD_BODY_POINTS_MAX)
        return pd_row_error(row, CONDITION, errors, "has more rows than there is room for");
    bool good = pd_row_number(row, TOUCH, volts, &curve->touch_v[i], errors);
    for (size_t people = 0; people < PD_PEOPLE; people++)
        good &= pd_row_number(row, P5 + people, ohms, &curve->ohm[i][people], errors);
    if (!good)
        return PD_ERR_INPUT;
    if (i > 0 && !(curve->touch_v[i] > curve->touch_v[i - 1]))
        return pd_row_error(row, TOUCH, errors, "does not rise");
    for (size_t people = 0; people < PD_PEOPLE; people++)
        if (i > 0 && curve->ohm[i][people] > curve->ohm[i - 1][people])
            return pd_row_error(row, P5 + people, errors, "rises with the voltage");
    snprintf(curve->status, sizeof curve->status, "%s", pd_row_text(row, STATUS));
    snprintf(curve->source, sizeof curve->source, "%s", pd_row_text(row, SOURCE));
    curve->count++;
    return PD_OK;
}

enum path_column { PATH, PART, HEART, SHARE, PATH_STATUS, PATH_SOURCE, PATH_COLUMNS };
static const struct pd_column path_columns[PATH_COLUMNS] = {
    [PATH] = {"path", true},   [PART] = {"body_part", true},     [HEART] = {"heart_factor", true},
    [SHARE] = {"share", true}, [PATH_STATUS] = {"status", true}, [PATH_SOURCE] = {"source", true},
};

static enum pd_status read_path(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct pd_body *const body = context;
    const struct pd_range parts = {0.01, 2, NULL};
    size_t index;
    if (!pd_row_choice(row, PATH, pd_path_names, PD_PATHS, &index, errors))
        return PD_ERR_INPUT;
    struct pd_body_path *const path = &body->path[index];
    bool good = pd_row_number(row, PART, parts, &path->body_part, errors);
    good &= pd_row_number(row, HEART, parts, &path->heart_factor, errors);
    good &= pd_row_number(row, SHARE, parts, &path->share, errors);
    snprintf(path->status, sizeof path->status, "%s", pd_row_text(row, PATH_STATUS));
    snprintf(path->source, sizeof path->source, "%s", pd_row_text(row, PATH_SOURCE));
    return good ? PD_OK : PD_ERR_INPUT;
}

/* A path without a row has NaN, and so has every current along it. */
enum pd_status pd_body_read(struct pd_body *body, struct pd_errors *errors)
{
    *body = (struct pd_body){0};
    for (size_t i = 0; i < PD_PATHS; i++)
        body->path[i].body_part = body->path[i].heart_factor = body->path[i].share = NAN;
    const enum pd_status status =
        pd_table_read_text(pd_reference_body, pd_reference_body_length, "reference/body.csv",
                           columns, COLUMNS, read_point, body, errors);
    return status != PD_OK
               ? status
               : pd_table_read_text(pd_reference_body_paths, pd_reference_body_paths_length,
                                    "reference/body_paths.csv", path_columns, PATH_COLUMNS,
                                    read_path, body, errors);
}
