//! The bytes of a shapefile of polygons, null shapes among them.
//!
//! # Source
//! ESRI Shapefile Technical Description, July 1998 (main file, index file); dBASE III table layout, from memory.

/// Rows of a shapefile being written.
pub struct ShapefileBytes {
    shp: Vec<u8>,
    shx: Vec<u8>,
    dbf_rows: Vec<u8>,
    fields: Vec<(&'static str, u8, u8)>,
    rows: u32,
    extent: [f64; 4],
}

const HEADER: usize = 100;

impl ShapefileBytes {
    /// An empty file with its columns: name, kind (`C` or `N`) and width.
    pub fn new(fields: &[(&'static str, u8, u8)]) -> Self {
        let extent = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
        Self { shp: vec![0; HEADER], shx: vec![0; HEADER], dbf_rows: Vec::new(), fields: fields.to_vec(), rows: 0, extent }
    }

    /// Adds a row: its ring, first place not repeated (none: a null shape), and its cells.
    pub fn push(&mut self, ring: Option<&[[f64; 2]]>, cells: &[String]) {
        self.rows += 1;
        let offset = (self.shp.len() / 2) as u32;
        let content = ring.map_or_else(|| 0i32.to_le_bytes().to_vec(), |r| self.polygon(r));
        self.shx.extend(offset.to_be_bytes());
        self.shx.extend((content.len() as u32 / 2).to_be_bytes());
        self.shp.extend(self.rows.to_be_bytes());
        self.shp.extend((content.len() as u32 / 2).to_be_bytes());
        self.shp.extend(content);
        self.dbf_rows.push(b' ');
        for ((_, kind, width), cell) in self.fields.iter().zip(cells) {
            let room = usize::from(*width);
            let padded = if *kind == b'N' { format!("{cell:>room$}").into_bytes() } else { cell.clone().into_bytes() };
            self.dbf_rows.extend(padded.iter().copied().chain(std::iter::repeat(b' ')).take(room));
        }
    }

    fn polygon(&mut self, ring: &[[f64; 2]]) -> Vec<u8> {
        // Outer rings run clockwise in this format.
        let twice: f64 = (0..ring.len()).map(|i| cross(ring[0], ring[i], ring[(i + 1) % ring.len()])).sum();
        let mut closed: Vec<[f64; 2]> = if twice > 0.0 { ring.iter().rev().copied().collect() } else { ring.to_vec() };
        closed.push(closed[0]);
        let mut own = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
        for p in &closed {
            own = grown(own, *p);
            self.extent = grown(self.extent, *p);
        }
        let mut out = 5i32.to_le_bytes().to_vec();
        out.extend(own.iter().flat_map(|v| v.to_le_bytes()));
        for number in [1, closed.len() as i32, 0] {
            out.extend(number.to_le_bytes());
        }
        out.extend(closed.iter().flatten().flat_map(|v| v.to_le_bytes()));
        out
    }

    /// The finished files: `.shp`, `.shx` and `.dbf`.
    pub fn finish(mut self) -> [Vec<u8>; 3] {
        let extent = self.extent;
        for file in [&mut self.shp, &mut self.shx] {
            let words = (file.len() / 2) as u32;
            file[0..4].copy_from_slice(&9994u32.to_be_bytes());
            file[24..28].copy_from_slice(&words.to_be_bytes());
            file[28..32].copy_from_slice(&1000u32.to_le_bytes());
            file[32..36].copy_from_slice(&5u32.to_le_bytes());
            for (i, v) in extent.iter().enumerate() {
                file[36 + 8 * i..44 + 8 * i].copy_from_slice(&v.to_le_bytes());
            }
        }
        let dbf = self.table();
        [self.shp, self.shx, dbf]
    }

    fn table(&self) -> Vec<u8> {
        let header = 32 + 32 * self.fields.len() as u16 + 1;
        let row = 1 + self.fields.iter().map(|f| u16::from(f.2)).sum::<u16>();
        let mut out = vec![3, 125, 7, 24]; // dBASE III without memo; last changed on 24 July 2025
        out.extend(self.rows.to_le_bytes());
        out.extend(header.to_le_bytes());
        out.extend(row.to_le_bytes());
        out.resize(32, 0);
        for (name, kind, width) in &self.fields {
            let mut field = name.as_bytes().to_vec();
            field.resize(11, 0);
            field.extend([*kind, 0, 0, 0, 0, *width]);
            field.resize(32, 0);
            out.extend(field);
        }
        out.push(0x0D);
        out.extend(&self.dbf_rows);
        out.push(0x1A);
        out
    }
}

fn cross(o: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - o[0]) * (b[1] - o[1]) - (b[0] - o[0]) * (a[1] - o[1])
}

fn grown(e: [f64; 4], p: [f64; 2]) -> [f64; 4] {
    [e[0].min(p[0]), e[1].min(p[1]), e[2].max(p[0]), e[3].max(p[1])]
}
