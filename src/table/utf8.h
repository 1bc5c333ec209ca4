/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TABLE_UTF8_H
#define PENDRIFT_TABLE_UTF8_H

#include <stdbool.h>

/* Where a reader stands within a character of UTF-8 (RFC 3629). Start it with {0}. */
struct pd_utf8 {
    int missing;             /* bytes still to come; 0 between characters */
    unsigned char low, high; /* what the next of them may be */
    unsigned char lead;      /* the byte that began the character */
};

/* Takes the next byte. False where it cannot stand there: an overlong form, a surrogate, a number
 * past U+10FFFF, a character broken off. The state then starts afresh after this byte. */
bool pd_utf8_step(struct pd_utf8 *state, unsigned char byte);

/* Whether the byte just taken ended a control character: U+0000 to U+001F, U+007F to U+009F. */
bool pd_utf8_control(const struct pd_utf8 *state, unsigned char byte);

#endif
