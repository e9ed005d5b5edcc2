//! A solved network, and what one change makes of it without solving again.

use std::sync::Arc;

use nalgebra::DMatrix;

use super::equations::Equations;
use super::values::{Positions, Scalar, Values, grown, rebuilt, retapered, stamps};
use super::{Shunt, SolverError};
use crate::circuit::{Change, ElementId, Harness, Network, NodeId};

/// A network solved at one control setting and one frequency.
#[derive(Clone, Debug)]
pub struct Solved<T: Scalar> {
    network: Arc<Network>,
    pub(super) equations: Equations<T>,
    branch_of: Vec<Option<usize>>,
    shunt_of: Vec<Option<usize>>,
    admittance_of: Vec<Option<T>>,
    stops: Vec<bool>,
}

/// The answer to a unit current sent into one node and drawn out of another.
#[derive(Clone, Debug, PartialEq)]
pub struct Response<T> {
    /// The impedance between the nodes in ohms.
    pub ohms: T,
    /// The share of the current through each element asked for.
    pub currents: Vec<T>,
}

/// How a change alters any solution: columns of the inverse, each with its coefficient.
enum Update<T> {
    None,
    Branches(Vec<(usize, T)>),
    Bridge(usize, usize, T),
    Rewired(Vec<(usize, T)>, Vec<(usize, usize, T)>),
}

impl<T: Scalar> Solved<T> {
    /// Solves a network at a control setting; `omega` is the angular frequency, `load` is what hangs on it outside.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn new(
        harness: &Harness,
        network: &Arc<Network>,
        values: &Values,
        at: &Positions,
        omega: f64,
        load: &[Shunt<T>],
    ) -> Result<Self, SolverError> {
        Self::changed(harness, network, values, at, omega, load, &Change::Nothing)
    }

    /// Solves a network that has a change in it, from scratch.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn changed(
        harness: &Harness,
        network: &Arc<Network>,
        values: &Values,
        at: &Positions,
        omega: f64,
        load: &[Shunt<T>],
        change: &Change,
    ) -> Result<Self, SolverError> {
        let mut all = rebuilt(stamps::<T>(harness, network, values, at, omega), network, change, omega);
        let admittance_of = all.shunt_of.iter().map(|shunt| shunt.map(|k| all.shunts[k].y)).collect();
        all.shunts.extend_from_slice(load);
        let equations = Equations::new(network.nodes, all.branches, &all.shunts)?;
        Ok(Self {
            network: Arc::clone(network),
            equations,
            branch_of: all.branch_of,
            shunt_of: all.shunt_of,
            admittance_of,
            stops: all.stops,
        })
    }

    /// Returns what is between two nodes under a change, and the currents through some elements.
    ///
    /// `None` means that there is no path: over range. [`Change::Exchange`] is not a change of this
    /// network but another network ([`Network::exchanged`]); here it changes nothing. Nor does
    /// [`Change::Several`], which is solved from scratch ([`Self::changed`]).
    pub fn response(
        &self,
        a: NodeId,
        b: NodeId,
        change: &Change,
        through: &[ElementId],
    ) -> Option<Response<T>> {
        match *change {
            Change::Bridge(i, j, ohms) if !self.equations.connected(i.0, j.0) => {
                self.joined(a, b, (i, j), ohms, through)
            }
            Change::Open(element) if self.cut(element, a, b) => None,
            _ if !self.equations.connected(a.0, b.0) => None,
            _ => {
                let base = |row: usize| self.equations.between(row, a.0, b.0);
                let update = self.update(&base, change);
                Some(self.read(a, b, &base, &update, through))
            }
        }
    }

    /// Returns the voltage between two nodes when a source (coil, piezo, battery) drives one volt, under a change.
    ///
    /// The answer is zero where the two nodes are not connected.
    pub fn transfer(&self, source: ElementId, plus: NodeId, minus: NodeId, change: &Change) -> T {
        let link = |p: NodeId, q: NodeId| self.equations.connected(p.0, q.0);
        match *change {
            // Two separate networks that touch at one point: nothing flows there, and both ends are at one voltage.
            Change::Bridge(i, j, _) if !link(plus, minus) && !link(i, j) => {
                let (near, far) = if link(plus, i) { (i, j) } else { (j, i) };
                let along = |plus, minus| self.transfer(source, plus, minus, &Change::Nothing);
                if link(plus, near) && link(far, minus) {
                    along(plus, near) + along(far, minus)
                } else {
                    T::zero()
                }
            }
            _ => self.connected_transfer(source, plus, minus, change),
        }
    }

    fn connected_transfer(&self, source: ElementId, plus: NodeId, minus: NodeId, change: &Change) -> T {
        let Some(branch) = self.branch_of[source.0].filter(|_| !self.silent(source, plus, minus, change))
        else {
            return T::zero();
        };
        let base = |row: usize| self.equations.driven(row, branch);
        let update = match change {
            // Two separate networks that touch at one point: nothing flows there.
            Change::Bridge(i, j, _) if !self.equations.connected(i.0, j.0) => Update::None,
            _ => self.update(&base, change),
        };
        let factor = match change {
            Change::Drive(element, factor) if *element == source => T::from_real(*factor),
            _ => T::one(),
        };
        (self.value(&base, &update, plus.0) - self.value(&base, &update, minus.0)) * factor
    }

    /// Returns whether nothing of a source can reach two nodes under a change.
    pub(super) fn silent(&self, source: ElementId, plus: NodeId, minus: NodeId, change: &Change) -> bool {
        let cut =
            matches!(change, Change::Open(element) if *element == source || self.cut(*element, plus, minus));
        cut || !self.equations.connected(plus.0, minus.0)
    }

    /// Returns the impedance of an element at this setting; `None` when it is not in the circuit.
    pub fn impedance(&self, element: ElementId) -> Option<T> {
        self.branch_of[element.0].map(|branch| self.equations.branches()[branch].z)
    }

    fn cut(&self, element: ElementId, a: NodeId, b: NodeId) -> bool {
        match (self.branch_of[element.0], self.shunt_of[element.0]) {
            (Some(branch), _) => self.equations.parts(branch, a.0, b.0),
            (None, Some(shunt)) => self.equations.parts_without_shunt(shunt, a.0, b.0),
            (None, None) => false,
        }
    }

    fn joined(
        &self,
        a: NodeId,
        b: NodeId,
        (i, j): (NodeId, NodeId),
        ohms: f64,
        through: &[ElementId],
    ) -> Option<Response<T>> {
        let link = |p: NodeId, q: NodeId| self.equations.connected(p.0, q.0);
        if link(a, b) {
            return self.response(a, b, &Change::Nothing, through);
        }
        let (near, far) = if link(a, i) && link(j, b) {
            (self.response(a, i, &Change::Nothing, through)?, self.response(j, b, &Change::Nothing, through)?)
        } else if link(a, j) && link(i, b) {
            (self.response(a, j, &Change::Nothing, through)?, self.response(i, b, &Change::Nothing, through)?)
        } else {
            return None;
        };
        let currents = near.currents.iter().zip(&far.currents).map(|(&n, &f)| n + f).collect();
        Some(Response { ohms: near.ohms + far.ohms + T::from_real(ohms), currents })
    }

    fn read(
        &self,
        a: NodeId,
        b: NodeId,
        base: &dyn Fn(usize) -> T,
        update: &Update<T>,
        through: &[ElementId],
    ) -> Response<T> {
        let row = |element: &ElementId| self.branch_of[element.0].map(|k| self.equations.nodes() + k);
        Response {
            ohms: self.value(base, update, a.0) - self.value(base, update, b.0),
            currents: through
                .iter()
                .map(|element| row(element).map_or(T::zero(), |row| self.value(base, update, row)))
                .collect(),
        }
    }

    fn value(&self, base: &dyn Fn(usize) -> T, update: &Update<T>, row: usize) -> T {
        match update {
            Update::None => base(row),
            Update::Branches(terms) => {
                terms.iter().fold(base(row), |sum, &(branch, c)| sum + self.equations.driven(row, branch) * c)
            }
            Update::Bridge(i, j, c) => base(row) - self.equations.between(row, *i, *j) * *c,
            Update::Rewired(opened, bridges) => {
                let volts = opened.iter().map(|&(branch, e)| self.equations.driven(row, branch) * e);
                let amperes = bridges.iter().map(|&(i, j, c)| -self.equations.between(row, i, j) * c);
                volts.chain(amperes).fold(base(row), |sum, term| sum + term)
            }
        }
    }

    /// Sherman–Morrison–Woodbury in the form whose denominators stay away from zero: a changed branch is a
    /// voltage in its own row, a bridge is a current between its nodes.
    fn update(&self, base: &dyn Fn(usize) -> T, change: &Change) -> Update<T> {
        match change {
            Change::Nothing
            | Change::Exchange(..)
            | Change::Move(..)
            | Change::Drive(..)
            | Change::Several(_) => Update::None,
            Change::Open(element) => self.opened(base, *element),
            Change::Rewire(moves) => self.rewired(base, moves),
            Change::Scale(elements, factor) if self.shunt(elements).is_some() => {
                self.shunted(base, elements[0], 1.0 / factor - 1.0)
            }
            Change::Series(..) | Change::Scale(..) | Change::Retaper { .. } => {
                self.dearer(base, &self.more(change))
            }
            Change::Bridge(i, j, ohms) => {
                let across = self.equations.between(i.0, i.0, j.0) - self.equations.between(j.0, i.0, j.0);
                let current = (base(i.0) - base(j.0)) / (across + T::from_real(*ohms));
                if across.modulus() + ohms.abs() == 0.0 {
                    Update::None
                } else {
                    Update::Bridge(i.0, j.0, current)
                }
            }
        }
    }

    /// Returns by how much a change makes the impedance of elements larger.
    pub fn more(&self, change: &Change) -> Vec<(ElementId, T)> {
        let now = |element: ElementId| self.impedance(element);
        match change {
            Change::Series(element, ohms) => vec![(*element, T::from_real(*ohms))],
            Change::Scale(elements, factor) => grown(&self.network, &self.stops, elements, *factor, &now),
            Change::Retaper { lower, upper, right, wrong } => {
                retapered(&self.stops, [*lower, *upper], [*right, *wrong], &now)
            }
            _ => Vec::new(),
        }
    }

    /// Returns the one element of a change that is an admittance only.
    fn shunt(&self, elements: &[ElementId]) -> Option<T> {
        let &[only] = elements else { return None };
        self.admittance_of[only.0].filter(|_| self.branch_of[only.0].is_none())
    }

    /// Returns whether a rewiring can be told from this solution: it leaves every part with its reference.
    pub fn can_rewire(&self, change: &Change) -> bool {
        let Change::Rewire(moves) = change else { return true };
        let branch = |element: &ElementId| self.branch_of[element.0];
        let moved: Option<Vec<_>> = moves.iter().map(|(e, a, b)| Some((branch(e)?, a.0, b.0))).collect();
        moved.is_some_and(|moved| self.equations.keeps_its_parts(&moved))
    }

    /// A conductor that ends elsewhere is an open one, held by a voltage in its row, and a new one beside it, a
    /// current between its nodes: one small system for all of them.
    fn rewired(&self, base: &dyn Fn(usize) -> T, moves: &[(ElementId, NodeId, NodeId)]) -> Update<T> {
        let branches: Vec<usize> =
            moves.iter().filter_map(|(element, ..)| self.branch_of[element.0]).collect();
        let count = branches.len();
        if count == 0 {
            return Update::None;
        }
        let row = |k: usize| self.equations.nodes() + branches[k];
        let ends = |k: usize| (moves[k].1.0, moves[k].2.0);
        let across = |k: usize, value: &dyn Fn(usize) -> T| {
            if k < count {
                value(row(k))
            } else {
                let (i, j) = ends(k - count);
                value(i) - value(j)
            }
        };
        let column = |c: usize, row: usize| {
            if c < count {
                self.equations.driven(row, branches[c])
            } else {
                let (i, j) = ends(c - count);
                -self.equations.between(row, i, j)
            }
        };
        let matrix = DMatrix::from_fn(2 * count, 2 * count, |r, c| {
            let own = if r == c && r >= count {
                self.equations.branches()[branches[r - count]].z
            } else {
                T::zero()
            };
            across(r, &|row| column(c, row)) - own
        });
        let right = DMatrix::from_fn(2 * count, 1, |r, _| -across(r, base));
        let Some(x) = matrix.lu().solve(&right) else { return Update::None };
        Update::Rewired(
            (0..count).map(|k| (branches[k], x[k])).collect(),
            (0..count).map(|k| (ends(k).0, ends(k).1, x[count + k])).collect(),
        )
    }

    fn opened(&self, base: &dyn Fn(usize) -> T, element: ElementId) -> Update<T> {
        match self.branch_of[element.0] {
            Some(branch) if !self.equations.is_only_way(branch) => {
                let row = self.equations.nodes() + branch;
                Update::Branches(vec![(branch, -base(row) / self.equations.driven(row, branch))])
            }
            None => self.shunted(base, element, -1.0),
            Some(_) => Update::None,
        }
    }

    /// A capacitor grows by so much of its own admittance: a bridge beside it, negative where it is taken out.
    fn shunted(&self, base: &dyn Fn(usize) -> T, element: ElementId, more: f64) -> Update<T> {
        let Some(y) = self.admittance_of[element.0] else {
            return Update::None;
        };
        let (i, j) = (self.network.elements[element.0].a.0, self.network.elements[element.0].b.0);
        let across = self.equations.between(i, i, j) - self.equations.between(j, i, j);
        let y = y.scale(more);
        let left = T::one() + y * across;
        if left.modulus() < 1e-9 {
            // It is the only way: nothing hangs on its far side that a change could show.
            return Update::None;
        }
        Update::Bridge(i, j, y * (base(i) - base(j)) / left)
    }

    fn dearer_alone(&self, base: &dyn Fn(usize) -> T, element: ElementId, dz: T) -> Update<T> {
        let Some(branch) = self.branch_of[element.0] else {
            return Update::None;
        };
        let row = self.equations.nodes() + branch;
        Update::Branches(vec![(
            branch,
            dz * base(row) / (T::one() - dz * self.equations.driven(row, branch)),
        )])
    }

    fn dearer(&self, base: &dyn Fn(usize) -> T, more: &[(ElementId, T)]) -> Update<T> {
        match *more {
            [] => return Update::None,
            [(element, dz)] => return self.dearer_alone(base, element, dz),
            _ => {}
        }
        let changed: Vec<(usize, T)> =
            more.iter().filter_map(|(element, dz)| Some((self.branch_of[element.0]?, *dz))).collect();
        let row = |k: usize| self.equations.nodes() + changed[k].0;
        let size = changed.len();
        let matrix = DMatrix::from_fn(size, size, |r, c| {
            let identity = if r == c { T::one() } else { T::zero() };
            identity - self.equations.driven(row(r), changed[c].0) * changed[c].1
        });
        let right = DMatrix::from_fn(size, 1, |r, _| base(row(r)));
        match matrix.lu().solve(&right) {
            Some(currents) => Update::Branches(
                changed.iter().enumerate().map(|(k, &(b, dz))| (b, dz * currents[k])).collect(),
            ),
            None => Update::None,
        }
    }
}
