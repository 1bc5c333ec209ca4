#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Runs every example in README.md: each block that starts with `$ pendrift ...` must be how the
# program's output begins. Usage: readme.sh PROGRAM SOURCE_ROOT
set -u
program=$1
root=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$root" || exit 1
failed=0
count=0

# Each example becomes a file: the command on the first line, then what README says it prints.
awk -v work="$work" '
    /^```/ { inside = !inside; file = ""; next }
    inside && /^\$ pendrift / { file = work "/" ++n ".example" }
    file != "" { print > file }
' README.md

# (a folder where an example may leave something)
mkdir "$work/here"
ln -s "$root/cases" "$work/here/cases"
for example in "$work"/*.example; do
    [ -e "$example" ] || continue
    count=$((count + 1))
    arguments=$(sed -n '1s/^\$ pendrift //p' "$example")
    sed 1d "$example" >"$work/want"
    # shellcheck disable=SC2086
    (cd "$work/here" && NO_COLOR=1 "$program" $arguments 2>&1) | head -n "$(wc -l <"$work/want")" >"$work/got"
    if ! diff -u "$work/want" "$work/got"; then
        echo "readme: pendrift $arguments prints something else"
        failed=1
    fi
done

# Each case that README names is there, and each that is there is named.
for case in cases/*/; do
    case=${case%/}
    grep -q "\`$case\`" README.md || { echo "readme: $case is not named" && failed=1; }
done
for case in $(grep -o '`cases/[a-z0-9-]*`' README.md | tr -d '`' | sort -u); do
    [ -f "$case/case.csv" ] || [ -f "$case/sites.csv" ] || { echo "readme: there is no $case" && failed=1; }
done

[ "$count" -gt 0 ] || { echo "readme: no example found" && failed=1; }
[ $failed -eq 0 ] && echo "readme: $count examples true"
exit $failed
