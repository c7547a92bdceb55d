//! The values of a file while its page is written: each is taken out as it is said, so that what nobody said can be seen.

use super::super::{AgeGroup, Row};
use super::Extent;
use super::amount::{self, is_nothing};
use super::sources::Sources;

/// A field, and how it is said: `{}` stands for its value. After `|` how it is said where the value is nothing or no, such as
/// "at once". A phrase that begins with `+` goes on with the one before it, without a semicolon. `{#}` leaves out the published
/// range, where it would only repeat what stands there; it comes back beside a value that departs from it. A phrase that begins
/// with `~` is a sentence for the screens, which a page of the plan does without.
pub(super) type Phrase<'a> = (&'a str, &'a str);

pub(super) struct Values {
    left: Vec<Row>,
    pub(super) group: AgeGroup,
    pub(super) sources: Sources,
    extent: Extent,
    /// Sentences that this page does without.
    pub(super) left_out: usize,
}

/// Something said, and the key of its source; no key for what only joins.
#[derive(Debug, Clone)]
pub(super) struct Said {
    pub(super) words: String,
    pub(super) key: String,
}

impl Values {
    pub(super) fn new(left: Vec<Row>, group: AgeGroup, extent: Extent) -> Self {
        Self { left, group, sources: Sources::new(extent), extent, left_out: 0 }
    }

    /// What a field says; nothing where the file has no such field, or where this page does without it.
    pub(super) fn say(&mut self, field: &str, phrase: &str) -> Option<Said> {
        let row = self.take(field)?;
        let phrase = match phrase.strip_prefix('~') {
            Some(_) if self.extent == Extent::Plan => {
                self.left_out += 1;
                return None;
            }
            Some(sentence) => sentence,
            None => phrase,
        };
        let (some, nothing) = phrase.split_once('|').unwrap_or((phrase, phrase));
        let phrase = if is_nothing(&row) { nothing } else { some };
        let (with_range, plain) = (amount::words(&row, Some(self.group)), amount::words(&row, None));
        let plain = if row.unusual.is_some() { &with_range } else { &plain };
        Some(Said { words: phrase.replace("{}", &with_range).replace("{#}", plain), key: self.sources.key(&row) })
    }

    /// The value of a field as the file has it, left in its place.
    pub(super) fn number(&self, field: &str) -> Option<f64> {
        self.value(field)?.parse().ok()
    }

    /// Whether a field's words have a number in them.
    pub(super) fn has_number(&self, field: &str) -> bool {
        self.value(field).is_some_and(|words| words.contains(|sign: char| sign.is_ascii_digit()))
    }

    fn value(&self, field: &str) -> Option<&str> {
        self.left.iter().find(|row| row.field == field).map(|row| row.value.as_str())
    }

    /// A cell of a table: what the fields say that the file has.
    pub(super) fn cell(&mut self, phrases: &[Phrase<'_>]) -> String {
        let said: Vec<Said> = phrases.iter().filter_map(|(field, phrase)| self.say(field, phrase)).collect();
        cell(&said)
    }

    /// Rows of a table with two columns; a row that has nothing to say is left out.
    pub(super) fn rows(&mut self, rows: &[(&str, &[Phrase<'_>])]) -> Vec<Vec<String>> {
        let rows = rows.iter().map(|(label, phrases)| vec![(*label).to_owned(), self.cell(phrases)]);
        rows.filter(|row| row.iter().all(|cell| !cell.is_empty())).collect()
    }

    fn take(&mut self, field: &str) -> Option<Row> {
        let place = self.left.iter().position(|row| row.field == field)?;
        Some(self.left.remove(place))
    }

    /// What nobody said, under the names that the file gives it: a field without words of its own is never lost.
    pub(super) fn rest(&mut self) -> Vec<Vec<String>> {
        let fields: Vec<String> = self.left.iter().map(|row| row.field.clone()).collect();
        let said = fields.iter().filter_map(|field| {
            let said = self.say(field, "{}")?;
            Some(vec![field.replace(['.', '_'], " "), cell(&[said])])
        });
        said.collect()
    }
}

/// What is said, with each key behind the last of those that share it. A key holds back to the key before it.
pub(super) fn cell(said: &[Said]) -> String {
    let mut words = String::new();
    for (place, one) in said.iter().enumerate() {
        let (glue, text) = match one.words.strip_prefix('+') {
            Some(text) if text.starts_with([':', ',']) => ("", text),
            Some(text) => (" ", text),
            None => ("; ", one.words.as_str()),
        };
        if place > 0 {
            words.push_str(glue);
        }
        words.push_str(text);
        if !one.key.is_empty() && said.get(place + 1).is_none_or(|next| next.key != one.key) {
            words.push_str(&format!(" {}", one.key));
        }
    }
    words
}

/// The same with what shares a key put together, in the order in which the keys are first met: a short way to say many
/// things of one task. Phrases that go on with the one before stay behind it.
pub(super) fn gathered(said: Vec<Said>) -> String {
    let mut groups: Vec<Vec<Said>> = Vec::new();
    for one in said {
        match groups.last_mut() {
            Some(last) if one.words.starts_with('+') => last.push(one),
            _ => groups.push(vec![one]),
        }
    }
    let key = |group: &[Said]| group.iter().map(|one| one.key.clone()).collect::<Vec<_>>();
    let mut order: Vec<Vec<String>> = Vec::new();
    for group in &groups {
        if !order.contains(&key(group)) {
            order.push(key(group));
        }
    }
    groups.sort_by_key(|group| order.iter().position(|known| *known == key(group)));
    cell(&groups.concat())
}
