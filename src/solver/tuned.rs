//! One network at many frequencies: inverted once at a middle one, and corrected from there to any other.

use std::f64::consts::TAU;
use std::sync::Arc;

use nalgebra::{Complex, DMatrix, DVector};

use super::solved::Solved;
use super::values::{Positions, Stamps, Values, rebuilt, stamps};
use super::{Shunt, SolverError};
use crate::circuit::{Change, ElementId, Harness, Network, NodeId};

type Phasor = Complex<f64>;

/// Near the middle of what is heard, on a logarithmic scale.
const MIDDLE: f64 = TAU * 775.0;

/// What hangs between two nodes outside: a conductance and a capacitance side by side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hanging {
    /// First node.
    pub a: NodeId,
    /// Second node.
    pub b: NodeId,
    /// Conductance in siemens.
    pub siemens: f64,
    /// Capacitance in farads.
    pub farads: f64,
}

impl Hanging {
    /// Returns its admittance at an angular frequency.
    pub fn at(&self, omega: f64) -> Shunt<Phasor> {
        Shunt { a: self.a.0, b: self.b.0, y: Complex::new(self.siemens, omega * self.farads) }
    }
}

/// A network at one control setting, ready for any frequency.
///
/// Only coils, capacitors and what hangs outside go with the frequency. So the equations are inverted once, and
/// every other frequency is a change of a few elements, like a fault.
pub struct Tuned<'a> {
    harness: &'a Harness,
    network: Arc<Network>,
    values: &'a Values,
    at: &'a Positions,
    hanging: Hanging,
    middle: Stamps<Phasor>,
    solved: Solved<Phasor>,
}

/// Where the equations differ from those that were inverted.
#[derive(Clone, Copy)]
enum Port {
    Branch(usize),
    Pair(usize, usize),
}

/// By how much: the coefficient, or its inverse where that is the finite one.
#[derive(Clone, Copy)]
enum Weight {
    Direct(Phasor),
    Inverse(Phasor),
}

type Term = (Port, Weight);

impl<'a> Tuned<'a> {
    /// Inverts the equations of a network at a control setting.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn new(
        harness: &'a Harness,
        network: &Arc<Network>,
        values: &'a Values,
        at: &'a Positions,
        hanging: Hanging,
    ) -> Result<Self, SolverError> {
        let solved = Solved::new(harness, network, values, at, MIDDLE, &[hanging.at(MIDDLE)])?;
        let mut middle = stamps::<Phasor>(harness, network, values, at, MIDDLE);
        middle.shunts.push(hanging.at(MIDDLE));
        Ok(Self { harness, network: Arc::clone(network), values, at, hanging, middle, solved })
    }

    /// Returns the voltage between two nodes when a source drives one volt at an angular frequency, under a change. [`Change::Exchange`] is another network and changes nothing here.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn transfer(
        &self,
        omega: f64,
        source: ElementId,
        plus: NodeId,
        minus: NodeId,
        change: &Change,
    ) -> Result<Phasor, SolverError> {
        let heard = !self.solved.silent(source, plus, minus, change);
        let Some(branch) = self.middle.branch_of[source.0].filter(|_| heard) else {
            return Ok(Complex::ZERO);
        };
        let base = |row: usize| self.solved.equations.driven(row, branch);
        let terms = self.terms(omega, change);
        let weights = self.weighed(&terms, &base)?;
        let value = |row: usize| {
            let pushed = terms.iter().zip(weights.iter()).map(|((port, _), w)| self.answer(row, *port) * w);
            base(row) - pushed.sum::<Phasor>()
        };
        Ok(value(plus.0) - value(minus.0))
    }

    /// Returns every difference from the inverted equations at a frequency and under a change.
    fn terms(&self, omega: f64, change: &Change) -> Vec<Term> {
        let now = self.stamped(omega, change);
        let gone = self.gone(change);
        let branches = now.branches.iter().zip(&self.middle.branches).enumerate();
        let dearer = branches
            .filter(|(k, (new, old))| new.z != old.z && Some(*k) != gone)
            .map(|(k, (new, old))| (Port::Branch(k), Weight::Direct(old.z - new.z)));
        let pairs = now.shunts.iter().zip(&self.middle.shunts);
        let livelier = pairs
            .filter(|(new, old)| new.y != old.y)
            .map(|(new, old)| (Port::Pair(new.a, new.b), Weight::Direct(new.y - old.y)));
        let cut = gone.map(|k| (Port::Branch(k), Weight::Inverse(Complex::ZERO)));
        dearer.chain(livelier).chain(cut).chain(self.bridge(change)).collect()
    }

    /// Returns the stamps at a frequency, in the order of those that were inverted.
    fn stamped(&self, omega: f64, change: &Change) -> Stamps<Phasor> {
        let mut all = stamps::<Phasor>(self.harness, &self.network, self.values, self.at, omega);
        match change {
            Change::Series(..) | Change::Scale(..) | Change::Retaper { .. } => {
                all = rebuilt(all, &self.network, change, omega);
            }
            Change::Open(element) if all.branch_of[element.0].is_none() => {
                if let Some(shunt) = all.shunt_of[element.0].filter(|&shunt| !self.only_way(shunt)) {
                    all.shunts[shunt].y = Complex::ZERO;
                }
            }
            _ => {}
        }
        all.shunts.push(self.hanging.at(omega));
        all
    }

    /// Returns whether an admittance is the only way to what hangs on its far side: nothing flows there.
    fn only_way(&self, shunt: usize) -> bool {
        let Shunt { a, b, y } = self.middle.shunts[shunt];
        (Complex::new(1.0, 0.0) - y * self.across(Port::Pair(a, b), Port::Pair(a, b))).norm() < 1e-9
    }

    /// Returns the branch that a change takes away; one that is the only way carries nothing and may stay.
    fn gone(&self, change: &Change) -> Option<usize> {
        let Change::Open(element) = change else { return None };
        self.middle.branch_of[element.0].filter(|&branch| !self.solved.equations.is_only_way(branch))
    }

    /// Returns the bridge of a change; one between two separate networks carries nothing.
    fn bridge(&self, change: &Change) -> Option<Term> {
        match *change {
            Change::Bridge(a, b, ohms) if a != b && self.solved.equations.connected(a.0, b.0) => {
                Some((Port::Pair(a.0, b.0), Weight::Inverse(Complex::new(ohms, 0.0))))
            }
            _ => None,
        }
    }

    /// Returns how hard every difference pushes: the small system that is left of the whole one.
    fn weighed(
        &self,
        terms: &[Term],
        base: &dyn Fn(usize) -> Phasor,
    ) -> Result<DVector<Phasor>, SolverError> {
        let scale = |weight: Weight| match weight {
            Weight::Direct(d) => (Complex::new(1.0, 0.0), d),
            Weight::Inverse(i) => (i, Complex::new(1.0, 0.0)),
        };
        let matrix = DMatrix::from_fn(terms.len(), terms.len(), |r, c| {
            let (own, factor) = scale(terms[r].1);
            let own = if r == c { own } else { Complex::ZERO };
            own + factor * self.across(terms[r].0, terms[c].0)
        });
        let right = DVector::from_fn(terms.len(), |r, _| scale(terms[r].1).1 * self.seen(terms[r].0, base));
        let singular = SolverError::Singular { nodes: 0, branches: terms.len() };
        matrix.lu().solve(&right).ok_or(singular)
    }

    /// Returns what a unit push at one port makes of a row.
    fn answer(&self, row: usize, port: Port) -> Phasor {
        match port {
            Port::Branch(branch) => self.solved.equations.driven(row, branch),
            Port::Pair(a, b) => self.solved.equations.between(row, a, b),
        }
    }

    /// Returns what a port sees of a solution.
    fn seen(&self, port: Port, solution: &dyn Fn(usize) -> Phasor) -> Phasor {
        match port {
            Port::Branch(branch) => solution(self.solved.equations.nodes() + branch),
            Port::Pair(a, b) => solution(a) - solution(b),
        }
    }

    fn across(&self, sees: Port, pushed: Port) -> Phasor {
        self.seen(sees, &|row| self.answer(row, pushed))
    }
}
