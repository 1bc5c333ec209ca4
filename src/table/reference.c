/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/reference.h"

#include <stdlib.h>
#include <string.h>

#include "table/table.h"

const struct pd_reference pd_references[PD_REFERENCES] = {
    {"audit_reasons", pd_reference_audit_reasons, &pd_reference_audit_reasons_length},
    {"body", pd_reference_body, &pd_reference_body_length},
    {"body_paths", pd_reference_body_paths, &pd_reference_body_paths_length},
    {"cables", pd_reference_cables, &pd_reference_cables_length},
    {"checks", pd_reference_checks, &pd_reference_checks_length},
    {"limits", pd_reference_limits, &pd_reference_limits_length},
    {"mixtures", pd_reference_mixtures, &pd_reference_mixtures_length},
    {"seasons", pd_reference_seasons, &pd_reference_seasons_length},
    {"shock_curves", pd_reference_shock_curves, &pd_reference_shock_curves_length},
    {"soils", pd_reference_soils, &pd_reference_soils_length},
    {"stages", pd_reference_stages, &pd_reference_stages_length},
    {"transformers", pd_reference_transformers, &pd_reference_transformers_length},
    {"window_times", pd_reference_window_times, &pd_reference_window_times_length},
};

/* Reading one. */
struct taking {
    struct pd_listing *listing;
    size_t room; /* for cells */
};

static enum pd_status take_header(const struct pd_column *columns, size_t column_count, size_t line,
                                  void *context, struct pd_errors *errors)
{
    struct pd_listing *const listing = ((struct taking *)context)->listing;
    (void)line, (void)errors;
    listing->columns = calloc(column_count, sizeof *listing->columns);
    if (listing->columns == NULL)
        return PD_ERR_MEMORY;
    listing->column_count = column_count;
    for (size_t i = 0; i < column_count; i++) {
        listing->columns[i] = strdup(columns[i].name);
        if (listing->columns[i] == NULL)
            return PD_ERR_MEMORY;
    }
    return PD_OK;
}

/* Room for another row; its cells are NULL until they are taken. */
static bool make_room(struct taking *taking)
{
    struct pd_listing *const listing = taking->listing;
    const size_t used = listing->row_count * listing->column_count;
    if (used + listing->column_count > taking->room) {
        const size_t room = 2 * used + 16 * listing->column_count;
        char **const cells = reallocarray(listing->cells, room, sizeof *cells);
        if (cells == NULL)
            return false;
        listing->cells = cells;
        taking->room = room;
    }
    memset(&listing->cells[used], 0, listing->column_count * sizeof *listing->cells);
    listing->row_count++;
    return true;
}

static enum pd_status take_row(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct taking *const taking = context;
    (void)errors;
    if (!make_room(taking))
        return PD_ERR_MEMORY;
    const struct pd_listing *const listing = taking->listing;
    char **const cells = &listing->cells[(listing->row_count - 1) * listing->column_count];
    for (size_t i = 0; i < listing->column_count; i++) {
        cells[i] = strdup(pd_row_text(row, i));
        if (cells[i] == NULL)
            return PD_ERR_MEMORY;
    }
    return PD_OK;
}

/* The lines that begin with '#' before the header. */
static char *read_comment(const struct pd_reference *reference)
{
    char *const comment = malloc(*reference->length + 1);
    size_t used = 0;
    if (comment == NULL)
        return NULL;
    for (const char *line = reference->text; *line == '#';) {
        const char *const end = strchr(line, '\n');
        const char *from = line + 1 + (line[1] == ' ');
        const size_t length = end != NULL ? (size_t)(end - from) : strlen(from);
        if (used > 0)
            comment[used++] = ' ';
        memcpy(comment + used, from, length);
        used += length;
        line = end != NULL ? end + 1 : from + length;
    }
    comment[used] = '\0';
    return comment;
}

enum pd_status pd_listing_read(const struct pd_reference *reference, struct pd_listing *listing,
                               struct pd_errors *errors)
{
    struct taking taking = {.listing = listing};
    const size_t before = errors->count;
    *listing = (struct pd_listing){.reference = reference, .comment = read_comment(reference)};
    if (listing->comment == NULL)
        return PD_ERR_MEMORY;
    const enum pd_status status =
        pd_table_read_any_text(reference->text, *reference->length, reference->name, take_header,
                               take_row, &taking, errors);
    return status == PD_OK && errors->count > before ? PD_ERR_INPUT : status;
}

void pd_listing_free(struct pd_listing *listing)
{
    for (size_t i = 0; i < listing->row_count * listing->column_count; i++)
        free(listing->cells[i]);
    for (size_t i = 0; i < listing->column_count; i++)
        free(listing->columns[i]);
    free(listing->cells);
    free(listing->columns);
    free(listing->comment);
    *listing = (struct pd_listing){0};
}

size_t pd_listing_column(const struct pd_listing *listing, const char *name)
{
    size_t column = 0;
    while (column < listing->column_count && strcmp(listing->columns[column], name) != 0)
        column++;
    return column;
}

/* Rows with the text in one of the columns that say where they are from. */
static size_t count_rows(const struct pd_listing *listing, const char *text)
{
    static const char *const columns[] = {"status", "seen", "source"};
    size_t count = 0;
    for (size_t row = 0; row < listing->row_count; row++) {
        bool found = false;
        for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++) {
            const size_t column = pd_listing_column(listing, columns[i]);
            found |= column < listing->column_count &&
                     strstr(listing->cells[row * listing->column_count + column], text) != NULL;
        }
        count += found;
    }
    return count;
}

size_t pd_listing_from_memory(const struct pd_listing *listing)
{
    return count_rows(listing, "memory");
}

size_t pd_listing_no_source(const struct pd_listing *listing)
{
    return count_rows(listing, "no source");
}

bool pd_listing_numeric(const struct pd_listing *listing, size_t column)
{
    size_t numbers = 0;
    for (size_t row = 0; row < listing->row_count; row++) {
        const char *const cell = listing->cells[row * listing->column_count + column];
        double value;
        if (cell[0] != '\0' && !pd_parse_number(cell, &value))
            return false;
        numbers += cell[0] != '\0';
    }
    return numbers > 0;
}
