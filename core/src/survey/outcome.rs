//! How a visit ended.

/// A word that is not on the list it should come from.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("'{given}' is not {what}; use one of: {known}")]
pub struct UnknownWord {
    /// The word as it was given.
    pub given: String,
    /// What it should be, with its article: "an outcome".
    pub what: &'static str,
    /// The words that are known, joined for people.
    pub known: String,
}

/// Gives an enumeration its written words: `Display` writes one, `FromStr` reads it whatever its case.
macro_rules! written_words {
    ($name:ident, $what:literal, $($variant:ident => $word:literal),+ $(,)?) => {
        impl $name {
            /// Every value, in the order of the contract.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The value as files and screens write it.
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.word())
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::survey::UnknownWord;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                let trimmed = text.trim();
                Self::ALL.iter().copied().find(|v| v.word().eq_ignore_ascii_case(trimmed)).ok_or_else(|| {
                    $crate::survey::UnknownWord {
                        given: trimmed.to_owned(),
                        what: $what,
                        known: [$($word),+].join(", "),
                    }
                })
            }
        }
    };
}
pub(crate) use written_words;

/// How a visit ended. Only [`Outcome::Inspected`] enters an index.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Outcome {
    /// The whole yard was seen.
    Inspected,
    /// Only the front yard was seen.
    FrontOnly,
    /// Seen from a neighbour's side of the fence.
    SeenOverFence,
    /// Nobody came to the door.
    NoAnswer,
    /// The gate was locked.
    LockedGate,
    /// The householder did not want it.
    Refused,
    /// Going in would have been unsafe.
    Unsafe,
    /// Nobody lives there.
    Vacant,
}

written_words!(Outcome, "an outcome",
    Inspected => "inspected", FrontOnly => "front only", SeenOverFence => "seen over fence", NoAnswer => "no answer",
    LockedGate => "locked gate", Refused => "refused", Unsafe => "unsafe", Vacant => "vacant");

impl Outcome {
    /// Whether nobody saw anything of the yard, so that nothing can have been found.
    pub fn sees_nothing(self) -> bool {
        matches!(self, Self::NoAnswer | Self::LockedGate | Self::Refused | Self::Unsafe)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_read_back_and_others_are_told() {
        for o in Outcome::ALL {
            assert_eq!(o.word().to_uppercase().parse(), Ok(*o));
        }
        let error = "gone fishing".parse::<Outcome>().unwrap_err().to_string();
        assert!(error.contains("'gone fishing' is not an outcome") && error.contains("locked gate"));
    }
}
