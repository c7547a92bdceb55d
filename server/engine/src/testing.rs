//! A short script for timelines in tests: one line an event, `at_ms kind field=value …`.

use serde_json::{Map, Value};
use uuid::Uuid;

use crate::event::{Event, Role};
use crate::record::{Author, Record, Source};

/// The id that a script gives its n-th record, from 1.
pub(crate) fn id(place: u64) -> Uuid {
    Uuid::from_u128(0x0198_0000_0000_7000_8000_0000_0000_0000_u128 + u128::from(place))
}

/// The device that a script's records come from, and other devices by number.
pub(crate) fn device(number: u64) -> Uuid {
    id(1_000_000 + number)
}

/// A growing timeline.
#[derive(Debug)]
pub(crate) struct Script {
    records: Vec<Record>,
}

impl Script {
    /// Reads a script. `at` may be in ms (`63500`), or in seconds (`63.5s`).
    pub(crate) fn new(text: &str) -> Self {
        let mut script = Self { records: Vec::new() };
        script.extend(text);
        script
    }

    /// Adds lines to a script.
    pub(crate) fn extend(&mut self, text: &str) {
        for line in text.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#')) {
            let mut words = words(line).into_iter();
            let at = words.next().expect("a time");
            let at_ms = match at.strip_suffix('s') {
                Some(seconds) => (seconds.parse::<f64>().expect("seconds") * 1_000.0).round() as i64,
                None => at.parse().expect("milliseconds"),
            };
            let mut fields = Map::new();
            fields.insert("kind".into(), Value::String(words.next().expect("a kind").into()));
            for word in words {
                let (name, value) = word.split_once('=').expect("field=value");
                let value = serde_json::from_str(value).unwrap_or_else(|_| Value::String(value.into()));
                fields.insert(name.into(), value);
            }
            self.push(
                at_ms,
                Event::from_value(Value::Object(fields)).unwrap_or_else(|error| panic!("{line}: {error}")),
            );
        }
    }

    /// Adds one event.
    pub(crate) fn push(&mut self, at_ms: i64, event: Event) {
        self.push_by(device(0), at_ms, event);
    }

    /// Adds one event of this device.
    pub(crate) fn push_by(&mut self, by: Uuid, at_ms: i64, event: Event) {
        let place = self.records.len() as u64 + 1;
        self.records.push(Record {
            seq: place,
            id: id(place),
            code: id(0),
            at_ms,
            received_ms: None,
            recorded_at: "2026-11-25T09:00:00Z".into(),
            by: Author { device: by, name: "script".into(), roles: vec![Role::Recorder] },
            source: Source::Live,
            event,
        });
    }

    /// The last event came to the server only at this moment of code time.
    pub(crate) fn heard_at(&mut self, received_ms: i64) {
        if let Some(record) = self.records.last_mut() {
            record.received_ms = Some(received_ms);
        }
    }

    pub(crate) fn records(&self) -> &[Record] {
        &self.records
    }
}

/// Splits at white space outside quotes.
fn words(line: &str) -> Vec<&str> {
    let mut quoted = false;
    let split = line.split(move |letter: char| {
        quoted ^= letter == '"';
        letter.is_whitespace() && !quoted
    });
    split.filter(|word| !word.is_empty()).collect()
}
