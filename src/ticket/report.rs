//! Figures over past jobs as one self-contained page to print.

use super::clean::html_line;
use super::html::page;
use crate::draw::{Bar, bars_to, svg_themed};

/// How wide a chart is, in picture units.
const WIDE: f32 = 760.0;

/// A page of figures, every text as it was written.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// What it is about.
    pub title: String,
    /// What the figures are of, each with its name.
    pub facts: Vec<(&'static str, String)>,
    /// The figures in order.
    pub sections: Vec<ReportSection>,
}

/// One figure: a chart, and the same numbers as a table.
#[derive(Clone, Debug, PartialEq)]
pub struct ReportSection {
    /// Its heading.
    pub heading: String,
    /// What is counted.
    pub about: String,
    /// What the columns are called.
    pub columns: Vec<&'static str>,
    /// The value that a bar over the whole width stands for; the longest bar when there is none.
    pub whole: Option<f64>,
    /// The rows in order.
    pub rows: Vec<ReportRow>,
}

/// One row of a figure.
#[derive(Clone, Debug, PartialEq)]
pub struct ReportRow {
    /// What its bar is called.
    pub name: String,
    /// The cells in words; the first is the row's name.
    pub cells: Vec<String>,
    /// How long its bar is.
    pub bar: f64,
    /// The bar's length in words.
    pub words: String,
    /// What the bar is held against.
    pub beside: Option<f64>,
    /// Whether it comes from few jobs.
    pub small: bool,
}

/// Returns the report as a page without scripts or anything fetched; the same report gives the same text.
pub fn report_html(report: &Report) -> String {
    let fact = |(name, words): &(&str, String)| format!("<dt>{name}</dt><dd>{}</dd>\n", html_line(words));
    let facts: String = report.facts.iter().map(fact).collect();
    let sections: String = report.sections.iter().map(section).collect();
    page(&html_line(&report.title), SHEET, &format!("<dl>\n{facts}</dl>\n{sections}"))
}

fn section(section: &ReportSection) -> String {
    let all: Vec<Bar> = section.rows.iter().map(bar).collect();
    let picture = bars_to(&section.heading, &section.about, &all, WIDE, section.whole);
    let few = if section.rows.iter().any(|row| row.small) { FEW } else { "" };
    format!(
        "<section>\n<h2>{}</h2>\n<p>{}</p>\n<figure>\n{}</figure>\n{few}{}</section>\n",
        html_line(&section.heading),
        html_line(&section.about),
        svg_themed(&picture),
        table(section)
    )
}

const FEW: &str = "<p>A dashed bar comes from fewer than ten jobs and says little by itself.</p>\n";

fn bar(row: &ReportRow) -> Bar {
    let name = row.name.clone();
    Bar { name, value: row.bar, words: row.words.clone(), beside: row.beside, small: row.small }
}

fn table(section: &ReportSection) -> String {
    if section.rows.is_empty() {
        return String::new();
    }
    let head = section.columns.iter().chain(&[""]).map(|name| format!("<th scope=\"col\">{name}</th>"));
    let rows: String = section.rows.iter().map(row).collect();
    let head: String = head.collect();
    format!(
        "<div class=\"wide\">\n<table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n</div>\n"
    )
}

fn row(row: &ReportRow) -> String {
    let cell = |(index, words): (usize, &String)| match index {
        0 => format!("<th scope=\"row\">{}</th>", html_line(words)),
        _ => format!("<td>{}</td>", html_line(words)),
    };
    let cells: String = row.cells.iter().enumerate().map(cell).collect();
    let few = if row.small { "few" } else { "" };
    format!("<tr>{cells}<td>{few}</td></tr>\n")
}

/// On A4, one figure after the other.
const SHEET: &str = "\
@page { size: A4; margin: 14mm; }
@media print { section { break-inside: avoid-page; } table { font-size: 9pt; } }
";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_holds_no_markup_of_others_and_marks_what_comes_from_few() {
        let row = ReportRow {
            name: "<script>x</script>".to_owned(),
            cells: vec!["<script>x</script>\u{202e}".to_owned(), "3".to_owned()],
            bar: 3.0,
            words: "3".to_owned(),
            beside: None,
            small: true,
        };
        let section = ReportSection {
            heading: "What was found".to_owned(),
            about: "a & b".to_owned(),
            whole: None,
            columns: vec!["what", "jobs"],
            rows: vec![row],
        };
        let facts = vec![("jobs", "3".to_owned())];
        let page = report_html(&Report { title: "Past jobs".to_owned(), facts, sections: vec![section] });
        assert!(page.starts_with("<!DOCTYPE html>") && page.ends_with("</html>\n"), "{page}");
        assert!(
            !page.contains("<script") && !page.contains('\u{202e}') && page.contains("a &amp; b"),
            "{page}"
        );
        assert!(page.contains("3 (few)") && page.contains("<td>few</td>") && page.contains(FEW), "{page}");
    }

    #[test]
    fn a_report_of_nothing_says_so() {
        let section = ReportSection {
            heading: "Jobs per week".to_owned(),
            about: String::new(),
            whole: None,
            columns: vec!["monday"],
            rows: Vec::new(),
        };
        let page = report_html(&Report { title: "t".to_owned(), facts: vec![], sections: vec![section] });
        assert!(page.contains(">no jobs</text>") && !page.contains("<table>"), "{page}");
    }
}
