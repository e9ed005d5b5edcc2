//! `past`: job files into the archive and out of it, backups, and what keeps it sound.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::failure::Failure;
use super::past::named;
use super::past_args::{AllAs, Exported, PastVerb};
use super::plain::{counted, plain};
use super::reply::{Answer, Reply};
use crate::archive::{Archive, Compared, Counts, Differs, Imported, LeftOut, Looked, WrittenOut};
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
        (added, _) if done.mended => {
            format!("mended: it was damaged here; {} put right", counted(added as u64, "event"))
        }
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
        "diverged_from": done.diverged_from, "notice": done.notice, "mended": done.mended,
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
    let notes = with_hint(written.gaps());
    let jobs = counted(written.left_out.len() as u64, "damaged job");
    let text = format!("{}; NOT ALL: {jobs} left out", whole.text);
    let mut json = whole.json;
    json["left_out"] = json!(named_jobs(&written.left_out));
    Reply { partial: true, notes, ..Reply::new(text, json) }
}

/// What mends a damaged job.
const MENDS: &str = "a damaged job is mended by its job file (`lugwise past import`), or by the file of all jobs of a whole \
                     copy (`lugwise past merge`)";

fn with_hint(lines: Vec<String>) -> Vec<String> {
    lines.into_iter().chain([format!("  hint: {MENDS}")]).collect()
}

fn named_jobs(left: &[LeftOut]) -> Vec<Value> {
    left.iter().map(|left| json!({"uid": left.uid, "why": left.why})).collect()
}

/// Names the damaged jobs of an archive that was dealt with otherwise: they are told, and it was not done for all.
fn with_damaged(mut reply: Reply, damaged: &[LeftOut]) -> Reply {
    reply.json["damaged"] = json!(named_jobs(damaged));
    if !damaged.is_empty() {
        reply.partial = true;
        reply.text = format!("{}; DAMAGED: {}", reply.text, counted(damaged.len() as u64, "job"));
        reply.notes = with_hint(damaged.iter().map(|job| format!("damaged: {job}")).collect());
    }
    reply
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
        "{}: new {}, longer than here {}, here already {}, kept beside those that they depart from {}, mended {}",
        counted((merged.new + merged.longer + merged.same + diverged.len() + merged.mended) as u64, "job"),
        merged.new,
        merged.longer,
        merged.same,
        diverged.len(),
        merged.mended
    );
    let left = &merged.left_out;
    let json = json!({
        "new": merged.new, "longer": merged.longer, "same": merged.same, "diverged": diverged,
        "mended": merged.mended, "left_out": named_jobs(left),
    });
    if left.is_empty() {
        return Ok(Reply::new(text, json));
    }
    let text = format!("{text}; NOT ALL: {} left out", counted(left.len() as u64, "job"));
    Ok(Reply { partial: true, notes: with_hint(merged.gaps()), ..Reply::new(text, json) })
}

fn backup(place: &PastJobs, to: &Path) -> Answer {
    let looked = place.backup(to)?;
    let Counts { jobs, events } = looked.holds;
    let file = to.display().to_string();
    let text = format!("{file} written and looked through: {}", looked.holds);
    let reply = Reply::new(text, json!({"file": file, "jobs": jobs, "events": events}));
    Ok(with_damaged(reply, &looked.damaged))
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
    let json = json!({"jobs": jobs, "events": events, "set_aside": aside, "names_back": back});
    Ok(with_damaged(Reply::new(text, json), &restored.damaged))
}

fn forget(place: &PastJobs, uid: &str, yes: bool) -> Answer {
    let archive = place.open()?;
    let uid = named(&archive, uid)?;
    let job = archive.summary(&uid)?;
    if !yes {
        let whom = plain(&job.customer);
        let whom =
            if whom.is_empty() { "no customer".to_owned() } else { format!("the customer \"{whom}\"") };
        return Err(Failure::new(format!("{uid} has {whom}; taking it out cannot be undone")).with_hint(
            "say so with --yes; the words in the instrument's field go too; readings, fault and repair stay",
        ));
    }
    drop(archive);
    let removed = place.forget(&uid)?;
    let others = place.open()?.of_customer(&job.customer)?;
    let left = if removed.scrubbed {
        "no trace of the customer's name and numbers as they were typed is left in the archive's record of this job"
    } else {
        "another window has the archive open: close it and run this again to clear the last trace"
    };
    let text = format!(
        "{} of {} changed; {left}. The job file itself and older backups still hold the name{}.",
        counted(removed.events as u64, "event"),
        plain(&uid),
        still(others, &job.customer)
    );
    let json = json!({"uid": uid, "events": removed.events, "scrubbed": removed.scrubbed, "others": others});
    Ok(Reply::new(text, json))
}

/// Says how many other jobs have the customer's name, whatever was taken out of one.
fn still(others: u32, customer: &str) -> String {
    let jobs = counted(others.into(), "other job");
    let has = if others == 1 { "has" } else { "have" };
    match others {
        0 => String::new(),
        _ => format!("; {jobs} in the archive {has} it still: `lugwise past \"{}\"`", plain(customer)),
    }
}

fn rebuild(place: &PastJobs) -> Answer {
    let mut archive = place.open()?;
    let left_out = archive.rebuild()?;
    let looked = archive.look_through()?;
    let how = if left_out.is_empty() { "made anew and sound" } else { "made anew without damaged jobs" };
    Ok(with_damaged(told(&archive, &looked, how), &left_out))
}

/// Says how much an archive holds.
fn told(archive: &Archive, looked: &Looked, how: &str) -> Reply {
    let Counts { jobs, events } = looked.holds;
    let file = archive.path().display().to_string();
    let text = format!("{file} {how}: {}", looked.holds);
    Reply::new(text, json!({"archive": file, "jobs": jobs, "events": events}))
}

/// So many differences of one job are told in words; JSON has them all.
const SOME: usize = 4;

/// Said where an archive of an older program was looked through that may not be written.
const NOT_COMPARED: &str = "lists, figures and search were not compared: an older program kept less of it, and it may not be written";

/// Looks the archive through, and holds everything that follows from the events against them.
fn check(archive: &Archive) -> Answer {
    let looked = archive.look_through()?;
    let compared = archive.compare()?;
    let is_compared = compared.is_some();
    let compared = compared.unwrap_or_default();
    let lists = looked.lists.iter().map(|why| format!("search: {why}"));
    let lists: Vec<String> = lists.chain(compared.unread.iter().cloned()).collect();
    let wrong = !looked.damaged.is_empty() || !lists.is_empty() || compared.differing > 0;
    let mut reply = told(archive, &looked, if wrong { "is not sound" } else { "is sound" });
    let jobs: Vec<Value> =
        compared.told.iter().map(|job| json!({"uid": job.uid, "what": job.what})).collect();
    reply.json["damaged"] = json!(named_jobs(&looked.damaged));
    reply.json["lists"] = json!(lists);
    reply.json["compared"] = json!(is_compared);
    reply.json["differing"] = json!(compared.differing);
    reply.json["differ"] = json!(jobs);
    reply.wrong = wrong;
    let findings = [damaged(&looked.damaged), spoilt(&lists), differing(&compared)];
    reply.text =
        std::iter::once(reply.text).chain(findings.into_iter().flatten()).collect::<Vec<_>>().join("\n");
    if !is_compared {
        reply.notes.push(NOT_COMPARED.to_owned());
    }
    Ok(reply)
}

/// Says which jobs are damaged.
fn damaged(jobs: &[LeftOut]) -> Option<String> {
    let head = format!("{} not what was written:", counted(jobs.len() as u64, "job"));
    let told = jobs.iter().map(|job| format!("  {}: {}", plain(&job.uid), plain(&job.why)));
    let hint = format!("  hint: {MENDS}");
    let lines: Vec<String> = std::iter::once(head).chain(told).chain([hint]).collect();
    (!jobs.is_empty()).then(|| lines.join("\n"))
}

/// Says which lists are missing or damaged.
fn spoilt(lists: &[String]) -> Option<String> {
    let told = lists.iter().map(|why| format!("  {}", plain(why)));
    let head = "lists are damaged or missing:".to_owned();
    let hint = "  hint: `lugwise past rebuild` makes the lists anew; no event is lost".to_owned();
    let lines: Vec<String> = std::iter::once(head).chain(told).chain([hint]).collect();
    (!lists.is_empty()).then(|| lines.join("\n"))
}

/// Says which jobs are listed otherwise than their events say.
fn differing(compared: &Compared) -> Option<String> {
    if compared.differing == 0 {
        return None;
    }
    let told = |job: &Differs| {
        let more = if job.what.len() > SOME { "; and more" } else { "" };
        let some: Vec<&str> = job.what.iter().take(SOME).map(String::as_str).collect();
        format!("  {}: {}{more}", plain(&job.uid), some.join("; "))
    };
    let jobs = counted(compared.differing as u64, "job");
    let head = format!("the events are there, but lists, figures or search tell something else of {jobs}:");
    let more = compared.differing - compared.told.len();
    let more = Some(format!("  and {more} more")).filter(|_| more > 0);
    let hint = "  hint: `lugwise past rebuild` makes all of it anew from the events".to_owned();
    let jobs = compared.told.iter().map(told);
    let lines: Vec<String> = std::iter::once(head).chain(jobs).chain(more).chain([hint]).collect();
    Some(lines.join("\n"))
}
