//! Tickets to print: the same bytes every time, whole for a second reader, and harmless whatever was typed.

use std::collections::BTreeSet;
use std::io::Cursor;
use std::process::{Command, Stdio};

use lugwise::draw::{TreeMarks, wall_chart};
use lugwise::job::{Consent, Estimate, Event, Job, Outcome, Record, parse, to_line};
use lugwise::source::Source;
use lugwise::ticket::{
    Paper, PdfError, Shop, Ticket, TicketCopy, html, markdown, missing_letters, missing_said, pdf,
};
use lugwise::trees;
use lugwise::units::Money;
use rstest::rstest;

use crate::pdf_norm::Parts;
use crate::shell::{json, lugwise};
use crate::ticket_whole::{FAULT, job, mended, read, reading, started, typed, whole};

fn shop() -> Shop {
    Shop {
        name: "Invented Workshop".to_owned(),
        lines: vec!["1 Invented Street".to_owned()],
        warranty_days: 90,
        ..Shop::default()
    }
}

/// Returns the ticket of a job with the photos that are to be printed.
fn ticket(job: &Job) -> Ticket {
    let mut ticket = Ticket::from_job(job).unwrap();
    let printed = ticket.papers.photos.iter_mut().filter(|photo| photo.print);
    printed.for_each(|photo| photo.image = Some(image_file()));
    ticket
}

/// Returns an image of one colour as PNG.
fn image_file() -> Vec<u8> {
    let mut file = Cursor::new(Vec::new());
    let image = image::RgbImage::from_pixel(40, 20, image::Rgb([200, 30, 30]));
    image.write_to(&mut file, image::ImageFormat::Png).unwrap();
    file.into_inner()
}

fn printed(job: &Job, copy: TicketCopy, paper: Paper) -> Vec<u8> {
    pdf(&ticket(job), copy, paper, &shop()).unwrap()
}

/// Runs a program on a PDF file; `None`, with a word about it, when the program is not installed.
fn asked(program: &str, args: &[&str], file: &[u8]) -> Option<(bool, String)> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ticket.pdf");
    std::fs::write(&path, file).unwrap();
    let path = path.display().to_string();
    let args: Vec<&str> = args.iter().map(|arg| if *arg == "FILE" { path.as_str() } else { *arg }).collect();
    let Ok(output) = Command::new(program).args(args).stdin(Stdio::null()).output() else {
        eprintln!("{program} is not installed: what it would say of the ticket is not looked at");
        return None;
    };
    let told = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let errors = told(&output.stderr);
    let quiet = errors.lines().all(|line| line.starts_with("Fontconfig"));
    Some((output.status.success() && quiet, told(&output.stdout) + &errors))
}

/// Returns the letters of a file in the order in which they stand in it.
fn letters(file: &[u8]) -> Option<String> {
    let (ok, text) = asked("pdftotext", &["-raw", "FILE", "-"], file)?;
    assert!(ok, "{text}");
    Some(bare(&text))
}

/// Returns the letters of a file as each of two readers that share no code finds them.
fn read_twice(file: &[u8]) -> Vec<String> {
    let second = asked("mutool", &["draw", "-q", "-F", "txt", "-o", "-", "FILE"], file);
    letters(file).into_iter().chain(second.map(|(_, text)| bare(&text))).collect()
}

/// Returns a text without its blanks: where lines break does not matter.
fn bare(text: &str) -> String {
    text.split_whitespace().collect()
}

fn pages(file: &[u8]) -> Option<usize> {
    let (_, text) = asked("pdfinfo", &["FILE"], file)?;
    let count = text.lines().find_map(|line| line.strip_prefix("Pages:"))?;
    count.trim().parse().ok()
}

#[rstest]
fn the_same_job_gives_the_same_bytes(
    #[values(TicketCopy::Customer, TicketCopy::Bench)] copy: TicketCopy,
    #[values(Paper::A4, Paper::Letter)] paper: Paper,
) {
    let file = printed(&whole("invented words", 3), copy, paper);
    assert!(file.starts_with(b"%PDF-"));
    assert_eq!(file, printed(&whole("invented words", 3), copy, paper));
    assert_ne!(file, printed(&whole("invented words", 4), TicketCopy::Bench, paper));
}

#[test]
fn the_bench_copy_holds_every_reading_and_the_proof() {
    for text in read_twice(&printed(&whole("invented words", 60), TicketCopy::Bench, Paper::A4)) {
        for number in 1..=60 {
            let typed = format!("typed“{}”", typed(number));
            assert!(text.contains(&typed), "reading {number} is missing in {text}");
        }
        for words in
            [FAULT, "7.10 kΩ to 7.90 kΩ", "7.45k", "93 %", "28.50 EUR", "earlier.job", "treble 36 dB down"]
        {
            assert!(text.contains(&bare(words)), "{words} is missing in {text}");
        }
        for words in ["Repairs before", "known beforehand", "Looked at and asked", "Cautions shown"] {
            assert!(text.contains(&bare(words)), "{words} is missing in {text}");
        }
        for words in ["Photos", "kept.png", "Printed photos", "CORRECTED", "WITHDRAWN", "taken again"] {
            assert!(text.contains(&bare(words)), "{words} is missing in {text}");
        }
        assert!(!text.contains("NOTPROVED"), "all is proved");
        assert!(text.contains("(benchcopy)"), "no page says whose copy it is");
    }
}

#[test]
fn the_customer_reads_fault_price_proof_and_warranty_in_this_order() {
    for text in read_twice(&printed(&whole("invented words", 60), TicketCopy::Customer, Paper::A4)) {
        tells_the_customer(&text);
    }
}

fn tells_the_customer(text: &str) {
    let mut from = 0;
    for words in [
        "Invented Workshop",
        "Repair ticket: invented words",
        "Repaired, and proved by measuring. Finished on 2026-03-02",
        "What was repaired before",
        "What was wrong",
        "the solder joint on the jack's sleeve lets nothing through",
        "What was done",
        "soldered it again",
        "1 of 1 measurements are those of a healthy instrument",
        "Estimate",
        "together: 28.50 EUR",
        "at most 60.00 EUR without a call",
        "said to the customer: invented words",
        "said 2026-03-02",
        "on the telephone",
        "together: 28.50 EUR",
        "An earlier repair",
        "the instrument came in on 2026-01-02",
        "The earlier ticket: earlier.job",
        "Printed photos",
        "for 90 days",
        "2026-05-31",
        "Customer: date and signature",
    ] {
        let words = bare(words);
        let at =
            text[from..].find(&words).unwrap_or_else(|| panic!("{words} is missing after {from} in {text}"));
        from += at + words.len();
    }
    for words in ["typed“", "UTC", "kept.png", "how well", "more than the"] {
        assert!(!text.contains(&bare(words)), "the customer is not spared {words}");
    }
}

#[test]
fn a_customer_meets_no_word_of_the_trade_on_the_demonstration_jobs_ticket() {
    let job =
        Job::replay(parse(include_str!("../../assets/demo/school-loan-guitar.job.ron")).unwrap().records);
    let file = printed(&job.unwrap(), TicketCopy::Customer, Paper::A4);
    let Some(text) = letters(&file) else { return };
    for words in [
        "no reading tells apart",
        "comes and goes",
        "flex",
        "a sound instrument",
        "while it shows",
        "more letters",
        "UTC",
        "would measure the same",
    ] {
        assert!(!text.contains(&bare(words)), "{words} is in {text}");
    }
    for words in [
        "The ground wire from the bridge volume control to the output socket made contact only now and then at the socket.",
        "(Exactly: the solder joint of the ground wire",
        "at the sleeve terminal of the jack.)",
        "While this fault shows itself, no sound reaches the amplifier.",
        "10 of 10 measurements are those of a healthy instrument. They were taken after the repair, with all knobs at 10.",
        "how hard it is for electricity to pass",
        "also while moving the plug",
        "(customer copy)",
    ] {
        assert!(text.contains(&bare(words)), "{words} is missing in {text}");
    }
    assert_eq!(text.matches(&bare("all knobs at 10")).count(), 1, "{text}");
    assert!(pages(&file).is_none_or(|count| count == 1), "a simple job takes more than a page: {text}");
}

#[test]
fn what_is_not_proved_says_so_on_both_copies() {
    let outcome = Outcome::Unproven { reason: "the customer was in a hurry".to_owned() };
    let closed = vec![Event::Closed { outcome }];
    let skipped = Event::Skipped {
        measurement: reading("1k").measurement,
        reason: "no third hand was there".to_owned(),
    };
    let job = job([vec![started("invented"), read(1), skipped], mended("", false), closed].concat());
    let only = [
        (TicketCopy::Customer, "What could not be proved may come back"),
        (TicketCopy::Bench, "(no third hand was there)"),
    ];
    for (copy, words) in only {
        let Some(text) = letters(&printed(&job, copy, Paper::A4)) else { return };
        assert!(text.contains(&bare(words)), "{words} is missing in {text}");
        assert!(text.contains("NOTPROVED"), "{text}");
        assert!(text.contains(&bare("the customer was in a hurry")), "{text}");
    }
}

#[rstest]
#[case(0)]
#[case(1)]
#[case(60)]
fn pages_grow_with_the_readings_and_are_numbered(#[case] readings: u32) {
    let file = printed(&whole("invented words", readings), TicketCopy::Bench, Paper::A4);
    let (Some(count), Some(text)) = (pages(&file), letters(&file)) else { return };
    assert!(text.contains(&format!("{count}of{count}")), "the last page has no number in {text}");
    let none = pages(&printed(&whole("invented words", 0), TicketCopy::Bench, Paper::A4)).unwrap_or(0);
    assert!(
        if readings == 60 { count > none + 1 } else { count >= none && count <= none + 1 },
        "{count} {none}"
    );
    let heads = text.matches("no.measuredaskedby").count();
    assert!(if readings == 60 { heads > 2 } else { heads == readings as usize }, "{heads} heads");
}

#[rstest]
fn other_programs_read_the_file_without_complaint(
    #[values(TicketCopy::Customer, TicketCopy::Bench)] copy: TicketCopy,
    #[values(0, 60)] readings: u32,
) {
    let file = printed(&whole("invented words", readings), copy, Paper::A4);
    if let Some((ok, said)) = asked("qpdf", &["--check", "FILE"], &file) {
        assert!(ok, "qpdf: {said}");
    }
    if let Some((ok, said)) = asked("pdftoppm", &["-r", "40", "-mono", "FILE"], &file) {
        assert!(ok, "pdftoppm: {} letters", said.len());
        assert!(said.len() > 1000, "nothing was drawn");
    }
}

#[test]
fn the_file_is_told_to_programs_that_read_aloud() {
    let file = printed(&whole("invented words", 3), TicketCopy::Bench, Paper::A4);
    let Some((_, tree)) = asked("pdfinfo", &["-struct-text", "FILE"], &file) else { return };
    for part in ["H1", "H2", "Table", "THead", "TH", "TD", "Figure"] {
        assert!(tree.lines().any(|line| line.trim_start().starts_with(part)), "{part} is missing in {tree}");
    }
    let (_, about) = asked("pdfinfo", &["FILE"], &file).unwrap();
    assert!(about.contains("Repair ticket: invented words"), "{about}");
    assert!(about.lines().any(|line| line.starts_with("Tagged:") && line.ends_with("yes")), "{about}");
    let (_, fonts) = asked("pdffonts", &["FILE"], &file).unwrap();
    let rows: Vec<&str> = fonts.lines().skip(2).collect();
    assert!(
        !rows.is_empty() && rows.iter().all(|row| row.contains(" yes yes ")),
        "embedded, subset: {fonts}"
    );
}

#[rstest]
fn a_ticket_keeps_the_norm_for_those_who_have_it_read_aloud(
    #[values(TicketCopy::Customer, TicketCopy::Bench)] copy: TicketCopy,
    #[values(Paper::A4, Paper::Letter)] paper: Paper,
    #[values(0, 60)] readings: u32,
) {
    let file = printed(&whole("invented words", readings), copy, paper);
    let Some((ok, said)) = asked("qpdf", &["--json=2", "FILE"], &file) else { return };
    assert!(ok, "{said}");
    let parts = Parts::read(&said);
    assert_eq!(parts.breaches(&file), [""; 0]);
    let headings = parts.elements().into_iter().filter(|element| parts.kind(element) == "H2").count();
    let contents = parts.contents();
    assert_eq!(contents[0], "Repair ticket: invented words");
    assert_eq!(contents.len(), headings + 1, "{contents:?}");
    assert!(contents.contains(&"Estimate".to_owned()), "{contents:?}");
}

#[test]
fn what_is_taken_out_of_a_ticket_is_found_missing() {
    let file = printed(&whole("invented words", 3), TicketCopy::Customer, Paper::A4);
    let Some((ok, said)) = asked("qpdf", &["--json=2", "FILE"], &file) else { return };
    assert!(ok, "{said}");
    let keys = [
        ("/Marked", "7.1:"),
        ("/Lang", "7.2:"),
        ("/Alt", "7.3:"),
        ("/Scope", "7.5:"),
        ("/Tabs", "7.18.3:"),
        ("/ToUnicode", "7.21:"),
    ];
    for (key, clause) in keys {
        let without = said.replace(&format!("\"{key}\""), "\"/Gone\"");
        let broken = Parts::read(&without).breaches(&file);
        assert!(broken.iter().any(|told| told.starts_with(clause)), "{key}: {broken:?}");
    }
}

#[test]
fn a_wall_chart_keeps_the_norm_and_is_told_in_words() {
    let (name, text) = trees::built_in().iter().find(|(name, _)| *name == "hum.ron").unwrap();
    let tree = trees::load(&Source::new(*name, *text)).unwrap();
    let file = wall_chart(&tree, &TreeMarks::default(), Paper::A4).unwrap();
    let Some((ok, said)) = asked("qpdf", &["--json=2", "FILE"], &file) else { return };
    assert!(ok, "{said}");
    let parts = Parts::read(&said);
    assert_eq!(parts.breaches(&file), [""; 0]);
    for step in &tree.steps {
        assert!(said.contains(&step.why), "{} is not told", step.name);
    }
    assert!(parts.contents().len() > 2, "{:?}", parts.contents());
    let texts = read_twice(&file);
    assert!(texts.iter().all(|text| !text.contains('…')), "words are cut: {texts:?}");
}

/// Whoever stands before the chart has the reasons on it, not only a reader of its words.
#[test]
fn a_wall_chart_prints_the_reason_of_every_step() {
    let (name, text) = trees::built_in().iter().find(|(name, _)| *name == "thin-piezo.ron").unwrap();
    let tree = trees::load(&Source::new(*name, *text)).unwrap();
    let file = wall_chart(&tree, &TreeMarks::default(), Paper::A3).unwrap();
    let Some(printed) = letters(&file) else { return };
    for step in &tree.steps {
        assert!(printed.contains(&bare(&format!("Why: {}", step.why))), "{}: {printed}", step.name);
    }
}

/// What the validator says, one breach a line.
const VALIDATED: &str = "
import page, sys
for name in sys.argv[2:]:
    report = page.validate_pdf(sys.argv[1], profile=page.ValidationProfile[name])
    for failure in report.failures:
        print(name, failure.rule_id, failure.message)
";

/// Holds a file to norms by a validator that others wrote, when `LUGWISE_PDF_CHECK` names a Python that has it.
fn validated(file: &[u8], norms: &[&str]) {
    let Ok(python) = std::env::var("LUGWISE_PDF_CHECK") else {
        eprintln!("LUGWISE_PDF_CHECK is not set: no validator looks at the file");
        return;
    };
    let Some((ok, said)) = asked(&python, &[&["-c", VALIDATED, "FILE"][..], norms].concat(), file) else {
        return;
    };
    assert!(ok && said.is_empty(), "{said}");
}

#[test]
fn a_validator_finds_that_the_files_keep_their_norms() {
    let (ticket, shop) = (ticket(&whole("invented words", 3)), Shop { logo: Some(image_file()), ..shop() });
    for copy in TicketCopy::ALL {
        validated(&pdf(&ticket, copy, Paper::A4, &shop).unwrap(), &["PDF_UA_1", "PDF_A_2A"]);
    }
    let (name, text) = trees::built_in()[0];
    let tree = trees::load(&Source::new(name, text)).unwrap();
    validated(&wall_chart(&tree, &TreeMarks::default(), Paper::A4).unwrap(), &["PDF_UA_1"]);
}

#[rstest]
#[case::private("a\u{e0ff}b\u{f8ff}\u{f0000}c", "a?b??c")]
#[case::byte_order("zq7\u{feff}b", "zq7")]
#[case::one_glyph("\u{a0}\u{2126}\u{3a9}\u{ad}\u{200b} zq7", "zq7")]
#[case::right_to_left("zq7\u{202e}b\u{2067}c", "zq7")]
#[case::controls("a\u{0}\u{1b}[2J\u{9b}b", "[2J")]
#[case::no_glyph("before \u{10ffff}\u{10ffff} after", "before ?? after")]
#[case::pdf_syntax(") Tj ET endstream endobj << /JS (x) >>", "endstream endobj")]
#[case::breaks("zq7\r\ntwo\u{2028}three", "zq7")]
fn nothing_typed_breaks_the_file(#[case] words: &str, #[case] seen: &str) {
    for copy in TicketCopy::ALL {
        let shop = Shop {
            name: words.to_owned(),
            lines: vec![words.to_owned()],
            cautions: vec![words.to_owned()],
            ..shop()
        };
        let file = pdf(&ticket(&whole(words, 2)), copy, Paper::A4, &shop).unwrap();
        if let Some((ok, said)) = asked("qpdf", &["--check", "FILE"], &file) {
            assert!(ok, "{said}");
        }
        let Some(text) = letters(&file) else { return };
        assert!(text.contains(&bare(seen)), "{seen} is missing in {text}");
        let harmful =
            |c: char| matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}') || c.is_control();
        assert!(!text.contains(harmful), "{text:?}");
    }
}

#[rstest]
#[case("word ")]
#[case("w")]
fn a_megabyte_in_every_field_is_limited_and_said(#[case] piece: &str) {
    let words = piece.repeat(1_000_000 / piece.len());
    for copy in TicketCopy::ALL {
        let file = printed(&whole(&words, 1), copy, Paper::A4);
        assert!(file.len() < 1_000_000, "{} bytes", file.len());
        let Some(text) = letters(&file) else { return };
        assert!(text.contains(&bare("more letters are in the job file")), "{} letters", text.len());
    }
}

#[test]
fn a_logo_that_is_no_image_is_said() {
    let ticket = Ticket::from_job(&whole("invented", 1)).unwrap();
    let shop = Shop { logo: Some(b"<svg/>".to_vec()), ..shop() };
    let refused = pdf(&ticket, TicketCopy::Customer, Paper::A4, &shop);
    assert!(matches!(refused, Err(PdfError::Image(_))), "{refused:?}");
}

#[test]
fn letters_that_no_font_has_are_named() {
    let named = |words: &str| {
        let ticket = ticket(&whole(words, 1));
        let letters = |copy| missing_letters(&ticket, copy, &shop()).unwrap();
        TicketCopy::ALL.map(|copy| letters(copy).into_iter().collect::<String>())
    };
    assert_eq!(named("Größe, заказчик, 7.5 kΩ"), ["", ""]);
    assert_eq!(named("客人, as it was written"), ["人客", "人客"]);
    assert_eq!(named("a private\u{e000} letter"), ["\u{e000}", "\u{e000}"]);
    assert!(missing_said(&BTreeSet::new()).is_none());
}

#[test]
fn the_paper_of_a_job_survives_its_lines() {
    let whole = whole("words with \"quotes\"\nand lines", 1);
    let text: String = whole.records().iter().map(|record| to_line(record).unwrap() + "\n").collect();
    let again = Job::replay(parse(&text).unwrap().records).unwrap();
    assert_eq!(again, whole);
    assert_eq!(again.paper().bill.as_ref().map(|bill| bill.total), Some(Money::hundredths(2850)));
    assert_eq!(again.paper().ceiling(), Some(Money::hundredths(6000)));
}

#[test]
fn a_job_goes_from_estimate_to_a_signed_ticket_in_the_shell() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).display().to_string();
    let (first, second) = (path("first.job"), path("second.job"));
    let run = |args: &[&str]| json(folder.path(), args);
    for file in [&first, &second] {
        run(&["start", "A1a", "--complaint", "no sound", "-o", file]);
    }
    assert_eq!(run(&["shop", "--copy"])["file"], path("shop.ron"));
    assert_eq!(run(&["shop"])["labour_per_hour"], "60.00");
    assert!(
        run(&["wirings"]).as_array().unwrap().iter().all(|one| one["own"] == false),
        "a shop is no wiring"
    );
    run(&["conclude", &first, "1"]);
    let state = run(&["estimate", &first, "--work", "solder=20", "--part", "jack=8,50", "--ceiling", "40"]);
    assert_eq!(state["paper"]["estimate"], "28.50 EUR, at most 40.00 EUR");
    assert!(state["notices"].to_string().contains("nobody has agreed"), "{}", state["notices"]);
    let state = run(&["authorise", &first, "--ceiling", "35", "--by", "the owner", "--how", "telephone"]);
    assert_eq!(state["paper"]["authorised"], "the owner agreed on the telephone to at most 35.00 EUR");
    let state = run(&["repair", &first, "soldered", "--minutes", "30"]);
    assert!(state["notices"].to_string().contains("38.50 EUR"), "{}", state["notices"]);
    std::fs::write(folder.path().join("cavity.png"), image_file()).unwrap();
    run(&["photo", &first, &path("cavity.png"), "--caption", "as it came", "--print"]);
    let state = run(&["photo", &first, &path("cavity.png"), "--caption", "the cavity", "--print"]);
    assert_eq!(state["paper"]["photos"].as_array().map(Vec::len), Some(1), "the same photo is kept once");
    let told = state["notices"].to_string();
    assert!(told.contains("as it came") && told.contains("the cavity"), "{told}");
    run(&["warranty", &first, "--of", &second, "--why", "same fault, same place"]);
    run(&["close", &first, "--unproven", "invented for a test"]);
    assert_eq!(run(&["bill", &first])["paper"]["bill"], "38.50 EUR");
    assert!(folder.path().join("first.photos/cavity.png").exists());
    for copy in ["customer", "bench"] {
        run(&["ticket", &first, "-o", &path("t.pdf"), "--copy", copy, "--paper", "letter"]);
        let file = std::fs::read(folder.path().join("t.pdf")).unwrap();
        let Some(text) = letters(&file) else { continue };
        let above = "NOTE: this is 3.50 EUR more than the 35.00 EUR that was agreed to at most";
        for words in ["Invented Workshop", "38.50 EUR", above, "the cavity", "second.job"] {
            assert!(text.contains(&bare(words)), "{words} is missing in {text}");
        }
    }
    run(&["photo", &first, &path("cavity.png"), "--caption", "客人", "--print"]);
    let (code, out, err) = lugwise(folder.path(), &["ticket", &first, "-o", &path("t.pdf"), "--json"]);
    assert!(code == 0 && out.contains("\"missing_letters\": \"人客\""), "{out}{err}");
    assert!(err.contains("人 (U+4EBA), 客 (U+5BA2); the .html ticket has them"), "{err}");
    run(&["ticket", &first, "-o", &path("t.md")]);
    let text = std::fs::read_to_string(folder.path().join("t.md")).unwrap();
    assert!(text.contains("## Estimate") && text.contains("together: 38.50 EUR"), "{text}");
}

#[test]
fn a_bill_above_the_ceiling_says_so_beside_its_sum_and_no_other_does() {
    let (start, euro) = ("2026-03-02T09:14:05Z", || "EUR".to_owned());
    let estimate = |ceiling: i64| Estimate {
        lines: Vec::new(),
        ceiling: Money::hundredths(ceiling),
        per_hour: Money::default(),
        currency: euro(),
        said: String::new(),
    };
    let told = |rest: Vec<Event>, total: i64, currency: &str| {
        let (total, currency) = (Money::hundredths(total), currency.to_owned());
        let bill = Event::Billed { lines: Vec::new(), total, currency };
        let events = [started("words")].into_iter().chain(rest).chain([bill]);
        let records = events.map(|event| Record { at: start.to_owned(), event }).collect();
        let ticket = Ticket::from_job(&Job::replay(records).unwrap()).unwrap();
        let notes = ticket.papers.bill.as_ref().unwrap().notes.clone();
        for text in [markdown(&ticket), html(&ticket)] {
            assert_eq!(text.contains("NOTE: "), !notes.is_empty(), "{text}");
        }
        notes
    };
    let named = |ceiling: i64| vec![Event::Estimated { estimate: estimate(ceiling) }];
    let agreed = |ceiling: i64| {
        let (by, how, ceiling) = ("the owner".to_owned(), Consent::InPerson, Money::hundredths(ceiling));
        let word = Event::Authorised { by, how, ceiling, currency: euro() };
        named(9000).into_iter().chain([word]).collect::<Vec<_>>()
    };
    let above = "NOTE: this is 3.50 EUR more than the 35.00 EUR that";
    assert_eq!(told(named(3500), 3850, "EUR"), [format!("{above} the estimate names as the most")]);
    assert_eq!(told(agreed(3500), 3850, "EUR"), [format!("{above} was agreed to at most")]);
    assert!(told(agreed(3500), 3500, "EUR").is_empty() && told(vec![], 3850, "EUR").is_empty());
    assert!(told(agreed(3500), 3850, "SEK").is_empty(), "two currencies cannot be compared");
}

#[test]
fn what_is_wrong_with_prices_and_photos_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).display().to_string();
    let job = path("a.job");
    json(folder.path(), &["start", "A1a", "--complaint", "no sound", "-o", &job]);
    let refused = |args: &[&str], code: i32, says: &str| {
        let (found, out, err) = lugwise(folder.path(), args);
        assert!(found == code && err.contains(says), "{args:?}: {found} {out}{err}");
    };
    refused(&["estimate", &job, "--work", "solder=20"], 1, "no price of an hour");
    refused(&["estimate", &job, "--work", "solder=20", "--per-hour", "60", "--ceiling", "10"], 1, "20.00");
    refused(&["estimate", &job, "--per-hour", "cheap"], 2, "cannot read \"cheap\" as money");
    refused(&["authorise", &job, "--ceiling", "80", "--by", "x", "--how", "dove"], 2, "telephone, in-person");
    refused(&["bill", &job], 1, "no repair is recorded");
    refused(&["photo", &job, &path("none.png")], 1, "none.png");
    std::fs::write(folder.path().join("words.png"), "words").unwrap();
    refused(&["photo", &job, &path("words.png"), "--print"], 1, "neither a PNG nor a JPEG");
    refused(&["photo", &job, &path("words.png")], 1, "it is no picture");
    refused(&["warranty", &job, "--of", &job, "--why", "x"], 1, "it is this job");
    refused(&["ticket", &job, "-o", &path("t.md"), "--copy", "bench"], 1, "only a PDF file");
    std::fs::write(folder.path().join("shop.ron"), "(format: 1,\n nmae: \"a\")").unwrap();
    refused(&["shop"], 1, "shop.ron:2:2: unknown field `nmae`");
}
