/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/html.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

/* The colours are those of the pictures (report/ink.c): paper, ink, frame, and the red of a limit.
 * What is red is also framed or bold: it must show on a grey print. */
static const char style[] =
    ":root{color-scheme:light dark;--paper:#ffffff;--ink:#16202b;--faint:#3a4653;"
    "--line:#c3cbd4;--wash:#eef2f6;--alert:#a01324;--link:#123f7a}\n"
    "@media screen and (prefers-color-scheme:dark){:root{--paper:#15191f;--ink:#e3e8ee;"
    "--faint:#bcc6d1;--line:#4a5563;--wash:#222932;--alert:#ff9a9d;--link:#8fbdff}}\n"
    "*{box-sizing:border-box}\n"
    "body{margin:0 auto;padding:1.5rem 1.25rem 3rem;max-width:60rem;background:var(--paper);"
    "color:var(--ink);font:1rem/1.5 sans-serif}\n"
    "h1{font-size:1.7rem;line-height:1.2;margin:0 0 .5rem}\n"
    "h2{font-size:1.25rem;margin:2.2rem 0 .5rem;padding-bottom:.2rem;"
    "border-bottom:2px solid var(--line)}\n"
    "h3{font-size:1.05rem;margin:1.4rem 0 .3rem}\n"
    "p{margin:.5rem 0;max-width:46rem}ul{margin:.5rem 0;padding-left:1.3rem;max-width:46rem}\n"
    "a{color:var(--link)}a:focus-visible,input:focus-visible,select:focus-visible,"
    "summary:focus-visible{outline:3px solid var(--link);outline-offset:2px}\n"
    ".verdict{font-size:1.6rem;font-weight:bold;line-height:1.25;margin:.6rem 0}\n"
    ".note{color:var(--faint);font-size:.875rem}\n"
    ".alert{border:3px solid var(--alert);padding:.6rem 1rem;margin:1rem 0}\n"
    ".alert h2,.alert h3{color:var(--alert);border:0;margin:0;padding:0}\n"
    "table{border-collapse:collapse;margin:.6rem 0;font-size:.95rem}\n"
    "caption{text-align:left;color:var(--faint);padding-bottom:.3rem}\n"
    "th,td{text-align:left;vertical-align:top;padding:.25rem .9rem .25rem 0;"
    "border-bottom:1px solid var(--line)}\n"
    "th.right,td.right{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}\n"
    ".word{white-space:nowrap}.long{overflow-wrap:anywhere}.text{min-width:14rem}\n"
    "thead th{border-bottom:2px solid var(--line)}tbody th{font-weight:normal}\n"
    ".wide{overflow-x:auto}\n"
    "figure{margin:1rem 0}figure svg{display:block;width:100%;height:auto;"
    "border:1px solid var(--line)}\n"
    "figcaption{color:var(--faint);font-size:.875rem;margin-top:.3rem}\n"
    "summary{cursor:pointer}code,pre{font-family:monospace;font-size:.9em}\n"
    "pre{white-space:pre-wrap;overflow-wrap:anywhere;background:var(--wash);padding:.6rem}\n"
    "@page{size:A4;margin:16mm 15mm}\n"
    "@media print{body{max-width:none;padding:0;font-size:10pt}h1{font-size:16pt}"
    ".verdict{font-size:15pt}h2,h3,caption,summary{break-after:avoid}"
    "figure,.alert,tr,li{break-inside:avoid}figure svg{max-height:150mm}"
    "thead{display:table-header-group}.screen{display:none}}\n";

static void put(const struct pd_html *html, const char *markup)
{
    fputs(markup, html->out);
}

void pd_html_text(struct pd_html *html, const char *text)
{
    for (const char *at = text; *at != '\0'; at++)
        if (*at == '&')
            put(html, "&amp;");
        else if (*at == '<')
            put(html, "&lt;");
        else if (*at == '>')
            put(html, "&gt;");
        else if (*at == '"')
            put(html, "&quot;");
        else if ((unsigned char)*at < 0x20 && *at != '\n' && *at != '\t')
            fputc('?', html->out);
        else
            fputc(*at, html->out);
}

static void element(struct pd_html *html, const char *open, const char *text, const char *close)
{
    put(html, open);
    pd_html_text(html, text);
    put(html, close);
}

void pd_html_begin(struct pd_html *html, FILE *out, const struct pd_html_head *head)
{
    *html = (struct pd_html){.out = out};
    put(html, "<!DOCTYPE html>\n<html lang=\"en\" xmlns=\"http://www.w3.org/1999/xhtml\">\n<head>\n"
              "<meta charset=\"utf-8\"/>\n"
              "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n");
    element(html, "<title>", head->title, "</title>\n");
    element(html, "<meta name=\"description\" content=\"", head->description, "\"/>\n");
    put(html, "<style>\n");
    put(html, style);
    if (head->style != NULL)
        put(html, head->style);
    put(html, "</style>\n</head>\n<body>\n<main>\n");
}

void pd_html_end(struct pd_html *html)
{
    put(html, "</main>\n</body>\n</html>\n");
}

void pd_html_heading(struct pd_html *html, int level, const char *text)
{
    fprintf(html->out, "<h%d>", level);
    pd_html_text(html, text);
    fprintf(html->out, "</h%d>\n", level);
}

void pd_html_section(struct pd_html *html, const char *id, const char *heading)
{
    element(html, "<section id=\"", id, "\">\n");
    pd_html_heading(html, 2, heading);
}

void pd_html_section_end(struct pd_html *html)
{
    put(html, "</section>\n");
}

void pd_html_paragraph(struct pd_html *html, const char *of_class, const char *text)
{
    if (of_class != NULL)
        element(html, "<p class=\"", of_class, "\">");
    else
        put(html, "<p>");
    pd_html_text(html, text);
    put(html, "</p>\n");
}

void pd_html_alert(struct pd_html *html, const char *heading)
{
    put(html, "<div class=\"alert\" role=\"note\">\n");
    pd_html_heading(html, 2, heading);
}

void pd_html_alert_end(struct pd_html *html)
{
    put(html, "</div>\n");
}

void pd_html_list(struct pd_html *html)
{
    put(html, "<ul>\n");
}

void pd_html_item(struct pd_html *html, const char *text)
{
    element(html, "<li>", text, "</li>\n");
}

void pd_html_list_end(struct pd_html *html)
{
    put(html, "</ul>\n");
}

void pd_html_table(struct pd_html *html, const char *caption, const char *const *heading,
                   size_t count)
{
    put(html, "<div class=\"wide\">\n<table>\n");
    if (caption != NULL)
        element(html, "<caption>", caption, "</caption>\n");
    put(html, "<thead>\n<tr>");
    for (size_t i = 0; i < count; i++) {
        const bool right = heading[i][0] == '>';
        put(html, right ? "<th scope=\"col\" class=\"right\">" : "<th scope=\"col\">");
        pd_html_text(html, heading[i] + right);
        put(html, "</th>");
    }
    put(html, "</tr>\n</thead>\n<tbody>\n");
}

void pd_html_table_end(struct pd_html *html)
{
    put(html, "</tbody>\n</table>\n</div>\n");
}

void pd_html_row(struct pd_html *html)
{
    put(html, "<tr>");
}

void pd_html_row_end(struct pd_html *html)
{
    put(html, "</tr>\n");
}

/* How a cell's text may be broken: a short one not at all, though it has a hyphen; a word so long
 * that it would push the table off the paper anywhere. A sentence keeps some width on a small
 * screen. */
static const char *breaking(const char *text)
{
    enum { SHORT = 20, LONG = 26, SENTENCE = 60 };
    size_t longest = 0;
    for (const char *at = text; *at != '\0'; at += strspn(at, " ")) {
        const size_t word = strcspn(at, " ");
        longest = word > longest ? word : longest;
        at += word;
    }
    if (longest > LONG)
        return " class=\"long\"";
    if (strlen(text) > SENTENCE)
        return " class=\"text\"";
    return strlen(text) <= SHORT ? " class=\"word\"" : "";
}

void pd_html_row_head(struct pd_html *html, const char *text)
{
    fprintf(html->out, "<th scope=\"row\"%s>", breaking(text));
    element(html, "", text, "</th>");
}

void pd_html_cell_begin(struct pd_html *html, bool right)
{
    put(html, right ? "<td class=\"right\">" : "<td>");
}

void pd_html_cell_end(struct pd_html *html)
{
    put(html, "</td>");
}

void pd_html_cell(struct pd_html *html, const char *text)
{
    fprintf(html->out, "<td%s>", breaking(text));
    element(html, "", text, "</td>");
}

void pd_html_figure(struct pd_html *html, const char *from, double value, const char *shown)
{
    if (!isfinite(value)) {
        put(html, "not determined");
        return;
    }
    fprintf(html->out, "<data value=\"%.12g\" data-from=\"", value); /* as JSON has it */
    pd_html_text(html, from);
    element(html, "\">", shown, "</data>");
}

void pd_html_picture(struct pd_html *html)
{
    put(html, "<figure>\n");
}

void pd_html_picture_end(struct pd_html *html, const char *caption)
{
    element(html, "<figcaption>", caption, "</figcaption>\n</figure>\n");
}

void pd_html_details(struct pd_html *html, const char *summary)
{
    element(html, "<details>\n<summary>", summary, "</summary>\n");
}

void pd_html_details_end(struct pd_html *html)
{
    put(html, "</details>\n");
}

void pd_html_group(struct pd_html *html, const char *of_class)
{
    element(html, "<div class=\"", of_class, "\">\n");
}

void pd_html_group_end(struct pd_html *html)
{
    put(html, "</div>\n");
}

void pd_html_links(struct pd_html *html, const char *label, const char *const (*to)[2],
                   size_t count)
{
    element(html, "<nav class=\"screen\" aria-label=\"", label, "\">\n<ul>\n");
    for (size_t i = 0; i < count; i++) {
        element(html, "<li><a href=\"#", to[i][0], "\">");
        element(html, "", to[i][1], "</a></li>\n");
    }
    put(html, "</ul>\n</nav>\n");
}

void pd_html_paragraph_begin(struct pd_html *html)
{
    put(html, "<p>");
}

void pd_html_paragraph_end(struct pd_html *html)
{
    put(html, "</p>\n");
}

void pd_html_verbatim(struct pd_html *html, const char *text)
{
    element(html, "<pre>", text, "</pre>\n");
}
