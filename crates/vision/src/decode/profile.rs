//! What a colour profile is: its name, or why it cannot be used.

use moxcms::{ColorProfile, DataColorSpace, ProfileText};

use super::pixels::{Icc, guarded, push};
use super::{Note, Profile};
use crate::error::DecodeError;

/// Longest name kept, in characters.
const LONGEST_NAME: usize = 100;

/// Names the profile found in a file; gives the bytes back unchanged.
pub(super) fn name(icc: Icc, notes: &mut Vec<Note>) -> (Profile, Option<Vec<u8>>) {
    let bytes = match icc {
        Icc::None => return (Profile::Assumed, None),
        Icc::Broken => {
            push(notes, Note::IccUnreadable);
            return (Profile::Unreadable, None);
        }
        Icc::Whole(bytes) => bytes,
    };
    let parsed = guarded(|| ColorProfile::new_from_slice(&bytes).map_err(|e| DecodeError::broken(format!("{e:?}"))));
    let profile = match parsed {
        Ok(p) if p.color_space != DataColorSpace::Rgb => {
            push(notes, Note::IccNotRgb);
            Profile::Unreadable
        }
        Ok(p) => Profile::Embedded { name: p.description.as_ref().and_then(text) },
        Err(_) => {
            push(notes, Note::IccUnreadable);
            Profile::Unreadable
        }
    };
    (profile, Some(bytes))
}

fn text(text: &ProfileText) -> Option<String> {
    let text = match text {
        ProfileText::PlainString(s) => s,
        ProfileText::Description(d) => &d.ascii_string,
        ProfileText::Localizable(all) => {
            let english = all.iter().find(|t| t.language == "en").or(all.first())?;
            &english.value
        }
    };
    let clean: String = text.chars().filter(|c| !c.is_control()).take(LONGEST_NAME).collect();
    let clean = clean.trim();
    (!clean.is_empty()).then(|| clean.to_owned())
}
