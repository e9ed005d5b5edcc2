//! The order in which the steps of a tree come, and what is answered to its questions.

use super::sample::Sample;
use crate::trees::{Answer, Step, Then, Tree};

/// How often a sound instrument is acquitted by another cable and amplifier (common practice, no source).
const ACQUITTED: f64 = 0.9;

/// Returns the steps of a tree, each behind all that lead to it (Kahn 1962, from memory): no tree leads back to a step.
pub(super) fn in_order(tree: &Tree) -> Vec<usize> {
    let mut leading = vec![0_usize; tree.steps.len()];
    tree.steps.iter().flat_map(next).for_each(|step| leading[step] += 1);
    let mut order: Vec<usize> = (0..leading.len()).filter(|step| leading[*step] == 0).collect();
    let mut at = 0;
    while let Some(&step) = order.get(at) {
        at += 1;
        for next in next(&tree.steps[step]) {
            leading[next] -= 1;
            if leading[next] == 0 {
                order.push(next);
            }
        }
    }
    order
}

fn next(step: &Step) -> impl Iterator<Item = usize> {
    step.ways().filter_map(|then| match then {
        Then::Step(next) => Some(*next),
        _ => None,
    })
}

/// Returns the number of the answer that each instrument gets.
///
/// Only the answers that acquit the instrument are known to the circuit: they are given when it is the cable or the
/// amplifier, nine times out of ten, and never otherwise. The rest are as likely as each other.
pub(super) fn answered(
    sample: &Sample<'_>,
    answers: &[Answer],
    seed: u64,
    instruments: &[usize],
) -> Vec<usize> {
    let acquits = |answer: &usize| answers[*answer].then == Then::NotTheInstrument;
    let (acquitting, others): (Vec<usize>, Vec<usize>) = (0..answers.len()).partition(acquits);
    let answer = |instrument: &usize| {
        let acquitted = sample.subject(*instrument).outside && sample.evenly(seed, *instrument) < ACQUITTED;
        let wanted = if acquitted { &acquitting } else { &others };
        let among = if wanted.is_empty() { if acquitted { &others } else { &acquitting } } else { wanted };
        evenly(among, sample.evenly(seed ^ (1 << 32), *instrument))
    };
    instruments.iter().map(answer).collect()
}

/// Returns the one of some numbers that is so far along them.
fn evenly(among: &[usize], share: f64) -> usize {
    let at = (share * among.len() as f64) as usize;
    among.get(at).or(among.last()).copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Source;
    use crate::trees::load;

    #[test]
    fn a_share_picks_one_of_some() {
        let picked: Vec<usize> = [0.0, 0.3, 0.5, 0.99, 1.0].map(|share| evenly(&[4, 7], share)).to_vec();
        assert_eq!(picked, [4, 4, 7, 7, 7]);
    }

    // "last" is led to from both others and stands first in the file.
    #[test]
    fn a_step_comes_behind_all_that_lead_to_it() {
        let step = |name: &str, one: &str, other: &str| {
            format!(
                "(name: \"{name}\", say: \"s\", why: \"w\", ask: Look([(answer: \"a\", means: \"m\", then: {one}), (answer: \"b\", means: \"m\", then: {other})])),"
            )
        };
        let steps = [
            step("last", "Advisor", "Advisor"),
            step("first", "Step(\"last\")", "Step(\"middle\")"),
            step("middle", "Step(\"last\")", "Advisor"),
        ];
        let text = format!(
            "(format: 1, name: \"t\", title: \"t\", complaint: Hum, start: \"first\", steps: [{}])",
            steps.concat()
        );
        assert_eq!(in_order(&load(&Source::new("t.ron", text)).unwrap()), [1, 2, 0]);
    }
}
