#!/bin/bash
# The wall around the engine: it may depend on what parses and serialises text, and on nothing that has a clock, a
# socket, a disk, a thread pool or a source of randomness.
set -euo pipefail
cd "$(dirname "$0")/../.."
allowed='coxswain-engine|itoa|memchr|proc-macro2|quote|ryu|serde|serde_core|serde_derive|serde_json|serde_path_to_error|serde_spanned|syn|toml|toml_datetime|toml_parser|toml_writer|unicode-ident|uuid|winnow|zmij'
tree=$(cargo tree --package coxswain-engine --edges normal --prefix none | awk 'NF { print $1 }' | sort -u)
extra=$(grep --invert-match --line-regexp --extended-regexp "$allowed" <<<"$tree" || true)
if [ -n "$extra" ]; then
    echo "coxswain-engine must stay pure; it now pulls in:" $extra >&2
    exit 1
fi
features=$(cargo tree --package coxswain-engine --edges features --prefix none --invert uuid | grep -E '^uuid feature "(v1|v3|v4|v5|v6|v7|rng)' || true)
if [ -n "$features" ]; then
    echo "coxswain-engine must make no ids of its own; its uuid has:" $features >&2
    exit 1
fi
echo "The engine is pure: $(wc -l <<<"$tree") packages, all on the list."
