//! Wirings of one's own: the files of a folder, each right or with everything that is wrong with it.

use std::ffi::OsString;
use std::fs::{self, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::time::SystemTime;

use thiserror::Error;

use super::own_priors::{PRIORS_FILE, PRIORS_VARIABLE};
use super::own_shop::SHOP_FILE;
use super::places::{self, Keeps, System};
use crate::circuit::{self, Harness};
use crate::source::{Located, Path as Inside, Positions, Source};

/// The environment variable that names another folder.
pub const FOLDER_VARIABLE: &str = "LUGWISE_WIRINGS";

/// Why a wiring could not be copied. Nothing was written over.
#[derive(Debug, Error)]
pub enum CopyError {
    /// There is such a file.
    #[error("copying to {}: there is a file of that name\n  hint: nothing is ever written over; give another name", .0.display())]
    Exists(PathBuf),
    /// The name is none that a file of the folder can have.
    #[error(
        "copying under the name {0:?}: a file of your folder cannot be called so\n  hint: give the tree another name, or name the file to make"
    )]
    Name(String),
    /// The file could not be made.
    #[error("copying to {}: {why}", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
}

/// One file of the folder.
#[derive(Clone, Debug)]
pub struct OwnWiring {
    /// The file.
    pub path: PathBuf,
    /// Its text; what is no text is replaced by marks.
    pub source: Source,
    /// The wiring, or everything that is wrong with the file.
    pub harness: Result<Harness, Vec<Located>>,
}

impl OwnWiring {
    /// Returns the file's name without its ending.
    pub fn stem(&self) -> String {
        self.path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default()
    }

    /// Returns whether a person may mean this file by a name: the wiring's own, its code, or the file's.
    pub fn is_called(&self, name: &str) -> bool {
        let same = |known: &str| known.eq_ignore_ascii_case(name);
        match &self.harness {
            Ok(harness) => same(&harness.name) || same(&harness.code) || same(&self.stem()),
            Err(_) => same(&self.stem()),
        }
    }

    fn read(path: PathBuf) -> Self {
        let (source, wrong) = read_text(&path);
        let harness = wrong.map_or_else(|| circuit::load(&source), |wrong| Err(vec![wrong]));
        Self { path, source, harness }
    }

    /// Makes a mistake of a name or code that another wiring has.
    fn refuse_taken(&mut self, taken: &mut Vec<(String, String)>) {
        let Ok(harness) = &self.harness else { return };
        let names = [("name", harness.name.clone()), ("code", harness.code.clone())];
        let wrong: Vec<Located> =
            names.iter().filter_map(|(field, name)| self.taken(field, name, taken)).collect();
        if wrong.is_empty() {
            let file = format!("{}.ron", self.stem());
            taken.extend(names.map(|(_, name)| (name, file.clone())));
        } else {
            self.harness = Err(wrong);
        }
    }

    fn taken(&self, field: &str, name: &str, taken: &[(String, String)]) -> Option<Located> {
        let message = taken_by(field, name, taken)?;
        let hint = format!("give this wiring another {field}");
        Some(at(&self.source, &Inside::root().then(field), message, Some(hint)))
    }
}

/// Returns what is said of a name and a code that a wiring that comes with the program has.
pub fn taken_names(harness: &Harness) -> Vec<String> {
    let names = [("name", &harness.name), ("code", &harness.code)];
    names.iter().filter_map(|(field, name)| taken_by(field, name, built_in_names())).collect()
}

fn taken_by(field: &str, name: &str, taken: &[(String, String)]) -> Option<String> {
    let (_, owner) = taken.iter().find(|(known, _)| known.eq_ignore_ascii_case(name))?;
    Some(format!("the {field} \"{name}\" is taken by {owner}"))
}

/// Returns a file's text, with where and why it is none; what is no text is replaced by marks.
pub(super) fn read_text(path: &Path) -> (Source, Option<Located>) {
    let (bytes, unread) = match fs::read(path) {
        Ok(bytes) => (bytes, None),
        Err(why) => (Vec::new(), Some(format!("the file cannot be read: {why}"))),
    };
    let (text, valid) = match String::from_utf8(bytes) {
        Ok(text) => (text, None),
        Err(error) => {
            let valid = error.utf8_error().valid_up_to();
            (String::from_utf8_lossy(error.as_bytes()).into_owned(), Some(valid))
        }
    };
    let wrong = match (unread, valid) {
        (Some(message), _) => Some(((1, 1), message)),
        (None, Some(valid)) => Some((place(&text[..valid]), NO_TEXT.to_owned())),
        (None, None) => None,
    };
    let file = path.display().to_string();
    let located =
        |((line, column), message)| Located { file: file.clone(), line, column, message, hint: None };
    (Source::new(file.as_str(), text), wrong.map(located))
}

/// Returns the line and column, both from 1, of what follows a text.
fn place(before: &str) -> (usize, usize) {
    let last = before.rsplit('\n').next().unwrap_or_default();
    (before.matches('\n').count() + 1, last.chars().count() + 1)
}

const NO_TEXT: &str = "the file is not text: save it again as plain text in UTF-8";

/// Returns a mistake at its place in a file.
pub(super) fn at(source: &Source, path: &Inside, message: String, hint: Option<String>) -> Located {
    Positions::of(source).error(path, message, hint)
}

/// When each file was changed last, and how long it is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Stamps(Vec<Stamp>);

impl Stamps {
    /// Returns those of some files, as they are now.
    pub(super) fn of(files: Vec<PathBuf>) -> Self {
        Self(files.into_iter().map(stamp).collect())
    }
}

type Stamp = (PathBuf, Option<SystemTime>, u64);

fn stamp(path: PathBuf) -> Stamp {
    let about = fs::metadata(&path).ok();
    let changed = about.as_ref().and_then(|about| about.modified().ok());
    (path, changed, about.map_or(0, |about| about.len()))
}

/// The folder of one's own wirings and priors. It need not exist.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnFolder {
    path: PathBuf,
    /// The file of own priors that the environment names.
    pub(super) named_priors: Option<PathBuf>,
}

impl OwnFolder {
    /// Returns the folder that the environment names, or the usual one of this system.
    pub fn usual() -> Self {
        let named_priors = std::env::var_os(PRIORS_VARIABLE).filter(|value| !value.is_empty());
        Self {
            path: usual(System::here(), |name| std::env::var_os(name)),
            named_priors: named_priors.map(PathBuf::from),
        }
    }

    /// Returns a folder.
    pub fn at(path: impl Into<PathBuf>) -> Self {
        Self { path: path.into(), named_priors: None }
    }

    /// Returns where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Returns the wiring files, in the order of their names.
    fn files(&self) -> Vec<PathBuf> {
        let other = |path: &PathBuf| path.ends_with(PRIORS_FILE) || path.ends_with(SHOP_FILE);
        ron_files(&self.path).into_iter().filter(|path| !other(path)).collect()
    }

    /// Returns what shows whether a file came, went or changed, without reading any.
    pub fn stamps(&self) -> Stamps {
        let priors = Some(self.priors_file()).filter(|path| path.exists());
        Stamps::of(self.files().into_iter().chain(priors).collect())
    }

    /// Reads every file, right or wrong. A name or code that another wiring has is a mistake too.
    pub fn read(&self) -> Vec<OwnWiring> {
        let mut all: Vec<OwnWiring> = self.files().into_iter().map(OwnWiring::read).collect();
        if all.is_empty() {
            return all;
        }
        let mut taken = built_in_names().to_vec();
        all.iter_mut().for_each(|own| own.refuse_taken(&mut taken));
        all
    }

    /// Copies a wiring to a new file, in this folder if none is named, under a name and code of its own.
    ///
    /// # Errors
    ///
    /// Returns [`CopyError`] when the file exists or cannot be made.
    pub fn copy(&self, wiring: &Harness, text: &str, to: Option<&Path>) -> Result<OwnWiring, CopyError> {
        let path = match to {
            Some(path) => path.to_owned(),
            None => self.free(&format!("my-{}", wiring.name)),
        };
        if to.is_none() {
            make_folder_of(&path)?;
        }
        let stem = path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
        let named = with_text(text, "name", &short_name(&stem));
        let copy = with_text(&named, "code", &self.free_code(&wiring.code));
        write_new(&path, &copy)?;
        Ok(OwnWiring::read(path))
    }

    fn free(&self, stem: &str) -> PathBuf {
        let path = |number: u32| self.path.join(format!("{}.ron", numbered(stem, number)));
        (1..).map(path).find(|path| !path.exists()).unwrap_or_else(|| path(1))
    }

    fn free_code(&self, code: &str) -> String {
        let own = self.read();
        let taken = |code: &String| own.iter().any(|wiring| wiring.is_called(code));
        let code = |number: u32| numbered(&format!("{code}-own"), number);
        (1..).map(code).find(|code| !taken(code)).unwrap_or_else(|| code(1))
    }
}

/// Returns the files of a folder that end in `.ron`, in the order of their names.
pub(super) fn ron_files(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let is_ron = |path: &PathBuf| path.extension().is_some_and(|end| end.eq_ignore_ascii_case("ron"));
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.path()).filter(is_ron).collect();
    files.sort();
    files
}

fn numbered(stem: &str, number: u32) -> String {
    if number == 1 { stem.to_owned() } else { format!("{stem}-{number}") }
}

/// Makes the folder that a file is to be in.
pub(super) fn make_folder_of(path: &Path) -> Result<(), CopyError> {
    let folder = path.parent().unwrap_or(path);
    if folder.as_os_str().is_empty() {
        return Ok(());
    }
    fs::create_dir_all(folder).map_err(|why| CopyError::Write { path: folder.to_owned(), why })
}

/// Writes a file that is not there yet.
pub(super) fn write_new(path: &Path, text: &str) -> Result<(), CopyError> {
    let file = OpenOptions::new().write(true).create_new(true).open(path);
    file.and_then(|mut file| file.write_all(text.as_bytes())).map_err(|why| refused(path, why))
}

fn refused(path: &Path, why: std::io::Error) -> CopyError {
    match why.kind() {
        std::io::ErrorKind::AlreadyExists => CopyError::Exists(path.to_owned()),
        _ => CopyError::Write { path: path.to_owned(), why },
    }
}

/// Returns a wiring's name made of a file's name: small letters, digits and `-`, a letter first.
fn short_name(stem: &str) -> String {
    let words: Vec<&str> =
        stem.split(|c: char| !c.is_ascii_alphanumeric()).filter(|w| !w.is_empty()).collect();
    let name = words.join("-").to_ascii_lowercase();
    let starts = name.starts_with(|c: char| c.is_ascii_lowercase());
    if starts { name } else { format!("my-{name}").trim_end_matches('-').to_owned() }
}

/// Returns a wiring file with one text of its head replaced, everything else left as it is.
fn with_text(text: &str, field: &str, value: &str) -> String {
    let source = Source::new("", text);
    let (line, column) = Positions::of(&source).at(&Inside::root().then(field));
    let before: usize = text.split_inclusive('\n').take(line - 1).map(str::len).sum();
    let within: usize = text[before..].chars().take(column - 1).map(char::len_utf8).sum();
    let start = before + within;
    let quoted = text[start..].strip_prefix('"').and_then(|rest| rest.find('"'));
    match quoted {
        Some(length) => format!("{}\"{value}\"{}", &text[..start], &text[start + length + 2..]),
        None => text.to_owned(),
    }
}

/// Returns the names and codes of the wirings that come with the program, with what is said of their owner.
fn built_in_names() -> &'static [(String, String)] {
    static NAMES: OnceLock<Vec<(String, String)>> = OnceLock::new();
    NAMES.get_or_init(|| {
        let names =
            super::built_in_wirings().unwrap_or_default().into_iter().flat_map(|(h, _)| [h.name, h.code]);
        names.map(|name| (name, "a wiring that comes with the program".to_owned())).collect()
    })
}

/// Returns the folder on a system with these environment variables: where programs keep what a person adds to them.
fn usual(system: System, variable: impl Fn(&str) -> Option<OsString>) -> PathBuf {
    places::named(FOLDER_VARIABLE, &variable)
        .unwrap_or_else(|| places::folder(system, Keeps::Data, &variable).join("wirings"))
}

/// Returns the folder in which this program keeps what belongs to a person.
pub(super) fn usual_data() -> PathBuf {
    places::folder(System::here(), Keeps::Data, &|name| std::env::var_os(name))
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn built_in(name: &str) -> (Harness, &'static str) {
        super::super::built_in_wirings().unwrap().into_iter().find(|(h, _)| h.name == name).unwrap()
    }

    fn said(own: &OwnWiring) -> Vec<String> {
        let wrong = own.harness.as_ref().err().into_iter().flatten();
        wrong.map(|located| format!("{}:{} {}", located.line, located.column, located.message)).collect()
    }

    #[test]
    fn a_copy_is_right_and_has_a_name_of_its_own() {
        let home = tempfile::tempdir().unwrap();
        let folder = OwnFolder::at(home.path().join("data/wirings"));
        let (harness, text) = built_in("two-single-coils");
        let first = folder.copy(&harness, text, None).unwrap();
        let second = folder.copy(&harness, text, None).unwrap();
        let own = folder.read();
        let names: Vec<_> =
            own.iter().map(|own| own.harness.as_ref().map(|h| (h.name.clone(), h.code.clone()))).collect();
        let pair = |name: &str, code: &str| Ok((name.to_owned(), code.to_owned()));
        assert_eq!(names, [pair("my-two-single-coils-2", "A3-own-2"), pair("my-two-single-coils", "A3-own")]);
        assert!(first.path.ends_with("my-two-single-coils.ron") && second.is_called("a3-OWN-2"));
        let lines = |text: &str| text.lines().map(str::to_owned).collect::<Vec<_>>();
        let changed = lines(text).into_iter().zip(lines(&first.source.text)).filter(|(a, b)| a != b).count();
        assert_eq!(changed, 2, "only the name and the code change");
    }

    #[test]
    fn nothing_is_written_over() {
        let home = tempfile::tempdir().unwrap();
        let file = home.path().join("Loan Guitar 4.ron");
        let (harness, text) = built_in("one-pickup");
        let folder = OwnFolder::at(home.path());
        assert_eq!(folder.copy(&harness, text, Some(&file)).unwrap().harness.unwrap().name, "loan-guitar-4");
        let before = fs::read(&file).unwrap();
        assert!(matches!(folder.copy(&harness, text, Some(&file)), Err(CopyError::Exists(_))));
        assert_eq!(fs::read(&file).unwrap(), before);
    }

    #[test]
    fn a_wrong_file_is_listed_with_what_is_wrong() {
        let home = tempfile::tempdir().unwrap();
        let (_, text) = built_in("one-pickup");
        fs::write(home.path().join("a.ron"), text.replacen("\"volume.lug3\"", "\"volme.lug3\"", 1)).unwrap();
        fs::write(home.path().join("b.ron"), b"(\n ab\xFF").unwrap();
        fs::write(home.path().join("c.ron"), text).unwrap();
        fs::write(home.path().join("notes.txt"), "no wiring").unwrap();
        let own = OwnFolder::at(home.path()).read();
        assert_eq!(own.len(), 3);
        assert!(said(&own[0])[0].contains("no part is called \"volme\""), "{:?}", said(&own[0]));
        assert!(said(&own[1])[0].starts_with("2:4 the file is not text"), "{:?}", said(&own[1]));
        let name = text.lines().position(|line| line.trim_start().starts_with("name:")).unwrap() + 1;
        assert!(said(&own[2])[0].starts_with(&format!("{name}:")), "{:?}", said(&own[2]));
        assert!(said(&own[2])[0].contains("is taken by a wiring that comes with the program"));
        assert_eq!(said(&own[2]).len(), 2, "its name and its code");
    }

    #[test]
    fn a_folder_that_is_not_there_is_empty() {
        let folder = OwnFolder::at("nowhere/at/all");
        assert!(folder.read().is_empty());
        assert_eq!(folder.stamps(), Stamps::default());
    }

    #[test]
    fn stamps_show_that_a_file_changed() {
        let home = tempfile::tempdir().unwrap();
        let folder = OwnFolder::at(home.path());
        fs::write(home.path().join("a.ron"), "(").unwrap();
        let before = folder.stamps();
        assert_eq!(folder.stamps(), before);
        fs::write(home.path().join("a.ron"), "((").unwrap();
        assert_ne!(folder.stamps(), before);
    }

    // XDG Base Directory Specification 0.8 for the first two; the folders of the other systems: common practice.
    #[rstest]
    #[case(System::Other, &[("HOME", "/h")], "/h/.local/share/lugwise/wirings")]
    #[case(System::Other, &[("HOME", "/h"), ("XDG_DATA_HOME", "/x")], "/x/lugwise/wirings")]
    #[case(System::Other, &[("HOME", "/h"), ("XDG_DATA_HOME", "x")], "/h/.local/share/lugwise/wirings")]
    #[case(System::MacOs, &[("HOME", "/h"), ("XDG_DATA_HOME", "/x")], "/h/Library/Application Support/lugwise/wirings")]
    #[case(System::Windows, &[("USERPROFILE", "/u"), ("APPDATA", "/u/data")], "/u/data/lugwise/wirings")]
    #[case(System::Windows, &[("USERPROFILE", "/u")], "/u/AppData/Roaming/lugwise/wirings")]
    #[case(System::Other, &[("HOME", "/h"), ("LUGWISE_WIRINGS", "/mine")], "/mine")]
    #[case(System::Other, &[("HOME", "/h"), ("LUGWISE_WIRINGS", "")], "/h/.local/share/lugwise/wirings")]
    fn each_system_has_its_folder(
        #[case] system: System,
        #[case] set: &[(&str, &str)],
        #[case] expected: &str,
    ) {
        let variable =
            |name: &str| set.iter().find(|(known, _)| *known == name).map(|(_, value)| value.into());
        assert_eq!(usual(system, variable), PathBuf::from(expected));
    }

    #[rstest]
    #[case("Loan Guitar 4", "loan-guitar-4")]
    #[case("4 strings", "my-4-strings")]
    #[case("___", "my")]
    fn a_files_name_becomes_a_wirings_name(#[case] stem: &str, #[case] name: &str) {
        assert_eq!(short_name(stem), name);
    }
}
