//! One's own wirings: the files of a folder, watched while they are edited, with what is wrong beside each line.

use std::path::PathBuf;
use std::time::Duration;

use egui::{CentralPanel, Context, Frame, Key, Label, Margin, Panel, RichText, ScrollArea, Ui, vec2};

use super::action::{Action, Desk, Spot};
use super::bench::Bench;
use super::theme::{self, tokens};
use super::widgets::{card, good, key_button, main_button, problem, section, soft};
use super::{gallery, words};
use crate::source::Located;

/// Seconds between two looks at the folder.
const BETWEEN: f64 = 1.0;
/// Seconds until a look that is under way is asked for.
const SOON: f64 = 0.1;

/// What the screen of own wirings remembers.
#[derive(Clone, Debug, Default)]
pub struct OwnDesk {
    /// The file that is shown.
    pub chosen: Option<PathBuf>,
    /// Why the last thing asked was refused.
    pub problem: Option<String>,
    /// When the folder is looked at next, in seconds of the window's clock.
    next_look: f64,
    /// The line to be brought into view, once.
    line: Option<usize>,
    /// The file that was drawn last and its first wrong line; when it is another one, it is brought into view.
    drawn: Option<(PathBuf, Option<usize>)>,
}

/// One thing asked for on the screen of own wirings.
#[derive(Clone, Debug, PartialEq)]
pub enum Own {
    /// Open the screen.
    Open,
    /// Go back to the first screen.
    Close,
    /// Show this file.
    Choose(PathBuf),
    /// Copy the wiring of this name to a new file.
    Copy(String),
    /// Choose the wiring of this name for the job.
    Use(String),
    /// Bring this line into view.
    Line(usize),
}

/// Carries out one thing asked for.
pub(super) fn carry_out(bench: &mut dyn Bench, desk: &mut Desk, asked: Own) {
    let mut own = desk.own.take().unwrap_or_default();
    match asked {
        Own::Open => own.chosen = bench.own_files().first().map(|file| file.path.clone()),
        Own::Choose(path) => own.chosen = Some(path),
        Own::Line(line) => own.line = Some(line),
        Own::Copy(name) => match bench.copy_wiring(&name) {
            Ok(path) => (own.chosen, own.problem) = (Some(path), None),
            Err(text) => own.problem = Some(text),
        },
        Own::Close => return desk.focus = Some(Spot::Start),
        Own::Use(name) => {
            desk.start.wiring = name;
            return desk.focus = Some(Spot::Start);
        }
    }
    desk.own = Some(own);
}

/// Looks at the folder now and then, only while the screen is open; what changed is shown by the next frame.
pub(super) fn watch(ctx: &Context, bench: &mut dyn Bench, desk: &mut Desk) {
    let Some(own) = &mut desk.own else { return };
    let now = ctx.input(|input| input.time);
    if now >= own.next_look {
        let under_way = bench.look_at_own();
        own.next_look = now + if under_way { SOON } else { BETWEEN };
    }
    ctx.request_repaint_after(Duration::from_secs_f64((own.next_look - now).max(SOON)));
}

/// Shows the screen.
pub(super) fn show(ui: &mut Ui, bench: &dyn Bench, desk: &mut Desk, out: &mut Vec<Action>) {
    let frame = Frame::new().fill(tokens(ui).paper).inner_margin(Margin::symmetric(24, 14));
    if ui.input(|input| input.key_pressed(Key::Escape)) {
        out.push(Action::Own(Own::Close));
    }
    Panel::top("own head").frame(frame).show(ui, |ui| head(ui, bench, out));
    let Some(own) = &mut desk.own else { return };
    CentralPanel::default().frame(frame).show(ui, |ui| {
        if ui.available_width() < 860.0 {
            ScrollArea::vertical().show(ui, |ui| {
                files(ui, bench, own, out);
                shown(ui, bench, own, out);
                copies(ui, bench, own, out);
            });
            return;
        }
        let wide = ui.available_width() * 0.32;
        Panel::left("own list").resizable(false).exact_size(wide).frame(Frame::new()).show(ui, |ui| {
            ScrollArea::vertical().show(ui, |ui| {
                ui.set_max_width(ui.available_width() - 14.0);
                files(ui, bench, own, out);
                ui.add_space(10.0);
                copies(ui, bench, own, out);
            });
        });
        let clear = Frame::new().inner_margin(Margin { left: 22, ..Margin::ZERO });
        CentralPanel::default().frame(clear).show(ui, |ui| shown(ui, bench, own, out));
    });
}

fn head(ui: &mut Ui, bench: &dyn Bench, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        if key_button(ui, "Back", "Esc", true).clicked() {
            out.push(Action::Own(Own::Close));
        }
        ui.label(RichText::new("Your wirings").text_style(theme::headline()));
    });
    soft(ui, format!("They are text files in {}.", bench.own_folder().display()));
    soft(ui, "Change them in any text editor. What you save there shows here about a second later.");
}

fn files(ui: &mut Ui, bench: &dyn Bench, own: &OwnDesk, out: &mut Vec<Action>) {
    section(ui, "Files");
    if bench.own_files().is_empty() {
        card(ui, |ui| {
            soft(ui, "There is none yet. Copy the wiring that comes closest, and change the copy.")
        });
    }
    for file in bench.own_files() {
        let chosen = own.chosen.as_ref() == Some(&file.path);
        if ui.radio(chosen, file.name()).clicked() {
            out.push(Action::Own(Own::Choose(file.path.clone())));
        }
        ui.indent(&file.path, |ui| match &file.wiring {
            Ok(choice) => good(ui, &format!("{}: {}", choice.code, choice.title)),
            Err(wrong) => problem(ui, &mistakes(wrong)),
        });
    }
}

fn copies(ui: &mut Ui, bench: &dyn Bench, own: &OwnDesk, out: &mut Vec<Action>) {
    section(ui, "Copy a wiring");
    if let Some(text) = &own.problem {
        problem(ui, text);
    }
    for choice in bench.wirings().iter().filter(|choice| !choice.own) {
        let label = format!("Copy {}: {}", choice.code, choice.title);
        if ui.add(egui::Button::new(label).wrap()).clicked() {
            out.push(Action::Own(Own::Copy(choice.name.clone())));
        }
    }
}

/// Returns how much is wrong with a file.
pub(super) fn mistakes(wrong: &[Located]) -> String {
    match wrong {
        [one] => format!("1 mistake, in line {}", one.line),
        many => {
            format!(
                "{} mistakes, the first in line {}",
                many.len(),
                many.first().map_or(1, |first| first.line)
            )
        }
    }
}

fn shown(ui: &mut Ui, bench: &dyn Bench, own: &mut OwnDesk, out: &mut Vec<Action>) {
    let chosen = own.chosen.clone();
    let Some(file) = bench.own_files().iter().find(|file| Some(&file.path) == chosen.as_ref()) else {
        return;
    };
    section(ui, &file.name());
    match &file.wiring {
        Ok(choice) => {
            ui.horizontal_top(|ui| {
                let size = vec2((ui.available_width() * 0.6).min(420.0), 250.0);
                gallery::show(ui, bench, &choice.picture, size, out);
                ui.vertical(|ui| {
                    good(ui, "The file is right.");
                    soft(ui, format!("{}.", choice.looks.says()));
                    soft(ui, words::first_sentence(&choice.about));
                    if main_button(ui, "Use this wiring", true).clicked() {
                        out.push(Action::Own(Own::Use(choice.name.clone())));
                    }
                });
            });
        }
        Err(wrong) => {
            if file.text.is_empty() {
                wrong.iter().for_each(|located| {
                    problem(ui, &located.message);
                });
            }
            ui.horizontal_wrapped(|ui| {
                problem(ui, &mistakes(wrong));
                for line in wrong.iter().map(|located| located.line).take(8) {
                    if ui.button(format!("Go to line {line}")).clicked() {
                        out.push(Action::Own(Own::Line(line)));
                    }
                }
            });
        }
    }
    let now = Some((file.path.clone(), file.problems().first().map(|located| located.line)));
    let news = if own.drawn == now { None } else { now.as_ref().and_then(|(_, line)| *line) };
    own.drawn = now;
    let line = own.line.take().or(news);
    let most = ui.available_height().min(ui.ctx().content_rect().height() * 0.8);
    let area = ScrollArea::both().id_salt(&file.path).auto_shrink(false).max_height(most);
    area.show(ui, |ui| text(ui, &file.text, file.problems(), line));
}

/// Shows a file's text with line numbers, and below each line what is wrong with it.
pub(super) fn text(ui: &mut Ui, text: &str, problems: &[Located], go_to: Option<usize>) {
    ui.spacing_mut().item_spacing.y = 1.0;
    ui.spacing_mut().interact_size.y = 18.0;
    let lines: Vec<&str> = text.lines().collect();
    let digits = lines.len().to_string().len();
    for (index, line) in lines.iter().enumerate() {
        let number = index + 1;
        // A text that ends too early is wrong after its last line.
        let here = |located: &&Located| located.line.min(lines.len()) == number;
        let wrong: Vec<&Located> = problems.iter().filter(here).collect();
        let row = one_line(ui, number, digits, line, &wrong);
        if go_to.map(|line| line.min(lines.len())) == Some(number) {
            let start = egui::Rect::from_min_size(row.rect.min, vec2(1.0, row.rect.height()));
            ui.scroll_to_rect(start, Some(egui::Align::Center));
        }
    }
}

fn one_line(ui: &mut Ui, number: usize, digits: usize, line: &str, wrong: &[&Located]) -> egui::Response {
    let tokens = tokens(ui);
    let fill = if wrong.is_empty() { egui::Color32::TRANSPARENT } else { tokens.caution };
    let ink = if wrong.is_empty() { tokens.ink } else { tokens.on_caution };
    let margin = " ".repeat(digits);
    Frame::new()
        .fill(fill)
        .show(ui, |ui| {
            let row = |ui: &mut Ui, number: String, shown: RichText| {
                ui.horizontal(|ui| {
                    let faint = if wrong.is_empty() { tokens.soft } else { ink };
                    ui.label(RichText::new(number).monospace().color(faint));
                    ui.add(Label::new(shown.color(ink)).extend());
                });
            };
            row(ui, format!("{number:>digits$}"), RichText::new(line).monospace());
            for located in wrong {
                row(ui, margin.clone(), RichText::new(format!("• {}", located.message)).strong());
                if let Some(hint) = &located.hint {
                    row(ui, margin.clone(), RichText::new(format!("   {hint}")).italics());
                }
            }
        })
        .response
}
