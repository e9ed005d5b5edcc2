//! Where a customer tells of moving house, which says nothing of the instrument.

use std::ops::Range;

use super::words::spans;

/// What a person moves to; it says nothing of the instrument.
const HOMES: &[&str] = &[
    "house",
    "houses",
    "home",
    "flat",
    "flats",
    "apartment",
    "town",
    "city",
    "country",
    "abroad",
    "away",
    "here",
    "room",
    "studio",
    "office",
    "place",
];

/// Who moves house.
const MOVERS: &[&str] = &["i", "we", "ive", "weve", "he", "she", "they", "family", "just"];

/// Returns where somebody is said to have moved house.
pub(super) fn moving_house(words: &[String]) -> Vec<Range<usize>> {
    let to = HOMES.iter().flat_map(|home| [format!("mov* ~ {home}"), format!("mov* ~ new {home}")]);
    let who = MOVERS.iter().flat_map(|who| [format!("{who} mov* in"), format!("{who} mov* out")]);
    to.chain(who).flat_map(|phrase| spans(words, &phrase)).collect()
}
