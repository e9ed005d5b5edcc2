//! Sizes of paper.

/// A sheet of paper; it may lie or stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 by 297 millimetres.
    A4,
    /// 297 by 420 millimetres.
    A3,
    /// 8.5 by 11 inches.
    Letter,
}

impl Paper {
    /// Every size, in the order in which they are listed anywhere.
    pub const ALL: [Self; 3] = [Self::A4, Self::A3, Self::Letter];

    /// Returns the name used on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::A3 => "a3",
            Self::Letter => "letter",
        }
    }

    /// Returns the size with this name, whatever its case.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|paper| paper.name().eq_ignore_ascii_case(name.trim()))
    }

    /// Returns width and height of the standing sheet in points, 72 to the inch.
    pub fn size(self) -> (f32, f32) {
        let millimetres = |wide: f32, high: f32| (wide / 25.4 * 72.0, high / 25.4 * 72.0);
        match self {
            Self::A4 => millimetres(210.0, 297.0),
            Self::A3 => millimetres(297.0, 420.0),
            Self::Letter => (612.0, 792.0),
        }
    }
}
