/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/words.h"

#include <stdio.h>
#include <string.h>

struct pd_shown pd_show(const char *cell)
{
    struct pd_shown shown;
    const size_t room = sizeof shown.text - sizeof "...";
    size_t length = strnlen(cell, sizeof shown.text);
    const char *mark = "";
    if (length == sizeof shown.text) {
        for (length = room; length > 0 && ((unsigned char)cell[length] & 0xc0) == 0x80;)
            length--; /* not within a character */
        mark = "...";
    }
    snprintf(shown.text, sizeof shown.text, "%.*s%s", (int)length, cell, mark);
    return shown;
}

void pd_list_names(char *buffer, size_t size, const char *const names[], size_t count)
{
    size_t used = 0;
    buffer[0] = '\0';
    for (size_t i = 0; i < count && used < size; i++) {
        const int length =
            snprintf(buffer + used, size - used, "%s%s", i > 0 ? ", " : "", names[i]);
        used += length > 0 ? (size_t)length : 0;
    }
}
