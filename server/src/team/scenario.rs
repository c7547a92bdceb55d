//! A scenario: what the patient's monitor shows at each look, how fast each role obeys, and who forgets what. Read from
//! TOML and checked. It holds no clinical rule; what to do next is the server's to say.

use std::fmt;

use coxswain_engine::event::{AccessRoute, AgeGroup, AirwayKind, Outcome, Pulse, Rhythm, Role};
use coxswain_engine::prompt::Action;
use serde::Deserialize;

/// A scenario that cannot be played, and why, in words for the person who wrote it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScenarioError(String);

impl fmt::Display for ScenarioError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for ScenarioError {}

/// One simulated code.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    /// What it is, in a line.
    pub title: String,
    /// Id of the protocol.
    pub protocol: String,
    /// Where.
    pub location: String,
    /// Start of the jitter: the same seed gives the same reaction times.
    #[serde(default)]
    pub seed: u64,
    /// The patient.
    pub patient: Patient,
    /// How long each role takes, in seconds of code time.
    #[serde(default)]
    pub reaction_s: ReactionSeconds,
    /// What is done without being asked, and when.
    #[serde(default)]
    pub work: Work,
    /// Who forgets, doubles or is slow.
    #[serde(default)]
    pub slips: Vec<Slip>,
}

/// Whom the team treats.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Patient {
    /// Adult, child or infant.
    #[serde(default = "adult")]
    pub age_group: AgeGroup,
    /// Body weight, if anybody knows it.
    pub weight_kg: Option<f64>,
    /// What monitor and finger tell, look by look; the last one stays.
    pub looks: Vec<Look>,
    /// What capnography reads, reading by reading; the last one stays.
    #[serde(default)]
    pub etco2_mmhg: Vec<f64>,
    /// What is measured once circulation is back.
    #[serde(default)]
    pub after: AfterReadings,
}

/// Readings after return of circulation.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct AfterReadings {
    pub spo2_pct: f64,
    pub systolic_mmhg: f64,
    pub diastolic_mmhg: f64,
    pub temp_c: f64,
    pub glucose_mmol_l: f64,
}

impl Default for AfterReadings {
    fn default() -> Self {
        Self { spo2_pct: 96.0, systolic_mmhg: 104.0, diastolic_mmhg: 62.0, temp_c: 36.1, glucose_mmol_l: 9.4 }
    }
}

/// One look at the rhythm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Look {
    /// What the monitor shows.
    pub rhythm: Rhythm,
    /// What the finger feels.
    #[serde(default = "not_checked")]
    pub pulse: Pulse,
}

/// Reaction times by role. Pressing needs less than thinking: what waits for its moment takes a quarter of it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ReactionSeconds {
    pub leader: f64,
    pub compressor: f64,
    pub relief: f64,
    pub airway: f64,
    pub drugs: f64,
    pub defibrillator: f64,
    pub recorder: f64,
    /// Each time is stretched or shortened by up to this part of it.
    pub jitter: f64,
}

impl Default for ReactionSeconds {
    fn default() -> Self {
        Self {
            leader: 3.0,
            compressor: 1.5,
            relief: 2.0,
            airway: 4.0,
            drugs: 5.0,
            defibrillator: 2.0,
            recorder: 4.0,
            jitter: 0.25,
        }
    }
}

impl ReactionSeconds {
    /// The role's reaction time in milliseconds, before jitter.
    pub fn ms(&self, role: Role) -> f64 {
        1_000.0
            * match role {
                Role::Leader => self.leader,
                Role::Compressor => self.compressor,
                Role::Relief => self.relief,
                Role::Airway => self.airway,
                Role::Drugs => self.drugs,
                Role::Defibrillator => self.defibrillator,
                Role::Recorder => self.recorder,
            }
    }
}

/// What the team does on its own account, in seconds of code time.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Work {
    /// How long before the first tap the arrest was recognised.
    pub recognised_ago_s: f64,
    /// When the pads can be on at the earliest.
    pub pads_s: f64,
    /// When access can be there at the earliest.
    pub access_s: f64,
    /// The route it is gained by.
    pub access_route: AccessRoute,
    /// How often it fails first, 20 s before each further try.
    pub access_failures: u32,
    /// The advanced airway that is placed.
    pub airway: Option<AirwayKind>,
    /// When it is placed.
    pub airway_s: f64,
    /// How long the defibrillator charges.
    pub charge_s: f64,
    /// How long after return of circulation the code is closed.
    pub close_after_rosc_s: f64,
    /// When the arrest comes back, counted from the first return of circulation.
    pub arrest_again_after_rosc_s: Option<f64>,
    /// When the team stops, if circulation has not returned.
    pub stop_s: f64,
    /// How the code ends when the team stops.
    pub outcome_without_rosc: Outcome,
}

impl Default for Work {
    fn default() -> Self {
        Self {
            recognised_ago_s: 0.0,
            pads_s: 30.0,
            access_s: 80.0,
            access_route: AccessRoute::Iv,
            access_failures: 0,
            airway: None,
            airway_s: 240.0,
            charge_s: 6.0,
            close_after_rosc_s: 90.0,
            arrest_again_after_rosc_s: None,
            stop_s: 1_200.0,
            outcome_without_rosc: Outcome::Died,
        }
    }
}

/// What goes wrong with one task.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(rename_all = "snake_case", tag = "how", deny_unknown_fields)]
pub enum Slip {
    /// It is not done at all.
    Forgets {
        /// The task.
        task: Action,
        /// Which time that the team is asked for it, from 1.
        time: u32,
    },
    /// It is tapped twice, and the second tap is undone.
    Doubles {
        /// The task.
        task: Action,
        /// Which time that the team is asked for it, from 1.
        time: u32,
    },
    /// It takes longer.
    Delays {
        /// The task.
        task: Action,
        /// Which time that the team is asked for it, from 1.
        time: u32,
        /// By how much.
        by_s: f64,
    },
}

const fn adult() -> AgeGroup {
    AgeGroup::Adult
}
const fn not_checked() -> Pulse {
    Pulse::NotChecked
}

/// The scenarios inside the binary, by name; the first one is what the demo plays unasked.
pub const SHIPPED: &[(&str, &str)] = &[
    ("shockable-rosc", include_str!("../../scenarios/shockable-rosc.toml")),
    ("not-shockable", include_str!("../../scenarios/not-shockable.toml")),
];

impl Scenario {
    /// Reads and checks a scenario.
    ///
    /// # Errors
    /// Says which field is wrong.
    pub fn from_toml(text: &str) -> Result<Self, ScenarioError> {
        let scenario: Self =
            toml::from_str(text).map_err(|error| ScenarioError(format!("the scenario cannot be read: {error}")))?;
        scenario.check()?;
        Ok(scenario)
    }

    /// One of the scenarios inside the binary.
    ///
    /// # Errors
    /// Names the ones there are.
    pub fn shipped(name: &str) -> Result<Self, ScenarioError> {
        let Some((_, text)) = SHIPPED.iter().find(|(shipped, _)| *shipped == name) else {
            let names: Vec<_> = SHIPPED.iter().map(|(name, _)| *name).collect();
            return Err(ScenarioError(format!("no scenario is named {name}; there are {}", names.join(", "))));
        };
        Self::from_toml(text)
    }

    fn check(&self) -> Result<(), ScenarioError> {
        if self.patient.looks.is_empty() {
            return Err(ScenarioError("patient.looks needs at least one look".to_owned()));
        }
        let reaction = &self.reaction_s;
        let times = [
            ("reaction_s.leader", reaction.leader),
            ("reaction_s.compressor", reaction.compressor),
            ("reaction_s.relief", reaction.relief),
            ("reaction_s.airway", reaction.airway),
            ("reaction_s.drugs", reaction.drugs),
            ("reaction_s.defibrillator", reaction.defibrillator),
            ("reaction_s.recorder", reaction.recorder),
            ("work.recognised_ago_s", self.work.recognised_ago_s),
            ("work.pads_s", self.work.pads_s),
            ("work.access_s", self.work.access_s),
            ("work.airway_s", self.work.airway_s),
            ("work.charge_s", self.work.charge_s),
            ("work.close_after_rosc_s", self.work.close_after_rosc_s),
            ("work.stop_s", self.work.stop_s),
        ];
        for (field, seconds) in times {
            if !(0.0..=14_400.0).contains(&seconds) {
                return Err(ScenarioError(format!("{field} must be between 0 and 14400 seconds, not {seconds}")));
            }
        }
        if !(0.0..=0.9).contains(&reaction.jitter) {
            return Err(ScenarioError(format!("reaction_s.jitter must be between 0 and 0.9, not {}", reaction.jitter)));
        }
        for slip in &self.slips {
            let (Slip::Forgets { time, .. } | Slip::Doubles { time, .. } | Slip::Delays { time, .. }) = slip;
            if *time == 0 {
                return Err(ScenarioError("slips: time counts from 1".to_owned()));
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_shipped_scenario_can_be_played() {
        for (name, _) in SHIPPED {
            Scenario::shipped(name).unwrap_or_else(|error| panic!("{name}: {error}"));
        }
    }

    #[test]
    fn a_wrong_scenario_names_its_field() {
        let good = SHIPPED[0].1;
        for (from, to, words) in [
            ("jitter = 0.25", "jitter = 7", "reaction_s.jitter"),
            ("pads_s", "pad_s", "pad_s"),
            ("time = 2", "time = 0", "slips"),
            ("rhythm = \"vf\"", "rhythm = \"jazz\"", "jazz"),
        ] {
            assert!(good.contains(from), "the example no longer contains {from}");
            let error = Scenario::from_toml(&good.replace(from, to)).unwrap_err().to_string();
            assert!(error.contains(words), "{error}");
        }
        assert!(Scenario::shipped("nothing").unwrap_err().to_string().contains("shockable-rosc"));
    }
}
