//! The commands of a job, from intake to ticket.

use std::collections::BTreeSet;
use std::path::Path;

use serde_json::json;

use super::args::{Closing, Instead, Start};
use super::engine;
use super::failure::Failure;
use super::measure;
use super::paper_args::TicketWish;
use super::plain::plain;
use super::priors;
use super::reply::{Answer, Reply, put};
use super::step::{script, state};
use super::wirings;
use crate::archive::JobFile;
use crate::circuit::Harness;
use crate::job::{Event, Intake, Outcome};
use crate::readings::{Level, Measurement, Meter, Symptom, symptoms_in};
use crate::session::{Form, KnownBefore, OwnTrees, PastJobs, is_pdf};
use crate::source::Source;
use crate::ticket::{TicketCopy, missing_said};
use crate::units::{Celsius, parse_celsius};
use crate::workbench::{Ask, Command, LEFT_OUT, View};

/// Opens a job for an instrument that came in.
pub(super) fn start(start: &Start) -> Answer {
    let mut intake = intake(start)?;
    let (texts, wrong) = OwnTrees::usual().texts();
    intake.trees_text = texts;
    let before = PastJobs::usual().prepare(&mut intake);
    let mut view = engine::start(&start.output, intake)?;
    OwnTrees::usual().name_files(&mut view.notices);
    view.notices.extend(before.known.iter().map(|known| offered(known, &start.output)));
    view.notices.extend(before.notices);
    view.notices.extend(wrong.iter().map(|wrong| format!("{LEFT_OUT}: {wrong}")));
    Ok(state(&view))
}

/// Offers a value that an earlier job of the same instrument has found.
fn offered(known: &KnownBefore, job: &Path) -> String {
    let (day, title, part) = (plain(known.day()), plain(&known.title), plain(&known.part));
    let (job, value) = (job.display(), Level::of(known.dial, known.value, 0.0).words());
    format!("Known from {day}: {title} {value}; add it with `lugwise know {job} {part} \"{value}\"`")
}

fn intake(start: &Start) -> Result<Intake, Failure> {
    let wiring = wirings::find(&start.wiring)?;
    Ok(Intake {
        wiring: wiring.harness.name,
        wiring_text: wiring.source.text,
        priors_text: priors::text(start.priors.as_deref())?,
        trees_text: Vec::new(),
        instrument: start.instrument.clone(),
        customer: start.customer.clone(),
        complaint: start.complaint.clone(),
        symptoms: symptoms(start)?,
        last_done: start.last_done.clone(),
        access: start.access,
        meter: meter(start.meter.as_deref())?,
        technician: start.technician.clone(),
    })
}

fn symptoms(start: &Start) -> Result<Vec<Symptom>, Failure> {
    if start.complaint.trim().is_empty() {
        return Err(Failure::new("the complaint is empty").with_hint("write it as the customer said it"));
    }
    let mut symptoms = start.symptoms.clone();
    if symptoms.is_empty() {
        symptoms = symptoms_in(&start.complaint);
    }
    if symptoms.is_empty() {
        let names = Symptom::ALL.map(Symptom::name).join(", ");
        return Err(Failure::new(format!("cannot tell what \"{}\" means", start.complaint))
            .with_hint(format!("say it with --symptom: {names}")));
    }
    Ok(symptoms)
}

fn meter(name: Option<&str>) -> Result<String, Failure> {
    meter_class(name).map(|meter| meter.name.to_owned())
}

/// Returns the class of meter of this name; the ordinary one when none is named.
pub(super) fn meter_class(name: Option<&str>) -> Result<&'static Meter, Failure> {
    let name = name.unwrap_or(Meter::ordinary().name);
    let unknown = || {
        let names = Meter::all().iter().map(|m| m.name).collect::<Vec<_>>().join(", ");
        Failure::new(format!("cannot use the meter \"{name}\": there are {names}"))
    };
    Meter::named(name).ok_or_else(unknown)
}

/// Takes in a part's own value.
pub(super) fn know(job: &Path, part: &str, value: &str, at: Option<&str>) -> Answer {
    let warm = |text: &str| parse_celsius(text).map_err(|e| Failure::new(e.to_string()).with_hint(e.hint()));
    let celsius = at.map(warm).transpose()?.map_or(20.0, Celsius::get);
    apply(job, Command::Know { part: part.to_owned(), text: value.to_owned(), celsius })
}

/// Shows how a job stands, or only what is read out to a customer on the telephone. That trees of one's own do not fit was
/// told when it began.
pub(super) fn next(job: &Path, read_out: bool) -> Answer {
    let mut view = engine::look(job)?;
    view.notices.retain(|notice| !notice.starts_with(LEFT_OUT));
    Ok(if read_out { script(&view) } else { state(&view) })
}

/// Applies one command and shows how the job stands then.
pub(super) fn apply(job: &Path, command: Command) -> Answer {
    engine::apply(job, &command).map(|view| state(&view))
}

/// Takes the last step back or brings it back, and tells which.
pub(super) fn turn(job: &Path, command: &Command) -> Answer {
    let mut told = None;
    let mut view = engine::change(job, |session| {
        session.apply(command)?;
        told = session.told_of(command);
        Ok(())
    })?;
    if let Some(told) = told {
        view.notices.insert(0, told);
    }
    Ok(state(&view))
}

/// Records a reading, as it was asked for or as it was taken instead.
pub(super) fn record(job: &Path, text: &str, instead: &Instead) -> Answer {
    let measurement = if as_asked(instead) { None } else { Some(taken_instead(job, instead)?) };
    apply(job, Command::Record { text: text.to_owned(), measurement })
}

fn as_asked(instead: &Instead) -> bool {
    let Instead { red, black, mode, settings, flex, about, lifted } = instead;
    let names = [red, black, flex, about, lifted];
    names.into_iter().all(Option::is_none) && mode.is_none() && settings.is_empty()
}

fn taken_instead(job: &Path, instead: &Instead) -> Result<Measurement, Failure> {
    let view = engine::look(job)?;
    measure::instead(&harness_of(job)?, asked(&view), instead)
}

fn asked(view: &View) -> Option<&Measurement> {
    match &view.reading_asked()?.ask {
        Ask::Measure(measurement) => Some(measurement),
        Ask::Question { .. } => None,
    }
}

/// Returns the wiring that the job was started with, whatever has become of the wiring file.
fn harness_of(job: &Path) -> Result<Harness, Failure> {
    let (_, records, _) = JobFile::open(job).map_err(|error| Failure::told(&error))?;
    match records.into_iter().next().map(|record| record.event) {
        Some(Event::Started { intake, .. }) => {
            engine::read_wiring(&Source::new(intake.wiring, intake.wiring_text))
        }
        _ => Err(Failure::new(format!(
            "cannot go on with {}: it does not begin with an intake",
            job.display()
        ))),
    }
}

/// Names the fault: the verdict's when no suspect is given, a suspect by its number, or fault ids.
pub(super) fn conclude(job: &Path, suspect: Vec<String>) -> Answer {
    let faults = match suspect.as_slice() {
        [] => verdict_of(&engine::look(job)?)?,
        numbers if numbers.iter().all(|number| number.parse::<usize>().is_ok()) => {
            let view = engine::look(job)?;
            let each = numbers.iter().map(|number| suspect_of(&view, number));
            each.collect::<Result<Vec<_>, _>>()?.concat()
        }
        _ => suspect,
    };
    apply(job, Command::Conclude { faults })
}

fn verdict_of(view: &View) -> Result<Vec<String>, Failure> {
    view.verdict.as_ref().map(|verdict| verdict.faults.clone()).ok_or_else(|| {
        Failure::new("cannot conclude: there is no verdict yet")
            .with_hint("name a suspect by its number in the list, or give its fault ids")
    })
}

fn suspect_of(view: &View, number: &str) -> Result<Vec<String>, Failure> {
    let index = number.parse::<usize>().ok().and_then(|number| number.checked_sub(1));
    index.and_then(|index| view.suspects.get(index)).map(|suspect| suspect.faults.clone()).ok_or_else(|| {
        Failure::new(format!("cannot conclude suspect {number}: there are {}", view.suspects.len()))
    })
}

/// Closes a job.
pub(super) fn close(job: &Path, closing: Closing) -> Answer {
    let outcome = closing.unproven.map_or(Outcome::Cured, |reason| Outcome::Unproven { reason });
    apply(job, Command::Close(outcome))
}

/// Writes the ticket.
pub(super) fn ticket(wish: &TicketWish) -> Answer {
    let (bytes, missing) = match form(&wish.output, wish.format.as_deref())? {
        Some(_) if wish.copy.is_some() || wish.paper.is_some() => {
            return Err(Failure::new("only a PDF file has a copy and paper")
                .with_hint("end its name in .pdf, or leave --copy and --paper out"));
        }
        Some(form) => (engine::ticket(&wish.job, form, wish.looked.sight())?.into_bytes(), BTreeSet::new()),
        None => {
            let copy = wish.copy.unwrap_or(TicketCopy::Customer);
            let printed = engine::ticket_pdf(&wish.job, copy, wish.paper, wish.looked.sight())?;
            (printed.bytes, printed.missing)
        }
    };
    let file = wish.output.display().to_string();
    put(&wish.output, &bytes)?;
    let letters: String = missing.iter().collect();
    let json = json!({"file": file, "bytes": bytes.len(), "missing_letters": letters});
    let notes = missing_said(&missing).into_iter().collect();
    Ok(Reply { notes, ..Reply::new(format!("{file} written"), json) })
}

/// Returns what is to be written; `None` for PDF.
fn form(output: &Path, format: Option<&str>) -> Result<Option<Form>, Failure> {
    match format {
        Some("md") => return Ok(Some(Form::Markdown)),
        Some("html") => return Ok(Some(Form::Html)),
        Some(_) => return Ok(None),
        None if is_pdf(output) => return Ok(None),
        None => {}
    }
    Form::of(output).map(Some).ok_or_else(|| {
        Failure::new(format!("cannot tell what to write from the name \"{}\"", output.display()))
            .with_hint("end it in .md for Markdown, in .html for a web page or in .pdf to print")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_name_of_the_ticket_says_what_it_is() {
        let named = |name: &str| form(Path::new(name), None);
        assert_eq!(named("a/ticket.MD"), Ok(Some(Form::Markdown)));
        assert_eq!(named("ticket.html"), Ok(Some(Form::Html)));
        assert_eq!(named("ticket.PDF"), Ok(None));
        assert_eq!(form(Path::new("ticket"), Some("pdf")), Ok(None));
        let failure = named("ticket").err().map(|f| f.to_string()).unwrap_or_default();
        assert!(
            failure
                .ends_with("hint: end it in .md for Markdown, in .html for a web page or in .pdf to print"),
            "{failure}"
        );
    }

    #[test]
    fn an_unknown_meter_is_refused_with_the_list() {
        let failure = meter(Some("clever")).err().map(|f| f.to_string()).unwrap_or_default();
        assert!(failure.contains("\"clever\"") && failure.contains(Meter::ordinary().name), "{failure}");
        assert_eq!(meter(None), Ok(Meter::ordinary().name.to_owned()));
    }
}
