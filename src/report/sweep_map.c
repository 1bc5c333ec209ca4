/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/facets.h"
#include "report/sweep_draw.h"
#include "report/ticks.h"

bool pd_sweep_has_edge(const struct pd_sweep *sweep)
{
    size_t seen = 0;
    for (size_t i = 0; i < sweep->count; i++)
        seen += sweep->point[i].touch == PD_OVER && !(sweep->point[i].unseen_v > 0);
    return seen > 0 && sweep->unseen > 0;
}

double pd_sweep_edge_value(const struct pd_sweep_point *point)
{
    return point->touch == PD_UNKNOWN ? (double)NAN : (double)(point->unseen_v > 0);
}

void pd_sweep_bands(const struct pd_sweep *sweep, double edge[PD_SWEEP_BANDS + 1], size_t *count)
{
    const double top =
        sweep->worst != PD_NONE ? fmax(1, sweep->point[sweep->worst].touch_v) : (double)NAN;
    const struct pd_ticks ticks = pd_ticks_linear(0, top, PD_SWEEP_BANDS);
    *count = ticks.count;
    for (size_t i = 0; i < ticks.count; i++)
        edge[i] = ticks.at[i] + 0.0; /* no "-0" */
    if (ticks.count > 0)
        edge[ticks.count] = INFINITY; /* what is above the last round number */
}

double pd_sweep_map_legend(struct pd_svg *svg, const struct pd_sweep *sweep,
                           const struct pd_sweep_place *place, bool marked)
{
    double edge[PD_SWEEP_BANDS + 1];
    char text[PD_SWEEP_BANDS][64];
    struct pd_legend row[PD_SWEEP_BANDS + 4];
    size_t bands, count = 0;
    pd_sweep_bands(sweep, edge, &bands);
    row[count++] =
        (struct pd_legend){PD_LEGEND_LINE, PD_INK_LIMIT, PD_MARK_DISC, "touch-voltage limit"};
    if (marked)
        row[count++] = (struct pd_legend){PD_LEGEND_MARK, PD_INK_MARK_HOLLOW, PD_MARK_SQUARE,
                                          "as the tables have it"};
    if (pd_sweep_has_edge(sweep))
        row[count++] = (struct pd_legend){PD_LEGEND_AREA, PD_INK_AREA_1, PD_MARK_DISC,
                                          "over it in some break, and nothing lets go in time"};
    for (size_t i = bands; i-- > 0;) {
        if (isinf(edge[i + 1]))
            snprintf(text[i], sizeof text[i], "%.4g V and more", edge[i]);
        else
            snprintf(text[i], sizeof text[i], "%.4g to %.4g V", edge[i], edge[i + 1]);
        row[count++] = (struct pd_legend){PD_LEGEND_AREA, (enum pd_ink)(PD_INK_SHADE_0 + i),
                                          PD_MARK_DISC, text[i]};
    }
    return pd_legend_draw(svg, place->legend_left, place->legend_top, place->legend_width, row,
                          count);
}

/* At most so many cells either way: a picture shows no more. */
enum { CELLS = 60 };

static size_t cells_of(const struct pd_vary *vary)
{
    return vary->count - 1 < CELLS ? vary->count - 1 : CELLS;
}

/* Corner (i, j) of the cells. */
static struct pd_facet_corner corner_at(const struct pd_sweep *sweep, const struct pd_plot *plot,
                                        size_t i, size_t j, bool edge)
{
    const struct pd_vary *const x = &sweep->settings.vary[0], *const y = &sweep->settings.vary[1];
    const size_t column = i * (x->count - 1) / cells_of(x), row = j * (y->count - 1) / cells_of(y);
    const struct pd_sweep_point *const point = &sweep->point[column * y->count + row];
    return (struct pd_facet_corner){pd_plot_at(plot, point->value[0], point->value[1]),
                                    edge                         ? pd_sweep_edge_value(point)
                                    : point->touch == PD_UNKNOWN ? (double)NAN
                                                                 : point->touch_v};
}

/* A cell in four triangles about its middle, so that no diagonal is preferred. */
static enum pd_status add_cell(struct pd_facets *contour, const struct pd_facet_corner c[4])
{
    const struct pd_facet_corner middle = {
        {(c[0].at.x + c[2].at.x) / 2, (c[0].at.y + c[2].at.y) / 2},
        (c[0].value + c[1].value + c[2].value + c[3].value) / 4};
    enum pd_status status = PD_OK;
    for (int k = 0; k < 4 && status == PD_OK; k++)
        status = pd_facets_add(contour, &c[k], &c[(k + 1) % 4], &middle);
    return status;
}

static enum pd_status make_contour(const struct pd_sweep *sweep, const struct pd_plot *plot,
                                   bool edge, struct pd_facets *contour)
{
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < cells_of(&sweep->settings.vary[0]); i++)
        for (size_t j = 0; j < cells_of(&sweep->settings.vary[1]) && status == PD_OK; j++) {
            const struct pd_facet_corner c[4] = {
                corner_at(sweep, plot, i, j, edge), corner_at(sweep, plot, i + 1, j, edge),
                corner_at(sweep, plot, i + 1, j + 1, edge), corner_at(sweep, plot, i, j + 1, edge)};
            status = add_cell(contour, c);
        }
    return status;
}

static struct pd_axis axis_of(const struct pd_sweep *sweep, size_t i, char title[260])
{
    const struct pd_vary *const vary = &sweep->settings.vary[i];
    const char *const unit = pd_vary_unit(vary);
    snprintf(title, 260, "%s%s%s", pd_sweep_value_name(sweep, i).text, unit[0] != '\0' ? ", " : "",
             unit);
    return (struct pd_axis){title, fmin(vary->from, vary->to), fmax(vary->from, vary->to),
                            vary->log, 0};
}

enum pd_status pd_sweep_draw_map(struct pd_svg *svg, const struct pd_sweep *sweep,
                                 const struct pd_sweep_place *place, double *below)
{
    char titles[2][260];
    const struct pd_axis x = axis_of(sweep, 0, titles[0]), y = axis_of(sweep, 1, titles[1]);
    struct pd_facets contour = {0}, unseen = {0};
    double edge[PD_SWEEP_BANDS + 1];
    size_t bands;
    struct pd_plot plot;
    pd_plot_begin(&plot, svg, place->box, &x, &y);
    enum pd_status status = make_contour(sweep, &plot, false, &contour);
    pd_sweep_bands(sweep, edge, &bands);
    for (size_t i = 0; i < bands && status == PD_OK; i++)
        pd_facets_fill(svg, (enum pd_ink)(PD_INK_SHADE_0 + i), &contour, edge[i], edge[i + 1]);
    if (status == PD_OK)
        status = pd_facets_line(svg, PD_INK_LIMIT, &contour, sweep->study_case->limits.touch_v);
    if (status == PD_OK && pd_sweep_has_edge(sweep))
        status = make_contour(sweep, &plot, true, &unseen);
    pd_facets_fill(svg, PD_INK_AREA_1, &unseen, 0.5, INFINITY);
    if (status == PD_OK)
        status = pd_facets_line(svg, PD_INK_EDGE, &unseen, 0.5);
    const bool marked = pd_plot_mark(&plot, PD_INK_MARK_HOLLOW, PD_MARK_SQUARE,
                                     sweep->present.value[0], sweep->present.value[1], 15);
    pd_plot_end(&plot);
    *below = pd_sweep_map_legend(svg, sweep, place, marked);
    pd_facets_free(&contour);
    pd_facets_free(&unseen);
    return status;
}
