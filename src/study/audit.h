/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_STUDY_AUDIT_H
#define PENDRIFT_STUDY_AUDIT_H

#include <stdint.h>

#include "study/assess.h"
#include "study/site.h"

/* The audit: what a contractor claims for a site, held against the rule and the model. One model:
 * a site is put into a small case and decided by the same functions that decide a case. */

enum pd_finding { PD_SUPPORTED, PD_NOT_SUPPORTED, PD_INSUFFICIENT_EVIDENCE, PD_NOT_READ };
enum { PD_FINDINGS = 4 };
extern const char *const pd_finding_names[PD_FINDINGS];

/* What a reason does to the finding. */
enum pd_effect { PD_AGAINST, PD_DOUBT, PD_REMARK, PD_ASSUMED };
enum { PD_EFFECTS = 4 };
extern const char *const pd_effect_names[PD_EFFECTS];

/* One list makes the enum and the codes; reference/audit_reasons.csv has a row for each. */
#define PD_AUDIT_REASON_LIST(X)                                                                    \
    X(PD_A_ROW_NOT_READ, "row-not-read")                                                           \
    X(PD_A_NOT_LISTED, "route-not-listed")                                                         \
    X(PD_A_NOT_ON_PME, "pme-terminal-not-used")                                                    \
    X(PD_A_ON_PME, "pme-terminal-used")                                                            \
    X(PD_A_PEN_UPSTREAM, "supply-has-a-pen")                                                       \
    X(PD_A_NO_PEN, "supply-has-no-pen")                                                            \
    X(PD_A_NOT_THREE_PHASE, "not-three-phase")                                                     \
    X(PD_A_ONLY_POINT, "only-the-charging-point")                                                  \
    X(PD_A_UNBALANCED, "balance-over-limit")                                                       \
    X(PD_A_ELECTRODE_HIGH, "electrode-too-high")                                                   \
    X(PD_A_NO_SUCH_DEVICE, "device-of-another-kind")                                               \
    X(PD_A_NOT_SINGLE_PHASE, "not-single-phase")                                                   \
    X(PD_A_BAND_WIDE, "band-too-wide")                                                             \
    X(PD_A_THRESHOLD_HIGH, "threshold-too-high")                                                   \
    X(PD_A_LEAVES_PE, "pe-not-disconnected")                                                       \
    X(PD_A_CLOSES_ITSELF, "closes-again-by-itself")                                                \
    X(PD_A_TOO_LATE, "disconnects-too-late")                                                       \
    X(PD_A_TT_HIGH, "tt-electrode-too-high")                                                       \
    X(PD_A_REACH_NEAR, "pme-metalwork-in-reach")                                                   \
    X(PD_A_NO_BASIS, "basis-missing")                                                              \
    X(PD_A_NO_SUPPLY, "supply-missing")                                                            \
    X(PD_A_NO_PME_ANSWER, "pme-terminal-missing")                                                  \
    X(PD_A_NO_LOADS, "loads-missing")                                                              \
    X(PD_A_NO_ELECTRODE, "electrode-not-measured")                                                 \
    X(PD_A_NO_SEASON, "season-missing")                                                            \
    X(PD_A_SEASON_FACTOR, "season-factor-missing")                                                 \
    X(PD_A_NO_DEVICE, "device-not-described")                                                      \
    X(PD_A_NO_THRESHOLDS, "thresholds-missing")                                                    \
    X(PD_A_NO_BAND, "no-band-in-set")                                                              \
    X(PD_A_NO_DELAY, "delay-or-disconnects-missing")                                               \
    X(PD_A_EVIDENCE, "other-device-needs-evidence")                                                \
    X(PD_A_NO_RCD, "rcd-missing")                                                                  \
    X(PD_A_NO_REACH, "reach-missing")                                                              \
    X(PD_A_NOTHING_TIES, "no-load-on-the-neutral")                                                 \
    X(PD_A_UNCONFIRMED, "no-pen-unconfirmed")                                                      \
    X(PD_A_CELL_WRONG, "cell-not-understood")                                                      \
    X(PD_A_LEAST_ABOVE, "least-above-demand")                                                      \
    X(PD_A_BAND_UPSIDE_DOWN, "band-upside-down")                                                   \
    X(PD_A_SOIL_UNKNOWN, "soil-not-known")                                                         \
    X(PD_A_TRANSFORMER_UNKNOWN, "transformer-not-known")                                           \
    X(PD_A_ELECTRODE_LOW, "electrode-implausibly-low")                                             \
    X(PD_A_ELECTRODE_COPIED, "electrode-reading-repeated")                                         \
    X(PD_A_LOOP_COPIED, "loop-reading-repeated")                                                   \
    X(PD_A_VOLTAGE_COPIED, "voltage-reading-repeated")                                             \
    X(PD_A_LOOP_LOW, "loop-implausibly-low")                                                       \
    X(PD_A_LOOP_UNIT, "loop-unit")                                                                 \
    X(PD_A_VOLTAGE_UNIT, "voltage-unit")                                                           \
    X(PD_A_CHARGER_UNIT, "charger-unit")                                                           \
    X(PD_A_RCD_UNIT, "rcd-unit")                                                                   \
    X(PD_A_DELAY_UNIT, "delay-unit")                                                               \
    X(PD_A_LOOP_HIGH, "loop-high")                                                                 \
    X(PD_A_VOLTAGE_OUTSIDE, "voltage-outside-range")                                               \
    X(PD_A_VOLTAGE_UNEVEN, "voltages-uneven")                                                      \
    X(PD_A_STREET_HAZARD, "street-over-limit")                                                     \
    X(PD_A_STREET_UNFIT, "street-does-not-fit")                                                    \
    X(PD_A_BLIND, "device-blind-over-limit")                                                       \
    X(PD_A_OTHER_ROUTE, "another-route-holds")                                                     \
    X(PD_A_TOLERANCE, "thresholds-exact")                                                          \
    X(PD_A_BY_HAND, "closed-again-by-hand")                                                        \
    X(PD_A_RCD_OF_SET, "rcd-of-the-set")                                                           \
    X(PD_A_ON_L1, "charger-on-l1")                                                                 \
    X(PD_A_NO_LEAST, "least-demand-not-declared")                                                  \
    X(PD_A_UNITY, "power-factor-1")                                                                \
    X(PD_A_TEN_RODS, "rods-as-large-as-ten")                                                       \
    X(PD_A_ANY_TRANSFORMER, "largest-transformer")

enum pd_audit_reason {
#define X(name, code) name,
    PD_AUDIT_REASON_LIST(X)
#undef X
        PD_AUDIT_REASONS
};
const char *pd_audit_code(enum pd_audit_reason reason);

/* Figures that a sentence may name, and the columns of a finding. NaN where there is none. */
enum pd_audit_figure {
    PD_F_MAX_OHM, /* the electrode that would do: on the MET, or R_A on TT */
    PD_F_DRY_OHM, /* declared, in the dry season */
    PD_F_READ_OHM,
    PD_F_BALANCE_V,
    PD_F_ALONE_V,  /* PEN open, installation alone, its own electrode: the MET to earth */
    PD_F_STREET_V, /* among neighbours: the largest touch voltage; that nothing disconnects */
    PD_F_UNSEEN_V, /* over the limit, 0: none; and how many loads of others are beyond that break */
    PD_F_NEIGHBOURS,
    PD_F_BLIND_V,
    PD_F_TOUCH_LIMIT_V,
    PD_F_BAND_LOW_V,
    PD_F_BAND_HIGH_V,
    PD_F_TIME_S,
    PD_F_DELAY_S,
    PD_F_RCD_MA,
    PD_F_REACH_M,
    PD_F_LEAST_OHM, /* that the ground, or the transformer, lets believe */
    PD_F_LOOP_OHM,
    PD_F_CHARGER_A
};
enum { PD_AUDIT_FIGURES = PD_F_CHARGER_A + 1 };
extern const char *const pd_audit_figure_names[PD_AUDIT_FIGURES];

struct pd_audit_row {
    enum pd_effect effect;
    char sentence[400];
    char source[200];
};

enum pd_reading_kind { PD_READ_ELECTRODE, PD_READ_LOOP, PD_READ_VOLTAGE };
enum { PD_READINGS = 3 };
enum { PD_COPIED_LEAST = 8 }; /* so many equal readings of one contractor, and no other */

/* A set of reasons. */
struct pd_reasons {
    uint64_t bits[2];
};
_Static_assert(PD_AUDIT_REASONS <= 128, "a bit for each reason");

static inline void pd_reasons_add(struct pd_reasons *reasons, enum pd_audit_reason reason)
{
    reasons->bits[reason / 64] |= UINT64_C(1) << reason % 64;
}

/* Takes the first out of the set; false where there is none. */
static inline bool pd_reasons_take(struct pd_reasons *reasons, enum pd_audit_reason *reason)
{
    for (int i = 0; i < 2; i++) {
        if (reasons->bits[i] == 0)
            continue;
        *reason = (enum pd_audit_reason)(64 * i + __builtin_ctzll(reasons->bits[i]));
        reasons->bits[i] &= reasons->bits[i] - 1;
        return true;
    }
    return false;
}

struct pd_audit_result {
    enum pd_finding finding;
    enum pd_result rule_result; /* of any route */
    enum pd_answer detection;
    bool route_known; /* whether another route holds could be decided for each */
    unsigned met;     /* routes that hold, doubts counted: bit 1u << enum pd_route_kind */
    struct pd_reasons reasons;
    double figure[PD_AUDIT_FIGURES];
};

/* What all sites are held against; shared between threads, not changed by them. */
struct pd_audit;
enum pd_status pd_audit_new(const char *limit_set, struct pd_audit **out, struct pd_errors *errors);
void pd_audit_free(struct pd_audit **audit);

/* Each site is to stand in this street too, in place of its installation under study. The text must
 * outlive the audit. Reads it once, for its errors. PD_OK, PD_ERR_INPUT, PD_ERR_FILE,
 * PD_ERR_MEMORY. */
enum pd_status pd_audit_set_street(struct pd_audit *audit, const char *folder,
                                   struct pd_errors *errors);
bool pd_audit_has_street(const struct pd_audit *audit);
const struct pd_limits *pd_audit_limits(const struct pd_audit *audit);
const struct pd_audit_row *pd_audit_reason_row(const struct pd_audit *audit,
                                               enum pd_audit_reason reason);

/* What one thread works with: a small case for each kind of site, filled anew for each row, and the
 * blind voltages of the devices seen so far. The caller frees *out. */
struct pd_auditor;
enum pd_status pd_auditor_new(const struct pd_audit *audit, struct pd_auditor **out);
void pd_auditor_free(struct pd_auditor **auditor);

/* Finds. `copied`: bit 1u << enum pd_reading_kind of the site's contractor. PD_OK or PD_ERR_MEMORY.
 *
 * 1. The claimed route is decided by pd_rule_decide, as pd_assess decides it.
 * 2. A figure that is missing, not understood, or not to be believed leaves the routes that rest on
 *    it without an answer: insufficient evidence, never supported. What speaks against a claim with
 *    figures that are there is not taken back by others that are missing.
 * 3. An electrode reading counts in the dry season: read then, or with its season_factor.
 * 4. Load states are those of a case: demands from least to maximum, the vehicle from nothing to
 *    charger_a. Without least demands the maximum is taken alone, and that is an assumption. */
enum pd_status pd_audit_site(struct pd_auditor *auditor, const struct pd_site *site,
                             unsigned copied, struct pd_audit_result *result);

/* The result of a row that could not be read. */
struct pd_audit_result pd_audit_not_read(void);

#endif
