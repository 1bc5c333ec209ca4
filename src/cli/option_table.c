/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/options.h"

#include "cli/templates.h"
#include "earthing/shape.h"
#include "report/electrode.h"
#include "study/assess.h"
#include "study/audit.h"
#include "study/replay.h"

static void take_format(struct options *options, const char *argument, size_t choice)
{
    (void)argument;
    options->format = (enum format)choice;
}

static void take_color(struct options *options, const char *argument, size_t choice)
{
    (void)argument;
    options->color = (enum when)choice;
}

static void take_output(struct options *options, const char *argument, size_t choice)
{
    (void)choice;
    options->output = argument;
}

static void take_fault(struct options *options, const char *argument, size_t choice)
{
    (void)argument;
    options->faults |= 1u << choice | 1u << PD_HEALTHY;
}

static void take_senses(struct options *options, const char *argument, size_t choice)
{
    (void)argument;
    options->senses = choice;
    options->senses_given = true;
}

static void take_system(struct options *options, const char *argument, size_t choice)
{
    (void)argument;
    options->system = choice;
    options->system_given = true;
}

static void take_soil(struct options *options, const char *argument, size_t choice)
{
    (void)choice;
    options->soil = argument;
}

static void take_layers(struct options *options, const char *argument, size_t choice)
{
    (void)choice;
    options->layers = argument;
}

static void take_survey(struct options *options, const char *argument, size_t choice)
{
    (void)choice;
    options->survey = argument;
}

static void take_season(struct options *options, const char *argument, size_t choice)
{
    (void)choice;
    options->season = argument;
}

static void take_shape(struct options *options, const char *argument, size_t choice)
{
    (void)argument;
    options->shape = choice;
    options->shape_given = true;
}

static void take_picture(struct options *options, const char *argument, size_t choice)
{
    (void)argument;
    options->picture = choice;
}

static void take_vary(struct options *options, const char *argument, size_t choice)
{
    (void)choice;
    if (options->vary_count < VARY_MOST)
        options->vary[options->vary_count] = argument;
    options->vary_count++;
}

static void take_loads(struct options *options, const char *argument, size_t choice)
{
    (void)argument;
    options->loads = choice;
    options->loads_given = true;
}

static void take_quiet(struct options *options, const char *argument, size_t choice)
{
    (void)argument, (void)choice;
    options->quiet = true;
}

static void take_strict(struct options *options, const char *argument, size_t choice)
{
    (void)argument, (void)choice;
    options->strict = true;
}

static void take_section(struct options *options, const char *argument, size_t choice)
{
    (void)choice;
    options->section = argument;
}

static void take_at(struct options *options, const char *argument, size_t choice)
{
    (void)choice;
    options->at = argument;
}

static void take_supply(struct options *options, const char *argument, size_t choice)
{
    (void)argument;
    options->supply = choice;
}

static void take_worst(struct options *options, const char *argument, size_t choice)
{
    (void)argument;
    options->worst = choice;
}

static void take_threads(struct options *options, const char *argument, size_t choice)
{
    (void)argument;
    options->threads = choice;
}

static void take_every(struct options *options, const char *argument, size_t choice)
{
    (void)argument, (void)choice;
    options->every = true;
}

static void take_limits(struct options *options, const char *argument, size_t choice)
{
    (void)choice;
    options->limits = argument;
}

static void take_street(struct options *options, const char *argument, size_t choice)
{
    (void)choice;
    options->street = argument;
}

static void take_summary(struct options *options, const char *argument, size_t choice)
{
    (void)choice;
    options->summary = argument;
}

static void take_only(struct options *options, const char *argument, size_t choice)
{
    (void)argument;
    options->only |= 1u << choice;
}

static void take_kind(struct options *options, const char *argument, size_t choice)
{
    (void)argument;
    options->kind = choice;
}

static void take_help(struct options *options, const char *argument, size_t choice)
{
    (void)argument, (void)choice;
    options->help = true;
}

static void take_version(struct options *options, const char *argument, size_t choice)
{
    (void)argument, (void)choice;
    options->version = true;
}

static const char *const formats[FORMATS] = {[FORMAT_TEXT] = "text",
                                             [FORMAT_JSON] = "json",
                                             [FORMAT_CSV] = "csv",
                                             [FORMAT_SVG] = "svg",
                                             [FORMAT_HTML] = "html"};
static const char *const whens[WHENS] = {
    [WHEN_AUTO] = "auto", [WHEN_ALWAYS] = "always", [WHEN_NEVER] = "never"};

/* In the order of enum pd_finding. */
static const char *const findings[PD_FINDINGS] = {"supported", "not-supported",
                                                  "insufficient-evidence", "not-read"};

const struct option_row option_table[] = {
    {
        .name = "format",
        .argument = "FORMAT",
        .choices = formats,
        .choice_count = FORMATS,
        .meaning = "text (default), json or csv; of a command that draws: svg; of assess and "
                   "explain: html",
        .commands = FOR_ASSESS | FOR_BLIND | FOR_NUISANCE | FOR_COMMISSION | FOR_REPLAY |
                    FOR_ELECTRODE | FOR_SWEEP | FOR_SAMPLE | FOR_EXPLAIN | FOR_AFTERMATH |
                    FOR_AUDIT | FOR_TABLES,
        .take = take_format,
    },
    {
        .name = "output",
        .letter = 'o',
        .argument = "FILE",
        .meaning = "write the result to FILE, whole or not at all",
        .commands = FOR_ALL,
        .take = take_output,
    },
    {
        .name = "color",
        .argument = "WHEN",
        .choices = whens,
        .choice_count = WHENS,
        .meaning = "colour the verdict: auto (default), always or never",
        .commands = FOR_ASSESS,
        .take = take_color,
    },
    {
        .name = "fault",
        .argument = "FAULT",
        .choices = pd_fault_names,
        .choice_count = PD_FAULTS,
        .meaning =
            "run only FAULT, may be given again: open-pen, pen-joint, open-neutral, crossed, "
            "line-to-pen, open-earthing (default all)",
        .commands = FOR_ASSESS,
        .take = take_fault,
    },
    {
        .name = "senses",
        .argument = "SENSE",
        .choices = pd_sense_names,
        .choice_count = PD_SENSES,
        .meaning =
            "a detector without a case: line-neutral, three-line-neutral, pe-earth or star-point",
        .commands = FOR_BLIND,
        .take = take_senses,
    },
    {
        .name = "low",
        .argument = "VOLT",
        .meaning = "lower threshold of a band (default the limit set's)",
        .commands = FOR_BLIND,
        .is_number = true,
        .number = NUMBER_LOW,
        .least = 0,
        .most = 1000,
    },
    {
        .name = "high",
        .argument = "VOLT",
        .meaning = "upper threshold of a band (default the limit set's)",
        .commands = FOR_BLIND,
        .is_number = true,
        .number = NUMBER_HIGH,
        .least = 0,
        .most = 1000,
    },
    {
        .name = "limit",
        .argument = "VOLT",
        .meaning = "the one threshold of a device that senses pe-earth or star-point",
        .commands = FOR_BLIND,
        .is_number = true,
        .number = NUMBER_LIMIT,
        .least = 1,
        .most = 1000,
    },
    {
        .name = "tolerance",
        .argument = "VOLT",
        .meaning = "how far each threshold may be off, either way (default 0)",
        .commands = FOR_BLIND,
        .is_number = true,
        .number = NUMBER_TOLERANCE,
        .least = 0,
        .most = 100,
    },
    {
        .name = "supply-low",
        .argument = "VOLT",
        .meaning = "lowest supply voltage (default the limit set's)",
        .commands = FOR_BLIND,
        .is_number = true,
        .number = NUMBER_SUPPLY_LOW,
        .least = 1,
        .most = 1000,
    },
    {
        .name = "supply-high",
        .argument = "VOLT",
        .meaning = "highest supply voltage (default the limit set's)",
        .commands = FOR_BLIND,
        .is_number = true,
        .number = NUMBER_SUPPLY_HIGH,
        .least = 1,
        .most = 1000,
    },
    {
        .name = "touch-limit",
        .argument = "VOLT",
        .meaning = "touch-voltage limit (default the limit set's)",
        .commands = FOR_BLIND,
        .is_number = true,
        .number = NUMBER_TOUCH_LIMIT,
        .least = 1,
        .most = 1000,
    },
    {
        .name = "system",
        .argument = "SYSTEM",
        .choices = pd_system_names,
        .choice_count = PD_SYSTEMS,
        .meaning = "three-phase (default), split-phase or single-phase",
        .commands = FOR_BLIND,
        .take = take_system,
    },
    {
        .name = "soil",
        .argument = "SOIL",
        .meaning = "uniform soil: ohm-m, or a kind of soil by name",
        .commands = FOR_ELECTRODE,
        .take = take_soil,
    },
    {
        .name = "layers",
        .argument = "R1,H,R2",
        .meaning = "two layers: upper ohm-m, its depth in m, lower ohm-m",
        .commands = FOR_ELECTRODE,
        .take = take_layers,
    },
    {
        .name = "survey",
        .argument = "FILE",
        .meaning = "soil from a four-pin survey: spacing_m, resistance_ohm",
        .commands = FOR_ELECTRODE,
        .take = take_survey,
    },
    {
        .name = "season",
        .argument = "SEASON",
        .meaning = "dry season over now: a factor, or a published one by name",
        .commands = FOR_ELECTRODE,
        .take = take_season,
    },
    {
        .name = "shape",
        .argument = "SHAPE",
        .choices = pd_shape_names,
        .choice_count = PD_SHAPES,
        .meaning = "rod (default), wire, plate, ring, square, strip or foundation",
        .commands = FOR_ELECTRODE,
        .take = take_shape,
    },
    {
        .name = "length",
        .argument = "METRE",
        .meaning = "of rods, wire or strip; side of a plate or foundation; diameter of a ring",
        .commands = FOR_ELECTRODE,
        .is_number = true,
        .number = NUMBER_LENGTH,
        .least = 0.05,
        .most = 1000,
    },
    {
        .name = "diameter",
        .argument = "MM",
        .meaning = "of a rod (default 16) or wire; width of a strip",
        .commands = FOR_ELECTRODE,
        .is_number = true,
        .number = NUMBER_DIAMETER,
        .least = 1,
        .most = 1000,
    },
    {
        .name = "depth",
        .argument = "METRE",
        .meaning = "of a wire, strip, ring or plate; underside of a foundation; top of rods",
        .commands = FOR_ELECTRODE,
        .is_number = true,
        .number = NUMBER_DEPTH,
        .least = 0,
        .most = 100,
    },
    {
        .name = "count",
        .argument = "RODS",
        .meaning = "rods in all (default 1)",
        .commands = FOR_ELECTRODE,
        .is_number = true,
        .number = NUMBER_COUNT,
        .least = 1,
        .most = 100,
    },
    {
        .name = "spacing",
        .argument = "METRE",
        .meaning = "between rods",
        .commands = FOR_ELECTRODE,
        .is_number = true,
        .number = NUMBER_SPACING,
        .least = 0.05,
        .most = 1000,
    },
    {
        .name = "want",
        .argument = "OHM",
        .meaning = "say what rods it takes to get down to OHM",
        .commands = FOR_ELECTRODE,
        .is_number = true,
        .number = NUMBER_WANT,
        .least = 0.01,
        .most = 1e6,
    },
    {
        .name = "separation",
        .argument = "PERCENT",
        .meaning = "how far off the ground is down to PERCENT of the electrode's potential",
        .commands = FOR_ELECTRODE,
        .is_number = true,
        .number = NUMBER_SEPARATION,
        .least = 0.1,
        .most = 99,
    },
    {
        .name = "picture",
        .argument = "PICTURE",
        .choices = pd_electrode_picture_names,
        .choice_count = PD_ELECTRODE_PICTURES,
        .meaning = "of --format svg: contour (default) or profile",
        .commands = FOR_ELECTRODE,
        .take = take_picture,
    },
    {
        .name = "vary",
        .argument = "CELL",
        .meaning = "TABLE/ROW/COLUMN=FROM:TO:COUNT, with :log in even proportions; may be given "
                   "twice",
        .commands = FOR_SWEEP,
        .take = take_vary,
    },
    {
        .name = "lines",
        .argument = "KW",
        .meaning = "split a demand of the installation over its three lines in all proportions",
        .commands = FOR_SWEEP,
        .is_number = true,
        .number = NUMBER_LINES,
        .least = 0.001,
        .most = 10000,
    },
    {
        .name = "steps",
        .argument = "COUNT",
        .meaning = "parts that --lines divides the demand into (default 40)",
        .commands = FOR_SWEEP,
        .is_number = true,
        .number = NUMBER_STEPS,
        .least = 2,
        .most = 400,
    },
    {
        .name = "loads",
        .argument = "WHICH",
        .choices = pd_loads_names,
        .choice_count = PD_LOADS_KINDS,
        .meaning = "present, or worst: also the ends of their ranges; for aftermath also low or "
                   "high (default present, for aftermath worst)",
        .commands = FOR_SWEEP | FOR_AFTERMATH,
        .take = take_loads,
    },
    {
        .name = "trials",
        .letter = 'n',
        .argument = "COUNT",
        .meaning = "how many trials (default 100000)",
        .commands = FOR_SAMPLE,
        .is_number = true,
        .number = NUMBER_TRIALS,
        .least = 1,
        .most = 1e9,
    },
    {
        .name = "seed",
        .argument = "NUMBER",
        .meaning = "of the random numbers (default 1)",
        .commands = FOR_SAMPLE,
        .is_number = true,
        .number = NUMBER_SEED,
        .least = 0,
        .most = 9007199254740992,
    },
    {
        .name = "replicates",
        .argument = "COUNT",
        .meaning = "randomisations, for the confidence limits (default 16)",
        .commands = FOR_SAMPLE,
        .is_number = true,
        .number = NUMBER_REPLICATES,
        .least = 4,
        .most = 256,
    },
    {
        .name = "horizon",
        .argument = "SECOND",
        .meaning = "how long to follow what happens (default 300)",
        .commands = FOR_AFTERMATH,
        .is_number = true,
        .number = NUMBER_HORIZON,
        .least = 0.1,
        .most = 86400,
    },
    {
        .name = "limits",
        .argument = "SET",
        .meaning = "the limit set of an audit (default gb-outdoor-charging)",
        .commands = FOR_AUDIT,
        .take = take_limits,
    },
    {
        .name = "only",
        .argument = "FINDING",
        .choices = findings,
        .choice_count = PD_FINDINGS,
        .meaning = "write only these rows, may be given again: supported, not-supported, "
                   "insufficient-evidence or not-read; all are counted",
        .commands = FOR_AUDIT,
        .take = take_only,
    },
    {
        .name = "street",
        .argument = "CASE",
        .meaning = "put each site among the neighbours of this case too, in place of its "
                   "installation under study",
        .commands = FOR_AUDIT,
        .take = take_street,
    },
    {
        .name = "summary",
        .argument = "FILE",
        .meaning = "write the page that sums up to FILE too, as HTML where it ends in .html",
        .commands = FOR_AUDIT,
        .take = take_summary,
    },
    {
        .name = "kind",
        .argument = "KIND",
        .choices = template_kind_names,
        .choice_count = TEMPLATES,
        .meaning = "house (default), workshop or street",
        .commands = FOR_NEW,
        .take = take_kind,
    },
    {
        .name = "strict",
        .meaning = "exit with 1 on a residual hazard too",
        .commands = FOR_ASSESS,
        .take = take_strict,
    },
    {
        .name = "section",
        .argument = "NAME",
        .meaning = "open the PEN in this section only (default: in every one; for aftermath the "
                   "worst)",
        .commands = FOR_REPLAY | FOR_AFTERMATH,
        .take = take_section,
    },
    {
        .name = "at",
        .argument = "NODE",
        .meaning = "touch voltage at this node's protective conductor; all: the worst of those "
                   "with loads (default: the charging point)",
        .commands = FOR_REPLAY,
        .take = take_at,
    },
    {
        .name = "supply",
        .argument = "WHICH",
        .choices = pd_replay_supply_names,
        .choice_count = PD_REPLAY_SUPPLIES,
        .meaning = "supply voltage: range (default, anywhere in the set's range), declared, top",
        .commands = FOR_REPLAY,
        .take = take_supply,
    },
    {
        .name = "worst",
        .argument = "N",
        .whole_most = 1000,
        .meaning = "name so many of the worst moments, 1 to 1000 (default 10)",
        .commands = FOR_REPLAY,
        .take = take_worst,
    },
    {
        .name = "every",
        .meaning = "with --format csv: a row for each moment and section",
        .commands = FOR_REPLAY,
        .take = take_every,
    },
    {
        .name = "threads",
        .argument = "N",
        .whole_most = 1024,
        .meaning = "work in so many threads (default 0: one for each processor); the result is the "
                   "same",
        .commands = FOR_REPLAY | FOR_SAMPLE | FOR_AUDIT,
        .take = take_threads,
    },
    {
        .name = "quiet",
        .letter = 'q',
        .meaning = "no progress on the terminal, only errors",
        .commands = FOR_ASSESS | FOR_BLIND | FOR_NUISANCE | FOR_COMMISSION | FOR_REPLAY |
                    FOR_ELECTRODE | FOR_SWEEP | FOR_SAMPLE | FOR_EXPLAIN | FOR_AFTERMATH |
                    FOR_AUDIT,
        .take = take_quiet,
    },
    {
        .name = "help",
        .letter = 'h',
        .meaning = "say what the program or the command does",
        .commands = FOR_ALL,
        .take = take_help,
    },
    {
        .name = "version",
        .meaning = "print the version",
        .commands = FOR_ALL,
        .take = take_version,
    },
};
const size_t option_count = sizeof option_table / sizeof option_table[0];
_Static_assert(sizeof option_table / sizeof option_table[0] < OPTIONS_MAX, "room for getopt's");
