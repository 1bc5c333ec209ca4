/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include <csv.h>

#include "report/cautions.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/sweep.h"

static void comment(FILE *out, const char *label, const char *text)
{
    fprintf(out, "# %s: %s\n", label, pd_plain(text).text);
}

static void write_head(FILE *out, const struct pd_sweep *sweep)
{
    const struct pd_case *const c = sweep->study_case;
    const size_t count = sweep->settings.vary_count > 0 ? sweep->settings.vary_count : 1;
    fprintf(out, "# pendrift %s\n", pd_version);
    comment(out, "case", c->title);
    comment(out, "answer", pd_sweep_headline(sweep).text);
    for (size_t i = 0; i < c->missing.count; i++)
        comment(out, "missing", c->missing.text[i]);
    if (!sweep->missing) {
        comment(out, "present", pd_sweep_present(sweep).text);
        comment(out, "largest", pd_sweep_largest(sweep).text);
    }
    for (size_t i = 0; i < count; i++)
        comment(out, "varied", pd_sweep_quantity(sweep, i).text);
    comment(out, "computed", pd_sweep_method(sweep).text);
    for (size_t i = 0; i < PD_CAUTIONS; i++)
        comment(out, "caution", pd_cautions[i]);
    comment(out, "limit set", c->limits.set);
    comment(out, "limits", c->limits.status);
    for (size_t i = 0; i < c->assumptions.count; i++)
        comment(out, "assumed", c->assumptions.text[i]);
}

static void write_text(FILE *out, const char *text)
{
    const struct pd_plain plain = pd_plain(text);
    csv_fwrite(out, plain.text, strlen(plain.text));
}

static void write_columns(FILE *out, const struct pd_sweep *sweep)
{
    for (size_t i = 0; i < pd_sweep_values(sweep); i++) {
        if (sweep->settings.vary_count == 0)
            fprintf(out, "l%zu_kw", i + 1);
        else
            write_text(out, pd_sweep_value_name(sweep, i).text);
        fputc(',', out);
    }
    fputs("touch_v,limit,section,loads,supply_v,disconnected_in_time,unseen_v,unseen_section,"
          "scenarios,unsolved,residual\n",
          out);
}

static void write_number(FILE *out, double value)
{
    if (isfinite(value))
        fprintf(out, "%.12g", value + 0.0); /* + 0.0: no "-0" */
}

static void write_point(FILE *out, const struct pd_sweep *sweep, const struct pd_sweep_point *point)
{
    for (size_t i = 0; i < pd_sweep_values(sweep); i++) {
        write_number(out, point->value[i]);
        fputc(',', out);
    }
    write_number(out, point->touch_v);
    fprintf(out, ",%s,", pd_sweep_judgements[point->touch]);
    write_text(out, pd_sweep_section(sweep, point->section));
    fprintf(out, ",%s,", pd_loads_names[point->loads]);
    write_number(out, point->supply_v);
    fprintf(out, ",%s,", point->touch != PD_OVER ? "" : point->disconnected ? "yes" : "no");
    write_number(out, point->unseen_v);
    fputc(',', out);
    write_text(out, pd_sweep_section(sweep, point->unseen_section));
    fprintf(out, ",%zu,%zu,", point->scenarios, point->unsolved);
    write_number(out, point->residual);
    fputc('\n', out);
}

enum pd_status pd_sweep_csv(FILE *out, const struct pd_sweep *sweep)
{
    write_head(out, sweep);
    write_columns(out, sweep);
    for (size_t i = 0; i < sweep->count && !ferror(out); i++)
        write_point(out, sweep, &sweep->point[i]);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
