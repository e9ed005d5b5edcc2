//! Trees that are made by the program: from their parts to the same tree as if it were read from its file.

use super::tree::Place;
use super::{Feature, Outcome, Probe, Step, Then, Tree, When, load, written};
use crate::readings::{Check, Mode, Setting, Stand, Symptom};
use crate::source::{Located, Positions, Source};
use crate::units::{Amps, Ohms, Volts, show_amps, show_ohms, show_volts};

/// What a tree is beside its steps.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Title {
    /// The name used in files and on the command line.
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
}

impl Tree {
    /// Returns the tree of some steps, the first of which it begins with, as it is read from its own text.
    ///
    /// # Errors
    ///
    /// The same as [`load()`] has for that text.
    pub fn made(title: Title, steps: Vec<Step>) -> Result<Self, Located> {
        let file = format!("{}.ron", title.name);
        let Title { name, title, complaint, wirings, only, elsewhere } = title;
        let positions = Positions::of(&Source::new(file.as_str(), ""));
        let bare = Self { name, title, complaint, wirings, only, elsewhere, start: 0, steps, positions };
        load(&Source::new(file, written(&bare)))
    }
}

impl Probe {
    /// Returns a reading with every control where a setting has it: knobs that are not at 10 and switches by their own
    /// names.
    pub fn new(mode: Mode, red: &str, black: &str, setting: &Setting, flex: Option<&str>) -> Self {
        Self {
            mode,
            red: red.to_owned(),
            black: black.to_owned(),
            flex: flex.map(str::to_owned),
            about: None,
            outcomes: Vec::new(),
            set: places(setting),
        }
    }

    /// Returns something to be heard, with every control where a setting has it, about a control or a pickup or about
    /// nothing by itself; what it leads to with yes and with no, each with its meaning.
    pub fn hearing(check: Check, setting: &Setting, about: Option<&str>, ways: [(&str, Then); 2]) -> Self {
        let mode = Mode::Observe(check);
        let outcome = |(when, (means, then)): (When, (&str, Then))| Outcome::new(when, mode, means, then);
        let outcomes = [When::Yes, When::No].into_iter().zip(ways).map(outcome).collect();
        Self { about: about.map(str::to_owned), outcomes, ..Self::new(mode, "", "", setting, None) }
    }
}

fn places(setting: &Setting) -> Vec<(String, Place)> {
    const UP: u8 = 10;
    let own = |(name, stand): (&String, &Stand)| match stand {
        Stand::Knob(UP) => None,
        Stand::Knob(dial) => Some((name.clone(), Place::Number(*dial))),
        Stand::At(position) => Some((name.clone(), Place::Name(position.clone()))),
    };
    let any_up = setting.0.values().any(|stand| *stand == Stand::Knob(UP));
    let all_up = any_up.then(|| ("knobs".to_owned(), Place::Number(UP)));
    let mut set: Vec<(String, Place)> = setting.0.iter().filter_map(own).chain(all_up).collect();
    set.sort_by(|a, b| a.0.cmp(&b.0));
    set
}

impl Outcome {
    /// Returns an outcome in the unit of a mode; its values are rounded to three figures, as they are written.
    pub fn new(when: When, mode: Mode, means: &str, then: Then) -> Self {
        Self { when, written: when.written(mode), means: means.to_owned(), then }
    }
}

impl When {
    /// Returns the readings as they are written in a file, such as `Under("5 ohm")`, with three figures.
    pub fn written(self, mode: Mode) -> String {
        let text = |value: f64| super::write::quoted(&value_in(mode, value));
        match self {
            Self::Number { low, high: Some(high) } if low <= 0.0 => format!("Under({})", text(high)),
            Self::Number { low, high: Some(high) } => format!("Between({}, {})", text(low), text(high)),
            Self::Number { low, high: None } => format!("Over({})", text(low)),
            Self::NearHealthy => "NearHealthy".to_owned(),
            Self::Half => "Half".to_owned(),
            Self::VolumePotAlone => "VolumePotAlone".to_owned(),
            Self::OverRange => "OverRange".to_owned(),
            Self::Unstable => "Unstable".to_owned(),
            Self::Beeps => "Beeps".to_owned(),
            Self::NoBeep => "NoBeep".to_owned(),
            Self::Yes => "yes".to_owned(),
            Self::No => "no".to_owned(),
            Self::AnythingElse => "AnythingElse".to_owned(),
        }
    }
}

/// Returns a value with its unit, without the zeros that say nothing: `5 ohm`, `1.2k`.
fn value_in(mode: Mode, value: f64) -> String {
    let shown = match mode {
        Mode::Volts => show_volts(Volts::new(value)),
        Mode::Current => show_amps(Amps::new(value)),
        _ => show_ohms(Ohms::new(value)),
    };
    let Some((number, unit)) = shown.split_once(' ') else { return shown };
    let short = match number.contains('.') {
        true => number.trim_end_matches('0').trim_end_matches('.'),
        false => number,
    };
    match unit {
        "Ω" => format!("{short} ohm"),
        _ => match unit.strip_suffix('Ω') {
            Some(thousands) => format!("{short}{thousands}"),
            None => format!("{short} {unit}"),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case(Mode::Resistance, 0.0, Some(5.0), "Under(\"5 ohm\")")]
    #[case(Mode::Resistance, 1200.0, Some(250e3), "Between(\"1.2k\", \"250k\")")]
    #[case(Mode::Resistance, 1e6, None, "Over(\"1M\")")]
    #[case(Mode::Volts, 7.5, None, "Over(\"7.5 V\")")]
    #[case(Mode::Current, 0.0, Some(0.002), "Under(\"2 mA\")")]
    fn values_are_written_shortly(
        #[case] mode: Mode,
        #[case] low: f64,
        #[case] high: Option<f64>,
        #[case] expected: &str,
    ) {
        assert_eq!(When::Number { low, high }.written(mode), expected);
    }
}
