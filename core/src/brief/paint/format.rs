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
