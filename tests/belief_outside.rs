//! The belief's arithmetic against published examples of model-based diagnosis.

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
    assert!(posterior.weights()[x1 as usize] > 0.99);
}
