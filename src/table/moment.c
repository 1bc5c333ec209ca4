/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "table/moment.h"

#include <math.h>
#include <stddef.h>
#include <time.h>

#include "table/table.h"

/* Takes exactly `digits` digits off *text. */
static bool take_digits(const char **text, int digits, int *value)
{
    *value = 0;
    for (int i = 0; i < digits; i++, ++*text) {
        if (**text < '0' || **text > '9')
            return false;
        *value = 10 * *value + (**text - '0');
    }
    return true;
}

static bool take_letter(const char **text, char letter)
{
    if (**text != letter)
        return false;
    ++*text;
    return true;
}

static bool take_date(const char **text, struct tm *date)
{
    int year, month;
    if (!take_digits(text, 4, &year) || !take_letter(text, '-') || !take_digits(text, 2, &month) ||
        !take_letter(text, '-') || !take_digits(text, 2, &date->tm_mday))
        return false;
    date->tm_year = year - 1900;
    date->tm_mon = month - 1;
    return month >= 1 && month <= 12 && date->tm_mday >= 1;
}

static bool take_fraction(const char **text, double *fraction_s)
{
    double place = 0.1;
    *fraction_s = 0;
    if (!take_letter(text, '.'))
        return true;
    if (**text < '0' || **text > '9')
        return false;
    for (; **text >= '0' && **text <= '9'; ++*text, place /= 10)
        *fraction_s += place * (**text - '0');
    return true;
}

static bool take_time(const char **text, struct tm *date, double *fraction_s)
{
    *fraction_s = 0;
    if (!take_digits(text, 2, &date->tm_hour) || !take_letter(text, ':') ||
        !take_digits(text, 2, &date->tm_min))
        return false;
    if (take_letter(text, ':') &&
        (!take_digits(text, 2, &date->tm_sec) || !take_fraction(text, fraction_s)))
        return false;
    return date->tm_hour <= 23 && date->tm_min <= 59 && date->tm_sec <= 60;
}

static bool take_offset(const char **text, double *offset_s)
{
    int hours, minutes = 0;
    *offset_s = 0;
    if (take_letter(text, 'Z') || **text == '\0')
        return true;
    const int sign = **text == '-' ? -1 : 1;
    if (!take_letter(text, sign < 0 ? '-' : '+') || !take_digits(text, 2, &hours))
        return false;
    if (**text != '\0' && (!take_letter(text, ':') || !take_digits(text, 2, &minutes)))
        return false;
    *offset_s = sign * (3600.0 * hours + 60.0 * minutes);
    return hours <= 23 && minutes <= 59;
}

bool pd_parse_moment(const char *text, double unit_s, double *time_s)
{
    struct tm date = {0};
    double number, fraction_s = 0, offset_s = 0;
    if (pd_parse_number(text, &number)) {
        *time_s = number * unit_s;
        return isfinite(*time_s);
    }
    if (!take_date(&text, &date))
        return false;
    const int day = date.tm_mday;
    if (*text != '\0') {
        if (!take_letter(&text, 'T') && !take_letter(&text, ' '))
            return false;
        if (!take_time(&text, &date, &fraction_s) || !take_offset(&text, &offset_s))
            return false;
    }
    const int seconds = date.tm_sec;
    date.tm_sec = 0; /* timegm would carry a second 60 into the day that is checked below */
    const time_t whole = timegm(&date);
    if (*text != '\0' || date.tm_mday != day) /* it makes 31 June the first of July */
        return false;
    *time_s = (double)whole + seconds + fraction_s - offset_s;
    return true;
}
