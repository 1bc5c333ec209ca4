/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "study/case_facts.h"
#include "study/sweep.h"
#include "table/words.h"

static const char *const tables[] = {"case",       "sections",  "loads",
                                     "electrodes", "detectors", "cables"};
enum { TABLES = sizeof tables / sizeof tables[0] };

static const char form[] = "write TABLE/ROW/COLUMN=FROM:TO:COUNT, such as "
                           "electrodes/rod/resistance_ohm=1:100:50:log";

static enum pd_status complain(struct pd_errors *errors, const char *text, const char *what)
{
    return pd_errors_add(errors, PD_ERR_INPUT, "--vary", 0, pd_show(text).text, "%s; %s", what,
                         form);
}

/* Takes a name off *rest, up to one of `ends` and beyond it; a quoted one may hold them. False
 * where it does not end so, or does not fit. */
static bool take_name(const char **rest, const char *ends, char *name, size_t size)
{
    const char *text = *rest;
    size_t used = 0;
    const bool quoted = *text == '"';
    for (text += quoted; *text != '\0'; text++) {
        if (quoted && *text == '"' && text[1] == '"')
            text++;
        else if (quoted ? *text == '"' : strchr(ends, *text) != NULL)
            break;
        if (used + 1 == size)
            return false;
        name[used++] = *text;
    }
    text += quoted && *text == '"';
    name[used] = '\0';
    if (used == 0 || *text == '\0' || strchr(ends, *text) == NULL)
        return false;
    *rest = text + 1;
    return true;
}

static enum pd_status take_table(const char *text, const char **rest, struct pd_address *at,
                                 struct pd_errors *errors)
{
    char name[sizeof at->table - 4];
    char list[128];
    if (!take_name(rest, "/", name, sizeof name))
        return complain(errors, text, "does not begin with a table and a slash");
    const size_t length = strlen(name);
    if (length > 4 && strcmp(name + length - 4, ".csv") == 0)
        name[length - 4] = '\0';
    snprintf(at->table, sizeof at->table, "%s.csv", name);
    for (size_t i = 0; i < TABLES; i++)
        if (strcmp(tables[i], name) == 0)
            return PD_OK;
    const size_t near = pd_nearest(name, tables, TABLES);
    pd_list_names(list, sizeof list, tables, TABLES);
    if (near < TABLES)
        return pd_errors_add(errors, PD_ERR_INPUT, "--vary", 0, "",
                             "no table '%s'; did you mean '%s'?", pd_show(name).text, tables[near]);
    return pd_errors_add(errors, PD_ERR_INPUT, "--vary", 0, "", "no table '%s'; one of: %s",
                         pd_show(name).text, list);
}

static enum pd_status take_address(const char *text, const char **rest, struct pd_address *at,
                                   struct pd_errors *errors)
{
    const enum pd_status status = take_table(text, rest, at, errors);
    if (status != PD_OK)
        return status;
    const bool is_case = strcmp(at->table, "case.csv") == 0;
    if (!take_name(rest, is_case ? "/=" : "/", at->row, sizeof at->row))
        return complain(errors, text, "names no row and column");
    if (is_case && (*rest)[-1] == '=') {
        snprintf(at->column, sizeof at->column, "value");
        return PD_OK;
    }
    return take_name(rest, "=", at->column, sizeof at->column)
               ? PD_OK
               : complain(errors, text, "names no column before a '='");
}

static bool take_number(const char **rest, double *value)
{
    char word[40];
    const size_t length = strcspn(*rest, ":");
    if (length >= sizeof word)
        return false;
    memcpy(word, *rest, length);
    word[length] = '\0';
    *rest += length + ((*rest)[length] == ':');
    return pd_parse_number(word, value);
}

static enum pd_status take_range(const char *text, const char *rest, struct pd_vary *vary,
                                 struct pd_errors *errors)
{
    double count = PD_VARY_COUNT;
    if (!take_number(&rest, &vary->from) || !take_number(&rest, &vary->to))
        return complain(errors, text, "has no two numbers after the '='");
    vary->log = strcmp(rest, "log") == 0;
    if (*rest != '\0' && !vary->log) {
        if (!take_number(&rest, &count))
            return complain(errors, text, "has a count that is no number");
        vary->log = strcmp(rest, "log") == 0;
        if (*rest != '\0' && !vary->log)
            return complain(errors, text, "goes on after the count with something but log");
    }
    if (!(count >= 2 && count <= PD_VARY_MOST) || count != floor(count))
        return complain(errors, text, "has a count that is no whole number from 2 to 10000");
    vary->count = (size_t)count;
    if (vary->from == vary->to)
        return complain(errors, text, "goes from a number to the same number");
    if (vary->log && !(vary->from > 0 && vary->to > 0))
        return complain(errors, text, "is logarithmic, but its ends are not above 0");
    return PD_OK;
}

enum pd_status pd_vary_parse(const char *text, struct pd_vary *vary, struct pd_errors *errors)
{
    const char *rest = text;
    *vary = (struct pd_vary){.count = 0};
    const enum pd_status status = take_address(text, &rest, &vary->at, errors);
    return status == PD_OK ? take_range(text, rest, vary, errors) : status;
}

struct pd_vary pd_vary_met_electrode(double from_ohm, double to_ohm, size_t count)
{
    return (struct pd_vary){.at = {.table = "electrodes.csv",
                                   .row = "electrode on the main earthing terminal, dry season",
                                   .column = "resistance_ohm"},
                            .from = from_ohm,
                            .to = to_ohm,
                            .count = count,
                            .log = true};
}

double pd_vary_value(const struct pd_vary *vary, size_t i)
{
    const double part = (double)i / (double)(vary->count - 1);
    if (i == 0 || i == vary->count - 1) /* the ends as they were given */
        return i == 0 ? vary->from : vary->to;
    return vary->log ? vary->from * pow(vary->to / vary->from, part)
                     : vary->from + part * (vary->to - vary->from);
}

const char *pd_vary_unit(const struct pd_vary *vary)
{
    static const struct {
        const char *end, *unit;
    } units[] = {{"_ohm_per_km", "ohm/km"},
                 {"_ohm_m", "ohm m"},
                 {"_ohm", "ohm"},
                 {"_kw", "kW"},
                 {"_mm", "mm"},
                 {"_m", "m"},
                 {"_a", "A"},
                 {"_v", "V"},
                 {"_s", "s"}};
    const size_t length = strlen(vary->at.column);
    if (strcmp(vary->at.table, "case.csv") == 0) {
        const char *const unit = pd_case_facts_unit(vary->at.row);
        return unit != NULL && strcmp(unit, "-") != 0 ? unit : "";
    }
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        const size_t end = strlen(units[i].end);
        if (length > end && strcmp(vary->at.column + length - end, units[i].end) == 0)
            return units[i].unit;
    }
    return "";
}
