//! Chance without a clock: the same seeds give the same draws.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use rand_distr::StandardNormal;

use crate::readings::Measurement;

/// The fraction of the golden ratio: its multiples fill the unit span as evenly as can be.
const GOLDEN: f64 = 0.618_033_988_749_894_9;

/// Returns so many draws from the standard normal distribution, each of which is there with its negative when their
/// number is even: their mean is zero.
pub(super) fn normals(seed: u64, count: usize) -> Vec<f64> {
    let mut rng = StdRng::seed_from_u64(seed);
    let half: Vec<f64> = (0..count.div_ceil(2)).map(|_| rng.sample::<f64, _>(StandardNormal)).collect();
    half.iter().copied().chain(half.iter().map(|z| -z)).take(count).collect()
}

/// Returns a point between 0 and 1 for a draw; those of many draws lie evenly.
pub(super) fn even(seed: u64, draw: usize) -> f64 {
    const STEPS: f64 = (1_u64 << 53) as f64;
    let offset = (mixed(seed) >> 11) as f64 / STEPS;
    (offset + draw as f64 * GOLDEN).fract()
}

/// Returns a number that looks like chance and is always the same (the finaliser of splitmix64, from memory).
pub(super) fn mixed(seed: u64) -> u64 {
    let mut z = seed.wrapping_add(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// Returns the seed of a measurement: the same for one that reads the same.
pub(super) fn seed_of(measurement: &Measurement) -> u64 {
    let flex = measurement.flex.as_deref().unwrap_or_default();
    let named = [measurement.mode.name(), &measurement.red, &measurement.black, flex];
    let stands = measurement.setting.0.iter().map(|(name, stand)| format!("{name}={stand}"));
    let words = named.into_iter().chain(measurement.about.as_deref()).map(str::to_owned).chain(stands);
    words.fold(0, |seed, word| word.bytes().fold(mixed(seed), |seed, byte| mixed(seed ^ u64::from(byte))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_are_the_same_each_time_and_zero_on_average() {
        let draws = normals(7, 24);
        assert_eq!(draws, normals(7, 24));
        assert_ne!(draws, normals(8, 24));
        assert!(draws.iter().sum::<f64>().abs() < 1e-12 && draws.iter().any(|z| z.abs() > 0.1));
    }

    // Of n multiples of the golden ratio no share of the unit span is missed by more than a few n-ths.
    #[test]
    fn points_lie_evenly() {
        for seed in 0..50 {
            let below = (0..24).filter(|&draw| even(seed, draw) < 0.25).count();
            assert!((4..=8).contains(&below), "{seed}: {below}");
        }
    }
}
