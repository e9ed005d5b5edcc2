//! How letters stand in the index of words, and in what is asked of it, beyond what the index folds by itself.

/// Returns a text with each letter of a script without blanks as a word of its own, and Greek letters without accents.
pub(super) fn folded(text: &str) -> String {
    let mut folded = String::with_capacity(text.len());
    let mut before = false;
    for letter in text.chars() {
        let alone = stands_alone(letter);
        let apart = (alone || before) && !letter.is_whitespace();
        if apart && !folded.is_empty() && !folded.ends_with(char::is_whitespace) {
            folded.push(' ');
        }
        folded.push(plain(letter));
        before = alone;
    }
    folded
}

/// Takes the blanks out again that [`folded`] has put between letters that are words of their own.
pub(super) fn joined(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let alone = |at: usize| letters.get(at).is_some_and(|letter| stands_alone(*letter));
    let kept = letters
        .iter()
        .enumerate()
        .filter(|(at, letter)| !(**letter == ' ' && *at > 0 && alone(at - 1) && alone(at + 1)));
    kept.map(|(_, letter)| *letter).collect()
}

/// Returns whether a letter is of a script that puts no blanks between words: the Unicode blocks of Hiragana, Katakana,
/// Bopomofo extensions and the unified ideographs, <https://www.unicode.org/Public/UNIDATA/Blocks.txt>.
const fn stands_alone(letter: char) -> bool {
    matches!(letter, '\u{3040}'..='\u{30ff}' | '\u{31a0}'..='\u{31ff}' | '\u{3400}'..='\u{4dbf}'
        | '\u{4e00}'..='\u{9fff}' | '\u{f900}'..='\u{faff}' | '\u{20000}'..='\u{3ffff}')
}

/// Returns a Greek letter without its accent; any other letter as it is.
const fn plain(letter: char) -> char {
    match letter {
        'ά' | 'Ά' => 'α',
        'έ' | 'Έ' => 'ε',
        'ή' | 'Ή' => 'η',
        'ί' | 'ϊ' | 'ΐ' | 'Ί' | 'Ϊ' => 'ι',
        'ό' | 'Ό' => 'ο',
        'ύ' | 'ϋ' | 'ΰ' | 'Ύ' | 'Ϋ' => 'υ',
        'ώ' | 'Ώ' => 'ω',
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_without_blanks_become_words_and_are_joined_again() {
        assert_eq!(folded("电吉他 no. 4"), "电 吉 他 no. 4");
        assert_eq!(folded("x电吉y"), "x 电 吉 y");
        assert_eq!(joined("…电 吉 他 no. 4"), "…电吉他 no. 4");
        assert_eq!(folded("volume pot"), "volume pot");
    }

    #[test]
    fn greek_accents_are_folded() {
        assert_eq!(folded("Ελένη Ώρα"), "Ελενη ωρα");
    }
}
