/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/foot.h"

#include <math.h>

#include "report/cautions.h"

enum { MARGIN = 28, GAP = 36, HEAD = 58, BELOW = 14, BETWEEN = 4 };

static double column_width(double width)
{
    return (width - 2 * MARGIN - GAP) / 2;
}

/* Cautions first to last - 1 one under the other; where svg is NULL only their height. */
static double column(struct pd_svg *svg, size_t first, size_t last, struct pd_xy at, double width)
{
    double y = at.y;
    for (size_t i = first; i < last; i++) {
        if (svg != NULL)
            pd_svg_paragraph(svg, PD_INK_NOTE, at.x, y, width, pd_cautions[i]);
        y += pd_svg_paragraph_height(PD_INK_NOTE, width, pd_cautions[i]) + BETWEEN;
    }
    return y - at.y;
}

double pd_foot_height(double width)
{
    const double own = column_width(width);
    const struct pd_xy nowhere = {0, 0};
    return HEAD + BELOW +
           fmax(column(NULL, 0, PD_CAUTIONS / 2, nowhere, own),
                column(NULL, PD_CAUTIONS / 2, PD_CAUTIONS, nowhere, own));
}

void pd_foot_draw(struct pd_svg *svg, double top)
{
    const double own = column_width(svg->width);
    pd_svg_line(svg, PD_INK_FRAME, MARGIN, top, svg->width - MARGIN, top);
    pd_svg_text(svg, PD_INK_ALERT, MARGIN, top + 28, PD_ANCHOR_START, 0, pd_caution_short);
    column(svg, 0, PD_CAUTIONS / 2, (struct pd_xy){MARGIN, top + HEAD}, own);
    column(svg, PD_CAUTIONS / 2, PD_CAUTIONS, (struct pd_xy){MARGIN + own + GAP, top + HEAD}, own);
}
