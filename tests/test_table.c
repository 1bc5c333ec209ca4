/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The table room: errors, tables, cells, numbers, names. What is right comes from RFC 4180
 * (tables), RFC 3629 (UTF-8), the C library's own iconv and the contract in the headers. */

#include "check.h"

#include <errno.h>
#include <iconv.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#include "table/names.h"
#include "table/status.h"
#include "table/table.h"
#include "table/utf8.h"

enum { COLUMN_A, COLUMN_B, COLUMN_C, COLUMN_COUNT };
static const struct pd_column columns[COLUMN_COUNT] = {
    {.name = "aa", .required = true}, {.name = "bb_m"}, {.name = "cc_ohm"}};

/* What a reading came to, as text: rows as "line:cell|cell|cell;", errors one on each line. */
struct outcome {
    enum pd_status status;
    size_t rows;
    char text[4096];
    char messages[PD_ERRORS_KEPT * 512];
    struct pd_errors errors;
};

static enum pd_status note_row(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct outcome *outcome = context;
    (void)errors;
    outcome->rows++;
    const size_t used = strlen(outcome->text);
    snprintf(outcome->text + used, sizeof outcome->text - used, "%zu:%s|%s|%s;", row->line,
             pd_row_text(row, COLUMN_A), pd_row_text(row, COLUMN_B), pd_row_text(row, COLUMN_C));
    return PD_OK;
}

static void note_errors(struct outcome *outcome)
{
    size_t used = 0;
    for (size_t i = 0; i < outcome->errors.count && i < PD_ERRORS_KEPT; i++) {
        char line[700];
        const int length = pd_error_format(&outcome->errors.kept[i], line, sizeof line);
        assert_in_range(length, 1, sizeof line - 1);
        used += (size_t)snprintf(outcome->messages + used, sizeof outcome->messages - used, "%s\n",
                                 line);
    }
}

static const struct outcome *read_with(const char *text, size_t length, pd_row_function *function)
{
    static struct outcome outcome; /* too large for a stack frame in each test */
    outcome = (struct outcome){.status = PD_OK};
    /* A copy of just this size on the heap: a step past its end is seen by the sanitizers. */
    char *copy = malloc(length > 0 ? length : 1);
    assert_non_null(copy);
    memcpy(copy, text, length);
    outcome.status = pd_table_read_text(copy, length, "t.csv", columns, COLUMN_COUNT, function,
                                        &outcome, &outcome.errors);
    free(copy);
    note_errors(&outcome);
    return &outcome;
}

static const struct outcome *read_text(const char *text)
{
    return read_with(text, strlen(text), note_row);
}

static void assert_rows(const char *text, const char *rows)
{
    const struct outcome *outcome = read_text(text);
    assert_string_equal(outcome->messages, "");
    assert_int_equal(outcome->status, PD_OK);
    assert_string_equal(outcome->text, rows);
}

static void assert_errors(const char *text, const char *messages)
{
    const struct outcome *outcome = read_text(text);
    assert_string_equal(outcome->messages, messages);
    assert_int_equal(outcome->status, PD_ERR_INPUT);
}

/* ---- our own comparison ---- */

static void test_close_enough_fails_on_nan(void **state)
{
    (void)state;
    assert_true(close_enough(1.0, 1.0, 0.0, 0.0));
    assert_true(close_enough(1.001, 1.0, 0.002, 0.0));
    assert_false(close_enough(1.003, 1.0, 0.002, 0.0));
    assert_true(close_enough(0.001, 0.0, 0.0, 0.002));
    assert_false(close_enough((double)NAN, 1.0, 1e9, 1e9));
    assert_false(close_enough(1.0, (double)NAN, 1e9, 1e9));
    assert_false(close_enough((double)NAN, (double)NAN, 1e9, 1e9));
    assert_false(close_enough(2.0, 1.0, 0.0, (double)NAN));
    assert_false(close_enough((double)INFINITY, 1.0, 1e9, 1e9));
}

/* ---- RFC 4180 ---- */

/* RFC 4180, section 2, the examples of items 1, 2, 5, 6 and 7, under a header of ours (item 3).
 * Item 4 makes spaces part of a cell; ours do not count round an unquoted one, as the header file
 * says. */
static void test_rfc_4180_examples(void **state)
{
    (void)state;
    assert_rows("aa,bb_m,cc_ohm\r\naaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", "2:aaa|bbb|ccc;3:zzz|yyy|xxx;");
    assert_rows("aa,bb_m,cc_ohm\r\naaa,bbb,ccc\r\nzzz,yyy,xxx", "2:aaa|bbb|ccc;3:zzz|yyy|xxx;");
    assert_rows("aa,bb_m,cc_ohm\r\n\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx",
                "2:aaa|bbb|ccc;3:zzz|yyy|xxx;");
    assert_rows("aa,bb_m,cc_ohm\r\n\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx",
                "2:aaa|b\r\nbb|ccc;4:zzz|yyy|xxx;");
    assert_rows("aa,bb_m,cc_ohm\r\n\"aaa\",\"b\"\"bb\",\"ccc\"", "2:aaa|b\"bb|ccc;");
}

static void test_quoting(void **state)
{
    (void)state;
    assert_rows("aa\n\"x,y\"\n", "2:x,y||;");
    assert_rows("aa\n\"\"\"\"\n", "2:\"||;");
    assert_rows("aa\n\"1\r2\"\n", "2:1\r2||;");
    assert_rows("\"aa\",\"bb_m\"\n\"\",\"\"\n", "2:||;");
    assert_rows("aa\n\"  kept  \"\n  not kept \t\n  \"kept too \"  \n",
                "2:  kept  ||;3:not kept||;4:kept too ||;");
}

static void test_lines_after_embedded_newlines(void **state)
{
    (void)state;
    assert_rows("aa,bb_m\n\"1\n2\n3\",x\ny,\"4\n\"\nz,\n", "2:1\n2\n3|x|;5:y|4\n|;7:z||;");
    assert_errors("\"aa\",bb_m\n\"1\n\n3\",x\ny\n", "t.csv:5: has 1 cell, the header has 2\n");
}

static void test_comments(void **state)
{
    (void)state;
    assert_rows("# first, \"open\n#\naa,bb_m\n# between\n1,2\n#3,4\n5,6\n# last", "5:1|2|;7:5|6|;");
    assert_rows("aa,bb_m\n1,#2\n\"#3\",4\n #5,6\n", "2:1|#2|;3:#3|4|;4:#5|6|;");
    assert_rows("aa,bb_m\n\"1\n# no comment\n#\",2\n# comment\n3,4\n",
                "2:1\n# no comment\n#|2|;6:3|4|;");
    assert_rows("aa\r\n# comment\r\n1\r\n", "3:1||;");
}

static void test_line_ends_and_mark(void **state)
{
    (void)state;
    assert_rows("aa\r\n1\r\n2", "2:1||;3:2||;");
    assert_rows("\xef\xbb\xbf"
                "aa\n1\n",
                "2:1||;");
    assert_rows("\xef\xbb\xbf# comment\r\naa\r\n1\r\n", "3:1||;");
    assert_rows("\xef\xbb\xbf\"aa\"\n1\n", "2:1||;");
    assert_rows("\n\n  \t\naa\n\n1\n \n\n2\n\n", "6:1||;9:2||;");
    assert_rows("aa\n\xef\xbb\xbf"
                "1\n",
                "2:\xef\xbb\xbf"
                "1||;"); /* only at the beginning is it a mark */
    assert_errors("aa\r1\r2\r", "t.csv:1: has a carriage return without a line feed; end lines "
                                "with LF or CRLF\n");
}

static void test_columns_in_any_order(void **state)
{
    (void)state;
    assert_rows("cc_ohm,aa\n3,1\n", "2:1||3;");
    assert_rows("bb_m , aa\n2,\n", "2:|2|;");
    assert_rows("aa,bb_m\n1,2", "2:1|2|;");
    assert_rows("aa,bb_m\n1,", "2:1||;");
    assert_rows("aa\n", "");
    assert_rows("aa", "");
}

static void test_header_errors(void **state)
{
    (void)state;
    assert_errors("aa,bb_mm\n1,2\n", "t.csv:1: unknown column 'bb_mm'; did you mean 'bb_m'?\n");
    assert_errors("AA\n1\n", "t.csv:1: unknown column 'AA'; did you mean 'aa'?\n");
    assert_errors("aa,voltage\n1,2\n",
                  "t.csv:1: unknown column 'voltage'; the columns are: aa, bb_m, cc_ohm\n");
    assert_errors("# c\naa,bb_m,aa\n1,2,3\n", "t.csv:2: column 'aa' is given twice\n");
    assert_errors("bb_m\n1\n", "t.csv:1: column 'aa' is missing\n");
    assert_errors("aa,,\n1,,\n", "t.csv:1: cell 2 is empty; it must name a column\n"
                                 "t.csv:1: cell 3 is empty; it must name a column\n");
    assert_errors("bb_m,bb_m,x\n1\n",
                  "t.csv:1: column 'bb_m' is given twice\n"
                  "t.csv:1: unknown column 'x'; the columns are: aa, bb_m, cc_ohm\n"
                  "t.csv:1: column 'aa' is missing\n");
    const char *empty = "t.csv: is empty; its first line must name the columns: aa, bb_m, cc_ohm\n";
    assert_errors("", empty);
    assert_errors("\n# only this\n\n", empty);
    assert_errors("\xef\xbb\xbf", empty);
}

static void test_every_bad_row_is_found(void **state)
{
    (void)state;
    const struct outcome *outcome = read_text("aa,bb_m\n1\n2,3\n4,5,6\n7,8\n,,,\n");
    assert_string_equal(outcome->messages, "t.csv:2: has 1 cell, the header has 2\n"
                                           "t.csv:4: has 3 cells, the header has 2\n"
                                           "t.csv:6: has 4 cells, the header has 2\n");
    assert_string_equal(outcome->text, "3:2|3|;5:7|8|;");
    assert_int_equal(outcome->status, PD_ERR_INPUT);
}

static void test_quote_errors(void **state)
{
    (void)state;
    const char *advice = "put quotes round the whole cell and write a quote within it twice; "
                         "nothing further was read\n";
    char want[512];
    snprintf(want, sizeof want, "t.csv:3: has a quote out of place; %s", advice);
    assert_errors("aa\n1\nx\"y\n2\n", want);
    assert_errors("aa\n1\n\"x\"y\n2\n", want);
    assert_errors("aa\n1\n\"x\" \"y\"\n2\n", want);
    snprintf(want, sizeof want, "t.csv:4: has a quote out of place (the row began on line 2); %s",
             advice);
    assert_errors("aa\n\"1\n2\n3\"4\n", want);
    assert_errors("aa\n1\n\"2\n3\n", "t.csv:3: has a quoted cell that is never closed\n");
    assert_errors("aa\n1\n\"", "t.csv:3: has a quoted cell that is never closed\n");
    assert_errors("\"aa\n", "t.csv:1: has a quoted cell that is never closed\n");
}

static void test_bytes_that_are_no_text(void **state)
{
    (void)state;
    const char nul[] = "aa\n1\n2\0002\n3\n";
    const struct outcome *outcome = read_with(nul, sizeof nul - 1, note_row);
    assert_string_equal(outcome->messages,
                        "t.csv:3: has a NUL byte; save the table as UTF-8 text\n");
    assert_int_equal(outcome->status, PD_ERR_INPUT);
    assert_string_equal(outcome->text, "2:1||;");

    outcome = read_text("aa\n1\nb\xfc"
                        "ck\xfc\ngr\xc3\xbc"
                        "n\n\xc3\n\"x\n\xff\ny\"\nlast\xe2\x82");
    assert_string_equal(outcome->messages, "t.csv:3: is not UTF-8 text; save the table as UTF-8\n"
                                           "t.csv:5: is not UTF-8 text; save the table as UTF-8\n"
                                           "t.csv:7: is not UTF-8 text; save the table as UTF-8\n"
                                           "t.csv:9: is not UTF-8 text; save the table as UTF-8\n");
    assert_string_equal(outcome->text, "2:1||;4:gr\xc3\xbcn||;");
    assert_int_equal(outcome->status, PD_ERR_INPUT);
    assert_int_equal(read_text("aa # \xfc\n1\n")->rows, 0);
}

/* An open quote at the head of a large file must be told, not fill the memory. */
static void test_row_too_long(void **state)
{
    (void)state;
    const size_t length = 8u << 20;
    char *text = malloc(length);
    assert_non_null(text);
    memset(text, 'x', length);
    memcpy(text, "aa\n1\n\"", 6);
    const struct outcome *outcome = read_with(text, length, note_row);
    assert_string_equal(outcome->messages, "t.csv:3: is a row of more than a million bytes; is a "
                                           "quote left open?\n");
    assert_string_equal(outcome->text, "2:1||;");
    memset(text, 'x', 1 << 20);
    memcpy(text, "aa\n", 3);
    text[(1 << 20) - 1] = '\n'; /* a long cell is none the less a cell */
    outcome = read_with(text, 1 << 20, note_row);
    assert_int_equal(outcome->status, PD_OK);
    assert_int_equal(outcome->rows, 1);
    free(text);
}

/* ---- UTF-8 ---- */

static bool our_utf8(const char *bytes, size_t length)
{
    struct pd_utf8 utf8 = {0};
    for (size_t i = 0; i < length; i++)
        if (!pd_utf8_step(&utf8, (unsigned char)bytes[i]))
            return false;
    return utf8.missing == 0;
}

static bool library_utf8(iconv_t converter, const char *bytes, size_t length)
{
    char in[8], out[64], *from = in, *to = out;
    size_t left = length, room = sizeof out;
    memcpy(in, bytes, length);
    iconv(converter, NULL, NULL, NULL, NULL);
    return iconv(converter, &from, &left, &to, &room) != (size_t)-1 && left == 0;
}

/* Against the C library's iconv: all sequences of one and two bytes, all of three that begin with
 * the leads at which RFC 3629 has its exceptions, and a seeded choice of four. */
static void test_utf8_against_iconv(void **state)
{
    (void)state;
    iconv_t converter = iconv_open("UTF-32LE", "UTF-8");
    assert_true(converter != (iconv_t)-1);
    for (unsigned i = 0; i < 0x10000; i++) {
        const char bytes[] = {(char)(i >> 8), (char)(i & 0xff)};
        assert_int_equal(our_utf8(bytes, 1), library_utf8(converter, bytes, 1));
        assert_int_equal(our_utf8(bytes, 2), library_utf8(converter, bytes, 2));
        const char leads[] = {'\xe0', '\xe1', '\xed', '\xef'};
        for (size_t k = 0; k < sizeof leads; k++) {
            const char three[] = {leads[k], bytes[0], bytes[1]};
            assert_int_equal(our_utf8(three, 3), library_utf8(converter, three, 3));
        }
    }
    struct stream stream = {.state = 3629};
    for (size_t i = 0; i < 100000 * soak(); i++) {
        const uint64_t random = stream_next(&stream);
        const char four[] = {(char)(0xf0 + random % 6), (char)(0x70 + (random >> 8) % 0x60),
                             (char)(0x78 + (random >> 16) % 0x50),
                             (char)(0x78 + (random >> 24) % 0x50)};
        assert_int_equal(our_utf8(four, 4), library_utf8(converter, four, 4));
    }
    iconv_close(converter);
}

/* ---- files ---- */

static enum pd_status count_row(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    (void)row;
    (void)errors;
    ++*(size_t *)context;
    return PD_OK;
}

static void assert_file_error(const char *path, int reason)
{
    struct pd_errors errors = {.count = 0};
    size_t rows = 0;
    assert_int_equal(pd_table_read(path, "t.csv", columns, COLUMN_COUNT, count_row, &rows, &errors),
                     PD_ERR_FILE);
    assert_int_equal(errors.count, 1);
    assert_int_equal(errors.kept[0].status, PD_ERR_FILE);
    assert_string_equal(errors.kept[0].table, "t.csv");
    assert_int_equal(errors.kept[0].line, 0);
    assert_non_null(strstr(errors.kept[0].text, strerror(reason)));
    assert_non_null(strstr(errors.kept[0].text, path));
    assert_int_equal(rows, 0);
}

static void test_files_that_cannot_be_read(void **state)
{
    (void)state;
    assert_file_error("/nonexistent/t.csv", ENOENT);
    assert_file_error("/", EISDIR);
    assert_file_error("/dev/null/t.csv", ENOTDIR);
    if (access("/proc/self/mem", R_OK) == 0) /* opens, then fails within fread */
        assert_file_error("/proc/self/mem", EIO);
}

/* A new temporary file, opened for writing. */
static FILE *make_file(char path[static 32])
{
    memcpy(path, "/tmp/pendrift-table-XXXXXX", sizeof "/tmp/pendrift-table-XXXXXX");
    const int descriptor = mkstemp(path);
    assert_true(descriptor >= 0);
    FILE *file = fdopen(descriptor, "w");
    assert_non_null(file);
    return file;
}

/* Row i of the generated table, as it is written and as its cells must come back. Every kind of
 * thing that can straddle the end of a chunk is in it: quotes doubled, line ends in a cell, CRLF, a
 * comment, letters of two to four bytes. */
static size_t generated_lines(size_t i)
{
    return i % 4 == 0 ? 2 : i % 4 == 1 ? 2 : 1;
}

static void write_generated(FILE *file, size_t i)
{
    const int width = (int)(i * 7 % 41);
    if (i % 4 == 0)
        fprintf(file, "%zu,\"%0*d\r\n#,\"\"q\"\"\",\xc3\xa9\xe2\x82\xac\xf0\x9f\x94\x8c\r\n", i,
                width, 7);
    else if (i % 4 == 1)
        fprintf(file, "# %0*d \" , comment\n%zu , x ,\n", width, 7, i);
    else
        fprintf(file, "%zu,%0*d,\"\"\r\n", i, width, 7);
}

static void generated_cells(size_t i, char b[static 64], char c[static 64])
{
    const int width = (int)(i * 7 % 41);
    if (i % 4 == 0)
        snprintf(b, 64, "%0*d\r\n#,\"q\"", width, 7);
    else if (i % 4 == 1)
        snprintf(b, 64, "x");
    else
        snprintf(b, 64, "%0*d", width, 7);
    snprintf(c, 64, "%s", i % 4 == 0 ? "\xc3\xa9\xe2\x82\xac\xf0\x9f\x94\x8c" : "");
}

struct generated {
    size_t rows, line;
};

static enum pd_status check_generated(const struct pd_row *row, void *context,
                                      struct pd_errors *errors)
{
    struct generated *generated = context;
    char a[32], b[64], c[64];
    (void)errors;
    const size_t i = generated->rows++;
    snprintf(a, sizeof a, "%zu", i);
    generated_cells(i, b, c);
    assert_string_equal(pd_row_text(row, COLUMN_A), a);
    assert_string_equal(pd_row_text(row, COLUMN_B), b);
    assert_string_equal(pd_row_text(row, COLUMN_C), c);
    assert_int_equal(row->line, generated->line + (i % 4 == 1)); /* behind its comment */
    generated->line += generated_lines(i);
    return PD_OK;
}

/* A table of some 300 kB, moved byte by byte by a comment before it, so that every boundary between
 * chunks falls on every place of a group of four rows, whatever the size of the chunks. */
static void test_chunk_boundaries(void **state)
{
    (void)state;
    const size_t rows = 10000;
    for (int shift = 0; shift < 150; shift++) {
        char path[32];
        FILE *file = make_file(path);
        fprintf(file, "#%0*d\naa,bb_m,cc_ohm\n", shift, 1);
        for (size_t i = 0; i < rows; i++)
            write_generated(file, i);
        assert_true(ftell(file) > 300000);
        assert_int_equal(fclose(file), 0);
        struct pd_errors errors = {.count = 0};
        struct generated generated = {.line = 3};
        assert_int_equal(pd_table_read(path, "t.csv", columns, COLUMN_COUNT, check_generated,
                                       &generated, &errors),
                         PD_OK);
        assert_int_equal(generated.rows, rows);
        assert_int_equal(errors.count, 0);
        assert_int_equal(unlink(path), 0);
    }
}

static long peak_memory_kb(void)
{
    struct rusage usage;
    assert_int_equal(getrusage(RUSAGE_SELF, &usage), 0);
    return usage.ru_maxrss;
}

static void test_million_rows_in_flat_memory(void **state)
{
    (void)state;
    char path[32];
    FILE *file = make_file(path);
    fputs("aa,bb_m,cc_ohm\n", file);
    for (size_t i = 0; i < 1000000; i++)
        fprintf(file, "house %zu,12.5,0.35\n", i);
    assert_true(ftell(file) > 20000000);
    assert_int_equal(fclose(file), 0);
    size_t rows = 0;
    const long before = peak_memory_kb();
    assert_int_equal(pd_table_read(path, "t.csv", columns, COLUMN_COUNT, count_row, &rows, NULL),
                     PD_OK);
    assert_int_equal(rows, 1000000);
    assert_true(peak_memory_kb() - before < 1024);
    assert_int_equal(unlink(path), 0);
}

/* ---- row functions ---- */

static enum pd_status interrupt_third(const struct pd_row *row, void *context,
                                      struct pd_errors *errors)
{
    note_row(row, context, errors);
    return row->line == 4 ? PD_ERR_INTERRUPTED : row->line == 2 ? PD_ERR_INPUT : PD_OK;
}

static void test_row_function_can_end_the_reading(void **state)
{
    (void)state;
    const struct outcome *outcome = read_with("aa\n1\n2\n3\n4\n", 11, interrupt_third);
    assert_int_equal(outcome->status, PD_ERR_INTERRUPTED);
    assert_int_equal(outcome->rows, 3);
    assert_string_equal(outcome->messages, "t.csv:2: wrong input data\nt.csv:4: interrupted\n");
}

static enum pd_status forget_the_error(const struct pd_row *row, void *context,
                                       struct pd_errors *errors)
{
    double value;
    (void)context;
    pd_row_number(row, COLUMN_A, (struct pd_range){.low = 0, .high = 1}, &value, errors);
    return PD_OK;
}

/* A row function that does not pass its errors on must not make a bad table a good one; nor must a
 * caller that keeps no errors. */
static void test_errors_are_never_lost(void **state)
{
    (void)state;
    assert_int_equal(read_with("aa\n5\n", 5, forget_the_error)->status, PD_ERR_INPUT);
    assert_int_equal(pd_table_read_text("aa\n5\n", 5, "t.csv", columns, COLUMN_COUNT,
                                        forget_the_error, NULL, NULL),
                     PD_ERR_INPUT);
    assert_int_equal(
        pd_table_read_text("b", 1, "t.csv", columns, COLUMN_COUNT, forget_the_error, NULL, NULL),
        PD_ERR_INPUT);
}

static void test_wrong_calls(void **state)
{
    (void)state;
    struct pd_errors errors = {.count = 0};
    assert_int_equal(pd_table_read(NULL, "t", columns, 3, count_row, NULL, &errors),
                     PD_ERR_ARGUMENT);
    assert_int_equal(pd_table_read_text(NULL, 1, "t", columns, 3, count_row, NULL, &errors),
                     PD_ERR_ARGUMENT);
    assert_int_equal(pd_table_read_text("", 0, "t", NULL, 3, count_row, NULL, &errors),
                     PD_ERR_ARGUMENT);
    assert_int_equal(pd_table_read_text("", 0, "t", columns, 0, count_row, NULL, &errors),
                     PD_ERR_ARGUMENT);
    assert_int_equal(pd_table_read_text("", 0, "t", columns, 3, NULL, NULL, &errors),
                     PD_ERR_ARGUMENT);
    assert_int_equal(errors.count, 5);
}

/* ---- cells ---- */

static const struct pd_row *one_row(const char *a, const char *b)
{
    static const char *cells[COLUMN_COUNT];
    static struct pd_row row;
    cells[COLUMN_A] = a;
    cells[COLUMN_B] = b;
    cells[COLUMN_C] = "";
    row = (struct pd_row){.table = "t.csv",
                          .line = 7,
                          .columns = columns,
                          .column_count = COLUMN_COUNT,
                          .cells = cells};
    return &row;
}

static void assert_message(const struct pd_errors *errors, const char *want)
{
    char line[700];
    assert_int_equal(errors->count, 1);
    assert_int_equal(pd_errors_status(errors), PD_ERR_INPUT);
    pd_error_format(&errors->kept[0], line, sizeof line);
    assert_string_equal(line, want);
}

static void assert_number_error(const char *cell, struct pd_range range, const char *want)
{
    struct pd_errors errors = {.count = 0};
    double value = 42;
    assert_false(pd_row_number(one_row(cell, ""), COLUMN_A, range, &value, &errors));
    assert_message(&errors, want);
    assert_true(value == 42);
}

static void test_cell_numbers(void **state)
{
    (void)state;
    const struct pd_range range = {.low = -1, .high = 1, .why = "a ratio of powers"};
    const struct pd_range open = {.low = 0, .high = (double)INFINITY};
    const struct pd_range any = {.low = -(double)INFINITY, .high = (double)INFINITY};
    const struct pd_range below = {.low = -(double)INFINITY, .high = 5};
    assert_number_error("1.2", range,
                        "t.csv:7: aa: 1.2 is out of range: -1 to 1: a ratio of powers");
    assert_number_error("-0.5", open, "t.csv:7: aa: -0.5 is out of range: 0 or more");
    assert_number_error("6", below, "t.csv:7: aa: 6 is out of range: 5 or less");
    assert_number_error("", range,
                        "t.csv:7: aa: is empty; a number is needed: -1 to 1: a ratio of powers");
    assert_number_error("", any, "t.csv:7: aa: is empty; a number is needed: any number");
    assert_number_error("3x2", open, "t.csv:7: aa: '3x2' is not a number");
    assert_number_error("nan", any, "t.csv:7: aa: 'nan' is not a number");
    assert_number_error("1e999", any, "t.csv:7: aa: '1e999' is not a number");
    assert_number_error("1,5", open,
                        "t.csv:7: aa: '1,5' is not a number; write it like 1234.5, with "
                        "a point and without spaces");
    assert_number_error("32 A", open,
                        "t.csv:7: aa: '32 A' is not a number; leave the unit out, it "
                        "is in the column's name");
    assert_number_error("0", (struct pd_range){.low = (double)NAN, .high = 1},
                        "t.csv:7: aa: 0 is out of range: 1 or less"); /* NaN is never a pass */
}

static void test_cell_numbers_in_range(void **state)
{
    (void)state;
    const struct pd_range range = {.low = -1, .high = 1};
    struct pd_errors errors = {.count = 0};
    double value = 42;
    assert_true(pd_row_number(one_row("-1", ""), COLUMN_A, range, &value, &errors));
    assert_true(value == -1);
    assert_true(pd_row_number(one_row("1", ""), COLUMN_A, range, &value, &errors));
    assert_true(value == 1);
    assert_true(pd_row_number_or_keep(one_row("", ""), COLUMN_A, range, &value, &errors));
    assert_true(value == 1);
    assert_true(pd_row_number_or_keep(one_row("0.25", ""), COLUMN_A, range, &value, &errors));
    assert_true(value == 0.25);
    assert_int_equal(errors.count, 0);
    assert_false(pd_row_number_or_keep(one_row("2", ""), COLUMN_A, range, &value, &errors));
    assert_true(value == 0.25);
    assert_int_equal(errors.count, 1);
}

/* A long cell leaves room for what is wrong with it, and is not cut within a letter. */
static void test_long_cells_are_cut_in_messages(void **state)
{
    (void)state;
    const struct pd_range range = {.low = 0, .high = 1};
    char large[1000];
    for (size_t shift = 0; shift < 3; shift++) {
        struct pd_errors errors = {.count = 0};
        double value;
        memset(large, 'x', shift);
        for (size_t i = shift; i + 4 < sizeof large; i += 3)
            memcpy(large + i, "\xe2\x82\xac", 4);
        assert_false(pd_row_number(one_row(large, ""), COLUMN_A, range, &value, &errors));
        assert_true(our_utf8(errors.kept[0].text, strlen(errors.kept[0].text)));
        assert_null(strchr(errors.kept[0].text, '?'));
        assert_non_null(strstr(errors.kept[0].text, "\xe2\x82\xac...' is not a number"));
    }
}

static void test_cell_choices(void **state)
{
    (void)state;
    static const char *const choices[] = {"impedance", "current", "power"};
    struct pd_errors errors = {.count = 0};
    size_t index = 9;
    assert_true(pd_row_choice(one_row("power", ""), COLUMN_A, choices, 3, &index, &errors));
    assert_int_equal(index, 2);
    assert_false(pd_row_choice(one_row("curent", ""), COLUMN_A, choices, 3, &index, &errors));
    assert_message(&errors, "t.csv:7: aa: unknown 'curent'; did you mean 'current'? One of: "
                            "impedance, current, power");
    errors.count = 0;
    assert_false(pd_row_choice(one_row("Power", ""), COLUMN_A, choices, 3, &index, &errors));
    assert_message(&errors, "t.csv:7: aa: unknown 'Power'; did you mean 'power'? One of: "
                            "impedance, current, power");
    errors.count = 0;
    assert_false(pd_row_choice(one_row("soil", ""), COLUMN_A, choices, 3, &index, &errors));
    assert_message(&errors,
                   "t.csv:7: aa: unknown 'soil'; it must be one of: impedance, current, power");
    errors.count = 0;
    assert_false(pd_row_choice(one_row("", ""), COLUMN_A, choices, 3, &index, &errors));
    assert_message(&errors, "t.csv:7: aa: is empty; it must be one of: impedance, current, power");
    assert_int_equal(index, 2);
}

static void test_cell_names(void **state)
{
    (void)state;
    struct pd_errors errors = {.count = 0};
    char longest[PD_NAME_MAX + 2];
    memset(longest, 'n', sizeof longest);
    longest[PD_NAME_MAX] = '\0';
    assert_string_equal(pd_row_name(one_row("gr\xc3\xbcn 7", ""), COLUMN_A, &errors),
                        "gr\xc3\xbcn 7");
    assert_string_equal(pd_row_name(one_row(longest, ""), COLUMN_A, &errors), longest);
    assert_int_equal(errors.count, 0);
    longest[PD_NAME_MAX] = 'n';
    longest[PD_NAME_MAX + 1] = '\0';
    assert_null(pd_row_name(one_row(longest, ""), COLUMN_A, &errors));
    assert_message(&errors, "t.csv:7: aa: 'nnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnn...' is "
                            "121 bytes long; a name has at most 120");
    errors.count = 0;
    assert_null(pd_row_name(one_row("", ""), COLUMN_A, &errors));
    assert_message(&errors, "t.csv:7: aa: is empty; a name is needed");
    const char *const bad[] = {"a\nb", "a\tb", "\x1b[2J", "a\x7f", "a\xc2\x9b", "a\xc2\x80"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        errors.count = 0;
        assert_null(pd_row_name(one_row(bad[i], ""), COLUMN_A, &errors));
        assert_int_equal(errors.count, 1);
        assert_null(
            strpbrk(errors.kept[0].text, "\n\t\x1b\x7f")); /* one line, harmless to a terminal */
        assert_null(strstr(errors.kept[0].text, "\xc2\x9b"));
    }
    assert_non_null(pd_row_name(one_row("a\xc2\xa0", ""), COLUMN_A, &errors));
}

static void test_cells_out_of_the_description(void **state)
{
    (void)state;
    struct pd_errors errors = {.count = 0};
    assert_string_equal(pd_row_text(one_row("x", "y"), COLUMN_COUNT), "");
    assert_false(pd_row_has(one_row("x", ""), COLUMN_B));
    assert_true(pd_row_has(one_row("x", "y"), COLUMN_B));
    assert_int_equal(pd_row_error(one_row("x", "y"), COLUMN_COUNT, &errors, "has %d faults", 2),
                     PD_ERR_INPUT);
    assert_message(&errors, "t.csv:7: has 2 faults");
}

/* ---- numbers ---- */

static void test_numbers_taken(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double value;
    } cases[] = {
        {"0", 0.0},
        {"-0", -0.0},
        {"12", 12.0},
        {"+12", 12.0},
        {"12.5", 12.5},
        {".5", 0.5},
        {"-.5", -0.5},
        {"007", 7.0},
        {"1e3", 1000.0},
        {"1E+3", 1000.0},
        {"25e-2", 0.25},
        {".5e1", 5.0},
        {"1e-400", 0.0},
        {"0e999", 0.0},
        {"1.7976931348623157e308", 1.7976931348623157e308},
        {"4.9e-324", 4.9e-324},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double value = (double)NAN;
        if (!pd_parse_number(cases[i].text, &value))
            fail_msg("'%s' is a number", cases[i].text);
        assert_true(value == cases[i].value);
    }
    double zero = 1;
    assert_true(pd_parse_number("-0", &zero));
    assert_true(signbit(zero));
}

static void test_numbers_refused(void **state)
{
    (void)state;
    static const char *const cases[] = {
        "",      "+",      "-",     ".",     "+.",
        "e",     "1e",     "1e+",   "e5",    ".e5",
        "1.",    "1.e3",   " 12",   "12 ",   " 12 ",
        "1 2",   "1,5",    "1'000", "1_000", "32 A",
        "32A",   "0x10",   "0X1p",  "nan",   "NaN",
        "-nan",  "nan(1)", "inf",   "-INF",  "infinity",
        "1e999", "-1e999", "1e309", "--1",   "+-1",
        "1..2",  "1.2.3",  "1e2.5", "1d3",   "\xef\xbc\x91",
        "1f",    "1L",     "1\n",   "\t1",   "\342\210\2221",
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double value = 42;
        if (pd_parse_number(cases[i], &value))
            fail_msg("'%s' is not a number", cases[i]);
        assert_true(value == 42);
    }
}

/* Every finite double written with 17 digits comes back as itself (IEEE 754-2008, 5.12.2). */
static void test_numbers_round_trip(void **state)
{
    (void)state;
    struct stream stream = {.state = 754};
    for (size_t i = 0; i < 20000 * soak(); i++) {
        const uint64_t bits = stream_next(&stream);
        double number, back = (double)NAN;
        char text[40];
        memcpy(&number, &bits, sizeof number);
        snprintf(text, sizeof text, "%.17g", number);
        assert_int_equal(pd_parse_number(text, &back), isfinite(number) != 0);
        if (isfinite(number))
            assert_memory_equal(&back, &number, sizeof number);
    }
}

/* ---- errors ---- */

static void test_errors_are_bounded_but_counted(void **state)
{
    (void)state;
    struct pd_errors errors = {.count = 0};
    assert_int_equal(pd_errors_status(&errors), PD_OK);
    assert_int_equal(pd_errors_add(NULL, PD_ERR_FILE, "t", 0, "", "x"), PD_ERR_FILE);
    for (size_t i = 0; i < 200; i++)
        assert_int_equal(pd_errors_add(&errors, i == 0 ? PD_ERR_FILE : PD_ERR_INPUT, "t.csv", i + 1,
                                       "aa", "fault %zu", i),
                         i == 0 ? PD_ERR_FILE : PD_ERR_INPUT);
    assert_int_equal(errors.count, 200);
    assert_string_equal(errors.kept[PD_ERRORS_KEPT - 1].text, "fault 49");
    assert_int_equal(pd_errors_status(&errors), PD_ERR_FILE);
}

static void test_long_texts_are_cut(void **state)
{
    (void)state;
    struct pd_errors errors = {.count = 0};
    char large[2000];
    memset(large, 'x', sizeof large - 1);
    large[sizeof large - 1] = '\0';
    pd_errors_add(&errors, PD_ERR_INPUT, large, 1, large, "%s", large);
    const struct pd_error *error = &errors.kept[0];
    assert_int_equal(strlen(error->table), sizeof error->table - 1);
    assert_int_equal(strlen(error->column), sizeof error->column - 1);
    assert_int_equal(strlen(error->text), sizeof error->text - 1);
    assert_string_equal(error->text + sizeof error->text - 5, "x...");
    for (size_t shift = 0; shift < 3; shift++) { /* never within a letter of three bytes */
        memset(large, 'x', shift);
        for (size_t i = shift; i + 4 < sizeof large; i += 3)
            memcpy(large + i, "\xe2\x82\xac", 4);
        errors.count = 0;
        pd_errors_add(&errors, PD_ERR_INPUT, "t", 1, "", "%s", large);
        const size_t length = strlen(error->text);
        assert_in_range(length, sizeof error->text - 4, sizeof error->text - 1);
        assert_true(our_utf8(error->text, length));
        assert_string_equal(error->text + length - 6, "\xe2\x82\xac...");
    }
    for (size_t i = 0; i + 3 < sizeof large; i += 2)
        memcpy(large + i, "\xc3\xa9", 3);
    errors.count = 0;
    pd_errors_add(&errors, PD_ERR_INPUT, "t", 1, "", "%s", large);
    assert_true(our_utf8(error->text, strlen(error->text)));
    assert_string_equal(error->text + strlen(error->text) - 5, "\xc3\xa9...");
    char exact[sizeof error->text];
    memset(exact, 'y', sizeof exact - 1);
    exact[sizeof exact - 1] = '\0';
    errors.count = 0;
    pd_errors_add(&errors, PD_ERR_INPUT, "t", 1, "", "%s", exact);
    assert_string_equal(errors.kept[0].text, exact);
}

static void test_messages_are_clean(void **state)
{
    (void)state;
    struct pd_errors errors = {.count = 0};
    pd_errors_add(&errors, PD_ERR_INPUT, "t\n.csv", 1, "",
                  "a\nb\x1b[31m\xff\xc3(\xc2\x9b\xe2\x82\xac");
    assert_string_equal(errors.kept[0].table, "t?.csv");
    assert_string_equal(errors.kept[0].text, "a?b?[31m???\xe2\x82\xac");
    errors.count = 0;
    pd_errors_add(&errors, PD_ERR_INPUT, "t", 1, "", "broken off\xe2\x82");
    assert_string_equal(errors.kept[0].text, "broken off");
}

static void test_error_format(void **state)
{
    (void)state;
    struct pd_error error = {.table = "t.csv", .line = 3, .column = "aa", .text = "is bad"};
    char buffer[64];
    assert_int_equal(pd_error_format(&error, buffer, sizeof buffer), 19);
    assert_string_equal(buffer, "t.csv:3: aa: is bad");
    assert_int_equal(pd_error_format(&error, buffer, 8), 19);
    assert_string_equal(buffer, "t.csv:3");
    error.column[0] = '\0';
    pd_error_format(&error, buffer, sizeof buffer);
    assert_string_equal(buffer, "t.csv:3: is bad");
    error.line = 0;
    pd_error_format(&error, buffer, sizeof buffer);
    assert_string_equal(buffer, "t.csv: is bad");
    error.table[0] = '\0';
    pd_error_format(&error, buffer, sizeof buffer);
    assert_string_equal(buffer, "is bad");
}

static void test_status(void **state)
{
    (void)state;
    assert_string_equal(pd_status_text(PD_OK), "done");
    assert_string_equal(pd_status_text(PD_ERR_MEMORY), "out of memory");
    assert_int_equal(pd_status_exit(PD_OK), 0);
    assert_int_equal(pd_status_exit(PD_ERR_INTERRUPTED), 130); /* 128 + SIGINT, as shells do */
    assert_non_null(pd_status_text((enum pd_status)99));
    assert_int_not_equal(pd_status_exit((enum pd_status)99), 0);
}

/* ---- names ---- */

/* One letter inserted, left out, changed or two swapped is always recognised. */
static void test_nearest_finds_single_slips(void **state)
{
    (void)state;
    static const char *const names[] = {"resistance_ohm", "length_m", "max_current_a",
                                        "season_factor"};
    struct stream stream = {.state = 1};
    for (size_t i = 0; i < 20000 * soak(); i++) {
        const size_t which = stream_below(&stream, 4);
        const size_t length = strlen(names[which]), at = stream_below(&stream, length - 1);
        const char letter = (char)('a' + stream_below(&stream, 26));
        char text[40];
        memcpy(text, names[which], length + 1);
        switch (stream_below(&stream, 4)) {
        case 0:
            memmove(text + at + 1, text + at, length - at + 1);
            text[at] = letter;
            break;
        case 1:
            memmove(text + at, text + at + 1, length - at);
            break;
        case 2:
            text[at] = letter;
            break;
        default:
            text[at] = names[which][at + 1];
            text[at + 1] = names[which][at];
        }
        assert_int_equal(pd_nearest(text, names, 4), which);
    }
}

static void test_nearest_limits(void **state)
{
    (void)state;
    static const char *const names[] = {"length_m", "L1", "ABC", "sitting"};
    assert_int_equal(pd_nearest("lenght_m", names, 4), 0);
    assert_int_equal(pd_nearest("LENGTH_M", names, 4), 0);
    assert_int_equal(pd_nearest("l1", names, 4), 1);
    assert_int_equal(pd_nearest("L3", names, 4), 1);
    assert_int_equal(pd_nearest("x", names, 4), 4);
    assert_int_equal(pd_nearest("", names, 4), 4);
    assert_int_equal(pd_nearest("CA", names, 4), 4);     /* 3 apart: no letter is edited twice */
    assert_int_equal(pd_nearest("kitten", names, 4), 4); /* 3 apart, 2 allowed: the textbook pair */
    assert_int_equal(pd_nearest("kittin", names, 4), 3); /* 2 apart */
    assert_int_equal(pd_nearest("length_m", names, 0), 0);
    char *large = malloc(1 << 20);
    assert_non_null(large);
    memset(large, 'x', 1 << 20);
    large[(1 << 20) - 1] = '\0';
    assert_int_equal(pd_nearest(large, names, 4), 4);
    const char *const with_large[] = {large, "length_m"};
    assert_int_equal(pd_nearest("length_mm", with_large, 2), 1);
    free(large);
}

/* The definition of the optimal string alignment distance, tried without any table or bound. */
static size_t plain_distance(const char *a, size_t m, const char *b, size_t n)
{
    if (m == 0 || n == 0)
        return m + n;
    size_t best = plain_distance(a, m - 1, b, n - 1) + (a[m - 1] != b[n - 1]);
    const size_t without_a = plain_distance(a, m - 1, b, n) + 1;
    const size_t without_b = plain_distance(a, m, b, n - 1) + 1;
    best = without_a < best ? without_a : best;
    best = without_b < best ? without_b : best;
    if (m > 1 && n > 1 && a[m - 1] == b[n - 2] && a[m - 2] == b[n - 1]) {
        const size_t swapped = plain_distance(a, m - 2, b, n - 2) + 1;
        best = swapped < best ? swapped : best;
    }
    return best;
}

static void test_nearest_against_the_definition(void **state)
{
    (void)state;
    struct stream stream = {.state = 2};
    for (size_t i = 0; i < 2000 * soak(); i++) {
        char words[4][8] = {{0}};
        for (size_t k = 0; k < 4; k++)
            for (size_t j = 1 + stream_below(&stream, 6); j-- > 0;)
                words[k][j] = (char)('a' + stream_below(&stream, 3));
        const char *const names[] = {words[1], words[2], words[3]};
        const size_t length = strlen(words[0]);
        size_t limit = length / 3 > 1 ? length / 3 : 1, want = 3;
        limit = limit < length ? limit : length - 1;
        for (size_t k = 0; k < 3; k++) {
            const size_t found = plain_distance(words[0], length, names[k], strlen(names[k]));
            if (found <= limit &&
                (want == 3 ||
                 found < plain_distance(words[0], length, names[want], strlen(names[want]))))
                want = k;
        }
        assert_int_equal(pd_nearest(words[0], names, 3), want);
    }
}

static void test_names(void **state)
{
    (void)state;
    struct pd_names *names = NULL;
    size_t index = 9;
    int added = 9;
    assert_int_equal(pd_names_new(&names), PD_OK);
    assert_int_equal(pd_names_count(names), 0);
    assert_true(pd_names_find(names, "house") == PD_NONE);
    assert_null(pd_names_nearest(names, "house"));
    assert_int_equal(pd_names_add(names, "house", &index, &added), PD_OK);
    assert_int_equal(index, 0);
    assert_true(added);
    assert_int_equal(pd_names_add(names, "House", &index, NULL), PD_OK);
    assert_int_equal(index, 1); /* names keep their case */
    assert_int_equal(pd_names_add(names, "house", &index, &added), PD_OK);
    assert_int_equal(index, 0);
    assert_false(added);
    assert_string_equal(pd_names_nearest(names, "hosue"), "house");
    pd_names_free(&names);
    assert_null(names);
    pd_names_free(&names);
    pd_names_free(NULL);
}

static void test_many_names(void **state)
{
    (void)state;
    struct pd_names *names = NULL;
    assert_int_equal(pd_names_new(&names), PD_OK);
    const size_t count = 50000;
    char text[32];
    for (size_t i = 0; i < count; i++) { /* in order: the worst for a tree that is not balanced */
        size_t index;
        snprintf(text, sizeof text, "node %06zu", i);
        assert_int_equal(pd_names_add(names, text, &index, NULL), PD_OK);
        assert_int_equal(index, i);
    }
    assert_int_equal(pd_names_count(names), count);
    for (size_t i = 0; i < count; i++) {
        snprintf(text, sizeof text, "node %06zu", i);
        assert_int_equal(pd_names_find(names, text), i);
        assert_string_equal(pd_names_text(names, i), text);
    }
    assert_true(pd_names_find(names, "node 050000") == PD_NONE);
    pd_names_free(&names);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_close_enough_fails_on_nan),
        cmocka_unit_test(test_rfc_4180_examples),
        cmocka_unit_test(test_quoting),
        cmocka_unit_test(test_lines_after_embedded_newlines),
        cmocka_unit_test(test_comments),
        cmocka_unit_test(test_line_ends_and_mark),
        cmocka_unit_test(test_columns_in_any_order),
        cmocka_unit_test(test_header_errors),
        cmocka_unit_test(test_every_bad_row_is_found),
        cmocka_unit_test(test_quote_errors),
        cmocka_unit_test(test_bytes_that_are_no_text),
        cmocka_unit_test(test_row_too_long),
        cmocka_unit_test(test_utf8_against_iconv),
        cmocka_unit_test(test_files_that_cannot_be_read),
        cmocka_unit_test(test_chunk_boundaries),
        cmocka_unit_test(test_million_rows_in_flat_memory),
        cmocka_unit_test(test_row_function_can_end_the_reading),
        cmocka_unit_test(test_errors_are_never_lost),
        cmocka_unit_test(test_wrong_calls),
        cmocka_unit_test(test_cell_numbers),
        cmocka_unit_test(test_cell_numbers_in_range),
        cmocka_unit_test(test_long_cells_are_cut_in_messages),
        cmocka_unit_test(test_cell_choices),
        cmocka_unit_test(test_cell_names),
        cmocka_unit_test(test_cells_out_of_the_description),
        cmocka_unit_test(test_numbers_taken),
        cmocka_unit_test(test_numbers_refused),
        cmocka_unit_test(test_numbers_round_trip),
        cmocka_unit_test(test_errors_are_bounded_but_counted),
        cmocka_unit_test(test_long_texts_are_cut),
        cmocka_unit_test(test_messages_are_clean),
        cmocka_unit_test(test_error_format),
        cmocka_unit_test(test_status),
        cmocka_unit_test(test_nearest_finds_single_slips),
        cmocka_unit_test(test_nearest_limits),
        cmocka_unit_test(test_nearest_against_the_definition),
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_many_names),
    };
    return cmocka_run_group_tests_name("table", tests, NULL, NULL);
}
