/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "cli/commands.h"
#include "cli/folder.h"
#include "cli/interrupt.h"
#include "cli/output.h"
#include "cli/templates.h"
#include "report/cautions.h"
#include "report/page.h"
#include "report/plain.h"

/* A path as the shell takes it for one word. */
static void write_word(FILE *out, const char *path)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
                                "._-/+,@:%";
    if (path[strspn(path, plain)] == '\0') {
        fputs(path, out);
        return;
    }
    fputc('\'', out);
    for (const char *c = path; *c != '\0'; c++)
        if (*c == '\'')
            fputs("'\\''", out);
        else
            fputc(*c, out);
    fputc('\'', out);
}

/* A path that a terminal would not show as it is, is left to the user. */
static void write_next(FILE *out, const char *command, const char *path)
{
    fprintf(out, "  pendrift %s ", command);
    write_word(out, strcmp(pd_plain(path).text, path) == 0 ? path : "DIR");
    fputc('\n', out);
}

static void write_made(FILE *out, const struct template *template, const char *path)
{
    struct pd_page page = {.out = out};
    char text[640];
    snprintf(text, sizeof text, "Made %s: %s.", pd_plain(path).text, template->what);
    pd_page_paragraph(&page, 0, "", 0, text);
    pd_page_end_line(&page);
    for (size_t i = 0; i < template->file_count; i++)
        pd_page_paragraph(&page, 2, template->file[i].name, 18, template->file[i].meaning);
    pd_page_end_line(&page);
    pd_page_paragraph(&page, 0, "", 0,
                      "Place and figures in it are invented. The lines that begin with # say what "
                      "to put in their stead. Until the electrode has been measured the answer is "
                      "\"not determined\". Then:");
    pd_page_end_line(&page);
    write_next(out, "assess", path);
    write_next(out, "explain", path);
    pd_page_end_line(&page);
    pd_page_paragraph(&page, 0, "", 0, pd_caution_short);
}

static bool write_folder(const struct template *template, const char *path)
{
    struct folder folder;
    if (!folder_open(&folder, path))
        return false;
    for (size_t i = 0; i < template->file_count; i++) {
        const struct template_file *const file = &template->file[i];
        if (!folder_add(&folder, file->name, file->text, *file->length)) {
            folder_abandon(&folder);
            return false;
        }
    }
    return folder_close(&folder);
}

int run_new(const struct options *options)
{
    const struct template *const template = &template_table[options->kind];
    const char *const path = options->operands[1];
    struct output output;
    if (!output_open(&output, options->output))
        return EXIT_USAGE;
    if (!write_folder(template, path)) {
        output_abandon(&output);
        return interrupt_requested() ? EXIT_INTERRUPTED : EXIT_USAGE;
    }
    write_made(output.file, template, path);
    if (!output_close(&output))
        return interrupt_requested() ? EXIT_INTERRUPTED : EXIT_USAGE;
    return EXIT_GOOD;
}
