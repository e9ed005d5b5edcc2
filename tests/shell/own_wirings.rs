//! Choosing a wiring by counting, and wirings of one's own, as a shell sees them.

use std::fs;

use lugwise::circuit::{Looks, built_in, load};
use lugwise::source::Source;
use serde_json::Value;

use crate::shell::{json, lugwise};

fn codes(list: &Value) -> Vec<&str> {
    list.as_array().unwrap().iter().filter_map(|wiring| wiring["code"].as_str()).collect()
}

#[test]
fn counting_leaves_the_wirings_that_look_like_it() {
    let home = tempfile::tempdir().unwrap();
    let counted = ["wirings", "--pickups", "2", "--knobs", "4", "--positions", "3", "--battery", "no"];
    let list = json(home.path(), &counted);
    let expected: Vec<String> = built_in()
        .iter()
        .map(|(name, text)| load(&Source::new(*name, *text)).unwrap())
        .filter(|h| Looks::of(h) == Looks { pickups: 2, knobs: 4, switches: vec![3], battery: false })
        .map(|harness| harness.code)
        .collect();
    assert!(expected.len() > 1, "{expected:?}");
    assert_eq!(codes(&list), expected);
    for wiring in list.as_array().unwrap() {
        let tells = wiring["tells"].as_array().unwrap();
        assert!(
            tells.iter().any(|tell| tell["what"].as_str().unwrap().starts_with("read the ohms")),
            "{wiring}"
        );
    }
    let (code, out, _) = lugwise(home.path(), &counted);
    assert_eq!(code, 0);
    assert!(out.contains("look alike from outside"), "{out}");
    assert!(
        out.contains("To tell them apart, read the ohms from tip of the plug to sleeve of the plug"),
        "{out}"
    );
}

#[test]
fn with_some_counted_the_next_question_is_named() {
    let home = tempfile::tempdir().unwrap();
    let (code, out, _) = lugwise(home.path(), &["wirings", "--pickups", "2"]);
    assert_eq!(code, 0);
    assert!(out.contains("Next: How many"), "{out}");
    assert!(out.contains(" leaves "), "{out}");
    let (code, out, _) = lugwise(home.path(), &["wirings", "--knobs", "9"]);
    assert_eq!(code, 0);
    assert!(out.starts_with("No wiring has 9 knobs."), "{out}");
    assert_eq!(json(home.path(), &["wirings", "--knobs", "9"]), Value::Array(Vec::new()));
    assert_eq!(lugwise(home.path(), &["wirings", "--battery", "perhaps"]).0, 2);
}

#[test]
fn a_copy_is_listed_found_and_never_written_over() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("not/there/yet");
    let copied = json(&folder, &["copy", "A3"]);
    assert_eq!(
        (copied["name"].as_str(), copied["code"].as_str()),
        (Some("my-two-single-coils"), Some("A3-own"))
    );
    let list = json(&folder, &["wirings"]);
    let own = list.as_array().unwrap().iter().find(|w| w["own"] == true).unwrap();
    assert_eq!(own["file"], copied["file"]);
    assert_eq!(list.as_array().unwrap().len(), built_in().len() + 1);
    for name in ["my-two-single-coils", "a3-own", copied["file"].as_str().unwrap()] {
        let ohms = |name: &str| {
            let args = ["predict", name, "--red", "plug.tip", "--black", "plug.sleeve"];
            json(&folder, &args)["ohms"].as_f64().unwrap()
        };
        assert_eq!(ohms(name), ohms("two-single-coils"), "{name}");
    }
    let elsewhere = home.path().join("mine.ron").display().to_string();
    assert_eq!(lugwise(&folder, &["copy", "A3", "-o", &elsewhere]).0, 0);
    let before = fs::read(&elsewhere).unwrap();
    let (code, _, err) = lugwise(&folder, &["copy", "A1a", "-o", &elsewhere]);
    assert_eq!(code, 1);
    assert!(err.contains("there is a file of that name\n  hint: nothing is ever written over"), "{err}");
    assert_eq!(fs::read(&elsewhere).unwrap(), before);
}

#[test]
fn a_wrong_file_is_listed_with_its_mistakes_and_never_hidden() {
    let home = tempfile::tempdir().unwrap();
    let copied = json(home.path(), &["copy", "one-pickup"]);
    let file = copied["file"].as_str().unwrap();
    let text = fs::read_to_string(file).unwrap();
    let line = text.lines().position(|line| line.contains("\"volume.lug3\"")).unwrap() + 1;
    fs::write(file, text.replacen("\"volume.lug3\"", "\"volme.lug3\"", 1)).unwrap();
    let list = json(home.path(), &["wirings"]);
    let wrong = list.as_array().unwrap().iter().find(|w| w["own"] == true).unwrap();
    assert_eq!(wrong["name"], Value::Null);
    assert_eq!(wrong["problems"][0]["line"], line);
    assert_eq!(wrong["problems"][0]["hint"], "did you mean \"volume\"?");
    let (code, out, _) = lugwise(home.path(), &["wirings"]);
    assert_eq!(code, 0);
    assert!(out.contains(&format!("my-one-pickup.ron:{line}:")), "{out}");
    let (code, _, err) = lugwise(home.path(), &["faults", "my-one-pickup"]);
    assert_eq!(code, 1);
    assert!(err.contains("no part is called \"volme\""), "{err}");
}

/// A new guitar is one small file: blocks stand for what every guitar has.
#[test]
fn a_two_pickup_guitar_made_of_blocks_is_under_60_lines() {
    let text = include_str!("../../assets/wirings/two-single-coils.ron");
    assert!(text.lines().count() < 60, "{} lines", text.lines().count());
    assert!(text.contains("blocks: ["));
    let harness = load(&Source::new("two-single-coils.ron", text)).unwrap_or_else(|e| panic!("{e:#?}"));
    assert_eq!(Looks::of(&harness), Looks { pickups: 2, knobs: 2, switches: vec![3], battery: false });
}
