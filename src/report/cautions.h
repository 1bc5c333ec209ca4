/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_CAUTIONS_H
#define PENDRIFT_REPORT_CAUTIONS_H

/* What every output says, whatever its format. No option removes it. */
enum { PD_CAUTIONS = 8 };
extern const char *const pd_cautions[PD_CAUTIONS];

/* The gist of them, for the head of a text. */
extern const char *const pd_caution_short;

#endif
