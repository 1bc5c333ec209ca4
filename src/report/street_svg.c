/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "report/cautions.h"
#include "report/figure.h"
#include "report/plain.h"
#include "report/plot.h"
#include "report/scenario.h"
#include "report/street.h"

/* Of a row, from its top: where its lane runs, its houses' marks, and the bars below them. */
enum {
    MARGIN = 22,
    WIDTH = PD_STREET_WIDTH + 2 * MARGIN,
    LANE = 46,
    HOUSE = 28,
    BAR = 40,
    TOP = 12,
    LEGEND = 5 * 30,
    FOOT = 44
};
/* From which distance between houses each has its name, or its figure. */
static const double named_slot = 64, figured_slot = 46, label_apart = 44;
/* How many of the worst houses get a figure where not all have room. */
enum { WORST_LABELLED = 24 };

/* Of a row: the longest bar, and the next row, with room between for a figure and a name; less of
 * both where there are many houses. */
static const double bar_few = 64, row_few = 198, bar_many = 46, row_many = 146;

struct street {
    double bar, row; /* pixels */
    const struct pd_assessment *a;
    const struct pd_scenario *s;
    const struct pd_street_lay *lay;
    struct pd_svg *svg;
    double top_v;   /* of the longest bar */
    bool *labelled; /* [count] */
};

static const char *name_of(const struct street *st, size_t node)
{
    return st->a->study_case->network->node[node].name;
}

static double lane_y(const struct street *st, const struct pd_street_place *place)
{
    return TOP + (double)place->row * st->row + LANE;
}

static double house_x(const struct pd_street_place *place)
{
    return MARGIN + (place->on_main ? place->house_x : place->x);
}

static bool is_beyond(const struct street *st, size_t node)
{
    return st->s->section != PD_NONE &&
           pd_network_downstream(st->a->study_case->network, st->s->section, node);
}

/* The PEN beyond the break drifts: broken lines. */
static enum pd_ink pen_ink(const struct street *st, size_t node)
{
    return is_beyond(st, node) ? PD_INK_GUIDE : PD_INK_OUTLINE;
}

static void draw_transformer(const struct street *st)
{
    const double y = lane_y(st, &st->lay->place[0]), x = MARGIN + st->lay->place[0].x;
    pd_svg_line(st->svg, PD_INK_OUTLINE, x - 26, y, x, y);
    pd_svg_circle(st->svg, PD_INK_OUTLINE, x - 36, y, 10);
    pd_svg_circle(st->svg, PD_INK_OUTLINE, x - 48, y, 10);
}

/* Where on its way from the joint before a section is broken, should it be: shortly before its end.
 */
static double break_x(const struct street *st, size_t node)
{
    const size_t parent = st->a->study_case->network->node[node].parent;
    const struct pd_street_place *const a = &st->lay->place[parent], *const b =
                                                                         &st->lay->place[node];
    const bool near = a->row == b->row && a->on_main && a->x < b->x;
    return b->x - (near ? fmin(24, (b->x - a->x) / 2) : 20);
}

/* From one joint to the next; folded, the line leaves the row at its end and comes in again at the
 * head of the next. */
static void draw_run(const struct street *st, size_t from, size_t to)
{
    const struct pd_street_place *const a = &st->lay->place[from], *const b = &st->lay->place[to];
    const enum pd_ink ink = pen_ink(st, to), before = pen_ink(st, from);
    const double broken = MARGIN + break_x(st, to);
    if (a->row == b->row) {
        pd_svg_line(st->svg, before, MARGIN + a->x, lane_y(st, a), broken, lane_y(st, a));
    } else {
        pd_svg_line(st->svg, before, MARGIN + a->x, lane_y(st, a), WIDTH - MARGIN / 2.0,
                    lane_y(st, a));
        pd_svg_line(st->svg, before, MARGIN / 2.0, lane_y(st, b), broken, lane_y(st, b));
    }
    pd_svg_line(st->svg, ink, broken, lane_y(st, b), MARGIN + b->x, lane_y(st, b));
}

/* Where a lane comes from, in words: a line across other rows would be lost in them. */
static void draw_lane_start(const struct street *st, size_t node)
{
    const struct pd_street_place *const place = &st->lay->place[node];
    const double x = MARGIN + place->x, y = lane_y(st, place);
    char text[96];
    snprintf(text, sizeof text, "from %.60s",
             pd_plain_short(name_of(st, st->a->study_case->network->node[node].parent), 20).text);
    pd_svg_line(st->svg, pen_ink(st, node), x - 44, y, x, y);
    pd_svg_mark(st->svg, PD_INK_MARK_HOLLOW, PD_MARK_TRIANGLE, x - 44, y, 9);
    pd_svg_label(st->svg, PD_INK_NOTE, x - 50, y - 12, PD_ANCHOR_START, text);
}

static void draw_lanes(const struct street *st, const bool *begins)
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
            pd_svg_rect(st->svg, PD_INK_MARK, MARGIN + st->lay->place[i].x - 3,
                        lane_y(st, &st->lay->place[i]) - 3, 6, 6);
}

enum standing { WITHIN, OVER, UNKNOWN };
static enum standing stands(const struct street *st, size_t node)
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

static double bar_length(const struct street *st, double volts)
{
    return st->top_v > 0 ? st->bar * volts / st->top_v : 0;
}

static void draw_mark(const struct street *st, size_t node, double x, double y)
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

static void draw_bar(const struct street *st, size_t node, double x, double y)
{
    const double volts = st->a->along.touch_v[node];
    const double width = fmax(4, fmin(18, 0.6 * st->lay->slot));
    if (isfinite(volts))
        pd_svg_rect(st->svg, stands(st, node) == OVER ? PD_INK_SHADE_6 : PD_INK_SHADE_3,
                    x - width / 2, y, width, bar_length(st, volts));
}

static void draw_house(const struct street *st, size_t node)
{
    const struct pd_street_place *const place = &st->lay->place[node];
    const double x = house_x(place), lane = lane_y(st, place);
    char label[200];
    snprintf(label, sizeof label, "%.120s: %s V", pd_plain_short(name_of(st, node), 60).text,
             pd_figure_v(st->a->along.touch_v[node]).text);
    pd_svg_group(st->svg, label);
    pd_svg_line(st->svg, pen_ink(st, node), x, lane, x, lane + HOUSE);
    draw_bar(st, node, x, lane + BAR);
    draw_mark(st, node, x, lane + HOUSE);
    pd_svg_group_end(st->svg);
}

static void draw_own(const struct street *st)
{
    const struct pd_street_place *const place = &st->lay->place[st->a->study_case->installation];
    if (place->house)
        pd_svg_rect(st->svg, PD_INK_FRAME, house_x(place) - 11, lane_y(st, place) + HOUSE - 11, 22,
                    22);
}

/* Houses of one joint share a line along the lane. */
static void draw_bus(const struct street *st, size_t node)
{
    const struct pd_street_place *const place = &st->lay->place[node];
    const struct pd_street_place *const joint = &st->lay->place[place->joint];
    const double from = joint->row == place->row ? joint->x : 0;
    pd_svg_line(st->svg, pen_ink(st, place->joint), MARGIN + from, lane_y(st, place),
                house_x(place), lane_y(st, place));
}

static void draw_limits(const struct street *st)
{
    const double limit_v = st->a->study_case->limits.touch_v;
    if (!(limit_v < st->top_v))
        return;
    for (size_t row = 0; row < st->lay->rows; row++) {
        const struct pd_street_place first = {.row = row};
        const double y = lane_y(st, &first) + BAR + bar_length(st, limit_v);
        double left = WIDTH, right = 0;
        for (size_t i = 0; i < st->lay->count; i++)
            if (st->lay->place[i].house && st->lay->place[i].row == row) {
                left = fmin(left, house_x(&st->lay->place[i]) - 22);
                right = fmax(right, house_x(&st->lay->place[i]) + 22);
            }
        if (left < right)
            pd_svg_line(st->svg, PD_INK_LIMIT, left, y, right, y);
    }
}

static void draw_label(const struct street *st, size_t node)
{
    const struct pd_street_place *const place = &st->lay->place[node];
    const bool own = node == st->a->study_case->installation;
    const double volts = st->a->along.touch_v[node], x = house_x(place);
    const double y = lane_y(st, place) + BAR + st->bar + 15;
    const struct pd_figure figure = pd_figure_v(volts);
    pd_svg_label(st->svg, own && st->lay->slot < figured_slot ? PD_INK_STRONG : PD_INK_NOTE, x, y,
                 PD_ANCHOR_MIDDLE, isfinite(volts) ? figure.text : "?");
    if (st->lay->slot >= named_slot || own) {
        const size_t characters = (size_t)(fmax(st->lay->slot, 70) / 7.5);
        pd_svg_label(st->svg, PD_INK_NOTE, x, y + 16, PD_ANCHOR_MIDDLE,
                     pd_plain_short(name_of(st, node), characters < 5 ? 5 : characters).text);
    }
}

/* Whether a label at a house would stand on one that is there. */
static bool is_free(const struct street *st, size_t node)
{
    const struct pd_street_place *const place = &st->lay->place[node];
    for (size_t i = 0; i < st->lay->count; i++)
        if (st->labelled[i] && st->lay->place[i].row == place->row &&
            fabs(house_x(&st->lay->place[i]) - house_x(place)) < label_apart)
            return false;
    return true;
}

/* The next worst house without a label that has room for one; PD_NONE. */
static size_t next_worst(const struct street *st, const bool *tried)
{
    size_t worst = PD_NONE;
    for (size_t i = 0; i < st->lay->count; i++)
        if (st->lay->place[i].house && !tried[i] && isfinite(st->a->along.touch_v[i]) &&
            (worst == PD_NONE || pd_exceeds(st->a->along.touch_v[i], st->a->along.touch_v[worst])))
            worst = i;
    return worst;
}

static void choose_labels(struct street *st, bool *tried)
{
    const size_t own = st->a->study_case->installation;
    const bool all = st->lay->slot >= figured_slot;
    st->labelled[own] = tried[own] = st->lay->place[own].house;
    for (size_t i = 0; i < st->lay->count && all; i++)
        st->labelled[i] = st->lay->place[i].house;
    for (size_t found = 0, looked = 0; !all && found < WORST_LABELLED && looked < 400; looked++) {
        const size_t worst = next_worst(st, tried);
        if (worst == PD_NONE)
            return;
        tried[worst] = true;
        st->labelled[worst] = is_free(st, worst);
        found += st->labelled[worst];
    }
}

/* Over the section that is broken, wherever it is drawn. */
static void draw_break(const struct street *st)
{
    const struct pd_network *const network = st->a->study_case->network;
    const size_t node = st->s->section;
    const struct pd_street_place *const place = &st->lay->place[node];
    if (node == PD_NONE || !place->shown)
        return;
    struct pd_xy at = {house_x(place), lane_y(st, place) + HOUSE / 2.0};
    if (place->on_main) {
        at = (struct pd_xy){MARGIN + break_x(st, node), lane_y(st, place)};
    }
    char text[160];
    snprintf(text, sizeof text, "%s: %.100s",
             st->s->fault == PD_PEN_JOINT ? "bad PEN joint" : "PEN open",
             pd_plain_short(network->node[node].section, 30).text);
    pd_svg_mark(st->svg, PD_INK_MARK_ALERT, PD_MARK_CROSS, at.x, at.y, 18);
    const bool right = at.x > WIDTH / 2.0;
    pd_svg_label(st->svg, PD_INK_ALERT, at.x + (right ? 8 : -8), lane_y(st, place) - 16,
                 right ? PD_ANCHOR_END : PD_ANCHOR_START, text);
}

static void draw_legend(const struct street *st, double top)
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
    const double below = pd_legend_draw(st->svg, MARGIN, top, WIDTH / 2.0 - MARGIN, left, 4);
    pd_legend_draw(st->svg, WIDTH / 2.0, top, WIDTH / 2.0 - MARGIN, right, 4);
    pd_svg_rect(st->svg, PD_INK_FRAME, MARGIN + 11, below - 1, 22, 22);
    pd_svg_text(st->svg, PD_INK_TEXT, MARGIN + 56, below + 16, PD_ANCHOR_START, 0,
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
             "the JSON, under along.",
             s->fault == PD_PEN_JOINT ? "a bad PEN joint" : "the PEN open",
             pd_plain_short(section != NULL ? section : "", 60).text, pd_loads_names[s->loads],
             pd_figure_v(s->supply_v).text);
    return words;
}

static void draw_all(struct street *st, bool *begins, double legend)
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
    for (size_t i = 0; i < st->lay->count; i++)
        if (st->labelled[i])
            draw_label(st, i);
    draw_break(st);
    draw_legend(st, legend);
    pd_svg_text(st->svg, PD_INK_NOTE, MARGIN, legend + LEGEND + 22, PD_ANCHOR_START, 0,
                pd_caution_short);
}

static enum pd_status draw(FILE *out, struct street *st, const char *prefix)
{
    const double legend = TOP + (double)st->lay->rows * st->row + 8;
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
        choose_labels(st, tried);
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
    struct street st = {.a = a,
                        .s = &a->scenario[a->along.scenario],
                        .lay = &lay,
                        .bar = lay.slot < figured_slot ? bar_many : bar_few,
                        .row = lay.slot < figured_slot ? row_many : row_few,
                        .top_v = a->study_case->limits.touch_v};
    for (size_t i = 0; i < lay.count; i++)
        if (lay.place[i].house && a->along.touch_v[i] > st.top_v)
            st.top_v = a->along.touch_v[i];
    status = draw(out, &st, prefix);
    pd_street_lay_free(&lay);
    return status;
}
