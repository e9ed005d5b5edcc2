//! What can be wrong with the steps of a tree before a guitar is known.

use std::collections::BTreeSet;

use super::reach::{self, Reach};
use super::tree::{answer_path, ask_path, outcome_path, step_path};
use super::{Answer, Ask, CAUTIONS, Outcome, Probe, Step, Then, Tree, TreeError, When, Wrong};
use crate::readings::Mode;
use crate::source::{Located, Path};

/// Returns the mistakes of every step by itself: outcomes that stand too late to be taken, and the first of all others.
pub(super) fn steps(tree: &Tree) -> Vec<TreeError> {
    let wrong = |(index, step): (usize, &Step)| {
        let mut errors = too_late(tree, index, step);
        errors.extend(alone(tree, index, step).err());
        errors.into_iter().map(|error| error.in_step(&step.name)).collect::<Vec<_>>()
    };
    tree.steps.iter().enumerate().flat_map(wrong).collect()
}

/// Returns every caution that nobody wrote a text for.
pub(super) fn cautions(tree: &Tree) -> Vec<TreeError> {
    let unknown = |(index, step): (usize, &Step)| {
        let key = step.caution.as_deref().filter(|key| !CAUTIONS.contains(key))?;
        let hint = Some(format!("the cautions are {}", CAUTIONS.join(", ")));
        let message = format!("there is no caution \"{key}\"");
        let error = tree.positions.error(&step_path(index).then("caution"), message, hint);
        Some(TreeError::from(error).in_step(&step.name))
    };
    tree.steps.iter().enumerate().filter_map(unknown).collect()
}

/// Returns every answer whose question has the same answer before it.
pub(super) fn repeated(tree: &Tree) -> Vec<TreeError> {
    let of = |(index, step): (usize, &Step)| {
        let Ask::Question { answers, .. } = &step.ask else { return Vec::new() };
        let told = |at: usize| {
            let message = format!("the answer \"{}\" stands there twice", answers[at].answer);
            let hint = Some("say in each what tells it from the other".to_owned());
            let path = answer_path(index, at).then("answer");
            TreeError::new(Wrong::Overlap, tree.positions.error(&path, message, hint)).in_step(&step.name)
        };
        let mut before = BTreeSet::new();
        let again = |(_, answer): &(usize, &Answer)| !before.insert(answer.answer.trim().to_lowercase());
        answers.iter().enumerate().filter(again).map(|(at, _)| told(at)).collect()
    };
    tree.steps.iter().enumerate().flat_map(of).collect()
}

fn alone(tree: &Tree, index: usize, step: &Step) -> Result<(), TreeError> {
    texts(tree, index, step)?;
    match &step.ask {
        Ask::Measure(probe) => measure(tree, index, probe),
        Ask::Question { answers, .. } => answers.iter().enumerate().try_for_each(|(at, answer)| {
            filled(tree, &answer.answer, "answer", &answer_path(index, at))?;
            Ok(filled(tree, &answer.means, "means", &answer_path(index, at))?)
        }),
    }
}

fn texts(tree: &Tree, index: usize, step: &Step) -> Result<(), Located> {
    let path = step_path(index);
    filled(tree, &step.name, "name", &path)?;
    filled(tree, &step.say, "say", &path)?;
    printable(tree, step.telephone.as_deref().unwrap_or_default(), "telephone", &path)?;
    for then in step.ways() {
        if let Then::Suspect(suspicion) = then {
            printable(tree, &suspicion.say, "say", &path)?;
        }
    }
    if index == 0 {
        printable(tree, &tree.title, "title", &Path::root())?;
        printable(tree, tree.elsewhere.as_deref().unwrap_or_default(), "elsewhere", &Path::root())?;
    }
    filled(tree, &step.why, "why", &path)
}

/// Refuses letters that do something to a screen or turn the direction of what follows.
fn printable(tree: &Tree, text: &str, field: &str, path: &Path) -> Result<(), Located> {
    let turns =
        |c: char| matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let Some(letter) = text.chars().find(|c| c.is_control() || turns(*c)) else { return Ok(()) };
    let message = format!("`{field}` has a letter that cannot be printed, U+{:04X}", u32::from(letter));
    let hint = Some("take it out; a text is one line of plain letters".to_owned());
    Err(tree.positions.error(&path.then(field), message, hint))
}

fn filled(tree: &Tree, text: &str, field: &str, path: &Path) -> Result<(), Located> {
    if !text.trim().is_empty() {
        return printable(tree, text, field, path);
    }
    let hint = Some("a newcomer at a bench reads it; one plain sentence is enough".to_owned());
    Err(tree.positions.error(&path.then(field), format!("`{field}` is empty"), hint))
}

/// Refuses two probes on one terminal; a step that listens has none.
fn apart(tree: &Tree, index: usize, probe: &Probe) -> Result<(), Located> {
    if probe.red != probe.black || probe.heard().is_some() {
        return Ok(());
    }
    let hint = Some("put the probes on two different terminals".to_owned());
    let message = format!("both probes are on \"{}\"", probe.red);
    Err(tree.positions.error(&ask_path(index).then("black"), message, hint))
}

fn measure(tree: &Tree, index: usize, probe: &Probe) -> Result<(), TreeError> {
    apart(tree, index, probe)?;
    if probe.outcomes.is_empty() {
        let hint = Some("write at least one `(when: ..., means: ..., then: ...)`".to_owned());
        let path = ask_path(index).then("outcomes");
        return Err(tree.positions.error(&path, "the step has no outcomes", hint).into());
    }
    for (at, outcome) in probe.outcomes.iter().enumerate() {
        let path = outcome_path(index, probe.mode, at);
        filled(tree, &outcome.means, "means", &path)?;
        fits_mode(tree, &path, probe, outcome)?;
    }
    let reaches: Vec<Option<Reach>> = probe.outcomes.iter().map(|o| reach::absolute(o.when)).collect();
    no_overlap(tree, index, probe, &reaches)?;
    no_repeat(tree, index, probe)
}

fn fits_mode(tree: &Tree, path: &Path, probe: &Probe, outcome: &Outcome) -> Result<(), Located> {
    let beeper = matches!(outcome.when, When::Beeps | When::NoBeep);
    let message = match (outcome.when, probe.mode) {
        (When::AnythingElse, _) | (_, Mode::Observe(_)) => return Ok(()),
        (When::Unstable, Mode::Resistance | Mode::Volts | Mode::Current) if probe.flex.is_none() => {
            "is only for a step that flexes something"
        }
        (When::VolumePotAlone, Mode::Volts | Mode::Current) => "is a number of ohms",
        (_, mode) if beeper && mode != Mode::Continuity => "is only for a step with `mode: Continuity`",
        (_, Mode::Continuity) if !beeper => "is not for the beeper",
        _ => return Ok(()),
    };
    let hint = match probe.mode {
        Mode::Continuity => "use Beeps, NoBeep or AnythingElse",
        _ if outcome.when == When::Unstable => "add `flex: \"plug\"`, or take the outcome out",
        Mode::Volts => "use a value, such as Under(\"7.5 V\")",
        Mode::Current => "use a value, such as Over(\"1 mA\")",
        _ => "use a value, such as Under(\"5 ohm\")",
    };
    let message = format!("{} {message}", outcome.written);
    Err(tree.positions.error(&path.then("when"), message, Some(hint.to_owned())))
}

/// Returns the first outcome that leaves nothing for those after it.
fn too_late(tree: &Tree, index: usize, step: &Step) -> Vec<TreeError> {
    let Ask::Measure(probe) = &step.ask else { return Vec::new() };
    let takes_all = |outcome: &Outcome| outcome.when == When::AnythingElse;
    let at = probe.outcomes.iter().position(takes_all).filter(|at| at + 1 < probe.outcomes.len());
    let error = |at: usize| {
        let hint = Some("move it to the end: no outcome after it can ever be taken".to_owned());
        let path = outcome_path(index, probe.mode, at).then("when");
        let error = tree.positions.error(&path, "AnythingElse is not the last outcome", hint);
        TreeError::new(Wrong::Unreachable, error)
    };
    at.map(error).into_iter().collect()
}

/// Refuses two outcomes that can take the same reading.
pub(super) fn no_overlap(
    tree: &Tree,
    index: usize,
    probe: &Probe,
    reaches: &[Option<Reach>],
) -> Result<(), TreeError> {
    let Some((earlier, later)) = reach::overlap(reaches) else {
        return Ok(());
    };
    let name = |at: usize| {
        let reach = reaches[at].as_ref().map(|reach| reach.words(probe.mode.dial())).unwrap_or_default();
        format!("{} ({reach})", probe.outcomes[at].written)
    };
    let (line, _) = tree.positions.at(&outcome_path(index, probe.mode, earlier).then("when"));
    let message = format!("outcome {} overlaps outcome {} of line {line}", name(later), name(earlier));
    let hint = Some("change one of the two, so that every reading has one outcome".to_owned());
    let path = outcome_path(index, probe.mode, later).then("when");
    let error = tree.positions.error(&path, message, hint);
    Err(TreeError::new(Wrong::Overlap, error))
}

fn no_repeat(tree: &Tree, index: usize, probe: &Probe) -> Result<(), TreeError> {
    let repeats = |at: &usize| probe.outcomes[..*at].iter().any(|o| o.when == probe.outcomes[*at].when);
    let Some(at) = (1..probe.outcomes.len()).find(repeats) else {
        return Ok(());
    };
    let message = format!("outcome {} is there twice", probe.outcomes[at].written);
    let hint = Some("keep one of the two".to_owned());
    let path = outcome_path(index, probe.mode, at).then("when");
    let error = tree.positions.error(&path, message, hint);
    Err(TreeError::new(Wrong::Overlap, error))
}
