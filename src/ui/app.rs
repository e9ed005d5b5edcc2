//! The window's frame loop: actions are carried out in `logic`, panels are drawn in `ui`.

use std::collections::VecDeque;

use super::action::{Action, Desk, Overlay, Pane, Spot};
use super::asking::Asking;
use super::bench::Bench;
use super::dialogs::Dialogs;
use super::gallery::Studio;
use super::keeper::Keeper;
use super::scene::Scene;
use super::sending::Sent;
use super::task::{AWAY, Task};
use super::trees::TreesAction;
use super::voice::{NativeVoice, Voice};
use super::{
    audit, audit_desk, busy, closer, count, finish, hands_free, job, keys, lookout, overlay, own, paper,
    paper_work, past, past_desk, picture_desk, practice, practice_desk, recall, start, theme, tree_desk,
    tree_news, trees,
};
use crate::job::Outcome;
use crate::readings::{Measurement, Mode, parse_entry};
use crate::workbench::{Ask, Command, Stage, UnitDoubt, View};

/// The window's contents and everything behind them.
pub struct App {
    pub(super) bench: Box<dyn Bench>,
    pub(super) dialogs: Box<dyn Dialogs>,
    /// The file dialog that is open.
    pub(super) asking: Option<Asking>,
    pub(super) desk: Desk,
    pub(super) sent: VecDeque<Sent>,
    pub(super) keeper: Option<Keeper>,
    pub(super) voice: Option<Box<dyn Voice>>,
    pending: Vec<Action>,
    scene: Scene,
    studio: Studio,
    tabbed: bool,
    past_last: bool,
    pressed: bool,
}

impl std::fmt::Debug for App {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("App")
            .field("desk", &self.desk)
            .field("pending", &self.pending)
            .finish_non_exhaustive()
    }
}

impl App {
    /// Makes the window's contents; shows the open job, or the first screen when none is open.
    pub fn new(cc: &eframe::CreationContext<'_>, bench: Box<dyn Bench>, dialogs: Box<dyn Dialogs>) -> Self {
        theme::install(&cc.egui_ctx);
        let mut app = Self {
            bench,
            dialogs,
            asking: None,
            desk: Desk::default(),
            sent: VecDeque::new(),
            keeper: None,
            voice: NativeVoice::found().map(|voice| Box::new(voice) as Box<dyn Voice>),
            pending: Vec::new(),
            scene: Scene::default(),
            studio: Studio::default(),
            tabbed: false,
            past_last: false,
            pressed: false,
        };
        app.desk.hands.has_voice = app.voice.is_some();
        app.tidy_start_form();
        app.desk.focus = Some(if app.bench.view().is_some() { Spot::Home } else { Spot::Start });
        app
    }

    /// Reads aloud with another voice than the platform's own, or with none.
    #[must_use]
    pub fn with_voice(mut self, voice: Option<Box<dyn Voice>>) -> Self {
        self.desk.hands.has_voice = voice.is_some();
        self.voice = voice;
        self
    }

    /// Returns the program behind the window.
    pub fn bench(&self) -> &dyn Bench {
        self.bench.as_ref()
    }

    /// Returns what the window remembers beside the job.
    pub fn desk(&self) -> &Desk {
        &self.desk
    }

    /// Asks for something as a panel does; it is carried out before the next frame is drawn.
    pub fn ask(&mut self, action: Action) {
        self.pending.push(action);
    }

    fn carry_out(&mut self, ctx: &egui::Context, action: Action) {
        if self.asks(&action) {
            return;
        }
        match action {
            Action::Do(command) => self.apply(command),
            Action::Record => self.record(),
            Action::RecordAs(text) => self.record_text(text),
            Action::Hands(switch) => {
                let Self { bench, desk, voice, .. } = self;
                hands_free::carry_out(ctx, switch, bench.view(), desk, voice);
            }
            Action::Repair => self.repair(),
            Action::Submit => self.submit(),
            Action::Start => self.start(),
            Action::Demonstrate => self.give(Task::Demonstrate),
            Action::Leave => self.give(Task::Leave),
            Action::GoOn => self.go_on(),
            Action::GiveUp => self.give_up(),
            Action::Audit(action) => {
                let task = audit_desk::carry_out(&mut self.desk, &action);
                task.into_iter().for_each(|task| self.give(task));
                self.tidy_start_form();
            }
            Action::Theme(preference) => ctx.set_theme(preference),
            Action::Draw(small) => self.studio.order(small, self.bench.wake()),
            Action::Count(asked) => count::carry_out(&mut self.desk, asked),
            Action::Own(asked) => own::carry_out(self.bench.as_mut(), &mut self.desk, asked),
            Action::Trees(TreesAction::Propose) => self.propose(),
            Action::Trees(asked) => tree_desk::carry_out(self.bench.as_mut(), &mut self.desk, asked),
            Action::Probe(asked) => {
                let command = picture_desk::carry_out(self.bench.as_mut(), &mut self.desk, asked);
                command.filter(|_| self.sent.is_empty()).into_iter().for_each(|command| self.apply(command));
            }
            Action::Practice(asked) => {
                practice_desk::carry_out(ctx, self.bench.as_ref(), &mut self.desk, asked);
            }
            Action::Past(asked) => past_desk::carry_out(self.bench.as_ref(), &mut self.desk, asked),
            Action::Paper(asked) => self.paper(asked),
            other => self.rearrange(other),
        }
    }

    fn rearrange(&mut self, action: Action) {
        let desk = &mut self.desk;
        match action {
            Action::Typed => self.typed(),
            Action::Insert(letters) => self.insert(letters),
            Action::Press(letters) => self.add(letters),
            Action::Wipe => {
                desk.entry.pop();
                self.add("");
            }
            Action::Reprove(index) => {
                desk.reprove = Some(index);
                (desk.problem, desk.top) = (None, true);
                desk.focus = Some(Spot::Home);
            }
            Action::Show(overlay) => self.show(overlay),
            Action::Close => self.close_overlay(),
            Action::NextSpot => self.next_spot(),
            Action::Pane(pane) => desk.pane = pane,
            Action::Unfold(fault) => {
                desk.unfolded = if desk.unfolded.as_ref() == Some(&fault) { None } else { Some(fault) };
            }
            Action::Far | Action::LookBack(_) | Action::LookOn(_) => closer::carry_out(desk, &action),
            Action::Dismiss => desk.notices.clear(),
            _ => {}
        }
    }

    fn record(&mut self) {
        if !self.sent.is_empty() {
            return;
        }
        let text = self.desk.entry.trim().to_owned();
        if text.is_empty() {
            return self.refused("Nothing is typed yet. What does the meter show?".to_owned());
        }
        if self.bench.is_away() {
            return self.refused(AWAY.to_owned());
        }
        if let Some(doubt) = self.unit_doubt(&text) {
            self.desk.unit = Some(doubt);
            self.desk.problem = None;
            self.desk.focus = Some(Spot::Home);
            return;
        }
        self.record_text(text);
    }

    /// Returns what is to be asked about the unit of a text, unless that has been asked already.
    fn unit_doubt(&self, text: &str) -> Option<UnitDoubt> {
        let asked = asked(self.bench.view()?, &self.desk).filter(|_| self.desk.unit.is_none())?;
        self.bench.unit_doubt(asked, text)
    }

    fn record_text(&mut self, text: String) {
        if !self.sent.is_empty() {
            return;
        }
        match self.bench.view().map(|view| view.stage) {
            Some(Stage::Proving) => self.apply(Command::Prove { index: self.desk.reprove, text }),
            Some(_) => self.apply(Command::Record { text, measurement: None }),
            None => {}
        }
    }

    fn repair(&mut self) {
        if !self.sent.is_empty() {
            return;
        }
        let what = self.desk.repair.what.trim().to_owned();
        let typed = self.desk.repair.minutes.trim().replace(',', ".");
        let minutes = typed.parse::<f64>().ok().filter(|m| m.is_finite() && *m >= 0.0);
        match (what.is_empty(), minutes) {
            (true, _) => {
                self.refused("What was done? Write it as it is to stand on the ticket.".to_owned());
            }
            (_, None) => {
                self.refused("How many minutes did it take? Type a number, such as 12.".to_owned());
            }
            (false, Some(minutes)) => self.apply(Command::Repair { what, minutes }),
        }
    }

    fn submit(&mut self) {
        if !self.sent.is_empty() {
            return;
        }
        let text = self.desk.draft.trim().to_owned();
        let reason = || Some(text.clone()).filter(|text| !text.is_empty()).ok_or(overlay::NO_REASON);
        let command = match self.desk.overlay {
            Some(Overlay::Cannot) => reason().map(|reason| Command::Skip { reason }),
            Some(Overlay::Withdraw(id)) => reason().map(|reason| Command::Withdraw { id, reason }),
            Some(Overlay::Unproven) => reason().map(|reason| Command::Close(Outcome::Unproven { reason })),
            Some(Overlay::Correct { id, .. }) if !text.is_empty() => Ok(Command::Correct { id, text }),
            Some(Overlay::Correct { .. }) => Err("Type what the meter showed."),
            Some(Overlay::SearchOn) => Ok(Command::SearchOn { remains: text, symptoms: Vec::new() }),
            Some(Overlay::Know) => overlay::known(&text).ok_or(overlay::NO_VALUE),
            Some(Overlay::Help | Overlay::Name | Overlay::Change | Overlay::Large) | None => {
                return self.close_overlay();
            }
        };
        match command {
            Ok(command) => self.apply(command),
            Err(problem) => self.refused(problem.to_owned()),
        }
    }

    pub(super) fn typed(&mut self) {
        self.desk.told = None;
        let read = |(text, flexed, mode): (&str, bool, Mode)| parse_entry(text.trim(), mode, flexed).ok();
        self.desk.shown = self.meaning().filter(|_| self.desk.overlay.is_none()).and_then(read);
        self.desk.unit = None;
        self.desk.echo = match self.meaning() {
            Some((text, flexed, mode)) if !text.trim().is_empty() => {
                Some(self.bench.echo(text.trim(), flexed, mode))
            }
            _ => None,
        };
        self.tidy_start_form();
    }

    /// Returns the text being typed and how it is to be read.
    fn meaning(&self) -> Option<(&str, bool, Mode)> {
        match self.desk.overlay {
            Some(Overlay::Correct { flexed, mode, .. }) => Some((&self.desk.draft, flexed, mode)),
            Some(_) => None,
            None if self.desk.audit.is_some() => {
                let check = self.desk.audit.as_ref()?.run.check()?;
                Some((&self.desk.entry, false, check.measurement.mode))
            }
            None if self.desk.practice.is_some() => {
                let (flexed, mode) = self.desk.practice.as_ref()?.meaning()?;
                Some((&self.desk.entry, flexed, mode))
            }
            None => {
                let asked = asked(self.bench.view()?, &self.desk)?;
                Some((&self.desk.entry, asked.flex.is_some(), asked.mode))
            }
        }
    }

    fn insert(&mut self, letters: &str) {
        if !self.desk.entry.is_empty() && !self.desk.entry.ends_with(' ') {
            self.desk.entry.push(' ');
        }
        self.add(letters);
    }

    /// Adds letters to the entry line.
    fn add(&mut self, letters: &str) {
        self.desk.entry.push_str(letters);
        self.desk.problem = None;
        self.desk.focus = Some(Spot::Home);
        self.typed();
    }

    fn show(&mut self, overlay: Overlay) {
        self.desk.overlay = Some(overlay);
        self.desk.draft.clear();
        self.desk.problem = None;
        self.desk.echo = None;
        self.desk.focus = Some(Spot::Overlay);
    }

    fn close_overlay(&mut self) {
        self.desk.overlay = None;
        self.desk.problem = None;
        self.desk.focus = Some(Spot::Home);
        self.typed();
    }

    fn next_spot(&mut self) {
        let desk = &mut self.desk;
        (desk.spot, desk.pane) = match desk.spot {
            Spot::Home => (Spot::Suspects, Pane::Suspects),
            Spot::Suspects => (Spot::Readings, Pane::Readings),
            Spot::Readings => (Spot::Picture, Pane::Picture),
            _ => (Spot::Home, Pane::Step),
        };
        desk.focus = Some(desk.spot);
    }

    pub(super) fn tidy_start_form(&mut self) {
        let form = &mut self.desk.start;
        if form.meter.is_empty()
            && let Some(usual) = self.bench.meters().first()
        {
            form.meter.clone_from(&usual.name);
        }
        if !self.desk.symptoms_touched {
            form.symptoms = self.bench.symptoms_in(&form.complaint);
        }
        if !self.desk.file_touched {
            form.file = self.bench.file_for(&form.instrument);
        }
    }

    /// Brings the keyboard home when nothing has it, but not when Tab has just gone past the last thing on the screen: the
    /// next Tab begins at the first.
    fn keep_keyboard_home(&mut self, ctx: &egui::Context) {
        let nowhere = ctx.memory(|memory| memory.focused().is_none());
        self.past_last = nowhere && (self.past_last || self.tabbed || self.pressed);
        // On a form a press on nothing leaves the keyboard nowhere.
        let press = ctx.input(|input| input.pointer.any_pressed() || input.pointer.any_released());
        self.pressed = press && self.desk.paper.is_some();
        self.tabbed = ctx.input(|input| input.key_pressed(egui::Key::Tab));
        let working = self.bench.view().is_some() || self.desk.audit.is_some() || self.desk.trees.is_some();
        let working = working || self.desk.practice.is_some() || self.desk.past.is_some();
        if nowhere && !self.past_last && self.desk.focus.is_none() && working {
            let over = self.desk.overlay.is_some();
            self.desk.focus = Some(if over { Spot::Overlay } else { Spot::Home });
        }
    }
}

impl eframe::App for App {
    fn logic(&mut self, ctx: &egui::Context, _frame: &mut eframe::Frame) {
        self.take_in(ctx);
        for action in std::mem::take(&mut self.pending) {
            self.carry_out(ctx, action);
        }
        self.take_answer(ctx);
        lookout::watch(ctx, self.bench.as_mut());
        own::watch(ctx, self.bench.as_mut(), &mut self.desk);
        count::watch(ctx, self.bench.as_mut(), &mut self.desk);
        self.keep_keyboard_home(ctx);
        hands_free::speak(self.bench.as_ref(), &mut self.desk, &mut self.voice);
        self.scene.refresh(self.bench.as_ref(), &mut self.desk);
        closer::refresh(self.bench.as_ref(), &mut self.desk);
        audit_desk::refresh(self.bench.as_ref(), &mut self.desk);
        tree_desk::watch(ctx, self.bench.as_mut(), &mut self.desk);
        tree_desk::refresh(self.bench.as_ref(), &mut self.desk);
        tree_news::refresh(self.bench.as_ref(), &mut self.desk);
        practice_desk::watch(ctx, &mut self.desk);
        practice_desk::refresh(&mut self.desk);
        past_desk::watch(ctx, &mut self.desk);
        paper_work::watch(ctx, &mut self.desk);
        paper_work::refresh(self.bench.as_ref(), &mut self.desk);
        recall::watch(ctx, self.bench.as_mut(), &self.desk);
        self.remember(ctx);
    }

    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        let out = &mut self.pending;
        hands_free::read(ui.ctx(), self.bench.view(), &mut self.desk, out);
        let busy = self.bench.busy();
        busy::show(ui, busy.as_ref(), out);
        keys::read(ui.ctx(), self.bench.view(), &self.desk, out);
        paper_work::dropped(ui.ctx(), self.bench.view(), &self.desk, out);
        match self.bench.view() {
            _ if self.desk.trees.is_some() => trees::show(ui, self.bench.as_ref(), &mut self.desk, out),
            _ if self.desk.practice.is_some() => {
                practice::show(ui, self.bench.as_ref(), &mut self.desk, out);
            }
            _ if self.desk.past.is_some() => past::show(ui, self.bench.as_ref(), &mut self.desk, out),
            Some(view) if self.desk.paper.is_some() => paper::show(ui, view, &mut self.desk, out),
            Some(view) => job::show(ui, view, self.scene.picture(), &mut self.desk, out),
            None => match self.desk.audit.take() {
                Some(open) => {
                    audit::show(ui, &open, &mut self.desk, out);
                    self.desk.audit = Some(open);
                }
                None => start::show(ui, self.bench.as_ref(), &mut self.desk, out),
            },
        }
        overlay::show(ui.ctx(), self.bench.view(), &mut self.desk, out);
        busy::keys(ui.ctx(), busy.as_ref(), &self.desk, out);
        if !out.is_empty() {
            ui.ctx().request_repaint();
        }
    }

    fn on_exit(&mut self, _gl: Option<&eframe::glow::Context>) {
        self.end();
    }
}

/// Returns the measurement that the entry line stands for, `None` while a caution hides it.
pub(super) fn asked<'a>(view: &'a View, desk: &Desk) -> Option<&'a Measurement> {
    if !view.cautions.is_empty() {
        return None;
    }
    match view.stage {
        Stage::Finding => match &view.step.as_ref()?.ask {
            Ask::Measure(measurement) => Some(measurement),
            Ask::Question { .. } => None,
        },
        Stage::Proving => {
            let index = desk.reprove.or_else(|| finish::next(view))?;
            Some(&view.proof.get(index)?.measurement)
        }
        Stage::Repairing | Stage::Closed => None,
    }
}
