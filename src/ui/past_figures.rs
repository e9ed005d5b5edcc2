//! The figures over past jobs: a chart of bars, and what may be written of it.

use egui::{Button, Label, Ui, vec2};

use super::action::Action;
use super::past::pick;
use super::past_desk::{PastAction, PastDesk};
use super::picture;
use super::widgets::{section, soft};
use crate::archive::audit::By;
use crate::draw::{Bar, bars};
use crate::session::{Cell, Chart, Figure, FigureRow, figure_in_words};

/// What figures may be put together by, with the words for it.
const BYS: [(By, &str); 7] = [
    (By::Family, "sort of thing that failed"),
    (By::Kind, "kind of fault"),
    (By::Fault, "fault"),
    (By::Place, "place"),
    (By::Wiring, "wiring"),
    (By::Technician, "technician"),
    (By::All, "nothing: all together"),
];
/// How wide a chart is at most, in points.
const WIDEST: f32 = 900.0;

/// Shows the page.
pub(super) fn show(ui: &mut Ui, own: &PastDesk, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        for chart in Chart::ALL {
            if ui.add(Button::selectable(chart == own.chart, chart.title())).clicked() {
                out.push(Action::Past(PastAction::Chart(chart)));
            }
        }
    });
    if own.chart.grouped() {
        together(ui, own.by, out);
    }
    let Some(figures) = &own.figures else { return };
    if figures.is_empty() {
        soft(ui, "There are no past jobs yet to be counted.");
        return;
    }
    let Some(figure) = own.figure() else { return };
    chart(ui, figure);
    ui.horizontal_wrapped(|ui| {
        if ui.button("Save as CSV…").clicked() {
            out.push(Action::Past(PastAction::SaveCsv));
        }
        if ui.button("Save the report…").clicked() {
            out.push(Action::Past(PastAction::SaveReport));
        }
    });
}

fn together(ui: &mut Ui, by: By, out: &mut Vec<Action>) {
    let shown = BYS.iter().find(|(known, _)| *known == by).map_or("", |(_, words)| *words);
    ui.horizontal_wrapped(|ui| {
        pick(ui, "Put together by", shown, |ui| {
            for (other, words) in BYS {
                if ui.selectable_label(other == by, words).clicked() && other != by {
                    out.push(Action::Past(PastAction::By(other)));
                }
            }
        });
    });
}

fn chart(ui: &mut Ui, figure: &Figure) {
    section(ui, figure.chart.title());
    ui.add(Label::new(figure.chart.about()).wrap());
    let all: Vec<Bar> = figure.rows.iter().map(|row| drawn(figure.chart, row)).collect();
    let width = (ui.available_width() - 12.0).clamp(280.0, WIDEST);
    let image = bars(figure.chart.title(), figure.chart.about(), &all, width);
    picture::fixed(ui, &image, vec2(image.size.0, image.size.1));
    if figure.has_small() {
        soft(ui, "Dashed and marked (few): from fewer than ten jobs, which say little.");
    }
}

fn drawn(chart: Chart, row: &FigureRow) -> Bar {
    Bar {
        name: row.cells.first().map(Cell::words).unwrap_or_default(),
        value: row.bar,
        words: figure_in_words(chart, row),
        beside: row.beside,
        small: row.small,
    }
}
