//! The doubt about what is believed, in plain sentences.

use super::doubt::{Action, Doubt};
use super::engine::{Engine, EngineError};
use super::mismatch::mismatch;
use super::situation::Situation;
use super::{DoubtView, VerdictView, words};
use crate::faults::NOT_IN_CATALOGUE;
use crate::job::{Job, ReadingId, Taken};
use crate::readings::{Shown, Stand};

/// Returns the doubt as it is shown.
pub(super) fn view(engine: &Engine, job: &Job, doubt: &Doubt) -> DoubtView {
    let (again, withdraw) = match doubt.action {
        Action::Retake(reading) | Action::Setting { reading, .. } | Action::Probes { reading, .. } => {
            (Some(reading), None)
        }
        Action::Withdraw { reading, .. } => (None, Some(reading)),
        Action::Pairs | Action::Mismatch { .. } => (None, None),
    };
    DoubtView {
        unlisted: doubt.unlisted,
        conflict: doubt.conflict,
        p_value: doubt.p_value,
        action: doubt.action.clone(),
        sentence: sentence(engine, job, &doubt.action),
        again,
        withdraw,
    }
}

fn sentence(engine: &Engine, job: &Job, action: &Action) -> String {
    match action {
        Action::Retake(reading) => {
            taken(job, *reading).map_or_else(String::new, |taken| surprise(engine, taken))
        }
        Action::Withdraw { reading, other } => format!(
            "{} came out differently when it was taken again: reading {} is {}. Flex what is \
             between the probes; unless it comes and goes there, the one that fits nothing was a slip: withdraw it",
            named(job, *reading),
            other.0,
            taken(job, *other).map_or_else(String::new, |taken| words::shown(&taken.reading.shown)),
        ),
        Action::Setting { reading, control, stand } => format!(
            "{} stayed the same and would fit if the {control} had stood {}: look where it stands, and take it again",
            named(job, *reading),
            stood(stand),
        ),
        Action::Probes { reading, terminal } => format!(
            "{} stayed the same and would fit if one probe had been on the {}: look where the probes are, and take it \
             again",
            named(job, *reading),
            title(engine, terminal),
        ),
        Action::Pairs => {
            "No single fault explains the readings, and two at once do: repair the surer one, then go on"
                .to_owned()
        }
        Action::Mismatch { parts, readings } => format!(
            "No fault of the catalogue explains {}: the wiring does not match its file{}",
            numbered(readings),
            place(engine, parts),
        ),
    }
}

/// Names in a verdict that the catalogue does not hold the truth where the wiring does not match its file.
pub(super) fn placed(
    engine: &Engine,
    job: &Job,
    situation: &Situation,
    verdict: VerdictView,
) -> Result<VerdictView, EngineError> {
    if !verdict.faults.iter().any(|fault| fault == NOT_IN_CATALOGUE) {
        return Ok(verdict);
    }
    let Action::Mismatch { parts, .. } = mismatch(engine, job, &situation.surprising)? else {
        return Ok(verdict);
    };
    let sentence = format!("{}{}", verdict.sentence, place(engine, &parts));
    Ok(VerdictView { sentence, ..verdict })
}

/// Returns where to look, as the end of a sentence; empty without a part.
fn place(engine: &Engine, parts: &[String]) -> String {
    let title = |name: &String| {
        let part = engine.harness().part(name);
        part.map_or_else(|| name.clone(), |id| engine.harness()[id].title.clone())
    };
    let titles: Vec<String> = parts.iter().map(title).collect();
    match titles.len() {
        0 => String::new(),
        _ => format!("; compare it first at {}", titles.join(", then at ")),
    }
}

fn taken(job: &Job, reading: ReadingId) -> Option<&Taken> {
    job.live_readings().find(|taken| taken.id == reading)
}

/// Returns a reading's number with what it showed.
fn named(job: &Job, reading: ReadingId) -> String {
    let shown = taken(job, reading).map_or_else(String::new, |taken| words::shown(&taken.reading.shown));
    format!("Reading {} ({shown})", reading.0)
}

fn numbered(readings: &[ReadingId]) -> String {
    let numbers: Vec<String> = readings.iter().map(|reading| reading.0.to_string()).collect();
    match numbers.len() {
        0 => "the readings".to_owned(),
        1 => format!("reading {}", numbers[0]),
        _ => format!("readings {}", numbers.join(", ")),
    }
}

fn stood(stand: &Stand) -> String {
    match stand {
        Stand::Knob(dial) => format!("at {dial}"),
        Stand::At(position) => format!("in the position {position}"),
    }
}

fn title(engine: &Engine, terminal: &str) -> String {
    let id = engine.harness().terminal(terminal);
    id.map_or_else(|| terminal.to_owned(), |id| engine.harness()[id].title.clone())
}

/// Returns what to say of a reading that fits no suspect: a slip of the unit where that would fit, or to take it again.
fn surprise(engine: &Engine, taken: &Taken) -> String {
    let number = taken.id.0;
    let again = format!(
        "Reading {number} ({}) fits no suspect: check the probes, the settings and the unit, and take it again",
        words::shown(&taken.reading.shown)
    );
    let Shown::Steady(level) = taken.reading.shown else { return again };
    let Some((value, _)) = level.number() else { return again };
    let dial = taken.reading.measurement.mode.dial();
    let fits = |factor: f64| {
        let meant = dial.scale(value * factor);
        let row = engine.row(&taken.reading.measurement).unwrap_or_default();
        row.iter().any(|cell| cell.reads.is_some() && (cell.scaled() - meant).abs() < 0.1)
    };
    let unit = [
        (1000.0, "kilohms instead of ohms, or megohms instead of kilohms"),
        (0.001, "a unit a thousand times smaller"),
    ]
    .into_iter()
    .find(|(factor, _)| fits(*factor));
    match unit {
        Some((_, meant)) => {
            format!("{again}. It would fit if the meter meant {meant}")
        }
        _ => again,
    }
}
