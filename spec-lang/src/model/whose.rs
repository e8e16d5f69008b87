//! Whose limit a limit is: a data sheet's, a standard's, common practice's. The limits themselves live elsewhere.

/// Whose limit a limit is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Whose {
    /// The type data of a data sheet, by name.
    Sheet(String),
    /// A kit, by name: what its makers worked it through for.
    Kit(String),
    /// A standard or regulation, with its clause.
    Standard(&'static str),
    /// Common practice of the trade; no source.
    CommonPractice,
    /// This project's own authority: what can poison or burn somebody.
    LifeSafety,
    /// The language.
    Language,
    /// The job itself: what its author asked for.
    Job,
    /// A workshop's practice, by its title.
    House(String),
}

impl std::fmt::Display for Whose {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Whose::Sheet(name) => write!(out, "data sheet {name}"),
            Whose::Kit(name) => write!(out, "kit {name}"),
            Whose::Standard(name) => out.write_str(name),
            Whose::CommonPractice => out.write_str("common practice, no source"),
            Whose::LifeSafety => out.write_str("life safety, trialfit's own rule"),
            Whose::Language => out.write_str("the language"),
            Whose::Job => out.write_str("the job"),
            Whose::House(title) => write!(out, "the workshop's practice, \"{title}\""),
        }
    }
}
