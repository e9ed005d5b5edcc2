//! Where the wiring does not match its file: the parts whose faults change the readings that are wrong, and no others.

use super::doubt::{Action, metered};
use super::engine::{Engine, EngineError};
use super::proof::within;
use crate::belief::changes;
use crate::circuit::PartId;
use crate::faults::{FaultId, Kind};
use crate::job::{Job, ReadingId};
use crate::prediction::Row;

/// So many parts are named at most.
const NAMED: usize = 3;
/// Parts whose score is within this of the best are named beside it: a tenth of the readings.
const NEARLY: f64 = 0.1;

/// Readings since the last repair, as what every state makes them read.
struct Sides {
    against: Vec<Row>,
    fitting: Vec<Row>,
}

/// Returns where the wiring does not match its file.
///
/// A reading speaks against it that nothing explains or that no healthy instrument shows. The score of a part is the
/// share of those readings that any state of its faults changes, less its share of the others. Of equals the part comes
/// first of whose states more change what speaks against the wiring, and fewer what fits.
///
/// # Errors
///
/// Returns [`EngineError`] when a reading of the job cannot be predicted.
pub(super) fn mismatch(engine: &Engine, job: &Job, unexplained: &[ReadingId]) -> Result<Action, EngineError> {
    let mut sides = Sides { against: Vec::new(), fitting: Vec::new() };
    let mut readings = Vec::new();
    for taken in metered(job) {
        let row = engine.row(&taken.reading.measurement)?;
        let fits = within(&taken.reading.shown, &taken.healthy) && !unexplained.contains(&taken.id);
        if fits {
            sides.fitting.push(row);
        } else {
            sides.against.push(row);
            readings.push(taken.id);
        }
    }
    Ok(Action::Mismatch { parts: parts(engine, &sides), readings })
}

/// Returns the names of the parts with the highest scores.
fn parts(engine: &Engine, sides: &Sides) -> Vec<String> {
    let all = (0..engine.harness().parts.len()).map(PartId);
    let scored = all.filter_map(|part| Some((score(engine, &at(engine, part), sides)?, part)));
    let mut scored: Vec<((f64, f64), PartId)> = scored.collect();
    scored.sort_by(|(a, one), (b, other)| {
        b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1)).then(one.0.cmp(&other.0))
    });
    let best = scored.first().map_or(0.0, |((score, _), _)| *score);
    let named = scored.iter().filter(|((score, _), _)| *score >= best - NEARLY).take(NAMED);
    named.map(|(_, part)| engine.harness()[*part].name.clone()).collect()
}

/// Returns the hypotheses that are a fault at a part.
fn at(engine: &Engine, part: PartId) -> Vec<usize> {
    let here = |&(fault, _): &(FaultId, f64)| {
        let fault = &engine.model.catalogue[fault];
        let real = !matches!(fault.kind, Kind::NothingWrong | Kind::NotInCatalogue | Kind::Two);
        real && fault.terminals.iter().any(|terminal| engine.harness()[*terminal].part == part)
    };
    let list = &engine.model.hypotheses.list;
    (0..list.len()).filter(|&index| list[index].faults.iter().any(here)).collect()
}

/// Returns the score of hypotheses by whether any changes a reading, and by how many do; `None` without any.
fn score(engine: &Engine, hypotheses: &[usize], sides: &Sides) -> Option<(f64, f64)> {
    let share = |row: &Row| {
        let changing = hypotheses.iter().filter(|&&index| changes(&engine.model, row, index)).count();
        changing as f64 / hypotheses.len() as f64
    };
    let touched = |rows: &[Row]| average(rows.iter().map(|row| f64::from(share(row) > 0.0)));
    let part = |rows: &[Row]| average(rows.iter().map(&share));
    let (against, fitting) = (&sides.against, &sides.fitting);
    let score = (touched(against) - touched(fitting), part(against) - part(fitting));
    (!hypotheses.is_empty()).then_some(score)
}

/// Returns the average, 0 of none.
fn average(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let count = values.len().max(1) as f64;
    values.sum::<f64>() / count
}
