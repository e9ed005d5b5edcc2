//! How wide text is, measured without a font: a little more than in any common plain sans, so that it fits.

/// Widths of the characters from space to tilde, in thousandths of the letters' size.
const WIDTHS: [u16; 95] = [
    318, 401, 460, 838, 637, 951, 780, 275, 391, 391, 500, 838, 318, 361, 318, 360, 637, 637, 637, 637, 637,
    637, 637, 637, 637, 637, 337, 337, 838, 838, 838, 531, 1000, 685, 687, 699, 771, 632, 576, 775, 752, 295,
    490, 656, 558, 866, 749, 788, 604, 788, 695, 635, 611, 732, 685, 989, 686, 611, 686, 391, 360, 391, 838,
    500, 500, 613, 635, 550, 635, 616, 377, 635, 634, 278, 278, 580, 278, 975, 634, 612, 635, 635, 412, 521,
    393, 634, 592, 818, 592, 592, 525, 637, 337, 637, 838,
];
/// Width of every other character.
const OTHER: u16 = 1000;
/// How much wider bold letters are.
const BOLD: f32 = 1.2;

/// Letters of one size.
#[derive(Clone, Copy, Debug)]
pub(super) struct Letters {
    pub(super) size: f32,
    pub(super) bold: bool,
}

impl Letters {
    pub(super) const fn plain(size: f32) -> Self {
        Self { size, bold: false }
    }

    pub(super) const fn bold(size: f32) -> Self {
        Self { size, bold: true }
    }

    /// Returns how wide a text is at most.
    pub(super) fn width(self, text: &str) -> f32 {
        text.chars().map(|c| self.of(c)).sum()
    }

    fn of(self, c: char) -> f32 {
        let index = u32::from(c).checked_sub(32).and_then(|index| usize::try_from(index).ok());
        let width = index.and_then(|index| WIDTHS.get(index)).copied().unwrap_or(OTHER);
        let bold = if self.bold { BOLD } else { 1.0 };
        f32::from(width) / 1000.0 * self.size * bold
    }

    /// Breaks words into at most `most` lines no wider than `room`; what is left out shows as an ellipsis.
    pub(super) fn wrapped(self, words: &str, room: f32, most: usize) -> Vec<String> {
        let mut lines = Vec::new();
        for word in words.split_whitespace() {
            self.add(&mut lines, word, room);
            if lines.len() > most {
                break;
            }
        }
        if lines.len() > most {
            lines.truncate(most);
            if let Some(last) = lines.last_mut() {
                self.cut(last, room);
            }
        }
        lines
    }

    fn add(self, lines: &mut Vec<String>, word: &str, room: f32) {
        match lines.last_mut() {
            Some(line) if self.width(line) + self.of(' ') + self.width(word) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => self.begin(lines, word, room),
        }
    }

    /// Begins a line with a word; a word that is longer than a line is broken.
    fn begin(self, lines: &mut Vec<String>, word: &str, room: f32) {
        let (mut line, mut wide) = (String::new(), 0.0);
        for c in word.chars() {
            let next = self.of(c);
            if wide + next > room && !line.is_empty() {
                lines.push(std::mem::take(&mut line));
                wide = 0.0;
            }
            line.push(c);
            wide += next;
        }
        lines.push(line);
    }

    fn cut(self, line: &mut String, room: f32) {
        while self.width(line) + self.of('…') > room && line.pop().is_some() {}
        line.truncate(line.trim_end().len());
        line.push('…');
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::{prop_assert, prop_assert_eq, proptest};

    proptest! {
        #[test]
        fn no_line_is_wider_than_its_room(words in ".{0,200}", room in 40.0_f32..300.0, most in 1_usize..6) {
            let letters = Letters::bold(14.0);
            let lines = letters.wrapped(&words, room, most);
            prop_assert!(lines.len() <= most);
            for line in &lines {
                prop_assert!(letters.width(line) <= room + 0.01, "{line} in {room}");
            }
        }

        #[test]
        fn nothing_is_lost_where_there_is_room(words in "[a-z ]{0,200}") {
            let lines = Letters::plain(14.0).wrapped(&words, 100.0, 1000);
            let kept: String = lines.concat().split_whitespace().collect();
            prop_assert_eq!(kept, words.split_whitespace().collect::<String>());
        }
    }

    #[test]
    fn what_is_left_out_shows() {
        let lines = Letters::plain(10.0).wrapped("one two three four five six seven", 40.0, 2);
        assert_eq!(lines.len(), 2);
        assert!(lines[1].ends_with('…'), "{lines:?}");
    }
}
