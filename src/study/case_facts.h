/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_CASE_FACTS_H
#define PENDRIFT_STUDY_CASE_FACTS_H

#include "study/case.h"
#include "table/facts.h"

/* The quantities of case.csv. */
enum pd_quantity {
    PD_Q_TITLE,
    PD_Q_LIMIT_SET,
    PD_Q_EARTHING,
    PD_Q_SYSTEM,
    PD_Q_NOMINAL_VOLTAGE,
    PD_Q_SUPPLY_VOLTAGE,
    PD_Q_SUPPLY_VOLTAGE_L1, /* these three in the order of the lines */
    PD_Q_SUPPLY_VOLTAGE_L2,
    PD_Q_SUPPLY_VOLTAGE_L3,
    PD_Q_FREQUENCY,
    PD_Q_SOURCE_R,
    PD_Q_SOURCE_X,
    PD_Q_TRANSFORMER,
    PD_Q_SOURCE_ELECTRODE,
    PD_Q_LOOP_IMPEDANCE,
    PD_Q_INSTALLATION,
    PD_Q_CHARGING_POINT,
    PD_Q_DEMAND_LIMIT,
    PD_Q_NEIGHBOUR_DEMAND,
    PD_Q_BACKUP,
    PD_Q_RCD_RATING,
    PD_Q_BODY,
    PD_Q_FOOTING,
    PD_Q_REACH,
    PD_Q_TOUCH_LIMIT,
    PD_Q_BAND_LOW,
    PD_Q_BAND_HIGH,
    PD_Q_DISCONNECTION_TIME,
    PD_QUANTITIES
};

/* Reads case.csv into fact[PD_QUANTITIES]. Returns as pd_facts_read. */
enum pd_status pd_case_facts_read(const char *path, const struct pd_overrides *overrides,
                                  struct pd_fact fact[PD_QUANTITIES], struct pd_errors *errors);

/* The unit of a quantity of case.csv, "-" for none; NULL where there is no such quantity. */
const char *pd_case_facts_unit(const char *quantity);

/* Fills title, limits, earthing, voltages and ratings of the case from the facts; what cannot be
 * taken as silent goes to `missing`, what can to `assumptions`. PD_OK, PD_ERR_INPUT, PD_ERR_MEMORY.
 */
enum pd_status pd_case_facts_apply(struct pd_case *study_case,
                                   const struct pd_fact fact[PD_QUANTITIES],
                                   struct pd_errors *errors);

/* Sets the source of the case's new network: its impedance, given or of the transformer named, its
 * electrode, and each line's EMF against supply_v. What is taken from the table of transformers,
 * and EMFs that differ, go to `assumptions`. Errors: an unknown transformer (nearest named), one
 * beside source_r or source_x or on a system that it is not for, the EMF of a line that the system
 * does not have. PD_OK, PD_ERR_INPUT, PD_ERR_MEMORY. */
enum pd_status pd_case_facts_source(struct pd_case *study_case,
                                    const struct pd_fact fact[PD_QUANTITIES],
                                    struct pd_errors *errors);

#endif
