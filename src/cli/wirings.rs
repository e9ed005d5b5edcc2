//! `wirings`, `check` and `faults`: what there is before a job starts.

use std::path::{Path, PathBuf};

use serde::de::IgnoredAny;
use serde::{Deserialize, Deserializer};
use serde_json::{Value, json};

use super::engine;
use super::failure::{Failure, Problem};
use super::reply::{Answer, Reply, columns};
use crate::circuit::Harness;
use crate::source::{self, Source};

/// A wiring with the text it was read from.
pub(super) struct Wiring {
    pub harness: Harness,
    pub source: Source,
}

/// Lists the wirings that come with the program.
pub(super) fn list() -> Answer {
    let all = built_in()?;
    let json = |w: &Wiring| json!({"name": w.harness.name, "title": w.harness.title, "code": w.harness.code});
    let row = |w: &Wiring| vec![w.harness.name.clone(), w.harness.code.clone(), w.harness.title.clone()];
    let rows: Vec<_> = all.iter().map(row).collect();
    Ok(Reply::new(columns(&rows), all.iter().map(json).collect()))
}

/// Lists every fault of a wiring.
pub(super) fn faults(wiring: &str) -> Answer {
    let faults = engine::faults(&find(wiring)?.source)?;
    let row =
        |f: &engine::FaultRow| vec![format!("{:.4} %", 100.0 * f.prior), f.id.clone(), f.sentence.clone()];
    let rows: Vec<_> = faults.iter().map(row).collect();
    Ok(Reply::new(columns(&rows), json!(faults)))
}

/// Finds a wiring by its name, its short code or its file.
pub(super) fn find(wanted: &str) -> Result<Wiring, Failure> {
    let path = Path::new(wanted);
    if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("ron")) || path.is_file() {
        return read(&read_file(path)?);
    }
    let all = built_in()?;
    let names =
        all.iter().map(|w| format!("{} ({})", w.harness.name, w.harness.code)).collect::<Vec<_>>().join(", ");
    let called =
        |w: &Wiring| [&w.harness.name, &w.harness.code].iter().any(|n| n.eq_ignore_ascii_case(wanted));
    all.into_iter().find(called).ok_or_else(|| {
        Failure::new(format!("cannot find the wiring \"{wanted}\": there are {names}"))
            .with_hint("a wiring file of your own is given by its path, which ends in .ron")
    })
}

fn built_in() -> Result<Vec<Wiring>, Failure> {
    engine::built_in().into_iter().map(|(name, text)| read(&Source::new(name, text))).collect()
}

fn read(source: &Source) -> Result<Wiring, Failure> {
    Ok(Wiring { harness: engine::read_wiring(source)?, source: source.clone() })
}

fn read_file(path: &Path) -> Result<Source, Failure> {
    let name = path.display().to_string();
    if path.is_dir() {
        return Err(Failure::new(format!("cannot read {name}: it is a folder"))
            .with_hint(format!("name the files in it, such as {}", path.join("*.ron").display())));
    }
    let bytes = std::fs::read(path).map_err(|why| Failure::new(format!("cannot read {name}: {why}")))?;
    match String::from_utf8(bytes) {
        Ok(text) => Ok(Source::new(name, text)),
        Err(error) => Err(no_text(name, error.as_bytes(), error.utf8_error().valid_up_to())),
    }
}

/// Says where a file stops being text: the byte at `offset` and all before it are looked at.
fn no_text(file: String, bytes: &[u8], offset: usize) -> Failure {
    let before = String::from_utf8_lossy(&bytes[..offset]);
    let last = before.rsplit('\n').next().unwrap_or_default();
    let byte = bytes.get(offset).copied().unwrap_or_default();
    Problem {
        message: format!("the file is not text from byte {offset} on, which is 0x{byte:02X}"),
        hint: Some(
            "wirings and trees are plain text in UTF-8: save it again as that, or name another file"
                .to_owned(),
        ),
        file: Some(file),
        line: Some(before.matches('\n').count() + 1),
        column: Some(last.chars().count() + 1),
    }
    .into()
}

/// Checks files one by one; the answer is wrong when one of them is.
pub(super) fn check(files: &[PathBuf]) -> Answer {
    let checked: Vec<_> = files.iter().map(|file| (file, check_file(file))).collect();
    let text: Vec<String> = checked.iter().map(|(file, result)| told(file, result)).collect();
    let json: Vec<Value> = checked.iter().map(|(file, result)| as_json(file, result)).collect();
    let wrong = checked.iter().any(|(_, result)| result.is_err());
    Ok(Reply { text: text.join("\n"), json: json.into(), wrong })
}

fn told(file: &Path, result: &Result<String, Failure>) -> String {
    match result {
        Ok(says) => format!("{}: ok, {says}", file.display()),
        Err(failure) => failure.to_string(),
    }
}

fn as_json(file: &Path, result: &Result<String, Failure>) -> Value {
    let problems = result.as_ref().err().map(Failure::problems).unwrap_or_default();
    json!({
        "file": file.display().to_string(),
        "ok": result.is_ok(),
        "says": result.as_ref().ok(),
        "problems": problems,
    })
}

fn check_file(path: &Path) -> Result<String, Failure> {
    let source = read_file(path)?;
    if is_tree(&source)? {
        return engine::check_tree(&source);
    }
    let harness = engine::read_wiring(&source)?;
    let (parts, links) = (harness.parts.len(), harness.links.len());
    Ok(format!("wiring \"{}\", {parts} parts, {links} wires and legs", harness.name))
}

/// Whether a field was there at all.
#[derive(Default)]
struct Seen(bool);

impl<'de> Deserialize<'de> for Seen {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        IgnoredAny::deserialize(deserializer).map(|_| Self(true))
    }
}

/// What tells a tree file from a wiring file: only a tree has steps.
#[derive(Deserialize)]
struct Outline {
    #[serde(default)]
    steps: Seen,
}

fn is_tree(source: &Source) -> Result<bool, Failure> {
    Ok(source::load::<Outline>(source)?.steps.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tree_is_told_from_a_wiring_by_its_steps() {
        let tree = |text: &str| is_tree(&Source::new("a.ron", text)).map_err(|e| e.to_string());
        assert_eq!(tree("(name: \"x\", steps: [(a: 1)])"), Ok(true));
        assert_eq!(tree("(name: \"x\", parts: {\"a\": Coil(ohms: \"7k\")})"), Ok(false));
        assert!(tree("(name: ").is_err_and(|e| e.starts_with("error: a.ron:1:")));
    }

    #[test]
    fn a_file_that_is_no_text_says_where_it_stops_being_it() {
        let failure = no_text("a.ron".to_owned(), b"(\n  \xC3\xA4b\xFFc", 7);
        assert_eq!(
            failure.to_string(),
            "error: a.ron:2:5: the file is not text from byte 7 on, which is 0xFF\n  hint: wirings and trees are \
             plain text in UTF-8: save it again as that, or name another file"
        );
    }

    #[test]
    fn a_folder_is_called_a_folder() {
        let failure = check_file(Path::new("assets/wirings")).unwrap_err().to_string();
        assert!(failure.starts_with("error: cannot read assets/wirings: it is a folder\n"), "{failure}");
        assert!(failure.ends_with("such as assets/wirings/*.ron"), "{failure}");
    }

    #[test]
    fn a_missing_file_is_named() {
        let failure = find("nowhere/none.ron").err().map(|e| e.to_string()).unwrap_or_default();
        assert!(failure.starts_with("error: cannot read nowhere/none.ron: "), "{failure}");
    }
}
