/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "case_folder.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

const char *const case_table[CASE_TABLES] = {"case.csv",       "sections.csv",  "loads.csv",
                                             "electrodes.csv", "detectors.csv", "cables.csv"};

const char *const case_names[] = {"house-no-electrode",
                                  "house-rod-12-ohm",
                                  "house-band-device",
                                  "house-solar-battery",
                                  "workshop-balanced",
                                  "workshop-unbalanced",
                                  "street",
                                  "farm-split-phase",
                                  "house-tt-point",
                                  "house-tt-near-rod",
                                  "house-rod-low",
                                  "house-rod-unmeasured",
                                  "house-looks-tn-s",
                                  "house-rods-in-line",
                                  "house-crossed",
                                  "house-crossed-pe-device",
                                  "street-bad-joint",
                                  "house-open-neutral",
                                  "house-earthing-off",
                                  "house-line-to-pen",
                                  "vehicle-lets-go",
                                  "street-constant-power",
                                  "house-inverter",
                                  "house-inverter-lets-go",
                                  "flat-mixtures",
                                  "laundry-one-line",
                                  "laundry-three-lines",
                                  "house-recloses",
                                  "house-weak-reference",
                                  "house-earth-current",
                                  "new-house",
                                  "new-workshop",
                                  "new-street",
                                  NULL};

const char *cases_folder(void)
{
    const char *const folder = getenv("PENDRIFT_CASES");
    return folder != NULL ? folder : "cases";
}

static void *must(void *made)
{
    assert_non_null(made);
    return made;
}

void study_open(struct study *study, const char *folder)
{
    struct pd_errors *const errors = must(calloc(1, sizeof *errors));
    const enum pd_status status = pd_case_read(folder, &study->study_case, errors);
    for (size_t i = 0; i < errors->count && i < PD_ERRORS_KEPT; i++) {
        char line[900];
        pd_error_format(&errors->kept[i], line, sizeof line);
        print_error("%s: %s\n", folder, line);
    }
    free(errors);
    assert_int_equal(status, PD_OK);
    assert_int_equal(pd_assess(study->study_case, NULL, NULL, NULL, &study->a), PD_OK);
}

void study_open_example(struct study *study, const char *name)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/%s", cases_folder(), name);
    study_open(study, path);
}

void study_close(struct study *study)
{
    pd_assessment_free(&study->a);
    pd_case_free(&study->study_case);
}

const struct pd_scenario *study_scenario(const struct study *study, const char *section,
                                         enum pd_loads loads, double supply_v)
{
    const struct pd_assessment *const a = study->a;
    const struct pd_scenario *found = NULL;
    size_t count = 0;
    for (size_t i = 0; i < a->scenario_count; i++) {
        const struct pd_scenario *const s = &a->scenario[i];
        const char *const name =
            s->section == PD_NONE ? NULL : study->study_case->network->node[s->section].section;
        if ((name == NULL) != (section == NULL) || (name != NULL && strcmp(name, section) != 0) ||
            s->fault > PD_OPEN_PEN || s->loads != loads ||
            !close_enough(s->supply_v, supply_v, 0, 1e-9))
            continue;
        count++;
        if (found == NULL || s->touch_v > found->touch_v)
            found = s;
    }
    assert_non_null(found);
    if (loads != PD_LOADS_CORNER)
        assert_int_equal(count, 1);
    return found;
}

static char *read_file(const char *path)
{
    FILE *const file = fopen(path, "rb");
    if (file == NULL)
        return NULL;
    enum { MOST = 1 << 20 };
    char *const text = must(calloc(1, MOST));
    const size_t length = fread(text, 1, MOST - 1, file);
    fclose(file);
    assert_true(length < MOST - 1);
    return text;
}

void case_text_read(struct case_text *text, const char *name)
{
    for (int i = 0; i < CASE_TABLES; i++) {
        char path[4096];
        snprintf(path, sizeof path, "%s/%s/%s", cases_folder(), name, case_table[i]);
        text->table[i] = read_file(path);
    }
    assert_non_null(text->table[0]);
}

void case_text_free(struct case_text *text)
{
    for (int i = 0; i < CASE_TABLES; i++)
        free(text->table[i]);
    *text = (struct case_text){0};
}

void case_text_set(struct case_text *text, const char *table, const char *content)
{
    for (int i = 0; i < CASE_TABLES; i++)
        if (strcmp(case_table[i], table) == 0) {
            free(text->table[i]);
            text->table[i] = content != NULL ? must(strdup(content)) : NULL;
            return;
        }
    fail_msg("no table %s", table);
}

void folder_make(struct folder *folder)
{
    snprintf(folder->path, sizeof folder->path, "/tmp/pendrift-test-XXXXXX");
    assert_non_null(mkdtemp(folder->path));
}

static void table_path(const struct folder *folder, int table, char path[128])
{
    snprintf(path, 128, "%s/%s", folder->path, case_table[table]);
}

void folder_remove(struct folder *folder)
{
    char path[128];
    for (int i = 0; i < CASE_TABLES; i++) {
        table_path(folder, i, path);
        unlink(path);
    }
    assert_int_equal(rmdir(folder->path), 0);
}

void folder_fill(const struct folder *folder, const struct case_text *text)
{
    char path[128];
    for (int i = 0; i < CASE_TABLES; i++) {
        table_path(folder, i, path);
        unlink(path);
        if (text->table[i] == NULL)
            continue;
        FILE *const file = must(fopen(path, "wb"));
        assert_int_not_equal(fputs(text->table[i], file), EOF);
        assert_int_equal(fclose(file), 0);
    }
}

enum pd_status folder_assess(const struct folder *folder, struct study *study,
                             struct pd_errors *errors)
{
    *study = (struct study){0};
    memset(errors, 0, sizeof *errors);
    const enum pd_status status = pd_case_read(folder->path, &study->study_case, errors);
    if (status != PD_OK) {
        assert_null(study->study_case);
        assert_true(errors->count > 0);
        return status;
    }
    return pd_assess(study->study_case, NULL, NULL, NULL, &study->a);
}

/* The end of the cell that starts at `at`: the comma or line end after it. */
static size_t cell_end(const char *text, size_t at)
{
    bool quoted = false;
    while (text[at] != '\0' && text[at] != '\n' && (quoted || text[at] != ',')) {
        quoted ^= text[at] == '"';
        at++;
    }
    return at;
}

static void copy_cell(char to[64], const char *text, size_t start, size_t end)
{
    const size_t length = end - start < 63 ? end - start : 63;
    memcpy(to, text + start, length);
    to[length] = '\0';
}

size_t find_cells(const char *text, struct cell **cells)
{
    enum { COLUMNS = 32 };
    char column[COLUMNS][64] = {{0}};
    const size_t room = strlen(text) + 1;
    size_t count = 0, at = 0;
    bool header = true;
    *cells = must(calloc(room, sizeof **cells));
    for (size_t line = 1; text[at] != '\0'; line++) {
        const bool comment = text[at] == '#';
        char first[64] = "";
        for (size_t index = 0;; index++) {
            const size_t end = cell_end(text, at);
            if (index == 0)
                copy_cell(first, text, at, end);
            if (!comment && header) {
                assert_true(index < COLUMNS);
                copy_cell(column[index], text, at, end);
            } else if (!comment) {
                struct cell *const cell = &(*cells)[count++];
                *cell = (struct cell){.start = at, .end = end, .line = line, .index = index};
                memcpy(cell->column, column[index], sizeof cell->column);
                memcpy(cell->quantity, first, sizeof cell->quantity);
            }
            at = end;
            if (text[at] != ',')
                break;
            at++;
        }
        at += text[at] == '\n';
        header &= comment;
    }
    return count;
}

char *replaced(const char *text, size_t start, size_t end, const char *by)
{
    const size_t size = strlen(text) + strlen(by) + 1;
    char *const made = must(malloc(size));
    snprintf(made, size, "%.*s%s%s", (int)start, text, by, text + end);
    return made;
}
