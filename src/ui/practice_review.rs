//! After a hidden fault was named: the person's way beside the program's, in bits and minutes.

use egui::{Label, RichText, ScrollArea, Ui, vec2};

use super::action::{Action, Desk, Spot};
use super::practice::progress;
use super::practice_desk::{Bout, PracticeAction};
use super::widgets::{card, fact, good, main_button, problem, section, small, soft};
use super::{picture, theme, words};
use crate::draw::{CourseLine, PlotStyle, course};
use crate::practice::{Progress, Review, ReviewStep, Total, Verdict};

/// The width from which both ways stand side by side, in points.
const WIDE: f32 = 820.0;
/// So many that no reading tells apart are named.
const ALIKE: usize = 4;

/// Shows how it ended, and both ways.
pub(super) fn show(ui: &mut Ui, bout: &Bout, so_far: &Progress, desk: &mut Desk, out: &mut Vec<Action>) {
    ScrollArea::vertical().show(ui, |ui| {
        ui.set_max_width(ui.available_width() - 12.0);
        if let Some(verdict) = bout.game.borrow().verdict() {
            ended(ui, verdict);
        }
        if let Some(text) = &desk.problem {
            problem(ui, text);
        }
        let again = main_button(ui, "Next instrument", true);
        if desk.overlay.is_none() && desk.takes_focus(Spot::Home) {
            again.request_focus();
        }
        if again.clicked() {
            out.push(Action::Practice(PracticeAction::Again));
        }
        match &bout.review {
            None => {
                soft(ui, "The program is working the same instrument its own way…");
            }
            Some(Err(text)) => {
                problem(ui, &format!("The program's own way cannot be shown: {text}"));
            }
            Some(Ok(review)) => ways(ui, review),
        }
        progress(ui, so_far);
    });
}

fn ended(ui: &mut Ui, verdict: &Verdict) {
    let words = match (verdict.right, verdict.given_up) {
        (true, _) => "Right.",
        (false, true) => "Given up.",
        (false, false) => "Not right.",
    };
    ui.label(RichText::new(words).text_style(theme::headline()));
    for named in &verdict.named {
        fact(ui, "You named", named);
    }
    for hidden in &verdict.hidden {
        card(ui, |ui| {
            fact(ui, "It was", &hidden.sentence);
            fact(ui, "Repair", &hidden.repair);
            if hidden.named {
                good(ui, "You found this one.");
            }
            if !hidden.alike.is_empty() {
                let some = hidden.alike.iter().take(ALIKE).cloned().collect::<Vec<_>>().join("; ");
                small(ui, format!("No reading tells it from these, or one repair mends them: {some}."));
            }
        });
    }
}

fn ways(ui: &mut Ui, review: &Review) {
    let totals = &review.totals;
    section(ui, "Your way and the program's");
    fact(ui, "You", &total(&totals.mine));
    fact(ui, "Program", &total(&totals.advisor));
    let bound = format!(
        "not below {:.1} readings and {:.1} min on average over single faults of this wiring",
        totals.bound.readings, totals.bound.minutes
    );
    fact(ui, "Fewest possible", &bound);
    if totals.hints > 0 {
        fact(ui, "Hints", &totals.hints.to_string());
    }
    let line = |label: &str, style, steps: &[ReviewStep]| CourseLine {
        label: label.to_owned(),
        style,
        points: review.course(steps),
    };
    let lines = [
        line("you", PlotStyle::Solid, &review.mine),
        line("the program", PlotStyle::Dashed, &review.advisor),
    ];
    let size = vec2(ui.available_width().min(720.0), 260.0);
    let image = course("Bits unknown over hands-on minutes", &lines, size.x, size.y);
    picture::fixed(ui, &image, size);
    if ui.available_width() < WIDE {
        list(ui, "What you did", &review.mine, true);
        list(ui, "What the program did", &review.advisor, false);
    } else {
        ui.columns(2, |columns| {
            list(&mut columns[0], "What you did", &review.mine, true);
            list(&mut columns[1], "What the program did", &review.advisor, false);
        });
    }
}

fn total(total: &Total) -> String {
    format!(
        "{} readings, {:.1} min, {:.1} bits, {:.2} bits a minute",
        total.readings,
        total.minutes,
        total.bits,
        total.per_minute()
    )
}

fn list(ui: &mut Ui, title: &str, steps: &[ReviewStep], mine: bool) {
    section(ui, title);
    if steps.is_empty() {
        soft(ui, "Nothing was measured.");
    }
    for (index, step) in steps.iter().enumerate() {
        ui.add(Label::new(format!("{}. {}: {}", index + 1, step.what, step.found)).wrap());
        small(ui, told(step));
        if let Some(advice) = step.advised.as_ref().filter(|advice| mine && advice.what != step.what) {
            let words = format!(
                "The program would have asked: {} (expected {:.1} bits in {:.1} min, {:.2} bits a minute)",
                advice.what,
                advice.bits,
                advice.minutes,
                advice.per_minute()
            );
            ui.add(Label::new(RichText::new(words).small()).wrap());
        }
        ui.add_space(4.0);
    }
}

/// Says what a step told.
fn told(step: &ReviewStep) -> String {
    let time = format!("{:.1} min", step.minutes);
    if !step.weighed {
        return format!("{time}; it does not move the suspects");
    }
    let nothing = if step.told_nothing() { "; nothing was learnt" } else { "" };
    format!("{time}, {}, {:.1} bits left unknown{nothing}", words::signed_bits(step.bits), step.unknown)
}
