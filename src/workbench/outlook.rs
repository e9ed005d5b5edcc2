//! How much is left as it is shown, and why finding is over.

use std::collections::BTreeSet;

use super::engine::Engine;
use super::situation::Situation;
use super::suspects::{Ranked, WORTH_NAMING};
use super::{OutlookView, Stop, words};
use crate::advisor::{self, Ground, Outlook};

/// With less of the probability looked at than this, it is said how much of it was.
const NEARLY_ALL: f64 = 0.95;

/// Returns how much is left; `None` when nothing is worth measuring or one decision is sure already.
pub(super) fn view(engine: &Engine, situation: &Situation) -> Option<OutlookView> {
    let ground = Ground {
        model: &engine.model,
        candidates: &engine.candidates,
        groups: &engine.groups,
        belief: &situation.belief,
        meter: engine.meter,
        stand: &situation.stand,
        proposals: &situation.proposals,
    };
    let outlook = advisor::outlook(&ground).filter(|outlook| outlook.readings > 0.0)?;
    Some(OutlookView {
        readings: outlook.readings,
        minutes: outlook.minutes,
        least_readings: outlook.least_readings,
        least_minutes: outlook.least_minutes,
        exact: outlook.exact,
        covered: outlook.covered,
        sentence: sentence(&outlook),
    })
}

fn sentence(outlook: &Outlook) -> String {
    let left =
        format!("about {} and {}", counted(outlook.readings, "reading"), counted(outlook.minutes, "minute"));
    let least = format!(
        "no way of working needs fewer than {:.1} readings and {:.1} minutes on average",
        outlook.least_readings, outlook.least_minutes
    );
    let covered = words::percent(outlook.covered);
    let of = if outlook.covered < NEARLY_ALL {
        format!("; said of the likeliest suspects, {covered} together")
    } else {
        String::new()
    };
    format!("{left}; {least}{of}")
}

/// Returns a whole number, one at least, of what it counts.
fn counted(value: f64, what: &str) -> String {
    let whole = value.round().max(1.0);
    format!("{whole:.0} {what}{}", if whole < 1.5 { "" } else { "s" })
}

/// Returns why finding is over; `sure` when the leading decision is sure enough.
pub(super) fn stop(engine: &Engine, leading: &Ranked, sure: bool) -> Stop {
    let likely = || leading.faults.iter().filter(|(_, p)| *p > WORTH_NAMING * leading.probability);
    let groups: BTreeSet<usize> = likely().map(|(fault, _)| engine.groups.of_fault[fault.0]).collect();
    let repair = |&(fault, _): &(crate::faults::FaultId, f64)| &engine.model.catalogue[fault].repair.key;
    let repairs: BTreeSet<&String> = likely().map(repair).collect();
    match (sure, groups.len() > 1 && repairs.len() == 1) {
        (false, _) => Stop::NotWorthItsTime,
        (true, true) => Stop::SameRepair,
        (true, false) => Stop::Sure,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sentence_says_what_is_left_and_of_what_it_is_said() {
        let outlook = Outlook {
            readings: 3.6,
            minutes: 0.4,
            least_readings: 2.14,
            least_minutes: 0.3,
            exact: false,
            covered: 0.99,
        };
        let least = "no way of working needs fewer than 2.1 readings and 0.3 minutes on average";
        assert_eq!(sentence(&outlook), format!("about 4 readings and 1 minute; {least}"));
        let told = sentence(&Outlook { covered: 0.8, ..outlook });
        assert!(told.ends_with("; said of the likeliest suspects, 80 % together"), "{told}");
    }
}
