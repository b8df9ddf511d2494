//! Profiles of tables alone (ICC.1:2022, 10.10 to 10.12: lut8Type, lut16Type, lutAToBType), read as they stand: the tables
//! are parsed by the colour library, but followed here, since it resamples them on a grid of its own, which costs up to a
//! per cent of light in the darks.

use std::sync::Arc;

use moxcms::{DataColorSpace, LutStore, LutType, LutWarehouse};

use super::curve::Curve;
use super::{SpaceError, from_xyz, icc};
use crate::light::{Linear, Xyz, bradford};
use crate::matrix::{M3, product, times};

/// The way through a profile's tables.
#[derive(Clone)]
pub(crate) struct Lut {
    steps: Arc<[Step]>,
    connection: Connection,
    to_linear: M3,
}

enum Step {
    Curves([Curve; 3]),
    Grid(Grid),
    Matrix { m: M3, plus: [f64; 3] },
}

/// How 0 to 1 stands for a colour of the profile connection space.
#[derive(Clone, Copy)]
enum Connection {
    /// X, Y, Z from 0 to 1 + 32767/32768.
    Xyz,
    /// L* from 0 to 100, a* and b* from -128 to 127.
    Lab,
    /// The 16-bit way of version 2: the same, but 0xFF00 is 100 and 127.
    LabOfVersion2,
}

/// Three numbers at each point of a grid.
struct Grid {
    points: [usize; 3],
    values: Box<[[f64; 3]]>,
}

impl Lut {
    pub(crate) fn new(table: &LutWarehouse, connection: DataColorSpace) -> Result<Lut, SpaceError> {
        let damaged = |what: &str| SpaceError::Damaged(what.to_string());
        let old = matches!(table, LutWarehouse::Lut(t) if t.lut_type == LutType::Lut16);
        let connection = match connection {
            DataColorSpace::Xyz => Connection::Xyz,
            DataColorSpace::Lab if old => Connection::LabOfVersion2,
            DataColorSpace::Lab => Connection::Lab,
            _ => return Err(damaged("its connection space is neither XYZ nor Lab")),
        };
        let mut steps = Vec::new();
        match table {
            LutWarehouse::Lut(t) => {
                if (t.num_input_channels, t.num_output_channels) != (3, 3) {
                    return Err(damaged("its table does not lead from three channels to three"));
                }
                steps.push(Step::Curves(tables(&t.input_table)?));
                let points = [usize::from(t.num_clut_grid_points); 3];
                steps.push(Step::Grid(Grid::new(points, &t.clut_table)?));
                steps.push(Step::Curves(tables(&t.output_table)?));
            }
            LutWarehouse::Multidimensional(t) => {
                if (t.num_input_channels, t.num_output_channels) != (3, 3) {
                    return Err(damaged("its table does not lead from three channels to three"));
                }
                let curves = |all: &[moxcms::ToneReprCurve]| match all {
                    [] => Ok(None),
                    [x, y, z] => Ok(Some(Step::Curves([icc::curve(x)?, icc::curve(y)?, icc::curve(z)?]))),
                    _ => Err(damaged("its table does not have three curves")),
                };
                steps.extend(curves(&t.a_curves)?);
                if let Some(store) = &t.clut {
                    steps.push(Step::Grid(Grid::new([0, 1, 2].map(|k| usize::from(t.grid_points[k])), store)?));
                }
                steps.extend(curves(&t.m_curves)?);
                steps.push(Step::Matrix { m: t.matrix.v, plus: t.bias.v });
                steps.extend(curves(&t.b_curves)?);
            }
        }
        let d50_to_d65 = bradford(Xyz::WHITE_D50.0, Xyz::WHITE_D65.0);
        Ok(Lut { steps: steps.into(), connection, to_linear: product(&from_xyz(), &d50_to_d65) })
    }

    pub(crate) fn linear(&self, encoded: [f64; 3]) -> Linear {
        // Every step holds 0 to 1 and no more (ICC.1:2022, 10.12.1).
        let held = |v: f64| v.clamp(0.0, 1.0);
        let mut v = encoded.map(held);
        for step in self.steps.iter() {
            v = match step {
                Step::Curves(curves) => std::array::from_fn(|k| held(curves[k].linear(v[k]))),
                Step::Grid(grid) => grid.at(v).map(held),
                Step::Matrix { m, plus } => {
                    let turned = times(m, v);
                    std::array::from_fn(|k| held(turned[k] + plus[k]))
                }
            };
        }
        let lab = |l: f64, ab: f64| crate::lab::of_d50_lab([v[0] * l, v[1] * ab - 128.0, v[2] * ab - 128.0]).0;
        let d50 = match self.connection {
            Connection::Xyz => v.map(|v| v * (1.0 + 32767.0 / 32768.0)),
            Connection::Lab => lab(100.0, 255.0),
            Connection::LabOfVersion2 => {
                let stretch = 65535.0 / 65280.0;
                lab(100.0 * stretch, 255.0 * stretch)
            }
        };
        Linear(times(&self.to_linear, d50))
    }
}

fn numbers(store: &LutStore) -> Vec<f64> {
    match store {
        LutStore::Store8(v) => v.iter().map(|v| f64::from(*v) / 255.0).collect(),
        LutStore::Store16(v) => v.iter().map(|v| f64::from(*v) / 65535.0).collect(),
    }
}

/// Three tables of one length, one after another.
fn tables(store: &LutStore) -> Result<[Curve; 3], SpaceError> {
    let all = numbers(store);
    let each = all.len() / 3;
    if each < 2 || !all.len().is_multiple_of(3) {
        return Err(SpaceError::Damaged("a table is too short".to_string()));
    }
    Ok(std::array::from_fn(|k| Curve::Table(all[k * each..(k + 1) * each].into())))
}

impl Grid {
    fn new(points: [usize; 3], store: &LutStore) -> Result<Grid, SpaceError> {
        let values: Box<[[f64; 3]]> = numbers(store).as_chunks::<3>().0.into();
        if points.iter().any(|n| *n < 2) || values.len() != points.iter().product::<usize>() {
            return Err(SpaceError::Damaged("a grid of its table does not have the size it says".to_string()));
        }
        Ok(Grid { points, values })
    }

    /// Between the points by tetrahedra, which keeps greys grey; common practice.
    fn at(&self, v: [f64; 3]) -> [f64; 3] {
        let place: [(usize, f64); 3] = std::array::from_fn(|k| {
            let last = self.points[k] - 1;
            let at = v[k] * last as f64;
            let below = (at as usize).min(last - 1);
            (below, at - below as f64)
        });
        let strides = [self.points[1] * self.points[2], self.points[2], 1];
        let mut index: usize = (0..3).map(|k| place[k].0 * strides[k]).sum();
        // From the near corner to the far one, along the axis of the largest share first.
        let mut order = [0, 1, 2];
        order.sort_by(|a, b| place[*b].1.total_cmp(&place[*a].1));
        let mut sum = self.values[index];
        for k in order {
            let before = self.values[index];
            index += strides[k];
            let after = self.values[index];
            (0..3).for_each(|c| sum[c] += (after[c] - before[c]) * place[k].1);
        }
        sum
    }
}
