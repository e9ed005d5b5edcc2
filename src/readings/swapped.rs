//! What a customer changed outside the instrument before it came in, from the complaint.

use super::words::{denied, plain_words, spans};

/// What was changed outside the instrument and cured nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Swapped {
    /// Another cable was tried.
    pub cable: bool,
    /// Another amplifier was tried.
    pub amplifier: bool,
}

impl Swapped {
    /// Returns whether anything was changed.
    pub const fn any(self) -> bool {
        self.cable || self.amplifier
    }

    /// Returns whether both were changed.
    pub const fn both(self) -> bool {
        self.cable && self.amplifier
    }

    /// Returns what was tried, in words; empty when nothing was.
    pub const fn words(self) -> &'static str {
        match (self.cable, self.amplifier) {
            (true, true) => "another cable and another amplifier",
            (true, false) => "another cable",
            (false, true) => "another amplifier",
            (false, false) => "",
        }
    }
}

const CABLES: [&str; 3] = ["cable*", "lead*", "cord*"];
const AMPLIFIERS: [&str; 3] = ["amp", "amps", "amplifier*"];

/// Words for one that is not the usual one.
const OTHERS: [&str; 7] = ["another", "other", "different", "second", "several", "tried ~ new", "even ~ new"];

/// A clause with one of these tells of something else than a trial that cured nothing.
const NO_TRIAL: &[&str] = &[
    "works",
    "fine",
    "ok",
    "okay",
    "good",
    "gone",
    "goes away",
    "went away",
    "cured",
    "better",
    "helps",
    "helped",
    "only",
    "since",
    "bought",
    "not ~ tried",
    "not ~ tested",
    "havent tried",
    "hasnt tried",
    "didnt try",
    "never tried",
    "can try",
    "could try",
    "will try",
    "should i",
    "have ~ no other",
    "not with",
    "no hum*",
    "no buzz*",
    "no nois*",
    "no crackl*",
    "doesnt hum",
    "doesnt buzz",
    "doesnt crackle",
    "stops",
    "stopped",
    "disappear*",
    "vanish*",
    "loud",
    "inside",
    "loose",
    "came off",
    "broke*",
    "solder*",
];

/// Returns what a complaint says was tried outside the instrument without a cure: "tried another cable".
pub fn swapped_in(complaint: &str) -> Swapped {
    let words = plain_words(complaint);
    let clauses: Vec<&[String]> = words.split(|word| word == "," || word == "but").collect();
    let of = |things: &[&str], beside: &[&str]| {
        (0..clauses.len()).any(|at| tells(clauses[at], things, beside) && !cures(&clauses[at..]))
    };
    Swapped { cable: of(&CABLES, &AMPLIFIERS), amplifier: of(&AMPLIFIERS, &CABLES) }
}

/// Returns whether a clause names another one of these things, or names it in one breath with another of those beside.
fn tells(clause: &[String], things: &[&str], beside: &[&str]) -> bool {
    let named = |phrase: &str| spans(clause, phrase).iter().any(|at| !denied(&clause[..at.start]));
    OTHERS.iter().any(|other| {
        let one = |thing: &&str| {
            let joined = |first: &&str| {
                ["and", "or"].iter().any(|and| named(&format!("{other} {first} {and} {thing}")))
            };
            named(&format!("{other} {thing}")) || beside.iter().any(joined)
        };
        things.iter().any(one)
    })
}

/// Returns whether a clause, or the one after it, tells of a cure or of no trial.
fn cures(clauses: &[&[String]]) -> bool {
    let found = |clause: &&[String]| {
        let meant = |phrase: &&str| spans(clause, phrase).iter().any(|at| !denied(&clause[..at.start]));
        NO_TRIAL.iter().any(meant)
    };
    clauses.iter().filter(|clause| !clause.is_empty()).take(2).any(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    // Common practice, no source: what an owner says of a trial of cable and amplifier.
    #[rstest]
    #[case("no sound, I tried another cable", true, false)]
    #[case("dead with other cables too", true, false)]
    #[case("hums. Different lead, same thing", true, false)]
    #[case("quiet, also with another amp", false, true)]
    #[case("muffled, tried another cable and amp", true, true)]
    #[case("doesn't work with a different cable or amplifier", true, true)]
    #[case("hums, even with a new cable", true, false)]
    #[case("another cable did not help", true, false)]
    #[case("no sound", false, false)]
    #[case("it works with another cable", false, false)]
    #[case("with another cable, it is fine", false, false)]
    #[case("I have not tried another cable", false, false)]
    #[case("I have no other cable", false, false)]
    #[case("hums since I bought another amp", false, false)]
    #[case("hums with my new amp", false, false)]
    #[case("no hum with another cable", false, false)]
    #[case("it hums, but not with another cable", false, false)]
    #[case("disappears with a different amp", false, false)]
    #[case("the other lead came off the pot", false, false)]
    #[case("", false, false)]
    fn a_trial_that_cured_nothing_is_understood(
        #[case] complaint: &str,
        #[case] cable: bool,
        #[case] amplifier: bool,
    ) {
        assert_eq!(swapped_in(complaint), Swapped { cable, amplifier });
    }
}
