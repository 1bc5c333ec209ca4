/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/scan.h"

#include <math.h>
#include <stdlib.h>

#include "study/faults.h"

/* Where a detector's voltages are among the probes. */
struct place {
    size_t first; /* its node's L1; L2, L3 and N follow */
    size_t pe;    /* PD_NONE: on an electrode of its own, at earth */
    unsigned lines;
};

struct pd_scan {
    const struct pd_case *study_case;
    struct pd_fault_list breaks;
    struct pd_batch *batch;
    struct pd_batch_output output;
    struct pd_probe *probe;
    size_t probe_count;
    struct place *detector; /* [detectors.count] */
    size_t pe;              /* the chassis'; PD_NONE: at earth */
};

/* The probe of a node's protective conductor. */
static size_t probe_pe(struct pd_scan *s, size_t node)
{
    const size_t pe_node = s->study_case->network->node[node].pe_node;
    if (pe_node == PD_NONE)
        return PD_NONE;
    s->probe[s->probe_count] = (struct pd_probe){pe_node, PD_N};
    return s->probe_count++;
}

static void place_probes(struct pd_scan *s)
{
    const struct pd_case *const c = s->study_case;
    s->pe = probe_pe(s, c->charging_point);
    for (size_t i = 0; i < c->detectors.count; i++) {
        const size_t node = c->detector_node[i];
        s->detector[i] = (struct place){
            .first = s->probe_count, .lines = c->installation_lines & c->network->node[node].lines};
        for (int k = PD_L1; k < PD_CONDUCTORS; k++)
            s->probe[s->probe_count++] = (struct pd_probe){node, k};
        s->detector[i].pe = probe_pe(s, node);
    }
    /* A batch wants at least one; of a chassis on its own electrode no voltage is needed. */
    if (s->probe_count == 0)
        s->probe[s->probe_count++] = (struct pd_probe){c->charging_point, PD_N};
}

static enum pd_status make_batch(struct pd_scan *s, size_t room, size_t threads)
{
    struct pd_cut *const cut = calloc(s->breaks.count + 1, sizeof *cut);
    if (cut == NULL)
        return PD_ERR_MEMORY;
    for (size_t i = 0; i < s->breaks.count; i++)
        cut[i] = s->breaks.fault[i].cut;
    const struct pd_batch_settings settings = {
        .network = s->study_case->network,
        .tie = s->study_case->tie,
        .tie_count = s->study_case->electrodes.count,
        .mutual_ohm = s->study_case->mutual_ohm,
        .cut = cut,
        .cut_count = s->breaks.count,
        .probe = s->probe,
        .probe_count = s->probe_count,
        .threads = threads,
    };
    enum pd_status status = pd_batch_new(&settings, &s->batch);
    free(cut);
    return status == PD_OK ? pd_batch_output_new(s->batch, room, &s->output) : status;
}

enum pd_status pd_scan_new(const struct pd_case *c, size_t room, size_t threads,
                           struct pd_scan **out)
{
    struct pd_scan *const s = *out = calloc(1, sizeof *s);
    if (s == NULL)
        return PD_ERR_MEMORY;
    s->study_case = c;
    s->probe = calloc(1 + c->detectors.count * (PD_CONDUCTORS + 1), sizeof *s->probe);
    s->detector = calloc(c->detectors.count + 1, sizeof *s->detector);
    enum pd_status status = s->probe != NULL && s->detector != NULL ? PD_OK : PD_ERR_MEMORY;
    if (status == PD_OK)
        status = pd_fault_row(PD_OPEN_PEN)->list(c, &s->breaks);
    if (status == PD_OK) {
        place_probes(s);
        status = make_batch(s, room, threads);
    }
    if (status != PD_OK)
        pd_scan_free(out);
    return status;
}

void pd_scan_free(struct pd_scan **scan)
{
    struct pd_scan *const s = *scan;
    if (s == NULL)
        return;
    pd_batch_output_free(&s->output);
    pd_batch_free(&s->batch);
    pd_fault_list_free(&s->breaks);
    free(s->probe);
    free(s->detector);
    free(s);
    *scan = NULL;
}

size_t pd_scan_breaks(const struct pd_scan *scan)
{
    return scan->breaks.count;
}

size_t pd_scan_section(const struct pd_scan *scan, size_t which)
{
    return scan->breaks.fault[which].section;
}

size_t pd_scan_column(const struct pd_scan *scan, size_t which)
{
    return pd_batch_column(scan->batch, which);
}

size_t pd_scan_columns(const struct pd_scan *scan)
{
    return pd_batch_columns(scan->batch);
}

enum pd_status pd_scan_solve(struct pd_scan *scan, const struct pd_batch_input *input)
{
    return pd_batch_solve(scan->batch, input, &scan->output, NULL, NULL);
}

static double complex voltage(const struct pd_scan *s, size_t state, size_t which, size_t probe)
{
    return probe == PD_NONE ? 0 : pd_batch_voltage(s->batch, &s->output, state, which, probe);
}

static bool is_disconnected(const struct pd_scan *s, size_t state, size_t which)
{
    const struct pd_case *const c = s->study_case;
    for (size_t i = 0; i < c->detectors.count; i++) {
        const struct place *const at = &s->detector[i];
        struct pd_view view = {.pe_v = voltage(s, state, which, at->pe), .lines = at->lines};
        for (int k = PD_L1; k < PD_CONDUCTORS; k++)
            view.v[k] = voltage(s, state, which, at->first + (size_t)k);
        const struct pd_sight sight = pd_detector_look(&c->detectors.detector[i], &view);
        if (pd_sight_in_time(&sight, c->limits.time_s))
            return true;
    }
    return false;
}

struct pd_glance pd_scan_look(const struct pd_scan *s, size_t state, size_t which)
{
    struct pd_glance glance = {
        .standing = pd_batch_standing(s->batch, &s->output, state, which),
        .touch_v = NAN,
        .touch = PD_UNKNOWN,
    };
    if (glance.standing != PD_SOLVED)
        return glance;
    glance.touch_v = cabs(voltage(s, state, which, s->pe));
    glance.floating = isnan(glance.touch_v);
    glance.touch = pd_judge(glance.touch_v, s->study_case->limits.touch_v);
    if (glance.touch == PD_OVER)
        glance.disconnected = is_disconnected(s, state, which);
    return glance;
}
