//! Amounts in words: every number of a sentence with its unit, so that it can be held against the numbers of the file.
//! What an amount is of, this module must not know.

/// A number that a sentence names.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Quantity {
    /// In the unit that stands for its kind, such as seconds for every time.
    pub(super) value: f64,
    /// What kind of amount it is; empty where no unit stands beside it.
    pub(super) kind: &'static str,
    /// As the sentence has it.
    pub(super) words: String,
}

/// Units: how they are written, the kind they belong to, and how many of that kind's unit they are. The longest first, since
/// one begins another.
const UNITS: &[(&str, &str, f64)] = &[
    ("micrograms/kg", "mg/kg", 1e-3),
    ("microgram/kg", "mg/kg", 1e-3),
    ("degrees celsius", "c", 1.0),
    ("compressions", "compressions", 1.0),
    ("millilitres", "ml", 1.0),
    ("milligrams", "mg", 1.0),
    ("micrograms", "mg", 1e-3),
    ("microgram", "mg", 1e-3),
    ("a minute", "/min", 1.0),
    ("minutes", "s", 60.0),
    ("seconds", "s", 1.0),
    ("joules", "j", 1.0),
    ("degrees", "c", 1.0),
    ("minute", "s", 60.0),
    ("second", "s", 1.0),
    ("breaths", "breaths", 1.0),
    ("shocks", "shocks", 1.0),
    ("months", "months", 1.0),
    ("mmol/l", "mmol/l", 1.0),
    ("mcg/kg", "mg/kg", 1e-3),
    ("mg/kg", "mg/kg", 1.0),
    ("\u{b5}g/kg", "mg/kg", 1e-3),
    ("ug/kg", "mg/kg", 1e-3),
    ("mg/ml", "mg/ml", 1.0),
    ("ml/kg", "ml/kg", 1.0),
    ("mg/dl", "mg/dl", 1.0),
    ("units", "units", 1.0),
    ("hours", "s", 3_600.0),
    ("weeks", "weeks", 1.0),
    ("years", "months", 12.0),
    ("shock", "shocks", 1.0),
    ("j/kg", "j/kg", 1.0),
    ("mmhg", "mmhg", 1.0),
    ("/min", "/min", 1.0),
    ("hour", "s", 3_600.0),
    ("lead", "lead", 1.0),
    ("mcg", "mg", 1e-3),
    ("kpa", "mmhg", 7.500_62),
    ("min", "s", 60.0),
    ("sec", "s", 1.0),
    ("\u{b5}g", "mg", 1e-3),
    ("ug", "mg", 1e-3),
    ("mg", "mg", 1.0),
    ("ml", "ml", 1.0),
    ("kg", "kg", 1.0),
    ("\u{b0}c", "c", 1.0),
    ("th", "th", 1.0),
    ("st", "th", 1.0),
    ("nd", "th", 1.0),
    ("rd", "th", 1.0),
    ("g", "mg", 1e3),
    ("l", "ml", 1e3),
    ("h", "s", 3_600.0),
    ("s", "s", 1.0),
    ("j", "j", 1.0),
    ("%", "%", 1.0),
];

/// Numbers written out. The small ones are often no amount ("two patients") and count only beside a unit.
const SPELT: &[(&str, f64)] = &[
    ("one", 1.0),
    ("two", 2.0),
    ("three", 3.0),
    ("four", 4.0),
    ("five", 5.0),
    ("six", 6.0),
    ("seven", 7.0),
    ("eight", 8.0),
    ("nine", 9.0),
    ("ten", 10.0),
    ("eleven", 11.0),
    ("twelve", 12.0),
    ("fifteen", 15.0),
    ("twenty", 20.0),
    ("thirty", 30.0),
    ("forty", 40.0),
    ("fifty", 50.0),
    ("sixty", 60.0),
    ("seventy", 70.0),
    ("eighty", 80.0),
    ("ninety", 90.0),
    ("hundred", 100.0),
    ("thousand", 1_000.0),
];
const OFTEN_NO_AMOUNT: f64 = 12.0;

/// What stands between the two numbers of a range, which share a unit.
const BETWEEN: &[&str] = &["to", "and", "or", "-", "\u{2013}", ",", "/"];

/// A number before its unit is settled.
struct Number {
    value: f64,
    start: usize,
    end: usize,
    spelt: bool,
    unit: Option<Unit>,
}

/// A unit beside a number: the kind it belongs to, how many of that kind's unit it is, and where it stands.
#[derive(Clone)]
struct Unit {
    kind: &'static str,
    factor: f64,
    span: std::ops::Range<usize>,
}

/// Every amount of a sentence. A year without a unit is none.
pub(super) fn quantities(text: &str) -> Vec<Quantity> {
    let lower: Vec<char> = text.chars().flat_map(char::to_lowercase).collect();
    let mut numbers = numbers(&lower);
    for place in (0..numbers.len().saturating_sub(1)).rev() {
        let between: String = lower[numbers[place].end..numbers[place + 1].start].iter().collect();
        if numbers[place].unit.is_none() && BETWEEN.contains(&between.trim()) {
            numbers[place].unit = numbers[place + 1].unit.clone();
        }
    }
    let mut found = Vec::new();
    let mut rest = numbers.iter().peekable();
    while let Some(number) = rest.next() {
        let words = |end: usize| lower[number.start..end].iter().collect::<String>();
        // 30:2 is one thing to say, not two.
        if let Some(next) = rest.next_if(|next| lower[number.end..next.start] == [':']) {
            found.push(Quantity { value: ratio(number.value, next.value), kind: "ratio", words: words(next.end) });
            continue;
        }
        let (kind, factor) = number.unit.as_ref().map_or(("", 1.0), |unit| (unit.kind, unit.factor));
        let year = kind.is_empty() && number.end - number.start == 4 && (1_900.0..2_100.0).contains(&number.value);
        let no_amount = kind.is_empty() && number.spelt && number.value <= OFTEN_NO_AMOUNT;
        if !year && !no_amount {
            let unit = number.unit.as_ref().map_or(String::new(), |unit| lower[unit.span.clone()].iter().collect());
            let words = format!("{} {unit}", words(number.end)).trim_end().to_owned();
            found.push(Quantity { value: number.value * factor, kind, words });
        }
    }
    found
}

/// A ratio of compressions to breaths as one number, so that two can be compared.
pub(super) fn ratio(compressions: f64, breaths: f64) -> f64 {
    compressions * 1_000.0 + breaths
}

fn numbers(text: &[char]) -> Vec<Number> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < text.len() {
        let start = at;
        if text[at].is_alphanumeric() {
            while at < text.len() && text[at].is_alphanumeric() {
                at += 1;
            }
        } else {
            at += 1;
            continue;
        }
        let word: String = text[start..at].iter().collect();
        let named = start > 1 && text[start - 1] == '-' && text[start - 2].is_alphabetic();
        let value = match text[start].is_ascii_digit() {
            true if named => None,
            true => {
                at = end_of_digits(text, start);
                text[start..at].iter().collect::<String>().replace(',', ".").parse().ok()
            }
            false => SPELT.iter().find(|(spelt, _)| *spelt == word).map(|(_, value)| *value),
        };
        if let Some(value) = value {
            let (value, end) = thousands(text, value, at);
            at = end;
            found.push(Number { value, start, end, spelt: !text[start].is_ascii_digit(), unit: unit_at(text, end) });
        }
    }
    found
}

/// The end of a number in digits, with a decimal point or comma in it.
fn end_of_digits(text: &[char], start: usize) -> usize {
    let digits = |from: usize| text[from..].iter().take_while(|letter| letter.is_ascii_digit()).count();
    let end = start + digits(start);
    let decimal = text.get(end).is_some_and(|mark| matches!(mark, '.' | ',')) && end + 1 < text.len();
    match if decimal { digits(end + 1) } else { 0 } {
        // A comma before three digits parts thousands.
        0 => end,
        3 if text[end] == ',' => end,
        more => end + 1 + more,
    }
}

/// Takes in the groups of three digits that follow a number, as in 10,000.
fn thousands(text: &[char], mut value: f64, mut end: usize) -> (f64, usize) {
    while let Some([',', a, b, c]) = text.get(end..end + 4) {
        let [Some(a), Some(b), Some(c)] = [a, b, c].map(|digit| digit.to_digit(10)) else { break };
        value = value * 1_000.0 + f64::from(a * 100 + b * 10 + c);
        end += 4;
    }
    (value, end)
}

fn unit_at(text: &[char], end: usize) -> Option<Unit> {
    let skip = text[end..].iter().take_while(|letter| matches!(letter, ' ' | '-' | '\u{a0}' | '\u{202f}')).count();
    let rest = &text[end + skip..];
    let stands = |unit: &str| {
        let length = unit.chars().count();
        rest.len() >= length
            && rest
                .iter()
                .copied()
                .zip(unit.chars())
                .all(|(found, wanted)| found == wanted || (found, wanted) == ('\u{3bc}', '\u{b5}'))
            && (unit == "%" || rest.get(length).is_none_or(|next| !next.is_alphanumeric()))
    };
    let (unit, kind, factor) = UNITS.iter().find(|(unit, _, _)| stands(unit))?;
    let start = end + skip;
    Some(Unit { kind, factor: *factor, span: start..start + unit.chars().count() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_are_found_with_their_units_and_years_and_names_are_not() {
        let cases: &[(&str, &[(f64, &str)])] = &[
            ("SpO2 92 to 98 %", &[(92.0, "%"), (98.0, "%")]),
            ("PaCO2 4.5\u{2013}6,0 kPa", &[(33.752_79, "mmhg"), (45.003_72, "mmhg")]),
            ("for at least 24 h, up to 1 min", &[(86_400.0, "s"), (60.0, "s")]),
            ("then 15:2; 5 breaths", &[(15_002.0, "ratio"), (5.0, "breaths")]),
            ("10 microgram/kg, 0.01 mg/kg, 10 \u{3bc}g/kg", &[(0.01, "mg/kg"), (0.01, "mg/kg"), (0.01, "mg/kg")]),
            ("WMS 2019 and AHA 2020 (S16), COVID-19, SpO2", &[]),
            ("two patients now, Three shocks given", &[(3.0, "shocks")]),
            ("ninety to ninety", &[(90.0, ""), (90.0, "")]),
            ("12-lead ECG; the 10th centile", &[(12.0, "lead"), (10.0, "th")]),
            ("1:10,000", &[(11_000.0, "ratio")]),
            ("2,000 mL or 2 L", &[(2_000.0, "ml"), (2_000.0, "ml")]),
            ("at 94", &[(94.0, "")]),
            ("", &[]),
        ];
        for (text, wanted) in cases {
            let found: Vec<_> = quantities(text).into_iter().map(|one| (one.value, one.kind)).collect();
            assert_eq!(found.len(), wanted.len(), "{text}: {found:?}");
            for (found, wanted) in found.iter().zip(*wanted) {
                assert!((found.0 - wanted.0).abs() < 1e-3 && found.1 == wanted.1, "{text}: {found:?} {wanted:?}");
            }
        }
    }
}
