/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/audit_blind.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "detect/region.h"

/* A device's blind voltage rests on nothing but these. */
struct blind_key {
    double low_v, high_v, limit_v, tolerance_v;
    unsigned senses, system, lines, used;
};
struct blind {
    struct blind_key key;
    double worst_v;
};
enum { BLINDS = 1024, BLIND_PLACES = 4 }; /* those that a key may be at */

struct pd_blinds {
    double low_v, high_v; /* of the supply */
    double complex unit_emf[PD_SYSTEMS][PD_LINES];
    struct blind blind[BLINDS];
};

enum pd_status pd_blinds_new(const struct pd_limits *limits, struct pd_blinds **out)
{
    struct pd_blinds *b = *out = calloc(1, sizeof *b);
    if (b == NULL)
        return PD_ERR_MEMORY;
    b->low_v = limits->supply_low_v;
    b->high_v = limits->supply_high_v;
    for (int system = 0; system < PD_SYSTEMS; system++) {
        struct pd_network *network;
        const enum pd_status status =
            pd_network_new((enum pd_system)system, limits->nominal_v, &network);
        if (status != PD_OK) {
            pd_blinds_free(out);
            return status;
        }
        memcpy(b->unit_emf[system], network->source.unit_emf, sizeof b->unit_emf[system]);
        pd_network_free(&network);
    }
    return PD_OK;
}

void pd_blinds_free(struct pd_blinds **blinds)
{
    free(*blinds);
    *blinds = NULL;
}

static size_t place_of(const struct blind_key *key)
{
    uint64_t word[sizeof *key / sizeof(uint64_t)], hash = 0;
    _Static_assert(sizeof word == sizeof *key, "whole words");
    memcpy(word, key, sizeof word);
    for (size_t i = 0; i < sizeof word / sizeof word[0]; i++) {
        hash = (hash ^ word[i]) * UINT64_C(0x9e3779b97f4a7c15);
        hash ^= hash >> 32; /* all that parts two round numbers is in their high bits */
    }
    return hash % (BLINDS / BLIND_PLACES) * BLIND_PLACES;
}

/* Where the key is, or may be put: in place of the last where all are taken. */
static struct blind *find_blind(struct pd_blinds *b, const struct blind_key *key)
{
    struct blind *const first = &b->blind[place_of(key)];
    struct blind *at = first;
    while (at < first + BLIND_PLACES - 1 && at->key.used && memcmp(&at->key, key, sizeof *key) != 0)
        at++;
    return at;
}

double pd_blinds_find(struct pd_blinds *b, const struct pd_case *c, enum pd_system system)
{
    const struct pd_detector *const d = &c->detectors.detector[0];
    struct blind_key key;
    memset(&key, 0, sizeof key); /* its bytes are compared */
    key.low_v = d->low_v;
    key.high_v = d->high_v;
    key.limit_v = d->limit_v;
    key.tolerance_v = d->tolerance_v;
    key.senses = d->senses;
    key.system = system == PD_SINGLE_PHASE ? PD_THREE_PHASE : system;
    key.lines = c->installation_lines;
    key.used = 1;
    struct blind *const blind = find_blind(b, &key);
    if (memcmp(&blind->key, &key, sizeof key) == 0)
        return blind->worst_v;
    struct pd_reach reach = {.lines = key.system == PD_SPLIT_PHASE ? 3 : 7,
                             .watched = c->installation_lines};
    memcpy(reach.unit_emf, b->unit_emf[key.system], sizeof reach.unit_emf);
    struct pd_region_worst worst;
    const enum pd_region_kind kind = pd_region_worst(d, &reach, b->low_v, b->high_v, &worst);
    *blind = (struct blind){key, kind == PD_REGION_KNOWN ? worst.worst_v : NAN};
    return blind->worst_v;
}
