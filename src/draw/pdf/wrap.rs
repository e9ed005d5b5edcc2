//! Breaks words into lines by the widths of the letters that are printed.

/// Breaks a text into lines no wider than `wide`, which is in the unit of `advance`; its own line breaks stay.
///
/// A line that goes on after a blank ends in that blank; a word that is too long is broken between letters.
pub(super) fn wrap(text: &str, wide: f32, advance: &dyn Fn(char) -> f32) -> Vec<String> {
    let mut filling = Filling { wide, advance, lines: Vec::new(), line: String::new(), long: 0.0 };
    for line in text.split('\n') {
        line.split_whitespace().for_each(|word| filling.word(word));
        filling.end("");
    }
    filling.lines
}

struct Filling<'a> {
    wide: f32,
    advance: &'a dyn Fn(char) -> f32,
    lines: Vec<String>,
    line: String,
    long: f32,
}

impl Filling<'_> {
    fn word(&mut self, word: &str) {
        let size: f32 = word.chars().map(self.advance).sum();
        let gap = if self.line.is_empty() { 0.0 } else { (self.advance)(' ') };
        if !self.line.is_empty() && self.long + gap + size > self.wide {
            self.end(" ");
        } else if !self.line.is_empty() {
            self.line.push(' ');
            self.long += gap;
        }
        if size <= self.wide {
            self.line.push_str(word);
            self.long += size;
        } else {
            word.chars().for_each(|letter| self.letter(letter));
        }
    }

    fn letter(&mut self, letter: char) {
        let size = (self.advance)(letter);
        if !self.line.is_empty() && self.long + size > self.wide {
            self.end("");
        }
        self.line.push(letter);
        self.long += size;
    }

    fn end(&mut self, with: &str) {
        self.line.push_str(with);
        self.lines.push(std::mem::take(&mut self.line));
        self.long = 0.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every letter is one wide, but for `w`, which is two.
    fn width(letter: char) -> f32 {
        if letter == 'w' { 2.0 } else { 1.0 }
    }

    fn wide(line: &str) -> f32 {
        line.trim_end().chars().map(width).sum()
    }

    #[test]
    fn lines_break_at_blanks_and_keep_their_own_breaks() {
        assert_eq!(wrap("one two three", 7.0, &width), ["one ", "two ", "three"]);
        assert_eq!(wrap("a\n\nb", 7.0, &width), ["a", "", "b"]);
        assert_eq!(wrap("", 7.0, &width), [""]);
    }

    #[test]
    fn a_word_that_is_too_long_is_broken_between_letters() {
        assert_eq!(wrap("ab abcdefgh", 3.0, &width), ["ab ", "abc", "def", "gh"]);
        assert_eq!(wrap("ww", 1.0, &width), ["w", "w"], "a letter wider than the line stands alone");
    }

    proptest! {
        #[test]
        fn nothing_is_lost_and_no_line_is_too_wide(text in "[a-z \n]{0,200}", room in 2.0..40.0_f32) {
            let lines = wrap(&text, room, &width);
            prop_assert!(lines.iter().all(|line| wide(line) <= room));
            let letters = |text: &str| text.split_whitespace().collect::<String>();
            prop_assert_eq!(letters(&lines.concat()), letters(&text));
        }
    }
}
