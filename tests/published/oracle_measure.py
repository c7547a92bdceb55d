"""Quality figures of a timeline, worked out a second time.

Written from the definitions in docs/measures.md with nothing taken from the engine: the engine folds facts one by one,
this file first cuts the timeline into arrests and intervals and then asks each question anew. Only the standard library.
It must never import or read anything of server/engine.

    python3 oracle_measure.py FILE.jsonl           figures as JSON
    python3 oracle_measure.py --check FOLDER       compare every *.jsonl with its *.expected.json
"""

import json
import pathlib
import sys

CORRECTIONS = ("amended", "voided")
ADVANCED = ("supraglottic", "tracheal", "front_of_neck")
SHORTEST_SILENCE_MS = 180_000
LONGEST_START_MS = 30_000


def facts_that_count(records):
    """Facts with corrections applied, sorted, up to the first code_closed; and the corrections that wait."""
    once = {}
    for record in sorted(records, key=lambda record: record["seq"]):
        once.setdefault(record["id"], record)
    ordered = list(once.values())

    voids = {}
    for record in ordered:
        if record["event"]["kind"] == "voided":
            voids.setdefault(record["event"]["target"], []).append(record["id"])

    memory = {}

    def voided(identity):
        if identity not in memory:
            memory[identity] = any(not voided(void) for void in voids.get(identity, []))
        return memory[identity]

    facts, waiting = [], []
    for record in ordered:
        event = record["event"]
        if event["kind"] in CORRECTIONS:
            if event["target"] not in once and not voided(record["id"]):
                waiting.append(record["at_ms"])
            continue
        if voided(record["id"]):
            continue
        at_ms, what = record["at_ms"], event
        for other in ordered:
            change = other["event"]
            if change["kind"] == "amended" and change["target"] == record["id"] and not voided(other["id"]):
                at_ms = change.get("at_ms", at_ms)
                what = change.get("event") or what
        facts.append((at_ms, record["seq"], what))
    facts.sort(key=lambda fact: fact[:2])
    for place, fact in enumerate(facts):
        if fact[2]["kind"] == "code_closed":
            facts = facts[: place + 1]
            break
    return facts, waiting


def cut_arrests(facts):
    """[(place of first fact, place of last fact, start, end, ended_by)] by places in the list of facts."""
    arrests, begun, clocked = [], None, False
    for place, (at_ms, _, event) in enumerate(facts):
        kind = event["kind"]
        if kind == "clock_started":
            if begun is None and not clocked:
                begun = place
            clocked = True
        elif kind == "arrest_again" and begun is None:
            begun = place
        elif kind == "rosc" and begun is not None:
            arrests.append((begun, place, facts[begun][0], at_ms, "rosc"))
            begun = None
        elif kind == "code_closed" and begun is not None:
            arrests.append((begun, place, facts[begun][0], at_ms, "closed"))
            begun = None
    if begun is not None:
        arrests.append((begun, len(facts) - 1, facts[begun][0], facts[-1][0], "closed"))
    return arrests


def compression_runs(facts, arrests):
    """[(start, end, by, reason of the stop or None)] over the whole code, not yet cut to arrests."""
    ends = {arrest[1] for arrest in arrests}
    runs, since = [], None
    for place, (at_ms, _, event) in enumerate(facts):
        kind = event["kind"]
        if kind == "compressions_started" and since is None:
            since = (at_ms, event.get("by", "manual"), place)
        elif kind == "compressions_stopped" and since is not None:
            runs.append((since[0], at_ms, since[1], event["reason"], since[2], place))
            since = None
        elif since is not None and place in ends and kind in ("rosc", "code_closed"):
            runs.append((since[0], at_ms, since[1], None, since[2], place))
            since = None
    if since is not None:
        # Still running when the record ends: beyond its last fact.
        runs.append((since[0], facts[-1][0], since[1], None, since[2], len(facts)))
    return runs


def within(runs, arrest):
    """The runs of one arrest, cut to it. Places decide whether a run touches the arrest at all."""
    first, last, start, end, _ = arrest
    found = []
    for run in runs:
        if run[5] < first or run[4] > last or run[5] == first:
            continue
        found.append((max(run[0], start), min(run[1], end), run[2], run[3]))
    return found


def pauses_of(runs, arrest):
    found = []
    for run, following in zip(runs, runs[1:]):
        if following[0] > run[1]:
            found.append({"start_ms": run[1], "end_ms": following[0], "reason": run[3], "ended_by": "resumed"})
    if runs and arrest[3] > runs[-1][1]:
        found.append({"start_ms": runs[-1][1], "end_ms": arrest[3], "reason": runs[-1][3], "ended_by": arrest[4]})
    return found


def overlap(runs, start, end):
    return sum(max(0, min(run[1], end) - max(run[0], start)) for run in runs)


def ratio(part, whole):
    return part / whole if whole else None


def prior_care(facts):
    known = {}
    for _, _, event in facts:
        if event["kind"] == "code_opened":
            named = event.get("prior_care") or {}
        elif event["kind"] == "prior_care_reported":
            named = event
        else:
            continue
        known.update({name: value for name, value in named.items() if value is not None})
    return known


def measure(records, breaths=None):
    breaths = breaths or {"compressions": 30, "per_minute": 110, "gap_s": 4}
    facts, waiting = facts_that_count(records)
    arrests = cut_arrests(facts)
    runs = compression_runs(facts, arrests)
    by_arrest = [within(runs, arrest) for arrest in arrests]
    pauses_by_arrest = [pauses_of(mine, arrest) for mine, arrest in zip(by_arrest, arrests)]
    inside = [run for mine in by_arrest for run in mine]
    pauses = [pause for mine in pauses_by_arrest for pause in mine]

    def times(kind, where=lambda event: True):
        return [at_ms for at_ms, _, event in facts if event["kind"] == kind and where(event)]

    def holder(at_ms):
        held = [pause for pause in pauses if pause["start_ms"] <= at_ms <= pause["end_ms"]]
        return held[-1] if held else None

    def arrest_at(place):
        for number, arrest in enumerate(arrests):
            closing = facts[arrest[1]][2]["kind"] in ("rosc", "code_closed")
            if arrest[0] < place < arrest[1] or (place == arrest[1] and not closing):
                return number
        return None

    zero = next((at_ms for at_ms, _, event in facts if event["kind"] == "clock_started"), None)

    def relative(at_ms):
        return None if at_ms is None or zero is None else at_ms - zero

    def first(found):
        return relative(found[0]) if found else None

    arrest_ms = sum(arrest[3] - arrest[2] for arrest in arrests)
    compressed = sum(run[1] - run[0] for run in inside)
    no_flow = sum((mine[0][0] if mine else arrest[3]) - arrest[2] for mine, arrest in zip(by_arrest, arrests))
    low_flow = arrest_ms - no_flow

    shocks, charged, charging_ms, gaps = [], 0, 0, []
    for place, (at_ms, _, event) in enumerate(facts):
        if event["kind"] != "shock_delivered":
            continue
        pre = post = peri = None
        pause = holder(at_ms)
        mechanical = any(run[2] == "mechanical" and run[4] < place < run[5] for run in runs)
        if mechanical:
            pre = post = peri = 0
        elif pause is not None:
            pre = at_ms - pause["start_ms"]
            if pause["ended_by"] == "resumed":
                post = pause["end_ms"] - at_ms
                peri = pre + post
        shocks.append(
            {"at_ms": at_ms, "energy_j": event["energy_j"], "pre_shock_ms": pre, "post_shock_ms": post, "peri_shock_ms": peri}
        )
        number = arrest_at(place)
        if number is None:
            continue
        if pause is None and not mechanical:
            gaps.append((at_ms, "shock_without_pause"))
        # Back from the shock to the previous shock or the arrest's start: the last charge that was not cancelled.
        clear, back = at_ms, place - 1
        while back > arrests[number][0]:
            kind = facts[back][2]["kind"]
            if kind in ("shock_delivered", "charge_dumped", "shock_aborted"):
                break
            if kind == "all_clear_called":
                clear = facts[back][0]
            if kind == "charging_started":
                charging_ms += clear - facts[back][0]
                charged += overlap(inside, facts[back][0], clear)
                break
            back -= 1

    epinephrine = [[] for _ in arrests]
    for place, (at_ms, _, event) in enumerate(facts):
        number = arrest_at(place)
        if (
            event["kind"] == "drug_given"
            and event["drug"] == "epinephrine"
            and event["route"] in ("iv", "io")
            and event.get("form", "bolus") == "bolus"
            and number is not None
        ):
            epinephrine[number].append(at_ms)
    first_epinephrine = first([at_ms for mine in epinephrine for at_ms in mine])
    before = prior_care(facts)
    if epinephrine and before.get("last_epinephrine_at_ms") is not None and before.get("epinephrine_doses") != 0:
        epinephrine[0].insert(0, before["last_epinephrine_at_ms"])
    intervals = [later - earlier for mine in epinephrine for earlier, later in zip(mine, mine[1:])]

    marks = times("rhythm_checked") + times("shock_delivered")
    check_intervals = []
    for mine, own_runs in zip(pauses_by_arrest, by_arrest):
        counted_from = own_runs[0][0] if own_runs else None
        for pause in mine:
            if pause["reason"] == "rhythm_check":
                check_intervals.append(pause["start_ms"] - counted_from)
            if pause["reason"] == "rhythm_check" or any(holder(at_ms) is pause for at_ms in marks):
                counted_from = pause["end_ms"]

    spells = []
    for mine, arrest in zip(by_arrest, arrests):
        if not mine:
            continue
        cuts = [mine[0][0]]
        for place in range(arrest[0], arrest[1] + 1):
            if facts[place][2]["kind"] == "compressor_changed" and facts[place][0] > cuts[0]:
                cuts.append(facts[place][0])
        cuts.append(arrest[3])
        spells += [later - earlier for earlier, later in zip(cuts, cuts[1:]) if later > earlier]

    fingers = times("pulse_finger_placed")
    checks = [pause for pause in pauses if pause["reason"] == "rhythm_check"]
    ready = [pause for pause in checks if any(pause["start_ms"] - 30_000 <= at_ms <= pause["start_ms"] for at_ms in fingers)]

    # Airway and access as they stand before each fact; the two walks below share nothing with the figures above.
    airways, bagged_ms = set(), 0
    accesses = set()
    for place, (at_ms, _, event) in enumerate(facts):
        kind = event["kind"]
        care = event.get("prior_care") or {} if kind == "code_opened" else event if kind == "prior_care_reported" else {}
        if care.get("airway") in ADVANCED:
            airways.add(care["airway"])
        if care.get("access"):
            accesses.add(care["access"])
        if kind == "airway_placed" and event["airway"] in ADVANCED:
            airways.add(event["airway"])
        if kind == "airway_removed":
            airways.discard(event["airway"])
        if kind == "access_gained":
            accesses.add(event["route"])
        if kind == "access_lost":
            accesses.discard(event["route"])
        if kind == "drug_given" and event["route"] in ("iv", "io") and not accesses:
            gaps.append((at_ms, "drug_without_access"))
        if place + 1 < len(facts) and not airways:
            manual = [run for run in inside if run[2] == "manual"]
            bagged_ms += overlap(manual, at_ms, facts[place + 1][0])
    cycle_s = breaths["compressions"] * 60 / breaths["per_minute"] + breaths["gap_s"]
    estimate = int(bagged_ms * breaths["gap_s"] / cycle_s + 0.5)

    looks = times("rhythm_checked")
    for pause in checks:
        if not any(holder(at_ms) is pause for at_ms in looks):
            gaps.append((pause["start_ms"], "check_without_rhythm"))
    for mine, arrest in zip(by_arrest, arrests):
        if (mine[0][0] if mine else arrest[3]) - arrest[2] >= LONGEST_START_MS:
            gaps.append((arrest[2], "no_compressions"))
        for place in range(arrest[0], arrest[1]):
            if facts[place + 1][0] - facts[place][0] > SHORTEST_SILENCE_MS:
                gaps.append((facts[place][0], "silence"))
    gaps += [(at_ms, "waiting_target") for at_ms in waiting]

    roscs = [arrest[3] for arrest in arrests if arrest[4] == "rosc"]
    rhythms = [event["rhythm"] for _, _, event in facts if event["kind"] == "rhythm_checked"]
    return {
        "arrest_ms": arrest_ms,
        "compression_fraction": ratio(compressed, arrest_ms),
        "no_flow_ms": no_flow,
        "low_flow_ms": low_flow,
        "compression_fraction_from_first": ratio(compressed, low_flow),
        "pauses": pauses,
        "pauses_over_10_s": sum(1 for pause in pauses if pause["end_ms"] - pause["start_ms"] > 10_000),
        "longest_pause_ms": max((pause["end_ms"] - pause["start_ms"] for pause in pauses), default=None),
        "shocks": shocks,
        "charging_compression_fraction": ratio(charged, charging_ms),
        "first_rhythm": rhythms[0] if rhythms else None,
        "first_compression_ms": first([mine[0][0] for mine in by_arrest if mine]),
        "first_shock_ms": first(times("shock_delivered")),
        "first_epinephrine_ms": first_epinephrine,
        "first_access_ms": first(times("access_gained")),
        "first_advanced_airway_ms": first(times("airway_placed", lambda event: event["airway"] in ADVANCED)),
        "epinephrine_intervals_ms": intervals,
        "check_intervals_ms": check_intervals,
        "compressor_spells_ms": spells,
        "finger_ready_fraction": ratio(len(ready), len(checks)),
        "rosc_ms": first(roscs),
        "rosc_count": len(roscs),
        "breath_pauses_estimate_ms": estimate,
        "gaps": [{"at_ms": at_ms, "what": what} for at_ms, what in sorted(gaps)],
    }


def read(path):
    return [json.loads(line) for line in path.read_text().splitlines() if line.strip()]


def differences(expected, found):
    wrong = []
    for name, value in expected.items():
        other = found.get(name, "missing")
        fraction = name.endswith("fraction") or name.endswith("fraction_from_first")
        same = abs(value - other) <= 1e-4 if fraction and None not in (value, other) else value == other
        if not same:
            wrong.append(f"{name}: expected {value}, found {other}")
    return wrong


def main(arguments):
    if arguments[:1] == ["--check"]:
        wrong = 0
        for path in sorted(pathlib.Path(arguments[1]).glob("*.jsonl")):
            expected = json.loads(path.with_suffix("").with_suffix(".expected.json").read_text())
            for line in differences(expected, measure(read(path))):
                print(f"{path.name}: {line}")
                wrong += 1
        print(f"{wrong} differences")
        return 1 if wrong else 0
    print(json.dumps(measure(read(pathlib.Path(arguments[0]))), indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
