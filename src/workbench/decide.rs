//! What a command leads to.

use super::engine::EngineError;
use super::situation::{CANNOT_TELL, TreeState};
use super::{
    Ask, Command, ProofView, Stage, StepView, Workbench, WorkbenchError, cautions, flexed, found, paper,
    proof, stage, suspects, tone,
};
use crate::advisor;
use crate::circuit::{OwnValue, Part, PartKind, own_value};
use crate::job::{Band, Event, Job, Outcome, ReadingId, Record, Speaker, Standing, Taken};
use crate::readings::{Dial, Measurement, Reading, Shown, Symptom, parse_entry, symptoms_in};
use crate::source::{Source, advice};
use crate::trees::{self, Feature, Tree};
use crate::units::{Celsius, Ohms, copper_at_20};

/// What the text of a tree that is to be used is called in messages: a command does not say from which file it is.
pub const USED_TREE: &str = "the tree";

type Decided = Result<Vec<Event>, WorkbenchError>;

/// Returns the events a command leads to.
pub(super) fn decide(bench: &Workbench, command: &Command) -> Decided {
    still_open(bench, command)?;
    match command {
        Command::Record { text, measurement } => record(bench, text, measurement.as_ref()),
        Command::Know { part, text, celsius } => know(bench, part, text, *celsius),
        Command::Answer { answer } => answered(bench, *answer),
        Command::Correct { id, text } => correct(bench, *id, text),
        Command::Withdraw { id, reason } => withdraw(bench, *id, reason),
        Command::Skip { reason } => skip(bench, reason),
        Command::Choose { alternative } => choose(bench, *alternative),
        Command::TakeAgain { id } => take_again(bench, *id),
        Command::UseTree { text } => use_tree(bench, text),
        Command::SetAccess(access) => Ok(vec![Event::AccessChanged { access: *access }]),
        Command::SeeCaution { key } => see(key),
        Command::Conclude { faults } => conclude(bench, faults),
        Command::Repair { what, minutes } => repair(bench, what, *minutes),
        Command::Prove { index, text } => prove(bench, *index, text),
        Command::SearchOn { remains, symptoms } => search_on(bench, remains, symptoms),
        Command::Close(outcome) => close(bench, outcome),
        Command::Undo if bench.job.can_undo() => Ok(vec![Event::Undone]),
        Command::Undo => Err(WorkbenchError::Nothing("undo")),
        Command::Redo if bench.job.can_redo() => Ok(vec![Event::Redone]),
        Command::Redo => Err(WorkbenchError::Nothing("redo")),
        Command::Estimate(estimate) => paper::estimated(estimate),
        Command::Authorise { by, how, ceiling, currency } => {
            paper::authorised(bench.job.paper(), by, *how, *ceiling, currency)
        }
        Command::Bill { lines, currency } => paper::billed(bench.job.paper(), lines, currency),
        Command::AddPhoto { file, checksum, size, caption, print } => {
            let (file, checksum, caption) = (file.clone(), checksum.clone(), caption.trim().to_owned());
            Ok(vec![Event::PhotoAdded { file, checksum, size: *size, caption, print: *print }])
        }
        Command::LinkWarranty { job, opened, why } => paper::linked(job, opened, why),
    }
}

fn know(bench: &Workbench, name: &str, text: &str, celsius: f64) -> Decided {
    let parts = &bench.engine.harness().parts;
    let part = parts.iter().find(|part| part.name.eq_ignore_ascii_case(name));
    let read = part.and_then(|part| Some((part, own_value(&part.kind, text)?)));
    let (part, read) = read.ok_or_else(|| no_own_value(parts, name))?;
    let value = read.map_err(|e| WorkbenchError::Known { because: e.message, hint: e.hint })?;
    let (dial, value) = match value {
        OwnValue::Ohms(ohms) if matches!(part.kind, PartKind::Coil { .. }) => {
            (Dial::Ohms, copper_at_20(ohms, Celsius::new(celsius)).get())
        }
        OwnValue::Ohms(ohms) => (Dial::Ohms, ohms.get()),
        OwnValue::Farads(farads) => (Dial::Farads, farads.get()),
    };
    Ok(vec![Event::Known { part: part.name.clone(), typed: text.to_owned(), ohms: Ohms::new(value), dial }])
}

fn no_own_value(parts: &[Part], name: &str) -> WorkbenchError {
    let has = |part: &&Part| own_value(&part.kind, "").is_some();
    let names: Vec<&str> = parts.iter().filter(has).map(|part| part.name.as_str()).collect();
    WorkbenchError::Known {
        because: format!("\"{name}\" is no part whose value can be known"),
        hint: advice(name, &names, "they are", '"'),
    }
}

fn refused(doing: &'static str, because: &str) -> WorkbenchError {
    WorkbenchError::Stage { doing, because: because.to_owned() }
}

/// Refuses everything on a closed job but taking the closing back.
fn still_open(bench: &Workbench, command: &Command) -> Result<(), WorkbenchError> {
    match (stage(&bench.job), command) {
        (Stage::Closed, Command::Undo | Command::Redo | Command::Close(_)) => Ok(()),
        (Stage::Closed, command) if paper::after_closing(command) => Ok(()),
        (Stage::Closed, _) => Err(refused("changing the job", "it is closed; undo the closing first")),
        _ => Ok(()),
    }
}

fn finding(bench: &Workbench, doing: &'static str) -> Result<(), WorkbenchError> {
    match stage(&bench.job) {
        Stage::Finding => Ok(()),
        _ => Err(refused(doing, "the fault has been named; undo that first")),
    }
}

/// Returns the measurement that is asked for, and who asks for it.
fn asked(bench: &Workbench) -> Option<(Measurement, Speaker)> {
    let step = bench.view.reading_asked()?;
    match &step.ask {
        Ask::Measure(measurement) => Some((measurement.clone(), step.speaker)),
        Ask::Question { .. } => None,
    }
}

fn record(bench: &Workbench, text: &str, measurement: Option<&Measurement>) -> Decided {
    finding(bench, "recording a reading")?;
    let asked = asked(bench);
    let (measurement, asked_by) = match (measurement, asked) {
        (Some(own), Some((asked, speaker))) if *own == asked => (asked, speaker),
        (Some(own), _) => (own.clone(), Speaker::Technician),
        (None, Some(asked)) => asked,
        (None, None) => return Err(WorkbenchError::NothingAsked),
    };
    let healthy = bench.engine.healthy(&measurement)?;
    let seconds = advisor::seconds(bench.engine.harness(), &measurement, &bench.situation.stand);
    let reading = read(&measurement, text)?;
    two_ends(&reading, &healthy, flexed::still_reading(&bench.job, &measurement))?;
    let id = bench.job.next_reading_id();
    let event = |leaders| Event::Read { id, reading: reading.clone(), asked_by, healthy, leaders, seconds };
    let mut events: Vec<Event> = bench
        .engine
        .unopened(&measurement, &bench.situation.stand.opened)
        .into_iter()
        .map(|place| Event::Opened { place })
        .collect();
    let leaders = foreseen(bench, event(Vec::new()))?;
    events.push(event(leaders));
    Ok(events)
}

fn read(measurement: &Measurement, text: &str) -> Result<Reading, WorkbenchError> {
    let shown =
        parse_entry(text, measurement.mode, measurement.flex.is_some()).map_err(WorkbenchError::Entry)?;
    Ok(Reading { measurement: measurement.clone(), typed: text.to_owned(), shown })
}

/// Asks for both ends where one value does not tell what happened while something was moved.
fn two_ends(reading: &Reading, healthy: &Band, still: Option<&Shown>) -> Result<(), WorkbenchError> {
    flexed::one_end(reading, healthy, still).map_or(Ok(()), |question| Err(WorkbenchError::Entry(question)))
}

/// Returns how the suspects stand once an event is part of the job.
fn foreseen(bench: &Workbench, event: Event) -> Result<Vec<Standing>, WorkbenchError> {
    let mut job: Job = bench.job.clone();
    job.push(Record { at: String::new(), event })?;
    let (engine, situation) = bench.foreseen(&job)?;
    Ok(suspects::standings(&engine, &situation))
}

fn answered(bench: &Workbench, answer: usize) -> Decided {
    finding(bench, "answering a question")?;
    let Some(StepView { ask: Ask::Question { answers }, headline, .. }) = &bench.view.step else {
        return Err(refused("answering a question", "a reading is asked for, not an answer"));
    };
    let chosen = answers.get(answer).ok_or(WorkbenchError::OutOfRange {
        what: "answer",
        number: answer + 1,
        count: answers.len(),
    })?;
    Ok(answer_event(bench, headline, chosen).into_iter().collect())
}

fn answer_event(bench: &Workbench, question: &str, answer: &str) -> Option<Event> {
    let TreeState::At(tree, step) = &bench.situation.tree else { return None };
    Some(Event::Answered {
        tree: bench.engine.trees[*tree].tree().name.clone(),
        step: step.clone(),
        question: question.to_owned(),
        answer: answer.to_owned(),
    })
}

fn live(bench: &Workbench, id: ReadingId) -> Result<&Taken, WorkbenchError> {
    bench.job.live_readings().find(|taken| taken.id == id).ok_or(WorkbenchError::Reading(id))
}

fn correct(bench: &Workbench, id: ReadingId, text: &str) -> Decided {
    let taken = live(bench, id)?;
    let (reading, healthy) = (read(&taken.reading.measurement, text)?, taken.healthy);
    two_ends(&reading, &healthy, flexed::still_reading(&bench.job, &reading.measurement))?;
    let event = |leaders| Event::Corrected { id, reading: reading.clone(), healthy, leaders };
    let leaders = foreseen(bench, event(Vec::new()))?;
    Ok(vec![event(leaders)])
}

fn withdraw(bench: &Workbench, id: ReadingId, reason: &str) -> Decided {
    live(bench, id)?;
    let event = |leaders| Event::Withdrawn { id, reason: reason.to_owned(), leaders };
    let leaders = foreseen(bench, event(Vec::new()))?;
    Ok(vec![event(leaders)])
}

fn skip(bench: &Workbench, reason: &str) -> Decided {
    finding(bench, "skipping a step")?;
    match &bench.view.step {
        Some(StepView { ask: Ask::Measure(measurement), .. }) => {
            Ok(vec![Event::Skipped { measurement: measurement.clone(), reason: reason.to_owned() }])
        }
        Some(step) => Ok(answer_event(bench, &step.headline, CANNOT_TELL).into_iter().collect()),
        None => Err(WorkbenchError::NothingAsked),
    }
}

fn choose(bench: &Workbench, alternative: usize) -> Decided {
    finding(bench, "choosing another step")?;
    match bench.view.alternatives.get(alternative).map(|step| &step.ask) {
        Some(Ask::Measure(measurement)) => Ok(vec![Event::Chosen { measurement: measurement.clone() }]),
        _ => Err(WorkbenchError::OutOfRange {
            what: "alternative",
            number: alternative + 1,
            count: bench.view.alternatives.len(),
        }),
    }
}

fn take_again(bench: &Workbench, id: ReadingId) -> Decided {
    finding(bench, "taking a reading again")?;
    Ok(vec![Event::Chosen { measurement: live(bench, id)?.reading.measurement.clone() }])
}

fn use_tree(bench: &Workbench, text: &str) -> Decided {
    let doing = "using another tree";
    finding(bench, doing)?;
    let located = |wrong| EngineError::Tree(vec![wrong]);
    let tree = trees::load(&Source::new(USED_TREE, text)).map_err(located)?;
    if !tree.is_for_wiring(&bench.engine.harness().name) {
        return Err(refused(doing, &only_for(&tree)));
    }
    if let Some(feature) = tree.lacking(bench.engine.harness()) {
        return Err(refused(doing, &only_with(&tree, feature)));
    }
    bench.engine.with_trees(std::slice::from_ref(&tree))?;
    Ok(vec![Event::TreeUsed { tree: tree.name, text: text.to_owned() }])
}

/// Returns for which wirings a tree is, and what to do with this one.
fn only_for(tree: &Tree) -> String {
    let usual = "use a tree that is for this guitar, or add this wiring to the file's `wirings` if it serves here too";
    let hint = tree.elsewhere.as_deref().unwrap_or(usual);
    format!("it is only for the wiring {}\n  hint: {hint}", tree.wirings.join(" or "))
}

/// Returns for which guitars a tree is, and what to do with this one.
fn only_with(tree: &Tree, lacking: Feature) -> String {
    let usual = "use a tree that is for this guitar, or take the feature out of the file's `only` if it serves here too";
    let hint = tree.elsewhere.as_deref().unwrap_or(usual);
    format!("it is only for guitars with {}\n  hint: {hint}", lacking.words())
}

fn see(key: &str) -> Decided {
    let caution = cautions::caution(key).ok_or_else(|| WorkbenchError::Stage {
        doing: "acknowledging a caution",
        because: format!("no caution is called \"{key}\""),
    })?;
    Ok(vec![Event::CautionSeen { key: caution.key, text: caution.text }])
}

fn conclude(bench: &Workbench, faults: &[String]) -> Decided {
    if stage(&bench.job) == Stage::Closed {
        return Err(refused("naming the fault", "the job is closed"));
    }
    let engine = &bench.engine;
    let first = faults.first().ok_or(WorkbenchError::Empty { what: "the list of faults" })?;
    let all = bench.situation.belief.fault_probabilities(&engine.model);
    let mut probability = 0.0;
    for id in faults {
        engine.fault(id)?;
        probability += engine.model.catalogue.find(id).map_or(0.0, |fault| all[fault.0]);
    }
    let known = suspects::ranked(engine, &bench.situation).into_iter().find(|ranked| {
        let ids: Vec<&str> =
            ranked.faults.iter().map(|(f, _)| engine.model.catalogue[*f].id.as_str()).collect();
        ids.len() == faults.len() && faults.iter().all(|id| ids.contains(&id.as_str()))
    });
    let fault = engine.fault(first)?;
    let id = engine.model.catalogue.find(first);
    let tone = id.map(|id| tone::of_fault(engine, &bench.situation, id)).transpose()?.flatten();
    Ok(vec![Event::Concluded {
        faults: faults.to_vec(),
        sentence: known.map_or_else(|| fault.sentence.clone(), |ranked| suspects::sentence(engine, &ranked)),
        probability,
        repair: fault.repair.text.clone(),
        minutes: f64::from(fault.repair.minutes),
        tone: tone.map(Box::new),
        found: found::sentences(engine, &bench.situation),
    }])
}

/// The longest repair in minutes: 24 hours of work.
const DAY: f64 = 1440.0;

fn too_long(minutes: f64) -> String {
    format!(
        "it cannot take {minutes} minutes; allowed are 0 to {DAY}, which is 24 hours\n  hint: give the minutes of work, \
         not the time that it lay on the bench"
    )
}

fn repair(bench: &Workbench, what: &str, minutes: f64) -> Decided {
    match stage(&bench.job) {
        Stage::Repairing | Stage::Proving if what.trim().is_empty() => {
            Err(WorkbenchError::Empty { what: "what was done" })
        }
        Stage::Repairing | Stage::Proving if !(0.0..=DAY).contains(&minutes) => {
            Err(refused("recording the repair", &too_long(minutes)))
        }
        Stage::Repairing | Stage::Proving => Ok(vec![Event::Repaired { what: what.to_owned(), minutes }]),
        Stage::Finding => Err(refused("recording the repair", "the fault has not been named yet")),
        Stage::Closed => Err(refused("recording the repair", "the job is closed")),
    }
}

fn prove(bench: &Workbench, index: Option<usize>, text: &str) -> Decided {
    if stage(&bench.job) != Stage::Proving {
        return Err(refused(
            "recording a proof reading",
            "the repair has not been recorded yet, or the job is closed",
        ));
    }
    let list = &bench.view.proof;
    let next = index.map_or_else(|| unproven(list), Ok)?;
    let proof = list.get(next).ok_or(WorkbenchError::OutOfRange {
        what: "proof reading",
        number: next + 1,
        count: list.len(),
    })?;
    let reading = read(&proof.measurement, text)?;
    let shown = flexed_pair(reading.shown, proof.measurement.flex.is_some());
    let healthy: Band = proof.band;
    two_ends(&reading, &healthy, flexed::still_proof(&bench.job, &proof.measurement))?;
    Ok(vec![Event::Proved { passed: proof::within(&shown, &healthy), reading, healthy }])
}

/// Returns the proof reading that comes next: one that was taken is taken again only when it is named.
fn unproven(list: &[ProofView]) -> Result<usize, WorkbenchError> {
    let first = |passed: Option<bool>| list.iter().position(|proof| proof.passed == passed);
    let left = match first(Some(false)) {
        Some(failed) => format!("all are taken, but {} is outside its band", failed + 1),
        None => "all have passed, nothing is left to prove".to_owned(),
    };
    let because = format!("{left}; give the number of one to take it again");
    first(None).ok_or_else(|| refused("recording a proof reading", &because))
}

fn search_on(bench: &Workbench, remains: &str, symptoms: &[Symptom]) -> Decided {
    if stage(&bench.job) != Stage::Proving {
        return Err(refused("searching on", "no repair has been recorded since the fault was named"));
    }
    let (remains, symptoms) = (remains.trim().to_owned(), meant(remains, symptoms)?);
    if symptoms.is_empty() && bench.job.proofs().iter().all(|proof| proof.passed) {
        return Err(refused("searching on", NOTHING_REMAINS));
    }
    let event = |leaders| Event::SearchedOn { remains: remains.clone(), symptoms: symptoms.clone(), leaders };
    let leaders = foreseen(bench, event(Vec::new()))?;
    Ok(vec![event(leaders)])
}

const NOTHING_REMAINS: &str = "nothing says that the repair did not cure\n  hint: say what is still wrong, or take the \
                               proof reading that fails";

/// Returns what still is wrong: as it was given, or as the words say.
fn meant(remains: &str, symptoms: &[Symptom]) -> Result<Vec<Symptom>, WorkbenchError> {
    let heard = if symptoms.is_empty() { symptoms_in(remains) } else { symptoms.to_vec() };
    if heard.is_empty() && !remains.trim().is_empty() {
        let names = Symptom::ALL.map(Symptom::name).join(", ");
        let because =
            format!("cannot tell what \"{remains}\" means\n  hint: use one of these words: {names}");
        return Err(refused("searching on", &because));
    }
    Ok(heard)
}

/// A flexed reading typed as one value did not move.
fn flexed_pair(shown: Shown, flexed: bool) -> Shown {
    match shown {
        Shown::Steady(level) if flexed => Shown::Range { low: level, high: level },
        other => other,
    }
}

fn close(bench: &Workbench, outcome: &Outcome) -> Decided {
    let stop = |because: String| Err(WorkbenchError::Stage { doing: "closing the job", because });
    match (stage(&bench.job), outcome) {
        (Stage::Closed, _) => stop("it is closed already".to_owned()),
        (_, Outcome::Unproven { reason }) if reason.trim().is_empty() => {
            Err(WorkbenchError::Empty { what: "the reason" })
        }
        (_, Outcome::Unproven { .. }) => Ok(vec![Event::Closed { outcome: outcome.clone() }]),
        (Stage::Proving, Outcome::Cured) => {
            let open = bench.view.proof.iter().filter(|proof| proof.passed != Some(true)).count();
            if open == 0 {
                return Ok(vec![Event::Closed { outcome: Outcome::Cured }]);
            }
            stop(format!(
                "{open} of {} proof readings are missing or outside their band; take them, or close it as unproven with a reason",
                bench.view.proof.len()
            ))
        }
        (_, Outcome::Cured) => {
            stop("cured needs a named fault, a repair and its proof readings; close it as unproven with a reason otherwise".to_owned())
        }
    }
}
