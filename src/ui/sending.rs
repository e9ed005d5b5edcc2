//! What the window sends to the bench, and how it takes in what comes back.

use std::path::{Path, PathBuf};
use std::time::Duration;

use egui::Context;

use super::action::{Desk, Overlay, Pane, Spot};
use super::app::App;
use super::paper_desk::PaperAction;
use super::task::{Done, Task};
use super::{audit_desk, finish, paper_ask, paper_work, picture_desk, start, tree_desk};
use crate::readings::Access;
use crate::workbench::Command;

/// How long to wait before asking again what has been done.
const SOON: Duration = Duration::from_millis(100);
/// Said of a form that is sent while something sent before is not on disk yet.
const STILL_WRITING: &str =
    "What was sent before is still being written, so this was not recorded. Press again in a moment.";
/// Said when a command is on disk, until it is known what follows from it.
const ON_DISK: &str = "Recorded on disk. What follows from it is being worked out.";

/// What stood on the screen when a command was sent that is not on disk yet.
#[derive(Debug)]
pub(super) struct Sent {
    entry: String,
    overlay: Option<Overlay>,
    reading: Option<Reading>,
    /// What the dial is set to for the step on the screen.
    dial: Option<String>,
}

/// Which reading was sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Reading {
    /// The one that is asked for.
    Asked,
    /// One of a person's own, between their probes in the picture.
    Own,
    /// A proof reading, by its place in the list.
    Proof(usize),
}

impl App {
    /// Returns which reading a command sends.
    fn reading(&self, command: &Command) -> Option<Reading> {
        match command {
            Command::Record { measurement: None, .. } => Some(Reading::Asked),
            Command::Record { measurement: Some(_), .. } => Some(Reading::Own),
            Command::Prove { index, .. } => {
                let next = || finish::next(self.bench.view()?);
                index.or_else(next).map(Reading::Proof)
            }
            _ => None,
        }
    }

    /// Sends a command; what is typed stays until it is on disk.
    pub(super) fn apply(&mut self, command: Command) {
        if command == Command::SetAccess(Access::Telephone) {
            self.desk.before_call = self.bench.view().map(|view| view.access);
        }
        let (entry, reading) = (self.desk.entry.trim().to_owned(), self.reading(&command));
        let step = self.bench.view().and_then(|view| view.step.as_ref());
        let dial = step.map(|step| step.dial.clone());
        self.sent.push_back(Sent { entry, overlay: self.desk.overlay, reading, dial });
        let seen = self.bench.revision();
        self.give(Task::Do { command, seen });
    }

    /// Carries out what the screen of estimate and bill asks for; a form is not taken before what was sent is on disk.
    pub(super) fn paper(&mut self, asked: PaperAction) {
        let writes = matches!(asked, PaperAction::Record | PaperAction::Print(..));
        if writes && !self.sent.is_empty() {
            (self.desk.problem, self.desk.told) = (Some(STILL_WRITING.to_owned()), None);
            return;
        }
        let task = paper_work::carry_out(self.bench.as_ref(), &mut self.desk, asked);
        task.into_iter().for_each(|task| self.send_paper(task));
    }

    fn send_paper(&mut self, task: Task) {
        match task {
            Task::Do { command, .. } => self.apply(command),
            Task::Paper(_) => {
                let entry = self.desk.entry.trim().to_owned();
                self.sent.push_back(Sent { entry, overlay: self.desk.overlay, reading: None, dial: None });
                self.give(task);
            }
            other => self.give(other),
        }
    }

    /// Gives the bench something to do, unless it is just being opened or started.
    pub(super) fn give(&mut self, task: Task) {
        let opening = self.bench.busy().is_some_and(|busy| busy.can_be_given_up);
        if opening && task.can_be_given_up() {
            return;
        }
        for done in self.bench.give(task) {
            self.done(done);
        }
    }

    /// Takes in what has been done beside the window.
    pub(super) fn take_in(&mut self, ctx: &Context) {
        for done in self.bench.take_in() {
            self.done(done);
        }
        if self.bench.busy().is_some() {
            ctx.request_repaint_after(SOON);
        }
    }

    fn done(&mut self, done: Done) {
        match done {
            Done::Kept => self.kept(),
            Done::Shown(told) => self.shown(told),
            Done::Refused(why) => self.turned_down(why),
            Done::Opened(notices) => self.opened(notices),
            Done::Left => self.left(),
            Done::Written(path, lacks) => self.desk.told = Some(written("ticket", &path, lacks)),
            Done::Copied(path, lacks) => self.desk.told = Some(written("copy", &path, lacks)),
            Done::Audited(view) => audit_desk::show(&mut self.desk, *view),
            Done::Proposed(found) => tree_desk::proposed(&mut self.desk, *found),
            Done::Failed(why) => {
                self.desk.problem = Some(why);
                self.desk.taken_over.forget();
                self.restored();
            }
            Done::Broke(why) => {
                self.sent.clear();
                paper_work::turned_down(&mut self.desk);
                self.desk.proved = None;
                self.desk.closer.look_at_last(self.bench.view());
                self.refused(why);
            }
        }
    }

    /// Clears what was sent with a command, and leaves what was typed since.
    fn kept(&mut self) {
        let Some(sent) = self.sent.pop_front() else { return };
        let desk = &mut self.desk;
        if let Some(rest) = desk.entry.trim_start().strip_prefix(sent.entry.as_str()) {
            desk.entry = rest.trim_start().to_owned();
        }
        if desk.overlay == sent.overlay {
            desk.overlay = None;
            desk.draft.clear();
        }
        match sent.reading {
            Some(Reading::Asked) => {
                desk.closer.follow();
                desk.dialled = sent.dial;
            }
            Some(Reading::Own) => picture_desk::clear(desk),
            Some(Reading::Proof(index)) => desk.proved = Some(index),
            None => {}
        }
        paper_work::kept(desk);
        (desk.echo, desk.shown, desk.unit) = (None, None, None);
        (desk.problem, desk.reprove) = (None, None);
        (desk.pane, desk.spot) = (Pane::Step, Spot::Home);
        self.keyboard_home();
        if !self.desk.entry.is_empty() {
            self.typed();
        }
        self.desk.told = Some(ON_DISK.to_owned());
    }

    fn shown(&mut self, told: String) {
        self.desk.closer.look_at_last(self.bench.view());
        self.desk.told = Some(told).filter(|text| !text.is_empty());
        self.desk.top = true;
        let proved = self.desk.proved.take();
        let failed = proved.zip(self.bench.view()).and_then(|(index, view)| finish::failed(view, index));
        if failed.is_some() {
            (self.desk.told, self.desk.problem) = (None, failed);
        }
        if self.desk.entry.is_empty() {
            self.keyboard_home();
        }
    }

    fn keyboard_home(&mut self) {
        if self.desk.overlay.is_none() {
            self.desk.focus = Some(Spot::Home);
        }
    }

    /// Says why a command was refused, beside what was sent with it.
    fn turned_down(&mut self, why: String) {
        paper_work::turned_down(&mut self.desk);
        let own = self.sent.pop_front().is_some_and(|sent| sent.reading == Some(Reading::Own));
        if let Some(probes) = self.desk.own_probes.as_mut().filter(|_| own) {
            probes.problem = Some(why);
            self.desk.focus = Some(Spot::OwnProbes);
        } else {
            self.refused(why);
        }
    }

    /// Says why something was refused, beside what is typed.
    pub(super) fn refused(&mut self, problem: String) {
        self.desk.problem = Some(problem);
        self.desk.focus = Some(if self.desk.overlay.is_some() { Spot::Overlay } else { Spot::Home });
    }

    fn opened(&mut self, notices: Vec<String>) {
        self.sent.clear();
        let taken_over = self.desk.taken_over.begun();
        self.desk = Desk { notices, focus: Some(Spot::Home), ..self.cleared() };
        if let Some(unsent) = self.restored() {
            self.desk.entry = unsent.entry;
            self.desk.repair.what = unsent.repair;
            self.desk.repair.minutes = unsent.minutes;
            self.typed();
        }
        taken_over.into_iter().for_each(|command| self.apply(command));
    }

    fn left(&mut self) {
        self.sent.clear();
        self.desk = Desk { focus: Some(Spot::Start), ..self.cleared() };
        self.tidy_start_form();
    }

    /// Returns a desk with nothing on it but what does not belong to a job.
    fn cleared(&mut self) -> Desk {
        let hands = self.desk.hands.kept(&mut self.voice);
        let practised = self.desk.practice.take().or_else(|| self.desk.practised.take());
        let number_keys = self.desk.number_keys;
        Desk { hands, practised, number_keys, ..Desk::default() }
    }

    /// Starts the job of the form, with the readings of a check of the same wiring.
    pub(super) fn start(&mut self) {
        self.desk.start_tried = true;
        if !start::missing(&self.desk.start).is_empty() {
            self.desk.focus = Some(Spot::Start);
            return;
        }
        let audited = self.desk.audited.as_ref().filter(|run| run.view().wiring == self.desk.start.wiring);
        let readings = audited.map(audit_desk::handed_over);
        self.desk.problem = None;
        self.desk.taken_over.begin(self.bench.known_before());
        self.give(Task::Start { form: Box::new(self.desk.start.clone()), readings });
    }

    /// Opens a job file.
    pub(super) fn open(&mut self, path: PathBuf) {
        self.desk.problem = None;
        self.give(Task::Open(path));
    }

    /// Gives up what is being done, if nothing of it is on disk.
    pub(super) fn give_up(&mut self) {
        if self.bench.give_up() {
            self.desk.taken_over.forget();
            self.restored();
            self.desk.problem = Some("Given up: nothing was changed.".to_owned());
        }
    }

    /// Asks how the job's tree would ask from now on what is asked instead of it.
    pub(super) fn propose(&mut self) {
        let detour = self.desk.detour.clone();
        detour.into_iter().for_each(|detour| self.give(Task::Propose(Box::new(detour))));
    }
}

/// Says where a ticket or a copy of it was written, and which letters are not in it.
fn written(what: &str, path: &Path, lacks: Option<String>) -> String {
    let newer = paper_ask::newer(path);
    let lacks = lacks.map_or_else(String::new, |lacks| format!(". {lacks}"));
    format!("The {what} was written to {}{newer}{lacks}", path.display())
}
