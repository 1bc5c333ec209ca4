/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Nuisance: moments against known ones, excursions against counts by another loop, logs that are
 * broken, and the widest band against a hand calculation. */

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "case_folder.h"
#include "study/nuisance.h"
#include "study/reach.h"
#include "table/moment.h"

static void moments_are_read(void **state)
{
    (void)state;
    /* POSIX: 2038-01-19T03:14:07Z is 2^31 - 1; the others by date -u -d ... +%s */
    static const struct {
        const char *text;
        double time_s;
    } good[] = {{"2038-01-19T03:14:07Z", 2147483647.0},
                {"1970-01-01", 0},
                {"2000-02-29 12:30", 951827400.0},
                {"2006-12-16T17:24", 1166289840.0},
                {"2026-06-01T01:00:00+02:00", 1780268400.0},
                {"2026-06-01T01:00:00-0230", NAN},
                {"1969-12-31T23:59:59.25", -0.75},
                {"2016-12-31T23:59:60Z", 1483228800.0},
                {"12.5", 12.5}};
    static const char *const bad[] = {"",
                                      "2026-13-01",
                                      "2026-02-29",
                                      "2026-06-31",
                                      "26-01-01",
                                      "2026-01-01T24:00",
                                      "2026-01-01T10:60",
                                      "2026-1-1",
                                      "2026-01-01T10",
                                      "2026-01-01T10:00:61",
                                      "yesterday",
                                      "2026-01-01T10:00x",
                                      "nan",
                                      "2026-01-01T10:00:00."};
    double time_s = 0;
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        const bool read = pd_parse_moment(good[i].text, 1, &time_s);
        assert_int_equal(read, !isnan(good[i].time_s));
        if (read)
            assert_close(time_s, good[i].time_s, 0, 1e-9);
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_false(pd_parse_moment(bad[i], 1, &time_s));
    assert_true(pd_parse_moment("90", 60, &time_s));
    assert_close(time_s, 5400, 0, 0);
}

static struct pd_detector band(double low_v, double high_v, double tolerance_v, double delay_s)
{
    return (struct pd_detector){.senses = PD_SENSE_LINE,
                                .low_v = low_v,
                                .high_v = high_v,
                                .tolerance_v = tolerance_v,
                                .delay_s = delay_s};
}

/* What a device does on a log. */
struct heard {
    struct pd_detector device;
    struct pd_excursions excursions;
};

static enum pd_status hear(const struct pd_log_sample *sample, void *context)
{
    struct heard *const heard = context;
    pd_excursions_add(&heard->excursions, &heard->device, sample);
    return PD_OK;
}

static enum pd_status read_file(const char *path, struct heard *heard, struct pd_log *log,
                                struct pd_errors *errors)
{
    heard->excursions = pd_excursions_new();
    *errors = (struct pd_errors){0};
    return pd_voltage_log_read(path, "log.csv", PD_L1, hear, heard, log, errors);
}

static enum pd_status read_text(const char *text, struct heard *heard, struct pd_log *log,
                                struct pd_errors *errors)
{
    char path[] = "/tmp/pendrift-log-XXXXXX";
    const int descriptor = mkstemp(path);
    assert_true(descriptor >= 0);
    assert_int_equal(write(descriptor, text, strlen(text)), (ssize_t)strlen(text));
    close(descriptor);
    const enum pd_status status = read_file(path, heard, log, errors);
    unlink(path);
    return status;
}

/* Three seconds at 205 V, by hand: trips with a delay of 3 s, not with 3.1 s; 2 V of tolerance make
 * 208 V, five seconds long, an excursion too. */
static void delay_and_tolerance_have_edges(void **state)
{
    (void)state;
    static const char text[] = "time_s,voltage_v\n0,230\n1,205\n2,205\n3,205\n4,230\n5,208\n"
                               "6,208\n7,208\n8,208\n9,208\n10,209\n11,253\n12,230\n";
    struct heard heard = {.device = band(207, 253, 0, 3)};
    struct pd_log log;
    struct pd_errors errors;
    assert_int_equal(read_text(text, &heard, &log, &errors), PD_OK);
    assert_int_equal(log.samples, 13);
    assert_int_equal(heard.excursions.trips, 1);
    assert_int_equal(heard.excursions.outside, 3);
    assert_close(heard.excursions.tripped_s, 3, 0, 1e-9);
    assert_close(heard.excursions.first_s, 1, 0, 1e-9);
    heard.device.delay_s = 3.1;
    assert_int_equal(read_text(text, &heard, &log, &errors), PD_OK);
    assert_int_equal(heard.excursions.trips, 0);
    assert_int_equal(heard.excursions.short_ones, 1);
    heard.device.tolerance_v = 2; /* 209 is on the edge, not beyond it; 253 is beyond 251 */
    assert_int_equal(read_text(text, &heard, &log, &errors), PD_OK);
    assert_int_equal(heard.excursions.outside, 9);
    assert_int_equal(heard.excursions.trips, 1);
    assert_close(heard.excursions.longest_s, 5, 0, 1e-9);
    assert_int_equal(heard.excursions.short_ones, 2);
    heard.device.delay_s = NAN; /* not declared: none */
    assert_int_equal(read_text(text, &heard, &log, &errors), PD_OK);
    assert_int_equal(heard.excursions.trips, 3);
}

/* A gap ends an excursion; what is missing is not counted; broken rows are told by line. */
static void gaps_and_broken_rows_are_told(void **state)
{
    (void)state;
    static const char text[] =
        "# a comment\nwhen_time_min,I_A,Mains "
        "V_rms\n-3,1,230\n-2,1,230\n-1,1,230\n0,1,200\n1,1,200\n2,1,200\n10,1,200\n"
        "11,1\n12,1,abc\n12,1,\n13,1,230\n13,1,230\nx,1,230\n12,1,230\n13,1,1200\n14,1,200\n";
    struct heard heard = {.device = band(207, 253, 0, 60)};
    struct pd_log log;
    struct pd_errors errors;
    char line[900];
    assert_int_equal(read_text(text, &heard, &log, &errors), PD_OK);
    assert_string_equal(log.voltage_column[0], "Mains V_rms");
    assert_int_equal(log.samples, 10);
    assert_close(log.step_s, 60, 0, 1e-9);
    assert_int_equal(log.gaps, 4); /* 2 to 10, 10 to 13, 13 back to 12, 12 to 14 min */
    assert_int_equal(log.gap[0].line, 9);
    assert_close(log.gap[0].length_s, 7 * 60, 0, 1e-9);
    assert_close(log.gap[2].length_s, -60, 0, 1e-9);
    assert_close(log.gaps_s, (7 + 2 + 1) * 60, 0, 1e-9);
    assert_int_equal(heard.excursions.trips, 3);
    assert_close(heard.excursions.longest_s, 180, 0, 1e-9);
    assert_int_equal(log.broken, 6);
    static const char not_a_time[] =
        "log.csv:15: when_time_min: 'x' is not a time; write 2026-11-25T17:30, or a number of "
        "seconds";
    const char *const wanted[] = {
        "log.csv:10: has 2 cells, the header has 3",
        "log.csv:11: Mains V_rms: 'abc' is not a number",
        "log.csv:12: has no voltage; this row is passed over",
        "log.csv:14: when_time_min: the same time as the row before; this row is passed over",
        not_a_time,
        "log.csv:17: Mains V_rms: 1200 is out of range: 0 to 1000"};
    for (size_t i = 0; i < 6; i++) {
        pd_error_format(&errors.kept[i], line, sizeof line);
        assert_string_equal(line, wanted[i]);
    }
}

static void what_is_no_log_is_refused(void **state)
{
    (void)state;
    static const struct {
        const char *text, *message;
    } bad[] = {
        {"", "log.csv: is empty; its first line must name the columns: any"},
        {"time,P_kW\n0,1\n",
         "log.csv:1: no column of volts; name one voltage_v, or l1_v, l2_v, l3_v"},
        {"when,voltage_v\n0,1\n",
         "log.csv:1: no column of times; name one time, timestamp or time_s"},
        {"time,v_min,v_max\n0,1,2\n", "log.csv:1: columns 'v_min' and 'v_max' both read as the "
                                      "voltage of L1; rename or leave out one"},
        {"date,time,voltage\n0,1,2\n", "log.csv:1: columns 'date' and 'time' both read as the "
                                       "time; rename or leave out one"},
        {"time,voltage_kv\n0,0.23\n",
         "log.csv:1: no column of volts; name one voltage_v, or l1_v, l2_v, l3_v"},
        {"time,voltage_v\n", "log.csv: has no row that can be used"},
        {"time,voltage_v\n0,\"230\n1,230\n", "log.csv:2: has a quoted cell that is never closed"},
    };
    struct heard heard = {.device = band(207, 253, 0, 0)};
    struct pd_log log;
    struct pd_errors errors;
    char line[900];
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_int_equal(read_text(bad[i].text, &heard, &log, &errors), PD_ERR_INPUT);
        pd_error_format(&errors.kept[errors.count - 1], line, sizeof line);
        assert_string_equal(line, bad[i].message);
    }
    assert_int_equal(read_file("/nowhere/log.csv", &heard, &log, &errors), PD_ERR_FILE);
    assert_int_equal(errors.count, 1);
}

static void lines_are_known_by_their_names(void **state)
{
    (void)state;
    static const char text[] = "L3 [V],timestamp,voltage_1,THD_V2,V2\n"
                               "250,2026-01-01T00:00,230,3,240\n251,2026-01-01T00:10,231,3,241\n";
    struct heard heard = {.device = band(235, 245, 0, 0)};
    struct pd_log log;
    struct pd_errors errors;
    assert_int_equal(read_text(text, &heard, &log, &errors), PD_OK);
    assert_int_equal(log.lines, 7);
    assert_close(log.low_v[0], 230, 0, 0);
    assert_close(log.high_v[1], 241, 0, 0);
    assert_close(log.high_v[2], 251, 0, 0);
    assert_int_equal(heard.excursions.trips, 1); /* one that lasts */
    assert_close(heard.excursions.longest_s, 1200, 0, 0);
}

/* Random records, against a loop over an array: another road to the same counts. */
static void wider_never_trips_more(void **state)
{
    (void)state;
    enum { ROWS = 400 };
    struct stream stream = {20261127};
    for (size_t try = 0; try < 40 * soak(); try++) {
        static char text[ROWS * 40];
        double voltage_v[ROWS];
        size_t used = (size_t)snprintf(text, sizeof text, "time_s,voltage_v\n");
        for (int i = 0; i < ROWS; i++) {
            voltage_v[i] = round(stream_uniform(&stream, 190, 265) * 10) / 10;
            if (i > 0 && stream_below(&stream, 3) > 0)
                voltage_v[i] = voltage_v[i - 1];
            used += (size_t)snprintf(text + used, sizeof text - used, "%d,%.1f\n", 10 * i,
                                     voltage_v[i]);
        }
        struct heard heard = {.device = band(stream_uniform(&stream, 195, 229),
                                             stream_uniform(&stream, 231, 262), 1.5, 20)};
        struct pd_log log;
        struct pd_errors errors;
        size_t outside = 0, trips = 0, before = SIZE_MAX;
        for (int i = 0, run = 0; i <= ROWS; i++) {
            const bool out = i < ROWS && (voltage_v[i] < heard.device.low_v + 1.5 ||
                                          voltage_v[i] > heard.device.high_v - 1.5);
            outside += out;
            trips += !out && run >= 2;
            run = out ? run + 1 : 0;
        }
        assert_int_equal(read_text(text, &heard, &log, &errors), PD_OK);
        assert_int_equal(heard.excursions.outside, outside);
        assert_int_equal(heard.excursions.trips, trips);
        for (double wider_v = 0; wider_v < 40; wider_v += 4) {
            heard.device.low_v -= 4;
            heard.device.high_v += 4;
            assert_int_equal(read_text(text, &heard, &log, &errors), PD_OK);
            assert_true(heard.excursions.outside <= before);
            before = heard.excursions.outside;
        }
    }
}

/* UCI "Individual household electric power consumption" (CC BY 4.0), see the data's README. */
static void a_real_log_is_counted_as_by_hand(void **state)
{
    (void)state;
    char path[4096], row[256];
    const char *const data = getenv("PENDRIFT_DATA");
    snprintf(path, sizeof path, "%s/voltage-log/house_france_1min_voltage.csv",
             data != NULL ? data : "../shared/data");
    FILE *const file = fopen(path, "r");
    if (file == NULL) {
        print_message("no %s: skipped\n", path);
        skip();
    }
    size_t rows = 0, outside = 0;
    double voltage_v, low_v = 1e9, high_v = 0;
    assert_non_null(fgets(row, sizeof row, file));
    while (fgets(row, sizeof row, file) != NULL) {
        assert_int_equal(sscanf(row, "%*[^,],%*[^,],%*[^,],%lf", &voltage_v), 1);
        rows++;
        outside += voltage_v < 230 || voltage_v > 250;
        low_v = fmin(low_v, voltage_v);
        high_v = fmax(high_v, voltage_v);
    }
    fclose(file);
    struct heard heard = {.device = band(230, 250, 0, 5)};
    struct pd_log log;
    struct pd_errors errors;
    assert_int_equal(read_file(path, &heard, &log, &errors), PD_OK);
    assert_int_equal(log.samples, rows);
    assert_int_equal(rows, 15920);
    assert_int_equal(heard.excursions.outside, outside);
    assert_true(outside > 0 && heard.excursions.trips > 0);
    assert_close(log.low_v[0], low_v, 0, 0);
    assert_close(log.high_v[0], 251.70, 0, 0);
    assert_int_equal(log.gaps, 1);
    assert_int_equal(log.broken, 0);
    heard.device = band(207, 253, 0, 0);
    assert_int_equal(read_file(path, &heard, &log, &errors), PD_OK);
    assert_int_equal(heard.excursions.outside, 0);
}

/* From a pipe, as long as one likes: nothing is read twice or kept. */
static void a_log_is_streamed(void **state)
{
    (void)state;
    enum { ROWS = 300000 };
    char folder[] = "/tmp/pendrift-pipe-XXXXXX", path[64];
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/log", folder);
    assert_int_equal(mkfifo(path, 0600), 0);
    const pid_t child = fork();
    if (child == 0) {
        FILE *const out = fopen(path, "w");
        fputs("time_s,voltage_v\n", out);
        for (int i = 0; i < ROWS; i++)
            fprintf(out, "%d,%s\n", i, i % 1000 < 7 ? "200.5" : "231.25");
        fclose(out);
        _exit(0);
    }
    struct heard heard = {.device = band(207, 253, 0, 7)};
    struct pd_log log;
    struct pd_errors errors;
    assert_int_equal(read_file(path, &heard, &log, &errors), PD_OK);
    waitpid(child, NULL, 0);
    assert_int_equal(log.samples, ROWS);
    assert_int_equal(heard.excursions.trips, ROWS / 1000);
    assert_close(heard.excursions.tripped_s, 7 * ROWS / 1000.0, 0, 1e-6);
    unlink(path);
    rmdir(folder);
}

static struct pd_nuisance *study(const char *name, struct pd_case **study_case)
{
    char path[4096];
    struct pd_errors errors = {0};
    struct pd_nuisance *n = NULL;
    snprintf(path, sizeof path, "%s/%s", cases_folder(), name);
    assert_int_equal(pd_case_read(path, study_case, &errors), PD_OK);
    assert_int_equal(pd_nuisance_study(*study_case, NULL, NULL, NULL, NULL, &n, &errors), PD_OK);
    return n;
}

/* The house alone, by Ohm's law: 32 A at 230 V behind 0.35 ohm; with a joint in the PEN that puts
 * the chassis at 70 V, the line, 0.175 ohm, and the load share the other 183 V. */
static void a_house_alone_by_hand(void **state)
{
    (void)state;
    const double load_ohm = 230.0 / 32;
    struct pd_case *c = NULL;
    struct pd_nuisance *n = study("house-band-device", &c);
    const struct pd_nuisance_device *const device = &n->device[0];
    assert_close(device->sensed.low, 216.2 * load_ohm / (load_ohm + 0.35), 1e-9, 0);
    assert_close(device->sensed.high, 253, 1e-9, 0);
    assert_true(device->determined && device->may_trip); /* 206.2 V, and 209 V + 2 V */
    const double line_neutral_v = 183 * load_ohm / (load_ohm + 0.175);
    assert_close(device->widest, 230 - 2 - line_neutral_v, 0, 0.001);
    assert_close(device->never_low, device->sensed.low - 2, 0, 1e-6);
    assert_int_equal(device->both, PD_WITHIN);
    pd_nuisance_free(&n);
    pd_case_free(&c);
}

/* On a street one line is never enough: the plane geometry of a stiff 230 V supply leaves about 127
 * V for 207 to 253 V (closed form: |N - L1| = 253 V and the lines' triangle). */
static void one_line_of_a_street_cannot_do_both(void **state)
{
    (void)state;
    struct pd_case *c = NULL;
    struct pd_nuisance *n = study("street", &c);
    assert_int_equal(n->device[0].both, PD_OVER);
    assert_true(n->device[0].left_v > 120 && n->device[0].left_v < 145);
    pd_nuisance_free(&n);
    pd_case_free(&c);
}

static void wider_never_leaves_less(void **state)
{
    (void)state;
    static const char *const names[] = {"street", "house-band-device", "house-solar-battery",
                                        "street-bad-joint", "vehicle-lets-go"};
    struct stream stream = {20261128};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        struct study example = {0};
        struct pd_load_states states = {0};
        struct pd_run run;
        struct pd_unseen_set set;
        study_open_example(&example, names[i]);
        struct pd_case *const c = example.study_case;
        if (c->detectors.count == 0) {
            c->detectors = (struct pd_detectors){calloc(1, sizeof *c->detectors.detector), 1};
            c->detector_node[0] = c->charging_point;
        }
        assert_int_equal(pd_load_states_new(c, &states), PD_OK);
        assert_int_equal(pd_run_new(c, &states, 1u << PD_HEALTHY, &run), PD_OK);
        assert_int_equal(pd_unseen_set_new(&run, 0, &set), PD_OK);
        assert_true(set.complete);
        for (int sense = 0; sense < PD_SENSES; sense++) {
            struct pd_detector d = {.senses = (enum pd_sense)sense,
                                    .tolerance_v = stream_uniform(&stream, 0, 3)};
            double before_v = 0;
            for (double reach = 1; reach < 220; reach *= 1.3) {
                d = pd_detector_with_reach(&d, 230, reach);
                const double left_v = pd_largest_unseen(&set, &d, INFINITY);
                assert_true(left_v >= before_v - 1e-3);
                before_v = left_v;
            }
            const double widest = pd_widest_reach(&set, &d, 230, 70);
            if (!(isfinite(widest) && widest > 0))
                continue;
            d = pd_detector_with_reach(&d, 230, widest);
            assert_true(pd_largest_unseen(&set, &d, INFINITY) <= 70);
            d = pd_detector_with_reach(&d, 230, widest + 0.01);
            assert_true(pd_largest_unseen(&set, &d, INFINITY) > 70);
        }
        pd_unseen_set_free(&set);
        pd_run_free(&run);
        pd_load_states_free(&states);
        study_close(&example);
    }
}

static void an_incomplete_case_is_not_determined(void **state)
{
    (void)state;
    struct pd_case *c = NULL;
    struct pd_nuisance *n = study("street-constant-power", &c);
    assert_true(isnan(n->device[0].widest) && isnan(n->device[0].left_v));
    assert_int_equal(n->device[0].both, PD_UNKNOWN);
    pd_nuisance_free(&n);
    pd_case_free(&c);
}

/* A house on L1 with the logger of a three-phase board: only L1 is its own. And thresholds that
 * nobody declared are no answer, whatever the log says. */
static void a_device_hears_its_own_lines_only(void **state)
{
    (void)state;
    static const char *const tables[] = {
        "detector,node,senses,low_v,high_v,delay_s\nguard,installation,line-neutral,207,253,5\n",
        "detector,node,senses,low_v,high_v,delay_s\nguard,installation,line-neutral,,253,5\n"};
    for (int i = 0; i < 2; i++) {
        struct case_text text = {0};
        struct folder folder;
        struct pd_case *c = NULL;
        struct pd_nuisance *n = NULL;
        struct pd_errors errors = {0};
        char path[] = "/tmp/pendrift-lines-XXXXXX";
        FILE *const log = fdopen(mkstemp(path), "w");
        fputs("time_s,l1_v,l2_v,l3_v\n0,231,100,100\n60,230,100,100\n120,190,230,230\n"
              "180,230,100,100\n",
              log);
        fclose(log);
        case_text_read(&text, "house-band-device");
        case_text_set(&text, "detectors.csv", tables[i]);
        folder_make(&folder);
        folder_fill(&folder, &text);
        assert_int_equal(pd_case_read(folder.path, &c, &errors), PD_OK);
        assert_int_equal(pd_nuisance_study(c, path, "log", NULL, NULL, &n, &errors), PD_OK);
        assert_int_equal(n->device[0].logged, i == 0);
        assert_int_equal(n->device[0].determined, i == 0);
        assert_int_equal(n->device[0].excursions.outside, i == 0);
        assert_int_equal(n->device[0].excursions.trips, i == 0);
        assert_false(n->device[0].lines_missing);
        pd_nuisance_free(&n);
        pd_case_free(&c);
        folder_remove(&folder);
        case_text_free(&text);
        unlink(path);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(moments_are_read),
        cmocka_unit_test(delay_and_tolerance_have_edges),
        cmocka_unit_test(gaps_and_broken_rows_are_told),
        cmocka_unit_test(what_is_no_log_is_refused),
        cmocka_unit_test(lines_are_known_by_their_names),
        cmocka_unit_test(wider_never_trips_more),
        cmocka_unit_test(a_real_log_is_counted_as_by_hand),
        cmocka_unit_test(a_log_is_streamed),
        cmocka_unit_test(a_house_alone_by_hand),
        cmocka_unit_test(one_line_of_a_street_cannot_do_both),
        cmocka_unit_test(wider_never_leaves_less),
        cmocka_unit_test(a_device_hears_its_own_lines_only),
        cmocka_unit_test(an_incomplete_case_is_not_determined),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
