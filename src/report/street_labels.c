/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/figure.h"
#include "report/plain.h"
#include "report/street_draw.h"

const double pd_street_named_slot = 64, pd_street_figured_slot = 46;
static const double label_apart = 44;
/* How many of the worst houses get a figure where not all have room. */
enum { WORST_LABELLED = 24 };

static void draw_label(const struct pd_street_drawing *st, size_t node)
{
    const struct pd_street_place *const place = &st->lay->place[node];
    const bool own = node == st->a->study_case->installation;
    const double volts = st->a->along.touch_v[node], x = pd_street_house_x(place);
    const double y = pd_street_lane_y(st, place) + PD_STREET_BAR + st->bar + 15;
    const struct pd_figure figure = pd_figure_v(volts);
    pd_svg_label(st->svg,
                 own && st->lay->slot < pd_street_figured_slot ? PD_INK_STRONG : PD_INK_NOTE, x, y,
                 PD_ANCHOR_MIDDLE, isfinite(volts) ? figure.text : "?");
    if (st->lay->slot >= pd_street_named_slot || own) {
        const size_t characters = (size_t)(fmax(st->lay->slot, 70) / 7.5);
        pd_svg_label(st->svg, PD_INK_NOTE, x, y + 16, PD_ANCHOR_MIDDLE,
                     pd_plain_short(st->a->study_case->network->node[node].name,
                                    characters < 5 ? 5 : characters)
                         .text);
    }
}

/* Whether a label at a house would stand on one that is there. */
static bool is_free(const struct pd_street_drawing *st, size_t node)
{
    const struct pd_street_place *const place = &st->lay->place[node];
    for (size_t i = 0; i < st->lay->count; i++)
        if (st->labelled[i] && st->lay->place[i].row == place->row &&
            fabs(pd_street_house_x(&st->lay->place[i]) - pd_street_house_x(place)) < label_apart)
            return false;
    return true;
}

/* The next worst house without a label that has room for one; PD_NONE. */
static size_t next_worst(const struct pd_street_drawing *st, const bool *tried)
{
    size_t worst = PD_NONE;
    for (size_t i = 0; i < st->lay->count; i++)
        if (st->lay->place[i].house && !tried[i] && isfinite(st->a->along.touch_v[i]) &&
            (worst == PD_NONE || pd_exceeds(st->a->along.touch_v[i], st->a->along.touch_v[worst])))
            worst = i;
    return worst;
}

void pd_street_choose_labels(struct pd_street_drawing *st, bool *tried)
{
    const size_t own = st->a->study_case->installation;
    const bool all = st->lay->slot >= pd_street_figured_slot;
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

void pd_street_draw_labels(const struct pd_street_drawing *st)
{
    for (size_t i = 0; i < st->lay->count; i++)
        if (st->labelled[i])
            draw_label(st, i);
}
