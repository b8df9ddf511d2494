//! EXIF: the orientation and the focal length, and on a question of its own the day. Everything else (place, camera) is not looked at.

use exif::{In, Reader, Tag};

use super::Note;
use super::pixels::push;

/// What is taken from EXIF.
pub(super) struct Tags {
    /// 1 to 8 (tag 274); 1 where unknown.
    pub orientation: u8,
    /// Millimetres (tag 41989, whole numbers; 0 stands for unknown).
    pub focal_35mm: Option<f64>,
}

impl Default for Tags {
    fn default() -> Tags {
        Tags { orientation: 1, focal_35mm: None }
    }
}

/// Reads the tags from a TIFF structure. The reader stops at loops between directories and at the eighth directory.
pub(super) fn read(mut exif: Vec<u8>, notes: &mut Vec<Note>) -> Tags {
    // Some writers of WebP and PNG keep JPEG's prefix.
    if exif.starts_with(b"Exif\0\0") {
        exif.drain(..6);
    }
    let mut partial = false;
    let parsed = super::pixels::guarded(|| {
        let mut reader = Reader::new();
        reader.continue_on_error(true);
        reader
            .read_raw(exif)
            .or_else(|e| e.distill_partial_result(|_| partial = true))
            .map_err(crate::error::DecodeError::broken)
    });
    let Ok(parsed) = parsed else {
        push(notes, Note::ExifUnreadable);
        return Tags::default();
    };
    let number = |tag| parsed.get_field(tag, In::PRIMARY).and_then(|field| field.value.get_uint(0));
    let stored = number(Tag::Orientation);
    let orientation = match stored {
        Some(n @ 1..=8) => n as u8,
        Some(_) => {
            push(notes, Note::OrientationInvalid);
            1
        }
        None => 1,
    };
    // Cameras often bend a rule or two: said only where it cost us the orientation.
    if partial && stored.is_none() {
        push(notes, Note::ExifUnreadable);
    }
    let focal = number(Tag::FocalLengthIn35mmFilm).filter(|&f| f > 0);
    Tags { orientation, focal_35mm: focal.map(f64::from) }
}

/// The day on which a camera says that it took a file's picture (tag 36867, `YYYY:MM:DD HH:MM:SS`), as year, month, day; none where it
/// does not say, or says no day of the calendar.
pub fn day_taken(bytes: &[u8]) -> Option<vocab::Date> {
    let parsed = super::pixels::guarded(|| {
        let mut reader = Reader::new();
        reader
            .continue_on_error(true)
            .read_from_container(&mut std::io::Cursor::new(bytes))
            .or_else(|e| e.distill_partial_result(|_| ()))
            .map_err(crate::error::DecodeError::broken)
    });
    let parsed = parsed.ok()?;
    let exif::Value::Ascii(said) = &parsed.get_field(Tag::DateTimeOriginal, In::PRIMARY)?.value else { return None };
    let day: String = std::str::from_utf8(said.first()?.get(..10)?).ok()?.replace(':', "-");
    vocab::Date::parse(&day)
}
