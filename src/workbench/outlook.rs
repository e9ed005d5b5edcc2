//! How much is left as it is shown, and why finding is over.

use std::collections::BTreeSet;

use super::engine::Engine;
use super::situation::Situation;
use super::suspects::{Ranked, WORTH_NAMING, minutes, ranked};
use super::{OutlookView, Stop, words};
use crate::advisor::order::{Suspect, best_order, expected_cost, expected_cost_after_test};
use crate::advisor::{self, Foreseen, Outlook};
use crate::faults::FaultId;

/// With less of the probability looked at than this, it is said how much of it was.
const NEARLY_ALL: f64 = 0.95;
/// What a reading saves is told from so many minutes on.
const WORTH_SAYING: f64 = 2.0;

/// Returns how much is left; `None` when nothing is worth measuring or one decision is sure already.
pub(super) fn view(engine: &Engine, situation: &Situation) -> Option<OutlookView> {
    let ground = situation.ground(engine);
    let outlook = advisor::outlook(&ground).filter(|outlook| outlook.readings > 0.0)?;
    let saved = saved(engine, situation, &advisor::foreseen(&ground));
    Some(OutlookView {
        readings: outlook.readings,
        minutes: outlook.minutes,
        least_readings: outlook.least_readings,
        least_minutes: outlook.least_minutes,
        exact: outlook.exact,
        covered: outlook.covered,
        saved,
        sentence: sentence(&outlook, saved),
    })
}

/// Returns the minutes that the first proposal saves when the suspects are mended one after the other, quickest first.
fn saved(engine: &Engine, situation: &Situation, foreseen: &[Foreseen]) -> f64 {
    let all = ranked(engine, situation);
    let known: Vec<(&Ranked, usize)> = all
        .iter()
        .filter_map(|r| Some((r, foreseen.iter().find(|f| f.decision == r.decision)?.outcome)))
        .collect();
    let total: f64 = known.iter().map(|(ranked, _)| ranked.probability).sum();
    let suspect = |(ranked, _): &(&Ranked, usize)| {
        let mend = |(fault, _): &(FaultId, f64)| &engine.model.catalogue[*fault];
        let look = ranked.faults.first().map(mend).map_or(0.0, |fault| minutes(engine, situation, fault));
        Suspect { chance: ranked.probability / total, look, mend: 0.0 }
    };
    let suspects: Vec<Suspect> = known.iter().map(suspect).collect();
    let outcomes: Vec<usize> = known.iter().map(|(_, outcome)| *outcome).collect();
    let test = situation.proposals.first().map_or(0.0, |first| first.seconds / 60.0);
    let without = expected_cost(&suspects, &best_order(&suspects));
    without - expected_cost_after_test(&suspects, test, &outcomes)
}

fn sentence(outlook: &Outlook, saved: f64) -> String {
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
    let pays = if saved < WORTH_SAYING {
        String::new()
    } else {
        format!(
            "; the advisor's next reading saves {saved:.0} minutes of mending one suspect after the other"
        )
    };
    format!("{left}; {least}{pays}{of}")
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
    let repair = |&(fault, _): &(FaultId, f64)| &engine.model.catalogue[fault].repair.key;
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
        assert_eq!(sentence(&outlook, -1.0), format!("about 4 readings and 1 minute; {least}"));
        let told = sentence(&Outlook { covered: 0.8, ..outlook }, 12.3);
        assert!(told.contains("next reading saves 12 minutes of mending"), "{told}");
        assert!(told.ends_with("; said of the likeliest suspects, 80 % together"), "{told}");
    }
}
