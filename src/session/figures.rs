//! What a shop's owner asks of past jobs, as tables that text, CSV, JSON and charts are made from.

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::Value;

use crate::archive::audit::{self, By};
use crate::archive::{Archive, ArchiveError, Filter};
use crate::units::show_percent;

/// So many rows of jobs in their weeks, or months, can be looked at.
const LONG: usize = 40;

/// One question.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Chart {
    /// Jobs per week.
    Weeks,
    /// Minutes of closed jobs.
    Minutes,
    /// What was found, the most frequent first.
    Pareto,
    /// How the checks served.
    Checks,
    /// How often the fault had to be named anew.
    Renamed,
    /// How often an instrument came back.
    Comebacks,
    /// How often a job was closed without full proof.
    Unproven,
    /// What was skipped.
    Skipped,
    /// What became of announced probabilities.
    Calibration,
}

impl Chart {
    /// Every chart, in the order in which they are shown anywhere.
    pub const ALL: [Self; 9] = [
        Self::Weeks,
        Self::Minutes,
        Self::Pareto,
        Self::Checks,
        Self::Renamed,
        Self::Comebacks,
        Self::Unproven,
        Self::Skipped,
        Self::Calibration,
    ];

    /// Returns the name used on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Weeks => "weeks",
            Self::Minutes => "minutes",
            Self::Pareto => "pareto",
            Self::Checks => "checks",
            Self::Renamed => "renamed",
            Self::Comebacks => "comebacks",
            Self::Unproven => "unproven",
            Self::Skipped => "skipped",
            Self::Calibration => "calibration",
        }
    }

    /// Returns what it shows, as a heading.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Weeks => "Jobs per week",
            Self::Minutes => "Minutes of closed jobs",
            Self::Pareto => "What was found",
            Self::Checks => "How the checks served",
            Self::Renamed => "Named first, and another fault named last",
            Self::Comebacks => "Instruments that came back",
            Self::Unproven => "Closed without full proof",
            Self::Skipped => "Checks that were skipped",
            Self::Calibration => "Announced and come true",
        }
    }

    /// Returns in a sentence what is counted.
    pub const fn about(self) -> &'static str {
        match self {
            Self::Weeks => {
                "How many jobs were opened, a week by its Monday, and how many of them are closed."
            }
            Self::Minutes => "Search and repair together: half of the jobs took at most the median.",
            Self::Pareto => "The fault named last; `together` is its share and that of all above it.",
            Self::Checks => "How often each was taken, and was the last before the fault was named.",
            Self::Renamed => "Closed jobs whose last named fault was not the first one.",
            Self::Comebacks => {
                "Closed jobs followed by one under warranty, or of the same instrument within 90 days."
            }
            Self::Unproven => "Closed jobs whose proof readings were not all taken and passed.",
            Self::Skipped => "Of all the times that it was taken or skipped.",
            Self::Calibration => {
                "Probability announced with the fault that was named first, and how often it was right."
            }
        }
    }

    /// Returns whether its rows can be put together by something.
    pub const fn grouped(self) -> bool {
        matches!(self, Self::Minutes | Self::Pareto | Self::Renamed | Self::Comebacks | Self::Unproven)
    }

    /// Returns what is drawn: the bar, the stroke, and what the words behind a bar are.
    pub const fn legend(self) -> &'static str {
        match self {
            Self::Weeks => "Bar: jobs opened.",
            Self::Minutes => {
                "Bar: the median. Behind it: the median, and from where to where the middle half of the jobs lies."
            }
            Self::Pareto => "Bar: how many jobs. Behind it: also their share of all.",
            Self::Checks => "Bar: how often it was taken. Upright red line: how often it found the fault.",
            Self::Calibration => {
                "Bar: how often it came true, the whole width is 100 %. Upright red line: what was announced on average."
            }
            _ => "Bar: the share, the whole width is 100 %. Behind it: how many of how many.",
        }
    }

    /// Returns in a sentence what is counted when it is put together by something.
    pub const fn about_by(self, by: By) -> &'static str {
        match (self, by) {
            (Self::Pareto, By::Technician) => {
                "Jobs with a named fault, by who worked on them: it says nothing of what was found."
            }
            (Self::Pareto, By::Wiring) => {
                "Jobs with a named fault, by their wiring: it says nothing of what was found."
            }
            (Self::Pareto, By::All) => "All jobs with a named fault together.",
            _ => self.about(),
        }
    }

    /// Returns the value that a bar over the whole width stands for; nothing when that is the longest bar.
    pub const fn whole(self) -> Option<f64> {
        match self {
            Self::Weeks | Self::Minutes | Self::Pareto | Self::Checks => None,
            _ => Some(1.0),
        }
    }

    const fn columns(self) -> &'static [&'static str] {
        match self {
            Self::Weeks => &["monday", "jobs", "closed"],
            Self::Minutes => &["what", "lower quarter", "median", "upper quarter", "jobs"],
            Self::Pareto => &["what", "jobs", "share", "together"],
            Self::Checks => &["check", "taken", "found it", "minutes", "bits", "bits a minute"],
            Self::Renamed | Self::Comebacks | Self::Unproven => &["what", "so many", "of jobs", "share"],
            Self::Skipped => &["check", "skipped", "of", "share"],
            Self::Calibration => &["announced", "mean", "came true", "of jobs", "share"],
        }
    }
}

impl std::str::FromStr for Chart {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let names = || Self::ALL.map(Self::name).join(", ");
        let found = Self::ALL.into_iter().find(|chart| chart.name().eq_ignore_ascii_case(text.trim()));
        found.ok_or_else(|| format!("there are {}", names()))
    }
}

/// One entry of a table.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Words, as they were written.
    Text(String),
    /// A number of things.
    Count(u32),
    /// A number.
    Number(f64),
    /// A share, 0 to 1.
    Share(f64),
    /// Nothing.
    Empty,
}

impl Cell {
    /// Returns it for people.
    pub fn words(&self) -> String {
        match self {
            Self::Text(text) => text.clone(),
            Self::Count(number) => number.to_string(),
            Self::Number(number) => format!("{:.1}", rounded(*number, 10.0)),
            Self::Share(share) => show_percent(*share),
            Self::Empty => String::new(),
        }
    }
}

/// One row of a figure.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureRow {
    /// What its bar is called, as short as it can be.
    pub name: String,
    /// What its jobs have in common, as the archive has it: a fault by its id.
    pub key: String,
    /// Its cells, one for each column.
    pub cells: Vec<Cell>,
    /// How long its bar is.
    pub bar: f64,
    /// What its bar is held against, such as what was announced.
    pub beside: Option<f64>,
    /// Whether it comes from so few jobs that it says little.
    pub small: bool,
}

/// The answer to one question.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// The question.
    pub chart: Chart,
    /// What it shows, as a heading.
    pub title: &'static str,
    /// What the columns are called.
    pub columns: Vec<&'static str>,
    /// The rows in order.
    pub rows: Vec<FigureRow>,
    /// The same rows with the names that programs use.
    pub json: Value,
}

impl Figure {
    /// Answers one question about the jobs that a filter lets pass.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn of(archive: &Archive, chart: Chart, filter: &Filter, by: By) -> Result<Self, ArchiveError> {
        let mut told = match chart {
            Chart::Weeks => figure(chart, &audit::weeks(archive, filter)?, week),
            Chart::Minutes => figure(chart, &audit::minutes(archive, filter, by)?, minutes),
            Chart::Pareto => figure(chart, &audit::pareto(archive, filter, by)?, share),
            Chart::Checks => figure(chart, &audit::checks(archive, filter)?, check),
            Chart::Renamed => figure(chart, &audit::renamed(archive, filter, by)?, rate),
            Chart::Comebacks => figure(chart, &audit::comebacks(archive, filter, by)?, rate),
            Chart::Unproven => figure(chart, &audit::unproven(archive, filter, by)?, rate),
            Chart::Skipped => figure(chart, &audit::skipped(archive, filter)?, skip),
            Chart::Calibration => figure(chart, &audit::calibration(archive, filter)?, bin),
        };
        if chart.grouped() && by == By::Fault {
            told.say_faults(&audit::sentences(archive, filter)?);
        }
        Ok(told)
    }

    /// Does the same for a chart that is looked at: jobs over a long span are counted by months, or by years.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn seen(archive: &Archive, chart: Chart, filter: &Filter, by: By) -> Result<Self, ArchiveError> {
        let told = Self::of(archive, chart, filter, by)?;
        if chart != Chart::Weeks || told.rows.len() <= LONG {
            return Ok(told);
        }
        let months = audit::months(archive, filter)?;
        if months.len() <= LONG {
            return Ok(figure(chart, &months, week).counted_by("Jobs per month", "month"));
        }
        Ok(figure(chart, &audit::years(archive, filter)?, week).counted_by("Jobs per year", "year"))
    }

    fn counted_by(mut self, title: &'static str, column: &'static str) -> Self {
        self.title = title;
        self.columns[0] = column;
        self
    }

    /// Tells faults in words, with the id in a column of its own.
    fn say_faults(&mut self, sentences: &BTreeMap<String, String>) {
        self.columns.push("id");
        for row in &mut self.rows {
            row.cells.push(text(&row.key));
            if let Some(said) = sentences.get(&row.key) {
                row.cells[0] = text(said);
                row.name.clone_from(said);
            }
        }
        for row in self.json.as_array_mut().into_iter().flatten() {
            let said = row["name"].as_str().and_then(|name| sentences.get(name)).cloned();
            row["sentence"] = Value::from(said);
        }
    }

    /// Returns whether any row comes from few jobs.
    pub fn has_small(&self) -> bool {
        self.rows.iter().any(|row| row.small)
    }
}

fn figure<T: Serialize>(chart: Chart, rows: &[T], row: fn(&T) -> FigureRow) -> Figure {
    let json = serde_json::to_value(rows).unwrap_or_default();
    let (title, columns) = (chart.title(), chart.columns().to_vec());
    Figure { chart, title, columns, rows: rows.iter().map(row).collect(), json }
}

fn row(cells: Vec<Cell>, bar: f64, beside: Option<f64>, small: bool) -> FigureRow {
    let name = cells.first().map(Cell::words).unwrap_or_default();
    FigureRow { key: name.clone(), name, cells, bar, beside, small }
}

/// Returns a check without the knobs that are at 10, as most of them are.
fn without_full_knobs(check: &str) -> String {
    check.split(", ").filter(|part| !part.ends_with(" 10")).collect::<Vec<_>>().join(", ")
}

fn shortened(told: FigureRow) -> FigureRow {
    FigureRow { name: without_full_knobs(&told.name), ..told }
}

fn text(text: &str) -> Cell {
    Cell::Text(text.to_owned())
}

fn week(it: &audit::Week) -> FigureRow {
    let cells = vec![text(&it.monday), Cell::Count(it.n), Cell::Count(it.closed)];
    row(cells, f64::from(it.n), None, it.small)
}

fn minutes(it: &audit::Minutes) -> FigureRow {
    let number = Cell::Number;
    let cells =
        vec![text(&it.name), number(it.lower), number(it.median), number(it.upper), Cell::Count(it.n)];
    row(cells, it.median, None, it.small)
}

fn share(it: &audit::Share) -> FigureRow {
    let cells = vec![text(&it.name), Cell::Count(it.n), Cell::Share(it.share), Cell::Share(it.together)];
    row(cells, f64::from(it.n), None, it.small)
}

fn check(it: &audit::Check) -> FigureRow {
    let rate = it.bits_per_minute.map_or(Cell::Empty, Cell::Number);
    let (taken, found) = (Cell::Count(it.n), Cell::Count(it.found));
    let cells = vec![text(&it.name), taken, found, Cell::Number(it.minutes), Cell::Number(it.bits), rate];
    shortened(row(cells, f64::from(it.n), Some(f64::from(it.found)), it.small))
}

fn rate(it: &audit::Rate) -> FigureRow {
    let share = part(it.count, it.n);
    let cells = vec![text(&it.name), Cell::Count(it.count), Cell::Count(it.n), shown(share)];
    row(cells, share.unwrap_or(0.0), None, it.small)
}

fn skip(it: &audit::Rate) -> FigureRow {
    shortened(rate(it))
}

fn bin(it: &audit::Bin) -> FigureRow {
    let class = format!("{:.0} to {:.0} %", it.low * 100.0, it.high * 100.0);
    let share = part(it.came_true, it.n);
    let (true_, n) = (Cell::Count(it.came_true), Cell::Count(it.n));
    let cells = vec![Cell::Text(class), shown(it.announced), true_, n, shown(share)];
    row(cells, share.unwrap_or(0.0), it.announced, it.small)
}

fn part(count: u32, of: u32) -> Option<f64> {
    (of > 0).then(|| f64::from(count) / f64::from(of))
}

fn shown(share: Option<f64>) -> Cell {
    share.map_or(Cell::Empty, Cell::Share)
}

/// Returns a figure as comma-separated values (RFC 4180), harmless in a spreadsheet.
pub fn csv(figure: &Figure) -> String {
    let head: Vec<String> = figure.columns.iter().chain(&["few"]).map(|name| quoted(name)).collect();
    let row = |row: &FigureRow| {
        let few = if row.small { "yes" } else { "" };
        let cells = row.cells.iter().map(value).chain([quoted(few)]);
        cells.collect::<Vec<_>>().join(",") + "\r\n"
    };
    head.join(",") + "\r\n" + &figure.rows.iter().map(row).collect::<String>()
}

/// Returns a number to one part of so many; what rounds to nothing has no sign.
fn rounded(number: f64, parts: f64) -> f64 {
    let near = (number * parts).round() / parts;
    if near == 0.0 { 0.0 } else { near }
}

fn value(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) => quoted(text),
        Cell::Count(number) => number.to_string(),
        Cell::Number(number) => rounded(*number, 1e3).to_string(),
        Cell::Share(share) => rounded(*share, 1e4).to_string(),
        Cell::Empty => String::new(),
    }
}

/// Returns text in quotes. What a spreadsheet could take for a formula gets an apostrophe in front: text that begins with
/// = + - @, a tab or a carriage return (OWASP, CSV Injection; from memory).
pub fn quoted(text: &str) -> String {
    let formula =
        text.trim_start_matches([' ', '\u{feff}']).starts_with(['=', '+', '-', '@', '\t', '\r', '\n']);
    let mark = if formula { "'" } else { "" };
    format!("\"{mark}{}\"", text.replace('"', "\"\""))
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("jack", "\"jack\"")]
    #[case("=1+1", "\"'=1+1\"")]
    #[case("+1", "\"'+1\"")]
    #[case("-1", "\"'-1\"")]
    #[case("@x", "\"'@x\"")]
    #[case("\tx", "\"'\tx\"")]
    #[case("\rx", "\"'\rx\"")]
    #[case(" =x", "\"' =x\"")]
    #[case("a\",=b", "\"a\"\",=b\"")]
    fn a_cell_is_no_formula(#[case] text: &str, #[case] expected: &str) {
        assert_eq!(quoted(text), expected);
    }

    #[test]
    fn a_row_has_a_cell_for_each_column() {
        let rate = audit::Rate { name: "a".to_owned(), count: 1, n: 4, small: true };
        let told = figure(Chart::Renamed, &[rate], super::rate);
        assert_eq!(told.rows[0].cells.len(), told.columns.len());
        assert_eq!(
            csv(&told),
            "\"what\",\"so many\",\"of jobs\",\"share\",\"few\"\r\n\"a\",1,4,0.25,\"yes\"\r\n"
        );
        assert_eq!(told.json[0]["count"], 1);
    }

    #[test]
    fn faults_are_told_in_words_and_keep_their_ids() {
        let share = audit::Share { name: "a/open".to_owned(), n: 1, share: 1.0, together: 1.0, small: true };
        let mut told = figure(Chart::Pareto, &[share], super::share);
        told.say_faults(&BTreeMap::from([("a/open".to_owned(), "it is open".to_owned())]));
        assert_eq!((told.rows[0].name.as_str(), told.rows[0].key.as_str()), ("it is open", "a/open"));
        assert!(csv(&told).ends_with("\"it is open\",1,1,1,\"a/open\",\"yes\"\r\n"), "{}", csv(&told));
        assert_eq!(
            (&told.json[0]["name"], &told.json[0]["sentence"]),
            (&"a/open".into(), &"it is open".into())
        );
    }

    #[test]
    fn numbers_are_rounded_and_nothing_has_no_sign() {
        assert_eq!(Cell::Number(-0.04).words(), "0.0");
        assert_eq!(Cell::Number(-0.06).words(), "-0.1");
        assert_eq!(value(&Cell::Number(-1e-9)), "0");
        assert_eq!(value(&Cell::Share(1.0 / 3.0)), "0.3333");
    }

    #[test]
    fn knobs_at_ten_are_not_told() {
        let check = "resistance, plug.sleeve to plug.tip, neck-volume 10, selector neck, bridge-tone 0";
        assert_eq!(
            without_full_knobs(check),
            "resistance, plug.sleeve to plug.tip, selector neck, bridge-tone 0"
        );
    }

    #[test]
    fn every_chart_answers_to_its_name() {
        for chart in Chart::ALL {
            assert_eq!(chart.name().parse(), Ok(chart));
        }
        assert!("pie".parse::<Chart>().unwrap_err().contains("calibration"));
    }
}
