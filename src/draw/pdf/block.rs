//! A document to print: headings, words, tables and figures, in reading order.

use super::super::Picture;
use super::Image;

/// A document to print.
#[derive(Clone, Debug)]
pub struct Document {
    /// Its title, which programs that read aloud say first.
    pub title: String,
    /// What it is, in a sentence.
    pub about: String,
    /// What stands at the foot of every page beside its number.
    pub foot: String,
    /// The moment, in UTC, of the last thing it tells; with one the file keeps the norm for archives too.
    pub made: Option<jiff::civil::DateTime>,
    /// Its blocks, in reading order.
    pub blocks: Vec<Block>,
}

/// One block of a document.
#[derive(Clone, Debug)]
pub enum Block {
    /// A heading; level 1 is the document's own.
    Heading {
        /// 1 or 2.
        level: u8,
        /// Its words.
        text: String,
    },
    /// Words, with the line breaks that they hold.
    Words {
        /// The words.
        text: String,
        /// Whether they are set in bold.
        bold: bool,
    },
    /// A table.
    Table(Table),
    /// A picture drawn from plain shapes.
    Figure {
        /// The heading above it; none when empty.
        heading: String,
        /// The picture; it is told to programs that read aloud by its own words.
        picture: Box<Picture>,
        /// What stands below it; none when empty.
        caption: String,
    },
    /// A photo or a shop's sign.
    Photo {
        /// The image.
        image: Image,
        /// What it shows, for those who cannot see it.
        about: String,
        /// What stands below it; none when empty.
        caption: String,
        /// The most that it is wide and high, in points.
        most: (f32, f32),
    },
    /// Lines to write on, each with what is to be written.
    Sign(Vec<String>),
}

/// A table, whose head is printed again on each page that it goes on to.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// The names of the columns.
    pub head: Vec<String>,
    /// How wide the columns are beside each other.
    pub shares: Vec<f32>,
    /// The rows; the first cell names the row.
    pub rows: Vec<Vec<String>>,
}
