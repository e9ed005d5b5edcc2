//! A named fault for a customer: where it was in a player's words, then the exact place in brackets.

use super::plain_words::{in_words, plainly};

/// How a joint is said to be, and what it had done for a player; a place follows.
const JOINTS: [(&str, &str); 3] = [
    (" is open", "had come loose"),
    (" comes and goes", "made contact only now and then"),
    (" has gained resistance", "no longer conducted well"),
];

/// The same of a wire between its ends.
const WIRES: [(&str, &str); 2] = [
    (" is broken between its ends", "was broken inside"),
    (" comes and goes between its ends", "made contact only now and then inside"),
];

/// What a joint and a contact that is only pressed are called; a wire and its place follow.
const ENDS: [&str; 2] = ["joint of the ", "pressure contact of the "];
const BLOB: &str = "solder that holds everything on the ";

/// Phrases for parts and wires, and what a player calls them; the longer ones first.
const PHRASES: [(&str, &str); 10] = [
    ("pickup toggle", "pickup switch"),
    ("pickup blade", "pickup switch"),
    ("core of the lead ", "wire "),
    ("screen of the lead ", "screen around the wire "),
    ("core of the ", "wire of the "),
    ("braid of the ", "woven screen of the "),
    ("hot wire ", "wire "),
    ("hot leg ", "leg "),
    ("hot jumper ", "jumper "),
    ("bent ground lug", "bent ground tab"),
];

/// Single words in the same way.
const WORDS: [(&str, &str); 3] =
    [("jack", "output socket"), ("toggle", "pickup switch"), ("blade", "pickup switch")];

/// Returns a named fault in a customer's words. How many other places would measure the same is said as long as nothing
/// proved the repair.
pub(super) fn fault(sentence: &str, proved: bool) -> String {
    let (named, others) = sentence.split_once(", or one ").map_or((sentence, None), |(a, b)| (a, Some(b)));
    let every = named.split("; and besides: ").filter(|one| !one.trim().is_empty()).map(told);
    let others = others.filter(|_| !proved).map(|others| {
        let others = others.trim_end_matches(" that no reading tells apart");
        format!("A fault in one {others} would measure the same.")
    });
    every.chain(others).collect::<Vec<_>>().join("\n")
}

fn told(one: &str) -> String {
    let bare = one.trim_start_matches("The ").trim_start_matches("the ");
    match loose(bare).or_else(|| blob(bare)).or_else(|| broken(bare)) {
        Some((said, exact)) => format!("{said}. (Exactly: the {}.)", plainly(exact)),
        None => format!("{}.", plainly(one.trim_end_matches('.'))),
    }
}

/// Tells a joint at an end of a wire, and returns its exact words too.
fn loose(bare: &str) -> Option<(String, &str)> {
    let (exact, happened) = ended(bare, &JOINTS)?;
    let joint = ENDS.iter().find_map(|end| exact.strip_prefix(end))?;
    let (wire, place) = joint.rsplit_once(" at the ")?;
    let (wire, place) = (players(wire), part(place));
    Some((format!("The {wire} {happened} at the {}", shortly(&wire, &place)), exact))
}

/// Tells the solder that holds everything at a place.
fn blob(bare: &str) -> Option<(String, &str)> {
    let (exact, happened) = ended(bare, &JOINTS)?;
    let place = part(exact.strip_prefix(BLOB)?);
    Some((format!("What is soldered together at the {place} {happened}"), exact))
}

/// Tells a wire between its ends.
fn broken(bare: &str) -> Option<(String, &str)> {
    let (exact, happened) = ended(bare, &WIRES)?;
    Some((format!("The {} {happened}", players(exact)), exact))
}

/// Returns what comes before the ending that a sentence has, and what it means.
fn ended<'a>(bare: &'a str, endings: &[(&str, &'static str)]) -> Option<(&'a str, &'static str)> {
    endings.iter().find_map(|(end, happened)| Some((bare.strip_suffix(end)?, *happened)))
}

/// Returns the part that a place belongs to: `tip lug of the jack` is at the output socket.
fn part(place: &str) -> String {
    players(place.rsplit_once(" of the ").map_or(place, |(_, part)| part))
}

fn players(text: &str) -> String {
    let text = PHRASES.iter().fold(text.to_owned(), |text, (trade, plain)| text.replace(trade, plain));
    plainly(&in_words(&text, &WORDS))
}

/// Returns the place in one word, when the wire is named by it last and nothing else in its name is called so.
fn shortly<'a>(wire: &str, place: &'a str) -> &'a str {
    let last = place.rsplit_once(' ').map_or(place, |(_, last)| last);
    if wire.ends_with(place) && wire.matches(last).count() == 1 { last } else { place }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{self, Network};
    use crate::faults::{Catalogue, Kind, Priors};
    use crate::source::Source;
    use rstest::rstest;

    #[rstest]
    #[case::joint(
        "The joint of the core of the lead from the toggle to the jack at the tip lug of the jack is open",
        "The wire from the pickup switch to the output socket had come loose at the socket. (Exactly: the solder joint \
         of the core of the lead from the toggle to the jack at the tip terminal of the jack.)"
    )]
    #[case::other_end(
        "The joint of the hot wire from the volume pot to the jack at the output lug (lug 2) of the volume pot has \
         gained resistance",
        "The wire from the volume control to the output socket no longer conducted well at the volume control. \
         (Exactly: the solder joint of the signal wire from the volume control to the jack at the output terminal of \
         the volume control.)"
    )]
    #[case::two_controls(
        "The joint of the wire from the volume pot to the tone pot at the wiper lug (lug 2) of the tone pot comes and \
         goes",
        "The wire from the volume control to the tone control made contact only now and then at the tone control. \
         (Exactly: the solder joint of the wire from the volume control to the tone control at the wiper terminal of \
         the tone control.)"
    )]
    #[case::blob(
        "The solder that holds everything on the sleeve lug of the jack comes and goes",
        "What is soldered together at the output socket made contact only now and then. (Exactly: the solder that holds \
         everything on the sleeve terminal of the jack.)"
    )]
    #[case::wire(
        "The core of the neck pickup's lead is broken between its ends",
        "The wire of the neck pickup's lead was broken inside. (Exactly: the core of the neck pickup's lead.)"
    )]
    #[case::no_joint(
        "The coil of the neck pickup is open",
        "The coil of the neck pickup lets nothing through."
    )]
    #[case::nothing("", "")]
    fn a_fault_is_told_where_a_player_knows_it(#[case] named: &str, #[case] said: &str) {
        assert_eq!(fault(named, true), said);
    }

    #[test]
    fn other_places_are_told_until_the_repair_is_proved() {
        let named = "The battery is flat, or one of 3 other places that no reading tells apart";
        let others = "\nA fault in one of 3 other places would measure the same.";
        assert_eq!(fault(named, false), format!("The battery is flat.{others}"));
        assert_eq!(fault(named, true), "The battery is flat.");
    }

    #[test]
    fn no_fault_of_any_wiring_keeps_a_word_that_a_customer_does_not_know() {
        for (name, text) in circuit::built_in() {
            let harness = circuit::load(&Source::new(*name, *text)).unwrap();
            let catalogue = Catalogue::derive(&harness, &Network::new(&harness), Priors::built_in());
            for named in &catalogue.faults {
                let told = fault(&named.sentence, false);
                for word in [" lug", " pot ", "comes and goes", "gained resistance", "between its ends"] {
                    assert!(!told.contains(word), "{name}: {told}");
                }
                let joint = matches!(named.kind, Kind::JointOpen | Kind::JointHigh | Kind::JointIntermittent);
                assert!(!joint || told.contains(" (Exactly: the "), "{name}: {told}");
            }
        }
    }
}
