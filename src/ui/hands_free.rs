//! Work without hands: one key or a foot switch, large targets, and the step read aloud.
//!
//! A short press does what is next, a long one repeats the step, two quick ones say that it cannot be done.

use egui::{Event, Key, Label, RichText, Ui};

use super::action::{Action, Desk, Overlay, Pane, Spot};
use super::bench::Bench;
use super::theme;
use super::voice::Voice;
use super::widgets::{key_button, soft};
use super::{finish, spoken};
use crate::job::Outcome;
use crate::workbench::{Ask, Command, Stage, View};

/// The keys that a foot switch may send, as they are written on screens.
pub const PEDALS: [(Key, &str); 4] = [
    (Key::PageDown, "Page Down"),
    (Key::F13, "F13"),
    (Key::F14, "F14"),
    (Key::Space, "Space, while nothing is typed"),
];

/// A press of this many seconds is a long one.
pub const LONG: f64 = 0.6;
/// A press that begins no more than this many seconds after another ended makes a double one with it.
pub const DOUBLE: f64 = 0.4;
/// The least height of what is pressed, in points.
pub const TARGET: f32 = 44.0;

/// Said when steps are to be read aloud and nothing is there to do it.
const NO_VOICE: &str =
    "No speech program was found on this computer, so nothing is read aloud; all else works as before";

/// Why a step is left out that was refused with the pedal.
const REASON: &str = "said to be impossible with the foot switch";

/// What a press of the pedal was.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Press {
    /// Do what is next.
    Short,
    /// Repeat the step.
    Long,
    /// The step cannot be done.
    Double,
}

/// Tells short, long and double presses apart, from the seconds at which the key goes down and up.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pedal {
    /// When it went down, while it is held and no long press has been told.
    down: Option<f64>,
    /// Whether it is held after a long press has been told.
    spent: bool,
    /// When a short press ended that may be the first of two.
    tapped: Option<f64>,
}

impl Pedal {
    /// Takes in that the key went down; the repeats of a held key change nothing.
    pub fn press(&mut self, now: f64) {
        if self.down.is_none() && !self.spent {
            self.down = Some(now);
        }
    }

    /// Takes in that the key went up, and returns what that completes.
    pub fn release(&mut self, now: f64) -> Option<Press> {
        if std::mem::take(&mut self.spent) {
            return None;
        }
        let down = self.down.take()?;
        if now - down >= LONG {
            self.tapped = None;
            return Some(Press::Long);
        }
        if self.tapped.take().is_some_and(|before| down - before <= DOUBLE) {
            return Some(Press::Double);
        }
        self.tapped = Some(now);
        None
    }

    /// Returns what has become certain by the passing of time.
    pub fn wait(&mut self, now: f64) -> Option<Press> {
        if self.down.is_some_and(|down| now - down >= LONG) {
            (self.down, self.spent, self.tapped) = (None, true, None);
            return Some(Press::Long);
        }
        let alone = self.down.is_none() && self.tapped.is_some_and(|tapped| now - tapped > DOUBLE);
        alone.then(|| self.tapped = None).map(|()| Press::Short)
    }

    /// Returns after how many seconds something becomes certain if nothing happens until then.
    pub fn due(&self, now: f64) -> Option<f64> {
        let held = self.down.map(|down| down + LONG);
        held.or(self.tapped.map(|tapped| tapped + DOUBLE)).map(|at| (at - now).max(0.0) + 0.01)
    }
}

/// What is remembered of working without hands, as long as the program runs.
#[derive(Clone, Debug, Default)]
pub struct Hands {
    /// Whether one key goes on with the work and targets are large.
    pub on: bool,
    /// Whether steps are read aloud.
    pub aloud: bool,
    /// Whether there is a voice to read with.
    pub has_voice: bool,
    /// The key.
    pub pedal: Pedal,
    /// What was last read aloud: the number of the view, and how many readings it had.
    heard: Option<(u64, usize)>,
}

impl Hands {
    /// Returns what is to be said since the view has changed: the last reading when there is a new one, and the step.
    pub fn news(&mut self, view: &View, revision: u64) -> Option<String> {
        let (before, taken) = (self.heard, view.readings.len());
        if !self.aloud || before.is_some_and(|(heard, _)| heard == revision) {
            return None;
        }
        self.heard = Some((revision, taken));
        let back = before.filter(|(_, readings)| *readings < taken).and_then(|_| spoken::read_back(view));
        Some(back.into_iter().chain([spoken::now(view)]).collect::<Vec<_>>().join(" "))
    }

    /// Takes these settings over to another job, and falls silent.
    pub(super) fn kept(&mut self, voice: &mut Option<Box<dyn Voice>>) -> Self {
        hush(voice);
        Self { heard: None, pedal: Pedal::default(), ..std::mem::take(self) }
    }
}

/// What the switches of this way of working ask for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Switch {
    /// Work without hands, or no more.
    HandsFree,
    /// Read aloud, or no more.
    Aloud,
    /// Repeat the step: show it large, and say it where there is a voice.
    Repeat,
}

/// Carries out what a switch asks for.
pub(super) fn carry_out(
    ctx: &egui::Context,
    switch: Switch,
    view: Option<&View>,
    desk: &mut Desk,
    voice: &mut Option<Box<dyn Voice>>,
) {
    let hands = &mut desk.hands;
    match switch {
        Switch::HandsFree => {
            (hands.on, hands.pedal) = (!hands.on, Pedal::default());
            theme::targets(ctx, hands.on.then_some(TARGET));
            desk.focus = Some(Spot::Home);
        }
        Switch::Aloud if !hands.has_voice => desk.problem = Some(NO_VOICE.to_owned()),
        Switch::Aloud => {
            (hands.aloud, hands.heard) = (!hands.aloud, None);
            hush(voice);
        }
        Switch::Repeat => {
            if let (Some(view), Some(voice), true) = (view, voice, hands.aloud) {
                voice.say(&spoken::now(view));
            }
            (desk.overlay, desk.focus) = (Some(Overlay::Large), Some(Spot::Overlay));
        }
    }
}

/// Says what has changed since the last frame.
pub(super) fn speak(bench: &dyn Bench, desk: &mut Desk, voice: &mut Option<Box<dyn Voice>>) {
    let news = bench.view().and_then(|view| desk.hands.news(view, bench.revision()));
    if let (Some(text), Some(voice)) = (news, voice) {
        voice.say(&text);
    }
}

fn hush(voice: &mut Option<Box<dyn Voice>>) {
    if let Some(voice) = voice {
        voice.hush();
    }
}

/// Takes the pedal's keys out of what was pressed in this frame, before any widget sees them, and pushes what they mean.
pub fn read(ctx: &egui::Context, view: Option<&View>, desk: &mut Desk, out: &mut Vec<Action>) {
    let Some(view) = view.filter(|_| desk.hands.on && desk.trees.is_none() && desk.paper.is_none()) else {
        return;
    };
    let space = typed_nothing(desk);
    let (now, edges) = ctx.input_mut(|input| (input.time, edges(&mut input.events, space)));
    let pedal = &mut desk.hands.pedal;
    let mut presses: Vec<Press> = Vec::new();
    for down in edges {
        if down {
            presses.extend(pedal.wait(now));
            pedal.press(now);
        } else {
            presses.extend(pedal.release(now));
        }
    }
    presses.extend(pedal.wait(now));
    if let Some(seconds) = pedal.due(now) {
        ctx.request_repaint_after(std::time::Duration::from_secs_f64(seconds));
    }
    out.extend(presses.into_iter().filter_map(|press| meaning(press, view, desk)));
}

/// Returns whether a blank belongs to no text that is being typed.
fn typed_nothing(desk: &Desk) -> bool {
    let texts = [&desk.entry, &desk.draft, &desk.repair.what, &desk.repair.minutes];
    let overlay = desk.overlay.is_none_or(|overlay| overlay == Overlay::Large);
    overlay && texts.into_iter().all(String::is_empty)
}

/// Takes the pedal's keys out of a frame's events; returns each as going down or up.
fn edges(events: &mut Vec<Event>, space: bool) -> Vec<bool> {
    let mut found = Vec::new();
    events.retain(|event| match event {
        Event::Key { key, pressed, repeat, modifiers, .. }
            if modifiers.is_none() && is_pedal(*key, space) =>
        {
            if !repeat {
                found.push(*pressed);
            }
            false
        }
        Event::Text(text) => !(space && text == " "),
        _ => true,
    });
    found
}

fn is_pedal(key: Key, space: bool) -> bool {
    PEDALS.iter().any(|(pedal, _)| *pedal == key) && (space || key != Key::Space)
}

/// Returns what a press means now; `None` when there is nothing that it could mean.
pub fn meaning(press: Press, view: &View, desk: &Desk) -> Option<Action> {
    match desk.overlay {
        Some(Overlay::Large) => return Some(Action::Close),
        Some(_) => return None,
        None => {}
    }
    match press {
        Press::Short => Some(next(view, desk)),
        Press::Long => Some(Action::Hands(Switch::Repeat)),
        Press::Double => {
            let asked = view.stage == Stage::Finding && view.cautions.is_empty() && view.step.is_some();
            asked.then(|| Action::Do(Command::Skip { reason: REASON.to_owned() }))
        }
    }
}

/// Returns what is next: to confirm the caution, to record what is typed, to take the verdict, or to go to the step.
fn next(view: &View, desk: &Desk) -> Action {
    if let Some(caution) = view.cautions.first() {
        return Action::Do(Command::SeeCaution { key: caution.key.clone() });
    }
    match view.stage {
        Stage::Finding | Stage::Proving if !desk.entry.trim().is_empty() => Action::Record,
        Stage::Finding => match &view.verdict {
            Some(verdict) => Action::Do(Command::Conclude { faults: verdict.faults.clone() }),
            None => Action::Pane(Pane::Step),
        },
        Stage::Repairing if !desk.repair.what.trim().is_empty() => Action::Repair,
        Stage::Proving if finish::lacks(view).is_none() => Action::Do(Command::Close(Outcome::Cured)),
        _ => Action::Pane(Pane::Step),
    }
}

/// Returns what a short press does now, in words.
fn promise(view: &View, desk: &Desk) -> &'static str {
    match next(view, desk) {
        Action::Do(Command::SeeCaution { .. }) => "confirms the caution",
        Action::Do(Command::Conclude { .. }) => "takes the verdict",
        Action::Do(Command::Close(_)) => "closes the job as cured",
        Action::Record => "records what is typed",
        Action::Repair => "records the repair",
        _ => "shows the step",
    }
}

/// Shows the switches of this way of working, and what the pedal does now.
pub fn bar(ui: &mut Ui, view: &View, desk: &Desk, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        if key_button(ui, "Leave hands-free", "Ctrl+H", true).clicked() {
            out.push(Action::Hands(Switch::HandsFree));
        }
        aloud(ui, desk, out);
        if key_button(ui, "Repeat the step", "", true).clicked() {
            out.push(Action::Hands(Switch::Repeat));
        }
        if key_button(ui, "Undo", "Ctrl+Z", view.can_undo).clicked() {
            out.push(Action::Do(Command::Undo));
        }
    });
    soft(
        ui,
        format!(
            "A short press {}; a long one repeats the step; two say it cannot be done",
            promise(view, desk)
        ),
    );
}

/// Shows the switch that reads aloud, and says so when there is no voice.
fn aloud(ui: &mut Ui, desk: &Desk, out: &mut Vec<Action>) {
    let name = match (desk.hands.has_voice, desk.hands.aloud) {
        (false, _) => "No speech program was found",
        (true, true) => "Stop reading aloud",
        (true, false) => "Read aloud",
    };
    if key_button(ui, name, "Ctrl+R", desk.hands.has_voice).clicked() {
        out.push(Action::Hands(Switch::Aloud));
    }
}

/// Shows the step as large as it can be read from a distance.
pub fn large(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    let size = (ui.ctx().content_rect().width() / 26.0).clamp(24.0, 44.0);
    let room = (ui.ctx().content_rect().height() - 150.0).max(120.0);
    egui::ScrollArea::vertical().max_height(room).show(ui, |ui| {
        for line in lines(view) {
            ui.add(Label::new(RichText::new(line).text_style(theme::headline()).size(size)).wrap());
        }
    });
    let close = ui.add(egui::Button::new("Close").min_size(egui::vec2(120.0, TARGET)));
    let close = close.accessible_name("Close the large step");
    if desk.takes_focus(Spot::Overlay) {
        close.request_focus();
    }
    if close.clicked() {
        out.push(Action::Close);
    }
}

/// Returns what is shown large: what is to be read first, or the step with its controls and probes.
fn lines(view: &View) -> Vec<String> {
    if let Some(caution) = view.cautions.first() {
        return vec![caution.text.clone()];
    }
    if let Some(verdict) = &view.verdict {
        return vec![verdict.sentence.clone(), verdict.repair.clone()];
    }
    let proof = || view.proof.iter().find(|proof| proof.passed.is_none() && view.stage == Stage::Proving);
    let Some(step) = &view.step else {
        return vec![
            proof().map_or_else(|| "There is no step now".to_owned(), |proof| proof.sentence.clone()),
        ];
    };
    let mut lines = vec![step.headline.clone()];
    let moved = step.controls.iter().filter(|control| control.moved);
    lines.extend(moved.map(|control| format!("Move {} to {}", control.name, control.stand)));
    if matches!(step.ask, Ask::Measure(_)) {
        lines.push(format!("Red: {}", step.red));
        lines.push(format!("Black: {}", step.black));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    /// Plays a key that goes down (true) and up (false) at these seconds, and looks every 50 ms until the end.
    fn played(edges: &[(f64, bool)], end: f64) -> Vec<Press> {
        let (mut pedal, mut presses, mut left) = (Pedal::default(), Vec::new(), edges.iter().peekable());
        let frames = (0_i32..).map(|frame| f64::from(frame) * 0.05).take_while(|now| *now <= end);
        for now in frames {
            while let Some((at, down)) = left.next_if(|(at, _)| *at <= now) {
                presses.extend(pedal.wait(*at));
                if *down {
                    pedal.press(*at);
                } else {
                    presses.extend(pedal.release(*at));
                }
            }
            presses.extend(pedal.wait(now));
        }
        presses
    }

    #[rstest]
    #[case(&[(0.0, true), (0.1, false)], &[Press::Short])]
    #[case(&[(0.0, true), (0.1, false), (0.3, true), (0.4, false)], &[Press::Double])]
    #[case(&[(0.0, true), (0.1, false), (1.0, true), (1.1, false)], &[Press::Short, Press::Short])]
    #[case(&[(0.0, true), (0.9, false)], &[Press::Long])]
    #[case(&[(0.0, true), (0.3, true), (0.5, true), (0.9, false)], &[Press::Long])]
    #[case(&[(0.0, true), (0.1, false), (0.3, true), (1.5, false)], &[Press::Long])]
    #[case(&[(0.0, true), (0.9, false), (1.0, true), (1.1, false)], &[Press::Long, Press::Short])]
    #[case(&[(0.1, false)], &[])]
    #[case(&[], &[])]
    fn presses_are_told_apart(#[case] edges: &[(f64, bool)], #[case] presses: &[Press]) {
        assert_eq!(played(edges, 3.0), presses);
    }

    #[test]
    fn a_long_press_is_told_while_the_key_is_held() {
        assert_eq!(played(&[(0.0, true)], 0.7), [Press::Long]);
        assert_eq!(played(&[(0.0, true)], 0.5), Vec::<Press>::new());
    }

    #[test]
    fn the_next_look_comes_when_something_is_certain() {
        let mut pedal = Pedal::default();
        assert_eq!(pedal.due(0.0), None);
        pedal.press(1.0);
        let due = pedal.due(1.2).expect("a long press may come");
        assert_eq!(pedal.wait(1.2 + due), Some(Press::Long));
        assert_eq!(pedal.release(3.0), None);
        pedal.press(4.0);
        assert_eq!(pedal.release(4.1), None);
        let due = pedal.due(4.1).expect("a short press may come");
        assert_eq!(pedal.wait(4.1 + due), Some(Press::Short));
    }

    fn key(key: Key, pressed: bool, repeat: bool) -> Event {
        Event::Key { key, physical_key: None, pressed, repeat, modifiers: egui::Modifiers::NONE }
    }

    #[test]
    fn only_the_pedals_keys_are_taken_away() {
        let all = || {
            vec![
                key(Key::Space, true, false),
                Event::Text(" ".to_owned()),
                key(Key::PageDown, true, true),
                key(Key::A, true, false),
                Event::Text("a".to_owned()),
            ]
        };
        let mut events = all();
        assert_eq!(edges(&mut events, true), [true]);
        assert_eq!(events, all()[3..]);
        let mut events = all();
        assert_eq!(edges(&mut events, false), Vec::<bool>::new());
        assert_eq!(events.len(), 4, "a blank is typed, the repeat of the pedal is not");
    }
}
