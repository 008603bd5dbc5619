//! Who writes at this computer, and when: for the log of what was entered by hand.

use jiff::Timestamp;
use yardring_core::intake::record::Signed;

/// The name that the system knows the user by, and the time.
pub fn signed() -> Signed {
    let named = |name: &str| std::env::var(name).ok().filter(|v| !v.is_empty());
    let by = named("USER").or_else(|| named("USERNAME")).unwrap_or_default();
    Signed { by, at: Timestamp::now().strftime("%Y-%m-%d %H:%M UTC").to_string() }
}
