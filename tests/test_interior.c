/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "case_folder.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* A declared range promises its inside as well as its corners. The touch voltage is largest at a
 * corner, but a device that watches a band may see every corner and be blind between them. So: no
 * case may be better, ranges and all, than the same case held at any one state inside its ranges.
 */

enum { LOADS = 3 };

struct range {
    double low, present, high;
};

static const char *const facts = "quantity,value,unit\nlimit_set,gb-outdoor-charging,-\n"
                                 "earthing,TN-C-S,-\nsystem,three-phase,-\ninstallation,h1,-\n";
static const char *const sections =
    "section,from,to,line_r_ohm,pen_r_ohm,neutral,lines\n"
    "main,substation,joint,0.01,0.01,pen,\ns1,joint,h1,0.01,0.01,pen,L1\n"
    "s2,joint,h2,0.01,0.01,pen,L2\ns3,joint,h3,0.01,0.01,pen,L3\n";
static const char *const device =
    "detector,node,senses,low_v,high_v,tolerance_v,delay_s,disconnects\n"
    "point,h1,line-neutral,209,251,2,4,live-and-pe\n";

static void assess(const struct range load[LOADS], struct study *study)
{
    struct case_text text = {0};
    struct folder folder;
    char loads[512];
    int length =
        snprintf(loads, sizeof loads, "load,node,phase,current_a,min_current_a,max_current_a\n");
    for (int i = 0; i < LOADS; i++)
        length += snprintf(loads + length, sizeof loads - (size_t)length,
                           "l%d,h%d,L%d,%.17g,%.17g,%.17g\n", i + 1, i + 1, i + 1, load[i].present,
                           load[i].low, load[i].high);
    case_text_set(&text, "case.csv", facts);
    case_text_set(&text, "sections.csv", sections);
    case_text_set(&text, "loads.csv", loads);
    case_text_set(&text, "detectors.csv", device);
    folder_make(&folder);
    folder_fill(&folder, &text);
    study_open(study, folder.path);
    folder_remove(&folder);
    case_text_free(&text);
}

/* Holds the ranges' verdict and residual against those of a state inside them. */
static void check_inside(const struct range ranged[LOADS], const struct range fixed[LOADS],
                         struct study *whole)
{
    struct study one = {0};
    assess(fixed, &one);
    const bool better = whole->a->overall == PD_ACCEPTABLE && one.a->overall != PD_ACCEPTABLE;
    const bool less = one.a->residual_v > whole->a->residual_v * (1 + 1e-9);
    if (better || less) {
        print_error("%s, %.1f V over the ranges; inside them %s, %.1f V, at:\n",
                    pd_overall_names[whole->a->overall], whole->a->residual_v,
                    pd_overall_names[one.a->overall], one.a->residual_v);
        for (int i = 0; i < LOADS; i++)
            print_error("  L%d %.3f A of %.3f to %.3f A\n", i + 1, fixed[i].present, ranged[i].low,
                        ranged[i].high);
    }
    study_close(&one);
    assert_false(better);
    assert_false(less);
}

/* Three houses on three lines of one main. Every corner is balanced or far outside the band; in
 * between, 18, 30 and 3 A leave house 1 at 246 V line to neutral and over 105 V to earth: by
 * Millman 230 |18 + 30 a^2 + 3 a| / 51 = 105.7 V. */
static void test_blind_between_corners(void **state)
{
    (void)state;
    const struct range ranged[LOADS] = {{1.3, 13, 39}, {1, 10, 30}, {1, 10, 30}};
    const struct range fixed[LOADS] = {{18, 18, 18}, {30, 30, 30}, {3, 3, 3}};
    const double half_sqrt3 = 0.86602540378443865;
    const double touch_v = 230 * hypot(18 - 0.5 * 33, half_sqrt3 * 27) / 51;
    assert_close(touch_v, 105.67, 0, 0.005);
    struct study whole = {0};
    assess(ranged, &whole);
    check_inside(ranged, fixed, &whole);
    study_close(&whole);
}

static void test_seeded(void **state)
{
    (void)state;
    const uint64_t seed = 20261125;
    struct stream stream = {seed};
    print_message("seed %llu\n", (unsigned long long)seed);
    for (size_t n = 0; n < 20 * soak(); n++) {
        struct range ranged[LOADS];
        for (int i = 0; i < LOADS; i++) {
            ranged[i].low = stream_uniform(&stream, 0, 5);
            ranged[i].high = ranged[i].low + stream_uniform(&stream, 0, 40);
            ranged[i].present = (ranged[i].low + ranged[i].high) / 2;
        }
        struct study whole = {0};
        assess(ranged, &whole);
        for (int k = 0; k < 20; k++) {
            struct range fixed[LOADS];
            for (int i = 0; i < LOADS; i++) {
                const double size = stream_uniform(&stream, ranged[i].low, ranged[i].high);
                fixed[i] = (struct range){size, size, size};
            }
            check_inside(ranged, fixed, &whole);
        }
        study_close(&whole);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_blind_between_corners),
        cmocka_unit_test(test_seeded),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
