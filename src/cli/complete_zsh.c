/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/describe.h"

#include <string.h>

/* A text within single quotes; in a description a colon or bracket would end it. */
static void write_text(FILE *out, const char *text)
{
    for (; *text != '\0'; text++)
        if (*text == '\'')
            fputs("'\\''", out);
        else if (strchr("[]:\\", *text) != NULL)
            fprintf(out, "\\%c", *text);
        else
            fputc(*text, out);
}

static void write_completion(FILE *out, const struct completion *completion)
{
    switch (completion->kind) {
    case COMPLETE_FILE:
        fputs("_files", out);
        break;
    case COMPLETE_FOLDER:
        fputs("_files -/", out);
        break;
    case COMPLETE_WORDS:
        fprintf(out, "(%s)", completion->words);
        break;
    case COMPLETE_NOTHING:
        fputs(" ", out);
        break;
    }
}

static void write_option(FILE *out, const struct command *command, const struct option_row *row,
                         const char *spelling)
{
    char meaning[400];
    command_option(command, row, meaning, sizeof meaning);
    fprintf(out, "        '*%s[", spelling);
    write_text(out, meaning);
    fputc(']', out);
    if (row->argument != NULL) {
        const struct completion completion = complete_option(command, row);
        fputc(':', out);
        write_text(out, row->argument);
        fputc(':', out);
        write_completion(out, &completion);
    }
    fputs("' \\\n", out);
}

static void write_command(FILE *out, const struct command *command)
{
    fprintf(out, "    (%s) _arguments \\\n", command->name);
    for (size_t i = 0; i < option_count; i++) {
        const struct option_row *const row = &option_table[i];
        char spelling[64];
        if ((row->commands & command->bit) == 0)
            continue;
        snprintf(spelling, sizeof spelling, "--%s%s", row->name, row->argument != NULL ? "=" : "");
        write_option(out, command, row, spelling);
        snprintf(spelling, sizeof spelling, "-%c", row->letter);
        if (row->letter != 0)
            write_option(out, command, row, spelling);
    }
    for (size_t i = 0; i < command->operands_most; i++) {
        char name[32];
        const struct completion completion = complete_operand(command, i, name);
        fprintf(out, "        '%zu:%s:", i + 1, name);
        write_completion(out, &completion);
        fputs("' \\\n", out);
    }
    fputs("        ;;\n", out);
}

void describe_zsh(FILE *out)
{
    fputs("#compdef pendrift\n"
          "# Completes pendrift for zsh. Made at build time from the program's own tables.\n\n"
          "local state line\nlocal -a commands\n_arguments -C '1:command:->command' "
          "'*::argument:->argument'\n"
          "case $state in\n(command)\n    commands=(\n",
          out);
    for (size_t i = 0; i < command_count; i++) {
        fprintf(out, "        '%s:", command_table[i].name);
        write_text(out, command_table[i].meaning);
        fputs("'\n", out);
    }
    fputs("    )\n    _describe command commands\n    ;;\n(argument)\n    case $words[1] in\n",
          out);
    for (size_t i = 0; i < command_count; i++)
        write_command(out, &command_table[i]);
    fputs("    esac\n    ;;\nesac\n", out);
}
