//! A named fault for a customer: where it was in a player's words, then the exact place in brackets when it is known.

use super::Fault;
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

/// How the ids of faults that are at one joint end.
const MODES: [&str; 3] = [" open", " intermittent", " high resistance"];

/// Returns a named fault in a customer's words. Of several places that no reading tells apart one is told alone only when
/// the repair that measurements have proved names it.
pub(super) fn fault(named: &Fault, proved_by: Option<&str>) -> String {
    let Some((first, others)) = named.sentence.split_once(", or one ") else {
        return every(&named.sentence).map(told).collect::<Vec<_>>().join("\n");
    };
    if proved_by.is_some_and(|repair| names(repair, first)) && alone(&named.ids) {
        return every(first).map(told).collect::<Vec<_>>().join("\n");
    }
    let wire = named.along.and_then(|along| somewhere(bare(first), along));
    wire.unwrap_or_else(|| {
        let places = every(first).map(|one| said(one).0).collect::<Vec<_>>().join("\n");
        let others = others.trim_end_matches(" that no reading tells apart");
        format!("{places}, or the fault was in one {others}: measuring from outside cannot tell them apart.")
    })
}

fn every(sentence: &str) -> impl Iterator<Item = &str> {
    sentence.split("; and besides: ").filter(|one| !one.trim().is_empty())
}

fn bare(one: &str) -> &str {
    one.trim_start_matches("The ").trim_start_matches("the ")
}

fn told(one: &str) -> String {
    match said(one) {
        (said, Some(exact)) => format!("{said}. (Exactly: the {}.)", plainly(exact)),
        (said, None) => format!("{said}."),
    }
}

/// Returns a fault in a player's words without a full stop, and its exact words when those say more.
fn said(one: &str) -> (String, Option<&str>) {
    let bare = bare(one);
    let known = loose(bare).or_else(|| blob(bare)).or_else(|| broken(bare));
    known.map_or_else(|| (plainly(one.trim_end_matches('.')), None), |(said, exact)| (said, Some(exact)))
}

/// Tells a wire that is bad at one of several places along it.
fn somewhere(bare: &str, along: &str) -> Option<String> {
    let joint = ended(bare, &JOINTS).and_then(|(exact, happened)| {
        let joint = ENDS.iter().find_map(|end| exact.strip_prefix(end))?;
        Some((joint.rsplit_once(" at the ")?.0, happened))
    });
    let (wire, happened) = joint.or_else(|| ended(bare, &WIRES))?;
    let happened = match happened {
        "had come loose" => "had lost contact",
        other => other.trim_end_matches(" inside"),
    };
    let wire = players(wire);
    Some(format!("The {wire} {happened} {along}: measuring from outside cannot tell these places apart."))
}

/// Returns whether a repair names the place of a fault, and no second one.
fn names(repair: &str, first: &str) -> bool {
    let (repair, place) = (repair.to_lowercase(), place(bare(first)).to_lowercase());
    let one = !repair.contains("both") && repair.matches(" at the ").count() < 2;
    one && !place.is_empty() && repair.contains(&place)
}

/// Returns the words that a repair of a fault must say: the lug, the wire or the part.
fn place(bare: &str) -> &str {
    let Some((exact, _)) = ended(bare, &JOINTS).or_else(|| ended(bare, &WIRES)) else {
        let verb = [" is ", " has "].iter().filter_map(|verb| bare.find(verb)).min();
        return verb.map_or("", |verb| &bare[..verb]);
    };
    let lug = exact.rsplit_once(" at the ").map(|(_, lug)| lug).or_else(|| exact.strip_prefix(BLOB));
    lug.unwrap_or(exact)
}

/// Returns whether no other joint of a group is at the place of its first fault.
fn alone(ids: &[String]) -> bool {
    let joint = |id: &str| MODES.iter().find_map(|mode| id.strip_suffix(mode)).unwrap_or(id).to_owned();
    let at = |id: &str| id.split_once('/').map_or(id, |(at, _)| at).to_owned();
    let Some(first) = ids.first() else { return true };
    ids.iter().filter(|id| at(id) == at(first)).all(|id| joint(id) == joint(first))
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
    fn a_fault_is_told_where_a_player_knows_it(#[case] sentence: &str, #[case] said: &str) {
        assert_eq!(fault(&named(sentence, None), None), said);
    }

    fn named(sentence: &str, along: Option<&'static str>) -> Fault {
        Fault {
            at: String::new(),
            sentence: sentence.to_owned(),
            ids: Vec::new(),
            along,
            probability: 0.9,
            advice: String::new(),
            minutes: 15.0,
        }
    }

    #[test]
    fn other_places_are_told_until_a_proved_repair_names_one() {
        let flat = named("The battery is flat, or one of 3 other places that no reading tells apart", None);
        let others =
            ", or the fault was in one of 3 other places: measuring from outside cannot tell them apart.";
        assert_eq!(fault(&flat, None), format!("The battery is flat{others}"));
        assert_eq!(fault(&flat, Some("cleaned everything")), format!("The battery is flat{others}"));
        assert_eq!(fault(&flat, Some("put a new battery in")), "The battery is flat.");
    }

    const TIP: &str = "The joint of the core of the lead from the toggle to the jack at the tip lug of the jack is open, or \
                       one other place that no reading tells apart";

    #[rstest]
    #[case::nobody_says_where(None, false)]
    #[case::the_wire(Some("a new lead from the toggle to the jack"), false)]
    #[case::both_ends(Some("re-soldered both, the tip lug of the jack first"), false)]
    #[case::the_place(Some("Re-soldered the Tip lug of the jack"), true)]
    fn the_ends_of_a_wire_are_told_apart_by_the_repair_alone(
        #[case] proved_by: Option<&str>,
        #[case] exact: bool,
    ) {
        let told = fault(&named(TIP, Some("at one of its two ends or inside it")), proved_by);
        assert_eq!(told.contains("Exactly"), exact, "{told}");
        assert_eq!(told.contains("had come loose at the socket"), exact, "{told}");
        let several = "The wire from the pickup switch to the output socket had lost contact at one of its two ends or \
                       inside it: measuring from outside cannot tell these places apart.";
        assert_eq!(told == several, !exact, "{told}");
    }

    #[test]
    fn two_joints_at_the_place_that_a_repair_names_are_not_told_apart() {
        let ids = ["jack.tip/joint one open", "jack.tip/joint other open"].map(str::to_owned).to_vec();
        let both = Fault { ids, ..named(TIP, None) };
        assert!(!fault(&both, Some("re-soldered the tip lug of the jack")).contains("Exactly"));
    }

    #[test]
    fn no_fault_of_any_wiring_keeps_a_word_that_a_customer_does_not_know() {
        for (name, text) in circuit::built_in() {
            let harness = circuit::load(&Source::new(*name, *text)).unwrap();
            let catalogue = Catalogue::derive(&harness, &Network::new(&harness), Priors::built_in());
            for known in &catalogue.faults {
                let told = fault(&named(&known.sentence, None), None);
                for word in [" lug", " pot ", "comes and goes", "gained resistance", "between its ends"] {
                    assert!(!told.contains(word), "{name}: {told}");
                }
                let joint = matches!(known.kind, Kind::JointOpen | Kind::JointHigh | Kind::JointIntermittent);
                assert!(!joint || told.contains(" (Exactly: the "), "{name}: {told}");
            }
        }
    }
}
