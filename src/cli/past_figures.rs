//! `past figures`, `past report` and `past learnt`: what past jobs say together.

use std::path::Path;

use serde_json::{Value, json};

use super::failure::Failure;
use super::past::{left_out, object};
use super::past_args::{Figures, FiguresAs, Which, by_name};
use super::plain::{counted, short};
use super::priors;
use super::reply::{Answer, Reply, columns};
use crate::archive::audit::By;
use crate::session::{Cell, Chart, Figure, PastJobs, Taught, csv, report, write_new};
use crate::workbench::{LEARNING_STRENGTH, Learnt};

/// Counts one thing, or everything.
pub(super) fn figures(place: &PastJobs, asked: &Figures) -> Answer {
    let archive = place.open()?;
    let filter = asked.which.filter()?;
    let charts = asked.chart.map_or_else(|| Chart::ALL.to_vec(), |chart| vec![chart]);
    let each = charts.into_iter().map(|chart| Figure::of(&archive, chart, &filter, asked.by));
    let figures: Vec<Figure> = each.collect::<Result<_, _>>()?;
    let json = Value::from(figures.iter().map(|figure| as_json(figure, asked.by)).collect::<Vec<_>>());
    let text = match asked.format {
        FiguresAs::Text => {
            figures.iter().map(|figure| in_words(figure, asked.by)).collect::<Vec<_>>().join("\n\n")
        }
        FiguresAs::Csv => figures
            .iter()
            .map(|figure| csv(figure).trim_end().to_owned())
            .collect::<Vec<_>>()
            .join("\r\n\r\n"),
        FiguresAs::Json => format!("{json:#}"),
    };
    Ok(Reply { notes: left_out(archive.not_listed()?), ..Reply::new(text, json) })
}

fn as_json(figure: &Figure, by: By) -> Value {
    let by = figure.chart.grouped().then(|| by_name(by));
    json!({"chart": figure.chart.name(), "title": figure.chart.title(), "by": by, "rows": figure.json})
}

fn in_words(figure: &Figure, by: By) -> String {
    let head = format!("{}\n{}", figure.chart.title(), figure.chart.about_by(by));
    if figure.rows.is_empty() {
        return format!("{head}\nno jobs");
    }
    let title = figure.columns.iter().map(|name| (*name).to_owned()).chain([String::new()]);
    let mut rows: Vec<Vec<String>> = vec![title.collect()];
    rows.extend(figure.rows.iter().map(|row| {
        let few = if row.small { "few" } else { "" };
        row.cells.iter().map(cell).chain([few.to_owned()]).collect()
    }));
    format!("{head}\n{}", columns(&rows))
}

fn cell(cell: &Cell) -> String {
    short(&cell.words(), 70)
}

/// Writes all figures as a page.
pub(super) fn page(place: &PastJobs, output: &Path, by: By, which: &Which) -> Answer {
    let ending = output.extension().and_then(|ending| ending.to_str()).unwrap_or_default().to_lowercase();
    if !matches!(ending.as_str(), "html" | "htm") {
        return Err(Failure::new(format!(
            "cannot tell what to write from the name \"{}\"",
            output.display()
        ))
        .with_hint("end it in .html; a browser prints the page, also to a PDF"));
    }
    let archive = place.open()?;
    let filter = which.filter()?;
    let mut facts = which.facts();
    facts.insert(0, ("jobs", archive.how_many(&filter)?.to_string()));
    facts.push(("put together by", by_name(by).to_owned()));
    let page = report(&archive, &filter, by, facts)?;
    write_new(output, page.as_bytes())?;
    let file = output.display().to_string();
    let json = json!({"file": file, "bytes": page.len(), "which": object(&which.facts())});
    let notes = left_out(archive.not_listed()?);
    Ok(Reply { notes, ..Reply::new(format!("{file} written"), json) })
}

/// Tells what cured jobs teach, and switches it on or off.
pub(super) fn learnt(place: &PastJobs, (on, off): (bool, bool), wiring: Option<&str>) -> Answer {
    if on || off {
        place.set_learning(on)?;
    }
    let (archive, base) = (place.open()?, priors::in_use(None)?.priors);
    let taught = Taught::of(&archive, wiring)?;
    let (_, moved) = taught.applied(&base);
    let told = Told { on: place.learns()?, jobs: taught.jobs, wiring, moved };
    let lost = counted(taught.lost as u64, "cured job");
    let lost = (taught.lost > 0).then(|| format!("{lost} not counted: their wiring cannot be read"));
    Ok(Reply { notes: lost.into_iter().collect(), ..Reply::new(told.text(), told.json()) })
}

struct Told<'a> {
    on: bool,
    jobs: usize,
    wiring: Option<&'a str>,
    moved: Vec<Learnt>,
}

impl Told<'_> {
    fn text(&self) -> String {
        let state = if self.on {
            "on: new jobs start with these priors; `lugwise past learnt --off` ends that"
        } else {
            "off: `lugwise past learnt --on` lets new jobs start with these priors"
        };
        let counted = format!("{} with a named fault", counted(self.jobs as u64, "cured job"));
        let worth = format!("the priors at hand are worth {LEARNING_STRENGTH:.0} jobs");
        let head = format!("Learning is {state}\n{counted}; {worth}");
        let mut moved: Vec<&Learnt> = self.moved.iter().collect();
        moved.sort_by(|a, b| (b.after - b.before).abs().total_cmp(&(a.after - a.before).abs()));
        std::iter::once(head).chain(moved.into_iter().map(Learnt::words)).collect::<Vec<_>>().join("\n")
    }

    fn json(&self) -> Value {
        let family = |one: &Learnt| {
            json!({
                "family": one.family.name(), "words": one.family.words(), "before": one.before,
                "after": one.after, "found": one.tally.found, "of": one.tally.of, "sentence": one.words(),
            })
        };
        json!({
            "on": self.on, "jobs": self.jobs, "strength": LEARNING_STRENGTH, "wiring": self.wiring,
            "families": self.moved.iter().map(family).collect::<Vec<_>>(),
        })
    }
}
