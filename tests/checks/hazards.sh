#!/bin/bash
# Every test that docs/hazards.md names as evidence exists: a control whose test was renamed away is no control.
set -euo pipefail
cd "$(dirname "$0")/../.."
missing=0
count=0
while IFS= read -r named; do
    file=${named%%: *}
    name=${named#*: }
    count=$((count + 1))
    if ! [ -f "$file" ] || ! grep --quiet --fixed-strings -e "fn $name(" -e "test('$name'" "$file"; then
        echo "docs/hazards.md names a test that is not there: $named" >&2
        missing=1
    fi
done < <(grep --only-matching --extended-regexp '`[a-z/_.-]+\.(rs|ts|js): [^`]+`' docs/hazards.md | tr -d '`' | sort -u)
if [ "$count" -lt 30 ]; then
    echo "docs/hazards.md names only $count tests: has its form changed?" >&2
    exit 1
fi
[ "$missing" -eq 0 ] && echo "Each of the $count tests named in docs/hazards.md exists."
