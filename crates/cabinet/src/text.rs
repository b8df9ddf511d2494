//! Documents that are kept as they were given: JSON and TOML, checked to be that when they come in.

use std::fmt;

use crate::error::Error;

/// The most bytes of one text, be it a note or a document.
pub const MOST_BYTES: usize = 4 * 1024 * 1024;

macro_rules! documents {
    ($($(#[$doc:meta])* $name:ident, $what:literal, $check:expr;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, PartialEq, Eq)]
        pub struct $name(String);

        impl $name {
            /// Takes a document, unchanged.
            ///
            /// # Errors
            /// It is not well formed, or longer than [`MOST_BYTES`].
            pub fn new(text: impl Into<String>) -> Result<Self, Error> {
                let text = text.into();
                bounded($what, &text)?;
                let check: fn(&str) -> Result<(), String> = $check;
                check(&text).map_err(|detail| Error::bad($what, detail))?;
                Ok(Self(text))
            }

            /// As it was written by this program.
            pub(crate) fn kept(text: String) -> Self {
                Self(text)
            }

            /// The document's text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        /// Shows the length alone: the contents are a client's.
        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, concat!(stringify!($name), "({} bytes)"), self.0.len())
            }
        }
    )*};
}

documents! {
    /// A JSON document (RFC 8259).
    Json, "JSON document", |text| {
        serde_json::from_str::<serde::de::IgnoredAny>(text)
            .map(|_| ())
            .map_err(|e| format!("it is no JSON at line {}, column {}", e.line(), e.column()))
    };
    /// A TOML document (TOML 1.1).
    Toml, "TOML document", |text| {
        toml::de::DeTable::parse(text).map(|_| ()).map_err(|e| {
            let line = e.span().map_or(1, |s| 1 + text[..s.start].matches('\n').count());
            format!("it is no TOML at line {line}")
        })
    };
}

/// A document in either form.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Document {
    /// As JSON.
    Json(Json),
    /// As TOML.
    Toml(Toml),
}

impl Document {
    /// The text.
    pub fn as_str(&self) -> &str {
        match self {
            Document::Json(d) => d.as_str(),
            Document::Toml(d) => d.as_str(),
        }
    }

    pub(crate) fn format(&self) -> &'static str {
        match self {
            Document::Json(_) => "json",
            Document::Toml(_) => "toml",
        }
    }
}

/// Refuses a text that is too long.
pub(crate) fn bounded(what: &'static str, text: &str) -> Result<(), Error> {
    if text.len() > MOST_BYTES {
        return Err(Error::bad(what, format!("it has {} bytes, at most {MOST_BYTES} are kept", text.len())));
    }
    Ok(())
}

/// Refuses an empty text, one of blanks, and one that is too long.
pub(crate) fn said(what: &'static str, text: &str) -> Result<(), Error> {
    bounded(what, text)?;
    if text.trim().is_empty() { Err(Error::bad(what, "it is empty; fill it in")) } else { Ok(()) }
}

/// A `Debug` that shows the type and nothing of it: for what holds a client's words, so that none gets into a log.
macro_rules! quiet {
    ($($name:ident $(<$life:lifetime>)?),* $(,)?) => {$(
        impl $(<$life>)? std::fmt::Debug for $name $(<$life>)? {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(concat!(stringify!($name), "(…)"))
            }
        }
    )*};
}
pub(crate) use quiet;
