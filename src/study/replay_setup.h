/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_REPLAY_SETUP_H
#define PENDRIFT_STUDY_REPLAY_SETUP_H

#include "study/replay_work.h"

/* Makes what a replay works with from its study_case, settings and replay. Free it also after a
 * failure. PD_OK, PD_ERR_MEMORY, PD_ERR_INPUT (no PEN to open). The room's own. */
enum pd_status pd_replay_work_new(struct pd_replay_work *work, struct pd_errors *errors);
void pd_replay_work_free(struct pd_replay_work *work);

#endif
