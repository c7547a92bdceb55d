"""Which drugs and shocks a team is asked for, worked out a second time, independently of the engine.

Every number comes from the protocol files (protocol.py). The rules come from the design and from docs/plan.md; each module
says which. Nothing was taken from the engine's source, which this must never import or read. It takes a moment, gathers what
was known then, and asks of the whole list of facts: which shock is wanted, where the charge is, when which dose is due, and how
much.

Not modelled: every other role and action, the charge ahead of a check, prompts further ahead than those that show, words and
notes, ticks (`task_done`), views cut to 4 KiB, and special circumstances beyond the cold and a monophasic defibrillator: their
drugs and volumes, and epinephrine at once in anaphylaxis.
"""

from cold import MOVES, changed_ms, counts_from
from course import Course
from drugs import drug_prompts
from facts import CORRECTIONS, NEVER, facts_that_count, known_at
from shocks import shock_prompts


def asked(records, protocols, at_ms):
    """What is asked at a moment: {"defibrillator": [prompt, ...], "drugs": [prompt, ...]}, soonest first."""
    facts = facts_that_count(records, at_ms)
    named = [fact.event["protocol"]["id"] for fact in facts if fact.kind in ("code_opened", "protocol_changed")]
    if not named:
        return {"defibrillator": [], "drugs": []}
    protocol = protocols[named[-1]]
    held_back = looks_held_back(records, protocol, at_ms)
    course = Course(facts, protocol, at_ms, changed_ms(records, protocol, at_ms), held_back)
    return {"defibrillator": shock_prompts(course), "drugs": drug_prompts(course)}


def looks_held_back(records, protocol, at_ms):
    """The looks, by seq, that the most shocks held back until a correction or a late entry took that limit away."""
    known = [record for record in known_at(records, at_ms) if record["at_ms"] <= at_ms]
    looks = set()
    if not any(record["event"]["kind"] == "circumstance_set" for record in known):
        return looks
    for upset in sorted((record for record in known if is_upset(record)), key=counts_from):
        earlier = [record for record in known if counts_from(record) < counts_from(upset)]
        course = Course(facts_that_count(earlier, NEVER), protocol, counts_from(upset)[0], held_back=looks)
        if course.look is not None and not course.may_shock():
            looks.add(course.look.seq)
    return looks


def is_upset(record):
    """Whether a record may change what was made of an earlier look."""
    kind = record["event"]["kind"]
    return kind in CORRECTIONS or kind in MOVES and counts_from(record)[0] > record["at_ms"]
