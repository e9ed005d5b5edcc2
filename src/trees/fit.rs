//! A tree fitted to one guitar: its terminals, its controls, its own expected readings.

use super::reach::{self, Reach};
use super::tree::{Place, ask_path};
use super::ways::way_path;
use super::{Ask, Feature, Group, Probe, Step, Then, Tree, TreeError, Wrong, check, suspicion};
use crate::circuit::{Control, ControlKind, Harness, Part, PartKind, Position, PotRole, TerminalId};
use crate::readings::{Check, Measurement, Mode, Setting, Stand};
use crate::source::{Located, advice};

/// What a tree can name to be flexed without knowing the guitar.
const FLEX_ROLES: [&str; 5] = ["plug", "selector", "volume", "tone", "jack"];

/// What a tree can listen for without knowing the guitar.
const HEARD_ROLES: &str = "; for every guitar write volume, tone or selector";

/// What a measurement reads on a guitar as it should be, in the unit of its mode: ohms, volts or amperes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Expected {
    /// Lower end, nominal value and upper end of the healthy band; `None` when it is over range.
    pub healthy: Option<(f64, f64, f64)>,
    /// The track of the selected volume pot alone, in ohms; `None` when there is none in this measurement.
    pub volume_alone: Option<f64>,
}

/// A tree fitted to one guitar. See [`Tree::fit`].
#[derive(Clone, Debug)]
pub struct Fitted {
    pub(super) tree: Tree,
    pub(super) steps: Vec<FittedStep>,
}

/// What a step is on this guitar.
#[derive(Clone, Debug)]
pub(super) enum FittedStep {
    /// It needs what the guitar lacks.
    PassedOver,
    /// It asks a question.
    Question,
    /// It asks for this measurement.
    Measure { measurement: Measurement, reaches: Vec<Reach> },
}

impl Tree {
    /// Returns the tree fitted to a guitar; `expected` says what the healthy guitar reads.
    ///
    /// # Errors
    ///
    /// Every terminal, control, position, part or place the tree names and the guitar lacks; every two outcomes that
    /// overlap on this guitar; every reading that has no outcome.
    pub fn fit(
        &self,
        harness: &Harness,
        expected: &dyn Fn(&Measurement) -> Expected,
    ) -> Result<Fitted, Vec<Located>> {
        self.fitted(harness, expected).map_err(|errors| errors.into_iter().map(|error| error.at).collect())
    }

    /// Returns the tree fitted to a guitar as [`fit`](Self::fit) does; an error says of what kind it is.
    ///
    /// # Errors
    ///
    /// As those of [`fit`](Self::fit).
    pub fn fitted(
        &self,
        harness: &Harness,
        expected: &dyn Fn(&Measurement) -> Expected,
    ) -> Result<Fitted, Vec<TreeError>> {
        let fitter = Fitter { tree: self, harness };
        let (mut steps, mut errors) = (Vec::new(), Vec::new());
        for (index, step) in self.steps.iter().enumerate() {
            match fitter.step(index, step, expected) {
                Ok(step) => steps.push(step),
                Err(error) => errors.push(error.on_a_guitar().in_step(&step.name)),
            }
        }
        if errors.is_empty() { Ok(Fitted { tree: self.clone(), steps }) } else { Err(errors) }
    }
}

impl Tree {
    /// Returns the tree as it led a job on a guitar: `expected` says what was to be read where the job has a reading. What
    /// was never read is compared with nothing, so gaps and overlaps are no mistakes, and a step that does not fit this
    /// guitar is passed over.
    pub fn as_it_led(&self, harness: &Harness, expected: &dyn Fn(&Measurement) -> Expected) -> Fitted {
        let fitter = Fitter { tree: self, harness };
        let steps = self.steps.iter().enumerate();
        let steps =
            steps.map(|(index, step)| fitter.placed(index, step, expected).unwrap_or(FittedStep::PassedOver));
        Fitted { tree: self.clone(), steps: steps.collect() }
    }
}

impl Group {
    /// Returns whether a control belongs to the group.
    fn holds(self, harness: &Harness, control: &Control) -> bool {
        let knob = control.kind == ControlKind::Knob;
        let role = match harness[control.part].kind {
            PartKind::Pot { role, .. } => Some(role),
            _ => None,
        };
        match self {
            Self::Knobs => knob,
            Self::Volumes => knob && role == Some(PotRole::Volume),
            Self::Tones => knob && role == Some(PotRole::Tone),
            Self::Switches => selects(&harness[control.part]),
        }
    }
}

impl Feature {
    /// Returns whether a guitar has it.
    pub fn of(self, harness: &Harness) -> bool {
        let has = |group: Group| harness.controls.iter().any(|control| group.holds(harness, control));
        let part = |is: fn(&PartKind) -> bool| harness.parts.iter().any(|part| is(&part.kind));
        let coil = |kind: &PartKind| matches!(kind, PartKind::Coil { .. });
        let preamp = |kind: &PartKind| matches!(kind, PartKind::Preamp { .. });
        match self {
            Self::Passive => part(coil) && !part(preamp),
            Self::Battery => part(|kind| matches!(kind, PartKind::Battery { .. })),
            Self::Preamp => part(preamp),
            Self::Piezo => part(|kind| matches!(kind, PartKind::Piezo { .. })),
            Self::Coil => part(coil),
            Self::TwoPickups => pickups(harness) > 1,
            Self::Volume => has(Group::Volumes),
            Self::Tone => has(Group::Tones),
            Self::Switch => has(Group::Switches),
            Self::Shield => harness.terminals.iter().any(|terminal| terminal.grounded_surface),
            Self::Straight => {
                let plug = |control: &Control| harness[control.part].kind == PartKind::Plug;
                harness.controls.iter().all(plug) && !part(preamp)
            }
        }
    }
}

/// Returns how many magnetic pickups a guitar has: coils of one pickup count once.
fn pickups(harness: &Harness) -> usize {
    let coils = harness.parts.iter().filter(|part| matches!(part.kind, PartKind::Coil { .. }));
    let names: std::collections::BTreeSet<&str> =
        coils.map(|part| part.pickup.as_deref().unwrap_or(&part.name)).collect();
    names.len()
}

struct Fitter<'a> {
    tree: &'a Tree,
    harness: &'a Harness,
}

impl Fitter<'_> {
    fn step(
        &self,
        index: usize,
        step: &Step,
        expected: &dyn Fn(&Measurement) -> Expected,
    ) -> Result<FittedStep, TreeError> {
        let placed = self.placed(index, step, expected)?;
        if let (FittedStep::Measure { reaches, .. }, Ask::Measure(probe)) = (&placed, &step.ask) {
            self.no_overlap_no_gap(index, probe, reaches)?;
        }
        Ok(placed)
    }

    /// Returns what a step is on this guitar, whatever its outcomes take.
    fn placed(
        &self,
        index: usize,
        step: &Step,
        expected: &dyn Fn(&Measurement) -> Expected,
    ) -> Result<FittedStep, Located> {
        if step.needs.is_some_and(|feature| !feature.of(self.harness)) {
            return Ok(FittedStep::PassedOver);
        }
        self.suspicions(index, step)?;
        let Ask::Measure(probe) = &step.ask else {
            return Ok(FittedStep::Question);
        };
        let flex = match &probe.flex {
            None => None,
            Some(name) => match self.flexed(index, name)? {
                None => return Ok(FittedStep::PassedOver),
                part => part,
            },
        };
        let about = match &probe.about {
            None => None,
            Some(name) => match self.about(name) {
                None => return Ok(FittedStep::PassedOver),
                control => control,
            },
        };
        let measurement = Measurement { about, ..self.measurement(index, probe, flex)? };
        let expected = match probe.heard() {
            Some(_) => self.can_be_heard(index, &measurement).map(|()| Expected::default())?,
            None => expected(&measurement),
        };
        let reaches: Vec<Reach> = probe.outcomes.iter().map(|o| reach::on(o.when, &expected)).collect();
        Ok(FittedStep::Measure { measurement, reaches })
    }

    /// Refuses a suspicion at a place that no guitar has by role and this one does not have by name.
    fn suspicions(&self, index: usize, step: &Step) -> Result<(), Located> {
        for (way, then) in step.ways().enumerate() {
            let Then::Suspect(suspicion) = then else { continue };
            let unknown = suspicion.at.iter().position(|word| !suspicion::is_place(self.harness, word));
            if let Some(at) = unknown {
                let word = &suspicion.at[at];
                let hint = advice(word, &suspicion::places(self.harness), "the places are", '"');
                let message = format!("{} has no place \"{word}\"", self.harness.name);
                let path = way_path(index, step, way).then("at").then(at);
                return Err(self.tree.positions.error(&path, message, Some(hint)));
            }
        }
        Ok(())
    }

    fn measurement(&self, index: usize, probe: &Probe, flex: Option<String>) -> Result<Measurement, Located> {
        if probe.heard().is_none() {
            self.terminal(index, "red", &probe.red)?;
            self.terminal(index, "black", &probe.black)?;
        }
        let (red, black) = (probe.red.clone(), probe.black.clone());
        Ok(Measurement {
            mode: probe.mode,
            red,
            black,
            setting: self.setting(index, probe)?,
            flex,
            about: None,
            lifted: None,
        })
    }

    fn terminal(&self, index: usize, probe: &str, name: &str) -> Result<(), Located> {
        let path = ask_path(index).then(probe);
        let reachable = |id: TerminalId| self.harness[id].probe;
        let (message, all) = match self.harness.terminal(name).map(reachable) {
            Some(true) => return Ok(()),
            Some(false) => (format!("no probe can be put on \"{name}\" of {}", self.harness.name), false),
            None => (format!("{} has no terminal \"{name}\"", self.harness.name), true),
        };
        let terminals = self.harness.terminals.iter().filter(|terminal| terminal.probe);
        let names: Vec<&str> = terminals.map(|terminal| terminal.name.as_str()).collect();
        let hint = all.then(|| advice(name, &names, "its terminals are", '"'));
        Err(self.tree.positions.error(&path, message, hint))
    }

    fn belongs(&self, control: &Control, group: Group) -> bool {
        group.holds(self.harness, control)
    }

    /// Returns the part to flex: `None` when the tree names it by its role and the guitar has none.
    fn flexed(&self, index: usize, name: &str) -> Result<Option<String>, Located> {
        if name == "plug" || self.harness.part(name).is_some() {
            return Ok(Some(name.to_owned()));
        }
        let of_group = |group| self.harness.controls.iter().find(|control| self.belongs(control, group));
        let control = match name {
            "selector" => of_group(Group::Switches),
            "volume" => of_group(Group::Volumes),
            "tone" => of_group(Group::Tones),
            "jack" => {
                let jack = self.harness.parts.iter().find(|part| part.kind == PartKind::Jack);
                return Ok(jack.map(|part| part.name.clone()));
            }
            _ => return Err(self.no_part(index, name)),
        };
        Ok(control.map(|control| self.harness[control.part].name.clone()))
    }

    fn no_part(&self, index: usize, name: &str) -> Located {
        let parts = self.harness.parts.iter().map(|part| part.name.as_str());
        let others = parts.filter(|part| !FLEX_ROLES.contains(part));
        let hint = advice(name, &FLEX_ROLES.into_iter().chain(others).collect::<Vec<_>>(), "it can be", '"');
        let message = format!("{} has no part \"{name}\" to flex", self.harness.name);
        self.tree.positions.error(&ask_path(index).then("flex"), message, Some(hint))
    }

    /// Returns the name of what is listened for: a control by its role, or whatever the tree names; `None` when it names
    /// a role and the guitar has no such control.
    fn about(&self, name: &str) -> Option<String> {
        let group = match name {
            "volume" => Group::Volumes,
            "tone" => Group::Tones,
            "selector" => Group::Switches,
            _ => return Some(name.to_owned()),
        };
        let own = self.harness.control(name);
        let first = || self.harness.controls.iter().find(|control| self.belongs(control, group));
        own.or_else(first).map(|control| control.name.clone())
    }

    /// Refuses something to be heard that makes no sense on this guitar.
    fn can_be_heard(&self, index: usize, heard: &Measurement) -> Result<(), Located> {
        let Err(error) = heard.check(self.harness) else { return Ok(()) };
        let text = error.to_string();
        let (message, hint) = text.split_once("\n  hint: ").unwrap_or((text.as_str(), ""));
        let of_control = [Check::Closes, Check::ToneActs, Check::Crackles].map(Mode::Observe);
        let roles = if of_control.contains(&heard.mode) { HEARD_ROLES } else { "" };
        let path = ask_path(index).then(if heard.about.is_some() { "about" } else { "check" });
        let message = format!("{}: {message}", self.harness.name);
        Err(self.tree.positions.error(&path, message, Some(format!("{hint}{roles}"))))
    }

    /// Groups are set first, the widest first, so that a control's own name has the last word.
    fn setting(&self, index: usize, probe: &Probe) -> Result<Setting, Located> {
        let mut setting = Setting::reference(self.harness);
        let mut set: Vec<&(String, Place)> = probe.set.iter().collect();
        set.sort_by_key(|(name, _)| match group(name) {
            Some(Group::Knobs) => 0,
            Some(_) => 1,
            None => 2,
        });
        for (name, place) in set {
            for control in self.controls(index, name)? {
                let stand = self.stand(index, name, control, place)?;
                setting = setting.with(&control.name, stand);
            }
        }
        Ok(setting)
    }

    fn controls(&self, index: usize, name: &str) -> Result<Vec<&Control>, Located> {
        let controls = self.harness.controls.iter();
        if let Some(group) = group(name) {
            return Ok(controls.filter(|control| self.belongs(control, group)).collect());
        }
        self.harness.control(name).map(|control| vec![control]).ok_or_else(|| {
            let names: Vec<&str> = controls.map(|control| control.name.as_str()).collect();
            let hint = advice(name, &names, "its controls are", '"')
                + "; for every guitar write knobs, volumes, tones or switches";
            let message = format!("{} has no control \"{name}\"", self.harness.name);
            self.tree.positions.error(&ask_path(index).then("set").then(name), message, Some(hint))
        })
    }

    fn stand(&self, index: usize, name: &str, control: &Control, place: &Place) -> Result<Stand, Located> {
        let found = match (&control.kind, place) {
            (ControlKind::Knob, Place::Number(dial)) => Some(Stand::Knob(*dial)),
            (ControlKind::Knob, Place::Name(_)) => None,
            (ControlKind::Selector(names), place) => position(names, place).map(Stand::At),
        };
        found.ok_or_else(|| {
            let hint = match &control.kind {
                ControlKind::Knob => "write a dial number from 0 to 10, without quotes".to_owned(),
                ControlKind::Selector(names) => {
                    format!(
                        "write \"first\", \"middle\", \"last\", a number from 1, or one of {}",
                        names.join(", ")
                    )
                }
            };
            let place = match place {
                Place::Number(number) => number.to_string(),
                Place::Name(name) => format!("\"{name}\""),
            };
            let message = format!("the {} of {} cannot be put to {place}", control.name, self.harness.name);
            self.tree.positions.error(&ask_path(index).then("set").then(name), message, Some(hint))
        })
    }

    fn no_overlap_no_gap(&self, index: usize, probe: &Probe, reaches: &[Reach]) -> Result<(), TreeError> {
        let known: Vec<Option<Reach>> = reaches.iter().copied().map(Some).collect();
        check::no_overlap(self.tree, index, probe, &known)?;
        reach::gap(reaches, probe.mode, probe.flex.is_some()).map_or(Ok(()), |gap| {
            let message =
                format!("no outcome takes {} on {}", gap.words(probe.mode.dial()), self.harness.name);
            let hint = Some("add an outcome for it, or `AnythingElse` as the last".to_owned());
            let error = self.tree.positions.error(&ask_path(index).then("outcomes"), message, hint);
            Err(TreeError::new(Wrong::Gap, error))
        })
    }
}

/// Returns whether a part selects: not the plug, and no switch that joins something in some positions and nothing in
/// the others, such as a kill switch.
fn selects(part: &Part) -> bool {
    let PartKind::Switch { positions } = &part.kind else { return false };
    let nothing = |position: &Position| position.closes.is_empty();
    positions.iter().all(nothing) || !positions.iter().any(nothing)
}

fn group(name: &str) -> Option<Group> {
    match name {
        "knobs" => Some(Group::Knobs),
        "volumes" => Some(Group::Volumes),
        "tones" => Some(Group::Tones),
        "switches" => Some(Group::Switches),
        _ => None,
    }
}

fn position(names: &[String], place: &Place) -> Option<String> {
    let found = match place {
        Place::Number(number) => usize::from(*number).checked_sub(1).and_then(|at| names.get(at)),
        Place::Name(name) => names.iter().find(|known| *known == name).or_else(|| match name.as_str() {
            "first" => names.first(),
            "middle" => names.get(names.len() / 2),
            "last" => names.last(),
            _ => None,
        }),
    };
    found.cloned()
}
