//! Outlines from all over an arena copied side by side into a new one: each copy waits for memory, and two threads wait half as
//! long.

use super::{Bounds, RawShapes, ShapeView, Shapes};
use rayon::prelude::*;

/// How many outlines one thread copies at a time.
const STRIDE: usize = 8192;

pub(super) fn gathered<'s>(count: usize, outline: &(impl Fn(usize) -> Option<ShapeView<'s>> + Sync)) -> Shapes {
    let stretch = |first: usize| {
        let numbers = first..(first + STRIDE).min(count);
        let mut own = Shapes::with_capacity(numbers.len(), numbers.len() * 8);
        for i in numbers {
            match outline(i) {
                Some(view) => own.push_view(view),
                None => own.end_shape(),
            }
        }
        own
    };
    side_by_side((0..count).into_par_iter().step_by(STRIDE).map(stretch).collect())
}

/// Room for one arena among the columns of all, and what stands before it.
pub(super) struct Room<'c> {
    /// Places, rings and parts before it.
    pub before: [usize; 3],
    pub xy: &'c mut [[f64; 2]],
    pub ring_ends: &'c mut [u32],
    pub part_ends: &'c mut [u32],
    pub shape_ends: &'c mut [u32],
    pub bounds: &'c mut [Bounds],
}

/// One arena of all, each copied on its own and let go of.
fn side_by_side(parts: Vec<Shapes>) -> Shapes {
    let counts: Vec<[usize; 4]> = parts.iter().map(Shapes::counts).collect();
    let whole = |k: usize| counts.iter().map(|c| c[k]).sum::<usize>();
    let mut raw = RawShapes {
        xy: vec![[0.0; 2]; whole(0)],
        ring_ends: vec![0; whole(1)],
        part_ends: vec![0; whole(2)],
        shape_ends: vec![0; whole(3)],
    };
    let mut bounds = vec![Bounds::EMPTY; whole(3)];
    let rooms = rooms(&mut raw, &mut bounds, &counts);
    parts.into_par_iter().zip(rooms).for_each(|(part, room)| part.copy_to(room));
    Shapes::of_columns(raw, bounds)
}

fn rooms<'c>(raw: &'c mut RawShapes, bounds: &'c mut [Bounds], counts: &[[usize; 4]]) -> Vec<Room<'c>> {
    let (mut xy, mut rings, mut parts) = (&mut raw.xy[..], &mut raw.ring_ends[..], &mut raw.part_ends[..]);
    let (mut shapes, mut boxes) = (&mut raw.shape_ends[..], bounds);
    let mut before = [0; 3];
    let room = |&[places, ring, part, shape]: &[usize; 4]| {
        let own = Room {
            before,
            xy: cut(&mut xy, places),
            ring_ends: cut(&mut rings, ring),
            part_ends: cut(&mut parts, part),
            shape_ends: cut(&mut shapes, shape),
            bounds: cut(&mut boxes, shape),
        };
        before = [before[0] + places, before[1] + ring, before[2] + part];
        own
    };
    counts.iter().map(room).collect()
}

/// The first so many of a slice, which keeps the rest.
fn cut<'c, T>(from: &mut &'c mut [T], count: usize) -> &'c mut [T] {
    let (own, rest) = std::mem::take(from).split_at_mut(count);
    *from = rest;
    own
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::Local;
    use proptest::prelude::*;

    proptest! {
        /// The same as pushing one outline after the other, over the end of a stretch too.
        #[test]
        fn is_what_pushing_one_by_one_gives(
            shapes in prop::collection::vec(prop::collection::vec(prop::collection::vec(1..5_usize, 1..3), 0..3), 1..20),
            step in 1..19_usize,
            count in prop::sample::select(vec![0, 1, 50, STRIDE, STRIDE + 1, 2 * STRIDE + 77]),
        ) {
            let mut from = Shapes::default();
            let mut n = 0.0;
            for parts in &shapes {
                for part in parts {
                    for &ring in part {
                        (0..ring).for_each(|_| { n += 1.0; from.push_place(Local { x: n, y: -3.0 * n }) });
                        from.end_ring();
                    }
                    from.end_part();
                }
                from.end_shape();
            }
            let outline = |i: usize| (i % 7 != 3).then(|| from.get(i * step % from.len()));
            let mut slowly = Shapes::default();
            for i in 0..count {
                match outline(i) {
                    Some(view) => slowly.push_view(view),
                    None => slowly.end_shape(),
                }
            }
            prop_assert!(Shapes::gathered(count, outline) == slowly);
        }
    }
}
