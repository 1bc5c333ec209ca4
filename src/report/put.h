/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_REPORT_PUT_H
#define PENDRIFT_REPORT_PUT_H

#include <stdbool.h>
#include <stddef.h>

/* Text that grows in memory: for outputs of millions of rows, where stdio's formats would take most
 * of the time. Start it with {0}, free it with pd_put_free. Once memory has run out, `failed` stays
 * set and nothing more is put. */
struct pd_put {
    char *text;
    size_t length, room;
    bool failed;
};
void pd_put_free(struct pd_put *put);

void pd_put_bytes(struct pd_put *put, const char *bytes, size_t length);
void pd_put_text(struct pd_put *put, const char *text);

/* With up to `decimals` (0 to 6) places, rounded to nearest, no zeros at the end; nothing for what
 * is not finite. */
void pd_put_number(struct pd_put *put, double value, int decimals);
void pd_put_count(struct pd_put *put, size_t count);

/* Within quotes, as RFC 4180 and JSON want them. */
void pd_put_csv(struct pd_put *put, const char *text);
void pd_put_json(struct pd_put *put, const char *text);

#endif
