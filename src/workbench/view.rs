//! What window and command line show: plain data, computed before anything is drawn.

use serde::Serialize;

use super::PaperView;
use super::doubt::Action;
use crate::job::{Band, ReadingId, Speaker, Standing, Tone};
use crate::readings::{Access, Measurement, Shown, Symptom};

/// Where in its life a job is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// Readings are being taken.
    Finding,
    /// The fault is named, the repair is to be done and recorded.
    Repairing,
    /// Proof readings are being taken.
    Proving,
    /// Closed.
    Closed,
}

/// Everything about one job at one moment.
#[derive(Clone, Debug, Serialize)]
pub struct View {
    /// Where in its life the job is.
    pub stage: Stage,
    /// The instrument in the shop's words.
    pub instrument: String,
    /// The wiring's name.
    pub wiring: String,
    /// The wiring's title.
    pub wiring_title: String,
    /// The complaint in the customer's words.
    pub complaint: String,
    /// What the complaint means.
    pub symptoms: Vec<Symptom>,
    /// What was understood of the complaint and of what was done last: `no sound; it fell or was knocked`.
    pub understood: String,
    /// How far the technician may go.
    pub access: Access,
    /// The next thing to do while finding; `None` when done or in another stage.
    pub step: Option<StepView>,
    /// Other steps worth doing instead, best first.
    pub alternatives: Vec<StepView>,
    /// Suspect groups, most probable first, the long tail left out.
    pub suspects: Vec<SuspectView>,
    /// Probability of the suspects left out of `suspects`.
    pub others: f64,
    /// How much is left until one decision is sure; `None` when finding is over or nothing is worth measuring.
    pub outlook: Option<OutlookView>,
    /// How the leading suspect, or the named fault, sounds beside a healthy instrument; `None` when it may be anything.
    pub tone: Option<ToneView>,
    /// All readings in order, withdrawn ones included.
    pub readings: Vec<ReadingView>,
    /// The questions of trees that were answered, in order.
    pub answers: Vec<AnswerView>,
    /// Part values that the readings have found.
    pub found: Vec<FoundView>,
    /// Cautions that must be acknowledged before the step, the repair or the proof.
    pub cautions: Vec<CautionView>,
    /// What to do now that finding is over; `None` while a reading is still worth its time.
    pub verdict: Option<VerdictView>,
    /// With a verdict, the suspects that no reading so far can judge, because the leading one hides them; each a group.
    pub masked: Vec<MaskedView>,
    /// The faults that were named and repaired before the search went on, in order.
    pub rounds: Vec<RoundView>,
    /// The concluded fault once it has been named.
    pub concluded: Option<Standing>,
    /// What was done as the repair.
    pub repaired: Option<String>,
    /// The proof readings: what is to be read, what was read.
    pub proof: Vec<ProofView>,
    /// How the job was closed, as a sentence.
    pub closed: Option<String>,
    /// The doubt about all that is believed; `None` without reason for one, and when finding is over.
    pub doubt: Option<DoubtView>,
    /// What has been settled on paper: prices, consent, photos, an earlier job.
    pub paper: PaperView,
    /// Notices: a file cut off, a tree that was left.
    pub notices: Vec<String>,
    /// Hands-on minutes estimated for the readings so far.
    pub minutes: f64,
    /// Whether an event can be undone.
    pub can_undo: bool,
    /// Whether an undone event can be redone.
    pub can_redo: bool,
}

impl View {
    /// Returns the step whose reading is recorded when nothing else is said: the step on the screen, or the reading
    /// that comes next if its question is passed over.
    pub fn reading_asked(&self) -> Option<&StepView> {
        let measures = |step: &&StepView| matches!(step.ask, Ask::Measure(_));
        self.step.as_ref().filter(measures).or_else(|| self.alternatives.first().filter(measures))
    }
}

/// What a step asks for.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Ask {
    /// Take this reading.
    Measure(Measurement),
    /// Look, listen or ask, then choose an answer.
    Question {
        /// The answers on offer.
        answers: Vec<String>,
    },
}

/// One step, told so that a newcomer can do it.
#[derive(Clone, Debug, Serialize)]
pub struct StepView {
    /// What is asked.
    pub ask: Ask,
    /// Who is speaking.
    pub speaker: Speaker,
    /// The tree that is speaking, if one is.
    pub tree: Option<String>,
    /// One instruction in plain words: `Read the ohms between the plug's tip and its sleeve`.
    pub headline: String,
    /// What the dial is to be set to, with the range: `ohms, 20 k range or automatic`.
    pub dial: String,
    /// What a person calls the terminal under the red probe; empty for a question.
    pub red: String,
    /// What a person calls the terminal under the black probe; empty for a question.
    pub black: String,
    /// Every control with its position and whether it must be moved for this step.
    pub controls: Vec<ControlView>,
    /// Where the battery is to be; `None` for a question and on a wiring without a battery.
    pub battery: Option<BatteryView>,
    /// Where it is done, with what must be opened: `outside, at the plug`.
    pub place: String,
    /// What must be opened first, empty when nothing.
    pub open_first: Vec<String>,
    /// What is flexed meanwhile, in words; empty for a still reading.
    pub flex: String,
    /// Why this step: one or two sentences.
    pub why: String,
    /// What a healthy instrument reads here, in words: `6.0 kΩ (5.6 kΩ to 6.5 kΩ)`.
    pub healthy: String,
    /// The healthy band.
    pub healthy_band: Option<Band>,
    /// What each leading suspect group would read here.
    pub predictions: Vec<PredictionView>,
    /// What each outcome or answer would mean in the words of the tree, if one is speaking: when, and what it means.
    pub outcomes: Vec<(String, String)>,
    /// The text of the tree's own caution for this step; empty without one.
    pub caution: String,
    /// Expected information about what to repair, in bits.
    pub bits: f64,
    /// Hands-on seconds, including opening and moving controls.
    pub seconds: f64,
    /// The step as sentences that are read out to a customer on the telephone; empty when it cannot be done from outside.
    pub script: Vec<String>,
}

/// One control in a step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ControlView {
    /// The control's name.
    pub name: String,
    /// Where it is to stand.
    pub stand: String,
    /// Whether it stands elsewhere now.
    pub moved: bool,
}

/// Where the battery is to be for a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct BatteryView {
    /// Whether it is to be in its clip.
    pub inside: bool,
    /// Whether it is elsewhere after the reading before.
    pub moved: bool,
}

impl BatteryView {
    /// Returns it as an instruction.
    pub const fn says(self) -> &'static str {
        match (self.inside, self.moved) {
            (false, true) => "Take the battery out of its clip",
            (true, true) => "Put the battery in its clip",
            (false, false) => "Leave the battery out of its clip",
            (true, false) => "Leave the battery in its clip",
        }
    }
}

/// What a suspect group predicts for a step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PredictionView {
    /// The group's sentence.
    pub sentence: String,
    /// Its probability now.
    pub probability: f64,
    /// What it would read.
    pub band: Band,
    /// The band in words.
    pub text: String,
}

/// One group of suspects.
#[derive(Clone, Debug, Serialize)]
pub struct SuspectView {
    /// Probability of the group, 0 to 1.
    pub probability: f64,
    /// The fault ids, most probable first.
    pub faults: Vec<String>,
    /// A plain sentence for the group.
    pub sentence: String,
    /// One plain sentence for each fault, in the order of `faults`.
    pub members: Vec<String>,
    /// The repair of the most probable member.
    pub repair: String,
    /// Minutes of that repair.
    pub minutes: f64,
    /// Terminals to mark in the picture.
    pub terminals: Vec<String>,
    /// Links to mark in the picture.
    pub links: Vec<String>,
    /// What each reading contributed, in bits; the complaint comes first with no id.
    pub moved_by: Vec<(Option<ReadingId>, f64)>,
}

/// How a suspect sounds beside a healthy instrument.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ToneView {
    /// The suspect's sentence.
    pub suspect: String,
    /// Both curves, and the difference in words.
    pub tone: Tone,
}

/// One suspect looked at closely.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CaseView {
    /// The id of its first fault.
    pub fault: String,
    /// What would prove it wrong; `None` when no reading that is left and allowed would.
    pub against: Option<AgainstView>,
    /// How it sounds beside a healthy instrument; `None` when it may sound like anything.
    pub tone: Option<ToneView>,
}

/// The open measurement that is expected to drop a suspect most if something else is wrong.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AgainstView {
    /// What to measure.
    pub measurement: Measurement,
    /// The same as one instruction.
    pub headline: String,
    /// Where the controls are to stand.
    pub setting: String,
    /// Where it is done.
    pub place: String,
    /// Hands-on seconds, including opening and moving controls.
    pub seconds: f64,
    /// The reading that would do it.
    pub shown: Shown,
    /// The same in words.
    pub text: String,
    /// What the suspect itself would read, in words.
    pub expects: String,
    /// The likeliest of those that it would speak for.
    pub rival: String,
    /// The suspect's probability now.
    pub before: f64,
    /// Its probability once that was read.
    pub after: f64,
}

/// One reading with what was expected.
#[derive(Clone, Debug, Serialize)]
pub struct ReadingView {
    /// Its number.
    pub id: ReadingId,
    /// What was measured.
    pub measurement: Measurement,
    /// In one line: `plug tip – plug sleeve, neck, all knobs at 10`.
    pub sentence: String,
    /// The text as it was typed.
    pub typed: String,
    /// What it means.
    pub shown: Shown,
    /// What it means, in words.
    pub found: String,
    /// The healthy band in words.
    pub healthy: String,
    /// Whether it lies in the healthy band.
    pub fits_healthy: bool,
    /// Who asked for it.
    pub asked_by: Speaker,
    /// Whether it was withdrawn.
    pub withdrawn: bool,
    /// Whether it fits none of the suspects well.
    pub surprising: bool,
}

/// A question of a tree with the answer that was chosen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct AnswerView {
    /// The question as it was shown.
    pub question: String,
    /// The answer.
    pub answer: String,
}

/// A part value that is known better than before any reading; the ends hold it 95 times of 100.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FoundView {
    /// The part's name.
    pub part: String,
    /// What a person calls it.
    pub title: String,
    /// Which of its values.
    pub what: String,
    /// The value.
    pub value: String,
    /// The lower end.
    pub low: String,
    /// The upper end.
    pub high: String,
}

/// A caution to read and acknowledge.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CautionView {
    /// Which caution.
    pub key: String,
    /// Its text.
    pub text: String,
}

/// What to do when finding is over.
#[derive(Clone, Debug, Serialize)]
pub struct VerdictView {
    /// The fault ids of the leading group.
    pub faults: Vec<String>,
    /// A plain sentence.
    pub sentence: String,
    /// Its probability.
    pub probability: f64,
    /// What to do first, and next if that was not it.
    pub repair: String,
    /// Expected minutes of the repair.
    pub minutes: f64,
    /// The inspection that splits the group, when it has several members; empty otherwise.
    pub inspect: String,
    /// Whether the program is sure enough, or only has nothing better to measure.
    pub sure: bool,
    /// Why finding is over.
    pub stop: Stop,
}

/// Why finding is over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stop {
    /// One place is sure enough to act on.
    Sure,
    /// Several places are left, and one repair mends each of them.
    SameRepair,
    /// No reading that is left and allowed tells enough to be worth its time.
    NotWorthItsTime,
}

impl Stop {
    /// Returns it as a sentence.
    pub const fn says(self) -> &'static str {
        match self {
            Self::Sure => "One suspect is sure enough to act on; the repair is proved afterwards",
            Self::SameRepair => "Several places are left, and one repair mends them all",
            Self::NotWorthItsTime => {
                "No reading that is left and allowed is worth its time; the repairs come in the order of chance per \
                 minute"
            }
        }
    }
}

/// A doubt about all that is believed, with what is to be done about it first.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DoubtView {
    /// The probability that the catalogue does not hold the truth.
    pub unlisted: f64,
    /// The conflict measure of the readings; above 0 they speak against one another.
    pub conflict: f64,
    /// The least p-value of a reading.
    pub p_value: f64,
    /// What is to be done first.
    pub action: Action,
    /// The same in plain words.
    pub sentence: String,
    /// The reading to take again, if that is what is to be done.
    pub again: Option<ReadingId>,
    /// The reading to withdraw, if that is what is to be done.
    pub withdraw: Option<ReadingId>,
}

/// How much is left until one decision is sure, on average.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OutlookView {
    /// The readings.
    pub readings: f64,
    /// The hands-on minutes.
    pub minutes: f64,
    /// The readings that no way of working can be below.
    pub least_readings: f64,
    /// The hands-on minutes that no way of working can be below.
    pub least_minutes: f64,
    /// Whether readings and minutes are those of the plan that takes the least time, and not of the advisor's way.
    pub exact: bool,
    /// The probability of the suspects that the figures are said of.
    pub covered: f64,
    /// The minutes of mending one suspect after the other that the advisor's next reading saves beyond its own, if it
    /// does not err; below 0 when it does not pay by itself.
    pub saved: f64,
    /// The same in one sentence.
    pub sentence: String,
}

/// A group of suspects that the leading one hides.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MaskedView {
    /// A plain sentence, of the fault with the highest prior.
    pub sentence: String,
    /// The fault ids, in the order of the catalogue.
    pub faults: Vec<String>,
}

impl MaskedView {
    /// What is to be said above the groups that are hidden.
    pub const WARNING: &'static str = "While this fault is there, nothing behind it can be judged: \
                                       prove every position after the repair";
}

/// A fault that was named and repaired, and that was not all that was wrong.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RoundView {
    /// The fault as it was named.
    pub sentence: String,
    /// What was done about it.
    pub repaired: String,
    /// What was still wrong, in the customer's words; empty when only a proof reading said so.
    pub remains: String,
    /// How many of the readings were taken before it.
    pub after: usize,
    /// The proof readings that failed after the repair.
    pub failed: Vec<FailedProofView>,
}

/// A proof reading that said that a repair did not cure; it speaks of the instrument like any other reading.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FailedProofView {
    /// In one line.
    pub sentence: String,
    /// The text as it was typed.
    pub typed: String,
    /// What it means, in words.
    pub found: String,
    /// The healthy band in words.
    pub healthy: String,
}

impl ProofView {
    /// What is to be said once above the bands of the proof readings.
    pub const BANDS: &'static str = "The bands are those of any guitar wired like this one, and wide: a sound one hardly \
                                     ever fails";
}

/// One proof reading to take.
#[derive(Clone, Debug, Serialize)]
pub struct ProofView {
    /// What to measure.
    pub measurement: Measurement,
    /// Where the battery is to be; `None` on a wiring without a battery.
    pub battery: Option<BatteryView>,
    /// What is flexed meanwhile, in words; empty for a still reading.
    pub flex: String,
    /// What to do, in one line with where the controls stand.
    pub sentence: String,
    /// What the dial is to be set to, with the range; empty for what is heard.
    pub dial: String,
    /// What a person calls the terminal under the red probe; empty for what is heard.
    pub red: String,
    /// What a person calls the terminal under the black probe; empty for what is heard.
    pub black: String,
    /// The healthy band in words.
    pub healthy: String,
    /// The healthy band.
    pub band: Band,
    /// What was found, in words; empty when not yet taken.
    pub found: String,
    /// Whether it passed; `None` when not yet taken.
    pub passed: Option<bool>,
}
