/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "study/case_facts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "network/transformer.h"
#include "table/words.h"

const char *const pd_earthing_names[PD_EARTHINGS] = {
    [PD_TN_C_S] = "TN-C-S", [PD_TN_S] = "TN-S", [PD_TT] = "TT"};

static const char *const backups[] = {"none", "changeover"};

#define TEXT(name)                                                                                 \
    {                                                                                              \
        name, "-", PD_FACT_TEXT, {0, 0, NULL}, NULL, 0                                             \
    }
#define NUMBER(name, unit, low, high)                                                              \
    {                                                                                              \
        name, unit, PD_FACT_NUMBER, {low, high, NULL}, NULL, 0                                     \
    }
#define CHOICE(name, names, count)                                                                 \
    {                                                                                              \
        name, "-", PD_FACT_CHOICE, {0, 0, NULL}, names, count                                      \
    }

static const struct pd_fact_form forms[PD_QUANTITIES] = {
    [PD_Q_TITLE] = TEXT("title"),
    [PD_Q_LIMIT_SET] = TEXT("limit_set"),
    [PD_Q_EARTHING] = CHOICE("earthing", pd_earthing_names, PD_EARTHINGS),
    [PD_Q_SYSTEM] = CHOICE("system", pd_system_names, PD_SYSTEMS),
    [PD_Q_NOMINAL_VOLTAGE] = NUMBER("nominal_voltage", "V", 50, 1000),
    [PD_Q_SUPPLY_VOLTAGE] = NUMBER("supply_voltage", "V", 50, 1000),
    [PD_Q_SUPPLY_VOLTAGE_L1] = NUMBER("supply_voltage_l1", "V", 50, 1000),
    [PD_Q_SUPPLY_VOLTAGE_L2] = NUMBER("supply_voltage_l2", "V", 50, 1000),
    [PD_Q_SUPPLY_VOLTAGE_L3] = NUMBER("supply_voltage_l3", "V", 50, 1000),
    [PD_Q_FREQUENCY] = NUMBER("frequency", "Hz", 16, 400),
    [PD_Q_SOURCE_R] = NUMBER("source_r", "ohm", 0, 100),
    [PD_Q_SOURCE_X] = NUMBER("source_x", "ohm", 0, 100),
    [PD_Q_TRANSFORMER] = TEXT("transformer"),
    [PD_Q_SOURCE_ELECTRODE] = NUMBER("source_electrode", "ohm", 0, 1000),
    [PD_Q_LOOP_IMPEDANCE] = NUMBER("loop_impedance", "ohm", 0, 100),
    [PD_Q_INSTALLATION] = TEXT("installation"),
    [PD_Q_CHARGING_POINT] = TEXT("charging_point"),
    [PD_Q_DEMAND_LIMIT] = NUMBER("demand_limit", "A", 1, 10000),
    [PD_Q_NEIGHBOUR_DEMAND] = NUMBER("neighbour_demand", "kW", 0.1, 100),
    [PD_Q_BACKUP] = CHOICE("backup", backups, 2),
    [PD_Q_RCD_RATING] = NUMBER("rcd_rating", "mA", 1, 10000),
    [PD_Q_BODY] = CHOICE("body", pd_skin_names, PD_SKINS),
    [PD_Q_FOOTING] = NUMBER("footing", "ohm", 0, 1e6),
    [PD_Q_REACH] = NUMBER("reach", "m", 0, 1000),
    [PD_Q_TOUCH_LIMIT] = NUMBER("touch_limit", "V", 1, 1000),
    [PD_Q_BAND_LOW] = NUMBER("band_low", "V", 0, 1000),
    [PD_Q_BAND_HIGH] = NUMBER("band_high", "V", 0, 1000),
    [PD_Q_DISCONNECTION_TIME] = NUMBER("disconnection_time", "s", 0.001, 3600),
};

static const char *const table = "case.csv";

enum pd_status pd_case_facts_read(const char *path, const struct pd_overrides *overrides,
                                  struct pd_fact fact[PD_QUANTITIES], struct pd_errors *errors)
{
    return pd_facts_read(path, overrides, table, forms, PD_QUANTITIES, fact, errors);
}

const char *pd_case_facts_unit(const char *quantity)
{
    for (size_t i = 0; i < PD_QUANTITIES; i++)
        if (strcmp(forms[i].quantity, quantity) == 0)
            return forms[i].unit;
    return NULL;
}

enum { SETS_LIST_MAX = 200 };

/* Appends the set's name to the list that the context is. */
static bool list_set(const struct pd_limits *limits, void *context)
{
    char *const list = context;
    const size_t used = strlen(list);
    snprintf(list + used, SETS_LIST_MAX - used, "%s%s", used > 0 ? ", " : "", limits->set);
    return true;
}

static enum pd_status unknown_set(const struct pd_fact *fact, const char *nearest,
                                  struct pd_errors *errors)
{
    char list[SETS_LIST_MAX] = "";
    if (nearest[0] != '\0')
        return pd_errors_add(errors, PD_ERR_INPUT, table, fact->line, "limit_set",
                             "unknown '%s'; did you mean '%s'?", pd_show(fact->text).text, nearest);
    const enum pd_status status = pd_limits_each(list_set, list, NULL);
    return status == PD_ERR_MEMORY
               ? status
               : pd_errors_add(errors, PD_ERR_INPUT, table, fact->line, "limit_set",
                               "unknown '%s'; it must be one of: %s", pd_show(fact->text).text,
                               list);
}

/* The figures of the user's own set. */
static enum pd_status apply_own(struct pd_case *c, const struct pd_fact *fact,
                                struct pd_errors *errors)
{
    struct pd_limits *const limits = &c->limits;
    if (fact[PD_Q_BAND_LOW].given)
        limits->band_low_v = fact[PD_Q_BAND_LOW].number;
    if (fact[PD_Q_BAND_HIGH].given)
        limits->band_high_v = fact[PD_Q_BAND_HIGH].number;
    if (fact[PD_Q_DISCONNECTION_TIME].given)
        limits->time_s = fact[PD_Q_DISCONNECTION_TIME].number;
    if (limits->band_low_v >= limits->band_high_v)
        return pd_errors_add(errors, PD_ERR_INPUT, table, fact[PD_Q_BAND_LOW].line, "band_low",
                             "%g is not below band_high %g", limits->band_low_v,
                             limits->band_high_v);
    if (!fact[PD_Q_TOUCH_LIMIT].given || !fact[PD_Q_NOMINAL_VOLTAGE].given)
        return pd_notes_add(&c->missing, "limit_set own needs rows for touch_limit and "
                                         "nominal_voltage in case.csv.");
    limits->touch_v = fact[PD_Q_TOUCH_LIMIT].number;
    limits->nominal_v = fact[PD_Q_NOMINAL_VOLTAGE].number;
    limits->supply_low_v = 0.9 * limits->nominal_v;
    limits->supply_high_v = 1.1 * limits->nominal_v;
    return pd_notes_add(&c->assumptions,
                        "Supply range %.1f to %.1f V: nominal voltage +-10 %% (IEC 60038), as an "
                        "own limit set gives none.",
                        limits->supply_low_v, limits->supply_high_v);
}

/* Own figures beside a published set would be passed over in silence. */
static enum pd_status refuse_own(const struct pd_fact *fact, const char *set,
                                 struct pd_errors *errors)
{
    enum pd_status status = PD_OK;
    for (int q = PD_Q_TOUCH_LIMIT; q <= PD_Q_DISCONNECTION_TIME; q++)
        if (fact[q].given)
            status = pd_errors_add(errors, PD_ERR_INPUT, table, fact[q].line, forms[q].quantity,
                                   "belongs to limit_set own; %s has its own figure", set);
    return status;
}

static enum pd_status apply_limits(struct pd_case *c, const struct pd_fact *fact,
                                   struct pd_errors *errors)
{
    const struct pd_fact *const set = &fact[PD_Q_LIMIT_SET];
    if (!set->given)
        return pd_notes_add(&c->missing,
                            "case.csv does not choose a limit set: add a row "
                            "limit_set,gb-outdoor-charging,- (or conventional-50, or own).");
    char nearest[64];
    const enum pd_status status = pd_limits_find(set->text, &c->limits, nearest);
    if (status == PD_ERR_INPUT)
        return unknown_set(set, nearest, errors);
    if (status != PD_OK)
        return status;
    return isnan(c->limits.touch_v) ? apply_own(c, fact, errors)
                                    : refuse_own(fact, set->text, errors);
}

static enum pd_status apply_voltages(struct pd_case *c, const struct pd_fact *fact)
{
    const double nominal_v =
        fact[PD_Q_NOMINAL_VOLTAGE].given ? fact[PD_Q_NOMINAL_VOLTAGE].number : c->limits.nominal_v;
    c->supply_v = fact[PD_Q_SUPPLY_VOLTAGE].given ? fact[PD_Q_SUPPLY_VOLTAGE].number : nominal_v;
    if (c->missing.count > 0)
        return PD_OK;
    if (nominal_v < c->limits.supply_low_v || nominal_v > c->limits.supply_high_v)
        return pd_notes_add(
            &c->missing,
            "The case's nominal voltage %.1f V is outside the supply range of limit "
            "set %s (%.1f to %.1f V): choose a set for this supply, or own.",
            nominal_v, c->limits.set, c->limits.supply_low_v, c->limits.supply_high_v);
    return PD_OK;
}

/* Who touches. What is not said is taken as the worst that the tables have. */
static enum pd_status apply_person(struct pd_case *c, const struct pd_fact *fact)
{
    const struct pd_fact *const body = &fact[PD_Q_BODY], *const footing = &fact[PD_Q_FOOTING];
    c->skin = body->given ? (enum pd_skin)body->choice : PD_SKIN_SALTWATER_WET;
    c->footing_ohm = footing->given ? footing->number : 0;
    c->reach_m = fact[PD_Q_REACH].given ? fact[PD_Q_REACH].number : NAN;
    enum pd_status status = pd_notes_add(
        &c->assumptions,
        "Person: %s skin%s, footing %g ohm%s, both hands to both feet, the 5 %% of people with the "
        "least impedance. Limits are held against the prospective touch voltage, before any body "
        "or shoe.",
        pd_skin_names[c->skin], body->given ? "" : ", the worst, as case.csv gives no body",
        c->footing_ohm, footing->given ? "" : " as none is given");
    if (status == PD_OK && fact[PD_Q_REACH].given && c->earthing != PD_TT)
        status = pd_notes_add(&c->assumptions, "reach is not used: the charging point is on the "
                                               "same terminal as the metalwork beside it.");
    return status;
}

static enum pd_status apply_ratings(struct pd_case *c, const struct pd_fact *fact)
{
    c->demand_limit_a = fact[PD_Q_DEMAND_LIMIT].given ? fact[PD_Q_DEMAND_LIMIT].number : NAN;
    c->neighbour_kw = fact[PD_Q_NEIGHBOUR_DEMAND].given ? fact[PD_Q_NEIGHBOUR_DEMAND].number : NAN;
    c->backup = fact[PD_Q_BACKUP].given && fact[PD_Q_BACKUP].choice == 1;
    c->rcd_a = fact[PD_Q_RCD_RATING].given ? fact[PD_Q_RCD_RATING].number / 1000 : NAN;
    enum pd_status status = PD_OK;
    if (isnan(c->rcd_a) && c->earthing == PD_TT && isfinite(c->limits.rcd_a)) {
        c->rcd_a = c->limits.rcd_a;
        status = pd_notes_add(&c->assumptions,
                              "RCD of %.0f mA at the charging point, as %s asks of every charging "
                              "point (from memory); case.csv gives no rcd_rating.",
                              1000 * c->rcd_a, c->limits.set);
    }
    if (status == PD_OK)
        status = apply_person(c, fact);
    if (status == PD_OK && !fact[PD_Q_SOURCE_ELECTRODE].given)
        status = pd_notes_add(&c->assumptions, "Star point at earth potential (source_electrode 0 "
                                               "ohm), as case.csv gives none.");
    return status;
}

enum pd_status pd_case_facts_apply(struct pd_case *c, const struct pd_fact fact[PD_QUANTITIES],
                                   struct pd_errors *errors)
{
    enum pd_status status = PD_OK;
    if (fact[PD_Q_TITLE].given)
        memcpy(c->title, fact[PD_Q_TITLE].text, sizeof c->title);
    if (fact[PD_Q_EARTHING].given)
        c->earthing = (enum pd_earthing)fact[PD_Q_EARTHING].choice;
    else
        status = pd_notes_add(&c->missing, "case.csv does not say the earthing: add a row "
                                           "earthing,TN-C-S,- (or TN-S, or TT).");
    if (status == PD_OK && !fact[PD_Q_SYSTEM].given)
        status = pd_notes_add(&c->missing,
                              "case.csv does not say the supply: add a row system,single-phase,- "
                              "(or split-phase, or three-phase).");
    if (status == PD_OK)
        status = apply_limits(c, fact, errors);
    if (status == PD_OK)
        status = apply_voltages(c, fact);
    if (status == PD_OK)
        status = apply_ratings(c, fact);
    return status;
}

enum { TRANSFORMERS_MAX = 64 };

/* Looking for a transformer, and noting the names in case it is not there. */
struct finding {
    const char *name;
    struct pd_transformer found;
    bool is_found;
    char names[TRANSFORMERS_MAX][sizeof((struct pd_transformer *)NULL)->name];
    size_t count;
};

static bool look_at(const struct pd_transformer *t, void *context)
{
    struct finding *const f = context;
    if (f->count < TRANSFORMERS_MAX)
        memcpy(f->names[f->count++], t->name, sizeof t->name);
    f->is_found = strcmp(t->name, f->name) == 0;
    if (f->is_found)
        f->found = *t;
    return !f->is_found;
}

/* All of them: the nearest in letters may be another rating. */
static enum pd_status unknown_transformer(const struct pd_fact *fact, const struct finding *f,
                                          struct pd_errors *errors)
{
    const char *names[TRANSFORMERS_MAX];
    char list[sizeof errors->kept[0].text];
    for (size_t i = 0; i < f->count; i++)
        names[i] = f->names[i];
    pd_list_names(list, sizeof list, names, f->count);
    return pd_errors_add(errors, PD_ERR_INPUT, table, fact->line, "transformer",
                         "unknown '%s'; one of: %s", pd_show(fact->text).text, list);
}

static enum pd_status check_transformer(const struct pd_case *c, const struct pd_fact *fact,
                                        const struct pd_transformer *t, struct pd_errors *errors)
{
    const struct pd_fact *const transformer = &fact[PD_Q_TRANSFORMER];
    if (fact[PD_Q_SOURCE_R].given || fact[PD_Q_SOURCE_X].given)
        return pd_errors_add(errors, PD_ERR_INPUT, table, transformer->line, "transformer",
                             "stands beside source_r or source_x; give the transformer or its "
                             "ohms, not both");
    if (!fact[PD_Q_SYSTEM].given)
        return PD_OK;
    if (c->network->system == PD_SPLIT_PHASE)
        return pd_errors_add(errors, PD_ERR_INPUT, table, transformer->line, "transformer",
                             "the table has none for a split-phase system; give source_r and "
                             "source_x");
    if (c->network->system == PD_THREE_PHASE && t->phases != 3)
        return pd_errors_add(errors, PD_ERR_INPUT, table, transformer->line, "transformer",
                             "'%s' is single-phase, the system is three-phase", t->name);
    return PD_OK;
}

static enum pd_status apply_transformer(struct pd_case *c, const struct pd_fact *fact,
                                        struct pd_errors *errors)
{
    const struct pd_fact *const transformer = &fact[PD_Q_TRANSFORMER];
    struct finding finding = {.name = transformer->text};
    if (!transformer->given)
        return PD_OK;
    enum pd_status status = pd_transformers_each(look_at, &finding, errors);
    if (status == PD_OK && !finding.is_found)
        status = unknown_transformer(transformer, &finding, errors);
    if (status == PD_OK)
        status = check_transformer(c, fact, &finding.found, errors);
    if (status != PD_OK)
        return status;
    const struct pd_transformer *const t = &finding.found;
    const double complex z_ohm = pd_transformer_ohm(t);
    c->network->source.z_ohm = z_ohm;
    return pd_notes_add(&c->assumptions,
                        "Transformer %s: %.3g + j%.3g ohm in each line, from %g %% impedance and "
                        "%g %% resistance of %g kVA at %g V; the high-voltage network behind it is "
                        "left out. Source: %s.",
                        t->name, creal(z_ohm), cimag(z_ohm), t->impedance_percent,
                        t->resistance_percent, t->rating_kva, t->secondary_v, t->source);
}

static enum pd_status apply_emfs(struct pd_case *c, const struct pd_fact *fact,
                                 struct pd_errors *errors)
{
    enum pd_status status = PD_OK;
    bool unbalanced = false;
    for (int line = PD_L1; line < PD_LINES; line++) {
        const struct pd_fact *const emf = &fact[PD_Q_SUPPLY_VOLTAGE_L1 + line];
        if (!emf->given)
            continue;
        if ((c->network->lines & 1u << line) == 0) {
            status = pd_errors_add(errors, PD_ERR_INPUT, table, emf->line,
                                   forms[PD_Q_SUPPLY_VOLTAGE_L1 + line].quantity,
                                   "a %s system has no L%d", pd_system_names[c->network->system],
                                   line + 1);
            continue;
        }
        c->network->source.unit_emf[line] *= emf->number / c->supply_v;
        unbalanced |= emf->number != c->supply_v;
    }
    if (status != PD_OK || !unbalanced || !isfinite(c->supply_v))
        return status;
    return pd_notes_add(&c->assumptions,
                        "Unbalanced supply: the lines' voltages keep their declared proportions "
                        "to supply_voltage, %.1f V, at the ends of the supply range too, so that "
                        "one line may lie outside it there.",
                        c->supply_v);
}

enum pd_status pd_case_facts_source(struct pd_case *c, const struct pd_fact fact[PD_QUANTITIES],
                                    struct pd_errors *errors)
{
    struct pd_source *const source = &c->network->source;
    source->z_ohm = CMPLX(fact[PD_Q_SOURCE_R].number, fact[PD_Q_SOURCE_X].number);
    source->electrode_ohm = fact[PD_Q_SOURCE_ELECTRODE].number;
    const enum pd_status status = apply_transformer(c, fact, errors);
    const enum pd_status emfs =
        status == PD_OK || status == PD_ERR_INPUT ? apply_emfs(c, fact, errors) : PD_OK;
    return status != PD_OK ? status : emfs;
}
