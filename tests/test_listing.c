/* SPDX-License-Identifier: GPL-3.0-or-later */

/* A reference table taken apart and shown. What is right is read off the small tables written out
 * here, as RFC 4180 has their rows; for the tables built in, tests/tables.sh counts by other means.
 */

#include "check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/report.h"
#include "report/tables.h"

struct made {
    struct pd_reference reference;
    size_t length;
    struct pd_listing listing;
    struct pd_errors *errors;
    enum pd_status status;
};

static void make(struct made *made, const char *text)
{
    made->length = strlen(text);
    made->reference = (struct pd_reference){"sample", text, &made->length};
    made->errors = calloc(1, sizeof *made->errors);
    assert_non_null(made->errors);
    made->status = pd_listing_read(&made->reference, &made->listing, made->errors);
}

static void unmake(struct made *made)
{
    pd_listing_free(&made->listing);
    free(made->errors);
}

static const char small[] = "# Things at 50 Hz a.c. 15 to 100 V. More of them.\n"
                            "# And a second line.\n"
                            "thing,long_name_ohm,note,status,source\n"
                            "one,0.12345678901,\"a, b\",from memory,book\n"
                            "two,,,seen,\"common practice, no source\"\n"
                            "three,7,,seen,\"book; the rest from memory\"\n";

static void test_read(void **state)
{
    (void)state;
    struct made made;
    char purpose[100];
    make(&made, small);
    const struct pd_listing *const l = &made.listing;
    assert_int_equal(made.status, PD_OK);
    assert_string_equal(l->comment,
                        "Things at 50 Hz a.c. 15 to 100 V. More of them. And a second line.");
    assert_int_equal(l->column_count, 5);
    assert_int_equal(l->row_count, 3);
    assert_string_equal(l->columns[1], "long_name_ohm");
    assert_string_equal(l->cells[2], "a, b");
    assert_string_equal(l->cells[5 + 1], "");
    assert_int_equal(pd_listing_column(l, "status"), 3);
    assert_int_equal(pd_listing_column(l, "nothing"), 5);
    assert_int_equal(pd_listing_from_memory(l), 2); /* the first, and a part of the third */
    assert_int_equal(pd_listing_no_source(l), 1);
    assert_true(pd_listing_numeric(l, 1)); /* an empty cell is no word */
    assert_false(pd_listing_numeric(l, 0));
    pd_listing_purpose(l, purpose, sizeof purpose);
    assert_string_equal(purpose, "Things at 50 Hz a.c. 15 to 100 V");
    unmake(&made);
}

static void test_odd_tables(void **state)
{
    (void)state;
    struct made made;
    make(&made, "a,b\n1,2\n3\n"); /* a row too short is an error, not a table with a hole */
    assert_int_equal(made.status, PD_ERR_INPUT);
    assert_int_equal(made.errors->count, 1);
    unmake(&made);
    make(&made, "a,b\n1,\"2\n");
    assert_int_equal(made.status, PD_ERR_INPUT);
    unmake(&made);
    make(&made, "");
    assert_int_equal(made.status, PD_ERR_INPUT);
    unmake(&made);
    make(&made, "# A comment alone");
    assert_int_equal(made.status, PD_ERR_INPUT);
    assert_string_equal(made.listing.comment, "A comment alone");
    unmake(&made);
    make(&made, "a,b\n");
    assert_int_equal(made.status, PD_OK);
    assert_int_equal(made.listing.row_count, 0);
    assert_false(pd_listing_numeric(&made.listing, 0)); /* no number in it */
    unmake(&made);
}

static char *shown(const struct pd_listing *listing)
{
    char *text = NULL;
    size_t size;
    FILE *const out = open_memstream(&text, &size);
    assert_non_null(out);
    assert_int_equal(pd_listing_text(out, listing), PD_OK);
    assert_int_equal(fclose(out), 0);
    return text;
}

/* Each column under its name, numbers to the right; equal sources have one number. */
static void test_shown(void **state)
{
    (void)state;
    struct made made;
    make(&made, small);
    char *const text = shown(&made.listing);
    assert_non_null(strstr(text, "             long\n"
                                 "            _name\n"
                                 "  thing      _ohm  note  status       from\n"
                                 "  one    0.123457  a, b  from memory     1\n"
                                 "  two                    seen            2\n"
                                 "  three         7        seen            3\n"));
    assert_non_null(strstr(text, "  1    book\n"));
    assert_non_null(strstr(text, "  2    common practice, no source\n"));
    assert_non_null(strstr(text, "CAUTIONS"));
    free(text);
    unmake(&made);
}

/* However wide a table is: no line beyond the page, nothing left out. */
static void test_wide(void **state)
{
    (void)state;
    char table[8192] = "# Wide.\n";
    struct made made;
    for (int line = 0; line < 3; line++)
        for (int i = 0; i < 20; i++) {
            const size_t used = strlen(table);
            snprintf(table + used, sizeof table - used,
                     line == 0 ? "column_of_a_long_name_%d%s" : "cell_%d_of_a_row_%s", i,
                     i < 19 ? "," : "\n");
        }
    make(&made, table);
    assert_int_equal(made.status, PD_OK);
    char *const text = shown(&made.listing);
    for (const char *line = text; *line != '\0';) {
        const size_t length = strcspn(line, "\n");
        assert_in_range(length, 0, PD_REPORT_WIDTH);
        line += length + (line[length] == '\n');
    }
    for (int i = 0; i < 20; i++) {
        char cell[40];
        snprintf(cell, sizeof cell, "cell_%d_of_a_row", i);
        assert_non_null(strstr(text, cell));
    }
    free(text);
    unmake(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_read),
        cmocka_unit_test(test_odd_tables),
        cmocka_unit_test(test_shown),
        cmocka_unit_test(test_wide),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
