//! Trees of one's own: the files of a folder, each right or with what is wrong with it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::own::{CopyError, OwnFolder, Stamps, at, make_folder_of, read_text, ron_files, write_new};
use super::{Session, built_in_trees};
use crate::source::{Located, Path as Inside, Source};
use crate::trees::{self, Tree};
use crate::workbench::LEFT_OUT;

/// The environment variable that names another folder of own trees.
pub const TREES_VARIABLE: &str = "LUGWISE_TREES";

/// When each tree file was changed last, and how long it is.
pub type TreeStamps = Stamps;

/// One file of the folder.
#[derive(Clone, Debug)]
pub struct OwnTree {
    /// The file.
    pub path: PathBuf,
    /// Its text; what is no text is replaced by marks.
    pub source: Source,
    /// The tree, or everything that is wrong with the file.
    pub tree: Result<Tree, Vec<Located>>,
}

impl OwnTree {
    /// Reads a file, right or wrong.
    pub fn read(path: &Path) -> Self {
        let (source, wrong) = read_text(path);
        let tree = wrong.map_or_else(|| trees::load(&source), Err).map_err(|wrong| vec![wrong]);
        Self { path: path.to_owned(), source, tree }
    }

    /// Returns whether a person may mean this file by a name: the tree's own, or the file's without its ending.
    pub fn is_called(&self, name: &str) -> bool {
        let stem = self.path.file_stem().is_some_and(|stem| stem.eq_ignore_ascii_case(name));
        stem || self.tree.as_ref().is_ok_and(|tree| tree.name.eq_ignore_ascii_case(name))
    }

    /// Makes a mistake of a name that an earlier file has.
    fn refuse_taken(&mut self, taken: &mut BTreeMap<String, String>) {
        let Ok(tree) = &self.tree else { return };
        let file = self.path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let name = tree.name.clone();
        if let Some(owner) = taken.get(&name) {
            let message = format!("the name \"{name}\" is taken by {owner}");
            let hint = Some("give this tree another name, or take one of the two files away".to_owned());
            self.tree = Err(vec![at(&self.source, &Inside::root().then("name"), message, hint)]);
        } else {
            taken.insert(name, file);
        }
    }
}

/// The folder of one's own trees. It need not exist.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnTrees {
    path: PathBuf,
}

impl OwnTrees {
    /// Returns the folder that the environment names, or the one beside the usual folder of own wirings.
    pub fn usual() -> Self {
        let named = std::env::var_os(TREES_VARIABLE).filter(|value| !value.is_empty());
        named.map_or_else(|| Self::beside(&OwnFolder::usual()), |path| Self::at(PathBuf::from(path)))
    }

    /// Returns the folder beside that of own wirings.
    pub fn beside(wirings: &OwnFolder) -> Self {
        Self::at(wirings.path().with_file_name("trees"))
    }

    /// Returns a folder.
    pub fn at(path: impl Into<PathBuf>) -> Self {
        Self { path: path.into() }
    }

    /// Returns where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Returns what shows whether a file came, went or changed, without reading any.
    pub fn stamps(&self) -> TreeStamps {
        Stamps::of(ron_files(&self.path))
    }

    /// Reads every file, right or wrong. A name that an earlier file has is a mistake too; one of a tree that comes with
    /// the program is none, for the own tree takes its place.
    pub fn read(&self) -> Vec<OwnTree> {
        let mut taken = BTreeMap::new();
        let mut all: Vec<OwnTree> = ron_files(&self.path).iter().map(|path| OwnTree::read(path)).collect();
        all.iter_mut().for_each(|own| own.refuse_taken(&mut taken));
        all
    }

    /// Returns the texts to keep in a job, and what is wrong with the files that are left out.
    pub fn texts(&self) -> (Vec<String>, Vec<Located>) {
        let (mut texts, mut wrong) = (Vec::new(), Vec::new());
        for own in self.read() {
            match own.tree {
                Ok(_) => texts.push(own.source.text),
                Err(located) => wrong.extend(located),
            }
        }
        (texts, wrong)
    }

    /// Names the file of each tree that a notice tells of by its name: those that do not fit the wiring.
    pub fn name_files(&self, notices: &mut [String]) {
        if notices.iter().all(|notice| !notice.starts_with(LEFT_OUT)) {
            return;
        }
        for own in self.read() {
            let Ok(tree) = &own.tree else { continue };
            let (named, with_file) = (
                format!("{LEFT_OUT}: \"{}\",", tree.name),
                format!("{LEFT_OUT}: \"{}\" in {},", tree.name, own.path.display()),
            );
            notices.iter_mut().for_each(|notice| *notice = notice.replace(&named, &with_file));
        }
    }

    /// Writes a tree's text to a new file, in this folder and nowhere else under the tree's name if none is named.
    ///
    /// # Errors
    ///
    /// Returns [`CopyError`] when the file exists or cannot be made, or when the name leads out of this folder.
    pub fn copy(&self, name: &str, text: &str, to: Option<&Path>) -> Result<PathBuf, CopyError> {
        let path = to.map_or_else(|| self.inside(name), |path| Ok(path.to_owned()))?;
        if to.is_none() {
            make_folder_of(&path)?;
        }
        write_new(&path, text)?;
        Ok(path)
    }

    /// Returns the file of a name in this folder.
    fn inside(&self, name: &str) -> Result<PathBuf, CopyError> {
        let file = format!("{name}.ron");
        let plain = !file.contains(['/', '\\', ':', '\0']) && !name.is_empty();
        if plain { Ok(self.path.join(file)) } else { Err(CopyError::Name(name.to_owned())) }
    }
}

/// Returns the trees that come with the program but for those that one's own take the place of, after one's own.
///
/// # Errors
///
/// Returns where a tree of the program is wrong.
pub fn trees_with_own(own: &[OwnTree]) -> Result<Vec<Tree>, Located> {
    let mut all: Vec<Tree> = own.iter().filter_map(|own| own.tree.as_ref().ok()).cloned().collect();
    let rest = built_in_trees()?.into_iter().filter(|tree| !all.iter().any(|own| own.name == tree.name));
    let rest: Vec<Tree> = rest.collect();
    all.extend(rest);
    Ok(all)
}

impl Session {
    /// Returns whether the job holds a tree of this name with this very text.
    pub fn holds_tree(&self, name: &str, text: &str) -> bool {
        let job = self.bench().job();
        let own: Vec<&String> = job.intake().trees_text.iter().chain(job.used_trees()).collect();
        let named = |held: &&&String| {
            held.as_str() == text
                || trees::load_kept(&Source::new("", held.as_str())).is_ok_and(|tree| tree.name == name)
        };
        match own.iter().rev().find(named) {
            Some(held) => held.as_str() == text,
            None => trees::built_in().iter().any(|(_, held)| *held == text),
        }
    }

    /// Returns those of one's own trees that could lead this job and are not used by it as they are now: they came or were
    /// changed since it began. [`Command::UseTree`](crate::workbench::Command::UseTree) puts one to use.
    pub fn trees_changed<'o>(&self, own: &'o [OwnTree]) -> Vec<&'o OwnTree> {
        let used = self.tree_texts();
        let changed = |own: &&OwnTree| {
            let Ok(tree) = &own.tree else { return false };
            let leads = self.bench().job().intake().symptoms.contains(&tree.complaint);
            leads && tree.applies(self.harness()) && used.get(&tree.name) != Some(&own.source.text)
        };
        own.iter().filter(changed).collect()
    }

    /// Returns the text of every tree that the job uses, by the tree's name.
    fn tree_texts(&self) -> BTreeMap<String, String> {
        let job = self.bench().job();
        let built_in = trees::built_in().iter().map(|(_, text)| (*text).to_owned());
        let texts = built_in.chain(job.intake().trees_text.iter().chain(job.used_trees()).cloned());
        let named = |text: String| Some((trees::load_kept(&Source::new("", text.as_str())).ok()?.name, text));
        texts.filter_map(named).collect()
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;
    use crate::job::Intake;
    use crate::readings::{Access, Meter, Symptom};
    use crate::workbench::{Ask, Command};

    const SMALL: &str = r#"(
    format: 1,
    name: "silent",
    title: "Our own way",
    complaint: Silent,
    start: "look",
    steps: [
        (
            name: "look", say: "Look at the jack.", why: "It is quick.",
            ask: Look([
                (answer: "Broken", means: "the jack is broken", then: Advisor),
                (answer: "Whole", means: "go on", then: Advisor),
            ]),
        ),
    ],
)
"#;

    fn said(own: &OwnTree) -> Vec<String> {
        let wrong = own.tree.as_ref().err().into_iter().flatten();
        wrong.map(|located| format!("{}:{} {}", located.line, located.column, located.message)).collect()
    }

    fn asked(session: &Session) -> &str {
        &session.view().step.as_ref().unwrap().headline
    }

    fn intake(trees_text: Vec<String>) -> Intake {
        let wirings = super::super::built_in_wirings().unwrap();
        let (harness, text) = wirings.into_iter().find(|(h, _)| h.name == "one-pickup").unwrap();
        Intake {
            wiring: harness.name,
            wiring_text: text.to_owned(),
            priors_text: None,
            trees_text,
            instrument: "an invented guitar".to_owned(),
            customer: String::new(),
            complaint: "no sound".to_owned(),
            symptoms: vec![Symptom::Silent],
            last_done: String::new(),
            access: Access::MayOpen,
            meter: Meter::ordinary().name.to_owned(),
            technician: String::new(),
        }
    }

    #[test]
    fn a_wrong_file_is_told_and_stops_no_other() {
        let home = tempfile::tempdir().unwrap();
        fs::write(home.path().join("a.ron"), SMALL.replace("Silent", "Sad")).unwrap();
        fs::write(home.path().join("b.ron"), SMALL).unwrap();
        fs::write(home.path().join("c.ron"), SMALL).unwrap();
        fs::write(home.path().join("notes.txt"), "no tree").unwrap();
        let folder = OwnTrees::at(home.path());
        let own = folder.read();
        assert_eq!(own.len(), 3);
        assert!(said(&own[0])[0].starts_with("5:"), "{:?}", said(&own[0]));
        assert_eq!(own[1].tree.as_ref().unwrap().title, "Our own way");
        assert_eq!(said(&own[2]), ["3:11 the name \"silent\" is taken by b.ron"]);
        let (texts, wrong) = folder.texts();
        assert_eq!((texts, wrong.len()), (vec![SMALL.to_owned()], 2));
        let names: Vec<String> = trees_with_own(&own).unwrap().into_iter().map(|tree| tree.name).collect();
        assert_eq!(names[0], "silent");
        assert_eq!(names.iter().filter(|name| *name == "silent").count(), 1);
        assert_eq!(names.len(), trees::built_in().len());
    }

    #[test]
    fn stamps_show_that_a_tree_changed() {
        let home = tempfile::tempdir().unwrap();
        let folder = OwnTrees::beside(&OwnFolder::at(home.path().join("wirings")));
        assert_eq!((folder.stamps(), folder.read().len()), (TreeStamps::default(), 0));
        let path = folder.copy("silent", SMALL, None).unwrap();
        assert_eq!(path, home.path().join("trees").join("silent.ron"));
        let before = folder.stamps();
        assert_eq!(folder.stamps(), before);
        fs::write(&path, "((").unwrap();
        assert_ne!(folder.stamps(), before);
        assert!(matches!(folder.copy("silent", SMALL, None), Err(CopyError::Exists(_))));
    }

    #[test]
    fn a_copy_never_leaves_the_folder() {
        let home = tempfile::tempdir().unwrap();
        let folder = OwnTrees::at(home.path().join("data/trees"));
        for name in ["../out", "a/b", "..\\out", "c:out", ""] {
            assert!(matches!(folder.copy(name, SMALL, None), Err(CopyError::Name(_))), "{name}");
        }
        assert_eq!(fs::read_dir(home.path()).unwrap().count(), 0);
    }

    #[test]
    fn the_tree_that_was_put_to_use_last_leads_whatever_it_is_called() {
        let home = tempfile::tempdir().unwrap();
        let other = SMALL.replace("\"silent\"", "\"shop-silent\"").replace("the jack.", "the shop.");
        let mut session = Session::start(&home.path().join("a.job"), intake(Vec::new())).unwrap();
        session.apply(&Command::UseTree { text: SMALL.to_owned() }).unwrap();
        assert_eq!(asked(&session), "Look at the jack.");
        session.apply(&Command::UseTree { text: other }).unwrap();
        assert_eq!(asked(&session), "Look at the shop.");
        session.apply(&Command::UseTree { text: SMALL.to_owned() }).unwrap();
        assert_eq!(asked(&session), "Look at the jack.");
    }

    #[test]
    fn a_job_keeps_its_tree_until_another_one_is_put_to_use_and_undo_brings_it_back() {
        let home = tempfile::tempdir().unwrap();
        let (file, folder) = (home.path().join("a.job"), OwnTrees::at(home.path().join("trees")));
        let path = folder.copy("silent", SMALL, None).unwrap();
        let mut session = Session::start(&file, intake(folder.texts().0)).unwrap();
        assert_eq!(asked(&session), "Look at the jack.");
        assert!(session.trees_changed(&folder.read()).is_empty());
        let changed = SMALL.replace("Look at the jack.", "Look at the plug.");
        fs::write(&path, &changed).unwrap();
        assert_eq!(asked(&Session::open(&file).unwrap().0), "Look at the jack.");
        assert_eq!(session.trees_changed(&folder.read()).len(), 1);
        session.apply(&Command::UseTree { text: changed }).unwrap();
        assert_eq!(asked(&session), "Look at the plug.");
        assert!(session.trees_changed(&folder.read()).is_empty());
        assert_eq!(asked(&Session::open(&file).unwrap().0), "Look at the plug.");
        session.apply(&Command::Undo).unwrap();
        assert_eq!(asked(&session), "Look at the jack.");
        session.apply(&Command::Redo).unwrap();
        assert_eq!(asked(&session), "Look at the plug.");
        assert!(matches!(session.view().step.as_ref().unwrap().ask, Ask::Question { .. }));
    }

    #[test]
    fn a_tree_that_does_not_fit_is_refused_or_left_out_and_told() {
        let home = tempfile::tempdir().unwrap();
        let measured = SMALL.replace(
            "ask: Look([\n                (answer: \"Broken\", means: \"the jack is broken\", then: Advisor),\n                \
             (answer: \"Whole\", means: \"go on\", then: Advisor),\n            ]),",
            "ask: Measure(red: \"plug.tip\", black: \"fuse.in\", outcomes: [(when: AnythingElse, means: \"go on\", then: Advisor)]),",
        );
        assert_ne!(measured, SMALL);
        let mut session = Session::start(&home.path().join("a.job"), intake(Vec::new())).unwrap();
        let refused = session.apply(&Command::UseTree { text: measured.clone() }).unwrap_err().to_string();
        assert!(refused.contains("one-pickup has no terminal \"fuse.in\""), "{refused}");
        let folder = OwnTrees::at(home.path().join("trees"));
        let file = folder.copy("mine", &measured, None).unwrap();
        let session = Session::start(&home.path().join("b.job"), intake(vec![measured])).unwrap();
        assert_ne!(asked(&session), "Look at the jack.");
        assert_eq!(session.view().step.as_ref().unwrap().tree.as_deref(), Some("No sound"));
        let mut notices = session.view().notices.clone();
        folder.name_files(&mut notices);
        let told: Vec<&String> = notices.iter().filter(|told| told.contains("fuse.in")).collect();
        let begins = format!("{LEFT_OUT}: \"silent\" in {}, line ", file.display());
        assert!(told.len() == 1 && told[0].starts_with(&begins), "{notices:?}");
    }
}
