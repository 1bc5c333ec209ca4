/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The program as a user runs it: exit status, stdout and stderr of every way in and out. The
 * program is the first argument, or PENDRIFT in the environment. What is right comes from DESIGN
 * section 7. The verdicts of the two small cases follow by hand: a single-phase house on a stiff
 * supply with the PEN open and no electrode has its chassis at supply voltage; with one of 0.1 ohm
 * on 32 A (7.19 ohm) it is at 253 * 0.1 / 7.29 = 3.5 V. */

#include "check.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <pty.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <jansson.h>

#include "cli/options.h"

static const char *program;
static char folder[] = "/tmp/pendrift-cli-XXXXXX";

/* Until the next call. */
static char *path_in(const char *name)
{
    static char path[512];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static void write_file(const char *name, const char *text)
{
    FILE *const file = fopen(path_in(name), "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

/* The text of a file, "" where there is none; freed by the caller. */
static char *read_file(const char *path)
{
    char *text = NULL;
    size_t room = 0;
    FILE *const file = fopen(path, "r");
    if (file == NULL)
        return strdup("");
    const ssize_t length = getdelim(&text, &room, '\0', file);
    fclose(file);
    if (length >= 0)
        return text;
    free(text);
    return strdup("");
}

static size_t entries(const char *name)
{
    DIR *const directory = opendir(path_in(name));
    size_t count = 0;
    assert_non_null(directory);
    for (const struct dirent *entry; (entry = readdir(directory)) != NULL;)
        count += strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
    closedir(directory);
    return count;
}

/* How the program is run, and what came of it. */
struct run {
    const char *arguments[12];
    const char *standard_output; /* a file to write to; NULL: read back into out */
    const char *no_color;        /* the environment's NO_COLOR, NULL: not there */
    rlim_t file_limit;           /* bytes that a file may have; 0: as it is */
    bool terminal;               /* stdout is a terminal */
    bool closed;                 /* stdout is closed */
    int exit;
    char *out, *err;
};

static void start_child(const struct run *run, int terminal)
{
    char *arguments[14] = {(char *)program};
    for (size_t i = 0; i < 12 && run->arguments[i] != NULL; i++)
        arguments[i + 1] = (char *)run->arguments[i];
    const char *const out = run->standard_output != NULL ? run->standard_output : path_in("stdout");
    const int descriptor = run->terminal ? terminal : open(out, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    dup2(descriptor, STDOUT_FILENO);
    dup2(open(path_in("stderr"), O_WRONLY | O_CREAT | O_TRUNC, 0600), STDERR_FILENO);
    if (run->closed)
        close(STDOUT_FILENO);
    setenv("TERM", "vt100", 1);
    unsetenv("NO_COLOR");
    if (run->no_color != NULL)
        setenv("NO_COLOR", run->no_color, 1);
    if (run->file_limit > 0) {
        signal(SIGXFSZ, SIG_IGN);
        setrlimit(RLIMIT_FSIZE, &(struct rlimit){run->file_limit, run->file_limit});
    }
    execv(program, arguments);
    _exit(99);
}

static pid_t start(const struct run *run, int terminal)
{
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0)
        start_child(run, terminal);
    return child;
}

static int wait_for(pid_t child)
{
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 1000 + WTERMSIG(status);
}

/* Everything that comes out of a terminal, until the other end is closed. */
static char *drain(int master)
{
    char *const text = calloc(1, 1 << 16);
    assert_non_null(text);
    size_t length = 0;
    for (ssize_t got; (got = read(master, text + length, (1 << 16) - 1 - length)) > 0;)
        length += (size_t)got;
    return text;
}

static void execute(struct run *run)
{
    int master = -1, slave = -1;
    if (run->terminal)
        assert_int_equal(openpty(&master, &slave, NULL, NULL, NULL), 0);
    const pid_t child = start(run, slave);
    if (run->terminal) {
        close(slave);
        run->out = drain(master);
        close(master);
    }
    run->exit = wait_for(child);
    if (!run->terminal)
        run->out = read_file(path_in("stdout"));
    run->err = read_file(path_in("stderr"));
    unlink(path_in("stdout"));
    unlink(path_in("stderr"));
}

static void done(struct run *run)
{
    free(run->out);
    free(run->err);
    *run = (struct run){0};
}

static void assert_contains(const char *text, const char *wanted)
{
    if (strstr(text, wanted) == NULL)
        fail_msg("not found: %s\nin: %s", wanted, text);
}

/* Runs with these arguments and holds the outcome against what is wanted: "" is nothing at all. */
static void check_run(int exit, const char *out, const char *err, const char *const *arguments)
{
    struct run run = {0};
    for (size_t i = 0; i < 12 && arguments[i] != NULL; i++)
        run.arguments[i] = arguments[i];
    execute(&run);
    if (run.exit != exit)
        fail_msg("exit %d, not %d; stderr: %s", run.exit, exit, run.err);
    assert_contains(run.out, out);
    assert_contains(run.err, err);
    if (out[0] == '\0')
        assert_string_equal(run.out, "");
    if (err[0] == '\0')
        assert_string_equal(run.err, "");
    done(&run);
}
#define ARGUMENTS(...) ((const char *const[12]){__VA_ARGS__, NULL})

static const char house_case[] = "quantity,value,unit\n"
                                 "title,An invented house,-\n"
                                 "limit_set,gb-outdoor-charging,-\n"
                                 "earthing,TN-C-S,-\n"
                                 "system,single-phase,-\n";
static const char house_loads[] = "load,node,phase,behaviour,current_a,power_factor\n"
                                  "house,installation,L1,impedance,32,1\n";

static char bare[512], rod[512], wrong[512], street[512], table[512], out_folder[512];

static void make_case(const char *name, char *kept, const char *loads)
{
    char file[64];
    assert_int_equal(mkdir(path_in(name), 0700), 0);
    snprintf(kept, 512, "%s", path_in(name));
    snprintf(file, sizeof file, "%s/case.csv", name);
    write_file(file, house_case);
    snprintf(file, sizeof file, "%s/loads.csv", name);
    write_file(file, loads);
}

/* Two lines share a PEN that can open above them. With 42.3 A on L1 and 57.7 A on L2 the neutral is
 * at w1 E1 + w2 E2: |U_N| = 230 sqrt(w1^2 + w2^2 - w1 w2) = 118 V, and L1 to neutral is
 * 230 w2 sqrt(3) = 230 V: a device that watches that line is blind. */
static void make_street(void)
{
    make_case("street", street,
              "load,node,phase,behaviour,current_a,power_factor\n"
              "house,house,L1,impedance,20,1\nnext,joint,L1,impedance,22.3,1\n"
              "opposite,joint,L2,impedance,57.7,1\n");
    write_file("street/case.csv", "quantity,value,unit\ntitle,An invented street,-\n"
                                  "limit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\n"
                                  "system,three-phase,-\ninstallation,house,-\n");
    write_file("street/sections.csv",
               "section,from,to,lines,line_r_ohm,line_x_ohm,pen_r_ohm,pen_x_ohm\n"
               "main,substation,joint,,0.001,0,0.001,0\n"
               "service,joint,house,L1,0.001,0,0.001,0\n");
    write_file("street/detectors.csv",
               "detector,node,senses,low_v,high_v,tolerance_v,delay_s,disconnects\n"
               "point,house,line-neutral,207,253,0,4,live-and-pe\n");
}

static int set_up(void **state)
{
    (void)state;
    assert_non_null(mkdtemp(folder));
    make_case("bare", bare, house_loads);
    make_case("rod", rod, house_loads);
    write_file("rod/electrodes.csv",
               "electrode,node,resistance_ohm,season_factor\nrod,installation,0.1,1\n");
    make_case("wrong", wrong,
              "load,node,phase,behaviour,current_a,power_factor\n"
              "a,installation,L1,impedance,3x2,1\nb,nowhere,L1,impedance,1,1\n");
    make_street();
    assert_int_equal(mkdir(path_in("out"), 0700), 0);
    snprintf(out_folder, sizeof out_folder, "%s", path_in("out"));
    snprintf(table, sizeof table, "%s", path_in("bare/case.csv"));
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    char command[600];
    snprintf(command, sizeof command, "rm -r '%s'", folder);
    return system(command);
}

static void test_usage(void **state)
{
    (void)state;
    check_run(2, "", "usage:", ARGUMENTS(NULL));
    check_run(2, "", "no command 'asess'; did you mean 'assess'?", ARGUMENTS("asess"));
    check_run(2, "", "no command 'xyzzy'; there are: assess, ", ARGUMENTS("xyzzy"));
    check_run(2, "", "usage: pendrift assess [OPTION...] CASE", ARGUMENTS("assess"));
    check_run(2, "", "usage: pendrift assess", ARGUMENTS("assess", bare, rod));
    check_run(2, "", "usage: pendrift selftest", ARGUMENTS("selftest", bare));
    check_run(2, "", "no command 'asess'", ARGUMENTS("help", "asess"));
    check_run(0, "pendrift ", "", ARGUMENTS("--version"));
    check_run(0, "LETHAL VOLTAGES", "", ARGUMENTS("--help"));
    check_run(0, "LETHAL VOLTAGES", "", ARGUMENTS("assess", "-h"));
    check_run(0, "Exit status: 0 acceptable", "", ARGUMENTS("help", "assess"));
}

static void test_wrong_options(void **state)
{
    (void)state;
    check_run(2, "", "no option '--fromat'; did you mean --format?",
              ARGUMENTS("assess", bare, "--fromat", "json"));
    check_run(2, "", "no option '--xyz=1'; see pendrift --help", ARGUMENTS("--xyz=1"));
    check_run(2, "", "no option '-z'", ARGUMENTS("assess", bare, "-z"));
    check_run(2, "", "--format: 'xml' is not one of its words; expected: text (default), json",
              ARGUMENTS("assess", bare, "--format", "xml"));
    check_run(2, "", "--output: needs an argument: FILE", ARGUMENTS("assess", bare, "-o"));
    check_run(2, "", "--output: is empty", ARGUMENTS("assess", bare, "--output="));
    check_run(2, "", "'--quiet=1': --quiet takes no argument",
              ARGUMENTS("assess", bare, "--quiet=1"));
    check_run(2, "", "--strict: is not an option of 'selftest'", ARGUMENTS("selftest", "--strict"));
}

static void test_wrong_options_of_blind(void **state)
{
    (void)state;
    check_run(2, "", "blind: give CASE, or --senses", ARGUMENTS("blind"));
    check_run(2, "", "either CASE or --senses", ARGUMENTS("blind", bare, "--senses", "pe-earth"));
    check_run(2, "", "with CASE the thresholds", ARGUMENTS("blind", bare, "--low", "207"));
    check_run(2, "", "--low: '2o7' is not a number from 0 to 1000",
              ARGUMENTS("blind", "--senses", "line-neutral", "--low", "2o7"));
    check_run(2, "", "--tolerance: 'nan' is not a number from 0 to 100",
              ARGUMENTS("blind", "--senses", "line-neutral", "--tolerance", "nan"));
    check_run(2, "", "--low: is not below --high",
              ARGUMENTS("blind", "--senses", "line-neutral", "--low", "253", "--high", "207"));
    check_run(2, "", "--low and --high",
              ARGUMENTS("blind", "--senses", "line-neutral", "--low", "300"));
    check_run(2, "", "--supply-low: is above --supply-high",
              ARGUMENTS("blind", "--senses", "line-neutral", "--supply-low", "253", "--supply-high",
                        "207"));
    check_run(2, "", "--limit: is needed", ARGUMENTS("blind", "--senses", "star-point"));
    check_run(2, "", "--limit: a device that watches a band",
              ARGUMENTS("blind", "--senses", "line-neutral", "--limit", "50"));
    check_run(2, "", "--low, --high: this device has one threshold",
              ARGUMENTS("blind", "--senses", "pe-earth", "--limit", "50", "--low", "20"));
    check_run(2, "", "--system: this device needs the three lines",
              ARGUMENTS("blind", "--senses", "three-line-neutral", "--system", "split-phase"));
    check_run(2, "", "--format: is not one that 'assess' writes",
              ARGUMENTS("assess", bare, "--format", "svg"));
    check_run(4, "declares no detector", "", ARGUMENTS("blind", bare));
    check_run(0, "is blind up to 131.0 V", "", ARGUMENTS("blind", "--senses", "line-neutral"));
}

/* One table drives the parser and the help: what is in it works as the help says. */
static void test_help_agrees_with_parser(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        unsigned bit;
    } commands[] = {{"assess", FOR_ASSESS}, {"selftest", FOR_SELFTEST}, {"help", FOR_HELP},
                    {"blind", FOR_BLIND},   {"replay", FOR_REPLAY},     {"new", FOR_NEW},
                    {"tables", FOR_TABLES}};
    for (size_t c = 0; c < sizeof commands / sizeof commands[0]; c++) {
        struct run help = {.arguments = {commands[c].name, "--help"}};
        execute(&help);
        assert_int_equal(help.exit, 0);
        for (size_t i = 0; i < option_count; i++) {
            const struct option_row *const row = &option_table[i];
            const bool own = (row->commands & commands[c].bit) != 0;
            char text[96], given[96];
            snprintf(text, sizeof text, "--%s%s%s ", row->name, row->argument != NULL ? " " : "",
                     row->argument != NULL ? row->argument : "");
            snprintf(given, sizeof given, "--%s%s%s", row->name, row->argument != NULL ? "=" : "",
                     row->choices != NULL    ? row->choices[0]
                     : row->whole_most > 0   ? "1"
                     : row->is_number        ? "50"
                     : row->argument != NULL ? "/dev/null"
                                             : "");
            assert_true((strstr(help.out, text) != NULL) == own);
            struct run run = {.arguments = {commands[c].name, given, "--help"}};
            execute(&run);
            assert_int_equal(run.exit, own || strcmp(row->name, "version") == 0 ? 0 : 2);
            done(&run);
        }
        done(&help);
    }
}

static void test_verdicts(void **state)
{
    (void)state;
    check_run(1, "NOT ACCEPTABLE  An invented house\n", "", ARGUMENTS("assess", bare));
    check_run(0, "ACCEPTABLE  An invented house\n", "", ARGUMENTS("assess", rod));
    check_run(0, "ACCEPTABLE", "", ARGUMENTS("--quiet", "assess", "--strict", rod));
    check_run(1, "CAUTIONS", "", ARGUMENTS("assess", bare));
    check_run(1, "# caution: ", "", ARGUMENTS("assess", bare, "--format=csv"));
    check_run(1, "\"cautions\": [", "", ARGUMENTS("assess", bare, "--format=json"));
}

static void test_residual_hazard(void **state)
{
    (void)state;
    check_run(0, "RESIDUAL HAZARD", "", ARGUMENTS("assess", street));
    check_run(1, "RESIDUAL HAZARD", "", ARGUMENTS("assess", street, "--strict"));
    struct run run = {.arguments = {"assess", street, "--format", "json"}};
    execute(&run);
    json_t *const json = json_loads(run.out, JSON_REJECT_DUPLICATES, NULL);
    const json_t *const network = json_object_get(json_object_get(json, "verdict"), "network");
    /* the supply is 230 V, or 253 V at most: both are in the band of the device */
    assert_close(json_real_value(json_object_get(network, "residual_v")),
                 253 * sqrt(0.423 * 0.423 + 0.577 * 0.577 - 0.423 * 0.577), 0.01, 0);
    json_decref(json);
    done(&run);
}

static void test_wrong_case(void **state)
{
    (void)state;
    check_run(3, "", "loads.csv:2: current_a: '3x2' is not a number\n", ARGUMENTS("assess", wrong));
    check_run(2, "", "No such file or directory", ARGUMENTS("assess", "/nowhere/at/all"));
    check_run(2, "", "Not a directory", ARGUMENTS("assess", table));
    write_file("out/keep", "as it was");
    char *const kept = strdup(path_in("out/keep"));
    check_run(3, "", "loads.csv:2:", ARGUMENTS("assess", wrong, "--output", kept));
    char *const text = read_file(kept);
    assert_string_equal(text, "as it was");
    assert_int_equal(entries("out"), 1);
    unlink(kept);
    free(text);
    free(kept);
}

static void test_undetermined(void **state)
{
    (void)state;
    char *const electrodes = strdup(path_in("bare/electrodes.csv"));
    write_file("bare/electrodes.csv", "electrode,node,resistance_ohm\nrod,installation,\n");
    check_run(4, "NOT DETERMINED", "", ARGUMENTS("assess", bare));
    check_run(4, "\"overall\": \"not determined\"", "", ARGUMENTS("assess", bare, "--format=json"));
    unlink(electrodes);
    free(electrodes);
}

static void test_json_parses(void **state)
{
    (void)state;
    struct run run = {.arguments = {"assess", rod, "--format", "json"}};
    execute(&run);
    json_t *const json = json_loads(run.out, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(json);
    assert_string_equal(json_string_value(json_object_get(json, "case")), "An invented house");
    const json_t *const scenario = json_array_get(json_object_get(json, "scenarios"), 3);
    assert_string_equal(json_string_value(json_object_get(scenario, "fault")), "open-pen");
    /* divider: supply 230 V, electrode 0.1 ohm, load 230 V / 32 A */
    assert_close(json_real_value(json_object_get(scenario, "touch_v")),
                 230 * 0.1 / (0.1 + 230.0 / 32), 1e-9, 0);
    json_decref(json);
    done(&run);
}

/* The same bytes to a file as to the screen; one that was there is replaced, its rights kept. */
static void test_output_file(void **state)
{
    (void)state;
    char *const path = strdup(path_in("out/result"));
    struct run screen = {.arguments = {"assess", rod}};
    execute(&screen);
    write_file("out/result", "old");
    assert_int_equal(chmod(path, 0640), 0);
    check_run(0, "", "", ARGUMENTS("assess", rod, "--output", path));
    char *const text = read_file(path);
    assert_string_equal(text, screen.out);
    struct stat status;
    assert_int_equal(stat(path, &status), 0);
    assert_int_equal(status.st_mode & 0777, 0640);
    assert_int_equal(entries("out"), 1);
    unlink(path);
    check_run(0, "", "", ARGUMENTS("selftest", "--output", path));
    check_run(0, "", "", ARGUMENTS("--help", "-o", path));
    unlink(path);
    free(text);
    free(path);
    done(&screen);
}

/* A link is followed: the file that it leads to is replaced, the link stays. */
static void test_output_link(void **state)
{
    (void)state;
    char *const link_path = strdup(path_in("out/link"));
    write_file("out/target", "old");
    assert_int_equal(symlink("target", link_path), 0);
    check_run(0, "", "", ARGUMENTS("assess", rod, "--output", link_path));
    struct stat status;
    assert_int_equal(lstat(link_path, &status), 0);
    assert_true(S_ISLNK(status.st_mode));
    char *const text = read_file(path_in("out/target"));
    assert_contains(text, "ACCEPTABLE");
    unlink(link_path);
    unlink(path_in("out/target"));
    free(text);
    free(link_path);
}

static void test_output_fails(void **state)
{
    (void)state;
    check_run(2, "", "/nowhere/x: cannot be written: No such file or directory",
              ARGUMENTS("assess", rod, "--output", "/nowhere/x"));
    check_run(2, "", "cannot be written: Is a directory",
              ARGUMENTS("assess", rod, "--output", out_folder));
    check_run(2, "", "/dev/full: cannot be written: No space left on device",
              ARGUMENTS("assess", rod, "--output", "/dev/full"));
    static const char *const commands[] = {"assess", "selftest", "help"};
    for (size_t i = 0; i < 3; i++) {
        struct run run = {.arguments = {commands[i], i == 0 ? rod : NULL},
                          .standard_output = "/dev/full"};
        execute(&run);
        assert_int_equal(run.exit, 2);
        assert_contains(run.err, "standard output: cannot be written: No space left on device");
        done(&run);
    }
    struct run closed = {.arguments = {"assess", rod}, .closed = true};
    execute(&closed);
    assert_int_equal(closed.exit, 2);
    assert_contains(closed.err, "standard output: cannot be written: Bad file descriptor");
    done(&closed);
}

/* A file that may not grow beyond 1000 bytes: what was there stays, nothing else is left. */
static void test_output_whole_or_nothing(void **state)
{
    (void)state;
    char *const path = strdup(path_in("out/result"));
    write_file("out/result", "as it was");
    static const char *const formats[] = {"text", "json", "csv"};
    for (size_t i = 0; i < 3; i++) {
        struct run run = {.arguments = {"assess", rod, "--format", formats[i], "--output", path},
                          .file_limit = 1000};
        execute(&run);
        assert_int_equal(run.exit, 2);
        assert_contains(run.err, "cannot be written: File too large");
        char *const text = read_file(path);
        assert_string_equal(text, "as it was");
        assert_int_equal(entries("out"), 1);
        free(text);
        done(&run);
    }
    unlink(path);
    free(path);
}

static bool is_colored(struct run run)
{
    execute(&run);
    const bool colored = strchr(run.out, '\033') != NULL;
    assert_contains(run.out, "ACCEPTABLE");
    done(&run);
    return colored;
}

static void test_color(void **state)
{
    (void)state;
    assert_false(is_colored((struct run){.arguments = {"assess", rod}}));
    assert_true(is_colored((struct run){.arguments = {"assess", rod}, .terminal = true}));
    assert_false(
        is_colored((struct run){.arguments = {"assess", rod}, .terminal = true, .no_color = "1"}));
    assert_true(
        is_colored((struct run){.arguments = {"assess", rod}, .terminal = true, .no_color = ""}));
    assert_false(is_colored(
        (struct run){.arguments = {"assess", rod, "--color", "never"}, .terminal = true}));
    assert_true(is_colored((struct run){.arguments = {"assess", rod, "--color=always"}}));
    assert_true(
        is_colored((struct run){.arguments = {"assess", rod, "--color=always"}, .no_color = "1"}));
}

static void test_selftest(void **state)
{
    (void)state;
    struct run run = {.arguments = {"selftest"}};
    execute(&run);
    assert_int_equal(run.exit, 0);
    assert_contains(run.out, "LETHAL VOLTAGES");
    assert_contains(run.out, " agree, 0 fail\n");
    for (char *line = run.out; *line != '\0';) {
        const size_t length = strcspn(line, "\n");
        assert_in_range(length, 0, 80);
        line += length + (line[length] == '\n');
    }
    done(&run);
}

/* A street so long that it takes seconds. */
static void make_long_street(void)
{
    enum { SECTIONS = 8000 };
    static char kept[512];
    make_case("long", kept, "");
    FILE *file = fopen(path_in("long/case.csv"), "a");
    fputs("installation,n8000,-\n", file);
    fclose(file);
    file = fopen(path_in("long/sections.csv"), "w");
    fputs("section,from,to,line_r_ohm,line_x_ohm,pen_r_ohm,pen_x_ohm\n", file);
    for (int i = 1; i <= SECTIONS; i++)
        fprintf(file, "s%d,n%d,n%d,0.0001,0,0.0001,0\n", i, i - 1, i);
    fclose(file);
    file = fopen(path_in("long/loads.csv"), "w");
    fputs("load,node,phase,behaviour,current_a,power_factor,min_current_a,max_current_a\n", file);
    for (int i = 1; i <= SECTIONS; i++)
        fprintf(file, "l%d,n%d,L1,impedance,0.01,1,0,0.02\n", i, i);
    fclose(file);
}

/* Interrupted while it works: 130, and nothing is left behind; the same for a second Ctrl-C. */
static void test_interrupt(void **state)
{
    (void)state;
    make_long_street();
    char *const long_street = strdup(path_in("long")), *const path = strdup(path_in("out/result"));
    for (int signals = 1; signals <= 2; signals++) {
        struct run run = {.arguments = {"assess", long_street, "--output", path}};
        const pid_t child = start(&run, -1);
        for (int i = 0; i < 2000 && entries("out") == 0; i++)
            usleep(5000); /* until it has opened its output, which is before the work */
        assert_int_equal(entries("out"), 1);
        for (int i = 0; i < signals; i++) {
            assert_int_equal(kill(child, SIGINT), 0);
            usleep(1000);
        }
        assert_int_equal(wait_for(child), 130);
        assert_int_equal(entries("out"), 0);
    }
    free(long_street);
    free(path);
}

/* A house of 32 A on a stiff 230 V supply, 0.1 ohm to earth: 253 * 0.1 / (0.1 + 230 / A) V. */
static const char good_profile[] = "time,%s\n00:00,32\n00:30,16\n01:00,\n01:30,8\n";

/* The name of the only load of the small cases. */
static const char *only_load(void)
{
    static char name[64];
    char *const text = read_file(path_in("rod/loads.csv"));
    const char *const row = strchr(text, '\n');
    assert_non_null(row);
    snprintf(name, sizeof name, "%.*s", (int)strcspn(row + 1, ","), row + 1);
    free(text);
    return name;
}

static void write_profile(const char *name, const char *format)
{
    char text[512];
    snprintf(text, sizeof text, format, only_load());
    write_file(name, text);
}

static void test_replay(void **state)
{
    (void)state;
    write_profile("good.csv", good_profile);
    char *const good = strdup(path_in("good.csv"));
    check_run(0, "REPLAY, NOT DETERMINED IN PART", "", ARGUMENTS("replay", rod, good));
    check_run(0, "CAUTIONS", "", ARGUMENTS("replay", rod, good, "--threads=3"));
    check_run(0, "# caution: ", "", ARGUMENTS("replay", rod, good, "--format=csv"));
    check_run(0, "table is whole\n", "", ARGUMENTS("replay", rod, good, "--format=csv", "--every"));
    check_run(0, "LETHAL VOLTAGES", "", ARGUMENTS("replay", rod, good, "--format=svg"));
    check_run(0, "PEN open in", "", ARGUMENTS("replay", rod, good, "--section", "supply"));
    check_run(0, "metalwork of some house", "", ARGUMENTS("replay", rod, good, "--at", "all"));
    check_run(2, "", "no section 'main' with a PEN",
              ARGUMENTS("replay", rod, good, "--section", "main"));
    check_run(2, "", "no node 'instalation'; did you mean 'installation'?",
              ARGUMENTS("replay", rod, good, "--at", "instalation"));
    check_run(2, "", "--every: is for --format csv", ARGUMENTS("replay", rod, good, "--every"));
    check_run(2, "", "--worst: 'ten' is not a whole number of 0 to 1000; expected: ",
              ARGUMENTS("replay", rod, good, "--worst", "ten"));
    check_run(2, "", "--format: is not one that 'assess' writes",
              ARGUMENTS("assess", rod, "--format", "svg"));
    check_run(2, "", "usage: pendrift replay [OPTION...] CASE PROFILE", ARGUMENTS("replay", rod));
    check_run(2, "", "cannot be opened: No such file", ARGUMENTS("replay", rod, "/nowhere.csv"));
    struct run run = {.arguments = {"replay", rod, good, "--format", "json"}};
    execute(&run);
    json_t *const json = json_loads(run.out, JSON_REJECT_DUPLICATES, NULL);
    const json_t *const worst = json_array_get(json_object_get(json, "worst_moments"), 0);
    assert_close(json_real_value(json_object_get(worst, "touch_v")), 253 * 0.1 / (0.1 + 230.0 / 32),
                 1e-9, 0);
    const json_t *const hours = json_object_get(json, "worst_section_hours");
    assert_close(json_real_value(json_object_get(hours, "not_determined_h")), 0.5, 1e-12, 0);
    assert_true(json_is_false(json_object_get(json, "determined")));
    json_decref(json);
    done(&run);
    free(good);
}

/* What is wrong in a record leaves nothing behind, whatever the format. */
static void test_replay_wrong(void **state)
{
    static const char *const formats[] = {"text", "json", "csv", "svg"};
    (void)state;
    write_profile("wrong.csv", "time,%s\n00:00,32\n00:30,-1\n01:00,x\n");
    char *const record = strdup(path_in("wrong.csv")), *const path = strdup(path_in("out/result"));
    for (size_t i = 0; i < 4; i++) {
        struct run run = {.arguments = {"replay", rod, record, "--format", formats[i]}};
        execute(&run);
        assert_int_equal(run.exit, 3);
        assert_string_equal(run.out, "");
        assert_contains(run.err, ":3: ");
        assert_contains(run.err, ":4: ");
        done(&run);
        struct run to_file = {
            .arguments = {"replay", rod, record, "--format", formats[i], "-o", path}};
        execute(&to_file);
        assert_int_equal(to_file.exit, 3);
        assert_int_equal(entries("out"), 0);
        done(&to_file);
    }
    free(record);
    free(path);
}

static void test_replay_interrupt(void **state)
{
    (void)state;
    FILE *const file = fopen(path_in("long.csv"), "w");
    assert_non_null(file);
    fprintf(file, "time_s,%s\n", only_load());
    for (int i = 0; i < 1500000; i++)
        fprintf(file, "%d,%d\n", i, i % 30);
    assert_int_equal(fclose(file), 0);
    char *const record = strdup(path_in("long.csv")), *const path = strdup(path_in("out/result"));
    struct run run = {.arguments = {"replay", rod, record, "--format", "csv", "-o", path}};
    const pid_t child = start(&run, -1);
    for (int i = 0; i < 2000 && entries("out") == 0; i++)
        usleep(1000);
    assert_int_equal(entries("out"), 1);
    assert_int_equal(kill(child, SIGINT), 0);
    assert_int_equal(wait_for(child), 130);
    assert_int_equal(entries("out"), 0);
    remove(record);
    free(record);
    free(path);
}

int main(int argument_count, char **arguments)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_usage),
        cmocka_unit_test(test_wrong_options),
        cmocka_unit_test(test_wrong_options_of_blind),
        cmocka_unit_test(test_help_agrees_with_parser),
        cmocka_unit_test(test_verdicts),
        cmocka_unit_test(test_residual_hazard),
        cmocka_unit_test(test_wrong_case),
        cmocka_unit_test(test_undetermined),
        cmocka_unit_test(test_json_parses),
        cmocka_unit_test(test_output_file),
        cmocka_unit_test(test_output_link),
        cmocka_unit_test(test_output_fails),
        cmocka_unit_test(test_output_whole_or_nothing),
        cmocka_unit_test(test_color),
        cmocka_unit_test(test_selftest),
        cmocka_unit_test(test_interrupt),
        cmocka_unit_test(test_replay),
        cmocka_unit_test(test_replay_wrong),
        cmocka_unit_test(test_replay_interrupt),
    };
    program = argument_count > 1 ? arguments[1] : getenv("PENDRIFT");
    if (program == NULL) {
        fputs("usage: test_cli PROGRAM, or set PENDRIFT\n", stderr);
        return 2;
    }
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
