//! The page of past jobs where they are taken in, written out, copied and learnt from.

use egui::{Label, Stroke, Ui};

use super::action::{Action, Desk, Spot};
use super::bench::Bench;
use super::past_care::Sure;
use super::past_desk::{PastAction, PastDesk, Rerun};
use super::theme::tokens;
use super::widgets::{framed, section, small, soft};
use crate::session::AllJobs;
use crate::workbench::Learnt;

/// How many things that were learnt are listed.
const LISTED: usize = 12;

/// Shows the page.
pub(super) fn show(ui: &mut Ui, bench: &dyn Bench, own: &PastDesk, desk: &mut Desk, out: &mut Vec<Action>) {
    match bench.past().path() {
        Some(path) => ui.add(Label::new(format!("The archive: {}", path.display())).wrap()),
        None => soft(ui, "No past jobs are kept: LUGWISE_ARCHIVE is off."),
    };
    let home = desk.overlay.is_none() && desk.takes_focus(Spot::Home);
    section(ui, "Take jobs in");
    small(ui, "Taking the same jobs in twice adds nothing. A wrong file stops no other.");
    let all = [
        ("Take in job files…", PastAction::Import),
        ("Take in a folder of job files…", PastAction::ImportFolder),
        ("Take in another archive's jobs (NDJSON)…", PastAction::Merge),
    ];
    buttons(ui, all, home, out);
    section(ui, "Write jobs out");
    small(
        ui,
        "For other programs. Nothing is ever written over. One job alone is written where it is gone through.",
    );
    let all = [
        ("Write all jobs as NDJSON…", PastAction::ExportAll(AllJobs::Ndjson)),
        ("Write all jobs as Parquet tables…", PastAction::ExportAll(AllJobs::Columns)),
    ];
    buttons(ui, all, false, out);
    section(ui, "Copies of the archive");
    small(ui, "A copy is looked through before it counts. What is put back takes the archive's place.");
    let all = [("Back up the archive…", PastAction::Backup), ("Put a backup back…", PastAction::Restore)];
    buttons(ui, all, false, out);
    if let Some(Sure::Restore(file)) = &own.sure {
        let back = match own.names_back {
            None => " How many jobs would have a customer's name again is not known yet.".to_owned(),
            Some(0) => String::new(),
            Some(1) => " One job whose customer was taken out here has the name again after that.".to_owned(),
            Some(more) => {
                format!(" {more} jobs whose customers were taken out here have the names again after that.")
            }
        };
        let says = format!(
            "Put {} in the archive's place? It is looked through first. The archive that is there now is set aside under \
             another name; nothing is deleted.{back}",
            file.display()
        );
        sure(ui, &says, "Put it back", out);
    }
    learning(ui, own, out);
}

fn buttons<const N: usize>(ui: &mut Ui, all: [(&str, PastAction); N], home: bool, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        for (index, (name, action)) in all.into_iter().enumerate() {
            let button = ui.button(name);
            if home && index == 0 {
                button.request_focus();
            }
            if button.clicked() {
                out.push(Action::Past(action));
            }
        }
    });
}

/// Asks once more, in words that say what stays.
fn sure(ui: &mut Ui, says: &str, yes: &str, out: &mut Vec<Action>) {
    let tokens = tokens(ui);
    framed(ui, tokens.card, Stroke::new(2.5, tokens.accent), |ui| {
        ui.add(Label::new(says).wrap());
        let all = [("No, leave it", PastAction::Unsure), (yes, PastAction::Sure)];
        buttons(ui, all, false, out);
    });
}

fn learning(ui: &mut Ui, own: &PastDesk, out: &mut Vec<Action>) {
    section(ui, "Learning from past jobs");
    let about = "When this is on, new jobs start with how often each sort of fault turned up in your cured jobs. A job keeps \
                 what it was started with. It is off until you ask for it.";
    ui.add(Label::new(about).wrap());
    let Some(now) = &own.learnt else { return };
    let mut on = now.on;
    if ui.checkbox(&mut on, "New jobs start with what past jobs teach").changed() {
        out.push(Action::Past(PastAction::Learn(on)));
    }
    let jobs = if now.jobs == 1 { "job" } else { "jobs" };
    small(ui, format!("{} cured {jobs} with a named fault. What they would move:", now.jobs));
    if now.moved.is_empty() {
        soft(ui, "nothing yet");
    }
    let listed = if own.all_learnt { now.moved.len() } else { LISTED };
    for learnt in now.moved.iter().take(listed) {
        ui.add(Label::new(taught(learnt)).wrap());
    }
    if now.moved.iter().any(is_shared) {
        small(ui, "About: a job in which no reading told several faults apart is shared among them.");
    }
    let more = now.moved.len().saturating_sub(listed);
    if more > 0 {
        small(ui, format!("and {more} more"));
        if ui.button("Show all").clicked() {
            out.push(Action::Past(PastAction::AllLearnt));
        }
    }
}

/// Returns whether parts of jobs were counted.
fn is_shared(learnt: &Learnt) -> bool {
    learnt.tally.found.fract().abs() > 0.05
}

/// Returns what was learnt in words; a number with parts of jobs in it is told without them.
fn taught(learnt: &Learnt) -> String {
    let said = learnt.words();
    let Some((how, _)) = said.rsplit_once(": ").filter(|_| is_shared(learnt)) else { return said };
    let (found, of) = (learnt.tally.found, learnt.tally.of);
    format!("{how}: about {found:.0} of {of:.0} jobs")
}

/// Shows what can be done with the one job that is gone through.
pub(super) fn one(ui: &mut Ui, own: &PastDesk, rerun: &Rerun, out: &mut Vec<Action>) {
    let all =
        [("Write this job to a file…", PastAction::Export), ("Take the customer out…", PastAction::Forget)];
    buttons(ui, all, false, out);
    if own.sure == Some(Sure::Forget) {
        sure(ui, &leaves(rerun), "Take the customer out", out);
    }
}

/// Returns what goes and what stays when the customer is taken out of a job.
fn leaves(rerun: &Rerun) -> String {
    let customer = rerun.job.customer.trim();
    let whom = if customer.is_empty() {
        "This job has no customer.".to_owned()
    } else {
        format!("Take {customer} out?")
    };
    format!(
        "{whom} Customer and instrument become empty, the instrument's number with it; the name is replaced in what was \
         written, and who agreed to a price goes. Readings, fault, repair, times and prices stay. The job file itself, photos beside it and older backups \
         still hold what they held. This cannot be undone."
    )
}
