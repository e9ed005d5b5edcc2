//! From the text of a tree file to a checked tree.

use std::collections::BTreeMap;

use super::raw::{RawAnswer, RawAsk, RawComplaint, RawStep, RawThen, RawTree, RawVersion};
use super::suspicion::ROLES;
use super::tree::{answer_path, ask_path, step_path};
use super::{Answer, Ask, Sense, Step, Suspicion, Then, Tree, TreeError, check, graph, hear, name, probe};
use crate::readings::Symptom;
use crate::source::{self, Located, Path, Positions, Source, advice};

/// The version of the tree format this program reads.
pub(super) const FORMAT: u32 = 1;
/// The largest text of a tree, in bytes.
const MOST_TEXT: usize = 16_000_000;
/// The most steps of a tree, and of one that a job keeps: jobs of before may have larger ones.
const MOST_STEPS: usize = 20_000;
const MOST_KEPT: usize = 100_000;
/// No more mistakes are told of a text that cannot be read as a tree: each looks for a name among all.
const MOST_MISTAKES: usize = 20;
/// The field of which every step has one.
const ASKS: &str = "ask";
/// What to do with a tree that is too large.
const SPLIT: &str = "make several trees of it and lead from one to the other with `Tree(\"name\")`";

/// Reads a tree and checks everything that can be checked without a guitar.
///
/// # Errors
///
/// When the text is not a tree of format 1 or too large; when a step is missing, unreachable, endless, named twice, has no
/// outcome, a name that no file can have or a caution that there is not; when outcomes overlap or stand after
/// `AnythingElse`, or a question has an answer twice; with file, line and column.
pub fn load(source: &Source) -> Result<Tree, Located> {
    let tree = read(source, MOST_STEPS).map_err(first)?;
    let first = mistakes(&tree).into_iter().next();
    first.map_or(Ok(tree), |mistake| Err(mistake.at))
}

/// Reads a tree that a job keeps as [`load`] does. A caution that there is not is none, any name and any answers will do,
/// and more steps: before these were refused, such trees came into jobs, and those jobs go on as they were.
///
/// # Errors
///
/// As those of [`load`], but for a caution, the tree's name, an answer twice and more than 20,000 steps.
pub fn load_kept(source: &Source) -> Result<Tree, Located> {
    let tree = read(source, MOST_KEPT).map_err(first)?;
    let first = led(&tree).into_iter().next();
    first.map_or(Ok(tree), |mistake| Err(mistake.at))
}

/// Reads a tree as [`load`] does, and goes on looking after the first mistake: returns the tree with every mistake of every
/// step that can be told without a guitar, each with its kind.
///
/// # Errors
///
/// Returns why the text cannot be read as a tree at all: one reason, or of a text of the right shape one for each step and
/// each name that is wrong.
pub fn examine(source: &Source) -> Result<(Tree, Vec<TreeError>), Vec<TreeError>> {
    let wrong = |all: Vec<Located>| all.into_iter().map(TreeError::from).collect::<Vec<_>>();
    let tree = read(source, MOST_STEPS).map_err(wrong)?;
    let mistakes = mistakes(&tree);
    Ok((tree, mistakes))
}

fn first(mut mistakes: Vec<Located>) -> Located {
    mistakes.swap_remove(0)
}

fn mistakes(tree: &Tree) -> Vec<TreeError> {
    let mut all: Vec<TreeError> = name::refused(tree).into_iter().collect();
    all.extend(check::cautions(tree));
    all.extend(check::repeated(tree));
    all.extend(led(tree));
    all
}

/// Returns the mistakes that matter to where a tree leads.
fn led(tree: &Tree) -> Vec<TreeError> {
    let mut all = check::steps(tree);
    all.extend(graph::check(tree));
    all
}

/// Reads a tree, or returns its mistakes: at least one, at most [`MOST_MISTAKES`].
fn read(source: &Source, most: usize) -> Result<Tree, Vec<Located>> {
    let (raw, positions) = shape(source, most).map_err(|mistake| vec![mistake])?;
    let (names, mut mistakes) = Names::of(&raw, &positions);
    let start = names.find(&raw.start, &Path::root().then("start"));
    let start = start.map_err(|mistake| mistakes.push(mistake)).ok();
    let mut steps = Vec::new();
    for (index, step) in raw.steps.iter().enumerate() {
        if mistakes.len() >= MOST_MISTAKES {
            break;
        }
        match names.step(index, step) {
            Ok(step) => steps.push(step),
            Err(mistake) => mistakes.push(mistake),
        }
    }
    mistakes.truncate(MOST_MISTAKES);
    let Some(start) = start.filter(|_| mistakes.is_empty()) else { return Err(mistakes) };
    let (title, complaint) = (raw.title, complaint(raw.complaint));
    let (name, wirings, only, elsewhere) = (raw.name, raw.wirings, raw.only, raw.elsewhere);
    Ok(Tree { name, title, complaint, wirings, only, elsewhere, start, steps, positions })
}

/// Reads what has the shape of a tree, and where everything stands.
fn shape(source: &Source, most: usize) -> Result<(RawTree, Positions), Located> {
    refuse_size(source)?;
    refuse_many(source, most)?;
    let positions = Positions::of(source);
    refuse_version(source, &positions)?;
    Ok((source::load(source)?, positions))
}

fn refuse_size(source: &Source) -> Result<(), Located> {
    let size = source.text.len();
    if size <= MOST_TEXT {
        return Ok(());
    }
    let message = format!("the file has {size} bytes; a tree may have {MOST_TEXT}");
    let (file, hint) = (source.name.clone(), Some(SPLIT.to_owned()));
    Err(Located { file, line: 1, column: 1, message, hint })
}

/// Refuses a tree of too many steps before anything of it is read: each step asks once.
fn refuse_many(source: &Source, most: usize) -> Result<(), Located> {
    if source.text.matches(ASKS).nth(most).is_none() {
        return Ok(());
    }
    let steps = source::fields(&source.text, ASKS).count();
    if steps <= most {
        return Ok(());
    }
    let (line, column) = source::fields(&source.text, "steps").next().unwrap_or((1, 1));
    let message = format!("the tree has {steps} steps; it may have {most}");
    Err(Located { file: source.name.clone(), line, column, message, hint: Some(SPLIT.to_owned()) })
}

fn refuse_version(source: &Source, positions: &Positions) -> Result<(), Located> {
    match source::load::<RawVersion>(source) {
        Ok(RawVersion { format }) if format != FORMAT => Err(positions.error(
            &Path::root().then("format"),
            format!("the tree is of format {format}, this program reads format {FORMAT}"),
            Some(format!("write `format: {FORMAT}` if it follows that format")),
        )),
        _ => Ok(()),
    }
}

fn complaint(raw: RawComplaint) -> Symptom {
    match raw {
        RawComplaint::Silent => Symptom::Silent,
        RawComplaint::Intermittent => Symptom::Intermittent,
        RawComplaint::Muffled => Symptom::Muffled,
        RawComplaint::Hum => Symptom::Hum,
        RawComplaint::Weak => Symptom::Weak,
        RawComplaint::Bright => Symptom::Bright,
        RawComplaint::Thin => Symptom::Thin,
        RawComplaint::OnePosition => Symptom::OnePosition,
        RawComplaint::VolumeOpen => Symptom::VolumeOpen,
        RawComplaint::ToneIdle => Symptom::ToneIdle,
        RawComplaint::Crackle => Symptom::Crackle,
        RawComplaint::BuzzOnTouch => Symptom::BuzzOnTouch,
        RawComplaint::BatteryDrains => Symptom::BatteryDrains,
        RawComplaint::Pops => Symptom::Pops,
    }
}

/// The steps' names with their index, and where they are written.
pub(super) struct Names<'a> {
    known: BTreeMap<&'a str, usize>,
    pub(super) positions: &'a Positions,
}

impl<'a> Names<'a> {
    /// Returns the names, and a mistake for each that another step has too.
    fn of(raw: &'a RawTree, positions: &'a Positions) -> (Self, Vec<Located>) {
        let mut known: BTreeMap<&str, usize> = BTreeMap::new();
        let mut mistakes = Vec::new();
        for (index, step) in raw.steps.iter().enumerate() {
            let first = *known.entry(&step.name).or_insert(index);
            if first != index {
                let (line, _) = positions.at(&step_path(first).then("name"));
                mistakes.push(positions.error(
                    &step_path(index).then("name"),
                    format!("the step name \"{}\" is used twice, first in line {line}", step.name),
                    Some("give each step a name of its own".to_owned()),
                ));
            }
        }
        (Self { known, positions }, mistakes)
    }

    fn find(&self, name: &str, path: &Path) -> Result<usize, Located> {
        self.known.get(name).copied().ok_or_else(|| {
            let names: Vec<&str> = self.known.keys().copied().collect();
            let hint = advice(name, &names, "the steps are", '"');
            self.positions.error(path, format!("the tree has no step \"{name}\""), Some(hint))
        })
    }

    fn step(&self, index: usize, raw: &RawStep) -> Result<Step, Located> {
        let cannot = raw.cannot.as_ref().unwrap_or(&RawThen::Advisor);
        Ok(Step {
            name: raw.name.clone(),
            say: raw.say.clone(),
            why: raw.why.clone(),
            telephone: raw.telephone.clone(),
            caution: raw.caution.clone(),
            needs: raw.needs,
            ask: self.ask(index, &raw.ask)?,
            cannot: self.then(cannot, &step_path(index).then("cannot"))?,
        })
    }

    fn ask(&self, step: usize, raw: &RawAsk) -> Result<Ask, Located> {
        let (sense, answers) = match raw {
            RawAsk::Look(answers) => (Sense::Look, answers),
            RawAsk::Listen(answers) => (Sense::Listen, answers),
            RawAsk::Ask(answers) => (Sense::Ask, answers),
            RawAsk::Measure { .. } => return probe::probe(self, step, raw).map(Ask::Measure),
            RawAsk::Hear { .. } => return hear::heard(self, step, raw).map(Ask::Measure),
        };
        if answers.is_empty() {
            let hint = Some("write at least one `(answer: ..., means: ..., then: ...)`".to_owned());
            return Err(self.positions.error(&ask_path(step), "the question has no answers", hint));
        }
        let answers = answers.iter().enumerate().map(|(at, raw)| self.answer(raw, &answer_path(step, at)));
        Ok(Ask::Question { sense, answers: answers.collect::<Result<_, _>>()? })
    }

    fn answer(&self, raw: &RawAnswer, path: &Path) -> Result<Answer, Located> {
        let then = self.then(&raw.then, &path.then("then"))?;
        Ok(Answer { answer: raw.answer.clone(), means: raw.means.clone(), then })
    }

    pub(super) fn then(&self, raw: &RawThen, path: &Path) -> Result<Then, Located> {
        Ok(match raw {
            RawThen::Step(name) => Then::Step(self.find(name, &path.then(0))?),
            RawThen::Advisor => Then::Advisor,
            RawThen::Suspect { at, .. } if at.is_empty() => {
                let hint = format!(
                    "write `at: [\"jack\"]`, or another of {}, or a part's own name",
                    ROLES.join(", ")
                );
                let message = "the suspicion names no place";
                return Err(self.positions.error(&path.then("at"), message, Some(hint)));
            }
            RawThen::Suspect { say, at, how } => {
                Then::Suspect(Suspicion { say: say.clone(), at: at.clone(), how: how.clone() })
            }
            RawThen::Tree(name) => Then::Tree(name.clone()),
            RawThen::NotTheInstrument => Then::NotTheInstrument,
        })
    }
}
