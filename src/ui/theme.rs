//! Every colour and size of the window, as tokens: a warm paper theme and a dark one.

use egui::epaint::CornerRadius;
use egui::style::{Selection, WidgetVisuals};
use egui::{
    Color32, Context, FontFamily, FontId, Margin, Shadow, Stroke, Style, TextStyle, Theme, ThemePreference,
    Ui, Visuals,
};

const fn rgb(hex: u32) -> Color32 {
    let [_, r, g, b] = hex.to_be_bytes();
    Color32::from_rgb(r, g, b)
}

/// The colours of one theme, named by what they are for.
#[derive(Clone, Copy, Debug)]
pub struct Tokens {
    /// Background of the window.
    pub paper: Color32,
    /// Background of a card on the paper.
    pub card: Color32,
    /// Background of a field that takes text, and of tracks.
    pub well: Color32,
    /// Outlines and separators.
    pub line: Color32,
    /// Outlines of things that can be pressed.
    pub edge: Color32,
    /// Text.
    pub ink: Color32,
    /// Text of less weight.
    pub soft: Color32,
    /// Main buttons, focus rings, marks of what must be moved.
    pub accent: Color32,
    /// Text on the accent.
    pub on_accent: Color32,
    /// Background of what is chosen or hovered.
    pub tint: Color32,
    /// Background of a caution.
    pub caution: Color32,
    /// Text of a caution.
    pub on_caution: Color32,
    /// Text that says something is in order.
    pub good: Color32,
    /// Text that says something is wrong.
    pub bad: Color32,
    /// The red probe.
    pub red_probe: Color32,
    /// The black probe.
    pub black_probe: Color32,
    /// Text and outline on either probe.
    pub on_probe: Color32,
    /// Bars of probability and bands of the ruler.
    pub bar: Color32,
}

/// Warm paper with dark ink.
pub const LIGHT: Tokens = Tokens {
    paper: rgb(0x00F4_EEE2),
    card: rgb(0x00FD_FAF3),
    well: rgb(0x00FF_FFFF),
    line: rgb(0x00DC_D2C0),
    edge: rgb(0x0094_8770),
    ink: rgb(0x0027_221C),
    soft: rgb(0x005E_5547),
    accent: rgb(0x001F_5A63),
    on_accent: rgb(0x00FF_FFFF),
    tint: rgb(0x00E1_EAE6),
    caution: rgb(0x00F8_E2AE),
    on_caution: rgb(0x004A_3300),
    good: rgb(0x002C_6433),
    bad: rgb(0x009A_2A1C),
    red_probe: rgb(0x00B3_261E),
    black_probe: rgb(0x0023_1F1A),
    on_probe: rgb(0x00FF_FFFF),
    bar: rgb(0x005B_8C8F),
};

/// Dark brown-grey with warm light ink.
pub const DARK: Tokens = Tokens {
    paper: rgb(0x001D_1B18),
    card: rgb(0x0028_2521),
    well: rgb(0x0015_1311),
    line: rgb(0x0047_4138),
    edge: rgb(0x0086_7B69),
    ink: rgb(0x00F1_E9DB),
    soft: rgb(0x00BD_B2A0),
    accent: rgb(0x0085_C9C4),
    on_accent: rgb(0x0010_201F),
    tint: rgb(0x0030_3E3D),
    caution: rgb(0x0051_3F12),
    on_caution: rgb(0x00FB_E7B4),
    good: rgb(0x00A5_D59A),
    bad: rgb(0x00F5_A392),
    red_probe: rgb(0x00C9_3D33),
    black_probe: rgb(0x000B_0A09),
    on_probe: rgb(0x00FF_FFFF),
    bar: rgb(0x004F_8F8E),
};

impl Tokens {
    /// Returns the tokens of a theme.
    pub const fn of(theme: Theme) -> &'static Self {
        match theme {
            Theme::Light => &LIGHT,
            Theme::Dark => &DARK,
        }
    }

    /// Returns every pair of text and the background it is put on, with a name for each pair.
    pub fn text_pairs(&self) -> Vec<(&'static str, Color32, Color32)> {
        let mut pairs = vec![
            ("text on the accent", self.on_accent, self.accent),
            ("caution", self.on_caution, self.caution),
            ("red probe", self.on_probe, self.red_probe),
            ("black probe", self.on_probe, self.black_probe),
        ];
        for ground in [self.paper, self.card, self.well, self.tint] {
            pairs.extend([
                ("text", self.ink, ground),
                ("soft text", self.soft, ground),
                ("accent as text", self.accent, ground),
                ("good", self.good, ground),
                ("bad", self.bad, ground),
            ]);
        }
        pairs
    }
}

/// Returns the tokens of the theme this part of the window is drawn in.
pub fn tokens(ui: &Ui) -> &'static Tokens {
    if ui.visuals().dark_mode { &DARK } else { &LIGHT }
}

/// Returns the contrast of two opaque colours, 1 to 21, as the web accessibility guidelines define it.
pub fn contrast(a: Color32, b: Color32) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

fn luminance(colour: Color32) -> f64 {
    let linear = |byte: u8| {
        let share = f64::from(byte) / 255.0;
        if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * linear(colour.r()) + 0.7152 * linear(colour.g()) + 0.0722 * linear(colour.b())
}

/// The large text of a step.
pub fn headline() -> TextStyle {
    TextStyle::Name("headline".into())
}

/// The large text of a step whose words would fill the screen: what comes below must still be seen.
fn long_headline() -> TextStyle {
    TextStyle::Name("long headline".into())
}

/// A headline of more characters than this is shown in smaller letters.
const LONG: usize = 90;

/// Returns the style of a headline with these words.
pub fn headline_for(text: &str) -> TextStyle {
    if text.chars().count() > LONG { long_headline() } else { headline() }
}

/// The line that a reading is typed into.
pub fn entry() -> TextStyle {
    TextStyle::Name("entry".into())
}

/// Text between body and headline: what the probes are put on.
pub fn lead() -> TextStyle {
    TextStyle::Name("lead".into())
}

/// Returns the theme choice that follows another when the switch is pressed.
pub fn next_theme(now: ThemePreference) -> ThemePreference {
    match now {
        ThemePreference::System => ThemePreference::Light,
        ThemePreference::Light => ThemePreference::Dark,
        ThemePreference::Dark => ThemePreference::System,
    }
}

/// Puts both themes into the window.
pub fn install(ctx: &Context) {
    for theme in [Theme::Light, Theme::Dark] {
        ctx.style_mut_of(theme, |style| dress(style, theme));
    }
}

/// The least height of what is pressed, in points, unless larger targets are wished for.
const TARGET: f32 = 30.0;

/// Makes everything that is pressed at least this high, or as high as usual.
pub fn targets(ctx: &Context, height: Option<f32>) {
    for theme in [Theme::Light, Theme::Dark] {
        ctx.style_mut_of(theme, |style| style.spacing.interact_size.y = height.unwrap_or(TARGET));
    }
}

fn dress(style: &mut Style, theme: Theme) {
    style.text_styles = [
        (TextStyle::Small, FontId::new(13.0, FontFamily::Proportional)),
        (TextStyle::Body, FontId::new(15.0, FontFamily::Proportional)),
        (TextStyle::Button, FontId::new(15.0, FontFamily::Proportional)),
        (TextStyle::Monospace, FontId::new(14.0, FontFamily::Monospace)),
        (TextStyle::Heading, FontId::new(19.0, FontFamily::Proportional)),
        (lead(), FontId::new(17.0, FontFamily::Proportional)),
        (headline(), FontId::new(28.0, FontFamily::Proportional)),
        (long_headline(), FontId::new(21.0, FontFamily::Proportional)),
        (entry(), FontId::new(24.0, FontFamily::Proportional)),
    ]
    .into();
    let spacing = &mut style.spacing;
    spacing.item_spacing = egui::vec2(8.0, 6.0);
    spacing.button_padding = egui::vec2(10.0, 5.0);
    spacing.interact_size = egui::vec2(36.0, TARGET);
    spacing.window_margin = Margin::same(18);
    spacing.scroll = egui::style::ScrollStyle::solid();
    spacing.scroll.bar_width = 8.0;
    style.visuals = visuals(Tokens::of(theme), theme);
}

fn visuals(tokens: &Tokens, theme: Theme) -> Visuals {
    let mut visuals = match theme {
        Theme::Light => Visuals::light(),
        Theme::Dark => Visuals::dark(),
    };
    visuals.weak_text_color = Some(tokens.soft);
    visuals.hyperlink_color = tokens.accent;
    visuals.faint_bg_color = tokens.card;
    visuals.extreme_bg_color = tokens.well;
    visuals.text_edit_bg_color = Some(tokens.well);
    visuals.code_bg_color = tokens.well;
    visuals.warn_fg_color = tokens.on_caution;
    visuals.error_fg_color = tokens.bad;
    visuals.panel_fill = tokens.paper;
    visuals.window_fill = tokens.card;
    visuals.window_stroke = Stroke::new(1.0, tokens.edge);
    visuals.window_corner_radius = CornerRadius::same(10);
    visuals.popup_shadow = Shadow::NONE;
    visuals.disabled_alpha = 0.75;
    visuals.selection = Selection { bg_fill: tokens.tint, stroke: Stroke::new(2.0, tokens.accent) };
    dress_widgets(&mut visuals, tokens);
    visuals
}

fn dress_widgets(visuals: &mut Visuals, tokens: &Tokens) {
    let state = |fill: Color32, edge: Stroke, text: Color32| WidgetVisuals {
        bg_fill: fill,
        weak_bg_fill: fill,
        bg_stroke: edge,
        corner_radius: CornerRadius::same(6),
        fg_stroke: Stroke::new(1.5, text),
        expansion: 0.0,
    };
    let widgets = &mut visuals.widgets;
    // Whole widths, for margins are whole too: other ones would move what stands below when the keyboard comes.
    widgets.noninteractive = state(tokens.card, Stroke::new(1.0, tokens.line), tokens.ink);
    widgets.inactive = state(tokens.card, Stroke::new(1.0, tokens.edge), tokens.ink);
    widgets.hovered = state(tokens.tint, Stroke::new(1.0, tokens.edge), tokens.ink);
    widgets.active = state(tokens.tint, Stroke::new(2.0, tokens.accent), tokens.ink);
    widgets.open = state(tokens.tint, Stroke::new(1.0, tokens.edge), tokens.ink);
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    /// Web Content Accessibility Guidelines 2.2, success criterion 1.4.3: at least 4.5 to 1 for text.
    #[test]
    fn a_long_headline_is_smaller_and_still_larger_than_text() {
        let mut style = Style::default();
        dress(&mut style, Theme::Light);
        let size = |words: usize| style.text_styles[&headline_for(&"word ".repeat(words))].size;
        assert!(size(18) > size(19) && size(19) > style.text_styles[&lead()].size);
    }

    #[rstest]
    #[case::light(&LIGHT)]
    #[case::dark(&DARK)]
    fn every_text_can_be_read(#[case] tokens: &Tokens) {
        for (name, text, ground) in tokens.text_pairs() {
            let found = contrast(text, ground);
            assert!(found >= 4.5, "{name}: {found:.2} for {text:?} on {ground:?}");
        }
    }

    #[rstest]
    #[case::light(&LIGHT, Theme::Light)]
    #[case::dark(&DARK, Theme::Dark)]
    fn the_keyboard_is_told_from_the_pointer_and_moves_nothing(
        #[case] tokens: &Tokens,
        #[case] theme: Theme,
    ) {
        let visuals = visuals(tokens, theme);
        let widgets = &visuals.widgets;
        assert!(visuals.selection.stroke.width > widgets.hovered.bg_stroke.width);
        assert_ne!(visuals.selection.stroke.color, widgets.hovered.bg_stroke.color);
        let edges = [widgets.inactive.bg_stroke, widgets.hovered.bg_stroke, widgets.active.bg_stroke];
        for edge in edges.into_iter().chain([visuals.selection.stroke]) {
            assert_eq!(edge.width.fract(), 0.0, "margins are whole points");
        }
    }

    /// The same guidelines, criterion 1.4.11: at least 3 to 1 for the outline of a control and for graphics.
    #[rstest]
    #[case::light(&LIGHT)]
    #[case::dark(&DARK)]
    fn every_outline_can_be_seen(#[case] tokens: &Tokens) {
        for ground in [tokens.paper, tokens.card] {
            for (name, colour) in [("edge", tokens.edge), ("bar", tokens.bar), ("accent", tokens.accent)] {
                let found = contrast(colour, ground);
                assert!(found >= 3.0, "{name}: {found:.2} for {colour:?} on {ground:?}");
            }
        }
    }

    /// The guidelines' own end points: black on white is 21 to 1, a colour on itself 1 to 1.
    #[test]
    fn contrast_has_its_published_end_points() {
        assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
        assert!((contrast(LIGHT.accent, LIGHT.accent) - 1.0).abs() < 1e-9);
    }
}
