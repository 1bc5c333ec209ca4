/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "spice.h"

#include <fcntl.h>
#include <spawn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { LINE = 256 };
#define OMEGA (2 * 3.14159265358979323846 * 50)

FILE *spice_begin(const struct spice *spice)
{
    FILE *const file = fopen(spice->netlist, "w");
    assert_non_null(file);
    fprintf(file, "tree\n.options gmin=1e-15 noopac\n");
    return file;
}

void spice_end(FILE *file)
{
    fprintf(file, ".ac lin 1 50 50\n.end\n");
    assert_int_equal(fclose(file), 0);
}

void spice_series(FILE *file, const char *name, const char *from, const char *to,
                  double complex z_ohm)
{
    const double r = creal(z_ohm), l = cimag(z_ohm) / OMEGA;
    if (r == 0 && l == 0)
        fprintf(file, "V%s %s %s 0\n", name, from, to);
    else if (l == 0)
        fprintf(file, "R%s %s %s %.17g\n", name, from, to, r);
    else if (r == 0)
        fprintf(file, "L%s %s %s %.17g\n", name, from, to, l);
    else
        fprintf(file, "R%s %s %sm %.17g\nL%s %sm %s %.17g\n", name, from, name, r, name, name, to,
                l);
}

void spice_admittance(FILE *file, const char *name, const char *from, const char *to,
                      double complex y_s)
{
    const double g = creal(y_s), b = cimag(y_s);
    if (g != 0)
        fprintf(file, "RG%s %s %s %.17g\n", name, from, to, 1 / g);
    if (b < 0)
        fprintf(file, "LB%s %s %s %.17g\n", name, from, to, -1 / (OMEGA * b));
    if (b > 0)
        fprintf(file, "CB%s %s %s %.17g\n", name, from, to, b / OMEGA);
}

/* Without a start-up file, its words going to a file; 127 where it is not there. */
static int run_ngspice(const struct spice *spice)
{
    extern char **environ;
    char *const arguments[] = {(char[]){"ngspice"},
                               (char[]){"-n"},
                               (char[]){"-b"},
                               (char[]){"-r"},
                               (char *)spice->raw,
                               (char *)spice->netlist,
                               NULL};
    posix_spawn_file_actions_t actions;
    assert_int_equal(posix_spawn_file_actions_init(&actions), 0);
    posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, spice->log,
                                     O_WRONLY | O_CREAT | O_TRUNC, 0600);
    posix_spawn_file_actions_adddup2(&actions, STDOUT_FILENO, STDERR_FILENO);
    pid_t child;
    const int error = posix_spawnp(&child, "ngspice", &actions, NULL, arguments, environ);
    posix_spawn_file_actions_destroy(&actions);
    if (error != 0)
        return 127;
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128;
}

static bool is_there(const struct spice *spice)
{
    FILE *const file = spice_begin(spice);
    fprintf(file, "V1 a 0 dc 0 ac 1\nR1 a 0 1\n");
    spice_end(file);
    return run_ngspice(spice) == 0;
}

void spice_open(struct spice *spice)
{
    *spice = (struct spice){.path = "/tmp/pendrift-spice-XXXXXX"};
    assert_non_null(mkdtemp(spice->path));
    snprintf(spice->netlist, sizeof spice->netlist, "%s/tree.cir", spice->path);
    snprintf(spice->raw, sizeof spice->raw, "%s/tree.raw", spice->path);
    snprintf(spice->log, sizeof spice->log, "%s/log", spice->path);
    if (is_there(spice))
        return;
    spice_close(spice);
    if (getenv("PENDRIFT_NEED_NGSPICE") != NULL)
        fail_msg("ngspice does not run, and PENDRIFT_NEED_NGSPICE is set");
    print_message("ngspice does not run here: the engine is not compared with it\n");
    skip();
}

void spice_close(const struct spice *spice)
{
    unlink(spice->netlist);
    unlink(spice->raw);
    unlink(spice->log);
    rmdir(spice->path);
}

static void show_log(const struct spice *spice)
{
    char line[LINE];
    FILE *const file = fopen(spice->log, "r");
    while (file != NULL && fgets(line, sizeof line, file) != NULL)
        print_error("ngspice: %s", line);
    if (file != NULL)
        fclose(file);
}

/* ngspice's raw file: names under "Variables:", then after "Binary:" a complex double for each. The
 * first is the frequency. */
static size_t read_raw(FILE *file, struct spice_voltage **voltage)
{
    char line[LINE];
    size_t count = 0, found = 0;
    while (fgets(line, sizeof line, file) != NULL && strcmp(line, "Variables:\n") != 0)
        sscanf(line, "No. Variables: %zu", &count);
    *voltage = calloc(count + 1, sizeof **voltage);
    assert_non_null(*voltage);
    for (size_t i = 0; i < count && fgets(line, sizeof line, file) != NULL; i++)
        sscanf(line, "%*u %31s", (*voltage)[i].name);
    if (fgets(line, sizeof line, file) == NULL || strcmp(line, "Binary:\n") != 0)
        return 0;
    while (found < count && fread(&(*voltage)[found].v, sizeof(*voltage)[found].v, 1, file) == 1)
        found++;
    return found;
}

size_t spice_run(const struct spice *spice, struct spice_voltage **voltage)
{
    unlink(spice->raw);
    const int status = run_ngspice(spice);
    FILE *const file = fopen(spice->raw, "rb");
    *voltage = NULL;
    const size_t found = file != NULL ? read_raw(file, voltage) : 0;
    if (file != NULL)
        fclose(file);
    if (status == 0 && found > 0)
        return found;
    show_log(spice);
    free(*voltage);
    spice_close(spice);
    fail_msg("ngspice ended with %d, %zu voltages", status, found);
    return 0;
}
