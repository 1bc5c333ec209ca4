/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_PLAIN_H
#define PENDRIFT_REPORT_PLAIN_H

#include <stddef.h>

/* Text that any output may carry: valid UTF-8 without control characters. A terminal must not obey
 * what a table had in its cells, and a sentence cut at a byte may end within a character. */
struct pd_plain {
    char text[512];
};

/* A copy of `text`, a '?' for each byte that is wrong, cut where it does not fit. */
struct pd_plain pd_plain(const char *text);

/* How many characters (code points) valid UTF-8 has. */
size_t pd_plain_length(const char *text);

/* The byte where character `count` of valid UTF-8 begins, or its end. */
size_t pd_plain_offset(const char *text, size_t count);

/* A copy of at most `width` characters, width >= 5: what is too long loses its middle to "..".
 * Names of sections often differ only at their end. */
struct pd_plain pd_plain_short(const char *text, size_t width);

#endif
