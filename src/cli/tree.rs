//! `tree`: a shop's own ways of working, listed, shown, grown, copied and put to use.

use std::io;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::failure::{Failure, Problem};
use super::reply::{Answer, Reply, columns, put};
use super::step::state;
use super::tree_args::{TreeForm, TreeVerb, form};
use super::trial::cores;
use super::wirings::{self, Wiring};
use super::{engine, say, tree_check, tree_played};
use crate::draw::pdf::missing_said;
use crate::draw::{Paper, TreeMarks, marked_text, tree_svg, wall_chart, wall_chart_lacks};
use crate::readings::Symptom;
use crate::session::{OwnTree, OwnTrees, PastJobs, PastWays, trees_with_own};
use crate::source::Source;
use crate::trees::{self, Feature, Tree};
use crate::treework::Flaw;
use crate::workbench::{Command, USED_TREE};

/// Carries out what is asked of trees; `quiet` leaves the progress away.
pub(super) fn tree(verb: &TreeVerb, quiet: bool) -> Answer {
    match verb {
        TreeVerb::List => list(),
        TreeVerb::Show { tree, format, output, paper, past } => {
            let form = shown_as(*format, output.as_deref())?;
            show(tree, form, output.as_deref(), *paper, *past)
        }
        TreeVerb::Check { trees, wirings, threads, played, table } => {
            tree_check::check(trees, wirings, (*threads, *played), table.as_deref(), quiet)
        }
        TreeVerb::Grow { wiring, complaint, steps, played, output } => {
            grow(wiring, *complaint, (*steps, *played), output.as_deref(), quiet)
        }
        TreeVerb::Copy { tree, output } => copy(tree, output.as_deref()),
        TreeVerb::Use { job, tree } => put_to_use(job, &find(tree)?),
    }
}

/// Puts a tree to use in a job, and says so when it is for another complaint than the job.
fn put_to_use(job: &Path, source: &Source) -> Answer {
    let tree = trees::load(source)?;
    let used = engine::apply(job, &Command::UseTree { text: source.text.clone() });
    let mut view = used.map_err(|failure| failure.naming(USED_TREE, &source.name))?;
    view.notices.extend(for_another(&tree, &view.symptoms));
    Ok(state(&view))
}

/// Returns what is said of a tree whose complaint a job does not have.
fn for_another(tree: &Tree, symptoms: &[Symptom]) -> Option<String> {
    if symptoms.contains(&tree.complaint) {
        return None;
    }
    let of_job = symptoms.iter().map(|symptom| symptom.name()).collect::<Vec<_>>().join(", ");
    let about = if of_job.is_empty() { "no complaint that is known".to_owned() } else { of_job };
    Some(format!(
        "the tree \"{}\" is for the complaint {}, and this job is about {about}: it is kept in the job, and leads only where \
         another tree leads on to it; `lugwise undo` takes it out again",
        tree.name,
        tree.complaint.name()
    ))
}

/// Finds a tree's text by its file, or by the name of one's own or one that comes with the program.
pub(super) fn find(wanted: &str) -> Result<Source, Failure> {
    let path = Path::new(wanted);
    if path.extension().is_some_and(|end| end.eq_ignore_ascii_case("ron")) || path.is_file() {
        return wirings::read_file(path);
    }
    let own = OwnTrees::usual().read();
    if let Some(own) = own.into_iter().find(|own| own.is_called(wanted)) {
        return wirings::read_file(&own.path);
    }
    let all = built_in()?;
    let names = all.iter().map(|(tree, _)| tree.name.clone()).collect::<Vec<_>>().join(", ");
    let found = all.into_iter().find(|(tree, _)| tree.name.eq_ignore_ascii_case(wanted));
    found.map(|(_, source)| source).ok_or_else(|| {
        Failure::new(format!("cannot find the tree \"{wanted}\": there are {names}"))
            .with_hint("a tree file of your own is given by its path, which ends in .ron")
    })
}

/// Returns the trees that come with the program, with their texts.
fn built_in() -> Result<Vec<(Tree, Source)>, Failure> {
    let load = |(name, text): &(&str, &'static str)| {
        let source = Source::new(format!("trees/{name}"), *text);
        Ok((trees::load(&source)?, source))
    };
    trees::built_in().iter().map(load).collect()
}

/// Returns every tree that is known here, one's own before those that come with the program.
pub(super) fn known() -> Result<Vec<Tree>, Failure> {
    Ok(trees_with_own(&OwnTrees::usual().read())?)
}

fn list() -> Answer {
    let folder = OwnTrees::usual();
    let own = folder.read();
    let harnesses = wirings::built_in()?;
    let rows: Vec<Listed> = listed(&own, &harnesses)?;
    let problems: Vec<Problem> =
        own.iter().filter_map(|own| own.tree.clone().err()).flatten().map(Problem::from).collect();
    let mut text = vec![columns(&rows.iter().map(Listed::row).collect::<Vec<_>>())];
    text.extend(problems.iter().map(|problem| format!("error: {problem}")));
    text.push(format!("Your own trees are in {}", folder.path().display()));
    let json = json!({
        "trees": rows.iter().map(Listed::json).collect::<Vec<_>>(),
        "folder": folder.path().display().to_string(),
        "problems": problems,
    });
    Ok(Reply::new(text.join("\n"), json))
}

/// One tree as it is listed.
struct Listed {
    tree: Tree,
    file: Option<PathBuf>,
    replaces: bool,
    wirings: Vec<String>,
}

fn listed(own: &[OwnTree], wirings: &[Wiring]) -> Result<Vec<Listed>, Failure> {
    let built_in: Vec<Tree> = built_in()?.into_iter().map(|(tree, _)| tree).collect();
    let row = |tree: Tree| {
        let codes = wirings.iter().filter(|wiring| tree.applies(&wiring.harness));
        let codes = codes.map(|wiring| wiring.harness.code.clone()).collect();
        let of_own = |own: &&OwnTree| own.tree.as_ref().is_ok_and(|own| own.name == tree.name);
        let file = own.iter().find(of_own).map(|own| own.path.clone());
        let replaces = file.is_some() && built_in.iter().any(|known| known.name == tree.name);
        Listed { tree, file, replaces, wirings: codes }
    };
    Ok(trees_with_own(own)?.into_iter().map(row).collect())
}

impl Listed {
    fn row(&self) -> Vec<String> {
        let own = match (&self.file, self.replaces) {
            (Some(_), true) => "own, in the place of the program's",
            (Some(_), false) => "own",
            (None, _) => "",
        };
        let steps = format!("{} steps", self.tree.steps.len());
        let (name, complaint) = (self.tree.name.clone(), self.tree.complaint.name().to_owned());
        vec![name, complaint, steps, self.guitars(), own.to_owned(), self.tree.title.clone()]
    }

    fn guitars(&self) -> String {
        let all: Vec<&str> = self.tree.only.iter().map(|feature| feature.words()).collect();
        let with = (!all.is_empty()).then(|| format!("with {}", all.join(" and ")));
        let named = (!self.tree.wirings.is_empty()).then(|| self.tree.wirings.join(" or "));
        let all: Vec<String> = named.into_iter().chain(with).collect();
        if all.is_empty() { "all guitars".to_owned() } else { format!("only {}", all.join(" ")) }
    }

    fn json(&self) -> Value {
        let only: Vec<String> =
            self.tree.only.iter().map(|feature: &Feature| format!("{feature:?}")).collect();
        json!({
            "name": self.tree.name, "title": self.tree.title, "complaint": self.tree.complaint.name(),
            "only": only, "named": self.tree.wirings, "elsewhere": self.tree.elsewhere, "steps": self.tree.steps.len(),
            "own": self.file.is_some(), "replaces": self.replaces,
            "file": self.file.as_ref().map(|file| file.display().to_string()), "wirings": self.wirings,
        })
    }
}

fn show(wanted: &str, form: TreeForm, output: Option<&Path>, paper: Paper, past: bool) -> Answer {
    let source = find(wanted)?;
    let tree = trees::load(&source)?;
    let past = past.then(|| PastWays::at(&PastJobs::usual(), &tree)).transpose()?;
    let marks = past.as_ref().map(|past| marks(past, is_built_in(&source))).unwrap_or_default();
    let mut reply = match (form, output) {
        (TreeForm::Pdf, None) => {
            Err(Failure::new("cannot print a pdf").with_hint("name the file to write, such as `-o tree.pdf`"))
        }
        (TreeForm::Pdf, Some(file)) => printed(file, &tree, &marks, paper),
        (TreeForm::Svg, file) => text_or_file("svg", &tree_svg(&tree, &marks), file),
        (TreeForm::Text, file) => text_or_file("text", &marked_text(&tree, &marks), file),
    }?;
    if let Some(past) = past {
        reply.json["past"] = json!(past);
    }
    Ok(reply)
}

/// Writes the chart for the wall, and says which letters it has not.
fn printed(file: &Path, tree: &Tree, marks: &TreeMarks, paper: Paper) -> Answer {
    let chart = wall_chart(tree, marks, paper).map_err(|error| Failure::told(&error))?;
    let missing = wall_chart_lacks(tree, marks).map_err(|error| Failure::told(&error))?;
    let mut reply = written(file, &chart)?;
    reply.json["missing_letters"] = json!(missing.iter().collect::<String>());
    reply.notes.extend(missing_said(&missing, "the .svg drawing"));
    Ok(reply)
}

/// Returns what past jobs did as marks in a tree. Jobs are counted by the tree's name, which of one's own is said.
fn marks(past: &PastWays, built_in: bool) -> TreeMarks {
    let mut told = past.sentence();
    if past.n > 0 && !built_in {
        told += &format!(
            " These are all jobs by a tree that is named \"{}\", also by an earlier text of it or by the program's own; a way \
             counts where step and words are the same.",
            past.tree
        );
    }
    TreeMarks { notes: past.notes(), told, ..TreeMarks::default() }
}

/// Returns whether a text is that of a tree that comes with the program.
fn is_built_in(source: &Source) -> bool {
    trees::built_in().iter().any(|(_, text)| *text == source.text)
}

/// Returns what a tree is shown as: what is asked for, else what the file's name ends in, else text.
fn shown_as(format: Option<TreeForm>, output: Option<&Path>) -> Result<TreeForm, Failure> {
    let Some(file) = output else { return Ok(format.unwrap_or(TreeForm::Text)) };
    let ending = file.extension().and_then(|end| form(&end.to_string_lossy()).ok());
    match (format, ending) {
        (Some(format), Some(ending)) if format != ending => Err(Failure::new(format!(
            "cannot write {} to a file that is named \"{}\"",
            format.words(),
            file.display()
        ))
        .with_hint("leave --format out, or end the name as the format says: .txt, .svg or .pdf")),
        (Some(format), _) | (None, Some(format)) => Ok(format),
        (None, None) => {
            Err(Failure::new(format!("cannot tell what to write from the name \"{}\"", file.display()))
                .with_hint(
                    "end it in .txt for text, in .svg for a drawing or in .pdf to print; or say --format",
                ))
        }
    }
}

fn text_or_file(key: &str, text: &str, file: Option<&Path>) -> Answer {
    match file {
        Some(file) => written(file, text.as_bytes()),
        None => Ok(Reply::new(text.trim_end(), json!({ key: text }))),
    }
}

fn written(file: &Path, bytes: &[u8]) -> Answer {
    refuse_known(file)?;
    put(file, bytes)?;
    let file = file.display().to_string();
    Ok(Reply::new(format!("{file} written"), json!({"file": file, "bytes": bytes.len()})))
}

/// Refuses to write over a file; what is no ordinary file is written to.
fn refuse_known(file: &Path) -> Result<(), Failure> {
    if file.is_file() { Err(known_file(file)) } else { Ok(()) }
}

fn known_file(file: &Path) -> Failure {
    Failure::new(format!("cannot write {}: there is a file of that name", file.display()))
        .with_hint("nothing is ever written over; give another name")
}

fn grow(
    wiring: &str,
    complaint: Symptom,
    (steps, played): (usize, usize),
    output: Option<&Path>,
    quiet: bool,
) -> Answer {
    let wiring = wirings::find(wiring)?;
    if let Some(file) = output.filter(|file| file.exists()) {
        return Err(known_file(file));
    }
    let engine = engine::tree_engine(&wiring.source)?;
    let progress = tree_check::progress(&wiring.harness.name, quiet);
    let tree = engine::tree_grown(&engine, complaint, steps, &|done| progress.tell(done, steps))?;
    progress.close();
    let text = trees::written(&tree);
    let name = output.map_or_else(|| format!("{}.ron", tree.name), |file| file.display().to_string());
    let engines = [engine];
    let source = Source::new(name.clone(), text.as_str());
    let checked = engine::tree_checked(&source, &known()?, &engines, &|_, _| {});
    let checked = checked.with_played(&tree, tree_played::played(&tree, &engines, (played, cores()), quiet)?);
    if !quiet {
        tree_check::told(&name, &checked).iter().for_each(|line| say(&mut io::stderr(), line));
    }
    let mut json =
        json!({"tree": text, "file": output.map(|_| &name), "check": tree_check::as_json(&name, &checked)});
    let wrong = checked.findings.iter().any(|finding| finding.fails && finding.flaw != Flaw::Slow);
    let Some(file) = output else { return Ok(Reply { wrong, ..Reply::new(text.trim_end(), json) }) };
    OwnTrees::usual().copy(&tree.name, &text, Some(file)).map_err(|error| Failure::told(&error))?;
    json["bytes"] = json!(text.len());
    let but = if wrong { "; it does not pass its own check, mend it before it is used" } else { "" };
    Ok(Reply { wrong, ..Reply::new(format!("{name} written, {} steps{but}", tree.steps.len()), json) })
}

fn copy(wanted: &str, output: Option<&Path>) -> Answer {
    output.map_or(Ok(()), refuse_ending)?;
    let source = find(wanted)?;
    let tree = trees::load(&source)?;
    let path =
        OwnTrees::usual().copy(&tree.name, &source.text, output).map_err(|error| Failure::told(&error))?;
    let file = path.display().to_string();
    let text = format!(
        "{file} written\nIn the folder of your own trees it takes the place of the program's \"{}\" in every new job; \
         change it, then: lugwise tree check {file}",
        tree.name
    );
    Ok(Reply::new(text, json!({"file": file, "name": tree.name})))
}

/// Refuses a name that no tree file has: without its ending the file would be found by nothing.
fn refuse_ending(file: &Path) -> Result<(), Failure> {
    if file.extension().is_some_and(|end| end.eq_ignore_ascii_case("ron")) {
        return Ok(());
    }
    let message = format!("cannot copy a tree to a file that is named \"{}\"", file.display());
    Err(Failure::new(message).with_hint("end the name in .ron, as every tree file does"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tree_is_found_by_its_name_and_the_others_are_named() {
        assert_eq!(find("SILENT").map(|source| source.name), Ok("trees/silent.ron".to_owned()));
        let failure = find("slient").err().map(|failure| failure.to_string()).unwrap_or_default();
        assert!(failure.contains("silent") && failure.contains("ends in .ron"), "{failure}");
    }

    #[test]
    fn the_name_of_the_file_says_what_it_is() {
        let named = |format, name: &str| shown_as(format, Some(Path::new(name)));
        assert_eq!(named(None, "a/tree.TXT"), Ok(TreeForm::Text));
        assert_eq!(named(None, "tree.svg"), Ok(TreeForm::Svg));
        assert_eq!(named(Some(TreeForm::Pdf), "tree.pdf"), Ok(TreeForm::Pdf));
        assert_eq!(named(Some(TreeForm::Svg), "tree"), Ok(TreeForm::Svg));
        assert_eq!(shown_as(None, None), Ok(TreeForm::Text));
        let refused = |format, name| named(format, name).err().map(|f| f.to_string()).unwrap_or_default();
        let (unknown, other) = (refused(None, "x.png"), refused(Some(TreeForm::Svg), "x.pdf"));
        assert!(unknown.contains("\"x.png\"") && unknown.contains(".svg for a drawing"), "{unknown}");
        assert!(other.contains("cannot write a drawing") && other.contains("\"x.pdf\""), "{other}");
        assert!(refused(None, "tree").contains("cannot tell"), "a name without an ending says nothing");
    }

    #[test]
    fn a_tree_for_another_complaint_says_so() {
        let tree = trees::load(&find("hum").unwrap()).unwrap();
        assert_eq!(for_another(&tree, &[Symptom::Silent, Symptom::Hum]), None);
        let told = for_another(&tree, &[Symptom::Silent]).unwrap();
        assert!(told.contains("for the complaint hum, and this job is about silent"), "{told}");
    }

    #[test]
    fn no_file_is_written_over_and_a_copy_ends_as_trees_do() {
        let home = tempfile::tempdir().unwrap();
        let file = home.path().join("a.txt");
        written(&file, b"one").unwrap();
        let told = written(&file, b"two").err().map(|failure| failure.to_string()).unwrap_or_default();
        assert!(told.contains("there is a file of that name"), "{told}");
        assert_eq!(std::fs::read(&file).unwrap(), b"one");
        assert!(refuse_ending(&file).is_err() && refuse_ending(Path::new("a.RON")).is_ok());
    }

    #[test]
    fn of_a_tree_of_ones_own_it_is_said_that_jobs_are_counted_by_its_name() {
        let past = PastWays { tree: "silent".to_owned(), n: 12, proven: 7, ..PastWays::default() };
        assert!(marks(&past, false).told.contains("named \"silent\""), "{}", marks(&past, false).told);
        assert_eq!(marks(&past, true).told, past.sentence());
        assert_eq!(marks(&PastWays::default(), false).told, PastWays::default().sentence());
        let mine = Source::new("mine.ron", trees::built_in()[0].1.replace("No sound", "Nothing"));
        assert!(!is_built_in(&mine) && is_built_in(&find("silent").unwrap()));
    }

    #[test]
    fn a_file_is_written_whole_and_nothing_is_left_beside_it() {
        let home = tempfile::tempdir().unwrap();
        let file = home.path().join("a.svg");
        put(&file, b"<svg one").unwrap();
        put(&file, b"<svg two").unwrap();
        assert_eq!(std::fs::read(&file).unwrap(), b"<svg two");
        assert_eq!(std::fs::read_dir(home.path()).unwrap().count(), 1);
        assert!(put(&home.path().join("none/a.svg"), b"x").is_err());
    }
}
