//! Lower bounds on how few sets can hold everything.

use super::bits::Bits;

/// Guards against a bound that is a whole number but for rounding.
const ROUNDING: f64 = 1e-6;

/// Returns a lower bound from shares: a thing is worth one over the size of the largest set that holds it, so no
/// set is worth more than one. `None` when some thing is in no set any more.
pub fn shares(sets: &[Bits], worth: &[usize], open: &Bits) -> Option<usize> {
    let share = |thing: usize| {
        let holding = sets.iter().zip(worth).filter(|(set, worth)| **worth > 0 && set.holds(thing));
        holding.map(|(_, worth)| *worth).max().map(|most| 1.0 / most as f64)
    };
    let total: Option<f64> = open.iter().map(share).sum();
    total.map(whole)
}

/// Returns a lower bound from prices on the things, improved step by step (Lagrangian relaxation, subgradient steps).
///
/// For any prices, the sum of all prices, less what sets are worth beyond one, is a lower bound. The prices of the
/// best bound come with it.
pub fn at_least(sets: &[Bits], size: usize, upper: usize) -> (usize, Vec<f64>) {
    const STEPS: usize = 400;
    let members: Vec<Vec<usize>> = sets.iter().map(|set| set.iter().collect()).collect();
    let mut prices = first_prices(&members, size);
    let (mut best, mut stale, mut pace) = ((0.0, prices.clone()), 0, 1.0);
    for _ in 0..STEPS {
        let (value, slope) = relaxed(&members, &prices);
        stale += 1;
        if value > best.0 + ROUNDING {
            (best, stale) = ((value, prices.clone()), 0);
        }
        let steep: f64 = slope.iter().map(|s| s * s).sum();
        if steep == 0.0 || whole(best.0) >= upper {
            break;
        }
        if stale == 15 {
            (stale, pace) = (0, pace / 2.0);
        }
        let step = pace * (upper as f64 - value).max(0.1) / steep;
        prices.iter_mut().zip(&slope).for_each(|(price, s)| *price = (*price + step * s).max(0.0));
    }
    (whole(best.0), best.1)
}

/// Returns the lower bound that given prices make for what is still open; sets without worth are gone.
pub fn priced(sets: &[Bits], worth: &[usize], open: &Bits, prices: &[f64]) -> usize {
    let price = |set: &Bits| open.both(set).iter().map(|thing| prices[thing]).sum::<f64>();
    let left = sets.iter().zip(worth).filter(|(_, worth)| **worth > 0);
    let beyond: f64 = left.map(|(set, _)| (price(set) - 1.0).max(0.0)).sum();
    whole(price(open) - beyond)
}

fn first_prices(members: &[Vec<usize>], size: usize) -> Vec<f64> {
    let mut most = vec![1_usize; size];
    for set in members {
        set.iter().for_each(|&thing| most[thing] = most[thing].max(set.len()));
    }
    most.into_iter().map(|most| 1.0 / most as f64).collect()
}

/// Returns the bound that prices give, and how it goes with each price.
fn relaxed(members: &[Vec<usize>], prices: &[f64]) -> (f64, Vec<f64>) {
    let mut slope = vec![1.0; prices.len()];
    let mut value: f64 = prices.iter().sum();
    for set in members {
        let beyond = set.iter().map(|&thing| prices[thing]).sum::<f64>() - 1.0;
        if beyond > 0.0 {
            value -= beyond;
            set.iter().for_each(|&thing| slope[thing] -= 1.0);
        }
    }
    (value, slope)
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small count")]
fn whole(bound: f64) -> usize {
    (bound - ROUNDING).ceil().max(0.0) as usize
}
