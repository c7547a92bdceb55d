//! A FHIR R4 Bundle of type collection (docs/exports.md): the encounter, what was done and given and seen in it, the figures,
//! and who recorded and corrected what. Every reference is the `urn:uuid` of another entry. R4 names throughout (clinical
//! sources, trap 30). A drill has no Patient at all, and every resource of it says that it is one.

mod facts;
mod frame;
mod provenance;
mod terms;

use jiff::Timestamp;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use uuid::{Builder, Uuid};

use super::Unexportable;
use super::code::{Code, Zero};

/// What stands before the first entry.
pub(super) const BEGIN: &str = "{\"resourceType\":\"Bundle\",\"type\":\"collection\"";

/// What stands behind the last entry. A list in FHIR is never empty: without codes there is none.
pub(super) fn end(any: bool) -> String {
    (if any { "\n]}\n" } else { "}\n" }).to_owned()
}

/// A code's entries, one a line.
///
/// # Errors
/// If nothing on the record says when it was: a date is not made up.
pub(super) fn entries(code: &Code, first: bool) -> Result<String, Unexportable> {
    if code.zero == Zero::Unknown {
        let problem = "no record says at what time of day it was, and FHIR asks for it".to_owned();
        return Err(Unexportable { code: code.id, problem });
    }
    let mut bundle = Building { code, entries: Vec::new(), training: code.training() };
    let frame = frame::frame(&mut bundle);
    let made = facts::facts(&mut bundle, &frame);
    provenance::provenance(&mut bundle, &frame, &made);
    let mut text = String::new();
    for (place, entry) in bundle.entries.iter().enumerate() {
        text.push_str(if first && place == 0 { ",\"entry\":[\n" } else { ",\n" });
        text.push_str(&entry.to_string());
    }
    Ok(text)
}

/// The entries of one code, growing.
struct Building<'a> {
    code: &'a Code,
    entries: Vec<Value>,
    training: bool,
}

impl Building<'_> {
    /// Adds a resource under an id, and gives the reference to it.
    fn add(&mut self, id: Uuid, mut resource: Value) -> Value {
        if self.training {
            resource["meta"] = json!({"tag": [terms::training()]});
        }
        let url = format!("urn:uuid:{id}");
        self.entries.push(json!({"fullUrl": url, "resource": resource}));
        json!({"reference": url})
    }

    /// Adds one under an id made from the code's and a name that is its own within the code.
    fn add_named(&mut self, name: &str, resource: Value) -> Value {
        let id = self.named(name);
        self.add(id, resource)
    }

    /// The id made from the code's and a name (a UUID of version 8): the same in each export of the same code.
    fn named(&self, name: &str) -> Uuid {
        let digest = Sha256::digest(format!("{} {name}", self.code.id));
        let mut bytes = [0; 16];
        bytes.copy_from_slice(&digest[..16]);
        Builder::from_custom_bytes(bytes).into_uuid()
    }

    /// A code time as FHIR writes it. In a de-identified file code time 0 is written as the first moment of 1970, which is
    /// no date of anything.
    fn time(&self, at_ms: i64) -> String {
        let at = match self.code.zero {
            Zero::At(_) => self.code.wall(at_ms),
            Zero::Unknown | Zero::Hidden => Timestamp::from_millisecond(at_ms).ok(),
        };
        at.map(|at| format!("{at:.3}")).unwrap_or_default()
    }
}
