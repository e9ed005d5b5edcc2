//! The belief's arithmetic against published examples of model-based diagnosis.

use std::collections::BTreeSet;

use lugwise::advisor::conflicts::minimal_hitting_sets;
use lugwise::advisor::planning::{Costs, Deal, Table, greedy};
use lugwise::belief::Posterior;

fn close(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-5, "{found} is not {expected}");
}

/// A component, its two inputs, its output, and what it computes.
type Rule = (usize, [usize; 2], usize, fn(i64, i64) -> i64);

/// Values that can be derived from others when every component of a set works; three-valued propagation.
fn propagate(rules: &[Rule], broken: u32, known: &[(usize, i64)]) -> Option<Vec<Option<i64>>> {
    let mut values: Vec<Option<i64>> = vec![None; 16];
    for &(wire, value) in known {
        values[wire] = Some(value);
    }
    for _ in 0..16 {
        for &(component, [a, b], out, f) in rules {
            if broken & (1 << component) != 0 {
                continue;
            }
            if let (Some(a), Some(b)) = (values[a], values[b]) {
                let value = f(a, b);
                match values[out] {
                    Some(other) if other != value => return None,
                    _ => values[out] = Some(value),
                }
            }
        }
    }
    Some(values)
}

const A: usize = 0;
const B: usize = 1;
const C: usize = 2;
const D: usize = 3;
const E: usize = 4;
const X: usize = 5;
const Y: usize = 6;
const Z: usize = 7;
const F: usize = 8;
const G: usize = 9;

fn mul(a: i64, b: i64) -> i64 {
    a * b
}
fn add(a: i64, b: i64) -> i64 {
    a + b
}
fn sub(a: i64, b: i64) -> i64 {
    a - b
}

/// M1 x=a*c, M2 y=b*d, M3 z=c*e, A1 f=x+y, A2 g=y+z; the adders also run backwards.
const POLYBOX: [Rule; 9] = [
    (0, [A, C], X, mul),
    (1, [B, D], Y, mul),
    (2, [C, E], Z, mul),
    (3, [X, Y], F, add),
    (3, [F, Y], X, sub),
    (3, [F, X], Y, sub),
    (4, [Y, Z], G, add),
    (4, [G, Z], Y, sub),
    (4, [G, Y], Z, sub),
];
const INPUTS: [(usize, i64); 5] = [(A, 3), (B, 2), (C, 2), (D, 3), (E, 3)];

/// What each broken set makes known of each wire.
fn polybox_values(observed: &[(usize, i64)], broken: &[u32]) -> Vec<Vec<Option<i64>>> {
    let known: Vec<(usize, i64)> = INPUTS.iter().chain(observed).copied().collect();
    broken.iter().map(|&broken| propagate(&POLYBOX, broken, &known).unwrap()).collect()
}

/// The members of a set of bits.
fn members(set: u32) -> BTreeSet<usize> {
    (0..32).filter(|bit| set >> bit & 1 == 1).collect()
}

fn sets<const N: usize>(members: [&[usize]; N]) -> Vec<BTreeSet<usize>> {
    members.iter().map(|set| set.iter().copied().collect()).collect()
}

/// The smallest sets of components of which not all can be sound; `fits` says whether a broken set explains it all.
fn minimal_conflicts(components: u32, fits: impl Fn(u32) -> bool) -> Vec<BTreeSet<usize>> {
    let all = (1 << components) - 1;
    let conflicts: Vec<u32> = (0..=all).filter(|sound| !fits(all & !sound)).collect();
    let minimal = |set: &&u32| !conflicts.iter().any(|other| other != *set && other & **set == *other);
    conflicts.iter().filter(minimal).map(|&set| members(set)).collect()
}

/// A table with every wire as a test; a candidate that is silent about a wire gives each of its values alike.
fn measuring(weights: Vec<f64>, values: &[Vec<Option<i64>>]) -> Table {
    let deals = |wire: usize| -> Vec<Deal> {
        let seen: BTreeSet<i64> = values.iter().filter_map(|v| v[wire]).collect();
        let place = |value: i64| seen.iter().position(|v| *v == value).unwrap();
        let silent: Deal = (0..seen.len()).map(|at| (at, 1.0 / seen.len() as f64)).collect();
        values.iter().map(|v| v[wire].map_or(silent.clone(), |value| vec![(place(value), 1.0)])).collect()
    };
    let wires = values[0].len();
    let decisions = (0..weights.len()).collect();
    let tests = (0..wires).map(deals).collect();
    Table::new(weights, decisions, tests, Costs::constant(vec![1.0; wires]), 1.0)
}

/// The score of measuring a wire when a number of diagnoses are equally likely: the sum of c log2 c over its values,
/// which is that number times the bits that remain.
fn scores(values: &[Vec<Option<i64>>]) -> Vec<f64> {
    let count = values.len() as f64;
    let table = measuring(vec![1.0; values.len()], values);
    (0..values[0].len()).map(|wire| count * (count.log2() - table.bits(&table.start(), wire))).collect()
}

fn polybox(observed: &[(usize, i64)]) -> (Posterior, usize) {
    let prior =
        |broken: u32| 0.01f64.powi(broken.count_ones() as i32) * 0.99f64.powi(5 - broken.count_ones() as i32);
    let mut posterior = Posterior::new((0..32).map(prior));
    let known: Vec<(usize, i64)> = INPUTS.iter().chain(observed).copied().collect();
    let consistent = |broken: u32| f64::from(propagate(&POLYBOX, broken, &known).is_some());
    let likelihoods: Vec<f64> = (0..32).map(consistent).collect();
    posterior.update(&likelihoods);
    (posterior, likelihoods.iter().filter(|l| **l > 0.0).count())
}

fn marginal(posterior: &Posterior, component: usize) -> f64 {
    posterior
        .weights()
        .iter()
        .enumerate()
        .filter(|(set, _)| set & (1 << component) != 0)
        .map(|(_, w)| w)
        .sum()
}

// The polybox of de Kleer and Williams (1987): three multipliers, two adders. Structure from a public teaching
// implementation; candidates, entropies and marginals computed independently.
#[test]
fn the_polybox_with_one_wrong_output() {
    let (posterior, consistent) = polybox(&[(F, 10)]);
    assert_eq!(consistent, 28);
    let weights = posterior.weights();
    for double in [0b00011, 0b01001, 0b10001, 0b00101] {
        close(weights[double], 0.003_267);
    }
    for component in [0, 1, 3] {
        close(weights[1 << component], 0.323_422);
        close(marginal(&posterior, component), 0.336_69);
    }
    for component in [2, 4] {
        close(marginal(&posterior, component), 0.01);
    }
    close(posterior.entropy(), 1.827_83);
}

#[test]
fn the_polybox_with_one_wrong_and_one_right_output() {
    let (posterior, consistent) = polybox(&[(F, 10), (G, 12)]);
    assert_eq!(consistent, 27);
    let weights = posterior.weights();
    close(weights[1 << 0], 0.478_026);
    close(weights[1 << 3], 0.478_026);
    close(weights[(1 << 1) | (1 << 2)], 0.004_829);
    close(marginal(&posterior, 1), 0.019_61);
    close(marginal(&posterior, 2), 0.014_78);
    close(posterior.entropy(), 1.359_45);
}

/// The probability of each value of a wire; the last one is that nothing is known of it.
fn split(observed: &[(usize, i64)], wire: usize, values: &[i64]) -> Vec<f64> {
    let weights = polybox(observed).0.weights();
    let alive: Vec<u32> = (0..32).filter(|&set| weights[set as usize] > 0.0).collect();
    let of = polybox_values(observed, &alive);
    let share = |value: Option<i64>| {
        alive.iter().zip(&of).filter(|(_, v)| v[wire] == value).map(|(&set, _)| weights[set as usize]).sum()
    };
    values.iter().map(|v| Some(*v)).chain([None]).map(share).collect()
}

// As above: what each measurement is expected to show, computed independently.
#[test]
fn the_polybox_and_what_each_measurement_would_show() {
    let (one, both) = ([(F, 10)], [(F, 10), (G, 12)]);
    for (observed, wire, values, expected) in [
        (&one[..], X, &[6, 4][..], &[0.663_31, 0.329_99, 0.006_70][..]),
        (&one, Y, &[6, 4], &[0.663_31, 0.329_99, 0.006_70]),
        (&one, Z, &[6], &[0.99, 0.01]),
        (&both, X, &[6, 4], &[0.502_36, 0.492_56, 0.005_07]),
        (&both, Y, &[6, 4], &[0.990_1, 0.009_71]),
        (&both, Z, &[6, 8], &[0.994_93, 0.004_83]),
    ] {
        split(observed, wire, values).iter().zip(expected).for_each(|(found, e)| close(*found, *e));
    }
    let weights = polybox(&both).0.weights();
    let alive: Vec<u32> = (0..32).filter(|&set| weights[set as usize] > 0.0).collect();
    let table =
        measuring(alive.iter().map(|&set| weights[set as usize]).collect(), &polybox_values(&both, &alive));
    assert_eq!(greedy(&table, &table.start()), Some(X));
}

// The transcript of a public teaching implementation: conflicts, diagnoses and the score of measuring each wire.
#[test]
fn the_polybox_by_its_conflicts() {
    let (m1, m2, m3, a1, a2) = (0, 1, 2, 3, 4);
    let fits = |observed: &[(usize, i64)]| {
        let known: Vec<(usize, i64)> = INPUTS.iter().chain(observed).copied().collect();
        move |broken| propagate(&POLYBOX, broken, &known).is_some()
    };
    let first = minimal_conflicts(5, fits(&[(F, 10)]));
    assert_eq!(first, sets([&[a1, m1, m2]]));
    assert_eq!(minimal_hitting_sets(&first, 5), sets([&[m1], &[m2], &[a1]]));
    let second = minimal_conflicts(5, fits(&[(F, 10), (G, 12)]));
    assert_eq!(second, sets([&[a1, m1, m2], &[a1, a2, m1, m3]]));
    assert_eq!(minimal_hitting_sets(&second, 5), sets([&[m1], &[a1], &[m2, m3], &[m2, a2]]));
    assert_eq!(minimal_hitting_sets(&second, 1), sets([&[m1], &[a1]]));

    let after_one = scores(&polybox_values(&[(F, 10)], &[1 << a1, 1 << m2, 1 << m1]));
    for wire in [X, Y, G] {
        close(after_one[wire], 2.0);
    }
    for wire in [A, B, C, D, E, Z, F] {
        close(after_one[wire], 4.754_887_6);
    }
    let after_both = scores(&polybox_values(&[(F, 10), (G, 12)], &[1 << a1, 1 << m1]));
    close(after_both[X], 0.0);
    for wire in [A, B, C, D, E, Y, Z, F, G] {
        close(after_both[wire], 2.0);
    }
}

// The seven sets of Reiter (1987) and the trap for pruning of Greiner, Smith and Wilkerson (1989), both from memory;
// the answers by brute force.
#[test]
fn hitting_sets_do_not_depend_on_the_order_of_the_conflicts() {
    let reiter = sets([&[2, 4, 5], &[1, 2, 3], &[1, 3, 5], &[2, 4, 6], &[2, 4], &[2, 3, 5], &[1, 6]]);
    let answer = sets([&[1, 2], &[1, 3, 4], &[1, 4, 5], &[2, 3, 6], &[2, 5, 6], &[3, 4, 6]]);
    let (a, b, c, d) = (0, 1, 2, 3);
    let trap = sets([&[a, b], &[b, c], &[a, c], &[b, d], &[b]]);
    let mut tried = 0;
    for (family, answer) in [(reiter, answer), (trap, sets([&[a, b], &[b, c]]))] {
        in_every_order(&family, &mut Vec::new(), &mut |order| {
            tried += 1;
            assert_eq!(minimal_hitting_sets(order, 9), answer);
            let pairs: Vec<_> = answer.iter().filter(|set| set.len() <= 2).cloned().collect();
            assert_eq!(minimal_hitting_sets(order, 2), pairs);
        });
    }
    assert_eq!(tried, 5040 + 120);
}

fn in_every_order(
    left: &[BTreeSet<usize>],
    order: &mut Vec<BTreeSet<usize>>,
    check: &mut impl FnMut(&[BTreeSet<usize>]),
) {
    if left.is_empty() {
        check(order);
    }
    for at in 0..left.len() {
        let mut rest = left.to_vec();
        order.push(rest.remove(at));
        in_every_order(&rest, order, check);
        order.pop();
    }
}

/// The outputs of a two-bit ripple adder with all inputs 0 and some gates' outputs forced; five gates for each bit: two
/// exclusive ors, two ands, an or.
fn adder(broken: u32, forced: u32) -> Vec<i64> {
    let mut out = Vec::new();
    let mut carry = 0;
    for bit in 0..2 {
        let gate = |at: usize, right: i64| {
            if broken >> (5 * bit + at) & 1 == 1 { i64::from(forced >> (5 * bit + at) & 1) } else { right }
        };
        let half = gate(0, 0);
        let (sum, and) = (gate(1, half ^ carry), gate(2, 0));
        let through = gate(3, half & carry);
        carry = gate(4, and | through);
        out.extend([half, sum, and, through, carry]);
    }
    out
}

// The transcript of the same teaching implementation: the sum's second bit is 1 where it should be 0.
#[test]
fn the_two_bit_adder_is_best_measured_between_its_bits() {
    const SUM: usize = 6;
    let worlds = |gate: usize| -> Vec<Vec<i64>> {
        let outputs = [0, u32::MAX].map(|forced| adder(1 << gate, forced));
        outputs.into_iter().filter(|out| out[SUM] == 1).collect()
    };
    let diagnoses: Vec<usize> = (0..10).filter(|&gate| !worlds(gate).is_empty()).collect();
    let (first_and, second_and, ripple, second_half) = (2, 3, 4, 5);
    assert_eq!(diagnoses, [first_and, second_and, ripple, second_half, SUM]);
    let known = |gate: usize| -> Vec<Option<i64>> {
        let worlds = worlds(gate);
        let same = |wire: usize| worlds.iter().all(|world| world[wire] == worlds[0][wire]);
        (0..10).map(|wire| same(wire).then(|| worlds[0][wire])).collect()
    };
    let scores = scores(&diagnoses.iter().map(|&gate| known(gate)).collect::<Vec<_>>());
    for (wire, score) in scores.into_iter().enumerate() {
        let expected = match wire {
            w if w == ripple => 6.754_887_6,
            w if [first_and, second_and, second_half].contains(&w) => 8.0,
            _ => 11.609_64,
        };
        close(score, expected);
    }
}

// Reiter's full adder (1987): in1=1, in2=0, carry in=1, observed sum=1, carry=0. The minimal diagnoses are {X1},
// {X2,A2} and {X2,O1}. A broken gate may put out anything: the likelihood is the share of its outputs that fit.
#[test]
fn the_full_adder_has_its_three_minimal_diagnoses() {
    let consistent = |broken: u32| {
        let outputs = |gate: usize, right: bool| {
            if broken & (1 << gate) == 0 { vec![right] } else { vec![false, true] }
        };
        let (in1, in2, carry) = (true, false, true);
        outputs(0, in1 ^ in2).into_iter().any(|x1| {
            let sum = outputs(1, x1 ^ carry).contains(&true);
            let both = outputs(2, in1 && in2).into_iter().any(|a1| {
                outputs(3, carry && x1).into_iter().any(|a2| outputs(4, a1 || a2).contains(&false))
            });
            sum && both
        })
    };
    let mut posterior = Posterior::new((0..32u32).map(|set| 0.001f64.powi(set.count_ones() as i32)));
    posterior.update(&(0..32).map(|set| f64::from(consistent(set))).collect::<Vec<_>>());
    let alive: Vec<u32> = (0..32u32).filter(|&set| posterior.weights()[set as usize] > 0.0).collect();
    let minimal: Vec<u32> = alive
        .iter()
        .copied()
        .filter(|&set| !alive.iter().any(|&other| other != set && other & set == other))
        .collect();
    let (x1, x2, a2, o1) = (1, 2, 8, 16);
    assert_eq!(minimal, vec![x1, x2 | a2, x2 | o1]);
    let conflicts = minimal_conflicts(5, consistent);
    assert_eq!(conflicts, [x1 | x2, x1 | a2 | o1].map(members));
    assert_eq!(minimal_hitting_sets(&conflicts, 5), [x1, x2 | a2, x2 | o1].map(members));
    assert!(posterior.weights()[x1 as usize] > 0.99);
}
