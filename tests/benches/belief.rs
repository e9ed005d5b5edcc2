//! How long a reading takes to be weighed and the next ones to be ranked, how much memory that needs, how both grow
//! with the wiring, and the whole table of readings beside a circuit simulator.
//!
//! Every wiring is measured by a process of its own, on one core, so that its memory is its own too. Without `--bench`,
//! as under `cargo test`, one wiring stands for all. `LUGWISE_GROWTH=1` adds ever larger wirings up to ten times the
//! joints of the largest built-in one; with `LUGWISE_WRITE=1` as well the figures in `assets/figures` are written anew.

#[path = "../data/grown.rs"]
mod grown;
#[path = "../data/growth_plot.rs"]
mod growth_plot;

use std::collections::BTreeMap;
use std::hint::black_box;
use std::path::Path;
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use grown::{MOST_CHANNELS, grown};
use growth_plot::{Growing, growth_plot};
use lugwise::advisor::{self, Circumstances, Stand};
use lugwise::belief::Belief;
use lugwise::circuit::{Change, Fixing, Harness, built_in, load};
use lugwise::faults::{Fault, Kind};
use lugwise::prediction::{Behaviour, Cell, Hypotheses, Model, State};
use lugwise::readings::{Access, Level, Measurement, Meter, Mode, Said, Setting, Shown};
use lugwise::source::Source;
use lugwise::trial::drawn;
use lugwise::workbench::Engine;
use rand::SeedableRng;
use rand::rngs::StdRng;
use serde::{Deserialize, Serialize};

/// The first argument of a process that measures one wiring.
const MEASURE: &str = "--measure";
/// How grown wirings are called, before the number of their channels.
const GROWN: &str = "grown-";
/// How long one wiring may take.
const CAP: Duration = Duration::from_secs(120);
/// How much memory one wiring may take, in KiB.
const MOST_MEMORY: usize = 4 << 20;
/// Readings of one instrument.
const READINGS: usize = 6;
/// Instruments on a built-in wiring and on a grown one.
const INSTRUMENTS: usize = 25;
const GROWN_INSTRUMENTS: usize = 8;
/// Grown wirings end at so many times the joints of the largest built-in one.
const TIMES: usize = 10;
/// Decks that the circuit simulator is given.
const DECKS: usize = 20;

const COLUMNS: &str = "\
| wiring | joints | hypotheses | ready, ms | readings | p50, ms | p95, ms | resident, MiB | at most, MiB |
| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |";

/// What was measured of one wiring; times in milliseconds, memory in MiB.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct Measured {
    wiring: String,
    joints: usize,
    hypotheses: usize,
    ready: f64,
    readings: usize,
    /// Half of the readings, and 95 of 100, were followed by proposals within this; `None` before the first reading.
    p50: Option<f64>,
    p95: Option<f64>,
    /// `None` where the system does not tell.
    resident: Option<f64>,
    most: Option<f64>,
}

impl Measured {
    fn line(&self) -> String {
        let number = |value: Option<f64>| value.map_or("-".to_owned(), |value| format!("{value:.2}"));
        format!(
            "| {} | {} | {} | {:.0} | {} | {} | {} | {} | {} |",
            self.wiring.trim_end_matches(".ron"),
            self.joints,
            self.hypotheses,
            self.ready,
            self.readings,
            number(self.p50),
            number(self.p95),
            number(self.resident),
            number(self.most)
        )
    }

    /// Prints it with the memory of this moment, for the process that waits for it.
    fn told(mut self) -> Self {
        (self.resident, self.most) = (memory("VmRSS:"), memory("VmHWM:"));
        println!("{}", serde_json::to_string(&self).unwrap());
        self
    }
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    if let [flag, wiring, instruments] = &args[..]
        && flag == MEASURE
    {
        return measure(wiring, instruments.parse().unwrap());
    }
    let thorough = args.iter().any(|arg| arg == "--bench");
    let (wirings, instruments, decks) =
        if thorough { (built_in(), INSTRUMENTS, DECKS) } else { (&built_in()[..1], 1, 5) };
    assert!(load(&source(&format!("{GROWN}{MOST_CHANNELS}"))).is_ok(), "a grown wiring is a wiring");
    println!("{COLUMNS}");
    let speeds: Vec<Measured> = wirings.iter().map(|(name, _)| built_in_speed(name, instruments)).collect();
    let largest = speeds.iter().max_by_key(|measured| measured.hypotheses).unwrap();
    let table = table(&largest.wiring, decks);
    println!("{table}");
    if set("LUGWISE_GROWTH") {
        let (sizes, end) = growth();
        println!("{end}");
        if set("LUGWISE_WRITE") {
            write(&speeds, &table, &sizes, &end);
        }
    }
}

fn set(variable: &str) -> bool {
    std::env::var(variable).is_ok_and(|value| value == "1")
}

fn built_in_speed(name: &str, instruments: usize) -> Measured {
    let measured = by_itself(name, instruments).unwrap_or_else(|| panic!("{name} was not ready"));
    println!("{}", measured.line());
    assert!(measured.p95.is_some(), "{name} did not come to its end within {} s", CAP.as_secs());
    measured
}

/// Measures a wiring in a process of its own; returns what it told last before its time or its memory ran out.
fn by_itself(wiring: &str, instruments: usize) -> Option<Measured> {
    let mut child = Command::new("sh")
        .args(["-c", &format!("ulimit -v {MOST_MEMORY}; exec \"$0\" \"$@\"")])
        .arg(std::env::current_exe().unwrap())
        .args([MEASURE, wiring, &instruments.to_string()])
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let start = Instant::now();
    while child.try_wait().unwrap().is_none() {
        if start.elapsed() > CAP {
            child.kill().unwrap();
            break;
        }
        sleep(Duration::from_millis(10));
    }
    let output = child.wait_with_output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    text.lines().next_back().map(|line| serde_json::from_str(line).unwrap())
}

/// Measures a wiring: the work of the process that was started for it.
fn measure(wiring: &str, instruments: usize) {
    let start = Instant::now();
    let engine = engine(wiring);
    let measured = Measured {
        wiring: wiring.to_owned(),
        joints: joints(engine.harness()),
        hypotheses: engine.model.hypotheses.list.len(),
        ready: milliseconds(start),
        readings: 0,
        p50: None,
        p95: None,
        resident: None,
        most: None,
    }
    .told();
    let mut times = played(&engine, instruments);
    times.sort_by(f64::total_cmp);
    let share =
        |share: f64| times.get(((times.len() as f64 * share).ceil() as usize).saturating_sub(1)).copied();
    Measured { readings: times.len(), p50: share(0.5), p95: share(0.95), ..measured }.told();
}

fn source(wiring: &str) -> Source {
    if let Some(channels) = wiring.strip_prefix(GROWN) {
        return Source::new(wiring, grown(channels.parse().unwrap()));
    }
    let (name, text) = built_in().iter().find(|(name, _)| *name == wiring).unwrap();
    Source::new(*name, *text)
}

fn engine(wiring: &str) -> Engine {
    Engine::new(&source(wiring), Meter::ordinary(), &[]).unwrap()
}

/// Counts what is soldered or pressed: every end of a conductor that can come loose.
fn joints(harness: &Harness) -> usize {
    let ends = harness.links.iter().flat_map(|link| [&link.from, &link.to]);
    ends.filter(|end| end.fixing != Fixing::Own).count()
}

fn milliseconds(since: Instant) -> f64 {
    since.elapsed().as_secs_f64() * 1e3
}

/// Returns a line of what the system tells of this process, in MiB.
fn memory(line: &str) -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let told = status.lines().find_map(|known| known.strip_prefix(line))?;
    let kib: f64 = told.trim().trim_end_matches(" kB").parse().ok()?;
    Some(kib / 1024.0)
}

/// Plays instruments with steady faults taken evenly from all, and returns the milliseconds after each reading.
fn played(engine: &Engine, instruments: usize) -> Vec<f64> {
    let list = &engine.model.hypotheses.list;
    let steady: Vec<usize> = (0..list.len()).filter(|&h| list[h].behaviour == Behaviour::Steady).collect();
    let mut times = Vec::new();
    for (index, seed) in (0..instruments).zip(3000..) {
        play(engine, steady[spread(index, instruments, steady.len())], seed, &mut times);
    }
    times
}

/// Returns the place of the middle of one of `parts` equal parts.
fn spread(part: usize, parts: usize, length: usize) -> usize {
    (2 * part + 1) * length / (2 * parts)
}

/// Plays one instrument with part values of its own, asking for what is proposed first.
fn play(engine: &Engine, truth: usize, seed: u64, times: &mut Vec<f64>) {
    let (model, candidates, groups, meter) =
        (&engine.model, &engine.candidates, &engine.groups, &engine.meter);
    let own = instrument(model, truth, seed);
    let mut belief = Belief::prior(model);
    let mut spent: Vec<Measurement> = Vec::new();
    let mut stand = Stand::default();
    let mut asked = Measurement::at_the_plug(engine.harness());
    for _ in 0..READINGS {
        let shown = read(engine, &own, truth, &asked);
        let start = Instant::now();
        believe(engine, &mut belief, &asked, shown);
        stand.opened.extend(advisor::places(engine.harness(), &asked));
        stand.setting = asked.setting.clone();
        stand.probes = Some((asked.red.clone(), asked.black.clone()));
        spent.push(asked);
        let stand = stand.clone();
        let circumstances = Circumstances { access: Access::MayUnsolder, stand, spent: &spent, skipped: &[] };
        let next = advisor::propose(model, candidates, groups, &belief, meter, &circumstances);
        times.push(milliseconds(start));
        let Some(first) = next.into_iter().next() else { return };
        asked = first.measurement;
    }
}

/// Returns the model of an instrument whose state 1 is that of a hypothesis.
fn instrument(model: &Model, truth: usize, seed: u64) -> Model {
    let values = drawn(model, &mut StdRng::seed_from_u64(seed));
    let sound = State { change: Change::Nothing, spread: 0.0 };
    let state = model.hypotheses.states[model.hypotheses.list[truth].state].clone();
    model.instrument(values, Hypotheses { states: vec![sound, state], list: Vec::new() })
}

/// Reads the instrument with a meter without error; questions get the likelier answer.
fn read(engine: &Engine, own: &Model, truth: usize, asked: &Measurement) -> Shown {
    if let Mode::Observe(check) = asked.mode {
        let yes = engine.chances(check, asked).unwrap()[truth];
        return Shown::Said(if yes >= 0.5 { Said::Yes } else { Said::No });
    }
    let still = Measurement { flex: None, ..asked.clone() };
    let level = own.row(&still).unwrap().map_or(Level::OverRange, |row| display(engine.meter, &row[1]));
    if asked.flex.is_some() { Shown::Range { low: level, high: level } } else { Shown::Steady(level) }
}

fn display(meter: &Meter, cell: &Cell) -> Level {
    let most = meter.most(cell.dial);
    let Some(value) = cell.reads.filter(|value| *value < most) else { return Level::OverRange };
    let digit = meter.last_digit(cell.dial, value);
    Level::of(cell.dial, (value / digit).round() * digit, digit)
}

fn believe(engine: &Engine, belief: &mut Belief, asked: &Measurement, shown: Shown) {
    if let (Mode::Observe(check), Shown::Said(said)) = (asked.mode, shown) {
        belief.observe(&engine.chances(check, asked).unwrap(), said);
    } else {
        let row = engine.row(asked).unwrap();
        belief.read(&engine.model, engine.meter, asked.flex.as_deref(), &[(shown, row)]);
    }
}

/// Works out every reading in ohms of every state, and some of them with ngspice, one deck each; returns what each took.
fn table(wiring: &str, decks: usize) -> String {
    let engine = engine(wiring);
    let plain = |m: &&Measurement| m.mode == Mode::Resistance && m.flex.is_none() && m.lifted.is_none();
    let asked: Vec<&Measurement> =
        engine.candidates.list.iter().map(|candidate| &candidate.measurement).filter(plain).collect();
    let mut settings: BTreeMap<&Setting, Vec<&Measurement>> = BTreeMap::new();
    for measurement in asked.iter().copied() {
        settings.entry(&measurement.setting).or_default().push(measurement);
    }
    let start = Instant::now();
    let mut entries = 0;
    for (setting, asked) in &settings {
        let bench = engine.model.bench(setting).unwrap();
        for measurement in asked.iter().copied() {
            let (red, black) = engine.model.probes(measurement).unwrap();
            entries += black_box(bench.row(red, black)).len();
        }
    }
    let ours = milliseconds(start) / entries as f64;
    let theirs = simulated(&engine, &asked, decks);
    format!(
        "{wiring}: {entries} entries of {} readings at {} settings, {:.3} µs each; ngspice {theirs:.2} ms for one: \
         {:.0} times as long",
        asked.len(),
        settings.len(),
        ours * 1e3,
        theirs / ours
    )
}

/// Returns how many milliseconds ngspice takes for one reading under one fault, on average over some that have a path.
fn simulated(engine: &Engine, asked: &[&Measurement], decks: usize) -> f64 {
    let foretold = |fault: &&Fault| fault.kind != Kind::NotInCatalogue;
    let faults: Vec<&Fault> = engine.model.catalogue.faults.iter().filter(foretold).collect();
    let folder = tempfile::tempdir().unwrap();
    let (mut taken, mut run) = (0.0, 0);
    for index in 0..decks {
        let measurement = asked[spread(index, decks, asked.len())];
        let fault = faults[spread(index, decks, faults.len())];
        let Some(deck) = engine.netlist(measurement, Some(&fault.id)).unwrap() else { continue };
        taken += one_deck(folder.path(), &deck);
        run += 1;
    }
    assert!(run > 0, "none of {decks} readings has a path");
    taken / f64::from(run)
}

fn one_deck(folder: &Path, text: &str) -> f64 {
    let (deck, raw) = (folder.join("deck.cir"), folder.join("deck.raw"));
    std::fs::write(&deck, text).unwrap();
    let start = Instant::now();
    let status = Command::new("ngspice")
        .args(["-b", "-r"])
        .args([&raw, &deck])
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .unwrap_or_else(|e| panic!("running ngspice: {e}; install the package `ngspice`"));
    assert!(status.success() && raw.exists());
    milliseconds(start)
}

/// Measures ever larger wirings; returns those that came to their end, and in words why there are no more.
fn growth() -> (Vec<Measured>, String) {
    let of = |(name, text): &(&str, &str)| joints(&load(&Source::new(*name, *text)).unwrap());
    let most = TIMES * built_in().iter().map(of).max().unwrap();
    let mut sizes: Vec<Measured> = Vec::new();
    println!("{COLUMNS}");
    for channels in [2, 3, 4, 6, 8, 12, 16, 24, 32, 45, MOST_CHANNELS] {
        if sizes.last().is_some_and(|last| last.joints >= most) {
            break;
        }
        let wiring = format!("{GROWN}{channels}");
        let measured = by_itself(&wiring, GROWN_INSTRUMENTS);
        measured.iter().for_each(|measured| println!("{}", measured.line()));
        let Some(measured) = measured.filter(|measured| measured.p95.is_some()) else {
            let (seconds, mib) = (CAP.as_secs(), MOST_MEMORY >> 10);
            return (sizes, format!("{wiring} did not come to its end within {seconds} s and {mib} MiB"));
        };
        sizes.push(measured);
    }
    let reached = sizes.last().map_or(0, |last| last.joints);
    (sizes, format!("{reached} joints were reached, {most} are {TIMES} times the largest built-in wiring"))
}

fn write(speeds: &[Measured], table: &str, sizes: &[Measured], end: &str) {
    assert!(!sizes.is_empty(), "nothing was measured");
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/figures");
    std::fs::create_dir_all(&folder).unwrap();
    let rows = |all: &[Measured]| all.iter().map(Measured::line).collect::<Vec<_>>().join("\n");
    let page = format!(
        "# Speed, memory and growth\n\nWritten by `LUGWISE_GROWTH=1 LUGWISE_WRITE=1 cargo bench --bench belief`, one core \
         for each wiring. p50 and p95: from a reading to the ranked proposals. A row has the memory of a process that does \
         nothing else.\n\n## The wirings of the program\n\n{COLUMNS}\n{}\n\n{table}.\n\n## Ever larger wirings\n\n{COLUMNS}\n{}\n\n\
         {end}.\n\n![The same as a plot](growth.svg)\n",
        rows(speeds),
        rows(sizes)
    );
    std::fs::write(folder.join("speed.md"), page).unwrap();
    std::fs::write(folder.join("growth.svg"), plotted(sizes)).unwrap();
}

fn plotted(sizes: &[Measured]) -> String {
    let line = |name, dash, value: &dyn Fn(&Measured) -> Option<f64>| {
        let point = |measured: &Measured| Some((measured.joints as f64, value(measured)?));
        Growing { name, dash, points: sizes.iter().filter_map(point).collect() }
    };
    let lines = [
        line("ready, ms", None, &|measured: &Measured| Some(measured.ready)),
        line("p95 after a reading, ms", Some((9.0, 5.0)), &|measured: &Measured| measured.p95),
        line("memory at most, MiB", Some((2.0, 4.0)), &|measured: &Measured| measured.most),
    ];
    growth_plot("Growth with the wiring", "joints", "ms, MiB", &lines)
}
