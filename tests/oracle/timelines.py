"""Random codes, one per seed: a team at work that forgets, doubles, mistakes, corrects and enters late; or sheer soup.

The moments to ask about come with them: when something was recorded, and when a rule might act on it later.
"""

import random

PROTOCOLS = {"aha-adult": "adult", "erc-adult": "adult", "aha-child": "child", "erc-child": "child"}
REASONS = [
    "rhythm_check", "shock", "airway", "access", "compressor_change", "pulse_check", "rosc", "moving", "other",
]  # fmt: skip
OFFSETS_S = [0, 0.001, 1, 5, 7, 10, 15, 30, 45, 59.999, 60, 105, 120, 180, 225, 240, 300]
SHOCKABLE = ["vf", "vf", "pulseless_vt"]
OTHERS = ["asystole", "asystole", "pea", "pea", "bradycardia", "perfusing", "unknown"]
ROUTES = ["iv", "iv", "iv", "io", "io", "im", "tracheal"]
# How often each kind of event falls into the soup.
SOUP = {
    "compressions_started": 14, "compressions_stopped": 14, "rhythm_checked": 14, "charging_started": 9,
    "charge_ready": 2, "all_clear_called": 6, "shock_delivered": 9, "charge_dumped": 4, "shock_aborted": 2,
    "drug_given": 10, "drug_prepared": 4, "pads_attached": 3, "pads_removed": 1, "rosc": 2, "arrest_again": 2,
    "clock_started": 1, "prior_care_reported": 1, "pause_reason": 1, "access_gained": 1, "note": 1,
    "code_closed": 0.1, "compressor_changed": 1,
}  # fmt: skip
CIRCUMSTANCES = ["hypothermia"] * 3 + ["trauma", "monophasic_defibrillator"]
MOMENTS = 60


class Dice(random.Random):
    def chance(self, of_one):
        return self.random() < of_one

    def span_ms(self, low_s, high_s):
        """Whole seconds often, so that things fall together; else any millisecond."""
        if self.chance(0.5):
            return self.randrange(low_s, high_s + 1) * 1000
        return self.randrange(low_s * 1000, high_s * 1000 + 1)


# Single events.


def prior_care(dice):
    found = {}
    if dice.chance(0.6):
        found["epinephrine_doses"] = dice.choice([0, 1, 2])
    if found.get("epinephrine_doses") and dice.chance(0.5):
        found["last_epinephrine_at_ms"] = -dice.span_ms(0, 400)
    if dice.chance(0.6):
        found["shocks"] = dice.choice([0, 1, 2, 3, 4, 6])
    if dice.chance(0.25):
        found["amiodarone_mg"] = dice.choice([50, 150, 300, 450])
    elif dice.chance(0.15):
        found["lidocaine_mg"] = dice.choice([10, 50, 100, 150])
    return found


def look(dice, shockable=None):
    shockable = dice.chance(0.5) if shockable is None else shockable
    found = {"kind": "rhythm_checked", "rhythm": dice.choice(SHOCKABLE if shockable else OTHERS)}
    if dice.chance(0.5):
        found["pulse"] = dice.choice(["absent", "absent", "absent", "not_checked", "present"])
    return found


def any_event(dice, kind):
    """An event of a kind, filled in as it may come."""
    found = {"kind": kind}
    if kind == "compressions_started" and dice.chance(0.15):
        found["by"] = "mechanical"
    elif kind in ("compressions_stopped", "pause_reason"):
        found["reason"] = dice.choice(REASONS)
    elif kind == "rhythm_checked":
        found = look(dice)
    elif kind in ("charging_started", "charge_ready", "charge_dumped"):
        if dice.chance(0.5):
            found["energy_j"] = dice.choice([20, 120, 150, 200, 360])
    elif kind == "shock_delivered":
        found["energy_j"] = dice.choice([20, 120, 150, 200, 360])
        if dice.chance(0.15):
            found["stack_id"] = dice.choice(["a", "b"])
    elif kind == "drug_given":
        found["drug"] = dice.choice(
            ["epinephrine"] * 4 + ["adrenaline", "amiodarone", "lidocaine", "lignocaine", "atropine"]
        )
        found["dose"] = {"value": 1, "unit": "mg"} if dice.chance(0.7) else some_dose(dice)
        found["route"] = dice.choice(ROUTES)
        if dice.chance(0.1):
            found["form"] = dice.choice(["bolus", "infusion"])
    elif kind == "drug_prepared":
        found["drug"] = dice.choice(["epinephrine", "epinephrine", "adrenaline", "amiodarone", "lidocaine"])
        if dice.chance(0.5):
            found["dose"] = in_a_syringe(dice)
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
    elif kind == "patient_updated":
        found.update(some_patient(dice, dice.choice(list(PROTOCOLS.values()))))
    elif kind == "protocol_changed":
        found.update(protocol={"id": dice.choice(list(PROTOCOLS)), "version": 1}, reason="r")
    elif kind == "vital_read":
        found.update(temp_c=core_temp_c(dice), temp_site=dice.choice(["core"] * 4 + ["other"]))
        if dice.chance(0.1):
            del found["temp_site"]
    elif kind == "circumstance_set":
        found.update(name=dice.choice(CIRCUMSTANCES), on=dice.chance(0.7))
    return found


def some_patient(dice, age_group):
    """What may be known of a patient of an age group, some of it wrong."""
    found = {}
    if age_group == "adult":
        if dice.chance(0.3):
            found["weight_kg"] = dice.choice([48, 70, 82.5, 110, 160])
        return found
    if dice.chance(0.6):
        found["age_months"] = dice.choice([0, 3, 6, 11, 12, 13, 24, 35, 60, 71, 72, 96, 144, 155, 156, 180, 215, 216])
    if dice.chance(0.6):
        found["weight_kg"] = child_weight_kg(dice)
        if dice.chance(0.7):
            found["weight_basis"] = dice.choice(["measured", "length", "told", "age"])
    return found


def child_weight_kg(dice):
    """To the gram at times, as pounds come out; beyond every maximum at times."""
    if dice.chance(0.3):
        return round(dice.choice([4, 7.5, 10, 12, 14, 22, 31, 55]) * 0.45359237, 3)
    return dice.choice([2.5, 3, 3.55, 5, 6.25, 8.4, 9.99, 10, 12.3, 14, 18, 25, 37, 49, 59.9, 60, 61, 99.9, 100.5, 120])


def in_a_syringe(dice):
    """What may have been drawn up: nearly an adult's epinephrine, a child's by a usual weight, or anything."""
    if dice.chance(0.2):
        return some_dose(dice)
    return {"value": dice.choice([0.85, 0.9, 1, 1, 1.1, 1.11, 0.1, 0.12, 0.14, 150, 300]), "unit": "mg"}


def some_dose(dice):
    """From a push of micrograms up, in the units that teams use."""
    unit = dice.choice(["mg", "mg", "ug", "mL"])
    values = {"mg": [0.01, 0.05, 0.1, 0.3, 0.49, 0.5, 1], "ug": [10, 50, 100, 499, 500, 1000], "mL": [0.1, 1, 10]}
    return {"value": dice.choice(values[unit]), "unit": unit}


def core_temp_c(dice):
    return dice.choice([22, 27.5, 29.9, 30, 30.1, 33, 34.9, 35, 36.5])


# Whole codes.


def soup(dice):
    """Anything at any time."""
    grid_ms = dice.choice([1, 1000, 5000])
    span_ms = dice.choice([60_000, 200_000, 600_000])
    found = [(0, {"kind": "clock_started"})] if dice.chance(0.95) else []
    for _ in range(dice.randrange(3, 30)):
        at_ms = dice.randrange(0, span_ms) // grid_ms * grid_ms
        found.append((at_ms, any_event(dice, dice.choices(list(SOUP), list(SOUP.values()))[0])))
    return found


class Team:
    """Cycles as a team works, with forgotten, doubled and mistaken taps."""

    def __init__(self, dice):
        self.dice, self.now_ms = dice, 0
        self.facts = [(0, {"kind": "clock_started"})]
        self.careless = dice.choice([0, 0, 0.02, 0.06, 0.15])

    def tap(self, kind, after_ms, **fields):
        self.add(any_event(self.dice, kind) | fields, after_ms)

    def add(self, event, after_ms):
        self.now_ms += after_ms
        if self.dice.chance(self.careless):
            return
        self.facts.append((self.now_ms, event))
        if self.dice.chance(self.careless / 2):
            self.facts.append((self.now_ms + self.dice.choice([0, 300, 4000]), dict(event)))

    def shock(self):
        stacked = self.dice.chance(0.06)
        for _ in range(self.dice.randrange(2, 4) if stacked else 1):
            self.tap("shock_delivered", self.dice.span_ms(0, 6), **({"stack_id": "s"} if stacked else {}))

    def check(self, shockable):
        dice = self.dice
        charged = dice.chance(0.5)
        if charged:
            self.tap("charging_started", dice.span_ms(95, 112), energy_j=200)
            if dice.chance(0.3):
                self.tap("charge_ready", dice.span_ms(3, 8))
            self.tap("compressions_stopped", dice.span_ms(0, 15), reason="rhythm_check")
        else:
            self.tap("compressions_stopped", dice.span_ms(95, 140), reason="rhythm_check")
        self.add(look(dice, shockable), dice.span_ms(1, 9))
        if shockable:
            self.answer_shockable(charged)
        elif charged and dice.chance(0.7):
            self.tap("charge_dumped", dice.span_ms(0, 4))
        self.tap("compressions_started", dice.span_ms(0, 6))

    def answer_shockable(self, charged):
        dice = self.dice
        if not charged:
            if dice.chance(0.7):
                self.tap("compressions_started", dice.span_ms(0, 2))
            self.tap("charging_started", dice.span_ms(0, 3), energy_j=dice.choice([150, 200]))
            self.tap("all_clear_called", dice.span_ms(4, 12))
            if dice.chance(0.6):
                self.tap("compressions_stopped", dice.span_ms(0, 2), reason="shock")
        elif dice.chance(0.7):
            self.tap("all_clear_called", dice.span_ms(0, 4))
        if dice.chance(0.9):
            self.shock()
        else:
            self.tap(dice.choice(["shock_aborted", "charge_dumped"]), dice.span_ms(0, 6))

    def drug(self):
        dice = self.dice
        drug = dice.choice(["epinephrine"] * 3 + ["amiodarone", "lidocaine"])
        if dice.chance(0.5):
            self.tap("drug_prepared", dice.span_ms(0, 30), drug=drug)
        self.tap("drug_given", dice.span_ms(0, 40), drug=drug, route=dice.choice(["iv", "iv", "io", "io", "im"]))

    def work(self):
        dice = self.dice
        self.tap("compressions_started", dice.span_ms(0, 40))
        self.tap("pads_attached", dice.span_ms(0, 40))
        mostly = dice.choice([0.1, 0.5, 0.9, 1.0])
        for _ in range(dice.randrange(1, 8)):
            self.check(dice.chance(mostly))
            if dice.chance(0.6):
                self.drug()
            if dice.chance(0.15):
                self.tap("compressions_stopped", dice.span_ms(0, 60), reason=dice.choice(REASONS[2:]))
                self.tap("compressions_started", dice.span_ms(0, 20))
            if dice.chance(0.12):
                self.tap("rosc", dice.span_ms(0, 20))
                if dice.chance(0.3):
                    self.drug()
                self.tap("arrest_again", dice.span_ms(0, 200))
                self.tap("compressions_started", dice.span_ms(0, 8))
        return self.facts


def opening(dice):
    protocol_id = dice.choice(list(PROTOCOLS))
    age_group = PROTOCOLS[protocol_id]
    if dice.chance(0.06):
        age_group = dice.choice(["adult", "child"])
    named = dice.choice(["child", "infant"]) if age_group == "child" else age_group
    event = {
        "kind": "code_opened",
        "protocol": {"id": protocol_id, "version": 1},
        "patient": {"age_group": named} | some_patient(dice, age_group),
        "training": True,
    }
    if dice.chance(0.3):
        event["prior_care"] = prior_care(dice)
    return event


def asides(dice, facts, age_group):
    """What is said beside the team's work: weights, ages, another protocol."""
    last_ms = max(at_ms for at_ms, _ in facts) if facts else 0

    def at_some_time(event):
        return dice.randrange(0, last_ms + 1) // 1000 * 1000, event

    found = []
    if age_group == "child":
        for _ in range(dice.choice([0, 0, 1, 1, 2, 3])):
            found.append(at_some_time({"kind": "patient_updated"} | some_patient(dice, "child")))
    if dice.chance(0.2):
        found += cooling(dice, at_some_time)
    if dice.chance(0.05):
        found.append(at_some_time({"kind": "patient_updated", "age_group": dice.choice(["adult", "child", "infant"])}))
    if dice.chance(0.08):
        found.append(at_some_time(any_event(dice, "protocol_changed")))
    if dice.chance(0.2):
        event = any_event(dice, "circumstance_set") | {"name": "monophasic_defibrillator"}
        found.append(at_some_time(event))
    return found


def cooling(dice, at_some_time):
    """Hypothermia set, and readings on either side of the thresholds."""
    found = [(0, {"kind": "circumstance_set", "name": "hypothermia", "on": True})]
    for _ in range(dice.randrange(0, 5)):
        found.append(at_some_time(any_event(dice, "vital_read")))
    if dice.chance(0.3):
        found.append(at_some_time({"kind": "patient_updated", "core_temp_c": core_temp_c(dice)}))
    if dice.chance(0.4):
        found.append(at_some_time(any_event(dice, "circumstance_set")))
    return found


# Records.


def identity(number):
    return f"01980000-0000-7000-8000-{number:012}"


def record(seq, at_ms, event, received_ms=None):
    return {
        "seq": seq,
        "id": identity(seq),
        "code": identity(0xC0DE),
        "at_ms": at_ms,
        "received_ms": at_ms if received_ms is None else received_ms,
        "recorded_at": "2026-11-25T09:14:28.123Z",
        "by": {"device": identity(0xD0D0), "name": "Bay 1", "roles": []},
        "source": "live",
        "event": event,
    }


def correct(dice, records):
    """Adds voids, amendments, and their own corrections; each is heard of after its target."""
    for _ in range(dice.choice([0, 0, 0, 1, 1, 2, 4])):
        target = dice.choice(records)
        if target["event"]["kind"] in ("code_opened", "clock_started") and dice.chance(0.8):
            continue
        heard_ms = target["received_ms"] + dice.span_ms(0, 200)
        records.append(record(len(records) + 1, heard_ms, correction(dice, target, heard_ms)))


def correction(dice, target, heard_ms):
    kind = target["event"]["kind"]
    amended = {"kind": "amended", "target": target["id"], "reason": "r"}
    if kind == "code_opened":
        # An opening may only be amended, to another opening.
        return amended | {"event": target["event"] | {"prior_care": prior_care(dice)}}
    if kind in ("voided", "amended") or dice.chance(0.5):
        return {"kind": "voided", "target": target["id"], "reason": "r"}
    if dice.chance(0.4):
        moved_ms = target["at_ms"] + dice.choice([-1, 1]) * dice.span_ms(0, 60)
        amended["at_ms"] = min(max(0, moved_ms), heard_ms)
    if "at_ms" not in amended or dice.chance(0.3):
        amended["event"] = any_event(dice, kind if dice.chance(0.8) else "rhythm_checked")
    return amended


def timeline(seed):
    """(records, moments in ms) of a seed."""
    dice = Dice(seed)
    opened = opening(dice)
    facts = soup(dice) if dice.chance(0.35) else Team(dice).work()
    facts += asides(dice, facts, PROTOCOLS[opened["protocol"]["id"]])
    late = dice.choice([0, 0, 0.1])
    ago_ms = dice.span_ms(1, 120) if dice.chance(0.1) else 0
    heard = []
    for at_ms, event in facts:
        if ago_ms and event["kind"] == "clock_started":
            event = event | {"recognised_ago_ms": ago_ms}
        late_ms = dice.span_ms(0, 200) if dice.chance(late) else 0
        heard.append((at_ms, max(at_ms, ago_ms) + late_ms, event))
    standby = [(0, 0, opened)]
    if dice.chance(0.1):
        standby.append((0, 0, any_event(dice, "prior_care_reported")))
    heard = standby + sorted(heard, key=lambda fact: fact[1])
    records = [record(place + 1, at_ms, event, received_ms) for place, (at_ms, received_ms, event) in enumerate(heard)]
    correct(dice, records)
    if dice.chance(0.3):
        # In a file the order of lines means nothing, beyond the opening.
        rest = records[1:]
        dice.shuffle(rest)
        records[1:] = rest
    return records, moments_ms(dice, records)


def moments_ms(dice, records):
    """When to look: around what was recorded, and where a rule might act on it later."""
    found = set()
    for _ in range(MOMENTS):
        chosen = dice.choice(records)
        from_ms = dice.choice([chosen["at_ms"], chosen["received_ms"]])
        found.add(int(max(0, from_ms + dice.choice(OFFSETS_S) * 1000 - dice.chance(0.15))))
    return sorted(found)
