//! The pinhole camera and the pose of the head before it.
//!
//! World: millimetres, the camera looks along -z at the head's turning point, x right in the picture, y up. The head
//! turns about that point; the optical axis goes through it, so the head's rotation *is* the pose a viewer at the camera
//! sees. The picture is then framed by shifting it in its own plane, which changes no perspective.

use nalgebra::Rotation3;

use crate::V3;

/// How far behind the iris plane the head turns, mm.
const TURNING_POINT_MM: f64 = 55.0;

/// A camera before one head.
#[derive(Clone, Debug, PartialEq)]
pub struct Camera {
    rotation: Rotation3<f64>,
    pivot: V3,
    /// From the pinhole to the turning point, mm.
    reach: f64,
    focal_px: f64,
    centre_px: [f64; 2],
}

/// Rotation of the head for yaw, pitch and roll in degrees: roll first, then pitch, then yaw,
/// R = Ry(yaw) Rx(-pitch) Rz(-roll), each about the camera's axes.
pub(crate) fn rotation(yaw: f64, pitch: f64, roll: f64) -> Rotation3<f64> {
    let turn = |axis: V3, degrees: f64| Rotation3::new(axis * degrees.to_radians());
    turn(V3::y(), yaw) * turn(V3::x(), -pitch) * turn(V3::z(), -roll)
}

impl Camera {
    /// A camera `distance_mm` before the midpoint of the irises of the straight head, framed so that the face
    /// (top landmark to chin) takes `fill` of the picture's height.
    pub(crate) fn new(
        irises: V3,
        top: V3,
        chin: V3,
        pose: [f64; 3],
        distance_mm: f64,
        fill: f64,
        size: [usize; 2],
    ) -> Self {
        let pivot = irises - V3::new(0.0, 0.0, TURNING_POINT_MM);
        let focal_px = fill * size[1] as f64 * distance_mm / (top.y - chin.y);
        let mut camera = Self {
            rotation: rotation(pose[0], pose[1], pose[2]),
            pivot,
            reach: distance_mm + TURNING_POINT_MM,
            focal_px,
            centre_px: [0.0, 0.0],
        };
        let [a, b] = [camera.project(top), camera.project(chin)];
        // The face a little above the middle: there is a head above it and a neck below.
        camera.centre_px = [size[0] as f64 / 2.0 - (a[0] + b[0]) / 2.0, size[1] as f64 * 0.505 - (a[1] + b[1]) / 2.0];
        camera
    }

    /// A face-frame point in the world, turned by `share` of the pose (the shoulders follow the head only partly).
    pub(crate) fn world(&self, p: V3, share: f64) -> V3 {
        let turned = if share >= 1.0 { self.rotation } else { self.rotation.powf(share) };
        turned * (p - self.pivot)
    }

    /// The head's rotation.
    pub(crate) fn turn(&self) -> Rotation3<f64> {
        self.rotation
    }

    /// A world point in the picture: x, y in pixels and its distance along the axis, mm.
    pub(crate) fn see(&self, w: V3) -> [f64; 3] {
        let depth = self.reach - w.z;
        [self.centre_px[0] + self.focal_px * w.x / depth, self.centre_px[1] - self.focal_px * w.y / depth, depth]
    }

    /// A world point (or direction) in the picture, homogeneous.
    pub(crate) fn homogeneous(&self, w: V3, direction: bool) -> [f64; 3] {
        let depth = if direction { -w.z } else { self.reach - w.z };
        [self.centre_px[0] * depth + self.focal_px * w.x, self.centre_px[1] * depth - self.focal_px * w.y, depth]
    }

    /// The pinhole in the world.
    pub(crate) fn eye(&self) -> V3 {
        V3::new(0.0, 0.0, self.reach)
    }

    /// Millimetres a pixel spans at a world point.
    pub(crate) fn px_mm(&self, w: V3) -> f64 {
        (self.reach - w.z) / self.focal_px
    }

    /// Any face-frame point in the picture frame, pixels.
    pub fn project(&self, p: V3) -> [f64; 2] {
        let [x, y, _] = self.see(self.world(p, 1.0));
        [x, y]
    }

    /// Landmark depth of a face-frame point: pixels at the turning point's scale, smaller nearer, nought at the depth
    /// of the face frame's origin.
    pub fn depth_px(&self, p: V3) -> f64 {
        (self.world(V3::zeros(), 1.0).z - self.world(p, 1.0).z) * self.focal_px / self.reach
    }

    /// Millimetres a pixel spans, across the axis, at a face-frame point's depth.
    pub fn mm_per_px(&self, p: V3) -> f64 {
        (self.reach - self.world(p, 1.0).z) / self.focal_px
    }
}
