//! The demo practice.

use cabinet::Error;
use maud::{Markup, html};

use super::Desk;

/// The offer of the demo on the page of the first run.
pub fn offer() -> Markup {
    html! {}
}

/// Fills the demo's empty practice.
///
/// # Errors
/// Of the cabinet.
pub fn fill(_desk: &Desk) -> Result<(), Error> {
    Ok(())
}
