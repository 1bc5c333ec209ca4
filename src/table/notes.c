/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/notes.h"
#include "table/grow.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

enum pd_status pd_notes_add(struct pd_notes *notes, const char *format, ...)
{
    char(*const larger)[PD_NOTE_MAX] = pd_grow(notes->text, notes->count, sizeof *larger);
    if (larger == NULL)
        return PD_ERR_MEMORY;
    notes->text = larger;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(notes->text[notes->count++], PD_NOTE_MAX, format, arguments);
    va_end(arguments);
    return PD_OK;
}

void pd_notes_free(struct pd_notes *notes)
{
    free(notes->text);
    *notes = (struct pd_notes){0};
}
