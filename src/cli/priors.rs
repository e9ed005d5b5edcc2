//! `priors`: how often each family of faults turns up, and what a history makes likelier.

use std::path::Path;

use serde_json::{Value, json};

use super::failure::Failure;
use super::reply::{Answer, Reply, columns};
use crate::session::{OwnFolder, OwnPriors};
use crate::source::Source;
use crate::workbench::Priors;

/// The program's priors, with one's own in their place.
pub(super) struct InUse {
    pub priors: Priors,
    /// The file of one's own, if there is any.
    pub file: Option<String>,
}

/// Returns one's own priors: those of the file that is named, else the usual ones, if there are any.
fn own(named: Option<&Path>) -> Option<OwnPriors> {
    named.map_or_else(|| OwnFolder::usual().priors(), |path| Some(OwnPriors::read(path)))
}

/// Returns the priors in use.
pub(super) fn in_use(named: Option<&Path>) -> Result<InUse, Failure> {
    match own(named) {
        Some(own) => Ok(InUse { priors: own.priors?, file: Some(own.source.name) }),
        None => Ok(InUse { priors: Priors::built_in().clone(), file: None }),
    }
}

/// Returns the text of one's own priors, to be kept in a job.
pub(super) fn text(named: Option<&Path>) -> Result<Option<String>, Failure> {
    let Some(own) = own(named) else { return Ok(None) };
    own.priors?;
    Ok(Some(own.source.text))
}

/// Checks a file of one's own priors and returns what it holds.
pub(super) fn check(source: &Source) -> Result<String, Failure> {
    let priors = Priors::built_in().with_own(source)?;
    let rates = priors.rates().filter(|(_, rate)| rate.own).count();
    let histories = priors.histories().filter(|(_, effect)| effect.own).count();
    Ok(format!("priors, {rates} rates and {histories} histories"))
}

/// Lists the priors in use.
pub(super) fn list(named: Option<&Path>) -> Answer {
    let InUse { priors, file } = in_use(named)?;
    let told = file.as_ref().map_or_else(|| "the program's own".to_owned(), |file| format!("with {file}"));
    let text = [
        format!("Priors, {told}"),
        format!("Per thousand electrical walk-ins:\n{}", columns(&rate_rows(&priors))),
        format!("Times likelier after what was done last:\n{}", columns(&history_rows(&priors))),
    ];
    Ok(Reply::new(text.join("\n\n"), as_json(file.as_deref(), &priors)))
}

fn rate_rows(priors: &Priors) -> Vec<Vec<String>> {
    let rows = priors.rates().map(|(family, rate)| {
        let (name, words) = (family.name().to_owned(), family.words().to_owned());
        vec![name, rate.per_thousand.to_string(), mark(rate.own), words, rate.source.clone()]
    });
    rows.collect()
}

fn history_rows(priors: &Priors) -> Vec<Vec<String>> {
    let rows = priors.histories().flat_map(|(history, effect)| {
        effect.makes.iter().map(move |likelier| {
            let kinds: Vec<&str> = likelier.kinds.iter().map(|kind| kind.words()).collect();
            let (name, times) = (history.name().to_owned(), likelier.times.to_string());
            vec![name, times, mark(effect.own), kinds.join(", "), likelier.source.clone()]
        })
    });
    rows.collect()
}

fn mark(own: bool) -> String {
    let word = if own { "own" } else { "" };
    word.to_owned()
}

fn as_json(file: Option<&str>, priors: &Priors) -> Value {
    let families = priors.rates().map(|(family, rate)| {
        json!({
            "family": family.name(), "words": family.words(), "per_thousand": rate.per_thousand,
            "source": rate.source, "own": rate.own,
        })
    });
    let histories = priors.histories().map(|(history, effect)| {
        let makes = effect.makes.iter().map(|likelier| {
            let kinds: Vec<&str> = likelier.kinds.iter().map(|kind| kind.words()).collect();
            json!({"kinds": kinds, "times": likelier.times, "source": likelier.source})
        });
        json!({"history": history.name(), "makes": makes.collect::<Vec<_>>(), "own": effect.own})
    });
    json!({
        "file": file,
        "families": families.collect::<Vec<_>>(),
        "histories": histories.collect::<Vec<_>>(),
    })
}

/// Copies the priors that come with the program to a new file.
pub(super) fn copy(output: Option<&Path>) -> Answer {
    let path = OwnFolder::usual().copy_priors(output).map_err(|error| Failure::told(&error))?;
    let file = path.display().to_string();
    let text = format!(
        "{file} written\nChange what you know better and delete the rest, then: lugwise priors --priors {file}"
    );
    Ok(Reply::new(text, json!({"file": file})))
}
