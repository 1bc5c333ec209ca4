/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_FAULTS_H
#define PENDRIFT_STUDY_FAULTS_H

#include "study/assess.h"

/* The catalogue of neutral faults: one table, each row with its own small function that lists where
 * the fault can be in a case. The room's own; the names are in assess.h. */

/* One fault in one place. */
struct pd_fault {
    enum pd_fault_kind kind;
    size_t section; /* where, PD_NONE when healthy */
    struct pd_cut cut;
    struct pd_bridge bridge;
};

/* A list that owns its memory. Start it with {0}. */
struct pd_fault_list {
    struct pd_fault *fault;
    size_t count;
};
void pd_fault_list_free(struct pd_fault_list *list);

struct pd_fault_row {
    enum pd_fault_kind kind;
    const char *name;
    const char *what; /* what it is, and what it does, for people */
    bool judged;      /* counts towards the network's reading */
    /* Appends the places to try. PD_OK or PD_ERR_MEMORY. */
    enum pd_status (*list)(const struct pd_case *study_case, struct pd_fault_list *list);
};

/* The row of a kind. */
const struct pd_fault_row *pd_fault_row(enum pd_fault_kind kind);

#endif
