//! Ends that the circuit contradicts, that the wrong faults come to, or that one more reading would split.

use std::collections::BTreeMap;

use super::flaws_steps::Ground;
use super::passed::Passed;
use super::sample::Subject;
use super::{Finding, Flaw};
use crate::advisor::{Proposal, to_open};
use crate::faults::FaultId;
use crate::trees::{Suspicion, Then, Tree};
use crate::units::{Seconds, show_seconds};

/// An end is contradicted when less than this share of what ends there is what it names (this and the limits below: our
/// choice, no source).
const NAMED: f64 = 0.1;
/// A place is out of the question when less than this share is there.
const AT_ALL: f64 = 1e-3;
/// A fault belongs to an end when more than this share of it ends there.
const MOSTLY: f64 = 0.5;
/// So much of an end may be faults that it does not name; so much is worth a word.
const WRONG: f64 = 0.3;
const WORTH_A_WORD: f64 = 0.05;
/// An end with less is not judged.
const JUDGED: f64 = 1e-6;
/// A quick reading takes no more seconds, and tells so many bits.
const QUICK: f64 = 60.0;
const TELLING: f64 = 0.3;
/// So many faults are named.
const SHOWN: usize = 3;

/// What ended somewhere on one wiring.
struct Here<'a> {
    passed: &'a Passed<'a>,
    /// The index of the end.
    end: usize,
    faults: BTreeMap<FaultId, f64>,
}

impl Here<'_> {
    /// Returns the weight of the faults for which something holds.
    fn of(&self, holds: impl Fn(FaultId) -> bool) -> f64 {
        self.faults.iter().filter(|(fault, _)| holds(**fault)).map(|(_, mass)| mass).sum()
    }

    fn names(&self, suspicion: &Suspicion, fault: FaultId) -> bool {
        suspicion.names(self.passed.engine.harness(), &self.passed.engine.model.catalogue[fault])
    }
}

fn mass(here: &Here<'_>) -> f64 {
    here.faults.values().sum()
}

/// Returns what is found at all ends.
pub(super) fn at_ends(ground: &Ground<'_>) -> Vec<Finding> {
    let mut ends: BTreeMap<(usize, usize), Vec<Here<'_>>> = BTreeMap::new();
    for passed in ground.passed {
        for (index, end) in passed.flowed.ends.iter().enumerate().filter(|(_, end)| end.tree == 0) {
            let Some(way) = end.way else { continue };
            let here = Here { passed, end: index, faults: passed.faults(&end.point) };
            if mass(&here) >= JUDGED {
                ends.entry((end.step, way)).or_default().push(here);
            }
        }
    }
    ends.iter().flat_map(|(&(step, way), here)| at_end(ground, (step, way), here)).collect()
}

fn at_end(ground: &Ground<'_>, at: (usize, usize), here: &[Here<'_>]) -> Vec<Finding> {
    match ground.tree.steps[at.0].way(at.1) {
        Some(Then::Suspect(suspicion)) => suspected(ground, at, suspicion, here),
        Some(Then::NotTheInstrument) => acquitted(ground, at, here).into_iter().collect(),
        _ => Vec::new(),
    }
}

fn total(here: &[Here<'_>], of: impl Fn(&Here<'_>) -> f64) -> f64 {
    here.iter().map(of).sum()
}

fn wirings(here: &[Here<'_>]) -> Vec<String> {
    here.iter().map(|here| here.passed.wiring().to_owned()).collect()
}

fn suspected(
    ground: &Ground<'_>,
    (step, way): (usize, usize),
    suspicion: &Suspicion,
    here: &[Here<'_>],
) -> Vec<Finding> {
    let named = total(here, |here| here.of(|fault| here.names(suspicion, fault)));
    if named < NAMED * total(here, mass) {
        let says = format!(
            "\"{}\": {:.0} % of what ends here is that; most is {}",
            suspicion.say,
            100.0 * named / total(here, mass) + 0.0,
            worst(here, &|_, _| true)
        );
        let hint = "name in `at` and `how` what the circuit leaves here, or lead elsewhere";
        let found = ground.finding(Flaw::Contradicted, step, Some(way), says, hint);
        return vec![Finding { wirings: wirings(here), ..found }];
    }
    let mut found = out_of_the_question(ground, (step, way), suspicion, here);
    found.extend(unnamed(ground, (step, way), suspicion, here));
    found.extend(splittable(ground, (step, way), here));
    found
}

/// Returns the ways to trees that are for none of the wirings that have such a way.
pub(super) fn strangers(ground: &Ground<'_>, others: &[Tree]) -> Vec<Finding> {
    let steps = ground.tree.steps.iter().enumerate();
    let ways = steps.flat_map(|(step, of)| of.ways().enumerate().map(move |(way, then)| (step, way, then)));
    let stranger = |(step, way, then): (usize, usize, &Then)| match then {
        Then::Tree(name) => stranger(ground, (step, way), others.iter().find(|other| other.name == *name)?),
        _ => None,
    };
    ways.filter_map(stranger).collect()
}

fn stranger(ground: &Ground<'_>, (step, way): (usize, usize), other: &Tree) -> Option<Finding> {
    let using = || ground.passed.iter().filter(|passed| !passed.fitted.passes_over(step));
    if using().next().is_none() || using().any(|passed| other.applies(passed.engine.harness())) {
        return None;
    }
    let says = format!(
        "the tree \"{}\" is for none of the wirings that come here, only {}",
        other.name,
        other.meant_for().unwrap_or_default()
    );
    let hint = "lead to a tree that is for them, or to `Advisor`, which goes on here as it is";
    let found = ground.finding(Flaw::DoesNotFit, step, Some(way), says, hint);
    let wirings = using().map(|passed| passed.wiring().to_owned()).collect();
    Some(Finding { fails: false, wirings, ..found })
}

/// Returns the places of a suspicion at which nothing is left on any wiring.
fn out_of_the_question(
    ground: &Ground<'_>,
    (step, way): (usize, usize),
    suspicion: &Suspicion,
    here: &[Here<'_>],
) -> Vec<Finding> {
    let left = |place: &str, here: &Here<'_>| {
        let (harness, catalogue) = (here.passed.engine.harness(), &here.passed.engine.model.catalogue);
        here.of(|fault| suspicion.names_at(place, harness, &catalogue[fault])) >= AT_ALL * mass(here)
    };
    let empty = suspicion.at.iter().filter(|place| !here.iter().any(|here| left(place, here)));
    let finding = |place: &String| {
        let says = format!("nothing that is left here is at \"{place}\"");
        let hint = "take the place out of `at`, or add how it fails to `how`";
        let found = ground.finding(Flaw::Contradicted, step, Some(way), says, hint);
        Finding { fails: false, wirings: wirings(here), ..found }
    };
    empty.map(finding).collect()
}

/// Returns the faults that mostly end where they are not named, when they are many.
fn unnamed(
    ground: &Ground<'_>,
    (step, way): (usize, usize),
    suspicion: &Suspicion,
    here: &[Here<'_>],
) -> Option<Finding> {
    let astray = |here: &Here<'_>, fault: FaultId| {
        here.passed.is_real(fault) && !here.names(suspicion, fault) && mostly(here, fault)
    };
    let share = total(here, |here| here.of(|fault| astray(here, fault))) / total(here, mass);
    let says = format!(
        "{:.0} % of what ends here are faults that belong here and are not named: {}",
        100.0 * share,
        worst(here, &astray)
    );
    let hint = "add their place to `at` and the way they fail to `how`, or split them off before";
    let found = ground.finding(Flaw::WrongEnd, step, Some(way), says, hint);
    (share > WORTH_A_WORD).then(|| Finding { fails: share > WRONG, wirings: wirings(here), ..found })
}

/// Returns whether more than half of a fault ends here on this wiring.
fn mostly(here: &Here<'_>, fault: FaultId) -> bool {
    let passed = here.passed;
    let of = |subject: &Subject| {
        let member = passed.members(subject).iter().find(|(id, _)| *id == fault);
        member.map_or(0.0, |(_, share)| subject.weight * share)
    };
    let all: f64 = passed.subjects.iter().map(of).sum();
    here.faults.get(&fault).is_some_and(|mass| *mass > MOSTLY * all)
}

/// Returns an acquittal that real faults come to.
fn acquitted(ground: &Ground<'_>, (step, way): (usize, usize), here: &[Here<'_>]) -> Option<Finding> {
    let real = total(here, |here| here.of(|fault| here.passed.is_real(fault)));
    let share = real / total(here, mass);
    let says = format!(
        "{:.0} % of what is acquitted here is a fault of the instrument: {}",
        100.0 * share,
        worst(here, &|here, fault| here.passed.is_real(fault))
    );
    let hint = "lead to a further step, or to `Advisor`";
    let found = ground.finding(Flaw::WrongEnd, step, Some(way), says, hint);
    (share > WRONG).then(|| Finding { wirings: wirings(here), ..found })
}

/// Returns the heaviest of the faults for which something holds, each with its wiring.
fn worst(here: &[Here<'_>], holds: &dyn Fn(&Here<'_>, FaultId) -> bool) -> String {
    let mut all: Vec<(f64, &str, &str)> = Vec::new();
    for here in here {
        let catalogue = &here.passed.engine.model.catalogue;
        let held = here.faults.iter().filter(|(fault, _)| holds(here, **fault));
        all.extend(held.map(|(fault, mass)| (*mass, catalogue[*fault].id.as_str(), here.passed.wiring())));
    }
    all.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let words: Vec<String> =
        all.iter().take(SHOWN).map(|(_, fault, wiring)| format!("{fault} ({wiring})")).collect();
    words.join(", ")
}

/// Returns the quick reading that would tell most at an end, on the wirings where it would.
fn splittable(ground: &Ground<'_>, (step, way): (usize, usize), here: &[Here<'_>]) -> Option<Finding> {
    let quick: Vec<(&Here<'_>, &Proposal)> =
        here.iter().filter_map(|here| Some((here, quick_reading(here)?))).collect();
    let (at, best) = quick.iter().max_by(|a, b| a.1.bits.total_cmp(&b.1.bits))?;
    let says = format!(
        "{} would still tell {:.2} bits in {} without opening anything",
        best.measurement.sentence(at.passed.engine.harness()),
        best.bits,
        show_seconds(Seconds::new(best.seconds.round()))
    );
    let hint = "add it as a step before this end, or lead to `Advisor`";
    let found = ground.finding(Flaw::Splittable, step, Some(way), says, hint);
    let wirings = quick.iter().map(|(here, _)| here.passed.wiring().to_owned()).collect();
    Some(Finding { wirings, ..found })
}

/// Returns the reading that tells most at an end among those that are quick and open nothing.
fn quick_reading<'a>(here: &Here<'a>) -> Option<&'a Proposal> {
    let passed = here.passed;
    let counsel = passed.counsels.get(&here.end)?;
    let quick = |proposal: &&Proposal| {
        let opens = to_open(passed.engine.harness(), &proposal.measurement, &counsel.stand);
        proposal.seconds <= QUICK && proposal.bits > TELLING && opens.is_empty()
    };
    counsel.proposals.iter().filter(quick).max_by(|a, b| a.bits.total_cmp(&b.bits))
}
