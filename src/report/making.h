/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_MAKING_H
#define PENDRIFT_REPORT_MAKING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include <jansson.h>

#include "table/notes.h"

/* JSON in the making. Values: each returns NULL where memory is short; pd_json_put and
 * pd_json_append notice, and what holds them fails as a whole. */

/* null where it is not finite. */
json_t *pd_json_number(double value);
json_t *pd_json_count(size_t value);

/* null where it is NULL; made plain first. */
json_t *pd_json_text(const char *value);
json_t *pd_json_texts(const char *const *list, size_t length);
json_t *pd_json_notes(const struct pd_notes *list);

/* An object or array in the making. It takes what it is given, also when it fails. */
struct pd_making {
    json_t *json;
    bool failed;
};
struct pd_making pd_json_make_object(void);
struct pd_making pd_json_make_array(void);
void pd_json_put(struct pd_making *object, const char *key, json_t *value);
void pd_json_append(struct pd_making *array, json_t *value);

/* What every object that we write begins with: schema, who wrote it, the case, the cautions. */
void pd_json_put_head(struct pd_making *object, const char *title);

/* The finished value; NULL where anything failed. */
json_t *pd_json_made(struct pd_making *making);

/* Writes an object and a line end, and frees it. PD_OK, PD_ERR_FILE, PD_ERR_MEMORY (it is NULL). */
enum pd_status pd_json_write(FILE *out, json_t *object);

#endif
