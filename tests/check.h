/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PENDRIFT_TESTS_CHECK_H
#define PENDRIFT_TESTS_CHECK_H

/* What every test file includes first: cmocka with what it needs, and our own comparison of numbers
 * (cmocka's assert_float_equal casts to float and lets NaN pass). */

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* Whether got is within the larger of relative * |want| and absolute of want. False for any NaN. */
int close_enough(double got, double want, double relative, double absolute);

/* Fails the test, printing both numbers with 17 digits and `what`, unless close_enough. */
#define assert_close(got, want, relative, absolute)                                                \
    assert_close_at(#got, (got), (want), (relative), (absolute), __FILE__, __LINE__)

void assert_close_at(const char *what, double got, double want, double relative, double absolute,
                     const char *file, int line);

/* A repeatable stream of numbers (splitmix64) for seeded property tests. */
struct stream {
    uint64_t state;
};
uint64_t stream_next(struct stream *stream);
double stream_uniform(struct stream *stream, double low, double high);
/* A whole number from 0 to count - 1. */
size_t stream_below(struct stream *stream, size_t count);

/* How many times as many tries a property test makes: PENDRIFT_SOAK in the environment, default 1.
 */
size_t soak(void);

#endif
