//! Two faults at once: what no single fault explains is explained by a pair of them.

use std::sync::Arc;

use lugwise::circuit::built_in;
use lugwise::faults::{FaultId, Kind};
use lugwise::job::{Band, Intake};
use lugwise::prediction::Behaviour;
use lugwise::readings::{Access, Measurement, Mode, Said, Symptom};
use lugwise::workbench::{Ask, Command, Engine, Workbench};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

const NOW: &str = "2026-03-02T09:00:00Z";
const MOST: usize = 40;

fn intake(wiring: &str, symptom: Symptom) -> Intake {
    let (name, text) = built_in().iter().find(|(name, _)| name.trim_end_matches(".ron") == wiring).unwrap();
    Intake {
        wiring: name.trim_end_matches(".ron").to_owned(),
        wiring_text: (*text).to_owned(),
        priors_text: None,
        instrument: "an invented one".to_owned(),
        customer: String::new(),
        complaint: String::new(),
        symptoms: vec![symptom],
        last_done: String::new(),
        access: Access::MayUnsolder,
        meter: "handheld".to_owned(),
        technician: String::new(),
    }
}

/// Returns what is typed when the meter shows what is foretold.
fn typed(measurement: &Measurement, band: &Band) -> String {
    let unit = match measurement.mode {
        Mode::Capacitance => "F",
        Mode::Volts => "V",
        Mode::Current => "A",
        _ => "ohm",
    };
    match (band.said, band.ohms) {
        (Some(Said::Yes), _) => "yes".to_owned(),
        (Some(Said::No), _) => "no".to_owned(),
        (Some(Said::CannotTell), _) => "?".to_owned(),
        (None, Some(ohms)) => format!("{:.4} {unit}", ohms.get()),
        (None, None) => "ol".to_owned(),
    }
}

/// Plays the bench for two faults until the program is done; returns the ids of its three likeliest suspects.
fn played(
    singles: &Arc<Engine>,
    wiring: &str,
    pair: (FaultId, FaultId),
    symptom: Symptom,
) -> Vec<Vec<String>> {
    let truth = singles.with_pairs(&[pair]).unwrap();
    let id = truth.model.catalogue.faults.last().unwrap().id.clone();
    let first = Workbench::first_record(singles, intake(wiring, symptom), NOW).unwrap();
    let mut bench = Workbench::resume(Arc::clone(singles), vec![first]).unwrap();
    for _ in 0..MOST {
        let Some(step) = bench.view().reading_asked() else { break };
        let Ask::Measure(measurement) = step.ask.clone() else { break };
        let mut text = typed(&measurement, &truth.predict(&measurement, &id).unwrap());
        if measurement.mode == Mode::Continuity {
            text = if text.starts_with("ol") { "no beep" } else { "beep" }.to_owned();
        }
        let command = Command::Record { text, measurement: Some(measurement) };
        let records = bench.decide(&command, NOW).unwrap();
        bench.absorb(records).unwrap();
    }
    bench.view().suspects.iter().take(3).map(|suspect| suspect.faults.clone()).collect()
}

/// The steady faults of a wiring that a reading can show.
fn steady(engine: &Engine) -> Vec<FaultId> {
    let of = |fault: FaultId| {
        let mut forms = engine.model.hypotheses.list.iter();
        let form = forms.find(|h| h.faults.iter().any(|(f, _)| *f == fault)).unwrap();
        form.behaviour == Behaviour::Steady && form.state != 0
    };
    let known =
        |f: &FaultId| !matches!(engine.model.catalogue[*f].kind, Kind::NothingWrong | Kind::NotInCatalogue);
    (0..engine.model.catalogue.faults.len()).map(FaultId).filter(known).filter(|f| of(*f)).collect()
}

#[test]
fn a_pair_of_faults_is_among_the_likeliest_suspects() {
    let wiring = "one-pickup";
    let engine = Workbench::engine_for(&intake(wiring, Symptom::Weak), &[]).unwrap();
    let faults = steady(&engine);
    let mut rng = StdRng::seed_from_u64(41);
    let (mut found, mut played_out, mut missed) = (0, 0, Vec::new());
    while played_out < 20 {
        let one = faults[rng.random_range(0..faults.len())];
        let other = faults[rng.random_range(0..faults.len())];
        if engine.groups.of_fault[one.0] == engine.groups.of_fault[other.0] {
            continue;
        }
        played_out += 1;
        let suspects = played(&engine, wiring, (one, other), Symptom::Weak);
        let [a, b] = [one, other].map(|fault| engine.model.catalogue[fault].id.clone());
        let both = format!(
            "{} + {}",
            engine.model.catalogue[one.min(other)].id,
            engine.model.catalogue[one.max(other)].id
        );
        if suspects.iter().any(|ids| ids.contains(&both)) {
            found += 1;
        } else {
            missed.push(format!("{a} + {b}: {:?}", suspects.first()));
        }
    }
    println!("{wiring}: {found} of {played_out} pairs among the three likeliest");
    println!("{missed:#?}");
}
