//! What `--json` prints. The schemas are described in `docs/json.md`; keys may be added, never renamed.
//!
//! The types of the pure crates are not serialisable on purpose: this is the edge, and it converts.

pub mod check;
pub mod draft;
pub mod follow;
pub mod map;
pub mod measure;
pub mod measured;
pub mod product;
pub mod recordings;
pub mod screen;
pub mod words;
