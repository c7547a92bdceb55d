"""Which drugs and shocks a team is asked for, worked out a second time.

Written from the protocol file, the plan rules of the design and docs/plan.md, with nothing taken from the engine, which
it must never import or read. It takes a moment, gathers what was known then, and asks of the whole list of facts: which
shock is wanted, where the charge is, when which dose is due. Only the standard library.

    asked(records, protocols, at_ms) -> {"defibrillator": [prompt, ...], "drugs": [prompt, ...]}
"""

import tomllib
from fractions import Fraction
from itertools import accumulate
from math import floor

CORRECTIONS = ("amended", "voided")
SHOCKABLE = ("vf", "pulseless_vt")
NEVER = 10**15


class Protocol:
    """The numbers of one protocol file: times in milliseconds, the rest as the file has it."""

    def __init__(self, text):
        self.file = tomllib.loads(text)

    def at(self, path):
        found = self.file
        for name in path.split("."):
            found = found[name]
        return found

    def value(self, path):
        return self.at(path)["value"]

    def ms(self, path):
        return round(self.value(path) * 1000)


class Fact:
    """A fact as it stands after corrections, and what it was before: [(since when it was known so, event), ...]."""

    def __init__(self, record, at_ms, versions, kind=None):
        event = versions[-1][1]
        self.at_ms, self.seq, self.event, self.heard_ms = at_ms, record["seq"], event, received(record)
        self.versions = versions
        self.kind = kind or event["kind"]


def received(record):
    return record.get("received_ms", record["at_ms"])


def facts_that_count(records, at_ms):
    """What was known at a moment, corrections applied, in order, up to code_closed; nothing later than the moment."""
    once = {}
    for record in sorted(records, key=lambda record: record["seq"]):
        if received(record) <= at_ms:
            once.setdefault(record["id"], record)
    ordered = list(once.values())
    voids = {}
    for record in ordered:
        if record["event"]["kind"] == "voided":
            voids.setdefault(record["event"]["target"], []).append(record)

    def voided(identity):
        return any(not voided(void["id"]) for void in voids.get(identity, []))

    facts = []
    for record in ordered:
        if record["event"]["kind"] in CORRECTIONS:
            continue
        happened_ms, versions = record["at_ms"], [(received(record), record["event"])]
        shock_ms = happened_ms
        for other in ordered:
            change = other["event"]
            if change["kind"] == "amended" and change["target"] == record["id"] and not voided(other["id"]):
                happened_ms = change.get("at_ms", happened_ms)
                versions.append((received(other), change.get("event") or versions[-1][1]))
                if versions[-1][1]["kind"] == "shock_delivered":
                    shock_ms = happened_ms
        counts = not voided(record["id"])
        kinds = {event["kind"] for _, event in versions}
        if "shock_delivered" in kinds and not (counts and versions[-1][1]["kind"] == "shock_delivered"):
            # A shock taken back never re-arms: whatever left the defibrillator, the charge is not there any more.
            facts.append(Fact(record, shock_ms, versions, kind="shock_taken_back"))
        if counts:
            facts.append(Fact(record, happened_ms, versions))
    facts.sort(key=lambda fact: (fact.at_ms, fact.seq))
    for place, fact in enumerate(facts):
        if fact.kind == "code_closed":
            facts = facts[: place + 1]
            break
    return [fact for fact in facts if fact.at_ms <= at_ms]


def says(event):
    """What a look means. `perfusing` and its like without a pulse felt, and a rhythm that contradicts one, only ask."""
    if event["kind"] != "rhythm_checked":
        return None
    rhythm, pulse = event["rhythm"], event.get("pulse", "not_checked")
    if rhythm in SHOCKABLE and pulse != "present":
        return "shock"
    if rhythm in ("pea", "asystole") and pulse != "present":
        return "no_shock"
    return "no_shock" if rhythm in ("perfusing", "bradycardia") and pulse == "absent" else "nothing"


def shockable(look):
    return says(look.event) == "shock"


def not_shockable(look):
    return says(look.event) == "no_shock"


def said(look, heard_ms):
    """What a look meant as it was known at a moment."""
    return says([event for known_ms, event in look.versions if known_ms <= heard_ms or event is look.versions[0][1]][-1])


def counts_from(look):
    """What hangs on a look whose meaning was corrected is late from the correction on, not from the look."""
    return max([look.at_ms] + corrected(look))


def corrected(look):
    """When the meaning of a look was corrected."""
    pairs = zip(look.versions, look.versions[1:])
    return [known_ms for (_, before), (known_ms, after) in pairs if says(before) != says(after)]


class Pause:
    def __init__(self, fact, limit_ms):
        self.start_ms, self.reason = fact.at_ms, fact.event["reason"]
        self.limit_ms = self.start_ms + limit_ms
        self.check_ms = self.start_ms if self.reason == "rhythm_check" else None  # since when it is a check
        self.looked = self.held = False
        self.over = False  # hands were cleared within it, and given back


class Course:
    """The code up to a moment: one walk over the facts, then questions."""

    def __init__(self, facts, protocol, at_ms):
        self.facts, self.protocol, self.at_ms = facts, protocol, at_ms
        self.phase, self.arrest_ms, self.clocked = "standby", None, False
        self.opened_ms = 0
        self.compressing, self.pause = False, None
        self.marks = []  # assumed restarts within the running pause: one for each look and shock
        self.pads_ms = None
        self.cycles = []  # (from when, certain?) the latest that holds is the cycle's start
        self.first_compression_ms = None
        self.wanted = None  # the look whose shock is awaited
        self.wanted_ms = None
        self.look = None
        self.looks_here = []  # that say something, in this arrest
        self.shocks, self.shocks_here = [], []
        self.separate_shocks = []  # as epinephrine counts them: those of one quick stack are one
        self.stack = None  # (id, how many) of the quick stack that is going on
        self.charge = None  # {since, ready, energy_j, cleared}
        self.clear_ms = None
        self.unsettled_ms = None  # a clear that nobody ended
        self.all_clear_ms = None
        self.prior = {}
        self.doses = []  # (at, drug)
        self.prepared = {}
        self.patient = {}
        for fact in facts:
            self.now_ms = fact.at_ms
            self.expire(fact.at_ms)
            getattr(self, "on_" + fact.kind, lambda fact: None)(fact)
        self.now_ms = at_ms
        self.expire(at_ms)

    # What a clear that has run out leaves behind.
    def expire(self, now_ms):
        # A look corrected to one that wants no shock takes back what was cleared for it.
        if self.withdrawn_ms is not None and self.withdrawn_ms <= now_ms and (self.clear_ms or self.unsettled_ms or 0) < self.withdrawn_ms:
            self.settle()
        if self.clear_ms is not None and now_ms >= self.clear_ms + self.protocol.ms("cycle.clear_limit_s"):
            self.unsettled_ms = self.clear_ms + self.protocol.ms("cycle.clear_limit_s")
            self.clear_ms, self.all_clear_ms = None, None

    def settle(self):
        if self.clear_ms is not None and self.pause is not None:
            self.pause.over = True
        self.clear_ms, self.all_clear_ms, self.unsettled_ms = None, None, None

    def on_code_opened(self, fact):
        self.opened_ms = fact.at_ms
        self.patient.update(fact.event.get("patient") or {})
        self.hear_prior(fact, fact.event.get("prior_care") or {})

    def on_patient_updated(self, fact):
        self.patient.update({name: value for name, value in fact.event.items() if name != "kind"})

    def on_prior_care_reported(self, fact):
        self.hear_prior(fact, fact.event)

    def hear_prior(self, fact, told):
        if "epinephrine_doses" in told or "last_epinephrine_at_ms" in told:
            self.told_ms = fact.at_ms
        self.prior.update({name: value for name, value in told.items() if value is not None and name != "kind"})

    def begin(self, fact):
        self.again = self.arrest_ms is not None
        self.phase, self.arrest_ms = "arrest", fact.at_ms
        self.cycles, self.looks_here, self.shocks_here = [], [], []
        self.pause, self.marks = None, []
        self.settle()
        self.first_compression_ms = fact.at_ms if self.compressing else None

    shockable_ms = None
    withdrawn_ms = None
    looked_in_stack = False

    def on_clock_started(self, fact):
        if self.phase == "standby" and not self.clocked:
            self.begin(fact)
        self.clocked = True

    def on_arrest_again(self, fact):
        if self.phase == "rosc":
            self.begin(fact)

    def on_rosc(self, fact):
        if self.phase != "arrest":
            return
        self.phase = "rosc"
        self.compressing, self.pause = False, None
        self.wanted = None
        self.settle()
        self.look, self.shockable_ms = None, None
        if self.charge:
            self.charge["dump_ms"] = min(self.charge.get("dump_ms", NEVER), fact.at_ms)

    def on_code_closed(self, fact):
        self.phase = "closed"

    def on_pads_attached(self, fact):
        self.pads_ms = fact.at_ms

    def on_pads_removed(self, fact):
        self.pads_ms = None

    def on_compressions_started(self, fact):
        self.settle()
        # Compressions end a stack, and its want; not what a look since its last shock has found.
        if self.stack is not None and not self.looked_in_stack:
            self.wanted = None
        self.stack = None
        if self.pause is not None and self.wanted is None and (self.pause.held or self.pause.check_ms is not None):
            # What was only assumed before gives way to a restart that was seen.
            self.cycles = [mark for mark in self.cycles if mark[0] <= fact.at_ms] + [(fact.at_ms, fact.at_ms)]
        else:
            self.cycles += self.marks
        self.pause, self.marks = None, []
        if self.first_compression_ms is None:
            self.first_compression_ms = fact.at_ms
        self.compressing = True

    def on_compressions_stopped(self, fact):
        limit_ms = self.protocol.ms("cycle.pause_limit_s")
        pause = self.pause
        if fact.event["reason"] == "shock":
            self.clear_ms, self.unsettled_ms = fact.at_ms, None
        self.unsettled_ms = None
        if not self.compressing and pause is not None and not (pause.looked or fact.at_ms >= pause.limit_ms):
            if fact.event["reason"] == "rhythm_check":
                pause.check_ms = pause.check_ms if pause.check_ms is not None else fact.at_ms
            return
        if pause is not None:
            self.cycles += self.assumed_restart()
        self.marks = []
        self.pause, self.compressing = Pause(fact, limit_ms), False

    def assumed_restart(self):
        """Where the running pause is thought to have ended, if it was one of a check and nobody recorded its end."""
        if self.pause is None or self.wanted is not None:
            return []
        if self.marks:
            return self.marks[-1:]
        if self.pause.check_ms is None or not (self.pause.over or self.now_ms >= self.pause.limit_ms):
            return []
        return [(self.pause.check_ms + self.protocol.ms("cycle.pause_limit_s"), self.pause.check_ms)]

    def in_a_check(self):
        """A check's own pause, before its look: the rhythm will decide about the charge."""
        pause = self.pause
        return self.phase == "arrest" and pause is not None and pause.check_ms is not None and not pause.looked and self.now_ms < pause.limit_ms

    def on_pause_reason(self, fact):
        if self.pause is not None:
            self.pause.reason = fact.event["reason"]
            if fact.event["reason"] == "shock":
                self.clear_ms, self.unsettled_ms = fact.at_ms, None

    def mark(self, at_ms, in_pause_ms):
        self.cycles = [mark for mark in self.cycles if mark[0] <= at_ms]
        if self.pause is not None:
            self.marks.append((at_ms + in_pause_ms, at_ms))
        else:
            self.cycles.append((at_ms, at_ms))

    def on_rhythm_checked(self, fact):
        self.look, self.unsettled_ms = fact, None
        if not shockable(fact):
            self.clear_ms, self.all_clear_ms = None, None
            self.withdrawn_ms = counts_from(fact)
        else:
            self.withdrawn_ms = None
        self.stack = self.stack if shockable(fact) else None
        self.looked_in_stack = True
        if self.phase == "arrest":
            self.looks_here.append(fact)
        if self.pause is not None:
            self.pause.looked = self.pause.held = True
        self.wanted = None
        if not shockable(fact):
            self.shockable_ms = None
        else:
            since_ms = fact.at_ms if self.shockable_ms is None else self.shockable_ms
            self.shockable_ms = max([since_ms] + corrected(fact))
        if shockable(fact):
            self.wanted, self.wanted_ms = fact, fact.at_ms
            if self.charge:
                self.charge["dump_ms"] = NEVER
            if self.charge and self.charge_is_ready(fact.at_ms) and self.pause is not None:
                self.clear_ms, self.unsettled_ms = fact.at_ms, None
        else:
            self.mark(fact.at_ms, 0)
            if self.charge and fact.event["rhythm"] in SHOCKABLE:
                self.charge["dump_ms"] = NEVER
            elif self.charge:
                self.charge["dump_ms"] = min(self.charge.get("dump_ms", NEVER), fact.at_ms)

    def charge_is_ready(self, at_ms):
        return self.charge["ready_ms"] <= at_ms < self.charge["since_ms"] + self.protocol.ms("shock.charge_hold_s")

    def on_charging_started(self, fact):
        self.charge = {
            "since_ms": fact.at_ms,
            "ready_ms": fact.at_ms + self.protocol.ms("shock.charge_s"),
            "energy_j": fact.event.get("energy_j"),
        }
        self.all_clear_ms, self.unsettled_ms = None, None
        if self.pause is None:
            self.clear_ms = None  # nobody recorded a stop, so hands compress through charging

    def on_charge_ready(self, fact):
        if self.charge:
            self.charge["ready_ms"] = fact.at_ms
            self.charge["energy_j"] = fact.event.get("energy_j") or self.charge["energy_j"]
        else:
            self.charge = {"since_ms": fact.at_ms, "ready_ms": fact.at_ms, "energy_j": fact.event.get("energy_j")}

    def on_all_clear_called(self, fact):
        self.all_clear_ms = self.clear_ms = fact.at_ms
        self.unsettled_ms = None

    def end_of_want(self, fact):
        if self.wanted is not None:
            self.mark(fact.at_ms, self.protocol.ms("cycle.assume_restart_after_shock_s"))
        self.wanted = None

    def on_shock_delivered(self, fact):
        self.shocks.append(fact)
        self.shocks_here.append(fact)
        self.charge = None
        self.settle()
        if self.pause is not None:
            self.pause.held = True
        self.looked_in_stack = False
        stack = fact.event.get("stack_id")
        if stack is None or self.stack is None or self.stack[0] != stack:
            self.stack = None if stack is None else (stack, 0)
            self.separate_shocks.append(fact)
        if self.stack is not None:
            self.stack = (stack, self.stack[1] + 1)
        self.mark(fact.at_ms, self.protocol.ms("cycle.assume_restart_after_shock_s"))
        if self.stack is not None and self.stack[1] >= 3:
            self.stack = None
        if self.stack is None:
            self.wanted = None

    def on_shock_taken_back(self, fact):
        self.charge = None
        self.settle()

    def on_charge_dumped(self, fact):
        self.charge = None
        self.settle()
        if self.wanted is not None and said(self.wanted, fact.heard_ms) != "shock":
            return
        self.end_of_want(fact)

    def on_shock_aborted(self, fact):
        self.charge = None
        self.settle()
        self.end_of_want(fact)

    def on_drug_prepared(self, fact):
        self.prepared[fact.event["drug"]] = fact.at_ms

    def on_drug_given(self, fact):
        if fact.event["route"] in ("iv", "io") and fact.event.get("form", "bolus") == "bolus":
            self.doses.append((fact.at_ms, fact.event["drug"]))
            self.prepared.pop(fact.event["drug"], None)

    # Questions.

    def next_check(self):
        """(when, since when that is known) or (None, None)."""
        length_ms = self.protocol.ms("cycle.length_s")
        candidates = self.cycles + self.assumed_restart()
        if self.wanted is not None:
            assumed_ms = self.wanted.at_ms + self.protocol.ms("cycle.assume_restart_after_look_s")
            candidates.append((assumed_ms, self.wanted.at_ms))
        if candidates and self.first_compression_ms is not None:
            candidates.append((self.first_compression_ms, self.first_compression_ms))
        if candidates:
            start_ms, known_ms = max(candidates)
            return start_ms + length_ms, known_ms
        if self.pads_ms is not None:
            from_ms = max(self.pads_ms, self.arrest_ms)
            return from_ms + self.protocol.ms("cycle.first_check_after_pads_s"), from_ms
        start_ms = self.arrest_ms if self.first_compression_ms is None else self.first_compression_ms
        return start_ms + length_ms, start_ms

    def shocks_so_far(self):
        return self.prior.get("shocks", 0) + len(self.shocks)

    def next_energy(self):
        steps = self.protocol.value("shock.energy.fixed_j")
        return steps[min(self.shocks_so_far(), len(steps) - 1)]


def prompt(action, show_ms, due_ms, late_ms=None, assumed=False, **detail):
    return {"action": action, "show_at_ms": show_ms, "due_at_ms": due_ms, "late_at_ms": late_ms, "assumed": assumed, **detail}


def soonest_first(prompts):
    return sorted(prompts, key=lambda prompt: prompt["due_at_ms"])


def shock_prompts(course):
    protocol, charge, now_ms = course.protocol, course.charge, course.at_ms
    hold_ms = protocol.ms("shock.charge_hold_s")
    found = []
    if course.phase == "arrest" and course.unsettled_ms is not None:
        found = [prompt("confirm_shock", course.unsettled_ms, course.unsettled_ms)]
    elif course.phase == "arrest" and course.wanted is not None:
        wanted_ms = course.wanted_ms
        if course.all_clear_ms is not None:
            from_ms = max(course.all_clear_ms, wanted_ms)
            held = charge is not None and now_ms < charge["since_ms"] + hold_ms
            energy_j = (held and charge["energy_j"]) or course.next_energy()
            return [prompt("give_shock", from_ms, from_ms, energy_j=energy_j)]
        if charge is None:
            return [prompt("charge", wanted_ms, wanted_ms, energy_j=course.next_energy())]
        if now_ms >= charge["since_ms"] + hold_ms:
            return [prompt("charge", wanted_ms, wanted_ms, energy_j=course.next_energy())]
        from_ms = max(charge["since_ms"], wanted_ms)
        return [prompt("call_all_clear", from_ms, charge["ready_ms"], energy_j=charge["energy_j"])]
    if course.wanted is None and charge is not None and course.phase in ("arrest", "rosc"):
        dump_ms = min(charge.get("dump_ms", NEVER), charge["since_ms"] + hold_ms)
        look = course.look
        if look is not None and look.event["rhythm"] not in SHOCKABLE and corrected(look):
            # A look corrected after the charge counts as one made then.
            if charge["since_ms"] <= counts_from(look):
                dump_ms = min(dump_ms, counts_from(look))
        check_ms = course.next_check()[0] if course.phase == "arrest" else None
        if dump_ms <= now_ms:
            ahead_ms = NEVER if check_ms is None else check_ms - protocol.ms("shock.charge_ask_ahead_s")
            if course.in_a_check():
                ahead_ms = min(ahead_ms, course.pause.check_ms)
            if dump_ms < ahead_ms <= now_ms:
                return found
            return soonest_first([*found, prompt("dump_charge", dump_ms, dump_ms)])
    return found


def exact(number):
    """A number of the file as it is written there: 0.1 is a tenth."""
    return Fraction(str(number))


def shown_volume(mg, strength, most_mg):
    """Millilitres to the marks of a syringe, half a mark upwards, but never above the most that may be given."""
    ml = mg / strength
    mark = Fraction(1, 100) if ml < 1 else Fraction(1, 10) if ml < 10 else Fraction(1, 2)
    rounded = floor(ml / mark + Fraction(1, 2)) * mark
    if rounded * strength > most_mg:
        rounded = floor(most_mg / strength / mark) * mark
    return float(rounded)


def three_figures(mg):
    """Half upwards, as the volume."""
    unit = Fraction(1)
    while mg >= 1000 * unit:
        unit *= 10
    while mg < 100 * unit:
        unit /= 10
    return float(floor(mg / unit + Fraction(1, 2)) * unit)


def dose_of(rule, patient, preparation):
    """Milligrams and millilitres, both None while the weight that the rule needs is not known."""
    if "fixed_mg" in rule:
        mg = most_mg = exact(rule["fixed_mg"]["value"])
    elif patient.get("weight_kg") is None:
        return {"dose": None, "volume": None}
    else:
        most_mg = exact(rule["per_kg"]["max_mg"]["value"])
        mg = min(exact(rule["per_kg"]["mg_per_kg"]["value"]) * exact(patient["weight_kg"]), most_mg)
    strength = exact(preparation["strength_mg_per_ml"]["value"])
    return {"dose": three_figures(mg), "volume": shown_volume(mg, strength, most_mg)}


class Due:
    """When a dose is due, what must come first if that is only expected, and since when it can be known."""

    def __init__(self, at_ms, since_ms, waits=None, last=None, by_last=False):
        self.at_ms, self.since_ms, self.waits, self.last = at_ms, since_ms, waits, last
        self.assumed = waits is not None or (by_last and last[1])


def expected_shock(course, last=None, not_before_ms=-NEVER):
    """The next shock: once a look wants it, from that look; else at the next check."""
    if course.wanted is not None:
        return Due(max(course.wanted_ms, not_before_ms), course.wanted_ms, "shock", last)
    check_ms, since_ms = course.next_check()
    return Due(max(check_ms, not_before_ms), since_ms, "rhythm_check", last)


def last_epinephrine(course):
    """(when, whether that is assumed, since when it can ask for the next one) of the last dose, prior care included."""
    prior = course.prior
    doses = [(at_ms, False, at_ms) for at_ms, drug in course.doses if drug == "epinephrine"]
    if prior.get("epinephrine_doses", 1 if "last_epinephrine_at_ms" in prior else 0) > 0:
        at_ms = prior.get("last_epinephrine_at_ms", course.opened_ms)
        told_ms = max(course.told_ms, course.arrest_ms)
        doses.append((min(at_ms, course.told_ms), at_ms > course.told_ms or "last_epinephrine_at_ms" not in prior, told_ms))
    return max(doses, default=None)


def epinephrine_due(course):
    protocol, prior, last = course.protocol, course.prior, last_epinephrine(course)
    shocks = course.separate_shocks
    # A fact entered late or corrected counts from when it was heard: its D is due now, not in the past.
    look = [max(counts_from(fact), course.arrest_ms) for fact in course.looks_here if not_shockable(fact)][:1]
    here = min([fact.at_ms for fact in course.shocks_here[:1]] + look, default=None)
    if last is not None and (not course.again or last[0] >= course.arrest_ms):
        return Due(max(last[0] + protocol.ms("epinephrine.interval_s"), last[2]), last[2], None, last, True)
    if last is not None:
        soonest_ms = last[0] + protocol.ms("epinephrine.min_interval_s")
        if here is None:
            return expected_shock(course, last, soonest_ms)
        return Due(max(soonest_ms, here), here, None, last, soonest_ms > here)
    needed = max(1, protocol.value("epinephrine.after_shocks") - prior.get("shocks", 0))
    if len(shocks) >= needed:
        if here is not None:
            look.append(max(shocks[needed - 1].at_ms, here))
    if look:
        return Due(min(look), min(look))
    return expected_shock(course) if len(shocks) >= needed - 1 else None


def doses_before(drug, mg, patient):
    """How many of the protocol's doses an amount given before arrival makes: as many as fit into it, one at least."""
    told = [dose_of(rule, patient, drug["preparation"])["dose"] for rule in drug["doses"]]
    sums = list(accumulate(told)) if None not in told else []
    return max(1, sum(1 for upto in sums if upto <= mg))


def antiarrhythmic_due(course):
    """(Due, drug ids in order, number of the dose) or None."""
    protocol, prior = course.protocol, course.prior
    if course.look is None or not shockable(course.look):
        return None
    drugs = protocol.at("antiarrhythmic.drugs")
    ids = [drug["id"] for drug in drugs]
    given = [(at_ms, drug) for at_ms, drug in course.doses if drug in ids]
    before = [drug for drug in ids if prior.get(drug + "_mg", 0) > 0]
    number = len(given) + sum(doses_before(drugs[ids.index(drug)], prior[drug + "_mg"], course.patient) for drug in before)
    after = protocol.value("antiarrhythmic.after_shocks")
    if number >= len(after):
        return None
    used = before[:1] or [drug for _, drug in given][:1]
    needed = max(1, after[number] - prior.get("shocks", 0))
    if given:
        first_ms = given[-1][0]
        since = sum(1 for fact in course.shocks if fact.at_ms <= first_ms)
        needed = max(needed, since + 1)
    choice = used or sorted(ids, key=lambda drug: drug not in course.prepared)
    if len(course.shocks) >= needed:
        due_ms = max(course.shocks[needed - 1].at_ms, course.shockable_ms, course.arrest_ms)
        return Due(due_ms, due_ms), choice, number
    if len(course.shocks) >= needed - 1:
        return expected_shock(course), choice, number
    return None


def drug_prompts(course):
    if course.phase != "arrest":
        return []
    protocol, found = course.protocol, []
    due = epinephrine_due(course)
    if due is not None:
        told = dose_of(protocol.at("epinephrine.dose"), course.patient, protocol.at("epinephrine.preparation"))
        early = None if due.last is None else due.last[0] + protocol.ms("epinephrine.min_interval_s")
        found += dose_prompts(course, "epinephrine", due, told, early)
    due = antiarrhythmic_due(course)
    if due is not None:
        due, choice, number = due
        drugs = {drug["id"]: drug for drug in protocol.at("antiarrhythmic.drugs")}
        told = [
            dose_of(drugs[name]["doses"][number], course.patient, drugs[name]["preparation"]) for name in choice
        ]
        alternative = {"drug": choice[1], **told[1]} if len(choice) > 1 else None
        found += dose_prompts(course, choice[0], due, told[0], None, alternative)
    return soonest_first(found)


def dose_prompts(course, drug, due, told, early_ms, alternative=None):
    protocol, now_ms, due_ms = course.protocol, course.at_ms, due.at_ms
    draw_ms = max(due_ms - protocol.ms("drugs.draw_up_ahead_s"), due.since_ms)
    ask_ms = max(due_ms - protocol.ms("drugs.give_ask_ahead_s"), due.since_ms)
    prepared_ms = course.prepared.get(drug)
    give_ms = ask_ms
    if prepared_ms is not None:
        give_ms = min(give_ms, max(prepared_ms, due.since_ms))
    detail = {"drug": drug, **told, "or": alternative, "waits_for": due.waits}
    waits, assumed = due.waits is not None, due.assumed
    if now_ms < min(draw_ms, give_ms):
        return []
    if now_ms < give_ms:
        due_draw_ms = due_ms - protocol.ms("drugs.give_ask_ahead_s")
        return [prompt("draw_up", draw_ms, due_draw_ms, None, assumed, give_at_ms=due_ms, **detail)]
    if course.clear_ms is not None:
        return []
    late_ms = None if waits else due_ms + protocol.ms("drugs.late_s")
    return [
        prompt(
            "give_drug", give_ms, due_ms, late_ms, assumed,
            too_early_until_ms=early_ms, prepared=prepared_ms is not None, **detail,
        )
    ]


def asked(records, protocols, at_ms):
    facts = facts_that_count(records, at_ms)
    opened = next((fact for fact in facts if fact.kind == "code_opened"), None)
    if opened is None:
        return {"defibrillator": [], "drugs": []}
    named = [fact.event["protocol"]["id"] for fact in facts if fact.kind in ("code_opened", "protocol_changed")]
    course = Course(facts, protocols[named[-1]], at_ms)
    return {"defibrillator": shock_prompts(course), "drugs": drug_prompts(course)}
