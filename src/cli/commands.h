/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_CLI_COMMANDS_H
#define PENDRIFT_CLI_COMMANDS_H

#include "cli/options.h"

/* What ends the program, where no enum pd_status does. */
enum { EXIT_GOOD = 0, EXIT_NOT_ACCEPTABLE = 1, EXIT_USAGE = 2, EXIT_NOT_DETERMINED = 4 };

/* What a command is for, in the order in which help lists them. */
enum command_group { GROUP_DECIDE, GROUP_TEACH, GROUP_REVIEW, GROUP_SIZE, GROUP_TOOLS, GROUPS };
extern const char *const group_names[GROUPS];

/* A command: does its work and returns the exit status. One file each. */
struct command {
    const char *name;
    const char *operands; /* for people */
    size_t operands_least, operands_most;
    const char *meaning;
    const char *details, *exit_status; /* paragraphs of its own help, may be NULL */
    const char *example;               /* what to type after `pendrift`; a test runs it */
    enum command_group group;
    unsigned bit;
    unsigned formats; /* bit 1u << enum format: those it writes; 0: --format is not its option */
    int (*run)(const struct options *options);
};
enum { COMMANDS_MAX = 32 };
extern const struct command command_table[];
extern const size_t command_count;

/* What the program is for, a sentence. */
extern const char program_purpose[];

/* The command of that name, NULL where there is none. */
const struct command *command_find(const char *name);

/* Says on stderr that there is no such command, and which is nearest. */
void command_complain(const char *name);

/* Says on stderr how to start a case, where the command is for one and was given none. */
void command_hint(const struct command *command, const struct options *options);

/* What an option means to a command (NULL: to all that have it), in text[size]; its length. */
size_t command_option(const struct command *command, const struct option_row *row, char *text,
                      size_t size);

int run_assess(const struct options *options);
int run_replay(const struct options *options);
int run_blind(const struct options *options);
int run_explain(const struct options *options);
int run_aftermath(const struct options *options);
int run_commission(const struct options *options);
int run_nuisance(const struct options *options);
int run_electrode(const struct options *options);
int run_sample(const struct options *options);
int run_sweep(const struct options *options);
int run_audit(const struct options *options);
int run_new(const struct options *options);
int run_tables(const struct options *options);
int run_selftest(const struct options *options);
int run_help(const struct options *options);

/* The help of a command, or of the program where it is NULL. */
int show_help(const struct command *command, const struct options *options);

/* What `pendrift` alone says: what it is, and what to type next. */
void show_usage(FILE *out);

#endif
