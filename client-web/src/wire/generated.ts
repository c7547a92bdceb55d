// Generated from server/src/wire.rs, server/src/review and the engine's types by `COXSWAIN_WRITE_TYPES=1 cargo test -p coxswain --lib types`.
// Do not edit: a test fails when it is stale.

/**
 * One entry of the access log.
 */
export type AccessEntry = { 
/**
 * Its place, from 1.
 */
place: number, 
/**
 * Wall clock (RFC 3339).
 */
at: string, 
/**
 * Who; of a failed sign-in, the account if the name is one's.
 */
account?: string, 
/**
 * The account's name then; `shell` for what was done from the server's own shell.
 */
name: string, 
/**
 * What.
 */
deed: Deed, 
/**
 * Which code.
 */
code?: string, 
/**
 * More: the kind of a change, the format of an export, the version that was opened.
 */
detail?: string, 
/**
 * The address that asked.
 */
from?: string, };

/**
 * Answer of `GET /api/review/access_log?code=&page=`: the latest first.
 */
export type AccessPage = { 
/**
 * The entries of this page.
 */
entries: Array<AccessEntry>, 
/**
 * Which page, from 1.
 */
page: number, 
/**
 * How many pages there are, at least 1.
 */
pages: number, };

/**
 * A line into a vein or into the bone.
 */
export type AccessRoute = "iv" | "io";

/**
 * A person who may review.
 */
export type Account = { 
/**
 * Its id; stands as `by.device` in the records it makes.
 */
id: string, 
/**
 * The person's name, by which they sign in.
 */
name: string, 
/**
 * What it may do.
 */
role: AccountRole, };

/**
 * What an account may do.
 */
export type AccountRole = "reviewer" | "administrator";

/**
 * What is asked. The words are part of the wire contract (`docs/wire.md`).
 */
export type Action = "start_compressions" | "resume_compressions" | "pause_for_check" | "announce" | "ready_relief" | "finger_on_pulse" | "read_rhythm" | "confirm_rosc" | "possible_rosc" | "attach_pads" | "charge_ahead" | "charge" | "call_all_clear" | "give_shock" | "confirm_shock" | "dump_charge" | "gain_access" | "enter_weight" | "draw_up" | "give_drug" | "ventilate" | "read_etco2" | "review_causes" | "aftercare" | "initial_breaths" | "change_pads" | "special_care" | "confirm_second_dose" | "change_protocol" | "consider_circumstance" | "confirm_roles" | "confirm_flow" | "review_limits" | "close_code";

/**
 * For whom a protocol is.
 */
export type AgeGroup = "adult" | "child" | "infant";

/**
 * What keeps the airway open.
 */
export type AirwayKind = "bag_mask" | "supraglottic" | "tracheal" | "front_of_neck";

/**
 * A drug that may be given instead, never as well.
 */
export type Alternative = { 
/**
 * The drug's id in the protocol.
 */
drug: string, 
/**
 * Its dose for this patient, if it can be computed.
 */
dose?: Dose, 
/**
 * The volume of that dose at the protocol's strength.
 */
volume?: Dose, 
/**
 * The rule in words, where the dose depends on a weight that is not known.
 */
rule?: string, };

/**
 * One arrest, from its recognition to circulation or closing.
 */
export type ArrestCourse = { 
/**
 * Code time of its recognition.
 */
start_ms: number, 
/**
 * Code time of its end.
 */
end_ms: number, 
/**
 * What ended it.
 */
ended_by: EndedBy, 
/**
 * In order of time; empty if nobody compressed.
 */
compressed: Array<Compressed>, };

/**
 * Who made a record: the device, its name and its roles at that moment.
 */
export type Author = { 
/**
 * The device's id.
 */
device: string, 
/**
 * The device's name as people call it.
 */
name: string, 
/**
 * The roles it held.
 */
roles: Array<Role>, };

/**
 * A tablet's battery.
 */
export type Battery = { 
/**
 * How full, 0 to 100.
 */
percent: number, 
/**
 * Whether it is being charged.
 */
charging: boolean, };

/**
 * What a target asks of each moment that it counts.
 */
export type Bound = { "kind": "at_least", fraction: number, } | { "kind": "above", fraction: number, } | { "kind": "at_most", ms: number, } | { "kind": "under", ms: number, } | { "kind": "between", low_ms: number, high_ms: number, } | { "kind": "about", ms: number, } | { "kind": "none" };

/**
 * How breaths follow one another: each so many seconds with an advanced airway, else after so many compressions.
 */
export type BreathRhythm = { 
/**
 * Seconds from breath to breath; compressions go on.
 */
each_s?: number, 
/**
 * Compressions before breaths are given.
 */
after_compressions?: number, 
/**
 * How long those breaths take, as the protocol counts.
 */
gap_s?: number, };

/**
 * What a choice of source did to a start or a stop of compressions.
 */
export type ByChoice = "set_aside" | "brought" | "taken_back";

/**
 * One change, tagged by `kind`.
 */
export type Change = { "kind": "amend", 
/**
 * The fact.
 */
target: string, 
/**
 * Its time.
 */
at_ms: number, 
/**
 * Its content.
 */
event?: Event, } | { "kind": "void", 
/**
 * Which.
 */
target: string, } | { "kind": "add", 
/**
 * When it was.
 */
at_ms: number, 
/**
 * What it was.
 */
event: Event, } | { "kind": "align", 
/**
 * What is added to them, in milliseconds: negative if the clock was ahead. Counts in place of an earlier alignment.
 */
offset_ms: number, } | { "kind": "import_monitor", 
/**
 * What it is called, such as the file's name.
 */
name: string, 
/**
 * The file's text.
 */
csv: string, 
/**
 * What is added to its times to make them code time, in milliseconds.
 */
offset_ms: number, 
/**
 * For a file with clock times: what the monitor's clock showed when the arrest was recognised, as `09:12:03`.
 */
zero_clock?: string, } | { "kind": "choose_source", 
/**
 * The record of the import.
 */
import: string, 
/**
 * From this code time on.
 */
from_ms: number, 
/**
 * Up to this one.
 */
to_ms: number, 
/**
 * Whose.
 */
source: CompressionSource, } | { "kind": "new_version" };

/**
 * Body of `POST /api/review/codes/{id}/changes`.
 */
export type ChangeRequest = { 
/**
 * The head that the reviewer saw: if the chain moved on since, nothing is changed.
 */
head: string, 
/**
 * Why: stands in the record of the change.
 */
reason: string, 
/**
 * What.
 */
change: Change, };

/**
 * The defibrillator as far as anybody recorded.
 */
export type ChargeView = { 
/**
 * When charging began.
 */
since_ms: number, 
/**
 * When it is ready, as recorded or as expected.
 */
ready_at_ms: number, 
/**
 * Energy in joules.
 */
energy_j?: number, };

/**
 * A circumstance that changes the plan: one of the named ones, or the department's own word.
 */
export type Circumstance = "pregnancy" | "hypothermia" | "opioid" | "hyperkalaemia" | "drowning" | "anaphylaxis" | "trauma" | "pulmonary_embolism" | "local_anaesthetic" | "treatment_limit" | "monophasic_defibrillator" | string;

/**
 * What a tablet sends.
 */
export type ClientMessage = { "type": "ping", 
/**
 * Tablet's clock when it sent this.
 */
sent_ms: number, } | { "type": "record", 
/**
 * Made by the tablet (uuid v7): sending again is harmless.
 */
id: string, 
/**
 * Which code.
 */
code: string, 
/**
 * Code time of the fact; absent from a program without a clock.
 */
at_ms?: number, 
/**
 * How far the tablet's clock may be off.
 */
clock_error_ms?: number, 
/**
 * What happened.
 */
event: Event, } | { "type": "battery" } & Battery;

/**
 * Query of `GET /api/review/codes`. Every field may be absent.
 */
export type CodeFilter = { 
/**
 * Opened on this day or later: `2026-11-01`, or a moment (RFC 3339).
 */
from?: string, 
/**
 * Opened before this day or moment.
 */
to?: string, 
/**
 * Opened there; empty: those without a place.
 */
location?: string, 
/**
 * Ran under the protocol of this id.
 */
protocol?: string, 
/**
 * Drills only, or real ones only.
 */
training?: boolean, 
/**
 * Ended so.
 */
outcome?: Outcome, 
/**
 * Signed ones only, or the others only.
 */
signed?: boolean, };

/**
 * A code in the list, and one point of a trend.
 */
export type CodeLine = { 
/**
 * Its id.
 */
id: string, 
/**
 * Wall clock of its opening (RFC 3339, UTC), as aligned by a reviewer.
 */
opened_at: string, 
/**
 * Where it was opened, as corrected.
 */
location?: string, 
/**
 * The protocol it ran under at its end.
 */
protocol: string, 
/**
 * That protocol's version.
 */
protocol_version: number, 
/**
 * For whom.
 */
age_group: AgeGroup, 
/**
 * A drill.
 */
training: boolean, 
/**
 * How it ended; absent while it is open.
 */
outcome?: Outcome, 
/**
 * How many records it has.
 */
records: number, 
/**
 * Hash of its chain, hexadecimal.
 */
head: string, 
/**
 * How its record stands.
 */
standing: Standing, 
/**
 * The version that is open or was signed last, from 1.
 */
version: number, 
/**
 * Whether a debrief stands.
 */
debriefed: boolean, 
/**
 * What the engine measured.
 */
figures: LineFigures, };

/**
 * Answer of `GET /api/review/codes`: the latest first.
 */
export type CodePage = { 
/**
 * The codes of this page.
 */
codes: Array<CodeLine>, 
/**
 * Which page, from 1.
 */
page: number, 
/**
 * How many pages there are, at least 1.
 */
pages: number, 
/**
 * How many codes the filter lets through.
 */
total: number, 
/**
 * Codes whose line is still being made, after an upgrade: they are missing here, or shown as they were.
 */
unfinished: number, 
/**
 * Codes that cannot be read, and are missing here: `coxswain verify` and the server's log name them.
 */
unreadable: number, 
/**
 * Every location that a code was opened at.
 */
locations: Array<string>, 
/**
 * Every protocol that a code ran under.
 */
protocols: Array<string>, };

/**
 * A code in a list.
 */
export type CodeSummary = { 
/**
 * Its id.
 */
id: string, 
/**
 * Where.
 */
location?: string, 
/**
 * Where it stands.
 */
phase: Phase, 
/**
 * A drill.
 */
training: boolean, 
/**
 * For whom.
 */
age_group: AgeGroup, 
/**
 * Server time of code time 0; absent on standby.
 */
epoch_ms?: number, 
/**
 * Whether the receiving device is in it.
 */
joined: boolean, };

/**
 * Compressions without a break.
 */
export type Compressed = { 
/**
 * Code time at which they began.
 */
start_ms: number, 
/**
 * Code time at which they stopped, or the arrest ended.
 */
end_ms: number, 
/**
 * The means they began with.
 */
by: CompressedBy, };

/**
 * What moves the chest.
 */
export type CompressedBy = "manual" | "mechanical";

/**
 * Which source counts.
 */
export type CompressionSource = "taps" | "monitor";

/**
 * Compressions as a monitor's own record has them.
 */
export type CompressionStretch = { 
/**
 * Code time of the first compression.
 */
start_ms: number, 
/**
 * Code time at which they stopped.
 */
stop_ms: number, };

/**
 * Why a request was refused with 409.
 */
export type Conflict = "changed_meanwhile" | "code_running" | "signed" | "not_signed" | "choice_not_current" | "chain_broken";

/**
 * Whose times of compressions count in a stretch.
 */
export type Counting = "taps" | "part" | "monitor";

/**
 * What was given so far, prior care included.
 */
export type Counts = { 
/**
 * Shocks.
 */
shocks: number, 
/**
 * The last one here.
 */
last_shock_at_ms?: number, 
/**
 * Looks at the rhythm here.
 */
looks: number, 
/**
 * How often circulation returned.
 */
roscs: number, };

/**
 * Body of `POST /api/review/codes/{id}/debrief`.
 */
export type DebriefRequest = { 
/**
 * The head that the reviewer saw.
 */
head: string, 
/**
 * What went well.
 */
went_well: string, 
/**
 * What to change.
 */
to_change: string, 
/**
 * Who follows up.
 */
follow_ups: Array<FollowUp>, };

/**
 * A debrief with who recorded it, and when.
 */
export type DebriefShown = { 
/**
 * The record.
 */
id: string, 
/**
 * Who.
 */
by: string, 
/**
 * Wall clock.
 */
at: string, 
/**
 * What went well.
 */
went_well: string, 
/**
 * What to change.
 */
to_change: string, 
/**
 * Who follows up.
 */
follow_ups: Array<FollowUp>, };

/**
 * What an entry of the access log says was done.
 */
export type Deed = "signed_in" | "sign_in_failed" | "signed_out" | "listed" | "opened" | "exported" | "trended" | "changed" | "debriefed" | "signed" | "log_read" | "account_added" | "account_removed";

/**
 * The particulars of a prompt. Only the fields that mean something for its action are present.
 */
export type Detail = { 
/**
 * announce, and a second question within a check: the action it is about.
 */
of?: Action, 
/**
 * announce: code time of the thing announced.
 */
of_at_ms?: number, 
/**
 * The drug's id in the protocol.
 */
drug?: string, 
/**
 * The dose for this patient.
 */
dose?: Dose, 
/**
 * The volume of that dose at `strength`.
 */
volume?: Dose, 
/**
 * The strength it is computed for, such as `0.1 mg/mL`.
 */
strength?: string, 
/**
 * The dose rule in words: for which weight it is, or why mg and mL cannot be known yet. ventilate: the rate in words.
 */
rule?: string, 
/**
 * Millilitres of flush after the drug.
 */
flush_ml?: number, 
/**
 * draw_up: when it is to be given.
 */
give_at_ms?: number, 
/**
 * give_drug: before this moment it is too early.
 */
too_early_until_ms?: number, 
/**
 * give_drug: whether it has been drawn up.
 */
prepared?: boolean, 
/**
 * draw_up, give_drug: what must come first, `shock` or `rhythm_check`, where the time is only expected.
 */
waits_for?: string, 
/**
 * give_drug: the alternative, never as well.
 */
or?: Alternative, 
/**
 * Energy in joules.
 */
energy_j?: number, 
/**
 * Energy in words: for which weight it is, or the rule where no energy is known.
 */
energy_rule?: string, 
/**
 * ventilate: compressions to breaths, such as `30:2`.
 */
ratio?: string, 
/**
 * ventilate: seconds from breath to breath, compressions going on.
 */
one_breath_each_s?: number, 
/**
 * aftercare, special_care: what, in the protocol's words; change_protocol: the id of the one that fits.
 */
item?: string, 
/**
 * aftercare, special_care: the target in words; change_pads: the position.
 */
target?: string, 
/**
 * special_care, consider_circumstance: which circumstance.
 */
circumstance?: Circumstance, 
/**
 * initial_breaths: how many.
 */
breaths?: number, 
/**
 * enter_weight: the estimate from the age, which counts only once somebody confirms it.
 */
estimate?: WeightEstimate, 
/**
 * A reason to look twice, in words: a weight that does not fit the age, a reading outside its target.
 */
doubt?: string, 
/**
 * give_shock: which shock of a quick stack, and of how many.
 */
stack?: StackPlace, 
/**
 * confirm_second_dose: milliseconds between the two doses.
 */
apart_ms: number, };

/**
 * Who a device is.
 */
export type DeviceInfo = { 
/**
 * Its id.
 */
id: string, 
/**
 * Its name as people call it.
 */
name: string, 
/**
 * Where it stands.
 */
location?: string, 
/**
 * The role it wakes into.
 */
home_role?: Role, };

/**
 * An amount with its unit, as it was drawn up or given.
 */
export type Dose = { 
/**
 * How much, in `unit`.
 */
value: number, 
/**
 * UCUM unit, such as `mg`, `ug`, `g`, `mL`, `mg/kg`.
 */
unit: string, };

/**
 * At once or running.
 */
export type DrugForm = "bolus" | "infusion";

/**
 * The standing line of a drug: always there, whether or not something is asked.
 */
export type DrugLine = { 
/**
 * The drug's id in the protocol.
 */
drug: string, 
/**
 * Doses so far, prior care included.
 */
doses: number, 
/**
 * When the last one was given.
 */
last_at_ms?: number, 
/**
 * That time is not known but assumed.
 */
last_assumed: boolean, 
/**
 * When the next one is due, as far as that is decided.
 */
due_at_ms?: number, 
/**
 * That time is only expected: a check or a shock comes first.
 */
waits: boolean, 
/**
 * A circumstance withholds it: nothing is asked, and a note says why.
 */
withheld?: boolean, 
/**
 * Until when it is too early.
 */
too_early_until_ms?: number, 
/**
 * When the window for it ends.
 */
latest_ms?: number, };

/**
 * What ended a pause.
 */
export type EndedBy = "resumed" | "rosc" | "closed";

/**
 * One thing that happened, as a person or a device recorded it.
 *
 * `#[serde(remote = "Self")]` makes serde derive the plain functions only; the trait implementations below move the
 * variant's name into `kind`, and keep the path of a bad field, which serde's own internal tagging would lose.
 */
export type Event = { "kind": "code_opened", protocol: ProtocolRef, patient: Patient, location?: string, training: boolean, witnessed?: boolean, monitored?: boolean, prior_care?: PriorCare, } | { "kind": "patient_updated", 
/**
 * Adult, child or infant.
 */
age_group?: AgeGroup, 
/**
 * Body weight in kilograms.
 */
weight_kg?: number, 
/**
 * Where the weight comes from.
 */
weight_basis?: WeightBasis, 
/**
 * Age in completed months.
 */
age_months?: number, 
/**
 * Weeks of gestation, in pregnancy.
 */
gestation_weeks?: number, 
/**
 * Core temperature in degrees Celsius.
 */
core_temp_c?: number, 
/**
 * Sex.
 */
sex?: Sex, } | { "kind": "prior_care_reported", 
/**
 * Doses of epinephrine already given.
 */
epinephrine_doses?: number, 
/**
 * Code time of the last of them; negative before recognition, absent if nobody knows.
 */
last_epinephrine_at_ms?: number, 
/**
 * Shocks already given.
 */
shocks?: number, 
/**
 * Amiodarone already given, in milligrams.
 */
amiodarone_mg?: number, 
/**
 * Lidocaine already given, in milligrams.
 */
lidocaine_mg?: number, 
/**
 * The airway that is already in.
 */
airway?: AirwayKind, 
/**
 * The access that is already there.
 */
access?: AccessRoute, } | { "kind": "circumstance_set", name: Circumstance, on: boolean, } | { "kind": "protocol_changed", protocol: ProtocolRef, reason: string, } | { "kind": "clock_started", recognised_ago_ms?: number, } | { "kind": "role_assigned", role: Role, device: string, person?: string, } | { "kind": "role_released", role: Role, device: string, } | { "kind": "device_left", } | { "kind": "pulse_duty_given", role: Role, } | { "kind": "compressions_started", by: CompressedBy, } | { "kind": "compressions_stopped", reason: PauseReason, } | { "kind": "pause_reason", reason: PauseReason, } | { "kind": "compressor_changed", person?: string, } | { "kind": "pads_attached", position: PadPosition, } | { "kind": "pads_removed", } | { "kind": "pulse_finger_placed", site?: PulseSite, } | { "kind": "rhythm_checked", rhythm: Rhythm, pulse: Pulse, } | { "kind": "charging_started", energy_j?: number, } | { "kind": "charge_ready", energy_j?: number, } | { "kind": "charge_dumped", energy_j?: number, } | { "kind": "all_clear_called", } | { "kind": "shock_delivered", energy_j: number, 
/**
 * Shocks of one quick stack share it.
 */
stack_id?: string, 
/**
 * Two defibrillators in quick sequence.
 */
double: boolean, } | { "kind": "shock_aborted", reason?: string, } | { "kind": "drug_prepared", drug: string, dose?: Dose, } | { "kind": "drug_given", drug: string, dose?: Dose, route: Route, form: DrugForm, } | { "kind": "access_gained", route: AccessRoute, site?: string, } | { "kind": "access_failed", route: AccessRoute, site?: string, } | { "kind": "access_lost", route: AccessRoute, site?: string, } | { "kind": "airway_placed", airway: AirwayKind, confirmed_by_capnography?: boolean, } | { "kind": "airway_attempted", airway: AirwayKind, } | { "kind": "airway_removed", airway: AirwayKind, } | { "kind": "breaths_given", count: number, } | { "kind": "etco2_read", mmhg: number, } | { "kind": "vital_read", spo2_pct?: number, systolic_mmhg?: number, diastolic_mmhg?: number, temp_c?: number, temp_site?: TemperatureSite, glucose_mmol_l?: number, } | { "kind": "lab_read", potassium_mmol_l?: number, lactate_mmol_l?: number, ph?: number, paco2_mmhg?: number, } | { "kind": "cause_considered", cause: string, note?: string, } | { "kind": "cause_treated", cause: string, note?: string, } | { "kind": "task_done", prompt: string, } | { "kind": "team_called", note?: string, } | { "kind": "team_arrived", note?: string, } | { "kind": "ultrasound_done", note?: string, } | { "kind": "delivery", note?: string, } | { "kind": "ecmo_started", note?: string, } | { "kind": "thoracotomy", note?: string, } | { "kind": "death_declared", note?: string, } | { "kind": "moved", location: string, } | { "kind": "rosc", } | { "kind": "arrest_again", } | { "kind": "note", text: string, } | { "kind": "code_closed", outcome: Outcome, cpr_ongoing?: boolean, } | { "kind": "amended", target: string, at_ms?: number, event?: Event, reason: string, } | { "kind": "voided", target: string, reason: string, } | { "kind": "clock_corrected", from_ms: number, to_ms: number, basis: string, } | { "kind": "reviewed", deed: ReviewDeed, };

/**
 * The figures of one code. The JSON names are fixed.
 */
export type Figures = { 
/**
 * Length of all arrests together.
 */
arrest_ms: number, 
/**
 * Share of it with compressions running, from recognition.
 */
compression_fraction: number | null, 
/**
 * Time before each arrest's first compression.
 */
no_flow_ms: number, 
/**
 * Time from each arrest's first compression to its end.
 */
low_flow_ms: number, 
/**
 * Share of low-flow time with compressions running.
 */
compression_fraction_from_first: number | null, 
/**
 * Every pause.
 */
pauses: Array<Pause>, 
/**
 * How many were longer than 10 s.
 */
pauses_over_10_s: number, 
/**
 * The longest.
 */
longest_pause_ms: number | null, 
/**
 * Every shock.
 */
shocks: Array<ShockFigures>, 
/**
 * Share of charging time with compressions running.
 */
charging_compression_fraction: number | null, 
/**
 * The first rhythm on the record.
 */
first_rhythm: Rhythm | null, 
/**
 * From recognition to the first compression.
 */
first_compression_ms: number | null, 
/**
 * From recognition to the first shock.
 */
first_shock_ms: number | null, 
/**
 * From recognition to the first epinephrine into a vein or bone here.
 */
first_epinephrine_ms: number | null, 
/**
 * From recognition to the first access here.
 */
first_access_ms: number | null, 
/**
 * From recognition to the first advanced airway here.
 */
first_advanced_airway_ms: number | null, 
/**
 * Between successive doses of epinephrine.
 */
epinephrine_intervals_ms: number[], 
/**
 * From the end of one check to the start of the next.
 */
check_intervals_ms: number[], 
/**
 * How long each compressor worked.
 */
compressor_spells_ms: number[], 
/**
 * Share of rhythm checks with a finger on the pulse before compressions stopped.
 */
finger_ready_fraction: number | null, 
/**
 * From recognition to the first return of circulation.
 */
rosc_ms: number | null, 
/**
 * How often circulation returned.
 */
rosc_count: number, 
/**
 * What pauses for breaths, which nobody taps, would add.
 */
breath_pauses_estimate_ms: number, 
/**
 * What the record does not tell.
 */
gaps: Array<Gap>, };

/**
 * What somebody took upon themselves in a debrief.
 */
export type FollowUp = { 
/**
 * Who.
 */
who: string, 
/**
 * What.
 */
what: string, 
/**
 * By which day, as `2026-12-01`.
 */
by_when?: string, };

/**
 * How prompts of one action were followed.
 */
export type Followed = { 
/**
 * How often it was shown.
 */
shown: number, 
/**
 * How often it was done.
 */
done: number, 
/**
 * How often it was done after it had become late.
 */
late: number, 
/**
 * How often it went without having been done.
 */
withdrawn: number, 
/**
 * Of each that was done: from the moment it was due, or showed if that was later, until then; negative if before.
 */
after_due_ms: Array<number>, };

/**
 * One gap.
 */
export type Gap = { 
/**
 * Where it is, or begins.
 */
at_ms: number, 
/**
 * What is missing.
 */
what: GapKind, 
/**
 * The same in words.
 */
words: string, };

/**
 * What is missing.
 */
export type GapKind = "check_without_rhythm" | "drug_without_access" | "no_compressions" | "shock_without_pause" | "silence" | "waiting_target";

/**
 * The hands line.
 */
export type Hands = { 
/**
 * The order.
 */
now: HandsOrder, 
/**
 * Code time since which it holds.
 */
since_ms: number, 
/**
 * Code time at which it becomes `compress` by itself; absent if it does not.
 */
until_ms?: number, 
/**
 * The order is `compress` because a pause ran past its limit.
 */
overdue: boolean, 
/**
 * What was recorded.
 */
observed: Observed, };

/**
 * What the chest gets now.
 */
export type HandsOrder = "none" | "clear" | "pause" | "compress";

/**
 * What was read from a monitor.
 */
export type ImportShown = { 
/**
 * The record of the import.
 */
id: string, 
/**
 * What it is called.
 */
name: string, 
/**
 * What was added to the file's times.
 */
offset_ms: number, 
/**
 * Its compressions, in order of time.
 */
stretches: Array<StretchShown>, };

/**
 * A chart of single values. There are at least two.
 */
export type IndividualsChart = { 
/**
 * The mean.
 */
centre: number, 
/**
 * Three standard deviations around it, the deviation from the mean moving range.
 */
limits: Limits, 
/**
 * The mean moving range.
 */
mean_range: number, 
/**
 * Upper limit of a moving range; the lower one is 0.
 */
range_upper: number, 
/**
 * The points, in order.
 */
points: Array<RangePoint>, 
/**
 * Fewer points than limits need to settle.
 */
provisional: boolean, };

/**
 * An interval between 0 and 1.
 */
export type Interval = { 
/**
 * Its lower end.
 */
lower: number, 
/**
 * Its upper end.
 */
upper: number, };

/**
 * Between these, chance alone keeps nearly every point.
 */
export type Limits = { 
/**
 * Lower control limit, in the unit of the values.
 */
lower: number, 
/**
 * Upper control limit, in the unit of the values.
 */
upper: number, };

/**
 * Figures of one code by the definitions of docs/measures.md, cut to what is asked over many codes.
 */
export type LineFigures = { 
/**
 * Length of all arrests together.
 */
arrest_ms: number, 
/**
 * Share of it with compressions running, from recognition.
 */
compression_fraction: number | null, 
/**
 * Share of low-flow time with compressions running.
 */
compression_fraction_from_first: number | null, 
/**
 * Time before each arrest's first compression.
 */
no_flow_ms: number, 
/**
 * Length of each pause, in order of time.
 */
pauses_ms: number[], 
/**
 * How many were longer than 10 s.
 */
pauses_over_10_s: number, 
/**
 * The longest.
 */
longest_pause_ms: number | null, 
/**
 * How many shocks.
 */
shocks: number, 
/**
 * Of the shocks that a pause holds.
 */
pre_shock_ms: number[], 
/**
 * Of the shocks whose pause ended by resuming.
 */
post_shock_ms: number[], 
/**
 * Of the shocks whose pause ended by resuming.
 */
peri_shock_ms: number[], 
/**
 * Share of charging time with compressions running.
 */
charging_compression_fraction: number | null, 
/**
 * The first rhythm on the record.
 */
first_rhythm: Rhythm | null, 
/**
 * From recognition to the first compression.
 */
first_compression_ms: number | null, 
/**
 * From recognition to the first shock.
 */
first_shock_ms: number | null, 
/**
 * From recognition to the first epinephrine into a vein or bone.
 */
first_epinephrine_ms: number | null, 
/**
 * From recognition to the first access.
 */
first_access_ms: number | null, 
/**
 * From recognition to the first advanced airway.
 */
first_advanced_airway_ms: number | null, 
/**
 * Between successive doses of epinephrine.
 */
epinephrine_intervals_ms: number[], 
/**
 * From the end of one check to the start of the next.
 */
check_intervals_ms: number[], 
/**
 * How long each compressor worked.
 */
compressor_spells_ms: number[], 
/**
 * Share of rhythm checks with a finger on the pulse before compressions stopped.
 */
finger_ready_fraction: number | null, 
/**
 * From recognition to the first return of circulation.
 */
rosc_ms: number | null, 
/**
 * How often circulation returned.
 */
rosc_count: number, 
/**
 * What pauses for breaths, which nobody taps, would add.
 */
breath_pauses_estimate_ms: number, 
/**
 * How many gaps the record has.
 */
gaps: number, 
/**
 * Moments that each target counts in this code, and how many of them met it; targets that count none are left out.
 */
targets: { [key in TargetName]?: Share }, 
/**
 * How what was asked was followed, by the prompt's action; only actions that were asked.
 */
prompts: { [key in string]: Followed }, };

/**
 * The last look at the rhythm.
 */
export type LookView = { 
/**
 * When.
 */
at_ms: number, 
/**
 * Which rhythm.
 */
rhythm: Rhythm, 
/**
 * Which pulse.
 */
pulse: Pulse, };

/**
 * A moment that missed a target.
 */
export type Missed = { 
/**
 * Where it begins, in code time.
 */
at_ms: number, 
/**
 * Where it ends, if it lasts.
 */
until_ms?: number, 
/**
 * What was measured there.
 */
value_ms?: number, };

/**
 * A month and its codes.
 */
export type MonthCount = { 
/**
 * Such as `2026-11`, by the clock of UTC.
 */
month: string, 
/**
 * How many codes were opened in it.
 */
codes: number, 
/**
 * Whether they are few.
 */
few: boolean, };

/**
 * A sentence that stands beside the tasks.
 */
export type Note = { 
/**
 * What kind.
 */
kind: NoteKind, 
/**
 * The sentence, in plain words: what it rests on stands apart.
 */
text: string, 
/**
 * Where the protocol's value behind it is published, as the file says it; absent where it rests on none.
 */
source?: string, };

/**
 * What kind of thing a note says.
 */
export type NoteKind = "conflict" | "withheld" | "assumption" | "information";

/**
 * What was last recorded of the chest.
 */
export type Observed = { 
/**
 * Whether compressions run, as far as anybody recorded.
 */
compressing: boolean, 
/**
 * Since when; absent if nobody ever recorded a start.
 */
since_ms?: number, 
/**
 * By hand or by a device.
 */
by?: CompressedBy, };

/**
 * How the code ended.
 */
export type Outcome = "survived_event" | "died" | "transferred" | "not_an_arrest" | "treatment_limit" | "ecmo";

/**
 * A chart of shares.
 */
export type PChart = { 
/**
 * All hits of all.
 */
centre: number, 
/**
 * The points, in order.
 */
points: Array<SharePoint>, 
/**
 * Fewer points than limits need to settle.
 */
provisional: boolean, };

/**
 * Where the pads are.
 */
export type PadPosition = "anterolateral" | "anteroposterior" | "unknown";

/**
 * What is known of the patient. Every field may be absent, and a later report changes only what it names.
 */
export type Patient = { 
/**
 * Adult, child or infant.
 */
age_group?: AgeGroup, 
/**
 * Body weight in kilograms.
 */
weight_kg?: number, 
/**
 * Where the weight comes from.
 */
weight_basis?: WeightBasis, 
/**
 * Age in completed months.
 */
age_months?: number, 
/**
 * Weeks of gestation, in pregnancy.
 */
gestation_weeks?: number, 
/**
 * Core temperature in degrees Celsius.
 */
core_temp_c?: number, 
/**
 * Sex.
 */
sex?: Sex, };

/**
 * What is known of the patient, as far as it changes doses or tasks.
 */
export type PatientView = { 
/**
 * Body weight in kilograms.
 */
weight_kg?: number, 
/**
 * Where the weight comes from.
 */
weight_basis?: WeightBasis, 
/**
 * The weight does not fit the age: why, in words.
 */
weight_doubt?: string, 
/**
 * While there is no weight: the estimate from the age.
 */
estimate?: WeightEstimate, 
/**
 * Age in completed months.
 */
age_months?: number, 
/**
 * Weeks of gestation.
 */
gestation_weeks?: number, 
/**
 * The latest core temperature in degrees Celsius.
 */
core_temp_c?: number, };

/**
 * A gap in compressions within an arrest, after its first compression.
 */
export type Pause = { 
/**
 * When compressions stopped.
 */
start_ms: number, 
/**
 * When they went on, or the arrest ended.
 */
end_ms: number, 
/**
 * Why they stopped.
 */
reason: PauseReason, 
/**
 * What ended it.
 */
ended_by: EndedBy, };

/**
 * Why compressions stopped, or what a running pause is for now.
 */
export type PauseReason = "rhythm_check" | "pulse_check" | "shock" | "airway" | "access" | "compressor_change" | "breaths" | "moving" | "device" | "ultrasound" | "delivery" | "handover" | "rosc" | "other";

/**
 * The pause that runs, if one does.
 */
export type PauseView = { 
/**
 * When compressions stopped.
 */
since_ms: number, 
/**
 * What the pause is for now.
 */
reason: PauseReason, 
/**
 * When it is too long.
 */
limit_ms: number, };

/**
 * How often a figure occurs.
 */
export type Per = "code" | "moment";

/**
 * Where the code stands.
 */
export type Phase = "standby" | "arrest" | "rosc" | "closed";

/**
 * What was done before this team took over.
 */
export type PriorCare = { 
/**
 * Doses of epinephrine already given.
 */
epinephrine_doses?: number, 
/**
 * Code time of the last of them; negative before recognition, absent if nobody knows.
 */
last_epinephrine_at_ms?: number, 
/**
 * Shocks already given.
 */
shocks?: number, 
/**
 * Amiodarone already given, in milligrams.
 */
amiodarone_mg?: number, 
/**
 * Lidocaine already given, in milligrams.
 */
lidocaine_mg?: number, 
/**
 * The airway that is already in.
 */
airway?: AirwayKind, 
/**
 * The access that is already there.
 */
access?: AccessRoute, };

/**
 * One task for one or more roles.
 */
export type Prompt = { 
/**
 * `action@id of the anchoring record`: the same task keeps it as the plan is made anew.
 */
key: string, 
/**
 * What is asked.
 */
action: Action, 
/**
 * Who is asked.
 */
roles: Array<Role>, 
/**
 * Code time from which it shows.
 */
show_at_ms: number, 
/**
 * Code time at which it is to be done.
 */
due_at_ms: number, 
/**
 * Code time after which it is late; absent where lateness has no meaning.
 */
late_at_ms: number | null, 
/**
 * Particulars.
 */
detail: Detail, 
/**
 * Kinds of event that do it.
 */
done_by: Array<string>, 
/**
 * Whether it rests on something nobody recorded, or lies beyond a branch.
 */
assumed: boolean, 
/**
 * The reason, in a few words.
 */
why: string, 
/**
 * What one tap on the main button records, where one tap is enough.
 */
tap?: Event, };

/**
 * A prompt and the deed that answered it, as it was known then; corrections do not change it.
 */
export type PromptDeed = { 
/**
 * Its key: `action@id of the anchoring record`.
 */
key: string, 
/**
 * What was asked.
 */
action: string, 
/**
 * Of which roles; empty for codes from before this was kept.
 */
roles: Array<Role>, 
/**
 * When it showed first, in code time.
 */
shown_at_ms: number, 
/**
 * The devices that it showed on.
 */
devices: Array<string>, 
/**
 * When it was due.
 */
due_at_ms: number, 
/**
 * When it was late.
 */
late_at_ms: number, 
/**
 * What became of it; absent if it still stood at the end.
 */
end?: PromptEnd, 
/**
 * When that was: of a deed, its time on the record as it counts now.
 */
ended_at_ms: number, 
/**
 * When the tap that told of the deed came in, in code time; absent for codes from before this was kept.
 */
acknowledged_at_ms: number, 
/**
 * The device on which that was tapped.
 */
acknowledged_on?: string, 
/**
 * If it was done: from the moment it was due, or showed if that was later, until then; negative if it was done before.
 */
after_due_ms: number, };

/**
 * What became of a prompt.
 */
export type PromptEnd = "done" | "withdrawn";

/**
 * How prompts of one action were followed.
 */
export type PromptTrend = { 
/**
 * What was asked.
 */
action: string, 
/**
 * How often it was shown.
 */
shown: number, 
/**
 * Done before it was late, of all that were shown.
 */
in_time: ShareFigure | null, 
/**
 * Done at all, of all that were shown.
 */
done: ShareFigure | null, 
/**
 * From due to done, milliseconds, of all that were done.
 */
after_due: Quartiles | null, 
/**
 * How often it went without having been done.
 */
withdrawn: number, };

/**
 * Which protocol a code runs under.
 */
export type ProtocolRef = { 
/**
 * Such as `aha-adult`.
 */
id: string, 
/**
 * The department's version of it.
 */
version: number, 
/**
 * SHA-256 of the protocol's exact text, in hexadecimal: the server fills it in, so that the record vouches for the text.
 */
sha256?: string, };

/**
 * What the protocol of a code says of times.
 */
export type ProtocolRules = { 
/**
 * Such as `aha-adult`.
 */
id: string, 
/**
 * Its title.
 */
title: string, 
/**
 * Its version.
 */
version: number, 
/**
 * From check to check.
 */
cycle_ms: number, 
/**
 * The longest pause before the screens ask for compressions again.
 */
pause_limit_ms: number, 
/**
 * From one dose of epinephrine to the next: earliest.
 */
epinephrine_from_ms: number, 
/**
 * When it is due.
 */
epinephrine_due_ms: number, 
/**
 * Latest.
 */
epinephrine_until_ms: number, 
/**
 * What its own tasks are called, by what stands behind the colon of a prompt's key: `ecg_12_lead`, `trauma.call_surgeon`.
 */
tasks: { [key in string]: string }, };

/**
 * Which protocol the code runs under.
 */
export type ProtocolView = { 
/**
 * Such as `aha-adult`.
 */
id: string, 
/**
 * What the screen shows.
 */
title: string, 
/**
 * The department's version.
 */
version: number, 
/**
 * Whether the department has approved it; until then every screen says so.
 */
approved: boolean, };

/**
 * What the finger feels.
 */
export type Pulse = "present" | "absent" | "not_checked";

/**
 * Where the finger is.
 */
export type PulseSite = "carotid" | "femoral" | "brachial";

/**
 * Median and quartiles of some values, in their unit.
 *
 * By linear interpolation between the two neighbours of place (n - 1) p, counted from 0: type 7 of Hyndman and Fan (1996,
 * Am Stat 50:361; from memory), which numpy, pandas and R use unless told otherwise.
 */
export type Quartiles = { 
/**
 * How many values.
 */
n: number, 
/**
 * A quarter of the values lies below.
 */
lower: number, 
/**
 * Half of them.
 */
median: number, 
/**
 * Three quarters.
 */
upper: number, 
/**
 * Whether they are few.
 */
few: boolean, };

/**
 * A point of an individuals chart.
 */
export type RangePoint = { 
/**
 * Its value.
 */
value: number, 
/**
 * How far it is from the point before; absent for the first.
 */
range: number | null, 
/**
 * What speaks against mere chance.
 */
signals: Array<Signal>, 
/**
 * Whether the range lies beyond its limit.
 */
range_beyond_limit: boolean, };

/**
 * One line of a code's timeline.
 */
export type Record = { 
/**
 * Place in the code's chain, dense from 1; provisional until committed.
 */
seq: number, 
/**
 * Made by the sender, so that sending again is harmless.
 */
id: string, 
/**
 * The code it belongs to.
 */
code: string, 
/**
 * Code time of the fact: milliseconds since the arrest was recognised.
 */
at_ms: number, 
/**
 * Code time at which the server took it; absent in a file, `at_ms` stands for it.
 */
received_ms?: number, 
/**
 * Wall clock, RFC 3339, for people; nothing is computed from it.
 */
recorded_at: string, 
/**
 * Who made it.
 */
by: Author, 
/**
 * How it came to be.
 */
source: Source, 
/**
 * What happened.
 */
event: Event, };

/**
 * A record with what became of it.
 */
export type RecordShown = { 
/**
 * As it was recorded: never changed.
 */
record: Record, 
/**
 * Whether it counts: not voided; for a fact also not after the closing.
 */
counts: boolean, 
/**
 * Corrections that name it, in order of the chain, whether they stand or not.
 */
corrected_by: Array<string>, 
/**
 * The time that counts, where an amendment changed it; of what a choice set aside, the time that would count without it.
 */
now_at_ms: number, 
/**
 * The content that counts, where an amendment changed it; of what a choice set aside, what would count without it.
 */
now_event?: Event, 
/**
 * What a choice of source did to it; absent if none touched it.
 */
by_choice?: ByChoice, };

/**
 * Why something was refused. A refusal is final for its id.
 */
export type RefusalReason = "malformed" | "unknown_event" | "unknown_message" | "too_large" | "future" | "closed" | "id_reused" | "unknown_code" | "not_in_code" | "fault";

/**
 * What a reviewer did with a record as a whole, tagged by `what`.
 */
export type ReviewDeed = { "what": "debriefed", 
/**
 * What went well.
 */
went_well: string, 
/**
 * What to change.
 */
to_change: string, 
/**
 * Who follows up.
 */
follow_ups: Array<FollowUp>, } | { "what": "signed", 
/**
 * Which version, from 1.
 */
version: number, 
/**
 * Hash of the chain that was signed, hexadecimal.
 */
head: string, } | { "what": "version_opened", 
/**
 * Which version, from 2.
 */
version: number, 
/**
 * Why.
 */
reason: string, } | { "what": "added", 
/**
 * The record that was added.
 */
target: string, 
/**
 * Why.
 */
reason: string, } | { "what": "monitor_imported", 
/**
 * The file's name, or what the reviewer calls it.
 */
name: string, 
/**
 * Why.
 */
reason: string, 
/**
 * What was added to the file's times.
 */
offset_ms: number, 
/**
 * In order of time, not touching each other.
 */
stretches: Array<CompressionStretch>, } | { "what": "source_chosen", 
/**
 * The record of the monitor's import; absent where the taps were chosen. Voided, with all that it brought, where the taps
 * count again.
 */
import?: string, 
/**
 * From this code time on.
 */
from_ms: number, 
/**
 * Up to this one.
 */
to_ms: number, 
/**
 * Why.
 */
reason: string, 
/**
 * The monitor's starts and stops, and the voids of what was tapped: the records that were made with it.
 */
records: Array<string>, 
/**
 * The choice that somebody made, where this one makes it anew: another was made beside it, or what was tapped beneath it
 * was corrected. Whatever was made for that one and counts still belongs to it.
 */
renews?: string, };

/**
 * Answer of `GET /api/review/codes/{id}`, and of every change of it.
 */
export type ReviewedCode = { 
/**
 * Its line in the list, as of the version shown.
 */
line: CodeLine, 
/**
 * Hash of the chain as shown: what a change has to name.
 */
head: string, 
/**
 * Whether changes are taken: the code is over, the version shown is the latest one, it is not signed, and its chain holds.
 */
open_for_changes: boolean, 
/**
 * Where the hash chain is broken, in words; absent where it holds.
 */
broken?: string, 
/**
 * What was added to every wall-clock time, in milliseconds: the alignment that stands.
 */
wall_offset_ms: number, 
/**
 * Wall clock of code time 0, aligned (RFC 3339); absent if the clock never started.
 */
zero_at?: string, 
/**
 * Every record, in order of the chain, with what became of it.
 */
records: Array<RecordShown>, 
/**
 * The figures, by the engine, from these records.
 */
figures: Figures, 
/**
 * When compressions ran, arrest by arrest: what the figures were made from (`measure::course`).
 */
course: Array<ArrestCourse>, 
/**
 * The published targets beside them, with the moments that missed them.
 */
targets: Array<Target>, 
/**
 * The figures as the table of `coxswain measure` has them.
 */
table: Array<TableLine>, 
/**
 * What the protocol says of times, for whoever draws the code.
 */
rules: ProtocolRules, 
/**
 * What was asked, of whom, and what became of it, in order of time.
 */
prompts: Array<PromptDeed>, 
/**
 * Devices and accounts by id, with their names.
 */
names: { [key in string]: string }, 
/**
 * The debrief that stands.
 */
debrief?: DebriefShown, 
/**
 * Every version, the first one first.
 */
versions: Array<Version>, 
/**
 * What was read from monitors, with which source counts where.
 */
imports: Array<ImportShown>, };

/**
 * What the monitor shows.
 */
export type Rhythm = "vf" | "pulseless_vt" | "pea" | "asystole" | "bradycardia" | "perfusing" | "unknown";

/**
 * What a device, and the person behind it, does in the team.
 */
export type Role = "leader" | "compressor" | "relief" | "airway" | "drugs" | "defibrillator" | "recorder";

/**
 * A device in a code, as the leader sees it.
 */
export type RosterEntry = { 
/**
 * Its id.
 */
device: string, 
/**
 * Its name.
 */
name: string, 
/**
 * Its roles now.
 */
roles: Array<Role>, 
/**
 * Whether its link is up.
 */
connected: boolean, 
/**
 * Its battery as it last said; absent where its browser does not tell.
 */
battery?: Battery, };

/**
 * How a drug went in.
 */
export type Route = "iv" | "io" | "im" | "tracheal" | "intranasal" | "other";

/**
 * Compressions so far, so that a tablet can go on computing the fraction by itself.
 */
export type Running = { 
/**
 * Milliseconds compressed within arrests up to `at_ms`.
 */
compressed_ms: number, 
/**
 * Milliseconds in arrest up to `at_ms`.
 */
arrest_ms: number, };

/**
 * What the server sends.
 */
export type ServerMessage = { "type": "welcome", 
/**
 * Who you are.
 */
device: DeviceInfo, 
/**
 * Server time now.
 */
server_ms: number, 
/**
 * The codes that run.
 */
codes: Array<CodeSummary>, 
/**
 * Server milliseconds that pass in a real one; absent means 1. Only a demonstration runs faster.
 */
clock_rate?: number, } | { "type": "pong", 
/**
 * As the client sent it.
 */
sent_ms: number, 
/**
 * Server time on arrival.
 */
received_ms: number, 
/**
 * Server time on leaving.
 */
replied_ms: number, } | { "type": "recorded", 
/**
 * The client's id.
 */
id: string, 
/**
 * Which code.
 */
code: string, 
/**
 * Its final place.
 */
seq: number, 
/**
 * The code time it was given.
 */
at_ms: number, } | { "type": "refused", 
/**
 * The client's id; null where the message had none that could be read.
 */
id: string | null, 
/**
 * The named reason.
 */
reason: RefusalReason, 
/**
 * The reason in a plain sentence.
 */
message: string, } | { "type": "view" } & ViewMessage | { "type": "codes", 
/**
 * All of them.
 */
codes: Array<CodeSummary>, } | { "type": "roster", 
/**
 * Which code.
 */
code: string, 
/**
 * The devices.
 */
devices: Array<RosterEntry>, } | { "type": "timeline", 
/**
 * Which code.
 */
code: string, 
/**
 * Whether these replace what was sent before.
 */
reset: boolean, 
/**
 * In order of seq.
 */
records: Array<Record>, };

/**
 * Answer of `GET` and `POST /api/review/session`.
 */
export type SessionState = { 
/**
 * Who is signed in.
 */
account: Account, 
/**
 * Wall clock at which the session ends in any case (RFC 3339).
 */
ends_at: string, 
/**
 * It ends this long after the last request, in seconds.
 */
idle_s: number, };

/**
 * The patient's sex, as the Utstein template asks for it (clinical sources, U5).
 */
export type Sex = "female" | "male" | "unknown";

/**
 * So many of so many.
 */
export type Share = { 
/**
 * All that count.
 */
of: number, 
/**
 * Those that met it.
 */
held: number, };

/**
 * A share with its interval.
 */
export type ShareFigure = { 
/**
 * How many met it.
 */
hits: number, 
/**
 * Of how many.
 */
of: number, 
/**
 * The share, between 0 and 1.
 */
fraction: number, 
/**
 * Wilson's interval, 95 %.
 */
interval: Interval, 
/**
 * Whether they are few.
 */
few: boolean, };

/**
 * A point of a p-chart.
 */
export type SharePoint = { 
/**
 * How many hits.
 */
hits: number, 
/**
 * Of how many.
 */
of: number, 
/**
 * The share, between 0 and 1.
 */
fraction: number, 
/**
 * Wilson's interval of this share alone, 95 %.
 */
interval: Interval, 
/**
 * Control limits for so many.
 */
limits: Limits, 
/**
 * What speaks against mere chance.
 */
signals: Array<Signal>, 
/**
 * Whether they are few.
 */
few: boolean, };

/**
 * A p-chart over months.
 */
export type SharesChart = { 
/**
 * The month of each point.
 */
months: Array<string>, 
/**
 * The chart.
 */
chart: PChart, };

/**
 * A shock with the pause around it.
 */
export type ShockFigures = { 
/**
 * When it was given.
 */
at_ms: number, 
/**
 * Its energy.
 */
energy_j: number, 
/**
 * From the last compression to the shock.
 */
pre_shock_ms: number | null, 
/**
 * From the shock to the next compression.
 */
post_shock_ms: number | null, 
/**
 * Both together.
 */
peri_shock_ms: number | null, };

/**
 * Body of `POST /api/review/session`.
 */
export type SignIn = { 
/**
 * The account's name.
 */
name: string, 
/**
 * Its password.
 */
password: string, };

/**
 * Why a point speaks against mere chance.
 */
export type Signal = "beyond_limit" | "run";

/**
 * Body of `POST /api/review/codes/{id}/signature`: closes the version that is shown.
 */
export type SignatureRequest = { 
/**
 * The head that the reviewer saw, and signs.
 */
head: string, };

/**
 * Who signed what, and when.
 */
export type SignatureShown = { 
/**
 * Who.
 */
by: string, 
/**
 * Wall clock.
 */
at: string, 
/**
 * Hash of the chain that was signed.
 */
head: string, 
/**
 * How many records that chain has.
 */
records: number, };

/**
 * How a record came to be.
 */
export type Source = "live" | "late" | "review";

/**
 * A shock's place in a quick stack.
 */
export type StackPlace = { 
/**
 * From 1.
 */
number: number, 
/**
 * The most a stack has.
 */
of: number, };

/**
 * How a record stands.
 */
export type Standing = "running" | "unsigned" | "signed" | "reopened";

/**
 * Compressions as a monitor has them.
 */
export type StretchShown = { 
/**
 * Code time of the first compression.
 */
start_ms: number, 
/**
 * Code time at which they stopped.
 */
stop_ms: number, 
/**
 * Whose times count here.
 */
counts: Counting, };

/**
 * One line of the table of figures.
 */
export type TableLine = { 
/**
 * What is measured.
 */
name: string, 
/**
 * The value, or a dash.
 */
value: string, 
/**
 * The published target with its source; empty where none applies.
 */
target: string, };

/**
 * A target beside a code.
 */
export type Target = { 
/**
 * Which.
 */
name: TargetName, 
/**
 * What it asks.
 */
bound: Bound, 
/**
 * Where it is published.
 */
source: string, 
/**
 * How many moments of this code it counts; 0 where it does not apply, or the record says nothing.
 */
of: number, 
/**
 * How many of them met it. Of a target that nothing is judged by, all.
 */
held: number, 
/**
 * Those that missed it, in order of time. For a fraction: the time without compressions that took most of it.
 */
missed: Array<Missed>, };

/**
 * A target of care after return of circulation, and the latest reading against it.
 */
export type TargetLine = { 
/**
 * The word on the record.
 */
id: string, 
/**
 * What is looked after, in the protocol's words.
 */
title: string, 
/**
 * The target in words.
 */
target: string, 
/**
 * The latest reading since circulation returned, in words with its unit.
 */
reading?: string, 
/**
 * When it was read, or the item was ticked.
 */
at_ms?: number, 
/**
 * Whether the reading lies within the target; absent where there is no reading or no numbers to hold it against.
 */
within?: boolean, };

/**
 * What a target is about.
 */
export type TargetName = "compression_fraction" | "compression_fraction_goal" | "pauses" | "pre_shock_pauses" | "peri_shock_pauses" | "first_shock" | "first_epinephrine" | "epinephrine_intervals" | "check_intervals" | "compressor_spells" | "charging_compressions" | "finger_ready";

/**
 * A published target over the months.
 */
export type TargetTrend = { 
/**
 * Which.
 */
name: TargetName, 
/**
 * What it asks.
 */
bound: Bound, 
/**
 * Where it is published.
 */
source: string, 
/**
 * Whether it counts one moment a code or several; of several the interval and the limits are narrower than they should be.
 */
per: Per, 
/**
 * Of all codes; null if it applies to none.
 */
overall: ShareFigure | null, 
/**
 * p-chart of the months in which it applies.
 */
chart: SharesChart | null, };

/**
 * A role's next task, for the leader.
 */
export type TeamLine = { 
/**
 * Whose.
 */
role: Role, 
/**
 * Whether any device holds the role.
 */
held: boolean, 
/**
 * What is next; absent if nothing is planned.
 */
action?: Action, 
/**
 * The drug, where it is about one.
 */
drug?: string, 
/**
 * The task in the protocol's words, where the action alone does not name it: `aftercare`, `special_care`.
 */
item?: string, 
/**
 * When it is due.
 */
due_at_ms?: number, 
/**
 * When it is late.
 */
late_at_ms?: number, };

/**
 * Where a temperature was taken.
 */
export type TemperatureSite = "core" | "other";

/**
 * One side: which codes, and how they went.
 */
export type TrendSide = { 
/**
 * What was asked for.
 */
filter: CodeFilter, 
/**
 * The trends.
 */
trends: Trends, };

/**
 * Trends of one side: some codes, all of them drills or all of them real.
 */
export type Trends = { 
/**
 * Whether these are drills.
 */
training: boolean, 
/**
 * How many codes.
 */
codes: number, 
/**
 * How many the filter let through that do not count here: still running, no arrest, or drills
 * among real ones and the reverse.
 */
left_out: number, 
/**
 * Every month from the first code to the last, also those without any.
 */
months: Array<MonthCount>, 
/**
 * Figures that are values.
 */
values: Array<ValueTrend>, 
/**
 * Published targets, and how many moments met them.
 */
targets: Array<TargetTrend>, 
/**
 * How what was asked was followed.
 */
prompts: Array<PromptTrend>, };

/**
 * Answer of `GET /api/review/trends`: one side, or two side by side.
 */
export type TrendsAnswer = { 
/**
 * The sides, in the order in which they were asked for.
 */
sides: Array<TrendSide>, 
/**
 * What is made of fewer says that it is few.
 */
few_below: number, 
/**
 * A chart of fewer points is provisional.
 */
settled_points: number, 
/**
 * Codes whose line is still being made, after an upgrade: they are missing here, or counted as they were.
 */
unfinished: number, };

/**
 * What a value is measured in.
 */
export type Unit = "fraction" | "ms" | "count";

/**
 * A figure that has a value.
 */
export type ValueName = "compression_fraction" | "compression_fraction_from_first" | "pauses_ms" | "pauses_over_10_s" | "longest_pause_ms" | "pre_shock_ms" | "post_shock_ms" | "peri_shock_ms" | "first_shock_ms" | "first_epinephrine_ms" | "first_compression_ms" | "first_access_ms" | "first_advanced_airway_ms" | "epinephrine_intervals_ms" | "check_intervals_ms" | "compressor_spells_ms" | "charging_compression_fraction" | "finger_ready_fraction" | "rosc_ms";

/**
 * A figure over the months.
 */
export type ValueTrend = { 
/**
 * Which.
 */
name: ValueName, 
/**
 * In what.
 */
unit: Unit, 
/**
 * How often.
 */
per: Per, 
/**
 * Of all codes; null if none has it.
 */
overall: Quartiles | null, 
/**
 * Codes that it applies to and whose record has no value for it.
 */
without: number, 
/**
 * Of each month, in the order of `months`; null where no code has it.
 */
by_month: Array<Quartiles | null>, 
/**
 * Individuals chart of the months' medians; null with fewer than two months.
 */
chart: ValuesChart | null, };

/**
 * An individuals chart over months.
 */
export type ValuesChart = { 
/**
 * The month of each point.
 */
months: Array<string>, 
/**
 * The chart.
 */
chart: IndividualsChart, };

/**
 * One version of a record.
 */
export type Version = { 
/**
 * From 1.
 */
version: number, 
/**
 * Why it was opened; absent for the first.
 */
reason?: string, 
/**
 * Its signature; absent while it is open.
 */
signature?: SignatureShown, };

/**
 * A view as it goes over the wire.
 */
export type ViewMessage = { 
/**
 * Which code.
 */
code: string, 
/**
 * Raised durably at every start of the server.
 */
run: number, 
/**
 * Raised at every change within a run. Views are ordered by (run, rev).
 */
rev: number, 
/**
 * The last record that is on disk.
 */
durable_seq: number, 
/**
 * The last record taken, on disk or not.
 */
last_seq: number, 
/**
 * Hash of the chain at `durable_seq`, hexadecimal.
 */
head: string, 
/**
 * Server time of code time 0; null on standby.
 */
epoch_ms: number | null, 
/**
 * The roles this view is for.
 */
roles: Array<Role>, 
/**
 * Roles that nobody holds; their prompts fall to the leader, else to every device.
 */
unheld: Array<Role>, 
/**
 * Set while the disk does not take records: what is not saved, in words.
 */
not_saving?: string, 
/**
 * The moment it was made for, in code time.
 */
at_ms: number, 
/**
 * Where the code stands.
 */
phase: Phase, 
/**
 * A drill, not a patient.
 */
training: boolean, 
/**
 * Where the patient is, as opened or as moved since; at most 80 characters of it.
 */
location?: string, 
/**
 * Adult, child or infant.
 */
age_group: AgeGroup, 
/**
 * The hands line.
 */
hands: Hands, 
/**
 * The tasks of these roles, soonest first: those that show now and those of the next minutes.
 */
prompts: Array<Prompt>, 
/**
 * The other roles' next tasks; for the leader only.
 */
team?: Array<TeamLine>, 
/**
 * The next check at the rhythm, if one is planned.
 */
next_check_ms?: number, 
/**
 * The pause that runs.
 */
pause?: PauseView, 
/**
 * The last look at the rhythm.
 */
look?: LookView, 
/**
 * A charge on the defibrillator.
 */
charge?: ChargeView, 
/**
 * Counts.
 */
counts: Counts, 
/**
 * The drugs' standing lines.
 */
drugs: Array<DrugLine>, 
/**
 * The compression fraction's two parts.
 */
running: Running, 
/**
 * Since when the present compressor compresses.
 */
compressor_since_ms?: number, 
/**
 * The role with the finger on the pulse.
 */
pulse_duty: Role, 
/**
 * Beats of compression per minute; absent while a device compresses: nobody needs a beat then.
 */
compressions_per_minute?: number, 
/**
 * The rhythm of breaths in an arrest, for the cue that a device may sound; absent where none can be counted.
 */
breath_rhythm?: BreathRhythm, 
/**
 * The patient.
 */
patient: PatientView, 
/**
 * Special circumstances that are set.
 */
circumstances?: Array<Circumstance>, 
/**
 * Sentences for these roles, the gravest first.
 */
notes?: Array<Note>, 
/**
 * After return of circulation: the protocol's targets, for the leader and the recorder.
 */
aftercare?: Array<TargetLine>, 
/**
 * The protocol.
 */
protocol: ProtocolView, };

/**
 * Where a weight comes from.
 */
export type WeightBasis = "measured" | "length" | "age" | "told";

/**
 * A weight estimated from the age.
 */
export type WeightEstimate = { 
/**
 * Kilograms.
 */
weight_kg: number, 
/**
 * The formula with its name, such as `APLS: 2 x years + 8`.
 */
formula: string, };
