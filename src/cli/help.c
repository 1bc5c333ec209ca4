/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/commands.h"
#include "cli/output.h"
#include "report/cautions.h"
#include "report/page.h"
#include "report/report.h"

static void write_paragraph(struct pd_page *page, const char *text)
{
    if (text == NULL)
        return;
    pd_page_paragraph(page, 0, "", 0, text);
    pd_page_end_line(page);
}

static void write_option(struct pd_page *page, const struct option_row *row)
{
    char left[64], letter[] = "    ";
    if (row->letter != 0)
        snprintf(letter, sizeof letter, "-%c, ", row->letter);
    snprintf(left, sizeof left, "--%s%s%s", row->name, row->argument != NULL ? " " : "",
             row->argument != NULL ? row->argument : "");
    if (row->letter != 0)
        pd_page_wrap(page, 2, letter);
    page->column = 6;
    pd_page_wrap(page, 6, left);
    pd_page_to(page, 24);
    pd_page_wrap(page, 24, row->meaning);
    pd_page_end_line(page);
}

static void write_options(struct pd_page *page, unsigned commands)
{
    pd_page_paragraph(page, 0, "", 0, "Options:");
    for (size_t i = 0; i < option_count; i++)
        if ((option_table[i].commands & commands) != 0) {
            page->column = 2;
            write_option(page, &option_table[i]);
        }
}

static void write_commands(struct pd_page *page)
{
    pd_page_paragraph(page, 0, "", 0, "Commands:");
    for (size_t i = 0; i < command_count; i++) {
        char left[64];
        snprintf(left, sizeof left, "%s %s", command_table[i].name, command_table[i].operands);
        pd_page_paragraph(page, 2, left, 24, command_table[i].meaning);
    }
}

static void write_program(struct pd_page *page)
{
    pd_page_paragraph(page, 0, "usage:", 7, "pendrift COMMAND [OPTION...] [CASE]");
    pd_page_end_line(page);
    pd_page_paragraph(page, 0, "", 0,
                      "What becomes of a vehicle charging point on a TN-C-S (PME) supply when the "
                      "PEN conductor opens, and what has to be done about it.");
    pd_page_end_line(page);
    write_commands(page);
    pd_page_end_line(page);
    write_options(page, FOR_ALL);
    pd_page_end_line(page);
    write_paragraph(page, "More of a command: pendrift help COMMAND");
}

static void write_command(struct pd_page *page, const struct command *command)
{
    fprintf(page->out, "usage: pendrift %s [OPTION...]%s%s\n", command->name,
            command->operands[0] != '\0' ? " " : "", command->operands);
    pd_page_end_line(page);
    write_paragraph(page, command->meaning);
    write_paragraph(page, command->details);
    write_options(page, command->bit);
    pd_page_end_line(page);
    write_paragraph(page, command->exit_status);
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
    fputs("usage: pendrift assess CASE, CASE a folder with case.csv and loads.csv\n"
          "       pendrift --help says more\n",
          out);
}
