//! The norms that a PDF file keeps: it is held to them while it is written, and what breaks them is told.
//!
//! PDF/UA-1 (ISO 14289-1) is for those who have it read aloud, PDF/A-2a (ISO 19005-2) for those who keep it for years.
//! The second asks for the moment of what is told: a file that knows none keeps the first alone.

use jiff::civil::DateTime;
use krilla::configure::{
    Accessibility, Archival, ConfigurationBuilder, ValidationError, Validator, Validators,
};
use krilla::destination::XyzDestination;
use krilla::error::KrillaError;
use krilla::geom;
use krilla::metadata::{DateTime as Moment, Metadata};
use krilla::outline::OutlineNode;
use krilla::{Document, SerializeSettings};

use super::super::Point;
use super::{LANGUAGE, PdfError};

/// The most letters told of a file or a picture: no string of PDF/A is longer than 32767 bytes, four to a letter.
const TOLD: usize = 8000;

/// Begins a file; `made` is the moment, in UTC, of the last thing it tells.
pub(super) fn begun(made: Option<DateTime>) -> Result<Document, PdfError> {
    let mut norms = ConfigurationBuilder::new().with_accessibility_validator(Accessibility::UA1);
    if made.and_then(moment).is_some() {
        norms = norms.with_archival_validator(Archival::A2_A);
    }
    let configuration = norms.finish().map_err(|why| PdfError::Unwritable(format!("{why:?}")))?;
    Ok(Document::new_with(SerializeSettings { configuration, ..SerializeSettings::default() }))
}

/// Returns what a file tells of itself.
pub(super) fn metadata(title: &str, about: &str, made: Option<DateTime>) -> Metadata {
    let facts = Metadata::new()
        .title(named(title))
        .description(told(about))
        .language(LANGUAGE.to_owned())
        .creator("Lugwise".to_owned())
        .document_id(format!("{title}\n{about}"));
    match made.and_then(moment) {
        Some(moment) => facts.creation_date(moment),
        None => facts,
    }
}

/// Ends a file.
pub(super) fn ended(file: Document) -> Result<Vec<u8>, PdfError> {
    file.finish().map_err(|error| {
        PdfError::Unwritable(match error {
            KrillaError::Validation(broken) => breaches(&broken),
            other => other.to_string(),
        })
    })
}

/// Returns a title on one line; a file without one is not told by its name.
pub(super) fn named(title: &str) -> String {
    let told = told(title);
    let words: Vec<&str> = told.split_whitespace().collect();
    if words.is_empty() { "without a title".to_owned() } else { words.join(" ") }
}

/// Returns what is told of a file or a picture, no longer than a file may tell, without what XML cannot hold.
pub(super) fn told(text: &str) -> String {
    let held = |letter: char| !letter.is_control() && !matches!(letter, '\u{fffe}' | '\u{ffff}');
    let mut letters = text.chars().map(|letter| if held(letter) { letter } else { ' ' });
    let mut out: String = letters.by_ref().take(TOLD).collect();
    if letters.next().is_some() {
        out.push('…');
    }
    out
}

/// Returns an entry of the contents that leads to a place on a page; pages count from 0.
pub(super) fn entry(words: &str, page: usize, (x, y): Point) -> OutlineNode {
    OutlineNode::new(named(words), XyzDestination::new(page, geom::Point::from_xy(x, y)))
}

fn moment(made: DateTime) -> Option<Moment> {
    let year = u16::try_from(made.year()).ok()?;
    let parts = [made.month(), made.day(), made.hour(), made.minute(), made.second()];
    let [month, day, hour, minute, second] = parts.map(i8::unsigned_abs);
    Some(Moment::new(year).month(month).day(day).hour(hour).minute(minute).second(second))
}

fn breaches(broken: &[(ValidationError, Validators)]) -> String {
    let breach = |(why, norms): &(ValidationError, Validators)| {
        let norms: Vec<&str> = norms.into_iter().map(Validator::as_str).collect();
        format!("{why:?} breaks {}", norms.join(" and "))
    };
    broken.iter().take(3).map(breach).collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_title_is_never_empty_and_stands_on_one_line() {
        assert_eq!(named(" \n "), "without a title");
        assert_eq!(named("two\nlines"), "two lines");
        assert_eq!(named("\u{1}\u{fffe}"), "without a title");
    }

    #[test]
    fn what_is_told_has_an_end() {
        assert_eq!(told("words"), "words");
        assert_eq!(told(&"w".repeat(TOLD + 1)).chars().count(), TOLD + 1);
        assert!(told(&"w".repeat(TOLD + 1)).ends_with('…'));
    }

    #[test]
    fn a_moment_before_the_calendar_is_none() {
        let made = |year: i16| DateTime::constant(year, 3, 2, 9, 14, 5, 0);
        assert!(moment(made(2026)).is_some());
        assert!(moment(made(-1)).is_none());
    }
}
