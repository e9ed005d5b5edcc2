//! Trees in played jobs: the same simulated instruments with the tree, and with the advisor alone.

use std::sync::Arc;

use serde_json::{Value, json};

use super::engine;
use super::failure::Failure;
use super::reply::columns;
use super::trial::Progress;
use crate::trees::Tree;
use crate::treework::{Checked, Played};
use crate::workbench::Engine;

const HEADS: [&str; 7] =
    ["wiring", "played", "found", "by the advisor", "minutes", "advisor's minutes", "ratio"];

/// Plays so many jobs with a tree's complaint on each wiring that the tree is for, by so many threads.
pub(super) fn played(
    tree: &Tree,
    engines: &[Arc<Engine>],
    (jobs, threads): (usize, usize),
    quiet: bool,
) -> Result<Vec<Played>, Failure> {
    let meant = |engine: &&Arc<Engine>| jobs > 0 && tree.applies(engine.harness());
    engines.iter().filter(meant).map(|engine| on_one(tree, engine, (jobs, threads), quiet)).collect()
}

fn on_one(
    tree: &Tree,
    engine: &Arc<Engine>,
    (jobs, threads): (usize, usize),
    quiet: bool,
) -> Result<Played, Failure> {
    let progress = Progress::new(&format!("{}: playing {}", tree.name, engine.harness().name), quiet);
    let played = engine::tree_played(tree, engine, (jobs, threads), &|done, of| progress.tell(done, of))?;
    progress.close();
    Ok(played)
}

/// Judges a tree that is slow by estimates by a few jobs, on the wirings where it is.
pub(super) fn settled(
    checked: Checked,
    tree: &Tree,
    engines: &[Arc<Engine>],
    threads: usize,
    quiet: bool,
) -> Result<Checked, Failure> {
    if !checked.is_slow() {
        return Ok(checked);
    }
    let progress = Progress::new(&format!("{}: playing", tree.name), quiet);
    let checked = engine::tree_settled(checked, tree, engines, threads, &|done, of| progress.tell(done, of))?;
    progress.close();
    Ok(checked)
}

/// Returns the played jobs as a table; nothing when none were played.
pub(super) fn told(played: &[Played]) -> Option<String> {
    let head = HEADS.map(str::to_owned).to_vec();
    let rows: Vec<Vec<String>> = std::iter::once(head).chain(played.iter().map(cells)).collect();
    (!played.is_empty()).then(|| columns(&rows))
}

/// Returns the played jobs of some trees as a Markdown table; nothing when none were played.
pub(super) fn markdown<'a>(trees: impl Iterator<Item = (&'a str, &'a [Played])>) -> Vec<String> {
    let row = |cells: &[String]| format!("| {} |", cells.join(" | "));
    let of = |(tree, played): (&str, &[Played])| -> Vec<String> {
        played.iter().map(|played| row(&[vec![tree.to_owned()], cells(played)].concat())).collect()
    };
    let rows: Vec<String> = trees.flat_map(of).collect();
    if rows.is_empty() {
        return rows;
    }
    let heads: Vec<String> = std::iter::once("tree").chain(HEADS).map(str::to_owned).collect();
    let above = vec![String::new(), row(&heads), format!("|{}", " --- |".repeat(heads.len()))];
    [above, rows].concat()
}

fn cells(played: &Played) -> Vec<String> {
    let ratio = played.ratio().map_or_else(|| "-".to_owned(), |ratio| format!("{ratio:.2}"));
    vec![
        played.wiring.clone(),
        played.jobs.to_string(),
        played.found.to_string(),
        played.found_alone.to_string(),
        format!("{:.1}", played.minutes),
        format!("{:.1}", played.advisor_minutes),
        ratio,
    ]
}

/// Returns the played jobs as JSON.
pub(super) fn as_json(played: &[Played]) -> Value {
    let one = |played: &Played| {
        json!({
            "wiring": played.wiring, "jobs": played.jobs, "found": played.found,
            "found_alone": played.found_alone, "minutes": played.minutes,
            "advisor_minutes": played.advisor_minutes, "ratio": played.ratio(),
        })
    };
    played.iter().map(one).collect()
}
