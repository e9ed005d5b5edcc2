//! An error at a place in a text.

use std::fmt;

/// What is wrong at one place of a file, and how to mend it where that is known.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Located {
    /// The file's name as the person gave it.
    pub file: String,
    /// The line, from 1; 0 when it is about the file and no place in it.
    pub line: usize,
    /// The column in characters, from 1.
    pub column: usize,
    /// What was found and what was expected, lower case and without a final stop.
    pub message: String,
    /// How to mend it.
    pub hint: Option<String>,
}

impl fmt::Display for Located {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            0 => write!(f, "{}: {}", self.file, self.message)?,
            line => write!(f, "{}:{line}:{}: {}", self.file, self.column, self.message)?,
        }
        match &self.hint {
            Some(hint) => write!(f, "\n  hint: {hint}"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for Located {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prints_place_message_and_hint() {
        let mut error = Located {
            file: "a.ron".to_owned(),
            line: 3,
            column: 7,
            message: "no part \"volme\"".to_owned(),
            hint: Some("did you mean \"volume\"?".to_owned()),
        };
        assert_eq!(error.to_string(), "a.ron:3:7: no part \"volme\"\n  hint: did you mean \"volume\"?");
        error.hint = None;
        assert_eq!(error.to_string(), "a.ron:3:7: no part \"volme\"");
        (error.line, error.column) = (0, 0);
        assert_eq!(error.to_string(), "a.ron: no part \"volme\"");
    }
}
