//! All instruments of a wiring going through a tree: which way each takes, and where it comes to.
//!
//! Steps are gone through in an order in which every step stands behind all that lead to it, so that what comes to a step
//! by several ways is there when its turn comes. Nothing is recursive: a long tree needs no deep stack.

use std::collections::{BTreeMap, BTreeSet};

use super::bits::{bits_after, table};
use super::known::Known;
use super::sample::Sample;
use super::turns::{answered, in_order};
use crate::advisor::{Stand, mutual_information, places, seconds};
use crate::circuit::PlaceId;
use crate::readings::{Measurement, Mode, Setting};
use crate::trees::{Ask, Fitted, Landing, Then};
use crate::workbench::EngineError;

/// What a question takes, in seconds (common practice, no source).
const QUESTION: f64 = 60.0;
/// A way that is taken by less than this share is not counted when all go the same way.
const STRAYS: f64 = 0.005;
/// A step that tells less is one that tells nothing, in bits.
pub(super) const QUIET: f64 = 0.01;
/// So many steps that tell nothing yet are looked at again later on their path.
const PENDING: usize = 3;
/// At so many steps, each with this share of the instruments at least, the advisor is asked as well.
const POINTS: usize = 8;
const POINT_SHARE: f64 = 0.05;

/// What happened at one step.
#[derive(Clone, Debug, Default)]
pub(super) struct Visit {
    /// How many instruments came, and their probability.
    pub count: usize,
    pub mass: f64,
    /// The same for each way out.
    pub counts: Vec<usize>,
    pub ways: Vec<f64>,
    /// What it tells about the decision, in bits.
    pub bits: f64,
    /// The most that it would tell after one of the readings that follow it.
    pub later: f64,
    /// Whether nearly all come to one place, whatever it shows.
    pub one_place: bool,
    /// Whether its reading was there on every path that leads to it.
    pub redundant: bool,
    /// The number of what it measures.
    pub asked: Option<usize>,
}

/// What is known, and where the bench stands, somewhere in a tree.
#[derive(Clone, Debug, Default)]
pub(super) struct Point {
    /// The share of the instruments of each subject that are here.
    pub shares: BTreeMap<usize, f64>,
    pub known: Known,
    course: Course,
}

/// Where the instruments leave the steps of a tree.
#[derive(Clone, Debug)]
pub(super) struct End {
    /// The number of the tree; 0 is the one that is held against the wiring.
    pub tree: usize,
    pub step: usize,
    /// The number of the way; `None` for readings that no outcome takes.
    pub way: Option<usize>,
    pub point: Point,
}

/// What came of all instruments of a wiring.
#[derive(Clone, Debug, Default)]
pub(super) struct Flowed {
    /// By step of the tree.
    pub visits: Vec<Visit>,
    pub ends: Vec<End>,
    /// Some of the measuring steps, with what came to them.
    pub points: Vec<(usize, Point)>,
    /// What each instrument took in the trees, by its number.
    pub steps: Vec<f64>,
    pub seconds: Vec<f64>,
}

/// What comes to a step.
#[derive(Clone, Debug)]
struct Arrival {
    instruments: Vec<usize>,
    known: Known,
    /// Steps before it that told nothing.
    pending: Vec<usize>,
}

impl Arrival {
    fn join(&mut self, other: Self) {
        self.instruments.extend(other.instruments);
        self.known.meet(&other.known);
        self.pending.retain(|step| other.pending.contains(step));
    }
}

/// Where the bench stands after what an instrument went through.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
struct Course {
    /// What was read or heard last, and what was read last.
    last: Option<usize>,
    clipped: Option<usize>,
    opened: u64,
}

/// Instruments on their way.
pub(super) struct Flow<'s, 'e> {
    sample: &'s mut Sample<'e>,
    trees: &'s [Fitted],
    courses: Vec<Course>,
    prices: BTreeMap<(Course, usize), (f64, u64)>,
    ends: BTreeMap<(usize, usize, Option<usize>), Point>,
    links: BTreeMap<usize, Arrival>,
    gone: BTreeSet<usize>,
    out: Flowed,
}

/// Sends all instruments through the first of some trees, and through the others where it leads to them.
///
/// # Errors
///
/// Returns [`EngineError`] when a measurement cannot be predicted.
pub(super) fn flow(sample: &mut Sample<'_>, trees: &[Fitted]) -> Result<Flowed, EngineError> {
    let all = sample.all();
    let steps = trees.first().map_or(0, |tree| tree.tree().steps.len());
    let out = Flowed {
        visits: vec![Visit::default(); steps],
        steps: vec![0.0; all.len()],
        seconds: vec![0.0; all.len()],
        ..Flowed::default()
    };
    let mut flow = Flow {
        courses: vec![Course::default(); all.len()],
        sample,
        trees,
        prices: BTreeMap::new(),
        ends: BTreeMap::new(),
        links: BTreeMap::new(),
        gone: BTreeSet::new(),
        out,
    };
    flow.links.insert(0, Arrival { instruments: all, known: Known::default(), pending: Vec::new() });
    flow.run()?;
    Ok(flow.finished())
}

impl Flow<'_, '_> {
    fn run(&mut self) -> Result<(), EngineError> {
        while let Some((tree, arrival)) = self.links.pop_first() {
            self.gone.insert(tree);
            self.through(tree, arrival)?;
        }
        Ok(())
    }

    fn finished(self) -> Flowed {
        let ends = self.ends.into_iter();
        let ends = ends.map(|((tree, step, way), point)| End { tree, step, way, point }).collect();
        Flowed { ends, ..self.out }
    }

    fn through(&mut self, tree: usize, arrival: Arrival) -> Result<(), EngineError> {
        let trees = self.trees;
        let fitted = &trees[tree];
        let mut waiting: Vec<Option<Arrival>> = vec![None; fitted.tree().steps.len()];
        self.land(tree, fitted.first(), arrival, &mut waiting);
        for step in in_order(fitted.tree()) {
            if let Some(arrival) = waiting[step].take() {
                self.visit(tree, step, arrival, &mut waiting)?;
            }
        }
        Ok(())
    }

    fn visit(
        &mut self,
        tree: usize,
        step: usize,
        arrival: Arrival,
        waiting: &mut [Option<Arrival>],
    ) -> Result<(), EngineError> {
        let asked = self.trees[tree].measured(step).cloned().map(|m| self.sample.number(&m));
        let ways = self.ways(tree, step, &arrival.instruments)?;
        let mut next = Arrival { instruments: Vec::new(), ..arrival.clone() };
        if tree == 0 {
            self.record(step, asked, &arrival, &ways)?;
            self.keep_in_mind(step, &mut next);
        }
        self.pay(asked, &arrival.instruments);
        if let Some(asked) = asked {
            next.known.insert(asked);
        }
        let lost = self.lost(tree, step);
        let mut parts = vec![Vec::new(); lost + 1];
        arrival.instruments.iter().zip(&ways).for_each(|(instrument, way)| parts[*way].push(*instrument));
        for (way, instruments) in parts.into_iter().enumerate().filter(|(_, part)| !part.is_empty()) {
            let leaving = Arrival { instruments, ..next.clone() };
            if way == lost {
                self.end((tree, step, None), leaving);
            } else {
                self.land(tree, self.trees[tree].landing(step, way), leaving, waiting);
            }
        }
        Ok(())
    }

    /// Returns the number that stands for readings that no outcome takes.
    fn lost(&self, tree: usize, step: usize) -> usize {
        self.trees[tree].tree().steps[step].cannot_way() + 1
    }

    /// Returns the number of the way that each instrument takes.
    fn ways(&mut self, tree: usize, step: usize, instruments: &[usize]) -> Result<Vec<usize>, EngineError> {
        let trees = self.trees;
        let fitted = &trees[tree];
        let lost = self.lost(tree, step);
        if let Some(measurement) = fitted.measured(step) {
            let number = self.sample.number(measurement);
            let taken = self.sample.taken(number)?;
            let way = |instrument: &usize| fitted.taken_by(step, &taken.shown(*instrument)).unwrap_or(lost);
            return Ok(instruments.iter().map(way).collect());
        }
        Ok(match &fitted.tree().steps[step].ask {
            Ask::Question { answers, .. } => answered(self.sample, answers, step as u64, instruments),
            Ask::Measure(_) => vec![lost; instruments.len()],
        })
    }

    fn record(
        &mut self,
        step: usize,
        asked: Option<usize>,
        arrival: &Arrival,
        ways: &[usize],
    ) -> Result<(), EngineError> {
        let count = self.lost(0, step) + 1;
        let mut visit = Visit { count: arrival.instruments.len(), asked, ..Visit::default() };
        (visit.counts, visit.ways) = (vec![0; count], vec![0.0; count]);
        for (&instrument, &way) in arrival.instruments.iter().zip(ways) {
            visit.counts[way] += 1;
            visit.ways[way] += self.sample.weight(instrument);
        }
        visit.mass = visit.ways.iter().sum();
        visit.redundant = asked.is_some_and(|asked| arrival.known.contains(asked));
        visit.one_place = self.one_place(step, &visit);
        visit.bits = mutual_information(&table(self.sample, &arrival.instruments, ways, count), count);
        visit.one_place |= asked.is_some_and(|asked| self.heard(asked)) && visit.bits < QUIET;
        self.note_point(step, &visit, arrival);
        self.out.visits[step] = visit;
        if asked.is_some() { self.look_again(arrival, (ways, count)) } else { Ok(()) }
    }

    /// Returns whether something is heard and not read: its answers are wrong now and then, whatever is the matter.
    fn heard(&self, asked: usize) -> bool {
        matches!(self.sample.asked[asked].mode, Mode::Observe(_))
    }

    fn one_place(&self, step: usize, visit: &Visit) -> bool {
        let taken = visit.ways.iter().enumerate().filter(|(_, mass)| **mass > STRAYS * visit.mass);
        let landings: BTreeSet<Place<'_>> = taken.map(|(way, _)| self.place(step, way)).collect();
        landings.len() < 2
    }

    /// Returns where a way leads; ways that say the same lead to the same place.
    fn place(&self, step: usize, way: usize) -> Place<'_> {
        let tree = &self.trees[0];
        match tree.landing(step, way) {
            Landing::Step(next) => Place::Step(next),
            Landing::Out { step, way } => match tree.tree().steps[step].way(way) {
                None | Some(Then::Advisor) => Place::Advisor,
                Some(Then::Tree(name)) => Place::Tree(name),
                Some(Then::NotTheInstrument) => Place::NotTheInstrument,
                Some(Then::Suspect(_) | Then::Step(_)) => Place::End(step, way),
            },
        }
    }

    /// Works out what steps that told nothing would tell now.
    fn look_again(&mut self, arrival: &Arrival, now: (&[usize], usize)) -> Result<(), EngineError> {
        for &step in &arrival.pending {
            let ways = self.ways(0, step, &arrival.instruments)?;
            let count = self.lost(0, step) + 1;
            let bits = bits_after(self.sample, &arrival.instruments, (&ways, count), now);
            let later = &mut self.out.visits[step].later;
            *later = later.max(bits);
        }
        Ok(())
    }

    fn keep_in_mind(&self, step: usize, next: &mut Arrival) {
        let visit = &self.out.visits[step];
        if visit.asked.is_some() && !visit.redundant && visit.one_place && visit.bits < QUIET {
            next.pending.push(step);
            let old = next.pending.len().saturating_sub(PENDING);
            next.pending = next.pending.split_off(old);
        }
    }

    fn note_point(&mut self, step: usize, visit: &Visit, arrival: &Arrival) {
        if visit.asked.is_some() && visit.mass >= POINT_SHARE && self.out.points.len() < POINTS {
            let mut point = Point::default();
            self.fill(&mut point, arrival);
            self.out.points.push((step, point));
        }
    }

    /// Counts the time of a step, and moves the bench.
    fn pay(&mut self, asked: Option<usize>, instruments: &[usize]) {
        for &instrument in instruments {
            let course = self.courses[instrument];
            let (seconds, opened) = match asked {
                None => (QUESTION, course.opened),
                Some(asked) => self.price(course, asked),
            };
            self.out.steps[instrument] += 1.0;
            self.out.seconds[instrument] += seconds;
            let clipped = asked.filter(|asked| !self.heard(*asked)).or(course.clipped);
            self.courses[instrument] = Course { last: asked.or(course.last), clipped, opened };
        }
    }

    fn price(&mut self, course: Course, asked: usize) -> (f64, u64) {
        if let Some(known) = self.prices.get(&(course, asked)) {
            return *known;
        }
        let (harness, measurement) = (self.sample.engine.harness(), &self.sample.asked[asked]);
        let seconds = seconds(harness, measurement, &stand(self.sample, course));
        let opened =
            places(harness, measurement).into_iter().fold(course.opened, |all, place| all | bit(place));
        self.prices.insert((course, asked), (seconds, opened));
        (seconds, opened)
    }

    fn land(&mut self, tree: usize, landing: Landing, arrival: Arrival, waiting: &mut [Option<Arrival>]) {
        match landing {
            Landing::Step(step) => match &mut waiting[step] {
                Some(there) => there.join(arrival),
                empty => *empty = Some(arrival),
            },
            Landing::Out { step, way } => self.leave(tree, step, way, arrival),
        }
    }

    /// Goes over to another tree, or ends.
    fn leave(&mut self, tree: usize, step: usize, way: usize, arrival: Arrival) {
        let trees = self.trees;
        let named = match trees[tree].tree().steps[step].way(way) {
            Some(Then::Tree(name)) => trees.iter().position(|other| other.tree().name == *name),
            _ => None,
        };
        match named.filter(|other| !self.gone.contains(other)) {
            None => self.end((tree, step, Some(way)), arrival),
            Some(other) => {
                let arrival = Arrival { pending: Vec::new(), ..arrival };
                match self.links.get_mut(&other) {
                    Some(there) => there.join(arrival),
                    None => drop(self.links.insert(other, arrival)),
                }
            }
        }
    }

    fn end(&mut self, key: (usize, usize, Option<usize>), arrival: Arrival) {
        let mut point = self.ends.remove(&key).unwrap_or_default();
        self.fill(&mut point, &arrival);
        self.ends.insert(key, point);
    }

    fn fill(&self, point: &mut Point, arrival: &Arrival) {
        if point.shares.is_empty() {
            let first = arrival.instruments.first().map(|first| self.courses[*first]).unwrap_or_default();
            (point.known, point.course) = (arrival.known.clone(), first);
        } else {
            point.known.meet(&arrival.known);
        }
        let draws = self.sample.draws;
        for instrument in &arrival.instruments {
            *point.shares.entry(instrument / draws).or_default() += 1.0 / draws as f64;
        }
    }
}

/// Where a way leads, to be compared.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Place<'t> {
    Step(usize),
    Advisor,
    Tree(&'t str),
    NotTheInstrument,
    End(usize, usize),
}

impl Point {
    /// Returns where the bench stands.
    pub fn stand(&self, sample: &Sample<'_>) -> Stand {
        stand(sample, self.course)
    }

    /// Returns the readings that are known on every path.
    pub fn spent(&self, sample: &Sample<'_>) -> Vec<Measurement> {
        self.known.numbers().into_iter().map(|number| sample.asked[number].clone()).collect()
    }

    /// Returns the probability of what is here.
    pub fn mass(&self, sample: &Sample<'_>) -> f64 {
        self.shares.iter().map(|(subject, share)| sample.subjects[*subject].weight * share).sum()
    }
}

fn stand(sample: &Sample<'_>, course: Course) -> Stand {
    let harness = sample.engine.harness();
    let taken = |number: usize| &sample.asked[number];
    let is_open = |place: &PlaceId| course.opened & bit(*place) != 0;
    Stand {
        setting: course.last.map(taken).map_or_else(|| Setting::reference(harness), |m| m.setting.clone()),
        probes: course.clipped.map(taken).map(|m| (m.red.clone(), m.black.clone())),
        opened: (0..harness.places.len()).map(PlaceId).filter(is_open).collect(),
    }
}

fn bit(place: PlaceId) -> u64 {
    1 << place.0.min(63)
}
