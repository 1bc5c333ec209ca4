/* SPDX-License-Identifier: GPL-3.0-or-later */

/* Good cases, damaged at random: reading must not crash, whatever the bytes, and an assessment of
 * what can still be read must never count a missing or wrong number as within the limit. What is
 * right follows from DESIGN sections 4 and 6; the checks here look at the scenarios themselves, not
 * at the counts that the verdict was made from. PENDRIFT_SOAK multiplies the tries. */

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "study/assess.h"

enum { TABLES = 6, TABLE_MAX = 4096, TRIES = 4000, MUTATIONS_MAX = 3 };

static const char *const names[TABLES] = {"case.csv",  "cables.csv",     "sections.csv",
                                          "loads.csv", "electrodes.csv", "detectors.csv"};

/* A folder: NULL is a table that is not there. In the order of `names`. */
static const char *const good[][TABLES] = {
    /* a house with a rod */
    {"quantity,value,unit\ntitle,\"House, low rod\",-\nlimit_set,gb-outdoor-charging,-\n"
     "earthing,TN-C-S,-\nsystem,single-phase,-\nloop_impedance,0.35,ohm\ndemand_limit,80,A\n",
     NULL, NULL,
     "load,node,phase,current_a,min_current_a,max_current_a\n"
     "point,installation,L1,16,0,32\nkitchen,installation,L1,8,2,20\n",
     "electrode,node,resistance_ohm,season_factor\nrod,installation,1.5,1.2\n", NULL},
    /* a street on three phases, with a device at the point */
    {"quantity,value,unit\nlimit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\n"
     "system,three-phase,-\ninstallation,house,-\ncharging_point,drive,-\nsource_r,0.005,ohm\n"
     "source_x,0.017,ohm\nsource_electrode,5,ohm\n",
     "cable,line_r_ohm_per_km,line_x_ohm_per_km,pen_r_ohm_per_km,pen_x_ohm_per_km\n"
     "old-main,0.4,0.07,0.4,0.07\n",
     "section,from,to,cable,length_m,neutral,lines\n"
     "main1,substation,pole,main-185-four-core,150,pen,\nmain2,pole,corner,old-main,80,pen,\n"
     "service,pole,house,service-35-concentric,20,pen,L1\n"
     "next,corner,neighbour,service-35-concentric,15,pen,L2\n"
     "circuit,house,drive,cu-6,12,separate,\n",
     "load,node,phase,power_kw,min_power_kw,max_power_kw,power_factor\n"
     "vehicle,drive,L1,7.4,0,7.4,0.99\nhouse,house,L1,2,0.2,9,0.95\n"
     "neighbour,neighbour,L2,2,0.2,9,-0.98\n",
     "electrode,node,shape,length_m,diameter_mm,count,spacing_m,soil_ohm_m,season_factor\n"
     "rods,house,rod,2.4,16,3,5,80,1.5\nend,corner,rod,1.2,16,,,80,1.5\n",
     "detector,node,senses,low_v,high_v,limit_v,tolerance_v,delay_s,disconnects\n"
     "point,drive,line-neutral,207,253,,2,4,live-and-pe\n"
     "guard,drive,pe-earth,,,50,1,0.5,live-and-pe\n"},
    /* a workshop, balanced, held against a set of its own */
    {"quantity,value,unit\nlimit_set,own,-\nearthing,TN-C-S,-\nsystem,three-phase,-\n"
     "nominal_voltage,230,V\ntouch_limit,60,V\nband_low,207,V\nband_high,253,V\n"
     "disconnection_time,5,s\n",
     NULL, NULL,
     "load,node,phase,behaviour,current_a,min_current_a,max_current_a\n"
     "machines,installation,L123,impedance,40,35,45\npoint,installation,L1,,10,0,16\n"
     "oven,installation,L23,,5,,\n",
     NULL, NULL},
    /* a farm on split phase, the point on an electrode of its own */
    {"quantity,value,unit\nlimit_set,conventional-50,-\nearthing,TT,-\nsystem,split-phase,-\n"
     "installation,farm,-\ncharging_point,yard,-\nrcd_rating,30,mA\n"
     "reach,5,m\n",
     NULL,
     "section,from,to,line_r_ohm,line_x_ohm,pen_r_ohm,pen_x_ohm,neutral\n"
     "line,substation,farm,0.1,0.05,0.1,0.05,pen\nbuild,farm,yard,0.05,0,0.05,0,separate\n",
     "load,node,phase,current_a,max_current_a\nvehicle,yard,L12,32,\nbarn,farm,L1,10,20\n"
     "dairy,farm,L2,15,30\n",
     "electrode,node,resistance_ohm\nyard rod,yard,60\nfarm rod,farm,25\n", NULL},
    /* a house with nothing but a device */
    {"quantity,value,unit\nlimit_set,gb-outdoor-charging,-\nearthing,TN-C-S,-\n"
     "system,single-phase,-\n",
     NULL, NULL, "load,node,current_a,max_current_a\npoint,installation,16,32\n", NULL,
     "detector,node,senses,low_v,high_v,limit_v,delay_s,disconnects\n"
     "point,installation,line-neutral,207,253,,4,live-and-pe\n"},
};
enum { GOODS = sizeof good / sizeof good[0] };

/* What a cell is replaced with: what people and programs write, and what parsers trip over. */
static const char *const hostile[] = {"",
                                      "nan",
                                      "-nan",
                                      "inf",
                                      "1e999",
                                      "-1e999",
                                      "1e308",
                                      "1e-308",
                                      "4e-324",
                                      "0",
                                      "-0",
                                      "0.0",
                                      "-1",
                                      "1",
                                      "2",
                                      "3",
                                      "1e6",
                                      "0x10",
                                      "1,5",
                                      "\"1,5\"",
                                      "\"",
                                      "\"\"\"\"",
                                      "\"\n\"",
                                      "32 A",
                                      "1e",
                                      ".",
                                      "-",
                                      "+",
                                      "#",
                                      "%s%n%s",
                                      "L1",
                                      "L2",
                                      "L3",
                                      "L123",
                                      "L12",
                                      "substation",
                                      "house",
                                      "drive",
                                      "yard",
                                      "installation",
                                      "TT",
                                      "TN-S",
                                      "TN-C-S",
                                      "own",
                                      "separate",
                                      "pen",
                                      "single-phase",
                                      "split-phase",
                                      "three-phase",
                                      "pe-earth",
                                      "line-neutral",
                                      "three-line-neutral",
                                      "star-point",
                                      "live",
                                      "lines",
                                      "live-and-pe",
                                      "conventional-50",
                                      "gb-outdoor-charging",
                                      "\xff",
                                      "\xe2\x82",
                                      "\xc3\xa9",
                                      "10000",
                                      "0.01",
                                      "1e9",
                                      "100",
                                      "999999999999999999999",
                                      "ring",
                                      "plate",
                                      "wire",
                                      "rod",
                                      "-0.05",
                                      "0.05"};

struct table {
    bool there;
    size_t length;
    char bytes[2 * TABLE_MAX];
};

struct folder {
    char path[64];
    struct table table[TABLES];
};

static void take_good(struct folder *folder, size_t which)
{
    for (size_t i = 0; i < TABLES; i++) {
        struct table *const table = &folder->table[i];
        const char *const text = good[which][i];
        table->there = text != NULL;
        table->length = text != NULL ? strlen(text) : 0;
        if (text != NULL)
            memcpy(table->bytes, text, table->length);
    }
}

/* Puts `length` bytes in the place of those from `from` up to `to`. */
static void replace(struct table *table, size_t from, size_t to, const char *bytes, size_t length)
{
    if (table->length - (to - from) + length > TABLE_MAX)
        return;
    char copy[TABLE_MAX];
    memcpy(copy, bytes, length); /* may lie in the table */
    memmove(&table->bytes[from + length], &table->bytes[to], table->length - to);
    memcpy(&table->bytes[from], copy, length);
    table->length += length - (to - from);
}

static size_t edge(const struct table *table, size_t at, const char *stops, int step)
{
    while (step > 0 ? at < table->length : at > 0) {
        if (strchr(stops, table->bytes[step > 0 ? at : at - 1]) != NULL)
            break;
        at = step > 0 ? at + 1 : at - 1;
    }
    return at;
}

static void replace_cell(struct stream *stream, struct table *table)
{
    char number[32];
    const size_t at = stream_below(stream, table->length + 1);
    const char *text = hostile[stream_below(stream, sizeof hostile / sizeof hostile[0])];
    if (stream_below(stream, 4) == 0) {
        snprintf(number, sizeof number, "%.4g",
                 pow(10, stream_uniform(stream, -3, 4)) * (stream_below(stream, 8) > 0 ? 1 : -1));
        text = number;
    }
    replace(table, edge(table, at, ",\n", -1), edge(table, at, ",\n", 1), text, strlen(text));
}

static void mutate_line(struct stream *stream, struct table *table, bool twice)
{
    const size_t at = stream_below(stream, table->length + 1);
    const size_t from = edge(table, at, "\n", -1), stop = edge(table, at, "\n", 1);
    const size_t to = stop < table->length ? stop + 1 : stop;
    if (twice)
        replace(table, from, from, &table->bytes[from], to - from);
    else
        replace(table, from, to, "", 0);
}

static void mutate_byte(struct stream *stream, struct table *table, size_t kind)
{
    static const char telling[] = ",\"\n\r#;\t -+.0123456789eE\xff\x80";
    const size_t at = stream_below(stream, table->length + 1);
    const char byte = stream_below(stream, 2) == 0
                          ? (char)(unsigned char)stream_below(stream, 256)
                          : telling[stream_below(stream, sizeof telling)]; /* NUL too */
    if (kind == 0)
        replace(table, at, at, &byte, 1);
    if (at == table->length)
        return;
    if (kind == 1)
        replace(table, at, at + 1, "", 0);
    if (kind == 2) {
        const size_t other = stream_below(stream, table->length);
        const char kept = table->bytes[at];
        table->bytes[at] = table->bytes[other];
        table->bytes[other] = kept;
    }
    if (kind == 3)
        table->bytes[at] = byte;
    if (kind == 4)
        table->length = at;
}

static void mutate(struct stream *stream, struct folder *folder)
{
    struct table *const table = &folder->table[stream_below(stream, TABLES)];
    const size_t kind = stream_below(stream, 40);
    if (kind == 0)
        table->there = !table->there;
    else if (kind < 6)
        mutate_line(stream, table, kind < 3);
    else if (kind < 14)
        mutate_byte(stream, table, kind % 4);
    else if (kind == 14)
        mutate_byte(stream, table, 4);
    else
        replace_cell(stream, table);
}

static void write_folder(const struct folder *folder)
{
    for (size_t i = 0; i < TABLES; i++) {
        const struct table *const table = &folder->table[i];
        char path[128];
        snprintf(path, sizeof path, "%s/%s", folder->path, names[i]);
        unlink(path); /* a file cut to nothing and written again is flushed to disk: slow */
        if (!table->there)
            continue;
        FILE *const file = fopen(path, "wb");
        assert_non_null(file);
        assert_int_equal(fwrite(table->bytes, 1, table->length, file), table->length);
        assert_int_equal(fclose(file), 0);
    }
}

static void remove_folder(const struct folder *folder)
{
    for (size_t i = 0; i < TABLES; i++) {
        char path[128];
        snprintf(path, sizeof path, "%s/%s", folder->path, names[i]);
        unlink(path);
    }
    rmdir(folder->path);
}

/* Fails with the folder that brought it about. */
static void refuse(const struct folder *folder, const char *what)
{
    print_error("%s, with:\n", what);
    for (size_t i = 0; i < TABLES; i++)
        if (folder->table[i].there)
            print_error("== %s\n%.*s\n", names[i], (int)folder->table[i].length,
                        folder->table[i].bytes);
    fail_msg("%s", what);
}

static void check_refused(const struct folder *folder, const struct pd_errors *errors,
                          enum pd_status status, const struct pd_case *study_case)
{
    if (status != PD_ERR_INPUT && status != PD_ERR_FILE)
        refuse(folder, "a status that wrong input cannot have");
    if (study_case != NULL)
        refuse(folder, "a case comes out of wrong input");
    if (errors->count == 0)
        refuse(folder, "refused without a word");
    for (size_t i = 0; i < errors->count && i < PD_ERRORS_KEPT; i++) {
        char line[1024];
        const int length = pd_error_format(&errors->kept[i], line, sizeof line);
        if (length <= 0 || (size_t)length >= sizeof line || errors->kept[i].text[0] == '\0')
            refuse(folder, "an error without a text");
        if (strstr(line, ".csv") == NULL)
            refuse(folder, "an error that does not say where");
        for (const char *c = line; *c != '\0'; c++)
            if ((unsigned char)*c < 0x20 || *c == 0x7f)
                refuse(folder, "a message with a control character");
    }
}

/* Whether another scenario of the same break and supply has a figure within the limit, or over it
 * and disconnected. */
static bool covered(const struct pd_assessment *a, const struct pd_scenario *s)
{
    for (size_t i = 0; i < a->scenario_count; i++) {
        const struct pd_scenario *const other = &a->scenario[i];
        if (other->section == s->section && other->supply_v == s->supply_v && !other->floating &&
            isfinite(other->touch_v))
            return true;
    }
    return false;
}

static bool is_disconnected(const struct pd_assessment *a, const struct pd_scenario *s)
{
    for (size_t i = 0; i < a->study_case->detectors.count; i++) {
        const struct pd_sight *const sight = &s->sight[i];
        if (sight->kind == PD_SEES && sight->saves_touch && isfinite(sight->figure) &&
            sight->time_s >= 0 && sight->time_s <= a->study_case->limits.time_s)
            return true;
    }
    return false;
}

static void check_scenario(const struct folder *folder, const struct pd_assessment *a,
                           const struct pd_scenario *s)
{
    const struct pd_case *const c = a->study_case;
    const double limit_v = c->limits.touch_v;
    const bool has_figure = isfinite(s->touch_v) && isfinite(limit_v);
    if ((s->touch != PD_UNKNOWN) != has_figure)
        refuse(folder, "judged without a figure, or a figure not judged");
    if (s->touch == PD_WITHIN && !(s->touch_v >= 0 && s->touch_v <= limit_v))
        refuse(folder, "within the limit, but it is not");
    if (s->touch == PD_OVER && !(s->touch_v > limit_v))
        refuse(folder, "over the limit, but it is not");
    if (s->disconnected != is_disconnected(a, s))
        refuse(folder, "disconnected, but no device does it");
    if (s->touch == PD_UNKNOWN)
        return;
    if (s->standing != PD_SOLVED || !isfinite(s->residual) || !isfinite(s->supply_v))
        refuse(folder, "judged without a solution");
    if (c->earthing == PD_TT)
        return; /* the chassis is at earth, whatever becomes of the neutral */
    if (!isfinite(s->met_v) || !isfinite(s->electrode_a))
        refuse(folder, "judged beside a figure that is not finite");
    if (s->fault == PD_OPEN_NEUTRAL)
        return; /* the load's neutral may float, the chassis is on the PEN */
    for (int line = PD_L1; line < PD_LINES; line++)
        if ((c->installation_lines & 1u << line) != 0 && !isfinite(s->line_neutral_v[line]))
            refuse(folder, "judged beside a line voltage that is not finite");
}

static bool has_current(const struct pd_case *c)
{
    for (size_t i = 0; i < c->network->load_count; i++)
        if (c->network->load[i].high_a > 0)
            return true;
    return false;
}

static void check_acceptable(const struct folder *folder, const struct pd_assessment *a)
{
    const struct pd_case *const c = a->study_case;
    if (c->missing.count > 0)
        refuse(folder, "acceptable, but something is missing");
    if (!has_current(c))
        refuse(folder, "acceptable, but there is no load");
    if (a->scenario_count == 0 || a->residual_v != 0)
        refuse(folder, "acceptable, but nothing was worked out or something remains");
    if (pd_tt_beside_pme(c) &&
        !(c->reach_m >= 2.5 && isfinite(pd_case_electrode(c, c->charging_point))))
        refuse(folder, "acceptable, but PME metalwork may be in reach");
    if (a->rule_result != PD_MEETS)
        refuse(folder, "acceptable, but the rule is not met");
    for (size_t i = 0; i < a->scenario_count; i++) {
        const struct pd_scenario *const s = &a->scenario[i];
        if (!pd_fault_judged(s->fault))
            continue;
        const bool within = isfinite(s->touch_v) && s->touch_v <= c->limits.touch_v;
        if (!within && !(isfinite(s->touch_v) && s->disconnected) &&
            !(s->floating && covered(a, s)))
            refuse(folder, "acceptable, but not in every scenario");
    }
}

struct tally {
    size_t refused, assessed, acceptable, unknown;
};

static void check_assessed(const struct folder *folder, const struct pd_case *study_case,
                           struct tally *tally)
{
    struct pd_assessment *a;
    assert_int_equal(pd_assess(study_case, NULL, NULL, NULL, &a), PD_OK);
    for (size_t i = 0; i < a->scenario_count; i++)
        check_scenario(folder, a, &a->scenario[i]);
    if (a->overall == PD_ACCEPTABLE)
        check_acceptable(folder, a);
    if (a->because.count == 0)
        refuse(folder, "a verdict without a reason");
    if (a->network.electrode_max_ohm < 0 || a->rule.electrode_max_ohm < 0)
        refuse(folder, "an electrode below 0 ohm");
    tally->assessed++;
    tally->acceptable += a->overall == PD_ACCEPTABLE;
    tally->unknown += a->overall == PD_OVERALL_UNKNOWN;
    pd_assessment_free(&a);
}

static void try_folder(const struct folder *folder, struct tally *tally)
{
    static struct pd_errors errors;
    struct pd_case *study_case = NULL;
    errors = (struct pd_errors){.count = 0};
    write_folder(folder);
    const enum pd_status status = pd_case_read(folder->path, &study_case, &errors);
    if (status != PD_OK) {
        check_refused(folder, &errors, status, study_case);
        tally->refused++;
        return;
    }
    if (errors.count > 0)
        refuse(folder, "accepted with errors");
    check_assessed(folder, study_case, tally);
    pd_case_free(&study_case);
}

static void start(struct folder *folder)
{
    snprintf(folder->path, sizeof folder->path, "%s", "/tmp/pendrift-mutant-XXXXXX");
    assert_non_null(mkdtemp(folder->path));
}

/* The cases as they stand are good: what is refused below is refused for its damage. */
static void test_good_cases(void **state)
{
    static struct folder folder;
    struct tally tally = {0};
    (void)state;
    start(&folder);
    for (size_t i = 0; i < GOODS; i++) {
        take_good(&folder, i);
        try_folder(&folder, &tally);
    }
    remove_folder(&folder);
    assert_int_equal(tally.refused, 0);
    assert_int_equal(tally.unknown, 0);
    assert_in_range(tally.acceptable, 1, GOODS);
}

static void test_mutations(void **state)
{
    static struct folder folder;
    struct stream stream = {20261125};
    struct tally tally = {0};
    const size_t tries = TRIES * soak();
    (void)state;
    print_message("seed %llu, %zu tries\n", (unsigned long long)stream.state, tries);
    start(&folder);
    for (size_t i = 0; i < tries; i++) {
        take_good(&folder, i % GOODS);
        for (size_t k = stream_below(&stream, MUTATIONS_MAX) + 1; k > 0; k--)
            mutate(&stream, &folder);
        try_folder(&folder, &tally);
    }
    remove_folder(&folder);
    print_message("%zu refused, %zu assessed: %zu acceptable, %zu not determined\n", tally.refused,
                  tally.assessed, tally.acceptable, tally.unknown);
    /* Each way out is taken often, or the test tries nothing. */
    assert_in_range(tally.refused, tries / 10, tries);
    assert_in_range(tally.acceptable, tries / 50, tries);
    assert_in_range(tally.unknown, tries / 200, tries);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_good_cases),
                                       cmocka_unit_test(test_mutations)};
    return cmocka_run_group_tests_name("bad input, mutated", tests, NULL, NULL);
}
