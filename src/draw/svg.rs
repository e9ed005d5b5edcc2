//! Writes a picture as SVG: the same picture gives the same bytes.

use std::fmt::Write as _;

use super::{Anchor, Ink, Palette, Picture, Point, Shape, Stroke};

/// Returns the picture as a self-contained SVG document in fixed colours.
pub fn svg(picture: &Picture, palette: &Palette) -> String {
    let palette = *palette;
    write(picture, &|ink| hex(palette, ink))
}

/// Returns the picture as SVG whose colours are the style variables of [`theme_css`], for use inside a page.
pub fn svg_themed(picture: &Picture) -> String {
    write(picture, &|ink| format!("var(--{})", name(ink)))
}

/// Returns the style declarations that [`svg_themed`] relies on, such as `--paper:#fcfcfa;`.
pub fn theme_css(palette: &Palette) -> String {
    Ink::ALL.iter().map(|ink| format!("--{}:{};", name(*ink), hex(*palette, *ink))).collect()
}

fn hex(palette: Palette, ink: Ink) -> String {
    let [r, g, b] = palette.rgb(ink);
    format!("#{r:02x}{g:02x}{b:02x}")
}

fn name(ink: Ink) -> &'static str {
    match ink {
        Ink::Paper => "paper",
        Ink::Wire => "wire",
        Ink::HotWire => "hot-wire",
        Ink::GroundWire => "ground-wire",
        Ink::Braid => "braid",
        Ink::Weave => "weave",
        Ink::Part => "part",
        Ink::PartFill => "part-fill",
        Ink::StripFill => "strip-fill",
        Ink::Hatch => "hatch",
        Ink::Lug => "lug",
        Ink::Label => "label",
        Ink::RedProbe => "red-probe",
        Ink::BlackProbe => "black-probe",
        Ink::ProbeLabel => "probe-label",
        Ink::Suspect => "suspect",
        Ink::Dimmed => "dimmed",
        Ink::DimmedFill => "dimmed-fill",
        Ink::DimmedLabel => "dimmed-label",
        Ink::Band => "band",
        Ink::Needle => "needle",
    }
}

type Colour<'a> = &'a dyn Fn(Ink) -> String;

fn write(picture: &Picture, colour: Colour<'_>) -> String {
    let (w, h) = (number(picture.size.0), number(picture.size.1));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\" \
         role=\"img\" font-family=\"sans-serif\">\n<title>{}</title>\n<desc>{}</desc>\n",
        escape(&picture.title),
        escape(&picture.about)
    );
    let paper = colour(Ink::Paper);
    push(&mut out, format_args!("<rect width=\"{w}\" height=\"{h}\" style=\"fill:{paper}\"/>"));
    picture.shapes.iter().for_each(|shape| write_shape(&mut out, shape, colour));
    out.push_str("</svg>\n");
    out
}

fn write_shape(out: &mut String, shape: &Shape, colour: Colour<'_>) {
    match shape {
        Shape::Line { from, to, stroke } => {
            let style = style(None, Some(stroke), colour);
            let (a, b) = (point(*from), point(*to));
            push(out, format_args!("<path d=\"M{a}L{b}\" style=\"{style}\"/>"));
        }
        Shape::Polyline { points, stroke } => {
            let style = style(None, Some(stroke), colour);
            let line: Vec<String> = points.iter().map(|p| point(*p)).collect();
            push(out, format_args!("<polyline points=\"{}\" style=\"{style}\"/>", line.join(" ")));
        }
        Shape::Circle { at, radius, stroke, fill } => {
            let style = style(*fill, stroke.as_ref(), colour);
            let (x, y, r) = (number(at.0), number(at.1), number(*radius));
            push(out, format_args!("<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" style=\"{style}\"/>"));
        }
        Shape::Rect { min, size, corner, stroke, fill } => {
            let style = style(*fill, stroke.as_ref(), colour);
            let [x, y, w, h, r] = [min.0, min.1, size.0, size.1, *corner].map(number);
            let frame = format_args!("x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" rx=\"{r}\"");
            push(out, format_args!("<rect {frame} style=\"{style}\"/>"));
        }
        Shape::Text { .. } => write_text(out, shape, colour),
    }
}

fn write_text(out: &mut String, shape: &Shape, colour: Colour<'_>) {
    let Shape::Text { at, text, size, anchor, ink, bold } = shape else {
        return;
    };
    let anchor = match anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let weight = if *bold { ";font-weight:bold" } else { "" };
    let (x, y) = (number(at.0), number(at.1 + size * 0.35));
    let (fill, size, words) = (colour(*ink), number(*size), escape(text));
    let place = format_args!("x=\"{x}\" y=\"{y}\" font-size=\"{size}\" text-anchor=\"{anchor}\"");
    push(out, format_args!("<text {place} style=\"fill:{fill}{weight}\">{words}</text>"));
}

fn style(fill: Option<Ink>, stroke: Option<&Stroke>, colour: Colour<'_>) -> String {
    let mut style = format!("fill:{}", fill.map_or("none".to_owned(), colour));
    if let Some(stroke) = stroke {
        let (ink, width) = (colour(stroke.ink), number(stroke.width));
        style += &format!(";stroke:{ink};stroke-width:{width};stroke-linejoin:round");
        style += &stroke
            .dash
            .map_or(String::new(), |(a, b)| format!(";stroke-dasharray:{} {}", number(a), number(b)));
    }
    style
}

fn push(out: &mut String, line: std::fmt::Arguments<'_>) {
    // Writing to a string cannot fail.
    let _ = writeln!(out, "{line}");
}

fn point(p: Point) -> String {
    format!("{},{}", number(p.0), number(p.1))
}

/// Returns a number with at most one decimal place; what is not finite becomes zero.
fn number(value: f32) -> String {
    let tenths = if value.is_finite() { (value * 10.0).round() } else { 0.0 };
    format!("{}", if tenths == 0.0 { 0.0 } else { tenths / 10.0 })
}

/// Escapes text for SVG: markup, and characters that XML does not allow or that turn text around.
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{200e}' | '\u{200f}' | '\u{61c}' => {}
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push(' '),
            c => out.push(c),
        }
    }
    out
}
