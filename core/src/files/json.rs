//! JSON read in place, with the byte of what is wrong.
//!
//! # Source
//! RFC 8259, grammar of sections 2 to 7.

use std::borrow::Cow;

/// Text that is no JSON, or not the JSON that was wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Wrong {
    /// Which byte.
    pub at: usize,
    /// What should be there.
    pub expected: &'static str,
}

/// A reader over JSON text.
#[derive(Clone, Copy, Debug)]
pub(super) struct Json<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Json<'a> {
    pub fn new(text: &'a str) -> Self {
        Self { text, at: 0 }
    }

    /// The byte at which the next value begins.
    pub fn next_at(&mut self) -> usize {
        self.blanks();
        self.at
    }

    fn wrong(&self, expected: &'static str) -> Wrong {
        Wrong { at: self.at, expected }
    }

    fn byte(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    fn blanks(&mut self) {
        while matches!(self.byte(), Some(b' ' | b'\n' | b'\r' | b'\t')) {
            self.at += 1;
        }
    }

    /// The first byte of the next value.
    pub fn peek(&mut self) -> Option<u8> {
        self.blanks();
        self.byte()
    }

    fn need(&mut self, wanted: u8, expected: &'static str) -> Result<(), Wrong> {
        if self.peek() == Some(wanted) {
            self.at += 1;
            Ok(())
        } else {
            Err(self.wrong(expected))
        }
    }

    /// Nothing but blanks may follow.
    pub fn end(&mut self) -> Result<(), Wrong> {
        if self.peek().is_none() { Ok(()) } else { Err(self.wrong("the end of the file")) }
    }

    /// Passes over one value however deep it is, and answers its text.
    pub fn skip(&mut self) -> Result<&'a str, Wrong> {
        let from = self.next_at();
        let mut open: Vec<u8> = Vec::new();
        loop {
            match self.peek() {
                Some(b'{') => {
                    self.at += 1;
                    if self.peek() != Some(b'}') {
                        self.key()?;
                        open.push(b'}');
                        continue;
                    }
                    self.at += 1;
                }
                Some(b'[') => {
                    self.at += 1;
                    if self.peek() != Some(b']') {
                        open.push(b']');
                        continue;
                    }
                    self.at += 1;
                }
                _ => self.scalar()?,
            }
            if !self.close(&mut open)? {
                return Ok(&self.text[from..self.at]);
            }
        }
    }

    /// After a value: closes what ends here. Whether another value must follow.
    fn close(&mut self, open: &mut Vec<u8>) -> Result<bool, Wrong> {
        while let Some(&closing) = open.last() {
            match self.peek() {
                Some(b',') => {
                    self.at += 1;
                    if closing == b'}' {
                        self.key()?;
                    }
                    return Ok(true);
                }
                Some(b) if b == closing => {
                    self.at += 1;
                    open.pop();
                }
                _ => return Err(self.wrong(if closing == b'}' { "a comma or }" } else { "a comma or ]" })),
            }
        }
        Ok(false)
    }

    fn key(&mut self) -> Result<&'a str, Wrong> {
        let key = self.quoted()?;
        self.need(b':', "a colon")?;
        Ok(key)
    }

    fn scalar(&mut self) -> Result<(), Wrong> {
        match self.byte() {
            Some(b'"') => self.quoted().map(|_| ()),
            Some(b'-' | b'0'..=b'9') => self.number_text().map(|_| ()),
            _ => {
                let rest = &self.text.as_bytes()[self.at..];
                let word = [&b"true"[..], b"false", b"null"].into_iter().find(|w| rest.starts_with(w));
                self.at += word.ok_or(self.wrong("a JSON value"))?.len();
                Ok(())
            }
        }
    }

    /// A string between its quotation marks, escapes left as they are.
    fn quoted(&mut self) -> Result<&'a str, Wrong> {
        self.need(b'"', "a string in quotation marks")?;
        let from = self.at;
        loop {
            match self.byte() {
                Some(b'"') => {
                    self.at += 1;
                    return Ok(&self.text[from..self.at - 1]);
                }
                Some(b'\\') => self.escape()?,
                Some(0..32) => return Err(self.wrong("no control character in a string")),
                Some(_) => self.at += 1,
                None => return Err(self.wrong("the end of a string")),
            }
        }
    }

    fn escape(&mut self) -> Result<(), Wrong> {
        let rest = &self.text.as_bytes()[self.at..];
        let length = match rest.get(1) {
            Some(b'"' | b'\\' | b'/' | b'b' | b'f' | b'n' | b'r' | b't') => 2,
            Some(b'u') if rest.get(2..6).is_some_and(|h| h.iter().all(u8::is_ascii_hexdigit)) => 6,
            _ => return Err(self.wrong("an escape of JSON")),
        };
        self.at += length;
        Ok(())
    }

    fn digits(&mut self) -> Result<(), Wrong> {
        let from = self.at;
        while matches!(self.byte(), Some(b'0'..=b'9')) {
            self.at += 1;
        }
        if self.at > from { Ok(()) } else { Err(self.wrong("a digit")) }
    }

    /// A number as it is written.
    pub fn number_text(&mut self) -> Result<&'a str, Wrong> {
        let from = self.next_at();
        if self.byte() == Some(b'-') {
            self.at += 1;
        }
        if self.byte() == Some(b'0') {
            self.at += 1;
        } else {
            self.digits()?;
        }
        if self.byte() == Some(b'.') {
            self.at += 1;
            self.digits()?;
        }
        if matches!(self.byte(), Some(b'e' | b'E')) {
            self.at += 1;
            if matches!(self.byte(), Some(b'+' | b'-')) {
                self.at += 1;
            }
            self.digits()?;
        }
        Ok(&self.text[from..self.at])
    }

    /// A string, escapes resolved.
    pub fn string(&mut self) -> Result<Cow<'a, str>, Wrong> {
        self.quoted().map(unescaped)
    }

    /// Calls `each` with the name of every member of an object; it must read or skip the member's value.
    pub fn members<E: From<Wrong>>(&mut self, mut each: impl FnMut(&str, &mut Self) -> Result<(), E>) -> Result<(), E> {
        self.need(b'{', "an object")?;
        if self.peek() == Some(b'}') {
            self.at += 1;
            return Ok(());
        }
        loop {
            let key = unescaped(self.key()?);
            each(&key, self)?;
            if self.peek() == Some(b'}') {
                self.at += 1;
                return Ok(());
            }
            self.need(b',', "a comma or }")?;
        }
    }

    /// Calls `each` for every item of an array; it must read or skip the item.
    pub fn items<E: From<Wrong>>(&mut self, mut each: impl FnMut(&mut Self) -> Result<(), E>) -> Result<(), E> {
        self.need(b'[', "an array")?;
        if self.peek() == Some(b']') {
            self.at += 1;
            return Ok(());
        }
        loop {
            each(self)?;
            if self.peek() == Some(b']') {
                self.at += 1;
                return Ok(());
            }
            self.need(b',', "a comma or ]")?;
        }
    }
}

/// A string without its escapes; halves of surrogate pairs become U+FFFD.
fn unescaped(quoted: &str) -> Cow<'_, str> {
    if !quoted.contains('\\') {
        return Cow::Borrowed(quoted);
    }
    let mut units: Vec<u16> = Vec::with_capacity(quoted.len());
    let mut letters = quoted.chars();
    while let Some(letter) = letters.next() {
        if letter != '\\' {
            units.extend(letter.encode_utf16(&mut [0; 2]).iter());
            continue;
        }
        units.push(match letters.next() {
            Some('b') => 8,
            Some('f') => 12,
            Some('n') => 10,
            Some('r') => 13,
            Some('t') => 9,
            Some('u') => {
                let hex: String = letters.by_ref().take(4).collect();
                u16::from_str_radix(&hex, 16).unwrap_or(0xfffd)
            }
            Some(other) => other as u16,
            None => 0xfffd,
        });
    }
    Cow::Owned(String::from_utf16_lossy(&units))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether the whole text is one JSON value, by this reader.
    fn accepts(text: &str) -> bool {
        let mut json = Json::new(text);
        json.skip().is_ok() && json.end().is_ok()
    }

    #[test]
    fn accepts_what_serde_json_accepts_and_nothing_else() {
        let whole = r#" {"a": [1, -2.5e+3, 0, true, false, null, {"b\n": "\u00e9\\"}, [], {}], "c" : "x" } "#;
        // Reference: crate serde_json 1.
        for n in 0..whole.len() * 8 {
            let mut bytes = whole.as_bytes().to_vec();
            bytes[n / 8] ^= 1 << (n % 8);
            for bytes in [bytes, whole.as_bytes()[..n / 8].to_vec()] {
                let Ok(text) = String::from_utf8(bytes) else { continue };
                assert_eq!(accepts(&text), serde_json::from_str::<serde::de::IgnoredAny>(&text).is_ok(), "{text}");
            }
        }
        for text in ["01", "-", "1.", ".5", "1e", "[1,]", "{,}", "\"\t\"", "nul", "[1 2]", "{\"a\" 1}", "1 2", "NaN", "\"\\x\"", ""] {
            assert!(!accepts(text), "{text}");
        }
    }

    #[test]
    fn depth_costs_no_stack() {
        let deep = "[".repeat(1_000_000);
        assert!(!accepts(&deep));
        assert!(accepts(&format!("{deep}{}", "]".repeat(1_000_000))));
    }

    #[test]
    fn strings_lose_their_escapes() {
        let mut json = Json::new(r#""a\"\u00e9\ud83c\udf0d\/\ud800""#);
        assert_eq!(json.string().unwrap(), "a\"é🌍/\u{fffd}");
    }
}
