//! The trade's words in a customer's: what the customer's copy says in place of what a bench reads.

use crate::job::Tone;

/// Phrases as the program writes them, and what a customer reads; the longer ones first.
const PHRASES: [(&str, &str); 15] = [
    (" comes and goes between its ends", " makes contact only now and then"),
    (" comes and goes", " makes contact only now and then"),
    (" has gained resistance between its ends", " no longer conducts well"),
    (" has gained resistance", " no longer conducts well"),
    (" is broken between its ends", " is broken"),
    (" is open", " lets nothing through"),
    (" is half shorted", " has lost half of its winding to a fault inside"),
    (" is shorted", " is short-circuited"),
    ("steady while flexed", "steady"),
    ("tip of the plug to sleeve of the plug", "tip to sleeve of the plug"),
    ("the plug of the cable", "the plug"),
    ("while flexing", "while moving"),
    ("while prodding", "while touching"),
    ("over range", "no connection"),
    ("the braid", "the woven screen"),
];

/// Single words in the same way.
const WORDS: [(&str, &str); 9] = [
    ("joint", "solder joint"),
    ("joints", "solder joints"),
    ("lug", "terminal"),
    ("lugs", "terminals"),
    ("pot", "control"),
    ("pots", "controls"),
    ("hot", "signal"),
    ("Hot", "Signal"),
    ("flexed", "moved"),
];

/// Returns words of the program in a customer's words.
pub(super) fn plainly(text: &str) -> String {
    let text = without_numbers(text);
    let text = PHRASES.iter().fold(text, |text, (trade, plain)| text.replace(trade, plain));
    in_words(&text, &WORDS)
}

/// Returns a text with single words put in the place of others.
pub(super) fn in_words(text: &str, words: &[(&str, &str)]) -> String {
    let word = |piece: &str| {
        let bare = piece.trim_end_matches(|c: char| !c.is_alphanumeric());
        let plain = words.iter().find(|(trade, _)| *trade == bare).map_or(bare, |(_, plain)| plain);
        format!("{plain}{}", &piece[bare.len()..])
    };
    text.split_inclusive(|c: char| !c.is_alphanumeric()).map(word).collect()
}

/// Returns what a meter showed in a customer's words; that a still reading is steady is nothing that anybody watched.
pub(super) fn shown(found: &str) -> String {
    plainly(found.strip_suffix(", steady").unwrap_or(found))
}

/// Leaves out the numbers of lugs: `the input lug (lug 3)` is `the input lug`.
fn without_numbers(text: &str) -> String {
    let mut text = text.to_owned();
    while let Some(start) = text.find(" (lug ") {
        let Some(length) = text[start..].find(')') else { break };
        text.replace_range(start..=start + length, "");
    }
    text
}

/// Returns how a fault sounds, in a customer's words.
pub(super) fn heard(tone: &Tone) -> String {
    let when = if tone.comes_and_goes() { "While this fault shows itself," } else { "With this fault" };
    format!("{when} {}.", difference(tone.level, tone.treble))
}

fn difference(level: f64, treble: f64) -> String {
    if Tone::leaves_nothing(level, treble) {
        return "no sound reaches the amplifier".to_owned();
    }
    let all: Vec<&str> = loudness(level).into_iter().chain(brightness(treble - level)).collect();
    if all.is_empty() {
        return "the strings themselves sound as they should".to_owned();
    }
    format!("the instrument sounds {}", all.join(" and "))
}

/// Half as much is 6 dB; about 1.5 dB can just be heard (common practice, no source).
fn loudness(level: f64) -> Option<&'static str> {
    match level {
        _ if level <= -20.0 => Some("very quiet"),
        _ if level <= -6.0 => Some("much quieter"),
        _ if level <= -1.5 => Some("a little quieter"),
        _ if level >= 1.5 => Some("louder"),
        _ => None,
    }
}

fn brightness(beside: f64) -> Option<&'static str> {
    match beside {
        _ if beside <= -20.0 => Some("very dull"),
        _ if beside <= -6.0 => Some("much duller"),
        _ if beside <= -1.5 => Some("a little duller"),
        _ if beside >= 6.0 => Some("thin"),
        _ if beside >= 1.5 => Some("a little thinner"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("the potting of the pot, flexed", "the potting of the control, moved")]
    #[case(
        "the sleeve lug (lug 1) of the jack comes and goes",
        "the sleeve terminal of the jack makes contact only now and then"
    )]
    #[case(
        "tip of the plug to sleeve of the plug, while flexing the plug of the cable",
        "tip to sleeve of the plug, while moving the plug"
    )]
    fn the_trades_words_are_told_in_a_customers(#[case] trade: &str, #[case] plain: &str) {
        assert_eq!(plainly(trade), plain);
    }

    #[rstest]
    #[case("7.5 kΩ, steady", "7.5 kΩ")]
    #[case("7.5 kΩ, steady while flexed", "7.5 kΩ, steady")]
    #[case("over range", "no connection")]
    fn only_what_was_watched_is_called_steady(#[case] found: &str, #[case] words: &str) {
        assert_eq!(shown(found), words);
    }

    #[rstest]
    #[case(-70.0, -80.0, "no sound reaches the amplifier")]
    #[case(0.3, -0.4, "the strings themselves sound as they should")]
    #[case(-12.0, -12.0, "the instrument sounds much quieter")]
    #[case(-2.0, -30.0, "the instrument sounds a little quieter and very dull")]
    #[case(-25.0, -10.0, "the instrument sounds very quiet and thin")]
    fn a_difference_is_what_is_heard(#[case] level: f64, #[case] treble: f64, #[case] words: &str) {
        assert_eq!(difference(level, treble), words);
    }
}
