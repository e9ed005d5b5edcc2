//! The text of a job: one RON value a line.

use super::{JobError, Record};

/// What a job's text holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Parsed {
    /// The events of every whole line.
    pub records: Vec<Record>,
    /// What the last line held, when it is cut off; everything before it is in `records`.
    pub cut: Option<String>,
    /// How many bytes of the text belong to whole lines.
    pub kept: usize,
}

/// Returns the event as one line of text, without the line end.
///
/// # Errors
///
/// When the event cannot be written, which no event of this program causes.
pub fn to_line(record: &Record) -> Result<String, JobError> {
    ron::ser::to_string(record).map_err(|error| JobError::Unwritable { why: error.to_string() })
}

/// Reads a job's text; empty lines are passed over.
///
/// A last line without a line end that cannot be understood was cut off while it was written: it is handed
/// back in [`Parsed::cut`].
///
/// # Errors
///
/// When any other line cannot be understood, with its line and column.
pub fn parse(text: &str) -> Result<Parsed, JobError> {
    let mut parsed = Parsed { records: Vec::new(), cut: None, kept: 0 };
    for (index, line) in text.split_inclusive('\n').enumerate() {
        if line.trim().is_empty() {
            parsed.kept += line.len();
            continue;
        }
        match ron::from_str::<Record>(line) {
            Ok(record) => parsed.records.push(record),
            Err(_) if !line.ends_with('\n') => {
                parsed.cut = Some(line.to_owned());
                return Ok(parsed);
            }
            Err(error) => return Err(refused(index, line, &error)),
        }
        parsed.kept += line.len();
    }
    Ok(parsed)
}

fn refused(index: usize, line: &str, error: &ron::error::SpannedError) -> JobError {
    match format_of(line) {
        Some(found) if index == 0 && found != 1 => JobError::Format { found },
        _ => JobError::Line {
            line: index + 1,
            column: error.span.start.col,
            message: error.code.to_string(),
            hint: "the line was changed or damaged after it was written; put it back from a copy, or take \
                   it out if it can be missed"
                .to_owned(),
        },
    }
}

/// Returns the format number a started event claims, even when the rest of it is unknown to this program.
fn format_of(line: &str) -> Option<u32> {
    let (_, after) = line.split_once("started(format:")?;
    let digits = after.find(|c: char| !c.is_ascii_digit())?;
    after[..digits].parse().ok()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::sample::{any_event, read, record, started};
    use super::super::{Event, Record};
    use super::*;
    use crate::readings::Dial;
    use crate::units::Ohms;

    fn text(records: &[Record]) -> String {
        records.iter().map(|record| to_line(record).unwrap() + "\n").collect()
    }

    fn three() -> Vec<Record> {
        vec![started(), record(read(1, 10, 6050.0)), record(Event::Undone)]
    }

    proptest! {
        #[test]
        fn an_event_survives_its_line(event in any_event(), at in any::<String>()) {
            let record = Record { at, event };
            let line = to_line(&record).unwrap();
            prop_assert!(!line.contains(['\n', '\r']), "{line}");
            prop_assert_eq!(parse(&(line + "\n")).unwrap().records, vec![record]);
        }

        #[test]
        fn wherever_the_text_is_cut_the_whole_lines_are_kept(share in 0.0..1.0_f64) {
            let text = text(&three());
            let at = (text.len() as f64 * share) as usize;
            prop_assume!(text.is_char_boundary(at));
            let parsed = parse(&text[..at]).unwrap();
            let ends: Vec<usize> = text.match_indices('\n').map(|(end, _)| end).collect();
            let whole = ends.iter().filter(|end| at >= **end).count();
            prop_assert_eq!(&parsed.records, &three()[..whole]);
            let rest = &text[parsed.kept..at];
            prop_assert_eq!(parsed.cut.as_deref().unwrap_or_default(), rest);
        }
    }

    #[test]
    fn the_lines_of_a_small_job_read_as_documented() {
        let line = to_line(&record(Event::Opened { place: "control cavity".to_owned() })).unwrap();
        assert_eq!(line, r#"(at:"2026-03-02T09:14:05Z",event:opened(place:"control cavity"))"#);
        assert_eq!(to_line(&record(Event::Undone)).unwrap(), r#"(at:"2026-03-02T09:14:05Z",event:undone)"#);
    }

    #[test]
    fn a_known_value_is_in_ohms_unless_its_line_says_farads() {
        let ohms = r#"(at:"2026-03-02T09:14:05Z",event:known(part:"a",typed:"8.1k",ohms:8100.0))"#;
        let farads = r#"(at:"2026-03-02T09:14:05Z",event:known(part:"a",typed:"1",ohms:1.0,dial:farads))"#;
        for (line, typed, value, dial) in
            [(ohms, "8.1k", 8100.0, Dial::Ohms), (farads, "1", 1.0, Dial::Farads)]
        {
            let (part, typed) = ("a".to_owned(), typed.to_owned());
            let known = record(Event::Known { part, typed, ohms: Ohms::new(value), dial });
            assert_eq!(to_line(&known).unwrap(), line);
            let parsed = parse(&format!("{line}\n")).unwrap();
            assert_eq!(parsed.records, [known]);
        }
    }

    #[test]
    fn empty_lines_are_passed_over() {
        let spaced = text(&three()).replace('\n', "\r\n\n");
        assert_eq!(parse(&spaced).unwrap().records, three());
    }

    #[rstest::rstest]
    #[case("(at:\"x\",event:opened(place:3))", 28, "expected string")]
    #[case("(at:\"x\",event:opened(place:\"a\",hue:1))", 32, "hue")]
    #[case("(at:\"x\",event:drilled)", 15, "drilled")]
    #[case("(at:\"x\"", 8, "")]
    fn a_broken_line_that_is_not_the_last_is_an_error(
        #[case] line: &str,
        #[case] column: usize,
        #[case] names: &str,
    ) {
        let text = text(&[started()]) + line + "\n" + &text(&three()[1..]);
        let error = parse(&text).unwrap_err();
        let JobError::Line { line, column: found, message, hint } = error else {
            panic!("wrong kind of error: {error:?}");
        };
        assert_eq!((line, found), (2, column), "{message}");
        assert!(message.to_lowercase().contains(names), "{message}");
        assert!(hint.contains("put it back from a copy"), "{hint}");
    }

    #[test]
    fn a_job_of_a_later_format_is_named_as_such() {
        let text = "(at:\"x\",event:started(format:2,mood:\"new\"))\n";
        assert_eq!(parse(text), Err(JobError::Format { found: 2 }));
    }
}
