//! How often the 95 % intervals hold the truth: 10,000 made-up blocks of each size, their yards clustered.
//!
//! Blocks differ in how bad they are (mean 0.5 positive containers a yard, log-normal spread 0.7) and in how much counts
//! cluster (dispersion about 0.5); doors are drawn by chance. From 8 doors up all three indices hold between 93 and 97 of 100
//! truths; with 4 doors they hold more than promised (wider than need be), up to 99, and so does the Breteau index in blocks of 20
//! premises, up to 98. README says so. The table is printed:
//! `cargo test --test coverage -- --nocapture`.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not as it should be")]

use yardring_core::measure::{Yard, breteau_interval, container_interval, share_of_block};

/// Random numbers from a seed (SplitMix64, from memory).
struct Random(u64);

impl Random {
    fn share(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let a = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let b = (a ^ (a >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((b ^ (b >> 31)) >> 11) as f64 / 2f64.powi(53)
    }

    fn normal(&mut self) -> f64 {
        (-2.0 * (1.0 - self.share()).ln()).sqrt() * (std::f64::consts::TAU * self.share()).cos()
    }

    /// A gamma variate of some shape and scale 1 (Marsaglia and Tsang 2000, from memory).
    fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            return self.gamma(shape + 1.0) * (1.0 - self.share()).powf(1.0 / shape);
        }
        let d = shape - 1.0 / 3.0;
        loop {
            let x = self.normal();
            let v = (1.0 + x / (9.0 * d).sqrt()).powi(3);
            if v > 0.0 && (1.0 - self.share()).ln() < 0.5 * x * x + d - d * v + d * v.ln() {
                return d * v;
            }
        }
    }

    fn poisson(&mut self, mean: f64) -> u32 {
        let (mut n, mut product, floor) = (0, 1.0 - self.share(), (-mean.min(600.0)).exp());
        while product > floor {
            product *= 1.0 - self.share();
            n += 1;
        }
        n
    }
}

/// A yard of a block: clustered positives, and wet containers that hold them.
fn yard(random: &mut Random, mean: f64, dispersion: f64) -> Yard {
    let badness = random.gamma(dispersion) / dispersion;
    let positive = random.poisson(mean * badness);
    Yard { positive, wet: positive + random.poisson(3.0) }
}

/// Whether the house, container and Breteau intervals of one block hold its truth, where there is an interval.
fn block(random: &mut Random, premises: usize, doors: usize) -> [Option<bool>; 3] {
    let (mean, dispersion) = ((0.5f64.ln() + 0.7 * random.normal()).exp(), (0.5f64.ln() + 0.4 * random.normal()).exp());
    let yards: Vec<Yard> = (0..premises).map(|_| yard(random, mean, dispersion)).collect();
    let seen = &yards[..doors];
    let sum = |of: fn(&Yard) -> u32| yards.iter().map(|y| f64::from(of(y))).sum::<f64>();
    let bad = |y: &&Yard| y.positive > 0;
    let positives = seen.iter().filter(bad).count() as u64;
    let house = share_of_block(positives, doors as u64, premises as u64);
    let truth = yards.iter().filter(bad).count() as f64 / premises as f64;
    let within = |low: f64, high: f64, truth: f64| low - 1e-9 <= truth && truth <= high + 1e-9;
    [
        house.map(|i| within(i.low, i.high, truth)),
        container_interval(seen, premises as u64).map(|i| within(i.low, i.high, 100.0 * sum(|y| y.positive) / sum(|y| y.wet))),
        breteau_interval(seen, premises as u64).map(|(i, _)| within(i.low, i.high, 100.0 * sum(|y| y.positive) / premises as f64)),
    ]
}

#[test]
fn intervals_hold_the_truth_as_often_as_they_say() {
    let mut rows: Vec<(usize, usize, Vec<f64>)> = Vec::new();
    println!("premises  doors  house  container  Breteau   (per cent of 10,000 blocks)");
    for (premises, doors) in
        [(20, 8), (20, 12), (20, 16), (40, 4), (40, 8), (40, 16), (40, 30), (200, 4), (200, 8), (200, 16), (200, 30), (60, 30), (200, 60)]
    {
        let mut random = Random(7);
        let (mut held, mut all) = ([0.0; 3], [0.0; 3]);
        for _ in 0..10_000 {
            for (k, held_here) in block(&mut random, premises, doors).into_iter().enumerate() {
                all[k] += f64::from(u8::from(held_here.is_some()));
                held[k] += f64::from(u8::from(held_here == Some(true)));
            }
        }
        let share: Vec<f64> = held.iter().zip(all).map(|(h, a)| 100.0 * h / a).collect();
        println!("{premises:8}  {doors:5}  {:5.1}  {:9.1}  {:7.1}", share[0], share[1], share[2]);
        rows.push((premises, doors, share));
    }
    // Wider than need be: few doors, and the Breteau index of a small block of which most is seen.
    let most = |premises: usize, doors: usize, index: usize| match () {
        () if doors < 8 => 99.5,
        () if premises < 40 && index == 2 => 98.0,
        () => 97.0,
    };
    let held = |(premises, doors, row): &(usize, usize, Vec<f64>)| {
        row.iter().enumerate().all(|(index, share)| (93.0..=most(*premises, *doors, index)).contains(share))
    };
    assert!(rows.iter().all(held), "{rows:?}");
}
