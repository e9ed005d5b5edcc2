//! Every measurement that an audit may ask for, by control setting.

use std::collections::{BTreeMap, BTreeSet};

use crate::circuit::{Control, ControlKind, PartId, PartKind, PotRole, Terminal};
use crate::prediction::Model;
use crate::readings::{Setting, Stand};

/// The probes of a measurement, red first.
pub type Pair = (String, String);

/// Returns the probes worth considering at every setting: any two terminals while all knobs are at 10, the plug
/// and the terminals of one pot while it is turned, those of plug and jack with a plug of another kind.
pub fn pool(model: &Model) -> BTreeMap<Setting, BTreeSet<Pair>> {
    let all = reached(model);
    let beside_plug = |wanted: &dyn Fn(PartId) -> bool| {
        let near = all.iter().copied().filter(|t| wanted(t.part) || t.name.starts_with("plug."));
        pairs(&near.collect::<Vec<_>>())
    };
    let jack = |part: PartId| model.harness[part].kind == PartKind::Jack;
    let mut pool: BTreeMap<Setting, BTreeSet<Pair>> = BTreeMap::new();
    for setting in model.switch_settings() {
        for (pot, turned) in turned(model, &setting) {
            pool.entry(turned).or_default().extend(beside_plug(&|part| part == pot));
        }
        for plugged in plugged(model, &setting) {
            pool.entry(plugged).or_default().extend(beside_plug(&jack));
        }
        pool.entry(setting).or_default().extend(pairs(&all));
    }
    pool
}

/// Returns any two terminals that a probe can reach.
pub fn everywhere(model: &Model) -> Vec<Pair> {
    pairs(&reached(model))
}

/// Returns the settings beside those with all knobs at 10: one knob at 0 or 5, or a plug of another kind.
pub fn stands(model: &Model) -> Vec<Setting> {
    let beside = |setting: &Setting| {
        let at = |knob: &Control, dial: u8| setting.clone().with(&knob.name, Stand::Knob(dial));
        let turned = knobs(model).flat_map(|knob| [at(knob, 0), at(knob, 5)]);
        turned.chain(plugged(model, setting)).collect::<Vec<_>>()
    };
    model.switch_settings().iter().flat_map(beside).collect()
}

fn reached(model: &Model) -> Vec<&Terminal> {
    model.harness.terminals.iter().filter(|terminal| terminal.probe).collect()
}

fn knobs(model: &Model) -> impl Iterator<Item = &Control> {
    model.harness.controls.iter().filter(|control| control.kind == ControlKind::Knob)
}

/// Returns a setting with every other kind of plug that the jack takes.
fn plugged(model: &Model, setting: &Setting) -> Vec<Setting> {
    let plugs = model.harness.controls.iter().filter(|c| model.harness[c.part].kind == PartKind::Plug);
    let others = |plug: &Control| match &plug.kind {
        ControlKind::Selector(names) => {
            let with = |name: &String| setting.clone().with(&plug.name, Stand::At(name.clone()));
            names.iter().skip(1).map(with).collect::<Vec<_>>()
        }
        ControlKind::Knob => Vec::new(),
    };
    plugs.flat_map(others).collect()
}

/// Returns a setting with one knob moved at a time: to 0, and volumes and blends to 5 as well.
fn turned(model: &Model, setting: &Setting) -> Vec<(PartId, Setting)> {
    knobs(model)
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
