"""Random codes, one per seed: a team at work that forgets, doubles, mistakes, corrects and enters late; or sheer soup.

The moments to ask about come with them: when something was recorded, and when a rule might act on it later. Only the
standard library.
"""

import random

REASONS = ["rhythm_check", "shock", "airway", "access", "compressor_change", "pulse_check", "rosc", "moving", "other"]
OFFSETS_S = [0, 0.001, 1, 5, 7, 10, 15, 30, 45, 59.999, 60, 105, 120, 180, 225, 240, 300]
SHOCKABLE = ["vf", "vf", "pulseless_vt"]
OTHERS = ["asystole", "asystole", "pea", "pea", "bradycardia", "perfusing", "unknown"]
SOUP = {
    "compressions_started": 14, "compressions_stopped": 14, "rhythm_checked": 14, "charging_started": 9, "charge_ready": 2,
    "all_clear_called": 6, "shock_delivered": 9, "charge_dumped": 4, "shock_aborted": 2, "drug_given": 10,
    "drug_prepared": 4, "pads_attached": 3, "pads_removed": 1, "rosc": 2, "arrest_again": 2, "clock_started": 1,
    "prior_care_reported": 1, "pause_reason": 1, "access_gained": 1, "note": 1, "code_closed": 0.1, "compressor_changed": 1,
}


def identity(number):
    return f"01980000-0000-7000-8000-{number:012}"


class Dice(random.Random):
    def chance(self, of_one):
        return self.random() < of_one

    def seconds(self, low, high):
        """Whole seconds often, so that things fall together; else any millisecond."""
        return self.randrange(low, high + 1) * 1000 if self.chance(0.5) else self.randrange(low * 1000, high * 1000 + 1)


def prior_care(dice):
    found = {}
    if dice.chance(0.6):
        found["epinephrine_doses"] = dice.choice([0, 1, 2])
    if found.get("epinephrine_doses") and dice.chance(0.5):
        found["last_epinephrine_at_ms"] = -dice.seconds(0, 400)
    if dice.chance(0.6):
        found["shocks"] = dice.choice([0, 1, 2, 3, 4, 6])
    if dice.chance(0.25):
        found["amiodarone_mg"] = dice.choice([150, 300, 450])
    elif dice.chance(0.15):
        found["lidocaine_mg"] = dice.choice([50, 100, 150])
    return found


def look(dice, shockable=None):
    shockable = dice.chance(0.5) if shockable is None else shockable
    found = {"kind": "rhythm_checked", "rhythm": dice.choice(SHOCKABLE if shockable else OTHERS)}
    if dice.chance(0.5):
        found["pulse"] = dice.choice(["absent", "absent", "absent", "not_checked", "present"])
    return found


def any_event(dice, kind):
    found = {"kind": kind}
    if kind == "compressions_started" and dice.chance(0.15):
        found["by"] = "mechanical"
    elif kind in ("compressions_stopped", "pause_reason"):
        found["reason"] = dice.choice(REASONS)
    elif kind == "rhythm_checked":
        found = look(dice)
    elif kind in ("charging_started", "charge_ready", "charge_dumped"):
        if dice.chance(0.5):
            found["energy_j"] = dice.choice([120, 150, 200, 360])
    elif kind == "shock_delivered":
        found["energy_j"] = dice.choice([120, 150, 200, 360])
        if dice.chance(0.15):
            found["stack_id"] = dice.choice(["a", "b"])
    elif kind == "drug_given":
        found["drug"] = dice.choice(["epinephrine", "epinephrine", "epinephrine", "amiodarone", "lidocaine", "atropine"])
        found["dose"] = {"value": 1, "unit": "mg"}
        found["route"] = dice.choice(["iv", "iv", "iv", "io", "io", "im", "tracheal"])
        if dice.chance(0.1):
            found["form"] = dice.choice(["bolus", "infusion"])
    elif kind == "drug_prepared":
        found["drug"] = dice.choice(["epinephrine", "epinephrine", "amiodarone", "lidocaine"])
    elif kind == "pads_attached":
        found["position"] = "anterolateral"
    elif kind == "prior_care_reported":
        found.update(prior_care(dice))
    elif kind == "access_gained":
        found["route"] = "iv"
    elif kind == "note":
        found["text"] = "n"
    elif kind == "code_closed":
        found["outcome"] = "died"
    return found


def soup(dice):
    """Anything at any time."""
    grid = dice.choice([1, 1000, 5000])
    span = dice.choice([60_000, 200_000, 600_000])
    found = [(0, {"kind": "clock_started"})] if dice.chance(0.95) else []
    for _ in range(dice.randrange(3, 30)):
        at_ms = dice.randrange(0, span) // grid * grid
        found.append((at_ms, any_event(dice, dice.choices(list(SOUP), list(SOUP.values()))[0])))
    return found


class Team:
    """Cycles as a team works, with forgotten, doubled and mistaken taps."""

    def __init__(self, dice):
        self.dice, self.now_ms, self.found = dice, 0, [(0, {"kind": "clock_started"})]
        self.careless = dice.choice([0, 0, 0.02, 0.06, 0.15])

    def tap(self, kind, after_ms, **fields):
        self.now_ms += after_ms
        fact = any_event(self.dice, kind)
        fact.update(fields)
        if self.dice.chance(self.careless):
            return
        self.found.append((self.now_ms, fact))
        if self.dice.chance(self.careless / 2):
            self.found.append((self.now_ms + self.dice.choice([0, 300, 4000]), dict(fact)))

    def shock(self):
        dice = self.dice
        stacked = dice.chance(0.06)
        for _ in range(dice.randrange(2, 4) if stacked else 1):
            fields = {"stack_id": "s"} if stacked else {}
            self.tap("shock_delivered", dice.seconds(0, 6), **fields)

    def check(self, shockable):
        dice = self.dice
        charged = dice.chance(0.5)
        if charged:
            self.tap("charging_started", dice.seconds(95, 112), energy_j=200)
            if dice.chance(0.3):
                self.tap("charge_ready", dice.seconds(3, 8))
            self.tap("compressions_stopped", dice.seconds(0, 15), reason="rhythm_check")
        else:
            self.tap("compressions_stopped", dice.seconds(95, 140), reason="rhythm_check")
        seen = {name: value for name, value in look(dice, shockable).items() if name != "kind"}
        self.tap("rhythm_checked", dice.seconds(1, 9), **seen)
        if shockable:
            if not charged:
                if dice.chance(0.7):
                    self.tap("compressions_started", dice.seconds(0, 2))
                self.tap("charging_started", dice.seconds(0, 3), energy_j=dice.choice([150, 200]))
                self.tap("all_clear_called", dice.seconds(4, 12))
                if dice.chance(0.6):
                    self.tap("compressions_stopped", dice.seconds(0, 2), reason="shock")
            elif dice.chance(0.7):
                self.tap("all_clear_called", dice.seconds(0, 4))
            if dice.chance(0.9):
                self.shock()
            else:
                self.tap(dice.choice(["shock_aborted", "charge_dumped"]), dice.seconds(0, 6))
        elif charged and dice.chance(0.7):
            self.tap("charge_dumped", dice.seconds(0, 4))
        self.tap("compressions_started", dice.seconds(0, 6))

    def drug(self):
        dice = self.dice
        drug = dice.choice(["epinephrine", "epinephrine", "epinephrine", "amiodarone", "lidocaine"])
        if dice.chance(0.5):
            self.tap("drug_prepared", dice.seconds(0, 30), drug=drug)
        self.tap("drug_given", dice.seconds(0, 40), drug=drug, route=dice.choice(["iv", "iv", "io", "io", "im"]))

    def work(self):
        dice = self.dice
        self.tap("compressions_started", dice.seconds(0, 40))
        self.tap("pads_attached", dice.seconds(0, 40))
        mostly = dice.choice([0.1, 0.5, 0.9, 1.0])
        for _ in range(dice.randrange(1, 8)):
            self.check(dice.chance(mostly))
            if dice.chance(0.6):
                self.drug()
            if dice.chance(0.15):
                self.tap("compressions_stopped", dice.seconds(0, 60), reason=dice.choice(REASONS[2:]))
                self.tap("compressions_started", dice.seconds(0, 20))
            if dice.chance(0.12):
                self.tap("rosc", dice.seconds(0, 20))
                if dice.chance(0.3):
                    self.drug()
                self.tap("arrest_again", dice.seconds(0, 200))
                self.tap("compressions_started", dice.seconds(0, 8))
        return self.found


def corrections(dice, records):
    """Voids, amendments, and their own corrections; each heard of after its target."""
    for _ in range(dice.choice([0, 0, 0, 1, 1, 2, 4])):
        target = dice.choice(records)
        if target["event"]["kind"] in ("code_opened", "clock_started") and dice.chance(0.8):
            continue
        heard_ms = target["received_ms"] + dice.seconds(0, 200)
        if target["event"]["kind"] == "code_opened":
            # An opening may only be amended, to another opening.
            event = {**target["event"], "prior_care": prior_care(dice)}
            change = {"kind": "amended", "target": target["id"], "event": event, "reason": "r"}
        elif dice.chance(0.5) or target["event"]["kind"] in ("voided", "amended"):
            change = {"kind": "voided", "target": target["id"], "reason": "r"}
        else:
            change = {"kind": "amended", "target": target["id"], "reason": "r"}
            if dice.chance(0.4):
                change["at_ms"] = max(0, target["at_ms"] + dice.choice([-1, 1]) * dice.seconds(0, 60))
                change["at_ms"] = min(change["at_ms"], heard_ms)
            if "at_ms" not in change or dice.chance(0.3):
                kind = target["event"]["kind"]
                change["event"] = any_event(dice, kind if dice.chance(0.8) else "rhythm_checked")
        records.append(record(len(records) + 1, heard_ms, change))


def record(seq, at_ms, event, received_ms=None):
    return {
        "seq": seq, "id": identity(seq), "code": identity(0xC0DE), "at_ms": at_ms,
        "received_ms": at_ms if received_ms is None else received_ms, "recorded_at": "2026-11-25T09:14:28.123Z",
        "by": {"device": identity(0xD0D0), "name": "Bay 1", "roles": []}, "source": "live", "event": event,
    }


def timeline(seed, protocols):
    """(records, moments) of a seed."""
    dice = Dice(seed)
    patient = {"age_group": "adult"}
    if dice.chance(0.3):
        patient["weight_kg"] = dice.choice([48, 70, 82.5, 110, 160])
    opened = {
        "kind": "code_opened", "protocol": {"id": dice.choice(protocols), "version": 1}, "patient": patient, "training": True,
    }
    if dice.chance(0.3):
        opened["prior_care"] = prior_care(dice)
    facts = soup(dice) if dice.chance(0.35) else Team(dice).work()
    heard = [(0, 0, opened)]
    late = dice.choice([0, 0, 0.1])
    for at_ms, event in facts:
        heard.append((at_ms, at_ms + (dice.seconds(0, 200) if dice.chance(late) else 0), event))
    heard.sort(key=lambda fact: fact[1])
    records = [record(place + 1, at_ms, event, received_ms) for place, (at_ms, received_ms, event) in enumerate(heard)]
    corrections(dice, records)
    if dice.chance(0.3):
        first, rest = records[:1], records[1:]
        dice.shuffle(rest)
        records = first + rest
    return records, moments(dice, records)


def moments(dice, records, count=24):
    found = set()
    for _ in range(count):
        chosen = dice.choice(records)
        found.add(int(max(0, dice.choice([chosen["at_ms"], chosen["received_ms"]]) + dice.choice(OFFSETS_S) * 1000 - dice.chance(0.15))))
    return sorted(found)
