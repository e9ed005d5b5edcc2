//! One audit being worked through: a log of readings that can be gone back through, taken back and brought back.

use super::audit::{AuditCheck, AuditView};
use super::words;
use crate::readings::{EntryError, parse_entry};

/// One reading of an audit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AuditReading {
    /// Index of the check.
    pub check: usize,
    /// The text as it was typed.
    pub typed: String,
    /// What it means, in words.
    pub found: String,
    /// Whether a healthy instrument reads so.
    pub passed: bool,
}

/// An audit with the readings taken so far.
#[derive(Clone, Debug, PartialEq)]
pub struct AuditRun {
    view: AuditView,
    at: usize,
    log: Vec<AuditReading>,
    undone: Vec<AuditReading>,
}

impl AuditRun {
    /// Begins an audit at its first check.
    pub fn new(view: AuditView) -> Self {
        Self { view, at: 0, log: Vec::new(), undone: Vec::new() }
    }

    /// Returns the list.
    pub fn view(&self) -> &AuditView {
        &self.view
    }

    /// Returns the index of the check that is open.
    pub fn at(&self) -> usize {
        self.at
    }

    /// Returns the check that is open; `None` only for a list without checks.
    pub fn check(&self) -> Option<&AuditCheck> {
        self.view.checks.get(self.at)
    }

    /// Opens another check; one that there is not changes nothing.
    pub fn go(&mut self, check: usize) {
        if check < self.view.checks.len() {
            self.at = check;
        }
    }

    /// Takes what was typed as the reading of the open check, and returns what it means in words.
    ///
    /// A check that passed opens the next one that has no reading; one that failed stays open.
    ///
    /// # Errors
    ///
    /// Returns [`EntryError`] when the text can mean two things; nothing has changed then.
    pub fn record(&mut self, text: &str) -> Result<String, EntryError> {
        let Some(check) = self.view.checks.get(self.at) else { return Ok(String::new()) };
        let shown = parse_entry(text, check.measurement.mode, false)?;
        let passed = check.passes(&shown);
        let found = words::shown(&shown);
        let said = format!("Check {} {}: {found}", self.at + 1, if passed { "passed" } else { "failed" });
        self.log.push(AuditReading { check: self.at, typed: text.to_owned(), found, passed });
        self.undone.clear();
        if passed {
            self.at = self.next_open().unwrap_or(self.at);
        }
        Ok(said)
    }

    /// Takes the last reading back and opens its check; returns whether there was one.
    pub fn undo(&mut self) -> bool {
        let Some(last) = self.log.pop() else { return false };
        self.at = last.check;
        self.undone.push(last);
        true
    }

    /// Brings back the reading that was taken back last; returns whether there was one.
    pub fn redo(&mut self) -> bool {
        let Some(last) = self.undone.pop() else { return false };
        self.at = last.check;
        self.log.push(last);
        true
    }

    /// Returns whether a reading can be taken back, and whether one can be brought back.
    pub fn steps(&self) -> (bool, bool) {
        (!self.log.is_empty(), !self.undone.is_empty())
    }

    /// Returns the reading that counts for a check: its last one.
    pub fn reading(&self, check: usize) -> Option<&AuditReading> {
        self.log.iter().rev().find(|reading| reading.check == check)
    }

    /// Returns the readings that count, in the order of the checks.
    pub fn readings(&self) -> impl Iterator<Item = &AuditReading> {
        (0..self.view.checks.len()).filter_map(|check| self.reading(check))
    }

    /// Returns how many checks passed and how many failed.
    pub fn score(&self) -> (usize, usize) {
        let passed = self.readings().filter(|reading| reading.passed).count();
        (passed, self.readings().count() - passed)
    }

    /// Returns how many steady faults the checks that passed rule out.
    pub fn covered(&self) -> usize {
        let passed = |check: &usize| self.reading(*check).is_some_and(|reading| reading.passed);
        let ruled_out = |forms: &&Vec<Vec<usize>>| forms.iter().all(|checks| checks.iter().any(passed));
        self.view.proofs.iter().filter(ruled_out).count()
    }

    /// Returns whether every check has a reading.
    pub fn done(&self) -> bool {
        self.next_open().is_none()
    }

    fn next_open(&self) -> Option<usize> {
        let count = self.view.checks.len();
        (0..count).map(|step| (self.at + step) % count).find(|&check| self.reading(check).is_none())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::built_in;
    use crate::readings::{Access, Meter};
    use crate::source::Source;
    use crate::workbench::Engine;

    fn run() -> AuditRun {
        let (name, text) = built_in().iter().find(|(name, _)| *name == "one-pickup.ron").unwrap();
        let engine = Engine::new(&Source::new(*name, *text), Meter::ordinary(), &[]).unwrap();
        AuditRun::new(engine.audit(Access::MayOpen).unwrap())
    }

    /// Types what is in the middle of the healthy span.
    fn healthy(run: &AuditRun) -> String {
        let band = run.check().unwrap().band;
        band.ohms.map_or_else(|| "OL".to_owned(), |ohms| format!("{:.1}r", ohms.get()))
    }

    #[test]
    fn a_healthy_instrument_is_worked_through_to_full_coverage() {
        let mut run = run();
        let mut covered = 0;
        for check in 0..run.view().checks.len() {
            assert_eq!((run.at(), run.done()), (check, false));
            let said = run.record(&healthy(&run)).unwrap();
            assert!(said.starts_with(&format!("Check {} passed: ", check + 1)), "{said}");
            assert!(run.covered() >= covered, "coverage fell");
            covered = run.covered();
        }
        assert!(run.done());
        assert_eq!((covered, run.score()), (run.view().covered, (run.view().checks.len(), 0)));
    }

    #[test]
    fn a_failed_check_stays_open_and_the_last_reading_counts() {
        let mut run = run();
        run.record("OL").unwrap();
        assert_eq!((run.at(), run.score(), run.covered()), (0, (0, 1), 0));
        run.record(&healthy(&run)).unwrap();
        assert_eq!((run.at(), run.score()), (1, (1, 0)));
    }

    #[test]
    fn readings_are_taken_back_and_brought_back() {
        let mut run = run();
        assert!(!run.undo() && !run.redo());
        run.record(&healthy(&run)).unwrap();
        run.record("OL").unwrap();
        let before = run.clone();
        assert!(run.undo() && run.undo());
        assert_eq!((run.at(), run.steps(), run.score()), (0, (false, true), (0, 0)));
        assert!(run.redo() && run.redo());
        assert_eq!(run, before);
        run.undo();
        run.record("OL").unwrap();
        assert_eq!(run.steps(), (true, false));
    }

    #[test]
    fn what_can_mean_two_things_changes_nothing() {
        let mut run = run();
        let before = run.clone();
        assert!(run.record("7.6").is_err());
        assert_eq!(run, before);
        run.go(99);
        assert_eq!(run.at(), 0);
    }

    /// What stands on paper is what is tested: the ends of the span pass when typed as they are printed.
    #[test]
    fn the_printed_ends_of_a_span_pass() {
        let mut run = run();
        for check in 0..run.view().checks.len() {
            let band = run.view().checks[check].band;
            for end in [band.low, band.high].into_iter().flatten() {
                run.go(check);
                let typed = crate::units::show_ohms(end);
                assert!(run.record(&typed).unwrap().contains("passed"), "check {check}: {typed}");
            }
        }
    }
}
