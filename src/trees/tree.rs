//! The checked meaning of a tree file.

use serde::Deserialize;

use crate::readings::{Check, Mode, Symptom};
use crate::source::{Path, Positions};

/// The way a shop works on one complaint: steps, outcomes, and where each leads.
#[derive(Clone, Debug)]
pub struct Tree {
    /// The name used in files and on the command line, such as `silent`.
    pub name: String,
    /// What a person calls it.
    pub title: String,
    /// The complaint it is for.
    pub complaint: Symptom,
    /// The names of the wirings that it is for; for every wiring when empty.
    pub wirings: Vec<String>,
    /// What a guitar must have for the tree to be for it.
    pub only: Vec<Feature>,
    /// What to do with a guitar that is another, or lacks one of these, in a plain sentence.
    pub elsewhere: Option<String>,
    /// Index of the first step.
    pub start: usize,
    /// The steps in the order of the file.
    pub steps: Vec<Step>,
    pub(super) positions: Positions,
}

/// One thing to do, told so that a newcomer can do it.
#[derive(Clone, Debug)]
pub struct Step {
    /// The name used in the file.
    pub name: String,
    /// What to do.
    pub say: String,
    /// Why it is done.
    pub why: String,
    /// How to say it on the telephone, where that differs.
    pub telephone: Option<String>,
    /// The key of the caution to read before it, one of [`CAUTIONS`](super::CAUTIONS).
    pub caution: Option<String>,
    /// What the guitar must have for this step; a step that needs what it lacks is passed over.
    pub needs: Option<Feature>,
    /// What is asked.
    pub ask: Ask,
    /// Where to go when it cannot be done or is passed over.
    pub cannot: Then,
}

/// What a guitar can have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
pub enum Feature {
    /// A magnetic pickup and no preamp: an ohmmeter sees the pickups at the plug.
    Passive,
    /// A battery.
    Battery,
    /// A preamp.
    Preamp,
    /// A piezo element.
    Piezo,
    /// A magnetic pickup.
    Coil,
    /// Two magnetic pickups or more.
    TwoPickups,
    /// A volume knob.
    Volume,
    /// A tone knob.
    Tone,
    /// A switch that selects.
    Switch,
    /// Metal that screens and should be at ground: foil, paint or a plate.
    Shield,
    /// Nothing between what sounds and the jack: no knob, no switch, no preamp.
    Straight,
}

impl Feature {
    /// Returns what it is called in a sentence: only for guitars with …
    pub const fn words(self) -> &'static str {
        match self {
            Self::Passive => "passive pickups",
            Self::Battery => "a battery",
            Self::Preamp => "a preamp",
            Self::Piezo => "a piezo element",
            Self::Coil => "a magnetic pickup",
            Self::TwoPickups => "two magnetic pickups or more",
            Self::Volume => "a volume knob",
            Self::Tone => "a tone knob",
            Self::Switch => "a switch that selects",
            Self::Shield => "a shield",
            Self::Straight => "a pickup straight at the jack, without knob, switch or preamp",
        }
    }
}

/// A group of controls that a tree can name without knowing the guitar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Every knob.
    Knobs,
    /// Every volume knob.
    Volumes,
    /// Every tone knob.
    Tones,
    /// Every switch that selects.
    Switches,
}

/// How something fails, as far as a tree tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
pub enum How {
    /// It conducts no more.
    Open,
    /// It touches what it should not.
    Short,
    /// It conducts badly, or leaks.
    Poor,
    /// It comes and goes.
    Loose,
    /// The wrong part, or on the wrong lug.
    Wrong,
    /// It gives nothing any more: a flat battery, a dead preamp.
    Dead,
}

impl How {
    /// Returns what it is called beside a suspicion.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Short => "touching what it should not",
            Self::Poor => "poor or leaking",
            Self::Loose => "coming and going",
            Self::Wrong => "wrong part or wrong lug",
            Self::Dead => "dead",
        }
    }
}

/// What a tree suspects at one of its ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Suspicion {
    /// A plain sentence.
    pub say: String,
    /// Where: what stands in every guitar (`jack`, `switch`, `volume`, `tone`, `capacitor`, `resistor`, `pickup`,
    /// `battery`, `preamp`, `piezo`, `shield`, `strings`), or a part by its name.
    pub at: Vec<String>,
    /// How it fails; in any way when empty.
    pub how: Vec<How>,
}

/// What a step asks for.
#[derive(Clone, Debug)]
pub enum Ask {
    /// Take a reading.
    Measure(Probe),
    /// Answer a question.
    Question {
        /// How the answer is found.
        sense: Sense,
        /// The answers to choose from.
        answers: Vec<Answer>,
    },
}

/// How the answer to a question is found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sense {
    /// By looking.
    Look,
    /// By listening.
    Listen,
    /// By asking the customer.
    Ask,
}

/// One answer to a question.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The answer as it is shown.
    pub answer: String,
    /// What it means.
    pub means: String,
    /// Where to go.
    pub then: Then,
}

/// A reading asked for in terms that hold for every guitar, or something to be heard that the circuit can foretell.
#[derive(Clone, Debug)]
pub struct Probe {
    /// What the meter's dial is set to, or what is heard without it.
    pub mode: Mode,
    /// The terminal under the red probe; empty when something is heard.
    pub red: String,
    /// The terminal under the black probe; empty when something is heard.
    pub black: String,
    /// What is flexed meanwhile: `plug`, `selector`, `volume`, `tone`, `jack` or a part's name.
    pub flex: Option<String>,
    /// What the thing heard is about: `volume`, `tone`, `selector`, or the name of a control or a pickup.
    pub about: Option<String>,
    /// What the reading can be.
    pub outcomes: Vec<Outcome>,
    pub(super) set: Vec<(String, Place)>,
}

/// Where a control is put.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Place {
    /// A dial number, or a position's number from 1.
    Number(u8),
    /// A position's name, or `first`, `middle` or `last`.
    Name(String),
}

/// One thing a reading can be.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Which readings it takes.
    pub when: When,
    /// The same as it is written in the file, such as `Under("5 ohm")`.
    pub written: String,
    /// What it means.
    pub means: String,
    /// Where to go.
    pub then: Then,
}

/// Which readings an outcome takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum When {
    /// What the healthy instrument reads here, give or take 20 %, or its band where that is wider.
    NearHealthy,
    /// Half of what the healthy instrument reads here, give or take 15 % of that half.
    Half,
    /// The track of the selected volume pot alone, give or take 25 %.
    VolumePotAlone,
    /// A number from `low` up to but not including `high`, in the unit of the mode: ohms, volts or amperes; no upper
    /// end when `None`.
    Number {
        /// Lower end.
        low: f64,
        /// Upper end.
        high: Option<f64>,
    },
    /// No path, or more than the meter can show.
    OverRange,
    /// The reading changes while something is flexed.
    Unstable,
    /// The beeper sounds.
    Beeps,
    /// The beeper stays silent.
    NoBeep,
    /// What is asked is heard.
    Yes,
    /// What is asked is not heard.
    No,
    /// Whatever no other outcome takes.
    AnythingElse,
}

/// Where an outcome, an answer or a step that cannot be done leads.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Then {
    /// To the step at this index.
    Step(usize),
    /// To the advisor.
    Advisor,
    /// To the end with a suspicion.
    Suspect(Suspicion),
    /// To the start of the tree with this name.
    Tree(String),
    /// To the end: cable, amplifier or settings, not the instrument.
    NotTheInstrument,
}

impl Outcome {
    /// Returns which readings it takes, in words.
    pub fn says(&self) -> String {
        match self.when {
            When::NearHealthy => "As a healthy guitar reads".to_owned(),
            When::Half => "Half of what a healthy guitar reads".to_owned(),
            When::VolumePotAlone => "The volume pot alone".to_owned(),
            When::Number { .. } if self.written == "NearZero" => "Near zero".to_owned(),
            When::Number { .. } => {
                self.written.replace(['"', ')'], "").replace('(', " ").replace(", ", " and ")
            }
            When::OverRange => "Over range".to_owned(),
            When::Unstable => "It moves".to_owned(),
            When::Beeps => "It beeps".to_owned(),
            When::NoBeep => "It does not beep".to_owned(),
            When::Yes => "Yes".to_owned(),
            When::No => "No".to_owned(),
            When::AnythingElse => "Anything else".to_owned(),
        }
    }
}

impl Tree {
    /// Returns the step with this name.
    pub fn step(&self, name: &str) -> Option<&Step> {
        self.steps.iter().find(|step| step.name == name)
    }
}

impl Probe {
    /// Returns what is heard; `None` when the meter reads.
    pub const fn heard(&self) -> Option<Check> {
        match self.mode {
            Mode::Observe(check) => Some(check),
            _ => None,
        }
    }

    /// Returns how the controls are put: each control or group with a dial number, a position's number or its name.
    pub fn stands(&self) -> impl Iterator<Item = (&str, String)> {
        let words = |place: &Place| match place {
            Place::Number(number) => number.to_string(),
            Place::Name(name) => name.clone(),
        };
        self.set.iter().map(move |(name, place)| (name.as_str(), words(place)))
    }
}

impl Step {
    /// Returns every place this step can lead to, `cannot` last.
    pub fn ways(&self) -> impl Iterator<Item = &Then> {
        let (outcomes, answers): (&[Outcome], &[Answer]) = match &self.ask {
            Ask::Measure(probe) => (&probe.outcomes, &[]),
            Ask::Question { answers, .. } => (&[], answers),
        };
        let outcomes = outcomes.iter().map(|outcome| &outcome.then);
        outcomes.chain(answers.iter().map(|answer| &answer.then)).chain([&self.cannot])
    }
}

/// Returns the path of a step in the file.
pub(super) fn step_path(step: usize) -> Path {
    Path::root().then("steps").then(step)
}

/// Returns the path of what a step asks.
pub(super) fn ask_path(step: usize) -> Path {
    step_path(step).then("ask")
}

/// Returns the path of one outcome of a step that reads in a mode, or that hears.
pub(super) fn outcome_path(step: usize, mode: Mode, outcome: usize) -> Path {
    match (mode, outcome) {
        (Mode::Observe(_), 0) => ask_path(step).then("yes"),
        (Mode::Observe(_), _) => ask_path(step).then("no"),
        _ => ask_path(step).then("outcomes").then(outcome),
    }
}

/// Returns the path of one answer of a question.
pub(super) fn answer_path(step: usize, answer: usize) -> Path {
    ask_path(step).then(0).then(answer)
}
