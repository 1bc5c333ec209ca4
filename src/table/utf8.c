/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/utf8.h"

/* The ranges of the second byte are those of RFC 3629, section 4. */
static bool begin(struct pd_utf8 *state, unsigned char byte)
{
    *state = (struct pd_utf8){.low = 0x80, .high = 0xbf, .lead = byte};
    if (byte < 0x80)
        return true;
    if (byte < 0xc2 || byte > 0xf4)
        return false;
    state->missing = byte < 0xe0 ? 1 : byte < 0xf0 ? 2 : 3;
    if (byte == 0xe0)
        state->low = 0xa0;
    else if (byte == 0xed)
        state->high = 0x9f;
    else if (byte == 0xf0)
        state->low = 0x90;
    else if (byte == 0xf4)
        state->high = 0x8f;
    return true;
}

bool pd_utf8_step(struct pd_utf8 *state, unsigned char byte)
{
    if (state->missing == 0)
        return begin(state, byte);
    if (byte < state->low || byte > state->high) {
        *state = (struct pd_utf8){0};
        return false;
    }
    state->missing--;
    state->low = 0x80;
    state->high = 0xbf;
    return true;
}

bool pd_utf8_control(const struct pd_utf8 *state, unsigned char byte)
{
    if (byte < 0x20 || byte == 0x7f)
        return true;
    return state->missing == 0 && state->lead == 0xc2 && byte < 0xa0;
}
