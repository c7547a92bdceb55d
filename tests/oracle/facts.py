"""What was known at a moment: records heard by then, corrections applied, in order of time.

Rules: the design's "Late facts change the plan, never the past", "A look corrected", "A voided shock never re-arms", and the
order of voids and amendments in its section 4.
"""

NEVER = 10**15
CORRECTIONS = ("amended", "voided")
SHOCKABLE = ("vf", "pulseless_vt")


class Fact:
    """A fact as it stands after its corrections.

    `versions` holds what it has been, the first one first: [(since when it was known so in ms, event), ...].
    """

    def __init__(self, record, at_ms, versions, kind=None):
        self.at_ms, self.seq, self.heard_ms = at_ms, record["seq"], received_ms(record)
        self.versions = versions
        self.event = versions[-1][1]
        self.kind = kind or self.event["kind"]
        self.of_child = False  # of a look: whether it was known by then that the patient is a child


def received_ms(record):
    return record.get("received_ms", record["at_ms"])


def known_at(records, at_ms):
    """The records heard by a moment, in order of seq, each id once."""
    once = {}
    for record in sorted(records, key=lambda record: record["seq"]):
        if received_ms(record) <= at_ms:
            once.setdefault(record["id"], record)
    return list(once.values())


def facts_that_count(records, at_ms):
    """What was known at a moment, corrections applied, in order, up to code_closed; nothing later than the moment."""
    known = known_at(records, at_ms)
    voids = {}
    for record in known:
        if record["event"]["kind"] == "voided":
            voids.setdefault(record["event"]["target"], []).append(record)

    def voided(identity):
        """A void that was itself voided has no effect."""
        return any(not voided(void["id"]) for void in voids.get(identity, []))

    facts = []
    for record in known:
        if record["event"]["kind"] in CORRECTIONS:
            continue
        amendments = [
            other
            for other in known
            if other["event"]["kind"] == "amended"
            and other["event"]["target"] == record["id"]
            and not voided(other["id"])
        ]
        facts += corrected_fact(record, amendments, voided(record["id"]))
    facts.sort(key=lambda fact: (fact.at_ms, fact.seq))
    for place, fact in enumerate(facts):
        if fact.kind == "code_closed":
            facts = facts[: place + 1]
            break
    return [fact for fact in facts if fact.at_ms <= at_ms]


def corrected_fact(record, amendments, is_voided):
    """What one record stands for: at most one fact, and the end of a charge where a shock was taken back."""
    happened_ms, versions = record["at_ms"], [(received_ms(record), record["event"])]
    shock_ms = happened_ms
    for amendment in amendments:
        change = amendment["event"]
        happened_ms = change.get("at_ms", happened_ms)
        versions.append((received_ms(amendment), change.get("event") or versions[-1][1]))
        if versions[-1][1]["kind"] == "shock_delivered":
            shock_ms = happened_ms
    facts = []
    was_a_shock = any(event["kind"] == "shock_delivered" for _, event in versions)
    if was_a_shock and (is_voided or versions[-1][1]["kind"] != "shock_delivered"):
        # A shock taken back never re-arms: whatever left the defibrillator, the charge is not there any more.
        facts.append(Fact(record, shock_ms, versions, kind="shock_taken_back"))
    if not is_voided:
        facts.append(Fact(record, happened_ms, versions))
    return facts


# Looks at the rhythm.


def meaning(event, of_child):
    """What a look means: "shock", "no_shock", or which question it leaves: for the pulse, or for another look."""
    if event["kind"] != "rhythm_checked":
        return None
    rhythm, pulse = event["rhythm"], event.get("pulse", "not_checked")
    if rhythm == "bradycardia" and of_child:
        return "no_shock"  # stays an arrest: a pulse is no answer to it
    if rhythm in SHOCKABLE and pulse != "present":
        return "shock"
    if rhythm in ("pea", "asystole") and pulse != "present":
        return "no_shock"
    if rhythm in ("perfusing", "bradycardia") and pulse == "absent":
        return "no_shock"
    if rhythm in SHOCKABLE:
        return "cannot_be"
    if pulse == "present":
        return "circulation"
    return "unreadable" if rhythm == "unknown" else "feel_for_the_pulse"


def is_shockable(look):
    return meaning(look.event, look.of_child) == "shock"


def is_not_shockable(look):
    return meaning(look.event, look.of_child) == "no_shock"


def meaning_at(look, heard_ms):
    """What a look meant as it was known at a moment."""
    known = [event for known_ms, event in look.versions if known_ms <= heard_ms or event is look.versions[0][1]]
    return meaning(known[-1], look.of_child)


def meaning_changed_ms(look):
    """When the meaning of a look was corrected, each time."""
    meanings = [(known_ms, meaning(event, look.of_child)) for known_ms, event in look.versions]
    return [known_ms for (_, before), (known_ms, after) in zip(meanings, meanings[1:]) if before != after]


def counts_from_ms(look):
    """What hangs on a look whose meaning was corrected is late from the correction on, not from the look."""
    return max([look.at_ms] + meaning_changed_ms(look))
