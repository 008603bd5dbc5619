//! What leaves the office: maps painted off screen, and tables.
