//! `past`: job files into the archive and out of it, backups, and what keeps it sound.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::failure::Failure;
use super::past::named;
use super::past_args::{AllAs, Exported, PastVerb};
use super::plain::{counted, plain};
use super::reply::{Answer, Reply};
use crate::archive::{Archive, Compared, Counts, Differs, Imported, WrittenOut};
use crate::session::{AllJobs, PastJobs};

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
        PastVerb::Check => check(&place.open()?),
        _ => Err(Failure::new("nothing to do")),
    }
}

fn import(place: &PastJobs, paths: &[PathBuf]) -> Answer {
    let mut done = Vec::new();
    let mut wrong = Vec::new();
    for (file, came_of) in place.import(paths)? {
        match came_of {
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
    let json = json!({"files": files, "problems": problems});
    Ok(Reply { wrong: !wrong.is_empty(), ..Reply::new(text, json) })
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
    let uid = named(&place.open()?, uid)?;
    exported(1, &[place.export_job(&uid, output)?])
}

fn export_all(place: &PastJobs, format: AllAs, output: &Path) -> Answer {
    let form = match format {
        AllAs::Ndjson => AllJobs::Ndjson,
        AllAs::Columns => AllJobs::Columns,
    };
    let (written, files) = place.export_all(form, output)?;
    let whole = exported(written.jobs, &files)?;
    Ok(if written.left_out.is_empty() { whole } else { partial(whole, &written) })
}

/// Says of a file of all jobs which are not in it.
fn partial(whole: Reply, written: &WrittenOut) -> Reply {
    let left: Vec<Value> =
        written.left_out.iter().map(|left| json!({"uid": left.uid, "why": left.why})).collect();
    let hint = "take what was left out from a backup: `lugwise past restore` puts a whole one back";
    let notes = written.gaps().into_iter().chain([format!("  hint: {hint}")]).collect();
    let text = format!("{}; NOT ALL: {} left out", whole.text, counted(left.len() as u64, "damaged job"));
    let mut json = whole.json;
    json["left_out"] = json!(left);
    Reply { partial: true, notes, ..Reply::new(text, json) }
}

fn exported(jobs: usize, files: &[PathBuf]) -> Answer {
    let size = |path: &PathBuf| fs::metadata(path).map(|about| about.len()).unwrap_or_default();
    let told: Vec<Value> =
        files.iter().map(|path| json!({"file": path.display().to_string(), "bytes": size(path)})).collect();
    let names: Vec<String> = files.iter().map(|path| path.display().to_string()).collect();
    let text = format!("{} written, {}", names.join(" and "), counted(jobs as u64, "job"));
    Ok(Reply::new(text, json!({"jobs": jobs, "files": told, "left_out": []})))
}

fn merge(place: &PastJobs, path: &Path) -> Answer {
    let merged = place.merge(path)?;
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
    let holds = place.backup(to)?;
    let Counts { jobs, events } = holds;
    let file = to.display().to_string();
    let text = format!("{file} written and looked through: {holds}");
    Ok(Reply::new(text, json!({"file": file, "jobs": jobs, "events": events})))
}

fn restore(place: &PastJobs, from: &Path) -> Answer {
    let to = place.file()?;
    // What is no sound archive is told by the restoring itself.
    let back = place.names_in(from).unwrap_or_default();
    let restored = place.restore(from)?;
    let aside = restored.set_aside.map(|path| path.display().to_string());
    let was = aside.as_ref().map_or_else(String::new, |path| format!("; what was there is in {path}"));
    let Counts { jobs, events } = restored.holds;
    let names = match back {
        0 => String::new(),
        more => format!(
            "\nnote: {} with the name again of a customer who was taken out; `lugwise past forget` takes it out",
            counted(more as u64, "job")
        ),
    };
    let text = format!("{} holds {}{was}{names}", to.display(), restored.holds);
    Ok(Reply::new(text, json!({"jobs": jobs, "events": events, "set_aside": aside, "names_back": back})))
}

fn forget(place: &PastJobs, uid: &str, yes: bool) -> Answer {
    let archive = place.open()?;
    let uid = named(&archive, uid)?;
    if !yes {
        let job = archive.summary(&uid)?;
        let whom = plain(&job.customer);
        let whom =
            if whom.is_empty() { "no customer".to_owned() } else { format!("the customer \"{whom}\"") };
        return Err(Failure::new(format!("{uid} has {whom}; taking it out cannot be undone"))
            .with_hint("say so with --yes; readings, fault and repair stay"));
    }
    drop(archive);
    let removed = place.forget(&uid)?;
    let left = if removed.scrubbed {
        "no trace of the customer's name and numbers as they were typed is left in the archive"
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

/// So many differences of one job are told in words; JSON has them all.
const SOME: usize = 4;

/// Looks the archive through, and holds everything that follows from the events against them.
fn check(archive: &Archive) -> Answer {
    let mut reply = looked_through(archive, "is sound")?;
    let compared = archive.compare()?;
    reply.json["compared"] = json!(compared.is_some());
    let compared = compared.unwrap_or_default();
    let jobs: Vec<Value> =
        compared.told.iter().map(|job| json!({"uid": job.uid, "what": job.what})).collect();
    reply.json["differing"] = json!(compared.differing);
    reply.json["differ"] = json!(jobs);
    if compared.differing > 0 {
        reply.wrong = true;
        reply.text = format!("{}\n{}", reply.text, differing(&compared));
    }
    Ok(reply)
}

/// Says which jobs are listed otherwise than their events say.
fn differing(compared: &Compared) -> String {
    let told = |job: &Differs| {
        let more = if job.what.len() > SOME { "; and more" } else { "" };
        let some: Vec<&str> = job.what.iter().take(SOME).map(String::as_str).collect();
        format!("  {}: {}{more}", plain(&job.uid), some.join("; "))
    };
    let jobs = counted(compared.differing as u64, "job");
    let head = format!("the events are whole, but lists, figures or search tell something else of {jobs}:");
    let more = compared.differing - compared.told.len();
    let more = Some(format!("  and {more} more")).filter(|_| more > 0);
    let hint = "  hint: `lugwise past rebuild` makes all of it anew from the events".to_owned();
    let jobs = compared.told.iter().map(told);
    std::iter::once(head).chain(jobs).chain(more).chain([hint]).collect::<Vec<_>>().join("\n")
}
