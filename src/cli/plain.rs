//! Free text on a terminal: what others wrote must not move the cursor, turn a line around or fill the screen.

/// Returns text on one line without characters that could hide or turn around what stands beside it.
pub(super) fn plain(text: &str) -> String {
    text.trim().chars().map(seen).collect()
}

/// Returns text of several lines without such characters; line ends and tabs stay as they are.
pub(super) fn printable(text: &str) -> String {
    let mut rest = text.chars().peekable();
    let mut out = String::with_capacity(text.len());
    while let Some(c) = rest.next() {
        let kept = matches!(c, '\n' | '\t') || c == '\r' && rest.peek() == Some(&'\n');
        out.push(if kept { c } else { seen(c) });
    }
    out
}

fn seen(c: char) -> char {
    match c {
        '\n' | '\r' | '\t' | '\u{85}' | '\u{2028}' | '\u{2029}' => ' ',
        '\u{200e}' | '\u{200f}' | '\u{61c}' | '\u{feff}' => char::REPLACEMENT_CHARACTER,
        '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => char::REPLACEMENT_CHARACTER,
        c if c.is_control() => char::REPLACEMENT_CHARACTER,
        c => c,
    }
}

/// Returns the same with at most so many characters.
pub(super) fn short(text: &str, most: usize) -> String {
    let text = plain(text);
    match text.char_indices().nth(most) {
        None => text,
        Some(_) => text.chars().take(most.saturating_sub(1)).chain(['…']).collect(),
    }
}

/// Returns a number of things, such as `1 job` or `12 jobs`.
pub(super) fn counted(count: u64, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_stay_lines_and_nothing_else_moves_the_cursor() {
        let text = "a\tb\r\nc\rd\n\u{1b}[2J\u{9b}e\u{202e}f\u{2028}g\r";
        assert_eq!(printable(text), "a\tb\r\nc d\n\u{fffd}[2J\u{fffd}e\u{fffd}f g ");
        assert_eq!(printable("7.5 kΩ – “é”\n\n"), "7.5 kΩ – “é”\n\n");
    }

    #[test]
    fn nothing_moves_the_cursor_or_turns_the_line() {
        assert_eq!(plain(" a\u{1b}[2Jb\r\nc\u{202e}d\u{7} "), "a\u{fffd}[2Jb  c\u{fffd}d\u{fffd}");
        assert_eq!((short("guitar", 6).as_str(), short("guitars", 6).as_str()), ("guitar", "guita…"));
        assert_eq!((counted(1, "job").as_str(), counted(0, "job").as_str()), ("1 job", "0 jobs"));
        assert_eq!(short(&"é".repeat(1 << 20), 3), "éé…");
    }
}
