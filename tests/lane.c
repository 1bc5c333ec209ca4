/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "lane.h"

#include <math.h>

double lane_load(double current_a)
{
    return current_a / 230;
}

static double complex in_series(double complex y_s, double complex z_ohm)
{
    return y_s / (1 + z_ohm * y_s);
}

struct lane_answer lane_solve(const struct lane *lane, double supply_v, double complex board_s,
                              double complex vehicle_s, double joint_ohm)
{
    const double complex emf[3] = {supply_v, supply_v * cexp(-I * 2 * M_PI / 3),
                                   supply_v * cexp(I * 2 * M_PI / 3)};
    const double complex own_s = board_s + in_series(vehicle_s, 2 * lane->point_ohm);
    const double complex service_s = in_series(own_s, 2 * lane->service_ohm);
    const double complex pen_s = isinf(joint_ohm) ? 0 : 1 / (lane->pen_ohm + joint_ohm);
    double complex line_s[3] = {service_s, 0, 0};
    for (size_t i = 0; i < lane->count; i++)
        line_s[lane->house[i].line] +=
            in_series(lane_load(lane->house[i].load_a), 2 * lane->house[i].service_ohm);

    double complex drive = 0, sum = pen_s;
    for (int k = 0; k < 3; k++) {
        drive += in_series(line_s[k], lane->line_ohm) * emf[k];
        sum += in_series(line_s[k], lane->line_ohm);
    }
    const double complex neutral_v = drive / sum;
    const double complex end_v = (emf[0] - neutral_v) / (1 + lane->line_ohm * line_s[0]);
    const double complex own_a = end_v * service_s;
    struct lane_answer answer = {
        .board_v = end_v - 2 * lane->service_ohm * own_a,
        .chassis_v = cabs(neutral_v + lane->service_ohm * own_a),
        .joint_a = cabs(neutral_v * pen_s),
    };
    answer.point_v = answer.board_v / (1 + 2 * lane->point_ohm * vehicle_s);
    return answer;
}
