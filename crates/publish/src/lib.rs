//! Publishing: a routine as script, captions and chapters; a text's claims; old captions as a draft. Pure: words come from the caller,
//! no file, clock or network.

pub mod captions;
pub mod chapters;
pub mod claims;
pub mod cue;
pub mod recordings;
pub mod retime;
pub mod script;
pub mod timed;
