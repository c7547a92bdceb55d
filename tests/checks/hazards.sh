#!/bin/bash
# Every control that docs/hazards.md names as evidence exists: a control whose test was renamed away is no control, and neither is
# a make target that `make test` does not reach.
set -euo pipefail
cd "$(dirname "$0")/../.."
missing=0

miss() {
    echo "docs/hazards.md names $1" >&2
    missing=1
}

tests=0
while IFS= read -r named; do
    file=${named%%: *}
    name=${named#*: }
    tests=$((tests + 1))
    if ! [ -f "$file" ] || ! grep --quiet --fixed-strings -e "fn $name(" -e "test('$name'" "$file"; then
        miss "a test that is not there: $named"
    fi
done < <(grep --only-matching --extended-regexp '`[a-z/_.-]+\.(rs|ts|js): [^`]+`' docs/hazards.md | tr -d '`' | sort -u)

# Each target with what it needs, one pair a line; a line that sets a variable for a target needs nothing.
needs() {
    sed --quiet --regexp-extended 's/^([a-z][a-z-]*):([^=]*)$/\1 \2/p' Makefile |
        while read -r target rest; do
            echo "$target"
            for need in $rest; do echo "$target $need"; done
        done
}

known=$(needs)

# What `make test` reaches: all that it needs, and all that those need.
reached=" test "
while :; do
    before=$reached
    while read -r target need; do
        if [ -n "$need" ] && [[ $reached == *" $target "* && $reached != *" $need "* ]]; then
            reached+="$need "
        fi
    done <<<"$known"
    [ "$reached" = "$before" ] && break
done

targets=0
while IFS= read -r target; do
    targets=$((targets + 1))
    if ! grep --quiet --line-regexp --fixed-strings "$target" <<<"$known"; then
        miss "a make target that is not there: make $target"
    elif [[ $reached != *" $target "* ]]; then
        miss "a make target that \`make test\` does not reach: make $target"
    fi
done < <(grep --only-matching --extended-regexp '`make [^`]+`' docs/hazards.md | tr -d '`' | cut --delimiter=' ' --fields=2 | sort -u)

if [ "$tests" -lt 30 ] || [ "$targets" -lt 1 ]; then
    echo "docs/hazards.md names only $tests tests and $targets make targets: has its form changed?" >&2
    exit 1
fi
[ "$missing" -eq 0 ] && echo "Each of the $tests tests and $targets make targets named in docs/hazards.md exists; \`make test\` reaches the targets."
