//! Files beside a file: drafts, companions of a database, what was there before.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

/// What SQLite keeps beside a database.
const COMPANIONS: [&str; 3] = ["-wal", "-shm", "-journal"];

/// Returns the path with something added to its name.
pub(super) fn beside(path: &Path, added: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(added);
    PathBuf::from(name)
}

/// Returns a name beside the path that no other window uses at this moment.
pub(super) fn draft_for(path: &Path) -> PathBuf {
    static DRAFTS: AtomicU32 = AtomicU32::new(0);
    let number = DRAFTS.fetch_add(1, Ordering::Relaxed);
    beside(path, &format!(".part-{}-{number}", std::process::id()))
}

/// Returns whether a database is in use, or was not closed cleanly.
pub(super) fn has_companions(path: &Path) -> bool {
    ["-wal", "-journal"].iter().any(|added| beside(path, added).exists())
}

/// Returns whether a database is at rest and marked as one that is not to be written.
pub(super) fn frozen(path: &Path) -> bool {
    let marked = fs::metadata(path).is_ok_and(|about| about.permissions().readonly());
    marked && !has_companions(path)
}

/// Deletes a database and what is kept beside it, as far as they are there.
pub(super) fn discard(path: &Path) {
    let _ = fs::remove_file(path);
    for added in COMPANIONS {
        let _ = fs::remove_file(beside(path, added));
    }
}

/// Gives a draft its name, unless a file has that name already, and deletes the draft.
pub(super) fn publish(draft: &Path, path: &Path) -> io::Result<()> {
    let named = match fs::hard_link(draft, path) {
        Err(why) if why.kind() != io::ErrorKind::AlreadyExists && !path.exists() => fs::rename(draft, path),
        named => named,
    };
    discard(draft);
    sync_folder(path);
    named
}

/// Renames a database and its companions to the first free name of the form `<name>.before-<n>`.
pub(super) fn set_aside(path: &Path) -> io::Result<PathBuf> {
    let mut number = 1_u32;
    let mut aside = beside(path, ".before-1");
    while aside.exists() {
        number += 1;
        aside = beside(path, &format!(".before-{number}"));
    }
    fs::rename(path, &aside)?;
    for added in COMPANIONS {
        match fs::rename(beside(path, added), beside(&aside, added)) {
            Err(why) if why.kind() != io::ErrorKind::NotFound => return Err(why),
            _ => {}
        }
    }
    Ok(aside)
}

/// Asks the system to write the folder's list of files too; not every system can.
pub(super) fn sync_folder(path: &Path) {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    if let Ok(folder) = File::open(folder.unwrap_or(Path::new("."))) {
        let _ = folder.sync_all();
    }
}
