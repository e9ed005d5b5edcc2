//! The same instrument looked into the program's way.

use std::sync::Arc;

use super::PracticeError;
use super::game::opened;
use super::review::{Advice, ReviewStep, unknown};
use crate::advisor;
use crate::job::{Band, Event, Record, Speaker};
use crate::readings::{Measurement, Reading, Shown, Symptom};
use crate::trial::{Drawn, Specimen};
use crate::workbench::{Engine, Workbench, shown_in_words};

/// It is given up after so many readings.
const MOST: usize = 40;

/// What is needed to look into the same instrument the program's way.
pub struct Closing {
    engine: Arc<Engine>,
    drawn: Drawn,
    complaint: Option<Symptom>,
}

impl Closing {
    pub(super) fn new(engine: Arc<Engine>, drawn: Drawn, complaint: Option<Symptom>) -> Self {
        Self { engine, drawn, complaint }
    }

    /// Takes what the program proposes first, until one place is sure or nothing is worth its time.
    ///
    /// # Errors
    ///
    /// Returns [`PracticeError`] when a reading cannot be worked out.
    pub fn play(self) -> Result<Vec<ReviewStep>, PracticeError> {
        let mut specimen = Specimen::new(&self.engine, &self.drawn)?;
        let mut bench = opened(&self.engine, self.complaint)?;
        let mut steps: Vec<ReviewStep> = Vec::new();
        while steps.len() < MOST && !bench.situation().sure(bench.job()) {
            let first = bench.situation().proposals.first();
            let Some(measurement) = first.map(|proposal| proposal.measurement.clone()) else { break };
            let shown = specimen.read(&measurement)?;
            let so_far = steps.last().map_or(0.0, |step| step.at);
            steps.push(taken(&mut bench, measurement, shown, so_far)?);
        }
        Ok(steps)
    }
}

fn taken(
    bench: &mut Workbench,
    measurement: Measurement,
    shown: Shown,
    so_far: f64,
) -> Result<ReviewStep, PracticeError> {
    let (before, advised) = (unknown(bench), Advice::of(bench));
    let stand = &bench.situation().stand;
    let minutes = advisor::seconds(bench.engine().harness(), &measurement, stand) / 60.0;
    let opened = bench.engine().unopened(&measurement, &stand.opened);
    let (what, found) = (measurement.sentence(bench.engine().harness()), shown_in_words(&shown));
    let event = Event::Read {
        id: bench.job().next_reading_id(),
        reading: Reading { measurement, typed: found.clone(), shown },
        asked_by: Speaker::Advisor,
        healthy: Band::default(),
        leaders: Vec::new(),
        seconds: minutes * 60.0,
    };
    let events = opened.into_iter().map(|place| Event::Opened { place }).chain([event]);
    bench.absorb(events.map(|event| Record { at: String::new(), event }).collect())?;
    let (unknown, at) = (unknown(bench), so_far + minutes);
    let bits = before - unknown;
    Ok(ReviewStep { what, found, minutes, at, bits, unknown, advised, weighed: true })
}
