//! What the shop's own cured jobs teach: how often each family of faults turns up. Off until a person asks for it.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use serde::Deserialize;

use super::{PastError, PastJobs};
use crate::archive::{Archive, ArchiveError, Lesson};
use crate::source::{self, Source};
use crate::workbench::{Family, Learnt, Priors, Tallies, families_of};

/// What is added to the archive's name for the file that says whether its jobs move the priors.
const BESIDE: &str = ".learning.ron";
/// What stands between the two faults in the id of a pair.
const AND: &str = " + ";

#[derive(Deserialize)]
#[serde(rename = "learning", deny_unknown_fields)]
struct Setting {
    format: u32,
    learn: bool,
}

/// How often each family was found in the shop's own cured jobs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Taught {
    /// How many cured jobs with a named fault were counted.
    pub jobs: usize,
    /// How many were not counted, since their wiring cannot be read.
    pub lost: usize,
    /// What the jobs on other wirings say; all of them when no wiring was asked for.
    pub elsewhere: Tallies,
    /// What the jobs on the wiring that was asked for say.
    pub here: Tallies,
}

impl Taught {
    /// Counts the cured jobs of an archive. With a wiring's name, the jobs on it are counted for themselves.
    ///
    /// A fault counts for the job that named it last. A job that named a group of faults is shared among them evenly. A
    /// job counts for every family that its wiring can have.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when the archive cannot be read.
    pub fn of(archive: &Archive, wiring: Option<&str>) -> Result<Self, PastError> {
        let mut taught = Self::default();
        let mut known = BTreeMap::new();
        for lesson in archive.lessons()? {
            let families = match known.entry(lesson.drawing.clone()) {
                Entry::Occupied(there) => there.into_mut(),
                Entry::Vacant(free) => free.insert(families(archive, &lesson)?),
            };
            if families.is_empty() {
                taught.lost += lesson.jobs as usize;
                continue;
            }
            taught.count(&lesson, wiring, families);
        }
        Ok(taught)
    }

    fn count(&mut self, lesson: &Lesson, wiring: Option<&str>, families: &Families) {
        let found = found(&lesson.faults, families);
        if found.is_empty() {
            return;
        }
        let jobs = f64::from(lesson.jobs);
        self.jobs += lesson.jobs as usize;
        let here = wiring == Some(lesson.wiring.as_str());
        let tallies = if here { &mut self.here } else { &mut self.elsewhere };
        let mut admitted: Vec<Family> = families.values().copied().collect();
        admitted.sort_unstable();
        admitted.dedup();
        for family in admitted {
            tallies.entry(family).or_default().of += jobs;
        }
        for (family, share) in found {
            tallies.entry(family).or_default().found += jobs * share;
        }
    }

    /// Returns priors as these jobs move them: first those on other wirings, then those on this one. What was learnt is
    /// told as one move, with the jobs of both.
    pub fn applied(&self, base: &Priors) -> (Priors, Vec<Learnt>) {
        let (elsewhere, first) = base.learnt(&self.elsewhere);
        let (priors, second) = elsewhere.learnt(&self.here);
        let mut moved: BTreeMap<Family, Learnt> = first.into_iter().map(|one| (one.family, one)).collect();
        for one in second {
            match moved.get_mut(&one.family) {
                Some(known) => {
                    known.after = one.after;
                    known.tally.found += one.tally.found;
                    known.tally.of += one.tally.of;
                }
                None => drop(moved.insert(one.family, one)),
            }
        }
        (priors, moved.into_values().collect())
    }
}

/// The family of each fault of a wiring.
type Families = BTreeMap<String, Family>;

/// Returns the families of the faults of a lesson's wiring; none when no job on its drawing is whole.
fn families(archive: &Archive, lesson: &Lesson) -> Result<Families, PastError> {
    let job = match archive.drawn(lesson) {
        Ok(job) => job,
        Err(ArchiveError::DamagedJob { .. } | ArchiveError::Log { .. }) => return Ok(Families::new()),
        Err(why) => return Err(why.into()),
    };
    let intake = job.intake();
    Ok(families_of(&Source::new(intake.wiring.as_str(), intake.wiring_text.as_str())))
}

/// Returns the families that a job found, each with its share of the job.
fn found(faults: &[String], families: &Families) -> BTreeMap<Family, f64> {
    let mut found = BTreeMap::new();
    let share = 1.0 / faults.len().max(1) as f64;
    for id in faults {
        for family in id.split(AND).filter_map(|one| families.get(one)) {
            *found.entry(*family).or_default() += share;
        }
    }
    found
}

/// What past jobs teach, and whether new jobs start with it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TaughtNow {
    /// Whether new jobs start with it.
    pub on: bool,
    /// How many cured jobs with a named fault were counted.
    pub jobs: usize,
    /// What it moves, the largest move first.
    pub moved: Vec<Learnt>,
}

impl PastJobs {
    /// Returns what past jobs teach, over the program's priors with what one's own text changes.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when the archive is switched off or cannot be read.
    pub fn taught(&self, own: Option<&str>) -> Result<TaughtNow, PastError> {
        let taught = Taught::of(&self.open()?, None)?;
        let (_, mut moved) = taught.applied(&with_own(own));
        moved.sort_by(|a, b| (b.after - b.before).abs().total_cmp(&(a.after - a.before).abs()));
        Ok(TaughtNow { on: self.learns()?, jobs: taught.jobs, moved })
    }

    /// Returns the file that says whether past jobs move the priors of new ones.
    ///
    /// # Errors
    ///
    /// Returns [`PastError::Off`] when the archive is switched off.
    pub fn learning_file(&self) -> Result<PathBuf, PastError> {
        let mut name = self.file()?.as_os_str().to_owned();
        name.push(BESIDE);
        Ok(PathBuf::from(name))
    }

    /// Returns whether past jobs move the priors of new ones; they do not until that is asked for.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when the archive is switched off, or the file that says so is wrong.
    pub fn learns(&self) -> Result<bool, PastError> {
        let path = self.learning_file()?;
        match fs::read_to_string(&path) {
            Ok(text) => {
                let setting: Setting = source::load(&Source::new(path.display().to_string(), text))?;
                Ok(setting.format == 1 && setting.learn)
            }
            Err(why) if why.kind() == io::ErrorKind::NotFound => Ok(false),
            Err(why) => Err(refused("reading", &path, why)),
        }
    }

    /// Lets past jobs move the priors of new ones, or not.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when the archive is switched off, or the file cannot be written.
    pub fn set_learning(&self, learn: bool) -> Result<(), PastError> {
        self.open()?;
        let path = self.learning_file()?;
        let text = format!("(format: 1, learn: {learn})\n");
        fs::write(&path, text).map_err(|why| refused("writing", &path, why))
    }

    /// Returns the text of the priors to keep in a new job: one's own, moved by past jobs where that is asked for.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when past jobs should move them and cannot be read; the job can be started with `own` then.
    pub fn priors_text(&self, wiring: &str, own: Option<String>) -> Result<Option<String>, PastError> {
        if self.path().is_none() || !self.learns()? {
            return Ok(own);
        }
        let taught = Taught::of(&self.open()?, Some(wiring))?;
        let base = with_own(own.as_deref());
        let (priors, learnt) = taught.applied(&base);
        Ok(if learnt.is_empty() { own } else { Some(priors.own_text()) })
    }
}

/// Returns the program's priors with what one's own text changes; a wrong text changes nothing here.
fn with_own(own: Option<&str>) -> Priors {
    let built_in = Priors::built_in();
    let changed = own.map(|text| built_in.with_own(&Source::new("priors.ron", text)));
    changed.and_then(Result::ok).unwrap_or_else(|| built_in.clone())
}

fn refused(doing: &'static str, path: &Path, why: io::Error) -> PastError {
    let hint = "it says whether past jobs move the priors of new ones; give its folder back its rights";
    PastError::File { doing, path: path.to_owned(), why, hint }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn learning_is_off_until_it_is_asked_for() {
        let home = tempfile::tempdir().unwrap();
        let place = PastJobs::at(home.path().join("jobs.archive"));
        assert!(!place.learns().unwrap());
        assert_eq!(place.priors_text("one-pickup", Some("own".to_owned())).unwrap().as_deref(), Some("own"));
        place.set_learning(true).unwrap();
        assert!(place.learns().unwrap());
        assert_eq!(
            place.priors_text("one-pickup", None).unwrap(),
            None,
            "there is nothing to learn from yet"
        );
        place.set_learning(false).unwrap();
        assert!(!place.learns().unwrap());
        fs::write(place.learning_file().unwrap(), "(format: 1, lern: true)").unwrap();
        let wrong = place.learns().unwrap_err().to_string();
        assert!(wrong.contains("jobs.archive.learning.ron:1:"), "{wrong}");
        assert!(matches!(PastJobs::off().learns(), Err(PastError::Off)));
        assert_eq!(PastJobs::off().priors_text("one-pickup", None).unwrap(), None);
    }
}
