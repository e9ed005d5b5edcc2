//! What a tree took in jobs that were played, and what that says of it.

use std::slice::from_ref;
use std::sync::Arc;

use super::checked::{in_order, slow};
use super::{Checked, Finding, Flaw};
use crate::readings::Access;
use crate::trees::Tree;
use crate::trial::{self, Outcome, Policy, Setup, TrialError};
use crate::workbench::Engine;

/// So many jobs are played on a wiring where nothing else is asked for.
pub const PLAYED: usize = 8;
/// Where all chance of played jobs comes from, as for trials when no seed is given.
const SEED: u64 = 1000;
/// A tree that is slow by estimates is played by itself when it has so many steps at most, on so many wirings at most: a
/// check takes seconds then.
const MOST_STEPS: usize = 200;
const MOST_WIRINGS: usize = 3;

/// What the same simulated instruments took on one wiring with a tree, and with the advisor alone.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Played {
    /// The name of the wiring.
    pub wiring: String,
    /// How many jobs were played.
    pub jobs: usize,
    /// In how many the fault was found with the tree.
    pub found: usize,
    /// In how many it was found by the advisor alone.
    pub found_alone: usize,
    /// The hands-on minutes on average with the tree, and with the advisor after it.
    pub minutes: f64,
    /// The hands-on minutes on average with the advisor alone.
    pub advisor_minutes: f64,
}

impl Played {
    /// Returns how many times the advisor's minutes the tree took; `None` where the advisor took no time.
    pub fn ratio(&self) -> Option<f64> {
        (self.advisor_minutes > 0.0).then(|| self.minutes / self.advisor_minutes)
    }
}

/// Plays so many jobs with a tree's complaint on a wiring by so many threads, with the tree and with the advisor alone.
/// `watch` is told how many jobs are done, and of how many.
///
/// # Errors
///
/// Returns [`TrialError`] when an instrument cannot be drawn or predicted, or the tree does not fit the wiring.
pub fn play(
    tree: &Tree,
    engine: &Arc<Engine>,
    (jobs, threads): (usize, usize),
    watch: &(dyn Fn(usize, usize) + Sync),
) -> Result<Played, TrialError> {
    let with_tree = Arc::new(engine.with_trees(from_ref(tree))?);
    let run = |engine: &Arc<Engine>, policy: Policy, before: usize| {
        let tell = |done: usize, _: usize| watch(before + done, 2 * jobs);
        trial::run(engine, &setup(tree, policy, (jobs, threads)), &tell)
    };
    let with = run(&with_tree, Policy::Tree, 0)?;
    let alone = run(engine, Policy::Advisor, jobs)?;
    Ok(Played {
        wiring: engine.harness().name.clone(),
        jobs: with.len(),
        found: found(&with),
        found_alone: found(&alone),
        minutes: minutes(&with),
        advisor_minutes: minutes(&alone),
    })
}

fn setup(tree: &Tree, policy: Policy, (jobs, threads): (usize, usize)) -> Setup {
    Setup {
        policy,
        seed: SEED,
        access: Access::MayUnsolder,
        singles: Some(0),
        pairs: 0,
        healthy: 0,
        drawn: jobs,
        complaint: Some(tree.complaint),
        outside: 0,
        slips: 0.0,
        priors_off: 1.0,
        threads,
    }
}

fn found(outcomes: &[Outcome]) -> usize {
    outcomes.iter().filter(|outcome| outcome.found).count()
}

fn minutes(outcomes: &[Outcome]) -> f64 {
    outcomes.iter().map(|outcome| outcome.minutes).sum::<f64>() / outcomes.len().max(1) as f64
}

/// Plays a few jobs with a tree that fails its check because it is slow by estimates, and judges it by them; a tree that
/// is too large for that, or for too many wirings, is told so. `watch` is told how many jobs are done, and of how many.
///
/// # Errors
///
/// As those of [`play`].
pub fn settled(
    checked: Checked,
    tree: &Tree,
    engines: &[Arc<Engine>],
    threads: usize,
    watch: &(dyn Fn(usize, usize) + Sync),
) -> Result<Checked, TrialError> {
    let Some(slow) = checked.too_slow() else { return Ok(checked) };
    let named = |engine: &&Arc<Engine>| slow.wirings.contains(&engine.harness().name);
    let meant: Vec<&Arc<Engine>> = engines.iter().filter(named).collect();
    if tree.steps.len() > MOST_STEPS || meant.len() > MOST_WIRINGS {
        return Ok(checked.by_estimates(tree.steps.len(), meant.len()));
    }
    let one = |(at, engine): (usize, &&Arc<Engine>)| {
        let tell = |done: usize, of: usize| watch(at * of + done, meant.len() * of);
        play(tree, engine, (PLAYED, threads), &tell)
    };
    let played = meant.iter().enumerate().map(one).collect::<Result<Vec<_>, _>>()?;
    Ok(checked.with_played(tree, played))
}

impl Checked {
    /// Returns whether the tree fails because it is slow, by estimates where no jobs were played.
    pub fn is_slow(&self) -> bool {
        self.too_slow().is_some()
    }

    /// Returns the finding that the tree fails by because it is slow.
    fn too_slow(&self) -> Option<&Finding> {
        self.findings.iter().find(|finding| finding.flaw == Flaw::Slow && finding.fails)
    }

    /// Takes in jobs that were played with the tree: whether it is slow is judged by them and no longer by estimates.
    #[must_use]
    pub fn with_played(mut self, tree: &Tree, played: Vec<Played>) -> Self {
        if !played.is_empty() {
            let estimated = self.too_slow().map(|slow| slow.says.clone());
            self.judged = estimated.map(|says| format!("estimated: {says}; {}", in_words(&played)));
            let minutes = played.iter().map(|one| (one.wiring.as_str(), one.minutes, one.advisor_minutes));
            let finding = slow(tree, &minutes.collect::<Vec<_>>());
            self.findings.retain(|finding| finding.flaw != Flaw::Slow);
            self.findings.extend(finding);
            in_order(&mut self.findings);
        }
        self.played = played;
        self
    }

    /// Says of a tree of so many steps on so many wirings that the estimate counts, since no job was played.
    fn by_estimates(mut self, steps: usize, wirings: usize) -> Self {
        let says = |slow: &Finding| {
            format!(
                "estimated: {}; no job was played: by itself that is done for {MOST_STEPS} steps on {MOST_WIRINGS} wirings \
                 at most, and here are {steps} on {wirings}; `tree check --played {PLAYED}` does it all the same",
                slow.says
            )
        };
        self.judged = self.too_slow().map(says);
        self
    }
}

/// Returns what was played: how many jobs, and the minutes on average over the wirings.
fn in_words(played: &[Played]) -> String {
    let count = played.len() as f64;
    let mean = |minutes: fn(&Played) -> f64| played.iter().map(minutes).sum::<f64>() / count;
    format!(
        "played {} jobs: {:.1} minutes with the tree, and {:.1} with the advisor alone",
        played.iter().map(|one| one.jobs).sum::<usize>(),
        mean(|one| one.minutes),
        mean(|one| one.advisor_minutes)
    )
}
