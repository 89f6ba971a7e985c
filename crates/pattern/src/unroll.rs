//! From chosen makes to slabs, glue, clamps, passes, mass and ledger.

use crate::blank::Blank;
use crate::face::Face;
use crate::geometry::{Half, area, clip};
use crate::glue::{self, GlueStage};
use crate::ledger::Ledger;
use crate::makes::{SlabMake, StripSize};
use crate::planing::{self, PlaneStage, Way};
use crate::route::{BuiltCell, Route, describe};
use crate::shop::Shop;
use crate::spec::Point;

/// A slab of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Slab {
    /// Index into the makes.
    pub make: usize,
    /// (top, element) of each piece in cutting order, both from 0; `None` for a spare.
    pub pieces: Vec<Option<(u32, usize)>>,
    /// (size, how many), longest first within a kind.
    pub strips: Vec<(StripSize, u32)>,
}

/// All that the tops of one spec come to, for all of them together unless said otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Unrolled {
    /// Every slab, in the order of the chosen makes.
    pub slabs: Vec<Slab>,
    /// Strips of all slabs.
    pub strips_total: u32,
    /// Spare pieces made: (cover, how many).
    pub spare: Vec<(usize, u32)>,
    /// Strips into slabs, sub-slabs into slabs, pieces into blanks; those that there are.
    pub glue: Vec<GlueStage>,
    /// Slabs, then blanks.
    pub planing: Vec<PlaneStage>,
    /// How a blank can be flattened; more than one where the planer is too narrow.
    pub ways: Vec<Way>,
    /// How large a blank is.
    pub blank: Blank,
    /// True where the clamps do not open as wide as a blank: they have to be joined end to end, or wedges used.
    pub beyond_clamps: bool,
    /// The volume balance.
    pub ledger: Ledger,
    /// What is done.
    pub route: Route,
}

impl Face {
    /// Follows the material through the shop. `chosen` is (index into `makes`, how many slabs); together they have to
    /// yield every cover's count at least, what they yield beyond it is spare.
    pub fn unroll(&self, shop: &Shop, makes: &[SlabMake], chosen: &[(usize, u32)]) -> Unrolled {
        let slabs = self.assign(makes, chosen);
        let mut spare = vec![0; self.covers.len()];
        for slab in &slabs {
            for (place, piece) in makes[slab.make].places.iter().zip(&slab.pieces) {
                if piece.is_none() {
                    spare[self.elements[place.element].cover] += 1;
                }
            }
        }
        let laid = self.laid(makes, &slabs);
        let blank = self.blank(&laid);
        let (ways, planing, parts) = planing::stages(self, shop, makes, &slabs, blank, &laid);
        let route = describe(self, shop, makes, &slabs, &parts);
        let glue = glue::stages(self, shop, makes, &slabs, &parts, &laid);
        let ledger = Ledger::keep(self, shop, makes, &slabs);
        Unrolled {
            strips_total: slabs.iter().map(|s| makes[s.make].strips_total()).sum(),
            spare: spare.into_iter().enumerate().filter(|s| s.1 > 0).collect(),
            glue,
            planing,
            ways,
            blank,
            beyond_clamps: shop.clamp.reach.is_some_and(|reach| blank.pressed > reach),
            ledger,
            route,
            slabs,
        }
    }

    /// Gives every piece its place: the lowest top that still wants one of its cover, and there the element it was
    /// made for, or its like.
    fn assign(&self, makes: &[SlabMake], chosen: &[(usize, u32)]) -> Vec<Slab> {
        let like: Vec<usize> = self.covers.iter().map(|c| c.elements.len()).collect();
        // For each cover: the top being filled, and which of its elements there are filled.
        let mut filling: Vec<(u32, Vec<bool>)> = like.iter().map(|&n| (0, vec![false; n])).collect();
        let mut slabs = Vec::new();
        for &(make, times) in chosen {
            for _ in 0..times {
                let mut pieces = Vec::new();
                for place in &makes[make].places {
                    let cover = self.elements[place.element].cover;
                    let (top, filled) = &mut filling[cover];
                    if *top >= self.spec.count {
                        pieces.push(None);
                        continue;
                    }
                    let own = self.covers[cover].elements.iter().position(|&e| e == place.element);
                    let free = own.filter(|&i| !filled[i]).or_else(|| filled.iter().rposition(|f| !f));
                    let Some(i) = free else { continue };
                    filled[i] = true;
                    pieces.push(Some((*top, self.covers[cover].elements[i])));
                    if filled.iter().all(|&f| f) {
                        *top += 1;
                        filled.fill(false);
                    }
                }
                slabs.push(Slab { make, pieces, strips: makes[make].strips.clone() });
            }
        }
        slabs
    }

    /// Mass of one finished top in kilograms: area, finished thickness, and the density of the sheets (T8), in kg/m3 by
    /// their kind; for a mixed sequence the mean by thickness.
    pub fn mass(&self, density_of: &dyn Fn(usize) -> f64) -> f64 {
        let run = &self.spec.sequence.laminations;
        let thick: f64 = run.iter().map(|l| l.thickness.to_mm()).sum();
        let density = run.iter().map(|l| l.thickness.to_mm() * density_of(l.kind)).sum::<f64>() / thick;
        self.spec.outline.area() * self.spec.finished.to_mm() * density * 1e-9
    }

    /// What comes of one place of a make, laid where an element of its cover lies in the face: every strip that it
    /// holds, cut by the cuts on either side, slid, turned over where the element is, and trimmed.
    pub(crate) fn build(&self, make: &SlabMake, place: usize, element: usize) -> Vec<BuiltCell> {
        let cut = &make.places[place];
        let to = &self.elements[element];
        let sequence = &self.spec.sequence;
        // Laminations of the slab keep their kind but not their number when the piece slides: the number in the
        // piece's own frame is that of the lamination's middle there.
        let mut built = Vec::new();
        for layer in make.layers.iter().filter(|l| (l.places.0..=l.places.1).contains(&place)) {
            let (v0, v1) = (sequence.start(layer.lamination), sequence.start(layer.lamination + 1));
            let (u0, u1) = (layer.start, layer.start + layer.left.to_mm());
            let mut polygon =
                vec![Point::new(u0, v0), Point::new(u1, v0), Point::new(u1, v1), Point::new(u0, v1)];
            for &[a, b, c] in &cut.sides {
                polygon = clip(&polygon, Half::new(Point::new(a, b), c));
            }
            let middle = cut.own.apply(Point::new(u0, (v0 + v1) / 2.0)).y;
            let mut polygon: Vec<Point> =
                polygon.iter().map(|&p| to.motion.apply(cut.own.apply(p))).collect();
            for &side in &to.region {
                polygon = clip(&polygon, side);
            }
            if area(&polygon) < 0.0 {
                polygon.reverse();
            }
            if polygon.len() >= 3 {
                let lamination = sequence.first_above(middle);
                built.push(BuiltCell { element, lamination, kind: layer.size.kind, polygon });
            }
        }
        built
    }
}

impl Unrolled {
    /// The face that the route's operations make of one top (from 0): every strip laid, cut, turned over, slid and
    /// glued. It holds more than the cells that the outline needs, never less.
    pub fn built(&self, face: &Face, makes: &[SlabMake], top: u32) -> Vec<BuiltCell> {
        let mut all = Vec::new();
        for slab in &self.slabs {
            for (place, piece) in slab.pieces.iter().enumerate() {
                if let Some((t, element)) = piece
                    && *t == top
                {
                    all.extend(face.build(&makes[slab.make], place, *element));
                }
            }
        }
        all.sort_by_key(|c| (c.element, c.lamination));
        all
    }
}
