//! What can be told of a tree from its text, and from what a guitar has.

use std::collections::BTreeMap;

use super::{Finding, Flaw};
use crate::source::advice;
use crate::trees::{Feature, Then, Tree, TreeError, Wrong};

/// Returns a mistake of the loader as a finding.
pub(super) fn mistake(error: &TreeError) -> Finding {
    Finding {
        flaw: flaw(error.wrong),
        fails: true,
        line: error.at.line,
        column: error.at.column,
        step: error.step.clone(),
        wirings: Vec::new(),
        says: error.at.message.clone(),
        hint: error.at.hint.clone().unwrap_or_default(),
    }
}

fn flaw(wrong: Wrong) -> Flaw {
    match wrong {
        Wrong::Unreadable => Flaw::CannotBeRead,
        Wrong::Misfit => Flaw::DoesNotFit,
        Wrong::Gap => Flaw::Gap,
        Wrong::Overlap => Flaw::Overlap,
        Wrong::Unreachable => Flaw::Unreachable,
        Wrong::Endless => Flaw::Endless,
    }
}

/// Returns the mistakes of wirings as findings, those of one place and kind together.
pub(super) fn misfits(errors: &[(String, TreeError)]) -> Vec<Finding> {
    let mut found: BTreeMap<(usize, usize, Flaw), Finding> = BTreeMap::new();
    for (wiring, error) in errors {
        let finding = mistake(error);
        let known = found.entry((finding.line, finding.column, finding.flaw)).or_insert(finding);
        known.wirings.push(wiring.clone());
    }
    found.into_values().collect()
}

/// Returns the ways to trees that there are not, and to the tree itself.
pub(super) fn links(tree: &Tree, others: &[Tree]) -> Vec<Finding> {
    let steps = tree.steps.iter().enumerate();
    let ways = steps.flat_map(|(step, of)| of.ways().enumerate().map(move |(way, then)| (step, way, then)));
    ways.filter_map(|(step, way, then)| match then {
        Then::Tree(name) if *name == tree.name => Some(link(tree, (step, way), Flaw::Endless, name, others)),
        Then::Tree(name) if others.iter().all(|other| other.name != *name) => {
            Some(link(tree, (step, way), Flaw::DoesNotFit, name, others))
        }
        _ => None,
    })
    .collect()
}

fn link(tree: &Tree, (step, way): (usize, usize), flaw: Flaw, name: &str, others: &[Tree]) -> Finding {
    let (line, column) = tree.position(step, Some(way));
    let names: Vec<&str> = others.iter().map(|other| other.name.as_str()).collect();
    let (says, hint) = match flaw {
        Flaw::Endless => (
            format!("the tree leads back to itself, \"{name}\""),
            "lead to a step of it, or to `Advisor`".to_owned(),
        ),
        _ => (format!("there is no tree \"{name}\""), advice(name, &names, "the trees are", '"')),
    };
    let step = tree.steps[step].name.clone();
    Finding { flaw, fails: true, line, column, step, wirings: Vec::new(), says, hint }
}

/// Returns why a tree that names its wirings is not for another.
pub(super) fn others_only(tree: &Tree) -> String {
    let names = format!("the tree is only for the wiring {}", tree.wirings.join(" or "));
    tree.elsewhere.as_ref().map_or_else(|| names.clone(), |elsewhere| format!("{names}: {elsewhere}"))
}

/// Returns why a tree is not for a guitar.
pub(super) fn lacks(tree: &Tree, feature: Feature) -> String {
    let lacks = match feature {
        Feature::Passive => "a meter at the plug does not see its pickups",
        Feature::Battery => "it has no battery",
        Feature::Preamp => "it has no preamp",
        Feature::Piezo => "it has no piezo element",
        Feature::Coil => "it has no magnetic pickup",
        Feature::TwoPickups => "it has fewer than two magnetic pickups",
        Feature::Volume => "it has no volume knob",
        Feature::Tone => "it has no tone knob",
        Feature::Switch => "it has no switch that selects",
        Feature::Shield => "it has no shield",
        Feature::Straight => "its pickup is not straight at the jack",
    };
    tree.elsewhere.as_ref().map_or_else(|| lacks.to_owned(), |elsewhere| format!("{lacks}: {elsewhere}"))
}
