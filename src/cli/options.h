/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_CLI_OPTIONS_H
#define PENDRIFT_CLI_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* What the user asked for. One table of options makes the parser and the help. */

enum format { FORMAT_TEXT, FORMAT_JSON, FORMAT_CSV, FORMAT_SVG, FORMAT_HTML, FORMATS };
enum when { WHEN_AUTO, WHEN_ALWAYS, WHEN_NEVER, WHENS };

/* Options that are a number; the table has each one's unit. */
enum number {
    NUMBER_LOW,
    NUMBER_HIGH,
    NUMBER_LIMIT,
    NUMBER_TOLERANCE,
    NUMBER_SUPPLY_LOW,
    NUMBER_SUPPLY_HIGH,
    NUMBER_TOUCH_LIMIT,
    NUMBER_LENGTH,
    NUMBER_DIAMETER,
    NUMBER_DEPTH,
    NUMBER_COUNT,
    NUMBER_SPACING,
    NUMBER_WANT,
    NUMBER_SEPARATION,
    NUMBER_LINES,
    NUMBER_STEPS,
    NUMBER_TRIALS,
    NUMBER_SEED,
    NUMBER_REPLICATES,
    NUMBER_HORIZON,
    NUMBERS
};

enum { VARY_MOST = 2 };

struct options {
    enum format format;
    enum when color;
    const char *output; /* NULL: stdout */
    bool quiet, strict, help, version;
    const char *section, *at; /* names; NULL: not given */
    bool every;
    size_t supply;         /* enum pd_replay_supply */
    size_t worst, threads; /* 0: not given */
    unsigned faults;       /* bit 1u << enum pd_fault_kind; 0: all */
    size_t senses, system; /* enum pd_sense, enum pd_system */
    bool senses_given, system_given;
    size_t shape, picture; /* enum pd_shape, enum pd_electrode_picture */
    bool shape_given;
    const char *soil, *layers, *survey, *season; /* NULL: not given */
    const char *vary[VARY_MOST];
    size_t vary_count; /* may be more than there is room for */
    size_t loads;      /* enum pd_loads */
    bool loads_given;
    const char *limits;  /* NULL: the default */
    const char *street;  /* NULL: none */
    const char *summary; /* NULL: none */
    unsigned only;       /* bit 1u << enum pd_finding; 0: all */
    size_t kind;         /* enum template_kind */
    double number[NUMBERS];
    bool number_given[NUMBERS];
    unsigned long long given;    /* bit i: option i of the table */
    const char *const *operands; /* the command first, then what it works on */
    size_t operand_count;
};

/* Commands, as bits: which of them an option is for. */
enum {
    FOR_ASSESS = 1,
    FOR_SELFTEST = 2,
    FOR_HELP = 4,
    FOR_BLIND = 8,
    FOR_NUISANCE = 16,
    FOR_ELECTRODE = 32,
    FOR_NEW = 64,
    FOR_TABLES = 128,
    FOR_REPLAY = 256,
    FOR_SWEEP = 512,
    FOR_SAMPLE = 1024,
    FOR_AUDIT = 2048,
    FOR_EXPLAIN = 4096,
    FOR_AFTERMATH = 8192,
    FOR_COMMISSION = 16384,
    FOR_ALL = (1 << 30) - 1
};

struct option_row {
    const char *name;
    char letter;          /* 0: none */
    const char *argument; /* NULL: takes none */
    const char *const *choices;
    size_t choice_count;
    size_t whole_most; /* above 0: the argument is a whole number from 0 to this */
    const char *meaning;
    unsigned commands;
    bool is_number; /* its argument is a number from `least` to `most`, kept as `number` */
    enum number number;
    double least, most;
    /* `choice` is the argument's number among the choices, or the whole number; NULL for a
     * number of `number` */
    void (*take)(struct options *options, const char *argument, size_t choice);
};

enum { OPTIONS_MAX = 64 };
extern const struct option_row option_table[];
extern const size_t option_count;

/* Fills *options (operands point into `arguments`, which are reordered). False where an option is
 * wrong: one line on `messages` says which, and what was expected. */
bool options_parse(int argument_count, char **arguments, struct options *options, FILE *messages);

/* Whether each option given is one for the command; a line on `messages` where it is not. */
bool options_fit(const struct options *options, const char *command, unsigned bit, FILE *messages);

#endif
