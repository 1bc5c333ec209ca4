/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_MAKING_H
#define PENDRIFT_REPORT_MAKING_H

#include <stdbool.h>

#include <jansson.h>

#include "report/json_parts.h"
#include "report/plain.h"
#include "table/notes.h"

/* JSON in the making. Values are NULL where memory is short; `put` and `append` notice, and what is
 * made of them is NULL then. */

static inline json_t *number(double value)
{
    return pd_json_number(value);
}

static inline json_t *count(size_t value)
{
    return json_integer((json_int_t)value);
}

static inline json_t *text(const char *value)
{
    return value != NULL ? json_string(pd_plain(value).text) : json_null();
}

/* An object or array in the making. It takes what it is given, also when it fails. */
struct making {
    json_t *json;
    bool failed;
};

static inline struct making make_object(void)
{
    json_t *const json = json_object();
    return (struct making){json, json == NULL};
}

static inline struct making make_array(void)
{
    json_t *const json = json_array();
    return (struct making){json, json == NULL};
}

static inline void put(struct making *object, const char *key, json_t *value)
{
    object->failed |= json_object_set_new(object->json, key, value) != 0;
}

static inline void append(struct making *array, json_t *value)
{
    array->failed |= json_array_append_new(array->json, value) != 0;
}

static inline json_t *made(struct making *making)
{
    if (making->failed) {
        json_decref(making->json);
        return NULL;
    }
    return making->json;
}

static inline json_t *texts(const char *const *list, size_t length)
{
    struct making array = make_array();
    for (size_t i = 0; i < length; i++)
        append(&array, text(list[i]));
    return made(&array);
}

static inline json_t *notes(const struct pd_notes *list)
{
    struct making array = make_array();
    for (size_t i = 0; i < list->count; i++)
        append(&array, text(list->text[i]));
    return made(&array);
}

#endif
