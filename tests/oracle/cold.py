"""What the core temperature changes: drugs withheld, intervals doubled, no more than so many shocks.

Rules: docs/plan.md, "The core temperature alone", "A change of band changes the plan at once", "At most so many shocks"; the
bands themselves are the protocol's.
"""

from facts import CORRECTIONS, facts_that_count, known_at, received_ms

STANDARD = {"drugs": "standard", "max_shocks": None}


class Cold:
    """Follows the core temperature and the circumstance, fact by fact."""

    def __init__(self, protocol):
        self.protocol = protocol
        self.is_set, self.core_temp_c = False, None
        self.changed_ms = None  # when another band began to hold for the drugs
        self.released_ms = None  # when drugs were last withheld no more

    def hear(self, fact):
        """Whether it is cold, and how cold, by one fact; notes when that changed what the drugs are to do."""
        before = self.drugs()
        event = fact.event
        if fact.kind == "circumstance_set" and event["name"] == "hypothermia":
            self.is_set = event["on"]
        elif fact.kind == "vital_read" and event.get("temp_site") == "core":
            self.read(event.get("temp_c"))
        elif fact.kind == "code_opened":
            self.read((event.get("patient") or {}).get("core_temp_c"))
        elif fact.kind == "patient_updated":
            self.read(event.get("core_temp_c"))
        if self.drugs() != before:
            self.changed_ms = fact.at_ms
            if before == "withheld":
                self.released_ms = fact.at_ms

    def read(self, temp_c):
        self.core_temp_c = self.core_temp_c if temp_c is None else temp_c

    def band(self):
        """The drugs' rule and the most shocks at this temperature. Without one the standard plan holds."""
        if not self.is_set or self.core_temp_c is None:
            return STANDARD
        for band in self.protocol.circumstance("hypothermia").get("temperature_bands", []):
            low, high = band.get("from_c"), band.get("below_c")
            if (low is None or low["value"] <= self.core_temp_c) and (high is None or self.core_temp_c < high["value"]):
                return {name: band[name]["value"] if name in band else None for name in STANDARD}
        return STANDARD

    def drugs(self):
        return self.band()["drugs"]

    def times(self):
        """How many times the usual intervals hold."""
        return 2 if self.drugs() == "doubled_interval" else 1

    def allows_a_shock_after(self, shocks):
        most = self.band()["max_shocks"]
        return most is None or shocks < most


def corrected_ms(records, protocol, at_ms):
    """(when a correction was last heard that changed the drugs' rule, and one that set them free), None where none did.

    What is only entered late counts from its own time.
    """
    changed, released = None, None
    known = known_at(records, at_ms)
    if not any(record["event"]["kind"] == "circumstance_set" for record in known):
        return changed, released
    corrections = sorted((record for record in known if record["event"]["kind"] in CORRECTIONS), key=received_ms)
    facts = [record for record in known if record["event"]["kind"] not in CORRECTIONS]
    for place, correction in enumerate(corrections):
        heard_ms = received_ms(correction)
        before = drugs_at(facts + corrections[:place], protocol, heard_ms)
        after = drugs_at(facts + corrections[: place + 1], protocol, heard_ms)
        if before != after:
            changed = heard_ms
            released = heard_ms if before == "withheld" else released
    return changed, released


def drugs_at(records, protocol, at_ms):
    """The drugs' rule at a moment, had everything but its corrections been told at once."""
    at_once = [record | {"received_ms": min(record["at_ms"], received_ms(record))} for record in records]
    cold = Cold(protocol)
    for fact in facts_that_count(at_once, at_ms):
        cold.hear(fact)
    return cold.drugs()
