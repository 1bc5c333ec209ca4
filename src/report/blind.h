/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_BLIND_H
#define PENDRIFT_REPORT_BLIND_H

#include <stdio.h>

#include "study/blind.h"

/* What detectors do not see, on paper. Each function writes to `out`, does not flush or close it,
 * and returns PD_OK, PD_ERR_FILE or PD_ERR_MEMORY as those of report.h do. Each says that loads
 * which are not resistances can go outside the plane's triangle, and has all the cautions. */

/* For people: how far each detector is blind comes first. */
enum pd_status pd_blind_text(FILE *out, const struct pd_blind *blind);

/* For programs: one object, "schema": 1; null where a figure is not known. */
enum pd_status pd_blind_json(FILE *out, const struct pd_blind *blind);

/* For a spreadsheet or another plotter: points along the edge of what is not seen, at the supply
 * voltage of the picture, then the worst point, then the case's scenarios at that voltage. */
enum pd_status pd_blind_csv(FILE *out, const struct pd_blind *blind);

/* The picture: the plane of neutral displacement with what each detector does not see in it. */
enum pd_status pd_blind_svg(FILE *out, const struct pd_blind *blind);
/* One detector's plane, to go into a page of HTML that says the rest, the cautions too. */
enum pd_status pd_blind_svg_inlined(FILE *out, const struct pd_blind *blind, size_t device,
                                    const char *prefix);

/* Parts of sentences that several of them say. */

struct pd_blind_words {
    char text[400];
};

/* "'point' is blind up to 131.0 V to earth, over the limit of 70.0 V. ..." */
struct pd_blind_words pd_blind_headline(const struct pd_blind *blind,
                                        const struct pd_blind_device *device);

/* "one line to neutral, 207.0 to 253.0 V", tolerance included. */
struct pd_blind_words pd_blind_watches(const struct pd_detector *detector);

/* What this case's scenarios make of it: "Of 12 scenarios over the limit it does not see 3 ...". */
struct pd_blind_words pd_blind_here(const struct pd_blind_device *device);

/* What it is about: the case's title, or that there is none. */
const char *pd_blind_title(const struct pd_blind *blind);

/* What a sense sees of the plane. */
const char *pd_blind_sense_stands(enum pd_sense sense);

/* What the plane holds, and what it does not. */
extern const char *const pd_blind_hull_note;
extern const char *const pd_blind_share_note;
extern const char *const pd_blind_alone_note;

/* "known", "not determined", "not in this plane" */
const char *pd_blind_kind_name(enum pd_region_kind kind);

/* Degrees, 0 for no displacement. */
double pd_blind_angle_deg(double complex displacement_v);

/* Whether a scenario has its place in the picture: solved, counted by the verdict, at its supply
 * voltage or within half a per cent of it (a device's edge may lie beside the end of the range). */
bool pd_blind_shows(const struct pd_blind_device *device, const struct pd_scenario *scenario);

#endif
