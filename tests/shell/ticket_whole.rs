//! A whole job for the tests of printed tickets, with everything in it that a ticket can tell.

use lugwise::circuit::built_in;
use lugwise::job::{
    Band, Consent, Estimate, Event, Intake, Job, Outcome, PriceLine, ReadingId, Record, Speaker, Standing,
    Tone, TonePoint,
};
use lugwise::readings::{Access, Dial, Measurement, Mode, Reading, Setting, Stand, Symptom, parse_entry};
use lugwise::units::{Farads, Hertz, Money, Ohms};

pub const FAULT: &str = "the joint on the jack's sleeve is open";

fn band(low: f64, high: f64) -> Band {
    let [ohms, low, high] = [(low + high) / 2.0, low, high].map(|value| Some(Ohms::new(value)));
    Band { ohms, low, high, ..Band::default() }
}

pub fn reading(typed: &str) -> Reading {
    let setting = Setting::default()
        .with("selector", Stand::At("neck".to_owned()))
        .with("neck volume", Stand::Knob(10));
    let measurement = Measurement::ohms("plug.tip", "plug.sleeve", setting);
    let shown = parse_entry(typed, Mode::Resistance, false).unwrap();
    Reading { measurement, typed: typed.to_owned(), shown }
}

pub fn started(words: &str) -> Event {
    let (_, text) = built_in().iter().find(|(name, _)| *name == "two-humbuckers.ron").unwrap();
    let words = || words.to_owned();
    Event::Started {
        format: 1,
        intake: Box::new(Intake {
            wiring: "two-humbuckers".to_owned(),
            wiring_text: (*text).to_owned(),
            priors_text: None,
            trees_text: Vec::new(),
            instrument: words(),
            customer: words(),
            complaint: words(),
            symptoms: vec![Symptom::Hum],
            last_done: words(),
            access: Access::MayOpen,
            meter: "handheld".to_owned(),
            technician: words(),
        }),
        leaders: Vec::new(),
    }
}

/// Returns what is typed for a reading, another value for each number.
pub fn typed(number: u32) -> String {
    format!("{}.{:02}k", 1 + number / 100, number % 100)
}

pub fn read(number: u32) -> Event {
    let leader = Standing {
        probability: 0.6,
        sentence: FAULT.to_owned(),
        faults: vec!["jack.sleeve/joint open".to_owned()],
    };
    Event::Read {
        id: ReadingId(number),
        reading: reading(&typed(number)),
        asked_by: Speaker::Advisor,
        healthy: band(7.1e3, 7.9e3),
        leaders: vec![leader],
        seconds: 60.0,
    }
}

/// Two invented curves.
fn tone() -> Tone {
    let point = |(hertz, healthy, faulty)| TonePoint { hertz: Hertz::new(hertz), healthy, faulty };
    let points = [(40.0, -0.5, -0.1), (250.0, -0.4, 0.9), (3150.0, 3.1, -33.2), (15_000.0, -27.0, -60.2)];
    Tone {
        setting: "selector neck, all knobs at 10".to_owned(),
        cable: Farads::new(500e-12),
        input: Ohms::new(1e6),
        points: points.map(point).to_vec(),
        level: 1.3,
        treble: -36.3,
        sentence: "treble 36 dB down".to_owned(),
    }
}

fn line(what: &str, minutes: u32, labour: i64, parts: i64) -> PriceLine {
    let [labour, parts] = [labour, parts].map(Money::hundredths);
    PriceLine { what: what.to_owned(), minutes, labour, parts }
}

fn paper(words: &str) -> Vec<Event> {
    let (currency, ceiling) = ("EUR".to_owned(), Money::hundredths(6000));
    let lines = vec![line("solder the jack", 20, 2000, 0), line(words, 0, 0, 850)];
    let estimate = Estimate {
        lines: lines.clone(),
        ceiling,
        per_hour: Money::hundredths(6000),
        currency: currency.clone(),
        said: words.to_owned(),
    };
    vec![
        Event::Estimated { estimate },
        Event::Authorised {
            by: words.to_owned(),
            how: Consent::Telephone,
            ceiling,
            currency: currency.clone(),
        },
        Event::Billed { lines, total: Money::hundredths(2850), currency },
        Event::WarrantyOf {
            job: "earlier.job".to_owned(),
            opened: "2026-01-02T10:00:00Z".to_owned(),
            why: words.to_owned(),
        },
        photo("described.png", words, true),
        photo("bare.png", "", true),
        photo("kept.png", words, false),
    ]
}

fn photo(file: &str, caption: &str, print: bool) -> Event {
    let (file, checksum, caption) = (file.to_owned(), "00".repeat(32), caption.to_owned());
    Event::PhotoAdded { file, checksum, size: 3, caption, print }
}

/// What a job holds beside its readings, and what becomes of the first two of them.
fn beside(words: &str, readings: u32) -> Vec<Event> {
    let said = || words.to_owned();
    let mut all = vec![
        Event::CautionSeen { key: "amplifier".to_owned(), text: said() },
        Event::Opened { place: said() },
        Event::Known { part: said(), typed: "7.5k".to_owned(), ohms: Ohms::new(7.5e3), dial: Dial::Ohms },
        Event::Answered { tree: said(), step: said(), question: said(), answer: said() },
    ];
    if readings > 1 {
        let (reading, healthy) = (reading(&typed(1)), band(7.1e3, 7.9e3));
        all.push(Event::Corrected { id: ReadingId(1), reading, healthy, leaders: Vec::new() });
        all.push(Event::Withdrawn { id: ReadingId(2), reason: said(), leaders: Vec::new() });
    }
    all
}

pub fn mended(words: &str, passed: bool) -> Vec<Event> {
    let named = Event::Concluded {
        faults: vec!["jack.sleeve/joint open".to_owned()],
        sentence: FAULT.to_owned(),
        probability: 0.93,
        repair: "Solder the sleeve lug again".to_owned(),
        minutes: 10.0,
        tone: Some(Box::new(tone())),
        found: Vec::new(),
    };
    let repaired = Event::Repaired { what: format!("soldered it again. {words}"), minutes: 12.0 };
    let proved = Event::Proved { reading: reading("7.45k"), healthy: band(7.1e3, 7.9e3), passed };
    vec![named, repaired, proved]
}

pub fn job(events: Vec<Event>) -> Job {
    let record = |event: Event| Record { at: "2026-03-02T09:14:05Z".to_owned(), event };
    Job::replay(events.into_iter().map(record).collect()).unwrap()
}

/// Returns a whole job with so many readings, and these words in every field that a person fills in: a first repair was
/// not all, and the proof of the second was measured twice.
pub fn whole(words: &str, readings: u32) -> Job {
    let reads = (1..=readings).map(read).collect();
    let on =
        Event::SearchedOn { remains: words.to_owned(), symptoms: vec![Symptom::Hum], leaders: Vec::new() };
    let again = Event::Proved { reading: reading("7.46k"), healthy: band(7.1e3, 7.9e3), passed: true };
    let parts = [
        vec![started(words)],
        reads,
        beside(words, readings),
        paper(words),
        mended(words, false),
        vec![on],
        mended(words, true),
        vec![again, Event::Closed { outcome: Outcome::Cured }],
    ];
    job(parts.concat())
}
