//! The four quantities a meter shows, and the scale on which readings of each are compared.

use serde::{Deserialize, Serialize};

use super::Mode;

/// What the number on the display is a number of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Dial {
    /// Ohms.
    #[default]
    Ohms,
    /// Farads.
    Farads,
    /// Volts.
    Volts,
    /// Amperes.
    Amps,
}

impl Dial {
    /// Returns whether it is ohms, which is what a job file means when it does not say.
    pub fn is_ohms(&self) -> bool {
        *self == Self::Ohms
    }

    /// The end of every scale: 40 MΩ, or 40 µF.
    pub const END: f64 = 13.6;

    /// Returns the unit's symbol.
    pub const fn unit(self) -> &'static str {
        ["Ω", "F", "V", "A"][self as usize]
    }

    /// Returns up to where the scale is even; beyond it is logarithmic. In ohms contacts and end stops matter
    /// more than percentages below it; in the others it is about what a meter cannot tell from nothing.
    fn knee(self) -> f64 {
        [50.0, 50e-12, 0.05, 1e-6][self as usize]
    }

    /// Returns where nothing lies on the scale: volts have two signs.
    fn middle(self) -> f64 {
        if self == Self::Volts { Self::END / 2.0 } else { 0.0 }
    }

    /// Returns a value on the scale, ln(1 + |value|/knee) from the point of nothing.
    pub fn scale(self, value: f64) -> f64 {
        let away = (value.abs() / self.knee()).ln_1p();
        let away = if self == Self::Volts {
            away.copysign(value)
        } else if value < 0.0 {
            0.0
        } else {
            away
        };
        (self.middle() + away).clamp(0.0, Self::END)
    }

    /// Returns the value at a point of the scale.
    pub fn unscaled(self, scaled: f64) -> f64 {
        let away = scaled - self.middle();
        let away = if self == Self::Volts { away } else { away.max(0.0) };
        (away.abs().exp_m1() * self.knee()).copysign(away)
    }

    /// Returns d(scale)/d(value) at a value.
    pub fn per_unit(self, value: f64) -> f64 {
        let value = if self == Self::Volts { value.abs() } else { value.max(0.0) };
        1.0 / (value + self.knee())
    }
}

impl Mode {
    /// Returns what a meter shows in this mode.
    pub fn dial(self) -> Dial {
        match self {
            Self::Capacitance => Dial::Farads,
            Self::Volts => Dial::Volts,
            Self::Current => Dial::Amps,
            _ => Dial::Ohms,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Dial;
    use rstest::rstest;

    #[rstest]
    #[case(Dial::Ohms, &[0.0, 0.3, 50.0, 7.6e3, 3e7])]
    #[case(Dial::Farads, &[0.0, 60e-12, 22e-9, 2.2e-6])]
    #[case(Dial::Volts, &[-9.0, -0.01, 0.0, 0.2, 9.4])]
    #[case(Dial::Amps, &[0.0, 5e-7, 5e-4, 0.02])]
    fn a_value_goes_to_the_scale_and_back(#[case] dial: Dial, #[case] values: &[f64]) {
        for &value in values {
            let back = dial.unscaled(dial.scale(value));
            assert!((back - value).abs() <= 1e-9 * value.abs() + 1e-15, "{value} {back}");
            let step = 1e-4 * (value.abs() + 1e-3 * dial.knee());
            let slope = (dial.scale(value + step) - dial.scale(value)) / step;
            assert!((slope / dial.per_unit(value) - 1.0).abs() < 1e-3, "{value}");
        }
    }
}
