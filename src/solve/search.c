/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/search.h"

#include "solve/newton.h"

bool pd_search_has(const struct pd_search *search, int start)
{
    return start < PD_START_DISPLACED ||
           (pd_cut_parts_neutral(search->cut) &&
            search->network->source.unit_emf[start - PD_START_DISPLACED] != 0);
}

double complex pd_search_start_v(const struct pd_search *search, int start,
                                 const struct pd_port *port)
{
    double complex emf[PD_CONDUCTORS];
    pd_emf_at(search->network, search->supply_v, emf);
    const double complex part = start == PD_START_LOW         ? CMPLX(0.1, 0.25)
                                : start == PD_START_COLLAPSED ? CMPLX(0.01, 0.001)
                                                              : 1;
    if (start >= PD_START_DISPLACED &&
        pd_network_downstream(search->network, search->cut->section, port->node))
        emf[PD_N] = emf[start - PD_START_DISPLACED];
    return part * (emf[port->element->from] - emf[port->element->to]);
}

/* Iteration is drawn to the same answer from far around; Newton's method to the nearest, among them
 * those that iteration is driven away from. So the later starts, which are there to find another
 * answer, begin with it. */
bool pd_search_attempt(int start, size_t ports, int number, struct pd_attempt *attempt)
{
    enum { DAMPINGS = 3 };
    static const double damping[DAMPINGS] = {1, 0.4, 0.15};
    const bool newton_first = start >= PD_START_LOW && ports <= PD_NEWTON_FEW;
    const int at = newton_first ? number - 1 : number;
    if (number > DAMPINGS)
        return false;
    *attempt = at >= 0 && at < DAMPINGS ? (struct pd_attempt){PD_BY_ITERATION, damping[at]}
                                        : (struct pd_attempt){.method = PD_BY_NEWTON};
    return true;
}

/* At a voltage without bound constant power draws nothing: the iteration stands still there, and no
 * law is broken by more than a rounding. That is no answer. */
bool pd_search_bounded(const struct pd_search *search, const double complex *u, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!(cabs(u[i]) <= PD_SEARCH_BOUND * search->supply_v))
            return false;
    return true;
}

enum pd_standing pd_search_stands(enum pd_standing before, bool same)
{
    if (!same)
        return PD_AMBIGUOUS;
    return before == PD_UNCONVERGED ? PD_SOLVED : before;
}
