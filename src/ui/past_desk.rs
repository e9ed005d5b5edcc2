//! What the screen of past jobs remembers, and what it asks for.

use std::collections::VecDeque;
use std::rc::Rc;
use std::sync::mpsc::Receiver;

use egui::Context;

use super::action::{Desk, Spot};
use super::bench::Bench;
use super::past_ask::{self, PastFile};
use super::past_care::{Care, Sure};
use super::past_form::{Common, PastForm};
use super::past_found::finding;
use super::past_read::{self, Answer, FoundJob, Listing, Told, Wanted};
use crate::archive::audit::By;
use crate::archive::{Ending, Summary};
use crate::session::{AllJobs, Chart, Figure, OwnPriors, PastJobs, Replay, TaughtNow, week_from};

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
    /// List the jobs that this bar of the chart stands for.
    Only(usize),
    /// Show all that past jobs teach.
    AllLearnt,
    /// Go on with the path that was typed where no file dialog could be opened.
    TakePath,
    /// Leave what needed it.
    LeavePath,
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

/// A job that is gone through step by step.
#[derive(Clone, Debug)]
pub struct Rerun {
    /// What it came to.
    pub job: Summary,
    /// Its steps.
    pub replay: Replay,
    /// Which step is shown.
    pub at: usize,
    /// The step of the reading that raised the fault that was named most, and by how many bits.
    pub found: Option<(usize, f64)>,
}

/// A path that is typed where no file dialog could be opened.
#[derive(Clone, Debug)]
pub(super) struct TypedPath {
    /// What it is for.
    pub file: PastFile,
    /// The path so far.
    pub text: String,
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
    /// How many jobs were found or counted, and from when to when.
    pub held: String,
    /// The technicians in the archive.
    pub technicians: Vec<String>,
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
    /// Whether all of it is shown.
    pub all_learnt: bool,
    /// How many jobs would get their customer back from the copy that is to be put back; `None` until they are counted.
    pub names_back: Option<usize>,
    /// What is asked once more before it is done.
    pub sure: Option<Sure>,
    /// The path that is typed instead of chosen.
    pub(super) typed: Option<TypedPath>,
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
            held: String::new(),
            technicians: Vec::new(),
            rerun: None,
            figures: None,
            chart: Chart::Weeks,
            by: By::Family,
            learnt: None,
            all_learnt: false,
            names_back: None,
            sure: None,
            typed: None,
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

    /// Returns the place of past jobs.
    pub(super) fn place(&self) -> &PastJobs {
        &self.place
    }

    /// Looks for the jobs or the figures of the form; shows none while a date is wrong.
    fn look(&mut self) {
        if self.page != PastPage::Files && self.form.is_wrong() {
            self.waiting.retain(|one| !matches!(one, Wanted::Jobs { .. } | Wanted::Figures { .. }));
            (self.found, self.figures) = (None, None);
            self.held.clear();
            return;
        }
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
            Told::NamesIn(count) => self.names_back = Some(count),
            // What was asked for before a date went wrong is not shown.
            Told::Jobs(_) | Told::Figures(..) if self.form.is_wrong() => {}
            Told::Jobs(Listing { jobs, total, held, technicians }) => {
                self.found = Some((jobs, total));
                (self.held, self.technicians) = (held, technicians);
            }
            Told::Replay(job, replay) => {
                let found = job.last.as_ref().and_then(|named| finding(&replay, &named.fault));
                self.rerun = Some(Rerun { job: *job, replay, at: 0, found });
            }
            Told::Figures(figures, held) => (self.figures, self.held) = (Some(figures), held),
            Told::Written(path) => return Some(format!("Written to {}", path.display())),
        }
        None
    }

    fn go(&mut self, step: usize) {
        if let Some(rerun) = &mut self.rerun {
            rerun.at = step.min(rerun.replay.steps.len().saturating_sub(1));
        }
    }

    /// Limits the list to the jobs that a bar of the chart stands for, and shows it.
    fn only(&mut self, row: usize) {
        let Some(figure) = self.figure() else { return };
        let (chart, Some(row)) = (figure.chart, figure.rows.get(row).cloned()) else { return };
        match chart {
            Chart::Weeks => {
                let Some((from, to)) = week_from(&row.key) else { return };
                (self.form.from, self.form.to) = (from, to);
            }
            Chart::Renamed => self.form.renamed = true,
            Chart::Comebacks => self.form.came_back = true,
            Chart::Unproven => self.form.ending = Some(Ending::Unproven),
            _ => {}
        }
        if chart.grouped() && self.by != By::All {
            self.form.common = Some(Common { by: self.by, key: row.key, words: row.name });
        }
        self.page = PastPage::Jobs;
        self.form.words.clear();
        self.look();
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
            if asked == PastAction::TakePath {
                let Some(typed) = own.typed.take() else { return };
                past_ask::take_path(desk, typed);
                return;
            }
            if matches!(asked, PastAction::Page(_) | PastAction::Back | PastAction::Only(_)) {
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
        PastAction::Only(row) => own.only(row),
        PastAction::AllLearnt => own.all_learnt = true,
        PastAction::LeavePath => own.typed = None,
        PastAction::Learn(on) => own.care(Care::Learn(on, own.own_priors.clone())),
        // The others are done with the file that is chosen for them.
        _ => {}
    }
}

/// Takes in what was read beside the window, and begins to read what is wanted next.
pub(super) fn watch(ctx: &Context, desk: &mut Desk) {
    let Some(own) = &mut desk.past else { return };
    match past_read::arrived(ctx, &mut own.reading) {
        Some(Ok(told)) => {
            let opens = matches!(told, Told::Replay(..) | Told::Forgotten(_));
            if let Told::Partly(_, why) = &told {
                desk.problem = Some(why.clone());
            }
            desk.told = own.take_in(told).or_else(|| desk.told.take());
            if opens {
                desk.focus = Some(Spot::Home);
            }
        }
        Some(Err(why)) => desk.problem = Some(beside(desk.problem.take(), why)),
        None => {}
    }
    if own.reading.is_none()
        && let Some(wanted) = own.waiting.pop_front()
    {
        own.doing = wanted.says();
        own.reading = Some(Rc::new(past_read::begin(own.place.clone(), wanted)));
        ctx.request_repaint_after(past_read::SOON);
    }
}

/// Returns a problem with the one that is shown already, so that neither hides the other.
fn beside(shown: Option<String>, why: String) -> String {
    match shown {
        Some(shown) if shown != why => format!("{shown}\n{why}"),
        _ => why,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
