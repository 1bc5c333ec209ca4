/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/making.h"

#include <math.h>

#include "report/cautions.h"
#include "report/plain.h"
#include "report/report.h"

json_t *pd_json_number(double value)
{
    return isfinite(value) ? json_real(value + 0.0) : json_null(); /* + 0.0: no "-0.0" */
}

json_t *pd_json_count(size_t value)
{
    return json_integer((json_int_t)value);
}

json_t *pd_json_text(const char *value)
{
    return value != NULL ? json_string(pd_plain(value).text) : json_null();
}

struct pd_making pd_json_make_object(void)
{
    json_t *const json = json_object();
    return (struct pd_making){json, json == NULL};
}

struct pd_making pd_json_make_array(void)
{
    json_t *const json = json_array();
    return (struct pd_making){json, json == NULL};
}

void pd_json_put(struct pd_making *object, const char *key, json_t *value)
{
    object->failed |= json_object_set_new(object->json, key, value) != 0;
}

void pd_json_append(struct pd_making *array, json_t *value)
{
    array->failed |= json_array_append_new(array->json, value) != 0;
}

json_t *pd_json_made(struct pd_making *making)
{
    if (making->failed) {
        json_decref(making->json);
        return NULL;
    }
    return making->json;
}

json_t *pd_json_texts(const char *const *list, size_t length)
{
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < length; i++)
        pd_json_append(&array, pd_json_text(list[i]));
    return pd_json_made(&array);
}

json_t *pd_json_notes(const struct pd_notes *list)
{
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < list->count; i++)
        pd_json_append(&array, pd_json_text(list->text[i]));
    return pd_json_made(&array);
}

void pd_json_put_head(struct pd_making *object, const char *title)
{
    pd_json_put(object, "schema", json_integer(1));
    pd_json_put(object, "program", pd_json_text("pendrift"));
    pd_json_put(object, "version", pd_json_text(pd_version));
    pd_json_put(object, "case", pd_json_text(title));
    pd_json_put(object, "cautions", pd_json_texts(pd_cautions, PD_CAUTIONS));
}

enum pd_status pd_json_write(FILE *out, json_t *object)
{
    if (object == NULL)
        return PD_ERR_MEMORY;
    const int result = json_dumpf(object, out, JSON_INDENT(2) | JSON_REAL_PRECISION(12));
    json_decref(object);
    return result != 0 || fputc('\n', out) == EOF || ferror(out) ? PD_ERR_FILE : PD_OK;
}
