//! What a tree may be called: its name becomes a file's, and is typed on a command line.

use super::{Tree, TreeError};
use crate::source::Path;

/// The most letters of a tree's name.
pub(crate) const LONGEST: usize = 64;

/// Returns why a tree may not be called as it is.
pub(super) fn refused(tree: &Tree) -> Option<TreeError> {
    let message = wrong(&tree.name)?;
    let hint = format!("use {LONGEST} letters at most: letters, digits, `-`, `_` and single blanks");
    Some(tree.positions.error(&Path::root().then("name"), message, Some(hint)).into())
}

fn wrong(name: &str) -> Option<String> {
    let allowed = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | ' ');
    let length = name.chars().count();
    if name.trim().is_empty() {
        Some("the tree's name is empty".to_owned())
    } else if let Some(letter) = name.chars().find(|c| !allowed(*c)) {
        Some(format!("the tree's name has the letter {letter:?}"))
    } else if length > LONGEST {
        Some(format!("the tree's name has {length} letters"))
    } else if name.trim() != name || name.contains("  ") {
        Some(format!("the tree's name \"{name}\" has a blank too many"))
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::super::{examine, load, load_kept};
    use crate::source::Source;
    use rstest::rstest;

    fn called(name: &str) -> Source {
        let step = "(name: \"a\", say: \"s\", why: \"w\", ask: Look([(answer: \"a\", means: \"m\", then: Advisor)]))";
        let head = format!("(format: 1,\n name: {name:?}, title: \"t\", complaint: Hum, start: \"a\"");
        Source::new("t.ron", format!("{head}, steps: [{step}])"))
    }

    #[rstest]
    #[case("silent")]
    #[case("My silent_2")]
    #[case("stumm-für-bässe")]
    fn a_plain_name_is_taken(#[case] name: &str) {
        assert_eq!(load(&called(name)).unwrap().name, name);
    }

    #[rstest]
    #[case("")]
    #[case("  ")]
    #[case("../../etc/passwd")]
    #[case("a\\b")]
    #[case("a.b")]
    #[case("c:a")]
    #[case("one\ntwo")]
    #[case("a\u{202e}b")]
    #[case(" a")]
    #[case("a  b")]
    #[case("12345678901234567890123456789012345678901234567890123456789012345")]
    fn any_other_is_refused_at_its_line_but_a_job_keeps_it(#[case] name: &str) {
        let error = load(&called(name)).unwrap_err();
        assert_eq!((error.line, error.column), (2, 8), "{error}");
        assert!(error.hint.is_some_and(|hint| hint.contains("64 letters")));
        assert_eq!(examine(&called(name)).unwrap().1.len(), 1);
        assert_eq!(load_kept(&called(name)).unwrap().name, name);
    }
}
