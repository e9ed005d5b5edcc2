//! Past jobs in daily use: kept by themselves, listed, replayed, moved between archives, counted, learnt from.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use lugwise::archive::{Archive, Filter, Order, Page, uid_of};
use lugwise::job::{Event, Job, Outcome, Record, Speaker, parse, to_line};
use lugwise::session::{PastJobs, Replay, Session, StepKind, Taught, known_values};
use lugwise::workbench::{Command, Family, Priors};
use serde_json::Value;
use tempfile::TempDir;

use crate::archive_jobs::{NOW, Visit, concluded, cured, opened, put, read, repaired};
use crate::shell::{json, lugwise};

const DEMO: &str = include_str!("../../assets/demo/school-loan-guitar.job.ron");

fn home() -> TempDir {
    tempfile::tempdir().unwrap()
}

/// Where the program under test keeps past jobs, as `data/shell.rs` says.
fn place(home: &Path) -> PastJobs {
    PastJobs::at(home.join("past").join("jobs.archive"))
}

/// Changes one event of a job behind the program's back.
fn damage(home: &Path, uid: &str, event: i64) {
    let database = rusqlite::Connection::open(place(home).path().unwrap()).unwrap();
    let sql =
        "UPDATE event SET line = line || ' ' WHERE seq = ?2 AND job = (SELECT id FROM job WHERE uid = ?1)";
    assert_eq!(database.execute(sql, rusqlite::params![uid, event]).unwrap(), 1);
}

/// Returns what a program reads that the shell tells this to.
fn as_told<T: serde::Serialize>(value: &T) -> Value {
    serde_json::from_str(&serde_json::to_string(value).unwrap()).unwrap()
}

fn text(path: &Path) -> String {
    path.display().to_string()
}

fn demo_job(home: &Path) -> String {
    let file = home.join("demo.job");
    fs::write(&file, DEMO).unwrap();
    text(&file)
}

/// Puts a finished, invented job into the archive and returns its name.
fn visit(home: &Path, visit: &Visit) -> String {
    let mut archive = place(home).open().unwrap();
    let events = vec![
        opened("control cavity"),
        read(1, "plug.tip", "plug.sleeve", 45.0, 0.9),
        concluded(&["pickup/coil open"], 0.9),
        repaired("replaced the pickup", 30.0),
        cured(),
    ];
    put(&mut archive, visit, "2026-03-02T10:00:00Z", events)
}

#[test]
fn a_job_worked_on_is_in_the_archive_line_by_line() {
    let home = home();
    let file = text(&home.path().join("a.job"));
    json(home.path(), &["start", "A1a", "--complaint", "no sound", "-o", &file]);
    json(home.path(), &["record", &file, "OL", "--flex", "nothing"]);
    let listed = json(home.path(), &["past"]);
    assert_eq!(listed["total"], 1);
    let uid = listed["jobs"][0]["uid"].as_str().unwrap();
    let archive = place(home.path()).open().unwrap();
    assert_eq!(archive.export_file(uid).unwrap(), fs::read_to_string(&file).unwrap());
    assert_eq!(listed["jobs"][0]["readings"], 1);
}

#[test]
fn a_job_from_before_is_taken_in_when_it_is_opened_and_no_archive_is_made_when_it_is_off() {
    let home = home();
    let file = demo_job(home.path());
    let mut off = assert_cmd::Command::new(env!("CARGO_BIN_EXE_lugwise"));
    off.args(["next", &file])
        .env("LUGWISE_ARCHIVE", "off")
        .env("HOME", home.path())
        .env("XDG_DATA_HOME", home.path());
    off.assert().success();
    assert!(fs::read_dir(home.path()).unwrap().count() == 1, "only the job file is there");
    json(home.path(), &["next", &file]);
    json(home.path(), &["next", &file]);
    assert_eq!(json(home.path(), &["past"])["total"], 1);
}

#[test]
fn an_archive_that_cannot_be_used_stops_no_job_and_is_caught_up_later() {
    let home = home();
    let (file, broken) = (home.path().join("a.job"), home.path().join("jobs.archive"));
    fs::write(&file, DEMO.lines().take(4).flat_map(|line| [line, "\n"]).collect::<String>()).unwrap();
    fs::write(&broken, "this is no database").unwrap();
    let place = PastJobs::at(&broken);
    let mut session = Session::open(&file).unwrap().0.kept_in(&place);
    let told = |session: &Session| {
        session.view().notices.iter().filter(|n| n.contains("archive of past jobs")).count()
    };
    assert_eq!(told(&session), 1, "{:?}", session.view().notices);
    session.apply(&Command::Record { text: "7.5k..OL".to_owned(), measurement: None }).unwrap();
    assert_eq!(told(&session), 1);
    assert!(session.archive().is_none() && fs::read_to_string(&broken).unwrap().starts_with("this"));
    fs::remove_file(&broken).unwrap();
    session.apply(&Command::Record { text: "0.3r..OL".to_owned(), measurement: None }).unwrap();
    assert_eq!(told(&session), 0, "{:?}", session.view().notices);
    let uid = session.uid().unwrap();
    assert_eq!(session.archive().unwrap().export_file(uid).unwrap(), fs::read_to_string(&file).unwrap());
}

#[test]
fn what_another_window_added_is_not_lost() {
    let home = home();
    let (file, place) = (home.path().join("a.job"), place(home.path()));
    fs::write(&file, DEMO.lines().take(4).flat_map(|line| [line, "\n"]).collect::<String>()).unwrap();
    let mut session = Session::open(&file).unwrap().0.kept_in(&place);
    let uid = session.uid().unwrap().to_owned();
    let mut other = place.open().unwrap();
    other.remove_customer(&uid, NOW).unwrap();
    session.apply(&Command::Record { text: "7.5k..OL".to_owned(), measurement: None }).unwrap();
    let archive = session.archive().unwrap();
    assert_eq!(archive.events(&uid).unwrap(), session.bench().job().records().len());
    assert_eq!(archive.summary(&uid).unwrap().instrument, "", "what was taken out stays out");
}

#[test]
fn a_job_that_is_damaged_in_the_archive_is_mended_at_its_next_step() {
    let home = home();
    let (file, place) = (home.path().join("a.job"), place(home.path()));
    fs::write(&file, DEMO.lines().take(4).flat_map(|line| [line, "\n"]).collect::<String>()).unwrap();
    let mut session = Session::open(&file).unwrap().0.kept_in(&place);
    let uid = session.uid().unwrap().to_owned();
    let database = rusqlite::Connection::open(place.path().unwrap()).unwrap();
    assert_eq!(database.execute("UPDATE event SET line = line || ' ' WHERE seq = 2", []).unwrap(), 1);
    drop(database);
    session.apply(&Command::Record { text: "7.5k..OL".to_owned(), measurement: None }).unwrap();
    assert_eq!(session.archive().unwrap().export_file(&uid).unwrap(), fs::read_to_string(&file).unwrap());
}

#[test]
fn the_replay_of_the_demonstration_job_is_its_events() {
    let home = home();
    let file = demo_job(home.path());
    let records = parse(DEMO).unwrap().records;
    let told = json(home.path(), &["past", "import", &file]);
    let uid = told["files"][0]["uid"].as_str().unwrap().to_owned();
    assert_eq!(told["files"][0]["added"], records.len());
    let replay = json(home.path(), &["past", "replay", &uid]);
    let steps = replay["steps"].as_array().unwrap();
    assert_eq!(steps.len(), records.len());
    let mut leaders: Value = Value::Array(vec![]);
    for (step, record) in steps.iter().zip(&records) {
        assert_eq!(step["at"], record.at);
        assert_eq!(step["before"], leaders);
        if let Event::Started { leaders: now, .. } | Event::Read { leaders: now, .. } = &record.event {
            leaders = as_told(now);
        }
        assert_eq!(step["after"], leaders);
        if let Event::Read { id, reading, asked_by, .. } = &record.event {
            assert_eq!(
                (&step["reading"], &step["typed"]),
                (&Value::from(id.0), &Value::from(reading.typed.as_str()))
            );
            assert_eq!(step["asked_by"], as_told(asked_by));
        }
    }
    let direct = Replay::of(&Job::replay(records).unwrap());
    assert_eq!(replay["steps"], as_told(&direct.steps));
    let answered = direct.steps.iter().find(|step| step.kind == StepKind::Answered).unwrap();
    assert_eq!(answered.tree.as_ref().unwrap().step, "another cable");
    assert!(direct.steps.iter().any(|step| step.asked_by == Some(Speaker::Advisor)));
    let (code, out, err) = lugwise(home.path(), &["past", "replay", &uid[..16], "--step", "5"]);
    assert_eq!((code, err.as_str()), (0, ""));
    assert!(out.starts_with("5. 2026-03-02 09:18:40") && out.contains("asked by: tree"), "{out}");
    assert!(out.contains("suspects before: ") && out.contains("suspects after: "), "{out}");
    let all = lugwise(home.path(), &["past", "replay", &uid, "--from-start"]).1;
    assert_eq!(all.split("\n\n").count(), steps.len(), "{all}");
    assert_eq!(lugwise(home.path(), &["past", "replay", &uid, "--step", "99"]).0, 1);
}

#[test]
fn an_old_wiring_that_can_no_longer_be_read_replays_in_plain_names() {
    let home = home();
    let uid = visit(home.path(), &Visit::default());
    let replay = json(home.path(), &["past", "replay", &uid]);
    assert_eq!(replay["steps"][2]["asked"], "resistance plug.tip to plug.sleeve");
}

#[test]
fn lists_are_filtered_and_searched() {
    let home = home();
    let other = Visit {
        at: "2026-05-02T09:00:00Z".to_owned(),
        wiring: "two-humbuckers",
        customer: "Quastenfloh".to_owned(),
        technician: "bench two",
        ..Visit::default()
    };
    let (first, second) = (visit(home.path(), &Visit::default()), visit(home.path(), &other));
    let uids = |args: &[&str]| -> Vec<String> {
        let told = json(home.path(), &[&["past"], args].concat());
        told["jobs"].as_array().unwrap().iter().map(|job| job["uid"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(uids(&[]), [second.clone(), first.clone()]);
    assert_eq!(uids(&["--to", "2026-03"]), std::slice::from_ref(&first));
    assert_eq!(uids(&["--from", "2026-03-03"]), std::slice::from_ref(&second));
    assert_eq!(uids(&["--wiring", "one-pickup"]), std::slice::from_ref(&first));
    assert_eq!(uids(&["--technician", "bench two", "--complaint", "silent"]), std::slice::from_ref(&second));
    assert_eq!(uids(&["quasten"]), std::slice::from_ref(&second));
    assert_eq!(uids(&["replaced", "--to", "2026-04"]), std::slice::from_ref(&first));
    assert_eq!(uids(&["--limit", "1"]), std::slice::from_ref(&second));
    let none = lugwise(home.path(), &["past", "--to", "2026-03", "--", "show"]).1;
    assert!(none.starts_with("no job with \"show\" and --to 2026-03; 2 jobs looked through in "), "{none}");
    assert!(none.contains("hint: give fewer words"), "{none}");
    let table = lugwise(home.path(), &["past"]).1;
    let head: Vec<&str> = table.lines().next().unwrap().split_whitespace().collect();
    assert_eq!(head, ["name", "opened", "ending", "wiring", "instrument", "customer", "found"]);
    assert!(table.contains("  2026-05-02  ") && table.contains("  2026-03-02  "), "{table}");
    let table = lugwise(home.path(), &["past", "quasten"]).1;
    assert!(table.lines().next().unwrap().ends_with("where the words stand"), "{table}");
    assert!(table.ends_with("\n1 job\n"), "{table}");
    assert_eq!(json(home.path(), &["past", "show", &first])["ending"], "cured");
    let (code, _, err) = lugwise(home.path(), &["past", "show", "2026"]);
    assert!(code == 1 && err.contains("2 jobs begin with 2026"), "{err}");
    assert_eq!(lugwise(home.path(), &["past", "--from", "yesterday"]).0, 2);
}

#[test]
fn an_empty_archive_says_what_to_do() {
    let home = home();
    let (code, out, _) = lugwise(home.path(), &["past"]);
    assert!(code == 0 && out.starts_with("no past jobs yet in ") && out.contains("hint: "), "{out}");
    let searched = lugwise(home.path(), &["past", "jack"]).1;
    assert!(searched.starts_with("no past jobs yet in "), "{searched}");
    let figures = lugwise(home.path(), &["past", "figures", "--chart", "pareto"]).1;
    assert!(figures.ends_with("no jobs\n"), "{figures}");
}

#[test]
fn jobs_go_out_and_come_in_again() {
    let (home, elsewhere) = (home(), home());
    let file = demo_job(home.path());
    json(home.path(), &["past", "import", &text(home.path())]);
    let uid = json(home.path(), &["past"])["jobs"][0]["uid"].as_str().unwrap().to_owned();
    let folder = home.path().join("out");
    fs::create_dir(&folder).unwrap();
    let out = json(home.path(), &["past", "export", &uid, "-o", &text(&folder)]);
    let written = out["files"][0]["file"].as_str().unwrap();
    assert_eq!(fs::read_to_string(written).unwrap(), fs::read_to_string(&file).unwrap());
    assert_eq!(lugwise(home.path(), &["past", "export", &uid, "-o", written]).0, 1, "never written over");
    let all = text(&home.path().join("all.ndjson"));
    assert_eq!(json(home.path(), &["past", "export", "--all", "-o", &all])["jobs"], 1);
    let merged = json(elsewhere.path(), &["past", "merge", &all]);
    assert_eq!((&merged["new"], &merged["same"]), (&Value::from(1), &Value::from(0)));
    assert_eq!(json(elsewhere.path(), &["past", "merge", &all])["same"], 1);
    fs::write(&all, "{\"uid\": 3}\n").unwrap();
    let (code, _, err) = lugwise(elsewhere.path(), &["past", "merge", &all]);
    assert!(code == 1 && err.contains("all.ndjson:1:"), "{err}");
}

#[test]
fn a_file_of_all_jobs_without_the_damaged_one_says_so() {
    let home = home();
    let whole = visit(home.path(), &Visit::default());
    let later = Visit { at: "2026-05-02T09:00:00Z".to_owned(), ..Visit::default() };
    let lost = visit(home.path(), &later);
    damage(home.path(), &lost, 3);
    for format in ["ndjson", "parquet"] {
        let file = text(&home.path().join(format!("all.{format}")));
        let (code, out, err) =
            lugwise(home.path(), &["past", "export", "--all", "--format", format, "-o", &file, "--json"]);
        assert_eq!(code, 3, "{out}{err}");
        let told: Value = serde_json::from_str(&out).unwrap();
        assert_eq!(
            (&told["jobs"], &told["left_out"][0]["uid"]),
            (&Value::from(1), &Value::from(lost.as_str()))
        );
        assert!(err.contains(&format!("left out: {lost}: its event 3 is not what was written")), "{err}");
        assert!(err.contains("hint: ") && Path::new(&file).exists(), "{err}");
    }
    let elsewhere = self::home();
    let merged = json(elsewhere.path(), &["past", "merge", &text(&home.path().join("all.ndjson"))]);
    assert_eq!(merged["new"], 1);
    assert_eq!(json(elsewhere.path(), &["past"])["jobs"][0]["uid"], whole);
}

#[test]
fn every_damaged_job_is_named_and_the_shell_says_what_mends_it() {
    let home = home();
    let file = demo_job(home.path());
    json(home.path(), &["past", "import", &file]);
    visit(home.path(), &Visit::default());
    let all = text(&home.path().join("all.ndjson"));
    json(home.path(), &["past", "export", "--all", "-o", &all]);
    let place = place(home.path());
    let database = rusqlite::Connection::open(place.path().unwrap()).unwrap();
    database.execute("UPDATE event SET line = line || ' ' WHERE seq = 5", []).unwrap();
    drop(database);
    let told = |args: &[&str], due: i32| -> Value {
        let (code, out, err) = lugwise(home.path(), &[args, &["--json"]].concat());
        assert_eq!(code, due, "{args:?}: {out}{err}");
        serde_json::from_str(&out).unwrap()
    };
    let count = |told: &Value| told["damaged"].as_array().unwrap().len();
    let checked = told(&["past", "check"], 1);
    assert_eq!((count(&checked), &checked["differing"]), (2, &Value::from(0)));
    assert_eq!(count(&told(&["past", "backup", &text(&home.path().join("copy"))], 3)), 2);
    assert_eq!(count(&told(&["past", "rebuild"], 3)), 2);
    let shown = lugwise(home.path(), &["past", "show", "20260302091400"]).2;
    assert!(
        shown.contains("its event 5 is not what was written") && shown.contains("past import"),
        "{shown}"
    );
    let (code, out, _) = lugwise(home.path(), &["past", "import", &file]);
    assert!(code == 0 && out.contains("mended: "), "{out}");
    let merged = told(&["past", "merge", &all], 0);
    assert_eq!((&merged["mended"], &merged["same"]), (&Value::from(1), &Value::from(1)));
    assert_eq!(count(&told(&["past", "check"], 0)), 0);
    let wrong = lugwise(home.path(), &["past", "merge", &file]).2;
    assert!(wrong.contains("lugwise past import"), "{wrong}");
    let wrong = lugwise(home.path(), &["past", "import", &all]).1;
    assert!(wrong.contains("lugwise past merge"), "{wrong}");
}

#[test]
fn both_tables_hold_what_the_archive_holds() {
    use parquet::file::reader::{FileReader as _, SerializedFileReader};
    use parquet::record::{Field, Row};
    let home = home();
    let uid = visit(home.path(), &Visit { customer: "=cmd()".to_owned(), ..Visit::default() });
    let jobs = home.path().join("jobs.parquet");
    let told = json(home.path(), &["past", "export", "--all", "--format", "parquet", "-o", &text(&jobs)]);
    assert_eq!(told["files"][1]["file"], text(&home.path().join("jobs-events.parquet")));
    let rows = |path: &Path| -> Vec<Row> {
        let reader = SerializedFileReader::new(fs::File::open(path).unwrap()).unwrap();
        reader.get_row_iter(None).unwrap().map(Result::unwrap).collect()
    };
    let field = |row: &Row, name: &str| {
        row.get_column_iter().find(|(column, _)| *column == name).map(|(_, field)| field.clone()).unwrap()
    };
    let told = rows(&jobs);
    assert_eq!(told.len(), 1);
    assert_eq!(field(&told[0], "uid"), Field::Str(uid.clone()));
    assert_eq!(field(&told[0], "customer"), Field::Str("=cmd()".to_owned()));
    assert_eq!(field(&told[0], "repair_minutes"), Field::Double(30.0));
    assert_eq!(field(&told[0], "readings"), Field::Long(1));
    assert_eq!(field(&told[0], "warranty_of"), Field::Null);
    let events = rows(&home.path().join("jobs-events.parquet"));
    let lines: Vec<Field> = events.iter().map(|row| field(row, "line")).collect();
    let archive = place(home.path()).open().unwrap();
    let expected: Vec<Field> =
        archive.export_file(&uid).unwrap().lines().map(|line| Field::Str(line.to_owned())).collect();
    assert_eq!(lines, expected);
    assert_eq!(field(&events[1], "event"), Field::Str("opened".to_owned()));
}

#[test]
fn a_backup_is_put_back_and_the_archive_can_be_made_anew() {
    let home = home();
    let uid = visit(home.path(), &Visit::default());
    let backup = text(&home.path().join("backup"));
    assert_eq!(json(home.path(), &["past", "backup", &backup])["jobs"], 1);
    assert_eq!(lugwise(home.path(), &["past", "backup", &backup]).0, 1, "never written over");
    visit(home.path(), &Visit { at: "2026-04-01T00:00:00Z".to_owned(), ..Visit::default() });
    assert_eq!(json(home.path(), &["past", "rebuild"])["jobs"], 2);
    assert_eq!(json(home.path(), &["past", "check"])["events"], 12);
    let restored = json(home.path(), &["past", "restore", &backup]);
    assert_eq!(restored["jobs"], 1);
    assert!(Path::new(restored["set_aside"].as_str().unwrap()).exists());
    assert_eq!(json(home.path(), &["past"])["jobs"][0]["uid"], uid);
}

#[test]
fn what_is_kept_beside_the_events_is_held_against_them_and_made_anew() {
    let home = home();
    json(home.path(), &["past", "import", &demo_job(home.path())]);
    let uid = visit(home.path(), &Visit::default());
    let sound = json(home.path(), &["past", "check"]);
    assert_eq!((&sound["compared"], &sound["differing"]), (&Value::from(true), &Value::from(0)));
    let place = place(home.path());
    let by_hand = |sql: &str| {
        let database = rusqlite::Connection::open(place.path().unwrap()).unwrap();
        let id: i64 =
            database.query_row("SELECT id FROM job WHERE uid = ?1", [&uid], |row| row.get(0)).unwrap();
        assert!(database.execute(sql, [id]).unwrap() > 0, "{sql}");
    };
    for (sql, says) in [
        ("UPDATE summary SET readings = 7 WHERE job = ?1", "summary 1: readings is 7 instead of 1"),
        ("UPDATE summary SET owner = NULL WHERE job = ?1", "summary 1: owner is nothing instead of"),
        ("UPDATE reading SET seconds = 1.5 WHERE job = ?1", "reading 1: seconds is 1.5 instead of 45"),
        ("DELETE FROM taught WHERE job = ?1", "taught: 0 lines instead of 1 line"),
        ("DELETE FROM search WHERE rowid = ?1", "search: 0 lines instead of 1 line"),
    ] {
        by_hand(sql);
        let (code, out, err) = lugwise(home.path(), &["past", "check"]);
        assert_eq!((code, err.as_str()), (1, ""), "{out}");
        assert!(out.contains("something else of 1 job:") && out.contains("lugwise past rebuild"), "{out}");
        assert!(out.contains(&format!("\n  {uid}: ")) && out.contains(says), "{out}");
        json(home.path(), &["past", "rebuild"]);
        assert_eq!(json(home.path(), &["past", "check"])["differing"], 0);
    }
}

#[test]
fn a_customer_is_taken_out_only_when_that_was_said() {
    let home = home();
    let uid = visit(home.path(), &Visit { customer: "Zerlinde Quastenfloh".to_owned(), ..Visit::default() });
    let (code, _, err) = lugwise(home.path(), &["past", "forget", &uid]);
    assert!(err.contains("the words in the instrument's field go too"), "{err}");
    assert!(code == 1 && err.contains("Zerlinde Quastenfloh") && err.contains("--yes"), "{err}");
    assert_eq!(json(home.path(), &["past", "show", &uid])["customer"], "Zerlinde Quastenfloh");
    let backup = text(&home.path().join("backup"));
    json(home.path(), &["past", "backup", &backup]);
    let later = Visit {
        at: "2026-05-02T09:00:00Z".to_owned(),
        customer: "Zerlinde Quastenfloh".to_owned(),
        ..Visit::default()
    };
    let again = visit(home.path(), &later);
    let told = json(home.path(), &["past", "forget", &uid, "--yes"]);
    assert_eq!((&told["events"], &told["scrubbed"]), (&Value::from(1), &Value::from(true)));
    assert_eq!(told["others"], 1, "the customer's other job is told");
    let (_, last, _) = lugwise(home.path(), &["past", "forget", &again, "--yes"]);
    assert!(last.ends_with("still hold the name.\n"), "{last}");
    assert_eq!(json(home.path(), &["past", "show", &uid])["customer"], "");
    assert_eq!(json(home.path(), &["past", "restore", &backup])["names_back"], 1);
    assert_eq!(json(home.path(), &["past", "restore", &backup])["names_back"], 0);
}

#[test]
fn figures_are_told_as_text_csv_and_json() {
    let home = home();
    visit(home.path(), &Visit { technician: "=HYPERLINK(\"x\")", ..Visit::default() });
    let chart = ["past", "figures", "--chart", "minutes", "--by", "technician"];
    let told = json(home.path(), &chart);
    assert_eq!(
        (&told[0]["rows"][0]["median"], &told[0]["rows"][0]["small"]),
        (&Value::from(30.75), &Value::from(true))
    );
    let csv = lugwise(home.path(), &[&chart[..], &["--format", "csv"]].concat()).1;
    assert!(csv.contains("\"'=HYPERLINK(\"\"x\"\")\",30.75,30.75,30.75,1,\"yes\""), "{csv}");
    let words = lugwise(home.path(), &chart).1;
    assert!(words.contains("30.8") && words.contains("few"), "{words}");
    assert_eq!(json(home.path(), &["past", "figures"]).as_array().unwrap().len(), 9);
    assert_eq!(lugwise(home.path(), &["past", "figures", "--chart", "pie"]).0, 2);
}

#[test]
fn the_report_is_one_page_with_every_chart() {
    let home = home();
    visit(home.path(), &Visit { technician: "<script>alert(1)</script>", ..Visit::default() });
    let file = home.path().join("report.html");
    json(home.path(), &["past", "report", "--by", "technician", "-o", &text(&file)]);
    let page = fs::read_to_string(&file).unwrap();
    assert_eq!(page.matches("<svg").count(), 9, "{page}");
    assert!(page.contains("(few)") && !page.contains("<script"), "{page}");
    assert_eq!(lugwise(home.path(), &["past", "report", "-o", &text(&file)]).0, 1, "never written over");
    assert_eq!(lugwise(home.path(), &["past", "report", "-o", &text(&home.path().join("a.doc"))]).0, 1);
}

#[test]
fn nothing_in_a_text_has_a_meaning() {
    let home = home();
    let hostile = "'; DROP TABLE job; -- <b>\u{202e}\u{1b}[2J\n\"=1+1".to_owned();
    let visit_of = Visit {
        customer: hostile.clone(),
        instrument: format!("{hostile}{}", "x".repeat(1 << 20)),
        complaint: hostile.clone(),
        ..Visit::default()
    };
    let uid = visit(home.path(), &visit_of);
    for args in [
        vec!["past"],
        vec!["past", "DROP"],
        vec!["past", "show", &uid],
        vec!["past", "replay", &uid, "--from-start"],
        vec!["past", "figures"],
    ] {
        let (code, out, err) = lugwise(home.path(), &args);
        assert_eq!((code, err.as_str()), (0, ""), "{args:?}");
        assert!(!out.contains(['\u{202e}', '\u{1b}']) && out.len() < 1 << 20, "{args:?} {}", out.len());
    }
    assert_eq!(json(home.path(), &["past", "show", &uid])["customer"], hostile);
    assert_eq!(json(home.path(), &["past", "'; DROP TABLE job; --"])["total"], 1);
    assert_eq!(json(home.path(), &["past", "check"])["jobs"], 1);
}

/// One of each sort of attack: a formula, markup, a query, a path, a mark that turns a line around, controls.
const HOSTILE: &str = "=1+1 <b>'; DROP TABLE job; --</b> ../../x \u{202e}\u{1b}[2J\n\"";

#[test]
fn every_word_typed_on_the_bench_stays_a_word_on_the_screen_and_in_the_ticket() {
    let home = home();
    let file = text(&home.path().join("a.job"));
    let told = |args: &[&str]| {
        let (code, out, err) = lugwise(home.path(), args);
        assert_eq!((code, err.as_str()), (0, ""), "{args:?}");
        assert!(!out.contains(['\u{202e}', '\u{1b}']), "{args:?}: {out:?}");
    };
    let complaint = format!("no sound {HOSTILE}");
    let start: [&str; 6] = ["start", "one-pickup-direct", "--complaint", &complaint, "-o", &file];
    let fields = ["--instrument", "--customer", "--last-done", "--technician"];
    let fields: Vec<&str> = fields.map(|field| [field, HOSTILE]).concat();
    told(&[&start[..], &fields[..]].concat());
    told(&["skip", &file, "--reason", HOSTILE]);
    told(&["estimate", &file, "--work", &format!("{HOSTILE}=20"), "--per-hour", "60", "--said", HOSTILE]);
    told(&["authorise", &file, "--ceiling", "80", "--by", HOSTILE, "--how", "telephone"]);
    told(&["conclude", &file, "2"]);
    told(&["repair", &file, HOSTILE, "--minutes", "3"]);
    told(&["search-on", &file, "--remains", &complaint]);
    told(&["close", &file, "--unproven", HOSTILE]);
    told(&["next", &file]);
    let written = |name: &str| {
        let path = home.path().join(name);
        told(&["ticket", &file, "-o", &text(&path)]);
        fs::read(path).unwrap()
    };
    for name in ["a.md", "a.html"] {
        let ticket = String::from_utf8(written(name)).unwrap();
        let harmless = !ticket.contains("<b>") && !ticket.contains(['\u{202e}', '\u{1b}']);
        assert!(harmless && ticket.contains("DROP TABLE job"), "{name}: {ticket}");
    }
    assert!(written("a.pdf").starts_with(b"%PDF-"));
    let uid = json(home.path(), &["past"])["jobs"][0]["uid"].as_str().unwrap().to_owned();
    told(&["past", "show", &uid]);
    told(&["past", "replay", &uid, "--from-start"]);
    assert_eq!(json(home.path(), &["past", "check"])["jobs"], 1);
}

#[test]
fn no_technician_is_a_formula_or_markup_in_a_figure() {
    let home = home();
    let technicians = [HOSTILE, "+1", "-1", "@x", "\t=1", "a\",=2", "<script>"];
    for (day, technician) in (1..).zip(technicians) {
        visit(
            home.path(),
            &Visit { at: format!("2026-03-0{day}T09:00:00Z"), technician, ..Visit::default() },
        );
    }
    let by = ["past", "figures", "--chart", "renamed", "--by", "technician", "--format", "csv"];
    let (code, csv, _) = lugwise(home.path(), &by);
    assert_eq!((code, csv.contains(['\u{202e}', '\u{1b}'])), (0, false), "{csv:?}");
    let others = csv.replace("\"a\"\",=2\"", "").replace("\"\"", "");
    for formula in ["\"=", "\"+", "\"-", "\"@", "\"\t", ",=", "\n="] {
        assert!(!others.contains(formula), "{formula}: {csv}");
    }
    assert!(csv.contains("\"'=1+1 <b>") && csv.contains("\"a\"\",=2\""), "{csv}");
    let page = home.path().join("report.html");
    json(home.path(), &["past", "report", "--by", "technician", "-o", &text(&page)]);
    let page = fs::read_to_string(page).unwrap();
    assert!(!page.contains("<script") && !page.contains("<b>") && !page.contains('\u{202e}'), "{page}");
}

#[test]
fn a_name_from_elsewhere_leads_out_of_no_folder() {
    let home = home();
    visit(home.path(), &Visit::default());
    let all = home.path().join("all.ndjson");
    json(home.path(), &["past", "export", "--all", "-o", &text(&all)]);
    let mut line: Value = serde_json::from_str(&fs::read_to_string(&all).unwrap()).unwrap();
    line["uid"] = "../../outside".into();
    fs::write(&all, format!("{line}\n")).unwrap();
    let other = self::home();
    json(other.path(), &["past", "merge", &text(&all)]);
    let folder = other.path().join("in").join("here");
    fs::create_dir_all(&folder).unwrap();
    let told = json(other.path(), &["past", "export", "../../outside", "-o", &text(&folder)]);
    let written = Path::new(told["files"][0]["file"].as_str().unwrap()).canonicalize().unwrap();
    assert_eq!(written.parent().unwrap(), folder.canonicalize().unwrap());
}

/// Puts cured jobs on a real wiring into an archive, each with the fault that was named.
fn shop(archive: &mut Archive, faults: &[&str]) {
    let (_, wiring) =
        lugwise::circuit::built_in().iter().find(|(name, _)| name.starts_with("one-pickup.")).unwrap();
    for (number, fault) in faults.iter().enumerate() {
        let visit =
            Visit { at: format!("2026-03-02T09:{:02}:{:02}Z", number / 60, number % 60), ..Visit::default() };
        let mut first = visit.started();
        if let Event::Started { intake, .. } = &mut first.event {
            intake.wiring_text = (*wiring).to_owned();
        }
        let rest = [concluded(&[*fault], 0.9), repaired("mended", 10.0), cured()];
        let rest = rest.into_iter().map(|event| Record { at: visit.at.clone(), event });
        let all: Vec<Record> = std::iter::once(first).chain(rest).collect();
        archive
            .import_file(&all.iter().map(|record| to_line(record).unwrap() + "\n").collect::<String>())
            .unwrap();
    }
}

/// By hand: the coil has a share p of all walk-ins; after 6 of 10 jobs it is (50 p + 6) / 60.
#[test]
fn cured_jobs_move_the_priors_as_counted_by_hand() {
    let home = home();
    let mut archive = place(home.path()).open().unwrap();
    let faults = [["pickup/coil open"; 6].as_slice(), &["jack.tip/joint open"; 4]].concat();
    shop(&mut archive, &faults);
    let taught = Taught::of(&archive, None).unwrap();
    assert_eq!(taught.jobs, 10);
    let coil = taught.elsewhere[&Family::CoilOpen];
    assert_eq!((coil.found, coil.of), (6.0, 10.0));
    assert!(!taught.elsewhere.contains_key(&Family::BatteryFlat), "this wiring has no battery");
    let built_in = Priors::built_in();
    let all_inside: f64 =
        built_in.rates().filter(|(f, _)| !f.outside()).map(|(_, rate)| rate.per_thousand).sum();
    let outside: f64 = built_in.rates().filter(|(f, _)| f.outside()).map(|(_, rate)| rate.per_thousand).sum();
    let before = built_in.per_thousand(Family::CoilOpen) / all_inside * (1.0 - outside / 1000.0);
    let (_, learnt) = taught.applied(built_in);
    let told = learnt.iter().find(|one| one.family == Family::CoilOpen).unwrap();
    assert!((told.before - before).abs() < 1e-12, "{} {before}", told.before);
    assert!((told.after - (50.0 * before + 6.0) / 60.0).abs() < 1e-12, "{}", told.after);
    assert!(told.words().ends_with("6 of 10 jobs"), "{}", told.words());
    let here = Taught::of(&archive, Some("one-pickup")).unwrap();
    assert!(here.elsewhere.is_empty() && here.here == taught.elsewhere, "all ten are on this wiring");
}

/// Adds up the jobs that named the same faults.
fn together(all: impl Iterator<Item = (Vec<String>, u32)>) -> BTreeMap<Vec<String>, u32> {
    let mut sums = BTreeMap::new();
    all.for_each(|(faults, jobs)| *sums.entry(faults).or_default() += jobs);
    sums
}

/// What jobs teach is kept with them; it must be what their events say, one by one.
#[test]
fn what_jobs_teach_is_what_their_events_say_job_by_job() {
    let home = home();
    let mut archive = place(home.path()).open().unwrap();
    shop(&mut archive, &["pickup/coil open", "jack.tip/joint open", "pickup/coil open"]);
    let visit = |at: &str| Visit { at: at.to_owned(), ..Visit::default() };
    let named = |faults: &[&str]| vec![concluded(faults, 0.9), repaired("mended", 1.0)];
    let with = |mut events: Vec<Event>, last: Event| {
        events.push(last);
        events
    };
    let both = with(named(&["jack.tip/joint open", "pickup/coil open"]), cured());
    put(&mut archive, &visit("2026-03-03T09:00:00Z"), NOW, both);
    let open = named(&["pickup/coil open"]);
    let uid = put(&mut archive, &visit("2026-03-03T10:00:00Z"), NOW, open);
    let cured_alone = |job: Job| {
        let cured = job.closed().is_some_and(|closing| closing.outcome == Outcome::Cured);
        job.concluded().filter(|_| cured).map(|named| (named.faults.clone(), 1))
    };
    let by_hand = |archive: &Archive| {
        let all = archive.jobs(&Filter::default(), Order::Oldest, Page::default()).unwrap();
        together(all.iter().filter_map(|job| cured_alone(archive.job(&job.uid).unwrap())))
    };
    let kept = |archive: &Archive| {
        together(archive.lessons().unwrap().into_iter().map(|one| (one.faults, one.jobs)))
    };
    assert_eq!((kept(&archive), kept(&archive).len()), (by_hand(&archive), 3));
    archive.append(&uid, 3, &[Record { at: NOW.to_owned(), event: cured() }]).unwrap();
    assert_eq!(kept(&archive), by_hand(&archive));
    assert_eq!(kept(&archive).values().sum::<u32>(), 5);
    archive.append(&uid, 4, &[Record { at: NOW.to_owned(), event: Event::Undone }]).unwrap();
    assert_eq!(kept(&archive).values().sum::<u32>(), 4);
    let before = kept(&archive);
    archive.rebuild().unwrap();
    assert_eq!(kept(&archive), before);
}

#[test]
fn a_damaged_job_stops_no_lesson_of_the_others() {
    let home = home();
    let place = place(home.path());
    shop(&mut place.open().unwrap(), &["pickup/coil open"; 3]);
    let damage = |job: &str| {
        let database = rusqlite::Connection::open(place.path().unwrap()).unwrap();
        let sql = format!("UPDATE event SET line = line || ' ' WHERE seq = 1 AND job {job}");
        database.execute(&sql, []).unwrap()
    };
    assert_eq!(damage("= (SELECT min(id) FROM job)"), 1);
    assert_eq!(json(home.path(), &["past", "learnt"])["jobs"], Value::from(3));
    assert_eq!(damage("> (SELECT min(id) FROM job)"), 2);
    let (code, out, err) = lugwise(home.path(), &["past", "learnt"]);
    assert!(code == 0 && err.contains("3 cured jobs not counted"), "{out}{err}");
}

#[test]
fn learning_is_asked_for_and_a_job_keeps_the_priors_it_was_started_with() {
    let home = home();
    shop(&mut place(home.path()).open().unwrap(), &["pickup/coil open"; 12]);
    let start = |name: &str| {
        let file = home.path().join(name);
        json(home.path(), &["start", "one-pickup", "--complaint", "no sound", "-o", &text(&file)]);
        fs::read_to_string(&file).unwrap()
    };
    assert!(!start("before.job").contains("priors_text"));
    let words = lugwise(home.path(), &["past", "learnt"]).1;
    assert!(words.contains("12 cured jobs with a named fault"), "{words}");
    let told = json(home.path(), &["past", "learnt"]);
    assert_eq!((&told["on"], &told["jobs"]), (&Value::from(false), &Value::from(12)));
    assert_eq!(json(home.path(), &["past", "learnt", "--on"])["on"], true);
    let after = start("after.job");
    assert!(after.contains("priors_text") && after.contains("12 of 12 jobs of this shop"), "{after}");
    let coil = |name: &str| {
        let state = json(home.path(), &["next", &text(&home.path().join(name))]);
        let suspects = state["suspects"].as_array().unwrap().clone();
        let found = suspects.iter().find(|s| s["faults"].to_string().contains("pickup/coil open")).cloned();
        found.map_or(0.0, |suspect| suspect["probability"].as_f64().unwrap())
    };
    let (before, raised) = (coil("before.job"), coil("after.job"));
    assert!(raised > before, "{raised} {before}");
    json(home.path(), &["past", "learnt", "--off"]);
    assert_eq!(coil("after.job"), raised, "a job keeps its priors");
    assert!(!start("off.job").contains("priors_text"));
    let words = lugwise(home.path(), &["past", "learnt"]).1;
    assert!(words.contains("Learning is off") && words.contains("a coil, open: raised from"), "{words}");
}

#[test]
fn values_of_the_same_instrument_are_offered_the_next_time() {
    let home = home();
    let start = |name: &str, customer: &str| {
        let file = text(&home.path().join(name));
        let words = [
            "start",
            "A2a",
            "--complaint",
            "no sound",
            "--instrument",
            "Loan guitar 4",
            "--customer",
            customer,
        ];
        (json(home.path(), &[&words[..], &["-o", &file]].concat()), file)
    };
    let (first, file) = start("a.job", "the school");
    let offers = |state: &Value| -> Vec<String> {
        let notices = state["notices"].as_array().unwrap().iter().map(|n| n.as_str().unwrap().to_owned());
        notices.filter(|notice| notice.starts_with("Known from ")).collect()
    };
    assert!(offers(&first).is_empty());
    json(home.path(), &["know", &file, "neck-pickup", "7.62k"]);
    let (again, second) = start("b.job", "The School ");
    let offered = offers(&again);
    assert_eq!(offered.len(), 1, "{again}");
    assert!(
        offered[0].contains("7.62 kΩ") && offered[0].contains(&format!("lugwise know {second} neck-pickup")),
        "{offered:?}"
    );
    json(home.path(), &["know", &second, "neck-pickup", "7.62 kΩ"]);
    assert!(offers(&start("c.job", "somebody else").0).is_empty());
    let session = Session::open(Path::new(&second)).unwrap().0;
    let archive = place(home.path()).open().unwrap();
    let found = known_values(&archive, session.bench().job().intake()).unwrap();
    let known: Vec<(&str, f64)> =
        found.known.iter().map(|known| (known.part.as_str(), known.value)).collect();
    assert_eq!((known, found.notices), (vec![("neck-pickup", 7620.0)], Vec::new()));
}

#[test]
fn a_damaged_earlier_job_hides_no_value_that_another_one_found() {
    let home = home();
    let start = |name: &str| {
        let file = text(&home.path().join(name));
        let words = ["start", "A2a", "--complaint", "no sound", "--instrument", "Loan guitar 4"];
        (json(home.path(), &[&words[..], &["-o", &file]].concat()), file)
    };
    let first = start("a.job").1;
    json(home.path(), &["know", &first, "neck-pickup", "7.62k"]);
    let second = start("b.job").1;
    json(home.path(), &["know", &second, "bridge-pickup", "8.1k"]);
    let uid = uid_of(&Session::open(Path::new(&second)).unwrap().0.bench().job().records()[0]).unwrap();
    damage(home.path(), &uid, 2);
    let notices = start("c.job").0["notices"].to_string();
    assert!(notices.contains("neck-pickup \\\"7.62 kΩ\\\""), "{notices}");
    assert!(!notices.contains("8.1 kΩ") && notices.contains(&uid), "{notices}");
    assert!(notices.contains("An earlier job of this instrument is left out"), "{notices}");
}

#[test]
fn a_damaged_job_that_is_in_no_list_is_told_wherever_jobs_are_counted() {
    let home = home();
    visit(home.path(), &Visit::default());
    let later = Visit { at: "2026-05-02T09:00:00Z".to_owned(), ..Visit::default() };
    let lost = visit(home.path(), &later);
    damage(home.path(), &lost, 3);
    assert_eq!(lugwise(home.path(), &["past", "rebuild"]).0, 3);
    let page = text(&home.path().join("page.html"));
    for args in [&["past"][..], &["past", "figures"], &["past", "report", "-o", &page]] {
        let (code, _, err) = lugwise(home.path(), args);
        assert!(code == 0 && err.contains("1 damaged job left out"), "{args:?}: {code} {err}");
    }
    let told: Value = serde_json::from_str(&lugwise(home.path(), &["past", "--json"]).1).unwrap();
    assert_eq!(told["damaged"], 1);
    let file = text(&home.path().join("new.job"));
    let begun = json(home.path(), &["start", "one-pickup", "--complaint", "no sound", "-o", &file]);
    assert!(begun["notices"].to_string().contains("One past job is damaged and in no list"), "{begun}");
}

#[test]
fn an_archive_is_told_from_a_file_of_jobs() {
    let home = home();
    visit(home.path(), &Visit::default());
    let copy = text(&home.path().join("copy.archive"));
    json(home.path(), &["past", "backup", &copy]);
    for verb in ["merge", "import"] {
        let (code, out, err) = lugwise(home.path(), &["past", verb, &copy]);
        let told = format!("{out}{err}");
        assert_eq!(code, 1, "{told}");
        assert!(told.contains("it is an archive itself") && told.contains("past export --all"), "{told}");
    }
}

fn ways(shown: &Value, step: &str) -> Vec<u64> {
    let ways = shown["past"]["steps"][step]["ways"].as_array().unwrap().iter();
    ways.map(|way| way["n"].as_u64().unwrap()).collect()
}

#[test]
fn a_tree_says_how_often_past_jobs_went_each_way() {
    let home = home();
    let show = |tree: &str| json(home.path(), &["tree", "show", tree, "--past"]);
    let empty = show("intermittent");
    assert_eq!((&empty["past"]["n"], ways(&empty, "rock the plug")), (&Value::from(0), vec![0; 4]));
    assert!(empty["text"].as_str().unwrap().contains("No past job went by this tree yet."), "{empty}");
    assert!(!place(home.path()).path().unwrap().exists(), "only looking makes no archive");
    place(home.path()).open().unwrap().import_file(DEMO).unwrap();
    let shown = show("intermittent");
    assert_eq!((&shown["past"]["n"], &shown["past"]["proven"]), (&Value::from(1), &Value::from(1)));
    assert_eq!(ways(&shown, "another cable"), [0, 1, 0, 0, 0]);
    assert_eq!(ways(&shown, "rock the plug"), [1, 0, 0, 0]);
    assert_eq!(ways(&shown, "rock the sleeve"), [1, 0, 0, 0]);
    assert_eq!(ways(&shown, "supply"), [0; 3], "the job did not come there");
    assert_eq!(shown["past"]["steps"]["rock the plug"]["ways"][0]["proven"], 1);
    let told = shown["text"].as_str().unwrap();
    assert_eq!(told.matches("(past: 1 of 1 job, 1 proven (few))").count(), 3, "{told}");
    assert_eq!(show("silent")["past"]["n"], 0);
    let drawn = json(home.path(), &["tree", "show", "intermittent", "--past", "--format", "svg"]);
    assert!(drawn["svg"].as_str().unwrap().contains("past: 1 of 1 job, 1 proven (few)"));
}

/// A question that a reading passed over counts as one that could not be answered.
#[test]
fn a_job_that_is_open_counts_as_not_proven() {
    let home = home();
    let file = text(&home.path().join("a.job"));
    json(home.path(), &["start", "one-pickup", "--complaint", "no sound", "-o", &file]);
    json(home.path(), &["record", &file, "248k"]);
    let shown = json(home.path(), &["tree", "show", "silent", "--past"]);
    assert_eq!(
        (ways(&shown, "another cable"), ways(&shown, "all up")),
        (vec![0, 0, 1], vec![0, 0, 1, 0, 0, 0])
    );
    assert_eq!((&shown["past"]["n"], &shown["past"]["proven"]), (&Value::from(1), &Value::from(0)));
}
