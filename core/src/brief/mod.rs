//! What leaves the office: maps painted off screen, and tables.

pub mod classes;
pub mod ink;
