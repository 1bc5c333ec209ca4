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
    [ -f "$case/case.csv" ] || continue
    try "$name.txt" assess "$case"
done
for name in house-rod-12-ohm house-rod-unmeasured house-tt-point street street-bad-joint vehicle-lets-go; do
    try "$name.json" assess "cases/$name" --format json
done
try street.csv assess cases/street --format csv
try house-rod-12-ohm.html assess cases/house-rod-12-ohm --format html
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
try audit.txt audit cases/audit-oddenbury/sites.csv
try audit.csv audit cases/audit-oddenbury/sites.csv --format csv --only not-supported
try audit.json audit cases/audit-oddenbury/sites.csv --format json --only insufficient-evidence --quiet
try audit-conventional.txt audit cases/audit-oddenbury/sites.csv --limits conventional-50 --quiet
try audit-street.csv audit cases/audit-oddenbury/sites.csv --street cases/street --format csv --only not-supported --quiet
for sheet in tests/bad/audit/*.csv; do
    sheet_name=${sheet##*/}
    try "audit-bad-${sheet_name%.csv}.txt" audit "$sheet" --format csv
done
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
for name in house-rod-12-ohm house-tt-point house-rod-unmeasured street vehicle-lets-go workshop-unbalanced; do
    try "explain-$name.txt" explain "cases/$name"
done
try explain-house-rod-12-ohm.json explain cases/house-rod-12-ohm --format json
try explain-csv.txt explain cases/street --format csv
try explain-house-rod-unmeasured.html explain cases/house-rod-unmeasured --format html
for name in vehicle-lets-go house-recloses house-inverter-lets-go house-rod-unmeasured house-tt-point street-constant-power; do
    try "aftermath-$name.txt" aftermath "cases/$name"
done
try aftermath-street-service.txt aftermath cases/street --section service19 --loads present --horizon 10
try aftermath-vehicle-lets-go.json aftermath cases/vehicle-lets-go --format json
try aftermath-house-recloses.csv aftermath cases/house-recloses --format csv
try aftermath-no-section.txt aftermath cases/street --section nowhere
try aftermath-horizon.txt aftermath cases/street --horizon 0
try sweep-loads-low.txt sweep cases/street --vary loads/vehicle/current_a=0:32 --loads low
picture=cases/vehicle-lets-go/aftermath.svg
"$program" aftermath "${picture%/*}" --format svg >"$work/picture" 2>&1
if [ "${PENDRIFT_RENEW:-}" = 1 ]; then
    cp "$work/picture" "$picture"
elif ! diff -u "$picture" "$work/picture"; then
    echo "golden: $picture differs"
    failed=1
fi
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
rod=electrodes/rod/resistance_ohm
try sweep-rod.txt sweep cases/house-rod-12-ohm --vary $rod=0.5:500:60:log
try sweep-rod.csv sweep cases/house-rod-12-ohm --vary $rod=0.5:500:6:log --format csv
try sweep-rod.json sweep cases/house-rod-12-ohm --vary $rod=0.5:500:4:log --format json
try sweep-map.txt sweep cases/house-rod-12-ohm --vary $rod=1:100:30:log --vary loads/vehicle/current_a=1:32:20
try sweep-lines.txt sweep cases/workshop-unbalanced --lines 21
try sweep-lines.csv sweep cases/workshop-unbalanced --lines 21 --steps 3 --format csv
try sweep-street.txt sweep cases/street --vary loads/vehicle/current_a=0:32:9 --loads worst
try sweep-supply.txt sweep cases/house-band-device --vary case/supply_voltage=217:253:5
try sweep-tt.txt sweep cases/house-tt-point --vary loads/vehicle/current_a=1:32:4
try sweep-missing.txt sweep cases/house-rod-unmeasured --vary loads/vehicle/current_a=1:32
try sweep-floats.txt sweep cases/house-no-electrode --vary loads/vehicle/current_a=0:32:5
try sweep-nothing.txt sweep cases/street
try sweep-both.txt sweep cases/street --lines 4 --vary case/source_r=0:1
try sweep-no-table.txt sweep cases/street --vary load/vehicle/current_a=0:32
try sweep-no-row.txt sweep cases/street --vary loads/vehicel/current_a=0:32
try sweep-out-of-range.txt sweep cases/street --vary loads/vehicle/current_a=0:40
try sweep-one-line.txt sweep cases/house-rod-12-ohm --lines 10
try sample-rod.txt sample cases/house-rod-12-ohm --trials 20000
try sample-rod.json sample cases/house-rod-12-ohm --trials 2000 --seed 7 --replicates 4 --format json
try sample-street.txt sample cases/street --trials 20000
try sample-street.csv sample cases/street --trials 4000 --threads 2 --format csv
try sample-missing.txt sample cases/house-rod-unmeasured
try sample-half.txt sample cases/street --trials 100.5

# The pictures of sweeps beside the cases are what these commands make.
draw() { # case, then the arguments
    picture=cases/$1/sweep.svg
    case=$1
    shift
    "$program" sweep "cases/$case" "$@" --format svg >"$work/picture" 2>&1
    if [ "${PENDRIFT_RENEW:-}" = 1 ]; then
        cp "$work/picture" "$picture"
    elif ! diff "$picture" "$work/picture" >/dev/null; then
        echo "golden: $picture differs"
        failed=1
    fi
}
draw house-rod-12-ohm --vary $rod=0.5:500:60:log
draw workshop-unbalanced --lines 21 --steps 30
try strict.txt assess cases/street --strict --quiet
try replay.txt replay cases/street cases/street/profile.csv
try replay-all.txt replay cases/street cases/street/profile.csv --at all --worst 3
try replay.json replay cases/street cases/street/profile.csv --format json --worst 3
try replay.csv replay cases/street cases/street/profile.csv --format csv
try replay.svg replay cases/street cases/street/profile.csv --format svg
try help.txt --help
for command in $("$program" help | awk '/^Options/ { exit } /^  [a-z]/ { print $1 }'); do
    try "help-$command.txt" help "$command"
done
try nothing.txt
try new-nowhere.txt new nowhere/case
try new-there.txt new cases/street
try tables.txt tables
try tables-limits.txt tables limits
try tables-cables.txt tables cables
try tables-audit_reasons.txt tables audit_reasons
try tables-stages.csv tables stages --format csv
try tables-stages.json tables stages --format json
try tables.json tables --format json
try tables.csv tables --format csv
try tables-wrong.txt tables cabels
try case-for-command.txt cases/street
try no-such-case.txt assess cases/nowhere
try no-such-option.txt assess cases/street --colour=never
[ $failed -eq 0 ] && echo "golden: the same"
exit $failed
