//! Trees of one's own and `lugwise tree`, as a shell sees them.

use std::fs;
use std::path::Path;

use lugwise::source::Source;
use lugwise::trees::{built_in, load};
use serde_json::Value;

use crate::shell::{json, lugwise};

/// Returns the text of a tree that comes with the program.
fn text_of(name: &str) -> &'static str {
    let named = |(file, text): &(&str, &str)| load(&Source::new(*file, *text)).unwrap().name == name;
    built_in().iter().copied().find(named).unwrap().1
}

/// Puts a file into the folder of own trees.
fn put(home: &Path, file: &str, text: &str) -> String {
    fs::create_dir_all(home.join("trees")).unwrap();
    let path = home.join("trees").join(file);
    fs::write(&path, text).unwrap();
    path.display().to_string()
}

fn start(home: &Path, job: &str) -> Value {
    let job = home.join(job).display().to_string();
    json(home, &["start", "one-pickup", "--complaint", "no sound", "-o", &job])
}

fn question(state: &Value) -> &str {
    state["question"]["text"].as_str().unwrap()
}

#[test]
fn a_copy_takes_the_place_of_the_programs_tree_and_is_never_written_over() {
    let home = tempfile::tempdir().unwrap();
    let before = json(home.path(), &["tree", "list"]);
    assert_eq!(before["trees"].as_array().unwrap().len(), built_in().len());
    assert_eq!(before["problems"], Value::Array(Vec::new()));
    let copied = json(home.path(), &["tree", "copy", "silent"]);
    let file = copied["file"].as_str().unwrap();
    assert_eq!(Path::new(file), home.path().join("trees").join("silent.ron"));
    assert_eq!(fs::read_to_string(file).unwrap(), text_of("silent"));
    let after = json(home.path(), &["tree", "list"]);
    let own = &after["trees"][0];
    assert_eq!(
        (own["name"].as_str(), own["own"].as_bool(), own["replaces"].as_bool(), own["file"].as_str()),
        (Some("silent"), Some(true), Some(true), Some(file))
    );
    assert_eq!(after["trees"].as_array().unwrap().len(), built_in().len());
    let (code, _, err) = lugwise(home.path(), &["tree", "copy", "silent"]);
    assert_eq!(code, 1);
    assert!(err.contains("nothing is ever written over"), "{err}");
    assert_eq!(lugwise(home.path(), &["tree", "copy", "slient"]).0, 1);
}

#[test]
fn a_wrong_file_is_told_at_its_place_and_stops_no_other() {
    let home = tempfile::tempdir().unwrap();
    let good = text_of("silent");
    put(home.path(), "a.ron", &good.replacen("complaint: Silent", "complaint: Sad", 1));
    put(home.path(), "b.ron", &good.replacen("Turn every knob fully up.", "Turn all of them up.", 1));
    let line = good.lines().position(|line| line.contains("complaint: Silent")).unwrap() + 1;
    let list = json(home.path(), &["tree", "list"]);
    assert_eq!(list["problems"][0]["line"], line);
    assert!(list["problems"][0]["file"].as_str().unwrap().ends_with("a.ron"), "{list}");
    let (code, out, _) = lugwise(home.path(), &["tree", "list"]);
    assert_eq!(code, 0);
    assert!(out.contains(&format!("a.ron:{line}:")), "{out}");
    let state = start(home.path(), "x.job");
    assert!(question(&state).starts_with("Turn all of them up."), "{}", question(&state));
    let told = state["notices"].as_array().unwrap();
    assert!(told.iter().any(|told| told.as_str().unwrap().contains(&format!("a.ron:{line}:"))), "{told:?}");
}

#[test]
fn a_job_keeps_its_tree_until_another_is_put_to_use() {
    let home = tempfile::tempdir().unwrap();
    let with = |words: &str| text_of("silent").replacen("Turn every knob fully up.", words, 1);
    let file = put(home.path(), "silent.ron", &with("First."));
    let job = home.path().join("x.job").display().to_string();
    assert!(question(&start(home.path(), "x.job")).starts_with("First."));
    fs::write(&file, with("Second.")).unwrap();
    assert!(question(&json(home.path(), &["next", &job])).starts_with("First."));
    assert!(question(&start(home.path(), "y.job")).starts_with("Second."));
    assert!(question(&json(home.path(), &["tree", "use", &job, "silent"])).starts_with("Second."));
    fs::remove_file(&file).unwrap();
    assert!(question(&json(home.path(), &["next", &job])).starts_with("Second."));
    assert!(question(&json(home.path(), &["undo", &job])).starts_with("First."));
    let wrong = put(home.path(), "wrong.ron", &with("Third.").replace("plug.tip", "plug.tpi"));
    let (code, _, err) = lugwise(home.path(), &["tree", "use", &job, &wrong]);
    assert_eq!(code, 1);
    assert!(err.contains("no terminal \"plug.tpi\""), "{err}");
    assert!(question(&json(home.path(), &["next", &job])).starts_with("First."));
}

#[test]
fn a_job_without_own_trees_holds_none() {
    let home = tempfile::tempdir().unwrap();
    start(home.path(), "plain.job");
    assert!(!fs::read_to_string(home.path().join("plain.job")).unwrap().contains("trees_text"));
}

#[test]
fn a_tree_is_shown_as_text_as_a_drawing_and_as_a_wall_chart() {
    let home = tempfile::tempdir().unwrap();
    let tree = load(&Source::new("silent.ron", text_of("silent"))).unwrap();
    let (code, out, _) = lugwise(home.path(), &["tree", "show", "silent"]);
    assert_eq!(code, 0);
    assert!(tree.steps.iter().all(|step| out.contains(&step.name)), "{out}");
    let at = |name: &str| home.path().join(name).display().to_string();
    let svg = json(home.path(), &["tree", "show", "silent", "-o", &at("a.svg")]);
    let drawn = fs::read_to_string(at("a.svg")).unwrap();
    assert!(drawn.contains("<svg") && svg["bytes"].as_u64() == Some(drawn.len() as u64), "{svg}");
    assert_eq!(lugwise(home.path(), &["tree", "show", "silent", "-o", &at("a.pdf"), "--paper", "a3"]).0, 0);
    assert!(fs::read(at("a.pdf")).unwrap().starts_with(b"%PDF-"));
    let (code, _, err) = lugwise(home.path(), &["tree", "show", "silent", "--format", "pdf"]);
    assert_eq!(code, 1);
    assert!(err.contains("-o tree.pdf"), "{err}");
    assert_eq!(lugwise(home.path(), &["tree", "show", "silent", "--paper", "a7"]).0, 2);
}

#[test]
fn a_check_tells_findings_at_their_place_and_figures_of_each_wiring() {
    let home = tempfile::tempdir().unwrap();
    let table = home.path().join("table.md").display().to_string();
    let args = ["tree", "check", "silent", "--wiring", "one-pickup", "--wiring", "A2a", "--threads", "2"];
    let (code, out, _) = lugwise(home.path(), &[&args[..], &["--table", &table, "--json"]].concat());
    let checked: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(code, i32::from(checked["passes"] != true), "{out}");
    let wirings: Vec<&Value> =
        checked["trees"][0]["figures"].as_array().unwrap().iter().map(|figures| &figures["wiring"]).collect();
    assert_eq!(wirings.len(), 2, "{wirings:?}");
    let table = fs::read_to_string(table).unwrap();
    assert_eq!(
        table.lines().next(),
        Some("Made with `lugwise tree check silent --wiring one-pickup --wiring A2a --table FILE`.")
    );
    assert_eq!(table.lines().filter(|line| line.starts_with("| silent |")).count(), 2, "{table}");
    let one = lugwise(home.path(), &[&args[..args.len() - 1], &["1"]].concat());
    let two = lugwise(home.path(), &args);
    assert_eq!(one.1, two.1, "threads leave no trace");
}

#[test]
fn a_wrong_tree_does_not_pass_and_says_where() {
    let home = tempfile::tempdir().unwrap();
    let wrong = put(home.path(), "wrong.ron", &text_of("silent").replacen("plug.tip", "plug.tpi", 1));
    let line =
        fs::read_to_string(&wrong).unwrap().lines().position(|line| line.contains("plug.tpi")).unwrap() + 1;
    let (code, out, err) = lugwise(home.path(), &["tree", "check", &wrong, "--wiring", "one-pickup"]);
    assert_eq!(code, 1, "{err}");
    assert!(out.contains(&format!("wrong.ron:{line}:")) && out.contains("error["), "{out}");
    assert!(out.contains("does not pass"), "{out}");
}

#[test]
fn a_grown_tree_is_a_tree_for_the_complaint_and_is_not_written_over() {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("grown.ron").display().to_string();
    let args = ["tree", "grow", "one-pickup", "--complaint", "silent", "--steps", "12", "-o", &file];
    let (code, out, err) = lugwise(home.path(), &args);
    assert_eq!(code, 0, "{out}{err}");
    let text = fs::read_to_string(&file).unwrap();
    let tree = load(&Source::new("grown.ron", text.as_str())).unwrap();
    assert_eq!(tree.complaint.name(), "silent");
    assert!((1..=12).contains(&tree.steps.len()), "{} steps", tree.steps.len());
    assert!(err.contains("pass"), "its own check is told: {err}");
    assert_eq!(tree.wirings, ["one-pickup"]);
    let (code, out, _) = lugwise(home.path(), &["tree", "check", &file, "--json"]);
    let checked: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(
        (code, &checked["passes"]),
        (0, &Value::Bool(true)),
        "the same verdict as when it was grown: {out}"
    );
    let figures = checked["trees"][0]["figures"].as_array().unwrap();
    assert!(figures.len() == 1 && figures[0]["wiring"] == "one-pickup", "{figures:?}");
    let elsewhere =
        put(home.path(), "elsewhere.ron", &text.replacen("[\"one-pickup\"]", "[\"one-pikup\"]", 1));
    let (code, out, _) = lugwise(home.path(), &["tree", "check", &elsewhere]);
    assert_eq!(code, 0, "advice only: {out}");
    assert!(out.contains("no wiring \"one-pikup\"") && out.contains("did you mean \"one-pickup\"?"), "{out}");
    let (code, _, err) = lugwise(home.path(), &args);
    assert_eq!(code, 1);
    assert!(err.contains("there is a file of that name"), "{err}");
    assert_eq!(fs::read_to_string(&file).unwrap(), text);
}

#[test]
fn the_name_of_a_file_says_what_is_written_or_nothing_is() {
    let home = tempfile::tempdir().unwrap();
    let at = |name: &str| home.path().join(name).display().to_string();
    let (code, _, err) = lugwise(home.path(), &["tree", "show", "silent", "-o", &at("x.png")]);
    assert_eq!(code, 1);
    assert!(err.contains("cannot tell what to write") && err.contains(".svg"), "{err}");
    let (code, _, err) =
        lugwise(home.path(), &["tree", "show", "silent", "-o", &at("x.pdf"), "--format", "svg"]);
    assert_eq!(code, 1);
    assert!(err.contains("cannot write a drawing"), "{err}");
    assert_eq!(lugwise(home.path(), &["tree", "show", "silent", "-o", &at("x.txt")]).0, 0);
    let printed = lugwise(home.path(), &["tree", "show", "silent"]).1;
    assert_eq!(fs::read_to_string(at("x.txt")).unwrap().trim_end(), printed.trim_end());
    assert_eq!(fs::read_dir(home.path()).unwrap().filter(Result::is_ok).count(), 1, "nothing else");
}

#[test]
fn a_tree_for_another_complaint_is_kept_and_told() {
    let home = tempfile::tempdir().unwrap();
    let state = start(home.path(), "x.job");
    let job = home.path().join("x.job").display().to_string();
    let told = |name: &str| {
        let used = json(home.path(), &["tree", "use", &job, name]);
        assert_eq!(question(&used), question(&state));
        used["notices"].to_string()
    };
    assert!(
        told("hum").contains("is for the complaint hum, and this job is about silent"),
        "{}",
        told("hum")
    );
    assert!(!told("silent").contains("is for the complaint"), "{}", told("silent"));
}

/// Preparing all wirings takes seconds: a file that is no tree is told without any.
#[test]
fn a_file_that_is_no_tree_is_told_before_any_wiring_is_prepared() {
    let home = tempfile::tempdir().unwrap();
    let wrong = put(home.path(), "wrong.ron", &text_of("silent").replacen("title: ", "titel: ", 1));
    let (code, out, err) = lugwise(home.path(), &["tree", "check", &wrong]);
    assert_eq!((code, err.as_str()), (1, ""), "{out}");
    assert!(out.contains("wrong.ron:5:") && out.contains("error[cannot-be-read]"), "{out}");
    let unknown = lugwise(home.path(), &["tree", "check", &wrong, "--wiring", "nosuch"]);
    assert_eq!(unknown.0, 1);
    assert!(unknown.2.contains("nosuch"), "{}", unknown.2);
}

#[test]
fn files_that_are_no_text_are_told_at_their_lines_and_stop_no_other() {
    let home = tempfile::tempdir().unwrap();
    let (latin, wide) = (home.path().join("latin.ron"), home.path().join("wide.ron"));
    fs::write(&latin, b"(format: 1,\n name: \"f\xFCr\")").unwrap();
    fs::write(&wide, b"\xFF\xFE(\0").unwrap();
    let wrong = put(home.path(), "wrong.ron", "\u{feff}(format: 1,\n name: 7)");
    let files = [latin.display().to_string(), wide.display().to_string(), wrong];
    let (code, out, _) = lugwise(home.path(), &["tree", "check", &files[0], &files[1], &files[2]]);
    assert_eq!(code, 1, "{out}");
    for told in
        ["latin.ron:2:10: error[cannot-be-read]", "wide.ron:1:1: error[cannot-be-read]", "wrong.ron:2:"]
    {
        assert!(out.contains(told), "{told}: {out}");
    }
    assert!(out.contains("UTF-16"), "{out}");
}

#[test]
fn a_tree_that_cannot_be_used_is_named_by_its_file() {
    let home = tempfile::tempdir().unwrap();
    start(home.path(), "x.job");
    let job = home.path().join("x.job").display().to_string();
    let wrong = put(home.path(), "wrong.ron", &text_of("silent").replace("plug.tip", "plug.tpi"));
    let (code, _, err) = lugwise(home.path(), &["tree", "use", &job, &wrong]);
    assert_eq!(code, 1);
    assert!(err.contains("wrong.ron:") && !err.contains("the tree:"), "{err}");
    let (code, _, err) = lugwise(home.path(), &["tree", "use", &job, "silent-battery"]);
    assert_eq!(code, 1);
    assert!(err.contains("only for guitars with a battery") && err.contains("hint: "), "{err}");
}

#[test]
fn a_copy_of_a_tree_whose_name_is_a_path_is_refused() {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("evil.ron");
    fs::write(&file, text_of("silent").replacen("name: \"silent\"", "name: \"../../out\"", 1)).unwrap();
    let (code, _, err) = lugwise(home.path(), &["tree", "copy", &file.display().to_string()]);
    assert_eq!(code, 1);
    assert!(err.contains("evil.ron:4:") && err.contains("the letter '.'"), "{err}");
    assert_eq!(fs::read_dir(home.path()).unwrap().count(), 1, "nothing is written");
}

#[test]
fn a_tree_for_none_of_the_wirings_named_is_not_said_to_pass() {
    let home = tempfile::tempdir().unwrap();
    let args = ["tree", "check", "silent-piezo", "--wiring", "one-pickup"];
    let (code, out, err) = lugwise(home.path(), &args);
    assert_eq!(code, 1, "{out}{err}");
    assert!(out.contains("applies to none of these wirings: nothing was checked"), "{out}");
    assert!(out.contains("not for one-pickup: "), "{out}");
}

#[test]
fn a_wall_chart_says_which_letters_it_lacks() {
    let home = tempfile::tempdir().unwrap();
    let own = put(home.path(), "own.ron", &text_of("silent").replacen("title: \"", "title: \"人 ", 1));
    let at = |name: &str| home.path().join(name).display().to_string();
    let (code, out, err) = lugwise(home.path(), &["tree", "show", &own, "-o", &at("a.pdf"), "--json"]);
    assert!(code == 0 && out.contains("\"missing_letters\": \"人\""), "{out}{err}");
    assert!(err.contains("人 (U+4EBA); the .svg drawing has them"), "{err}");
    assert_eq!(json(home.path(), &["tree", "show", "hum", "-o", &at("b.pdf")])["missing_letters"], "");
}

#[test]
fn a_document_takes_the_place_of_nothing_but_an_earlier_one() {
    let home = tempfile::tempdir().unwrap();
    let at = |name: &str| home.path().join(name).display().to_string();
    start(home.path(), "own.job");
    let (job, archive) = (at("own.job"), home.path().join("past").join("jobs.archive"));
    let (tree, copy) = (put(home.path(), "own.ron", text_of("silent")), at("copy.archive"));
    fs::copy(&archive, &copy).unwrap();
    for kept in [&job, &copy, &tree] {
        let before = fs::read(kept).unwrap();
        let ticket = ["ticket", &job, "--format", "pdf", "-o", kept];
        refused(home.path(), &ticket, "there is a file of that name, and it is a");
        refused(home.path(), &["picture", "one-pickup", "-o", kept], "and it is a");
        refused(home.path(), &["tree", "check", "silent", "--table", kept], "and it is a");
        assert_eq!(fs::read(kept).unwrap(), before, "{kept}");
    }
    let in_use = archive.display().to_string();
    refused(home.path(), &["ticket", &job, "--format", "html", "-o", &in_use], "and it is an archive");
    assert_eq!(json(home.path(), &["past", "check"])["jobs"], 1);
    for (name, args) in [
        ("a.svg", &["response", "one-pickup"][..]),
        ("b.html", &["audit", "one-pickup"][..]),
        ("c.svg", &["trial", "one-pickup", "--singles", "1"][..]),
    ] {
        let (file, output) = (at(name), if name == "c.svg" { "--plot" } else { "-o" });
        fs::copy(&job, &file).unwrap();
        refused(home.path(), &[args, &[output, &file]].concat(), "and it is a job");
        assert_eq!(fs::read(&file).unwrap(), fs::read(&job).unwrap(), "{name}");
    }
    for name in ["t.md", "t.html", "t.pdf"] {
        for _ in ["the first", "the next in its place"] {
            json(home.path(), &["ticket", &job, "-o", &at(name)]);
        }
    }
}

#[track_caller]
fn refused(home: &Path, args: &[&str], says: &str) {
    let (code, out, err) = lugwise(home, args);
    assert!(code == 1 && err.contains(says) && err.contains("hint: "), "{args:?}: {out}{err}");
}
