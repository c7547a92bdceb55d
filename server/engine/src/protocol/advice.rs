//! Words that would order or advise the end of a resuscitation. This program never does: an arrest that lasts may have
//! information for its leader, and the team decides. It reads English, sentence by sentence; what may be stopped is listed,
//! so that an order to stop anything else is refused.

/// Verbs that end something.
const STOP: &[&str] = &["stop", "ceas", "terminat", "discontinu", "abandon", "halt"];
/// What begins like such a verb and is none.
const NO_VERB: &[&str] = &["stopcock", "stopwatch"];
/// What a task may well ask to be stopped.
const STOPPABLE: &[&str] = &[
    "magnesium",
    "anaesthetic",
    "anesthetic",
    "infusion",
    "infusions",
    "pump",
    "pumps",
    "bleeding",
    "haemorrhage",
    "hemorrhage",
    "dialysis",
    "oxytocin",
    "opioid",
    "opioids",
    "insulin",
    "potassium",
    "transfusion",
];
/// Words between a verb and what it is about.
const FILLERS: &[&str] = &["the", "a", "an", "any", "all", "its", "every", "of", "local", "and", "each", "running"];
/// Verbs that end something only together with what they are about: they have other uses.
const END: &[&str] =
    &["end", "ends", "ended", "ending", "finish", "withhold", "withdraw", "forgo", "forego", "suspend", "conclude"];
/// What a resuscitation consists of.
const EFFORTS: &[&str] = &[
    "cpr",
    "resuscitation",
    "resuscitating",
    "compression",
    "compressions",
    "als",
    "acls",
    "pals",
    "effort",
    "efforts",
    "code",
    "attempt",
    "attempts",
    "ventilation",
    "ecmo",
    "ecpr",
];
/// What says no more than itself.
const PHRASES: &[&str] = &[
    "give up",
    "giving up",
    "quit",
    "given up",
    "futile",
    "futility",
    "call the code",
    "call it",
    "time of death",
    "pronounce",
    "declare death",
    "declare dead",
    "not resuscitate",
    "no resuscitation",
    "dnr",
    "dnar",
    "dnacpr",
    "natural death",
    "comfort care",
    "palliative",
    "palliate",
    "unsurvivable",
    "not survivable",
    "let the patient die",
    "let the patient go",
    "no further cpr",
    "no further compressions",
    "no further shocks",
    "no further efforts",
    "no further attempts",
    "no more cpr",
    "no more compressions",
    "no more shocks",
    "hands off the chest",
];
const NEGATIONS: &[&str] = &["not", "never", "no", "without", "nor"];
/// How many words before a verb a negation may stand: "not hesitate to stop" is an order.
const NEGATION_WITHIN: usize = 2;
/// What turns information into advice.
const MODALS: &[&str] = &[
    "should",
    "must",
    "shall",
    "ought",
    "recommend",
    "recommended",
    "recommends",
    "advise",
    "advised",
    "need",
    "needs",
];

/// The words of a text that order an end, if it has any.
pub(super) fn order_to_end(text: &str) -> Option<String> {
    sentences(text).find_map(|words| ordered(&words))
}

/// What makes advice of a sentence about ending: such a sentence informs.
pub(super) fn advice_about_ending(text: &str) -> Option<String> {
    order_to_end(text).or_else(|| {
        sentences(text).find_map(|words| {
            let denied = words.iter().any(|word| NEGATIONS.contains(&word.as_str()));
            let modal = words.iter().find(|word| MODALS.contains(&word.as_str()) && !denied);
            let urged = words.first().filter(|word| word.as_str() == "consider");
            modal.or(urged).cloned()
        })
    })
}

fn sentences(text: &str) -> impl Iterator<Item = Vec<String>> {
    text.split(['.', ';', ':', '!', '?', '\n']).map(|sentence| {
        let lower =
            sentence.to_lowercase().replace("n't", " not").replace("n\u{2019}t", " not").replace("non-stop", "nonstop");
        lower
            .split(|letter: char| !letter.is_alphanumeric())
            .filter(|word| !word.is_empty())
            .map(str::to_owned)
            .collect()
    })
}

fn ordered(words: &[String]) -> Option<String> {
    let joined = format!(" {} ", words.join(" "));
    if let Some(phrase) = PHRASES.iter().find(|phrase| joined.contains(&format!(" {phrase} "))) {
        return Some((*phrase).to_owned());
    }
    words.iter().enumerate().find_map(|(place, word)| {
        let stops = STOP.iter().any(|verb| word.starts_with(verb)) && !NO_VERB.contains(&word.as_str());
        let ends = END.contains(&word.as_str());
        if !(stops || ends) || is_denied(words, place) {
            return None;
        }
        if ends {
            return words
                .iter()
                .find(|word| EFFORTS.contains(&word.as_str()))
                .map(|effort| format!("{word} ... {effort}"));
        }
        let object = words[place + 1..].iter().find(|word| !FILLERS.contains(&word.as_str()));
        let harmless = object.is_some_and(|object| STOPPABLE.contains(&object.as_str()));
        (!harmless).then(|| object.map_or_else(|| word.clone(), |object| format!("{word} {object}")))
    })
}

/// Whether one negation stands just before a verb; two make an order again.
fn is_denied(words: &[String], place: usize) -> bool {
    let is_negation = |word: &&String| NEGATIONS.contains(&word.as_str());
    let near = words[place.saturating_sub(NEGATION_WITHIN)..place].iter().filter(is_negation).count();
    near == 1 && words[..place].iter().filter(is_negation).count() == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn orders_to_end_are_found_however_they_are_put() {
        for text in [
            "Stop CPR",
            "At 20 min stop resuscitation.",
            "Consider stopping",
            "stop",
            "Then cease all resuscitation efforts; inform the family",
            "Terminate",
            "Termination is reasonable",
            "CPR may be discontinued",
            "compressions are stopped",
            "End the code",
            "the code should end",
            "withdraw ventilation",
            "Do not hesitate to stop CPR",
            "there is no reason not to stop",
            "don\u{2019}t resuscitate",
            "Further efforts are futile",
            "call it",
            "No further compressions",
            "Give up",
        ] {
            assert!(order_to_end(text).is_some(), "{text}");
        }
        for text in [
            "Stop magnesium, if it runs",
            "Stop the local anaesthetic",
            "compressions are never stopped on ETCO2 alone",
            "Do not stop compressions",
            "Shocks do not end the rhythm",
            "No validated rule says when an arrest in hospital should end: the team decides.",
            "an order that limits treatment was found: what does it mean now?",
            "Not dead until warm, unless there are obvious lethal signs.",
            "After lysis CPR goes on",
            "withheld",
        ] {
            assert_eq!(order_to_end(text), None, "{text}");
        }
    }

    #[test]
    fn what_is_said_of_an_ending_informs() {
        for text in ["The team should think of the end", "Consider the end", "An end is recommended after 20 min"] {
            assert!(advice_about_ending(text).is_some(), "{text}");
        }
        for text in [
            "The guideline says to consider the whole picture.",
            "No validated rule says when an arrest in hospital should end: the team decides.",
            "In a child no ETCO2 value is advised as a limit for deciding about ending.",
        ] {
            assert_eq!(advice_about_ending(text), None, "{text}");
        }
    }
}
