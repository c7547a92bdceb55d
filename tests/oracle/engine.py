"""Asks the program: `coxswain replay` over one timeline, at many moments and for both roles, in one call."""

import json
import os
import pathlib
import subprocess

ROOT = pathlib.Path(__file__).resolve().parents[2]
BINARY = os.environ.get("COXSWAIN_BIN") or str(ROOT / "target" / "debug" / "coxswain")


class ReplayRefused(Exception):
    """The program did not take a timeline; its own words."""


def replay(records, moments_ms, roles):
    """What each role's screen showed at each moment: {at_ms: {role: [prompt as the program prints it, ...]}}."""
    command = [BINARY, "replay", "-", "--json"]
    for at_ms in moments_ms:
        command += ["--at", str(at_ms)]
    for role in roles:
        command += ["--role", role]
    lines = "".join(json.dumps(record) + "\n" for record in records)
    try:
        done = subprocess.run(command, input=lines, capture_output=True, text=True)
    except FileNotFoundError:
        raise SystemExit(
            f"There is no {BINARY}: build it with `cargo build --bins`, or name another in COXSWAIN_BIN."
        ) from None
    if done.returncode != 0:
        raise ReplayRefused(done.stderr.strip())
    shown = {}
    for line in done.stdout.splitlines():
        screen = json.loads(line)
        shown.setdefault(screen["at_ms"], {})[screen["role"]] = screen["prompts"]
    return shown
