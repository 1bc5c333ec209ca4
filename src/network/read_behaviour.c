/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "network/read_behaviour.h"

#include <math.h>

#include "network/behaviour.h"
#include "table/words.h"

static bool read_name(const struct pd_row *row, size_t first, struct pd_load *load,
                      struct pd_errors *errors)
{
    enum { BEHAVIOURS_MAX = 32 };
    const char *names[BEHAVIOURS_MAX];
    size_t chosen = 0, count = 0;
    for (; count < pd_behaviour_count && count < BEHAVIOURS_MAX; count++)
        names[count] = pd_behaviours[count]->name;
    if (pd_row_has(row, first + PD_BEHAVIOUR_NAME) &&
        !pd_row_choice(row, first + PD_BEHAVIOUR_NAME, names, count, &chosen, errors))
        return false;
    load->behaviour = pd_behaviours[chosen];
    return true;
}

/* A figure that the behaviour does not use is a mistake: someone expects it to count. */
static bool reject(const struct pd_row *row, size_t column, const struct pd_load *load,
                   struct pd_errors *errors)
{
    if (!pd_row_has(row, column))
        return true;
    pd_row_error(row, column, errors, "is not used by behaviour '%s'; leave it empty",
                 load->behaviour->name);
    return false;
}

static bool read_voltage(const struct pd_row *row, size_t column, double part,
                         struct pd_range range, const struct pd_load *load, double *value,
                         struct pd_errors *errors)
{
    if (isnan(part))
        return reject(row, column, load, errors);
    return pd_row_number_or_keep(row, column, range, value, errors);
}

/* Nominal voltage lies between the two, or the load's size would not be what it takes there; below
 * 5 % of nominal an inverter gives nothing and a load's fall-back says nothing. */
static bool read_voltages(const struct pd_row *row, size_t first, double nominal_v,
                          struct pd_load *load, struct pd_errors *errors)
{
    struct pd_range low = {0.05 * nominal_v, nominal_v, "5 % to 100 % of nominal"};
    struct pd_range high = {nominal_v, 2 * nominal_v, "100 % to 200 % of nominal"};
    if (!isfinite(nominal_v))
        low = high = (struct pd_range){0, INFINITY, NULL};
    const struct pd_behaviour *const behaviour = load->behaviour;
    bool good = read_voltage(row, first + PD_BEHAVIOUR_LOW, behaviour->low_part, low, load,
                             &load->low_v, errors);
    good &= read_voltage(row, first + PD_BEHAVIOUR_HIGH, behaviour->high_part, high, load,
                         &load->high_v, errors);
    return good;
}

/* Only what has a window lets go, and comes back. */
static bool read_time(const struct pd_row *row, size_t column, const struct pd_load *load,
                      double *value, struct pd_errors *errors)
{
    if (!load->behaviour->window)
        return reject(row, column, load, errors);
    return pd_row_number_or_keep(row, column, (struct pd_range){0, 86400, NULL}, value, errors);
}

static bool read_named(const struct pd_row *row, size_t column, const struct pd_mixtures *mixtures,
                       struct pd_load *load, struct pd_errors *errors)
{
    enum { MIXTURES_MAX = 64 };
    const char *names[MIXTURES_MAX];
    size_t chosen = 0, count = 0;
    for (; count < mixtures->count && count < MIXTURES_MAX; count++)
        names[count] = pd_names_text(mixtures->names, count);
    if (!pd_row_choice(row, column, names, count, &chosen, errors))
        return false;
    for (size_t i = 0; i < 3; i++)
        load->part[i] = mixtures->mixture[chosen].part[i];
    return true;
}

static bool read_shares(const struct pd_row *row, size_t first, struct pd_load *load,
                        struct pd_errors *errors)
{
    const struct pd_range share = {0, 1, NULL};
    bool good = true;
    for (size_t i = 0; i < 3; i++) {
        const size_t column = first + PD_BEHAVIOUR_IMPEDANCE + i;
        if (pd_row_has(row, column)) {
            good &= pd_row_number(row, column, share, &load->part[i], errors);
        } else {
            pd_row_error(row, column, errors,
                         "is empty; a mixture needs impedance_part, current_part and power_part, "
                         "or the column mixture");
            good = false;
        }
    }
    if (!good)
        return false;
    const double sum = load->part[0] + load->part[1] + load->part[2];
    if (fabs(sum - 1) <= 1e-6)
        return true;
    pd_row_error(row, first + PD_BEHAVIOUR_POWER, errors,
                 "impedance_part, current_part and power_part add up to %.10g; they must add up "
                 "to 1",
                 sum);
    return false;
}

static bool read_mixture(const struct pd_row *row, size_t first, const struct pd_mixtures *mixtures,
                         struct pd_load *load, struct pd_errors *errors)
{
    const size_t named = first + PD_BEHAVIOUR_MIXTURE;
    bool shares = false, good = true;
    for (size_t column = named + 1; column <= first + PD_BEHAVIOUR_POWER; column++)
        shares |= pd_row_has(row, column);
    if (load->behaviour != &pd_behaviour_mixture) {
        for (size_t column = named; column <= first + PD_BEHAVIOUR_POWER; column++)
            good &= reject(row, column, load, errors);
        return good;
    }
    if (!pd_row_has(row, named) && !shares) {
        pd_row_error(row, named, errors,
                     "is empty; name a mixture, or give impedance_part, current_part and "
                     "power_part");
        return false;
    }
    if (!pd_row_has(row, named))
        return read_shares(row, first, load, errors);
    if (shares) {
        pd_row_error(row, named, errors, "name a mixture or give its parts, not both");
        good = false;
    }
    return read_named(row, named, mixtures, load, errors) && good;
}

bool pd_behaviour_read(const struct pd_row *row, size_t first_column,
                       const struct pd_mixtures *mixtures, double nominal_v, struct pd_load *load,
                       struct pd_errors *errors)
{
    load->low_v = NAN;
    load->high_v = NAN;
    load->trip_s = load->reconnect_s = NAN;
    if (!read_name(row, first_column, load, errors))
        return false;
    bool good = read_voltages(row, first_column, nominal_v, load, errors);
    good &= read_mixture(row, first_column, mixtures, load, errors);
    good &= read_time(row, first_column + PD_BEHAVIOUR_TRIP, load, &load->trip_s, errors);
    good &= read_time(row, first_column + PD_BEHAVIOUR_RECONNECT, load, &load->reconnect_s, errors);
    return good;
}
