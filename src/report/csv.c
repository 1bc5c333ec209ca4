/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/cautions.h"
#include "report/cells.h"
#include "report/person.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/scenario.h"
#include "report/worst.h"

/* The certified worst case, the loads that come nearest to it, and the questions turned round. */
static void write_worst(FILE *out, const struct pd_assessment *a)
{
    if (a->certified.count == 0)
        return;
    const struct pd_worst_break *const brk = &a->certified.brk[a->certified.worst];
    const struct pd_network *const network = a->study_case->network;
    pd_csv_comment(out, "worst case, at most", pd_worst_bound(a, brk).text);
    pd_csv_comment(out, "worst case, found", pd_worst_found(a, brk).text);
    pd_csv_comment(out, "worst case, not disconnected", pd_worst_unseen_words(a).text);
    for (size_t i = 0; i < network->load_count; i++)
        fprintf(out, "# worst case, load: %s: %.6g A\n", pd_plain(network->load[i].name).text,
                brk->load_a[i]);
    for (int i = 0; i < PD_ASKS; i++)
        if (a->answer[i].found != PD_FOUND_NOT_ASKED)
            fprintf(out, "# turned round: %s: %s\n", pd_ask_names[i],
                    pd_worst_answer(a, &a->answer[i]).text);
}

/* What the deciding scenarios do to a person. */
static void write_person(FILE *out, const struct pd_assessment *assessment)
{
    const struct pd_person *const person = &assessment->person;
    for (int kind = 0; kind < PD_SHOCKS; kind++) {
        const struct pd_shock *const shock = &person->shock[kind];
        if (shock->scenario >= assessment->scenario_count)
            continue;
        fprintf(out, "# person: %s: %s", pd_shock_names[kind], pd_person_current(shock).text);
        for (int moment = 0; moment < PD_MOMENTS; moment++)
            if (isfinite(shock->time_s[moment]))
                fprintf(out, "; %s", pd_person_moment(shock, (enum pd_moment)moment).text);
        fputc('\n', out);
    }
    pd_csv_comment(out, "person", pd_person_warning);
    if (person->body_source[0] == '\0')
        return;
    pd_csv_comment(out, "person", pd_person_who(assessment).text);
    pd_csv_comment(out, "person", person->body_source);
    pd_csv_comment(out, "person", person->path_source);
    pd_csv_comment(out, "person", person->curve_source);
}

static void write_head(FILE *out, const struct pd_assessment *assessment)
{
    const struct pd_case *const study_case = assessment->study_case;
    fprintf(out, "# pendrift %s\n", pd_version);
    pd_csv_comment(out, "case", study_case->title);
    pd_csv_comment(out, "verdict", pd_overall_names[assessment->overall]);
    for (size_t i = 0; i < assessment->because.count; i++)
        pd_csv_comment(out, "because", assessment->because.text[i]);
    for (size_t i = 0; i < study_case->missing.count; i++)
        pd_csv_comment(out, "missing", study_case->missing.text[i]);
    for (size_t i = 0; i < PD_CAUTIONS; i++)
        pd_csv_comment(out, "caution", pd_cautions[i]);
    write_worst(out, assessment);
    write_person(out, assessment);
    pd_csv_comment(out, "limit set", study_case->limits.set);
    pd_csv_comment(out, "limits", study_case->limits.status);
    for (size_t i = 0; i < study_case->assumptions.count; i++)
        pd_csv_comment(out, "assumed", study_case->assumptions.text[i]);
}

static void write_columns(FILE *out, size_t detectors)
{
    fputs("fault,section,loads,supply_v,met_v,touch_v,reach_v,line1_neutral_v,line2_neutral_v,"
          "line3_neutral_v,electrode_a,line,joint_ohm,joint_w,prospective_a,over_limit,"
          "disconnected_in_time,standing,floating,residual,iterations,let_go",
          out);
    for (size_t i = 1; i <= detectors; i++)
        fprintf(out, ",detector%zu,detector%zu_sees,detector%zu_time_s", i, i, i);
    fputc('\n', out);
}

static const char *judgement_word(const struct pd_scenario *scenario)
{
    if (scenario->touch == PD_UNKNOWN || !pd_scenario_sure(scenario))
        return "unknown";
    return scenario->touch == PD_OVER ? "yes" : "no";
}

static void write_sight(FILE *out, const struct pd_detector *detector, const struct pd_sight *sight)
{
    static const char *const words[] = {
        [PD_BLIND] = "no", [PD_SEES] = "yes", [PD_SIGHT_UNKNOWN] = "unknown"};
    pd_csv_text(out, detector->name);
    fprintf(out, ",%s", words[sight->kind]);
    pd_csv_number(out, sight->time_s);
}

static void write_scenario(FILE *out, const struct pd_assessment *assessment,
                           const struct pd_scenario *scenario)
{
    const struct pd_detectors *const detectors = &assessment->study_case->detectors;
    const char *const section = pd_scenario_section(assessment, scenario);
    fputs(pd_fault_names[scenario->fault], out);
    if (section != NULL)
        pd_csv_text(out, section);
    else
        fputc(',', out);
    fprintf(out, ",%s", pd_loads_names[scenario->loads]);
    pd_csv_number(out, scenario->supply_v);
    pd_csv_number(out, pd_scenario_figure(scenario, scenario->met_v));
    pd_csv_number(out, pd_scenario_figure(scenario, scenario->touch_v));
    pd_csv_number(out, pd_scenario_figure(scenario, scenario->reach_v));
    for (int line = PD_L1; line < PD_LINES; line++)
        pd_csv_number(out, pd_scenario_figure(scenario, scenario->line_neutral_v[line]));
    pd_csv_number(out, pd_scenario_figure(scenario, scenario->electrode_a));
    pd_csv_number(out, scenario->line >= 0 ? (double)scenario->line + 1 : (double)NAN);
    pd_csv_number(out, scenario->joint_ohm);
    pd_csv_number(out, scenario->joint_w);
    pd_csv_number(out, scenario->prospective_a);
    fprintf(out, ",%s,%s,%s,%s", judgement_word(scenario), scenario->disconnected ? "yes" : "no",
            pd_standing_names[scenario->standing], scenario->floating ? "yes" : "no");
    pd_csv_number(out, scenario->residual);
    fprintf(out, ",%d,%zu", scenario->iterations, scenario->let_go);
    for (size_t i = 0; i < detectors->count; i++)
        write_sight(out, &detectors->detector[i], &scenario->sight[i]);
    fputc('\n', out);
}

enum pd_status pd_report_csv(FILE *out, const struct pd_assessment *assessment)
{
    write_head(out, assessment);
    write_columns(out, assessment->study_case->detectors.count);
    for (size_t i = 0; i < assessment->scenario_count && !ferror(out); i++)
        write_scenario(out, assessment, &assessment->scenario[i]);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
