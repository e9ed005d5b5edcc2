//! The probes that a person puts into the wiring picture, and the reading of one's own that they make.

use super::action::{Desk, Framing, Look, Spot};
use super::bench::Bench;
use crate::circuit::{Control, ControlKind, Harness};
use crate::draw::Sight;
use crate::readings::{Measurement, Mode, Setting, Stand};
use crate::workbench::{Ask, Command, Stage, StepView, View};

/// What can be asked for with two probes in the picture.
pub(super) const MODES: [Mode; 5] =
    [Mode::Resistance, Mode::Continuity, Mode::Capacitance, Mode::Volts, Mode::Current];
/// Said when nothing is typed.
const NOTHING: &str = "Nothing is typed yet. What does your meter show?";
/// Said when a probe is missing.
const ONE_MISSING: &str = "Put both probes on a terminal first.";

/// One thing done in the wiring picture.
#[derive(Clone, Debug, PartialEq)]
pub enum Probing {
    /// Look at the instrument this way.
    Look(Sight),
    /// Put a probe on a terminal, or take it off again.
    Pick {
        /// The terminal's name.
        terminal: String,
        /// What of the picture was shown, to go back to.
        framing: Framing,
    },
    /// Exchange the probes.
    Swap,
    /// Take both probes off.
    Clear,
    /// Turn the dial.
    Mode(Mode),
    /// Move a control.
    Set {
        /// The control's name.
        control: String,
        /// Where it stands then.
        stand: Stand,
    },
    /// Flex this meanwhile, or nothing.
    Flex(Option<String>),
    /// The value that is typed has changed.
    Typed,
    /// Ask what this would read.
    Ask,
    /// Record what is typed.
    Record,
}

/// A control, with where it can be set.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// The control's name.
    pub name: String,
    /// The positions of a switch; none for a knob.
    pub positions: Vec<String>,
}

/// The probes in the picture, and the reading that they make.
#[derive(Clone, Debug)]
pub struct OwnProbes {
    /// What is measured; a probe that is not placed yet has no name.
    pub measurement: Measurement,
    /// What the red probe touches, in words.
    pub red: String,
    /// What the black probe touches, in words.
    pub black: String,
    /// The controls.
    pub controls: Vec<Choice>,
    /// What can be flexed meanwhile: its name, and what is done.
    pub flexes: Vec<(String, String)>,
    /// The value as it is typed.
    pub entry: String,
    /// What it would mean, or why it cannot be taken; `None` while nothing is typed.
    pub echo: Option<Result<String, String>>,
    /// Why the last thing asked was refused.
    pub problem: Option<String>,
    /// What is foretold of the reading, once it was asked.
    pub told: Option<Box<StepView>>,
    framing: Framing,
}

impl OwnProbes {
    fn new(harness: &Harness, setting: Setting, framing: Framing) -> Self {
        let positions = |kind: &ControlKind| match kind {
            ControlKind::Knob => Vec::new(),
            ControlKind::Selector(names) => names.clone(),
        };
        let choice =
            |control: &Control| Choice { name: control.name.clone(), positions: positions(&control.kind) };
        Self {
            measurement: Measurement::ohms("", "", setting),
            red: String::new(),
            black: String::new(),
            controls: harness.controls.iter().map(choice).collect(),
            flexes: Vec::new(),
            entry: String::new(),
            echo: None,
            problem: None,
            told: None,
            framing,
        }
    }

    /// Returns whether both probes are placed.
    pub fn complete(&self) -> bool {
        !self.measurement.red.is_empty() && !self.measurement.black.is_empty()
    }

    /// Puts a probe on a terminal, or takes it off; a third terminal begins again with red.
    fn touch(&mut self, terminal: &str) {
        let measurement = &mut self.measurement;
        if measurement.red == terminal {
            measurement.red = std::mem::take(&mut measurement.black);
        } else if measurement.black == terminal {
            measurement.black.clear();
        } else if measurement.red.is_empty() || !measurement.black.is_empty() {
            terminal.clone_into(&mut measurement.red);
            measurement.black.clear();
        } else {
            terminal.clone_into(&mut measurement.black);
        }
    }

    /// Words the probes and what can be flexed anew, after a probe was moved.
    fn name(&mut self, harness: &Harness) {
        self.red = self.measurement.touched(harness, &self.measurement.red);
        self.black = self.measurement.touched(harness, &self.measurement.black);
        self.flexes = flexes(harness, &self.measurement);
        let flexed = self.measurement.flex.take();
        self.measurement.flex = flexed.filter(|flex| self.flexes.iter().any(|(name, _)| name == flex));
    }

    /// Forgets what was said of the measurement before it changed.
    fn changed(&mut self) {
        (self.told, self.problem) = (None, None);
    }
}

/// Returns what can be flexed while two terminals are probed: the plug, the terminals, their parts.
fn flexes(harness: &Harness, measurement: &Measurement) -> Vec<(String, String)> {
    let mut all = vec![("plug".to_owned(), "the plug is rocked in the jack".to_owned())];
    for name in [&measurement.red, &measurement.black] {
        let Some(terminal) = harness.terminal(name).map(|id| &harness[id]) else { continue };
        let part = &harness[terminal.part];
        all.push((terminal.name.clone(), format!("{} is prodded", terminal.title)));
        all.push((part.name.clone(), format!("{} is moved", part.title)));
    }
    let mut once: Vec<(String, String)> = Vec::new();
    all.into_iter().for_each(|flex| {
        if once.iter().all(|(name, _)| *name != flex.0) {
            once.push(flex);
        }
    });
    once
}

/// Carries out one thing done in the picture; returns the command that it leads to.
pub(super) fn carry_out(bench: &mut dyn Bench, desk: &mut Desk, asked: Probing) -> Option<Command> {
    match asked {
        Probing::Look(sight) => look_from(bench, desk, sight),
        Probing::Pick { terminal, framing } => pick(bench, desk, &terminal, framing),
        Probing::Clear => clear(desk),
        Probing::Record => return record(desk),
        other => {
            if let Some(own) = &mut desk.own_probes {
                change(bench, own, other);
            }
        }
    }
    None
}

fn look_from(bench: &mut dyn Bench, desk: &mut Desk, sight: Sight) {
    turn(&mut desk.look, bench.sight(), sight);
    bench.look_from(sight);
}

/// Keeps the same part of the picture in the middle when the sight changes.
pub(super) fn turn(look: &mut Look, before: Sight, now: Sight) {
    if now.mirrored() != before.mirrored() {
        look.shift.x = -look.shift.x;
    }
}

fn pick(bench: &dyn Bench, desk: &mut Desk, terminal: &str, framing: Framing) {
    let Some(harness) = bench.harness() else { return };
    let now = || bench.view().map_or_else(|| Setting::reference(harness), |view| present(view, harness));
    let own = desk.own_probes.get_or_insert_with(|| OwnProbes::new(harness, now(), framing));
    own.touch(terminal);
    own.name(harness);
    own.changed();
    if own.complete() {
        desk.focus = Some(Spot::OwnProbes);
    } else if own.measurement.red.is_empty() {
        clear(desk);
    }
}

/// Returns where the controls are now: as the step on the screen wants them, or as they were read last.
fn present(view: &View, harness: &Harness) -> Setting {
    let asked = view.reading_asked().and_then(|step| match &step.ask {
        Ask::Measure(measurement) => Some(measurement.setting.clone()),
        Ask::Question { .. } => None,
    });
    let last = || view.readings.last().map(|reading| reading.measurement.setting.clone());
    let told = asked.or_else(last).unwrap_or_default();
    let mut whole = Setting::reference(harness);
    whole.0.extend(told.0);
    whole
}

/// Takes both probes off.
pub(super) fn clear(desk: &mut Desk) {
    if let Some(own) = desk.own_probes.take() {
        desk.look = Look::at(own.framing);
    }
    if desk.focus == Some(Spot::OwnProbes) {
        desk.focus = Some(Spot::Home);
    }
}

fn change(bench: &dyn Bench, own: &mut OwnProbes, asked: Probing) {
    match asked {
        Probing::Ask => ask(bench, own),
        Probing::Typed => own.problem = None,
        other => adjust(own, other),
    }
    let (text, measurement) = (own.entry.trim(), &own.measurement);
    own.echo = (!text.is_empty()).then(|| bench.echo(text, measurement.flex.is_some(), measurement.mode));
}

fn adjust(own: &mut OwnProbes, asked: Probing) {
    let measurement = &mut own.measurement;
    match asked {
        Probing::Swap => {
            std::mem::swap(&mut measurement.red, &mut measurement.black);
            std::mem::swap(&mut own.red, &mut own.black);
        }
        Probing::Mode(mode) => measurement.mode = mode,
        Probing::Flex(flex) => measurement.flex = flex,
        Probing::Set { control, stand } => {
            measurement.setting.0.insert(control, stand);
        }
        _ => {}
    }
    own.changed();
}

fn ask(bench: &dyn Bench, own: &mut OwnProbes) {
    if !own.complete() {
        own.problem = Some(ONE_MISSING.to_owned());
        return;
    }
    match bench.foretold(&own.measurement) {
        Ok(step) => (own.told, own.problem) = (Some(Box::new(step)), None),
        Err(problem) => own.problem = Some(problem),
    }
}

/// Returns the command that records what is typed, unless something is missing.
fn record(desk: &mut Desk) -> Option<Command> {
    let own = desk.own_probes.as_mut()?;
    let text = own.entry.trim().to_owned();
    let refused = if text.is_empty() {
        Some(NOTHING.to_owned())
    } else if own.complete() {
        None
    } else {
        Some(ONE_MISSING.to_owned())
    };
    own.problem = refused;
    let ready = own.problem.is_none();
    ready.then(|| Command::Record { text, measurement: Some(own.measurement.clone()) })
}

/// Returns why nothing can be read now; `None` when it can.
pub(super) fn refusal(view: &View) -> Option<&'static str> {
    if !view.cautions.is_empty() {
        return Some("Acknowledge the caution first; nothing is read before.");
    }
    match view.stage {
        Stage::Finding => None,
        _ => Some("Readings of your own are recorded while the fault is looked for. Undo goes back to that."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn own() -> OwnProbes {
        OwnProbes {
            measurement: Measurement::ohms("", "", Setting::default()),
            red: String::new(),
            black: String::new(),
            controls: Vec::new(),
            flexes: Vec::new(),
            entry: String::new(),
            echo: None,
            problem: None,
            told: None,
            framing: Framing::Marks,
        }
    }

    fn after(terminals: &[&str]) -> (String, String) {
        let mut own = own();
        terminals.iter().for_each(|terminal| own.touch(terminal));
        (own.measurement.red, own.measurement.black)
    }

    #[test]
    fn red_comes_first_then_black_and_a_third_begins_again() {
        let pair = |red: &str, black: &str| (red.to_owned(), black.to_owned());
        assert_eq!(after(&["a"]), pair("a", ""));
        assert_eq!(after(&["a", "b"]), pair("a", "b"));
        assert_eq!(after(&["a", "b", "c"]), pair("c", ""));
    }

    #[test]
    fn a_probe_is_taken_off_where_it_is() {
        let pair = |red: &str, black: &str| (red.to_owned(), black.to_owned());
        assert_eq!(after(&["a", "a"]), pair("", ""));
        assert_eq!(after(&["a", "b", "b"]), pair("a", ""));
        assert_eq!(after(&["a", "b", "a"]), pair("b", ""));
    }
}
