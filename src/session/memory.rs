//! What the window remembers from one start to the next: where it was, how it looked, the open job, what was typed.

use std::ffi::OsString;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::places::{self, Keeps, System};

/// The environment variable that names another file.
pub const MEMORY_VARIABLE: &str = "LUGWISE_MEMORY";
/// Version of the file that this program writes and reads.
const FORMAT: u32 = 1;

/// Which theme is chosen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum ThemeChoice {
    /// As the system has it.
    #[default]
    System,
    /// The light one.
    Light,
    /// The dark one.
    Dark,
}

/// Where the window was, in points of the screen.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bounds {
    /// From the left; `None` where the system does not tell.
    pub left: Option<f32>,
    /// From the top.
    pub top: Option<f32>,
    /// Width of the contents.
    pub width: f32,
    /// Height of the contents.
    pub height: f32,
    /// Whether it filled the screen.
    pub maximised: bool,
}

/// The job that was open last.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LastJob {
    /// Its file.
    pub path: PathBuf,
    /// What the instrument is called.
    pub instrument: String,
}

/// The texts of the start form.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StartTexts {
    /// Name of the wiring.
    pub wiring: String,
    /// The instrument in the shop's words.
    pub instrument: String,
    /// The customer.
    pub customer: String,
    /// The complaint.
    pub complaint: String,
    /// What was done to it last.
    pub last_done: String,
    /// Who works on it.
    pub technician: String,
}

/// What was typed and not sent.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unsent {
    /// The line that a reading is typed into.
    pub entry: String,
    /// What was done, in the form of the repair.
    pub repair: String,
    /// How many minutes that took.
    pub minutes: String,
    /// The start form.
    pub start: StartTexts,
}

/// All that is remembered.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Memory {
    /// Version of the file.
    pub format: u32,
    /// The theme.
    pub theme: ThemeChoice,
    /// How large everything is; 1 is as the system has it.
    pub zoom: f32,
    /// Where the window was.
    pub bounds: Option<Bounds>,
    /// The job that was open last.
    pub job: Option<LastJob>,
    /// What was typed and not sent.
    pub unsent: Unsent,
}

impl Default for Memory {
    fn default() -> Self {
        Self {
            format: FORMAT,
            theme: ThemeChoice::System,
            zoom: 1.0,
            bounds: None,
            job: None,
            unsent: Unsent::default(),
        }
    }
}

impl Memory {
    fn parse(text: &str) -> Result<Self, String> {
        let memory: Self = ron::from_str(text).map_err(|error| error.to_string())?;
        match memory.format {
            FORMAT => Ok(memory.sane()),
            other => Err(format!("it has format {other}, this program reads {FORMAT}")),
        }
    }

    /// Returns it without a size that no window can have.
    fn sane(mut self) -> Self {
        let fits = |bounds: &Bounds| {
            let size = [bounds.width, bounds.height];
            let place = [bounds.left.unwrap_or(0.0), bounds.top.unwrap_or(0.0)];
            size.iter().all(|side| (200.0..=20e3).contains(side)) && place.iter().all(|p| p.abs() < 20e3)
        };
        self.bounds = self.bounds.filter(fits);
        self.zoom = if self.zoom.is_finite() { self.zoom.clamp(0.5, 4.0) } else { 1.0 };
        self
    }
}

/// The file that holds what is remembered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MemoryFile {
    path: PathBuf,
}

impl MemoryFile {
    /// Returns the one that the environment names, or the usual one of this system.
    pub fn usual() -> Self {
        Self { path: usual(System::here(), &|name| std::env::var_os(name)) }
    }

    /// Returns one at a path.
    pub fn at(path: impl Into<PathBuf>) -> Self {
        Self { path: path.into() }
    }

    /// Returns where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Reads it; also returns what the person must know. A file that cannot be understood is moved aside.
    pub fn read(&self) -> (Memory, Option<String>) {
        let text = match fs::read_to_string(&self.path) {
            Err(why) if why.kind() == io::ErrorKind::NotFound => return (Memory::default(), None),
            other => other.map_err(|why| why.to_string()),
        };
        match text.and_then(|text| Memory::parse(&text)) {
            Ok(memory) => (memory, None),
            Err(why) => (Memory::default(), Some(self.move_aside(&why))),
        }
    }

    /// Moves a file aside and returns what to say about it.
    fn move_aside(&self, why: &str) -> String {
        let aside = self.free();
        let what = format!("What the window remembered in {} cannot be read: {why}.", self.path.display());
        match fs::rename(&self.path, &aside) {
            Ok(()) => format!("{what} The file is now called {}; the usual look is back.", aside.display()),
            Err(error) => format!("{what} It could not be moved aside: {error}."),
        }
    }

    fn free(&self) -> PathBuf {
        let name = |number: u32| self.path.with_extension(format!("broken-{number}.ron"));
        (1..).map(name).find(|path| !path.exists()).unwrap_or_else(|| name(1))
    }

    /// Writes it whole, or leaves it as it was.
    ///
    /// # Errors
    ///
    /// Returns what the system said.
    pub fn write(&self, memory: &Memory) -> io::Result<()> {
        let text = ron::ser::to_string_pretty(memory, ron::ser::PrettyConfig::default())
            .map_err(io::Error::other)?;
        if let Some(folder) = self.path.parent() {
            fs::create_dir_all(folder)?;
        }
        let new = self.path.with_extension("new");
        fs::write(&new, text + "\n")?;
        fs::rename(&new, &self.path)
    }
}

fn usual(system: System, variable: &dyn Fn(&str) -> Option<OsString>) -> PathBuf {
    places::named(MEMORY_VARIABLE, variable)
        .unwrap_or_else(|| places::folder(system, Keeps::Settings, variable).join("window.ron"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn full() -> Memory {
        let bounds =
            Bounds { left: Some(-40.0), top: Some(12.5), width: 1280.0, height: 800.0, maximised: false };
        let job = LastJob {
            path: "jobs/an “invented” one.job.ron".into(),
            instrument: "an invented guitar".into(),
        };
        let unsent = Unsent { entry: "7.4k to".into(), repair: "a\n\"b\"".into(), ..Unsent::default() };
        let (bounds, job) = (Some(bounds), Some(job));
        Memory { theme: ThemeChoice::Dark, zoom: 1.5, bounds, job, unsent, ..Memory::default() }
    }

    #[test]
    fn what_is_written_is_read_again() {
        let home = tempfile::tempdir().unwrap();
        let file = MemoryFile::at(home.path().join("settings/window.ron"));
        assert_eq!(file.read(), (Memory::default(), None), "nothing is remembered yet");
        file.write(&full()).unwrap();
        assert_eq!(file.read(), (full(), None));
        assert_eq!(fs::read_dir(home.path().join("settings")).unwrap().count(), 1);
    }

    #[rstest]
    #[case::no_ron("(format")]
    #[case::unknown("(format: 1, colour: 3)")]
    #[case::later(&ron::to_string(&Memory { format: 2, ..Memory::default() }).unwrap())]
    fn a_broken_file_is_moved_aside(#[case] text: &str) {
        let home = tempfile::tempdir().unwrap();
        let file = MemoryFile::at(home.path().join("window.ron"));
        for number in 1..=2 {
            fs::write(file.path(), text).unwrap();
            let (memory, notice) = file.read();
            assert_eq!(memory, Memory::default());
            let aside = home.path().join(format!("window.broken-{number}.ron"));
            assert!(notice.unwrap().contains(&aside.display().to_string()));
            assert_eq!(fs::read_to_string(aside).unwrap(), text);
            assert!(!file.path().exists());
        }
    }

    #[test]
    fn a_size_that_no_window_can_have_is_left_out() {
        let wrong = Memory { zoom: 90.0, ..full() };
        let small = Bounds { width: 3.0, ..wrong.bounds.unwrap() };
        let sane = Memory { bounds: Some(small), ..wrong }.sane();
        assert_eq!((sane.bounds, sane.zoom), (None, 4.0));
    }

    #[test]
    fn the_environment_names_another_file() {
        let set = |name: &str| (name == MEMORY_VARIABLE).then(|| "/mine.ron".into());
        assert_eq!(usual(System::Other, &set), PathBuf::from("/mine.ron"));
    }
}
