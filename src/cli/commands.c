/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/commands.h"

#include <string.h>

#include "table/table.h"
#include "table/words.h"

static const char assess_details[] =
    "CASE is a folder of CSV tables; case.csv and loads.csv are required. The PEN is opened in "
    "every section of the supply, for every load state and supply voltage, and what the charging "
    "point's chassis then does is held against the limit set that case.csv chooses.";
static const char assess_exit[] =
    "Exit status: 0 acceptable or residual hazard, 1 not acceptable, 2 usage or a file that cannot "
    "be read or written, 3 wrong input data, 4 not determined, 5 internal fault, 130 interrupted.";

static const char blind_details[] =
    "What detectors cannot see, in the plane of neutral displacement: how far the neutral, and "
    "every "
    "chassis on it, can stand from earth unseen, and how much of the plane that is; of a case its "
    "scenarios too. Without CASE, --senses describes one detector. --format svg draws it.";
static const char blind_exit[] = "Exit status: 0 done, 2 usage or a file that cannot be read or "
                                 "written, 3 wrong input data, 4 not "
                                 "determined for some detector, 5 internal fault, 130 interrupted.";

static const char audit_details[] =
    "SITES.csv has a row for each completed job, - reads standard input. Each is held against the "
    "limit set and the model: is the route that the contractor claims supported by what is "
    "declared? A figure that is missing or not to be believed is insufficient evidence, never a "
    "pass. As text: the page that sums up; as csv: the sheet with findings added; as json: an "
    "object for each row.";
static const char audit_exit[] =
    "Exit status: 0 all supported, 1 some row not supported, 4 none of these, but insufficient "
    "evidence or rows not read, 2 usage or a file that cannot be read or written, 3 a header that "
    "cannot be used, 130 interrupted.";

static const char selftest_details[] =
    "Every figure is worked out by the parts of the program that decide a case, open neutrals by "
    "two roads, and held against the published one.";
static const char selftest_exit[] =
    "Exit status: 0 all agree, 1 some do not, 2 usage or a file that cannot be written.";

const struct command command_table[] = {
    {
        .name = "assess",
        .operands = "CASE",
        .operands_least = 1,
        .operands_most = 1,
        .meaning = "decide how a charging point on a PME supply is protected",
        .details = assess_details,
        .exit_status = assess_exit,
        .bit = FOR_ASSESS,
        .formats = 1u << FORMAT_TEXT | 1u << FORMAT_JSON | 1u << FORMAT_CSV,
        .run = run_assess,
    },
    {
        .name = "blind",
        .operands = "[CASE]",
        .operands_most = 1,
        .meaning = "say what a detector cannot see, and draw it",
        .details = blind_details,
        .exit_status = blind_exit,
        .bit = FOR_BLIND,
        .formats = 1u << FORMAT_TEXT | 1u << FORMAT_JSON | 1u << FORMAT_CSV | 1u << FORMAT_SVG,
        .run = run_blind,
    },
    {
        .name = "audit",
        .operands = "SITES.csv",
        .operands_least = 1,
        .operands_most = 1,
        .meaning = "hold the jobs of a spreadsheet against the rule and the model",
        .details = audit_details,
        .exit_status = audit_exit,
        .bit = FOR_AUDIT,
        .run = run_audit,
    },
    {
        .name = "selftest",
        .operands = "",
        .meaning = "recompute published figures on this machine",
        .details = selftest_details,
        .exit_status = selftest_exit,
        .bit = FOR_SELFTEST,
        .run = run_selftest,
    },
    {
        .name = "help",
        .operands = "[COMMAND]",
        .operands_most = 1,
        .meaning = "say what the program or a command does",
        .bit = FOR_HELP,
        .run = run_help,
    },
};
const size_t command_count = sizeof command_table / sizeof command_table[0];

const struct command *command_find(const char *name)
{
    for (size_t i = 0; i < command_count; i++)
        if (strcmp(command_table[i].name, name) == 0)
            return &command_table[i];
    return NULL;
}

void command_complain(const char *name)
{
    const char *names[sizeof command_table / sizeof command_table[0]];
    for (size_t i = 0; i < command_count; i++)
        names[i] = command_table[i].name;
    const size_t near = pd_nearest(name, names, command_count);
    char all[128];
    pd_list_names(all, sizeof all, names, command_count);
    fprintf(stderr, "pendrift: no command '%s'", pd_show(name).text);
    if (near < command_count)
        fprintf(stderr, "; did you mean '%s'?\n", names[near]);
    else
        fprintf(stderr, "; there are: %s\n", all);
}
