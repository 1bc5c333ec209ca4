/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "cli/commands.h"
#include "cli/output.h"
#include "report/cautions.h"
#include "report/page.h"
#include "report/report.h"

const char program_purpose[] =
    "What becomes of a vehicle charging point on a TN-C-S (PME) supply when the PEN conductor "
    "opens, and what has to be done about it.";

static void write_paragraph(struct pd_page *page, const char *text)
{
    if (text == NULL)
        return;
    pd_page_paragraph(page, 0, "", 0, text);
    pd_page_end_line(page);
}

/* "--output FILE", or a command with its operands. */
struct left {
    char text[64];
};

static struct left option_left(const struct option_row *row)
{
    struct left left;
    snprintf(left.text, sizeof left.text, "--%s%s%s", row->name, row->argument != NULL ? " " : "",
             row->argument != NULL ? row->argument : "");
    return left;
}

static struct left command_left(const struct command *command)
{
    struct left left;
    snprintf(left.text, sizeof left.text, "%s%s%s", command->name,
             command->operands[0] != '\0' ? " " : "", command->operands);
    return left;
}

enum { COMMAND = 2, LETTER = 2, OPTION = 6, BETWEEN = 2 };

static void write_option(struct pd_page *page, const struct command *command,
                         const struct option_row *row, int indent)
{
    char letter[] = "-?,", text[400];
    if (row->letter != 0) {
        letter[1] = row->letter;
        pd_page_to(page, LETTER);
        pd_page_wrap(page, LETTER, letter);
    }
    page->column = OPTION;
    pd_page_wrap(page, OPTION, option_left(row).text);
    pd_page_to(page, indent);
    command_option(command, row, text, sizeof text);
    pd_page_wrap(page, indent, text);
    pd_page_end_line(page);
}

/* Those of a command; where it is NULL, those that every command has. */
static void write_options(struct pd_page *page, const struct command *command)
{
    int indent = 0;
    for (int writing = 0; writing < 2; writing++)
        for (size_t i = 0; i < option_count; i++) {
            const struct option_row *const row = &option_table[i];
            if (command != NULL ? (row->commands & command->bit) == 0 : row->commands != FOR_ALL)
                continue;
            const int own = OPTION + (int)strlen(option_left(row).text) + BETWEEN;
            if (writing == 1)
                write_option(page, command, row, indent);
            else
                indent = own > indent ? own : indent;
        }
}

static void write_commands(struct pd_page *page)
{
    int indent = 0;
    for (size_t i = 0; i < command_count; i++) {
        const int own = COMMAND + (int)strlen(command_left(&command_table[i]).text) + BETWEEN;
        indent = own > indent ? own : indent;
    }
    for (enum command_group group = 0; group < GROUPS; group++) {
        pd_page_paragraph(page, 0, "", 0, group_names[group]);
        for (size_t i = 0; i < command_count; i++)
            if (command_table[i].group == group)
                pd_page_paragraph(page, COMMAND, command_left(&command_table[i]).text, indent,
                                  command_table[i].meaning);
        pd_page_end_line(page);
    }
}

static void write_program(struct pd_page *page)
{
    pd_page_paragraph(page, 0, "usage:", 7, "pendrift COMMAND [OPTION...] [CASE]");
    pd_page_end_line(page);
    write_paragraph(page, program_purpose);
    write_commands(page);
    pd_page_paragraph(page, 0, "", 0, "Options of every command");
    write_options(page, NULL);
    pd_page_end_line(page);
    write_paragraph(page, "CASE is a folder of CSV tables, such as `pendrift new DIR` writes. What "
                          "a command does, its own options and an example: pendrift help COMMAND");
}

static void write_command(struct pd_page *page, const struct command *command)
{
    fprintf(page->out, "usage: pendrift %s [OPTION...]%s%s\n", command->name,
            command->operands[0] != '\0' ? " " : "", command->operands);
    pd_page_end_line(page);
    write_paragraph(page, command->meaning);
    write_paragraph(page, command->details);
    pd_page_paragraph(page, 0, "", 0, "Options:");
    write_options(page, command);
    pd_page_end_line(page);
    write_paragraph(page, command->exit_status);
    fprintf(page->out, "Example:\n  pendrift %s\n\n", command->example);
}

int show_help(const struct command *command, const struct options *options)
{
    struct output output;
    if (!output_open(&output, options->output))
        return EXIT_USAGE;
    struct pd_page page = {.out = output.file};
    if (command != NULL)
        write_command(&page, command);
    else
        write_program(&page);
    pd_page_paragraph(&page, 0, "", 0, pd_caution_short);
    return output_close(&output) ? EXIT_GOOD : EXIT_USAGE;
}

int run_help(const struct options *options)
{
    const char *const name = options->operand_count > 1 ? options->operands[1] : NULL;
    const struct command *const command = name != NULL ? command_find(name) : NULL;
    if (name != NULL && command == NULL) {
        command_complain(name);
        return EXIT_USAGE;
    }
    return show_help(command, options);
}

void show_usage(FILE *out)
{
    struct pd_page page = {.out = out};
    write_paragraph(&page, program_purpose);
    pd_page_paragraph(&page, 0, "", 0, "usage: pendrift COMMAND [OPTION...] [CASE]");
    pd_page_paragraph(&page, 2, "pendrift new my-house", 32,
                      "write a commented case to fill in, then assess it");
    pd_page_paragraph(&page, 2, "pendrift assess cases/street", 32,
                      "assess a case that comes with the source");
    pd_page_paragraph(&page, 2, "pendrift help", 32, "say what else there is");
    pd_page_end_line(&page);
    pd_page_paragraph(&page, 0, "", 0, pd_caution_short);
}
