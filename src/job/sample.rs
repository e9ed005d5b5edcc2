//! Invented events for the tests of this room.

use proptest::prelude::*;

use super::{
    Band, Consent, Estimate, Event, Intake, Outcome, PriceLine, ReadingId, Record, Speaker, Standing, Tone,
    TonePoint,
};
use crate::readings::{Access, Dial, Level, Measurement, Mode, Reading, Setting, Shown, Stand, Symptom};
use crate::units::{Farads, Hertz, Money, Ohms};

pub(super) fn record(event: Event) -> Record {
    Record { at: "2026-03-02T09:14:05Z".to_owned(), event }
}

pub(super) fn started() -> Record {
    let intake = Intake {
        wiring: "one-pickup".to_owned(),
        wiring_text: "(\n  \"a\"\n)".to_owned(),
        priors_text: None,
        trees_text: Vec::new(),
        instrument: "invented guitar".to_owned(),
        customer: String::new(),
        complaint: "no sound".to_owned(),
        symptoms: vec![Symptom::Silent],
        last_done: String::new(),
        access: Access::Outside,
        meter: "4000 counts".to_owned(),
        technician: String::new(),
    };
    let leaders = vec![standing(0.25)];
    record(Event::Started { format: 1, intake: Box::new(intake), leaders })
}

pub(super) fn standing(probability: f64) -> Standing {
    Standing {
        probability,
        sentence: "the tip lead is off".to_owned(),
        faults: vec!["jack.tip/joint open".to_owned()],
    }
}

pub(super) fn measurement(dial: u8) -> Measurement {
    Measurement::ohms("plug.tip", "plug.sleeve", Setting::default().with("volume", Stand::Knob(dial)))
}

pub(super) fn reading(dial: u8, ohms: f64) -> Reading {
    let level = Level::Ohms { value: Ohms::new(ohms), resolution: Ohms::new(10.0) };
    Reading { measurement: measurement(dial), typed: format!("{ohms}"), shown: Shown::Steady(level) }
}

pub(super) fn band(ohms: f64) -> Band {
    Band { ohms: Some(Ohms::new(ohms)), low: Some(Ohms::new(ohms * 0.9)), high: None, ..Band::default() }
}

pub(super) fn read(id: u32, dial: u8, ohms: f64) -> Event {
    Event::Read {
        id: ReadingId(id),
        reading: reading(dial, ohms),
        asked_by: Speaker::Tree,
        healthy: band(6050.0),
        leaders: vec![standing(0.5)],
        seconds: 30.0,
    }
}

fn ohms() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), 0.0..1.0e7, Just(f64::MAX), Just(f64::MIN_POSITIVE)]
}

fn text() -> impl Strategy<Value = String> {
    prop_oneof![any::<String>(), "[ -~\r\n\t\\\\\"]{0,20}", Just("a\u{2028}b\u{85}c\n".to_owned())]
}

fn level() -> impl Strategy<Value = Level> {
    let value = (ohms(), ohms()).prop_map(|(value, resolution)| Level::Ohms {
        value: Ohms::new(value),
        resolution: Ohms::new(resolution),
    });
    prop_oneof![value, Just(Level::OverRange)]
}

fn any_reading() -> impl Strategy<Value = Reading> {
    let shown = prop_oneof![
        level().prop_map(Shown::Steady),
        (level(), level()).prop_map(|(low, high)| Shown::Range { low, high }),
        any::<bool>().prop_map(Shown::Beep),
    ];
    let stand = prop_oneof![(0_u8..=10).prop_map(Stand::Knob), text().prop_map(Stand::At)];
    let setting = prop::collection::btree_map(text(), stand, 0..4).prop_map(Setting);
    let flex = prop::option::of(text());
    (any::<bool>(), text(), text(), setting, flex, text(), shown).prop_map(
        |(ohms, red, black, setting, flex, typed, shown)| {
            let mode = if ohms { Mode::Resistance } else { Mode::Continuity };
            Reading {
                measurement: Measurement { mode, red, black, setting, flex, about: None, lifted: None },
                typed,
                shown,
            }
        },
    )
}

fn access() -> impl Strategy<Value = Access> {
    prop::sample::select(vec![Access::Telephone, Access::Outside, Access::MayOpen, Access::MayUnsolder])
}

fn leaders() -> impl Strategy<Value = Vec<Standing>> {
    let one = (0.0..=1.0, text(), prop::collection::vec(text(), 0..3))
        .prop_map(|(probability, sentence, faults)| Standing { probability, sentence, faults });
    prop::collection::vec(one, 0..3)
}

fn any_band() -> impl Strategy<Value = Band> {
    let end = || prop::option::of(ohms().prop_map(Ohms::new));
    (end(), end(), end()).prop_map(|(ohms, low, high)| Band { ohms, low, high, ..Band::default() })
}

fn readings() -> impl Strategy<Value = Event> {
    let id = || (1_u32..6).prop_map(ReadingId);
    let speaker = prop::sample::select(vec![Speaker::Tree, Speaker::Advisor, Speaker::Technician]);
    prop_oneof![
        3 => (id(), any_reading(), speaker, any_band(), leaders(), ohms()).prop_map(
            |(id, reading, asked_by, healthy, leaders, seconds)| Event::Read {
                id, reading, asked_by, healthy, leaders, seconds
            }),
        1 => (id(), any_reading(), any_band(), leaders()).prop_map(
            |(id, reading, healthy, leaders)| Event::Corrected { id, reading, healthy, leaders }),
        1 => (id(), text(), leaders()).prop_map(|(id, reason, leaders)| Event::Withdrawn { id, reason, leaders }),
    ]
}

fn any_tone() -> impl Strategy<Value = Tone> {
    let level = || (-1200_i32..300).prop_map(|tenths| f64::from(tenths) / 10.0);
    let point = (40.0..15e3_f64, level(), level()).prop_map(|(hertz, healthy, faulty)| TonePoint {
        hertz: Hertz::new(hertz),
        healthy,
        faulty,
    });
    (text(), prop::collection::vec(point, 0..4), level(), level(), text()).prop_map(
        |(setting, points, level, treble, sentence)| Tone {
            setting,
            cable: Farads::new(500e-12),
            input: Ohms::new(1e6),
            points,
            level,
            treble,
            sentence,
        },
    )
}

fn money() -> impl Strategy<Value = Money> {
    (0_i64..100_000_000).prop_map(Money::hundredths)
}

fn price_lines() -> impl Strategy<Value = Vec<PriceLine>> {
    let line = (text(), any::<u32>(), money(), money())
        .prop_map(|(what, minutes, labour, parts)| PriceLine { what, minutes, labour, parts });
    prop::collection::vec(line, 0..3)
}

fn paper() -> impl Strategy<Value = Event> {
    let how = prop::sample::select(Consent::ALL.to_vec());
    prop_oneof![
        (price_lines(), money(), money(), text(), text()).prop_map(
            |(lines, ceiling, per_hour, currency, said)| Event::Estimated {
                estimate: Estimate { lines, ceiling, per_hour, currency, said }
            }
        ),
        (text(), how, money(), text()).prop_map(|(by, how, ceiling, currency)| Event::Authorised {
            by,
            how,
            ceiling,
            currency
        }),
        (price_lines(), money(), text()).prop_map(|(lines, total, currency)| Event::Billed {
            lines,
            total,
            currency
        }),
        (text(), text(), any::<u64>(), text(), any::<bool>()).prop_map(
            |(file, checksum, size, caption, print)| Event::PhotoAdded {
                file,
                checksum,
                size,
                caption,
                print
            }
        ),
        (text(), text(), text()).prop_map(|(job, opened, why)| Event::WarrantyOf { job, opened, why }),
    ]
}

fn ending() -> impl Strategy<Value = Event> {
    let faults = prop::collection::vec(text(), 0..3);
    prop_oneof![
        (faults, text(), 0.0..=1.0, text(), ohms(), prop::option::of(any_tone())).prop_map(
            |(faults, sentence, probability, repair, minutes, tone)| Event::Concluded {
                faults,
                sentence,
                probability,
                repair,
                minutes,
                tone: tone.map(Box::new),
                found: vec!["a value".to_owned()],
            }
        ),
        (text(), ohms()).prop_map(|(what, minutes)| Event::Repaired { what, minutes }),
        (any_reading(), any_band(), any::<bool>()).prop_map(|(reading, healthy, passed)| Event::Proved {
            reading,
            healthy,
            passed
        }),
        (text(), leaders()).prop_map(|(remains, leaders)| Event::SearchedOn {
            remains,
            symptoms: vec![Symptom::Weak],
            leaders
        }),
        Just(Event::Closed { outcome: Outcome::Cured }),
        text().prop_map(|reason| Event::Closed { outcome: Outcome::Unproven { reason } }),
    ]
}

/// Any event that can follow the first.
pub(super) fn any_event() -> impl Strategy<Value = Event> {
    let small = prop_oneof![
        access().prop_map(|access| Event::AccessChanged { access }),
        (text(), text()).prop_map(|(key, text)| Event::CautionSeen { key, text }),
        text().prop_map(|place| Event::Opened { place }),
        (text(), text(), prop_oneof![Just(Dial::Ohms), Just(Dial::Farads)])
            .prop_map(|(part, typed, dial)| Event::Known { part, typed, ohms: Ohms::new(8100.0), dial }),
        (0_u8..3, text())
            .prop_map(|(dial, reason)| Event::Skipped { measurement: measurement(dial), reason }),
        (text(), text()).prop_map(|(tree, text)| Event::TreeUsed { tree, text }),
        (text(), text(), text(), text()).prop_map(|(tree, step, question, answer)| Event::Answered {
            tree,
            step,
            question,
            answer
        }),
    ];
    prop_oneof![
        4 => readings(), 3 => small, 1 => paper(), 1 => ending(), 3 => Just(Event::Undone),
        2 => Just(Event::Redone)
    ]
}

/// Any whole list of events, some of which do not fit.
pub(super) fn any_records() -> impl Strategy<Value = Vec<Record>> {
    prop::collection::vec((text(), any_event()).prop_map(|(at, event)| Record { at, event }), 0..25)
}
