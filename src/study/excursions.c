/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/excursions.h"

#include <math.h>

struct pd_excursions pd_excursions_new(void)
{
    return (struct pd_excursions){.first_s = NAN, .open_s = -1, .open_from_s = NAN};
}

/* Each line for itself: a device within tolerance may act on any of them. */
static bool may_act(const struct pd_detector *detector, const struct pd_log_sample *sample)
{
    struct pd_detector one = *detector;
    struct pd_view view = {.lines = sample->lines};
    one.senses = PD_SENSE_LINE;
    for (int line = PD_L1; line < PD_LINES; line++)
        view.v[line] = (sample->lines & 1u << line) != 0 ? sample->voltage_v[line] : 0;
    return pd_detector_look(&one, &view).may_trip;
}

static void end_excursion(struct pd_excursions *e, double delay_s)
{
    if (e->open_s < 0)
        return;
    e->longest_s = fmax(e->longest_s, e->open_s);
    if (e->open_s < delay_s) {
        e->short_ones++;
    } else {
        e->trips++;
        e->tripped_s += e->open_s;
        if (isnan(e->first_s))
            e->first_s = e->open_from_s;
    }
    e->open_s = -1;
}

void pd_excursions_add(struct pd_excursions *e, const struct pd_detector *detector,
                       const struct pd_log_sample *sample)
{
    e->samples++;
    if (may_act(detector, sample)) {
        e->outside++;
        if (e->open_s < 0) {
            e->open_s = 0;
            e->open_from_s = sample->time_s;
        }
        e->open_s += sample->hold_s;
    } else {
        end_excursion(e, detector->delay_s);
    }
    if (sample->breaks)
        end_excursion(e, detector->delay_s);
}

bool pd_excursions_can(const struct pd_detector *detector, unsigned lines)
{
    return pd_sense_has_band(detector->senses) && lines != 0 && isfinite(detector->low_v) &&
           isfinite(detector->high_v) && isfinite(detector->tolerance_v);
}
