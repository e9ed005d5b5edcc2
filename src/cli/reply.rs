//! What a command answers: text and JSON of the same facts.

use std::io;
use std::path::Path;

use serde_json::Value;

use super::failure::Failure;
use crate::session::{may_be_written, write_whole};

/// The answer of one command, told twice.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Reply {
    /// For a person, without a last line break.
    pub text: String,
    /// For a program.
    pub json: Value,
    /// Whether the answer is that the input is wrong: exit code 1.
    pub wrong: bool,
    /// Whether a part could not be done: exit code 3.
    pub partial: bool,
    /// What a person must know of it, told on the standard error stream.
    pub notes: Vec<String>,
}

impl Reply {
    /// Makes the answer of a command that did what it was asked.
    pub(super) fn new(text: impl Into<String>, json: Value) -> Self {
        Self { text: text.into(), json, wrong: false, partial: false, notes: Vec::new() }
    }

    /// Returns the exit code.
    pub(super) fn code(&self) -> u8 {
        if self.partial { 3 } else { u8::from(self.wrong) }
    }
}

/// What a command ends with.
pub(super) type Answer = Result<Reply, Failure>;

/// Writes a document whole or not at all, over nothing but an earlier document of the same kind; what is no ordinary file
/// is written to.
pub(super) fn put(file: &Path, bytes: &[u8]) -> Result<(), Failure> {
    write_whole(file, bytes).map_err(|why| not_written(file, &why))
}

/// Refuses a name under which a document that begins so cannot be written, before it is worked out.
pub(super) fn refuse_taken(file: &Path, begin: &str) -> Result<(), Failure> {
    may_be_written(file, begin.as_bytes()).map_err(|why| not_written(file, &why))
}

fn not_written(file: &Path, why: &io::Error) -> Failure {
    Failure::told(&io::Error::other(format!("cannot write {}: {why}", file.display())))
}

/// Lines up columns with two blanks between them; the last column is left as it is.
pub(super) fn columns(rows: &[Vec<String>]) -> String {
    let width = |column: usize| {
        rows.iter().filter_map(|r| r.get(column)).map(|c| c.chars().count()).max().unwrap_or(0)
    };
    let padded = |row: &Vec<String>| {
        let cells = row.iter().enumerate().map(|(i, cell)| match i + 1 == row.len() {
            true => cell.clone(),
            false => format!("{cell:<0$}", width(i)),
        });
        cells.collect::<Vec<_>>().join("  ").trim_end().to_owned()
    };
    rows.iter().map(padded).collect::<Vec<_>>().join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up_by_characters() {
        let rows = [["Ω", "a", "x"], ["kΩ", "bcd", "y"]].map(|r| r.map(String::from).to_vec());
        assert_eq!(columns(&rows), "Ω   a    x\nkΩ  bcd  y");
    }
}
