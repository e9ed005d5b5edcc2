//! The figures of the archive against jobs whose figures can be worked out in the head.

use lugwise::archive::audit::{self, By, FEW};
use lugwise::archive::{Archive, Filter};
use lugwise::job::Event;
use lugwise::readings::Symptom;
use tempfile::TempDir;

use crate::archive_jobs::{NOW, Visit, concluded, cured, measurement, opened, put, read, repaired, unproven};

fn bench() -> (TempDir, Archive) {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(&folder.path().join("jobs.archive"), NOW).unwrap();
    (folder, archive)
}

fn on(day: &str, instrument: &str) -> Visit {
    Visit { at: format!("{day}T09:00:00Z"), instrument: instrument.to_owned(), ..Visit::default() }
}

fn mended(fault: &str, probability: f64, minutes: f64) -> Vec<Event> {
    vec![concluded(&[fault], probability), repaired("mended it", minutes), cured()]
}

fn any() -> Filter {
    Filter::default()
}

#[test]
fn minutes_have_their_quartiles_by_what_is_asked() {
    let (_folder, mut archive) = bench();
    for (number, minutes) in [10.0, 20.0, 30.0, 40.0, 50.0].into_iter().enumerate() {
        let visit = Visit { technician: "first", ..on("2026-03-02", &format!("guitar {number}")) };
        put(&mut archive, &visit, NOW, mended("jack.tip/joint open", 0.9, minutes));
    }
    let visit = Visit { technician: "second", wiring: "other", ..on("2026-03-02", "bass") };
    let mut events = mended("pickup/coil open", 0.9, 90.0);
    events.insert(0, read(1, "plug.tip", "plug.sleeve", 60.0, 0.9));
    put(&mut archive, &visit, NOW, events);
    put(&mut archive, &on("2026-03-02", "open"), NOW, vec![opened("cavity")]);

    let told = |filter: &Filter, by| -> Vec<(String, [f64; 3], u32)> {
        let rows = audit::minutes(&archive, filter, by).unwrap();
        assert!(rows.iter().all(|row| row.small == (row.n < FEW)));
        rows.into_iter().map(|row| (row.name, [row.lower, row.median, row.upper], row.n)).collect()
    };
    let named = |name: &str, quartiles, n| (name.to_owned(), quartiles, n);
    let (short, long) = ([20.0, 30.0, 40.0], [91.0; 3]);
    assert_eq!(told(&any(), By::Kind), [named("coil open", long, 1), named("joint open", short, 5)]);
    assert_eq!(told(&any(), By::Technician), [named("first", short, 5), named("second", long, 1)]);
    assert_eq!(told(&any(), By::Wiring), [named("one-pickup", short, 5), named("other", long, 1)]);
    assert_eq!(told(&any(), By::All), [named("all", [22.5, 35.0, 47.5], 6)]);
    let only = Filter { technician: Some("second".to_owned()), ..any() };
    assert_eq!(told(&only, By::Family), [named("pickup", long, 1)]);
}

#[test]
fn jobs_are_counted_by_the_week_they_were_opened_in() {
    let (_folder, mut archive) = bench();
    let days = ["2026-03-02", "2026-03-08", "2026-03-09", "2025-12-31", "2026-01-01"];
    for day in days {
        put(&mut archive, &on(day, day), NOW, mended("jack.tip/joint open", 0.9, 5.0));
    }
    put(&mut archive, &on("some day", "open"), NOW, vec![]);
    let rows = audit::weeks(&archive, &any()).unwrap();
    let told: Vec<(&str, u32, u32)> =
        rows.iter().map(|row| (row.monday.as_str(), row.n, row.closed)).collect();
    let expected = [("2025-12-29", 2, 2), ("2026-03-02", 2, 2), ("2026-03-09", 1, 1), ("unknown", 1, 0)];
    assert_eq!(told, expected);
    let months = audit::months(&archive, &any()).unwrap();
    let told: Vec<(&str, u32)> = months.iter().map(|row| (row.monday.as_str(), row.n)).collect();
    assert_eq!(told, [("2025-12", 1), ("2026-01", 1), ("2026-03", 3), ("unknown", 1)]);
    let years = audit::years(&archive, &any()).unwrap();
    let told: Vec<(&str, u32)> = years.iter().map(|row| (row.monday.as_str(), row.n)).collect();
    assert_eq!(told, [("2025", 1), ("2026", 4), ("unknown", 1)]);
    let march = Filter { from: Some("2026-03-01".into()), until: Some("2026-03-09".into()), ..any() };
    assert_eq!(audit::weeks(&archive, &march).unwrap().len(), 1);
}

#[test]
fn faults_come_in_order_of_their_number() {
    let (_folder, mut archive) = bench();
    for number in 0..15 {
        let fault = if number < 12 { "jack.tip/joint open" } else { "pickup/coil open" };
        put(&mut archive, &on("2026-03-02", &format!("guitar {number}")), NOW, mended(fault, 0.9, 5.0));
    }
    put(&mut archive, &on("2026-03-02", "open"), NOW, vec![]);
    let said = audit::sentences(&archive, &any()).unwrap();
    assert_eq!(said["jack.tip/joint open"], "it is jack.tip/joint open");
    let common = Some((By::Fault, "pickup/coil open".to_owned()));
    assert_eq!(archive.how_many(&Filter { common, ..any() }).unwrap(), 3);
    let rows = audit::pareto(&archive, &any(), By::Place).unwrap();
    let told: Vec<_> =
        rows.iter().map(|row| (row.name.as_str(), row.n, row.share, row.together, row.small)).collect();
    assert_eq!(told, [("jack.tip", 12, 0.8, 0.8, false), ("pickup", 3, 0.2, 1.0, true)]);
}

#[test]
fn a_check_is_worth_its_bits_and_its_minutes() {
    let (_folder, mut archive) = bench();
    for number in 0..2 {
        let mut events = vec![
            Event::Skipped { measurement: measurement("a", "b"), reason: "in a hurry".to_owned() },
            read(1, "plug.tip", "plug.sleeve", 60.0, 0.5),
            read(2, "jack.tip", "plug.tip", 30.0, 1.0),
        ];
        events.extend(mended("pickup/coil open", 0.9, 5.0));
        put(&mut archive, &on("2026-03-02", &format!("guitar {number}")), NOW, events);
    }
    let withdrawn = vec![
        read(1, "b", "a", 30.0, 0.5),
        read(2, "plug.sleeve", "plug.tip", 60.0, 0.5),
        Event::Undone,
        Event::Withdrawn { id: lugwise::job::ReadingId(1), reason: "a slip".to_owned(), leaders: vec![] },
    ];
    put(&mut archive, &on("2026-04-02", "other"), NOW, withdrawn);
    let told = |filter: &Filter| -> Vec<(String, u32, u32, f64, f64)> {
        let rows = audit::checks(&archive, filter).unwrap();
        rows.into_iter().map(|row| (row.name, row.n, row.found, row.minutes, row.bits)).collect()
    };
    let row = |name: &str, n, found, minutes, bits| (name.to_owned(), n, found, minutes, bits);
    let deciding = row("resistance, jack.tip to plug.tip", 2, 2, 1.0, 2.0);
    let plug = row("resistance, plug.sleeve to plug.tip", 2, 0, 2.0, 0.0);
    assert_eq!(told(&any()), [deciding.clone(), plug.clone(), row("resistance, a to b", 1, 0, 0.5, 0.0)]);
    let march = Filter { until: Some("2026-04".to_owned()), ..any() };
    assert_eq!(told(&march), [deciding, plug]);
    let per_minute: Vec<_> =
        audit::checks(&archive, &march).unwrap().iter().map(|row| row.bits_per_minute).collect();
    assert_eq!(per_minute, [Some(2.0), Some(0.0)]);

    let skipped = audit::skipped(&archive, &any()).unwrap();
    assert_eq!(skipped.len(), 1);
    assert_eq!((skipped[0].name.as_str(), skipped[0].count, skipped[0].n), ("resistance, a to b", 2, 3));
    assert_eq!(audit::skipped(&archive, &march).unwrap()[0].n, 2);
}

#[test]
fn a_first_name_that_was_not_the_last_counts() {
    let (_folder, mut archive) = bench();
    let wrong = vec![
        concluded(&["pickup/coil open", "pickup.hot/joint open"], 0.8),
        repaired("replaced the pickup", 30.0),
        Event::SearchedOn {
            remains: "still silent".to_owned(),
            symptoms: vec![Symptom::Silent],
            leaders: vec![],
        },
        concluded(&["jack.tip/joint open"], 0.95),
        repaired("soldered the jack", 10.0),
        cured(),
    ];
    put(&mut archive, &on("2026-03-02", "one"), NOW, wrong);
    let narrowed = vec![
        concluded(&["pickup/coil open", "pickup.hot/joint open"], 0.8),
        concluded(&["pickup.hot/joint open"], 0.99),
        repaired("soldered the lead", 10.0),
        cured(),
    ];
    put(&mut archive, &on("2026-03-02", "two"), NOW, narrowed);
    let rows = audit::renamed(&archive, &any(), By::All).unwrap();
    assert_eq!((rows.len(), rows[0].count, rows[0].n, rows[0].small), (1, 1, 2, true));
    assert_eq!(archive.how_many(&Filter { renamed: true, ..any() }).unwrap(), 1);
    let job = archive.summary(&put_uid(&on("2026-03-02", "one"))).unwrap();
    assert_eq!((job.rounds, job.renamed, job.repair_minutes), (1, true, 40.0));
    assert_eq!(
        (job.first.unwrap().place, job.last.unwrap().place),
        ("pickup".to_owned(), "jack.tip".to_owned())
    );
}

fn put_uid(visit: &Visit) -> String {
    lugwise::archive::uid_of(&visit.started()).unwrap()
}

#[test]
fn an_instrument_that_comes_again_in_time_or_under_warranty_is_a_comeback() {
    let (_folder, mut archive) = bench();
    let fault = || mended("jack.tip/joint open", 0.9, 5.0);
    let owned = |day: &str, instrument: &str, customer: &str| Visit {
        customer: customer.to_owned(),
        ..on(day, instrument)
    };
    let closed = "2026-01-02T10:00:00Z";
    put(&mut archive, &owned("2026-01-02", "soon", "a"), closed, fault());
    put(&mut archive, &owned("2026-04-02", "Soon ", "A"), "2026-04-03T10:00:00Z", fault());
    put(&mut archive, &owned("2026-01-02", "late", "a"), closed, fault());
    put(&mut archive, &owned("2026-04-03", "late", "a"), "2026-04-04T10:00:00Z", fault());
    put(&mut archive, &owned("2026-01-02", "same", "a"), closed, fault());
    put(&mut archive, &owned("2026-01-03", "same", "b"), closed, fault());
    put(&mut archive, &owned("2026-01-02", "", ""), closed, fault());
    put(&mut archive, &owned("2026-01-04", "", ""), "2026-01-05T10:00:00Z", fault());
    let count = |archive: &Archive| {
        let rows = audit::comebacks(archive, &any(), By::All).unwrap();
        (rows[0].count, rows[0].n)
    };
    assert_eq!(count(&archive), (1, 8));
    let (late, earlier) =
        (put_uid(&owned("2026-04-03", "late", "a")), put_uid(&owned("2026-01-02", "late", "a")));
    archive.set_warranty(&late, Some(&earlier)).unwrap();
    assert_eq!(count(&archive), (2, 8));
    assert_eq!(archive.how_many(&Filter { came_back: true, ..any() }).unwrap(), 2);
    archive.set_warranty(&late, None).unwrap();
    assert_eq!(count(&archive), (1, 8));
    assert!(archive.set_warranty(&late, Some("nobody")).is_err());
}

#[test]
fn what_was_announced_is_held_against_what_came_of_it() {
    let (_folder, mut archive) = bench();
    for (number, probability) in [0.95, 0.99, 1.0, 0.95].into_iter().enumerate() {
        let mut events = mended("jack.tip/joint open", probability, 5.0);
        if number == 3 {
            events[2] = unproven("collected before the proof");
        }
        put(&mut archive, &on("2026-03-02", &format!("guitar {number}")), NOW, events);
    }
    put(&mut archive, &on("2026-03-02", "low"), NOW, mended("pickup/coil open", 0.3, 5.0));
    let bins = audit::calibration(&archive, &any()).unwrap();
    assert_eq!(bins.len(), 10);
    assert_eq!((bins[9].n, bins[9].came_true, bins[9].low, bins[9].high), (4, 3, 0.9, 1.0));
    assert!((bins[9].announced.unwrap() - 0.9725).abs() < 1e-12);
    assert_eq!((bins[3].n, bins[3].came_true), (1, 1));
    assert_eq!((bins[0].n, bins[0].announced, bins[0].small), (0, None, true));
    assert_eq!(bins.iter().map(|bin| bin.n).sum::<u32>(), 5);
    let rows = audit::unproven(&archive, &any(), By::Kind).unwrap();
    let told: Vec<_> = rows.iter().map(|row| (row.name.as_str(), row.count, row.n)).collect();
    assert_eq!(told, [("joint open", 1, 4), ("coil open", 0, 1)]);
}

#[test]
fn an_empty_archive_has_no_figures() {
    let (_folder, archive) = bench();
    assert!(audit::weeks(&archive, &any()).unwrap().is_empty());
    assert!(audit::minutes(&archive, &any(), By::Kind).unwrap().is_empty());
    assert!(audit::pareto(&archive, &any(), By::Fault).unwrap().is_empty());
    assert!(audit::checks(&archive, &any()).unwrap().is_empty());
    assert!(audit::skipped(&archive, &any()).unwrap().is_empty());
    assert!(audit::comebacks(&archive, &any(), By::All).unwrap().is_empty());
    assert!(audit::calibration(&archive, &any()).unwrap().iter().all(|bin| bin.n == 0));
}
