//! What the screen of past jobs remembers, and what it asks for.

use std::collections::VecDeque;
use std::rc::Rc;
use std::sync::mpsc::{Receiver, TryRecvError};
use std::time::Duration;

use egui::Context;

use super::action::{Desk, Spot};
use super::bench::Bench;
use super::past_care::{Care, Sure};
use super::past_read::{self, Answer, FoundJob, Told, Wanted};
use crate::archive::audit::By;
use crate::archive::{Filter, Summary};
use crate::readings::Symptom;
use crate::session::{AllJobs, Chart, Figure, OwnPriors, PastJobs, Replay, TaughtNow};

/// How soon the window looks again whether something was read.
const SOON: Duration = Duration::from_millis(50);

/// What the screen of past jobs asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum PastAction {
    /// Open the screen.
    Open,
    /// Go back to the first screen.
    Close,
    /// Search with what stands in the form.
    Look,
    /// Show this page.
    Page(PastPage),
    /// Show how this job of the list went.
    Pick(usize),
    /// Go back to the list.
    Back,
    /// Show this step of the job.
    Step(usize),
    /// Show this chart.
    Chart(Chart),
    /// Put the figures together by this.
    By(By),
    /// Ask where, and write the figure on the screen.
    SaveCsv,
    /// Ask where, and write all figures as a page.
    SaveReport,
    /// Ask for job files, and take them in.
    Import,
    /// Ask for a folder of job files, and take them in.
    ImportFolder,
    /// Ask for another archive's jobs, and take them in.
    Merge,
    /// Ask where, and write the job that is gone through.
    Export,
    /// Ask where, and write all jobs.
    ExportAll(AllJobs),
    /// Ask where, and copy the archive.
    Backup,
    /// Ask for a copy to be put in the archive's place, which is asked once more.
    Restore,
    /// Take the customer out of the job that is gone through, which is asked once more.
    Forget,
    /// Do what was asked once more.
    Sure,
    /// Leave it.
    Unsure,
    /// Let new jobs start with what past jobs teach, or not.
    Learn(bool),
}

/// A page of the screen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PastPage {
    /// The list of jobs.
    #[default]
    Jobs,
    /// The figures.
    Figures,
    /// The archive: files in and out, copies, learning.
    Files,
}

/// Which jobs are looked for; what is empty lets all pass.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PastForm {
    /// Words that the job holds.
    pub words: String,
    /// Opened on this day or later.
    pub from: String,
    /// Opened on this day or before.
    pub to: String,
    /// The name of the wiring.
    pub wiring: String,
    /// Who worked on it.
    pub technician: String,
    /// What the complaint means.
    pub complaint: Option<Symptom>,
}

impl PastForm {
    /// Returns the filter, which knows nothing of the words.
    pub fn filter(&self) -> Filter {
        Filter {
            from: given(&self.from),
            // All that begins with the date comes before this.
            until: given(&self.to).map(|to| format!("{to}~")),
            wiring: given(&self.wiring),
            technician: given(&self.technician),
            complaint: self.complaint,
            ending: None,
        }
    }

    /// Returns which jobs these are, in words.
    pub(super) fn facts(&self) -> Vec<(&'static str, String)> {
        let complaint = self.complaint.map(|complaint| complaint.name().to_owned());
        let parts = [
            ("from", given(&self.from)),
            ("to", given(&self.to)),
            ("wiring", given(&self.wiring)),
            ("technician", given(&self.technician)),
            ("complaint", complaint),
        ];
        parts.into_iter().filter_map(|(name, value)| Some((name, value?))).collect()
    }
}

fn given(text: &str) -> Option<String> {
    Some(text.trim().to_owned()).filter(|text| !text.is_empty())
}

/// A job that is gone through step by step.
#[derive(Clone, Debug)]
pub struct Rerun {
    /// What it came to.
    pub job: Summary,
    /// Its steps.
    pub replay: Replay,
    /// Which step is shown.
    pub at: usize,
}

/// The screen of past jobs.
#[derive(Clone, Debug)]
pub struct PastDesk {
    /// Which page is shown.
    pub page: PastPage,
    /// Which jobs are looked for.
    pub form: PastForm,
    /// The jobs that were found, and how many there are in all; `None` until they were looked for.
    pub found: Option<(Vec<FoundJob>, u32)>,
    /// The job that is gone through.
    pub rerun: Option<Rerun>,
    /// All figures; `None` until they were counted.
    pub figures: Option<Vec<Figure>>,
    /// The chart that is shown.
    pub chart: Chart,
    /// What the figures are put together by.
    pub by: By,
    /// What past jobs teach; `None` until they were counted.
    pub learnt: Option<TaughtNow>,
    /// What is asked once more before it is done.
    pub sure: Option<Sure>,
    place: PastJobs,
    own_priors: Option<String>,
    waiting: VecDeque<Wanted>,
    reading: Option<Rc<Receiver<Answer>>>,
    doing: &'static str,
}

impl PastDesk {
    fn new(place: PastJobs, own_priors: Option<String>) -> Self {
        let mut own = Self {
            page: PastPage::Jobs,
            form: PastForm::default(),
            found: None,
            rerun: None,
            figures: None,
            chart: Chart::Weeks,
            by: By::Family,
            learnt: None,
            sure: None,
            place,
            own_priors,
            waiting: VecDeque::new(),
            reading: None,
            doing: "",
        };
        own.look();
        own
    }

    /// Returns whether something is being read.
    pub fn is_reading(&self) -> bool {
        self.reading.is_some() || !self.waiting.is_empty()
    }

    /// Returns what is being done beside the window, in words; empty while nothing is.
    pub fn doing(&self) -> &'static str {
        if self.is_reading() { self.doing } else { "" }
    }

    /// Returns the figure that is shown.
    pub fn figure(&self) -> Option<&Figure> {
        self.figures.as_ref()?.iter().find(|figure| figure.chart == self.chart)
    }

    /// Asks for something, in the place of what waits of the same kind.
    pub(super) fn want(&mut self, wanted: Wanted) {
        self.waiting.retain(|waiting| !waiting.is_replaced_by(&wanted));
        self.waiting.push_back(wanted);
    }

    /// Looks for the jobs or the figures of the form.
    fn look(&mut self) {
        let filter = self.form.filter();
        self.want(match self.page {
            PastPage::Jobs => Wanted::Jobs { words: self.form.words.clone(), filter },
            PastPage::Figures => Wanted::Figures { filter, by: self.by },
            PastPage::Files => Wanted::Care(Care::Learnt(self.own_priors.clone())),
        });
    }

    /// Asks for something to be done to the archive in the place of what was asked once more.
    fn care(&mut self, care: Care) {
        self.sure = None;
        self.want(Wanted::Care(care));
    }

    /// Does what was asked once more.
    fn sure(&mut self) {
        match self.sure.take() {
            Some(Sure::Restore(from)) => self.care(Care::Restore(from)),
            Some(Sure::Forget) => {
                let uid = self.rerun.as_ref().map(|rerun| rerun.job.uid.clone());
                uid.into_iter().for_each(|uid| self.care(Care::Forget(uid)));
            }
            None => {}
        }
    }

    fn take_in(&mut self, told: Told) -> Option<String> {
        match told {
            Told::Learnt(learnt) => self.learnt = Some(learnt),
            Told::Forgotten(said) => {
                self.rerun = None;
                self.look();
                return Some(said);
            }
            Told::Cared(said) | Told::Partly(said, _) => {
                self.look();
                return Some(said);
            }
            Told::Jobs(jobs, total) => self.found = Some((jobs, total)),
            Told::Replay(job, replay) => self.rerun = Some(Rerun { job: *job, replay, at: 0 }),
            Told::Figures(figures) => self.figures = Some(figures),
            Told::Written(path) => return Some(format!("Written to {}", path.display())),
        }
        None
    }

    fn go(&mut self, step: usize) {
        if let Some(rerun) = &mut self.rerun {
            rerun.at = step.min(rerun.replay.steps.len().saturating_sub(1));
        }
    }

    fn pick(&mut self, index: usize) {
        let job = self.found.as_ref().and_then(|(jobs, _)| jobs.get(index)).map(|(job, _)| job.clone());
        job.into_iter().for_each(|job| self.want(Wanted::Replay(Box::new(job))));
    }
}

/// Carries out one action of the screen.
pub(super) fn carry_out(bench: &dyn Bench, desk: &mut Desk, asked: PastAction) {
    (desk.problem, desk.told) = (None, None);
    match asked {
        PastAction::Open => {
            let own_priors = bench.own_priors().and_then(OwnPriors::text);
            desk.past = Some(PastDesk::new(bench.past(), own_priors));
            desk.focus = Some(Spot::Home);
        }
        PastAction::Close => {
            desk.past = None;
            desk.focus = Some(Spot::Start);
        }
        asked => {
            if matches!(asked, PastAction::Page(_)) && desk.past.is_none() {
                carry_out(bench, desk, PastAction::Open);
            }
            let Some(own) = &mut desk.past else { return };
            if matches!(asked, PastAction::Page(_) | PastAction::Back) {
                desk.focus = Some(Spot::Home);
            }
            turn(own, asked);
        }
    }
}

fn turn(own: &mut PastDesk, asked: PastAction) {
    match asked {
        PastAction::Look => own.look(),
        PastAction::Page(page) => {
            own.page = page;
            (own.rerun, own.sure) = (None, None);
            own.look();
        }
        PastAction::Pick(index) => own.pick(index),
        PastAction::Back => (own.rerun, own.sure) = (None, None),
        PastAction::Step(step) => own.go(step),
        PastAction::Chart(chart) => own.chart = chart,
        PastAction::By(by) => {
            own.by = by;
            own.look();
        }
        PastAction::Forget => own.sure = Some(Sure::Forget),
        PastAction::Sure => own.sure(),
        PastAction::Unsure => own.sure = None,
        PastAction::Learn(on) => own.care(Care::Learn(on, own.own_priors.clone())),
        // The others are done with the file that is chosen for them.
        _ => {}
    }
}

/// Takes in what was read beside the window, and begins to read what is wanted next.
pub(super) fn watch(ctx: &Context, desk: &mut Desk) {
    let Some(own) = &mut desk.past else { return };
    if let Some(reading) = own.reading.clone() {
        let answer = match reading.try_recv() {
            Ok(answer) => answer,
            Err(TryRecvError::Disconnected) => Err("reading past jobs broke off".to_owned()),
            Err(TryRecvError::Empty) => return ctx.request_repaint_after(SOON),
        };
        own.reading = None;
        match answer {
            Ok(told) => {
                let opens = matches!(told, Told::Replay(..) | Told::Forgotten(_));
                if let Told::Partly(_, why) = &told {
                    desk.problem = Some(why.clone());
                }
                desk.told = own.take_in(told).or_else(|| desk.told.take());
                if opens {
                    desk.focus = Some(Spot::Home);
                }
            }
            Err(why) => desk.problem = Some(why),
        }
        ctx.request_repaint();
    }
    if let Some(wanted) = own.waiting.pop_front() {
        own.doing = wanted.says();
        own.reading = Some(Rc::new(past_read::begin(own.place.clone(), wanted)));
        ctx.request_repaint_after(SOON);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_month_named_as_the_end_is_in_it() {
        let form = PastForm { to: " 2026-03 ".to_owned(), ..PastForm::default() };
        let until = form.filter().until.unwrap();
        assert!("2026-03-31T23:59:59Z" < until.as_str() && "2026-04-01T00:00:00Z" > until.as_str());
        assert_eq!(form.facts(), [("to", "2026-03".to_owned())]);
        assert_eq!(PastForm::default().filter(), Filter::default());
    }

    #[test]
    fn only_the_last_of_several_searches_is_read() {
        let mut own = PastDesk::new(PastJobs::off(), None);
        own.look();
        own.look();
        assert_eq!(own.waiting.len(), 1);
        own.page = PastPage::Figures;
        own.look();
        assert_eq!(own.waiting.len(), 2);
    }
}
