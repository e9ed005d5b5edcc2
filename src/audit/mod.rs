//! The wiring audit: the smallest list of checks that proves a freshly wired harness whole.
//!
//! Every measurement is asked which faults it shows beyond doubt, with part tolerances and the meter included; the
//! fewest measurements that together show every fault that any of them shows are the list.

mod bits;
mod bound;
mod cover;
mod elsewhere;
mod pool;
mod route;
mod shows;

use std::collections::BTreeMap;

pub use bits::Bits;
pub use cover::{Choice, smallest};
pub use shows::Sound;

use crate::advisor::allowed;
use crate::circuit::{Change, ElementId, TerminalId, What};
use crate::faults::{Fault, FaultId, Kind};
use crate::prediction::{Behaviour, Hypothesis, Model};
use crate::readings::{Access, Measurement, Meter, Mode};
use crate::solver::SolverError;
use elsewhere::Elsewhere;
use shows::{Eye, NOTHING, Sight};

/// Branches that the exact search looks at: a second or so at most, and the same on every machine.
const BUDGET: usize = 20_000;
/// A break that moves no reading by more than this on the scale lies beside another path: half an ohm and 1 %.
const HIDDEN: f64 = 0.01;

/// One check of the list.
#[derive(Clone, Debug)]
pub struct Check {
    /// What is measured.
    pub measurement: Measurement,
    /// What a sound instrument reads.
    pub sound: Sound,
    /// The steady faults that it shows in every form they can take, in the order of the catalogue.
    pub faults: Vec<FaultId>,
    states: Bits,
}

/// Why no check of the list shows a fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// No direct current flows through a capacitor.
    Capacitor,
    /// It changes a capacitance, through which no direct current flows, and no reading in ohms.
    NoCurrent,
    /// No direct current flows where it is, and it hardly changes a capacitance.
    Idle,
    /// It changes what the battery feeds, and no reading in ohms.
    Supply,
    /// It changes no reading in ohms at any two terminals in any stand considered.
    Unmoved,
    /// Another path carries the current beside it.
    Beside,
    /// It moves no reading farther than sound parts may.
    Tolerance,
    /// Only its grosser forms are shown.
    Small,
    /// Only a reading at a closed place shows it.
    Closed,
}

/// A fault that comes and goes, and how it is provoked.
#[derive(Clone, Debug, PartialEq)]
pub struct Flexed {
    /// The fault.
    pub fault: FaultId,
    /// Index of the check that shows it while it is moved.
    pub check: usize,
    /// What is moved: the name of a link or a terminal.
    pub flex: String,
}

/// The list with what it covers.
#[derive(Clone, Debug)]
pub struct Audit {
    /// The checks in the order they are best taken.
    pub checks: Vec<Check>,
    /// No list from the measurements considered has fewer checks and covers as much.
    pub at_least: usize,
    /// How many measurements were considered.
    pub considered: usize,
    /// The steady faults that some check shows.
    pub covered: Vec<FaultId>,
    /// The steady faults that no check shows in every form, and why.
    pub missed: Vec<(FaultId, Why)>,
    /// The faults that come and go and show when the right thing is moved.
    pub flexed: Vec<Flexed>,
    /// The faults that come and go and do not show even then.
    pub unflexed: Vec<FaultId>,
    /// The states that each measurement considered shows: what the list was chosen from.
    pub rivals: Vec<Bits>,
    /// Hands-on time of the whole list in seconds, from knobs at 10 and everything closed.
    pub seconds: f64,
}

impl Audit {
    /// Works out the list for a model with a meter.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations of a setting have no single solution.
    pub fn new(model: &Model, meter: &Meter, access: Access) -> Result<Self, SolverError> {
        let everything = Seen::new(model, meter, access)?;
        let reached = |sight: &&Sight| allowed(&model.harness, &sight.measurement, access);
        let open: Vec<&Sight> = everything.sights.iter().filter(reached).collect();
        let sets: Vec<Bits> = open.iter().map(|sight| sight.by_ohms.clone()).collect();
        let costs: Vec<f64> = open.iter().map(|sight| route::alone(model, &sight.measurement)).collect();
        let choice = smallest(&sets, &costs, BUDGET);
        let best = route::settled(model, &open, &costs, choice.chosen);
        let picked: Vec<&Sight> = best.iter().map(|&at| open[at]).collect();
        let checks = checks(model, &picked);
        let elsewhere = Elsewhere::new(model)?;
        let told = Told { model, everything: &everything, elsewhere: &elsewhere, checks: &checks };
        let (covered, missed) = told.steady();
        let (flexed, unflexed) = told.flexed();
        let measured: Vec<&Measurement> = checks.iter().map(|check| &check.measurement).collect();
        let seconds = route::seconds(model, &measured);
        let (at_least, considered) = (choice.at_least, open.len());
        Ok(Self { checks, at_least, considered, covered, missed, flexed, unflexed, rivals: sets, seconds })
    }

    /// Returns, for each form that a fault can take, the indices of the checks that show it.
    pub fn shown_by(&self, model: &Model, fault: FaultId) -> Vec<Vec<usize>> {
        let show = |state: usize| {
            let all = self.checks.iter().enumerate();
            all.filter(|(_, check)| check.states.holds(state)).map(|(index, _)| index).collect()
        };
        states_of(model, fault).into_iter().map(show).collect()
    }

    /// Returns how many steady faults of each kind are covered, and how many there are.
    pub fn kinds(&self, model: &Model) -> BTreeMap<Kind, (usize, usize)> {
        let mut kinds: BTreeMap<Kind, (usize, usize)> = BTreeMap::new();
        for &fault in &self.covered {
            let entry = kinds.entry(model.catalogue[fault].kind).or_default();
            *entry = (entry.0 + 1, entry.1 + 1);
        }
        for (fault, _) in &self.missed {
            kinds.entry(model.catalogue[*fault].kind).or_default().1 += 1;
        }
        kinds
    }
}

/// Everything that any measurement shows, closed places included.
struct Seen {
    sights: Vec<Sight>,
    wanted: Bits,
    /// How far each state that is not shown moves any reading, on the scale.
    most: Vec<f64>,
}

impl Seen {
    fn new(model: &Model, meter: &Meter, access: Access) -> Result<Self, SolverError> {
        let eye = Eye::new(model, meter);
        let most = vec![0.0; model.hypotheses.states.len()];
        let mut seen = Self { sights: Vec::new(), wanted: steady_states(model), most };
        seen.look(model, &eye)?;
        seen.look_further(model, &eye, access)?;
        Ok(seen)
    }

    fn look(&mut self, model: &Model, eye: &Eye<'_>) -> Result<(), SolverError> {
        for (setting, pairs) in pool::pool(model) {
            let bench = model.bench(&setting)?;
            for (red, black) in &pairs {
                let measurement = Measurement::ohms(red, black, setting.clone());
                self.sights.extend(eye.sight(&bench, measurement, &self.wanted, &mut self.most));
            }
        }
        Ok(())
    }

    /// Looks between any two terminals in the other stands for what is not shown yet; a reading at closed places is
    /// of use only for what no reading shows at all.
    fn look_further(&mut self, model: &Model, eye: &Eye<'_>, access: Access) -> Result<(), SolverError> {
        let reached = |measurement: &Measurement| allowed(&model.harness, measurement, access);
        let unshown = self.wanted.without(&self.shown(|_| true));
        let unreached = self.wanted.without(&self.shown(|sight| reached(&sight.measurement)));
        let pairs = pool::everywhere(model);
        for setting in pool::stands(model) {
            let bench = model.bench(&setting)?;
            for (red, black) in &pairs {
                let measurement = Measurement::ohms(red, black, setting.clone());
                let sought = if reached(&measurement) { &unreached } else { &unshown };
                if eye.sight(&bench, measurement.clone(), sought, &mut self.most).is_some() {
                    self.sights.extend(eye.sight(&bench, measurement, &self.wanted, &mut self.most));
                }
            }
        }
        Ok(())
    }

    /// Returns the states that some of the measurements show.
    fn shown(&self, counts: impl Fn(&Sight) -> bool) -> Bits {
        let mut all = Bits::new(self.most.len());
        self.sights.iter().filter(|sight| counts(sight)).for_each(|sight| all.add(&sight.by_ohms));
        all
    }
}

/// Returns the states of faults that are always there.
fn steady_states(model: &Model) -> Bits {
    let steady = |h: &&Hypothesis| h.behaviour == Behaviour::Steady && h.state != 0;
    let states = model.hypotheses.list.iter().filter(steady).map(|h| h.state);
    Bits::of(model.hypotheses.states.len(), states)
}

/// Returns the states that a fault can take.
fn states_of(model: &Model, fault: FaultId) -> Vec<usize> {
    let takes = |h: &&Hypothesis| h.faults.iter().any(|(known, _)| *known == fault);
    model.hypotheses.list.iter().filter(takes).map(|h| h.state).collect()
}

/// Returns the faults inside the instrument: those that come and go, or those that do not.
fn faults(model: &Model, intermittent: bool) -> Vec<FaultId> {
    let inside = |fault: &Fault| !matches!(fault.kind, Kind::NothingWrong | Kind::NotInCatalogue);
    let all = model.catalogue.faults.iter().enumerate();
    all.filter(|(_, fault)| inside(fault) && fault.intermittent() == intermittent)
        .map(|(index, _)| FaultId(index))
        .collect()
}

/// Makes the checks; the beeper serves where nothing is lost by it.
fn checks(model: &Model, picked: &[&Sight]) -> Vec<Check> {
    let mut shows: Vec<(Mode, &Bits)> =
        picked.iter().map(|sight| (Mode::Resistance, &sight.by_ohms)).collect();
    for place in 0..picked.len() {
        let others = (0..picked.len()).filter(|&other| other != place);
        let needed = others.fold(picked[place].by_ohms.clone(), |left, other| left.without(shows[other].1));
        if needed.within(&picked[place].by_beep) {
            shows[place] = (Mode::Continuity, &picked[place].by_beep);
        }
    }
    picked.iter().zip(shows).map(|(sight, (mode, states))| check(model, sight, mode, states)).collect()
}

fn check(model: &Model, sight: &Sight, mode: Mode, states: &Bits) -> Check {
    let shown = |fault: &FaultId| states_of(model, *fault).iter().all(|&state| states.holds(state));
    Check {
        measurement: Measurement { mode, ..sight.measurement.clone() },
        sound: sight.sound,
        faults: faults(model, false).into_iter().filter(shown).collect(),
        states: states.clone(),
    }
}

/// What the checks show and what they do not.
struct Told<'a> {
    model: &'a Model,
    everything: &'a Seen,
    elsewhere: &'a Elsewhere,
    checks: &'a [Check],
}

impl Told<'_> {
    fn shown(&self, state: usize) -> bool {
        self.checks.iter().any(|check| check.states.holds(state))
    }

    fn steady(&self) -> (Vec<FaultId>, Vec<(FaultId, Why)>) {
        let missing = |fault: FaultId| states_of(self.model, fault).into_iter().find(|&s| !self.shown(s));
        let all = faults(self.model, false);
        let covered = all.iter().copied().filter(|&fault| missing(fault).is_none()).collect();
        let missed = all.into_iter().filter_map(|fault| Some((fault, self.why(fault, missing(fault)?))));
        (covered, missed.collect())
    }

    fn why(&self, fault: FaultId, state: usize) -> Why {
        let states = states_of(self.model, fault);
        let most = states.iter().map(|&form| self.everything.most[form]).fold(0.0, f64::max);
        let broken = matches!(self.change(state), Change::Open(_) | Change::Series(..));
        if self.everything.sights.iter().any(|sight| sight.by_ohms.holds(state)) {
            Why::Closed
        } else if self.in_capacitors(state) {
            Why::Capacitor
        } else if states.iter().any(|&other| self.shown(other)) {
            Why::Small
        } else if most <= NOTHING {
            // A break moves every reading whose current flows through it.
            self.elsewhere.why(state).unwrap_or(if broken { Why::Idle } else { Why::Unmoved })
        } else if broken && most < HIDDEN {
            Why::Beside
        } else {
            Why::Tolerance
        }
    }

    fn change(&self, state: usize) -> &Change {
        &self.model.hypotheses.states[state].change
    }

    /// Returns whether a state is a break or another value of capacitors alone.
    fn in_capacitors(&self, state: usize) -> bool {
        let what = |element: &ElementId| &self.model.network.elements[element.0].what;
        let capacitor = |element: &ElementId| matches!(what(element), What::Capacitor(_));
        match self.change(state) {
            Change::Open(element) => capacitor(element),
            Change::Scale(elements, _) => elements.iter().all(capacitor),
            _ => false,
        }
    }

    fn flexed(&self) -> (Vec<Flexed>, Vec<FaultId>) {
        let (mut flexed, mut unflexed) = (Vec::new(), Vec::new());
        for fault in faults(self.model, true) {
            let states = states_of(self.model, fault);
            let shows = |check: &Check| states.iter().all(|&state| check.states.holds(state));
            match (self.checks.iter().position(shows), self.moved(fault)) {
                (Some(check), Some(flex)) => flexed.push(Flexed { fault, check, flex }),
                _ => unflexed.push(fault),
            }
        }
        (flexed, unflexed)
    }

    /// Returns what is moved to provoke a fault: its lead, or else its terminal.
    fn moved(&self, fault: FaultId) -> Option<String> {
        let (fault, harness) = (&self.model.catalogue[fault], &self.model.harness);
        let inside = |id: &&TerminalId| !harness[**id].name.starts_with("plug.");
        let terminal = || fault.terminals.iter().find(inside).map(|&id| harness[id].name.clone());
        fault.links.first().map(|&link| harness[link].name.clone()).or_else(terminal)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{built_in, load};
    use crate::readings::Setting;
    use crate::source::Source;

    #[test]
    fn the_beeper_serves_only_where_nothing_is_lost_by_it() {
        let (name, text) = built_in()[0];
        let model = Model::new(load(&Source::new(name, text)).unwrap());
        let size = model.hypotheses.states.len();
        let sight = |by_ohms: &[usize], by_beep: &[usize]| Sight {
            measurement: Measurement::ohms("a", "b", Setting::default()),
            sound: Sound::NoPath,
            by_ohms: Bits::of(size, by_ohms.iter().copied()),
            by_beep: Bits::of(size, by_beep.iter().copied()),
        };
        let (plain, fine, shared) = (sight(&[1], &[1]), sight(&[2, 3], &[2]), sight(&[2, 4], &[4]));
        let modes: Vec<Mode> =
            checks(&model, &[&plain, &fine, &shared]).iter().map(|check| check.measurement.mode).collect();
        assert_eq!(modes, [Mode::Continuity, Mode::Resistance, Mode::Continuity]);
    }
}
