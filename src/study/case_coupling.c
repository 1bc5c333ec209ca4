/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/case_coupling.h"

#include <math.h>
#include <stdlib.h>

#include "earthing/mutual.h"

enum pd_status pd_case_couple(struct pd_case *c, struct pd_errors *errors)
{
    const size_t count = c->electrodes.count;
    size_t placed = 0;
    for (size_t i = 0; i < count; i++) {
        const struct pd_electrode *const e = &c->electrodes.electrode[i];
        placed += isfinite(e->x_m) && isfinite(e->y_m) && isfinite(e->resistance_ohm);
    }
    if (placed < 2)
        return PD_OK;
    gsl_matrix *matrix;
    const enum pd_status status = pd_electrodes_resistance_matrix(&c->electrodes, NULL, &matrix);
    if (status == PD_ERR_ARGUMENT)
        return pd_errors_add(errors, PD_ERR_INPUT, "electrodes.csv", 0, "x_m",
                             "electrodes lie in one another, or are too many: move them apart, or "
                             "leave x_m and y_m empty");
    if (status < PD_OK)
        return status;
    c->mutual_ohm = calloc(count * count, sizeof *c->mutual_ohm);
    bool known = true;
    for (size_t i = 0; i < count && c->mutual_ohm != NULL; i++)
        for (size_t j = 0; j < count; j++) {
            const double ohm = i == j ? 0 : gsl_matrix_get(matrix, i, j);
            known = known && isfinite(ohm);
            c->mutual_ohm[i * count + j] = isfinite(ohm) ? ohm : 0;
        }
    gsl_matrix_free(matrix);
    if (c->mutual_ohm == NULL)
        return PD_ERR_MEMORY;
    return known ? PD_OK
                 : pd_notes_add(&c->missing,
                                "How the electrodes lift each other's ground is not known: give "
                                "soil_ohm_m beside their resistance, or a place farther off.");
}
