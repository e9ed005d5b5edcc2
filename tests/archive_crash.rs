//! A program that is killed at any moment loses no acknowledged event of the archive and leaves none in part.
//!
//! The test runs itself again as the program to be killed: it adds events and prints what was acknowledged.

#[path = "data/archive_jobs.rs"]
mod archive_jobs;

use std::io::{BufRead as _, BufReader, Read};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread::{JoinHandle, sleep, spawn};
use std::time::Duration;

use archive_jobs::{NOW, Visit, opened, record};
use lugwise::archive::{Archive, uid_of};
use lugwise::job::Record;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

const TEST: &str = "every_acknowledged_event_survives_a_kill";
const ARCHIVE: &str = "LUGWISE_TEST_ARCHIVE_TO_KILL";
const RUN: &str = "LUGWISE_TEST_RUN";
/// How many archives, and how many kills each.
const ARCHIVES: usize = 3;
const KILLS: usize = 102;

#[test]
fn every_acknowledged_event_survives_a_kill() {
    if let Some(path) = std::env::var_os(ARCHIVE) {
        let run = std::env::var(RUN).unwrap();
        return add_until_killed(Path::new(&path), &run);
    }
    let mut rng = StdRng::seed_from_u64(20_260_601);
    let mut acknowledged = 0;
    for archive in 0..ARCHIVES {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("jobs.archive");
        let mut waiting = Vec::new();
        for kill in 0..KILLS {
            let run = format!("{archive}-{kill}");
            let last = killed(&path, &run, &mut rng);
            acknowledged += last;
            waiting.push((run, last));
            if kill % 2 == 1 {
                let archive = Archive::open(&path, NOW).unwrap();
                waiting.drain(..).for_each(|(run, last)| holds(&archive, &run, last));
            }
        }
        Archive::open(&path, NOW).unwrap().check().unwrap();
    }
    assert!(acknowledged > ARCHIVES * KILLS, "only {acknowledged} events were acknowledged");
}

fn visit(run: &str) -> Visit {
    Visit { instrument: format!("guitar {run}"), ..Visit::default() }
}

/// The events that are added together, the first time only the one that begins the job.
fn batch(run: &str, number: usize) -> Vec<Record> {
    match number {
        0 => vec![visit(run).started()],
        _ => (0..=number % 3).map(|part| record(NOW, opened(&format!("{number}.{part}")))).collect(),
    }
}

fn add_until_killed(path: &Path, run: &str) {
    let mut archive = Archive::open(path, NOW).unwrap();
    let uid = uid_of(&visit(run).started()).unwrap();
    let mut there = 0;
    for number in 0..100 {
        let events = batch(run, number);
        archive.append(&uid, there, &events).unwrap();
        there += events.len();
        println!("acknowledged {there}");
    }
    sleep(Duration::from_secs(600));
}

/// Starts the program, kills it at a moment by chance, and returns how many events it had acknowledged.
fn killed(path: &Path, run: &str, rng: &mut StdRng) -> usize {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args([TEST, "--exact", "--nocapture", "--test-threads=1"])
        .env(ARCHIVE, path)
        .env(RUN, run)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let (first, reader) = listen(&mut child);
    if rng.random_range(0..4) > 0 {
        first.recv_timeout(Duration::from_secs(60)).expect("the program acknowledged nothing");
    }
    sleep(Duration::from_micros(rng.random_range(0..30_000)));
    let ended = child.try_wait().unwrap();
    child.kill().unwrap();
    child.wait().unwrap();
    let mut said = String::new();
    child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
    assert!(ended.is_none(), "the program ended by itself in run {run}: {said}");
    reader.join().unwrap()
}

/// Hears of the first acknowledgement, and in the end how many events were acknowledged in whole lines.
fn listen(child: &mut Child) -> (Receiver<()>, JoinHandle<usize>) {
    let mut lines = BufReader::new(child.stdout.take().unwrap());
    let (heard, first) = channel();
    let reader = spawn(move || {
        let (mut last, mut line) = (0, String::new());
        while lines.read_line(&mut line).unwrap() > 0 {
            let number = line.strip_suffix('\n').and_then(|line| line.split("acknowledged ").nth(1));
            if let Some(number) = number {
                last = number.parse().unwrap();
                let _ = heard.send(());
            }
            line.clear();
        }
        last
    });
    (first, reader)
}

/// Expects every acknowledged event of a run, at most one batch more, and no batch in part.
fn holds(archive: &Archive, run: &str, acknowledged: usize) {
    let uid = uid_of(&visit(run).started()).unwrap();
    let there = archive.events(&uid).unwrap();
    let (mut expected, mut number, mut sizes) = (Vec::new(), 0, vec![0]);
    while expected.len() < acknowledged.max(there) {
        expected.extend(batch(run, number));
        number += 1;
        sizes.push(expected.len());
    }
    assert!(sizes.contains(&there), "run {run}: {there} events, a batch in part");
    let due = sizes.iter().position(|size| *size == acknowledged).unwrap();
    let has = sizes.iter().position(|size| *size == there).unwrap();
    assert!(has == due || has == due + 1, "run {run}: {there} events, {acknowledged} were acknowledged");
    if there > 0 {
        assert_eq!(archive.job(&uid).unwrap().records(), &expected[..there]);
        assert_eq!(archive.summary(&uid).unwrap().instrument, format!("guitar {run}"));
    }
}
