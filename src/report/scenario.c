/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/scenario.h"

#include <math.h>
#include <stdlib.h>

const char *const pd_standing_names[] = {[PD_SOLVED] = "solved",
                                         [PD_UNCONVERGED] = "unconverged",
                                         [PD_AMBIGUOUS] = "ambiguous",
                                         [PD_RESONANT] = "resonant"};

bool pd_scenario_sure(const struct pd_scenario *scenario)
{
    return scenario->standing == PD_SOLVED && !scenario->floating;
}

double pd_scenario_figure(const struct pd_scenario *scenario, double value)
{
    return pd_scenario_sure(scenario) ? value : NAN;
}

const char *pd_scenario_section(const struct pd_assessment *assessment,
                                const struct pd_scenario *scenario)
{
    const struct pd_network *const network = assessment->study_case->network;
    if (network == NULL || scenario->section >= network->node_count)
        return NULL;
    return network->node[scenario->section].section;
}

size_t pd_scenario_worst_present(const struct pd_assessment *assessment, enum pd_fault_kind fault)
{
    size_t worst = PD_NONE;
    double worst_v = -1;
    for (size_t i = 0; i < assessment->scenario_count; i++) {
        const struct pd_scenario *const scenario = &assessment->scenario[i];
        const double touch_v = pd_scenario_figure(scenario, scenario->touch_v);
        if (scenario->fault == fault && scenario->loads == PD_LOADS_PRESENT &&
            pd_exceeds(touch_v, worst_v)) {
            worst = i;
            worst_v = touch_v;
        }
    }
    return worst;
}

/* The order of scenarios by how much they matter. Floating: no potential is defined, below any. Not
 * solved: it may be anything. */
static double weight(const struct pd_scenario *scenario)
{
    if (scenario->standing != PD_SOLVED)
        return -1;
    return isfinite(scenario->touch_v) && !scenario->floating ? scenario->touch_v : -2;
}

/* The same between sections: one that could not be solved at all goes to the head. */
static double section_weight(const struct pd_scenario *scenario)
{
    const double own = weight(scenario);
    return own == -1 ? INFINITY : own;
}

static void insert(const struct pd_assessment *assessment, size_t index, size_t *worst,
                   size_t count, size_t room)
{
    const double own = section_weight(&assessment->scenario[index]);
    size_t place = count < room ? count : room;
    for (; place > 0 && pd_exceeds(own, section_weight(&assessment->scenario[worst[place - 1]]));
         place--)
        if (place < room)
            worst[place] = worst[place - 1];
    if (place < room)
        worst[place] = index;
}

/* Sets best[section] to its worst scenario. */
static void find_best(const struct pd_assessment *assessment, size_t *best, size_t nodes)
{
    const struct pd_scenario *const scenario = assessment->scenario;
    for (size_t i = 0; i < nodes; i++)
        best[i] = PD_NONE;
    for (size_t i = 0; i < assessment->scenario_count; i++) {
        const size_t section = scenario[i].section;
        if (scenario[i].fault != PD_OPEN_PEN)
            continue;
        if (section < nodes && (best[section] == PD_NONE ||
                                pd_exceeds(weight(&scenario[i]), weight(&scenario[best[section]]))))
            best[section] = i;
    }
}

enum pd_status pd_scenario_sections(const struct pd_assessment *assessment, size_t *worst,
                                    size_t room, size_t *count)
{
    const struct pd_network *const network = assessment->study_case->network;
    const size_t nodes = network != NULL ? network->node_count : 0;
    size_t *const best = calloc(nodes + 1, sizeof *best);
    *count = 0;
    if (best == NULL)
        return PD_ERR_MEMORY;
    find_best(assessment, best, nodes);
    for (size_t i = 0; i < nodes; i++)
        if (best[i] != PD_NONE)
            insert(assessment, best[i], worst, (*count)++, room);
    free(best);
    return PD_OK;
}
