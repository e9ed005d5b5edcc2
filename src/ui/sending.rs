//! What the window sends to the bench, and how it takes in what comes back.

use std::path::PathBuf;
use std::time::Duration;

use egui::Context;

use super::action::{Desk, Overlay, Pane, Spot};
use super::app::App;
use super::task::{Done, Task};
use super::{audit_desk, start, words};
use crate::workbench::Command;

/// How long to wait before asking again what has been done.
const SOON: Duration = Duration::from_millis(100);
/// Said when a command is on disk, until it is known what follows from it.
const ON_DISK: &str = "Recorded on disk. What follows from it is being worked out.";

/// What stood on the screen when a command was sent that is not on disk yet.
#[derive(Debug)]
pub(super) struct Sent {
    entry: String,
    overlay: Option<Overlay>,
}

impl App {
    /// Sends a command; what is typed stays until it is on disk.
    pub(super) fn apply(&mut self, command: Command) {
        self.sent.push_back(Sent { entry: self.desk.entry.trim().to_owned(), overlay: self.desk.overlay });
        let seen = self.bench.revision();
        self.give(Task::Do { command, seen });
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
            Done::Refused(why) => {
                self.sent.pop_front();
                self.refused(why);
            }
            Done::Opened(notices) => self.opened(notices),
            Done::Left => self.left(),
            Done::Written(path) => {
                self.desk.told = Some(format!("The ticket was written to {}", path.display()));
            }
            Done::Audited(view) => audit_desk::show(&mut self.desk, *view),
            Done::Failed(why) => {
                self.desk.problem = Some(why);
                self.restored();
            }
            Done::Broke(why) => {
                self.sent.clear();
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
        (desk.echo, desk.problem, desk.reprove) = (None, None, None);
        (desk.pane, desk.spot) = (Pane::Step, Spot::Home);
        self.keyboard_home();
        if !self.desk.entry.is_empty() {
            self.typed();
        }
        self.desk.told = Some(ON_DISK.to_owned());
    }

    fn shown(&mut self, told: String) {
        self.desk.told = Some(told).filter(|text| !text.is_empty());
        if self.desk.entry.is_empty() {
            self.keyboard_home();
        }
    }

    fn keyboard_home(&mut self) {
        if self.desk.overlay.is_none() {
            self.desk.focus = Some(Spot::Home);
        }
    }

    /// Says why something was refused, beside what is typed.
    pub(super) fn refused(&mut self, problem: String) {
        self.desk.problem = Some(problem);
        self.desk.focus = Some(if self.desk.overlay.is_some() { Spot::Overlay } else { Spot::Home });
    }

    fn opened(&mut self, notices: Vec<String>) {
        self.sent.clear();
        self.desk = Desk { notices, focus: Some(Spot::Home), ..Desk::default() };
        if let Some(unsent) = self.restored() {
            self.desk.entry = unsent.entry;
            self.desk.repair.what = unsent.repair;
            self.desk.repair.minutes = unsent.minutes;
            self.typed();
        }
    }

    fn left(&mut self) {
        self.sent.clear();
        self.desk = Desk { focus: Some(Spot::Start), ..Desk::default() };
        self.tidy_start_form();
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
        self.give(Task::Start { form: Box::new(self.desk.start.clone()), readings });
    }

    /// Lets the person choose a job file and opens it.
    pub(super) fn open_job(&mut self) {
        if let Some(path) = self.dialogs.open_job() {
            self.open(path);
        }
    }

    /// Opens a job file.
    pub(super) fn open(&mut self, path: PathBuf) {
        self.desk.problem = None;
        self.give(Task::Open(path));
    }

    /// Gives up what is being done, if nothing of it is on disk.
    pub(super) fn give_up(&mut self) {
        if self.bench.give_up() {
            self.restored();
            self.desk.problem = Some("Given up: nothing was changed.".to_owned());
        }
    }

    /// Asks where, and writes the ticket.
    pub(super) fn ticket(&mut self) {
        let Some(view) = self.bench.view() else { return };
        let suggested = format!("{}-ticket.html", words::plain_name(&view.instrument));
        if let Some(path) = self.dialogs.save_ticket(&suggested) {
            self.give(Task::Ticket(path));
        }
    }
}
