/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_MIRROR_H
#define PENDRIFT_REPORT_MIRROR_H

#include <jansson.h>

#include "report/figure.h"
#include "report/html.h"

/* A page of HTML whose every figure is one of a JSON object's: what is shown is looked up there by
 * its path ("routes[2].value"), so that page and JSON cannot say different things. How a figure is
 * rounded, and its unit, follow from the end of its key. */
struct pd_mirror {
    struct pd_html html;
    const json_t *root; /* borrowed */
    bool failed;        /* memory has run out: the page is not whole */
};

enum { PD_MIRROR_PATH = 160 };
struct pd_mirror_path {
    char text[PD_MIRROR_PATH];
};
/* A path from a format: pd_mirror_path("scenarios[%zu].touch_v", i). */
struct pd_mirror_path pd_mirror_path(const char *format, ...) __attribute__((format(printf, 1, 2)));

/* What stands at a path; NULL where nothing does, or null. */
const json_t *pd_mirror_at(const struct pd_mirror *mirror, const char *path);
/* The same as a text, a number (NaN) or a length (0); true where it is true. */
const char *pd_mirror_string(const struct pd_mirror *mirror, const char *path);
double pd_mirror_number(const struct pd_mirror *mirror, const char *path);
size_t pd_mirror_length(const struct pd_mirror *mirror, const char *path);
bool pd_mirror_true(const struct pd_mirror *mirror, const char *path);

/* How the value of a key is read, by the key's end: volts and amperes with one decimal, the current
 * through a body in mA, a bound rounded up, a resistance not to be passed rounded down. The unit of
 * it, "" where it has none. */
struct pd_figure pd_mirror_shown(const char *key, double value);
const char *pd_mirror_unit(const char *key);

/* A figure by itself; the same with its unit. Where there is none: `absent` (NULL: "not
 * determined"). */
void pd_mirror_figure(struct pd_mirror *mirror, const char *path, const char *absent);
void pd_mirror_quantity(struct pd_mirror *mirror, const char *path, const char *absent);

/* A list of the texts of an array; nothing where it is empty. */
void pd_mirror_list(struct pd_mirror *mirror, const char *path);

/* A table with a row for each property: a heading, the path, and what stands there where the JSON
 * has nothing (NULL: the row is left out). */
struct pd_mirror_row {
    const char *heading, *path, *absent;
};
void pd_mirror_properties(struct pd_mirror *mirror, const char *caption,
                          const struct pd_mirror_row *row, size_t count);

/* A table with a row for each item of an array. A column that no row has anything in is left out;
 * a heading that begins with '>' is one of figures. The first column heads its row. `item` NULL:
 * the first `count` of them. Nothing where `count` is 0. */
struct pd_mirror_column {
    const char *heading, *key, *absent; /* absent: of a cell; NULL is "-" */
    const char *when; /* NULL; or a key of the item: where that is null or false the cell is "-" */
};
struct pd_mirror_items {
    const char *path;   /* of the array */
    const size_t *item; /* [count] */
    size_t count;
};
void pd_mirror_table(struct pd_mirror *mirror, const char *caption,
                     const struct pd_mirror_items *items, const struct pd_mirror_column *column,
                     size_t columns);

#endif
