/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_CLI_ASSESS_PAGE_H
#define PENDRIFT_CLI_ASSESS_PAGE_H

#include "cli/options.h"
#include "study/assess.h"
#include "study/pictured.h"

/* Writes the page of HTML, with the command that makes it again. As pd_assess_html. */
enum pd_status write_assess_page(const struct options *options, FILE *out,
                                 const struct pd_assessment *assessment,
                                 const struct pd_pictured *pictured);

#endif
