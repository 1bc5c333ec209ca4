/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Every kind of wrong input with the message that it gets, word for word.
 *
 * A case is a file of tests/bad: what is wrong in words, then the tables of the folder and the
 * error lines, each under a line that starts with "== ". To add a case, add a file.
 *
 *   == loads.csv            a table as it stands; any file name
 *   == loads.csv escaped    the same, where \xHH is a byte and \r a carriage return
 *   == errors               every line, in order
 *   == status file          PD_ERR_FILE is wanted, not PD_ERR_INPUT
 *   == count 60             so many errors in all, where not each is kept
 *
 * What is right is the contract of the project's own tables (DESIGN section 6): that an error is
 * told once, at its place, with what would be right. */

#include "check.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "study/assess.h"
#include "study/profile.h"

enum { TEXT_MAX = 1 << 16, PATH_SIZE = 1024, LEAST_CASES = 150 };

static const char *corpus(void)
{
    const char *const folder = getenv("PENDRIFT_BAD");
    return folder != NULL ? folder : "tests/bad";
}

/* What a file of the corpus says is wanted. */
struct want {
    enum pd_status status;
    size_t count;
    bool counted; /* there is a count section */
    char lines[TEXT_MAX];
};

/* What reading the folder came to. */
struct got {
    enum pd_status status;
    size_t count;
    bool has_case;
    char lines[TEXT_MAX];
};

static void new_folder(char folder[PATH_SIZE])
{
    snprintf(folder, PATH_SIZE, "%s", "/tmp/pendrift-bad-XXXXXX");
    assert_non_null(mkdtemp(folder));
}

static void remove_folder(const char *folder)
{
    char path[2 * PATH_SIZE];
    struct dirent **entry;
    const int count = scandir(folder, &entry, NULL, NULL);
    for (int i = 0; i < count; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, entry[i]->d_name);
        remove(path); /* fails for "." and ".." */
        free(entry[i]);
    }
    if (count >= 0)
        free(entry);
    rmdir(folder);
}

static void write_table(const char *folder, const char *name, const char *bytes, size_t length)
{
    char path[2 * PATH_SIZE];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *const file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    assert_int_equal(fclose(file), 0);
}

/* Undoes \xHH and \r in place; returns the new length. */
static size_t unescape(char *bytes, size_t length)
{
    size_t used = 0;
    for (size_t i = 0; i < length; i++) {
        unsigned byte;
        if (bytes[i] == '\\' && i + 1 < length && bytes[i + 1] == 'r') {
            bytes[used++] = '\r';
            i++;
        } else if (bytes[i] == '\\' && sscanf(&bytes[i], "\\x%2x", &byte) == 1) {
            bytes[used++] = (char)byte;
            i += 3;
        } else {
            bytes[used++] = bytes[i];
        }
    }
    return used;
}

/* Takes a section: writes a table, or notes what is wanted. */
static void take_section(const char *folder, char *head, char *body, size_t length,
                         struct want *want)
{
    char *const escaped = strstr(head, " escaped");
    if (strcmp(head, "errors") == 0) {
        snprintf(want->lines, sizeof want->lines, "%.*s", (int)length, body);
    } else if (strcmp(head, "status file") == 0) {
        want->status = PD_ERR_FILE;
    } else if (sscanf(head, "count %zu", &want->count) == 1) {
        want->counted = true;
    } else {
        if (escaped != NULL) {
            *escaped = '\0';
            length = unescape(body, length);
        }
        assert_null(strchr(head, ' '));
        assert_non_null(strstr(head, "csv"));
        write_table(folder, head, body, length);
    }
}

static void take_sections(const char *folder, char *text, struct want *want)
{
    char *head = strstr(text, "\n== ");
    assert_non_null(head); /* the first line says what is wrong */
    while (head != NULL) {
        head += 4;
        char *const head_end = strchr(head, '\n');
        assert_non_null(head_end);
        *head_end = '\0';
        /* From the line end on, so that the next section may follow at once. */
        char *const next =
            strncmp(head_end + 1, "== ", 3) == 0 ? head_end : strstr(head_end + 1, "\n== ");
        const size_t length = next == head_end ? 0
                              : next != NULL   ? (size_t)(next - head_end)
                                               : strlen(head_end + 1);
        take_section(folder, head, head_end + 1, length, want);
        head = next;
    }
    for (const char *c = want->lines; !want->counted && *c != '\0'; c++)
        want->count += *c == '\n';
}

static void read_text(const char *name, char text[TEXT_MAX])
{
    char path[PATH_SIZE];
    snprintf(path, sizeof path, "%s/%s", corpus(), name);
    FILE *const file = fopen(path, "rb");
    if (file == NULL)
        fail_msg("%s: %s", path, strerror(errno));
    const size_t length = fread(text, 1, TEXT_MAX - 1, file);
    assert_in_range(length, 1, TEXT_MAX - 2);
    fclose(file);
    text[length] = '\0';
}

/* Messages name the folder where a file cannot be opened; the corpus writes FOLDER for it. */
static void hide_folder(char *line, const char *folder)
{
    char *const at = strstr(line, folder);
    if (at == NULL)
        return;
    memmove(at + strlen("FOLDER"), at + strlen(folder), strlen(at + strlen(folder)) + 1);
    memcpy(at, "FOLDER", strlen("FOLDER"));
}

static enum pd_status pass(const struct pd_profile_moment *moment, void *context)
{
    (void)moment, (void)context;
    return PD_OK;
}

/* A good case with a profile in its folder: the profile is what is to be wrong. */
static enum pd_status read_profile(const char *folder, const struct pd_case *study_case,
                                   struct pd_errors *errors)
{
    char path[2 * PATH_SIZE];
    snprintf(path, sizeof path, "%s/profile.csv", folder);
    if (access(path, F_OK) != 0)
        return PD_OK;
    struct pd_profile_load *const load = calloc(study_case->network->load_count, sizeof *load);
    assert_non_null(load);
    const enum pd_status status =
        pd_profile_read(path, "profile.csv", study_case->network, pass, NULL, load, errors);
    free(load);
    return status;
}

static void read_folder(const char *folder, struct got *got)
{
    static struct pd_errors errors;
    struct pd_case *study_case = (struct pd_case *)&errors; /* must not be left as it is */
    size_t used = 0;
    errors = (struct pd_errors){.count = 0};
    got->status = pd_case_read(folder, &study_case, &errors);
    if (got->status == PD_OK)
        got->status = read_profile(folder, study_case, &errors);
    if (got->status < PD_OK && study_case != (struct pd_case *)&errors)
        pd_case_free(&study_case);
    got->has_case = study_case != NULL;
    got->count = errors.count;
    got->lines[0] = '\0';
    for (size_t i = 0; i < errors.count && i < PD_ERRORS_KEPT; i++) {
        char line[2 * PATH_SIZE];
        pd_error_format(&errors.kept[i], line, sizeof line);
        hide_folder(line, folder);
        used += (size_t)snprintf(got->lines + used, sizeof got->lines - used, "%s\n", line);
    }
    if (got->status >= PD_OK)
        pd_case_free(&study_case);
}

static void compare(const char *name, const struct got *got, const struct want *want)
{
    if (strcmp(got->lines, want->lines) != 0)
        fail_msg("%s\n--- got\n%s--- want\n%s", name, got->lines, want->lines);
    if (got->status != want->status)
        fail_msg("%s: status %d, want %d", name, got->status, want->status);
    if (got->count != want->count)
        fail_msg("%s: %zu errors, want %zu", name, got->count, want->count);
    if (got->has_case)
        fail_msg("%s: a case comes out of wrong input", name);
}

static void test_file(void **state)
{
    static char text[TEXT_MAX];
    static struct want want;
    static struct got got;
    const char *const name = *state;
    char folder[PATH_SIZE];
    want = (struct want){.status = PD_ERR_INPUT};
    read_text(name, text);
    new_folder(folder);
    take_sections(folder, text, &want);
    read_folder(folder, &got);
    remove_folder(folder);
    compare(name, &got, &want);
}

static const char good_case[] = "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\n"
                                "earthing,TN-C-S,-\nsystem,single-phase,-\n";
static const char good_loads[] = "load,node,phase,current_a\npoint,installation,L1,32\n";

static void write_good(const char *folder)
{
    write_table(folder, "case.csv", good_case, strlen(good_case));
    write_table(folder, "loads.csv", good_loads, strlen(good_loads));
}

/* The tables that most of the corpus changes are good: what is told is what was changed. */
static void test_good(void **state)
{
    static struct got got;
    char folder[PATH_SIZE];
    (void)state;
    new_folder(folder);
    write_good(folder);
    read_folder(folder, &got);
    remove_folder(folder);
    assert_string_equal(got.lines, "");
    assert_int_equal(got.status, PD_OK);
    assert_true(got.has_case);
}

static void assert_folder(const char *folder, const char *lines)
{
    static struct got got;
    read_folder(folder, &got);
    assert_string_equal(got.lines, lines);
    assert_int_equal(got.status, PD_ERR_FILE);
    assert_false(got.has_case);
}

static void test_no_folder(void **state)
{
    (void)state;
    assert_folder("/nowhere/at all", "FOLDER: cannot be opened: No such file or directory\n");
    assert_folder("/dev/null", "FOLDER: cannot be opened: Not a directory\n");
}

/* A path that does not fit must not be cut: the cut one could be another folder, or leave a table
 * out. */
static void test_long_folder(void **state)
{
    char folder[5000] = "/tmp";
    (void)state;
    while (strlen(folder) < 4080)
        strcat(folder, "/.");
    struct pd_case *study_case = NULL;
    struct pd_errors errors = {0};
    assert_int_equal(pd_case_read(folder, &study_case, &errors), PD_ERR_FILE);
    assert_int_equal(errors.count, 1);
    assert_non_null(strstr(errors.kept[0].text, "File name too long"));
}

/* A table that is there but cannot be read must not be taken for one left out. */
static void test_unreadable_tables(void **state)
{
    static const char *const tables[] = {"case.csv",       "sections.csv",  "loads.csv",
                                         "electrodes.csv", "detectors.csv", "cables.csv"};
    (void)state;
    for (size_t i = 0; i < 2 * sizeof tables / sizeof tables[0]; i++) {
        static struct got got;
        char folder[PATH_SIZE], path[2 * PATH_SIZE], want[300];
        const char *const table = tables[i / 2];
        new_folder(folder);
        write_good(folder);
        snprintf(path, sizeof path, "%s/%s", folder, table);
        remove(path);
        const int made = i % 2 == 0 ? mkdir(path, 0700) : symlink("nothing", path);
        read_folder(folder, &got);
        remove_folder(folder);
        assert_int_equal(made, 0);
        snprintf(want, sizeof want, "%s: cannot be %s (FOLDER/%s)\n", table,
                 i % 2 == 0 ? "read: Is a directory" : "opened: No such file or directory", table);
        assert_string_equal(got.lines, want);
        assert_int_equal(got.status, PD_ERR_FILE);
        assert_false(got.has_case);
    }
}

/* Without a place for the errors the answer must be the same. */
static void test_without_errors(void **state)
{
    static const char *const wrong[][2] = {
        {"case.csv", "quantity,value,unit\nsistem,single-phase,-\n"},
        {"loads.csv", "load,node,phase,current_a\npoint,nowhere,L1,32\n"},
        {"electrodes.csv", "electrode,node,resistance_ohm\nrod,nowhere,20\n"},
        {"electrodes.csv", "electrode,node,resistance_ohm\nrod,installation,0\n"},
        {"detectors.csv", "detector,node,senses\nguard,nowhere,pe-earth\n"},
        {"cables.csv", "cable,line_r_ohm_per_km,pen_r_ohm_per_km\nx,y,1\n"},
        {"Load.csv", ""}};
    (void)state;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        char folder[PATH_SIZE];
        struct pd_case *study_case = NULL;
        new_folder(folder);
        write_good(folder);
        write_table(folder, wrong[i][0], wrong[i][1], strlen(wrong[i][1]));
        const enum pd_status status = pd_case_read(folder, &study_case, NULL);
        remove_folder(folder);
        if (status != PD_ERR_INPUT || study_case != NULL)
            fail_msg("%s: status %d for: %s", wrong[i][0], status, wrong[i][1]);
    }
}

/* Nothing wrong, but something missing: a good call, and no verdict. Each has an electrode and a
 * device that would meet the rule. */
static const struct {
    const char *what, *rows, *loads;
} incomplete[] = {
    {"an empty case", "", "point,installation,L1,32\n"},
    {"no limit set", "earthing,TN-C-S,-\nsystem,single-phase,-\n", "point,installation,L1,32\n"},
    {"no earthing", "limit_set,conventional-50,-\nsystem,single-phase,-\n",
     "point,installation,L1,32\n"},
    {"no system", "limit_set,conventional-50,-\nearthing,TN-C-S,-\n", "point,installation,L1,32\n"},
    {"own without its limit",
     "limit_set,own,-\nnominal_voltage,230,V\nearthing,TN-C-S,-\nsystem,single-phase,-\n",
     "point,installation,L1,32\n"},
    {"a voltage that the set is not for",
     "limit_set,conventional-50,-\nnominal_voltage,120,V\nearthing,TN-C-S,-\n"
     "system,single-phase,-\n",
     "point,installation,L1,32\n"},
    {"loads of no current",
     "limit_set,conventional-50,-\nearthing,TN-C-S,-\nsystem,single-phase,-\n",
     "point,installation,L1,0\noven,installation,L1,0\n"},
    {"a load elsewhere only",
     "limit_set,conventional-50,-\nearthing,TN-C-S,-\nsystem,single-phase,-\n",
     "point,substation,L1,32\n"},
};

static void test_incomplete(void **state)
{
    static const char electrodes[] = "electrode,node,resistance_ohm\nrod,installation,1\n";
    static const char detectors[] = "detector,node,senses,limit_v,delay_s,disconnects\n"
                                    "guard,installation,pe-earth,40,1,live-and-pe\n";
    (void)state;
    for (size_t i = 0; i < sizeof incomplete / sizeof incomplete[0]; i++) {
        struct pd_errors errors = {0};
        struct pd_case *study_case;
        struct pd_assessment *assessment;
        char folder[PATH_SIZE], text[1024];
        new_folder(folder);
        snprintf(text, sizeof text, "quantity,value,unit\n%s", incomplete[i].rows);
        write_table(folder, "case.csv", text, strlen(text));
        snprintf(text, sizeof text, "load,node,phase,current_a\n%s", incomplete[i].loads);
        write_table(folder, "loads.csv", text, strlen(text));
        write_table(folder, "electrodes.csv", electrodes, strlen(electrodes));
        write_table(folder, "detectors.csv", detectors, strlen(detectors));
        const enum pd_status status = pd_case_read(folder, &study_case, &errors);
        remove_folder(folder);
        if (status != PD_OK)
            fail_msg("%s: status %d", incomplete[i].what, status);
        assert_int_equal(pd_assess(study_case, NULL, NULL, NULL, &assessment), PD_OK);
        if (assessment->overall != PD_OVERALL_UNKNOWN || assessment->because.count == 0)
            fail_msg("%s: %s", incomplete[i].what, pd_overall_names[assessment->overall]);
        pd_assessment_free(&assessment);
        pd_case_free(&study_case);
    }
}

static int is_case(const struct dirent *entry)
{
    const char *const dot = strrchr(entry->d_name, '.');
    return dot != NULL && strcmp(dot, ".txt") == 0;
}

int main(void)
{
    static const struct CMUnitTest fixed[] = {
        cmocka_unit_test(test_good),           cmocka_unit_test(test_no_folder),
        cmocka_unit_test(test_long_folder),    cmocka_unit_test(test_unreadable_tables),
        cmocka_unit_test(test_without_errors), cmocka_unit_test(test_incomplete)};
    enum { FIXED = sizeof fixed / sizeof fixed[0] };
    struct dirent **entry;
    const int count = scandir(corpus(), &entry, is_case, alphasort);
    if (count < LEAST_CASES) {
        print_error("%s: only %d cases, at least %d are wanted\n", corpus(), count, LEAST_CASES);
        return 1;
    }
    struct CMUnitTest *const tests = calloc((size_t)count + FIXED, sizeof *tests);
    if (tests == NULL)
        return 1;
    memcpy(tests, fixed, sizeof fixed);
    for (int i = 0; i < count; i++)
        tests[FIXED + i] = (struct CMUnitTest){
            .name = entry[i]->d_name, .test_func = test_file, .initial_state = entry[i]->d_name};
    const int failed =
        _cmocka_run_group_tests("bad input", tests, (size_t)count + FIXED, NULL, NULL);
    for (int i = 0; i < count; i++)
        free(entry[i]);
    free(entry);
    free(tests);
    return failed;
}
