//! What is decided from a wiring: its faults and priors, what is asked for, how faults are found, doubted and proved.

#[path = "../data/asked.rs"]
mod asked;
#[path = "../data/sequences.rs"]
mod sequences;
#[path = "../data/shell.rs"]
mod shell;

mod after_repair;
mod audit;
mod doubt;
mod isolation;
mod look_back;
mod outlook;
mod pairs;
mod priors;
mod trial;
mod wirings;
