//! Wirings of any size: channels of a pickup, a volume and a tone each, in two banks that a toggle picks.

use std::fmt::Write as _;

/// The most channels: the last one still lies within what can be drawn.
pub const MOST_CHANNELS: usize = 60;

/// Returns the text of a wiring file with so many channels, 2 to [`MOST_CHANNELS`].
///
/// Every second channel is in the bank of the neck, the others in that of the bridge; the outputs of a bank are
/// chained, all cases are grounded at the first volume pot.
pub fn grown(channels: usize) -> String {
    assert!((2..=MOST_CHANNELS).contains(&channels), "{channels} channels");
    let mut text = HEAD.to_owned();
    for channel in 0..channels {
        text += &blocks(channel);
    }
    text += MIDDLE;
    for channel in 2..channels {
        let before = channel - 2;
        let ends = format!("from: \"volume-{channel}.out\", to: \"volume-{before}.out\"");
        let title = format!("wire between the outputs of volumes {before} and {channel}");
        let _ = writeln!(text, "(name: \"link-{channel}\", title: \"{title}\", kind: Wire, {ends}),");
    }
    text + "],\n)\n"
}

/// Writes the pickup, the volume and the tone of a channel.
fn blocks(channel: usize) -> String {
    let y = 60 * channel;
    let case = if channel == 0 { "" } else { "ground: \"volume-0.case\", " };
    format!(
        r#"Pickup(
    name: "pickup-{channel}", ohms: "7.6k", henries: "4H", farads: "120p", lead: Pair,
    hot: "volume-{channel}.in", ground: "volume-0.case", place: "cavity", at: (120, {y}),
),
Volume(name: "volume-{channel}", track: "500k audio", style: Standard, {case}place: "cavity", at: (420, {y})),
Tone(
    name: "tone-{channel}", track: "500k audio", capacitor: "22n", feed: "volume-{channel}.in",
    ground: "volume-0.case", place: "cavity", at: (640, {y}),
),
"#
    )
}

const HEAD: &str = r#"(
format: 1,
name: "grown",
code: "G1",
title: "Many pickups in two banks",
about: "Made to measure how the program grows with a wiring.",
joint: "0.005 ohm",
places: [
    (name: "outside", how: "plug a cable in and measure at its free plug", open: "0 s", outside: true),
    (name: "cavity", how: "take out the screws of the rear cover", open: "4 min"),
],
blocks: [
Selector(name: "selector", form: Toggle, ground: "volume-0.case", place: "cavity", at: (900, 120)),
Output(hot: "selector.common", ground: "volume-0.case", lead: Pair, place: "cavity", at: (900, 420)),
Strings(ground: "volume-0.case", place: "cavity", at: (900, 600)),
"#;

const MIDDLE: &str = r#"],
wires: [
(name: "to-neck", title: "wire to the toggle's neck lug", kind: Wire, from: "volume-0.out", to: "selector.neck"),
(name: "to-bridge", title: "wire to the toggle's bridge lug", kind: Wire, from: "volume-1.out", to: "selector.bridge"),
"#;
