/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_LESSON_H
#define PENDRIFT_REPORT_LESSON_H

#include <jansson.h>

#include "report/html.h"
#include "report/plot.h"
#include "study/lesson.h"

/* The part of a page in which a lesson is stepped through. The figures are all in the page, in one
 * table that the script looks up; it has no formula. Without a script the page shows the state that
 * the lesson begins with. The room's own. */

extern const char pd_lesson_style[]; /* CSS */

/* lesson.js, compiled in. */
extern const char pd_lesson_script[];
extern const size_t pd_lesson_script_length;

/* Writes the section: presets, sliders, figures, the plane, what they are and are not. `data` is
 * the lesson's; not looked at where it has no answers. */
void pd_lesson_html(struct pd_html *html, const struct pd_lesson *lesson, const char *data);

/* Where the current goes before and after the break: two pictures. `lesson` may be without answers.
 */
void pd_lesson_story(struct pd_html *html, const struct pd_lesson *lesson);

/* Where the plane of displacement lies on its picture. */
struct pd_lesson_plane {
    double x, y, pixels_per_v; /* of earth; x to the right, y downwards */
};
struct pd_lesson_plane pd_lesson_plane(const struct pd_lesson *lesson);

/* The end of a line's EMF on the picture, at a stop of the supply. */
struct pd_xy pd_lesson_emf(const struct pd_lesson *lesson, size_t supply, int line);

/* Draws it, with the neutral where the preset has it. */
void pd_lesson_plane_draw(struct pd_html *html, const struct pd_lesson *lesson,
                          const struct pd_lesson_preset *preset);

/* The state that the page begins with. */
const struct pd_lesson_preset *pd_lesson_first(const struct pd_lesson *lesson);

/* What the script looks up, as JSON that may stand in a page; the caller frees. NULL where memory
 * is short. */
char *pd_lesson_data(const struct pd_lesson *lesson);

/* The figures of an answer as the table has them: whole numbers of a tenth of a volt or a
 * hundredth of an ampere; PD_LESSON_NOTHING where not determined or beyond what the table holds. */
enum { PD_LESSON_NOTHING = -32768, PD_LESSON_FIELDS = 8 };
enum pd_lesson_field_kind { PD_FIELD_VOLT, PD_FIELD_AMPERE };
struct pd_lesson_field {
    char id[16]; /* "touch", "l1" ...; what shows it has the id "lesson-<id>" */
    const char *label;
    enum pd_lesson_field_kind kind;
    bool shown; /* a row of figures: the others are drawn */
};
size_t pd_lesson_fields(const struct pd_lesson *lesson,
                        struct pd_lesson_field field[PD_LESSON_FIELDS]);
/* A figure for each field, and the flags behind them: two bits for the limit, two for each device.
 */
void pd_lesson_record(const struct pd_lesson *lesson, const struct pd_lesson_answer *answer,
                      int value[PD_LESSON_FIELDS + 1]);
enum { PD_FLAG_UNKNOWN, PD_FLAG_WITHIN, PD_FLAG_OVER, PD_FLAG_FLOATING };
enum { PD_FLAG_BLIND, PD_FLAG_IN_TIME, PD_FLAG_SEES, PD_FLAG_NO_SIGHT };
extern const char *const pd_lesson_sights[4]; /* in words */
extern const char *const pd_lesson_touches[4];

/* Words; each writes to text[size]. */
void pd_lesson_axis_label(const struct pd_lesson_axis *axis, char *text, size_t size);
void pd_lesson_stop_label(const struct pd_lesson *lesson, const struct pd_lesson_axis *axis,
                          size_t stop, char *text, size_t size);
void pd_lesson_preset_label(const struct pd_lesson *lesson, const struct pd_lesson_preset *preset,
                            char *text, size_t size);
enum { PD_LESSON_WORDS = 256 };

/* What is said in the sentence of a state, in order: a field and the words before it. */
struct pd_lesson_spoken {
    const char *id, *lead;
};
enum { PD_LESSON_SPOKEN = 2 };
size_t pd_lesson_spoken(const struct pd_lesson *lesson,
                        struct pd_lesson_spoken spoken[PD_LESSON_SPOKEN]);
void pd_lesson_sentence(const struct pd_lesson *lesson, const struct pd_lesson_preset *preset,
                        char *text, size_t size);

/* A figure of the table in words: "176.3 V", "not determined". */
void pd_lesson_shown(enum pd_lesson_field_kind kind, int value, char *text, size_t size);

#endif
