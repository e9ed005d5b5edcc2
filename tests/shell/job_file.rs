//! Job files: what was acknowledged is on the disk, and nothing is ever lost.

use std::fs;
use std::path::{Path, PathBuf};

use lugwise::archive::{ArchiveError, JobFile};
use lugwise::job::{Event, Intake, Job, JobError, Record};
use lugwise::readings::{Access, Symptom};
use tempfile::TempDir;

fn record(event: Event) -> Record {
    Record { at: "2026-03-02T09:14:05Z".to_owned(), event }
}

fn started() -> Record {
    let intake = Intake {
        wiring: "one-pickup".to_owned(),
        wiring_text: "(\n    name: \"one-pickup\",\n)\n".to_owned(),
        priors_text: None,
        trees_text: Vec::new(),
        instrument: "invented guitar".to_owned(),
        customer: String::new(),
        complaint: "no sound — \"nothing\"".to_owned(),
        symptoms: vec![Symptom::Silent],
        last_done: String::new(),
        access: Access::Outside,
        meter: "4000 counts".to_owned(),
        technician: String::new(),
    };
    record(Event::Started { format: 1, intake: Box::new(intake), leaders: vec![] })
}

fn opened(place: &str) -> Record {
    record(Event::Opened { place: place.to_owned() })
}

fn bench() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("a.job");
    (folder, path)
}

/// A file of a started job with one place opened.
fn two_lines() -> (TempDir, PathBuf) {
    let (folder, path) = bench();
    JobFile::create(&path, &started()).unwrap().append(&[opened("cavity")]).unwrap();
    (folder, path)
}

#[test]
fn what_was_added_is_there_when_opened_again() {
    let (_folder, path) = bench();
    let mut file = JobFile::create(&path, &started()).unwrap();
    file.append(&[opened("control cavity"), opened("switch cavity")]).unwrap();
    file.append(&[]).unwrap();
    file.append(&[record(Event::Undone)]).unwrap();
    let (file, records, notice) = JobFile::open(&path).unwrap();
    assert_eq!((file.path(), records.len(), notice), (path.as_path(), 4, None));
    assert_eq!(records[0], started());
    assert_eq!(Job::replay(records).unwrap().opened(), ["control cavity"]);
    assert_eq!(fs::read_to_string(&path).unwrap().lines().count(), 4);
}

#[test]
fn an_opened_file_can_be_added_to() {
    let (_folder, path) = two_lines();
    let (mut file, mut records, _) = JobFile::open(&path).unwrap();
    file.append(&[opened("under the pickup")]).unwrap();
    records.push(opened("under the pickup"));
    assert_eq!(JobFile::open(&path).unwrap().1, records);
}

#[test]
fn a_file_that_is_there_is_not_written_over() {
    let (_folder, path) = two_lines();
    let before = fs::read(&path).unwrap();
    let error = JobFile::create(&path, &started()).unwrap_err();
    assert!(matches!(error, ArchiveError::Exists { .. }), "{error}");
    assert_eq!(
        error.to_string(),
        format!(
            "cannot make the job file {}: a file with this name is there already\nhint: choose another name, or open that job",
            path.display()
        )
    );
    assert_eq!(fs::read(&path).unwrap(), before);
}

/// However the last line was cut, in a character or between two, opening keeps the rest and loses nothing.
#[test]
fn a_cut_last_line_is_set_aside_when_the_job_goes_on() {
    let (_folder, path) = two_lines();
    let whole = fs::read(&path).unwrap();
    let last = whole.iter().take(whole.len() - 1).rposition(|byte| *byte == b'\n').unwrap() + 1;
    for (number, cut) in [last + 1, last + 20, whole.len() - 2].into_iter().enumerate() {
        fs::write(&path, &whole[..cut]).unwrap();
        let (mut file, records, notice) = JobFile::open(&path).unwrap();
        assert_eq!(records, [started()]);
        let notice = notice.expect("a notice");
        assert!(
            notice.starts_with("the last line is cut off; everything before it is kept. It held: ("),
            "{notice}"
        );
        assert_eq!(fs::read(&path).unwrap(), &whole[..cut], "opening changes nothing");
        file.append(&[opened("elsewhere")]).unwrap();
        let aside = path.with_file_name(format!("a.job.cut-{}", number + 1));
        assert_eq!(fs::read(aside).unwrap(), &whole[last..cut]);
        let (_, records, notice) = JobFile::open(&path).unwrap();
        assert_eq!((records, notice), (vec![started(), opened("elsewhere")], None));
    }
}

#[test]
fn a_cut_inside_a_character_and_bytes_that_are_not_text_are_kept_too() {
    for tail in [&b"(at:\"\xC3"[..], &[0; 40]] {
        let (_folder, path) = two_lines();
        let whole = fs::read(&path).unwrap();
        fs::write(&path, [&whole[..], tail].concat()).unwrap();
        let (mut file, records, notice) = JobFile::open(&path).unwrap();
        assert_eq!((records.len(), notice.is_some()), (2, true));
        file.append(&[opened("elsewhere")]).unwrap();
        assert_eq!(fs::read(path.with_file_name("a.job.cut-1")).unwrap(), tail);
        assert_eq!(JobFile::open(&path).unwrap().1.len(), 3);
    }
}

#[test]
fn a_last_line_that_only_lacks_its_end_is_whole() {
    let (_folder, path) = two_lines();
    let whole = fs::read(&path).unwrap();
    fs::write(&path, &whole[..whole.len() - 1]).unwrap();
    let (mut file, records, notice) = JobFile::open(&path).unwrap();
    assert_eq!((records.len(), notice), (2, None));
    file.append(&[opened("elsewhere")]).unwrap();
    assert_eq!(JobFile::open(&path).unwrap().1.len(), 3);
}

#[test]
fn another_program_that_adds_is_noticed() {
    let (_folder, path) = two_lines();
    let (mut ours, ..) = JobFile::open(&path).unwrap();
    let (mut theirs, ..) = JobFile::open(&path).unwrap();
    theirs.append(&[opened("theirs")]).unwrap();
    let before = fs::read(&path).unwrap();
    let error = ours.append(&[opened("ours")]).unwrap_err();
    assert!(matches!(error, ArchiveError::Changed { .. }), "{error}");
    assert!(error.to_string().contains("another program wrote to it; nothing was added"), "{error}");
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[test]
fn a_file_that_was_moved_is_noticed() {
    let (folder, path) = two_lines();
    let (mut file, ..) = JobFile::open(&path).unwrap();
    fs::rename(&path, folder.path().join("b.job")).unwrap();
    let error = file.append(&[opened("ours")]).unwrap_err().to_string();
    assert!(error.starts_with(&format!("cannot add to the job file {}: ", path.display())), "{error}");
    assert!(error.ends_with("hint: the file is missing; it was moved, renamed or deleted"), "{error}");
    assert!(!path.exists());
}

#[test]
fn a_missing_folder_is_named() {
    let (folder, _) = bench();
    let error = JobFile::create(&folder.path().join("no").join("a.job"), &started()).unwrap_err().to_string();
    assert!(error.ends_with("hint: the folder is missing; make it first"), "{error}");
}

#[test]
fn a_folder_is_not_a_job() {
    let (folder, _) = bench();
    let error = JobFile::open(folder.path()).unwrap_err();
    assert!(matches!(error, ArchiveError::NotAFile { .. }), "{error}");
}

#[test]
fn a_broken_line_before_the_last_is_an_error_with_its_place() {
    let (_folder, path) = two_lines();
    let text = fs::read_to_string(&path).unwrap().replace("opened(place", "opend(place");
    fs::write(&path, text).unwrap();
    let error = JobFile::open(&path).unwrap_err();
    let ArchiveError::Job { why: JobError::Line { line, column, .. }, .. } = &error else {
        panic!("{error}");
    };
    assert_eq!((*line, *column), (2, 34));
}

#[test]
fn a_file_that_is_not_text_is_refused() {
    let (_folder, path) = two_lines();
    let whole = fs::read(&path).unwrap();
    fs::write(&path, [&whole[..], b"\xFF\xFE\nmore\n"].concat()).unwrap();
    let error = JobFile::open(&path).unwrap_err();
    assert!(matches!(error, ArchiveError::NotText { line: 3, .. }), "{error}");
}

#[test]
fn an_empty_file_opens_but_is_no_job() {
    let (_folder, path) = bench();
    fs::write(&path, "").unwrap();
    let (_, records, notice) = JobFile::open(&path).unwrap();
    assert_eq!((records.len(), notice), (0, None));
    assert_eq!(Job::replay(vec![]), Err(JobError::Empty));
}

#[test]
fn a_first_line_that_was_cut_off_is_said_to_be_that() {
    let (_folder, path) = two_lines();
    let whole = fs::read(&path).unwrap();
    let first = whole.iter().position(|byte| *byte == b'\n').unwrap();
    for bytes in [1, 4, 40, first - 1] {
        fs::write(&path, &whole[..bytes]).unwrap();
        let error = JobFile::open(&path).unwrap_err().to_string();
        assert!(error.contains("its first line was cut off while it was written"), "{error}");
        assert!(error.contains(&format!("the file holds {bytes} bytes and nothing else")), "{error}");
        assert!(error.contains("hint: no reading was in it yet: start the job again"), "{error}");
        assert_eq!(fs::read(&path).unwrap(), &whole[..bytes], "opening changes nothing");
    }
}

#[test]
fn text_that_is_no_job_is_not_called_a_cut_off_one() {
    let (_folder, path) = bench();
    fs::write(&path, "a letter to the customer").unwrap();
    let (_, records, _) = JobFile::open(&path).unwrap();
    assert!(records.is_empty());
}

/// Only where the system keeps a folder in which no file can be made, though it is there.
#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_takes_no_files_is_not_called_missing() {
    let error = JobFile::create(Path::new("/proc/a.job"), &started()).unwrap_err().to_string();
    let allowed = [
        "no file can be made in this folder; choose another one",
        "choose another folder or change its rights",
    ];
    assert!(allowed.iter().any(|hint| error.ends_with(hint)), "{error}");
}
