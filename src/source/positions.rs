//! Where each value of a RON text stands.

use std::ops::Range;

use super::token::{Kind, Token, Tokens, tokens};
use super::{DEEPEST, Located, Source};

/// One step from a value to a value inside it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Step {
    /// The field, or the map entry, of this name.
    Field(String),
    /// The item at this index of a list or tuple, from 0.
    Item(usize),
}

impl From<&str> for Step {
    fn from(name: &str) -> Self {
        Self::Field(name.to_owned())
    }
}

impl From<usize> for Step {
    fn from(index: usize) -> Self {
        Self::Item(index)
    }
}

/// The way from the whole file to one value, such as `wires`, 3, `from`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Path(Vec<Step>);

impl Path {
    /// Returns the path of the whole file.
    pub fn root() -> Self {
        Self::default()
    }

    /// Returns the path of a value inside the value at this path.
    #[must_use]
    pub fn then(&self, step: impl Into<Step>) -> Self {
        let mut steps = self.0.clone();
        steps.push(step.into());
        Self(steps)
    }

    /// Returns whether this path leads to a value inside the value at another.
    pub fn is_within(&self, outer: &Self) -> bool {
        self.0.starts_with(&outer.0)
    }
}

/// The lines and columns of every value in a RON text.
///
/// Any text has positions, also one that is not RON: what cannot be found is where its nearest outer value starts.
#[derive(Clone, Debug)]
pub struct Positions {
    file: String,
    root: Node,
}

#[derive(Clone, Debug)]
struct Node {
    line: usize,
    column: usize,
    bytes: Range<usize>,
    children: Vec<(Step, Self)>,
}

impl Positions {
    /// Finds every value of a text.
    pub fn of(source: &Source) -> Self {
        let mut reader = Reader { tokens: tokens(&source.text), next: None, ended: 0 };
        reader.advance();
        reader.skip_attributes();
        let nothing = Node { line: 1, column: 1, bytes: 0..0, children: Vec::new() };
        let root = reader.value(0).unwrap_or(nothing);
        Self { file: source.name.clone(), root }
    }

    /// Returns the line and column, both from 1, of the value at a path; a step that leads nowhere is passed over, so that
    /// the innermost outer value is found that exists.
    pub fn at(&self, path: &Path) -> (usize, usize) {
        let mut node = &self.root;
        for step in &path.0 {
            if let Some((_, child)) = node.children.iter().find(|(name, _)| name == step) {
                node = child;
            }
        }
        (node.line, node.column)
    }

    /// Returns the bytes of the text that the value at a path takes up; `None` when there is no such value.
    pub(super) fn bytes(&self, path: &Path) -> Option<Range<usize>> {
        self.node(path).map(|node| node.bytes.clone())
    }

    /// Returns the bytes of the last value inside the value at a path.
    pub(super) fn last_bytes(&self, path: &Path) -> Option<Range<usize>> {
        self.node(path)?.children.last().map(|(_, child)| child.bytes.clone())
    }

    fn node(&self, path: &Path) -> Option<&Node> {
        let inside = |node: &'_ Node, step: &Step| node.children.iter().position(|(name, _)| name == step);
        path.0.iter().try_fold(&self.root, |node, step| Some(&node.children[inside(node, step)?].1))
    }

    /// Returns an error that points at the value at a path.
    pub fn error(&self, path: &Path, message: impl Into<String>, hint: Option<String>) -> Located {
        let (line, column) = self.at(path);
        Located { file: self.file.clone(), line, column, message: message.into(), hint }
    }
}

struct Reader<'a> {
    tokens: Tokens<'a>,
    next: Option<Token>,
    /// Where the last token that was taken ended.
    ended: usize,
}

impl Reader<'_> {
    fn advance(&mut self) -> Option<Token> {
        let taken = std::mem::replace(&mut self.next, self.tokens.next());
        self.ended = taken.as_ref().map_or(self.ended, |token| token.bytes.end);
        taken
    }

    fn sees(&self, kind: &Kind) -> bool {
        self.next.as_ref().is_some_and(|token| token.kind == *kind)
    }

    /// Skips `#![enable(...)]` lines at the start of a file.
    fn skip_attributes(&mut self) {
        while matches!(&self.next, Some(token) if token.kind == Kind::Word("#".to_owned())) {
            self.advance();
            if self.sees(&Kind::Other('!')) {
                self.advance();
                self.value(0);
            }
        }
    }

    /// Reads one value: a word, a quoted text, a bracketed group, or a name with a group.
    fn value(&mut self, depth: usize) -> Option<Node> {
        let token = self.advance()?;
        let (line, column) = (token.line, token.column);
        let mut node = Node { line, column, bytes: token.bytes, children: Vec::new() };
        match token.kind {
            Kind::Open => node.children = self.group(depth + 1),
            Kind::Word(_) if self.sees(&Kind::Open) => {
                self.advance();
                node.children = self.group(depth + 1);
            }
            _ => {}
        }
        node.bytes.end = self.ended;
        Some(node)
    }

    /// Reads the entries of a group up to its closing bracket; past [`DEEPEST`] they are passed over.
    fn group(&mut self, depth: usize) -> Vec<(Step, Node)> {
        let mut children = Vec::new();
        let mut index = 0;
        while let Some(token) = &self.next {
            match &token.kind {
                Kind::Close => {
                    self.advance();
                    break;
                }
                Kind::Comma => {
                    self.advance();
                }
                _ if depth > DEEPEST => {
                    self.advance();
                }
                _ => children.extend(self.entry(depth, &mut index)),
            }
        }
        children
    }

    /// Reads `name: value`, `"key": value` or a plain value.
    fn entry(&mut self, depth: usize, index: &mut usize) -> Option<(Step, Node)> {
        let name = match &self.next.as_ref()?.kind {
            Kind::Word(word) => Some(word.trim_start_matches("r#").to_owned()),
            Kind::Quoted(text) => Some(text.clone()),
            _ => None,
        };
        let first = self.value(depth)?;
        if !self.sees(&Kind::Colon) {
            *index += 1;
            return Some((Step::Item(*index - 1), first));
        }
        self.advance();
        let value = match &self.next {
            Some(token) if !matches!(token.kind, Kind::Close | Kind::Comma) => self.value(depth)?,
            _ => first,
        };
        Some((Step::Field(name.unwrap_or_default()), value))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    const TEXT: &str = r#"// a small file
(
    name: "x ( y",
    wires: [
        (from: "a.b", kind: Wire),
        (from: Some("c"), kind: Pot(track: "500k", role: Volume)),
    ],
    map: { "neck volume": 10, "tone": [1, 2] },
    pair: (1, (2, 3)),
)"#;

    fn path(text: &str) -> Path {
        text.split('/').filter(|s| !s.is_empty()).fold(Path::root(), |path, step| {
            match step.parse::<usize>() {
                Ok(index) => path.then(index),
                Err(_) => path.then(step),
            }
        })
    }

    #[rstest]
    #[case("", (2, 1))]
    #[case("name", (3, 11))]
    #[case("wires", (4, 12))]
    #[case("wires/0", (5, 9))]
    #[case("wires/0/kind", (5, 29))]
    #[case("wires/1/from", (6, 16))]
    #[case("wires/1/from/0", (6, 21))]
    #[case("wires/1/kind", (6, 33))]
    #[case("wires/1/kind/role", (6, 58))]
    #[case("map/neck volume", (8, 27))]
    #[case("map/tone/1", (8, 43))]
    #[case("pair/1", (9, 15))]
    #[case("pair/1/0", (9, 16))]
    #[case("wires/7/from", (4, 12))]
    #[case("nothing", (2, 1))]
    fn finds_values(#[case] at: &str, #[case] expected: (usize, usize)) {
        assert_eq!(Positions::of(&Source::new("f", TEXT)).at(&path(at)), expected);
    }

    #[rstest]
    #[case("")]
    #[case("(")]
    #[case(")")]
    #[case("(a:")]
    #[case("(a:)")]
    #[case("#![enable(")]
    #[case("# # #")]
    #[case("(::::)")]
    #[case("\"")]
    fn odd_text_has_positions_too(#[case] text: &str) {
        let (line, column) = Positions::of(&Source::new("f", text)).at(&path("a/0/b"));
        assert!(line == 1 && column <= text.len().max(1));
    }

    #[test]
    fn attributes_are_not_the_value() {
        let source = Source::new("f", "#![enable(implicit_some)]\n(a: 1)");
        assert_eq!(Positions::of(&source).at(&path("a")), (2, 5));
    }

    #[test]
    fn very_deep_text_does_not_overflow() {
        let source = Source::new("f", "[".repeat(100_000));
        assert_eq!(Positions::of(&source).at(&path("0/0")), (1, 3));
    }

    proptest! {
        #[test]
        fn positions_lie_in_the_text(text in "[a-c(){}\\[\\]:,\"'\\\\/*#r\n Ω!]{0,80}") {
            let (line, column) = Positions::of(&Source::new("f", text.as_str())).at(&path("a/0"));
            let lines: Vec<&str> = text.split('\n').collect();
            prop_assert!(line >= 1 && line <= lines.len());
            prop_assert!(column >= 1 && column <= lines[line - 1].chars().count().max(1));
        }
    }
}
