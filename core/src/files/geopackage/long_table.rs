//! Writing a long table as finished pages at the end of the file.
//!
//! SQLite takes about a microsecond to insert a row, most of it to find out again and again that the row goes at the end.
//! Rows that come in the order of their keys can be packed into pages directly, several threads at once.
//!
//! # Source
//! SQLite, Database File Format, sections 1.3 (header), 1.4 (lock-byte page), 1.6 (b-tree pages), 1.7 (overflow pages).

use super::record::{RecordWriter, put_varint};
use rayon::prelude::*;
use std::fs::File;
use std::io::{Read as _, Result, Seek as _, SeekFrom, Write as _};

/// Bytes of a page in every file written here.
pub(crate) const PAGE: usize = 4096;
/// The page that holds the byte at one gibibyte; SQLite keeps it for its locks.
const LOCK_PAGE: u32 = (1 << 30) / PAGE as u32 + 1;
/// Rows that one thread packs at a stretch.
const STRETCH: usize = 8_192;
/// Most children of an inner page: four bytes of number, nine of key and two of offset each.
const CHILDREN: usize = (PAGE - 12) / 15;
/// Bytes that most rows take at most.
const USUAL: usize = 320;
/// Longest row that stays whole on its page, and the least that stays of one that does not.
const WHOLE: usize = PAGE - 35;
const LEAST: usize = (PAGE - 12) * 32 / 255 - 23;

/// Fills an empty table whose root page is `root` with `rows` rows; `key` gives a row's key, rising with the rows, and
/// `write` its cells. No program may have the file open. `stop` is asked now and then.
pub(crate) fn fill_table<E: From<std::io::Error>>(
    file: &mut File,
    root: u32,
    rows: usize,
    key: impl Fn(usize) -> i64 + Sync,
    write: impl Fn(usize, &mut RecordWriter) + Sync,
    mut stop: impl FnMut(usize) -> std::result::Result<(), E>,
) -> std::result::Result<(), E> {
    let mut end = End::of(file)?;
    let starts: Vec<usize> = (0..rows).step_by(STRETCH).collect();
    let mut children = Vec::new();
    for wave in starts.chunks(rayon::current_num_threads().max(1)) {
        stop(wave[0])?;
        let pack = |&from: &usize| Packed::new(from..rows.min(from + STRETCH), &key, &write);
        for mut packed in wave.par_iter().map(pack).collect::<Vec<_>>() {
            packed.append(file, &mut end, root, rows <= STRETCH, &mut children)?;
        }
    }
    while children.len() > CHILDREN {
        children = level(file, &mut end, &children)?;
    }
    if children.len() > 1 {
        write_page(file, root, &inner_page(&children))?;
    }
    end.note(file)?;
    Ok(())
}

/// Where the file ends.
struct End {
    next: u32,
}

impl End {
    fn of(file: &mut File) -> Result<Self> {
        let mut count = [0; 4];
        file.seek(SeekFrom::Start(28))?;
        file.read_exact(&mut count)?;
        Ok(Self { next: u32::from_be_bytes(count) + 1 })
    }

    /// The number that the page `ahead` pages on will get.
    fn number(&self, ahead: u32) -> u32 {
        numbered(self.next, ahead, LOCK_PAGE)
    }

    fn append(&mut self, file: &mut File, pages: &[u8]) -> Result<()> {
        let count = (pages.len() / PAGE) as u32;
        let before = LOCK_PAGE.saturating_sub(self.next).min(count);
        file.seek(SeekFrom::Start(offset(self.next)))?;
        file.write_all(&pages[..before as usize * PAGE])?;
        if before < count {
            file.seek(SeekFrom::Start(offset(self.number(before))))?;
            file.write_all(&pages[before as usize * PAGE..])?;
        }
        self.next = self.number(count);
        Ok(())
    }

    /// Writes the number of pages into the file's header.
    fn note(&self, file: &mut File) -> Result<()> {
        file.seek(SeekFrom::Start(28))?;
        file.write_all(&(self.next - 1).to_be_bytes())
    }
}

/// The page some pages on from another, the lock page left out.
fn numbered(next: u32, ahead: u32, lock: u32) -> u32 {
    next + ahead + u32::from(next <= lock && next + ahead >= lock)
}

fn offset(page: u32) -> u64 {
    u64::from(page - 1) * PAGE as u64
}

fn write_page(file: &mut File, number: u32, page: &[u8]) -> Result<()> {
    file.seek(SeekFrom::Start(offset(number)))?;
    file.write_all(page)
}

/// A page below, and the highest key in or under it.
#[derive(Clone, Copy, Debug)]
struct Child {
    page: u32,
    last: i64,
}

/// Some rows in finished pages whose numbers are not yet known.
#[derive(Default)]
struct Packed {
    leaves: Vec<u8>,
    last_keys: Vec<i64>,
    /// Pages for what is left of rows too long for one page; they come before the leaves.
    rest: Vec<u8>,
    /// Where in `leaves` and in `rest` there are numbers of pages of `rest`, counted from 0.
    links: Vec<usize>,
    rest_links: Vec<usize>,
    cells: usize,
    content: usize,
    /// The size and the key of the row being added, as numbers of variable length.
    sizes: Vec<u8>,
}

impl Packed {
    fn new(rows: std::ops::Range<usize>, key: impl Fn(usize) -> i64, write: impl Fn(usize, &mut RecordWriter)) -> Self {
        let mut out = Self { leaves: Vec::with_capacity(rows.len() * USUAL), ..Self::default() };
        let mut record = RecordWriter::default();
        for row in rows {
            record.clear();
            write(row, &mut record);
            out.add(key(row), record.parts());
        }
        out.end_leaf();
        out
    }

    /// Adds a row, given as its head and its cells.
    fn add(&mut self, key: i64, (head, types, body): (u8, &[u8], &[u8])) {
        let size = 1 + types.len() + body.len();
        self.sizes.clear();
        put_varint(size as u64, &mut self.sizes);
        put_varint(key as u64, &mut self.sizes);
        // Types and head are short, so that what does not stay is all of the cells'.
        let stays = staying(size) - 1 - types.len();
        let (stay, rest) = body.split_at(stays);
        let first_of_rest = ((self.rest.len() / PAGE) as u32).to_be_bytes();
        let link: &[u8] = if rest.is_empty() { &[] } else { &first_of_rest };
        self.put_rest(rest);
        let length = self.sizes.len() + 1 + types.len() + stays + link.len();
        if self.content < 8 + 2 * self.cells + 2 + length {
            self.end_leaf();
            self.leaves.resize(self.leaves.len() + PAGE, 0);
            (self.cells, self.content) = (0, PAGE);
        }
        let page = self.leaves.len() - PAGE;
        self.content -= length;
        let mut at = page + self.content;
        for piece in [&self.sizes[..], &[head], types, stay, link] {
            self.leaves[at..at + piece.len()].copy_from_slice(piece);
            at += piece.len();
        }
        let pointer = page + 8 + 2 * self.cells;
        self.leaves[pointer..pointer + 2].copy_from_slice(&(self.content as u16).to_be_bytes());
        if !link.is_empty() {
            self.links.push(at - link.len());
        }
        if self.cells == 0 {
            self.last_keys.push(key);
        }
        self.cells += 1;
        if let Some(last) = self.last_keys.last_mut() {
            *last = key;
        }
    }

    /// Puts what is left of a long row on pages of its own, each naming the next.
    fn put_rest(&mut self, rest: &[u8]) {
        let mut pieces = rest.chunks(PAGE - 4).peekable();
        while let Some(piece) = pieces.next() {
            let page = self.rest.len();
            self.rest.resize(page + PAGE, 0);
            if pieces.peek().is_some() {
                self.rest[page..page + 4].copy_from_slice(&((page / PAGE) as u32 + 1).to_be_bytes());
                self.rest_links.push(page);
            }
            self.rest[page + 4..page + 4 + piece.len()].copy_from_slice(piece);
        }
    }

    fn end_leaf(&mut self) {
        if let Some(page) = self.leaves.len().checked_sub(PAGE) {
            self.leaves[page] = 13;
            self.leaves[page + 3..page + 5].copy_from_slice(&(self.cells as u16).to_be_bytes());
            self.leaves[page + 5..page + 7].copy_from_slice(&(self.content as u16).to_be_bytes());
        }
    }

    /// Writes the pages at the end of the file and notes the leaves. The only leaf of a table is its root.
    fn append(&mut self, file: &mut File, end: &mut End, root: u32, only: bool, children: &mut Vec<Child>) -> Result<()> {
        let renumber = |bytes: &mut [u8], links: &[usize]| {
            for &at in links {
                let mut four = [0; 4];
                four.copy_from_slice(&bytes[at..at + 4]);
                bytes[at..at + 4].copy_from_slice(&end.number(u32::from_be_bytes(four)).to_be_bytes());
            }
        };
        renumber(&mut self.leaves, &self.links);
        renumber(&mut self.rest, &self.rest_links);
        end.append(file, &self.rest)?;
        if only && self.last_keys.len() == 1 {
            return write_page(file, root, &self.leaves);
        }
        children.extend(self.last_keys.iter().zip(0..).map(|(&last, i)| Child { page: end.number(i), last }));
        end.append(file, &self.leaves)
    }
}

/// How much of a row stays on its page.
pub(super) fn staying(payload: usize) -> usize {
    if payload <= WHOLE {
        return payload;
    }
    let some = LEAST + (payload - LEAST) % (PAGE - 4);
    if some <= WHOLE { some } else { LEAST }
}

/// One level of inner pages over their children, dealt out evenly so that each has at least two.
fn level(file: &mut File, end: &mut End, children: &[Child]) -> Result<Vec<Child>> {
    let pages = children.len().div_ceil(CHILDREN);
    let mut above = Vec::with_capacity(pages);
    for k in 0..pages {
        let own = &children[k * children.len() / pages..(k + 1) * children.len() / pages];
        above.push(Child { page: end.number(0), last: own[own.len() - 1].last });
        end.append(file, &inner_page(own))?;
    }
    Ok(above)
}

fn inner_page(children: &[Child]) -> Vec<u8> {
    let mut page = vec![0; PAGE];
    let (last, others) = (&children[children.len() - 1], &children[..children.len() - 1]);
    let mut content = PAGE;
    let mut cell = Vec::new();
    for (i, child) in others.iter().enumerate() {
        cell.clear();
        cell.extend_from_slice(&child.page.to_be_bytes());
        put_varint(child.last as u64, &mut cell);
        content -= cell.len();
        page[content..content + cell.len()].copy_from_slice(&cell);
        page[12 + 2 * i..14 + 2 * i].copy_from_slice(&(content as u16).to_be_bytes());
    }
    page[0] = 5;
    page[3..5].copy_from_slice(&(others.len() as u16).to_be_bytes());
    page[5..7].copy_from_slice(&(content as u16).to_be_bytes());
    page[8..12].copy_from_slice(&last.page.to_be_bytes());
    page
}

#[cfg(test)]
mod tests {
    use super::*;
    use rusqlite::Connection;

    /// Against SQLite itself: its integrity check, and what it reads back.
    #[test]
    fn sqlite_reads_what_was_packed() {
        for (rows, longest) in [(0, 10), (1, 10), (1, 30_000), (30, 900), (700, 20), (20_000, 40), (9_000, 9_000)] {
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join("t.db");
            let db = Connection::open(&path).unwrap();
            db.execute_batch("PRAGMA page_size = 4096; CREATE TABLE t (k INTEGER PRIMARY KEY, n INTEGER, b BLOB); CREATE TABLE u (a)")
                .unwrap();
            let root = db.query_row("SELECT rootpage FROM sqlite_schema WHERE name = 't'", [], |r| r.get(0)).unwrap();
            drop(db);
            let mut file = File::options().read(true).write(true).open(&path).unwrap();
            let size = |i: usize| (i * 7_919 + longest - 1) % longest;
            let write = |i: usize, r: &mut RecordWriter| {
                r.nothing();
                r.whole(Some(i as i64 - 50));
                r.blob(|out| out.resize(out.len() + size(i), i as u8));
            };
            fill_table::<std::io::Error>(&mut file, root, rows, |i| 3 * i as i64 + 2, write, |_| Ok(())).unwrap();
            drop(file);
            let db = Connection::open(&path).unwrap();
            assert_eq!(db.query_row("PRAGMA integrity_check", [], |r| r.get::<_, String>(0)).unwrap(), "ok", "{rows} rows");
            let mut ask = db.prepare("SELECT k, n, b FROM t ORDER BY k").unwrap();
            let read = ask.query_map([], |r| Ok((r.get(0)?, r.get(1)?, r.get::<_, Vec<u8>>(2)?))).unwrap();
            let read: Vec<(i64, i64, Vec<u8>)> = read.map(|r| r.unwrap()).collect();
            assert_eq!(read.len(), rows);
            for (i, (k, n, b)) in read.into_iter().enumerate() {
                assert!(k == 3 * i as i64 + 2 && n == i as i64 - 50 && b == vec![i as u8; size(i)], "row {i} of {rows}");
            }
            db.execute("INSERT INTO t (n) VALUES (7)", []).unwrap();
            assert_eq!(db.query_row("PRAGMA integrity_check", [], |r| r.get::<_, String>(0)).unwrap(), "ok");
        }
    }

    #[test]
    fn the_lock_page_is_left_out() {
        let pages: Vec<u32> = (0..6).map(|ahead| numbered(98, ahead, 100)).collect();
        assert_eq!(pages, [98, 99, 101, 102, 103, 104]);
        assert_eq!((numbered(100, 0, 100), numbered(101, 0, 100)), (101, 101));
    }
}
