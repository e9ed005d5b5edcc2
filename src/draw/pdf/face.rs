//! The letters that are put into a PDF file: which glyph each is, and how wide.

use krilla::text::{Font, GlyphId, KrillaGlyph};
use skrifa::charmap::Charmap;
use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::{FontRef, MetadataProvider};

/// A font.
struct Face {
    font: Font,
    glyphs: Charmap<'static>,
    widths: GlyphMetrics<'static>,
}

impl Face {
    fn load(bytes: &'static [u8]) -> Option<Self> {
        let sheet = FontRef::from_index(bytes, 0).ok()?;
        let widths = sheet.glyph_metrics(Size::unscaled(), LocationRef::default());
        Some(Self { font: Font::new(bytes.into(), 0)?, glyphs: sheet.charmap(), widths })
    }

    /// Returns the glyph of a letter and its width as a share of the letters' size.
    fn glyph(&self, letter: char) -> Option<(u32, f32)> {
        let glyph = self.glyphs.map(letter).filter(|glyph| glyph.to_u32() != 0)?;
        let width = self.widths.advance_width(glyph)? / self.font.units_per_em();
        Some((glyph.to_u32(), width))
    }
}

/// The fonts in the order in which a letter is looked for.
pub(super) struct Faces(Vec<Face>);

/// Letters of one font, side by side.
pub(super) struct Run {
    pub(super) font: Font,
    pub(super) text: String,
    pub(super) glyphs: Vec<KrillaGlyph>,
    /// Width as a share of the letters' size.
    pub(super) wide: f32,
    face: usize,
}

impl Faces {
    /// Reads the fonts that come with the program: that of the window, and one with more signs.
    pub(super) fn load() -> Option<Self> {
        let all = [epaint_default_fonts::UBUNTU_LIGHT, epaint_default_fonts::HACK_REGULAR];
        all.into_iter().map(Face::load).collect::<Option<Vec<Face>>>().map(Self)
    }

    /// Returns a text as glyphs; a letter that no font has becomes a question mark.
    pub(super) fn runs(&self, text: &str) -> Vec<Run> {
        let mut runs: Vec<Run> = Vec::new();
        for letter in text.chars().filter_map(printed) {
            let own = self.find(letter).map(|found| (letter, found));
            let Some((letter, (face, glyph, wide))) = own.or_else(|| Some(('?', self.find('?')?))) else {
                continue;
            };
            if runs.last().is_none_or(|run| run.face != face) {
                let font = self.0[face].font.clone();
                runs.push(Run { font, text: String::new(), glyphs: Vec::new(), wide: 0.0, face });
            }
            if let Some(run) = runs.last_mut() {
                run.add(letter, glyph, wide);
            }
        }
        runs
    }

    /// Returns whether a question mark is printed in a letter's place, since no font has it.
    pub(super) fn lacks(&self, letter: char) -> bool {
        let ours = letter == '?' || letter == char::REPLACEMENT_CHARACTER || letter.is_whitespace();
        !ours && printed(letter).is_some_and(|sign| sign == '?' || self.find(sign).is_none())
    }

    /// Returns how wide a letter is printed, as a share of its size.
    pub(super) fn advance(&self, letter: char) -> f32 {
        let found = printed(letter).and_then(|letter| self.find(letter).or_else(|| self.find('?')));
        found.map_or(0.0, |(_, _, wide)| wide)
    }

    /// Returns the first font that has a letter, with its glyph and width.
    fn find(&self, letter: char) -> Option<(usize, u32, f32)> {
        let found =
            |(face, font): (usize, &Face)| font.glyph(letter).map(|(glyph, wide)| (face, glyph, wide));
        self.0.iter().enumerate().find_map(found)
    }
}

impl Run {
    fn add(&mut self, letter: char, glyph: u32, wide: f32) {
        let start = self.text.len();
        self.text.push(letter);
        self.wide += wide;
        self.glyphs.push(KrillaGlyph {
            glyph_id: GlyphId::new(glyph),
            text_range: start..self.text.len(),
            x_advance: wide,
            x_offset: 0.0,
            y_offset: 0.0,
            y_advance: 0.0,
            location: None,
        });
    }
}

/// Returns what is printed for a character: nothing for one that turns text around or marks an order of bytes, a blank
/// for a control character, a question mark for one that means something else in every font.
fn printed(letter: char) -> Option<char> {
    match letter {
        '\u{202a}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}'
        | '\u{200e}'
        | '\u{200f}'
        | '\u{61c}'
        | '\u{feff}' => None,
        '\u{e000}'..='\u{f8ff}' | '\u{f0000}'..='\u{10ffff}' => Some('?'),
        letter if letter.is_control() => Some(' '),
        letter => Some(letter),
    }
}
