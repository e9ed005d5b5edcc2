//! What is wrong with the input, for a person and for a program.

use std::fmt;

use serde::Serialize;
use serde_json::{Value, json};

use crate::source::Located;

/// One thing that is wrong, and where.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub(super) struct Problem {
    /// What was being done, what was found, what is allowed.
    pub message: String,
    /// How to mend it.
    pub hint: Option<String>,
    /// The file.
    pub file: Option<String>,
    /// The line, from 1; none when it is about the file and no place in it.
    pub line: Option<usize>,
    /// The column, from 1.
    pub column: Option<usize>,
}

impl From<Located> for Problem {
    fn from(located: Located) -> Self {
        Self {
            message: located.message,
            hint: located.hint,
            file: Some(located.file),
            line: Some(located.line).filter(|line| *line > 0),
            column: Some(located.column).filter(|column| *column > 0),
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(file) = &self.file {
            write!(f, "{file}:")?;
            for number in [self.line, self.column].into_iter().flatten() {
                write!(f, "{number}:")?;
            }
            f.write_str(" ")?;
        }
        f.write_str(&self.message)?;
        self.hint.iter().try_for_each(|hint| write!(f, "\n  hint: {hint}"))
    }
}

/// Why a command ends with exit code 1 or 2: at least one problem.
#[derive(Debug, PartialEq)]
pub(super) struct Failure {
    problems: Vec<Problem>,
}

impl Failure {
    /// Makes a failure from a message without a place.
    pub(super) fn new(message: impl Into<String>) -> Self {
        Problem { message: message.into(), ..Problem::default() }.into()
    }

    /// Returns this failure with a hint for its first problem.
    pub(super) fn with_hint(mut self, hint: impl Into<String>) -> Self {
        let hint = hint.into();
        self.problems.iter_mut().take(1).for_each(|first| first.hint = Some(hint.clone()));
        self
    }

    /// Returns this failure with another name for the file that is called `known` in it.
    pub(super) fn naming(mut self, known: &str, file: &str) -> Self {
        for problem in self.problems.iter_mut().filter(|problem| problem.file.as_deref() == Some(known)) {
            problem.file = Some(file.to_owned());
        }
        self
    }

    /// Makes a failure from an error of a room; a last line `hint: …` becomes the hint.
    pub(super) fn told(error: &dyn std::error::Error) -> Self {
        let text = error.to_string();
        match text.split_once("\nhint: ").or_else(|| text.split_once("\n  hint: ")) {
            Some((message, hint)) => Self::new(message).with_hint(hint),
            None => Self::new(text),
        }
    }

    /// Makes a failure from what is wrong with the command line: the first paragraph of `told`; the rest is the hint.
    pub(super) fn usage(told: &str) -> Self {
        let mut paragraphs = told.split("\n\n").map(one_line).filter(|words| !words.is_empty());
        let first = paragraphs.next().unwrap_or_default();
        let failure = Self::new(first.strip_prefix("error: ").unwrap_or(&first));
        match paragraphs.collect::<Vec<_>>().join("; ") {
            hint if hint.is_empty() => failure,
            hint => failure.with_hint(hint),
        }
    }

    /// Returns every problem, the first one first.
    pub(super) fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// Returns the failure as JSON.
    pub(super) fn to_json(&self) -> Value {
        let mut error = json!(self.problems.first());
        error["others"] = json!(self.problems.iter().skip(1).collect::<Vec<_>>());
        json!({ "error": error })
    }
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

impl From<Problem> for Failure {
    fn from(problem: Problem) -> Self {
        Self { problems: vec![problem] }
    }
}

impl From<Vec<Located>> for Failure {
    fn from(located: Vec<Located>) -> Self {
        Self { problems: located.into_iter().map(Problem::from).collect() }
    }
}

impl From<Located> for Failure {
    fn from(located: Located) -> Self {
        Problem::from(located).into()
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, problem) in self.problems.iter().enumerate() {
            write!(f, "{}error: {problem}", if i == 0 { "" } else { "\n" })?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn located(line: usize, hint: Option<&str>) -> Located {
        Located {
            file: "a.ron".into(),
            line,
            column: 4,
            message: "no part \"volme\"".into(),
            hint: hint.map(Into::into),
        }
    }

    #[test]
    fn text_says_where_and_how_to_mend() {
        let failure = Failure::from(vec![located(2, Some("did you mean \"volume\"?")), located(9, None)]);
        assert_eq!(
            failure.to_string(),
            "error: a.ron:2:4: no part \"volme\"\n  hint: did you mean \"volume\"?\nerror: a.ron:9:4: no part \"volme\""
        );
    }

    #[test]
    fn json_keeps_the_place_apart_from_the_message() {
        let value = Failure::from(vec![located(2, None), located(9, None)]).to_json();
        assert_eq!(value["error"]["line"], 2);
        assert_eq!(value["error"]["message"], "no part \"volme\"");
        assert_eq!(value["error"]["others"][0]["line"], 9);
    }

    #[test]
    fn what_is_wrong_with_the_command_line_is_one_line_with_the_rest_as_its_hint() {
        let told = "error: these are missing:\n  --red <TERMINAL>\n\nUsage: lugwise predict\n\nTry --help.\n";
        let failure = Failure::new("these are missing: --red <TERMINAL>");
        assert_eq!(Failure::usage(told), failure.with_hint("Usage: lugwise predict; Try --help."));
        assert_eq!(Failure::usage("error: no\n"), Failure::new("no"));
    }

    #[test]
    fn a_hint_in_an_error_text_is_told_apart() {
        let failure = Failure::told(&std::io::Error::other("cannot open x: gone\nhint: look elsewhere"));
        assert_eq!(failure, Failure::new("cannot open x: gone").with_hint("look elsewhere"));
    }
}
