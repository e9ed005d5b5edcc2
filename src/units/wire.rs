//! Copper wire of the American gauge.

use std::f64::consts::PI;

use super::{Metres, Ohms};

/// The bare diameter of gauge 36 (ASTM B258: 0.005 inch).
const GAUGE_36: f64 = 0.000_127;
/// The resistivity of annealed copper at 20 °C in Ω·m (IEC 60028: 1/58 Ω·mm²/m).
const COPPER: f64 = 1e-6 / 58.0;

/// Returns the diameter of the bare wire of an American gauge (ASTM B258: from one gauge to the next the 39th root of 92).
pub fn gauge_diameter(gauge: u8) -> Metres {
    Metres::new(GAUGE_36 * libm::pow(92.0, (36.0 - f64::from(gauge)) / 39.0))
}

/// Returns the resistance of one metre of copper wire of this bare diameter at 20 °C.
pub fn copper_per_metre(diameter: Metres) -> Ohms {
    let radius = diameter.get() / 2.0;
    Ohms::new(COPPER / (PI * radius * radius))
}
