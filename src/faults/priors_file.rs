//! From the text of a file of priors to checked priors.

use std::collections::BTreeMap;
use std::fmt::Debug;

use serde::Deserialize;

use super::priors::{Effect, LEAST, Likelier, Priors, Rate};
use super::{Family, Kind};
use crate::readings::History;
use crate::source::{self, Located, Path, Positions, Source};

/// The version of the format of priors that this program reads.
const FORMAT: u32 = 1;

/// The most of a thousand walk-ins that a family may take.
const MOST: f64 = 1000.0;

/// The most of a thousand walk-ins that both families outside may take: something is left for every fault inside.
const MOST_OUTSIDE: f64 = 999.0;

/// How many times likelier a history may make a kind of fault, at least and at most.
const TIMES: (f64, f64) = (0.01, 100.0);

#[derive(Deserialize)]
struct Head {
    format: u32,
}

#[derive(Deserialize)]
#[serde(rename = "priors", deny_unknown_fields)]
struct RawPriors {
    #[serde(rename = "format")]
    _format: u32,
    #[serde(default)]
    rates: Vec<RawRate>,
    #[serde(default)]
    histories: Vec<RawHistory>,
}

#[derive(Deserialize)]
#[serde(rename = "rate", deny_unknown_fields)]
struct RawRate {
    family: Family,
    per_thousand: f64,
    source: String,
}

#[derive(Deserialize)]
#[serde(rename = "history", deny_unknown_fields)]
struct RawHistory {
    history: History,
    makes: Vec<RawLikelier>,
}

#[derive(Deserialize)]
#[serde(rename = "likelier", deny_unknown_fields)]
struct RawLikelier {
    kinds: Vec<Kind>,
    times: f64,
    source: String,
}

/// What can be wrong with a file of priors that is read without trouble.
enum Mistake {
    Format(u32),
    Twice { word: String, line: usize },
    NoRate(Family),
    NoHistory(History),
    Rate(f64),
    Times(f64),
    Outside(f64),
    NoSource,
    NoKinds,
    MakesNothing(History),
}

impl Mistake {
    fn message(&self) -> String {
        match self {
            Self::Format(found) => {
                format!("the priors are of format {found}, this program reads format {FORMAT}")
            }
            Self::Twice { word, line } => format!("{word} is given twice, first in line {line}"),
            Self::NoRate(family) => format!("the family {family:?} is missing"),
            Self::NoHistory(history) => format!("the history {history:?} is missing"),
            Self::Rate(rate) => format!("a rate of {rate} per thousand is not allowed"),
            Self::Times(times) => format!("{times} times likelier is not allowed"),
            Self::Outside(taken) => {
                format!("what is outside the instrument and the catalogue takes {taken} of a thousand")
            }
            Self::NoSource => "the source is empty".to_owned(),
            Self::NoKinds => "`kinds` is empty".to_owned(),
            Self::MakesNothing(history) => format!("what the history {history:?} makes likelier is empty"),
        }
    }

    fn hint(&self) -> String {
        match self {
            Self::Format(_) => format!("write `format: {FORMAT}` if it follows that format"),
            Self::Twice { .. } => "keep one of the two".to_owned(),
            Self::NoRate(family) => {
                format!("add `(family: {family:?}, per_thousand: ..., source: \"...\")`")
            }
            Self::NoHistory(history) => {
                format!("add `(history: {history:?}, makes: [(kinds: [..], times: .., source: \"..\")])`")
            }
            Self::Rate(_) => {
                format!("write {LEAST} to {MOST}: what seldom fails may still have failed, so never 0")
            }
            Self::Times(_) => {
                let (least, most) = TIMES;
                format!("write {least} to {most}: 2 is twice as likely, 0.5 half as likely")
            }
            Self::Outside(_) => {
                format!("OutsideTheInstrument and OutsideTheCatalogue may take {MOST_OUTSIDE} together")
            }
            Self::NoSource => {
                "say where the figure comes from, such as \"our tickets of one year\"".to_owned()
            }
            Self::NoKinds => "name at least one kind of fault, or take the entry out".to_owned(),
            Self::MakesNothing(_) => {
                "add `(kinds: [..], times: .., source: \"..\")`, with `times: 1` where it moves nothing"
                    .to_owned()
            }
        }
    }
}

/// Reads a file of priors, a whole one or what one's own file changes in others.
pub(super) fn read(source: &Source, onto: Option<&Priors>) -> Result<Priors, Vec<Located>> {
    let mut reader = Reader { positions: Positions::of(source), own: onto.is_some(), found: Vec::new() };
    if let Ok(Head { format }) = source::load::<Head>(source)
        && format != FORMAT
    {
        reader.add(&Path::root().then("format"), &Mistake::Format(format));
        return Err(reader.found);
    }
    let raw: RawPriors = source::load(source).map_err(|error| vec![error])?;
    let mut priors = onto.cloned().unwrap_or_default();
    reader.rates(raw.rates, &mut priors);
    reader.histories(raw.histories, &mut priors);
    reader.missing(&priors);
    reader.found.sort();
    if reader.found.is_empty() { Ok(priors) } else { Err(reader.found) }
}

struct Reader {
    positions: Positions,
    own: bool,
    found: Vec<Located>,
}

impl Reader {
    fn add(&mut self, path: &Path, mistake: &Mistake) {
        self.found.push(self.positions.error(path, mistake.message(), Some(mistake.hint())));
    }

    fn rates(&mut self, raw: Vec<RawRate>, priors: &mut Priors) {
        let list = Path::root().then("rates");
        let mut named = BTreeMap::new();
        for (index, RawRate { family, per_thousand, source }) in raw.into_iter().enumerate() {
            let at = list.then(index);
            self.once(&mut named, family, at.then("family"));
            if !(LEAST..=MOST).contains(&per_thousand) {
                self.add(&at.then("per_thousand"), &Mistake::Rate(per_thousand));
            }
            self.sourced(&source, &at);
            priors.rates.insert(family, Rate { per_thousand, source, own: self.own });
        }
        self.outside(priors, &named);
    }

    /// Points at the last of the families outside that the file names.
    fn outside(&mut self, priors: &Priors, named: &BTreeMap<Family, Path>) {
        let outside = Family::ALL.iter().filter(|family| family.outside());
        let taken: f64 = outside.map(|family| priors.per_thousand(*family)).sum();
        let last = named.iter().rfind(|(family, _)| family.outside());
        if let Some((_, path)) = last
            && taken > MOST_OUTSIDE
        {
            self.add(path, &Mistake::Outside(taken));
        }
    }

    fn histories(&mut self, raw: Vec<RawHistory>, priors: &mut Priors) {
        let list = Path::root().then("histories");
        let mut named = BTreeMap::new();
        for (index, RawHistory { history, makes }) in raw.into_iter().enumerate() {
            let at = list.then(index);
            self.once(&mut named, history, at.then("history"));
            if makes.is_empty() {
                self.add(&at.then("makes"), &Mistake::MakesNothing(history));
            }
            let makes = self.makes(makes, &at.then("makes"));
            priors.histories.insert(history, Effect { makes, own: self.own });
        }
    }

    fn makes(&mut self, raw: Vec<RawLikelier>, list: &Path) -> Vec<Likelier> {
        let mut named = BTreeMap::new();
        for (index, RawLikelier { kinds, times, source }) in raw.iter().enumerate() {
            let at = list.then(index);
            if kinds.is_empty() {
                self.add(&at.then("kinds"), &Mistake::NoKinds);
            }
            for (number, kind) in kinds.iter().enumerate() {
                self.once(&mut named, *kind, at.then("kinds").then(number));
            }
            if !(TIMES.0..=TIMES.1).contains(times) {
                self.add(&at.then("times"), &Mistake::Times(*times));
            }
            self.sourced(source, &at);
        }
        raw.into_iter()
            .map(|RawLikelier { kinds, times, source }| Likelier { kinds, times, source })
            .collect()
    }

    /// Notes a word that was given before.
    fn once<K: Ord + Debug>(&mut self, named: &mut BTreeMap<K, Path>, key: K, path: Path) {
        match named.get(&key).map(|first| self.positions.at(first)) {
            Some((line, _)) => self.add(&path, &Mistake::Twice { word: format!("{key:?}"), line }),
            None => drop(named.insert(key, path)),
        }
    }

    fn sourced(&mut self, source: &str, at: &Path) {
        if source.trim().is_empty() {
            self.add(&at.then("source"), &Mistake::NoSource);
        }
    }

    fn missing(&mut self, priors: &Priors) {
        for family in Family::ALL.iter().filter(|family| !priors.rates.contains_key(*family)) {
            self.add(&Path::root().then("rates"), &Mistake::NoRate(*family));
        }
        for history in History::ALL.iter().filter(|history| !priors.histories.contains_key(*history)) {
            self.add(&Path::root().then("histories"), &Mistake::NoHistory(*history));
        }
    }
}
