/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include <csv.h>

#include "report/cautions.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/sample.h"

static void comment(FILE *out, const char *label, const char *text)
{
    fprintf(out, "# %s: %s\n", label, pd_plain(text).text);
}

static void write_head(FILE *out, const struct pd_sample *sample)
{
    const struct pd_case *const c = sample->study_case;
    fprintf(out, "# pendrift %s\n", pd_version);
    comment(out, "case", c->title);
    comment(out, "answer", pd_sample_headline(sample).text);
    for (size_t i = 0; i < c->missing.count; i++)
        comment(out, "missing", c->missing.text[i]);
    for (size_t i = 0; i < sample->doubts.count; i++)
        comment(out, "doubt", sample->doubts.text[i]);
    comment(out, "computed", pd_sample_method(sample).text);
    comment(out, "break", pd_sample_breaks(sample).text);
    comment(out, "note", pd_sample_given_note);
    comment(out, "note", pd_sample_alone_note);
    for (size_t i = 0; i < PD_CAUTIONS; i++)
        comment(out, "caution", pd_cautions[i]);
    comment(out, "limit set", c->limits.set);
    comment(out, "limits", c->limits.status);
    for (size_t i = 0; i < sample->dimensions; i++) {
        char text[PD_NAME_MAX + 600];
        snprintf(text, sizeof text, "%s: %s", sample->drawn[i].name,
                 pd_sample_spread(&sample->drawn[i].distribution).text);
        comment(out, "drawn", text);
    }
    fputs("figure,of,value,low,high\n", out);
}

static void write_number(FILE *out, double value)
{
    fputc(',', out);
    if (isfinite(value))
        fprintf(out, "%.12g", value + 0.0); /* + 0.0: no "-0" */
}

static void write_row(FILE *out, const char *figure, const char *of, const struct pd_estimate *e)
{
    const struct pd_plain plain = pd_plain(of);
    fprintf(out, "%s,", figure);
    csv_fwrite(out, plain.text, strlen(plain.text));
    write_number(out, e->value);
    write_number(out, e->low);
    write_number(out, e->high);
    fputc('\n', out);
}

static void write_odds(FILE *out, const char *of, const struct pd_sample_odds *odds)
{
    write_row(out, "over_limit", of, &odds->over);
    write_row(out, "over_limit_unseen", of, &odds->unseen);
    write_row(out, "not_determined", of, &odds->unknown);
    write_row(out, "mean_v", of, &odds->mean_v);
    write_row(out, "largest_v", of, &(struct pd_estimate){odds->largest_v, NAN, NAN});
}

enum pd_status pd_sample_csv(FILE *out, const struct pd_sample *sample)
{
    char of[64];
    write_head(out, sample);
    if (sample->missing)
        return ferror(out) ? PD_ERR_FILE : PD_OK;
    write_odds(out, "all", &sample->odds);
    for (size_t i = 0; i < PD_QUANTILES; i++) {
        snprintf(of, sizeof of, "%.10g", pd_quantile_levels[i]);
        write_row(out, "quantile_v", of, &sample->quantile_v[i]);
    }
    for (size_t i = 0; i < PD_BARS; i++) {
        snprintf(of, sizeof of, "%.10g to %.10g V", (double)i * sample->bar_v,
                 ((double)i + 1) * sample->bar_v);
        write_row(out, "share", of, &(struct pd_estimate){sample->bar[i], NAN, NAN});
    }
    for (size_t i = 0; i < sample->break_count && !ferror(out); i++) {
        const struct pd_sample_break *const at = &sample->at[i];
        const char *const section = sample->study_case->network->node[at->section].section;
        write_row(out, "break_share", section, &(struct pd_estimate){at->share, NAN, NAN});
        write_odds(out, section, &at->odds);
    }
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
