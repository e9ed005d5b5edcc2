//! The window: how soon it is there, what it costs while nothing happens, how long a frame takes, how much memory it has.
//!
//! Each of the first figures is held against an empty window of the same frame library on the same virtual screen.
//! Without `--bench`, as under `cargo test`, everything is measured once and briefly, and nothing is demanded.

#[path = "../data/screen.rs"]
mod screen;

use std::path::Path;
use std::time::{Duration, Instant};

use egui::{Key, Theme, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use lugwise::readings::{Access, Symptom};
use lugwise::session::{OwnFolder, built_in_wirings};
use lugwise::ui::{Action, App, Bench, DeskBench, Dialogs, StartForm, TreesAction};
use screen::{Running, Screen, missing, wait};

/// The argument of a process that only shows an empty window.
const EMPTY: &str = "--empty";
/// How many times as long as the empty window the program may take to its first frame.
const MOST_TIMES: f64 = 1.5;
/// How much more memory than the empty window the program may have on its first screen, in MiB.
const MOST_MORE: f64 = 60.0;
/// How much of one processor the program may use while nothing happens.
const MOST_IDLE: f64 = 0.01;
/// Milliseconds in which 95 of 100 frames must be ready, for 60 in a second.
const MOST_FRAME: f64 = 16.7;
/// Milliseconds in which 95 of 100 frames of a job must be ready.
const MOST_JOB_FRAME: f64 = 8.0;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    if args.iter().any(|arg| arg == EMPTY) {
        return empty();
    }
    let thorough = args.iter().any(|arg| arg == "--bench");
    let missing = missing(&["Xvfb"]);
    if missing.is_empty() {
        real(thorough);
    } else {
        println!("the real window was not measured; not installed: {}", missing.join(", "));
    }
    split();
    frames(thorough);
    tree_frames(thorough);
}

/// Shows an empty window until the process is ended.
fn empty() {
    let viewport = egui::ViewportBuilder::default().with_inner_size([1280.0, 800.0]);
    let options = eframe::NativeOptions { viewport, renderer: eframe::Renderer::Glow, ..Default::default() };
    eframe::run_native("empty", options, Box::new(|_| Ok(Box::new(Nothing)))).unwrap();
}

struct Nothing;

impl eframe::App for Nothing {
    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        egui::CentralPanel::default().frame(egui::Frame::new().fill(egui::Color32::WHITE)).show(ui, |_| ());
    }
}

/// What was measured of a process.
struct Measured {
    /// Seconds to the first frame.
    first: f64,
    /// Share of one processor while nothing happens.
    idle: f64,
    /// Resident memory in MiB.
    memory: f64,
}

fn real(thorough: bool) {
    let (rounds, still) = if thorough { (5, Duration::from_secs(10)) } else { (1, Duration::from_secs(1)) };
    let bench = std::env::current_exe().unwrap();
    let nothing = measured(&bench, &[EMPTY], rounds, still);
    let program = measured(Path::new(env!("CARGO_BIN_EXE_lugwise")), &[], rounds, still);
    println!(
        "| window | first frame, ms | idle, % of a processor | resident, MiB |\n| --- | ---: | ---: | ---: |"
    );
    for (name, m) in [("empty", &nothing), ("Lugwise", &program)] {
        println!("| {name} | {:.0} | {:.2} | {:.1} |", m.first * 1e3, m.idle * 1e2, m.memory);
    }
    let (times, more) = (program.first / nothing.first, program.memory - nothing.memory);
    println!(
        "first frame {times:.2} times the empty window's, goal {MOST_TIMES}; {more:.1} MiB more, goal {MOST_MORE}"
    );
    if thorough {
        assert!(program.idle <= MOST_IDLE, "idle: {:.3} of a processor", program.idle);
        assert!(times <= MOST_TIMES, "{times:.2} times as long as an empty window");
        assert!(more <= MOST_MORE, "{more:.1} MiB more than an empty window");
    }
}

/// Starts a program several times; returns the median time, and the idle share and memory of the last.
fn measured(program: &Path, args: &[&str], rounds: usize, still: Duration) -> Measured {
    let mut times = Vec::new();
    let mut last = (0.0, 0.0);
    for round in 0..rounds {
        let home = tempfile::tempdir().unwrap();
        let screen = Screen::new();
        let child = Running(screen.command(program, home.path()).args(args).spawn().unwrap());
        let first = wait(Duration::from_secs(60), || screen.is_lit()).expect("the window is drawn");
        times.push(first.as_secs_f64());
        if round + 1 == rounds {
            std::thread::sleep(Duration::from_secs(2));
            let (before, start) = (processor(child.0.id()), Instant::now());
            std::thread::sleep(still);
            let used = processor(child.0.id()) - before;
            last = (used / start.elapsed().as_secs_f64(), memory(child.0.id()));
        }
    }
    times.sort_by(f64::total_cmp);
    Measured { first: times[times.len() / 2], idle: last.0, memory: last.1 }
}

/// Returns the seconds of processor time that a process has used; the system counts a hundred in a second.
fn processor(id: u32) -> f64 {
    let text = std::fs::read_to_string(format!("/proc/{id}/stat")).unwrap();
    let after = text.rsplit_once(") ").unwrap().1;
    let fields: Vec<&str> = after.split(' ').collect();
    let ticks = |index: usize| fields[index].parse::<f64>().unwrap();
    (ticks(11) + ticks(12)) / 100.0
}

/// Returns the resident memory of a process in MiB.
fn memory(id: u32) -> f64 {
    let text = std::fs::read_to_string(format!("/proc/{id}/status")).unwrap();
    let told = text.lines().find_map(|line| line.strip_prefix("VmRSS:")).unwrap();
    told.trim().trim_end_matches(" kB").parse::<f64>().unwrap() / 1024.0
}

/// Dialogs that are never answered.
struct Silent;

impl Dialogs for Silent {
    fn save_ticket(&mut self, _suggested: &str) -> Option<std::path::PathBuf> {
        None
    }

    fn open_job(&mut self) -> Option<std::path::PathBuf> {
        None
    }

    fn save_job(&mut self, _suggested: &Path) -> Option<std::path::PathBuf> {
        None
    }
}

/// Measures of what the program's own part of the first frame consists, without window and graphics driver.
fn split() {
    let home = tempfile::tempdir().unwrap();
    let mut last = Instant::now();
    let mut lap = |what: &str| {
        println!("first frame, {what}: {:.1} ms", last.elapsed().as_secs_f64() * 1e3);
        last = Instant::now();
    };
    let mut bench =
        DeskBench::with_own(home.path().join("jobs"), OwnFolder::at(home.path().join("wirings"))).unwrap();
    lap("the bench is made (beside the making of the window)");
    bench.work_beside(std::sync::Arc::new(|| ()));
    let ctx = egui::Context::default();
    let cc = eframe::CreationContext::_new_kittest(ctx.clone());
    let mut app = App::new(&cc, Box::new(bench), Box::new(Silent));
    lap("the window's contents are made");
    let mut frame = eframe::Frame::_new_kittest();
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, Vec2::new(1280.0, 800.0));
    let input = egui::RawInput { screen_rect: Some(screen), ..egui::RawInput::default() };
    let mut output = ctx.run_ui(input, |ui| {
        lap("fonts are read");
        eframe::App::logic(&mut app, ui.ctx(), &mut frame);
        lap("logic");
        eframe::App::ui(&mut app, ui, &mut frame);
        lap("ui");
    });
    lap("the pass is ended");
    output.textures_delta.clear();
    let meshes = ctx.tessellate(output.shapes, output.pixels_per_point);
    lap(&format!("{} shapes are made into triangles", meshes.len()));
}

/// Measures how long frames of a job on the largest wiring take to be laid out and made into triangles.
fn frames(thorough: bool) {
    let rounds = if thorough { 600 } else { 30 };
    let home = tempfile::tempdir().unwrap();
    let mut window = largest(home.path());
    window.run_ok();
    let mut times = Vec::new();
    for round in 0..rounds {
        if round % 10 == 0 {
            window.key_press(Key::F6);
        }
        times.push(frame(&mut window));
    }
    let (p50, p95) = percentiles(times);
    println!(
        "frames of a job on the largest wiring: p50 {p50:.2} ms, p95 {p95:.2} ms, goal {MOST_JOB_FRAME}"
    );
    assert!(!thorough || p95 <= MOST_JOB_FRAME, "p95 {p95:.2} ms");
}

/// Makes one frame up to its triangles, and returns the milliseconds that it took.
fn frame(window: &mut Harness<'static, App>) -> f64 {
    let start = Instant::now();
    window.step();
    let laid = start.elapsed();
    let (shapes, scale) = (window.output().shapes.clone(), window.output().pixels_per_point);
    let start = Instant::now();
    std::hint::black_box(window.ctx.tessellate(shapes, scale));
    (laid + start.elapsed()).as_secs_f64() * 1e3
}

/// Returns the time that half and that 95 of 100 do not exceed.
fn percentiles(mut times: Vec<f64>) -> (f64, f64) {
    times.sort_by(f64::total_cmp);
    let share = |percent: usize| times[(times.len() * percent / 100).min(times.len() - 1)];
    (share(50), share(95))
}

/// Measures how long frames of the screen of the trees take while it shows a tree of so many steps: the whole of it, and a
/// part large enough to be read.
fn tree_frames(thorough: bool) {
    let (steps, rounds) = if thorough { (10_000, 200) } else { (200, 10) };
    let home = tempfile::tempdir().unwrap();
    let mut window = with_tree(home.path(), steps);
    let whole = painted(&mut window, rounds);
    window.state_mut().ask(Action::Trees(TreesAction::Step((steps / 2).to_string())));
    let read = painted(&mut window, rounds);
    for (name, (p50, p95)) in [("all of it", whole), ("at a size to be read", read)] {
        println!(
            "frames of a tree of {steps} steps, {name}: p50 {p50:.2} ms, p95 {p95:.2} ms, goal {MOST_FRAME}"
        );
        assert!(!thorough || p95 <= MOST_FRAME, "{name}: {p95:.2} ms");
    }
}

/// Lets what was pressed last come to rest, and measures frames in milliseconds.
fn painted(window: &mut Harness<'static, App>, rounds: usize) -> (f64, f64) {
    (0..10).for_each(|_| window.step());
    percentiles((0..rounds).map(|_| frame(window)).collect())
}

/// Returns a window on the screen of the trees with an invented tree of one's own.
fn with_tree(home: &Path, steps: usize) -> Harness<'static, App> {
    std::fs::create_dir_all(home.join("trees")).unwrap();
    std::fs::write(home.join("trees/large.ron"), large_tree(steps)).unwrap();
    let bench = DeskBench::with_own(home.join("jobs"), OwnFolder::at(home.join("wirings"))).unwrap();
    let mut window = Harness::builder()
        .with_size(Vec2::new(1280.0, 800.0))
        .with_theme(Theme::Light)
        .build_eframe(move |cc| App::new(cc, Box::new(bench), Box::new(Silent)));
    window.step();
    window.get_by_label("Trees…").click_accesskit();
    window
}

/// Returns a tree in which every step leads to two others, down to the last of them.
fn large_tree(steps: usize) -> String {
    let to = |next: usize| if next < steps { format!("Step(\"{next}\")") } else { "Advisor".to_owned() };
    let step = |at: usize| {
        let answer =
            |word: &str, next: usize| format!("(answer: \"{word}\", means: \"so\", then: {})", to(next));
        let (yes, no) = (answer("yes", 2 * at + 1), answer("no", 2 * at + 2));
        format!("(name: \"{at}\", say: \"Look at it.\", why: \"To know.\", ask: Look([{yes}, {no}])),\n")
    };
    let steps: String = (0..steps).map(step).collect();
    format!(
        "(format: 1, name: \"large\", title: \"An invented tree\", complaint: Silent, start: \"0\", steps: [\n{steps}])\n"
    )
}

/// Returns a window with a new job on the wiring with the most conductors.
fn largest(home: &Path) -> Harness<'static, App> {
    let wirings = built_in_wirings().unwrap_or_else(|wrong| panic!("{wrong:?}"));
    let (wiring, _) = wirings.iter().max_by_key(|(harness, _)| harness.links.len()).unwrap();
    let mut bench = DeskBench::with_own(home.join("jobs"), OwnFolder::at(home.join("wirings"))).unwrap();
    let form = StartForm {
        wiring: wiring.name.clone(),
        instrument: "an invented guitar".to_owned(),
        customer: String::new(),
        complaint: "no sound".to_owned(),
        symptoms: vec![Symptom::Silent],
        last_done: String::new(),
        access: Access::MayUnsolder,
        meter: bench.meters()[0].name.clone(),
        technician: String::new(),
        file: home.join("jobs/a.job.ron"),
    };
    bench.start(form).unwrap();
    Harness::builder()
        .with_size(Vec2::new(1280.0, 800.0))
        .with_theme(Theme::Light)
        .build_eframe(move |cc| App::new(cc, Box::new(bench), Box::new(Silent)))
}
