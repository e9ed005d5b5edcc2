//! Which complaint and which guitars a grown tree is for.

use crate::circuit::{Harness, PartKind, PotRole};
use crate::readings::Symptom;
use crate::source::Source;
use crate::trees::name::LONGEST;
use crate::trees::{self, Ask, Feature, Step, Title, Tree};
use crate::workbench::Engine;

/// What a complaint can be about: without it nobody complains so.
const OF_COMPLAINTS: [Feature; 4] = [Feature::Battery, Feature::Volume, Feature::Tone, Feature::Switch];
/// What every reading of a guitar goes by.
const OF_READINGS: [Feature; 6] = [
    Feature::Passive,
    Feature::Battery,
    Feature::Preamp,
    Feature::Piezo,
    Feature::TwoPickups,
    Feature::Straight,
];
/// What only some steps go by.
const OF_STEPS: [Feature; 4] = [Feature::Volume, Feature::Tone, Feature::Switch, Feature::Shield];

/// Returns the name, the title and what a guitar must have, for a tree of some steps.
pub(super) fn title(engine: &Engine, complaint: Symptom, steps: &[Step]) -> Title {
    let harness = engine.harness();
    let used = OF_STEPS.into_iter().filter(|feature| steps.iter().any(|step| uses(harness, step, *feature)));
    let only: Vec<Feature> =
        OF_READINGS.into_iter().chain(used).filter(|feature| feature.of(harness)).collect();
    let wiring = &harness.title;
    let elsewhere = format!(
        "This tree was grown for {wiring}: grow one for the other guitar, or go on with the advisor."
    );
    let name = format!("grown-{}-{}", complaint.name(), harness.name).chars().take(LONGEST).collect();
    let title = format!("{}: {wiring}", super::words::capital(complaint.title()));
    let (wirings, elsewhere) = (vec![harness.name.clone()], Some(elsewhere));
    Title { name, title, complaint, wirings, only, elsewhere }
}

/// Returns whether a step reads at, moves or names what a feature is about.
fn uses(harness: &Harness, step: &Step, feature: Feature) -> bool {
    let Ask::Measure(probe) = &step.ask else { return false };
    let at = [&probe.red, &probe.black].into_iter().filter_map(|name| harness.terminal(name));
    let surface = at.clone().any(|terminal| harness[terminal].grounded_surface);
    let controls = probe.stands().map(|(name, _)| name.to_owned()).chain(probe.about.clone());
    let turned = controls.filter_map(|name| harness.control(&name).map(|control| control.part));
    let moved = probe.flex.iter().filter_map(|name| harness.part(name));
    let touched: Vec<&PartKind> = at
        .map(|terminal| harness[terminal].part)
        .chain(turned)
        .chain(moved)
        .map(|p| &harness[p].kind)
        .collect();
    let knob = |wanted: PotRole| {
        touched.iter().any(|kind| matches!(kind, PartKind::Pot { role, .. } if *role == wanted))
    };
    match feature {
        Feature::Volume => knob(PotRole::Volume),
        Feature::Tone => knob(PotRole::Tone),
        Feature::Switch => touched.iter().any(|kind| matches!(kind, PartKind::Switch { .. })),
        _ => surface,
    }
}

/// Returns the trees for a complaint that come with the program.
fn built_in(complaint: Symptom) -> Vec<Tree> {
    let load = |(name, text): &(&str, &'static str)| trees::load(&Source::new(*name, *text)).ok();
    trees::built_in().iter().filter_map(load).filter(|tree| tree.complaint == complaint).collect()
}

/// Returns what a complaint is about and a wiring lacks: every tree for it that comes with the program is only for
/// guitars that have it.
pub(super) fn missing(harness: &Harness, complaint: Symptom) -> Vec<&'static str> {
    let all = built_in(complaint);
    let always = |feature: &Feature| !all.is_empty() && all.iter().all(|tree| tree.only.contains(feature));
    let lacks = |feature: &Feature| always(feature) && !feature.of(harness);
    OF_COMPLAINTS.into_iter().filter(lacks).map(Feature::words).collect()
}

/// Returns what the trees for a complaint that come with the program need and a wiring lacks, in words.
pub(super) fn needs(harness: &Harness, complaint: Symptom) -> Vec<&'static str> {
    let mut needs: Vec<&str> = Vec::new();
    for feature in built_in(complaint).iter().filter_map(|tree| tree.lacking(harness)) {
        if !needs.contains(&feature.words()) {
            needs.push(feature.words());
        }
    }
    needs
}
