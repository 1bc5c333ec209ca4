/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_WORDS_H
#define PENDRIFT_TABLE_WORDS_H

#include <stddef.h>

/* A cell as a message shows it: what does not fit is cut, so that the rest of the message has room.
 */
struct pd_shown {
    char text[52];
};
struct pd_shown pd_show(const char *cell);

/* Writes "a, b, c" into buffer[size], cut where it does not fit. */
void pd_list_names(char *buffer, size_t size, const char *const names[], size_t count);

#endif
