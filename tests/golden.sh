#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Holds the program's output for each case against the one kept: stdout, stderr and exit status.
# PENDRIFT_RENEW=1 writes them anew; then read the difference before you commit it.
# Usage: golden.sh PROGRAM SOURCE_ROOT
set -u
program=$1
root=$2
golden=$root/tests/golden
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$root" || exit 1
failed=0
NO_COLOR=1
export NO_COLOR

# Residuals are rounding, and so are the last of many digits: they differ between compilers.
without_rounding() {
    perl -0pe 's/(largest residual) [0-9.e-]+,\s+engines apart by at most [0-9.e-]+ V/$1 *, engines apart by at most * V/' |
    perl -pe 's/("residual": |"largest_residual": |"largest_difference_v": |"iterations": |residual +)[0-9.e-]+/$1*/;
              s/(,solved,\w+,)[0-9.e-]+,\d+/$1*,*/;
              s/-?\b\d+(\.\d+e-\d+|e-\d+|\.\d{4,})/abs($&) < 1e-9 ? "0.0" : sprintf("%.6g", $&)/ge;
              s/([ ,])-?0(\.0)?(?=[,\s]|$)/${1}0.0/g'
}

try() { # file, then the arguments
    file=$1
    shift
    "$program" "$@" >"$work/out" 2>"$work/err"
    status=$?
    {
        echo "\$ pendrift $*"
        without_rounding <"$work/out"
        [ ! -s "$work/err" ] || sed 's/^/stderr: /' "$work/err"
        echo "exit status $status"
    } >"$work/got"
    if [ "${PENDRIFT_RENEW:-}" = 1 ]; then
        mkdir -p "$golden" && cp "$work/got" "$golden/$file"
    elif ! diff -u "$golden/$file" "$work/got"; then
        echo "golden: $file differs"
        failed=1
    fi
}

for case in cases/*/; do
    case=${case%/}
    name=${case#cases/}
    try "$name.txt" assess "$case"
done
for name in house-rod-12-ohm house-rod-unmeasured house-tt-point street street-bad-joint vehicle-lets-go; do
    try "$name.json" assess "cases/$name" --format json
done
try street.csv assess cases/street --format csv
log=cases/house-band-device/voltage-log.csv
try nuisance.txt nuisance cases/house-band-device $log
try nuisance.json nuisance cases/house-band-device $log --format json
try nuisance.csv nuisance cases/house-band-device $log --format csv
try nuisance-street.txt nuisance cases/street
try nuisance-unknown.txt nuisance cases/street-constant-power
try nuisance-no-log.txt nuisance cases/street cases/street/loads.csv
try commission.txt commission cases/street
try commission.json commission cases/house-weak-reference --format json
try commission.csv commission cases/house-recloses --format csv
try commission-nothing.txt commission cases/house-rod-unmeasured
try selftest.txt selftest
for name in laundry-one-line laundry-three-lines street farm-split-phase house-rod-unmeasured; do
    try "blind-$name.txt" blind "cases/$name"
done
try blind-laundry-three-lines.json blind cases/laundry-three-lines --format json
try blind-laundry-three-lines.csv blind cases/laundry-three-lines --format csv
try blind-alone.txt blind --senses three-line-neutral --low 207 --high 253
try blind-star-point.txt blind --senses star-point --limit 80 --tolerance 5 --touch-limit 50
try blind-nothing.txt blind

# The pictures beside the cases are what the command makes.
for picture in cases/*/blind.svg; do
    case=${picture%/blind.svg}
    "$program" blind "$case" --format svg >"$work/picture" 2>&1
    if [ "${PENDRIFT_RENEW:-}" = 1 ]; then
        cp "$work/picture" "$picture"
    elif ! diff -u "$picture" "$work/picture"; then
        echo "golden: $picture differs"
        failed=1
    fi
done
survey=cases/house-rods-in-line/survey.csv
try electrode-rod.txt electrode --soil 100 --length 2.4 --season 1.5
try electrode-no-season.txt electrode --soil 20 --want 20
try electrode-soft-clay.txt electrode --want 2.7 --soil soft-clay --season 1.5
try electrode-chalk.txt electrode --want 2.7 --soil chalk --season 1.5
try electrode-survey.txt electrode --want 2.7 --survey $survey --season 1.5
try electrode-survey.json electrode --want 2.7 --survey $survey --season 1.5 --format json
try electrode-layers.txt electrode --layers 100,2,400 --shape ring --length 6 --diameter 10 \
    --depth 0.6 --season frost-0c --separation 5
try electrode-square.csv electrode --soil 100 --shape square --length 2.4 --count 8 --spacing 3 \
    --format csv
try electrode-want.csv electrode --soil 30 --want 5 --season measured-year --format csv
try electrode-plate.json electrode --soil granite --shape plate --length 0.6 --format json
try electrode-foundation.txt electrode --soil 100 --shape foundation --length 6 --depth 0.6
try electrode-strip.txt electrode --soil silt --shape strip --length 20 --diameter 25 --depth 0.6
try electrode-wrong.txt electrode --soil chalc --season winter --shape wire --count 3 --length 2
try electrode-wrong-layers.txt electrode --layers 100,2 --length 2.4
try electrode-two-soils.txt electrode --soil 100 --layers 100,2,400 --length 2.4
try electrode-no-survey.txt electrode --survey cases/nowhere.csv --length 2.4
try electrode-not-a-survey.txt electrode --survey cases/street/case.csv --length 2.4

# The picture of the ground beside a case is what README's command makes.
ground="electrode --soil 200 --length 2.4 --season 1.5 --format svg"
# shellcheck disable=SC2086
"$program" $ground >"$work/ground" 2>&1
if [ "${PENDRIFT_RENEW:-}" = 1 ]; then
    cp "$work/ground" cases/house-tt-point/ground.svg
elif ! diff -u cases/house-tt-point/ground.svg "$work/ground"; then
    echo "golden: cases/house-tt-point/ground.svg differs"
    failed=1
fi
try strict.txt assess cases/street --strict --quiet
try replay.txt replay cases/street cases/street/profile.csv
try replay-all.txt replay cases/street cases/street/profile.csv --at all --worst 3
try replay.json replay cases/street cases/street/profile.csv --format json --worst 3
try replay.csv replay cases/street cases/street/profile.csv --format csv
try replay.svg replay cases/street cases/street/profile.csv --format svg
try replay-help.txt help replay
try help.txt --help
try nothing.txt
try no-such-case.txt assess cases/nowhere
try no-such-option.txt assess cases/street --colour=never
[ $failed -eq 0 ] && echo "golden: the same"
exit $failed
