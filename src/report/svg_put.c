/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/svg_put.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "table/utf8.h"

static bool placed(double value)
{
    return isfinite(value) && fabs(value) < PD_SVG_FAR;
}

bool pd_svg_placed(struct pd_svg *svg, const double *value, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!placed(value[i])) {
            svg->left_out++;
            return false;
        }
    return true;
}

/* At most two decimals, no trailing zeros. By whole numbers: printf's point follows the locale. */
void pd_svg_put_number(FILE *out, double value)
{
    const long hundredths = lround(value * 100);
    const long size = labs(hundredths), rest = size % 100;
    fprintf(out, "%s%ld", hundredths < 0 ? "-" : "", size / 100);
    if (rest % 10 != 0)
        fprintf(out, ".%02ld", rest);
    else if (rest != 0)
        fprintf(out, ".%ld", rest / 10);
}

void pd_svg_put_attribute(FILE *out, const char *name, double value)
{
    fprintf(out, " %s=\"", name);
    pd_svg_put_number(out, value);
    fputc('"', out);
}

static void put_escaped(FILE *out, const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++)
        switch (text[i]) {
        case '&':
            fputs("&amp;", out);
            break;
        case '<':
            fputs("&lt;", out);
            break;
        case '>':
            fputs("&gt;", out);
            break;
        case '"':
            fputs("&quot;", out);
            break;
        case '\'':
            fputs("&#39;", out);
            break;
        default:
            fputc(text[i], out);
        }
}

/* U+FFFE and U+FFFF are UTF-8 but no characters of XML 1.0. */
static bool not_xml(const char *character, size_t length)
{
    return length == 3 && memcmp(character, "\xef\xbf", 2) == 0 &&
           (unsigned char)character[2] >= 0xbe;
}

/* Character by character: what is wrong, or not for XML, becomes '?'. */
void pd_svg_put_text(FILE *out, const char *text, size_t length)
{
    struct pd_utf8 state = {0};
    size_t begin = 0;
    for (size_t i = 0; i < length; i++) {
        const unsigned char byte = (unsigned char)text[i];
        if (!pd_utf8_step(&state, byte) || pd_utf8_control(&state, byte)) {
            fputc('?', out);
            state = (struct pd_utf8){0};
            begin = i + 1;
        } else if (state.missing == 0) {
            if (not_xml(text + begin, i + 1 - begin))
                fputc('?', out);
            else
                put_escaped(out, text + begin, i + 1 - begin);
            begin = i + 1;
        }
    }
    if (state.missing > 0)
        fputc('?', out);
}

void pd_svg_put_element(struct pd_svg *svg, const char *element, enum pd_ink ink)
{
    fprintf(svg->out, "<%s class=\"%s-%s\"", element, svg->prefix, pd_ink_name(ink));
}

void pd_svg_put_step(struct pd_svg *svg, const char *step, double x, double y)
{
    fputs(step, svg->out);
    pd_svg_put_number(svg->out, x);
    fputc(' ', svg->out);
    pd_svg_put_number(svg->out, y);
}
