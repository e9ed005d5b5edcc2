//! The real program behind the window: a session for the open job, and the built-in wirings to start one with.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::bench::{Bench, MeterChoice, OwnFile, StartForm, WiringChoice};
use super::crew::{Crew, Errand, Work, no_job};
use super::lookout::Lookout;
use super::outcome::{audited, opened, outcome};
use super::recall::Recall;
use super::shelf::Shelf;
use super::task::{Busy, Done, Task, Wake};
use super::telling::Teller;
use super::tree_change::{Detour, Grounds, Proposal};
use super::tree_news::TreeNews;
use super::tree_shelf::TreeShelf;
use super::worker::{DEMONSTRATION, Face, Print, make_folder};
use crate::circuit::{self, Harness};
use crate::draw::{Marks, Picture, Plan, Sight, Spot};
use crate::job::{Intake, ReadingId};
use crate::readings::{Measurement, Meter, Mode, Symptom, echo, note, parse_entry, symptoms_in};
use crate::session::{
    self, DayLog, KnownBefore, OwnFolder, OwnPriors, OwnTrees, PaperFacts, PaperWish, PastJobs, PracticeFile,
    ShopPlace,
};
use crate::source::Source;
use crate::ticket::{Paper, TicketCopy};
use crate::workbench::{
    AuditRun, AuditView, CaseView, Command, LookBack, StepView, SuspectView, Telling, Trail, UnitDoubt, View,
};

/// How many suspects are marked in the picture.
const MARKED: usize = 3;

/// The real program behind the window.
///
/// Everything that may take longer than a frame is a [`Task`]. Each is done here and now, until
/// [`Bench::work_beside`] says how to wake the window: from then on they are done beside it, one after the other.
pub struct DeskBench {
    folder: PathBuf,
    wirings: Vec<WiringChoice>,
    built_in: Vec<(Harness, &'static str)>,
    shelf: Shelf,
    trees: OwnTrees,
    tree_shelf: TreeShelf,
    meters: Vec<MeterChoice>,
    teller: Option<Teller>,
    crew: Crew,
    recall: Recall,
    sight: Sight,
    shop: ShopPlace,
    lookout: Lookout,
}

impl DeskBench {
    /// Makes the bench; new jobs are saved in `folder` unless the person chooses otherwise.
    ///
    /// # Errors
    ///
    /// Returns what is wrong with a wiring that comes with the program.
    pub fn new(folder: PathBuf) -> Result<Self, String> {
        let bench = Self::made(folder, OwnFolder::usual(), OwnTrees::usual())?;
        Ok(Self { shop: ShopPlace::usual(), ..bench })
    }

    /// Makes the bench with another folder of own wirings.
    ///
    /// # Errors
    ///
    /// Returns what is wrong with a wiring that comes with the program.
    pub fn with_own(folder: PathBuf, own: OwnFolder) -> Result<Self, String> {
        let trees = OwnTrees::beside(&own);
        Self::made(folder, own, trees)
    }

    fn made(folder: PathBuf, own: OwnFolder, trees: OwnTrees) -> Result<Self, String> {
        let built_in = session::built_in_wirings().map_err(|errors| lines(&errors))?;
        let meter =
            |meter: &Meter| MeterChoice { name: meter.name.to_owned(), title: meter.title.to_owned() };
        let mut bench = Self {
            folder,
            wirings: built_in.iter().map(|(harness, _)| WiringChoice::new(harness, false)).collect(),
            tree_shelf: TreeShelf::new(trees.clone(), harnesses(&built_in)),
            built_in,
            shop: ShopPlace::beside(&own),
            trees,
            shelf: Shelf::new(own),
            meters: Meter::all().iter().map(meter).collect(),
            teller: None,
            crew: Crew::default(),
            recall: Recall::default(),
            sight: Sight::default(),
            lookout: Lookout::default(),
        };
        bench.offer_own();
        Ok(bench)
    }

    /// Keeps every job that is opened or started from now on among these past jobs too.
    #[must_use]
    pub fn keeping(mut self, past: PastJobs) -> Self {
        self.crew.past = past;
        self
    }

    /// Offers the own wirings that are right, after those of the program.
    fn offer_own(&mut self) {
        self.wirings.truncate(self.built_in.len());
        self.wirings.extend(self.shelf.files().iter().filter_map(|file| file.wiring.as_ref().ok()).cloned());
    }

    /// Returns the checked wiring of this name, and its text.
    fn wiring(&self, name: &str) -> Option<(&Harness, &str)> {
        let built_in = self.built_in.iter().find(|(harness, _)| harness.name == name);
        built_in.map(|(harness, text)| (harness, *text)).or_else(|| self.shelf.wiring(name))
    }

    /// Returns a path in the folder that is not taken yet.
    fn free(&self, stem: &str) -> PathBuf {
        let path = |number: u32| match number {
            1 => self.folder.join(format!("{stem}.job.ron")),
            n => self.folder.join(format!("{stem}-{n}.job.ron")),
        };
        (1..).map(path).find(|path| !path.exists()).unwrap_or_else(|| path(1))
    }

    /// Writes what fails and what takes long to a log.
    #[must_use]
    pub fn with_log(mut self, log: DayLog) -> Self {
        self.crew.log = Some(log);
        self
    }

    /// Does a task here and now, and returns what came of it.
    fn at_once(&mut self, task: Task) -> Vec<Done> {
        let wake = self.crew.wake.take();
        let mut done = self.crew.finished();
        done.extend(self.give(task));
        self.crew.wake = wake;
        done
    }

    /// Returns a task with all that it needs.
    fn prepared(&self, task: Task) -> Result<Errand, String> {
        let (says, stops, bound) = (task.says(), task.can_be_given_up(), task.means_the_screen());
        let work = match task {
            Task::Do { command, seen } => Work::Do { command, seen: bound.then_some(seen) },
            Task::Start { form, readings } => {
                let (path, intake) = self.intake(*form)?;
                Work::Start { path, intake: Box::new(intake), readings }
            }
            Task::Open(path) => Work::Open { path, notice: None },
            Task::Demonstrate => Work::Open { path: self.demonstration()?, notice: Some(invented()) },
            Task::Leave => Work::Leave,
            Task::Ticket(path) => Work::Ticket { path, sight: self.sight, print: None },
            Task::TicketPdf(path, copy, paper) => {
                Work::Ticket { path, sight: self.sight, print: Some(self.print(copy, paper)) }
            }
            Task::Paper(wish) => Work::Paper(wish),
            Task::Audit(form) => self.audit_of(&form)?,
            Task::Propose(detour) => Work::Propose(Box::new(self.grounds(*detour)?)),
        };
        Ok(Errand { says, stops, work })
    }

    fn print(&self, copy: TicketCopy, paper: Option<Paper>) -> Print {
        Print { copy, paper, shop: self.shop.clone() }
    }

    fn grounds(&self, detour: Detour) -> Result<Grounds, String> {
        let face = self.crew.face().ok_or_else(no_job)?;
        Ok(Grounds::of(&self.tree_shelf, &face.harness, detour))
    }

    fn audit_of(&self, form: &StartForm) -> Result<Work, String> {
        let meter = Meter::named(&form.meter).unwrap_or_else(Meter::ordinary);
        let (_, text) = self.wiring(&form.wiring).ok_or_else(|| "choose a wiring first".to_owned())?;
        let source = Source::new(format!("{}.ron", form.wiring), text);
        Ok(Work::Audit { source, meter, access: form.access })
    }

    /// Returns where a job is to be and what is known of it.
    fn intake(&self, form: StartForm) -> Result<(PathBuf, Intake), String> {
        let found = self.wiring(&form.wiring);
        let wiring_text = found.ok_or_else(|| "choose a wiring first".to_owned())?.1.to_owned();
        let intake = Intake {
            wiring: form.wiring,
            wiring_text,
            priors_text: self.shelf.priors().and_then(OwnPriors::text),
            trees_text: self.trees.texts().0,
            instrument: form.instrument,
            customer: form.customer,
            complaint: form.complaint,
            symptoms: form.symptoms,
            last_done: form.last_done,
            access: form.access,
            meter: form.meter,
            technician: form.technician,
        };
        Ok((form.file, intake))
    }

    /// Makes the file of the demonstration job.
    fn demonstration(&self) -> Result<PathBuf, String> {
        let path = self.free("demonstration");
        make_folder(&path)?;
        let intake = DEMONSTRATION.lines().next().unwrap_or_default();
        std::fs::write(&path, format!("{intake}\n"))
            .map_err(|why| format!("writing {}: {why}", path.display()))?;
        Ok(path)
    }
}

fn invented() -> String {
    "This is an invented instrument: follow the walk through the demonstration job in the README".to_owned()
}

impl Bench for DeskBench {
    fn wirings(&self) -> &[WiringChoice] {
        &self.wirings
    }

    fn tell_apart(&mut self, names: &[String]) -> Option<Result<Vec<Telling>, String>> {
        if self.teller.as_ref().is_none_or(|teller| !teller.is_for(names)) {
            let found = names.iter().filter_map(|name| self.wiring(name));
            let wirings = found.map(|(harness, _)| harness.clone()).collect();
            self.teller = Some(Teller::new(names, wirings));
        }
        let told = self.teller.as_ref().and_then(Teller::told);
        told.inspect(|_| self.teller = None)
    }

    fn own_folder(&self) -> &Path {
        self.shelf.folder()
    }

    fn own_files(&self) -> &[OwnFile] {
        self.shelf.files()
    }

    fn own_priors(&self) -> Option<&OwnPriors> {
        self.shelf.priors()
    }

    fn look_at_own(&mut self) -> bool {
        if self.shelf.look() {
            self.offer_own();
        }
        self.shelf.is_looking()
    }

    fn copy_wiring(&mut self, name: &str) -> Result<PathBuf, String> {
        let (harness, text) = self.wiring(name).ok_or_else(|| format!("there is no wiring \"{name}\""))?;
        let path = self.shelf.copy(harness, text)?;
        self.shelf.read();
        self.offer_own();
        Ok(path)
    }

    fn meters(&self) -> &[MeterChoice] {
        &self.meters
    }

    fn symptoms_in(&self, complaint: &str) -> Vec<Symptom> {
        symptoms_in(complaint)
    }

    fn file_for(&self, instrument: &str) -> PathBuf {
        let plain = |c: char| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
        let stem: String = instrument.trim().chars().take(40).map(plain).collect();
        let stem = stem.split('-').filter(|word| !word.is_empty()).collect::<Vec<_>>().join("-");
        self.free(if stem.is_empty() { "job" } else { &stem })
    }

    fn start(&mut self, form: StartForm) -> Result<(), String> {
        opened(self.at_once(Task::Start { form: Box::new(form), readings: None })).map(|_| ())
    }

    fn open(&mut self, path: &Path) -> Result<Vec<String>, String> {
        opened(self.at_once(Task::Open(path.to_owned())))
    }

    fn demonstrate(&mut self) -> Result<Vec<String>, String> {
        opened(self.at_once(Task::Demonstrate))
    }

    fn leave(&mut self) {
        self.at_once(Task::Leave);
    }

    fn view(&self) -> Option<&View> {
        self.crew.face().map(|face| &face.step.view)
    }

    fn job_file(&self) -> Option<&Path> {
        self.crew.face().map(|face| face.path.as_path())
    }

    fn revision(&self) -> u64 {
        self.crew.revision()
    }

    fn give(&mut self, task: Task) -> Vec<Done> {
        match self.prepared(task) {
            Ok(errand) => self.crew.give(errand),
            Err(why) => vec![Done::Failed(why)],
        }
    }

    fn take_in(&mut self) -> Vec<Done> {
        self.crew.take_in()
    }

    fn busy(&self) -> Option<Busy> {
        self.crew.busy()
    }

    fn is_away(&self) -> bool {
        self.crew.is_away()
    }

    fn give_up(&mut self) -> bool {
        self.crew.give_up()
    }

    fn work_beside(&mut self, wake: Wake) {
        self.lookout.begin(self.shelf.folder_of_own(), self.trees.clone(), Arc::clone(&wake));
        self.crew.wake = Some(wake);
    }

    fn wake(&self) -> Option<Wake> {
        self.crew.wake.clone()
    }

    fn look_around(&mut self, now: f64) -> bool {
        let (wirings, trees) = (self.shelf.is_looking(), self.tree_shelf.is_looking());
        let looks = !wirings && !trees && self.lookout.is_time(now);
        if wirings || looks {
            self.look_at_own();
        }
        if trees || looks {
            self.tree_shelf.look();
        }
        self.shelf.is_looking() || self.tree_shelf.is_looking()
    }

    fn finish(&mut self) {
        self.crew.finish();
    }

    fn apply(&mut self, command: Command) -> Result<String, String> {
        let seen = self.crew.revision();
        outcome(self.at_once(Task::Do { command, seen }))
    }

    fn echo(&self, text: &str, flexed: bool, mode: Mode) -> Result<String, String> {
        let shown = parse_entry(text, mode, flexed).map_err(|error| error.question())?;
        let said = echo(&shown);
        Ok(note(text).map_or_else(|| said.clone(), |note| format!("{said} ({note})")))
    }

    fn unit_doubt(&self, measurement: &Measurement, text: &str) -> Option<UnitDoubt> {
        let session = self.crew.session()?;
        // What cannot be predicted is not doubted: recording it says why.
        session.bench().unit_doubt(measurement, text).ok().flatten()
    }

    fn picture(&self, probes: Option<&Measurement>, suspects: &[SuspectView]) -> Option<Picture> {
        let Face { step, harness, plan, .. } = self.crew.face()?;
        let terminal = |name: &String| harness.terminal(name);
        let spots = |view: &SuspectView| -> Vec<(Spot, f64)> {
            let named = view.terminals.iter().chain(&view.links);
            named.filter_map(|name| Spot::named(harness, name)).map(|spot| (spot, view.probability)).collect()
        };
        let closed = (0..harness.places.len()).map(circuit::PlaceId);
        let marks = Marks {
            red: probes.and_then(|m| terminal(&m.red)),
            black: probes.and_then(|m| terminal(&m.black)),
            suspects: suspects.iter().take(MARKED).flat_map(spots).collect(),
            closed_places: closed.filter(|p| !harness[*p].outside && !step.opened.contains(p)).collect(),
            lifted: probes.and_then(|m| harness.lifted(m.lifted.as_deref()?)),
        };
        Some(plan.seen(self.sight).picture(harness, &marks))
    }

    fn sight(&self) -> Sight {
        self.sight
    }

    fn look_from(&mut self, sight: Sight) {
        self.sight = sight;
    }

    fn harness(&self) -> Option<&Harness> {
        self.crew.face().map(|face| &face.harness)
    }

    fn foretold(&self, measurement: &Measurement) -> Result<StepView, String> {
        self.crew.asked()?.bench().foretold(measurement).map_err(|error| error.to_string())
    }

    fn audit(&mut self, form: &StartForm) -> Result<AuditView, String> {
        audited(self.at_once(Task::Audit(Box::new(form.clone()))))
    }

    fn audit_picture(&self, wiring: &str, probes: &Measurement) -> Option<Picture> {
        let (harness, _) = self.wiring(wiring)?;
        let (red, black) = (harness.terminal(&probes.red), harness.terminal(&probes.black));
        Some(Plan::new(harness).seen(self.sight).picture(harness, &Marks { red, black, ..Marks::default() }))
    }

    fn save_audit(&self, run: &AuditRun, path: &Path) -> Result<(), String> {
        session::write_checklist(run, path).map(|_| ()).map_err(|error| error.to_string())
    }

    fn ticket(&self, path: &Path) -> Result<(), String> {
        self.crew.asked()?.write_ticket_seen(path, self.sight).map(drop).map_err(|error| error.to_string())
    }

    fn practice_file(&self) -> Option<PracticeFile> {
        Some(PracticeFile::beside(&OwnFolder::at(self.shelf.folder())))
    }

    fn past(&self) -> PastJobs {
        self.crew.past.clone()
    }

    fn look_for_known(&mut self, form: &StartForm) -> bool {
        let mut recall = std::mem::take(&mut self.recall);
        let text = |name: &str| self.wiring(name).map(|(_, text)| text.to_owned());
        let looking = recall.look(&self.crew.past, form, text);
        self.recall = recall;
        looking
    }

    fn known_before(&self) -> &[KnownBefore] {
        self.recall.known()
    }

    fn ticket_pdf(
        &self,
        path: &Path,
        copy: TicketCopy,
        paper: Option<Paper>,
    ) -> Result<Option<String>, String> {
        let written = self.print(copy, paper).write(self.crew.asked()?, path, self.sight);
        written.map_err(|error| error.to_string())
    }

    fn paper(&self) -> Option<&PaperFacts> {
        self.crew.face().map(|face| &face.step.paper)
    }

    fn on_paper(&mut self, wish: &PaperWish) -> Result<String, String> {
        outcome(self.at_once(Task::Paper(wish.clone())))
    }

    fn shop(&self) -> ShopPlace {
        self.shop.clone()
    }

    fn trees(&self) -> &TreeShelf {
        &self.tree_shelf
    }

    fn trees_mut(&mut self) -> &mut TreeShelf {
        &mut self.tree_shelf
    }

    fn trail(&self) -> Option<Trail> {
        self.crew.face().and_then(|face| face.step.trail.clone())
    }

    fn tree_news(&self) -> Option<TreeNews> {
        let (session, tree) = (self.crew.session()?, self.trail()?.tree);
        TreeNews::of(self.tree_shelf.find(&tree)?, |text| session.holds_tree(&tree, text))
    }

    fn look_back(&self, id: ReadingId) -> Result<Option<LookBack>, String> {
        let Some(session) = self.crew.session() else { return Ok(None) };
        session.bench().look_back(id).map_err(|error| error.to_string())
    }

    fn case(&self, fault: &str) -> Result<Option<CaseView>, String> {
        let Some(session) = self.crew.session() else { return Ok(None) };
        session.bench().case(fault).map_err(|error| error.to_string())
    }

    fn propose(&self, detour: &Detour) -> Result<Proposal, String> {
        self.grounds(detour.clone())?.propose()
    }
}

fn harnesses(all: &[(Harness, &'static str)]) -> Vec<Harness> {
    all.iter().map(|(harness, _)| harness.clone()).collect()
}

fn lines(errors: &[crate::source::Located]) -> String {
    errors.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}
