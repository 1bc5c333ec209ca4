/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "case_folder.h"
#include "files.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "study/sample.h"

/* Samples against distributions in closed form, brute force by another road, and themselves: seeds,
 * threads, confidence limits. */

static struct pd_sample *sampled(const char *folder, const struct pd_sample_settings *settings)
{
    struct pd_errors errors = {0};
    struct pd_sample *sample = NULL;
    const enum pd_status status = pd_sample_run(folder, settings, NULL, NULL, &sample, &errors);
    for (size_t i = 0; i < errors.count && i < PD_ERRORS_KEPT; i++) {
        char line[512];
        pd_error_format(&errors.kept[i], line, sizeof line);
        fprintf(stderr, "%s\n", line);
    }
    assert_int_equal(status, PD_OK);
    return sample;
}

static const char *example(const char *name)
{
    static char path[256];
    snprintf(path, sizeof path, "%s/%s", cases_folder(), name);
    return path;
}

static const char *const house_case =
    "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\n"
    "system,single-phase,-\nloop_impedance,0,ohm\nsource_electrode,0,ohm\n";

/* One house without loop impedance: U = E R I / (230 + R I), a rod of R ohm. */
static void write_house(struct written *w, const char *loads, const char *distributions)
{
    written_make(w);
    written_put(w, "case.csv", house_case);
    written_put(w, "loads.csv", loads);
    written_put(w, "electrodes.csv",
                "electrode,node,resistance_ohm,season_factor\nrod,installation,5,1\n");
    if (distributions != NULL)
        written_put(w, "distributions.csv", distributions);
}

static const char *const one_load =
    "load,node,current_a,min_current_a,max_current_a\nvehicle,installation,32,0,32\n";
static const char *const columns = "table,row,column,distribution,low,high,mean,deviation,median,"
                                   "spread,values,weights,file,data_column\n";

static double touch_of(double supply_v, double ohm, double amps)
{
    return supply_v * ohm * amps / (230 + ohm * amps);
}

/* The current drawn is uniform over 0 to 32 A and the voltage grows with it, so every quantile is
 * the voltage at that part of 32 A, and P(U > 70) = 1 - I/32 with U(I) = 70. */
static void test_closed_form(void **state)
{
    (void)state;
    struct written w;
    char distributions[512];
    snprintf(distributions, sizeof distributions,
             "%scase,supply_voltage,value,fixed,,,,,,,253,,,\n", columns);
    write_house(&w, one_load, distributions);
    const struct pd_sample_settings settings = {.trials = 16 * 4096, .seed = 3, .replicates = 16};
    struct pd_sample *s = sampled(w.path, &settings);
    const double limit_a = 70 * 230 / (5 * (253 - 70.0));
    assert_int_equal(s->dimensions, 1);
    assert_close(s->odds.over.value, 1 - limit_a / 32, 0, 1e-4);
    assert_close(s->odds.unseen.value, s->odds.over.value, 0, 0);
    assert_true(s->odds.unknown.value == 0);
    for (size_t q = 0; q < PD_QUANTILES; q++)
        assert_close(s->quantile_v[q].value, touch_of(253, 5, 32 * pd_quantile_levels[q]), 0, 0.05);
    /* the mean of E (1 - a/(a + R I)) is E (1 - (230/(32 R)) ln(1 + 32 R/230)) */
    assert_close(s->odds.mean_v.value, 253 * (1 - 230 / 160.0 * log1p(160 / 230.0)), 1e-4, 0);
    assert_close(s->odds.largest_v, touch_of(253, 5, 32), 1e-3, 0);
    double all = s->beyond;
    for (size_t i = 0; i < PD_BARS; i++)
        all += s->bar[i];
    assert_close(all, 1, 1e-12, 0);
    pd_sample_free(&s);
    written_remove(&w);
}

/* P(U > 70) where current and supply voltage are both uniform: 1 - mean of I(E)/32 with
 * I(E) = 70 * 230 / (R (E - 70)), so 1 - 16100/(32 R (b - a)) ln((b - 70)/(a - 70)). */
static double odds_of_two(double ohm, double low_v, double high_v)
{
    return 1 - 70 * 230 / (32 * ohm * (high_v - low_v)) * log((high_v - 70) / (low_v - 70));
}

/* Over many seeds the limits hold the truth in about 95 of 100 (binomial: 200 seeds give 190, and
 * fewer than 178 or all 200 in one of ten thousand each), and are as wide as the errors are. */
static void test_limits(void **state)
{
    (void)state;
    enum { SEEDS = 200, REPLICATES = 16 };
    struct written w;
    size_t held = 0;
    double squares = 0, widths = 0;
    write_house(&w, one_load, NULL);
    struct pd_case *c = NULL;
    assert_int_equal(pd_case_read(w.path, &c, NULL), PD_OK);
    const double truth = odds_of_two(5, c->limits.supply_low_v, c->limits.supply_high_v);
    pd_case_free(&c);
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        const struct pd_sample_settings settings = {
            .trials = REPLICATES * 200, .seed = seed, .replicates = REPLICATES, .threads = 1};
        struct pd_sample *s = sampled(w.path, &settings);
        const struct pd_estimate *const over = &s->odds.over;
        held += over->low <= truth && truth <= over->high;
        squares += (over->value - truth) * (over->value - truth);
        widths += (over->high - over->low) / 2;
        pd_sample_free(&s);
    }
    const double error = sqrt(squares / SEEDS), half = widths / SEEDS;
    const double student = gsl_cdf_tdist_Pinv(0.975, REPLICATES - 1);
    assert_true(held >= 178 && held < SEEDS);
    assert_true(half / student > 0.8 * error && half / student < 1.25 * error);
    /* and quasi-random: far closer than the sqrt(p (1 - p)/n) of independent trials */
    assert_true(error < 0.4 * sqrt(truth * (1 - truth) / (REPLICATES * 200)));
    written_remove(&w);
}

/* Sixty loads, more than Sobol's forty dimensions, against brute force by the divider and another
 * generator. */
static void test_many_loads(void **state)
{
    (void)state;
    enum { LOADS = 60, TRIES = 400000 };
    struct written w;
    struct stream stream = {7};
    char loads[8192], distributions[512];
    size_t used = (size_t)snprintf(loads, sizeof loads,
                                   "load,node,current_a,min_current_a,max_current_a\n"),
           over = 0;
    for (int i = 0; i < LOADS; i++)
        used += (size_t)snprintf(loads + used, sizeof loads - used,
                                 "load%d,installation,0.1,0,%g\n", i, 0.3 + 0.01 * i);
    snprintf(distributions, sizeof distributions,
             "%scase,supply_voltage,value,fixed,,,,,,,253,,,\n", columns);
    write_house(&w, loads, distributions);
    const struct pd_sample_settings settings = {.trials = 64000, .seed = 5, .replicates = 16};
    struct pd_sample *s = sampled(w.path, &settings);
    double sum_v = 0, square = 0;
    for (int t = 0; t < TRIES; t++) {
        double amps = 0;
        for (int i = 0; i < LOADS; i++)
            amps += stream_uniform(&stream, 0, 0.3 + 0.01 * i);
        const double touch_v = touch_of(253, 5, amps);
        over += touch_v > 70;
        sum_v += touch_v;
        square += touch_v * touch_v;
    }
    const double p = (double)over / TRIES, mean_v = sum_v / TRIES;
    const double deviation_v = sqrt(square / TRIES - mean_v * mean_v);
    assert_int_equal(s->dimensions, LOADS);
    assert_int_equal(s->sobol, 40);
    assert_true(p > 0.05 && p < 0.95);
    /* within five deviations of both */
    assert_close(s->odds.over.value, p, 0,
                 5 * sqrt(p * (1 - p) / TRIES) + 2.5 * (s->odds.over.high - s->odds.over.value));
    assert_close(s->odds.mean_v.value, mean_v, 0,
                 5 * deviation_v / sqrt(TRIES) +
                     2.5 * (s->odds.mean_v.high - s->odds.mean_v.value));
    pd_sample_free(&s);
    written_remove(&w);
}

static void same_estimate(const struct pd_estimate *a, const struct pd_estimate *b)
{
    assert_memory_equal(a, b, sizeof *a);
}

static void test_threads(void **state)
{
    (void)state;
    struct pd_sample *s[3];
    for (size_t i = 0; i < 3; i++) {
        const struct pd_sample_settings settings = {
            .trials = 5000, .seed = 11, .replicates = 5, .threads = i + 1};
        s[i] = sampled(example("street"), &settings);
    }
    for (size_t i = 1; i < 3; i++) {
        same_estimate(&s[0]->odds.over, &s[i]->odds.over);
        same_estimate(&s[0]->odds.unseen, &s[i]->odds.unseen);
        same_estimate(&s[0]->odds.mean_v, &s[i]->odds.mean_v);
        assert_memory_equal(s[0]->bar, s[i]->bar, sizeof s[0]->bar);
        assert_memory_equal(s[0]->quantile_v, s[i]->quantile_v, sizeof s[0]->quantile_v);
        for (size_t b = 0; b < s[0]->break_count; b++)
            same_estimate(&s[0]->at[b].odds.mean_v, &s[i]->at[b].odds.mean_v);
    }
    const struct pd_sample_settings other = {.trials = 5000, .seed = 12, .replicates = 5};
    struct pd_sample *t = sampled(example("street"), &other);
    assert_true(t->odds.mean_v.value != s[0]->odds.mean_v.value);
    assert_close(t->odds.mean_v.value, s[0]->odds.mean_v.value, 0.01, 0);
    pd_sample_free(&t);
    for (size_t i = 0; i < 3; i++)
        pd_sample_free(&s[i]);
}

/* A power factor drawn as one value is that power factor in the table: the three parts of the load
 * draw its current. With loop impedance and other loads, lagging and leading, in A and in kW. */
static void test_power_factor(void **state)
{
    (void)state;
    static const struct {
        const char *size, *factor;
    } loads[] = {{"current_a", "0.8"},
                 {"current_a", "-0.6"},
                 {"power_kw", "0.7"},
                 {"current_a", "0.05"},
                 {"power_kw", "-1"}};
    for (size_t i = 0; i < sizeof loads / sizeof loads[0]; i++) {
        struct written w;
        char table[512], distributions[1024];
        double mean_v[2];
        for (int drawn = 0; drawn < 2; drawn++) {
            snprintf(table, sizeof table,
                     "load,node,%s,power_factor\npump,installation,5,%s\noven,installation,3,0.9\n",
                     loads[i].size, drawn ? "0.95" : loads[i].factor);
            int used = snprintf(distributions, sizeof distributions, "%s", columns);
            if (drawn)
                snprintf(distributions + used, sizeof distributions - (size_t)used,
                         "loads,pump,power_factor,fixed,,,,,,,%s,,,\n"
                         "loads,pump,%s,fixed,,,,,,,5,,,\n",
                         loads[i].factor, loads[i].size);
            write_house(&w, table, distributions);
            const struct pd_sample_settings settings = {.trials = 64, .seed = 1, .replicates = 4};
            struct pd_sample *s = sampled(w.path, &settings);
            mean_v[drawn] = s->odds.mean_v.value;
            pd_sample_free(&s);
            written_remove(&w);
        }
        assert_close(mean_v[1], mean_v[0], 1e-12, 0);
    }
}

/* The rod's resistance times its season, both fixed, and a break that can only be in one place. */
static void test_electrode_and_break(void **state)
{
    (void)state;
    struct written w;
    char distributions[1024];
    snprintf(distributions, sizeof distributions,
             "%scase,supply_voltage,value,fixed,,,,,,,240,,,\n"
             "loads,vehicle,current_a,fixed,,,,,,,20,,,\n"
             "electrodes.csv,rod,resistance_ohm,fixed,,,,,,,4,,,\n"
             "electrodes,rod,season_factor,fixed,,,,,,,1.5,,,\n"
             "sections,far,break_weight,fixed,,,,,,,0,,,\n",
             columns);
    write_house(&w, one_load, distributions);
    written_put(&w, "sections.csv",
                "section,from,to,line_r_ohm,pen_r_ohm,neutral\n"
                "near,substation,installation,0,0,pen\nfar,substation,other,0,0,pen\n");
    written_put(&w, "case.csv",
                "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\n"
                "system,single-phase,-\nsource_electrode,0,ohm\ninstallation,installation,-\n");
    const struct pd_sample_settings settings = {.trials = 64, .seed = 1, .replicates = 4};
    struct pd_sample *s = sampled(w.path, &settings);
    assert_close(s->odds.mean_v.value, touch_of(240, 6, 20), 1e-9, 0);
    assert_true(s->odds.over.value == 1);
    assert_true(s->declared_breaks);
    for (size_t i = 0; i < s->break_count; i++)
        assert_close(s->at[i].share,
                     strcmp(s->study_case->network->node[s->at[i].section].section, "near") == 0, 0,
                     0);
    pd_sample_free(&s);
    written_remove(&w);
}

/* Nothing ties the neutral of a house without electrode whose loads are all off: not determined,
 * and never a comfortable nought. */
static void test_not_determined(void **state)
{
    (void)state;
    struct written w;
    char distributions[512];
    snprintf(distributions, sizeof distributions,
             "%sloads,vehicle,current_a,discrete,,,,,,,0;32,1;1,,\n", columns);
    write_house(&w, one_load, distributions);
    written_put(&w, "electrodes.csv", "electrode,node,resistance_ohm\n");
    const struct pd_sample_settings settings = {.trials = 1024, .seed = 1, .replicates = 4};
    struct pd_sample *s = sampled(w.path, &settings);
    assert_close(s->odds.unknown.value, 0.5, 0, 0.01);
    assert_close(s->odds.over.value, 1 - s->odds.unknown.value, 1e-12, 0);
    assert_true(s->odds.mean_v.value > 216 && s->odds.largest_v < 253);
    assert_int_equal(s->doubts.count, 1);
    pd_sample_free(&s);
    snprintf(distributions, sizeof distributions, "%sloads,vehicle,current_a,fixed,,,,,,,0,,,\n",
             columns);
    written_put(&w, "distributions.csv", distributions);
    s = sampled(w.path, &settings);
    assert_true(s->odds.unknown.value == 1);
    assert_true(isnan(s->odds.mean_v.value));
    for (size_t q = 0; q < PD_QUANTILES; q++)
        assert_true(isnan(s->quantile_v[q].value));
    assert_true(s->doubts.count > 0);
    pd_sample_free(&s);
    written_remove(&w);
    s = sampled(example("house-rod-unmeasured"), &settings);
    assert_true(s->missing);
    pd_sample_free(&s);
}

/* Few events are said to be few, and none is not taken for never. */
static void test_thin(void **state)
{
    (void)state;
    struct written w;
    char distributions[512];
    snprintf(distributions, sizeof distributions, "%sloads,vehicle,current_a,uniform,0,2,,,,,,,,\n",
             columns);
    write_house(&w, one_load, distributions);
    const struct pd_sample_settings settings = {.trials = 1600, .seed = 1, .replicates = 16};
    struct pd_sample *s = sampled(w.path, &settings);
    assert_true(s->odds.over.value == 0);
    assert_close(s->odds.over.high, 3.0 / 1600, 1e-12, 0);
    assert_int_equal(s->doubts.count, 2);
    pd_sample_free(&s);
    written_remove(&w);
}

/* The inverse against GSL's own distribution functions. */
static void test_inverse(void **state)
{
    (void)state;
    struct pd_distribution normal = {
        .kind = PD_SPREAD_NORMAL, .low = 2, .high = 9, .centre = 5, .wide = 2};
    struct pd_distribution lognormal = {
        .kind = PD_SPREAD_LOGNORMAL, .low = 1, .high = 400, .centre = 20, .wide = 2.5};
    assert_true(pd_distribution_cut(&normal) && pd_distribution_cut(&lognormal));
    for (double u = 0.01; u < 1; u += 0.01) {
        const double x = pd_distribution_value(&normal, u);
        const double below = gsl_cdf_gaussian_P(2 - 5, 2), above = gsl_cdf_gaussian_P(9 - 5, 2);
        assert_close((gsl_cdf_gaussian_P(x - 5, 2) - below) / (above - below), u, 1e-10, 0);
        const double y = pd_distribution_value(&lognormal, u), zeta = log(20), sigma = log(2.5);
        const double low = gsl_cdf_lognormal_P(1, zeta, sigma),
                     high = gsl_cdf_lognormal_P(400, zeta, sigma);
        assert_close((gsl_cdf_lognormal_P(y, zeta, sigma) - low) / (high - low), u, 1e-10, 0);
    }
    normal.low = 5 + 2 * 8;
    normal.high = 5 + 2 * 9;
    assert_false(pd_distribution_cut(&normal));
}

/* Values by weight, and a column of data: every value as often as it should be. */
static void test_discrete(void **state)
{
    (void)state;
    struct written w;
    char distributions[1024];
    struct pd_spread_rows rows = {0};
    struct pd_errors errors = {0};
    snprintf(distributions, sizeof distributions,
             "%sloads,a,current_a,discrete,,,,,,,16;0; 32,1;2;1,,\n"
             "loads,b,power_kw,data,,,,,,,,,kw.csv,\"house \"\"2\"\"\"\n",
             columns);
    written_make(&w);
    written_put(&w, "distributions.csv", distributions);
    written_put(&w, "kw.csv",
                "# a comment\ntime,\"house \"\"2\"\"\",x\n1,3,9\n2,,9\n3,1,9\n4,2,9\n5,2,9\n");
    assert_int_equal(pd_spread_rows_read(w.path, &rows, &errors), PD_OK);
    assert_int_equal(rows.count, 2);
    size_t seen[33] = {0}, data[4] = {0};
    for (int i = 0; i < 1000; i++) {
        const double u = (i + 0.5) / 1000;
        seen[(int)pd_distribution_value(&rows.row[0].distribution, u)]++;
        data[(int)pd_distribution_value(&rows.row[1].distribution, u)]++;
    }
    assert_true(seen[0] == 500 && seen[16] == 250 && seen[32] == 250);
    assert_true(data[1] == 250 && data[2] == 500 && data[3] == 250);
    pd_spread_rows_free(&rows);
    written_remove(&w);
}

/* A winter day of a hundred houses, where the data are at hand. */
static void test_open_data(void **state)
{
    (void)state;
    char path[512], distributions[1024];
    const char *const folder = getenv("PENDRIFT_DATA");
    struct stat unused;
    snprintf(path, sizeof path, "%s/house-days/uk_winter_day_100houses_5min_kW.csv",
             folder != NULL ? folder : "../shared/data");
    if (stat(path, &unused) != 0) {
        printf("house-days: %s is not there\n", path);
        skip();
    }
    char *const absolute = realpath(path, NULL);
    struct written w;
    snprintf(distributions, sizeof distributions,
             "%sloads,vehicle,power_kw,data,,,,,,,,,%s,h18\n"
             "case,supply_voltage,value,fixed,,,,,,,230,,,\n",
             columns, absolute);
    write_house(&w, one_load, distributions);
    const struct pd_sample_settings settings = {.trials = 16 * 288, .seed = 1, .replicates = 16};
    struct pd_sample *s = sampled(w.path, &settings);
    /* the column again, by another road: the mean of U over its values */
    FILE *const file = fopen(path, "r");
    char line[8192];
    double sum_v = 0;
    size_t count = 0;
    assert_non_null(file);
    assert_non_null(fgets(line, sizeof line, file));
    while (fgets(line, sizeof line, file) != NULL) {
        char *cell = line;
        for (int i = 0; i < 18; i++)
            cell = strchr(cell, ',') + 1;
        sum_v += touch_of(230, 5, 1000 * strtod(cell, NULL) / 230);
        count++;
    }
    fclose(file);
    assert_int_equal(count, 288);
    assert_close(s->odds.mean_v.value, sum_v / 288, 0.01, 0);
    assert_true(s->odds.mean_v.low <= sum_v / 288 && sum_v / 288 <= s->odds.mean_v.high);
    pd_sample_free(&s);
    free(absolute);
    written_remove(&w);
}

/* What is said of a wrong row of distributions.csv. */
static void test_wrong(void **state)
{
    (void)state;
    static const struct {
        const char *row, *text;
    } wrong[] = {
        {"loads,vehicel,current_a,uniform,0,32,,,,,,,,",
         "row: loads.csv has no row 'vehicel'; did you mean 'vehicle'?"},
        {"loads,vehicle,currant,uniform,0,32,,,,,,,,",
         "column: loads.csv currant cannot be sampled; what can: loads current_a, power_kw, "
         "power_factor, electrodes resistance_ohm, season_factor, case supply_voltage value, "
         "sections break_weight"},
        {"loads,vehicle,current_a,unifrom,0,32,,,,,,,,",
         "distribution: unknown 'unifrom'; did you mean 'uniform'? One of: fixed, uniform, normal, "
         "lognormal, discrete, data"},
        {"loads,vehicle,current_a,uniform,32,0,,,,,,,,", "low: 32 is not below high 0"},
        {"loads,vehicle,current_a,uniform,-1,32,,,,,,,,",
         "distribution: goes from -1 to 32; current_a may be 0 to 10000"},
        {"loads,vehicle,current_a,uniform,0,32,5,,,,,,,",
         "mean: a uniform distribution does not use it; leave it empty"},
        {"loads,vehicle,current_a,normal,0,32,16,,,,,,,",
         "deviation: is empty; a number is needed: 1e-09 to 1000000000"},
        {"loads,vehicle,current_a,normal,30,32,1,1,,,,,,",
         "low: between low and high lies next to nothing of the curve"},
        {"loads,vehicle,current_a,discrete,,,,,,,1;x,,,",
         "values: 'x' is not a number; write numbers with ';' between them, at most 256"},
        {"loads,vehicle,current_a,discrete,,,,,,,1;2,1;2;3,,",
         "weights: has 3 weights for 2 values"},
        {"loads,vehicle,current_a,discrete,,,,,,,1;2,0;0,,", "weights: add up to 0"},
        {"loads,vehicle,power_factor,uniform,-1,1,,,,,,,,",
         "distribution: goes from -1 to 1; a power factor is 0.05 to 1 lagging, or -1 to -0.05 "
         "leading, not both"},
        {"loads,vehicle,current_a,data,,,,,,,,,none.csv,x", "none.csv: cannot be opened"},
        {"sections,supply,break_weight,fixed,,,,,,,0,,,",
         "gives every section with a PEN the break_weight 0; leave one above it"},
        {"sections,suply,break_weight,fixed,,,,,,,1,,,", "row: sections.csv has no row 'suply'"},
        {"loads,vehicle,current_a,fixed,,,,,,,1,,,\nloads,vehicle,power_kw,fixed,,,,,,,1,,,",
         "column: 'vehicle' has a distribution of current_a and of power_kw; keep one"},
        {"loads,vehicle,current_a,fixed,,,,,,,1,,,\nloads.csv,vehicle,current_a,fixed,,,,,,,1,,,",
         "row: 'vehicle' already has a distribution, of line 2"},
    };
    const struct pd_sample_settings settings = {.trials = 64, .seed = 1, .replicates = 4};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct written w;
        struct pd_errors errors = {0};
        struct pd_sample *s = NULL;
        char table[2048], line[512];
        snprintf(table, sizeof table, "%s%s\n", columns, wrong[i].row);
        write_house(&w, one_load, table);
        assert_int_equal(pd_sample_run(w.path, &settings, NULL, NULL, &s, &errors), PD_ERR_INPUT);
        assert_null(s);
        assert_int_equal(errors.count, 1);
        pd_error_format(&errors.kept[0], line, sizeof line);
        assert_non_null(strstr(line, wrong[i].text));
        written_remove(&w);
    }
}

static bool stop(double share, void *context)
{
    (void)share, (void)context;
    return false;
}

static void test_interrupted(void **state)
{
    (void)state;
    struct pd_sample *s = NULL;
    const struct pd_sample_settings settings = {.trials = 5000, .seed = 1, .replicates = 4};
    assert_int_equal(pd_sample_run(example("street"), &settings, stop, NULL, &s, NULL),
                     PD_ERR_INTERRUPTED);
    assert_null(s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_closed_form),    cmocka_unit_test(test_limits),
        cmocka_unit_test(test_many_loads),     cmocka_unit_test(test_threads),
        cmocka_unit_test(test_power_factor),   cmocka_unit_test(test_electrode_and_break),
        cmocka_unit_test(test_not_determined), cmocka_unit_test(test_thin),
        cmocka_unit_test(test_inverse),        cmocka_unit_test(test_discrete),
        cmocka_unit_test(test_open_data),      cmocka_unit_test(test_wrong),
        cmocka_unit_test(test_interrupted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
