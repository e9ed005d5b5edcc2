//! What was played so far, level by level, and the text that it is kept as.

use serde::{Deserialize, Serialize};

use super::Difficulty;
use crate::source::{Located, Path, Positions, Source, load};

/// The version of the text.
const FORMAT: u32 = 1;
/// So many of the last instruments are kept for each level.
const LAST: usize = 20;

/// One instrument that was played.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Played {
    /// The wiring's name.
    pub wiring: String,
    /// Whether what was wrong was named.
    pub found: bool,
    /// Hands-on minutes.
    pub minutes: f64,
    /// What was learnt, in bits.
    pub bits: f64,
    /// How often a hint was asked for.
    pub hints: usize,
}

/// What was played of one level.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tally {
    /// The level.
    pub level: Difficulty,
    /// How many instruments.
    pub played: u32,
    /// How many were found.
    pub found: u32,
    /// Hands-on minutes of all of them.
    pub minutes: f64,
    /// What was learnt from all of them, in bits.
    pub bits: f64,
    /// The last ones, the latest last.
    pub last: Vec<Played>,
}

impl Tally {
    fn new(level: Difficulty) -> Self {
        Self { level, played: 0, found: 0, minutes: 0.0, bits: 0.0, last: Vec::new() }
    }

    /// Returns the bits per hands-on minute.
    pub fn per_minute(&self) -> f64 {
        if self.minutes > 0.0 { self.bits / self.minutes } else { 0.0 }
    }

    /// Returns how many of the last ones were found, and how many last ones there are.
    pub fn lately(&self) -> (usize, usize) {
        (self.last.iter().filter(|played| played.found).count(), self.last.len())
    }

    fn add(&mut self, played: Played) {
        self.played = self.played.saturating_add(1);
        self.found = self.found.saturating_add(u32::from(played.found));
        self.minutes += played.minutes;
        self.bits += played.bits;
        self.last.push(played);
        let old = self.last.len().saturating_sub(LAST);
        self.last.drain(..old);
    }
}

/// What was played so far.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Progress {
    /// The levels that were played, the easiest first.
    pub levels: Vec<Tally>,
}

#[derive(Serialize, Deserialize)]
#[serde(rename = "Progress", deny_unknown_fields)]
struct Written {
    format: u32,
    levels: Vec<Tally>,
}

impl Progress {
    /// Returns what was played of a level.
    pub fn of(&self, level: Difficulty) -> Option<&Tally> {
        self.levels.iter().find(|tally| tally.level == level)
    }

    /// Adds an instrument that was played.
    pub fn add(&mut self, level: Difficulty, played: Played) {
        match self.levels.iter_mut().find(|tally| tally.level == level) {
            Some(tally) => tally.add(played),
            None => {
                let mut tally = Tally::new(level);
                tally.add(played);
                self.levels.push(tally);
                self.levels.sort_by_key(|tally| tally.level);
            }
        }
    }

    /// Reads the text that it is kept as.
    ///
    /// # Errors
    ///
    /// Returns where and why it is none.
    pub fn read(source: &Source) -> Result<Self, Located> {
        let Written { format, levels } = load(source)?;
        if format != FORMAT {
            let message = format!("format {format} is not known; this program reads {FORMAT}");
            let hint = Some("it was written by a newer version of the program".to_owned());
            return Err(Positions::of(source).error(&Path::root().then("format"), message, hint));
        }
        let wrong = |tally: &Tally| tally.found > tally.played || !tally.minutes.is_finite();
        if let Some(index) = levels.iter().position(wrong) {
            let place = Path::root().then("levels").then(index);
            let message = "more instruments are found than were played, or the minutes are no number";
            return Err(Positions::of(source).error(&place, message, None));
        }
        Ok(Self { levels })
    }

    /// Returns the text that it is kept as.
    ///
    /// # Errors
    ///
    /// Returns why there is none.
    pub fn text(&self) -> Result<String, String> {
        let written = Written { format: FORMAT, levels: self.levels.clone() };
        let pretty = ron::ser::PrettyConfig::default();
        ron::ser::to_string_pretty(&written, pretty).map_err(|why| why.to_string())
    }
}
