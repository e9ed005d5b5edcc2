//! `wirings` and `copy`: choosing a wiring by what can be counted from outside, and making it one's own.

use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::args::Counted;
use super::engine;
use super::failure::{Failure, Problem};
use super::reply::{Answer, Reply, columns};
use super::wirings;
use crate::circuit::{Fact, Harness, Looks, Question, Seen, next_question};
use crate::session::{OwnFolder, OwnWiring};
use crate::workbench::Telling;

/// One wiring of the list.
struct Listed {
    harness: Harness,
    looks: Looks,
    /// The file, when it is one's own.
    file: Option<PathBuf>,
}

impl Listed {
    fn new(harness: Harness, file: Option<PathBuf>) -> Self {
        Self { looks: Looks::of(&harness), harness, file }
    }
}

/// What was asked for.
fn seen(counted: &Counted) -> Seen {
    let facts = [
        (Fact::Pickups, counted.pickups),
        (Fact::Knobs, counted.knobs),
        (Fact::Switches, counted.switches),
        (Fact::Positions, counted.positions),
        (Fact::Battery, counted.battery.map(u32::from)),
    ];
    facts.into_iter().fold(Seen::default(), |seen, (fact, value)| match value {
        Some(value) => seen.with(fact, value),
        None => seen,
    })
}

/// Lists the wirings that look like what was counted, the program's before one's own; wrong files come last.
pub(super) fn list(counted: &Counted) -> Answer {
    let seen = seen(counted);
    let (right, wrong): (Vec<_>, Vec<_>) =
        OwnFolder::usual().read().into_iter().partition(|own| own.harness.is_ok());
    let built_in = wirings::built_in()?.into_iter().map(|wiring| Listed::new(wiring.harness, None));
    let own = right.into_iter().filter_map(|own| Some(Listed::new(own.harness.ok()?, Some(own.path))));
    let all: Vec<Listed> = built_in.chain(own).collect();
    let looks: Vec<Looks> = all.iter().map(|listed| listed.looks.clone()).collect();
    let left: Vec<&Listed> = all.iter().filter(|listed| seen.fits(&listed.looks)).collect();
    let next = next_question(&looks, &seen);
    let counts = seen.asked() > 0;
    let told = if counts && next.is_none() { told_apart(&left)? } else { Vec::new() };
    let json = left.iter().enumerate().map(|(index, listed)| as_json(listed, index, &told));
    let json = json.chain(wrong.iter().map(wrong_as_json)).collect();
    let rows: Vec<_> = left.iter().map(|listed| row(listed)).chain(wrong.iter().map(wrong_row)).collect();
    let mut text = vec![columns(&rows)];
    if counts {
        text.push(advice(&seen, &left, next.as_ref(), &told));
    }
    text.retain(|part| !part.is_empty());
    Ok(Reply::new(text.join("\n\n"), json))
}

fn told_apart(left: &[&Listed]) -> Result<Vec<Telling>, Failure> {
    if left.len() < 2 {
        return Ok(Vec::new());
    }
    let harnesses: Vec<Harness> = left.iter().map(|listed| listed.harness.clone()).collect();
    engine::tell_apart(&harnesses)
}

fn row(listed: &Listed) -> Vec<String> {
    let Harness { name, code, title, .. } = &listed.harness;
    let own = listed.file.as_ref().map(|file| format!(" (your own: {})", file.display()));
    vec![name.clone(), code.clone(), format!("{title}{}", own.unwrap_or_default())]
}

fn wrong_row(own: &OwnWiring) -> Vec<String> {
    let first = own.harness.as_ref().err().and_then(|errors| errors.first());
    let says = first.map(ToString::to_string).unwrap_or_default().replace("\n  ", "; ");
    vec![own.stem(), "wrong".to_owned(), says]
}

fn as_json(listed: &Listed, index: usize, told: &[Telling]) -> Value {
    let Listed { harness, looks, file } = listed;
    let shown = |telling: &Telling| {
        let shows = telling.shows.iter().find(|(_, members)| members.contains(&index));
        shows.map(|(shows, _)| json!({"what": telling.what, "shows": shows}))
    };
    json!({
        "name": harness.name,
        "title": harness.title,
        "code": harness.code,
        "about": harness.about,
        "own": file.is_some(),
        "file": file.as_ref().map(|file| file.display().to_string()),
        "pickups": looks.pickups,
        "knobs": looks.knobs,
        "switches": looks.switches,
        "battery": looks.battery,
        "problems": [],
        "tells": told.iter().filter_map(shown).collect::<Vec<_>>(),
    })
}

fn wrong_as_json(own: &OwnWiring) -> Value {
    let located = own.harness.as_ref().err().cloned().unwrap_or_default();
    let problems: Vec<Problem> = located.into_iter().map(Problem::from).collect();
    json!({
        "name": null, "title": null, "code": null, "about": null, "own": true,
        "file": own.path.display().to_string(),
        "pickups": null, "knobs": null, "switches": null, "battery": null,
        "problems": problems, "tells": [],
    })
}

/// Says what is left, and what to count or to measure next.
fn advice(seen: &Seen, left: &[&Listed], next: Option<&Question>, told: &[Telling]) -> String {
    let said: Vec<String> = seen.answers().map(|(fact, value)| fact.says(value)).collect();
    let said = said.join(", ");
    match (left, next) {
        ([], _) => format!(
            "No wiring has {said}. Copy the nearest one with `lugwise copy` and change it, or count again."
        ),
        (_, Some(next)) => format!("{} have {said}.\n{}", left.len(), asked(next)),
        ([one], None) => format!("One has {said}: {}.", one.harness.name),
        (_, None) => {
            format!("{} have {said} and look alike from outside.\n{}", left.len(), told_text(left, told))
        }
    }
}

fn asked(next: &Question) -> String {
    let flag = match next.fact {
        Fact::Pickups => "--pickups",
        Fact::Knobs => "--knobs",
        Fact::Switches => "--switches",
        Fact::Positions => "--positions",
        Fact::Battery => "--battery",
    };
    let value = |value: u32| match (next.fact, value) {
        (Fact::Battery, 0) => "no".to_owned(),
        (Fact::Battery, _) => "yes".to_owned(),
        (_, number) => number.to_string(),
    };
    let leaves = next.answers.iter().map(|a| format!("{flag} {} leaves {}", value(a.value), a.left));
    format!("Next: {} {}", next.fact.asks(), leaves.collect::<Vec<_>>().join(", "))
}

fn told_text(left: &[&Listed], told: &[Telling]) -> String {
    let about = left.iter().map(|listed| format!("  {}: {}", listed.harness.code, listed.harness.about));
    let mut lines: Vec<String> = about.collect();
    for telling in told {
        lines.push(format!("To tell them apart, {}:", telling.what));
        let codes = |members: &[usize]| {
            members.iter().map(|index| left[*index].harness.code.as_str()).collect::<Vec<_>>().join(", ")
        };
        lines.extend(telling.shows.iter().map(|(shows, who)| format!("  {shows}: {}", codes(who))));
    }
    lines.join("\n")
}

/// Copies a wiring to a new file.
pub(super) fn copy(wanted: &str, output: Option<&Path>) -> Answer {
    let wiring = wirings::find(wanted)?;
    let copied = OwnFolder::usual()
        .copy(&wiring.harness, &wiring.source.text, output)
        .map_err(|error| Failure::told(&error))?;
    let harness = copied.harness?;
    let file = copied.path.display().to_string();
    let text = format!(
        "{file} written: wiring \"{}\" ({})\nChange it in any editor, then: lugwise check {file}",
        harness.name, harness.code
    );
    Ok(Reply::new(text, json!({"file": file, "name": harness.name, "code": harness.code})))
}
