//! What brown pigment, blood and shading do to the light of skin.

mod base;
mod model;
mod separate;
mod spectra;

use crate::lab::Lab;
use model::{BLOOD, Content, MELANIN, Skin};

pub use base::Base;
pub use separate::{Separation, separate};

/// The colour of skin by this crate's model under D65: melanin as the share of the epidermis that is melanosomes (0 to
/// 0.6), blood as the share of the dermis (0.0005 to 0.2); beyond these the nearest within them.
pub fn skin_model_lab(melanin: f64, blood: f64) -> Lab {
    let content = Content { melanin: melanin.clamp(MELANIN.0, MELANIN.1), blood: blood.clamp(BLOOD.0, BLOOD.1) };
    Skin::OURS.xyz(content).lab()
}
