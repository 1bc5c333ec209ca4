/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TESTS_RECORD_H
#define PENDRIFT_TESTS_RECORD_H

#include "case_folder.h"

#include "study/replay.h"

/* Load series made by a test, what a replay tells of them, and the slow way by hand: one state at a
 * time in the plain engine. */

/* Memory of zeros; fails the test where there is none. Freed by the caller. */
void *room(size_t count, size_t size);

/* A record as the test made it. A size below 0 is a cell left empty. */
struct record {
    size_t rows, loads;
    double *size; /* [rows][loads] in the unit of the load */
    char path[64];
};

/* Writes a record as a profile; makes one of random sizes, some cells left empty if so wished, and
 * prints the seed. */
void write_record(struct record *r, const struct pd_network *network);
void make_record(struct record *r, const struct pd_network *network, size_t rows, uint64_t seed,
                 bool blanks);
void free_record(struct record *r);

/* What the replay told of each row and section. */
struct told {
    struct pd_replay_answer *answer; /* [rows][sections] */
    struct pd_replay_moment *moment; /* [rows] */
    size_t answers, moments, room;
};

/* To be given to a replay with a struct told, which has room. */
enum pd_status tell_answer(const struct pd_replay_answer *answer, void *context);
enum pd_status tell_moment(const struct pd_replay_moment *moment, void *context);
void free_told(struct told *told);

/* One state by the plain engine. */
struct hand {
    struct pd_tree *tree;
    struct pd_solution solution;
    double *load_a;
};

void hand_open(struct hand *h, const struct pd_case *c);
void hand_close(struct hand *h);
/* False where a cell is empty. */
bool hand_row(struct hand *h, const struct pd_case *c, const struct record *record, size_t row,
              double supply_v);
/* The chassis voltage with the PEN open in a section; NaN where it has none. */
double hand_touch(struct hand *h, const struct pd_case *c, size_t section);
/* Whether any device lets go of what stands in h->solution, all voltages scaled. */
bool hand_acts(const struct hand *h, const struct pd_case *c, double scale);

#endif
