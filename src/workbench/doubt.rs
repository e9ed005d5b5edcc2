//! None of these: whether what is believed is to be doubted, and what is to be done about it first.

use std::cmp::Ordering;
use std::f64::consts::LN_10;

use serde::Serialize;

use super::engine::{Engine, EngineError};
use super::mismatch::mismatch;
use super::proof::within;
use super::situation::Situation;
use crate::faults::{Kind, NOT_IN_CATALOGUE};
use crate::job::{Job, ReadingId, Taken};
use crate::readings::{Dial, Level, Measurement, Meter, Mode, Reading, Shown, Stand};

/// That the catalogue does not hold the truth is doubt by itself when it is likelier than not.
const UNLISTED: f64 = 0.5;
/// A reading whose p-value is below this is improbable (common practice, no source).
const IMPROBABLE: f64 = 0.01;
/// So many readings that nothing explains are doubt by themselves.
const MANY: usize = 3;
/// The logarithm of how much likelier than a slip a reading must be elsewhere: ten times (common practice, no source).
const WELL: f64 = LN_10;
/// Readings of one thing lie within so many standard deviations of each other, 997 times of 1000.
const SIGMAS: f64 = 3.0;
/// Standard deviation in ohms of what touching probes and wiper contacts add to a reading: 0.4 and 0.5 (common practice).
const TOUCH: f64 = 0.64;

/// What is to be done first when what is believed is doubted.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Action {
    /// Take this reading again: of those that nothing explains it is the most surprising.
    Retake(ReadingId),
    /// Withdraw a reading that came out differently when it was taken again.
    Withdraw {
        /// The slip.
        reading: ReadingId,
        /// The same measurement at another time.
        other: ReadingId,
    },
    /// Look where a control stands: the reading would fit if it had stood elsewhere.
    Setting {
        /// The reading.
        reading: ReadingId,
        /// The control's name.
        control: String,
        /// Where it would have stood.
        stand: Stand,
    },
    /// Look where the probes are: the reading would fit if one of them had been on another lug.
    Probes {
        /// The reading.
        reading: ReadingId,
        /// The lug's name.
        terminal: String,
    },
    /// Take it as two faults at once.
    Pairs,
    /// Compare the wiring with its file, for it does not match.
    Mismatch {
        /// The names of the parts where it most likely differs, the likeliest first.
        parts: Vec<String>,
        /// The readings that say so.
        readings: Vec<ReadingId>,
    },
}

/// A doubt about all that is believed.
#[derive(Clone, Debug, PartialEq)]
pub struct Doubt {
    /// The probability that the catalogue does not hold the truth.
    pub unlisted: f64,
    /// The conflict measure of the readings; above 0 they speak against one another.
    pub conflict: f64,
    /// The least p-value of a reading.
    pub p_value: f64,
    /// What is to be done first.
    pub action: Action,
}

/// What one reading with the meter says of the doubt.
struct Sign<'j> {
    taken: &'j Taken,
    p_value: f64,
    drop: f64,
    unexplained: bool,
}

/// What the readings since the last repair say of the doubt.
struct Signs<'j> {
    unlisted: f64,
    conflict: f64,
    readings: Vec<Sign<'j>>,
}

/// Returns the doubt about what is believed, if there is reason for one.
///
/// There is, when that the catalogue does not hold the truth is likelier than not; when a reading that nothing explains
/// was improbable, or speaks against the others; when three readings are unexplained; and when two faults at once lead.
///
/// # Errors
///
/// Returns [`EngineError`] when a reading of the job cannot be predicted.
pub(super) fn doubt(engine: &Engine, job: &Job, situation: &Situation) -> Result<Option<Doubt>, EngineError> {
    let signs = Signs::new(engine, job, situation);
    let pairs = pairs_lead(engine, situation);
    if signs.readings.is_empty() || !(signs.raised() || pairs) {
        return Ok(None);
    }
    let p_value = signs.readings.iter().map(|sign| sign.p_value).fold(1.0, f64::min);
    let action = signs.action(engine, job, pairs)?;
    Ok(Some(Doubt { unlisted: signs.unlisted, conflict: signs.conflict, p_value, action }))
}

/// Returns whether two faults at once are the leading decision.
fn pairs_lead(engine: &Engine, situation: &Situation) -> bool {
    let faults = engine.groups.faults(&engine.model, situation.leader);
    !engine.pairs.is_empty() && faults.iter().all(|fault| engine.model.catalogue[*fault].kind == Kind::Two)
}

impl<'j> Signs<'j> {
    fn new(engine: &Engine, job: &'j Job, situation: &Situation) -> Self {
        let belief = &situation.belief;
        let of_faults = belief.fault_probabilities(&engine.model);
        let unlisted = engine.model.catalogue.find(NOT_IN_CATALOGUE).map_or(0.0, |fault| of_faults[fault.0]);
        let p_values = situation.of_readings(belief.p_values());
        let drops = situation.of_readings(belief.drops());
        let sign = |taken: &'j Taken| {
            let unexplained = situation.surprising.contains(&taken.id);
            let (p_value, drop) = (*p_values.get(&taken.id)?, *drops.get(&taken.id)?);
            Some(Sign { taken, p_value, drop, unexplained })
        };
        let readings = metered(job).filter_map(sign).collect();
        Self { unlisted, conflict: belief.conflict(), readings }
    }

    fn unexplained(&self) -> impl Iterator<Item = &Sign<'j>> {
        self.readings.iter().filter(|sign| sign.unexplained)
    }

    fn raised(&self) -> bool {
        let improbable = self.unexplained().any(|sign| sign.p_value < IMPROBABLE);
        let unexplained = self.unexplained().count();
        let conflicting = self.conflict > 0.0 && unexplained > 0;
        self.unlisted > UNLISTED || improbable || conflicting || unexplained >= MANY
    }

    /// Returns the most surprising reading: of those that nothing explains, or else of those that no healthy instrument
    /// reads, or else of all. What was taken again already comes first, then what adds most to the conflict.
    fn first(&self) -> Option<&Sign<'j>> {
        let unhealthy = |sign: &&Sign<'j>| !within(&sign.taken.reading.shown, &sign.taken.healthy);
        let order = |a: &&Sign<'j>, b: &&Sign<'j>| self.order(a, b);
        let unexplained = self.unexplained().max_by(order);
        let unhealthy = || self.readings.iter().filter(unhealthy).max_by(order);
        unexplained.or_else(unhealthy).or_else(|| self.readings.iter().max_by(order))
    }

    /// Compares two readings by how surprising they are.
    fn order(&self, one: &Sign<'_>, other: &Sign<'_>) -> Ordering {
        let again = |sign: &Sign<'_>| !self.again(sign.taken).is_empty();
        let drops = one.drop.total_cmp(&other.drop);
        again(one).cmp(&again(other)).then(drops).then(other.taken.id.cmp(&one.taken.id))
    }

    /// Returns the other readings of the same.
    fn again(&self, taken: &Taken) -> Vec<&'j Taken> {
        let measurement = &taken.reading.measurement;
        let same =
            |other: &&Taken| other.id != taken.id && other.reading.measurement.reads_the_same(measurement);
        self.readings.iter().map(|sign| sign.taken).filter(same).collect()
    }

    /// Returns what is to be done first: exclude a slip, then a control or a probe elsewhere, then two faults at once.
    fn action(&self, engine: &Engine, job: &Job, pairs: bool) -> Result<Action, EngineError> {
        let explained = self.unexplained().next().is_none();
        let Some(Sign { taken, .. }) = self.first().filter(|_| !(pairs && explained)) else {
            return Ok(Action::Pairs);
        };
        let again = self.again(taken);
        if again.is_empty() {
            return Ok(Action::Retake(taken.id));
        }
        if let Some(other) = again.iter().find(|other| differs(taken, other, engine.meter)) {
            return Ok(Action::Withdraw { reading: taken.id, other: other.id });
        }
        if let [other] = again[..]
            && let Some(action) = elsewhere(engine, job, taken, other.id)?
        {
            return Ok(action);
        }
        if pairs {
            return Ok(Action::Pairs);
        }
        let unexplained: Vec<ReadingId> = self.unexplained().map(|sign| sign.taken.id).collect();
        mismatch(engine, job, &unexplained)
    }
}

/// Returns the readings since the last repair that were taken with the meter.
pub(super) fn metered(job: &Job) -> impl Iterator<Item = &Taken> {
    let read = |taken: &&Taken| !matches!(taken.reading.measurement.mode, Mode::Observe(_));
    job.readings_of(job.rounds().len()).filter(read)
}

/// Returns whether two readings of the same differ by more than the meter and the touch of the probes; what was flexed
/// need not show the same twice.
fn differs(one: &Taken, other: &Taken, meter: &Meter) -> bool {
    let measurement = &one.reading.measurement;
    let near = |a: &Level, b: &Level| near(measurement.mode.dial(), a, b, meter);
    let agree = match (&one.reading.shown, &other.reading.shown) {
        (
            Shown::Steady(a) | Shown::Swept { highest: a, .. },
            Shown::Steady(b) | Shown::Swept { highest: b, .. },
        ) => near(a, b),
        (a, b) => a == b,
    };
    measurement.flex.is_none() && !agree
}

fn near(dial: Dial, one: &Level, other: &Level, meter: &Meter) -> bool {
    let (Some((a, digit)), Some((b, last))) = (one.number(), other.number()) else {
        return one.number().is_some() == other.number().is_some();
    };
    let touch = if dial == Dial::Ohms { TOUCH } else { 0.0 };
    let meter = meter.uncertainty(dial, a.abs().max(b.abs()));
    let variance = 2.0 * (meter * meter + touch * touch) + (digit * digit + last * last) / 12.0;
    (a - b).abs() <= SIGMAS * variance.sqrt()
}

/// Returns where a control would have stood, or a probe been, for a reading to fit what is believed without it and
/// without `again`, the same once more.
fn elsewhere(
    engine: &Engine,
    job: &Job,
    taken: &Taken,
    again: ReadingId,
) -> Result<Option<Action>, EngineError> {
    let belief = Situation::belief_without(engine, job, &[taken.id, again])?;
    let fits = |measurement: Measurement| -> Result<f64, EngineError> {
        if measurement.check(engine.harness()).is_err() {
            return Ok(f64::NEG_INFINITY);
        }
        let moved = Reading { measurement, ..taken.reading.clone() };
        let values = engine.values(&moved)?;
        if values.iter().any(|(_, row)| row.is_empty()) {
            return Ok(f64::NEG_INFINITY);
        }
        let flex = moved.measurement.flex.as_deref();
        Ok(belief.foretells(&engine.model, engine.meter, flex, &values))
    };
    let (asked, reading) = (&taken.reading.measurement, taken.id);
    let mut settings = Vec::new();
    for (control, stand) in asked.elsewhere(engine.harness()) {
        let setting = asked.setting.clone().with(&control, stand.clone());
        let fit = fits(Measurement { setting, ..asked.clone() })?;
        settings.push((fit, Action::Setting { reading, control, stand }));
    }
    if let Some(action) = best(settings) {
        return Ok(Some(action));
    }
    let mut probes = Vec::new();
    for (terminal, measurement) in asked.beside(engine.harness()) {
        probes.push((fits(measurement)?, Action::Probes { reading, terminal }));
    }
    Ok(best(probes))
}

/// Returns what fits best, the first of equals, if it fits well.
fn best(all: Vec<(f64, Action)>) -> Option<Action> {
    let well = all.into_iter().filter(|(fit, _)| *fit > WELL);
    well.reduce(|best, next| if next.0 > best.0 { next } else { best }).map(|(_, action)| action)
}
