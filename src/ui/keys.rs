//! Every key of the job screen: one table, read by the window and shown by its help.

use egui::{Context, Key, Modifiers};

use super::action::{Action, AuditAction, Desk, Overlay};
use super::hands_free::Switch;
use super::paper_desk::PaperAction;
use super::past_desk::PastAction;
use super::practice_desk::PracticeAction;
use super::theme::next_theme;
use super::{paper_work, telephone, tree_desk};
use crate::readings::{Measurement, Mode, Shown};
use crate::workbench::{Ask, Command, Stage, View};

/// One key and what it does.
#[derive(Clone, Copy, Debug)]
pub struct Shortcut {
    /// The key as it is written on screens.
    pub key: &'static str,
    /// What it does.
    pub meaning: &'static str,
    press: Press,
    does: Does,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Press {
    Plain(Key),
    Control(Key),
    /// Shown in the help only: the widget that has the keyboard answers it.
    Widget,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Does {
    Help,
    Insert(&'static str),
    Cannot,
    NextSpot,
    Name,
    CorrectLast,
    Unproven,
    SearchOn,
    Theme,
    Choose(usize),
    Undo,
    Redo,
    Ticket,
    Open,
    Leave,
    Start,
    Trees,
    Paper,
    Far,
    Telephone,
    Hands(Switch),
    Nothing,
}

const fn plain(key: &'static str, code: Key, does: Does, meaning: &'static str) -> Shortcut {
    Shortcut { key, meaning, press: Press::Plain(code), does }
}

const fn control(key: &'static str, code: Key, does: Does, meaning: &'static str) -> Shortcut {
    Shortcut { key, meaning, press: Press::Control(code), does }
}

const fn widget(key: &'static str, meaning: &'static str) -> Shortcut {
    Shortcut { key, meaning, press: Press::Widget, does: Does::Nothing }
}

/// Every key, in the order of the help.
pub const SHORTCUTS: &[Shortcut] = &[
    widget("Enter", "record what is typed, or press the marked button"),
    widget("1 to 9", "choose an answer, when the step is a question"),
    widget("Tab", "go to the next button or field"),
    widget("Page keys", "scroll the part of the screen that has the keyboard"),
    widget("Escape", "close what lies over the screen"),
    plain("F1", Key::F1, Does::Help, "show or close this list of keys"),
    plain(
        "F2",
        Key::F2,
        Does::Insert("OL"),
        "type OL: over range, no path; OL-OL, when something is moved meanwhile; yes, when the step asks what is heard",
    ),
    plain(
        "F3",
        Key::F3,
        Does::Insert("beep"),
        "type beep, when the meter is on its beeper; no, when the step asks what is heard",
    ),
    plain(
        "F4",
        Key::F4,
        Does::Insert("no beep"),
        "type no beep; can't tell, when the step asks what is heard",
    ),
    plain("F5", Key::F5, Does::Cannot, "say that the step cannot be done"),
    plain("F6", Key::F6, Does::NextSpot, "go to the next part of the screen"),
    plain("F7", Key::F7, Does::Name, "name the fault"),
    plain("F8", Key::F8, Does::CorrectLast, "correct the last reading"),
    plain("F9", Key::F9, Does::Unproven, "close the job without full proof"),
    plain("F10", Key::F10, Does::Theme, "change between system, light and dark"),
    plain("F11", Key::F11, Does::SearchOn, "search on after a repair that did not cure"),
    plain("F12", Key::F12, Does::Trees, "show the trees, or go back from them"),
    control("Ctrl+1", Key::Num1, Does::Choose(0), "take the first of the other steps instead"),
    control("Ctrl+2", Key::Num2, Does::Choose(1), "take the second"),
    control("Ctrl+3", Key::Num3, Does::Choose(2), "take the third"),
    control("Ctrl+F", Key::F, Does::Far, "show the step in letters for two metres, or as usual again"),
    control("Ctrl+Z", Key::Z, Does::Undo, "undo the last thing recorded, when nothing is being typed"),
    control("Ctrl+Y", Key::Y, Does::Redo, "redo it"),
    control(
        "Ctrl+B",
        Key::B,
        Does::Paper,
        "show estimate, consent, bill, photos and ticket of the job, or go back from them",
    ),
    control("Ctrl+E", Key::E, Does::Ticket, "save the ticket"),
    control("Ctrl+O", Key::O, Does::Open, "open a job file"),
    control("Ctrl+N", Key::N, Does::Leave, "put this job away and go to the first screen"),
    control(
        "Ctrl+T",
        Key::T,
        Does::Telephone,
        "go to the telephone view, where each step is read out to the customer, or back from it",
    ),
    control(
        "Ctrl+H",
        Key::H,
        Does::Hands(Switch::HandsFree),
        "work hands-free: one key and large targets, or not",
    ),
    control("Ctrl+R", Key::R, Does::Hands(Switch::Aloud), "read the steps aloud, or not"),
    widget(
        "Page Down, F13, F14, Space",
        "hands-free, also as a foot switch: a short press does what is next, a long one repeats the step, two say it \
         cannot be done",
    ),
    control(
        "Ctrl+Enter",
        Key::Enter,
        Does::Start,
        "start the job, on the first screen; put the probes on, at the practice bench; record the form, at estimate and \
         bill",
    ),
    widget("+ - 0", "enlarge or shrink a tree, or show the whole of it, on the screen of the trees"),
    widget("Arrow keys", "go from reading to reading in their list; move a tree that has the keyboard"),
    widget("Left, Right", "go from step to step of a past job; Escape goes back to the list"),
    widget("Tab, arrow keys", "go from terminal to terminal, while the wiring picture has the keyboard"),
    widget("Enter there", "put your red probe on the terminal, then your black one; Escape takes them off"),
    widget("V, L, X there", "see the picture from the other side, left-handed, with the probes swapped"),
    widget("Ctrl + and -", "make everything larger or smaller; Ctrl 0 puts it back"),
];

/// Turns the keys pressed in this frame into actions, before any widget sees them.
pub fn read(ctx: &Context, view: Option<&View>, desk: &Desk, out: &mut Vec<Action>) {
    for shortcut in SHORTCUTS {
        let Some(action) = action(ctx, shortcut.does, view, desk) else {
            continue;
        };
        let pressed = match shortcut.press {
            Press::Plain(key) => ctx.input_mut(|input| input.consume_key(Modifiers::NONE, key)),
            Press::Control(key) => ctx.input_mut(|input| input.consume_key(Modifiers::COMMAND, key)),
            Press::Widget => false,
        };
        if pressed {
            out.push(action);
        }
    }
    if let Some(view) = view.filter(|_| desk.trees.is_none() && desk.paper.is_none()) {
        read_digits(ctx, view, desk, out);
    }
    if desk.overlay.is_some() && ctx.input_mut(|input| input.consume_key(Modifiers::NONE, Key::Escape)) {
        out.push(Action::Close);
    }
}

/// Returns what a key does now; `None` when it does nothing, so that it reaches the widgets.
fn action(ctx: &Context, does: Does, view: Option<&View>, desk: &Desk) -> Option<Action> {
    if does == Does::Help {
        return match desk.overlay {
            None => Some(Action::Show(Overlay::Help)),
            Some(Overlay::Help) => Some(Action::Close),
            Some(_) => None,
        };
    }
    if does == Does::Theme {
        return Some(Action::Theme(next_theme(ctx.options(|options| options.theme_preference))));
    }
    if desk.overlay.is_some() {
        return None;
    }
    if desk.practice.is_some() {
        return practice_action(does, desk);
    }
    if desk.past.is_some() {
        return (does == Does::Leave).then_some(Action::Past(PastAction::Close));
    }
    if let (Some(own), Some(view)) = (&desk.paper, view) {
        return paper_work::key(does == Does::Undo, does == Does::Redo, view, own).or(match does {
            Does::Start => Some(Action::Paper(PaperAction::Record)),
            Does::Paper | Does::Leave => Some(Action::Paper(PaperAction::Close)),
            Does::Ticket => Some(Action::Ticket),
            _ => None,
        });
    }
    if does == Does::Trees {
        return (desk.own.is_none() && desk.audit.is_none()).then(|| tree_desk::toggled(desk));
    }
    match view {
        _ if desk.trees.is_some() => None,
        Some(view) => job_action(does, view, desk),
        None if desk.own.is_some() => None,
        None if desk.audit.is_some() => audit_action(does, desk).map(Action::Audit).or(match does {
            Does::Insert(word) => Some(Action::Insert(word)),
            _ => None,
        }),
        None => match does {
            Does::Start => Some(Action::Start),
            Does::Open => Some(Action::OpenJob),
            _ => None,
        },
    }
}

/// Returns whether over range is typed for both ends: something is moved meanwhile, and nothing is typed yet.
pub(super) fn over_range_throughout(asked: &Measurement, desk: &Desk) -> bool {
    let ohms = matches!(asked.mode, Mode::Resistance | Mode::Continuity);
    ohms && asked.flex.is_some() && desk.entry.trim().is_empty()
}

/// Over range from the lowest to the highest value.
pub(super) const THROUGHOUT: &str = "OL-OL";

/// Returns what one of the three typing keys types for a measurement.
fn typed(word: &'static str, asked: &Measurement, desk: &Desk) -> Option<&'static str> {
    match (asked.mode, word) {
        (_, "OL") if over_range_throughout(asked, desk) => Some(THROUGHOUT),
        (Mode::Observe(_), "OL") => Some("yes"),
        (Mode::Observe(_), "beep") => Some("no"),
        (Mode::Observe(_), _) => Some("can't tell"),
        (Mode::Continuity, word) | (_, word @ "OL") => Some(word),
        _ => None,
    }
}

/// Returns what the keys of the two units record, while it is asked which was meant.
fn meant(word: &str, desk: &Desk) -> Option<Action> {
    let doubt = desk.unit.as_ref()?;
    let index = ["OL", "beep"].iter().position(|known| *known == word)?;
    Some(Action::RecordAs(doubt.meanings[index].text.clone()))
}

fn practice_action(does: Does, desk: &Desk) -> Option<Action> {
    let begun = desk.practice.as_ref().is_some_and(|own| own.bout.is_some());
    match does {
        Does::Insert(word) => Some(Action::Insert(word)),
        Does::Leave => Some(Action::Practice(PracticeAction::Close)),
        Does::Start if begun => Some(Action::Practice(PracticeAction::Measure)),
        Does::Start => Some(Action::Practice(PracticeAction::Begin)),
        Does::Name => Some(Action::Practice(PracticeAction::Naming(true))),
        _ => None,
    }
}

fn audit_action(does: Does, desk: &Desk) -> Option<AuditAction> {
    let typing = !desk.entry.is_empty();
    match does {
        Does::Undo if !typing => Some(AuditAction::Undo),
        Does::Redo if !typing => Some(AuditAction::Redo),
        Does::Ticket => Some(AuditAction::Save),
        Does::Leave => Some(AuditAction::Leave),
        _ => None,
    }
}

/// Returns whether a value is being typed, which undo and redo are for then.
fn typing(desk: &Desk) -> bool {
    !desk.entry.is_empty() || desk.own_probes.as_ref().is_some_and(|own| !own.entry.is_empty())
}

fn job_action(does: Does, view: &View, desk: &Desk) -> Option<Action> {
    let finding = view.stage == Stage::Finding && view.cautions.is_empty();
    let entry = super::app::asked(view, desk);
    match does {
        Does::Insert(word) => meant(word, desk).or_else(|| typed(word, entry?, desk).map(Action::Insert)),
        Does::Telephone => (view.stage == Stage::Finding).then(|| telephone::switched(view, desk)),
        Does::Hands(switch) => Some(Action::Hands(switch)),
        Does::Cannot => (finding && view.step.is_some()).then_some(Action::Show(Overlay::Cannot)),
        Does::NextSpot => Some(Action::NextSpot),
        Does::Name => (view.stage == Stage::Finding).then(|| name(view)),
        Does::CorrectLast => correct_last(view),
        Does::Unproven => (view.stage != Stage::Closed).then_some(Action::Show(Overlay::Unproven)),
        Does::SearchOn => (view.stage == Stage::Proving).then_some(Action::Show(Overlay::SearchOn)),
        Does::Choose(n) => {
            (finding && n < view.alternatives.len()).then_some(Action::Do(Command::Choose { alternative: n }))
        }
        Does::Undo => (view.can_undo && !typing(desk)).then_some(Action::Do(Command::Undo)),
        Does::Redo => (view.can_redo && !typing(desk)).then_some(Action::Do(Command::Redo)),
        Does::Ticket => Some(Action::Ticket),
        Does::Paper => Some(Action::Paper(PaperAction::Open)),
        Does::Far => Some(Action::Far),
        Does::Open => Some(Action::OpenJob),
        Does::Leave => Some(Action::Leave),
        Does::Help | Does::Theme | Does::Trees | Does::Start | Does::Nothing => None,
    }
}

/// Returns what naming the fault means now: the verdict if there is one, else a choice among the suspects.
pub(super) fn name(view: &View) -> Action {
    match &view.verdict {
        Some(verdict) if view.cautions.is_empty() => {
            Action::Do(Command::Conclude { faults: verdict.faults.clone() })
        }
        _ => Action::Show(Overlay::Name),
    }
}

fn correct_last(view: &View) -> Option<Action> {
    let last = view.readings.iter().rev().find(|reading| !reading.withdrawn)?;
    let flexed = matches!(last.shown, Shown::Range { .. });
    let mode = last.measurement.mode;
    Some(Action::Show(Overlay::Correct { id: last.id, flexed, mode }))
}

const DIGITS: [Key; 9] =
    [Key::Num1, Key::Num2, Key::Num3, Key::Num4, Key::Num5, Key::Num6, Key::Num7, Key::Num8, Key::Num9];

fn read_digits(ctx: &Context, view: &View, desk: &Desk, out: &mut Vec<Action>) {
    for (index, key) in DIGITS.into_iter().enumerate() {
        let Some(action) = digit(index, view, desk) else {
            return;
        };
        if ctx.input_mut(|input| input.consume_key(Modifiers::NONE, key)) {
            out.push(action);
        }
    }
}

fn digit(index: usize, view: &View, desk: &Desk) -> Option<Action> {
    match desk.overlay {
        Some(Overlay::Name) => {
            let faults = view.suspects.get(index)?.faults.clone();
            Some(Action::Do(Command::Conclude { faults }))
        }
        Some(_) => None,
        // A digit typed for a reading of one's own is no answer.
        None if desk.own_probes.is_some() => None,
        None if view.stage == Stage::Finding && view.cautions.is_empty() => match &view.step.as_ref()?.ask {
            Ask::Question { answers } if index < answers.len() => {
                Some(Action::Do(Command::Answer { answer: index }))
            }
            _ => None,
        },
        None => None,
    }
}

/// Returns the key that does the same as a button with this meaning, as written on screens.
pub(super) fn alternative(index: usize) -> &'static str {
    ["Ctrl+1", "Ctrl+2", "Ctrl+3"].get(index).copied().unwrap_or("")
}
