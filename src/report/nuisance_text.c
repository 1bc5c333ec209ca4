/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdarg.h>
#include <string.h>
#include <time.h>

#include "report/cautions.h"
#include "report/figure.h"
#include "report/plain.h"
#include "report/report.h"
#include "report/text.h"
#include "report/thresholds.h"

enum { MARGIN = 2, VALUES = 30 };

static void write_entry(struct pd_page *page, const char *label, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void write_entry(struct pd_page *page, const char *label, const char *format, ...)
{
    char text[512];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    pd_page_paragraph(page, label[0] != '\0' ? MARGIN : VALUES, label, VALUES, text);
}

struct stretch {
    char text[48];
};

/* Seconds as people read them. */
static struct stretch stretch(double seconds)
{
    struct stretch s = {"-"};
    if (seconds < 120)
        snprintf(s.text, sizeof s.text, "%s s", pd_figure(seconds, 1).text);
    else if (seconds < 2 * 3600)
        snprintf(s.text, sizeof s.text, "%s min", pd_figure(seconds / 60, 1).text);
    else if (seconds < 2 * 86400)
        snprintf(s.text, sizeof s.text, "%s h", pd_figure(seconds / 3600, 1).text);
    else if (isfinite(seconds))
        snprintf(s.text, sizeof s.text, "%s days", pd_figure(seconds / 86400, 1).text);
    return s;
}

/* A moment of the log: a date where the log has dates. */
static struct stretch moment(double time_s)
{
    struct stretch s;
    struct tm date;
    const time_t whole = (time_t)time_s;
    if (time_s >= 1e8 && time_s < 1e11 && gmtime_r(&whole, &date) != NULL)
        strftime(s.text, sizeof s.text, "%Y-%m-%dT%H:%M:%S", &date);
    else
        snprintf(s.text, sizeof s.text, "%s s", pd_figure(time_s, 0).text);
    return s;
}

static const char *device_word(const struct pd_nuisance_device *device)
{
    if (!device->determined)
        return "not determined whether it trips on a healthy supply";
    if (device->logged && device->excursions.trips > 0)
        return "would have tripped on the healthy supply recorded";
    return device->may_trip ? "may trip on a healthy supply"
                            : "does not trip on a healthy supply as declared";
}

/* The rule's own band may be one that trips here: then nobody has chosen badly. */
static void write_band_of_set(struct pd_page *page, const struct pd_limits *limits,
                              const struct pd_detector *d, const struct pd_nuisance_device *device)
{
    char line[240];
    const bool trips =
        device->never_low < limits->band_low_v || device->never_high > limits->band_high_v;
    if (!pd_sense_has_band(d->senses) || !trips)
        return;
    snprintf(line, sizeof line,
             "The band of the limit set, %s to %s V, is one that trips here: what is healthy by "
             "declaration%s goes beyond it, this device's tolerance included.",
             pd_figure_v(limits->band_low_v).text, pd_figure_v(limits->band_high_v).text,
             device->logged ? " or record" : "");
    pd_page_paragraph(page, 2, "-", 4, line);
}

static void write_news(struct pd_page *page, const struct pd_nuisance *n, size_t i)
{
    const struct pd_detector *const d = &n->study_case->detectors.detector[i];
    const struct pd_nuisance_device *const device = &n->device[i];
    const double limit_v = n->study_case->limits.touch_v;
    const char *const what = pd_sense_has_band(d->senses) ? "band" : "threshold";
    char line[480];
    snprintf(line, sizeof line, "'%.160s' %s.", pd_plain_short(d->name, 40).text,
             device_word(device));
    pd_page_paragraph(page, 2, "-", 4, line);
    if (device->both == PD_OVER)
        snprintf(line, sizeof line,
                 "No %s does both here: the narrowest that never trips leaves %s V on the chassis "
                 "unseen, and the limit is %s V.",
                 what, pd_figure_v(device->left_v).text, pd_figure_v(limit_v).text);
    else if (device->both == PD_WITHIN)
        snprintf(line, sizeof line,
                 "A %s that never trips on what is declared%s and leaves no more than %s V unseen "
                 "exists: from %s.",
                 what, n->has_log ? " and recorded" : "", pd_figure_v(limit_v).text,
                 pd_sense_has_band(d->senses) ? "the narrowest below to the widest"
                                              : "the lowest below to the highest");
    else
        snprintf(line, sizeof line, "Whether any %s does both is not determined.", what);
    pd_page_paragraph(page, 2, "-", 4, line);
    write_band_of_set(page, &n->study_case->limits, d, device);
}

static void write_head(struct pd_page *page, const struct pd_nuisance *n)
{
    const struct pd_case *const c = n->study_case;
    pd_page_wrap(page, 0, "NUISANCE");
    pd_page_to(page, page->column + 2);
    pd_page_wrap(page, page->column, c->title);
    pd_page_end_line(page);
    pd_page_end_line(page);
    for (size_t i = 0; i < c->missing.count; i++)
        pd_page_paragraph(page, 2, "-", 4, c->missing.text[i]);
    for (size_t i = 0; i < c->detectors.count; i++)
        write_news(page, n, i);
    if (c->detectors.count == 0)
        pd_page_paragraph(page, 2, "-", 4,
                          "No detection device is declared: there is nothing that could trip.");
    pd_page_end_line(page);
    pd_page_paragraph(page, 0, "", 0, pd_caution_short);
    pd_page_paragraph(page, 0, "", 0, "The cautions at the end are part of this answer.");
}

static void write_range(struct pd_page *page, const char *label,
                        const struct pd_healthy_range *range)
{
    write_entry(page, label, "%s V (loads %s, supply %s V) to %s V (loads %s, supply %s V)",
                pd_figure_v(range->low).text, pd_loads_names[range->low_loads],
                pd_figure_v(range->low_supply_v).text, pd_figure_v(range->high).text,
                pd_loads_names[range->high_loads], pd_figure_v(range->high_supply_v).text);
}

static void write_healthy(struct pd_page *page, const struct pd_nuisance *n)
{
    static const char *const labels[PD_LINES] = {"L1 to neutral", "L2 to neutral", "L3 to neutral"};
    pd_page_heading(page, "HEALTHY SUPPLY, AT THE CHARGING POINT");
    if (n->healthy_states == 0) {
        pd_page_paragraph(page, MARGIN, "", MARGIN, "not determined: the case is incomplete");
        return;
    }
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((n->study_case->installation_lines & 1u << line) != 0)
            write_range(page, labels[line], &n->line[line]);
    write_entry(page, "lost on the way there", "%s V at the most", pd_figure_v(n->drop_v).text);
    write_entry(page, "tried", "%zu load states and supplies, %s to %s V at the source",
                n->healthy_states, pd_figure_v(n->supply_low_v).text,
                pd_figure_v(n->supply_high_v).text);
}

static void write_excursions(struct pd_page *page, const struct pd_detector *d,
                             const struct pd_nuisance_device *device)
{
    const struct pd_excursions *const e = &device->excursions;
    if (!device->logged) {
        write_entry(page, "on the log", "%s",
                    pd_sense_has_band(d->senses) && !(isfinite(d->low_v) && isfinite(d->high_v))
                        ? "not determined: its thresholds are not declared"
                        : "the log does not hold what it senses");
        return;
    }
    write_entry(page, "samples outside", "%zu of %zu", e->outside, e->samples);
    write_entry(page, "trips", "%zu%s", e->trips,
                device->lines_missing ? " at the least: not all its lines are recorded" : "");
    if (e->trips > 0) {
        write_entry(page, "the first", "%s", moment(e->first_s).text);
        write_entry(page, "outside in all trips", "%s", stretch(e->tripped_s).text);
    }
    if (e->outside > 0)
        write_entry(page, "longest outside", "%s", stretch(e->longest_s).text);
    if (e->short_ones > 0)
        write_entry(page, "outside, but no trip", "%zu times, shorter than the delay of %s s",
                    e->short_ones, pd_figure_s(d->delay_s).text);
    if (isnan(d->delay_s))
        write_entry(page, "", "its delay is not declared: counted as none");
}

static void write_reach(struct pd_page *page, const struct pd_nuisance *n, size_t i)
{
    const struct pd_detector *const d = &n->study_case->detectors.detector[i];
    const struct pd_nuisance_device *const device = &n->device[i];
    const double nominal_v = n->study_case->network->nominal_v;
    const bool band = pd_sense_has_band(d->senses);
    char widest[96] = "not determined";
    if (device->widest == 0)
        snprintf(widest, sizeof widest, "none does");
    else if (isfinite(device->widest) && band)
        snprintf(widest, sizeof widest, "%s to %s V", pd_figure_v(nominal_v - device->widest).text,
                 pd_figure_v(nominal_v + device->widest).text);
    else if (isfinite(device->widest))
        snprintf(widest, sizeof widest, "%.60s", pd_sensed_phrase(d, device->widest).text);
    else if (!isnan(device->widest))
        snprintf(widest, sizeof widest, "any does: nothing passes the limit unseen");
    if (band)
        write_entry(page, "narrowest that never trips", "%s to %s V, leaves %s V unseen",
                    pd_figure_v(device->never_low).text, pd_figure_v(device->never_high).text,
                    pd_figure_v(device->left_v).text);
    else
        write_entry(page, "lowest that never trips", "%.60s, leaves %s V unseen",
                    pd_sensed_phrase(d, device->never_high).text, pd_figure_v(device->left_v).text);
    write_entry(page, band ? "widest within the limit" : "highest within the limit", "%s", widest);
}

static void write_device(struct pd_page *page, const struct pd_nuisance *n, size_t i)
{
    const struct pd_detector *const d = &n->study_case->detectors.detector[i];
    const struct pd_nuisance_device *const device = &n->device[i];
    char heading[160];
    snprintf(heading, sizeof heading, "DEVICE %.120s", pd_plain_short(d->name, 60).text);
    pd_page_heading(page, heading);
    write_entry(page, "senses", "%s, %.80s, tolerance %.40s, delay %s s", pd_sense_names[d->senses],
                pd_threshold_phrase(d).text, pd_tolerance_phrase(d).text,
                pd_figure_s(d->delay_s).text);
    if (pd_sense_has_band(d->senses))
        write_entry(page, "has in health", "%s to %.60s", pd_figure_v(device->sensed.low).text,
                    pd_sensed_phrase(d, device->sensed.high).text);
    else
        write_entry(page, "has in health", "%.60s at the most",
                    pd_sensed_phrase(d, device->sensed.high).text);
    write_entry(page, "may trip on that", "%s",
                !device->determined ? "not determined"
                : device->may_trip  ? "yes, with its tolerance at the end that trips most"
                                    : "no");
    if (n->has_log)
        write_excursions(page, d, device);
    if (n->study_case->network != NULL)
        write_reach(page, n, i);
}

static void write_gaps(struct pd_page *page, const struct pd_log *log)
{
    write_entry(page, "gaps", "%zu%s%s", log->gaps, log->gaps > 0 ? ", in all " : "",
                log->gaps > 0 ? stretch(log->gaps_s).text : "");
    for (size_t i = 0; i < log->gaps && i < PD_GAPS_KEPT; i++)
        if (log->gap[i].length_s < 0)
            write_entry(page, "", "line %zu: the clock goes back by %s", log->gap[i].line,
                        stretch(-log->gap[i].length_s).text);
        else
            write_entry(page, "", "before line %zu: %s", log->gap[i].line,
                        stretch(log->gap[i].length_s).text);
    if (log->gaps > PD_GAPS_KEPT)
        write_entry(page, "", "and %zu more", log->gaps - PD_GAPS_KEPT);
}

static void write_broken(struct pd_page *page, const struct pd_log *log,
                         const struct pd_errors *errors)
{
    char line[sizeof(struct pd_error)];
    const size_t shown = 10, kept = errors->count < shown ? errors->count : shown;
    write_entry(page, "rows passed over", "%zu", log->broken);
    for (size_t i = 0; i < kept; i++) {
        pd_error_format(&errors->kept[i], line, sizeof line);
        pd_page_paragraph(page, MARGIN + 2, "", MARGIN + 4, line);
    }
    if (errors->count > kept)
        write_entry(page, "", "and %zu more", errors->count - kept);
}

static void write_log(struct pd_page *page, const struct pd_nuisance *n,
                      const struct pd_errors *errors)
{
    const struct pd_log *const log = &n->log;
    pd_page_heading(page, "RECORDED SUPPLY");
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((log->lines & 1u << line) != 0)
            write_entry(page, "column", "'%.60s' as L%d to neutral, %s to %s V",
                        log->voltage_column[line], line + 1, pd_figure(log->low_v[line], 2).text,
                        pd_figure(log->high_v[line], 2).text);
    write_entry(page, "samples", "%zu, usually %s apart", log->samples, stretch(log->step_s).text);
    write_entry(page, "from, to", "%s, %s", moment(log->first_s).text, moment(log->last_s).text);
    write_entry(page, "covered", "%s", stretch(log->covered_s).text);
    write_gaps(page, log);
    write_broken(page, log, errors);
    pd_page_paragraph(page, MARGIN, "", MARGIN,
                      "Taken as the voltage at the device; each figure is taken to hold until the "
                      "next. What happens between two samples is not in the record.");
}

enum pd_status pd_nuisance_text(FILE *out, const struct pd_nuisance *nuisance,
                                const struct pd_errors *errors)
{
    struct pd_page page = {.out = out};
    write_head(&page, nuisance);
    write_healthy(&page, nuisance);
    for (size_t i = 0; i < nuisance->study_case->detectors.count; i++)
        write_device(&page, nuisance, i);
    if (nuisance->has_log)
        write_log(&page, nuisance, errors);
    pd_page_heading(&page, "HOW IT WAS FOUND");
    pd_page_paragraph(
        &page, MARGIN, "", MARGIN,
        "What thresholds leave unseen is searched among open PENs, and PEN joints going "
        "bad, between the installation and the substation, in every load state and "
        "between them, over the supply range: a search, not a proof. Never trips "
        "means without leaning on the delay.");
    pd_text_cautions(&page);
    return ferror(out) ? PD_ERR_FILE : PD_OK;
}
