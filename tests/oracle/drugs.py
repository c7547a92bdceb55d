"""What the drugs role is asked to draw up and to give: epinephrine and the antiarrhythmic, when, and how much.

Rules: the design's "Epinephrine, first D" and "Antiarrhythmic"; docs/plan.md on expected doses, prior care and corrections.
"""

from amounts import dose, doses_told_of, is_another_dose
from facts import NEVER, counts_from_ms, is_not_shockable, is_shockable
from prompts import prompt, soonest_first


class Due:
    """When a dose is due, since when that can be known, and what must come first where it is only expected (`waits`)."""

    by_interval = False  # whether it follows the dose before by the interval

    def __init__(self, at_ms, since_ms, waits=None, last=None, assumed=False):
        self.at_ms, self.since_ms, self.waits, self.last = at_ms, since_ms, waits, last
        self.assumed = waits is not None or assumed


class LastDose:
    """The last dose of epinephrine: when, whether that is assumed, and since when it can ask for the next one."""

    def __init__(self, at_ms, assumed, since_ms):
        self.at_ms, self.assumed, self.since_ms = at_ms, assumed, since_ms


def drug_prompts(course):
    if course.phase != "arrest" or course.cold.drugs() == "withheld":
        return []
    return soonest_first(epinephrine_prompts(course) + antiarrhythmic_prompts(course))


def expected_shock(course, last=None, not_before_ms=-NEVER):
    """The next shock: once a look wants it, from that look; else at the next check."""
    if course.wanted is not None:
        wanted_ms = course.wanted.at_ms
        return Due(max(wanted_ms, not_before_ms), wanted_ms, "shock", last)
    check_ms, since_ms = course.next_check()
    return Due(max(check_ms, not_before_ms), since_ms, "rhythm_check", last)


def interval_ms(course, path):
    """An interval of the protocol, doubled where the band of temperature says so."""
    return course.protocol.ms(path) * course.cold.times()


# Epinephrine.


def epinephrine_prompts(course):
    due = epinephrine_due(course)
    if due is None:
        return []
    protocol = course.protocol
    preparation = protocol.at("epinephrine.preparation")
    told = dose(protocol.at("epinephrine.dose"), preparation, course.patient)
    early_ms = None if due.last is None else due.last.at_ms + interval_ms(course, "epinephrine.min_interval_s")
    return dose_prompts(course, "epinephrine", due, told, early_ms)


def epinephrine_due(course):
    last = last_epinephrine(course)
    if last is not None and (not course.again or last.at_ms >= course.arrest_ms):
        due_ms = max(last.at_ms + interval_ms(course, "epinephrine.interval_s"), last.since_ms)
        due = Due(due_ms, last.since_ms, None, last, last.assumed)
        due.by_interval = True
        return due
    # A fact entered late or corrected counts from when it was heard: its D is due now, not in the past.
    looks_ms = [max(counts_from_ms(look), course.told_ms) for look in course.looks_here if is_not_shockable(look)]
    look_ms = looks_ms[:1]
    here_ms = min([shock.at_ms for shock in course.shocks_here[:1]] + look_ms, default=None)
    if last is not None:
        # In a re-arrest not before its first look or shock, nor before the minimum interval.
        soonest_ms = last.at_ms + interval_ms(course, "epinephrine.min_interval_s")
        if here_ms is None:
            return expected_shock(course, last, soonest_ms)
        return Due(max(soonest_ms, here_ms), here_ms, None, last, last.assumed and soonest_ms > here_ms)
    return first_epinephrine_due(course, look_ms, here_ms)


def first_epinephrine_due(course, look_ms, here_ms):
    """Not shockable: the look. Shockable: the shock that makes the number, and expected once one is missing."""
    shocks = course.separate_shocks
    after = course.protocol.value("epinephrine.after_shocks")
    needed = max(1, after - course.prior.get("shocks", 0))
    reasons_ms = list(look_ms)
    if len(shocks) >= needed and here_ms is not None:
        first_here = sum(1 for shock in shocks if course.shocks_here and shock.at_ms <= course.shocks_here[0].at_ms)
        told_ms = told_with_prior_shocks_ms(course, max(needed, first_here), after)
        reasons_ms.append(max(shocks[needed - 1].at_ms, here_ms, told_ms))
    if reasons_ms:
        return Due(min(reasons_ms), min(reasons_ms))
    return expected_shock(course) if len(shocks) >= needed - 1 else None


def told_with_prior_shocks_ms(course, number, after):
    """Since when a shock of this number here is known to be the one that a drug follows, where shocks before make it so."""
    return course.prior_shocks_told_ms if number < after else -NEVER


def last_epinephrine(course):
    """The last dose, prior care included; None where there was none."""
    prior = course.prior
    doses = [LastDose(at_ms, False, at_ms) for at_ms, drug in course.doses if drug == "epinephrine"]
    told_doses = prior.get("epinephrine_doses", 1 if "last_epinephrine_at_ms" in prior else 0)
    if told_doses > 0:
        # After a late start what was told before counts as told when the clock was started.
        opened_ms, told_ms = (max(ms, course.clock_tapped_ms) for ms in (course.opened_ms, course.prior_told_ms))
        at_ms = prior.get("last_epinephrine_at_ms", opened_ms)
        assumed = at_ms > told_ms or "last_epinephrine_at_ms" not in prior
        doses.append(LastDose(min(at_ms, told_ms), assumed, max(told_ms, course.arrest_ms)))
    return max(doses, key=lambda last: (last.at_ms, last.assumed, last.since_ms), default=None)


# The antiarrhythmic.


def antiarrhythmic_prompts(course):
    found = antiarrhythmic_due(course)
    if found is None:
        return []
    due, choice, number = found
    drugs = {drug["id"]: drug for drug in course.protocol.at("antiarrhythmic.drugs")}
    told = [dose(drugs[name]["doses"][number], drugs[name]["preparation"], course.patient) for name in choice]
    alternative = {"drug": choice[1], **told[1]} if len(choice) > 1 else None
    return dose_prompts(course, choice[0], due, told[0], None, alternative)


def antiarrhythmic_due(course):
    """(Due, ids of the drugs to choose from, number of the dose from 0) or None."""
    if course.look is None or not is_shockable(course.look):
        return None
    drugs = {drug["id"]: drug for drug in course.protocol.at("antiarrhythmic.drugs")}
    given = [(at_ms, drug) for at_ms, drug in course.doses if drug in drugs and was_for_the_arrest(course, at_ms)]
    before = {name: course.prior[name + "_mg"] for name in drugs if course.prior.get(name + "_mg", 0) > 0}
    number = len(given) + sum(doses_told_of(drugs[name], mg, course.patient) for name, mg in before.items())
    # Either drug, never both in a row: the one that was used last goes on.
    used = [drug for _, drug in given][-1:] or list(before)[:1]
    choice = used or sorted(drugs, key=lambda drug: drug not in course.prepared)
    choice = [name for name in choice if number < len(drugs[name]["doses"])]
    after_shocks = course.protocol.value("antiarrhythmic.after_shocks")
    if number >= len(after_shocks) or not choice:
        return None
    needed = max(1, after_shocks[number] - course.prior.get("shocks", 0))
    if given:
        # And at least one shock after the dose before.
        needed = max(needed, 1 + sum(1 for shock in course.shocks if shock.at_ms <= given[-1][0]))
    if len(course.shocks) >= needed:
        told_ms = told_with_prior_shocks_ms(course, needed, after_shocks[number])
        due_ms = max(course.shocks[needed - 1].at_ms, course.shockable_ms, course.told_ms, told_ms)
        return Due(due_ms, due_ms), choice, number
    if len(course.shocks) >= needed - 1:
        return expected_shock(course), choice, number
    return None


def was_for_the_arrest(course, given_ms):
    """Given after a shock, here or before, or after a look at a shockable rhythm."""
    seen_ms = [shock.at_ms for shock in course.shocks[:1]]
    seen_ms += [] if course.first_shockable_ms is None else [course.first_shockable_ms]
    return course.prior.get("shocks", 0) > 0 or bool(seen_ms) and min(seen_ms) <= given_ms


# One dose.


def by_the_band(course, due):
    """(D, since when it can be known): what a band set free, or gave another interval, is due at what changed the band."""
    changes_ms = [course.cold_changed_ms if due.by_interval else course.cold_released_ms]
    changes_ms.append(course.protocol_changed_ms)
    changed_ms = max((change_ms for change_ms in changes_ms if change_ms is not None), default=None)
    if changed_ms is None or due.at_ms >= changed_ms or due.waits is not None:
        return due.at_ms, due.since_ms
    return changed_ms, changed_ms


def dose_prompts(course, drug, due, told, early_ms, alternative=None):
    """`draw_up`, which becomes `give_drug` once prepared or shortly before the dose is due."""
    protocol = course.protocol
    due_ms, since_ms = by_the_band(course, due)
    draw_ms = max(due_ms - protocol.ms("drugs.draw_up_ahead_s"), since_ms)
    give_ms = max(due_ms - protocol.ms("drugs.give_ask_ahead_s"), since_ms)
    prepared_ms, drawn_up = course.prepared.get(drug, (None, None))
    if is_another_dose(drawn_up, told["dose"], protocol):
        prepared_ms = None
    if prepared_ms is not None:
        give_ms = min(give_ms, max(prepared_ms, since_ms))
    detail = {"drug": drug, **told, "or": alternative, "waits_for": due.waits}
    if course.at_ms < min(draw_ms, give_ms):
        return []
    if course.at_ms < give_ms:
        drawn_ms = due_ms - protocol.ms("drugs.give_ask_ahead_s")
        return [prompt("draw_up", draw_ms, drawn_ms, None, due.assumed, give_at_ms=due_ms, **detail)]
    if course.clear_ms is not None:
        return []  # what touches the patient waits while hands are clear
    # An expected dose cannot be late.
    times = course.cold.times() if due.by_interval else 1
    late_ms = None if due.waits is not None else due_ms + times * protocol.ms("drugs.late_s")
    detail.update(too_early_until_ms=early_ms, prepared=prepared_ms is not None)
    return [prompt("give_drug", give_ms, due_ms, late_ms, due.assumed, **detail)]
