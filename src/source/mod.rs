//! Text with positions: loading RON with errors that say file, line, column and how to mend it.
//!
//! [`load`] turns a text into a checked-by-serde value. [`Positions`] then finds the line and column of any value
//! in that text by its [`Path`], so that a room can point at the word that is wrong and not just at the file. [`Splice`]
//! changes values where they stand, and [`differences()`] says line by line what has changed.

mod differences;
mod explain;
mod located;
mod nearest;
mod positions;
mod splice;
mod token;

pub use differences::{DiffKind, DiffLine, differences};
pub use located::Located;
pub use nearest::{advice, nearest};
pub use positions::{Path, Positions, Step};
pub use splice::Splice;

use ron::extensions::Extensions;
use serde::de::DeserializeOwned;
use token::Kind;

/// The deepest nesting of brackets that a file may have.
pub const DEEPEST: usize = 64;

/// What some editors put before a text.
const BYTE_ORDER_MARK: char = '\u{feff}';

/// A text and the name to call it by in messages.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// The file's name as the person gave it, such as `my-guitar.ron`.
    pub name: String,
    /// The whole text.
    pub text: String,
}

impl Source {
    /// Makes a source from a name and a text; the byte-order mark that some editors put before a text is left out.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        let (name, mut text): (String, String) = (name.into(), text.into());
        if text.starts_with(BYTE_ORDER_MARK) {
            text.drain(..BYTE_ORDER_MARK.len_utf8());
        }
        Self { name, text }
    }
}

/// Reads a RON text into a raw type; `Some(..)` may be left out around optional values.
///
/// # Errors
///
/// Returns where and why the text is not what the type asks for, with a hint, also for text nested deeper than
/// [`DEEPEST`].
pub fn load<T: DeserializeOwned>(source: &Source) -> Result<T, Located> {
    refuse_depth(source)?;
    ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME)
        .from_str(&source.text)
        .map_err(|error| explain::explain(source, &error))
}

/// Returns the line and column, both from 1, of the value of every field of a name, in whatever group it stands, without
/// reading the text.
pub fn fields(text: &str, name: &str) -> impl Iterator<Item = (usize, usize)> {
    let (mut named, mut begins) = (false, false);
    token::tokens(text).filter_map(move |token| {
        let at = begins.then_some((token.line, token.column));
        begins = named && token.kind == Kind::Colon;
        named = matches!(&token.kind, Kind::Word(word) if word == name);
        at
    })
}

fn refuse_depth(source: &Source) -> Result<(), Located> {
    let Some((line, column)) = token::too_deep(&source.text, DEEPEST) else {
        return Ok(());
    };
    Err(Located {
        file: source.name.clone(),
        line,
        column,
        message: format!("brackets are nested deeper than {DEEPEST}"),
        hint: Some("close the brackets that were opened before".to_owned()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[derive(serde::Deserialize, Debug, PartialEq)]
    #[serde(deny_unknown_fields)]
    struct Knob {
        name: String,
        turns: Option<u8>,
    }

    fn knob(text: &str) -> Result<Knob, String> {
        load(&Source::new("knob.ron", text)).map_err(|error| error.to_string())
    }

    #[test]
    fn optional_values_need_no_some() {
        let made = Knob { name: "tone".to_owned(), turns: Some(10) };
        assert_eq!(knob("(name: \"tone\", turns: 10)"), Ok(made));
    }

    #[rstest]
    #[case(
        "(\n  name: \"tone\",\n  turn: 10,\n)",
        "knob.ron:3:3: unknown field `turn` in `Knob`\n  hint: did you mean `turns`?"
    )]
    #[case(
        "(name: \"tone\",\n  colour: 10)",
        "knob.ron:2:3: unknown field `colour` in `Knob`\n  hint: the fields are `name`, `turns`"
    )]
    #[case("(\n  turns: 10,\n)", "knob.ron:1:1: field `name` is missing in `Knob`\n  hint: add `name: ...`")]
    #[case(
        "(name: \"a\", name: \"b\")",
        "knob.ron:1:13: field `name` is given twice in `Knob`\n  hint: keep one of the two"
    )]
    #[case(
        "(name: tone)",
        "knob.ron:1:8: a text was expected\n  hint: write it in double quotes, like \"this\""
    )]
    #[case(
        "(name: \"tone\" turns: 3)",
        "knob.ron:1:15: a comma was expected\n  hint: put a comma after the value before this place"
    )]
    #[case(
        "(\n  name: \"tone,\n  colour: \"red\",\n)",
        "knob.ron:3:12: the text that begins in line 2, column 9 goes on to here: its closing quote may be missing\n  hint: end that text with a quote; or, if it is meant to go on so far, put a comma after it"
    )]
    #[case(
        "(name: \"tone\"",
        "knob.ron:1:14: the text ends too early\n  hint: close the brackets and quotes that are still open"
    )]
    #[case(
        "(name: \"tone\") rest",
        "knob.ron:1:16: there is text after the end\n  hint: a file holds one value in one pair of brackets"
    )]
    fn says_where_what_and_how_to_mend(#[case] text: &str, #[case] expected: &str) {
        assert_eq!(knob(text).unwrap_err(), expected);
    }

    #[test]
    fn a_byte_order_mark_is_no_part_of_the_text() {
        assert_eq!(Source::new("a", "\u{feff}(name: 1)").text, "(name: 1)");
        assert!(knob("\u{feff}(name: \"tone\")").is_ok());
    }

    #[test]
    fn fields_are_found_wherever_they_stand() {
        let text = "(ask: 1, // ask: 2\n b: [(ask: \"ask: 3\"), (task: 4, ask : x)])";
        assert_eq!(fields(text, "ask").collect::<Vec<_>>(), [(1, 7), (2, 12), (2, 39)]);
    }

    #[test]
    fn deep_nesting_is_refused_and_does_not_overflow() {
        let deep = "(".repeat(100_000);
        let error = knob(&deep).unwrap_err();
        assert_eq!(
            error,
            "knob.ron:1:65: brackets are nested deeper than 64\n  hint: close the brackets that were opened before"
        );
    }
}
