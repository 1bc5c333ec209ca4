/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/ink.h"

#include <stdbool.h>
#include <stddef.h>

/* The declarations of an ink on paper and, where they differ, on a dark screen. '@' stands for the
 * prefix. Renderers that know no media queries keep to paper. */
struct row {
    const char *name, *light, *dark;
    double size; /* of text, pixels */
    bool bold;
};

#define CURVE "fill:none;stroke-width:3;stroke-linejoin:round;"
#define CONDUCTOR "fill:none;stroke-width:5;"
#define TEXT "font-family:sans-serif;"

static const struct row rows[PD_INKS] = {
    [PD_INK_PAPER] = {.name = "paper", .light = "fill:#ffffff", .dark = "fill:#15191f"},
    [PD_INK_FRAME] = {.name = "frame",
                      .light = "fill:none;stroke:#27313d;stroke-width:1.5",
                      .dark = "stroke:#c9d1da"},
    [PD_INK_GRID] = {.name = "grid",
                     .light = "fill:none;stroke:#dce1e7;stroke-width:1",
                     .dark = "stroke:#303843"},
    [PD_INK_GUIDE] = {.name = "guide",
                      .light = "fill:none;stroke:#5a6674;stroke-width:1.5;stroke-dasharray:2 4",
                      .dark = "stroke:#a3afbd"},
    [PD_INK_OUTLINE] = {.name = "outline",
                        .light = "fill:none;stroke:#27313d;stroke-width:2;stroke-linejoin:round",
                        .dark = "stroke:#dde4ec"},
    [PD_INK_LIMIT] = {.name = "limit",
                      .light = "fill:none;stroke:#a01324;stroke-width:3;stroke-dasharray:14 6",
                      .dark = "stroke:#ff8b8f"},
    [PD_INK_CURVE_1] = {.name = "curve-1",
                        .light = CURVE "stroke:#123f7a",
                        .dark = "stroke:#8fbdff"},
    [PD_INK_CURVE_2] = {.name = "curve-2",
                        .light = CURVE "stroke:#b35900;stroke-dasharray:10 5",
                        .dark = "stroke:#ffb25c"},
    [PD_INK_CURVE_3] = {.name = "curve-3",
                        .light = CURVE "stroke:#00695f;stroke-dasharray:2.5 4.5",
                        .dark = "stroke:#5fd6c6"},
    [PD_INK_CURVE_4] = {.name = "curve-4",
                        .light = CURVE "stroke:#6b2f86;stroke-dasharray:14 4 2.5 4",
                        .dark = "stroke:#d9a5f2"},
    [PD_INK_CURVE_5] = {.name = "curve-5",
                        .light = CURVE "stroke:#4a5561;stroke-dasharray:20 6",
                        .dark = "stroke:#b4bfcb"},
    [PD_INK_CURVE_6] = {.name = "curve-6",
                        .light = CURVE "stroke:#96005e;stroke-dasharray:6 3 2.5 3 2.5 3",
                        .dark = "stroke:#ff9dd2"},
    [PD_INK_AREA_1] = {.name = "area-1", .light = "fill:url(#@-rising);stroke:none"},
    [PD_INK_AREA_2] = {.name = "area-2", .light = "fill:url(#@-falling);stroke:none"},
    [PD_INK_AREA_3] = {.name = "area-3", .light = "fill:url(#@-dotted);stroke:none"},
    [PD_INK_AREA_4] = {.name = "area-4",
                       .light = "fill:#eef2f6;stroke:none",
                       .dark = "fill:#222932"},
    [PD_INK_EDGE] = {.name = "edge",
                     .light = "fill:none;stroke:#7c0e1c;stroke-width:2.5;stroke-linejoin:round",
                     .dark = "stroke:#ffa9ab"},
    [PD_INK_MARK] = {.name = "mark",
                     .light = "fill:#123f7a;stroke:#ffffff;stroke-width:1.5",
                     .dark = "fill:#8fbdff;stroke:#15191f"},
    [PD_INK_MARK_HOLLOW] = {.name = "mark-hollow",
                            .light = "fill:#ffffff;stroke:#27313d;stroke-width:2",
                            .dark = "fill:#15191f;stroke:#c9d1da"},
    [PD_INK_MARK_ALERT] = {.name = "mark-alert",
                           .light = "fill:#a01324;stroke:#ffffff;stroke-width:2",
                           .dark = "fill:#ff8b8f;stroke:#15191f"},
    [PD_INK_SHADE_0] = {.name = "shade-0", .light = "fill:#f4f7fa", .dark = "fill:#1b2430"},
    [PD_INK_SHADE_1] = {.name = "shade-1", .light = "fill:#dfe8f1", .dark = "fill:#24344a"},
    [PD_INK_SHADE_2] = {.name = "shade-2", .light = "fill:#c6d6e6", .dark = "fill:#2d4767"},
    [PD_INK_SHADE_3] = {.name = "shade-3", .light = "fill:#a9c0d9", .dark = "fill:#395c85"},
    [PD_INK_SHADE_4] = {.name = "shade-4", .light = "fill:#87a5c8", .dark = "fill:#5076a4"},
    [PD_INK_SHADE_5] = {.name = "shade-5", .light = "fill:#6286b1", .dark = "fill:#7295c0"},
    [PD_INK_SHADE_6] = {.name = "shade-6", .light = "fill:#3d6496", .dark = "fill:#9fb9da"},
    [PD_INK_SHADE_7] = {.name = "shade-7", .light = "fill:#1b4274", .dark = "fill:#d3e0f0"},
    [PD_INK_L1] = {.name = "l1", .light = CONDUCTOR "stroke:#7a4a21"},
    [PD_INK_L2] = {.name = "l2", .light = CONDUCTOR "stroke:#000000"},
    [PD_INK_L3] = {.name = "l3", .light = CONDUCTOR "stroke:#8a9096"},
    [PD_INK_N] = {.name = "n", .light = CONDUCTOR "stroke:#1f6fc4"},
    [PD_INK_PE] = {.name = "pe", .light = CONDUCTOR "stroke:#1f8a3c"},
    [PD_INK_PE_STRIPE] = {.name = "pe-stripe",
                          .light = CONDUCTOR "stroke:#ffd91a;stroke-dasharray:8 8"},
    [PD_INK_CASING] = {.name = "casing",
                       .light = "fill:none;stroke:#d5dbe2;stroke-width:8",
                       .dark = "stroke:#8894a2"},
    [PD_INK_TITLE] = {.name = "title",
                      .light = TEXT "font-size:26px;font-weight:bold;fill:#16202b",
                      .dark = "fill:#f3f6f9",
                      .size = 26,
                      .bold = true},
    [PD_INK_STRONG] = {.name = "strong",
                       .light = TEXT "font-size:17px;font-weight:bold;fill:#16202b",
                       .dark = "fill:#f3f6f9",
                       .size = 17,
                       .bold = true},
    [PD_INK_TEXT] = {.name = "text",
                     .light = TEXT "font-size:17px;fill:#16202b",
                     .dark = "fill:#e3e8ee",
                     .size = 17},
    [PD_INK_NOTE] = {.name = "note",
                     .light = TEXT "font-size:13px;fill:#3a4653",
                     .dark = "fill:#bcc6d1",
                     .size = 13},
    [PD_INK_ALERT] = {.name = "alert",
                      .light = TEXT "font-size:17px;font-weight:bold;fill:#a01324",
                      .dark = "fill:#ff9a9d",
                      .size = 17,
                      .bold = true},
    [PD_INK_HALO] = {.name = "halo",
                     .light = "fill:none;stroke:#ffffff;stroke-width:5;stroke-linejoin:round",
                     .dark = "fill:none;stroke:#15191f"},
};

/* What the patterns are drawn with. */
static const struct row patterns[] = {
    {.name = "wash-1", .light = "fill:#f6cfd0", .dark = "fill:#4d2227"},
    {.name = "stripe-1",
     .light = "fill:none;stroke:#a01324;stroke-width:2",
     .dark = "stroke:#ff8b8f"},
    {.name = "wash-2", .light = "fill:#e3ecf6", .dark = "fill:#1f2f44"},
    {.name = "stripe-2",
     .light = "fill:none;stroke:#41658f;stroke-width:1.2",
     .dark = "stroke:#8fbdff"},
    {.name = "wash-3", .light = "fill:#f3f1e4", .dark = "fill:#2c2b20"},
    {.name = "dot-3", .light = "fill:#6f6837", .dark = "fill:#d8d09a"},
};
enum { PATTERNS = sizeof patterns / sizeof patterns[0] };

const char *pd_ink_name(enum pd_ink ink)
{
    return rows[ink].name;
}

double pd_ink_size(enum pd_ink ink)
{
    return rows[ink].size;
}

double pd_ink_advance(enum pd_ink ink)
{
    /* of the wider fonts that "sans-serif" may mean: measured on DejaVu Sans, English text */
    return rows[ink].size * (rows[ink].bold ? 0.64 : 0.57);
}

static void write_with_prefix(FILE *out, const char *text, const char *prefix)
{
    for (; *text != '\0'; text++)
        if (*text == '@')
            fputs(prefix, out);
        else
            fputc(*text, out);
}

static void write_rule(FILE *out, const char *prefix, const char *name, const char *declarations)
{
    fprintf(out, ".%s-%s{", prefix, name);
    write_with_prefix(out, declarations, prefix);
    fputs("}\n", out);
}

static void write_dark(FILE *out, const char *prefix, const struct row *list, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (list[i].dark != NULL)
            write_rule(out, prefix, list[i].name, list[i].dark);
}

static void write_style(FILE *out, const char *prefix)
{
    fputs("<style type=\"text/css\">\n", out);
    for (size_t i = 0; i < PD_INKS; i++)
        write_rule(out, prefix, rows[i].name, rows[i].light);
    for (size_t i = 0; i < PATTERNS; i++)
        write_rule(out, prefix, patterns[i].name, patterns[i].light);
    fputs("@media screen and (prefers-color-scheme:dark){\n", out);
    write_dark(out, prefix, rows, PD_INKS);
    write_dark(out, prefix, patterns, PATTERNS);
    fputs("}\n</style>\n", out);
}

void pd_ink_write(FILE *out, const char *prefix)
{
    static const char definitions[] =
        "<defs>\n"
        "<pattern id=\"@-rising\" patternUnits=\"userSpaceOnUse\" width=\"10\" height=\"10\">"
        "<rect class=\"@-wash-1\" width=\"10\" height=\"10\"/>"
        "<path class=\"@-stripe-1\" d=\"M-2 12L12 -2M-2 2L2 -2M8 12L12 8\"/></pattern>\n"
        "<pattern id=\"@-falling\" patternUnits=\"userSpaceOnUse\" width=\"12\" height=\"12\">"
        "<rect class=\"@-wash-2\" width=\"12\" height=\"12\"/>"
        "<path class=\"@-stripe-2\" d=\"M-2 -2L14 14M-2 10L2 14M10 -2L14 2\"/></pattern>\n"
        "<pattern id=\"@-dotted\" patternUnits=\"userSpaceOnUse\" width=\"9\" height=\"9\">"
        "<rect class=\"@-wash-3\" width=\"9\" height=\"9\"/>"
        "<circle class=\"@-dot-3\" cx=\"4.5\" cy=\"4.5\" r=\"1.3\"/></pattern>\n"
        "</defs>\n";
    write_style(out, prefix);
    write_with_prefix(out, definitions, prefix);
}
