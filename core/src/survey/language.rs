//! Languages that papers for householders are written in.

use super::outcome::written_words;

/// A language that notices are written in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Language {
    /// English.
    #[default]
    English,
    /// Spanish.
    Spanish,
}

written_words!(Language, "a language of notices", English => "en", Spanish => "es");

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_language_that_is_not_there_is_told_with_those_that_are() {
        assert_eq!(" ES ".parse(), Ok(Language::Spanish));
        let told = "fr".parse::<Language>().unwrap_err().to_string();
        assert_eq!(told, "'fr' is not a language of notices; use one of: en, es");
    }
}
