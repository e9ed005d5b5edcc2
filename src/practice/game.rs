//! One hidden fault and the person who looks for it: everything that is done goes into a job in memory.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::advised::Closing;
use super::display::Display;
use super::level::mixed;
use super::naming::{self, Choice, Verdict};
use super::review::{self, Advice, Review, ReviewStep};
use super::{Difficulty, PracticeError, look};
use crate::advisor::{self, Stand};
use crate::circuit::{Harness, PartId, TerminalId};
use crate::job::{Event, Intake, Record};
use crate::readings::{
    Access, Level, Measurement, Meter, Mode, Said, Setting, Shown, Symptom, parse_entry, understood,
};
use crate::trial::{Drawn, Specimen, bound};
use crate::workbench::{
    Command, Engine, EngineError, SuspectView, Workbench, answer_in_words, headline_in_words, shown_in_words,
};

/// What is said when the customer has no words for it.
const NO_WORDS: &str = "it is not as it was, and I cannot say how";

/// One hidden fault and the person who looks for it.
pub struct Practice {
    engine: Arc<Engine>,
    level: Difficulty,
    drawn: Drawn,
    specimen: Specimen,
    complaint: Option<Symptom>,
    bench: Workbench,
    stand: Stand,
    placed: Option<(Measurement, Display)>,
    placings: u64,
    /// The range that the dial is turned to, on a meter with a range dial.
    range: Option<usize>,
    /// Seconds since the last step.
    pending: f64,
    seconds: f64,
    first: f64,
    steps: Vec<ReviewStep>,
    looked: BTreeMap<PartId, &'static str>,
    hints: usize,
    verdict: Option<Verdict>,
}

impl std::fmt::Debug for Practice {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Practice").field("level", &self.level).finish_non_exhaustive()
    }
}

impl Practice {
    /// Hides a fault of a level in the wiring of an engine; the same seed hides the same.
    ///
    /// # Errors
    ///
    /// Returns [`PracticeError`] when the wiring has no such fault or the instrument cannot be worked out.
    pub fn new(engine: &Arc<Engine>, level: Difficulty, seed: u64) -> Result<Self, PracticeError> {
        let no_fault =
            || PracticeError::NoFault { wiring: engine.harness().name.clone(), level: level.title() };
        Self::hiding(engine, level, level.draw(engine, seed).ok_or_else(no_fault)?)
    }

    /// Hides what was drawn.
    ///
    /// # Errors
    ///
    /// Returns [`PracticeError`] when the instrument cannot be worked out.
    pub fn hiding(engine: &Arc<Engine>, level: Difficulty, drawn: Drawn) -> Result<Self, PracticeError> {
        let specimen = Specimen::new(engine, &drawn)?;
        let complaint = specimen.complaint();
        let bench = opened(engine, complaint)?;
        let stand = Stand { setting: Setting::reference(engine.harness()), ..Stand::default() };
        Ok(Self {
            engine: Arc::clone(engine),
            level,
            drawn,
            specimen,
            complaint,
            first: review::unknown(&bench),
            bench,
            stand,
            placed: None,
            placings: 0,
            range: None,
            pending: 0.0,
            seconds: 0.0,
            steps: Vec::new(),
            looked: BTreeMap::new(),
            hints: 0,
            verdict: None,
        })
    }

    /// Returns the wiring.
    pub fn harness(&self) -> &Harness {
        self.engine.harness()
    }

    /// Returns the level.
    pub fn level(&self) -> Difficulty {
        self.level
    }

    /// Returns what the customer says, which is what the circuit makes the instrument sound like.
    pub fn complaint(&self) -> String {
        self.complaint.map_or_else(|| NO_WORDS.to_owned(), |symptom| understood(&[symptom], &[]))
    }

    /// Returns the hands-on minutes so far.
    pub fn minutes(&self) -> f64 {
        self.seconds / 60.0
    }

    /// Returns where the controls stand.
    pub fn setting(&self) -> &Setting {
        &self.stand.setting
    }

    /// Returns where the bench stands: what is open, and where the probes are.
    pub fn stand(&self) -> &Stand {
        &self.stand
    }

    /// Returns what was done so far, in order.
    pub fn steps(&self) -> &[ReviewStep] {
        &self.steps
    }

    /// Returns how often hints were asked for.
    pub fn hints(&self) -> usize {
        self.hints
    }

    /// Returns how it ended; `None` while it goes on.
    pub fn verdict(&self) -> Option<&Verdict> {
        self.verdict.as_ref()
    }

    /// Returns what is being measured, and the display.
    pub fn placed(&self) -> Option<&(Measurement, Display)> {
        self.placed.as_ref()
    }

    /// Returns the terminals that a probe reaches, in the order of the wiring.
    pub fn terminals(&self) -> Vec<TerminalId> {
        let all = (0..self.harness().terminals.len()).map(TerminalId);
        all.filter(|id| self.harness()[*id].probe).collect()
    }

    /// Returns what can be moved while the meter is on, by name.
    pub fn flexes(&self) -> Vec<String> {
        named(self.engine.candidates.list.iter().filter_map(|c| c.measurement.flex.clone()))
    }

    /// Returns the conductors of which an end can be lifted, by name.
    pub fn lifts(&self) -> Vec<String> {
        named(self.engine.candidates.list.iter().filter_map(|c| c.measurement.lifted.clone()))
    }

    /// Returns what can be listened to or felt with the controls as they are, each with its question in words.
    pub fn questions(&self) -> Vec<(String, Measurement)> {
        let here = |m: &Measurement| Measurement { setting: self.stand.setting.clone(), ..m.clone() };
        let mut all: Vec<(String, Measurement)> = Vec::new();
        for question in &self.engine.candidates.questions {
            let asked = here(&question.measurement);
            let words = headline_in_words(self.harness(), &asked);
            if !all.iter().any(|(known, _)| *known == words) {
                all.push((words, asked));
            }
        }
        all
    }

    /// Returns the class of the meter.
    pub fn meter(&self) -> &'static Meter {
        self.engine.meter
    }

    /// Turns the range dial of the meter, for the next reading.
    pub fn turn(&mut self, range: Option<usize>) {
        self.range = range;
    }

    /// Returns the hands-on minutes of a look at a part from where the bench stands; `None` for an unknown part.
    pub fn look_minutes(&self, part: &str) -> Option<f64> {
        let id = self.harness().part(part)?;
        Some(look::seconds(self.harness(), id, &self.stand) / 60.0)
    }

    /// Puts the probes on: what the display shows from now on is in [`Self::placed`].
    ///
    /// # Errors
    ///
    /// Returns [`PracticeError`] when no probe reaches there, it makes no sense, or the fault has been named.
    pub fn measure(&mut self, measurement: Measurement) -> Result<&Display, PracticeError> {
        self.still_open()?;
        self.reachable(&measurement)?;
        let found = self.specimen.between(&measurement)?;
        let seed = mixed(self.drawn.seed).wrapping_add(self.placings);
        let flexed = measurement.flex.is_some();
        let display = Display::new(self.engine.meter, measurement.mode, flexed, found, seed);
        let display = display.turned(self.range);
        self.placings += 1;
        self.spend(advisor::seconds(self.engine.harness(), &measurement, &self.stand));
        self.stands(&measurement);
        Ok(&self.placed.insert((measurement, display)).1)
    }

    fn reachable(&self, measurement: &Measurement) -> Result<(), PracticeError> {
        if matches!(measurement.mode, Mode::Observe(_) | Mode::Sweep) {
            return Err(PracticeError::Mode(measurement.mode.title()));
        }
        let harness = self.harness();
        measurement.check(harness).map_err(EngineError::from)?;
        let lifted = measurement.lifted.as_deref().and_then(|name| harness.lifted(name));
        let free = |id: TerminalId| lifted.is_some_and(|lifted| lifted.stands_for == Some(id));
        for name in [&measurement.red, &measurement.black] {
            match harness.terminal(name) {
                Some(id) if harness[id].probe || free(id) => {}
                Some(id) => return Err(PracticeError::OutOfReach { title: harness[id].title.clone() }),
                None => return Err(PracticeError::OutOfReach { title: name.clone() }),
            }
        }
        Ok(())
    }

    /// Takes in what was read off the display, as it was typed, and returns what was understood.
    ///
    /// # Errors
    ///
    /// Returns [`PracticeError`] when nothing is being measured or the text can mean two things.
    pub fn note(&mut self, text: &str) -> Result<String, PracticeError> {
        self.still_open()?;
        let (measurement, display) = self.placed.clone().ok_or(PracticeError::NothingMeasured)?;
        if let Some(label) = display.could_be_coarser()
            && matches!(
                parse_entry(text, measurement.mode, measurement.flex.is_some()),
                Ok(Shown::Steady(Level::OverRange) | Shown::Range { high: Level::OverRange, .. })
            )
        {
            return Err(PracticeError::Range { label });
        }
        self.take(&measurement, text)
    }

    /// Listens, plays or feels as a question asks, and notes the answer.
    ///
    /// # Errors
    ///
    /// Returns [`PracticeError`] when it is no question or the fault has been named.
    pub fn listen(&mut self, measurement: &Measurement) -> Result<Said, PracticeError> {
        self.still_open()?;
        if !matches!(measurement.mode, Mode::Observe(_)) {
            return Err(PracticeError::Mode(measurement.mode.title()));
        }
        let Shown::Said(said) = self.specimen.read(measurement)? else { return Ok(Said::CannotTell) };
        self.spend(advisor::seconds(self.engine.harness(), measurement, &self.stand));
        self.stand.setting = measurement.setting.clone();
        self.take(measurement, answer_in_words(said))?;
        Ok(said)
    }

    /// Looks at a part, and returns what is seen.
    ///
    /// # Errors
    ///
    /// Returns [`PracticeError`] when there is no such part or the fault has been named.
    pub fn look(&mut self, part: &str) -> Result<&'static str, PracticeError> {
        self.still_open()?;
        let id = self.harness().part(part).ok_or_else(|| PracticeError::Part(part.to_owned()))?;
        self.spend(look::seconds(self.engine.harness(), id, &self.stand));
        self.stand.opened.extend(look::opens(self.engine.harness(), id));
        let (engine, drawn, faults) = (&self.engine, self.drawn, self.specimen.faults());
        let seen = *self.looked.entry(id).or_insert_with(|| look::seen(engine, &faults, id, drawn.seed));
        let what = format!("a look at {}", self.harness()[id].title);
        let unknown = review::unknown(&self.bench);
        let advised = Advice::of(&self.bench);
        self.step(what, seen.to_owned(), unknown, advised, false);
        Ok(seen)
    }

    /// Returns what a healthy instrument reads where the probes are, or where a first reading is worth its time; it
    /// counts as a hint and names no suspect.
    ///
    /// # Errors
    ///
    /// Returns [`PracticeError`] when that cannot be foretold.
    pub fn hint_here(&mut self) -> Result<String, PracticeError> {
        self.hints += 1;
        let placed = self.placed.as_ref().map(|(measurement, _)| measurement.clone());
        let metered = |m: &&Measurement| !matches!(m.mode, Mode::Observe(_) | Mode::Sweep);
        let proposals = self.bench.situation().proposals.iter().map(|proposal| &proposal.measurement);
        let here = placed.or_else(|| proposals.clone().find(metered).cloned());
        let Some(here) = here else { return Ok("no reading is worth its time any more".to_owned()) };
        let healthy = self.bench.foretold(&here)?.healthy;
        Ok(format!("a healthy one reads {healthy} at: {}", here.sentence(self.harness())))
    }

    /// Returns the leading suspects; it counts as a hint.
    pub fn hint(&mut self) -> Vec<SuspectView> {
        self.hints += 1;
        self.bench.view().suspects.iter().take(HINTED).cloned().collect()
    }

    /// Returns everything that may be named as the fault.
    pub fn choices(&self) -> Vec<Choice> {
        naming::choices(&self.engine)
    }

    /// Names what is wrong by the ids of faults, and ends the search.
    ///
    /// # Errors
    ///
    /// Returns [`PracticeError`] when nothing or too much is named, or it has been named already.
    pub fn conclude(&mut self, ids: &[String]) -> Result<&Verdict, PracticeError> {
        self.still_open()?;
        let most = self.level.faults();
        match ids.len() {
            0 => return Err(PracticeError::NothingNamed),
            named if named > most => return Err(PracticeError::TooMany { named, most }),
            _ => {}
        }
        for id in ids {
            self.engine.fault(id)?;
        }
        let verdict = naming::verdict(&self.engine, &self.specimen.faults(), Some(ids));
        Ok(self.end(verdict))
    }

    /// Gives up, and returns what was wrong.
    ///
    /// # Errors
    ///
    /// Returns [`PracticeError::Over`] when the fault has been named.
    pub fn give_up(&mut self) -> Result<&Verdict, PracticeError> {
        self.still_open()?;
        let verdict = naming::verdict(&self.engine, &self.specimen.faults(), None);
        Ok(self.end(verdict))
    }

    /// Returns what is needed to play the same instrument the program's way, on another thread if need be.
    pub fn closing(&self) -> Closing {
        Closing::new(Arc::clone(&self.engine), self.drawn, self.complaint)
    }

    /// Sets the person's way against the program's.
    pub fn review_with(&self, advisor: Vec<ReviewStep>) -> Review {
        let right = self.verdict.as_ref().is_some_and(|verdict| verdict.right);
        Review::new(self.first, self.steps.clone(), advisor, bound(&self.engine), self.hints, right)
    }

    /// Plays the same instrument the program's way, and sets the person's way against it.
    ///
    /// # Errors
    ///
    /// Returns [`PracticeError`] when a reading of the program's way cannot be worked out.
    pub fn review(&self) -> Result<Review, PracticeError> {
        Ok(self.review_with(self.closing().play()?))
    }

    fn still_open(&self) -> Result<(), PracticeError> {
        if self.verdict.is_some() { Err(PracticeError::Over) } else { Ok(()) }
    }

    fn spend(&mut self, seconds: f64) {
        self.pending += seconds;
        self.seconds += seconds;
    }

    fn stands(&mut self, measurement: &Measurement) {
        let opened = advisor::places(self.engine.harness(), measurement);
        self.stand.setting = measurement.setting.clone();
        self.stand.probes = Some((measurement.red.clone(), measurement.black.clone()));
        self.stand.opened.extend(opened);
    }

    /// Takes a reading into the job, and returns what was understood.
    fn take(&mut self, measurement: &Measurement, text: &str) -> Result<String, PracticeError> {
        let before = review::unknown(&self.bench);
        let advised = Advice::of(&self.bench);
        let command = Command::Record { text: text.to_owned(), measurement: Some(measurement.clone()) };
        let records = self.bench.decide(&command, "")?;
        self.bench.absorb(records)?;
        let shown = self.bench.job().live_readings().last().map(|taken| taken.reading.shown);
        let found = shown.as_ref().map(shown_in_words).unwrap_or_default();
        self.step(measurement.sentence(self.engine.harness()), found.clone(), before, advised, true);
        Ok(found)
    }

    fn step(&mut self, what: String, found: String, before: f64, advised: Option<Advice>, weighed: bool) {
        let unknown = review::unknown(&self.bench);
        let seconds = std::mem::take(&mut self.pending);
        let (minutes, at) = (seconds / 60.0, self.seconds / 60.0);
        let bits = before - unknown;
        self.steps.push(ReviewStep { what, found, minutes, at, bits, unknown, advised, weighed });
    }

    fn end(&mut self, verdict: Verdict) -> &Verdict {
        if self.pending > 0.0 {
            let (unknown, advised) = (review::unknown(&self.bench), Advice::of(&self.bench));
            self.step("the probes put on".to_owned(), "nothing noted".to_owned(), unknown, advised, false);
        }
        self.placed = None;
        self.verdict.insert(verdict)
    }
}

/// So many suspects are shown as a hint.
const HINTED: usize = 3;

/// Returns names, each once, in order.
fn named(all: impl Iterator<Item = String>) -> Vec<String> {
    let mut names: Vec<String> = all.collect();
    names.sort();
    names.dedup();
    names
}

/// Puts a job on the bench in memory.
pub(super) fn opened(engine: &Arc<Engine>, complaint: Option<Symptom>) -> Result<Workbench, PracticeError> {
    let intake = Intake {
        wiring: engine.harness().name.clone(),
        wiring_text: String::new(),
        priors_text: None,
        trees_text: Vec::new(),
        instrument: String::new(),
        customer: String::new(),
        complaint: String::new(),
        symptoms: complaint.into_iter().collect(),
        last_done: String::new(),
        access: Access::MayUnsolder,
        meter: engine.meter.name.to_owned(),
        technician: String::new(),
    };
    let event = Event::Started { format: 1, intake: Box::new(intake), leaders: Vec::new() };
    Ok(Workbench::resume(Arc::clone(engine), vec![Record { at: String::new(), event }])?)
}
