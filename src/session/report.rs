//! The figures over past jobs as a page to print.

use super::figures::{Cell, Chart, Figure, FigureRow};
use super::{day_in_words, moment, shop};
use crate::archive::audit::By;
use crate::archive::{Archive, ArchiveError, Filter};
use crate::ticket::{Report, ReportRow, ReportSection, report_html};

/// The heading of the table that tells each technician's jobs and minutes.
const BY_TECHNICIAN: &str = "Minutes of closed jobs, by technician";

/// Returns a page with all figures about the jobs that a filter lets pass; `facts` says which these are.
///
/// # Errors
///
/// When the archive cannot be read.
pub fn report(
    archive: &Archive,
    filter: &Filter,
    by: By,
    mut facts: Vec<(&'static str, String)>,
) -> Result<String, ArchiveError> {
    let figures = Chart::ALL.map(|chart| Figure::seen(archive, chart, filter, by));
    let figures: Vec<Figure> = figures.into_iter().collect::<Result<_, _>>()?;
    let mut sections: Vec<ReportSection> = figures.iter().map(|figure| section(figure, by)).collect();
    if by != By::Technician {
        let each = Figure::of(archive, Chart::Minutes, filter, By::Technician)?;
        sections.push(ReportSection { heading: BY_TECHNICIAN.to_owned(), ..section(&each, By::Technician) });
    }
    if let Some((first, last)) = archive.span(filter)? {
        facts.push(("opened", format!("{} to {}", day_in_words(&first), day_in_words(&last))));
    }
    let name = shop().map(|shop| shop.name).unwrap_or_default();
    facts.extend(Some(("shop", name)).filter(|(_, name)| !name.trim().is_empty()));
    facts.push(("made", day_in_words(&moment())));
    Ok(report_html(&Report { title: "Past jobs".to_owned(), facts, sections }))
}

fn section(figure: &Figure, by: By) -> ReportSection {
    ReportSection {
        heading: figure.title.to_owned(),
        about: format!("{} {}", figure.chart.about_by(by), figure.chart.legend()),
        whole: figure.chart.whole(),
        columns: figure.columns.clone(),
        rows: figure.rows.iter().map(|row| told(figure.chart, row)).collect(),
    }
}

fn told(chart: Chart, row: &FigureRow) -> ReportRow {
    ReportRow {
        name: row.name.clone(),
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
        Chart::Minutes => format!("{} min; middle half {} to {}", cell(2), cell(1), cell(3)),
        Chart::Pareto => format!("{}, {}", cell(1), cell(2)),
        Chart::Checks => format!("{}, found it {} times", cell(1), cell(2)),
        Chart::Calibration => format!("{} of {}", cell(2), cell(3)),
        _ => format!("{} of {}", cell(1), cell(2)),
    }
}
