/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/text.h"

#include <math.h>
#include <string.h>

#include "report/cautions.h"
#include "report/figure.h"
#include "report/report.h"
#include "report/scenario.h"
#include "report/thresholds.h"

enum { MARGIN = 2, VALUES = 22 };

static void write_entry(struct pd_page *page, const char *label, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void write_entry(struct pd_page *page, const char *label, const char *format, ...)
{
    char text[512];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    pd_page_paragraph(page, label[0] != '\0' ? MARGIN : VALUES, label, VALUES, text);
}

/* The supply voltages that occur, the lowest first. */
enum { SUPPLIES_MAX = 8 };
static size_t supplies(const struct pd_assessment *assessment, double supply_v[SUPPLIES_MAX])
{
    size_t count = 0;
    for (size_t i = 0; i < assessment->scenario_count && count < SUPPLIES_MAX; i++) {
        const double own_v = assessment->scenario[i].supply_v;
        if (assessment->scenario[i].loads == PD_LOADS_CORNER)
            continue; /* may stand between two that are tried throughout */
        size_t place = 0;
        while (place < count && supply_v[place] < own_v)
            place++;
        if (place < count && supply_v[place] == own_v)
            continue;
        memmove(&supply_v[place + 1], &supply_v[place], (count - place) * sizeof *supply_v);
        supply_v[place] = own_v;
        count++;
    }
    return count;
}

static void write_supplies(struct pd_page *page, const struct pd_assessment *assessment)
{
    double supply_v[SUPPLIES_MAX];
    const size_t count = supplies(assessment, supply_v);
    char text[SUPPLIES_MAX * 40] = "-";
    for (size_t i = 0, used = 0; i < count; i++)
        used += (size_t)snprintf(text + used, sizeof text - used, "%s%s V", i > 0 ? ", " : "",
                                 pd_figure_v(supply_v[i]).text);
    write_entry(page, "supply voltages", "%s", text);
}

static void write_load_states(struct pd_page *page, const struct pd_assessment *assessment)
{
    char text[128] = "";
    size_t used = 0;
    for (size_t kind = 0; kind < PD_LOADS_KINDS; kind++)
        for (size_t i = 0; i < assessment->scenario_count; i++)
            if (assessment->scenario[i].loads == kind) {
                used += (size_t)snprintf(text + used, sizeof text - used, "%s%s",
                                         used > 0 ? ", " : "", pd_loads_names[kind]);
                break;
            }
    write_entry(page, "load states", "%s", used > 0 ? text : "-");
}

/* Not finite where any residual is not. */
static double largest_residual(const struct pd_assessment *assessment)
{
    double largest = assessment->scenario_count > 0 ? 0 : NAN;
    for (size_t i = 0; i < assessment->scenario_count; i++) {
        const double residual = assessment->scenario[i].residual;
        if (!(residual <= largest))
            largest = residual;
        if (!isfinite(largest))
            break;
    }
    return largest;
}

static void write_computed(struct pd_page *page, const struct pd_assessment *assessment)
{
    const double residual = largest_residual(assessment);
    pd_page_heading(page, "COMPUTED");
    write_entry(page, "PEN opened in", "%zu section%s, one at a time", assessment->break_count,
                assessment->break_count == 1 ? "" : "s");
    write_load_states(page, assessment);
    write_supplies(page, assessment);
    write_entry(page, "scenarios", "%zu; over the limit %zu, of these not disconnected in time %zu",
                assessment->judged, assessment->over, assessment->unseen);
    if (assessment->reclosed > 0)
        write_entry(page, "", "let go in time, but closed again by itself: %zu of these",
                    assessment->reclosed);
    write_entry(page, "not solved", "%zu", assessment->unsolved);
    if (isfinite(residual))
        write_entry(page, "largest residual", "%.1e (a solution may have %.0e)", residual,
                    PD_RESIDUAL_MAX);
    else
        write_entry(page, "largest residual", "-");
    if (isfinite(assessment->divider_ohm))
        write_entry(page, "electrode, formula",
                    "%s ohm by the voltage divider, %s ohm by the "
                    "annex form with a voltage factor (memory, low confidence)",
                    pd_figure_ohm_most(assessment->divider_ohm).text,
                    pd_figure_ohm_most(assessment->annex_ohm).text);
}

static const char *node_name(const struct pd_network *network, size_t node)
{
    return network != NULL && node < network->node_count ? network->node[node].name : "-";
}

static void write_electrode(struct pd_page *page, const char *label, const struct pd_case *c,
                            size_t node)
{
    const double ohm = pd_case_electrode(c, node);
    if (isfinite(ohm))
        write_entry(page, label, "%s ohm in the dry season", pd_figure_ohm(ohm).text);
    else
        write_entry(page, label, "%s", isnan(ohm) ? "not known" : "none");
}

static void write_electrodes(struct pd_page *page, const struct pd_case *c)
{
    if (c->network == NULL || c->installation >= c->network->node_count)
        return;
    write_electrode(page, "electrode, MET", c, c->installation);
    if (c->earthing == PD_TT && c->charging_point != c->installation)
        write_electrode(page, "electrode, point", c, c->charging_point);
}

static void write_detector(struct pd_page *page, const struct pd_detector *d)
{
    char reference[160] = "", reset[64] = "";
    if (isfinite(d->reference_ohm) || isfinite(d->input_ohm) || d->coupling > 0)
        snprintf(reference, sizeof reference,
                 ", reference electrode %s ohm, input %s ohm, coupling %s",
                 pd_figure_ohm(d->reference_ohm).text, pd_figure_ohm(d->input_ohm).text,
                 pd_figure(d->coupling, 3).text);
    if (d->reset != PD_RESET_UNDECLARED)
        snprintf(reset, sizeof reset, ", reset %s%s%s%s", pd_reset_names[d->reset],
                 isfinite(d->reset_s) ? " after " : "",
                 isfinite(d->reset_s) ? pd_figure_s(d->reset_s).text : "",
                 isfinite(d->reset_s) ? " s" : "");
    write_entry(page, "detection device",
                "%.160s: senses %s, %.80s, tolerance %.40s%s, delay %s s, "
                "disconnects %s%s",
                d->name, pd_sense_names[d->senses], pd_threshold_phrase(d).text,
                pd_tolerance_phrase(d).text, reference, pd_figure_s(d->delay_s).text,
                d->disconnects_known ? pd_disconnects_names[d->disconnects] : "-", reset);
}

void pd_text_arrangement(struct pd_page *page, const struct pd_case *study_case)
{
    const struct pd_network *const network = study_case->network;
    pd_page_heading(page, "ARRANGEMENT");
    write_entry(page, "earthing", "%s at the charging point",
                pd_earthing_names[study_case->earthing]);
    if (network != NULL)
        write_entry(page, "supply", "%s, nominal %s V, %s V at the source",
                    pd_system_names[network->system], pd_figure_v(network->nominal_v).text,
                    pd_figure_v(study_case->supply_v).text);
    write_entry(page, "installation", "%s", node_name(network, study_case->installation));
    write_entry(page, "charging point", "%s", node_name(network, study_case->charging_point));
    if (isfinite(study_case->demand_limit_a))
        write_entry(page, "load management", "%s A in each line",
                    pd_figure_a(study_case->demand_limit_a).text);
    else
        write_entry(page, "load management", "none");
    write_electrodes(page, study_case);
    for (size_t i = 0; i < study_case->detectors.count; i++)
        write_detector(page, &study_case->detectors.detector[i]);
}

void pd_text_limits(struct pd_page *page, const struct pd_limits *limits)
{
    pd_page_heading(page, "LIMITS");
    write_entry(page, "set", "%s", limits->set);
    write_entry(page, "touch voltage", "%s V", pd_figure_v(limits->touch_v).text);
    if (isfinite(limits->band_low_v) || isfinite(limits->band_high_v))
        write_entry(page, "line to neutral", "%s to %s V", pd_figure_v(limits->band_low_v).text,
                    pd_figure_v(limits->band_high_v).text);
    write_entry(page, "disconnection", "%s s", pd_figure_s(limits->time_s).text);
    write_entry(page, "status", "%s%s%s", limits->status,
                limits->checked[0] != '\0' ? ", last compared " : "", limits->checked);
    write_entry(page, "source", "%s", limits->source);
    pd_page_paragraph(page, MARGIN, "", MARGIN,
                      "Hold the current standard and the local rules against these figures.");
}

void pd_text_record(struct pd_page *page, const struct pd_assessment *assessment)
{
    const struct pd_notes *const assumptions = &assessment->study_case->assumptions;
    if (assessment->scenario_count > 0)
        write_computed(page, assessment);
    pd_text_arrangement(page, assessment->study_case);
    pd_text_limits(page, &assessment->study_case->limits);
    if (assumptions->count == 0)
        return;
    pd_page_heading(page, "ASSUMED");
    for (size_t i = 0; i < assumptions->count; i++)
        pd_page_paragraph(page, MARGIN, "-", MARGIN + 2, assumptions->text[i]);
}

void pd_text_cautions(struct pd_page *page)
{
    pd_page_end_line(page);
    pd_page_rule(page);
    pd_page_paragraph(page, 0, "", 0, "CAUTIONS");
    for (size_t i = 0; i < PD_CAUTIONS; i++)
        pd_page_paragraph(page, 2, "!", 4, pd_cautions[i]);
    pd_page_rule(page);
}
