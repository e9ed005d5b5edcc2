//! The archive: what was acknowledged is in it, what is no archive is not touched, and nothing in a text has a meaning.

use std::fs;
use std::io::{BufReader, Cursor, Read};
use std::path::{Path, PathBuf};

use lugwise::archive::{Archive, ArchiveError, Compared, Ending, Filter, Order, Page, uid_of};
use lugwise::job::{Consent, Estimate, Event, Job, PriceLine, parse};
use lugwise::readings::Symptom;
use lugwise::units::Money;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use rusqlite::Connection;
use tempfile::TempDir;

use crate::archive_jobs::{
    NOW, Visit, concluded, cured, measurement, opened, put, read, record, repaired, unproven,
};

const DEMO: &str = include_str!("../../assets/demo/school-loan-guitar.job.ron");

fn bench() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("jobs.archive");
    (folder, path)
}

fn open(path: &Path) -> Archive {
    Archive::open(path, NOW).unwrap()
}

fn all(archive: &Archive) -> Vec<lugwise::archive::Summary> {
    archive.jobs(&Filter::default(), Order::Oldest, Page::default()).unwrap()
}

fn found(archive: &Archive, text: &str) -> Vec<String> {
    archive.search(text, 100).unwrap().into_iter().map(|hit| hit.job.uid).collect()
}

/// Names and contents of all files in a folder.
fn contents(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let paths = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut all: Vec<_> = paths.map(|path| (path.clone(), fs::read(&path).unwrap())).collect();
    all.sort();
    all
}

fn finished() -> Vec<Event> {
    vec![
        opened("control cavity"),
        read(1, "plug.tip", "plug.sleeve", 45.0, 0.9),
        concluded(&["pickup/coil open"], 0.9),
        repaired("replaced the pickup", 30.0),
        cured(),
    ]
}

#[test]
fn a_job_file_goes_in_and_comes_out_byte_for_byte() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    let imported = archive.import_file(DEMO).unwrap();
    let records = parse(DEMO).unwrap().records;
    assert_eq!((imported.added, imported.notice, imported.diverged_from), (records.len(), None, None));
    assert_eq!(imported.uid, uid_of(&records[0]).unwrap());
    assert!(imported.uid.starts_with("20260302091400-"), "{}", imported.uid);
    assert_eq!(archive.export_file(&imported.uid).unwrap(), DEMO);
    assert_eq!(archive.job(&imported.uid).unwrap(), Job::replay(records).unwrap());
    assert_eq!(archive.import_file(DEMO).unwrap().added, 0);
    assert_eq!(archive.check().unwrap().jobs, 1);
}

#[test]
fn a_summary_says_what_the_events_say() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    let uid = archive.import_file(DEMO).unwrap().uid;
    let job = archive.job(&uid).unwrap();
    let told = archive.summary(&uid).unwrap();
    assert_eq!(told.instrument, job.intake().instrument);
    assert_eq!(told.symptoms, ["intermittent", "hum", "weak"]);
    assert_eq!((told.readings, told.skipped, told.rounds), (6, 0, 0));
    assert!((told.search_minutes - 714.0 / 60.0).abs() < 1e-9, "{}", told.search_minutes);
    assert!((told.minutes() - 714.0 / 60.0 - 14.0).abs() < 1e-9);
    assert_eq!((told.ending, told.renamed), (Ending::Cured, false));
    assert_eq!(told.opened_at, "2026-03-02T09:14:00Z");
    assert_eq!(told.closed_at.as_deref(), Some("2026-03-02T09:43:10Z"));
    let named = told.last.unwrap();
    assert_eq!(
        (named.place.as_str(), named.kind.as_str(), named.family.as_str()),
        ("jack.sleeve", "joint intermittent", "joint")
    );
    assert_eq!(named.fault, "jack.sleeve/joint jack-ground intermittent");
    assert!((named.probability - 0.989_391_517_647_139_2).abs() < 1e-12);
    assert_eq!(told.first.unwrap().fault, named.fault);
}

#[test]
fn everything_that_follows_from_the_events_can_be_made_anew() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    archive.import_file(DEMO).unwrap();
    let visit = Visit { customer: "Quastenfloh".to_owned(), ..Visit::default() };
    put(&mut archive, &visit, "2026-03-02T11:00:00Z", finished());
    let (jobs, hits) = (all(&archive), archive.search("quasten", 9).unwrap());
    assert_eq!((jobs.len(), hits.len()), (2, 1));
    Connection::open(&path).unwrap().execute_batch("DELETE FROM search; DELETE FROM summary;").unwrap();
    assert_eq!((all(&archive).len(), found(&archive, "quasten").len()), (0, 0));
    archive.rebuild().unwrap();
    assert_eq!((all(&archive), archive.search("quasten", 9).unwrap()), (jobs, hits));
}

#[test]
fn two_windows_write_in_turn_and_neither_writes_over_the_other() {
    let (_folder, path) = bench();
    let (mut one, mut other) = (open(&path), open(&path));
    let uid = put(&mut one, &Visit::default(), "2026-03-02T09:15:00Z", vec![opened("a")]);
    for number in (2..40).step_by(2) {
        other.append(&uid, number, &[record(NOW, opened("b"))]).unwrap();
        let late = one.append(&uid, number, &[record(NOW, opened("c"))]).unwrap_err();
        assert!(
            matches!(late, ArchiveError::Moved { expected, found, .. } if (expected, found) == (number, number + 1)),
            "{late}"
        );
        one.append(&uid, number + 1, &[record(NOW, opened("c"))]).unwrap();
    }
    assert_eq!(one.events(&uid).unwrap(), 40);
    assert_eq!(one.job(&uid).unwrap(), other.job(&uid).unwrap());
    assert_eq!(one.job(&uid).unwrap().opened(), ["a", "b", "c"]);
}

#[test]
fn two_windows_at_once_lose_nothing() {
    const EACH: usize = 60;
    let (_folder, path) = bench();
    let uid = put(&mut open(&path), &Visit::default(), NOW, vec![]);
    let window = |name: &str| {
        let mut archive = open(&path);
        for number in 0..EACH {
            let event = record(NOW, opened(&format!("{name} {number}")));
            while let Err(why) =
                archive.append(&uid, archive.events(&uid).unwrap(), std::slice::from_ref(&event))
            {
                assert!(matches!(why, ArchiveError::Moved { .. }), "{why}");
            }
        }
    };
    std::thread::scope(|scope| {
        let other = scope.spawn(|| window("other"));
        window("one");
        other.join().unwrap();
    });
    let archive = open(&path);
    let mut places = archive.job(&uid).unwrap().opened().to_vec();
    places.sort();
    places.dedup();
    assert_eq!(places.len(), 2 * EACH);
    assert_eq!(archive.check().unwrap().events, 2 * EACH as u64 + 1);
}

#[test]
fn several_windows_make_one_archive() {
    let (_folder, path) = bench();
    std::thread::scope(|scope| {
        for window in 0..8 {
            let path = &path;
            scope.spawn(move || {
                let visit = Visit { instrument: format!("guitar {window}"), ..Visit::default() };
                put(&mut open(path), &visit, NOW, vec![opened("cavity")]);
            });
        }
    });
    assert_eq!(open(&path).check().unwrap().jobs, 8);
}

#[test]
fn events_that_do_not_fit_are_refused_whole() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    let uid = put(&mut archive, &Visit::default(), NOW, vec![opened("cavity")]);
    let events = [record(NOW, opened("other cavity")), record(NOW, Event::Redone)];
    let why = archive.append(&uid, 2, &events).unwrap_err().to_string();
    assert!(why.contains("no event was undone"), "{why}");
    assert_eq!(archive.events(&uid).unwrap(), 2);
    let unknown = archive.append("nobody", 3, &events).unwrap_err();
    assert!(matches!(unknown, ArchiveError::NoSuchJob { .. }), "{unknown}");
    let first = [record(NOW, opened("cavity"))];
    assert!(archive.append("nobody", 0, &first).is_err());
    assert_eq!(archive.check().unwrap().jobs, 1);
}

#[test]
fn a_job_is_undone_and_read_again() {
    let (_folder, path) = bench();
    let uid = put(&mut open(&path), &Visit::default(), NOW, finished());
    let mut archive = open(&path);
    assert_eq!(archive.summary(&uid).unwrap().ending, Ending::Cured);
    archive.append(&uid, 6, &[record(NOW, Event::Undone)]).unwrap();
    assert_eq!(archive.summary(&uid).unwrap().ending, Ending::Open);
    archive.append(&uid, 7, &[record(NOW, unproven("it went away"))]).unwrap();
    let told = archive.summary(&uid).unwrap();
    assert_eq!((told.ending, told.reason.as_str()), (Ending::Unproven, "it went away"));
    assert_eq!(found(&archive, "went away"), [uid]);
}

#[test]
fn jobs_are_listed_in_order_by_page_and_filter() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    for (day, name) in [(3, "b"), (1, "c"), (2, "a")] {
        let visit = Visit {
            at: format!("2026-03-0{day}T09:00:00Z"),
            customer: name.to_owned(),
            technician: if day == 1 { "first" } else { "second" },
            symptoms: vec![if day == 2 { Symptom::Hum } else { Symptom::Silent }],
            ..Visit::default()
        };
        put(&mut archive, &visit, NOW, if day == 3 { vec![] } else { finished() });
    }
    let names = |filter: &Filter, order, page| -> Vec<String> {
        archive.jobs(filter, order, page).unwrap().into_iter().map(|job| job.customer).collect()
    };
    let (any, whole) = (Filter::default(), Page::default());
    assert_eq!(names(&any, Order::Newest, whole), ["b", "a", "c"]);
    assert_eq!(names(&any, Order::Oldest, whole), ["c", "a", "b"]);
    assert_eq!(names(&any, Order::Customer, whole), ["a", "b", "c"]);
    assert_eq!(names(&any, Order::Newest, Page { start: 1, size: 1 }), ["a"]);
    let only = |filter: Filter| names(&filter, Order::Newest, whole);
    assert_eq!(only(Filter { from: Some("2026-03-02".to_owned()), ..Filter::default() }), ["b", "a"]);
    assert_eq!(only(Filter { until: Some("2026-03-02".to_owned()), ..Filter::default() }), ["c"]);
    assert_eq!(only(Filter { technician: Some("first".to_owned()), ..Filter::default() }), ["c"]);
    assert_eq!(only(Filter { technician: Some("FIRST".to_owned()), ..Filter::default() }), ["c"]);
    assert_eq!(archive.technicians().unwrap(), ["first", "second"]);
    assert_eq!(archive.of_customer(" A ").unwrap(), 1);
    let span = archive.span(&any).unwrap().unwrap();
    assert_eq!((span.0.as_str(), span.1.as_str()), ("2026-03-01T09:00:00Z", "2026-03-03T09:00:00Z"));
    assert_eq!(only(Filter { complaint: Some(Symptom::Hum), ..Filter::default() }), ["a"]);
    assert_eq!(only(Filter { ending: Some(Ending::Open), ..Filter::default() }), ["b"]);
    assert_eq!(only(Filter { wiring: Some("' OR 1 --".to_owned()), ..Filter::default() }), [""; 0]);
    assert_eq!(archive.how_many(&any).unwrap(), 3);
}

#[test]
fn jobs_are_found_by_every_word_in_them() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    let visit = Visit {
        customer: "Zoë Quastenfloh".to_owned(),
        complaint: "crackles like frying".to_owned(),
        ..Visit::default()
    };
    let events = vec![
        Event::Skipped {
            measurement: measurement("plug.tip", "plug.sleeve"),
            reason: "no time today".to_owned(),
        },
        concluded(&["jack.tip/joint open"], 0.9),
        repaired("resoldered the lug", 5.0),
        unproven("collected early"),
    ];
    let uid = put(&mut archive, &visit, NOW, events);
    put(&mut archive, &Visit { at: NOW.to_owned(), ..Visit::default() }, NOW, finished());
    for words in
        ["zoe", "ZOË quasten", "frying", "invented crackles", "jack.tip", "resoldered", "no time", "coll"]
    {
        assert_eq!(found(&archive, words), std::slice::from_ref(&uid), "{words}");
    }
    assert_eq!(found(&archive, "invented").len(), 2);
    assert_eq!(found(&archive, "quast floh").len(), 0);
    assert_eq!(found(&archive, "frying pan").len(), 0);
    assert!(archive.search("fry", 1).unwrap()[0].around.contains("crackles like frying"));
}

/// Jobs that hold nothing but their first event, all taken in at once.
fn many(archive: &mut Archive, count: u32) {
    let job = |number: u32| {
        let visit = Visit {
            at: format!("2026-03-02T{:02}:{:02}:{:02}Z", number / 3600, number / 60 % 60, number % 60),
            customer: format!("customer {number}"),
            technician: if number.is_multiple_of(100) { "first" } else { "second" },
            ..Visit::default()
        };
        vec![visit.started()]
    };
    let jobs: Vec<_> = (0..count).map(job).collect();
    assert_eq!(archive.add_jobs(&jobs).unwrap(), jobs.len());
    assert_eq!(archive.add_jobs(&jobs).unwrap(), 0, "they are here already");
}

#[test]
fn of_very_many_jobs_that_hold_a_word_the_last_are_first_and_all_are_counted() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    many(&mut archive, 1_005);
    let names = |words: &str, filter: &Filter, most| -> (Vec<String>, u32) {
        let (hits, total) = archive.find(words, filter, most).unwrap();
        assert!(hits.iter().all(|hit| !hit.around.is_empty()));
        (hits.into_iter().map(|hit| hit.job.customer).collect(), total)
    };
    let (any, first) =
        (Filter::default(), Filter { technician: Some("first".to_owned()), ..Filter::default() });
    let expected = |all: &[u32]| all.iter().map(|n| format!("customer {n}")).collect::<Vec<_>>();
    assert_eq!(names("invented", &any, 3), (expected(&[1004, 1003, 1002]), 1_005));
    assert_eq!(names("invented", &first, 3), (expected(&[1000, 900, 800]), 11));
    assert_eq!(names("customer 777", &any, 3), (expected(&[777]), 1));
    assert_eq!(names("customer 700", &first, 3), (expected(&[700]), 1));
    assert_eq!(names("customer 777", &first, 3), (Vec::new(), 0));
    assert_eq!(names("invented", &any, 0), (Vec::new(), 1_005));
    assert_eq!(names("invented", &any, 2_000).0.len(), 1_005);
}

#[test]
fn jobs_are_named_by_a_beginning_and_found_by_their_instrument() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    let at = |day: u32| format!("2026-03-0{day}T09:00:00Z");
    let visit =
        |day, customer: &str| Visit { at: at(day), customer: customer.to_owned(), ..Visit::default() };
    let uids: Vec<String> = [(1, "A school "), (2, "a School"), (3, "another")]
        .map(|(day, customer)| put(&mut archive, &visit(day, customer), NOW, vec![opened("cavity")]))
        .to_vec();
    assert_eq!(archive.beginning("2026030", 9).unwrap(), uids);
    assert_eq!(archive.beginning("2026030", 2).unwrap(), uids[..2]);
    assert_eq!(archive.beginning("20260302", 9).unwrap(), uids[1..2]);
    assert_eq!(archive.beginning("2026%", 9).unwrap(), [""; 0]);
    let of = |customer: &str, instrument: &str, wiring: &str| -> Vec<String> {
        let jobs = archive.of_instrument(customer, instrument, wiring).unwrap();
        jobs.into_iter().map(|job| job.uid).collect()
    };
    assert_eq!(of("A SCHOOL", " Invented guitar", "one-pickup"), uids[..2]);
    assert_eq!(of("a school", "invented guitar", "two-humbuckers"), [""; 0]);
    assert_eq!(of("a school", " ", "one-pickup"), [""; 0]);
}

#[test]
fn no_text_has_a_meaning_of_its_own() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    let long = "0123456789abcde ".repeat(1 << 16);
    let hostile = [
        "'; DROP TABLE job; --",
        "\" OR customer : *",
        "NEAR(a b, 2) AND NOT (c)",
        "{customer instrument} : ^x + y*",
        "\u{202e}drawkcab\u{202c} \u{200f}\u{2066}",
        "nul \0 inside",
        "line\nbreak\r\nand tab\t",
        "%_\\?1 :name @name $name",
        "\u{1f3b8}\u{fe0f}",
        long.as_str(),
    ];
    for (number, text) in (1..).zip(hostile) {
        let visit = Visit {
            at: text.chars().take(40).collect(),
            customer: text.to_owned(),
            instrument: text.to_owned(),
            complaint: text.to_owned(),
            ..Visit::default()
        };
        let uid = put(&mut archive, &visit, text, vec![opened(text), repaired(text, 1.0), unproven(text)]);
        assert_eq!(archive.job(&uid).unwrap().intake().complaint, text);
        assert_eq!(archive.summary(&uid).unwrap().customer, text);
        archive.search(text, 10).unwrap();
        let filter =
            Filter { technician: Some(text.to_owned()), from: Some(text.to_owned()), ..Filter::default() };
        archive.jobs(&filter, Order::Newest, Page::default()).unwrap();
        assert_eq!(archive.how_many(&Filter::default()).unwrap(), number);
        assert!(matches!(archive.job(text), Err(ArchiveError::NoSuchJob { .. })));
    }
    assert_eq!(found(&archive, "drawkcab").len(), 1);
    assert_eq!(found(&archive, "DROP TABLE").len(), 1);
    assert_eq!(archive.check().unwrap().jobs, u64::try_from(hostile.len()).unwrap());
    lugwise::archive::audit::weeks(&archive, &Filter::default()).unwrap();
}

/// Expects that a file is refused and that neither it nor its folder is changed.
#[track_caller]
fn refused(folder: &Path, path: &Path) -> ArchiveError {
    let before = contents(folder);
    let why = Archive::open(path, NOW).expect_err("it was opened");
    assert!(contents(folder) == before, "the folder was changed");
    assert!(why.to_string().contains("hint: "), "{why}");
    why
}

/// A small closed archive.
fn written() -> (TempDir, PathBuf, Vec<u8>) {
    let (folder, path) = bench();
    let mut archive = open(&path);
    archive.import_file(DEMO).unwrap();
    put(&mut archive, &Visit::default(), NOW, finished());
    drop(archive);
    let bytes = fs::read(&path).unwrap();
    (folder, path, bytes)
}

#[test]
fn what_is_no_archive_is_refused_and_not_touched() {
    let (folder, path) = bench();
    fs::write(&path, DEMO).unwrap();
    assert!(matches!(refused(folder.path(), &path), ArchiveError::Foreign { .. }));
    fs::write(&path, "").unwrap();
    assert!(matches!(refused(folder.path(), &path), ArchiveError::Damaged { .. }));
    fs::remove_file(&path).unwrap();
    Connection::open(&path).unwrap().execute_batch("CREATE TABLE job (id INTEGER)").unwrap();
    assert!(matches!(refused(folder.path(), &path), ArchiveError::Foreign { .. }));
    fs::remove_file(&path).unwrap();
    fs::create_dir(&path).unwrap();
    assert!(matches!(Archive::open(&path, NOW).unwrap_err(), ArchiveError::Foreign { .. }));
    let nowhere = folder.path().join("missing").join("jobs.archive");
    assert!(matches!(Archive::open(&nowhere, NOW).unwrap_err(), ArchiveError::Unwritable { .. }));
}

#[test]
fn an_archive_of_a_newer_program_is_refused_and_not_touched() {
    let (folder, path, _) = written();
    Connection::open(&path).unwrap().execute_batch("PRAGMA user_version = 99").unwrap();
    let why = refused(folder.path(), &path);
    assert!(matches!(why, ArchiveError::Newer { found: 99, known: 4, .. }), "{why}");
}

/// Nobody can write there, not even who may write everything.
#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_cannot_be_written_is_told() {
    let path = Path::new("/proc/jobs.archive");
    let why = Archive::open(path, NOW).unwrap_err();
    assert!(matches!(why, ArchiveError::Unwritable { .. } | ArchiveError::Refused { .. }), "{why}");
    let said = why.to_string();
    assert!(said.contains("/proc/jobs.archive") && said.contains("hint: "), "{said}");
    assert!(!path.exists());
}

#[test]
fn a_database_of_another_program_is_not_touched_by_a_restore_nor_used_as_a_backup() {
    let (folder, path, _) = written();
    let other = folder.path().join("other.db");
    Connection::open(&other).unwrap().execute_batch("CREATE TABLE song (name TEXT)").unwrap();
    assert!(matches!(open(&path).backup(&other), Err(ArchiveError::InTheWay { .. })));
    let before = contents(folder.path());
    let why = Archive::restore(&other, &path).unwrap_err();
    assert!(matches!(why, ArchiveError::Foreign { .. }), "{why}");
    assert!(contents(folder.path()) == before, "the folder was changed");
}

#[test]
fn a_cut_off_archive_is_refused_and_not_touched() {
    let (folder, path, bytes) = written();
    for length in [15, 16, 99, 100, 4096, bytes.len() / 2, bytes.len() - 4096, bytes.len() - 1] {
        fs::write(&path, &bytes[..length]).unwrap();
        let why = refused(folder.path(), &path);
        assert!(matches!(why, ArchiveError::Damaged { .. }), "{length}: {why}");
        assert!(why.to_string().contains("restore the newest backup"), "{length}: {why}");
    }
}

#[test]
fn a_damaged_page_is_found_when_the_archive_is_opened() {
    let (folder, path, bytes) = written();
    let mut damaged = bytes.clone();
    damaged[100] ^= 1;
    fs::write(&path, damaged).unwrap();
    assert!(matches!(refused(folder.path(), &path), ArchiveError::Damaged { .. }));
    fs::write(&path, bytes).unwrap();
    open(&path);
}

#[test]
fn a_changed_letter_of_an_event_is_found_when_the_job_is_read() {
    let (_folder, path) = bench();
    let uid = put(&mut open(&path), &Visit::default(), NOW, vec![opened("a place of no return")]);
    let mut bytes = fs::read(&path).unwrap();
    let needle = b"opened(place:\"a place of no return";
    let at = bytes.windows(needle.len()).position(|window| window == needle).expect("the event");
    bytes[at + needle.len() - 1] ^= 1;
    fs::write(&path, bytes).unwrap();
    let archive = open(&path);
    let damaged = |why: ArchiveError| matches!(why, ArchiveError::DamagedJob { event: 2, .. });
    assert!(damaged(archive.job(&uid).unwrap_err()));
    assert!(damaged(archive.check().unwrap_err()));
}

/// Changes so many rows of an archive as another program would.
fn by_hand(path: &Path, sql: &str, rows: usize) {
    assert_eq!(Connection::open(path).unwrap().execute(sql, []).unwrap(), rows, "{sql}");
}

#[test]
fn a_damaged_job_is_left_out_of_the_file_of_all_jobs_and_the_others_come_in() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    archive.import_file(DEMO).unwrap();
    let lost = put(&mut archive, &Visit::default(), NOW, vec![opened("a place of no return")]);
    let later = Visit { at: "2026-04-02T09:00:00Z".to_owned(), ..Visit::default() };
    put(&mut archive, &later, NOW, finished());
    by_hand(&path, "UPDATE event SET line = line || ' ' WHERE line LIKE '%place of no return%'", 1);
    let (mut lines, mut jobs, mut events) = (Vec::new(), Vec::new(), Vec::new());
    let written = archive.export_ndjson(&mut lines).unwrap();
    let left = written.left_out.as_slice();
    assert!(written.jobs == 2 && left.len() == 1 && left[0].uid == lost, "{written:?}");
    assert!(left[0].why.contains("event 2 is not what was written"), "{written:?}");
    assert_eq!(archive.export_parquet(&mut jobs, &mut events).unwrap(), written);
    let (_other_folder, other_path) = bench();
    let mut other = open(&other_path);
    assert_eq!(other.import_ndjson(&mut Cursor::new(&lines), "jobs.ndjson").unwrap().new, 2);
    let whole = all(&archive).into_iter().filter(|job| job.uid != lost).collect::<Vec<_>>();
    assert_eq!(all(&other), whole);
    assert!(exported(&other) == lines, "what comes in is not what went out");
}

/// Damages an event as another program would.
const DAMAGE: &str = "UPDATE event SET line = line || ' ' WHERE seq = 5 AND job = 1";

#[test]
fn a_damaged_job_is_mended_by_a_whole_log_that_agrees_with_what_is_left() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    let uid = archive.import_file(DEMO).unwrap().uid;
    let whole = exported(&archive);
    by_hand(&path, DAMAGE, 1);
    let hint = archive.job(&uid).unwrap_err().to_string();
    assert!(hint.contains("past import") && hint.contains("past merge"), "{hint}");
    let mended = archive.import_file(DEMO).unwrap();
    assert_eq!((mended.uid.as_str(), mended.added, mended.mended), (uid.as_str(), 1, true));
    assert_eq!(archive.export_file(&uid).unwrap(), DEMO);
    by_hand(&path, DAMAGE, 1);
    let merged = archive.import_ndjson(&mut Cursor::new(&whole), "whole").unwrap();
    assert_eq!((merged.mended, merged.new, merged.left_out.len()), (1, 0, 0));
    assert!(exported(&archive) == whole, "it is not as it was before");
    assert!(!archive.import_file(DEMO).unwrap().mended, "nothing is damaged any more");
    assert_eq!(archive.compare().unwrap(), Some(Compared::default()));
}

#[test]
fn a_log_that_is_shorter_or_says_otherwise_mends_nothing_and_is_kept_beside() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    let uid = put(&mut archive, &Visit::default(), NOW, vec![opened("a"), opened("b"), opened("c")]);
    let text = archive.export_file(&uid).unwrap();
    by_hand(&path, "UPDATE event SET line = line || ' ' WHERE seq = 2", 1);
    let shorter: String = text.lines().take(3).flat_map(|line| [line, "\n"]).collect();
    let other = text.replace("opened(place:\"c\")", "opened(place:\"d\")");
    assert_ne!(other, text);
    for text in [&shorter, &other] {
        let done = archive.import_file(text).unwrap();
        assert!(!done.mended && done.diverged_from.as_deref() == Some(uid.as_str()), "{done:?}");
        assert!(archive.job(&uid).is_err());
    }
    assert!(archive.import_file(&text).unwrap().mended);
    assert_eq!(archive.export_file(&uid).unwrap(), text);
}

#[test]
fn a_backup_and_a_rebuild_are_made_although_a_job_is_damaged() {
    let (folder, path) = bench();
    let mut archive = open(&path);
    let lost = archive.import_file(DEMO).unwrap().uid;
    put(&mut archive, &Visit::default(), NOW, finished());
    by_hand(&path, DAMAGE, 1);
    let looked = archive.look_through().unwrap();
    assert_eq!((looked.holds.jobs, looked.damaged.len()), (2, 1));
    assert!(looked.damaged[0].uid == lost && looked.damaged[0].why.contains("event 5"), "{looked:?}");
    let backup = folder.path().join("backup.archive");
    assert_eq!(archive.backup(&backup).unwrap(), looked);
    let copy = open(&backup);
    assert_eq!(copy.look_through().unwrap(), looked, "the copy holds something else");
    assert_eq!(archive.rebuild().unwrap(), looked.damaged);
    assert_eq!(all(&archive).len(), 1, "the whole job is listed");
    archive.import_file(DEMO).unwrap();
    assert_eq!((all(&archive).len(), archive.check().unwrap().jobs), (2, 2));
}

#[test]
fn lists_that_are_damaged_or_missing_are_made_anew_and_no_event_is_lost() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    archive.import_file(DEMO).unwrap();
    let visit = Visit { customer: "Quastenfloh".to_owned(), ..Visit::default() };
    put(&mut archive, &visit, NOW, finished());
    let (jobs, lines) = (all(&archive), exported(&archive));
    drop(archive);
    for damage in [
        "DELETE FROM search_content; DELETE FROM search_data;",
        "DELETE FROM search_config;",
        "DROP TABLE search_config;",
        "DROP TABLE search_data;",
        "DROP TABLE reading;",
        "DROP TABLE summary; DROP TABLE search;",
        "DROP INDEX summary_by_day;",
    ] {
        Connection::open(&path).unwrap().execute_batch(damage).unwrap();
        let mut archive = open(&path);
        let looked = archive.look_through().unwrap();
        let compared = archive.compare().unwrap().unwrap();
        assert!(looked.damaged.is_empty(), "{damage}: {looked:?}");
        assert!(looked.lists.is_some() || !compared.unread.is_empty(), "{damage}: {compared:?}");
        let mut out = Vec::new();
        assert_eq!(archive.export_ndjson(&mut out).unwrap().jobs, 2);
        assert!(out == lines, "{damage}: the file of all jobs is another one");
        assert!(archive.rebuild().unwrap().is_empty());
        assert_eq!((all(&archive), found(&archive, "quasten").len()), (jobs.clone(), 1), "{damage}");
        assert_eq!(archive.check().unwrap().jobs, 2);
        assert_eq!(archive.compare().unwrap(), Some(Compared::default()), "{damage}");
    }
    let database = Connection::open(&path).unwrap();
    database.execute_batch("DELETE FROM search_content; DELETE FROM search_data;").unwrap();
    let why = open(&path).search("quasten", 9).unwrap_err().to_string();
    assert!(why.contains("lugwise past rebuild") && why.contains("no event is lost"), "{why}");
}

#[test]
fn no_flipped_bit_changes_what_a_job_says() {
    let (_folder, path, bytes) = written();
    let archive = open(&path);
    let uids: Vec<String> = all(&archive).into_iter().map(|job| job.uid).collect();
    let texts: Vec<String> = uids.iter().map(|uid| archive.export_file(uid).unwrap()).collect();
    drop(archive);
    let mut rng = StdRng::seed_from_u64(7);
    let mut refused = 0;
    let used: Vec<usize> = (0..bytes.len()).filter(|at| bytes[*at] != 0).collect();
    for round in 0..200 {
        let any = rng.random_range(0..bytes.len());
        let at = if round % 2 == 0 { any } else { used[rng.random_range(0..used.len())] };
        let bit = rng.random_range(0..8);
        let mut flipped = bytes.clone();
        flipped[at] ^= 1 << bit;
        let (_folder, path) = bench();
        fs::write(&path, &flipped).unwrap();
        let Ok(archive) = Archive::open(&path, NOW) else {
            assert!(fs::read(&path).unwrap() == flipped, "round {round}: byte {at} was refused and written");
            refused += 1;
            continue;
        };
        for (uid, text) in uids.iter().zip(&texts) {
            let changed = archive.export_file(uid).is_ok_and(|found| found != *text);
            assert!(!changed, "round {round}: bit {bit} of byte {at} changed job {uid}");
        }
    }
    assert!(refused > 0, "no flipped bit was noticed when the archive was opened");
}

#[test]
fn an_archive_that_was_not_closed_is_taken_up_with_everything_in_it() {
    let (folder, path) = bench();
    let mut archive = open(&path);
    let uid = put(&mut archive, &Visit::default(), NOW, finished());
    let copy = folder.path().join("copy.archive");
    fs::copy(&path, &copy).unwrap();
    fs::copy(folder.path().join("jobs.archive-wal"), folder.path().join("copy.archive-wal")).unwrap();
    assert_eq!(open(&copy).export_file(&uid).unwrap(), archive.export_file(&uid).unwrap());
}

#[test]
fn another_window_that_holds_on_is_reported_and_nothing_is_lost() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    let uid = put(&mut archive, &Visit::default(), NOW, vec![]);
    let other = Connection::open(&path).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let why = archive.append(&uid, 1, &[record(NOW, opened("cavity"))]).unwrap_err();
    assert!(matches!(why, ArchiveError::Locked { .. }), "{why}");
    other.execute_batch("ROLLBACK").unwrap();
    assert_eq!(archive.events(&uid).unwrap(), 1);
    archive.append(&uid, 1, &[record(NOW, opened("cavity"))]).unwrap();
}

#[test]
fn a_backup_is_made_while_the_archive_is_in_use_and_put_back() {
    let (folder, path) = bench();
    let mut archive = open(&path);
    let uid = archive.import_file(DEMO).unwrap().uid;
    let backup = folder.path().join("backup.archive");
    let holds = archive.backup(&backup).unwrap().holds;
    assert_eq!(holds, archive.check().unwrap());
    assert!(matches!(archive.backup(&backup).unwrap_err(), ArchiveError::InTheWay { .. }));
    let later = put(&mut archive, &Visit::default(), NOW, finished());
    assert!(matches!(Archive::restore(&backup, &path).unwrap_err(), ArchiveError::Locked { .. }));
    drop(archive);
    let before = fs::read(&path).unwrap();
    let restored = Archive::restore(&backup, &path).unwrap();
    assert_eq!(restored.holds, holds);
    assert_eq!(fs::read(restored.set_aside.as_ref().unwrap()).unwrap(), before);
    let archive = open(&path);
    assert_eq!(archive.export_file(&uid).unwrap(), DEMO);
    assert!(matches!(archive.job(&later), Err(ArchiveError::NoSuchJob { .. })));
    assert!(open(&restored.set_aside.unwrap()).job(&later).is_ok());
}

#[test]
fn an_archive_that_could_not_be_filled_leaves_no_file() {
    let (folder, path) = bench();
    let broken = |archive: &mut Archive| -> Result<(), ArchiveError> {
        archive.import_file(DEMO)?;
        archive.import_file("no job").map(drop)
    };
    assert!(matches!(Archive::filled(&path, NOW, broken), Err(ArchiveError::Log { .. })));
    assert!(contents(folder.path()).is_empty(), "{:?}", fs::read_dir(folder.path()).unwrap().next());
    let whole = |archive: &mut Archive| -> Result<bool, ArchiveError> {
        archive.import_file(DEMO)?;
        Ok(path.exists())
    };
    assert!(!Archive::filled(&path, NOW, whole).unwrap(), "it has its name before it is complete");
    assert_eq!(contents(folder.path()).len(), 1, "something is left beside it");
    assert_eq!(open(&path).check().unwrap().jobs, 1);
    assert!(matches!(Archive::filled(&path, NOW, whole), Err(ArchiveError::InTheWay { .. })));
    assert_eq!(open(&path).check().unwrap().jobs, 1);
}

#[test]
fn a_damaged_archive_is_replaced_and_a_damaged_backup_is_not_used() {
    let (folder, path, bytes) = written();
    let backup = folder.path().join("backup.archive");
    open(&path).backup(&backup).unwrap();
    fs::write(&path, &bytes[..bytes.len() / 2]).unwrap();
    let cut = folder.path().join("cut.archive");
    fs::write(&cut, &bytes[..bytes.len() / 2]).unwrap();
    let before = contents(folder.path());
    assert!(matches!(Archive::restore(&cut, &path).unwrap_err(), ArchiveError::Damaged { .. }));
    assert!(contents(folder.path()) == before, "the folder was changed");
    assert_eq!(Archive::restore(&backup, &path).unwrap().holds.jobs, 2);
    assert_eq!(open(&path).check().unwrap().jobs, 2);
}

fn exported(archive: &Archive) -> Vec<u8> {
    let mut bytes = Vec::new();
    let written = archive.export_ndjson(&mut bytes).unwrap();
    assert_eq!((written.jobs, written.left_out.len()), (all(archive).len(), 0));
    bytes
}

#[test]
fn a_file_of_jobs_is_merged_once_however_often_it_is_read() {
    let (_folder, path) = bench();
    let mut one = open(&path);
    let uid = one.import_file(DEMO).unwrap().uid;
    put(&mut one, &Visit::default(), NOW, finished());
    one.set_price(&uid, Some(4500)).unwrap();
    let (_other_folder, other_path) = bench();
    let mut other = open(&other_path);
    let bytes = exported(&one);
    let merged = other.import_ndjson(&mut Cursor::new(&bytes), "jobs.ndjson").unwrap();
    assert_eq!((merged.new, merged.longer, merged.same, merged.diverged.len()), (2, 0, 0, 0));
    let merged = other.import_ndjson(&mut Cursor::new(&bytes), "jobs.ndjson").unwrap();
    assert_eq!((merged.new, merged.longer, merged.same, merged.diverged.len()), (0, 0, 2, 0));
    assert!(exported(&other) == bytes, "the second archive holds something else");
    assert_eq!(other.summary(&uid).unwrap().price, Some(4500));
    assert_eq!(other.export_file(&uid).unwrap(), DEMO);
}

#[test]
fn price_and_earlier_job_follow_the_events_where_there_are_some() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    let earlier = put(&mut archive, &Visit::default(), NOW, finished());
    let again = Visit { at: "2026-04-02T09:00:00Z".to_owned(), ..Visit::default() };
    let linked = Event::WarrantyOf {
        job: "earlier.job.ron".to_owned(),
        opened: Visit::default().at,
        why: "the same noise".to_owned(),
    };
    let (total, currency) = (Money::hundredths(4550), "EUR".to_owned());
    let bill = Event::Billed { lines: Vec::new(), total, currency };
    let uid = put(&mut archive, &again, NOW, vec![linked, bill]);
    let told = |archive: &Archive, uid: &str| {
        let summary = archive.summary(uid).unwrap();
        (summary.price, summary.warranty_of)
    };
    assert_eq!(told(&archive, &uid), (Some(4550), Some(earlier.clone())));
    assert_eq!(found(&archive, "the same noise"), [uid.as_str()]);
    archive.append(&uid, 3, &[record(NOW, Event::Undone)]).unwrap();
    assert_eq!(told(&archive, &uid), (None, Some(earlier.clone())));
    archive.append(&uid, 4, &[record(NOW, Event::Undone)]).unwrap();
    assert_eq!(told(&archive, &uid), (None, None));
    archive.set_price(&earlier, Some(900)).unwrap();
    archive.rebuild().unwrap();
    let none = Some(Compared::default());
    assert_eq!(archive.compare().unwrap(), none, "what was told by hand is compared");
    by_hand(&path, &format!("UPDATE job SET price = 1 WHERE uid = '{uid}'"), 1);
    let compared = archive.compare().unwrap().unwrap();
    assert_eq!(compared.told[0].what, ["job: price is 1 instead of nothing"]);
    archive.rebuild().unwrap();
    assert_eq!(archive.compare().unwrap(), none);
    assert_eq!(told(&archive, &earlier), (Some(900), None), "no event of it tells a price");
}

#[test]
fn consent_and_the_lines_of_prices_are_found_also_in_an_archive_from_before() {
    let (_folder, path) = bench();
    let line = |what: &str| PriceLine {
        what: what.to_owned(),
        minutes: 0,
        labour: Money::default(),
        parts: Money::hundredths(500),
    };
    let (ceiling, currency) = (Money::hundredths(900), "EUR".to_owned());
    let estimate = Estimate {
        lines: vec![line("a knurled knob")],
        ceiling,
        per_hour: Money::default(),
        currency: currency.clone(),
        said: "it may take a week".to_owned(),
    };
    let (by, how) = ("the bassist's sister".to_owned(), Consent::InWriting);
    let events = vec![
        read(1, "plug.tip", "plug.sleeve", 45.0, 0.9),
        Event::Estimated { estimate },
        Event::Authorised { by, how, ceiling, currency: currency.clone() },
        Event::Billed { lines: vec![line("a felt washer")], total: Money::hundredths(500), currency },
    ];
    let uid = put(&mut open(&path), &Visit::default(), NOW, events);
    let words = ["5.00", "9.00", "knurled", "take a week", "sister", "in writing", "felt washer"];
    let all_found = |archive: &Archive| words.iter().all(|word| found(archive, word) == [uid.as_str()]);
    assert!(all_found(&open(&path)));
    assert!(found(&open(&path), "6.05k").is_empty(), "readings as they were typed are not searched");
    assert!(found(&open(&path), "5.01").is_empty());
    let before = "UPDATE search SET remarks = 'it may take a week\nthe bassist''s sister'; \
                  PRAGMA user_version = 3; UPDATE about SET said = '3' WHERE name = 'kept_for';";
    Connection::open(&path).unwrap().execute_batch(before).unwrap();
    let archive = open(&path);
    assert!(all_found(&archive), "what an older program kept is not made anew");
    assert_eq!(archive.compare().unwrap(), Some(Compared::default()));
}

#[test]
fn of_two_logs_the_longer_one_wins_and_where_both_went_on_both_are_kept() {
    let (_folder, path) = bench();
    let (_other_folder, other_path) = bench();
    let (mut one, mut other) = (open(&path), open(&other_path));
    let uid = put(&mut one, &Visit::default(), NOW, vec![opened("a")]);
    other.import_ndjson(&mut Cursor::new(exported(&one)), "one").unwrap();
    one.append(&uid, 2, &[record(NOW, opened("b"))]).unwrap();
    let merged = other.import_ndjson(&mut Cursor::new(exported(&one)), "one").unwrap();
    assert_eq!((merged.longer, other.events(&uid).unwrap()), (1, 3));
    one.append(&uid, 3, &[record(NOW, opened("here"))]).unwrap();
    other.append(&uid, 3, &[record(NOW, opened("there"))]).unwrap();
    for round in 0..3 {
        let merged = other.import_ndjson(&mut Cursor::new(exported(&one)), "one").unwrap();
        assert_eq!(merged.diverged.len(), usize::from(round == 0), "{merged:?}");
        let merged = one.import_ndjson(&mut Cursor::new(exported(&other)), "other").unwrap();
        assert_eq!(merged.diverged.len(), usize::from(round == 0), "{merged:?}");
        assert_eq!((all(&one).len(), all(&other).len()), (2, 2));
    }
    assert_eq!(one.job(&uid).unwrap().opened(), ["a", "b", "here"]);
    assert_eq!(other.job(&uid).unwrap().opened(), ["a", "b", "there"]);
    let beside = all(&one).into_iter().find(|job| job.uid != uid).unwrap();
    assert_eq!(beside.diverged_from.as_deref(), Some(uid.as_str()));
    assert_eq!(one.job(&beside.uid).unwrap().opened(), ["a", "b", "there"]);
}

#[test]
fn a_wrong_line_in_a_file_of_jobs_is_named() {
    let (_folder, path) = bench();
    let mut one = open(&path);
    put(&mut one, &Visit::default(), NOW, finished());
    let good = String::from_utf8(exported(&one)).unwrap();
    let (_other_folder, other_path) = bench();
    let mut other = open(&other_path);
    for (bad, says) in [
        ("{\"uid\": \"x\", \"events\": [], \"colour\": 1}", "unknown field `colour`"),
        ("{\"uid\": \"x\", \"events\": []}", "it holds no events"),
        ("{\"uid\": \"\", \"events\": []}", "no name"),
        ("{\"uid\": \"x\", \"events\": [\"(at\"]}", "line 1"),
        ("{\"uid\": \"x\", \"events\": [\"a\\nb\"]}", "more than one line"),
        ("not json", "expected ident"),
    ] {
        let text = format!("{good}\n{bad}\n");
        let why = other.import_ndjson(&mut Cursor::new(text), "jobs.ndjson").unwrap_err().to_string();
        assert!(why.starts_with("jobs.ndjson:3:"), "{why}");
        assert!(why.contains(says) && why.contains("hint: "), "{why}");
        assert_eq!(all(&other).len(), 1);
    }
}

/// A stream that goes on without a line break for ever; what reads it must stop by itself.
struct Endless(u64);

impl Read for Endless {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        into.fill(b' ');
        self.0 += into.len() as u64;
        assert!(self.0 < 64 << 20, "it is read on and on");
        Ok(into.len())
    }
}

#[test]
fn a_line_without_an_end_is_not_read_for_ever() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    let mut stream = BufReader::with_capacity(1 << 20, Endless(0));
    let why = archive.import_ndjson(&mut stream, "jobs.ndjson").unwrap_err().to_string();
    assert!(why.starts_with("jobs.ndjson:1:1:") && why.contains("longer than 16 MB"), "{why}");
    assert!(why.contains("hint: ") && all(&archive).is_empty(), "{why}");
}

#[test]
fn an_archive_that_may_only_be_read_is_read_and_stays_as_it_is() {
    let (folder, path) = bench();
    let visit = Visit { customer: "Quastenfloh".to_owned(), ..Visit::default() };
    let uid = put(&mut open(&path), &visit, NOW, finished());
    let before = contents(folder.path());
    let rights = fs::metadata(&path).unwrap().permissions();
    let mut frozen = rights.clone();
    frozen.set_readonly(true);
    fs::set_permissions(&path, frozen).unwrap();
    let mut archive = open(&path);
    assert_eq!((all(&archive).len(), found(&archive, "quasten").len()), (1, 1));
    assert_eq!((archive.events(&uid).unwrap(), archive.check().unwrap().jobs), (6, 1));
    let why = archive.set_price(&uid, Some(1)).unwrap_err().to_string();
    assert!(why.contains("may not be written") && why.contains("hint: "), "{why}");
    drop(archive);
    assert_eq!(contents(folder.path()), before);
    fs::set_permissions(&path, rights).unwrap();
    open(&path).set_price(&uid, Some(1)).unwrap();
}

#[test]
fn a_cut_off_job_file_is_taken_in_up_to_the_cut() {
    let (_folder, path) = bench();
    let mut archive = open(&path);
    let imported = archive.import_file(DEMO.trim_end().trim_end_matches(')')).unwrap();
    let whole = DEMO.lines().count();
    assert_eq!((imported.added, imported.notice.is_some()), (whole - 1, true));
    let again = archive.import_file(DEMO).unwrap();
    assert_eq!((again.added, again.uid), (1, imported.uid));
    assert!(archive.import_file("").unwrap_err().to_string().contains("no events"));
}

/// Returns whether any file of the folder holds a text, whatever its case.
fn holds(folder: &Path, text: &str) -> bool {
    let text = text.to_lowercase().into_bytes();
    contents(folder).iter().any(|(_, bytes)| {
        let bytes = bytes.to_ascii_lowercase();
        bytes.windows(text.len()).any(|window| window == text)
    })
}

#[test]
fn a_customer_is_taken_out_without_a_trace() {
    let (folder, path) = bench();
    let mut archive = open(&path);
    for number in 0..30 {
        let visit = Visit { instrument: format!("guitar {number}"), ..Visit::default() };
        put(&mut archive, &visit, NOW, finished());
    }
    let visit = Visit {
        customer: "Zerlinde Quastenfloh, zq@mail.invalid".to_owned(),
        instrument: "Zerlinde's guitar".to_owned(),
        complaint: "Zerlinde says it is quiet".to_owned(),
        ..Visit::default()
    };
    let events = vec![
        read(1, "plug.tip", "plug.sleeve", 45.0, 0.9),
        concluded(&["pickup/coil open"], 0.9),
        repaired("told Quastenfloh to bring a new lead", 30.0),
        unproven("Zerlinde collected it"),
    ];
    let uid = put(&mut archive, &visit, NOW, events);
    let file = archive.export_file(&uid).unwrap();
    let (elsewhere_folder, elsewhere_path) = bench();
    let mut elsewhere = open(&elsewhere_path);
    elsewhere.import_file(&file).unwrap();
    for name in ["zerlinde", "quastenfloh", "mail.invalid"] {
        assert!(holds(folder.path(), name), "{name} was not there to be removed");
    }
    let before = archive.job(&uid).unwrap();
    let removed = archive.remove_customer(&uid, NOW).unwrap();
    assert_eq!((removed.events, removed.scrubbed), (3, true));
    let after = archive.job(&uid).unwrap();
    assert_eq!(after.readings(), before.readings());
    assert_eq!(after.concluded(), before.concluded());
    assert_eq!((after.intake().customer.as_str(), after.intake().instrument.as_str()), ("", ""));
    assert_eq!(after.intake().complaint, "[removed] says it is quiet");
    assert_eq!(archive.summary(&uid).unwrap().removed_at.as_deref(), Some(NOW));
    assert_eq!(archive.import_file(&file).unwrap().added, 0);
    let merged = archive.import_ndjson(&mut Cursor::new(exported(&elsewhere)), "elsewhere").unwrap();
    assert_eq!((merged.same, merged.new), (1, 0));
    for name in ["zerlinde", "quastenfloh", "mail.invalid"] {
        assert!(found(&archive, name).is_empty(), "{name} is found");
        assert!(!holds(folder.path(), name), "{name} is in the file while it is open");
    }
    let file_of_jobs = exported(&archive);
    archive.check().unwrap();
    drop(archive);
    assert!(!holds(folder.path(), "zerlinde") && !holds(folder.path(), "quastenfloh"));
    elsewhere.import_ndjson(&mut Cursor::new(file_of_jobs), "home").unwrap();
    assert_eq!(elsewhere.job(&uid).unwrap().intake().customer, "");
    assert!(!holds(elsewhere_folder.path(), "quastenfloh"), "the removal did not reach the other archive");
}

#[test]
fn a_checksum_that_is_no_bytes_keeps_no_archive_from_before_shut() {
    let (_folder, path) = bench();
    let reading = vec![read(1, "plug.tip", "plug.sleeve", 45.0, 0.9)];
    let uid = put(&mut open(&path), &Visit::default(), NOW, reading);
    let odd = "UPDATE event SET mark = 'odd' WHERE seq = 2; PRAGMA user_version = 3; \
               UPDATE about SET said = '3' WHERE name = 'kept_for';";
    Connection::open(&path).unwrap().execute_batch(odd).unwrap();
    assert!(matches!(open(&path).job(&uid), Err(ArchiveError::DamagedJob { event: 2, .. })));
}
