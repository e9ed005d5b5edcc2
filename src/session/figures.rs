//! What a shop's owner asks of past jobs, as tables that text, CSV, JSON and charts are made from.

use serde::Serialize;
use serde_json::Value;

use crate::archive::audit::{self, By};
use crate::archive::{Archive, ArchiveError, Filter};
use crate::units::show_percent;

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
            Self::Weeks => "Jobs opened in each week, by its Monday, and how many of them are closed.",
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
            Self::Number(number) => format!("{number:.1}"),
            Self::Share(share) => show_percent(*share),
            Self::Empty => String::new(),
        }
    }
}

/// One row of a figure.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureRow {
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
    /// What the columns are called.
    pub columns: &'static [&'static str],
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
        Ok(match chart {
            Chart::Weeks => figure(chart, &audit::weeks(archive, filter)?, week),
            Chart::Minutes => figure(chart, &audit::minutes(archive, filter, by)?, minutes),
            Chart::Pareto => figure(chart, &audit::pareto(archive, filter, by)?, share),
            Chart::Checks => figure(chart, &audit::checks(archive, filter)?, check),
            Chart::Renamed => figure(chart, &audit::renamed(archive, filter, by)?, rate),
            Chart::Comebacks => figure(chart, &audit::comebacks(archive, filter, by)?, rate),
            Chart::Unproven => figure(chart, &audit::unproven(archive, filter, by)?, rate),
            Chart::Skipped => figure(chart, &audit::skipped(archive, filter)?, rate),
            Chart::Calibration => figure(chart, &audit::calibration(archive, filter)?, bin),
        })
    }

    /// Returns whether any row comes from few jobs.
    pub fn has_small(&self) -> bool {
        self.rows.iter().any(|row| row.small)
    }
}

fn figure<T: Serialize>(chart: Chart, rows: &[T], row: fn(&T) -> FigureRow) -> Figure {
    let json = serde_json::to_value(rows).unwrap_or_default();
    Figure { chart, columns: chart.columns(), rows: rows.iter().map(row).collect(), json }
}

fn text(text: &str) -> Cell {
    Cell::Text(text.to_owned())
}

fn week(it: &audit::Week) -> FigureRow {
    let cells = vec![text(&it.monday), Cell::Count(it.n), Cell::Count(it.closed)];
    FigureRow { cells, bar: f64::from(it.n), beside: None, small: it.small }
}

fn minutes(it: &audit::Minutes) -> FigureRow {
    let number = Cell::Number;
    let cells =
        vec![text(&it.name), number(it.lower), number(it.median), number(it.upper), Cell::Count(it.n)];
    FigureRow { cells, bar: it.median, beside: None, small: it.small }
}

fn share(it: &audit::Share) -> FigureRow {
    let cells = vec![text(&it.name), Cell::Count(it.n), Cell::Share(it.share), Cell::Share(it.together)];
    FigureRow { cells, bar: f64::from(it.n), beside: None, small: it.small }
}

fn check(it: &audit::Check) -> FigureRow {
    let rate = it.bits_per_minute.map_or(Cell::Empty, Cell::Number);
    let (taken, found) = (Cell::Count(it.n), Cell::Count(it.found));
    let cells = vec![text(&it.name), taken, found, Cell::Number(it.minutes), Cell::Number(it.bits), rate];
    FigureRow { cells, bar: f64::from(it.n), beside: Some(f64::from(it.found)), small: it.small }
}

fn rate(it: &audit::Rate) -> FigureRow {
    let share = part(it.count, it.n);
    let cells = vec![text(&it.name), Cell::Count(it.count), Cell::Count(it.n), shown(share)];
    FigureRow { cells, bar: share.unwrap_or(0.0), beside: None, small: it.small }
}

fn bin(it: &audit::Bin) -> FigureRow {
    let class = format!("{:.0} to {:.0} %", it.low * 100.0, it.high * 100.0);
    let share = part(it.came_true, it.n);
    let (true_, n) = (Cell::Count(it.came_true), Cell::Count(it.n));
    let cells = vec![Cell::Text(class), shown(it.announced), true_, n, shown(share)];
    FigureRow { cells, bar: share.unwrap_or(0.0), beside: it.announced, small: it.small }
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

fn value(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) => quoted(text),
        Cell::Count(number) => number.to_string(),
        Cell::Number(number) | Cell::Share(number) => number.to_string(),
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
    fn every_chart_answers_to_its_name() {
        for chart in Chart::ALL {
            assert_eq!(chart.name().parse(), Ok(chart));
        }
        assert!("pie".parse::<Chart>().unwrap_err().contains("calibration"));
    }
}
