#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The audit as a whole: the same bytes from any number of threads and from standard input, memory
# that does not grow with the sheet, an interruption that leaves no file.
# Usage: audit.sh PROGRAM MAKE_SITES
set -u
program=$1
make_sites=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0

complain() {
    echo "audit: $*"
    failed=1
}

same() { # what, file
    cmp -s "$work/one.$3" "$2" || complain "$1 writes something else"
}

"$make_sites" 20000 3 >"$work/sites.csv"
for format in csv json text; do
    "$program" audit "$work/sites.csv" --format $format --threads 1 -q -o "$work/one.$format" 2>/dev/null
    [ $? -eq 1 ] || complain "sites not supported do not end with 1"
    for threads in 2 3 8; do
        "$program" audit "$work/sites.csv" --format $format --threads $threads -q -o "$work/more" 2>/dev/null
        same "$threads threads" "$work/more" $format
    done
done
"$program" audit - --format csv -q <"$work/sites.csv" >"$work/more" 2>/dev/null
same "a redirected file" "$work/more" csv
cat "$work/sites.csv" | "$program" audit - --format csv -q >"$work/more" 2>/dev/null
same "a pipe" "$work/more" csv

# The order of the columns does not count: findings are the same, the sheet's own cells stay.
awk -F, -v OFS=, '!/^#/ && !/"/ { t = $1; $1 = $4; $4 = t; print }' "$work/sites.csv" >"$work/turned.csv"
grep -v '"' "$work/sites.csv" >"$work/plain.csv"
for sheet in plain turned; do
    "$program" audit "$work/$sheet.csv" --format csv -q 2>/dev/null | grep -v '^#' |
        sed 's/.*,\(supported\|not supported\|insufficient evidence\|not read\),/\1,/' | sed 1d >"$work/$sheet.out"
done
cmp -s "$work/plain.out" "$work/turned.out" || complain "columns in another order come to something else"

# A million rows in 64 MiB, stacks and libraries of all threads aside: as much address space as a
# small sheet takes, and 64 MiB more. (Sanitizers take all there is.)
"$make_sites" 400000 4 >"$work/large.csv"
if ! nm "$program" 2>/dev/null | grep -q __asan_init; then
    (
        ulimit -v $((320 * 1024))
        "$program" audit "$work/large.csv" --format csv -q -o "$work/large.out" 2>/dev/null
    )
    [ $? -eq 1 ] || complain "a large sheet does not fit into memory"
    rm -f "$work/large.out"
fi

# Interrupted: 130, and no file, whole or half.
"$program" audit "$work/large.csv" --format csv -q -o "$work/large.out" 2>/dev/null &
child=$!
sleep 0.1
kill -TERM $child 2>/dev/null
wait $child
status=$?
if [ $status -eq 130 ]; then
    [ ! -e "$work/large.out" ] || complain "an interrupted audit leaves a file"
else
    [ $status -eq 1 ] || complain "an interrupted audit ends with $status" # it was done before
fi
for left in "$work"/.pendrift-*; do
    [ ! -e "$left" ] || complain "a temporary file is left"
done

[ $failed -eq 0 ] && echo "audit: the same from every side"
exit $failed
