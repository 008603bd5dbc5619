//! The pixels of a tile's picture.

use image::{ImageReader, Limits};
use std::io::Cursor;

/// The most pixels along a side of a tile's picture.
const LARGEST: u32 = 4_096;

/// An unpacked picture: red, green, blue and how opaque, row after row from the upper left corner.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TilePixels {
    /// Pixels from side to side.
    pub width: u32,
    /// Pixels from top to bottom.
    pub height: u32,
    /// Four bytes a pixel; the colour is not multiplied with how opaque it is.
    pub rgba: Vec<u8>,
}

impl TilePixels {
    /// Unpacks a PNG, JPEG or WebP picture; `None` where it is broken or larger than any tile is.
    pub fn unpack(bytes: &[u8]) -> Option<Self> {
        let mut reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format().ok()?;
        let mut limits = Limits::default();
        (limits.max_image_width, limits.max_image_height) = (Some(LARGEST), Some(LARGEST));
        reader.limits(limits);
        let picture = reader.decode().ok()?.into_rgba8();
        Some(Self { width: picture.width(), height: picture.height(), rgba: picture.into_raw() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{ImageFormat, Rgba, RgbaImage};

    #[test]
    fn pictures_come_back_as_they_were_and_broken_ones_do_not() {
        let picture = RgbaImage::from_fn(3, 2, |x, y| Rgba([40 * x as u8, 90 * y as u8, 7, 255 - x as u8]));
        let mut out = Cursor::new(Vec::new());
        picture.write_to(&mut out, ImageFormat::Png).unwrap();
        let bytes = out.into_inner();
        assert_eq!(TilePixels::unpack(&bytes), Some(TilePixels { width: 3, height: 2, rgba: picture.into_raw() }));
        assert_eq!(TilePixels::unpack(&bytes[..bytes.len() / 2]), None);
        assert_eq!(TilePixels::unpack(b"hello there"), None);
    }
}
