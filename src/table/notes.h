/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_NOTES_H
#define PENDRIFT_TABLE_NOTES_H

#include <stddef.h>

#include "table/status.h"

/* A growing list of sentences: reasons, assumptions. Owns its memory. Start it with {0}. */
enum { PD_NOTE_MAX = 400 };
struct pd_notes {
    char (*text)[PD_NOTE_MAX];
    size_t count;
};

/* Adds a sentence (cut at PD_NOTE_MAX - 1 bytes). PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_notes_add(struct pd_notes *notes, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

void pd_notes_free(struct pd_notes *notes);

#endif
