/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The replay of a record as a whole: gaps, threads, other places than the charging point, and a
 * real feeder's day of minutes, each against the plain engine or a count by hand. */

#include "record.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "report/replay.h"
#include "solve/lanes.h"
#include "study/replay.h"

/* A gap counts once and is not filled, a clock a little off makes none, the last row lasts as long
 * as the one before it. */
static void test_gaps(void **state)
{
    struct study s = {0};
    struct pd_errors errors = {0};
    struct pd_replay *r = NULL;
    char path[] = "/tmp/pendrift-replay-XXXXXX";
    (void)state;
    study_open_example(&s, "house-no-electrode");
    FILE *const file = fdopen(mkstemp(path), "w");
    assert_non_null(file);
    fprintf(file, "time,%s\n00:00,1\n00:30,1\n01:00:01,1\n01:30,1\n05:00,1\n05:30,1\n06:00,1\n",
            s.study_case->network->load[0].name);
    fclose(file);
    struct pd_replay_settings settings = {
        .profile = path, .profile_name = "gaps", .section = PD_NONE, .worst = 3};
    assert_int_equal(pd_replay(s.study_case, &settings, &r, &errors), PD_OK);
    assert_int_equal(r->moments, 7);
    assert_int_equal(r->gaps, 1);
    assert_close(r->gap_h, 3, 1e-12, 0);
    assert_close(r->step_h, 0.5, 1e-12, 0);
    assert_close(r->hours, 3.5, 1e-12, 0);
    assert_int_equal(r->worst_count, 3);
    assert_string_equal(r->worst[0].time, "00:00"); /* of equals the first */
    assert_string_equal(r->first, "00:00");
    assert_string_equal(r->last, "06:00");
    pd_replay_free(&r);
    settings.worst = 0;
    assert_int_equal(pd_replay(s.study_case, &settings, &r, &errors), PD_ERR_ARGUMENT);
    assert_null(r);
    unlink(path);
    study_close(&s);
}

/* One moment has no length. */
static void test_one_moment(void **state)
{
    struct study s = {0};
    struct pd_errors errors = {0};
    struct pd_replay *r = NULL;
    char path[] = "/tmp/pendrift-replay-XXXXXX";
    (void)state;
    study_open_example(&s, "house-no-electrode");
    FILE *const file = fdopen(mkstemp(path), "w");
    assert_non_null(file);
    fprintf(file, "time,%s\n00:00,1\n", s.study_case->network->load[0].name);
    fclose(file);
    const struct pd_replay_settings settings = {
        .profile = path, .profile_name = "one.csv", .section = PD_NONE, .worst = 3};
    assert_int_equal(pd_replay(s.study_case, &settings, &r, &errors), PD_ERR_INPUT);
    assert_null(r);
    assert_int_equal(errors.count, 1);
    unlink(path);
    study_close(&s);
}

static char *as_json(const struct pd_case *c, const char *profile, size_t threads,
                     enum pd_width width, enum pd_replay_place place)
{
    struct pd_errors errors = {0};
    struct pd_replay *r = NULL;
    char *text = NULL;
    size_t length = 0;
    const struct pd_replay_settings settings = {.profile = profile,
                                                .profile_name = "random",
                                                .section = PD_NONE,
                                                .place = place,
                                                .worst = 10,
                                                .threads = threads,
                                                .width = width};
    assert_int_equal(pd_replay(c, &settings, &r, &errors), PD_OK);
    FILE *const out = open_memstream(&text, &length);
    assert_non_null(out);
    assert_int_equal(pd_report_replay_json(out, r), PD_OK);
    assert_int_equal(fclose(out), 0);
    pd_replay_free(&r);
    return text;
}

/* A street long enough for its sections to be shared out. */
static void make_long_street(struct folder *folder, size_t houses)
{
    static char sections[1 << 16], loads[1 << 16];
    size_t used = 0, filled = 0;
    used += (size_t)sprintf(sections, "section,from,to,line_r_ohm,pen_r_ohm\n");
    filled += (size_t)sprintf(loads, "load,node,phase,current_a,max_current_a\n");
    for (size_t i = 0; i < houses; i++) {
        char from[16] = "substation";
        if (i > 0)
            sprintf(from, "j%zu", i - 1);
        used += (size_t)sprintf(sections + used,
                                "m%zu,%s,j%zu,0.002,0.002\ns%zu,j%zu,h%zu,0.02,"
                                "0.02\n",
                                i, from, i, i, i, i);
        filled += (size_t)sprintf(loads + filled, "l%zu,h%zu,L%zu,5,30\n", i, i, 1 + i % 3);
    }
    struct case_text text = {0};
    text.table[0] = strdup("quantity,value,unit\nlimit_set,gb-outdoor-charging,-\n"
                           "earthing,TN-C-S,-\nsystem,three-phase,-\nsource_r,0.01,ohm\n"
                           "source_electrode,5,ohm\ninstallation,h90,-\n");
    text.table[1] = strdup(sections);
    text.table[2] = strdup(loads);
    text.table[4] = strdup("detector,node,senses,low_v,high_v,tolerance_v,delay_s,disconnects\n"
                           "point,h90,line-neutral,209,251,2,4,live-and-pe\n");
    folder_make(folder);
    folder_fill(folder, &text);
    case_text_free(&text);
}

/* Every number of threads by every width of vector there is on this machine: the same bytes. */
static void test_threads_and_widths(void **state)
{
    struct folder folder;
    struct pd_errors errors = {0};
    struct pd_case *c = NULL;
    struct record record;
    (void)state;
    make_long_street(&folder, 100);
    assert_int_equal(pd_case_read(folder.path, &c, &errors), PD_OK);
    make_record(&record, c->network, 1100, 3, true);
    for (int place = PD_REPLAY_POINT; place <= PD_REPLAY_ALL; place += PD_REPLAY_ALL) {
        char *const one = as_json(c, record.path, 1, PD_WIDTH_BEST, (enum pd_replay_place)place);
        for (int width = PD_WIDTH_BEST; width < PD_WIDTHS; width++)
            for (size_t threads = 1; threads <= 5 && pd_width_there((enum pd_width)width);
                 threads += 2) {
                char *const other = as_json(c, record.path, threads, (enum pd_width)width,
                                            (enum pd_replay_place)place);
                assert_string_equal(one, other);
                free(other);
            }
        free(one);
    }
    free_record(&record);
    pd_case_free(&c);
    folder_remove(&folder);
}

/* At every house: the largest of the protective conductors where loads are. */
static void test_all_places(void **state)
{
    struct study s = {0};
    struct record record;
    struct hand hand;
    struct pd_errors errors = {0};
    struct pd_replay *r = NULL;
    (void)state;
    study_open_example(&s, "street");
    const struct pd_case *const c = s.study_case;
    const struct pd_network *const network = c->network;
    make_record(&record, network, 16, 7, false);
    const struct pd_replay_settings settings = {.profile = record.path,
                                                .profile_name = "random",
                                                .section = PD_NONE,
                                                .place = PD_REPLAY_ALL,
                                                .worst = 1};
    assert_int_equal(pd_replay(c, &settings, &r, &errors), PD_OK);
    hand_open(&hand, c);
    for (size_t i = 0; i < r->section_count; i++) {
        double most_v = 0;
        for (size_t row = 0; row < record.rows; row++) {
            hand_row(&hand, c, &record, row, c->limits.supply_high_v);
            hand_touch(&hand, c, r->section[i].section);
            for (size_t k = 0; k < network->load_count; k++) {
                const size_t node = network->node[network->load[k].node].pe_node;
                most_v = fmax(most_v, cabs(hand.solution.v[node][PD_N]));
            }
        }
        assert_close(r->section[i].touch.touch_v, most_v, 1e-9, 1e-7);
        assert_true(r->section[i].touch.checked);
    }
    assert_false(r->watched);
    hand_close(&hand);
    pd_replay_free(&r);
    free_record(&record);
    study_close(&s);
}

/* A house that draws nothing, its PEN open: its metalwork has no potential, though that of every
 * other has. Half of these moments are not determined: what is not known is not lost among the
 * other houses, also where a whole group of moments is alike. */
static void test_floating_house(void **state)
{
    struct study s = {0};
    struct record record;
    struct pd_errors errors = {0};
    struct pd_replay *r = NULL;
    (void)state;
    study_open_example(&s, "street");
    const struct pd_network *const network = s.study_case->network;
    make_record(&record, network, 16, 9, false);
    unlink(record.path);
    for (size_t i = 0; i < record.loads; i++)
        for (size_t row = 0; row < record.rows; row++)
            if (strcmp(network->load[i].name, "house5") == 0)
                record.size[row * record.loads + i] = row < 8 ? 0 : 5;
    write_record(&record, network);
    const struct pd_replay_settings settings = {.profile = record.path,
                                                .profile_name = "random",
                                                .section = pd_network_find(network, "house5"),
                                                .place = PD_REPLAY_ALL,
                                                .worst = 1};
    assert_int_equal(pd_replay(s.study_case, &settings, &r, &errors), PD_OK);
    assert_int_equal(r->section_count, 1);
    assert_close(r->section[0].unknown_h, 4, 1e-12, 0);
    assert_close(r->section[0].floating_h, 4, 1e-12, 0);
    assert_close(r->section[0].over_h, 4, 1e-12, 0);
    pd_replay_free(&r);
    free_record(&record);
    study_close(&s);
}

/* The IEEE European Low Voltage Test Feeder with its own day of minutes, a sample of them by the
 * plain engine. */
static void test_feeder(void **state)
{
    const char *const data = getenv("PENDRIFT_DATA");
    char folder[2048], path[4096];
    struct told told = {0};
    struct pd_errors errors = {0};
    struct pd_case *c = NULL;
    (void)state;
    snprintf(folder, sizeof folder, "%s/test-feeder", data != NULL ? data : "../shared/data");
    snprintf(path, sizeof path, "%s/profile.csv", folder);
    if (access(path, R_OK) != 0) {
        print_message("skipped: no %s (PENDRIFT_DATA)\n", path);
        skip();
    }
    assert_int_equal(pd_case_read(folder, &c, &errors), PD_OK);
    const size_t nodes = c->network->node_count, rows = 1440;
    told.room = rows * nodes;
    told.answer = room(told.room, sizeof *told.answer);
    told.moment = room(rows, sizeof *told.moment);
    const struct pd_replay_settings settings = {.profile = path,
                                                .profile_name = "feeder",
                                                .section = PD_NONE,
                                                .worst = 10,
                                                .answer = tell_answer,
                                                .moment = tell_moment,
                                                .context = &told};
    struct pd_replay *r = NULL;
    assert_int_equal(pd_replay(c, &settings, &r, &errors), PD_OK);
    assert_int_equal(r->moments, rows);
    assert_int_equal(r->section_count, 905);
    assert_close(r->hours, 24, 1e-12, 0);
    assert_int_equal(r->unchecked, 0);
    /* The profile is read here anew, by nothing of the project's. */
    FILE *const file = fopen(path, "r");
    struct hand hand;
    char line[4096];
    hand_open(&hand, c);
    assert_non_null(fgets(line, sizeof line, file));
    for (size_t row = 0; row < rows && fgets(line, sizeof line, file) != NULL; row++) {
        if (row % 97 != 5)
            continue;
        const char *cell = strchr(line, ',');
        for (size_t i = 0; i < c->network->load_count; i++) {
            const struct pd_load *const load = &c->network->load[i];
            hand.load_a[i] = cell == NULL ? load->present_a
                                          : 1000 * strtod(cell + 1, NULL) /
                                                (c->network->nominal_v * load->power_factor);
            cell = cell != NULL ? strchr(cell + 1, ',') : NULL;
        }
        const struct pd_operating operating = {.load_a = hand.load_a,
                                               .tie = c->tie,
                                               .tie_count = c->electrodes.count,
                                               .supply_v = c->limits.supply_high_v};
        assert_int_equal(pd_tree_factor(hand.tree, &operating), PD_OK);
        for (size_t i = row % 3; i < r->section_count; i += 3) {
            const struct pd_replay_answer *const got = &told.answer[row * r->section_count + i];
            const double touch_v = hand_touch(&hand, c, got->section);
            assert_close(got->touch_v, touch_v, 1e-9, 1e-7);
        }
    }
    fclose(file);
    hand_close(&hand);
    pd_replay_free(&r);
    free_told(&told);
    pd_case_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_gaps),
        cmocka_unit_test(test_one_moment),
        cmocka_unit_test(test_threads_and_widths),
        cmocka_unit_test(test_all_places),
        cmocka_unit_test(test_floating_house),
        cmocka_unit_test(test_feeder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
