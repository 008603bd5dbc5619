//! The drawing board: lots, blocks and street segments in plan metres, before they are turned and laid on the earth.

/// A place on the drawing board: metres to the right, metres up.
pub type Spot = [f64; 2];

/// Which side of a segment a lot lies on, seen in the segment's direction.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// On the left: odd numbers.
    Left,
    /// On the right: even numbers.
    Right,
}

/// What a lot is used for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Use {
    SingleFamily,
    Apartment,
    LargeLot,
    VacantLot,
    Park,
    School,
    Pond,
}

impl Use {
    /// As the county writes it.
    pub fn word(self) -> &'static str {
        match self {
            Self::SingleFamily => "Single family",
            Self::Apartment => "Apartment",
            Self::LargeLot => "Large lot",
            Self::VacantLot => "Vacant lot",
            Self::Park => "Park",
            Self::School => "School",
            Self::Pond => "Pond",
        }
    }
}

/// One lot.
pub struct Lot {
    /// Its outline, counter-clockwise, the first place not repeated.
    pub ring: Vec<Spot>,
    /// Its block, by place in [`Plan::blocks`].
    pub block: usize,
    /// The segment it faces, by place in [`Plan::segments`].
    pub segment: usize,
    /// House number on that street.
    pub number: u32,
    /// Unit of an apartment house.
    pub unit: Option<u32>,
    pub land_use: Use,
    /// Year built; 0 for bare ground.
    pub year: u32,
}

/// One block.
pub struct Block {
    pub name: String,
    pub ring: Vec<Spot>,
    /// The crew whose ground it is.
    pub crew: char,
}

/// A street between two corners.
pub struct Segment {
    /// Name; empty for an alley.
    pub name: &'static str,
    pub line: Vec<Spot>,
    /// The hundred that its house numbers begin with.
    pub hundred: u32,
    /// Lots facing it, on the left and on the right.
    pub lots: [u32; 2],
}

impl Segment {
    /// First and last house number of a side; none without a lot.
    pub fn range(&self, side: Side) -> Option<(u32, u32)> {
        let (lots, first) = match side {
            Side::Left => (self.lots[0], 1),
            Side::Right => (self.lots[1], 2),
        };
        (lots > 0).then(|| (self.hundred + first, self.hundred + first + 4 * (lots - 1)))
    }
}

/// The whole district on the drawing board.
#[derive(Default)]
pub struct Plan {
    pub lots: Vec<Lot>,
    pub blocks: Vec<Block>,
    pub segments: Vec<Segment>,
}

impl Plan {
    /// Adds a street segment and gives back its place.
    pub fn segment(&mut self, name: &'static str, line: Vec<Spot>, hundred: u32) -> usize {
        self.segments.push(Segment { name, line, hundred, lots: [0, 0] });
        self.segments.len() - 1
    }

    /// Adds a block and gives back its place.
    pub fn block(&mut self, name: String, ring: Vec<Spot>, crew: char) -> usize {
        self.blocks.push(Block { name, ring, crew });
        self.blocks.len() - 1
    }

    /// Adds a lot with the next free number on its side of the segment.
    pub fn lot(&mut self, ring: Vec<Spot>, block: usize, faces: (usize, Side), land_use: Use, year: u32) {
        let number = self.next_number(faces);
        self.lots.push(Lot { ring, block, segment: faces.0, number, unit: None, land_use, year });
    }

    /// Adds apartments that lie one over the other: the same outline for each unit.
    pub fn apartments(&mut self, ring: &[Spot], block: usize, faces: (usize, Side), units: u32, year: u32) {
        let number = self.next_number(faces);
        for unit in 1..=units {
            let land_use = Use::Apartment;
            self.lots.push(Lot { ring: ring.to_vec(), block, segment: faces.0, number, unit: Some(unit), land_use, year });
        }
    }

    fn next_number(&mut self, (segment, side): (usize, Side)) -> u32 {
        let s = &mut self.segments[segment];
        let (slot, first) = if side == Side::Left { (0, 1) } else { (1, 2) };
        s.lots[slot] += 1;
        s.hundred + first + 4 * (s.lots[slot] - 1)
    }
}

/// A rectangle, counter-clockwise from its lower left corner.
pub fn rectangle(low: Spot, high: Spot) -> Vec<Spot> {
    vec![low, [high[0], low[1]], high, [low[0], high[1]]]
}

/// The middle of a ring: centre of its area.
pub fn middle(ring: &[Spot]) -> Spot {
    let o = ring[0];
    let (mut area, mut u, mut v) = (0.0, 0.0, 0.0);
    for w in ring.windows(2) {
        let (a, b) = ([w[0][0] - o[0], w[0][1] - o[1]], [w[1][0] - o[0], w[1][1] - o[1]]);
        let cross = a[0] * b[1] - b[0] * a[1];
        area += cross;
        u += cross * (a[0] + b[0]);
        v += cross * (a[1] + b[1]);
    }
    [o[0] + u / (3.0 * area), o[1] + v / (3.0 * area)]
}
