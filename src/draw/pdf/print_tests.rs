//! The laws of printing a document.

use super::super::{Anchor, Ink, Picture, Shape};
use super::block::{Block, Document, Table};
use super::face::Faces;
use super::flow::pages;
use super::press::document;
use super::set::{Room, set};
use super::strip::{Part, Strip};
use super::{Image, Paper, PdfError};
use rstest::rstest;

fn words(text: &str) -> Block {
    Block::Words { text: text.to_owned(), bold: false }
}

fn table(rows: usize, cell: &str) -> Block {
    let row = |number: usize| vec![format!("row {number}"), cell.to_owned()];
    Block::Table(Table {
        head: vec!["number".to_owned(), "words".to_owned()],
        shares: vec![1.0, 4.0],
        rows: (1..=rows).map(row).collect(),
    })
}

fn figure(wide: f32, letters: f32) -> Block {
    let text = Shape::Text {
        at: (10.0, 10.0),
        text: "10 kΩ".to_owned(),
        size: letters,
        anchor: Anchor::Start,
        ink: Ink::Label,
        bold: false,
    };
    let picture = Picture {
        title: "a drawing".to_owned(),
        about: "Invented for tests.".to_owned(),
        size: (wide, 600.0),
        shapes: vec![text],
        hits: Vec::new(),
    };
    let (heading, caption) = ("Wiring".to_owned(), "What it shows.".to_owned());
    Block::Figure { heading, picture: Box::new(picture), caption }
}

fn printed(blocks: Vec<Block>) -> Document {
    let [title, about, foot] = ["a title", "Invented for tests.", "a title, bench copy"].map(str::to_owned);
    let made = Some(jiff::civil::DateTime::constant(2026, 3, 2, 9, 14, 5, 0));
    Document { title, about, foot, made, blocks }
}

fn strips(blocks: &[Block], paper: Paper) -> Vec<Strip> {
    let faces = Faces::load().unwrap();
    set(blocks, Room::of(paper), &|letter| faces.advance(letter))
}

fn texts(strips: &[Strip]) -> Vec<String> {
    let lines = |part: &Part| match part {
        Part::Words { lines, .. } => lines.clone(),
        _ => Vec::new(),
    };
    let text = |shape: Shape| {
        if let Shape::Text { text, .. } = shape { text.trim().to_owned() } else { String::new() }
    };
    strips.iter().flat_map(|strip| &strip.parts).flat_map(lines).map(text).collect()
}

#[rstest]
#[case(Paper::A4)]
#[case(Paper::Letter)]
fn no_line_leaves_its_margin(#[case] paper: Paper) {
    let long = "a long story of a wire, ".repeat(80) + &"w".repeat(900);
    let blocks =
        [Block::Heading { level: 1, text: long.clone() }, words(&long), table(3, &long), words("the end")];
    let (faces, room) = (Faces::load().unwrap(), Room::of(paper));
    let wide = room.inner(false).0;
    for part in strips(&blocks, paper).iter().flat_map(|strip| &strip.parts) {
        let Part::Words { lines, .. } = part else { continue };
        for line in lines {
            let Shape::Text { at, text, size, .. } = line else { panic!("words are texts") };
            let long: f32 = faces.runs(text.trim_end()).iter().map(|run| run.wide * size).sum();
            assert!(at.0 >= 0.0 && at.0 + long <= wide + 0.01, "{text:?} ends at {}", at.0 + long);
        }
    }
}

#[test]
fn words_are_set_in_reading_order() {
    let head = Block::Heading { level: 2, text: "Readings".to_owned() };
    let blocks = [head, words("first\nsecond"), table(1, "cell"), words("last")];
    let told = ["Readings", "first", "second", "number", "words", "row 1", "cell", "last"];
    assert_eq!(texts(&strips(&blocks, Paper::A4)), told);
}

#[test]
fn a_long_table_has_its_head_on_every_page_and_each_row_once() {
    let room = Room::of(Paper::A4);
    let strips = strips(&[table(150, "a cell")], Paper::A4);
    let pages = pages(&strips, [false, true].map(|lying| room.inner(lying).1));
    assert!(pages.len() > 2, "{} pages", pages.len());
    let heads = pages.iter().filter(|page| page.placed[0].strip == 0);
    assert_eq!(heads.count(), pages.len());
    let rows = texts(&strips).iter().filter(|text| text.starts_with("row ")).count();
    assert_eq!(rows, 150);
}

#[test]
fn a_row_higher_than_a_page_is_cut_between_its_lines() {
    let room = Room::of(Paper::A4);
    let long = "words without end ".repeat(600);
    let strips = strips(&[table(1, &long)], Paper::A4);
    assert!(strips.iter().all(|strip| strip.high < room.inner(false).1 * 0.6));
    let letters: String = texts(&strips).concat().split_whitespace().collect();
    assert_eq!(letters.matches("wordswithoutend").count(), 600);
}

#[rstest]
#[case(600.0, 13.0, false)]
#[case(1400.0, 13.0, true)]
#[case(1400.0, 30.0, false)]
fn a_picture_lies_where_its_letters_would_get_too_small(
    #[case] wide: f32,
    #[case] letters: f32,
    #[case] lying: bool,
) {
    let strips = strips(&[figure(wide, letters)], Paper::A4);
    assert!(strips.iter().all(|strip| strip.lying == lying), "a picture {wide} wide");
    assert_eq!(strips.len(), 3, "heading, picture and caption");
}

#[test]
fn the_same_document_gives_the_same_bytes() {
    let blocks = || vec![words("first"), table(60, "a cell"), figure(900.0, 13.0), figure(1400.0, 13.0)];
    let file = document(&printed(blocks()), Paper::A4).unwrap();
    assert!(file.starts_with(b"%PDF-"));
    assert_eq!(file, document(&printed(blocks()), Paper::A4).unwrap());
    assert_ne!(file, document(&printed(blocks()), Paper::Letter).unwrap());
}

#[test]
fn nothing_is_a_page_with_its_number() {
    assert!(document(&printed(Vec::new()), Paper::A4).unwrap().starts_with(b"%PDF-"));
    let empty = [Block::Heading { level: 2, text: String::new() }, words(""), table(0, "")];
    assert!(document(&printed(empty.to_vec()), Paper::A4).unwrap().starts_with(b"%PDF-"));
}

/// Both norms bound what is told of a picture; a title may be missing, and a letter may be in no font.
#[test]
fn a_picture_told_at_length_and_a_title_of_nothing_are_printed() {
    let mut block = figure(600.0, 13.0);
    if let Block::Figure { picture, .. } = &mut block {
        picture.about = "é\u{10ffff}".repeat(50_000);
    }
    let words = words("a\u{0}\u{feff}\u{e0ff}\u{fffe}\u{a0}b");
    let document =
        |blocks: Vec<Block>| document(&Document { title: " ".to_owned(), ..printed(blocks) }, Paper::A4);
    assert!(document(vec![block, words]).unwrap().len() < 300_000);
}

#[test]
fn an_image_must_be_one_and_small_enough() {
    let refused = |bytes: Vec<u8>| match Image::read(bytes) {
        Err(PdfError::Image(why)) => why,
        other => panic!("{other:?}"),
    };
    assert!(refused(b"<svg/>".to_vec()).contains("neither a PNG nor a JPEG"));
    assert!(refused(vec![0; 6 * 1024 * 1024]).contains("6 MB"));
    assert!(refused(b"\x89PNG\r\n\x1a\n".to_vec()).contains("cannot be read"));
}
