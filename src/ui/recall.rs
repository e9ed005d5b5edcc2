//! Part values that past jobs know of the instrument in the start form, found beside the window.

use std::path::Path;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;
use std::time::Duration;

use egui::{Context, Ui};

use super::action::Desk;
use super::bench::{Bench, StartForm};
use super::widgets::{section, small};
use crate::job::Intake;
use crate::readings::Level;
use crate::session::{KnownBefore, PastJobs, known_values};
use crate::workbench::Command;

/// What tells one instrument from another: wiring, instrument, customer.
type Name = [String; 3];

/// What past jobs know of one instrument after the other.
#[derive(Default)]
pub(super) struct Recall {
    name: Name,
    known: Vec<KnownBefore>,
    looking: Option<(Name, Receiver<Vec<KnownBefore>>)>,
}

impl Recall {
    /// Returns what is known of the instrument that was looked for last.
    pub(super) fn known(&self) -> &[KnownBefore] {
        &self.known
    }

    /// Looks for an instrument without waiting, one look at a time; returns whether a look is under way.
    pub(super) fn look(
        &mut self,
        place: &PastJobs,
        form: &StartForm,
        wiring_text: impl FnOnce(&str) -> Option<String>,
    ) -> bool {
        if let Some((name, found)) = &self.looking {
            match found.try_recv() {
                Err(TryRecvError::Empty) => return true,
                answer => {
                    self.name.clone_from(name);
                    self.known = answer.unwrap_or_default();
                    self.looking = None;
                }
            }
        }
        let wanted = [&form.wiring, &form.instrument, &form.customer].map(|text| text.trim().to_owned());
        if wanted == self.name {
            return false;
        }
        self.known.clear();
        let kept = place.path().is_some_and(Path::exists) && !wanted[1].is_empty();
        match wiring_text(&form.wiring).filter(|_| kept) {
            Some(text) => self.looking = Some((wanted, begin(place.clone(), intake(form, text)))),
            None => self.name = wanted,
        }
        self.looking.is_some()
    }
}

/// Returns what is known of an instrument before its job is started, as far as it tells which one it is.
fn intake(form: &StartForm, wiring_text: String) -> Intake {
    Intake {
        wiring: form.wiring.clone(),
        wiring_text,
        priors_text: None,
        trees_text: Vec::new(),
        instrument: form.instrument.clone(),
        customer: form.customer.clone(),
        complaint: String::new(),
        symptoms: Vec::new(),
        last_done: String::new(),
        access: form.access,
        meter: form.meter.clone(),
        technician: String::new(),
    }
}

fn begin(place: PastJobs, intake: Intake) -> Receiver<Vec<KnownBefore>> {
    let (sender, found) = channel();
    thread::spawn(move || {
        let found = place.open().and_then(|archive| known_values(&archive, &intake));
        // Starting the job says what is wrong with the archive; nobody listens after the window was closed.
        let _ = sender.send(found.unwrap_or_default().known);
    });
    found
}

/// Values that are taken over into the job that is started next.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TakenOver {
    /// The values that are ticked: the job each comes from, and its part.
    ticked: Vec<(String, String)>,
    /// What the job that is being started is told of once it is open.
    begun: Vec<Command>,
}

impl TakenOver {
    fn holds(&self, known: &KnownBefore) -> bool {
        self.ticked.iter().any(|(uid, part)| *uid == known.uid && *part == known.part)
    }

    /// Notes what the job is to be told that is started now.
    pub(super) fn begin(&mut self, known: &[KnownBefore]) {
        self.begun = known.iter().filter(|known| self.holds(known)).map(command).collect();
    }

    /// Forgets what the job was to be told: it was not started.
    pub(super) fn forget(&mut self) {
        self.begun.clear();
    }

    /// Returns what the job that was started is to be told, once.
    pub(super) fn begun(&mut self) -> Vec<Command> {
        std::mem::take(&mut self.begun)
    }
}

fn command(known: &KnownBefore) -> Command {
    Command::Know { part: known.part.clone(), text: value(known), celsius: 20.0 }
}

fn value(known: &KnownBefore) -> String {
    Level::of(known.dial, known.value, 0.0).words()
}

/// Looks for what past jobs know while the start form is shown.
pub(super) fn watch(ctx: &Context, bench: &mut dyn Bench, desk: &Desk) {
    let elsewhere = desk.own.is_some() || desk.past.is_some() || desk.audit.is_some();
    let shown = bench.view().is_none() && !elsewhere;
    if shown && bench.look_for_known(&desk.start) {
        ctx.request_repaint_after(Duration::from_millis(50));
    }
}

/// Offers what past jobs know of the instrument.
pub(super) fn show(ui: &mut Ui, bench: &dyn Bench, desk: &mut Desk) {
    let known = bench.known_before();
    if known.is_empty() {
        return;
    }
    section(ui, "Known of this instrument");
    for one in known {
        let mut ticked = desk.taken_over.holds(one);
        let text = format!("Known from {}: {} {}: take over", one.day(), one.title, value(one));
        if ui.checkbox(&mut ticked, text).changed() {
            desk.taken_over.ticked.retain(|(uid, part)| *uid != one.uid || *part != one.part);
            if ticked {
                desk.taken_over.ticked.push((one.uid.clone(), one.part.clone()));
            }
        }
    }
    small(ui, "A part that was changed meanwhile has another value: leave it out then.");
}
