//! Changes to a text at the places of its values; everything else stays as it is, byte for byte.

use std::ops::Range;

use super::token::{Kind, tokens};
use super::{Path, Positions, Source};

/// A text that is being changed.
///
/// What is put in is written with no indentation of its own and takes that of the line it comes after.
#[derive(Clone, Debug)]
pub struct Splice<'a> {
    text: &'a str,
    positions: Positions,
    changes: Vec<(Range<usize>, String)>,
}

impl<'a> Splice<'a> {
    /// Begins with a text that is not changed yet.
    pub fn new(source: &'a Source) -> Self {
        Self { text: &source.text, positions: Positions::of(source), changes: Vec::new() }
    }

    /// Puts a text in place of the value at a path; returns whether there is such a value.
    pub fn replace(&mut self, path: &Path, text: &str) -> bool {
        let found = self.positions.bytes(path);
        let there = found.is_some();
        self.changes.extend(found.map(|bytes| (bytes, text.to_owned())));
        there
    }

    /// Adds a field at the end of the group at a path; returns whether there is such a group with something in it.
    pub fn add_field(&mut self, group: &Path, field: &str) -> bool {
        let last = self.positions.last_bytes(group);
        self.add(last, field)
    }

    /// Adds an item after the one at a path; returns whether there is such an item.
    pub fn add_after(&mut self, item: &Path, new: &str) -> bool {
        let item = self.positions.bytes(item);
        self.add(item, new)
    }

    /// Returns the changed text.
    pub fn done(mut self) -> String {
        self.changes.sort_by_key(|(bytes, _)| (bytes.start, bytes.end));
        let (mut made, mut copied) = (String::with_capacity(self.text.len()), 0);
        for (bytes, text) in &self.changes {
            made += &self.text[copied..bytes.start.max(copied)];
            made += text;
            copied = bytes.end.max(copied);
        }
        made + &self.text[copied..]
    }

    fn add(&mut self, neighbour: Option<Range<usize>>, text: &str) -> bool {
        let Some(Range { start, end }) = neighbour else { return false };
        let next = tokens(self.text).find(|token| token.bytes.start >= end);
        let comma = next.filter(|token| token.kind == Kind::Comma).map(|token| token.bytes.end);
        if comma.is_none() {
            self.changes.push((end..end, ",".to_owned()));
        }
        let at = self.line_end(comma.unwrap_or(end));
        let broken = if self.text.contains("\r\n") { "\r\n" } else { "\n" };
        let indent = self.indent(start);
        let lines = text.lines().map(|line| format!("{broken}{indent}{line}")).collect::<String>();
        self.changes.push((at..at, format!("{lines},")));
        true
    }

    /// Returns the end of the line, if nothing but a comment is left of it; else where the text goes on.
    fn line_end(&self, from: usize) -> usize {
        let rest = self.text[from..].lines().next().unwrap_or_default();
        let left = rest.trim();
        if left.is_empty() || left.starts_with("//") { from + rest.len() } else { from }
    }

    /// Returns what the line begins with that a byte is in.
    fn indent(&self, byte: usize) -> &'a str {
        let line = self.text[..byte].rfind('\n').map_or(0, |before| before + 1);
        let line = &self.text[line..];
        &line[..line.len() - line.trim_start_matches([' ', '\t']).len()]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    const TEXT: &str = "(\n    all: [\n        (a: 1, b: 2), // the first\n        (\n            a: 3, // three\n        )\n    ],\n)\n";

    fn item(index: usize) -> Path {
        Path::root().then("all").then(index)
    }

    fn changed(text: &str, change: impl Fn(&mut Splice<'_>) -> bool) -> String {
        let source = Source::new("f", text);
        let mut splice = Splice::new(&source);
        assert!(change(&mut splice));
        splice.done()
    }

    #[test]
    fn a_value_is_replaced_and_nothing_else() {
        let made = changed(TEXT, |splice| splice.replace(&item(0).then("b"), "Step(\"x\")"));
        assert_eq!(made, TEXT.replace("b: 2", "b: Step(\"x\")"));
    }

    #[test]
    fn an_item_comes_after_the_comment_of_the_one_before() {
        let made = changed(TEXT, |splice| splice.add_after(&item(0), "(\n    a: 9,\n)"));
        let added = "// the first\n        (\n            a: 9,\n        ),\n";
        assert_eq!(made, TEXT.replace("// the first\n", added));
    }

    #[test]
    fn a_comma_is_added_where_there_is_none() {
        let made = changed(TEXT, |splice| splice.add_after(&item(1), "(a: 9)"));
        assert_eq!(made, TEXT.replace("        )\n    ]", "        ),\n        (a: 9),\n    ]"));
    }

    #[test]
    fn a_field_comes_last_in_its_group() {
        let made = changed(TEXT, |splice| splice.add_field(&item(1), "c: 4"));
        assert_eq!(made, TEXT.replace("// three\n", "// three\n            c: 4,\n"));
    }

    #[test]
    fn lines_end_as_the_others_do() {
        let made = changed(&TEXT.replace('\n', "\r\n"), |splice| splice.add_after(&item(0), "(\n)"));
        assert!(!made.replace("\r\n", "").contains('\n'), "{made:?}");
    }

    #[rstest]
    #[case("(a: [1])", "(a: [1,\n2,])")]
    #[case("(a: [1, 3])", "(a: [1,\n2, 3])")]
    fn all_on_one_line(#[case] text: &str, #[case] expected: &str) {
        assert_eq!(
            changed(text, |splice| splice.add_after(&Path::root().then("a").then(0_usize), "2")),
            expected
        );
    }

    #[test]
    fn what_is_not_there_is_not_changed() {
        let source = Source::new("f", TEXT);
        let mut splice = Splice::new(&source);
        assert!(!splice.replace(&item(7), "x"));
        assert!(!splice.add_after(&item(7), "x"));
        assert_eq!(splice.done(), TEXT);
    }
}
