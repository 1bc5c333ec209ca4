/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/faults.h"

#include <stdlib.h>

#include "table/grow.h"

const char *const pd_fault_names[PD_FAULTS] = {
    [PD_HEALTHY] = "healthy",
    [PD_OPEN_PEN] = "open-pen",
    [PD_PEN_JOINT] = "pen-joint",
    [PD_OPEN_NEUTRAL] = "open-neutral",
    [PD_CROSSED] = "crossed",
    [PD_LINE_TO_PEN] = "line-to-pen",
    [PD_OPEN_EARTHING] = "open-earthing",
};

/* A fault of the line against the drifting PEN: a bolted one. */
static const double bridge_s = 10;

void pd_fault_list_free(struct pd_fault_list *list)
{
    free(list->fault);
    *list = (struct pd_fault_list){0};
}

static enum pd_status append(struct pd_fault_list *list, const struct pd_fault *fault)
{
    struct pd_fault *const larger = pd_grow(list->fault, list->count, sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    list->fault = larger;
    list->fault[list->count++] = *fault;
    return PD_OK;
}

static enum pd_status list_healthy(const struct pd_case *c, struct pd_fault_list *list)
{
    (void)c;
    return append(list, &(struct pd_fault){.kind = PD_HEALTHY, .section = PD_NONE});
}

static enum pd_status list_open_pens(const struct pd_case *c, struct pd_fault_list *list)
{
    enum pd_status status = PD_OK;
    for (size_t i = 1; i < c->network->node_count && status == PD_OK; i++)
        if (!c->network->node[i].separate)
            status = append(list, &(struct pd_fault){.kind = PD_OPEN_PEN,
                                                     .section = i,
                                                     .cut = {.kind = PD_CUT_OPEN, .section = i}});
    return status;
}

/* How many sections, from the installation on, a fault that is shown and not judged is tried in. */
enum { SECTIONS_SHOWN = 8 };

/* The sections with a PEN from the installation to the substation, nearest first: a fault in one of
 * them is the installation's own. */
static size_t next_pen(const struct pd_case *c, size_t i)
{
    while (i != PD_NONE && i > 0 && c->network->node[i].separate)
        i = c->network->node[i].parent;
    return i;
}

static enum pd_status list_joints(const struct pd_case *c, struct pd_fault_list *list)
{
    enum pd_status status = PD_OK;
    for (size_t i = next_pen(c, c->installation); i > 0 && status == PD_OK;
         i = next_pen(c, c->network->node[i].parent))
        status = append(list, &(struct pd_fault){.kind = PD_PEN_JOINT,
                                                 .section = i,
                                                 .cut = {.kind = PD_CUT_JOINT, .section = i}});
    return status;
}

/* Inside the installation, where neutral and protective conductor are apart. */
static enum pd_status list_open_neutrals(const struct pd_case *c, struct pd_fault_list *list)
{
    enum pd_status status = PD_OK;
    for (size_t i = c->installation + 1; i < c->network->node_count && status == PD_OK; i++)
        if (c->network->node[i].separate && pd_case_own(c, i))
            status = append(list, &(struct pd_fault){.kind = PD_OPEN_NEUTRAL,
                                                     .section = i,
                                                     .cut = {.kind = PD_CUT_OPEN, .section = i}});
    return status;
}

static enum pd_status list_crossed(const struct pd_case *c, struct pd_fault_list *list)
{
    enum pd_status status = PD_OK;
    size_t sections = SECTIONS_SHOWN;
    for (size_t i = next_pen(c, c->installation); i > 0 && sections-- > 0;
         i = next_pen(c, c->network->node[i].parent))
        for (int line = PD_L1; line < PD_LINES && status == PD_OK; line++)
            if ((c->network->node[i].lines & 1u << line) != 0)
                status =
                    append(list, &(struct pd_fault){
                                     .kind = PD_CROSSED,
                                     .section = i,
                                     .cut = {.kind = PD_CUT_CROSSED, .section = i, .line = line}});
    return status;
}

static enum pd_status list_lines_to_pen(const struct pd_case *c, struct pd_fault_list *list)
{
    const size_t pe_node = c->network->node[c->installation].pe_node;
    enum pd_status status = PD_OK;
    size_t sections = SECTIONS_SHOWN;
    if (pe_node == PD_NONE)
        return PD_OK;
    for (size_t i = next_pen(c, c->installation); i > 0 && sections-- > 0;
         i = next_pen(c, c->network->node[i].parent))
        for (int line = PD_L1; line < PD_LINES && status == PD_OK; line++)
            if ((c->installation_lines & c->network->node[pe_node].lines & 1u << line) != 0)
                status = append(list, &(struct pd_fault){.kind = PD_LINE_TO_PEN,
                                                         .section = i,
                                                         .cut = {.kind = PD_CUT_OPEN, .section = i},
                                                         .bridge = {pe_node, line, bridge_s}});
    return status;
}

static enum pd_status list_open_earthing(const struct pd_case *c, struct pd_fault_list *list)
{
    if (c->earthing == PD_TT)
        return PD_OK; /* its chassis is not on the conductor that breaks */
    return append(list, &(struct pd_fault){.kind = PD_OPEN_EARTHING, .section = PD_NONE});
}

static const struct pd_fault_row rows[PD_FAULTS] = {
    [PD_HEALTHY] = {PD_HEALTHY, "healthy", "No fault.", true, list_healthy},
    [PD_OPEN_PEN] =
        {PD_OPEN_PEN, "open-pen",
         "The PEN is open: load current has no way home, and the neutral beyond it, with "
         "all that is bonded to it, drifts.",
         true, list_open_pens},
    [PD_PEN_JOINT] = {PD_PEN_JOINT, "pen-joint",
                      "A PEN joint has gone bad, from milliohms to all but open: it heats, and the "
                      "neutral drifts by what drops in it.",
                      true, list_joints},
    [PD_OPEN_NEUTRAL] =
        {PD_OPEN_NEUTRAL, "open-neutral",
         "The neutral is open inside the installation: the loads beyond it lose their "
         "supply, and the chassis stays where it was.",
         false, list_open_neutrals},
    [PD_CROSSED] = {PD_CROSSED, "crossed",
                    "Line and PEN are changed over at a joint: the chassis is at line voltage, and "
                    "line to neutral looks healthy.",
                    false, list_crossed},
    [PD_LINE_TO_PEN] =
        {PD_LINE_TO_PEN, "line-to-pen",
         "The PEN is open, and a line touches it beyond the break: the fault current "
         "has no way back, so no fuse blows.",
         false, list_lines_to_pen},
    [PD_OPEN_EARTHING] = {PD_OPEN_EARTHING, "open-earthing",
                          "The main earthing conductor is off: the chassis floats, and filters and "
                          "leakage set its voltage and what it can drive through a person.",
                          false, list_open_earthing},
};

const struct pd_fault_row *pd_fault_row(enum pd_fault_kind kind)
{
    return &rows[kind];
}

const char *pd_fault_what(enum pd_fault_kind kind)
{
    return rows[kind].what;
}

bool pd_fault_judged(enum pd_fault_kind kind)
{
    return rows[kind].judged;
}
