/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/case.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "network/read.h"
#include "study/case_coupling.h"
#include "study/case_facts.h"
#include "study/case_files.h"
#include "study/case_notes.h"
#include "study/case_reference.h"
#include "study/manage.h"

struct reading {
    struct pd_case *study_case;
    const char *folder;
    const struct pd_overrides *overrides;
    struct pd_fact fact[PD_QUANTITIES];
    struct pd_cables cables;
    struct pd_errors *errors;
    bool street;   /* there is a sections.csv */
    bool stand_in; /* system or voltage not known: the network is there for the errors only */
};

static enum pd_status missing_table(const struct reading *r, const char *table)
{
    return pd_errors_add(r->errors, PD_ERR_FILE, table, 0, "",
                         "is missing; a case needs case.csv and loads.csv");
}

static enum pd_status read_facts(struct reading *r)
{
    char path[PD_PATH_MAX];
    const struct pd_fact *const loop = &r->fact[PD_Q_LOOP_IMPEDANCE];
    if (!pd_case_has(r->folder, "case.csv"))
        return missing_table(r, "case.csv");
    pd_case_path(r->folder, "case.csv", path);
    enum pd_status status = pd_case_facts_read(path, r->overrides, r->fact, r->errors);
    if (r->street && loop->given)
        status = pd_case_join(
            status, pd_errors_add(r->errors, PD_ERR_INPUT, "case.csv", loop->line, "loop_impedance",
                                  "is for a case without sections.csv; leave the row out, the "
                                  "sections give it"));
    return pd_case_join(status, pd_case_facts_apply(r->study_case, r->fact, r->errors));
}

/* Where the system or its voltage is not known, the tables are read for their errors all the same,
 * into a stand-in that has every line; nothing is worked out with it. */
static enum pd_status new_network(struct reading *r)
{
    struct pd_case *const c = r->study_case;
    const struct pd_fact *const fact = r->fact;
    const bool system_known = fact[PD_Q_SYSTEM].given;
    double nominal_v =
        fact[PD_Q_NOMINAL_VOLTAGE].given ? fact[PD_Q_NOMINAL_VOLTAGE].number : c->limits.nominal_v;
    r->stand_in = !system_known || !(nominal_v > 0);
    if (r->stand_in)
        nominal_v = 1;
    const enum pd_status status =
        pd_network_new((enum pd_system)fact[PD_Q_SYSTEM].choice, nominal_v, &c->network);
    if (status != PD_OK)
        return status;
    if (!system_known)
        c->network->lines = pd_phase_lines(PD_ON_L123);
    return pd_case_facts_source(c, fact, r->errors);
}

/* Without sections.csv: a stiff source, and the loop impedance half in the line, half in the PEN.
 */
static enum pd_status add_supply_section(struct reading *r)
{
    struct pd_case *const c = r->study_case;
    const struct pd_fact *const loop = &r->fact[PD_Q_LOOP_IMPEDANCE];
    const struct pd_section section = {
        .name = "supply",
        .from = "substation",
        .to = "installation",
        .z_ohm = pd_matrix_diagonal(loop->number / 2, loop->number / 2),
        .separate = c->earthing == PD_TN_S,
        .row = loop->line,
    };
    if (!loop->given) {
        const enum pd_status status =
            pd_notes_add(&c->assumptions, "Loop impedance 0 ohm, as case.csv gives none.");
        if (status != PD_OK)
            return status;
    }
    return pd_network_add_section(c->network, &section, r->errors);
}

static enum pd_status read_cables(struct reading *r)
{
    char path[PD_PATH_MAX];
    const enum pd_status status = pd_cables_add_reference(&r->cables, r->errors);
    if (status != PD_OK || !pd_case_has(r->folder, "cables.csv"))
        return status;
    pd_case_path(r->folder, "cables.csv", path);
    return pd_cables_read(path, r->overrides, &r->cables, r->errors);
}

static enum pd_status read_sections(struct reading *r)
{
    struct pd_network *const network = r->study_case->network;
    char path[PD_PATH_MAX];
    enum pd_status status = read_cables(r);
    if (r->street) {
        pd_case_path(r->folder, "sections.csv", path);
        status = pd_case_join(status,
                              pd_sections_read(path, r->overrides, &r->cables, network, r->errors));
    } else {
        status = pd_case_join(status, add_supply_section(r));
    }
    return status == PD_OK ? pd_network_close(network, r->errors) : status;
}

/* Sections with errors leave the network open: then what names a node is not looked up. */
static bool is_closed(const struct reading *r)
{
    return r->study_case->network->node_count > 0;
}

/* A share, or a least current, of a load that does not give way would be passed over in silence. */
static enum pd_status check_management(const struct reading *r)
{
    const struct pd_case *const c = r->study_case;
    enum pd_status status = PD_OK;
    if (!is_closed(r) || c->installation == PD_NONE || c->charging_point == PD_NONE)
        return PD_OK;
    for (size_t i = 0; i < c->network->load_count; i++) {
        const struct pd_load *const load = &c->network->load[i];
        if ((isnan(load->share) && isnan(load->least_a)) || pd_gives_way(c, load))
            continue;
        status = pd_errors_add(r->errors, PD_ERR_INPUT, "loads.csv", load->row,
                               isnan(load->share) ? "least_a" : "share",
                               "is for a load that gives way to demand_limit, of behaviour charger "
                               "or on the charging_point's own node; leave it empty");
    }
    return status;
}

static enum pd_status read_loads(struct reading *r)
{
    char path[PD_PATH_MAX];
    if (!pd_case_has(r->folder, "loads.csv"))
        return missing_table(r, "loads.csv");
    pd_case_path(r->folder, "loads.csv", path);
    const enum pd_status status =
        pd_loads_read(path, r->overrides, r->study_case->network, r->errors);
    return pd_case_join(status, check_management(r));
}

/* Finds the node that a quantity names; *node stays where it is not given. */
static enum pd_status find_place(const struct reading *r, enum pd_quantity quantity, size_t *node)
{
    const struct pd_network *const network = r->study_case->network;
    const struct pd_fact *const fact = &r->fact[quantity];
    if (!fact->given)
        return PD_OK;
    *node = pd_network_find(network, fact->text);
    if (*node != PD_NONE)
        return PD_OK;
    return pd_network_no_node(network, "case.csv", fact->line,
                              quantity == PD_Q_INSTALLATION ? "installation" : "charging_point",
                              fact->text, r->errors);
}

static enum pd_status check_earthing(const struct reading *r)
{
    const struct pd_case *const c = r->study_case;
    if (c->earthing == PD_TN_C_S && r->fact[PD_Q_EARTHING].given && !pd_case_on_pen(c))
        return pd_errors_add(r->errors, PD_ERR_INPUT, "case.csv", r->fact[PD_Q_EARTHING].line,
                             "earthing",
                             "TN-C-S, but every section from the installation to the substation "
                             "has a separate neutral; say TN-S, or mark the PEN sections");
    return PD_OK;
}

static enum pd_status check_places(const struct reading *r)
{
    const struct pd_case *const c = r->study_case;
    if (!pd_case_own(c, c->charging_point))
        return pd_errors_add(r->errors, PD_ERR_INPUT, "case.csv", r->fact[PD_Q_CHARGING_POINT].line,
                             "charging_point",
                             "'%s' is not in the installation '%s': no separate sections lead from "
                             "one to the other",
                             c->network->node[c->charging_point].name,
                             c->network->node[c->installation].name);
    return check_earthing(r);
}

static enum pd_status place(struct reading *r)
{
    struct pd_case *const c = r->study_case;
    const struct pd_fact *const fact = &r->fact[PD_Q_INSTALLATION];
    if (!is_closed(r))
        return PD_OK;
    c->installation = r->street ? PD_NONE : c->network->node_count - 1;
    enum pd_status status = find_place(r, PD_Q_INSTALLATION, &c->installation);
    if (c->installation == 0) {
        c->installation = PD_NONE;
        status = pd_errors_add(r->errors, PD_ERR_INPUT, "case.csv", fact->line, "installation",
                               "'%s' is the substation, where the sections begin; name the node of "
                               "the installation under study",
                               fact->text);
    }
    c->charging_point = c->installation;
    status = pd_case_join(status, find_place(r, PD_Q_CHARGING_POINT, &c->charging_point));
    if (status == PD_OK && c->installation == PD_NONE) {
        c->charging_point = PD_NONE;
        return pd_notes_add(&c->missing, "case.csv does not say which node is under study: add a "
                                         "row installation,<node>,-.");
    }
    if (status == PD_OK)
        status = check_places(r);
    if (status == PD_OK && c->earthing == PD_TT)
        pd_network_isolate_pe(c->network, c->charging_point);
    return status;
}

static enum pd_status attach_electrode(struct reading *r, const struct pd_electrode *e,
                                       struct pd_earth_tie *tie)
{
    struct pd_case *const c = r->study_case;
    *tie = (struct pd_earth_tie){.node = pd_network_find(c->network, e->node_name),
                                 .resistance_ohm = pd_electrode_dry(e)};
    if (tie->node == PD_NONE)
        return pd_network_no_node(c->network, "electrodes.csv", e->row, "node", e->node_name,
                                  r->errors);
    if (isnan(e->resistance_ohm))
        return pd_notes_add(&c->missing,
                            "The resistance of electrode '%s' is not known: measure it, or give "
                            "its shape and soil in electrodes.csv.",
                            e->name);
    return PD_OK;
}

static enum pd_status read_electrodes(struct reading *r)
{
    struct pd_case *const c = r->study_case;
    char path[PD_PATH_MAX];
    enum pd_status status = PD_OK;
    pd_case_path(r->folder, "electrodes.csv", path);
    if (pd_case_has(r->folder, "electrodes.csv"))
        status = pd_electrodes_read(path, r->overrides, &c->electrodes, r->errors);
    c->tie = calloc(c->electrodes.count + 1, sizeof *c->tie);
    if (c->tie == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < c->electrodes.count && is_closed(r); i++)
        status = pd_case_join(status, attach_electrode(r, &c->electrodes.electrode[i], &c->tie[i]));
    return status == PD_OK && is_closed(r) ? pd_case_couple(c, r->errors) : status;
}

static enum pd_status attach_detector(const struct reading *r, const struct pd_detector *d,
                                      size_t *node)
{
    const struct pd_case *const c = r->study_case;
    *node = pd_network_find(c->network, d->node_name);
    if (*node == PD_NONE)
        return pd_network_no_node(c->network, "detectors.csv", d->row, "node", d->node_name,
                                  r->errors);
    if (c->installation != PD_NONE && !pd_case_own(c, *node))
        return pd_errors_add(r->errors, PD_ERR_INPUT, "detectors.csv", d->row, "node",
                             "'%s' is not in the installation under study, '%s'", d->node_name,
                             c->network->node[c->installation].name);
    if (c->charging_point != PD_NONE &&
        !pd_network_same_installation(c->network, *node, c->charging_point))
        return pd_errors_add(r->errors, PD_ERR_INPUT, "detectors.csv", d->row, "node",
                             "the charging point '%s' does not hang on '%s', so a device there "
                             "does not disconnect it; leave it out, or name the node it stands at",
                             c->network->node[c->charging_point].name, d->node_name);
    return PD_OK;
}

static enum pd_status read_detectors(struct reading *r)
{
    struct pd_case *const c = r->study_case;
    char path[PD_PATH_MAX];
    enum pd_status status = PD_OK;
    pd_case_path(r->folder, "detectors.csv", path);
    if (pd_case_has(r->folder, "detectors.csv"))
        status = pd_detectors_read(path, r->overrides, &c->detectors, r->errors);
    c->detector_node = calloc(c->detectors.count + 1, sizeof *c->detector_node);
    if (c->detector_node == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < c->detectors.count && is_closed(r); i++)
        status = pd_case_join(status,
                              attach_detector(r, &c->detectors.detector[i], &c->detector_node[i]));
    return status == PD_OK && is_closed(r) ? pd_case_reference(c) : status;
}

static enum pd_status finish(struct reading *r)
{
    struct pd_case *const c = r->study_case;
    if (r->stand_in) {
        pd_network_free(&c->network);
        c->installation = c->charging_point = PD_NONE;
        return PD_OK;
    }
    return c->installation == PD_NONE ? PD_OK : pd_case_finish(c);
}

/* Puts the tables together. An error in one does not keep the next from being read, as far as it
 * can be understood alone. */
static enum pd_status read_tables(struct reading *r)
{
    static enum pd_status (*const steps[])(struct reading *) = {
        read_facts, new_network, read_sections, place, read_loads, read_electrodes, read_detectors};
    enum pd_status status = pd_case_files_check(r->folder, &r->study_case->assumptions, r->errors);
    if (status == PD_ERR_FILE)
        return status;
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        status = pd_case_join(status, steps[i](r));
        if (status != PD_OK && status != PD_ERR_INPUT && status != PD_ERR_FILE)
            return status;
    }
    return status == PD_OK ? finish(r) : status;
}

/* An override for a table that is not there would be left out in silence. */
static enum pd_status check_overrides(const struct reading *r)
{
    enum pd_status status = PD_OK;
    for (size_t i = 0; r->overrides != NULL && i < r->overrides->count; i++) {
        const char *const table = r->overrides->item[i].at.table;
        if (!pd_case_has(r->folder, table))
            status = pd_errors_add(r->errors, PD_ERR_INPUT, table, 0, "",
                                   "is not in the case, so nothing in it can be varied");
    }
    return status;
}

/* A title to show where the case has none: the folder's own name. */
static void set_title(struct pd_case *c, const char *folder)
{
    size_t end = strlen(folder);
    while (end > 1 && folder[end - 1] == '/')
        end--;
    size_t start = end;
    while (start > 0 && folder[start - 1] != '/')
        start--;
    snprintf(c->title, sizeof c->title, "%.*s", (int)(end - start), folder + start);
}

/* The digests are taken before and after: what was read between two equal ones is theirs. */
static enum pd_status hold_inputs(const char *folder, const struct pd_inputs *before,
                                  struct pd_case *c, struct pd_errors *errors)
{
    const enum pd_status status = pd_inputs_take(folder, &c->inputs, errors);
    return status == PD_OK ? pd_inputs_compare(before, &c->inputs, errors) : status;
}

enum pd_status pd_case_read(const char *folder, struct pd_case **out, struct pd_errors *errors)
{
    struct pd_inputs before;
    struct pd_errors unused = {0}; /* what cannot be read, the readers say in their own words */
    pd_inputs_take(folder, &before, &unused);
    enum pd_status status = pd_case_read_set(folder, NULL, out, errors);
    if (status == PD_OK)
        status = hold_inputs(folder, &before, *out, errors);
    if (status != PD_OK)
        pd_case_free(out);
    return status;
}

enum pd_status pd_case_read_set(const char *folder, const struct pd_overrides *overrides,
                                struct pd_case **out, struct pd_errors *errors)
{
    *out = NULL;
    struct reading *const r = calloc(1, sizeof *r);
    struct pd_case *c = calloc(1, sizeof *c);
    enum pd_status status = PD_ERR_MEMORY;
    if (r != NULL && c != NULL) {
        *r = (struct reading){
            .study_case = c, .folder = folder, .overrides = overrides, .errors = errors};
        r->street = pd_case_has(r->folder, "sections.csv");
        c->limits = (struct pd_limits){.nominal_v = NAN,
                                       .touch_v = NAN,
                                       .band_low_v = NAN,
                                       .band_high_v = NAN,
                                       .time_s = NAN,
                                       .supply_low_v = NAN,
                                       .supply_high_v = NAN,
                                       .rcd_a = NAN};
        c->installation = c->charging_point = PD_NONE;
        set_title(c, folder);
        status = pd_case_join(check_overrides(r), read_tables(r));
        pd_cables_free(&r->cables);
    }
    free(r);
    if (status == PD_OK)
        *out = c;
    else
        pd_case_free(&c);
    return status;
}
