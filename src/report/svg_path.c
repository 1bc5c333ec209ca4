/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/svg_put.h"

void pd_svg_path(struct pd_svg *svg, enum pd_ink ink)
{
    pd_svg_put_element(svg, "path", ink);
    fputs(" d=\"", svg->out);
    svg->pen_down = false;
}

/* Lifts the pen where there is no place to go to. */
static bool goes_to(struct pd_svg *svg, double x, double y)
{
    const double place[] = {x, y};
    const bool was_down = svg->pen_down;
    svg->pen_down = pd_svg_placed(svg, place, 2);
    if (svg->pen_down && !was_down)
        pd_svg_put_step(svg, "M", x, y);
    return svg->pen_down && was_down;
}

void pd_svg_move_to(struct pd_svg *svg, double x, double y)
{
    svg->pen_down = false;
    goes_to(svg, x, y);
}

void pd_svg_line_to(struct pd_svg *svg, double x, double y)
{
    if (goes_to(svg, x, y))
        pd_svg_put_step(svg, "L", x, y);
}

void pd_svg_arc_to(struct pd_svg *svg, double radius, bool large, bool sweep, double x, double y)
{
    if (!isfinite(radius) || !(radius < PD_SVG_FAR))
        svg->pen_down = false;
    if (!goes_to(svg, x, y))
        return;
    pd_svg_put_step(svg, "A", radius, radius);
    fprintf(svg->out, " 0 %d %d ", large, sweep);
    pd_svg_put_step(svg, "", x, y);
}

void pd_svg_close(struct pd_svg *svg)
{
    if (svg->pen_down)
        fputc('Z', svg->out);
}

void pd_svg_path_end(struct pd_svg *svg)
{
    fputs("\"/>\n", svg->out);
}
