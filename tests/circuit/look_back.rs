//! A reading looked at later is shown as it was when it was taken.

use std::sync::Arc;

use lugwise::circuit::built_in;
use lugwise::job::{Event, ReadingId};
use lugwise::readings::{Measurement, Symptom};
use lugwise::workbench::{Command, LookBack, Workbench};

use crate::asked::{NOW, intake, typed};

fn bench() -> Workbench {
    let (name, text) = built_in().iter().find(|(name, _)| *name == "one-pickup.ron").unwrap();
    let mut intake = intake(name, text);
    intake.symptoms = vec![Symptom::Silent];
    let engine = Workbench::engine_for(&intake, &[]).unwrap();
    let first = Workbench::first_record(&engine, intake, NOW).unwrap();
    Workbench::resume(Arc::clone(&engine), vec![first]).unwrap()
}

fn does(bench: &mut Workbench, command: &Command) {
    let records = bench.decide(command, NOW).unwrap();
    bench.absorb(records).unwrap();
}

fn back(bench: &Workbench, id: u32) -> LookBack {
    bench.look_back(ReadingId(id)).unwrap().expect("a reading of this number")
}

/// Records what an open coil makes the meter show at the plug.
fn read_at_the_plug(bench: &mut Workbench) {
    let asked = Measurement::at_the_plug(bench.engine().harness());
    let text = typed(bench.engine(), &asked, "pickup/coil open");
    does(bench, &Command::Record { text, measurement: Some(asked) });
}

/// Records what it makes the meter show at the step on the screen.
fn read_what_is_asked(bench: &mut Workbench) {
    let step = bench.view().reading_asked().expect("something is asked");
    let lugwise::workbench::Ask::Measure(asked) = step.ask.clone() else { panic!("a question is asked") };
    let text = typed(bench.engine(), &asked, "pickup/coil open");
    does(bench, &Command::Record { text, measurement: Some(asked) });
}

#[test]
fn the_bands_are_those_of_the_step_that_asked() {
    let mut bench = bench();
    let foretold = bench.view().reading_asked().unwrap().predictions.clone();
    read_what_is_asked(&mut bench);
    assert_eq!(back(&bench, 1).bands, foretold);
}

// By hand: 6.2 kilohms of the coil beside 250 kilohms of the track are 6.05 kilohms.
#[test]
fn it_says_what_was_healthy_and_how_the_suspects_stood() {
    let mut bench = bench();
    let before = bench.job().leaders().to_vec();
    read_at_the_plug(&mut bench);
    let back = back(&bench, 1);
    let ends = [back.healthy.low, back.healthy.high].map(|end| end.unwrap().get());
    assert!(ends[0] < 6050.0 && 6050.0 < ends[1], "{ends:?}");
    assert_eq!(back.before, before);
    assert_eq!(back.after, bench.job().leaders());
    assert!(back.bits > 0.5, "an open coil or wire is told from all else: {} bits", back.bits);
}

#[test]
fn what_comes_later_changes_nothing_of_it() {
    let mut bench = bench();
    read_at_the_plug(&mut bench);
    let first = back(&bench, 1);
    read_what_is_asked(&mut bench);
    assert_eq!(back(&bench, 1), first);
    does(&mut bench, &Command::Withdraw { id: ReadingId(2), reason: "wrong lug".to_owned() });
    assert_eq!(back(&bench, 1), first);
    assert_eq!(back(&bench, 2).before, first.after, "a reading that was withdrawn can be looked at too");
    for command in [Command::Undo, Command::Undo, Command::Undo, Command::Redo] {
        does(&mut bench, &command);
    }
    assert_eq!(back(&bench, 1), first);
}

#[test]
fn a_corrected_reading_is_shown_as_corrected() {
    let mut bench = bench();
    read_at_the_plug(&mut bench);
    let first = back(&bench, 1);
    read_what_is_asked(&mut bench);
    does(&mut bench, &Command::Correct { id: ReadingId(1), text: "OL".to_owned() });
    let corrected = back(&bench, 1);
    assert_eq!((&corrected.bands, &corrected.before), (&first.bands, &first.before));
    assert_ne!(corrected.after, first.after);
    assert_eq!(corrected.found, "over range");
    let recorded = bench.job().counting().find_map(|record| match &record.event {
        Event::Read { id: ReadingId(1), leaders, .. } => Some(leaders.clone()),
        _ => None,
    });
    assert_eq!(recorded, Some(first.after));
}

#[test]
fn a_number_that_no_reading_has_is_none() {
    assert!(bench().look_back(ReadingId(7)).unwrap().is_none());
}
