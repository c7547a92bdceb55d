//! The figures as a table for people, with the published targets beside them.
//!
//! A target is shown only where it applies: time to shock only if the first rhythm was shockable, time to epinephrine
//! only if it was not. The table must not colour, rank or advise; docs/measures.md says what each source allows.

use std::fmt::Write;

use super::{Figures, GapKind};

/// One line of the table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// What is measured.
    pub name: &'static str,
    /// The value, or a dash where there is none.
    pub value: String,
    /// The published target with its source; empty where none applies.
    pub target: &'static str,
}

fn percent(value: Option<f64>) -> String {
    value.map_or_else(none, |value| format!("{:.1} %", value * 100.0))
}

fn none() -> String {
    "-".to_owned()
}

/// Minutes, seconds and tenths, cut and not rounded, so that 2 min 0.4 s never reads as within 2 min.
fn clock(ms: i64) -> String {
    let sign = if ms < 0 { "-" } else { "" };
    let tenths = ms.abs() / 100;
    format!("{sign}{}:{:02}.{}", tenths / 600, tenths / 10 % 60, tenths % 10)
}

fn optional(ms: Option<i64>) -> String {
    ms.map_or_else(none, clock)
}

fn list(values: impl IntoIterator<Item = i64>) -> String {
    let texts: Vec<String> = values.into_iter().map(clock).collect();
    if texts.is_empty() { none() } else { texts.join(", ") }
}

fn number(value: f64) -> String {
    if value.fract() == 0.0 { format!("{value:.0}") } else { format!("{value}") }
}

impl Figures {
    /// The figures, one a line.
    pub fn lines(&self) -> Vec<Line> {
        let first_shockable = self.first_rhythm.map(crate::event::Rhythm::is_shockable);
        let first_flat_or_pea =
            matches!(self.first_rhythm, Some(crate::event::Rhythm::Asystole | crate::event::Rhythm::Pea));
        let mut lines = Vec::new();
        let mut add = |name, value, target| lines.push(Line { name, value, target });
        add("Arrest, all together", clock(self.arrest_ms), "");
        add(
            "Compression fraction, from recognition",
            percent(self.compression_fraction),
            "at least 60 % (AHA 2020); goal above 80 % (teaching after Meaney 2013)",
        );
        add("Compression fraction, from the first compression", percent(self.compression_fraction_from_first), "");
        add("No-flow time", clock(self.no_flow_ms), "");
        add("Low-flow time", clock(self.low_flow_ms), "");
        add("Pauses", self.pauses.len().to_string(), "");
        add("Pauses over 10 s", self.pauses_over_10_s.to_string(), "none: every pause under 10 s (UMEM 2021)");
        add("Longest pause", optional(self.longest_pause_ms), "under 0:10 (UMEM 2021)");
        add("Shocks", self.shocks.len().to_string(), "");
        for shock in &self.shocks {
            let part = |ms: Option<i64>| ms.map_or_else(none, |ms| format!("{}.{} s", ms / 1_000, ms % 1_000 / 100));
            add(
                "  shock: before, after, both",
                format!(
                    "{} J at {}: {}, {}, {}",
                    number(shock.energy_j),
                    clock(shock.at_ms),
                    part(shock.pre_shock_ms),
                    part(shock.post_shock_ms),
                    part(shock.peri_shock_ms)
                ),
                "before under 10 s, both under 20 s (Cheskes 2011)",
            );
        }
        add(
            "Compressions while charging",
            percent(self.charging_compression_fraction),
            "compress while charging (AHA 2020); no published threshold",
        );
        add(
            "First rhythm",
            self.first_rhythm.map_or_else(none, |rhythm| {
                serde_json::to_value(rhythm).ok().and_then(|word| word.as_str().map(str::to_owned)).unwrap_or_default()
            }),
            "",
        );
        add("First compression", optional(self.first_compression_ms), "");
        add(
            "First shock",
            optional(self.first_shock_ms),
            if first_shockable == Some(true) { "at most 2:00 (AHA registry; Chan 2008)" } else { "" },
        );
        add(
            "First epinephrine",
            optional(self.first_epinephrine_ms),
            if first_flat_or_pea { "at most 5:00 (AHA registry)" } else { "" },
        );
        add("First access", optional(self.first_access_ms), "");
        add("First advanced airway", optional(self.first_advanced_airway_ms), "");
        add(
            "Between doses of epinephrine",
            list(self.epinephrine_intervals_ms.iter().copied()),
            "3:00 to 5:00 (AHA 2020, ERC 2021); twice that at 30 to 35 °C (ERC 2021)",
        );
        add("Between checks", list(self.check_intervals_ms.iter().copied()), "2:00 (AHA 2020, ERC 2021)");
        add("Each compressor's spell", list(self.compressor_spells_ms.iter().copied()), "at most 2:00 (AHA 2020)");
        add("Finger ready before a check", percent(self.finger_ready_fraction), "common practice, no source");
        add("Return of circulation", optional(self.rosc_ms), "");
        add("How often circulation returned", self.rosc_count.to_string(), "");
        add("Pauses for breaths, an estimate beside the fraction", clock(self.breath_pauses_estimate_ms), "");
        add("Gaps in the record", self.gaps.len().to_string(), "");
        lines
    }

    /// The figures as a table of plain text, and the gaps in words below it.
    pub fn table(&self) -> String {
        let lines = self.lines();
        let width = |text: &str| text.chars().count();
        let names = lines.iter().map(|line| width(line.name)).max().unwrap_or(0);
        // Long lists would push the targets out of sight: they get a line of their own.
        let values = lines.iter().map(|line| width(&line.value)).filter(|length| *length <= 48).max().unwrap_or(0);
        let mut text = String::new();
        let mut put = |line: &str| {
            let _ = writeln!(text, "{}", line.trim_end());
        };
        put(&format!("{:names$}  {:values$}  {}", "Figure (min:s)", "Value", "Published target"));
        for line in &lines {
            if width(&line.value) > values && !line.target.is_empty() {
                put(&format!("{:names$}  {}", line.name, line.value));
                put(&format!("{:names$}  {:values$}  {}", "", "", line.target));
            } else {
                put(&format!("{:names$}  {:values$}  {}", line.name, line.value, line.target));
            }
        }
        for gap in &self.gaps {
            let gap_kind = match gap.what {
                GapKind::WaitingTarget => "waiting since",
                GapKind::CheckWithoutRhythm
                | GapKind::DrugWithoutAccess
                | GapKind::NoCompressions
                | GapKind::ShockWithoutPause
                | GapKind::Silence => "gap at",
            };
            put(&format!("  {gap_kind} {}: {}", clock(gap.at_ms), gap.words));
        }
        put("Targets are published aims for groups of patients; one code's figures need the people who were there.");
        text
    }
}

#[cfg(test)]
mod tests {
    use super::clock;

    #[test]
    fn times_are_cut_to_tenths() {
        assert_eq!(clock(0), "0:00.0");
        assert_eq!(clock(120_099), "2:00.0");
        assert_eq!(clock(119_999), "1:59.9");
        assert_eq!(clock(-173_897), "-2:53.8");
    }
}
