//! An archive of schema version 1, as it was first released, opens, checks and replays for ever.
//!
//! `tests/data/archive_v1.db` was made by this program when version 1 was first released, from the demonstration job and
//! two invented ones, and `archive_v1.ndjson` beside it by its export. Neither is made anew: `LUGWISE_WRITE=1` writes them
//! only while they are missing.

use std::fs;
use std::path::{Path, PathBuf};

use lugwise::archive::{Archive, Compared};
use lugwise::job::Replay;

use crate::archive_jobs::{NOW, Visit, concluded, cured, opened, put, read, repaired, unproven};

const DEMO: &str = include_str!("../../assets/demo/school-loan-guitar.job.ron");

fn kept(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join("data").join(name)
}

fn write() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("jobs.archive");
    let mut archive = Archive::open(&path, NOW).unwrap();
    archive.import_file(DEMO).unwrap();
    let events = vec![
        opened("control cavity"),
        read(1, "plug.tip", "plug.sleeve", 45.0, 0.9),
        concluded(&["pickup/coil open"], 0.9),
        repaired("replaced the pickup", 30.0),
        cured(),
    ];
    put(&mut archive, &Visit::default(), "2026-03-02T11:00:00Z", events);
    let later =
        Visit { at: "2026-04-02T09:00:00Z".to_owned(), customer: "a school".to_owned(), ..Visit::default() };
    put(&mut archive, &later, "2026-04-02T10:00:00Z", vec![opened("jack plate"), unproven("it was sold")]);
    archive.backup(&kept("archive_v1.db")).unwrap();
    let mut lines = Vec::new();
    archive.export_ndjson(&mut lines).unwrap();
    fs::write(kept("archive_v1.ndjson"), lines).unwrap();
}

/// The header of SQLite holds the version of the tables at byte 60, <https://www.sqlite.org/fileformat2.html>.
fn version(bytes: &[u8]) -> u32 {
    u32::from_be_bytes(bytes[60..64].try_into().unwrap())
}

#[test]
fn an_archive_of_the_first_version_opens_and_replays() {
    let (database, lines) = (kept("archive_v1.db"), kept("archive_v1.ndjson"));
    if std::env::var_os("LUGWISE_WRITE").is_some() && !database.exists() {
        write();
    }
    assert!(
        database.exists(),
        "{} is missing: run this test once with LUGWISE_WRITE=1 and keep it",
        database.display()
    );
    let bytes = fs::read(&database).unwrap();
    assert_eq!(version(&bytes), 1, "the file is that of the first version");
    let folder = tempfile::tempdir().unwrap();
    let copy = folder.path().join("jobs.archive");
    fs::write(&copy, &bytes).unwrap();
    let mut archive = Archive::open(&copy, NOW).unwrap();
    archive.check().unwrap();
    let expected = fs::read_to_string(&lines).unwrap();
    let mut told = 0;
    for line in expected.lines() {
        let line: serde_json::Value = serde_json::from_str(line).unwrap();
        let (uid, events) = (line["uid"].as_str().unwrap(), line["events"].as_array().unwrap());
        let text: String = events.iter().flat_map(|event| [event.as_str().unwrap(), "\n"]).collect();
        assert_eq!(archive.export_file(uid).unwrap(), text);
        assert_eq!(Replay::of(&archive.job(uid).unwrap()).steps.len(), events.len());
        told += 1;
    }
    assert_eq!(told, 3);
    let taught = |archive: &Archive| -> u32 { archive.lessons().unwrap().iter().map(|one| one.jobs).sum() };
    assert_eq!(taught(&archive), 2, "what a later version keeps is made when the archive is opened");
    assert_eq!(archive.compare().unwrap(), Some(Compared::default()), "all that follows from the events");
    archive.rebuild().unwrap();
    assert_eq!(taught(&archive), 2);
    assert_eq!(archive.compare().unwrap(), Some(Compared::default()));
    assert_eq!(archive.check().unwrap().jobs, 3);
    assert_eq!(fs::read(&database).unwrap(), bytes, "the file that is kept is never written to");
}
