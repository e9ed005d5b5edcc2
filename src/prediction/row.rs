//! What every state makes one measurement read, each different reading kept once.

use std::ops::Index;

use super::model::{Cell, SizeCurve};

/// Readings that differ by less than this share of their value differ by rounding.
const ROUNDING: f64 = 1e-10;
/// Readings that are farther apart on the scale are told apart at a glance: about a tenth above 50 Ω.
const CLEAR: f64 = 0.1;

/// What every state makes one measurement read. Most states leave most readings as they are, so that equal ones are kept
/// once.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Row {
    distinct: Vec<Cell>,
    of: Vec<u32>,
    plain: Vec<u32>,
}

impl Row {
    /// Returns this row with what further states read.
    pub fn with<'a>(&self, more: impl Iterator<Item = &'a Cell>) -> Self {
        let mut row = self.clone();
        more.for_each(|cell| row.push(cell.clone()));
        row.plain = at_a_glance(&row.distinct);
        row
    }

    fn push(&mut self, cell: Cell) {
        let known = self.distinct.iter().position(|known| alike(known, &cell));
        let index = known.unwrap_or(self.distinct.len());
        if index == self.distinct.len() {
            self.distinct.push(cell);
        }
        self.of.push(index as u32);
    }

    /// Returns the number of states.
    pub fn len(&self) -> usize {
        self.of.len()
    }

    /// Returns whether there is no state.
    pub fn is_empty(&self) -> bool {
        self.of.is_empty()
    }

    /// Returns what every state makes it read, in their order.
    pub fn iter(&self) -> impl Iterator<Item = &Cell> {
        self.of.iter().map(|&index| &self.distinct[index as usize])
    }

    /// Returns what the healthy instrument reads.
    pub fn first(&self) -> Option<&Cell> {
        self.get(0)
    }

    /// Returns what a state reads.
    pub fn get(&self, state: usize) -> Option<&Cell> {
        self.of.get(state).map(|&index| &self.distinct[index as usize])
    }

    /// Returns the number of what a state reads: states with the same number read the same.
    pub fn number(&self, state: usize) -> usize {
        self.of[state] as usize
    }

    /// Returns how many different readings there are.
    pub fn numbers(&self) -> usize {
        self.distinct.len()
    }

    /// Returns the reading of a number.
    pub fn distinct(&self, number: usize) -> Option<&Cell> {
        self.distinct.get(number)
    }

    /// Returns the number of what a state reads at a glance: states with the same number read nearly the same.
    pub fn glance(&self, state: usize) -> usize {
        self.plain[self.of[state] as usize] as usize
    }

    /// Returns whether two states read the same.
    pub fn same(&self, one: usize, other: usize) -> bool {
        self.of[one] == self.of[other]
    }

    /// Returns whether it reads the same as another in every state.
    pub fn reads_like(&self, other: &Self) -> bool {
        self.of == other.of && self.distinct.iter().zip(&other.distinct).all(|(a, b)| alike(a, b))
    }

    /// Returns which states read the same, as a number for each.
    pub(super) fn pattern(&self) -> &[u32] {
        &self.of
    }
}

impl Index<usize> for Row {
    type Output = Cell;
    fn index(&self, state: usize) -> &Cell {
        &self.distinct[self.of[state] as usize]
    }
}

impl FromIterator<Cell> for Row {
    fn from_iter<I: IntoIterator<Item = Cell>>(cells: I) -> Self {
        let mut row = Self::default();
        cells.into_iter().for_each(|cell| row.push(cell));
        row.plain = at_a_glance(&row.distinct);
        row
    }
}

/// Returns numbers of readings, the same for those with no clear gap between them.
fn at_a_glance(cells: &[Cell]) -> Vec<u32> {
    let mut order: Vec<usize> = (0..cells.len()).collect();
    order.sort_by(|&a, &b| cells[a].scaled().total_cmp(&cells[b].scaled()));
    let mut numbers = vec![0; cells.len()];
    for two in order.windows(2) {
        let apart = cells[two[1]].scaled() - cells[two[0]].scaled() > CLEAR;
        numbers[two[1]] = numbers[two[0]] + u32::from(apart);
    }
    numbers
}

fn alike(one: &Cell, other: &Cell) -> bool {
    let scale = one.reads.unwrap_or(0.0).abs();
    let near = |a: f64, b: f64| (a - b).abs() <= ROUNDING * scale.max(a.abs());
    let size = |curve: Option<SizeCurve>| curve.map(|curve| [curve.at(-1.0), curve.at(0.0), curve.at(1.0)]);
    let as_large = match (size(one.size), size(other.size)) {
        (Some(a), Some(b)) => a.iter().zip(&b).all(|(a, b)| near(a.0, b.0) && near(a.1, b.1)),
        (None, None) => true,
        _ => false,
    };
    let reads = match (one.reads, other.reads) {
        (Some(a), Some(b)) => near(a, b),
        (None, None) => true,
        _ => false,
    };
    one.dial == other.dial
        && reads
        && as_large
        && near(one.noise, other.noise)
        && one.gradient.len() == other.gradient.len()
        && one.gradient.iter().zip(&other.gradient).all(|(a, b)| near(*a, *b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readings::Dial;

    fn cell(ohms: f64) -> Cell {
        Cell { reads: Some(ohms), gradient: vec![ohms], ..Cell::over_range(Dial::Ohms) }
    }

    #[test]
    fn equal_readings_are_kept_once_and_every_state_keeps_its_own() {
        let reads = [7e3, 7e3 * (1.0 + 1e-12), 7.1e3, 7e3];
        let row: Row = reads.into_iter().map(cell).collect();
        assert_eq!(row.distinct.len(), 2);
        assert!(row.same(0, 1) && row.same(0, 3) && !row.same(0, 2));
        for (found, reads) in row.iter().zip(reads) {
            assert!((found.reads.unwrap() / reads - 1.0).abs() < ROUNDING);
        }
        assert_eq!((row[2].reads, row.len()), (Some(7.1e3), 4));
    }

    #[test]
    fn what_reads_over_range_is_like_nothing_else() {
        let row: Row =
            [cell(1.0), Cell::over_range(Dial::Ohms), Cell::over_range(Dial::Farads)].into_iter().collect();
        assert_eq!(row.distinct.len(), 3);
    }
}
