/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <string.h>

#include "report/assess_html.h"

/* What is left of one scenario; its properties are told one by one. */
static void write_after(struct pd_mirror *m, const char *kind, const char *caption)
{
    static const struct {
        const char *heading, *key, *absent;
        bool of_device; /* says nothing where none acts */
    } rows[] = {
        {"broken section", "section", "none", false},
        {"touch voltage before", "touch_v", "not determined", false},
        {"first device to act", "detector", "none acts", false},
        {"it acts after", "time_s", NULL, true},
        {"it disconnects", "disconnects", NULL, true},
        {"of the whole installation", "whole_installation", NULL, true},
        {"its load is taken off for what follows", "loads_off", NULL, true},
        {"chassis has let go of the PEN", "chassis_let_go", NULL, true},
        {"chassis to earth after", "chassis_v", "not determined", false},
        {"other metalwork still on the drifting PEN", "rest_on_pen", NULL, false},
        {"other metalwork to earth", "rest_v", "not determined", false},
        {"the device closes again by itself", "closes_again", NULL, true},
        {"what it senses holds it open", "held_open", NULL, true},
    };
    enum { ROWS = sizeof rows / sizeof rows[0] };
    struct pd_mirror_path path[ROWS];
    struct pd_mirror_row row[ROWS];
    if (pd_mirror_at(m, pd_mirror_path("after.%s", kind).text) == NULL)
        return;
    const bool acts = pd_mirror_at(m, pd_mirror_path("after.%s.detector", kind).text) != NULL;
    size_t count = 0;
    for (size_t i = 0; i < ROWS; i++) {
        if (rows[i].of_device && !acts)
            continue;
        path[count] = pd_mirror_path("after.%s.%s", kind, rows[i].key);
        row[count] = (struct pd_mirror_row){rows[i].heading, path[count].text, rows[i].absent};
        count++;
    }
    pd_mirror_properties(m, caption, row, count);
}

static void write_afters(struct pd_mirror *m)
{
    pd_html_section(&m->html, "after", "What is left once a device has acted");
    if (pd_mirror_length(m, "arrangement.devices") == 0)
        pd_html_paragraph(&m->html, NULL, "No device is declared: everything stays as it is.");
    else if (pd_mirror_at(m, "after.disconnected") == NULL &&
             pd_mirror_at(m, "after.not_disconnected") == NULL)
        pd_html_paragraph(&m->html, NULL, "No scenario is over the limit.");
    if (pd_mirror_length(m, "arrangement.devices") > 0) {
        write_after(m, "disconnected", "The largest touch voltage that is disconnected in time");
        write_after(m, "not_disconnected", "The largest that nothing disconnects in time");
    }
    pd_html_section_end(&m->html);
}

/* The same shape elsewhere, once: it shows how much the ground matters. */
static void write_other_ground(struct pd_mirror *m)
{
    static const struct pd_mirror_column columns[] = {
        {"ground", "soil", NULL, NULL},
        {">lowest ohm", "low_ohm", NULL, NULL},
        {">highest ohm", "high_ohm", NULL, NULL},
    };
    for (size_t i = 0; i < pd_mirror_length(m, "electrodes"); i++) {
        const struct pd_mirror_path path = pd_mirror_path("electrodes[%zu].in_other_ground", i);
        const struct pd_mirror_items items = {path.text, NULL, pd_mirror_length(m, path.text)};
        if (items.count == 0)
            continue;
        pd_mirror_table(m, "The same shape in other ground, same season (published ranges)", &items,
                        columns, sizeof columns / sizeof columns[0]);
        return;
    }
}

static void write_earth(struct pd_mirror *m)
{
    static const struct pd_mirror_column columns[] = {
        {"electrode", "electrode", NULL, NULL},
        {">now ohm", "resistance_ohm", "not known", NULL},
        {"calculated", "calculated", NULL, NULL},
        {">season factor", "season_factor", "not declared", NULL},
        {">dry season ohm", "dry_ohm", "not known", NULL},
        {">as bad as one measured through a year ohm", "year_ohm", NULL, NULL},
        {">the rule asks in the dry season, at most ohm", "most_ohm", NULL, NULL},
        {">that is a reading now of at most ohm", "most_now_ohm", NULL, NULL},
        {">its ground ohm m", "soil_ohm_m", "not known", NULL},
    };
    const struct pd_mirror_items items = {"electrodes", NULL, pd_mirror_length(m, "electrodes")};
    if (items.count == 0)
        return;
    pd_html_section(&m->html, "earth",
                    "The installation's electrodes, their ground and the season");
    pd_mirror_table(m, "What was read or calculated, and what the season makes of it", &items,
                    columns, sizeof columns / sizeof columns[0]);
    write_other_ground(m);
    pd_html_section_end(&m->html);
}

static void write_tt(struct pd_mirror *m)
{
    static const struct pd_mirror_row rows[] = {
        {"a line to the chassis: at most on it until the RCD acts", "tt.earth_fault_v",
         "not determined"},
        {"at least flows then", "tt.earth_fault_a", "not determined"},
        {"rating of the RCD", "tt.rcd_a", "not determined"},
        {"it trips for sure", "tt.rcd_trips", "not determined"},
        {"nearest PME metalwork", "tt.reach_m", "not declared"},
        {"at least asked for (common practice, from memory)", "tt.reach_min_m", NULL},
    };
    static const struct pd_mirror_column columns[] = {
        {"worst of each fault", "fault", NULL, NULL},
        {">chassis V", "touch_v", "not determined", NULL},
        {">PME metalwork V", "met_v", "not determined", NULL},
        {">between them V", "reach_v", "not determined", NULL},
        {"in section", "section", NULL, NULL},
    };
    if (pd_mirror_at(m, "tt") == NULL)
        return;
    const struct pd_mirror_items items = {"tt.faults", NULL, pd_mirror_length(m, "tt.faults")};
    pd_html_section(&m->html, "tt", "The charging point on its own electrode (TT)");
    pd_mirror_properties(m, "Its own earth fault, supply healthy", rows,
                         sizeof rows / sizeof rows[0]);
    pd_mirror_table(m, "What each fault does to it and to the metalwork beside it", &items, columns,
                    sizeof columns / sizeof columns[0]);
    pd_html_section_end(&m->html);
}

/* Whether an earlier one is the same scenario and figure under another name. */
static bool is_told(const struct pd_mirror *m, size_t shock)
{
    static const char *const keys[] = {"section", "path", "loads"};
    for (size_t i = 0; i < shock; i++) {
        bool same =
            pd_mirror_number(m, pd_mirror_path("person.shocks[%zu].prospective_v", i).text) ==
            pd_mirror_number(m, pd_mirror_path("person.shocks[%zu].prospective_v", shock).text);
        for (size_t k = 0; k < sizeof keys / sizeof keys[0] && same; k++) {
            const char *const a =
                pd_mirror_string(m, pd_mirror_path("person.shocks[%zu].%s", i, keys[k]).text);
            const char *const b =
                pd_mirror_string(m, pd_mirror_path("person.shocks[%zu].%s", shock, keys[k]).text);
            same = a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
        }
        if (same)
            return true;
    }
    return false;
}

static void write_shocks(struct pd_mirror *m)
{
    static const struct pd_mirror_column columns[] = {
        {"scenario", "what", NULL, NULL},
        {"PEN open in", "section", NULL, NULL},
        {"path", "path", NULL, NULL},
        {">V", "prospective_v", "not determined", NULL},
        {">through the body V", "body_v", "not determined", NULL},
        {">body ohm", "body_ohm", "not determined", NULL},
        {">body mA", "body_a", "not determined", NULL},
        {"overstated, below the table", "overstated", NULL, NULL},
    };
    static const struct pd_mirror_column zones[] = {
        {"until", "until", NULL, NULL},
        {">time s", "time_s", NULL, NULL},
        {"zone, at least", "zone_least", "not determined", NULL},
        {"at worst", "zone_most", "not determined", NULL},
        {"effect at worst", "effect", "not determined", NULL},
    };
    size_t item[PD_SHOCKS], count = 0;
    for (size_t i = 0; i < pd_mirror_length(m, "person.shocks") && count < PD_SHOCKS; i++)
        if (!is_told(m, i))
            item[count++] = i;
    const struct pd_mirror_items items = {"person.shocks", item, count};
    pd_mirror_table(m, "Current through a person", &items, columns,
                    sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < count; i++) {
        const struct pd_mirror_path path = pd_mirror_path("person.shocks[%zu].zones", item[i]);
        const struct pd_mirror_items moments = {path.text, NULL, pd_mirror_length(m, path.text)};
        char caption[160];
        snprintf(caption, sizeof caption, "What that does: %.100s",
                 pd_mirror_string(m, pd_mirror_path("person.shocks[%zu].what", item[i]).text));
        pd_mirror_table(m, caption, &moments, zones, sizeof zones / sizeof zones[0]);
    }
}

static void write_person(struct pd_mirror *m)
{
    static const struct pd_mirror_row rows[] = {
        {"skin", "person.body", NULL},
        {"shoes and ground, in series", "person.footing_ohm", NULL},
        {"so many percent of people have less impedance", "person.people_percent", NULL},
        {"scenarios without an answer, not in these figures", "person.not_solved", NULL},
    };
    pd_html_section(&m->html, "person", "What it does to a person (beside the verdict)");
    if (pd_mirror_length(m, "person.shocks") == 0) {
        pd_html_paragraph(&m->html, NULL, "No scenario has been solved to say it of.");
    } else {
        pd_html_paragraph(&m->html, NULL, pd_mirror_string(m, "person.warning"));
        pd_mirror_properties(m, "Who is taken to touch", rows, sizeof rows / sizeof rows[0]);
        write_shocks(m);
    }
    pd_html_section_end(&m->html);
}

static void write_faults(struct pd_mirror *m)
{
    static const struct pd_mirror_column columns[] = {
        {"fault", "fault", NULL, NULL},
        {"what it is", "what", NULL, NULL},
        {">chassis V", "touch_v", NULL, NULL},
        {"in section", "section", NULL, NULL},
        {"disconnected in time", "disconnected_in_time", NULL, NULL},
    };
    size_t item[PD_FAULTS], count = 0;
    for (size_t i = 0; i < pd_mirror_length(m, "faults") && count < PD_FAULTS; i++)
        if (!pd_mirror_true(m, pd_mirror_path("faults[%zu].judged", i).text) &&
            pd_mirror_true(m, pd_mirror_path("faults[%zu].run", i).text))
            item[count++] = i;
    const struct pd_mirror_items items = {"faults", item, count};
    pd_html_section(&m->html, "faults", "Other neutral faults (beside the verdict)");
    if (count == 0)
        pd_html_paragraph(&m->html, NULL, "None was run.");
    pd_mirror_table(m,
                    "The worst of each; where there is no figure, it has no place in this case "
                    "or could not be solved",
                    &items, columns, sizeof columns / sizeof columns[0]);
    pd_html_section_end(&m->html);
}

void pd_assess_html_beside(struct pd_mirror *m)
{
    write_earth(m);
    write_afters(m);
    write_tt(m);
    write_person(m);
    write_faults(m);
}
