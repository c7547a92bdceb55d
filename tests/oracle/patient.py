"""Who lies there: the age, the weight that counts, and whether the protocol is for this patient at all.

Rules: docs/plan.md, "Of several weights the best counts", "Under a protocol for another age"; the file's `[weight]`.
"""

from protocol import exact

BASES = ("measured", "length", "told", "age")  # the best first (P45)
INFANT_BELOW_MONTHS = 12  # no value of a protocol: what the word means


class Patient:
    def __init__(self, protocol):
        self.protocol = protocol
        self.age_group, self.age_months, self.core_temp_c = None, None, None
        self.weight_kg, self.weight_basis = None, None

    def hear(self, told):
        """A part of `code_opened` or a `patient_updated`: it changes only what it names."""
        self.age_group = told.get("age_group") or self.age_group
        self.age_months = self.age_months if told.get("age_months") is None else told["age_months"]
        basis = told.get("weight_basis")
        if told.get("weight_kg") is not None:
            self.hear_weight(exact(told["weight_kg"]), basis)
        elif basis is not None and self.weight_kg is not None:
            self.weight_basis = basis

    def hear_weight(self, weight_kg, basis):
        """It counts if its kind is as good as that of the weight that stands, or if that one does not fit the age."""
        if basis is None:
            # A correction of the one that stands; of an estimate it makes a weight that was told.
            basis = "told" if self.weight_basis in (None, "age") else self.weight_basis
        better = self.weight_kg is None or BASES.index(basis) <= BASES.index(self.weight_basis)
        if better or not self.weight_fits():
            self.weight_kg, self.weight_basis = weight_kg, basis

    def is_child(self):
        """A child or an infant: by the age where that says it, else by the group that was told."""
        if self.age_months is not None and self.age_months < self.protocol.value("ages.no_adult_before_months"):
            return True
        if self.age_months is not None and self.age_months >= self.protocol.value("ages.no_child_from_months"):
            return False
        return self.age_group != "adult"

    def suits_protocol(self):
        """Whether the protocol is for this patient's age at all; infants have the child's file."""
        return self.is_child() == (self.protocol.file["age_group"] == "child")

    def weight_fits(self):
        """Whether the weight is plausible beside what the age gives; an infant of unknown age may be any month old."""
        if self.age_months is not None:
            months = [self.age_months]
        else:
            months = range(INFANT_BELOW_MONTHS) if self.age_group == "infant" else []
        estimates_kg = [kg for kg in (estimate_kg(self.protocol, month) for month in months) if kg is not None]
        if not estimates_kg:
            return True
        low, high = (exact(self.protocol.value("weight.plausible_" + end)) for end in ("low", "high"))
        return low * min(estimates_kg) <= self.weight_kg <= high * max(estimates_kg)


def estimate_kg(protocol, months):
    """Kilograms by completed months, where the file has a formula for them."""
    for formula in protocol.at("weight.formulas", []):
        if formula["from_months"]["value"] <= months <= formula["through_months"]["value"]:
            steps = months // formula["step_months"]["value"]
            return steps * exact(formula["kg_per_step"]["value"]) + exact(formula["plus_kg"]["value"])
    return None
