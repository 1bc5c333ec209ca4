/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/electrode_want.h"

#include <math.h>

#include "table/names.h"

/* Of the search: coarser is a little higher, never lower. */
static const size_t segments = 32;

const double pd_layout_section_m = 1.2;
const double pd_layout_longest_m = 6;
const double pd_layout_line_m = 30;
const double pd_layout_side_m = 15;
const double pd_layout_little_share = 0.1;

static struct pd_shape_size size_of(const struct pd_electrode_question *question,
                                    const struct pd_layout *layout)
{
    return (struct pd_shape_size){.length_m = layout->length_m,
                                  .diameter_m = question->size.diameter_m,
                                  .depth_m = question->size.depth_m,
                                  .spacing_m = layout->spacing_m,
                                  .soil_ohm_m = NAN,
                                  .count = layout->count};
}

static bool meets(const struct pd_electrode_question *question,
                  const struct pd_electrode_figure *figure)
{
    const double ohm = isnan(question->season.factor) ? figure->ohm : figure->dry_ohm;
    return isfinite(ohm) && ohm <= question->want_ohm;
}

static enum pd_status work_out(const struct pd_electrode_question *question,
                               struct pd_layout *layout)
{
    const struct pd_shape_size size = size_of(question, layout);
    const double gaps =
        layout->shape == PD_SQUARE ? (double)layout->count / 4 : (double)layout->count - 1;
    const enum pd_status status =
        pd_electrode_figure(question, layout->shape, &size, segments, &layout->figure, NULL);
    layout->land_m = gaps * layout->spacing_m;
    layout->meets = status == PD_OK && meets(question, &layout->figure);
    return status;
}

static bool has_room(enum pd_shape shape, size_t count, double spacing_m)
{
    const double most_m = shape == PD_SQUARE ? pd_layout_side_m : pd_layout_line_m;
    const double gaps = shape == PD_SQUARE ? (double)count / 4 : (double)count - 1;
    const size_t most = shape == PD_SQUARE ? PD_LAYOUT_SQUARE_MOST : PD_LAYOUT_LINE_MOST;
    return count <= most && gaps * spacing_m <= most_m * (1 + 1e-9);
}

/* The fewest rods at this spacing that do, else as many as there is room for. count 0: no room. */
static enum pd_status fewest(const struct pd_electrode_question *question, enum pd_shape shape,
                             double length_m, double spacing_m, struct pd_layout *layout)
{
    const size_t step = shape == PD_SQUARE ? 4 : 1;
    enum pd_status status = PD_OK;
    layout->count = 0;
    for (size_t count = step; has_room(shape, count, spacing_m); count += step) {
        *layout = (struct pd_layout){
            .shape = shape, .count = count, .length_m = length_m, .spacing_m = spacing_m};
        status = work_out(question, layout);
        if (status != PD_OK || layout->meets)
            break;
    }
    return status;
}

/* Whether a is the better way: it does and b does not, or with less rod, or comes lower. */
static bool better(const struct pd_layout *a, const struct pd_layout *b)
{
    if (a->meets != b->meets)
        return a->meets;
    if (!a->meets)
        return a->figure.ohm < b->figure.ohm;
    const double a_m = (double)a->count * a->length_m, b_m = (double)b->count * b->length_m;
    return a_m < b_m - 1e-9 || (a_m < b_m + 1e-9 && a->land_m < b->land_m);
}

/* One arrangement and rod length: the better of the spacings, which are the rod's length and twice
 * that unless one is given. */
static enum pd_status try_length(struct pd_electrode_answer *answer, enum pd_shape shape,
                                 double length_m)
{
    const struct pd_electrode_question *const q = &answer->question;
    struct pd_layout *const kept = &answer->layout[answer->layout_count];
    const int spacings = q->spacing_given ? 1 : 2;
    enum pd_status status = PD_OK;
    kept->count = 0;
    for (int times = 1; times <= spacings && status == PD_OK; times++) {
        struct pd_layout tried;
        const double spacing_m = q->spacing_given ? q->size.spacing_m : times * length_m;
        status = fewest(q, shape, length_m, spacing_m, &tried);
        if (status == PD_OK && tried.count > 0 && (kept->count == 0 || better(&tried, kept)))
            *kept = tried;
    }
    if (status == PD_OK && kept->count > 0 && answer->layout_count + 1 < PD_LAYOUTS)
        answer->layout_count++;
    return status;
}

static enum pd_status try_all(struct pd_electrode_answer *answer, pd_progress_function *progress,
                              void *context)
{
    const struct pd_electrode_question *const q = &answer->question;
    const double first_m = q->length_given ? q->size.length_m : pd_layout_section_m;
    const double last_m = q->length_given ? first_m : pd_layout_longest_m + 1e-9;
    enum pd_status status = PD_OK;
    for (double length_m = first_m; length_m <= last_m && status == PD_OK;
         length_m += pd_layout_section_m) {
        if (progress != NULL && !progress(length_m / (last_m + pd_layout_section_m), context))
            return PD_ERR_INTERRUPTED;
        status = try_length(answer, PD_ROD, length_m);
        if (status == PD_OK)
            status = try_length(answer, PD_SQUARE, length_m);
    }
    for (size_t i = 0; i < answer->layout_count; i++)
        if (answer->best == PD_NONE || better(&answer->layout[i], &answer->layout[answer->best]))
            answer->best = i;
    return status;
}

/* Rods of the best length and spacing in a line, one more each time. */
static enum pd_status climb(struct pd_electrode_answer *answer)
{
    const struct pd_layout *const best = &answer->layout[answer->best];
    enum pd_status status = PD_OK;
    for (size_t count = 1; count <= PD_LAYOUT_LINE_MOST && status == PD_OK; count++) {
        struct pd_layout *const rung = &answer->ladder[answer->ladder_count];
        *rung = (struct pd_layout){.shape = PD_ROD,
                                   .count = count,
                                   .length_m = best->length_m,
                                   .spacing_m = best->spacing_m};
        status = work_out(&answer->question, rung);
        if (status == PD_OK)
            answer->ladder_count++;
    }
    for (size_t i = 1; i < answer->ladder_count && answer->little_from == 0; i++)
        if (answer->ladder[i].figure.ohm >
            (1 - pd_layout_little_share) * answer->ladder[i - 1].figure.ohm)
            answer->little_from = answer->ladder[i].count;
    return status;
}

static bool is_known(const struct pd_electrode_answer *answer)
{
    for (size_t i = 0; i < answer->layout_count; i++)
        if (!isfinite(answer->layout[i].figure.ohm))
            return false;
    return answer->layout_count > 0;
}

enum pd_status pd_electrode_want(struct pd_electrode_answer *answer, pd_progress_function *progress,
                                 void *context)
{
    const struct pd_electrode_question *const q = &answer->question;
    if (!pd_soil_good(&q->soil))
        return PD_OK; /* not determined */
    enum pd_status status = try_all(answer, progress, context);
    if (status != PD_OK || answer->best == PD_NONE)
        return status;
    status = climb(answer);
    const struct pd_layout *const best = &answer->layout[answer->best];
    if (best->meets)
        answer->practicable = PD_PRACTICABLE;
    else if (is_known(answer))
        answer->practicable = PD_NOT_PRACTICABLE;
    const struct pd_shape_size size = size_of(q, best);
    return status == PD_OK
               ? pd_electrode_figure(q, best->shape, &size, 0, &answer->figure, &answer->ground)
               : status;
}
