/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "street.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "stopwatch.h"

enum { TIE_EVERY = 8, NAME = 32 };
static const double nominal_v = 230, supply_v = 240;

/* Aluminium four-core main of 185 mm2, 20 m; copper service of 25 mm2, 15 m: resistance by
 * IEC 60228 class 2 (0.164 and 0.727 ohm/km at 20 C), reactance 0.074 and 0.08 ohm/km as is common,
 * no source. */
static const double complex main_ohm = CMPLX(0.00328, 0.00148);
static const double complex service_ohm = CMPLX(0.010905, 0.0012);

static void add_section(struct pd_network *network, const char *from, const char *to,
                        double complex ohm)
{
    const struct pd_section section = {
        .name = to, .from = from, .to = to, .z_ohm = pd_matrix_diagonal(ohm, ohm)};
    must(pd_network_add_section(network, &section, NULL) == PD_OK, "no section could be added");
}

static void lay_sections(const struct street_plan *plan, struct pd_network *network)
{
    char from[NAME], joint[NAME], house[NAME];
    for (size_t i = 0; i < plan->houses; i++) {
        if (i % plan->per_feeder == 0)
            snprintf(from, sizeof from, "substation");
        else
            snprintf(from, sizeof from, "joint%zu", i - 1);
        snprintf(joint, sizeof joint, "joint%zu", i);
        snprintf(house, sizeof house, "house%zu", i);
        add_section(network, from, joint, main_ohm);
        add_section(network, joint, house, service_ohm);
    }
    must(pd_network_close(network, NULL) == PD_OK, "the street is no tree");
}

static const struct pd_behaviour *behaviour_of(const struct street_plan *plan, size_t house)
{
    const bool settles =
        house * plan->settling / plan->houses != (house + 1) * plan->settling / plan->houses;
    size_t k = 0;
    while (k + 1 < pd_behaviour_count && strcmp(pd_behaviours[k]->name, "current") != 0)
        k++;
    return settles ? pd_behaviours[k] : pd_behaviours[0];
}

static void connect_houses(const struct street_plan *plan, struct pd_network *network)
{
    for (size_t i = 0; i < plan->houses; i++) {
        char house[NAME];
        snprintf(house, sizeof house, "house%zu", i);
        const struct pd_load load = {.name = house,
                                     .phase = (enum pd_phase)(PD_ON_L1 + i % PD_LINES),
                                     .behaviour = behaviour_of(plan, i),
                                     .power_factor = 0.97};
        must(pd_network_add_load(network, &load, house, NULL) == PD_OK, "no load could be added");
    }
}

static size_t drive_electrodes(const struct street_plan *plan, struct street *street)
{
    size_t count = 0;
    street->tie = calloc(plan->houses / TIE_EVERY + 2, sizeof *street->tie);
    must(street->tie != NULL, "out of memory");
    for (size_t i = 0; i < plan->houses; i++) {
        if (i % TIE_EVERY != TIE_EVERY - 1 && i + 1 != plan->houses)
            continue;
        char joint[NAME];
        snprintf(joint, sizeof joint, "joint%zu", i);
        street->tie[count++] = (struct pd_earth_tie){
            .node = pd_network_find(street->network, joint), .resistance_ohm = 60};
    }
    return count;
}

/* By a multiplicative hash. */
double street_house_a(size_t state, size_t house)
{
    const uint64_t mixed = ((uint64_t)state << 20 | (house + 1)) * UINT64_C(0x9e3779b97f4a7c15);
    return 0.5 + 9.5 * (double)(mixed >> 11) * 0x1p-53;
}

static void fill_states(struct street *street, size_t tie_count)
{
    const size_t count = street->network->load_count;
    for (size_t s = 0; s < STREET_STATES; s++) {
        street->load_a[s] = calloc(count, sizeof *street->load_a[s]);
        must(street->load_a[s] != NULL, "out of memory");
        for (size_t i = 0; i < count; i++)
            street->load_a[s][i] = street_house_a(s, i);
        street->operating[s] = (struct pd_operating){.load_a = street->load_a[s],
                                                     .tie = street->tie,
                                                     .tie_count = tie_count,
                                                     .supply_v = supply_v};
    }
}

void street_new(const struct street_plan *plan, struct street *street)
{
    *street = (struct street){0};
    must(pd_network_new(PD_THREE_PHASE, nominal_v, &street->network) == PD_OK, "out of memory");
    street->network->source.z_ohm = CMPLX(0.005, 0.017);
    street->network->source.electrode_ohm = 5;
    lay_sections(plan, street->network);
    connect_houses(plan, street->network);
    fill_states(street, drive_electrodes(plan, street));
}

void street_free(struct street *street)
{
    pd_network_free(&street->network);
    free(street->tie);
    for (size_t s = 0; s < STREET_STATES; s++)
        free(street->load_a[s]);
    *street = (struct street){0};
}

double street_difference(const struct street *street, const double complex (*a)[PD_CONDUCTORS],
                         const double complex (*b)[PD_CONDUCTORS])
{
    double worst = 0;
    for (size_t i = 0; i < street->network->node_count; i++)
        for (int c = 0; c < PD_CONDUCTORS; c++) {
            const double apart = cabs(a[i][c] - b[i][c]) / supply_v;
            if (!(apart <= worst))
                worst = isnan(apart) ? INFINITY : apart;
        }
    return worst;
}

size_t street_section(const struct street *street, size_t i, size_t count)
{
    const size_t sections = street->network->node_count - 1;
    return 1 + i % count * sections / count;
}
