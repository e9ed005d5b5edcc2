//! `past`: past jobs, listed, searched, told and replayed.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::failure::Failure;
use super::past_args::{Listed, Past, PastVerb};
use super::plain::{counted, plain, short};
use super::reply::{Answer, Reply, columns};
use super::{past_figures, past_files, past_replay};
use crate::archive::{Archive, ArchiveError, Ending, Filter, Order, Page, Summary};
use crate::session::{PastError, PastJobs};
use crate::units::{Money, show_money, show_percent};

impl From<ArchiveError> for Failure {
    fn from(error: ArchiveError) -> Self {
        match error {
            ArchiveError::Line(located) => located.into(),
            other => Self::told(&other),
        }
    }
}

impl From<PastError> for Failure {
    fn from(error: PastError) -> Self {
        match error {
            PastError::Archive(error) => error.into(),
            PastError::Setting(located) => located.into(),
            other => Self::told(&other),
        }
    }
}

/// Carries out one command on past jobs.
pub(super) fn past(past: &Past) -> Answer {
    let place = PastJobs::usual();
    match &past.verb {
        None => list(&place, &past.list),
        Some(PastVerb::Show { uid }) => show(&place, uid),
        Some(PastVerb::Replay { uid, step, from_start }) => {
            past_replay::replay(&place, uid, *step, *from_start)
        }
        Some(PastVerb::Figures(asked)) => past_figures::figures(&place, asked),
        Some(PastVerb::Report { output, by, which }) => past_figures::page(&place, output, *by, which),
        Some(PastVerb::Learnt { on, off, wiring }) => {
            past_figures::learnt(&place, (*on, *off), wiring.as_deref())
        }
        Some(verb) => past_files::files(&place, verb),
    }
}

fn list(place: &PastJobs, asked: &Listed) -> Answer {
    let archive = place.open()?;
    let filter = asked.which.filter()?;
    let (found, total): (Vec<FoundJob>, u32) = if asked.words.is_empty() {
        let page = Page { start: 0, size: asked.limit };
        let jobs = archive.jobs(&filter, Order::Newest, page)?;
        (jobs.into_iter().map(|job| (job, None)).collect(), archive.how_many(&filter)?)
    } else {
        searched(&archive, &asked.words.join(" "), &filter, asked.limit)?
    };
    let file = archive.path().display().to_string();
    let jobs: Vec<Value> = found.iter().map(as_json).collect();
    let text = match found.is_empty() {
        true => nothing(asked, archive.how_many(&Filter::default())?, &file),
        false => listed(&found, total),
    };
    let damaged = archive.not_listed()?;
    let json = json!({"archive": file, "total": total, "jobs": jobs, "damaged": damaged});
    Ok(Reply { notes: left_out(damaged), ..Reply::new(text, json) })
}

/// Says how many jobs are in no list and in no figure.
pub(super) fn left_out(damaged: u32) -> Vec<String> {
    let told = |jobs| format!("{jobs} left out: `lugwise past check` says which, and what mends it");
    (damaged > 0).then(|| told(counted(damaged.into(), "damaged job"))).into_iter().collect()
}

/// A job, and the words around the place where it was found.
type FoundJob = (Summary, Option<String>);

fn searched(
    archive: &Archive,
    words: &str,
    filter: &Filter,
    limit: u32,
) -> Result<(Vec<FoundJob>, u32), Failure> {
    let (hits, total) = archive.find(words, filter, limit)?;
    Ok((hits.into_iter().map(|hit| (hit.job, Some(hit.around))).collect(), total))
}

fn as_json((job, around): &FoundJob) -> Value {
    let mut value = json!(job);
    if let Some(around) = around {
        value["around"] = json!(around);
    }
    value
}

/// Says what was looked for, among how many jobs, and what to try instead.
fn nothing(asked: &Listed, all: u32, file: &str) -> String {
    if all == 0 {
        let hint =
            "each job that is opened is kept by itself; `lugwise past import` takes older job files in";
        return format!("no past jobs yet in {file}\n  hint: {hint}");
    }
    let words = (!asked.words.is_empty()).then(|| format!("\"{}\"", short(&asked.words.join(" "), 100)));
    let limits = asked.which.facts().into_iter().map(|(name, value)| match name {
        "came-back" | "renamed" => format!("--{name}"),
        _ => format!("--{name} {}", short(&value, 40)),
    });
    let sought: Vec<String> = words.into_iter().chain(limits).collect();
    let jobs = counted(all.into(), "job");
    let hint =
        "give fewer words, only the beginning of the last one, or fewer limits; `lugwise past` lists all";
    format!("no job with {}; {jobs} looked through in {file}\n  hint: {hint}", sought.join(" and "))
}

fn listed(found: &[FoundJob], total: u32) -> String {
    let searched = found.iter().any(|(_, around)| around.is_some());
    let head = ["name", "opened", "ending", "wiring", "instrument", "customer", "found"];
    let head = head.into_iter().chain(searched.then_some("where the words stand"));
    let mut rows = vec![head.map(str::to_owned).collect::<Vec<_>>()];
    rows.extend(found.iter().map(|(job, around)| {
        row(job).into_iter().chain(around.as_deref().map(|around| short(around, 100))).collect()
    }));
    let more = (total as usize).saturating_sub(found.len());
    let more = if more > 0 { format!("\nand {more} more: `--limit N` shows them") } else { String::new() };
    format!("{}\n{}{more}", columns(&rows), counted(total.into(), "job"))
}

fn row(job: &Summary) -> Vec<String> {
    let found = job.last.as_ref().map_or_else(String::new, |named| short(named.words(), 60));
    vec![
        plain(&job.uid),
        day(&job.opened_at),
        job.ending.name().to_owned(),
        short(&job.wiring, 24),
        short(&job.instrument, 28),
        short(&job.customer, 20),
        found,
    ]
}

/// Returns the day of a moment, such as `2026-03-02`.
fn day(moment: &str) -> String {
    plain(moment).chars().take(10).collect()
}

/// So many names are told when several jobs may be meant.
const TOLD: u32 = 8;

/// Returns the whole name of the job that a person means: its name or the beginning of only one.
pub(super) fn named(archive: &Archive, asked: &str) -> Result<String, Failure> {
    if archive.events(asked)? > 0 {
        return Ok(asked.to_owned());
    }
    let begins = if asked.is_empty() { Vec::new() } else { archive.beginning(asked, TOLD + 1)? };
    match begins.as_slice() {
        [one] => Ok(one.clone()),
        [] => Err(Failure::new(format!("the archive has no job {}", plain(asked)))
            .with_hint("`lugwise past` lists the jobs with their names")),
        many => {
            let names: Vec<String> = many.iter().take(TOLD as usize).map(|uid| plain(uid)).collect();
            let more = if many.len() > names.len() { "more than " } else { "" };
            Err(Failure::new(format!("{more}{} jobs begin with {}", names.len(), plain(asked)))
                .with_hint(format!("give more of the name: {}", names.join(", "))))
        }
    }
}

fn show(place: &PastJobs, uid: &str) -> Answer {
    let archive = place.open()?;
    let job = archive.summary(&named(&archive, uid)?)?;
    Ok(Reply::new(shown(&job), json!(job)))
}

fn shown(job: &Summary) -> String {
    let named = |which: &Option<crate::archive::Named>| {
        which.as_ref().map(|named| {
            let chance = show_percent(named.probability);
            format!("{} ({chance}; {})", short(named.words(), 400), plain(&named.fault))
        })
    };
    let text = |text: &str| Some(short(text, 400)).filter(|text| !text.is_empty());
    let maybe = |value: &Option<String>| value.as_deref().and_then(text);
    let first = named(&job.first).filter(|_| job.renamed);
    let rows = [
        ("job", text(&job.uid)),
        ("instrument", text(&job.instrument)),
        ("customer", text(&job.customer)),
        ("wiring", text(&job.wiring)),
        ("complaint", text(&job.complaint)),
        ("understood as", text(&job.symptoms.join(", "))),
        ("technician", text(&job.technician)),
        ("opened", text(&job.opened_at)),
        ("closed", maybe(&job.closed_at)),
        ("ending", Some(ending(job))),
        ("found", named(&job.last)),
        ("named first", first),
        ("readings", Some(format!("{}, {} skipped", job.readings, job.skipped))),
        ("repairs that did not cure", Some(job.rounds.to_string()).filter(|_| job.rounds > 0)),
        (
            "minutes",
            Some(format!("{:.0} of search, {:.0} of repair", job.search_minutes, job.repair_minutes)),
        ),
        ("price", job.price.map(|price| show_money(Money::hundredths(price)))),
        ("under warranty of", maybe(&job.warranty_of)),
        ("departs from", maybe(&job.diverged_from)),
        ("customer taken out", maybe(&job.removed_at)),
    ];
    let told = rows.into_iter().filter_map(|(name, words)| Some(vec![name.to_owned(), words?]));
    let next = format!("step by step: lugwise past replay {}", plain(&job.uid));
    format!("{}\n{next}", columns(&told.collect::<Vec<_>>()))
}

fn ending(job: &Summary) -> String {
    match (job.ending, short(&job.reason, 200)) {
        (Ending::Unproven, reason) if !reason.is_empty() => format!("unproven: {reason}"),
        (ending, _) => ending.name().to_owned(),
    }
}

/// Returns facts as a JSON object.
pub(super) fn object(facts: &[(&'static str, String)]) -> Value {
    json!(facts.iter().map(|(name, value)| (*name, value.as_str())).collect::<BTreeMap<_, _>>())
}
