/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/svg.h"

#include <string.h>

#include "report/svg_put.h"

static void put_child(struct pd_svg *svg, const char *element, const char *id, const char *text)
{
    fprintf(svg->out, "<%s", element);
    if (id != NULL)
        fprintf(svg->out, " id=\"%s-%s\"", svg->prefix, id);
    fputc('>', svg->out);
    pd_svg_put_text(svg->out, text, strlen(text));
    fprintf(svg->out, "</%s>\n", element);
}

void pd_svg_begin(struct pd_svg *svg, FILE *out, const struct pd_svg_head *head)
{
    *svg = (struct pd_svg){
        .out = out, .prefix = head->prefix, .width = head->width, .height = head->height};
    if (!head->inlined)
        fputs("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n", out);
    fputs("<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" role=\"img\"", out);
    fprintf(out, " aria-labelledby=\"%s-title-of %s-description\"", svg->prefix, svg->prefix);
    pd_svg_put_attribute(out, "width", head->width);
    pd_svg_put_attribute(out, "height", head->height);
    fputs(" viewBox=\"0 0 ", out);
    pd_svg_put_number(out, head->width);
    fputc(' ', out);
    pd_svg_put_number(out, head->height);
    fputs(head->inlined ? "\" style=\"max-width:100%;height:auto\">\n" : "\">\n", out);
    put_child(svg, "title", "title-of", head->title);
    put_child(svg, "desc", "description", head->description);
    pd_ink_write(out, svg->prefix);
    pd_svg_rect(svg, PD_INK_PAPER, 0, 0, head->width, head->height);
}

void pd_svg_end(struct pd_svg *svg)
{
    fputs("</svg>\n", svg->out);
}

void pd_svg_group(struct pd_svg *svg, const char *label)
{
    fputs("<g>\n", svg->out);
    if (label != NULL)
        put_child(svg, "title", NULL, label);
}

void pd_svg_clip(struct pd_svg *svg, double left, double top, double width, double height)
{
    const double place[] = {left, top, width, height};
    if (!pd_svg_placed(svg, place, 4) || width < 0 || height < 0) {
        fputs("<g>\n", svg->out);
        return;
    }
    const size_t number = ++svg->clips;
    fprintf(svg->out, "<clipPath id=\"%s-clip-%zu\"><rect", svg->prefix, number);
    pd_svg_put_attribute(svg->out, "x", left);
    pd_svg_put_attribute(svg->out, "y", top);
    pd_svg_put_attribute(svg->out, "width", width);
    pd_svg_put_attribute(svg->out, "height", height);
    fprintf(svg->out, "/></clipPath>\n<g clip-path=\"url(#%s-clip-%zu)\">\n", svg->prefix, number);
}

void pd_svg_group_end(struct pd_svg *svg)
{
    fputs("</g>\n", svg->out);
}

void pd_svg_line(struct pd_svg *svg, enum pd_ink ink, double x1, double y1, double x2, double y2)
{
    const double place[] = {x1, y1, x2, y2};
    if (!pd_svg_placed(svg, place, 4))
        return;
    pd_svg_put_element(svg, "line", ink);
    pd_svg_put_attribute(svg->out, "x1", x1);
    pd_svg_put_attribute(svg->out, "y1", y1);
    pd_svg_put_attribute(svg->out, "x2", x2);
    pd_svg_put_attribute(svg->out, "y2", y2);
    fputs("/>\n", svg->out);
}

void pd_svg_rect(struct pd_svg *svg, enum pd_ink ink, double left, double top, double width,
                 double height)
{
    const double place[] = {left, top, width, height};
    if (!pd_svg_placed(svg, place, 4) || width < 0 || height < 0)
        return;
    pd_svg_put_element(svg, "rect", ink);
    pd_svg_put_attribute(svg->out, "x", left);
    pd_svg_put_attribute(svg->out, "y", top);
    pd_svg_put_attribute(svg->out, "width", width);
    pd_svg_put_attribute(svg->out, "height", height);
    fputs("/>\n", svg->out);
}

void pd_svg_circle(struct pd_svg *svg, enum pd_ink ink, double x, double y, double radius)
{
    const double place[] = {x, y, radius};
    if (!pd_svg_placed(svg, place, 3) || radius < 0)
        return;
    pd_svg_put_element(svg, "circle", ink);
    pd_svg_put_attribute(svg->out, "cx", x);
    pd_svg_put_attribute(svg->out, "cy", y);
    pd_svg_put_attribute(svg->out, "r", radius);
    fputs("/>\n", svg->out);
}

void pd_svg_polyline(struct pd_svg *svg, enum pd_ink ink, const struct pd_xy *point, size_t count)
{
    pd_svg_path(svg, ink);
    for (size_t i = 0; i < count; i++)
        pd_svg_line_to(svg, point[i].x, point[i].y);
    pd_svg_path_end(svg);
}

void pd_svg_polygon(struct pd_svg *svg, enum pd_ink ink, const struct pd_xy *corner, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const double place[] = {corner[i].x, corner[i].y};
        if (!pd_svg_placed(svg, place, 2))
            return;
    }
    pd_svg_put_element(svg, "polygon", ink);
    fputs(" points=\"", svg->out);
    for (size_t i = 0; i < count; i++)
        pd_svg_put_step(svg, i > 0 ? " " : "", corner[i].x, corner[i].y);
    fputs("\"/>\n", svg->out);
}

void pd_svg_conductor(struct pd_svg *svg, enum pd_ink ink, const struct pd_xy *point, size_t count)
{
    pd_svg_polyline(svg, PD_INK_CASING, point, count);
    pd_svg_polyline(svg, ink, point, count);
    if (ink == PD_INK_PE)
        pd_svg_polyline(svg, PD_INK_PE_STRIPE, point, count);
}

void pd_svg_mark(struct pd_svg *svg, enum pd_ink ink, enum pd_mark mark, double x, double y,
                 double size)
{
    const double r = size / 2, a = 0.35 * r; /* a: half the arm of a cross */
    const struct pd_xy square[] = {{-r, -r}, {r, -r}, {r, r}, {-r, r}};
    const struct pd_xy diamond[] = {{0, -1.2 * r}, {1.2 * r, 0}, {0, 1.2 * r}, {-1.2 * r, 0}};
    const struct pd_xy triangle[] = {{0, -1.2 * r}, {1.1 * r, 0.8 * r}, {-1.1 * r, 0.8 * r}};
    const struct pd_xy cross[] = {{-a, -r}, {a, -r}, {a, -a}, {r, -a}, {r, a},   {a, a},
                                  {a, r},   {-a, r}, {-a, a}, {-r, a}, {-r, -a}, {-a, -a}};
    const struct {
        const struct pd_xy *corner;
        size_t count;
    } shape[] = {[PD_MARK_SQUARE] = {square, 4},
                 [PD_MARK_DIAMOND] = {diamond, 4},
                 [PD_MARK_TRIANGLE] = {triangle, 3},
                 [PD_MARK_CROSS] = {cross, 12}};
    if (mark == PD_MARK_DISC) {
        pd_svg_circle(svg, ink, x, y, r);
        return;
    }
    struct pd_xy corner[12];
    for (size_t i = 0; i < shape[mark].count; i++)
        corner[i] = (struct pd_xy){x + shape[mark].corner[i].x, y + shape[mark].corner[i].y};
    pd_svg_polygon(svg, ink, corner, shape[mark].count);
}
