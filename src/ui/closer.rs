//! What is looked at closely: a reading as it was taken, and a suspect. Worked out once, when it is asked for.

use super::action::{Action, Desk, Spot};
use super::bench::Bench;
use crate::job::ReadingId;
use crate::workbench::{CaseView, LookBack, SuspectView, View};

/// What is looked at closely, with what there is to see.
#[derive(Clone, Debug, Default)]
pub struct Closer {
    /// The reading that is looked at.
    pub reading: Option<ReadingId>,
    /// That reading as it was taken, or why it cannot be told.
    pub back: Option<Result<LookBack, String>>,
    /// The suspect whose details are open, or why nothing more can be told of it.
    pub case: Option<Result<CaseView, String>>,
    /// Whether the last reading is to be looked at as soon as the one that was sent is there.
    follows: bool,
    back_of: Option<(u64, ReadingId)>,
    case_of: Option<(u64, String)>,
}

impl Closer {
    /// Returns the suspect looked at closely, if it is the one with this first fault.
    pub fn case_of(&self, fault: &str) -> Option<&Result<CaseView, String>> {
        let same = self.case_of.as_ref().is_some_and(|(_, known)| known == fault);
        self.case.as_ref().filter(|_| same)
    }

    /// Looks at the reading that was sent, as soon as it is there.
    pub(super) fn follow(&mut self) {
        self.follows = true;
    }

    /// Looks at the last reading, if one was waited for.
    pub(super) fn look_at_last(&mut self, view: Option<&View>) {
        if std::mem::take(&mut self.follows) {
            self.reading = view.and_then(|view| view.readings.last()).map(|reading| reading.id);
        }
    }
}

/// Returns the suspects that the picture marks: the one that is open, or those that lead; none once it is repaired.
pub fn marked(view: &View, unfolded: Option<&str>) -> Vec<SuspectView> {
    if view.repaired.is_some() {
        return Vec::new();
    }
    let holds = |suspect: &&SuspectView| suspect.faults.first().map(String::as_str) == unfolded;
    match view.suspects.iter().find(holds) {
        Some(open) if unfolded.is_some() => vec![open.clone()],
        _ => view.suspects.iter().take(3).cloned().collect(),
    }
}

/// Carries out what is asked about how things are looked at: a press on a reading looks at it or puts it away, an arrow
/// key goes on to it; the step is shown large, or as usual again.
pub fn carry_out(desk: &mut Desk, action: &Action) {
    match action {
        Action::Far => {
            (desk.far, desk.top) = (!desk.far, true);
            desk.focus = Some(Spot::Home);
        }
        Action::LookBack(id) => {
            desk.closer.reading = if desk.closer.reading == Some(*id) { None } else { Some(*id) };
        }
        Action::LookOn(id) => {
            desk.closer.reading = Some(*id);
            (desk.spot, desk.focus) = (Spot::Readings, Some(Spot::Readings));
        }
        _ => {}
    }
}

/// Works out what is looked at, if it or the job has changed; what was there stays while the job is away on a task.
pub fn refresh(bench: &dyn Bench, desk: &mut Desk) {
    if bench.is_away() {
        return;
    }
    let now = bench.revision();
    let wanted = desk.closer.reading.map(|id| (now, id));
    if desk.closer.back_of != wanted {
        desk.closer.back = wanted.and_then(|(_, id)| bench.look_back(id).transpose());
        desk.closer.back_of = wanted;
    }
    let wanted = desk.unfolded.clone().map(|fault| (now, fault));
    if desk.closer.case_of != wanted {
        desk.closer.case = wanted.as_ref().and_then(|(_, fault)| bench.case(fault).transpose());
        desk.closer.case_of = wanted;
    }
}
