"""What the defibrillator is asked: charge, all clear, shock, what became of it, or to dump the charge.

Rules: the design's table of actions; docs/plan.md on `confirm_shock`, `dump_charge` and `charge_ahead`.
"""

from amounts import energy_j
from facts import SHOCKABLE, counts_from_ms, meaning_changed_ms
from prompts import prompt, soonest_first


def shock_prompts(course):
    if course.phase == "arrest" and course.unsettled_ms is not None:
        unsettled = [prompt("confirm_shock", course.unsettled_ms, course.unsettled_ms)]
        return soonest_first(unsettled + dump_prompts(course))
    if course.phase == "arrest" and course.wanted is not None:
        return [wanted_shock(course)]
    return dump_prompts(course)


def wanted_shock(course):
    """Charge, then all clear, then the shock; a charge held too long is to be charged anew."""
    charge, wanted_ms = course.charge, course.wanted.at_ms
    next_j = energy_j(course.patient, course.shocks_so_far(), course.monophasic)
    held = charge is not None and course.at_ms < charge.until_ms
    if course.all_clear_ms is not None:
        from_ms = max(course.all_clear_ms, wanted_ms)
        return prompt("give_shock", from_ms, from_ms, energy_j=(held and charge.energy_j) or next_j)
    if not held:
        return prompt("charge", wanted_ms, wanted_ms, energy_j=next_j)
    return prompt("call_all_clear", max(charge.since_ms, wanted_ms), charge.ready_ms, energy_j=charge.energy_j)


def dump_prompts(course):
    """A charge that nothing wants, until `charge_ahead` replaces it before the next check."""
    charge = course.charge
    if charge is None or course.wanted is not None or course.phase not in ("arrest", "rosc"):
        return []
    dump_ms = min(charge.dump_ms, charge.until_ms)
    look = course.look
    if look is not None and look.event["rhythm"] not in SHOCKABLE and meaning_changed_ms(look):
        # A look corrected after the charge counts as one made then.
        if charge.since_ms <= counts_from_ms(look):
            dump_ms = min(dump_ms, counts_from_ms(look))
    waits = course.may_shock() and rhythm_will_decide(course, dump_ms)
    return [] if waits or dump_ms > course.at_ms else [prompt("dump_charge", dump_ms, dump_ms)]


def rhythm_will_decide(course, dump_ms):
    """About a charge that was forgotten before: from `charge_ahead` of the coming check on, and in the check's own pause."""
    if course.phase != "arrest":
        return False
    check_ms, _ = course.next_check()
    ahead_ms = check_ms - course.protocol.ms("shock.charge_ask_ahead_s")
    if course.is_in_a_check():
        return dump_ms < min(ahead_ms, course.pause.check_ms)
    return course.protocol.value("shock.precharge") and dump_ms < ahead_ms <= course.at_ms
