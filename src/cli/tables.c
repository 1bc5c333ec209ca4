/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "cli/commands.h"
#include "cli/interrupt.h"
#include "cli/output.h"
#include "report/cautions.h"
#include "report/report.h"
#include "report/tables.h"
#include "table/table.h"
#include "table/words.h"

static const struct pd_reference *find(const char *name)
{
    const char *names[PD_REFERENCES];
    char all[300];
    for (size_t i = 0; i < PD_REFERENCES; i++) {
        names[i] = pd_references[i].name;
        if (strcmp(names[i], name) == 0)
            return &pd_references[i];
    }
    const size_t near = pd_nearest(name, names, PD_REFERENCES);
    pd_list_names(all, sizeof all, names, PD_REFERENCES);
    fprintf(stderr, "pendrift: no table '%s'", pd_show(name).text);
    if (near < PD_REFERENCES)
        fprintf(stderr, "; did you mean '%s'?\n", names[near]);
    else
        fprintf(stderr, "; there are: %s\n", all);
    return NULL;
}

static enum pd_status write_list(const struct options *options, FILE *out)
{
    struct pd_listing listing[PD_REFERENCES] = {0};
    struct pd_errors errors = {0};
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < PD_REFERENCES && status == PD_OK; i++)
        status = pd_listing_read(&pd_references[i], &listing[i], &errors);
    if (status == PD_OK)
        status = options->format == FORMAT_JSON  ? pd_tables_json(out, listing, PD_REFERENCES)
                 : options->format == FORMAT_CSV ? pd_tables_csv(out, listing, PD_REFERENCES)
                                                 : pd_tables_text(out, listing, PD_REFERENCES);
    for (size_t i = 0; i < PD_REFERENCES; i++)
        pd_listing_free(&listing[i]);
    pd_report_errors(stderr, &errors);
    return status;
}

/* As it was compiled in: nothing may be added to it, so the caution goes beside it. */
static enum pd_status write_bytes(const struct pd_reference *reference, FILE *out)
{
    fprintf(stderr, "pendrift: %s\n", pd_caution_short);
    return fwrite(reference->text, 1, *reference->length, out) == *reference->length ? PD_OK
                                                                                     : PD_ERR_FILE;
}

static enum pd_status write_one(const struct options *options, const struct pd_reference *reference,
                                FILE *out)
{
    struct pd_listing listing;
    struct pd_errors errors = {0};
    if (options->format == FORMAT_CSV)
        return write_bytes(reference, out);
    enum pd_status status = pd_listing_read(reference, &listing, &errors);
    if (status == PD_OK)
        status = options->format == FORMAT_JSON ? pd_listing_json(out, &listing)
                                                : pd_listing_text(out, &listing);
    pd_listing_free(&listing);
    pd_report_errors(stderr, &errors);
    return status;
}

int run_tables(const struct options *options)
{
    const char *const name = options->operand_count > 1 ? options->operands[1] : NULL;
    const struct pd_reference *const reference = name != NULL ? find(name) : NULL;
    struct output output;
    if (name != NULL && reference == NULL)
        return EXIT_USAGE;
    if (!output_open(&output, options->output))
        return EXIT_USAGE;
    const enum pd_status status = reference != NULL ? write_one(options, reference, output.file)
                                                    : write_list(options, output.file);
    if (status != PD_OK && status != PD_ERR_FILE) {
        output_abandon(&output);
        fprintf(stderr, "pendrift: %s\n", pd_status_text(status));
        /* wrong input here is a fault of the program: the table is its own */
        return pd_status_exit(status == PD_ERR_INPUT ? PD_ERR_ARGUMENT : status);
    }
    if (!output_close(&output)) /* says what failed, also for PD_ERR_FILE */
        return interrupt_requested() ? EXIT_INTERRUPTED : EXIT_USAGE;
    return EXIT_GOOD;
}
