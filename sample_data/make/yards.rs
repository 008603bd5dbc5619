//! What stands about in a yard, and what a crew does with it.

use super::random::Chance;

/// One kind of container: how common it is, how many stand together, how often it holds water, litres in one, pupae one can
/// carry, and what is done with it.
pub struct Kind {
    pub name: &'static str,
    weight: f64,
    most: u32,
    wet: f64,
    litres: f64,
    pupae: u32,
    pub action: &'static str,
    remains: f64,
}

const fn kind(
    name: &'static str,
    (weight, most, wet): (f64, u32, f64),
    (litres, pupae): (f64, u32),
    (action, remains): (&'static str, f64),
) -> Kind {
    Kind { name, weight, most, wet, litres, pupae, action, remains }
}

/// All kinds. Invented figures, of the order that the trade meets.
pub const KINDS: [Kind; 19] = [
    kind("plant saucer", (16.0, 6, 0.55), (0.3, 4), ("emptied", 0.1)),
    kind("upturned pot", (8.0, 5, 0.25), (0.4, 3), ("turned over", 0.05)),
    kind("bucket", (12.0, 4, 0.45), (6.0, 14), ("turned over", 0.1)),
    kind("tarp", (7.0, 2, 0.4), (4.0, 8), ("emptied", 0.5)),
    kind("tire", (6.0, 5, 0.6), (3.0, 18), ("removed", 0.2)),
    kind("toy", (8.0, 4, 0.3), (0.5, 3), ("stored inside", 0.1)),
    kind("corrugated drain pipe", (6.0, 2, 0.5), (5.0, 12), ("drilled", 0.5)),
    kind("buried pipe", (2.0, 1, 0.7), (9.0, 30), ("screened", 0.7)),
    kind("gutter", (5.0, 2, 0.4), (6.0, 10), ("left", 1.0)),
    kind("bird bath", (5.0, 1, 0.8), (5.0, 6), ("emptied", 0.2)),
    kind("pet dish", (6.0, 2, 0.8), (1.0, 1), ("emptied", 0.1)),
    kind("watering can", (4.0, 2, 0.5), (4.0, 6), ("emptied", 0.1)),
    kind("wheelbarrow", (3.0, 1, 0.5), (12.0, 8), ("turned over", 0.05)),
    kind("recycling bin", (5.0, 2, 0.4), (3.0, 6), ("drilled", 0.3)),
    kind("pool", (3.0, 1, 0.7), (900.0, 40), ("treated", 0.6)),
    kind("pond", (1.0, 1, 1.0), (1200.0, 12), ("fish", 0.2)),
    kind("bamboo stump", (1.5, 6, 0.6), (0.2, 2), ("left", 0.9)),
    kind("tree hole", (2.0, 2, 0.6), (0.8, 4), ("treated", 0.4)),
    kind("rain barrel", (3.0, 2, 0.9), (150.0, 35), ("screened", 0.4)),
];

/// Some containers of one kind in a yard.
pub struct Item {
    pub kind: usize,
    pub count: u32,
}

/// What a crew writes down about one kind.
pub struct Found {
    pub kind: usize,
    pub count: u32,
    pub wet: u32,
    pub larvae: u32,
    pub pupae: u32,
    pub pupae_count: u32,
    pub stage: &'static str,
    pub litres: f64,
    pub action: &'static str,
    pub remains: bool,
}

/// What stands about in a yard: more of it in an untidy one. No kind twice.
pub fn items(chance: &mut Chance, untidy: f64) -> Vec<Item> {
    let mut out: Vec<Item> = Vec::new();
    for _ in 0..5 {
        if chance.happens(0.42 * untidy) {
            let kind = chance.pick(&KINDS.map(|k| k.weight));
            if out.iter().all(|i| i.kind != kind) {
                out.push(Item { kind, count: chance.whole(1, KINDS[kind].most) });
            }
        }
    }
    out
}

/// What a crew finds in a yard on a day. A yard that breeds has at least one container with larvae.
pub fn look(chance: &mut Chance, items: &[Item], breeds: bool) -> Vec<Found> {
    let bucket = [Item { kind: 2, count: 1 }];
    let items = if items.is_empty() && breeds { &bucket } else { items };
    let worst = if breeds { chance.whole(0, items.len() as u32 - 1) as usize } else { usize::MAX };
    let find = |(i, item): (usize, &Item)| {
        let k = &KINDS[item.kind];
        let mut wet = (0..item.count).filter(|_| chance.happens(k.wet)).count() as u32;
        if i == worst {
            wet = wet.max(1);
        }
        let breeding = wet > 0 && (i == worst || breeds && chance.happens(0.3));
        found(chance, item, wet, breeding)
    };
    items.iter().enumerate().map(find).collect()
}

fn found(chance: &mut Chance, item: &Item, wet: u32, breeding: bool) -> Found {
    let k = &KINDS[item.kind];
    let larvae = if breeding { chance.whole(1, wet) } else { 0 };
    let pupae = if breeding && chance.happens(0.45) { chance.whole(1, larvae) } else { 0 };
    let pupae_count = (0..pupae).map(|_| chance.whole(1, k.pupae)).sum();
    let stage = if pupae > 0 { "P" } else { ["L1", "L2", "L3", "L4"][chance.pick(&[1.0, 2.0, 3.0, 2.0])] };
    let litres = (f64::from(wet) * k.litres * chance.between(0.4, 1.3) * 10.0).round() / 10.0;
    let remains = wet > 0 && chance.happens(k.remains);
    Found {
        kind: item.kind,
        count: item.count,
        wet,
        larvae,
        pupae,
        pupae_count,
        stage: if breeding { stage } else { "" },
        litres,
        action: if wet > 0 { k.action } else { "" },
        remains,
    }
}
