//! Pictures within a page, packed as files of their own.

use image::codecs::jpeg::JpegEncoder;
use image::{ExtendedColorType, ImageEncoder as _};
use tiny_skia::Pixmap;

/// How well a photograph is kept, of 100.
const QUALITY: u8 = 88;

/// A picture's file, and what kind it is.
pub enum Packed {
    /// Where no pixel lets the paper through.
    Jpeg(Vec<u8>),
    /// Where some do.
    Png(Vec<u8>),
}

impl Packed {
    /// Packs a picture; `None` when it could not be written.
    pub fn of(picture: &Pixmap) -> Option<Self> {
        if picture.pixels().iter().any(|p| p.alpha() < 255) {
            return picture.encode_png().ok().map(Self::Png);
        }
        let rgb: Vec<u8> = picture.pixels().iter().flat_map(|p| [p.red(), p.green(), p.blue()]).collect();
        let mut out = Vec::new();
        let pen = JpegEncoder::new_with_quality(&mut out, QUALITY);
        pen.write_image(&rgb, picture.width(), picture.height(), ExtendedColorType::Rgb8).ok()?;
        Some(Self::Jpeg(out))
    }

    /// Its kind as the web names it.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Jpeg(_) => "image/jpeg",
            Self::Png(_) => "image/png",
        }
    }

    /// Its bytes.
    pub fn bytes(&self) -> &[u8] {
        let (Self::Jpeg(bytes) | Self::Png(bytes)) = self;
        bytes
    }
}

/// Bytes as letters, for files of text.
///
/// # Source
/// RFC 4648, section 4.
pub fn letters(bytes: &[u8]) -> String {
    const ALPHABET: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let all = three.iter().fold(0u32, |all, b| all << 8 | u32::from(*b)) << (8 * (3 - three.len()));
        for k in 0..4 {
            let letter = ALPHABET[(all >> (18 - 6 * k) & 63) as usize];
            out.push(if k > three.len() { '=' } else { char::from(letter) });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The test vectors of RFC 4648, section 10.
    #[test]
    fn bytes_become_the_letters_of_the_standard() {
        for (bytes, wanted) in [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foob", "Zm9vYg=="), ("foobar", "Zm9vYmFy")] {
            assert_eq!(letters(bytes.as_bytes()), wanted);
        }
    }
}
