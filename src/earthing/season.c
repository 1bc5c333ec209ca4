/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "earthing/season.h"

#include <stdio.h>
#include <string.h>

#include "earthing/soil.h"
#include "table/reference.h"
#include "table/table.h"
#include "table/words.h"

enum soil_column { SOIL, LOW, HIGH, SOIL_SEEN, SOIL_SOURCE, SOIL_COLUMNS };
static const struct pd_column soil_columns[SOIL_COLUMNS] = {
    [SOIL] = {"soil", true},      [LOW] = {"low_ohm_m", true},      [HIGH] = {"high_ohm_m", true},
    [SOIL_SEEN] = {"seen", true}, [SOIL_SOURCE] = {"source", true},
};

enum season_column { SEASON, FACTOR, SEASON_SEEN, SEASON_SOURCE, SEASON_COLUMNS };
static const struct pd_column season_columns[SEASON_COLUMNS] = {
    [SEASON] = {"season", true},
    [FACTOR] = {"factor", true},
    [SEASON_SEEN] = {"seen", true},
    [SEASON_SOURCE] = {"source", true},
};

struct walk {
    pd_soil_kind_function *soil;
    pd_season_function *season;
    void *context;
    bool stopped;
};

static enum pd_status read_soil(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct walk *const walk = context;
    struct pd_soil_kind kind;
    const struct pd_range all = {pd_soil_least_ohm_m, pd_soil_most_ohm_m, NULL};
    bool good = pd_row_number(row, LOW, all, &kind.low_ohm_m, errors);
    good &= pd_row_number(row, HIGH, all, &kind.high_ohm_m, errors);
    if (!good)
        return PD_ERR_INPUT;
    snprintf(kind.name, sizeof kind.name, "%s", pd_row_text(row, SOIL));
    snprintf(kind.seen, sizeof kind.seen, "%s", pd_row_text(row, SOIL_SEEN));
    snprintf(kind.source, sizeof kind.source, "%s", pd_row_text(row, SOIL_SOURCE));
    if (!walk->stopped)
        walk->stopped = !walk->soil(&kind, walk->context);
    return PD_OK;
}

static enum pd_status read_season(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct walk *const walk = context;
    struct pd_season season;
    if (!pd_row_number(row, FACTOR, (struct pd_range){1, 100, NULL}, &season.factor, errors))
        return PD_ERR_INPUT;
    snprintf(season.name, sizeof season.name, "%s", pd_row_text(row, SEASON));
    snprintf(season.seen, sizeof season.seen, "%s", pd_row_text(row, SEASON_SEEN));
    snprintf(season.source, sizeof season.source, "%s", pd_row_text(row, SEASON_SOURCE));
    if (!walk->stopped)
        walk->stopped = !walk->season(&season, walk->context);
    return PD_OK;
}

enum pd_status pd_soil_kinds_each(pd_soil_kind_function *function, void *context,
                                  struct pd_errors *errors)
{
    struct walk walk = {.soil = function, .context = context};
    return pd_table_read_text(pd_reference_soils, pd_reference_soils_length, "reference/soils.csv",
                              soil_columns, SOIL_COLUMNS, read_soil, &walk, errors);
}

enum pd_status pd_seasons_each(pd_season_function *function, void *context,
                               struct pd_errors *errors)
{
    struct walk walk = {.season = function, .context = context};
    return pd_table_read_text(pd_reference_seasons, pd_reference_seasons_length,
                              "reference/seasons.csv", season_columns, SEASON_COLUMNS, read_season,
                              &walk, errors);
}

enum { ROWS_MOST = 64 };

/* A row looked for by name, and all the names for the message. */
struct looking {
    const char *name;
    struct pd_soil_kind *kind;
    struct pd_season *season;
    bool found;
    char names[ROWS_MOST][48];
    size_t count;
};

static bool look(struct looking *looking, const char *name)
{
    if (looking->count < ROWS_MOST)
        snprintf(looking->names[looking->count++], sizeof looking->names[0], "%s", name);
    const bool same = strcmp(looking->name, name) == 0;
    looking->found |= same;
    return same;
}

static bool look_at_soil(const struct pd_soil_kind *kind, void *context)
{
    struct looking *const looking = context;
    if (look(looking, kind->name))
        *looking->kind = *kind;
    return true;
}

static bool look_at_season(const struct pd_season *season, void *context)
{
    struct looking *const looking = context;
    if (look(looking, season->name))
        *looking->season = *season;
    return true;
}

static enum pd_status complain(const struct looking *looking, const char *where,
                               struct pd_errors *errors)
{
    const char *names[ROWS_MOST];
    char all[256];
    for (size_t i = 0; i < looking->count; i++)
        names[i] = looking->names[i];
    const size_t near = pd_nearest(looking->name, names, looking->count);
    pd_list_names(all, sizeof all, names, looking->count);
    if (near < looking->count)
        return pd_errors_add(errors, PD_ERR_INPUT, where, 0, "",
                             "'%s' is neither a number nor "
                             "known by name; did you mean '%s'?",
                             pd_show(looking->name).text, names[near]);
    return pd_errors_add(errors, PD_ERR_INPUT, where, 0, "",
                         "'%s' is neither a number nor one of: %s", pd_show(looking->name).text,
                         all);
}

enum pd_status pd_soil_kind_find(const char *name, const char *where, struct pd_soil_kind *kind,
                                 struct pd_errors *errors)
{
    struct looking looking = {.name = name, .kind = kind};
    const enum pd_status status = pd_soil_kinds_each(look_at_soil, &looking, errors);
    return status == PD_OK && !looking.found ? complain(&looking, where, errors) : status;
}

enum pd_status pd_season_find(const char *name, const char *where, struct pd_season *season,
                              struct pd_errors *errors)
{
    struct looking looking = {.name = name, .season = season};
    const enum pd_status status = pd_seasons_each(look_at_season, &looking, errors);
    return status == PD_OK && !looking.found ? complain(&looking, where, errors) : status;
}

enum pd_status pd_season_measured(struct pd_season *season)
{
    struct pd_errors errors = {0};
    return pd_season_find("measured-year", "reference/seasons.csv", season, &errors);
}
