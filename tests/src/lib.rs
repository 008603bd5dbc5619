//! The project's cross-room tests live in `tests/tests`: journeys, oracles, pictures, scale and house.
