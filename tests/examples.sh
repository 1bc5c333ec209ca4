#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The help of every command: at most 80 columns, and at its end one example, which is run here in a folder that has
# nothing but the cases. It must print something and end in a verdict, not in wrong usage or wrong input.
# Usage: examples.sh PROGRAM SOURCE_ROOT
set -u
program=$1
root=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
ln -s "$root/cases" "$work/cases"
cd "$work" || exit 1
failed=0
count=0

complain() {
    echo "examples: $*"
    failed=1
}

commands=$("$program" help | awk '/^Options/ { exit } /^  [a-z]/ { print $1 }')
for command in $commands; do
    "$program" "$command" --help >help.txt || complain "$command --help fails"
    awk 'length > 80 { exit 1 }' help.txt || complain "$command --help is wider than 80"
    example=$(sed -n '/^Example:$/{n;s/^  pendrift //p;}' help.txt)
    [ "${example%% *}" = "$command" ] || { complain "$command --help has no example of its own" && continue; }
    # shellcheck disable=SC2086
    "$program" $example >out.txt 2>err.txt
    status=$?
    case $status in
        0 | 1 | 4) count=$((count + 1)) ;;
        *) complain "pendrift $example: exit status $status: $(cat err.txt)" ;;
    esac
    [ -s out.txt ] || complain "pendrift $example prints nothing"
done
"$program" help | awk 'length > 80 { exit 1 }' || complain "help is wider than 80"

# (a list that stops early would pass the loop)
[ "$count" -ge 15 ] || complain "only $count examples were run"
[ $failed -eq 0 ] && echo "examples: $count true"
exit $failed
