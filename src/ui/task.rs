//! What the window gives the program behind it to do, and what comes back; long tasks are done beside the window.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Instant;

use super::bench::StartForm;
use super::tree_change::{Detour, Proposal};
use crate::session::{PaperWish, Phase};
use crate::ticket::{Paper, TicketCopy};
use crate::workbench::{AuditView, Command};

/// Is called from beside the window when there is something to be taken in.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// One thing to do that may take longer than a frame.
#[derive(Clone, Debug)]
pub enum Task {
    /// Carry a command out.
    Do {
        /// The command.
        command: Command,
        /// The bench's revision that the person saw when they asked for it.
        seen: u64,
    },
    /// Make a job file and open the job.
    Start {
        /// What is known.
        form: Box<StartForm>,
        /// Readings of a check of the same wiring that go into the job, with the number of the check; `None` without one.
        readings: Option<Vec<(usize, Command)>>,
    },
    /// Open a job file.
    Open(PathBuf),
    /// Open the demonstration job.
    Demonstrate,
    /// Put the open job away.
    Leave,
    /// Write the ticket, as Markdown or HTML by the ending.
    Ticket(PathBuf),
    /// Write a copy of the ticket to print; on the shop's paper when none is named.
    TicketPdf(PathBuf, TicketCopy, Option<Paper>),
    /// Add or change a photo, or name the earlier job.
    Paper(PaperWish),
    /// Work out the checks of a fresh wiring.
    Audit(Box<StartForm>),
    /// Work out how the job's tree would ask from now on what is asked instead of it.
    Propose(Box<Detour>),
}

impl Task {
    /// Returns what is being done, in words.
    pub const fn says(&self) -> &'static str {
        match self {
            Self::Do { command, .. } => doing(command),
            Self::Start { .. } => "starting the job",
            Self::Open(_) => "opening the job",
            Self::Demonstrate => "opening the demonstration job",
            Self::Leave => "putting the job away",
            Self::Ticket(_) | Self::TicketPdf(..) => "writing the ticket",
            Self::Paper(_) => "adding it to the job",
            Self::Audit(_) => "working out the checks",
            Self::Propose(_) => "working out the change of the tree",
        }
    }

    /// Returns whether it can be given up: nothing is on disk before it ends.
    pub const fn can_be_given_up(&self) -> bool {
        matches!(self, Self::Start { .. } | Self::Open(_) | Self::Demonstrate | Self::Audit(_))
    }

    /// Returns whether it means what stands on the screen, so that it must not be done to another step.
    pub const fn means_the_screen(&self) -> bool {
        let Self::Do { command, .. } = self else { return false };
        matches!(
            command,
            Command::Record { measurement: None, .. }
                | Command::Answer { .. }
                | Command::Skip { .. }
                | Command::Choose { .. }
                | Command::Prove { .. }
        )
    }
}

const fn doing(command: &Command) -> &'static str {
    match command {
        Command::Record { .. } | Command::Answer { .. } | Command::Know { .. } => "weighing what was read",
        Command::Correct { .. } | Command::Withdraw { .. } => "weighing the readings anew",
        Command::Skip { .. } | Command::Choose { .. } | Command::TakeAgain { .. } => {
            "looking for the next step"
        }
        Command::UseTree { .. } => "putting the tree to use",
        Command::SetAccess(_) | Command::SeeCaution { .. } => "looking for the next step",
        Command::Conclude { .. } | Command::Repair { .. } => "preparing the proof",
        Command::Prove { .. } => "comparing the proof reading",
        Command::SearchOn { .. } => "weighing what is left",
        Command::Estimate(_) | Command::Authorise { .. } | Command::Bill { .. } => "writing down the price",
        Command::AddPhoto { .. } | Command::LinkWarranty { .. } => "adding it to the job",
        Command::Close(_) => "closing the job",
        Command::Undo | Command::Redo => "going back over the job",
    }
}

/// What came of a task.
#[derive(Clone, Debug)]
pub enum Done {
    /// The command is on disk; what follows from it is shown soon.
    Kept,
    /// What follows from the command is shown; what was understood, in words.
    Shown(String),
    /// The command was refused, and nothing was changed.
    Refused(String),
    /// A job is open; what the person must know about it.
    Opened(Vec<String>),
    /// The open job was put away.
    Left,
    /// The ticket was written; what is to be said of letters that could not be printed.
    Written(PathBuf, Option<String>),
    /// A copy of the ticket was written; what is to be said of letters that could not be printed.
    Copied(PathBuf, Option<String>),
    /// The checks of a fresh wiring.
    Audited(Box<AuditView>),
    /// How a tree would ask what is asked instead of it, or why it cannot.
    Proposed(Box<(Detour, Result<Proposal, String>)>),
    /// Something else failed, and nothing was changed.
    Failed(String),
    /// The program broke off in the middle of a command; the job was opened anew from its file, or had to be put away.
    Broke(String),
}

/// What is being done beside the window.
#[derive(Clone, Copy, Debug)]
pub struct Busy {
    /// What it is, in words.
    pub doing: &'static str,
    /// Which part of it, for those that have parts.
    pub phase: Option<Phase>,
    /// Since when.
    pub since: Instant,
    /// How many tasks wait behind it.
    pub waiting: usize,
    /// Whether it can be given up.
    pub can_be_given_up: bool,
}

/// Said of a refused command when the screen has changed since it was asked for.
pub const SCREEN_CHANGED: &str = "The step has changed meanwhile, so this was not recorded. Look at the step, and send it again if it still fits.";

/// Said of what cannot be asked of the open job while it is away on a task.
pub const AWAY: &str =
    "What was asked for before is still being worked out, so this was not done. Send it again in a moment.";

/// Records the readings of a check in a job that was started for it, and returns what to say about that.
pub fn hand_over(
    readings: Option<Vec<(usize, Command)>>,
    mut record: impl FnMut(&Command) -> Result<(), String>,
) -> Vec<String> {
    let Some(readings) = readings else { return Vec::new() };
    for (check, command) in &readings {
        if let Err(problem) = record(command) {
            return vec![format!("Check {} was not taken over: {problem}", check + 1)];
        }
    }
    vec![format!("{} of the audit's readings are recorded in this job", readings.len())]
}
