/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/options.h"

#include <getopt.h>
#include <string.h>

#include "study/assess.h"
#include "study/audit.h"
#include "table/table.h"
#include "table/words.h"

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

static const char *const formats[FORMATS] = {
    [FORMAT_TEXT] = "text", [FORMAT_JSON] = "json", [FORMAT_CSV] = "csv", [FORMAT_SVG] = "svg"};
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
        .meaning = "text (default), json or csv; of a command that draws: svg",
        .commands = FOR_ASSESS | FOR_BLIND | FOR_AUDIT,
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
        .name = "threads",
        .argument = "COUNT",
        .meaning = "at once (default 2); the result is the same",
        .commands = FOR_AUDIT,
        .is_number = true,
        .number = NUMBER_THREADS,
        .least = 1,
        .most = 8,
    },
    {
        .name = "strict",
        .meaning = "exit with 1 on a residual hazard too",
        .commands = FOR_ASSESS,
        .take = take_strict,
    },
    {
        .name = "quiet",
        .letter = 'q',
        .meaning = "no progress on the terminal, only errors",
        .commands = FOR_ASSESS | FOR_BLIND | FOR_AUDIT,
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

/* What getopt_long returns for option i: no byte, so that it is not taken for a letter. */
enum { FIRST_VALUE = 256 };

struct getopt_tables {
    struct option option[OPTIONS_MAX];
    char letters[2 * OPTIONS_MAX + 2];
};

/* The letters begin with ':': getopt prints nothing, and tells an argument left out from an option
 * it does not know. */
static void make_tables(struct getopt_tables *tables)
{
    size_t used = 0;
    memset(tables, 0, sizeof *tables);
    tables->letters[used++] = ':';
    for (size_t i = 0; i < option_count; i++) {
        const struct option_row *const row = &option_table[i];
        tables->option[i] = (struct option){
            .name = row->name,
            .has_arg = row->argument != NULL ? required_argument : no_argument,
            .val = FIRST_VALUE + (int)i,
        };
        if (row->letter == 0)
            continue;
        tables->letters[used++] = row->letter;
        if (row->argument != NULL)
            tables->letters[used++] = ':';
    }
}

/* The option that getopt means by a value or a letter, option_count where there is none. */
static size_t option_of(int value)
{
    for (size_t i = 0; i < option_count; i++)
        if (value == FIRST_VALUE + (int)i || (value != 0 && value == option_table[i].letter))
            return i;
    return option_count;
}

static bool complain_unknown(const char *text, FILE *messages)
{
    const char *names[OPTIONS_MAX];
    char bare[64];
    for (size_t i = 0; i < option_count; i++)
        names[i] = option_table[i].name;
    snprintf(bare, sizeof bare, "%.*s", (int)strcspn(text + strspn(text, "-"), "="),
             text + strspn(text, "-"));
    const size_t near = pd_nearest(bare, names, option_count);
    fprintf(messages, "pendrift: no option '%s'", pd_show(text).text);
    if (near < option_count)
        fprintf(messages, "; did you mean --%s?\n", names[near]);
    else
        fputs("; see pendrift --help\n", messages);
    return false;
}

static bool complain(int result, const char *text, FILE *messages)
{
    const size_t option = option_of(optopt);
    if (optopt != 0 && option == option_count) {
        const char letter[] = {'-', (char)optopt, '\0'};
        return complain_unknown(letter, messages);
    }
    if (option == option_count)
        return complain_unknown(text, messages);
    const struct option_row *const row = &option_table[option];
    if (result == ':')
        fprintf(messages, "pendrift: --%s: needs an argument: %s\n", row->name,
                row->choices != NULL ? row->meaning : row->argument);
    else
        fprintf(messages, "pendrift: '%s': --%s takes no argument\n", pd_show(text).text,
                row->name);
    return false;
}

static bool take(struct options *options, size_t option, const char *argument, FILE *messages)
{
    const struct option_row *const row = &option_table[option];
    size_t choice = 0;
    if (row->choices != NULL) {
        while (choice < row->choice_count && strcmp(argument, row->choices[choice]) != 0)
            choice++;
        if (choice == row->choice_count) {
            fprintf(messages, "pendrift: --%s: '%s' is not one of its words; expected: %s\n",
                    row->name, pd_show(argument).text, row->meaning);
            return false;
        }
    } else if (row->is_number) {
        double value;
        if (!pd_parse_number(argument, &value) || value < row->least || value > row->most) {
            fprintf(messages, "pendrift: --%s: '%s' is not a number from %g to %g; expected: %s\n",
                    row->name, pd_show(argument).text, row->least, row->most, row->meaning);
            return false;
        }
        options->number[row->number] = value;
        options->number_given[row->number] = true;
    } else if (row->argument != NULL && argument[0] == '\0') {
        fprintf(messages, "pendrift: --%s: is empty; expected: %s\n", row->name, row->argument);
        return false;
    }
    options->given |= 1u << option;
    if (row->take != NULL)
        row->take(options, argument, choice);
    return true;
}

bool options_parse(int argument_count, char **arguments, struct options *options, FILE *messages)
{
    struct getopt_tables tables;
    make_tables(&tables);
    *options = (struct options){0};
    optind = 0; /* start afresh: a test parses many times */
    for (;;) {
        const int result =
            getopt_long(argument_count, arguments, tables.letters, tables.option, NULL);
        if (result == -1)
            break;
        if (result == '?' || result == ':')
            return complain(result, arguments[optind - 1], messages);
        if (!take(options, option_of(result), optarg, messages))
            return false;
    }
    options->operands = (const char *const *)arguments + optind;
    options->operand_count = (size_t)(argument_count - optind);
    return true;
}

bool options_fit(const struct options *options, const char *command, unsigned bit, FILE *messages)
{
    bool fit = true;
    for (size_t i = 0; i < option_count; i++)
        if ((options->given & 1u << i) != 0 && (option_table[i].commands & bit) == 0) {
            fprintf(messages, "pendrift: --%s: is not an option of '%s'\n", option_table[i].name,
                    command);
            fit = false;
        }
    return fit;
}
