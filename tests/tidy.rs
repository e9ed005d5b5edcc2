//! Holds the house rules of DEVELOPERS.md by reading the sources.
//!
//! Every rule is a function from text to offences; each test runs it over the sources and over a seeded
//! offending snippet, so that no rule can go blind without a test saying so.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The rooms in reading order, each with the rooms it may use. `source` sits beside `units`.
const ROOMS: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("source", &[]),
    ("circuit", &["units", "source"]),
    ("solver", &["units", "source", "circuit"]),
    ("readings", &["units", "source", "circuit"]),
    ("faults", &["units", "source", "circuit", "readings"]),
    ("prediction", &["units", "source", "circuit", "solver", "faults", "readings"]),
    ("trees", &["units", "source", "circuit", "faults", "readings"]),
    ("job", &["units", "source", "circuit", "faults", "readings"]),
    ("belief", &["units", "source", "circuit", "solver", "faults", "readings", "prediction"]),
    (
        "advisor",
        &["units", "source", "circuit", "solver", "faults", "readings", "prediction", "trees", "belief"],
    ),
    (
        "audit",
        &["units", "source", "circuit", "solver", "faults", "readings", "prediction", "belief", "advisor"],
    ),
    (
        "workbench",
        &[
            "units",
            "source",
            "circuit",
            "solver",
            "faults",
            "readings",
            "prediction",
            "trees",
            "job",
            "belief",
            "advisor",
            "audit",
        ],
    ),
    (
        "trial",
        &[
            "units",
            "source",
            "circuit",
            "solver",
            "faults",
            "readings",
            "prediction",
            "trees",
            "job",
            "belief",
            "advisor",
            "workbench",
        ],
    ),
    (
        "treework",
        &[
            "units",
            "source",
            "circuit",
            "solver",
            "faults",
            "readings",
            "prediction",
            "trees",
            "job",
            "belief",
            "advisor",
            "workbench",
            "trial",
        ],
    ),
    (
        "practice",
        &[
            "units",
            "source",
            "circuit",
            "solver",
            "faults",
            "readings",
            "prediction",
            "trees",
            "job",
            "belief",
            "advisor",
            "workbench",
            "trial",
        ],
    ),
    ("draw", &["units", "source", "circuit", "readings", "trees"]),
    ("archive", &["units", "source", "readings", "job"]),
    ("ticket", &["units", "source", "circuit", "readings", "job", "draw"]),
    (
        "session",
        &[
            "units",
            "source",
            "circuit",
            "readings",
            "trees",
            "job",
            "workbench",
            "practice",
            "archive",
            "ticket",
        ],
    ),
    (
        "cli",
        &[
            "units",
            "source",
            "circuit",
            "readings",
            "trees",
            "job",
            "workbench",
            "treework",
            "trial",
            "practice",
            "archive",
            "ticket",
            "session",
            "draw",
        ],
    ),
    (
        "ui",
        &[
            "units",
            "source",
            "circuit",
            "readings",
            "trees",
            "job",
            "workbench",
            "treework",
            "practice",
            "archive",
            "ticket",
            "session",
            "draw",
        ],
    ),
];

/// The rooms that touch the world outside: files, clock, screen.
const OUTER: &[&str] = &["archive", "session", "cli", "ui", "main"];

/// A word that may appear in some rooms only.
struct Reserved {
    words: &'static [&'static str],
    rooms: &'static [&'static str],
    why: &'static str,
}

const RESERVED: &[Reserved] = &[
    Reserved { words: &["egui", "eframe", "rfd"], rooms: &["ui"], why: "only ui knows the window" },
    Reserved { words: &["rusqlite"], rooms: &["archive"], why: "only archive knows the database" },
    Reserved { words: &["parquet"], rooms: &["archive"], why: "only archive knows the format of columns" },
    Reserved { words: &["krilla", "skrifa"], rooms: &["draw"], why: "only draw knows PDF" },
    Reserved { words: &["clap"], rooms: &["cli"], why: "only cli knows the command line" },
    Reserved {
        words: &[
            "std::fs",
            "std::net",
            "std::process",
            "std::env",
            "File::open",
            "File::create",
            "OpenOptions",
        ],
        rooms: OUTER,
        why: "the core does no I/O",
    },
    Reserved {
        words: &["SystemTime::now", "Instant::now", "Timestamp::now", "Zoned::now"],
        rooms: OUTER,
        why: "the core reads no clock",
    },
    Reserved {
        words: &["HashMap", "HashSet", "RandomState", "rand::rng", "thread_rng"],
        rooms: &["cli", "ui"],
        why: "same inputs, same bytes",
    },
    Reserved {
        words: &[
            ".unwrap(",
            ".expect(",
            ".unwrap_err(",
            ".expect_err(",
            "panic!",
            "todo!",
            "unimplemented!",
            "unreachable!",
            "print!",
            "println!",
            "eprint!",
            "eprintln!",
            "dbg!",
        ],
        rooms: &["cli", "main"],
        why: "the core returns errors and prints nothing",
    },
];

/// One source file, with comments and string contents blanked out and test modules removed.
struct Source {
    path: PathBuf,
    room: String,
    text: String,
    code: String,
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn files_under(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

fn room_of(path: &Path) -> String {
    let first = path.strip_prefix(root().join("src")).unwrap().iter().next().unwrap();
    first.to_string_lossy().trim_end_matches(".rs").to_owned()
}

/// Returns every source file of the library and the program that is not a test module of its own.
fn sources() -> Vec<Source> {
    let read = |path: &PathBuf| fs::read_to_string(path).unwrap();
    let paths = files_under(&root().join("src"));
    let test_files: BTreeSet<PathBuf> =
        paths.iter().flat_map(|path| test_module_files(path, &blanked(&read(path)))).collect();
    paths
        .iter()
        .filter(|path| path.extension().is_some_and(|e| e == "rs") && !test_files.contains(*path))
        .map(|path| {
            let text = read(path);
            let code = without_tests(&blanked(&text));
            Source { path: path.clone(), room: room_of(path), text, code }
        })
        .collect()
}

/// Returns the files that `#[cfg(test)] mod name;` in this file stands for.
fn test_module_files(path: &Path, code: &str) -> Vec<PathBuf> {
    let folder = match path.file_stem().and_then(|s| s.to_str()) {
        Some("mod" | "lib" | "main") => path.parent().unwrap().to_owned(),
        _ => path.with_extension(""),
    };
    code.split("#[cfg(test)]")
        .skip(1)
        .filter_map(|rest| rest.trim_start().trim_start_matches("pub(crate) ").strip_prefix("mod "))
        .filter_map(|rest| rest.split_once(';').map(|(name, _)| name.trim().to_owned()))
        .filter(|name| name.chars().all(|c| c.is_alphanumeric() || c == '_'))
        .flat_map(|name| [folder.join(format!("{name}.rs")), folder.join(name).join("mod.rs")])
        .collect()
}

/// Replaces comments and the contents of strings and character literals by blanks; keeps line breaks.
fn blanked(text: &str) -> String {
    let bytes: Vec<char> = text.chars().collect();
    let mut out = String::with_capacity(text.len());
    let mut i = 0;
    while i < bytes.len() {
        let end = skipped_to(&bytes, i);
        if end == i {
            out.push(bytes[i]);
            i += 1;
        } else {
            out.extend(bytes[i..end].iter().map(|c| if *c == '\n' { '\n' } else { ' ' }));
            i = end;
        }
    }
    out
}

/// Returns where the comment or literal that starts at `i` ends; `i` itself when none starts there.
fn skipped_to(c: &[char], i: usize) -> usize {
    let at = |k: usize| c.get(k).copied().unwrap_or('\0');
    let word_before = i > 0 && (c[i - 1].is_alphanumeric() || c[i - 1] == '_');
    match (at(i), at(i + 1)) {
        ('/', '/') => (i..c.len()).find(|&k| c[k] == '\n').unwrap_or(c.len()),
        ('/', '*') => block_comment_end(c, i),
        ('"', _) => string_end(c, i + 1),
        ('r', '"' | '#') if !word_before => raw_string_end(c, i).unwrap_or(i),
        ('\'', '\\') => (i + 3..c.len()).find(|&k| c[k] == '\'').map_or(c.len(), |k| k + 1),
        ('\'', _) if at(i + 2) == '\'' => i + 3,
        _ => i,
    }
}

fn block_comment_end(c: &[char], start: usize) -> usize {
    let mut depth = 0;
    let mut k = start;
    while k + 1 < c.len() {
        match (c[k], c[k + 1]) {
            ('/', '*') => (depth, k) = (depth + 1, k + 2),
            ('*', '/') if depth == 1 => return k + 2,
            ('*', '/') => (depth, k) = (depth - 1, k + 2),
            _ => k += 1,
        }
    }
    c.len()
}

fn string_end(c: &[char], mut k: usize) -> usize {
    while k < c.len() && c[k] != '"' {
        k += if c[k] == '\\' { 2 } else { 1 };
    }
    (k + 1).min(c.len())
}

fn raw_string_end(c: &[char], start: usize) -> Option<usize> {
    let hashes = c[start + 1..].iter().take_while(|c| **c == '#').count();
    if c.get(start + 1 + hashes) != Some(&'"') {
        return None;
    }
    let closes =
        |k: usize| c[k] == '"' && c[k + 1..].iter().take(hashes).filter(|c| **c == '#').count() == hashes;
    let end = (start + 2 + hashes..c.len()).find(|&k| closes(k));
    Some(end.map_or(c.len(), |k| k + 1 + hashes))
}

/// Removes every item under `#[cfg(test)]`, whole lines kept blank so that line numbers stay.
fn without_tests(code: &str) -> String {
    let mut out = String::new();
    let mut rest = code;
    while let Some((before, after)) = rest.split_once("#[cfg(test)]") {
        let end = item_end(after);
        out.push_str(before);
        out.extend(after[..end].chars().filter(|c| *c == '\n'));
        rest = &after[end..];
    }
    out + rest
}

/// Returns where the item that starts this code ends: after its `;` or its closing brace.
fn item_end(code: &str) -> usize {
    let mut depth = 0;
    for (i, c) in code.char_indices() {
        match c {
            ';' if depth == 0 => return i + 1,
            '{' => depth += 1,
            '}' if depth == 1 => return i + 1,
            '}' => depth -= 1,
            _ => {}
        }
    }
    code.len()
}

fn lines_with<'a>(code: &'a str, word: &'a str) -> impl Iterator<Item = usize> + 'a {
    let is_name = |c: char| c.is_alphanumeric() || c == '_';
    code.match_indices(word).filter_map(move |(at, _)| {
        let before = code[..at].chars().next_back().is_some_and(is_name);
        let after = code[at + word.len()..].chars().next().is_some_and(is_name);
        let starts = !before || !word.starts_with(is_name);
        let ends = !after || !word.ends_with(is_name);
        (starts && ends).then(|| code[..at].matches('\n').count() + 1)
    })
}

/// Returns the names that a path to the crate's root goes on with: `crate::a` and `crate::{a, b::c}`.
fn named_rooms(code: &str) -> Vec<(usize, String)> {
    let name =
        |text: &str| text.trim().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
    code.match_indices("crate::")
        .filter(|(at, _)| !code[..*at].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == '$'))
        .flat_map(|(at, found)| {
            let line = code[..at].matches('\n').count() + 1;
            let rest = &code[at + found.len()..];
            let names = match rest.strip_prefix('{') {
                Some(group) => group_members(group).into_iter().map(name).collect(),
                None => vec![name(rest)],
            };
            names.into_iter().map(move |name| (line, name))
        })
        .filter(|(_, name)| !name.is_empty())
        .collect()
}

/// Returns the members of a braced `use` group, split at its outer commas.
fn group_members(group: &str) -> Vec<&str> {
    let (mut depth, mut start, mut members) = (0, 0, Vec::new());
    for (i, c) in group.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => {
                members.push(&group[start..i]);
                break;
            }
            '}' => depth -= 1,
            ',' if depth == 0 => {
                members.push(&group[start..i]);
                start = i + 1;
            }
            _ => {}
        }
    }
    members
}

fn room_offences(room: &str, code: &str) -> Vec<String> {
    let Some((_, allowed)) = ROOMS.iter().find(|(name, _)| *name == room) else {
        return Vec::new();
    };
    let mut offences: Vec<String> = named_rooms(code)
        .into_iter()
        .filter(|(_, used)| used != room && !allowed.contains(&used.as_str()))
        .map(|(line, used)| format!("line {line}: {room} may not use {used}"))
        .collect();
    let climbs = "super::super::super::";
    offences.extend(
        lines_with(code, climbs).map(|line| format!("line {line}: name the room instead of climbing")),
    );
    offences
}

fn word_offences(room: &str, code: &str) -> Vec<String> {
    RESERVED
        .iter()
        .filter(|rule| !rule.rooms.contains(&room))
        .flat_map(|rule| rule.words.iter().map(move |word| (word, rule.why)))
        .flat_map(|(word, why)| {
            lines_with(code, word).map(move |line| format!("line {line}: `{word}`: {why}"))
        })
        .collect()
}

fn size_offences(text: &str, code: &str) -> Vec<String> {
    let whole = text.lines().count();
    let code = code.lines().filter(|line| !line.trim().is_empty()).count();
    let mut offences = Vec::new();
    if whole > 600 {
        offences.push(format!("{whole} lines, at most 600 are allowed"));
    }
    if code > 400 {
        offences.push(format!("{code} lines of code, at most 400 are allowed"));
    }
    offences
}

fn front_page_offences(text: &str) -> Vec<String> {
    let opens = text.starts_with("//! ") && !text.starts_with("//! To be written");
    if opens {
        Vec::new()
    } else {
        vec!["line 1: a file opens with a `//!` sentence that says what it is for".into()]
    }
}

/// Paths that only exist on the machine where something was written.
fn machine_paths() -> Vec<String> {
    [["/wo", "rk/"], ["/ro", "ot/"], ["/ho", "me/"], ["/tm", "p/w/"], ["/Us", "ers/"]]
        .map(|p| p.concat())
        .to_vec()
}

fn machine_path_offences(text: &str) -> Vec<String> {
    let paths = machine_paths();
    text.lines()
        .enumerate()
        .filter(|(_, line)| paths.iter().any(|path| line.contains(path.as_str())))
        .map(|(i, line)| format!("line {}: path of one machine: {line}", i + 1))
        .collect()
}

fn top_level_offences<'a>(names: impl IntoIterator<Item = &'a str>) -> Vec<String> {
    const ALLOWED: &[&str] = &[
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "LICENSE-MIT",
        "LICENSE-APACHE",
        "assets",
        "src",
        "tests",
        "trees",
        "screenshots",
        "target",
    ];
    names
        .into_iter()
        .filter(|name| !name.starts_with('.') && !ALLOWED.contains(name))
        .map(|name| format!("{name}: the top level holds only {}", ALLOWED.join(", ")))
        .collect()
}

/// Returns the length in lines of every function in this code, from `fn` to its closing brace.
fn function_lengths(code: &str) -> Vec<usize> {
    code.match_indices("fn ")
        .filter(|(at, _)| !code[..*at].ends_with(|c: char| c.is_alphanumeric() || c == '_'))
        .filter_map(|(at, _)| {
            let item = &code[at..at + item_end(&code[at..])];
            item.ends_with('}').then(|| item.matches('\n').count() + 1)
        })
        .collect()
}

/// Returns the length that the given share of these functions does not exceed.
fn quantile(lengths: &mut [usize], share: f64) -> usize {
    lengths.sort_unstable();
    let index = (lengths.len() as f64 * share).ceil() as usize;
    lengths[index.clamp(1, lengths.len()) - 1]
}

#[track_caller]
fn none(rule: impl Fn(&Source) -> Vec<String>) {
    let offences: Vec<String> = sources()
        .iter()
        .flat_map(|source| {
            rule(source).into_iter().map(|offence| format!("{}: {offence}", source.path.display()))
        })
        .collect();
    assert!(offences.is_empty(), "{}", offences.join("\n"));
}

#[test]
fn the_scanner_sees_every_room() {
    let sources = sources();
    let seen: BTreeSet<&str> = sources.iter().map(|s| s.room.as_str()).collect();
    for (room, _) in ROOMS {
        assert!(seen.contains(room), "no source file of {room} was read");
    }
    let known: BTreeSet<&str> = ROOMS.iter().map(|(room, _)| *room).chain(["lib", "main"]).collect();
    assert!(seen.is_subset(&known), "a room is missing from the table: {seen:?}");
    assert!(sources.len() >= 24, "only {} source files were read", sources.len());
}

#[test]
fn the_room_table_is_in_reading_order() {
    let place = |room: &str| ROOMS.iter().position(|(name, _)| *name == room);
    for (index, (room, allowed)) in ROOMS.iter().enumerate() {
        for used in *allowed {
            assert!(
                place(used).is_some_and(|p| p < index),
                "{room} may use {used}, which comes later or is no room"
            );
        }
    }
}

#[test]
fn comments_strings_and_test_modules_are_not_code() {
    let text = "let a = \"x.unwrap()\"; // panic!\nlet b = r#\"todo!\"#; let c = '\"'; /* dbg! /* */ */ f::<'a>();\n\
                #[cfg(test)]\nmod tests { fn f() { g().unwrap(); } }\nfn after() {}\n";
    let code = without_tests(&blanked(text));
    assert_eq!(word_offences("units", &code), Vec::<String>::new());
    assert!(code.contains("fn after()") && code.contains("f::<'a>()"), "{code}");
    assert_eq!(code.matches('\n').count(), text.matches('\n').count());
}

#[test]
fn a_test_module_in_its_own_file_is_found() {
    let files = test_module_files(Path::new("src/job/mod.rs"), "#[cfg(test)]\nmod sample;\nmod event;");
    assert!(files.contains(&PathBuf::from("src/job/sample.rs")));
    assert!(!files.iter().any(|f| f.ends_with("event.rs")));
}

#[test]
fn rooms_use_only_rooms_above_them() {
    let seeded = "use crate::units::Ohms;\nuse crate::{job, circuit::{Harness, Part}, ui};\nfn f() { crate::belief::g() }";
    let expected = [
        "line 2: circuit may not use job",
        "line 2: circuit may not use ui",
        "line 3: circuit may not use belief",
    ];
    assert_eq!(room_offences("circuit", seeded), expected);
    none(|source| room_offences(&source.room, &source.code));
}

#[test]
fn words_stay_in_their_rooms() {
    let seeded = "use egui::Ui;\nlet t = Instant::now();\nstd::fs::read(p);\nx.unwrap();\nprintln!();\nHashMap::new();\nrusqlite::open();";
    let lines: Vec<String> = word_offences("belief", seeded);
    for line in 1..=7 {
        assert!(
            lines.iter().any(|l| l.starts_with(&format!("line {line}:"))),
            "line {line} was not caught: {lines:?}"
        );
    }
    assert_eq!(word_offences("belief", "my_panic!(); x.unwrap_or(1); regui::f();"), Vec::<String>::new());
    none(|source| word_offences(&source.room, &source.code));
}

#[test]
fn files_stay_small() {
    let long = "let a = 1;\n".repeat(601);
    assert_eq!(size_offences(&long, &long).len(), 2);
    none(|source| size_offences(&source.text, &source.code));
}

#[test]
fn every_file_says_what_it_is_for() {
    assert_eq!(front_page_offences("use crate::units;").len(), 1);
    none(|source| front_page_offences(&source.text));
}

#[test]
fn functions_stay_short() {
    assert_eq!(function_lengths("fn a() {}\nfn b()\n{\n  x\n}\ntrait T { fn c(); }"), [1, 4]);
    let lengths = |ui: bool| -> Vec<usize> {
        let of = |s: &Source| (s.room == "ui") == ui;
        sources().iter().filter(|s| of(s)).flat_map(|s| function_lengths(&s.code)).collect()
    };
    let mut core = lengths(false);
    let mut window = lengths(true);
    assert!(core.len() > 20, "only {} functions were found", core.len());
    let (median, most) = (quantile(&mut core, 0.5), quantile(&mut core, 0.9));
    assert!(
        median <= 7 && most <= 25,
        "core functions: median {median} of 7 lines, 90 % within {most} of 25"
    );
    if !window.is_empty() {
        let (median, most) = (quantile(&mut window, 0.5), quantile(&mut window, 0.9));
        assert!(
            median <= 12 && most <= 50,
            "window functions: median {median} of 12 lines, 90 % within {most} of 50"
        );
    }
}

#[test]
fn the_top_level_is_fixed() {
    assert_eq!(top_level_offences([".ci", "src", "scripts"]).len(), 1);
    let names: Vec<String> = fs::read_dir(root())
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    assert!(names.len() > 8);
    let offences = top_level_offences(names.iter().map(String::as_str));
    assert!(offences.is_empty(), "{}", offences.join("\n"));
}

#[test]
fn no_file_names_a_path_of_one_machine() {
    let seeded = format!("see {}notes.txt", machine_paths()[0]);
    assert_eq!(machine_path_offences(&seeded).len(), 1);
    let folders = ["src", "tests", "assets", "trees", ".ci"].map(|f| files_under(&root().join(f)));
    let single = ["README.md", "DEVELOPERS.md", "Cargo.toml", ".clippy.toml", ".rustfmt.toml", ".gitignore"];
    let paths = folders.into_iter().flatten().chain(single.map(|f| root().join(f)));
    let mut read = 0;
    let mut offences = Vec::new();
    for path in paths {
        let Ok(text) = fs::read_to_string(&path) else {
            continue;
        };
        read += 1;
        offences.extend(machine_path_offences(&text).into_iter().map(|o| format!("{}: {o}", path.display())));
    }
    assert!(read > 30, "only {read} files were read");
    assert!(offences.is_empty(), "{}", offences.join("\n"));
}

#[test]
fn the_developers_page_names_every_room_and_every_dependency() {
    let page = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    for (room, _) in ROOMS {
        assert!(page.contains(&format!("| `{room}` |")), "DEVELOPERS.md has no row for the room {room}");
    }
    let manifest = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    let dependencies = dependencies_in(&manifest);
    assert!(dependencies.len() > 10, "only {dependencies:?} were found");
    for name in dependencies {
        assert!(page.contains(&format!("| `{name}` |")), "DEVELOPERS.md does not say why {name} is used");
    }
}

/// Returns the names in the dependency tables of a manifest.
fn dependencies_in(manifest: &str) -> Vec<String> {
    let mut inside = false;
    let mut names = Vec::new();
    for line in manifest.lines() {
        if line.starts_with('[') {
            inside = matches!(line, "[dependencies]" | "[dev-dependencies]");
        } else if let (true, Some((name, _))) = (inside, line.split_once('=')) {
            names.push(name.trim().to_owned());
        }
    }
    names
}

#[test]
fn the_readme_names_the_commands_that_continuous_integration_runs() {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    let lines: Vec<&str> = readme.lines().collect();
    for command in ["cargo run --release", "cargo test"] {
        assert_eq!(
            lines.iter().filter(|line| **line == command).count(),
            1,
            "README.md: one line `{command}`"
        );
    }
    let installs: Vec<&&str> = lines.iter().filter(|line| line.starts_with("sudo apt-get install")).collect();
    assert_eq!(installs.len(), 1, "README.md: one line with the packages");
}
