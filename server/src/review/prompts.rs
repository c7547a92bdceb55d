//! Prompt and deed: the log of prompts, paired with the records that did what was asked. When something was done is what the
//! record says now, corrections and all; when it was acknowledged is when the tap came in.

use std::collections::{BTreeMap, HashMap};

use coxswain_engine::record::Record;
use coxswain_engine::timeline;
use uuid::Uuid;

use super::choose;
use super::summary::Followed;
use super::wire::{PromptDeed, PromptEnd};
use crate::ledger::PromptRow;

/// Every prompt with what became of it by the records, in the order in which they showed.
pub fn deeds(log: &[PromptRow], records: &[Record]) -> Vec<PromptDeed> {
    // What was tapped was done, also where a monitor's times of compressions count in its place.
    let taps = choose::beneath(records);
    let facts = timeline::facts(&taps).facts;
    let standing: HashMap<Uuid, &timeline::Fact<'_>> = facts.iter().map(|fact| (fact.id, fact)).collect();
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
        // Lines from before records were kept here say only when the tap came in.
        let did = row.record.as_deref().and_then(|id| Uuid::parse_str(id).ok());
        let fact = did.and_then(|id| standing.get(&id));
        // What was struck out since was not done.
        let end = if did.is_some() && fact.is_none() { PromptEnd::Withdrawn } else { end };
        let ended_at_ms = fact.map_or(row.at_ms, |fact| fact.at_ms);
        deed.end = Some(end);
        deed.ended_at_ms = Some(ended_at_ms);
        deed.acknowledged_at_ms = fact.map(|_| row.at_ms);
        deed.acknowledged_on = fact.map(|fact| fact.by.device);
        // What it asked may have moved while it stood; what counts is how it was when it ended.
        deed.due_at_ms = row.due_at_ms.or(deed.due_at_ms);
        deed.late_at_ms = row.late_at_ms.or(deed.late_at_ms);
        // Nobody is late with what was not asked yet.
        let asked_ms = deed.due_at_ms.map(|due_ms| due_ms.max(deed.shown_at_ms));
        deed.after_due_ms = asked_ms.filter(|_| end == PromptEnd::Done).map(|asked_ms| ended_at_ms - asked_ms);
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
        acknowledged_at_ms: None,
        acknowledged_on: None,
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
                of.after_due_ms.extend(deed.after_due_ms);
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
        PromptRow {
            key: key.to_owned(),
            became: became.to_owned(),
            at_ms,
            devices,
            roles,
            due_at_ms,
            late_at_ms,
            record: None,
        }
    }

    /// A record of the code, with an id that ends in `number`.
    fn record(number: u32, at_ms: i64, event: &serde_json::Value) -> Record {
        serde_json::from_value(serde_json::json!({
            "seq": number, "id": format!("01980000-0000-7000-8000-{number:012}"), "code": "01980000-0000-7000-8000-000000000000",
            "at_ms": at_ms, "recorded_at": "2026-03-01T12:00:00Z", "source": "live", "event": event,
            "by": {"device": "01980000-0000-7000-8000-00000000000a", "name": "Bay 1", "roles": ["compressor"]},
        }))
        .unwrap()
    }

    /// A stop that was tapped late, with its own time: not late, though the tap came after the limit. A correction moves it; struck
    /// out it was not done.
    #[test]
    fn a_deed_has_its_time_on_the_record_and_its_tap_the_time_of_acknowledgement() {
        let mut records = vec![
            record(1, 0, &serde_json::json!({"kind": "clock_started"})),
            record(2, 119_000, &serde_json::json!({"kind": "compressions_stopped", "reason": "rhythm_check"})),
        ];
        let log = [
            row("pause_for_check@a", "shown", 90_000, Some(120_000), Some(130_000)),
            PromptRow {
                record: Some(records[1].id.to_string()),
                ..row("pause_for_check@a", "done", 131_000, Some(120_000), Some(130_000))
            },
        ];
        let told = |records: &[Record]| {
            let deeds = deeds(&log, records);
            let late = followed(&deeds)["pause_for_check"].late;
            (deeds[0].end, deeds[0].ended_at_ms, deeds[0].acknowledged_at_ms, deeds[0].after_due_ms, late)
        };
        assert_eq!(told(&records), (Some(PromptEnd::Done), Some(119_000), Some(131_000), Some(-1_000), 0));
        assert_eq!(deeds(&log, &records)[0].acknowledged_on, Some(records[1].by.device));
        // Where a monitor's times count in its place, it was done all the same.
        let aside = serde_json::json!({"kind": "voided", "target": records[1].id, "reason": "the monitor is exact"});
        let chosen = serde_json::json!({"kind": "reviewed", "deed": {"what": "source_chosen", "import": records[0].id,
            "from_ms": 100_000, "to_ms": 130_000, "reason": "the monitor is exact",
            "records": ["01980000-0000-7000-8000-000000000003"]}});
        let with_monitor = [&records[..], &[record(3, 190_000, &aside), record(4, 190_000, &chosen)]].concat();
        assert_eq!(told(&with_monitor), told(&records));
        let later = serde_json::json!({"kind": "amended", "target": records[1].id, "at_ms": 132_000, "reason": "by the camera"});
        records.push(record(3, 200_000, &later));
        assert_eq!(told(&records), (Some(PromptEnd::Done), Some(132_000), Some(131_000), Some(12_000), 1));
        let struck = serde_json::json!({"kind": "voided", "target": records[1].id, "reason": "tapped by mistake"});
        records.push(record(4, 201_000, &struck));
        assert_eq!(told(&records), (Some(PromptEnd::Withdrawn), Some(131_000), None, None, 0));
    }

    #[test]
    fn each_prompt_is_paired_with_its_deed_and_one_that_came_back_is_another() {
        let log = [
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
        ];
        let deeds = deeds(&log, &[]);
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
        assert_eq!(
            followed["pause_for_check"],
            Followed { shown: 1, done: 1, late: 1, withdrawn: 0, after_due_ms: vec![11_000] }
        );
        assert_eq!(
            followed["finger_on_pulse"],
            Followed { shown: 2, done: 1, late: 0, withdrawn: 1, after_due_ms: vec![-1_000] }
        );
        assert_eq!(followed["read_rhythm"].shown, 1);
    }
}
