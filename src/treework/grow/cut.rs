//! The outcomes of a step: the spans in which the suspects that are left read, and how likely each is under each.

use std::ops::Range;

use super::GrowError;
use crate::belief::outcomes::{Dealt, OVER, WIDTH, deal};
use crate::belief::{Belief, SLIP};
use crate::prediction::{Behaviour, Candidate, Candidates, Hypothesis, Row};
use crate::readings::{Dial, Measurement, Mode, Said};
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
/// A span leaves out what reads below and above all but so little of its own.
const TAIL: f64 = 0.01;
/// A span is what a healthy instrument reads when so much of it is near that.
const HEALTHY: f64 = 0.95;
/// How far beyond its readings a span goes, on the scale: about a seventh.
const MARGIN: f64 = 0.15;
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
    let masses = scale.masses();
    let cores = scale.cores(&masses, &spans(&masses), &engine.expected(measurement));
    let mut all: Vec<Cut> = scale.written(&cores);
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

    /// Returns what spans are of: their probable readings, or those near the healthy value.
    fn cores(&self, masses: &[Vec<f64>], spans: &[Range<usize>], expected: &Expected) -> Vec<Core> {
        let mass: Vec<f64> = masses.iter().map(|of| of.iter().sum()).collect();
        let probable: Vec<Range<usize>> = spans.iter().map(|span| probable(&mass, span)).collect();
        let near = self.near(expected);
        let core = |index: usize| {
            let bins = &probable[index];
            let below = index.checked_sub(1).map_or(f64::NEG_INFINITY, |before| at(probable[before].end));
            let above = probable.get(index + 1).map_or(f64::INFINITY, |after| at(after.start));
            let alone = |near: &(f64, f64)| below + WIDTH <= near.0 && near.1 + WIDTH <= above;
            match near.filter(alone).filter(|near| is_within(&mass, &spans[index], *near)) {
                Some((from, to)) => Core { from, to, healthy: true },
                None => Core { from: at(bins.start), to: at(bins.end), healthy: false },
            }
        };
        (0..spans.len()).map(core).collect()
    }

    /// Returns what a tree takes for near the healthy value, on the scale; `None` where that is next to nothing.
    fn near(&self, expected: &Expected) -> Option<(f64, f64)> {
        let (low, nominal, high) = expected.healthy.filter(|(_, nominal, _)| *nominal > 0.0)?;
        let (low, high) = (low.min(nominal * (1.0 - NEAR)), high.max(nominal * (1.0 + NEAR)));
        let near = (self.dial.scale(low), self.dial.scale(high));
        Some(near).filter(|(from, to)| to - from >= 2.0 * WIDTH)
    }

    /// Returns the outcomes as a tree writes them.
    fn written(&self, cores: &[Core]) -> Vec<Cut> {
        let mut takes: Vec<(When, Takes)> = Vec::new();
        for (core, (low, high)) in cores.iter().zip(self.limits(cores)) {
            if core.healthy {
                takes.push((When::NearHealthy, Takes::Span(bin(core.from)..bin(core.to))));
            } else if high.is_none_or(|high| low < high) {
                let end = high.map_or(OVER, |high| bin(self.dial.scale(high)));
                let start = if low > 0.0 { bin(self.dial.scale(low)) } else { 0 };
                takes.push((When::Number { low, high }, Takes::Span(start..end)));
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
    fn limits(&self, cores: &[Core]) -> Vec<(f64, Option<f64>)> {
        let ceiling = self.dial.scale(self.engine.meter.most(self.dial));
        let between = |low: f64, high: f64| rounded(self.dial, low, high);
        let nothing = self.dial.scale(0.0) + NOTHING;
        let limit = |index: usize| {
            let core = &cores[index];
            let low = match index.checked_sub(1).map(|before| cores[before].to) {
                Some(before) => self.border(before, core.from).1,
                None if core.from - MARGIN <= nothing => 0.0,
                None => between(core.from - MARGIN, core.from),
            };
            let high = match cores.get(index + 1) {
                Some(after) => Some(self.border(core.to, after.from).0),
                None if core.to + MARGIN >= ceiling => None,
                None => Some(between(core.to, core.to + MARGIN)),
            };
            (low, high)
        };
        (0..cores.len()).map(limit).collect()
    }

    /// Returns the values at which one span ends and the next begins: one value where they lie near each other.
    fn border(&self, end: f64, start: f64) -> (f64, f64) {
        if start - end <= 2.0 * MARGIN {
            let both = rounded(self.dial, end, start);
            return (both, both);
        }
        (rounded(self.dial, end, end + MARGIN), rounded(self.dial, start - MARGIN, start))
    }
}

/// What a span is of, on the scale.
struct Core {
    from: f64,
    to: f64,
    /// Whether it is what is near the healthy value.
    healthy: bool,
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

/// Returns the point of the scale at which an outcome begins.
fn at(bin: usize) -> f64 {
    bin as f64 * WIDTH
}

/// Returns the outcome that begins nearest to a point of the scale.
fn bin(u: f64) -> usize {
    ((u / WIDTH).round() as usize).min(OVER)
}

/// Returns the part of a span that holds all of it but for a little at either end.
fn probable(mass: &[f64], span: &Range<usize>) -> Range<usize> {
    let tail = TAIL * mass[span.clone()].iter().sum::<f64>();
    let first = enough(mass, tail, span.clone()).unwrap_or(span.start);
    let last = enough(mass, tail, span.clone().rev()).unwrap_or(first);
    first..last.max(first) + 1
}

/// Returns the first of some outcomes with which so much mass is together.
fn enough(mass: &[f64], wanted: f64, mut bins: impl Iterator<Item = usize>) -> Option<usize> {
    let mut held = 0.0;
    bins.find(|bin| {
        held += mass[*bin];
        held >= wanted
    })
}

/// Returns whether nearly all of a span lies between two points of the scale.
fn is_within(mass: &[f64], span: &Range<usize>, (from, to): (f64, f64)) -> bool {
    let inside = |at: &usize| (bin(from)..bin(to)).contains(at);
    let held: f64 = span.clone().filter(inside).map(|at| mass[at]).sum();
    held >= HEALTHY * mass[span.clone()].iter().sum::<f64>()
}

/// Returns whether outcomes leave nothing that a meter can show.
pub(super) fn covers(mode: Mode, flexed: bool, whens: &[When]) -> bool {
    let mut spans: Vec<(f64, f64)> = whens.iter().filter_map(numbers).collect();
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let joined = |covered: f64, (low, high): (f64, f64)| (low <= covered).then(|| covered.max(high));
    let all = spans.into_iter().try_fold(0.0, joined).is_some_and(f64::is_infinite);
    let over = mode != Mode::Resistance || whens.contains(&When::OverRange);
    all && over && (!flexed || whens.contains(&When::Unstable))
}

fn numbers(when: &When) -> Option<(f64, f64)> {
    match *when {
        When::Number { low, high } => Some((low, high.unwrap_or(f64::INFINITY))),
        _ => None,
    }
}

/// Returns the spans of the scale that are worth telling apart, from the lowest.
fn spans(masses: &[Vec<f64>]) -> Vec<Range<usize>> {
    let mut best: (f64, Vec<Range<usize>>) = (f64::NEG_INFINITY, Vec::new());
    for quiet in QUIET {
        let spans = joined(islands(masses, quiet), masses);
        let left: f64 = spans.iter().map(|span| unknown(&within(masses, span))).sum();
        let lost: f64 = masses_outside(masses, &spans);
        if -left - lost > best.0 + LITTLE_MORE {
            best = (-left - lost, spans);
        }
    }
    best.1
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

    // By hand: of a mass of one, one hundredth or less lies in the first and in the last outcome.
    #[test]
    fn a_span_ends_where_hardly_anything_reads() {
        let mass = [0.0, 0.005, 0.3, 0.6, 0.09, 0.005, 0.0];
        assert_eq!(probable(&mass, &(1..6)), 2..5);
        assert_eq!(probable(&mass, &(3..4)), 3..4);
        let near = |from: usize, to: usize| is_within(&mass, &(1..6), (at(from), at(to)));
        assert!(near(2, 5) && !near(3, 5));
    }

    #[test]
    fn only_spans_that_meet_from_nothing_to_the_top_leave_nothing_over() {
        let number = |low: f64, high: Option<f64>| When::Number { low, high };
        let whole = [number(5.0, None), number(0.0, Some(5.0)), When::OverRange];
        assert!(covers(Mode::Resistance, false, &whole));
        assert!(!covers(Mode::Resistance, true, &whole), "nothing takes a reading that moves");
        assert!(!covers(Mode::Resistance, false, &whole[..2]) && covers(Mode::Volts, false, &whole[..2]));
        let gap = [number(0.0, Some(4.0)), number(5.0, None), When::OverRange];
        assert!(!covers(Mode::Resistance, false, &gap));
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
