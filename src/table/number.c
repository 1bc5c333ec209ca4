/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
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

bool pd_parse_number(const char *text, double *value)
{
    if (!is_plain_number(text))
        return false;
    char *end = NULL;
    const double number = strtod(text, &end);
    if (*end != '\0' || !isfinite(number))
        return false;
    *value = number;
    return true;
}
