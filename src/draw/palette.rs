//! The one place where inks become colours.

use super::Ink;

/// A colour: red, green and blue, 0 to 255 each.
pub type Rgb = [u8; 3];

/// A set of colours for all inks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Palette {
    /// Dark lines on light paper.
    Light,
    /// Light lines on dark paper.
    Dark,
}

impl Palette {
    /// Returns the colour of an ink.
    pub fn rgb(self, ink: Ink) -> Rgb {
        match self {
            Self::Light => light(ink),
            Self::Dark => dark(ink),
        }
    }
}

fn light(ink: Ink) -> Rgb {
    match ink {
        Ink::Paper => [252, 252, 250],
        Ink::Wire => [90, 90, 96],
        Ink::HotWire => [176, 84, 0],
        Ink::GroundWire => [38, 82, 56],
        Ink::Braid => [205, 209, 214],
        Ink::Weave => [120, 126, 134],
        Ink::Part => [58, 62, 70],
        Ink::PartFill => [236, 238, 241],
        Ink::StripFill => [246, 239, 222],
        Ink::Hatch => [176, 180, 188],
        Ink::Lug => [122, 112, 84],
        Ink::Label => [24, 26, 30],
        Ink::RedProbe => [190, 22, 34],
        Ink::BlackProbe => [10, 10, 12],
        Ink::ProbeLabel => [255, 255, 255],
        Ink::Suspect => [112, 32, 160],
        Ink::Dimmed => [178, 180, 184],
        Ink::DimmedFill => [244, 244, 243],
        Ink::DimmedLabel => [104, 106, 110],
        Ink::Band => [150, 178, 214],
        Ink::Needle => [150, 20, 40],
    }
}

fn dark(ink: Ink) -> Rgb {
    match ink {
        Ink::Paper => [24, 26, 30],
        Ink::Wire => [170, 172, 178],
        Ink::HotWire => [246, 166, 74],
        Ink::GroundWire => [128, 206, 156],
        Ink::Braid => [78, 84, 92],
        Ink::Weave => [150, 156, 166],
        Ink::Part => [192, 196, 204],
        Ink::PartFill => [44, 48, 56],
        Ink::StripFill => [56, 52, 42],
        Ink::Hatch => [88, 94, 104],
        Ink::Lug => [206, 190, 140],
        Ink::Label => [240, 241, 244],
        Ink::RedProbe => [214, 40, 52],
        Ink::BlackProbe => [0, 0, 0],
        Ink::ProbeLabel => [255, 255, 255],
        Ink::Suspect => [222, 160, 255],
        Ink::Dimmed => [82, 86, 94],
        Ink::DimmedFill => [30, 32, 37],
        Ink::DimmedLabel => [150, 153, 160],
        Ink::Band => [58, 92, 140],
        Ink::Needle => [255, 128, 140],
    }
}

/// Returns the contrast ratio of two colours, 1 to 21, by the formula of WCAG 2.1.
pub fn contrast(a: Rgb, b: Rgb) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

fn luminance(rgb: Rgb) -> f64 {
    let linear = |byte: u8| {
        let share = f64::from(byte) / 255.0;
        if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    };
    let [r, g, b] = rgb.map(linear);
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    /// Source: WCAG 2.1, definition of contrast ratio: black on white is 21:1.
    #[test]
    fn black_on_white_is_twenty_one_to_one() {
        assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
    }

    /// Source: WCAG 2.1, success criterion 1.4.3 (text, 4.5:1).
    #[rstest]
    fn text_can_be_read(
        #[values(Palette::Light, Palette::Dark)] palette: Palette,
        #[values(
            (Ink::Label, Ink::Paper),
            (Ink::Label, Ink::PartFill),
            (Ink::Label, Ink::StripFill),
            (Ink::Label, Ink::Band),
            (Ink::DimmedLabel, Ink::Paper),
            (Ink::DimmedLabel, Ink::DimmedFill),
            (Ink::ProbeLabel, Ink::RedProbe),
            (Ink::ProbeLabel, Ink::BlackProbe),
            (Ink::Suspect, Ink::Paper),
            (Ink::Needle, Ink::Paper)
        )]
        pair: (Ink, Ink),
    ) {
        let ratio = contrast(palette.rgb(pair.0), palette.rgb(pair.1));
        assert!(ratio >= 4.5, "{pair:?} in {palette:?}: {ratio:.2}");
    }

    /// Source: WCAG 2.1, success criterion 1.4.11 (graphics, 3:1).
    #[rstest]
    fn lines_can_be_seen(
        #[values(Palette::Light, Palette::Dark)] palette: Palette,
        #[values(Ink::HotWire, Ink::GroundWire, Ink::Wire, Ink::Part, Ink::Lug, Ink::Suspect)] ink: Ink,
    ) {
        let ratio = contrast(palette.rgb(ink), palette.rgb(Ink::Paper));
        assert!(ratio >= 3.0, "{ink:?} in {palette:?}: {ratio:.2}");
    }
}
