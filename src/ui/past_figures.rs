//! The figures over past jobs: a chart of bars, and what may be written of it.

use egui::{Button, Label, Rect, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, vec2};

use super::action::Action;
use super::past::pick;
use super::past_desk::{PastAction, PastDesk};
use super::picture;
use super::theme::tokens;
use super::widgets::{section, small, soft};
use crate::archive::audit::By;
use crate::draw::{Bar, bars_to, rows_of_bars};
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
const WIDEST: f32 = 1300.0;

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
    soft(ui, own.held.as_str());
    chart(ui, figure, own.by, out);
    ui.horizontal_wrapped(|ui| {
        let all = [("Save as CSV…", PastAction::SaveCsv), ("Save the report…", PastAction::SaveReport)];
        for (name, action) in all {
            if ui.add_enabled(!own.is_reading(), Button::new(name)).clicked() {
                out.push(Action::Past(action));
            }
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

fn chart(ui: &mut Ui, figure: &Figure, by: By, out: &mut Vec<Action>) {
    section(ui, figure.title);
    let about = figure.chart.about_by(by);
    ui.add(Label::new(about).wrap());
    small(ui, figure.chart.legend());
    let all: Vec<Bar> = figure.rows.iter().map(|row| drawn(figure.chart, row)).collect();
    let width = (ui.available_width() - 12.0).clamp(280.0, WIDEST);
    let image = bars_to(figure.title, about, &all, width, figure.chart.whole());
    let area = picture::fixed(ui, &image, vec2(image.size.0, image.size.1)).rect;
    for ((top, height), (index, row)) in rows_of_bars(all.len()).zip(figure.rows.iter().enumerate()) {
        let place = Rect::from_min_size(area.min + vec2(0.0, top), vec2(area.width(), height));
        pressed(ui, figure, (index, row), place, out);
    }
    if figure.has_small() {
        soft(ui, "Dashed and marked (few): from fewer than ten jobs, which say little.");
    }
}

/// Lets a bar be pressed that stands for jobs, and tells its whole name to whoever points at it.
fn pressed(ui: &Ui, figure: &Figure, (index, row): (usize, &FigureRow), place: Rect, out: &mut Vec<Action>) {
    let lists = figure.chart.grouped() || figure.chart == Chart::Weeks;
    let sense = if lists { Sense::click() } else { Sense::hover() };
    let bar = ui.interact(place, ui.scope_id().with((figure.chart.name(), index)), sense);
    let name = row.cells.first().map(Cell::words).unwrap_or_default();
    if !lists {
        bar.on_hover_text(name);
        return;
    }
    let said = format!("List the jobs of {name}");
    bar.widget_info(|| WidgetInfo::labeled(Role::Button, true, &said));
    if bar.has_focus() || bar.hovered() {
        let stroke = Stroke::new(2.0, tokens(ui).accent);
        ui.painter().rect_stroke(place, 2.0, stroke, StrokeKind::Inside);
    }
    if bar.on_hover_text(said.as_str()).clicked() {
        out.push(Action::Past(PastAction::Only(index)));
    }
}

fn drawn(chart: Chart, row: &FigureRow) -> Bar {
    Bar {
        name: row.name.clone(),
        value: row.bar,
        words: figure_in_words(chart, row),
        beside: row.beside,
        small: row.small,
    }
}
