/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/lesson.h"
#include "report/making.h"

static void add_field(struct pd_lesson_field *field, size_t *count, const char *id,
                      const char *label, enum pd_lesson_field_kind kind, bool shown)
{
    struct pd_lesson_field *const f = &field[(*count)++];
    *f = (struct pd_lesson_field){.label = label, .kind = kind, .shown = shown};
    snprintf(f->id, sizeof f->id, "%s", id);
}

size_t pd_lesson_fields(const struct pd_lesson *lesson,
                        struct pd_lesson_field field[PD_LESSON_FIELDS])
{
    static const char *const ids[] = {"l1", "l2", "l3"};
    static const char *const labels[] = {"L1 to neutral at the charging point",
                                         "L2 to neutral at the charging point",
                                         "L3 to neutral at the charging point"};
    const bool tt = lesson->study_case->earthing == PD_TT;
    size_t count = 0;
    add_field(field, &count, "along", "", PD_FIELD_VOLT, false);
    add_field(field, &count, "across", "", PD_FIELD_VOLT, false);
    add_field(field, &count, "met", "Main earthing terminal to earth", PD_FIELD_VOLT, tt);
    add_field(field, &count, "touch", "Vehicle's chassis to earth", PD_FIELD_VOLT, true);
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((lesson->study_case->installation_lines & 1u << line) != 0)
            add_field(field, &count, ids[line], labels[line], PD_FIELD_VOLT, true);
    add_field(field, &count, "electrode", "Current to earth through the installation's electrode",
              PD_FIELD_AMPERE, true);
    return count;
}

static int whole(double value, double unit)
{
    const double scaled = value / unit;
    return isfinite(scaled) && fabs(scaled) < 32767 ? (int)lround(scaled) : PD_LESSON_NOTHING;
}

static int flags_of(const struct pd_lesson *lesson, const struct pd_lesson_answer *answer)
{
    int flags = answer->touch == PD_OVER     ? PD_FLAG_OVER
                : answer->touch == PD_WITHIN ? PD_FLAG_WITHIN
                : answer->floating           ? PD_FLAG_FLOATING
                                             : PD_FLAG_UNKNOWN;
    for (size_t i = 0; i < lesson->study_case->detectors.count && i < PD_LESSON_SIGHTS; i++) {
        const int sight = answer->unknown[i]   ? PD_FLAG_NO_SIGHT
                          : answer->in_time[i] ? PD_FLAG_IN_TIME
                          : answer->sees[i]    ? PD_FLAG_SEES
                                               : PD_FLAG_BLIND;
        flags |= sight << (2 + 2 * i);
    }
    return flags;
}

void pd_lesson_record(const struct pd_lesson *lesson, const struct pd_lesson_answer *answer,
                      int value[PD_LESSON_FIELDS + 1])
{
    size_t count = 0;
    value[count++] = whole(creal(answer->met), 0.1);
    value[count++] = whole(cimag(answer->met), 0.1);
    value[count++] = whole(answer->met_v, 0.1);
    value[count++] = whole(answer->touch_v, 0.1);
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((lesson->study_case->installation_lines & 1u << line) != 0)
            value[count++] = whole(answer->line_neutral_v[line], 0.1);
    value[count++] = whole(answer->electrode_a, 0.01);
    value[count] = flags_of(lesson, answer);
}

/* Two bytes each, the low one first, as RFC 4648 writes bytes in letters; the caller frees. */
static char *records(const struct pd_lesson *lesson)
{
    static const char letters[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    struct pd_lesson_field field[PD_LESSON_FIELDS];
    const size_t fields = pd_lesson_fields(lesson, field) + 1;
    const size_t bytes = lesson->count * fields * 2, length = (bytes + 2) / 3 * 4;
    unsigned char *const raw = calloc(bytes + 3, 1);
    char *const text = malloc(length + 1);
    for (size_t i = 0; raw != NULL && i < lesson->count; i++) {
        int value[PD_LESSON_FIELDS + 1];
        pd_lesson_record(lesson, &lesson->answer[i], value);
        for (size_t k = 0; k < fields; k++) {
            raw[2 * (i * fields + k)] = (unsigned char)((unsigned)value[k] & 255);
            raw[2 * (i * fields + k) + 1] = (unsigned char)((unsigned)value[k] >> 8 & 255);
        }
    }
    for (size_t i = 0; raw != NULL && text != NULL && i < length / 4; i++) {
        const unsigned triple =
            (unsigned)raw[3 * i] << 16 | (unsigned)raw[3 * i + 1] << 8 | raw[3 * i + 2];
        for (size_t k = 0; k < 4; k++)
            text[4 * i + k] = 3 * i + k > bytes ? '=' : letters[triple >> (18 - 6 * k) & 63];
    }
    if (text != NULL)
        text[length] = '\0';
    const bool good = raw != NULL;
    free(raw);
    if (!good)
        free(text);
    return good ? text : NULL;
}

static json_t *axis_object(const struct pd_lesson *lesson, const struct pd_lesson_axis *axis)
{
    struct pd_making object = pd_json_make_object(), stops = pd_json_make_array();
    char text[PD_LESSON_WORDS];
    for (size_t i = 0; i < axis->count; i++) {
        pd_lesson_stop_label(lesson, axis, i, text, sizeof text);
        pd_json_append(&stops, pd_json_text(text));
    }
    pd_json_put(&object, "stops", pd_json_made(&stops));
    pd_json_put(&object, "stride", pd_json_count(axis->stride));
    pd_json_put(&object, "supply", json_boolean(axis->kind == PD_LESSON_SUPPLY));
    pd_json_put(&object, "breaks", json_boolean(axis->kind == PD_LESSON_BREAK));
    return pd_json_made(&object);
}

static json_t *axis_array(const struct pd_lesson *lesson)
{
    struct pd_making axes = pd_json_make_array();
    for (size_t i = 0; i < lesson->axis_count; i++)
        pd_json_append(&axes, axis_object(lesson, &lesson->axis[i]));
    return pd_json_made(&axes);
}

static json_t *preset_array(const struct pd_lesson *lesson)
{
    struct pd_making presets = pd_json_make_array();
    for (size_t i = 0; i < lesson->preset_count; i++) {
        struct pd_making at = pd_json_make_array();
        for (size_t k = 0; k < lesson->axis_count; k++)
            pd_json_append(&at, pd_json_count(lesson->preset[i].at[k]));
        pd_json_append(&presets, pd_json_made(&at));
    }
    return pd_json_made(&presets);
}

static json_t *field_array(const struct pd_lesson *lesson)
{
    struct pd_lesson_field field[PD_LESSON_FIELDS];
    const size_t count = pd_lesson_fields(lesson, field);
    struct pd_making fields = pd_json_make_array();
    for (size_t i = 0; i < count; i++) {
        struct pd_making object = pd_json_make_object();
        pd_json_put(&object, "id", pd_json_text(field[i].id));
        pd_json_put(&object, "per_unit",
                    pd_json_count(field[i].kind == PD_FIELD_AMPERE ? 100 : 10));
        pd_json_put(&object, "decimals", pd_json_count(field[i].kind == PD_FIELD_AMPERE ? 2 : 1));
        pd_json_put(&object, "unit", pd_json_text(field[i].kind == PD_FIELD_AMPERE ? "A" : "V"));
        pd_json_append(&fields, pd_json_made(&object));
    }
    return pd_json_made(&fields);
}

/* The ends of the EMFs, pixels, for each stop of the supply. */
static json_t *emf_array(const struct pd_lesson *lesson)
{
    const size_t supplies = lesson->axis[pd_lesson_find(lesson, PD_LESSON_SUPPLY)].count;
    struct pd_making emfs = pd_json_make_array();
    for (size_t supply = 0; supply < supplies; supply++) {
        struct pd_making ends = pd_json_make_array();
        for (int line = PD_L1; line < PD_LINES; line++) {
            const struct pd_xy at = pd_lesson_emf(lesson, supply, line);
            struct pd_making end = pd_json_make_array();
            pd_json_append(&end, pd_json_number(at.x));
            pd_json_append(&end, pd_json_number(at.y));
            pd_json_append(&ends, pd_json_made(&end));
        }
        pd_json_append(&emfs, pd_json_made(&ends));
    }
    return pd_json_made(&emfs);
}

static json_t *spoken_array(const struct pd_lesson *lesson)
{
    struct pd_lesson_spoken spoken[PD_LESSON_SPOKEN];
    const size_t count = pd_lesson_spoken(lesson, spoken);
    struct pd_making array = pd_json_make_array();
    for (size_t i = 0; i < count; i++) {
        struct pd_making object = pd_json_make_object();
        pd_json_put(&object, "id", pd_json_text(spoken[i].id));
        pd_json_put(&object, "lead", pd_json_text(spoken[i].lead));
        pd_json_append(&array, pd_json_made(&object));
    }
    return pd_json_made(&array);
}

static json_t *plane_object(const struct pd_lesson *lesson)
{
    const struct pd_lesson_plane plane = pd_lesson_plane(lesson);
    struct pd_making object = pd_json_make_object();
    pd_json_put(&object, "x", pd_json_number(plane.x));
    pd_json_put(&object, "y", pd_json_number(plane.y));
    pd_json_put(&object, "pixels_per_v", pd_json_number(plane.pixels_per_v));
    pd_json_put(&object, "emf", emf_array(lesson));
    return pd_json_made(&object);
}

static json_t *data_object(const struct pd_lesson *lesson, const char *answers)
{
    const struct pd_detectors *const d = &lesson->study_case->detectors;
    struct pd_making object = pd_json_make_object(), devices = pd_json_make_array();
    for (size_t i = 0; i < d->count && i < PD_LESSON_SIGHTS; i++)
        pd_json_append(&devices, pd_json_text(d->detector[i].name));
    pd_json_put(&object, "axes", axis_array(lesson));
    pd_json_put(&object, "presets", preset_array(lesson));
    pd_json_put(&object, "fields", field_array(lesson));
    pd_json_put(&object, "spoken", spoken_array(lesson));
    pd_json_put(&object, "nothing", json_integer(PD_LESSON_NOTHING));
    pd_json_put(&object, "touches", pd_json_texts(pd_lesson_touches, 4));
    pd_json_put(&object, "sights", pd_json_texts(pd_lesson_sights, 4));
    pd_json_put(&object, "devices", pd_json_made(&devices));
    pd_json_put(&object, "plane", plane_object(lesson));
    pd_json_put(&object, "answers", json_string(answers)); /* longer than plain texts are */
    return pd_json_made(&object);
}

/* What would end the element, or is not for XML, stands in strings only: there it may be written by
 * its number. */
static char *without_markup(const char *json)
{
    static const char marks[] = "<>&";
    size_t length = 0;
    for (const char *at = json; *at != '\0'; at++)
        length += strchr(marks, *at) != NULL ? 6 : 1;
    char *const text = malloc(length + 1);
    for (size_t used = 0; text != NULL && used <= length; json++)
        if (*json != '\0' && strchr(marks, *json) != NULL)
            used += (size_t)sprintf(text + used, "\\u%04x", (unsigned)*json);
        else
            text[used++] = *json;
    return text;
}

char *pd_lesson_data(const struct pd_lesson *lesson)
{
    char *const answers = records(lesson);
    json_t *const object = answers != NULL ? data_object(lesson, answers) : NULL;
    char *const json =
        object != NULL
            ? json_dumps(object, JSON_COMPACT | JSON_ENSURE_ASCII | JSON_REAL_PRECISION(8))
            : NULL;
    char *const text = json != NULL ? without_markup(json) : NULL;
    free(json);
    json_decref(object);
    free(answers);
    return text;
}
