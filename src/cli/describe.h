/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_CLI_DESCRIBE_H
#define PENDRIFT_CLI_DESCRIBE_H

#include <stdio.h>

#include "cli/commands.h"

/* What the build makes of the tables of commands and options: manual pages and completions. None of
 * it is in the program; since it has no words of its own for an option, it cannot drift from it. */

/* The manual page of a command, of the program where it is NULL, for groff's macros `man`. */
void describe_man(FILE *out, const struct command *command);

/* What completes a command line, as a shell sources it. */
void describe_bash(FILE *out);
void describe_zsh(FILE *out);
void describe_fish(FILE *out);

/* What an argument may be completed with. */
enum completion_kind { COMPLETE_NOTHING, COMPLETE_FILE, COMPLETE_FOLDER, COMPLETE_WORDS };
struct completion {
    enum completion_kind kind;
    char words[1024]; /* with a blank between them */
};

/* Of an option of a command. */
struct completion complete_option(const struct command *command, const struct option_row *row);

/* Of a command's operand, from 0; `name` becomes what the help calls it. */
struct completion complete_operand(const struct command *command, size_t operand, char name[32]);

#endif
