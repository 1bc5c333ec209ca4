/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_CLI_FINISH_H
#define PENDRIFT_CLI_FINISH_H

#include "cli/options.h"
#include "cli/output.h"
#include "study/assess.h"

/* How a command begins and ends: the same for all of them. Each says on stderr what there is to say
 * and returns an exit status. */

/* Ends for a status that is not PD_OK. */
int give_up(enum pd_status status);

/* The same where there may be lines about the input: they say it. */
int refuse(enum pd_status status, const struct pd_errors *errors);

/* Ends after the result was written with `status`: closes the output, or abandons it where nothing
 * useful was written; `answer` where all went well. */
int finish(struct output *output, enum pd_status status, int answer);

/* Reads a case: EXIT_GOOD, *out is the caller's; else NULL. */
int open_case(const char *folder, struct pd_case **out);

/* Reads the case that is the command's operand, assesses it, and has `deliver` write what is to be
 * said of it, which closes or abandons the output. */
typedef int deliver_assessment(const struct options *options, struct output *output,
                               const struct pd_assessment *assessment);
int of_assessment(const struct options *options, deliver_assessment *deliver);

#endif
