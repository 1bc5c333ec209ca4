/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/selftest_star.h"

#include <math.h>

#include "solve/millman.h"
#include "solve/tree.h"

const char *const pd_star_quantity_names[PD_STAR_QUANTITIES] = {
    [PD_STAR_UN_V] = "un_v",           [PD_STAR_UN_DEG] = "un_deg",
    [PD_STAR_LINE1_V] = "line1_v",     [PD_STAR_LINE2_V] = "line2_v",
    [PD_STAR_LINE3_V] = "line3_v",     [PD_STAR_POWER_W] = "power_w",
    [PD_STAR_NEUTRAL_A] = "neutral_a", [PD_STAR_ELECTRODE_MAX_OHM] = "electrode_max_ohm",
};

/* A star as a network: substation, one stiff section, an installation with a load on each line. */
struct setup {
    struct pd_network *network;
    size_t installation;
    double load_a[PD_LINES];
    struct pd_star star;
    double supply_v;
    double earth_ohm; /* INFINITY: none */
    double limit_v;
};

static bool read_supply(const struct pd_inputs *inputs, enum pd_system *system, double *phase_v)
{
    const double phases = inputs->value[PD_I_PHASES];
    const double between_v = inputs->value[PD_I_BETWEEN_V];
    *phase_v = inputs->value[PD_I_PHASE_V];
    if (phases == 1)
        *system = PD_SINGLE_PHASE;
    else if (phases == 2)
        *system = PD_SPLIT_PHASE;
    else if (phases == 3)
        *system = PD_THREE_PHASE;
    else
        return false;
    if (!isnan(between_v) && (phases == 1 || !isnan(*phase_v)))
        return false;
    if (!isnan(between_v))
        *phase_v = between_v / (phases == 2 ? 2 : sqrt(3));
    return *phase_v > 0;
}

/* A load from its power or its impedance; false where both are given, or an angle alone. */
static bool read_load(const struct pd_inputs *inputs, int line, double phase_v,
                      struct pd_load *load)
{
    const double power_w = inputs->value[PD_I_P_W + line];
    const double z_ohm = inputs->value[PD_I_Z_OHM + line];
    const double z_deg = inputs->value[PD_I_Z_DEG + line];
    const double at_v = isnan(inputs->value[PD_I_AT_V]) ? phase_v : inputs->value[PD_I_AT_V];
    load->power_factor = 1;
    load->present_a = 0;
    if (!isnan(power_w) && isnan(z_ohm) && isnan(z_deg))
        load->present_a = power_w / (at_v * at_v) * phase_v;
    else if (isnan(power_w) && z_ohm > 0)
        load->present_a = phase_v / z_ohm;
    else
        return isnan(power_w) && isnan(z_ohm) && isnan(z_deg);
    if (!isnan(z_deg))
        load->power_factor = copysign(cos(z_deg * M_PI / 180), z_deg);
    return load->present_a >= 0 && load->power_factor != 0;
}

static enum pd_status add_loads(struct setup *setup, const struct pd_inputs *inputs)
{
    static const char *const names[PD_LINES] = {"one", "two", "three"};
    for (int line = PD_L1; line < PD_LINES; line++) {
        struct pd_load load = {.name = names[line],
                               .phase = (enum pd_phase)(PD_ON_L1 + line),
                               .behaviour = pd_behaviours[0]};
        if (!read_load(inputs, line, setup->supply_v, &load))
            return PD_ERR_ARGUMENT;
        if (load.present_a == 0)
            continue;
        setup->load_a[setup->network->load_count] = load.present_a;
        const enum pd_status status =
            pd_network_add_load(setup->network, &load, "installation", NULL);
        if (status != PD_OK)
            return status == PD_ERR_INPUT ? PD_ERR_ARGUMENT : status;
    }
    return setup->network->load_count > 0 ? PD_OK : PD_ERR_ARGUMENT;
}

static enum pd_status build(struct setup *setup, const struct pd_inputs *inputs)
{
    enum pd_system system;
    *setup = (struct setup){.limit_v = inputs->value[PD_I_LIMIT_V],
                            .earth_ohm = inputs->value[PD_I_EARTH_OHM]};
    if (!read_supply(inputs, &system, &setup->supply_v))
        return PD_ERR_ARGUMENT;
    if (isnan(setup->earth_ohm))
        setup->earth_ohm = INFINITY;
    const struct pd_section section = {
        .name = "supply", .from = "substation", .to = "installation"};
    enum pd_status status = pd_network_new(system, setup->supply_v, &setup->network);
    if (status == PD_OK)
        status = pd_network_add_section(setup->network, &section, NULL);
    if (status == PD_OK)
        status = pd_network_close(setup->network, NULL);
    if (status == PD_OK)
        status = add_loads(setup, inputs);
    if (status != PD_OK)
        return status;
    setup->installation = pd_network_find(setup->network, "installation");
    setup->star = pd_star_of(setup->network, setup->installation, setup->load_a, setup->supply_v);
    return PD_OK;
}

/* A quantity from the neutral's potential and the lines' at the installation. */
static double measure(const struct setup *setup, enum pd_star_quantity quantity,
                      const double complex v[PD_CONDUCTORS])
{
    double power_w = 0;
    double complex neutral_a = 0;
    switch (quantity) {
    case PD_STAR_UN_V:
        return cabs(v[PD_N]);
    case PD_STAR_UN_DEG:
        return carg(v[PD_N]) * 180 / M_PI;
    case PD_STAR_LINE1_V:
    case PD_STAR_LINE2_V:
    case PD_STAR_LINE3_V:
        return cabs(v[quantity - PD_STAR_LINE1_V] - v[PD_N]);
    case PD_STAR_POWER_W:
    case PD_STAR_NEUTRAL_A:
        for (int line = PD_L1; line < PD_LINES; line++) {
            const double complex across_v = v[line] - v[PD_N];
            power_w += creal(across_v * conj(across_v * setup->star.y_s[line]));
            neutral_a += across_v * setup->star.y_s[line];
        }
        return quantity == PD_STAR_POWER_W ? power_w : cabs(neutral_a);
    case PD_STAR_ELECTRODE_MAX_OHM:
        break;
    }
    return NAN;
}

static double by_millman(const struct setup *setup, enum pd_star_quantity quantity)
{
    if (quantity == PD_STAR_ELECTRODE_MAX_OHM)
        return pd_star_electrode_max(&setup->star, setup->limit_v);
    double complex v[PD_CONDUCTORS];
    for (int line = PD_L1; line < PD_LINES; line++)
        v[line] = setup->star.emf_v[line];
    v[PD_N] = quantity == PD_STAR_NEUTRAL_A
                  ? 0
                  : pd_star_displacement(&setup->star, 1 / setup->earth_ohm);
    return measure(setup, quantity, v);
}

/* What the tree engine works with for one check. */
struct engine {
    struct pd_tree *tree;
    struct pd_solution solution;
};

static double tree_measure(const struct setup *setup, struct engine *engine,
                           enum pd_star_quantity quantity, double earth_ohm)
{
    const struct pd_earth_tie tie = {.node = setup->installation, .resistance_ohm = earth_ohm};
    const struct pd_operating operating = {
        .load_a = setup->load_a, .tie = &tie, .tie_count = 1, .supply_v = setup->supply_v};
    const struct pd_cut cut = {.kind = quantity == PD_STAR_NEUTRAL_A ? PD_CUT_NONE : PD_CUT_OPEN,
                               .section = setup->installation};
    if (pd_tree_factor(engine->tree, &operating) != PD_OK ||
        pd_tree_solve(engine->tree, &cut, &engine->solution) != PD_OK ||
        engine->solution.standing != PD_SOLVED)
        return NAN;
    return measure(setup, quantity, engine->solution.v[setup->installation]);
}

/* The tree engine has no formula for it: halves the logarithm of a range until the neutral is at
 * the limit. */
static double tree_electrode_max(const struct setup *setup, struct engine *engine)
{
    double low = log(1e-3), high = log(1e6);
    for (int i = 0; i < 80; i++) {
        const double middle = (low + high) / 2;
        const double un_v = tree_measure(setup, engine, PD_STAR_UN_V, exp(middle));
        if (isnan(un_v))
            return NAN;
        if (un_v <= setup->limit_v)
            low = middle;
        else
            high = middle;
    }
    return exp(low);
}

static enum pd_status by_tree(const struct setup *setup, enum pd_star_quantity quantity,
                              double *got)
{
    struct engine engine = {0};
    enum pd_status status = pd_tree_new(setup->network, &engine.tree);
    if (status == PD_OK)
        status = pd_solution_new(setup->network, &engine.solution);
    if (status == PD_OK)
        *got = quantity == PD_STAR_ELECTRODE_MAX_OHM
                   ? tree_electrode_max(setup, &engine)
                   : tree_measure(setup, &engine, quantity, setup->earth_ohm);
    pd_solution_free(&engine.solution);
    pd_tree_free(&engine.tree);
    return status;
}

enum pd_status pd_selftest_star(const struct pd_inputs *inputs, enum pd_star_quantity quantity,
                                struct pd_selftest_result *result)
{
    struct setup setup;
    enum pd_status status = build(&setup, inputs);
    if (status == PD_OK && quantity == PD_STAR_ELECTRODE_MAX_OHM && !(setup.limit_v > 0))
        status = PD_ERR_ARGUMENT;
    if (status == PD_OK) {
        result->roads = 2;
        result->road[0] = "closed form";
        result->road[1] = "tree engine";
        result->got[0] = by_millman(&setup, quantity);
        status = by_tree(&setup, quantity, &result->got[1]);
    }
    pd_network_free(&setup.network);
    return status;
}
