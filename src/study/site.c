/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/site.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/case.h"
#include "table/words.h"

const char *const pd_basis_names[PD_BASES] = {
    "no-pen", "balance", "electrode", "pe-device", "band-device", "other-device", "tt",
};
static const char *const seasons[] = {"dry", "wet", "frozen"};
static const char *const answers[] = {"no", "yes"};

enum kind { NUMBER, CHOICE, TEXT };

struct column {
    const char *name;
    enum kind kind;
    int index;
    double low, high;
    const char *const *names;
    size_t count;
};

#define A_NUMBER(column, at, least, most)                                                          \
    {                                                                                              \
        .name = column, .kind = NUMBER, .index = at, .low = least, .high = most                    \
    }
#define A_CHOICE(column, at, list, many)                                                           \
    {                                                                                              \
        .name = column, .kind = CHOICE, .index = at, .names = list, .count = many                  \
    }
#define A_TEXT(column, at)                                                                         \
    {                                                                                              \
        .name = column, .kind = TEXT, .index = at                                                  \
    }

static const struct column columns[PD_SITE_COLUMNS] = {
    A_TEXT("site", PD_S_SITE),
    A_CHOICE("earthing", PD_S_EARTHING, pd_earthing_names, PD_EARTHINGS),
    A_CHOICE("system", PD_S_SYSTEM, pd_system_names, PD_SYSTEMS),
    A_NUMBER("demand_l1_a", PD_S_DEMAND_L1, 0, 10000),
    A_NUMBER("demand_l2_a", PD_S_DEMAND_L2, 0, 10000),
    A_NUMBER("demand_l3_a", PD_S_DEMAND_L3, 0, 10000),
    A_NUMBER("least_demand_l1_a", PD_S_LEAST_L1, 0, 10000),
    A_NUMBER("least_demand_l2_a", PD_S_LEAST_L2, 0, 10000),
    A_NUMBER("least_demand_l3_a", PD_S_LEAST_L3, 0, 10000),
    A_NUMBER("charger_a", PD_S_CHARGER, 0.1, 10000),
    A_CHOICE("charger_phase", PD_S_CHARGER_PHASE, pd_phase_names, PD_PHASES),
    A_NUMBER("load_management_a", PD_S_MANAGEMENT, 1, 10000),
    A_CHOICE("pme_terminal_used", PD_S_PME_USED, answers, 2),
    A_CHOICE("distributor_confirmed", PD_S_CONFIRMED, answers, 2),
    A_NUMBER("electrode_ohm", PD_S_ELECTRODE, 0.01, 1e9),
    A_CHOICE("electrode_season", PD_S_SEASON, seasons, 3),
    A_NUMBER("season_factor", PD_S_SEASON_FACTOR, 1, 100),
    A_CHOICE("electrode_shape", PD_S_SHAPE, pd_shape_names, PD_SHAPES),
    A_NUMBER("electrode_length_m", PD_S_ROD_LENGTH, 0.05, 1000),
    A_TEXT("soil", PD_S_SOIL),
    A_CHOICE("detector_senses", PD_S_SENSES, pd_sense_names, PD_SENSES),
    A_NUMBER("detector_low_v", PD_S_LOW, 0, 1000),
    A_NUMBER("detector_high_v", PD_S_HIGH, 0, 1000),
    A_NUMBER("detector_limit_v", PD_S_LIMIT, 1, 1000),
    A_NUMBER("detector_tolerance_v", PD_S_TOLERANCE, 0, 100),
    A_NUMBER("detector_delay_s", PD_S_DELAY, 0, 1e6),
    A_CHOICE("detector_disconnects", PD_S_DISCONNECTS, pd_disconnects_names, PD_DISCONNECTS),
    A_CHOICE("detector_reset", PD_S_RESET, pd_reset_names + PD_RESET_MANUAL,
             PD_RESETS - PD_RESET_MANUAL),
    A_NUMBER("rcd_ma", PD_S_RCD, 0.001, 10000),
    A_NUMBER("reach_m", PD_S_REACH, 0, 1000),
    A_NUMBER("loop_impedance_ohm", PD_S_LOOP, 0, 1e6),
    A_NUMBER("voltage_l1_v", PD_S_VOLTAGE_L1, 0, 1000),
    A_NUMBER("voltage_l2_v", PD_S_VOLTAGE_L2, 0, 1000),
    A_NUMBER("voltage_l3_v", PD_S_VOLTAGE_L3, 0, 1000),
    A_TEXT("transformer", PD_S_TRANSFORMER),
    A_CHOICE("basis", PD_S_BASIS, pd_basis_names, PD_BASES),
    A_TEXT("contractor", PD_S_CONTRACTOR),
    A_TEXT("date", PD_S_DATE),
};

const char *pd_site_column(size_t column)
{
    return columns[column].name;
}

static enum pd_status map_one(const char *name, size_t index, const char *table, size_t line,
                              struct pd_site_map *map, struct pd_errors *near,
                              struct pd_errors *errors)
{
    const char *names[PD_SITE_COLUMNS];
    for (size_t i = 0; i < PD_SITE_COLUMNS; i++) {
        names[i] = columns[i].name;
        if (strcmp(name, names[i]) != 0)
            continue;
        if (map->cell_of[i] != PD_NONE)
            return pd_errors_add(errors, PD_ERR_INPUT, table, line, "",
                                 "column '%s' is given twice", name);
        map->cell_of[i] = index;
        map->column_of[index] = i;
        return PD_OK;
    }
    if (strncmp(name, "audit_", 6) == 0)
        return pd_errors_add(errors, PD_ERR_INPUT, table, line, "",
                             "column '%s' is one of the audit's own: audit the sheet as it was, or "
                             "take out its audit_ columns",
                             pd_show(name).text);
    const size_t at = pd_nearest(name, names, PD_SITE_COLUMNS);
    if (at < PD_SITE_COLUMNS)
        pd_errors_add(near, PD_OK, table, line, "",
                      "column '%s' is kept but not read; did you mean '%s'?", pd_show(name).text,
                      names[at]);
    return PD_OK;
}

enum pd_status pd_site_map_new(const char *const *header, size_t width, const char *table,
                               size_t line, struct pd_site_map *map, struct pd_errors *near,
                               struct pd_errors *errors)
{
    enum pd_status status = PD_OK;
    *map = (struct pd_site_map){.width = width};
    map->column_of = reallocarray(NULL, width + 1, sizeof *map->column_of);
    if (map->column_of == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < PD_SITE_COLUMNS; i++)
        map->cell_of[i] = PD_NONE;
    for (size_t i = 0; i < width; i++) {
        map->column_of[i] = PD_NONE;
        if (map_one(header[i], i, table, line, map, near, errors) != PD_OK)
            status = PD_ERR_INPUT;
    }
    return status;
}

void pd_site_map_free(struct pd_site_map *map)
{
    free(map->column_of);
    *map = (struct pd_site_map){0};
}

static void note_wrong(struct pd_site *site, size_t column)
{
    if (site->wrong++ == 0)
        site->first_wrong = (int)column;
}

static void read_number(const struct column *c, const char *cell, const char *table, size_t line,
                        struct pd_site *site, struct pd_errors *errors)
{
    double value;
    if (!pd_parse_number(cell, &value)) {
        note_wrong(site, (size_t)(c - columns));
        pd_errors_add(errors, PD_ERR_INPUT, table, line, c->name,
                      "'%s' is not a number; taken as not given", pd_show(cell).text);
    } else if (value < c->low || value > c->high) {
        note_wrong(site, (size_t)(c - columns));
        pd_errors_add(errors, PD_ERR_INPUT, table, line, c->name,
                      "%s is not from %g to %g; taken as not given", pd_show(cell).text, c->low,
                      c->high);
    } else {
        site->number[c->index] = value;
    }
}

static void read_choice(const struct column *c, const char *cell, const char *table, size_t line,
                        struct pd_site *site, struct pd_errors *errors)
{
    for (size_t i = 0; i < c->count; i++)
        if (strcmp(cell, c->names[i]) == 0) {
            site->choice[c->index] = (int)i;
            return;
        }
    if (c->index == PD_S_BASIS && cell[0] >= '1' && cell[0] <= '6' && cell[1] == '\0') {
        site->choice[PD_S_BASIS] = cell[0] - '0'; /* a route by its number */
        return;
    }
    char list[200];
    pd_list_names(list, sizeof list, c->names, c->count);
    note_wrong(site, (size_t)(c - columns));
    pd_errors_add(errors, PD_ERR_INPUT, table, line, c->name,
                  "'%s' is none of: %s; taken as not given", pd_show(cell).text, list);
}

void pd_site_none(struct pd_site *site)
{
    *site = (struct pd_site){.first_wrong = -1};
    for (int i = 0; i < PD_SITE_NUMBERS; i++)
        site->number[i] = NAN;
    for (int i = 0; i < PD_SITE_CHOICES; i++)
        site->choice[i] = -1;
    for (int i = 0; i < PD_SITE_TEXTS; i++)
        site->text[i] = "";
}

void pd_site_read_readings(const struct pd_site_map *map, const char *const *cell,
                           struct pd_site *site)
{
    pd_site_none(site);
    for (size_t i = 0; i < PD_SITE_COLUMNS; i++) {
        const struct column *const c = &columns[i];
        const bool reading =
            c->kind == NUMBER &&
            (c->index == PD_S_ELECTRODE || c->index == PD_S_LOOP || c->index == PD_S_VOLTAGE_L1);
        if (map->cell_of[i] == PD_NONE || cell[map->cell_of[i]][0] == '\0')
            continue;
        if (reading)
            read_number(c, cell[map->cell_of[i]], "", 0, site, NULL);
        else if (c->kind == TEXT && c->index == PD_S_CONTRACTOR)
            site->text[c->index] = cell[map->cell_of[i]];
    }
}

void pd_site_read(const struct pd_site_map *map, const char *const *cell, const char *table,
                  size_t line, struct pd_site *site, struct pd_errors *errors)
{
    pd_site_none(site);
    for (size_t i = 0; i < PD_SITE_COLUMNS; i++) {
        const struct column *const c = &columns[i];
        const char *const text = map->cell_of[i] != PD_NONE ? cell[map->cell_of[i]] : "";
        if (text[0] == '\0')
            continue;
        if (c->kind == NUMBER)
            read_number(c, text, table, line, site, errors);
        else if (c->kind == CHOICE)
            read_choice(c, text, table, line, site, errors);
        else
            site->text[c->index] = text;
    }
}
