//! The values that parts are sold in: the series of preferred numbers of IEC 60063.

/// A series of preferred numbers: so many steps to a decade, each step about the same ratio.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Series {
    /// Three values to a decade.
    E3,
    /// Six.
    E6,
    /// Twelve.
    E12,
    /// Twenty-four.
    E24,
    /// Forty-eight.
    E48,
    /// Ninety-six.
    E96,
    /// A hundred and ninety-two.
    E192,
}

/// The one series that is older than the rule behind the finer ones; the coarser ones are parts of it.
const E24: [u32; 24] =
    [10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91];

/// The one value of E192 that leaves the rule: 9.20 where it gives 9.19.
const ODD_ONE: (u32, u32) = (919, 920);

impl Series {
    /// Returns the series that parts of a tolerance are usually sold in: E3 from ±30 % on, E6 from ±20 %, E12 from
    /// ±10 %, E24 from ±5 %, E48 from ±2 %, E96 from ±1 %, and E192 for what is finer.
    pub fn for_tolerance(share: f64) -> Self {
        let usual = [
            (0.3, Self::E3),
            (0.2, Self::E6),
            (0.1, Self::E12),
            (0.05, Self::E24),
            (0.02, Self::E48),
            (0.01, Self::E96),
        ];
        usual.into_iter().find(|(tolerance, _)| share >= *tolerance).map_or(Self::E192, |(_, series)| series)
    }

    /// Returns how many values the series has in a decade.
    pub const fn steps(self) -> u32 {
        match self {
            Self::E3 => 3,
            Self::E6 => 6,
            Self::E12 => 12,
            Self::E24 => 24,
            Self::E48 => 48,
            Self::E96 => 96,
            Self::E192 => 192,
        }
    }

    /// Returns the values of one decade: from 10 with two figures up to E24, from 100 with three above it.
    pub fn decade(self) -> Vec<u32> {
        let steps = self.steps();
        if self <= Self::E24 {
            return E24.into_iter().step_by((24 / steps) as usize).collect();
        }
        let rule = |step: u32| (100.0 * libm::pow(10.0, f64::from(step) / f64::from(steps))).round() as u32;
        (0..steps).map(rule).map(|value| if value == ODD_ONE.0 { ODD_ONE.1 } else { value }).collect()
    }

    /// Returns the value of the series that is nearest to `value` by ratio; `None` unless it is above zero.
    pub fn nearest(self, value: f64) -> Option<f64> {
        nearest_in(&self.decade(), value)
    }
}

/// Returns the nearest value by ratio among figures that come back in every decade; `None` unless it is above zero.
///
/// The figures are given for one decade, all with equally many digits.
pub fn nearest_in(decade: &[u32], value: f64) -> Option<f64> {
    if !(value > 0.0 && value.is_finite()) {
        return None;
    }
    let power: i32 = format!("{value:e}").split_once('e')?.1.parse().ok()?;
    let digits: i32 = decade.first()?.checked_ilog10()?.try_into().ok()?;
    let number = |figures: u32, power: i32| format!("{figures}e{}", power - digits).parse::<f64>().ok();
    let next = number(*decade.first()?, power + 1);
    let ratio = |candidate: f64| (candidate / value).max(value / candidate);
    decade
        .iter()
        .filter_map(|&figures| number(figures, power))
        .chain(next)
        .min_by(|a, b| ratio(*a).total_cmp(&ratio(*b)))
}
