//! Lugwise finds the one joint, wire, braid strand or part at fault in an electric guitar's wiring,
//! one meter reading at a time.
//!
//! Nothing about a fault is typed in by hand. A wiring file says what is wired to what; from it the
//! program derives every place that can fail and every way it can fail ([`faults`]), solves the circuit
//! for each ([`solver`], [`prediction`]), and lets the readings that were taken decide ([`belief`]) which
//! reading is worth its time next ([`advisor`]). The rooms below are in reading order; each may use only
//! rooms above it.
//!
//! ```
//! use lugwise::circuit;
//! use lugwise::readings::{Measurement, Meter};
//! use lugwise::source::Source;
//! use lugwise::workbench::Engine;
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let (name, text) = circuit::built_in()[0];
//! let engine = Engine::new(&Source::new(name, text), Meter::ordinary(), &[])?;
//! let at_the_plug = Measurement::at_the_plug(engine.harness());
//! let sound = engine.healthy(&at_the_plug)?;
//! let open = engine.predict(&at_the_plug, "pickup/coil open")?;
//! assert!(sound.ohms < open.ohms, "with its coil open the meter sees the volume pot alone");
//! # Ok(())
//! # }
//! ```

pub mod units;
pub mod source;
pub mod circuit;
pub mod solver;
pub mod readings;
pub mod faults;
pub mod prediction;
pub mod trees;
pub mod job;
pub mod belief;
pub mod advisor;
pub mod audit;
pub mod workbench;
pub mod treework;
pub mod trial;
pub mod practice;
pub mod draw;
pub mod archive;
pub mod ticket;
pub mod session;
pub mod cli;
#[cfg(feature = "gui")]
pub mod ui;
