//! The measures of the trade, each with its interval.
