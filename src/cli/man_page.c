/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <ctype.h>
#include <string.h>

#include "cli/describe.h"
#include "report/cautions.h"
#include "report/report.h"

/* Text of our own as groff takes it: nothing in it is a request or an escape, and what is to be
 * typed comes out as it is to be typed. */
static void write_text(FILE *out, const char *text)
{
    static const struct {
        char plain;
        const char *written;
    } escapes[] = {{'\\', "\\e"},  {'-', "\\-"},   {'\'', "\\(aq"}, {'`', "\\(ga"},
                   {'"', "\\(dq"}, {'~', "\\(ti"}, {'^', "\\(ha"}};
    if (text[0] == '.')
        fputs("\\&", out);
    for (; *text != '\0'; text++) {
        const char *written = NULL;
        for (size_t i = 0; i < sizeof escapes / sizeof escapes[0]; i++)
            if (escapes[i].plain == *text)
                written = escapes[i].written;
        if (written != NULL)
            fputs(written, out);
        else
            fputc(*text, out);
    }
}

/* A macro with a text after it, or a text alone. */
static void write_line(FILE *out, const char *macro, const char *text)
{
    fputs(macro, out);
    write_text(out, text);
    fputc('\n', out);
}

static void write_option(FILE *out, const struct command *command, const struct option_row *row)
{
    char meaning[400];
    command_option(command, row, meaning, sizeof meaning);
    fputs(".TP\n", out);
    if (row->letter != 0)
        fprintf(out, "\\fB\\-%c\\fR, ", row->letter);
    fputs("\\fB\\-\\-", out);
    write_text(out, row->name);
    fputs("\\fR", out);
    if (row->argument != NULL) {
        fputs(" \\fI", out);
        write_text(out, row->argument);
        fputs("\\fR", out);
    }
    fputc('\n', out);
    write_line(out, "", meaning);
}

static void write_options(FILE *out, const struct command *command)
{
    fputs(".SH OPTIONS\n", out);
    for (size_t i = 0; i < option_count; i++)
        if (command != NULL ? (option_table[i].commands & command->bit) != 0
                            : option_table[i].commands == FOR_ALL)
            write_option(out, command, &option_table[i]);
}

static void write_cautions(FILE *out)
{
    fputs(".SH CAUTIONS\n", out);
    for (size_t i = 0; i < PD_CAUTIONS; i++) {
        fputs(".IP ! 3\n", out);
        write_line(out, "", pd_cautions[i]);
    }
}

static const char examples_in[] = "In the folder of the source, or in " PENDRIFT_EXAMPLES ":";

static void write_example(FILE *out, const struct command *command)
{
    fputs(".PP\n.nf\npendrift ", out);
    write_text(out, command->example);
    fputs("\n.fi\n", out);
}

static void write_exit(FILE *out, const char *text)
{
    static const char head[] = "Exit status: ";
    fputs(".SH EXIT STATUS\n", out);
    if (strncmp(text, head, strlen(head)) == 0)
        text += strlen(head);
    write_line(out, "", text);
}

static void write_title(FILE *out, const char *name, const char *meaning)
{
    fputs(".\\\" Made at build time from the program's own tables.\n.TH ", out);
    for (const char *c = name; *c != '\0'; c++)
        if (*c == '-')
            fputs("\\-", out);
        else
            fputc(toupper((unsigned char)*c), out);
    fprintf(out, " 1 \"\" \"pendrift %s\" \"pendrift\"\n.nh\n.ad l\n.SH NAME\n", pd_version);
    write_text(out, name);
    fputs(" \\- ", out);
    write_line(out, "", meaning);
}

static void write_see(FILE *out, const char *name, bool last)
{
    fputs(".BR ", out);
    write_text(out, name);
    fprintf(out, " (1)%s\n", last ? "" : ",");
}

/* The program's page and those of the same group. */
static void write_see_also(FILE *out, const struct command *command)
{
    fputs(".SH SEE ALSO\n", out);
    for (size_t i = 0; i < command_count; i++) {
        char name[64];
        const struct command *const other = &command_table[i];
        snprintf(name, sizeof name, "pendrift-%s", other->name);
        if (other != command && (command == NULL || other->group == command->group))
            write_see(out, name, command == NULL && i + 1 == command_count);
    }
    if (command != NULL)
        write_see(out, "pendrift", true);
}

static void describe_command(FILE *out, const struct command *command)
{
    char name[64];
    snprintf(name, sizeof name, "pendrift-%s", command->name);
    write_title(out, name, command->meaning);
    fprintf(out, ".SH SYNOPSIS\n.B pendrift %s\n[\\fIOPTION\\fR...]\\&\n", command->name);
    if (command->operands[0] != '\0')
        write_line(out, ".I ", command->operands);
    fputs(".SH DESCRIPTION\n", out);
    write_line(out, "", command->details != NULL ? command->details : command->meaning);
    write_options(out, command);
    write_exit(out, command->exit_status);
    fputs(".SH EXAMPLE\n", out);
    write_line(out, "", examples_in);
    write_example(out, command);
    write_cautions(out);
    write_see_also(out, command);
}

static void write_groups(FILE *out)
{
    fputs(".SH COMMANDS\n", out);
    for (enum command_group group = 0; group < GROUPS; group++) {
        write_line(out, ".SS ", group_names[group]);
        for (size_t i = 0; i < command_count; i++) {
            const struct command *const command = &command_table[i];
            if (command->group != group)
                continue;
            fprintf(out, ".TP\n\\fB%s\\fR \\fI", command->name);
            write_text(out, command->operands);
            fputs("\\fR\n", out);
            write_line(out, "", command->meaning);
        }
    }
}

static void describe_program(FILE *out)
{
    write_title(out, "pendrift", "protection of vehicle charging points against an open PEN");
    fputs(".SH SYNOPSIS\n.B pendrift\n.I COMMAND\n[\\fIOPTION\\fR...] [\\fICASE\\fR]\n"
          ".SH DESCRIPTION\n",
          out);
    write_line(out, "", program_purpose);
    fputs(".PP\n", out);
    write_line(out, "",
               "CASE is a folder of CSV tables, such as `pendrift new DIR` writes. Each command "
               "has a page of its own.");
    write_groups(out);
    write_options(out, NULL);
    write_exit(out, "0 acceptable, residual hazard, or done; 1 not acceptable; 2 wrong usage, or a "
                    "file that cannot be read or written; 3 wrong input data; 4 not determined; 5 "
                    "a fault of the program; 130 interrupted. What 1 and 4 mean to a command, its "
                    "own page says.");
    fputs(".SH ENVIRONMENT\n.TP\n.B NO_COLOR\n", out);
    write_line(out, "",
               "Set to anything but nothing: the verdict is not coloured, whatever the "
               "terminal, unless --color asks for it.");
    fputs(".SH FILES\n.TP\n", out);
    write_line(out, ".I ", PENDRIFT_EXAMPLES "/cases/");
    write_line(out, "", "Cases of an invented place, to try and to copy.");
    fputs(".SH EXAMPLE\n", out);
    write_line(out, "", examples_in);
    write_example(out, command_find("new"));
    write_example(out, command_find("assess"));
    write_cautions(out);
    write_see_also(out, NULL);
}

void describe_man(FILE *out, const struct command *command)
{
    if (command != NULL)
        describe_command(out, command);
    else
        describe_program(out);
}
