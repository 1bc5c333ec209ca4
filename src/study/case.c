/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/case.h"

#include <stdlib.h>

void pd_case_free(struct pd_case **study_case)
{
    if (study_case == NULL || *study_case == NULL)
        return;
    struct pd_case *const c = *study_case;
    pd_network_free(&c->network);
    pd_electrodes_free(&c->electrodes);
    pd_detectors_free(&c->detectors);
    pd_notes_free(&c->missing);
    pd_notes_free(&c->assumptions);
    free(c->tie);
    free(c->mutual_ohm);
    free(c->detector_node);
    free(c);
    *study_case = NULL;
}

bool pd_case_own(const struct pd_case *c, size_t node)
{
    return pd_network_same_installation(c->network, c->installation, node);
}

bool pd_case_vehicle(const struct pd_case *c, const struct pd_load *load)
{
    return c->charging_point != c->installation &&
           pd_network_same_installation(c->network, c->charging_point, load->node);
}

bool pd_case_on_pen(const struct pd_case *c)
{
    for (size_t i = c->installation; i > 0; i = c->network->node[i].parent)
        if (!c->network->node[i].separate)
            return true;
    return false;
}

double pd_case_electrode(const struct pd_case *c, size_t node)
{
    const struct pd_node *const nodes = c->network->node;
    const size_t pe_node = nodes[node].pe_node;
    double earth_s = 0;
    if (c->mutual_ohm != NULL && pe_node != PD_NONE)
        return pd_ties_together(c->network,
                                &(struct pd_operating){.tie = c->tie,
                                                       .tie_count = c->electrodes.count,
                                                       .mutual_ohm = c->mutual_ohm},
                                pe_node);
    for (size_t i = 0; i < c->electrodes.count; i++)
        if (pd_case_own(c, c->tie[i].node) && nodes[c->tie[i].node].pe_node == pe_node)
            earth_s += 1 / c->tie[i].resistance_ohm;
    return 1 / earth_s;
}
