//! What the window needs from the rest of the program, as a trait, so that it can be driven without it.

use std::path::{Path, PathBuf};

use super::gallery::SmallPicture;
use super::task::{Busy, Done, Task, Wake, hand_over};
use super::tree_change::{Detour, Proposal};
use super::tree_news::TreeNews;
use super::tree_shelf::TreeShelf;
use crate::circuit::{Harness, Looks};
use crate::draw::{Picture, Sight};
use crate::job::ReadingId;
use crate::readings::{Access, Measurement, Mode, Symptom};
use crate::session::{
    KnownBefore, OwnPriors, PaperFacts, PaperWish, PastJobs, PracticeFile, ShopPlace, write_whole,
};
use crate::source::Located;
use crate::ticket::{Paper, TicketCopy};
use crate::workbench::{
    AuditRun, AuditView, CaseView, Command, LookBack, StepView, SuspectView, Telling, Trail, UnitDoubt, View,
};

/// A wiring that a job can be started with.
#[derive(Clone, Debug)]
pub struct WiringChoice {
    /// The name used in files.
    pub name: String,
    /// The short code, such as `A2a`.
    pub code: String,
    /// One line that a person recognises the instrument by.
    pub title: String,
    /// What is particular about it.
    pub about: String,
    /// A small picture of it.
    pub picture: SmallPicture,
    /// What can be counted of it from outside.
    pub looks: Looks,
    /// Whether it is one of the person's own files.
    pub own: bool,
}

impl WiringChoice {
    /// Makes a choice of a wiring; its picture is drawn when it is looked at.
    pub fn new(harness: &Harness, own: bool) -> Self {
        Self {
            name: harness.name.clone(),
            code: harness.code.clone(),
            title: harness.title.clone(),
            about: harness.about.clone(),
            picture: SmallPicture::of(harness),
            looks: Looks::of(harness),
            own,
        }
    }
}

/// One of the person's own wiring files.
#[derive(Clone, Debug)]
pub struct OwnFile {
    /// The file.
    pub path: PathBuf,
    /// Its text.
    pub text: String,
    /// The wiring it holds, or everything that is wrong with it, in the order of the file.
    pub wiring: Result<WiringChoice, Vec<Located>>,
}

impl OwnFile {
    /// Returns the file's own name.
    pub fn name(&self) -> String {
        self.path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
    }

    /// Returns everything that is wrong with it.
    pub fn problems(&self) -> &[Located] {
        self.wiring.as_ref().err().map_or(&[], Vec::as_slice)
    }
}

/// A class of meter that a job can be started with.
#[derive(Clone, Debug)]
pub struct MeterChoice {
    /// The name used in files.
    pub name: String,
    /// What a person calls it.
    pub title: String,
}

/// What is asked when a job is started.
#[derive(Clone, Debug, PartialEq)]
pub struct StartForm {
    /// Name of the wiring; empty until one is chosen.
    pub wiring: String,
    /// The instrument in the shop's words.
    pub instrument: String,
    /// The customer; may stay empty.
    pub customer: String,
    /// The complaint in the customer's words.
    pub complaint: String,
    /// What the complaint means.
    pub symptoms: Vec<Symptom>,
    /// What was done to the instrument last; may stay empty.
    pub last_done: String,
    /// How far the technician may go.
    pub access: Access,
    /// Name of the meter class.
    pub meter: String,
    /// Who works on it; may stay empty.
    pub technician: String,
    /// Where the job file is made.
    pub file: PathBuf,
}

/// The program behind the window: one job at a time, and what is needed to start one.
pub trait Bench {
    /// Returns the wirings a job can be started with.
    fn wirings(&self) -> &[WiringChoice];

    /// Returns what a meter or a look tells wirings of these names apart by that look alike; `None` while it is being
    /// worked out.
    ///
    /// # Errors
    /// Returns the message to show when it cannot be worked out.
    fn tell_apart(&mut self, names: &[String]) -> Option<Result<Vec<Telling>, String>>;

    /// Returns where the person's own wirings are.
    fn own_folder(&self) -> &Path;

    /// Returns the person's own wiring files as they were found last.
    fn own_files(&self) -> &[OwnFile];

    /// Returns the person's own priors as they were found last, right or wrong; `None` when there are none.
    fn own_priors(&self) -> Option<&OwnPriors> {
        None
    }

    /// Looks at the folder of own wirings without waiting for it, and returns whether the look is still under way;
    /// what it found is taken in by a later call.
    fn look_at_own(&mut self) -> bool;

    /// Looks at own wirings and trees when something of them may have changed, whatever is on the screen, and takes in
    /// what such a look found; returns whether one is under way. `now` is in seconds of the window's clock.
    fn look_around(&mut self, _now: f64) -> bool {
        false
    }

    /// Copies a wiring to a new file of the person's own.
    ///
    /// # Errors
    /// Returns the message to show when the file cannot be made.
    fn copy_wiring(&mut self, name: &str) -> Result<PathBuf, String>;

    /// Returns the meter classes a job can be started with, the usual one first.
    fn meters(&self) -> &[MeterChoice];

    /// Returns what a complaint in the customer's words seems to mean; the person at the bench may change it.
    fn symptoms_in(&self, complaint: &str) -> Vec<Symptom>;

    /// Returns where a job for this instrument would be saved if nothing else is chosen.
    fn file_for(&self, instrument: &str) -> PathBuf;

    /// Makes the job file and opens the job.
    ///
    /// # Errors
    /// Returns the message to show beside the form when the job cannot be started.
    fn start(&mut self, form: StartForm) -> Result<(), String>;

    /// Opens an existing job file and returns what the person must know about it.
    ///
    /// # Errors
    /// Returns the message to show when the file cannot be opened.
    fn open(&mut self, path: &Path) -> Result<Vec<String>, String>;

    /// Opens the demonstration job and returns what the person must know about it.
    ///
    /// # Errors
    /// Returns the message to show when it cannot be opened.
    fn demonstrate(&mut self) -> Result<Vec<String>, String>;

    /// Puts the open job away; its file stays as it is.
    fn leave(&mut self);

    /// Returns the open job.
    fn view(&self) -> Option<&View>;

    /// Returns a number that changes whenever [`Self::view`] does.
    fn revision(&self) -> u64;

    /// Does what is asked, on disk before it returns, and returns what was understood in words.
    ///
    /// # Errors
    /// Returns the message to show beside the entry; nothing was changed then.
    fn apply(&mut self, command: Command) -> Result<String, String>;

    /// Returns the open job's file; `None` where it is not known.
    fn job_file(&self) -> Option<&Path> {
        None
    }

    /// Takes a task on, after those given before, and returns what has come of all of them so far.
    ///
    /// Unless this is made otherwise, everything is done here and now.
    fn give(&mut self, task: Task) -> Vec<Done> {
        self.do_now(task)
    }

    /// Does a task here and now, and returns what has come of it.
    fn do_now(&mut self, task: Task) -> Vec<Done> {
        match task {
            Task::Do { command, .. } => match self.apply(command) {
                Ok(told) => vec![Done::Kept, Done::Shown(told)],
                Err(why) => vec![Done::Refused(why)],
            },
            Task::Start { form, readings } => match self.start(*form) {
                Ok(()) => {
                    let record = |command: &Command| self.apply(command.clone()).map(|_| ());
                    vec![Done::Opened(hand_over(readings, record))]
                }
                Err(why) => vec![Done::Failed(why)],
            },
            Task::Open(path) => opened(self.open(&path)),
            Task::Demonstrate => opened(self.demonstrate()),
            Task::Leave => {
                self.leave();
                vec![Done::Left]
            }
            Task::Ticket(path) => match self.ticket(&path) {
                Ok(()) => vec![Done::Written(path, None)],
                Err(why) => vec![Done::Failed(why)],
            },
            Task::Paper(wish) => match self.on_paper(&wish) {
                Ok(told) => vec![Done::Kept, Done::Shown(told)],
                Err(why) => vec![Done::Refused(why)],
            },
            Task::TicketPdf(path, copy, paper) => match self.ticket_pdf(&path, copy, paper) {
                Ok(lacks) => vec![Done::Copied(path, lacks)],
                Err(why) => vec![Done::Failed(why)],
            },
            Task::Audit(form) => match self.audit(&form) {
                Ok(view) => vec![Done::Audited(Box::new(view))],
                Err(why) => vec![Done::Failed(why)],
            },
            Task::Propose(detour) => {
                let proposal = self.propose(&detour);
                vec![Done::Proposed(Box::new((*detour, proposal)))]
            }
        }
    }

    /// Returns what has come of the tasks since this was asked last; asked once before every frame.
    fn take_in(&mut self) -> Vec<Done> {
        Vec::new()
    }

    /// Returns what is being done beside the window.
    fn busy(&self) -> Option<Busy> {
        None
    }

    /// Returns whether the open job is away on a task beside the window: nothing can be asked of it until it is back.
    fn is_away(&self) -> bool {
        false
    }

    /// Gives up what is being done beside the window, if nothing of it is on disk yet; returns whether it was.
    fn give_up(&mut self) -> bool {
        false
    }

    /// From now on does what takes long beside the window, and calls `wake` when there is something to be taken in.
    fn work_beside(&mut self, wake: Wake) {
        drop(wake);
    }

    /// Returns how to wake the window from beside it; `None` while everything is done at once.
    fn wake(&self) -> Option<Wake> {
        None
    }

    /// Waits, before the program ends, until everything that was asked for is on disk.
    fn finish(&mut self) {}

    /// Returns what the typed text would mean, in words.
    ///
    /// # Errors
    /// Returns why it cannot be taken, with the question to ask.
    fn echo(&self, text: &str, flexed: bool, mode: Mode) -> Result<String, String>;

    /// Returns what to ask about the unit of a text before it is recorded for a measurement of the open job.
    fn unit_doubt(&self, _measurement: &Measurement, _text: &str) -> Option<UnitDoubt> {
        None
    }

    /// Returns the wiring picture of the open job with the probes of a measurement and some suspects marked.
    fn picture(&self, probes: Option<&Measurement>, suspects: &[SuspectView]) -> Option<Picture>;

    /// Returns how the instrument is looked at in pictures and on the ticket.
    fn sight(&self) -> Sight {
        Sight::default()
    }

    /// Looks at the instrument this way from now on, in pictures and on the ticket.
    fn look_from(&mut self, _sight: Sight) {}

    /// Returns the wiring of the open job; `None` without one.
    fn harness(&self) -> Option<&Harness> {
        None
    }

    /// Returns a reading of a person's own as a step, with what a healthy instrument and each suspect would read.
    ///
    /// # Errors
    /// Returns the message to show when it cannot be foretold.
    fn foretold(&self, _measurement: &Measurement) -> Result<StepView, String> {
        Err("no job is open".to_owned())
    }

    /// Works out the checks that prove a fresh wiring whole, for the wiring, access and meter of the form.
    ///
    /// # Errors
    /// Returns the message to show when they cannot be worked out.
    fn audit(&mut self, form: &StartForm) -> Result<AuditView, String>;

    /// Returns the picture of a wiring with the probes of a measurement marked.
    fn audit_picture(&self, wiring: &str, probes: &Measurement) -> Option<Picture>;

    /// Writes an audit's list as Markdown or HTML, by the ending of the path.
    ///
    /// # Errors
    /// Returns the message to show when it cannot be written.
    fn save_audit(&self, run: &AuditRun, path: &Path) -> Result<(), String>;

    /// Writes the ticket as Markdown or HTML, by the ending of the path.
    ///
    /// # Errors
    /// Returns the message to show when it cannot be written.
    fn ticket(&self, path: &Path) -> Result<(), String>;

    /// Returns the file of what was practised; `None` when it is not kept.
    fn practice_file(&self) -> Option<PracticeFile> {
        None
    }

    /// Returns where past jobs are kept.
    fn past(&self) -> PastJobs {
        PastJobs::off()
    }

    /// Looks for what past jobs know of the instrument in a form without waiting, and returns whether the look is still
    /// under way.
    fn look_for_known(&mut self, _form: &StartForm) -> bool {
        false
    }

    /// Returns what past jobs know of the instrument that was looked for last.
    fn known_before(&self) -> &[KnownBefore] {
        &[]
    }

    /// Writes a copy of the ticket as a PDF file to print; on the shop's paper when none is named. Returns what is to be
    /// said of letters that could not be printed.
    ///
    /// # Errors
    /// Returns the message to show when it cannot be written.
    fn ticket_pdf(
        &self,
        _path: &Path,
        _copy: TicketCopy,
        _paper: Option<Paper>,
    ) -> Result<Option<String>, String> {
        Err("nothing can be printed here".to_owned())
    }

    /// Returns what is known of the open job for its estimate, bill and photos; `None` without one.
    fn paper(&self) -> Option<&PaperFacts> {
        None
    }

    /// Adds or changes a photo of the open job, or names the earlier one, and returns what was done in words.
    ///
    /// # Errors
    /// Returns the message to show beside the form; nothing was changed then.
    fn on_paper(&mut self, _wish: &PaperWish) -> Result<String, String> {
        Err("no job is open".to_owned())
    }

    /// Returns where the shop's file is.
    fn shop(&self) -> ShopPlace {
        ShopPlace::usual()
    }

    /// Returns the trees as they were found last.
    fn trees(&self) -> &TreeShelf;

    /// Returns the trees, to look for changes, to check and to change them.
    fn trees_mut(&mut self) -> &mut TreeShelf;

    /// Returns which way the open job went through its tree; `None` without one.
    fn trail(&self) -> Option<Trail> {
        None
    }

    /// Returns what has become of the file of the tree that the open job goes by; `None` when the job has it as it is.
    fn tree_news(&self) -> Option<TreeNews> {
        None
    }

    /// Returns a reading of the open job as it was taken; `None` when there is none of this number.
    ///
    /// # Errors
    /// Returns the message to show when it cannot be worked out.
    fn look_back(&self, _id: ReadingId) -> Result<Option<LookBack>, String> {
        Ok(None)
    }

    /// Returns a suspect of the open job looked at closely, by the id of its first fault; `None` when there is none.
    ///
    /// # Errors
    /// Returns the message to show when it cannot be worked out.
    fn case(&self, _fault: &str) -> Result<Option<CaseView>, String> {
        Ok(None)
    }

    /// Returns what is asked instead of what the job's tree says.
    fn detour(&self) -> Option<Detour> {
        Detour::of(self.view()?, self.trail().as_ref())
    }

    /// Returns how a tree would ask from now on what was asked instead of it.
    ///
    /// # Errors
    /// Returns the message to show when a tree cannot ask for it.
    fn propose(&self, detour: &Detour) -> Result<Proposal, String>;

    /// Writes a document.
    ///
    /// # Errors
    /// Returns what the system said.
    fn write(&self, path: &Path, bytes: &[u8]) -> std::io::Result<()> {
        write_whole(path, bytes)
    }
}

fn opened(opened: Result<Vec<String>, String>) -> Vec<Done> {
    vec![opened.map_or_else(Done::Failed, Done::Opened)]
}
