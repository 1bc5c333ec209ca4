/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sites.h"

#include <stdbool.h>
#include <string.h>

/* splitmix64, as tests/check.c has it: this file is used where there is no cmocka. */
struct dice {
    uint64_t state;
};

static uint64_t throw_dice(struct dice *dice)
{
    uint64_t z = dice->state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ z >> 27) * UINT64_C(0x94d049bb133111eb);
    return z ^ z >> 31;
}

static int between(struct dice *dice, int least, int most)
{
    return least + (int)(throw_dice(dice) % (uint64_t)(most - least + 1));
}

enum column {
    SITE,
    CONTRACTOR,
    DATE,
    BASIS,
    EARTHING,
    SYSTEM,
    DEMAND1,
    DEMAND2,
    DEMAND3,
    LEAST1,
    LEAST2,
    LEAST3,
    CHARGER,
    PHASE,
    MANAGEMENT,
    PME,
    CONFIRMED,
    ELECTRODE,
    SEASON,
    FACTOR,
    SHAPE,
    LENGTH,
    SOIL,
    SENSES,
    LOW,
    HIGH,
    LIMIT,
    TOLERANCE,
    DELAY,
    DISCONNECTS,
    RESET,
    RCD,
    REACH,
    LOOP,
    VOLTAGE1,
    VOLTAGE2,
    VOLTAGE3,
    TRANSFORMER,
    NOTE,
    COLUMNS
};

static const char *const names[COLUMNS] = {
    "site",
    "contractor",
    "date",
    "basis",
    "earthing",
    "system",
    "demand_l1_a",
    "demand_l2_a",
    "demand_l3_a",
    "least_demand_l1_a",
    "least_demand_l2_a",
    "least_demand_l3_a",
    "charger_a",
    "charger_phase",
    "load_management_a",
    "pme_terminal_used",
    "distributor_confirmed",
    "electrode_ohm",
    "electrode_season",
    "season_factor",
    "electrode_shape",
    "electrode_length_m",
    "soil",
    "detector_senses",
    "detector_low_v",
    "detector_high_v",
    "detector_limit_v",
    "detector_tolerance_v",
    "detector_delay_s",
    "detector_disconnects",
    "detector_reset",
    "rcd_ma",
    "reach_m",
    "loop_impedance_ohm",
    "voltage_l1_v",
    "voltage_l2_v",
    "voltage_l3_v",
    "transformer",
    "note of the office",
};

struct job {
    char cell[COLUMNS][40];
    int cells; /* written; fewer than COLUMNS: a broken row */
};

static void set(struct job *job, enum column column, const char *text)
{
    snprintf(job->cell[column], sizeof job->cell[column], "%s", text);
}

static void set_number(struct job *job, enum column column, double value, int decimals)
{
    snprintf(job->cell[column], sizeof job->cell[column], "%.*f", decimals, value);
}

/* A single-phase job that claims nothing yet. */
static void common(struct dice *dice, struct job *job, size_t number)
{
    static const char *const crews[] = {"Amber crew", "Birch crew", "Dune crew", "Elder crew",
                                        "Fern crew",  "Gorse crew", "Heron crew"};
    *job = (struct job){.cells = COLUMNS};
    snprintf(job->cell[SITE], sizeof job->cell[SITE], "OD-%06zu", number + 1);
    set(job, CONTRACTOR, crews[between(dice, 0, 6)]);
    const int day = between(dice, 1, 28); /* a throw by itself: arguments have no order */
    const int month = between(dice, 1, 9);
    snprintf(job->cell[DATE], sizeof job->cell[DATE], "2026-%02d-%02d", month, day);
    set(job, EARTHING, "TN-C-S");
    set(job, SYSTEM, "single-phase");
    set_number(job, DEMAND1, between(dice, 10, 60), 0);
    set(job, CHARGER, "32");
    set(job, PHASE, "L1");
    set(job, PME, "yes");
    set(job, RCD, "30");
    set_number(job, LOOP, between(dice, 12, 34) / 100.0, 2);
    set_number(job, VOLTAGE1, between(dice, 2300, 2450) / 10.0, 1);
    set(job, TRANSFORMER, between(dice, 0, 1) ? "three-phase-315-kva" : "three-phase-500-kva");
}

static void band_device(struct dice *dice, struct job *job)
{
    set(job, BASIS, "band-device");
    set(job, SENSES, "line-neutral");
    set_number(job, LOW, between(dice, 209, 212), 0);
    set_number(job, HIGH, between(dice, 248, 251), 0);
    set(job, TOLERANCE, "2");
    set_number(job, DELAY, between(dice, 10, 45) / 10.0, 1);
    set(job, DISCONNECTS, "live-and-pe");
    set(job, RESET, "manual");
}

static void pe_device(struct dice *dice, struct job *job)
{
    band_device(dice, job);
    set(job, BASIS, "pe-device");
    set(job, SENSES, "pe-earth");
    set(job, LOW, "");
    set(job, HIGH, "");
    set_number(job, LIMIT, between(dice, 40, 66), 0);
}

static void tt(struct dice *dice, struct job *job)
{
    set(job, BASIS, "tt");
    set(job, PME, "no");
    set_number(job, ELECTRODE, between(dice, 300, 1400) / 10.0, 1);
    set(job, SEASON, "dry");
    set(job, SHAPE, "rod");
    set(job, LENGTH, "2.4");
    set(job, SOIL, "soft-clay");
    set_number(job, REACH, between(dice, 26, 90) / 10.0, 1);
}

/* A mat in wet ground: such an electrode is rare. */
static void electrode(struct dice *dice, struct job *job)
{
    set(job, BASIS, "electrode");
    set_number(job, DEMAND1, between(dice, 3, 6), 0);
    set(job, CHARGER, "16");
    set_number(job, ELECTRODE, between(dice, 90, 170) / 100.0, 2);
    set(job, SEASON, "wet");
    set(job, FACTOR, "2");
    set(job, SHAPE, "plate");
    set(job, SOIL, "swamp");
}

static void balance(struct dice *dice, struct job *job)
{
    set(job, BASIS, "balance");
    set(job, SYSTEM, "three-phase");
    set(job, PHASE, "L123");
    for (int line = 0; line < 3; line++) {
        const int most_a = between(dice, 78, 84);
        set_number(job, (enum column)(DEMAND1 + line), most_a, 0);
        set_number(job, (enum column)(LEAST1 + line), most_a - between(dice, 8, 12), 0);
        set_number(job, (enum column)(VOLTAGE1 + line), between(dice, 2340, 2440) / 10.0, 1);
    }
}

static void no_pen(struct dice *dice, struct job *job)
{
    (void)dice;
    set(job, BASIS, "no-pen");
    set(job, EARTHING, "TN-S");
    set(job, CONFIRMED, "yes");
}

typedef void make_claim(struct dice *dice, struct job *job);

/* What is wrong: a sound job of a kind, some of its cells changed, and what must come of it. */
struct defect {
    make_claim *claim;
    enum column column;
    const char *cell;
    enum column column2;
    const char *cell2;
    const char *finding, *code;
};

#define AGAINST "not supported"
#define DOUBT "insufficient evidence"

static const struct defect defects[] = {
    {electrode, ELECTRODE, "12.0", SITE, NULL, AGAINST, "electrode-too-high"},
    {electrode, FACTOR, "", SITE, NULL, DOUBT, "season-factor-missing"},
    {electrode, FACTOR, "", SEASON, "", DOUBT, "season-missing"},
    {electrode, ELECTRODE, "", SITE, NULL, DOUBT, "electrode-not-measured"},
    {tt, ELECTRODE, "0.2", SOIL, "siliceous-sand", DOUBT, "electrode-implausibly-low"},
    {tt, ELECTRODE, "400", SITE, NULL, AGAINST, "tt-electrode-too-high"},
    {tt, REACH, "1.2", SITE, NULL, AGAINST, "pme-metalwork-in-reach"},
    {tt, REACH, "", SITE, NULL, DOUBT, "reach-missing"},
    {tt, PME, "yes", SITE, NULL, AGAINST, "pme-terminal-used"},
    {tt, PME, "", SITE, NULL, DOUBT, "pme-terminal-missing"},
    {tt, RCD, "0.03", SITE, NULL, DOUBT, "rcd-unit"},
    {band_device, LOW, "195", SITE, NULL, AGAINST, "band-too-wide"},
    {band_device, HIGH, "262", SITE, NULL, AGAINST, "band-too-wide"},
    {band_device, DISCONNECTS, "live", SITE, NULL, AGAINST, "pe-not-disconnected"},
    {band_device, RESET, "automatic", SITE, NULL, AGAINST, "closes-again-by-itself"},
    {band_device, DELAY, "8", SITE, NULL, AGAINST, "disconnects-too-late"},
    {band_device, DELAY, "4000", SITE, NULL, DOUBT, "delay-unit"},
    {band_device, DELAY, "", SITE, NULL, DOUBT, "delay-or-disconnects-missing"},
    {band_device, LOW, "", SITE, NULL, DOUBT, "thresholds-missing"},
    {band_device, LOW, "260", SITE, NULL, DOUBT, "band-upside-down"},
    {band_device, SENSES, "", SITE, NULL, DOUBT, "device-not-described"},
    {band_device, PME, "no", SITE, NULL, AGAINST, "pme-terminal-not-used"},
    {band_device, BASIS, "", SITE, NULL, DOUBT, "basis-missing"},
    {band_device, BASIS, "pe-device", SITE, NULL, AGAINST, "device-of-another-kind"},
    {band_device, BASIS, "balance", SITE, NULL, AGAINST, "not-three-phase"},
    {band_device, EARTHING, "", SITE, NULL, DOUBT, "supply-missing"},
    {band_device, LOOP, "0.004", SITE, NULL, DOUBT, "loop-implausibly-low"},
    {band_device, LOOP, "210", SITE, NULL, DOUBT, "loop-unit"},
    {band_device, VOLTAGE1, "0.238", SITE, NULL, DOUBT, "voltage-unit"},
    {band_device, VOLTAGE1, "411", SITE, NULL, DOUBT, "voltage-unit"},
    {band_device, VOLTAGE1, "24O.1", SITE, NULL, DOUBT, "cell-not-understood"},
    {pe_device, LIMIT, "90", SITE, NULL, AGAINST, "threshold-too-high"},
    {pe_device, DISCONNECTS, "lines", SITE, NULL, AGAINST, "pe-not-disconnected"},
    {balance, DEMAND1, "300", SITE, NULL, AGAINST, "balance-over-limit"},
    {balance, DEMAND2, "", LEAST2, "", DOUBT, "loads-missing"},
    {balance, LEAST3, "130", SITE, NULL, DOUBT, "least-above-demand"},
    {balance, CHARGER, "7.4", SITE, NULL, DOUBT, "charger-unit"},
    {no_pen, CONFIRMED, "", SITE, NULL, DOUBT, "no-pen-unconfirmed"},
    {no_pen, EARTHING, "TN-C-S", SITE, NULL, AGAINST, "supply-has-a-pen"},
};
enum { DEFECTS = sizeof defects / sizeof defects[0] };

static void write_job(FILE *sheet, const struct job *job)
{
    for (int i = 0; i < job->cells; i++)
        fprintf(sheet, strpbrk(job->cell[i], ",\"") != NULL ? "%s\"%s\"" : "%s%s", i > 0 ? "," : "",
                job->cell[i]);
    fputc('\n', sheet);
}

static void make_sound(struct dice *dice, struct job *job)
{
    static make_claim *const claims[] = {band_device, band_device, band_device, band_device,
                                         pe_device,   tt,          electrode,   balance,
                                         no_pen,      band_device};
    claims[between(dice, 0, 9)](dice, job);
    if (between(dice, 0, 7) == 0)
        set(job, NOTE, "asked, no answer yet");
}

/* One job in five has something wrong; one crew copies its readings. */
static void make_job(struct dice *dice, size_t number, struct job *job, const char **finding,
                     const char **code)
{
    const int kind = between(dice, 0, 24);
    common(dice, job, number);
    *finding = "supported";
    *code = "-";
    if (kind == 0) {
        tt(dice, job);
        set(job, CONTRACTOR, "Cob crew");
        set(job, ELECTRODE, "62.0");
        *finding = DOUBT;
        *code = "electrode-reading-repeated";
    } else if (kind == 1 && number % 4 == 0) {
        band_device(dice, job);
        job->cells = COLUMNS - 6;
        *finding = "not read";
        *code = "row-not-read";
    } else if (kind < 7) {
        const struct defect *const d = &defects[number % DEFECTS];
        d->claim(dice, job);
        set(job, d->column, d->cell);
        if (d->cell2 != NULL)
            set(job, d->column2, d->cell2);
        *finding = d->finding;
        *code = d->code;
    } else {
        make_sound(dice, job);
    }
}

void sites_write(FILE *sheet, FILE *planted, uint64_t seed, size_t rows)
{
    struct dice dice = {seed};
    fprintf(
        sheet,
        "# Charging points in Oddenbury, %zu completed jobs. The place, the crews, the jobs and "
        "every figure are invented;\n"
        "# some are wrong on purpose. Made by tests/make_sites.c, seed %llu.\n",
        rows, (unsigned long long)seed);
    for (int i = 0; i < COLUMNS; i++)
        fprintf(sheet, "%s%s", i > 0 ? "," : "", names[i]);
    fputc('\n', sheet);
    for (size_t i = 0; i < rows; i++) {
        struct job job;
        const char *finding, *code;
        make_job(&dice, i, &job, &finding, &code);
        write_job(sheet, &job);
        if (planted != NULL)
            fprintf(planted, "%s|%s\n", finding, code);
    }
}
