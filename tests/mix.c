/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "mix.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const struct pd_behaviour *behaviour(const char *name)
{
    for (size_t i = 0; i < pd_behaviour_count; i++)
        if (strcmp(pd_behaviours[i]->name, name) == 0)
            return pd_behaviours[i];
    fail_msg("no behaviour '%s'", name);
    return NULL;
}

/* Shares of 0 are as likely as others. */
static void share_out(struct stream *stream, double part[3])
{
    double sum = 0;
    for (int i = 0; i < 3; i++)
        sum += part[i] = stream_below(stream, 3) == 0 ? 0 : stream_uniform(stream, 0.01, 1);
    for (int i = 0; i < 3; i++)
        part[i] = sum > 0 ? part[i] / sum : i == 0;
}

void mix_behaviours(struct stream *stream, struct grown *grown, bool windows)
{
    static const char *const names[] = {"impedance", "current",          "power",         "mixture",
                                        "charger",   "inverter-current", "inverter-power"};
    for (size_t i = 0; i < grown->network->load_count; i++) {
        struct pd_load *const load = &grown->network->load[i];
        load->behaviour = behaviour(names[stream_below(stream, windows ? 7 : 4)]);
        share_out(stream, load->part);
        load->low_v = load->high_v = NAN;
        if (stream_below(stream, 2) == 0)
            continue;
        const double un =
            pd_phase_voltage(load->phase, grown->network->system, grown->network->nominal_v);
        const bool window = oracle_has_window(load);
        load->low_v = un * (window ? stream_uniform(stream, 0.5, 0.95)
                                   : exp(stream_uniform(stream, log(0.02), log(1.3))));
        load->high_v = un * stream_uniform(stream, 1.02, 1.5);
    }
}

static int pick_line(struct stream *stream, unsigned lines)
{
    for (;;) {
        const int line = (int)stream_below(stream, PD_LINES);
        if ((lines >> line & 1u) != 0)
            return line;
    }
}

void mix_bridge(struct stream *stream, struct grown *grown)
{
    const size_t node = stream_below(stream, grown->network->node_count);
    grown->operating.bridge =
        (struct pd_bridge){.node = node,
                           .line = pick_line(stream, grown->network->node[node].lines),
                           .admittance_s = exp(stream_uniform(stream, log(1e-3), log(10)))};
}

struct pd_cut mix_cut(struct stream *stream, const struct pd_network *network)
{
    struct pd_cut cut = grow_cut(stream, network, (enum pd_cut_kind)stream_below(stream, 4));
    cut.line = pick_line(stream, network->node[cut.section].lines);
    return cut;
}

/* Loads with a window and a current. */
static size_t list_windows(const struct grown *grown, size_t *load)
{
    size_t count = 0;
    for (size_t i = 0; i < grown->network->load_count; i++)
        if (oracle_has_window(&grown->network->load[i]) && grown->load_a[i] > 0)
            load[count++] = i;
    return count;
}

/* On and outside is not an answer; off, there is nothing to ask. */
static bool windows_hold(const struct grown *grown, const struct pd_solution *solution,
                         const bool *off)
{
    for (size_t i = 0; i < grown->network->load_count; i++) {
        const struct pd_load *const load = &grown->network->load[i];
        for (size_t k = 0; k < oracle_elements(load) && grown->load_a[i] > 0; k++) {
            const int *const ends = oracle_ends(load, k);
            const double complex *const v = solution->v[load->node];
            if (!off[i] && !oracle_inside(grown->network, load, v[ends[0]] - v[ends[1]]))
                return false;
        }
    }
    return true;
}

static size_t elements_off(const struct grown *grown, const bool *off)
{
    size_t count = 0;
    for (size_t i = 0; i < grown->network->load_count; i++)
        count += off[i] ? oracle_elements(&grown->network->load[i]) : 0;
    return count;
}

double mix_find_off(const struct grown *grown, const struct pd_cut *cut,
                    const struct pd_solution *solution, bool *off)
{
    size_t window[MIX_LOADS];
    const size_t loads = grown->network->load_count;
    assert_true(loads <= MIX_LOADS);
    const size_t count = list_windows(grown, window);
    const struct oracle_case c = {grown->network, &grown->operating, cut, off};
    double least = NAN;
    for (uint64_t choice = 0; choice < UINT64_C(1) << count; choice++) {
        memset(off, 0, loads * sizeof *off);
        for (size_t i = 0; i < count; i++)
            off[window[i]] = (choice >> i & 1u) != 0;
        if (elements_off(grown, off) != solution->let_go || !windows_hold(grown, solution, off))
            continue;
        least =
            fmin(least, oracle_residual(&c, (const double complex(*)[PD_CONDUCTORS])solution->v));
        if (least <= PD_RESIDUAL_MAX)
            return least;
    }
    return least;
}
