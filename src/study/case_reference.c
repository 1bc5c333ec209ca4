/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/case_reference.h"

#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdbool.h>

#include "earthing/mutual.h"

static bool is_placed(const struct pd_electrode *e)
{
    return isfinite(e->x_m) && isfinite(e->y_m);
}

/* Whether an electrode shares the device's protective conductor. */
static bool is_shared(const struct pd_case *c, size_t device, size_t electrode)
{
    const struct pd_node *const node = c->network->node;
    return (node[c->tie[electrode].node].pe_node == PD_NONE) ==
           (node[c->detector_node[device]].pe_node == PD_NONE);
}

/* The electrodes that share it and have a place, into `member`. *known is false where one of the
 * installation's own has none: far away would be the comfortable guess. */
static size_t list_group(const struct pd_case *c, size_t device, size_t *member, bool *known)
{
    size_t count = 0;
    *known = true;
    for (size_t i = 0; i < c->electrodes.count; i++) {
        if (!is_shared(c, device, i))
            continue;
        if (is_placed(&c->electrodes.electrode[i]))
            member[count++] = i;
        else if (pd_case_own(c, c->tie[i].node))
            *known = false;
    }
    return count;
}

/* The ground's potential at the place when every member is at 1 V: their currents are R^-1 1, and
 * each lifts the place by its transfer. NaN where a figure is not known. */
static double lift(const gsl_matrix *resistance, const gsl_vector *transfer, const size_t *member,
                   size_t count, gsl_matrix *work, gsl_vector *current)
{
    gsl_matrix_view part = gsl_matrix_submatrix(work, 0, 0, count, count);
    gsl_vector_view i_a = gsl_vector_subvector(current, 0, count);
    double lifted = 0;
    for (size_t i = 0; i < count; i++) {
        for (size_t j = 0; j < count; j++)
            gsl_matrix_set(&part.matrix, i, j, gsl_matrix_get(resistance, member[i], member[j]));
        gsl_vector_set(&i_a.vector, i, 1);
        lifted += gsl_vector_get(transfer, member[i]) + gsl_matrix_get(&part.matrix, i, i);
    }
    if (!isfinite(lifted) || gsl_linalg_HH_svx(&part.matrix, &i_a.vector) != 0)
        return NAN;
    lifted = 0;
    for (size_t i = 0; i < count; i++)
        lifted += gsl_vector_get(transfer, member[i]) * gsl_vector_get(&i_a.vector, i);
    return lifted;
}

struct room {
    struct pd_mutual *mutual;
    gsl_matrix *work;
    gsl_vector *transfer, *current;
    size_t *member;
};

static enum pd_status place_one(struct pd_case *c, size_t device, const struct room *room)
{
    struct pd_detector *const d = &c->detectors.detector[device];
    const struct pd_place place = {d->reference_x_m, d->reference_y_m, 0};
    bool known;
    const size_t count = list_group(c, device, room->member, &known);
    double coupling = known && count == 0 ? 0 : NAN;
    if (known && count > 0 && room->mutual != NULL &&
        pd_mutual_transfer(room->mutual, &place, room->transfer) >= PD_OK)
        coupling = lift(pd_mutual_resistance(room->mutual), room->transfer, room->member, count,
                        room->work, room->current);
    const bool all = isnan(coupling) || coupling > 1 - 1e-9; /* rounding leaves no share to sense */
    d->coupling = all ? 1 : fmax(coupling, 0);
    if (isnan(coupling))
        return pd_notes_add(&c->missing,
                            "What the ground at the reference electrode of '%s' takes on is not "
                            "known: give all electrodes of the installation their place, "
                            "resistance and soil_ohm_m, or the device its coupling in place of "
                            "reference_x_m and reference_y_m.",
                            d->name);
    return pd_notes_add(&c->assumptions,
                        "The ground gives the reference electrode of '%s' %.3f of the protective "
                        "conductor's potential: worked out, dry season, from the electrodes that "
                        "have a place, all at that potential. Others' electrodes without a place, "
                        "and metal in the ground that is not declared, are taken as far away.",
                        d->name, d->coupling);
}

static enum pd_status place_all(struct pd_case *c, struct room *room)
{
    const size_t count = c->electrodes.count;
    enum pd_status status = pd_mutual_new(&c->electrodes, NULL, &room->mutual);
    if (status == PD_ERR_MEMORY)
        return status;
    room->work = gsl_matrix_alloc(count, count);
    room->transfer = gsl_vector_calloc(count);
    room->current = gsl_vector_alloc(count);
    room->member = calloc(count, sizeof *room->member);
    if (room->work == NULL || room->transfer == NULL || room->current == NULL ||
        room->member == NULL)
        return PD_ERR_MEMORY;
    status = PD_OK;
    for (size_t i = 0; i < c->detectors.count && status == PD_OK; i++)
        if (isfinite(c->detectors.detector[i].reference_x_m))
            status = place_one(c, i, room);
    return status;
}

enum pd_status pd_case_reference(struct pd_case *c)
{
    struct room room = {0};
    size_t placed = 0;
    for (size_t i = 0; i < c->detectors.count; i++)
        placed += isfinite(c->detectors.detector[i].reference_x_m) ? 1 : 0;
    if (placed == 0 || c->electrodes.count == 0)
        return PD_OK;
    const enum pd_status status = place_all(c, &room);
    free(room.member);
    if (room.current != NULL)
        gsl_vector_free(room.current);
    if (room.transfer != NULL)
        gsl_vector_free(room.transfer);
    if (room.work != NULL)
        gsl_matrix_free(room.work);
    pd_mutual_free(&room.mutual);
    return status;
}
