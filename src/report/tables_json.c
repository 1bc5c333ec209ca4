/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/making.h"
#include "report/tables.h"
#include "table/table.h"

static void put_summary(struct pd_making *object, const struct pd_listing *listing)
{
    char purpose[400];
    pd_listing_purpose(listing, purpose, sizeof purpose);
    pd_json_put(object, "table", pd_json_text(listing->reference->name));
    pd_json_put(object, "purpose", pd_json_text(purpose));
    pd_json_put(object, "row_count", pd_json_count(listing->row_count));
    pd_json_put(object, "from_memory_count", pd_json_count(pd_listing_from_memory(listing)));
    pd_json_put(object, "no_source_count", pd_json_count(pd_listing_no_source(listing)));
}

enum pd_status pd_tables_json(FILE *out, const struct pd_listing *listing, size_t count)
{
    struct pd_making object = pd_json_make_object(), tables = pd_json_make_array();
    pd_json_put_head(&object, NULL);
    for (size_t i = 0; i < count; i++) {
        struct pd_making table = pd_json_make_object();
        put_summary(&table, &listing[i]);
        pd_json_append(&tables, pd_json_made(&table));
    }
    pd_json_put(&object, "tables", pd_json_made(&tables));
    return pd_json_write(out, pd_json_made(&object));
}

/* A column of numbers has numbers, any other texts; a cell without anything in it is null. */
static json_t *cell_value(const char *cell, bool numeric)
{
    double value;
    if (cell[0] == '\0')
        return json_null();
    return numeric && pd_parse_number(cell, &value) ? pd_json_number(value) : pd_json_text(cell);
}

static json_t *row_object(const struct pd_listing *listing, size_t row)
{
    struct pd_making object = pd_json_make_object();
    for (size_t i = 0; i < listing->column_count; i++)
        pd_json_put(&object, listing->columns[i],
                    cell_value(listing->cells[row * listing->column_count + i],
                               pd_listing_numeric(listing, i)));
    return pd_json_made(&object);
}

enum pd_status pd_listing_json(FILE *out, const struct pd_listing *listing)
{
    struct pd_making object = pd_json_make_object(), rows = pd_json_make_array();
    pd_json_put_head(&object, NULL);
    put_summary(&object, listing);
    pd_json_put(&object, "comment", json_string(listing->comment));
    for (size_t row = 0; row < listing->row_count; row++)
        pd_json_append(&rows, row_object(listing, row));
    pd_json_put(&object, "rows", pd_json_made(&rows));
    return pd_json_write(out, pd_json_made(&object));
}
