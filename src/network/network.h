/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_NETWORK_NETWORK_H
#define PENDRIFT_NETWORK_NETWORK_H

#include <stdbool.h>
#include <stddef.h>

#include "network/load.h"
#include "network/phasor.h"
#include "table/names.h"
#include "table/status.h"

/* The low-voltage network: a tree of four-conductor sections rooted at the substation star point.
 *
 * A section leads from a node to a node further out, so each node but the substation is fed by just
 * one section, and "section i" is the one that feeds node i. Upstream of a main earthing terminal
 * the fourth conductor is a PEN; downstream, in sections marked separate, it is a neutral, and the
 * protective conductor beside it carries no current and sits at the potential of the terminal where
 * the two parted (DESIGN section 3).
 */

/* A series impedance matrix, ohm, over L1, L2, L3 and PEN or N. Mutual terms may be zero. */
struct pd_matrix {
    double complex at[PD_CONDUCTORS][PD_CONDUCTORS];
};

/* Thevenin source: EMFs between the star point and the lines, each behind the same impedance; the
 * star point to remote earth through its own electrode. */
struct pd_source {
    double complex unit_emf[PD_LINES]; /* 1 at the supply voltage; 0 for a line not there */
    double complex z_ohm;              /* each line, referred to low voltage */
    double electrode_ohm;              /* star point to remote earth, >= 0, finite */
};

/* A section as it is described, before the network is closed. Texts are copied. */
struct pd_section {
    const char *name, *from, *to;
    struct pd_matrix z_ohm;
    bool separate;  /* neutral and protective conductor apart */
    unsigned lines; /* bit 1u << PD_L1 and so on; 0: all that the node upstream has */
    size_t row;     /* line in sections.csv, for messages */
};

struct pd_node {
    const char *name;
    const char *section; /* the one that feeds it, NULL at the substation */
    size_t parent;       /* PD_NONE at the substation */
    size_t first_child, child_count;
    size_t pe_node; /* where this node's protective conductor is tied to the PEN; PD_NONE: its PE is
                       on an electrode of its own (TT) */
    size_t row;     /* of its section */
    unsigned lines;
    bool separate;
    struct pd_matrix z_ohm;
};

/* Nodes are ordered so that a parent comes before its children and children of one node stand next
 * to each other: a loop from the last node to the first is a pass to the root, no recursion needed.
 */
struct pd_network {
    enum pd_system system;
    unsigned lines;   /* of the system */
    double nominal_v; /* line to neutral, U0 */
    struct pd_source source;
    struct pd_node *node; /* [node_count]; [0] is the substation */
    size_t node_count;
    struct pd_load *load; /* [load_count] */
    size_t load_count;
    struct pd_network_build *build; /* texts, and sections until the network is closed */
};

/* A matrix with the line impedance on L1 to L3 and the PEN's on the fourth, no mutual terms. */
struct pd_matrix pd_matrix_diagonal(double complex line_ohm, double complex pen_ohm);

/* Starts an empty network in *out, which the caller frees. EMFs are set for the system:
 * single-phase 0 degrees; split-phase 0 and 180; three-phase 0, -120, +120; source impedance and
 * electrode 0 ohm. nominal_v above 0. PD_OK, PD_ERR_MEMORY or PD_ERR_ARGUMENT. */
enum pd_status pd_network_new(enum pd_system system, double nominal_v, struct pd_network **out);

/* Frees the network and all in it, sets *network NULL. NULL is allowed. */
void pd_network_free(struct pd_network **network);

/* Adds a section. Its own faults (a name used before, a section from a node to itself) are errors
 * at its row; whether the whole is a tree is seen on closing. PD_OK, PD_ERR_INPUT, PD_ERR_MEMORY.
 */
enum pd_status pd_network_add_section(struct pd_network *network, const struct pd_section *section,
                                      struct pd_errors *errors);

/* Closes the network: checks that the sections make one tree (names every loop, second root and
 * node fed twice), orders the nodes, carries lines and protective conductors down. Sections cannot
 * be added afterwards. A network without a section is an error. PD_OK, PD_ERR_INPUT, PD_ERR_MEMORY.
 */
enum pd_status pd_network_close(struct pd_network *network, struct pd_errors *errors);

/* Adds a load to a closed network; `node` of the load is found from node_name. Errors at its row:
 * name used before, unknown node (nearest named), a line that the node does not have. */
enum pd_status pd_network_add_load(struct pd_network *network, const struct pd_load *load,
                                   const char *node_name, struct pd_errors *errors);

/* Takes the protective conductor of a node, and of what hangs on it by separate sections, off the
 * PEN: an installation or a charging point on an electrode of its own (TT). */
void pd_network_isolate_pe(struct pd_network *network, size_t node);

/* The node of that name in a closed network, PD_NONE where there is none. */
size_t pd_network_find(const struct pd_network *network, const char *name);

/* The node name nearest to `text`, NULL where none is near. */
const char *pd_network_nearest(const struct pd_network *network, const char *text);

/* Adds the error that a closed network has no node of that name: the nearest is named, or the nodes
 * listed as far as they fit. Returns PD_ERR_INPUT. */
enum pd_status pd_network_no_node(const struct pd_network *network, const char *table, size_t line,
                                  const char *column, const char *name, struct pd_errors *errors);

/* Whether `node` is `top` or hangs on it by separate sections only: one installation. */
bool pd_network_same_installation(const struct pd_network *network, size_t top, size_t node);

/* Whether `node` lies in the part of the network that section `section` feeds. */
bool pd_network_downstream(const struct pd_network *network, size_t section, size_t node);

#endif
