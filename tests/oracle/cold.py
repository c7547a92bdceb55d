"""What the core temperature changes: drugs withheld, intervals doubled, no more than so many shocks.

Rules: docs/plan.md, "The core temperature alone", "A change of band changes the plan at once", "At most so many shocks"; the
bands themselves are the protocol's.
"""

from facts import CORRECTIONS, NEVER, facts_that_count, known_at, received_ms

STANDARD = {"drugs": "standard", "max_shocks": None}


class Cold:
    """Follows the core temperature and the circumstance, fact by fact."""

    def __init__(self, protocol):
        self.protocol = protocol
        self.is_set, self.core_temp_c = False, None

    def hear(self, fact):
        """Whether it is cold, and how cold, by one fact."""
        event = fact.event
        if fact.kind == "circumstance_set" and event["name"] == "hypothermia":
            self.is_set = event["on"]
        elif fact.kind == "vital_read" and event.get("temp_site") == "core":
            self.read(event.get("temp_c"))
        elif fact.kind == "code_opened":
            self.read((event.get("patient") or {}).get("core_temp_c"))
        elif fact.kind == "patient_updated":
            self.read(event.get("core_temp_c"))

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


MOVES = ("code_opened", "patient_updated", "vital_read", "circumstance_set")


def counts_from(record):
    """When a record began to count: it had happened, and was heard."""
    return max(received_ms(record), record["at_ms"]), record["seq"]


def changed_ms(records, protocol, at_ms):
    """(when the drugs' rule last changed, when drugs were last set free), by what had been heard; None where never."""
    changed, released = None, None
    known = [record for record in known_at(records, at_ms) if record["at_ms"] <= at_ms]
    if not any(record["event"]["kind"] == "circumstance_set" for record in known):
        return changed, released
    corrected = {record["event"]["target"] for record in known if record["event"]["kind"] in CORRECTIONS}
    heard = [
        record
        for record in sorted(known, key=counts_from)
        if record["event"]["kind"] in MOVES + CORRECTIONS or record["id"] in corrected
    ]
    before = "standard"
    for place, record in enumerate(heard):
        after = drugs_after(heard[: place + 1], protocol)
        if after != before:
            changed = counts_from(record)[0]
            released = changed if before == "withheld" else released
        before = after
    return changed, released


def drugs_after(records, protocol):
    """The drugs' rule by all of these records."""
    cold = Cold(protocol)
    for fact in facts_that_count(records, NEVER):
        cold.hear(fact)
    return cold.drugs()
