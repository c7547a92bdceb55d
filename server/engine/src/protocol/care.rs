//! Parts of a protocol for what is not every code's: shocks that fail, shocks in a stack, numbers to aim at after return of
//! circulation, and what the guideline says when an arrest lasts.

use serde::Deserialize;

use super::orders::Fault;
use super::{Protocol, Seconds, Sourced};
use crate::event::{PadPosition, Rhythm};

/// A rhythm that shocks do not end.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Refractory {
    /// After this many shocks in an arrest, each shock of a stack counted.
    pub after_shocks: Sourced<u32>,
    /// Where the pads are moved to; absent if the guideline asks for no such thing.
    #[serde(default)]
    pub pads: Option<Sourced<PadPosition>>,
    /// What the guideline says, in words for the leader.
    pub words: Sourced<String>,
}

/// Quick shocks one after another, in an arrest that was witnessed and monitored.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stack {
    /// The most shocks in a stack.
    pub max: Sourced<u32>,
}

/// The numbers of a target. A bound that is absent does not bound.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Range {
    /// At least this.
    #[serde(default)]
    pub low: Option<Sourced<f64>>,
    /// More than this; never together with `low`.
    #[serde(default)]
    pub above: Option<Sourced<f64>>,
    /// At most this.
    #[serde(default)]
    pub high: Option<Sourced<f64>>,
}

impl Range {
    /// Whether a value is too low for it.
    pub fn is_below(&self, value: f64) -> bool {
        self.low.as_ref().is_some_and(|low| value < low.value)
            || self.above.as_ref().is_some_and(|above| value <= above.value)
    }

    /// Whether a value is too high for it.
    pub fn is_above(&self, value: f64) -> bool {
        self.high.as_ref().is_some_and(|high| value > high.value)
    }

    /// What a value that is too low is, such as `below 94 to 98`.
    pub fn words_below(&self) -> String {
        match (&self.low, &self.above, &self.high) {
            (Some(low), _, Some(high)) | (None, Some(low), Some(high)) => {
                format!("below {} to {}", low.value, high.value)
            }
            (Some(low), _, None) => format!("below {}", low.value),
            (None, Some(above), None) => format!("not above {}", above.value),
            (None, None, _) => String::new(),
        }
    }

    /// What a value that is too high is, such as `above 94 to 98`.
    pub fn words_above(&self) -> String {
        match (self.low.as_ref().or(self.above.as_ref()), &self.high) {
            (Some(low), Some(high)) => format!("above {} to {}", low.value, high.value),
            (None, Some(high)) => format!("above {}", high.value),
            (_, None) => String::new(),
        }
    }
}

/// A sentence for the leader while an arrest lasts. It informs; whether and when a code ends is the team's to say.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ending {
    /// A word for it, so that a fault can name it.
    pub id: String,
    /// The sentence.
    pub words: Sourced<String>,
    /// Shown from this long after the arrest began; with `rhythm`, after that rhythm was first seen without a break.
    #[serde(default)]
    pub after_s: Option<Seconds>,
    /// Shown only while the last looks had this rhythm.
    #[serde(default)]
    pub rhythm: Option<Rhythm>,
}

/// What a reading derives from others: the mean of a blood pressure.
pub(super) const DERIVED: &str = "mean_mmhg";

/// Words that would make information into advice. The program never says that a code should end.
const ADVICE: &[&str] = &["should stop", "stop resuscitation", "stop cpr", "terminate", "cease", "give up", "futile"];

pub(super) fn first_fault(protocol: &Protocol, readings: &[&str]) -> Option<Fault> {
    aftercare(protocol, readings).or_else(|| shocks(protocol)).or_else(|| ending(protocol))
}

fn aftercare(protocol: &Protocol, readings: &[&str]) -> Option<Fault> {
    for item in &protocol.aftercare {
        let field = format!("aftercare.{}", item.id);
        if item.reading.is_none() && (!item.ranges.is_empty() || item.repeat_s.is_some()) {
            let problem = "has numbers or a time to ask again, but names no reading to hold against them";
            return Some((field, problem.to_owned()));
        }
        for (reading, range) in &item.ranges {
            let field = format!("{field}.ranges.{reading}");
            if reading != DERIVED && !readings.contains(&reading.as_str()) {
                return Some((field, format!("`{reading}` is no reading: {}, {DERIVED}", readings.join(", "))));
            }
            let low = match (&range.low, &range.above, &range.high) {
                (None, None, None) => return Some((field, "names no bound: low, above or high".to_owned())),
                (Some(_), Some(_), _) => return Some((field, "has both low and above; one of them binds".to_owned())),
                (low, above, _) => low.as_ref().or(above.as_ref()).map(|low| low.value),
            };
            if let (Some(low), Some(high)) = (low, &range.high)
                && low >= high.value
            {
                return Some((field, format!("from {low} to {} holds no value", high.value)));
            }
        }
    }
    None
}

fn shocks(protocol: &Protocol) -> Option<Fault> {
    let refractory = protocol.shock.refractory.as_ref()?;
    let unknown = refractory.pads.as_ref().is_some_and(|pads| pads.value == PadPosition::Unknown);
    unknown.then(|| ("shock.refractory.pads".to_owned(), "must say where the pads are to be".to_owned()))
}

fn ending(protocol: &Protocol) -> Option<Fault> {
    for ending in &protocol.ending {
        let words = ending.words.value.to_lowercase();
        if let Some(advice) = ADVICE.iter().find(|advice| words.contains(**advice)) {
            let problem = format!("`{advice}` is advice; a protocol here informs, and the team decides");
            return Some((format!("ending.{}.words", ending.id), problem));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use crate::protocol::{read, shipped};

    const ERC: &str = include_str!("../../../protocols/erc-adult.toml");

    #[test]
    fn what_makes_no_target_and_what_advises_is_refused_by_field() {
        let oxygen = "spo2_pct = { low = { value = 94";
        let cases = [
            (oxygen, "spo2_pct = { low = { value = 9.4", "aftercare.oxygen.ranges.spo2_pct.low", "ten times"),
            (
                oxygen,
                "spo3_pct = { low = { value = 94, unusual = \"a test\"",
                "ranges.spo3_pct.high",
                "no published range",
            ),
            (oxygen, "spo2_pct = { low = { value = 99, unusual = \"a test\"", "ranges.spo2_pct", "holds no value"),
            (
                "systolic_mmhg = { above",
                "systolic_mmhg = { low = { value = 100, source = \"s\", basis = \"practice\" }, above",
                "ranges.systolic_mmhg",
                "both low and above",
            ),
            ("reading = \"spo2_pct\"\n", "", "aftercare.oxygen", "names no reading"),
            ("value = \"anteroposterior\"", "value = \"unknown\"", "shock.refractory.pads", "where the pads"),
            ("max = { value = 3", "max = { value = 30", "shock.stack.max", "ten times too large"),
            ("No validated rule", "The team should stop: no rule", "ending.in_hospital.words", "is advice"),
        ];
        for (old, new, field, words) in cases {
            assert!(ERC.contains(old), "{old}");
            let error = read(&ERC.replacen(old, new, 1)).expect_err("must be refused");
            assert!(error.field.ends_with(field) && error.problem.contains(words), "{new}: {error}");
        }
    }

    #[test]
    fn no_shipped_protocol_repeats_a_rule_for_outside_the_hospital() {
        for (id, text) in shipped() {
            let protocol = read(text).unwrap();
            assert!(protocol.ending.iter().any(|ending| ending.id == "in_hospital"), "{id}");
            for ending in &protocol.ending {
                // Traps 11 and 35 of the clinical sheet.
                let words = format!("{} {}", ending.words.value, ending.words.source);
                assert!(!words.contains("S90") && !words.contains("S91"), "{id}: {words}");
                assert!(!words.contains("out-of-hospital"), "{id}: {words}");
            }
        }
    }
}
