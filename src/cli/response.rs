//! `response`: what reaches the end of the cable at every frequency.

use std::path::Path;

use serde_json::{Value, json};

use super::args::Listen;
use super::engine::{self, Heard};
use super::failure::Failure;
use super::measure;
use super::reply::{Answer, Reply, columns, put};
use super::wirings;
use crate::circuit::{Harness, PartKind};
use crate::draw::{Palette, PlotLine, PlotStyle, hertz_in_words, plot, svg};
use crate::readings::Setting;
use crate::source::advice;
use crate::units::{Hertz, show_farads, show_ohms};
use crate::workbench::{Difference, Listening, Load, Point, Response, difference_in_words, grid};

/// Says what reaches the end of the cable, and draws it where a file is named.
pub(super) fn response(asked: &Listen) -> Answer {
    let wiring = wirings::find(&asked.wiring)?;
    let harness = &wiring.harness;
    let listening = listening(harness, asked)?;
    let both = engine::heard(&wiring.source, &listening, asked.fault.as_deref())?;
    let into = into(harness, &listening);
    if let Some(file) = &asked.output {
        write(file, &drawn(&format!("sound of {}", harness.name), &into, &both))?;
    }
    let json = as_json(harness, &listening, asked, &both);
    Ok(Reply::new(text(&format!("{}: {into}", harness.name), asked, &both), json))
}

fn listening(harness: &Harness, asked: &Listen) -> Result<Listening, Failure> {
    let mut hertz = if asked.at.is_empty() { grid() } else { asked.at.clone() };
    hertz.sort_by(|a, b| a.get().total_cmp(&b.get()));
    hertz.dedup();
    Ok(Listening {
        setting: measure::moved(harness, Setting::reference(harness), &asked.settings)?,
        load: Load { cable: asked.cable, input: asked.input },
        sources: asked.coils.iter().map(|name| coil(harness, name)).collect::<Result<_, _>>()?,
        hertz,
    })
}

fn coil(harness: &Harness, name: &str) -> Result<String, Failure> {
    let coils = harness.parts.iter().filter(|part| matches!(part.kind, PartKind::Coil { .. }));
    let known: Vec<&str> = coils.map(|part| part.name.as_str()).collect();
    let found = known.iter().find(|known| known.eq_ignore_ascii_case(name));
    found.map(|known| (*known).to_owned()).ok_or_else(|| {
        Failure::new(format!("cannot sound \"{name}\": {} has no such coil", harness.name)).with_hint(advice(
            name,
            &known,
            "the coils are",
            '"',
        ))
    })
}

fn into(harness: &Harness, listening: &Listening) -> String {
    let (cable, input) = (show_farads(listening.load.cable), show_ohms(listening.load.input));
    let cable = format!("{cable} of cable into {input}");
    let parts = [listening.setting.sentence(harness), cable];
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("; ")
}

fn difference(both: &Heard) -> Option<Difference> {
    both.faulty.as_ref().map(|faulty| faulty.beside(&both.healthy))
}

fn drawn(title: &str, into: &str, both: &Heard) -> String {
    let line = |label: &str, style, points: &[Point]| PlotLine {
        label: label.to_owned(),
        style,
        points: points.iter().map(|point| (point.hertz, point.decibels)).collect(),
    };
    let healthy = line("healthy", PlotStyle::Solid, &both.healthy.points);
    let faulty = both.faulty.as_ref().map(|faulty| line("fault", PlotStyle::Dashed, &faulty.points));
    let lines: Vec<PlotLine> = std::iter::once(healthy).chain(faulty).collect();
    svg(&plot(title, &format!("{into}."), &lines, 720.0, 340.0), &Palette::Light)
}

fn write(file: &Path, text: &str) -> Result<(), Failure> {
    let name = file.display();
    if file.extension().is_none_or(|ending| !ending.eq_ignore_ascii_case("svg")) {
        return Err(Failure::new(format!("cannot tell what to draw from the name \"{name}\""))
            .with_hint("end it in .svg"));
    }
    put(file, text.as_bytes())
}

fn text(head: &str, asked: &Listen, both: &Heard) -> String {
    let mut lines = vec![head.to_owned(), "decibels beside one volt in every coil that sounds".to_owned()];
    lines.push(columns(&table(both, asked.at.is_empty())));
    lines.push(format!("peak, healthy: {}{}", peak_in_words(&both.healthy), peaks_in_words(both.peaks)));
    lines.extend(both.faulty.iter().map(|faulty| format!("peak, with the fault: {}", peak_in_words(faulty))));
    lines.extend(difference(both).map(|found| {
        format!("with the fault: {} (treble at 3 kHz, level at 250 Hz)", difference_in_words(found))
    }));
    lines.extend(asked.output.iter().map(|file| format!("{} written", file.display())));
    lines.join("\n")
}

/// Returns the rows of the table; of the usual frequencies every other one.
fn table(both: &Heard, usual: bool) -> Vec<Vec<String>> {
    let decibels = |level: f64| format!("{:>7.1}", tenth(level));
    let row = |(index, healthy): (usize, &Point)| {
        let mut cells = vec![format!("{:>9}", hertz_in_words(healthy.hertz)), decibels(healthy.decibels)];
        if let Some(faulty) = both.faulty.as_ref().and_then(|faulty| faulty.points.get(index)) {
            cells.push(decibels(faulty.decibels));
            cells.push(format!("{:>+7.1}", tenth(faulty.decibels - healthy.decibels)));
        }
        cells
    };
    let mut head = vec!["frequency".to_owned(), "healthy".to_owned()];
    head.extend(both.faulty.iter().flat_map(|_| ["with the fault".to_owned(), "difference".to_owned()]));
    let step = if usual { 2 } else { 1 };
    std::iter::once(head).chain(both.healthy.points.iter().enumerate().step_by(step).map(row)).collect()
}

/// Returns a number to a tenth, without a sign before zero.
fn tenth(decibels: f64) -> f64 {
    (decibels * 10.0).round() / 10.0 + 0.0
}

fn peak_in_words(response: &Response) -> String {
    let told = |peak: Point| format!("{:.1} dB at {}", peak.decibels, hertz_in_words(peak.hertz));
    response.peak.map_or_else(|| "none".to_owned(), told)
}

fn peaks_in_words(peaks: Option<[Hertz; 2]>) -> String {
    let told = |[low, high]: [Hertz; 2]| {
        format!("; between {} and {} as the parts differ", hertz_in_words(low), hertz_in_words(high))
    };
    peaks.map(told).unwrap_or_default()
}

fn as_json(harness: &Harness, listening: &Listening, asked: &Listen, both: &Heard) -> Value {
    let faulty_at = |index: usize| both.faulty.as_ref().map(|faulty| faulty.points[index].decibels);
    let point = |(index, healthy): (usize, &Point)| json!({"hertz": healthy.hertz, "healthy": healthy.decibels, "faulty": faulty_at(index)});
    let peak = |response: &Response| {
        response.peak.map(|peak| json!({"hertz": peak.hertz, "decibels": peak.decibels}))
    };
    json!({
        "wiring": harness.name,
        "fault": asked.fault,
        "settings": listening.setting,
        "cable": listening.load.cable,
        "input": listening.load.input,
        "points": both.healthy.points.iter().enumerate().map(point).collect::<Vec<_>>(),
        "peak": {"healthy": peak(&both.healthy), "between": both.peaks, "faulty": both.faulty.as_ref().and_then(peak)},
        "level": difference(both).map(|found| found.level),
        "treble": difference(both).map(|found| found.treble),
        "sentence": difference(both).map(difference_in_words),
        "file": asked.output.as_ref().map(|file| file.display().to_string()),
    })
}

/// Reads a frequency: `3000`, `82.4 Hz`, `3k`, `3.5 kHz`.
pub(super) fn hertz(text: &str) -> Result<Hertz, String> {
    let bare = text.trim().to_lowercase();
    let bare = bare.strip_suffix("hz").unwrap_or(&bare).trim_end();
    let (number, factor) = bare.strip_suffix('k').map_or((bare, 1.0), |number| (number.trim_end(), 1e3));
    match number.parse::<f64>() {
        Ok(number) if (1.0..=1e5).contains(&(number * factor)) => Ok(Hertz::new(number * factor)),
        _ => Err("expected a frequency from 1 Hz to 100 kHz, such as 3000 or 3k".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frequencies_are_read_with_and_without_their_unit() {
        for (text, value) in [("3000", 3e3), ("82.4 Hz", 82.4), ("3k", 3e3), ("3.5 kHz", 3.5e3)] {
            assert_eq!(hertz(text), Ok(Hertz::new(value)), "{text}");
        }
        for wrong in ["0", "-3", "200k", "NaN", "high", "3 m"] {
            assert!(hertz(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_plot_is_an_svg_file() {
        let failure = write(Path::new("plot.png"), "").err().map(|f| f.to_string()).unwrap_or_default();
        assert!(failure.contains("\"plot.png\"") && failure.ends_with("hint: end it in .svg"), "{failure}");
    }
}
