//! The command line as a shell sees it: exit codes, help, errors, and one whole job.

use std::path::{Path, PathBuf};

use assert_cmd::Command;
use rstest::rstest;
use serde_json::Value;

/// What one call of the program gave back.
struct Said {
    code: i32,
    out: String,
    err: String,
}

fn lugwise<S: AsRef<std::ffi::OsStr>>(args: impl IntoIterator<Item = S>) -> Said {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lugwise"));
    command.env("LUGWISE_ARCHIVE", "off");
    let output = command.args(args).env_remove("DISPLAY").env_remove("WAYLAND_DISPLAY").output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Said { code: output.status.code().unwrap(), out: text(output.stdout), err: text(output.stderr) }
}

#[track_caller]
fn json<S: AsRef<std::ffi::OsStr>>(args: impl IntoIterator<Item = S>) -> Value {
    let said = lugwise(args.into_iter().map(|a| a.as_ref().to_owned()).chain(["--json".into()]));
    assert_eq!(said.code, 0, "{}{}", said.out, said.err);
    assert_eq!(said.err, "");
    serde_json::from_str(&said.out).unwrap()
}

#[track_caller]
fn has_keys(value: &Value, keys: &[&str]) {
    let object = value.as_object().unwrap_or_else(|| panic!("not an object: {value}"));
    for key in keys {
        assert!(object.contains_key(*key), "no key {key} in {value}");
    }
}

#[rstest]
#[case::unknown_command(&["solder"])]
#[case::no_files(&["check"])]
#[case::no_complaint(&["start", "A2a", "-o", "x.job"])]
#[case::no_black(&["predict", "A2a", "--red", "plug.tip"])]
#[case::no_value(&["predict", "A2a", "--red", "a", "--black", "b", "--set", "volume"])]
#[case::unknown_mode(&["predict", "A2a", "--red", "a", "--black", "b", "--mode", "smell"])]
#[case::unknown_access(&["start", "A2a", "--complaint", "silent", "-o", "x", "--access", "sawing"])]
#[case::no_input(&["response", "A2a", "--input", "0 ohm"])]
#[case::no_frequency(&["response", "A2a", "--at", "high"])]
#[case::no_outcome(&["close", "x.job"])]
#[case::two_outcomes(&["close", "x.job", "--cured", "--unproven", "tired"])]
#[case::number_zero(&["answer", "x.job", "0"])]
#[case::negative_minutes(&["repair", "x.job", "soldered", "--minutes=-3"])]
fn a_wrong_command_line_ends_with_2(#[case] args: &[&str]) {
    let said = lugwise(args);
    assert_eq!((said.code, said.out.as_str()), (2, ""), "{}", said.err);
    assert!(said.err.starts_with("error: "), "{}", said.err);
    let told = lugwise(args.iter().copied().chain(["--json"]));
    let error: Value = serde_json::from_str(&told.out).unwrap();
    assert_eq!((told.code, told.err.lines().next()), (2, said.err.lines().next()));
    has_keys(&error["error"], &["message", "hint", "file", "line", "column", "others"]);
    let message = error["error"]["message"].as_str().unwrap();
    assert!(!message.is_empty() && !message.starts_with("error") && !message.contains('\n'), "{message}");
}

#[test]
fn an_audit_is_told_in_text_and_json_and_written_to_files() {
    let told = json(["audit", "A1a"]);
    has_keys(&told, &["at_least", "proven", "covered", "total", "kinds", "flexed", "missed", "minutes"]);
    let checks = told["checks"].as_array().unwrap();
    checks
        .iter()
        .for_each(|c| has_keys(c, &["number", "red", "black", "mode", "settings", "healthy", "covers"]));
    let text = lugwise(["audit", "A1a"]).out;
    assert_eq!(text.matches("[ ] ").count(), checks.len(), "{text}");
    assert_eq!(text.matches("reading: ____").count(), checks.len(), "{text}");
    let folder = tempfile::tempdir().unwrap();
    for (name, begins) in [("list.md", "# Wiring audit: "), ("list.html", "<!DOCTYPE html>")] {
        let path = folder.path().join(name);
        let wrote = json(["audit", "A1a", "-o", path.to_str().unwrap()]);
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(text.starts_with(begins), "{text}");
        assert_eq!(text.matches('☐').count(), checks.len());
        assert_eq!(wrote["bytes"].as_u64().unwrap(), text.len() as u64);
    }
    let wrong = lugwise(["audit", "A1a", "-o", folder.path().join("list.pdf").to_str().unwrap()]);
    assert_eq!(wrong.code, 1, "{}", wrong.err);
}

#[test]
fn help_and_version_end_with_0() {
    let said = lugwise(["--help"]);
    assert_eq!(said.code, 0);
    for command in [
        "wirings", "check", "faults", "audit", "predict", "coil", "netlist", "picture", "response", "trial",
        "start", "next", "record", "ticket", "open",
    ] {
        assert!(said.out.contains(&format!("\n  {command} ")), "{command} is missing in\n{}", said.out);
    }
    assert_eq!(lugwise(["--version"]).out, format!("lugwise {}\n", env!("CARGO_PKG_VERSION")));
}

#[test]
fn a_picture_is_printed_or_written_and_marks_a_fault() {
    let printed = json(["picture", "A14a"])["svg"].as_str().unwrap().to_owned();
    assert!(printed.starts_with("<svg ") && printed.contains(">volume pot</text>"), "{printed}");
    assert!(!printed.contains("suspect"));
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("picture.svg");
    let path = file.to_str().unwrap();
    let told = json(["picture", "A14a", "--fault", "volume.lug3/joint open", "-o", path]);
    let written = std::fs::read_to_string(&file).unwrap();
    assert_eq!((told["file"].as_str(), told["bytes"].as_u64()), (Some(path), Some(written.len() as u64)));
    assert!(written.contains("Suspect, 100 %: input lug (lug 3) of the volume pot."), "{written}");
}

#[test]
fn a_picture_says_from_which_side_and_of_which_hand_it_is() {
    let drawn = |flags: &[&str]| {
        let svg = json([&["picture", "A14a"][..], flags].concat())["svg"].as_str().unwrap().to_owned();
        assert!(svg.contains(">volume pot</text>"), "a name is missing");
        svg
    };
    let says = |svg: &str| svg.split("seen from").nth(1).is_some_and(|rest| rest.starts_with(" behind"));
    let (plain, front) = (drawn(&[]), drawn(&["--front"]));
    let (left, both) = (drawn(&["--left-handed"]), drawn(&["--front", "--left-handed"]));
    assert!(says(&plain) && !says(&front) && says(&left) && !says(&both));
    assert!(left.contains("left-handed") && both.contains("left-handed") && !front.contains("left-handed"));
    assert_ne!(plain, front);
}

#[test]
fn a_fault_that_the_wiring_cannot_have_is_not_marked() {
    let said = lugwise(["picture", "A14a", "--fault", "tone.lug3/joint open"]);
    assert_eq!((said.code, said.out.as_str()), (1, ""));
    let words = "error: cannot mark \"tone.lug3/joint open\": one-humbucker-volume has no such fault\n";
    assert!(said.err.starts_with(words), "{}", said.err);
}

#[test]
fn a_missing_file_ends_with_1_and_is_named_in_text_and_json() {
    let said = lugwise(["faults", "none-such.ron"]);
    assert_eq!((said.code, said.out.as_str()), (1, ""));
    assert!(said.err.starts_with("error: cannot read none-such.ron: "), "{}", said.err);
    let said = lugwise(["faults", "none-such.ron", "--json"]);
    let told: Value = serde_json::from_str(&said.out).unwrap();
    assert_eq!(said.code, 1);
    assert!(told["error"]["message"].as_str().unwrap().starts_with("cannot read none-such.ron: "));
    assert!(told["error"].as_object().unwrap().contains_key("line"));
}

#[test]
fn check_tells_every_step_of_a_tree_that_leads_nowhere() {
    let folder = tempfile::tempdir().unwrap();
    let bad = folder.path().join("bad.ron");
    let step = |name: &str| {
        format!(
            "(name: \"{name}\", say: \"Look.\", why: \"So.\", ask: Look([(answer: \"a\", means: \"m\", then: Step(\"x\"))])),"
        )
    };
    let head = "(format: 1, name: \"t\", title: \"t\", complaint: Hum, start: \"one\", steps: [";
    std::fs::write(&bad, format!("{head}\n{}\n{}\n])", step("one"), step("two"))).unwrap();
    let said = lugwise([Path::new("check"), &bad, Path::new("--json")]);
    let told: Value = serde_json::from_str(&said.out).unwrap();
    let lines: Vec<&Value> = told[0]["problems"].as_array().unwrap().iter().map(|one| &one["line"]).collect();
    assert_eq!((said.code, lines), (1, vec![&Value::from(2), &Value::from(3)]), "{told}");
}

#[test]
fn check_tells_of_every_file_and_ends_with_1_when_one_is_wrong() {
    let folder = tempfile::tempdir().unwrap();
    let bad = folder.path().join("bad.ron");
    std::fs::write(&bad, "(\n  name: \"x\",\n  parts: [").unwrap();
    let good = Path::new(env!("CARGO_MANIFEST_DIR")).join("trees/silent.ron");
    let said = lugwise([Path::new("check"), &good, &bad, Path::new("--json")]);
    let told: Value = serde_json::from_str(&said.out).unwrap();
    assert_eq!(said.code, 1, "{}", said.err);
    assert_eq!((&told[0]["ok"], &told[1]["ok"]), (&Value::Bool(true), &Value::Bool(false)));
    assert_eq!(told[1]["problems"][0]["line"], 3);
    assert_eq!(lugwise([Path::new("check"), &good]).code, 0);
}

#[test]
fn the_wirings_are_listed_and_found_by_name_and_by_code() {
    let wirings = json(["wirings"]);
    let wirings = wirings.as_array().unwrap();
    assert!(wirings.len() >= 2);
    wirings.iter().for_each(|w| has_keys(w, &["name", "title"]));
    let name = wirings[0]["name"].as_str().unwrap();
    let code = wirings[0]["code"].as_str().unwrap().to_lowercase();
    assert_eq!(json(["faults", name]), json(["faults", &code]));
    let said = lugwise(["faults", "no-such-wiring"]);
    assert_eq!(said.code, 1);
    assert!(said.err.contains(name) && said.err.contains("no-such-wiring"), "{}", said.err);
}

#[test]
fn a_response_is_told_beside_the_fault_and_drawn() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sound.svg").display().to_string();
    let fault = ["--fault", "tone-cap/capacitor shorted"];
    let told = json(["response", "A1a", "--set", "tone=0", "-o", &file].into_iter().chain(fault));
    has_keys(&told, &["points", "peak", "level", "treble", "sentence", "cable", "input", "settings"]);
    assert!(told["level"].as_f64().unwrap() < -60.0 && told["treble"].as_f64().unwrap() < -40.0, "{told}");
    let drawn = std::fs::read_to_string(&file).unwrap();
    assert!(drawn.starts_with("<svg") && drawn.contains("stroke-dasharray"), "{drawn}");
    let healthy = json(["response", "A1a", "--at", "3k", "--at", "4 kHz"]);
    assert_eq!(healthy["points"].as_array().unwrap().len(), 2);
    // The level at 3 kHz into a usual lead and input (reference tables, A.2): +2.934 dB; joints of 5 mΩ change nothing.
    assert!((healthy["points"][0]["healthy"].as_f64().unwrap() - 2.934).abs() < 0.001, "{healthy}");
    assert_eq!(healthy["points"][0]["faulty"], Value::Null);
    let darker = json(["response", "A1a", "--at", "4k", "--cable", "2.4n", "--input", "1M"]);
    assert!((darker["points"][0]["healthy"].as_f64().unwrap() + 9.7).abs() <= 0.0501, "{darker}");
    let text = lugwise(["response", "A1a"].into_iter().chain(fault));
    assert!(
        text.out.contains("sounds like a healthy one")
            && text.out.contains("peak, healthy: 3.7 dB at 3.71 kHz")
    );
}

#[rstest]
#[case(&["response", "A2a", "--coil", "neck-pickupp"], "did you mean \"neck-pickup\"?")]
#[case(&["response", "A2a", "--fault", "neck-tone-cap/capacitor shorte"], "did you mean \"neck-tone-cap/capacitor shorted\"?")]
#[case(&["response", "A2a", "-o", "sound.png"], "end it in .svg")]
fn a_response_that_cannot_be_told_says_why(#[case] args: &[&str], #[case] hint: &str) {
    let said = lugwise(args);
    assert_eq!((said.code, said.out.as_str()), (1, ""));
    assert!(said.err.contains(hint), "{}", said.err);
}

#[test]
fn the_sound_of_the_named_fault_is_kept_for_the_ticket() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).display().to_string();
    let (job, ticket) = (path("a.job"), path("a.md"));
    json(["start", "A1a", "--complaint", "dark", "--symptom", "muffled", "-o", &job]);
    let named = json(["conclude", &job, "tone.lug1/short to tone.lug2"]);
    has_keys(&named["tone"], &["suspect", "setting", "level", "treble", "sentence"]);
    // Reference tables, A.2: 3 kHz falls from +2.9 dB to -32.4 dB.
    assert!((named["tone"]["treble"].as_f64().unwrap() + 35.3).abs() <= 0.11, "{}", named["tone"]);
    assert_eq!(lugwise(["ticket", &job, "-o", &ticket]).code, 0);
    let told = std::fs::read_to_string(&ticket).unwrap();
    assert!(told.contains("## Sound\n") && told.contains("treble 35 dB down"), "{told}");
}

#[test]
fn faults_have_ids_sentences_priors_and_groups() {
    let faults = json(["faults", "A2a"]);
    let faults = faults.as_array().unwrap();
    assert!(faults.len() > 100, "only {} faults", faults.len());
    faults
        .iter()
        .for_each(|f| has_keys(f, &["id", "sentence", "prior", "group", "source", "repair", "minutes"]));
    let total: f64 = faults.iter().map(|f| f["prior"].as_f64().unwrap()).sum();
    assert!((total - 1.0).abs() < 1e-9, "the priors add up to {total}");
}

/// Two probes at the plug of A2a, volume of the selected pickup full up.
fn at_the_plug<'a>(command: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    let mut args = vec![command, "A2a", "--red", "plug.tip", "--black", "plug.sleeve"];
    args.extend(more);
    args
}

#[test]
fn predict_gives_a_band_and_a_fault_moves_it() {
    let healthy = json(at_the_plug("predict", &[]));
    has_keys(&healthy, &["ohms", "low", "high", "over_range"]);
    let [low, ohms, high] = ["low", "ohms", "high"].map(|key| healthy[key].as_f64().unwrap());
    assert!(low < ohms && ohms < high, "{healthy}");
    assert_eq!(healthy["over_range"], false);
    // A fact of the trade: with the plug's tip and sleeve bridged, the meter shows next to nothing.
    let faults = json(["faults", "A2a"]);
    let bridged = faults
        .as_array()
        .unwrap()
        .iter()
        .map(|f| f["id"].as_str().unwrap())
        .find(|id| id.contains("jack.tip") && id.contains("jack.sleeve") && !id.contains("exchange"));
    let shorted = json(at_the_plug("predict", &["--fault", bridged.unwrap()]));
    assert!(shorted["ohms"].as_f64().unwrap() < 5.0, "{shorted}");
}

#[rstest]
#[case::terminal(&["predict", "A2a", "--red", "plug.tap", "--black", "plug.sleeve"], "plug.tip")]
#[case::control(&["predict", "A2a", "--red", "plug.tip", "--black", "plug.sleeve", "--set", "treble=3"], "neck volume")]
#[case::dial(&["predict", "A2a", "--red", "plug.tip", "--black", "plug.sleeve", "--set", "neck volume=11"], "10")]
#[case::anything(&["predict", "A2a", "--red", "plug.tip", "--black", "plug.sleeve", "--fault", "instrument/not in the catalogue"], "anything")]
#[case::complaint(&["start", "A2a", "--complaint", " ", "--symptom", "hum", "-o", "never.job"], "complaint")]
#[case::position(&["predict", "A2a", "--red", "plug.tip", "--black", "plug.sleeve", "--set", "selector=up"], "neck")]
fn a_wrong_name_ends_with_1_and_says_what_is_allowed(#[case] args: &[&str], #[case] allowed: &str) {
    let said = lugwise(args);
    assert_eq!((said.code, said.out.as_str()), (1, ""), "{}", said.err);
    assert!(said.err.contains(allowed), "{}", said.err);
}

#[test]
fn a_beeper_is_silent_over_a_healthy_pickup_and_sounds_over_a_wire() {
    // A fact of the trade: pickups have kilohms, and a beeper sounds below 35 to 100 ohms.
    assert_eq!(json(at_the_plug("predict", &["--mode", "continuity"]))["beep"], false);
    let wire =
        ["predict", "A2a", "--red", "plug.sleeve", "--black", "strings.surface", "--mode", "continuity"];
    assert_eq!(json(wire)["beep"], true);
    assert_eq!(json(at_the_plug("predict", &[]))["beep"], Value::Null);
}

// A swept volume at 10 is the plain reading at the plug, at 0 it is the joints and the end of the track alone.
#[test]
fn predict_tells_a_sweep_with_its_ends_and_a_deck_of_it_is_refused() {
    let swept = ["--mode", "sweep", "--about", "neck volume"];
    let told = json(at_the_plug("predict", &swept));
    let plain = json(at_the_plug("predict", &[]));
    assert_eq!(told["to"]["ohms"], plain["ohms"], "{told}");
    let [from, top, to] =
        ["/from/ohms", "/ohms", "/to/ohms"].map(|at| told.pointer(at).unwrap().as_f64().unwrap());
    assert!(from < to && to < top, "{told}");
    has_keys(&told["from"], &["ohms", "low", "high", "over_range"]);
    assert_eq!((&plain["from"], &plain["to"]), (&Value::Null, &Value::Null));
    let text = lugwise(at_the_plug("predict", &swept)).out;
    assert!(text.contains("\nat 0: ") && text.contains("\nat 10: "), "{text}");
    let deck = lugwise(at_the_plug("netlist", &swept));
    assert_eq!((deck.code, deck.out.as_str()), (1, ""));
    assert!(deck.err.contains("--set \"neck volume=5\""), "{}", deck.err);
}

#[rstest]
#[case("7k", &["--mode", "sweep"], "it needs a knob")]
#[case("7k", &["--mode", "sweep", "--about", "selector"], "it needs a knob")]
#[case("yes", &["--mode", "tap", "--about", "neck volume"], "there are \"neck-pickup\"")]
#[case("yes", &["--mode", "crackles"], "it needs a knob or a switch")]
#[case("yes", &["--mode", "dark", "--about", "jack"], "leave the name out")]
#[case("7k", &["--red", "plug.sleeve", "--black", "plug.sleeve"], "put the two probes on two terminals")]
#[case("7k", &["--mode", "resistance", "--lifted", "neck-led"], "did you mean \"neck-lead\"?")]
fn a_measurement_that_makes_no_sense_is_refused(
    #[case] reading: &str,
    #[case] args: &[&str],
    #[case] hint: &str,
) {
    let shell = Shell::started();
    let before = std::fs::read(&shell.job).unwrap();
    let predict = [&["predict", "A2a"][..], args].concat();
    let record = [&["record", shell.job.to_str().unwrap(), reading][..], args].concat();
    for said in [lugwise(predict), lugwise(record)] {
        assert_eq!((said.code, said.out.as_str()), (1, ""), "{}", said.err);
        assert!(said.err.contains(hint), "{}", said.err);
    }
    assert!(std::fs::read(&shell.job).unwrap() == before, "the job file has changed");
}

#[test]
fn an_observation_has_an_answer_and_no_unit() {
    let told = json(["predict", "A2a", "--mode", "tap", "--about", "neck-pickup"]);
    assert_eq!((&told["unit"], &told["ohms"]), (&Value::Null, &Value::Null));
    assert_eq!(told["answer"], "yes");
}

#[test]
fn the_free_end_of_a_lifted_lead_takes_a_probe() {
    let probes = ["predict", "A2a", "--red", "neck-pickup.hot", "--black", "plug.sleeve"];
    let said = lugwise(probes);
    assert_eq!(said.code, 1);
    assert!(said.err.contains("no probe reaches it") && said.err.contains("--lifted"), "{}", said.err);
    let lifted = json(probes.into_iter().chain(["--lifted", "neck-lead"]));
    // The coil alone: 7.6 kΩ in the wiring.
    assert!((lifted["ohms"].as_f64().unwrap() / 7600.0 - 1.0).abs() < 1e-2, "{lifted}");
}

// A fact of the trade: pickups have kilohms, and a beeper sounds below 35 to 100 ohms.
#[test]
fn what_a_beeper_should_do_is_told_as_what_it_does() {
    let shell = Shell::started();
    let own = ["no beep", "--mode", "continuity", "--red", "plug.tip", "--black", "plug.sleeve"];
    let reading = shell.does("record", &own)["readings"][0].clone();
    assert_eq!((&reading["healthy"], &reading["found"]), (&Value::from("no beep"), &Value::from("no beep")));
    let ticket = shell.job.with_file_name("ticket.md");
    shell.does("ticket", &["-o", ticket.to_str().unwrap()]);
    let told = std::fs::read_to_string(&ticket).unwrap();
    assert!(told.contains("| no beep |"), "{told}");
}

#[test]
fn a_reading_in_a_mode_of_its_own_is_still() {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("a.job").display().to_string();
    let started = json(["start", "A2a", "--complaint", "cuts out", "--symptom", "intermittent", "-o", &job]);
    let mut view = started;
    for _ in 0..9 {
        if view["reading"]["flex"].is_string() {
            break;
        }
        view = json(["skip", &job]);
    }
    assert!(view["reading"]["flex"].is_string(), "no flexed step on offer: {}", view["reading"]);
    let own = ["record", &job, "22n", "--mode", "capacitance", "--red", "plug.tip", "--black", "plug.sleeve"];
    let measurement = json(own)["readings"][0]["measurement"].clone();
    assert_eq!((&measurement["flex"], &measurement["mode"]), (&Value::Null, &Value::from("capacitance")));
    assert_eq!(measurement.get("about"), None);
}

#[test]
fn netlist_is_a_deck() {
    let said = lugwise(at_the_plug("netlist", &["--set", "selector=neck"]));
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.out.trim_end().ends_with(".end"), "{}", said.out);
    assert_eq!(
        json(at_the_plug("netlist", &["--set", "selector=neck"]))["deck"].as_str().unwrap().trim_end(),
        said.out.trim_end()
    );
}

struct Shell {
    _folder: tempfile::TempDir,
    job: PathBuf,
}

impl Shell {
    fn started() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let job = folder.path().join("loan.job");
        let shell = Self { _folder: folder, job };
        let path = shell.job.to_str().unwrap().to_owned();
        json(["start", "A2a", "--complaint", "no sound at all", "--access", "may-unsolder", "-o", &path]);
        shell
    }

    /// Runs a command whose first argument is the job file.
    #[track_caller]
    fn does(&self, command: &str, more: &[&str]) -> Value {
        let mut args = vec![command, self.job.to_str().unwrap()];
        args.extend(more);
        json(args)
    }
}

#[test]
fn a_started_job_says_what_to_do_next() {
    let shell = Shell::started();
    let next = shell.does("next", &[]);
    has_keys(&next, &["done", "suspects", "reading", "alternatives", "speaker"]);
    assert_eq!(next["done"], false);
    assert!(["tree", "advisor"].contains(&next["speaker"].as_str().unwrap()));
    next["suspects"]
        .as_array()
        .unwrap()
        .iter()
        .for_each(|s| has_keys(s, &["probability", "faults", "sentence"]));
    if next["question"].is_null() {
        has_keys(&next["reading"], &["red", "black", "mode", "settings", "place", "seconds", "bits", "flex"]);
    }
}

#[test]
fn starting_over_an_existing_job_is_refused() {
    let shell = Shell::started();
    let before = std::fs::read(&shell.job).unwrap();
    let said = lugwise(["start", "A2a", "--complaint", "hum", "-o", shell.job.to_str().unwrap()]);
    assert_eq!(said.code, 1);
    assert!(std::fs::read(&shell.job).unwrap() == before, "the job file has changed");
}

#[test]
fn a_reading_is_recorded_corrected_withdrawn_and_undone() {
    let shell = Shell::started();
    let at_plug =
        ["--red", "plug.tip", "--black", "plug.sleeve", "--flex", "nothing", "--mode", "resistance"];
    let first = shell.does("record", &[&["OL"][..], &at_plug[..]].concat());
    assert_eq!(first["readings"][0]["typed"], "OL");
    assert_eq!(first["readings"][0]["measurement"]["red"], "plug.tip");
    let corrected = shell.does("correct", &["1", "0.4 ohm"]);
    assert_eq!(corrected["readings"][0]["typed"], "0.4 ohm");
    assert_ne!(corrected["suspects"], first["suspects"]);
    let undone = shell.does("undo", &[]);
    assert_eq!(undone["suspects"], first["suspects"]);
    assert_eq!(shell.does("redo", &[])["suspects"], corrected["suspects"]);
    assert_eq!(shell.does("withdraw", &["1"])["readings"][0]["withdrawn"], true);
}

#[test]
fn a_reading_without_its_unit_is_refused_and_nothing_is_written() {
    let shell = Shell::started();
    let before = std::fs::read(&shell.job).unwrap();
    let path = shell.job.to_str().unwrap();
    let said =
        lugwise(["record", path, "7.6", "--red", "plug.tip", "--black", "plug.sleeve", "--flex", "nothing"]);
    assert_eq!(said.code, 1, "{}", said.out);
    assert!(said.err.contains("7.6"), "{}", said.err);
    assert!(std::fs::read(&shell.job).unwrap() == before, "the job file has changed");
}

#[test]
fn a_job_is_not_closed_as_cured_without_its_proof() {
    let shell = Shell::started();
    let fault = shell.does("next", &[])["suspects"][0]["faults"][0].as_str().unwrap().to_owned();
    let concluded = shell.does("conclude", &[&fault]);
    assert_eq!(concluded["stage"], "repairing");
    assert_eq!(concluded["verdict"]["faults"][0], fault.as_str());
    // Cautions that belong before the repair are read first.
    for caution in concluded["cautions"].as_array().unwrap() {
        shell.does("caution", &[caution["key"].as_str().unwrap()]);
    }
    let long = lugwise(["repair", shell.job.to_str().unwrap(), "soldered it again", "--minutes", "1441"]);
    assert_eq!(long.code, 1, "{}", long.out);
    assert!(long.err.contains("1441 minutes; allowed are 0 to 1440"), "{}", long.err);
    let repaired = shell.does("repair", &["soldered it again", "--minutes", "6"]);
    assert_eq!(repaired["stage"], "proving");
    assert!(!repaired["proof"].as_array().unwrap().is_empty());
    let said = lugwise(["close", shell.job.to_str().unwrap(), "--cured"]);
    assert_eq!(said.code, 1, "{}", said.out);
    let closed = shell.does("close", &["--unproven", "the customer took it away"]);
    assert_eq!(closed["stage"], "closed");
    assert!(closed["closed"].as_str().unwrap().contains("the customer took it away"));
}

#[test]
fn a_proof_reading_is_taken_again_only_by_its_number_and_the_ticket_keeps_the_first() {
    let shell = Shell::started();
    let fault = shell.does("next", &[])["suspects"][0]["faults"][0].as_str().unwrap().to_owned();
    shell.does("conclude", &[&fault]);
    shell.does("repair", &["soldered it again", "--minutes", "6"]);
    let list = shell.does("prove", &["12k"])["proof"].clone();
    assert_eq!((&list[0]["passed"], &list[1]["passed"]), (&Value::Bool(false), &Value::Null));
    let middle = |proof: &Value| {
        let one = if proof["healthy"].as_str().unwrap().contains('k') { "7.5k" } else { "0.3r" };
        if proof["measurement"]["flex"].is_string() { format!("{one}-{one}") } else { one.to_owned() }
    };
    for proof in &list.as_array().unwrap()[1..] {
        shell.does("prove", &[&middle(proof)]);
    }
    let job = shell.job.to_str().unwrap();
    let said = lugwise(["prove", job, "7.5k"]);
    assert_eq!(said.code, 1, "{}", said.out);
    assert!(said.err.contains("all are taken, but 1 is outside its band"), "{}", said.err);
    let again = shell.does("prove", &["7.5k", "--number", "1"]);
    assert_eq!(again["proof"][0]["passed"], true);
    let ticket = shell.job.with_file_name("ticket.md");
    shell.does("ticket", &["-o", ticket.to_str().unwrap()]);
    let told = std::fs::read_to_string(&ticket).unwrap();
    assert!(told.contains("**taken again**, before “12k”"), "{told}");
}

/// Returns the first proof reading of a state.
fn first_proof(state: &Value) -> &Value {
    &state["proof"][0]
}

#[test]
fn a_search_goes_on_after_a_repair_that_did_not_cure() {
    let shell = Shell::started();
    let job = shell.job.to_str().unwrap();
    let first = shell.does("next", &[])["suspects"][0]["faults"][0].as_str().unwrap().to_owned();
    shell.does("conclude", &[&first]);
    shell.does("repair", &["soldered it again", "--minutes", "6"]);
    let early = lugwise(["search-on", job]);
    assert_eq!(early.code, 1, "{}", early.out);
    assert!(early.err.contains("nothing says that the repair did not cure"), "{}", early.err);
    let proving = shell.does("prove", &["12k"]);
    assert_eq!(proving["proof"][0]["passed"], false);
    let on = shell.does("search-on", &["--remains", "still quiet"]);
    assert_eq!((&on["stage"], on["proof"].as_array().unwrap().len()), (&Value::from("finding"), 0));
    assert_eq!(on["rounds"][0]["repaired"], "soldered it again");
    assert_eq!(on["rounds"][0]["remains"], "still quiet");
    let failed = &on["rounds"][0]["failed"][0];
    assert_eq!((&failed["typed"], &on["rounds"][0]["after"]), (&Value::from("12k"), &Value::from(0)));
    let (asked, told) = (first_proof(&proving)["sentence"].as_str(), failed["sentence"].as_str());
    let (asked, told) = (asked.unwrap(), told.unwrap());
    let place = "pickup toggle at neck, all knobs at 10";
    assert!(asked.ends_with(place) && told.ends_with(place), "{asked}; {told}");
    let [red, black] = ["red", "black"].map(|end| first_proof(&proving)[end].as_str().unwrap());
    assert!(told.starts_with(&format!("{red} to {black}")), "{told}");
    assert_eq!(failed["healthy"], first_proof(&proving)["healthy"]);
    let text = lugwise(["next", job]).out;
    assert!(text.contains("  p. ") && text.contains("(a proof that failed)"), "{text}");
    assert!(text.contains("concluded before: ") && text.contains("not cured: still quiet"), "{text}");
    let undone = shell.does("undo", &[]);
    assert_eq!((&undone["stage"], &undone["proof"]), (&proving["stage"], &proving["proof"]));
    assert_eq!(shell.does("redo", &[])["suspects"], on["suspects"]);
    let second = on["suspects"][0]["faults"][0].as_str().unwrap();
    shell.does("conclude", &[second]);
    shell.does("repair", &["bent the spring", "--minutes", "4"]);
    let ticket = shell.job.with_file_name("ticket.md");
    shell.does("ticket", &["-o", ticket.to_str().unwrap()]);
    let told = std::fs::read_to_string(&ticket).unwrap();
    assert!(told.contains("soldered it again") && told.contains("bent the spring"), "{told}");
}

#[test]
fn a_closed_job_refuses_everything_and_stays_readable() {
    let shell = Shell::started();
    shell.does("close", &["--unproven", "the customer took it away"]);
    let before = std::fs::read(&shell.job).unwrap();
    let job = shell.job.to_str().unwrap();
    for args in [
        &["access", job, "outside"][..],
        &["caution", job, "unplug"],
        &["record", job, "7.5k"],
        &["skip", job],
        &["conclude", job, "1"],
        &["repair", job, "soldered", "--minutes", "3"],
        &["close", job, "--unproven", "again"],
    ] {
        let said = lugwise(args);
        assert_eq!(said.code, 1, "{args:?}: {}", said.out);
        assert!(said.err.contains("closed"), "{args:?}: {}", said.err);
    }
    assert!(std::fs::read(&shell.job).unwrap() == before, "the job file has changed");
    assert_eq!(shell.does("next", &[])["stage"], "closed");
    assert_eq!(shell.does("undo", &[])["stage"], "finding");
}

#[test]
fn a_suspect_is_concluded_by_its_number_and_the_verdict_by_nothing() {
    let shell = Shell::started();
    let said = lugwise(["conclude", shell.job.to_str().unwrap()]);
    assert_eq!(said.code, 1, "there is no verdict yet");
    assert!(said.err.contains("no verdict"), "{}", said.err);
    let second = shell.does("next", &[])["suspects"][1].clone();
    let concluded = shell.does("conclude", &["2"]);
    assert_eq!(concluded["verdict"]["faults"], second["faults"]);
    let said = lugwise(["conclude", shell.job.to_str().unwrap(), "99"]);
    assert_eq!(said.code, 1, "{}", said.out);
}

#[test]
fn text_names_few_faults_and_the_command_that_comes_next() {
    let shell = Shell::started();
    let said = lugwise(["next", shell.job.to_str().unwrap()]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.out.contains("  then: lugwise "), "{}", said.out);
    let wide = said.out.lines().find(|line| line.chars().count() > 100);
    assert_eq!(wide, None, "a line is too wide");
}

#[test]
fn a_choice_stays_when_the_job_is_opened_again() {
    let shell = Shell::started();
    let chosen = shell.does("next", &[])["alternatives"][1].clone();
    shell.does("choose", &["2"]);
    let next = shell.does("next", &[]);
    for key in ["red", "black", "settings", "flex", "mode"] {
        assert_eq!(next["reading"][key], chosen[key], "{key}");
    }
    assert_eq!(next["question"], Value::Null);
}

#[rstest]
#[case("ticket.md", "# ")]
#[case("ticket.html", "<!")]
fn the_ticket_is_written_by_its_ending(#[case] name: &str, #[case] begins: &str) {
    let shell = Shell::started();
    let file = shell.job.with_file_name(name);
    let told = shell.does("ticket", &["-o", file.to_str().unwrap()]);
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(text.starts_with(begins), "{}", text.lines().next().unwrap_or_default());
    assert_eq!(told["bytes"].as_u64().unwrap(), text.len() as u64);
}

#[test]
fn a_job_file_cut_off_in_its_last_line_opens_and_says_so() {
    let shell = Shell::started();
    let before = shell.does("next", &[])["suspects"].clone();
    let mut text = std::fs::read_to_string(&shell.job).unwrap();
    text.push_str("(at:\"2026-03-02T09:1");
    std::fs::write(&shell.job, text).unwrap();
    let next = shell.does("next", &[]);
    assert_eq!(next["suspects"], before);
    assert!(!next["notices"].as_array().unwrap().is_empty());
}

#[cfg(all(feature = "gui", target_os = "linux"))]
#[test]
fn a_window_without_a_display_says_what_is_missing_and_what_still_works() {
    let said = lugwise::<&str>([]);
    assert_eq!((said.code, said.out.as_str()), (1, ""));
    assert!(said.err.contains("no display was found"), "{}", said.err);
    assert!(said.err.contains("\n  hint: the window needs a desktop session"), "{}", said.err);
    assert!(said.err.contains("lugwise --help") && !said.err.contains(".rs"), "{}", said.err);
}

#[test]
fn a_span_typed_for_a_still_reading_is_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("a.job").display().to_string();
    let start = lugwise(["start", "A1a", "--complaint", "no sound", "-o", &job]);
    assert_eq!(start.code, 0, "{}", start.err);
    let said = lugwise(["record", &job, "6.05k..OL", "--flex", "nothing"]);
    assert_eq!((said.code, said.out.as_str()), (1, ""), "{}", said.err);
    assert!(said.err.starts_with("error: was something moved meanwhile?"), "{}", said.err);
    assert_eq!(json(["next", &job])["readings"], serde_json::json!([]));
    assert_eq!(lugwise(["record", &job, "6.05k..OL", "--flex", "plug"]).code, 0);
}

#[test]
fn over_range_alone_is_asked_about_where_something_is_moved() {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("a.job").display().to_string();
    assert_eq!(lugwise(["start", "A1a", "--complaint", "cuts out", "-o", &job]).code, 0);
    let said = lugwise(["record", &job, "OL", "--flex", "plug"]);
    assert_eq!((said.code, said.out.as_str()), (1, ""), "{}", said.err);
    assert!(said.err.contains("type both ends") && said.err.contains("OL-OL"), "{}", said.err);
    assert_eq!(json(["next", &job])["readings"], serde_json::json!([]));
    assert_eq!(lugwise(["record", &job, "OL-OL", "--flex", "plug"]).code, 0);
    assert_eq!(lugwise(["correct", &job, "1", "OL"]).code, 1);
    assert_eq!(lugwise(["correct", &job, "1", "6k-OL"]).code, 0);
}

// A maker's support page: 6.30 k at 95 °F is 5.949 k at 20 °C. Computed: at 5 °C that is 5.60 k; of gauge 42 (ASTM B258)
// it is 1087 m.
#[test]
fn coil_brings_a_reading_to_twenty_degrees() {
    let told = json(["coil", "6.3k", "--at", "95F", "--expect", "5C", "--gauge", "42"]);
    let number = |pointer: &str| told.pointer(pointer).and_then(Value::as_f64).unwrap();
    assert!((number("/ohms_at_20") - 5949.3).abs() < 0.05, "{told}");
    assert!((number("/expected/ohms") - 5598.6).abs() < 0.05, "{told}");
    assert!((number("/wire/metres") - 1087.3).abs() < 0.05, "{told}");
    assert!(number("/wire/low") < 1010.0 && number("/wire/high") > 1170.0, "{told}");
    let types = told["types"].as_array().unwrap();
    assert!(types.iter().any(|kind| kind["name"] == "single coil"), "{told}");
    assert!(!types.iter().any(|kind| kind["name"] == "humbucker"), "{told}");
    let text = lugwise(["coil", "6.3k", "--at", "95F"]).out;
    assert!(text.starts_with("6.30 kΩ at 35 °C is 5.95 kΩ at 20 °C\nusual for\n"), "{text}");
    let plain = json(["coil", "300"]);
    assert!(
        plain["expected"].is_null() && plain["wire"].is_null() && plain["types"] == serde_json::json!([])
    );
}

#[rstest]
#[case(&["coil", "6.3"], "error: cannot read \"6.3\" as a resistance: it has no unit\n  hint: write 6.3k for kilohms or 6.3R for ohms\n")]
#[case(&["coil", "6.3k", "--at", "35"], "error: cannot read \"35\" as a temperature: it has no unit\n  hint: write 35C or 35F\n")]
fn coil_asks_for_units(#[case] args: &[&str], #[case] message: &str) {
    let said = lugwise(args);
    assert_eq!((said.code, said.err.as_str()), (1, message));
}

/// Starts a job on A1a in a folder and returns its path.
fn silent_job(folder: &Path) -> String {
    let job = folder.join("known.job").display().to_string();
    json(["start", "A1a", "--complaint", "no sound", "-o", &job]);
    job
}

// Common practice, no source: the values are those of ordinary parts, a tenth or less from what was read by itself.
#[rstest]
#[case("PICKUP", "8.1k", "resistance at 20 °C", "8.")]
#[case("Volume", "480k", "track", "4")]
#[case("tone-cap", "22n", "capacitance", "22.")]
fn a_parts_own_value_is_taken_whatever_the_case_of_its_name(
    #[case] part: &str,
    #[case] value: &str,
    #[case] what: &str,
    #[case] begins: &str,
) {
    let folder = tempfile::tempdir().unwrap();
    let job = silent_job(folder.path());
    let before = json(["next", &job]);
    let told = json(["know", &job, part, value]);
    let found = told["found"].as_array().unwrap();
    let mine = found.iter().find(|f| f["part"] == part.to_lowercase() && f["what"] == what);
    let shown = mine.unwrap_or_else(|| panic!("{found:?}"))["value"].as_str().unwrap();
    assert!(shown.starts_with(begins), "{shown}");
    assert_eq!(before["suspects"], told["suspects"], "a known value says nothing of what is wrong");
}

// The bounds are those of a wiring file (common practice, no source).
#[rstest]
#[case("pickup", "0r", "the resistance of a coil cannot be \"0r\"", "it lies between 100 Ω and 100 kΩ")]
#[case("pickup", "1r", "the resistance of a coil cannot be \"1r\"", "did you mean \"1k\"?")]
#[case("pickup", "999G", "\"999G\"", "hint: ")]
#[case("volume", "20M", "the track of a pot cannot be \"20M\"", "did you mean \"20k\"?")]
#[case("tone-cap", "22k", "cannot read \"22k\" as a capacitance", "hint: ")]
#[case("tone-cap", "0n", "a capacitor cannot be \"0n\"", "it lies between 1 pF and 100 uF")]
#[case("pickupp", "8k", "\"pickupp\" is no part whose value can be known", "did you mean \"pickup\"?")]
fn a_value_that_no_such_part_has_is_refused(
    #[case] part: &str,
    #[case] value: &str,
    #[case] message: &str,
    #[case] hint: &str,
) {
    let folder = tempfile::tempdir().unwrap();
    let said = lugwise(["know", &silent_job(folder.path()), part, value]);
    assert_eq!((said.code, said.out.as_str()), (1, ""), "{}", said.err);
    assert!(said.err.contains(message) && said.err.contains(hint), "{}", said.err);
}

#[test]
fn check_notes_what_no_shop_sells_and_still_ends_with_0() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("odd.ron");
    let text = include_str!("../../assets/wirings/one-pickup.ron").replace("\"47n\"", "\"46n\"");
    let text = text.replace("name: \"one-pickup\"", "name: \"mine\"").replace("\"A1a\"", "\"mine-1\"");
    std::fs::write(&file, text).unwrap();
    let said = lugwise([Path::new("check"), &file]);
    let note = "tone capacitor: 46 nF is no stock value, the nearest is 47 nF; leave it if it was measured";
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.out.ends_with(&format!("\n  note: {note}\n")), "{}", said.out);
    assert_eq!(json([Path::new("check"), &file])[0]["notes"], serde_json::json!([note]));
}

#[test]
fn check_notes_a_name_and_a_code_that_are_taken() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("taken.ron");
    let text = include_str!("../../assets/wirings/one-pickup.ron");
    std::fs::write(&file, text.replace("name: \"one-pickup\"", "name: \"mine\"")).unwrap();
    let notes = json([Path::new("check"), &file])[0]["notes"].clone();
    assert_eq!(notes.as_array().map(Vec::len), Some(1), "{notes}");
    let code = "the code \"A1a\" is taken by a wiring that comes with the program; ";
    assert!(notes[0].as_str().unwrap().starts_with(code), "{notes}");
    std::fs::write(&file, format!("// A copy.\n{text}")).unwrap();
    assert_eq!(json([Path::new("check"), &file])[0]["notes"].as_array().map(Vec::len), Some(2));
    std::fs::write(&file, text).unwrap();
    assert_eq!(json([Path::new("check"), &file])[0]["notes"], serde_json::json!([]), "the program's own");
}

#[test]
fn the_help_of_start_lists_every_symptom() {
    let help = lugwise(["start", "--help"]).out;
    for symptom in lugwise::readings::Symptom::ALL {
        assert!(help.contains(symptom.name()), "{}: {help}", symptom.name());
    }
}

#[test]
fn a_wiring_without_controls_has_no_empty_words() {
    let text = lugwise(["response", "A10b", "--at", "1k"]).out;
    assert!(text.starts_with("piezo-to-jack: 500 pF of cable into 1.00 MΩ\n"), "{text}");
}
