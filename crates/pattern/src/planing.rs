//! Passes, feed, and what to do when the planer is too narrow.

use stripwright_units::Length;

use crate::face::Face;
use crate::makes::SlabMake;
use crate::route::{Depths, passes};
use crate::shop::Shop;
use crate::unroll::Slab;

/// Planing of one stage.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaneStage {
    /// `slabs` or `blanks`.
    pub name: &'static str,
    /// Before.
    pub from: Length,
    /// After.
    pub to: Length,
    /// Passes of one piece, both faces together.
    pub passes: u32,
    /// Pieces that go through the planer: slabs or sub-slabs, blanks or parts of them.
    pub pieces: u32,
    /// Metres fed in all.
    pub feed: f64,
}

/// A way to flatten a blank.
#[derive(Clone, Debug, PartialEq)]
pub enum Way {
    /// The planer takes it whole.
    Whole {
        /// Passes of one blank, both faces.
        passes: u32,
    },
    /// So many parts are planed apart and joined last; the last joints are levelled by sanding alone.
    Parts {
        /// Parts of a blank.
        parts: u32,
        /// Passes of one blank, all parts, both faces.
        passes: u32,
        /// Joints left to glue after planing.
        joints: u32,
    },
    /// A router on a sled.
    Sled {
        /// Rows a pass.
        rows: u32,
        /// Passes, both faces.
        passes: u32,
        /// Minutes a blank.
        minutes: f64,
    },
    /// A drum sander.
    DrumSander {
        /// Passes of one blank, both faces.
        passes: u32,
    },
}

/// Ways for the blank, both stages, and how many parts the first way planes apart.
pub(crate) fn stages(
    face: &Face,
    shop: &Shop,
    makes: &[SlabMake],
    slabs: &[Slab],
    (width, length): (Length, Length),
) -> (Vec<Way>, Vec<PlaneStage>, u32) {
    let depths = Depths::of(face, shop);
    let first = passes(depths.strip, depths.slab, shop.planer.bite);
    let second = passes(depths.slab, depths.blank, shop.planer.bite);
    let mut pieces = 0;
    let mut fed = 0.0;
    for slab in slabs {
        let make = &makes[slab.make];
        for part in parts_of(make) {
            pieces += 1;
            // Staggered strips make a slab longer than any of them.
            let near = part.iter().map(|l| l.start).fold(f64::INFINITY, f64::min);
            let far = part.iter().map(|l| l.start + l.size.length.to_mm()).fold(f64::NEG_INFINITY, f64::max);
            fed += f64::from(first) * (far - near) / 1000.0;
        }
    }
    let slab_stage =
        PlaneStage { name: "slabs", from: depths.strip, to: depths.slab, passes: first, pieces, feed: fed };

    let mut ways = Vec::new();
    let mut parts = 1;
    match shop.planer.width {
        Some(planer) if width > planer => {
            parts = match face.band_width {
                // Parted between bands, so many whole bands as the planer takes.
                Some(band) if band <= planer => {
                    let bands = (width.nm() + band.nm() / 2) / band.nm();
                    let each = planer / band;
                    ((bands + each - 1) / each) as u32
                }
                _ => ((width.nm() + planer.nm() - 1) / planer.nm().max(1)) as u32,
            };
            ways.push(Way::Parts { parts, passes: second * parts, joints: parts - 1 });
            let sled = &shop.sled;
            let row = sled.cutter.to_mm() * sled.step_over;
            if row > 0.0 && sled.feed > 0.0 {
                let rows = (width.to_mm() / row).ceil();
                let passes = passes(depths.slab, depths.blank, sled.bite);
                let minutes = rows * length.to_mm() / 1000.0 / sled.feed * f64::from(passes);
                ways.push(Way::Sled { rows: rows as u32, passes, minutes });
            }
            if let Some(drum) = shop.drum.as_ref().filter(|d| d.width >= width) {
                ways.push(Way::DrumSander { passes: passes(depths.slab, depths.blank, drum.bite) });
            }
        }
        _ => ways.push(Way::Whole { passes: second }),
    }
    let pieces = parts * face.spec.count;
    let feed = f64::from(second) * f64::from(pieces) * length.to_mm() / 1000.0;
    let blank_stage =
        PlaneStage { name: "blanks", from: depths.slab, to: depths.blank, passes: second, pieces, feed };
    (ways, vec![slab_stage, blank_stage], parts)
}

/// Layers of each sub-slab.
pub(crate) fn parts_of(make: &SlabMake) -> impl Iterator<Item = &[crate::makes::SlabStrip]> {
    let starts = std::iter::once(0).chain(make.breaks.iter().copied());
    let ends = make.breaks.iter().copied().chain(std::iter::once(make.layers.len()));
    starts.zip(ends).map(|(a, b)| &make.layers[a..b])
}
