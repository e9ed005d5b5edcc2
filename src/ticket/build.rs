//! From a job to a ticket.

use super::along::along;
use super::rows::{
    Asked, Caution, Fault, Finding, Narrowing, NotDone, Outcome, Proof, Repair, Round, Sound, Suspect,
};
use super::{Papers, Ticket, TicketError, plain_words};
use crate::circuit::{self, Harness};
use crate::draw::{Marks, Plan, PlotLine, PlotStyle, Sight, Spot, hertz_in_words, plot};
use crate::job::{self, Band, Event, Job, ReadingId, Record, Speaker, Standing, Tone};
use crate::readings::{Access, Level, Meter, Mode, Reading, Shown, Symptom, echo};
use crate::source::Source;
use crate::units::{Hertz, Ohms, show_farads, show_ohms};

/// How many suspects are told at each step.
const LEADERS: usize = 3;

impl Ticket {
    /// Makes the ticket of a job, drawing the wiring that is kept in it.
    ///
    /// # Errors
    ///
    /// When the wiring text kept in the job cannot be read.
    pub fn from_job(job: &Job) -> Result<Self, TicketError> {
        Self::seen(job, Sight::default())
    }

    /// Makes the ticket of a job, drawing the wiring as it is looked at.
    ///
    /// # Errors
    ///
    /// When the wiring text kept in the job cannot be read.
    pub fn seen(job: &Job, sight: Sight) -> Result<Self, TicketError> {
        let intake = job.intake();
        let source = Source::new(intake.wiring.as_str(), intake.wiring_text.as_str());
        let harness = circuit::load(&source).map_err(|mistakes| TicketError::Wiring {
            wiring: intake.wiring.clone(),
            why: mistakes.first().map_or(String::new(), ToString::to_string),
        })?;
        Ok(Self::drawn(job, &harness, sight))
    }

    /// Makes the ticket of a job whose wiring has been read already.
    pub fn with_harness(job: &Job, harness: &Harness) -> Self {
        Self::drawn(job, harness, Sight::default())
    }

    fn drawn(job: &Job, harness: &Harness, sight: Sight) -> Self {
        Self {
            instrument: named(&job.intake().instrument, harness),
            facts: facts(job, harness),
            complaint: job.intake().complaint.clone(),
            findings: findings(job, harness),
            asked: job.answers().iter().map(asked).collect(),
            not_done: job.skipped().iter().map(|skip| not_done(skip, harness)).collect(),
            narrowing: job.counting().filter_map(narrowing).collect(),
            rounds: job.rounds().iter().map(|over| round(job, over, harness)).collect(),
            fault: job.concluded().map(|named| fault(named, harness)),
            sound: job.concluded().and_then(|named| named.tone.as_ref()).map(sound),
            repair: job.repaired().map(repair),
            proofs: job.proofs().iter().map(|found| proof(job, found, harness)).collect(),
            cautions: job.cautions_seen().iter().map(caution).collect(),
            papers: Papers::of(job),
            outcome: job.closed().map(outcome),
            last: job.records().last().map(|record| record.at.clone()).unwrap_or_default(),
            minutes: job.readings().iter().map(|taken| taken.seconds).sum::<f64>() / 60.0,
            picture: Plan::new(harness).seen(sight).picture(harness, &marks(job, harness)),
        }
    }
}

/// Returns what stands in the heading: the instrument, or what is known when nobody has named it.
fn named(instrument: &str, harness: &Harness) -> String {
    match instrument.trim() {
        "" => format!("instrument not named ({})", harness.title),
        name => name.to_owned(),
    }
}

/// What is said of priors that are not those of the program; the job keeps their text, not their file's name.
const OWN_PRIORS: &str = "priors of your own were in use, not only those that come with the program";

fn facts(job: &Job, harness: &Harness) -> Vec<(&'static str, String)> {
    let intake = job.intake();
    let symptoms: Vec<&str> = intake.symptoms.iter().map(|s| symptom(*s)).collect();
    let opened = job.records().first().map_or("", |record| record.at.as_str());
    let mut facts = vec![
        ("instrument", intake.instrument.clone()),
        ("customer", intake.customer.clone()),
        ("wiring", harness.title.clone()),
        ("understood as", symptoms.join(", ")),
        ("done last", intake.last_done.clone()),
        ("access at the start", access(intake.access).to_owned()),
        ("access at the end", access(job.access()).to_owned()),
        ("opened", job.opened().join(", ")),
        (
            "known beforehand",
            job.known().iter().map(|known| known_value(known, harness)).collect::<Vec<_>>().join("; "),
        ),
        ("values found", job.concluded().map_or_else(String::new, |named| named.found.join("; "))),
        ("priors", intake.priors_text.as_ref().map_or_else(String::new, |_| OWN_PRIORS.to_owned())),
        ("meter", intake.meter.clone()),
        ("technician", intake.technician.clone()),
        ("job opened", when(opened)),
    ];
    let same = intake.access == job.access();
    facts.retain(|(name, words)| !words.is_empty() && (*name != "access at the end" || !same));
    facts
}

fn known_value(known: &job::Known, harness: &Harness) -> String {
    let part = harness.part(&known.part).map_or(known.part.as_str(), |id| harness[id].title.as_str());
    format!("{part} {}", known.typed)
}

fn symptom(symptom: Symptom) -> &'static str {
    symptom.title()
}

fn access(access: Access) -> &'static str {
    match access {
        Access::Telephone => "customer on the telephone: from outside only",
        Access::Outside => "instrument here, nothing may be opened",
        Access::MayOpen => "covers may come off",
        Access::MayUnsolder => "covers may come off and joints may be lifted",
    }
}

fn speaker(speaker: Speaker) -> &'static str {
    match speaker {
        Speaker::Tree => "tree",
        Speaker::Advisor => "advisor",
        Speaker::Technician => "technician",
    }
}

/// Returns a moment as people read it: `2026-03-02 09:14:05 UTC`.
pub(super) fn when(at: &str) -> String {
    match at.strip_suffix('Z').and_then(|at| at.split_once('T')) {
        Some((day, time)) => format!("{day} {time} UTC"),
        None => at.to_owned(),
    }
}

fn findings(job: &Job, harness: &Harness) -> Vec<Finding> {
    let finding = |taken: &job::Taken| Finding {
        number: taken.id.0,
        at: when(&taken.at),
        sentence: taken.reading.measurement.sentence(harness),
        asked_by: speaker(taken.asked_by),
        expected: expected(job, &taken.reading, &taken.healthy),
        typed: taken.reading.typed.clone(),
        found: echo(&taken.reading.shown),
        earlier: earlier(job, taken.id),
        withdrawn: taken.withdrawn.clone(),
    };
    job.readings().iter().map(finding).collect()
}

/// Returns what was typed for a reading before its last correction.
fn earlier(job: &Job, wanted: ReadingId) -> Vec<String> {
    let typed = |record: &Record| match &record.event {
        Event::Read { id, reading, .. } | Event::Corrected { id, reading, .. } => {
            typed_for(*id, reading, wanted)
        }
        _ => None,
    };
    let mut all: Vec<String> = job.counting().filter_map(typed).collect();
    all.pop();
    all
}

fn typed_for(id: ReadingId, reading: &Reading, wanted: ReadingId) -> Option<String> {
    (id == wanted).then(|| reading.typed.clone())
}

/// Returns what a healthy instrument reads, in words: an answer, whether it beeps, or its band.
fn expected(job: &Job, reading: &Reading, healthy: &Band) -> String {
    let meter = Meter::named(&job.intake().meter).unwrap_or_else(Meter::ordinary);
    match (reading.measurement.mode, healthy.said) {
        (_, Some(said)) => echo(&Shown::Said(said)),
        (Mode::Continuity, None) => healthy.beep_in_words(meter).to_owned(),
        _ => band(healthy),
    }
}

/// Returns a healthy band in words.
fn band(band: &Band) -> String {
    let level = |end: Ohms| Level::of(band.dial, end.get(), 0.0).words();
    let words = |end: Option<Ohms>| end.map_or("over range".to_owned(), level);
    match (words(band.low), words(band.high)) {
        (low, high) if low == high => low,
        (low, high) => format!("{low} to {high}"),
    }
}

fn asked(answer: &job::Answer) -> Asked {
    let (question, chosen) = (answer.question.clone(), answer.answer.clone());
    Asked { at: when(&answer.at), question, answer: chosen }
}

fn not_done(skip: &job::Skip, harness: &Harness) -> NotDone {
    NotDone { sentence: skip.measurement.sentence(harness), reason: skip.reason.clone() }
}

fn narrowing(record: &Record) -> Option<Narrowing> {
    let (after, leaders) = match &record.event {
        Event::Started { leaders, .. } => ("the complaint".to_owned(), leaders),
        Event::Read { id, leaders, .. } => (format!("reading {}", id.0), leaders),
        Event::Corrected { id, leaders, .. } => (format!("correcting reading {}", id.0), leaders),
        Event::Withdrawn { id, leaders, .. } => (format!("withdrawing reading {}", id.0), leaders),
        Event::SearchedOn { leaders, .. } => ("a repair that did not cure".to_owned(), leaders),
        _ => return None,
    };
    let leaders = leaders.iter().take(LEADERS).map(suspect).collect();
    Some(Narrowing { after, leaders })
}

fn suspect(standing: &Standing) -> Suspect {
    Suspect { sentence: standing.sentence.clone(), probability: standing.probability }
}

fn fault(named: &job::Conclusion, harness: &Harness) -> Fault {
    Fault {
        at: when(&named.at),
        sentence: named.sentence.clone(),
        ids: named.faults.clone(),
        along: along(harness, &named.faults),
        probability: named.probability,
        advice: named.repair.clone(),
        minutes: named.minutes,
    }
}

/// The frequencies told in words, in hertz: strings, body, treble, beyond.
const TOLD: [f64; 7] = [80.0, 250.0, 500.0, 1000.0, 2000.0, 3150.0, 5000.0];

fn sound(tone: &Tone) -> Sound {
    let nearest = |wanted: f64| {
        let far = |hertz: Hertz| (hertz.get() / wanted).ln().abs();
        tone.points.iter().min_by(|a, b| far(a.hertz).total_cmp(&far(b.hertz)))
    };
    let decibels = |level: f64| format!("{level:.1} dB").replace('-', "−");
    let row = |point: &job::TonePoint| {
        [hertz_in_words(point.hertz), decibels(point.healthy), decibels(point.faulty)]
    };
    let (cable, input) = (show_farads(tone.cable), show_ohms(tone.input));
    let line = |label: &str, style, points| PlotLine { label: label.to_owned(), style, points };
    let lines =
        [line("healthy", PlotStyle::Solid, tone.healthy()), line("fault", PlotStyle::Dashed, tone.faulty())];
    Sound {
        sentence: tone.sentence.clone(),
        heard: plain_words::heard(tone),
        into: format!("{}; {cable} of cable into {input}", tone.setting),
        levels: TOLD.into_iter().filter_map(nearest).map(row).collect(),
        plot: plot(
            "the sound, healthy and with the fault",
            &format!("{}.", tone.sentence),
            &lines,
            720.0,
            300.0,
        ),
    }
}

fn repair(done: &job::RepairDone) -> Repair {
    Repair { at: when(&done.at), what: done.what.clone(), minutes: done.minutes }
}

/// Returns what was typed for a proof reading since the repair before it was taken again.
fn proved_before(job: &Job, proof: &job::Proof) -> Vec<String> {
    let same = |reading: &Reading| reading.measurement == proof.reading.measurement;
    let mut all = Vec::new();
    for record in job.counting() {
        match &record.event {
            Event::Concluded { .. } | Event::Repaired { .. } => all.clear(),
            Event::Proved { reading, .. } if same(reading) => all.push(reading.typed.clone()),
            _ => {}
        }
    }
    all.pop();
    all
}

fn round(job: &Job, over: &job::Round, harness: &Harness) -> Round {
    let failed = over.proofs.iter().filter(|proof| !proof.passed);
    Round {
        fault: fault(&over.concluded, harness),
        repair: repair(&over.repaired),
        failed: failed.map(|found| proof(job, found, harness)).collect(),
        remains: over.remains.clone(),
        at: when(&over.at),
    }
}

fn proof(job: &Job, proof: &job::Proof, harness: &Harness) -> Proof {
    Proof {
        at: when(&proof.at),
        sentence: proof.reading.measurement.sentence(harness),
        controls: proof.reading.measurement.setting.sentence(harness),
        expected: expected(job, &proof.reading, &proof.healthy),
        typed: proof.reading.typed.clone(),
        found: echo(&proof.reading.shown),
        passed: proof.passed,
        earlier: proved_before(job, proof),
    }
}

fn caution(seen: &job::CautionSeen) -> Caution {
    Caution { at: when(&seen.at), text: seen.text.clone() }
}

fn outcome(closing: &job::Closing) -> Outcome {
    let (cured, reason) = match &closing.outcome {
        job::Outcome::Cured => (true, String::new()),
        job::Outcome::Unproven { reason } => (false, reason.clone()),
    };
    Outcome { at: when(&closing.at), cured, reason }
}

/// Marks the named fault, or the leading suspects while none is named.
fn marks(job: &Job, harness: &Harness) -> Marks {
    let named = job.concluded().map(|c| vec![(c.faults.as_slice(), c.probability)]);
    let leading =
        || job.leaders().iter().take(LEADERS).map(|s| (s.faults.as_slice(), s.probability)).collect();
    let groups: Vec<(&[String], f64)> = named.unwrap_or_else(leading);
    let spots = |(faults, probability): (&[String], f64)| {
        let mut spots: Vec<Spot> = faults.iter().flat_map(|id| Spot::of_fault(harness, id)).collect();
        spots.sort();
        spots.dedup();
        spots.into_iter().map(move |spot| (spot, probability)).collect::<Vec<_>>()
    };
    Marks { suspects: groups.into_iter().flat_map(spots).collect(), ..Marks::default() }
}
