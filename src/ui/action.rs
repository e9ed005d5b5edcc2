//! What panels ask for, and what the window remembers between frames. Nothing here knows the job.

use std::path::PathBuf;

use super::bench::StartForm;
use super::closer::Closer;
use super::count::{Count, Counting};
use super::gallery::SmallPicture;
use super::hands_free::{Hands, Switch};
use super::own::{Own, OwnDesk};
use super::paper_desk::{PaperAction, PaperDesk};
use super::past_desk::{PastAction, PastDesk};
use super::picture_desk::{OwnProbes, Probing};
use super::practice_desk::{PracticeAction, PracticeDesk};
use super::recall::TakenOver;
use super::tree_change::{Change, Detour};
use super::tree_news::NewsDesk;
use super::trees::{TreesAction, TreesDesk};
use crate::draw::{Picture, Sight};
use crate::job::ReadingId;
use crate::readings::{Access, Mode, Shown};
use crate::session::LastJob;
use crate::ticket::TicketCopy;
use crate::workbench::{AuditRun, Command, UnitDoubt};

/// One thing a panel asks for. Only [`super::App`] carries it out.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// Give this to the workbench.
    Do(Command),
    /// Record what stands in the entry line.
    Record,
    /// Record this text, whatever stands in the entry line.
    RecordAs(String),
    /// Add these letters to the entry line, without a blank before them.
    Press(&'static str),
    /// Take the last letter off the entry line.
    Wipe,
    /// The text of the entry line or of an overlay changed.
    Typed,
    /// Add these letters to the entry line.
    Insert(&'static str),
    /// Take a proof reading that is not the next one.
    Reprove(usize),
    /// Record the repair as it stands in the form.
    Repair,
    /// Start a job as it stands in the form.
    Start,
    /// Let the person choose where the job is saved.
    ChooseFile,
    /// Let the person choose a job file and open it.
    OpenJob,
    /// Open the demonstration job.
    Demonstrate,
    /// Go back to the first screen.
    Leave,
    /// Open the job that was open when the program ended.
    GoOn,
    /// Give up what is being done beside the window.
    GiveUp,
    /// Ask where, and write the ticket.
    Ticket,
    /// Save a copy of the ticket to print.
    TicketPdf(TicketCopy),
    /// Show an overlay.
    Show(Overlay),
    /// Do what the open overlay is for.
    Submit,
    /// Close the overlay.
    Close,
    /// Choose a theme.
    Theme(egui::ThemePreference),
    /// Move the keyboard to the next part of the screen.
    NextSpot,
    /// Show this part of the screen when there is no room for all.
    Pane(Pane),
    /// Open or close the details of a suspect group; the picture marks the one that is open.
    Unfold(String),
    /// Look at a reading as it was taken, or put it away.
    LookBack(ReadingId),
    /// Go on to a reading and look at it.
    LookOn(ReadingId),
    /// Show the step in large letters, or as usual again.
    Far,
    /// Draw this small picture, which is seen now.
    Draw(SmallPicture),
    /// Put the notices away.
    Dismiss,
    /// Something about counting what can be seen.
    Count(Count),
    /// Something about one's own wirings.
    Own(Own),
    /// Something about the check of a fresh wiring.
    Audit(AuditAction),
    /// Something about the trees.
    Trees(TreesAction),
    /// Something about the wiring picture.
    Probe(Probing),
    /// Something about working without hands.
    Hands(Switch),
    /// Something about the practice bench.
    Practice(PracticeAction),
    /// Something about past jobs.
    Past(PastAction),
    /// Something about estimate, bill, photos and ticket.
    Paper(PaperAction),
}

/// What the screen asks for on which a fresh wiring is checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum AuditAction {
    /// Work the list out for the wiring in the start form, and open it.
    Begin,
    /// The caution has been read.
    Read,
    /// Take what stands in the entry line as the reading of the open check.
    Record,
    /// Open this check.
    Go(usize),
    /// Take the last reading back.
    Undo,
    /// Bring it back.
    Redo,
    /// Ask where, and write the list.
    Save,
    /// Go to the start form with this wiring and the readings taken.
    StartJob,
    /// Go back to the first screen.
    Leave,
}

/// The check of a fresh wiring that is open.
#[derive(Clone, Debug)]
pub struct AuditDesk {
    /// The list and the readings.
    pub run: AuditRun,
    /// How many cautions have been read.
    pub read: usize,
    /// The picture, and the check that it was drawn for.
    pub picture: Option<(usize, Picture)>,
}

/// What lies over the job screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Overlay {
    /// The keys.
    Help,
    /// Why the step cannot be done.
    Cannot,
    /// The right text for a reading.
    Correct {
        /// Which reading.
        id: ReadingId,
        /// Whether it was flexed.
        flexed: bool,
        /// What the dial was set to.
        mode: Mode,
    },
    /// Why a reading is withdrawn.
    Withdraw(ReadingId),
    /// A part's own value that is known.
    Know,
    /// Which suspect group is named as the fault.
    Name,
    /// What is still wrong after the repair.
    SearchOn,
    /// Why the job is closed without full proof.
    Unproven,
    /// How a tree would be changed.
    Change,
    /// The step, to be read from a distance.
    Large,
}

/// A part of the screen when there is no room for all.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Pane {
    /// What to do now.
    #[default]
    Step,
    /// The wiring picture.
    Picture,
    /// The suspects.
    Suspects,
    /// The readings.
    Readings,
}

/// A place the keyboard can be sent to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    /// The main thing on the left: entry line, first answer, caution, form.
    Home,
    /// The first suspect.
    Suspects,
    /// The reading that is looked at, or the last one.
    Readings,
    /// The wiring picture.
    Picture,
    /// The value of a reading of one's own.
    OwnProbes,
    /// The first field of an overlay.
    Overlay,
    /// The first field of the start form that is wrong.
    Start,
}

/// The repair form.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RepairForm {
    /// What was done.
    pub what: String,
    /// Minutes, as typed.
    pub minutes: String,
}

/// What of the picture is shown before a person moves it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Framing {
    /// The part with the probes and the suspects, large enough to be read.
    #[default]
    Marks,
    /// The whole picture.
    Whole,
}

/// How the picture is looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// What is shown before a person moves it.
    pub framing: Framing,
    /// Magnification over that.
    pub zoom: f32,
    /// Shift of the centre in points.
    pub shift: egui::Vec2,
}

impl Look {
    /// Returns an unmoved look.
    pub const fn at(framing: Framing) -> Self {
        Self { framing, zoom: 1.0, shift: egui::Vec2::ZERO }
    }
}

impl Default for Look {
    fn default() -> Self {
        Self::at(Framing::Marks)
    }
}

/// What the window remembers between frames beside the job itself.
#[derive(Clone, Debug)]
pub struct Desk {
    /// The entry line.
    pub entry: String,
    /// What the entry line would mean, or why it cannot be taken; `None` while it is empty.
    pub echo: Option<Result<String, String>>,
    /// What the entry line would mean as a reading; `None` while it means nothing.
    pub shown: Option<Shown>,
    /// Why the last thing asked was refused.
    pub problem: Option<String>,
    /// What was last recorded, in words.
    pub told: Option<String>,
    /// The proof reading to be taken when it is not the next one.
    pub reprove: Option<usize>,
    /// The proof reading that was sent, until it is known whether it passed.
    pub proved: Option<usize>,
    /// What lies over the screen.
    pub overlay: Option<Overlay>,
    /// The text field of the overlay.
    pub draft: String,
    /// The repair form.
    pub repair: RepairForm,
    /// The start form.
    pub start: StartForm,
    /// Whether the symptoms were chosen by hand.
    pub symptoms_touched: bool,
    /// Whether the place of the job file was chosen by hand.
    pub file_touched: bool,
    /// Whether the start form was sent once, so that missing fields are pointed out.
    pub start_tried: bool,
    /// Where the keyboard is to go in the next frame.
    pub focus: Option<Spot>,
    /// Whether the step is to be shown from its top in the next frame.
    pub top: bool,
    /// What the dial was set to for the last reading that was asked for; `None` when that is not known.
    pub dialled: Option<String>,
    /// The part that was last reached with the next-part key.
    pub spot: Spot,
    /// The part that is shown when there is no room for all.
    pub pane: Pane,
    /// The first fault id of the suspect group whose details are open.
    pub unfolded: Option<String>,
    /// What is looked at closely.
    pub closer: Closer,
    /// Whether the step is shown in letters that can be read from far away.
    pub far: bool,
    /// How the picture is looked at.
    pub look: Look,
    /// Notices to be shown until they are put away.
    pub notices: Vec<String>,
    /// What was counted to find the wiring.
    pub counting: Counting,
    /// The screen of own wirings, while it is open.
    pub own: Option<OwnDesk>,
    /// The check of a fresh wiring, while its screen is shown.
    pub audit: Option<AuditDesk>,
    /// A check of a fresh wiring whose readings go into the job that is started next.
    pub audited: Option<AuditRun>,
    /// The screen of the trees, while it is open.
    pub trees: Option<TreesDesk>,
    /// What is asked instead of what the job's tree says.
    pub detour: Option<Detour>,
    /// The change of a tree that is looked at.
    pub change: Option<Change>,
    /// What has become of the file of the job's tree.
    pub tree_news: NewsDesk,
    /// How the instrument is looked at in the picture.
    pub sight: Sight,
    /// The probes that a person put into the picture.
    pub own_probes: Option<OwnProbes>,
    /// What is asked about the unit of what was typed; recording once more takes it as it stands.
    pub unit: Option<UnitDoubt>,
    /// How far the technician could go before the customer was on the telephone.
    pub before_call: Option<Access>,
    /// Whether the number keys are shown on the telephone where they take the room of the script.
    pub number_keys: bool,
    /// How the work goes without hands, and whether steps are read aloud.
    pub hands: Hands,
    /// The practice bench, while it is open.
    pub practice: Option<PracticeDesk>,
    /// The practice bench that was left and can be gone back to.
    pub practised: Option<PracticeDesk>,
    /// The screen of past jobs, while it is open.
    pub past: Option<PastDesk>,
    /// The screen of estimate and bill, while it is open.
    pub paper: Option<PaperDesk>,
    /// The same, with what was typed there, after it was left.
    pub put_by: Option<PaperDesk>,
    /// Values of past jobs that are taken over into the job that is started next.
    pub taken_over: TakenOver,
    /// The job that was open last.
    pub last: Option<LastJob>,
}

impl Default for Desk {
    fn default() -> Self {
        Self {
            entry: String::new(),
            echo: None,
            shown: None,
            problem: None,
            told: None,
            reprove: None,
            proved: None,
            overlay: None,
            draft: String::new(),
            repair: RepairForm::default(),
            start: empty_form(),
            symptoms_touched: false,
            file_touched: false,
            start_tried: false,
            focus: None,
            top: true,
            dialled: None,
            spot: Spot::Home,
            pane: Pane::Step,
            unfolded: None,
            closer: Closer::default(),
            far: false,
            look: Look::default(),
            notices: Vec::new(),
            counting: Counting::default(),
            own: None,
            audit: None,
            audited: None,
            trees: None,
            detour: None,
            change: None,
            tree_news: NewsDesk::default(),
            sight: Sight::default(),
            own_probes: None,
            unit: None,
            before_call: None,
            number_keys: false,
            hands: Hands::default(),
            practice: None,
            practised: None,
            past: None,
            paper: None,
            put_by: None,
            taken_over: TakenOver::default(),
            last: None,
        }
    }
}

impl Desk {
    /// Returns whether the keyboard is to go to this place now, once.
    pub fn takes_focus(&mut self, spot: Spot) -> bool {
        let wanted = self.focus == Some(spot);
        if wanted {
            self.focus = None;
        }
        wanted
    }
}

fn empty_form() -> StartForm {
    StartForm {
        wiring: String::new(),
        instrument: String::new(),
        customer: String::new(),
        complaint: String::new(),
        symptoms: Vec::new(),
        last_done: String::new(),
        access: Access::MayOpen,
        meter: String::new(),
        technician: String::new(),
        file: PathBuf::new(),
    }
}
