/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_NETWORK_STAGE_H
#define PENDRIFT_NETWORK_STAGE_H

#include <stdbool.h>

#include "table/status.h"

/* One stage of an inverter's interface protection: it lets go where the voltage stays outside its
 * threshold for time_s. NaN where the stage has no threshold on that side. */
struct pd_stage {
    char name[32];
    double below_part, above_part; /* of nominal voltage */
    double time_s;
    char status[32]; /* how sure the figures are */
    char source[160];
};

/* Called for each stage. Return false to stop. */
typedef bool pd_stage_function(const struct pd_stage *stage, void *context);

/* Walks reference/stages.csv in its order. PD_OK, PD_ERR_MEMORY, PD_ERR_INPUT (a fault of the
 * program's own table). */
enum pd_status pd_stages_each(pd_stage_function *function, void *context, struct pd_errors *errors);

#endif
