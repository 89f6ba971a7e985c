//! Where a wedge's point lies in its slab, and how far apart its sides are further on.

use crate::plan::{Slab, SlabPiece};

/// Nearer than this, in millimetres, a point lies on a line.
const ON: f64 = 0.01;

/// A wedge in its slab: lengths in millimetres, along the strips and across them from the first strip's outer face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wedge {
    /// Its point: along, across.
    pub point: [f64; 2],
    /// Which strip the point lies on, from 0; where it lies on a glue line, the strip after that.
    pub strip: usize,
    /// How far across that strip it lies, from its first face.
    pub within: f64,
    /// Left end of that strip.
    pub end: f64,
    /// True where it opens along the strips, false where it opens across them.
    pub along: bool,
    /// Two points of its sides where their distance is measured, both in the slab's wood: square to the strips where it opens
    /// along them, and along them, on the slab's face, where it opens across.
    pub wide: [[f64; 2]; 2],
}

impl Wedge {
    /// How far apart its sides are where that is measured.
    pub fn breadth(&self) -> f64 {
        let [p, q] = self.wide;
        let [along, across] = [p[0] - q[0], p[1] - q[1]];
        (along * along + across * across).sqrt()
    }

    /// True where the point lies on a strip's face and not within it.
    pub fn on_face(&self) -> bool {
        self.within.abs() < ON
    }
}

impl Slab {
    /// The wedges cut off it, in order along it; nothing for what is not bounded by two sides that meet.
    pub fn wedges(&self) -> Vec<Wedge> {
        self.pieces.iter().filter_map(|piece| self.wedge(piece)).collect()
    }

    fn wedge(&self, piece: &SlabPiece) -> Option<Wedge> {
        let &[p, q] = piece.sides.as_slice() else { return None };
        let point = meet(p, q)?;
        let faces: Vec<f64> = std::iter::once(0.0)
            .chain(self.layers.iter().scan(0.0, |face, layer| {
                *face += layer.pitch.to_mm();
                Some(*face)
            }))
            .collect();
        let strip = faces.iter().rposition(|face| *face < point[1] + ON).unwrap_or(0);
        let strip = strip.min(self.layers.len().checked_sub(1)?);
        let along = p[0] * q[0] > 0.0 && p[1] * q[1] < 0.0;
        let breadth = *faces.last()?;
        let wide = if along {
            // As far along as both sides are within the slab and all strips still lie there.
            let edge = |[_, b, _]: [f64; 3]| if b > 0.0 { breadth } else { 0.0 };
            let leaves = [p, q].map(|side| along_at(side, edge(side)));
            let ends = self.layers.iter().map(|layer| layer.start + layer.length.to_mm());
            let x = leaves.into_iter().chain(ends).fold(f64::INFINITY, f64::min);
            [p, q].map(|side| [x, (side[2] - side[0] * x) / side[1]])
        } else {
            let y = if point[1] < breadth / 2.0 { breadth } else { 0.0 };
            [p, q].map(|side| [along_at(side, y), y])
        };
        Some(Wedge {
            point,
            strip,
            within: point[1] - faces[strip],
            end: self.layers[strip].start,
            along,
            wide,
        })
    }
}

/// Where the line that bounds a half plane lies along the strips, so far across them.
fn along_at([a, b, c]: [f64; 3], across: f64) -> f64 {
    (c - b * across) / a
}

/// Where two lines meet; nothing where they hardly do.
fn meet([a, b, c]: [f64; 3], [d, e, f]: [f64; 3]) -> Option<[f64; 2]> {
    let turn = a * e - b * d;
    (turn.abs() > 1e-6).then(|| [(c * e - b * f) / turn, (a * f - c * d) / turn])
}
