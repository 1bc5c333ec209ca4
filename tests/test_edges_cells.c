/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "case_folder.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Every example with each cell and each row wrong, blank or gone: told, or not determined, and
 * never a better verdict than before. */

struct setting {
    struct folder folder;
    struct case_text text;
    struct pd_errors *errors;
    const char *name;
    enum pd_overall before;
};

static void start(struct setting *s, const char *name)
{
    struct study study = {0};
    *s = (struct setting){.name = name};
    s->errors = calloc(1, sizeof *s->errors);
    assert_non_null(s->errors);
    folder_make(&s->folder);
    case_text_read(&s->text, name);
    study_open_example(&study, name);
    s->before = study.a->overall;
    study_close(&study);
}

static void end(struct setting *s)
{
    folder_remove(&s->folder);
    case_text_free(&s->text);
    free(s->errors);
}

/* Writes the case with bytes start to end of a table replaced. */
static void fill_changed(const struct setting *s, int table, size_t start_at, size_t end_at,
                         const char *by)
{
    struct case_text changed = s->text;
    changed.table[table] = replaced(s->text.table[table], start_at, end_at, by);
    folder_fill(&s->folder, &changed);
    free(changed.table[table]);
}

static bool is_number(const char *text, const struct cell *cell)
{
    char buffer[64], *after;
    const size_t length = cell->end - cell->start;
    if (length == 0 || length >= sizeof buffer)
        return false;
    memcpy(buffer, text + cell->start, length);
    buffer[length] = '\0';
    strtod(buffer, &after);
    return *after == '\0';
}

static bool told_at(const struct pd_errors *errors, const char *table, const struct cell *cell)
{
    for (size_t i = 0; i < errors->count && i < PD_ERRORS_KEPT; i++)
        if (strcmp(errors->kept[i].table, table) == 0 && errors->kept[i].line == cell->line)
            return true;
    return false;
}

static void test_wrong_numbers(void **state)
{
    (void)state;
    static const char *const wrong[] = {"nan",   "inf", "-inf", "NaN", "1e999", "-1e999",
                                        "0x1p3", "3x2", "1,5",  "--1", "1e",    "\"1 2\""};
    size_t tried = 0;
    for (int n = 0; case_names[n] != NULL; n++) {
        struct setting s;
        start(&s, case_names[n]);
        for (int t = 0; t < CASE_TABLES; t++) {
            struct cell *cells = NULL;
            const size_t count = s.text.table[t] != NULL ? find_cells(s.text.table[t], &cells) : 0;
            for (size_t i = 0; i < count; i++) {
                if (!is_number(s.text.table[t], &cells[i]))
                    continue;
                const char *const by = wrong[tried++ % (sizeof wrong / sizeof wrong[0])];
                struct study study;
                fill_changed(&s, t, cells[i].start, cells[i].end, by);
                assert_int_equal(folder_assess(&s.folder, &study, s.errors), PD_ERR_INPUT);
                assert_true(told_at(s.errors, case_table[t], &cells[i]));
            }
            free(cells);
        }
        end(&s);
    }
    assert_true(tried > 200);
}

/* NaN and infinity in every numeric column of every table, at each example's first data row. */
static void test_not_finite(void **state)
{
    (void)state;
    static const char *const wrong[] = {"nan", "NAN", "inf", "-inf", "infinity", "1e400"};
    for (int n = 0; case_names[n] != NULL; n++) {
        struct setting s;
        start(&s, case_names[n]);
        for (int t = 0; t < CASE_TABLES; t++) {
            struct cell *cells = NULL;
            const size_t count = s.text.table[t] != NULL ? find_cells(s.text.table[t], &cells) : 0;
            for (size_t i = 0; i < count; i++) {
                if (!is_number(s.text.table[t], &cells[i]) ||
                    (t > 0 && cells[i].line > cells[0].line))
                    continue;
                for (size_t k = 0; k < sizeof wrong / sizeof wrong[0]; k++) {
                    struct study study;
                    fill_changed(&s, t, cells[i].start, cells[i].end, wrong[k]);
                    assert_int_equal(folder_assess(&s.folder, &study, s.errors), PD_ERR_INPUT);
                    assert_true(told_at(s.errors, case_table[t], &cells[i]));
                }
            }
            free(cells);
        }
        end(&s);
    }
}

/* Losing this can rightly make a case look better: it is what was against it. A declared largest
 * load, a present load, a dry-season factor, a tolerance; the voltage above the range; a limit on
 * the hazard's own side, such as the cable that a resistance hung on. */
static bool was_against(const char *table, const struct cell *cell)
{
    static const char *const columns[] = {"max_current_a", "max_power_kw", "season_factor",
                                          "tolerance_v", "power_factor"};
    for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++)
        if (strcmp(cell->column, columns[i]) == 0)
            return true;
    return strcmp(table, "case.csv") == 0 && strcmp(cell->quantity, "supply_voltage") == 0;
}

/* Without this nobody can say "acceptable". */
static bool is_needed(const struct setting *s, const char *table, const struct cell *cell)
{
    static const char *const facts[] = {"limit_set", "earthing", "system"};
    static const char *const device[] = {"low_v", "high_v", "limit_v", "delay_s", "disconnects"};
    if (strcmp(table, "case.csv") == 0) {
        for (size_t i = 0; i < sizeof facts / sizeof facts[0]; i++)
            if (strcmp(cell->quantity, facts[i]) == 0)
                return true;
        return strcmp(cell->quantity, "installation") == 0 && s->text.table[1] != NULL;
    }
    if (strcmp(table, "electrodes.csv") == 0)
        return strcmp(cell->column, "resistance_ohm") == 0;
    if (strcmp(table, "detectors.csv") == 0)
        for (size_t i = 0; i < sizeof device / sizeof device[0]; i++)
            if (strcmp(cell->column, device[i]) == 0)
                return true;
    return strcmp(cell->column, "current_a") == 0 || strcmp(cell->column, "power_kw") == 0;
}

/* Whether another device makes up for the one in this row of detectors.csv: without the whole row
 * the case is no worse. Leaves that case in the folder. */
static bool another_makes_up(struct setting *s, const char *table, const struct cell *cell)
{
    enum { DETECTORS = 4 };
    struct study study = {0};
    const char *const text = s->text.table[DETECTORS];
    if (strcmp(table, "detectors.csv") != 0)
        return false;
    assert_string_equal(case_table[DETECTORS], table);
    size_t from = cell->start;
    while (from > 0 && text[from - 1] != '\n')
        from--;
    fill_changed(s, DETECTORS, from, from + strcspn(text + from, "\n") + 1, "");
    if (folder_assess(&s->folder, &study, s->errors) != PD_OK)
        return false;
    const bool as_good = study.a->overall == s->before && study.study_case->detectors.count > 0;
    study_close(&study);
    return as_good;
}

/* Reads the changed case and holds its verdict against what it was. */
static void check_no_better(struct setting *s, const char *table, const struct cell *cell,
                            bool blank_before)
{
    struct study study;
    const enum pd_status status = folder_assess(&s->folder, &study, s->errors);
    if (status != PD_OK) {
        assert_int_equal(status, PD_ERR_INPUT);
        return;
    }
    const enum pd_overall after = study.a->overall;
    const bool better = (after == PD_ACCEPTABLE && s->before != PD_ACCEPTABLE) ||
                        (after == PD_RESIDUAL_HAZARD && s->before == PD_NOT_ACCEPTABLE);
    const bool bad = (better && !was_against(table, cell)) ||
                     (after == PD_ACCEPTABLE && !blank_before && is_needed(s, table, cell) &&
                      !another_makes_up(s, table, cell));
    if (bad)
        print_error("%s, %s:%zu: without '%s' of '%s' it is %s, it was %s\n", s->name, table,
                    cell->line, cell->column, cell->quantity, pd_overall_names[after],
                    pd_overall_names[s->before]);
    assert_false(bad);
    study_close(&study);
}

static void test_blank_cells(void **state)
{
    (void)state;
    for (int n = 0; case_names[n] != NULL; n++) {
        struct setting s;
        start(&s, case_names[n]);
        for (int t = 0; t < CASE_TABLES; t++) {
            struct cell *cells = NULL;
            const size_t count = s.text.table[t] != NULL ? find_cells(s.text.table[t], &cells) : 0;
            for (size_t i = 0; i < count; i++) {
                fill_changed(&s, t, cells[i].start, cells[i].end, "");
                check_no_better(&s, case_table[t], &cells[i], cells[i].start == cells[i].end);
            }
            free(cells);
        }
        end(&s);
    }
}

/* Rows of case.csv, electrodes.csv and detectors.csv: without a row of loads or sections it is
 * another place. */
static void test_removed_rows(void **state)
{
    (void)state;
    for (int n = 0; case_names[n] != NULL; n++) {
        struct setting s;
        start(&s, case_names[n]);
        for (int t = 0; t < CASE_TABLES; t++) {
            if (s.text.table[t] == NULL || t == 1 || t == 2)
                continue;
            struct cell *cells;
            const size_t count = find_cells(s.text.table[t], &cells);
            for (size_t i = 0; i < count; i++) {
                if (cells[i].index != 0)
                    continue;
                const char *const from = s.text.table[t] + cells[i].start;
                const size_t length = strcspn(from, "\n") + 1;
                const bool unknown_rod = s.before == PD_OVERALL_UNKNOWN && t == 3;
                fill_changed(&s, t, cells[i].start, cells[i].start + length, "");
                if (!unknown_rod)
                    check_no_better(&s, case_table[t], &cells[i], false);
            }
            free(cells);
        }
        end(&s);
    }
}

/* A table gone altogether. */
static void test_removed_tables(void **state)
{
    (void)state;
    for (int n = 0; case_names[n] != NULL; n++) {
        struct setting s;
        start(&s, case_names[n]);
        for (int t = 0; t < CASE_TABLES; t++) {
            if (s.text.table[t] == NULL)
                continue;
            struct case_text less = s.text;
            struct study study;
            less.table[t] = NULL;
            folder_fill(&s.folder, &less);
            const enum pd_status status = folder_assess(&s.folder, &study, s.errors);
            if (t == 0 || t == 2) /* a case needs these two */
                assert_true(status == PD_ERR_FILE || status == PD_ERR_INPUT);
            if (status != PD_OK)
                continue;
            /* An electrode beside a device that decides may go. */
            const bool device_decides = t == 3 && s.text.table[4] != NULL;
            assert_true(study.a->overall != PD_ACCEPTABLE || device_decides);
            study_close(&study);
        }
        end(&s);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_wrong_numbers),  cmocka_unit_test(test_not_finite),
        cmocka_unit_test(test_blank_cells),    cmocka_unit_test(test_removed_rows),
        cmocka_unit_test(test_removed_tables),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
