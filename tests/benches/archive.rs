//! The archive of past jobs: how long it takes to open it, to find jobs, to count them, to add an event, to export all.
//!
//! Its jobs are invented, from visits that `lugwise trial` really plays. Without `--bench`, as under `cargo test`, one
//! small archive is measured briefly and nothing is demanded. `LUGWISE_ARCHIVE_JOBS=30000` measures that many jobs and
//! nothing else. `LUGWISE_ARCHIVE_KEEP=FOLDER` leaves archive, exports and `ours.json` of the last size in a folder, for
//! `tests/reference/archive_peer.py`. `LUGWISE_WRITE=1` writes `assets/figures/archive.md`. `LUGWISE_GROWTH=1` measures
//! ever larger archives up to a million jobs (some 45 GiB for an hour) and with `LUGWISE_WRITE=1` writes
//! `assets/figures/archive-growth.md` and its plot after each.

#[path = "../data/growth_plot.rs"]
mod growth_plot;

use std::fs::{self, File};
use std::io::BufWriter;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

use growth_plot::{Growing, growth_plot};
use lugwise::archive::audit::By;
use lugwise::archive::{Archive, Filter, Order, Page, Summary, uid_of};
use lugwise::job::Record;
use lugwise::session::{Chart, Figure, Taught};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use serde_json::{Map, Value, json};

const NOW: &str = "2026-01-01T12:00:00Z";
const JOBS: &str = "LUGWISE_ARCHIVE_JOBS";
const KEEP: &str = "LUGWISE_ARCHIVE_KEEP";
const GROWTH: [usize; 5] = [10_000, 30_000, 100_000, 300_000, 1_000_000];
/// The goals are for so many jobs. Larger archives are measured in fewer rounds and not exported, which would take as much
/// disk again.
const GOALS_UP_TO: usize = 100_000;
/// The most milliseconds that are allowed.
const MOST_OPEN: f64 = 1000.0;
const MOST_SEARCH: f64 = 50.0;
const MOST_CHART: f64 = 500.0;
const MOST_EVENT: f64 = 20.0;
/// Lines that are plotted, or left empty where there are no exports.
const OPEN: &str = "open";
const SEARCH: &str = "search";
const EVENT: &str = "one event, until it is on the disk";
const LINES_MADE: &str = "export NDJSON, s";
const TABLES_MADE: &str = "export Parquet, s";
const LINES_SIZE: &str = "size of the NDJSON, MiB";
/// How the lines of the figures begin.
const FIGURE: &str = "figure ";
/// As many hits as the window lists.
const LISTED: u32 = 200;

fn main() {
    let thorough = std::env::args().any(|arg| arg == "--bench");
    if set("LUGWISE_GROWTH") {
        return growth();
    }
    let asked = std::env::var(JOBS).ok().map(|text| text.parse::<usize>().expect("a number of jobs"));
    let sizes = match asked {
        Some(jobs) => vec![jobs],
        None if thorough => vec![10_000, 100_000],
        None => vec![300],
    };
    let sheets: Vec<Sheet> =
        sizes.into_iter().map(|jobs| Sheet::of(jobs, thorough || asked.is_some())).collect();
    let table = table(&sheets);
    println!("{table}");
    if set("LUGWISE_WRITE") {
        fs::write(figures().join("archive.md"), page(&table)).unwrap();
    }
    if thorough {
        sheets.iter().for_each(Sheet::demand);
    }
}

fn set(variable: &str) -> bool {
    std::env::var(variable).is_ok_and(|value| value == "1")
}

fn figures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/figures")
}

/// Measures ever larger archives, and tells and writes what is known after each.
fn growth() {
    let mut sheets = Vec::new();
    for jobs in GROWTH {
        sheets.push(Sheet::of(jobs, true));
        println!("{}\n", table(&sheets));
        if set("LUGWISE_WRITE") {
            fs::write(figures().join("archive-growth.md"), growth_page(&table(&sheets))).unwrap();
            fs::write(figures().join("archive-growth.svg"), plotted(&sheets)).unwrap();
        }
    }
}

/// One line of what was measured.
struct Line {
    what: String,
    /// In milliseconds, or in the unit that is named.
    values: Vec<f64>,
    unit: &'static str,
    most: Option<f64>,
}

/// What was measured of one size.
struct Sheet {
    jobs: usize,
    lines: Vec<Line>,
}

impl Sheet {
    fn of(jobs: usize, thorough: bool) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let kept = std::env::var_os(KEEP).map(PathBuf::from);
        let home = kept.unwrap_or_else(|| folder.path().to_owned());
        fs::create_dir_all(&home).unwrap();
        let path = home.join(format!("jobs-{jobs}.archive"));
        let mut sheet = Self { jobs, lines: Vec::new() };
        sheet.add("made by `lugwise trial`, s", vec![make(&path, jobs, thorough) / 1e3], "", None);
        let size = fs::metadata(&path).unwrap().len() as f64;
        let (rounds, searches) = match jobs {
            _ if !thorough => (1, 20),
            0..=GOALS_UP_TO => (7, 400),
            _ => (3, 200),
        };
        let opened = times(rounds, || drop(open(&path)));
        sheet.add(OPEN, vec![median(opened)], "ms", Some(MOST_OPEN));
        let mut archive = open(&path);
        let again = times(rounds, || drop(open(&path)));
        sheet.add("open while another window has it open", vec![median(again)], "ms", Some(MOST_OPEN));
        sheet.search(&archive, searches);
        let answers = sheet.charts(&archive, rounds);
        sheet.lists(&archive, rounds);
        sheet.exports(&archive, &home);
        fs::write(home.join("ours.json"), format!("{:#}", Value::Object(answers))).unwrap();
        sheet.events(&mut archive, if thorough { 20 } else { 1 });
        let begun = Instant::now();
        let counts = archive.check().unwrap();
        let checked = begun.elapsed().as_secs_f64();
        sheet.add("look it all through, s", vec![checked], "", None);
        let mib = 1024.0 * 1024.0;
        sheet.add("events in it", vec![counts.events as f64], "", None);
        sheet.add("size on disk, MiB", vec![size / mib], "", None);
        sheet.add("size of a job on disk, KiB", vec![size / 1024.0 / jobs.max(1) as f64], "", None);
        sheet
    }

    fn add(&mut self, what: &str, values: Vec<f64>, unit: &'static str, most: Option<f64>) {
        self.lines.push(Line { what: what.to_owned(), values, unit, most });
    }

    /// Adds the median and the value that 95 of 100 do not exceed.
    fn spread(&mut self, what: &str, times: Vec<f64>, most: Option<f64>) {
        let (p50, p95) = (share(times.clone(), 0.5), share(times, 0.95));
        self.add(what, vec![p50, p95], "ms", most);
    }

    /// Searches for customers, faults, repairs, complaints and beginnings of words, as jobs by chance have them.
    fn search(&mut self, archive: &Archive, count: usize) {
        let mut rng = StdRng::seed_from_u64(7);
        let jobs = by_chance(archive, count, &mut rng);
        let mut all = Vec::new();
        for (number, job) in jobs.iter().enumerate() {
            let words = question(job, number);
            all.extend(times(1, || drop(archive.find(&words, &Filter::default(), LISTED).unwrap())));
        }
        self.spread(SEARCH, all, Some(MOST_SEARCH));
        let one = Filter { technician: Some("technician 3".to_owned()), ..Filter::default() };
        let common = times(5, || drop(archive.find("invented", &one, LISTED).unwrap()));
        self.add("search for a word of all jobs, one technician", vec![median(common)], "ms", None);
    }

    /// Answers every question over all jobs, and over those of one technician in one year; returns the answers.
    fn charts(&mut self, archive: &Archive, rounds: usize) -> Map<String, Value> {
        let narrow = Filter {
            technician: Some("technician 3".to_owned()),
            from: Some("2020".to_owned()),
            until: Some("2021".to_owned()),
            ..Filter::default()
        };
        let mut answers = Map::new();
        for chart in Chart::ALL {
            let all = Filter::default();
            let ask = |filter: &Filter| Figure::of(archive, chart, filter, By::Kind).unwrap();
            let whole = median(times(rounds, || drop(ask(&all))));
            let part = median(times(rounds, || drop(ask(&narrow))));
            self.add(&format!("{FIGURE}{}", chart.name()), vec![whole], "ms", Some(MOST_CHART));
            self.add(
                &format!("{FIGURE}{}, one technician, one year", chart.name()),
                vec![part],
                "ms",
                Some(MOST_CHART),
            );
            answers.insert(chart.name().to_owned(), json!({"ms": whole, "rows": ask(&all).json}));
        }
        answers
    }

    fn lists(&mut self, archive: &Archive, rounds: usize) {
        let newest = || drop(archive.jobs(&Filter::default(), Order::Newest, Page::default()).unwrap());
        let listed = median(times(rounds, newest));
        self.add("list the last 100", vec![listed], "ms", None);
        let learnt = median(times(rounds, || drop(Taught::of(archive, None).unwrap())));
        self.add("what cured jobs teach", vec![learnt], "ms", Some(MOST_CHART));
        let of =
            || drop(archive.of_instrument("invented customer 1", "invented guitar 1", "one-pickup").unwrap());
        let known = median(times(rounds, of));
        self.add("earlier jobs of an instrument that comes in", vec![known], "ms", None);
    }

    fn exports(&mut self, archive: &Archive, home: &Path) {
        if self.jobs > GOALS_UP_TO {
            for what in [LINES_MADE, TABLES_MADE, LINES_SIZE] {
                self.add(what, Vec::new(), "", None);
            }
            return;
        }
        let made = |name: &str| BufWriter::new(File::create(home.join(name)).unwrap());
        let lines = times(1, || {
            archive.export_ndjson(&mut made("jobs.ndjson")).unwrap();
        });
        self.add(LINES_MADE, vec![lines[0] / 1e3], "", None);
        let tables = times(1, || {
            archive.export_parquet(made("jobs.parquet"), made("events.parquet")).unwrap();
        });
        self.add(TABLES_MADE, vec![tables[0] / 1e3], "", None);
        let size = fs::metadata(home.join("jobs.ndjson")).unwrap().len() as f64;
        self.add(LINES_SIZE, vec![size / 1024.0 / 1024.0], "", None);
        fs::remove_file(home.join("jobs.ndjson")).unwrap();
    }

    /// Adds new jobs event by event, as a job on the bench is added.
    fn events(&mut self, archive: &mut Archive, count: usize) {
        let mut rng = StdRng::seed_from_u64(8);
        let mut all = Vec::new();
        let before = archive.how_many(&Filter::default()).unwrap();
        for (number, job) in (before..).zip(by_chance(archive, count, &mut rng)) {
            let mut records: Vec<Record> = archive.job(&job.uid).unwrap().records().to_vec();
            let (hour, minute, second) = (number / 3600 % 24, number / 60 % 60, number % 60);
            records[0].at = format!("2026-02-01T{hour:02}:{minute:02}:{second:02}Z");
            let uid = uid_of(&records[0]).unwrap();
            for (there, record) in records.iter().enumerate() {
                let one = std::slice::from_ref(record);
                all.extend(times(1, || archive.append(&uid, there, one).unwrap()));
            }
        }
        self.spread(EVENT, all, Some(MOST_EVENT));
    }

    fn demand(&self) {
        if self.jobs > GOALS_UP_TO {
            return;
        }
        for line in &self.lines {
            let (Some(most), Some(found)) = (line.most, line.values.last()) else { continue };
            assert!(*found <= most, "{} jobs, {}: {found:.1} ms, goal {most} ms", self.jobs, line.what);
        }
    }

    /// Returns the most milliseconds of these lines: of a spread, those that 95 of 100 do not exceed.
    fn most(&self, these: fn(&str) -> bool) -> f64 {
        let lines = self.lines.iter().filter(|line| these(&line.what));
        lines.filter_map(|line| line.values.last()).fold(0.0, |most, ms| ms.max(most))
    }
}

fn plotted(sheets: &[Sheet]) -> String {
    let line = |name, dash, these| {
        let points = sheets.iter().map(|sheet| (sheet.jobs as f64, sheet.most(these))).collect();
        Growing { name, dash, points }
    };
    let lines = [
        line("slowest figure", None, |what| what.starts_with(FIGURE)),
        line("search, 95 of 100", Some((9.0, 5.0)), |what| what == SEARCH),
        line("one event, 95 of 100", Some((2.0, 4.0)), |what| what == EVENT),
        line("open", Some((14.0, 4.0)), |what| what == OPEN),
    ];
    growth_plot("Growth with the number of jobs", "jobs", "ms", &lines)
}

fn open(path: &Path) -> Archive {
    Archive::open(path, NOW).unwrap()
}

/// Makes an archive unless it was kept from before, and returns how many milliseconds it took.
fn make(path: &Path, jobs: usize, thorough: bool) -> f64 {
    if path.exists() {
        return 0.0;
    }
    let many = ["one-pickup", "two-single-coils", "two-humbuckers", "bass-two-volumes"];
    let few = ["one-pickup-direct"];
    let (wirings, pool) = if thorough { (&many[..], "80") } else { (&few[..], "4") };
    let (home, count) = (path.parent().unwrap(), jobs.to_string());
    let begun = Instant::now();
    let output = Command::new(env!("CARGO_BIN_EXE_lugwise"))
        .arg("trial")
        .args(wirings)
        .args([
            "--jobs",
            count.as_str(),
            "--pool",
            pool,
            "--seed",
            "7",
            "--until",
            "2025-12-31",
            "--json",
            "--archive",
        ])
        .arg(path)
        .env("HOME", home)
        .env("XDG_CONFIG_HOME", home)
        .env("XDG_DATA_HOME", home)
        .env("LUGWISE_ARCHIVE", "off")
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stdout));
    begun.elapsed().as_secs_f64() * 1e3
}

/// Returns so many jobs, each taken by chance from all.
fn by_chance(archive: &Archive, count: usize, rng: &mut StdRng) -> Vec<Summary> {
    let all = archive.how_many(&Filter::default()).unwrap();
    let one = |start| archive.jobs(&Filter::default(), Order::Oldest, Page { start, size: 1 }).unwrap();
    (0..count).flat_map(|_| one(rng.random_range(0..all))).collect()
}

/// Returns what somebody looks for who has such a job in mind.
fn question(job: &Summary, number: usize) -> String {
    let named = job.last.as_ref().map_or_else(|| "jack".to_owned(), |named| named.kind.clone());
    let place = job.last.as_ref().map_or_else(|| "volume".to_owned(), |named| named.place.clone());
    match number % 8 {
        0 => job.customer.clone(),
        1 => job.customer.rsplit(' ').next().unwrap_or_default().to_owned(),
        2 => named,
        3 => format!("{} {place}", job.customer),
        4 => place.chars().take(4).collect(),
        5 => job.complaint.clone(),
        6 => format!("{named} {place}"),
        _ => "resolder".to_owned(),
    }
}

/// Returns how many milliseconds each round takes.
fn times(rounds: usize, mut work: impl FnMut()) -> Vec<f64> {
    let one = |_| {
        let begun = Instant::now();
        work();
        begun.elapsed().as_secs_f64() * 1e3
    };
    (0..rounds).map(one).collect()
}

fn median(times: Vec<f64>) -> f64 {
    share(times, 0.5)
}

/// Returns the value that this share of all does not exceed.
fn share(mut times: Vec<f64>, share: f64) -> f64 {
    times.sort_by(f64::total_cmp);
    let index = (times.len() as f64 * share).ceil() as usize;
    times.get(index.saturating_sub(1)).copied().unwrap_or(0.0)
}

fn table(sheets: &[Sheet]) -> String {
    let head: String = sheets.iter().map(|sheet| format!(" {} jobs |", sheet.jobs)).collect();
    let mut lines =
        vec![format!("| |{head} goal |"), format!("| --- |{} ---: |", " ---: |".repeat(sheets.len()))];
    for (number, first) in sheets[0].lines.iter().enumerate() {
        let cells: String =
            sheets.iter().map(|sheet| format!(" {} |", shown(&sheet.lines[number]))).collect();
        let goal = first.most.map_or_else(String::new, |most| format!("{most:.0} ms"));
        lines.push(format!("| {} |{cells} {goal} |", first.what));
    }
    lines.join("\n")
}

fn shown(line: &Line) -> String {
    let digits = |value: &f64| if *value < 10.0 { format!("{value:.2}") } else { format!("{value:.0}") };
    match &line.values[..] {
        [] => "-".to_owned(),
        [p50, p95] => format!("p50 {} {unit}, p95 {} {unit}", digits(p50), digits(p95), unit = line.unit),
        values => {
            let all: Vec<String> = values.iter().map(digits).collect();
            format!("{} {}", all.join(", "), line.unit).trim_end().to_owned()
        }
    }
}

fn page(table: &str) -> String {
    format!(
        "# The archive of past jobs at scale\n\nWritten by `LUGWISE_WRITE=1 cargo bench --bench archive`. The jobs are \
         invented: a pool of visits is really played on the bench of `lugwise trial`, and each job is one of them with its \
         own customer, instrument, technician and moments over ten years. Times in ms are medians with a warm disk cache, \
         but for p50 and p95; those in s are of one run. An event is on the disk when its time ends. The search asks for \
         customers, faults, places, repairs and beginnings of words.\n\n{table}\n\nThe same questions put to a column store, and whether the answers \
         agree: `LUGWISE_ARCHIVE_KEEP=FOLDER cargo bench --bench archive`, then `python3 tests/reference/archive_peer.py \
         FOLDER`, with DuckDB installed for Python; its table is in [archive-peer.md](archive-peer.md).\n"
    )
}

fn growth_page(table: &str) -> String {
    format!(
        "# How the archive grows\n\nWritten by `LUGWISE_GROWTH=1 LUGWISE_WRITE=1 cargo bench --bench archive`, as \
         [archive.md](archive.md) is, which says what the lines are. Opening, the list of the last jobs, the earlier jobs of an \
         instrument and one event stay as they are; the rest grows with the number of jobs, and faster where the memory no \
         longer holds the file. The goals are for 100,000 jobs: a shop that opens forty jobs a day has as many after ten \
         years. Larger archives are not exported. The jobs are invented.\n\n\
         ![The same as a plot](archive-growth.svg)\n\n{table}\n"
    )
}
