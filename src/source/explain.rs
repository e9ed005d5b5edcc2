//! The RON reader's complaints in plain words.

use super::token::{group_around, tokens};
use super::{Located, Source, advice};
use ron::error::{Error, SpannedError};

/// Turns the RON reader's error into one with a file, a place and a hint.
pub(super) fn explain(source: &Source, error: &SpannedError) -> Located {
    let (line, column) = place(&source.text, error);
    let ended = tokens(&source.text).all(|token| (token.line, token.column) < (line, column));
    let code = if ended { &Error::Eof } else { &error.code };
    let (message, hint) = words(code);
    Located { file: source.name.clone(), line, column, message, hint }
}

/// Returns the place of the wrong word, of the group that lacks a field, or else where reading stopped.
fn place(text: &str, error: &SpannedError) -> (usize, usize) {
    let start = (error.span.start.line, error.span.start.col);
    let end = (error.span.end.line, error.span.end.col);
    match error.code {
        Error::NoSuchStructField { .. }
        | Error::NoSuchEnumVariant { .. }
        | Error::DuplicateStructField { .. }
        | Error::IntegerOutOfBounds => start,
        Error::MissingStructField { .. } => group_around(text, end).unwrap_or(end),
        _ => end,
    }
}

fn words(code: &Error) -> (String, Option<String>) {
    match code {
        Error::NoSuchStructField { expected, found, outer } => (
            format!("unknown field `{found}`{}", inside(outer)),
            Some(advice(found, expected, "the fields are", '`')),
        ),
        Error::NoSuchEnumVariant { expected, found, outer } => (
            format!("unknown word `{found}`{}", inside(outer)),
            Some(advice(found, expected, "the words are", '`')),
        ),
        Error::MissingStructField { field, outer } => {
            (format!("field `{field}` is missing{}", inside(outer)), Some(format!("add `{field}: ...`")))
        }
        Error::DuplicateStructField { field, outer } => (
            format!("field `{field}` is given twice{}", inside(outer)),
            Some("keep one of the two".to_owned()),
        ),
        other => plain(other),
    }
}

fn inside(outer: &Option<String>) -> String {
    outer.as_ref().map(|name| format!(" in `{name}`")).unwrap_or_default()
}

fn plain(code: &Error) -> (String, Option<String>) {
    let (message, hint) = match code {
        Error::ExpectedString => ("a text was expected", "write it in double quotes, like \"this\""),
        Error::ExpectedComma => ("a comma was expected", "put a comma after the value before this place"),
        Error::Eof | Error::ExpectedStringEnd => {
            ("the text ends too early", "close the brackets and quotes that are still open")
        }
        Error::TrailingCharacters => {
            ("there is text after the end", "a file holds one value in one pair of brackets")
        }
        Error::ExpectedArray => ("a list was expected", "write it in square brackets, like [a, b]"),
        Error::ExpectedStructLike | Error::ExpectedNamedStructLike(_) => {
            ("a group was expected", "write it in round brackets, like (name: \"a\")")
        }
        Error::ExpectedMapColon => ("a colon was expected", "write `field: value`"),
        Error::ExpectedFloat | Error::ExpectedInteger => ("a number was expected", "write it without quotes"),
        Error::ExpectedBoolean => ("`true` or `false` was expected", "write it without quotes"),
        other => return (lower(&other.to_string()), None),
    };
    (message.to_owned(), Some(hint.to_owned()))
}

/// Makes the first letter small, as in all our messages.
fn lower(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}
