//! What to do now, in large type; cautions first, and nothing else until they are acknowledged.

use egui::{Button, Label, RichText, Stroke, Ui, vec2};

use super::action::{Action, Desk, Overlay, Spot};
use super::theme::{self, tokens};
use super::widgets::{
    self, Probe, card, fact, framed, key_button, main_button, section, small, soft, speaker_mark,
};
use super::{entry, far, finish, keys, scale, telephone, tree_change, verdict, words};
use crate::readings::Access;
use crate::workbench::{
    Ask, BatteryView, CautionView, Command, ControlView, DoubtView, Stage, StepView, View,
};

/// Shows what to do now.
pub fn show(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    notices(ui, view, desk, out);
    if let Some(doubt) = &view.doubt {
        self::doubt(ui, doubt, out);
    }
    if let Some(caution) = view.cautions.first() {
        let seen = Action::Do(Command::SeeCaution { key: caution.key.clone() });
        return self::caution(ui, caution, view.cautions.len(), desk, seen, out);
    }
    match view.stage {
        Stage::Finding => finding(ui, view, desk, out),
        Stage::Repairing => finish::repair(ui, view, desk, out),
        Stage::Proving => finish::proof(ui, view, desk, out),
        Stage::Closed => finish::closed(ui, view, desk, out),
    }
}

fn notices(ui: &mut Ui, view: &View, desk: &Desk, out: &mut Vec<Action>) {
    for text in view.notices.iter().chain(&desk.notices) {
        framed(ui, tokens(ui).tint, Stroke::new(1.0, tokens(ui).edge), |ui| {
            ui.add(Label::new(text).wrap());
        });
    }
    if !desk.notices.is_empty() && ui.button("Put the notice away").clicked() {
        out.push(Action::Dismiss);
    }
}

/// Shows what is doubted, with a button for what is to be done about it.
fn doubt(ui: &mut Ui, doubt: &DoubtView, out: &mut Vec<Action>) {
    framed(ui, tokens(ui).tint, Stroke::new(1.0, tokens(ui).edge), |ui| {
        ui.add(Label::new(&doubt.sentence).wrap());
        if let Some(id) = doubt.again
            && ui.button("Take it again").clicked()
        {
            out.push(Action::Do(Command::TakeAgain { id }));
        }
        if let Some(id) = doubt.withdraw
            && ui.button("Withdraw it").clicked()
        {
            out.push(Action::Show(Overlay::Withdraw(id)));
        }
    });
}

/// Shows a caution and the button that says it has been read; `count` cautions are left with it.
pub(super) fn caution(
    ui: &mut Ui,
    caution: &CautionView,
    count: usize,
    desk: &mut Desk,
    seen: Action,
    out: &mut Vec<Action>,
) {
    let tokens = tokens(ui);
    framed(ui, tokens.caution, Stroke::new(2.5, tokens.on_caution), |ui| {
        ui.visuals_mut().override_text_color = Some(tokens.on_caution);
        let title =
            if count > 1 { format!("Read this first (1 of {count})") } else { "Read this first".to_owned() };
        ui.label(RichText::new(title).text_style(theme::headline()));
        ui.add(Label::new(RichText::new(&caution.text).text_style(theme::lead())).wrap());
        ui.add_space(4.0);
        ui.add(Label::new("The next step is shown when this is acknowledged.").wrap());
    });
    ui.add_space(6.0);
    let button = main_button(ui, "I have read this", true);
    if desk.overlay.is_none() && desk.takes_focus(Spot::Home) {
        button.request_focus();
    }
    if button.clicked() {
        out.push(seen);
    }
}

fn finding(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    if let Some(found) = &view.verdict {
        verdict::show(ui, view, found, desk, out);
    }
    match &view.step {
        Some(step) => {
            if view.verdict.is_some() {
                section(ui, "Or go on");
            }
            show_step(ui, view, step, desk, out);
            tree_change::offer(ui, desk, out);
        }
        None if view.verdict.is_none() => {
            soft(ui, "There is no reading left that would help. Name the fault from the list of suspects.");
            if key_button(ui, "Name the fault…", "F7", true).clicked() {
                out.push(keys::name(view));
            }
        }
        None => {}
    }
    alternatives(ui, view, out);
}

fn show_step(ui: &mut Ui, view: &View, step: &StepView, desk: &mut Desk, out: &mut Vec<Action>) {
    if view.access == Access::Telephone {
        telephone::show(ui, step, desk, out);
        return predicted(ui, step, desk, false);
    }
    ui.horizontal_wrapped(|ui| {
        speaker_mark(ui, step.speaker);
        soft(ui, words::speaker(step));
        if view.verdict.is_none() {
            far::button(ui, "Far view", out);
        }
    });
    let headline = RichText::new(&step.headline).text_style(theme::headline_for(&step.headline));
    let headline = Label::new(headline).wrap();
    if let Ask::Question { answers } = &step.ask {
        widgets::waiting(ui, headline, desk);
        ui.add_space(2.0);
        show_answers(ui, answers, out);
    } else {
        ui.add(headline);
        ui.add_space(2.0);
    }
    instructions(ui, step);
    warned(ui, step);
    expectation(ui, step);
    predicted(ui, step, desk, !entry::has_ruler(ui, desk));
    outcomes(ui, step);
}

/// Shows the tree's own caution for this step once more, for it was read before.
fn warned(ui: &mut Ui, step: &StepView) {
    if step.caution.is_empty() {
        return;
    }
    let tokens = tokens(ui);
    framed(ui, tokens.caution, Stroke::new(1.5, tokens.on_caution), |ui| {
        let text = RichText::new(format!("Caution: {}", step.caution)).color(tokens.on_caution);
        ui.add(Label::new(text).wrap());
    });
}

/// Shows the answers of a question, each a button with its number.
pub(super) fn show_answers(ui: &mut Ui, answers: &[String], out: &mut Vec<Action>) {
    for (index, answer) in answers.iter().enumerate() {
        let text = RichText::new(answer).text_style(theme::lead());
        let number = RichText::new(format!("{}", index + 1)).color(tokens(ui).soft);
        let button =
            Button::new(text).shortcut_text(number).wrap().min_size(vec2(ui.available_width(), 38.0));
        let response = ui.add(button).accessible_name(answer.as_str());
        if response.clicked() {
            out.push(Action::Do(Command::Answer { answer: index }));
        }
    }
    if key_button(ui, "Cannot do that…", "F5", true).clicked() {
        out.push(Action::Show(Overlay::Cannot));
    }
}

/// Shows what the step is done with, in the order in which hands need it.
fn instructions(ui: &mut Ui, step: &StepView) {
    card(ui, |ui| {
        fact(ui, "Where", &step.place);
        for place in &step.open_first {
            fact(ui, "Open first", place);
        }
        if !step.red.is_empty() {
            probes(ui, step);
        }
        if !step.dial.is_empty() {
            fact(ui, "Dial", &step.dial);
        }
        battery(ui, step.battery.filter(|battery| battery.moved));
        controls(ui, &step.controls);
        battery(ui, step.battery.filter(|battery| !battery.moved));
        if !step.healthy.is_empty() {
            fact(ui, "Healthy", &step.healthy);
        }
    });
    if !step.flex.is_empty() {
        emphasised(ui, &format!("Meanwhile: {}", step.flex));
        small(ui, "Watch for the lowest and the highest number");
    }
}

fn probes(ui: &mut Ui, step: &StepView) {
    let short = |text: &str| text.chars().count() <= 24;
    if short(&step.red) && short(&step.black) && ui.available_width() > 340.0 {
        ui.columns(2, |columns| {
            widgets::probe(&mut columns[0], Probe::Red, &step.red);
            widgets::probe(&mut columns[1], Probe::Black, &step.black);
        });
    } else {
        widgets::probe(ui, Probe::Red, &step.red);
        widgets::probe(ui, Probe::Black, &step.black);
    }
}

/// Shows what must not be overlooked: in a thick frame, with a pointer before it.
fn emphasised(ui: &mut Ui, text: &str) {
    framed(ui, tokens(ui).tint, Stroke::new(2.5, tokens(ui).accent), |ui| {
        ui.horizontal_top(|ui| {
            widgets::pointer(ui);
            ui.add(Label::new(RichText::new(text).text_style(theme::lead())).wrap());
        });
    });
}

/// Shows where every control is to stand, those that must be moved first.
pub(super) fn controls(ui: &mut Ui, controls: &[ControlView]) {
    for control in controls.iter().filter(|control| control.moved) {
        emphasised(ui, &format!("Move {} to {}", control.name, control.stand));
    }
    let stay = controls.iter().filter(|control| !control.moved);
    let list: Vec<_> = stay.map(|c| format!("{} {}", c.name, c.stand)).collect();
    if !list.is_empty() {
        fact(ui, "Leave at", &list.join(", "));
    }
}

/// Shows where the battery is to be: in a frame when it is elsewhere.
pub(super) fn battery(ui: &mut Ui, battery: Option<BatteryView>) {
    match battery {
        Some(battery) if battery.moved => emphasised(ui, battery.says()),
        Some(battery) => fact(ui, "Battery", battery.says()),
        None => {}
    }
}

fn expectation(ui: &mut Ui, step: &StepView) {
    card(ui, |ui| {
        if !step.why.is_empty() {
            fact(ui, "Why", &step.why);
        }
        small(ui, format!("about {} · worth {:.1} bits", words::seconds(step.seconds), step.bits));
    });
}

fn alternatives(ui: &mut Ui, view: &View, out: &mut Vec<Action>) {
    if view.alternatives.is_empty() {
        return;
    }
    ui.add_space(4.0);
    section(ui, "Or do this instead");
    for (index, step) in view.alternatives.iter().enumerate() {
        let key = RichText::new(keys::alternative(index)).small().color(tokens(ui).soft);
        let button = Button::new(step.headline.as_str()).shortcut_text(key).wrap();
        let response = ui.add(button.min_size(vec2(ui.available_width(), 0.0)));
        let told = format!("{} · about {} · {:.1} bits", step.place, words::seconds(step.seconds), step.bits);
        small(ui, told);
        if response.accessible_name(step.headline.as_str()).clicked() {
            out.push(Action::Do(Command::Choose { alternative: index }));
        }
    }
}

/// Shows what each leading suspect would read, on an ohm ruler too if that is wanted.
fn predicted(ui: &mut Ui, step: &StepView, desk: &Desk, with_ruler: bool) {
    if step.predictions.is_empty() {
        return;
    }
    section(ui, "What the suspects would read here");
    if let Ask::Measure(asked) = &step.ask
        && scale::fits(asked.mode)
        && with_ruler
    {
        scale::show(ui, step.healthy_band.as_ref(), &step.predictions, desk.shown.as_ref(), 18.0);
    }
    scale::legend(ui, &step.predictions);
}

/// Shows what each outcome would mean in the words of the tree.
fn outcomes(ui: &mut Ui, step: &StepView) {
    if step.outcomes.is_empty() {
        return;
    }
    section(ui, "What each outcome would mean");
    for (when, means) in &step.outcomes {
        ui.add(Label::new(format!("{when}: {}", words::sentence(means))).wrap());
    }
}
