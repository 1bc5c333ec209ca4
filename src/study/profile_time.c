/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <time.h>

#include "study/profile.h"
#include "table/table.h"

enum { MINUTE_S = 60, HOUR_S = 3600, DAY_S = 86400 };

/* Takes `count` digits as a number from `least` to `most`; NULL where that is not what stands
 * there, or nothing did before. */
static const char *take(const char *text, int count, int least, int most, int *value)
{
    *value = 0;
    if (text == NULL)
        return NULL;
    for (int i = 0; i < count; i++, text++) {
        if (*text < '0' || *text > '9')
            return NULL;
        *value = 10 * *value + (*text - '0');
    }
    return *value >= least && *value <= most ? text : NULL;
}

static const char *skip(const char *text, char letter)
{
    return text != NULL && *text == letter ? text + 1 : NULL;
}

/* hh:mm, hh:mm:ss or hh:mm:ss.mmm; 24:00 is the end of the day, and nothing is later. */
static const char *take_clock(const char *text, int64_t *at_ms)
{
    int hour, minute, second = 0, thousandths = 0;
    text = take(text, 2, 0, 24, &hour);
    text = take(skip(text, ':'), 2, 0, 59, &minute);
    if (text != NULL && *text == ':')
        text = take(text + 1, 2, 0, 59, &second);
    if (text != NULL && *text == '.')
        text = take(text + 1, 3, 0, 999, &thousandths);
    const int64_t whole_s = (int64_t)hour * HOUR_S + minute * MINUTE_S + second;
    *at_ms = 1000 * whole_s + thousandths;
    return *at_ms <= (int64_t)1000 * DAY_S ? text : NULL;
}

static int days_of(int year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    const bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return days[month - 1] + (month == 2 && leap);
}

static const char *take_date(const char *text, int64_t *at_ms)
{
    int year, month, day;
    text = take(text, 4, 1900, 9999, &year);
    text = take(skip(text, '-'), 2, 1, 12, &month);
    text = take(skip(text, '-'), 2, 1, 31, &day);
    if (text == NULL || day > days_of(year, month))
        return NULL;
    struct tm date = {.tm_year = year - 1900, .tm_mon = month - 1, .tm_mday = day};
    *at_ms = 1000 * (int64_t)timegm(&date);
    return text;
}

/* Nothing, Z, or the offset from it. */
static const char *take_offset(const char *text, int64_t *offset_ms)
{
    int hour, minute;
    *offset_ms = 0;
    if (text == NULL || *text == '\0')
        return text;
    if (*text == 'Z')
        return text + 1;
    const int64_t sign = *text == '-' ? -1 : 1;
    if (*text != '+' && *text != '-')
        return NULL;
    text = take(text + 1, 2, 0, 14, &hour);
    text = take(text != NULL && *text == ':' ? text + 1 : text, 2, 0, 59, &minute);
    *offset_ms = sign * 1000 * ((int64_t)hour * HOUR_S + minute * MINUTE_S);
    return text;
}

bool pd_profile_time(const char *text, int64_t *at_ms, bool *dated)
{
    int64_t date_ms = 0, clock_ms = 0, offset_ms = 0;
    const char *const clock = take_clock(text, &clock_ms);
    *dated = clock == NULL;
    if (clock != NULL) {
        *at_ms = clock_ms;
        return *clock == '\0';
    }
    const char *rest = take_date(text, &date_ms);
    if (rest == NULL || (*rest != 'T' && *rest != ' '))
        return false;
    rest = take_offset(take_clock(rest + 1, &clock_ms), &offset_ms);
    *at_ms = date_ms + clock_ms - offset_ms;
    return rest != NULL && *rest == '\0';
}

int64_t pd_profile_step(const int64_t *at_ms, size_t count)
{
    int64_t step_ms = at_ms[1] - at_ms[0];
    size_t most = 0;
    for (size_t i = 1; i < count; i++) {
        const int64_t own_ms = at_ms[i] - at_ms[i - 1];
        size_t alike = 0;
        for (size_t k = 1; k < count; k++)
            alike += at_ms[k] - at_ms[k - 1] == own_ms;
        if (alike > most || (alike == most && own_ms < step_ms)) {
            most = alike;
            step_ms = own_ms;
        }
    }
    return step_ms;
}
