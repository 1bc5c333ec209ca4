/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/report.h"

void pd_report_errors(FILE *out, const struct pd_errors *errors)
{
    const size_t kept = errors->count < PD_ERRORS_KEPT ? errors->count : PD_ERRORS_KEPT;
    for (size_t i = 0; i < kept; i++) {
        char line[sizeof(struct pd_error)];
        pd_error_format(&errors->kept[i], line, sizeof line);
        fprintf(out, "%s\n", line);
    }
    if (errors->count > kept)
        fprintf(out, "and %zu more\n", errors->count - kept);
}
