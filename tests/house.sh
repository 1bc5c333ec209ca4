#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The house rules that a machine can check: which room may include which, headers that stand alone,
# what the library may not do. Usage: house.sh SOURCE_ROOT LIBRARY COMPILER
set -u
root=$1 library=$2 compiler=$3
failed=0

complain() {
    echo "house: $*"
    failed=1
}

# The arrows run one way (DEVELOPERS.md): each room, and the rooms that it may include.
allowed() {
    case $1 in
        table) echo table ;;
        network | earthing) echo "$1 table" ;;
        solve | detect | limits) echo "$1 network earthing table" ;;
        study) echo "study solve detect limits network earthing table" ;;
        report) echo "report study solve detect limits network earthing table" ;;
        cli) echo "cli report study solve detect limits network earthing table" ;;
    esac
}

for room in table network earthing solve detect limits study report cli; do
    may=" $(allowed $room) "
    for file in "$root/src/$room"/*.[ch]; do
        for included in $(sed -n 's/^#include "\([a-z_]*\)\/.*/\1/p' "$file"); do
            case $may in
                *" $included "*) ;;
                *) complain "$file includes room $included; $room may include:$may" ;;
            esac
        done
    done
done

# Each header stands alone.
for header in "$root"/src/*.h "$root"/src/*/*.h; do
    # shellcheck disable=SC2086
    $compiler -std=c17 -D_GNU_SOURCE -Wall -Wextra -Werror -I"$root/src" -fsyntax-only -x c \
        "$header" || complain "$header does not compile alone"
done

# The library's names are its own.
for name in $(nm -g --defined-only "$library" | awk 'NF == 3 { print $3 }'); do
    case $name in
        pd_*) ;;
        *) complain "the library defines $name, which has no pd_ prefix" ;;
    esac
done

# It never prints, ends the program or keeps state that changes.
for name in printf puts putchar vprintf perror stdout stderr exit abort _exit setlocale; do
    nm -u "$library" | grep -Eq " U (_*)$name(_chk)?(@.*)?\$" && complain "the library uses $name"
done
# (.data.rel.ro holds tables of constant texts: fixed once loaded)
state=$(nm -f sysv "$library" | awk -F '|' '{ gsub(/ /, "") } $7 ~ /^(\.data|\.bss|\*COM\*)$/ { print $1 }')
[ -z "$state" ] || complain "the library keeps state that can change: $state"

# Every source says its licence.
for file in "$root"/src/*/*.[ch] "$root"/tests/*.[ch]; do
    head -n 1 "$file" | grep -q 'SPDX-License-Identifier: GPL-3.0-or-later' ||
        complain "$file does not start with its licence"
done

[ $failed -eq 0 ] && echo "house: in order"
exit $failed
