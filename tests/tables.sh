#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# pendrift tables: every table of reference/ is built in, byte for byte as it lies there, and shown whole. Rows and
# what is from memory are counted anew by awk. Usage: tables.sh PROGRAM SOURCE_ROOT
set -u
program=$1
root=$2
failed=0

complain() {
    echo "tables: $*"
    failed=1
}

"$program" tables --format csv | grep -v '^#' >/dev/null || complain "no list"
for table in "$root"/reference/*.csv; do
    name=${table##*/}
    name=${name%.csv}
    "$program" tables "$name" --format csv 2>/dev/null | cmp - "$table" || complain "$name is not what lies in reference/"
    "$program" tables "$name" | awk 'length > 80 || / $/ { exit 1 }' || complain "$name: a line too long, or a blank at its end"
    "$program" tables "$name" | grep -q 'CAUTIONS' || complain "$name: no cautions"
    "$program" tables "$name" --format json | grep -q '"cautions": \[' || complain "$name: no cautions in JSON"

    # No table has a line break in a cell, so a line is a row.
    rows=$(grep -vc '^#' "$table")
    rows=$((rows - 1))
    listed=$("$program" tables --format csv | sed -n "s/^$name,\([0-9]*\),.*/\1/p")
    [ "$listed" = "$rows" ] || complain "$name has $rows rows, not $listed"
    in_json=$("$program" tables "$name" --format json | sed -n 's/^  "row_count": \([0-9]*\),/\1/p')
    [ "$in_json" = "$rows" ] || complain "$name: JSON has $in_json rows, not $rows"
    # (the word is in no other column than status, seen or source)
    memory=$(grep -v '^#' "$table" | sed 1d | grep -c memory)
    listed=$("$program" tables --format csv | sed -n "s/^$name,[0-9]*,\([0-9]*\),.*/\1/p")
    [ "$listed" = "$memory" ] || complain "$name has $memory rows from memory, not $listed"
    # The name of each row is shown.
    "$program" tables "$name" >"${TMPDIR:-/tmp}/pendrift-tables.$$"
    sed '/^#/d' "$table" | sed 1d | sed 's/,.*//' | grep -v '"' | while read -r first; do
        grep -qF -- "$first" "${TMPDIR:-/tmp}/pendrift-tables.$$" || echo "$first"
    done | grep . && complain "$name: a row is not shown"
    rm -f "${TMPDIR:-/tmp}/pendrift-tables.$$"
done
"$program" tables cabels 2>&1 | grep -q "no table 'cabels'; did you mean 'cables'?" || complain "the nearest is not named"
"$program" tables xyzzy 2>&1 | grep -q "there are: audit_reasons, body" || complain "what there is, is not named"
"$program" tables xyzzy 2>/dev/null && complain "no such table is no error"
"$program" tables limits >/dev/full 2>/dev/null && complain "a full disk is no error"
"$program" tables limits --format svg 2>/dev/null && complain "it draws"
[ $failed -eq 0 ] && echo "tables: in order"
exit $failed
