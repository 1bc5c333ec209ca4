/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>

#include "report/figure.h"
#include "report/lesson.h"

const char pd_lesson_style[] =
    ".lesson{display:grid;gap:1rem 2rem;grid-template-columns:minmax(0,1fr) minmax(0,1fr);"
    "align-items:start}\n"
    ".lesson figure{margin:0}\n"

    ".presets{display:flex;flex-wrap:wrap;gap:.5rem;margin:.8rem 0}\n"
    ".presets button{font:inherit;padding:.4rem .8rem;border:2px solid var(--line);"
    "border-radius:.3rem;background:var(--wash);color:var(--ink);cursor:pointer}\n"
    ".presets button[aria-pressed=true]{border-color:var(--link);font-weight:bold}\n"
    "button:focus-visible{outline:3px solid var(--link);outline-offset:2px}\n"
    ".slider{margin:.6rem 0;display:flex;flex-wrap:wrap;column-gap:.6rem}"
    ".slider label{font-weight:bold}\n"
    ".slider input{display:block;width:100%;margin:.2rem "
    "0;accent-color:var(--link);height:1.6rem}\n"
    ".slider output{overflow-wrap:anywhere}\n"
    ".still .slider input,.still .presets,.still .moves{display:none}\n"
    "table.shown{width:100%}.shown td{text-align:right;font-size:1.2rem;font-weight:bold;"
    "font-variant-numeric:tabular-nums;padding-right:0}.shown td.words{font-size:1rem}\n"
    ".shown tr:first-child td{font-size:1.7rem;line-height:1.2}.shown .over{color:var(--alert)}\n"
    ".summary{border-left:6px solid var(--link);padding:.3rem .8rem;font-size:1.1rem;"
    "max-width:none;min-height:4.5rem}\n"
    ".step{margin:.9rem 0 .9rem 2.6rem}.step p{margin:.1rem 0}.step .number{float:left;"
    "margin-left:-2.6rem}\n"
    ".step .formula{color:var(--faint)}.step .sum{font-variant-numeric:tabular-nums;"
    "overflow-wrap:anywhere}.step .result{font-weight:bold;font-size:1.1rem}\n"
    "@media (max-width:46rem){.lesson{grid-template-columns:minmax(0,1fr)}"
    ".shown tr:first-child td{font-size:1.4rem}}\n"
    "@media print{.step{break-inside:avoid}.slider input,.presets,.moves{display:none}.lesson "
    "figure "
    "svg{max-height:110mm}}\n";

const struct pd_lesson_preset *pd_lesson_first(const struct pd_lesson *lesson)
{
    return pd_lesson_preset(lesson, PD_PRESET_DECLARED);
}

static void put(struct pd_html *html, const char *markup)
{
    fputs(markup, html->out);
}

static void write_presets(struct pd_html *html, const struct pd_lesson *lesson)
{
    char text[PD_LESSON_WORDS];
    put(html, "<div class=\"presets\" role=\"group\" aria-label=\"States to step through\">\n");
    for (size_t i = 0; i < lesson->preset_count; i++) {
        pd_lesson_preset_label(lesson, &lesson->preset[i], text, sizeof text);
        fprintf(html->out, "<button type=\"button\" data-preset=\"%zu\" aria-pressed=\"false\">",
                i);
        pd_html_text(html, text);
        put(html, "</button>\n");
    }
    put(html, "</div>\n");
}

static void write_slider(struct pd_html *html, const struct pd_lesson *lesson, size_t i)
{
    const struct pd_lesson_axis *const axis = &lesson->axis[i];
    const size_t stop = pd_lesson_first(lesson)->at[i];
    char text[PD_LESSON_WORDS], value[PD_LESSON_WORDS];
    pd_lesson_axis_label(axis, text, sizeof text);
    fprintf(html->out, "<div class=\"slider\">\n<label for=\"lesson-axis-%zu\">", i);
    pd_html_text(html, text);
    pd_lesson_stop_label(lesson, axis, stop, value, sizeof value);
    fprintf(html->out,
            "</label>\n<output id=\"lesson-stop-%zu\" for=\"lesson-axis-%zu\" aria-live=\"off\">",
            i, i);
    pd_html_text(html, value);
    fprintf(html->out,
            "</output>\n<input type=\"range\" id=\"lesson-axis-%zu\" min=\"0\" max=\"%zu\" "
            "step=\"1\" value=\"%zu\" autocomplete=\"off\"%s/>\n",
            i, axis->count - 1, stop, axis->count == 1 ? " disabled=\"disabled\"" : "");
    put(html, "</div>\n");
}

/* `over`: in the colour of a limit that is passed, or of what is not known. */
static void write_row(struct pd_html *html, const char *label, const char *id, bool words,
                      bool over, const char *text)
{
    put(html, "<tr>");
    pd_html_row_head(html, label);
    put(html, words ? "<td class=\"words\">" : "<td>");
    fprintf(html->out, "<span id=\"lesson-%s\" class=\"%s\">", id, over ? "over" : "within");
    pd_html_text(html, text);
    put(html, "</span></td></tr>\n");
}

/* The figures of the state that the page begins with; the script puts others in their place. */
static void write_figures(struct pd_html *html, const struct pd_lesson *lesson)
{
    const struct pd_case *const c = lesson->study_case;
    struct pd_lesson_field field[PD_LESSON_FIELDS];
    const size_t fields = pd_lesson_fields(lesson, field);
    int value[PD_LESSON_FIELDS + 1];
    char text[PD_LESSON_WORDS], label[PD_LESSON_WORDS], id[24];
    pd_lesson_record(lesson, pd_lesson_at(lesson, pd_lesson_first(lesson)->at), value);
    put(html, "<table class=\"shown\">\n<caption>What comes of it</caption>\n<tbody>\n");
    for (size_t i = 0; i < fields; i++) {
        if (!field[i].shown)
            continue;
        pd_lesson_shown(field[i].kind, value[i], text, sizeof text);
        write_row(html, field[i].label, field[i].id, false, false, text);
    }
    snprintf(label, sizeof label, "Chassis against the touch limit, %s V",
             pd_figure(c->limits.touch_v, 0).text);
    write_row(html, label, "limit", true, (value[fields] & 3) != PD_FLAG_WITHIN,
              pd_lesson_touches[value[fields] & 3]);
    for (size_t i = 0; i < c->detectors.count && i < PD_LESSON_SIGHTS; i++) {
        snprintf(label, sizeof label, "Device '%s'", c->detectors.detector[i].name);
        snprintf(id, sizeof id, "device-%zu", i);
        write_row(html, label, id, true, false, pd_lesson_sights[value[fields] >> (2 + 2 * i) & 3]);
    }
    put(html, "</tbody>\n</table>\n");
}

static void say_breaks(struct pd_html *html, const struct pd_lesson *lesson)
{
    const size_t stops = lesson->axis[pd_lesson_find(lesson, PD_LESSON_BREAK)].count - 1;
    char text[300];
    if (stops < lesson->path_count)
        snprintf(text, sizeof text,
                 "Breaks: %zu of the %zu sections with a PEN on the way from the source to the "
                 "installation, evenly spread. The others, and breaks elsewhere, are in 'pendrift "
                 "assess'.",
                 stops, lesson->path_count);
    else
        snprintf(text, sizeof text,
                 "Breaks: every section with a PEN on the way from the source to the installation. "
                 "Breaks elsewhere are in 'pendrift assess'.");
    pd_html_item(html, text);
}

/* What the figures are, and what they are not. */
static void write_notes(struct pd_html *html, const struct pd_lesson *lesson)
{
    const struct pd_case *const c = lesson->study_case;
    char text[400];
    pd_html_list(html);
    snprintf(
        text, sizeof text,
        "Each of the %zu states was solved by the network engine when this page was made. A "
        "state without an answer that may be judged (there %s %zu) shows \"not determined\". "
        "Between the stops of a slider nothing is guessed. The worst case over all load ranges "
        "may lie between them: it is in the working below.",
        lesson->count, lesson->unsolved == 1 ? "is" : "are", lesson->unsolved);
    pd_html_item(html, text);
    pd_html_item(html, "Loads: all in the network that are on that line, the neighbours' too, each "
                       "at the same share of what it is declared with; amperes are their sizes at "
                       "nominal voltage, added up. What generates is set with its line.");
    if (isfinite(c->demand_limit_a))
        pd_html_item(html, "Load management acts after the sliders: the vehicle may get less than "
                           "is set.");
    if (isfinite(c->neighbour_kw))
        pd_html_item(html, "The neighbours take what the sliders say: their demand after diversity "
                           "is not applied here.");
    pd_html_item(html,
                 "Electrode: in place of the installation's own on its main earthing terminal, dry "
                 "season, far from every other electrode; \"as declared\" is the case's own. What "
                 "couples a device's reference electrode stays as declared.");
    say_breaks(html, lesson);
    if (c->detectors.count > 0)
        pd_html_item(html, "A device is said to see only what every device within its tolerance "
                           "would see.");
    if (c->detectors.count > PD_LESSON_SIGHTS)
        pd_html_item(html, "Further devices of the case are not shown here.");
    if (c->earthing == PD_TT)
        pd_html_item(html, "The chassis is on its own electrode. That it is within the limit says "
                           "nothing of the house's metalwork: whoever touches both has the "
                           "terminal's voltage across them.");
    pd_html_list_end(html);
}

static void write_script(struct pd_html *html, const char *data)
{
    put(html, "<script type=\"application/json\" id=\"lesson-data\">");
    put(html, data);
    put(html, "</script>\n<script>\n//<![CDATA[\n");
    fwrite(pd_lesson_script, 1, pd_lesson_script_length, html->out);
    put(html, "//]]>\n</script>\n");
}

static void write_summary(struct pd_html *html, const struct pd_lesson *lesson)
{
    char text[1024];
    pd_lesson_sentence(lesson, pd_lesson_first(lesson), text, sizeof text);
    put(html, "<p class=\"summary\" id=\"lesson-summary\" role=\"status\" aria-live=\"polite\">");
    pd_html_text(html, text);
    put(html, "</p>\n");
}

void pd_lesson_html(struct pd_html *html, const struct pd_lesson *lesson, const char *data)
{
    pd_html_section(html, "lesson", "Open the PEN, and see where the neutral goes");
    if (lesson->count == 0) {
        pd_html_paragraph(html, NULL,
                          "Nothing can be tabulated: something must be known first. "
                          "The working below says what.");
        pd_html_section_end(html);
        return;
    }
    put(html, "<div id=\"lesson-controls\" class=\"still\">\n");
    pd_html_paragraph(
        html, "moves",
        "Begin with one of these, then move a slider: with the mouse, or with Tab and "
        "the arrow keys.");
    write_presets(html, lesson);
    write_summary(html, lesson);
    put(html, "<div class=\"lesson\">\n<div>\n");
    for (size_t i = 0; i < lesson->axis_count; i++)
        write_slider(html, lesson, i);
    put(html, "</div>\n");
    pd_html_picture(html);
    pd_lesson_plane_draw(html, lesson, pd_lesson_first(lesson));
    pd_html_picture_end(html,
                        "N is the drifting neutral. Its distance from earth is what the "
                        "metalwork bonded to it has; the dashed rays are what is left between "
                        "each line and neutral.");
    put(html, "</div>\n");
    write_figures(html, lesson);
    put(html, "</div>\n");
    write_notes(html, lesson);
    write_script(html, data);
    pd_html_section_end(html);
}
