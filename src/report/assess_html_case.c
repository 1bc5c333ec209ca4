/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>

#include "report/assess_html.h"

/* More loads than these are left to the JSON; those of the installation are always shown. */
enum { LOADS_SHOWN = 40 };

/* Null in the JSON both where there is none and where its resistance is not known. */
static const char *no_electrode(const struct pd_case *c)
{
    const size_t node = c->earthing == PD_TT ? c->charging_point : c->installation;
    const bool known = c->network != NULL && node != PD_NONE;
    return known && !isnan(pd_case_electrode(c, node)) ? "none" : "not known";
}

static void write_arrangement(struct pd_mirror *m, const struct pd_case *c)
{
    const struct pd_mirror_row rows[] = {
        {"earthing of the charging point", "arrangement.earthing", "not determined"},
        {"system", "arrangement.system", "not determined"},
        {"nominal voltage, line to neutral", "arrangement.nominal_v", NULL},
        {"supply voltage at the source", "arrangement.supply_v", NULL},
        {"installation under study", "arrangement.installation", "not determined"},
        {"charging point", "arrangement.charging_point", "not determined"},
        {"load management, in each line", "arrangement.demand_limit_a", "none"},
        {"earth electrode, dry season", "arrangement.electrode_ohm", no_electrode(c)},
        {"sections with a PEN, each opened in turn", "counts.sections_opened", NULL},
    };
    pd_mirror_properties(m, "Arrangement", rows, sizeof rows / sizeof rows[0]);
}

static void write_limits(struct pd_mirror *m)
{
    static const struct pd_mirror_row rows[] = {
        {"set", "limits.set", "none is chosen"},
        {"touch voltage, at most", "limits.touch_v", "not determined"},
        {"line to neutral, at least", "limits.band_low_v", NULL},
        {"line to neutral, at most", "limits.band_high_v", NULL},
        {"disconnection within", "limits.time_s", NULL},
        {"supply voltage tried, lowest", "limits.supply_low_v", NULL},
        {"supply voltage tried, highest", "limits.supply_high_v", NULL},
        {"how sure the figures are", "limits.status", "not known"},
        {"source", "limits.source", "not known"},
        {"last compared with what was seen of it", "limits.checked", NULL},
    };
    pd_mirror_properties(m, "Limits that it is held against", rows, sizeof rows / sizeof rows[0]);
    pd_html_paragraph(&m->html, "note",
                      "Hold the current standard and the local rules against these figures.");
}

/* The installation's own, then others in the order of their table. */
static size_t choose_loads(const struct pd_mirror *m, size_t *item, size_t count)
{
    size_t chosen = 0;
    for (int own = 1; own >= 0; own--)
        for (size_t i = 0; i < count; i++) {
            const struct pd_mirror_path path =
                pd_mirror_path("declared.loads[%zu].installation", i);
            if (pd_mirror_true(m, path.text) == (own == 1) && (own == 1 || chosen < LOADS_SHOWN))
                item[chosen++] = i;
        }
    return chosen;
}

static void write_loads(struct pd_mirror *m)
{
    static const struct pd_mirror_column columns[] = {
        {"load", "load", NULL, NULL},
        {"node", "node", NULL, NULL},
        {"lines", "phase", NULL, NULL},
        {"behaviour", "behaviour", NULL, NULL},
        {">power factor", "power_factor", NULL, NULL},
        {">present A", "present_a", NULL, NULL},
        {">low A", "low_a", NULL, NULL},
        {">high A", "high_a", NULL, NULL},
        {"of the installation", "installation", NULL, NULL},
    };
    const size_t count = pd_mirror_length(m, "declared.loads");
    size_t *const item = calloc(count + 1, sizeof *item);
    if (item == NULL) {
        m->failed = true;
        return;
    }
    const struct pd_mirror_items items = {"declared.loads", item, choose_loads(m, item, count)};
    pd_mirror_table(m, "Loads: current at nominal voltage, at present and the ends of their range",
                    &items, columns, sizeof columns / sizeof columns[0]);
    if (items.count < count)
        pd_html_paragraph(&m->html, "note",
                          "Further loads of neighbours are left out here; loads.csv and the JSON, "
                          "under declared, have all of them.");
    free(item);
}

static void write_electrodes(struct pd_mirror *m)
{
    static const struct pd_mirror_column columns[] = {
        {"electrode", "electrode", NULL, NULL},
        {"node", "node", NULL, NULL},
        {">ohm", "resistance_ohm", "not known", NULL},
        {"calculated from shape and soil", "calculated", NULL, NULL},
        {"shape", "shape", NULL, NULL},
        {">soil ohm m", "soil_ohm_m", NULL, NULL},
        {">season factor", "season_factor", NULL, NULL},
        {"season declared", "season_declared", NULL, NULL},
        {">dry season ohm", "dry_ohm", "not known", NULL},
        {">x m", "x_m", NULL, NULL},
        {">y m", "y_m", NULL, NULL},
    };
    const struct pd_mirror_items items = {"declared.electrodes", NULL,
                                          pd_mirror_length(m, "declared.electrodes")};
    if (items.count == 0)
        pd_html_paragraph(&m->html, NULL, "No earth electrode is declared.");
    pd_mirror_table(m, "Earth electrodes", &items, columns, sizeof columns / sizeof columns[0]);
}

static void write_devices(struct pd_mirror *m)
{
    static const struct pd_mirror_column columns[] = {
        {"device", "detector", NULL, NULL},
        {"node", "node", NULL, NULL},
        {"senses", "senses", NULL, NULL},
        {">low V", "low_v", NULL, NULL},
        {">high V", "high_v", NULL, NULL},
        {">limit V", "limit_v", NULL, NULL},
        {">limit A", "limit_a", NULL, NULL},
        {">tolerance V", "tolerance_v", NULL, NULL},
        {">tolerance A", "tolerance_a", NULL, "limit_a"},
        {">reference ohm", "reference_ohm", NULL, NULL},
        {">input ohm", "input_ohm", NULL, NULL},
        {">coupling", "coupling", NULL, NULL},
        {">delay s", "delay_s", "not declared", NULL},
        {"disconnects", "disconnects", "not declared", NULL},
        {"closes again", "reset", "not declared", NULL},
        {">after s", "reset_s", NULL, NULL},
    };
    const struct pd_mirror_items items = {"arrangement.devices", NULL,
                                          pd_mirror_length(m, "arrangement.devices")};
    if (items.count == 0)
        pd_html_paragraph(&m->html, NULL, "No detection device is declared.");
    pd_mirror_table(m, "Detection devices, as declared", &items, columns,
                    sizeof columns / sizeof columns[0]);
}

void pd_assess_html_case(struct pd_mirror *m, const struct pd_case *c)
{
    pd_html_section(&m->html, "given", "The case as given");
    write_arrangement(m, c);
    write_limits(m);
    write_loads(m);
    write_electrodes(m);
    write_devices(m);
    pd_html_section_end(&m->html);
}
