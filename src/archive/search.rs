//! Jobs by the words in them.

use super::summary::COLUMNS;
use super::{Archive, ArchiveError, Summary};

/// How many words of a question are looked at.
const WORDS: usize = 32;
/// How many characters of a word are looked at.
const LETTERS: usize = 100;

/// A job that was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Hit {
    /// The job.
    pub job: Summary,
    /// The words around the place where it was found.
    pub around: String,
}

impl Archive {
    /// Returns the jobs that hold every one of these words, the last of which may be a beginning; the best first.
    ///
    /// Customer, instrument, complaint, fault sentences, parts, repairs and remarks are looked through, without regard to
    /// case and accents. Nothing in the text has a meaning of its own.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn search(&self, text: &str, most: u32) -> Result<Vec<Hit>, ArchiveError> {
        let Some(asked) = asked(text) else { return Ok(Vec::new()) };
        let sql = format!(
            "SELECT {COLUMNS}, snippet(search, -1, '', '', '…', 16) AS around FROM search \
             JOIN job j ON j.id = search.rowid JOIN summary s ON s.job = j.id \
             WHERE search MATCH ?1 ORDER BY search.rank, j.id DESC LIMIT {most}"
        );
        self.rows(&sql, &[asked], |row| Ok(Hit { job: Summary::row(row)?, around: row.get("around")? }))
    }
}

/// Returns the question as the index takes it: every word in quotes, the last one as a beginning.
fn asked(text: &str) -> Option<String> {
    let letter = |c: char| if c.is_control() { ' ' } else { c };
    let plain: String = text.chars().take(WORDS * LETTERS).map(letter).collect();
    let words = plain.split_whitespace().filter(|word| word.contains(char::is_alphanumeric));
    let quoted = |word: &str| {
        let word: String = word.chars().take(LETTERS).collect();
        format!("\"{}\"", word.replace('"', "\"\""))
    };
    let mut all: Vec<String> = Vec::new();
    for word in words.take(WORDS).map(quoted) {
        all.retain(|known| *known != word);
        all.push(word);
    }
    (!all.is_empty()).then(|| all.join(" ") + "*")
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("", None)]
    #[case("  - * \" ( ) ^ : ", None)]
    #[case("jack", Some("\"jack\"*"))]
    #[case("Volume pot", Some("\"Volume\" \"pot\"*"))]
    #[case("NEAR(a, b) OR c", Some("\"NEAR(a,\" \"b)\" \"OR\" \"c\"*"))]
    #[case("pot to pot", Some("\"to\" \"pot\"*"))]
    #[case("5\" plug", Some("\"5\"\"\" \"plug\"*"))]
    #[case("a\0b", Some("\"a\" \"b\"*"))]
    fn every_word_is_quoted(#[case] text: &str, #[case] expected: Option<&str>) {
        assert_eq!(asked(text).as_deref(), expected);
    }
}
