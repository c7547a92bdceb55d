//! The versions of a chain that were signed: whether the chain still holds the hash that each signature names, and the chain
//! as it was then.

use std::fmt;

use coxswain_engine::event::{Event, ReviewDeed};
use coxswain_engine::record::Record;

use crate::ledger::StoredCode;
use crate::ledger::chain::{self, Hash};

/// A signature on a chain, and whether it fits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signed {
    /// Which version, from 1.
    pub version: u32,
    /// Who.
    pub by: String,
    /// Wall clock.
    pub at: String,
    /// How many records were signed: all before the signature.
    pub records: u64,
    /// The hash that the signature names, hexadecimal: the one on the report.
    pub head: String,
    /// Whether these records give that hash, worked out anew from their texts.
    pub holds: bool,
}

impl fmt::Display for Signed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { version, by, at, records, head, holds } = self;
        let holds = if *holds { "holds" } else { "DOES NOT HOLD: the chain has another hash there" };
        write!(f, "version {version} signed by {by} at {at} over {records} records: head {head} {holds}")
    }
}

/// Every signature on a chain, in its order. What cannot be read is passed over: the check of the chain names it.
pub fn signatures(stored: &StoredCode) -> Vec<Signed> {
    let (mut head, mut records, mut found) = (chain::START, 0, Vec::new());
    for record in &stored.records {
        if let Some((version, named, read)) = signature(&record.text) {
            let holds = named == chain::hex(&head);
            found.push(Signed { version, by: read.by.name, at: read.recorded_at, records, head: named, holds });
        }
        head = chain::link(&head, &record.text);
        records += 1;
    }
    found
}

fn signature(text: &str) -> Option<(u32, String, Record)> {
    let record = Record::from_json(text).ok()?;
    match &record.event {
        Event::Reviewed { deed: ReviewDeed::Signed { version, head } } => Some((*version, head.clone(), record)),
        _ => None,
    }
}

/// Why there is no signed version to be had.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoVersion {
    /// None of that number was signed; these were.
    NotSigned(Vec<u32>),
    /// The chain is not what was signed.
    Altered(Box<Signed>),
}

impl fmt::Display for NoVersion {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotSigned(signed) if signed.is_empty() => f.write_str("no version of this code was signed"),
            Self::NotSigned(signed) => {
                let signed: Vec<String> = signed.iter().map(u32::to_string).collect();
                write!(f, "no such version was signed; signed is version {}", signed.join(", "))
            }
            Self::Altered(signed) => write!(f, "{signed}; `coxswain verify` says where it is broken"),
        }
    }
}

impl std::error::Error for NoVersion {}

/// A code exactly as it was when a version was signed: its chain ends with the hash that the signature names.
///
/// # Errors
/// If no version of that number was signed, or the chain does not give the hash that was.
pub fn version(mut stored: StoredCode, number: u32) -> Result<StoredCode, NoVersion> {
    let mut all = signatures(&stored);
    let Some(place) = all.iter().position(|signed| signed.version == number) else {
        return Err(NoVersion::NotSigned(all.into_iter().map(|signed| signed.version).collect()));
    };
    let signed = all.swap_remove(place);
    stored.records.truncate(usize::try_from(signed.records).unwrap_or(usize::MAX));
    let kept = stored.records.last().and_then(|record| Hash::try_from(record.hash.clone()).ok());
    if signed.holds && kept.is_some_and(|kept| chain::hex(&kept) == signed.head) {
        Ok(stored)
    } else {
        Err(NoVersion::Altered(Box::new(Signed { holds: false, ..signed })))
    }
}
