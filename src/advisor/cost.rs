//! What a measurement costs in hands-on seconds.

use std::collections::BTreeSet;

use crate::circuit::{ControlKind, Harness, PlaceId};
use crate::readings::{Access, Measurement, Mode, Setting};

/// Seconds for one reading, for moving both probes, one knob or one switch, and for flexing (common practice, no source).
const READ: f64 = 12.0;
const MOVE_PROBES: f64 = 8.0;
const MOVE_KNOB: f64 = 4.0;
const MOVE_SWITCH: f64 = 2.0;
const FLEX: f64 = 25.0;
/// Turning a knob slowly through its range.
const SWEEP: f64 = 20.0;
/// Lifting a joint and soldering it again.
const LIFT: f64 = 240.0;
/// Taking the battery out or putting it in, and a plug of the other kind.
const POWER: f64 = 30.0;
/// Finding one's way to a lug inside an open cavity.
const REACH_INSIDE: f64 = 10.0;

/// Where the bench stands: what the next measurement's cost depends on.
#[derive(Clone, Debug, Default)]
pub struct Stand {
    /// Where the controls stand.
    pub setting: Setting,
    /// Where the probes are.
    pub probes: Option<(String, String)>,
    /// Places that are open.
    pub opened: BTreeSet<PlaceId>,
}

/// Returns the places that must be open for a measurement.
pub fn places(harness: &Harness, measurement: &Measurement) -> BTreeSet<PlaceId> {
    let probes = [&measurement.red, &measurement.black];
    let at_probes = probes.into_iter().filter_map(|name| harness.terminal(name)).map(|t| harness[t].place);
    let flexed = measurement.flex.as_deref().and_then(|flex| flexed_place(harness, flex));
    let lifted = measurement.lifted.as_deref().and_then(|name| flexed_place(harness, name));
    at_probes.chain(flexed).chain(lifted).filter(|&place| !harness[place].outside).collect()
}

/// Returns where something is flexed; `None` when it is moved from outside.
fn flexed_place(harness: &Harness, flex: &str) -> Option<PlaceId> {
    let terminal = harness.terminal(flex).map(|terminal| harness[terminal].place);
    terminal.or_else(|| harness.links.iter().find(|link| link.name == flex).map(|link| link.place))
}

/// Returns the places that this measurement needs and that are not open yet.
pub fn to_open(harness: &Harness, measurement: &Measurement, stand: &Stand) -> Vec<PlaceId> {
    places(harness, measurement).into_iter().filter(|place| !stand.opened.contains(place)).collect()
}

/// Returns whether a measurement is allowed at all.
pub fn allowed(harness: &Harness, measurement: &Measurement, access: Access) -> bool {
    let covers = access >= Access::MayOpen || places(harness, measurement).is_empty();
    let joints = access >= Access::MayUnsolder || measurement.lifted.is_none();
    covers && joints
}

/// Returns the hands-on seconds of a measurement from where the bench stands, opening included.
pub fn seconds(harness: &Harness, measurement: &Measurement, stand: &Stand) -> f64 {
    let opening: f64 =
        to_open(harness, measurement, stand).iter().map(|&place| harness[place].open.get()).sum();
    let here = Some((measurement.red.clone(), measurement.black.clone()));
    let probes = if stand.probes == here { 0.0 } else { MOVE_PROBES };
    let inside = if places(harness, measurement).is_empty() { 0.0 } else { REACH_INSIDE };
    let flex = if measurement.flex.is_some() { FLEX } else { 0.0 };
    let moved = turning(harness, &stand.setting, &measurement.setting);
    let (reading, probes) = match measurement.mode {
        Mode::Observe(check) => (check.seconds(), 0.0),
        Mode::Sweep => (READ + SWEEP, probes),
        Mode::Volts | Mode::Current => (READ + POWER, probes),
        _ => (READ, probes),
    };
    let lift = if measurement.lifted.is_some() { LIFT } else { 0.0 };
    reading + opening + probes + inside + flex + moved + lift
}

/// Returns the seconds to bring the controls from one setting to another.
pub fn turning(harness: &Harness, from: &Setting, to: &Setting) -> f64 {
    to.moved(from).into_iter().map(|name| move_control(harness, name)).sum()
}

fn move_control(harness: &Harness, name: &str) -> f64 {
    match harness.control(name).map(|control| &control.kind) {
        Some(ControlKind::Selector(_)) => MOVE_SWITCH,
        _ => MOVE_KNOB,
    }
}
