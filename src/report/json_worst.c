/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "report/json_parts.h"
#include "report/making.h"
#include "report/plain.h"
#include "report/worst.h"

static json_t *text(const char *value)
{
    return value != NULL ? json_string(pd_plain(value).text) : json_null();
}

static json_t *break_object(const struct pd_assessment *a, const struct pd_worst_break *brk)
{
    return json_pack("{s:o, s:s, s:o, s:o, s:o, s:o, s:o, s:o}", "section",
                     text(pd_worst_section(a, brk)), "method", pd_worst_method_names[brk->method],
                     "bound_v", pd_json_number(brk->bound_v), "attained_v",
                     pd_json_number(brk->attained_v), "gap_v",
                     pd_json_number(brk->bound_v - brk->attained_v), "least_bound_v",
                     pd_json_number(brk->least_bound_v), "least_v", pd_json_number(brk->least_v),
                     "unseen_bound_v", pd_json_number(brk->unseen_bound_v));
}

static json_t *breaks_array(const struct pd_assessment *a)
{
    json_t *array = json_array();
    for (size_t i = 0; i < a->certified.count && array != NULL; i++)
        if (json_array_append_new(array, break_object(a, &a->certified.brk[i])) != 0) {
            json_decref(array);
            array = NULL;
        }
    return array;
}

static json_t *loads_array(const struct pd_assessment *a, const struct pd_worst_break *brk)
{
    const struct pd_network *const network = a->study_case->network;
    json_t *array = json_array();
    for (size_t i = 0; i < network->load_count && array != NULL; i++) {
        json_t *const load = json_pack("{s:o, s:o}", "load", text(network->load[i].name),
                                       "current_a", pd_json_number(brk->load_a[i]));
        if (json_array_append_new(array, load) != 0) {
            json_decref(array);
            array = NULL;
        }
    }
    return array;
}

json_t *pd_json_worst(const struct pd_assessment *a)
{
    if (a->certified.count == 0)
        return json_null();
    const struct pd_worst_break *const brk = &a->certified.brk[a->certified.worst];
    return json_pack("{s:b, s:o, s:s, s:o, s:o, s:o, s:o, s:o}", "proved", a->proved, "section",
                     text(pd_worst_section(a, brk)), "method", pd_worst_method_names[brk->method],
                     "bound_v", pd_json_number(brk->bound_v), "attained_v",
                     pd_json_number(brk->attained_v), "gap_v",
                     pd_json_number(brk->bound_v - brk->attained_v), "loads", loads_array(a, brk),
                     "breaks", breaks_array(a));
}

json_t *pd_json_answers(const struct pd_assessment *a)
{
    json_t *array = json_array();
    for (int i = 0; i < PD_ASKS && array != NULL && a->study_case->missing.count == 0; i++) {
        const struct pd_answer_to *const answer = &a->answer[i];
        json_t *const object = json_pack(
            "{s:s, s:s, s:o, s:o, s:o, s:o, s:o}", "asked", pd_ask_names[i], "found",
            pd_found_names[answer->found], "value", pd_json_number(answer->value), "present",
            pd_json_number(answer->present), "bound_v", pd_json_number(answer->bound_v),
            "attained_v", pd_json_number(answer->attained_v), "electrode_a",
            pd_json_number(answer->electrode_a));
        if (json_array_append_new(array, object) != 0) {
            json_decref(array);
            array = NULL;
        }
    }
    return array;
}
