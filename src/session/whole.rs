//! Documents that are written whole or not at all.

use std::fs;
use std::io;
use std::path::Path;

/// Writes a document: beside the place first, and then there, so that a full disk leaves what was there before.
///
/// # Errors
///
/// Returns what the system said; nothing was changed then.
pub fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    if path.exists() && !path.is_file() {
        return fs::write(path, bytes);
    }
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let beside = path.with_file_name(format!(".{name}.{}.new", std::process::id()));
    let moved = fs::write(&beside, bytes).and_then(|()| fs::rename(&beside, path));
    if moved.is_err() {
        // What cannot be removed was never made.
        let _ = fs::remove_file(&beside);
    }
    moved
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_written_whole_changes_nothing() {
        let home = tempfile::tempdir().unwrap();
        let file = home.path().join("a.pdf");
        write_whole(&file, b"one").unwrap();
        write_whole(&file, b"two").unwrap();
        assert_eq!(fs::read(&file).unwrap(), b"two");
        assert!(write_whole(&home.path().join("none").join("a.pdf"), b"three").is_err());
        assert_eq!(fs::read_dir(home.path()).unwrap().count(), 1);
    }
}
