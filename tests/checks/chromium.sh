#!/bin/bash
# Makes sure that there is a Chromium for the browser tests, from the distribution's packages if need be.
set -euo pipefail
[ -n "${COXSWAIN_CHROMIUM:-}" ] && [ -x "${COXSWAIN_CHROMIUM}" ] && exit 0
[ -x /usr/bin/chromium ] && exit 0
if ! command -v apt-get >/dev/null; then
    echo "The browser tests need Chromium: install it, and set COXSWAIN_CHROMIUM to its path." >&2
    exit 1
fi
if [ "$(id -u)" -eq 0 ]; then
    as_root=()
elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then
    as_root=(sudo -n)
else
    echo "The browser tests need Chromium: install the package chromium (as root), or set COXSWAIN_CHROMIUM to its path." >&2
    exit 1
fi
"${as_root[@]}" apt-get update
"${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install --yes --no-install-recommends chromium fonts-dejavu-core
