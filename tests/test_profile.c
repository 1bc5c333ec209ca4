/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Reading a load series: times against the C library's calendar, numbers against its strtod, units
 * against the definition of power. What is wrong in a profile is in tests/bad/profile_*. */

#include "case_folder.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "study/profile.h"
#include "table/table.h"

static int64_t time_of(const char *text, bool want_dated)
{
    int64_t at_ms = -1;
    bool dated = !want_dated;
    if (!pd_profile_time(text, &at_ms, &dated))
        fail_msg("'%s' is taken for no time", text);
    assert_int_equal(dated, want_dated);
    return at_ms;
}

static void test_clock(void **state)
{
    (void)state;
    assert_int_equal(time_of("00:00", false), 0);
    assert_int_equal(time_of("17:30", false), (17 * 60 + 30) * 60000);
    assert_int_equal(time_of("17:30:59", false), (17 * 60 + 30) * 60000 + 59000);
    assert_int_equal(time_of("00:00:00.250", false), 250);
    assert_int_equal(time_of("24:00:00", false), 86400000);
}

/* Against strftime and gmtime, which share no code with it, over four centuries. */
static void test_dates(void **state)
{
    struct stream stream = {20260114};
    (void)state;
    for (size_t i = 0; i < 2000 * soak(); i++) {
        const time_t at = (time_t)stream_uniform(&stream, -2.2e9, 1.0e10);
        char text[64];
        struct tm parts;
        gmtime_r(&at, &parts);
        strftime(text, sizeof text, i % 2 == 0 ? "%Y-%m-%dT%H:%M:%SZ" : "%Y-%m-%d %H:%M:%S",
                 &parts);
        assert_int_equal(time_of(text, true), 1000 * (int64_t)at);
    }
}

static void test_offsets(void **state)
{
    (void)state;
    const int64_t utc = time_of("2026-10-25T00:30Z", true);
    assert_int_equal(time_of("2026-10-25T01:30+01:00", true), utc);
    assert_int_equal(time_of("2026-10-25T01:30+0100", true), utc);
    assert_int_equal(time_of("2026-10-24T20:30-04:00", true), utc);
    assert_int_equal(time_of("2026-10-25T01:30+00:00", true) - utc, 3600000);
    assert_int_equal(time_of("2024-02-29T24:00", true), time_of("2024-03-01T00:00", true));
}

static void test_no_times(void **state)
{
    static const char *const wrong[] = {"",
                                        "1",
                                        "1:30",
                                        "24:01",
                                        "12:60",
                                        "12:30:60",
                                        "12:30x",
                                        "12:30:",
                                        "2026-1-1T00:00",
                                        "2026-13-01T00:00",
                                        "2026-04-31T00:00",
                                        "2025-02-29T00:00",
                                        "2026-01-01",
                                        "2026-01-01T",
                                        "2026-01-01T1",
                                        "2026-01-01T10:00+",
                                        "2026-01-01T10:00+1",
                                        "2026-01-01T10:00 Z",
                                        "-1:00",
                                        "2026-01-01t10:00",
                                        "12:30 ",
                                        " 12:30",
                                        "1899-01-01T00:00"};
    (void)state;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        int64_t at_ms;
        bool dated;
        if (pd_profile_time(wrong[i], &at_ms, &dated))
            fail_msg("'%s' is taken for a time", wrong[i]);
    }
}

static void test_step(void **state)
{
    (void)state;
    const int64_t even[] = {0, 30, 60, 90};
    assert_int_equal(pd_profile_step(even, 4), 30);
    const int64_t gap_first[] = {0, 500, 530, 560};
    assert_int_equal(pd_profile_step(gap_first, 4), 30);
    const int64_t torn[] = {0, 10, 40}; /* each once: the shorter */
    assert_int_equal(pd_profile_step(torn, 3), 10);
}

/* The quick way for short numbers must round as strtod does, to the last bit. */
static void test_numbers(void **state)
{
    struct stream stream = {55};
    (void)state;
    for (size_t i = 0; i < 200000 * soak(); i++) {
        char text[64];
        double value = NAN;
        const int decimals = (int)stream_below(&stream, 18);
        const double size = pow(10, stream_uniform(&stream, -3, 12));
        snprintf(text, sizeof text, "%.*f", decimals, stream_uniform(&stream, 0, size));
        assert_true(pd_parse_number(text, &value));
        const double want = strtod(text, NULL);
        assert_memory_equal(&value, &want, sizeof want);
    }
    static const char *const wrong[] = {
        "",    ".",  "1.",  "1..2", "1.2.3", "0x1", "nan",
        "inf", "1 ", "+-1", "1,2",  "1e",    "--1", "999999999999999.",
        "1_0"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        double value;
        assert_false(pd_parse_number(wrong[i], &value));
    }
    static const char *const right[] = {
        ".5",   "0",    "000.125", "123456789012345", "1234567890123456", "0.1234567890123456",
        "+2.5", "-2.5", "1e3"};
    for (size_t i = 0; i < sizeof right / sizeof right[0]; i++) {
        double value;
        assert_true(pd_parse_number(right[i], &value));
        assert_true(value == strtod(right[i], NULL));
    }
}

struct seen {
    size_t count;
    double load_a[8][4];
    int64_t at_ms[8];
    bool known[8];
    size_t loads;
};

static enum pd_status see(const struct pd_profile_moment *moment, void *context)
{
    struct seen *const seen = context;
    assert_true(seen->count < 8);
    memcpy(seen->load_a[seen->count], moment->load_a, seen->loads * sizeof(double));
    seen->at_ms[seen->count] = moment->at_ms;
    seen->known[seen->count++] = moment->known;
    return PD_OK;
}

static void write_file(const struct folder *folder, const char *name, const char *text)
{
    char path[128];
    snprintf(path, sizeof path, "%s/%s", folder->path, name);
    FILE *const file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

static const char three_loads[] = "load,node,phase,current_a,power_kw,power_factor\n"
                                  "oven,installation,L1,7,,1\n"
                                  "pump,installation,L2,,2.3,0.5\n"
                                  "heating,installation,L123,,6.9,-0.8\n";
static const char three_phase[] = "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\n"
                                  "earthing,TN-C-S,-\nsystem,three-phase,-\n";

/* P = U I cos phi; three elements share the power of L123. Units by the row of loads.csv, a load
 * without a column as it is, an empty cell unknown, comments and order of columns free. */
static void test_units(void **state)
{
    struct folder folder;
    struct study study = {0};
    struct pd_errors errors = {0};
    struct pd_profile_load load[3];
    struct seen seen = {.loads = 3};
    char path[128];
    (void)state;
    folder_make(&folder);
    struct case_text text = {.table = {[0] = strdup(three_phase), [2] = strdup(three_loads)}};
    folder_fill(&folder, &text);
    write_file(&folder, "profile.csv",
               "# invented\npump,time_h,oven\n4.6,0,3\n2.3,0.5,\n\n0,1.5,1.25\n");
    snprintf(path, sizeof path, "%s/profile.csv", folder.path);
    assert_int_equal(folder_assess(&folder, &study, &errors), PD_OK);
    const struct pd_network *const network = study.study_case->network;
    assert_int_equal(pd_profile_read(path, "profile.csv", network, see, &seen, load, &errors),
                     PD_OK);
    assert_int_equal(seen.count, 3);
    assert_close(seen.load_a[0][0], 3, 1e-15, 0);
    assert_close(seen.load_a[0][1], 4600 / (230 * 0.5), 1e-14, 0);
    assert_close(seen.load_a[0][2], 6900 / (3 * 230 * 0.8), 1e-14, 0);
    assert_true(seen.known[0] && !seen.known[1] && seen.known[2]);
    assert_close(seen.load_a[1][1], 20, 1e-14, 0);
    assert_close(seen.load_a[2][0], 1.25, 1e-15, 0);
    assert_int_equal(seen.at_ms[2] - seen.at_ms[0], 5400000);
    assert_true(load[0].given && load[1].given && !load[2].given);
    assert_close(load[0].least_a, 1.25, 1e-15, 0);
    assert_close(load[1].most_a, 40, 1e-14, 0);
    assert_true(isnan(load[2].least_a));
    study_close(&study);
    remove(path);
    folder_remove(&folder);
    case_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_clock),   cmocka_unit_test(test_dates),
        cmocka_unit_test(test_offsets), cmocka_unit_test(test_no_times),
        cmocka_unit_test(test_step),    cmocka_unit_test(test_numbers),
        cmocka_unit_test(test_units),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
