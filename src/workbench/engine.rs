//! Everything that is worked out once for a wiring, a meter and a set of trees.

use std::collections::BTreeSet;
use std::ops::Deref;
use std::sync::{Arc, Mutex};

use thiserror::Error;

use crate::advisor::Groups;
use crate::belief::{Estimate, Expectation};
use crate::circuit::{self, Harness};
use crate::faults::{Fault, FaultId, Form, Kind, Priors};
use crate::job::Band;
use crate::prediction::{Audible, Candidates, Cell, Ear, Model, Quantity, Row, complaint_by_questions};
use crate::readings::{
    Check, Dial, Ends, Measurement, MeasurementError, Meter, Mode, Reading, Said, Shown, Stand, Symptom,
};
use crate::solver::{Deck, SolverError, netlist};
use crate::source::{Located, Source};
use crate::trees::{Expected, Fitted, Tree};
use crate::units::Ohms;

/// What can go wrong before a job is on the bench.
#[derive(Debug, Error)]
pub enum EngineError {
    /// The wiring file is wrong.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Wiring(Vec<Located>),
    /// The own priors are wrong.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Priors(Vec<Located>),
    /// A tree does not fit the wiring.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Tree(Vec<Located>),
    /// The equations have no solution.
    #[error(transparent)]
    Solver(#[from] SolverError),
    /// A measurement makes no sense on the wiring.
    #[error(transparent)]
    Measurement(#[from] MeasurementError),
    /// A measurement names a terminal that the wiring lacks.
    #[error("unknown terminal \"{name}\"\n  hint: {hint}")]
    Terminal {
        /// The name.
        name: String,
        /// What is allowed.
        hint: String,
    },
    /// A deck has one position of every knob.
    #[error(
        "cannot write a deck of a sweep: in a deck the {knob} stands still\n  hint: write one deck for each position, in ohms with --set \"{knob}=5\""
    )]
    SweptDeck {
        /// The knob.
        knob: String,
    },
    /// A fault that says nothing about readings.
    #[error("nothing can be foretold under \"{id}\": it may read anything")]
    Anything {
        /// The id.
        id: String,
    },
    /// A fault id that the wiring does not have.
    #[error("unknown fault \"{id}\"\n  hint: {hint}")]
    Fault {
        /// The id.
        id: String,
        /// What is allowed.
        hint: String,
    },
}

/// How many workings with pairs of faults are kept: what is foreseen and what is there.
const KEPT: usize = 3;

/// Everything that is worked out once for a wiring, a meter and a set of trees.
///
/// What does not go with the trees is shared, so that the same engine with other trees costs next to nothing.
pub struct Engine {
    workings: Arc<Workings>,
    /// The trees, fitted to the wiring.
    pub trees: Vec<Fitted>,
    /// Which trees of one's own that are for this wiring were left out, and why.
    pub misfits: Vec<Misfit>,
}

/// A tree of one's own that is for a wiring and does not fit it.
#[derive(Clone, Debug)]
pub struct Misfit {
    /// The tree's name.
    pub tree: String,
    /// The first thing that does not fit.
    pub first: Located,
    /// How much more does not fit.
    pub more: usize,
}

/// A model with its measurements, groups and sounds: all of an engine but its trees.
pub struct Workings {
    /// The model of the wiring.
    pub model: Model,
    /// Every measurement worth considering.
    pub candidates: Candidates,
    /// The suspects in groups.
    pub groups: Groups,
    /// What every state does to the sound.
    pub audible: Vec<Audible>,
    /// The meter in use.
    pub meter: &'static Meter,
    /// The pairs of faults among its faults.
    pub(super) pairs: Vec<(Form, Form)>,
    /// The workings with pairs that were asked for last.
    kept: Mutex<Vec<Arc<Self>>>,
    prior: Estimate,
}

impl Deref for Engine {
    type Target = Workings;

    fn deref(&self) -> &Workings {
        &self.workings
    }
}

impl Engine {
    /// Works everything out, with the priors that come with the program.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when the wiring or a tree is wrong.
    pub fn new(wiring: &Source, meter: &'static Meter, trees: &[Tree]) -> Result<Self, EngineError> {
        Self::with_priors(wiring, meter, trees, Priors::built_in())
    }

    /// Works everything out.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when the wiring or a tree is wrong.
    pub fn with_priors(
        wiring: &Source,
        meter: &'static Meter,
        trees: &[Tree],
        priors: &Priors,
    ) -> Result<Self, EngineError> {
        let harness = circuit::load(wiring).map_err(EngineError::Wiring)?;
        let model = Model::with_priors(harness, priors);
        Self::bare(Workings::new(model, meter)?).with_trees(trees)
    }

    fn bare(workings: Workings) -> Self {
        Self { workings: Arc::new(workings), trees: Vec::new(), misfits: Vec::new() }
    }

    /// Returns this engine with other trees; nothing else is worked out again.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError::Tree`] with everything about the trees that does not fit the wiring.
    pub fn with_trees(&self, trees: &[Tree]) -> Result<Self, EngineError> {
        let (fitted, errors) = self.fitted(trees);
        let workings = Arc::clone(&self.workings);
        if errors.is_empty() {
            Ok(Self { workings, trees: fitted, misfits: Vec::new() })
        } else {
            Err(EngineError::Tree(errors.into_iter().flat_map(|(_, located)| located).collect()))
        }
    }

    /// Returns this engine with trees of one's own before its others. One with the name of another takes its place, the
    /// later of two too, unless it is for other guitars or does not fit this one; what does not fit is told.
    pub fn with_own_trees(&self, own: &[Tree]) -> Self {
        let (mut trees, errors) = self.fitted(own);
        let misfits: Vec<Misfit> = errors.into_iter().filter_map(misfit).collect();
        let named = |tree: &Fitted, all: &[Fitted]| all.iter().any(|t| t.tree().name == tree.tree().name);
        trees = (0..trees.len())
            .filter(|&index| !named(&trees[index], &trees[index + 1..]))
            .map(|index| trees[index].clone())
            .collect();
        let others: Vec<Fitted> = self.trees.iter().filter(|tree| !named(tree, &trees)).cloned().collect();
        trees.extend(others);
        Self {
            workings: Arc::clone(&self.workings),
            trees,
            misfits: [&self.misfits[..], &misfits[..]].concat(),
        }
    }

    /// Returns this engine with pairs of its faults, in all of their forms, as further faults.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when the equations have no single solution.
    pub fn with_pairs(&self, pairs: &[(FaultId, FaultId)]) -> Result<Self, EngineError> {
        let catalogue = &self.model.catalogue;
        let forms = |&(one, other): &(FaultId, FaultId)| {
            catalogue.forms(one).flat_map(move |a| catalogue.forms(other).map(move |b| (a, b)))
        };
        self.with_forms(&pairs.iter().flat_map(forms).collect::<Vec<_>>())
    }

    /// Returns this engine with pairs of its faults, each in one form, as further faults; those asked for last are kept.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when the equations have no single solution.
    pub(super) fn paired(&self, pairs: &[(Form, Form)]) -> Result<Arc<Self>, EngineError> {
        Ok(Arc::new(self.on(self.workings.paired(pairs)?)))
    }

    fn with_forms(&self, pairs: &[(Form, Form)]) -> Result<Self, EngineError> {
        Ok(self.on(Arc::new(self.workings.with_forms(pairs)?)))
    }

    /// Returns these trees on other workings of the same wiring.
    fn on(&self, workings: Arc<Workings>) -> Self {
        Self { workings, trees: self.trees.clone(), misfits: self.misfits.clone() }
    }

    /// Returns the harness.
    pub fn harness(&self) -> &Harness {
        &self.model.harness
    }

    /// Returns what every state makes a measurement read.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError::Terminal`] when the wiring lacks a probe's terminal.
    pub fn row(&self, measurement: &Measurement) -> Result<Row, EngineError> {
        let still = Measurement { flex: None, ..measurement.clone() };
        if let Some(known) = self.candidates.list.iter().find(|c| c.measurement == still) {
            return Ok(self.candidates.rows[known.row].clone());
        }
        self.probes(measurement)?;
        Ok(self.model.row(&still)?.unwrap_or_default())
    }

    /// Returns the values that a reading is made of, each with what every state makes it read: one, but for a swept
    /// knob whose ends were read as well.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError::Terminal`] when the wiring lacks a probe's terminal.
    pub fn values(&self, reading: &Reading) -> Result<Vec<(Shown, Row)>, EngineError> {
        let asked = &reading.measurement;
        let row = self.row(asked)?;
        let Shown::Swept { highest, ends } = reading.shown else { return Ok(vec![(reading.shown, row)]) };
        let knob = asked.about.as_deref().unwrap_or_default();
        let at = |dial| asked.setting.clone().with(knob, Stand::Knob(dial));
        let [first, last] =
            [0, 10].map(|dial| self.row(&Measurement::ohms(&asked.red, &asked.black, at(dial))));
        let mut values = match ends {
            Ends::Lowest(low) => vec![(Shown::Steady(low), lower(&first?, &last?))],
            Ends::Both { from, to } => vec![(Shown::Steady(from), first?), (Shown::Steady(to), last?)],
        };
        values.push((Shown::Steady(highest), row));
        Ok(values)
    }

    /// Returns the uncertain value behind a dial that a part's own value is, its shift from nominal and how unsure that
    /// is; `None` for a part without one.
    ///
    /// A part that was read by itself is as sure as the meter and the temperature of the room, a hundredth (common
    /// practice, no source).
    pub fn shift_of(&self, part: &str, dial: Dial, value: f64) -> Option<(usize, f64, f64)> {
        const SURE: f64 = 0.01;
        let id = self.harness().part(part)?;
        let (params, nominal) = match dial {
            Dial::Farads => (&self.model.params.farads, &self.model.values.farads),
            _ => (&self.model.params.list, &self.model.values.ohms),
        };
        let own = |quantity| matches!(quantity, Quantity::Ohms | Quantity::TrackOhms | Quantity::Farads);
        let index = params.iter().position(|param| param.part == id && own(param.quantity))?;
        Some((index, (value / nominal[id.0]).ln(), SURE))
    }

    /// Returns how likely a complaint is under every hypothesis.
    pub fn complaint(&self, symptom: Symptom) -> Vec<f64> {
        complaint_by_questions(&self.candidates.questions, symptom)
            .unwrap_or_else(|| self.model.complaint_likelihood(&self.audible, symptom))
    }

    /// Returns the chance of yes to an observation under every hypothesis.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when the circuit has no single solution.
    pub fn chances(&self, check: Check, measurement: &Measurement) -> Result<Vec<f64>, EngineError> {
        if let Some(known) = self.candidates.questions.iter().find(|q| q.measurement == *measurement) {
            return Ok(known.chances.clone());
        }
        Ok(Ear::new(&self.model, &self.audible).chances(check, measurement)?)
    }

    /// Returns what a healthy instrument answers to an observation.
    fn healthy_answer(&self, check: Check, measurement: &Measurement) -> Result<Band, EngineError> {
        let chances = self.chances(check, measurement)?;
        let sound = self.model.hypotheses.list.iter().position(|h| {
            h.faults.iter().any(|(fault, _)| self.model.catalogue[*fault].kind == Kind::NothingWrong)
        });
        let yes = sound.map_or(0.5, |index| chances[index]);
        Ok(answer(yes))
    }

    /// Returns the span in which a healthy instrument reads.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when the measurement makes no sense on the wiring or cannot be predicted.
    pub fn healthy(&self, measurement: &Measurement) -> Result<Band, EngineError> {
        measurement.check(self.harness())?;
        if let Mode::Observe(check) = measurement.mode {
            return self.healthy_answer(check, measurement);
        }
        if plain(measurement) {
            let (red, black) = self.probes(measurement)?;
            let cell = self.model.bench(&measurement.setting)?.cell(0, red, black);
            return Ok(self.band(&cell, &self.prior));
        }
        let row = self.row(measurement)?;
        Ok(row.first().map_or_else(Band::default, |cell| self.band(cell, &self.prior)))
    }

    /// Returns the span in which a measurement reads under a fault; a fault of unknown size spans all its sizes.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when there is no such fault or terminal, or the measurement makes no sense on the wiring.
    pub fn predict(&self, measurement: &Measurement, fault: &str) -> Result<Band, EngineError> {
        measurement.check(self.harness())?;
        let fault = self.foretold(fault)?;
        if let Mode::Observe(check) = measurement.mode {
            return self.answer_under(check, measurement, fault);
        }
        let row = self.row(measurement)?;
        let states = self.states_of(fault);
        let bands: Vec<Band> = states.into_iter().map(|state| self.band(&row[state], &self.prior)).collect();
        Ok(spanned(&bands))
    }

    /// Returns a SPICE deck of a measurement under a fault; `None` when there is no path.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when there is no such fault or terminal, the measurement makes no sense on the wiring or
    /// a knob is swept.
    pub fn netlist(
        &self,
        measurement: &Measurement,
        fault: Option<&str>,
    ) -> Result<Option<String>, EngineError> {
        measurement.check(self.harness())?;
        if measurement.mode == Mode::Sweep {
            return Err(EngineError::SweptDeck { knob: measurement.about.clone().unwrap_or_default() });
        }
        let (red, black) = self.probes(measurement)?;
        let state = match fault {
            Some(fault) => self.middle_state(self.foretold(fault)?),
            None => 0,
        };
        let network = self.model.network_with(state, measurement.lifted.as_deref());
        let deck = Deck {
            harness: self.harness(),
            network: &network,
            values: &self.model.values,
            at: &self.model.positions(&measurement.setting),
            change: &self.model.hypotheses.states[state].change,
        };
        let title = format!(
            "{}: {}; {}",
            self.harness().name,
            measurement.sentence(self.harness()),
            fault.unwrap_or("healthy")
        );
        Ok(netlist(deck, red, black, &title))
    }

    /// Returns the span of a cell under an estimate of the part values.
    pub fn band(&self, cell: &Cell, estimate: &Estimate) -> Band {
        let expected = Expectation::new(cell, estimate, self.meter);
        let dial = cell.dial;
        let shown = |value: f64| (value < self.meter.most(dial)).then(|| Ohms::new(value));
        let (low, high) = expected.band().map_or((None, None), |(low, high)| (shown(low), shown(high)));
        let ohms = expected.middle.and_then(|middle| shown(dial.unscaled(middle)));
        Band { ohms, low, high, dial, said: None }
    }

    /// Returns the fault with this id.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError::Fault`] when there is none.
    pub fn fault(&self, id: &str) -> Result<&Fault, EngineError> {
        let found = self.model.catalogue.find(id).map(|fault| &self.model.catalogue[fault]);
        found.ok_or_else(|| {
            let known: Vec<&str> =
                self.model.catalogue.faults.iter().map(|fault| fault.id.as_str()).collect();
            let hint = match crate::source::nearest(id, known) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("`lugwise faults {}` lists them", self.harness().name),
            };
            EngineError::Fault { id: id.to_owned(), hint }
        })
    }

    /// Returns the likelier answer under a fault.
    fn answer_under(
        &self,
        check: Check,
        measurement: &Measurement,
        fault: &Fault,
    ) -> Result<Band, EngineError> {
        let chances = self.chances(check, measurement)?;
        let mine = |index: &usize| {
            let hypothesis = &self.model.hypotheses.list[*index];
            hypothesis.faults.iter().any(|(id, _)| self.model.catalogue[*id].id == fault.id)
        };
        let of: Vec<f64> = (0..chances.len()).filter(mine).map(|index| chances[index]).collect();
        let yes = of.iter().sum::<f64>() / of.len().max(1) as f64;
        Ok(answer(yes))
    }

    pub(super) fn foretold(&self, id: &str) -> Result<&Fault, EngineError> {
        let fault = self.fault(id)?;
        match fault.kind {
            Kind::NotInCatalogue => Err(EngineError::Anything { id: id.to_owned() }),
            _ => Ok(fault),
        }
    }

    fn states_of(&self, fault: &Fault) -> Vec<usize> {
        let states = &self.model.hypotheses.states;
        fault.variants.iter().filter_map(|v| states.iter().position(|s| s.change == v.change)).collect()
    }

    /// Returns the state of a fault; of a fault of unknown size, that of the middle one.
    pub(super) fn middle_state(&self, fault: &Fault) -> usize {
        let states = self.states_of(fault);
        states.get(states.len().saturating_sub(1) / 2).copied().unwrap_or(0)
    }

    fn probes(&self, measurement: &Measurement) -> Result<(circuit::NodeId, circuit::NodeId), EngineError> {
        self.model.probes(measurement).ok_or_else(|| {
            let harness = self.harness();
            let missing =
                [&measurement.red, &measurement.black].into_iter().find(|n| harness.terminal(n).is_none());
            let name = missing.cloned().unwrap_or_default();
            let known: Vec<&str> = harness.terminals.iter().map(|t| t.name.as_str()).collect();
            EngineError::Terminal {
                hint: crate::source::advice(&name, &known, "the terminals are", '"'),
                name,
            }
        })
    }

    /// Returns what a tree is told of a measurement on a guitar as it should be.
    pub fn expected(&self, measurement: &Measurement) -> Expected {
        let volume_alone = self.model.volume_alone(&measurement.setting);
        self.expecting(measurement.mode, self.healthy(measurement).ok(), volume_alone)
    }

    /// Returns what a tree is told of a measurement that reads so on a guitar as it should be.
    pub fn expecting(&self, mode: Mode, healthy: Option<Band>, volume_alone: Option<f64>) -> Expected {
        let reads = healthy.filter(|band| band.ohms.is_some());
        let most = self.meter.most(mode.dial());
        let at = |value: Option<Ohms>| value.map_or(most, Ohms::get);
        let healthy = reads.map(|band| (at(band.low), at(band.ohms), at(band.high)));
        Expected { healthy, volume_alone }
    }

    /// Returns the trees that are for this wiring, fitted to it, and the names of the others with everything that does not
    /// fit.
    fn fitted(&self, trees: &[Tree]) -> (Vec<Fitted>, Vec<(String, Vec<Located>)>) {
        let (mut fitted, mut errors) = (Vec::new(), Vec::new());
        for tree in trees.iter().filter(|tree| tree.applies(self.harness())) {
            match tree.fit(self.harness(), &|measurement: &Measurement| self.expected(measurement)) {
                Ok(tree) => fitted.push(tree),
                Err(located) => errors.push((tree.name.clone(), located)),
            }
        }
        (fitted, errors)
    }

    /// Returns the names of the places that must be opened for a measurement and are not yet open.
    pub fn unopened(&self, measurement: &Measurement, opened: &BTreeSet<circuit::PlaceId>) -> Vec<String> {
        let places = crate::advisor::places(self.harness(), measurement);
        places.into_iter().filter(|p| !opened.contains(p)).map(|p| self.harness()[p].name.clone()).collect()
    }
}

fn misfit((tree, located): (String, Vec<Located>)) -> Option<Misfit> {
    let more = located.len().saturating_sub(1);
    located.into_iter().next().map(|first| Misfit { tree, first, more })
}

impl Workings {
    fn new(model: Model, meter: &'static Meter) -> Result<Self, EngineError> {
        let audible = model.audible()?;
        let candidates = model.candidates(&audible)?;
        let groups = Groups::new(&model, &candidates, meter);
        let prior = Estimate::prior(&model.params);
        let (pairs, kept) = (Vec::new(), Mutex::default());
        Ok(Self { model, candidates, groups, audible, meter, pairs, kept, prior })
    }

    fn paired(&self, pairs: &[(Form, Form)]) -> Result<Arc<Self>, EngineError> {
        let known = |kept: &Vec<Arc<Self>>| kept.iter().find(|known| known.pairs == pairs).cloned();
        if let Some(known) = self.kept.lock().ok().and_then(|kept| known(&kept)) {
            return Ok(known);
        }
        let paired = Arc::new(self.with_forms(pairs)?);
        if let Ok(mut kept) = self.kept.lock() {
            kept.insert(0, Arc::clone(&paired));
            kept.truncate(KEPT);
        }
        Ok(paired)
    }

    fn with_forms(&self, pairs: &[(Form, Form)]) -> Result<Self, EngineError> {
        let model = self.model.with_pairs(pairs);
        let candidates = self.candidates.with_pairs(&self.model, &model)?;
        let groups = Groups::new(&model, &candidates, self.meter);
        let audible = self.model.audible_with_pairs(&self.audible, &model);
        let (meter, pairs, prior) = (self.meter, pairs.to_vec(), self.prior.clone());
        Ok(Self { model, candidates, groups, audible, meter, pairs, kept: Mutex::default(), prior })
    }
}

/// Returns of two rows what reads less in each state.
fn lower(one: &Row, other: &Row) -> Row {
    let less = |(a, b): (&Cell, &Cell)| if a.scaled() <= b.scaled() { a.clone() } else { b.clone() };
    one.iter().zip(other.iter()).map(less).collect()
}

/// Returns the likelier answer as a band.
fn answer(yes: f64) -> Band {
    Band { said: Some(if yes >= 0.5 { Said::Yes } else { Said::No }), ..Band::default() }
}

/// Returns whether a measurement is ohms between two probes with nothing lifted.
fn plain(measurement: &Measurement) -> bool {
    matches!(measurement.mode, Mode::Resistance | Mode::Continuity) && measurement.lifted.is_none()
}

/// Returns the span over several spans: from the lowest to the highest, with the middle one's value.
fn spanned(bands: &[Band]) -> Band {
    let value = |ohms: Option<Ohms>| ohms.map_or(f64::INFINITY, Ohms::get);
    let mut sorted = bands.to_vec();
    sorted.sort_by(|a, b| value(a.ohms).total_cmp(&value(b.ohms)));
    let finite = |ohms: f64| ohms.is_finite().then(|| Ohms::new(ohms));
    Band {
        ohms: sorted.get(sorted.len().saturating_sub(1) / 2).and_then(|band| band.ohms),
        low: finite(sorted.iter().map(|band| value(band.low)).fold(f64::INFINITY, f64::min)),
        high: finite(sorted.iter().map(|band| value(band.high)).fold(0.0, f64::max)),
        dial: sorted.first().map_or(Dial::Ohms, |band| band.dial),
        said: None,
    }
}
