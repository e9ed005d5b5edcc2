//! What tests cost in seconds: the reading, the way to it, and what must be opened once.

/// What tests cost. A test is done at a position, such as one setting of the controls, and needs some places open.
#[derive(Clone, Debug, PartialEq)]
pub struct Costs {
    /// Seconds of each test by itself.
    pub reading: Vec<f64>,
    /// The position of each test; position 0 is where everything starts.
    pub position: Vec<usize>,
    /// Seconds from each position, row by row, to each position.
    pub moving: Vec<Vec<f64>>,
    /// The places that each test needs open, one bit each.
    pub places: Vec<u64>,
    /// Seconds to open each place; it stays open.
    pub opening: Vec<f64>,
}

/// Where things stand: what the next test's cost depends on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spot {
    /// The position of the last test.
    pub position: usize,
    /// The places that are open, one bit each.
    pub opened: u64,
}

impl Costs {
    /// Returns costs that depend on nothing but the test.
    pub fn constant(seconds: Vec<f64>) -> Self {
        let tests = seconds.len();
        let (position, places) = (vec![0; tests], vec![0; tests]);
        Self { reading: seconds, position, moving: vec![vec![0.0]], places, opening: Vec::new() }
    }

    /// Returns the seconds of a test from a spot.
    pub fn seconds(&self, spot: Spot, test: usize) -> f64 {
        let moving = self.moving[spot.position][self.position[test]];
        self.reading[test] + moving + self.opened_by(self.places[test] & !spot.opened)
    }

    /// Returns the spot after a test.
    pub fn after(&self, spot: Spot, test: usize) -> Spot {
        Spot { position: self.position[test], opened: spot.opened | self.places[test] }
    }

    /// Returns the seconds below which a test never is, wherever things stand.
    pub fn least(&self, test: usize) -> f64 {
        let way = self.moving.iter().map(|from| from[self.position[test]]).fold(f64::INFINITY, f64::min);
        self.reading[test] + way
    }

    fn opened_by(&self, places: u64) -> f64 {
        let opened = self.opening.iter().enumerate().filter(|(place, _)| places >> place & 1 == 1);
        opened.map(|(_, seconds)| seconds).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_opened_once_and_a_way_is_gone_each_time() {
        let costs = Costs {
            reading: vec![1.0, 1.0, 2.0],
            position: vec![0, 1, 1],
            moving: vec![vec![0.0, 5.0], vec![7.0, 0.0]],
            places: vec![0, 1, 1],
            opening: vec![100.0],
        };
        let start = Spot::default();
        assert_eq!([0, 1, 2].map(|test| costs.seconds(start, test)), [1.0, 106.0, 107.0]);
        let inside = costs.after(start, 1);
        assert_eq!([0, 1, 2].map(|test| costs.seconds(inside, test)), [8.0, 1.0, 2.0]);
        assert_eq!(costs.seconds(costs.after(inside, 0), 2), 7.0);
        assert_eq!([0, 1, 2].map(|test| costs.least(test)), [1.0, 1.0, 2.0]);
    }
}
