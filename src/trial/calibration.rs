//! Whether a probability means what it says: of all that is announced with 70 %, seven in ten are true.

use serde::Serialize;

const TENTHS: usize = 10;

/// What was announced in one tenth of the probabilities.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Bin {
    count: usize,
    announced: f64,
    held: usize,
    weight: f64,
    weight_held: f64,
}

/// Announced probabilities against what was true, in tenths.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Calibration {
    bins: [Bin; TENTHS],
}

/// One tenth of the probabilities as it is told.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Decile {
    /// Its lower end, which belongs to it.
    pub from: f64,
    /// Its upper end, which belongs to the next one; that of the last belongs to the last.
    pub to: f64,
    /// How many probabilities were announced in it.
    pub count: usize,
    /// Their mean.
    pub announced: Option<f64>,
    /// The share of them that was true.
    pub held: Option<f64>,
    /// The share that was true when every instrument counts as often as its fault is met.
    pub held_by_prior: Option<f64>,
}

impl Calibration {
    /// Adds an announced probability, whether it held, and how often such an instrument is met.
    pub fn add(&mut self, probability: f64, held: bool, weight: f64) {
        let tenth = (probability * TENTHS as f64).floor().max(0.0) as usize;
        let bin = &mut self.bins[tenth.min(TENTHS - 1)];
        bin.count += 1;
        bin.announced += probability;
        bin.held += usize::from(held);
        bin.weight += weight;
        bin.weight_held += if held { weight } else { 0.0 };
    }

    /// Adds everything that another one holds.
    pub fn merge(&mut self, other: &Self) {
        for (bin, more) in self.bins.iter_mut().zip(&other.bins) {
            bin.count += more.count;
            bin.announced += more.announced;
            bin.held += more.held;
            bin.weight += more.weight;
            bin.weight_held += more.weight_held;
        }
    }

    /// Returns the tenths, the lowest first.
    pub fn deciles(&self) -> Vec<Decile> {
        self.bins.iter().enumerate().map(|(tenth, bin)| bin.told(tenth)).collect()
    }
}

impl Bin {
    fn told(&self, tenth: usize) -> Decile {
        let share = |part: f64, whole: f64| (whole > 0.0).then(|| part / whole);
        Decile {
            from: tenth as f64 / TENTHS as f64,
            to: (tenth + 1) as f64 / TENTHS as f64,
            count: self.count,
            announced: share(self.announced, self.count as f64),
            held: share(self.held as f64, self.count as f64),
            held_by_prior: share(self.weight_held, self.weight),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand. Tenth 0.9 to 1: 0.95 true with weight 3, 0.91 false with weight 1, 1.0 true with weight 4:
    // announced (0.95 + 0.91 + 1.0) / 3 = 0.953333, held 2/3, by prior 7/8. Tenth 0.2 to 0.3: 0.2 false.
    #[test]
    fn a_worked_example() {
        let mut all = Calibration::default();
        let mut more = Calibration::default();
        all.add(0.95, true, 3.0);
        all.add(0.91, false, 1.0);
        all.add(0.2, false, 5.0);
        more.add(1.0, true, 4.0);
        all.merge(&more);
        let deciles = all.deciles();
        let counts: Vec<usize> = deciles.iter().map(|decile| decile.count).collect();
        assert_eq!(counts, [0, 0, 1, 0, 0, 0, 0, 0, 0, 3]);
        let last = deciles[9];
        let close = |found: Option<f64>, expected: f64| (found.unwrap() - expected).abs() < 1e-6;
        assert!(close(last.announced, 0.953_333_3) && close(last.held, 2.0 / 3.0), "{last:?}");
        assert!(close(last.held_by_prior, 0.875), "{last:?}");
        assert_eq!((deciles[2].announced, deciles[2].held), (Some(0.2), Some(0.0)));
        assert_eq!((deciles[0].announced, deciles[0].held_by_prior), (None, None));
        assert_eq!((deciles[2].from, deciles[2].to), (0.2, 0.3));
    }
}
