#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Instructions of the batch for one pair of load state and break, counted by callgrind, which knows
# no AVX-512. Usage: bench_batch_count.sh BENCH_BATCH
set -u
bench=$1
calls=8

# Instructions for a pair, callgrind's count being off outside the function of bench_batch.c.
instructions() { # houses, function, width
    valgrind --tool=callgrind --callgrind-out-file=/dev/null --toggle-collect="$2" \
        "$bench" "$1" "$2" "$3" $calls 2>&1 |
        awk -v calls=$calls '/^pairs/ { pairs = $2 } /Collected/ { n = $NF / calls }
            END { if (!(n > 0 && pairs > 0)) exit 1; printf "%.1f\n", n / pairs }'
}

echo "Instructions of the batch for a pair of load state and break by callgrind, eight"
echo "states side by side, one voltage wanted. one: one break for each load state, mean"
echo "of $calls places. all: all breaks of the street for each."
echo
echo "houses  work     baseline         AVX2"
for houses in 10 55 200; do
    for work in one all; do
        baseline=$(instructions $houses batch_$work baseline) && avx2=$(instructions $houses batch_$work avx2) || {
            echo "callgrind counted nothing" >&2
            exit 2
        }
        printf '%6d  %-4s %12s %12s\n' $houses $work "$baseline" "$avx2"
    done
done
