"""How a code has gone up to a moment: one walk over the facts that count, then questions about where it stands.

Rules: the design's plan rules ("shock_wanted", "c, the start of the cycle", the hands table), docs/plan.md.
"""

from amounts import is_a_push
from facts import NEVER, SHOCKABLE, counts_from_ms, is_shockable, meaning_at, meaning_changed_ms
from patient import Patient
from cold import Cold

INTO_THE_BLOOD = ("iv", "io")


ALSO_CALLED = {"adrenaline": "epinephrine", "lignocaine": "lidocaine"}


def drug_of(fact):
    name = fact.event["drug"].lower()
    return ALSO_CALLED.get(name, name)


class Pause:
    """A recorded stop of compressions."""

    def __init__(self, fact, limit_ms):
        self.start_ms, self.reason = fact.at_ms, fact.event["reason"]
        self.limit_ms = self.start_ms + limit_ms
        self.check_ms = self.start_ms if self.reason == "rhythm_check" else None  # since when it is a check
        self.held = False  # a look or a shock was made in it
        self.settled = False  # so, or the shock was called off: hands belong back on the chest
        self.over = False  # hands were cleared within it, and given back

    def ends_before(self, stop):
        """Whether another stop is one of its own: compressions ran between, and nobody tapped that. A stop for the shock
        goes on with the pause of its look."""
        return stop.at_ms >= self.limit_ms or self.settled and stop.event["reason"] != "shock"


class Charge:
    """What the defibrillator holds."""

    def __init__(self, since_ms, ready_ms, energy_j, hold_ms):
        self.since_ms, self.ready_ms, self.energy_j = since_ms, ready_ms, energy_j
        self.until_ms = since_ms + hold_ms
        self.dump_ms = NEVER  # since when it is not wanted any more

    def is_ready(self, at_ms):
        return self.ready_ms <= at_ms < self.until_ms


class Course:
    def __init__(self, facts, protocol, at_ms, cold_changed_ms=(None, None), held_back=frozenset()):
        self.held_back = held_back  # looks that the most shocks held back when they were made, by seq
        self.facts, self.protocol, self.at_ms = facts, protocol, at_ms
        self.patient, self.cold = Patient(protocol), Cold(protocol)
        self.opened_ms, self.clock_tapped_ms = 0, 0
        # The arrest that runs.
        self.phase, self.arrest_ms, self.clocked, self.again = "standby", None, False, False
        self.told_ms = None  # when its beginning was told: after a late start of the clock, later than it was
        self.protocol_changed_ms = None
        # The chest.
        self.compressing, self.pause = False, None
        self.first_compression_ms = None
        self.cycles = []  # (restart, since when that is known): the latest that holds is the cycle's start
        self.assumed_restarts = []  # the same, within the running pause: one for each look and shock
        self.pads_ms = None
        # The rhythm, and the shock that it wants.
        self.look = None
        self.looks_here = []  # in this arrest
        self.first_shockable_ms = None  # of the whole code
        self.shockable_ms = None  # since when every look was shockable, or was corrected to be
        self.wanted = None  # the look whose shock is awaited
        self.shocks, self.shocks_here = [], []
        self.separate_shocks = []  # as epinephrine counts them: those of one quick stack are one
        self.stack = None  # (id, how many) of the quick stack that is going on
        self.looked_in_stack = False
        # The defibrillator.
        self.charge, self.monophasic = None, False
        self.clear_ms = None  # hands are clear since
        self.unsettled_ms = None  # the end of a clear that nobody ended
        self.all_clear_ms = None
        self.withdrawn_ms = None  # since when the latest look wants no shock
        # The drugs.
        self.prior, self.prior_told_ms, self.prior_shocks_told_ms = {}, None, -NEVER
        self.cold_changed_ms, self.cold_released_ms = cold_changed_ms  # what cold.changed_ms says
        self.doses = []  # (at, drug) of each bolus into vein or bone
        self.prepared = {}
        for fact in facts:
            self.now_ms = fact.at_ms
            self.let_time_pass()
            hear = getattr(self, "on_" + fact.kind, None)
            self.cold.hear(fact)
            if hear is not None:
                hear(fact)
            self.hold_to_the_most_shocks(fact)
        self.now_ms = at_ms
        self.let_time_pass()

    def let_time_pass(self):
        """What a clear that has run out leaves behind."""
        now_ms, limit_ms = self.now_ms, self.protocol.ms("cycle.clear_limit_s")
        # A look corrected to one that wants no shock takes back what was cleared for it.
        cleared_ms = self.clear_ms or self.unsettled_ms or 0
        if self.withdrawn_ms is not None and cleared_ms < self.withdrawn_ms <= now_ms:
            self.settle()
        if self.clear_ms is not None and now_ms >= self.clear_ms + limit_ms:
            self.unsettled_ms = self.clear_ms + limit_ms
            self.clear_ms, self.all_clear_ms = None, None

    def settle(self):
        """Hands are given back."""
        if self.clear_ms is not None and self.pause is not None:
            self.pause.over = True
        self.clear_ms, self.all_clear_ms, self.unsettled_ms = None, None, None

    def clear(self, at_ms):
        self.clear_ms, self.unsettled_ms = at_ms, None

    # Who, and what was before.

    def on_code_opened(self, fact):
        self.opened_ms = fact.at_ms
        self.patient.hear(fact.event.get("patient") or {})
        self.hear_of_prior_care(fact, fact.event.get("prior_care") or {})

    def on_patient_updated(self, fact):
        self.patient.hear(fact.event)

    def on_prior_care_reported(self, fact):
        self.hear_of_prior_care(fact, fact.event)

    def hear_of_prior_care(self, fact, told):
        if "epinephrine_doses" in told or "last_epinephrine_at_ms" in told:
            self.prior_told_ms = fact.at_ms
        if told.get("shocks") is not None:
            self.prior_shocks_told_ms = fact.at_ms
        self.prior.update({name: value for name, value in told.items() if value is not None and name != "kind"})

    # The arrest.

    def begin(self, fact):
        self.again = self.arrest_ms is not None
        self.phase, self.arrest_ms = "arrest", fact.at_ms
        self.told_ms = fact.at_ms + fact.event.get("recognised_ago_ms", 0)
        self.cycles, self.shocks_here = [], []
        # A look on standby, or since circulation returned, is this arrest's first one.
        self.looks_here = [] if self.look is None else [self.look]
        self.pause, self.assumed_restarts = None, []
        self.settle()
        self.first_compression_ms = self.told_ms if self.compressing else None

    def on_clock_started(self, fact):
        if self.phase == "standby" and not self.clocked:
            self.begin(fact)
        if not self.clocked:
            self.clock_tapped_ms = fact.at_ms + fact.event.get("recognised_ago_ms", 0)
        self.clocked = True

    def on_arrest_again(self, fact):
        if self.phase == "rosc":
            self.begin(fact)

    def on_rosc(self, fact):
        if self.phase != "arrest":
            return
        self.phase = "rosc"
        self.compressing, self.pause = False, None
        self.wanted, self.look, self.shockable_ms = None, None, None
        self.settle()
        self.want_dumped(fact.at_ms)

    def on_protocol_changed(self, fact):
        self.protocol_changed_ms = fact.at_ms

    def on_code_closed(self, fact):
        self.phase = "closed"

    # The chest.

    def on_pads_attached(self, fact):
        self.pads_ms = fact.at_ms

    def on_pads_removed(self, fact):
        self.pads_ms = None

    def on_compressions_started(self, fact):
        self.settle()
        # Compressions end a stack, and its want; not what a look since its last shock has found.
        if self.stack_alone_wants():
            self.wanted = None
        self.stack = None
        pause = self.pause
        if pause is not None and self.wanted is None and (pause.held or pause.check_ms is not None):
            # What was only assumed before gives way to a restart that was seen.
            self.cycles = [restart for restart in self.cycles if restart[0] <= fact.at_ms]
            self.cycles.append((fact.at_ms, fact.at_ms))
        elif self.first_compression_ms is None and self.wanted is None:
            # The first ones of an arrest begin its cycle, whatever was thought before; the first check has been by then, if
            # there was a look or a shock.
            self.cycles = [restart for restart in self.cycles if restart[0] <= fact.at_ms]
            if self.looks_here or self.shocks_here:
                self.cycles.append((fact.at_ms, fact.at_ms))
        else:
            self.cycles += self.assumed_restarts
        self.pause, self.assumed_restarts = None, []
        if self.first_compression_ms is None:
            self.first_compression_ms = fact.at_ms
        self.compressing = True

    def on_compressions_stopped(self, fact):
        pause = self.pause
        if fact.event["reason"] == "shock":
            self.clear(fact.at_ms)
        self.unsettled_ms = None
        if not self.compressing and pause is not None and not pause.ends_before(fact):
            # A second stop in a pause that is not over may only say that this is a check.
            if fact.event["reason"] == "rhythm_check" and pause.check_ms is None:
                pause.check_ms = fact.at_ms
            return
        if pause is not None:
            self.cycles += self.untapped_restart()
        self.assumed_restarts = []
        self.pause, self.compressing = Pause(fact, self.protocol.ms("cycle.pause_limit_s")), False

    def on_pause_reason(self, fact):
        if self.pause is not None:
            self.pause.reason = fact.event["reason"]
            if fact.event["reason"] == "shock":
                self.clear(fact.at_ms)

    def stack_alone_wants(self):
        return self.stack is not None and not self.looked_in_stack

    def untapped_restart(self):
        """Where the running pause is thought to have ended, if it was one of a check and nobody recorded its end."""
        pause = self.pause
        if pause is None or self.wanted is not None and not self.stack_alone_wants():
            return []
        restarts = self.assumed_restarts[-1:]
        # A stop for a check after a shock was called off is the later word.
        if pause.check_ms is not None and all(known_ms < pause.check_ms for _, known_ms in restarts):
            if pause.over or self.now_ms >= pause.limit_ms:
                restarts.append((pause.check_ms + self.protocol.ms("cycle.pause_limit_s"), pause.check_ms))
        return restarts[-1:]

    def assume_restart(self, at_ms, in_pause_ms):
        """A look or a shock ends a cycle: with no pause around it at its own time, within one a while later."""
        self.cycles = [restart for restart in self.cycles if restart[0] <= at_ms]
        if self.pause is not None:
            self.assumed_restarts.append((at_ms + in_pause_ms, at_ms))
        else:
            self.cycles.append((at_ms, at_ms))

    def is_in_a_check(self):
        """A check's own pause, before its look: the rhythm will decide about the charge."""
        pause = self.pause
        asked = self.phase == "arrest" and pause is not None and pause.check_ms is not None
        return asked and not pause.settled and self.now_ms < pause.limit_ms

    # The rhythm.

    def on_rhythm_checked(self, fact):
        fact.of_child = self.patient.is_child()
        self.look, self.unsettled_ms = fact, None
        self.looked_in_stack = True
        if self.phase == "arrest":
            self.looks_here.append(fact)
        if self.pause is not None:
            self.pause.settled = self.pause.held = True
        if is_shockable(fact):
            self.see_shockable(fact)
        else:
            self.see_not_shockable(fact)

    def see_shockable(self, fact):
        if self.first_shockable_ms is None:
            self.first_shockable_ms = fact.at_ms
        since_ms = fact.at_ms if self.shockable_ms is None else self.shockable_ms
        self.shockable_ms = max([since_ms] + meaning_changed_ms(fact))
        self.withdrawn_ms = None
        if not self.may_shock() or fact.seq in self.held_back:
            self.see_no_shock_allowed(fact)
            return
        self.wanted = fact
        if self.charge is not None:
            self.charge.dump_ms = NEVER
            if self.charge.is_ready(fact.at_ms) and self.pause is not None:
                self.clear(fact.at_ms)

    def see_no_shock_allowed(self, fact):
        """Beyond the most shocks in the cold a shockable look raises no want, and a charge is to be dumped."""
        self.wanted, self.stack = None, None
        self.assume_restart(fact.at_ms, 0)
        self.want_dumped(fact.at_ms)

    def hold_to_the_most_shocks(self, fact):
        """Colder, or one shock more: the want is taken back, and a charge is to be dumped."""
        if not self.may_shock():
            self.end_want(fact)
            self.stack = None
            self.want_dumped(fact.at_ms)

    def may_shock(self):
        return self.cold.allows_a_shock_after(self.shocks_so_far())

    def see_not_shockable(self, fact):
        self.wanted, self.shockable_ms, self.stack = None, None, None
        self.clear_ms, self.all_clear_ms = None, None
        self.withdrawn_ms = counts_from_ms(fact)
        self.assume_restart(fact.at_ms, 0)
        if fact.event["rhythm"] not in SHOCKABLE:
            self.want_dumped(fact.at_ms)
        elif self.charge is not None and self.may_shock():
            self.charge.dump_ms = NEVER

    # The defibrillator.

    def on_circumstance_set(self, fact):
        if fact.event["name"] == "monophasic_defibrillator":
            self.monophasic = fact.event["on"]

    def want_dumped(self, at_ms):
        if self.charge is not None:
            self.charge.dump_ms = min(self.charge.dump_ms, at_ms)

    def new_charge(self, fact, ready_ms):
        hold_ms = self.protocol.ms("shock.charge_hold_s")
        self.charge = Charge(fact.at_ms, ready_ms, fact.event.get("energy_j"), hold_ms)

    def on_charging_started(self, fact):
        self.new_charge(fact, fact.at_ms + self.protocol.ms("shock.charge_s"))
        self.all_clear_ms, self.unsettled_ms = None, None
        if self.pause is None:
            self.clear_ms = None  # nobody recorded a stop, so hands compress through charging

    def on_charge_ready(self, fact):
        if self.charge is None:
            self.new_charge(fact, fact.at_ms)
        self.charge.ready_ms = fact.at_ms
        self.charge.energy_j = fact.event.get("energy_j") or self.charge.energy_j

    def on_all_clear_called(self, fact):
        self.all_clear_ms = fact.at_ms
        self.clear(fact.at_ms)

    def on_shock_delivered(self, fact):
        self.shocks.append(fact)
        self.shocks_here.append(fact)
        self.charge = None
        self.settle()
        if self.pause is not None:
            self.pause.settled = self.pause.held = True
        self.looked_in_stack = False
        self.count_in_stack(fact)
        self.assume_restart(fact.at_ms, self.protocol.ms("cycle.assume_restart_after_shock_s"))
        if self.stack is None:
            self.wanted = None

    def count_in_stack(self, fact):
        """A quick stack keeps the want for up to three shocks, and counts as one shock for epinephrine."""
        stack_id = fact.event.get("stack_id")
        if stack_id is None or self.stack is None or self.stack[0] != stack_id:
            self.stack = None if stack_id is None else (stack_id, 0)
            self.separate_shocks.append(fact)
        if self.stack is not None:
            self.stack = (stack_id, self.stack[1] + 1)
        if self.stack is not None and self.stack[1] >= 3:
            self.stack = None

    def on_shock_taken_back(self, fact):
        self.charge = None
        self.settle()
        if self.pause is not None:
            self.pause.settled = True

    def call_off(self):
        """A charge dumped in a pause that is not about a shock says nothing about the hands."""
        self.charge = None
        for_a_shock = self.clear_ms is not None or self.unsettled_ms is not None or self.wanted is not None
        if self.pause is not None and for_a_shock:
            self.pause.settled = True
        self.settle()

    def on_charge_dumped(self, fact):
        self.call_off()
        # A charge dumped on a look that was corrected later does not end the want of the look as corrected.
        if self.wanted is None or meaning_at(self.wanted, fact.heard_ms) == "shock":
            self.end_want(fact)

    def on_shock_aborted(self, fact):
        self.call_off()
        self.end_want(fact)

    def end_want(self, fact):
        if self.wanted is not None:
            self.assume_restart(fact.at_ms, self.protocol.ms("cycle.assume_restart_after_shock_s"))
        self.wanted = None

    # The drugs.

    def on_drug_prepared(self, fact):
        self.prepared[drug_of(fact)] = fact.at_ms, fact.event.get("dose")

    def on_drug_given(self, fact):
        drug = drug_of(fact)
        if fact.event["route"] not in INTO_THE_BLOOD or fact.event.get("form", "bolus") != "bolus":
            return
        given = fact.event.get("dose")
        if given is not None and given["value"] == 0 or drug == "epinephrine" and is_a_push(given, self.patient):
            return
        self.doses.append((fact.at_ms, drug))
        self.prepared.pop(drug, None)

    # Questions.

    def next_check(self):
        """(T, since when that is known), both in ms."""
        length_ms = self.protocol.ms("cycle.length_s")
        restarts = self.cycles + self.untapped_restart()
        if self.wanted is not None:
            looked_ms = max(self.wanted.at_ms, self.told_ms)
            restarts.append((looked_ms + self.protocol.ms("cycle.assume_restart_after_look_s"), looked_ms))
        if restarts and self.first_compression_ms is not None:
            restarts.append((self.first_compression_ms, self.first_compression_ms))
        if restarts:
            start_ms, known_ms = max(restarts)
            return start_ms + length_ms, known_ms
        if self.pads_ms is not None:
            from_ms = max(self.pads_ms, self.told_ms)
            return from_ms + self.protocol.ms("cycle.first_check_after_pads_s"), from_ms
        start_ms = self.told_ms if self.first_compression_ms is None else self.first_compression_ms
        return start_ms + length_ms, start_ms

    def shocks_so_far(self):
        return self.prior.get("shocks", 0) + len(self.shocks)
