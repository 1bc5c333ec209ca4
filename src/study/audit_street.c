/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/audit_street.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study/case_notes.h"

enum { OWN_MOST = 1 + PD_LINES, KEPT = 256 };

/* All of a site that an answer rests on. */
struct key {
    double number[3 * OWN_MOST + 8];
    int word[OWN_MOST + 6];
};

struct kept {
    struct key key;
    bool used;
    struct pd_street_answer answer;
};

struct pd_street {
    struct pd_case *c;
    size_t others;                /* loads that are not the site's: they come first */
    size_t electrodes;            /* the same */
    struct pd_load own[OWN_MOST]; /* names and node, for the site's */
    struct kept kept[KEPT];
};

static enum pd_status refuse(const char *folder, const char *what, struct pd_errors *errors)
{
    return pd_errors_add(errors, PD_ERR_INPUT, folder, 0, "", "%s", what);
}

/* Keeps the neighbours' loads, and makes room for the site's behind them. */
static enum pd_status replace_loads(struct pd_street *s)
{
    static const char *const names[OWN_MOST] = {"site: vehicle", "site: L1", "site: L2",
                                                "site: L3"};
    struct pd_network *const network = s->c->network;
    const unsigned lines = network->node[s->c->installation].lines;
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < network->load_count; i++)
        if (!pd_case_own(s->c, network->load[i].node))
            network->load[s->others++] = network->load[i];
    network->load_count = s->others;
    for (int i = 0; i < OWN_MOST && status == PD_OK; i++) {
        const struct pd_load load = {.name = names[i],
                                     .phase = lines & 1   ? PD_ON_L1
                                              : lines & 2 ? PD_ON_L2
                                                          : PD_ON_L3,
                                     .behaviour = pd_behaviours[0],
                                     .power_factor = 1,
                                     .share = NAN,
                                     .least_a = NAN};
        const size_t node = i == 0 ? s->c->charging_point : s->c->installation;
        status = pd_network_add_load(network, &load, network->node[node].name, NULL);
        if (status == PD_OK)
            s->own[i] = network->load[network->load_count - 1];
    }
    return status;
}

static enum pd_status replace_devices(struct pd_street *s)
{
    struct pd_case *const c = s->c;
    struct pd_electrode *const electrode =
        reallocarray(c->electrodes.electrode, c->electrodes.count + 1, sizeof *electrode);
    if (electrode == NULL)
        return PD_ERR_MEMORY;
    c->electrodes.electrode = electrode;
    for (size_t i = 0; i < c->electrodes.count; i++)
        if (!pd_case_own(c, c->tie[i].node)) {
            electrode[s->electrodes] = electrode[i];
            c->tie[s->electrodes++] = c->tie[i];
        }
    struct pd_detector *const detector = reallocarray(c->detectors.detector, 1, sizeof *detector);
    if (detector == NULL)
        return PD_ERR_MEMORY;
    c->detectors.detector = detector;
    c->detector_node[0] = c->charging_point; /* room for one more than there were */
    return PD_OK;
}

static enum pd_status prepare(struct pd_street *s, const char *folder,
                              const struct pd_limits *limits, struct pd_errors *errors)
{
    enum pd_status status = pd_case_read(folder, &s->c, errors);
    if (status != PD_OK)
        return status;
    if (s->c->missing.count > 0)
        return refuse(folder, s->c->missing.text[0], errors);
    if (s->c->earthing != PD_TN_C_S)
        return refuse(folder, "the street's installation must be on TN-C-S", errors);
    if (s->c->network->nominal_v != limits->nominal_v)
        return refuse(folder, "the street has another nominal voltage than the limit set", errors);
    s->c->limits = *limits;
    status = replace_loads(s);
    return status == PD_OK ? replace_devices(s) : status;
}

enum pd_status pd_street_new(const char *folder, const struct pd_limits *limits,
                             struct pd_street **out, struct pd_errors *errors)
{
    struct pd_street *s = *out = calloc(1, sizeof *s);
    if (s == NULL)
        return PD_ERR_MEMORY;
    const enum pd_status status = prepare(s, folder, limits, errors);
    if (status != PD_OK)
        pd_street_free(out);
    return status;
}

void pd_street_free(struct pd_street **street)
{
    if (*street != NULL)
        pd_case_free(&(*street)->c);
    free(*street);
    *street = NULL;
}

/* A single-phase site goes on the first line of the service, whatever it calls its own. */
static enum pd_phase phase_of(const struct pd_street *s, const struct pd_case *site,
                              enum pd_phase phase)
{
    const unsigned lines = s->c->network->node[s->c->installation].lines;
    if (site->network->system != PD_SINGLE_PHASE)
        return phase;
    return lines & 1 ? PD_ON_L1 : lines & 2 ? PD_ON_L2 : PD_ON_L3;
}

/* Puts the site's loads behind the neighbours'; false where a line is not there. */
static bool put_loads(struct pd_street *s, const struct pd_case *site)
{
    struct pd_network *const network = s->c->network;
    const unsigned lines =
        network->node[s->c->installation].lines & network->node[s->c->charging_point].lines;
    network->load_count = s->others;
    if (site->network->system != PD_SINGLE_PHASE && site->network->system != network->system)
        return false;
    for (size_t i = 0; i < site->network->load_count; i++) {
        const struct pd_load *const from = &site->network->load[i];
        struct pd_load *const to = &network->load[network->load_count];
        *to = s->own[pd_case_vehicle(site, from) ? 0 : 1 + i % PD_LINES];
        to->phase = phase_of(s, site, from->phase);
        to->behaviour = from->behaviour;
        to->present_a = from->present_a;
        to->low_a = from->low_a;
        to->high_a = from->high_a;
        if ((pd_phase_lines(to->phase) & ~lines) != 0)
            return false;
        network->load_count++;
    }
    return network->load_count > s->others;
}

static void put_devices(struct pd_street *s, const struct pd_case *site)
{
    struct pd_case *const c = s->c;
    c->electrodes.count = s->electrodes + site->electrodes.count;
    if (site->electrodes.count > 0) {
        c->electrodes.electrode[s->electrodes] = site->electrodes.electrode[0];
        c->tie[s->electrodes] = (struct pd_earth_tie){
            .node = c->installation, .resistance_ohm = site->tie[0].resistance_ohm};
    }
    c->detectors.count = site->detectors.count;
    if (site->detectors.count > 0)
        c->detectors.detector[0] = site->detectors.detector[0];
    c->demand_limit_a = site->demand_limit_a;
    c->installation_lines = pd_case_lines(c);
}

static struct key key_of(const struct pd_case *site)
{
    struct key key;
    size_t n = 0, w = 0;
    memset(&key, 0, sizeof key); /* its bytes are compared */
    for (size_t i = 0; i < site->network->load_count; i++) {
        const struct pd_load *const load = &site->network->load[i];
        key.number[n++] = load->present_a;
        key.number[n++] = load->low_a;
        key.number[n++] = load->high_a;
        key.word[w++] = (int)load->phase + 1;
    }
    key.word[OWN_MOST] = (int)site->network->system;
    n = 3 * OWN_MOST;
    key.number[n++] = site->electrodes.count > 0 ? site->tie[0].resistance_ohm : 0;
    key.number[n++] = site->demand_limit_a;
    if (site->detectors.count == 0)
        return key;
    const struct pd_detector *const d = &site->detectors.detector[0];
    key.number[n++] = d->low_v;
    key.number[n++] = d->high_v;
    key.number[n++] = d->limit_v;
    key.number[n++] = d->tolerance_v;
    key.number[n++] = d->delay_s;
    key.word[OWN_MOST + 1] = (int)d->senses + 1;
    key.word[OWN_MOST + 2] = (int)d->disconnects;
    key.word[OWN_MOST + 3] = d->disconnects_known;
    key.word[OWN_MOST + 4] = (int)d->reset;
    return key;
}

static struct kept *place(struct pd_street *s, const struct key *key)
{
    const unsigned char *const byte = (const unsigned char *)key;
    uint64_t hash = UINT64_C(14695981039346656037);
    for (size_t i = 0; i < sizeof *key; i++)
        hash = (hash ^ byte[i]) * UINT64_C(1099511628211);
    return &s->kept[(hash ^ hash >> 32) % KEPT];
}

static void read_answer(const struct pd_street *s, const struct pd_assessment *a,
                        struct pd_street_answer *answer)
{
    if (a->worst == PD_NONE || a->unsolved > 0)
        return;
    const struct pd_scenario *const worst = &a->scenario[a->worst];
    answer->touch_v = worst->touch_v;
    answer->unseen_v = a->worst_unseen != PD_NONE ? a->scenario[a->worst_unseen].touch_v : 0;
    const size_t section =
        a->worst_unseen != PD_NONE ? a->scenario[a->worst_unseen].section : worst->section;
    answer->neighbours = 0;
    for (size_t i = 0; i < s->others && section != PD_NONE; i++)
        if (pd_network_downstream(s->c->network, section, s->c->network->load[i].node))
            answer->neighbours++;
}

static enum pd_status solve(struct pd_street *s, const struct pd_case *site,
                            struct pd_street_answer *answer)
{
    static const struct pd_assess_settings settings = {.faults =
                                                           1u << PD_HEALTHY | 1u << PD_OPEN_PEN};
    struct pd_assessment *a = NULL;
    *answer = (struct pd_street_answer){.touch_v = NAN, .unseen_v = NAN, .neighbours = NAN};
    answer->fits = put_loads(s, site);
    if (!answer->fits)
        return PD_OK;
    put_devices(s, site);
    const enum pd_status status = pd_assess(s->c, &settings, NULL, NULL, &a);
    if (status == PD_OK)
        read_answer(s, a, answer);
    pd_assessment_free(&a);
    return status;
}

enum pd_status pd_street_find(struct pd_street *s, const struct pd_case *site,
                              struct pd_street_answer *answer)
{
    const struct key key = key_of(site);
    struct kept *const kept = place(s, &key);
    if (!kept->used || memcmp(&kept->key, &key, sizeof key) != 0) {
        struct pd_street_answer found;
        const enum pd_status status = solve(s, site, &found);
        if (status != PD_OK)
            return status;
        *kept = (struct kept){.used = true, .answer = found};
        memcpy(&kept->key, &key, sizeof key);
    }
    *answer = kept->answer;
    return PD_OK;
}
