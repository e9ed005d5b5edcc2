//! How often each family of faults turns up, and what an instrument's history makes likelier.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use super::priors_file::read;
use super::{Family, Kind};
use crate::readings::History;
use crate::source::{Located, Source};

/// The least share of a thousand walk-ins that a family may have: nothing that can fail is ever ruled out beforehand.
pub const LEAST: f64 = 0.001;

/// How often a family of faults turns up.
#[derive(Clone, Debug, PartialEq)]
pub struct Rate {
    /// Share of a thousand electrical walk-ins.
    pub per_thousand: f64,
    /// Where the figure comes from.
    pub source: String,
    /// Whether it stands in a file of one's own.
    pub own: bool,
}

/// Kinds of faults that a history makes likelier, or less likely.
#[derive(Clone, Debug, PartialEq)]
pub struct Likelier {
    /// The kinds.
    pub kinds: Vec<Kind>,
    /// How many times likelier; below 1 it is less likely.
    pub times: f64,
    /// Where the figure comes from.
    pub source: String,
}

/// What a history makes likelier; kinds that are not named stay as they are.
#[derive(Clone, Debug, PartialEq)]
pub struct Effect {
    /// The kinds, each once.
    pub makes: Vec<Likelier>,
    /// Whether it stands in a file of one's own.
    pub own: bool,
}

/// The rate of every family of faults, and what every history makes likelier.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Priors {
    pub(super) rates: BTreeMap<Family, Rate>,
    pub(super) histories: BTreeMap<History, Effect>,
}

impl Priors {
    /// The text of the file that comes with the program.
    pub const TEXT: &'static str = include_str!("../../assets/priors.ron");

    /// Returns the priors that come with the program.
    pub fn built_in() -> &'static Self {
        // The file is part of the program; a test reads it and looks at every error.
        static PRIORS: LazyLock<Priors> =
            LazyLock::new(|| Priors::load(&Source::new("priors.ron", Priors::TEXT)).unwrap_or_default());
        &PRIORS
    }

    /// Reads and checks a whole file of priors: every family and every history once.
    ///
    /// # Errors
    ///
    /// Returns every mistake that was found, in the order of the file, each with file, line, column and a hint.
    pub fn load(source: &Source) -> Result<Self, Vec<Located>> {
        read(source, None)
    }

    /// Returns these priors with the rates and histories that a file of one's own names in place of theirs.
    ///
    /// # Errors
    ///
    /// Returns every mistake that was found, in the order of the file, each with file, line, column and a hint.
    pub fn with_own(&self, source: &Source) -> Result<Self, Vec<Located>> {
        read(source, Some(self))
    }

    /// Returns every family's rate, in the order of [`Family::ALL`].
    pub fn rates(&self) -> impl Iterator<Item = (Family, &Rate)> {
        self.rates.iter().map(|(family, rate)| (*family, rate))
    }

    /// Returns what every history makes likelier, in the order of [`History::ALL`].
    pub fn histories(&self) -> impl Iterator<Item = (History, &Effect)> {
        self.histories.iter().map(|(history, effect)| (*history, effect))
    }

    /// Returns a family's share of a thousand electrical walk-ins.
    pub fn per_thousand(&self, family: Family) -> f64 {
        self.rates.get(&family).map_or(LEAST, |rate| rate.per_thousand)
    }

    /// Returns where a family's figure comes from.
    pub fn source(&self, family: Family) -> &str {
        self.rates.get(&family).map_or("", |rate| rate.source.as_str())
    }

    /// Returns how many times likelier a history makes a kind of fault.
    pub fn times(&self, history: History, kind: Kind) -> f64 {
        let effect = self.histories.get(&history);
        let makes: &[Likelier] = effect.map_or(&[], |effect| effect.makes.as_slice());
        makes.iter().find(|likelier| likelier.kinds.contains(&kind)).map_or(1.0, |likelier| likelier.times)
    }

    /// Returns how many times likelier any history makes any kind of fault at most; at least 1.
    pub fn most_times(&self) -> f64 {
        let makes = self.histories.values().flat_map(|effect| &effect.makes);
        makes.map(|likelier| likelier.times).fold(1.0, f64::max)
    }
}
