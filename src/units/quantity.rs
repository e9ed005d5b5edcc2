//! One newtype per physical quantity, with only the arithmetic that makes sense.

use serde::{Deserialize, Serialize};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            /// The unit's symbol, as printed after a value.
            pub const UNIT: &'static str = $unit;

            #[doc = concat!("Makes a value from a number of ", $unit, "; not-a-number becomes zero.")]
            pub const fn new(value: f64) -> Self {
                if value.is_nan() { Self(0.0) } else { Self(value) }
            }

            #[doc = concat!("Returns the number of ", $unit, ".")]
            pub const fn get(self) -> f64 {
                self.0
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self::new(self.0 + other.0)
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self::new(self.0 - other.0)
            }
        }

        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self::new(self.0 * factor)
            }
        }

        impl std::ops::Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }
    };
}

quantity!(
    /// A resistance in ohms.
    Ohms,
    "Ω"
);
quantity!(
    /// A capacitance in farads.
    Farads,
    "F"
);
quantity!(
    /// An inductance in henries.
    Henries,
    "H"
);
quantity!(
    /// A frequency in hertz.
    Hertz,
    "Hz"
);
quantity!(
    /// A voltage in volts.
    Volts,
    "V"
);
quantity!(
    /// A current in amperes.
    Amps,
    "A"
);
quantity!(
    /// A span of time in seconds.
    Seconds,
    "s"
);
quantity!(
    /// A temperature in degrees Celsius.
    Celsius,
    "°C"
);
quantity!(
    /// A length in metres.
    Metres,
    "m"
);
