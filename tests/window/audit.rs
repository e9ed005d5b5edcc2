//! Drives the screen on which a fresh wiring is checked.

use egui::{Key, Theme};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use lugwise::ui::{App, DeskBench};
use rstest::rstest;

use crate::fake::{Answers, Fake, Log};
use crate::{Window, control, first_screen, press, shows, sized, type_and_enter};

/// Opens the checks of the one-pickup wiring and reads its cautions.
fn opened() -> (Window, Log) {
    let (mut window, log) = first_screen();
    begin(&mut window);
    (window, log)
}

pub fn begin(window: &mut Window) {
    window.get_by_label("One pickup, volume and tone").click();
    window.run();
    window.get_by_label("Check a fresh wiring").click();
    window.run();
    while window.query_by_label("I have read this").is_some() {
        press(window, Key::Enter);
    }
}

/// Types what the open check's healthy instrument reads.
fn pass(window: &mut Window) {
    let audit = window.state().desk().audit.clone().unwrap();
    let band = audit.run.check().unwrap().band;
    let typed = band.ohms.map_or_else(|| "OL".to_owned(), |ohms| format!("{:.1}r", ohms.get()));
    type_and_enter(window, &typed);
}

#[test]
fn a_wiring_must_be_chosen_first() {
    let (mut window, log) = first_screen();
    window.get_by_label("Check a fresh wiring").click();
    window.run();
    assert!(shows(&window, "Choose the wiring first"));
    assert_eq!(log.lines(), Vec::<String>::new());
}

#[test]
fn the_cautions_come_before_the_first_check() {
    let (mut window, log) = first_screen();
    window.get_by_label("One pickup, volume and tone").click();
    window.run();
    window.get_by_label("Check this wiring as a fresh one").click();
    window.run();
    assert!(shows(&window, "Unplug the instrument"));
    assert!(window.query_by_label("What the meter shows").is_none());
    press(&mut window, Key::Enter);
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Check 1 of "));
    assert!(window.get_by_label("What the meter shows").is_focused());
    assert_eq!(log.lines(), ["audit one-pickup"]);
}

#[test]
fn all_checks_are_worked_through_with_the_keyboard() {
    let (mut window, _) = opened();
    let count = window.state().desk().audit.as_ref().unwrap().run.view().checks.len();
    for check in 1..=count {
        assert!(shows(&window, &format!("Check {check} of {count}")), "check {check} is not shown");
        assert!(shows(&window, "Healthy"));
        pass(&mut window);
    }
    assert!(shows(&window, &format!("{count} of {count} checks passed, 0 failed")));
    assert!(shows(&window, "Every check passed"));
    let run = &window.state().desk().audit.as_ref().unwrap().run;
    assert!(run.done() && run.covered() == run.view().covered);
}

#[test]
fn coverage_grows_and_readings_are_taken_back() {
    let (mut window, _) = opened();
    assert!(shows(&window, "Coverage so far: 0 of "));
    pass(&mut window);
    let covered = window.state().desk().audit.as_ref().unwrap().run.covered();
    assert!(covered > 0 && shows(&window, &format!("Coverage so far: {covered} of ")));
    control(&mut window, Key::Z);
    assert!(shows(&window, "Coverage so far: 0 of ") && shows(&window, "Check 1 of "));
    control(&mut window, Key::Y);
    assert!(shows(&window, &format!("Coverage so far: {covered} of ")));
}

#[test]
fn a_refused_entry_stays_with_its_question() {
    let (mut window, _) = opened();
    type_and_enter(&mut window, "7.6");
    assert!(shows(&window, "is it ohms or kilohms"));
    assert_eq!(window.get_by_label("What the meter shows").value().as_deref(), Some("7.6"));
    assert!(shows(&window, "0 of "), "nothing may be recorded");
}

#[test]
fn one_can_go_back_to_an_earlier_check() {
    let (mut window, _) = opened();
    pass(&mut window);
    window.get_by_label("Previous check").click();
    window.run();
    assert!(shows(&window, "Check 1 of ") && shows(&window, "Passed: "));
    window.get_by_label("Go to check 3, to do").click_accesskit();
    window.run();
    assert!(shows(&window, "Check 3 of "));
}

#[test]
fn a_failed_check_starts_a_job_with_its_readings() {
    let (mut window, log) = opened();
    pass(&mut window);
    press(&mut window, Key::F2);
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Failed: over range") && shows(&window, "1 failed"));
    window.get_by_label("Start a job with this wiring").click();
    window.run();
    let form = &window.state().desk().start;
    assert_eq!((form.wiring.as_str(), form.complaint.as_str()), ("one-pickup", "failed its wiring audit"));
    window.get_by_label("Instrument").focus();
    window.get_by_label("Instrument").type_text("fresh one");
    window.run();
    control(&mut window, Key::Enter);
    let lines = log.lines();
    assert_eq!(lines[..2], ["audit one-pickup", "start one-pickup fresh one"]);
    assert!(lines[3].starts_with("Record { text: \"OL\", measurement: Some("), "{lines:?}");
    assert_eq!(lines.len(), 4, "{lines:?}");
    assert!(shows(&window, "2 of the audit's readings are recorded in this job"));
}

/// The same with the real program behind the window: nobody has heard the instrument, so no symptom is asked for.
#[test]
fn the_real_job_begins_with_what_the_audit_found() {
    let folder = tempfile::tempdir().unwrap();
    let bench = DeskBench::new(folder.path().to_owned()).unwrap();
    let mut window: Window = Harness::builder()
        .with_size([1280.0, 800.0])
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(Answers)));
    window.run();
    begin(&mut window);
    pass(&mut window);
    type_and_enter(&mut window, "OL");
    window.get_by_label("Start a job with this wiring").click();
    window.run();
    window.get_by_label("Instrument").focus();
    window.get_by_label("Instrument").type_text("fresh one");
    window.run();
    control(&mut window, Key::Enter);
    let view = window.state().bench().view().expect("a job is open");
    assert_eq!((view.readings.len(), view.readings[0].fits_healthy), (2, true));
    assert!(view.symptoms.is_empty() && !view.readings[1].fits_healthy, "{:?}", view.readings);
}

#[test]
fn the_list_is_saved_and_put_away() {
    let (mut window, log) = opened();
    pass(&mut window);
    control(&mut window, Key::E);
    assert!(shows(&window, "The list was written to one-pickup-audit.html"));
    assert_eq!(log.lines(), ["audit one-pickup", "list of 1 readings to one-pickup-audit.html"]);
    control(&mut window, Key::N);
    assert!(window.query_by_label("Start the job").is_some());
}

/// Draws the screen in both themes; what is needed stays within the window.
#[rstest]
fn nothing_that_is_needed_is_cut_off(
    #[values(Theme::Light, Theme::Dark)] theme: Theme,
    #[values([1280.0, 800.0], [1024.0, 700.0], [640.0, 480.0])] size: [f32; 2],
) {
    let mut window = sized(Fake::empty(&Log::default()), [1280.0, 800.0], theme);
    begin(&mut window);
    window.set_size(egui::Vec2::from(size));
    window.run();
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, egui::Vec2::from(size));
    for label in ["What the meter shows", "Record", "Undo", "Save the list…"] {
        let rect = window.get_by_label(label).rect();
        assert!(screen.expand(0.5).contains_rect(rect), "{label} at {rect:?} is not within {size:?}");
    }
    let image = window.render().unwrap();
    if let Some(folder) = std::env::var_os("LUGWISE_SHOTS") {
        let file = format!("audit-{theme:?}-{}.png", size[0]);
        image.save(std::path::Path::new(&folder).join(file)).unwrap();
    }
}
