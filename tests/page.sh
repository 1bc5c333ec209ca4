#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Opens reports of HTML in somebody else's browser: nothing on its console, the whole page there, on
# A4 paper; a street of 400 houses stays under a megabyte. Skipped (77) where there is no chromium,
# unless PENDRIFT_NEED_CHROMIUM is set. Usage: page.sh PROGRAM SOURCE_ROOT
set -u
program=$1
root=$2
failed=0
if ! command -v chromium >/dev/null; then
    echo "page: chromium is not there (apt-get install chromium)"
    [ -n "${PENDRIFT_NEED_CHROMIUM:-}" ] && exit 1
    exit 77
fi
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

complain() {
    echo "page: $*"
    failed=1
}

browse() { # the page, then what to do with it
    page=$1
    shift
    chromium --headless --no-sandbox --disable-gpu --disable-dev-shm-usage --enable-logging=stderr \
        --user-data-dir="$work/browser" "$@" "file://$page" 2>"$work/log"
}

# A main of 100 joints with four houses on each, one with a vehicle and a device.
street() { # folder
    mkdir -p "$1"
    awk -v folder="$1" 'BEGIN {
        table = folder "/sections.csv"
        print "section,from,to,length_m,cable,neutral,lines" >table
        loads = folder "/loads.csv"
        print "load,node,phase,behaviour,current_a,power_factor" >loads
        for (joint = 1; joint <= 100; joint++) {
            from = joint == 1 ? "substation" : "joint" joint - 1
            print "main" joint "," from ",joint" joint ",12,main-185-four-core,pen," >table
            for (k = 1; k <= 4; k++) {
                house = 4 * joint + k - 4
                line = "L" house % 3 + 1
                print "service" house ",joint" joint ",house" house ",15,service-16-two-core,pen," line >table
                print "house" house ",house" house "," line ",impedance," 1 + house % 5 ",0.97" >loads
            }
        }
        print "circuit,house267,point,8,cu-6,separate," >table
        print "vehicle,point,L1,impedance,32,1" >loads
    }'
    cat >"$1/case.csv" <<'CSV'
quantity,value,unit
title,"Tannery Lane, Oddenbury: four hundred houses",-
limit_set,gb-outdoor-charging,-
earthing,TN-C-S,-
system,three-phase,-
installation,house267,-
charging_point,point,-
CSV
    cat >"$1/detectors.csv" <<'CSV'
detector,node,senses,low_v,high_v,tolerance_v,delay_s,disconnects
point,point,line-neutral,209,251,2,4,live-and-pe
CSV
}

# A browser's PDF says its paper in points: A4 is 595 by 842.
try() { # name, folder of the case
    page=$work/$1.html
    "$program" assess "$2" --format html --output "$page" --quiet
    [ $? -le 4 ] && [ -s "$page" ] || { complain "$1: no report" && return; }
    [ "$(wc -c <"$page")" -lt 1000000 ] || complain "$1: the report is a megabyte or more"
    browse "$page" --dump-dom >"$work/dom"
    grep -q CONSOLE "$work/log" && complain "$1: $(grep CONSOLE "$work/log")"
    grep -q 'How to make this report again' "$work/dom" || complain "$1: the page is not whole"
    [ "$(grep -c '<svg' "$work/dom")" -eq "$(grep -c '<svg' "$page")" ] || complain "$1: pictures are lost"
    browse "$page" --no-pdf-header-footer --print-to-pdf="$work/$1.pdf" >/dev/null
    perl -0777 -ne 'my @box = /MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)/g; @box or exit 1;
               while (my ($w, $h) = splice @box, 0, 2) { exit 1 if abs($w - 595) > 1 || abs($h - 842) > 1 }' \
        "$work/$1.pdf" || complain "$1: is not on A4"
}

for name in house-rod-12-ohm street workshop-unbalanced house-tt-near-rod house-rod-unmeasured; do
    try "$name" "$root/cases/$name"
done
street "$work/tannery"
try tannery "$work/tannery"
[ $failed -eq 0 ] && echo "page: all open and print"
exit $failed
