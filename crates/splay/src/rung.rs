//! The rungs: level bars between two neighbouring legs.

use stripwright_units::{Angle, Length};

use crate::bar::{Bar, Corner};
use crate::leg::{SawSetting, Way};
use crate::setting::{Laid, asin, atan, rounding, setting};
use crate::shape::{Shape, about};
use crate::spec::{BaseSpec, Edges, Refusal, Section, Shop, Stance};

/// Which two sides of the base a pair of rungs is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum RungPair {
    /// Between the two front legs, and between the two back legs.
    FrontAndBack,
    /// Between the two left legs, and between the two right legs.
    LeftAndRight,
}

impl RungPair {
    /// `front and back` or `left and right`.
    pub fn name(self) -> &'static str {
        match self {
            RungPair::FrontAndBack => "front and back",
            RungPair::LeftAndRight => "left and right",
        }
    }
}

/// The face of a rung between its shoulders, in millimetres. The long edge is the bottom one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trapezoid {
    /// Along the top edge.
    pub top_mm: f64,
    /// Along the bottom edge.
    pub bottom_mm: f64,
    /// Between the edges, up the slope of the face.
    pub breadth_mm: f64,
    /// Along a shoulder, from edge to edge.
    pub shoulder_mm: f64,
    /// From corner to opposite corner.
    pub diagonal_mm: f64,
}

impl Trapezoid {
    fn new(top_mm: f64, bottom_mm: f64, breadth_mm: f64) -> Trapezoid {
        let slant = (bottom_mm - top_mm) / 2.0;
        let reach = (bottom_mm + top_mm) / 2.0;
        Trapezoid {
            top_mm,
            bottom_mm,
            breadth_mm,
            shoulder_mm: (slant * slant + breadth_mm * breadth_mm).sqrt(),
            diagonal_mm: (reach * reach + breadth_mm * breadth_mm).sqrt(),
        }
    }
}

/// Which part of a rung lies on the saw table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RungLaying {
    /// The outer face down, the top edge against the fence.
    FaceDown,
    /// The bottom edge down, the outer face against the fence.
    EdgeDown,
}

/// Which ways the saw goes for the end of a rung that points to the right on the table.
///
/// The other end is its mirror image: turn the rung end for end on the table (same face or edge down, so that what was at the
/// fence now looks towards you), swing the saw to the other side, and leave the tilt alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RungCut {
    /// What lies on the table.
    pub laying: RungLaying,
    /// Which way the cut leans at the fence.
    pub turn: Way,
    /// Which way the top of the blade leans; of no account when the blade stands upright.
    pub tilt: Way,
}

/// A pair of like rungs on opposite sides. Each end of a rung is the mirror image of the other.
#[derive(Clone, Debug, PartialEq)]
pub struct Rung {
    /// What plans and drawings call it: `front and back rung 1`.
    pub name: String,
    /// Which two sides.
    pub pair: RungPair,
    /// Which one on those sides, in the order of the spec, from 1.
    pub number: usize,
    /// From the floor to the top edge at the outer face.
    pub height: Length,
    /// Finished section.
    pub section: Section,
    /// How far the outer face lies inside the legs' outer face, square to the rung's face (a plumb rung: level, at its top edge).
    ///
    /// At left and right the legs' side faces are a little askew to the rung (see [`crate::Squareness`]); there it
    /// is measured from the inner arris of the side face, where the rung meets the leg.
    pub set_in: Length,
    /// In the plane of the legs or plumb.
    pub stance: Stance,
    /// Level or square edges.
    pub edges: Edges,
    /// The outer face.
    pub outer: Trapezoid,
    /// The inner face.
    pub inner: Trapezoid,
    /// Length of the outer face along the top edge, up to the mark.
    pub top_length: Length,
    /// Length of the outer face along the bottom edge, up to the mark: what the stop is set to.
    pub bottom_length: Length,
    /// Shoulder on the outer face, from square; the top edge is the shorter.
    pub shoulder: Angle,
    /// Shoulder on the edges, from square; below zero when the inner face is the longer.
    pub edge_shoulder: Angle,
    /// Bevel of the top and bottom edges from square to the face; zero for square edges.
    pub edge_bevel: Angle,
    /// That bevel to the shop's step.
    pub set_edge_bevel: Angle,
    /// Breadth of the stick before the bevelled rips, up to the mark.
    pub rip_breadth: Length,
    /// Setting with the outer face down.
    pub face_down: SawSetting,
    /// Setting with the bottom edge down.
    pub edge_down: SawSetting,
    /// Which ways, for both layings.
    pub cuts: [RungCut; 2],
    /// What to cut the blank to: longest length over shoulders, tenons, an allowance at each end, up to the mark.
    pub blank: Length,
}

/// The rungs of a shape with the bars they are, or every fault found in them.
pub(crate) fn rungs(
    spec: &BaseSpec,
    shape: &Shape,
    warnings: &mut Vec<String>,
) -> Result<Vec<(Rung, Bar)>, Vec<Refusal>> {
    let mut faults = Vec::new();
    let mut made = Vec::new();
    let mut coarse = Vec::new();
    for (n, rung) in spec.rungs.iter().enumerate() {
        let bar = Bar::new(shape, rung);
        let (name, nth) = (name_of(spec, n), number_of(spec, n));
        check_place(spec, shape, n, &bar, &mut faults);
        if bar.overhang() > 1e-6 {
            warnings.push(format!(
                "The {name} stands {} in beyond the inside of the legs; set it in less or make it thinner so that \
                 its whole end meets the leg.",
                about(bar.overhang(), spec.shop.system)
            ));
        }
        let cut = rung_of((name, nth), rung, &bar, &spec.shop);
        coarse.extend(rounding(&format!("the {}", cut.name), &laid(&cut, &bar), &spec.shop));
        made.push((cut, bar));
    }
    check_levels(spec, &made, &mut faults);
    check_corners(spec, &made, &mut faults);
    warnings.extend(coarse.into_iter().map(|rounding| format!("{} {}", rounding.cost, rounding.better)));
    if faults.is_empty() { Ok(made) } else { Err(faults) }
}

/// Both ways to lay a rung on the saw, with its section as it lies.
fn laid(rung: &Rung, bar: &Bar) -> [Laid; 2] {
    let (breadth, thickness, bevel) = (bar.breadth, bar.thickness, rung.edge_bevel);
    let rip_mm = breadth + thickness * bevel.tan();
    [
        Laid { way: "outer face down", setting: rung.face_down, across: rip_mm, high: thickness },
        Laid {
            way: "bottom edge down",
            setting: rung.edge_down,
            across: thickness / bevel.cos(),
            high: breadth * bevel.cos(),
        },
    ]
}

pub(crate) fn rung_of(
    (name, number): (String, usize),
    spec: &crate::spec::RungSpec,
    bar: &Bar,
    shop: &Shop,
) -> Rung {
    let (breadth, thickness) = (bar.breadth, bar.thickness);
    let outer = Trapezoid::new(bar.length(Corner::OuterTop), bar.length(Corner::OuterBottom), breadth);
    let inner = Trapezoid::new(bar.length(Corner::InnerTop), bar.length(Corner::InnerBottom), breadth);
    let bevel = match bar.edges {
        Edges::Level => bar.lean,
        Edges::Square => Angle::degrees(0.0),
    };
    let rip_mm = breadth + thickness * bevel.tan();
    // The shoulder plane's normal is (1, face_slope, -out_slope) along the rung, up its face and out of it.
    let (up, out) = (bar.face_slope(), bar.out_slope());
    let size = (1.0 + up * up + out * out).sqrt();
    let shoulder = atan(up);
    let face_down = setting(shoulder, asin(out.abs() / size), rip_mm, thickness, shop.angle_step);
    // Seen on the edge: level edges have (1, -per_q, -per_z) along, out and up; square edges (1, -out, up).
    let (edge_slope, edge_up) = match bar.edges {
        Edges::Level => (bar.per_q, -bar.per_z),
        Edges::Square => (out, up),
    };
    let edge_shoulder = atan(edge_slope);
    let level_thickness = thickness / bevel.cos();
    let edge_turn = Angle::degrees(edge_shoulder.to_degrees().abs());
    let edge_down =
        setting(edge_turn, asin(edge_up / size), level_thickness, breadth * bevel.cos(), shop.angle_step);
    let cuts = [
        RungCut {
            laying: RungLaying::FaceDown,
            turn: Way::Left,
            tilt: if out > 0.0 { Way::Left } else { Way::Right },
        },
        RungCut {
            laying: RungLaying::EdgeDown,
            turn: if edge_slope < 0.0 { Way::Left } else { Way::Right },
            tilt: Way::Left,
        },
    ];
    let longest = Corner::ROUND.into_iter().map(|c| bar.length(c)).fold(0.0, f64::max);
    Rung {
        name,
        pair: spec.pair,
        number,
        height: spec.height,
        section: spec.section,
        set_in: spec.set_in,
        stance: spec.stance,
        edges: spec.edges,
        top_length: Length::ceil_mm(outer.top_mm, shop.mark),
        bottom_length: Length::ceil_mm(outer.bottom_mm, shop.mark),
        outer,
        inner,
        shoulder,
        edge_shoulder,
        edge_bevel: bevel,
        set_edge_bevel: bevel.to_step(shop.angle_step),
        rip_breadth: Length::ceil_mm(rip_mm, shop.mark),
        face_down,
        edge_down,
        cuts,
        blank: Length::ceil_mm(longest + 2.0 * shop.end_allowance.to_mm(), shop.mark),
    }
}

/// What plans and drawings call a rung of the spec.
pub(crate) fn name_of(spec: &BaseSpec, n: usize) -> String {
    let pair = spec.rungs[n].pair;
    format!("{} rung {}", pair.name(), number_of(spec, n))
}

/// Which one on its sides a rung is, from 1.
fn number_of(spec: &BaseSpec, n: usize) -> usize {
    spec.rungs[..=n].iter().filter(|rung| rung.pair == spec.rungs[n].pair).count()
}

pub(crate) fn fault(spec: &BaseSpec, n: usize, field: &str, message: String) -> Refusal {
    let key = format!("rungs[{n}].{field}");
    Refusal { piece: name_of(spec, n), ..Refusal::new(&key, message, spec.shop.system) }
}

/// Each rung by itself: between floor and top, against the legs, and long enough to exist.
fn check_place(spec: &BaseSpec, shape: &Shape, n: usize, bar: &Bar, faults: &mut Vec<Refusal>) {
    let show = |mm: f64| Length::ceil_mm(mm, spec.shop.mark).show(spec.shop.system);
    let system = spec.shop.system;
    let before = faults.len();
    if bar.bottom() < 0.0 {
        let text = format!(
            "Its bottom edge would be {} below the floor; `height` is to its top edge.",
            show(-bar.bottom())
        );
        faults.push(fault(spec, n, "height", text));
    }
    if bar.top > shape.h + 1e-6 {
        let text = format!(
            "Its top edge at {} would be {} above the underside of the top, which is at {}.",
            spec.rungs[n].height.show(system),
            show(bar.top - shape.h),
            about(shape.h, system)
        );
        faults.push(fault(spec, n, "height", text));
    }
    let nearest =
        Corner::ROUND.into_iter().map(|c| bar.inside_arris(bar.corner(c))).fold(f64::INFINITY, f64::min);
    if nearest >= bar.leg_breadth {
        let text = format!(
            "Set in by {}, it passes inside the legs, {} clear of them, and touches none.",
            spec.rungs[n].set_in.show(system),
            about(nearest - bar.leg_breadth, system)
        );
        faults.push(fault(spec, n, "set_in", text));
    }
    let shortest = Corner::ROUND.into_iter().map(|c| bar.length(c)).fold(f64::INFINITY, f64::min);
    if faults.len() == before && shortest <= 2.0 * bar.thickness {
        let long = if shortest > 0.0 {
            format!("It would be only {} long between the legs", about(shortest, system))
        } else {
            format!("There is no room for it between the legs, by {}", about(-shortest, system))
        };
        let text = format!(
            "{long}; it must be longer than twice its thickness, {}.",
            about(2.0 * bar.thickness, system)
        );
        faults.push(fault(spec, n, "height", text));
    }
}

/// Two rungs on the same side need their own heights.
fn check_levels(spec: &BaseSpec, made: &[(Rung, Bar)], faults: &mut Vec<Refusal>) {
    for (n, (_, upper)) in made.iter().enumerate() {
        for (k, (other, lower)) in made.iter().enumerate() {
            let ordered = (upper.top, k) > (lower.top, n);
            if n == k || upper.pair != lower.pair || !ordered || upper.bottom() >= lower.top - 1e-6 {
                continue;
            }
            let over = Length::ceil_mm(lower.top - upper.bottom(), spec.shop.mark).show(spec.shop.system);
            let text = format!("It and the {} on the same sides overlap by {over}.", other.name);
            faults.push(fault(spec, n, "height", text));
        }
    }
}

/// A rung of each pair at one corner: each ends at its own inner face of the leg, so they meet only where both stand
/// in beyond the leg.
fn check_corners(spec: &BaseSpec, made: &[(Rung, Bar)], faults: &mut Vec<Refusal>) {
    for (n, (_, front)) in made.iter().enumerate().filter(|(_, (_, b))| b.pair == RungPair::FrontAndBack) {
        for (other, side) in made.iter().filter(|(_, b)| b.pair == RungPair::LeftAndRight) {
            if meet(front, side) {
                let text = format!(
                    "It and the {} run into each other inside the legs, where they stand in beyond the leg by {} and {}.",
                    other.name,
                    Length::ceil_mm(front.overhang(), spec.shop.mark).show(spec.shop.system),
                    Length::ceil_mm(side.overhang(), spec.shop.mark).show(spec.shop.system),
                );
                faults.push(fault(spec, n, "set_in", text));
            }
        }
    }
}

/// Whether a front and a side rung share wood. Both are convex, so over the heights they share it is enough to look
/// at level slices; 65 of them miss an overlap only where it is thinner than a 64th of a rung's breadth.
fn meet(front: &Bar, side: &Bar) -> bool {
    let (low, high) = (front.bottom().max(side.bottom()), front.top.min(side.top));
    if low >= high {
        return false;
    }
    (0..=64).any(|i| {
        let z = low + (high - low) * f64::from(i) / 64.0;
        let (Some([front_in, front_out]), Some([side_in, _])) = (front.slice(z), side.slice(z)) else {
            return false;
        };
        // The side rung reaches to its shoulder; within that reach the front rung is longest at its outermost.
        let reach = side.half_length([side_in, z]);
        let y = reach.min(front_out);
        front_in < reach - 1e-6 && side_in < front.half_length([y, z]) - 1e-6
    })
}
