//! The belief against brute force: part values are drawn from the stated priors, every hypothesis is solved exactly
//! for every draw, and the likelihoods are averaged. No estimate, no slope, no Kalman step.
//!
//! Both sides have the same priors, those of [`Model::params`]: normal logarithms of coils and tracks, a normal shift of
//! the logit of a taper, a normal end stop (which may come out below nothing), a normal logarithm of a fault's size.
//! The circuit is solved here by star-mesh transformations in ohms, the program's own equations are not used.

use std::f64::consts::TAU;
use std::thread;

use lugwise::belief::Belief;
use lugwise::circuit::{Change, NodeId, PartId, PartKind, Track, What, built_in, load};
use lugwise::faults::{FaultId, Kind};
use lugwise::prediction::{Behaviour, Hypotheses, Model, Quantity, Row, State};
use lugwise::readings::{Level, Measurement, Meter, Setting, Shown, Stand};
use lugwise::solver::{Positions, Values};
use lugwise::source::Source;
use lugwise::trial::drawn;
use lugwise::units::Ohms;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use rand_distr::StandardNormal;
use rstest::rstest;

use crate::star_mesh::Plan;

/// Draws of all part values that each of two threads makes.
const DRAWS: usize = 200_000;
/// Instruments on each wiring.
const INSTRUMENTS: usize = 8;
/// The largest total variation between the two posteriors.
const LARGEST: f64 = 0.05;
/// Two halves of the draws that lie farther apart have not converged: there is nothing to compare with.
const CONVERGED: f64 = 0.02;
/// So many instruments of a wiring have to be compared at least.
const COMPARED: usize = 5;

// The same figures as documented for the belief's likelihood (common practice, no source).
const SLIP: f64 = 0.015;
const SLIP_OVER: f64 = 0.15;
const SCALE_END: f64 = 13.6;
const SCALE_KNEE: f64 = 50.0;
const LEADS_SD: f64 = 0.4;
const WIPER_SD: f64 = 0.5;
// A manual of a 4000-count meter: the end of its range of 40 MΩ.
const CEILING: f64 = 39.99e6;

/// What is weighed: the first fault of each kind that one of the readings shows.
const KINDS: [Kind; 10] = [
    Kind::NothingWrong,
    Kind::JointOpen,
    Kind::JointHigh,
    Kind::WireBroken,
    Kind::Short,
    Kind::Leak,
    Kind::CoilOpen,
    Kind::CoilHalf,
    Kind::WiperWorn,
    Kind::WrongPot,
];

/// One hypothesis at one control setting.
struct Case {
    plan: Plan,
    change: Change,
    spread: f64,
}

impl Case {
    /// Returns the ohms with the healthy branches given; the last slot is that of a bridge.
    fn ohms(&self, asked: &Asked, healthy: &[f64], size: f64, slots: &mut Vec<f64>) -> Option<f64> {
        slots.clear();
        slots.extend_from_slice(healthy);
        let times = (self.spread * size).exp();
        match &self.change {
            Change::Series(element, ohms) => slots[element.0] += ohms * times,
            Change::Bridge(.., ohms) => slots[healthy.len() - 1] = ohms * times,
            Change::Scale(elements, factor) => {
                for element in elements.iter().filter(|element| !asked.stops[element.0]) {
                    slots[element.0] *= factor * times;
                }
            }
            _ => {}
        }
        self.plan.ohms(slots)
    }
}

/// One reading: where it is taken, what every state makes it read by the program, and how it is solved here.
struct Asked {
    setting: Setting,
    probes: (NodeId, NodeId),
    at: Positions,
    row: Row,
    /// Whether an element is a track's end stop only, which no other track changes.
    stops: Vec<bool>,
    cases: Vec<Case>,
}

/// A wiring, the readings taken of it, and the hypotheses that are weighed.
struct Wiring {
    model: Model,
    chosen: Vec<usize>,
    asked: Vec<Asked>,
}

/// What the display shows and the worth of its last digit; nothing when it is over range.
type Seen = Option<(f64, f64)>;

impl Wiring {
    /// The readings are those at the plug with the volume at 10 and at 5, and one at the volume pot's input.
    fn new(file: &str, pot: &str) -> Self {
        let (name, text) = built_in().iter().find(|(known, _)| *known == file).unwrap();
        let model = Model::new(load(&Source::new(*name, *text)).unwrap());
        let open = Setting::reference(&model.harness);
        let half = open.clone().with(&pot.replace('-', " "), Stand::Knob(5));
        let input = format!("{pot}.lug3");
        let asked: Vec<Asked> = [("plug.tip", &open), (input.as_str(), &open), ("plug.tip", &half)]
            .into_iter()
            .map(|(red, setting)| Asked::new(&model, &Measurement::ohms(red, "plug.sleeve", setting.clone())))
            .collect();
        let chosen = chosen(&model, &asked);
        let mut wiring = Self { model, chosen, asked };
        wiring.prepare();
        wiring
    }

    fn prepare(&mut self) {
        let (model, chosen) = (&self.model, &self.chosen);
        for asked in &mut self.asked {
            let cases = chosen.iter().map(|&hypothesis| asked.case(model, hypothesis));
            asked.cases = cases.collect();
        }
    }

    /// Returns the ohms of every healthy branch; a wiper's contact has so much more.
    fn branches(&self, at: &Positions, values: &Values, wiper: &mut dyn FnMut() -> f64) -> Vec<f64> {
        let mut ohms = |what: &What| match what {
            What::Coil(part) | What::Resistor(part) => values.ohms[part.0],
            What::Track(part, piece) => track(&self.model, at, values, *part, *piece),
            What::Wiper(_) => values.joint + wiper(),
            _ => values.joint,
        };
        let elements = self.model.network.elements.iter();
        let mut all: Vec<f64> = elements.map(|element| ohms(&element.what)).collect();
        all.push(0.0);
        all
    }

    /// Takes the readings of one instrument with a hypothesis as its truth.
    fn play(&self, truth: usize, seed: u64) -> Vec<Level> {
        let mut rng = StdRng::seed_from_u64(seed);
        let model = &self.model;
        let state = model.hypotheses.states[model.hypotheses.list[self.chosen[truth]].state].clone();
        let size = normal(&mut rng);
        let change = resized(&state.change, (state.spread * size).exp());
        let values = drawn(model, &mut rng);
        let sound = State { change: Change::Nothing, spread: 0.0 };
        let states = Hypotheses { states: vec![sound, state], list: Vec::new() };
        let own = model.instrument(values.clone(), states);
        let mut taken = Vec::new();
        for asked in &self.asked {
            let (red, black) = asked.probes;
            let ohms = own.bench(&asked.setting).unwrap().ohms_with(1, &change, red, black);
            let healthy = self.branches(&asked.at, &values, &mut || 0.0);
            let here = asked.cases[truth].ohms(asked, &healthy, size, &mut Vec::new());
            assert!(agree(ohms, here), "two circuits: {ohms:?} and {here:?} of {:?}", asked.setting);
            taken.push(shown(ohms, &mut rng));
        }
        taken
    }

    /// Returns the probability of each hypothesis by the program, the others left out.
    fn believed(&self, readings: &[Level]) -> Vec<f64> {
        let mut belief = Belief::prior(&self.model);
        for (level, asked) in readings.iter().zip(&self.asked) {
            let value = (Shown::Steady(*level), asked.row.clone());
            belief.read(&self.model, Meter::ordinary(), None, &[value]);
        }
        let weights = belief.weights();
        normalised(self.chosen.iter().map(|&hypothesis| weights[hypothesis]).collect())
    }

    /// Returns the three likeliest faults with their probabilities.
    fn leading(&self, posterior: &[f64]) -> String {
        let mut order: Vec<usize> = (0..posterior.len()).collect();
        order.sort_by(|&a, &b| posterior[b].total_cmp(&posterior[a]));
        let list = &self.model.hypotheses.list;
        let id = |index: usize| &self.model.catalogue[list[self.chosen[index]].faults[0].0].id;
        let told = order.iter().take(3).map(|&index| format!("{} {:.3}", id(index), posterior[index]));
        told.collect::<Vec<_>>().join(", ")
    }

    /// Returns the likelihood of each instrument's readings under each hypothesis, added up over the draws.
    fn brute(&self, instruments: &[Vec<Seen>], seed: u64) -> Vec<Vec<f64>> {
        let mut rng = StdRng::seed_from_u64(seed);
        let mut sums = vec![vec![0.0; self.chosen.len()]; instruments.len()];
        let mut values = self.model.values.clone();
        let mut slots = Vec::new();
        for _ in 0..DRAWS {
            draw(&self.model, &mut values, &mut rng);
            let size = normal(&mut rng);
            let expected: Vec<Vec<Option<(f64, f64)>>> = self
                .asked
                .iter()
                .map(|asked| self.expected(asked, &values, size, &mut rng, &mut slots))
                .collect();
            for (sums, seen) in sums.iter_mut().zip(instruments) {
                for (hypothesis, sum) in sums.iter_mut().enumerate() {
                    let each = seen.iter().zip(&expected).map(|(seen, of)| likelihood(*seen, of[hypothesis]));
                    *sum += each.product::<f64>();
                }
            }
        }
        sums
    }

    /// Returns the ohms under each hypothesis with the variance that the meter adds.
    fn expected(
        &self,
        asked: &Asked,
        values: &Values,
        size: f64,
        rng: &mut StdRng,
        slots: &mut Vec<f64>,
    ) -> Vec<Option<(f64, f64)>> {
        let healthy = self.branches(&asked.at, values, &mut || WIPER_SD * normal(rng));
        let ohms = |case: &Case| case.ohms(asked, &healthy, size, slots).map(|ohms| (ohms, variance(ohms)));
        asked.cases.iter().map(ohms).collect()
    }

    fn posterior(&self, sums: &[f64]) -> Vec<f64> {
        let prior = |hypothesis: usize| self.model.hypotheses.list[hypothesis].prior;
        normalised(self.chosen.iter().zip(sums).map(|(&hypothesis, sum)| prior(hypothesis) * sum).collect())
    }
}

impl Asked {
    fn new(model: &Model, measurement: &Measurement) -> Self {
        let (red, black) = model.probes(measurement).unwrap();
        let setting = measurement.setting.clone();
        let at = model.positions(&setting);
        let row = model.bench(&setting).unwrap().row(red, black);
        let stop = |what: &What| match what {
            What::Track(part, Track::Lower) => at.rotation[part.0] == 0.0,
            What::Track(part, Track::Upper) => at.rotation[part.0] == 1.0,
            _ => false,
        };
        let stops = model.network.elements.iter().map(|element| stop(&element.what)).collect();
        Self { setting, probes: (red, black), at, row, stops, cases: Vec::new() }
    }

    fn case(&self, model: &Model, hypothesis: usize) -> Case {
        let State { change, spread } =
            model.hypotheses.states[model.hypotheses.list[hypothesis].state].clone();
        let mut branches: Vec<Option<(usize, usize)>> = model
            .network
            .elements
            .iter()
            .map(|element| conducts(&element.what, &self.at).then_some((element.a.0, element.b.0)))
            .collect();
        branches.push(None);
        match &change {
            Change::Nothing | Change::Series(..) | Change::Scale(..) => {}
            Change::Open(element) => branches[element.0] = None,
            Change::Bridge(a, b, _) => *branches.last_mut().unwrap() = Some((a.0, b.0)),
            other => panic!("{other:?} is not solved here"),
        }
        let (red, black) = self.probes;
        Case { plan: Plan::new(&branches, (red.0, black.0)), change, spread }
    }

    /// Returns whether a state moves the reading by a fifth.
    fn shows(&self, state: usize) -> bool {
        (self.row[state].scaled() - self.row[0].scaled()).abs() > 0.2
    }
}

/// Returns the hypotheses that are weighed: every form of the first fault of each kind that some reading shows.
fn chosen(model: &Model, asked: &[Asked]) -> Vec<usize> {
    let of = |fault: FaultId| -> Vec<usize> {
        let holds = |&h: &usize| model.hypotheses.list[h].faults.iter().any(|(id, _)| *id == fault);
        (0..model.hypotheses.list.len()).filter(holds).collect()
    };
    let shows = |fault: FaultId| {
        of(fault).iter().any(|&h| asked.iter().any(|asked| asked.shows(model.hypotheses.list[h].state)))
    };
    let mut all: Vec<usize> = Vec::new();
    for kind in KINDS {
        let mut faults = model.catalogue.faults.iter().enumerate().filter(|(_, fault)| fault.kind == kind);
        let first = faults.find(|(index, _)| kind == Kind::NothingWrong || shows(FaultId(*index)));
        let (index, _) = first.unwrap_or_else(|| panic!("no reading shows a {}", kind.words()));
        let fresh: Vec<usize> = of(FaultId(index)).into_iter().filter(|h| !all.contains(h)).collect();
        all.extend(fresh);
    }
    assert!(all.iter().all(|&h| model.hypotheses.list[h].behaviour == Behaviour::Steady));
    all
}

/// Returns whether direct current passes.
fn conducts(what: &What, at: &Positions) -> bool {
    match what {
        What::Contact(part, closed) => closed.contains(&at.position[part.0]),
        What::Blob(_) | What::Link(_) | What::Coil(_) | What::Track(..) => true,
        What::Wiper(_) | What::Resistor(_) | What::Spring(_) => true,
        _ => false,
    }
}

/// Returns the ohms of a piece of a track: two straight segments that meet at half rotation, the logit shifted.
fn track(model: &Model, at: &Positions, values: &Values, part: PartId, piece: Track) -> f64 {
    let PartKind::Pot { taper, .. } = &model.harness[part].kind else { panic!("only a pot has a track") };
    let (turn, half) = (at.rotation[part.0], taper.half);
    let straight = half * (2.0 * turn).min(1.0) + (1.0 - half) * (2.0 * turn - 1.0).max(0.0);
    let shifted = || 1.0 / (1.0 + (1.0 - straight) / straight * (-values.taper_shift[part.0]).exp());
    let below = if turn == 0.0 || turn == 1.0 { turn } else { shifted() };
    let share = if piece == Track::Lower { below } else { 1.0 - below };
    if share == 0.0 { values.end_stop[part.0] } else { share * values.ohms[part.0] }
}

/// Draws every part value from the belief's own prior.
fn draw(model: &Model, values: &mut Values, rng: &mut StdRng) {
    for param in &model.params.list {
        let (part, shift) = (param.part.0, param.sd * normal(rng));
        match param.quantity {
            Quantity::Ohms | Quantity::TrackOhms => values.ohms[part] = model.values.ohms[part] * shift.exp(),
            Quantity::Taper => values.taper_shift[part] = shift,
            Quantity::EndStop => values.end_stop[part] = shift,
            Quantity::Farads => {}
        }
    }
}

fn normal(rng: &mut StdRng) -> f64 {
    rng.sample(StandardNormal)
}

fn resized(change: &Change, times: f64) -> Change {
    match change {
        Change::Series(element, ohms) => Change::Series(*element, ohms * times),
        Change::Bridge(a, b, ohms) => Change::Bridge(*a, *b, ohms * times),
        Change::Scale(elements, factor) => Change::Scale(elements.clone(), factor * times),
        other => other.clone(),
    }
}

/// Returns how far off the display may be at so many ohms, and the worth of its last digit: a manual of a 4000-count
/// meter.
fn handheld(ohms: f64) -> (f64, f64) {
    let digits = [0.1, 1.0, 10.0, 100.0, 1e3, 1e4];
    let digit = digits.into_iter().find(|digit| ohms.abs() <= 3999.0 * digit).unwrap_or(1e4);
    let (share, counts) = if digit == 0.1 {
        (0.008, 5.0)
    } else if digit == 1e4 {
        (0.012, 10.0)
    } else {
        (0.008, 4.0)
    };
    (share * ohms.abs() + counts * digit, digit)
}

/// Returns what the meter shows: an even error within its span, its leads, and its last digit.
fn shown(ohms: Option<f64>, rng: &mut StdRng) -> Level {
    let Some(ohms) = ohms.filter(|ohms| *ohms < CEILING) else { return Level::OverRange };
    let (half, digit) = handheld(ohms);
    let value = (ohms + rng.random_range(-half..=half) + LEADS_SD * normal(rng)).max(0.0);
    Level::Ohms { value: Ohms::new((value / digit).round() * digit), resolution: Ohms::new(digit) }
}

/// Returns the variance in square ohms of meter and leads; ±a is a/√3 (JCGM 100, 4.3.7).
fn variance(ohms: f64) -> f64 {
    let (half, _) = handheld(ohms);
    half * half / 3.0 + LEADS_SD * LEADS_SD
}

/// Returns the probability of what is seen as a density on ln(1 + R/50 Ω), or the share over range; slips included.
fn likelihood(seen: Seen, expected: Option<(f64, f64)>) -> f64 {
    let slip = if seen.is_none() { SLIP_OVER } else { (1.0 - SLIP_OVER) / SCALE_END };
    let fit = match (seen, expected) {
        (None, None) => 1.0,
        (None, Some((ohms, variance))) => 0.5 * libm::erfc((CEILING - ohms) / (2.0 * variance).sqrt()),
        (Some(_), None) => 0.0,
        (Some((value, digit)), Some((ohms, variance))) => {
            let variance = variance + digit * digit / 12.0;
            let off = value - ohms;
            (value + SCALE_KNEE) * (-0.5 * off * off / variance).exp() / (TAU * variance).sqrt()
        }
    };
    (1.0 - SLIP) * fit + SLIP * slip
}

fn agree(one: Option<f64>, other: Option<f64>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => (one - other).abs() <= 1e-6 * (one.abs() + 1.0),
        (None, None) => true,
        _ => false,
    }
}

fn normalised(weights: Vec<f64>) -> Vec<f64> {
    let total: f64 = weights.iter().sum();
    weights.into_iter().map(|weight| weight / total).collect()
}

/// Returns the total variation between two distributions: half the sum of the differences.
fn apart(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(a, b)| (a - b).abs()).sum::<f64>() / 2.0
}

// A cube of equal resistors, a standard exercise: 7/12 along an edge, 3/4 across a face, 5/6 through the cube.
#[rstest]
#[case(1, 7.0 / 12.0)]
#[case(3, 3.0 / 4.0)]
#[case(7, 5.0 / 6.0)]
fn the_cube_of_resistors(#[case] to: usize, #[case] expected: f64) {
    let edges: Vec<Option<(usize, usize)>> = (0..8_usize)
        .flat_map(|a| [1, 2, 4].map(|bit| (a, a ^ bit)))
        .filter(|(a, b)| a < b)
        .map(Some)
        .collect();
    assert_eq!(edges.len(), 12);
    let ohms = Plan::new(&edges, (0, to)).ohms(&mut vec![1.0; 12]).unwrap();
    assert!((ohms - expected).abs() < 1e-12, "{ohms}");
}

// By hand: 399.9 Ω ends the first range, and at 6200 Ω ±(0.8 % + 4 digits of 10 Ω) is ±89.6 Ω.
#[test]
fn the_meter_here_has_the_figures_of_its_manual() {
    assert_eq!(handheld(399.9).1, 0.1);
    assert_eq!(handheld(400.0).1, 1.0);
    let (half, digit) = handheld(6200.0);
    assert!((half - 89.6).abs() < 1e-9 && digit == 10.0, "{half} {digit}");
}

// The answer is this file's own brute force; `LARGEST` is what was asked for beforehand. The two halves of the draws
// have to agree as well, or there is nothing to compare with.
#[rstest]
#[case("one-pickup.ron", "volume")]
#[case("two-humbuckers.ron", "neck-volume")]
#[case("three-single-coils.ron", "volume")]
fn the_posterior_is_that_of_brute_force(#[case] file: &str, #[case] pot: &str) {
    let wiring = Wiring::new(file, pot);
    let count = wiring.chosen.len();
    assert!(count >= 12, "only {count} hypotheses are weighed");
    let truths = (0..INSTRUMENTS).map(|index| index * count / INSTRUMENTS);
    let taken: Vec<Vec<Level>> = truths.zip(2000..).map(|(truth, seed)| wiring.play(truth, seed)).collect();
    let seen: Vec<Vec<Seen>> =
        taken.iter().map(|levels| levels.iter().map(Level::number).collect()).collect();
    let (one, other) = thread::scope(|scope| {
        let other = scope.spawn(|| wiring.brute(&seen, 2));
        (wiring.brute(&seen, 1), other.join().unwrap())
    });
    let mut told = Vec::new();
    let (mut worst, mut compared): (f64, usize) = (0.0, 0);
    for ((levels, one), other) in taken.iter().zip(&one).zip(&other) {
        let both: Vec<f64> = one.iter().zip(other).map(|(a, b)| a + b).collect();
        let halves = apart(&wiring.posterior(one), &wiring.posterior(other));
        let off = apart(&wiring.believed(levels), &wiring.posterior(&both));
        if halves <= CONVERGED {
            worst = worst.max(off);
            compared += 1;
        }
        let words: Vec<String> = levels.iter().map(Level::words).collect();
        let ours = wiring.leading(&wiring.believed(levels));
        let theirs = wiring.leading(&wiring.posterior(&both));
        told.push(format!(
            "{}: {off:.4} from brute force, its halves {halves:.4}; ours {ours}; brute force {theirs}",
            words.join(", ")
        ));
    }
    println!("{file}, {count} hypotheses\n  {}", told.join("\n  "));
    assert!(compared >= COMPARED, "{file}: {compared} compared\n  {}", told.join("\n  "));
    assert!(worst <= LARGEST, "{file}: {worst:.4}\n  {}", told.join("\n  "));
}
