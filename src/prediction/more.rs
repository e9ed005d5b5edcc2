//! Further hypotheses beside those that are worked out: only what is new is solved.

use std::collections::BTreeMap;

use super::audible::Audible;
use super::candidates::{Candidate, Candidates, Known, Question};
use super::model::Model;
use super::observations::Ear;
use super::row::Row;
use super::states::{Hypotheses, Hypothesis};
use crate::readings::{Measurement, Mode, Setting};
use crate::solver::SolverError;

impl Model {
    /// Returns the model of the states and hypotheses that this one has beyond those of another, and of the healthy state.
    pub fn beyond(&self, other: &Self) -> Self {
        let (states, list) = (other.hypotheses.states.len(), other.hypotheses.list.len());
        let new = self.hypotheses.states[states..].iter();
        let renumbered = |h: &Hypothesis| Hypothesis { state: h.state + 1 - states, ..h.clone() };
        let hypotheses = Hypotheses {
            states: self.hypotheses.states[..1].iter().chain(new).cloned().collect(),
            list: self.hypotheses.list[list..].iter().map(renumbered).collect(),
        };
        self.instrument(self.values.clone(), hypotheses)
    }
}

impl Candidates {
    /// Returns these candidates of a model for `all` hypotheses of a larger one; `new` is the model of those that are
    /// [beyond](Model::beyond) this one, and `audible` what its states do to the sound.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations of a setting have no single solution.
    pub fn extended(&self, all: &Model, new: &Model, audible: &[Audible]) -> Result<Self, SolverError> {
        let rows = self.rows_of(new)?;
        let mut more = Self { list: Vec::new(), rows: Vec::new(), shows: Vec::new(), questions: Vec::new() };
        let mut known = Known::default();
        for candidate in &self.list {
            let still = Measurement { flex: None, ..candidate.measurement.clone() };
            let Some(row) = rows.get(&still) else { continue };
            let row = self.rows[candidate.row].with(row.iter().skip(1));
            let row = known.place(row, &mut more.rows);
            more.list.push(Candidate { measurement: candidate.measurement.clone(), row, flexed: 0 });
        }
        all.work_out_what_shows(&mut more);
        let mut ear = Ear::new(new, audible);
        for question in &self.questions {
            let Mode::Observe(check) = question.measurement.mode else { continue };
            let mut chances = question.chances.clone();
            chances.extend(ear.chances(check, &question.measurement)?);
            more.questions.push(Question { measurement: question.measurement.clone(), chances });
        }
        Ok(more)
    }

    /// Returns what the states of another model make every still candidate read; each setting is solved once.
    fn rows_of(&self, model: &Model) -> Result<BTreeMap<Measurement, Row>, SolverError> {
        let mut rows = BTreeMap::new();
        let mut by_setting: BTreeMap<&Setting, Vec<&Measurement>> = BTreeMap::new();
        for measurement in self.list.iter().map(|c| &c.measurement).filter(|m| m.flex.is_none()) {
            if measurement.mode == Mode::Resistance && measurement.lifted.is_none() {
                by_setting.entry(&measurement.setting).or_default().push(measurement);
            } else if let Some(row) = model.row(measurement)? {
                rows.insert(measurement.clone(), row);
            }
        }
        for (setting, measurements) in by_setting {
            let bench = model.bench(setting)?;
            for measurement in measurements {
                if let Some((red, black)) = model.probes(measurement) {
                    rows.insert(measurement.clone(), bench.row(red, black));
                }
            }
        }
        Ok(rows)
    }
}
