//! What is known of a picture.

use crate::V3;
use crate::camera::Camera;

/// The truth beside a picture. Face frame: millimetres, x toward the own left, y up, z out of the face. Picture frame:
/// pixels, (0, 0) the top-left corner of the top-left pixel.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// 478 landmarks: x, y in the picture, z in pixels, smaller nearer, nought at the depth of the face frame's origin.
    pub landmarks: Vec<[f64; 3]>,
    /// The same 478 points in the face frame: 468 of the drawn surface, then five of each iris (in the plane of the limbus).
    pub head_mm: Vec<[f64; 3]>,
    /// The hairline of the forehead from the own right temple to the own left, face frame. For a bald head: where it was.
    pub hairline_mm: Vec<[f64; 3]>,
    /// The same in the picture.
    pub hairline_px: Vec<[f64; 2]>,
    /// Whether the picture shows it: not with a fringe, not on a bald head.
    pub hairline_seen: bool,
    /// Millimetres a pixel spans in the plane of the irises (mean of both).
    pub mm_per_px: f64,
    /// Diameter of the visible iris, mm.
    pub iris_mm: f64,
    /// Yaw, pitch, roll in degrees: the head's rotation relative to the optical axis, which goes through the head's turning
    /// point 55 mm behind the irises. R = Ry(yaw) Rx(-pitch) Rz(-roll): yaw > 0 toward the own left, pitch > 0 chin up,
    /// roll > 0 toward the own left shoulder.
    pub pose_deg: [f64; 3],
    /// The camera.
    pub camera: Camera,
    /// What is true of the skin, of a measured photograph.
    pub skin: Option<SkinTruth>,
    /// Where the card lies.
    pub card: Option<CardTruth>,
}

/// What is true of the skin in a measured photograph: reflectance under D65 with the light of the small relief alone, averaged over
/// the areas as the picture shows them, in CIELAB (2 degree observer).
#[derive(Clone, Debug, PartialEq)]
pub struct SkinTruth {
    /// Own right, own left.
    pub sides: [SideTruth; 2],
    /// Individual typology angle of the cheeks, degrees.
    pub tone_ita: f64,
}

/// One side.
#[derive(Clone, Debug, PartialEq)]
pub struct SideTruth {
    /// L*, a*, b* of the band under the eye.
    pub band: [f64; 3],
    /// L*, a*, b* of the cheek.
    pub cheek: [f64; 3],
    /// dL*, da*, db*, dE00, dITA (degrees): band less cheek.
    pub shadow: [f64; 5],
    /// Luminance density (log10) of the band against the cheek that brown alone makes.
    pub brown: f64,
    /// The same of blue-red.
    pub blue_red: f64,
    /// The same of relief.
    pub relief: f64,
    /// ln(light on the band / light on the cheek) of the smooth fitted face: what de-shading should divide out.
    pub light: f64,
    /// L*, a*, b* of the white of the eye, without its veins and corners.
    pub sclera: [f64; 3],
}

/// The card in the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct CardTruth {
    /// Its patches.
    pub patches: Vec<CardPatch>,
    /// Its corners, px, from its top left clockwise.
    pub corners_px: [[f64; 2]; 4],
}

/// One patch of the card.
#[derive(Clone, Debug, PartialEq)]
pub struct CardPatch {
    /// Its name.
    pub name: String,
    /// Its corners, px, from its top left clockwise.
    pub corners_px: [[f64; 2]; 4],
    /// L*, a*, b* under D65.
    pub lab_d65: [f64; 3],
    /// Whether it is a grey step.
    pub grey: bool,
}

impl Truth {
    /// Any face-frame point (mm) in the picture (px).
    pub fn project(&self, p: [f64; 3]) -> [f64; 2] {
        self.camera.project(V3::from(p))
    }
}
