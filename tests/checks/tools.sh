#!/bin/bash
# Says in a sentence which tool is missing. It installs nothing.
set -euo pipefail
missing=0
lacks() { echo "Coxswain needs $1" >&2; missing=1; }
command -v cargo >/dev/null || lacks "Rust: cargo was not found."
command -v cc >/dev/null || lacks "a C compiler: cc was not found (SQLite is compiled from source)."
command -v npm >/dev/null || lacks "Node.js 20 or newer with npm: npm was not found."
if command -v node >/dev/null; then
    major=$(node --version | sed 's/^v\([0-9]*\).*/\1/')
    [ "$major" -ge 20 ] || lacks "Node.js 20 or newer: this one is $(node --version)."
else
    lacks "Node.js 20 or newer: node was not found."
fi
python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || lacks "Python 3.11 or newer: python3 was not found, or is older."
exit $missing
