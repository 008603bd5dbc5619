//! Reading a long table straight from the pages of its file, several threads at once.
//!
//! Nothing here is the last word: whatever looks odd gives `None`, and the caller asks SQLite, which knows all that a
//! database may be.
//!
//! # Source
//! SQLite, Database File Format, sections 1.3 (header), 1.6 (b-tree pages), 1.7 (overflow pages).

use super::long_table::{PAGE, staying};
use super::record::{Cell, split, varint};
use std::fs::File;
use std::io::{Read as _, Seek as _, SeekFrom};

/// Pages read at once: so few that their memory is still at hand when the next are read into it.
const AT_ONCE: usize = 64;

/// A file of the plain kind that is read here: whole pages of the size written here, UTF-8, nothing kept beside the file.
#[derive(Debug)]
pub(crate) struct Pages {
    file: File,
    count: u32,
}

impl Pages {
    /// The pages of a file, when it is of the plain kind.
    pub(crate) fn of(mut file: File) -> Option<Self> {
        let mut head = [0; 100];
        file.read_exact(&mut head).ok()?;
        let plain = head.starts_with(b"SQLite format 3\0")
            && head[16..18] == (PAGE as u16).to_be_bytes()
            && head[18..21] == [1, 1, 0]
            && head[24..28] == head[92..96]
            && head[56..60] == [0, 0, 0, 1];
        let count = u32::from_be_bytes([head[28], head[29], head[30], head[31]]);
        let bytes = file.metadata().ok()?.len();
        (plain && bytes == u64::from(count) * PAGE as u64).then_some(Self { file, count })
    }

    /// The pages that hold the rows of a table, in the order of the keys.
    pub(crate) fn leaves(&mut self, root: u32) -> Option<Vec<u32>> {
        let mut leaves = Vec::new();
        self.descend(root, 0, &mut leaves)?;
        Some(leaves)
    }

    /// Goes down from an inner page. All leaves of a tree lie at the same depth, so that one look tells for all children.
    fn descend(&mut self, number: u32, depth: u32, leaves: &mut Vec<u32>) -> Option<()> {
        let page = self.read(number, 1)?;
        if page[0] == 13 {
            leaves.push(number);
            return Some(());
        }
        let children = children(&page)?;
        if depth > 8 || children.len() + leaves.len() > self.count as usize {
            return None;
        }
        match children.first().map(|&first| self.read(first, 1)) {
            Some(Some(page)) if page[0] == 13 => leaves.extend_from_slice(&children),
            Some(Some(_)) => children.into_iter().try_for_each(|child| self.descend(child, depth + 1, leaves))?,
            _ => return None,
        }
        Some(())
    }

    fn read(&mut self, first: u32, count: usize) -> Option<Vec<u8>> {
        let mut bytes = vec![0; count * PAGE];
        self.read_into(first, &mut bytes)?;
        Some(bytes)
    }

    fn read_into(&mut self, first: u32, bytes: &mut [u8]) -> Option<()> {
        let fits = first >= 2 && u64::from(first) - 1 + (bytes.len() / PAGE) as u64 <= u64::from(self.count);
        self.file.seek(SeekFrom::Start(u64::from(first.checked_sub(1)?) * PAGE as u64)).ok()?;
        if fits { self.file.read_exact(bytes).ok() } else { None }
    }

    /// Calls `each` with the key and the first `N` cells of every row on some leaves, in order; stops with `None` as soon as
    /// it does.
    pub(crate) fn rows<const N: usize>(&mut self, leaves: &[u32], mut each: impl FnMut(i64, &[Cell<'_>; N]) -> Option<()>) -> Option<()> {
        let mut run = Vec::new();
        let mut long = Vec::new();
        for together in leaves.chunk_by(|a, b| a.checked_add(1) == Some(*b)).flat_map(|run| run.chunks(AT_ONCE)) {
            run.resize(together.len() * PAGE, 0);
            self.read_into(together[0], &mut run)?;
            for page in run.chunks_exact(PAGE) {
                if page[0] != 13 {
                    return None;
                }
                for i in 0..two(page, 3)? {
                    self.row(page, two(page, 8 + 2 * i)?, &mut long, &mut each)?;
                }
            }
        }
        Some(())
    }

    fn row<const N: usize>(
        &mut self,
        page: &[u8],
        at: usize,
        long: &mut Vec<u8>,
        each: &mut impl FnMut(i64, &[Cell<'_>; N]) -> Option<()>,
    ) -> Option<()> {
        let cell = page.get(at..)?;
        let (size, a) = varint(cell)?;
        let (key, b) = varint(&cell[a..])?;
        let size = usize::try_from(size).ok().filter(|&s| s <= self.count as usize * PAGE)?;
        let stays = staying(size);
        let here = cell.get(a + b..a + b + stays)?;
        let mut cells = [Cell::Nothing; N];
        if split(here, &mut cells).is_none() {
            let next = cell.get(a + b + stays..a + b + stays + 4).filter(|_| stays < size)?;
            self.gather(here, next, size, long)?;
            cells = [Cell::Nothing; N];
            split(long, &mut cells)?;
        }
        each(key as i64, &cells)
    }

    /// Puts a row together that goes on in pages of its own.
    fn gather(&mut self, here: &[u8], next: &[u8], size: usize, long: &mut Vec<u8>) -> Option<()> {
        long.clear();
        long.extend_from_slice(here);
        let mut next = four(next, 0)?;
        while long.len() < size {
            let page = self.read(next, 1)?;
            next = four(&page, 0)?;
            long.extend_from_slice(&page[4..PAGE.min(4 + size - long.len())]);
        }
        Some(())
    }
}

fn two(bytes: &[u8], at: usize) -> Option<usize> {
    bytes.get(at..at + 2).map(|b| usize::from(u16::from_be_bytes([b[0], b[1]])))
}

fn four(bytes: &[u8], at: usize) -> Option<u32> {
    bytes.get(at..at + 4).map(|b| u32::from_be_bytes([b[0], b[1], b[2], b[3]]))
}

/// The pages below an inner page, in the order of their keys.
fn children(page: &[u8]) -> Option<Vec<u32>> {
    if page[0] != 5 {
        return None;
    }
    let mut all = (0..two(page, 3)?).map(|i| four(page, two(page, 12 + 2 * i)?)).collect::<Option<Vec<u32>>>()?;
    all.push(four(page, 8)?);
    Some(all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rusqlite::{Connection, params};

    /// Rows that SQLite itself wrote, out of order and some deleted again, against what SQLite reads.
    #[test]
    fn rows_that_sqlite_wrote_are_read_as_sqlite_reads_them() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("t.db");
        let db = Connection::open(&path).unwrap();
        db.execute_batch("PRAGMA page_size = 4096; CREATE TABLE t (k INTEGER PRIMARY KEY, n INTEGER, b BLOB); BEGIN").unwrap();
        for i in 0..9_000i64 {
            let size = if i % 50 == 0 { 20_000 } else { i % 300 };
            db.execute("INSERT INTO t VALUES (?1, ?2, ?3)", params![i * 7_919 % 9_001, i - 4_000, vec![i as u8; size as usize]]).unwrap();
        }
        db.execute_batch("DELETE FROM t WHERE k % 3 = 1; COMMIT").unwrap();
        let mut ask = db.prepare("SELECT k, n, b FROM t ORDER BY k").unwrap();
        let wanted: Vec<(i64, i64, Vec<u8>)> =
            ask.query_map([], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?))).unwrap().map(|r| r.unwrap()).collect();
        let root = db.query_row("SELECT rootpage FROM sqlite_schema WHERE name = 't'", [], |r| r.get(0)).unwrap();
        let mut pages = Pages::of(File::open(&path).unwrap()).unwrap();
        let leaves = pages.leaves(root).unwrap();
        let mut found = Vec::new();
        let read = pages.rows(&leaves, |key, cells: &[Cell<'_>; 3]| match cells {
            [Cell::Nothing, Cell::Whole(n), Cell::Blob(b)] => {
                found.push((key, *n, b.to_vec()));
                Some(())
            }
            _ => None,
        });
        assert!(read.is_some() && found == wanted);
    }

    #[test]
    fn a_database_with_pages_kept_beside_it_is_left_to_sqlite() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("t.db");
        let db = Connection::open(&path).unwrap();
        db.execute_batch("PRAGMA journal_mode = WAL; CREATE TABLE t (a)").unwrap();
        assert!(Pages::of(File::open(&path).unwrap()).is_none());
    }
}
