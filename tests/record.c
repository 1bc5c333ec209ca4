/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "record.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void *room(size_t count, size_t size)
{
    void *const memory = calloc(count + 1, size);
    assert_non_null(memory);
    return memory;
}

void write_record(struct record *r, const struct pd_network *network)
{
    strcpy(r->path, "/tmp/pendrift-replay-XXXXXX");
    FILE *const file = fdopen(mkstemp(r->path), "w");
    assert_non_null(file);
    fputs("time_min", file);
    for (size_t i = 0; i < r->loads; i++)
        fprintf(file, ",\"%s\"", network->load[i].name);
    for (size_t row = 0; row < r->rows; row++) {
        fprintf(file, "\n%zu", 30 * row);
        for (size_t i = 0; i < r->loads; i++)
            if (r->size[row * r->loads + i] < 0)
                fputs(",", file);
            else
                fprintf(file, ",%.17g", r->size[row * r->loads + i]);
    }
    fputs("\n", file);
    assert_int_equal(fclose(file), 0);
}

void make_record(struct record *r, const struct pd_network *network, size_t rows, uint64_t seed,
                 bool blanks)
{
    struct stream stream = {seed};
    *r = (struct record){.rows = rows, .loads = network->load_count};
    r->size = room(rows * r->loads, sizeof *r->size);
    for (size_t row = 0; row < rows; row++)
        for (size_t i = 0; i < r->loads; i++) {
            const struct pd_load *const load = &network->load[i];
            double *const size = &r->size[row * r->loads + i];
            *size = stream_uniform(&stream, 0, 1.2 * load->high_a / load->unit_a);
            if (stream_below(&stream, 4) == 0)
                *size = load->low_a / load->unit_a;
            if (blanks && stream_below(&stream, 8 * r->loads) == 0)
                *size = -1;
        }
    write_record(r, network);
    print_message("seed %lu: %zu rows of %zu loads\n", (unsigned long)seed, rows, r->loads);
}

void free_record(struct record *r)
{
    unlink(r->path);
    free(r->size);
}

void hand_open(struct hand *h, const struct pd_case *c)
{
    assert_int_equal(pd_tree_new(c->network, &h->tree), PD_OK);
    assert_int_equal(pd_solution_new(c->network, &h->solution), PD_OK);
    h->load_a = room(c->network->load_count, sizeof *h->load_a);
}

void hand_close(struct hand *h)
{
    pd_tree_free(&h->tree);
    pd_solution_free(&h->solution);
    free(h->load_a);
}

bool hand_row(struct hand *h, const struct pd_case *c, const struct record *record, size_t row,
              double supply_v)
{
    bool known = true;
    for (size_t i = 0; i < record->loads; i++) {
        const double size = record->size[row * record->loads + i];
        known &= size >= 0;
        h->load_a[i] = fmax(0, size) * c->network->load[i].unit_a;
    }
    const struct pd_operating operating = {
        .load_a = h->load_a, .tie = c->tie, .tie_count = c->electrodes.count, .supply_v = supply_v};
    assert_int_equal(pd_tree_factor(h->tree, &operating), PD_OK);
    return known;
}

double hand_touch(struct hand *h, const struct pd_case *c, size_t section)
{
    const struct pd_cut cut = {.kind = PD_CUT_OPEN, .section = section};
    assert_int_equal(pd_tree_solve(h->tree, &cut, &h->solution), PD_OK);
    if (h->solution.standing != PD_SOLVED)
        return NAN;
    const size_t pe_node = c->network->node[c->charging_point].pe_node;
    return pe_node == PD_NONE ? 0 : cabs(h->solution.v[pe_node][PD_N]);
}

bool hand_acts(const struct hand *h, const struct pd_case *c, double scale)
{
    for (size_t i = 0; i < c->detectors.count; i++) {
        const size_t node = c->detector_node[i], pe_node = c->network->node[node].pe_node;
        struct pd_view view = {.lines = c->installation_lines & c->network->node[node].lines};
        for (int k = 0; k < PD_CONDUCTORS; k++)
            view.v[k] = scale * h->solution.v[node][k];
        view.pe_v = pe_node == PD_NONE ? 0 : scale * h->solution.v[pe_node][PD_N];
        const struct pd_sight sight = pd_detector_look(&c->detectors.detector[i], &view);
        if (sight.kind == PD_SEES && sight.saves_touch && sight.time_s <= c->limits.time_s)
            return true;
    }
    return false;
}

enum pd_status tell_answer(const struct pd_replay_answer *answer, void *context)
{
    struct told *const told = context;
    assert_true(told->answers < told->room);
    told->answer[told->answers++] = *answer;
    return PD_OK;
}

enum pd_status tell_moment(const struct pd_replay_moment *moment, void *context)
{
    struct told *const told = context;
    told->moment[told->moments++] = *moment;
    return PD_OK;
}

void free_told(struct told *told)
{
    free(told->answer);
    free(told->moment);
}
