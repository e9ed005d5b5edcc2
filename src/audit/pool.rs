//! Every measurement that an audit may ask for, by control setting.

use std::collections::{BTreeMap, BTreeSet};

use crate::circuit::{ControlKind, PartKind, PotRole, Terminal};
use crate::prediction::Model;
use crate::readings::{Setting, Stand};

/// The probes of a measurement, red first.
pub type Pair = (String, String);

/// Returns the probes worth considering at every setting: any two terminals while all knobs are at 10, the plug
/// and the terminals of one pot while it is turned.
pub fn pool(model: &Model) -> BTreeMap<Setting, BTreeSet<Pair>> {
    let reached = |terminal: &&Terminal| terminal.probe;
    let all: Vec<&Terminal> = model.harness.terminals.iter().filter(reached).collect();
    let mut pool: BTreeMap<Setting, BTreeSet<Pair>> = BTreeMap::new();
    for setting in model.switch_settings() {
        for (control, turned) in turned(model, &setting) {
            let near = all.iter().copied().filter(|t| t.part == control || t.name.starts_with("plug."));
            pool.entry(turned).or_default().extend(pairs(&near.collect::<Vec<_>>()));
        }
        pool.entry(setting).or_default().extend(pairs(&all));
    }
    pool
}

/// Returns a setting with one knob moved at a time: to 0, and volumes and blends to 5 as well.
fn turned(model: &Model, setting: &Setting) -> Vec<(crate::circuit::PartId, Setting)> {
    let knobs = model.harness.controls.iter().filter(|control| control.kind == ControlKind::Knob);
    knobs
        .flat_map(|control| {
            let tone = matches!(model.harness[control.part].kind, PartKind::Pot { role: PotRole::Tone, .. });
            let dials: &[u8] = if tone { &[0] } else { &[0, 5] };
            let at = |&dial: &u8| (control.part, setting.clone().with(&control.name, Stand::Knob(dial)));
            dials.iter().map(at).collect::<Vec<_>>()
        })
        .collect()
}

/// Returns any two of some terminals; of each pair the plug's or else the earlier one is under the black probe.
fn pairs(terminals: &[&Terminal]) -> Vec<Pair> {
    let ordered = |one: &Terminal, other: &Terminal| {
        let sleeve = one.name == "plug.sleeve" || !other.name.starts_with("plug.");
        let (red, black) = if sleeve { (other, one) } else { (one, other) };
        (red.name.clone(), black.name.clone())
    };
    let pair = |(index, one): (usize, &&Terminal)| {
        terminals[index + 1..].iter().map(|other| ordered(one, other)).collect::<Vec<_>>()
    };
    terminals.iter().enumerate().flat_map(pair).collect()
}
