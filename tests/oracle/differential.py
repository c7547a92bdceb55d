"""Random timelines through `coxswain replay` and through a second planner: they must ask the same of the drugs role and of
the defibrillator, at the same times, in the same amounts.

    python3 tests/oracle/differential.py --seed 1 --count 2000

The second planner (planner.py) was written from the protocol files and the design alone. COXSWAIN_BIN names another program
than target/debug/coxswain. Exits 1 on a difference, or when a planted fault (canary.py) is not found; 2 on wrong usage.
"""

import argparse
import collections
import concurrent.futures
import os
import sys
import time
from dataclasses import dataclass

import canary
import compare
import engine
import protocol
import shrink
import timelines


# The planted faults are sought in so many of the timelines: each of these stays in memory with all its screens.
WATCHED = 300


@dataclass
class Tried:
    """One random timeline, with what the program showed at its moments."""

    seed: int
    records: list
    screens: dict


def try_one(seed):
    records, moments_ms = timelines.timeline(seed)
    try:
        shown = engine.replay(records, moments_ms, compare.ROLES)
    except engine.ReplayRefused as refusal:
        raise SystemExit(f"The program did not take the timeline of seed {seed}: {refusal}") from None
    return Tried(seed, records, compare.engine_screens(shown))


def try_all(seeds):
    """Every timeline, on all processors: the work is the program's, so that threads will do."""
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        yield from pool.map(try_one, seeds)


def report(found, protocols, most):
    """The kinds of differences, the commonest first, each with the shortest timeline that a few examples gave."""
    by_kind = collections.defaultdict(list)
    for tried, difference in found:
        by_kind[difference.kind].append((tried, difference))
    commonest = sorted(by_kind.items(), key=lambda kind: -len(kind[1]))
    for kind, examples in commonest:
        print(f"{len(examples)} times: {'; '.join(kind)}")
    for kind, examples in commonest[:most]:
        shortest = min(
            (
                (shrink.shrunk(tried.records, difference, protocols), tried, difference)
                for tried, difference in examples[:2]
            ),
            key=lambda example: len(example[0]),
        )
        records, tried, difference = shortest
        print(f"\n{'; '.join(kind)}: shrunk from seed {tried.seed}")
        print(shrink.told(records, difference, protocols))


def faults_not_found(tries, protocols):
    """The planted faults that no timeline shows."""
    missed = []
    for name, plant in canary.FAULTS.items():
        with plant(protocols) as planted:
            if not any(compare.differences(tried.records, tried.screens, planted) for tried in tries):
                missed.append(name)
    return missed


def arguments():
    parser = argparse.ArgumentParser(description="Compare coxswain replay with a second planner over random timelines.")
    parser.add_argument("--seed", type=int, default=1, help="the first seed (1)")
    parser.add_argument("--count", type=int, default=2000, help="how many timelines, one a seed (2000)")
    parser.add_argument("--show", type=int, default=3, help="how many kinds of differences to shrink and tell (3)")
    parser.add_argument("--without-canary", action="store_true", help="do not plant faults: for long runs")
    return parser.parse_args()


def main():
    chosen, began_s = arguments(), time.monotonic()
    protocols = protocol.shipped()
    tries, found, screens = [], [], 0
    for tried in try_all(range(chosen.seed, chosen.seed + chosen.count)):
        screens += sum(len(roles) for roles in tried.screens.values())
        found += [(tried, other) for other in compare.differences(tried.records, tried.screens, protocols)]
        if not chosen.without_canary and len(tries) < WATCHED:
            tries.append(tried)
    differing = len({tried.seed for tried, _ in found})
    took = f"{time.monotonic() - began_s:.0f} s"
    print(f"{chosen.count} timelines from seed {chosen.seed}, {screens} screens, {took}: {differing} timelines differ")
    report(found, protocols, chosen.show)
    missed = [] if chosen.without_canary else faults_not_found(tries, protocols)
    for name in missed:
        print(f"Planted in the oracle and not found as a difference: {name}.")
    if not chosen.without_canary and not missed:
        print(f"All {len(canary.FAULTS)} planted faults were found.")
    return 1 if found or missed else 0


if __name__ == "__main__":
    sys.exit(main())
