//! Makes free text harmless: for every document, then for Markdown and for HTML.

use std::fmt::Write as _;

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
    let mut fresh = true;
    for c in visible(text.trim()) {
        match c {
            '\n' => out.push_str(newline),
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            c if is_markup(c) || (fresh && matches!(c, '-' | '+' | '=')) => {
                // Writing to a string cannot fail.
                let _ = write!(out, "\\{c}");
            }
            // A number at the start of a line must not begin a list.
            '.' | ')' if out.ends_with(|d: char| d.is_ascii_digit()) => {
                let _ = write!(out, "\\{c}");
            }
            c => out.push(c),
        }
        fresh = c == '\n' || (fresh && c == ' ');
    }
    out
}

fn is_markup(c: char) -> bool {
    matches!(
        c,
        '\\' | '`' | '*' | '_' | '{' | '}' | '[' | ']' | '#' | '|' | '!' | '~' | '$' | ':' | '@'
    )
}
