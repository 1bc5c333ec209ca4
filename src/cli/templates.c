/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/templates.h"

#define EMBEDDED(symbol)                                                                           \
    extern const char symbol[];                                                                    \
    extern const size_t symbol##_length;

EMBEDDED(template_house_case)
EMBEDDED(template_house_loads)
EMBEDDED(template_house_electrodes)
EMBEDDED(template_house_detectors)
EMBEDDED(template_workshop_case)
EMBEDDED(template_workshop_sections)
EMBEDDED(template_workshop_loads)
EMBEDDED(template_workshop_electrodes)
EMBEDDED(template_workshop_detectors)
EMBEDDED(template_street_case)
EMBEDDED(template_street_sections)
EMBEDDED(template_street_loads)
EMBEDDED(template_street_electrodes)
EMBEDDED(template_street_detectors)

const char *const template_kind_names[TEMPLATES] = {
    [TEMPLATE_HOUSE] = "house", [TEMPLATE_WORKSHOP] = "workshop", [TEMPLATE_STREET] = "street"};

static const char case_meaning[] = "the supply, its earthing, and the limits to hold it against";
static const char sections_meaning[] = "the cables from the substation to the charging point";
static const char loads_meaning[] = "what draws current, now and within which range";
static const char electrodes_meaning[] = "earth electrodes; the reading is left for you to take";
static const char detectors_meaning[] = "devices that detect an open PEN; none until you say so";

#define FILE_OF(kind, table)                                                                       \
    {                                                                                              \
#table ".csv", table##_meaning, template_##kind##_##table,                                 \
            &template_##kind##_##table##_length                                                    \
    }

const struct template template_table[TEMPLATES] = {
    [TEMPLATE_HOUSE] = {"a house with one charging point",
                        4,
                        {FILE_OF(house, case), FILE_OF(house, loads), FILE_OF(house, electrodes),
                         FILE_OF(house, detectors)}},
    [TEMPLATE_WORKSHOP] = {"a three-phase workshop with a charging point",
                           5,
                           {FILE_OF(workshop, case), FILE_OF(workshop, sections),
                            FILE_OF(workshop, loads), FILE_OF(workshop, electrodes),
                            FILE_OF(workshop, detectors)}},
    [TEMPLATE_STREET] = {"a house among its neighbours on one main",
                         5,
                         {FILE_OF(street, case), FILE_OF(street, sections), FILE_OF(street, loads),
                          FILE_OF(street, electrodes), FILE_OF(street, detectors)}},
};
