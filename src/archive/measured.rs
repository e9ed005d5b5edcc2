//! What a job's readings told, each by itself.

use crate::job::{Event, Job, ReadingId, Record, Speaker, Standing};
use crate::readings::{Measurement, Mode};

/// One reading as it is counted.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Told {
    /// Its number in the job.
    pub number: u32,
    /// Which event of the job; the first is 1.
    pub seq: usize,
    /// The measurement, always in the same words.
    pub said: String,
    /// Who asked for it.
    pub asked_by: &'static str,
    /// Estimated hands-on seconds.
    pub seconds: f64,
    /// How many bits less uncertain the suspects were after it; below zero when they were more uncertain.
    pub bits: f64,
    /// Whether it is the last one that counts before the fault was named.
    pub found: bool,
}

/// Returns the readings of a job that were not undone, in order.
pub(super) fn told(job: &Job) -> Vec<Told> {
    let found = deciding(job);
    let mut before: &[Standing] = &[];
    let mut all = Vec::new();
    for (seq, record) in counting(job) {
        let Some(after) = leaders(record) else { continue };
        if let Event::Read { id, reading, asked_by, seconds, .. } = &record.event {
            all.push(Told {
                number: id.0,
                seq,
                said: words(&reading.measurement),
                asked_by: speaker(*asked_by),
                seconds: *seconds,
                bits: entropy(before) - entropy(after),
                found: found == Some(*id),
            });
        }
        before = after;
    }
    all
}

/// Returns the counting events with their places in the log; the first is 1.
fn counting(job: &Job) -> impl Iterator<Item = (usize, &Record)> {
    let mut wanted = job.counting().peekable();
    (1_usize..)
        .zip(job.records())
        .filter(move |(_, record)| wanted.next_if(|next| std::ptr::eq(*next, *record)).is_some())
}

/// Returns the last reading that counts before the fault was last named.
fn deciding(job: &Job) -> Option<ReadingId> {
    let counts = |id: ReadingId| job.live_readings().any(|taken| taken.id == id);
    let (mut last, mut found) = (None, None);
    for record in job.counting() {
        match &record.event {
            Event::Read { id, .. } if counts(*id) => last = Some(*id),
            Event::Concluded { .. } => found = last,
            _ => {}
        }
    }
    found
}

fn leaders(record: &Record) -> Option<&[Standing]> {
    match &record.event {
        Event::Started { leaders, .. }
        | Event::Read { leaders, .. }
        | Event::Corrected { leaders, .. }
        | Event::Withdrawn { leaders, .. }
        | Event::SearchedOn { leaders, .. } => Some(leaders),
        _ => None,
    }
}

/// Returns how uncertain it is which group of suspects it is, in bits; those that were not kept count as one group.
fn entropy(leaders: &[Standing]) -> f64 {
    let known: f64 = leaders.iter().map(|group| group.probability).sum();
    let rest = (1.0 - known).max(0.0);
    let shares = leaders.iter().map(|group| group.probability).chain([rest]);
    shares.filter(|share| *share > 0.0).map(|share| -share * share.log2()).sum()
}

fn speaker(speaker: Speaker) -> &'static str {
    match speaker {
        Speaker::Tree => "tree",
        Speaker::Advisor => "advisor",
        Speaker::Technician => "technician",
    }
}

/// Returns a measurement always in the same words; ohms do not mind which probe is where.
pub(super) fn words(measurement: &Measurement) -> String {
    let mut words = vec![measurement.mode.name().to_owned()];
    let (red, black) = (measurement.red.as_str(), measurement.black.as_str());
    let turned = red > black && !matches!(measurement.mode, Mode::Volts | Mode::Current);
    let (one, other) = if turned { (black, red) } else { (red, black) };
    if !(one.is_empty() && other.is_empty()) {
        words.push(format!("{one} to {other}"));
    }
    words.extend(measurement.setting.0.iter().map(|(control, stand)| format!("{control} {stand}")));
    let more =
        [("flexing", &measurement.flex), ("about", &measurement.about), ("lifted", &measurement.lifted)];
    words.extend(more.iter().filter_map(|(how, what)| Some(format!("{how} {}", what.as_deref()?))));
    words.join(", ")
}
