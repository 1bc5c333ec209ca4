/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/plain.h"

#include <string.h>

#include "table/utf8.h"

struct pd_plain pd_plain(const char *text)
{
    struct pd_plain plain;
    struct pd_utf8 state = {0};
    size_t length = 0, begin = 0; /* begin: of the present character */
    for (; *text != '\0' && length + 1 < sizeof plain.text; text++) {
        const unsigned char byte = (unsigned char)*text;
        if (state.missing == 0)
            begin = length;
        plain.text[length++] = *text;
        if (!pd_utf8_step(&state, byte) || pd_utf8_control(&state, byte)) {
            length = begin;
            plain.text[length++] = '?';
            state = (struct pd_utf8){0};
        }
    }
    if (state.missing > 0)
        length = begin;
    plain.text[length] = '\0';
    return plain;
}

static int begins_character(char byte)
{
    return ((unsigned char)byte & 0xc0) != 0x80;
}

size_t pd_plain_length(const char *text)
{
    size_t count = 0;
    for (; *text != '\0'; text++)
        count += (size_t)begins_character(*text);
    return count;
}

size_t pd_plain_offset(const char *text, size_t count)
{
    size_t at = 0;
    for (; text[at] != '\0'; at++)
        if (begins_character(text[at]) && count-- == 0)
            break;
    return at;
}

struct pd_plain pd_plain_short(const char *text, size_t width)
{
    const struct pd_plain whole = pd_plain(text);
    const size_t length = pd_plain_length(whole.text);
    if (length <= width)
        return whole;
    const size_t tail = (width - 2) / 2, head = width - 2 - tail;
    const size_t head_end = pd_plain_offset(whole.text, head);
    const char *const end = whole.text + pd_plain_offset(whole.text, length - tail);
    struct pd_plain shortened = whole;
    memcpy(shortened.text + head_end, "..", 2);
    memcpy(shortened.text + head_end + 2, end, strlen(end) + 1);
    return shortened;
}
