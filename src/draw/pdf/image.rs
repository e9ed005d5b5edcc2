//! An image that is put into a PDF file: a photo, or a shop's sign.

use super::PdfError;

/// The most bytes of an image.
const BYTES: usize = 5 * 1024 * 1024;
/// The most dots along a side.
const SIDE: u32 = 4000;

/// A PNG or JPEG image.
#[derive(Clone, Debug)]
pub struct Image(pub(super) krilla::image::Image);

impl Image {
    /// Reads an image of at most 5 MB and 4000 by 4000 dots.
    ///
    /// # Errors
    ///
    /// When it is neither PNG nor JPEG, is damaged at its beginning, or is too large.
    pub fn read(bytes: Vec<u8>) -> Result<Self, PdfError> {
        let wrong = |why: String| Err(PdfError::Image(why));
        if bytes.len() > BYTES {
            let megabytes = bytes.len().div_ceil(1024 * 1024);
            return wrong(format!("it has {megabytes} MB and at most 5 are allowed"));
        }
        let read = if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            krilla::image::Image::from_png(bytes.into(), true)
        } else if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
            krilla::image::Image::from_jpeg(bytes.into(), true)
        } else {
            return wrong("it is neither a PNG nor a JPEG file".to_owned());
        };
        let image = read.map_err(|why| PdfError::Image(format!("it cannot be read: {why}")))?;
        let (wide, high) = image.size();
        if wide == 0 || high == 0 || wide > SIDE || high > SIDE {
            return wrong(format!("it is {wide} by {high} dots and at most {SIDE} by {SIDE} are allowed"));
        }
        Ok(Self(image))
    }

    /// Returns its width and height in points, as large as fits, but no dot larger than a point.
    pub(super) fn within(&self, most: (f32, f32)) -> (f32, f32) {
        let (wide, high) = self.0.size();
        let (wide, high) = (wide as f32, high as f32);
        let scale = (most.0 / wide).min(most.1 / high).min(1.0);
        (wide * scale, high * scale)
    }
}
