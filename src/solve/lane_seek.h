/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_SOLVE_LANE_SEEK_H
#define PENDRIFT_SOLVE_LANE_SEEK_H

#include "solve/anderson.h"
#include "solve/lane_room.h"
#include "solve/newton.h"
#include "solve/search.h"

/* The search of settle.h, side by side: the group's states are shared out among the lanes in turn,
 * and a lane holds one search of its state, from one start with one cut. When that has arrived or
 * been given up, the lane takes the next of its state's searches that waits, while the others go
 * on. Each lane's numbers follow from its own state alone. The room's own.
 *
 * The rules are those of search.h, the formulas those of anderson.c and newton.c, with these
 * differences: the cut's share in the matrix of the ports is never written out for the iteration,
 *
 *     u' = v + Z J + g (e + k g^t J),
 *
 * v, Z intact and g, e, k the cut's (plan.h); squares are compared where roots would be; and what
 * Newton's step needs of an element is kept from when its current was drawn. */

/* A port that is on in a state: its element, copied, and where it stands. */
struct pd_lane_port {
    struct pd_element element;
    struct pd_port port; /* its element is the one above */
    size_t number;       /* the plan's */
    size_t row;          /* among those that are on in some state of the group */
};

/* How far the searches of one state and cut have come: a bit for each start. */
struct pd_lane_todo {
    unsigned char waiting[PD_METHODS];
    unsigned char arrived;
    unsigned char number[PD_STARTS]; /* of the attempt */
};

/* What a lane is at. */
struct pd_lane_hand {
    size_t state;
    bool busy;
    bool loaded; /* the gain of: */
    size_t column;
    int start, steps;
    bool arrived; /* iterating: moves once more, for its answer */
    bool trying;  /* Newton's: u is to be looked at */
    bool stepped; /* u is a step from where it was, of which: */
    int halvings;
    double share;
    double size;   /* |g(u) - u|^2 before the step */
    size_t cursor; /* the first column that may have something waiting */
};

/* Differences that Anderson's acceleration keeps: x and g(x) - x of each. */
struct pd_lane_past {
    pd_reals *dx, *df; /* [2 count] */
};

struct pd_lane_seek {
    struct pd_lane_worker *worker;
    size_t room, chunk;        /* ports; columns at a time */
    struct pd_lane_port *port; /* [PD_LANES][room] of each state, in the tree's order */
    size_t *row;               /* [room] of each port of the plan */
    size_t on[PD_LANES];       /* ports of each state */
    size_t states;
    size_t first, end;         /* columns of the chunk */
    struct pd_lane_todo *todo; /* [chunk][PD_LANES] of each state */
    double complex *answer;    /* [chunk][PD_LANES][PD_STARTS][room] */
    struct pd_lane_hand hand[PD_LANES];

    /* What the steps in lanes work on; count: rows, of which some are 0 in some lanes. */
    size_t count;
    struct pd_lanes *between; /* [count][count] Z */
    struct pd_lanes *intact;  /* [count] v */
    struct pd_lanes *gain;    /* [count] g */
    struct pd_lanes emf, per_ampere;
    struct pd_lanes *u, *moved, *injected; /* [count] */
    pd_reals far2, size2;                  /* largest, which no NaN is, and summed |u' - u|^2 */

    pd_mask moving, fresh;  /* takes a step of the iteration; has no step behind it */
    pd_reals damping, most; /* most: differences that may be kept */
    size_t kept;            /* in any lane; the newest first: */
    struct pd_lane_past past[PD_ANDERSON_MEMORY];
    pd_reals *last_x, *last_f, *f, *direction; /* [2 count]; [PD_ANDERSON_MEMORY][2 count] */

    pd_mask *is_on;                      /* [count] */
    struct pd_lanes *slope, *slope_conj; /* [count] dJ by du and conj(du) */
    struct pd_lanes *from, *step;        /* [count] where it starts, and the step */
    pd_reals *jacobian;                  /* [2 count][2 count] */
    pd_mask singular;
};

/* Makes it with all the memory that it will need, for a worker with a plan. Freed by
 * pd_lane_seek_free. PD_OK or PD_ERR_MEMORY. */
enum pd_status pd_lane_seek_new(struct pd_lane_worker *worker, struct pd_lane_seek **out);
void pd_lane_seek_free(struct pd_lane_seek **seek);

/* Takes up a group whose ports are in port, on, with the worker's passes behind it. */
void pd_lane_seek_group(struct pd_lane_seek *seek, size_t states);

/* Searches columns first to first + count - 1, at most `chunk`, of every state that has ports. */
void pd_lane_seek_columns(struct pd_lane_seek *seek, size_t first, size_t count);

/* The answer found from a start: the voltages across the ports that are on. NULL: none. Until the
 * next columns are searched. */
const double complex *pd_lane_seek_answer(const struct pd_lane_seek *seek, size_t column,
                                          size_t state, int start);

/* The steps, for the instructions of each width. move: u' and its distances from u and what is
 * injected at u. mix: of the lanes that move, u by Anderson's acceleration. newton: the step to the
 * next u, and whether there is none. */
void pd_move_baseline(struct pd_lane_seek *seek);
void pd_move_avx2(struct pd_lane_seek *seek);
void pd_move_avx512(struct pd_lane_seek *seek);
void pd_mix_baseline(struct pd_lane_seek *seek);
void pd_mix_avx2(struct pd_lane_seek *seek);
void pd_mix_avx512(struct pd_lane_seek *seek);
void pd_newton_baseline(struct pd_lane_seek *seek);
void pd_newton_avx2(struct pd_lane_seek *seek);
void pd_newton_avx512(struct pd_lane_seek *seek);

#endif
