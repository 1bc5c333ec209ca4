/* SPDX-License-Identifier: GPL-3.0-or-later */

/* The report room, by assessments filled in by hand. What is right comes from DESIGN sections 7 and
 * 10 (shape of the JSON, cautions), RFC 8259 by way of jansson's own parser, RFC 4180 by way of
 * libcsv's own parser, and the contract in the headers. */

#include "check.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <csv.h>
#include <jansson.h>

#include "report/cautions.h"
#include "report/figure.h"
#include "report/page.h"
#include "report/plain.h"
#include "report/report.h"

/* A street of `sections` breaks with a scenario each, and one healthy before them. */
struct filled {
    struct pd_case study_case;
    struct pd_assessment assessment;
};

static const char *const long_word = /* 120 characters of two bytes without a blank, as a name may
                                         not be longer than 120 bytes: 60 of them */
    "éééééééééééééééééééééééééééééééééééééééééééééééééééééééééééé";

static struct pd_network *make_network(size_t sections)
{
    struct pd_network *network;
    assert_int_equal(pd_network_new(PD_THREE_PHASE, 230, &network), PD_OK);
    for (size_t i = 0; i < sections; i++) {
        char name[96], from[32], to[32];
        snprintf(name, sizeof name, "street \"%zu\", a long way from the substation, end %zu", i,
                 i);
        snprintf(from, sizeof from, i == 0 ? "substation" : "node%zu", i);
        snprintf(to, sizeof to, "node%zu", i + 1);
        const struct pd_section section = {.name = name, .from = from, .to = to};
        assert_int_equal(pd_network_add_section(network, &section, NULL), PD_OK);
    }
    assert_int_equal(pd_network_close(network, NULL), PD_OK);
    return network;
}

static void fill_case(struct pd_case *study_case, size_t sections)
{
    study_case->network = make_network(sections);
    study_case->installation = study_case->charging_point = sections;
    study_case->installation_lines = 7;
    study_case->supply_v = 230;
    study_case->demand_limit_a = NAN;
    study_case->limits = (struct pd_limits){.set = "gb-outdoor-charging",
                                            .touch_v = 70,
                                            .band_low_v = 207,
                                            .band_high_v = 253,
                                            .time_s = 5,
                                            .status = "from memory",
                                            .source = "a source; another"};
    snprintf(study_case->title, sizeof study_case->title, "%s", long_word);
    study_case->detectors.count = 2;
    study_case->detectors.detector = calloc(2, sizeof *study_case->detectors.detector);
    assert_non_null(study_case->detectors.detector);
    snprintf(study_case->detectors.detector[0].name, PD_NAME_MAX, "point, \"band\"");
    snprintf(study_case->detectors.detector[1].name, PD_NAME_MAX + 1, "%s", long_word);
    assert_int_equal(pd_notes_add(&study_case->assumptions, "Taken as read."), PD_OK);
}

static struct pd_scenario make_scenario(size_t section, double touch_v, struct pd_sight *sight)
{
    sight[0] = (struct pd_sight){.kind = PD_SEES, .time_s = 0.5, .saves_touch = true};
    sight[1] = (struct pd_sight){.kind = PD_SIGHT_UNKNOWN, .time_s = NAN, .figure = NAN};
    return (struct pd_scenario){.fault = section == PD_NONE ? PD_HEALTHY : PD_OPEN_PEN,
                                .section = section,
                                .supply_v = 230,
                                .met_v = touch_v,
                                .touch_v = touch_v,
                                .line_neutral_v = {236.1, 258.25, NAN},
                                .electrode_a = 1.25,
                                .residual = 1e-14,
                                .sight = sight,
                                .disconnected = true,
                                .touch = pd_judge(touch_v, 70)};
}

static void fill_routes(struct pd_assessment *assessment)
{
    for (int i = 0; i < PD_ROUTES; i++) {
        struct pd_route *const route = &assessment->route[i];
        *route = (struct pd_route){.kind = (enum pd_route_kind)(i + 1),
                                   .result = (enum pd_result)(i % PD_RESULTS),
                                   .value = NAN,
                                   .limit = NAN,
                                   .margin = NAN,
                                   .unit = ""};
        snprintf(route->why, sizeof route->why, "Because %s it is so.", long_word);
    }
    assessment->route[1].value = 12;
    assessment->route[1].limit = 3.1447;
    assessment->route[1].margin = -8.8553;
    assessment->route[1].unit = "ohm";
    snprintf(assessment->route[1].scenario, sizeof assessment->route[1].scenario, "PEN open");
}

static void fill(struct filled *filled, size_t sections)
{
    *filled = (struct filled){0};
    fill_case(&filled->study_case, sections);
    struct pd_assessment *const assessment = &filled->assessment;
    assessment->study_case = &filled->study_case;
    assessment->overall = PD_RESIDUAL_HAZARD;
    assessment->rule = (struct pd_reading){PD_NOT_NEEDED, INFINITY, PD_SUFFICIENT};
    assessment->network = (struct pd_reading){PD_NEEDED, 3.1458, PD_INSUFFICIENT};
    assessment->residual_v = 109;
    assessment->divider_ohm = assessment->annex_ohm = NAN;
    assert_int_equal(pd_notes_add(&assessment->because, "Rule and network differ."), PD_OK);
    fill_routes(assessment);
    assessment->scenario_count = sections + 1;
    assessment->break_count = sections;
    assessment->scenario = calloc(sections + 1, sizeof *assessment->scenario);
    assessment->sight = calloc(2 * (sections + 1), sizeof *assessment->sight);
    assert_true(assessment->scenario != NULL && assessment->sight != NULL);
    assessment->scenario[0] = make_scenario(PD_NONE, 0.25, &assessment->sight[0]);
    for (size_t i = 1; i <= sections; i++)
        assessment->scenario[i] = make_scenario(i, 99 + (double)i, &assessment->sight[2 * i]);
    assessment->worst = assessment->worst_unseen = sections;
}

static void clear(struct filled *filled)
{
    pd_notes_free(&filled->assessment.because);
    pd_notes_free(&filled->study_case.assumptions);
    pd_notes_free(&filled->study_case.missing);
    free(filled->assessment.scenario);
    free(filled->assessment.sight);
    free(filled->study_case.detectors.detector);
    pd_network_free(&filled->study_case.network);
}

enum kind { TEXT, JSON, CSV };

static enum pd_status write_as(enum kind kind, FILE *out, const struct pd_assessment *assessment,
                               bool color)
{
    const struct pd_report_style style = {.color = color};
    return kind == TEXT   ? pd_report_text(out, assessment, &style)
           : kind == JSON ? pd_report_json(out, assessment)
                          : pd_report_csv(out, assessment);
}

/* The whole report, freed by the caller. */
static char *report(enum kind kind, const struct pd_assessment *assessment, bool color)
{
    char *text = NULL;
    size_t length;
    FILE *const out = open_memstream(&text, &length);
    assert_non_null(out);
    assert_int_equal(write_as(kind, out, assessment, color), PD_OK);
    assert_int_equal(fclose(out), 0);
    return text;
}

/* `text` with every run of blanks, line ends and '#' made one blank: what wrapping does not change.
 */
static char *unwrapped(const char *text)
{
    char *const flat = malloc(strlen(text) + 1);
    assert_non_null(flat);
    size_t length = 0;
    for (; *text != '\0'; text++)
        if (*text != ' ' && *text != '\n')
            flat[length++] = *text;
        else if (length > 0 && flat[length - 1] != ' ')
            flat[length++] = ' ';
    flat[length] = '\0';
    return flat;
}

static void assert_contains(const char *text, const char *wanted)
{
    if (strstr(text, wanted) != NULL)
        return;
    print_error("not found: %s\nin: %s\n", wanted, text);
    fail();
}

/* "resonant" has a nan in it that is none. */
static void assert_no_word(const char *text, const char *word)
{
    const size_t length = strlen(word);
    for (const char *at = text; (at = strcasestr(at, word)) != NULL; at++)
        if ((at == text || !isalpha((unsigned char)at[-1])) && !isalpha((unsigned char)at[length]))
            fail_msg("%s in: %s", word, text);
}

static void test_cautions_in_all(void **state)
{
    (void)state;
    struct filled filled;
    fill(&filled, 3);
    for (enum kind kind = TEXT; kind <= CSV; kind++) {
        char *const text = report(kind, &filled.assessment, false);
        char *const flat = unwrapped(text);
        for (size_t i = 0; i < PD_CAUTIONS; i++)
            assert_contains(flat, pd_cautions[i]);
        free(flat);
        free(text);
    }
    clear(&filled);
}

/* DESIGN section 10 names what the cautions must say. */
static void test_cautions_say_all(void **state)
{
    (void)state;
    static const char *const subjects[] = {"kill",
                                           "aid to competent people",
                                           "current edition",
                                           "distributor",
                                           "PEN conductor to test",
                                           "TN-S",
                                           "season",
                                           "from memory"};
    char all[4096] = "";
    for (size_t i = 0; i < PD_CAUTIONS; i++)
        strncat(all, pd_cautions[i], sizeof all - strlen(all) - 1);
    for (size_t i = 0; i < sizeof subjects / sizeof subjects[0]; i++)
        assert_contains(all, subjects[i]);
    assert_contains(pd_caution_short, "LETHAL");
}

static void check_lines(const char *text)
{
    while (*text != '\0') {
        const char *const end = strchr(text, '\n');
        assert_non_null(end);
        size_t characters = 0;
        for (const char *at = text; at < end; at++)
            characters += ((unsigned char)*at & 0xc0) != 0x80;
        if (characters > 80 || (end > text && end[-1] == ' ')) {
            print_error("%zu characters: %.*s|\n", characters, (int)(end - text), text);
            fail();
        }
        text = end + 1;
    }
}

/* Words, numbers and names of every length up to what a case may hold: the lines stay within 80. */
static void test_text_width(void **state)
{
    (void)state;
    for (size_t sections = 1; sections <= 12; sections++) {
        struct filled filled;
        fill(&filled, sections);
        for (size_t length = 0; length < 58; length++) {
            struct pd_scenario *const last = &filled.assessment.scenario[sections];
            last->touch_v = last->met_v = pow(10, (double)(length % 12));
            memcpy(filled.study_case.title, long_word, sizeof filled.study_case.title);
            memcpy(filled.study_case.title + 2 * length, "x ", 2);
            snprintf(filled.study_case.detectors.detector[0].name, PD_NAME_MAX, "%.*s",
                     (int)(2 * length), long_word);
            char *const text = report(TEXT, &filled.assessment, false);
            check_lines(text);
            free(text);
        }
        clear(&filled);
    }
}

static void test_text_order(void **state)
{
    (void)state;
    struct filled filled;
    fill(&filled, 12);
    char *const text = report(TEXT, &filled.assessment, false);
    assert_int_equal(strncmp(text, "RESIDUAL HAZARD  ", 17), 0);
    static const char *const in_order[] = {"RESIDUAL HAZARD",
                                           "Rule and network differ.",
                                           "LETHAL VOLTAGES",
                                           "TWO READINGS",
                                           "3.14 ohm or less",
                                           "ROUTES",
                                           "has 12.0 ohm, limit 3.14 ohm, margin -8.9 ohm",
                                           "SCENARIOS THAT DECIDE",
                                           "each section at its worst",
                                           "111.0",
                                           "110.0",
                                           "104.0",
                                           "4 more: --format csv",
                                           "LIMITS",
                                           "from memory",
                                           "ASSUMED",
                                           "CAUTIONS"};
    const char *at = text;
    for (size_t i = 0; i < sizeof in_order / sizeof in_order[0]; i++) {
        assert_contains(at, in_order[i]);
        at = strstr(at, in_order[i]);
    }
    assert_no_word(text, "nan");
    assert_no_word(text, "inf");
    free(text);
    clear(&filled);
}

/* Colour adds marks and takes nothing away. */
static void test_text_color(void **state)
{
    (void)state;
    struct filled filled;
    fill(&filled, 2);
    char *const plain = report(TEXT, &filled.assessment, false);
    char *const colored = report(TEXT, &filled.assessment, true);
    assert_null(strchr(plain, '\033'));
    size_t length = 0;
    for (const char *at = colored; *at != '\0'; at++) {
        if (*at == '\033')
            at += strcspn(at, "m");
        else
            colored[length++] = *at;
    }
    colored[length] = '\0';
    assert_string_equal(colored, plain);
    free(plain);
    free(colored);
    clear(&filled);
}

static json_t *parse(enum kind kind, const struct pd_assessment *assessment)
{
    char *const text = report(kind, assessment, false);
    json_error_t error;
    json_t *const json = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    if (json == NULL)
        print_error("%s in line %d of %s\n", error.text, error.line, text);
    assert_non_null(json);
    free(text);
    return json;
}

static json_t *at(json_t *json, const char *path)
{
    char copy[256];
    snprintf(copy, sizeof copy, "%s", path);
    char *rest = NULL;
    for (char *key = strtok_r(copy, ".", &rest); key != NULL; key = strtok_r(NULL, ".", &rest)) {
        json = json_is_array(json) ? json_array_get(json, (size_t)atoi(key))
                                   : json_object_get(json, key);
        if (json == NULL)
            print_error("no '%s' of '%s'\n", key, path);
        assert_non_null(json);
    }
    return json;
}

/* Every key of DESIGN section 7 is there. */
static void test_json_shape(void **state)
{
    (void)state;
    static const char *const paths[] = {"limits.set",
                                        "limits.touch_v",
                                        "limits.band_low_v",
                                        "limits.band_high_v",
                                        "limits.time_s",
                                        "limits.status",
                                        "cautions.0",
                                        "verdict.because.0",
                                        "verdict.rule.electrode.answer",
                                        "verdict.rule.electrode.max_ohm",
                                        "verdict.rule.detection.answer",
                                        "verdict.network.electrode.answer",
                                        "verdict.network.electrode.max_ohm",
                                        "verdict.network.detection.answer",
                                        "verdict.network.residual_v",
                                        "routes.5.route",
                                        "routes.0.result",
                                        "routes.0.value",
                                        "routes.0.limit",
                                        "routes.0.unit",
                                        "routes.0.margin",
                                        "routes.0.scenario",
                                        "scenarios.1.fault",
                                        "scenarios.1.section",
                                        "scenarios.1.loads",
                                        "scenarios.1.supply_v",
                                        "scenarios.1.met_v",
                                        "scenarios.1.touch_v",
                                        "scenarios.1.line_neutral_v.2",
                                        "scenarios.1.electrode_a",
                                        "scenarios.1.converged",
                                        "scenarios.1.detectors.0.detector",
                                        "scenarios.1.detectors.0.sees",
                                        "scenarios.1.detectors.0.time_s"};
    struct filled filled;
    fill(&filled, 2);
    json_t *const json = parse(JSON, &filled.assessment);
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++)
        at(json, paths[i]);
    assert_int_equal(json_integer_value(at(json, "schema")), 1);
    assert_string_equal(json_string_value(at(json, "case")), filled.study_case.title);
    assert_string_equal(json_string_value(at(json, "verdict.overall")), "residual hazard");
    for (size_t i = 0; i < PD_ROUTES; i++)
        assert_int_equal(
            json_integer_value(json_object_get(json_array_get(at(json, "routes"), i), "route")),
            i + 1);
    json_decref(json);
    clear(&filled);
}

static void test_json_values(void **state)
{
    (void)state;
    struct filled filled;
    fill(&filled, 2);
    json_t *const json = parse(JSON, &filled.assessment);
    assert_true(json_is_null(at(json, "verdict.rule.electrode.max_ohm")));
    assert_close(json_real_value(at(json, "verdict.network.electrode.max_ohm")), 3.1458, 1e-11, 0);
    assert_true(json_is_null(at(json, "routes.0.value")));
    assert_close(json_real_value(at(json, "routes.1.margin")), -8.8553, 1e-11, 0);
    assert_true(json_is_null(at(json, "scenarios.0.section")));
    assert_true(json_is_null(at(json, "scenarios.1.line_neutral_v.2")));
    assert_close(json_real_value(at(json, "scenarios.1.line_neutral_v.1")), 258.25, 1e-11, 0);
    assert_string_equal(json_string_value(at(json, "scenarios.2.section")),
                        filled.study_case.network->node[2].section);
    assert_true(json_is_true(at(json, "scenarios.1.detectors.0.sees")));
    assert_true(json_is_null(at(json, "scenarios.1.detectors.1.sees")));
    assert_true(json_is_null(at(json, "scenarios.1.detectors.1.time_s")));
    json_decref(json);
    filled.assessment.residual_v = 0;
    filled.study_case.installation_lines = 2;
    json_t *const second = parse(JSON, &filled.assessment);
    assert_true(json_is_real(at(second, "verdict.network.residual_v")));
    assert_int_equal(json_array_size(at(second, "scenarios.1.line_neutral_v")), 1);
    json_decref(second);
    clear(&filled);
}

/* What is not solved, or floats, shows no voltage in any format, whatever is in the struct. */
static void test_unsure_scenarios(void **state)
{
    (void)state;
    struct filled filled;
    fill(&filled, 3);
    struct pd_scenario *const scenario = filled.assessment.scenario;
    scenario[1].standing = PD_UNCONVERGED;
    scenario[2].standing = PD_RESONANT;
    scenario[3].floating = true;
    for (size_t i = 1; i <= 3; i++)
        scenario[i].met_v = scenario[i].touch_v = 12.625;
    scenario[1].residual = INFINITY;
    for (enum kind kind = TEXT; kind <= CSV; kind++) {
        char *const text = report(kind, &filled.assessment, false);
        assert_null(strstr(text, "12.6"));
        assert_no_word(text, "nan");
        assert_no_word(text, "inf");
        assert_no_word(text, "infinity");
        free(text);
    }
    json_t *const json = parse(JSON, &filled.assessment);
    assert_true(json_is_false(at(json, "scenarios.1.converged")));
    assert_true(json_is_false(at(json, "scenarios.2.converged")));
    assert_true(json_is_true(at(json, "scenarios.3.floating")));
    assert_true(json_is_null(at(json, "scenarios.1.touch_v")));
    assert_true(json_is_null(at(json, "scenarios.1.over_limit")));
    assert_true(json_is_null(at(json, "scenarios.1.residual")));
    json_decref(json);
    clear(&filled);
}

/* A case of which the network could not even be built. */
static void test_nothing_computed(void **state)
{
    (void)state;
    struct filled filled;
    fill(&filled, 1);
    pd_network_free(&filled.study_case.network);
    filled.assessment.scenario_count = 0;
    filled.assessment.overall = PD_OVERALL_UNKNOWN;
    filled.assessment.residual_v = NAN;
    filled.assessment.worst = filled.assessment.worst_unseen = PD_NONE;
    assert_int_equal(pd_notes_add(&filled.study_case.missing, "The limit set."), PD_OK);
    char *const text = report(TEXT, &filled.assessment, false);
    assert_int_equal(strncmp(text, "NOT DETERMINED", 14), 0);
    check_lines(text);
    free(text);
    json_t *const json = parse(JSON, &filled.assessment);
    assert_int_equal(json_array_size(at(json, "scenarios")), 0);
    assert_string_equal(json_string_value(at(json, "verdict.missing.0")), "The limit set.");
    assert_true(json_is_null(at(json, "verdict.network.residual_v")));
    json_decref(json);
    free(report(CSV, &filled.assessment, false));
    clear(&filled);
}

/* A sentence cut within a character, and bytes that a terminal would obey. */
static void test_broken_text(void **state)
{
    (void)state;
    struct filled filled;
    fill(&filled, 1);
    assert_int_equal(pd_notes_add(&filled.assessment.because, "cut at \xc3"), PD_OK);
    assert_int_equal(pd_notes_add(&filled.assessment.because, "bell\a and \033[31mred"), PD_OK);
    char *const text = report(TEXT, &filled.assessment, false);
    assert_null(strchr(text, '\a'));
    assert_null(strchr(text, '\033'));
    assert_contains(text, "- cut at\n");
    free(text);
    json_t *const json = parse(JSON, &filled.assessment);
    assert_string_equal(json_string_value(at(json, "verdict.because.1")), "cut at ");
    json_decref(json);
    clear(&filled);
}

/* What libcsv's parser makes of the table below the comments. */
struct cells {
    size_t row, column, width, rows;
    char cell[8][64][256]; /* the first rows */
};

static void on_cell(void *text, size_t length, void *context)
{
    struct cells *const cells = context;
    assert_in_range(cells->column, 0, 63);
    if (cells->row < 8)
        snprintf(cells->cell[cells->row][cells->column], 256, "%.*s", (int)length, (char *)text);
    cells->column++;
}

static void on_row(int end, void *context)
{
    struct cells *const cells = context;
    (void)end;
    if (cells->row == 0)
        cells->width = cells->column;
    assert_int_equal(cells->column, cells->width);
    cells->row++;
    cells->column = 0;
}

static size_t column_of(const struct cells *cells, const char *name)
{
    for (size_t i = 0; i < cells->width; i++)
        if (strcmp(cells->cell[0][i], name) == 0)
            return i;
    print_error("no column %s\n", name);
    fail();
    return 0;
}

static void test_csv_parses_back(void **state)
{
    (void)state;
    static struct cells cells;
    struct filled filled;
    fill(&filled, 3);
    filled.assessment.scenario[3].electrode_a = INFINITY;
    char *const text = report(CSV, &filled.assessment, false);
    const char *table = text;
    while (*table == '#')
        table = strchr(table, '\n') + 1;
    struct csv_parser parser;
    assert_int_equal(csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI), 0);
    assert_int_equal(csv_parse(&parser, table, strlen(table), on_cell, on_row, &cells),
                     strlen(table));
    assert_int_equal(csv_fini(&parser, on_cell, on_row, &cells), 0);
    csv_free(&parser);
    assert_int_equal(cells.row, 5);
    assert_string_equal(cells.cell[1][column_of(&cells, "fault")], "healthy");
    assert_string_equal(cells.cell[3][column_of(&cells, "section")],
                        filled.study_case.network->node[2].section);
    assert_close(atof(cells.cell[4][column_of(&cells, "touch_v")]), 102, 1e-11, 0);
    assert_string_equal(cells.cell[4][column_of(&cells, "electrode_a")], "");
    assert_string_equal(cells.cell[4][column_of(&cells, "line3_neutral_v")], "");
    assert_string_equal(cells.cell[4][column_of(&cells, "detector1")], "point, \"band\"");
    assert_string_equal(cells.cell[4][column_of(&cells, "detector1_sees")], "yes");
    assert_string_equal(cells.cell[4][column_of(&cells, "detector2_sees")], "unknown");
    free(text);
    clear(&filled);
}

/* A full disk, by the device that plays one. */
static void test_write_failures(void **state)
{
    (void)state;
    struct filled filled;
    fill(&filled, 60);
    for (enum kind kind = TEXT; kind <= CSV; kind++) {
        FILE *const out = fopen("/dev/full", "w");
        assert_non_null(out);
        setvbuf(out, NULL, _IONBF, 0);
        assert_int_equal(write_as(kind, out, &filled.assessment, false), PD_ERR_FILE);
        fclose(out);
    }
    clear(&filled);
}

/* Words of every length at every place: none is broken that fits on a line, none is lost. */
static void test_page_wraps(void **state)
{
    (void)state;
    for (int indent = 0; indent < 40; indent += 13) {
        for (size_t length = 1; length <= 40; length++) {
            char words[500] = "", *text = NULL;
            size_t size;
            for (size_t used = 0; used + length + 1 < 400; used += length + 1)
                snprintf(words + used, sizeof words - used, "%.*s ", (int)length,
                         "abcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyz");
            struct pd_page page = {.out = open_memstream(&text, &size)};
            assert_non_null(page.out);
            pd_page_paragraph(&page, 0, "", indent, words);
            assert_int_equal(fclose(page.out), 0);
            check_lines(text);
            char *const flat = unwrapped(text);
            assert_string_equal(flat + strspn(flat, " "), words);
            free(flat);
            free(text);
        }
    }
}

static void test_figures(void **state)
{
    (void)state;
    assert_string_equal(pd_figure_v(NAN).text, "-");
    assert_string_equal(pd_figure_v(-INFINITY).text, "-");
    assert_string_equal(pd_figure_v(-0.04).text, "0.0");
    assert_string_equal(pd_figure_v(-0.05001).text, "-0.1");
    assert_string_equal(pd_figure_ohm_most(3.1499).text, "3.14");
    assert_string_equal(pd_figure_ohm_most(166.99).text, "166");
    assert_string_equal(pd_figure_ohm(12.04).text, "12.0");
    /* a value just over its limit must not read as equal to it */
    const struct pd_figure_pair over = pd_figure_pair(70.004, 70, -0.004, "V");
    assert_string_equal(over.value.text, "70.004");
    assert_string_equal(over.limit.text, "70.000");
    assert_string_equal(pd_figure_pair(70, 70, 0, "V").value.text, "70.0");
    const struct pd_figure_pair within = pd_figure_pair(3.146, 3.1461, 0.0001, "ohm");
    assert_true(atof(within.value.text) < atof(within.limit.text));
    /* far from it, each as it is printed anywhere else */
    const struct pd_figure_pair far = pd_figure_pair(16.8, 2.7487, -14.0513, "ohm");
    assert_string_equal(far.value.text, "16.8");
    assert_string_equal(far.limit.text, "2.74");
    assert_string_equal(far.margin.text, "-14.1");
    assert_string_equal(pd_figure_ohm(0.0523).text, "0.0523");
    assert_string_equal(pd_figure_ohm(0.00123456).text, "0.00123");
    assert_string_equal(pd_figure_ohm(0).text, "0.00");
    assert_string_equal(pd_figure_ohm(NAN).text, "-");
    assert_string_equal(pd_figure_s(4).text, "4");
    assert_string_equal(pd_figure_s(0.5).text, "0.5");
    assert_string_equal(pd_figure_s(60.25).text, "60.25");
    assert_string_equal(pd_figure_s(300).text, "300");
    assert_string_equal(pd_figure_s(0.04).text, "0.04");
    assert_string_equal(pd_figure_s(0).text, "0");
    assert_string_equal(pd_figure_s(NAN).text, "-");
    assert_string_equal(pd_figure_ma(0.289).text, "289");
    assert_string_equal(pd_figure_ma(0.00379).text, "3.8");
}

static void test_plain(void **state)
{
    (void)state;
    assert_string_equal(pd_plain("caf\xc3\xa9").text, "caf\xc3\xa9");
    assert_string_equal(pd_plain("a\xff"
                                 "b\tc")
                            .text,
                        "a?b?c");
    assert_int_equal(pd_plain_length("caf\xc3\xa9"), 4);
    assert_string_equal(pd_plain_short("section number 12", 11).text, "secti..r 12");
    assert_string_equal(pd_plain_short("short", 11).text, "short");
    assert_int_equal(pd_plain_length(pd_plain_short(long_word, 20).text), 20);
}

static void test_errors_bounded(void **state)
{
    (void)state;
    static struct pd_errors errors;
    for (size_t i = 0; i < PD_ERRORS_KEPT + 7; i++)
        pd_errors_add(&errors, PD_ERR_INPUT, "loads.csv", i + 2, "node", "is wrong");
    char *text = NULL;
    size_t length;
    FILE *const out = open_memstream(&text, &length);
    assert_non_null(out);
    pd_report_errors(out, &errors);
    fclose(out);
    assert_int_equal(strncmp(text, "loads.csv:2: node: is wrong\n", 28), 0);
    assert_contains(text, "loads.csv:51: node: is wrong\nand 7 more\n");
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cautions_in_all),
        cmocka_unit_test(test_cautions_say_all),
        cmocka_unit_test(test_text_width),
        cmocka_unit_test(test_text_order),
        cmocka_unit_test(test_text_color),
        cmocka_unit_test(test_json_shape),
        cmocka_unit_test(test_json_values),
        cmocka_unit_test(test_unsure_scenarios),
        cmocka_unit_test(test_nothing_computed),
        cmocka_unit_test(test_broken_text),
        cmocka_unit_test(test_csv_parses_back),
        cmocka_unit_test(test_write_failures),
        cmocka_unit_test(test_page_wraps),
        cmocka_unit_test(test_figures),
        cmocka_unit_test(test_plain),
        cmocka_unit_test(test_errors_bounded),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
