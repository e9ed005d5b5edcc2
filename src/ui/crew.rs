//! The tasks of the bench, one after the other: beside the window once there is a way to wake it, else at once.

use std::collections::VecDeque;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use super::task::{AWAY, Busy, Done, SCREEN_CHANGED, Wake};
use super::tree_change::Grounds;
use super::worker::{self, Change, Face, Line, Over, Print, Running};
use crate::draw::Sight;
use crate::job::Intake;
use crate::readings::{Access, Meter};
use crate::session::{DayLog, LogLine, PaperWish, PastJobs, Session};
use crate::source::Source;
use crate::workbench::Command;

/// What takes longer than this is written to the log.
const LONG: Duration = Duration::from_secs(1);
/// How long the end of the program waits for what was asked for and is not on disk yet.
const PATIENCE: Duration = Duration::from_secs(20);

/// A task with all that it needs.
pub(super) struct Errand {
    /// What it is, in words.
    pub says: &'static str,
    /// Whether it can be given up.
    pub stops: bool,
    /// What is to be done.
    pub work: Work,
}

/// What is to be done.
pub(super) enum Work {
    /// Carry a command out.
    Do {
        /// The command.
        command: Command,
        /// The revision that it was meant for, when it means what stands on the screen.
        seen: Option<u64>,
    },
    /// Make a job file and open the job.
    Start {
        /// Where.
        path: PathBuf,
        /// What is known.
        intake: Box<Intake>,
        /// What was read before.
        readings: Option<Vec<(usize, Command)>>,
    },
    /// Open a job file.
    Open {
        /// Where.
        path: PathBuf,
        /// What to say about it.
        notice: Option<String>,
    },
    /// Put the open job away.
    Leave,
    /// Write the ticket.
    Ticket {
        /// Where.
        path: PathBuf,
        /// How the instrument is looked at in it.
        sight: Sight,
        /// Which copy is to be printed; `None` for the form that the path's ending asks for.
        print: Option<Print>,
    },
    /// Add or change a photo, or name the earlier job.
    Paper(PaperWish),
    /// Work out the checks of a fresh wiring.
    Audit {
        /// The wiring.
        source: Source,
        /// The meter.
        meter: &'static Meter,
        /// How far the technician may go.
        access: Access,
    },
    /// Work out how a tree would ask what is asked instead of it.
    Propose(Box<Grounds>),
}

/// The open job, and what is being done and is to be done to it.
#[derive(Default)]
pub(super) struct Crew {
    /// How to wake the window; nothing is done beside it without.
    pub wake: Option<Wake>,
    /// Where to write what fails and what takes long.
    pub log: Option<DayLog>,
    /// Where every job is kept among past jobs.
    pub past: PastJobs,
    /// The open job's session, unless it is away on a task.
    session: Option<Box<Session>>,
    /// What is shown of the open job.
    face: Option<Box<Face>>,
    running: Option<Running>,
    waiting: VecDeque<Errand>,
    revision: u64,
}

impl Crew {
    /// Returns what is shown of the open job.
    pub fn face(&self) -> Option<&Face> {
        self.face.as_deref()
    }

    /// Returns the open job's session, unless it is away on a task.
    pub fn session(&self) -> Option<&Session> {
        self.session.as_deref()
    }

    /// Returns the open job's session, or why nothing can be asked of it now.
    pub fn asked(&self) -> Result<&Session, String> {
        self.session().ok_or_else(|| if self.is_away() { AWAY.to_owned() } else { no_job() })
    }

    /// Returns whether the open job is away on a task.
    pub fn is_away(&self) -> bool {
        self.face.is_some() && self.session.is_none()
    }

    /// Returns a number that changes whenever what is shown does.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Takes a task on, and returns what has come of it and of those before so far.
    pub fn give(&mut self, errand: Errand) -> Vec<Done> {
        self.waiting.push_back(errand);
        self.take_in()
    }

    /// Takes in what has been done, and begins what waits.
    pub fn take_in(&mut self) -> Vec<Done> {
        let mut done = self.heard();
        done.extend(self.go_on());
        done
    }

    /// Returns what is being done.
    pub fn busy(&self) -> Option<Busy> {
        self.running.as_ref().map(|running| running.busy(self.waiting.len()))
    }

    /// Gives up what is being done, if it can be, and returns whether it was.
    pub fn give_up(&mut self) -> bool {
        let can = self.busy().is_some_and(|busy| busy.can_be_given_up);
        if can {
            self.running = None;
        }
        can
    }

    /// Gives up what leaves nothing on disk, and does everything else to its end.
    pub fn finish(&mut self) {
        self.give_up();
        self.waiting
            .retain(|errand| matches!(errand.work, Work::Do { .. } | Work::Paper(_) | Work::Ticket { .. }));
        self.wake = None;
        self.take_in();
        self.finished();
    }

    /// Waits for what is being done and does what waits, then returns what came of it.
    pub fn finished(&mut self) -> Vec<Done> {
        let until = Instant::now() + PATIENCE;
        let mut all = Vec::new();
        while let Some(running) = &mut self.running {
            let (done, over) = running.wait(until.saturating_duration_since(Instant::now()));
            all.extend(done);
            match over {
                Some(over) => all.extend(self.over(over)),
                None => self.running = None,
            }
            all.extend(self.go_on());
        }
        all
    }

    /// Begins the tasks that wait, for as long as each is done at once.
    fn go_on(&mut self) -> Vec<Done> {
        let mut all = Vec::new();
        while self.running.is_none() {
            let Some(errand) = self.waiting.pop_front() else { break };
            all.extend(self.begin(errand));
            all.extend(self.heard());
        }
        all
    }

    /// Takes in what has come of the task that is under way.
    fn heard(&mut self) -> Vec<Done> {
        let Some(running) = &mut self.running else { return Vec::new() };
        let (mut done, over) = running.take_in();
        if let Some(over) = over {
            done.extend(self.over(over));
        }
        done
    }

    /// Begins a task; returns what came of it when there was nothing to begin.
    fn begin(&mut self, Errand { says, stops, work }: Errand) -> Option<Done> {
        match work {
            Work::Do { seen: Some(seen), .. } if seen != self.revision => {
                return Some(Done::Refused(SCREEN_CHANGED.to_owned()));
            }
            Work::Do { command, .. } => {
                let Some(session) = self.session.take() else { return Some(Done::Refused(no_job())) };
                self.run(says, stops, move |line| worker::carry_out(line, session, &command));
            }
            Work::Start { path, intake, readings } => {
                let past = self.past.clone();
                self.run(says, stops, move |line| worker::start(line, &path, *intake, readings, &past));
            }
            Work::Open { path, notice } => {
                let past = self.past.clone();
                self.run(says, stops, move |line| worker::open(line, &path, notice, &past));
            }
            Work::Leave => return Some(self.put_away()),
            Work::Ticket { path, sight, print } => {
                let Some(session) = self.session.take() else { return Some(Done::Failed(no_job())) };
                self.run(says, stops, move |_| worker::ticket(session, path, sight, print));
            }
            Work::Paper(wish) => {
                let Some(session) = self.session.take() else { return Some(Done::Refused(no_job())) };
                self.run(says, stops, move |line| worker::paper(line, session, &wish));
            }
            Work::Audit { source, meter, access } => {
                self.run(says, stops, move |line| worker::audit(line, &source, meter, access));
            }
            Work::Propose(grounds) => self.run(says, stops, move |_| worker::propose(*grounds)),
        }
        None
    }

    fn run(&mut self, says: &'static str, stops: bool, work: impl FnOnce(&Line) -> Over + Send + 'static) {
        self.running = Some(Running::begin(says, stops, self.wake.clone(), work));
    }

    /// Takes in how a task ended.
    fn over(&mut self, over: Over) -> Vec<Done> {
        if let Some(running) = self.running.take() {
            self.write_down(&running, over.sort);
        }
        if let Some(session) = over.session {
            self.session = Some(session);
        }
        self.change(over.change);
        match over.done {
            Done::Broke(why) if over.lost => self.mend(why),
            Done::Broke(why) if self.session.is_none() => vec![self.put_away(), Done::Failed(why)],
            done => vec![done],
        }
    }

    fn change(&mut self, change: Change) {
        match change {
            Change::Nothing => {}
            Change::Job(face) => self.show(Some(face)),
            Change::Step(step) => {
                if let Some(face) = &mut self.face {
                    face.step = *step;
                }
                self.revision += 1;
            }
        }
    }

    fn write_down(&self, running: &Running, sort: Option<&'static str>) {
        let Some(log) = &self.log else { return };
        let (doing, taken) = (running.doing(), running.since().elapsed());
        if let Some(sort) = sort {
            log.add(&LogLine::Failed { doing, sort });
        }
        if taken > LONG {
            log.add(&LogLine::Long { doing, seconds: taken.as_secs_f64() });
        }
    }

    /// Opens the job anew whose session was lost.
    fn mend(&mut self, why: String) -> Vec<Done> {
        let Some(path) = self.face.as_ref().map(|face| face.path.clone()).filter(|_| self.session.is_none())
        else {
            return vec![Done::Failed(why)];
        };
        let past = self.past.clone();
        self.run("opening the job again", false, move |line| worker::mend(line, &path, &why, &past));
        self.heard()
    }

    fn show(&mut self, face: Option<Box<Face>>) {
        self.face = face;
        self.revision += 1;
    }

    fn put_away(&mut self) -> Done {
        self.session = None;
        self.show(None);
        Done::Left
    }
}

/// Returns what is said when there is no job to do something to.
pub(super) fn no_job() -> String {
    "no job is open".to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    const DEMONSTRATION: &str = include_str!("../../assets/demo/school-loan-guitar.job.ron");

    fn opened(folder: &std::path::Path) -> Crew {
        let path = folder.join("a.job.ron");
        std::fs::write(&path, DEMONSTRATION.lines().next().unwrap().to_owned() + "\n").unwrap();
        let mut crew = Crew { log: Some(DayLog::at(folder.join("log"))), ..Crew::default() };
        let work = Work::Open { path, notice: None };
        let done = crew.give(Errand { says: "opening", stops: true, work });
        assert!(matches!(done[..], [Done::Opened(_)]), "{done:?}");
        crew
    }

    fn command(command: Command, seen: Option<u64>) -> Errand {
        Errand { says: "testing", stops: false, work: Work::Do { command, seen } }
    }

    #[test]
    fn a_job_whose_session_was_lost_is_opened_again() {
        let home = tempfile::tempdir().unwrap();
        let mut crew = opened(home.path());
        let session = crew.session.take();
        crew.run("testing", false, move |line| {
            assert!(session.is_none(), "a seeded break");
            worker::open(line, std::path::Path::new("nowhere"), None, &PastJobs::off())
        });
        let done = crew.take_in();
        assert!(matches!(&done[..], [Done::Broke(why)] if why.contains("opened again")), "{done:?}");
        let access = command(Command::SetAccess(Access::Telephone), None);
        assert!(matches!(crew.give(access)[..], [Done::Kept, Done::Shown(_)]), "it can be worked on");
        let files: Vec<_> = std::fs::read_dir(home.path().join("log")).unwrap().collect();
        let text = std::fs::read_to_string(files[0].as_ref().unwrap().path()).unwrap();
        assert!(text.contains("failed: testing: the program broke off"), "{text}");
        assert!(!text.contains("school"), "nothing about the job: {text}");
    }

    #[test]
    fn what_was_meant_for_another_step_is_refused() {
        let home = tempfile::tempdir().unwrap();
        let mut crew = opened(home.path());
        let seen = crew.revision();
        let access = command(Command::SetAccess(Access::Telephone), None);
        assert!(matches!(crew.give(access)[..], [Done::Kept, Done::Shown(_)]));
        let other = || Command::SetAccess(Access::Outside);
        let done = crew.give(command(other(), Some(seen)));
        assert!(matches!(&done[..], [Done::Refused(why)] if why == SCREEN_CHANGED), "{done:?}");
        let now = crew.revision();
        assert!(matches!(crew.give(command(other(), Some(now)))[..], [Done::Kept, Done::Shown(_)]));
    }

    #[test]
    fn without_a_job_every_command_is_refused() {
        let done = Crew::default().give(command(Command::Undo, None));
        assert!(matches!(&done[..], [Done::Refused(why)] if *why == no_job()), "{done:?}");
    }
}
