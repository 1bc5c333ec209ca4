/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_INPUTS_H
#define PENDRIFT_STUDY_INPUTS_H

#include <stdbool.h>
#include <stddef.h>

#include "table/status.h"

/* The files that a case was read from, each with its SHA-256 (FIPS 180-4, by nettle): the record by
 * which somebody else can tell, years on, whether a report is of the tables before them. */

enum { PD_INPUTS_MOST = 6, PD_SHA256_TEXT = 64 };

struct pd_input {
    char file[24];                   /* "case.csv" */
    char sha256[PD_SHA256_TEXT + 1]; /* lower-case hexadecimal; "" for what is no ordinary file,
                                        which can be read only once */
};

struct pd_inputs {
    struct pd_input input[PD_INPUTS_MOST]; /* [count] in the order of README */
    size_t count;
};

/* Takes the digests of the tables of a case that the folder has. PD_OK, or PD_ERR_FILE with a line
 * in `errors` for each that cannot be read. */
enum pd_status pd_inputs_take(const char *folder, struct pd_inputs *inputs,
                              struct pd_errors *errors);

/* Holds two takings against each other. PD_OK, or PD_ERR_FILE with a line in `errors` for each file
 * that is not what it was. */
enum pd_status pd_inputs_compare(const struct pd_inputs *before, const struct pd_inputs *after,
                                 struct pd_errors *errors);

#endif
