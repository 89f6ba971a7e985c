//! The volume balance: what went in, what came out, what was lost to which cause.
//!
//! Every entry is computed from its own cause: what goes on, from the pieces as they are built; kerf from cuts and
//! their lengths; trim from allowances; rounding from what the mark added. Where a cause has no formula of its own
//! (the outline's waste), the entry is a difference of two such areas, and the tests compare it with a polygon library.

use crate::face::{Cutting, Face};
use crate::geometry::{Half, area, clip};
use crate::makes::SlabMake;
use crate::route::Depths;
use crate::shop::Shop;
use crate::spec::{Lay, Point};
use crate::tiling::Cut;
use crate::unroll::Slab;

/// One stage of the ledger, in cubic millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// What is done.
    pub name: &'static str,
    /// What came in from the stage before.
    pub input: f64,
    /// What was added here: glue lines, where they have a thickness.
    pub added: f64,
    /// What goes on to the next stage.
    pub output: f64,
    /// (cause, how much), in a fixed order.
    pub losses: Vec<(Loss, f64)>,
}

impl Stage {
    /// Input and additions less output and losses, relative to the input: 0 but for rounding.
    pub fn imbalance(&self) -> f64 {
        let lost: f64 = self.losses.iter().map(|l| l.1).sum();
        (self.input + self.added - self.output - lost) / self.input.max(1.0)
    }
}

/// A cause of loss.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Loss {
    /// Turned to sawdust by the saw.
    Kerf,
    /// End allowances, cut off.
    Trim,
    /// Triangles at the ends of strips on the bias, or the steps of a slab that is not staggered.
    StaggerEnds,
    /// Rounding up to the mark, and length added for the planer's sake.
    Rounding,
    /// Planed off.
    Shavings,
    /// Cut from a slab and not used: spare bands, and parts of bands that no outline needs.
    Offcuts,
    /// Blank outside the outline.
    OutlineWaste,
    /// Sanded or routed to dust.
    Dust,
}

/// All stages in shop order, for all tops of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Ledger {
    /// Each stage's input is the output of the one before.
    pub stages: Vec<Stage>,
}

impl Ledger {
    /// What is lost to one cause over all stages, in cubic millimetres.
    pub fn lost(&self, to: Loss) -> f64 {
        self.stages.iter().flat_map(|s| &s.losses).filter(|l| l.0 == to).map(|l| l.1).sum()
    }

    /// Largest imbalance of any stage, relative to its input.
    pub fn imbalance(&self) -> f64 {
        let inner = self.stages.iter().map(|s| s.imbalance().abs());
        let between =
            self.stages.windows(2).map(|w| ((w[1].input - w[0].output) / w[0].output.max(1.0)).abs());
        inner.chain(between).fold(0.0, f64::max)
    }
}

/// What cutting one slab of a make up comes to, as areas of its face in square millimetres.
#[derive(Clone, Copy, Debug, Default)]
struct CutUp {
    slab: f64,
    pieces: f64,
    kerf: f64,
    trim: f64,
    rounding: f64,
    ends: f64,
}

impl CutUp {
    /// Each strip by the length that its pieces, kerfs, allowances and rounding take.
    fn of(face: &Face, shop: &Shop, make: &SlabMake) -> CutUp {
        let (k, allow) = (shop.bias_kerf.to_mm(), shop.end_allowance.to_mm());
        let mut up = CutUp::default();
        for layer in &make.layers {
            let length = layer.size.length.to_mm();
            let left = layer.left.to_mm();
            let thick =
                face.spec.sequence.start(layer.lamination + 1) - face.spec.sequence.start(layer.lamination);
            let many = (layer.places.1 - layer.places.0 + 1) as f64;
            up.slab += length * thick;
            // A slab that is the blank is not cut up: all of it goes on, and the outline's cut takes the rest.
            let (taken, cuts) = match face.cutting {
                Cutting::Runs(Cut::None) => {
                    up.pieces += left * thick;
                    up.ends += (length - left) * thick;
                    continue;
                }
                Cutting::Runs(Cut::Bias { angle, width } | Cut::HalfBias { angle, width }) => {
                    (many * width.to_mm() / angle.sin(), (many + 1.0) * k / angle.sin())
                }
                Cutting::Blocks(run) => (many * run.to_mm(), (many + 1.0) * k),
                Cutting::Runs(Cut::Wedge { half, lay }) => {
                    let cells = (layer.places.0..=layer.places.1)
                        .flat_map(|place| face.build(make, place, make.places[place].element))
                        .filter(|c| own_lamination(face, make, c) == layer.lamination);
                    let taken: f64 = cells.map(|c| area(&c.polygon)).sum();
                    // Along the laminations a strip meets one side of its wedge, the middle one both, and where the
                    // outline has a hollow perhaps none; past the outline it runs on, allowance, rounding and all.
                    if lay == Lay::Along {
                        let (u, v) = (layer.start, face.spec.sequence.start(layer.lamination));
                        let mut wider = vec![
                            Point::new(u, v),
                            Point::new(u + left, v),
                            Point::new(u + left, v + thick),
                            Point::new(u, v + thick),
                        ];
                        for &[a, b, c] in &make.places[0].sides {
                            wider = clip(&wider, Half::new(Point::new(a, b), c + k));
                        }
                        let kerf = area(&wider) - taken;
                        let rest = length * thick - taken - kerf;
                        let trim = rest.min(allow * thick);
                        up.pieces += taken;
                        up.kerf += kerf;
                        up.trim += trim;
                        up.ends += rest - trim;
                        continue;
                    }
                    let cuts = (many + 1.0) * k / half.cos();
                    (taken / thick, cuts)
                }
            };
            up.pieces += taken * thick;
            up.kerf += cuts * thick;
            up.trim += 2.0 * allow * thick;
            up.rounding += (left - layer.spans) * thick;
            up.ends += (length - left + layer.spans - taken - cuts - 2.0 * allow) * thick;
        }
        up
    }
}

/// A built cell of a make's own element, back in the slab's numbering: places turned end for end count down.
fn own_lamination(face: &Face, make: &SlabMake, cell: &crate::route::BuiltCell) -> i64 {
    let place = make.places.iter().position(|p| p.element == cell.element);
    let turned = place.is_some_and(|p| make.places[p].own.across.y < 0.0);
    let element = &face.elements[cell.element];
    if turned {
        2 * element.first + i64::from(element.laminations) - 1 - cell.lamination
    } else {
        cell.lamination
    }
}

impl Ledger {
    /// Follows the wood from strips to tops.
    pub(crate) fn keep(face: &Face, shop: &Shop, makes: &[SlabMake], slabs: &[Slab]) -> Ledger {
        let depths = Depths::of(face, shop);
        let (h, h1, h2) = (depths.strip.to_mm(), depths.slab.to_mm(), depths.blank.to_mm());
        let tops = f64::from(face.spec.count);
        let glue_line = face.spec.sequence.glue_line.to_mm();

        let mut all = CutUp::default();
        let (mut wood, mut spare, mut used) = (0.0, 0.0, 0.0);
        // What one piece of a make comes to after trimming; slabs of one make are alike.
        let mut cut_up: Vec<Option<CutUp>> = vec![None; makes.len()];
        let mut whole = 0.0;
        for slab in slabs {
            let make = &makes[slab.make];
            let up = *cut_up[slab.make].get_or_insert_with(|| CutUp::of(face, shop, make));
            all.slab += up.slab;
            all.pieces += up.pieces;
            all.kerf += up.kerf;
            all.trim += up.trim;
            all.rounding += up.rounding;
            all.ends += up.ends;
            for layer in &make.layers {
                wood += layer.size.length.to_mm() * face.spec.sequence.at(layer.lamination).thickness.to_mm();
            }
            for (place, piece) in slab.pieces.iter().enumerate() {
                let element = piece.map_or(make.places[place].element, |p| p.1);
                let kept: f64 = face.build(make, place, element).iter().map(|c| area(&c.polygon)).sum();
                whole += kept;
                if piece.is_some() { used += kept } else { spare += kept }
            }
        }
        let film = if glue_line > 0.0 { all.slab - wood } else { 0.0 };
        let mut stages = vec![
            Stage {
                name: "strips into slabs",
                input: wood * h,
                added: film * h,
                output: all.slab * h,
                losses: vec![],
            },
            Stage {
                name: "plane slabs",
                input: all.slab * h,
                added: 0.0,
                output: all.slab * h1,
                losses: vec![(Loss::Shavings, all.slab * (h - h1))],
            },
        ];
        if face.cutting != Cutting::Runs(Cut::None) {
            stages.push(Stage {
                name: "cut pieces off slabs",
                input: all.slab * h1,
                added: 0.0,
                output: all.pieces * h1,
                losses: vec![
                    (Loss::Kerf, all.kerf * h1),
                    (Loss::Trim, all.trim * h1),
                    (Loss::StaggerEnds, all.ends * h1),
                    (Loss::Rounding, all.rounding * h1),
                ],
            });
        }
        if face.cutting == Cutting::Runs(Cut::None) && all.ends > 0.0 {
            stages.push(Stage {
                name: "saw off long strips",
                input: all.slab * h1,
                added: 0.0,
                output: all.pieces * h1,
                losses: vec![(Loss::StaggerEnds, all.ends * h1)],
            });
        }
        if let Cutting::Runs(Cut::HalfBias { width, .. }) = face.cutting {
            let pieces: usize = slabs.iter().map(|s| s.pieces.len()).sum();
            let cut_off = all.pieces - whole;
            let kerf = (pieces as f64 * shop.bias_kerf.to_mm() * width.to_mm()).min(cut_off);
            stages.push(Stage {
                name: "trim half bands square",
                input: all.pieces * h1,
                added: 0.0,
                output: whole * h1,
                losses: vec![(Loss::Kerf, kerf * h1), (Loss::Trim, (cut_off - kerf) * h1)],
            });
        }
        let outline = face.spec.outline.area() * tops;
        let ring = {
            // Steiner's formula for what lies within d of a convex outline; all of it has to be blank.
            let d = shop.outline_kerf.to_mm();
            let area = face.spec.outline.perimeter() * d + std::f64::consts::PI * d * d;
            (area * tops).min(used - outline).max(0.0)
        };
        stages.extend([
            Stage {
                name: "pieces into blanks",
                input: whole * h1,
                added: 0.0,
                output: used * h1,
                losses: vec![(Loss::Offcuts, spare * h1)],
            },
            Stage {
                name: "plane blanks",
                input: used * h1,
                added: 0.0,
                output: used * h2,
                losses: vec![(Loss::Shavings, used * (h1 - h2))],
            },
            Stage {
                name: "cut the outline",
                input: used * h2,
                added: 0.0,
                output: outline * h2,
                losses: vec![(Loss::Dust, ring * h2), (Loss::OutlineWaste, (used - outline - ring) * h2)],
            },
            Stage {
                name: "sand",
                input: outline * h2,
                added: 0.0,
                output: outline * depths.top.to_mm(),
                losses: vec![(Loss::Dust, outline * (h2 - depths.top.to_mm()))],
            },
        ]);
        Ledger { stages }
    }
}
