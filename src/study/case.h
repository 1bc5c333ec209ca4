/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_CASE_H
#define PENDRIFT_STUDY_CASE_H

#include "detect/detector.h"
#include "earthing/body.h"
#include "earthing/electrode.h"
#include "limits/limits.h"
#include "network/network.h"
#include "solve/tree.h"
#include "study/inputs.h"
#include "table/notes.h"
#include "table/override.h"

/* A case: a folder of tables, read, checked and put together. */

enum pd_earthing { PD_TN_C_S, PD_TN_S, PD_TT };
enum { PD_EARTHINGS = 3 };
extern const char *const pd_earthing_names[PD_EARTHINGS];

struct pd_case {
    char title[PD_NAME_MAX + 1];
    struct pd_limits limits;
    enum pd_earthing earthing;  /* of the charging point */
    struct pd_network *network; /* NULL where something needed to build it is missing */
    struct pd_electrodes electrodes;
    struct pd_earth_tie *tie; /* [electrodes.count] dry-season resistances */
    double
        *mutual_ohm; /* [electrodes.count][electrodes.count] what a current at one lifts another by
                        through the ground, dry season; NULL: none has a place beside another */
    struct pd_detectors detectors;
    size_t *detector_node;       /* [detectors.count] */
    size_t installation;         /* node of the main earthing terminal under study */
    size_t charging_point;       /* node of the charging point */
    unsigned installation_lines; /* those its loads or its service use */
    double supply_v;             /* line to neutral, EMF at the source */
    double demand_limit_a;       /* load management, per line; NaN where there is none */
    double neighbour_kw; /* a neighbour's demand after diversity, per dwelling; NaN where none */
    bool backup;         /* can supply itself as an island, behind a changeover */
    double rcd_a;        /* of the charging point; NaN where neither case nor set says it */
    double reach_m;    /* nearest PME metalwork to a charging point on TT or a vehicle at it; NaN */
    enum pd_skin skin; /* of who touches; saltwater-wet where the case does not say it */
    double footing_ohm; /* shoes and ground in series with both feet; 0 where it does not say it */
    struct pd_notes missing;     /* what must be known before anything can be determined */
    struct pd_notes assumptions; /* what was taken where the tables are silent */
    struct pd_inputs inputs;     /* the files it was read from; none where a study put numbers in */
    size_t ranges_note; /* which of them tells how load ranges are searched: not for a study that
                           has its loads from elsewhere */
};

/* Reads the folder. Every error of every table is found before it returns.
 *
 * PD_OK: the case is good; look at `missing` before leaning on it. PD_ERR_INPUT or PD_ERR_FILE:
 * lines in `errors`, *out NULL. PD_ERR_MEMORY. The caller frees *out. */
enum pd_status pd_case_read(const char *folder, struct pd_case **out, struct pd_errors *errors);

/* The same with numbers in place of what its tables say (NULL: none). One for a table that the
 * folder does not have is an error too. */
enum pd_status pd_case_read_set(const char *folder, const struct pd_overrides *overrides,
                                struct pd_case **out, struct pd_errors *errors);

/* Frees the case and all in it, sets *case NULL. NULL is allowed. */
void pd_case_free(struct pd_case **study_case);

/* Whether a node belongs to the installation under study. */
bool pd_case_own(const struct pd_case *study_case, size_t node);

/* Whether a load belongs to the charging point: it hangs on the charging point's own node. Where
 * the case gives the charging point no node of its own, no load is known to be the vehicle's. */
bool pd_case_vehicle(const struct pd_case *study_case, const struct pd_load *load);

/* Whether any section between the installation and the substation has a PEN. */
bool pd_case_on_pen(const struct pd_case *study_case);

/* The installation's electrodes that share the protective conductor of `node` (its main earthing
 * terminal, or a charging point on TT), in parallel, dry season, ohm. INFINITY where there is none.
 */
double pd_case_electrode(const struct pd_case *study_case, size_t node);

#endif
