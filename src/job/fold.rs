//! The fold over a job's events: which of them count, and what they add up to.

use super::state::State;
use super::{
    Answer, CautionSeen, Closing, Conclusion, Event, Intake, JobError, Known, Paper, Proof, ReadingId,
    Record, Refusal, RepairDone, Round, Skip, Standing, Taken,
};
use crate::readings::{Access, Measurement};

/// The version of the event format this program writes and reads.
const FORMAT: u32 = 1;

/// One instrument's visit: all its events, and what the counting ones add up to.
///
/// The state is always the fold over the events that count, so replaying the events gives the same job.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    records: Vec<Record>,
    counting: Vec<usize>,
    undone: Vec<usize>,
    last_id: ReadingId,
    state: State,
}

impl Job {
    /// Returns the job that these events make.
    ///
    /// # Errors
    ///
    /// When there are no events, when the first is not [`Event::Started`], when the format is not 1, or
    /// when an event does not fit what came before it.
    pub fn replay(records: Vec<Record>) -> Result<Self, JobError> {
        let mut records = records.into_iter();
        let mut job = Self::begin(records.next().ok_or(JobError::Empty)?)?;
        records.try_for_each(|record| job.push(record))?;
        Ok(job)
    }

    fn begin(first: Record) -> Result<Self, JobError> {
        let Event::Started { format, intake, leaders } = &first.event else {
            return Err(JobError::Event { number: 1, why: Refusal::NotStarted });
        };
        if *format != FORMAT {
            return Err(JobError::Format { found: *format });
        }
        let state = State::started(intake, leaders);
        Ok(Self { records: vec![first], counting: vec![0], undone: Vec::new(), last_id: ReadingId(0), state })
    }

    /// Adds one event.
    ///
    /// # Errors
    ///
    /// When the event does not fit what came before it; the job is then unchanged.
    pub fn push(&mut self, record: Record) -> Result<(), JobError> {
        let number = self.records.len() + 1;
        let refused = |why| JobError::Event { number, why };
        match &record.event {
            Event::Undone => self.undo().map_err(refused)?,
            Event::Redone => self.redo().map_err(refused)?,
            event => {
                self.check(event).map_err(refused)?;
                self.count(&record);
            }
        }
        self.records.push(record);
        Ok(())
    }

    fn check(&self, event: &Event) -> Result<(), Refusal> {
        self.state.refuses(event)?;
        let expected = self.next_reading_id();
        match event {
            Event::Read { id: found, .. } if *found != expected => {
                Err(Refusal::Number { found: *found, expected })
            }
            _ => Ok(()),
        }
    }

    fn count(&mut self, record: &Record) {
        if let Event::Read { id, .. } = record.event {
            self.last_id = id;
        }
        self.undone.clear();
        self.counting.push(self.records.len());
        self.state.apply(record);
    }

    fn undo(&mut self) -> Result<(), Refusal> {
        if !self.can_undo() {
            return Err(Refusal::NothingToUndo);
        }
        self.undone.extend(self.counting.pop());
        self.recompute();
        Ok(())
    }

    fn redo(&mut self) -> Result<(), Refusal> {
        let index = self.undone.pop().ok_or(Refusal::NothingToRedo)?;
        self.counting.push(index);
        self.state.apply(&self.records[index]);
        Ok(())
    }

    fn recompute(&mut self) {
        let leaders = match &self.records[0].event {
            Event::Started { leaders, .. } => leaders.as_slice(),
            _ => &[],
        };
        let mut state = State::started(&self.state.intake, leaders);
        for record in self.counting.iter().map(|index| &self.records[*index]) {
            state.apply(record);
        }
        self.state = state;
    }

    /// Returns every event, the undone ones included, in the order they happened.
    pub fn records(&self) -> &[Record] {
        &self.records
    }

    /// Returns the events that count, in order; the first is [`Event::Started`].
    pub fn counting(&self) -> impl Iterator<Item = &Record> {
        self.counting.iter().map(|index| &self.records[*index])
    }

    /// Returns what was known when the instrument came in.
    pub fn intake(&self) -> &Intake {
        &self.state.intake
    }

    /// Returns how far the technician may go now.
    pub fn access(&self) -> Access {
        self.state.access
    }

    /// Returns how the suspects stood after the last event that moved them.
    pub fn leaders(&self) -> &[Standing] {
        &self.state.leaders
    }

    /// Returns all readings in order, the withdrawn ones included.
    pub fn readings(&self) -> &[Taken] {
        &self.state.readings
    }

    /// Returns the readings that were not withdrawn, in order.
    pub fn live_readings(&self) -> impl Iterator<Item = &Taken> {
        self.state.readings.iter().filter(|taken| taken.withdrawn.is_none())
    }

    /// Returns the faults that were named and repaired before the search went on, in order.
    pub fn rounds(&self) -> &[Round] {
        &self.state.rounds
    }

    /// Returns the readings of a round that were not withdrawn, in order.
    ///
    /// The first round is 0; the one that is not over has the number of those that are.
    pub fn readings_of(&self, round: usize) -> impl Iterator<Item = &Taken> {
        let until = |round: &Round| round.readings;
        let start = round.checked_sub(1).and_then(|before| self.state.rounds.get(before)).map_or(0, until);
        let end = self.state.rounds.get(round).map_or(self.state.readings.len(), until);
        let all = self.state.readings.iter().take(end).skip(start);
        all.filter(|taken| taken.withdrawn.is_none())
    }

    /// Returns the measurements that were skipped and not read since, in the order they were skipped.
    pub fn skipped(&self) -> &[Skip] {
        &self.state.skipped
    }

    /// Returns the answers to a tree's questions, in order.
    pub fn answers(&self) -> &[Answer] {
        &self.state.answers
    }

    /// Returns the parts' own values that are known, each part once.
    pub fn known(&self) -> &[Known] {
        &self.state.known
    }

    /// Returns the texts of the trees that were put to use since the job began, in order.
    pub fn used_trees(&self) -> &[String] {
        &self.state.trees
    }

    /// Returns the measurement that was put on the screen instead of the proposed one, until it is done or left.
    pub fn chosen(&self) -> Option<&Measurement> {
        self.state.chosen.as_ref()
    }

    /// Returns the names of the places that were opened, in order, each once.
    pub fn opened(&self) -> &[String] {
        &self.state.opened
    }

    /// Returns the cautions that were acknowledged, in order.
    pub fn cautions_seen(&self) -> &[CautionSeen] {
        &self.state.cautions
    }

    /// Returns the fault as it was last named since the search began or went on.
    pub fn concluded(&self) -> Option<&Conclusion> {
        self.state.concluded.as_ref()
    }

    /// Returns the last repair since the fault was last named.
    pub fn repaired(&self) -> Option<&RepairDone> {
        self.state.repaired.as_ref()
    }

    /// Returns the proof readings since the last repair, the latest of each measurement, in the order
    /// the measurements were first proved.
    pub fn proofs(&self) -> &[Proof] {
        &self.state.proofs
    }

    /// Returns what was foretold and agreed to, what it costs, the photos, and the earlier job.
    pub fn paper(&self) -> &Paper {
        &self.state.paper
    }

    /// Returns how the job was closed.
    pub fn closed(&self) -> Option<&Closing> {
        self.state.closed.as_ref()
    }

    /// Returns the number for the next reading; a number is never used twice, not even after undoing.
    pub fn next_reading_id(&self) -> ReadingId {
        ReadingId(self.last_id.0.saturating_add(1))
    }

    /// Returns whether an event can be undone.
    pub fn can_undo(&self) -> bool {
        self.counting.len() > 1
    }

    /// Returns whether an undone event can be redone.
    pub fn can_redo(&self) -> bool {
        !self.undone.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::sample::{any_records, band, measurement, read, reading, record, started};
    use super::super::{Outcome, parse, to_line};
    use super::*;
    use crate::readings::Symptom;

    fn job(events: Vec<Event>) -> Result<Job, JobError> {
        Job::replay(std::iter::once(started()).chain(events.into_iter().map(record)).collect())
    }

    fn withdrawn(id: u32) -> Event {
        Event::Withdrawn { id: ReadingId(id), reason: "wrong lug".to_owned(), leaders: vec![] }
    }

    fn corrected(id: u32, ohms: f64) -> Event {
        let (reading, healthy) = (reading(10, ohms), band(6050.0));
        Event::Corrected { id: ReadingId(id), reading, healthy, leaders: vec![] }
    }

    fn skipped(dial: u8) -> Event {
        Event::Skipped { measurement: measurement(dial), reason: "no meter here".to_owned() }
    }

    fn closed() -> Event {
        Event::Closed { outcome: Outcome::Cured }
    }

    /// The plain meaning of undo and redo, on the events alone.
    fn counting_by_definition(records: &[Record]) -> Vec<Record> {
        let (mut counting, mut undone): (Vec<Record>, Vec<Record>) = (Vec::new(), Vec::new());
        for record in records {
            match record.event {
                Event::Undone => undone.extend(counting.pop()),
                Event::Redone => counting.extend(undone.pop()),
                _ => {
                    undone.clear();
                    counting.push(record.clone());
                }
            }
        }
        counting
    }

    /// Pushes what fits and leaves out the rest; numbers each new reading as the job asks.
    fn grown(records: Vec<Record>) -> Job {
        let mut job = Job::replay(vec![started()]).expect("a started job");
        for mut record in records {
            if let Event::Read { id, .. } = &mut record.event {
                *id = job.next_reading_id();
            }
            let before = job.clone();
            if job.push(record).is_err() {
                assert_eq!(job, before, "a refused event must change nothing");
            }
        }
        job
    }

    proptest! {
        #[test]
        fn replaying_all_events_gives_the_state_after_pushing_them(records in any_records()) {
            let job = grown(records);
            prop_assert_eq!(&Job::replay(job.records().to_vec()).unwrap(), &job);
        }

        #[test]
        fn the_state_is_the_fold_over_the_counting_events(records in any_records()) {
            let job = grown(records);
            let counting = counting_by_definition(job.records());
            prop_assert_eq!(job.counting().cloned().collect::<Vec<_>>(), counting.clone());
            let mut state = match &counting[0].event {
                Event::Started { intake, leaders, .. } => State::started(intake, leaders),
                _ => unreachable!("the first event is the start"),
            };
            counting.iter().for_each(|record| state.apply(record));
            prop_assert_eq!(&job.state, &state);
        }

        #[test]
        fn undoing_then_redoing_changes_nothing_that_counts(records in any_records()) {
            let mut job = grown(records);
            let before = job.clone();
            if job.can_undo() {
                job.push(record(Event::Undone)).unwrap();
                job.push(record(Event::Redone)).unwrap();
            }
            prop_assert_eq!(&job.state, &before.state);
            prop_assert_eq!(&job.counting, &before.counting);
        }

        #[test]
        fn a_job_survives_its_own_text(records in any_records()) {
            let job = grown(records);
            let text: String = job.records().iter().map(|r| to_line(r).unwrap() + "\n").collect();
            prop_assert_eq!(Job::replay(parse(&text).unwrap().records).unwrap(), job);
        }
    }

    #[test]
    fn a_correction_replaces_the_reading_and_keeps_its_place() {
        let job = job(vec![read(1, 10, 6.0), read(2, 0, 0.0), corrected(1, 6050.0)]).unwrap();
        let first = &job.readings()[0];
        assert_eq!((first.id, first.corrected), (ReadingId(1), true));
        assert_eq!(first.reading, reading(10, 6050.0));
    }

    #[test]
    fn a_withdrawn_reading_stays_listed_but_is_not_live() {
        let job = job(vec![read(1, 10, 6.0), read(2, 0, 0.0), withdrawn(1)]).unwrap();
        assert_eq!(job.readings()[0].withdrawn.as_deref(), Some("wrong lug"));
        assert_eq!(job.live_readings().map(|taken| taken.id.0).collect::<Vec<_>>(), [2]);
    }

    #[test]
    fn skips_keep_their_order_and_end_when_read() {
        let job = job(vec![skipped(3), skipped(5), skipped(0), skipped(3), read(1, 5, 64e3)]).unwrap();
        let order: Vec<_> = job.skipped().iter().map(|skip| skip.measurement.clone()).collect();
        assert_eq!(order, [measurement(0), measurement(3)]);
        assert_eq!(job.skipped()[0].access, Access::Outside);
    }

    #[test]
    fn a_number_is_not_used_again_after_undoing() {
        let job = job(vec![read(1, 10, 6.0), Event::Undone, read(2, 10, 6050.0)]).unwrap();
        assert_eq!(job.next_reading_id(), ReadingId(3));
        assert_eq!(job.readings().len(), 1);
        assert!(!job.can_redo());
    }

    #[test]
    fn the_start_cannot_be_undone() {
        let job = job(vec![]).unwrap();
        assert!(!job.can_undo());
        assert!(!job.can_redo());
    }

    fn concluded(fault: &str) -> Event {
        Event::Concluded {
            faults: vec![fault.to_owned()],
            sentence: format!("{fault} is open"),
            probability: 0.99,
            repair: "solder it".to_owned(),
            minutes: 5.0,
            tone: None,
            found: Vec::new(),
        }
    }

    fn searched_on() -> Event {
        let (remains, symptoms) = ("still weak".to_owned(), vec![Symptom::Weak]);
        Event::SearchedOn { remains, symptoms, leaders: vec![] }
    }

    fn first_round() -> Vec<Event> {
        let failed = Event::Proved { reading: reading(10, 9e3), healthy: band(6e3), passed: false };
        let repaired = Event::Repaired { what: "soldered".to_owned(), minutes: 5.0 };
        vec![read(1, 10, 6.0), concluded("one"), repaired, failed]
    }

    #[test]
    fn a_search_that_goes_on_keeps_the_round_before() {
        let events = [first_round(), vec![searched_on(), read(2, 0, 1.0), read(3, 0, 2.0), withdrawn(2)]];
        let job = job(events.concat()).unwrap();
        assert!(job.concluded().is_none() && job.repaired().is_none() && job.proofs().is_empty());
        let round = &job.rounds()[0];
        assert_eq!((round.concluded.faults[0].as_str(), round.repaired.what.as_str()), ("one", "soldered"));
        assert_eq!((round.proofs.len(), round.readings), (1, 1));
        assert_eq!((round.remains.as_str(), round.symptoms.as_slice()), ("still weak", &[Symptom::Weak][..]));
        let of = |round| job.readings_of(round).map(|taken| taken.id.0).collect::<Vec<_>>();
        assert_eq!((of(0), of(1)), (vec![1], vec![3]));
    }

    #[test]
    fn going_back_on_a_search_that_went_on_brings_the_proof_back() {
        let before = job(first_round()).unwrap();
        let after = job([first_round(), vec![searched_on(), Event::Undone]].concat()).unwrap();
        assert_eq!((&after.state, after.can_redo()), (&before.state, true));
    }

    #[test]
    fn a_new_repair_puts_the_old_proof_aside() {
        let proved = Event::Proved { reading: reading(10, 6e3), healthy: band(6e3), passed: true };
        let failed = Event::Proved { reading: reading(10, 9e3), healthy: band(6e3), passed: false };
        let repaired = Event::Repaired { what: "soldered".to_owned(), minutes: 5.0 };
        let events = vec![repaired.clone(), failed, proved.clone()];
        let once = job(events.clone()).unwrap();
        assert_eq!(once.proofs().iter().map(|proof| proof.passed).collect::<Vec<_>>(), [true]);
        assert!(job([events, vec![repaired]].concat()).unwrap().proofs().is_empty());
    }

    #[rstest::rstest]
    #[case(vec![Event::Undone], "cannot replay event 2 of the job: it undoes, but no event is left to undo")]
    #[case(vec![Event::Redone], "cannot replay event 2 of the job: it redoes, but no event was undone just before")]
    #[case(vec![started().event], "cannot replay event 2 of the job: the job was started already; a job has one started event, the first")]
    #[case(vec![read(2, 10, 1.0)], "cannot replay event 2 of the job: it numbers its reading 2, the next number is 1")]
    #[case(vec![withdrawn(4)], "cannot replay event 2 of the job: it names reading 4, which the job does not have")]
    #[case(vec![read(1, 10, 1.0), withdrawn(1), corrected(1, 2.0)], "cannot replay event 4 of the job: it changes reading 1, which was withdrawn")]
    #[case(vec![closed(), skipped(1)], "cannot replay event 3 of the job: the job is closed; only a bill, a photo, or undoing the closing can follow")]
    #[case(vec![concluded("one"), searched_on()], "cannot replay event 3 of the job: it searches on after a repair, but no named fault was repaired")]
    #[case(vec![read(1, 10, 1.0), Event::Undone, skipped(1), Event::Redone], "cannot replay event 5 of the job: it redoes, but no event was undone just before")]
    fn an_event_that_does_not_fit_is_refused(#[case] events: Vec<Event>, #[case] message: &str) {
        assert_eq!(job(events).unwrap_err().to_string(), message);
    }

    #[test]
    fn closing_can_be_undone() {
        let job = job(vec![closed(), Event::Undone, skipped(1)]).unwrap();
        assert!(job.closed().is_none());
    }

    #[test]
    fn a_job_begins_with_its_start_in_format_1() {
        assert_eq!(Job::replay(vec![]), Err(JobError::Empty));
        let otherwise = Job::replay(vec![record(Event::Undone)]).unwrap_err();
        assert_eq!(otherwise, JobError::Event { number: 1, why: Refusal::NotStarted });
        let mut first = started();
        if let Event::Started { format, .. } = &mut first.event {
            *format = 2;
        }
        assert_eq!(Job::replay(vec![first]), Err(JobError::Format { found: 2 }));
    }
}
