/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_REFERENCE_H
#define PENDRIFT_TABLE_REFERENCE_H

#include <stddef.h>

/* The tables of reference/, compiled into the program byte for byte. */
extern const char pd_reference_limits[];
extern const size_t pd_reference_limits_length;
extern const char pd_reference_cables[];
extern const size_t pd_reference_cables_length;
extern const char pd_reference_checks[];
extern const size_t pd_reference_checks_length;
extern const char pd_reference_mixtures[];
extern const size_t pd_reference_mixtures_length;
extern const char pd_reference_stages[];
extern const size_t pd_reference_stages_length;
extern const char pd_reference_window_times[];
extern const size_t pd_reference_window_times_length;
extern const char pd_reference_transformers[];
extern const size_t pd_reference_transformers_length;
extern const char pd_reference_soils[];
extern const size_t pd_reference_soils_length;
extern const char pd_reference_seasons[];
extern const size_t pd_reference_seasons_length;
extern const char pd_reference_body[];
extern const size_t pd_reference_body_length;
extern const char pd_reference_body_paths[];
extern const size_t pd_reference_body_paths_length;
extern const char pd_reference_shock_curves[];
extern const size_t pd_reference_shock_curves_length;
extern const char pd_reference_audit_reasons[];
extern const size_t pd_reference_audit_reasons_length;

#endif
