//! What the shop does to the material, in order, with settings: the one description that counts, steps and the
//! picture are made from.
//!
//! [`Unrolled::built`](crate::Unrolled::built) carries the operations out on the strips (lay, cut, turn over, slide,
//! glue) and gives the face that comes of it.

use stripwright_units::{Angle, Length};

use crate::face::{Cutting, Face};
use crate::makes::{SlabMake, StripSize, count_sizes};
use crate::planing::Parts;
use crate::shop::{Glue, Shop};
use crate::spec::{Lay, Outline, Point};
use crate::tiling::Cut;
use crate::unroll::Slab;

/// One thing the shop does. Slabs are named by their make, elements by their index in the face.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Operation {
    /// Rip sheets into strips and cut these to length.
    Rip {
        /// Fence setting: the strips' depth.
        fence: Length,
        /// (size, how many), for all tops.
        strips: Vec<(StripSize, u32)>,
    },
    /// Glue strips face to face into slabs.
    Laminate {
        /// Which make.
        make: usize,
        /// How many slabs alike.
        slabs: u32,
        /// How far each strip starts past the start of the one below, in millimetres, from the second strip on.
        offsets: Vec<f64>,
        /// Strips glued up at a time, within the open time.
        section: u32,
    },
    /// Plane both faces of slabs, or of their sub-slabs.
    PlaneSlabs {
        /// Which make.
        make: usize,
        /// How many pieces go through the planer.
        pieces: u32,
        /// Before.
        from: Length,
        /// After.
        to: Length,
        /// Passes of one piece, both faces together.
        passes: u32,
    },
    /// Join planed sub-slabs face to face.
    JoinSubSlabs {
        /// Which make.
        make: usize,
        /// How many slabs.
        slabs: u32,
        /// Joints of one slab.
        joints: u32,
    },
    /// Cut bands, blocks or wedges off slabs.
    CutOff {
        /// Which make.
        make: usize,
        /// How many slabs.
        slabs: u32,
        /// Between the strips and the cut: the angle at the band's edge; 90 for a square cut.
        angle: Angle,
        /// How far the saw is turned from a square cut.
        from_square: Angle,
        /// Distance between cuts, kerf not counted. `None` for wedges, where every other cut leans the other way.
        width: Option<Length>,
        /// Pieces of one slab.
        pieces: u32,
        /// Cuts of one slab: one more than pieces.
        cuts: u32,
    },
    /// Cut half bands square to their edge, at the end that comes to lie on the middle line.
    TrimSquare {
        /// How many.
        pieces: u32,
    },
    /// Turn pieces over: half a turn about their own long axis.
    TurnOver {
        /// Elements of each top.
        elements: Vec<usize>,
    },
    /// Slide bands along their edges until laminations meet at the joints.
    Slide {
        /// How much further each band of a slab slides back than the one cut before it, in millimetres.
        step: f64,
    },
    /// Glue pieces edge to edge into blanks, in this order.
    GlueBlank {
        /// Elements of each top.
        order: Vec<usize>,
        /// Pieces glued up at a time.
        section: u32,
    },
    /// Plane both faces of blanks.
    PlaneBlanks {
        /// Before.
        from: Length,
        /// After.
        to: Length,
        /// Passes of one blank (of one part of it, where it is wider than the planer), both faces together.
        passes: u32,
        /// Parts that are planed apart and joined last; 1 where a blank is planed whole, 0 where the planer takes it
        /// neither way and it is flattened by other means.
        parts: u32,
        /// Elements of each part; none where a blank is not parted between its pieces.
        groups: Vec<Vec<usize>>,
    },
    /// Cut the outline round the centre pin.
    CutOutline {
        /// From the pin to the near edge of the cutter, for a round outline.
        pin_radius: Option<Length>,
        /// The cutter's kerf.
        kerf: Length,
    },
    /// Sand both faces.
    Sand {
        /// Before.
        from: Length,
        /// After.
        to: Length,
    },
}

/// All that is done, in shop order, for all tops of one spec.
#[derive(Clone, Debug, PartialEq)]
pub struct Route {
    /// Operations in order.
    pub operations: Vec<Operation>,
}

/// The thicknesses that the work passes through.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Depths {
    /// Strips as ripped.
    pub(crate) strip: Length,
    /// Slabs after planing.
    pub(crate) slab: Length,
    /// Blanks after planing.
    pub(crate) blank: Length,
    /// Finished.
    pub(crate) top: Length,
}

impl Depths {
    pub(crate) fn of(face: &Face, shop: &Shop) -> Depths {
        let blank = face.spec.finished + shop.sanding;
        let slab = blank + shop.plane_blank * 2;
        Depths {
            strip: crate::makes::strip_depth(face.spec.finished, shop),
            slab,
            blank,
            top: face.spec.finished,
        }
    }
}

/// Passes to take `from` down to `to`, half off each face, a bite at a time: `2 ceil(a / bite)`.
///
/// What rounding the strips' depth up to the mark has added is planed off with the slab's first passes.
pub(crate) fn passes(from: Length, to: Length, bite: Length) -> u32 {
    if !bite.is_positive() {
        return 0;
    }
    // Twice the bite is what a pass on each face takes.
    let both = bite * 2;
    let rounds = ((from - to).nm() + both.nm() - 1) / both.nm();
    2 * rounds.max(0) as u32
}

/// Strips that are spread and laid before the first has stood for the open time (T32): its last strip may be laid just
/// as the time is up, hence the one more.
pub(crate) fn section(glue: &Glue) -> u32 {
    let many = glue.open_minutes * glue.strips_a_minute;
    if many.is_finite() { (many + 1e-9).clamp(1.0, 1e6) as u32 + 1 } else { u32::MAX }
}

pub(crate) fn describe(face: &Face, shop: &Shop, makes: &[SlabMake], slabs: &[Slab], parts: &Parts) -> Route {
    let mut used: Vec<(usize, u32)> = Vec::new();
    for slab in slabs {
        match used.iter_mut().find(|u| u.0 == slab.make) {
            Some(u) => u.1 += 1,
            None => used.push((slab.make, 1)),
        }
    }
    let shaping = Shaping { face, shop, makes, used, depths: Depths::of(face, shop) };
    let mut operations = Vec::new();
    let sizes = slabs.iter().flat_map(|s| makes[s.make].layers.iter().map(|l| l.size));
    operations.push(Operation::Rip { fence: shaping.depths.strip, strips: count_sizes(sizes) });
    shaping.slabs(&mut operations);
    shaping.pieces(&mut operations);
    shaping.blanks(parts, &mut operations);
    shaping.tops(&mut operations);
    Route { operations }
}

/// What the operations are told from: how many slabs of which make, and the thicknesses they pass through.
struct Shaping<'a> {
    face: &'a Face,
    shop: &'a Shop,
    makes: &'a [SlabMake],
    used: Vec<(usize, u32)>,
    depths: Depths,
}

impl Shaping<'_> {
    /// Whether the slab is the blank.
    fn whole(&self) -> bool {
        matches!(self.face.cutting, Cutting::Runs(Cut::None))
    }

    fn join(&self, make: usize, slabs: u32) -> Option<Operation> {
        let joints = self.makes[make].sub_slabs - 1;
        (joints > 0).then_some(Operation::JoinSubSlabs { make, slabs, joints })
    }

    /// Strips into slabs, planed.
    fn slabs(&self, operations: &mut Vec<Operation>) {
        for &(make, slabs) in &self.used {
            let layers = &self.makes[make].layers;
            let offsets = layers.windows(2).map(|w| w[1].start - w[0].start).collect();
            let section = section(&self.shop.glue);
            operations.push(Operation::Laminate { make, slabs, offsets, section });
        }
        let (from, to) = (self.depths.strip, self.depths.slab);
        for &(make, slabs) in &self.used {
            operations.push(Operation::PlaneSlabs {
                make,
                pieces: slabs * self.makes[make].sub_slabs,
                from,
                to,
                passes: passes(from, to, self.shop.planer.bite),
            });
            // Parts of a slab that is the blank stay apart until they are planed for the last time.
            if !self.whole() {
                operations.extend(self.join(make, slabs));
            }
        }
    }

    /// Slabs into pieces, each as it goes into the blank.
    fn pieces(&self, operations: &mut Vec<Operation>) {
        let (face, pieces_of) = (self.face, |make: usize| self.makes[make].places.len() as u32);
        if let Some((angle, width)) = self.cut() {
            for &(make, slabs) in &self.used {
                let pieces = pieces_of(make);
                let from_square = Angle::degrees(90.0 - angle.to_degrees());
                let cuts = pieces + 1;
                operations.push(Operation::CutOff { make, slabs, angle, from_square, width, pieces, cuts });
            }
        }
        if matches!(face.cutting, Cutting::Runs(Cut::HalfBias { .. })) {
            let pieces = self.used.iter().map(|&(make, slabs)| slabs * pieces_of(make)).sum();
            operations.push(Operation::TrimSquare { pieces });
        }
        let turned: Vec<usize> = (0..face.elements.len()).filter(|&e| face.elements[e].turned).collect();
        if !turned.is_empty() {
            operations.push(Operation::TurnOver { elements: turned });
        }
        if let Cutting::Runs(Cut::Bias { angle, width } | Cut::HalfBias { angle, width }) = face.cutting {
            let step = (width + self.shop.bias_kerf).to_mm() * angle.cot();
            if step > 0.0 {
                operations.push(Operation::Slide { step });
            }
        }
    }

    /// The cut that parts a slab: its angle to the strips, and the distance between cuts; none where slabs stay whole.
    fn cut(&self) -> Option<(Angle, Option<Length>)> {
        match self.face.cutting {
            Cutting::Runs(Cut::None) => None,
            Cutting::Runs(Cut::Bias { angle, width } | Cut::HalfBias { angle, width }) => {
                Some((angle, Some(width)))
            }
            Cutting::Runs(Cut::Wedge { half, lay: Lay::Along }) => Some((half, None)),
            Cutting::Runs(Cut::Wedge { half, .. }) => Some((Angle::degrees(90.0 - half.to_degrees()), None)),
            Cutting::Blocks(run) => Some((Angle::degrees(90.0), Some(run))),
        }
    }

    /// Pieces into blanks, planed.
    fn blanks(&self, parts: &Parts, operations: &mut Vec<Operation>) {
        let elements = self.face.elements.len();
        if elements > 1 {
            let section = section(&self.shop.glue);
            operations.push(Operation::GlueBlank { order: (0..elements).collect(), section });
        }
        let (from, to) = (self.depths.slab, self.depths.blank);
        operations.push(Operation::PlaneBlanks {
            from,
            to,
            passes: passes(from, to, self.shop.planer.bite),
            parts: parts.many,
            groups: parts.groups.clone(),
        });
        if self.whole() {
            operations.extend(self.used.iter().filter_map(|&(make, slabs)| self.join(make, slabs)));
        }
    }

    /// Blanks into tops.
    fn tops(&self, operations: &mut Vec<Operation>) {
        let pin_radius = match &self.face.spec.outline {
            Outline::Round { diameter } => Some(Length::from_nm(diameter.nm() / 2)),
            _ => None,
        };
        operations.push(Operation::CutOutline { pin_radius, kerf: self.shop.outline_kerf });
        if self.shop.sanding.is_positive() {
            operations.push(Operation::Sand { from: self.depths.blank, to: self.depths.top });
        }
    }
}

/// What a piece of a slab becomes in the face: one stripe for each strip that it holds.
#[derive(Clone, Debug, PartialEq)]
pub struct BuiltCell {
    /// Index into [`Face::elements`].
    pub element: usize,
    /// Lamination, in the numbering of the element.
    pub lamination: i64,
    /// The caller's number of its kind of sheet goods.
    pub kind: usize,
    /// Convex corners in the face, anticlockwise.
    pub polygon: Vec<Point>,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Design section 5: `2 ceil(plane / bite)`; T36, common practice: bites of 0.3 to 0.5 mm.
    #[test]
    fn passes_by_bite() {
        let um = Length::from_um;
        assert_eq!(passes(um(36_000), um(34_400), um(400)), 4);
        assert_eq!(passes(um(36_001), um(34_400), um(400)), 6);
        assert_eq!(passes(um(34_000), um(34_000), um(400)), 0);
    }

    /// T32, common practice: floor(open time / time a strip) + 1.
    #[test]
    fn strips_in_a_section() {
        let glue = |open_minutes, strips_a_minute| Glue {
            spread: 200.0,
            faces: 1,
            end_grain: 0.25,
            squeeze_out: 0.1,
            open_minutes,
            strips_a_minute,
            bottle: 1000.0,
        };
        assert_eq!(section(&glue(10.0, 1.5)), 16);
        assert_eq!(section(&glue(5.0, 0.3)), 2);
    }
}
