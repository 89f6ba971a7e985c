//! Joints of rung to leg: dowels by the thickness rule or a tenon, and where their holes go.
//!
//! Both are made square to the leg's inner face, which is square to the rung's shoulder too: the leg then lies flat under the
//! drill, and the rung's end is drilled square to its cut.
//!
//! Rules of thumb used where the job leaves a size open:
//! * diameter: not under a third and not over half of the thinner piece (T62, jorbins.com and others, secondary);
//! * depth in each part: about three diameters (T62), the hole deeper than the dowel by 1/16 in (T62, an eighth over both holes);
//! * at least two dowels in an end (common practice, no source);
//! * middles at least two diameters apart, walls of at least a quarter of the diameter and 2 mm, beside the hole and to both
//!   ends of the leg over its whole depth, 5 mm left beyond the hole (common practice, no source);
//! * tenon: a third of the rung's thickness, three quarters of its breadth, two thirds into the leg (common practice, no source).

use stripwright_units::{Length, System};

use crate::bar::{Bar, Corner};
use crate::leg::LegPlace;
use crate::rung::{Rung, RungPair, fault};
use crate::shape::{Shape, about, grid, to_mark};
use crate::spec::{BaseSpec, Joint, Refusal};
use crate::vector::Vector;

/// Wood that must stay between two holes, or between a hole and a face beside it.
const WALL_MM: f64 = 2.0;
/// Wood that must stay beyond the bottom of a hole.
const BEYOND_MM: f64 = 5.0;
/// How much deeper a hole is than the dowel or tenon in it: 1/16 in (T62).
const GAP_MM: f64 = 25.4 / 16.0;
/// A dowel is not glued shallower than this many diameters here (common practice, no source).
const SHALLOWEST: f64 = 1.5;

/// How the ends of one pair of rungs are held.
#[derive(Clone, Debug, PartialEq)]
pub enum JointPlan {
    /// By dowels.
    Dowels(DowelPlan),
    /// By a tenon on each end.
    Tenon(TenonPlan),
}

/// Dowels in the ends of one pair of rungs.
#[derive(Clone, Debug, PartialEq)]
pub struct DowelPlan {
    /// Diameter.
    pub diameter: Length,
    /// Length of one dowel.
    pub length: Length,
    /// Depth of the hole in each part.
    pub hole: Length,
    /// In each rung end.
    pub each_end: u32,
    /// For the pair of rungs, both ends.
    pub total: u32,
    /// From the rung's bottom edge to the middle of the lowest dowel, along the shoulder.
    pub from_bottom: Length,
    /// From the middle of the highest dowel to the rung's top edge, along the shoulder.
    pub from_top: Length,
    /// Between the middles of neighbouring dowels, along the shoulder; zero for a single dowel.
    pub spacing: Length,
    /// The bores, on the rung and in the leg, lowest first.
    pub bores: Vec<Bore>,
    /// The least wood beside a bore, in rung and leg: to a face, an edge, an end of the leg, or the next bore.
    pub wall: Length,
}

/// One bore, the same in both ends of a rung and in the legs that it meets (mirrored).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bore {
    /// On the rung's shoulder: along its outer arris, up from the bottom edge.
    pub on_rung_up: Length,
    /// On the rung's shoulder: square in from its outer arris.
    pub on_rung_in: Length,
    /// On the leg's inner face: along the arris it shares with an outer face (the plane face for front and back rungs, the side
    /// face for left and right rungs), up from the foot.
    pub on_leg_up: Length,
    /// On the leg's inner face: square across it from that arris.
    pub on_leg_in: Length,
    /// Depth in the rung.
    pub rung_depth: Length,
    /// Depth in the leg.
    pub leg_depth: Length,
}

/// A tenon on each end of one pair of rungs.
#[derive(Clone, Debug, PartialEq)]
pub struct TenonPlan {
    /// How far it goes into the leg.
    pub length: Length,
    /// Its thickness.
    pub thickness: Length,
    /// Its breadth along the shoulder.
    pub breadth: Length,
    /// Depth of the mortise.
    pub mortise: Length,
    /// On the rung's shoulder, square in from its outer arris to the tenon.
    pub on_rung_in: Length,
    /// On the rung's shoulder, along its outer arris from the bottom edge to the tenon.
    pub on_rung_up: Length,
    /// On the leg's inner face, along the arris as for [`Bore::on_leg_up`], from the foot to the mortise's lower end.
    pub on_leg_up: Length,
    /// On the leg's inner face, square across from that arris to the mortise, at its lower end.
    pub on_leg_in: Length,
    /// On the leg's inner face, along the arris to the upper end of the mortise's outer side.
    pub on_leg_up_top: Length,
    /// Square across from the arris to the mortise at that end: other than below where the rung does not lean with its leg.
    pub on_leg_in_top: Length,
    /// The least wood beside the mortise: to a face, an end of the leg, or the next mortise.
    pub wall: Length,
}

/// Room that a joint takes in a leg. `up` along the leg from its innermost foot corner, `across` from the leg's other
/// inner face, `depth` from the inner face that the rung meets.
#[derive(Clone, Copy, Debug)]
struct Socket {
    up: [f64; 2],
    across: [f64; 2],
    depth: f64,
}

impl Socket {
    /// Wood between this and another, from the other inner face of the same leg: at least so much.
    fn apart(&self, other: &Socket) -> f64 {
        let along = (self.up[0] - other.up[1]).max(other.up[0] - self.up[1]);
        along.max(other.across[0] - self.depth).max(self.across[0] - other.depth)
    }
}

/// What a hole leaves of its leg at that leg's ends, which are level: bored square into a leaning leg it rises on its way.
#[derive(Clone, Copy, Debug)]
struct Ends {
    /// Wood to the foot and to the top end; below zero the hole comes out there.
    left: [f64; 2],
    /// How far it rises.
    rise: f64,
    /// What must stay.
    least: f64,
}

impl Ends {
    fn thinnest(&self) -> f64 {
        self.left[0].min(self.left[1])
    }

    fn hold(&self) -> bool {
        self.thinnest() >= self.least
    }

    /// What is wrong, to go on a sentence about the holes.
    fn told(&self, system: System) -> String {
        let end = if self.left[1] <= self.left[0] { "top end" } else { "foot" };
        let left = self.thinnest();
        let found = if left < 0.0 {
            format!("come out through the leg's {end} by {}", about(-left, system))
        } else {
            format!("leave {} to the leg's {end}", about(left, system))
        };
        let rise = if self.left[1] <= self.left[0] && self.rise >= 0.05 {
            format!("rise by {} on their way, square into the leaning leg, and ", about(self.rise, system))
        } else {
            String::new()
        };
        format!("{rise}{found}, where {} must stay", about(self.least, system))
    }
}

/// Why a row of dowels is not made.
enum Lack {
    /// The leg's end is too near.
    End(Ends),
    /// Anything else.
    Room,
}

/// One rung end against its leg (the back right one; the others are its mirror images).
struct End {
    /// Lower end of the shoulder's outer arris, its direction up and the direction square in, on the shoulder.
    corner: Vector,
    up: Vector,
    inward: Vector,
    middle: Vector,
    /// Length of the shoulder's outer arris.
    breadth: f64,
    /// Out of the rung, into the leg.
    out: Vector,
    /// Normals of the rung's outer face and top edge.
    face: Vector,
    edge: Vector,
    /// The leg's directions: up along it, and outwards across the rung's shoulder (out of the outer face).
    leg_up: Vector,
    leg_across: Vector,
    /// The leg's innermost corner and the shared arris, on the floor.
    innermost: Vector,
    arris: Vector,
    /// The leg's breadth across the shoulder and its depth along the bore.
    leg_breadth: f64,
    leg_depth: f64,
    /// The rung's thickness, and that of the thinner piece.
    thick: f64,
    thinner: f64,
    half_length: f64,
    /// From the floor to the leg's top end.
    height: f64,
}

/// A point of a rung, or of its like on the other side: how far along it, out from the centre, and up.
pub(crate) fn place(pair: RungPair, along: f64, [q, z]: [f64; 2]) -> Vector {
    match pair {
        RungPair::FrontAndBack => Vector([along, q, z]),
        RungPair::LeftAndRight => Vector([q, along, z]),
    }
}

impl End {
    fn new(shape: &Shape, bar: &Bar) -> End {
        let at = |corner| {
            let point = bar.corner(corner);
            place(bar.pair, bar.half_length(point), point)
        };
        let corner = at(Corner::OuterBottom);
        let rise = at(Corner::OuterTop).minus(corner);
        let (m_sin, m_cos) = (shape.tan_m() * shape.cos_m(), shape.cos_m());
        let (b_sin, b_cos) = (shape.b.sin(), shape.b.cos());
        let side_face = Vector([m_cos, -m_sin * b_sin, m_sin * b_cos]);
        let plane_face = Vector([0.0, b_cos, b_sin]);
        let floor = shape.section_at(LegPlace::BackRight, 0.0).map(|[x, y]| Vector([x, y, 0.0]));
        let (out, leg_across, arris, [leg_depth, leg_breadth]) = match bar.pair {
            RungPair::FrontAndBack => (side_face, plane_face, floor[1], shape.leg),
            RungPair::LeftAndRight => (plane_face, side_face, floor[3], [shape.leg[1], shape.leg[0]]),
        };
        let face = place(bar.pair, 0.0, [bar.lean.cos(), bar.lean.sin()]);
        let edge = match bar.edges {
            crate::spec::Edges::Level => Vector([0.0, 0.0, 1.0]),
            crate::spec::Edges::Square => place(bar.pair, 0.0, [-bar.lean.sin(), bar.lean.cos()]),
        };
        let up = rise.unit();
        let across = out.cross(up).unit();
        let inward = if across.dot(at(Corner::InnerBottom).minus(corner)) > 0.0 {
            across
        } else {
            Vector(across.0.map(|x| -x))
        };
        let middle = Corner::ROUND.into_iter().fold(Vector([0.0; 3]), |sum, c| sum.plus(at(c), 0.25));
        End {
            corner,
            up,
            inward,
            middle,
            breadth: rise.dot(up),
            out,
            face,
            edge,
            leg_up: side_face.cross(plane_face).unit(),
            leg_across,
            innermost: floor[2],
            arris,
            leg_breadth,
            leg_depth,
            thick: bar.thickness,
            thinner: bar.thickness.min(shape.leg[0]).min(shape.leg[1]),
            half_length: Corner::ROUND.into_iter().map(|c| bar.length(c) / 2.0).fold(f64::INFINITY, f64::min),
            height: shape.h,
        }
    }

    /// What holes that begin at these points, and reach so far square to their axis, leave to the leg's ends over their depth.
    fn to_leg_ends(&self, points: &[Vector], radius: f64, depth: f64, least: f64) -> Ends {
        let [.., climb] = self.out.0;
        let reach = radius * (1.0 - climb * climb).max(0.0).sqrt();
        let rise = climb * depth;
        let heights = points.iter().map(|point| point.0[2]);
        let low = heights.clone().fold(f64::INFINITY, f64::min) + rise.min(0.0) - reach;
        let high = heights.fold(f64::NEG_INFINITY, f64::max) + rise.max(0.0) + reach;
        Ends { left: [low, self.height - high], rise, least }
    }

    /// How far up the shoulder holes must move so that the leg's ends keep their walls; half a mark more, as they are set to it.
    fn kept_from_ends(&self, ends: &Ends, mark: Length) -> f64 {
        let climb = self.up.0[2];
        let lacking = ends.left.map(|left| {
            if left >= ends.least { 0.0 } else { (ends.least - left) / climb + mark.to_mm() / 2.0 }
        });
        lacking[0] - lacking[1]
    }

    /// How much further up the shoulder something lies that lies so far along a vector, measured between the rung's edges.
    fn rise(&self, along: Vector) -> f64 {
        along.dot(self.edge) / self.up.dot(self.edge)
    }

    /// How broad a tenon of this thickness and length can be in the rung's own wood, where its inner side falls or rises along the
    /// shoulder, and its tip between the rung's edges.
    fn broadest_tenon(&self, thick: f64, long: f64) -> f64 {
        self.breadth - thick * self.rise(self.inward).abs() - long * self.rise(self.out).abs()
    }

    /// How far up the shoulder a tenon must move so that the rung's own wood reaches to all its corners; half a mark more, as it is
    /// set to it.
    fn kept_in_rung(&self, low: Vector, [thick, broad, long]: [f64; 3], mark: Length) -> f64 {
        let aside = [thick * self.rise(self.inward), long * self.rise(self.out)];
        let from = self.rise(low.minus(self.corner));
        let under = -(from + aside.iter().map(|a| a.min(0.0)).sum::<f64>());
        let over = from + broad + aside.iter().map(|a| a.max(0.0)).sum::<f64>() - self.breadth;
        match (under > 1e-9, over > 1e-9) {
            (true, _) => under + mark.to_mm() / 2.0,
            (_, true) => -over - mark.to_mm() / 2.0,
            _ => 0.0,
        }
    }

    /// A place on the shoulder to the mark, and the point itself.
    fn settle(&self, point: Vector, mark: Length) -> ([Length; 2], Vector) {
        let from = point.minus(self.corner);
        let set = [to_mark(from.dot(self.up), mark), to_mark(from.dot(self.inward), mark)];
        let point = self.corner.plus(self.up, set[0].to_mm()).plus(self.inward, set[1].to_mm());
        (set, point)
    }

    /// The same place on the leg: up along the shared arris, square across from it.
    fn on_leg(&self, point: Vector) -> [f64; 2] {
        let from = point.minus(self.arris);
        [from.dot(self.leg_up), -from.dot(self.leg_across)]
    }

    fn socket(&self, point: Vector, half_up: f64, half_across: f64, depth: f64) -> Socket {
        let from = point.minus(self.innermost);
        let (up, across) = (from.dot(self.leg_up), from.dot(self.leg_across));
        Socket {
            up: [up - half_up, up + half_up],
            across: [across - half_across, across + half_across],
            depth,
        }
    }

    /// Thinnest wall between a hole of this radius and the rung's faces and edges, over the hole's depth.
    fn wall(&self, point: Vector, radius: f64, depth: f64, bar: &Bar) -> f64 {
        let limits = [
            (self.face, bar.thickness),
            (
                self.edge,
                bar.breadth * (if bar.edges == crate::spec::Edges::Level { bar.lean.cos() } else { 1.0 }),
            ),
        ];
        let mut thinnest = f64::INFINITY;
        for (normal, size) in limits {
            // The corner is on the outer face and on the bottom edge.
            let base =
                if normal == self.face { self.corner.dot(normal) - size } else { self.corner.dot(normal) };
            for at in [point, point.plus(self.out, -depth)] {
                let inside = at.dot(normal) - base;
                thinnest = thinnest.min(inside - radius).min(size - inside - radius);
            }
        }
        thinnest
    }
}

/// A rung's shoulder in its own plane: (in from the outer arris, up from the bottom edge) of its four corners.
pub(crate) fn shoulder(shape: &Shape, bar: &Bar) -> [[f64; 2]; 4] {
    let end = End::new(shape, bar);
    Corner::ROUND.map(|corner| {
        let point = bar.corner(corner);
        let from = place(bar.pair, bar.half_length(point), point).minus(end.corner);
        [from.dot(end.inward), from.dot(end.up)]
    })
}

/// The corners of a tenon, as points of the rung's half: how far along it, out from the centre, and up. Four at the shoulder,
/// then the same four at its tip.
pub(crate) fn tenon_corners(shape: &Shape, bar: &Bar, plan: &TenonPlan) -> [[f64; 3]; 8] {
    let end = End::new(shape, bar);
    let (t, broad) = (plan.thickness.to_mm(), plan.breadth.to_mm());
    let root = end.corner.plus(end.up, plan.on_rung_up.to_mm()).plus(end.inward, plan.on_rung_in.to_mm());
    let corner = |n: usize| {
        let [inward, up] = [[0.0, 0.0], [0.0, broad], [t, broad], [t, 0.0]][n % 4];
        let out = if n < 4 { 0.0 } else { plan.length.to_mm() };
        root.plus(end.inward, inward).plus(end.up, up).plus(end.out, out)
    };
    std::array::from_fn(corner).map(|Vector([x, y, z])| match bar.pair {
        RungPair::FrontAndBack => [x, y, z],
        RungPair::LeftAndRight => [y, x, z],
    })
}

/// Dowel diameters that are sold, small to large.
fn stocked(system: System) -> Vec<Length> {
    match system {
        System::Metric => [4, 5, 6, 8, 10, 12, 16, 20, 25].map(Length::from_mm).to_vec(),
        System::Inch => {
            [8, 12, 16, 20, 24, 28, 32, 40, 48, 64].map(|n| Length::from_nm(n * 396_875)).to_vec()
        }
    }
}

/// Step of bought or cut dowel lengths: whole millimetres or sixteenths for each half.
fn half_step(system: System) -> Length {
    match system {
        System::Metric => Length::from_mm(1),
        System::Inch => Length::from_nm(4 * 396_875),
    }
}

/// Plans the joints of all rungs, makes front and side rungs at one corner keep out of each other's way, and says what cannot be.
pub(crate) fn joints(
    spec: &BaseSpec,
    shape: &Shape,
    rungs: &[(Rung, Bar)],
    warnings: &mut Vec<String>,
) -> Result<Vec<JointPlan>, Vec<Refusal>> {
    let ends: Vec<End> = rungs.iter().map(|(_, bar)| End::new(shape, bar)).collect();
    // First as deep as the rules would have them; then, where nobody asked for a length, no deeper than leaves a wall
    // to the joint from the other side.
    let free = vec![f64::INFINITY; rungs.len()];
    let wished = plan_all(spec, rungs, &ends, &free)?;
    let limits = depth_limits(spec, rungs, &wished);
    let made = plan_all(spec, rungs, &ends, &limits)?;
    let faults = clashes(spec, shape, rungs, &made);
    if !faults.is_empty() {
        return Err(faults);
    }
    for made in &made {
        warnings.extend(made.warnings.iter().cloned());
    }
    let kept: Vec<usize> = (0..made.len()).filter(|n| limits[*n].is_finite()).collect();
    if !kept.is_empty() {
        // As deep as each is told to be bored.
        let hole = |n: &usize| Length::ceil_mm(made[*n].depth(), spec.shop.mark).show(spec.shop.system);
        let name = |n: &usize| rungs[*n].0.name.clone();
        let alike = kept.iter().all(|n| hole(n) == hole(&kept[0]));
        let how = if alike {
            let names: Vec<String> = kept.iter().map(name).collect();
            format!("to {} deep in the legs: {}", hole(&kept[0]), names.join("; "))
        } else {
            let each = kept.iter().map(|n| format!("{}, {} deep", name(n), hole(n)));
            format!("short in the legs: {}", each.collect::<Vec<String>>().join("; "))
        };
        let rise = kept.iter().map(|n| clear_rise(shape, &wished, rungs, *n)).fold(0.0, f64::max);
        warnings.push(format!(
            "The joints of these rungs meet at the same corners and are kept {how}. Set one pair at least {} higher or lower than the \
             other for full depth.",
            Length::ceil_mm(rise, spec.shop.mark).show(spec.shop.system),
        ));
    }
    let mut apart = vec![f64::INFINITY; made.len()];
    for_corners(rungs, &made, |n, k, one, other| {
        let wood = one.apart(other);
        (apart[n], apart[k]) = (apart[n].min(wood), apart[k].min(wood));
    });
    let with_wall = |(joint, apart): (Made, f64)| {
        // A trace more, as exact walls are a trace less in floats.
        let wall = Length::nearest_mm(joint.wall.min(apart) + 1e-5).floor_to(grid(spec.shop.system));
        match joint.plan {
            JointPlan::Dowels(plan) => JointPlan::Dowels(DowelPlan { wall, ..plan }),
            JointPlan::Tenon(plan) => JointPlan::Tenon(TenonPlan { wall, ..plan }),
        }
    };
    Ok(made.into_iter().zip(apart).map(with_wall).collect())
}

/// A planned joint with the room it takes.
struct Made {
    plan: JointPlan,
    sockets: Vec<Socket>,
    /// The least wood beside it, other joints in the leg left aside.
    wall: f64,
    warnings: Vec<String>,
}

impl Made {
    fn depth(&self) -> f64 {
        self.sockets.iter().map(|s| s.depth).fold(0.0, f64::max)
    }

    fn up(&self) -> [f64; 2] {
        self.sockets
            .iter()
            .fold([f64::INFINITY, f64::NEG_INFINITY], |[l, h], s| [l.min(s.up[0]), h.max(s.up[1])])
    }
}

fn plan_all(
    spec: &BaseSpec,
    rungs: &[(Rung, Bar)],
    ends: &[End],
    limits: &[f64],
) -> Result<Vec<Made>, Vec<Refusal>> {
    let mut made = Vec::new();
    let mut faults = Vec::new();
    for (n, ((rung, bar), end)) in rungs.iter().zip(ends).enumerate() {
        let planned = match spec.joint {
            Joint::Dowels { diameter, length, count } => {
                dowels(spec, n, rung, bar, end, limits[n], (diameter, length, count))
            }
            Joint::Tenon { length, thickness } => {
                tenon(spec, n, rung, bar, end, limits[n], (length, thickness))
            }
        };
        match planned {
            Ok(joint) => made.push(joint),
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() { Ok(made) } else { Err(faults) }
}

/// Deepest hole for each rung that leaves a wall before the joints coming from the other side.
fn depth_limits(spec: &BaseSpec, rungs: &[(Rung, Bar)], made: &[Made]) -> Vec<f64> {
    let given = match spec.joint {
        Joint::Dowels { length, .. } | Joint::Tenon { length, .. } => length.is_some(),
    };
    let mut limits = vec![f64::INFINITY; rungs.len()];
    if given {
        return limits;
    }
    for_corners(rungs, made, |n, k, one, other| {
        if hits(one, other) {
            limits[n] = limits[n].min(other.across[0] - WALL_MM);
            limits[k] = limits[k].min(one.across[0] - WALL_MM);
        }
    });
    limits
}

/// Every pair of sockets of a front rung `n` and a side rung `k`.
fn for_corners(rungs: &[(Rung, Bar)], made: &[Made], mut visit: impl FnMut(usize, usize, &Socket, &Socket)) {
    for (n, front) in made.iter().enumerate().filter(|(n, _)| rungs[*n].1.pair == RungPair::FrontAndBack) {
        for (k, side) in made.iter().enumerate().filter(|(k, _)| rungs[*k].1.pair == RungPair::LeftAndRight) {
            for one in &front.sockets {
                for other in &side.sockets {
                    visit(n, k, one, other);
                }
            }
        }
    }
}

/// Whether two sockets from the two inner faces of one leg come nearer than the wall.
fn hits(one: &Socket, other: &Socket) -> bool {
    one.up[0] < other.up[1] + WALL_MM
        && other.up[0] < one.up[1] + WALL_MM
        && one.depth > other.across[0] - WALL_MM + 1e-6
        && other.depth > one.across[0] - WALL_MM + 1e-6
}

/// How much further apart in height rung `n` and the nearest rung it meets must be to clear each other.
fn clear_rise(shape: &Shape, made: &[Made], rungs: &[(Rung, Bar)], n: usize) -> f64 {
    let [low, high] = made[n].up();
    let rise = made
        .iter()
        .enumerate()
        .filter(|(k, _)| rungs[*k].1.pair != rungs[n].1.pair)
        .map(|(_, other)| {
            let [other_low, other_high] = other.up();
            (high - other_low + WALL_MM).min(other_high - low + WALL_MM)
        })
        .fold(0.0, f64::max);
    rise / shape.length_factor()
}

fn clashes(spec: &BaseSpec, shape: &Shape, rungs: &[(Rung, Bar)], made: &[Made]) -> Vec<Refusal> {
    let mut faults: Vec<Refusal> = Vec::new();
    for_corners(rungs, made, |n, k, one, other| {
        let key = format!("rungs[{n}].height");
        if !hits(one, other) || faults.iter().any(|f| f.key == key) {
            return;
        }
        let rise = clear_rise(shape, made, rungs, n);
        let short = (other.across[0].min(one.across[0]) - WALL_MM - GAP_MM).max(0.0);
        let text = format!(
            "Its joints and those of the {} run into each other inside the leg: they keep clear {} further apart in height, or no \
             deeper than {} in the leg.",
            rungs[k].0.name,
            Length::ceil_mm(rise, spec.shop.mark).show(spec.shop.system),
            Length::nearest_mm(short).floor_to(spec.shop.mark).show(spec.shop.system),
        );
        faults.push(fault(spec, n, "height", text));
    });
    faults
}

/// How deep a joint may go, in words: the leg, and what joints from its other side leave of it.
fn depth_in_words(spec: &BaseSpec, end: &End, limit: f64) -> String {
    let system = spec.shop.system;
    let others = if limit < end.leg_depth {
        format!(", of which the joints from the other side leave {}", about(limit.max(0.0), system))
    } else {
        String::new()
    };
    format!("the leg is {} deep behind them{others}", about(end.leg_depth, system))
}

type DowelWish = (Option<Length>, Option<Length>, Option<u32>);

fn dowels(
    spec: &BaseSpec,
    n: usize,
    rung: &Rung,
    bar: &Bar,
    end: &End,
    limit: f64,
    (diameter, length, count): DowelWish,
) -> Result<Made, Refusal> {
    let system = spec.shop.system;
    let rule = |d: f64| d >= end.thinner / 3.0 - 1e-9 && d <= end.thinner / 2.0 + 1e-9;
    let sizes: Vec<Length> = match diameter {
        Some(diameter) => vec![diameter],
        None => stocked(system).into_iter().rev().filter(|d| rule(d.to_mm())).collect(),
    };
    let counts: Vec<u32> = match count {
        Some(count) => vec![count],
        // A third dowel where the end is broad, and one only where two find no room.
        None => [if end.breadth > 100.0 { 3 } else { 2 }, 2, 1].to_vec(),
    };
    // Of all that is tried, what comes nearest to keeping clear of the leg's ends.
    let mut nearest: Option<Ends> = None;
    for count in &counts {
        for diameter in &sizes {
            let found = fit(spec, rung, bar, end, *diameter, *count, length, limit);
            if let Err(Lack::End(ends)) = &found
                && nearest.is_none_or(|near| near.thinnest() < ends.thinnest())
            {
                nearest = Some(*ends);
            }
            if let Ok(mut made) = found {
                if !rule(diameter.to_mm()) {
                    made.warnings.push(format!(
                        "Dowels of {} in the {} are outside the thickness rule: a third to a half of the thinner piece is \
                         {} to {}.",
                        diameter.show(system),
                        rung.name,
                        about(end.thinner / 3.0, system),
                        about(end.thinner / 2.0, system)
                    ));
                }
                if *count < 2 {
                    made.warnings.push(format!(
                        "Each end of the {} has room for a single dowel only, which does not keep the rung from turning; \
                         make the rung broader, or cut tenons.",
                        rung.name
                    ));
                }
                return Ok(made);
            }
        }
    }
    let asked = match (diameter, length) {
        (Some(d), Some(l)) => format!("No dowel of {} by {}", d.show(system), l.show(system)),
        (Some(d), None) => format!("No dowel of {}", d.show(system)),
        (None, Some(l)) => format!("No dowel {} long", l.show(system)),
        (None, None) => "No dowel".to_string(),
    };
    let through = nearest.map_or_else(String::new, |ends| format!(" The holes would {}.", ends.told(system)));
    let text = format!(
        "{asked} finds room in its ends: they are {} by {}, {}, and holes keep walls of {} and {} beyond their bottoms.{through}",
        about(end.breadth, system),
        about(bar.thickness, system),
        depth_in_words(spec, end, limit),
        about(WALL_MM, system),
        about(BEYOND_MM, system)
    );
    Err(fault(spec, n, "section", text))
}

/// Dowels of this size and number, if they find room: as long as asked, or as deep as the rule and the room allow.
#[allow(clippy::too_many_arguments, reason = "what is wished, and the place it must fit")]
fn fit(
    spec: &BaseSpec,
    rung: &Rung,
    bar: &Bar,
    end: &End,
    diameter: Length,
    count: u32,
    length: Option<Length>,
    limit: f64,
) -> Result<Made, Lack> {
    let (d, system) = (diameter.to_mm(), spec.shop.system);
    if !(1..=12).contains(&count) || d <= 0.0 {
        return Err(Lack::Room);
    }
    let room = (end.leg_depth - BEYOND_MM).min(end.half_length - BEYOND_MM);
    let fits = |half: f64| {
        if half >= SHALLOWEST * d && half + GAP_MM <= room + 1e-9 {
            row(spec, bar, end, diameter, count, half)
        } else {
            Err(Lack::Room)
        }
    };
    if let Some(length) = length {
        return fits(length.to_mm() / 2.0);
    }
    let step = half_step(system);
    let deepest = Length::nearest_mm((3.0 * d).min(room.min(limit) - GAP_MM)).floor_to(step);
    let mut nearest = Lack::Room;
    for less in 0..deepest / step {
        match fits((deepest - step * less).to_mm()) {
            Ok(mut made) => {
                if let Lack::End(ends) = nearest {
                    let hole = Length::ceil_mm(made.depth(), spec.shop.mark);
                    made.warnings.push(kept_from_top(rung, hole, &ends, system));
                }
                return Ok(made);
            }
            // The shorter they are, the farther they keep from the top end.
            Err(lack @ Lack::End(_)) => nearest = lack,
            Err(Lack::Room) => {}
        }
    }
    Err(nearest)
}

/// That a joint nobody gave a length is kept short on account of the leg's end.
fn kept_from_top(rung: &Rung, hole: Length, ends: &Ends, system: System) -> String {
    format!(
        "The joints of the {} are kept to {} deep in the legs, as they rise towards the top end on their way and {} of wood must \
         stay there; set it lower for full depth.",
        rung.name,
        hole.show(system),
        about(ends.least, system)
    )
}

/// A row of dowels let in by `half` in each part, if the walls hold: in the middle of the rung's end, or moved along it as far
/// as the leg's ends ask for.
fn row(spec: &BaseSpec, bar: &Bar, end: &End, diameter: Length, count: u32, half: f64) -> Result<Made, Lack> {
    let (mark, d, hole) = (spec.shop.mark, diameter.to_mm(), half + GAP_MM);
    // The hole in the rung runs down along the slope of the shoulder, so the row is moved up by half of that.
    let sink = hole * end.out.dot(end.edge) / end.up.dot(end.edge);
    let middle = end.middle.plus(end.up, sink / 2.0);
    let spacing = Length::nearest_mm((end.breadth / f64::from(count)).max(2.0 * d)).floor_to(mark);
    let spacing = if count == 1 { Length::ZERO } else { spacing };
    let half_row = spacing.to_mm() * f64::from(count - 1) / 2.0;
    let least = WALL_MM.max(d / 4.0) - 1e-6;
    // As deep as it is told.
    let hole_length = Length::ceil_mm(hole, mark);
    let ends_of = |lowest: Vector| {
        let both = [lowest, lowest.plus(end.up, 2.0 * half_row)];
        end.to_leg_ends(&both, d / 2.0, hole_length.to_mm(), least)
    };
    let placed = |by: f64| {
        let (first, start) = end.settle(middle.plus(end.up, by - half_row), mark);
        (first, start, ends_of(start))
    };
    let central = placed(0.0);
    let moved = if central.2.hold() { central } else { placed(end.kept_from_ends(&central.2, mark)) };
    let (first, start, ends) = moved;
    let lack = |ends: Ends| if ends.hold() { Lack::Room } else { Lack::End(ends) };
    let mut bores = Vec::new();
    let mut sockets = Vec::new();
    let mut wall = if count == 1 { ends.thinnest() } else { ends.thinnest().min(spacing.to_mm() - d) };
    for i in 0..i64::from(count) {
        let at = start.plus(end.up, spacing.to_mm() * i as f64);
        let [up, inward] = end.on_leg(at);
        let leg_wall = inward.min(end.leg_breadth - inward) - d / 2.0;
        let own = end.wall(at, d / 2.0, hole, bar).min(leg_wall);
        if own < least || !ends.hold() {
            return Err(lack(central.2));
        }
        wall = wall.min(own);
        bores.push(Bore {
            on_rung_up: first[0] + spacing * i,
            on_rung_in: first[1],
            on_leg_up: to_mark(up, mark),
            on_leg_in: to_mark(inward, mark),
            rung_depth: hole_length,
            leg_depth: hole_length,
        });
        sockets.push(end.socket(at, d / 2.0, d / 2.0, hole));
    }
    let last = bores.last().map_or(first[0], |bore| bore.on_rung_up);
    let plan = DowelPlan {
        diameter,
        length: Length::nearest_mm(2.0 * half),
        hole: hole_length,
        each_end: count,
        total: 4 * count,
        from_bottom: first[0],
        from_top: to_mark(end.breadth - last.to_mm(), mark),
        spacing,
        bores,
        wall: Length::ZERO,
    };
    Ok(Made { plan: JointPlan::Dowels(plan), sockets, wall, warnings: Vec::new() })
}

fn tenon(
    spec: &BaseSpec,
    n: usize,
    rung: &Rung,
    bar: &Bar,
    end: &End,
    limit: f64,
    (length, thickness): (Option<Length>, Option<Length>),
) -> Result<Made, Refusal> {
    let (mark, system) = (spec.shop.mark, spec.shop.system);
    let down = |mm: f64| Length::nearest_mm(mm).floor_to(mark);
    let thick = thickness.unwrap_or_else(|| down(bar.thickness / 3.0));
    let deepest = (end.leg_depth - BEYOND_MM).min(limit) - GAP_MM;
    let wished = length.unwrap_or_else(|| down((end.leg_depth * 2.0 / 3.0).min(deepest)));
    // Broad enough for the mark that it is set to.
    let broad = |long: Length| {
        let room = end.broadest_tenon(thick.to_mm(), long.to_mm()) - mark.to_mm();
        down((end.breadth * 0.75).min(room))
    };
    let place = |long: Length| placed(end, long, thick, broad(long), mark);
    let (mut long, mut at) = (wished, place(wished));
    // Where nobody asked for a length, as long as the leg's top end allows, and half as long as wished at least.
    if length.is_none() {
        while !at.holds() && (long - mark) * 2 >= wished && long > mark {
            long -= mark;
            at = place(long);
        }
        if !at.holds() {
            (long, at) = (wished, place(wished));
        }
    }
    let (t, breadth) = (thick.to_mm(), broad(long));
    let ([low_up, low_in], [top_up, top_in]) = (at.low, at.top);
    let leg_wall = low_in.min(top_in).min(end.leg_breadth - low_in.max(top_in) - t);
    let room = long.to_mm() >= 5.0
        && t >= 3.0
        && breadth >= thick
        && bar.thickness - t >= 2.0 * WALL_MM
        && leg_wall >= WALL_MM
        && at.holds()
        && long.to_mm() + GAP_MM <= end.leg_depth - BEYOND_MM + 1e-9;
    if !room {
        let through = if at.holds() {
            String::new()
        } else if at.central.hold() {
            " Square to the shoulder, the tenons would stand out of the rung's own wood.".to_string()
        } else {
            format!(" The mortises would {}.", at.central.told(system))
        };
        let text = format!(
            "No tenon finds room on its ends: one of {} by {}, {} long, needs cheeks and walls of {} and {} of leg beyond it; {}.{through}",
            thick.show(system),
            breadth.show(system),
            long.max(Length::ZERO).show(system),
            about(WALL_MM, system),
            about(BEYOND_MM, system),
            depth_in_words(spec, end, limit)
        );
        return Err(fault(spec, n, "section", text));
    }
    let hole = long.to_mm() + GAP_MM;
    let plan = TenonPlan {
        length: long,
        thickness: thick,
        breadth,
        mortise: Length::ceil_mm(hole, mark),
        on_rung_in: at.set[1],
        on_rung_up: at.set[0],
        on_leg_up: to_mark(low_up, mark),
        on_leg_in: to_mark(low_in, mark),
        on_leg_up_top: to_mark(top_up, mark),
        on_leg_in_top: to_mark(top_in, mark),
        wall: Length::ZERO,
    };
    // A mortise askew to the arris takes so much more room across.
    let half_across = (t + (top_in - low_in).abs()) / 2.0;
    let sockets = vec![end.socket(at.centre, breadth.to_mm() / 2.0, half_across, hole)];
    let warnings = if long < wished {
        vec![kept_from_top(rung, Length::ceil_mm(hole, mark), &at.ends, system)]
    } else {
        Vec::new()
    };
    let wall = leg_wall.min(at.ends.thinnest());
    Ok(Made { plan: JointPlan::Tenon(plan), sockets, wall, warnings })
}

/// Where a tenon stands on the rung's end and its mortise in the leg.
struct Placed {
    /// Lower outer corner on the shoulder: up from the bottom edge and in from the outer arris.
    set: [Length; 2],
    /// That corner, and the upper one, on the leg: up the arris, and across from it.
    low: [f64; 2],
    top: [f64; 2],
    centre: Vector,
    /// What the mortise leaves at the leg's ends, where it is and where it would be in the middle of the rung's end.
    ends: Ends,
    central: Ends,
    /// Whether the rung's own wood reaches to every corner of the tenon.
    whole: bool,
}

impl Placed {
    fn holds(&self) -> bool {
        self.ends.hold() && self.whole
    }
}

/// In the middle of the rung's end, or moved along it as far as the leg's ends and the rung's own top edge ask for.
fn placed(end: &End, long: Length, thick: Length, breadth: Length, mark: Length) -> Placed {
    let (t, broad) = (thick.to_mm(), breadth.to_mm());
    // As deep as it is told.
    let hole = Length::ceil_mm(long.to_mm() + GAP_MM, mark).to_mm();
    let middle = end.middle.plus(end.up, -broad / 2.0).plus(end.inward, -t / 2.0);
    let ends_of = |low: Vector| {
        let high = low.plus(end.up, broad);
        let corners = [low, high, low.plus(end.inward, t), high.plus(end.inward, t)];
        end.to_leg_ends(&corners, 0.0, hole, WALL_MM - 1e-6)
    };
    let central = ends_of(end.settle(middle, mark).1);
    let in_rung = end.kept_in_rung(middle, [t, broad, long.to_mm()], mark);
    let (set, low) = end.settle(middle.plus(end.up, in_rung), mark);
    let by = end.kept_from_ends(&ends_of(low), mark);
    let (set, low) = if by == 0.0 { (set, low) } else { end.settle(low.plus(end.up, by), mark) };
    let high = low.plus(end.up, broad);
    let in_wood = |along: f64| {
        let deep =
            [low, low.plus(end.inward, t)].map(|at| end.corner.minus(at.plus(end.out, along)).dot(end.face));
        deep.into_iter().all(|deep| deep > -1e-6 && deep < end.thick + 1e-6)
    };
    let whole = end.kept_in_rung(low, [t, broad, long.to_mm()], Length::ZERO).abs() < 1e-6
        && in_wood(0.0)
        && in_wood(long.to_mm());
    Placed {
        set,
        low: end.on_leg(low),
        top: end.on_leg(high),
        centre: low.plus(end.up, broad / 2.0).plus(end.inward, t / 2.0),
        ends: ends_of(low),
        central,
        whole,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::{Edges, RungSpec, Section, Stance};
    use stripwright_units::Angle;

    /// A front rung of 40 by 60 with its top edge at 200.
    fn rung(edges: Edges) -> RungSpec {
        let mm = Length::from_mm;
        RungSpec {
            pair: RungPair::FrontAndBack,
            height: mm(200),
            section: Section { width: mm(40), thickness: mm(60) },
            set_in: Length::ZERO,
            stance: Stance::InPlane,
            edges,
        }
    }

    /// Its end on legs of 32 by 32, 700 tall, whose outer corners are 130 and 120 from the centre at the top.
    fn end(side_lean: f64, rung: RungSpec) -> (End, Bar) {
        let shape = Shape {
            a: Angle::degrees(0.0),
            b: Angle::degrees(side_lean),
            h: 700.0,
            half: [130.0, 120.0],
            leg: [32.0; 2],
        };
        let bar = Bar::new(&shape, &rung);
        (End::new(&shape, &bar), bar)
    }

    #[track_caller]
    fn near(found: f64, wanted: f64) {
        assert!((found - wanted).abs() < 1e-9, "{found} is not {wanted}");
    }

    #[test]
    fn wood_to_the_end_of_a_leg_is_counted_from_the_nearer_one_and_from_the_rim_of_the_hole() {
        let (end, _) = end(0.0, rung(Edges::Level));
        let left =
            |z: f64, radius: f64| end.to_leg_ends(&[Vector([98.0, 104.0, z])], radius, 30.0, 2.0).thinnest();
        near(left(5.0, 4.0), 1.0);
        near(left(693.0, 4.0), 3.0);
        near(left(350.0, 0.0), 350.0);
    }

    /// The room of a joint in the leg: the rung stands from y = 60 to 120 and from 160 to 200 high, and the inner face of the plane
    /// face's leg is at y = 88, so a hole at y = 104 is 16 across from it.
    #[test]
    fn a_socket_is_as_high_and_as_broad_as_its_hole() {
        let (end, _) = end(0.0, rung(Edges::Level));
        let socket = end.socket(Vector([98.0, 104.0, 184.0]), 8.0, 3.0, 30.0);
        assert_eq!((socket.up, socket.across, socket.depth), ([176.0, 192.0], [13.0, 19.0], 30.0));
        assert_eq!(end.on_leg(Vector([98.0, 104.0, 184.0])), [184.0, 16.0]);
    }

    /// Near each side of the rung's end the wall is what lies between that side and the rim.
    #[test]
    fn the_wall_round_a_hole_is_its_thinnest() {
        let (upright, bar) = end(0.0, rung(Edges::Level));
        let wall = |y: f64, z: f64| upright.wall(Vector([98.0, y, z]), 4.0, 20.0, &bar);
        near(wall(90.0, 167.0), 3.0);
        near(wall(90.0, 193.0), 3.0);
        near(wall(67.0, 180.0), 3.0);
        near(wall(113.0, 180.0), 3.0);
        near(wall(90.0, 180.0), 16.0);
        // Leaning at 60 degrees, where the cosine is a half, level edges leave 20 of the 40 for the height, square ones all 40
        // square to themselves.
        let (leaning, bar) = end(60.0, rung(Edges::Level));
        let foot = leaning.corner.plus(leaning.inward, 30.0).plus(leaning.up, 30.0 * 3.0_f64.sqrt());
        near(foot.0[2], 180.0);
        near(leaning.wall(foot.plus(leaning.up, 30.0), 4.0, 0.0, &bar), 1.0);
        near(leaning.wall(foot.plus(leaning.up, 14.0), 4.0, 0.0, &bar), 3.0);
        let (leaning, bar) = end(60.0, rung(Edges::Square));
        let foot = leaning.corner.plus(leaning.inward, 30.0);
        near(leaning.wall(foot.plus(leaning.up, 30.0), 4.0, 0.0, &bar), 6.0);
    }

    /// Two holes of one leg: they meet when they share heights and each is deeper than the wood before the other. Two
    /// millimetres between them are enough, above and below as well as before.
    #[test]
    fn holes_meet_when_less_than_two_millimetres_are_left() {
        let one = Socket { up: [100.0, 110.0], across: [12.0, 20.0], depth: 11.0 };
        let meets = |low: f64, before: f64, depth: f64| {
            let other = Socket { up: [low, low + 10.0], across: [before, before + 8.0], depth };
            assert_eq!(hits(&one, &other), hits(&other, &one));
            hits(&one, &other)
        };
        assert!(meets(100.0, 12.0, 11.0));
        assert!(meets(111.9, 12.0, 11.0) && !meets(112.0, 12.0, 11.0));
        assert!(meets(88.1, 12.0, 11.0) && !meets(88.0, 12.0, 11.0));
        // The other's hole must leave 2 of the 12 before the first one, and the first, 11 deep, 2 before the other.
        assert!(meets(100.0, 12.0, 10.1) && !meets(100.0, 12.0, 10.0) && !meets(100.0, 12.0, 8.0));
        assert!(meets(100.0, 12.9, 11.0) && !meets(100.0, 13.0, 11.0) && !meets(100.0, 20.0, 11.0));
    }

    /// Level edges on a leaning leg: what lies in from the outer arris lies lower on the rung's end, by the sine of the lean, so the
    /// inner lower corner of a tenon is the first to leave the wood at the bottom.
    #[test]
    fn a_tenon_stays_in_the_wood_of_its_rung_at_every_corner() {
        let mm = Length::from_mm;
        let (long, thick, mark) = (mm(20), mm(20), Length::from_um(500));
        for lean in [0.0, 10.0, 20.0, 30.0] {
            let (end, bar) = end(lean, rung(Edges::Level));
            let most = end.broadest_tenon(20.0, 20.0) - mark.to_mm();
            let broad = Length::nearest_mm(most.min(0.75 * end.breadth)).floor_to(mark);
            let at = placed(&end, long, thick, broad, mark);
            let [up, inward] = at.set.map(Length::to_mm);
            let (sin, cos) = (Angle::degrees(lean).sin(), Angle::degrees(lean).cos());
            let height = |up: f64, inward: f64| up * cos - inward * sin;
            assert!(at.whole && broad > mm(10), "{lean}: {broad}");
            assert!(height(up, inward + 20.0) > -1e-6, "{lean}: {up}, {inward}");
            let tall = bar.top - bar.bottom();
            assert!(height(up + broad.to_mm(), inward) < tall + 1e-6, "{lean}: {up}, {inward}");
        }
    }

    /// A plumb rung on legs that lean by 14.036 degrees to the side, a quarter: 24 mm of tenon up the rung are 5.8 mm across the
    /// leg, and the mortise takes that much more of it.
    #[test]
    fn a_mortise_askew_takes_the_room_of_both_its_ends() {
        let mm = Length::from_mm;
        let section = Section { width: mm(32), thickness: mm(20) };
        let plumb = RungSpec { section, stance: Stance::Plumb, ..rung(Edges::Square) };
        let (end, bar) = end(14.036, plumb);
        let spec = BaseSpec {
            rungs: vec![plumb],
            ..BaseSpec::new("stool", Section { width: mm(32), thickness: mm(32) })
        };
        let placed = crate::rung::rung_of(("front and back rung 1".into(), 1), &plumb, &bar, &spec.shop);
        let made = tenon(&spec, 0, &placed, &bar, &end, f64::INFINITY, (None, Some(mm(6)))).expect("room");
        let JointPlan::Tenon(plan) = &made.plan else { panic!("a tenon") };
        let (low, high) = (plan.on_leg_in.to_mm(), plan.on_leg_in_top.to_mm());
        assert!(((low - high).abs() - 5.8).abs() <= 0.5, "{low} {high}");
        // To the mark, and to the little by which a mortise that lies askew is narrower than it is thick and long.
        let [from, to] = made.sockets[0].across;
        assert!((from - (32.0 - low.max(high) - 6.0)).abs() <= 0.4, "{from} to {to}");
        assert!((to - (32.0 - low.min(high))).abs() <= 0.4, "{from} to {to}");
    }
}
