//! Keeps in a file what the window is to remember until the next start.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use egui::{Context, ThemePreference};

use super::action::Desk;
use super::app::App;
use super::bench::{Bench, StartForm};
use crate::session::{Bounds, LastJob, Memory, MemoryFile, StartTexts, ThemeChoice, Unsent};
use crate::workbench::Stage;

/// How often at most the file is written while something changes.
const BETWEEN: Duration = Duration::from_secs(1);

/// What is remembered, and the file that it is kept in.
#[derive(Debug)]
pub(super) struct Keeper {
    file: MemoryFile,
    memory: Memory,
    written: Memory,
    when: Instant,
    /// Whether the job that is being opened gets back what was typed.
    restoring: bool,
}

impl Keeper {
    fn new(file: MemoryFile, memory: Memory) -> Self {
        Self { file, written: memory.clone(), memory, when: Instant::now(), restoring: false }
    }

    /// Writes the file if something has changed; what cannot be written is not remembered, and nothing else is lost.
    fn write(&mut self) {
        if self.memory != self.written && self.file.write(&self.memory).is_ok() {
            self.written.clone_from(&self.memory);
        }
        self.when = Instant::now();
    }

    fn note(&mut self, ctx: &Context, desk: &Desk, bench: &dyn Bench) {
        let memory = &mut self.memory;
        memory.theme = choice(ctx.options(|options| options.theme_preference));
        memory.zoom = ctx.zoom_factor();
        memory.bounds = bounds(ctx, memory.bounds);
        match bench.view() {
            Some(view) => {
                let job = |path: &std::path::Path| LastJob {
                    path: path.to_owned(),
                    instrument: view.instrument.clone(),
                };
                memory.job = bench.job_file().filter(|_| view.stage != Stage::Closed).map(job);
                memory.unsent = in_a_job(desk);
            }
            None => memory.unsent.start = texts(&desk.start),
        }
    }
}

fn choice(preference: ThemePreference) -> ThemeChoice {
    match preference {
        ThemePreference::System => ThemeChoice::System,
        ThemePreference::Light => ThemeChoice::Light,
        ThemePreference::Dark => ThemeChoice::Dark,
    }
}

fn preference(choice: ThemeChoice) -> ThemePreference {
    match choice {
        ThemeChoice::System => ThemePreference::System,
        ThemeChoice::Light => ThemePreference::Light,
        ThemeChoice::Dark => ThemePreference::Dark,
    }
}

/// Returns where the window is now, in points of the screen at no magnification; a maximised one keeps its former size.
fn bounds(ctx: &Context, before: Option<Bounds>) -> Option<Bounds> {
    let zoom = ctx.zoom_factor();
    ctx.input(|input| {
        let about = input.viewport();
        let (Some(inner), maximised) = (about.inner_rect, about.maximized.unwrap_or(false)) else {
            return before;
        };
        if maximised && let Some(before) = before {
            return Some(Bounds { maximised, ..before });
        }
        if about.minimized.unwrap_or(false) {
            return before;
        }
        let place = about.outer_rect.map(|outer| outer.min * zoom);
        Some(Bounds {
            left: place.map(|place| place.x),
            top: place.map(|place| place.y),
            width: inner.width() * zoom,
            height: inner.height() * zoom,
            maximised,
        })
    })
}

fn in_a_job(desk: &Desk) -> Unsent {
    Unsent {
        entry: desk.entry.clone(),
        repair: desk.repair.what.clone(),
        minutes: desk.repair.minutes.clone(),
        start: StartTexts::default(),
    }
}

fn texts(form: &StartForm) -> StartTexts {
    StartTexts {
        wiring: form.wiring.clone(),
        instrument: form.instrument.clone(),
        customer: form.customer.clone(),
        complaint: form.complaint.clone(),
        last_done: form.last_done.clone(),
        technician: form.technician.clone(),
    }
}

fn fill(form: &mut StartForm, texts: StartTexts, known: bool) {
    form.wiring = if known { texts.wiring } else { String::new() };
    form.instrument = texts.instrument;
    form.customer = texts.customer;
    form.complaint = texts.complaint;
    form.last_done = texts.last_done;
    form.technician = texts.technician;
}

impl App {
    /// Makes the window look as it is remembered, and remembers from now on; `notice` is what reading the file said.
    #[must_use]
    pub fn remembering(mut self, ctx: &Context, file: MemoryFile, read: (Memory, Option<String>)) -> Self {
        let (memory, notice) = read;
        ctx.set_theme(preference(memory.theme));
        ctx.set_zoom_factor(memory.zoom);
        let start = memory.unsent.start.clone();
        let known = self.bench.wirings().iter().any(|choice| choice.name == start.wiring);
        fill(&mut self.desk.start, start, known);
        self.tidy_start_form();
        self.desk.problem = notice;
        self.desk.last.clone_from(&memory.job);
        self.keeper = Some(Keeper::new(file, memory));
        self
    }

    /// Notes what is to be remembered, and writes it from time to time.
    pub(super) fn remember(&mut self, ctx: &Context) {
        let Some(keeper) = &mut self.keeper else { return };
        if !keeper.restoring {
            keeper.note(ctx, &self.desk, self.bench.as_ref());
        }
        self.desk.last.clone_from(&keeper.memory.job);
        if keeper.memory == keeper.written {
            return;
        }
        match BETWEEN.checked_sub(keeper.when.elapsed()) {
            Some(left) => ctx.request_repaint_after(left),
            None => keeper.write(),
        }
    }

    /// Opens the job that was open last, with what was typed.
    pub(super) fn go_on(&mut self) {
        let Some(keeper) = &mut self.keeper else { return };
        let path: Option<PathBuf> = keeper.memory.job.as_ref().map(|job| job.path.clone());
        keeper.restoring = path.is_some();
        path.into_iter().for_each(|path| self.open(path));
    }

    /// Returns what was typed and not sent in the job that is opened again, once.
    pub(super) fn restored(&mut self) -> Option<Unsent> {
        let keeper = self.keeper.as_mut().filter(|keeper| keeper.restoring)?;
        keeper.restoring = false;
        Some(keeper.memory.unsent.clone())
    }

    /// Puts everything in order before the program ends.
    pub(super) fn end(&mut self) {
        self.bench.finish();
        if let Some(keeper) = &mut self.keeper {
            keeper.write();
        }
    }
}
