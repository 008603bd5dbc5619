//! The kinds of file that a map can become.

use std::path::Path;

/// What file a map becomes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Format {
    /// Pixels.
    #[default]
    Png,
    /// Lines and letters as outlines, for the web and for drawing programs.
    Svg,
    /// One page with its type embedded, for printing.
    Pdf,
}

impl Format {
    /// Every format.
    pub const ALL: [Self; 3] = [Self::Png, Self::Svg, Self::Pdf];

    /// The ending of its files.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Png => "png",
            Self::Svg => "svg",
            Self::Pdf => "pdf",
        }
    }

    /// The format of a file with a name; `None` when its ending is none of theirs.
    ///
    /// ```
    /// use std::path::Path;
    /// use yardring_core::brief::Format;
    /// assert_eq!(Format::of(Path::new("round 2.PDF")), Some(Format::Pdf));
    /// assert_eq!(Format::of(Path::new("pdf")), None);
    /// ```
    pub fn of(path: &Path) -> Option<Self> {
        let ending = path.extension()?;
        Self::ALL.into_iter().find(|f| ending.eq_ignore_ascii_case(f.ending()))
    }
}

/// How large a map becomes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum MapSize {
    /// So many pixels wide and high: 400 to 8,000, and 300 to 8,000.
    Pixels(u32, u32),
    /// A sheet of A4, lying.
    A4,
    /// A sheet of A3, lying.
    A3,
}

impl MapSize {
    /// A sheet of US letter, lying: 11 by 8.5 inches of 96 pixels.
    ///
    /// # Source
    /// ANSI/ASME Y14.1, from memory.
    pub const LETTER: Self = Self::Pixels(1056, 816);

    /// The size as the command line writes a sheet; `None` for one in pixels.
    ///
    /// ```
    /// use yardring_core::brief::MapSize;
    /// assert_eq!((MapSize::A3.word(), MapSize::Pixels(800, 600).word()), (Some("a3"), None));
    /// ```
    pub fn word(self) -> Option<&'static str> {
        match self {
            Self::Pixels(..) => None,
            Self::A4 => Some("a4"),
            Self::A3 => Some("a3"),
        }
    }

    /// Dots to an inch of a sheet: 300 as pixels, 96 where there are none; `None` for a picture, which has no inches.
    pub fn dots(self, format: Format) -> Option<u32> {
        match self {
            Self::Pixels(..) => None,
            Self::A4 | Self::A3 => Some(if format == Format::Png { 300 } else { 96 }),
        }
    }

    /// Width and height in pixels of a format.
    ///
    /// # Source
    /// ISO 216: A4 is 210 by 297 mm, A3 297 by 420 mm; from memory. An inch is 25.4 mm: international yard and pound agreement, 1959.
    pub fn pixels(self, format: Format) -> (u32, u32) {
        let (width, height) = match self {
            Self::Pixels(width, height) => return (width, height),
            Self::A4 => (297.0, 210.0),
            Self::A3 => (420.0, 297.0),
        };
        let dots = |mm: f64| (mm / 25.4 * f64::from(self.dots(format).unwrap_or_default())).round() as u32;
        (dots(width), dots(height))
    }
}

/// Says in a PNG file how many dots make an inch, so that it is printed as large as it is meant; without a number it stays as it is.
///
/// # Source
/// W3C, Portable Network Graphics (PNG) Specification (Third Edition), 11.3.4.3 pHYs: pixels to a metre each way, unit 1, before the
/// image data; 5.3: length, type, data, and the check value over type and data.
pub(super) fn with_dots(mut png: Vec<u8>, dots: Option<u32>) -> Vec<u8> {
    /// The signature, and the first chunk with its 13 bytes.
    const AFTER_HEADER: usize = 8 + 12 + 13;
    let Some(dots) = dots.filter(|_| png.len() > AFTER_HEADER) else { return png };
    let to_a_metre = (f64::from(dots) / 0.0254).round() as u32;
    let mut chunk = b"pHYs".to_vec();
    chunk.extend(to_a_metre.to_be_bytes().iter().chain(&to_a_metre.to_be_bytes()).chain(&[1]));
    let mut check = flate2::Crc::new();
    check.update(&chunk);
    let whole: Vec<u8> = 9u32.to_be_bytes().into_iter().chain(chunk).chain(check.sum().to_be_bytes()).collect();
    png.splice(AFTER_HEADER..AFTER_HEADER, whole);
    png
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The chunk that a program for pictures writes for 300 dots an inch (11811 to a metre): Python's zlib.crc32 gives the check value.
    #[test]
    fn a_png_says_how_many_dots_make_an_inch() {
        let plain = tiny_skia::Pixmap::new(2, 2).unwrap().encode_png().unwrap();
        let told = with_dots(plain.clone(), Some(300));
        assert_eq!(told[33..54], [0, 0, 0, 9, b'p', b'H', b'Y', b's', 0, 0, 0x2E, 0x23, 0, 0, 0x2E, 0x23, 1, 0x78, 0xA5, 0x3F, 0x76]);
        assert!(tiny_skia::Pixmap::decode_png(&told).is_ok() && with_dots(plain.clone(), None) == plain);
    }

    /// Printers' tables give A4 at 300 dots an inch as 3508 by 2480 and A3 as 4961 by 3508, and A4 on the web as 1123 by 794.
    #[test]
    fn sheets_have_the_pixels_that_printers_know() {
        assert_eq!((MapSize::A4.pixels(Format::Png), MapSize::A3.pixels(Format::Png)), ((3508, 2480), (4961, 3508)));
        assert_eq!((MapSize::A4.pixels(Format::Pdf), MapSize::A3.pixels(Format::Svg)), ((1123, 794), (1587, 1123)));
        assert_eq!(MapSize::Pixels(800, 600).pixels(Format::Pdf), (800, 600));
    }
}
