//! Where half bands are cut square: at the place that comes to lie on the middle line.
//!
//! The line crosses both long edges of a band. On one of them it meets a glue face of the strips, or lies so far from one.

use crate::plan::{Slab, SlabPiece};
use crate::words::numbers;
use crate::work::Work;

/// Millimetres within which a cut passes through a joint.
const NEAR: f64 = 1e-3;

/// Where a square cut meets a band's edge, from the nearest glue face of the strips.
struct Place {
    /// How many of the slab's strips lie before that face.
    before: usize,
    /// How many there are.
    strips: usize,
    /// The edge that is cut first, at the left of the band in its slab.
    left: bool,
    /// How far along that edge from the face, in millimetres: towards later strips above zero.
    along: f64,
}

/// Sentences that say for every band of some slabs where its square cut goes.
pub(super) fn cuts<'s>(work: &Work<'_>, slabs: impl Iterator<Item = &'s Slab>) -> Vec<String> {
    let mut alike: Vec<(Place, Vec<u32>)> = Vec::new();
    for (slab, piece) in slabs.flat_map(|slab| slab.pieces.iter().map(move |piece| (slab, piece))) {
        let (Some(band), Some(place)) = (piece.band, place(slab, piece)) else { continue };
        let same = |p: &Place| {
            (p.before, p.left) == (place.before, place.left) && (p.along - place.along).abs() < NEAR
        };
        match alike.iter_mut().find(|(known, _)| same(known)) {
            Some((_, bands)) => bands.push(band),
            None => alike.push((place, vec![band])),
        }
    }
    alike.into_iter().map(|(place, bands)| sentence(work, &place, bands)).collect()
}

fn sentence(work: &Work<'_>, place: &Place, mut bands: Vec<u32>) -> String {
    bands.sort_unstable();
    bands.dedup();
    let face = match place.before {
        0 => "the outer face of strip 1".to_string(),
        n if n == place.strips => format!("the outer face of strip {n}"),
        n => format!("the joint between strips {n} and {}", n + 1),
    };
    let side = if place.left { "left" } else { "right" };
    let point = format!("{face} meets the {side} edge of the band as it lay in the slab");
    let what = if bands.len() == 1 { "Band" } else { "Bands" };
    if place.along.abs() < NEAR {
        return format!("{what} {}: through the point where {point}.", numbers(&bands));
    }
    format!(
        "{what} {}: {} further along the edge, towards the {} strip, than where {point}.",
        numbers(&bands),
        work.words().about(place.along.abs(), work.job.mark),
        if place.along > 0.0 { "last" } else { "first" }
    )
}

/// The glue face nearest to where the cut meets an edge; the left edge where both are as near.
fn place(slab: &Slab, piece: &SlabPiece) -> Option<Place> {
    let trim = piece.trim?;
    let mut faces = vec![0.0];
    let mut across = 0.0;
    for layer in &slab.layers {
        across += layer.pitch.to_mm();
        faces.push(across);
    }
    let edges = piece.sides.iter().filter_map(|side| {
        let (u, v) = crossing(*side, trim)?;
        let before =
            (0..faces.len()).min_by(|a, b| (faces[*a] - v).abs().total_cmp(&(faces[*b] - v).abs()))?;
        // A step across the strips is so much longer along the edge.
        let slant = stripwright_units::trig::hypot(side[0], side[1]) / side[0].abs();
        let along = (v - faces[before]) * slant;
        Some((u, Place { before, strips: slab.layers.len(), left: false, along }))
    });
    let mut edges: Vec<(f64, Place)> = edges.collect();
    edges.sort_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((_, first)) = edges.first_mut() {
        first.left = true;
    }
    let mut best: Option<Place> = None;
    for (_, place) in edges {
        if best.as_ref().is_none_or(|known| place.along.abs() < known.along.abs() - NEAR) {
            best = Some(place);
        }
    }
    best
}

/// Where the lines that bound two half planes cross.
fn crossing([a, b, c]: [f64; 3], [d, e, f]: [f64; 3]) -> Option<(f64, f64)> {
    let area = a * e - b * d;
    (area.abs() > 1e-9).then(|| ((c * e - b * f) / area, (a * f - c * d) / area))
}
