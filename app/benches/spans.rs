//! How long each named part of a frame took, from the program's own spans.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::time::{Duration, Instant};
use tracing_subscriber::layer::{Context, Layer, SubscriberExt as _};
use tracing_subscriber::registry::LookupSpan;
use tracing_subscriber::util::SubscriberInitExt as _;

/// Parts of a frame by name.
pub type Parts = BTreeMap<&'static str, Duration>;

thread_local! {
    static OPEN: RefCell<Vec<Instant>> = const { RefCell::new(Vec::new()) };
    static DONE: RefCell<Parts> = const { RefCell::new(BTreeMap::new()) };
}

struct Stopwatch;

impl<S: tracing::Subscriber + for<'a> LookupSpan<'a>> Layer<S> for Stopwatch {
    fn on_enter(&self, _id: &tracing::span::Id, _context: Context<'_, S>) {
        OPEN.with_borrow_mut(|open| open.push(Instant::now()));
    }

    fn on_exit(&self, id: &tracing::span::Id, context: Context<'_, S>) {
        let Some(took) = OPEN.with_borrow_mut(Vec::pop).map(|start| start.elapsed()) else { return };
        if let Some(span) = context.span(id) {
            DONE.with_borrow_mut(|done| *done.entry(span.name()).or_default() += took);
        }
    }
}

/// Begins to look at the clock whenever a part of the program itself begins or ends.
pub fn watch() {
    let ours = tracing_subscriber::filter::filter_fn(|about| about.is_span() && about.target().starts_with("yardring"));
    tracing_subscriber::registry().with(Stopwatch.with_filter(ours)).init();
}

/// The parts that ended on this thread since they were last taken.
pub fn taken() -> Parts {
    DONE.with_borrow_mut(std::mem::take)
}
