// Generated from server/src/wire.rs and the engine's types by `COXSWAIN_WRITE_TYPES=1 cargo test -p coxswain --lib types`.
// Do not edit: a test fails when it is stale.

/**
 * A line into a vein or into the bone.
 */
export type AccessRoute = "iv" | "io";

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
 * What moves the chest.
 */
export type CompressedBy = "manual" | "mechanical";

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
double: boolean, } | { "kind": "shock_aborted", reason?: string, } | { "kind": "drug_prepared", drug: string, dose?: Dose, } | { "kind": "drug_given", drug: string, dose?: Dose, route: Route, form: DrugForm, } | { "kind": "access_gained", route: AccessRoute, site?: string, } | { "kind": "access_failed", route: AccessRoute, site?: string, } | { "kind": "access_lost", route: AccessRoute, site?: string, } | { "kind": "airway_placed", airway: AirwayKind, confirmed_by_capnography?: boolean, } | { "kind": "airway_attempted", airway: AirwayKind, } | { "kind": "airway_removed", airway: AirwayKind, } | { "kind": "breaths_given", count: number, } | { "kind": "etco2_read", mmhg: number, } | { "kind": "vital_read", spo2_pct?: number, systolic_mmhg?: number, diastolic_mmhg?: number, temp_c?: number, temp_site?: TemperatureSite, glucose_mmol_l?: number, } | { "kind": "lab_read", potassium_mmol_l?: number, lactate_mmol_l?: number, ph?: number, paco2_mmhg?: number, } | { "kind": "cause_considered", cause: string, note?: string, } | { "kind": "cause_treated", cause: string, note?: string, } | { "kind": "task_done", prompt: string, } | { "kind": "team_called", note?: string, } | { "kind": "team_arrived", note?: string, } | { "kind": "ultrasound_done", note?: string, } | { "kind": "delivery", note?: string, } | { "kind": "ecmo_started", note?: string, } | { "kind": "thoracotomy", note?: string, } | { "kind": "death_declared", note?: string, } | { "kind": "moved", location: string, } | { "kind": "rosc", } | { "kind": "arrest_again", } | { "kind": "note", text: string, } | { "kind": "code_closed", outcome: Outcome, cpr_ongoing?: boolean, } | { "kind": "amended", target: string, at_ms?: number, event?: Event, reason: string, } | { "kind": "voided", target: string, reason: string, } | { "kind": "clock_corrected", from_ms: number, to_ms: number, basis: string, };

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
 * Why something was refused. A refusal is final for its id.
 */
export type RefusalReason = "malformed" | "unknown_event" | "unknown_message" | "too_large" | "future" | "closed" | "id_reused" | "unknown_code" | "not_in_code" | "fault";

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
 * The patient's sex, as the Utstein template asks for it (clinical sources, U5).
 */
export type Sex = "female" | "male" | "unknown";

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
