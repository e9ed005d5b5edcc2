//! The trade's words in a customer's: what the customer's copy says in place of what a bench reads.

use crate::job::Tone;

/// Phrases as the program writes them, and what a customer reads; the longer ones first.
const PHRASES: [(&str, &str); 13] = [
    (" comes and goes between its ends", " makes contact only now and then"),
    (" comes and goes", " makes contact only now and then"),
    (" has gained resistance between its ends", " no longer conducts well"),
    (" has gained resistance", " no longer conducts well"),
    (" is broken between its ends", " is broken"),
    (" is open", " lets nothing through"),
    (" is half shorted", " has lost half of its winding to a fault inside"),
    (" is shorted", " is short-circuited"),
    ("steady while flexed", "steady while moved"),
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

/// How many decibels below healthy nothing is heard any more.
const SILENT: f64 = -60.0;

/// Returns words of the program in a customer's words.
pub(super) fn plainly(text: &str) -> String {
    let text = without_numbers(text);
    let text = PHRASES.iter().fold(text, |text, (trade, plain)| text.replace(trade, plain));
    text.split_inclusive(|c: char| !c.is_alphanumeric()).map(word).collect()
}

fn word(piece: &str) -> String {
    let bare = piece.trim_end_matches(|c: char| !c.is_alphanumeric());
    let plain = WORDS.iter().find(|(trade, _)| *trade == bare).map_or(bare, |(_, plain)| plain);
    format!("{plain}{}", &piece[bare.len()..])
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

/// Returns a named fault in a customer's words, and in a sentence of its own how many places would measure the same.
pub(super) fn fault(sentence: &str) -> String {
    match sentence.split_once(", or one ") {
        Some((first, others)) => {
            let others = others.trim_end_matches(" that no reading tells apart");
            format!("{}.\nA fault in one {others} would measure the same.", plainly(first))
        }
        None if sentence.is_empty() => String::new(),
        None => format!("{}.", plainly(sentence.trim_end_matches('.'))),
    }
}

/// Returns how a fault sounds, in a customer's words.
pub(super) fn heard(tone: &Tone) -> String {
    let when = if tone.sentence.starts_with("while it shows") {
        "While this fault shows itself,"
    } else {
        "With this fault"
    };
    format!("{when} {}.", difference(tone.level, tone.treble))
}

fn difference(level: f64, treble: f64) -> String {
    if level <= SILENT && treble <= SILENT {
        return "no sound reaches the amplifier".to_owned();
    }
    let all: Vec<&str> = loudness(level).into_iter().chain(brightness(treble - level)).collect();
    if all.is_empty() {
        return "the instrument sounds as it should".to_owned();
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
    use crate::circuit::{self, Network};
    use crate::faults::{Catalogue, Priors};
    use crate::source::Source;
    use rstest::rstest;

    #[test]
    fn a_fault_is_told_without_the_trades_words() {
        let named = "The joint of the ground wire at the sleeve lug (lug 1) of the jack comes and goes, \
                     or one of 3 other places that no reading tells apart";
        assert_eq!(
            fault(named),
            "The solder joint of the ground wire at the sleeve terminal of the jack makes contact only now and then.\n\
             A fault in one of 3 other places would measure the same."
        );
        assert_eq!(plainly("the potting of the pot, flexed"), "the potting of the control, moved");
        assert_eq!((fault(""), fault("It is open")), (String::new(), "It lets nothing through.".to_owned()));
    }

    #[test]
    fn no_fault_of_any_wiring_keeps_a_word_that_a_customer_does_not_know() {
        for (name, text) in circuit::built_in() {
            let harness = circuit::load(&Source::new(*name, *text)).unwrap();
            let catalogue = Catalogue::derive(&harness, &Network::new(&harness), Priors::built_in());
            for told in catalogue.faults.iter().map(|named| fault(&named.sentence)) {
                for word in [" lug", " pot ", "comes and goes", "gained resistance", "between its ends"] {
                    assert!(!told.contains(word), "{name}: {told}");
                }
            }
        }
    }

    #[rstest]
    #[case(-70.0, -80.0, "no sound reaches the amplifier")]
    #[case(0.3, -0.4, "the instrument sounds as it should")]
    #[case(-12.0, -12.0, "the instrument sounds much quieter")]
    #[case(-2.0, -30.0, "the instrument sounds a little quieter and very dull")]
    #[case(-25.0, -10.0, "the instrument sounds very quiet and thin")]
    fn a_difference_is_what_is_heard(#[case] level: f64, #[case] treble: f64, #[case] words: &str) {
        assert_eq!(difference(level, treble), words);
    }
}
