//! What every error of this library can do: say what to do next.

/// An error for people: its text says what and where; the hint says what to do.
pub trait Hint: std::error::Error {
    /// What to do next, as a sentence; empty when there is nothing to say.
    fn hint(&self) -> String;

    /// The same for somebody at the window, who has fields and buttons where the command line has options.
    fn in_window(&self) -> String {
        self.hint()
    }
}
