//! Makes free text harmless: for every document, then for Markdown and for HTML.

/// Returns text without characters that could hide or turn around what stands beside it.
///
/// Controls and direction marks become `\u{fffd}`; every kind of line break becomes a newline, a tab a space.
fn visible(text: &str) -> impl Iterator<Item = char> {
    let unified = |c: char| match c {
        '\n' | '\u{85}' | '\u{2028}' | '\u{2029}' | '\u{b}' | '\u{c}' => '\n',
        '\t' => ' ',
        '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => char::REPLACEMENT_CHARACTER,
        '\u{200e}' | '\u{200f}' | '\u{61c}' | '\u{feff}' => char::REPLACEMENT_CHARACTER,
        '\u{fffe}' | '\u{ffff}' => char::REPLACEMENT_CHARACTER,
        c if c.is_control() => char::REPLACEMENT_CHARACTER,
        c => c,
    };
    let mut before = None;
    text.chars().filter_map(move |c| {
        let pair = before.replace(c) == Some('\r') && c == '\n';
        (!pair).then_some(if c == '\r' { '\n' } else { unified(c) })
    })
}

/// Returns text to print, its lines kept, of at most `most` letters; what is left out is said.
pub(super) fn plain(text: &str, most: usize) -> String {
    let text = text.trim();
    let mut letters = visible(text);
    let mut out: String = letters.by_ref().take(most).collect();
    let left = letters.count();
    if left > 0 {
        out += &format!("… ({left} more letters are in the job file)");
    }
    out
}

/// Returns the beginning of a text to print on one line, of at most `most` letters.
pub(super) fn beginning(text: &str, most: usize) -> String {
    let line: String = visible(text.trim()).map(|c| if c == '\n' { ' ' } else { c }).collect();
    match line.char_indices().nth(most) {
        None => line,
        Some(_) => line.chars().take(most.saturating_sub(1)).collect::<String>().trim_end().to_owned() + "…",
    }
}

/// Returns text on one line, safe inside an element or a quoted attribute of HTML.
pub(super) fn html_line(text: &str) -> String {
    html(text, " ")
}

/// Returns text for HTML with its lines kept.
pub(super) fn html_lines(text: &str) -> String {
    html(text, "<br>")
}

fn html(text: &str, newline: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in visible(text.trim()) {
        match c {
            '\n' => out.push_str(newline),
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}

/// Returns text on one line in which nothing is Markdown.
pub(super) fn md_line(text: &str) -> String {
    md(text, " ")
}

/// Returns text as a Markdown quotation that keeps its lines; nothing in it is Markdown.
pub(super) fn md_quote(text: &str) -> String {
    format!("> {}", md(text, "\\\n> "))
}

fn md(text: &str, newline: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut line = Line::Empty;
    let mut chars = visible(text.trim()).peekable();
    while let Some(c) = chars.next() {
        match c {
            '\n' => out.push_str(newline),
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            c => {
                let next = chars.peek().copied();
                let link = c == ':' && next == Some('/');
                if link || is_markup(c) || line.begins_list(c, next) {
                    out.push('\\');
                }
                out.push(c);
            }
        }
        line = line.after(c);
    }
    out
}

/// What a line holds so far: what begins a list depends on it.
#[derive(Clone, Copy, PartialEq)]
enum Line {
    Empty,
    Digits,
    Words,
}

impl Line {
    fn begins_list(self, c: char, next: Option<char>) -> bool {
        match self {
            Self::Empty => matches!(c, '-' | '+' | '='),
            Self::Digits => matches!(c, '.' | ')') && next.is_none_or(char::is_whitespace),
            Self::Words => false,
        }
    }

    fn after(self, c: char) -> Self {
        match c {
            '\n' => Self::Empty,
            ' ' if self == Self::Empty => Self::Empty,
            c if c.is_ascii_digit() && self != Self::Words => Self::Digits,
            _ => Self::Words,
        }
    }
}

fn is_markup(c: char) -> bool {
    matches!(c, '\\' | '`' | '*' | '_' | '{' | '}' | '[' | ']' | '#' | '|' | '!' | '~' | '$' | '@')
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("a|b", "a\\|b")]
    #[case("a\\|b", "a\\\\\\|b")]
    #[case("one\r\ntwo\rthree\u{2029}four\tfive", "one two three four five")]
    #[case("7.42k at 09:14", "7.42k at 09:14")]
    #[case("2. list", "2\\. list")]
    #[case("- list", "\\- list")]
    #[case("http://x www", "http\\://x www")]
    #[case("<b>&amp;", "&lt;b&gt;&amp;amp;")]
    #[case("`*_#~[](!", "\\`\\*\\_\\#\\~\\[\\](\\!")]
    #[case("\u{202e}x\u{0}", "\u{fffd}x\u{fffd}")]
    fn markdown_lines_hold_no_markdown(#[case] text: &str, #[case] safe: &str) {
        assert_eq!(md_line(text), safe);
    }

    #[test]
    fn a_quotation_keeps_its_lines_and_starts_no_list_in_them() {
        assert_eq!(md_quote("1) a\n\n- b"), "> 1\\) a\\\n> \\\n> \\- b");
    }

    #[test]
    fn what_is_printed_is_limited_and_says_what_is_left_out() {
        assert_eq!(plain(" a\u{202e}b\r\nc ", 9), "a\u{fffd}b\nc");
        assert_eq!(plain("abcdef", 6), "abcdef");
        assert_eq!(plain("abcdef", 4), "abcd… (2 more letters are in the job file)");
    }

    #[rstest]
    #[case("a\nb", "a b", "a<br>b")]
    #[case("<'\"&>", "&lt;&#39;&quot;&amp;&gt;", "&lt;&#39;&quot;&amp;&gt;")]
    #[case("\u{2066}x", "\u{fffd}x", "\u{fffd}x")]
    fn html_holds_no_markup(#[case] text: &str, #[case] line: &str, #[case] lines: &str) {
        assert_eq!(html_line(text), line);
        assert_eq!(html_lines(text), lines);
    }
}
