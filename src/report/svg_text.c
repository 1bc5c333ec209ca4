/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "report/svg_put.h"

/* `over` is an ink whose declarations go before those of `ink`, or `ink` itself. */
static void put_line_of_text(struct pd_svg *svg, enum pd_ink ink, enum pd_ink over, struct pd_xy at,
                             enum pd_anchor anchor, double turn_deg, const char *text,
                             size_t length)
{
    static const char *const anchors[] = {
        [PD_ANCHOR_START] = "", [PD_ANCHOR_MIDDLE] = "middle", [PD_ANCHOR_END] = "end"};
    const double place[] = {at.x, at.y, turn_deg};
    if (!pd_svg_placed(svg, place, 3))
        return;
    if (over == ink)
        pd_svg_put_element(svg, "text", ink);
    else
        fprintf(svg->out, "<text aria-hidden=\"true\" class=\"%s-%s %s-%s\"", svg->prefix,
                pd_ink_name(ink), svg->prefix, pd_ink_name(over));
    pd_svg_put_attribute(svg->out, "x", at.x);
    pd_svg_put_attribute(svg->out, "y", at.y);
    if (anchor != PD_ANCHOR_START)
        fprintf(svg->out, " text-anchor=\"%s\"", anchors[anchor]);
    if (turn_deg != 0) {
        fputs(" transform=\"rotate(", svg->out);
        pd_svg_put_number(svg->out, turn_deg);
        pd_svg_put_step(svg, " ", at.x, at.y);
        fputs(")\"", svg->out);
    }
    fputc('>', svg->out);
    pd_svg_put_text(svg->out, text, length);
    fputs("</text>\n", svg->out);
}

void pd_svg_text(struct pd_svg *svg, enum pd_ink ink, double x, double y, enum pd_anchor anchor,
                 double turn_deg, const char *text)
{
    put_line_of_text(svg, ink, ink, (struct pd_xy){x, y}, anchor, turn_deg, text, strlen(text));
}

/* Twice: renderers differ on whether a text's stroke goes over or under its filling. */
void pd_svg_label(struct pd_svg *svg, enum pd_ink ink, double x, double y, enum pd_anchor anchor,
                  const char *text)
{
    const struct pd_xy at = {x, y};
    put_line_of_text(svg, ink, PD_INK_HALO, at, anchor, 0, text, strlen(text));
    pd_svg_text(svg, ink, x, y, anchor, 0, text);
}

static double leading(enum pd_ink ink)
{
    return 1.35 * pd_ink_size(ink);
}

/* A figure stays with its unit: "253.0 V" is not broken. */
static bool keeps_together(const char *text, size_t blank)
{
    return blank > 0 && text[blank] == ' ' && text[blank - 1] >= '0' && text[blank - 1] <= '9' &&
           strcspn(text + blank + 1, " ") <= 2;
}

/* How many bytes of text go on a line of so many characters: whole words, at least one. */
static size_t line_length(const char *text, size_t characters)
{
    size_t length = 0, count = 0;
    for (size_t at = 0;; at++) {
        if ((text[at] == ' ' && !keeps_together(text, at)) || text[at] == '\0') {
            if (length > 0 && count > characters)
                return length;
            length = at;
        }
        if (text[at] == '\0')
            return length;
        count += ((unsigned char)text[at] & 0xc0) != 0x80;
    }
}

/* Writes the lines, or where svg is NULL only counts them. */
static size_t paragraph_lines(struct pd_svg *svg, enum pd_ink ink, struct pd_xy at, double width,
                              const char *text)
{
    const double fits = floor(width / pd_ink_advance(ink));
    const size_t characters = fits >= 1 ? (size_t)fits : 1;
    size_t lines = 0;
    text += strspn(text, " ");
    while (*text != '\0') {
        const size_t length = line_length(text, characters);
        if (svg != NULL)
            put_line_of_text(svg, ink, ink, at, PD_ANCHOR_START, 0, text, length);
        at.y += leading(ink);
        lines++;
        text += length;
        text += strspn(text, " ");
    }
    return lines;
}

double pd_svg_paragraph(struct pd_svg *svg, enum pd_ink ink, double x, double y, double width,
                        const char *text)
{
    return y + leading(ink) * (double)paragraph_lines(svg, ink, (struct pd_xy){x, y}, width, text);
}

double pd_svg_paragraph_height(enum pd_ink ink, double width, const char *text)
{
    return leading(ink) * (double)paragraph_lines(NULL, ink, (struct pd_xy){0, 0}, width, text);
}
