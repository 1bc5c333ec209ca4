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
    perl -pe 's/("residual": |"iterations": |residual +)[0-9.e-]+/$1*/;
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
try strict.txt assess cases/street --strict --quiet
try help.txt --help
try nothing.txt
try no-such-case.txt assess cases/nowhere
try no-such-option.txt assess cases/street --colour=never
[ $failed -eq 0 ] && echo "golden: the same"
exit $failed
