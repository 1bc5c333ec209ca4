/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/explain_sum.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* More loads than these are added up line by line. */
enum { LOADS_SHOWN = 24 };

/* One row of the sum. */
struct term {
    char name[PD_WORKING_CELL_MAX];
    int line;
    double current_a, cos_phi; /* at nominal voltage; cos_phi NaN where loads are added up */
    double complex y_s, emf_v;
};

struct terms {
    struct term *term; /* [room] */
    size_t count, room;
};

static bool counts(const struct pd_sum_of *of, const struct pd_load *load)
{
    const struct pd_case *const c = of->study_case;
    return of->section == PD_NONE
               ? pd_network_same_installation(c->network, c->installation, load->node)
               : pd_network_downstream(c->network, of->section, load->node);
}

/* How many elements tie the neutral. */
static size_t count_elements(const struct pd_sum_of *of)
{
    const struct pd_network *const n = of->study_case->network;
    size_t found = 0;
    for (size_t i = 0; i < n->load_count; i++) {
        struct pd_element element[3];
        const size_t count =
            pd_load_elements(&n->load[i], n->system, n->nominal_v, of->load_a[i], element);
        for (size_t k = 0; k < count; k++)
            found += counts(of, &n->load[i]) && of->load_a[i] > 0 && element[k].to == PD_N &&
                     !element[k].behaviour->generates;
    }
    return found;
}

/* Each element a row, or all of a line in one. */
static void collect(const struct pd_sum_of *of, bool by_line, struct terms *terms)
{
    const struct pd_network *const n = of->study_case->network;
    size_t on_line[PD_LINES] = {0};
    for (int line = PD_L1; line < PD_LINES && by_line; line++)
        terms->term[line] =
            (struct term){.line = line, .emf_v = of->supply_v * n->source.unit_emf[line]};
    terms->count = by_line ? PD_LINES : 0;
    for (size_t i = 0; i < n->load_count; i++) {
        struct pd_element element[3];
        const size_t count =
            pd_load_elements(&n->load[i], n->system, n->nominal_v, of->load_a[i], element);
        for (size_t k = 0; k < count; k++) {
            if (!counts(of, &n->load[i]) || !(of->load_a[i] > 0) || element[k].to != PD_N ||
                element[k].behaviour->generates)
                continue;
            const int line = element[k].from;
            struct term *const term = by_line ? &terms->term[line] : &terms->term[terms->count++];
            if (!by_line) {
                *term =
                    (struct term){.line = line, .emf_v = of->supply_v * n->source.unit_emf[line]};
                snprintf(term->name, sizeof term->name, "%.24s", n->load[i].name);
            }
            term->y_s += pd_element_admittance(&element[k]);
            term->current_a += of->load_a[i];
            term->cos_phi = by_line ? (double)NAN : creal(element[k].point.turn);

            on_line[line]++;
        }
    }
    for (int line = PD_L1; line < PD_LINES && by_line; line++)
        snprintf(terms->term[line].name, sizeof terms->term[line].name, "%zu loads", on_line[line]);
}

static const char *const load_titles[] = {"load", "line", "I A", "cos phi", "G S", "B S"};
static const char *const drive_titles[] = {"load", "line", "E' V", "E'' V", "Re YE A", "Im YE A"};

struct figure {
    double value, scale;
};

static void write_row(struct pd_working *w, const struct term *term, const struct figure figure[4])
{
    static const char *const lines[] = {"L1", "L2", "L3"};
    struct pd_working_row *const row = pd_working_row(w);
    if (row == NULL)
        return;
    memcpy(row->cell[0], term->name, sizeof row->cell[0]);
    snprintf(row->cell[1], sizeof row->cell[1], "%s", lines[term->line]);
    for (size_t i = 0; i < 4; i++)
        snprintf(row->cell[2 + i], sizeof row->cell[2 + i], "%s",
                 isnan(figure[i].value) ? "-" : pd_digits(figure[i].value, figure[i].scale).text);
}

static void write_tables(struct pd_working *w, const struct terms *terms, double nominal_v,
                         double supply_v)
{
    enum { COLUMNS = sizeof load_titles / sizeof load_titles[0] };
    pd_working_table(w, load_titles, COLUMNS);
    for (size_t i = 0; i < terms->count; i++) {
        const struct term *const t = &terms->term[i];
        const double scale_s = cabs(t->y_s);
        const struct figure figure[] = {{t->current_a, t->current_a},
                                        {t->cos_phi, 1},
                                        {creal(t->y_s), scale_s},
                                        {cimag(t->y_s), scale_s}};
        write_row(w, t, figure);
    }
    pd_working_say(w,
                   "G + jB is a load's admittance, its current at nominal voltage over that "
                   "voltage: G = I cos(phi) / U0, B = -I sin(phi) / U0, with U0 = %g V.",
                   nominal_v);
    pd_working_table(w, drive_titles, COLUMNS);
    for (size_t i = 0; i < terms->count; i++) {
        const struct term *const t = &terms->term[i];
        const double complex drive_a = t->y_s * t->emf_v;
        const struct figure figure[] = {{creal(t->emf_v), supply_v},
                                        {cimag(t->emf_v), supply_v},
                                        {creal(drive_a), cabs(drive_a)},
                                        {cimag(drive_a), cabs(drive_a)}};
        write_row(w, t, figure);
    }
    pd_working_say(w, "E' + jE'' is the EMF of its line; Re YE = G E' - B E'', Im YE = G E'' + B "
                      "E'.");
}

enum which { OF_G, OF_B, OF_RE, OF_IM };

static double figure_of(const struct term *term, enum which which)
{
    const double complex drive_a = term->y_s * term->emf_v;
    switch (which) {
    case OF_G:
        return creal(term->y_s);
    case OF_B:
        return cimag(term->y_s);
    case OF_RE:
        return creal(drive_a);
    case OF_IM:
        return cimag(drive_a);
    }
    return NAN;
}

/* A column of the table added up, "a + b - c". */
static void add_up(struct pd_working *w, const struct terms *terms, enum which which)
{
    for (size_t i = 0; i < terms->count; i++) {
        const struct term *const term = &terms->term[i];
        const double scale =
            which == OF_G || which == OF_B ? cabs(term->y_s) : cabs(term->y_s * term->emf_v);
        const struct pd_digits digits = pd_digits(figure_of(term, which), scale);
        const bool minus = digits.text[0] == '-';
        pd_working_sum(w, "%s%s",
                       i == 0  ? ""
                       : minus ? " - "
                               : " + ",
                       i > 0 && minus ? digits.text + 1 : digits.text);
    }
}

/* Whether an electrode is on the PEN beyond the break; of the installation alone, its own (as
 * pd_case_electrode has them). */
static bool is_beyond(const struct pd_sum_of *of, const struct pd_earth_tie *tie)
{
    const struct pd_case *const c = of->study_case;
    const struct pd_node *const node = c->network->node;
    const size_t pe = node[tie->node].pe_node;
    if (pe == PD_NONE || !isfinite(tie->resistance_ohm))
        return false;
    if (of->section == PD_NONE)
        return pd_case_own(c, tie->node) && pe == node[c->installation].pe_node;
    return pd_network_downstream(c->network, of->section, pe);
}

static double write_earth(struct pd_working *w, const struct pd_sum_of *of)
{
    const struct pd_case *const c = of->study_case;
    double earth_s = 0;
    for (size_t i = 0; i < c->electrodes.count; i++)
        earth_s += is_beyond(of, &c->tie[i]) ? 1 / c->tie[i].resistance_ohm : 0;
    if (earth_s == 0)
        return 0;
    pd_working_step(w, "Conductance to earth of the electrodes beyond the break, dry season",
                    "G_E = sum of 1 / R", earth_s, 6, "S");
    for (size_t i = 0, written = 0; i < c->electrodes.count; i++)
        if (is_beyond(of, &c->tie[i]))
            pd_working_sum(w, "%s1 / %.6g", written++ == 0 ? "" : " + ", c->tie[i].resistance_ohm);
    return earth_s;
}

/* The last three steps: the sum's size, what ties the neutral, and one over the other. */
static void conclude(struct pd_working *w, const struct pd_sum *sum, bool reactive, bool turned)
{
    const double drive_a = cabs(sum->drive_a), tied_s = cabs(sum->y_s + sum->earth_s);
    const double g_s = creal(sum->y_s), b_s = cimag(sum->y_s);
    if (turned) {
        pd_working_step(w, "The size of the driving sum", "A = sqrt(Re^2 + Im^2)", drive_a, 6, "A");
        pd_working_sum(w, "sqrt((%s)^2 + (%s)^2)", pd_digits(creal(sum->drive_a), drive_a).text,
                       pd_digits(cimag(sum->drive_a), drive_a).text);
    }
    pd_working_step(w, "All that ties the drifting neutral",
                    reactive ? "Y = sqrt((G + G_E)^2 + B^2)" : "Y = G + G_E", tied_s, 6, "S");
    if (reactive)
        pd_working_sum(w, "sqrt((%.6g + %.6g)^2 + (%.6g)^2)", g_s, sum->earth_s, b_s);
    else
        pd_working_sum(w, "%.6g + %.6g", g_s, sum->earth_s);
    pd_working_step(w, "The neutral, and all metalwork bonded to it, to earth", "U_N = A / Y",
                    sum->volts, 4, "V");
    pd_working_sum(w, "%.6g / %.6g", drive_a, tied_s);
}

static void write_steps(struct pd_working *w, const struct terms *terms, struct pd_sum *sum)
{
    const double drive_a = cabs(sum->drive_a);
    const bool reactive = fabs(cimag(sum->y_s)) > 1e-9 * cabs(sum->y_s);
    bool turned = creal(sum->drive_a) < 0;
    for (size_t i = 0; i < terms->count; i++)
        turned |= fabs(figure_of(&terms->term[i], OF_IM)) > 1e-9 * drive_a;
    pd_working_step(w, "Conductance of the loads", "G = sum of G", creal(sum->y_s), 6, "S");
    add_up(w, terms, OF_G);
    if (reactive) {
        pd_working_step(w, "Their susceptance", "B = sum of B", cimag(sum->y_s), 6, "S");
        add_up(w, terms, OF_B);
    }
    pd_working_step(w, turned ? "What drives the neutral, along L1" : "What drives the neutral",
                    turned ? "Re = sum of Re YE" : "A = sum of YE", creal(sum->drive_a), 6, "A");
    add_up(w, terms, OF_RE);
    if (turned) {
        pd_working_step(w, "and across it", "Im = sum of Im YE", cimag(sum->drive_a), 6, "A");
        add_up(w, terms, OF_IM);
    }
    conclude(w, sum, reactive, turned);
}

static void take_out_empty(struct terms *terms)
{
    size_t kept = 0;
    for (size_t i = 0; i < terms->count; i++)
        if (terms->term[i].y_s != 0)
            terms->term[kept++] = terms->term[i];
    terms->count = kept;
}

struct pd_sum pd_explain_sum(struct pd_working *w, const struct pd_sum_of *of)
{
    struct term room[LOADS_SHOWN];
    struct terms terms = {.term = room, .room = LOADS_SHOWN};
    struct pd_sum sum = {.volts = NAN};
    collect(of, count_elements(of) > LOADS_SHOWN, &terms);
    take_out_empty(&terms);
    for (size_t i = 0; i < terms.count; i++) {
        sum.y_s += terms.term[i].y_s;
        sum.drive_a += terms.term[i].y_s * terms.term[i].emf_v;
    }
    sum.rows = terms.count;
    /* Loads in balance leave what is rounding. */
    double all_a = 0;
    for (size_t i = 0; i < terms.count; i++)
        all_a += cabs(terms.term[i].y_s * terms.term[i].emf_v);
    if (cabs(sum.drive_a) < 1e-9 * all_a)
        sum.drive_a = 0;
    if (terms.count == 0)
        return sum;
    write_tables(w, &terms, of->study_case->network->nominal_v, of->supply_v);
    sum.earth_s = write_earth(w, of);
    sum.volts = cabs(sum.drive_a) / cabs(sum.y_s + sum.earth_s);
    write_steps(w, &terms, &sum);
    return sum;
}
