"""Brings both sides into one form, and finds where they differ."""

from dataclasses import dataclass

import planner

ACTIONS = {
    "defibrillator": ("charge", "call_all_clear", "give_shock", "confirm_shock", "dump_charge"),
    "drugs": ("draw_up", "give_drug"),
}
ROLES = tuple(ACTIONS)
FIELDS = ("action", "show_at_ms", "due_at_ms", "late_at_ms", "assumed")
DETAIL = ("drug", "dose", "volume", "give_at_ms", "too_early_until_ms", "prepared", "waits_for", "energy_j", "or")
WITHOUT_ENERGY = ("confirm_shock", "dump_charge")  # the energy there only repeats what was charged


@dataclass(frozen=True)
class Difference:
    """One screen at one moment on which the two do not agree."""

    at_ms: int
    role: str
    kind: tuple  # what differs, in words: the same words for the same sort of difference
    engine: list
    oracle: list


def from_engine(found):
    """A prompt as the program prints it, with the fields that are compared."""
    detail = found["detail"]
    compared = {name: found[name] for name in FIELDS} | {name: detail.get(name) for name in DETAIL}
    compared |= {"dose": amount(detail, "mg"), "volume": amount(detail, "mL", "volume")}
    if detail.get("or"):
        other = detail["or"]
        compared["or"] = {
            "drug": other["drug"],
            "dose": amount(other, "mg"),
            "volume": amount(other, "mL", "volume"),
        }
    if found["action"] in WITHOUT_ENERGY:
        compared["energy_j"] = None
    return compared


def amount(detail, unit, name="dose"):
    """A number in its unit; another unit than the expected one is kept, and so differs."""
    found = detail.get(name)
    if found is None:
        return None
    return found["value"] if found["unit"] == unit else found


def from_oracle(found):
    return dict.fromkeys(FIELDS + DETAIL) | found


def engine_screens(shown):
    """{at_ms: {role: [prompt, ...]}} of what `engine.replay` answered, without the actions that are not compared."""
    return {
        at_ms: {
            role: [from_engine(found) for found in prompts if found["action"] in ACTIONS[role]]
            for role, prompts in roles.items()
        }
        for at_ms, roles in shown.items()
    }


def oracle_screen(records, protocols, at_ms):
    return {
        role: [from_oracle(found) for found in prompts]
        for role, prompts in planner.asked(records, protocols, at_ms).items()
    }


def differences(records, screens, protocols):
    """Where the other planner disagrees with the program's screens of a timeline."""
    found = []
    for at_ms, roles in screens.items():
        ours = oracle_screen(records, protocols, at_ms)
        for role in ROLES:
            if roles[role] != ours[role]:
                found.append(Difference(at_ms, role, kind_of(roles[role], ours[role]), roles[role], ours[role]))
    return found


def kind_of(engine, oracle):
    if [titled(found) for found in engine] != [titled(found) for found in oracle]:
        return (f"engine asks {listed(engine)}", f"oracle asks {listed(oracle)}")
    return tuple(
        f"{theirs['action']}.{name}"
        for theirs, ours in zip(engine, oracle)
        for name in theirs
        if theirs[name] != ours[name]
    )


def titled(found):
    return found["action"], found["drug"]


def listed(prompts):
    return ", ".join(" ".join(filter(None, titled(found))) for found in prompts) or "nothing"
