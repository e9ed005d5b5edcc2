//! In which order to look at the suspects and mend them, and whether a test first is worth its time.

/// One thing that may be the one at fault.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Suspect {
    /// The probability that it is; those of all suspects add up to one.
    pub chance: f64,
    /// The cost of looking at it, or of mending it on suspicion, in any unit.
    pub look: f64,
    /// The further cost when it is the one.
    pub mend: f64,
}

/// Returns the order with the least expected cost when one of them is right: chance per cost of looking (Kadane and
/// Simon's rule).
pub fn best_order(suspects: &[Suspect]) -> Vec<usize> {
    let rate = |index: usize| suspects[index].chance / suspects[index].look;
    let mut order: Vec<usize> = (0..suspects.len()).collect();
    order.sort_by(|&a, &b| rate(b).total_cmp(&rate(a)).then(a.cmp(&b)));
    order
}

/// Returns the expected cost of going through the suspects in an order until the right one is mended.
pub fn expected_cost(suspects: &[Suspect], order: &[usize]) -> f64 {
    let mut left = 1.0;
    let mut cost = 0.0;
    for suspect in order.iter().map(|&index| suspects[index]) {
        cost += suspect.look * left + suspect.mend * suspect.chance;
        left -= suspect.chance;
    }
    cost
}

/// Returns the expected cost when a test that never errs comes first and the best order follows; `outcome` is what
/// the test shows for each suspect.
///
/// The test is worth what this is less than the cost of the best order without it.
pub fn expected_cost_after_test(suspects: &[Suspect], test: f64, outcome: &[usize]) -> f64 {
    let shown = |at: usize| suspects.iter().zip(outcome).filter(move |(_, o)| **o == at).map(|(s, _)| *s);
    let outcomes = outcome.iter().max().map_or(0, |most| most + 1);
    test + (0..outcomes).map(|at| branch(&shown(at).collect::<Vec<_>>())).sum::<f64>()
}

/// Returns the expected cost of the best order among some of the suspects, times their probability.
fn branch(suspects: &[Suspect]) -> f64 {
    let mass: f64 = suspects.iter().map(|suspect| suspect.chance).sum();
    let given: Vec<Suspect> =
        suspects.iter().map(|suspect| Suspect { chance: suspect.chance / mass, ..*suspect }).collect();
    if given.is_empty() { 0.0 } else { mass * expected_cost(&given, &best_order(&given)) }
}
