//! The ground inside flight range, and the premises inside it that nobody has seen.
