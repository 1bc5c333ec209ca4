/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/put.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void pd_put_free(struct pd_put *put)
{
    free(put->text);
    *put = (struct pd_put){0};
}

void pd_put_bytes(struct pd_put *put, const char *bytes, size_t length)
{
    if (put->length + length > put->room && !put->failed) {
        const size_t room = 2 * (put->length + length) + 4096;
        char *const larger = realloc(put->text, room);
        put->failed = larger == NULL;
        if (!put->failed) {
            put->text = larger;
            put->room = room;
        }
    }
    if (put->failed)
        return;
    memcpy(put->text + put->length, bytes, length);
    put->length += length;
}

void pd_put_text(struct pd_put *put, const char *text)
{
    pd_put_bytes(put, text, strlen(text));
}

/* The digits of a whole number before `end`; returns where they begin. */
static char *digits_of(unsigned long long whole, char *end)
{
    do {
        *--end = (char)('0' + whole % 10);
        whole /= 10;
    } while (whole > 0);
    return end;
}

void pd_put_count(struct pd_put *put, size_t count)
{
    char text[24];
    const char *const start = digits_of(count, text + sizeof text);
    pd_put_bytes(put, start, (size_t)(text + sizeof text - start));
}

void pd_put_number(struct pd_put *put, double value, int decimals)
{
    static const double powers[] = {1, 10, 100, 1e3, 1e4, 1e5, 1e6};
    char text[48];
    if (!isfinite(value))
        return;
    if (fabs(value) >= 1e12) {
        const int length = snprintf(text, sizeof text, "%.12g", value);
        pd_put_bytes(put, text, (size_t)length);
        return;
    }
    unsigned long long scaled = (unsigned long long)llround(fabs(value) * powers[decimals]);
    const bool negative = value < 0 && scaled > 0;
    while (decimals > 0 && scaled % 10 == 0) {
        scaled /= 10;
        decimals--;
    }
    char *end = text + sizeof text, *start = end;
    for (int i = 0; i < decimals; i++, scaled /= 10)
        *--start = (char)('0' + scaled % 10);
    if (decimals > 0)
        *--start = '.';
    start = digits_of(scaled, start);
    if (negative)
        *--start = '-';
    pd_put_bytes(put, start, (size_t)(end - start));
}

void pd_put_csv(struct pd_put *put, const char *text)
{
    pd_put_bytes(put, "\"", 1);
    for (const char *quote; (quote = strchr(text, '"')) != NULL; text = quote + 1) {
        pd_put_bytes(put, text, (size_t)(quote - text) + 1);
        pd_put_bytes(put, "\"", 1);
    }
    pd_put_text(put, text);
    pd_put_bytes(put, "\"", 1);
}

void pd_put_json(struct pd_put *put, const char *text)
{
    pd_put_bytes(put, "\"", 1);
    const char *from = text;
    for (; *text != '\0'; text++) {
        const unsigned char byte = (unsigned char)*text;
        if (byte >= ' ' && byte != '"' && byte != '\\')
            continue;
        char escape[8];
        pd_put_bytes(put, from, (size_t)(text - from));
        if (byte < ' ')
            snprintf(escape, sizeof escape, "\\u%04x", byte);
        else
            snprintf(escape, sizeof escape, "\\%c", byte);
        pd_put_text(put, escape);
        from = text + 1;
    }
    pd_put_bytes(put, from, (size_t)(text - from));
    pd_put_bytes(put, "\"", 1);
}
