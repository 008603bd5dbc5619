//! The open survey: its file, and changes that can be undone.
