#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Instructions for one pair of load state and break, counted by callgrind: what the clock cannot
# blur. Usage: bench_count.sh BENCH_BREAKS
set -u
bench=$1
calls=20

# Instructions in one call of a function of bench_breaks.c, callgrind's count being off outside it.
instructions() { # houses, function
    valgrind --tool=callgrind --callgrind-out-file=/dev/null --toggle-collect="$2" \
        "$bench" "$1" "$2" $calls 2>&1 |
        awk -v calls=$calls '/Collected/ { n = $NF / calls } END { if (!(n > 0)) exit 1; printf "%.0f\n", n }'
}

row() { # houses, work, ours, KLU's
    echo "$1 $2 $3 $4" | awk '{ printf "%6d  %-16s %12.0f %12.0f %7.2f\n", $1, $2, $3, $4, $4 / $3 }'
}

echo "Instructions by callgrind, mean of $calls calls spread over the street. one: state"
echo "and break. break: a break more, KLU refactors. rank-one: a break more, KLU by a"
echo "change of rank one, four at a time. state: a state taken up for all its breaks."
echo "ratio: KLU's over ours."
echo
echo "houses  work                     ours          KLU   ratio"
nothing() {
    echo "callgrind counted nothing" >&2
    exit 2
}

for houses in 10 55 200; do
    one=$(instructions $houses tree_one) || nothing
    klu_one=$(instructions $houses klu_one) || nothing
    more=$(instructions $houses tree_break) || nothing
    klu_more=$(instructions $houses klu_break) || nothing
    four=$(instructions $houses klu_call) || nothing
    state=$(instructions $houses tree_state) || nothing
    klu_state=$(instructions $houses klu_state_whole) || nothing
    row $houses one "$one" "$klu_one"
    row $houses break "$more" "$klu_more"
    row $houses rank-one "$more" $((four / 4))
    row $houses state "$state" "$klu_state"
done
