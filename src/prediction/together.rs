//! How the sources of one instrument add up, which all sense the same strings in different places.

use nalgebra::Complex;

use crate::units::Hertz;

/// Up to about here two sources move in step, in hertz.
const IN_STEP: f64 = 800.0;

/// Returns how far two sources agree at a frequency, 1 in step and 0 in any phase.
///
/// A string passes its waves on at 2·L·f₀, with the usual scale of 648 mm at 107 m/s to 427 m/s, so two places that are
/// 20 mm (the coils of one pickup) to 80 mm (two pickups) apart differ in phase by 2π·f·d/c. The mean cosine over such
/// strings and places falls off about as this bell does (ideal string; one bell for all: common practice, no source).
pub fn agreement(hertz: Hertz) -> f64 {
    (-(hertz.get() / IN_STEP).powi(2)).exp()
}

/// Returns the level that sources make together: as volts where they agree, as powers where they do not.
///
/// So two coils against each other lose their body and keep their treble.
pub fn together(hertz: Hertz, volts: &[Complex<f64>]) -> f64 {
    let in_step = volts.iter().sum::<Complex<f64>>().norm_sqr();
    let apart: f64 = volts.iter().map(Complex::norm_sqr).sum();
    let agreement = agreement(hertz);
    (agreement * in_step + (1.0 - agreement) * apart).sqrt()
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;
    use rstest::rstest;

    /// The six strings of the usual tuning, A4 at 440 Hz in equal temperament (ISO 16), in hertz.
    const STRINGS: [f64; 6] = [82.407, 110.0, 146.832, 195.998, 246.942, 329.628];
    const SCALE: f64 = 0.648;

    /// The mean of cos(2π·f·d/c), c = 2·L·f₀, over strings and 20 mm to 80 mm (ideal string, any textbook of acoustics).
    fn mean_cosine(hertz: f64) -> f64 {
        let places = (0..600).map(|step| 0.02 + 0.06 * (f64::from(step) + 0.5) / 600.0);
        let all = places.flat_map(|d| STRINGS.map(|f0| (TAU * hertz * d / (2.0 * SCALE * f0)).cos()));
        all.sum::<f64>() / 3600.0
    }

    #[rstest]
    #[case(82.4)]
    #[case(150.0)]
    #[case(250.0)]
    #[case(400.0)]
    #[case(600.0)]
    fn the_bell_is_that_of_ideal_strings(#[case] hertz: f64) {
        let (bell, strings) = (agreement(Hertz::new(hertz)), mean_cosine(hertz));
        assert!((bell - strings).abs() < 0.1, "{hertz} Hz: {bell}, {strings}");
    }

    // In step amplitudes add, out of step powers: the two ends that any textbook of acoustics gives.
    #[test]
    fn two_equal_sources_add_up_to_twice_or_to_the_root_of_two() {
        let one = Complex::new(1.0, 0.0);
        let (low, high) = (Hertz::new(1.0), Hertz::new(20_000.0));
        assert!((together(low, &[one, one]) - 2.0).abs() < 1e-5);
        assert!((together(high, &[one, one]) - 2f64.sqrt()).abs() < 1e-9);
        assert!(together(low, &[one, -one]) < 2e-3);
        assert!((together(high, &[one, -one]) - 2f64.sqrt()).abs() < 1e-9);
        assert!((together(low, &[Complex::new(0.0, 0.5)]) - 0.5).abs() < 1e-12);
    }
}
