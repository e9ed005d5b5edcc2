//! `tree check`: trees held against circuits, with what is wrong, figures for each wiring, and the same as a table.

use std::collections::BTreeSet;
use std::io;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

use serde_json::{Value, json};

use super::failure::{Failure, Problem};
use super::reply::{Answer, Reply, columns, put, refuse_taken};
use super::tree::{find, known};
use super::trial::{Progress, cores};
use super::wirings::{self, Wiring};
use super::{engine, say, tree_played};
use crate::source::{Source, advice};
use crate::trees::{self, Tree};
use crate::treework::{Checked, Figures, Finding, Flaw};
use crate::workbench::Engine;

/// Checks trees on wirings; the answer is wrong when one of them does not pass.
pub(super) fn check(
    trees: &[String],
    wirings: &[String],
    (threads, played): (Option<usize>, Option<usize>),
    table: Option<&Path>,
    quiet: bool,
) -> Answer {
    table.map_or(Ok(()), |file| refuse_taken(file, MADE_WITH))?;
    let read = trees.iter().map(|name| readable(find(name))).collect::<Result<Vec<_>, _>>()?;
    let sources: Vec<Source> = read.iter().filter_map(|read| read.as_ref().ok()).cloned().collect();
    let threads = threads.unwrap_or_else(cores);
    let wanted = if wirings.is_empty() { meant(&sources)? } else { named(wirings)? };
    let all = all_known(&sources)?;
    let (right, wrong): (Vec<&Source>, Vec<&Source>) =
        sources.iter().partition(|source| engine::tree_can_be_held(source));
    let engines = if right.is_empty() {
        Vec::new()
    } else {
        if !quiet {
            wrong
                .iter()
                .flat_map(|source| mistakes(source, &all))
                .for_each(|line| say(&mut io::stderr(), &line));
        }
        engines(&wanted, threads, quiet)?
    };
    let on_all = |source: &Source| wirings.is_empty() && names_wirings(source);
    let held = in_order(sources.len(), threads, &|index| {
        let source = &sources[index];
        let named = if on_all(source) { for_source(source, &engines) } else { engines.clone() };
        with_unknown(one(source, &all, &named, quiet), source, wirings)
    });
    let play = |(source, checked): (&Source, Checked)| match (trees::load(source), played) {
        (Ok(tree), None) => tree_played::settled(checked, &tree, &engines, threads, quiet),
        (Ok(tree), Some(jobs)) => {
            Ok(checked.with_played(&tree, tree_played::played(&tree, &engines, (jobs, threads), quiet)?))
        }
        (Err(_), _) => Ok(checked),
    };
    let checked: Vec<Checked> = sources.iter().zip(held).map(play).collect::<Result<_, Failure>>()?;
    if let Some(file) = table {
        put(file, markdown(trees, wirings, &checked).as_bytes())?;
    }
    let all = each(&read, checked);
    let mut text: Vec<String> = all.iter().flat_map(|(file, checked)| told(file, checked)).collect();
    text.extend(table.map(|file| format!("{} written", file.display())));
    let passes = all.iter().all(|(_, checked)| sound(checked));
    let json = json!({
        "passes": passes,
        "trees": all.iter().map(|(file, checked)| as_json(file, checked)).collect::<Vec<_>>(),
        "table": table.map(|file| file.display().to_string()),
    });
    Ok(Reply { wrong: !passes, ..Reply::new(text.join("\n"), json) })
}

/// Returns a file that was read, or where it is no text; what is not there at all stops everything.
fn readable(found: Result<Source, Failure>) -> Result<Result<Source, Problem>, Failure> {
    match found {
        Ok(source) => Ok(Ok(source)),
        Err(failure) => match failure.problems() {
            [problem] if problem.line.is_some() => Ok(Err(problem.clone())),
            _ => Err(failure),
        },
    }
}

/// Returns every file in order, each with what was found out; `checked` are those that were read.
fn each(read: &[Result<Source, Problem>], checked: Vec<Checked>) -> Vec<(String, Checked)> {
    let mut checked = checked.into_iter();
    let one = |read: &Result<Source, Problem>| match read {
        Ok(source) => (source.name.clone(), checked.next().unwrap_or_default()),
        Err(problem) => (problem.file.clone().unwrap_or_default(), no_text(problem)),
    };
    read.iter().map(one).collect()
}

/// Returns what is said of a file that is no text.
fn no_text(problem: &Problem) -> Checked {
    let finding = Finding {
        flaw: Flaw::CannotBeRead,
        fails: true,
        line: problem.line.unwrap_or(1),
        column: problem.column.unwrap_or(1),
        step: String::new(),
        wirings: Vec::new(),
        says: problem.message.clone(),
        hint: problem.hint.clone().unwrap_or_default(),
    };
    Checked { findings: vec![finding], ..Checked::default() }
}

/// Returns what tells how far the work on something has come.
pub(super) fn progress(of: &str, quiet: bool) -> Progress {
    Progress::new(of, quiet)
}

/// Returns what is wrong with a tree's text: of such a tree no wiring is asked.
fn mistakes(source: &Source, all: &[Tree]) -> Vec<String> {
    let checked = engine::tree_checked(source, all, &[], &|_, _| {});
    checked.findings.iter().map(|finding| found(&source.name, finding)).collect()
}

/// Returns the wirings named in order.
fn named(names: &[String]) -> Result<Vec<Wiring>, Failure> {
    names.iter().map(|name| wirings::find(name)).collect()
}

/// Returns the wirings that some trees are for: those that they name, and all that come with the program where one of them
/// names none.
fn meant(sources: &[Source]) -> Result<Vec<Wiring>, Failure> {
    let trees: Vec<Tree> = sources.iter().filter_map(|source| trees::load(source).ok()).collect();
    let every = trees.is_empty() || trees.iter().any(|tree| tree.wirings.is_empty());
    let names: BTreeSet<&String> = trees.iter().flat_map(|tree| &tree.wirings).collect();
    let mut all = wirings::built_in()?;
    all.retain(|wiring| every || names.contains(&wiring.harness.name));
    for name in names {
        let known = all.iter().any(|wiring| wiring.harness.name == *name);
        let own = wirings::find(name).ok().filter(|own| !known && own.harness.name == *name);
        all.extend(own);
    }
    Ok(all)
}

fn names_wirings(source: &Source) -> bool {
    trees::load(source).is_ok_and(|tree| !tree.wirings.is_empty())
}

/// Returns the engines of the wirings that a tree names.
fn for_source(source: &Source, engines: &[Arc<Engine>]) -> Vec<Arc<Engine>> {
    let Ok(tree) = trees::load(source) else { return Vec::new() };
    engines.iter().filter(|engine| tree.is_for_wiring(&engine.harness().name)).cloned().collect()
}

/// Advises of the wirings that a tree names and that are not there: they may be files elsewhere.
fn with_unknown(mut checked: Checked, source: &Source, asked: &[String]) -> Checked {
    let Ok(tree) = trees::load(source) else { return checked };
    let unknown = tree.wirings.iter().enumerate().filter(|(_, name)| {
        let here = |own: &Wiring| own.harness.name == **name;
        !wirings::find(name).is_ok_and(|own| here(&own))
            && !asked.iter().any(|asked| wirings::find(asked).is_ok_and(|own| here(&own)))
    });
    let found: Vec<Finding> = unknown.map(|(index, name)| no_wiring(&tree, index, name)).collect();
    checked.findings.extend(found);
    checked.findings.sort_by_key(|finding| (finding.line, finding.column));
    checked
}

fn no_wiring(tree: &Tree, index: usize, name: &str) -> Finding {
    let (line, column) = tree.position_of_wiring(index);
    let all = wirings::built_in().unwrap_or_default();
    let known: Vec<&str> = all.iter().map(|wiring| wiring.harness.name.as_str()).collect();
    Finding {
        flaw: Flaw::DoesNotFit,
        fails: false,
        line,
        column,
        step: String::new(),
        wirings: Vec::new(),
        says: format!("no wiring \"{name}\" comes with the program or is in the folder of your own"),
        hint: advice(name, &known, "those that come with the program are", '"'),
    }
}

/// Returns the engines of some wirings in order.
fn engines(wirings: &[Wiring], threads: usize, quiet: bool) -> Result<Vec<Arc<Engine>>, Failure> {
    let (progress, done) = (progress("wirings", quiet), AtomicUsize::new(0));
    let prepared = in_order(wirings.len(), threads, &|index| {
        let engine = engine::tree_engine(&wirings[index].source);
        progress.tell(done.fetch_add(1, Ordering::Relaxed) + 1, wirings.len());
        engine
    });
    progress.close();
    prepared.into_iter().collect()
}

/// Returns the trees that can be led to: those checked, and all others that are known.
fn all_known(sources: &[Source]) -> Result<Vec<Tree>, Failure> {
    let mut all: Vec<Tree> = sources.iter().filter_map(|source| trees::load(source).ok()).collect();
    let others = known()?.into_iter().filter(|tree| !all.iter().any(|known| known.name == tree.name));
    let others: Vec<Tree> = others.collect();
    all.extend(others);
    Ok(all)
}

fn one(source: &Source, all: &[Tree], engines: &[Arc<Engine>], quiet: bool) -> Checked {
    let name = trees::load(source).ok().map(|tree| tree.name);
    let others: Vec<Tree> = all.iter().filter(|tree| Some(&tree.name) != name.as_ref()).cloned().collect();
    let progress = progress(&source.name, quiet);
    let checked = engine::tree_checked(source, &others, engines, &|done, of| progress.tell(done, of));
    progress.close();
    checked
}

/// Does each piece of work on one of some threads and returns what comes of it in their order.
fn in_order<T: Send>(count: usize, threads: usize, work: &(dyn Fn(usize) -> T + Sync)) -> Vec<T> {
    let (next, done) = (AtomicUsize::new(0), Mutex::new(Vec::new()));
    let take = || loop {
        let index = next.fetch_add(1, Ordering::Relaxed);
        if index >= count {
            return;
        }
        let worked = work(index);
        done.lock().unwrap_or_else(PoisonError::into_inner).push((index, worked));
    };
    thread::scope(|scope| {
        for _ in 0..threads.clamp(1, count.max(1)) {
            scope.spawn(take);
        }
    });
    let mut done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
    done.sort_by_key(|(index, _)| *index);
    done.into_iter().map(|(_, worked)| worked).collect()
}

/// Returns what is said of a tree that was checked.
pub(super) fn told(file: &str, checked: &Checked) -> Vec<String> {
    let verdict = verdict(checked);
    let name = checked.tree.as_ref().map(|name| format!(" tree \"{name}\"")).unwrap_or_default();
    let mut lines: Vec<String> = checked.findings.iter().map(|finding| found(file, finding)).collect();
    lines.push(format!("{file}:{name} {verdict}"));
    if !checked.figures.is_empty() {
        let head = HEADS.map(str::to_owned).to_vec();
        let rows: Vec<Vec<String>> = std::iter::once(head).chain(checked.figures.iter().map(cells)).collect();
        lines.push(columns(&rows));
    }
    lines.extend(checked.judged.clone());
    lines.extend(tree_played::told(&checked.played));
    lines.extend(checked.not_for.iter().map(|(wiring, why)| format!("not for {wiring}: {why}")));
    lines
}

/// Returns whether a tree was held against no wiring, since it is for none of them.
fn for_none(checked: &Checked) -> bool {
    checked.passes() && checked.figures.is_empty() && !checked.not_for.is_empty()
}

/// Returns whether a tree was checked and passes.
fn sound(checked: &Checked) -> bool {
    checked.passes() && !for_none(checked)
}

fn verdict(checked: &Checked) -> &'static str {
    if for_none(checked) {
        "applies to none of these wirings: nothing was checked; name one that it is for with --wiring"
    } else if checked.passes() {
        "passes"
    } else {
        "does not pass"
    }
}

fn found(file: &str, finding: &Finding) -> String {
    let Finding { flaw, fails, line, column, wirings, says, hint, .. } = finding;
    let weight = if *fails { "error" } else { "advice" };
    let on = if wirings.is_empty() { String::new() } else { format!(" (on {})", wirings.join(", ")) };
    let hint = if hint.is_empty() { String::new() } else { format!("\n  hint: {hint}") };
    format!("{file}:{line}:{column}: {weight}[{}]: {says}{on}{hint}", flaw.name())
}

/// How a table begins.
const MADE_WITH: &str = "Made with `lugwise tree check ";

const HEADS: [&str; 11] = [
    "wiring",
    "faults",
    "covered",
    "FD",
    "FI(1)",
    "FI(2)",
    "mean steps",
    "minutes",
    "advisor's minutes",
    "ratio",
    "bound",
];

fn cells(figures: &Figures) -> Vec<String> {
    let share = |share: f64| format!("{:.0} %", 100.0 * share);
    vec![
        figures.wiring.clone(),
        figures.faults.to_string(),
        share(figures.covered),
        share(figures.detected),
        share(figures.isolated_to_one),
        share(figures.isolated_to_two),
        format!("{:.1}", figures.steps),
        format!("{:.1}", figures.minutes),
        format!("{:.1}", figures.advisor_minutes),
        ratio(figures).map_or_else(|| "-".to_owned(), |ratio| format!("{ratio:.2}")),
        format!("{:.1}", figures.bound_steps),
    ]
}

/// Returns how many times the advisor's minutes the tree takes; none where the advisor takes no time.
fn ratio(figures: &Figures) -> Option<f64> {
    (figures.advisor_minutes > 0.0).then(|| figures.minutes / figures.advisor_minutes)
}

/// Returns a tree that was checked as JSON.
pub(super) fn as_json(file: &str, checked: &Checked) -> Value {
    let finding = |f: &Finding| {
        json!({
            "flaw": f.flaw.name(), "fails": f.fails, "line": f.line, "column": f.column, "step": f.step,
            "wirings": f.wirings, "says": f.says, "hint": f.hint,
        })
    };
    let figures = |f: &Figures| {
        json!({
            "wiring": f.wiring, "faults": f.faults, "covered": f.covered, "detected": f.detected,
            "isolated_to_one": f.isolated_to_one, "isolated_to_two": f.isolated_to_two, "steps": f.steps,
            "minutes": f.minutes, "advisor_steps": f.advisor_steps, "advisor_minutes": f.advisor_minutes,
            "ratio": ratio(f), "bound_steps": f.bound_steps,
        })
    };
    let not_for = |(wiring, why): &(String, String)| json!({"wiring": wiring, "why": why});
    json!({
        "file": file, "tree": checked.tree, "passes": sound(checked),
        "findings": checked.findings.iter().map(finding).collect::<Vec<_>>(),
        "figures": checked.figures.iter().map(figures).collect::<Vec<_>>(),
        "not_for": checked.not_for.iter().map(not_for).collect::<Vec<_>>(),
        "shares": checked.shares,
        "played": tree_played::as_json(&checked.played),
        "judged": checked.judged,
    })
}

/// Returns the figures as a Markdown table, which begins with the command that makes it.
fn markdown<'c>(trees: &[String], wirings: &[String], checked: &'c [Checked]) -> String {
    let on: String = wirings.iter().map(|wiring| format!(" --wiring {wiring}")).collect();
    let row = |cells: &[String]| format!("| {} |", cells.join(" | "));
    let heads: Vec<String> = std::iter::once("tree").chain(HEADS).map(str::to_owned).collect();
    let mut lines = vec![
        format!("{MADE_WITH}{}{on} --table FILE`.", trees.join(" ")),
        String::new(),
        row(&heads),
        format!("|{}", " --- |".repeat(heads.len())),
    ];
    for checked in checked {
        let name = checked.tree.clone().unwrap_or_default();
        let of = |figures: &Figures| row(&[vec![name.clone()], cells(figures)].concat());
        lines.extend(checked.figures.iter().map(of));
    }
    let played = |checked: &'c Checked| (checked.tree.as_deref().unwrap_or_default(), &checked.played[..]);
    lines.extend(tree_played::markdown(checked.iter().map(played)));
    lines.join("\n") + "\n"
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;

    fn figures() -> Figures {
        Figures {
            wiring: "A1a".to_owned(),
            faults: 40,
            covered: 0.9,
            detected: 0.95,
            isolated_to_one: 0.25,
            isolated_to_two: 0.5,
            steps: 3.5,
            minutes: 6.0,
            advisor_steps: 3.0,
            advisor_minutes: 4.0,
            bound_steps: 2.5,
        }
    }

    fn checked(flaw: Flaw) -> Checked {
        let finding = Finding {
            flaw,
            fails: flaw.fails(),
            line: 12,
            column: 5,
            step: "all up".to_owned(),
            wirings: vec!["A1a".to_owned()],
            says: "nothing leads on".to_owned(),
            hint: "add an outcome".to_owned(),
        };
        Checked {
            tree: Some("silent".to_owned()),
            findings: vec![finding],
            figures: vec![figures()],
            not_for: vec![("A8a".to_owned(), "it has a preamp".to_owned())],
            shares: BTreeMap::new(),
            played: Vec::new(),
            judged: None,
        }
    }

    #[test]
    fn a_finding_stands_at_its_place_with_its_hint() {
        let told = told("a.ron", &checked(Flaw::Gap));
        assert_eq!(told[0], "a.ron:12:5: error[gap]: nothing leads on (on A1a)\n  hint: add an outcome");
        assert!(told[1].ends_with("does not pass"), "{told:?}");
        assert_eq!(told.last().map(String::as_str), Some("not for A8a: it has a preamp"));
    }

    #[test]
    fn a_tree_for_none_of_the_wirings_was_not_checked() {
        let none = Checked { findings: Vec::new(), figures: Vec::new(), ..checked(Flaw::Gap) };
        assert!(for_none(&none) && !sound(&none));
        assert!(verdict(&none).contains("nothing was checked"), "{}", verdict(&none));
        assert_eq!(as_json("a.ron", &none)["passes"], false);
        let one = Checked { figures: vec![figures()], ..none };
        assert_eq!((verdict(&one), sound(&one)), ("passes", true));
    }

    #[test]
    fn the_table_says_how_it_was_made_and_has_a_row_for_each_wiring() {
        let (trees, wirings) = (["silent".to_owned()], ["A1a".to_owned()]);
        let table = markdown(&trees, &wirings, &[checked(Flaw::Gap)]);
        let lines: Vec<&str> = table.lines().collect();
        assert_eq!(lines[0], "Made with `lugwise tree check silent --wiring A1a --table FILE`.");
        assert_eq!(
            lines[4],
            "| silent | A1a | 40 | 90 % | 95 % | 25 % | 50 % | 3.5 | 6.0 | 4.0 | 1.50 | 2.5 |"
        );
        assert!(lines[2..].iter().all(|line| line.matches('|').count() == 13), "{table}");
    }

    #[test]
    fn work_comes_back_in_its_order() {
        let squares = in_order(50, 7, &|index| index * index);
        assert_eq!(squares, (0..50).map(|index| index * index).collect::<Vec<_>>());
        assert!(in_order(0, 4, &|index| index).is_empty());
    }
}
