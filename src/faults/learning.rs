//! What a shop's own cured jobs teach about how often each family of faults turns up.
//!
//! The rates are a Dirichlet distribution: those at hand are worth [`STRENGTH`] jobs, and each cured job adds one.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::priors::{LEAST, Priors};
use super::{Family, Kind};
use crate::units::show_percent;

/// How many jobs the rates at hand are worth (50: common practice, no source).
pub const STRENGTH: f64 = 50.0;

/// The most of a thousand walk-ins that both families outside may take together after learning.
const MOST_OUTSIDE: f64 = 990.0;

/// How often a family was found.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Tally {
    /// In how many jobs; a job that named a group of faults is shared among them.
    pub found: f64,
    /// Of how many jobs in which it could have been found.
    pub of: f64,
}

/// How often each family was found.
pub type Tallies = BTreeMap<Family, Tally>;

/// What was learnt of one family.
#[derive(Clone, Debug, PartialEq)]
pub struct Learnt {
    /// The family.
    pub family: Family,
    /// Its share of all walk-ins before, 0 to 1.
    pub before: f64,
    /// Its share after.
    pub after: f64,
    /// What it follows from.
    pub tally: Tally,
}

impl Learnt {
    /// Returns it in words: `a coil, open: raised from 1.6 % to 3 %: 7 of 212 jobs`. What moved by less than is printed
    /// is unchanged.
    pub fn words(&self) -> String {
        let (before, after) = (show_percent(self.before), show_percent(self.after));
        let how = match before == after {
            true => format!("unchanged at {before}"),
            false if self.after < self.before => format!("lowered from {before} to {after}"),
            false => format!("raised from {before} to {after}"),
        };
        format!("{}: {how}: {}", self.family.words(), self.tally.words())
    }
}

impl Tally {
    /// Returns it in words: `7 of 212 jobs`.
    pub fn words(&self) -> String {
        let of = count(self.of);
        let jobs = if of == "1" { "job" } else { "jobs" };
        format!("{} of {of} {jobs}", count(self.found))
    }
}

/// Returns a number of jobs; parts of a job are told to a tenth.
fn count(jobs: f64) -> String {
    let tenths = (jobs * 10.0).round() / 10.0;
    if tenths == 0.0 { "0".to_owned() } else { tenths.to_string() }
}

impl Priors {
    /// Returns these priors as the jobs counted here move them, and what was learnt of each family that could be found.
    ///
    /// A family's share becomes ([`STRENGTH`] × its share + found) / ([`STRENGTH`] + of), and never falls below
    /// [`LEAST`] of a thousand.
    pub fn learnt(&self, tallies: &Tallies) -> (Self, Vec<Learnt>) {
        let scale = Scale::of(self);
        let mut priors = self.clone();
        let mut learnt = Vec::new();
        for (family, tally) in tallies.iter().filter(|(_, tally)| tally.of > 0.0) {
            let Some(rate) = priors.rates.get_mut(family) else { continue };
            let before = scale.share(*family, rate.per_thousand);
            let after = posterior(before, *tally);
            rate.per_thousand = scale.per_thousand(*family, after).clamp(LEAST, 1000.0);
            rate.source = format!("{} of this shop; before them {}", tally.words(), rate.source);
            rate.own = true;
            let after = scale.share(*family, rate.per_thousand);
            learnt.push(Learnt { family: *family, before, after, tally: *tally });
        }
        priors.leave_room();
        (priors, learnt)
    }

    /// Leaves something for the faults inside the instrument.
    fn leave_room(&mut self) {
        let outside = |family: &&Family| family.outside();
        let taken: f64 = Family::ALL.iter().filter(outside).map(|family| self.per_thousand(*family)).sum();
        if taken > MOST_OUTSIDE {
            for (_, rate) in self.rates.iter_mut().filter(|(family, _)| family.outside()) {
                rate.per_thousand = (rate.per_thousand * MOST_OUTSIDE / taken).max(LEAST);
            }
        }
    }

    /// Returns the text of a file of one's own that makes these priors out of those that come with the program.
    pub fn own_text(&self) -> String {
        let mut text = "(\n    format: 1,\n    rates: [\n".to_owned();
        for (family, rate) in self.rates().filter(|(_, rate)| rate.own) {
            let (name, per_thousand) = (family.name(), rate.per_thousand);
            // Writing to a string cannot fail.
            let _ = writeln!(
                text,
                "        (family: {name}, per_thousand: {per_thousand:?}, source: {:?}),",
                rate.source
            );
        }
        text.push_str("    ],\n    histories: [\n");
        for (history, effect) in self.histories().filter(|(_, effect)| effect.own) {
            let _ = writeln!(text, "        (history: {history:?}, makes: [");
            for likelier in &effect.makes {
                let kinds = kinds(&likelier.kinds);
                let (times, source) = (likelier.times, &likelier.source);
                let _ =
                    writeln!(text, "            (kinds: [{kinds}], times: {times:?}, source: {source:?}),");
            }
            text.push_str("        ]),\n");
        }
        text + "    ],\n)\n"
    }
}

fn kinds(kinds: &[Kind]) -> String {
    kinds.iter().map(|kind| format!("{kind:?}")).collect::<Vec<_>>().join(", ")
}

fn posterior(share: f64, tally: Tally) -> f64 {
    (STRENGTH * share + tally.found) / (STRENGTH + tally.of)
}

/// What turns a rate into a share of all walk-ins: the families inside share what those outside leave.
struct Scale {
    inside: f64,
    left: f64,
}

impl Scale {
    fn of(priors: &Priors) -> Self {
        let sum = |outside: bool| -> f64 {
            let rates = priors.rates().filter(|(family, _)| family.outside() == outside);
            rates.map(|(_, rate)| rate.per_thousand).sum()
        };
        Self { inside: sum(false), left: 1.0 - sum(true) / 1000.0 }
    }

    fn share(&self, family: Family, per_thousand: f64) -> f64 {
        if family.outside() { per_thousand / 1000.0 } else { per_thousand / self.inside * self.left }
    }

    fn per_thousand(&self, family: Family, share: f64) -> f64 {
        if family.outside() { share * 1000.0 } else { share * self.inside / self.left }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Source;

    /// Two families outside that take 200 of a thousand, and the others, all alike, the rest of 800.
    fn even() -> Priors {
        let mut priors = Priors::built_in().clone();
        let inside = Family::ALL.iter().filter(|family| !family.outside()).count();
        for (family, rate) in &mut priors.rates {
            rate.per_thousand = if family.outside() { 100.0 } else { 800.0 / inside as f64 };
        }
        priors
    }

    fn tally(found: f64, of: f64) -> Tally {
        Tally { found, of }
    }

    /// By hand: (50 · 0.016 + 7) / (50 + 212) = 7.8 / 262.
    #[test]
    fn the_posterior_mean_is_that_of_fifty_jobs_and_the_counted_ones() {
        assert!((posterior(0.016, tally(7.0, 212.0)) - 7.8 / 262.0).abs() < 1e-15);
        assert!((posterior(0.016, tally(0.0, 0.0)) - 0.016).abs() < 1e-15);
    }

    #[test]
    fn shares_move_and_stay_shares() {
        let priors = even();
        let tallies = Tallies::from([
            (Family::CoilOpen, tally(10.0, 50.0)),
            (Family::OutsideTheInstrument, tally(0.0, 50.0)),
        ]);
        let (after, learnt) = priors.learnt(&tallies);
        let before = 0.8 / 46.0;
        let coil = learnt.iter().find(|learnt| learnt.family == Family::CoilOpen).unwrap();
        assert_eq!(Family::ALL.len(), 48);
        assert!((coil.before - before).abs() < 1e-12);
        assert!((coil.after - (50.0 * before + 10.0) / 100.0).abs() < 1e-12);
        assert!((after.per_thousand(Family::OutsideTheInstrument) - 50.0).abs() < 1e-9);
        assert_eq!(after.per_thousand(Family::CoilHalf), priors.per_thousand(Family::CoilHalf));
        assert!(
            coil.words().contains("raised from") && coil.words().ends_with("10 of 50 jobs"),
            "{}",
            coil.words()
        );
    }

    #[test]
    fn what_looks_the_same_in_print_is_unchanged() {
        let learnt = |before, after, found, of| {
            let (family, tally) = (Family::CoilOpen, tally(found, of));
            Learnt { family, before, after, tally }.words()
        };
        let name = Family::CoilOpen.words();
        assert_eq!(learnt(0.0441, 0.0439, 0.0, 1.0), format!("{name}: unchanged at 4.4 %: 0 of 1 job"));
        assert_eq!(
            learnt(0.044, 0.041, 0.0, 4.0),
            format!("{name}: lowered from 4.4 % to 4.1 %: 0 of 4 jobs")
        );
        assert_eq!(learnt(0.016, 0.03, 0.5, 9.0), format!("{name}: raised from 1.6 % to 3 %: 0.5 of 9 jobs"));
    }

    #[test]
    fn nothing_falls_below_the_least_and_outside_leaves_room() {
        let many = 1e9;
        let tallies = Tallies::from([
            (Family::CoilOpen, tally(0.0, many)),
            (Family::OutsideTheInstrument, tally(many, many)),
        ]);
        let (after, _) = Priors::built_in().learnt(&tallies);
        assert_eq!(after.per_thousand(Family::CoilOpen), LEAST);
        let outside: f64 = Family::ALL.iter().filter(|f| f.outside()).map(|f| after.per_thousand(*f)).sum();
        assert!(outside <= MOST_OUTSIDE + 1e-6, "{outside}");
    }

    #[test]
    fn the_text_makes_the_same_priors_again() {
        let own = "(format: 1, rates: [(family: CoilHalf, per_thousand: 7.5, source: \"our \\\"tickets\\\"\")], \
                   histories: [(history: Played, makes: [(kinds: [ContactDirty], times: 4, source: \"ours\")])])";
        let base = Priors::built_in().with_own(&Source::new("own", own)).unwrap();
        let (learnt, _) = base.learnt(&Tallies::from([(Family::CoilOpen, tally(3.5, 40.0))]));
        let text = learnt.own_text();
        let again = Priors::built_in().with_own(&Source::new("learnt", text.as_str())).unwrap();
        assert_eq!(again, learnt, "{text}");
        assert!(text.contains("3.5 of 40 jobs of this shop"), "{text}");
    }
}
