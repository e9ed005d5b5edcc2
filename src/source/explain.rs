//! The RON reader's complaints in plain words.

use super::token::{Kind, Token, group_around, tokens};
use super::{Located, Source, advice};
use ron::error::{Error, SpannedError};

/// Turns the RON reader's error into one with a file, a place and a hint.
pub(super) fn explain(source: &Source, error: &SpannedError) -> Located {
    let (line, column) = place(&source.text, error);
    let ended = tokens(&source.text).all(|token| (token.line, token.column) < (line, column));
    let code = if ended { &Error::Eof } else { &error.code };
    let (message, hint) =
        unclosed(&source.text, (line, column), code).map_or_else(|| words(code), |text| goes_on(&text));
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

/// Returns a text that goes on too far before a place, as one does whose closing quote is missing: it holds a line break,
/// or something touches its end, or the file ends in it.
fn unclosed(text: &str, place: (usize, usize), code: &Error) -> Option<Token> {
    match code {
        Error::Eof | Error::ExpectedStringEnd => tokens(text).last().filter(|last| is_open(text, last)),
        Error::ExpectedComma | Error::ExpectedMapColon => {
            let before = tokens(text).take_while(|token| (token.line, token.column) < place);
            let before: Vec<Token> = before.collect();
            let near = before.into_iter().rev().take(2).find(|token| matches!(token.kind, Kind::Quoted(_)));
            near.filter(|near| text[near.bytes.clone()].contains('\n') || is_touched(text, near))
        }
        _ => None,
    }
}

fn is_open(text: &str, token: &Token) -> bool {
    let whole = &text[token.bytes.clone()];
    let closed = whole.len() > 1 && (whole.ends_with('"') || whole.ends_with('#') || whole.ends_with('\''));
    matches!(token.kind, Kind::Quoted(_)) && token.bytes.end == text.len() && !closed
}

fn is_touched(text: &str, token: &Token) -> bool {
    let next = text[token.bytes.end..].chars().next();
    next.is_some_and(|next| !next.is_whitespace() && !",:)]}/".contains(next))
}

/// Says of a text that its closing quote may be missing.
fn goes_on(text: &Token) -> (String, Option<String>) {
    let message = format!(
        "the text that begins in line {}, column {} goes on to here: its closing quote may be missing",
        text.line, text.column
    );
    let hint = "end that text with a quote; or, if it is meant to go on so far, put a comma after it";
    (message, Some(hint.to_owned()))
}

fn words(code: &Error) -> (String, Option<String>) {
    match code {
        Error::NoSuchStructField { expected, found, outer } => (
            format!("unknown field `{found}`{}", inside(outer.as_ref())),
            Some(advice(found, expected, "the fields are", '`')),
        ),
        Error::NoSuchEnumVariant { expected, found, outer } => (
            format!("unknown word `{found}`{}", inside(outer.as_ref())),
            Some(advice(found, expected, "the words are", '`')),
        ),
        Error::MissingStructField { field, outer } => (
            format!("field `{field}` is missing{}", inside(outer.as_ref())),
            Some(format!("add `{field}: ...`")),
        ),
        Error::DuplicateStructField { field, outer } => (
            format!("field `{field}` is given twice{}", inside(outer.as_ref())),
            Some("keep one of the two".to_owned()),
        ),
        other => plain(other),
    }
}

fn inside(outer: Option<&String>) -> String {
    outer.map(|name| format!(" in `{name}`")).unwrap_or_default()
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
