//! Lugwise finds the one joint, wire, braid strand or part at fault in an electric guitar's wiring,
//! one meter reading at a time.
//!
//! Nothing about a fault is typed in by hand. A wiring file says what is wired to what; from it the
//! program derives every place that can fail and every way it can fail ([`faults`]), solves the circuit
//! for each ([`solver`], [`prediction`]), and lets the readings that were taken decide ([`belief`]) which
//! reading is worth its time next ([`advisor`]). The rooms below are in reading order; each may use only
//! rooms above it.

pub mod units;
pub mod source;
pub mod circuit;
pub mod solver;
pub mod faults;
pub mod readings;
pub mod prediction;
pub mod trees;
pub mod job;
pub mod belief;
pub mod advisor;
pub mod workbench;
pub mod draw;
pub mod archive;
pub mod ticket;
pub mod session;
pub mod cli;
#[cfg(feature = "gui")]
pub mod ui;
