//! The suspects as they are shown: groups with sentences, repairs and what moved them.

use std::collections::BTreeSet;

use super::engine::Engine;
use super::situation::{Evidence, Situation};
use super::{SuspectView, VerdictView, outlook, words};
use crate::advisor::order::{self, Suspect};
use crate::belief::Belief;
use crate::circuit::{Harness, TerminalId};
use crate::faults::{Fault, FaultId, Kind};
use crate::job::{ReadingId, Standing};

/// Groups below this probability are left out of the list.
const SHOWN: f64 = 0.005;
const MOST_SHOWN: usize = 12;
/// A member of a group is named or marked when it holds at least this share of the group.
pub(super) const WORTH_NAMING: f64 = 0.03;
/// How many groups are written into the job's record after a reading.
const RECORDED: usize = 5;

/// A decision with its faults, most probable first.
#[derive(Clone, Debug)]
pub struct Ranked {
    /// The decision's number in [`Groups`](crate::advisor::Groups).
    pub decision: usize,
    /// Its probability.
    pub probability: f64,
    /// Its faults, each with its own probability.
    pub faults: Vec<(FaultId, f64)>,
}

/// Returns the decisions of a job, most probable first.
pub(super) fn ranked(engine: &Engine, situation: &Situation) -> Vec<Ranked> {
    ranked_by(engine, &situation.belief)
}

/// Returns the decisions as they are believed, most probable first.
pub fn ranked_by(engine: &Engine, belief: &Belief) -> Vec<Ranked> {
    let of_fault = belief.fault_probabilities(&engine.model);
    let of_decision = engine.groups.probabilities(&belief.weights());
    let mut all: Vec<Ranked> = of_decision
        .into_iter()
        .enumerate()
        .map(|(decision, probability)| {
            let mut faults: Vec<(FaultId, f64)> = engine
                .groups
                .faults(&engine.model, decision)
                .into_iter()
                .map(|f| (f, of_fault[f.0]))
                .collect();
            faults.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
            Ranked { decision, probability, faults }
        })
        .collect();
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability).then(a.decision.cmp(&b.decision)));
    all
}

/// Returns the faults of a group that are worth naming, and how many share the rest.
fn named<'e>(engine: &'e Engine, ranked: &Ranked) -> Vec<&'e Fault> {
    ranked.faults.iter().map(|(fault, _)| &engine.model.catalogue[*fault]).collect()
}

/// Returns a plain sentence for a group.
pub fn sentence(engine: &Engine, ranked: &Ranked) -> String {
    let faults = named(engine, ranked);
    let Some(first) = faults.first() else { return String::new() };
    let likely = ranked.faults.iter().filter(|(_, p)| *p > WORTH_NAMING * ranked.probability);
    let others: BTreeSet<&str> = likely
        .map(|(fault, _)| engine.model.catalogue[*fault].repair.key.as_str())
        .filter(|key| *key != first.repair.key)
        .collect();
    match others.len() {
        0 => first.sentence.clone(),
        1 => format!("{}, or one other place that no reading tells apart", first.sentence),
        n => format!("{}, or one of {n} other places that no reading tells apart", first.sentence),
    }
}

/// Returns the leading groups for the job's record.
pub(super) fn standings(engine: &Engine, situation: &Situation) -> Vec<Standing> {
    ranked(engine, situation)
        .iter()
        .take(RECORDED)
        .map(|ranked| Standing {
            probability: round(ranked.probability),
            sentence: sentence(engine, ranked),
            faults: named(engine, ranked).iter().map(|fault| fault.id.clone()).collect(),
        })
        .collect()
}

fn round(probability: f64) -> f64 {
    (probability * 1e6).round() / 1e6
}

/// Returns the suspects as they are shown, and the probability of the rest.
pub(super) fn views(engine: &Engine, situation: &Situation) -> (Vec<SuspectView>, f64) {
    let views: Vec<SuspectView> = ranked(engine, situation)
        .iter()
        .take(MOST_SHOWN)
        .filter(|ranked| ranked.probability >= SHOWN)
        .map(|ranked| view(engine, situation, ranked))
        .collect();
    let rest = 1.0 - views.iter().map(|view| view.probability).sum::<f64>();
    (views, rest.max(0.0))
}

fn view(engine: &Engine, situation: &Situation, ranked: &Ranked) -> SuspectView {
    let faults = named(engine, ranked);
    let harness = engine.harness();
    // What leads with nothing wrong says of no place that it is bad.
    let nothing = faults.first().is_some_and(|fault| fault.kind == Kind::NothingWrong);
    let worth = move |(_, p): &&(FaultId, f64)| !nothing && *p > WORTH_NAMING * ranked.probability;
    let likely = || ranked.faults.iter().filter(worth);
    let terminals: BTreeSet<_> = likely().flat_map(|(f, _)| &engine.model.catalogue[*f].terminals).collect();
    let links: BTreeSet<_> = likely().flat_map(|(f, _)| &engine.model.catalogue[*f].links).collect();
    SuspectView {
        probability: ranked.probability,
        faults: faults.iter().map(|fault| fault.id.clone()).collect(),
        sentence: sentence(engine, ranked),
        members: faults.iter().map(|fault| fault.sentence.clone()).collect(),
        repair: faults.first().map(|fault| fault.repair.text.clone()).unwrap_or_default(),
        minutes: faults.first().map_or(0.0, |fault| minutes(engine, situation, fault)),
        terminals: terminals.into_iter().map(|&t| harness[t].name.clone()).collect(),
        links: links.into_iter().map(|&l| harness[l].name.clone()).collect(),
        moved_by: moved_by(engine, situation, ranked.decision),
    }
}

/// Returns the minutes of a repair, opening its place included when it is not open.
pub(super) fn minutes(engine: &Engine, situation: &Situation, fault: &Fault) -> f64 {
    let open = situation.stand.opened.contains(&fault.place);
    let opening = if open { 0.0 } else { engine.harness()[fault.place].open.get() / 60.0 };
    f64::from(fault.repair.minutes) + opening
}

fn moved_by(engine: &Engine, situation: &Situation, decision: usize) -> Vec<(Option<ReadingId>, f64)> {
    let share = |evidence: usize| -> f64 {
        let weights = situation.belief.weights_after(evidence);
        engine.groups.decisions[decision].iter().map(|&h| weights[h]).sum()
    };
    let steps = situation.evidence.iter().enumerate();
    steps
        .filter_map(|(index, evidence)| {
            let bits = (share(index + 1).max(1e-300) / share(index).max(1e-300)).log2();
            match evidence {
                Evidence::Complaint => Some((None, bits)),
                Evidence::Reading(id) => Some((Some(*id), bits)),
                Evidence::Answer | Evidence::Remains | Evidence::Proof { .. } => None,
            }
        })
        .collect()
}

/// One repair that may be the right one.
#[derive(Clone, Copy)]
struct Mend<'e> {
    fault: &'e Fault,
    chance: f64,
    minutes: f64,
}

/// Returns what to do when finding is over: repairs in the order with the least expected time when one of them is
/// right.
pub(super) fn verdict(engine: &Engine, situation: &Situation, sure: bool) -> Option<VerdictView> {
    let all = ranked(engine, situation);
    let leading = all.first()?;
    let considered: Vec<&Ranked> = if sure { vec![leading] } else { all.iter().take(4).collect() };
    let mut repairs: Vec<Mend<'_>> = Vec::new();
    for (fault, chance) in considered.iter().flat_map(|ranked| &ranked.faults) {
        let fault = &engine.model.catalogue[*fault];
        match repairs.iter_mut().find(|r| r.fault.repair.key == fault.repair.key) {
            Some(known) => known.chance += chance,
            None => repairs.push(Mend { fault, chance: *chance, minutes: minutes(engine, situation, fault) }),
        }
    }
    repairs.retain(|repair| repair.chance > 0.01);
    let (repairs, minutes) = quickest(&repairs);
    let first = repairs.first()?;
    Some(VerdictView {
        faults: leading.faults.iter().map(|(fault, _)| engine.model.catalogue[*fault].id.clone()).collect(),
        sentence: sentence(engine, leading),
        probability: leading.probability,
        repair: in_words(&repairs),
        minutes: minutes.max(first.minutes),
        inspect: inspection(engine.harness(), &repairs),
        sure,
        stop: outlook::stop(engine, leading, sure),
    })
}

fn in_words(repairs: &[Mend<'_>]) -> String {
    let say = |r: &Mend<'_>| {
        format!("{} ({}, about {:.0} min)", r.fault.repair.text, words::percent(r.chance), r.minutes)
    };
    repairs.iter().take(4).map(say).collect::<Vec<_>>().join("; if that was not it: ")
}

/// Returns the repairs in their best order, and the minutes that it takes on average when one of them is right.
fn quickest<'e>(repairs: &[Mend<'e>]) -> (Vec<Mend<'e>>, f64) {
    let total: f64 = repairs.iter().map(|r| r.chance).sum();
    let tried = |r: &Mend<'_>| Suspect { chance: r.chance / total, look: r.minutes, mend: 0.0 };
    let suspects: Vec<Suspect> = repairs.iter().map(tried).collect();
    let best = order::best_order(&suspects);
    let minutes = order::expected_cost(&suspects, &best);
    (best.into_iter().map(|index| repairs[index]).collect(), minutes)
}

fn inspection(harness: &Harness, repairs: &[Mend<'_>]) -> String {
    if repairs.len() < 2 {
        return String::new();
    }
    let mut seen = BTreeSet::new();
    let spots = repairs.iter().map(|r| spot(harness, r.fault));
    let places: Vec<String> = spots.filter(|place| seen.insert(place.clone())).take(4).collect();
    format!(
        "Before the iron is hot, look at these with a light and a magnifier and tug each gently: {}. Whatever moves, \
         touches or looks grey and cracked is the one to mend first",
        places.join("; ")
    )
}

/// Returns where a fault sits, in the words in which it is spoken of.
fn spot(harness: &Harness, fault: &Fault) -> String {
    let title = |terminal: &TerminalId| harness[*terminal].title.as_str();
    let part = |terminal: &TerminalId| harness[*terminal].part;
    match (fault.links.as_slice(), fault.terminals.as_slice()) {
        ([link], [terminal]) => format!("the {} at the {}", harness[*link].title, title(terminal)),
        ([link, ..], _) => format!("the {}", harness[*link].title),
        ([], [one, other]) if touches(fault.kind) || part(one) != part(other) => {
            format!("the {} and the {}", title(one), title(other))
        }
        ([], [terminal]) => format!("the {}", title(terminal)),
        ([], [terminal, ..]) => format!("the {}", harness[part(terminal)].title),
        ([], []) => fault.sentence.clone(),
    }
}

const fn touches(kind: Kind) -> bool {
    matches!(kind, Kind::Short | Kind::ShortIntermittent | Kind::Leak)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{built_in, load};
    use crate::faults::Priors;
    use crate::prediction::Model;
    use crate::source::Source;

    #[test]
    fn where_to_look_is_said_without_internal_names() {
        let (name, text) = built_in().iter().find(|(name, _)| *name == "one-pickup.ron").unwrap();
        let harness = load(&Source::new(*name, *text)).unwrap();
        let model = Model::with_priors(harness, Priors::built_in());
        for fault in &model.catalogue.faults {
            let told = spot(&model.harness, fault);
            let internal = |name: &str| told.contains(name) && (name.contains('.') || name.contains('-'));
            assert!(!model.harness.terminals.iter().any(|t| internal(&t.name)), "{}: {told}", fault.id);
            assert!(!model.harness.parts.iter().any(|part| internal(&part.name)), "{}: {told}", fault.id);
            assert!(!told.contains('/') && !told.is_empty(), "{}: {told}", fault.id);
        }
        let of =
            |id: &str| model.catalogue.find(id).map(|id| spot(&model.harness, &model.catalogue[id])).unwrap();
        assert_eq!(of("tone-cap/capacitor shorted"), "the tone capacitor");
        assert!(of("tone.lug1/short to tone.case").ends_with(" and the case of the tone pot"));
    }
}
