//! Documents that are written whole or not at all, and over nothing but an earlier document of the same kind.

use std::fs::{self, File};
use std::io::{self, Read as _};
use std::path::Path;

/// The documents that may take the place of an earlier one: how they begin, the endings of their names, what they are.
const KINDS: [(&str, &[&str], &str); 6] = [
    ("%PDF-", &["pdf"], "a PDF file"),
    ("<svg ", &["svg"], "a drawing"),
    ("<!DOCTYPE html>\n<html lang=\"en\">\n", &["html", "htm"], "a web page"),
    ("# Repair ticket: ", &["md", "markdown"], "a ticket"),
    ("# Wiring audit: ", &["md", "markdown"], "a list of checks"),
    ("Made with `lugwise tree check ", &["md", "markdown"], "a table of trees"),
];

/// How every database begins: the SQLite file format, section 1.3.1 (<https://sqlite.org/fileformat.html>).
const DATABASE: &str = "SQLite format 3\0";

/// What is never written over, by how it begins.
const KEPT: [(&str, &str); 2] = [(DATABASE, "an archive or another database"), ("(at:", "a job")];

/// So many bytes tell what a file is.
const BEGIN: u64 = 64;

/// Writes a document: beside the place first, and then there, so that a full disk leaves what was there before. What is
/// no ordinary file is written to.
///
/// # Errors
///
/// Returns what the system said, or what is there that is no earlier document of the same kind; nothing was changed then.
pub fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    if path.exists() && !path.is_file() {
        return fs::write(path, bytes);
    }
    may_be_written(path, bytes)?;
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let beside = path.with_file_name(format!(".{name}.{}.new", std::process::id()));
    let moved = fs::write(&beside, bytes).and_then(|()| fs::rename(&beside, path));
    if moved.is_err() {
        // What cannot be removed was never made.
        let _ = fs::remove_file(&beside);
    }
    moved
}

/// Looks whether a document that begins so may be written: nothing is there, or an earlier document of the same kind under
/// a name of that kind.
///
/// # Errors
///
/// Returns what is there instead, or what the system said when it cannot be read.
pub fn may_be_written(path: &Path, begin: &[u8]) -> io::Result<()> {
    if !path.is_file() {
        return Ok(());
    }
    let (known, ending) = (beginning(path)?, ending(path));
    let replaces = KINDS.iter().any(|(starts, endings, _)| {
        let alike = known.is_empty() || known.starts_with(starts.as_bytes());
        alike && begin.starts_with(starts.as_bytes()) && endings.contains(&ending.as_str())
    });
    if replaces { Ok(()) } else { Err(refused(what_is(&known, &ending))) }
}

/// Returns whether a file is an archive or another database.
pub(super) fn is_database(path: &Path) -> bool {
    beginning(path).is_ok_and(|begin| begin.starts_with(DATABASE.as_bytes()))
}

fn beginning(path: &Path) -> io::Result<Vec<u8>> {
    let mut begin = Vec::new();
    File::open(path)?.take(BEGIN).read_to_end(&mut begin)?;
    Ok(begin)
}

fn ending(path: &Path) -> String {
    path.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default()
}

/// Says what a file is.
fn what_is(known: &[u8], ending: &str) -> &'static str {
    let kinds = KINDS.iter().map(|(starts, _, what)| (*starts, *what));
    let mut all = KEPT.into_iter().chain(kinds);
    match all.find(|(starts, _)| known.starts_with(starts.as_bytes())) {
        Some((_, what)) => what,
        None if ending == "ron" => "a wiring, a tree or other settings",
        None => "no document of this program",
    }
}

fn refused(what: &str) -> io::Error {
    let told = format!(
        "there is a file of that name, and it is {what}\n  hint: give another name; only an earlier document of the same kind \
         is written over, under a name that ends as that kind does"
    );
    io::Error::new(io::ErrorKind::AlreadyExists, told)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[test]
    fn what_cannot_be_written_whole_changes_nothing() {
        let home = tempfile::tempdir().unwrap();
        let file = home.path().join("a.pdf");
        write_whole(&file, b"%PDF-1.7 one").unwrap();
        write_whole(&file, b"%PDF-1.7 two").unwrap();
        assert_eq!(fs::read(&file).unwrap(), b"%PDF-1.7 two");
        assert!(write_whole(&home.path().join("none").join("a.pdf"), b"%PDF-").is_err());
        assert_eq!(fs::read_dir(home.path()).unwrap().count(), 1);
    }

    #[rstest]
    #[case::same_kind("a.svg", "<svg one", "<svg two", None)]
    #[case::nothing_in_it("a.SVG", "", "<svg two", None)]
    #[case::a_ticket_of_ours("a.md", "# Repair ticket: one\n", "# Repair ticket: two\n", None)]
    #[case::other_ending("a.job", "%PDF-one", "%PDF-two", Some("a PDF file"))]
    #[case::a_job("a.pdf", "(at:\"2026", "%PDF-two", Some("a job"))]
    #[case::an_archive("a.pdf", "SQLite format 3\0", "%PDF-two", Some("an archive"))]
    #[case::a_tree("a.ron", "// a tree", "<svg two", Some("a wiring, a tree"))]
    #[case::own_notes("a.md", "# Notes\n", "# Repair ticket: two\n", Some("no document"))]
    #[case::other_page("a.md", "# Wiring audit: one\n", "# Repair ticket: two\n", Some("a list of checks"))]
    #[case::unknown_document("a.md", "", "two", Some("no document"))]
    fn only_an_earlier_document_of_the_kind_is_written_over(
        #[case] name: &str,
        #[case] known: &str,
        #[case] new: &str,
        #[case] refused: Option<&str>,
    ) {
        let home = tempfile::tempdir().unwrap();
        let file = home.path().join(name);
        fs::write(&file, known).unwrap();
        let said = write_whole(&file, new.as_bytes()).err().map(|why| why.to_string());
        assert_eq!(said.is_some(), refused.is_some(), "{said:?}");
        assert!(said.is_none_or(|said| said.contains(refused.unwrap_or_default())));
        assert_eq!(fs::read_to_string(&file).unwrap(), if refused.is_some() { known } else { new });
        assert_eq!(fs::read_dir(home.path()).unwrap().count(), 1);
    }
}
