//! The figures over past jobs as a page to print.

use super::figures::{Cell, Chart, Figure, FigureRow};
use crate::archive::audit::By;
use crate::archive::{Archive, ArchiveError, Filter};
use crate::ticket::{Report, ReportRow, ReportSection, report_html};

/// Returns a page with all figures about the jobs that a filter lets pass; `facts` says which these are.
///
/// # Errors
///
/// When the archive cannot be read.
pub fn report(
    archive: &Archive,
    filter: &Filter,
    by: By,
    facts: Vec<(&'static str, String)>,
) -> Result<String, ArchiveError> {
    let figures = Chart::ALL.map(|chart| Figure::of(archive, chart, filter, by));
    let figures: Vec<Figure> = figures.into_iter().collect::<Result<_, _>>()?;
    let sections = figures.iter().map(section).collect();
    Ok(report_html(&Report { title: "Past jobs".to_owned(), facts, sections }))
}

fn section(figure: &Figure) -> ReportSection {
    ReportSection {
        heading: figure.chart.title().to_owned(),
        about: figure.chart.about().to_owned(),
        columns: figure.columns.to_vec(),
        rows: figure.rows.iter().map(|row| told(figure.chart, row)).collect(),
    }
}

fn told(chart: Chart, row: &FigureRow) -> ReportRow {
    ReportRow {
        cells: row.cells.iter().map(Cell::words).collect(),
        bar: row.bar,
        words: words(chart, row),
        beside: row.beside,
        small: row.small,
    }
}

/// Returns what a bar says in words.
pub fn words(chart: Chart, row: &FigureRow) -> String {
    let cell = |index: usize| row.cells.get(index).map(Cell::words).unwrap_or_default();
    match chart {
        Chart::Weeks => format!("{}, {} closed", cell(1), cell(2)),
        Chart::Minutes => format!("{} min, {} to {}", cell(2), cell(1), cell(3)),
        Chart::Pareto => format!("{}, {}", cell(1), cell(2)),
        Chart::Checks => format!("{}, found it {} times", cell(1), cell(2)),
        Chart::Calibration => format!("{} of {}", cell(2), cell(3)),
        _ => format!("{} of {}", cell(1), cell(2)),
    }
}
