/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "table/table.h"

/* isdigit depends on the locale and on the sign of char. */
static bool is_digit(char letter)
{
    return letter >= '0' && letter <= '9';
}

static const char *skip_digits(const char *text)
{
    while (is_digit(*text))
        text++;
    return text;
}

/* [+-]? ( digits [ . digits ] | . digits ) ( [eE] [+-]? digits )?
 * strtod alone would also take blanks, "nan", "inf" and hexadecimal. */
static bool is_plain_number(const char *text)
{
    if (*text == '+' || *text == '-')
        text++;
    const char *whole = text;
    text = skip_digits(text);
    const bool has_whole = text > whole;
    if (*text == '.') {
        const char *fraction = ++text;
        text = skip_digits(text);
        if (text == fraction)
            return false;
    } else if (!has_whole) {
        return false;
    }
    if (*text == 'e' || *text == 'E') {
        text++;
        if (*text == '+' || *text == '-')
            text++;
        if (!is_digit(*text))
            return false;
        text = skip_digits(text);
    }
    return *text == '\0';
}

/* A number of at most 15 digits is a whole one below 2^53 over a power of ten, both exact: one
 * division rounds it correctly, as strtod does (Clinger 1990). False for what is written any other
 * way: strtod's. A year of half-hours of a street has a million such cells, and so has an audit. */
static bool parse_short(const char *text, double *value)
{
    static const double powers[] = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                    1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    const bool negative = *text == '-';
    double whole = 0;
    int digits = 0, behind = 0;
    const char *at = text + negative;
    for (; is_digit(*at); at++, digits++)
        whole = 10 * whole + (*at - '0');
    if (digits == 0 || digits > 15)
        return false;
    if (*at == '.') {
        for (at++; is_digit(*at) && digits <= 15; at++, digits++, behind++)
            whole = 10 * whole + (*at - '0');
        if (behind == 0)
            return false;
    }
    if (*at != '\0' || digits > 15)
        return false;
    *value = (negative ? -whole : whole) / powers[behind];
    return true;
}

bool pd_parse_number(const char *text, double *value)
{
    if (parse_short(text, value))
        return true;
    if (!is_plain_number(text))
        return false;
    char *end = NULL;
    const double number = strtod(text, &end);
    if (*end != '\0' || !isfinite(number))
        return false;
    *value = number;
    return true;
}
