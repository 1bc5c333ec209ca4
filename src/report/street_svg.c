/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "report/cautions.h"
#include "report/figure.h"
#include "report/plain.h"
#include "report/plot.h"
#include "report/scenario.h"
#include "report/street_draw.h"

enum {
    WIDTH = PD_STREET_WIDTH + 2 * PD_STREET_MARGIN,
    BREAK = 14, /* below its lane, on the way to a house */
    LEGEND = 5 * 30,
    FOOT = 44
};
/* Of a row: the longest bar, and the next row, with room between for a figure and a name; less of
 * both where there are many houses. */
static const double bar_few = 64, row_few = 212, bar_many = 46, row_many = 160;

static const char *name_of(const struct pd_street_drawing *st, size_t node)
{
    return st->a->study_case->network->node[node].name;
}

double pd_street_lane_y(const struct pd_street_drawing *st, const struct pd_street_place *place)
{
    return PD_STREET_TOP + (double)place->row * st->row + PD_STREET_LANE;
}

double pd_street_house_x(const struct pd_street_place *place)
{
    return PD_STREET_MARGIN + (place->on_main ? place->house_x : place->x);
}

static bool is_beyond(const struct pd_street_drawing *st, size_t node)
{
    return st->s->section != PD_NONE &&
           pd_network_downstream(st->a->study_case->network, st->s->section, node);
}

/* The PEN beyond the break drifts: broken lines. */
static enum pd_ink pen_ink(const struct pd_street_drawing *st, size_t node)
{
    return is_beyond(st, node) ? PD_INK_GUIDE : PD_INK_OUTLINE;
}

static void draw_transformer(const struct pd_street_drawing *st)
{
    const double y = pd_street_lane_y(st, &st->lay->place[0]),
                 x = PD_STREET_MARGIN + st->lay->place[0].x;
    pd_svg_line(st->svg, PD_INK_OUTLINE, x - 26, y, x, y);
    pd_svg_circle(st->svg, PD_INK_OUTLINE, x - 36, y, 10);
    pd_svg_circle(st->svg, PD_INK_OUTLINE, x - 48, y, 10);
}

/* Where on its way from the joint before a section is broken, should it be: shortly before its end.
 */
static double break_x(const struct pd_street_drawing *st, size_t node)
{
    const size_t parent = st->a->study_case->network->node[node].parent;
    const struct pd_street_place *const a = &st->lay->place[parent], *const b =
                                                                         &st->lay->place[node];
    const bool near = a->row == b->row && a->on_main && a->x < b->x;
    return b->x - (near ? fmin(24, (b->x - a->x) / 2) : 20);
}

/* From one joint to the next; folded, the line leaves the row at its end and comes in again at the
 * head of the next. */
static void draw_run(const struct pd_street_drawing *st, size_t from, size_t to)
{
    const struct pd_street_place *const a = &st->lay->place[from], *const b = &st->lay->place[to];
    const enum pd_ink ink = pen_ink(st, to), before = pen_ink(st, from);
    const double broken = PD_STREET_MARGIN + break_x(st, to);
    if (a->row == b->row) {
        pd_svg_line(st->svg, before, PD_STREET_MARGIN + a->x, pd_street_lane_y(st, a), broken,
                    pd_street_lane_y(st, a));
    } else {
        pd_svg_line(st->svg, before, PD_STREET_MARGIN + a->x, pd_street_lane_y(st, a),
                    WIDTH - PD_STREET_MARGIN / 2.0, pd_street_lane_y(st, a));
        pd_svg_line(st->svg, before, PD_STREET_MARGIN / 2.0, pd_street_lane_y(st, b), broken,
                    pd_street_lane_y(st, b));
    }
    pd_svg_line(st->svg, ink, broken, pd_street_lane_y(st, b), PD_STREET_MARGIN + b->x,
                pd_street_lane_y(st, b));
}

/* Where a lane comes from, in words: a line across other rows would be lost in them. */
static void draw_lane_start(const struct pd_street_drawing *st, size_t node)
{
    const struct pd_street_place *const place = &st->lay->place[node];
    const double x = PD_STREET_MARGIN + place->x, y = pd_street_lane_y(st, place);
    char text[96];
    snprintf(text, sizeof text, "from %.60s",
             pd_plain_short(name_of(st, st->a->study_case->network->node[node].parent), 20).text);
    pd_svg_line(st->svg, pen_ink(st, node), x - 44, y, x, y);
    pd_svg_mark(st->svg, PD_INK_MARK_HOLLOW, PD_MARK_TRIANGLE, x - 44, y, 9);
    pd_svg_label(st->svg, PD_INK_NOTE, x - 50, y - 12, PD_ANCHOR_START, text);
}

static void draw_lanes(const struct pd_street_drawing *st, const bool *begins)
{
    const struct pd_network *const network = st->a->study_case->network;
    for (size_t i = 1; i < st->lay->count; i++) {
        if (!st->lay->place[i].on_main)
            continue;
        if (begins[i])
            draw_lane_start(st, i);
        else
            draw_run(st, network->node[i].parent, i);
    }
    for (size_t i = 0; i < st->lay->count; i++)
        if (st->lay->place[i].on_main)
            pd_svg_rect(st->svg, PD_INK_MARK, PD_STREET_MARGIN + st->lay->place[i].x - 3,
                        pd_street_lane_y(st, &st->lay->place[i]) - 3, 6, 6);
}

enum standing { WITHIN, OVER, UNKNOWN };
static enum standing stands(const struct pd_street_drawing *st, size_t node)
{
    switch (pd_judge(st->a->along.touch_v[node], st->a->study_case->limits.touch_v)) {
    case PD_WITHIN:
        return WITHIN;
    case PD_OVER:
        return OVER;
    case PD_UNKNOWN:
        break;
    }
    return UNKNOWN;
}

static double bar_length(const struct pd_street_drawing *st, double volts)
{
    return st->top_v > 0 ? st->bar * volts / st->top_v : 0;
}

static void draw_mark(const struct pd_street_drawing *st, size_t node, double x, double y)
{
    static const struct {
        enum pd_ink ink;
        enum pd_mark mark;
    } marks[] = {[WITHIN] = {PD_INK_MARK_HOLLOW, PD_MARK_DISC},
                 [OVER] = {PD_INK_MARK_ALERT, PD_MARK_DIAMOND},
                 [UNKNOWN] = {PD_INK_OUTLINE, PD_MARK_CROSS}};
    const double size = fmin(14, st->lay->slot - 1.5);
    const enum standing how = stands(st, node);
    pd_svg_mark(st->svg, marks[how].ink, marks[how].mark, x, y,
                how == OVER ? size : fmin(size, 11));
}

static void draw_bar(const struct pd_street_drawing *st, size_t node, double x, double y)
{
    const double volts = st->a->along.touch_v[node];
    const double width = fmax(4, fmin(18, 0.6 * st->lay->slot));
    if (isfinite(volts))
        pd_svg_rect(st->svg, stands(st, node) == OVER ? PD_INK_SHADE_6 : PD_INK_SHADE_3,
                    x - width / 2, y, width, bar_length(st, volts));
}

static void draw_house(const struct pd_street_drawing *st, size_t node)
{
    const struct pd_street_place *const place = &st->lay->place[node];
    const double x = pd_street_house_x(place), lane = pd_street_lane_y(st, place);
    char label[200];
    snprintf(label, sizeof label, "%.120s: %s V", pd_plain_short(name_of(st, node), 60).text,
             pd_figure_v(st->a->along.touch_v[node]).text);
    pd_svg_group(st->svg, label);
    pd_svg_line(st->svg, pen_ink(st, node), x, lane, x, lane + PD_STREET_HOUSE);
    draw_bar(st, node, x, lane + PD_STREET_BAR);
    draw_mark(st, node, x, lane + PD_STREET_HOUSE);
    pd_svg_group_end(st->svg);
}

static void draw_own(const struct pd_street_drawing *st)
{
    const struct pd_street_place *const place = &st->lay->place[st->a->study_case->installation];
    if (place->house)
        pd_svg_rect(st->svg, PD_INK_FRAME, pd_street_house_x(place) - 11,
                    pd_street_lane_y(st, place) + PD_STREET_HOUSE - 11, 22, 22);
}

/* Houses of one joint share a line along the lane. */
static void draw_bus(const struct pd_street_drawing *st, size_t node)
{
    const struct pd_street_place *const place = &st->lay->place[node];
    const struct pd_street_place *const joint = &st->lay->place[place->joint];
    const double from = joint->row == place->row ? joint->x : 0;
    pd_svg_line(st->svg, pen_ink(st, place->joint), PD_STREET_MARGIN + from,
                pd_street_lane_y(st, place), pd_street_house_x(place), pd_street_lane_y(st, place));
}

static void draw_limits(const struct pd_street_drawing *st)
{
    const double limit_v = st->a->study_case->limits.touch_v;
    if (!(limit_v < st->top_v))
        return;
    for (size_t row = 0; row < st->lay->rows; row++) {
        const struct pd_street_place first = {.row = row};
        const double y = pd_street_lane_y(st, &first) + PD_STREET_BAR + bar_length(st, limit_v);
        double left = WIDTH, right = 0;
        for (size_t i = 0; i < st->lay->count; i++)
            if (st->lay->place[i].house && st->lay->place[i].row == row) {
                left = fmin(left, pd_street_house_x(&st->lay->place[i]) - 22);
                right = fmax(right, pd_street_house_x(&st->lay->place[i]) + 22);
            }
        if (left < right)
            pd_svg_line(st->svg, PD_INK_LIMIT, left, y, right, y);
    }
}

/* Over the section that is broken, wherever it is drawn. */
static void draw_break(const struct pd_street_drawing *st)
{
    const struct pd_network *const network = st->a->study_case->network;
    const size_t node = st->s->section;
    const struct pd_street_place *const place = &st->lay->place[node];
    if (node == PD_NONE || !place->shown)
        return;
    struct pd_xy at = {pd_street_house_x(place), pd_street_lane_y(st, place) + BREAK};
    if (place->on_main) {
        at = (struct pd_xy){PD_STREET_MARGIN + break_x(st, node), pd_street_lane_y(st, place)};
    }
    char text[160];
    snprintf(text, sizeof text, "%s: %.100s",
             st->s->fault == PD_PEN_JOINT ? "bad PEN joint" : "PEN open",
             pd_plain_short(network->node[node].section, 30).text);
    pd_svg_mark(st->svg, PD_INK_MARK_ALERT, PD_MARK_CROSS, at.x, at.y, 18);
    const bool right = at.x > WIDTH / 2.0;
    pd_svg_label(st->svg, PD_INK_ALERT, at.x + (right ? 8 : -8), pd_street_lane_y(st, place) - 16,
                 right ? PD_ANCHOR_END : PD_ANCHOR_START, text);
}

static void draw_legend(const struct pd_street_drawing *st, double top)
{
    const struct pd_legend left[] = {
        {PD_LEGEND_MARK, PD_INK_MARK_HOLLOW, PD_MARK_DISC, "house within the touch limit"},
        {PD_LEGEND_MARK, PD_INK_MARK_ALERT, PD_MARK_DIAMOND, "house over it; figure in volts"},
        {PD_LEGEND_MARK, PD_INK_OUTLINE, PD_MARK_CROSS, "house not determined"},
        {PD_LEGEND_MARK, PD_INK_MARK_ALERT, PD_MARK_CROSS, "the break"},
    };
    const struct pd_legend right[] = {
        {PD_LEGEND_LINE, PD_INK_OUTLINE, PD_MARK_DISC, "PEN still on the star point"},
        {PD_LEGEND_LINE, PD_INK_GUIDE, PD_MARK_DISC, "PEN beyond the break: drifting"},
        {PD_LEGEND_LINE, PD_INK_LIMIT, PD_MARK_DISC, "touch limit on the bars' scale"},
        {PD_LEGEND_AREA, PD_INK_SHADE_6, PD_MARK_DISC, "touch voltage, downwards"},
    };
    const double below =
        pd_legend_draw(st->svg, PD_STREET_MARGIN, top, WIDTH / 2.0 - PD_STREET_MARGIN, left, 4);
    pd_legend_draw(st->svg, WIDTH / 2.0, top, WIDTH / 2.0 - PD_STREET_MARGIN, right, 4);
    pd_svg_rect(st->svg, PD_INK_FRAME, PD_STREET_MARGIN + 11, below - 1, 22, 22);
    pd_svg_text(st->svg, PD_INK_TEXT, PD_STREET_MARGIN + 56, below + 16, PD_ANCHOR_START, 0,
                "framed: the installation under study");
}

struct pd_street_words pd_street_headline(const struct pd_assessment *a)
{
    const struct pd_scenario *const s = &a->scenario[a->along.scenario];
    const char *const section = pd_scenario_section(a, s);
    struct pd_street_words words;
    snprintf(words.text, sizeof words.text,
             "Touch voltage of the metalwork along the whole supply, with %s in section '%.100s', "
             "loads %s, supply %s V: the scenario that decides. The voltages of all nodes are in "
             "the JSON, under along.%s",
             s->fault == PD_PEN_JOINT ? "a bad PEN joint" : "the PEN open",
             pd_plain_short(section != NULL ? section : "", 60).text, pd_loads_names[s->loads],
             pd_figure_v(s->supply_v).text,
             a->study_case->earthing == PD_TT
                 ? " The charging point stands on an electrode of its own (TT) and is not drawn."
                 : "");
    return words;
}

static void draw_all(struct pd_street_drawing *st, bool *begins, double legend)
{
    for (size_t i = 0; i < st->lay->lanes; i++)
        begins[st->lay->lane[i]] = true;
    draw_transformer(st);
    for (size_t i = 0; i < st->lay->count; i++)
        if (st->lay->place[i].house && !st->lay->place[i].on_main)
            draw_bus(st, i);
    draw_lanes(st, begins);
    for (size_t i = 0; i < st->lay->count; i++)
        if (st->lay->place[i].house)
            draw_house(st, i);
    draw_own(st);
    draw_limits(st);
    pd_street_draw_labels(st);
    draw_break(st);
    draw_legend(st, legend);
    pd_svg_text(st->svg, PD_INK_NOTE, PD_STREET_MARGIN, legend + LEGEND + 22, PD_ANCHOR_START, 0,
                pd_caution_short);
}

static enum pd_status draw(FILE *out, struct pd_street_drawing *st, const char *prefix)
{
    const double legend = PD_STREET_TOP + (double)st->lay->rows * st->row + 8;
    const struct pd_street_words headline = pd_street_headline(st->a);
    const struct pd_svg_head head = {.title = "The street with the break that decides",
                                     .description = headline.text,
                                     .prefix = prefix,
                                     .width = WIDTH,
                                     .height = legend + LEGEND + FOOT,
                                     .inlined = true};
    struct pd_svg svg;
    bool *const begins = calloc(st->lay->count, sizeof *begins);
    bool *const tried = calloc(st->lay->count, sizeof *tried);
    st->labelled = calloc(st->lay->count, sizeof *st->labelled);
    st->svg = &svg;
    const bool good = begins != NULL && tried != NULL && st->labelled != NULL;
    if (good) {
        pd_street_choose_labels(st, tried);
        pd_svg_begin(&svg, out, &head);
        draw_all(st, begins, legend);
        pd_svg_end(&svg);
    }
    free(begins);
    free(tried);
    free(st->labelled);
    return !good ? PD_ERR_MEMORY : ferror(out) ? PD_ERR_FILE : PD_OK;
}

enum pd_status pd_street_svg(FILE *out, const struct pd_assessment *a, const char *prefix)
{
    struct pd_street_lay lay;
    enum pd_status status = pd_street_lay(a->study_case, PD_STREET_WIDTH, &lay);
    if (status != PD_OK)
        return status;
    struct pd_street_drawing st = {.a = a,
                                   .s = &a->scenario[a->along.scenario],
                                   .lay = &lay,
                                   .bar = lay.slot < pd_street_figured_slot ? bar_many : bar_few,
                                   .row = lay.slot < pd_street_figured_slot ? row_many : row_few,
                                   .top_v = a->study_case->limits.touch_v};
    for (size_t i = 0; i < lay.count; i++)
        if (lay.place[i].house && a->along.touch_v[i] > st.top_v)
            st.top_v = a->along.touch_v[i];
    status = draw(out, &st, prefix);
    pd_street_lay_free(&lay);
    return status;
}
