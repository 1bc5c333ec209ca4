/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "solve/millman.h"
#include "study/explain_sections.h"

/* The own loads that are impedances: what the others take hangs on more than a product. */
static struct pd_star linear_star(const struct pd_explaining *x)
{
    const struct pd_network *const n = x->a->study_case->network;
    struct pd_star star = {0};
    double *const load_a = calloc(n->load_count + 1, sizeof *load_a);
    x->e->working.failed |= load_a == NULL;
    if (load_a == NULL)
        return star;
    for (size_t i = 0; i < n->load_count; i++)
        load_a[i] = n->load[i].behaviour->linear ? x->decides_a[i] : 0;
    star = pd_star_of(n, x->a->study_case->installation, load_a, x->decides->supply_v);
    free(load_a);
    return star;
}

/* Their current on the line that has most of them, at the voltage that is left. */
static void write_line_current(struct pd_explaining *x)
{
    struct pd_working *const w = &x->e->working;
    const struct pd_star star = linear_star(x);
    int most = PD_L1;
    for (int line = PD_L1; line < PD_LINES; line++)
        if (cabs(star.y_s[line]) > cabs(star.y_s[most]))
            most = line;
    const double volts = x->decides->line_neutral_v[most], admittance_s = cabs(star.y_s[most]);
    if (!isfinite(volts) || !(admittance_s > 0))
        return;
    char what[160];
    snprintf(what, sizeof what,
             "Line current on L%d in the break that decides, of this installation's loads that are "
             "impedances",
             most + 1);
    pd_working_step(w, what, "I = U_LN x |Y|", volts * admittance_s, 4, "A");
    pd_working_sum(w, "%.6g x %.6g", volts, admittance_s);
}

static void write_earth_current(struct pd_explaining *x)
{
    struct pd_working *const w = &x->e->working;
    const struct pd_case *const c = x->a->study_case;
    const double own_ohm = pd_case_electrode(c, c->installation);
    if (!isfinite(own_ohm)) {
        pd_working_say(w, "The installation has no electrode on that terminal: nothing flows to "
                          "earth at all, until somebody touches.");
        return;
    }
    pd_working_step(w, "Current to earth through its electrodes in the break that decides",
                    "I_E = U_met / R_E", x->decides->met_v / own_ohm, 4, "A");
    pd_working_sum(w, "%.6g / %.6g", x->decides->met_v, own_ohm);
    pd_working_step(w, "and with a line touching the metalwork, at the most", "I = U / R_E",
                    x->top_v / own_ohm, 4, "A");
    pd_working_sum(w, "%.6g / %.6g", x->top_v, own_ohm);
}

static void write_rcd(struct pd_explaining *x)
{
    struct pd_working *const w = &x->e->working;
    const struct pd_shock *const shock = &x->a->person.shock[PD_SHOCK_LARGEST];
    if (x->a->study_case->earthing == PD_TT) {
        pd_working_say(w, "No RCD acts on it either: the house's drifting metalwork is beside the "
                          "charging point's RCD, not behind it. Its RCD does act on a fault from a "
                          "line to the TT chassis, which is route 6.");
        return;
    }
    pd_working_say(
        w, "No RCD acts either. An RCD compares what goes out on the line with what comes "
           "back on the neutral, and both are whole where it stands: all that leaves on the "
           "line comes back on the neutral, on its way to the main earthing terminal. What "
           "then flows to earth leaves that terminal, upstream of every RCD. The residual "
           "current is 0 A.");
    if (isfinite(shock->current.body_a))
        pd_working_say(w,
                       "Nor does it when somebody touches the vehicle: the %.0f mA that %.1f V "
                       "drive through a person come by the protective conductor, which does not "
                       "pass the RCD's comparison. A residual current device of any rating sees 0.",
                       1000 * shock->current.body_a, shock->touch.prospective_v);
}

void pd_explain_fuse(struct pd_explaining *x)
{
    struct pd_working *const w = &x->e->working;
    if (x->decides == NULL || x->decides_a == NULL)
        return;
    pd_working_begin(w, "Why no fuse and no RCD acts");
    pd_working_say(w, "A fuse acts on current, and an open conductor makes less of it, not more. A "
                      "service fuse is of 60 A to 100 A (common practice, no source: read the "
                      "carrier), and needs about 1.6 times its rating to act within hours (BS HD "
                      "60269-2, from memory). Against that:");
    write_line_current(x);
    write_earth_current(x);
    write_rcd(x);
}

/* The resistance that would do, from the sum of the installation alone. */
static void write_electrode(struct pd_explaining *x)
{
    struct pd_working *const w = &x->e->working;
    const double limit_v = x->a->study_case->limits.touch_v;
    const double drive_a = cabs(x->alone.drive_a), b_s = cimag(x->alone.y_s);
    const double total_s = drive_a / limit_v;
    if (!isfinite(x->alone.volts) || !(limit_v > 0) || !(total_s > cabs(x->alone.y_s)))
        return;
    const double earth_s = sqrt(total_s * total_s - b_s * b_s) - creal(x->alone.y_s);
    pd_working_step(w, "What must tie the installation's neutral in all, to keep to the limit",
                    "Y = A / limit", total_s, 8, "S");
    pd_working_sum(w, "%.10g / %.6g", drive_a, limit_v);
    pd_working_step(w, "of which to earth", "G_E = sqrt(Y^2 - B^2) - G", earth_s, 6, "S");
    pd_working_sum(w, "sqrt((%.8g)^2 - (%.8g)^2) - %.8g", total_s,
                   fabs(b_s) > 1e-9 * total_s ? b_s : 0.0, creal(x->alone.y_s));
    pd_working_step(w, "and so an electrode of at most, in these loads", "R = 1 / G_E", 1 / earth_s,
                    4, "ohm");
    pd_working_sum(w, "1 / %.6g", earth_s);
    pd_working_say(w, "The rule's own figure is the strictest over all load states and, for a "
                      "single-phase installation, over the published form of its annex too; it is "
                      "rounded down.");
}

static void write_margin(struct pd_working *w, const struct pd_route *route)
{
    if (!isfinite(route->value) || !isfinite(route->limit) || !isfinite(route->margin))
        return;
    const bool below = fabs(route->margin - (route->limit - route->value)) <=
                       1e-9 * (fabs(route->limit) + fabs(route->value));
    pd_working_step(w, "Margin, above 0 to the good", below ? "limit - value" : "value - limit",
                    route->margin, 4, route->unit != NULL ? route->unit : "");
    if (below)
        pd_working_sum(w, "%.8g - %.8g", route->limit, route->value);
    else
        pd_working_sum(w, "%.8g - %.8g", route->value, route->limit);
}

static void write_devices(struct pd_explaining *x)
{
    struct pd_working *const w = &x->e->working;
    const struct pd_case *const c = x->a->study_case;
    static const char *const sights[] = {[PD_BLIND] = "does not see it",
                                         [PD_SEES] = "sees it",
                                         [PD_SIGHT_UNKNOWN] = "not determined whether it sees it"};
    for (size_t i = 0; i < c->detectors.count && x->decides != NULL; i++) {
        const struct pd_detector *const d = &c->detectors.detector[i];
        const struct pd_sight *const sight = &x->decides->sight[i];
        if (!isfinite(sight->figure)) {
            pd_working_say(w,
                           "In the break that decides device '%.60s' has nothing that it could "
                           "sense: %s.",
                           d->name, sights[sight->kind]);
            continue;
        }
        pd_working_say(w,
                       "In the break that decides device '%.60s' (%s) has %.4g %s before it, and "
                       "%s.",
                       d->name, pd_sense_names[d->senses], sight->figure, pd_sense_unit(d->senses),
                       sights[sight->kind]);
    }
}

void pd_explain_routes(struct pd_explaining *x)
{
    struct pd_working *const w = &x->e->working;
    const struct pd_limits *const limits = &x->a->study_case->limits;
    pd_working_begin(w, "What each route does about it");
    for (size_t i = 0; i < PD_ROUTES; i++) {
        const struct pd_route *const route = &x->a->route[i];
        if ((limits->routes & 1u << route->kind) == 0)
            continue;
        pd_working_say(w, "Route %d, %s: %s. %s", (int)route->kind, pd_route_names[route->kind],
                       pd_result_names[route->result], route->why);
        write_margin(w, route);
        if (route->kind == PD_ROUTE_ELECTRODE && route->result != PD_NOT_APPLICABLE)
            write_electrode(x);
    }
    write_devices(x);
}

void pd_explain_rest(struct pd_explaining *x)
{
    struct pd_working *const w = &x->e->working;
    const struct pd_after *const after = &x->a->after_unseen;
    pd_working_begin(w, "What remains");
    pd_working_say(w, "Verdict on the arrangement as described: %s.",
                   pd_overall_names[x->a->overall]);
    for (size_t i = 0; i < x->a->because.count; i++)
        pd_working_say(w, "%s", x->a->because.text[i]);
    if (after->scenario != PD_NONE && isfinite(after->rest_v) && after->rest_on_pen)
        pd_working_say(w,
                       "Once the devices have done what they do, the rest of the installation's "
                       "metalwork, taps and boilers and sockets' earths, is at %.1f V to earth.",
                       after->rest_v);
    pd_working_say(w, "%s", pd_person_warning);
}
