//! Premises: parcels as places to inspect.

use super::{BlockId, Strings};
use crate::place::Shapes;
use std::sync::Arc;

/// The premises of a survey, one row each, in an order that depends on the ground alone (along a space-filling curve).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Premises {
    /// The county's parcel id, as text; repeats stay separate premises.
    pub parcel_id: Arc<Strings>,
    /// The street address; empty where none was given.
    pub address: Arc<Strings>,
    /// The block it belongs to.
    pub block: Arc<Vec<Option<BlockId>>>,
    /// The outline in the district frame; empty for a premise without an outline.
    pub outline: Arc<Shapes>,
    /// Land use as the county writes it; no row where the file had no such column.
    pub land_use: Arc<Strings>,
    /// Year built, 0 where it is not known; no row where the file had no such column.
    pub year_built: Arc<Vec<u16>>,
}

impl Premises {
    /// How many premises there are.
    pub fn len(&self) -> usize {
        self.parcel_id.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.parcel_id.is_empty()
    }
}
