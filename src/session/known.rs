//! Part values that an earlier job of the same instrument has found, to be offered when it comes in again.

use std::collections::BTreeMap;
use std::fmt::Display;

use serde::Serialize;

use super::{PastError, PastJobs};
use crate::archive::{Archive, ArchiveError};
use crate::circuit::{self, Harness, PartKind};
use crate::job::{Intake, Job, Taken};
use crate::readings::{Dial, Level, Mode, Shown};
use crate::source::Source;

const LEFT_OUT: &str = "An earlier job of this instrument is left out, with its values and repairs";

/// A part's own value from an earlier job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct KnownBefore {
    /// The part's name.
    pub part: String,
    /// The part in words.
    pub title: String,
    /// The value as it was typed then.
    pub typed: String,
    /// The value in the unit of the dial.
    pub value: f64,
    /// What the number is a number of.
    pub dial: Dial,
    /// The job it comes from.
    pub uid: String,
    /// When it was said or read.
    pub at: String,
}

impl KnownBefore {
    /// Returns the day it is from.
    pub fn day(&self) -> &str {
        self.at.get(..10).unwrap_or(&self.at)
    }
}

/// Returns the part values that earlier jobs of the same instrument hold, the newest of each part: those that were said to
/// be known, and those that were read over a part by itself, one of its ends lifted. A part that was repaired since is
/// left out. The same instrument has the same words for customer and instrument, and the same wiring. A damaged job is left
/// out and named in the notices.
///
/// # Errors
///
/// Returns [`PastError`] when the archive cannot be read.
pub fn known_values(archive: &Archive, intake: &Intake) -> Result<Foreknown, PastError> {
    let source = Source::new(intake.wiring.as_str(), intake.wiring_text.as_str());
    let Ok(harness) = circuit::load(&source) else { return Ok(Foreknown::default()) };
    let (mut known, mut notices) = (BTreeMap::new(), Vec::new());
    for summary in archive.of_instrument(&intake.customer, &intake.instrument, &intake.wiring)? {
        match archive.job(&summary.uid) {
            Ok(job) => learn(&mut known, &job, &summary.uid, &harness),
            Err(why @ (ArchiveError::DamagedJob { .. } | ArchiveError::Log { .. })) => {
                notices.push(said(LEFT_OUT, &why));
            }
            Err(why) => return Err(why.into()),
        }
    }
    Ok(Foreknown { known: known.into_values().collect(), notices })
}

/// What past jobs say when an instrument comes in.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Foreknown {
    /// Part values that earlier jobs of the same instrument hold.
    pub known: Vec<KnownBefore>,
    /// What could not be had, and why.
    pub notices: Vec<String>,
}

impl PastJobs {
    /// Looks past jobs through for an instrument that comes in: moves the job's priors where that is asked for, and finds
    /// what is known of the instrument. What cannot be had is told and stops nothing.
    pub fn prepare(&self, intake: &mut Intake) -> Foreknown {
        let mut found = Foreknown::default();
        if self.path().is_none_or(|path| !path.exists()) {
            return found;
        }
        match self.priors_text(&intake.wiring, intake.priors_text.clone()) {
            Ok(text) => intake.priors_text = text,
            Err(why) => found.notices.push(said("Past jobs do not move the priors of this job", &why)),
        }
        let looked = self.open().and_then(|archive| {
            let known = known_values(&archive, intake)?;
            Ok((known, archive.not_listed()?))
        });
        match looked {
            Ok((Foreknown { known, notices }, damaged)) => {
                found.known = known;
                found.notices.extend(notices);
                found.notices.extend((damaged > 0).then(|| not_listed(damaged)));
            }
            Err(why) => found.notices.push(said("What past jobs know of it is not told", &why)),
        }
        found
    }
}

fn not_listed(damaged: u32) -> String {
    let jobs = if damaged == 1 { "One past job is".to_owned() } else { format!("{damaged} past jobs are") };
    format!("{jobs} damaged and in no list: `lugwise past check` says which; what they know is not told")
}

fn said(what: &str, why: &impl Display) -> String {
    format!("{what}: {}", why.to_string().replace("\nhint: ", "; "))
}

fn learn(known: &mut BTreeMap<String, KnownBefore>, job: &Job, uid: &str, harness: &Harness) {
    let said = job
        .known()
        .iter()
        .map(|told| (told.part.clone(), told.typed.clone(), told.ohms.get(), told.dial, &told.at));
    let read = job.live_readings().filter_map(|taken| by_itself(taken, harness));
    for (part, typed, value, dial, at) in read.chain(said) {
        let Some(title) = harness.part(&part).map(|id| harness[id].title.clone()) else { continue };
        let before = KnownBefore {
            part: part.clone(),
            title,
            typed,
            value,
            dial,
            uid: uid.to_owned(),
            at: at.clone(),
        };
        known.insert(part, before);
    }
    known.retain(|part, _| !repaired(job, part));
}

type Value<'a> = (String, String, f64, Dial, &'a String);

/// Returns the part with two ends that a reading was taken over while one of its ends was lifted.
fn by_itself<'a>(taken: &'a Taken, harness: &Harness) -> Option<Value<'a>> {
    let measurement = &taken.reading.measurement;
    let lifted = harness.lifted(measurement.lifted.as_deref()?)?;
    let ends = [harness.terminal(&measurement.red)?, harness.terminal(&measurement.black)?];
    let part = harness[ends[0]].part;
    let alone = harness[part].terminals.len() == 2 && harness[ends[1]].part == part && ends[0] != ends[1];
    let free = ends.contains(&lifted.off) || lifted.stands_for.is_some_and(|end| ends.contains(&end));
    let (value, dial) = match (&harness[part].kind, measurement.mode, &taken.reading.shown) {
        (PartKind::Coil { .. }, Mode::Resistance, Shown::Steady(Level::Ohms { value, .. })) => {
            (value.get(), Dial::Ohms)
        }
        (PartKind::Capacitor { .. }, Mode::Capacitance, Shown::Steady(Level::Farads { value, .. })) => {
            (value.get(), Dial::Farads)
        }
        _ => return None,
    };
    let name = harness[part].name.clone();
    (alone && free).then(|| (name, taken.reading.typed.clone(), value, dial, &taken.at))
}

/// Returns whether a job named a fault of a part and repaired it.
fn repaired(job: &Job, part: &str) -> bool {
    let last = job.concluded().filter(|_| job.repaired().is_some());
    let named = job.rounds().iter().map(|round| &round.concluded).chain(last);
    let of_part = |id: &String| id.split(" + ").any(|one| one.split('/').next() == Some(part));
    named.flat_map(|named| &named.faults).any(of_part)
}
