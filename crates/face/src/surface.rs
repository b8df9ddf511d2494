//! The canonical face surface: 468 vertices in landmark order.
//!
//! Source: the canonical face model of Google's face landmark family (Apache-2.0), see `data/models/NOTICE.md`.

use std::fmt;
use std::sync::OnceLock;

use crate::Spot;

/// How many vertices the surface has; also the number of surface landmarks of the network.
pub const VERTICES: usize = 468;

static TABLE: &str = include_str!("../../../data/models/canonical_vertices.csv");

/// Why a vertex table cannot be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SurfaceError {
    /// 1-based line; 0 when the table as a whole is meant.
    pub line: usize,
    /// What is wrong.
    pub message: String,
}

impl fmt::Display for SurfaceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.message)
    }
}

impl std::error::Error for SurfaceError {}

/// Reads a vertex table: `#` remarks, a header, then `x,y,z,...` in centimetres, one vertex a line.
///
/// # Errors
/// The first line that is no vertex, or a count other than [`VERTICES`].
pub fn parse_vertices(text: &str) -> Result<Vec<[f64; 3]>, SurfaceError> {
    let mut vertices = Vec::with_capacity(VERTICES);
    for (index, line) in text.lines().enumerate() {
        if line.is_empty() || line.starts_with('#') || line.starts_with('x') {
            continue;
        }
        let mut columns = line.split(',').map(|c| c.trim().parse::<f64>().ok().filter(|n| n.is_finite()));
        match (columns.next().flatten(), columns.next().flatten(), columns.next().flatten()) {
            (Some(x), Some(y), Some(z)) => vertices.push([x, y, z]),
            _ => {
                return Err(SurfaceError { line: index + 1, message: "needs three numbers x,y,z".to_owned() });
            }
        }
    }
    if vertices.len() == VERTICES {
        Ok(vertices)
    } else {
        let message = format!("{} vertices, but the surface has {VERTICES}", vertices.len());
        Err(SurfaceError { line: 0, message })
    }
}

/// The canonical vertices, x, y, z in centimetres; empty only if the compiled-in table were broken, which a test forbids.
pub fn canonical() -> &'static [[f64; 3]] {
    static SURFACE: OnceLock<Vec<[f64; 3]>> = OnceLock::new();
    SURFACE.get_or_init(|| parse_vertices(TABLE).unwrap_or_default())
}

/// A vertex projected along z onto the drawing; `None` if there is no such vertex.
pub fn vertex(number: usize) -> Option<Spot> {
    canonical().get(number).map(|v| Spot::new(v[0], v[1]))
}

static TRIANGLES: &str = include_str!("../../../data/models/canonical_triangles.csv");

/// The 898 triangles of the surface, as numbers of their corners; empty only if the compiled-in table were broken, which a
/// test forbids.
pub fn triangles() -> &'static [[usize; 3]] {
    static MESH: OnceLock<Vec<[usize; 3]>> = OnceLock::new();
    MESH.get_or_init(|| {
        let corner = |word: Option<&str>| word?.trim().parse::<usize>().ok().filter(|n| *n < VERTICES);
        let row = |line: &str| {
            let mut columns = line.split(',');
            Some([corner(columns.next())?, corner(columns.next())?, corner(columns.next())?])
        };
        TRIANGLES.lines().filter_map(row).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_surface_is_whole_and_symmetric() {
        assert_eq!(canonical().len(), VERTICES);
        assert_eq!(triangles().len(), 898);
        // Pairs of well-known landmarks: outer and inner eye corners, mouth corners, cheek edge.
        for (right, left) in [(33, 263), (133, 362), (61, 291), (234, 454), (172, 397)] {
            let (r, l) = (canonical()[right], canonical()[left]);
            assert!((r[0] + l[0]).abs() < 1e-3 && (r[1] - l[1]).abs() < 1e-3, "{right} mirrors {left}: {r:?} {l:?}");
            assert!(l[0] > 0.0, "the person's own left lies at x > 0: {left}");
        }
    }

    #[test]
    fn broken_tables_are_refused_with_their_line() {
        assert_eq!(parse_vertices("x,y,z\n1,2\n").map_err(|e| e.line), Err(2));
        assert_eq!(parse_vertices("x,y,z\n1,2,3\n").map_err(|e| e.line), Err(0));
        assert_eq!(parse_vertices("1,2,inf\n").map_err(|e| e.line), Err(1));
    }
}
