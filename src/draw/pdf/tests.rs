//! The laws of printing.

use super::super::letters::Letters;
use super::face::Faces;
use super::*;
use rstest::rstest;

/// Returns a picture of this size with letters of 13 units in its corners and a grid of them between.
fn picture(size: (f32, f32)) -> Picture {
    let text = |at: (f32, f32)| Shape::Text {
        at,
        text: "10 kΩ".to_owned(),
        size: 13.0,
        anchor: Anchor::Start,
        ink: Ink::Label,
        bold: false,
    };
    let spots = |whole: f32| (0..).map(|step| 10.0 + step as f32 * 200.0).take_while(move |at| *at < whole);
    let shapes = spots(size.0).flat_map(|x| spots(size.1).map(move |y| text((x, y)))).collect();
    let (title, about) = ("a drawing".to_owned(), "Invented for tests.".to_owned());
    Picture { title, about, size, shapes, hits: Vec::new() }
}

fn pages(file: &[u8]) -> usize {
    let text = String::from_utf8_lossy(file);
    text.matches("/Type /Page").count() - text.matches("/Type /Pages").count()
        + text.matches("/Type/Page").count()
        - text.matches("/Type/Pages").count()
}

#[test]
fn the_same_picture_gives_the_same_bytes() {
    let drawing = picture((2000.0, 1400.0));
    let file = page(&drawing, Paper::A4, "a title").unwrap();
    assert!(file.starts_with(b"%PDF-"), "it is no PDF file");
    assert_eq!(file, page(&drawing, Paper::A4, "a title").unwrap());
    assert_ne!(file, page(&drawing, Paper::A3, "a title").unwrap());
}

#[rstest]
#[case((700.0, 500.0))]
#[case((1000.0, 700.0))]
#[case((100.0, 900.0))]
fn a_small_picture_takes_one_sheet(#[case] size: (f32, f32)) {
    let drawing = picture(size);
    let plan = Plan::of(&drawing, Paper::A4).unwrap();
    assert_eq!(plan.sheets.len(), 1);
    assert_eq!(plan.place(&plan.sheets[0]), None);
    assert_eq!(pages(&page(&drawing, Paper::A4, "a title").unwrap()), 1);
}

#[test]
fn letters_are_never_smaller_than_seven_points() {
    for wide in [500.0, 1500.0, 3000.0, 5000.0] {
        let drawing = picture((wide, 1200.0));
        let plan = Plan::of(&drawing, Paper::A4).unwrap();
        for sheet in &plan.sheets {
            assert!(plan.lens(sheet).scale * 13.0 >= 7.0 - 1e-4, "a picture {wide} wide");
        }
    }
}

#[test]
fn a_large_picture_is_cut_and_every_shape_is_whole_on_some_sheet() {
    let drawing = picture((3000.0, 2400.0));
    let plan = Plan::of(&drawing, Paper::A4).unwrap();
    assert!(plan.sheets.len() > 2);
    let inner = plan.inner();
    for (index, shape) in drawing.shapes.iter().enumerate() {
        let Shape::Text { at, .. } = shape else { continue };
        let on = plan.sheets.iter().filter(|sheet| sheet.shapes.contains(&index));
        let shown = on.filter(|sheet| {
            let lens = plan.lens(sheet);
            let (x, y) = (lens.origin.0 + at.0 * lens.scale, lens.origin.1 + at.1 * lens.scale);
            (inner.min.0..=inner.max.0).contains(&x) && (inner.min.1..=inner.max.1).contains(&y)
        });
        assert!(shown.count() > 0, "the text at {at:?} is on no sheet");
    }
    let places: Vec<String> = plan.sheets.iter().filter_map(|sheet| plan.place(sheet)).collect();
    assert_eq!(places.len(), plan.sheets.len());
    assert!(places[1].starts_with(&format!("2 of {}, goes right of page 1", places.len())), "{places:?}");
    assert_eq!(pages(&page(&drawing, Paper::A4, "a title").unwrap()), plan.sheets.len());
}

#[test]
fn the_crosses_of_neighbours_fall_on_each_other() {
    let drawing = picture((3000.0, 600.0));
    let plan = Plan::of(&drawing, Paper::A4).unwrap();
    let spots = |index: usize| -> Vec<(i64, i64)> {
        let (sheet, lens) = (&plan.sheets[index], plan.lens(&plan.sheets[index]));
        let unit = |(x, y): (f32, f32)| {
            let at = ((x - lens.origin.0) / lens.scale, (y - lens.origin.1) / lens.scale);
            (at.0.round() as i64, at.1.round() as i64)
        };
        plan.marks(sheet).crosses.into_iter().map(unit).collect()
    };
    let (first, second) = (spots(0), spots(1));
    let common = second.iter().filter(|spot| first.contains(spot)).count();
    assert_eq!(common, 2, "{first:?} {second:?}");
}

#[test]
fn too_many_sheets_are_refused_with_what_to_do() {
    let drawing = picture((100_000.0, 20_000.0));
    let error = page(&drawing, Paper::A4, "a title").unwrap_err();
    assert!(matches!(error, PdfError::TooLarge { most: 100, .. }), "{error:?}");
    assert!(error.to_string().contains("SVG"), "{error}");
}

/// The widths are held beside those of the font that is put into the file.
#[test]
fn no_letter_is_wider_than_the_table_says() {
    let faces = Faces::load().unwrap();
    let letters = (' '..='~').chain("Ω°µ±·–…éüß“”’×≤≥".chars());
    for letter in letters {
        let text = letter.to_string();
        let wide: f32 = faces.runs(&text).iter().map(|run| run.wide).sum();
        assert!(wide > 0.0, "{letter} cannot be printed");
        let most = Letters::plain(1.0).width(&text);
        assert!(wide <= most + 1e-3, "{letter} is {wide} wide and not {most}");
    }
}

#[test]
fn what_no_font_has_becomes_a_question_mark() {
    let runs = Faces::load().unwrap().runs("a\u{10ffff}b\u{202e}\n");
    let text: String = runs.iter().map(|run| run.text.as_str()).collect();
    assert_eq!(text, "a?b ");
}

/// Source: ISO 216 (A4 is 210 by 297 millimetres); an inch is 25.4 millimetres and 72 points.
#[test]
fn paper_has_its_size() {
    let (wide, high) = Paper::A4.size();
    assert!((wide - 595.28).abs() < 0.01 && (high - 841.89).abs() < 0.01);
    for paper in Paper::ALL {
        assert_eq!(Paper::named(paper.name()), Some(paper));
    }
    assert_eq!(Paper::named("A5"), None);
}
