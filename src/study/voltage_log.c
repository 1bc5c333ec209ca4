/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/voltage_log.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "table/moment.h"
#include "table/names.h"
#include "table/words.h"

/* Samples kept back until the usual step is known. */
enum { FIRST_SAMPLES = 100 };

/* The largest line-neutral voltage that a low-voltage log can mean, as in loads and detectors. */
static const double most_v = 1000;

struct reading {
    struct pd_log *log;
    const char *name;
    int only;
    size_t time_column, voltage_column[PD_LINES]; /* PD_NONE: not there */
    double unit_s;
    pd_sample_function *function;
    void *context;
    struct pd_log_sample
        waiting[FIRST_SAMPLES]; /* not handed on yet; one, once the step is known */
    size_t waiting_line[FIRST_SAMPLES];
    size_t waiting_count;
};

/* A word of a column's name, in small letters; false at the end. "V_rms" is "v" and "rms". */
static bool next_word(const char **name, char word[PD_NAME_MAX])
{
    size_t length = 0;
    while (**name != '\0' && !isalnum((unsigned char)**name))
        ++*name;
    for (; isalnum((unsigned char)**name) && length + 1 < PD_NAME_MAX; ++*name)
        word[length++] = (char)tolower((unsigned char)**name);
    word[length] = '\0';
    return length > 0;
}

static bool is_among(const char *word, const char *const *words)
{
    for (; *words != NULL; words++)
        if (strcmp(word, *words) == 0)
            return true;
    return false;
}

static bool is_time(const char *name)
{
    static const char *const words[] = {"time", "timestamp", "date", "datetime", NULL};
    char word[PD_NAME_MAX];
    while (next_word(&name, word))
        if (is_among(word, words))
            return true;
    return false;
}

/* Takes a line's number off the end of a word: "l2" leaves "l", "2" nothing. -1: there is none. */
static int take_number(char word[PD_NAME_MAX])
{
    static const char *const stems[] = {"",  "l",    "line",    "phase", "ph",
                                        "v", "volt", "voltage", "vrms",  NULL};
    const size_t length = strlen(word);
    const char last = word[length - 1];
    if (last < '1' || last > '3')
        return -1;
    word[length - 1] = '\0';
    if (is_among(word, stems))
        return last - '1';
    word[length - 1] = last;
    return -1;
}

/* The line of a column of volts, by its number; PD_LINES where it has none; -1: no voltage. */
static int line_of(const char *name)
{
    static const char *const volts[] = {"v", "volt", "volts", "voltage", "vrms", NULL};
    static const char *const others[] = {"kv", "mv", "i", "p", "q", "s", "f", "thd", NULL};
    char word[PD_NAME_MAX];
    bool voltage = false;
    int line = PD_LINES;
    while (next_word(&name, word)) {
        if (is_among(word, others))
            return -1;
        const int number = take_number(word);
        line = number >= 0 ? number : line;
        voltage |= is_among(word, volts);
    }
    return voltage ? line : -1;
}

static double unit_of(const char *name)
{
    static const struct {
        const char *word;
        double unit_s;
    } units[] = {{"ms", 0.001}, {"min", 60}, {"minutes", 60}, {"h", 3600}, {"hours", 3600}};
    char word[PD_NAME_MAX];
    double unit_s = 1;
    while (next_word(&name, word))
        for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
            if (strcmp(word, units[i].word) == 0)
                unit_s = units[i].unit_s;
    return unit_s;
}

static enum pd_status two_columns(const struct reading *r, size_t line, const char *what,
                                  const char *first, const char *second, struct pd_errors *errors)
{
    return pd_errors_add(errors, PD_ERR_INPUT, r->name, line, "",
                         "columns '%s' and '%s' both read as %s; rename or leave out one",
                         pd_show(first).text, pd_show(second).text, what);
}

static enum pd_status take_time_column(struct reading *r, const struct pd_column *columns, size_t i,
                                       size_t line, struct pd_errors *errors)
{
    if (r->time_column != PD_NONE)
        return two_columns(r, line, "the time", columns[r->time_column].name, columns[i].name,
                           errors);
    r->time_column = i;
    r->unit_s = unit_of(columns[i].name);
    snprintf(r->log->time_column, sizeof r->log->time_column, "%s", columns[i].name);
    return PD_OK;
}

static enum pd_status take_voltage_column(struct reading *r, const struct pd_column *columns,
                                          size_t i, size_t line, struct pd_errors *errors)
{
    static const char *const whats[] = {"the voltage of L1", "the voltage of L2",
                                        "the voltage of L3"};
    const int numbered = line_of(columns[i].name);
    const int on = numbered < PD_LINES ? numbered : r->only;
    if (r->voltage_column[on] != PD_NONE)
        return two_columns(r, line, whats[on], columns[r->voltage_column[on]].name, columns[i].name,
                           errors);
    r->voltage_column[on] = i;
    r->log->lines |= 1u << on;
    snprintf(r->log->voltage_column[on], sizeof r->log->voltage_column[on], "%s", columns[i].name);
    return PD_OK;
}

static enum pd_status take_header(const struct pd_column *columns, size_t count, size_t line,
                                  void *context, struct pd_errors *errors)
{
    struct reading *const r = context;
    enum pd_status status = PD_OK;
    for (size_t i = 0; i < count && status == PD_OK; i++) {
        if (is_time(columns[i].name))
            status = take_time_column(r, columns, i, line, errors);
        else if (line_of(columns[i].name) >= 0)
            status = take_voltage_column(r, columns, i, line, errors);
    }
    if (status == PD_OK && r->time_column == PD_NONE)
        status = pd_errors_add(errors, PD_ERR_INPUT, r->name, line, "",
                               "no column of times; name one time, timestamp or time_s");
    if (status == PD_OK && r->log->lines == 0)
        status = pd_errors_add(errors, PD_ERR_INPUT, r->name, line, "",
                               "no column of volts; name one voltage_v, or l1_v, l2_v, l3_v");
    return status;
}

static enum pd_status hand_on(struct reading *r, struct pd_log_sample *sample)
{
    struct pd_log *const log = r->log;
    log->samples++;
    log->covered_s += sample->hold_s;
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((sample->lines & 1u << line) != 0) {
            log->low_v[line] = fmin(log->low_v[line], sample->voltage_v[line]);
            log->high_v[line] = fmax(log->high_v[line], sample->voltage_v[line]);
        }
    return r->function(sample, r->context);
}

static void note_gap(struct pd_log *log, size_t line, double length_s)
{
    if (log->gaps < PD_GAPS_KEPT)
        log->gap[log->gaps] = (struct pd_gap){line, length_s};
    log->gaps++;
    if (length_s > 0) {
        log->gaps_s += length_s;
        log->longest_gap_s = fmax(log->longest_gap_s, length_s);
    }
}

/* Hands on a sample, now that the next one is there. */
static enum pd_status hand_on_before(struct reading *r, struct pd_log_sample *sample,
                                     const struct pd_log_sample *next, size_t next_line)
{
    struct pd_log *const log = r->log;
    const double interval_s = next->time_s - sample->time_s;
    sample->breaks = !(interval_s >= 0 && interval_s <= 1.5 * log->step_s);
    sample->hold_s = sample->breaks ? log->step_s : interval_s;
    if (sample->breaks)
        note_gap(log, next_line, interval_s < 0 ? interval_s : interval_s - log->step_s);
    return hand_on(r, sample);
}

static int by_size(const void *left, const void *right)
{
    const double a = *(const double *)left, b = *(const double *)right;
    return (a > b) - (a < b);
}

/* The median of the intervals that go forward. */
static double usual_step(const struct reading *r)
{
    double interval_s[FIRST_SAMPLES];
    size_t count = 0;
    for (size_t i = 1; i < r->waiting_count; i++) {
        const double apart_s = r->waiting[i].time_s - r->waiting[i - 1].time_s;
        if (apart_s > 0)
            interval_s[count++] = apart_s;
    }
    qsort(interval_s, count, sizeof *interval_s, by_size);
    return count > 0 ? interval_s[count / 2] : 0;
}

/* Hands on all but the last of those that wait. */
static enum pd_status release(struct reading *r)
{
    enum pd_status status = PD_OK;
    size_t i = 0;
    for (; i + 1 < r->waiting_count && status == PD_OK; i++)
        status = hand_on_before(r, &r->waiting[i], &r->waiting[i + 1], r->waiting_line[i + 1]);
    r->waiting[0] = r->waiting[i];
    r->waiting_line[0] = r->waiting_line[i];
    r->waiting_count = 1;
    return status;
}

static enum pd_status take_sample(struct reading *r, const struct pd_log_sample *sample,
                                  size_t line)
{
    const bool known = r->log->step_s > 0;
    r->waiting[r->waiting_count] = *sample;
    r->waiting_line[r->waiting_count++] = line;
    r->log->last_s = sample->time_s;
    if (known)
        return release(r);
    if (r->waiting_count < FIRST_SAMPLES)
        return PD_OK;
    r->log->step_s = usual_step(r);
    return release(r);
}

static enum pd_status take_row(const struct pd_row *row, void *context, struct pd_errors *errors)
{
    struct reading *const r = context;
    struct pd_log_sample sample = {.voltage_v = {NAN, NAN, NAN}};
    const char *const time = pd_row_text(row, r->time_column);
    if (!pd_parse_moment(time, r->unit_s, &sample.time_s))
        return pd_row_error(row, r->time_column, errors,
                            "'%s' is not a time; write 2026-11-25T17:30, or a number of seconds",
                            pd_show(time).text);
    if (r->waiting_count > 0 && sample.time_s == r->waiting[r->waiting_count - 1].time_s)
        return pd_row_error(row, r->time_column, errors,
                            "the same time as the row before; this row is passed over");
    for (int line = PD_L1; line < PD_LINES; line++) {
        const size_t column = r->voltage_column[line];
        if (column == PD_NONE || !pd_row_has(row, column))
            continue;
        if (!pd_row_number(row, column, (struct pd_range){0, most_v, NULL}, &sample.voltage_v[line],
                           errors))
            return PD_ERR_INPUT;
        sample.lines |= 1u << line;
    }
    if (sample.lines != r->log->lines)
        return pd_row_error(row, row->column_count, errors,
                            "has no voltage; this row is passed over");
    if (r->log->samples + r->waiting_count == 0)
        r->log->first_s = sample.time_s;
    return take_sample(r, &sample, row->line);
}

/* What still waits: a log shorter than what it takes to know its step, and the last sample. */
static enum pd_status finish(struct reading *r, struct pd_errors *errors)
{
    struct pd_log *const log = r->log;
    enum pd_status status = PD_OK;
    if (r->waiting_count == 0)
        return pd_errors_add(errors, PD_ERR_INPUT, r->name, 0, "", "has no row that can be used");
    if (!(log->step_s > 0)) {
        log->step_s = usual_step(r);
        status = release(r);
    }
    if (status != PD_OK)
        return status;
    r->waiting[0].hold_s = log->step_s;
    r->waiting[0].breaks = true;
    return hand_on(r, &r->waiting[0]);
}

enum pd_status pd_voltage_log_read(const char *path, const char *name, int only,
                                   pd_sample_function *function, void *context, struct pd_log *log,
                                   struct pd_errors *errors)
{
    const size_t before = errors->count;
    struct reading *const r = calloc(1, sizeof *r);
    if (r == NULL)
        return PD_ERR_MEMORY;
    *r = (struct reading){.log = log,
                          .name = name,
                          .only = only,
                          .time_column = PD_NONE,
                          .voltage_column = {PD_NONE, PD_NONE, PD_NONE},
                          .unit_s = 1,
                          .function = function,
                          .context = context};
    *log = (struct pd_log){
        .first_s = NAN, .last_s = NAN, .low_v = {NAN, NAN, NAN}, .high_v = {NAN, NAN, NAN}};
    enum pd_status status = pd_table_read_any(path, name, take_header, take_row, r, errors);
    log->broken = errors->count - before;
    if (status == PD_OK)
        status = finish(r, errors);
    free(r);
    return status;
}
