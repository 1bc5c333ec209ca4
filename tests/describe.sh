#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# What is made from the tables of commands and options: manual pages as groff reads them, and completions as each
# shell offers them. Where a shell or groff is missing its part is left out, unless PENDRIFT_NEED_SHELLS is set.
# Usage: describe.sh PROGRAM SOURCE_ROOT FOLDER_OF_WHAT_WAS_MADE
set -u
program=$1
root=$2
made=$3
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0
left_out=

complain() {
    echo "describe: $*"
    failed=1
}

have() {
    command -v "$1" >/dev/null && return 0
    [ -z "${PENDRIFT_NEED_SHELLS:-}" ] || complain "$1 is missing"
    left_out="$left_out $1"
    return 1
}

commands=$("$program" help | awk '/^Options/ { exit } /^  [a-z]/ { print $1 }')

# Every command has a page; a page says what its help says.
try_page() { # page, then the arguments of the help
    local page=$1
    shift
    groff -man -Tascii -P-cbou -rLL=78n -ww "$made/$page" >"$work/page" 2>"$work/warnings"
    [ ! -s "$work/warnings" ] || complain "$page: $(head -n 3 "$work/warnings")"
    for section in NAME SYNOPSIS DESCRIPTION OPTIONS 'EXIT STATUS' EXAMPLE CAUTIONS 'SEE ALSO'; do
        grep -q "^$section\$" "$work/page" || complain "$page has no $section"
    done
    grep -q 'Never open, loosen or disturb a PEN' "$work/page" || complain "$page lacks a caution"
    awk 'length > 80 { exit 1 }' "$work/page" || complain "$page is wider than 80"
    # The same words in the same order, wherever the lines end.
    tr -s ' \n' ' ' <"$work/page" >"$work/words"
    "$program" "$@" | sed -n 's/^ \{1,6\}\(-., \)\{0,1\}\(--[a-z-]*\( [A-Z0-9,]*\)\{0,1\}\) .*/\2/p' >"$work/options"
    [ -s "$work/options" ] || complain "$page: the help has no options"
    while read -r option; do
        grep -qF -- "$option" "$work/words" || complain "$page lacks $option"
    done <"$work/options"
}
if have groff; then
    try_page pendrift.1 help
    for command in $commands; do
        try_page "pendrift-$command.1" help "$command"
        example=$("$program" help "$command" | sed -n '/^Example:$/{n;s/^  //p;}')
        grep -qF -- "$example" "$work/page" || complain "pendrift-$command.1 lacks the example"
    done
    for page in "$made"/pendrift-*.1; do
        page=${page##*/pendrift-}
        grep -qx "${page%.1}" <<<"$commands" || complain "pendrift-$page is of no command"
    done
fi

# Each shell is asked for the last word of a line; wanted words must be among what it offers, the unwanted not.
mkdir "$work/here" && cd "$work/here" || exit 1
mkdir 'a case' 'other case'
touch 'a file.csv'
check() { # shell, line, wanted words, unwanted words (each list parted by '|')
    local shell=$1 line=$2 word
    "ask_$shell" "$line" >"$work/offered" 2>"$work/errors"
    [ ! -s "$work/errors" ] || complain "$shell: '$line': $(head -n 2 "$work/errors")"
    while read -r -d '|' word; do
        grep -qxF -- "$word" "$work/offered" || complain "$shell: '$line': not offered: $word; but: $(head -n 20 "$work/offered" | tr '\n' ' ')"
    done <<<"$3|"
    while read -r -d '|' word; do
        [ -n "$word" ] && grep -qxF -- "$word" "$work/offered" && complain "$shell: '$line': offered: $word"
    done <<<"$4|"
}

check_all() { # shell
    check "$1" 'pendrift ' 'assess|new|help' 'case.csv|a case'
    check "$1" 'pendrift ass' 'assess' 'audit'
    check "$1" 'pendrift help n' 'new|nuisance' 'assess'
    check "$1" 'pendrift tables ' 'limits|cables|window_times' 'a case'
    check "$1" 'pendrift assess --st' '--strict' '--street|--steps'
    check "$1" 'pendrift audit --st' '--street' '--strict'
    check "$1" 'pendrift assess --format ' 'text|json|csv' 'svg'
    check "$1" 'pendrift blind --format ' 'text|svg' 'assess'
    check "$1" 'pendrift blind --senses ' 'line-neutral|pe-earth' 'pe-current'
    check "$1" 'pendrift new --kind ' 'house|workshop|street' 'assess'
    check "$1" 'pendrift electrode --soil c' 'chalk' 'text|peat'
    check "$1" 'pendrift audit --limits ' 'gb-outdoor-charging|own' 'a case'
}

ask_bash() {
    bash --norc -c '
        source "$1"
        COMP_LINE=$2
        read -ra COMP_WORDS <<<"${2//=/ = }"
        [ "${2: -1}" != " " ] && [ "${2: -1}" != "=" ] || COMP_WORDS+=("")
        [ "${2: -1}" != "=" ] || unset "COMP_WORDS[-1]"
        COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
        _pendrift
        printf "%s\n" "${COMPREPLY[@]}"
    ' bash "$made/pendrift" "$1"
}
if have bash; then
    check_all bash
    check bash 'pendrift assess --format=' 'text|json|csv' 'svg|assess'
    check bash 'pendrift assess --format=js' 'json' 'text'
    check bash 'pendrift --quiet assess --output x --format ' 'text|json' 'svg'
    check bash 'pendrift assess --output=x ' 'a case|other case' 'a file.csv|assess'
    check bash 'pendrift assess ' 'a case|other case' 'a file.csv|assess'
    check bash 'pendrift audit ' 'a file.csv' 'assess'
    check bash 'pendrift audit --output ' 'a file.csv' 'assess'
    check bash 'pendrift replay x ' 'a file.csv' 'assess'
    check bash 'pendrift selftest ' '' 'a file.csv|a case'
    check bash 'pendrift electrode --want ' '' 'a file.csv|a case|text'
    check bash 'pendrift -' '--help|--version' '--strict'
    # Every option of every command is offered, and no other.
    for command in $commands; do
        "$program" help "$command" | sed -n 's/^ \{1,6\}\(-., \)\{0,1\}\(--[a-z-]*\).*/\2/p' | sort >"$work/want"
        ask_bash "pendrift $command -" | sort >"$work/got"
        diff "$work/want" "$work/got" || complain "bash: options of $command"
    done
fi

ask_fish() {
    fish --no-config -c 'source $argv[1]; complete --do-complete $argv[2]' "$made/pendrift.fish" "$1" | cut -f 1 | sed 's:/$::'
}
if have fish; then
    export HOME=$work XDG_CONFIG_HOME=$work XDG_DATA_HOME=$work
    check_all fish
    check fish 'pendrift assess --format=js' '--format=json' ''
    check fish 'pendrift assess ' 'a case|other case' 'a file.csv|assess'
    check fish 'pendrift audit ' 'a file.csv' 'assess'
    check fish 'pendrift audit --output ' 'a file.csv' 'assess'
fi

# zsh completes in its line editor only: one in a pseudo-terminal lists what it would offer.
ask_zsh() {
    zsh -f "$work/ask.zsh" "$made" "$1" "$work/asked"
    tr -d '\\\\' <"$work/asked"
}
cat >"$work/ask.zsh" <<'Z'
zmodload zsh/zpty
zpty shell 'zsh -f -i'
say() { zpty -w shell "$1" }
say 'PS1= PS2= RPS1= fpath=('${(q)1}' $fpath)'
say 'autoload -Uz compinit && compinit -u -D && setopt no_beep no_list_beep'
# compadd is told to collect what matches instead of showing it
say 'compadd() {
    local -a found described
    if [[ ${@[1,(i)(-|--)]} == *-(O|A|D)\ * ]]; then builtin compadd "$@"; return; fi
    builtin compadd -O found "$@"
    (( $#found )) && print -rl -- $found >>'${(q)3}'
    builtin compadd "$@"
}'
say 'finish() { print -r -- done >>'${(q)3}.done' }; zle -N finish; bindkey "^X^F" finish'
say 'zstyle ":completion:*" list-prompt ""; LISTMAX=0; print ready'
while zpty -r shell line && [[ $line != ready* ]]; do :; done
: >$3
rm -f $3.done
zpty -w -n shell $2$'\t'
zpty -w -n shell $'\x18\x06'
for ((i = 0; i < 200; i++)); do
    [[ -e $3.done ]] && break
    sleep 0.05
    zpty -r -t shell line
done
zpty -d shell
Z
if have zsh; then
    zsh -n "$made/_pendrift" || complain "zsh cannot read it"
    check_all zsh
    check zsh 'pendrift assess ' 'a case|other case' 'a file.csv|assess'
    check zsh 'pendrift audit ' 'a file.csv' 'assess'
fi

[ -z "$left_out" ] || echo "describe: left out, as not there:$left_out"
[ $failed -eq 0 ] && echo "describe: in order"
exit $failed
