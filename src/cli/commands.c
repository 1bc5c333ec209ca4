/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/commands.h"

static const char assess_details[] =
    "CASE is a folder of CSV tables; case.csv and loads.csv are required. The PEN is opened in "
    "every section of the supply, for every load state and supply voltage, and what the charging "
    "point's chassis then does is held against the limit set that case.csv chooses. --format html "
    "makes one page for the job file, with pictures, that prints to A4.";
static const char assess_exit[] =
    "Exit status: 0 acceptable or residual hazard, 1 not acceptable, 2 usage or a file that cannot "
    "be read or written, 3 wrong input data, 4 not determined, 5 internal fault, 130 interrupted.";

static const char replay_details[] =
    "PROFILE is a CSV table of a moment a row, - for standard input: a column time "
    "(2026-01-31T17:30 or 17:30), or time_s, time_min, time_h, and a column for each load, by "
    "its name and in its unit of loads.csv. An empty cell is a moment that is not determined. "
    "The PEN is opened in every section at every moment. With csv a row is written for each "
    "moment, and with a wrong record from standard input rows before the error may stand in "
    "it: the last line of a whole table says so.";
static const char replay_exit[] =
    "Exit status: 0 done, 2 usage or a file that cannot be read or written, 3 wrong input data, 4 "
    "the case has something missing, 5 internal fault, 130 interrupted.";

static const char blind_details[] =
    "What detectors cannot see, in the plane of neutral displacement: how far the neutral, and "
    "every "
    "chassis on it, can stand from earth unseen, and how much of the plane that is; of a case its "
    "scenarios too. Without CASE, --senses describes one detector. --format svg draws it.";
static const char blind_exit[] = "Exit status: 0 done, 2 usage or a file that cannot be read or "
                                 "written, 3 wrong input data, 4 not "
                                 "determined for some detector, 5 internal fault, 130 interrupted.";

static const char explain_details[] =
    "The working behind the decision, step by step with this case's own numbers: what the PEN "
    "does, "
    "what opens and where the current then goes, why no fuse or RCD acts, what each route does "
    "about it, what remains. Each step can be done again with a pocket calculator. --format html "
    "writes a page to teach with: the working, and sliders for load, electrode and break.";
static const char aftermath_details[] =
    "One PEN is opened, the worst for this case or --section, and what lets go, comes back or "
    "disconnects is followed by each device's own clock, with the voltages in between: inverters "
    "by the stages of their interface protection, chargers by their window, detectors by their "
    "delay and reset. --format svg draws it.";
static const char aftermath_exit[] =
    "Exit status: 0 done, 2 usage or a file that cannot be read or written, 3 wrong input data, 4 "
    "not determined to an end, 5 internal fault, 130 interrupted.";

static const char electrode_details[] =
    "An earth electrode's resistance from soil and shape, by handbook formula and numerically; or, "
    "with --want, the rods that it takes to get down to OHM. The soil is --soil, --layers or "
    "--survey. --format svg draws the ground's potential round it.";
static const char electrode_exit[] =
    "Exit status: 0 done, 1 not practicable here, 2 usage or a file that cannot be read or "
    "written, 3 wrong input data, 4 not determined (with --want also where no --season is given), "
    "5 internal fault, 130 interrupted.";
static const char sample_details[] =
    "Loads, supply and electrodes are drawn from the distributions of distributions.csv; without "
    "it, uniformly over each load's declared range and the limit set's supply range. In each trial "
    "the PEN is opened in every section. The answer is how likely each touch voltage is, with "
    "confidence limits, given that a PEN has opened.";
static const char sample_exit[] =
    "Exit status: 0 done, 2 usage or a file that cannot be read or written, 3 wrong input data, 4 "
    "some trials not determined, 5 internal fault, 130 interrupted.";

static const char sweep_details[] =
    "CASE is a folder of CSV tables. A cell is named by its table, the name at the head of its row "
    "and its column, such as electrodes/rod/resistance_ohm=1:100:50:log or "
    "case/source_electrode=0:20; a name with a slash or '=' in it stands in double quotes. At each "
    "value the PEN is opened in every section, and the largest touch voltage is kept; where it "
    "crosses the limit is found by solving there.";
static const char sweep_exit[] =
    "Exit status: 0 done, 2 usage or a file that cannot be read or written, 3 wrong input data, 4 "
    "some point not determined, 5 internal fault, 130 interrupted.";

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

static const char new_details[] =
    "Writes a complete case into the new folder DIR, every table with comments that say what to "
    "put "
    "in it. Place and figures are invented, and what only you can measure is left empty, so that "
    "it is \"not determined\" until you have. A folder with anything in it is never touched.";
static const char new_exit[] = "Exit status: 0 done, 2 usage, or a folder that is there already or "
                               "cannot be made, 130 interrupted.";

static const char tables_details[] =
    "Without NAME: the tables that are compiled into the program, what each is for, how many rows "
    "it has and how many of them are from memory. With NAME: that table, with the source of each "
    "row. --format csv writes it as it is, to be read or to be held against the standard.";
static const char tables_exit[] =
    "Exit status: 0 done, 2 usage, no such table, or a file that cannot be written, 5 internal "
    "fault, 130 interrupted.";

static const char help_details[] = "Without COMMAND: what there is.";
static const char help_exit[] = "Exit status: 0 done, 2 usage or no such command.";

const char *const group_names[GROUPS] = {
    [GROUP_DECIDE] = "Decide on a charging point", [GROUP_TEACH] = "Show why",
    [GROUP_REVIEW] = "Review and commission",      [GROUP_SIZE] = "Size and vary",
    [GROUP_TOOLS] = "The program itself",
};

static const char commission_details[] =
    "For each device of CASE: the voltages or currents to put on its own terminals just inside and "
    "just outside each threshold, what must come of it and when, what stays live, and what such a "
    "test does not prove. No step opens a PEN.";

static const char nuisance_details[] =
    "From the declared supply range and load states: what each device of CASE senses with nothing "
    "wrong. With LOG.csv, a recorded voltage ('-' for standard input; a column of times, and "
    "voltage_v or l1_v, l2_v, l3_v): how often it would have tripped. And whether thresholds exist "
    "that neither do that nor leave more than the limit unseen.";
static const char nuisance_exit[] =
    "Exit status: 0 done, 2 usage or a file that cannot be read or written, 3 wrong input data, "
    "4 not determined, 5 internal fault, 130 interrupted.";

const struct command command_table[] = {
    {
        .name = "assess",
        .operands = "CASE",
        .operands_least = 1,
        .operands_most = 1,
        .meaning = "decide how a charging point on a PME supply is protected",
        .details = assess_details,
        .exit_status = assess_exit,
        .example = "assess cases/street",
        .group = GROUP_DECIDE,
        .bit = FOR_ASSESS,
        .formats = 1u << FORMAT_TEXT | 1u << FORMAT_JSON | 1u << FORMAT_CSV | 1u << FORMAT_HTML,
        .run = run_assess,
    },
    {
        .name = "replay",
        .operands = "CASE PROFILE",
        .operands_least = 2,
        .operands_most = 2,
        .meaning = "what a recorded load series would have met, had the PEN opened",
        .details = replay_details,
        .exit_status = replay_exit,
        .example = "replay cases/street cases/street/profile.csv",
        .group = GROUP_SIZE,
        .bit = FOR_REPLAY,
        .formats = 1u << FORMAT_TEXT | 1u << FORMAT_JSON | 1u << FORMAT_CSV | 1u << FORMAT_SVG,
        .run = run_replay,
    },
    {
        .name = "blind",
        .operands = "[CASE]",
        .operands_most = 1,
        .meaning = "say what a detector cannot see, and draw it",
        .details = blind_details,
        .exit_status = blind_exit,
        .example = "blind cases/laundry-three-lines",
        .group = GROUP_TEACH,
        .bit = FOR_BLIND,
        .formats = 1u << FORMAT_TEXT | 1u << FORMAT_JSON | 1u << FORMAT_CSV | 1u << FORMAT_SVG,
        .run = run_blind,
    },
    {
        .name = "explain",
        .operands = "CASE",
        .operands_least = 1,
        .operands_most = 1,
        .meaning = "the working, step by step, with this case's numbers",
        .details = explain_details,
        .exit_status = nuisance_exit,
        .example = "explain cases/house-rod-12-ohm",
        .group = GROUP_TEACH,
        .bit = FOR_EXPLAIN,
        .formats = 1u << FORMAT_TEXT | 1u << FORMAT_JSON | 1u << FORMAT_HTML,
        .run = run_explain,
    },
    {
        .name = "aftermath",
        .operands = "CASE",
        .operands_least = 1,
        .operands_most = 1,
        .meaning = "the seconds after the break, event by event",
        .details = aftermath_details,
        .exit_status = aftermath_exit,
        .example = "aftermath cases/vehicle-lets-go",
        .group = GROUP_TEACH,
        .bit = FOR_AFTERMATH,
        .formats = 1u << FORMAT_TEXT | 1u << FORMAT_JSON | 1u << FORMAT_CSV | 1u << FORMAT_SVG,
        .run = run_aftermath,
    },
    {
        .name = "commission",
        .operands = "CASE",
        .operands_least = 1,
        .operands_most = 1,
        .meaning = "a sheet to test the devices by",
        .details = commission_details,
        .exit_status = nuisance_exit,
        .example = "commission cases/street",
        .group = GROUP_REVIEW,
        .bit = FOR_COMMISSION,
        .formats = 1u << FORMAT_TEXT | 1u << FORMAT_JSON | 1u << FORMAT_CSV,
        .run = run_commission,
    },
    {
        .name = "nuisance",
        .operands = "CASE [LOG.csv]",
        .operands_least = 1,
        .operands_most = 2,
        .meaning = "what a device does on a healthy supply",
        .details = nuisance_details,
        .exit_status = nuisance_exit,
        .example = "nuisance cases/house-band-device",
        .group = GROUP_REVIEW,
        .bit = FOR_NUISANCE,
        .formats = 1u << FORMAT_TEXT | 1u << FORMAT_JSON | 1u << FORMAT_CSV,
        .run = run_nuisance,
    },
    {
        .name = "electrode",
        .operands = "",
        .meaning = "size an earth electrode from soil and shape",
        .details = electrode_details,
        .exit_status = electrode_exit,
        .example = "electrode --want 2.7 --soil soft-clay --season 1.5",
        .group = GROUP_SIZE,
        .bit = FOR_ELECTRODE,
        .formats = 1u << FORMAT_TEXT | 1u << FORMAT_JSON | 1u << FORMAT_CSV | 1u << FORMAT_SVG,
        .run = run_electrode,
    },
    {
        .name = "sample",
        .operands = "CASE",
        .operands_least = 1,
        .operands_most = 1,
        .meaning = "how likely each touch voltage is when loads, supply and electrodes are drawn",
        .details = sample_details,
        .exit_status = sample_exit,
        .example = "sample cases/house-rod-12-ohm --trials 20000",
        .group = GROUP_SIZE,
        .bit = FOR_SAMPLE,
        .formats = 1u << FORMAT_TEXT | 1u << FORMAT_JSON | 1u << FORMAT_CSV | 1u << FORMAT_SVG,
        .run = run_sample,
    },
    {
        .name = "sweep",
        .operands = "CASE",
        .operands_least = 1,
        .operands_most = 1,
        .meaning = "the touch voltage over a range of one or two numbers of a case",
        .details = sweep_details,
        .exit_status = sweep_exit,
        .example = "sweep cases/house-rod-12-ohm --vary loads/vehicle/current_a=1:32",
        .group = GROUP_SIZE,
        .bit = FOR_SWEEP,
        .formats = 1u << FORMAT_TEXT | 1u << FORMAT_JSON | 1u << FORMAT_CSV | 1u << FORMAT_SVG,
        .run = run_sweep,
    },
    {
        .name = "audit",
        .operands = "SITES.csv",
        .operands_least = 1,
        .operands_most = 1,
        .meaning = "hold the jobs of a spreadsheet against the rule and the model",
        .details = audit_details,
        .exit_status = audit_exit,
        .example = "audit cases/audit-oddenbury/sites.csv",
        .group = GROUP_REVIEW,
        .bit = FOR_AUDIT,
        .formats = 1u << FORMAT_TEXT | 1u << FORMAT_JSON | 1u << FORMAT_CSV,
        .run = run_audit,
    },
    {
        .name = "new",
        .operands = "DIR",
        .operands_least = 1,
        .operands_most = 1,
        .meaning = "write a commented case to start from into a new folder",
        .details = new_details,
        .exit_status = new_exit,
        .example = "new my-house --kind house",
        .group = GROUP_DECIDE,
        .bit = FOR_NEW,
        .run = run_new,
    },
    {
        .name = "tables",
        .operands = "[NAME]",
        .operands_most = 1,
        .meaning = "the limit sets, cables, soils ... built in, and their sources",
        .details = tables_details,
        .exit_status = tables_exit,
        .example = "tables limits",
        .group = GROUP_TOOLS,
        .bit = FOR_TABLES,
        .formats = 1u << FORMAT_TEXT | 1u << FORMAT_JSON | 1u << FORMAT_CSV,
        .run = run_tables,
    },
    {
        .name = "selftest",
        .operands = "",
        .meaning = "recompute published figures on this machine",
        .details = selftest_details,
        .exit_status = selftest_exit,
        .example = "selftest",
        .group = GROUP_TOOLS,
        .bit = FOR_SELFTEST,
        .run = run_selftest,
    },
    {
        .name = "help",
        .operands = "[COMMAND]",
        .operands_most = 1,
        .meaning = "say what the program or a command does",
        .details = help_details,
        .exit_status = help_exit,
        .example = "help assess",
        .group = GROUP_TOOLS,
        .bit = FOR_HELP,
        .run = run_help,
    },
};
const size_t command_count = sizeof command_table / sizeof command_table[0];
_Static_assert(sizeof command_table / sizeof command_table[0] <= COMMANDS_MAX, "room for names");
