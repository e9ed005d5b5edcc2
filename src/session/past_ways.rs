//! How often past jobs went each way of a tree, and how many of them were closed proven.
//!
//! A job keeps what was read, what was answered, what a sound instrument was to read, and the shop's own trees: so it is
//! followed through its tree again without working anything out. A tree that comes with the program is followed as it is now.

use std::collections::BTreeMap;
use std::slice;

use serde::Serialize;

use super::{PastError, PastJobs, built_in_trees};
use crate::archive::audit::FEW;
use crate::archive::{Archive, Ending, Filter, Order, Page};
use crate::circuit::{self, Harness, PartKind, PotRole};
use crate::job::{Job, Speaker, Taken};
use crate::readings::{Measurement, Meter, Shown};
use crate::source::Source;
use crate::trees::{self, Ask, Expected, Fitted, Step, Tree, Walk};
use crate::units::Ohms;

/// How often past jobs went one way out of a step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct PastWay {
    /// How many jobs went it.
    pub n: u32,
    /// How many of these were closed proven.
    pub proven: u32,
}

/// What past jobs did at one step.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct PastStep {
    /// How many jobs left it, also by ways that the tree has no more.
    pub n: u32,
    /// Whether `n` is under [`FEW`].
    pub small: bool,
    /// Its ways, in the order of [`Step::ways`].
    pub ways: Vec<PastWay>,
}

impl PastStep {
    /// Returns how often a way was gone, in words: `7 of 12 jobs, 5 proven`; empty when no job left the step.
    pub fn words(&self, way: usize) -> String {
        let Some(gone) = self.ways.get(way).filter(|_| self.n > 0) else { return String::new() };
        let jobs = if self.n == 1 { "job" } else { "jobs" };
        let proven = if gone.n > 0 { format!(", {} proven", gone.proven) } else { String::new() };
        let few = if self.small { " (few)" } else { "" };
        format!("{} of {} {jobs}{proven}{few}", gone.n, self.n)
    }
}

/// What past jobs did in a tree.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct PastWays {
    /// The tree's name.
    pub tree: String,
    /// How many jobs did at least one step of a tree of this name.
    pub n: u32,
    /// How many of these were closed proven.
    pub proven: u32,
    /// Whether `n` is under [`FEW`].
    pub small: bool,
    /// Its steps by their names.
    pub steps: BTreeMap<String, PastStep>,
}

impl PastWays {
    /// Counts the jobs of an archive that need not exist: only looking makes none.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when the archive is switched off or cannot be read.
    pub fn at(place: &PastJobs, tree: &Tree) -> Result<Self, PastError> {
        if place.file()?.exists() { Self::of(&place.open()?, tree) } else { Ok(Self::none(tree)) }
    }

    /// Counts the jobs of an archive that went by a tree of the name of this one. Steps and ways are known by their names
    /// and words, so a job that went by an earlier text counts where that text is the same.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when the archive cannot be read.
    pub fn of(archive: &Archive, tree: &Tree) -> Result<Self, PastError> {
        let mut counted = Self::none(tree);
        let mut shelf = Shelf { built_in: built_in_trees().unwrap_or_default(), harnesses: BTreeMap::new() };
        let all = Page { start: 0, size: u32::MAX };
        for summary in archive.jobs(&Filter::default(), Order::Oldest, all)? {
            let gone = shelf.gone(&archive.job(&summary.uid)?, &tree.name);
            counted.count(tree, &gone, summary.ending == Ending::Cured);
        }
        counted.steps.values_mut().for_each(|step| step.small = step.n < FEW);
        counted.small = counted.n < FEW;
        Ok(counted)
    }

    fn none(tree: &Tree) -> Self {
        let step = |step: &Step| {
            let ways = vec![PastWay::default(); step.ways().count()];
            (step.name.clone(), PastStep { n: 0, small: true, ways })
        };
        let steps = tree.steps.iter().map(step).collect();
        Self { tree: tree.name.clone(), n: 0, proven: 0, small: true, steps }
    }

    fn count(&mut self, tree: &Tree, gone: &[Gone], proven: bool) {
        if gone.is_empty() {
            return;
        }
        self.n += 1;
        self.proven += u32::from(proven);
        for Gone { step, way } in gone {
            let (Some(known), Some(counted)) = (tree.step(step), self.steps.get_mut(step)) else { continue };
            counted.n += 1;
            let at = way_names(known).iter().position(|name| name == way);
            if let Some(way) = at.and_then(|at| counted.ways.get_mut(at)) {
                way.n += 1;
                way.proven += u32::from(proven);
            }
        }
    }

    /// Returns how many jobs there are, in one sentence or two.
    pub fn sentence(&self) -> String {
        if self.n == 0 {
            return "No past job went by this tree yet.".to_owned();
        }
        let jobs = if self.n == 1 { "job" } else { "jobs" };
        let few = if self.small { " So few say little." } else { "" };
        format!("{} past {jobs} went by this tree, {} closed proven.{few}", self.n, self.proven)
    }

    /// Returns what a drawing says beside the ways of each step that a job left, in the order of the ways; nothing where a
    /// step was never left as one that cannot be done.
    pub fn notes(&self) -> BTreeMap<String, Vec<String>> {
        let idle = |step: &PastStep, way: usize| way + 1 == step.ways.len() && step.ways[way].n == 0;
        let note = |step: &PastStep, way: usize| {
            if idle(step, way) { String::new() } else { format!("past: {}", step.words(way)) }
        };
        let notes = |step: &PastStep| (0..step.ways.len()).map(|way| note(step, way)).collect();
        let told = self.steps.iter().filter(|(_, step)| step.n > 0);
        told.map(|(name, step)| (name.clone(), notes(step))).collect()
    }
}

/// What tells the ways out of a step apart: what an outcome takes, an answer's words, nothing for what cannot be done.
fn way_names(step: &Step) -> Vec<&str> {
    let mut names: Vec<&str> = match &step.ask {
        Ask::Measure(probe) => probe.outcomes.iter().map(|outcome| outcome.written.as_str()).collect(),
        Ask::Question { answers, .. } => answers.iter().map(|answer| answer.answer.as_str()).collect(),
    };
    names.push("");
    names
}

/// One step that a job has behind it.
struct Gone {
    step: String,
    /// The name of the way that it took.
    way: String,
}

/// What jobs are followed with.
struct Shelf {
    built_in: Vec<Tree>,
    /// The wirings by their texts; `None` for a text that is no wiring.
    harnesses: BTreeMap<String, Option<Harness>>,
}

impl Shelf {
    /// Returns the steps of a tree that a job has behind it; none when the tree did not lead it.
    fn gone(&mut self, job: &Job, wanted: &str) -> Vec<Gone> {
        let intake = job.intake();
        let read = || circuit::load(&Source::new(intake.wiring.as_str(), intake.wiring_text.as_str())).ok();
        let harness = self.harnesses.entry(intake.wiring_text.clone()).or_insert_with(read);
        let Some(harness) = harness.as_ref() else { return Vec::new() };
        let [first, used] = [&intake.trees_text[..], job.used_trees()].map(|texts| kept(texts, harness));
        let built_in = self.built_in.iter().filter(|tree| tree.applies(harness)).collect();
        let started = before(&first, built_in);
        let all = used.iter().fold(started, |all, tree| before(slice::from_ref(tree), all));
        let meter = Meter::named(&intake.meter).unwrap_or_else(Meter::ordinary);
        Follower { job, harness, meter }.through(&all, wanted)
    }
}

/// Returns the trees of these texts that are for a guitar.
fn kept(texts: &[String], harness: &Harness) -> Vec<Tree> {
    let load = |text: &String| trees::load_kept(&Source::new("the job's own tree", text.as_str())).ok();
    texts.iter().filter_map(load).filter(|tree| tree.applies(harness)).collect()
}

/// Puts trees of one's own before others, as a job does: one takes the place of another of its name, the later of two too.
fn before<'t>(own: &'t [Tree], others: Vec<&'t Tree>) -> Vec<&'t Tree> {
    let named = |tree: &Tree, all: &[Tree]| all.iter().any(|known| known.name == tree.name);
    let last = |at: &usize| !named(&own[*at], &own[at + 1..]);
    let first = (0..own.len()).filter(last).map(|at| &own[at]);
    first.chain(others.into_iter().filter(|tree| !named(tree, own))).collect()
}

/// Follows one job, up to where its search went on after a repair.
struct Follower<'j> {
    job: &'j Job,
    harness: &'j Harness,
    meter: &'static Meter,
}

impl Follower<'_> {
    /// Goes through the tree that led the job and those that it leads on to, until the one that is wanted.
    fn through(&self, all: &[&Tree], wanted: &str) -> Vec<Gone> {
        let symptoms = &self.job.intake().symptoms;
        let of = |tree: &Tree| symptoms.iter().position(|symptom| *symptom == tree.complaint);
        let mut next = all.iter().copied().filter(|tree| of(tree).is_some()).min_by_key(|tree| of(tree));
        let mut seen: Vec<&str> = Vec::new();
        while let Some(tree) = next.filter(|tree| !seen.contains(&tree.name.as_str())) {
            seen.push(&tree.name);
            let fitted =
                tree.as_it_led(self.harness, &|measurement: &Measurement| self.expected(measurement));
            let (gone, link) = self.behind(&fitted);
            if tree.name == wanted {
                return gone;
            }
            next = link.and_then(|name| all.iter().copied().find(|tree| tree.name == name));
        }
        Vec::new()
    }

    /// Returns the steps that the job has behind it, and the tree that goes on after them. A step that left nothing in the
    /// job counts as one that could not be done when the tree asked for something after it.
    fn behind(&self, fitted: &Fitted) -> (Vec<Gone>, Option<String>) {
        let (mut gone, mut undone) = (Vec::new(), Vec::new());
        let mut walk = fitted.start();
        while let Walk::Step(name) = &walk {
            let Some(step) = fitted.step(name) else { break };
            let names = way_names(step);
            let passed = |way: usize| Gone {
                step: name.clone(),
                way: names.get(way).copied().unwrap_or_default().to_owned(),
            };
            walk = if let Some((way, next)) = self.taken(fitted, step, !undone.is_empty()) {
                gone.append(&mut undone);
                gone.push(passed(way));
                next
            } else {
                undone.push(passed(step.cannot_way()));
                fitted.after_cannot(name)
            };
        }
        let link = match walk {
            Walk::Tree(name) if undone.is_empty() => Some(name),
            _ => None,
        };
        (gone, link)
    }

    /// Returns which way the job left a step, and where that led; `passed` says that steps before it left nothing in the
    /// job, so that only what the tree itself asked for counts.
    fn taken(&self, fitted: &Fitted, step: &Step, passed: bool) -> Option<(usize, Walk)> {
        let Ask::Question { answers, .. } = &step.ask else { return self.read(fitted, step, passed) };
        let tree = &fitted.tree().name;
        let said = self.job.answers().iter().rfind(|said| said.tree == *tree && said.step == step.name)?;
        let way = answers.iter().position(|known| known.answer == said.answer)?;
        Some((way, fitted.after_answer(&step.name, way)))
    }

    fn read(&self, fitted: &Fitted, step: &Step, passed: bool) -> Option<(usize, Walk)> {
        let asked = fitted.measurement(&step.name)?;
        let index = fitted.tree().steps.iter().position(|known| known.name == step.name)?;
        match self.reading(&asked).filter(|taken| !passed || taken.asked_by == Speaker::Tree) {
            Some(taken) => {
                let shown = &taken.reading.shown;
                Some((fitted.taken_by(index, shown)?, fitted.after_reading(&step.name, shown)))
            }
            None => {
                let skipped = self.job.skipped().iter().any(|skip| skip.measurement == asked);
                skipped.then(|| (step.cannot_way(), fitted.after_cannot(&step.name)))
            }
        }
    }

    fn reading(&self, asked: &Measurement) -> Option<&Taken> {
        self.job.readings_of(0).find(|taken| taken.reading.measurement == *asked)
    }

    /// Returns what a sound instrument was to read, as the job says.
    fn expected(&self, asked: &Measurement) -> Expected {
        let Some(taken) = self.reading(asked) else { return Expected::default() };
        let most = self.meter.most(asked.mode.dial());
        let at = |value: Option<Ohms>| value.map_or(most, Ohms::get);
        let band = Some(taken.healthy).filter(|band| band.ohms.is_some());
        let healthy = band.map(|band| (at(band.low), at(band.ohms), at(band.high)));
        Expected { healthy, volume_alone: volume_alone(self.harness, &taken.reading.shown) }
    }
}

/// Returns the track of the volume pot that a reading may show alone; on a guitar whose volumes differ, of the nearest.
fn volume_alone(harness: &Harness, shown: &Shown) -> Option<f64> {
    let read = match shown {
        Shown::Steady(level) => level.number().map(|(value, _)| value),
        _ => None,
    };
    let far = |track: &f64| read.map_or(0.0, |read| (track - read).abs());
    let tracks = harness.parts.iter().filter_map(|part| match &part.kind {
        PartKind::Pot { ohms, role: PotRole::Volume, .. } => Some(ohms.get()),
        _ => None,
    });
    tracks.min_by(|a, b| far(a).total_cmp(&far(b)))
}
