/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/assess_page.h"

#include <stdlib.h>
#include <string.h>

#include "report/assess_html.h"

/* A word as a shell takes it: in single quotes where it has to be. */
static void put_word(FILE *out, const char *word)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
                                "_-./+:=,@%";
    fputc(' ', out);
    if (word[0] != '\0' && strspn(word, plain) == strlen(word)) {
        fputs(word, out);
        return;
    }
    fputc('\'', out);
    for (const char *at = word; *at != '\0'; at++)
        if (*at == '\'')
            fputs("'\\''", out);
        else
            fputc(*at, out);
    fputc('\'', out);
}

/* The command with every option that the page depends on; NULL without memory. */
static char *command_of(const struct options *options)
{
    char *text = NULL;
    size_t length = 0;
    FILE *const out = open_memstream(&text, &length);
    if (out == NULL)
        return NULL;
    fputs("pendrift assess", out);
    put_word(out, options->operands[1]);
    const bool only_healthy = options->faults == 1u << PD_HEALTHY; /* else it is always run */
    for (int kind = only_healthy ? PD_HEALTHY : PD_HEALTHY + 1; kind < PD_FAULTS; kind++)
        if ((options->faults & 1u << kind) != 0) {
            fputs(" --fault", out);
            put_word(out, pd_fault_names[kind]);
        }
    fputs(" --format html", out);
    if (options->output != NULL) {
        fputs(" --output", out);
        put_word(out, options->output);
    }
    if (fclose(out) == 0)
        return text;
    free(text);
    return NULL;
}

enum pd_status write_assess_page(const struct options *options, FILE *out,
                                 const struct pd_assessment *assessment,
                                 const struct pd_pictured *pictured)
{
    char *const command = command_of(options);
    const struct pd_assess_page page = {assessment, pictured, command};
    const enum pd_status status = command != NULL ? pd_assess_html(out, &page) : PD_ERR_MEMORY;
    free(command);
    return status;
}
