"""Faults planted in the other planner, each of which the comparison must find: a check that cannot fail is a defect.

A fault changes one number of the other planner's copy of the protocols, or one of its rules; the program's screens stay.
"""

import contextlib
import copy
import math
from unittest import mock

import amounts
import cold
import course
import facts
import patient
import planner


def entries(file, name):
    """Every entry of that name in a protocol file, at any depth."""
    found = []
    for key, inner in file.items() if isinstance(file, dict) else enumerate(file) if isinstance(file, list) else []:
        found += [inner] if key == name else entries(inner, name)
    return found


def with_number(protocols, name, change):
    """A copy of the protocols in which every value of that name is changed."""
    planted = copy.deepcopy(protocols)
    for protocol in planted.values():
        for entry in entries(protocol.file, name):
            entry["value"] = change(entry["value"])
    return planted


def number(name, change):
    """A wrong number: a context that gives the protocols with it."""

    @contextlib.contextmanager
    def plant(protocols):
        yield with_number(protocols, name, change)

    return plant


def rule(owner, name, fault):
    """A wrong rule: a context in which a function of the other planner is another one."""

    @contextlib.contextmanager
    def plant(protocols):
        with mock.patch.object(owner, name, fault):
            yield protocols

    return plant


def one_more(shocks):
    return [number + 1 for number in shocks] if isinstance(shocks, list) else shocks + 1


def meaning_as_in_adults(event, of_child, meaning=facts.meaning):
    return meaning(event, False)


def without_corrections(records, at_ms):
    plain = [record for record in records if record["event"]["kind"] not in facts.CORRECTIONS]
    return facts.facts_that_count(plain, at_ms)


FAULTS = {
    "epinephrine's interval is 30 s longer": number("interval_s", lambda seconds: seconds + 30),
    "epinephrine's minimum interval is 30 s shorter": number("min_interval_s", lambda seconds: seconds - 30),
    "each drug waits for one shock more": number("after_shocks", one_more),
    "a dose is late 30 s too soon": number("late_s", lambda seconds: seconds - 30),
    "a push may be half of a dose": number("push_part", lambda part: part * 5),
    "no push is too small to be a dose": number("push_part", lambda part: part / 1000),
    "a syringe with another dose is ready": number("syringe_tolerance_part", lambda part: part * 1000),
    "nobody told to be an adult is a child by age": number("no_adult_before_months", lambda months: 0),
    "nobody told to be a child is an adult by age": number("no_child_from_months", lambda months: months * 100),
    "the maximum of a dose is not applied": number("max_mg", lambda mg: mg * 1000),
    "the strength is ten times too high": number("strength_mg_per_ml", lambda mg_per_ml: mg_per_ml * 10),
    "volumes are rounded down": rule(amounts, "to_marks", lambda exact, mark: exact // mark * mark),
    "fixed energies start at the second step": number("fixed_j", lambda joules: joules[1:] + joules[-1:]),
    "energies by weight start at the second step": number("j_per_kg", lambda joules: joules[1:] + joules[-1:]),
    "energies by weight have no ceiling": number("max_j", lambda joules: joules * 1000),
    "a monophasic defibrillator is not heard of": rule(course.Course, "on_circumstance_set", lambda self, fact: None),
    "energies are rounded down": rule(amounts, "ceil", math.floor),
    "a protocol for another age gives amounts": rule(patient.Patient, "suits_protocol", lambda self: True),
    "the latest weight counts, however it is known": rule(patient.Patient, "weight_fits", lambda self: False),
    "bradycardia in a child asks for the pulse": rule(facts, "meaning", meaning_as_in_adults),
    "a bolus into muscle counts": rule(course, "INTO_THE_BLOOD", ("iv", "io", "im")),
    "shocks before arrival are forgotten": rule(course.Course, "on_prior_care_reported", lambda self, fact: None),
    "the cold withholds nothing": rule(cold.Cold, "drugs", lambda self: "standard"),
    "the cold limits no shocks": rule(cold.Cold, "allows_a_shock_after", lambda self, shocks: True),
    "the cold doubles no interval": rule(cold.Cold, "times", lambda self: 1),
    "corrections are not heard of": rule(planner, "facts_that_count", without_corrections),
}
