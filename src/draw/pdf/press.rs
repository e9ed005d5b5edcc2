//! Prints a document: its strips on pages, told to programs that read aloud by what they are.

use std::collections::BTreeMap;
use std::num::NonZeroU16;

use krilla::Document as File;
use krilla::geom::{Rect, Size, Transform};
use krilla::outline::Outline;
use krilla::page::PageSettings;
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, BBox, ContentTag, Identifier, Node, SpanTag, TableHeaderScope, Tag, TagGroup,
    TagKind, TagTree,
};

use super::super::{Anchor, Ink, Point, Shape};
use super::block::{Block, Document, Table};
use super::face::Faces;
use super::flow::{Page, Placed, pages};
use super::pen::{Lens, Pen};
use super::set::{MARGIN, Room, set};
use super::strip::{Part, Spot, Strip};
use super::{Image, LANGUAGE, Paper, PdfError, norm};

/// The size of the letters at the foot of a page, in points.
const FOOT: f32 = 8.0;
/// How large an image is printed to see whether it can be, in points.
const WHOLE: (f32, f32) = (100.0, 100.0);

impl Image {
    /// Reads an image as [`Image::read`] does, and prints it once: a PNG is decoded whole, of a JPEG only the head.
    ///
    /// # Errors
    ///
    /// As [`Image::read`], and when a PNG is damaged anywhere, or the image cannot be printed.
    pub fn whole(bytes: Vec<u8>) -> Result<Self, PdfError> {
        let image = Self::read(bytes)?;
        let about = "A photo.".to_owned();
        let photo =
            Block::Photo { image: image.clone(), about: about.clone(), caption: String::new(), most: WHOLE };
        let page =
            Document { title: about.clone(), about, foot: String::new(), made: None, blocks: vec![photo] };
        document(&page, Paper::A4).map(|_| image)
    }
}

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
    let mut press = Press {
        document,
        faces: &faces,
        strips: &strips,
        room,
        count: pages.len(),
        sheet: 0,
        spots: BTreeMap::new(),
        begins: BTreeMap::new(),
        boxes: BTreeMap::new(),
    };
    let mut file = norm::begun(document.made.filter(|_| !document.blocks.iter().any(four_inks)))?;
    for (index, page) in pages.iter().enumerate() {
        press.page(&mut file, page, index)?;
    }
    file.set_tag_tree(press.tree());
    file.set_outline(press.contents());
    file.set_metadata(norm::metadata(&document.title, &document.about, document.made));
    norm::ended(file)
}

struct Press<'a> {
    document: &'a Document,
    faces: &'a Faces,
    strips: &'a [Strip],
    room: Room,
    count: usize,
    /// The page that is printed, counted from 0.
    sheet: usize,
    /// What was printed of each place of the document.
    spots: BTreeMap<Spot, Vec<Identifier>>,
    /// The page on which the words of each block begin, and how far below its upper edge.
    begins: BTreeMap<usize, (usize, f32)>,
    /// Where each picture lies.
    boxes: BTreeMap<usize, BBox>,
}

impl<'a> Press<'a> {
    fn page(&mut self, file: &mut File, page: &Page, index: usize) -> Result<(), PdfError> {
        self.sheet = index;
        let (wide, high) = self.room.sheet(page.lying);
        let settings = PageSettings::from_wh(wide, high)
            .ok_or_else(|| PdfError::Unwritable("the sheet has no size".to_owned()))?;
        let mut sheet = file.start_page_with(settings);
        let mut surface = sheet.surface();
        page.placed.iter().for_each(|placed| self.strip(&mut surface, placed));
        self.foot(&mut surface, (wide, high), index + 1);
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
        self.begins.entry(spot.block).or_insert((self.sheet, origin.1));
        for line in lines {
            let tag = surface.start_tagged(ContentTag::Span(SpanTag::empty()));
            self.draw(surface, origin, std::slice::from_ref(line));
            surface.end_tagged();
            self.spots.entry(spot).or_default().push(tag);
        }
    }

    fn drawing(&mut self, surface: &mut Surface<'_>, spot: Spot, at: Point, size: (f32, f32)) {
        let place = Rect::from_xywh(at.0, at.1, size.0, size.1);
        self.boxes.extend(place.map(|place| (spot.block, BBox::new(self.sheet, place))));
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
                    surface.draw_image(image.dots.clone(), size);
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
                    self.tell(&mut tree, index, 1, self.figure(index, &told));
                    self.tell(&mut tree, index, 2, Tag::P);
                }
                Block::Photo { about, .. } => {
                    self.tell(&mut tree, index, 1, self.figure(index, about));
                    self.tell(&mut tree, index, 2, Tag::P);
                }
                Block::Sign(names) => {
                    (0..names.len()).for_each(|row| self.tell(&mut tree, index, row, Tag::P));
                }
            }
        }
        tree
    }

    fn figure(&self, block: usize, told: &str) -> TagKind {
        Tag::Figure(Some(norm::told(told))).with_bbox(self.boxes.get(&block).copied()).into()
    }

    /// Returns the contents: the headings below the title.
    fn contents(&self) -> Outline {
        let mut whole = norm::entry(&self.document.title, 0, (0.0, 0.0)).with_open(true);
        for (index, block) in self.document.blocks.iter().enumerate() {
            let words = match block {
                Block::Heading { level, text } if *level > 1 && !text.trim().is_empty() => text,
                Block::Figure { heading, .. } if !heading.is_empty() => heading,
                _ => continue,
            };
            if let Some((page, y)) = self.begins.get(&index) {
                whole.push_child(norm::entry(words, *page, (MARGIN, *y)));
            }
        }
        let mut contents = Outline::new();
        contents.push_child(whole);
        contents
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

/// Returns whether a block is an image in printing inks, whose colours no archive could tell without their profile.
fn four_inks(block: &Block) -> bool {
    matches!(block, Block::Photo { image, .. } if image.four_inks)
}

fn heading(level: u8, text: &str) -> TagKind {
    let level = NonZeroU16::new(u16::from(level)).unwrap_or(NonZeroU16::MIN);
    Tag::Hn(level, Some(text.to_owned())).into()
}
