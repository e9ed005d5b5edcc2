//! Asks where something is to be written or which file is meant, and does it once that is answered.
//!
//! The window goes on meanwhile, so the answer may come when the screen shows something else.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::task::{Context, Poll, Wake, Waker};
use std::time::{Duration, Instant};

use super::action::{Action, AuditAction};
use super::app::App;
use super::dialogs::{Answer, Question, Reply};
use super::paper_ask::{self, PaperFile, Printed};
use super::paper_desk::PaperAction;
use super::past_ask::{self, PastFile};
use super::task::Task;
use super::trees::{TreePaper, TreesAction};
use super::{audit_desk, tree_desk, words};

/// Said when something is asked for that needs a second dialog.
pub const ONE_DIALOG: &str = "A file dialog is open already. Answer it or close it first.";
/// Said when the job or the check that a file was asked for was left before the answer came.
const LEFT: &str = "It was left before a file was chosen, so nothing was done with the file.";

/// Said when the system answers in the place of a person.
const NO_DIALOG: &str = "No file dialog could be opened on this system, so nothing was done.";
/// Nobody closes a dialog as soon as this.
const NOBODY: Duration = Duration::from_millis(400);

/// What is done with a file that is chosen.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Aim {
    /// Open the job in it.
    Open,
    /// Save the new job there.
    Place,
    /// Write the ticket of the job in this file, or a copy of it to print.
    Ticket(Option<PathBuf>, Option<Printed>),
    /// Write the checks of this wiring.
    Checklist(String),
    /// Write the tree that is known by this.
    Tree(String, TreePaper),
    /// Read or write something about past jobs.
    Past(PastFile),
    /// Take it into a form of the job in this file.
    Paper(Option<PathBuf>, PaperFile),
}

/// A dialog that is open, and what its answer is for.
pub(super) struct Asking {
    aim: Aim,
    begun: Instant,
    answer: Answer,
}

/// Wakes the window when a dialog is answered.
struct Bell(egui::Context);

impl Wake for Bell {
    fn wake(self: Arc<Self>) {
        self.0.request_repaint();
    }
}

impl App {
    /// Returns whether a file dialog is open.
    pub fn is_asking(&self) -> bool {
        self.asking.is_some()
    }

    /// Asks for a file when an action needs one, and returns whether it does.
    pub(super) fn asks(&mut self, action: &Action) -> bool {
        let Some((question, aim)) = self.question(action) else { return false };
        if self.asking.is_some() {
            self.say_problem(ONE_DIALOG.to_owned());
            return true;
        }
        match self.dialogs.ask(&question) {
            Reply::Now(paths) => self.answered(aim, paths),
            Reply::Later(answer) => self.asking = Some(Asking { aim, begun: Instant::now(), answer }),
        }
        true
    }

    /// Returns what is to be asked before an action can be carried out, and what for.
    fn question(&self, action: &Action) -> Option<(Question, Aim)> {
        match action {
            Action::OpenJob => Some((Question::OpenJob, Aim::Open)),
            Action::ChooseFile => Some((Question::SaveJob(self.desk.start.file.clone()), Aim::Place)),
            Action::Ticket => self.ticket_question("html", None),
            Action::TicketPdf(copy) => self.ticket_question("pdf", Some((*copy, None))),
            Action::Paper(asked) => self.paper_question(asked),
            Action::Audit(AuditAction::Save) => {
                let wiring = &self.desk.audit.as_ref()?.run.view().wiring;
                let question = Question::Checklist(format!("{wiring}-audit.html"));
                Some((question, Aim::Checklist(wiring.clone())))
            }
            Action::Trees(TreesAction::Write(paper)) => {
                let key = &self.desk.trees.as_ref()?.chosen;
                let name = &self.bench.trees().find(key)?.tree.as_ref()?.name;
                let question = Question::Tree(format!("{name}.{}", paper.ending()), paper.ending());
                Some((question, Aim::Tree(key.clone(), *paper)))
            }
            Action::Past(asked) => {
                let (question, file) = past_ask::question(self.desk.past.as_ref()?, asked)?;
                Some((question, Aim::Past(file)))
            }
            _ => None,
        }
    }

    fn paper_question(&self, asked: &PaperAction) -> Option<(Question, Aim)> {
        if let Some((ending, print)) = paper_ask::ticket(self.desk.paper.as_ref()?, asked) {
            return self.ticket_question(ending, print);
        }
        let (question, file) = paper_ask::question(asked)?;
        Some((question, Aim::Paper(self.job_file(), file)))
    }

    fn ticket_question(&self, ending: &str, print: Option<Printed>) -> Option<(Question, Aim)> {
        let name = words::plain_name(&self.bench.view()?.instrument);
        let name = match print {
            None => format!("{name}-ticket.{ending}"),
            Some((copy, _)) => format!("{name}-ticket-{}.{ending}", copy.name()),
        };
        Some((Question::Ticket(name), Aim::Ticket(self.job_file(), print)))
    }

    fn job_file(&self) -> Option<PathBuf> {
        self.bench.job_file().map(Path::to_owned)
    }

    /// Takes in the answer of the dialog that is open, once it is there.
    pub(super) fn take_answer(&mut self, ctx: &egui::Context) {
        let Some(asking) = &mut self.asking else { return };
        let waker = Waker::from(Arc::new(Bell(ctx.clone())));
        let Poll::Ready(paths) = asking.answer.as_mut().poll(&mut Context::from_waker(&waker)) else {
            return;
        };
        if let Some(Asking { aim, begun, .. }) = self.asking.take() {
            if paths.is_empty() && begun.elapsed() < NOBODY {
                self.no_dialog(aim);
            } else {
                self.answered(aim, paths);
            }
        }
    }

    /// Says that no dialog was there to be answered; for past jobs, a path can be typed then.
    fn no_dialog(&mut self, aim: Aim) {
        self.say_problem(NO_DIALOG.to_owned());
        if let Aim::Past(file) = aim {
            past_ask::offer_path(&mut self.desk, file);
        }
    }

    /// Does what a file was asked for, unless the person thought better of it.
    fn answered(&mut self, aim: Aim, paths: Vec<PathBuf>) {
        let Some(path) = paths.first().cloned() else { return };
        match aim {
            Aim::Open => self.open(path),
            Aim::Place => {
                self.desk.start.file = path;
                self.desk.file_touched = true;
            }
            Aim::Ticket(job, print) => self.write_ticket(job.as_deref(), print, path),
            Aim::Checklist(wiring) => {
                if !audit_desk::save(self.bench.as_ref(), &mut self.desk, &wiring, &path) {
                    self.say_problem(LEFT.to_owned());
                }
            }
            Aim::Tree(key, paper) => {
                tree_desk::write(self.bench.as_ref(), &mut self.desk, &key, paper, &path);
            }
            Aim::Past(file) => {
                if !past_ask::chosen(&mut self.desk, file, paths) {
                    self.say_problem(LEFT.to_owned());
                }
            }
            Aim::Paper(job, file) => {
                if !self.still_has(job.as_deref()) || !paper_ask::chosen(&mut self.desk, file, path) {
                    self.say_problem(LEFT.to_owned());
                }
            }
        }
    }

    /// Returns whether the job in this file is still open.
    fn still_has(&self, job: Option<&Path>) -> bool {
        self.bench.view().is_some() && self.bench.job_file() == job
    }

    fn write_ticket(&mut self, job: Option<&Path>, print: Option<Printed>, path: PathBuf) {
        if !self.still_has(job) {
            return self.say_problem(LEFT.to_owned());
        }
        if self.desk.paper.is_some() {
            (self.desk.problem, self.desk.told) = (None, None);
        }
        self.give(match print {
            None => Task::Ticket(path),
            Some((copy, paper)) => Task::TicketPdf(path, copy, paper),
        });
    }

    /// Says what went wrong on the screen that is shown.
    fn say_problem(&mut self, text: String) {
        match &mut self.desk.trees {
            Some(own) => own.problem = Some(text),
            None => self.desk.problem = Some(text),
        }
    }
}
