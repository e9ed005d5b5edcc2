//! Where the battery is to be for a reading.

use super::BatteryView;
use crate::circuit::Harness;
use crate::readings::Mode;

/// Returns where the battery is to be for a reading after another; `None` on a wiring without a battery.
///
/// An instrument comes with its battery in.
pub(super) fn stand(harness: &Harness, mode: Mode, before: Option<Mode>) -> Option<BatteryView> {
    let (inside, was) = (mode.powered(), before.is_none_or(Mode::powered));
    harness.has_battery().then_some(BatteryView { inside, moved: inside != was })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Event, Intake, Record};
    use crate::readings::{Access, Check, Measurement, Meter, Setting, Symptom};
    use crate::workbench::{Command, Workbench};

    const ACTIVE: &str = include_str!("../../assets/wirings/active-volume-after-preamp.ron");
    const PASSIVE: &str = include_str!("../../assets/wirings/one-pickup.ron");

    fn bench(text: &str) -> Workbench {
        let intake = Intake {
            wiring: "a".to_owned(),
            wiring_text: text.to_owned(),
            priors_text: None,
            trees_text: Vec::new(),
            instrument: "an invented guitar".to_owned(),
            customer: String::new(),
            complaint: "no sound".to_owned(),
            symptoms: vec![Symptom::Silent],
            last_done: String::new(),
            access: Access::MayOpen,
            meter: Meter::ordinary().name.to_owned(),
            technician: String::new(),
        };
        let engine = Workbench::engine_for(&intake, &[]).unwrap();
        let first = Workbench::first_record(&engine, intake, "").unwrap();
        Workbench::resume(engine, vec![first]).unwrap()
    }

    fn at_the_plug(bench: &Workbench, mode: Mode) -> Measurement {
        let setting = Setting::reference(bench.engine().harness());
        Measurement { mode, ..Measurement::ohms("plug.tip", "plug.sleeve", setting) }
    }

    fn choose(bench: &mut Workbench, mode: Mode) {
        let event = Event::Chosen { measurement: at_the_plug(bench, mode) };
        bench.absorb(vec![Record { at: String::new(), event }]).unwrap();
    }

    fn does(bench: &mut Workbench, command: &Command) {
        let records = bench.decide(command, "").unwrap();
        bench.absorb(records).unwrap();
    }

    fn record(bench: &mut Workbench, mode: Mode, text: &str) {
        let measurement = Some(at_the_plug(bench, mode));
        does(bench, &Command::Record { text: text.to_owned(), measurement });
    }

    fn of_battery(bench: &Workbench) -> Vec<&str> {
        let keys = bench.view().cautions.iter().map(|caution| caution.key.as_str());
        keys.filter(|key| key.starts_with("battery")).collect()
    }

    fn told(bench: &Workbench) -> &'static str {
        bench.view().step.as_ref().unwrap().battery.unwrap().says()
    }

    // "Never apply power while measuring resistance": NEETS Module 3, p. 1-46.
    #[test]
    fn the_battery_is_out_for_ohms_and_in_for_volts_and_each_change_is_told() {
        let mut bench = bench(ACTIVE);
        for mode in [Mode::Resistance, Mode::Continuity, Mode::Capacitance] {
            choose(&mut bench, mode);
            assert_eq!(of_battery(&bench), ["battery-out"], "{mode:?}");
            assert_eq!(told(&bench), "Take the battery out of its clip", "{mode:?}");
        }
        does(&mut bench, &Command::SeeCaution { key: "battery-out".to_owned() });
        assert!(of_battery(&bench).is_empty());
        record(&mut bench, Mode::Resistance, "25k");
        choose(&mut bench, Mode::Continuity);
        assert_eq!(told(&bench), "Leave the battery out of its clip");
        for mode in [Mode::Current, Mode::Volts] {
            choose(&mut bench, mode);
            assert_eq!(of_battery(&bench), ["battery-in"], "{mode:?}");
            assert_eq!(told(&bench), "Put the battery in its clip", "{mode:?}");
        }
        does(&mut bench, &Command::SeeCaution { key: "battery-in".to_owned() });
        record(&mut bench, Mode::Volts, "0 V");
        choose(&mut bench, Mode::Capacitance);
        assert!(of_battery(&bench).is_empty(), "each caution is acknowledged once");
        assert_eq!(told(&bench), "Take the battery out of its clip");
    }

    // An instrument is heard through an amplifier: nothing of volts then.
    #[test]
    fn to_listen_the_battery_is_in() {
        let mut bench = bench(ACTIVE);
        record(&mut bench, Mode::Resistance, "25k");
        choose(&mut bench, Mode::Observe(Check::Sound));
        assert!(of_battery(&bench).is_empty());
        assert_eq!(told(&bench), "Put the battery in its clip");
    }

    #[test]
    fn the_proof_tells_where_the_battery_is_to_be() {
        let mut bench = bench(ACTIVE);
        let fault = bench.view().suspects[0].faults[..1].to_vec();
        does(&mut bench, &Command::Conclude { faults: fault });
        does(&mut bench, &Command::Repair { what: "a joint made anew".to_owned(), minutes: 5.0 });
        assert_eq!(of_battery(&bench), ["battery-out"]);
        let says: Vec<_> = bench.view().proof.iter().map(|proof| proof.battery.unwrap().says()).collect();
        assert_eq!(says[..2], ["Take the battery out of its clip", "Leave the battery out of its clip"]);
    }

    #[test]
    fn without_a_battery_there_is_no_word_of_it() {
        let mut bench = bench(PASSIVE);
        for mode in [Mode::Resistance, Mode::Capacitance] {
            choose(&mut bench, mode);
            assert!(bench.view().cautions.iter().all(|caution| !caution.text.contains("battery")));
            assert_eq!(bench.view().step.as_ref().unwrap().battery, None);
        }
        assert!(
            bench
                .engine()
                .audit(Access::MayOpen)
                .unwrap()
                .cautions
                .iter()
                .all(|c| !c.text.contains("battery"))
        );
    }
}
