//! Writes a picture or a whole document as a PDF file to print: the same one gives the same bytes.
//!
//! Every file keeps PDF/UA-1, and PDF/A-2a too when its content has a date: the letters are put into it, and the title,
//! the language and what the picture shows, in words, are told to programs that read aloud. A picture whose letters would get too small on one sheet is cut into several.

mod block;
mod face;
mod flow;
mod image;
mod lacks;
mod norm;
mod paper;
mod pen;
mod press;
#[cfg(test)]
mod print_tests;
mod set;
mod sheets;
mod strip;
#[cfg(test)]
mod tests;
mod wrap;

pub use block::{Block, Document as PrintedDocument, Table};
pub use image::Image;
pub use lacks::{letters_not_drawn, missing_letters, missing_said};
pub use paper::Paper;
pub use press::document;

use krilla::Document;
use krilla::geom::{PathBuilder, Rect};
use krilla::outline::Outline;
use krilla::page::PageSettings;
use krilla::paint::FillRule;
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, BBox, ContentTag, Identifier, SpanTag, Tag, TagGroup, TagTree,
};

use self::face::Faces;
use self::pen::{Lens, Pen};
use self::sheets::{Plan, Sheet};
use super::{Anchor, Ink, Picture, Shape, Stroke};

/// Language of all our words.
const LANGUAGE: &str = "en";
/// What the file of a picture is.
const ABOUT: &str = "A drawing to print; its first sheet tells it in words.";
/// Letters above a sheet of several, in points.
const CAPTION: f32 = 9.0;

/// Why no PDF file was made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PdfError {
    /// The letters that come with the program cannot be read.
    #[error("cannot make a PDF file: the letters that come with the program cannot be read")]
    Letters,
    /// It would take more sheets than anyone puts together.
    #[error(
        "cannot make a PDF file: on {paper} the drawing takes {needed} sheets with letters of 7 points, \
         and at most {most} are allowed; take larger paper or save it as SVG"
    )]
    TooLarge {
        /// The paper it was for.
        paper: &'static str,
        /// How many sheets it would take.
        needed: usize,
        /// The most sheets.
        most: usize,
    },
    /// An image cannot be printed.
    #[error("cannot print the image: {0}")]
    Image(String),
    /// The file's parts do not fit together.
    #[error("cannot make a PDF file: {0}")]
    Unwritable(String),
}

/// Returns the picture as a PDF file, on one sheet while its letters are at least 7 points, else on several with
/// marks where they overlap.
///
/// # Errors
///
/// When it would take too many sheets, or when the file cannot be written.
pub fn page(picture: &Picture, paper: Paper, title: &str) -> Result<Vec<u8>, PdfError> {
    let plan = Plan::of(picture, paper)?;
    let writer = Writer { picture, title, plan: &plan, faces: Faces::load().ok_or(PdfError::Letters)? };
    let mut document = norm::begun(None)?;
    let mut tags = TagTree::new().with_lang(Some(LANGUAGE.to_owned()));
    for (index, sheet) in plan.sheets.iter().enumerate() {
        writer.sheet(&mut document, (index, sheet), &mut tags)?;
    }
    document.set_tag_tree(tags);
    document.set_outline(writer.contents());
    document.set_metadata(norm::metadata(title, ABOUT, None));
    norm::ended(document)
}

struct Writer<'a> {
    picture: &'a Picture,
    title: &'a str,
    plan: &'a Plan,
    faces: Faces,
}

impl Writer<'_> {
    fn sheet(
        &self,
        document: &mut Document,
        (index, sheet): (usize, &Sheet),
        tags: &mut TagTree,
    ) -> Result<(), PdfError> {
        let (wide, high) = self.plan.size;
        let settings = PageSettings::from_wh(wide, high);
        let settings = settings.ok_or_else(|| PdfError::Unwritable("the sheet has no size".to_owned()))?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        if let Some(caption) = self.caption(&mut surface, sheet) {
            let mut paragraph = TagGroup::new(Tag::P);
            paragraph.push(caption);
            tags.push(paragraph);
        }
        let inner = self.plan.inner();
        let place = Rect::from_ltrb(inner.min.0, inner.min.1, inner.max.0, inner.max.1);
        let tag = Tag::Figure(Some(self.told(index, sheet)));
        let mut figure = TagGroup::new(tag.with_bbox(place.map(|place| BBox::new(index, place))));
        figure.push(self.drawing(&mut surface, sheet));
        tags.push(figure);
        self.marks(&mut surface, sheet);
        surface.finish();
        page.finish();
        Ok(())
    }

    /// Says what is drawn on a sheet; the first tells the whole picture.
    fn told(&self, index: usize, sheet: &Sheet) -> String {
        let place = self.plan.place(sheet).map_or(String::new(), |place| format!(", sheet {place}"));
        let about = if index == 0 { self.picture.about.as_str() } else { "Sheet 1 tells the whole." };
        norm::told(&format!("{}{place}. {about}", self.picture.title))
    }

    /// Returns the contents: the sheets, when there are several.
    fn contents(&self) -> Outline {
        let mut whole = norm::entry(self.title, 0, (0.0, 0.0)).with_open(true);
        for (index, sheet) in self.plan.sheets.iter().enumerate() {
            if let Some(place) = self.plan.place(sheet) {
                whole.push_child(norm::entry(&format!("sheet {place}"), index, (0.0, 0.0)));
            }
        }
        let mut contents = Outline::new();
        contents.push_child(whole);
        contents
    }

    /// Writes above a sheet of several where it belongs.
    fn caption(&self, surface: &mut Surface<'_>, sheet: &Sheet) -> Option<Identifier> {
        let place = self.plan.place(sheet)?;
        let inner = self.plan.inner();
        let tag = surface.start_tagged(ContentTag::Span(SpanTag::empty()));
        let text = format!("{}: {place}", self.title);
        let at = (inner.min.0, inner.min.1 - CAPTION);
        let (ink, anchor) = (Ink::Label, Anchor::Start);
        let words = Shape::Text { at, text, size: CAPTION, anchor, ink, bold: false };
        Pen { surface: &mut *surface, faces: &self.faces, lens: Lens::PLAIN }.draw(&words);
        surface.end_tagged();
        Some(tag)
    }

    /// Draws the part of the picture that is on a sheet.
    fn drawing(&self, surface: &mut Surface<'_>, sheet: &Sheet) -> Identifier {
        let inner = self.plan.inner();
        let clip = Rect::from_ltrb(inner.min.0, inner.min.1, inner.max.0, inner.max.1).and_then(|area| {
            let mut path = PathBuilder::new();
            path.push_rect(area);
            path.finish()
        });
        if let Some(clip) = &clip {
            surface.push_clip_path(clip, &FillRule::NonZero);
        }
        let tag = surface.start_tagged(ContentTag::Other);
        let lens = self.plan.lens(sheet);
        let mut pen = Pen { surface: &mut *surface, faces: &self.faces, lens };
        sheet.shapes.iter().filter_map(|index| self.picture.shapes.get(*index)).for_each(|s| pen.draw(s));
        surface.end_tagged();
        if clip.is_some() {
            surface.pop();
        }
        tag
    }

    /// Draws where sheets overlap: a line to lay the next sheet's edge on, and crosses that fall on each other.
    fn marks(&self, surface: &mut Surface<'_>, sheet: &Sheet) {
        let marks = self.plan.marks(sheet);
        if marks.lines.is_empty() && marks.crosses.is_empty() {
            return;
        }
        surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::Page)));
        let mut pen = Pen { surface: &mut *surface, faces: &self.faces, lens: Lens::PLAIN };
        let dashes = Stroke::dashed(Ink::Dimmed, 0.6, 4.0, 4.0);
        for (from, to) in marks.lines {
            pen.draw(&Shape::Line { from, to, stroke: dashes });
        }
        let stroke = Stroke::solid(Ink::Part, 0.6);
        for (x, y) in marks.crosses {
            pen.draw(&Shape::Line { from: (x - 5.0, y), to: (x + 5.0, y), stroke });
            pen.draw(&Shape::Line { from: (x, y - 5.0), to: (x, y + 5.0), stroke });
        }
        surface.end_tagged();
    }
}
