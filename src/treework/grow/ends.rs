//! Where a grown tree ends: what is suspected there, or the advisor.

use std::collections::BTreeMap;

use super::{Node, words};
use crate::advisor;
use crate::circuit::{Harness, LinkId, PartId, PartKind, TerminalId};
use crate::faults::{Fault, Kind};
use crate::trees::{How, Suspicion, Then};
use crate::workbench::{Engine, Ranked, suspect_in_words, suspects_by};

/// The decisions that are named at an end hold this together.
const NEARLY_ALL: f64 = 0.95;
/// So many are named at most; beyond that the advisor goes on.
const MOST_NAMED: usize = 3;

/// The suspicions that were put into words, by the decisions that they name: the same ones are told the same way.
pub(super) type Told = BTreeMap<Vec<usize>, Suspicion>;

/// Returns where a leaf leads.
pub(super) fn end(engine: &Engine, node: &Node, told: &mut Told) -> Then {
    let ranked = suspects_by(engine, &node.belief);
    let Some(leader) = ranked.first() else { return Then::Advisor };
    let sure = advisor::sure(&engine.groups, leader.decision, leader.probability);
    if sure && nothing_wrong(engine, leader) {
        return Then::NotTheInstrument;
    }
    let named = if sure { 1 } else { holding(&ranked) };
    let named = &ranked[..named.min(ranked.len())];
    if named.len() > MOST_NAMED || named.iter().any(|one| !can_be_named(engine, one)) {
        return Then::Advisor;
    }
    let mut decisions: Vec<usize> = named.iter().map(|one| one.decision).collect();
    decisions.sort_unstable();
    Then::Suspect(told.entry(decisions).or_insert_with(|| suspicion(engine, named)).clone())
}

/// Returns how many decisions, the likeliest first, hold nearly all that is believed.
fn holding(ranked: &[Ranked]) -> usize {
    let mut held = 0.0;
    let enough = ranked.iter().position(|one| {
        held += one.probability;
        held >= NEARLY_ALL
    });
    enough.map_or(ranked.len(), |last| last + 1)
}

/// Returns whether a decision is that nothing is wrong in the instrument.
pub(super) fn nothing_wrong(engine: &Engine, ranked: &Ranked) -> bool {
    faults(engine, ranked).any(|fault| fault.kind == Kind::NothingWrong)
}

/// Returns whether a decision is at some place of the instrument.
pub(super) fn can_be_named(engine: &Engine, ranked: &Ranked) -> bool {
    faults(engine, ranked).all(|fault| !How::of(fault.kind).is_empty())
}

fn faults<'e>(engine: &'e Engine, ranked: &'e Ranked) -> impl Iterator<Item = &'e Fault> {
    ranked.faults.iter().map(move |(fault, _)| &engine.model.catalogue[*fault])
}

fn suspicion(engine: &Engine, named: &[Ranked]) -> Suspicion {
    let say: Vec<String> = named.iter().map(|one| words::small(&suspect_in_words(engine, one))).collect();
    let (mut at, mut how) = (Vec::new(), Vec::new());
    for fault in named.iter().flat_map(|one| faults(engine, one)) {
        for part in parts(engine.harness(), fault) {
            put(&mut at, name_of(engine.harness(), part));
        }
        How::of(fault.kind).first().into_iter().for_each(|one| put(&mut how, *one));
    }
    Suspicion { say: say.join("; or "), at, how }
}

fn put<T: PartialEq>(all: &mut Vec<T>, one: T) {
    if !all.contains(&one) {
        all.push(one);
    }
}

/// Returns the parts that a fault is at: those whose lugs it marks, or those that its conductor joins.
fn parts(harness: &Harness, fault: &Fault) -> Vec<PartId> {
    let part = |terminal: &TerminalId| harness[*terminal].part;
    if !fault.terminals.is_empty() {
        return fault.terminals.iter().map(part).collect();
    }
    let ends = |link: &LinkId| [harness[*link].from.terminal, harness[*link].to.terminal];
    fault.links.iter().flat_map(ends).map(|terminal| part(&terminal)).collect()
}

/// Returns what a tree calls a part: by its own name, but for the plug, which is at the jack.
fn name_of(harness: &Harness, part: PartId) -> String {
    match harness[part].kind {
        PartKind::Plug => "jack".to_owned(),
        _ => harness[part].name.clone(),
    }
}
