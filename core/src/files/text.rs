//! Bytes into text: which encoding, and what to say about it.

use encoding_rs::Encoding;
use std::borrow::Cow;

/// How the bytes of a text are to be read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Coding {
    /// One of the encodings of the WHATWG Encoding Standard.
    Standard(&'static Encoding),
    /// A one-byte code page of old office programs: what the bytes from 128 mean.
    CodePage(&'static str),
}

/// Code page 437, bytes 128 to 255.
///
/// # Source
/// Python 3.11's codec `cp437` (from the mapping tables of the Unicode consortium).
const PAGE_437: &str =
    "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜ¢£¥₧ƒáíóúñÑªº¿⌐¬½¼¡«»░▒▓│┤╡╢╖╕╣║╗╝╜╛┐└┴┬├─┼╞╟╚╔╩╦╠═╬╧╨╤╥╙╘╒╓╫╪┘┌█▄▌▐▀αßΓπΣσµτΦΘΩδ∞φε∩≡±≥≤⌠⌡÷≈°∙·√ⁿ²■\u{a0}";
/// Code page 850, bytes 128 to 255.
///
/// # Source
/// Python 3.11's codec `cp850`.
const PAGE_850: &str = "ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜø£Ø×ƒáíóúñÑªº¿®¬½¼¡«»░▒▓│┤ÁÂÀ©╣║╗╝¢¥┐└┴┬├─┼ãÃ╚╔╩╦╠═╬¤ðÐÊËÈıÍÎÏ┘┌█▄¦Ì▀ÓßÔÒõÕµþÞÚÛÙýÝ¯´\u{ad}±‗¾¶§÷¸°¨·¹³²■\u{a0}";

pub(super) const UTF_8: Coding = Coding::Standard(encoding_rs::UTF_8);
pub(super) const WINDOWS_1252: Coding = Coding::Standard(encoding_rs::WINDOWS_1252);

impl Coding {
    /// The encoding that a `.cpg` file names: a name of the standard, or a code page's number with or without a word before it.
    pub fn named(name: &str) -> Option<Self> {
        let name = name.trim().trim_start_matches('\u{feff}');
        let digits: String = name.chars().skip_while(|c| !c.is_ascii_digit()).take_while(char::is_ascii_digit).collect();
        let plain: String = name.chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_ascii_lowercase();
        let name = match plain.as_str() {
            "koi8r" => "koi8-r",
            "koi8u" => "koi8-u",
            "shiftjis" => "shift_jis",
            _ => name,
        };
        Encoding::for_label(name.as_bytes())
            .or_else(|| Encoding::for_label(plain.as_bytes()))
            .map(Self::Standard)
            .or_else(|| Self::page(digits.parse().ok()?))
    }

    /// A code page by its number.
    fn page(number: u32) -> Option<Self> {
        let label = match number {
            437 => return Some(Self::CodePage(PAGE_437)),
            850 | 858 => return Some(Self::CodePage(PAGE_850)),
            65001 => "utf-8",
            932 => "shift_jis",
            936 => "gbk",
            949 => "euc-kr",
            950 => "big5",
            54936 => "gb18030",
            874 => "windows-874",
            866 => "ibm866",
            20866 => "koi8-r",
            21866 => "koi8-u",
            28591 | 88591 | 8859 => "windows-1252",
            28592 | 88592 => "iso-8859-2",
            28595 | 88595 => "iso-8859-5",
            88599 | 28599 => "windows-1254",
            885_915 | 28605 => "iso-8859-15",
            1250..=1258 => return Encoding::for_label(format!("windows-{number}").as_bytes()).map(Self::Standard),
            _ => return None,
        };
        Encoding::for_label(label.as_bytes()).map(Self::Standard)
    }

    /// The encoding that byte 29 of a dBASE header stands for.
    ///
    /// # Source
    /// Language driver ids of dBASE and FoxPro, as GDAL's and other open readers list them (from memory).
    pub fn of_language_driver(id: u8) -> Option<Self> {
        Self::page(match id {
            0x01 | 0x09 | 0x0b | 0x0d | 0x0f | 0x11 | 0x15 | 0x18 | 0x19 | 0x1b => 437,
            0x02 | 0x0a | 0x0e | 0x10 | 0x12 | 0x14 | 0x16 | 0x1a | 0x1d | 0x25 | 0x37 => 850,
            0x03 | 0x57..=0x59 => 1252,
            0x13 | 0x7b => 932,
            0x4d | 0x7a => 936,
            0x4e | 0x79 => 949,
            0x4f | 0x78 => 950,
            0x50 | 0x7c => 874,
            0x26 | 0x65 => 866,
            0x7d => 1255,
            0x7e => 1256,
            0xc8 => 1250,
            0xc9 => 1251,
            0xca => 1254,
            0xcb => 1253,
            0xcc => 1257,
            _ => return None,
        })
    }

    /// The text of some bytes, without the blanks and zero bytes round it.
    pub fn text(self, bytes: &[u8]) -> Cow<'_, str> {
        let bytes = without_padding(bytes).trim_ascii();
        // Nothing but visible ASCII, as most cells are, is the same in every encoding.
        if bytes.iter().fold(true, |plain, b| plain & (b' '..=b'~').contains(b)) {
            return std::str::from_utf8(bytes).map_or(Cow::Borrowed(""), Cow::Borrowed);
        }
        let bytes = &bytes[..bytes.iter().rposition(|&b| b != 0 && b != b' ').map_or(0, |i| i + 1)];
        if bytes.is_ascii() && !bytes.contains(&0x1b) {
            return std::str::from_utf8(bytes).map_or(Cow::Borrowed(""), |t| Cow::Borrowed(t.trim()));
        }
        match self {
            Self::Standard(encoding) => trimmed(encoding.decode_without_bom_handling(bytes).0),
            Self::CodePage(page) => Cow::Owned(bytes.iter().map(|&b| from_page(page, b)).collect::<String>().trim().to_owned()),
        }
    }

    /// The name of the encoding.
    pub fn name(self) -> &'static str {
        match self {
            Self::Standard(encoding) => encoding.name(),
            Self::CodePage(page) if page == PAGE_437 => "code page 437",
            Self::CodePage(_) => "code page 850",
        }
    }
}

/// Without the blanks at the end, eight at a time: fields of tables are mostly that.
pub(super) fn without_padding(mut bytes: &[u8]) -> &[u8] {
    while let Some((rest, b"        ")) = bytes.split_last_chunk::<8>() {
        bytes = rest;
    }
    bytes
}

fn from_page(page: &str, byte: u8) -> char {
    if byte < 128 { byte as char } else { page.chars().nth(usize::from(byte) - 128).unwrap_or(char::REPLACEMENT_CHARACTER) }
}

/// Without blanks, and without the half of a character that a field's end cut off.
fn trimmed(text: Cow<'_, str>) -> Cow<'_, str> {
    let kept = text.trim_end_matches(char::REPLACEMENT_CHARACTER).trim();
    if kept.len() == text.len() { text } else { Cow::Owned(kept.to_owned()) }
}

/// A whole file as text, and a sentence when it was not plain UTF-8.
pub(super) fn whole(bytes: Vec<u8>) -> (String, Option<String>) {
    if let Some((encoding, _)) = Encoding::for_bom(&bytes)
        && encoding != encoding_rs::UTF_8
    {
        let (text, _, _) = encoding.decode(&bytes);
        return (text.into_owned(), Some(format!("the text is in {}", encoding.name())));
    }
    match String::from_utf8(bytes) {
        Ok(text) => (without_mark(text), None),
        Err(broken) => {
            let at = broken.utf8_error().valid_up_to();
            let (text, _, _) = encoding_rs::WINDOWS_1252.decode(broken.as_bytes());
            (text.into_owned(), Some(format!("the text is not UTF-8 (byte {at}): read as windows-1252")))
        }
    }
}

fn without_mark(mut text: String) -> String {
    if text.starts_with('\u{feff}') {
        text.drain(..'\u{feff}'.len_utf8());
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn code_pages_are_whole() {
        assert_eq!((PAGE_437.chars().count(), PAGE_850.chars().count()), (128, 128));
        // Source: Python 3.11, b"\x9b\xe1".decode("cp437") and ("cp850").
        assert_eq!(Coding::CodePage(PAGE_437).text(b"\x9b\xe1"), "¢ß");
        assert_eq!(Coding::CodePage(PAGE_850).text(b" a\x9b\xe1\0\0 "), "aøß");
    }

    #[test]
    fn names_of_cpg_files_are_understood() {
        for (name, expected) in [
            ("UTF-8", "UTF-8"),
            ("65001", "UTF-8"),
            ("Big-5", "Big5"),
            ("ANSI 1251", "windows-1251"),
            ("CP936", "GBK"),
            ("88591", "windows-1252"),
            ("ISO 8859-1\r\n", "windows-1252"),
            ("koi8r", "KOI8-R"),
            ("shiftjis", "Shift_JIS"),
            ("850", "code page 850"),
        ] {
            assert_eq!(Coding::named(name).map(Coding::name), Some(expected), "{name}");
        }
        assert_eq!(Coding::named("none of these"), None);
    }

    #[test]
    fn files_of_other_encodings_are_told() {
        assert_eq!(whole(b"\xef\xbb\xbfa".to_vec()), ("a".to_owned(), None));
        assert_eq!(whole(b"\xff\xfea\0".to_vec()).0, "a");
        let (text, note) = whole(b"caf\xe9".to_vec());
        assert_eq!((text.as_str(), note.as_deref()), ("café", Some("the text is not UTF-8 (byte 3): read as windows-1252")));
    }

    #[test]
    fn half_a_character_at_a_fields_end_goes() {
        assert_eq!(UTF_8.text(b"caf\xc3\xa9"), "café");
        assert_eq!(UTF_8.text(b"caf\xc3"), "caf");
    }
}
