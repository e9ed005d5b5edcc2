//! Authored trees: how they are read and walked, held against the circuit, and grown.

#[path = "../data/mutate.rs"]
mod mutate;
#[path = "../data/tree_text.rs"]
mod tree_text;

mod authored;
mod treegrow;
mod treemutants;
mod treeplayed;
mod treework;
