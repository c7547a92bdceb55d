"""How much: milligrams, millilitres and joules for this patient, or nothing where no amount may be shown.

Rules: "doses are computed, capped at the file's maximum, then rounded to what a syringe can show", energies "rounded up to the
next of the department's settings" (docs/clinical-sources.md); no amount without the weight that a rule needs, and none under a
protocol for another age (docs/plan.md).
"""

from fractions import Fraction
from itertools import accumulate
from math import ceil, floor

from protocol import exact

MG_IN = {"mg": Fraction(1), "ug": Fraction(1, 1000), "g": Fraction(1000)}
NOT_KNOWN = {"dose": None, "volume": None}


def syringe_mark_ml(ml):
    """The marks of common syringes: 0.01 mL below 1 mL, 0.1 mL below 10 mL, else 0.5 mL."""
    return Fraction(1, 100) if ml < 1 else Fraction(1, 10) if ml < 10 else Fraction(1, 2)


def to_marks(number, mark):
    """Half a mark upwards."""
    return floor(number / mark + Fraction(1, 2)) * mark


def shown_volume_ml(mg, mg_per_ml, most_mg):
    """Millilitres to the marks of a syringe, but never above the most that may be given."""
    ml = mg / mg_per_ml
    mark = syringe_mark_ml(ml)
    rounded = to_marks(ml, mark)
    if rounded * mg_per_ml > most_mg:
        rounded = floor(most_mg / mg_per_ml / mark) * mark
    return float(rounded)


def shown_mg(mg):
    """Milligrams to three figures."""
    unit = Fraction(1)
    while mg >= 1000 * unit:
        unit *= 10
    while mg < 100 * unit:
        unit /= 10
    return float(to_marks(mg, unit))


def exact_dose_mg(rule, patient):
    """(what the rule gives after its maximum, the most it may give), unrounded, or None while the weight is not known."""
    if "fixed_mg" in rule:
        return (exact(rule["fixed_mg"]["value"]),) * 2
    if patient.weight_kg is None:
        return None
    most_mg = exact(rule["per_kg"]["max_mg"]["value"])
    return min(exact(rule["per_kg"]["mg_per_kg"]["value"]) * patient.weight_kg, most_mg), most_mg


def dose(rule, preparation, patient):
    """Milligrams and millilitres as a screen shows them."""
    found = exact_dose_mg(rule, patient) if patient.suits_protocol() else None
    if found is None:
        return NOT_KNOWN
    mg, most_mg = found
    mg_per_ml = exact(preparation["strength_mg_per_ml"]["value"])
    return {"dose": shown_mg(mg), "volume": shown_volume_ml(mg, mg_per_ml, most_mg)}


def is_a_push(given, patient):
    """At most the file's part of a fixed dose of epinephrine, to somebody told to be an adult; what has no mass is none."""
    fixed = patient.protocol.at("epinephrine.dose").get("fixed_mg")
    told_adult = patient.age_group == "adult" and not patient.is_child()
    if given is None or given["unit"] not in MG_IN or fixed is None or not told_adult:
        return False
    part = exact(patient.protocol.value("epinephrine.push_part"))
    return exact(given["value"]) * MG_IN[given["unit"]] <= exact(fixed["value"]) * part


def is_another_dose(drawn_up, asked_mg, protocol):
    """Whether a syringe is off what is asked for by more than the file's part of it; what has no mass may be it."""
    if drawn_up is None or drawn_up["unit"] not in MG_IN or asked_mg is None:
        return False
    drawn_up_mg = exact(drawn_up["value"]) * MG_IN[drawn_up["unit"]]
    return abs(drawn_up_mg - exact(asked_mg)) > exact(asked_mg) * exact(protocol.value("drugs.syringe_tolerance_part"))


def doses_told_of(drug, told_mg, patient):
    """How many of the protocol's doses an amount given before arrival makes: as many as fit into it, one at least."""
    each = [exact_dose_mg(rule, patient) for rule in drug["doses"]]
    sums = list(accumulate(mg for mg, _ in each)) if None not in each else []
    return max(1, sum(1 for upto in sums if upto <= told_mg))


def energy_j(patient, shocks_before, monophasic):
    """Joules of the next shock, the code's shocks so far counted, or None. By weight it is the same from any defibrillator."""
    if not patient.suits_protocol():
        return None
    energy = patient.protocol.at("shock.energy")
    if monophasic:
        energy = energy | patient.protocol.circumstance("monophasic_defibrillator")
    if "fixed_j" in energy:
        return step(energy["fixed_j"]["value"], shocks_before)
    weight_kg = patient.weight_kg
    if weight_kg is None:
        return None
    rule = energy["per_kg"]
    per_kg = exact(step(rule["j_per_kg"]["value"], shocks_before))
    ceiling_j = min(exact(rule["max_j_per_kg"]["value"]) * weight_kg, exact(rule["max_j"]["value"]))
    return next_setting_j(min(per_kg * weight_kg, ceiling_j), ceiling_j, patient.protocol)


def step(steps, place):
    """The last one holds for all that follow."""
    return steps[min(place, len(steps) - 1)]


def next_setting_j(joules, ceiling_j, protocol):
    """Up to the next setting, never above the ceiling: then the last setting below it, if that is enough of the energy."""
    settings = protocol.at("shock.settings_j", None)
    if settings is None:
        return min(ceil(joules), floor(ceiling_j))
    allowed = [setting for setting in settings["value"] if setting <= ceiling_j]
    least_j = joules * exact(protocol.value("shock.energy.per_kg.least_setting_part"))
    enough = [setting for setting in allowed if setting >= least_j]
    return next((setting for setting in sorted(enough) if setting >= joules), max(enough, default=None))
