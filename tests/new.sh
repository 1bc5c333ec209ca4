#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# pendrift new: what it writes is the case of cases/ byte for byte; it reads without an error, is never acceptable
# before anybody has measured, and the rows that its comments offer may be taken up as they stand. It writes over
# nothing and leaves nothing behind. Usage: new.sh PROGRAM SOURCE_ROOT
set -u
program=$1
root=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1
failed=0

complain() {
    echo "new: $*"
    failed=1
}

# want: the exit status, then the arguments; what it prints stays in out and err
try() {
    want=$1
    shift
    "$program" "$@" >out 2>err
    status=$?
    [ $status -eq "$want" ] || complain "pendrift $*: exit status $status, not $want: $(cat err)"
}

said() { # file, text
    grep -qi -- "$2" "$1" || complain "not said: $2; but: $(cat "$1")"
}

for kind in house workshop street; do
    try 0 new "$kind" --kind "$kind"
    said out "pendrift assess $kind\$"
    said out "LETHAL VOLTAGES"
    diff -r "$root/cases/new-$kind" "$kind" || complain "$kind is not cases/new-$kind"
    for command in assess explain; do
        try 4 $command "$kind"
        said out "not determined"
        [ ! -s err ] || complain "$command $kind complains: $(cat err)"
    done

    # Every row that stands behind a # is a row that could stand there. Those of limit_set own need it.
    sed -i 's/^#\([a-z]\)/\1/' "$kind"/*.csv
    grep -q '^touch_limit' "$kind/case.csv" && sed -i 's/^limit_set,.*/limit_set,own,-/' "$kind/case.csv"
    try 4 assess "$kind"
    [ ! -s err ] || complain "the rows that $kind offers are wrong: $(cat err)"

    # Once the electrode has a reading the case is decided.
    sed -i 's/,,1\.5$/,12,1.5/' "$kind/electrodes.csv"
    "$program" assess "$kind" >out 2>err
    case $? in 0 | 1) ;; *) complain "$kind with a reading: $(cat out err)" ;; esac
done
try 0 new plain
diff -r "$root/cases/new-house" plain || complain "the default is not a house"

# What is there stays as it is.
try 2 new plain --kind street
said err "never written over; name a folder that is not there yet"
diff -r "$root/cases/new-house" plain || complain "plain was touched"
echo kept >file
try 2 new file
said err "there is a file of that name"
[ "$(cat file)" = kept ] || complain "file was touched"
try 2 new nowhere/case
said err "make that first"
ln -s dangling link
try 2 new link
[ -L link ] || complain "the link was touched"
mkdir here
(cd here && "$program" new .) 2>err && complain "a new case in the folder one is in"
said err "it is the folder you are in"

# An empty folder, also by a link to it, may become the case.
mkdir empty
ln -s empty way
try 0 new way/ --kind workshop
diff -r "$root/cases/new-workshop" empty || complain "empty did not become the case"
try 0 new "with a blank and 'quotes'"
eval "$(sed -n 's/^  pendrift assess/"$program" assess/p' out)" >assessed
said assessed "^NOT DETERMINED"

# Whole or not at all: on a full disk (a file may have no more than 512 bytes) nothing is left.
ls -A >before
(trap '' XFSZ && ulimit -f 1 && "$program" new small --kind street >/dev/null 2>err) && complain "written to a full disk"
said err "small: cannot be made: File too large"
ls -A >after
diff before after >/dev/null || [ "$(diff before after | grep -c 'small\|pendrift')" -eq 0 ] || complain "something is left behind"

# How a case starts is said to who has none.
try 2 assess here
said err "pendrift new DIR"
try 2 explain nowhere
said err "pendrift new DIR"
try 2 plain
said err "did you mean 'assess plain'?"
try 2
said err "pendrift new my-house"
try 2 new
try 2 new a b
try 2 new a --kind hose
said err "is not one of its words; expected: house"

[ $failed -eq 0 ] && echo "new: in order"
exit $failed
