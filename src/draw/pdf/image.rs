//! An image that is put into a PDF file: a photo, or a shop's sign.

use super::PdfError;

/// The most bytes of an image.
const BYTES: usize = 5 * 1024 * 1024;
/// The most dots along a side.
const SIDE: u32 = 4000;

/// A PNG or JPEG image.
#[derive(Clone, Debug)]
pub struct Image {
    pub(super) dots: krilla::image::Image,
    /// Whether it is kept in four printing inks.
    pub(super) four_inks: bool,
}

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
        let four_inks = four_inks(&bytes);
        let read = if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            krilla::image::Image::from_png(bytes.into(), false)
        } else if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
            krilla::image::Image::from_jpeg(bytes.into(), false)
        } else {
            return wrong("it is neither a PNG nor a JPEG file".to_owned());
        };
        let dots = read.map_err(|why| PdfError::Image(format!("it cannot be read: {why}")))?;
        let (wide, high) = dots.size();
        if wide == 0 || high == 0 || wide > SIDE || high > SIDE {
            return wrong(format!("it is {wide} by {high} dots and at most {SIDE} by {SIDE} are allowed"));
        }
        Ok(Self { dots, four_inks })
    }

    /// Returns its width and height in points, as large as fits, but no dot larger than a point.
    pub(super) fn within(&self, most: (f32, f32)) -> (f32, f32) {
        let (wide, high) = self.dots.size();
        let (wide, high) = (wide as f32, high as f32);
        let scale = (most.0 / wide).min(most.1 / high).min(1.0);
        (wide * scale, high * scale)
    }
}

/// Returns whether an image is a JPEG file whose frame has four components (ITU-T T.81, B.2.2).
fn four_inks(bytes: &[u8]) -> bool {
    let mut at = if bytes.starts_with(&[0xff, 0xd8]) { 2 } else { return false };
    while let Some([0xff, marker, high, low]) = bytes.get(at..at + 4) {
        if matches!(marker, 0xc0..=0xcf) && !matches!(marker, 0xc4 | 0xc8 | 0xcc) {
            return bytes.get(at + 9) == Some(&4);
        }
        let long = usize::from(u16::from_be_bytes([*high, *low]));
        at += if *marker == 0xff { 1 } else { 2 + long };
    }
    false
}

#[cfg(test)]
mod tests {
    use super::four_inks;
    use rstest::rstest;

    /// The heads of JPEG files, written by hand from ITU-T T.81, B.2: a segment of 4 bytes, then the frame.
    #[rstest]
    #[case(0xc0, 4, true)]
    #[case(0xc2, 4, true)]
    #[case(0xc0, 3, false)]
    #[case(0xc4, 4, false)]
    fn inks_are_counted_in_the_frame(#[case] marker: u8, #[case] count: u8, #[case] four: bool) {
        let head = [0xff, 0xd8, 0xff, 0xe0, 0, 4, 7, 7, 0xff, 0xff, marker, 0, 20, 8, 0, 20, 0, 40, count, 0];
        assert_eq!(four_inks(&head), four);
        assert!(!four_inks(&head[..12]), "a head that ends too soon");
    }
}
