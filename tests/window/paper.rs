//! Estimate, consent, bill, photos, an earlier job, the shop and the ticket, over the real bench.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use egui::{Event, Key, Theme, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use lugwise::session::{OwnFolder, PastJobs};
use lugwise::ui::{App, Bench, DeskBench, Dialogs};

use crate::own::{click, settle, wait};
use crate::{Window, control, press, shows, views};

const DEMO: &str = include_str!("../../assets/demo/school-loan-guitar.job.ron");

/// Dialogs that answer with a file in a folder of the test's own.
struct Folder(PathBuf);

impl Dialogs for Folder {
    fn save_ticket(&mut self, suggested: &str) -> Option<PathBuf> {
        Some(self.0.join(suggested))
    }

    fn open_job(&mut self) -> Option<PathBuf> {
        None
    }

    fn save_job(&mut self, _suggested: &Path) -> Option<PathBuf> {
        None
    }
}

/// A file that is dropped on the window.
#[derive(Debug)]
struct Dropped(PathBuf);

impl egui::DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|why| why.to_string())
    }
}

/// The window with a job of one pickup, on the screen of estimate and bill.
fn window(home: &Path) -> Window {
    let own = OwnFolder::at(home.join("wirings"));
    let past = PastJobs::at(home.join("jobs.archive"));
    let mut bench = DeskBench::with_own(home.join("jobs"), own).unwrap().keeping(past);
    let mut form = lugwise::ui::Desk::default().start;
    form.wiring = "one-pickup".to_owned();
    form.instrument = "Invented guitar".to_owned();
    form.complaint = "no sound".to_owned();
    form.symptoms = bench.symptoms_in("no sound");
    form.meter.clone_from(&bench.meters()[0].name);
    form.file = bench.file_for("invented");
    bench.start(form).unwrap();
    let dialogs = Folder(home.to_owned());
    let mut window = Harness::builder()
        .with_size(Vec2::new(1280.0, 1000.0))
        .with_theme(Theme::Light)
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(dialogs)));
    settle(&mut window);
    control(&mut window, Key::B);
    window
}

fn write(window: &mut Window, text: &str) {
    window.event(Event::Text(text.to_owned()));
    settle(window);
}

fn into(window: &mut Window, field: &str, text: &str) {
    window.get_by_label(field).focus();
    settle(window);
    write(window, text);
}

fn paper(window: &Window) -> lugwise::workbench::PaperView {
    window.state().bench().view().unwrap().paper.clone()
}

#[test]
fn an_estimate_is_typed_recorded_and_taken_back_with_the_keyboard() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path());
    assert!(window.get_by_label("Line 1: work").is_focused());
    write(&mut window, "solder the jack");
    press(&mut window, Key::Tab);
    write(&mut window, "20");
    press(&mut window, Key::Tab);
    write(&mut window, "28,50");
    assert!(shows(&window, "Together: 28.50"));
    control(&mut window, Key::Enter);
    assert_eq!(paper(&window).estimate.as_deref(), Some("28.50, at most 28.50"));
    assert!(shows(&window, "Estimate recorded") && shows(&window, "Consent next"));
    control(&mut window, Key::Z);
    assert_eq!(paper(&window).estimate, None);
    control(&mut window, Key::B);
    assert!(window.query_by_label("Line 1: work").is_none(), "back at the job");
}

#[test]
fn what_is_refused_is_said_at_its_field_and_nothing_is_lost() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path());
    control(&mut window, Key::Enter);
    assert!(shows(&window, "Type whole minutes"));
    into(&mut window, "Line 1: minutes", "20");
    control(&mut window, Key::Enter);
    assert!(shows(&window, "No price of an hour is known"));
    into(&mut window, "Price of an hour of work", "sixty");
    control(&mut window, Key::Enter);
    assert!(shows(&window, "cannot read \"sixty\" as money"));
    control(&mut window, Key::B);
    control(&mut window, Key::B);
    assert_eq!(window.get_by_label("Line 1: minutes").value().as_deref(), Some("20"));
    assert_eq!(paper(&window).estimate, None);
}

#[test]
fn lines_come_and_go() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path());
    click(&mut window, "Add a part");
    assert!(window.get_by_label("Line 2: part").is_focused());
    into(&mut window, "Line 2: part", "jack");
    into(&mut window, "Line 2: price", "8.50");
    click(&mut window, "Remove line 1");
    assert!(shows(&window, "Together: 8.50"));
    click(&mut window, "Record the estimate");
    assert_eq!(paper(&window).estimate.as_deref(), Some("8.50, at most 8.50"));
}

#[test]
fn a_bill_over_what_was_agreed_to_is_warned_of() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path());
    click(&mut window, "Consent");
    assert!(window.get_by_label("May be spent at most").is_focused());
    write(&mut window, "10");
    control(&mut window, Key::Enter);
    assert!(shows(&window, "Who agreed? Write the name."));
    into(&mut window, "Who agrees", "the owner");
    control(&mut window, Key::Enter);
    assert!(shows(&window, "How was it agreed?"));
    click(&mut window, "How");
    click(&mut window, "on the telephone");
    control(&mut window, Key::Enter);
    assert_eq!(
        paper(&window).authorised.as_deref(),
        Some("the owner agreed on the telephone to at most 10.00")
    );
    click(&mut window, "Bill");
    into(&mut window, "Line 1: work", "solder the jack");
    into(&mut window, "Line 1: minutes", "20");
    into(&mut window, "Line 1: price", "10.01");
    assert!(shows(&window, "10.01, over the ceiling of 10.00"));
    control(&mut window, Key::Enter);
    assert_eq!(paper(&window).bill.as_deref(), Some("10.01"));
}

#[test]
fn a_photo_is_dropped_captioned_and_kept_once() {
    let home = tempfile::tempdir().unwrap();
    let photo = home.path().join("cavity.png");
    image::RgbImage::new(2, 2).save(&photo).unwrap();
    let mut window = window(home.path());
    control(&mut window, Key::B);
    window.input_mut().dropped_files.push(Arc::new(Dropped(photo.clone())));
    settle(&mut window);
    assert!(window.get_by_label("Photo file").value().is_some_and(|file| file.ends_with("cavity.png")));
    into(&mut window, "What it shows", "before");
    click(&mut window, "Add the photo");
    assert_eq!(paper(&window).photos, ["cavity.png: before"]);
    assert!(home.path().join("jobs").read_dir().unwrap().count() >= 2, "its folder is beside the job");
    click(&mut window, "Print cavity.png on the ticket");
    assert_eq!(paper(&window).photos.len(), 1);
    let print = |window: &Window| window.state().bench().paper().unwrap().paper.photos[0].print;
    assert!(print(&window));
    into(&mut window, "Photo file", &photo.display().to_string());
    into(&mut window, "What it shows", "after");
    click(&mut window, "Add the photo");
    assert!(shows(&window, "kept once; its caption was \"before\" and is \"after\" now"));
    assert_eq!(paper(&window).photos, ["cavity.png: after"]);
    control(&mut window, Key::Z);
    assert_eq!(paper(&window).photos, ["cavity.png: before"]);
}

#[test]
fn a_file_that_is_no_photo_is_told() {
    let home = tempfile::tempdir().unwrap();
    let words = home.path().join("words.png");
    std::fs::write(&words, "words").unwrap();
    let mut window = window(home.path());
    window.input_mut().dropped_files.push(Arc::new(Dropped(words)));
    settle(&mut window);
    assert!(shows(&window, "neither a PNG nor a JPEG file"));
    click(&mut window, "Print it on the ticket (PNG or JPEG)");
    click(&mut window, "Add the photo");
    assert!(shows(&window, "using the photo"));
    assert!(paper(&window).photos.is_empty());
}

#[test]
fn a_comeback_names_a_job_of_the_archive() {
    let home = tempfile::tempdir().unwrap();
    let past = PastJobs::at(home.path().join("jobs.archive"));
    let uid = past.open().unwrap().import_file(DEMO).unwrap().uid;
    let mut window = window(home.path());
    click(&mut window, "Comeback");
    control(&mut window, Key::Enter);
    assert!(shows(&window, "Choose the earlier job first"));
    into(&mut window, "Look for the earlier job", &uid[..8]);
    let earlier = "Take 1. 2026-03-02";
    wait(&mut window, "the earlier job alone", |window| {
        shows(window, earlier) && !shows(window, "Take 2.") && !shows(window, "Reading…")
    });
    window.get_by_label_contains(earlier).click_accesskit();
    wait(&mut window, "the choice", |window| shows(window, "Chosen: 2026-03-02"));
    into(&mut window, "Why it belongs to the earlier one", "same fault, same place");
    control(&mut window, Key::Enter);
    assert_eq!(paper(&window).warranty, Some(format!("{uid}: same fault, same place")));
}

#[test]
fn the_shop_is_made_shown_and_sets_the_price_of_work() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path());
    click(&mut window, "Shop");
    assert!(shows(&window, "There is no shop's file"));
    click(&mut window, "Make an example file");
    let file = home.path().join("wirings").join("shop.ron");
    assert!(file.exists() && shows(&window, "Every name in it is invented"));
    assert!(window.query_by_label("Make an example file").is_none());
    click(&mut window, "Estimate");
    into(&mut window, "Line 1: minutes", "30");
    assert!(shows(&window, "30.00 by its minutes"), "60 an hour, as the example says");
    std::fs::write(&file, "(format: 1,\n nmae: \"a\")").unwrap();
    click(&mut window, "Shop");
    click(&mut window, "Read the file again");
    assert!(shows(&window, "shop.ron:2:2"));
}

#[test]
fn the_file_of_the_shop_is_written_from_its_fields() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path());
    click(&mut window, "Shop");
    click(&mut window, "Write the shop's file");
    assert!(shows(&window, "the name is empty"));
    into(&mut window, "Name of the shop", "Invented \"Bench\"");
    into(&mut window, "Price of an hour", "48");
    click(&mut window, "Write the shop's file");
    assert!(home.path().join("wirings").join("shop.ron").exists());
    let known = window.state().desk().paper.as_ref().unwrap().known_shop();
    assert_eq!(known.name, "Invented \"Bench\"");
    click(&mut window, "Estimate");
    into(&mut window, "Line 1: minutes", "30");
    assert!(shows(&window, "24.00 by its minutes"), "half of 48");
}

#[test]
fn a_press_on_nothing_leaves_the_keyboard_nowhere() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path());
    into(&mut window, "Line 1: minutes", "3");
    let at = egui::pos2(1260.0, 980.0);
    window.event(Event::PointerMoved(at));
    for pressed in [true, false] {
        let (button, modifiers) = (egui::PointerButton::Primary, egui::Modifiers::NONE);
        window.event(Event::PointerButton { pos: at, button, pressed, modifiers });
        window.step();
    }
    settle(&mut window);
    assert!(!window.get_by_label("Line 1: work").is_focused());
    assert!(!window.get_by_label("Line 1: minutes").is_focused());
}

#[test]
fn a_ticket_is_written_as_it_was_chosen() {
    let home = tempfile::tempdir().unwrap();
    let mut window = window(home.path());
    click(&mut window, "Ticket");
    assert!(shows(&window, "It will have no letterhead") && shows(&window, "It will have no price"));
    control(&mut window, Key::Enter);
    assert!(shows(&window, "The copy was written to"));
    assert!(home.path().join("Invented-guitar-ticket-customer.pdf").exists());
    click(&mut window, "Markdown");
    click(&mut window, "Write the ticket…");
    assert!(home.path().join("Invented-guitar-ticket.md").exists());
}

#[test]
fn a_form_sent_while_another_is_written_says_that_it_was_not_taken() {
    let (mut window, log) = crate::window(views::finding());
    control(&mut window, Key::B);
    for text in ["solder the jack", "20", "28,50"] {
        write(&mut window, text);
        press(&mut window, Key::Tab);
    }
    log.hold(true);
    control(&mut window, Key::Enter);
    assert!(!shows(&window, "still being written"));
    control(&mut window, Key::Enter);
    assert!(shows(&window, "still being written") && log.lines().is_empty());
    log.hold(false);
    window.run();
    assert!(!shows(&window, "still being written"), "it is written now");
    let sent = log.lines();
    assert!(sent.len() == 1 && sent[0].starts_with("Estimate("), "{sent:?}");
}
