//! What is done to the archive of past jobs beside the window: files in and out, copies, a customer taken out, learning.

use std::path::{Path, PathBuf};

use super::past_read::Told;
use crate::archive::LeftOut;
use crate::session::{AllJobs, PastError, PastJobs, TakenIn, TaughtNow, day_in_words};

/// Said when another window keeps a trace of a customer alive.
const OPEN_ELSEWHERE: &str =
    "Another window has the archive open: close it and do this again to clear the last trace.";
/// What mends a damaged job.
const MENDS: &str =
    "A damaged job is mended by its job file, or by the file of all jobs of a whole copy: take it in.";
/// Said after a customer was taken out.
const ELSEWHERE: &str = "The job file itself, photos beside it and older backups still hold the name.";

/// One thing that is done to the archive.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Care {
    /// Take job files in, or folders of them.
    Import(Vec<PathBuf>),
    /// Take in the jobs of another archive.
    Merge(PathBuf),
    /// Write a job as a job file.
    Export {
        /// Its name.
        uid: String,
        /// Where.
        to: PathBuf,
    },
    /// Write all jobs for other programs.
    ExportAll(AllJobs, PathBuf),
    /// Copy the archive.
    Backup(PathBuf),
    /// Put a copy in the archive's place.
    Restore(PathBuf),
    /// Count the jobs that would get their customer back from this copy.
    NamesIn(PathBuf),
    /// Take the customer out of the job of this name.
    Forget(String),
    /// Say what past jobs teach, over one's own priors.
    Learnt(Option<String>),
    /// Let new jobs start with it, or not; then say what it is, over one's own priors.
    Learn(bool, Option<String>),
}

impl Care {
    /// Returns what is being done, in words.
    pub const fn says(&self) -> &'static str {
        match self {
            Self::Import(_) | Self::Merge(_) => "Taking jobs in…",
            Self::Export { .. } | Self::ExportAll(..) => "Writing jobs…",
            Self::Backup(_) => "Copying the archive…",
            Self::Restore(_) | Self::NamesIn(_) => "Looking the copy through…",
            Self::Forget(_) => "Taking the customer out…",
            Self::Learnt(_) | Self::Learn(..) => "Counting cured jobs…",
        }
    }
}

/// What is asked once more before it is done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Sure {
    /// Take the customer out of the job that is gone through.
    Forget,
    /// Put this copy in the archive's place.
    Restore(PathBuf),
}

/// Does it; returns what is to be told.
///
/// # Errors
/// Returns why it could not be done.
pub(super) fn carry_out(place: &PastJobs, care: Care) -> Result<Told, PastError> {
    Ok(match care {
        Care::Import(paths) => imported(&place.import(&paths)?),
        Care::Merge(file) => merged(place, &file)?,
        Care::Export { uid, to } => {
            let file = place.export_job(&uid, &to)?;
            Told::Cared(format!("Written to {}", file.display()))
        }
        Care::ExportAll(form, to) => exported(place, form, &to)?,
        Care::Backup(to) => {
            let looked = place.backup(&to)?;
            let text = format!("{} was written and looked through: {}.", to.display(), looked.holds);
            with_damaged(text, &looked.damaged)
        }
        Care::Restore(from) => restored(place, &from)?,
        Care::NamesIn(from) => Told::NamesIn(place.names_in(&from)?),
        Care::Forget(uid) => forgotten(place, &uid)?,
        Care::Learnt(own) => Told::Learnt(taught(place, own.as_deref())?),
        Care::Learn(on, own) => {
            place.set_learning(on)?;
            Told::Learnt(taught(place, own.as_deref())?)
        }
    })
}

/// Returns what past jobs teach; only looking makes no archive.
fn taught(place: &PastJobs, own: Option<&str>) -> Result<TaughtNow, PastError> {
    if place.file()?.exists() { place.taught(own) } else { Ok(TaughtNow::default()) }
}

fn imported(files: &[TakenIn]) -> Told {
    if files.is_empty() {
        return Told::Cared("There are no job files there.".to_owned());
    }
    let (mut new, mut known, mut mended, mut wrong) = (0, 0, 0, Vec::new());
    for (file, came_of) in files {
        match came_of {
            Ok(done) if done.mended => mended += 1,
            Ok(done) if done.added > 0 => new += 1,
            Ok(_) => known += 1,
            Err(why) => wrong.push(format!("{}: {}", file.display(), why.replace("\nhint: ", "; "))),
        }
    }
    let text = format!("{new} taken in, {known} were here already{}.", and_mended(mended));
    if wrong.is_empty() { Told::Cared(text) } else { Told::Partly(text, wrong.join("\n")) }
}

/// Says how many jobs were damaged here and are whole again; nothing when there were none.
fn and_mended(jobs: usize) -> String {
    if jobs == 0 { String::new() } else { format!(", {jobs} mended that were damaged here") }
}

/// Tells what was done, and which jobs are damaged.
fn with_damaged(text: String, damaged: &[LeftOut]) -> Told {
    if damaged.is_empty() {
        return Told::Cared(text);
    }
    let jobs: Vec<String> = damaged.iter().map(ToString::to_string).collect();
    Told::Partly(text, format!("These jobs are damaged. {MENDS}\n{}", jobs.join("\n")))
}

fn merged(place: &PastJobs, file: &Path) -> Result<Told, PastError> {
    let merged = place.merge(file)?;
    let text = format!(
        "New jobs: {}; got longer: {}; here already: {}; kept beside those that they depart from: {}{}.",
        merged.new,
        merged.longer,
        merged.same,
        merged.diverged.len(),
        and_mended(merged.mended)
    );
    if merged.left_out.is_empty() {
        return Ok(Told::Cared(text));
    }
    Ok(Told::Partly(text, format!("Not all jobs were taken in.\n{}", merged.gaps().join("\n"))))
}

fn exported(place: &PastJobs, form: AllJobs, to: &Path) -> Result<Told, PastError> {
    let (written, files) = place.export_all(form, to)?;
    let names: Vec<String> = files.iter().map(|file| file.display().to_string()).collect();
    let jobs = written.jobs;
    let sort = if jobs == 1 { "job" } else { "jobs" };
    let text = format!("Written to {}: {jobs} {sort}.", names.join(" and "));
    if written.left_out.is_empty() {
        return Ok(Told::Cared(text));
    }
    let lack = format!("Not all jobs are in it. {MENDS}\n{}", written.gaps().join("\n"));
    Ok(Told::Partly(text, lack))
}

fn restored(place: &PastJobs, from: &Path) -> Result<Told, PastError> {
    let restored = place.restore(from)?;
    let aside = restored.set_aside.map(|path| format!(" What was there is in {}.", path.display()));
    let text = format!("The archive holds {} now.{}", restored.holds, aside.unwrap_or_default());
    Ok(with_damaged(text, &restored.damaged))
}

fn forgotten(place: &PastJobs, uid: &str) -> Result<Told, PastError> {
    let job = place.open()?.summary(uid)?;
    let removed = place.forget(uid)?;
    let others = place.open()?.of_customer(&job.customer)?;
    let others = match others {
        0 => String::new(),
        1 => " One other job has the same customer still.".to_owned(),
        more => format!(" {more} other jobs have the same customer still."),
    };
    let left = if removed.scrubbed {
        "No trace of it is left in the archive's record of this job."
    } else {
        OPEN_ELSEWHERE
    };
    let day = day_in_words(&job.opened_at);
    let events = removed.events;
    Ok(Told::Forgotten(format!(
        "The customer was taken out of the job of {day}; {events} of its events were changed.{others} {left} {ELSEWHERE}"
    )))
}
