//! Words that people type and others read: a name must look like nobody else's, and a reason must read the same on every
//! screen and on paper. Categories are those of Unicode; what looks alike is Unicode Technical Standard 39's to say.

use coxswain_engine::check::MAX_NAME_CHARS;
use coxswain_engine::event::FieldError;
use serde::Serialize;
use serde_json::Value;
use unicode_normalization::UnicodeNormalization;
use unicode_properties::{GeneralCategory, UnicodeGeneralCategory};
use unicode_security::skeleton;

/// A name in the one form that is kept: composed (NFC, Unicode Standard Annex 15), so that a name typed on another keyboard
/// is the same name.
pub fn composed(name: &str) -> String {
    name.nfc().collect()
}

/// A name that an account may have, composed.
///
/// # Errors
/// What is wrong with it, in words.
pub fn name(text: &str) -> Result<String, String> {
    let name = composed(text);
    if name.trim().is_empty() || name.chars().count() > MAX_NAME_CHARS {
        return Err(format!("must have between 1 and {MAX_NAME_CHARS} characters"));
    }
    if let Some(hidden) = name.chars().find(|letter| !shows(*letter)) {
        return Err(format!("has {}, which does not show: type the name without it", place(hidden)));
    }
    if name.starts_with(' ') || name.ends_with(' ') || name.contains("  ") {
        return Err("must have one space between words, and none before or behind".to_owned());
    }
    Ok(name)
}

fn place(letter: char) -> String {
    format!("U+{:04X}", u32::from(letter))
}

/// Whether a character shows by itself, or is the plain space.
fn shows(letter: char) -> bool {
    use GeneralCategory as Is;
    let hidden = match letter.general_category() {
        Is::Control | Is::Format | Is::LineSeparator | Is::ParagraphSeparator => true,
        Is::PrivateUse | Is::Surrogate | Is::Unassigned => true,
        Is::SpaceSeparator => letter != ' ',
        _ => false,
    };
    // What a display passes over (Default_Ignorable_Code_Point) has no skeleton. The braille pattern without dots shows nothing.
    !hidden && letter != '\u{2800}' && skeleton(letter.encode_utf8(&mut [0; 4])).next().is_some()
}

/// Whether there is nothing to read in a text: no character in it shows.
pub fn is_blank(text: &str) -> bool {
    !text.chars().any(|letter| letter != ' ' && shows(letter))
}

/// Whether people take two names for the same: whether their skeletons (UTS 39, section 4) are, in capital letters or small
/// ones. Both orders count: a capital `I` looks like a small `l`, and a capital Cyrillic letter may look like none of ours
/// while the small one does.
pub fn looks_like(one: &str, other: &str) -> bool {
    let bare = |name: &str| skeleton(name).collect::<String>();
    let small = |name: &str| name.to_uppercase().to_lowercase();
    let ways = |name: &str| [bare(name), bare(&small(name)), small(&bare(name))];
    ways(one).iter().zip(ways(other)).any(|(one, other)| *one == other)
}

/// Whether a character makes text read in another way than it is written, or is of no use in it: a control character other
/// than the ends of lines and tabs, another kind of line end, an embedding, override or isolate of writing direction
/// (Unicode Standard Annex 9, section 2). Marks of direction (U+200E, U+200F, U+061C) belong to Arabic and Hebrew text.
fn misleads(letter: char) -> bool {
    (letter.is_control() && !matches!(letter, '\n' | '\t'))
        || matches!(letter, '\u{2028}' | '\u{2029}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Holds a text to what reads the same everywhere.
///
/// # Errors
/// Names the field and the character.
pub fn plain(field: &str, text: &str) -> Result<(), FieldError> {
    match text.chars().find(|letter| misleads(*letter)) {
        None => Ok(()),
        Some(letter) => {
            let problem = format!(
                "has {}, with which it could read differently on screen and on paper: type it without",
                place(letter)
            );
            Err(FieldError::new(field, problem))
        }
    }
}

/// Holds every text in something to that; fields are named below `of`.
///
/// # Errors
/// Names the first field, and the character.
pub fn all_plain(of: &str, something: &impl Serialize) -> Result<(), FieldError> {
    let value = serde_json::to_value(something).map_err(|error| FieldError::new(of, error.to_string()))?;
    each_plain(of, &value)
}

fn each_plain(of: &str, value: &Value) -> Result<(), FieldError> {
    match value {
        Value::String(text) => plain(of, text),
        Value::Array(all) => {
            all.iter().enumerate().try_for_each(|(place, one)| each_plain(&format!("{of}[{place}]"), one))
        }
        Value::Object(fields) => fields.iter().try_for_each(|(name, one)| {
            each_plain(&if of.is_empty() { name.clone() } else { format!("{of}.{name}") }, one)
        }),
        Value::Null | Value::Bool(_) | Value::Number(_) => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_name_is_composed_and_has_nothing_that_does_not_show() {
        // Unicode Standard Annex 15, figure 3: the letter and its mark, and the one character for both.
        assert_eq!(name("A\u{30a}sa O\u{302}liveira").unwrap(), "\u{c5}sa \u{d4}liveira");
        for good in ["Ann", "A. Reviewer", "Zoë O’Neill-Díaz", "李 小龙", "Мария", "محمد", "สมชาย", "José 2"]
        {
            assert_eq!(name(good).unwrap(), good);
        }
        let hidden = [
            '\u{0}',
            '\u{1b}',
            '\n',
            '\t',
            '\u{a0}',
            '\u{ad}',
            '\u{34f}',
            '\u{3164}',
            '\u{115f}',
            '\u{200b}',
            '\u{200d}',
            '\u{200e}',
            '\u{202e}',
            '\u{2028}',
            '\u{2066}',
            '\u{2800}',
            '\u{3000}',
            '\u{fe0f}',
            '\u{feff}',
            '\u{e000}',
            '\u{e0041}',
            '\u{e0100}',
            '\u{378}',
        ];
        for letter in hidden {
            let problem = name(&format!("An{letter}n")).unwrap_err();
            assert!(problem.starts_with(&format!("has U+{:04X}, ", u32::from(letter))), "{problem}");
        }
        for spaced in [" Ann", "Ann ", "Ann  Lee"] {
            assert!(name(spaced).unwrap_err().starts_with("must have one space"), "{spaced:?}");
        }
        for length in [0, 201] {
            assert!(name(&"x".repeat(length)).unwrap_err().starts_with("must have between 1 and 200"));
        }
    }

    #[test]
    fn what_shows_nothing_is_blank() {
        for blank in ["", " \n\t", "\u{200b}", " \u{feff}\u{2060} \u{3164}", "\u{2800}\u{a0}\u{e0041}"] {
            assert!(is_blank(blank), "{blank:?}");
        }
        for text in [".", "\u{200b}x", "\u{5d0}\u{200f}", "\u{1f44d}", "\u{e19}\u{e32}"] {
            assert!(!is_blank(text), "{text:?}");
        }
    }

    /// The first pairs are the examples of UTS 39, section 4 (table 1: mixed-script, single-script and whole-script
    /// confusables), from memory; the rest are single lines of its data file confusables.txt.
    #[test]
    fn names_that_look_alike_are_found() {
        let alike = [
            ("paypal", "p\u{430}yp\u{430}l"),
            ("toys-я-us", "t\u{43e}ys-я-us"),
            ("scope", "\u{455}\u{441}\u{43e}\u{440}\u{435}"),
            ("so\u{31b}s", "s\u{1a1}s"),
            ("Ann", "\u{391}nn"),
            ("Ian", "lan"),
            ("maria", "rnaria"),
            ("O. Lee", "0. Lee"),
            ("Ben", "BEN"),
            ("Zoë", "ZOË"),
            ("Weiß", "WEISS"),
            ("O'Neill", "O\u{2019}Neill"),
        ];
        for (one, other) in alike {
            assert!(looks_like(one, other) && looks_like(other, one), "{one} and {other}");
        }
        for (one, other) in [("Ann", "Anna"), ("Zoë", "Zoe"), ("A. Reviewer", "B. Reviewer"), ("Мария", "Марина")]
        {
            assert!(!looks_like(one, other), "{one} and {other}");
        }
    }

    /// The characters by which text reads otherwise than it is written are those of CVE-2021-42574 (Boucher and Anderson,
    /// "Trojan Source", 2021), from memory.
    #[test]
    fn text_that_reads_otherwise_is_refused_by_its_field() {
        for good in
            ["two\nlines\tand a tab", "עברית \u{200f}(א)", "a zero-width joiner: \u{646}\u{645}\u{6cc}\u{200c}\u{62e}"]
        {
            plain("reason", good).unwrap();
        }
        for letter in
            "\u{0}\u{7}\r\u{1b}\u{7f}\u{85}\u{2028}\u{202a}\u{202b}\u{202c}\u{202d}\u{202e}\u{2066}\u{2069}".chars()
        {
            let error = plain("reason", &format!("gave {letter}5 mg")).unwrap_err();
            assert!(error.field == "reason" && error.problem.contains(&format!("U+{:04X}", u32::from(letter))));
        }
        let deep =
            json!({"what": "debriefed", "follow_ups": [{"who": "A"}, {"who": "B\u{202e}"}], "n": 1, "none": null});
        assert_eq!(all_plain("", &deep).unwrap_err().field, "follow_ups[1].who");
    }
}
