//! The order of the checks: knobs, switches and covers are touched as seldom as possible.

use super::bits::Bits;
use super::shows::Sight;
use crate::advisor::{Stand, places, seconds as taken};
use crate::circuit::PlaceId;
use crate::prediction::Model;
use crate::readings::{Measurement, Setting};

/// How many other measurements are tried in the place of each check.
const TRIED: usize = 30;
/// How often the list is gone through for something better.
const ROUNDS: usize = 4;

/// Returns the seconds of a measurement by itself, from knobs at 10 with everything open.
pub fn alone(model: &Model, measurement: &Measurement) -> f64 {
    let opened = (0..model.harness.places.len()).map(PlaceId).collect();
    taken(&model.harness, measurement, &Stand { opened, ..start(model) })
}

/// Returns the seconds of measurements one after the other, from knobs at 10 and everything closed.
pub fn seconds(model: &Model, list: &[&Measurement]) -> f64 {
    let mut stand = start(model);
    list.iter().map(|measurement| step(model, measurement, &mut stand)).sum()
}

fn start(model: &Model) -> Stand {
    Stand { setting: Setting::reference(&model.harness), ..Stand::default() }
}

fn step(model: &Model, measurement: &Measurement, stand: &mut Stand) -> f64 {
    let cost = taken(&model.harness, measurement, stand);
    stand.opened.extend(places(&model.harness, measurement));
    stand.setting = measurement.setting.clone();
    stand.probes = Some((measurement.red.clone(), measurement.black.clone()));
    cost
}

/// Returns the chosen measurements in a quick order, each exchanged for another that shows as much where that
/// makes the whole list quicker.
pub fn settled(model: &Model, sights: &[&Sight], costs: &[f64], chosen: Vec<usize>) -> Vec<usize> {
    let cost =
        |list: &[usize]| seconds(model, &list.iter().map(|&at| &sights[at].measurement).collect::<Vec<_>>());
    let mut best = ordered(model, sights, chosen);
    for _ in 0..ROUNDS {
        let before = cost(&best);
        for place in 0..best.len() {
            for other in stand_ins(sights, costs, &best, place) {
                let mut tried = best.clone();
                tried[place] = other;
                best = if cost(&tried) < cost(&best) { tried } else { best };
            }
        }
        let sorted = ordered(model, sights, best.clone());
        best = if cost(&sorted) < cost(&best) { sorted } else { best };
        best = moved(&cost, best);
        if cost(&best) >= before {
            break;
        }
    }
    best
}

/// Returns the cheapest measurements that show all that only the one at this place shows.
fn stand_ins(sights: &[&Sight], costs: &[f64], list: &[usize], place: usize) -> Vec<usize> {
    let mine = sights[list[place]].by_ohms.clone();
    let others = list.iter().enumerate().filter(|(at, _)| *at != place);
    let needed: Bits = others.fold(mine, |left, (_, &other)| left.without(&sights[other].by_ohms));
    let mut fit: Vec<usize> = (0..sights.len()).filter(|&at| needed.within(&sights[at].by_ohms)).collect();
    fit.sort_by(|&a, &b| costs[a].total_cmp(&costs[b]).then(a.cmp(&b)));
    fit.truncate(TRIED);
    fit
}

/// Takes the quickest of the measurements that are left, again and again.
fn ordered(model: &Model, sights: &[&Sight], mut left: Vec<usize>) -> Vec<usize> {
    let mut stand = start(model);
    let mut order = Vec::new();
    while !left.is_empty() {
        let cost = |at: &usize| taken(&model.harness, &sights[*at].measurement, &stand);
        let quickest = left.iter().copied().min_by(|a, b| cost(a).total_cmp(&cost(b)).then(a.cmp(b)));
        let Some(next) = quickest else { break };
        left.retain(|&other| other != next);
        step(model, &sights[next].measurement, &mut stand);
        order.push(next);
    }
    order
}

/// Moves single measurements to wherever they make the list quicker.
fn moved(cost: &dyn Fn(&[usize]) -> f64, mut list: Vec<usize>) -> Vec<usize> {
    for from in 0..list.len() {
        for to in 0..list.len() {
            let mut tried = list.clone();
            let taken = tried.remove(from);
            tried.insert(to, taken);
            if cost(&tried) < cost(&list) {
                list = tried;
            }
        }
    }
    list
}
