//! How a trained hand does each task: at which moment, and what it then taps. A task's tap is the screen's own where the
//! prompt carries one. This module must not know when a task comes.

use coxswain_engine::event::{CompressedBy, Event, PadPosition, PauseReason, Pulse, PulseSite, Route};
use coxswain_engine::prompt::{Action, Prompt};
use coxswain_engine::view::HandsOrder;

use super::scenario::Scenario;
use super::timing::Response;
use crate::wire::ViewMessage;

/// How long after a failed try for access the next one begins.
pub(super) const NEXT_TRY_MS: i64 = 20_000;

/// Seconds of a scenario as milliseconds.
pub(super) fn ms(seconds: f64) -> i64 {
    (seconds * 1_000.0).round() as i64
}

/// Whether the task is one that hands do and a tap records. The others are kept in mind.
pub(super) const fn can_be_done(action: Action) -> bool {
    !matches!(action, Action::Ventilate | Action::PossibleRosc)
}

/// When the task is done if the screen stays as it is; none while something else must come first.
pub(super) fn moment(
    prompt: &Prompt,
    since_ms: i64,
    response: Response,
    view: &ViewMessage,
    scenario: &Scenario,
) -> Option<i64> {
    let hands = &view.view.hands;
    if prompt.action.touches_patient() && hands.now == HandsOrder::Clear {
        return None;
    }
    // Whoever only waits for the moment needs a quarter of the time that thinking takes.
    let at_once_ms = since_ms + response.reaction_ms + response.delay_ms;
    let on_time_ms = prompt.due_at_ms.max(since_ms) + response.reaction_ms / 4 + response.delay_ms;
    let at_ms = match prompt.action {
        Action::PauseForCheck | Action::ReadEtco2 => on_time_ms,
        // A value outside its target was acted on; it is read again when it is due, not at once.
        Action::Aftercare if prompt.detail.doubt.is_some() => on_time_ms,
        Action::ResumeCompressions => {
            if hands.now != HandsOrder::Compress || hands.observed.compressing {
                return None;
            }
            hands.since_ms.max(since_ms) + response.reaction_ms / 2 + response.delay_ms
        }
        Action::StartCompressions if hands.now != HandsOrder::Compress => return None,
        // Relief stands ready; the change-over itself is tapped in the pause.
        Action::ReadyRelief => {
            view.view.pause.as_ref()?.since_ms.max(since_ms) + response.reaction_ms + response.delay_ms
        }
        Action::CallAllClear => {
            let ready_ms = view.view.charge.as_ref()?.ready_at_ms;
            ready_ms.max(since_ms) + response.reaction_ms / 2 + response.delay_ms
        }
        Action::AttachPads => at_once_ms.max(ms(scenario.work.pads_s)),
        Action::GainAccess => at_once_ms.max(ms(scenario.work.access_s)),
        Action::GiveDrug => {
            let no_access = view
                .view
                .prompts
                .iter()
                .any(|other| other.action == Action::GainAccess && other.show_at_ms <= view.view.at_ms);
            if no_access {
                return None;
            }
            let ready_ms = if prompt.detail.prepared == Some(true) { on_time_ms } else { on_time_ms.max(at_once_ms) };
            ready_ms.max(prompt.detail.too_early_until_ms.unwrap_or(i64::MIN))
        }
        _ => at_once_ms,
    };
    Some(at_ms)
}

/// What is tapped for a task that needs nothing but the screen and the scenario.
pub(super) fn event(prompt: &Prompt, view: &ViewMessage, scenario: &Scenario, now_ms: i64) -> Option<Event> {
    let own = match prompt.action {
        // A tap for the change-over must not be taken for a tap that only says "ready".
        Action::ReadyRelief => return Some(Event::CompressorChanged { person: None }),
        // The scenario's weight is right: a doubt is answered, not met with the same weight again.
        Action::EnterWeight if prompt.detail.doubt.is_some() => Event::TaskDone { prompt: prompt.key.clone() },
        Action::EnterWeight => {
            let patient = coxswain_engine::event::Patient {
                weight_kg: Some(scenario.patient.weight_kg?),
                weight_basis: Some(coxswain_engine::event::WeightBasis::Told),
                ..coxswain_engine::event::Patient::default()
            };
            return Some(Event::PatientUpdated { patient });
        }
        Action::ConfirmRosc => {
            let present = view.view.look.as_ref().is_some_and(|look| look.pulse == Pulse::Present);
            return present.then_some(Event::Rosc {});
        }
        Action::ReviewCauses => Event::CauseConsidered {
            cause: if now_ms < 300_000 { "hypoxia" } else { "hypovolaemia" }.to_owned(),
            note: None,
        },
        Action::StartCompressions | Action::ResumeCompressions => {
            Event::CompressionsStarted { by: CompressedBy::Manual }
        }
        Action::PauseForCheck => Event::CompressionsStopped { reason: PauseReason::RhythmCheck },
        Action::FingerOnPulse => Event::PulseFingerPlaced { site: Some(PulseSite::Carotid) },
        Action::AttachPads => Event::PadsAttached { position: PadPosition::Anterolateral },
        Action::ChargeAhead | Action::Charge => Event::ChargingStarted { energy_j: prompt.detail.energy_j },
        Action::CallAllClear => Event::AllClearCalled {},
        Action::GiveShock | Action::ConfirmShock => Event::ShockDelivered {
            energy_j: prompt.detail.energy_j.or(view.view.charge.as_ref().and_then(|charge| charge.energy_j))?,
            stack_id: None,
            double: false,
        },
        Action::DumpCharge => Event::ChargeDumped { energy_j: None },
        Action::DrawUp => Event::DrugPrepared { drug: prompt.detail.drug.clone()?, dose: prompt.detail.dose.clone() },
        Action::GiveDrug => Event::DrugGiven {
            drug: prompt.detail.drug.clone()?,
            dose: prompt.detail.dose.clone(),
            route: match scenario.work.access_route {
                coxswain_engine::event::AccessRoute::Iv => Route::Iv,
                coxswain_engine::event::AccessRoute::Io => Route::Io,
            },
            form: coxswain_engine::event::DrugForm::Bolus,
        },
        Action::Aftercare => return Some(aftercare(prompt, scenario)),
        // What only a person can decide stays open.
        Action::ChangeProtocol
        | Action::ConsiderCircumstance
        | Action::ConfirmFlow
        | Action::ReviewLimits
        | Action::CloseCode => return None,
        Action::Announce
        | Action::ReadRhythm
        | Action::PossibleRosc
        | Action::GainAccess
        | Action::Ventilate
        | Action::ReadEtco2
        | Action::InitialBreaths
        | Action::ChangePads
        | Action::SpecialCare
        | Action::ConfirmSecondDose
        | Action::ConfirmRoles => Event::TaskDone { prompt: prompt.key.clone() },
    };
    // The drug's route is the scenario's; all else is what the screen's own button records.
    let tap = prompt.tap.clone().filter(|_| prompt.action != Action::GiveDrug && prompt.action != Action::ReviewCauses);
    Some(tap.unwrap_or(own))
}

/// A target of aftercare: its reading if the screen names one, else that it is done.
fn aftercare(prompt: &Prompt, scenario: &Scenario) -> Event {
    let after = &scenario.patient.after;
    let mut reading = VitalReading::default();
    // The key names the protocol's target; the screen's words for it may be in any language.
    let target = prompt.key.split(['@', ':']).find(|part| TARGETS.contains(part));
    match target.unwrap_or_default() {
        "oxygen" => reading.spo2_pct = Some(after.spo2_pct),
        "blood_pressure" => {
            reading.systolic_mmhg = Some(after.systolic_mmhg);
            reading.diastolic_mmhg = Some(after.diastolic_mmhg);
        }
        "temperature" => reading.temp_c = Some(after.temp_c),
        "glucose" => reading.glucose_mmol_l = Some(after.glucose_mmol_l),
        _ => return Event::TaskDone { prompt: prompt.key.clone() },
    }
    Event::VitalRead {
        spo2_pct: reading.spo2_pct,
        systolic_mmhg: reading.systolic_mmhg,
        diastolic_mmhg: reading.diastolic_mmhg,
        temp_c: reading.temp_c,
        temp_site: None,
        glucose_mmol_l: reading.glucose_mmol_l,
    }
}

/// Targets of aftercare that are met by a reading.
const TARGETS: &[&str] = &["oxygen", "blood_pressure", "temperature", "glucose"];

/// The fields of one reading.
#[derive(Default)]
struct VitalReading {
    spo2_pct: Option<f64>,
    systolic_mmhg: Option<f64>,
    diastolic_mmhg: Option<f64>,
    temp_c: Option<f64>,
    glucose_mmol_l: Option<f64>,
}
