/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_CLI_SECTION_H
#define PENDRIFT_CLI_SECTION_H

#include <stdbool.h>

#include "study/case.h"

/* Finds the node that the section of --section feeds, PD_NONE where `name` is NULL. False, with a
 * line on stderr, where the case has no section of that name with a PEN. */
bool choose_section(const struct pd_case *study_case, const char *name, size_t *section);

#endif
