//! RON text cut into the few pieces that positions depend on. It accepts any text and never fails.

use std::ops::Range;

/// One piece of text with the place where it starts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Token {
    pub kind: Kind,
    pub line: usize,
    pub column: usize,
    pub bytes: Range<usize>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// `(`, `[` or `{`.
    Open,
    /// `)`, `]` or `}`.
    Close,
    Colon,
    Comma,
    /// A name or a number.
    Word(String),
    /// A text or a character in quotes, without them; escapes are left as written.
    Quoted(String),
    /// Any other character.
    Other(char),
}

/// Returns where a bracket goes deeper than `limit`, if one does.
pub(super) fn too_deep(text: &str, limit: usize) -> Option<(usize, usize)> {
    let mut depth = 0_usize;
    for token in tokens(text) {
        match token.kind {
            Kind::Open if depth == limit => return Some((token.line, token.column)),
            Kind::Open => depth += 1,
            Kind::Close => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    None
}

/// Returns where the innermost group that is open at a place starts, its name included.
pub(super) fn group_around(text: &str, place: (usize, usize)) -> Option<(usize, usize)> {
    let mut open = Vec::new();
    let mut name = None;
    for token in tokens(text) {
        let at = (token.line, token.column);
        if at >= place {
            break;
        }
        match token.kind {
            Kind::Open => open.push(name.unwrap_or(at)),
            Kind::Close => drop(open.pop()),
            _ => {}
        }
        name = matches!(token.kind, Kind::Word(_)).then_some(at);
    }
    open.pop()
}

/// Cuts a text into tokens; comments and blanks are left out.
pub(super) fn tokens(text: &str) -> Tokens<'_> {
    Tokens { rest: text, line: 1, column: 1, byte: 0 }
}

pub(super) struct Tokens<'a> {
    rest: &'a str,
    line: usize,
    column: usize,
    byte: usize,
}

impl Iterator for Tokens<'_> {
    type Item = Token;

    fn next(&mut self) -> Option<Token> {
        self.skip_blanks();
        let first = self.rest.chars().next()?;
        let (line, column, start) = (self.line, self.column, self.byte);
        let kind = self.piece(first);
        Some(Token { kind, line, column, bytes: start..self.byte })
    }
}

impl<'a> Tokens<'a> {
    fn piece(&mut self, first: char) -> Kind {
        if let Some(text) = self.quoted() {
            return Kind::Quoted(text.to_owned());
        }
        if is_word(first) {
            let end = self.rest.find(|c| !is_word(c)).unwrap_or(self.rest.len());
            return Kind::Word(self.take(end).to_owned());
        }
        self.take(first.len_utf8());
        match first {
            '(' | '[' | '{' => Kind::Open,
            ')' | ']' | '}' => Kind::Close,
            ':' => Kind::Colon,
            ',' => Kind::Comma,
            other => Kind::Other(other),
        }
    }

    /// Takes a text in quotes, raw or not, or a character in quotes.
    fn quoted(&mut self) -> Option<&'a str> {
        let plain = self.rest.strip_prefix('b').unwrap_or(self.rest);
        let prefix = self.rest.len() - plain.len();
        if let Some(raw) = plain.strip_prefix('r') {
            let hashes = raw.len() - raw.trim_start_matches('#').len();
            if raw[hashes..].starts_with('"') {
                return Some(self.take_raw(prefix + 1 + hashes + 1, hashes));
            }
        }
        match plain.chars().next()? {
            quote @ '"' => Some(self.take_escaped(prefix + 1, quote)),
            quote @ '\'' if is_character(plain) => Some(self.take_escaped(prefix + 1, quote)),
            _ => None,
        }
    }

    fn take_raw(&mut self, start: usize, hashes: usize) -> &'a str {
        let close = format!("\"{}", "#".repeat(hashes));
        let inner = &self.rest[start..];
        let length = inner.find(&close).unwrap_or(inner.len());
        self.take((start + length + close.len()).min(self.rest.len()));
        &inner[..length]
    }

    fn take_escaped(&mut self, start: usize, quote: char) -> &'a str {
        let inner = &self.rest[start..];
        let mut escaped = false;
        for (at, c) in inner.char_indices() {
            if c == quote && !escaped {
                self.take(start + at + 1);
                return &inner[..at];
            }
            escaped = c == '\\' && !escaped;
        }
        self.take(self.rest.len());
        inner
    }

    fn skip_blanks(&mut self) {
        loop {
            let before = self.rest.len();
            let blank = self.rest.len() - self.rest.trim_start().len();
            self.take(blank);
            if self.rest.starts_with("//") {
                let end = self.rest.find('\n').unwrap_or(self.rest.len());
                self.take(end);
            } else if self.rest.starts_with("/*") {
                self.take(block_comment(self.rest));
            }
            if self.rest.len() == before {
                return;
            }
        }
    }

    /// Moves past `bytes` bytes, counting lines and columns.
    fn take(&mut self, bytes: usize) -> &'a str {
        let (taken, rest) = self.rest.split_at(bytes);
        for c in taken.chars() {
            if c == '\n' {
                self.line += 1;
                self.column = 1;
            } else {
                self.column += 1;
            }
        }
        self.rest = rest;
        self.byte += bytes;
        taken
    }
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || matches!(c, '_' | '.' | '+' | '-' | '#')
}

/// Whether a text that starts with a single quote is a character such as `'('` or `'\''`.
fn is_character(text: &str) -> bool {
    let mut inner = text.chars().skip(1);
    let second = inner.next();
    second == Some('\\') || (second.is_some() && inner.next() == Some('\''))
}

/// Returns the length of the comment that starts the text; comments may be nested.
fn block_comment(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut depth = 0_usize;
    let mut at = 0;
    while at + 1 < bytes.len() {
        match &bytes[at..at + 2] {
            b"/*" => depth += 1,
            b"*/" => depth -= 1,
            _ => {
                at += 1;
                continue;
            }
        }
        at += 2;
        if depth == 0 {
            return at;
        }
    }
    bytes.len()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    fn kinds(text: &str) -> Vec<Kind> {
        tokens(text).map(|token| token.kind).collect()
    }

    #[rstest]
    #[case("\"a ( b\"", "a ( b")]
    #[case("\"a \\\" ( b\"", "a \\\" ( b")]
    #[case("\"\\\\\"", "\\\\")]
    #[case("r\"a \\\"", "a \\")]
    #[case("r##\"a \"# b\"##", "a \"# b")]
    #[case("b\"a\"", "a")]
    #[case("'('", "(")]
    #[case("'\\''", "\\'")]
    #[case("\"never closed (", "never closed (")]
    #[case("r#\"never closed\" (", "never closed\" (")]
    fn brackets_in_quotes_are_text(#[case] text: &str, #[case] inner: &str) {
        assert_eq!(kinds(text), vec![Kind::Quoted(inner.to_owned())]);
    }

    #[rstest]
    #[case("// ( \n)", vec![Kind::Close])]
    #[case("/* ( /* [ */ ( */ )", vec![Kind::Close])]
    #[case("/* never closed (", vec![])]
    #[case("//", vec![])]
    fn brackets_in_comments_do_not_count(#[case] text: &str, #[case] expected: Vec<Kind>) {
        assert_eq!(kinds(text), expected);
    }

    #[test]
    fn columns_count_characters_and_lines_restart_them() {
        let found: Vec<(usize, usize)> = tokens("\"Ω\" a\n  b").map(|t| (t.line, t.column)).collect();
        assert_eq!(found, vec![(1, 1), (1, 5), (2, 3)]);
    }

    #[rstest]
    #[case("((()))", 3, None)]
    #[case("(((())))", 3, Some((1, 4)))]
    #[case("()()()()", 1, None)]
    #[case(")))(", 1, None)]
    fn depth(#[case] text: &str, #[case] limit: usize, #[case] at: Option<(usize, usize)>) {
        assert_eq!(too_deep(text, limit), at);
    }

    #[rstest]
    #[case("(a: Coil( ), b)", (1, 11), Some((1, 5)))]
    #[case("(a: Coil( ), b)", (1, 14), Some((1, 1)))]
    #[case("a", (1, 1), None)]
    fn groups(#[case] text: &str, #[case] place: (usize, usize), #[case] start: Option<(usize, usize)>) {
        assert_eq!(group_around(text, place), start);
    }

    proptest! {
        #[test]
        fn any_text_is_cut_to_its_end(text in "[a-z(){}\\[\\]:,\"'\\\\/*#r\n Ωb.]{0,80}") {
            prop_assert!(tokens(&text).count() <= text.chars().count());
        }
    }
}
