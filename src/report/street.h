/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_STREET_H
#define PENDRIFT_REPORT_STREET_H

#include <stdio.h>

#include "study/assess.h"

/* The supply as one line: transformer, joints and houses, with the PEN break that decides and what
 * the metalwork of each house is at then. From one house to several thousand. */

/* Where each node of the tree stands. A lane is a run of joints; what hangs on a joint by a line of
 * sections that does not branch is a house below it; a branch becomes a lane of its own. Lanes are
 * folded into rows. */
struct pd_street_place {
    bool shown;   /* false: within an installation, or not reached */
    bool house;   /* has a mark and a bar */
    bool on_main; /* stands on a lane; a house then too has its mark below it */
    size_t joint; /* of a house below a lane: the joint that it hangs on; PD_NONE */
    size_t row;
    double x;       /* of the node on its lane, or of the house below it */
    double house_x; /* of its own mark, where it stands on a lane and has loads */
};

struct pd_street_lay {
    struct pd_street_place *place; /* [count] by node */
    size_t *lane;                  /* [lanes] the joint that each begins at */
    size_t count, lanes, rows, houses;
    double slot; /* pixels from house to house */
};

/* Lays a case's supply out into a width, in *out, which the caller frees. PD_OK; PD_ERR_ARGUMENT
 * where it takes more than PD_STREET_ROWS rows; PD_ERR_MEMORY. */
enum { PD_STREET_ROWS = 40, PD_STREET_WIDTH = 836 }; /* the width that pd_street_svg lays it into */
enum pd_status pd_street_lay(const struct pd_case *study_case, double width,
                             struct pd_street_lay *out);
void pd_street_lay_free(struct pd_street_lay *lay);

/* Draws assessment->along, inlined into a page: there must be one. Errors as of pd_street_lay, when
 * nothing was written, and PD_ERR_FILE. */
enum pd_status pd_street_svg(FILE *out, const struct pd_assessment *assessment, const char *prefix);

/* "22 houses. With the PEN open in section 'main3' ..." */
struct pd_street_words {
    char text[480];
};
struct pd_street_words pd_street_headline(const struct pd_assessment *assessment);

#endif
