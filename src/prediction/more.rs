//! Pairs of faults beside single ones: only what is new is solved.

use std::collections::BTreeMap;

use super::audible::Audible;
use super::candidates::{Candidate, Candidates, Known, Question};
use super::model::Model;
use super::row::Row;
use super::states::{Behaviour, Hypotheses, Hypothesis};
use crate::circuit::Change;
use crate::readings::{Measurement, Mode, Setting};
use crate::solver::SolverError;

impl Model {
    /// Returns the model of the states and hypotheses that this one has beyond those of another, and of the healthy state.
    fn beyond(&self, other: &Self) -> Self {
        let (states, list) = (other.hypotheses.states.len(), other.hypotheses.list.len());
        let new = self.hypotheses.states[states..].iter();
        let renumbered = |h: &Hypothesis| Hypothesis { state: h.state + 1 - states, ..h.clone() };
        let hypotheses = Hypotheses {
            states: self.hypotheses.states[..1].iter().chain(new).cloned().collect(),
            list: self.hypotheses.list[list..].iter().map(renumbered).collect(),
        };
        self.instrument(self.values.clone(), hypotheses)
    }

    /// Returns what every state of a model with pairs does to the sound: two faults are as loud as the worse of them, and
    /// hum when one does. An ear tells no more.
    pub fn audible_with_pairs(&self, audible: &[Audible], paired: &Self) -> Vec<Audible> {
        let states = &self.hypotheses.states;
        let of = |change: &Change| states.iter().position(|state| state.change == *change).unwrap_or(0);
        let worse = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a.min(*b)).collect();
        let both = |state: &super::State| {
            let (one, other) = two(&state.change).map_or((0, 0), |(a, b)| (of(a), of(b)));
            let (one, other) = (&audible[one], &audible[other]);
            Audible {
                body: worse(&one.body, &other.body),
                treble: worse(&one.treble, &other.treble),
                hums: one.hums || other.hums,
                drains: one.drains.max(other.drains),
                rests: one.rests.max(other.rests),
            }
        };
        let new = paired.hypotheses.states[states.len()..].iter().map(both);
        audible.iter().cloned().chain(new).collect()
    }

    /// Returns the steady hypothesis of a change.
    fn steady(&self, change: &Change) -> Option<usize> {
        let Hypotheses { states, list } = &self.hypotheses;
        list.iter().position(|h| h.behaviour == Behaviour::Steady && states[h.state].change == *change)
    }
}

fn two(change: &Change) -> Option<(&Change, &Change)> {
    match change {
        Change::Several(all) => Some((all.first()?, all.last()?)),
        _ => None,
    }
}

impl Candidates {
    /// Returns these candidates of a model of single faults for one with pairs of them.
    ///
    /// What a meter reads is solved. What is heard is what the one of both gives that changes it more.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations of a setting have no single solution.
    pub fn with_pairs(&self, singles: &Model, paired: &Model) -> Result<Self, SolverError> {
        let rows = self.rows_of(&paired.beyond(singles))?;
        let mut more = Self { list: Vec::new(), rows: Vec::new(), shows: Vec::new(), questions: Vec::new() };
        let mut known = Known::default();
        for candidate in &self.list {
            let still = Measurement { flex: None, ..candidate.measurement.clone() };
            let Some(row) = rows.get(&still) else { continue };
            let row = self.rows[candidate.row].with(row.iter().skip(1));
            let row = known.place(row, &mut more.rows);
            more.list.push(Candidate { measurement: candidate.measurement.clone(), row, flexed: 0 });
        }
        paired.work_out_what_shows(&mut more);
        let healthy = singles.steady(&Change::Nothing);
        let members: Vec<Option<(usize, usize)>> = paired.hypotheses.list[singles.hypotheses.list.len()..]
            .iter()
            .map(|h| two(&paired.hypotheses.states[h.state].change))
            .map(|changes| changes.and_then(|(a, b)| Some((singles.steady(a)?, singles.steady(b)?))))
            .collect();
        more.questions = self.questions.iter().map(|q| q.with_pairs(healthy, &members)).collect();
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

impl Question {
    fn with_pairs(&self, healthy: Option<usize>, members: &[Option<(usize, usize)>]) -> Self {
        let sound = healthy.map_or(0.5, |healthy| self.chances[healthy]);
        let both = |members: &Option<(usize, usize)>| {
            let Some((one, other)) = *members else { return sound };
            let (one, other) = (self.chances[one], self.chances[other]);
            if (one - sound).abs() >= (other - sound).abs() { one } else { other }
        };
        let chances = self.chances.iter().copied().chain(members.iter().map(both)).collect();
        Self { measurement: self.measurement.clone(), chances }
    }
}
