//! What comes of holding a tree against all wirings.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::figures::{Figures, figures};
use super::flaws_ends::{at_ends, strangers};
use super::flaws_read::{lacks, links, misfits, mistake, others_only};
use super::flaws_steps::{Ground, at_steps};
use super::passed::{Held, Passed, hold, hold_unadvised, unfit};
use super::{Finding, Flaw, Played};
use crate::source::Source;
use crate::trees::{Tree, TreeError, Wrong, examine};
use crate::workbench::{Engine, EngineError};

/// A tree may take so many times the advisor's minutes on average over the wirings, and so many on one wiring. Both are
/// estimates, and that of the advisor alone is low: it looks at the likeliest suspects. Played jobs tell more. Both limits
/// are our choice, no source.
const SLOW: f64 = 1.5;
const SLOW_ON_ONE: f64 = 2.0;

/// What was found out about a tree.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Checked {
    /// The name of the tree; `None` when its file cannot be read.
    pub tree: Option<String>,
    /// What is the matter with it, in the order of the file.
    pub findings: Vec<Finding>,
    /// What it does on each wiring that it is for.
    pub figures: Vec<Figures>,
    /// The wirings that it is not for, or could not be held against, each with the reason.
    pub not_for: Vec<(String, String)>,
    /// For each step by its name, the share of what can be behind the complaint that goes each way, in the order of
    /// [`Step::ways`](crate::trees::Step::ways), on average over the wirings.
    pub shares: BTreeMap<String, Vec<f64>>,
    /// What jobs took that were played with it, by wiring.
    pub played: Vec<Played>,
    /// Where it is slow by estimates, how that was judged; a sentence without a final stop.
    pub judged: Option<String>,
}

impl Checked {
    /// Returns whether the tree can be used as it is: advice does not count.
    pub fn passes(&self) -> bool {
        self.findings.iter().all(|finding| !finding.fails)
    }
}

/// Returns whether a tree's text is right enough for any wiring to say more about it.
pub fn can_be_held(source: &Source) -> bool {
    examine(source).is_ok_and(|(_, mistakes)| mistakes.iter().all(misplaced))
}

/// Returns whether a mistake is only that ways lead past a step or back to it: what the steps ask can be judged all the same.
fn misplaced(mistake: &TreeError) -> bool {
    matches!(mistake.wrong, Wrong::Unreachable | Wrong::Endless)
}

/// Holds a tree against every fault of every wiring that it is for. Of a tree with mistakes, whose ways are not gone, it is
/// told where its outcomes leave a gap on a wiring or overlap there.
///
/// `others` are the trees that it may lead to. `watch` is told how many wirings are done, and of how many.
pub fn check(
    source: &Source,
    others: &[Tree],
    engines: &[Arc<Engine>],
    watch: &dyn Fn(usize, usize),
) -> Checked {
    let tree = match examine(source) {
        Ok((tree, mistakes)) if mistakes.is_empty() => tree,
        Ok((tree, mistakes)) => return refused(&tree, &mistakes, others, engines),
        Err(mistakes) => return unreadable(&mistakes),
    };
    let mut work =
        Work { checked: Checked { tree: Some(tree.name.clone()), ..Checked::default() }, ..Work::default() };
    for (done, engine) in engines.iter().enumerate() {
        watch(done, engines.len());
        work.hold(&tree, others, engine);
    }
    watch(engines.len(), engines.len());
    work.finished(&tree, others)
}

/// Holds a tree that can be read and leads to no other against one wiring. The advisor is not asked: nothing is said of
/// what is slow, nor of what would tell more.
pub(super) fn check_on(tree: &Tree, engine: &Engine) -> Checked {
    let mut work =
        Work { checked: Checked { tree: Some(tree.name.clone()), ..Checked::default() }, ..Work::default() };
    work.take_in(engine, hold_unadvised(tree, engine));
    work.finished(tree, &[])
}

fn unreadable(mistakes: &[TreeError]) -> Checked {
    let mut findings: Vec<Finding> = mistakes.iter().map(mistake).collect();
    in_order(&mut findings);
    Checked { findings, ..Checked::default() }
}

/// Returns what is said of a tree whose ways cannot be gone.
fn refused(tree: &Tree, mistakes: &[TreeError], others: &[Tree], engines: &[Arc<Engine>]) -> Checked {
    let mut found: Vec<Finding> = mistakes.iter().map(mistake).collect();
    if mistakes.iter().all(misplaced) {
        let place = |finding: &Finding| (finding.line, finding.column, finding.flaw);
        let known: BTreeSet<(usize, usize, Flaw)> = found.iter().map(place).collect();
        let more = misfits(&on_wirings(tree, engines)).into_iter().chain(links(tree, others));
        found.extend(more.filter(|finding| !known.contains(&place(finding))));
    }
    in_order(&mut found);
    Checked { tree: Some(tree.name.clone()), findings: found, ..Checked::default() }
}

/// Returns what does not fit the wirings that a tree is for, each with the wiring's name.
fn on_wirings(tree: &Tree, engines: &[Arc<Engine>]) -> Vec<(String, TreeError)> {
    let of = |engine: &Arc<Engine>| {
        let name = engine.harness().name.clone();
        unfit(tree, engine).into_iter().map(move |error| (name.clone(), error))
    };
    engines.iter().filter(|engine| tree.applies(engine.harness())).flat_map(of).collect()
}

/// Puts findings into the order of the file.
pub(super) fn in_order(found: &mut [Finding]) {
    found.sort_by(|a, b| (a.line, a.column, a.flaw, &a.says).cmp(&(b.line, b.column, b.flaw, &b.says)));
}

/// What was found out so far.
#[derive(Default)]
struct Work<'e> {
    checked: Checked,
    passed: Vec<Passed<'e>>,
    misfits: Vec<(String, TreeError)>,
}

impl<'e> Work<'e> {
    fn hold(&mut self, tree: &Tree, others: &[Tree], engine: &'e Engine) {
        if !tree.is_for_wiring(&engine.harness().name) {
            self.checked.not_for.push((engine.harness().name.clone(), others_only(tree)));
            return;
        }
        if let Some(feature) = tree.lacking(engine.harness()) {
            self.checked.not_for.push((engine.harness().name.clone(), lacks(tree, feature)));
            return;
        }
        self.take_in(engine, hold(tree, others, engine));
    }

    fn take_in(&mut self, engine: &Engine, held: Result<Held<'e>, EngineError>) {
        let wiring = engine.harness().name.clone();
        match held {
            Ok(Held::Passed(passed)) => self.passed.push(*passed),
            Ok(Held::Misfit(errors)) => {
                self.misfits.extend(errors.into_iter().map(|error| (wiring.clone(), error)));
            }
            Err(error) => self.checked.not_for.push((wiring, error.to_string())),
        }
    }

    fn finished(self, tree: &Tree, others: &[Tree]) -> Checked {
        let Self { mut checked, passed, misfits: errors } = self;
        checked.figures = passed.iter().map(figures).collect();
        checked.shares = shares(tree, &passed);
        let ground = Ground { tree, passed: &passed };
        let mut found = links(tree, others);
        found.extend(misfits(&errors));
        found.extend(at_steps(&ground));
        found.extend(at_ends(&ground));
        found.extend(strangers(&ground, others));
        found.extend(slow(tree, &estimated(&checked.figures)));
        in_order(&mut found);
        Checked { findings: found, ..checked }
    }
}

fn shares(tree: &Tree, passed: &[Passed<'_>]) -> BTreeMap<String, Vec<f64>> {
    let count = passed.len().max(1) as f64;
    let mean = |step: usize, way: usize| {
        let ways = passed.iter().map(|passed| &passed.flowed.visits[step].ways);
        ways.filter_map(|ways| ways.get(way)).sum::<f64>() / count
    };
    let of = |step: usize| -> Vec<f64> {
        (0..=tree.steps[step].cannot_way()).map(|way| mean(step, way)).collect()
    };
    tree.steps.iter().enumerate().map(|(step, named)| (named.name.clone(), of(step))).collect()
}

/// Returns each wiring with the estimated minutes of the tree and of the advisor alone.
fn estimated(figures: &[Figures]) -> Vec<(&str, f64, f64)> {
    figures.iter().map(|f| (f.wiring.as_str(), f.minutes, f.advisor_minutes)).collect()
}

/// Returns whether the tree takes much longer than the advisor does alone; for each wiring there are the minutes of both.
pub(super) fn slow(tree: &Tree, wirings: &[(&str, f64, f64)]) -> Option<Finding> {
    let with: f64 = wirings.iter().map(|(_, with, _)| with).sum();
    let without: f64 = wirings.iter().map(|(_, _, without)| without).sum();
    let fails = with > SLOW * without && without > 0.0;
    let much = |(_, with, without): &&(&str, f64, f64)| *without > 0.0 && *with > SLOW_ON_ONE * without;
    let named: Vec<&(&str, f64, f64)> = wirings.iter().filter(|one| fails || much(one)).collect();
    if named.is_empty() {
        return None;
    }
    let count = named.len() as f64;
    let says = format!(
        "it takes {:.1} minutes on average with the tree, and {:.1} with the advisor alone",
        named.iter().map(|(_, with, _)| with).sum::<f64>() / count,
        named.iter().map(|(_, _, without)| without).sum::<f64>() / count
    );
    let (line, column) = tree.position(tree.start, None);
    let wirings = named.iter().map(|(wiring, _, _)| (*wiring).to_owned()).collect();
    let hint =
        "ask quick readings that tell much first, and lead to `Advisor` where the tree knows no better"
            .to_owned();
    Some(Finding { flaw: Flaw::Slow, fails, line, column, step: String::new(), wirings, says, hint })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trees::load;

    fn tree() -> Tree {
        let step = "(name: \"a\", say: \"s\", why: \"w\", ask: Look([(answer: \"a\", means: \"m\", then: Advisor)]))";
        let text =
            format!("(format: 1, name: \"t\", title: \"t\", complaint: Hum, start: \"a\", steps: [{step}])");
        load(&Source::new("t.ron", text)).unwrap()
    }

    // By hand: 4 and 3 minutes beside 2 and 2 are 1.75 times as many; 5 and 3 beside 2 and 4 are 1.33 times as many, but on
    // the first wiring 2.5 times.
    #[test]
    fn a_tree_that_takes_much_longer_is_slow() {
        let all = slow(&tree(), &[("a", 4.0, 2.0), ("b", 3.0, 2.0)]).unwrap();
        assert!(all.fails && all.wirings == ["a", "b"] && all.says.contains("3.5 minutes"), "{all:?}");
        let one = slow(&tree(), &[("a", 5.0, 2.0), ("b", 3.0, 4.0)]).unwrap();
        assert!(!one.fails && one.wirings == ["a"], "{one:?}");
        assert_eq!(slow(&tree(), &[("a", 2.0, 2.0), ("b", 3.0, 2.0)]), None);
    }
}
