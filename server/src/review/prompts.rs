//! Prompt and deed: the log of prompts, paired. It says how what was asked was followed, as it was known then.

use std::collections::{BTreeMap, HashMap};

use super::summary::Followed;
use super::wire::{PromptDeed, PromptEnd};
use crate::ledger::PromptRow;

/// Every prompt with what became of it, in the order in which they showed.
pub fn deeds(log: &[PromptRow]) -> Vec<PromptDeed> {
    let mut found: Vec<PromptDeed> = Vec::new();
    // A prompt that went and came back is shown a second time: only the latest is open.
    let mut open: HashMap<&str, usize> = HashMap::new();
    for row in log {
        let end = match row.became.as_str() {
            "done" => PromptEnd::Done,
            "withdrawn" => PromptEnd::Withdrawn,
            _ => {
                // After a restart of the server what stood is shown again: it is the same prompt.
                open.entry(&row.key).or_insert_with(|| {
                    found.push(shown(row));
                    found.len() - 1
                });
                continue;
            }
        };
        let Some(deed) = open.remove(row.key.as_str()).and_then(|place| found.get_mut(place)) else { continue };
        deed.end = Some(end);
        deed.ended_at_ms = Some(row.at_ms);
        // What it asked may have moved while it stood; what counts is how it was when it ended.
        deed.due_at_ms = row.due_at_ms.or(deed.due_at_ms);
        deed.late_at_ms = row.late_at_ms.or(deed.late_at_ms);
        // Nobody is late with what was not asked yet.
        let asked_ms = deed.due_at_ms.map(|due_ms| due_ms.max(deed.shown_at_ms));
        deed.after_due_ms = asked_ms.filter(|_| end == PromptEnd::Done).map(|asked_ms| row.at_ms - asked_ms);
    }
    found
}

fn shown(row: &PromptRow) -> PromptDeed {
    PromptDeed {
        key: row.key.clone(),
        action: row.key.split('@').next().unwrap_or_default().to_owned(),
        roles: row.roles.as_deref().and_then(|roles| serde_json::from_str(roles).ok()).unwrap_or_default(),
        shown_at_ms: row.at_ms,
        devices: serde_json::from_str(&row.devices).unwrap_or_default(),
        due_at_ms: row.due_at_ms,
        late_at_ms: row.late_at_ms,
        end: None,
        ended_at_ms: None,
        after_due_ms: None,
    }
}

/// How the prompts of each action were followed.
pub fn followed(deeds: &[PromptDeed]) -> BTreeMap<String, Followed> {
    let mut found: BTreeMap<String, Followed> = BTreeMap::new();
    for deed in deeds {
        let of = found.entry(deed.action.clone()).or_default();
        of.shown += 1;
        match deed.end {
            Some(PromptEnd::Done) => {
                of.done += 1;
                of.late += usize::from(deed.late_at_ms.zip(deed.ended_at_ms).is_some_and(|(late, ended)| ended > late));
            }
            Some(PromptEnd::Withdrawn) => of.withdrawn += 1,
            None => {}
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(key: &str, became: &str, at_ms: i64, due_at_ms: Option<i64>, late_at_ms: Option<i64>) -> PromptRow {
        let devices = r#"["01980000-0000-7000-8000-000000000001"]"#.to_owned();
        let roles = Some(r#"["compressor"]"#.to_owned());
        PromptRow { key: key.to_owned(), became: became.to_owned(), at_ms, devices, roles, due_at_ms, late_at_ms }
    }

    #[test]
    fn each_prompt_is_paired_with_its_deed_and_one_that_came_back_is_another() {
        let deeds = deeds(&[
            row("pause_for_check@a", "shown", 90_000, Some(120_000), Some(130_000)),
            row("finger_on_pulse@a", "shown", 105_000, Some(115_000), None),
            row("finger_on_pulse@a", "withdrawn", 110_000, Some(115_000), None),
            row("finger_on_pulse@a", "shown", 112_000, Some(115_000), None),
            row("finger_on_pulse@a", "done", 114_000, Some(115_000), None),
            row("pause_for_check@a", "done", 131_000, Some(120_000), Some(130_000)),
            row("call_all_clear@a", "shown", 128_000, Some(118_000), None),
            row("call_all_clear@a", "done", 130_000, Some(118_000), None),
            row("read_rhythm@b", "shown", 132_000, None, None),
            row("read_rhythm@b", "shown", 139_000, None, None),
        ]);
        let told: Vec<_> = deeds.iter().map(|deed| (deed.action.as_str(), deed.end, deed.after_due_ms)).collect();
        assert_eq!(
            told,
            [
                ("pause_for_check", Some(PromptEnd::Done), Some(11_000)),
                ("finger_on_pulse", Some(PromptEnd::Withdrawn), None),
                ("finger_on_pulse", Some(PromptEnd::Done), Some(-1_000)),
                ("call_all_clear", Some(PromptEnd::Done), Some(2_000)),
                ("read_rhythm", None, None),
            ]
        );
        let followed = followed(&deeds);
        assert_eq!(followed["pause_for_check"], Followed { shown: 1, done: 1, late: 1, withdrawn: 0 });
        assert_eq!(followed["finger_on_pulse"], Followed { shown: 2, done: 1, late: 0, withdrawn: 1 });
        assert_eq!(followed["read_rhythm"].shown, 1);
    }
}
