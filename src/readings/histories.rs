//! What was done to an instrument before it came in, from the words it is told in.

use std::ops::Range;

use serde::Deserialize;

use super::Symptom;
use super::words::{denied, plain_words, spans};

/// What was done to an instrument last, as far as it makes some faults likelier.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename = "history")]
pub enum History {
    /// It was soldered at: rewired, a pickup or pot changed.
    Rewired,
    /// It fell or was knocked.
    Dropped,
    /// It is played on stage, plugged in and out every day.
    Played,
    /// It is old, or was put away for long.
    Old,
}

impl History {
    /// Every history, in the order in which they are listed anywhere.
    pub const ALL: [Self; 4] = [Self::Rewired, Self::Dropped, Self::Played, Self::Old];

    /// Returns the name used in files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Rewired => "Rewired",
            Self::Dropped => "Dropped",
            Self::Played => "Played",
            Self::Old => "Old",
        }
    }

    /// Returns what a person calls it.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Rewired => "just rewired, or a part changed",
            Self::Dropped => "it fell or was knocked",
            Self::Played => "played on stage",
            Self::Old => "old, or put away for long",
        }
    }
}

/// Words about the last work on an instrument.
const HISTORIES: &[(History, &[&str])] = &[
    (
        History::Rewired,
        &[
            "rewir*",
            "wired",
            "solder*",
            "swap*",
            "chang* the pickup",
            "new pickup*",
            "new pot*",
            "new switch",
            "fitted",
            "changed",
            "replaced",
            "upgrade*",
        ],
    ),
    (History::Dropped, &["fell", "fallen", "dropp*", "knock*", "hit", "trod*", "stepped on"]),
    (History::Played, &["gig*", "stage", "tour*", "every day", "played a lot", "band"]),
    (History::Old, &["old", "years", "attic", "cellar", "damp", "stored", "vintage", "never cleaned"]),
];

/// Words that tell a history wherever they stand in a complaint.
const TOLD: &[(History, &[&str])] = &[
    (History::Rewired, &["rewir*"]),
    (
        History::Dropped,
        &[
            "it fell",
            "fell over",
            "fell off",
            "fell down",
            "fell on",
            "was dropped",
            "dropped it",
            "knocked over",
            "stepped on",
        ],
    ),
    (History::Old, &["attic", "cellar"]),
];

/// What is done to these is no work on the wiring.
const CHANGED_DAILY: &[&str] = &["string*", "batter*", "cable*", "amp*", "plectrum*"];

/// What is done to them, and how they are said to be.
const CHANGES: &[&str] = &["changed", "replaced", "swap*", "fitted", "upgrade*", "old"];

/// Words after which a complaint tells what was done before.
const SINCE: &[&str] = &["since", "after", "following"];

/// Words after which it tells so at once, or not at all.
const LATELY: &[&str] = &["just", "recently", "newly"];

/// How many words count after one of [`LATELY`].
const AT_ONCE: usize = 3;

/// Words at which what is told of before ends.
const ENDS: &[&str] = &[",", "when", "whenever", "if", "while", "but"];

/// Returns what the words about the last work on an instrument mean, each once.
pub fn histories_in(words: &str) -> Vec<History> {
    found(&plain_words(words), HISTORIES)
}

/// Returns what a complaint tells of the time before it, each once: "since I swapped the pickups", "it fell".
pub fn histories_told(complaint: &str) -> Vec<History> {
    let words = plain_words(complaint);
    let mut told = found(&words, TOLD);
    told.extend(before(&words).into_iter().flat_map(|part| found(part, HISTORIES)));
    History::ALL.into_iter().filter(|history| told.contains(history)).collect()
}

/// Returns what is told of the time before a complaint, as what was done last or in the complaint itself, each once.
pub fn histories_of(last_done: &str, complaint: &str) -> Vec<History> {
    let (last, told) = (histories_in(last_done), histories_told(complaint));
    History::ALL.into_iter().filter(|history| last.contains(history) || told.contains(history)).collect()
}

/// Returns what was understood of a complaint and of what was done last, in words: "no sound; it fell or was knocked".
pub fn understood(symptoms: &[Symptom], histories: &[History]) -> String {
    let symptoms = symptoms.iter().map(|symptom| symptom.title());
    symptoms.chain(histories.iter().map(|history| history.title())).collect::<Vec<_>>().join("; ")
}

/// Returns the parts of a complaint that tell of the time before it.
fn before(words: &[String]) -> Vec<&[String]> {
    let part = |at: usize| {
        let most = match words[at].as_str() {
            word if SINCE.contains(&word) => usize::MAX,
            word if LATELY.contains(&word) => AT_ONCE,
            _ => return None,
        };
        let rest = &words[at + 1..];
        let end = rest.iter().position(|word| ENDS.contains(&word.as_str())).unwrap_or(rest.len());
        Some(&rest[..end.min(most)])
    };
    (0..words.len()).filter_map(part).collect()
}

fn found(words: &[String], list: &[(History, &[&str])]) -> Vec<History> {
    let daily = changed_daily(words);
    let within = |at: &Range<usize>| daily.iter().any(|part| part.start <= at.start && at.end <= part.end);
    let meant = |at: Range<usize>| !denied(&words[..at.start]) && !within(&at);
    let named = |phrases: &[&str]| phrases.iter().any(|phrase| spans(words, phrase).into_iter().any(meant));
    list.iter().filter(|(_, phrases)| named(phrases)).map(|(history, _)| *history).collect()
}

/// Returns where something is said of what is changed every day: "changed the strings", "fitted a new battery".
fn changed_daily(words: &[String]) -> Vec<Range<usize>> {
    let pairs = CHANGED_DAILY.iter().flat_map(|thing| CHANGES.iter().map(move |change| (thing, change)));
    let phrases = pairs.flat_map(|(thing, change)| {
        [
            format!("{change} ~ {thing}"),
            format!("{change} ~ new {thing}"),
            format!("{change} ~ old {thing}"),
            format!("{thing} ~ {change}"),
            format!("{thing} were {change}"),
            format!("{thing} are {change}"),
            format!("{thing} ~ been {change}"),
        ]
    });
    phrases.flat_map(|phrase| spans(words, &phrase)).collect()
}

#[cfg(test)]
mod tests {
    use super::History::{Dropped, Old, Played, Rewired};
    use super::*;
    use rstest::rstest;

    // Common practice, no source: what an owner says of the last work.
    #[rstest]
    #[case("rewired, then it fell", &[Rewired, Dropped])]
    #[case("changed the pickups", &[Rewired])]
    #[case("new strings", &[])]
    #[case("strings changed", &[])]
    #[case("the strings were changed", &[])]
    #[case("changed all the strings", &[])]
    #[case("restrung", &[])]
    #[case("fitted new strings", &[])]
    #[case("battery replaced", &[])]
    #[case("old strings", &[])]
    #[case("strings changed, pots replaced", &[Rewired])]
    #[case("changed the strings and the switch was replaced", &[Rewired])]
    #[case("not rewired", &[])]
    fn the_last_work_is_understood(#[case] words: &str, #[case] histories: &[History]) {
        assert_eq!(histories_in(words), histories);
    }

    // Common practice, no source: what a complaint says of the time before it, and what it does not.
    #[rstest]
    #[case("no sound since I swapped the pickups", &[Rewired])]
    #[case("since the bridge pickup was changed, it hums", &[Rewired])]
    #[case("it hums. I just rewired it", &[Rewired])]
    #[case("dead after it fell", &[Dropped])]
    #[case("It fell over on to its plug. Since then it is quiet", &[Dropped])]
    #[case("cuts out since the last gig", &[Played])]
    #[case("was in the attic, crackles", &[Old])]
    #[case("hums since I changed the strings", &[])]
    #[case("quiet since the strings were changed", &[])]
    #[case("cuts out when knocked", &[])]
    #[case("since yesterday it cuts out when I hit it", &[])]
    #[case("the sound has changed", &[])]
    #[case("the volume dropped", &[])]
    #[case("hums with my old amp", &[])]
    #[case("just quiet, an old one", &[])]
    #[case("", &[])]
    fn a_complaint_tells_of_the_time_before(#[case] words: &str, #[case] histories: &[History]) {
        assert_eq!(histories_told(words), histories);
    }

    #[test]
    fn what_was_understood_is_one_sentence() {
        let told = understood(&[Symptom::Silent], &[Rewired]);
        assert_eq!(told, "no sound; just rewired, or a part changed");
        assert_eq!(understood(&[Symptom::Silent], &[]), "no sound");
    }
}
