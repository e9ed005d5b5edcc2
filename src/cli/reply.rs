//! What a command answers: text and JSON of the same facts.

use serde_json::Value;

use super::failure::Failure;

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
