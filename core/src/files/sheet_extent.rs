//! Whether an open document is whole, and how many cells its sheets span, before anything is set aside for them.
//!
//! # Source
//! OASIS OpenDocument 1.2, part 1, section 9.1: rows and cells may say that they stand for many (from memory).

/// The most cells that the sheets of one file may span together, repeated ones counted.
pub(super) const MOST_CELLS: u64 = 16_000_000;

/// The cells of the widest rectangle that each sheet's filled cells span, over all sheets.
pub(super) fn cells_spanned(content: &str) -> u64 {
    let mut all = 0u64;
    let mut sheet = Sheet::default();
    for tag in content.split('<').skip(1) {
        let name = tag.split(|c: char| c.is_whitespace() || c == '>' || c == '/').find(|n| !n.is_empty()).unwrap_or_default();
        match name.rsplit(':').next().unwrap_or_default() {
            "table" if !tag.starts_with('/') => all = all.saturating_add(std::mem::take(&mut sheet).cells()),
            "table-row" if !tag.starts_with('/') => sheet.row(repeated(tag, "number-rows-repeated=")),
            "table-cell" | "covered-table-cell" if !tag.starts_with('/') => {
                let filled = tag.contains("value-type=") || tag.contains("formula=");
                sheet.cell(repeated(tag, "number-columns-repeated="), filled);
            }
            _ => {}
        }
    }
    all.saturating_add(sheet.cells())
}

/// Whether every element of an XML text is closed, in the right order.
pub(super) fn is_whole(text: &str) -> bool {
    let mut open: Vec<&str> = Vec::new();
    let mut rest = text;
    while let Some(at) = rest.find('<') {
        rest = &rest[at + 1..];
        let kinds = [("!--", "-->"), ("![CDATA[", "]]>"), ("?", "?>"), ("!", ">")];
        if let Some((begin, end)) = kinds.into_iter().find(|(begin, _)| rest.starts_with(begin)) {
            let Some(at) = rest[begin.len()..].find(end) else { return false };
            rest = &rest[begin.len() + at + end.len()..];
            continue;
        }
        let Some(end) = tag_end(rest) else { return false };
        let tag = &rest[..end];
        rest = &rest[end + 1..];
        let name = tag.find(|c: char| c.is_whitespace() || c == '/').unwrap_or(tag.len());
        match tag.strip_prefix('/') {
            Some(closed) if open.pop() != Some(closed.trim_end()) => return false,
            None if !tag.ends_with('/') => open.push(&tag[..name]),
            _ => {}
        }
    }
    open.is_empty()
}

/// Where a tag ends: at the first `>` outside quotation marks.
fn tag_end(tag: &str) -> Option<usize> {
    let mut quote = None;
    tag.char_indices().find_map(|(i, c)| match (quote, c) {
        (None, '>') => Some(i),
        (None, '"' | '\'') => {
            quote = Some(c);
            None
        }
        (Some(q), c) if q == c => {
            quote = None;
            None
        }
        _ => None,
    })
}

#[derive(Default)]
struct Sheet {
    /// Rows before the present one.
    rows: u64,
    /// How many rows the present one stands for.
    times: u64,
    /// Cells of the present row so far.
    cells: u64,
    last_filled_row: u64,
    widest: u64,
}

impl Sheet {
    fn row(&mut self, times: u64) {
        self.rows = self.rows.saturating_add(self.times);
        (self.times, self.cells) = (times, 0);
    }

    fn cell(&mut self, times: u64, filled: bool) {
        self.cells = self.cells.saturating_add(times);
        if filled {
            self.widest = self.widest.max(self.cells);
            self.last_filled_row = self.rows.saturating_add(self.times);
        }
    }

    fn cells(&self) -> u64 {
        self.last_filled_row.saturating_mul(self.widest)
    }
}

/// How many a tag stands for: the number behind the attribute's quotation mark, else one.
fn repeated(tag: &str, attribute: &str) -> u64 {
    let Some(at) = tag.find(attribute) else { return 1 };
    let digits = tag[at + attribute.len()..].trim_start_matches(['"', '\'']);
    let length = digits.bytes().take_while(u8::is_ascii_digit).count();
    digits[..length].parse().unwrap_or(u64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_filled_cells_span_a_sheet_and_repetition_counts() {
        let sheet = r#"<table:table table:name="S"><table:table-row><table:table-cell office:value-type="string"><text:p>a</text:p></table:table-cell></table:table-row>
            <table:table-row table:number-rows-repeated="9"><table:table-cell table:number-columns-repeated="4"/><table:table-cell office:value-type="float"/></table:table-row>
            <table:table-row table:number-rows-repeated="1048576"><table:table-cell table:number-columns-repeated="16384"/></table:table-row></table:table>"#;
        assert_eq!(cells_spanned(sheet), 10 * 5);
        assert_eq!(cells_spanned(&format!("{sheet}{sheet}")), 100);
        assert_eq!(cells_spanned(""), 0);
    }

    #[test]
    fn what_is_left_open_is_noticed() {
        let whole = "<?xml version=\"1.0\"?><!-- <x> --><a b=\"1 > 0\"><c/><d e='/'>t</d ><![CDATA[<z>]]></a>";
        assert!(is_whole(whole) && is_whole(""));
        for cut in 1..whole.len() - 3 {
            let part = &whole[..cut];
            // What ends before the first element begins has nothing open.
            assert!(!is_whole(part) || !part.contains("<a"), "{part}");
        }
        assert!(!is_whole("<a><b></a></b>") && !is_whole("<a></b>"));
    }
}
