/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>

#include "report/audit.h"
#include "report/cautions.h"
#include "report/html.h"

/* The page of text, in memory; NULL where that is short. */
static char *page_text(const struct pd_audit_page *page)
{
    char *text = NULL;
    size_t length = 0;
    FILE *const memory = open_memstream(&text, &length);
    if (memory == NULL)
        return NULL;
    pd_audit_text(memory, page);
    if (fclose(memory) == 0)
        return text;
    free(text);
    return NULL;
}

static void write_page(FILE *out, const char *text)
{
    struct pd_html html;
    const struct pd_html_head head = {.title = "Audit", .description = pd_caution_short};
    pd_html_begin(&html, out, &head);
    pd_html_heading(&html, 1, "Audit");
    pd_html_verbatim(&html, text);
    pd_html_end(&html);
}

/* The page for a browser is the page of text in a frame of HTML: one page, one wording. */
void pd_audit_html(struct pd_put *put, const struct pd_audit_page *page)
{
    char *html = NULL, *const text = page_text(page);
    size_t length = 0;
    FILE *const memory = text != NULL ? open_memstream(&html, &length) : NULL;
    put->failed |= memory == NULL;
    if (memory != NULL) {
        write_page(memory, text);
        put->failed |= fclose(memory) != 0;
        if (!put->failed)
            pd_put_bytes(put, html, length);
    }
    free(html);
    free(text);
}
