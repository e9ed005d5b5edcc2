//! The small pictures of the first screen are drawn as they are seen, file dialogs leave the window free, and files are
//! watched on every screen.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::task::Poll;

use egui::{Key, Modifiers, Theme, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use lugwise::session::OwnFolder;
use lugwise::ui::{
    Action, App, Bench, DeskBench, Dialogs, ONE_DIALOG, PastAction, PastPage, Question, Reply,
};

use crate::fake::{Answers, Fake, Log};
use crate::own::{click, settle, wait};
use crate::{Window, shows, views};

fn bench(home: &Path) -> DeskBench {
    DeskBench::with_own(home.join("jobs"), OwnFolder::at(home.join("wirings"))).unwrap()
}

fn drawn(window: &Window) -> usize {
    window.state().bench().wirings().iter().filter(|choice| choice.picture.drawn().is_some()).count()
}

fn small_window(bench: impl Bench + 'static, dialogs: impl Dialogs + 'static) -> Window {
    Harness::builder()
        .with_size(Vec2::new(1280.0, 800.0))
        .with_theme(Theme::Light)
        .build_eframe(|cc| App::new(cc, Box::new(bench), Box::new(dialogs)))
}

#[test]
fn only_the_pictures_that_are_seen_are_drawn() {
    let home = tempfile::tempdir().unwrap();
    let mut window = small_window(bench(home.path()), Answers);
    window.run();
    let (seen, all) = (drawn(&window), window.state().bench().wirings().len());
    assert!(0 < seen && seen < all / 2, "{seen} of {all}");
    window.run_steps(3);
    assert_eq!(drawn(&window), seen, "nothing more is drawn while nothing moves");
}

#[test]
fn pictures_come_from_beside_the_window_into_places_of_their_size() {
    let home = tempfile::tempdir().unwrap();
    let mut beside = bench(home.path());
    beside.work_beside(Arc::new(|| ()));
    let first = beside.wirings()[0].clone();
    assert!(first.picture.drawn().is_none(), "making the bench draws nothing");
    let mut window = small_window(beside, Answers);
    let place = format!("picture of {}, not drawn yet", first.title);
    let last = window.state().bench().wirings().last().unwrap().clone();
    let below = format!("picture of {}, not drawn yet", last.title);
    let (empty, title) = (window.query_by_label(&place).map(|node| node.rect()), first.title.clone());
    wait(&mut window, "the first picture", |_| first.picture.drawn().is_some());
    settle(&mut window);
    assert!(window.query_by_label(&place).is_none());
    let named = format!("wiring of {title}");
    let picture = window.query_all_by_label_contains(&named).next().expect("the picture").rect();
    let same = |empty: egui::Rect| (empty.min - picture.min).length() < 0.5;
    assert!(empty.is_none_or(same), "{empty:?} became {picture:?}");
    assert!((picture.size() - Vec2::new(190.0, 132.0)).length() < 0.5, "{picture:?}");
    assert!(window.query_by_label(&below).is_some(), "what is not seen is not drawn");
    assert!(last.picture.drawn().is_none());
}

/// An answer that the test gives when it likes.
type Given = Arc<Mutex<Option<Option<PathBuf>>>>;

/// Dialogs that are answered later, and what was asked.
struct Slow {
    given: Given,
    asked: Arc<Mutex<Vec<Question>>>,
}

impl Dialogs for Slow {
    fn ask(&mut self, question: &Question) -> Reply {
        self.asked.lock().unwrap().push(question.clone());
        let given = Arc::clone(&self.given);
        Reply::Later(Box::pin(std::future::poll_fn(move |_| match given.lock().unwrap().take() {
            Some(path) => Poll::Ready(path.into_iter().collect()),
            None => Poll::Pending,
        })))
    }
}

struct Asked {
    window: Window,
    log: Log,
    given: Given,
    asked: Arc<Mutex<Vec<Question>>>,
}

impl Asked {
    fn of(bench: impl FnOnce(&Log) -> Fake) -> Self {
        let (log, given, asked) = (Log::default(), Given::default(), Arc::default());
        let dialogs = Slow { given: Arc::clone(&given), asked: Arc::clone(&asked) };
        let mut window = small_window(bench(&log), dialogs);
        window.run();
        Self { window, log, given, asked }
    }

    fn press(&mut self, key: Key) {
        self.window.key_press_modifiers(Modifiers::COMMAND, key);
        self.window.run();
    }

    fn answer(&mut self, path: Option<&str>) {
        *self.given.lock().unwrap() = Some(path.map(PathBuf::from));
        self.window.run();
    }
}

#[test]
fn the_window_goes_on_while_a_file_dialog_is_open_and_a_second_is_refused() {
    let mut test = Asked::of(Fake::empty);
    test.press(Key::O);
    assert!(test.window.state().is_asking());
    test.window.get_by_label("Hum or buzz").click();
    test.window.run();
    assert!(!test.window.state().desk().start.symptoms.is_empty(), "the form is still worked on");
    test.window.get_by_label("Choose another place…").click();
    test.window.run();
    assert!(shows(&test.window, ONE_DIALOG));
    assert_eq!(*test.asked.lock().unwrap(), [Question::OpenJob]);
    assert_eq!(test.log.lines(), Vec::<String>::new());
    test.answer(Some("late.job"));
    assert!(!test.window.state().is_asking());
    assert_eq!(test.log.lines(), ["open late.job"]);
}

#[test]
fn a_dialog_that_is_closed_changes_nothing_and_the_next_may_be_opened() {
    let mut test = Asked::of(Fake::empty);
    test.press(Key::O);
    test.answer(None);
    assert!(!test.window.state().is_asking());
    test.press(Key::O);
    test.answer(Some("second.job"));
    assert_eq!(test.log.lines(), ["open second.job"]);
}

#[test]
fn a_ticket_is_not_written_of_a_job_that_was_left_meanwhile() {
    let mut test = Asked::of(|log| Fake::with(views::finding(), log));
    test.press(Key::E);
    assert!(test.window.state().is_asking());
    test.press(Key::N);
    assert!(test.window.state().bench().view().is_none());
    test.answer(Some("ticket.html"));
    assert!(shows(&test.window, "It was left before a file was chosen"));
    assert!(!test.log.lines().iter().any(|line| line.starts_with("ticket")));
}

#[test]
fn a_photo_comes_into_its_form_when_it_is_chosen_and_not_into_the_next_job() {
    let mut test = Asked::of(|log| Fake::with(views::finding(), log));
    test.press(Key::B);
    click(&mut test.window, "Photos");
    click(&mut test.window, "Choose a photo…");
    assert_eq!(*test.asked.lock().unwrap(), [Question::OpenPhoto]);
    test.answer(Some("cavity.png"));
    assert_eq!(test.window.get_by_label("Photo file").value().as_deref(), Some("cavity.png"));
    click(&mut test.window, "Choose a photo…");
    test.press(Key::N);
    test.press(Key::N);
    assert!(test.window.state().bench().view().is_none());
    test.answer(Some("late.png"));
    assert!(shows(&test.window, "It was left before a file was chosen"));
}

#[test]
fn nothing_is_taken_in_when_past_jobs_were_left_before_a_file_was_chosen() {
    let mut test = Asked::of(Fake::empty);
    test.window.state_mut().ask(Action::Past(PastAction::Page(PastPage::Files)));
    wait(&mut test.window, "the page", |window| {
        window.state().desk().past.as_ref().is_some_and(|past| !past.is_reading())
    });
    click(&mut test.window, "Put a backup back…");
    click(&mut test.window, "Take in job files…");
    assert!(shows(&test.window, ONE_DIALOG));
    assert_eq!(*test.asked.lock().unwrap(), [Question::OpenFile("Put a backup back")]);
    test.answer(Some("old.archive"));
    assert!(shows(&test.window, "old.archive in the archive's place?"));
    click(&mut test.window, "Take in job files…");
    test.press(Key::N);
    test.answer(Some("a.job"));
    assert!(shows(&test.window, "It was left before a file was chosen"));
}

#[test]
fn own_wirings_that_change_are_offered_on_the_first_screen() {
    let home = tempfile::tempdir().unwrap();
    let mut window = small_window(bench(home.path()), Answers);
    settle(&mut window);
    std::fs::create_dir_all(home.path().join("wirings")).unwrap();
    std::fs::write(home.path().join("wirings/new.ron"), "(format: 1,").unwrap();
    wait(&mut window, "the file", |window| shows(window, "new.ron: 1 mistake, in line 1."));
}
