//! Every screen can be used without eyes, without a mouse, in large letters and in a small window.

use std::collections::BTreeMap;

use egui::accessibility::is_input;
use egui::{Key, Rect, Theme};
use egui_kittest::Node;
use egui_kittest::kittest::{NodeT, Queryable};
use lugwise::readings::Access;
use lugwise::ui::{
    Action, DARK, LIGHT, Overlay, Own, PaperAction, PaperPage, PastAction, PastPage, PracticeAction, Switch,
    Tokens, TreesAction, contrast,
};
use lugwise::workbench::{Stage, View};
use rstest::rstest;

use crate::fake::{Fake, Log};
use crate::own::settle;
use crate::{Window, sized, views};

/// A screen: what is open, and what is asked for to come to it.
struct Screen {
    name: &'static str,
    view: Option<View>,
    ask: Option<Action>,
}

fn job(name: &'static str, view: View) -> Screen {
    Screen { name, view: Some(view), ask: None }
}

fn over(name: &'static str, view: View, overlay: Overlay) -> Screen {
    Screen { name, view: Some(view), ask: Some(Action::Show(overlay)) }
}

/// A job looked at in a way of its own.
fn looked(name: &'static str, ask: Action) -> Screen {
    Screen { name, view: Some(views::finding()), ask: Some(ask) }
}

fn before(name: &'static str, ask: Option<Action>) -> Screen {
    Screen { name, view: None, ask }
}

fn proving() -> View {
    View { stage: Stage::Proving, ..views::finding() }
}

/// Every screen of the window but those with a tree's diagram, which is moved about and not scrolled.
fn screens() -> Vec<Screen> {
    let reading = &views::finding().readings[0];
    let correct = Overlay::Correct { id: reading.id, flexed: false, mode: reading.measurement.mode };
    vec![
        before("start", None),
        before("own wirings", Some(Action::Own(Own::Open))),
        before("past jobs, the archive", Some(Action::Past(PastAction::Page(PastPage::Files)))),
        looked("estimate", Action::Paper(PaperAction::Open)),
        looked("consent", Action::Paper(PaperAction::Page(PaperPage::Consent))),
        looked("photos", Action::Paper(PaperAction::Page(PaperPage::Photos))),
        looked("comeback", Action::Paper(PaperAction::Page(PaperPage::Comeback))),
        looked("shop", Action::Paper(PaperAction::Page(PaperPage::Shop))),
        looked("ticket", Action::Paper(PaperAction::Page(PaperPage::Ticket))),
        before("practice", Some(Action::Practice(PracticeAction::Open))),
        job("finding", views::finding()),
        job("caution", views::cautious()),
        job("doubted", views::doubted()),
        job("question", View { step: Some(views::question()), ..views::finding() }),
        job("telephone", View { access: Access::Telephone, ..views::finding() }),
        looked("far", Action::Far),
        looked("hands-free", Action::Hands(Switch::HandsFree)),
        looked("looked back", Action::LookBack(reading.id)),
        job("decided", views::decided()),
        job("repairing", View { stage: Stage::Repairing, ..views::finding() }),
        job("proving", proving()),
        job("closed", views::closed()),
        over("help", views::finding(), Overlay::Help),
        over("cannot", views::finding(), Overlay::Cannot),
        over("correct", views::finding(), correct),
        over("withdraw", views::finding(), Overlay::Withdraw(reading.id)),
        over("know", views::finding(), Overlay::Know),
        over("name", views::finding(), Overlay::Name),
        over("large", views::finding(), Overlay::Large),
        over("search on", proving(), Overlay::SearchOn),
        over("unproven", proving(), Overlay::Unproven),
    ]
}

fn opened(screen: &Screen, size: [f32; 2], theme: Theme, zoom: f32) -> Window {
    let log = Log::default();
    let bench = match &screen.view {
        Some(view) => Fake::with(view.clone(), &log),
        None => Fake::empty(&log),
    };
    let mut window = sized(bench, size, theme);
    window.ctx.set_zoom_factor(zoom);
    settle(&mut window);
    if let Some(action) = &screen.ask {
        window.state_mut().ask(action.clone());
        settle(&mut window);
    }
    window
}

/// The check of a fresh wiring, after its cautions.
fn auditing(size: [f32; 2], theme: Theme) -> Window {
    let mut window = opened(&before("audit", None), size, theme, 1.0);
    crate::audit::begin(&mut window);
    window
}

fn trees(size: [f32; 2], theme: Theme) -> Window {
    opened(&before("trees", Some(Action::Trees(TreesAction::Open))), size, theme, 1.0)
}

/// Everything on the screen that can be used.
fn inputs<'a>(window: &'a Window) -> Vec<Node<'a>> {
    let usable = |node: &Node<'a>| {
        let node = node.accesskit_node();
        is_input(node.role()) && !node.is_hidden() && !node.data().is_read_only()
    };
    window.root().children_recursive().filter(usable).collect()
}

fn name(node: &Node<'_>) -> String {
    let node = node.accesskit_node();
    format!("{:?} {}", node.role(), node.label().unwrap_or_default())
}

#[track_caller]
fn is_named(window: &Window, what: &str) {
    assert!(window.unnamed_widgets().is_empty(), "{what}: {:?}", window.unnamed_widgets());
    let all = inputs(window);
    assert!(!all.is_empty(), "{what} has nothing that can be used");
    let mut names: BTreeMap<String, usize> = BTreeMap::new();
    for node in &all {
        *names.entry(name(node)).or_default() += 1;
    }
    let twice: Vec<_> = names.iter().filter(|(_, count)| **count > 1).collect();
    assert!(twice.is_empty(), "{what}: called the same: {twice:?}");
}

#[test]
fn everything_has_a_name_of_its_own() {
    for screen in screens() {
        is_named(&opened(&screen, [1280.0, 800.0], Theme::Light, 1.0), screen.name);
    }
    is_named(&auditing([1280.0, 800.0], Theme::Light), "audit");
    is_named(&trees([1280.0, 800.0], Theme::Light), "trees");
}

/// Goes round the screen once with the tabulator and returns the names of what had the keyboard.
fn round(window: &mut Window, most: usize) -> Vec<String> {
    let mut all = Vec::new();
    for _ in 0..most {
        window.key_press(Key::Tab);
        settle(window);
        let Some(name) = inputs(window).iter().find(|node| node.is_focused()).map(name) else { continue };
        if all.first() == Some(&name) {
            return all;
        }
        all.push(name);
    }
    all
}

#[track_caller]
fn nothing_is_skipped(window: &mut Window, what: &str) {
    let enabled = |node: &&Node<'_>| !node.accesskit_node().is_disabled();
    let expected: Vec<String> = inputs(window).iter().filter(enabled).map(name).collect();
    let visited = round(window, 3 * expected.len() + 10);
    let skipped: Vec<_> = expected.iter().filter(|name| !visited.contains(name)).collect();
    assert!(skipped.is_empty(), "{what}: the tabulator skips {skipped:?}; it visits {visited:?}");
}

#[test]
fn the_tabulator_reaches_everything() {
    for screen in screens().iter().filter(|screen| !matches!(screen.ask, Some(Action::Show(_)))) {
        let mut window = opened(screen, [1280.0, 800.0], Theme::Light, 1.0);
        nothing_is_skipped(&mut window, screen.name);
    }
    nothing_is_skipped(&mut auditing([1280.0, 800.0], Theme::Light), "audit");
}

/// The keyboard stays in what lies over the screen.
#[test]
fn the_tabulator_stays_in_an_overlay() {
    for screen in screens().iter().filter(|screen| matches!(screen.ask, Some(Action::Show(_)))) {
        let mut window = opened(screen, [1280.0, 800.0], Theme::Light, 1.0);
        let visited = round(&mut window, 40);
        let under = ["Button Undo", "Button Leave", "Button Save the ticket…"];
        assert!(!visited.is_empty(), "{}", screen.name);
        assert!(!visited.iter().any(|name| under.contains(&name.as_str())), "{}: {visited:?}", screen.name);
    }
}

/// Brings everything that can be used into view and looks whether it is then whole within the window.
#[track_caller]
fn nothing_is_cut_off(window: &mut Window, what: &str) {
    let screen = window.ctx.content_rect().expand(1.0);
    let names: Vec<String> = inputs(window).iter().map(name).collect();
    for wanted in names {
        let rect = |window: &Window| -> Option<Rect> {
            inputs(window).iter().find(|node| name(node) == wanted).map(Node::rect)
        };
        let Some(first) = rect(window) else { continue };
        if screen.contains_rect(first) {
            continue;
        }
        if let Some(node) = inputs(window).iter().find(|node| name(node) == wanted) {
            node.scroll_to_me();
        }
        window.run_steps(40);
        let now = rect(window).unwrap_or(Rect::NOTHING);
        let seen = screen.contains_rect(now) || (now.height() > screen.height() && screen.intersects(now));
        assert!(seen, "{what}: {wanted} at {now:?}, first at {first:?}, in a window of {screen:?}");
    }
}

#[rstest]
fn everything_can_be_brought_into_view(
    #[values([1024.0, 700.0], [1280.0, 800.0], [3840.0, 2160.0])] size: [f32; 2],
    #[values(1.0, 2.0)] zoom: f32,
    #[values(Theme::Light, Theme::Dark)] theme: Theme,
) {
    for screen in screens() {
        let mut window = opened(&screen, size, theme, zoom);
        nothing_is_cut_off(&mut window, &format!("{} at {zoom}", screen.name));
    }
}

#[test]
fn the_keyboard_shifts_nothing_on_the_start_form() {
    let mut window = opened(&before("start", None), [1280.0, 800.0], Theme::Light, 1.0);
    let below = |window: &Window| window.get_by_label("What was done to it last").rect();
    let unmoved = below(&window);
    for field in ["Complaint, in the customer's words", "Instrument"] {
        window.get_by_label(field).focus();
        settle(&mut window);
        assert_eq!(below(&window), unmoved, "{field} has the keyboard");
    }
}

/// Web Content Accessibility Guidelines 2.2, 1.4.3 (text, 4.5 to 1) and 1.4.11 (what can be pressed and the mark of
/// the keyboard, 3 to 1).
#[rstest]
#[case::light(&LIGHT)]
#[case::dark(&DARK)]
fn every_pair_of_colours_can_be_told_apart(#[case] tokens: &Tokens) {
    let texts = tokens.text_pairs();
    assert!(texts.len() >= 24, "{}", texts.len());
    for (what, text, ground) in texts {
        assert!(contrast(text, ground) >= 4.5, "{what}: {:.2}", contrast(text, ground));
    }
    let marks = [("edge", tokens.edge), ("accent", tokens.accent), ("bar", tokens.bar)];
    for (what, mark) in marks {
        for ground in [tokens.paper, tokens.card, tokens.well] {
            assert!(contrast(mark, ground) >= 3.0, "{what}: {:.2}", contrast(mark, ground));
        }
    }
    for ground in [tokens.tint, tokens.paper, tokens.card] {
        assert!(contrast(tokens.accent, ground) >= 3.0, "the mark of what is chosen");
    }
}
