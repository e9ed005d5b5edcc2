//! What every element is worth at a control setting.

use nalgebra::{Complex, ComplexField};

use super::equations::{Branch, Shunt};
use crate::circuit::{Change, ElementId, Harness, Network, PartId, PartKind, Taper, Track, What};

/// Where every control stands, part by part.
#[derive(Clone, Debug, PartialEq)]
pub struct Positions {
    /// For a pot: the share of the rotation, 0 to 1. Unused for other parts.
    pub rotation: Vec<f64>,
    /// For a switch: the index of its position. Unused for other parts.
    pub position: Vec<usize>,
}

impl Positions {
    /// Returns the reference stand: every pot fully clockwise, every switch in its first position.
    pub fn reference(harness: &Harness) -> Self {
        Self { rotation: vec![1.0; harness.parts.len()], position: vec![0; harness.parts.len()] }
    }
}

/// The worth of every part, and of the contacts that have no value of their own.
#[derive(Clone, Debug, PartialEq)]
pub struct Values {
    /// Resistance of each part in ohms; zero where it has none.
    pub ohms: Vec<f64>,
    /// Capacitance of each part in farads.
    pub farads: Vec<f64>,
    /// Inductance of each part in henries.
    pub henries: Vec<f64>,
    /// Shift of the logit of each pot's track share between the end stops.
    pub taper_shift: Vec<f64>,
    /// Resistance left between wiper and track end at an end stop, in ohms.
    pub end_stop: Vec<f64>,
    /// Voltage of each battery.
    pub volts: Vec<f64>,
    /// Resistance of one healthy joint, contact or conductor, in ohms.
    pub joint: f64,
    /// Whether batteries are in their clips. They are taken out for readings in ohms.
    pub powered: bool,
}

impl Values {
    /// Returns the nominal values of a harness.
    pub fn nominal(harness: &Harness) -> Self {
        let parts = harness.parts.len();
        let mut values = Self {
            ohms: vec![0.0; parts],
            farads: vec![0.0; parts],
            henries: vec![0.0; parts],
            taper_shift: vec![0.0; parts],
            end_stop: vec![0.0; parts],
            volts: vec![0.0; parts],
            joint: harness.joint.get(),
            powered: false,
        };
        for (index, part) in harness.parts.iter().enumerate() {
            match &part.kind {
                PartKind::Coil { ohms, henries, farads, .. } => {
                    values.ohms[index] = ohms.get();
                    values.henries[index] = henries.get();
                    values.farads[index] = farads.get();
                }
                PartKind::Pot { ohms, .. } | PartKind::Resistor { ohms, .. } => {
                    values.ohms[index] = ohms.get();
                }
                PartKind::Capacitor { farads, .. } | PartKind::Piezo { farads, .. } => {
                    values.farads[index] = farads.get();
                }
                PartKind::Battery { volts, ohms } => {
                    values.volts[index] = volts.get();
                    values.ohms[index] = ohms.get();
                }
                PartKind::Preamp { .. } => {}
                PartKind::Switch { .. } | PartKind::Jack | PartKind::Plug | PartKind::Surface => {}
            }
        }
        values
    }
}

impl Taper {
    /// Returns the share of the track below the wiper at a rotation of 0 to 1.
    ///
    /// Two straight segments that meet at half rotation, the usual description of carbon tracks
    /// (common practice); `shift` moves the logit of the share between the end stops.
    pub fn share(self, rotation: f64, shift: f64) -> f64 {
        let x = rotation.clamp(0.0, 1.0);
        let share =
            if x <= 0.5 { 2.0 * self.half * x } else { self.half + 2.0 * (1.0 - self.half) * (x - 0.5) };
        if share <= 0.0 || share >= 1.0 || shift == 0.0 {
            return share.clamp(0.0, 1.0);
        }
        let odds = share / (1.0 - share) * shift.exp();
        odds / (1.0 + odds)
    }

    /// Returns the rotation, 0 to 1, at which this share of the track lies below the wiper.
    pub fn rotation(self, share: f64) -> f64 {
        let (share, half) = (share.clamp(0.0, 1.0), self.half);
        if share <= half { share / (2.0 * half) } else { 0.5 + (share - half) / (2.0 * (1.0 - half)) }
    }
}

/// How an element enters the equations.
pub(super) struct Stamp<T> {
    pub branch: Option<T>,
    pub shunt: Option<T>,
    pub gain: Option<f64>,
}

/// The scalar of an analysis: real for direct current, complex at a frequency.
pub trait Scalar: ComplexField<RealField = f64> + Copy {
    /// Returns the impedance of a resistance in series with an inductance.
    fn series(ohms: f64, henries: f64, omega: f64) -> Self;
    /// Returns the impedance of a capacitance, `None` where it blocks.
    fn capacitance(farads: f64, omega: f64) -> Option<Self>;
    /// Whether signals are followed, so that a preamp drives its output.
    const SIGNAL: bool;
}

impl Scalar for f64 {
    const SIGNAL: bool = false;
    fn series(ohms: f64, _henries: f64, _omega: f64) -> Self {
        ohms
    }
    fn capacitance(_farads: f64, _omega: f64) -> Option<Self> {
        None
    }
}

impl Scalar for Complex<f64> {
    const SIGNAL: bool = true;
    fn series(ohms: f64, henries: f64, omega: f64) -> Self {
        Self::new(ohms, omega * henries)
    }
    fn capacitance(farads: f64, omega: f64) -> Option<Self> {
        (farads > 0.0 && omega > 0.0).then(|| Self::new(0.0, -1.0 / (omega * farads)))
    }
}

/// Returns how an element enters the equations at a control setting; an open contact does not.
pub(super) fn stamp<T: Scalar>(
    harness: &Harness,
    values: &Values,
    at: &Positions,
    what: &What,
    omega: f64,
) -> Stamp<T> {
    let plain = |ohms: f64| Stamp { branch: Some(T::series(ohms, 0.0, omega)), shunt: None, gain: None };
    let absent = Stamp { branch: None, shunt: None, gain: None };
    match what {
        What::Blob(_) | What::Link(_) | What::Wiper(_) | What::Spring(_) => plain(values.joint),
        What::Resistor(part) => plain(values.ohms[part.0]),
        What::Track(part, track) => plain(track_ohms(harness, values, at, *part, *track)),
        What::Contact(part, closed) if closed.contains(&at.position[part.0]) => plain(values.joint),
        What::Contact(..) => absent,
        What::Capacitor(part) => {
            Stamp { shunt: T::capacitance(values.farads[part.0], omega).map(|z| T::one() / z), ..absent }
        }
        What::Coil(part) => Stamp {
            branch: Some(T::series(values.ohms[part.0], values.henries[part.0], omega)),
            shunt: T::capacitance(values.farads[part.0], omega).map(|z| T::one() / z),
            gain: None,
        },
        What::Piezo(part) => Stamp { branch: T::capacitance(values.farads[part.0], omega), ..absent },
        What::Battery(part) if values.powered => plain(values.ohms[part.0]),
        What::Battery(_) => absent,
        What::Input(part) | What::Supply(part) | What::Output(part) => {
            preamp(&harness[*part].kind, what, values.powered, omega).unwrap_or(absent)
        }
    }
}

/// What a preamp's output has in series, in ohms (common practice, no source).
const PREAMP_OUTPUT_OHMS: f64 = 100.0;

/// The share of its supply at which a preamp's output rests, so that the sound can swing both ways (common practice,
/// no source).
const PREAMP_REST: f64 = 0.5;

fn preamp<T: Scalar>(kind: &PartKind, what: &What, powered: bool, omega: f64) -> Option<Stamp<T>> {
    let &PartKind::Preamp { input, supply, gain } = kind else { return None };
    let stamp =
        |ohms: f64, gain| Some(Stamp { branch: Some(T::series(ohms, 0.0, omega)), shunt: None, gain });
    match what {
        What::Input(_) => stamp(input.get(), None),
        What::Supply(_) => stamp(supply.get(), None),
        _ if T::SIGNAL => stamp(PREAMP_OUTPUT_OHMS, Some(gain)),
        _ if powered => stamp(PREAMP_OUTPUT_OHMS, Some(PREAMP_REST)),
        _ => None,
    }
}

/// Returns the resistance of a piece of a pot's track in ohms.
pub fn track_ohms(harness: &Harness, values: &Values, at: &Positions, part: PartId, track: Track) -> f64 {
    let share = track_share(harness, values, at, part);
    let piece = match track {
        Track::Lower => share,
        Track::Upper => 1.0 - share,
    };
    let total = values.ohms[part.0];
    if piece == 0.0 { values.end_stop[part.0] } else { piece * total }
}

/// Returns the share of a pot's track that lies below the wiper.
pub fn track_share(harness: &Harness, values: &Values, at: &Positions, part: PartId) -> f64 {
    match &harness[part].kind {
        PartKind::Pot { taper, .. } => taper.share(at.rotation[part.0], values.taper_shift[part.0]),
        _ => 0.0,
    }
}

/// The branches and shunts of a network, with the branch of every element.
pub(super) struct Stamps<T> {
    pub branches: Vec<Branch<T>>,
    pub shunts: Vec<Shunt<T>>,
    pub branch_of: Vec<Option<usize>>,
    pub shunt_of: Vec<Option<usize>>,
    /// Whether an element is an end stop's contact only, which does not go with the size of the track.
    pub stops: Vec<bool>,
}

/// Stamps every element of a network: the one assembly path of direct current and alternating current.
pub(super) fn stamps<T: Scalar>(
    harness: &Harness,
    network: &Network,
    values: &Values,
    at: &Positions,
    omega: f64,
) -> Stamps<T> {
    let mut all = Stamps {
        branches: Vec::new(),
        shunts: Vec::new(),
        branch_of: Vec::new(),
        shunt_of: Vec::new(),
        stops: Vec::new(),
    };
    for element in &network.elements {
        let (a, b) = (element.a.0, element.b.0);
        let stamp = stamp::<T>(harness, values, at, &element.what, omega);
        all.stops.push(at_stop(harness, values, at, &element.what));
        all.branch_of.push(stamp.branch.map(|_| all.branches.len()));
        all.shunt_of.push(stamp.shunt.map(|_| all.shunts.len()));
        let drive = stamp.gain.map(|gain| (driver::<T>(network, &element.what).unwrap_or(b), b, gain));
        all.branches.extend(stamp.branch.map(|z| Branch { a, b, z, drive }));
        all.shunts.extend(stamp.shunt.map(|y| Shunt { a, b, y }));
    }
    all
}

/// Returns the node that drives a preamp's output: its input where signals are followed, its supply at rest.
fn driver<T: Scalar>(network: &Network, output: &What) -> Option<usize> {
    let What::Output(part) = output else { return None };
    let from = if T::SIGNAL { What::Input(*part) } else { What::Supply(*part) };
    network.find(&from).map(|from| network.elements[from.0].a.0)
}

fn at_stop(harness: &Harness, values: &Values, at: &Positions, what: &What) -> bool {
    match what {
        What::Track(part, Track::Lower) => track_share(harness, values, at, *part) == 0.0,
        What::Track(part, Track::Upper) => track_share(harness, values, at, *part) == 1.0,
        _ => false,
    }
}

/// Returns a network with a change written into it, for solving it from scratch.
///
/// An opened element loses its branch, a bridge gains one: the slow, plain way that the fast
/// updates are checked against.
pub(super) fn rebuilt<T: Scalar>(
    mut all: Stamps<T>,
    network: &Network,
    change: &Change,
    omega: f64,
) -> Stamps<T> {
    let add = |all: &mut Stamps<T>, element: usize, more: T| {
        if let Some(branch) = all.branch_of[element] {
            all.branches[branch].z += more;
        }
    };
    match change {
        Change::Nothing | Change::Exchange(..) | Change::Move(..) | Change::Drive(..) => {}
        Change::Several(changes) => {
            all = changes.iter().fold(all, |all, change| rebuilt(all, network, change, omega));
        }
        Change::Rewire(moves) => {
            for &(element, a, b) in moves {
                if let Some(branch) = all.branch_of[element.0] {
                    (all.branches[branch].a, all.branches[branch].b) = (a.0, b.0);
                }
            }
        }
        Change::Series(element, ohms) => add(&mut all, element.0, T::series(*ohms, 0.0, omega)),
        Change::Scale(elements, factor) => {
            for &element in elements {
                if let Some(shunt) = all.shunt_of[element.0].filter(|_| all.branch_of[element.0].is_none()) {
                    all.shunts[shunt].y = all.shunts[shunt].y.scale(1.0 / factor);
                }
            }
            let z = |element: ElementId| all.branch_of[element.0].map(|branch| all.branches[branch].z);
            for (element, more) in grown(network, &all.stops, elements, *factor, &z) {
                add(&mut all, element.0, more);
            }
        }
        Change::Retaper { lower, upper, right, wrong } => {
            let z = |element: ElementId| all.branch_of[element.0].map(|branch| all.branches[branch].z);
            for (element, more) in retapered(&all.stops, [*lower, *upper], [*right, *wrong], &z) {
                add(&mut all, element.0, more);
            }
        }
        Change::Bridge(a, b, ohms) => {
            all.branches.push(Branch::passive(a.0, b.0, T::series(*ohms, 0.0, omega)));
        }
        Change::Open(element) => remove(&mut all, element.0),
    }
    all
}

/// Returns by how much the impedance of each element grows with a factor; an end stop does not.
pub(super) fn grown<T: Scalar>(
    network: &Network,
    stops: &[bool],
    elements: &[ElementId],
    factor: f64,
    impedance: &dyn Fn(ElementId) -> Option<T>,
) -> Vec<(ElementId, T)> {
    let more = |&element: &ElementId| {
        let z = impedance(element)?;
        Some((element, scaled(&network.elements[element.0].what, z, factor) - z))
    };
    elements.iter().filter(|element| !stops[element.0]).filter_map(more).collect()
}

/// Returns by how much the two pieces of a track grow when it has the second law and not the first: at an end of
/// the rotation all laws are the same.
pub(super) fn retapered<T: Scalar>(
    stops: &[bool],
    [lower, upper]: [ElementId; 2],
    [right, wrong]: [Taper; 2],
    impedance: &dyn Fn(ElementId) -> Option<T>,
) -> Vec<(ElementId, T)> {
    let (Some(below), Some(above)) = (impedance(lower), impedance(upper)) else { return Vec::new() };
    let total = below.real() + above.real();
    if stops[lower.0] || stops[upper.0] || total == 0.0 {
        return Vec::new();
    }
    let share = below.real() / total;
    let more = (wrong.share(right.rotation(share), 0.0) - share) * total;
    vec![(lower, T::from_real(more)), (upper, T::from_real(-more))]
}

fn remove<T>(all: &mut Stamps<T>, element: usize) {
    if let Some(gone) = all.branch_of[element].take() {
        all.branches.remove(gone);
        for branch in all.branch_of.iter_mut().flatten() {
            *branch -= usize::from(*branch > gone);
        }
    } else if let Some(gone) = all.shunt_of[element].take() {
        all.shunts.remove(gone);
        for shunt in all.shunt_of.iter_mut().flatten() {
            *shunt -= usize::from(*shunt > gone);
        }
    }
}

/// Returns an impedance scaled by a factor; a coil's inductance goes with the square of its turns.
pub(super) fn scaled<T: Scalar>(what: &What, z: T, factor: f64) -> T {
    let real = T::from_real(z.real() * factor);
    let reactance = z - T::from_real(z.real());
    let factor = if matches!(what, What::Coil(_)) { factor * factor } else { factor };
    real + reactance.scale(factor)
}
