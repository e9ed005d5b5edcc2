//! Whole tickets from whole jobs: complete, harmless whatever was typed, and the same every time.

use lugwise::circuit::built_in;
use lugwise::job::{
    Band, Event, Intake, Job, Outcome, ReadingId, Record, Speaker, Standing, Tone, TonePoint,
};
use lugwise::readings::{Access, Measurement, Mode, Reading, Setting, Stand, Symptom, parse_entry};
use lugwise::ticket::{Ticket, TicketError, html, markdown};
use lugwise::units::{Farads, Hertz, Ohms};
use rstest::rstest;

fn wiring(name: &str) -> String {
    let file = format!("{name}.ron");
    let found = built_in().iter().find(|(known, _)| *known == file);
    found.map(|(_, text)| (*text).to_owned()).unwrap()
}

/// Words for every field that a person fills in.
struct Words {
    complaint: String,
    instrument: String,
    reason: String,
    typed: String,
}

impl Words {
    /// The same words in every field.
    fn all(text: &str) -> Self {
        let text = || text.to_owned();
        Self { complaint: text(), instrument: text(), reason: text(), typed: text() }
    }

    fn plain() -> Self {
        Self {
            complaint: "quiet since it fell on its plug".to_owned(),
            instrument: "school loan guitar no. 4 (invented)".to_owned(),
            reason: "probe slipped".to_owned(),
            typed: "7.42k".to_owned(),
        }
    }
}

fn band(low: f64, high: f64) -> Band {
    Band {
        ohms: Some(Ohms::new((low + high) / 2.0)),
        low: Some(Ohms::new(low)),
        high: Some(Ohms::new(high)),
        ..Band::default()
    }
}

fn reading(typed: &str, shown_as: &str, flex: Option<&str>) -> Reading {
    let setting = Setting::default()
        .with("selector", Stand::At("neck".to_owned()))
        .with("neck volume", Stand::Knob(10));
    let still = Measurement::ohms("plug.tip", "plug.sleeve", setting);
    let measurement = Measurement { flex: flex.map(str::to_owned), ..still };
    let shown = parse_entry(shown_as, Mode::Resistance, flex.is_some()).unwrap();
    Reading { measurement, typed: typed.to_owned(), shown }
}

fn leaders(first: f64, words: &str) -> Vec<Standing> {
    let standing = |probability, sentence: &str, fault: &str| Standing {
        probability,
        sentence: sentence.to_owned(),
        faults: vec![fault.to_owned()],
    };
    vec![
        standing(first, words, "jack.sleeve/joint open"),
        standing(0.05, "the tip lead is off", "jack.tip/joint open"),
        standing(0.02, "the plug is dirty", "plug.tip/dirty"),
        standing(0.01, "a fourth suspect", "jack.tip/joint high"),
    ]
}

fn started(words: &Words) -> Event {
    Event::Started {
        format: 1,
        intake: Box::new(Intake {
            wiring: "two-humbuckers".to_owned(),
            wiring_text: wiring("two-humbuckers"),
            priors_text: None,
            trees_text: Vec::new(),
            instrument: words.instrument.clone(),
            customer: words.reason.clone(),
            complaint: words.complaint.clone(),
            symptoms: vec![Symptom::Weak, Symptom::Hum],
            last_done: words.reason.clone(),
            access: Access::Outside,
            meter: "4000 counts".to_owned(),
            technician: words.reason.clone(),
        }),
        leaders: leaders(0.2, "the joint on the jack's sleeve is open"),
    }
}

fn read(id: u32, typed: &str, shown_as: &str, first: f64, words: &str) -> Event {
    Event::Read {
        id: ReadingId(id),
        reading: reading(typed, shown_as, None),
        asked_by: if id == 1 { Speaker::Tree } else { Speaker::Advisor },
        healthy: band(7.1e3, 7.9e3),
        leaders: leaders(first, words),
        seconds: 90.0,
    }
}

fn finding(words: &Words) -> Vec<Event> {
    let sentence = "the joint on the jack's sleeve is open";
    vec![
        started(words),
        Event::CautionSeen {
            key: "unplug".to_owned(),
            text: format!("Unplug the amplifier. {}", words.reason),
        },
        read(1, &words.typed, "7.42k", 0.4, sentence),
        read(2, "OL", "OL", 0.6, sentence),
        Event::Corrected {
            id: ReadingId(2),
            reading: reading("0.44M", "0.44M", None),
            healthy: band(7.1e3, 7.9e3),
            leaders: leaders(0.7, sentence),
        },
        read(3, "12", "12 ohm", 0.3, sentence),
        Event::Withdrawn { id: ReadingId(3), reason: words.reason.clone(), leaders: leaders(0.7, sentence) },
        Event::AccessChanged { access: Access::MayOpen },
        Event::Opened { place: "control cavity".to_owned() },
        Event::Skipped {
            measurement: reading("", "1k", Some("plug")).measurement,
            reason: words.reason.clone(),
        },
        Event::Answered {
            tree: "hum".to_owned(),
            step: "touch".to_owned(),
            question: "Does the hum stop when the strings are touched?".to_owned(),
            answer: words.reason.clone(),
        },
    ]
}

fn mending(words: &Words, passed: bool) -> Vec<Event> {
    vec![
        Event::Concluded {
            faults: vec!["jack.sleeve/joint open".to_owned()],
            sentence: "the joint on the jack's sleeve is open".to_owned(),
            probability: 0.93,
            repair: "Solder the sleeve lug again".to_owned(),
            minutes: 10.0,
            tone: None,
            found: Vec::new(),
        },
        Event::Repaired { what: words.reason.clone(), minutes: 12.0 },
        Event::Proved { reading: reading("7.45k", "7.45k", None), healthy: band(7.1e3, 7.9e3), passed: true },
        Event::Proved {
            reading: reading("7.4k 7.5k", "7.4k to 7.5k", Some("plug")),
            healthy: band(7.1e3, 7.9e3),
            passed,
        },
    ]
}

fn job(events: Vec<Event>) -> Job {
    let record = |(i, event): (usize, Event)| Record { at: format!("2026-03-02T09:{i:02}:05Z"), event };
    Job::replay(events.into_iter().enumerate().map(record).collect()).unwrap()
}

fn whole(words: &Words) -> Job {
    let closed = Event::Closed { outcome: Outcome::Unproven { reason: words.reason.clone() } };
    job([finding(words), mending(words, false), vec![closed]].concat())
}

fn both(job: &Job) -> [String; 2] {
    let ticket = Ticket::from_job(job).unwrap();
    [markdown(&ticket), html(&ticket)]
}

/// Returns the text of a page without its markup, entities resolved.
fn seen(page: &str) -> String {
    let body = page.split("</style>").last().unwrap();
    let texts = body.split('<').map(|piece| piece.split_once('>').map_or(piece, |(_, text)| text));
    let text: String = texts.collect();
    let entities = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#39;", "'"), ("&amp;", "&")];
    entities.iter().fold(text, |text, (entity, c)| text.replace(entity, c))
}

/// Two invented curves.
fn tone(sentence: &str) -> Tone {
    let point = |(hertz, healthy, faulty)| TonePoint { hertz: Hertz::new(hertz), healthy, faulty };
    let points = [(40.0, -0.5, -0.1), (250.0, -0.4, 0.9), (3150.0, 3.1, -33.2), (15_000.0, -27.0, -60.2)];
    Tone {
        setting: "selector neck, all knobs at 10".to_owned(),
        cable: Farads::new(500e-12),
        input: Ohms::new(1e6),
        points: points.map(point).to_vec(),
        level: 1.3,
        treble: -36.3,
        sentence: sentence.to_owned(),
    }
}

#[test]
fn the_sound_is_told_where_the_job_keeps_it() {
    let words = Words::plain();
    let [md, page] = both(&whole(&words));
    assert!(!md.contains("## Sound") && !page.contains("<h2>Sound</h2>"));
    let mut events = [finding(&words), mending(&words, true)].concat();
    for event in &mut events {
        if let Event::Concluded { tone: kept, .. } = event {
            *kept = Some(Box::new(tone("treble 36 dB <down>, level 1 dB up")));
        }
    }
    let [md, page] = both(&job(events));
    if let Ok(folder) = std::env::var("LOOK") {
        std::fs::write(format!("{folder}/sound.html"), &page).unwrap();
    }
    for words in
        ["| 3.15 kHz | 3.1 dB | −33.2 dB |", "500 pF of cable into 1.00 MΩ", "&lt;down&gt;, level 1 dB up"]
    {
        assert!(md.contains(words), "{words} is missing in\n{md}");
    }
    let section = page.split_once("<h2>Sound</h2>").unwrap().1.split_once("</section>").unwrap().0;
    for words in [
        "&lt;down&gt;, level 1 dB up",
        "<polyline",
        "stroke-dasharray:9 5",
        "fault: dashed",
        "the fault's is dashed",
    ] {
        assert!(section.contains(words), "{words} is missing in\n{section}");
    }
}

#[test]
fn a_ticket_tells_the_whole_job() {
    let [md, page] = both(&whole(&Words::plain()));
    if let Ok(folder) = std::env::var("LOOK") {
        std::fs::write(format!("{folder}/ticket.html"), &page).unwrap();
        std::fs::write(format!("{folder}/ticket.md"), &md).unwrap();
    }
    let (md, page) = (md.replace('\\', "").replace("**", ""), seen(&page));
    for words in [
        "quiet since it fell on its plug",
        "school loan guitar no. 4 (invented)",
        "sounds, but quietly, hums or buzzes",
        "4000 counts",
        "instrument here, nothing may be opened",
        "covers may come off",
        "control cavity",
        "2026-03-02 09:00:05 UTC",
        "asked by",
        "tree",
        "advisor",
        "7.10 kΩ to 7.90 kΩ",
        "typed “7.42k”",
        "7.42 kΩ, steady",
        "corrected, before “OL”",
        "withdrawn: probe slipped",
        "correcting reading 2",
        "withdrawing reading 3",
        "the complaint",
        "Does the hum stop when the strings are touched?",
        "jack.sleeve/joint open",
        "93 %",
        "Solder the sleeve lug again",
        "about 10 min",
        "Took 12 min",
        "passed",
        "failed",
        "moving between 7.4 kΩ and 7.5 kΩ",
        "Unplug the amplifier.",
        "Closed unproven",
    ] {
        assert!(md.contains(words), "{words:?} is not in the Markdown:\n{md}");
        assert!(page.contains(words), "{words:?} is not on the page:\n{page}");
    }
    assert!(!md.contains("a fourth suspect"), "only three suspects are told");
}

#[rstest]
#[case("", "instrument not named (Two humbuckers")]
#[case("  ", "instrument not named (Two humbuckers")]
#[case("loan guitar", "loan guitar")]
fn the_heading_is_never_empty(#[case] instrument: &str, #[case] heading: &str) {
    let words = Words { instrument: instrument.to_owned(), ..Words::plain() };
    let [md, page] = both(&job(finding(&words)));
    let title = md.lines().next().unwrap().replace('\\', "");
    assert!(title.starts_with(&format!("# Repair ticket: {heading}")), "{title}");
    let seen = seen(&page);
    let head = seen.split("Complaint").next().unwrap();
    assert!(head.contains(heading), "{head}");
}

/// How often faults turn up decides who is suspected first: whoever reads the ticket must know whose figures these are.
#[test]
fn own_priors_in_use_are_named() {
    let mut first = started(&Words::plain());
    assert!(both(&job(vec![first.clone()])).iter().all(|text| !text.contains("priors of your own")));
    let Event::Started { intake, .. } = &mut first else { panic!("a job begins with its start") };
    intake.priors_text = Some("(format: 1)".to_owned());
    let [md, page] = both(&job(vec![first]));
    assert!(md.contains("- priors: priors of your own were in use"), "{md}");
    assert!(page.contains("<dt>priors</dt><dd>priors of your own were in use"), "{page}");
}

#[test]
fn a_cured_job_says_so_and_an_open_one_too() {
    let words = Words::plain();
    let cured = Event::Closed { outcome: Outcome::Cured };
    for text in both(&job([finding(&words), mending(&words, true), vec![cured]].concat())) {
        assert!(text.contains("Cured and proved"));
        assert!(!text.contains("failed"));
    }
    for text in both(&job(vec![started(&words)])) {
        assert!(text.contains("Still open"));
        assert!(!text.contains("Proof") && !text.contains("Fault"));
    }
}

#[test]
fn the_page_marks_the_fault_and_needs_nothing_from_outside() {
    let [_, page] = both(&whole(&Words::plain()));
    assert!(page.starts_with("<!DOCTYPE html>\n<html lang=\"en\">"));
    for forbidden in ["<script", "<link", "<img", "src=", "href", "@import", "url("] {
        assert!(!page.contains(forbidden), "{forbidden}");
    }
    assert_eq!(page.matches("://").count(), 1, "only the name of the SVG language");
    for wanted in [
        "<title>Repair ticket",
        "scope=\"col\"",
        "scope=\"row\"",
        "prefers-color-scheme: dark",
        "@media print",
    ] {
        assert!(page.contains(wanted), "{wanted}");
    }
    assert!(page.contains("Suspect, 93 %: sleeve"), "the picture says in words what it marks");
    assert_eq!(page.matches("<h1>").count(), 1);
}

#[test]
fn the_same_job_gives_the_same_bytes() {
    assert_eq!(both(&whole(&Words::plain())), both(&whole(&Words::plain())));
}

#[test]
fn html_in_any_field_stays_text() {
    let attack = "</td></script><script>alert('x')</script><img src=x onerror=\"alert(1)\">&lt;b&gt;";
    let [md, page] = both(&whole(&Words::all(attack)));
    for text in [&md, &page] {
        assert!(!text.contains("<script") && !text.contains("<img"), "{text}");
    }
    assert!(page.contains("&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;"), "it is still there to read");
    let tags = |page: &str| page.matches('<').count();
    assert_eq!(tags(&page), tags(&both(&whole(&Words::plain()))[1]), "no field adds a tag");
}

/// Returns every table row of a Markdown text as its number of cells, counted as a reader of Markdown does.
fn widths(md: &str) -> Vec<usize> {
    let cells = |line: &str| line.replace("\\\\", "").replace("\\|", "").matches('|').count() - 1;
    md.lines().filter(|line| line.starts_with('|')).map(cells).collect()
}

#[rstest]
#[case::pipes("a | b || c |---| d")]
#[case::escaped_pipes("a \\| b \\\\| c \\")]
#[case::newlines("one\ntwo\r\nthree\rfour\u{2028}five\n\n# six\n| seven |\n- eight\n2. nine")]
#[case::markup("**bold** _it_ `code` [a](http://b) ![c](d) ~~e~~ # f <!-- g")]
fn nothing_typed_breaks_a_markdown_table(#[case] text: &str) {
    let [plain, _] = both(&whole(&Words::plain()));
    let [md, page] = both(&whole(&Words::all(text)));
    assert_eq!(widths(&md), widths(&plain), "{md}");
    let starting = |md: &str, sign: &str| md.lines().filter(|line| line.starts_with(sign)).count();
    for sign in ["#", "- ", "> -", "> #", "> |", "2. ", "> 2. "] {
        assert_eq!(starting(&md, sign), starting(&plain, sign), "{sign:?} in {md}");
    }
    let bare = ["\\\\", "\\`", "\\*", "\\_", "\\[", "\\]", "\\!", "\\~"]
        .iter()
        .fold(md, |md, sign| md.replace(sign, ""));
    for sign in ["](", "`", "_", "~~", "![", "<!--"] {
        assert!(!bare.contains(sign), "{sign:?} in {bare}");
    }
    assert!(!page.contains('\r'));
}

#[test]
fn the_complaint_keeps_its_lines() {
    let mut words = Words::plain();
    words.complaint = "first\nsecond".to_owned();
    let [md, page] = both(&whole(&words));
    assert!(md.contains("> first\\\n> second\n"), "{md}");
    assert!(page.contains("first<br>second"));
}

#[rstest]
#[case::right_to_left_override('\u{202e}')]
#[case::left_to_right_embedding('\u{202a}')]
#[case::isolate('\u{2067}')]
#[case::mark('\u{200f}')]
#[case::nul('\u{0}')]
#[case::escape('\u{1b}')]
#[case::backspace('\u{8}')]
#[case::c1_control('\u{9b}')]
#[case::byte_order_mark('\u{feff}')]
fn controls_and_direction_marks_are_made_visible(#[case] control: char) {
    let text = format!("before{control}after");
    for document in both(&whole(&Words::all(&text))) {
        assert!(!document.contains(control));
        assert!(document.contains("before\u{fffd}after"));
    }
}

#[test]
fn formulas_queries_and_paths_are_words_like_any_others() {
    for text in [
        "=1+1",
        "@SUM(A1)",
        "'; DROP TABLE job; --",
        "../../etc/passwd",
        "C:\\x\\..\\y",
        "file:///etc/passwd",
    ] {
        let [_, page] = both(&whole(&Words::all(text)));
        let fields = seen(&both(&whole(&Words::all("zq7")))[1]).matches("zq7").count();
        assert_eq!(seen(&page).matches(text).count(), fields, "{text}");
    }
}

#[test]
fn a_megabyte_in_every_field_is_kept_whole() {
    let fields = both(&whole(&Words::all("zq7"))).map(|text| text.matches("zq7").count());
    assert!(fields.iter().all(|count| *count >= 8), "{fields:?}");
    let found = both(&whole(&Words::all(&"zq7 ".repeat(1 << 18)))).map(|text| text.matches("zq7").count());
    assert_eq!(found, fields.map(|count| count << 18));
}

#[test]
fn a_megabyte_of_text_is_kept_whole() {
    let mut words = Words::plain();
    words.complaint = "x<|".repeat(350_000);
    let [md, page] = both(&whole(&words));
    assert_eq!(md.matches("x&lt;\\|").count(), 350_000);
    assert_eq!(page.matches("x&lt;|").count(), 350_000);
}

#[test]
fn a_wiring_that_cannot_be_read_is_an_error_with_its_place() {
    let Event::Started { format, mut intake, leaders } = started(&Words::plain()) else { unreachable!() };
    intake.wiring_text = "(\n  nonsense".to_owned();
    let error = Ticket::from_job(&job(vec![Event::Started { format, intake, leaders }])).unwrap_err();
    let TicketError::Wiring { wiring, why } = &error;
    assert_eq!(wiring, "two-humbuckers");
    assert!(why.starts_with("two-humbuckers:"), "{why}");
    let message = "cannot make a ticket: the wiring \"two-humbuckers\" kept in the job cannot be read: ";
    assert!(error.to_string().starts_with(message), "{error}");
}
