/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>

#include "report/audit.h"

/* The page for a browser is the page of text in a frame of HTML: one page, one wording. */
void pd_audit_html(struct pd_put *put, const struct pd_audit_page *page)
{
    char *text = NULL;
    size_t length = 0;
    FILE *const memory = open_memstream(&text, &length);
    if (memory == NULL) {
        put->failed = true;
        return;
    }
    pd_audit_text(memory, page);
    put->failed |= fclose(memory) != 0;
    pd_put_text(put, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                     "<title>Audit</title>\n<style>body { margin: 2em auto; max-width: 50em; }\n"
                     "pre { font: 14px/1.4 monospace; white-space: pre-wrap; }\n"
                     "@media print { body { margin: 0; } }</style>\n</head>\n<body>\n<pre>");
    if (!put->failed)
        pd_put_html(put, text);
    pd_put_text(put, "</pre>\n</body>\n</html>\n");
    free(text);
}
