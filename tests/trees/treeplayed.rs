//! Whether a tree is slow, judged by jobs that were played with it.

use std::slice::from_ref;
use std::sync::Arc;

use lugwise::circuit;
use lugwise::readings::{Access, Meter};
use lugwise::source::Source;
use lugwise::trees::{Tree, load};
use lugwise::treework::{Checked, Finding, Flaw, PLAYED, Played, settled};
use lugwise::trial::{Outcome, Policy, Setup, run};
use lugwise::workbench::Engine;

/// So many jobs are played, all from one seed.
const JOBS: usize = 3;
/// Readings of the detour, and the minutes of one: 12 s to read, 25 s to flex, 4 s to turn the volume (common practice, no
/// source; `advisor/cost.rs`).
const DETOUR: usize = 9;
const ONE: f64 = (12.0 + 25.0 + 4.0) / 60.0;

/// Returns a tree that reads the plug, and before that so many times more with the volume elsewhere, whatever comes of it.
fn tree(detour: usize) -> Tree {
    let step = |name: &str, how: &str, then: &str| {
        let outcome = format!("(when: AnythingElse, means: \"so\", then: {then})");
        let ask = format!("red: \"plug.tip\", black: \"plug.sleeve\", {how}, outcomes: [{outcome}]");
        format!("(name: \"{name}\", say: \"Read it.\", why: \"To know.\", ask: Measure({ask})),\n")
    };
    let detours = (1..=detour).map(|volume| {
        let next = if volume < detour { (volume + 1).to_string() } else { "all up".to_owned() };
        let how = format!("set: {{\"volumes\": {volume}}}, flex: \"plug\"");
        step(&volume.to_string(), &how, &format!("Step(\"{next}\")"))
    });
    let last = step("all up", "set: {\"knobs\": 10}", "Advisor");
    let steps: String = detours.chain([last]).collect();
    let start = if detour > 0 { "1" } else { "all up" };
    let head = "format: 1, name: \"own\", title: \"Own\", complaint: Silent";
    let text = format!("({head}, start: \"{start}\", steps: [\n{steps}])\n");
    load(&Source::new("own.ron", text)).unwrap_or_else(|error| panic!("{error}"))
}

fn minutes(engine: &Arc<Engine>, tree: &Tree, policy: Policy) -> (usize, f64) {
    let setup = Setup {
        policy,
        access: Access::MayUnsolder,
        singles: Some(0),
        drawn: JOBS,
        complaint: Some(tree.complaint),
        ..Setup::default()
    };
    let all: Vec<Outcome> = run(engine, &setup, &|_, _| {}).unwrap();
    assert_eq!(all.len(), JOBS);
    let minutes = all.iter().map(|outcome| outcome.minutes).sum::<f64>() / JOBS as f64;
    (all.iter().filter(|outcome| outcome.found).count(), minutes)
}

/// Returns what the same instruments take with a tree and without.
fn played(engine: &Arc<Engine>, tree: &Tree) -> Played {
    let with_tree = Arc::new(engine.with_trees(from_ref(tree)).unwrap());
    let (found, with) = minutes(&with_tree, tree, Policy::Tree);
    let (found_alone, alone) = minutes(engine, tree, Policy::Advisor);
    let wiring = engine.harness().name.clone();
    Played { wiring, jobs: JOBS, found, found_alone, minutes: with, advisor_minutes: alone }
}

/// Returns what is said of a tree by estimates: that it is slow.
fn slow_by_estimates(tree: &Tree) -> Checked {
    let (step, says, hint) = (String::new(), "by estimates".to_owned(), String::new());
    let (flaw, wirings) = (Flaw::Slow, vec!["one-pickup".to_owned()]);
    let finding = Finding { flaw, fails: true, line: 1, column: 1, step, wirings, says, hint };
    Checked { tree: Some(tree.name.clone()), findings: vec![finding], ..Checked::default() }
}

#[test]
fn played_jobs_judge_whether_a_tree_is_slow_and_estimates_no_longer() {
    let (name, text) = circuit::built_in().iter().find(|(name, _)| *name == "one-pickup.ron").unwrap();
    let engine = Arc::new(Engine::new(&Source::new(*name, *text), Meter::ordinary(), &[]).unwrap());
    let (straight, round) = (tree(0), tree(DETOUR));
    let (quick, slow) = (played(&engine, &straight), played(&engine, &round));
    let longer = slow.minutes - quick.minutes;
    assert!((longer - DETOUR as f64 * ONE).abs() < 1.0, "the detour takes {longer} minutes");
    assert_eq!(slow.advisor_minutes, quick.advisor_minutes, "the same instruments");

    let one = [Arc::clone(&engine)];
    let judged = settled(slow_by_estimates(&straight), &straight, &one, 2, &|_, _| {}).unwrap();
    assert!(judged.passes() && judged.played.len() == 1, "{:#?}", judged.findings);
    let says = judged.judged.unwrap_or_default();
    assert!(says.starts_with(&format!("estimated: by estimates; played {PLAYED} jobs: ")), "{says}");

    let many = [&engine; 4].map(Arc::clone);
    let estimated = settled(slow_by_estimates(&straight), &straight, &many, 2, &|_, _| {}).unwrap();
    assert!(!estimated.passes() && estimated.played.is_empty(), "too many wirings: the estimate counts");
    assert!(estimated.judged.is_some_and(|says| says.contains("no job was played")));

    let passes = slow_by_estimates(&straight).with_played(&straight, vec![quick.clone()]);
    assert!(passes.passes() && passes.findings.is_empty(), "{:#?}", passes.findings);
    assert_eq!(passes.played, [quick]);

    let fails = slow_by_estimates(&round).with_played(&round, vec![slow.clone()]);
    let [finding] = &fails.findings[..] else { panic!("{:#?}", fails.findings) };
    assert!(finding.flaw == Flaw::Slow && finding.fails && !fails.passes(), "{finding:?}");
    assert_eq!(finding.wirings, ["one-pickup"]);
    assert!(finding.says.contains(&format!("{:.1} minutes", slow.minutes)), "{}", finding.says);

    let unplayed = slow_by_estimates(&straight).with_played(&straight, Vec::new());
    assert_eq!(unplayed, slow_by_estimates(&straight), "estimates stand where nothing was played");
}
