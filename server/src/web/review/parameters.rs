//! The parameters of a request, each read by its name. One that nobody knows, or that stands there twice, is refused by its
//! name: a filter that is passed over without a word would answer with codes that nobody asked for.

use std::collections::BTreeMap;

use axum::extract::{FromRequestParts, Query};
use axum::http::request::Parts;
use coxswain_engine::event::Outcome;
use jiff::Timestamp;
use serde::de::DeserializeOwned;
use serde_json::Value;

use crate::review::wire::CodeFilter;
use crate::web::answer::No;

/// What a list or a trend may be cut down to.
pub(super) const FILTERS: &[&str] = &["from", "to", "location", "protocol", "training", "outcome", "signed"];
/// No list has so many pages; one beyond its last is empty up to here.
const MAX_PAGE: u64 = 100_000;

/// The parameters of a request.
#[derive(Debug, Clone)]
pub(super) struct Parameters(BTreeMap<String, String>);

impl<S: Send + Sync> FromRequestParts<S> for Parameters {
    type Rejection = No;

    async fn from_request_parts(parts: &mut Parts, _state: &S) -> Result<Self, No> {
        let pairs = Query::<Vec<(String, String)>>::try_from_uri(&parts.uri);
        let Query(pairs) = pairs.map_err(|error| No::field("malformed", "", format!("The query: {error}.")))?;
        Self::of(pairs)
    }
}

impl Parameters {
    /// Those of a query, by name and text.
    ///
    /// # Errors
    /// Names the first that stands there twice.
    pub(super) fn of(pairs: impl IntoIterator<Item = (String, String)>) -> Result<Self, No> {
        let mut found = BTreeMap::new();
        for (name, value) in pairs {
            if found.contains_key(&name) {
                let message = format!("{name}: stands there twice.");
                return Err(No::field("malformed", name, message));
            }
            found.insert(name, value);
        }
        Ok(Self(found))
    }

    /// Refuses every parameter but these.
    ///
    /// # Errors
    /// Names the first other one.
    pub(super) fn only(&self, known: &[&str]) -> Result<(), No> {
        match self.0.keys().find(|name| !known.contains(&name.as_str())) {
            None => Ok(()),
            Some(name) => {
                let message = format!("{name}: is no parameter here; there are {}.", known.join(", "));
                Err(No::field("malformed", name, message))
            }
        }
    }

    /// Those for a first side, and, if there are any whose names begin with `than`, those for a second one: the same with the
    /// named ones in their place.
    pub(super) fn sides(self, than: &str) -> (Self, Option<Self>) {
        let (second, first): (BTreeMap<_, _>, BTreeMap<_, _>) =
            self.0.into_iter().partition(|(name, _)| name.starts_with(than));
        let named = second.into_iter().map(|(name, value)| (name[than.len()..].to_owned(), value));
        let named: BTreeMap<_, _> = named.collect();
        let other = (!named.is_empty()).then(|| Self(first.clone().into_iter().chain(named).collect()));
        (Self(first), other)
    }

    /// The text of one that is not empty.
    pub(super) fn text(&self, name: &str) -> Option<String> {
        self.0.get(name).map(|text| text.trim().to_owned()).filter(|text| !text.is_empty())
    }

    pub(super) fn read<T>(
        &self,
        name: &str,
        read: impl FnOnce(&str) -> Option<T>,
        wanted: &str,
    ) -> Result<Option<T>, No> {
        let Some(text) = self.text(name) else { return Ok(None) };
        let value = read(&text);
        value.map(Some).ok_or_else(|| No::field("malformed", name, format!("{name}: must be {wanted}.")))
    }

    fn word<T: DeserializeOwned>(&self, name: &str, wanted: &str) -> Result<Option<T>, No> {
        self.read(name, |text| serde_json::from_value(Value::String(text.to_owned())).ok(), wanted)
    }

    pub(super) fn truth(&self, name: &str) -> Result<Option<bool>, No> {
        self.read(name, |text| text.parse().ok(), "true or false")
    }

    /// The signed version that is asked for.
    pub(super) fn version(&self) -> Result<Option<u32>, No> {
        self.read("version", |text| text.parse().ok().filter(|number| *number > 0), "the number of a signed version")
    }

    /// A day (`2026-11-01`, by UTC) or a moment (RFC 3339), as the lines have it.
    fn moment(&self, name: &str) -> Result<Option<String>, No> {
        let read = |text: &str| {
            let whole = if text.len() == 10 { format!("{text}T00:00:00Z") } else { text.to_owned() };
            whole.parse::<Timestamp>().ok().map(|at| format!("{at:.3}"))
        };
        self.read(name, read, "a day such as 2026-11-01, or a moment such as 2026-11-01T00:00:00Z")
    }

    /// What a list or a trend is cut down to. A location that is there and empty asks for codes without one.
    pub(super) fn filter(&self) -> Result<CodeFilter, No> {
        let outcomes = "survived_event, died, transferred, not_an_arrest, treatment_limit or ecmo";
        Ok(CodeFilter {
            from: self.moment("from")?,
            to: self.moment("to")?,
            location: self.0.get("location").map(|text| text.trim().to_owned()),
            protocol: self.text("protocol"),
            training: self.truth("training")?,
            outcome: self.word::<Outcome>("outcome", outcomes)?,
            signed: self.truth("signed")?,
        })
    }

    /// The page that is asked for, from 1, and how many entries come before it.
    pub(super) fn page(&self, per_page: u64) -> Result<(u64, u64), No> {
        let read = |text: &str| text.parse().ok().filter(|page| (1..=MAX_PAGE).contains(page));
        let page = self.read("page", read, &format!("a whole number from 1 to {MAX_PAGE}"))?.unwrap_or(1);
        Ok((page, (page - 1) * per_page))
    }
}
