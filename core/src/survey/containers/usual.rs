//! The kinds of container that every survey begins with, and what is usually done about them.
//!
//! All of it is common practice, no source: a district edits it to what holds there.

use super::{ContainerKnowledge, KnownContainer, Remedy, Who, spanish};
use Remedy::{Circulate, Clear, Drill, Fill, Fish, Screen, StoreInside, ThrowOut, Tip, Treat, Turn};
use Who::{Applicator, Householder, PublicWorks};

/// What stands beside every row.
const SOURCE: &str = "common practice, no source";

/// How a kind takes being moved by hand.
#[derive(Clone, Copy, Debug)]
enum Hold {
    /// It is part of the ground or too heavy.
    Fixed,
    /// It can be tipped, and is dry upside down.
    DryUpsideDown,
    /// It can be tipped, but a rim, a fold or a hollow holds water upside down too.
    WetUpsideDown,
}

/// Name, other names with "; " between them, how it takes tipping, what to do, who, what to say.
type Row = (&'static str, &'static str, Hold, &'static [Remedy], Who, &'static str);

use Hold::{DryUpsideDown, Fixed, WetUpsideDown};

#[rustfmt::skip]
const ROWS: [Row; 45] = [
    ("bamboo stump", "cut bamboo; bamboo", Fixed, &[Fill, Drill, Treat], Householder, "Cut bamboo just below a joint so that no cup is left, or fill the stumps with sand."),
    ("bird bath", "birdbath", DryUpsideDown, &[Tip, Circulate], Householder, "Tip out and scrub the bird bath every week."),
    ("boat", "canoe; kayak; dinghy", WetUpsideDown, &[Turn, StoreInside, Drill], Householder, "Pull the drain plug, or keep the boat turned over on blocks so that no well holds water."),
    ("bottle or can", "bottle; can; cup; jar; jug; litter; trash; rubbish; debris; food container", DryUpsideDown, &[ThrowOut], Householder, "Put bottles, cans and cups into a bin with a closed lid."),
    ("bucket", "pail; tub; basin; drum without lid", WetUpsideDown, &[StoreInside, Drill, Tip], Householder, "Store buckets inside. Upside down the rim of the bottom still holds water, so drill it."),
    ("building material", "block; brick; concrete block; roll of plastic", WetUpsideDown, &[Clear, StoreInside, Fill], Householder, "Cover building material so that water runs off, or stack it on its side."),
    ("buried pipe", "buried drain; underground pipe; buried drain pipe; french drain", Fixed, &[Screen, Treat], Applicator, "Put mesh over both ends of the pipe. Water stands where it sags, and we can treat it."),
    ("catch basin", "storm drain; street drain; inlet", Fixed, &[Treat, Clear], PublicWorks, "Keep leaves out of the street drain. We report it to public works."),
    ("cistern", "well; water tank", Fixed, &[Screen], Householder, "Close the cistern with a tight lid or fine mesh."),
    ("corrugated drain pipe", "corrugated pipe; corrugated extension; downspout extension; flexible pipe; drain pipe", WetUpsideDown, &[ThrowOut, Drill, Tip], Householder, "Each rib holds water. Use smooth pipe with a fall, or take this one off and shake it out after rain."),
    ("covered deck", "deck with roof; porch", Fixed, &[Clear, StoreInside], Householder, "Look under the deck with a lamp: what stands there stays wet. Move it out."),
    ("draped tarp", "draped cover; cover over equipment", WetUpsideDown, &[Clear, StoreInside], Householder, "Every fold holds water. Pull the cover tight, or store it inside."),
    ("fence post", "hollow post; post top; pipe post; clothes line post", Fixed, &[Fill, Screen], Householder, "Cap hollow posts, or fill them with sand."),
    ("fountain", "ornamental fountain; water feature", Fixed, &[Circulate, Tip, Treat], Householder, "Keep the pump running, or drain the fountain."),
    ("gutter", "roof gutter; eaves trough; rain gutter", Fixed, &[Clear], Householder, "Clear the gutters so that they run dry after rain. Take care on ladders."),
    ("gutter with seedlings", "gutter with plants", Fixed, &[Clear], Householder, "Seedlings grow where a gutter stays wet. Have it cleared and set to a fall."),
    ("hollow toy", "toy that sloshes; plastic playhouse; play set; slide", WetUpsideDown, &[Drill, StoreInside, ThrowOut], Householder, "If it sloshes when you shake it, drill a hole at its lowest corner."),
    ("ice chest", "cooler; ice box", DryUpsideDown, &[StoreInside, Turn], Householder, "Store the ice chest inside, or leave it turned over with its plug open."),
    ("junk", "scrap; appliance; car part; equipment", WetUpsideDown, &[ThrowOut, StoreInside, Drill], Householder, "Have it taken away, or put it under a roof."),
    ("leaf cups of plants", "bromeliad; plant axil; leaf axil", Fixed, &[Tip, Treat], Householder, "Flush plants that hold water in their leaves with a hose every week."),
    ("lid", "bin lid; can lid", WetUpsideDown, &[Drill, StoreInside], Householder, "Lean lids on edge, or drill them."),
    ("meter box", "water meter; valve box; utility box", Fixed, &[Treat], PublicWorks, "Tell us when the box by the kerb stays full. We report it to the utility."),
    ("open deck", "deck; deck boards; wooden deck", Fixed, &[Clear, StoreInside], Householder, "Rain falls through the boards: move what stands under the deck, or turn it over."),
    ("pet dish", "pet bowl; dog bowl; water bowl; animal drinker", DryUpsideDown, &[Tip, StoreInside], Householder, "Change the water of pets every day and scrub the dish."),
    ("plant in water", "vase; flower vase; cutting in water; rooting plant", DryUpsideDown, &[Tip], Householder, "Change the water of plants every week, or root them in wet sand."),
    ("plant saucer", "saucer; drip tray; plant tray; drip pan", DryUpsideDown, &[StoreInside, Fill, Tip], Householder, "Take saucers away, or fill them with sand so that no water stands."),
    ("pond", "garden pond; pond without fish; ornamental pond", Fixed, &[Fish, Circulate, Treat], Householder, "Stock the pond with fish where that is allowed, or keep its water moving."),
    ("pond with fish", "fish pond; koi pond", Fixed, &[Fish], Householder, "Keep the fish, and cut back plants at the edge so that they reach everywhere."),
    ("ponding tarp", "sagging tarp", WetUpsideDown, &[Clear, StoreInside], Householder, "Pull the tarp tight and prop it so that water runs off."),
    ("pool", "swimming pool", Fixed, &[Circulate], Householder, "Run the pump every day and keep the water clean."),
    ("pool with idle pump", "green pool; unused pool; neglected pool; abandoned pool; idle pool; spa; hot tub", Fixed, &[Circulate, Fish, Treat], Applicator, "Get the pump running, or have the pool drained. Until then we can stock fish or treat it."),
    ("rain barrel", "water butt; drum; barrel", Fixed, &[Screen], Householder, "Cover every opening of the barrel with fine mesh, the overflow too."),
    ("recycling bin", "trash can; garbage can; lidded bin; bin; wheeled bin", WetUpsideDown, &[Drill, StoreInside], Householder, "Drill the bottom of bins. Lids and rims hold water upside down too."),
    ("septic tank", "broken septic tank; septic vent; cesspit", Fixed, &[Screen, Treat], Householder, "Mend the cover and put mesh on the vent. Do not open the tank."),
    ("tarp", "tarpaulin; cover; pool cover; grill cover; boat cover; car cover", WetUpsideDown, &[Clear, StoreInside], Householder, "Pull the tarp tight so that water runs off, or fold it and store it inside."),
    ("tire", "tyre; tire swing; inner tube", WetUpsideDown, &[ThrowOut, StoreInside, Drill], Householder, "A tire holds water however it lies. Hand it in, store it inside, or drill it."),
    ("toilet", "unused toilet; floor drain", Fixed, &[Treat, Clear], Householder, "Flush unused toilets and drains every week, or cover them."),
    ("toy", "child's toy", DryUpsideDown, &[StoreInside, Tip, Drill], Householder, "Put toys under a roof. Those that slosh need a hole at the lowest corner."),
    ("tree hole", "rot hole; hole in a tree", Fixed, &[Fill, Treat], Householder, "Fill the tree hole with sand, or let us treat it. Do not drill the tree."),
    ("upturned pot", "flower pot; plant pot; pot with rim; planter; pot", WetUpsideDown, &[StoreInside, Drill], Householder, "The rim of an upturned pot still holds water. Store pots inside, or stand them on their side."),
    ("wading pool", "paddling pool; child's pool; kiddie pool", DryUpsideDown, &[Turn, StoreInside, Tip], Householder, "Empty the wading pool when nobody uses it, and stand it on edge."),
    ("water softener tray", "air conditioner tray; air conditioner; drip tray of an air conditioner", Fixed, &[Clear, Drill], Householder, "Lead the water of the air conditioner to soil that drains."),
    ("watering can", "watering pot", DryUpsideDown, &[StoreInside, Tip], Householder, "Keep watering cans inside, or empty and on their side."),
    ("wheelbarrow", "barrow; cart", DryUpsideDown, &[Turn, StoreInside], Householder, "Stand the wheelbarrow on its nose."),
    ("trough", "stock tank; animal trough", Fixed, &[Fish, Tip], Householder, "Empty and scrub the trough every week, or stock it with fish."),
];

/// The usual table.
pub(super) fn table() -> ContainerKnowledge {
    let known = |&(kind, also, hold, to_do, who, words): &Row| KnownContainer {
        kind_in_spanish: spanish::of(kind).unwrap_or_default().0.into(),
        words_in_spanish: spanish::of(kind).unwrap_or_default().1.into(),
        kind: kind.into(),
        also_called: also.split(';').map(str::trim).filter(|n| !n.is_empty()).map(Into::into).collect(),
        can_be_tipped: !matches!(hold, Fixed),
        holds_upside_down: matches!(hold, WetUpsideDown),
        to_do: to_do.to_vec(),
        who,
        words: words.into(),
        source: SOURCE.into(),
    };
    let mut kinds: Vec<KnownContainer> = ROWS.iter().map(known).collect();
    kinds.sort_by(|a, b| a.kind.cmp(&b.kind));
    ContainerKnowledge { kinds }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_stands_for_two_kinds() {
        let kinds = table().kinds().to_vec();
        assert_eq!(ContainerKnowledge::from_kinds(kinds), Ok(table()));
    }
}
