//! A list of checks to print and tick off: Markdown, and one self-contained page.

use super::clean::{html_line, html_lines, md_line};
use super::{html, markdown};

/// A list of checks with what they prove, as plain words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checklist {
    /// What is checked.
    pub title: String,
    /// What was assumed, each with its name.
    pub facts: Vec<(&'static str, String)>,
    /// What to read first.
    pub cautions: Vec<String>,
    /// The checks in order.
    pub checks: Vec<CheckRow>,
    /// What the checks cover, as sentences.
    pub coverage: Vec<String>,
    /// Kind of fault, how many are covered, how many there are.
    pub kinds: Vec<[String; 3]>,
    /// Number of the check to repeat, what to move meanwhile.
    pub moves: Vec<[String; 2]>,
    /// What no check shows, and why.
    pub missed: Vec<[String; 2]>,
}

/// One check of a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CheckRow {
    /// What to open and to move first; empty when nothing.
    pub before: String,
    /// Where the red probe goes.
    pub red: String,
    /// Where the black probe goes.
    pub black: String,
    /// What the dial is set to.
    pub dial: String,
    /// What a healthy instrument reads.
    pub healthy: String,
    /// What the check shows.
    pub covers: String,
    /// What was read; empty when nothing yet.
    pub found: String,
    /// Whether it passed; `None` when there is no reading yet.
    pub passed: Option<bool>,
}

impl CheckRow {
    fn mark(&self) -> &'static str {
        match self.passed {
            None => "☐",
            Some(true) => "✓",
            Some(false) => "✗",
        }
    }

    fn cells(&self, number: usize, clean: fn(&str) -> String) -> [String; 8] {
        let probes = format!("red: {}; black: {}", self.red, self.black);
        let words = [&self.before, &probes, &self.dial, &self.healthy, &self.found, &self.covers];
        let [before, probes, dial, healthy, found, covers] = words.map(|text| clean(text));
        [self.mark().to_owned(), number.to_string(), before, probes, dial, healthy, found, covers]
    }
}

const CHECKS: [&str; 8] =
    ["done", "no.", "first", "probes", "dial", "healthy reads", "reading", "shows, among others"];
const KINDS: [&str; 3] = ["fault", "covered", "of"];
const MOVES: [&str; 2] = ["check", "repeat it while you"];
const MISSED: [&str; 2] = ["fault", "why"];

/// What the headings of the parts are.
const HEADINGS: [&str; 4] =
    ["Checks", "Coverage by kind of fault", "Faults that come and go", "What no check here shows"];

fn rows(list: &Checklist, clean: fn(&str) -> String) -> Vec<[String; 8]> {
    list.checks.iter().enumerate().map(|(index, check)| check.cells(index + 1, clean)).collect()
}

fn cleaned<const N: usize>(rows: &[[String; N]], clean: fn(&str) -> String) -> Vec<[String; N]> {
    rows.iter().map(|row| row.clone().map(|cell| clean(&cell))).collect()
}

/// Returns the list as Markdown; the same list gives the same text.
pub fn checklist_markdown(list: &Checklist) -> String {
    let fact = |(name, words): &(&str, String)| format!("- {name}: {}\n", md_line(words));
    let line = |text: &String| format!("{}\n", md_line(text));
    let [checks, kinds, moves, missed] = HEADINGS;
    let parts = [
        format!("# Wiring audit: {}\n", md_line(&list.title)),
        list.facts.iter().map(fact).collect(),
        list.cautions.iter().map(line).collect::<Vec<_>>().join("\n"),
        markdown::table(checks, CHECKS, rows(list, md_line)),
        list.coverage.iter().map(line).collect::<Vec<_>>().join("\n"),
        markdown::table(kinds, KINDS, cleaned(&list.kinds, md_line)),
        markdown::table(moves, MOVES, cleaned(&list.moves, md_line)),
        markdown::table(missed, MISSED, cleaned(&list.missed, md_line)),
    ];
    parts.into_iter().filter(|part: &String| !part.is_empty()).collect::<Vec<_>>().join("\n")
}

/// Returns the list as a page without scripts or anything fetched; the same list gives the same text.
pub fn checklist_html(list: &Checklist) -> String {
    let fact = |(name, words): &(&str, String)| format!("<dt>{name}</dt><dd>{}</dd>\n", html_lines(words));
    let line = |text: &String| format!("<p>{}</p>\n", html_line(text));
    let facts: String = list.facts.iter().map(fact).collect();
    let [checks, kinds, moves, missed] = HEADINGS;
    let parts = [
        format!("<dl>\n{facts}</dl>\n"),
        list.cautions.iter().map(line).collect(),
        html::table(checks, CHECKS, rows(list, html_line)),
        list.coverage.iter().map(line).collect(),
        html::table(kinds, KINDS, cleaned(&list.kinds, html_line)),
        html::table(moves, MOVES, cleaned(&list.moves, html_line)),
        html::table(missed, MISSED, cleaned(&list.missed, html_line)),
    ];
    html::page(&format!("Wiring audit: {}", html_line(&list.title)), SHEET, &parts.concat())
}

/// On A4: small enough for eight columns, with room to write the reading.
const SHEET: &str = "\
@page { size: A4 landscape; margin: 12mm; }
td:nth-of-type(6) { min-width: 6rem; }
@media print { body { font-size: 9pt; } table { font-size: 8.5pt; } thead { display: table-header-group; } }
";

#[cfg(test)]
mod tests {
    use super::*;

    fn list() -> Checklist {
        let check = |passed, found: &str| CheckRow {
            before: "selector to <both>".to_owned(),
            red: "tip of the plug".to_owned(),
            black: "sleeve | of the plug".to_owned(),
            dial: "ohms".to_owned(),
            healthy: "at most 1.7 Ω".to_owned(),
            covers: "12 faults".to_owned(),
            found: found.to_owned(),
            passed,
        };
        Checklist {
            title: "one & two".to_owned(),
            facts: vec![("meter", "ordinary".to_owned())],
            cautions: vec!["Unplug it.".to_owned()],
            checks: vec![check(None, ""), check(Some(true), "0.3 Ω"), check(Some(false), "over range")],
            coverage: vec!["12 of 14 faults show".to_owned()],
            kinds: vec![["open joint", "12", "14"].map(str::to_owned)],
            moves: vec![["1", "Bend the <lead>"].map(str::to_owned)],
            missed: Vec::new(),
        }
    }

    #[test]
    fn a_row_without_a_reading_has_an_empty_box_and_a_blank() {
        let text = checklist_markdown(&list());
        assert!(text.contains("| ☐ | 1 | selector to &lt;both&gt; |"), "{text}");
        assert!(text.contains("| at most 1.7 Ω |  | 12 faults |"), "{text}");
        assert!(
            text.contains("| ✓ | 2 |") && text.contains("| 0.3 Ω |") && text.contains("| ✗ | 3 |"),
            "{text}"
        );
        assert!(!text.contains("What no check here shows"), "an empty table was written");
    }

    #[test]
    fn the_page_is_whole_and_holds_no_markup_of_others() {
        let page = checklist_html(&list());
        assert!(page.starts_with("<!DOCTYPE html>") && page.ends_with("</html>\n"), "{page}");
        assert!(page.contains("Wiring audit: one &amp; two</title>") && page.contains("A4"), "{page}");
        assert!(page.contains("&lt;both&gt;") && !page.contains("<lead>"), "{page}");
        for outside in ["http", "src=", "<script", "@import", "url("] {
            assert!(!page.contains(outside), "{outside} in {page}");
        }
        assert_eq!(page.matches('☐').count(), 1, "{page}");
    }
}
