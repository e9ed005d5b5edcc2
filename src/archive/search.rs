//! Jobs by the words in them.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::Row;

use super::letters::{folded, joined};
use super::summary::COLUMNS;
use super::{Archive, ArchiveError, Filter, Summary};

/// How many words of a question are looked at.
const WORDS: usize = 32;
/// How many characters of a word are looked at.
const LETTERS: usize = 100;

/// Up to so many jobs are put in order of how well they fit.
const RANKED: usize = 1_000;
/// So many hits are read with one question.
const AT_ONCE: usize = 500;

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
    /// case and accents; the lines and amounts of estimates and bills and who agreed to them, and how, are among these. Readings as they
    /// were typed are not: every job is full of them. Nothing in the text has a meaning of its own. Where very many jobs hold the words, none is better
    /// than the others, and those that came in last are first.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn search(&self, text: &str, most: u32) -> Result<Vec<Hit>, ArchiveError> {
        Ok(self.find(text, &Filter::default(), most)?.0)
    }

    /// Does the same with the jobs that a filter lets pass, and also returns how many there are in all.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn find(&self, text: &str, filter: &Filter, most: u32) -> Result<(Vec<Hit>, u32), ArchiveError> {
        let Some(asked) = asked(text) else { return Ok((Vec::new(), 0)) };
        let mut found = self.holding(&asked, "rowid DESC")?;
        if found.len() <= RANKED {
            found = self.holding(&asked, "rank, rowid DESC")?;
        }
        if *filter != Filter::default() {
            let chosen = self.chosen(filter)?;
            found.retain(|id| chosen.contains(id));
        }
        let total = u32::try_from(found.len()).unwrap_or(u32::MAX);
        found.truncate(usize::try_from(most).unwrap_or(usize::MAX));
        let hits =
            found.chunks(AT_ONCE).map(|some| self.hits(&asked, some)).collect::<Result<Vec<_>, _>>()?;
        Ok((hits.into_iter().flatten().collect(), total))
    }

    /// Returns the rows of the jobs that hold the words.
    fn holding(&self, asked: &str, order: &str) -> Result<Vec<i64>, ArchiveError> {
        let sql = format!("SELECT rowid FROM search WHERE search MATCH ?1 ORDER BY {order}");
        self.rows(&sql, &[asked.to_owned()], |row| row.get(0))
    }

    /// Returns the rows of the jobs that a filter lets pass.
    fn chosen(&self, filter: &Filter) -> Result<BTreeSet<i64>, ArchiveError> {
        let (condition, values) = filter.sql();
        let sql = format!("SELECT s.job FROM summary s WHERE {condition}");
        Ok(self.rows(&sql, &values, |row| row.get(0))?.into_iter().collect())
    }

    /// Returns some rows as hits, in the order in which they are given.
    fn hits(&self, asked: &str, rows: &[i64]) -> Result<Vec<Hit>, ArchiveError> {
        let (Some(first), Some(last)) = (rows.iter().min(), rows.iter().max()) else { return Ok(Vec::new()) };
        let list: Vec<String> = rows.iter().map(i64::to_string).collect();
        // Without the sign, the index would be gone through anew for each row.
        let sql = format!(
            "SELECT {COLUMNS}, snippet(search, -1, '', '', '…', 16) AS around FROM search \
             JOIN job j ON j.id = search.rowid JOIN summary s ON s.job = j.id \
             WHERE search MATCH ?1 AND search.rowid BETWEEN {first} AND {last} AND +search.rowid IN ({})",
            list.join(",")
        );
        let mut found: BTreeMap<i64, Hit> = self.rows(&sql, &[asked.to_owned()], hit)?.into_iter().collect();
        Ok(rows.iter().filter_map(|row| found.remove(row)).collect())
    }
}

fn hit(row: &Row<'_>) -> rusqlite::Result<(i64, Hit)> {
    let around: String = row.get("around")?;
    Ok((row.get("job")?, Hit { job: Summary::row(row)?, around: joined(&around) }))
}

/// Returns the question as the index takes it: every word in quotes, the last one as a beginning.
fn asked(text: &str) -> Option<String> {
    let letter = |c: char| if c.is_control() { ' ' } else { c };
    let plain: String = text.chars().take(WORDS * LETTERS).map(letter).collect();
    let words = plain.split_whitespace().filter(|word| word.contains(char::is_alphanumeric));
    let quoted = |word: &str| {
        let word: String = word.chars().take(LETTERS).collect();
        format!("\"{}\"", folded(&word).replace('"', "\"\""))
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
    #[case("电吉他", Some("\"电 吉 他\"*"))]
    #[case("a\0b", Some("\"a\" \"b\"*"))]
    fn every_word_is_quoted(#[case] text: &str, #[case] expected: Option<&str>) {
        assert_eq!(asked(text).as_deref(), expected);
    }
}
