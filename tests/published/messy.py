"""Random, messy timelines: doubled and forgotten taps, equal times, corrections of corrections, late and negative times.

    python3 messy.py SEED COUNT     one JSON object a line: {"seed", "records": [[seq, id, at_ms, event], ...], "expected"}

The figures beside each come from oracle_measure.py; the engine's tests compare. Only the standard library.
"""

import json
import random
import sys

import oracle_measure

REASONS = ["rhythm_check", "rhythm_check", "rhythm_check", "shock", "airway", "other", "rosc", "compressor_change"]
RHYTHMS = ["vf", "pulseless_vt", "pea", "asystole", "perfusing", "unknown", "bradycardia"]
AIRWAYS = ["bag_mask", "supraglottic", "tracheal", "front_of_neck"]
WEIGHTS = {
    "compressions_started": 16, "compressions_stopped": 16, "rhythm_checked": 7, "charging_started": 6,
    "all_clear_called": 5, "shock_delivered": 7, "charge_dumped": 2, "shock_aborted": 1, "drug_given": 7,
    "pulse_finger_placed": 6, "compressor_changed": 6, "access_gained": 2, "access_lost": 1, "airway_placed": 2,
    "airway_removed": 1, "rosc": 3, "arrest_again": 3, "clock_started": 1, "prior_care_reported": 1, "note": 2,
    "pause_reason": 1, "charge_ready": 1, "code_closed": 1, "etco2_read": 1,
}


def care(dice):
    found = {}
    if dice.random() < 0.8:
        found["epinephrine_doses"] = dice.choice([0, 1, 2])
    if dice.random() < 0.7:
        found["last_epinephrine_at_ms"] = -dice.randrange(0, 400) * 1000
    if dice.random() < 0.3:
        found["airway"] = dice.choice(AIRWAYS)
    if dice.random() < 0.3:
        found["access"] = dice.choice(["iv", "io"])
    return found


def event(dice, kind):
    found = {"kind": kind}
    if kind == "compressions_started" and dice.random() < 0.5:
        found["by"] = dice.choice(["manual", "mechanical"])
    elif kind in ("compressions_stopped", "pause_reason"):
        found["reason"] = dice.choice(REASONS)
    elif kind == "rhythm_checked":
        found["rhythm"] = dice.choice(RHYTHMS)
    elif kind == "shock_delivered":
        found["energy_j"] = dice.choice([120, 150, 200, 360, 187.5])
    elif kind == "drug_given":
        found["drug"] = dice.choice(["epinephrine", "epinephrine", "epinephrine", "amiodarone"])
        found["route"] = dice.choice(["iv", "iv", "io", "im", "tracheal"])
        if dice.random() < 0.2:
            found["form"] = dice.choice(["bolus", "infusion"])
    elif kind in ("access_gained", "access_lost"):
        found["route"] = dice.choice(["iv", "io"])
    elif kind in ("airway_placed", "airway_removed"):
        found["airway"] = dice.choice(AIRWAYS)
    elif kind == "prior_care_reported":
        found.update(care(dice))
    elif kind == "note":
        found["text"] = "n"
    elif kind == "code_closed":
        found["outcome"] = "died"
    elif kind == "etco2_read":
        found["mmhg"] = 12
    return found


def soup(dice):
    """Anything at any time."""
    grid = dice.choice([1, 500, 5000])
    span = dice.choice([60_000, 400_000, 1_500_000])
    kinds, weights = list(WEIGHTS), list(WEIGHTS.values())
    # Few timelines may close: what follows would not count.
    if dice.random() < 0.7:
        weights[kinds.index("code_closed")] = 0
    found = [(0, {"kind": "clock_started"})] if dice.random() < 0.9 else []
    for _ in range(dice.randrange(5, 60)):
        at_ms = dice.randrange(-span // 20, span) // grid * grid
        found.append((at_ms, event(dice, dice.choices(kinds, weights)[0])))
    return found


def code(dice):
    """Cycles as a team works, with forgotten, doubled and swapped taps."""
    found, now = [(0, {"kind": "clock_started"})], dice.randrange(0, 60_000)
    by = {"by": "mechanical"} if dice.random() < 0.2 else {}

    def tap(kind, after, **fields):
        nonlocal now
        now += after
        fact = event(dice, kind)
        fact.update(fields)
        chance = dice.random()
        if chance < 0.06:
            return
        found.append((now, fact))
        if chance > 0.95:
            found.append((now + dice.choice([0, 300, 4000]), event(dice, kind)))

    tap("compressions_started", 0, **by)
    for _ in range(dice.randrange(1, 9)):
        tap("pulse_finger_placed", dice.randrange(60_000, 110_000))
        if dice.random() < 0.4:
            tap("charging_started", dice.randrange(0, 20_000))
        tap("compressions_stopped", dice.choice([0, 5_000, 30_000, 30_001]), reason="rhythm_check")
        shock = dice.random() < 0.4
        tap("rhythm_checked", dice.randrange(0, 12_000), rhythm="vf" if shock else "pea")
        if shock:
            if dice.random() < 0.5:
                tap("compressions_started", 0, **by)
                tap("charging_started", dice.choice([0, 200]))
                tap("all_clear_called", dice.randrange(3_000, 9_000))
                tap("compressions_stopped", 0, reason="shock")
            else:
                tap("all_clear_called", 500)
            tap("shock_delivered", dice.randrange(0, 6_000))
        elif dice.random() < 0.3:
            tap("charge_dumped", 0)
        if dice.random() < 0.15:
            tap("rosc", dice.choice([0, 1_000]))
            tap("arrest_again", dice.randrange(0, 90_000))
        tap("compressions_started", dice.choice([0, 800, 3_000]), **by)
        tap("compressor_changed", dice.choice([0, 100]))
        if dice.random() < 0.5:
            tap("drug_given", dice.randrange(0, 30_000), drug="epinephrine")
        if dice.random() < 0.2:
            tap("access_gained", 100)
        if dice.random() < 0.2:
            tap("airway_placed", 100)
    if dice.random() < 0.5:
        tap("rosc", 1_000)
    if dice.random() < 0.6:
        tap("code_closed", dice.randrange(0, 20_000))
    return found


def timeline(seed):
    dice = random.Random(seed)
    facts = soup(dice) if seed % 2 else code(dice)
    opened = {"kind": "code_opened", "protocol": {"id": "aha-adult", "version": 1}, "patient": {}, "training": True}
    if dice.random() < 0.4:
        opened["prior_care"] = care(dice)
    if dice.random() < 0.9:
        facts.insert(0, (dice.choice([0, -5000]), opened))
    # Most taps are recorded in order of time; some are entered late.
    facts.sort(key=lambda fact: fact[0] + (dice.randrange(0, 300_000) if dice.random() < 0.1 else 0))
    records = [[place + 1, place + 1, at_ms, what] for place, (at_ms, what) in enumerate(facts)]
    for _ in range(dice.choice([0, 0, 1, 2, 6])):
        seq = len(records) + 1
        target = dice.randrange(1, seq) if dice.random() < 0.9 else 900_000
        at_ms = records[-1][2] + dice.randrange(0, 400_000)
        if dice.random() < 0.5:
            change = {"kind": "voided", "target": target, "reason": "r"}
        else:
            change = {"kind": "amended", "target": target, "reason": "r"}
            if dice.random() < 0.7:
                change["at_ms"] = dice.randrange(-60_000, 900_000) // 1000 * 1000
            if dice.random() < 0.4 or "at_ms" not in change:
                change["event"] = event(dice, dice.choices(list(WEIGHTS), list(WEIGHTS.values()))[0])
        records.append([seq, seq, at_ms, change])
    if dice.random() < 0.1:
        # A file may repeat a record under a later seq; the first copy stands.
        again = list(dice.choice(records))
        again[0] = len(records) + 1
        records.append(again)
    if dice.random() < 0.3:
        dice.shuffle(records)
    return records


def figures(records):
    return oracle_measure.measure(
        [{"seq": seq, "id": identity, "at_ms": at_ms, "event": what} for seq, identity, at_ms, what in records]
    )


def main(arguments):
    first, count = int(arguments[0]), int(arguments[1])
    for seed in range(first, first + count):
        records = timeline(seed)
        print(json.dumps({"seed": seed, "records": records, "expected": figures(records)}, separators=(",", ":")))


if __name__ == "__main__":
    main(sys.argv[1:])
