/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_CLI_TEMPLATES_H
#define PENDRIFT_CLI_TEMPLATES_H

#include <stddef.h>

/* The cases that `pendrift new` starts from: cases/new-house and its like, compiled into the
 * program byte for byte. */

enum template_kind { TEMPLATE_HOUSE, TEMPLATE_WORKSHOP, TEMPLATE_STREET, TEMPLATES };

struct template_file {
    const char *name;    /* "loads.csv" */
    const char *meaning; /* what the table is for */
    const char *text;
    const size_t *length;
};

enum { TEMPLATE_FILES_MOST = 5 };

struct template
{
    const char *what; /* "a house with one charging point" */
    size_t file_count;
    struct template_file file[TEMPLATE_FILES_MOST];
};

extern const char *const template_kind_names[TEMPLATES];
extern const struct template template_table[TEMPLATES];

#endif
