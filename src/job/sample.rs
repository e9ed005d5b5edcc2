//! Invented events for the tests of this room. Every part is boxed: put together by value, they are too large for the
//! stack of a test.

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

fn ohms() -> BoxedStrategy<f64> {
    prop_oneof![Just(0.0), 0.0..1.0e7, Just(f64::MAX), Just(f64::MIN_POSITIVE)].boxed()
}

fn text() -> BoxedStrategy<String> {
    prop_oneof![any::<String>(), "[ -~\r\n\t\\\\\"]{0,20}", Just("a\u{2028}b\u{85}c\n".to_owned())].boxed()
}

fn level() -> BoxedStrategy<Level> {
    let value = (ohms(), ohms()).prop_map(|(value, resolution)| Level::Ohms {
        value: Ohms::new(value),
        resolution: Ohms::new(resolution),
    });
    prop_oneof![value, Just(Level::OverRange)].boxed()
}

fn any_reading() -> BoxedStrategy<Reading> {
    let shown = prop_oneof![
        level().prop_map(Shown::Steady),
        (level(), level()).prop_map(|(low, high)| Shown::Range { low, high }),
        any::<bool>().prop_map(Shown::Beep),
    ]
    .boxed();
    let stand = prop_oneof![(0_u8..=10).prop_map(Stand::Knob), text().prop_map(Stand::At)].boxed();
    let setting = prop::collection::btree_map(text(), stand, 0..4).prop_map(Setting).boxed();
    let flex = prop::option::of(text()).boxed();
    let made = |(ohms, red, black, setting, flex, typed, shown)| {
        let mode = if ohms { Mode::Resistance } else { Mode::Continuity };
        Reading {
            measurement: Measurement { mode, red, black, setting, flex, about: None, lifted: None },
            typed,
            shown,
        }
    };
    (any::<bool>(), text(), text(), setting, flex, text(), shown).prop_map(made).boxed()
}

fn access() -> BoxedStrategy<Access> {
    prop::sample::select(vec![Access::Telephone, Access::Outside, Access::MayOpen, Access::MayUnsolder])
        .boxed()
}

fn leaders() -> BoxedStrategy<Vec<Standing>> {
    let one = (0.0..=1.0, text(), prop::collection::vec(text(), 0..3))
        .prop_map(|(probability, sentence, faults)| Standing { probability, sentence, faults });
    prop::collection::vec(one, 0..3).boxed()
}

fn any_band() -> BoxedStrategy<Band> {
    let end = || prop::option::of(ohms().prop_map(Ohms::new)).boxed();
    let made = |(ohms, low, high)| Band { ohms, low, high, ..Band::default() };
    (end(), end(), end()).prop_map(made).boxed()
}

fn readings() -> BoxedStrategy<Event> {
    let id = || (1_u32..6).prop_map(ReadingId).boxed();
    let speaker = prop::sample::select(vec![Speaker::Tree, Speaker::Advisor, Speaker::Technician]);
    let read = |(id, reading, asked_by, healthy, leaders, seconds)| Event::Read {
        id,
        reading,
        asked_by,
        healthy,
        leaders,
        seconds,
    };
    let corrected = |(id, reading, healthy, leaders)| Event::Corrected { id, reading, healthy, leaders };
    let withdrawn = |(id, reason, leaders)| Event::Withdrawn { id, reason, leaders };
    prop_oneof![
        3 => (id(), any_reading(), speaker, any_band(), leaders(), ohms()).prop_map(read).boxed(),
        1 => (id(), any_reading(), any_band(), leaders()).prop_map(corrected).boxed(),
        1 => (id(), text(), leaders()).prop_map(withdrawn).boxed(),
    ]
    .boxed()
}

fn any_tone() -> BoxedStrategy<Tone> {
    let level = || (-1200_i32..300).prop_map(|tenths| f64::from(tenths) / 10.0).boxed();
    let point = (40.0..15e3_f64, level(), level()).prop_map(|(hertz, healthy, faulty)| TonePoint {
        hertz: Hertz::new(hertz),
        healthy,
        faulty,
    });
    let made = |(setting, points, level, treble, sentence)| Tone {
        setting,
        cable: Farads::new(500e-12),
        input: Ohms::new(1e6),
        points,
        level,
        treble,
        sentence,
    };
    let points = prop::collection::vec(point, 0..4).boxed();
    (text(), points, level(), level(), text()).prop_map(made).boxed()
}

fn money() -> BoxedStrategy<Money> {
    (0_i64..100_000_000).prop_map(Money::hundredths).boxed()
}

fn price_lines() -> BoxedStrategy<Vec<PriceLine>> {
    let line = (text(), any::<u32>(), money(), money())
        .prop_map(|(what, minutes, labour, parts)| PriceLine { what, minutes, labour, parts });
    prop::collection::vec(line, 0..3).boxed()
}

fn paper() -> BoxedStrategy<Event> {
    let how = prop::sample::select(Consent::ALL.to_vec());
    let estimated = |(lines, ceiling, per_hour, currency, said)| Event::Estimated {
        estimate: Estimate { lines, ceiling, per_hour, currency, said },
    };
    let authorised = |(by, how, ceiling, currency)| Event::Authorised { by, how, ceiling, currency };
    let billed = |(lines, total, currency)| Event::Billed { lines, total, currency };
    let photo =
        |(file, checksum, size, caption, print)| Event::PhotoAdded { file, checksum, size, caption, print };
    let earlier = |(job, opened, why)| Event::WarrantyOf { job, opened, why };
    prop_oneof![
        (price_lines(), money(), money(), text(), text()).prop_map(estimated).boxed(),
        (text(), how, money(), text()).prop_map(authorised).boxed(),
        (price_lines(), money(), text()).prop_map(billed).boxed(),
        (text(), text(), any::<u64>(), text(), any::<bool>()).prop_map(photo).boxed(),
        (text(), text(), text()).prop_map(earlier).boxed(),
    ]
    .boxed()
}

fn concluded() -> BoxedStrategy<Event> {
    let faults = prop::collection::vec(text(), 0..3).boxed();
    let tone = prop::option::of(any_tone().prop_map(Box::new)).boxed();
    let made = |(faults, sentence, probability, repair, minutes, tone)| Event::Concluded {
        faults,
        sentence,
        probability,
        repair,
        minutes,
        tone,
        found: vec!["a value".to_owned()],
    };
    (faults, text(), 0.0..=1.0, text(), ohms(), tone).prop_map(made).boxed()
}

fn ending() -> BoxedStrategy<Event> {
    let repaired = |(what, minutes)| Event::Repaired { what, minutes };
    let proved = |(reading, healthy, passed)| Event::Proved { reading, healthy, passed };
    let went_on = |(remains, leaders)| Event::SearchedOn { remains, symptoms: vec![Symptom::Weak], leaders };
    let unproven = |reason| Event::Closed { outcome: Outcome::Unproven { reason } };
    prop_oneof![
        concluded(),
        (text(), ohms()).prop_map(repaired).boxed(),
        (any_reading(), any_band(), any::<bool>()).prop_map(proved).boxed(),
        (text(), leaders()).prop_map(went_on).boxed(),
        Just(Event::Closed { outcome: Outcome::Cured }).boxed(),
        text().prop_map(unproven).boxed(),
    ]
    .boxed()
}

/// Any event that can follow the first.
pub(super) fn any_event() -> BoxedStrategy<Event> {
    let caution = |(key, text)| Event::CautionSeen { key, text };
    let known = |(part, typed, dial)| Event::Known { part, typed, ohms: Ohms::new(8100.0), dial };
    let skipped = |(dial, reason)| Event::Skipped { measurement: measurement(dial), reason };
    let tree = |(tree, text)| Event::TreeUsed { tree, text };
    let answered = |(tree, step, question, answer)| Event::Answered { tree, step, question, answer };
    let dial = prop::sample::select(vec![Dial::Ohms, Dial::Farads]);
    let small = prop_oneof![
        access().prop_map(|access| Event::AccessChanged { access }).boxed(),
        (text(), text()).prop_map(caution).boxed(),
        text().prop_map(|place| Event::Opened { place }).boxed(),
        (text(), text(), dial).prop_map(known).boxed(),
        (0_u8..3, text()).prop_map(skipped).boxed(),
        (text(), text()).prop_map(tree).boxed(),
        (text(), text(), text(), text()).prop_map(answered).boxed(),
    ]
    .boxed();
    prop_oneof![
        4 => readings(), 3 => small, 1 => paper(), 1 => ending(), 3 => Just(Event::Undone).boxed(),
        2 => Just(Event::Redone).boxed()
    ]
    .boxed()
}

/// Any whole list of events, some of which do not fit.
pub(super) fn any_records() -> BoxedStrategy<Vec<Record>> {
    let one = (text(), any_event()).prop_map(|(at, event)| Record { at, event }).boxed();
    prop::collection::vec(one, 0..25).boxed()
}
