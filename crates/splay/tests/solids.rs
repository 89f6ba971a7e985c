//! Builds the parts from what is printed and puts them together.
//!
//! The saw is imitated: each piece is laid as the plan says, cut at the *rounded* settings, in the ways and to the lengths that the plan prints,
//! and then stood up at the printed spreads and heights. Faces must then meet within the mark, and nothing may share
//! wood deeper than the mark. Nothing here uses the crate's own geometry.

use proptest::prelude::*;
use stripwright_splay::view::{Line, Role};
use stripwright_splay::{
    Base, BaseSpec, Edges, Hand, Height, Joint, JointPlan, Laying, Leans, LegCut, LegPlace, Rung, RungCut,
    RungLaying, RungPair, RungSpec, SawSetting, Section, Spread, Stance, View, Way, base,
};
use stripwright_units::{Angle, Length, trig};

type V = [f64; 3];

fn dot(a: V, b: V) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

fn cross(a: V, b: V) -> V {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn add(a: V, b: V, times: f64) -> V {
    std::array::from_fn(|i| a[i] + times * b[i])
}

fn unit(a: V) -> V {
    let size = dot(a, a).sqrt();
    a.map(|x| x / size)
}

fn minus(a: V) -> V {
    a.map(|x| -x)
}

/// A box cut skew at both ends, by its eight corners: four round one end, then the same four at the other end.
#[derive(Clone, Debug)]
struct Solid {
    corners: [V; 8],
}

const FACES: [[usize; 4]; 6] =
    [[0, 1, 2, 3], [4, 5, 6, 7], [0, 1, 5, 4], [1, 2, 6, 5], [2, 3, 7, 6], [3, 0, 4, 7]];

impl Solid {
    fn normals(&self) -> Vec<V> {
        FACES.iter().map(|f| unit(cross(self.side(f[0], f[1]), self.side(f[0], f[3])))).collect()
    }

    fn side(&self, from: usize, to: usize) -> V {
        add(self.corners[to], self.corners[from], -1.0)
    }

    fn edges(&self) -> Vec<V> {
        [(0, 1), (1, 2), (2, 3), (3, 0), (0, 4), (4, 5), (5, 6)]
            .iter()
            .map(|(a, b)| self.side(*a, *b))
            .collect()
    }

    fn reach(&self, axis: V) -> [f64; 2] {
        self.corners
            .iter()
            .map(|c| dot(*c, axis))
            .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], x| [low.min(x), high.max(x)])
    }

    /// How deep two convex solids go into each other (separating axes); below zero, how far they are apart at least.
    fn shared_depth(&self, other: &Solid) -> f64 {
        let mut axes = self.normals();
        axes.extend(other.normals());
        for a in self.edges() {
            for b in other.edges() {
                let axis = cross(a, b);
                if dot(axis, axis) > 1e-6 * dot(a, a) * dot(b, b) {
                    axes.push(unit(axis));
                }
            }
        }
        axes.into_iter()
            .map(|axis| {
                let ([a, b], [c, d]) = (self.reach(axis), other.reach(axis));
                b.min(d) - a.max(c)
            })
            .fold(f64::INFINITY, f64::min)
    }
}

/// The normal of the plane that the saw cuts: table x to the right, y to the fence, z up.
fn cut_plane(setting: &SawSetting, turn: Way, tilt: Way) -> V {
    let signed = |way: Way, angle: Angle| {
        if way == Way::Right { angle } else { Angle::degrees(-angle.to_degrees()) }
    };
    let (t, b) = (signed(turn, setting.set_turn), signed(tilt, setting.set_tilt));
    // The line of the cut on the table, and the blade's slope, which is square to that line.
    let line = [t.sin(), t.cos(), 0.0];
    let square = [t.cos(), -t.sin(), 0.0];
    cross(line, [square[0] * b.sin(), square[1] * b.sin(), b.cos()])
}

/// Where the cut through `through` meets the line along x at (y, z).
fn cut_at(normal: V, through: V, y: f64, z: f64) -> f64 {
    through[0] - (normal[1] * (y - through[1]) + normal[2] * (z - through[2])) / normal[0]
}

/// A leg standing, with its directions.
struct Standing {
    solid: Solid,
    up: V,
    plane_face: V,
    side_face: V,
    /// Foot of the outer arris.
    foot: V,
}

fn signs(leg: LegPlace) -> [f64; 2] {
    match leg {
        LegPlace::FrontLeft => [-1.0, -1.0],
        LegPlace::FrontRight => [1.0, -1.0],
        LegPlace::BackLeft => [-1.0, 1.0],
        LegPlace::BackRight => [1.0, 1.0],
    }
}

/// Cuts a leg as laid and stands it with its outer arris between the printed marks on floor and top.
fn leg(made: &Base, cut: &LegCut) -> Standing {
    let (w, d) = (made.leg_section.width.to_mm(), made.leg_section.thickness.to_mm());
    let length = made.legs.length.to_mm();
    let [sx, sy] = signs(cut.leg);
    let half = |spread: Spread| [spread.width.to_mm() / 2.0, spread.depth.to_mm() / 2.0];
    let ([x0, y0], [x1, y1]) = (half(made.floor_spread), half(made.top_spread));
    let (foot, head) = ([sx * x0, sy * y0, 0.0], [sx * x1, sy * y1, made.height.to_mm()]);
    let up = unit(add(head, foot, -1.0));
    // The plane face holds the arris and runs level from left to right.
    let across = cross([1.0, 0.0, 0.0], up);
    let plane_face = unit(if across[1] * sy > 0.0 { across } else { minus(across) });
    let side = cross(up, plane_face);
    let side_face = unit(if side[0] * sx > 0.0 { side } else { minus(side) });

    // On the saw: x to the right, y to the fence, z up, the laid face at z = 0.
    let (down_face, other_face, breadth, high) = match cut.laying {
        Laying::PlaneFaceDown => (plane_face, side_face, w, d),
        Laying::SideFaceDown => (side_face, plane_face, d, w),
    };
    let setting = match cut.laying {
        Laying::PlaneFaceDown => &made.legs.plane_face_down,
        Laying::SideFaceDown => &made.legs.side_face_down,
    };
    let table_x = if cut.top_end == Way::Right { up } else { minus(up) };
    let table_y = if cut.outer_face_at_fence { other_face } else { minus(other_face) };
    let table_z = minus(down_face);
    let handed = dot(cross(table_x, table_y), table_z);
    assert!((handed - 1.0).abs() < 1e-9, "{cut:?} cannot be laid so: it is the other hand");
    // The outer arris lies on the table, at the fence or towards you, with its foot at x = 0.
    let arris_y = if cut.outer_face_at_fence { breadth } else { 0.0 };
    let head_x = if cut.top_end == Way::Right { length } else { -length };
    let plane = cut_plane(setting, cut.turn, cut.tilt);
    let corner = |end_x: f64, y: f64, z: f64| {
        let x = cut_at(plane, [end_x, arris_y, 0.0], y, z);
        let from = add(add(foot, table_x, x), table_y, y - arris_y);
        add(from, table_z, z)
    };
    let round = [[0.0, 0.0], [breadth, 0.0], [breadth, high], [0.0, high]];
    let corners =
        std::array::from_fn(|n| corner(if n < 4 { 0.0 } else { head_x }, round[n % 4][0], round[n % 4][1]));
    Standing { solid: Solid { corners }, up, plane_face, side_face, foot }
}

/// Cuts a rung as laid (in table coordinates, its middle at x = 0), from the printed bottom length, bevel and settings.
fn rung_on_table(rung: &Rung, cut: &RungCut) -> [V; 8] {
    let (w, t) = (rung.section.width.to_mm(), rung.section.thickness.to_mm());
    let skew = t * rung.set_edge_bevel.tan();
    let half = rung.bottom_length.to_mm() / 2.0;
    match cut.laying {
        RungLaying::FaceDown => {
            // Outer face on the table, top edge at the fence: outer bottom, outer top, inner top, inner bottom.
            let section = [[0.0, 0.0], [w, 0.0], [w + skew, t], [skew, t]];
            let right = cut_plane(&rung.face_down, cut.turn, cut.tilt);
            let first = section.map(|[y, z]| [cut_at(right, [half, 0.0, 0.0], y, z), y, z]);
            // Turned end for end, same face down, the saw swung to the other side, tilt left alone.
            let other = cut_plane(&rung.face_down, cut.turn.other(), cut.tilt);
            let second = section.map(|[y, z]| [-cut_at(other, [half, 0.0, 0.0], -y, z), y, z]);
            std::array::from_fn(|n| if n < 4 { first[n] } else { second[n - 4] })
        }
        RungLaying::EdgeDown => {
            // The bottom edge on the table, outer face at the fence. Back to the face-down frame by turning about x.
            let bevel = rung.set_edge_bevel;
            let flat = |[y, z]: [f64; 2]| {
                // y up the face and z inwards become: out to the fence, and up.
                let (sin, cos) = (bevel.sin(), bevel.cos());
                [-(z * cos) - y * sin, y * cos - z * sin]
            };
            let section = [[0.0, 0.0], [w, 0.0], [w + skew, t], [skew, t]];
            let right = cut_plane(&rung.edge_down, cut.turn, cut.tilt);
            let other = cut_plane(&rung.edge_down, cut.turn.other(), cut.tilt);
            let first = section.map(|p| {
                let [y, z] = flat(p);
                [cut_at(right, [half, 0.0, 0.0], y, z), p[0], p[1]]
            });
            let second = section.map(|p| {
                let [y, z] = flat(p);
                [-cut_at(other, [half, 0.0, 0.0], -y, z), p[0], p[1]]
            });
            std::array::from_fn(|n| if n < 4 { first[n] } else { second[n - 4] })
        }
    }
}

/// Stands a rung between its legs: its top edge's outer arris at the printed height, set in from the leg's arris.
fn stand_rung(made: &Base, rung: &Rung, table: [V; 8], side: f64, legs: &[Standing]) -> (Solid, [V; 3], V) {
    let lean = match (rung.stance, rung.pair) {
        (Stance::Plumb, _) => Angle::degrees(0.0),
        (_, RungPair::FrontAndBack) => made.leans.side,
        (_, RungPair::LeftAndRight) => made.leans.front,
    };
    let q = usize::from(rung.pair == RungPair::FrontAndBack);
    let mut normal = [0.0, 0.0, lean.sin()];
    normal[q] = side * lean.cos();
    let mut slope = [0.0, 0.0, lean.cos()];
    slope[q] = -side * lean.sin();
    let along = cross(normal, slope);
    // The arris of a leg of this side that its shoulder meets.
    let leg = &legs[3];
    let breadth = match rung.pair {
        RungPair::FrontAndBack => add(leg.foot, leg.side_face, -made.leg_section.width.to_mm()),
        RungPair::LeftAndRight => add(leg.foot, leg.plane_face, -made.leg_section.thickness.to_mm()),
    };
    let rise = (rung.height.to_mm() - breadth[2]) / leg.up[2];
    let arris = add(breadth, leg.up, rise);
    let mut top = [0.0, 0.0, rung.height.to_mm()];
    top[q] = side * (arris[q] - rung.set_in.to_mm() / lean.cos());
    let origin = add(top, slope, -rung.section.width.to_mm());
    let corners = table.map(|[x, y, z]| add(add(add(origin, along, x), slope, y), normal, -z));
    (Solid { corners }, [along, slope, normal], origin)
}

/// Everything the test asks of a base. Returns the worst gap seen, in marks.
fn assemble(made: &Base, mark: f64) -> f64 {
    let mut worst: f64 = 0.0;
    let mut check = |what: &str, gap: f64| {
        assert!(gap.abs() <= mark + 1e-6, "{what}: {gap} mm apart or into each other, mark {mark}");
        worst = worst.max(gap.abs() / mark);
    };
    let cuts = &made.legs.cuts;
    assert_eq!(cuts.len(), 16);
    for cut in cuts {
        let standing = leg(made, cut);
        let [foot, head] = [&standing.solid.corners[..4], &standing.solid.corners[4..]];
        for c in foot {
            check("foot on the floor", c[2]);
        }
        // The four ends, all alike, carry the top: none of their corners stands off it by more than the mark.
        let heights = head.iter().map(|c| c[2]);
        let [low, high] = heights.fold([f64::INFINITY, f64::NEG_INFINITY], |[l, h], z| [l.min(z), h.max(z)]);
        check("leg under the top", high - low);
        // The length is the printed one, never short and never a mark too long; the printed spreads are themselves
        // whole marks, which moves the arris by up to a quarter of one.
        let half = |spread: Spread| [spread.width.to_mm() / 2.0, spread.depth.to_mm() / 2.0];
        let ([x0, y0], [x1, y1]) = (half(made.floor_spread), half(made.top_spread));
        let arris = [x1 - x0, y1 - y0, made.height.to_mm()];
        let over = made.legs.length.to_mm() - dot(arris, arris).sqrt();
        assert!((-mark / 4.0..=mark * 1.25).contains(&over), "a leg {over} mm too long");
    }
    let one_way = |n: usize| leg(made, &LegCut::of(LegPlace::ALL[n], Laying::PlaneFaceDown, Way::Right));
    let legs: Vec<Standing> = (0..4).map(one_way).collect();
    let mut holes: Vec<(usize, RungPair, V, V, f64)> = Vec::new();
    let mut solids: Vec<(String, Solid)> = legs
        .iter()
        .enumerate()
        .map(|(n, l)| (LegPlace::ALL[n].name().to_string(), l.solid.clone()))
        .collect();
    for (rung, joint) in made.rungs.iter().zip(&made.joints) {
        for cut in &rung.cuts {
            let table = rung_on_table(rung, cut);
            for side in [-1.0, 1.0] {
                let (solid, [along, slope, normal], origin) = stand_rung(made, rung, table, side, &legs);
                for (end, corners) in [(1.0, &solid.corners[..4]), (-1.0, &solid.corners[4..])] {
                    let n = corners_leg(
                        rung.pair,
                        side,
                        end * along[usize::from(rung.pair == RungPair::LeftAndRight)],
                    );
                    let (inner, size) = match rung.pair {
                        RungPair::FrontAndBack => (legs[n].side_face, made.leg_section.width.to_mm()),
                        RungPair::LeftAndRight => (legs[n].plane_face, made.leg_section.thickness.to_mm()),
                    };
                    let face = dot(inner, legs[n].foot) - size;
                    for c in corners {
                        check(&format!("{} shoulder", rung.name), face - dot(inner, *c));
                    }
                    // The bores and tenons on the rung's shoulder are opposite those in the leg.
                    let across = if rung.pair == RungPair::FrontAndBack {
                        legs[n].plane_face
                    } else {
                        legs[n].side_face
                    };
                    // The shared arris, from where it stands on the floor.
                    let arris = add(legs[n].foot, inner, -size);
                    let arris = add(arris, legs[n].up, -arris[2] / legs[n].up[2]);
                    let (low, high) = (corners[0], corners[1]);
                    let up = unit(add(high, low, -1.0));
                    let inward = unit(cross(cross(up, add(corners[3], low, -1.0)), up));
                    let rung_at = |far: f64, deep: f64| add(add(low, up, far), inward, deep);
                    let leg_at = |far: Length, deep: Length| {
                        add(add(arris, legs[n].up, far.to_mm()), across, -deep.to_mm())
                    };
                    if let JointPlan::Tenon(plan) = joint {
                        let (at, deep) = (plan.on_rung_up.to_mm(), plan.on_rung_in.to_mm());
                        let ends = [
                            (rung_at(at, deep), leg_at(plan.on_leg_up, plan.on_leg_in)),
                            (
                                rung_at(at + plan.breadth.to_mm(), deep),
                                leg_at(plan.on_leg_up_top, plan.on_leg_in_top),
                            ),
                        ];
                        for (on_rung, on_leg) in ends {
                            let off = add(on_rung, on_leg, -1.0);
                            check("mortise along the leg", dot(off, legs[n].up));
                            check("mortise across the leg", dot(off, across));
                        }
                    }
                    if let JointPlan::Dowels(plan) = joint {
                        for bore in &plan.bores {
                            let on_rung = rung_at(bore.on_rung_up.to_mm(), bore.on_rung_in.to_mm());
                            let on_leg = leg_at(bore.on_leg_up, bore.on_leg_in);
                            let off = add(on_rung, on_leg, -1.0);
                            let bottom = add(on_leg, inner, bore.leg_depth.to_mm());
                            holes.push((n, rung.pair, on_leg, bottom, plan.diameter.to_mm() / 2.0));
                            check("bores along the leg", dot(off, legs[n].up));
                            check("bores across the leg", dot(off, across));
                        }
                    }
                }
                // Level edges are level and the outer face lies where it should.
                if rung.edges == Edges::Level {
                    check("level top edge", solid.corners[2][2] - solid.corners[1][2]);
                }
                assert!(dot(slope, normal).abs() < 1e-12 && origin[2] > 0.0);
                if cut.laying == RungLaying::FaceDown {
                    solids.push((format!("{} {side}", rung.name), solid));
                }
            }
        }
    }
    for (n, (name, solid)) in solids.iter().enumerate() {
        for (other_name, other) in &solids[..n] {
            let depth = solid.shared_depth(other);
            assert!(depth <= mark, "{name} goes {depth} mm into {other_name}");
        }
    }
    // Holes from the two sides of a leg never meet: 2 mm stay between them, less what the marks take.
    for (n, (leg, pair, from, to, radius)) in holes.iter().enumerate() {
        for (other_leg, other_pair, other_from, other_to, other_radius) in &holes[..n] {
            if leg == other_leg && pair != other_pair {
                let (one, two) = ((*from, *to, *radius), (*other_from, *other_to, *other_radius));
                let left = wall(one, two).min(wall(two, one));
                assert!(left >= 2.0 - 2.0 * mark, "holes in leg {leg} leave a wall of {left} mm");
            }
        }
    }
    worst
}

/// A hole: where it starts, where it ends, its radius.
type Hole = (V, V, f64);

/// Thinnest wood between two holes with flat bottoms: from points all over the first to the second.
fn wall(first: Hole, second: Hole) -> f64 {
    let axis = |(from, to, _): Hole| unit(add(to, from, -1.0));
    let (ahead, other) = (axis(first), axis(second));
    let aside = unit(cross(ahead, other));
    let third = cross(ahead, aside);
    let length = dot(add(second.1, second.0, -1.0), other);
    let mut thinnest = f64::INFINITY;
    for step in 0..=40 {
        let middle = add(first.0, add(first.1, first.0, -1.0), f64::from(step) / 40.0);
        for turn in 0..24 {
            let angle = Angle::degrees(15.0 * f64::from(turn));
            let rim = add(add(middle, aside, first.2 * angle.cos()), third, first.2 * angle.sin());
            let from = add(rim, second.0, -1.0);
            let along = dot(from, other);
            let off = (dot(from, from) - along * along).max(0.0).sqrt() - second.2;
            thinnest = thinnest.min(off.max(along - length));
        }
    }
    thinnest
}

/// The leg at one end of a rung: `way` is the direction of that end along x or y.
fn corners_leg(pair: RungPair, side: f64, way: f64) -> usize {
    let [x, y] = if pair == RungPair::FrontAndBack { [way, side] } else { [side, way] };
    LegPlace::ALL.iter().position(|l| signs(*l) == [x.signum(), y.signum()]).expect("a leg at every corner")
}

fn mm(n: i64) -> Length {
    Length::from_mm(n)
}

fn stool(a: f64, b: f64, rungs: Vec<RungSpec>) -> BaseSpec {
    BaseSpec {
        height: Some(Height::Underside(mm(700))),
        leans: Some(Leans { front: Angle::degrees(a), side: Angle::degrees(b) }),
        top_spread: Some(Spread { width: mm(260), depth: mm(260) }),
        rungs,
        ..BaseSpec::new("stool", Section { width: mm(32), thickness: mm(32) })
    }
}

#[test]
fn a_stool_with_rungs_all_at_one_height_goes_together() {
    for (a, b) in [(6.0, 6.0), (12.0, 6.0), (0.0, 0.0), (10.0, 0.0), (0.0, 10.0), (15.0, 15.0)] {
        let leg = Section { width: mm(32), thickness: mm(32) };
        let rungs = [RungPair::FrontAndBack, RungPair::LeftAndRight]
            .map(|pair| RungSpec::usual(pair, mm(140), leg, Length::from_um(500)))
            .to_vec();
        let made = base(&stool(a, b, rungs)).expect("a stool");
        assemble(&made, 0.5);
    }
}

/// The imitation of the saw notices what it is there to notice.
#[test]
#[should_panic(expected = "foot on the floor")]
fn a_leg_cut_mirror_wrong_does_not_stand() {
    let mut made = base(&stool(12.0, 6.0, Vec::new())).expect("a stool");
    for cut in &mut made.legs.cuts {
        cut.turn = cut.turn.other();
    }
    assemble(&made, 0.5);
}

#[test]
#[should_panic(expected = "the other hand")]
fn a_leg_laid_the_wrong_way_round_is_noticed() {
    let mut made = base(&stool(12.0, 6.0, Vec::new())).expect("a stool");
    made.legs.cuts[5].outer_face_at_fence = !made.legs.cuts[5].outer_face_at_fence;
    assemble(&made, 0.5);
}

#[test]
#[should_panic(expected = "shoulder")]
fn a_rung_cut_upright_where_it_must_be_tilted_is_noticed() {
    let leg = Section { width: mm(32), thickness: mm(32) };
    let rung = RungSpec::usual(RungPair::LeftAndRight, mm(140), leg, Length::from_um(500));
    let mut made = base(&stool(18.0, 18.0, vec![rung])).expect("a stool");
    made.rungs[0].face_down.set_tilt = Angle::degrees(0.0);
    assemble(&made, 0.5);
}

type P = [f64; 2];

/// The closed outlines of a part in a view, as points.
fn shapes(view: &View, role: Role, part: &str) -> Vec<Vec<P>> {
    let of_it = |line: &&Line| line.closed && line.role == role && line.part == part;
    view.outlines.iter().filter(of_it).map(|line| line.points.iter().map(|p| [p.x, p.y]).collect()).collect()
}

/// The open lines of a part in a view.
fn runs(view: &View, role: Role, part: &str) -> Vec<Vec<P>> {
    let of_it = |line: &&Line| !line.closed && line.role == role && line.part == part;
    view.outlines.iter().filter(of_it).map(|line| line.points.iter().map(|p| [p.x, p.y]).collect()).collect()
}

fn apart([x, y]: P, [other_x, other_y]: P) -> f64 {
    trig::hypot(x - other_x, y - other_y)
}

/// Every point that is drawn is one that was built, and every one that was built is drawn.
#[track_caller]
fn shows(what: &str, drawn: &[P], built: &[P], slack: f64) {
    let near = |point: &P, others: &[P]| others.iter().any(|other| apart(*point, *other) <= slack);
    assert!(!drawn.is_empty(), "{what} is not drawn");
    for point in drawn {
        assert!(near(point, built), "{what}: {point:?} is drawn and is not in {built:?}");
    }
    for point in built {
        assert!(near(point, drawn), "{what}: {point:?} is not drawn in {drawn:?}");
    }
}

/// Corners in order round their middle.
fn round(corners: &[P]) -> Vec<P> {
    let middle = [0, 1].map(|way| corners.iter().map(|c| c[way]).sum::<f64>() / corners.len() as f64);
    let mut all = corners.to_vec();
    let turn = |p: &P| trig::atan2(p[1] - middle[1], p[0] - middle[0]);
    all.sort_by(|a, b| turn(a).total_cmp(&turn(b)));
    all
}

fn off([a, b]: [P; 2], p: P) -> f64 {
    let along = [b[0] - a[0], b[1] - a[1]];
    let size = along[0] * along[0] + along[1] * along[1];
    let share = ((p[0] - a[0]) * along[0] + (p[1] - a[1]) * along[1]) / size.max(1e-12);
    let t = share.clamp(0.0, 1.0);
    apart(p, [a[0] + t * along[0], a[1] + t * along[1]])
}

/// A part's edges are drawn from end to end, seen or hidden, and nothing else is drawn of it.
#[track_caller]
fn traces(view: &View, part: &str, edges: &[[P; 2]], slack: f64) {
    let drawn = [runs(view, Role::Visible, part), runs(view, Role::Hidden, part)].concat();
    for line in &drawn {
        let on_one = edges.iter().any(|edge| line.iter().all(|p| off(*edge, *p) <= slack));
        assert!(on_one, "{part}: {line:?} is no edge of {edges:?}");
    }
    for [a, b] in edges {
        for n in 0..=20 {
            let t = f64::from(n) / 20.0;
            let p = [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
            assert!(
                drawn.iter().any(|line| off([line[0], line[1]], p) <= slack),
                "{part}: {p:?} is not drawn"
            );
        }
    }
}

/// The faces of a solid: the normal out of it, and how far along it the face lies.
fn planes(solid: &Solid) -> Vec<(V, f64)> {
    let middle: V = std::array::from_fn(|i| solid.corners.iter().map(|c| c[i]).sum::<f64>() / 8.0);
    let outward = |(face, normal): (&[usize; 4], V)| {
        let out =
            if dot(normal, add(middle, solid.corners[face[0]], -1.0)) > 0.0 { minus(normal) } else { normal };
        (out, dot(out, solid.corners[face[0]]))
    };
    FACES.iter().zip(solid.normals()).map(outward).collect()
}

/// In the plan an edge is solid where nothing stands over it, and hidden where something does: looked for by going up from
/// points along it, in steps of one and a half millimetres.
fn seen_from_above(made: &Base, legs: &[Standing]) {
    let plan = view(made, "plan");
    let mut edges: Vec<(String, [V; 2])> = Vec::new();
    let mut solids: Vec<Vec<(V, f64)>> = legs.iter().map(|leg| planes(&leg.solid)).collect();
    for (leg, place) in legs.iter().zip(LegPlace::ALL) {
        edges.extend(
            (0..4).map(|i| {
                (format!("leg {}", place.letters()), [leg.solid.corners[i], leg.solid.corners[i + 4]])
            }),
        );
    }
    for rung in &made.rungs {
        let table = rung_on_table(rung, &rung.cuts[0]);
        for side in [-1.0, 1.0] {
            let solid = stand_rung(made, rung, table, side, legs).0;
            let around = [[1, 2], [2, 6], [6, 5], [5, 1]];
            edges.extend(around.map(|e| (rung.name.clone(), e.map(|i| solid.corners[i]))));
            solids.push(planes(&solid));
        }
    }
    let mut met = [0, 0];
    for (part, [from, to]) in &edges {
        for n in 1..10 {
            let p = add(*from, add(*to, *from, -1.0), f64::from(n) / 10.0);
            let up = |deep: f64| {
                (1..500).any(|h| {
                    let over = [p[0], p[1], p[2] + 1.5 * f64::from(h)];
                    let inside =
                        |faces: &Vec<(V, f64)>| faces.iter().all(|(n, far)| far - dot(*n, over) > deep);
                    solids.iter().any(inside)
                })
            };
            // What is only just covered, or only just not, is left aside.
            let (surely, perhaps) = (up(1.0), up(-1.0));
            let lines =
                |role| runs(plan, role, part).iter().any(|line| off([line[0], line[1]], [p[0], p[1]]) <= 0.3);
            if surely {
                assert!(lines(Role::Hidden), "{part}: {p:?} is covered and is not drawn hidden");
                met[0] += 1;
            } else if !perhaps {
                assert!(lines(Role::Visible), "{part}: {p:?} is seen and is not drawn so");
                assert!(!lines(Role::Hidden), "{part}: {p:?} is seen and is drawn hidden");
                met[1] += 1;
            }
        }
    }
    assert!(met[0] > 0 || made.leans.front.to_degrees() + made.leans.side.to_degrees() == 0.0, "{met:?}");
    assert!(made.rungs.is_empty() != (met[1] > 0), "{met:?}");
}

/// The same points counted from their own lower left.
fn from_own_corner(points: &[P]) -> Vec<P> {
    let low = |way: usize| points.iter().map(|p| p[way]).fold(f64::INFINITY, f64::min);
    points.iter().map(|p| [p[0] - low(0), p[1] - low(1)]).collect()
}

fn view<'a>(made: &'a Base, name: &str) -> &'a View {
    made.views.iter().find(|view| view.name == name).expect("a view")
}

/// How far the far arris of a face at the foot lies up the leg from the outer arris's foot: what a maker sees as the fall of
/// the cut across that face. `side` picks the arris of the plane face or of the side face.
fn fall(made: &Base, standing: &Standing, side: bool) -> f64 {
    let (w, d) = (made.leg_section.width.to_mm(), made.leg_section.thickness.to_mm());
    let (own, far, size) = if side {
        (standing.side_face, standing.plane_face, d)
    } else {
        (standing.plane_face, standing.side_face, w)
    };
    let in_from = |face: V, corner: V| dot(face, add(standing.foot, corner, -1.0));
    let corner = standing.solid.corners[..4]
        .iter()
        .find(|c| in_from(own, **c).abs() < 1e-6 && (in_from(far, **c) - size).abs() < 1e-6)
        .expect("an arris");
    dot(standing.up, add(*corner, standing.foot, -1.0))
}

/// Everything in the drawings against the parts as they are cut and stood up.
fn drawn(made: &Base, mark: f64) {
    let legs: Vec<Standing> =
        (0..4).map(|n| leg(made, &LegCut::of(LegPlace::ALL[n], Laying::PlaneFaceDown, Way::Right))).collect();
    let flat = |c: &V, x: usize, y: usize| [c[x], c[y]];
    // Legs in elevation: nothing but their arrises, and no leg narrower than it stands.
    for (name, way, near) in [("front", 0, [0, 1]), ("side", 1, [1, 3])] {
        let view = view(made, name);
        let points: Vec<P> =
            [shapes(view, Role::Visible, "leg"), runs(view, Role::Visible, "leg")].concat().concat();
        let built: Vec<P> =
            near.iter().flat_map(|n| legs[*n].solid.corners.iter().map(|c| flat(c, way, 2))).collect();
        for point in &points {
            assert!(built.iter().any(|b| apart(*b, *point) <= mark), "{name}: {point:?} in {built:?}");
        }
        for n in near {
            for end in [&legs[n].solid.corners[..4], &legs[n].solid.corners[4..]] {
                let wide = |c: &&V| c[way];
                let by = |a: &&V, b: &&V| wide(a).total_cmp(&wide(b));
                for outermost in [end.iter().min_by(by), end.iter().max_by(by)].into_iter().flatten() {
                    let outermost = flat(outermost, way, 2);
                    assert!(points.iter().any(|p| apart(*p, outermost) <= mark), "{name}: {outermost:?}");
                }
            }
        }
    }
    let plan = view(made, "plan");
    for (n, place) in LegPlace::ALL.into_iter().enumerate() {
        let corners = legs[n].solid.corners.map(|c| flat(&c, 0, 1));
        let ring = |from: usize| -> Vec<[P; 2]> {
            let order = round(&corners[from..from + 4]);
            (0..4).map(|i| [order[i], order[(i + 1) % 4]]).collect()
        };
        traces(plan, &format!("foot {}", place.letters()), &ring(0), mark);
        traces(plan, &format!("top end {}", place.letters()), &ring(4), mark);
        let arrises: Vec<[P; 2]> = (0..4).map(|i| [corners[i + 4], corners[i]]).collect();
        if arrises.iter().any(|[a, b]| apart(*a, *b) > mark) {
            traces(plan, &format!("leg {}", place.letters()), &arrises, mark);
        }
        // Its letters stand beyond the outermost corner of its foot, within a leg's breadth of it.
        let letters = plan.notes.iter().find(|note| note.text == place.letters()).expect("its letters");
        let outermost =
            corners[..4].iter().max_by(|a, b| trig::hypot(a[0], a[1]).total_cmp(&trig::hypot(b[0], b[1])));
        let [x, y] = *outermost.expect("a corner");
        assert!(apart([letters.at.x, letters.at.y], [x, y]) <= made.leg_section.thickness.to_mm());
        assert!(letters.at.x.abs() > x.abs() && letters.at.y.abs() > y.abs(), "{letters:?}");
    }
    // A leg of hand one, and all four for marking: each face on the side it has, its ends falling as they are cut.
    let [w, d] = [made.leg_section.width.to_mm(), made.leg_section.thickness.to_mm()];
    let one = view(made, "leg");
    let faces = |part: &str| shapes(one, Role::Visible, part).concat();
    let (plane, side) = (faces("plane face"), faces("side face"));
    let falls = [fall(made, &legs[0], false), fall(made, &legs[0], true)];
    for (face, breadth, fall) in [(&plane, w, falls[0]), (&side, -d, falls[1])] {
        let xs = face.iter().map(|p| p[0]);
        let outer = if breadth > 0.0 {
            xs.fold(f64::INFINITY, f64::min)
        } else {
            xs.fold(f64::NEG_INFINITY, f64::max)
        };
        let at = |x: f64| {
            let mut ys: Vec<f64> = face.iter().filter(|p| (p[0] - x).abs() < 1e-9).map(|p| p[1]).collect();
            ys.sort_by(f64::total_cmp);
            ys
        };
        let (near, far) = (at(outer), at(outer + breadth));
        assert!(near.len() == 2 && far.len() == 2, "{face:?}");
        assert!(
            (far[0] - near[0] - fall).abs() <= mark && (far[1] - near[1] - fall).abs() <= mark,
            "{face:?} {fall}"
        );
    }
    assert!(plane.iter().all(|p| side.iter().all(|s| s[0] < p[0])), "the side face is to the left");
    let marking = view(made, "marking");
    let (planes, sides) =
        (shapes(marking, Role::Visible, "plane face"), shapes(marking, Role::Visible, "side face"));
    assert_eq!((planes.len(), sides.len()), (4, 4));
    for (n, place) in LegPlace::ALL.into_iter().enumerate() {
        let (plane, side) = (&planes[n], &sides[n]);
        let middle = |face: &[P]| face.iter().map(|p| p[0]).sum::<f64>() / 4.0;
        // Seen from outside, hand one has its side face on the left of its plane face.
        assert_eq!(middle(side) < middle(plane), place.hand() == Hand::One, "{place:?}");
        let shared = plane.iter().filter(|p| side.iter().any(|s| apart(**p, *s) < 1e-9)).count();
        assert_eq!(shared, 2, "the arris that both faces have");
        for (face, breadth) in [(plane, w), (side, d)] {
            let width = face.iter().map(|p| (p[0] - face[0][0]).abs()).fold(0.0, f64::max);
            assert!((width - breadth).abs() < 1e-9, "{face:?}");
        }
        // The pencil lines stand on the face across which the cuts fall, near its two ends; they are drawn steeper than the
        // cuts are, but the right way, and level where the cut is square.
        let on_plane = falls[0] > 1e-6 || falls[1] <= 1e-6;
        let (marked, fall) = if on_plane { (plane, falls[0]) } else { (side, falls[1]) };
        let lines = &runs(marking, Role::Mark, "line of the cut")[2 * n..2 * n + 2];
        for (line, end) in lines.iter().zip([marked[0][1], marked[2][1]]) {
            let (arris, far) = (line[0], line[1]);
            assert!(
                (arris[0] - marked[0][0]).abs() < 1e-9 && (far[0] - marked[1][0]).abs() < 1e-9,
                "{line:?}"
            );
            assert!((arris[1] - end).abs() < w.max(d) && (far[1] - end).abs() < w.max(d), "{line:?}");
            let drawn = far[1] - arris[1];
            assert!(if fall > 1e-6 { drawn > fall } else { drawn.abs() < 1e-9 }, "{line:?} {fall}");
        }
        let within = |x: f64| {
            plane.iter().chain(side).any(|p| p[0] <= x) && plane.iter().chain(side).any(|p| p[0] >= x)
        };
        let hand = if place.hand() == Hand::One { "hand one" } else { "hand two" };
        for words in [place.letters(), hand] {
            let found = marking.notes.iter().any(|note| {
                note.text == words && within(note.at.x) && plane.iter().chain(side).all(|p| p[1] < note.at.y)
            });
            assert!(found, "{words} over its own leg");
        }
    }
    for (n, rung) in made.rungs.iter().enumerate() {
        let table = rung_on_table(rung, &rung.cuts[0]);
        let stood: Vec<Solid> =
            [-1.0, 1.0].into_iter().map(|side| stand_rung(made, rung, table, side, &legs).0).collect();
        let (seen, other) = if rung.pair == RungPair::FrontAndBack {
            (("front", 0), ("side", 1))
        } else {
            (("side", 1), ("front", 0))
        };
        let face: Vec<P> = [0, 1, 4, 5].map(|i| flat(&stood[0].corners[i], seen.1, 2)).to_vec();
        shows(&rung.name, &shapes(view(made, seen.0), Role::Visible, &rung.name).concat(), &face, mark);
        let sections: Vec<P> = stood.iter().flat_map(|s| s.corners.map(|c| flat(&c, other.1, 2))).collect();
        shows(&rung.name, &shapes(view(made, other.0), Role::Hidden, &rung.name).concat(), &sections, mark);
        let edges: Vec<[P; 2]> = stood
            .iter()
            .flat_map(|s| [[1, 2], [2, 6], [6, 5], [5, 1]].map(|e| e.map(|i| flat(&s.corners[i], 0, 1))))
            .collect();
        traces(plan, &rung.name, &edges, mark);
        let own = view(made, &format!("rung-{}", n + 1));
        let outer = [0, 1, 4, 5].map(|i| flat(&table[i], 0, 1)).to_vec();
        shows("an outer face", &shapes(own, Role::Visible, "outer face").concat(), &outer, mark);
        // The top edge square on: the outer arris below, the inner one as far from it as the edge is broad.
        let across = apart(flat(&table[1], 1, 2), flat(&table[2], 1, 2));
        let edge: Vec<P> =
            [(1, 0.0), (2, across), (5, 0.0), (6, across)].map(|(i, y)| [table[i][0], y]).to_vec();
        let top = from_own_corner(&shapes(own, Role::Visible, "top edge").concat());
        shows("a top edge", &top, &from_own_corner(&edge), mark);
        let q = usize::from(rung.pair == RungPair::FrontAndBack);
        let section: Vec<P> = stood[1].corners[..4].iter().map(|c| flat(c, q, 2)).collect();
        let drawn = from_own_corner(&shapes(own, Role::Visible, "section").concat());
        shows("a section", &drawn, &from_own_corner(&section), mark);
        joint_drawn(made, n, &stood[1], &legs[3], mark);
        tenons_drawn(made, n);
    }
    seen_from_above(made, &legs);
}

/// On a rung with tenons both are drawn, square beyond its shoulders, and the rung is measured over them as well as between them.
fn tenons_drawn(made: &Base, n: usize) {
    let (rung, own) = (&made.rungs[n], view(made, &format!("rung-{}", n + 1)));
    let drawn = shapes(own, Role::Visible, "tenon");
    let JointPlan::Tenon(plan) = &made.joints[n] else { return assert!(drawn.is_empty()) };
    assert_eq!(drawn.len(), 4, "two on the face, two on the edge");
    let faces = shapes(own, Role::Visible, "outer face").concat();
    let high = faces.iter().map(|p| p[1]).fold(0.0, f64::max);
    let middle = |t: &[P]| t.iter().map(|p| p[1]).sum::<f64>() / t.len() as f64;
    let on_face: Vec<&Vec<P>> = drawn.iter().filter(|t| middle(t) < high).collect();
    assert_eq!(on_face.len(), 2);
    let tip = on_face.iter().flat_map(|t| t.iter()).map(|p| p[0].abs()).fold(0.0, f64::max);
    // No farther than a tenon whose lower corner is as low as the rung's own, no nearer than one as high as its upper.
    let long = plan.length.to_mm();
    let cos = rung.shoulder.cos();
    let [short, far] = [rung.outer.top_mm, rung.outer.bottom_mm].map(|mm| mm / 2.0 + long * cos);
    // The inner face may be the longer one.
    let far = far.max(rung.inner.bottom_mm / 2.0 + long);
    assert!(tip > short - 1.0 && tip < far + 1e-6, "{tip} in {short} to {far}");
    let says = |label: &str| {
        let found = own.dimensions.iter().find(|d| d.label.starts_with(label));
        found.unwrap_or_else(|| panic!("no {label} among {:?}", own.dimensions))
    };
    use stripwright_splay::view::Value;
    let Value::Length(whole) = says("over all").value else { panic!("a length") };
    assert!((0.0..1.0).contains(&(whole.to_mm() - 2.0 * tip)), "{whole} over {tip}");
    assert!(whole < rung.blank);
    let between = |edge: &str| says(&format!("{edge} edge, shoulder to shoulder")).value;
    assert_eq!(between("bottom"), Value::Length(rung.bottom_length));
    assert_eq!(between("top"), Value::Length(rung.top_length));
}

/// The shoulder of a rung and the inner face of the back right leg, with what is bored or cut in them.
fn joint_drawn(made: &Base, n: usize, rung: &Solid, standing: &Standing, mark: f64) {
    let (pair, joint) = (made.rungs[n].pair, &made.joints[n]);
    let bores = view(made, &format!("bores-{}", n + 1));
    let shoulder = shapes(bores, Role::Visible, "shoulder").concat();
    // Its true shape: as far from corner to corner as on the piece.
    let right = if rung.corners[0][usize::from(pair == RungPair::LeftAndRight)] > 0.0 { 0 } else { 4 };
    let pairs = |far: &dyn Fn(usize, usize) -> f64| {
        let mut all: Vec<f64> =
            (0..4).flat_map(|i| (0..i).map(move |k| (i, k))).map(|(i, k)| far(i, k)).collect();
        all.sort_by(f64::total_cmp);
        all
    };
    let drawn = pairs(&|i, k| apart(shoulder[i], shoulder[k]));
    let built = pairs(&|i, k| {
        let side = rung.side(right + i, right + k);
        dot(side, side).sqrt()
    });
    assert!(drawn.iter().zip(&built).all(|(a, b)| (a - b).abs() <= mark), "{drawn:?} {built:?}");
    let foot = &runs(bores, Role::Cut, "foot")[0];
    let front = pair == RungPair::FrontAndBack;
    let breadth = if front { made.leg_section.thickness } else { made.leg_section.width }.to_mm();
    let rise = fall(made, standing, front);
    // From the arris that it is measured from, which lies on the right, to the other side.
    assert!(
        (foot[0][0] - foot[1][0] - breadth).abs() < 1e-9 && (foot[1][1] - foot[0][1] - rise).abs() <= mark,
        "{foot:?}"
    );
    // Its top end, where it is drawn, is parallel to the foot.
    for end in runs(bores, Role::Cut, "top end") {
        assert!((end[1][1] - end[0][1] - rise).abs() <= mark, "{end:?}");
    }
    let arris = bores.notes.iter().find(|note| note.text.starts_with("arris with the")).expect("the arris");
    assert_eq!(arris.text.ends_with("plane face"), front);
    assert!((arris.at.x - foot[0][0]).abs() < 1e-9, "measured from the arris that is named");
    let [right, left] = [foot[0][0], foot[1][0]];
    assert!(shoulder.iter().all(|p| p[0] < left), "the leg is beside the shoulder");
    // The leg may be drawn shortened; then it says so, and the same length is left out of everything. It may be broken off
    // above the joint as well.
    let shortened = bores.notes.iter().any(|note| note.text == "shortened");
    let name = "inner face of the leg";
    let off = runs(bores, Role::Visible, name);
    let breaks = usize::from(shortened) + off.len();
    assert_eq!(breaks, runs(bores, Role::Ghost, "break").len());
    let face = [shapes(bores, Role::Visible, name), off].concat().concat();
    let high = face.iter().map(|p| p[1]).fold(f64::NEG_INFINITY, f64::max);
    let up_from_foot = match joint {
        JointPlan::Dowels(plan) => plan.bores[0].on_leg_up.to_mm(),
        JointPlan::Tenon(plan) => plan.on_leg_up.to_mm(),
    };
    let holes: Vec<P> = match joint {
        JointPlan::Dowels(_) => bores.circles.iter().map(|c| [c.centre.x, c.centre.y]).collect(),
        JointPlan::Tenon(_) => {
            [shapes(bores, Role::Bore, "tenon"), shapes(bores, Role::Bore, "mortise")].concat().concat()
        }
    };
    let in_leg: Vec<P> = holes.iter().filter(|p| p[0] > left).map(|p| [right - p[0], p[1]]).collect();
    let on_rung: Vec<P> = holes.iter().filter(|p| p[0] < left).copied().collect();
    let lowest = in_leg.iter().map(|p| p[1]).fold(f64::INFINITY, f64::min);
    let out = up_from_foot - lowest;
    assert!(if shortened { out > 0.0 } else { out.abs() < 1e-9 }, "{out} left out");
    let highest = in_leg.iter().map(|p| p[1]).fold(f64::NEG_INFINITY, f64::max);
    for line in runs(bores, Role::Ghost, "break") {
        let below = line.iter().all(|p| p[1] > rise && p[1] < lowest);
        assert!(below || line.iter().all(|p| p[1] > highest), "no break between the holes: {line:?}");
    }
    assert!(in_leg.iter().all(|p| p[0] > 0.0 && p[0] < breadth && p[1] < high), "holes on the face");
    faces_meet(bores, pair);
    match joint {
        JointPlan::Dowels(plan) => {
            assert!(bores.circles.iter().all(|c| c.radius == plan.diameter.to_mm() / 2.0));
            let rung: Vec<P> =
                plan.bores.iter().map(|b| [b.on_rung_in, b.on_rung_up].map(Length::to_mm)).collect();
            let leg: Vec<P> =
                plan.bores.iter().map(|b| [b.on_leg_in.to_mm(), b.on_leg_up.to_mm() - out]).collect();
            shows("bores in the rung", &on_rung, &rung, 1e-9);
            shows("bores in the leg", &in_leg, &leg, 1e-9);
        }
        JointPlan::Tenon(plan) => {
            let (t, b) = (plan.thickness.to_mm(), plan.breadth.to_mm());
            let [x, y] = [plan.on_rung_in, plan.on_rung_up].map(Length::to_mm);
            shows("a tenon", &on_rung, &[[x, y], [x + t, y], [x + t, y + b], [x, y + b]], 1e-9);
            let low = [plan.on_leg_in.to_mm(), plan.on_leg_up.to_mm() - out];
            let top = [plan.on_leg_in_top.to_mm(), plan.on_leg_up_top.to_mm() - out];
            let mortise = [low, [low[0] + t, low[1]], [top[0] + t, top[1]], top];
            shows("a mortise", &in_leg, &mortise, 1e-9);
        }
    }
}

/// Both halves say what they are, and they are faces that meet: seen from the right, a rung's right end has its outer face on the
/// left; the legs there, seen from inside the base, have their outer face on the right. Worked out from where legs stand.
fn faces_meet(bores: &View, pair: RungPair) {
    // You stand before a side of the base and look at it; to your right is the leg on the right.
    let before: [(P, P); 2] = match pair {
        RungPair::FrontAndBack => [([0.0, 1.0], [1.0, 0.0]), ([0.0, -1.0], [-1.0, 0.0])],
        RungPair::LeftAndRight => [([1.0, 0.0], [0.0, -1.0]), ([-1.0, 0.0], [0.0, 1.0])],
    };
    let corner = |side: usize, way: f64| {
        let ([look_x, look_y], [right_x, right_y]) = before[side];
        let at = [way * right_x - look_x, way * right_y - look_y];
        LegPlace::ALL.into_iter().find(|leg| signs(*leg) == at).expect("a leg").letters()
    };
    let named = |way: f64| {
        let mut legs = [corner(0, way), corner(1, way)];
        legs.sort_by_key(|letters| LegPlace::ALL.iter().position(|leg| leg.letters() == *letters));
        legs
    };
    let ([a, b], [c, d]) = (named(1.0), named(-1.0));
    let find = |words: &str| bores.notes.iter().find(|note| note.text.starts_with(words)).expect("a note");
    assert_eq!(find("right end of the rung").text, "right end of the rung");
    assert_eq!(find("inner face of legs").text, format!("inner face of legs {a}, {b}"));
    assert!(find("Right is").text.contains(&format!("{c} and {d}, are the mirror image")));
    // The outer arris of the shoulder is at its left, the arris with the leg's outer face at the right of the leg.
    let outer = find("outer arris").at.x;
    let shoulder = shapes(bores, Role::Visible, "shoulder").concat();
    assert!(shoulder.iter().all(|p| p[0] >= outer - 1e-9));
    let leg = runs(bores, Role::Cut, "foot").concat();
    assert!(leg.iter().all(|p| p[0] <= find("arris with the").at.x + 1e-9));
}

/// Drawings with dowels and tenons, rungs that lean with the legs and plumb ones, a leg that is no square.
#[test]
fn what_is_drawn_is_what_is_built() {
    for (a, b) in [(12.0, 6.0), (6.0, 14.0), (0.0, 9.0), (9.0, 0.0), (0.0, 0.0)] {
        for joint in [
            Joint::Dowels { diameter: None, length: None, count: None },
            Joint::Tenon { length: None, thickness: None },
        ] {
            let leg = Section { width: mm(44), thickness: mm(34) };
            let rung = |pair, height| RungSpec {
                set_in: mm(3),
                ..RungSpec::usual(pair, mm(height), leg, Length::from_um(500))
            };
            let rungs = vec![
                rung(RungPair::FrontAndBack, 45),
                rung(RungPair::LeftAndRight, 300),
                RungSpec { stance: Stance::Plumb, edges: Edges::Square, ..rung(RungPair::FrontAndBack, 400) },
                RungSpec { edges: Edges::Square, ..rung(RungPair::LeftAndRight, 500) },
            ];
            let made = base(&BaseSpec { leg, joint, ..stool(a, b, rungs) }).expect("a stool");
            drawn(&made, 1.0);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 300, ..ProptestConfig::default() })]

    /// Whatever base the crate accepts goes together.
    #[test]
    fn bases_go_together_from_what_is_printed(
        a in 0.0..20.0f64,
        b in 0.0..20.0f64,
        height in 350i64..900,
        spread in (220i64..420, 220i64..420),
        leg in (28i64..46, 28i64..46),
        rungs in prop::collection::vec((any::<bool>(), 90i64..330, 24i64..50, 15i64..24, 0i64..4, any::<bool>(), any::<bool>()), 0..4),
        tenon in any::<bool>(),
        mark in prop::sample::select(vec![Length::from_um(500), Length::from_nm(793_750), Length::from_um(250)]),
    ) {
        let rungs = rungs
            .into_iter()
            .map(|(front, height, width, thickness, set_in, plumb, square)| RungSpec {
                pair: if front { RungPair::FrontAndBack } else { RungPair::LeftAndRight },
                height: mm(height),
                section: Section { width: mm(width), thickness: mm(thickness) },
                set_in: mm(set_in),
                stance: if plumb { Stance::Plumb } else { Stance::InPlane },
                edges: if square { Edges::Square } else { Edges::Level },
            })
            .collect();
        let mut spec = BaseSpec {
            height: Some(Height::Underside(mm(height))),
            top_spread: Some(Spread { width: mm(spread.0), depth: mm(spread.1) }),
            leg: Section { width: mm(leg.0), thickness: mm(leg.1) },
            ..stool(a, b, rungs)
        };
        spec.shop.mark = mark;
        if tenon {
            spec.joint = Joint::Tenon { length: None, thickness: None };
        }
        match base(&spec) {
            Ok(made) => {
                assemble(&made, mark.to_mm());
            }
            // Overlapping levels, clashing joints and ends too small for a joint are refused, and in words.
            Err(refusals) => {
                prop_assert!(!refusals.is_empty());
                for refusal in refusals {
                    prop_assert!(refusal.key.starts_with("rungs["), "{refusal}");
                    prop_assert!(refusal.message.ends_with('.'), "{refusal}");
                }
            }
        }
    }
}
