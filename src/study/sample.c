/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/sample.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "study/case_files.h"
#include "study/sample_work.h"
#include "table/processors.h"

/* The breaks, their shares, and which columns of a scan they are. */
static enum pd_status list_breaks(struct pd_sample_work *w, struct pd_sample *sample)
{
    struct pd_scan *scan = NULL;
    double all = 0;
    enum pd_status status = pd_scan_new(w->study_case, 1, 1, &scan);
    if (status != PD_OK)
        return status;
    const size_t count = sample->break_count = pd_scan_breaks(scan);
    w->columns = pd_scan_columns(scan);
    sample->at = calloc(count + 1, sizeof *sample->at);
    w->column = calloc(count + 1, sizeof *w->column);
    w->column_share = calloc(w->columns + 1, sizeof *w->column_share);
    if (sample->at == NULL || w->column == NULL || w->column_share == NULL)
        status = PD_ERR_MEMORY;
    for (size_t i = 0; i < count && status == PD_OK; i++) {
        sample->at[i].section = pd_scan_section(scan, i);
        sample->at[i].share = w->draws->break_weight[sample->at[i].section];
        all += sample->at[i].share;
        w->column[i] = pd_scan_column(scan, i);
        sample->declared_breaks |= sample->at[i].share != 1;
    }
    for (size_t i = 0; i < count && status == PD_OK; i++) {
        sample->at[i].share /= all;
        w->column_share[w->column[i]] += sample->at[i].share;
    }
    pd_scan_free(&scan);
    return status;
}

static void name_drawn(const struct pd_case *c, const struct pd_draw_one *one,
                       struct pd_sample_drawn *drawn)
{
    static const char *const columns[] = {
        [PD_DRAW_AMPS] = "current_a",       [PD_DRAW_POWER] = "power_kw",
        [PD_DRAW_FACTOR] = "power_factor",  [PD_DRAW_OHM] = "resistance_ohm",
        [PD_DRAW_SEASON] = "season_factor", [PD_DRAW_SUPPLY] = ""};
    const char *const row = one->kind == PD_DRAW_SUPPLY ? "supply_voltage"
                            : one->kind <= PD_DRAW_FACTOR
                                ? c->network->load[one->which].name
                                : c->electrodes.electrode[one->which].name;
    snprintf(drawn->name, sizeof drawn->name, "%s%s%s", row, one->kind == PD_DRAW_SUPPLY ? "" : " ",
             columns[one->kind]);
    drawn->distribution = one->distribution;
    drawn->distribution.value = drawn->distribution.up_to = NULL;
    drawn->declared = one->declared;
}

static enum pd_status list_drawn(const struct pd_draws *draws, struct pd_sample *sample)
{
    sample->dimensions = draws->spread;
    sample->sobol = draws->sobol;
    sample->drawn = calloc(draws->spread + 1, sizeof *sample->drawn);
    if (sample->drawn == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < draws->spread; i++)
        name_drawn(draws->study_case, &draws->one[i], &sample->drawn[i]);
    return PD_OK;
}

static enum pd_status draw(struct pd_sample *sample, const struct pd_draws *draws,
                           pd_progress_function *progress, void *context)
{
    const struct pd_sample_settings *const s = &sample->settings;
    struct pd_sample_work work = {
        .study_case = sample->study_case,
        .draws = draws,
        .replicates = s->replicates,
        .each = s->trials / s->replicates,
        .threads = s->threads > 0 ? s->threads : pd_processors(),
        .replicate = calloc(s->replicates, sizeof *work.replicate),
        .progress = progress,
        .context = context,
    };
    enum pd_status status = work.replicate != NULL ? PD_OK : PD_ERR_MEMORY;
    if (status == PD_OK)
        status = list_breaks(&work, sample);
    if (status == PD_OK)
        status = list_drawn(draws, sample);
    if (status == PD_OK)
        status = pd_sample_work_run(&work);
    if (status == PD_OK)
        status = pd_sample_sum(&work, sample);
    for (size_t i = 0; i < s->replicates && work.replicate != NULL; i++) {
        free(work.replicate[i].count);
        free(work.replicate[i].bin);
    }
    free(work.replicate);
    free(work.column);
    free(work.column_share);
    return status;
}

static enum pd_status sample_case(const char *folder, struct pd_sample *sample,
                                  pd_progress_function *progress, void *context,
                                  struct pd_errors *errors)
{
    struct pd_spread_rows rows = {0};
    struct pd_draws draws = {0};
    enum pd_status status = PD_OK;
    if (pd_case_has(folder, "distributions.csv"))
        status = pd_spread_rows_read(folder, &rows, errors);
    if (status == PD_OK && !sample->missing)
        status = pd_draws_new(sample->study_case, &rows, sample->settings.seed, &draws, errors);
    if (status == PD_OK && !sample->missing)
        status = draw(sample, &draws, progress, context);
    pd_draws_free(&draws);
    pd_spread_rows_free(&rows);
    return status;
}

enum pd_status pd_sample_run(const char *folder, const struct pd_sample_settings *settings,
                             pd_progress_function *progress, void *context, struct pd_sample **out,
                             struct pd_errors *errors)
{
    struct pd_sample *const sample = *out = calloc(1, sizeof *sample);
    if (sample == NULL)
        return PD_ERR_MEMORY;
    sample->settings = *settings;
    const size_t r = settings->replicates, each = (settings->trials + r - 1) / r;
    sample->settings.trials = (each > 0 ? each : 1) * r;
    enum pd_status status = pd_case_read(folder, &sample->study_case, errors);
    if (status == PD_OK) {
        sample->missing = sample->study_case->missing.count > 0;
        status = sample_case(folder, sample, progress, context, errors);
    }
    if (status != PD_OK)
        pd_sample_free(out);
    return status;
}

void pd_sample_free(struct pd_sample **sample)
{
    if (sample == NULL || *sample == NULL)
        return;
    pd_case_free(&(*sample)->study_case);
    pd_notes_free(&(*sample)->doubts);
    free((*sample)->drawn);
    free((*sample)->at);
    free(*sample);
    *sample = NULL;
}
