//! Good trees made wrong in one place each: every mistake is found, and its line is told.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use lugwise::circuit::{self, Harness, PartKind};
use lugwise::readings::Meter;
use lugwise::source::Source;
use lugwise::trees::{self, Tree};
use lugwise::treework::{Checked, Flaw, check};
use lugwise::workbench::Engine;

use crate::mutate::{Base, Mutant, mutants};
use crate::tree_text::Text;

/// The wirings that the mutants are checked on: those that take little time.
const WIRINGS: [&str; 3] = ["one-pickup.ron", "two-humbuckers.ron", "three-single-coils.ron"];

/// Trees that offer a place for what the program's own may not.
const MADE: [(&str, &str); 2] = [
    ("made_silent.ron", include_str!("../data/made_silent.ron")),
    ("made_ranges.ron", include_str!("../data/made_ranges.ron")),
];

/// How many mutants of a kind are checked, taken evenly, where every one has the tree worked through on a wiring.
const WORKED_THROUGH: usize = 12;

/// The kinds that the text and one look at the wiring tell.
const TOLD_AT_ONCE: [&str; 7] = [
    "gap: an outcome taken out",
    "gap: narrowed",
    "overlap",
    "unreachable: no way",
    "endless",
    "unknown name",
    "unknown terminal",
];

/// The trees with their wirings.
struct Bench {
    files: Vec<(String, String)>,
    trees: Vec<Tree>,
    engines: Vec<Arc<Engine>>,
}

impl Bench {
    fn new() -> Self {
        let files: Vec<(String, String)> = trees::built_in()
            .iter()
            .chain(&MADE)
            .map(|(name, text)| ((*name).to_owned(), (*text).to_owned()))
            .collect();
        let load = |(name, text): &(String, String)| {
            trees::load(&Source::new(name.as_str(), text.as_str())).unwrap_or_else(|error| panic!("{error}"))
        };
        let trees: Vec<Tree> = files.iter().map(load).collect();
        let engines = WIRINGS.iter().map(|name| Arc::new(engine(name, &trees))).collect();
        Self { files, trees, engines }
    }

    fn checked(&self, file: &str, text: &str, wiring: usize) -> Checked {
        let own = self.files.iter().position(|(name, _)| name == file).unwrap();
        let others: Vec<Tree> = (0..self.trees.len())
            .filter(|at| *at != own && *at < trees::built_in().len())
            .map(|at| self.trees[at].clone())
            .collect();
        let engines = [Arc::clone(&self.engines[wiring])];
        check(&Source::new(file, text), &others, &engines, &|_, _| {})
    }

    /// Returns what is said of every unchanged tree, by its file and the index of the wiring.
    fn before(&self) -> BTreeMap<(String, usize), Checked> {
        let all = (0..self.files.len()).flat_map(|at| (0..WIRINGS.len()).map(move |wiring| (at, wiring)));
        let all: Vec<(usize, usize)> = all.collect();
        let checked = side_by_side(&all, |(at, wiring)| {
            let (file, text) = &self.files[*at];
            self.checked(file, text, *wiring)
        });
        let keys = all.iter().map(|(at, wiring)| (self.files[*at].0.clone(), *wiring));
        keys.zip(checked).collect()
    }

    fn base(&self, at: usize, before: &BTreeMap<(String, usize), Checked>) -> Base {
        let (file, text) = &self.files[at];
        let (tree, lines) = (&self.trees[at], Text::of(text));
        let steps = lines.steps();
        assert_eq!(steps.len(), tree.steps.len(), "{file} is laid out in another way than the other trees");
        for (step, known) in steps.iter().zip(&tree.steps) {
            assert_eq!(step.name, known.name, "{file}");
            assert_eq!(step.ways.len() + 1, known.ways().count(), "{file}: {}", step.name);
        }
        let fitted = |engine: &Arc<Engine>, step: &str| {
            let tree = engine.trees.iter().find(|fitted| fitted.tree().name == tree.name);
            tree.is_some_and(|tree| tree.step(step).is_some())
        };
        let on = |step: &str| self.engines.iter().position(|engine| fitted(engine, step));
        let used = steps.iter().filter_map(|step| Some((step.name.clone(), on(&step.name)?))).collect();
        let shares = |wiring: usize| (wiring, before[&(file.clone(), wiring)].shares.clone());
        Base {
            file: file.clone(),
            text: lines,
            steps,
            complaint: tree.complaint,
            used,
            shares: (0..WIRINGS.len()).map(shares).collect(),
            inside: self.engines.iter().map(|engine| inside(engine.harness())).collect(),
        }
    }
}

fn engine(name: &str, trees: &[Tree]) -> Engine {
    let (name, text) = circuit::built_in().iter().find(|(known, _)| *known == name).unwrap();
    Engine::new(&Source::new(*name, *text), Meter::ordinary(), trees)
        .unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// Returns the two legs of a capacitor that must be opened for, and the capacitor.
fn inside(harness: &Harness) -> [String; 3] {
    let capacitor =
        harness.parts.iter().find(|part| matches!(part.kind, PartKind::Capacitor { .. })).unwrap();
    let legs: Vec<_> = capacitor.terminals.iter().map(|leg| &harness[*leg]).collect();
    assert!(legs.iter().all(|leg| leg.probe && !harness[leg.place].outside), "{}", capacitor.name);
    [legs[0].name.clone(), legs[1].name.clone(), capacitor.name.clone()]
}

/// Works on all of a list with every core there is; the answers are in the list's order.
fn side_by_side<T: Sync, R: Send>(list: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let take = || {
        let mut done = Vec::new();
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(one) = list.get(at) else { return done };
            done.push((at, work(one)));
        }
    };
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let mut all: Vec<(usize, R)> = std::thread::scope(|scope| {
        let hands: Vec<_> = (0..cores).map(|_| scope.spawn(take)).collect();
        hands.into_iter().flat_map(|hand| hand.join().unwrap()).collect()
    });
    all.sort_by_key(|(at, _)| *at);
    all.into_iter().map(|(_, done)| done).collect()
}

/// Keeps so many of each kind that takes its time, evenly from all trees.
fn fewer(all: Vec<Mutant>) -> Vec<Mutant> {
    let mut many: BTreeMap<&str, usize> = BTreeMap::new();
    all.iter().for_each(|mutant| *many.entry(mutant.kind).or_default() += 1);
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut kept = all;
    kept.retain(|mutant| {
        let at = seen.entry(mutant.kind).or_default();
        *at += 1;
        let count = many[mutant.kind].max(WORKED_THROUGH);
        TOLD_AT_ONCE.contains(&mutant.kind)
            || *at * WORKED_THROUGH / count != (*at - 1) * WORKED_THROUGH / count
    });
    kept
}

/// Returns whether one finding names a flaw of the mutant at its lines, and the unchanged tree has no such finding.
fn found(mutant: &Mutant, before: &Checked, after: &Checked) -> bool {
    after.findings.iter().any(|finding| {
        let known = before.findings.iter().any(|known| {
            known.flaw == finding.flaw && known.step == finding.step && known.says == finding.says
        });
        mutant.flaws.contains(&finding.flaw) && mutant.lines.contains(&finding.line) && !known
    })
}

/// Returns what is needed to see why a mutant was missed: its lines, and what was said of it.
fn missed(mutant: &Mutant, after: &Checked) -> String {
    let lines: Vec<&str> = mutant.text.lines().collect();
    let made =
        mutant.lines.iter().filter_map(|line| Some(format!("  {line}: {}", lines.get(line - 1)?.trim())));
    let said = after.findings.iter();
    let said = said.map(|f| {
        format!("  said at {}:{} of \"{}\": {}: {}", f.line, f.column, f.step, f.flaw.name(), f.says)
    });
    let names: Vec<&str> = mutant.flaws.iter().map(|flaw| flaw.name()).collect();
    let head = format!("{} in {} on {}, one of {names:?}", mutant.kind, mutant.file, WIRINGS[mutant.wiring]);
    [head].into_iter().chain(made.take(8)).chain(said.take(12)).collect::<Vec<_>>().join("\n")
}

#[test]
fn every_mistake_is_found_at_its_line() {
    let bench = Bench::new();
    let before = bench.before();
    // A step that listens is laid out in another way than those that read.
    let reads = |at: &usize| !bench.files[*at].1.contains("ask: Hear(");
    let bases = (0..bench.files.len()).filter(reads).map(|at| bench.base(at, &before));
    let all: Vec<Mutant> = fewer(bases.flat_map(|base| mutants(&base)).collect());
    let after = side_by_side(&all, |mutant| bench.checked(&mutant.file, &mutant.text, mutant.wiring));
    let mut table: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
    let mut misses = Vec::new();
    for (mutant, after) in all.iter().zip(&after) {
        let before = &before[&(mutant.file.clone(), mutant.wiring)];
        let row = table.entry(mutant.kind).or_default();
        row.0 += 1;
        if found(mutant, before, after) {
            row.1 += 1;
        } else {
            misses.push(missed(mutant, after));
        }
    }
    println!("{:<28}{:>8}{:>8}", "kind", "mutants", "found");
    for (kind, (made, found)) in &table {
        println!("{kind:<28}{made:>8}{found:>8}");
    }
    println!("{:<28}{:>8}{:>8}", "all", all.len(), all.len() - misses.len());
    assert!(misses.is_empty(), "{} mistakes are not found:\n{}", misses.len(), misses.join("\n\n"));
    assert!(all.len() >= 200, "{} mutants", all.len());
    assert_eq!(table.len(), 16, "every kind has its mutants: {:?}", table.keys());
}

/// Every mutant differs from its tree, and says in which lines: one that did not could not be found.
#[test]
fn a_mutant_marks_the_lines_that_it_changes() {
    let mut text = Text::of(MADE[0].1);
    assert_eq!(text.joined(), MADE[0].1);
    let steps = text.steps();
    assert_eq!(steps.iter().map(|step| step.ways.len()).collect::<Vec<_>>(), [5, 3, 3]);
    let way = &steps[0].ways[1];
    assert_eq!((way.when.as_str(), way.leads.as_str()), ("NearZero", "Step(\"half way\")"));
    text.replace(way.then.clone(), vec!["                        then: Advisor,".to_owned()]);
    let marked = text.changed();
    text.prune();
    assert_eq!(marked, text.changed(), "what is taken out stands behind it");
    assert_eq!(
        text.steps().iter().map(|step| step.name.clone()).collect::<Vec<_>>(),
        ["all up", "sleeve to strings"]
    );
}

/// A tree that listens, each step and each way on a line of its own.
const HEARD: &str = r#"(format: 1, name: "made-heard", title: "By ear", complaint: VolumeOpen, only: [Volume], start: "by ear", steps: [
    (name: "by ear", say: "Turn the volume down. Is it silent?", why: "A sound pot puts hot on ground.", ask: Hear(
        check: Closes,
        set: {"knobs": 10, "switches": "first"},
        about: "volume",
        yes: (means: "it closes", then: Advisor),
        no: (means: "it does not close", then: Step("volume down")))),
    (name: "volume down", say: "Read tip to sleeve with every volume at 0.", why: "The wiper sits on ground.", ask: Measure(
        red: "plug.tip", black: "plug.sleeve", set: {"tones": 10, "volumes": 0, "switches": "first"}, outcomes: [
        (when: NearHealthy, means: "it comes down to ground", then: Advisor),
        (when: AnythingElse, means: "it does not", then: Suspect(say: "the volume's ground lug", at: ["volume"]))])),
])
"#;

/// A tree that reads a short, behind which whatever is left is silent: to listen there is outside the brackets, which the
/// course IT0338 calls irrelevant.
const SHORT: &str = r#"(format: 1, name: "made-short", title: "Silent", complaint: Silent, only: [Passive], start: "all up", steps: [
    (name: "all up", say: "Read tip to sleeve.", why: "It goes through everything.", ask: Measure(
        red: "plug.tip", black: "plug.sleeve", set: {"knobs": 10, "switches": "first"}, outcomes: [
        (when: NearZero, means: "hot and ground touch", then: Step("half way")),
        (when: AnythingElse, means: "no plain short", then: Advisor)])),
    (name: "half way", say: "Every volume at 5.", why: "The half track hides what is behind it.", ask: Measure(
        red: "plug.tip", black: "plug.sleeve", set: {"tones": 10, "volumes": 5, "switches": "first"}, outcomes: [
        (when: NearZero, means: "it is on the plug's side", then: Suspect(say: "at the jack", at: ["jack", "volume"])),
        (when: AnythingElse, means: "it is on the pickup's side", then: Advisor)])),
])
"#;

/// A step that listens, put in, with where it leads.
fn hears(name: &str, heard: &str, yes: &str, no: &str) -> String {
    format!(
        "    (name: \"{name}\", say: \"Listen.\", why: \"It is put in.\", ask: Hear({heard},\n        yes: (means: \"so\", \
         then: {yes}), no: (means: \"not so\", then: {no}))),\n"
    )
}

/// Something changed in a tree: what, into what, the flaws that say so, and the line where they are told.
struct Changed {
    kind: &'static str,
    text: String,
    flaws: &'static [Flaw],
    line: usize,
}

/// Changes one place of a text; the finding is expected in the line that begins with some words.
fn changed(
    kind: &'static str,
    text: &str,
    changes: &[(&str, &str)],
    flaws: &'static [Flaw],
    told_at: &str,
) -> Changed {
    let change = |text: String, (from, to): &(&str, &str)| {
        assert_eq!(text.matches(from).count(), 1, "{kind}: {from}");
        text.replacen(from, to, 1)
    };
    let text = changes.iter().fold(text.to_owned(), change);
    let line = text.lines().position(|line| line.trim_start().starts_with(told_at));
    let line = line.unwrap_or_else(|| panic!("{kind}: no line begins with {told_at}")) + 1;
    Changed { kind, text, flaws, line }
}

/// Every kind of mistake that can be made with a step that listens.
fn mistakes_by_ear() -> Vec<Changed> {
    const NO: &str = "no: (means: \"it does not close\", then: Step(\"volume down\"))))";
    const YES: &str = "yes: (means: \"it closes\", then: Advisor)";
    const ON: &str = "yes: (means: \"it closes\", then: Step(\"volume down\"))";
    let closes = "check: Closes, set: {\"knobs\": 10, \"switches\": \"first\"}, about: \"volume\"";
    let before_next = "    (name: \"volume down\"";
    let no = |then: &str| format!("no: (means: \"it does not close\", then: {then})))");
    let put = |step: &str| format!("{step}{before_next}");
    let again = put(&hears("once more", closes, "Advisor", "Step(\"volume down\")"));
    let dead = put(&hears("nobody comes", closes, "Advisor", "Advisor"));
    let idle = put(&hears("for nothing", "check: Sound", "Step(\"half way\")", "Step(\"half way\")"))
        .replace("volume down", "half way");
    let (acquitted, battery, strings) = (
        no("NotTheInstrument"),
        no("Suspect(say: \"what cannot be\", at: [\"battery\"])"),
        no("Suspect(say: \"what cannot be\", at: [\"strings\"])"),
    );
    let once_more = no("Step(\"once more\")");
    let mut all = unreadable_by_ear();
    all.extend([
        changed("acquitted", HEARD, &[(YES, ON), (NO, acquitted.as_str())], &[Flaw::WrongEnd], "no: "),
        changed(
            "a part it has not",
            HEARD,
            &[(YES, ON), (NO, battery.as_str())],
            &[Flaw::Contradicted],
            "no: ",
        ),
        changed("another part", HEARD, &[(YES, ON), (NO, strings.as_str())], &[Flaw::Contradicted], "no: "),
        changed(
            "redundant",
            HEARD,
            &[(NO, once_more.as_str()), (before_next, again.as_str())],
            &[Flaw::Redundant],
            "(name: \"once more\"",
        ),
        changed(
            "irrelevant",
            SHORT,
            &[
                ("then: Step(\"half way\")", "then: Step(\"for nothing\")"),
                ("    (name: \"half way\"", idle.as_str()),
            ],
            &[Flaw::Irrelevant],
            "(name: \"for nothing\"",
        ),
        changed(
            "unreachable",
            HEARD,
            &[(before_next, dead.as_str())],
            &[Flaw::Unreachable],
            "(name: \"nobody comes\"",
        ),
        changed(
            "endless",
            HEARD,
            &[("to ground\", then: Advisor", "to ground\", then: Step(\"by ear\")")],
            &[Flaw::Endless],
            "(when: NearHealthy, means: \"it comes down to ground\"",
        ),
    ]);
    all
}

/// Mistakes that can be seen without a circuit, or with the controls of one.
fn unreadable_by_ear() -> Vec<Changed> {
    const YES: &str = "yes: (means: \"it closes\", then: Advisor)";
    vec![
        changed("unknown check", HEARD, &[("Closes", "Close")], &[Flaw::CannotBeRead], "check: "),
        changed(
            "unknown control",
            HEARD,
            &[("about: \"volume\"", "about: \"volum\"")],
            &[Flaw::DoesNotFit],
            "about: ",
        ),
        changed(
            "without a way",
            HEARD,
            &[(YES, "yes: (means: \"\", then: Advisor)")],
            &[Flaw::CannotBeRead],
            "yes: ",
        ),
    ]
}

#[test]
fn every_mistake_by_ear_is_found_at_its_line() {
    let engines = [Arc::new(engine(WIRINGS[0], &[]))];
    let held = |text: &str| check(&Source::new("made.ron", text), &[], &engines, &|_, _| {});
    let before = [held(HEARD), held(SHORT)];
    for good in &before {
        let broken = good.findings.iter().filter(|finding| finding.fails && finding.flaw != Flaw::Slow);
        assert_eq!(broken.count(), 0, "{:#?}", good.findings);
    }
    for made in mistakes_by_ear() {
        let after = held(&made.text);
        let told = after.findings.iter().any(|finding| {
            let known = before.iter().flat_map(|before| &before.findings).any(|known| known == finding);
            made.flaws.contains(&finding.flaw) && finding.line == made.line && !known
        });
        assert!(told, "{}, in line {}:\n{}\n{:#?}", made.kind, made.line, made.text, after.findings);
    }
}
