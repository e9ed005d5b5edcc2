//! Grows a tree for one wiring and one complaint from what the advisor would ask.
//!
//! Every step asks what the advisor would ask next, and its outcomes are the spans in which the suspects that are left
//! read. Each way on is weighed by how likely it is taken and by what is still open there; the weightiest is grown
//! first, so that a limit on the steps costs least. What is believed after an outcome is what was believed before,
//! weighed by how likely the outcome is under each hypothesis: a span teaches nothing about the part values. What has
//! grown is held against the wiring as any tree is, and cut back.

mod cut;
mod ends;
mod merge;
mod place;
mod prune;
mod words;

use thiserror::Error;

use crate::advisor::{self, Circumstances, Ground, Stand};
use crate::belief::Belief;
use crate::faults::{FaultId, Kind};
use crate::prediction::{Behaviour, Candidate, Candidates, Hypothesis};
use crate::readings::{Access, Measurement, Mode, Setting, Symptom};
use crate::source::Located;
use crate::trees::Tree;
use crate::workbench::{Engine, EngineError};
use cut::{Cut, Shows};
use merge::Ends;

/// A complaint that no fault makes likelier than this has no cause in a wiring: people say so of sound instruments too
/// (common practice, no source).
const HARDLY: f64 = 0.05;
/// A way that is taken less often than this ends where it is.
const SELDOM: f64 = 0.005;
/// So many of the best measurements are tried for one whose spans lie apart.
const TRIED: usize = 6;
/// A step whose outcomes tell less than this about what to repair is none, in bits.
const LEAST_BITS: f64 = 0.05;

/// Why no tree can be grown.
#[derive(Debug, Error)]
pub enum GrowError {
    /// It may have no steps.
    #[error("cannot grow a tree of no steps\n  hint: allow one step at least")]
    NoRoom,
    /// Nothing in the wiring brings the complaint about.
    #[error(
        "cannot grow a tree for \"{complaint}\" on {wiring}: nothing that can fail in this circuit brings that about\n  hint: {}", hint(.needs)
    )]
    NoCause {
        /// The complaint's name.
        complaint: &'static str,
        /// The wiring's name.
        wiring: String,
        /// What the wiring would need for it, in words; may be empty.
        needs: Vec<&'static str>,
    },
    /// Nothing that a tree can ask tells the suspects apart.
    #[error(
        "cannot grow a tree for \"{complaint}\" on {wiring}: nothing that a tree can ask tells what is suspected apart\n  hint: the advisor can also sweep a knob, read a capacitance and lift a joint"
    )]
    NothingToAsk {
        /// The complaint's name.
        complaint: &'static str,
        /// The wiring's name.
        wiring: String,
    },
    /// A measurement cannot be predicted.
    #[error(transparent)]
    Engine(#[from] EngineError),
    /// What was grown is no tree for the wiring.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Tree(Vec<Located>),
}

/// Returns what to do where a complaint has no cause.
fn hint(needs: &[&str]) -> String {
    let other = "take another complaint";
    if needs.is_empty() { other.to_owned() } else { format!("it takes {}; {other}", needs.join(" and ")) }
}

/// Returns a tree for a complaint on the wiring of an engine, of at most so many steps; `watch` is told how many there
/// are so far. It is named `grown-`, the complaint and the wiring, and is cut back until its own check on that wiring
/// finds nothing more that cutting back can mend: slowness is not judged.
///
/// # Errors
///
/// When no step is allowed, when nothing in the wiring brings the complaint about, when nothing that a tree can ask tells the
/// suspects apart, and when a measurement cannot be predicted.
pub fn grow(
    engine: &Engine,
    complaint: Symptom,
    size: usize,
    watch: &dyn Fn(usize),
) -> Result<Tree, GrowError> {
    if size == 0 {
        return Err(GrowError::NoRoom);
    }
    let likely = engine.complaint(complaint);
    let wiring = engine.harness().name.clone();
    let missing = place::missing(engine.harness(), complaint);
    if !missing.is_empty() || !has_cause(engine, &likely) {
        let other = || place::needs(engine.harness(), complaint);
        let needs = if missing.is_empty() { other() } else { missing };
        return Err(GrowError::NoCause { complaint: complaint.name(), wiring, needs });
    }
    let mut plant = Plant::new(engine, &likely);
    while plant.steps < size && plant.branch()? {
        watch(plant.steps);
    }
    for ends in [Ends::Joined, Ends::Kept] {
        let Some(steps) = merge::steps(&plant, ends) else { continue };
        if let Some(tree) = prune::pruned(engine, complaint, steps, ends)? {
            return fitting(engine, tree);
        }
    }
    Err(GrowError::NothingToAsk { complaint: complaint.name(), wiring })
}

/// Returns a tree that fits the wiring.
fn fitting(engine: &Engine, tree: Tree) -> Result<Tree, GrowError> {
    let expected = |measurement: &Measurement| engine.expected(measurement);
    tree.fit(engine.harness(), &expected).map_err(GrowError::Tree)?;
    Ok(tree)
}

/// Returns whether some fault of the instrument makes a customer complain so.
fn has_cause(engine: &Engine, likely: &[f64]) -> bool {
    let wrong = |&(fault, _): &(FaultId, f64)| engine.model.catalogue[fault].kind != Kind::NothingWrong;
    let of_instrument = |h: &Hypothesis| h.behaviour != Behaviour::Anything && h.faults.iter().any(wrong);
    let list = engine.model.hypotheses.list.iter().zip(likely);
    list.filter(|(hypothesis, _)| of_instrument(hypothesis)).any(|(_, likely)| *likely > HARDLY)
}

/// A tree that grows.
struct Plant<'e> {
    engine: &'e Engine,
    /// What a tree can ask.
    askable: Candidates,
    nodes: Vec<Node>,
    steps: usize,
}

/// A place in it: what is believed there, and what is asked.
struct Node {
    belief: Belief,
    /// How often it is come to.
    weight: f64,
    /// Bits that are unknown about what to repair.
    unknown: f64,
    taken: Vec<Measurement>,
    stand: Stand,
    split: Option<Split>,
    done: bool,
}

/// What is asked at a node, and the nodes that its outcomes lead to.
struct Split {
    measurement: Measurement,
    ways: Vec<(Shows, usize)>,
}

impl<'e> Plant<'e> {
    /// Begins with what is believed after a complaint that is so likely under every hypothesis.
    fn new(engine: &'e Engine, likely: &[f64]) -> Self {
        let mut belief = Belief::prior(&engine.model);
        belief.hear(likely);
        let stand = Stand { setting: Setting::reference(engine.harness()), ..Stand::default() };
        let root = Node::new(engine, belief, 1.0, Vec::new(), stand);
        Self { engine, askable: askable(engine), nodes: vec![root], steps: 0 }
    }

    /// Grows one step where it is worth most; returns whether there was one to grow.
    fn branch(&mut self) -> Result<bool, GrowError> {
        while let Some(leaf) = self.worthiest() {
            match self.asked(&self.nodes[leaf])? {
                Some((measurement, cuts)) => {
                    self.split(leaf, measurement, cuts);
                    return Ok(true);
                }
                None => self.nodes[leaf].done = true,
            }
        }
        Ok(false)
    }

    /// Returns the leaf where most is open for how often it is come to, the first of equal ones.
    fn worthiest(&self) -> Option<usize> {
        let worth = |&at: &usize| self.nodes[at].weight * self.nodes[at].unknown;
        let open = |at: &usize| !self.nodes[*at].done && self.nodes[*at].split.is_none();
        (0..self.nodes.len()).rev().filter(open).max_by(|a, b| worth(a).total_cmp(&worth(b)))
    }

    /// Returns what the advisor would ask at a leaf, with the spans that tell its suspects apart.
    fn asked(&self, node: &Node) -> Result<Option<(Measurement, Vec<Cut>)>, GrowError> {
        let (model, groups, meter) = (&self.engine.model, &self.engine.groups, self.engine.meter);
        let circumstances = Circumstances {
            access: Access::MayOpen,
            stand: node.stand.clone(),
            spent: &[],
            skipped: &node.taken,
        };
        let proposals = advisor::propose(model, &self.askable, groups, &node.belief, meter, &circumstances);
        let ground = Ground {
            model,
            candidates: &self.askable,
            groups,
            belief: &node.belief,
            meter,
            stand: &node.stand,
            proposals: &proposals,
        };
        for proposal in advisor::planned(&ground).into_iter().take(TRIED) {
            let cuts = cut::cuts(self.engine, &self.askable, &node.belief, &proposal.measurement)?;
            if cut::bits(self.engine, &node.belief, &cuts) >= LEAST_BITS {
                return Ok(Some((proposal.measurement, cuts)));
            }
        }
        Ok(None)
    }

    fn split(&mut self, leaf: usize, measurement: Measurement, cuts: Vec<Cut>) {
        let mut ways = Vec::with_capacity(cuts.len());
        for cut in cuts {
            ways.push((cut.shows, self.nodes.len()));
            let next = self.nodes[leaf].after(self.engine, &measurement, &cut.likelihoods);
            self.nodes.push(next);
        }
        self.nodes[leaf].split = Some(Split { measurement, ways });
        self.steps += 1;
    }
}

impl Node {
    fn new(engine: &Engine, belief: Belief, weight: f64, taken: Vec<Measurement>, stand: Stand) -> Self {
        let probabilities = engine.groups.probabilities(&belief.weights());
        let unknown = entropy(&probabilities);
        let (leader, probability) = advisor::leader(&engine.groups, &belief);
        let done = weight < SELDOM || advisor::sure(&engine.groups, leader, probability);
        Self { belief, weight, unknown, taken, stand, split: None, done }
    }

    /// Returns where an outcome leads.
    fn after(&self, engine: &Engine, measurement: &Measurement, likelihoods: &[f64]) -> Self {
        let chance: f64 = self.belief.weights().iter().zip(likelihoods).map(|(w, l)| w * l).sum();
        let mut belief = self.belief.clone();
        belief.hear(likelihoods);
        let mut taken = self.taken.clone();
        taken.push(measurement.clone());
        let mut stand = self.stand.clone();
        stand.setting.clone_from(&measurement.setting);
        stand.opened.extend(advisor::places(engine.harness(), measurement));
        if !matches!(measurement.mode, Mode::Observe(_)) {
            stand.probes = Some((measurement.red.clone(), measurement.black.clone()));
        }
        Self::new(engine, belief, self.weight * chance, taken, stand)
    }
}

fn entropy(probabilities: &[f64]) -> f64 {
    probabilities.iter().filter(|p| **p > 0.0).map(|p| -p * p.log2()).sum()
}

/// Returns what can be asked for in a tree: no swept knobs, capacitances or lifted ends, and nothing flexed but the
/// plug and whole parts.
fn askable(engine: &Engine) -> Candidates {
    let all = &engine.candidates;
    let flexed = |name: &String| name == "plug" || engine.harness().part(name).is_some();
    let plain = |candidate: &&Candidate| {
        let m = &candidate.measurement;
        let mode = matches!(m.mode, Mode::Resistance | Mode::Continuity | Mode::Volts | Mode::Current);
        mode && m.lifted.is_none() && m.flex.as_ref().is_none_or(flexed)
    };
    Candidates {
        list: all.list.iter().filter(plain).cloned().collect(),
        rows: all.rows.clone(),
        shows: all.shows.clone(),
        questions: all.questions.clone(),
    }
}
