//! Outlines from all over an arena copied side by side into a new one: each copy waits for memory, and two threads wait half as
//! long.

use super::{Bounds, Local, RawShapes, ShapeView, Shapes};
use rayon::prelude::*;

/// How many outlines one thread copies at a time.
const STRIDE: usize = 2048;

pub(super) fn gathered<'s>(count: usize, outline: &(impl Fn(usize) -> Option<ShapeView<'s>> + Sync)) -> Shapes {
    let stretch = |first: usize| (first..(first + STRIDE).min(count)).map(|i| Some(Own::of(outline(i)?))).collect();
    let stretches: Vec<Vec<Option<Own<'_>>>> = (0..count).into_par_iter().step_by(STRIDE).map(stretch).collect();
    let room_for = |stretch: &Vec<Option<Own<'_>>>| {
        let own = stretch.iter().flatten().map(|own| own.view.counts());
        let [places, rings, parts] = own.fold([0; 3], |a, b| [a[0] + b[0], a[1] + b[1], a[2] + b[2]]);
        [places, rings, parts, stretch.len()]
    };
    let counts: Vec<[usize; 4]> = stretches.par_iter().map(room_for).collect();
    let whole = |k: usize| counts.iter().map(|c| c[k]).sum::<usize>();
    let mut raw = RawShapes {
        xy: vec![[0.0; 2]; whole(0)],
        ring_ends: vec![0; whole(1)],
        part_ends: vec![0; whole(2)],
        shape_ends: vec![0; whole(3)],
    };
    let mut bounds = vec![Bounds::EMPTY; whole(3)];
    let rooms = rooms(&mut raw, &mut bounds, &counts);
    stretches.par_iter().zip(rooms).for_each(|(stretch, room)| room.fill(stretch));
    Shapes::of_columns(raw, bounds)
}

/// An outline to copy. Where its places lie is asked for all outlines before any is copied: memory then answers many questions at once.
struct Own<'s> {
    view: ShapeView<'s>,
    places: &'s [Local],
}

impl<'s> Own<'s> {
    fn of(view: ShapeView<'s>) -> Self {
        Self { view, places: view.places() }
    }
}

/// Room for some outlines among the columns of all.
struct Room<'c> {
    /// Places, rings and parts before the next outline.
    before: [usize; 3],
    xy: &'c mut [[f64; 2]],
    ring_ends: &'c mut [u32],
    part_ends: &'c mut [u32],
    shape_ends: &'c mut [u32],
    bounds: &'c mut [Bounds],
}

impl Room<'_> {
    /// Copies outlines to where they belong; `None` leaves the bounds empty.
    fn fill(mut self, outlines: &[Option<Own<'_>>]) {
        for own in outlines.iter().flatten() {
            cut(&mut self.xy, own.places.len()).iter_mut().zip(own.places).for_each(|(to, p)| *to = [p.x, p.y]);
        }
        for (outline, (end, bounds)) in outlines.iter().zip(self.shape_ends.iter_mut().zip(self.bounds)) {
            if let Some(Own { view, .. }) = outline {
                *bounds = *view.bounds();
                for part in view.parts() {
                    for ring in part.rings() {
                        self.before[0] += ring.len();
                        self.before[1] += 1;
                        cut(&mut self.ring_ends, 1)[0] = self.before[0] as u32;
                    }
                    self.before[2] += 1;
                    cut(&mut self.part_ends, 1)[0] = self.before[1] as u32;
                }
            }
            *end = self.before[2] as u32;
        }
    }
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
