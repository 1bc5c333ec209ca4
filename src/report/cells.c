/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/cells.h"

#include <math.h>
#include <string.h>

#include <csv.h>

#include "report/cautions.h"
#include "report/plain.h"
#include "report/report.h"

void pd_csv_comment(FILE *out, const char *label, const char *text)
{
    fprintf(out, "# %s: %s\n", label, pd_plain(text).text);
}

void pd_csv_head(FILE *out, const char *title)
{
    fprintf(out, "# pendrift %s\n", pd_version);
    pd_csv_comment(out, "case", title);
    for (size_t i = 0; i < PD_CAUTIONS; i++)
        pd_csv_comment(out, "caution", pd_cautions[i]);
}

void pd_csv_text(FILE *out, const char *text)
{
    const struct pd_plain plain = pd_plain(text);
    fputc(',', out);
    csv_fwrite(out, plain.text, strlen(plain.text));
}

void pd_csv_number(FILE *out, double value)
{
    if (isfinite(value))
        fprintf(out, ",%.12g", value + 0.0); /* + 0.0: no "-0" */
    else
        fputc(',', out);
}
