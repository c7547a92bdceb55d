//! The helping page's words, by the language that the browser asks for, or that somebody chose on the page.

/// A language of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Language {
    /// Its tag, such as `es`.
    pub(super) tag: &'static str,
    /// What it calls itself.
    own_name: &'static str,
    /// The page's title and what stands in it.
    pub(super) words: &'static str,
}

const LANGUAGES: [Language; 4] = [
    Language { tag: "en", own_name: "English", words: include_str!("en.html") },
    Language { tag: "es", own_name: "Español", words: include_str!("es.html") },
    Language { tag: "fr", own_name: "Français", words: include_str!("fr.html") },
    Language { tag: "pt", own_name: "Português", words: include_str!("pt.html") },
];

/// The one that was chosen (`lang=fr` in the query), else the one of ours that `Accept-Language` (RFC 9110, 12.5.4) prefers,
/// whatever its region; English where there is none.
pub(super) fn language(query: Option<&str>, accept: Option<&str>) -> Language {
    let chosen = query.unwrap_or_default().split('&').find_map(|pair| pair.strip_prefix("lang="));
    let [english, ..] = LANGUAGES;
    chosen.and_then(ours).or_else(|| preferred(accept.unwrap_or_default())).unwrap_or(english)
}

fn ours(tag: &str) -> Option<Language> {
    let primary = tag.trim().split('-').next().unwrap_or_default();
    LANGUAGES.into_iter().find(|language| language.tag.eq_ignore_ascii_case(primary))
}

fn preferred(accept: &str) -> Option<Language> {
    let mut asked: Vec<(f32, Language)> = accept.split(',').filter_map(weighted).collect();
    // Of equal weight the first counts: the sort is stable.
    asked.sort_by(|(left, _), (right, _)| right.total_cmp(left));
    asked.first().map(|(_, language)| *language)
}

/// A language range that is one of ours, with its weight; none where it is not wanted at all.
fn weighted(range: &str) -> Option<(f32, Language)> {
    let (tag, parameter) = range.split_once(';').unwrap_or((range, ""));
    let weight = match parameter.trim().strip_prefix("q=") {
        Some(weight) => weight.trim().parse::<f32>().ok()?,
        None => 1.0,
    };
    (weight > 0.0).then(|| ours(tag).map(|language| (weight, language)))?
}

/// Links to the other languages; the present one stands as a word.
pub(super) fn choice(present: Language) -> String {
    let items = LANGUAGES.map(|language| {
        let Language { tag, own_name, .. } = language;
        if language == present {
            format!("<b lang=\"{tag}\" aria-current=\"true\">{own_name}</b>")
        } else {
            format!("<a lang=\"{tag}\" hreflang=\"{tag}\" href=\"?lang={tag}\">{own_name}</a>")
        }
    });
    format!("<nav class=\"tongues\">{}</nav>", items.concat())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_browser_is_answered_in_its_language_and_a_choice_overrules_it() {
        let of = |query, accept| language(query, accept).tag;
        // RFC 9110, 12.5.4: "da, en-gb;q=0.8, en;q=0.7".
        assert_eq!(of(None, Some("da, en-gb;q=0.8, en;q=0.7")), "en");
        assert_eq!(of(None, Some("fr-CH, fr;q=0.9, en;q=0.8, de;q=0.7, *;q=0.5")), "fr");
        assert_eq!(of(None, Some("en;q=0.5, pt-BR;q=0.9")), "pt");
        assert_eq!(of(None, Some("es;q=0, pt")), "pt");
        assert_eq!(of(Some("code=AB12&lang=es"), Some("fr")), "es");
        for nothing in [None, Some(""), Some("xx"), Some("es;q=broken"), Some(";;,,")] {
            assert_eq!(of(Some("lang=xx"), nothing), "en");
        }
    }

    #[test]
    fn every_language_has_the_same_page() {
        // Ids, links and places: all that is not words.
        let bones = |words: &str| {
            let tags = words.split('<').skip(1).filter_map(|rest| rest.split_once('>')).map(|(tag, _)| tag.to_owned());
            let places =
                words.split("{{").skip(1).filter_map(|rest| rest.split_once("}}")).map(|(name, _)| name.to_owned());
            (tags.collect::<Vec<_>>(), places.collect::<Vec<_>>())
        };
        let [english, others @ ..] = LANGUAGES;
        for other in others {
            assert_eq!(bones(other.words), bones(english.words), "{}", other.tag);
            assert_ne!(other.words, english.words);
        }
    }

    #[test]
    fn the_choice_links_to_every_language_but_the_present_one() {
        let [_, spanish, ..] = LANGUAGES;
        let links = choice(spanish);
        assert_eq!(links.matches("href=").count(), LANGUAGES.len() - 1);
        assert!(!links.contains("?lang=es"), "{links}");
    }
}
