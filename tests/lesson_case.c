/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "lesson_case.h"

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* With names that a page must not take for markup. */
static const char facts[] = "quantity,value,unit\n"
                            "title,\"Oddenbury <b> & '</script>' \xc3\xa9\",-\n"
                            "limit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\n"
                            "system,three-phase,-\nsource_r,0.01,ohm\nsource_x,0.02,ohm\n"
                            "source_electrode,5,ohm\ninstallation,board,-\n"
                            "charging_point,point,-\n";
static const char sections[] =
    "section,from,to,line_r_ohm,line_x_ohm,pen_r_ohm,pen_x_ohm,neutral\n"
    "\"m<a>in & </script> '1'\",substation,joint,0.05,0.02,0.06,0.02,pen\n"
    "service,joint,board,0.03,0.001,0.03,0.001,pen\n"
    "circuit,board,point,0.1,0.001,0.1,0.001,separate\n";
static const char detectors[] =
    "detector,node,senses,low_v,high_v,tolerance_v,delay_s,disconnects\n"
    "watch,point,line-neutral,209,251,2,4,live-and-pe\n";

struct row {
    const char *name, *node, *phase, *behaviour, *power_factor;
    int axis; /* of the lesson: lines first, then what is on several */
    double present_a, high_a;
};
static const struct row rows[] = {
    {"cooker", "board", "L1", "impedance", "1", 0, 6, 20},
    {"vehicle", "point", "L1", "current", "1", 0, 16, 32},
    {"baker", "joint", "L2", "impedance", "0.9", 1, 12, 40},
    {"lathe", "board", "L2", "power", "0.95", 1, 3, 5},
    {"smith", "joint", "L3", "impedance", "0.97", 2, 9, 25},
    {"pump", "board", "L123", "impedance", "0.8", 3, 4, 7},
};
enum { ROWS = sizeof rows / sizeof rows[0] };

static void fill(struct folder *folder, const char *loads, const char *electrodes)
{
    struct case_text text = {0};
    case_text_set(&text, "case.csv", facts);
    case_text_set(&text, "sections.csv", sections);
    case_text_set(&text, "detectors.csv", detectors);
    case_text_set(&text, "loads.csv", loads);
    case_text_set(&text, "electrodes.csv", electrodes);
    folder_fill(folder, &text);
    case_text_free(&text);
}

void lesson_case_declare(struct folder *folder)
{
    char loads[1024] = "load,node,phase,behaviour,power_factor,current_a,min_current_a,"
                       "max_current_a\n";
    for (size_t i = 0; i < ROWS; i++) {
        const size_t used = strlen(loads);
        snprintf(loads + used, sizeof loads - used, "%s,%s,%s,%s,%s,%g,0,%g\n", rows[i].name,
                 rows[i].node, rows[i].phase, rows[i].behaviour, rows[i].power_factor,
                 rows[i].present_a, rows[i].high_a);
    }
    fill(folder, loads, "electrode,node,resistance_ohm,season_factor\nrod,board,20,1.5\n");
}

void lesson_case_write(struct folder *folder, const struct pd_lesson *l,
                       const size_t at[PD_LESSON_AXES])
{
    char loads[1024] = "load,node,phase,behaviour,power_factor,current_a\n", electrodes[128];
    for (size_t i = 0; i < ROWS; i++) {
        const size_t used = strlen(loads);
        const double share = l->axis[rows[i].axis].value[at[rows[i].axis]];
        const double load_a = share <= 1
                                  ? share * rows[i].present_a
                                  : (2 - share) * rows[i].present_a + (share - 1) * rows[i].high_a;
        snprintf(loads + used, sizeof loads - used, "%s,%s,%s,%s,%s,%.12g\n", rows[i].name,
                 rows[i].node, rows[i].phase, rows[i].behaviour, rows[i].power_factor, load_a);
    }
    const size_t axis = pd_lesson_find(l, PD_LESSON_ELECTRODE);
    const double ohm = l->axis[axis].value[at[axis]];
    if (isinf(ohm))
        snprintf(electrodes, sizeof electrodes, "electrode,node,resistance_ohm,season_factor\n");
    else
        snprintf(electrodes, sizeof electrodes,
                 "electrode,node,resistance_ohm,season_factor\nrod,board,%.12g,1\n", ohm);
    fill(folder, loads, electrodes);
}

const struct pd_scenario *lesson_case_scenario(const struct study *study, const struct pd_lesson *l,
                                               const size_t at[PD_LESSON_AXES])
{
    const struct pd_lesson_axis *const breaks = &l->axis[pd_lesson_find(l, PD_LESSON_BREAK)];
    const struct pd_lesson_axis *const supply = &l->axis[pd_lesson_find(l, PD_LESSON_SUPPLY)];
    const size_t stop = at[pd_lesson_find(l, PD_LESSON_BREAK)];
    const size_t section = breaks->section[stop];
    return study_scenario(study,
                          section == PD_NONE ? NULL : l->study_case->network->node[section].section,
                          PD_LOADS_PRESENT, supply->value[at[pd_lesson_find(l, PD_LESSON_SUPPLY)]]);
}
