//! `past`: job files into the archive and out of it, backups, and what keeps it sound.

use std::fs::{self, File, OpenOptions};
use std::io::{BufReader, BufWriter};
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::failure::Failure;
use super::past::named;
use super::past_args::{AllAs, Exported, PastVerb};
use super::plain::{counted, plain};
use super::reply::{Answer, Reply};
use crate::archive::{Archive, Counts, Imported};
use crate::session::{PastJobs, moment};

/// The endings of job files in a folder.
const ENDINGS: [&str; 2] = [".job", ".job.ron"];

/// Carries out the commands that move files or mend the archive.
pub(super) fn files(place: &PastJobs, verb: &PastVerb) -> Answer {
    match verb {
        PastVerb::Import { paths } => import(place, paths),
        PastVerb::Export(Exported { uid: Some(uid), output, .. }) => export(place, uid, output),
        PastVerb::Export(Exported { format, output, .. }) => export_all(place, *format, output),
        PastVerb::Merge { file } => merge(place, file),
        PastVerb::Backup { file } => backup(place, file),
        PastVerb::Restore { file } => restore(place, file),
        PastVerb::Forget { uid, yes } => forget(place, uid, *yes),
        PastVerb::Rebuild => rebuild(place),
        PastVerb::Check => looked_through(&place.open()?, "is sound"),
        _ => Err(Failure::new("nothing to do")),
    }
}

fn import(place: &PastJobs, paths: &[PathBuf]) -> Answer {
    let mut archive = place.open()?;
    let mut done = Vec::new();
    let mut wrong = Vec::new();
    for file in paths.iter().flat_map(|path| job_files(path)) {
        match taken_in(&mut archive, &file) {
            Ok(imported) => done.push((file, imported)),
            Err(why) => wrong.push((file, why)),
        }
    }
    let text: Vec<String> =
        done.iter().map(|(file, done)| imported(file, done)).chain(wrong.iter().map(refused)).collect();
    let files: Vec<Value> = done.iter().map(|(file, done)| import_json(file, done)).collect();
    let problems: Vec<Value> =
        wrong.iter().map(|(file, why)| json!({"file": file.display().to_string(), "message": why})).collect();
    let text = if text.is_empty() { "no job files there".to_owned() } else { text.join("\n") };
    Ok(Reply { text, json: json!({"files": files, "problems": problems}), wrong: !wrong.is_empty() })
}

/// Returns a file, or the job files of a folder in the order of their names.
fn job_files(path: &Path) -> Vec<PathBuf> {
    if !path.is_dir() {
        return vec![path.to_owned()];
    }
    let is_job = |path: &PathBuf| {
        let name = path.file_name().map(|name| name.to_string_lossy().to_lowercase()).unwrap_or_default();
        path.is_file() && ENDINGS.iter().any(|end| name.ends_with(end))
    };
    let entries = fs::read_dir(path).into_iter().flatten().flatten();
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.path()).filter(is_job).collect();
    files.sort();
    files
}

fn taken_in(archive: &mut Archive, file: &Path) -> Result<Imported, String> {
    let bytes = fs::read(file).map_err(|why| format!("the file cannot be read: {why}"))?;
    archive.import_file(&String::from_utf8_lossy(&bytes)).map_err(|why| why.to_string())
}

fn imported(file: &Path, done: &Imported) -> String {
    let what = match (done.added, &done.diverged_from) {
        (0, _) => "was here already".to_owned(),
        (added, None) => format!("{} taken in", counted(added as u64, "event")),
        (_, Some(other)) => format!("kept beside {}, from which it departs", plain(other)),
    };
    let notice = done.notice.as_ref().map_or_else(String::new, |notice| format!("; {notice}"));
    format!("{}: {}, {what}{notice}", file.display(), plain(&done.uid))
}

fn refused((file, why): &(PathBuf, String)) -> String {
    format!("{}: not taken in: {}", file.display(), why.replace("\nhint: ", "\n  hint: "))
}

fn import_json(file: &Path, done: &Imported) -> Value {
    json!({
        "file": file.display().to_string(), "uid": done.uid, "added": done.added,
        "diverged_from": done.diverged_from, "notice": done.notice,
    })
}

fn export(place: &PastJobs, uid: &str, output: &Path) -> Answer {
    let archive = place.open()?;
    let uid = named(&archive, uid)?;
    let text = archive.export_file(&uid)?;
    let path = if output.is_dir() { output.join(file_name(&uid)) } else { output.to_owned() };
    write_new(&path, text.as_bytes())?;
    exported(1, &[path])
}

/// Returns a file name for a job. A job that came from elsewhere may have any name; none of it leads out of the folder.
fn file_name(uid: &str) -> String {
    let letter = |c: char| if c.is_ascii_alphanumeric() || c == '-' { c } else { '-' };
    let name: String = uid.chars().map(letter).take(80).collect();
    format!("job-{name}.job.ron")
}

fn export_all(place: &PastJobs, format: AllAs, output: &Path) -> Answer {
    let archive = place.open()?;
    match format {
        AllAs::Ndjson => {
            let mut to = BufWriter::new(make_new(output)?);
            let jobs = undone(archive.export_ndjson(&mut to), &[output])?;
            exported(jobs, &[output.to_owned()])
        }
        AllAs::Columns => {
            let events = beside(output);
            let to = make_new(output)?;
            let more = make_new(&events).inspect_err(|_| discard(&[output]))?;
            let written = archive.export_parquet(BufWriter::new(to), BufWriter::new(more));
            exported(undone(written, &[output, events.as_path()])?, &[output.to_owned(), events])
        }
    }
}

/// Returns the name of the second table: `jobs.parquet` has `jobs-events.parquet` beside it.
fn beside(output: &Path) -> PathBuf {
    let mut name = output.file_stem().unwrap_or_default().to_owned();
    name.push("-events");
    if let Some(ending) = output.extension() {
        name.push(".");
        name.push(ending);
    }
    output.with_file_name(name)
}

/// Takes files away again that were not written whole.
fn undone<T>(written: Result<T, crate::archive::ArchiveError>, files: &[&Path]) -> Result<T, Failure> {
    if written.is_err() {
        discard(files);
    }
    Ok(written?)
}

fn discard(files: &[&Path]) {
    for file in files {
        // What cannot be taken away stays; the message says that it was not written.
        let _ = fs::remove_file(file);
    }
}

fn exported(jobs: usize, files: &[PathBuf]) -> Answer {
    let size = |path: &PathBuf| fs::metadata(path).map(|about| about.len()).unwrap_or_default();
    let told: Vec<Value> =
        files.iter().map(|path| json!({"file": path.display().to_string(), "bytes": size(path)})).collect();
    let names: Vec<String> = files.iter().map(|path| path.display().to_string()).collect();
    let text = format!("{} written, {}", names.join(" and "), counted(jobs as u64, "job"));
    Ok(Reply::new(text, json!({"jobs": jobs, "files": told})))
}

/// Makes a file that is not there yet.
pub(super) fn make_new(path: &Path) -> Result<File, Failure> {
    OpenOptions::new().write(true).create_new(true).open(path).map_err(|why| match why.kind() {
        std::io::ErrorKind::AlreadyExists => {
            Failure::new(format!("writing {}: there is a file of that name", path.display()))
                .with_hint("nothing is ever written over; give another name")
        }
        _ => Failure::new(format!("writing {}: {why}", path.display())),
    })
}

/// Writes a file that is not there yet.
pub(super) fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    use std::io::Write as _;
    let mut file = make_new(path)?;
    file.write_all(bytes).map_err(|why| Failure::new(format!("writing {}: {why}", path.display())))
}

fn merge(place: &PastJobs, path: &Path) -> Answer {
    let unread = |why| Failure::new(format!("reading {}: {why}", path.display()));
    let file = File::open(path).map_err(unread)?;
    let name = path.display().to_string();
    if !file.metadata().is_ok_and(|about| about.is_file()) {
        return Err(Failure::new(format!("cannot read {name}: it is no file")));
    }
    let merged = place.open()?.import_ndjson(&mut BufReader::new(file), &name)?;
    let diverged: Vec<Value> =
        merged.diverged.iter().map(|(uid, from)| json!({"uid": uid, "from": from})).collect();
    let text = format!(
        "{}: new {}, longer than here {}, here already {}, kept beside those that they depart from {}",
        counted((merged.new + merged.longer + merged.same + diverged.len()) as u64, "job"),
        merged.new,
        merged.longer,
        merged.same,
        diverged.len()
    );
    let json = json!({
        "new": merged.new, "longer": merged.longer, "same": merged.same, "diverged": diverged,
    });
    Ok(Reply::new(text, json))
}

fn backup(place: &PastJobs, to: &Path) -> Answer {
    let holds = place.open()?.backup(to)?;
    let Counts { jobs, events } = holds;
    let file = to.display().to_string();
    let text = format!("{file} written and looked through: {holds}");
    Ok(Reply::new(text, json!({"file": file, "jobs": jobs, "events": events})))
}

fn restore(place: &PastJobs, from: &Path) -> Answer {
    let to = place.file()?;
    let restored = Archive::restore(from, to)?;
    let aside = restored.set_aside.map(|path| path.display().to_string());
    let was = aside.as_ref().map_or_else(String::new, |path| format!("; what was there is in {path}"));
    let Counts { jobs, events } = restored.holds;
    let text = format!("{} holds {}{was}", to.display(), restored.holds);
    Ok(Reply::new(text, json!({"jobs": jobs, "events": events, "set_aside": aside})))
}

fn forget(place: &PastJobs, uid: &str, yes: bool) -> Answer {
    let mut archive = place.open()?;
    let uid = named(&archive, uid)?;
    if !yes {
        let job = archive.summary(&uid)?;
        let whom = plain(&job.customer);
        let whom =
            if whom.is_empty() { "no customer".to_owned() } else { format!("the customer \"{whom}\"") };
        return Err(Failure::new(format!("{uid} has {whom}; taking it out cannot be undone"))
            .with_hint("say so with --yes; readings, fault and repair stay"));
    }
    let removed = archive.remove_customer(&uid, &moment())?;
    let left = if removed.scrubbed {
        "no trace is left in the archive"
    } else {
        "another window has the archive open: close it and run this again to clear the last trace"
    };
    let text = format!(
        "{} of {} changed; {left}. The job file itself and older backups still hold the name.",
        counted(removed.events as u64, "event"),
        plain(&uid)
    );
    Ok(Reply::new(text, json!({"uid": uid, "events": removed.events, "scrubbed": removed.scrubbed})))
}

fn rebuild(place: &PastJobs) -> Answer {
    let mut archive = place.open()?;
    archive.rebuild()?;
    looked_through(&archive, "made anew and sound")
}

fn looked_through(archive: &Archive, how: &str) -> Answer {
    let holds = archive.check()?;
    let Counts { jobs, events } = holds;
    let file = archive.path().display().to_string();
    let text = format!("{file} {how}: {holds}");
    Ok(Reply::new(text, json!({"archive": file, "jobs": jobs, "events": events})))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_of_a_job_leads_out_of_a_folder() {
        for uid in ["../../etc/passwd", "/abs", "a\\b", "..", "a\0b", "20260302-ab", "\u{202e}x"] {
            let name = file_name(uid);
            let path = Path::new(&name);
            assert_eq!(path.file_name().unwrap().to_str(), Some(name.as_str()), "{name}");
            assert!(name.starts_with("job-") && !name.contains(['/', '\\', '\0']), "{name}");
        }
        assert!(file_name(&"x".repeat(1 << 20)).len() < 100);
    }

    #[test]
    fn the_second_table_lies_beside_the_first() {
        assert_eq!(beside(Path::new("a/jobs.parquet")), Path::new("a/jobs-events.parquet"));
        assert_eq!(beside(Path::new("jobs")), Path::new("jobs-events"));
    }
}
