//! The two built-in wirings against tables of readings that were computed elsewhere.
//!
//! Source of every figure: the trade's generic layouts with nominal values, computed independently with a numpy
//! nodal solver and confirmed by ngspice (reference tables, A.1 and A.2). Contacts there are ideal; here they
//! are 1 µΩ, so a printed 0 means less than a milliohm.

use lugwise::circuit::Change;

use crate::instrument::{IDEAL, Instrument};

/// Beside a printed 0, agreement is relative.
fn agrees(found: Option<f64>, expected: f64) -> bool {
    let found = found.expect("a path");
    if expected == 0.0 { found.abs() < 1e-3 } else { (found - expected).abs() <= 1e-6 * expected }
}

#[test]
fn one_pickup_at_the_jack() {
    let instrument = Instrument::ideal("one-pickup");
    // Share of the volume's track below the wiper, ohms. At 0.5124 the table gives the exact maximum, (250k + 6.2k)/4.
    for (share, expected) in
        [(1.0, 6049.961), (0.0, 0.0), (0.5, 64012.49), (0.15, 32011.124), (0.5124, 64050.0)]
    {
        let at = instrument.at(&[("volume", share)], &[]);
        let found = instrument.ohms(&at, "plug.tip", "plug.sleeve", &Change::Nothing);
        assert!(agrees(found, expected), "share {share}: {found:?} is not {expected}");
    }
}

#[test]
fn two_humbuckers_at_the_jack() {
    let instrument = Instrument::ideal("two-humbuckers");
    for (position, neck, bridge, expected) in [
        ("neck", 1.0, 1.0, 7486.21),
        ("both", 1.0, 1.0, 3883.04),
        ("bridge", 1.0, 1.0, 8067.69),
        ("neck", 0.0, 1.0, 0.0),
        ("both", 0.0, 1.0, 0.0),
        ("bridge", 1.0, 0.0, 0.0),
        ("both", 0.5, 1.0, 7585.342),
        ("neck", 0.5076, 1.0, 126_900.0),
        ("bridge", 1.0, 0.5082, 127_050.0),
    ] {
        let at =
            instrument.at(&[("neck-volume", neck), ("bridge-volume", bridge)], &[("selector", position)]);
        let found = instrument.ohms(&at, "plug.tip", "plug.sleeve", &Change::Nothing);
        assert!(agrees(found, expected), "{position} {neck} {bridge}: {found:?} is not {expected}");
    }
}

/// A row: its name, the faults of our catalogue that it covers, their size where the table states one, the cells.
struct Row(&'static str, &'static [&'static str], Option<f64>, [&'static str; 6]);

/// A printed cell is met when the value lies within half a unit of its last printed digit.
fn meets(found: Option<f64>, printed: &str) -> bool {
    let Some(found) = found else { return printed == "OL" };
    match printed {
        "OL" => return false,
        "0" => return found.abs() < 1e-3,
        _ => {}
    }
    let (digits, unit) = printed.split_once(' ').unwrap();
    let unit = match unit {
        "k" => 1e3,
        "Ω" => 1.0,
        other => panic!("{other} is no unit"),
    };
    let places = digits.split_once('.').map_or(0, |(_, fraction)| fraction.len());
    let half = 0.5 * unit * 0.1f64.powi(i32::try_from(places).unwrap());
    (found - digits.parse::<f64>().unwrap() * unit).abs() <= half * (1.0 + 1e-4)
}

fn check(instrument: &Instrument, rows: &[Row], read: impl Fn(usize, &Change) -> Option<f64>) {
    let mut wrong = Vec::new();
    let mut cells = 0;
    for Row(name, faults, size, printed) in rows {
        let changes: Vec<(&str, Change)> = match *faults {
            [] => vec![("healthy", Change::Nothing)],
            faults => faults.iter().map(|fault| (*fault, instrument.change(fault, *size))).collect(),
        };
        for (fault, change) in &changes {
            for (column, printed) in printed.iter().enumerate() {
                cells += 1;
                let found = read(column, change);
                if !meets(found, printed) {
                    wrong.push(format!("{name} ({fault}), column {column}: {found:?} is not {printed}"));
                }
            }
        }
    }
    assert!(cells >= 6 * rows.len());
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    println!("{cells} cells");
}

const SHORT: Option<f64> = Some(IDEAL);

// Columns: tip to sleeve with V10 T10, with the volume's share at 0.5, with V0, with V10 T0; tip to strings; sleeve
// to strings.
const ONE_PICKUP: &[Row] = &[
    Row("healthy", &[], None, ["6.050 k", "64.012 k", "0", "6.050 k", "6.050 k", "0"]),
    Row("coil open", &["pickup/coil open"], None, ["250.00 k", "125.00 k", "0", "250.00 k", "250.00 k", "0"]),
    Row(
        "pickup hot joint open",
        &["pickup.hot/joint open", "volume.lug3/joint pickup-hot open", "pickup-hot/wire broken"],
        None,
        ["250.00 k", "125.00 k", "0", "250.00 k", "250.00 k", "0"],
    ),
    Row(
        "pickup ground joint open",
        &["pickup.cold/joint open", "volume.case/joint pickup-ground open", "pickup-ground/wire broken"],
        None,
        ["250.00 k", "125.00 k", "0", "250.00 k", "250.00 k", "0"],
    ),
    Row(
        "volume lug 1 ground joint open",
        &["volume.case/joint volume-ground-lug open", "volume-ground-lug/lug broken"],
        None,
        ["6.200 k", "131.20 k", "256.20 k", "6.200 k", "6.200 k", "0"],
    ),
    Row("volume wiper open", &["volume/wiper open"], None, ["OL", "OL", "OL", "OL", "OL", "0"]),
    Row(
        "track broken at the lug 3 end",
        &["volume/track open at lug 3"],
        None,
        ["250.00 k", "125.00 k", "0", "250.00 k", "250.00 k", "0"],
    ),
    Row(
        "track broken at the lug 1 end",
        &["volume/track open at lug 1"],
        None,
        ["6.200 k", "131.20 k", "256.20 k", "6.200 k", "6.200 k", "0"],
    ),
    Row(
        "output lead or tip contact open",
        &["volume.lug2/joint open", "jack.tip/joint open", "output-wire/wire broken", "jack/tip spring open"],
        None,
        ["OL", "OL", "OL", "OL", "OL", "0"],
    ),
    Row(
        "sleeve lead open",
        &[
            "volume.case/joint jack-ground open",
            "jack.sleeve/joint open",
            "jack-ground/wire broken",
            "jack/sleeve spring open",
        ],
        None,
        ["OL", "OL", "OL", "OL", "6.050 k", "OL"],
    ),
    Row(
        "string ground wire open",
        &["volume.case/joint string-ground open", "strings.surface/joint open", "string-ground/wire broken"],
        None,
        ["6.050 k", "64.012 k", "0", "6.050 k", "OL", "OL"],
    ),
    Row(
        "tip shorted to sleeve",
        &["jack.tip/short to jack.sleeve", "jack.tip/short to shield.surface"],
        SHORT,
        ["0", "0", "0", "0", "0", "0"],
    ),
    Row(
        "pickup hot shorted to ground",
        &[
            "volume.lug3/short to volume.case",
            "volume.lug3/short to shield.surface",
            "pickup.hot/short to pickup.cold",
            "tone.lug2/short to tone.case",
        ],
        SHORT,
        ["0", "62.500 k", "0", "0", "0", "0"],
    ),
    Row(
        "pickup hot leaking to ground through 1 k",
        &["volume.lug3/leak to shield.surface"],
        Some(1e3),
        ["858 Ω", "62.715 k", "0", "858 Ω", "858 Ω", "0"],
    ),
    Row(
        "tone capacitor shorted",
        &["tone-cap/capacitor shorted", "tone-cap.a/short to tone-cap.b", "tone.lug1/short to tone.case"],
        SHORT,
        ["5.907 k", "63.977 k", "0", "0", "5.907 k", "0"],
    ),
    Row(
        "tone capacitor leaky, 47 k",
        &["tone-cap/capacitor leaky"],
        Some(47e3),
        ["5.929 k", "63.982 k", "0", "5.360 k", "5.929 k", "0"],
    ),
    Row(
        "hot shorted to the tone-pot/capacitor node",
        &["tone.lug1/short to tone.lug2"],
        SHORT,
        ["6.050 k", "64.012 k", "0", "6.050 k", "6.050 k", "0"],
    ),
    Row(
        "half the coil turns shorted",
        &["pickup/coil half shorted"],
        Some(0.5),
        ["3.062 k", "63.266 k", "0", "3.062 k", "3.062 k", "0"],
    ),
    Row(
        "cold joint of 4.7 k in the output lead",
        &["volume.lug2/joint high resistance", "jack.tip/joint high resistance", "jack/tip spring dirty"],
        Some(4.7e3),
        ["10.750 k", "68.712 k", "4.700 k", "10.750 k", "10.750 k", "0"],
    ),
    Row(
        "cold joint of 4.7 k in the pickup lead",
        &["pickup.hot/joint high resistance", "volume.lug3/joint pickup-hot high resistance"],
        Some(4.7e3),
        ["10.445 k", "65.111 k", "0", "10.445 k", "10.445 k", "0"],
    ),
    Row(
        "worn wiper, 2 k contact resistance",
        &["volume/wiper worn"],
        Some(2e3),
        ["8.050 k", "66.012 k", "2.000 k", "8.050 k", "8.050 k", "0"],
    ),
    Row(
        "wrong volume pot: 25 k",
        &["volume/wrong value"],
        Some(0.1),
        ["4.968 k", "7.492 k", "0", "4.968 k", "4.968 k", "0"],
    ),
    Row(
        "wrong volume pot: 1 M",
        &["volume/wrong value"],
        Some(4.0),
        ["6.162 k", "251.54 k", "0", "6.162 k", "6.162 k", "0"],
    ),
    Row(
        "jack hot and ground swapped",
        &["jack/hot and ground exchanged"],
        None,
        ["6.050 k", "64.012 k", "0", "6.050 k", "0", "6.050 k"],
    ),
];

#[test]
fn single_faults_of_one_pickup() {
    let instrument = Instrument::ideal("one-pickup");
    let plug = ("plug.tip", "plug.sleeve");
    let columns = [
        (instrument.at(&[], &[]), plug),
        (instrument.at(&[("volume", 0.5)], &[]), plug),
        (instrument.at(&[("volume", 0.0)], &[]), plug),
        (instrument.at(&[("tone", 0.0)], &[]), plug),
        (instrument.at(&[], &[]), ("plug.tip", "strings.surface")),
        (instrument.at(&[], &[]), ("plug.sleeve", "strings.surface")),
    ];
    check(&instrument, ONE_PICKUP, |column, change| {
        let (at, (red, black)) = &columns[column];
        instrument.ohms(at, red, black, change)
    });
}

// Columns: neck, both, bridge with every knob at 10; then the same three with the neck volume at 0.
const TWO_HUMBUCKERS: &[Row] = &[
    Row("healthy", &[], None, ["7.486 k", "3.883 k", "8.068 k", "0", "0", "8.068 k"]),
    Row(
        "neck coil open",
        &["neck-pickup/coil open"],
        None,
        ["500.00 k", "7.940 k", "8.068 k", "0", "0", "8.068 k"],
    ),
    Row(
        "neck hot joint open",
        &["neck-pickup.hot/joint open", "neck-volume.lug3/joint neck-lead open", "neck-lead/wire broken"],
        None,
        ["500.00 k", "7.940 k", "8.068 k", "0", "0", "8.068 k"],
    ),
    Row(
        "toggle neck contact open",
        &["selector/contact neck-common open", "selector.neck/joint open", "neck-switch-lead/wire broken"],
        None,
        ["OL", "8.068 k", "8.068 k", "OL", "8.068 k", "8.068 k"],
    ),
    Row(
        "toggle neck contact stuck closed",
        &["selector/contact neck-common stuck closed", "selector.neck/short to selector.common"],
        SHORT,
        ["7.486 k", "3.883 k", "3.883 k", "0", "0", "0"],
    ),
    Row(
        "toggle bridge contact stuck closed",
        &["selector/contact bridge-common stuck closed", "selector.bridge/short to selector.common"],
        SHORT,
        ["3.883 k", "3.883 k", "8.068 k", "0", "0", "8.068 k"],
    ),
    Row(
        "toggle common open",
        &["selector.common/joint open", "output-lead/wire broken", "jack.tip/joint open"],
        None,
        ["OL", "OL", "OL", "OL", "OL", "OL"],
    ),
    Row(
        "solder bridge between the two toggle terminals",
        &["selector.neck/short to selector.bridge"],
        SHORT,
        ["3.883 k", "3.883 k", "3.883 k", "0", "0", "0"],
    ),
    Row(
        "toggle neck terminal touching the shielded cavity wall",
        &["selector.neck/short to switch-cavity.surface", "selector.neck/short to neck-screen.surface"],
        SHORT,
        ["0", "0", "8.068 k", "0", "0", "8.068 k"],
    ),
    Row(
        "toggle common touching the cavity wall",
        &["selector.common/short to switch-cavity.surface", "selector.common/short to selector.frame"],
        SHORT,
        ["0", "0", "0", "0", "0", "0"],
    ),
    Row(
        "neck hot shorted to braid before its volume pot",
        &["neck-volume.lug3/short to neck-volume.case", "neck-pickup.hot/short to neck-pickup.cold"],
        SHORT,
        ["0", "0", "8.068 k", "0", "0", "8.068 k"],
    ),
    Row(
        "one neck coil shorted",
        &["neck-pickup/coil half shorted"],
        Some(0.5),
        ["3.771 k", "2.570 k", "8.068 k", "0", "0", "8.068 k"],
    ),
    Row(
        "neck volume lug 1 ground open",
        &["neck-volume.case/joint neck-volume-ground-lug open", "neck-volume-ground-lug/lug broken"],
        None,
        ["7.600 k", "3.913 k", "8.068 k", "507.60 k", "7.941 k", "8.068 k"],
    ),
    Row(
        "neck volume wiper open",
        &["neck-volume/wiper open"],
        None,
        ["OL", "8.068 k", "8.068 k", "OL", "8.068 k", "8.068 k"],
    ),
    Row(
        "neck tone capacitor shorted (tone at 10)",
        &["neck-tone-cap/capacitor shorted", "neck-tone-cap.a/short to neck-tone-cap.b"],
        SHORT,
        ["7.376 k", "3.853 k", "8.068 k", "0", "0", "8.068 k"],
    ),
];

#[test]
fn single_faults_of_two_humbuckers() {
    let instrument = Instrument::ideal("two-humbuckers");
    let columns: Vec<_> = [1.0, 0.0]
        .iter()
        .flat_map(|share| {
            ["neck", "both", "bridge"]
                .map(|position| instrument.at(&[("neck-volume", *share)], &[("selector", position)]))
        })
        .collect();
    check(&instrument, TWO_HUMBUCKERS, |column, change| {
        instrument.ohms(&columns[column], "plug.tip", "plug.sleeve", change)
    });
}
