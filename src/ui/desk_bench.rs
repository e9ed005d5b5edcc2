//! The real program behind the window: a session for the open job, and the built-in wirings to start one with.

use std::path::{Path, PathBuf};

use super::bench::{Bench, MeterChoice, OwnFile, StartForm, WiringChoice};
use super::shelf::Shelf;
use super::telling::Teller;
use super::tree_change::{self, Detour, Proposal};
use super::tree_shelf::TreeShelf;
use crate::circuit::{self, Harness};
use crate::draw::{Marks, Picture, Plan, Spot};
use crate::job::{Intake, to_line};
use crate::readings::{Measurement, Meter, Mode, Symptom, echo, note, parse_entry, symptoms_in};
use crate::session::{self, OwnFolder, OwnPriors, OwnTrees, PastJobs, Session};
use crate::source::Source;
use crate::workbench::{AuditRun, AuditView, Command, Engine, SuspectView, Telling, Trail, View};

/// The job that the demonstration opens, replayed from its file.
const DEMONSTRATION: &str = include_str!("../../assets/demo/school-loan-guitar.job.ron");
/// How many suspects are marked in the picture.
const MARKED: usize = 3;

/// The real program behind the window.
pub struct DeskBench {
    folder: PathBuf,
    wirings: Vec<WiringChoice>,
    built_in: Vec<(Harness, &'static str)>,
    shelf: Shelf,
    trees: OwnTrees,
    tree_shelf: TreeShelf,
    meters: Vec<MeterChoice>,
    teller: Option<Teller>,
    open: Option<(Session, Plan)>,
    past: PastJobs,
    revision: u64,
}

impl DeskBench {
    /// Makes the bench; new jobs are saved in `folder` unless the person chooses otherwise.
    ///
    /// # Errors
    ///
    /// Returns what is wrong with a wiring that comes with the program.
    pub fn new(folder: PathBuf) -> Result<Self, String> {
        let mut bench = Self::with_own(folder, OwnFolder::usual())?;
        bench.trees = OwnTrees::usual();
        bench.tree_shelf = TreeShelf::new(OwnTrees::usual(), bench.harnesses());
        Ok(bench)
    }

    /// Makes the bench with another folder of own wirings.
    ///
    /// # Errors
    ///
    /// Returns what is wrong with a wiring that comes with the program.
    pub fn with_own(folder: PathBuf, own: OwnFolder) -> Result<Self, String> {
        let built_in = session::built_in_wirings().map_err(|errors| lines(&errors))?;
        let meter =
            |meter: &Meter| MeterChoice { name: meter.name.to_owned(), title: meter.title.to_owned() };
        let mut bench = Self {
            folder,
            wirings: built_in.iter().map(|(harness, _)| WiringChoice::new(harness, false)).collect(),
            tree_shelf: TreeShelf::new(OwnTrees::beside(&own), harnesses(&built_in)),
            built_in,
            trees: OwnTrees::beside(&own),
            shelf: Shelf::new(own),
            meters: Meter::all().iter().map(meter).collect(),
            teller: None,
            open: None,
            past: PastJobs::off(),
            revision: 0,
        };
        bench.offer_own();
        Ok(bench)
    }

    /// Keeps every job that is opened or started from now on among these past jobs too.
    #[must_use]
    pub fn keeping(mut self, past: PastJobs) -> Self {
        self.past = past;
        self
    }

    fn harnesses(&self) -> Vec<Harness> {
        harnesses(&self.built_in)
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

    fn put(&mut self, session: Session) {
        let plan = Plan::new(session.harness());
        self.open = Some((session, plan));
        self.revision += 1;
    }

    fn session(&mut self) -> Result<&mut Session, String> {
        self.open.as_mut().map(|(session, _)| session).ok_or_else(|| "no job is open".to_owned())
    }

    /// Returns a path in the folder that is not taken yet.
    fn free(&self, stem: &str) -> PathBuf {
        let path = |number: u32| match number {
            1 => self.folder.join(format!("{stem}.job.ron")),
            n => self.folder.join(format!("{stem}-{n}.job.ron")),
        };
        (1..).map(path).find(|path| !path.exists()).unwrap_or_else(|| path(1))
    }
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
        let found = self.wiring(&form.wiring);
        let (_, text) = found.ok_or_else(|| "choose a wiring first".to_owned())?;
        let wiring_text = text.to_owned();
        let mut intake = Intake {
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
        make_folder(&form.file)?;
        self.past.prepare(&mut intake);
        let session = Session::start(&form.file, intake).map_err(|error| error.to_string())?;
        self.put(session.kept_in(&self.past));
        Ok(())
    }

    fn open(&mut self, path: &Path) -> Result<Vec<String>, String> {
        let (session, notices) = Session::open(path).map_err(|error| error.to_string())?;
        let kept = if invented(&session) { session } else { session.kept_in(&self.past) };
        self.put(kept);
        Ok(notices)
    }

    fn demonstrate(&mut self) -> Result<Vec<String>, String> {
        let path = self.free("demonstration");
        make_folder(&path)?;
        let intake = DEMONSTRATION.lines().next().unwrap_or_default();
        std::fs::write(&path, format!("{intake}\n"))
            .map_err(|why| format!("writing {}: {why}", path.display()))?;
        let mut notices = self.open(&path)?;
        notices.push(
            "This is an invented instrument: follow the walk through the demonstration job in the README"
                .to_owned(),
        );
        Ok(notices)
    }

    fn leave(&mut self) {
        self.open = None;
        self.revision += 1;
    }

    fn view(&self) -> Option<&View> {
        self.open.as_ref().map(|(session, _)| session.view())
    }

    fn revision(&self) -> u64 {
        self.revision
    }

    fn apply(&mut self, command: Command) -> Result<String, String> {
        let session = self.session()?;
        session.apply(&command).map_err(|error| error.to_string())?;
        let said = understood(&command, session.view());
        self.revision += 1;
        Ok(said)
    }

    fn echo(&self, text: &str, flexed: bool, mode: Mode) -> Result<String, String> {
        let shown = parse_entry(text, mode, flexed).map_err(|error| error.question())?;
        let said = echo(&shown);
        Ok(note(text).map_or_else(|| said.clone(), |note| format!("{said} ({note})")))
    }

    fn picture(&self, probes: Option<&Measurement>, suspects: &[SuspectView]) -> Option<Picture> {
        let (session, plan) = self.open.as_ref()?;
        let harness = session.harness();
        let terminal = |name: &String| harness.terminal(name);
        let spots = |view: &SuspectView| -> Vec<(Spot, f64)> {
            let named = view.terminals.iter().chain(&view.links);
            named.filter_map(|name| Spot::named(harness, name)).map(|spot| (spot, view.probability)).collect()
        };
        let opened = &session.bench().situation().stand.opened;
        let closed = (0..harness.places.len()).map(circuit::PlaceId);
        let marks = Marks {
            red: probes.and_then(|m| terminal(&m.red)),
            black: probes.and_then(|m| terminal(&m.black)),
            suspects: suspects.iter().take(MARKED).flat_map(spots).collect(),
            closed_places: closed.filter(|p| !harness[*p].outside && !opened.contains(p)).collect(),
            lifted: probes.and_then(|m| harness.lifted(m.lifted.as_deref()?)),
        };
        Some(plan.picture(harness, &marks))
    }

    fn audit(&mut self, form: &StartForm) -> Result<AuditView, String> {
        let meter = Meter::named(&form.meter).unwrap_or_else(Meter::ordinary);
        let (_, text) = self.wiring(&form.wiring).ok_or_else(|| "choose a wiring first".to_owned())?;
        let engine = Engine::new(&Source::new(format!("{}.ron", form.wiring), text), meter, &[]);
        engine.and_then(|engine| engine.audit(form.access)).map_err(|error| error.to_string())
    }

    fn audit_picture(&self, wiring: &str, probes: &Measurement) -> Option<Picture> {
        let (harness, _) = self.wiring(wiring)?;
        let (red, black) = (harness.terminal(&probes.red), harness.terminal(&probes.black));
        Some(Plan::new(harness).picture(harness, &Marks { red, black, ..Marks::default() }))
    }

    fn save_audit(&self, run: &AuditRun, path: &Path) -> Result<(), String> {
        session::write_checklist(run, path).map(|_| ()).map_err(|error| error.to_string())
    }

    fn ticket(&self, path: &Path) -> Result<(), String> {
        match &self.open {
            Some((session, _)) => session.write_ticket(path).map_err(|error| error.to_string()),
            None => Err("no job is open".to_owned()),
        }
    }

    fn trees(&self) -> &TreeShelf {
        &self.tree_shelf
    }

    fn trees_mut(&mut self) -> &mut TreeShelf {
        &mut self.tree_shelf
    }

    fn trail(&self) -> Option<Trail> {
        self.open.as_ref().and_then(|(session, _)| session.bench().trail())
    }

    fn propose(&self, detour: &Detour) -> Result<Proposal, String> {
        let (session, _) = self.open.as_ref().ok_or_else(|| "no job is open".to_owned())?;
        tree_change::propose(&self.tree_shelf, session.harness(), detour)
    }
}

/// Returns whether a job is the demonstration: an invented instrument is no past job.
fn invented(session: &Session) -> bool {
    let first = session.bench().job().records().first();
    first.and_then(|first| to_line(first).ok()).as_deref() == DEMONSTRATION.lines().next()
}

fn harnesses(all: &[(Harness, &'static str)]) -> Vec<Harness> {
    all.iter().map(|(harness, _)| harness.clone()).collect()
}

/// Returns what was understood, so that a person can see that it was the right thing.
fn understood(command: &Command, view: &View) -> String {
    match command {
        Command::Record { .. } => {
            view.readings.iter().rfind(|reading| !reading.withdrawn).map_or_else(String::new, |reading| {
                format!("Reading {} recorded: {}", reading.id.0, reading.found)
            })
        }
        Command::Correct { id, .. } => format!("Reading {} corrected", id.0),
        Command::Withdraw { id, .. } => format!("Reading {} withdrawn", id.0),
        Command::Prove { .. } => {
            let taken = view.proof.iter().filter(|proof| proof.passed.is_some()).count();
            format!("Proof reading recorded: {taken} of {} taken", view.proof.len())
        }
        Command::SearchOn { .. } => "The search goes on with all that is known".to_owned(),
        Command::TakeAgain { id } => format!("Reading {} is asked for again", id.0),
        Command::Skip { .. } => "Step left out".to_owned(),
        Command::UseTree { .. } => "The changed tree is in use; undo goes back to the one before".to_owned(),
        Command::Undo => "Taken back".to_owned(),
        Command::Redo => "Brought back".to_owned(),
        _ => String::new(),
    }
}

fn make_folder(file: &Path) -> Result<(), String> {
    let Some(folder) = file.parent() else { return Ok(()) };
    std::fs::create_dir_all(folder).map_err(|why| format!("making the folder {}: {why}", folder.display()))
}

fn lines(errors: &[crate::source::Located]) -> String {
    errors.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

/// Returns where jobs are saved unless a person chooses otherwise: a folder of the program in the user's documents.
pub fn usual_folder() -> PathBuf {
    let home = std::env::var_os("HOME").or_else(|| std::env::var_os("USERPROFILE")).map(PathBuf::from);
    let home = home.unwrap_or_else(|| PathBuf::from("."));
    let documents = home.join("Documents");
    if documents.is_dir() { documents.join("Lugwise") } else { home.join("Lugwise") }
}

/// Opens the window, on a job if one is given, and returns when it is closed.
///
/// # Errors
///
/// Returns why the window or the job could not be opened.
pub fn open(job: Option<&Path>) -> Result<(), String> {
    let mut bench = DeskBench::new(usual_folder())?.keeping(PastJobs::usual());
    if let Some(job) = job {
        bench.open(job)?;
    }
    super::run(Box::new(bench)).map_err(|error| error.to_string())
}
