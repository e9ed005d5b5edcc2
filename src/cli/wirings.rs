//! Finding a wiring; `check` and `faults`: what there is before a job starts.

use std::path::{Path, PathBuf};

use serde::de::IgnoredAny;
use serde::{Deserialize, Deserializer};
use serde_json::{Value, json};

use super::failure::{Failure, Problem};
use super::reply::{Answer, Reply, columns};
use super::{engine, priors};
use crate::circuit::{self, Harness, OddValue, doubts, odd_values};
use crate::session::{OwnFolder, taken_names};
use crate::source::{self, Source};

/// A wiring with the text it was read from.
pub(super) struct Wiring {
    pub harness: Harness,
    pub source: Source,
}

/// Lists every fault of a wiring.
pub(super) fn faults(wiring: &str, own_priors: Option<&Path>) -> Answer {
    let faults = engine::faults(&find(wiring)?.source, &priors::in_use(own_priors)?.priors)?;
    let row =
        |f: &engine::FaultRow| vec![format!("{:.4} %", 100.0 * f.prior), f.id.clone(), f.sentence.clone()];
    let rows: Vec<_> = faults.iter().map(row).collect();
    Ok(Reply::new(columns(&rows), json!(faults)))
}

/// Finds a wiring by its file, or by the name or short code of one's own or one that comes with the program.
pub(super) fn find(wanted: &str) -> Result<Wiring, Failure> {
    let path = Path::new(wanted);
    if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("ron")) || path.is_file() {
        return read(&read_file(path)?);
    }
    let own = OwnFolder::usual().read();
    if let Some(own) = own.iter().find(|own| own.is_called(wanted)) {
        return Ok(Wiring { harness: own.harness.clone()?, source: own.source.clone() });
    }
    let all = built_in()?;
    let called = |h: &Harness| [&h.name, &h.code].iter().any(|n| n.eq_ignore_ascii_case(wanted));
    let mine = own.iter().filter_map(|own| own.harness.as_ref().ok());
    let known = all.iter().map(|w| &w.harness).chain(mine).map(|h| format!("{} ({})", h.name, h.code));
    let names = known.collect::<Vec<_>>().join(", ");
    all.into_iter().find(|w| called(&w.harness)).ok_or_else(|| {
        Failure::new(format!("cannot find the wiring \"{wanted}\": there are {names}"))
            .with_hint("a wiring file of your own is given by its path, which ends in .ron")
    })
}

/// Returns the wirings that come with the program.
pub(super) fn built_in() -> Result<Vec<Wiring>, Failure> {
    engine::built_in().into_iter().map(|(name, text)| read(&Source::new(name, text))).collect()
}

fn read(source: &Source) -> Result<Wiring, Failure> {
    Ok(Wiring { harness: engine::read_wiring(source)?, source: source.clone() })
}

/// The largest file that is read, in bytes: a wiring, a tree or priors of a shop are a thousand times smaller.
const MOST_BYTES: u64 = 64_000_000;

/// Reads a wiring or tree file.
pub(super) fn read_file(path: &Path) -> Result<Source, Failure> {
    let name = path.display().to_string();
    if path.is_dir() {
        return Err(Failure::new(format!("cannot read {name}: it is a folder"))
            .with_hint(format!("name the files in it, such as {}", path.join("*.ron").display())));
    }
    if std::fs::metadata(path).is_ok_and(|about| !about.is_file() || about.len() > MOST_BYTES) {
        return Err(Failure::new(format!("cannot read {name}: it is no file, or larger than 64 MB")));
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
    let utf16 = bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]);
    let kind = if utf16 { "; it looks like UTF-16" } else { "" };
    Problem {
        message: format!("the file is not text from byte {offset} on, which is 0x{byte:02X}{kind}"),
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
    Ok(Reply { wrong, ..Reply::new(text.join("\n"), json.into()) })
}

/// What is said of a file that is right: what it is, and what is worth a second look.
#[derive(Debug)]
struct Checked {
    says: String,
    notes: Vec<String>,
}

fn told(file: &Path, result: &Result<Checked, Failure>) -> String {
    match result {
        Ok(Checked { says, notes }) => {
            let notes: String = notes.iter().map(|note| format!("\n  note: {note}")).collect();
            format!("{}: ok, {says}{notes}", file.display())
        }
        Err(failure) => failure.to_string(),
    }
}

fn as_json(file: &Path, result: &Result<Checked, Failure>) -> Value {
    let problems = result.as_ref().err().map(Failure::problems).unwrap_or_default();
    json!({
        "file": file.display().to_string(),
        "ok": result.is_ok(),
        "says": result.as_ref().ok().map(|checked| &checked.says),
        "notes": result.as_ref().map(|checked| checked.notes.as_slice()).unwrap_or_default(),
        "problems": problems,
    })
}

fn check_file(path: &Path) -> Result<Checked, Failure> {
    let source = read_file(path)?;
    if is_tree(&source)? {
        return Ok(Checked { says: engine::check_tree(&source)?, notes: Vec::new() });
    }
    if is_priors(&source)? {
        return Ok(Checked { says: priors::check(&source)?, notes: Vec::new() });
    }
    let harness = engine::read_wiring(&source)?;
    let (parts, links) = (harness.parts.len(), harness.links.len());
    let says = format!("wiring \"{}\", {parts} parts, {links} wires and legs", harness.name);
    let note = |odd: &OddValue| {
        let (part, value, nearest) = (&harness[odd.part].title, &odd.value, &odd.nearest);
        format!("{part}: {value} is no stock value, the nearest is {nearest}; leave it if it was measured")
    };
    let odd = odd_values(&harness);
    let doubtful = doubts(&harness).into_iter().map(|doubt| format!("{doubt}; leave it if it is meant"));
    let mut notes: Vec<String> = odd.iter().map(note).chain(doubtful).collect();
    if !circuit::built_in().iter().any(|(_, text)| *text == source.text) {
        let taken = |taken: String| format!("{taken}; in the folder of your own wirings it is refused");
        notes.extend(taken_names(&harness).into_iter().map(taken));
    }
    Ok(Checked { says, notes })
}

/// Whether a field was there at all.
#[derive(Default)]
struct Seen(bool);

impl<'de> Deserialize<'de> for Seen {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        IgnoredAny::deserialize(deserializer).map(|_| Self(true))
    }
}

/// What tells files apart: only a tree has steps, and only priors have rates or histories.
#[derive(Deserialize)]
struct Outline {
    #[serde(default)]
    steps: Seen,
    #[serde(default)]
    rates: Seen,
    #[serde(default)]
    histories: Seen,
}

fn is_tree(source: &Source) -> Result<bool, Failure> {
    Ok(source::load::<Outline>(source)?.steps.0)
}

fn is_priors(source: &Source) -> Result<bool, Failure> {
    let outline: Outline = source::load(source)?;
    Ok(outline.rates.0 || outline.histories.0)
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
