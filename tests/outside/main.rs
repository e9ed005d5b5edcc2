//! The program against the world outside: published tables, other programs, brute force, and what is known at every bench.
//!
//! Beside each check stands its source, or "common practice, no source", or "from memory".

#[path = "../data/asked.rs"]
mod asked;
#[path = "../data/instrument.rs"]
mod instrument;
#[path = "../data/sequences.rs"]
mod sequences;
#[path = "../data/star_mesh.rs"]
mod star_mesh;
#[path = "../data/trade_page.rs"]
mod trade_page;
#[path = "../data/trade_table.rs"]
mod trade_table;

mod active;
mod belief;
mod belief_draws;
mod circuits;
mod faults;
mod handbook;
mod ladder;
mod layouts;
mod ngspice;
mod optimum;
mod parts;
mod response;
mod rules;
mod sequencing;
mod sound;
mod tables;
mod trade;
