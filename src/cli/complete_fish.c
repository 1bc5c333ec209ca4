/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/describe.h"

/* Within single quotes. */
static void write_text(FILE *out, const char *text)
{
    fputc('\'', out);
    for (; *text != '\0'; text++) {
        if (*text == '\'' || *text == '\\')
            fputc('\\', out);
        fputc(*text, out);
    }
    fputc('\'', out);
}

/* The arguments that there are; files are what fish offers by itself. */
static void write_completion(FILE *out, const struct completion *completion)
{
    switch (completion->kind) {
    case COMPLETE_FILE:
        fputs(" -F", out);
        break;
    case COMPLETE_FOLDER:
        fputs(" -f -a '(__fish_complete_directories)'", out);
        break;
    case COMPLETE_WORDS:
        fprintf(out, " -f -a '%s'", completion->words);
        break;
    case COMPLETE_NOTHING:
        fputs(" -f", out);
        break;
    }
}

static void write_option(FILE *out, const struct command *command, const struct option_row *row)
{
    char meaning[400];
    command_option(command, row, meaning, sizeof meaning);
    fprintf(out, "complete -c pendrift -n '__fish_seen_subcommand_from %s' -l %s", command->name,
            row->name);
    if (row->letter != 0)
        fprintf(out, " -s %c", row->letter);
    if (row->argument != NULL) {
        const struct completion completion = complete_option(command, row);
        fputs(" -r", out);
        write_completion(out, &completion);
    }
    fputs(" -d ", out);
    write_text(out, meaning);
    fputc('\n', out);
}

/* fish counts the words before the cursor: `pendrift`, the command, then operands. Options between
 * them are counted too, so a second operand is offered with the first. */
static void write_operands(FILE *out, const struct command *command)
{
    for (size_t i = 0; i < command->operands_most; i++) {
        char name[32];
        const struct completion completion = complete_operand(command, i, name);
        if (completion.kind == COMPLETE_NOTHING)
            continue;
        fprintf(out, "complete -c pendrift -n '__fish_seen_subcommand_from %s'", command->name);
        write_completion(out, &completion);
        fputc('\n', out);
    }
}

void describe_fish(FILE *out)
{
    fputs("# Completes pendrift for fish. Made at build time from the program's own tables.\n\n"
          "complete -c pendrift -f\n",
          out);
    for (size_t i = 0; i < command_count; i++) {
        fprintf(out, "complete -c pendrift -n __fish_use_subcommand -a %s -d ",
                command_table[i].name);
        write_text(out, command_table[i].meaning);
        fputc('\n', out);
    }
    for (size_t i = 0; i < command_count; i++) {
        for (size_t j = 0; j < option_count; j++)
            if ((option_table[j].commands & command_table[i].bit) != 0)
                write_option(out, &command_table[i], &option_table[j]);
        write_operands(out, &command_table[i]);
    }
}
