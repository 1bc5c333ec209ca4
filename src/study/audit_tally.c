/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/audit_tally.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const enum pd_site_number reading_of[PD_READINGS] = {
    [PD_READ_ELECTRODE] = PD_S_ELECTRODE,
    [PD_READ_LOOP] = PD_S_LOOP,
    [PD_READ_VOLTAGE] = PD_S_VOLTAGE_L1,
};

enum pd_status pd_tally_new(struct pd_tally *tally)
{
    *tally = (struct pd_tally){0};
    tally->contractor = calloc(PD_CONTRACTORS, sizeof *tally->contractor);
    return tally->contractor != NULL ? PD_OK : PD_ERR_MEMORY;
}

void pd_tally_free(struct pd_tally *tally)
{
    free(tally->contractor);
    *tally = (struct pd_tally){0};
}

static uint64_t hash_of(const char *name)
{
    uint64_t hash = UINT64_C(14695981039346656037);
    for (; *name != '\0'; name++)
        hash = (hash ^ (unsigned char)*name) * UINT64_C(1099511628211);
    return hash != 0 ? hash : 1;
}

/* The place of a hash: its own, or the free one where it would go; NULL where all are taken. */
static struct pd_contractor *place(const struct pd_tally *tally, uint64_t hash)
{
    for (size_t i = 0; i < PD_CONTRACTORS; i++) {
        struct pd_contractor *const c = &tally->contractor[(hash + i) % PD_CONTRACTORS];
        if (c->hash == hash || c->hash == 0)
            return c;
    }
    return NULL;
}

/* Cut between characters. */
static void copy_name(char *to, size_t size, const char *from)
{
    size_t length = strlen(from);
    if (length >= size) {
        length = size - 1;
        while (length > 0 && ((unsigned char)from[length] & 0xc0) == 0x80)
            length--;
    }
    memcpy(to, from, length);
    to[length] = '\0';
}

static struct pd_contractor *find_or_add(struct pd_tally *tally, uint64_t hash, const char *name)
{
    struct pd_contractor *const c = place(tally, hash);
    if (c == NULL || c->hash == hash)
        return c;
    if (tally->contractors >= PD_CONTRACTORS / 2) /* half full: looking up stays quick */
        return NULL;
    tally->contractors++;
    c->hash = hash;
    copy_name(c->name, sizeof c->name, name);
    return c;
}

struct pd_contractor *pd_tally_contractor(struct pd_tally *tally, const char *name)
{
    return find_or_add(tally, hash_of(name), name);
}

static void note_reading(struct pd_contractor *c, int kind, size_t count, double value, bool differ)
{
    if (count == 0)
        return;
    if (c->readings[kind] > 0 && c->reading[kind] != value)
        differ = true;
    c->reading[kind] = value;
    c->readings[kind] += count;
    c->differ[kind] |= differ;
}

void pd_tally_readings(struct pd_tally *tally, const struct pd_site *site)
{
    struct pd_contractor *const c = pd_tally_contractor(tally, site->text[PD_S_CONTRACTOR]);
    if (c == NULL)
        return;
    for (int kind = 0; kind < PD_READINGS; kind++) {
        const double value = site->number[reading_of[kind]];
        note_reading(c, kind, (size_t)(isnan(value) ? 0 : 1), value, false);
    }
}

static bool is_worse(const struct pd_worst_site *a, const struct pd_worst_site *b)
{
    if (a->alone_v != b->alone_v)
        return a->alone_v > b->alone_v;
    return a->line < b->line;
}

static void note_worst(struct pd_tally *tally, const struct pd_worst_site *site)
{
    size_t at = tally->worsts;
    if (at == PD_WORST && !is_worse(site, &tally->worst[at - 1]))
        return;
    if (at == PD_WORST)
        at--;
    else
        tally->worsts++;
    for (; at > 0 && is_worse(site, &tally->worst[at - 1]); at--)
        tally->worst[at] = tally->worst[at - 1];
    tally->worst[at] = *site;
}

void pd_tally_result(struct pd_tally *tally, const struct pd_site *site, size_t line,
                     const struct pd_audit_result *result)
{
    struct pd_contractor *const c = pd_tally_contractor(tally, site->text[PD_S_CONTRACTOR]);
    tally->rows++;
    tally->wrong_cells += site->wrong;
    tally->finding[result->finding]++;
    tally->beyond += c == NULL;
    if (c != NULL)
        c->finding[result->finding]++;
    struct pd_reasons rest = result->reasons;
    for (enum pd_audit_reason reason; pd_reasons_take(&rest, &reason);) {
        tally->reason[reason]++;
        if (c != NULL)
            c->reason[reason]++;
    }
    /* in millivolts: of sites alike the first counts, and no compiler's rounding chooses */
    const double alone_v = round(1000 * result->figure[PD_F_ALONE_V]) / 1000;
    const bool full = tally->worsts == PD_WORST;
    if (result->finding != PD_NOT_SUPPORTED || isnan(alone_v) ||
        (full && !(alone_v > tally->worst[PD_WORST - 1].alone_v)))
        return;
    struct pd_worst_site worst = {.line = line, .alone_v = alone_v, .finding = result->finding};
    copy_name(worst.site, sizeof worst.site, site->text[PD_S_SITE]);
    copy_name(worst.contractor, sizeof worst.contractor, site->text[PD_S_CONTRACTOR]);
    note_worst(tally, &worst);
}

static void add_contractor(struct pd_tally *tally, const struct pd_contractor *from)
{
    struct pd_contractor *const to = find_or_add(tally, from->hash, from->name);
    if (to == NULL) {
        for (int i = 0; i < PD_FINDINGS; i++)
            tally->beyond += from->finding[i];
        return;
    }
    for (int kind = 0; kind < PD_READINGS; kind++)
        note_reading(to, kind, from->readings[kind], from->reading[kind], from->differ[kind]);
    for (int i = 0; i < PD_FINDINGS; i++)
        to->finding[i] += from->finding[i];
    for (int i = 0; i < PD_AUDIT_REASONS; i++)
        to->reason[i] += from->reason[i];
}

void pd_tally_add(struct pd_tally *tally, const struct pd_tally *other)
{
    for (size_t i = 0; i < PD_CONTRACTORS; i++)
        if (other->contractor[i].hash != 0)
            add_contractor(tally, &other->contractor[i]);
    tally->rows += other->rows;
    tally->beyond += other->beyond;
    tally->wrong_cells += other->wrong_cells;
    for (int i = 0; i < PD_FINDINGS; i++)
        tally->finding[i] += other->finding[i];
    for (int i = 0; i < PD_AUDIT_REASONS; i++)
        tally->reason[i] += other->reason[i];
    for (size_t i = 0; i < other->worsts; i++)
        note_worst(tally, &other->worst[i]);
}

unsigned pd_tally_copied(const struct pd_tally *tally, const char *contractor)
{
    const struct pd_contractor *const c = place(tally, hash_of(contractor));
    unsigned copied = 0;
    for (int kind = 0; c != NULL && c->hash != 0 && kind < PD_READINGS; kind++)
        if (c->readings[kind] >= PD_COPIED_LEAST && !c->differ[kind])
            copied |= 1u << kind;
    return copied;
}
