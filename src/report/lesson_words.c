/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report/figure.h"
#include "report/lesson.h"

const char *const pd_lesson_touches[4] = {
    [PD_FLAG_UNKNOWN] = "not determined",
    [PD_FLAG_WITHIN] = "within the limit",
    [PD_FLAG_OVER] = "over the limit",
    [PD_FLAG_FLOATING] = "not determined: nothing ties the neutral, any voltage may come of it",
};

const char *const pd_lesson_sights[4] = {
    [PD_FLAG_BLIND] = "sees nothing to act on",
    [PD_FLAG_IN_TIME] = "sees it and lets go of the chassis in time",
    [PD_FLAG_SEES] = "sees it, but the chassis is not disconnected in time for good",
    [PD_FLAG_NO_SIGHT] = "not determined",
};

void pd_lesson_axis_label(const struct pd_lesson_axis *axis, char *text, size_t size)
{
    switch (axis->kind) {
    case PD_LESSON_LINE:
        snprintf(text, size, "Loads on L%d", axis->line + 1);
        break;
    case PD_LESSON_BETWEEN:
        snprintf(text, size, "Loads on several lines");
        break;
    case PD_LESSON_ELECTRODE:
        snprintf(text, size, "Electrode at the main earthing terminal");
        break;
    case PD_LESSON_SUPPLY:
        snprintf(text, size, "Supply, line to neutral");
        break;
    case PD_LESSON_BREAK:
        snprintf(text, size, "PEN open");
        break;
    }
}

static const char *share_words(double share)
{
    return share == 0      ? "off"
           : share == 0.25 ? "a quarter of what is declared"
           : share == 0.5  ? "half of what is declared"
           : share == 0.75 ? "three quarters of what is declared"
           : share == 1    ? "as declared"
           : share == 1.5  ? "halfway to the highest declared"
                           : "the highest declared";
}

/* What they take and what they give, each load's current as declared at nominal voltage. */
static void loads_label(const struct pd_lesson *lesson, const struct pd_lesson_axis *axis,
                        size_t stop, char *text, size_t size)
{
    const struct pd_network *const n = lesson->study_case->network;
    double takes_a = 0, gives_a = 0;
    for (size_t i = 0; i < n->load_count; i++)
        if (pd_lesson_sets(axis, &n->load[i]))
            *(n->load[i].behaviour->generates ? &gives_a : &takes_a) +=
                pd_lesson_load_a(axis, stop, &n->load[i]);
    const char *const words = share_words(axis->value[stop]);
    const char *const below =
        pd_lesson_below(lesson, axis, stop) ? ", below the least declared" : "";
    if (axis->value[stop] == 0)
        snprintf(text, size, "%s%s", words, below);
    else if (gives_a > 0)
        snprintf(text, size, "%s: %s A taken, %s A generated%s", words, pd_figure_a(takes_a).text,
                 pd_figure_a(gives_a).text, below);
    else
        snprintf(text, size, "%s: %s A%s", words, pd_figure_a(takes_a).text, below);
}

static void break_label(const struct pd_case *c, size_t section, char *text, size_t size)
{
    const struct pd_node *const node = c->network->node;
    if (section == PD_NONE)
        snprintf(text, size, "nowhere (healthy supply)");
    else
        snprintf(text, size, "in section '%s', between '%s' and '%s'", node[section].section,
                 node[node[section].parent].name, node[section].name);
}

void pd_lesson_stop_label(const struct pd_lesson *lesson, const struct pd_lesson_axis *axis,
                          size_t stop, char *text, size_t size)
{
    const double value = axis->value[stop];
    const char *const declared = stop == axis->declared ? ", as declared" : "";
    switch (axis->kind) {
    case PD_LESSON_LINE:
    case PD_LESSON_BETWEEN:
        loads_label(lesson, axis, stop, text, size);
        break;
    case PD_LESSON_ELECTRODE:
        if (isfinite(value))
            snprintf(text, size, "%s ohm%s", pd_figure_ohm(value).text, declared);
        else
            snprintf(text, size, "none%s", declared);
        break;
    case PD_LESSON_SUPPLY:
        snprintf(text, size, "%s V%s", pd_figure_v(value).text,
                 stop == axis->declared ? declared : ", the highest that the limit set has");
        break;
    case PD_LESSON_BREAK:
        break_label(lesson->study_case, axis->section[stop], text, size);
        break;
    }
}

void pd_lesson_preset_label(const struct pd_lesson *lesson, const struct pd_lesson_preset *preset,
                            char *text, size_t size)
{
    static const char *const names[PD_PRESETS] = {
        [PD_PRESET_HEALTHY] = "Healthy",
        [PD_PRESET_DECLARED] = "PEN open, as declared",
        [PD_PRESET_BALANCED] = "Balanced",
        [PD_PRESET_ONE_LINE] = "One line only",
        [PD_PRESET_UNSEEN] = "What nothing disconnects",
        [PD_PRESET_ELECTRODE] = "With electrode",
    };
    const bool no_pen = preset->kind == PD_PRESET_DECLARED && lesson->path_count == 0;
    snprintf(text, size, "%s", no_pen ? "As declared" : names[preset->kind]);
    if (preset->kind != PD_PRESET_ELECTRODE)
        return;
    const size_t axis = pd_lesson_find(lesson, PD_LESSON_ELECTRODE);
    snprintf(text, size, "%s of %s ohm", names[preset->kind],
             pd_figure_ohm(lesson->axis[axis].value[preset->at[axis]]).text);
}

/* A line does not end between a figure and its unit. */
#define FIRM_BLANK "\xc2\xa0"

void pd_lesson_shown(enum pd_lesson_field_kind kind, int value, char *text, size_t size)
{
    if (value == PD_LESSON_NOTHING)
        snprintf(text, size, "not determined");
    else if (kind == PD_FIELD_AMPERE)
        snprintf(text, size, "%.2f" FIRM_BLANK "A", value / 100.0);
    else
        snprintf(text, size, "%.1f" FIRM_BLANK "V", value / 10.0);
}

size_t pd_lesson_spoken(const struct pd_lesson *lesson,
                        struct pd_lesson_spoken spoken[PD_LESSON_SPOKEN])
{
    size_t count = 0;
    if (lesson->study_case->earthing == PD_TT)
        spoken[count++] = (struct pd_lesson_spoken){
            "met", "the house's main earthing terminal, with all metalwork on it, is at "};
    spoken[count++] = (struct pd_lesson_spoken){"touch", "the vehicle's chassis is at "};
    return count;
}

/* As the script says it. */
void pd_lesson_sentence(const struct pd_lesson *lesson, const struct pd_lesson_preset *preset,
                        char *text, size_t size)
{
    struct pd_lesson_field field[PD_LESSON_FIELDS];
    struct pd_lesson_spoken spoken[PD_LESSON_SPOKEN];
    const size_t fields = pd_lesson_fields(lesson, field), says = pd_lesson_spoken(lesson, spoken);
    const size_t breaks = pd_lesson_find(lesson, PD_LESSON_BREAK);
    const struct pd_detectors *const d = &lesson->study_case->detectors;
    int value[PD_LESSON_FIELDS + 1];
    char words[PD_LESSON_WORDS];
    pd_lesson_record(lesson, pd_lesson_at(lesson, preset->at), value);
    pd_lesson_stop_label(lesson, &lesson->axis[breaks], preset->at[breaks], words, sizeof words);
    size_t used = (size_t)snprintf(text, size, "PEN open %s: ", words);
    for (size_t k = 0; k < says; k++)
        for (size_t i = 0; i < fields; i++)
            if (strcmp(field[i].id, spoken[k].id) == 0 && used < size) {
                pd_lesson_shown(field[i].kind, value[i], words, sizeof words);
                used += (size_t)snprintf(text + used, size - used, "%s%s, ", spoken[k].lead, words);
            }
    if (used < size)
        used +=
            (size_t)snprintf(text + used, size - used, "%s.", pd_lesson_touches[value[fields] & 3]);
    for (size_t i = 0; i < d->count && i < PD_LESSON_SIGHTS && used < size; i++)
        used += (size_t)snprintf(text + used, size - used, " Device '%s' %s.", d->detector[i].name,
                                 pd_lesson_sights[value[fields] >> (2 + 2 * i) & 3]);
}
