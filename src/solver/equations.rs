//! Modified nodal analysis: node voltages and branch currents as unknowns, one factorisation for all questions.

use nalgebra::{ComplexField, DMatrix, DVector};

use super::SolverError;

/// A branch row: `v(a) - v(b) - z·i - gain·(v(c) - v(d)) = emf`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Branch<T> {
    /// Node the current leaves.
    pub a: usize,
    /// Node the current enters.
    pub b: usize,
    /// Impedance in ohms; zero is an exact link.
    pub z: T,
    /// The nodes c and d whose voltage drives the branch, and by how much.
    pub drive: Option<(usize, usize, f64)>,
}

impl<T> Branch<T> {
    /// Returns a branch that nothing drives.
    pub fn passive(a: usize, b: usize, z: T) -> Self {
        Self { a, b, z, drive: None }
    }
}

/// An admittance between two nodes, stamped into their current balance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shunt<T> {
    /// First node.
    pub a: usize,
    /// Second node.
    pub b: usize,
    /// Admittance in siemens.
    pub y: T,
}

/// The solved equations of one network at one control setting and one frequency.
///
/// Rows are the nodes' current balances, then the branches. In every connected component one node
/// is pinned to zero volts, so that floating parts are exact and not a numerical accident.
#[derive(Clone, Debug)]
pub struct Equations<T: ComplexField> {
    inverse: DMatrix<T>,
    nodes: usize,
    component: Vec<usize>,
    branches: Vec<Branch<T>>,
    ends: Vec<(usize, usize)>,
    far_sides: Vec<Option<Vec<bool>>>,
}

impl<T: ComplexField<RealField = f64> + Copy> Equations<T> {
    /// Assembles and inverts the equations.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError::Singular`] when exact links form a loop, and
    /// [`SolverError::UnknownNode`] when an element names a node that does not exist.
    pub fn new(nodes: usize, branches: Vec<Branch<T>>, shunts: &[Shunt<T>]) -> Result<Self, SolverError> {
        let ends: Vec<(usize, usize)> =
            branches.iter().map(|b| (b.a, b.b)).chain(shunts.iter().map(|s| (s.a, s.b))).collect();
        if let Some(&(a, b)) = ends.iter().find(|&&(a, b)| a >= nodes || b >= nodes) {
            return Err(SolverError::UnknownNode { node: a.max(b), nodes });
        }
        let component = components(nodes, &ends);
        let inverse = assemble(nodes, &component, &branches, shunts)
            .try_inverse()
            .ok_or(SolverError::Singular { nodes, branches: branches.len() })?;
        let far_sides = (0..ends.len()).map(|k| far_side(nodes, &ends, k)).collect();
        Ok(Self { inverse, nodes, component, branches, ends, far_sides })
    }

    /// Returns whether the same nodes are connected with each other when these branches end elsewhere: only then can
    /// the rewired network be told from this solution.
    pub fn keeps_its_parts(&self, moved: &[(usize, usize, usize)]) -> bool {
        let mut ends = self.ends.clone();
        for &(branch, a, b) in moved {
            ends[branch] = (a, b);
        }
        components(self.nodes, &ends) == self.component
    }

    /// Returns the solution for node injections in amperes and branch voltages in volts.
    pub fn solve(&self, injections: &[(usize, T)], emfs: &[(usize, T)]) -> DVector<T> {
        let mut x = DVector::from_element(self.inverse.nrows(), T::zero());
        for &(node, amperes) in injections {
            if !self.pinned(node) {
                x.axpy(amperes, &self.inverse.column(node), T::one());
            }
        }
        for &(branch, volts) in emfs {
            x.axpy(volts, &self.inverse.column(self.nodes + branch), T::one());
        }
        x
    }

    /// Returns the number of nodes, which is also the row of the first branch.
    pub fn nodes(&self) -> usize {
        self.nodes
    }

    /// Returns the branches in row order.
    pub fn branches(&self) -> &[Branch<T>] {
        &self.branches
    }

    /// Returns whether two nodes are connected.
    pub fn connected(&self, a: usize, b: usize) -> bool {
        self.component[a] == self.component[b]
    }

    /// Returns whether taking this branch away would part the two nodes.
    pub fn parts(&self, branch: usize, a: usize, b: usize) -> bool {
        self.far_sides[branch].as_ref().is_some_and(|far| far[a] != far[b])
    }

    /// Returns whether taking this admittance away would part the two nodes.
    pub fn parts_without_shunt(&self, shunt: usize, a: usize, b: usize) -> bool {
        self.parts(self.branches.len() + shunt, a, b)
    }

    /// Returns whether taking this branch away would part anything.
    pub fn is_only_way(&self, branch: usize) -> bool {
        self.far_sides[branch].is_some()
    }

    /// Returns one entry of the solution for a unit current into `a` and out of `b`.
    pub fn between(&self, row: usize, a: usize, b: usize) -> T {
        self.column(row, a) - self.column(row, b)
    }

    /// Returns one entry of the solution for a unit voltage in a branch.
    pub fn driven(&self, row: usize, branch: usize) -> T {
        self.inverse[(row, self.nodes + branch)]
    }

    fn column(&self, row: usize, node: usize) -> T {
        if self.pinned(node) { T::zero() } else { self.inverse[(row, node)] }
    }

    fn pinned(&self, node: usize) -> bool {
        self.component[node] == node
    }
}

fn assemble<T: ComplexField<RealField = f64> + Copy>(
    nodes: usize,
    component: &[usize],
    branches: &[Branch<T>],
    shunts: &[Shunt<T>],
) -> DMatrix<T> {
    let size = nodes + branches.len();
    let mut matrix = DMatrix::from_element(size, size, T::zero());
    for shunt in shunts {
        for (row, other) in [(shunt.a, shunt.b), (shunt.b, shunt.a)] {
            matrix[(row, row)] += shunt.y;
            matrix[(row, other)] -= shunt.y;
        }
    }
    for (k, branch) in branches.iter().enumerate() {
        let row = nodes + k;
        matrix[(branch.a, row)] += T::one();
        matrix[(branch.b, row)] -= T::one();
        matrix[(row, branch.a)] += T::one();
        matrix[(row, branch.b)] -= T::one();
        matrix[(row, row)] -= branch.z;
        if let Some((plus, minus, gain)) = branch.drive {
            matrix[(row, plus)] -= T::from_real(gain);
            matrix[(row, minus)] += T::from_real(gain);
        }
    }
    for node in (0..nodes).filter(|&n| component[n] == n) {
        matrix.row_mut(node).fill(T::zero());
        matrix[(node, node)] = T::one();
    }
    matrix
}

/// Returns for every node the lowest node it is connected to.
pub fn components(nodes: usize, ends: &[(usize, usize)]) -> Vec<usize> {
    let mut parent: Vec<usize> = (0..nodes).collect();
    for &(a, b) in ends {
        let (a, b) = (root(&mut parent, a), root(&mut parent, b));
        let (low, high) = (a.min(b), a.max(b));
        parent[high] = low;
    }
    (0..nodes).map(|node| root(&mut parent, node)).collect()
}

fn root(parent: &mut [usize], mut node: usize) -> usize {
    while parent[node] != node {
        parent[node] = parent[parent[node]];
        node = parent[node];
    }
    node
}

/// Returns which nodes lie on the second end's side of branch `k` when it is the only way across.
fn far_side(nodes: usize, ends: &[(usize, usize)], k: usize) -> Option<Vec<bool>> {
    let without: Vec<(usize, usize)> =
        ends.iter().enumerate().filter(|&(index, _)| index != k).map(|(_, &pair)| pair).collect();
    let component = components(nodes, &without);
    let (a, b) = ends[k];
    (component[a] != component[b]).then(|| component.iter().map(|&c| c == component[b]).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn resistor(a: usize, b: usize, z: f64) -> Branch<f64> {
        Branch::passive(a, b, z)
    }

    fn close(found: f64, expected: f64) {
        assert!((found - expected).abs() <= 1e-8 * expected.abs().max(1.0), "{found} is not {expected}");
    }

    // Worked example "Simple_OP" of a public circuit simulator's documentation, re-run in ngspice-39:
    // R1 1-0 5; V1 2-1 8; R2 2-0 2; V2 3-2 4; R3 3-0 4; R4 3-4 1; V3 4-0 10; R5 2-4 4.
    #[test]
    fn three_sources_and_five_resistors() {
        let branches = vec![
            resistor(1, 0, 5.0),
            resistor(2, 0, 2.0),
            resistor(3, 0, 4.0),
            resistor(3, 4, 1.0),
            resistor(2, 4, 4.0),
            resistor(2, 1, 0.0),
            resistor(3, 2, 0.0),
            resistor(4, 0, 0.0),
        ];
        let equations = Equations::new(5, branches, &[]).unwrap();
        let x = equations.solve(&[], &[(5, 8.0), (6, 4.0), (7, 10.0)]);
        for (node, volts) in [(1, -3.863_636_36), (2, 4.136_363_64), (3, 8.136_363_64), (4, 10.0)] {
            close(x[node], volts);
        }
        for (branch, amperes) in [(5, -0.772_727_27), (6, -0.170_454_55), (7, -3.329_545_45)] {
            close(x[5 + branch], amperes);
        }
    }

    // Worked example "test_2" of a public nodal-analysis notebook collection, re-run in ngspice-39.
    #[test]
    fn twelve_nodes_with_voltage_and_current_sources() {
        let branches = vec![
            resistor(9, 5, 5.0),
            resistor(5, 1, 2.0),
            resistor(6, 2, 3.0),
            resistor(2, 0, 5.0),
            resistor(8, 7, 8.0),
            resistor(10, 9, 9.0),
            resistor(6, 5, 4.0),
            resistor(2, 1, 2.0),
            resistor(7, 6, 10.0),
            resistor(11, 10, 5.0),
            resistor(8, 4, 10.0),
            resistor(3, 0, 6.0),
            resistor(12, 11, 10.0),
            resistor(4, 3, 3.0),
            resistor(9, 0, 0.0),
            resistor(1, 0, 0.0),
            resistor(7, 3, 0.0),
            resistor(7, 11, 0.0),
        ];
        let equations = Equations::new(13, branches, &[]).unwrap();
        let injections =
            [(4, -3.0), (0, 3.0), (2, -1.0), (3, 1.0), (10, -2.0), (6, 2.0), (8, -2.0), (12, 2.0)];
        let x = equations.solve(&injections, &[(14, 10.0), (15, 2.0), (16, 3.0), (17, 5.0)]);
        let volts = [
            2.0,
            1.532_488_863,
            -6.665_281_34,
            -16.236_709_9,
            4.408_083_020,
            4.750_715_477,
            -3.665_281_34,
            -18.141_471_8,
            10.0,
            -8.427_680_86,
            -8.665_281_34,
            11.334_718_66,
        ];
        for (index, expected) in volts.into_iter().enumerate() {
            close(x[index + 1], expected);
        }
        for (branch, amperes) in
            [(14, -3.165_903_49), (15, 0.970_285_941_8), (16, 1.079_595_967), (17, -2.047_520_10)]
        {
            close(x[13 + branch], amperes);
        }
    }

    #[test]
    fn a_loop_of_exact_links_is_refused() {
        let loop_of_links = vec![resistor(0, 1, 0.0), resistor(0, 1, 0.0)];
        assert!(matches!(Equations::new(2, loop_of_links, &[]), Err(SolverError::Singular { .. })));
    }

    #[test]
    fn a_floating_part_has_its_own_reference() {
        let equations = Equations::new(4, vec![resistor(0, 1, 10.0), resistor(2, 3, 7.0)], &[]).unwrap();
        assert!(!equations.connected(0, 2));
        close(equations.between(2, 2, 3) - equations.between(3, 2, 3), 7.0);
    }
}
