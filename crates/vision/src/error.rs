//! What can go wrong between a file and a photograph. A person reads the message; the app words it from the kind.

use std::fmt;

/// Why bytes did not become a photograph. [`DecodeError::kind`] is stable, so an app can word it in its own language;
/// the `Display` text is plain English and says what to do next. It never carries anything from the picture or its
/// metadata, so it may be logged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DecodeError {
    kind: DecodeErrorKind,
}

/// The kinds of [`DecodeError`].
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum DecodeErrorKind {
    /// No bytes at all.
    Empty,
    /// Bytes that begin like no picture file known here.
    NotAnImage,
    /// A picture file (or a variant of one) that is recognised but not read; the name of what it is.
    UnsupportedFormat(&'static str),
    /// The file ends before the picture does.
    Truncated,
    /// The header declares more than [`crate::Limits`] allows; nothing was decoded.
    TooLarge {
        /// Declared width in pixels, as stored.
        width: u32,
        /// Declared height in pixels, as stored.
        height: u32,
    },
    /// The file itself is larger than [`crate::Limits::most_bytes`].
    TooManyBytes {
        /// Size of the file in bytes.
        bytes: usize,
        /// The limit in bytes.
        most: usize,
    },
    /// The file contradicts itself; the decoder's own words, for a log.
    Broken(String),
    /// A decoding library gave up in a way its authors did not foresee. The panic was stopped here; for a log.
    Panicked,
    /// The picture could not be written as JPEG; the encoder's own words, for a log.
    NotWritten(String),
}

impl DecodeError {
    /// What went wrong, for an app that words it itself.
    pub fn kind(&self) -> &DecodeErrorKind {
        &self.kind
    }

    pub(crate) fn broken(detail: impl fmt::Display) -> DecodeError {
        DecodeErrorKind::Broken(detail.to_string()).into()
    }
}

impl From<DecodeErrorKind> for DecodeError {
    fn from(kind: DecodeErrorKind) -> DecodeError {
        DecodeError { kind }
    }
}

impl fmt::Display for DecodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use DecodeErrorKind::*;
        match &self.kind {
            Empty => f.write_str("The file is empty. Choose the photograph again, or send it from the phone once more."),
            NotAnImage => f.write_str(
                "This is no photograph I can read. Choose a JPEG, PNG, WebP or HEIC file, as phones and cameras write \
                 them.",
            ),
            UnsupportedFormat(what) => write!(
                f,
                "This file is {what}, which I cannot read. Save or export the photograph as JPEG, PNG, WebP or HEIC and \
                 choose that file."
            ),
            Truncated => f.write_str(
                "The file stops before the picture is complete, as after an interrupted transfer. Copy it from the \
                 phone or camera again.",
            ),
            TooLarge { width, height } => write!(
                f,
                "The picture says it is {width} by {height} pixels, more than I open. Use the camera's ordinary size, \
                 or save a smaller copy."
            ),
            TooManyBytes { bytes, most } => write!(
                f,
                "The file has {} MB; I open up to {} MB. Save a smaller copy, for instance as JPEG.",
                bytes.div_ceil(1_000_000),
                most / 1_000_000
            ),
            Broken(_) | Panicked => f.write_str(
                "The file is damaged and the picture cannot be trusted. Copy it from the phone or camera again, or take \
                 another photograph.",
            ),
            NotWritten(_) => f.write_str("The picture could not be prepared for showing. Try another photograph."),
        }
    }
}

impl std::error::Error for DecodeError {}
