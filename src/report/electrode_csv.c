/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/cautions.h"
#include "report/electrode.h"
#include "report/plain.h"
#include "report/report.h"

static void comment(FILE *out, const char *label, const char *text)
{
    fprintf(out, "# %s: %s\n", label, pd_plain(text).text);
}

static void write_number(FILE *out, double value)
{
    if (isfinite(value))
        fprintf(out, ",%.10g", value + 0.0); /* + 0.0: no "-0" */
    else
        fputc(',', out);
}

static void write_layouts(FILE *out, const struct pd_electrode_answer *answer)
{
    fputs("shape,count,length_m,spacing_m,land_m,handbook_ohm,numerical_ohm,resistance_ohm,dry_ohm,"
          "meets\n",
          out);
    for (size_t i = 0; i < answer->layout_count; i++) {
        const struct pd_layout *const layout = &answer->layout[i];
        fprintf(out, "%s,%zu", pd_shape_names[layout->shape], layout->count);
        write_number(out, layout->length_m);
        write_number(out, layout->spacing_m);
        write_number(out, layout->land_m);
        write_number(out, layout->figure.handbook_ohm);
        write_number(out, layout->figure.numerical_ohm);
        write_number(out, layout->figure.ohm);
        write_number(out, layout->figure.dry_ohm);
        fprintf(out, ",%s\n", layout->meets ? "yes" : "no");
    }
}

/* Square to a line of rods, outwards, a quarter of a metre apart. */
static void write_profile(FILE *out, const struct pd_electrode_answer *answer)
{
    fputs("from_middle_m,ground_share,touch_share,step_share\n", out);
    for (int i = 0; i <= 200 && answer->ground != NULL; i++) {
        const double y_m = 0.25 * i;
        const double here = pd_electrode_ground_share(answer, 0, y_m);
        fprintf(out, "%g", y_m);
        write_number(out, here);
        write_number(out, 1 - here);
        write_number(out, fabs(here - pd_electrode_ground_share(answer, 0, y_m + 1)));
        fputc('\n', out);
    }
}

enum pd_status pd_electrode_csv(FILE *out, const struct pd_electrode_answer *answer)
{
    fprintf(out, "# pendrift %s\n", pd_version);
    comment(out, "answer", pd_electrode_headline(answer).text);
    comment(out, "soil", pd_electrode_soil(&answer->question).text);
    comment(out, "dry season", pd_electrode_season(answer).text);
    for (size_t i = 0; i < PD_CAUTIONS; i++)
        comment(out, "caution", pd_cautions[i]);
    if (!isnan(answer->question.want_ohm))
        write_layouts(out, answer);
    else
        write_profile(out, answer);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
