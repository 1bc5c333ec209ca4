/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/load.h"

#include <math.h>

const char *const pd_system_names[PD_SYSTEMS] = {
    [PD_SINGLE_PHASE] = "single-phase",
    [PD_SPLIT_PHASE] = "split-phase",
    [PD_THREE_PHASE] = "three-phase",
};

const char *const pd_phase_names[PD_PHASES] = {
    [PD_ON_L1] = "L1",   [PD_ON_L2] = "L2",   [PD_ON_L3] = "L3",     [PD_ON_L12] = "L12",
    [PD_ON_L23] = "L23", [PD_ON_L31] = "L31", [PD_ON_L123] = "L123",
};

struct connection {
    size_t count;
    struct {
        int from, to;
    } end[3];
};

static const struct connection connections[PD_PHASES] = {
    [PD_ON_L1] = {1, {{PD_L1, PD_N}}},
    [PD_ON_L2] = {1, {{PD_L2, PD_N}}},
    [PD_ON_L3] = {1, {{PD_L3, PD_N}}},
    [PD_ON_L12] = {1, {{PD_L1, PD_L2}}},
    [PD_ON_L23] = {1, {{PD_L2, PD_L3}}},
    [PD_ON_L31] = {1, {{PD_L3, PD_L1}}},
    [PD_ON_L123] = {3, {{PD_L1, PD_N}, {PD_L2, PD_N}, {PD_L3, PD_N}}},
};

unsigned pd_phase_lines(enum pd_phase phase)
{
    const struct connection *connection = &connections[phase];
    unsigned lines = 0;
    for (size_t i = 0; i < connection->count; i++) {
        lines |= 1u << connection->end[i].from;
        if (connection->end[i].to != PD_N)
            lines |= 1u << connection->end[i].to;
    }
    return lines;
}

double pd_phase_voltage(enum pd_phase phase, enum pd_system system, double nominal_v)
{
    if (connections[phase].end[0].to == PD_N)
        return nominal_v;
    return nominal_v * (system == PD_SPLIT_PHASE ? 2 : sqrt(3));
}

double pd_phase_current(enum pd_phase phase, enum pd_system system, double nominal_v,
                        double power_kw, double power_factor)
{
    const double elements = (double)connections[phase].count;
    const double volts = pd_phase_voltage(phase, system, nominal_v);
    return 1000 * power_kw / (elements * volts * fabs(power_factor));
}

size_t pd_load_elements(const struct pd_load *load, enum pd_system system, double nominal_v,
                        double current_a, struct pd_element element[3])
{
    const struct connection *connection = &connections[load->phase];
    const struct pd_behaviour *const behaviour = load->behaviour;
    const double volts = pd_phase_voltage(load->phase, system, nominal_v);
    const struct pd_point point = {
        .current_a = current_a,
        .nominal_v = volts,
        .turn = pd_turn(load->power_factor),
        .low_v = load->low_v > 0 ? load->low_v : behaviour->low_part * volts,
        .high_v = load->high_v > 0 ? load->high_v : behaviour->high_part * volts,
        .part = {load->part[0], load->part[1], load->part[2]},
    };
    for (size_t i = 0; i < connection->count; i++)
        element[i] = (struct pd_element){
            .from = connection->end[i].from,
            .to = connection->end[i].to,
            .behaviour = behaviour,
            .point = point,
        };
    return connection->count;
}

double complex pd_element_admittance(const struct pd_element *element)
{
    struct pd_draw draw;
    element->behaviour->draw(&element->point, element->point.nominal_v, &draw);
    return draw.current_a / element->point.nominal_v;
}
