//! Past jobs, read beside the window.

use std::path::PathBuf;
use std::rc::Rc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;
use std::time::Duration;

use egui::Context;

use super::past_care::{self, Care};
use crate::archive::audit::By;
use crate::archive::{Archive, ArchiveError, Filter, Order, Page, Summary};
use crate::session::{Chart, Figure, PastError, PastJobs, Replay, TaughtNow, csv, report, write_new};

/// How many jobs are listed at most.
pub(super) const MOST: u32 = 200;

/// What is to be read of past jobs.
#[derive(Clone, Debug)]
pub(super) enum Wanted {
    /// The jobs that hold these words and pass the filter.
    Jobs {
        /// The words; none lets all pass.
        words: String,
        /// Which jobs.
        filter: Filter,
    },
    /// A job as it went.
    Replay(Box<Summary>),
    /// All figures.
    Figures {
        /// Over which jobs.
        filter: Filter,
        /// What they are put together by.
        by: By,
    },
    /// A figure as a file of comma-separated values.
    Csv {
        /// Where.
        path: PathBuf,
        /// The figure.
        figure: Box<Figure>,
    },
    /// All figures as a page to print.
    Report {
        /// Where.
        path: PathBuf,
        /// Over which jobs.
        filter: Filter,
        /// What they are put together by.
        by: By,
        /// Which jobs these are, in words.
        facts: Vec<(&'static str, String)>,
    },
    /// Something is done to the archive.
    Care(Care),
}

impl Wanted {
    /// Returns whether a later one of the same kind makes it needless.
    pub(super) fn is_replaced_by(&self, later: &Self) -> bool {
        let same = std::mem::discriminant(self) == std::mem::discriminant(later);
        same && !matches!(self, Self::Csv { .. } | Self::Report { .. } | Self::Care(_))
    }

    /// Returns what is being done, in words.
    pub(super) const fn says(&self) -> &'static str {
        match self {
            Self::Care(care) => care.says(),
            Self::Csv { .. } | Self::Report { .. } => "Writing…",
            _ => "Reading…",
        }
    }
}

/// A job that was found, and the words around the place where it was found.
pub type FoundJob = (Summary, Option<String>);

/// A list of jobs.
#[derive(Default)]
pub(super) struct Listing {
    /// The jobs that are listed.
    pub jobs: Vec<FoundJob>,
    /// How many there are in all.
    pub total: u32,
    /// The same in words, and from when to when.
    pub held: String,
    /// The technicians in the archive.
    pub technicians: Vec<String>,
}

/// What was read.
pub(super) enum Told {
    /// Jobs, and how many there are in all.
    Jobs(Listing),
    /// How many jobs would get their customer back from a copy.
    NamesIn(usize),
    /// A job as it went.
    Replay(Box<Summary>, Replay),
    /// All figures, and how many jobs they are of.
    Figures(Vec<Figure>, String),
    /// A file was written.
    Written(PathBuf),
    /// Something was done to the archive, in words.
    Cared(String),
    /// A part of it was done, and why the rest was not.
    Partly(String, String),
    /// The customer was taken out of a job, in words.
    Forgotten(String),
    /// What past jobs teach.
    Learnt(TaughtNow),
}

/// How soon the window looks again whether something was read.
pub(super) const SOON: Duration = Duration::from_millis(50);

/// What was read, or the message to show.
pub(super) type Answer = Result<Told, String>;

/// Begins to read beside the window.
pub(super) fn begin(place: PastJobs, wanted: Wanted) -> Receiver<Answer> {
    let (sender, told) = channel();
    thread::spawn(move || {
        // Nobody listens any more when the screen was left.
        let _ = sender.send(read(&place, wanted).map_err(|why| why.to_string()));
    });
    told
}

/// Returns what was read beside the window when it has come; until then the window looks again soon.
pub(super) fn arrived(ctx: &Context, reading: &mut Option<Rc<Receiver<Answer>>>) -> Option<Answer> {
    let answer = match reading.as_ref()?.try_recv() {
        Ok(answer) => answer,
        Err(TryRecvError::Disconnected) => Err("reading past jobs broke off".to_owned()),
        Err(TryRecvError::Empty) => {
            ctx.request_repaint_after(SOON);
            return None;
        }
    };
    *reading = None;
    ctx.request_repaint();
    Some(answer)
}

fn read(place: &PastJobs, wanted: Wanted) -> Result<Told, PastError> {
    if let Wanted::Care(care) = wanted {
        return past_care::carry_out(place, care);
    }
    let Some(archive) = open(place)? else { return Ok(none(wanted)) };
    Ok(match wanted {
        Wanted::Jobs { words, filter } => jobs(&archive, &words, &filter)?,
        Wanted::Replay(job) => {
            let replay = Replay::of(&archive.job(&job.uid)?);
            Told::Replay(job, replay)
        }
        Wanted::Figures { filter, by } => {
            let (total, span) = (archive.how_many(&filter)?, archive.span(&filter)?);
            Told::Figures(figures(&archive, &filter, by)?, held(total, span))
        }
        Wanted::Csv { path, figure } => write(path, &csv(&figure))?,
        Wanted::Report { path, filter, by, mut facts } => {
            facts.insert(0, ("jobs", archive.how_many(&filter)?.to_string()));
            let page = report(&archive, &filter, by, facts)?;
            write(path, &page)?
        }
        Wanted::Care(care) => past_care::carry_out(place, care)?,
    })
}

/// Opens the archive, which only looking at does not make.
fn open(place: &PastJobs) -> Result<Option<Archive>, PastError> {
    if place.file()?.exists() { place.open().map(Some) } else { Ok(None) }
}

/// Returns what is told where there is no archive yet.
fn none(wanted: Wanted) -> Told {
    match wanted {
        Wanted::Figures { .. } => Told::Figures(Vec::new(), String::new()),
        _ => Told::Jobs(Listing::default()),
    }
}

fn jobs(archive: &Archive, words: &str, filter: &Filter) -> Result<Told, ArchiveError> {
    if words.trim().is_empty() {
        let found = archive.jobs(filter, Order::Newest, Page { start: 0, size: MOST })?;
        let total = archive.how_many(filter)?;
        let jobs: Vec<FoundJob> = found.into_iter().map(|job| (job, None)).collect();
        return listing(archive, jobs, total, archive.span(filter)?);
    }
    let numbered = numbered(archive, words.trim())?;
    let (hits, total) = archive.find(words, filter, MOST)?;
    let is_new = |job: &&Summary| !hits.iter().any(|hit| hit.job.uid == job.uid);
    let more = u32::try_from(numbered.iter().filter(is_new).count()).unwrap_or(u32::MAX);
    let others: Vec<FoundJob> = hits
        .into_iter()
        .filter(|hit| !numbered.iter().any(|job| job.uid == hit.job.uid))
        .map(|hit| (hit.job, Some(hit.around)))
        .collect();
    let found = numbered.into_iter().map(|job| (job, None)).chain(others);
    let (jobs, total): (Vec<FoundJob>, u32) =
        (found.take(MOST as usize).collect(), total.saturating_add(more));
    let opened = || jobs.iter().map(|(job, _)| job.opened_at.clone());
    let span = opened().min().zip(opened().max()).filter(|_| total <= MOST);
    listing(archive, jobs, total, span)
}

fn listing(
    archive: &Archive,
    jobs: Vec<FoundJob>,
    total: u32,
    span: Option<(String, String)>,
) -> Result<Told, ArchiveError> {
    let (held, technicians) = (held(total, span), archive.technicians()?);
    Ok(Told::Jobs(Listing { jobs, total, held, technicians }))
}

/// Returns how many jobs there are, and from which month to which: `120 jobs, 2016-01 to 2025-12`.
fn held(total: u32, span: Option<(String, String)>) -> String {
    let jobs = if total == 1 { "job" } else { "jobs" };
    let month = |moment: &str| moment.get(..7).unwrap_or(moment).to_owned();
    let span = span.map(|(first, last)| (month(&first), month(&last)));
    let span = span.map_or_else(String::new, |(first, last)| match first == last {
        true => format!(", {first}"),
        false => format!(", {first} to {last}"),
    });
    format!("{total} {jobs}{span}")
}

/// Returns the jobs whose number begins like this, when it looks like one; whoever types a number means that job,
/// whatever else is asked for.
fn numbered(archive: &Archive, number: &str) -> Result<Vec<Summary>, ArchiveError> {
    let letter = |c: char| c.is_ascii_alphanumeric() || c == '-';
    let digits = number.chars().take_while(char::is_ascii_digit).count();
    // A year or a month is no number of a job: it would let all jobs of that time past the limits.
    if digits < 8 || !number.chars().all(letter) {
        return Ok(Vec::new());
    }
    archive.beginning(number, MOST)?.iter().map(|uid| archive.summary(uid)).collect()
}

fn figures(archive: &Archive, filter: &Filter, by: By) -> Result<Vec<Figure>, ArchiveError> {
    Chart::ALL.into_iter().map(|chart| Figure::seen(archive, chart, filter, by)).collect()
}

/// Writes a file that is not there yet, as the shell does.
fn write(path: PathBuf, text: &str) -> Result<Told, PastError> {
    write_new(&path, text.as_bytes())?;
    Ok(Told::Written(path))
}
