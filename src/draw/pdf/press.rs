//! Prints a document: its strips on pages, told to programs that read aloud by what they are.

use std::collections::BTreeMap;
use std::num::NonZeroU16;

use krilla::Document as File;
use krilla::geom::{Size, Transform};
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, Node, SpanTag, TableHeaderScope, Tag, TagGroup, TagKind,
    TagTree,
};

use super::super::{Anchor, Ink, Point, Shape};
use super::block::{Block, Document, Table};
use super::face::Faces;
use super::flow::{Page, Placed, pages};
use super::pen::{Lens, Pen};
use super::set::{MARGIN, Room, set};
use super::strip::{Part, Spot, Strip};
use super::{LANGUAGE, Paper, PdfError};

/// The size of the letters at the foot of a page, in points.
const FOOT: f32 = 8.0;

/// Returns a document as a PDF file with its letters put in; the same document gives the same bytes.
///
/// # Errors
///
/// When the letters cannot be read, or when an image in it is damaged.
pub fn document(document: &Document, paper: Paper) -> Result<Vec<u8>, PdfError> {
    let faces = Faces::load().ok_or(PdfError::Letters)?;
    let room = Room::of(paper);
    let strips = set(&document.blocks, room, &|letter| faces.advance(letter));
    let pages = pages(&strips, [false, true].map(|lying| room.inner(lying).1));
    let mut press =
        Press { document, faces: &faces, strips: &strips, room, count: pages.len(), spots: BTreeMap::new() };
    let mut file = File::new();
    for (index, page) in pages.iter().enumerate() {
        press.page(&mut file, page, index + 1)?;
    }
    file.set_tag_tree(press.tree());
    file.set_metadata(metadata(document));
    file.finish().map_err(|error| PdfError::Unwritable(error.to_string()))
}

fn metadata(document: &Document) -> Metadata {
    Metadata::new()
        .title(document.title.clone())
        .description(document.about.clone())
        .language(LANGUAGE.to_owned())
        .creator("Lugwise".to_owned())
        .document_id(document.title.clone())
}

struct Press<'a> {
    document: &'a Document,
    faces: &'a Faces,
    strips: &'a [Strip],
    room: Room,
    count: usize,
    /// What was printed of each place of the document.
    spots: BTreeMap<Spot, Vec<Identifier>>,
}

impl<'a> Press<'a> {
    fn page(&mut self, file: &mut File, page: &Page, number: usize) -> Result<(), PdfError> {
        let (wide, high) = self.room.sheet(page.lying);
        let settings = PageSettings::from_wh(wide, high)
            .ok_or_else(|| PdfError::Unwritable("the sheet has no size".to_owned()))?;
        let mut sheet = file.start_page_with(settings);
        let mut surface = sheet.surface();
        page.placed.iter().for_each(|placed| self.strip(&mut surface, placed));
        self.foot(&mut surface, (wide, high), number);
        surface.finish();
        sheet.finish();
        Ok(())
    }

    fn strip(&mut self, surface: &mut Surface<'_>, placed: &Placed) {
        let strips: &'a [Strip] = self.strips;
        let origin = (MARGIN, MARGIN + placed.y);
        for part in &strips[placed.strip].parts {
            match part {
                Part::Paint(shape) => {
                    self.beside(surface, ArtifactType::Layout, origin, std::slice::from_ref(shape));
                }
                Part::Words { lines, .. } if placed.repeated => {
                    self.beside(surface, ArtifactType::PaginationOther, origin, lines);
                }
                Part::Words { spot, lines } => self.words(surface, *spot, origin, lines),
                Part::Drawing { spot, at, size } => {
                    self.drawing(surface, *spot, (origin.0 + at.0, origin.1 + at.1), *size);
                }
            }
        }
    }

    /// Draws what is no part of the text.
    fn beside(&self, surface: &mut Surface<'_>, kind: ArtifactType, origin: Point, shapes: &[Shape]) {
        surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(kind)));
        self.draw(surface, origin, shapes);
        surface.end_tagged();
    }

    fn draw(&self, surface: &mut Surface<'_>, origin: Point, shapes: &[Shape]) {
        let lens = Lens { scale: 1.0, origin };
        let mut pen = Pen { surface: &mut *surface, faces: self.faces, lens };
        shapes.iter().for_each(|shape| pen.draw(shape));
    }

    fn words(&mut self, surface: &mut Surface<'_>, spot: Spot, origin: Point, lines: &[Shape]) {
        for line in lines {
            let tag = surface.start_tagged(ContentTag::Span(SpanTag::empty()));
            self.draw(surface, origin, std::slice::from_ref(line));
            surface.end_tagged();
            self.spots.entry(spot).or_default().push(tag);
        }
    }

    fn drawing(&mut self, surface: &mut Surface<'_>, spot: Spot, at: Point, size: (f32, f32)) {
        let tag = surface.start_tagged(ContentTag::Other);
        match self.document.blocks.get(spot.block) {
            Some(Block::Figure { picture, .. }) => {
                let lens = Lens { scale: size.0 / picture.size.0.max(1.0), origin: at };
                let mut pen = Pen { surface: &mut *surface, faces: self.faces, lens };
                picture.shapes.iter().for_each(|shape| pen.draw(shape));
            }
            Some(Block::Photo { image, .. }) => {
                if let Some(size) = Size::from_wh(size.0, size.1) {
                    surface.push_transform(&Transform::from_translate(at.0, at.1));
                    surface.draw_image(image.0.clone(), size);
                    surface.pop();
                }
            }
            _ => {}
        }
        surface.end_tagged();
        self.spots.entry(spot).or_default().push(tag);
    }

    fn foot(&self, surface: &mut Surface<'_>, (wide, high): (f32, f32), number: usize) {
        let text = |x: f32, text: String, anchor: Anchor| Shape::Text {
            at: (x, high - MARGIN - FOOT),
            text,
            size: FOOT,
            anchor,
            ink: Ink::Label,
            bold: false,
        };
        let numbered = format!("{number} of {}", self.count);
        let shapes = [
            text(MARGIN, self.document.foot.clone(), Anchor::Start),
            text(wide - MARGIN, numbered, Anchor::End),
        ];
        self.beside(surface, ArtifactType::PaginationOther, (0.0, 0.0), &shapes);
    }

    /// Returns what the document is made of, in reading order.
    fn tree(&mut self) -> TagTree {
        let document = self.document;
        let mut tree = TagTree::new().with_lang(Some(LANGUAGE.to_owned()));
        for (index, block) in document.blocks.iter().enumerate() {
            match block {
                Block::Heading { level, text } => self.tell(&mut tree, index, 0, heading(*level, text)),
                Block::Words { .. } => self.tell(&mut tree, index, 0, Tag::P),
                Block::Table(table) => tree.push(self.table(index, table)),
                Block::Figure { heading: words, picture, .. } => {
                    self.tell(&mut tree, index, 0, heading(2, words));
                    let told = format!("{}. {}", picture.title, picture.about);
                    self.tell(&mut tree, index, 1, Tag::Figure(Some(told)));
                    self.tell(&mut tree, index, 2, Tag::P);
                }
                Block::Photo { about, .. } => {
                    self.tell(&mut tree, index, 1, Tag::Figure(Some(about.clone())));
                    self.tell(&mut tree, index, 2, Tag::P);
                }
                Block::Sign(names) => {
                    (0..names.len()).for_each(|row| self.tell(&mut tree, index, row, Tag::P));
                }
            }
        }
        tree
    }

    /// Adds what was printed of a row of a block to the tree, if anything was.
    fn tell(&mut self, tree: &mut TagTree, block: usize, row: usize, tag: impl Into<TagKind>) {
        let nodes = self.printed(Spot { block, row, column: 0 });
        if !nodes.is_empty() {
            tree.push(TagGroup::with_children(tag, nodes));
        }
    }

    fn printed(&mut self, spot: Spot) -> Vec<Node> {
        self.spots.remove(&spot).unwrap_or_default().into_iter().map(Node::from).collect()
    }

    fn table(&mut self, block: usize, table: &Table) -> TagGroup {
        let mut head = TagGroup::new(Tag::THead);
        head.push(self.row(block, 0, table.head.len()));
        let mut body = TagGroup::new(Tag::TBody);
        for row in 1..=table.rows.len() {
            body.push(self.row(block, row, table.head.len()));
        }
        TagGroup::with_children(Tag::Table, vec![head.into(), body.into()])
    }

    fn row(&mut self, block: usize, row: usize, columns: usize) -> TagGroup {
        let mut group = TagGroup::new(Tag::TR);
        for column in 0..columns {
            let nodes = self.printed(Spot { block, row, column });
            let tag = match (row, column) {
                (0, _) => TagKind::from(Tag::TH(TableHeaderScope::Column)),
                (_, 0) => TagKind::from(Tag::TH(TableHeaderScope::Row)),
                _ => TagKind::from(Tag::TD),
            };
            group.push(TagGroup::with_children(tag, nodes));
        }
        group
    }
}

fn heading(level: u8, text: &str) -> TagKind {
    let level = NonZeroU16::new(u16::from(level)).unwrap_or(NonZeroU16::MIN);
    Tag::Hn(level, Some(text.to_owned())).into()
}
