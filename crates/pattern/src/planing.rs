//! Passes, feed, and what to do when the planer is too narrow.

use stripwright_units::Length;

use crate::blank::{Blank, Laid};
use crate::face::{Cutting, Face};
use crate::geometry::range;
use crate::makes::SlabMake;
use crate::parting::Parting;
use crate::route::{Depths, passes};
use crate::shop::Shop;
use crate::tiling::Cut;
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
    /// Metres fed in all. No passes, pieces and feed for blanks that the planer takes neither whole nor in parts.
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

/// Ways for the blank and both stages.
pub(crate) fn stages(
    face: &Face,
    shop: &Shop,
    makes: &[SlabMake],
    slabs: &[Slab],
    blank: Blank,
    laid: &[Laid],
) -> (Vec<Way>, Vec<PlaneStage>, Parts) {
    let depths = Depths::of(face, shop);
    let first = passes(depths.strip, depths.slab, shop.planer.bite);
    let second = passes(depths.slab, depths.blank, shop.planer.bite);
    let mut pieces = 0;
    let mut fed = 0.0;
    for slab in slabs {
        let make = &makes[slab.make];
        for part in make.parts() {
            pieces += 1;
            // Staggered strips make a slab longer than any of them.
            let (near, far) = range(part.iter().flat_map(|l| [l.start, l.start + l.size.length.to_mm()]));
            fed += f64::from(first) * (far - near) / 1000.0;
        }
    }
    let slab_stage =
        PlaneStage { name: "slabs", from: depths.strip, to: depths.slab, passes: first, pieces, feed: fed };

    let parts = match shop.planer.width {
        Some(planer) if blank.across > planer => Parts::of(face, makes, slabs, planer, blank, laid),
        _ => Parts { many: 1, ..Parts::default() },
    };
    let ways = ways(face, shop, &parts, blank);
    let (pieces, along) =
        (parts.many * face.spec.count, if parts.many > 1 { parts.length } else { blank.along.to_mm() });
    let blank_stage = PlaneStage {
        name: "blanks",
        from: depths.slab,
        to: depths.blank,
        passes: if pieces > 0 { second } else { 0 },
        pieces,
        feed: f64::from(second * pieces) * along / 1000.0,
    };
    (ways, vec![slab_stage, blank_stage], parts)
}

/// What a blank is planed as.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Parts {
    /// Parts of a blank: 1 where the planer takes it whole, 0 where it cannot be parted for it.
    pub(crate) many: u32,
    /// Elements of each part; none where the parts are sub-slabs of the only slab.
    pub(crate) groups: Vec<Vec<usize>>,
    /// Length of a part along the feed, in millimetres.
    length: f64,
}

impl Parts {
    /// Of a blank that is wider than the planer.
    fn of(
        face: &Face,
        makes: &[SlabMake],
        slabs: &[Slab],
        planer: Length,
        blank: Blank,
        laid: &[Laid],
    ) -> Parts {
        if matches!(face.cutting, Cutting::Runs(Cut::None)) {
            let many = slabs.iter().map(|slab| makes[slab.make].sub_slabs).max().unwrap_or(1);
            return Parts { many, groups: Vec::new(), length: blank.along.to_mm() };
        }
        match face.parting(laid, planer) {
            // Parts of one piece each have no joint to level.
            Some(Parting { groups, along }) if groups.iter().any(|group| group.len() > 1) => {
                let corners = laid.iter().flat_map(|piece| &piece.polygon);
                let (low, high) = range(corners.map(|p| along.dot(*p)));
                Parts { many: groups.len() as u32, groups, length: high - low }
            }
            _ => Parts::default(),
        }
    }
}

/// How a blank so wide and long can be flattened.
fn ways(face: &Face, shop: &Shop, parts: &Parts, blank: Blank) -> Vec<Way> {
    let depths = Depths::of(face, shop);
    let second = passes(depths.slab, depths.blank, shop.planer.bite);
    if parts.many == 1 {
        return vec![Way::Whole { passes: second }];
    }
    let mut ways = Vec::new();
    if parts.many > 1 {
        ways.push(Way::Parts { parts: parts.many, passes: second * parts.many, joints: parts.many - 1 });
    }
    let sled = &shop.sled;
    let row = sled.cutter.to_mm() * sled.step_over;
    if row > 0.0 && sled.feed > 0.0 {
        let rows = (blank.across.to_mm() / row).ceil();
        let passes = passes(depths.slab, depths.blank, sled.bite);
        let minutes = rows * blank.along.to_mm() / 1000.0 / sled.feed * f64::from(passes);
        ways.push(Way::Sled { rows: rows as u32, passes, minutes });
    }
    if let Some(drum) = shop.drum.as_ref().filter(|d| d.width >= blank.across) {
        ways.push(Way::DrumSander { passes: passes(depths.slab, depths.blank, drum.bite) });
    }
    ways
}
