//! One task at a time beside the window: the session goes there and comes back with what is to be shown.

use std::collections::BTreeSet;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use super::task::{Busy, Done, Wake, hand_over};
use super::tree_change::Grounds;
use super::words;
use crate::circuit::{Harness, PlaceId};
use crate::draw::{Plan, Sight};
use crate::job::{Intake, to_line};
use crate::readings::{Access, Meter};
use crate::session::{PaperFacts, PaperWish, PastJobs, Phase, Session, SessionError, ShopPlace};
use crate::source::Source;
use crate::ticket::{Paper, TicketCopy};
use crate::workbench::{Command, Engine, Trail, View};

/// The job that the demonstration opens, replayed from its file.
pub(super) const DEMONSTRATION: &str = include_str!("../../assets/demo/school-loan-guitar.job.ron");

/// What of a job changes with every command.
pub(super) struct Step {
    /// What is shown.
    pub view: View,
    /// Which way the job went through its tree.
    pub trail: Option<Trail>,
    /// The places that are open.
    pub opened: BTreeSet<PlaceId>,
    /// What is known of it for estimate, bill and photos.
    pub paper: PaperFacts,
}

impl Step {
    fn of(session: &Session) -> Self {
        Self {
            view: session.view().clone(),
            trail: session.bench().trail(),
            opened: session.bench().situation().stand.opened.clone(),
            paper: PaperFacts::of(session),
        }
    }
}

/// What the screen needs of the open job while its session is away.
pub(super) struct Face {
    /// How far it is.
    pub step: Step,
    /// The wiring.
    pub harness: Harness,
    /// Where everything lies in its picture.
    pub plan: Plan,
    /// The job file.
    pub path: PathBuf,
}

impl Face {
    fn of(session: &Session) -> Self {
        let harness = session.harness().clone();
        let plan = Plan::new(&harness);
        Self { step: Step::of(session), harness, plan, path: session.path().to_owned() }
    }
}

/// What has changed on the screen.
pub(super) enum Change {
    /// Nothing.
    Nothing,
    /// Another job is shown.
    Job(Box<Face>),
    /// The same job has gone on.
    Step(Box<Step>),
}

/// How a task ended.
pub(super) struct Over {
    /// The session that is open now, unless it stayed where it was or was lost.
    pub session: Option<Box<Session>>,
    /// What has changed on the screen.
    pub change: Change,
    /// What came of it.
    pub done: Done,
    /// What sort of mistake it was, for the log.
    pub sort: Option<&'static str>,
    /// Whether the session was lost, so that the job must be opened anew.
    pub lost: bool,
}

impl Over {
    fn of(done: Done) -> Self {
        Self { session: None, change: Change::Nothing, done, sort: None, lost: false }
    }

    fn failed(done: Done, sort: &'static str) -> Self {
        Self { sort: Some(sort), ..Self::of(done) }
    }

    fn lost(why: &str) -> Self {
        let done = Done::Broke(format!("Something went wrong in the program: {why}."));
        Self { lost: true, ..Self::failed(done, "the program broke off") }
    }
}

enum Note {
    Phase(Phase),
    Done(Done),
    Over(Box<Over>),
}

/// The line from the work to the window.
pub(super) struct Line {
    notes: Sender<Note>,
    stopped: Arc<AtomicBool>,
    wake: Option<Wake>,
}

impl Line {
    fn tell(&self, note: Note) {
        // Nobody listens any more when the task was given up.
        let _ = self.notes.send(note);
        if let Some(wake) = &self.wake {
            wake();
        }
    }

    /// Tells which part begins, and returns whether to go on.
    fn phase(&self, phase: Phase) -> bool {
        self.tell(Note::Phase(phase));
        !self.stopped.load(Ordering::Relaxed)
    }
}

/// A task that is under way; it is given up when this is dropped.
pub(super) struct Running {
    doing: &'static str,
    can_be_given_up: bool,
    phase: Option<Phase>,
    since: Instant,
    stopped: Arc<AtomicBool>,
    notes: Receiver<Note>,
}

impl Running {
    /// Begins a task beside the window if there is a way to wake it, else does it here and now.
    pub fn begin(
        doing: &'static str,
        can_be_given_up: bool,
        wake: Option<Wake>,
        work: impl FnOnce(&Line) -> Over + Send + 'static,
    ) -> Self {
        let (sender, notes) = channel();
        let stopped = Arc::new(AtomicBool::new(false));
        let line = Line { notes: sender, stopped: Arc::clone(&stopped), wake };
        let beside = line.wake.is_some();
        let guarded = move || {
            let over = catch_unwind(AssertUnwindSafe(|| work(&line)));
            let over = over.unwrap_or_else(|_| Over::lost("it broke off in the middle"));
            line.tell(Note::Over(Box::new(over)));
        };
        if beside {
            thread::spawn(guarded);
        } else {
            guarded();
        }
        Self { doing, can_be_given_up, phase: None, since: Instant::now(), stopped, notes }
    }

    /// Returns what is being done.
    pub fn doing(&self) -> &'static str {
        self.doing
    }

    /// Returns since when.
    pub fn since(&self) -> Instant {
        self.since
    }

    /// Returns what it is, with so many tasks waiting behind it.
    pub fn busy(&self, waiting: usize) -> Busy {
        let Self { doing, can_be_given_up, phase, since, .. } = *self;
        Busy { doing, phase, since, waiting, can_be_given_up }
    }

    /// Takes in what has come: what is done so far, and how it ended once it is over.
    pub fn take_in(&mut self) -> (Vec<Done>, Option<Over>) {
        let mut done = Vec::new();
        while let Ok(note) = self.notes.try_recv() {
            match note {
                Note::Phase(phase) => self.phase = Some(phase),
                Note::Done(one) => done.push(one),
                Note::Over(over) => return (done, Some(*over)),
            }
        }
        (done, None)
    }

    /// Waits until it is over, for so long at most, and returns what came of it.
    pub fn wait(&mut self, at_most: Duration) -> (Vec<Done>, Option<Over>) {
        let until = Instant::now() + at_most;
        let mut done = Vec::new();
        while let Ok(note) = self.notes.recv_timeout(until.saturating_duration_since(Instant::now())) {
            match note {
                Note::Phase(phase) => self.phase = Some(phase),
                Note::Done(one) => done.push(one),
                Note::Over(over) => return (done, Some(*over)),
            }
        }
        (done, None)
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        self.stopped.store(true, Ordering::Relaxed);
    }
}

/// Carries a command out: what it leads to is on disk before anything is worked out from it.
pub(super) fn carry_out(line: &Line, mut session: Box<Session>, command: &Command) -> Over {
    let kept = match session.keep(command) {
        Ok(kept) => kept,
        Err(error) => {
            let refused = Over::failed(Done::Refused(error.to_string()), error.sort());
            return Over { session: Some(session), ..refused };
        }
    };
    line.tell(Note::Done(Done::Kept));
    if let Err(error) = session.take_in(kept) {
        return Over::lost(&error.to_string());
    }
    let told = session.told_of(command).map(|told| words::sentence(&told));
    let done = Done::Shown(told.unwrap_or_else(|| understood(command, session.view())));
    let step = Step::of(&session);
    Over { session: Some(session), change: Change::Step(Box::new(step)), ..Over::of(done) }
}

/// Does what a form about photos or an earlier job asks for.
pub(super) fn paper(line: &Line, session: Box<Session>, wish: &PaperWish) -> Over {
    match session.command_for(wish) {
        Ok(command) => carry_out(line, session, &command),
        Err(error) => {
            let refused = Over::failed(Done::Refused(error.to_string()), error.sort());
            Over { session: Some(session), ..refused }
        }
    }
}

/// Makes a job file and opens the job, and records what was read before it began; past jobs have their say first.
pub(super) fn start(
    line: &Line,
    path: &Path,
    mut intake: Intake,
    readings: Option<Vec<(usize, Command)>>,
    past: &PastJobs,
) -> Over {
    if let Err(why) = make_folder(path) {
        return Over::failed(Done::Failed(why), "a folder cannot be made");
    }
    let mut notices = past.prepare(&mut intake).notices;
    match Session::start_watched(path, intake, &|phase| line.phase(phase)) {
        Ok(session) => {
            let mut session = session.kept_in(past);
            let record = |command: &Command| session.apply(command).map_err(|error| error.to_string());
            notices.extend(hand_over(readings, record));
            opened(session, notices)
        }
        Err(error) => failed(&error),
    }
}

/// Opens a job file, and adds a notice to what the person must know about it.
pub(super) fn open(line: &Line, path: &Path, notice: Option<String>, past: &PastJobs) -> Over {
    match Session::open_watched(path, &|phase| line.phase(phase)) {
        Ok((session, mut notices)) => {
            notices.extend(notice);
            let kept = if is_invented(&session) { session } else { session.kept_in(past) };
            opened(kept, notices)
        }
        Err(error) => failed(&error),
    }
}

/// Returns whether a job is the demonstration: an invented instrument is no past job.
fn is_invented(session: &Session) -> bool {
    let first = session.bench().job().records().first();
    first.and_then(|first| to_line(first).ok()).as_deref() == DEMONSTRATION.lines().next()
}

/// Opens a job anew after its session was lost, and says why.
pub(super) fn mend(line: &Line, path: &Path, why: &str, past: &PastJobs) -> Over {
    match open(line, path, None, past) {
        over @ Over { done: Done::Opened(_), .. } => {
            let said = format!("{why} The job was opened again from its file; look at the last reading.");
            Over { done: Done::Broke(said), ..over }
        }
        Over { done: Done::Failed(also), sort, .. } => {
            Over { sort, ..Over::of(Done::Broke(format!("{why} It could not be opened again: {also}"))) }
        }
        over => over,
    }
}

/// A copy of the ticket to print.
pub(super) struct Print {
    /// Whose it is.
    pub copy: TicketCopy,
    /// On what; the shop's paper, or A4, when none is named.
    pub paper: Option<Paper>,
    /// Where the shop's file is.
    pub shop: ShopPlace,
}

impl Print {
    /// Writes the copy; returns what is to be said of letters that could not be printed.
    ///
    /// # Errors
    /// Returns why it cannot be made or written.
    pub fn write(
        &self,
        session: &Session,
        path: &Path,
        sight: Sight,
    ) -> Result<Option<String>, SessionError> {
        session.write_ticket_pdf(path, self.copy, self.paper, &self.shop.shop()?, sight)
    }
}

/// Writes the ticket, or a copy of it to print.
pub(super) fn ticket(session: Box<Session>, path: PathBuf, sight: Sight, print: Option<Print>) -> Over {
    let (written, done): (_, fn(PathBuf, Option<String>) -> Done) = match print {
        Some(print) => (print.write(&session, &path, sight), Done::Copied),
        None => (session.write_ticket_seen(&path, sight), Done::Written),
    };
    let over = written.map_or_else(|error| failed(&error), |lacks| Over::of(done(path, lacks)));
    Over { session: Some(session), ..over }
}

/// Works out the checks of a fresh wiring.
pub(super) fn audit(line: &Line, wiring: &Source, meter: &'static Meter, access: Access) -> Over {
    line.phase(Phase::Wiring);
    let found = Engine::new(wiring, meter, &[]).and_then(|engine| engine.audit(access));
    match found {
        Ok(view) => Over::of(Done::Audited(Box::new(view))),
        Err(error) => Over::failed(Done::Failed(error.to_string()), "the checks cannot be worked out"),
    }
}

/// Works out how a tree would ask what is asked instead of it.
pub(super) fn propose(grounds: Grounds) -> Over {
    let proposal = grounds.propose();
    Over::of(Done::Proposed(Box::new((grounds.detour, proposal))))
}

fn opened(session: Session, notices: Vec<String>) -> Over {
    let face = Box::new(Face::of(&session));
    Over { session: Some(Box::new(session)), change: Change::Job(face), ..Over::of(Done::Opened(notices)) }
}

fn failed(error: &SessionError) -> Over {
    Over::failed(Done::Failed(error.to_string()), error.sort())
}

/// Makes the folder that a file is to be in.
pub(super) fn make_folder(file: &Path) -> Result<(), String> {
    let Some(folder) = file.parent() else { return Ok(()) };
    std::fs::create_dir_all(folder).map_err(|why| format!("making the folder {}: {why}", folder.display()))
}

/// Returns what was understood, so that a person can see that it was the right thing.
fn understood(command: &Command, view: &View) -> String {
    match command {
        Command::Record { .. } => {
            view.readings.iter().rfind(|reading| !reading.withdrawn).map_or_else(String::new, |reading| {
                format!("Reading {} recorded: {}", reading.id.0, reading.found)
            })
        }
        Command::Correct { id, .. } => format!("Reading {} corrected", id.0),
        Command::Withdraw { id, .. } => format!("Reading {} withdrawn", id.0),
        Command::Prove { .. } => {
            let taken = view.proof.iter().filter(|proof| proof.passed.is_some()).count();
            format!("Proof reading recorded: {taken} of {} taken", view.proof.len())
        }
        Command::SearchOn { .. } => "The search goes on with all that is known".to_owned(),
        Command::TakeAgain { id } => format!("Reading {} is asked for again", id.0),
        Command::Skip { .. } => "Step left out".to_owned(),
        Command::Estimate(_) => "Estimate recorded".to_owned(),
        Command::Authorise { .. } => "Consent recorded".to_owned(),
        Command::Bill { .. } => "Bill recorded".to_owned(),
        Command::AddPhoto { file, .. } => format!("The photo {file} is in the job"),
        Command::LinkWarranty { job, .. } => format!("Noted as a comeback of {job}"),
        Command::UseTree { .. } => "The changed tree is in use; undo goes back to the one before".to_owned(),
        Command::Undo => "Taken back".to_owned(),
        Command::Redo => "Brought back".to_owned(),
        _ => String::new(),
    }
}
