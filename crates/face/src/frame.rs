//! The frame of one face in one picture: which way the head is turned, and where millimetres are pixels.
//!
//! The *face frame* is that of the canonical surface, in millimetres: x toward the person's own left, y up, z out of the
//! face; its origin is the canonical one, within the head. The picture is taken as a parallel projection (weak
//! perspective): one scale for the whole face. At arm's length the tip of the nose then comes out about a twentieth too
//! large; the uncertainty of what lies out of the plane of the eyes holds that.

use nalgebra::{Matrix3, Vector3};

use crate::{Landmarks, Pixel, canonical};

/// A place in the face frame, millimetres.
pub type Place = [f64; 3];

/// How the head is turned, in degrees, as the camera sees it.
///
/// Turned from facing the camera by yaw about the head's own vertical, then nodded by pitch, then tilted by roll:
/// `R = Rz(-roll) Rx(-pitch) Ry(yaw)`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pose {
    /// More than 0: toward the person's own left.
    pub yaw: f64,
    /// More than 0: chin up.
    pub pitch: f64,
    /// More than 0: tilted toward the person's own left shoulder.
    pub roll: f64,
}

impl Pose {
    /// The rotation from the face frame to the camera's (x right in the picture, y up, z toward the camera).
    fn rotation(self) -> Matrix3<f64> {
        let axis = |x, y, z, degrees: f64| {
            nalgebra::Rotation3::from_scaled_axis(Vector3::new(x, y, z) * degrees.to_radians()).into_inner()
        };
        axis(0.0, 0.0, 1.0, -self.roll) * axis(1.0, 0.0, 0.0, -self.pitch) * axis(0.0, 1.0, 0.0, self.yaw)
    }

    /// The pose of a head tilted by roll first, then nodded by pitch, then turned by yaw:
    /// `R = Ry(yaw) Rx(-pitch) Rz(-roll)`, all in degrees.
    pub fn of_turns(yaw: f64, pitch: f64, roll: f64) -> Pose {
        let one = |yaw, pitch, roll| Pose { yaw, pitch, roll }.rotation();
        Pose::of(&(one(yaw, 0.0, 0.0) * one(0.0, pitch, 0.0) * one(0.0, 0.0, roll)))
    }

    fn of(r: &Matrix3<f64>) -> Pose {
        // Rx(-p) Ry(y) has the rows (cos y, 0, sin y), (-sin p sin y, cos p, sin p cos y), (-cos p sin y, -sin p, cos p cos y).
        let pitch = (-r[(2, 1)]).clamp(-1.0, 1.0).asin();
        let yaw = (-r[(2, 0)]).atan2(r[(2, 2)]);
        let roll = r[(0, 1)].atan2(r[(1, 1)]);
        Pose { yaw: yaw.to_degrees(), pitch: pitch.to_degrees(), roll: roll.to_degrees() }
    }
}

/// Landmarks that miss the canonical surface by more than this on average (canonical millimetres) are no face; real ones, their
/// guessed depth included, miss it by 3 to 7.
const NO_FACE_MM: f64 = 20.0;

/// A canonical vertex, its landmark, and how much it counts.
type Pair = (Vector3<f64>, Vector3<f64>, f64);

/// Where a face stands in a picture.
#[derive(Clone, Debug)]
pub struct Frame {
    rotation: Matrix3<f64>,
    /// The picture's place of the origin; z as the landmarks count it.
    origin: Vector3<f64>,
    mm_per_px: f64,
}

impl Frame {
    /// The frame in which the landmarks lie nearest to the canonical surface (Umeyama 1991, IEEE Trans Pattern Anal Mach
    /// Intell 13:376), mouth and jaw counting less, since they move. The scale is then that of the canonical face:
    /// replace it by [`Frame::with_scale`] when it has been measured.
    ///
    /// None where the landmarks do not span a face.
    pub fn fit(landmarks: &Landmarks) -> Option<Frame> {
        let camera = |p: &[f64; 3]| Vector3::new(p[0], -p[1], -p[2]);
        let pairs: Vec<Pair> = canonical()
            .iter()
            .zip(landmarks.all())
            .map(|(v, p)| (Vector3::new(v[0], v[1], v[2]) * 10.0, camera(p), if v[1] < -2.0 { 0.3 } else { 1.0 }))
            .collect();
        let total: f64 = pairs.iter().map(|p| p.2).sum();
        let mean = |of: &dyn Fn(&Pair) -> Vector3<f64>| pairs.iter().map(|p| of(p) * p.2).sum::<Vector3<f64>>() / total;
        let (from, to) = (mean(&|p| p.0), mean(&|p| p.1));
        let mut cross = Matrix3::zeros();
        let mut spread = 0.0;
        for (a, b, w) in &pairs {
            cross += (b - to) * (a - from).transpose() * *w;
            spread += (a - from).norm_squared() * w;
        }
        let svd = cross.svd(true, true);
        let (u, vt) = (svd.u?, svd.v_t?);
        let mut sign = Matrix3::identity();
        if (u * vt).determinant() < 0.0 {
            sign[(2, 2)] = -1.0;
        }
        let rotation = u * sign * vt;
        let scale = (Matrix3::from_diagonal(&svd.singular_values) * sign).trace() / spread;
        if !(scale.is_finite() && scale > 1e-9) {
            return None;
        }
        let origin = to - rotation * from * scale;
        let missed: f64 = pairs.iter().map(|(a, b, w)| (b - origin - rotation * a * scale).norm_squared() * w).sum();
        if (missed / total).sqrt() / scale > NO_FACE_MM {
            return None;
        }
        Some(Frame { rotation, origin: Vector3::new(origin.x, -origin.y, -origin.z), mm_per_px: 1.0 / scale })
    }

    /// The frame of a head of this pose whose origin lies at `origin` of the picture.
    pub fn of_pose(pose: Pose, origin: Pixel, mm_per_px: f64) -> Frame {
        Frame { rotation: pose.rotation(), origin: Vector3::new(origin.x, origin.y, 0.0), mm_per_px }
    }

    /// The same frame with a measured scale.
    pub fn with_scale(mut self, mm_per_px: f64) -> Frame {
        self.mm_per_px = mm_per_px;
        self
    }

    /// Millimetres of the face that a pixel spans.
    pub fn mm_per_px(&self) -> f64 {
        self.mm_per_px
    }

    /// How the head is turned.
    pub fn pose(&self) -> Pose {
        Pose::of(&self.rotation)
    }

    /// A landmark in the face frame.
    pub fn to_face(&self, [x, y, z]: [f64; 3]) -> Place {
        let d = Vector3::new(x - self.origin.x, self.origin.y - y, self.origin.z - z) * self.mm_per_px;
        (self.rotation.transpose() * d).into()
    }

    /// Where a place of the face frame lies in the picture.
    pub fn to_picture(&self, place: Place) -> Pixel {
        let d = self.rotation * Vector3::from(place) / self.mm_per_px;
        Pixel::new(self.origin.x + d.x, self.origin.y - d.y)
    }

    /// How directly a surface of this outward normal (face frame) faces the camera: 1 straight, 0 edge on, less than 0
    /// turned away.
    pub fn facing(&self, normal: Place) -> f64 {
        (self.rotation * Vector3::from(normal)).normalize().z
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::LANDMARKS;

    fn posed(pose: Pose) -> Landmarks {
        let frame = Frame::of_pose(pose, Pixel::new(300.0, 400.0), 0.4);
        let mut all: Vec<[f64; 3]> = canonical()
            .iter()
            .map(|v| {
                let d = frame.rotation * Vector3::new(v[0], v[1], v[2]) * 10.0 / 0.4;
                [300.0 + d.x, 400.0 - d.y, -d.z]
            })
            .collect();
        all.resize(LANDMARKS, [300.0, 400.0, 0.0]);
        Landmarks::new(all).expect("finite")
    }

    #[test]
    fn a_pose_is_read_back_and_places_return() {
        for (yaw, pitch, roll) in
            [(0.0, 0.0, 0.0), (20.0, 0.0, 0.0), (0.0, -15.0, 0.0), (0.0, 0.0, 30.0), (12.0, 8.0, -25.0)]
        {
            let frame = Frame::fit(&posed(Pose { yaw, pitch, roll })).expect("a face");
            let got = frame.pose();
            for (g, w) in [(got.yaw, yaw), (got.pitch, pitch), (got.roll, roll)] {
                assert!((g - w).abs() < 1e-6, "{got:?} against {yaw} {pitch} {roll}");
            }
            assert!((frame.mm_per_px() - 0.4).abs() < 1e-9);
            for n in [1, 33, 263, 152] {
                let back = frame.to_face(posed(Pose { yaw, pitch, roll }).all()[n]);
                let want = canonical()[n].map(|c| c * 10.0);
                assert!((0..3).all(|k| (back[k] - want[k]).abs() < 1e-6), "landmark {n}: {back:?} {want:?}");
            }
        }
    }

    #[test]
    fn the_signs_are_the_persons_own() {
        // The nose of a head turned to its own left points to the picture's right; chin up lifts it; a head tilted to its
        // own left shoulder has its crown at the picture's right.
        let nose = |pose| Frame::of_pose(pose, Pixel::default(), 1.0).to_picture([0.0, 0.0, 100.0]);
        assert!(nose(Pose { yaw: 20.0, ..Pose::default() }).x > 10.0);
        assert!(nose(Pose { pitch: 20.0, ..Pose::default() }).y < -10.0);
        let crown =
            Frame::of_pose(Pose { roll: 20.0, ..Pose::default() }, Pixel::default(), 1.0).to_picture([0.0, 100.0, 0.0]);
        assert!(crown.x > 10.0);
    }
}
