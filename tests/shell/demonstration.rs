//! The invented demonstration job is replayed: every number in its file follows from the program of today.

use lugwise::job::{Event, Job, Record, parse, to_line};
use lugwise::session::built_in_trees;
use lugwise::workbench::{Command, Workbench};

const DEMONSTRATION: &str = include_str!("../../assets/demo/school-loan-guitar.job.ron");

/// Returns the command that leads to an event; the events that only come along with another have none.
fn command(event: &Event) -> Option<Command> {
    match event {
        Event::CautionSeen { key, .. } => Some(Command::SeeCaution { key: key.clone() }),
        Event::Read { reading, .. } => Some(Command::Record {
            text: reading.typed.clone(),
            measurement: Some(reading.measurement.clone()),
        }),
        Event::Concluded { faults, .. } => Some(Command::Conclude { faults: faults.clone() }),
        Event::Repaired { what, minutes } => Some(Command::Repair { what: what.clone(), minutes: *minutes }),
        Event::Proved { reading, .. } => Some(Command::Prove { index: None, text: reading.typed.clone() }),
        Event::Closed { outcome } => Some(Command::Close(outcome.clone())),
        Event::Started { .. } | Event::Opened { .. } | Event::Answered { .. } => None,
        other => panic!("the demonstration holds an event that this test does not know: {other:?}"),
    }
}

/// Returns today's record as the file would have kept it: one from before curves and found values were kept has none.
fn as_kept(today: &Record, then: &Record) -> Record {
    let mut today = today.clone();
    if let (Event::Concluded { tone, found, .. }, Event::Concluded { tone: None, .. }) =
        (&mut today.event, &then.event)
    {
        assert!(tone.take().is_some(), "today the curves are kept");
        found.clear();
    }
    today
}

/// Whether the file is to be written anew: `LUGWISE_WRITE=1`.
fn rewriting() -> bool {
    std::env::var("LUGWISE_WRITE").is_ok_and(|value| value == "1")
}

/// Writes the job as it is decided today, without the curves, which are long.
fn rewrite(job: &Job, then: &[Record]) {
    let named = then.iter().find(|record| matches!(record.event, Event::Concluded { .. })).unwrap();
    let kept = |today: &Record| match &today.event {
        Event::Concluded { .. } => as_kept(today, named),
        _ => today.clone(),
    };
    let lines = job.records().iter().map(|record| to_line(&kept(record)).unwrap() + "\n");
    std::fs::write("assets/demo/school-loan-guitar.job.ron", lines.collect::<String>()).unwrap();
}

// `LUGWISE_WRITE=1` writes the file anew.
#[test]
fn the_demonstration_job_can_be_worked_again_event_by_event() {
    let parsed = parse(DEMONSTRATION).unwrap();
    assert_eq!(parsed.cut, None);
    let Event::Started { intake, leaders, .. } = &parsed.records[0].event else { panic!("no intake") };
    let engine = Workbench::engine_for(intake, &built_in_trees().unwrap()).unwrap();
    let first = Workbench::first_record(&engine, (**intake).clone(), &parsed.records[0].at).unwrap();
    let Event::Started { leaders: today, .. } = &first.event else { panic!("no intake") };
    assert!(rewriting() || today == leaders, "the complaint alone: {today:?}");
    let mut bench = Workbench::resume(engine, vec![first]).unwrap();
    for record in &parsed.records[1..] {
        let decided = match (&record.event, command(&record.event)) {
            (Event::Answered { answer, .. }, _) => {
                let answers = match &bench.view().step.as_ref().unwrap().ask {
                    lugwise::workbench::Ask::Question { answers } => answers.clone(),
                    lugwise::workbench::Ask::Measure(_) => panic!("no question is asked"),
                };
                let answer = answers.iter().position(|a| a == answer).unwrap();
                bench.decide(&Command::Answer { answer }, &record.at).unwrap()
            }
            (_, Some(command)) => bench.decide(&command, &record.at).unwrap(),
            (_, None) => continue,
        };
        let last = as_kept(decided.last().unwrap(), record);
        assert!(rewriting() || last == *record, "recorded then: {record:#?}\ndecided today: {last:#?}");
        bench.absorb(decided).unwrap();
    }
    if rewriting() {
        rewrite(bench.job(), &parsed.records);
        return;
    }
    let replayed = Job::replay(parsed.records.clone()).unwrap();
    let kept = bench.job().records().iter().zip(replayed.records()).map(|(today, then)| as_kept(today, then));
    assert_eq!(kept.collect::<Vec<_>>(), replayed.records());
    assert_eq!(bench.job().records().len(), replayed.records().len());
    assert!(bench.view().closed.as_ref().unwrap().contains("cured"));
    assert!(intake.instrument.contains("invented"), "invented data is called invented");
}

#[test]
fn the_end_of_the_tree_is_said_at_the_reading_that_ends_it_and_never_again() {
    let records = parse(DEMONSTRATION).unwrap().records;
    let Event::Started { intake, .. } = &records[0].event else { panic!("no intake") };
    let engine = Workbench::engine_for(intake, &built_in_trees().unwrap()).unwrap();
    let ended = |count: usize| {
        let bench = Workbench::resume(engine.clone(), records[..count].to_vec()).unwrap();
        bench.view().notices.iter().filter(|notice| notice.contains("has come to its end")).count()
    };
    let readings = (1..=records.len()).filter(|n| matches!(records[n - 1].event, Event::Read { .. }));
    let told: Vec<usize> = readings.map(ended).collect();
    assert!(told.len() >= 4, "{told:?}");
    assert_eq!(told[..2], [0, 1], "the second reading ends the tree");
    assert!(told[2..].iter().all(|count| *count == 0), "{told:?}");
}
