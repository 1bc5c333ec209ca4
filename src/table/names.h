/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_NAMES_H
#define PENDRIFT_TABLE_NAMES_H

#include <stddef.h>
#include <stdint.h>

#include "table/status.h"

/* No such name, node or section. */
#define PD_NONE SIZE_MAX

/* A set of names, each with its number: the order in which it was added, from 0. */
struct pd_names;

/* Makes an empty set in *out, which the caller frees. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_names_new(struct pd_names **out);

/* Frees the set and its texts, sets *names NULL. NULL is allowed. */
void pd_names_free(struct pd_names **names);

/* Adds a copy of `text` unless it is there; *index becomes its number, *added (may be NULL) tells
 * whether it is new. PD_OK or PD_ERR_MEMORY. Cost O(log n). */
enum pd_status pd_names_add(struct pd_names *names, const char *text, size_t *index, int *added);

/* The number of `text`, PD_NONE where it is not in the set. Cost O(log n). */
size_t pd_names_find(const struct pd_names *names, const char *text);

/* The text with a number below pd_names_count; belongs to the set, stays until it is freed. */
const char *pd_names_text(const struct pd_names *names, size_t index);

size_t pd_names_count(const struct pd_names *names);

/* The text in the set nearest to `text` as pd_nearest measures it, NULL where none is near.
 * Cost O(n): for an error that is kept, not for each of a hundred thousand. */
const char *pd_names_nearest(const struct pd_names *names, const char *text);

#endif
