//! The outcomes of a step: the spans in which the suspects that are left read, and how likely each is under each.

use std::ops::Range;

use super::GrowError;
use crate::belief::outcomes::{Dealt, OVER, WIDTH, deal};
use crate::belief::{Belief, SLIP};
use crate::prediction::{Behaviour, Candidate, Candidates, Hypothesis, Row};
use crate::readings::{Dial, Measurement, Said};
use crate::trees::{Expected, When};
use crate::workbench::Engine;

/// A step has so many spans at most.
const MOST_SPANS: usize = 5;
/// A hypothesis below this probability leaves no mark on the scale.
const NOTICEABLE: f64 = 0.002;
/// What lies below this on the scale counts as nothing: the first that keeps the spans apart is taken.
const QUIET: [f64; 4] = [1e-4, 4e-4, 1.6e-3, 6.4e-3];
/// A quieter scale is not left for one that tells so little more, in bits.
const LITTLE_MORE: f64 = 0.03;
/// Two neighbouring spans that tell less than this apart lead to the same decisions, in bits.
const THE_SAME: f64 = 0.002;
/// An outcome that is met less often than this is not written down.
const SELDOM: f64 = 0.002;
/// How far beyond the outermost readings a span goes, on the scale: about a third.
const MARGIN: f64 = 0.3;
/// A span that begins no farther up the scale begins at nothing: about 5 ohms.
const NOTHING: f64 = 0.1;
/// How near the healthy value a tree takes for near it.
const NEAR: f64 = 0.2;

/// What an outcome takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Shows {
    /// Readings of the meter.
    Reads(When),
    /// An answer.
    Says(Said),
}

/// One outcome, with its probability under every hypothesis.
#[derive(Clone, Debug)]
pub(super) struct Cut {
    pub shows: Shows,
    pub likelihoods: Vec<f64>,
}

/// Returns the outcomes of a measurement that are worth a way on.
pub(super) fn cuts(
    engine: &Engine,
    askable: &Candidates,
    belief: &Belief,
    measurement: &Measurement,
) -> Result<Vec<Cut>, GrowError> {
    if let Some(question) = askable.questions.iter().find(|q| q.measurement == *measurement) {
        return Ok(answers(&question.chances));
    }
    let Some(candidate) = askable.list.iter().find(|c| c.measurement == *measurement) else {
        return Ok(Vec::new());
    };
    let scale = Scale::new(engine, askable, belief, candidate);
    let spans = scale.spans();
    let mut all: Vec<Cut> = scale.written(&spans, &engine.expected(measurement));
    let met = |cut: &Cut| scale.weights.iter().zip(&cut.likelihoods).map(|(w, l)| w * l).sum::<f64>();
    all.retain(|cut| met(cut) >= SELDOM);
    Ok(all)
}

fn answers(chances: &[f64]) -> Vec<Cut> {
    let no = chances.iter().map(|yes| 1.0 - yes).collect();
    vec![
        Cut { shows: Shows::Says(Said::Yes), likelihoods: chances.to_vec() },
        Cut { shows: Shows::Says(Said::No), likelihoods: no },
    ]
}

/// Returns what some outcomes tell about what to repair, in bits; whatever is none of them is one more.
pub(super) fn bits(engine: &Engine, belief: &Belief, cuts: &[Cut]) -> f64 {
    let weights = belief.weights();
    let of_decision = |likelihood: &dyn Fn(usize) -> f64| -> Vec<f64> {
        let share = |h: &usize| weights[*h] * likelihood(*h);
        engine.groups.decisions.iter().map(|members| members.iter().map(share).sum()).collect()
    };
    let mut columns: Vec<Vec<f64>> =
        cuts.iter().map(|cut| of_decision(&|h: usize| cut.likelihoods[h])).collect();
    let rest = |h: usize| (1.0 - cuts.iter().map(|cut| cut.likelihoods[h]).sum::<f64>()).max(0.0);
    columns.push(of_decision(&rest));
    let together = columns.iter().fold(vec![0.0; engine.groups.decisions.len()], |all, one| sum(&all, one));
    unknown(&together) - columns.iter().map(|column| unknown(column)).sum::<f64>()
}

fn sum(one: &[f64], other: &[f64]) -> Vec<f64> {
    one.iter().zip(other).map(|(a, b)| a + b).collect()
}

/// Returns the entropy of some shares times their sum.
fn unknown(shares: &[f64]) -> f64 {
    let plogp = |p: f64| if p > 0.0 { p * p.log2() } else { 0.0 };
    plogp(shares.iter().sum()) - shares.iter().copied().map(plogp).sum::<f64>()
}

/// What a measurement reads under everything that is believed, dealt out over the scale.
struct Scale<'a> {
    engine: &'a Engine,
    candidate: &'a Candidate,
    row: &'a Row,
    shows: &'a [f64],
    weights: Vec<f64>,
    /// What each different reading of the row is dealt out as.
    dealt: Vec<Dealt>,
    dial: Dial,
}

impl<'a> Scale<'a> {
    fn new(engine: &'a Engine, askable: &'a Candidates, belief: &Belief, candidate: &'a Candidate) -> Self {
        let row = &askable.rows[candidate.row];
        let states: Vec<usize> = (0..row.numbers()).map(|number| state_of(row, number)).collect();
        let estimate = belief.estimate(0);
        let dealt = states.into_iter().map(|state| deal(&row[state], estimate, engine.meter)).collect();
        let (shows, weights) = (&askable.shows[candidate.flexed], belief.weights());
        let dial = candidate.measurement.mode.dial();
        Self { engine, candidate, row, shows, weights, dealt, dial }
    }

    fn flexed(&self) -> bool {
        self.candidate.measurement.flex.is_some()
    }

    /// Returns how a hypothesis is dealt out: the numbers of what it reads with their chances, and that of a reading
    /// that moves.
    fn parts(&self, index: usize) -> ([(usize, f64); 2], f64) {
        let Hypothesis { behaviour, state, .. } = &self.engine.model.hypotheses.list[index];
        let (healthy, faulty) = (self.row.number(0), self.row.number(*state));
        if *behaviour == Behaviour::Steady {
            return ([(faulty, 1.0), (healthy, 0.0)], 0.0);
        }
        let shows = self.shows[index];
        match self.flexed() && healthy != faulty {
            true => ([(faulty, 0.0), (healthy, 1.0 - shows)], shows),
            false => ([(faulty, shows), (healthy, 1.0 - shows)], 0.0),
        }
    }

    fn listed(&self, index: usize) -> bool {
        self.engine.model.hypotheses.list[index].behaviour != Behaviour::Anything
    }

    /// Returns the mass of every decision at every point of the scale.
    fn masses(&self) -> Vec<Vec<f64>> {
        let mut masses = vec![vec![0.0; self.engine.groups.decisions.len()]; OVER];
        for index in (0..self.weights.len()).filter(|&h| self.weights[h] >= NOTICEABLE && self.listed(h)) {
            let decision = self.engine.groups.decision_of[index];
            for (number, chance) in self.parts(index).0 {
                let dealt = &self.dealt[number];
                for (at, share) in dealt.shares.iter().enumerate() {
                    masses[dealt.first + at][decision] += self.weights[index] * chance * share;
                }
            }
        }
        masses
    }

    /// Returns the spans of the scale that are worth telling apart, from the lowest.
    fn spans(&self) -> Vec<Range<usize>> {
        let masses = self.masses();
        let mut best: (f64, Vec<Range<usize>>) = (f64::NEG_INFINITY, Vec::new());
        for quiet in QUIET {
            let spans = joined(islands(&masses, quiet), &masses);
            let left: f64 = spans.iter().map(|span| unknown(&within(&masses, span))).sum();
            let lost: f64 = masses_outside(&masses, &spans);
            if -left - lost > best.0 + LITTLE_MORE {
                best = (-left - lost, spans);
            }
        }
        best.1
    }

    /// Returns the outcomes as a tree writes them.
    fn written(&self, spans: &[Range<usize>], expected: &Expected) -> Vec<Cut> {
        let edges = self.edges(spans);
        let mut takes: Vec<(When, Takes)> = Vec::new();
        for (span, &(low, high)) in spans.iter().zip(&edges) {
            if high.is_none_or(|high| low < high) {
                let near = self.is_healthy(span, (low, high), expected);
                let when = if near { When::NearHealthy } else { When::Number { low, high } };
                takes.push((when, Takes::Span(span.clone())));
            }
        }
        takes.push((When::OverRange, Takes::OverRange));
        if self.flexed() {
            takes.push((When::Unstable, Takes::Moving));
        }
        let each = SLIP / (takes.len() + 1) as f64;
        let cut = |(when, takes): &(When, Takes)| Cut {
            shows: Shows::Reads(*when),
            likelihoods: (0..self.weights.len()).map(|h| self.likelihood(h, takes, each)).collect(),
        };
        takes.iter().map(cut).collect()
    }

    /// Returns the probability of an outcome under a hypothesis; `each` is that of a slip that shows it.
    fn likelihood(&self, index: usize, takes: &Takes, each: f64) -> f64 {
        if !self.listed(index) {
            return each / SLIP;
        }
        let (parts, moving) = self.parts(index);
        let of = |(number, chance): (usize, f64)| chance * takes.share(&self.dealt[number]);
        let fits = match takes {
            Takes::Moving => moving,
            _ => parts.into_iter().map(of).sum(),
        };
        (1.0 - SLIP) * fits + each
    }

    /// Returns the values that spans begin and end with; no end when it is what the meter shows at most.
    fn edges(&self, spans: &[Range<usize>]) -> Vec<(f64, Option<f64>)> {
        let at = |bin: usize| bin as f64 * WIDTH;
        let ceiling = self.dial.scale(self.engine.meter.most(self.dial));
        let between = |low: f64, high: f64| rounded(self.dial, low, high);
        let nothing = self.dial.scale(0.0) + NOTHING;
        let edge = |index: usize| {
            let span = &spans[index];
            let low = match index.checked_sub(1).map(|before| &spans[before]) {
                Some(before) => between(at(before.end), at(span.start)),
                None if at(span.start) - MARGIN <= nothing => 0.0,
                None => between(at(span.start) - MARGIN, at(span.start)),
            };
            let high = match spans.get(index + 1) {
                Some(after) => Some(between(at(span.end), at(after.start))),
                None if at(span.end) + MARGIN >= ceiling => None,
                None => Some(between(at(span.end), at(span.end) + MARGIN)),
            };
            (low, high)
        };
        (0..spans.len()).map(edge).collect()
    }

    /// Returns whether a span is just what the healthy instrument reads, and leaves its neighbours alone.
    fn is_healthy(&self, span: &Range<usize>, (from, to): (f64, Option<f64>), expected: &Expected) -> bool {
        let Some((low, nominal, high)) = expected.healthy.filter(|(_, nominal, _)| *nominal > 0.0) else {
            return false;
        };
        let (low, high) = (low.min(nominal * (1.0 - NEAR)), high.max(nominal * (1.0 + NEAR)));
        let inside = from <= low && to.is_none_or(|to| high <= to);
        let scale = |value: f64| self.dial.scale(value);
        let (first, last) = ((span.start + 1) as f64 * WIDTH, (span.end.max(1) - 1) as f64 * WIDTH);
        inside && scale(low) <= first && last <= scale(high)
    }
}

/// Which part of what is dealt out an outcome takes.
enum Takes {
    Span(Range<usize>),
    OverRange,
    Moving,
}

impl Takes {
    fn share(&self, dealt: &Dealt) -> f64 {
        match self {
            Self::Span(span) => {
                let inside = |(at, _): &(usize, &f64)| span.contains(&(dealt.first + at));
                dealt.shares.iter().enumerate().filter(inside).map(|(_, share)| share).sum()
            }
            Self::OverRange => dealt.over,
            Self::Moving => 0.0,
        }
    }
}

fn state_of(row: &Row, number: usize) -> usize {
    (0..row.len()).find(|&state| row.number(state) == number).unwrap_or(0)
}

/// Returns the runs of the scale on which there is more than so little.
fn islands(masses: &[Vec<f64>], quiet: f64) -> Vec<Range<usize>> {
    let mut islands: Vec<Range<usize>> = Vec::new();
    for at in (0..masses.len()).filter(|&at| masses[at].iter().sum::<f64>() >= quiet) {
        match islands.last_mut() {
            Some(last) if last.end == at => last.end += 1,
            _ => islands.push(at..at + 1),
        }
    }
    islands
}

/// Joins neighbours that lead to the same decisions, and those that tell least apart while there are too many.
fn joined(mut spans: Vec<Range<usize>>, masses: &[Vec<f64>]) -> Vec<Range<usize>> {
    let mut inside: Vec<Vec<f64>> = spans.iter().map(|span| within(masses, span)).collect();
    let lost = |a: &[f64], b: &[f64]| unknown(&sum(a, b)) - unknown(a) - unknown(b);
    loop {
        let losses = inside.windows(2).map(|two| lost(&two[0], &two[1])).enumerate();
        let Some((at, loss)) = losses.min_by(|a, b| a.1.total_cmp(&b.1)) else { return spans };
        if spans.len() <= MOST_SPANS && loss > THE_SAME {
            return spans;
        }
        spans[at].end = spans.remove(at + 1).end;
        let next = inside.remove(at + 1);
        inside[at] = sum(&inside[at], &next);
    }
}

/// Returns the mass of every decision within a span.
fn within(masses: &[Vec<f64>], span: &Range<usize>) -> Vec<f64> {
    let decisions = masses.first().map_or(0, Vec::len);
    masses[span.clone()].iter().fold(vec![0.0; decisions], |all, one| sum(&all, one))
}

/// Returns what is unknown, in bits, for what lies in no span.
fn masses_outside(masses: &[Vec<f64>], spans: &[Range<usize>]) -> f64 {
    let decisions = masses.first().map_or(0, Vec::len);
    let outside = |at: &usize| !spans.iter().any(|span| span.contains(at));
    let left = (0..masses.len()).filter(outside).fold(vec![0.0; decisions], |all, at| sum(&all, &masses[at]));
    unknown(&left)
}

/// Returns the roundest value between two points of a scale: of two figures where one lies there, else of three.
fn rounded(dial: Dial, low: f64, high: f64) -> f64 {
    let [from, middle, to] = [low, (low + high) / 2.0, high].map(|u| dial.unscaled(u).max(0.0));
    let middle = if middle > 0.0 { middle } else { to / 2.0 };
    let near = |figures: i32| to_figures(middle, figures);
    [2, 3].map(near).into_iter().find(|value| (from..=to).contains(value)).unwrap_or_else(|| near(3))
}

fn to_figures(value: f64, figures: i32) -> f64 {
    if value <= 0.0 {
        return 0.0;
    }
    let digits = usize::try_from(figures - 1).unwrap_or(0);
    format!("{value:.digits$e}").parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    // By hand: three runs; the first two hold the same decision, the last another.
    #[test]
    fn runs_with_the_same_decision_are_one_span() {
        let mut masses = vec![vec![0.0, 0.0]; 10];
        (masses[1], masses[4], masses[8]) = (vec![0.3, 0.0], vec![0.3, 0.0], vec![0.0, 0.4]);
        let spans = islands(&masses, 1e-4);
        assert_eq!(spans, [1..2, 4..5, 8..9]);
        assert_eq!(joined(spans, &masses), [1..5, 8..9]);
    }

    #[test]
    fn no_more_spans_than_a_person_reads() {
        let decisions = 9;
        let mut masses = vec![vec![0.0; decisions]; 2 * decisions];
        (0..decisions).for_each(|at| masses[2 * at][at] = 1.0 / decisions as f64);
        let spans = joined(islands(&masses, 1e-4), &masses);
        assert_eq!((spans.len(), spans[0].start, spans[4].end), (MOST_SPANS, 0, 2 * decisions - 1));
    }

    // By hand: one bit is unknown of two equal halves of a quarter of all.
    #[test]
    fn what_is_unknown_counts_by_how_much_it_is() {
        assert!((unknown(&[0.125, 0.125]) - 0.25).abs() < 1e-12);
        assert_eq!(unknown(&[0.25, 0.0]), 0.0);
    }

    #[rstest]
    #[case(6100.0, 15_000.0, 9600.0)]
    #[case(10_050.0, 10_150.0, 10_100.0)]
    #[case(3.0, 300.0, 86.0)]
    fn edges_are_round(#[case] low: f64, #[case] high: f64, #[case] expected: f64) {
        let value = rounded(Dial::Ohms, Dial::Ohms.scale(low), Dial::Ohms.scale(high));
        assert!((low..=high).contains(&value), "{value}");
        assert!((value / expected - 1.0).abs() < 0.02, "{value}");
    }
}
