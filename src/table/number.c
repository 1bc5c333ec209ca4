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

/* Digits with or without a point, at most 15 of them in all: the digits as a whole number, and the
 * power of ten, are both doubles without rounding, so the one division rounds as strtod does
 * (Clinger 1990). A year of half-hours of a street has a million such cells. */
static bool parse_short(const char *text, double *value)
{
    static const double power_of_ten[] = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                          1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    enum { DIGITS_MOST = 15 };
    const char *point = NULL;
    int64_t digits = 0;
    size_t length = 0;
    for (; is_digit(text[length]) || (text[length] == '.' && point == NULL); length++) {
        if (length > DIGITS_MOST)
            return false;
        if (text[length] == '.')
            point = &text[length];
        else
            digits = 10 * digits + (text[length] - '0');
    }
    const size_t decimals = point != NULL ? (size_t)(text + length - point) - 1 : 0;
    if (text[length] != '\0' || length == 0 || (point != NULL && decimals == 0) ||
        length - (point != NULL) > DIGITS_MOST)
        return false;
    *value = (double)digits / power_of_ten[decimals];
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
