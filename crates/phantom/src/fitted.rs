//! The smooth fitted face: the canonical surface laid onto this head, whose slopes say what light a face without its own
//! small relief would receive.

use face::{Frame, Landmarks, VERTICES, canonical, triangles};

use crate::V3;
use crate::figure::Figure;
use crate::head::topology;

/// Normals of the canonical surface, length one, outward.
fn canonical_normals() -> Vec<V3> {
    let points: Vec<V3> = canonical().iter().map(|v| V3::from(*v)).collect();
    let mut sum = vec![V3::zeros(); points.len()];
    for t in triangles() {
        let [a, b, c] = t.map(|n| points[n]);
        let n = (b - a).cross(&(c - a));
        let outward = n.dot(&((a + b + c) / 3.0 + V3::new(0.0, 0.0, 6.0))) > 0.0;
        t.iter().for_each(|i| sum[*i] += if outward { n } else { -n });
    }
    sum.into_iter().map(|n| n.normalize()).collect()
}

/// Normals of the fitted face at every vertex of the head's skin, face frame. Beyond the canonical surface the head's own.
pub(crate) fn normals(figure: &Figure) -> Vec<V3> {
    let scheme = &topology().scheme;
    // The head seen straight from in front is a picture with known landmarks; the fit turns the canonical face onto it.
    let mut seen: Vec<[f64; 3]> = figure.head[..VERTICES].iter().map(|p| [p.x, -p.y, -p.z]).collect();
    seen.resize(face::LANDMARKS, [0.0; 3]);
    let frame = Landmarks::new(seen).and_then(|l| Frame::fit(&l)).map(|f| f.with_scale(1.0));
    let turned = |n: V3| {
        let Some(frame) = &frame else { return n };
        let (zero, tip) = (frame.to_picture([0.0; 3]), frame.to_picture(n.into()));
        V3::new(tip.x - zero.x, zero.y - tip.y, frame.facing(n.into()))
    };
    let own = canonical_normals();
    let control: Vec<V3> =
        (0..scheme.controls()).map(|i| own.get(i).map_or(figure.head_normals[i], |n| turned(*n))).collect();
    let parts = [0, 1, 2].map(|k| scheme.paint(&control.iter().map(|n| n[k]).collect::<Vec<_>>()));
    (0..scheme.len()).map(|i| V3::new(parts[0][i], parts[1][i], parts[2][i]).normalize()).collect()
}
