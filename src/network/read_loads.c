/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "network/read.h"
#include "network/read_behaviour.h"
#include "table/table.h"
#include "table/words.h"

enum column {
    LOAD,
    NODE,
    PHASE,
    CURRENT,
    POWER,
    POWER_FACTOR,
    MIN_CURRENT,
    MAX_CURRENT,
    MIN_POWER,
    MAX_POWER,
    SHARE,
    LEAST,
    BEHAVIOUR, /* and its own columns, see read_behaviour.h */
    COLUMNS = BEHAVIOUR + PD_BEHAVIOUR_COLUMNS
};

static const struct pd_column columns[COLUMNS] = {
    [LOAD] = {"load", true},
    [NODE] = {"node", true},
    [PHASE] = {"phase", false},
    [CURRENT] = {"current_a", false},
    [POWER] = {"power_kw", false},
    [POWER_FACTOR] = {"power_factor", false},
    [MIN_CURRENT] = {"min_current_a", false},
    [MAX_CURRENT] = {"max_current_a", false},
    [MIN_POWER] = {"min_power_kw", false},
    [MAX_POWER] = {"max_power_kw", false},
    [SHARE] = {"share", false},
    [LEAST] = {"least_a", false},
    [BEHAVIOUR + PD_BEHAVIOUR_NAME] = {"behaviour", false},
    [BEHAVIOUR + PD_BEHAVIOUR_LOW] = {"low_v", false},
    [BEHAVIOUR + PD_BEHAVIOUR_HIGH] = {"high_v", false},
    [BEHAVIOUR + PD_BEHAVIOUR_MIXTURE] = {"mixture", false},
    [BEHAVIOUR + PD_BEHAVIOUR_IMPEDANCE] = {"impedance_part", false},
    [BEHAVIOUR + PD_BEHAVIOUR_CURRENT] = {"current_part", false},
    [BEHAVIOUR + PD_BEHAVIOUR_POWER] = {"power_part", false},
    [BEHAVIOUR + PD_BEHAVIOUR_TRIP] = {"trip_s", false},
    [BEHAVIOUR + PD_BEHAVIOUR_RECONNECT] = {"reconnect_s", false},
};

static const struct pd_range sizes = {0, PD_LOAD_MOST, NULL};

static bool read_phase(const struct pd_row *row, enum pd_system system, struct pd_load *load,
                       struct pd_errors *errors)
{
    size_t phase = PD_ON_L1;
    if (!pd_row_has(row, PHASE) && system == PD_SINGLE_PHASE)
        return true;
    if (!pd_row_choice(row, PHASE, pd_phase_names, PD_PHASES, &phase, errors))
        return false;
    load->phase = (enum pd_phase)phase;
    return true;
}

static bool read_power_factor(const struct pd_row *row, struct pd_load *load,
                              struct pd_errors *errors)
{
    const struct pd_range any = {-INFINITY, INFINITY, NULL};
    double factor = 1;
    load->power_factor = 1;
    if (!pd_row_number_or_keep(row, POWER_FACTOR, any, &factor, errors))
        return false;
    if (!(fabs(factor) >= 0.05 && fabs(factor) <= 1)) {
        pd_row_error(row, POWER_FACTOR, errors,
                     "%s is out of range: 0.05 to 1 lagging, -1 to -0.05 leading",
                     pd_show(pd_row_text(row, POWER_FACTOR)).text);
        return false;
    }
    load->power_factor = factor;
    return true;
}

/* Which of the two quantities the row is given in; COLUMNS, with an error, where that is not clear.
 */
static enum column quantity(const struct pd_row *row, struct pd_errors *errors)
{
    const bool amps =
        pd_row_has(row, CURRENT) || pd_row_has(row, MIN_CURRENT) || pd_row_has(row, MAX_CURRENT);
    const bool power =
        pd_row_has(row, POWER) || pd_row_has(row, MIN_POWER) || pd_row_has(row, MAX_POWER);
    if (amps && power) {
        pd_row_error(row, POWER, errors,
                     "give the load and its range in current_a or in power_kw, not in both");
        return COLUMNS;
    }
    if (pd_row_has(row, CURRENT) || pd_row_has(row, POWER))
        return amps ? CURRENT : POWER;
    pd_row_error(row, CURRENT, errors, "is empty; give current_a or power_kw, the present value");
    return COLUMNS;
}

/* The end of the declared range in column `end`; the present value where that is empty. */
static bool read_end(const struct pd_row *row, enum column now, double present, enum column end,
                     double *value, struct pd_errors *errors)
{
    const bool is_low = end == MIN_CURRENT || end == MIN_POWER;
    *value = present;
    if (!pd_row_number_or_keep(row, end, sizes, value, errors))
        return false;
    if (!(is_low ? *value > present : *value < present))
        return true;
    pd_row_error(row, end, errors, "%s is %s the present value, %s %s",
                 pd_show(pd_row_text(row, end)).text, is_low ? "above" : "below", columns[now].name,
                 pd_show(pd_row_text(row, now)).text);
    return false;
}

static bool read_size(const struct pd_row *row, const struct pd_network *network,
                      struct pd_load *load, struct pd_errors *errors)
{
    const enum column now = quantity(row, errors);
    if (now == COLUMNS)
        return false;
    double present = NAN, least, most; /* compared with NaN, no end is on the wrong side */
    bool good = pd_row_number(row, now, sizes, &present, errors);
    good &= read_end(row, now, present, now == CURRENT ? MIN_CURRENT : MIN_POWER, &least, errors);
    good &= read_end(row, now, present, now == CURRENT ? MAX_CURRENT : MAX_POWER, &most, errors);
    const double amps_each = now == CURRENT
                                 ? 1
                                 : pd_phase_current(load->phase, network->system,
                                                    network->nominal_v, 1, load->power_factor);
    load->unit_a = amps_each;
    load->in_kw = now == POWER;
    load->present_a = present * amps_each;
    load->low_a = least * amps_each;
    load->high_a = most * amps_each;
    return good;
}

/* What counts where load management brings the load down. */
static bool read_management(const struct pd_row *row, struct pd_load *load,
                            struct pd_errors *errors)
{
    const struct pd_range shares = {0, 1000, NULL};
    load->share = load->least_a = NAN;
    const bool good = pd_row_number_or_keep(row, SHARE, shares, &load->share, errors);
    return pd_row_number_or_keep(row, LEAST, sizes, &load->least_a, errors) && good;
}

struct reading {
    struct pd_network *network;
    struct pd_mixtures mixtures;
    bool any; /* also a wrong row is one */
};

/* The voltage across an element, NaN where the network is a stand-in with a voltage that no network
 * has, because the case gives none (case.csv takes 50 V or more). */
static double element_voltage(const struct pd_network *network, enum pd_phase phase)
{
    if (!(network->nominal_v >= 50))
        return NAN;
    return pd_phase_voltage(phase, network->system, network->nominal_v);
}

static enum pd_status read_load(const struct pd_row *row, const struct reading *reading,
                                struct pd_errors *errors)
{
    struct pd_network *const network = reading->network;
    struct pd_load load = {.row = row->line};
    load.name = pd_row_name(row, LOAD, errors);
    const char *const node = pd_row_name(row, NODE, errors);
    bool good = load.name != NULL && node != NULL;
    const bool has_phase = read_phase(row, network->system, &load, errors);
    const double volts = has_phase ? element_voltage(network, load.phase) : NAN;
    good &= has_phase;
    good &= pd_behaviour_read(row, BEHAVIOUR, &reading->mixtures, volts, &load, errors);
    /* The size of a load given in power needs its power factor. */
    good &= read_power_factor(row, &load, errors);
    good &= read_size(row, network, &load, errors);
    good &= read_management(row, &load, errors);
    if (good)
        return pd_network_add_load(network, &load, node, errors);
    if (node != NULL && network->node_count > 0 && pd_network_find(network, node) == PD_NONE)
        return pd_network_no_node(network, row->table, row->line, "node", node, errors);
    return PD_ERR_INPUT;
}

static enum pd_status read_row(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct reading *const reading = context;
    reading->any = true;
    return read_load(row, reading, errors);
}

enum pd_status pd_loads_read(const char *path, const struct pd_overrides *overrides,
                             struct pd_network *network, struct pd_errors *errors)
{
    const char *const table = "loads.csv";
    struct reading reading = {.network = network};
    enum pd_status status = pd_mixtures_add_reference(&reading.mixtures, errors);
    if (status == PD_OK)
        status =
            pd_table_read_set(path, overrides, table, columns, COLUMNS, read_row, &reading, errors);
    pd_mixtures_free(&reading.mixtures);
    if (status == PD_OK && !reading.any)
        return pd_errors_add(errors, PD_ERR_INPUT, table, 0, "",
                             "has no loads; without one nothing can be determined");
    return status;
}
