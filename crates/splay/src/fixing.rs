//! Screws up into the top, and where the base goes under it.

use stripwright_units::{Angle, Length, System};

use crate::bar::{Bar, Corner};
use crate::joint::JointPlan;
use crate::leg::LegPlace;
use crate::rung::{Rung, RungPair};
use crate::shape::{Shape, about, to_mark};
use crate::spec::{BaseSpec, Fixing, Outline, Refusal, Spread, Wood};

/// Screws up into the top.
#[derive(Clone, Debug, PartialEq)]
pub struct Fixings {
    /// Screw number.
    pub number: u32,
    /// How many for one base.
    pub count: u32,
    /// The longest that keeps the cover.
    pub longest: Length,
    /// The longest stocked length not above that.
    pub length: Length,
    /// How much of it is in the top.
    pub bite: Length,
    /// Pilot drill in the top (T68).
    pub pilot: Length,
    /// Clearance drill in the rail (T68).
    pub clearance: Length,
    /// Wood between the sunk head and the underside of the top.
    pub through: Length,
    /// Whether they go through rails (rungs that touch the top) and not through cleats.
    pub in_rails: bool,
    /// The cleats, where they go through some.
    pub cleats: Vec<Cleat>,
    /// The screws that hold the cleats of one base: how many, and how long.
    pub cleat_screws: Option<(u32, Length)>,
    /// The rows they stand in, each on two opposite sides.
    pub rows: Vec<ScrewRow>,
    /// Where they enter the top.
    pub screws: Vec<Screw>,
}

/// A cleat on each of two opposite sides, as broad as it is thick where the top lies on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Cleat {
    /// On which two sides.
    pub pair: RungPair,
    /// Its thickness, and its breadth at the top, in millimetres.
    pub thickness: f64,
    /// How broad its stock is: as broad, and what is planed off to a leaning rung.
    pub breadth: Length,
    /// Its length.
    pub length: Length,
    /// From the centre out to its middle, in millimetres.
    pub out: f64,
    /// The rung along whose inside it lies, and how far that leans; none where it lies between the legs.
    pub rung: Option<(String, Angle)>,
}

/// Screws along one pair of rails or cleats.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScrewRow {
    /// On which two sides.
    pub pair: RungPair,
    /// From the centre out to the row.
    pub out: Length,
    /// From the other centre line along the row, each distance to both sides and in order; zero is a screw on that line.
    pub along: Vec<Length>,
}

/// One screw, by its place under the top, from the centre of the base.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Screw {
    /// To the right of the centre (left is negative).
    pub x: Length,
    /// Behind the centre (front is negative).
    pub y: Length,
}

/// Where to mark the underside of the top so that the base comes central.
#[derive(Clone, Debug, PartialEq)]
pub struct Centring {
    /// From the centre to the line over the left legs' outer corners.
    pub left: Length,
    /// To the right legs'.
    pub right: Length,
    /// To the front legs'.
    pub front: Length,
    /// To the back legs'.
    pub back: Length,
    /// From the centre to an outer corner of a leg.
    pub corner: Length,
    /// From the rim in to those lines, along the centre lines: at the left, right, front and back. Not above zero where
    /// the rim lies inside the line.
    pub rims: [Length; 4],
    /// True when every leg's whole end is under the top.
    pub under: bool,
    /// The legs whose ends are not.
    pub out: Vec<LegPlace>,
    /// Outer corner of each leg's top end from the centre: (leg, to the right, to the back).
    pub corners: Vec<(LegPlace, Length, Length)>,
}

/// The four offsets from the top's centre lines.
pub(crate) fn centring(shape: &Shape, outline: &Outline, mark: Length) -> Centring {
    let [x, y] = shape.half;
    let (half_x, half_y) = (to_mark(x, mark), to_mark(y, mark));
    let [left, right, front, back] = outline.rims();
    let rims = [left - x, right - x, front - y, back - y].map(|mm| to_mark(mm, mark));
    let stands_out =
        |leg: &LegPlace| !shape.section_at(*leg, shape.h).into_iter().all(|corner| outline.holds(corner));
    let out: Vec<LegPlace> = LegPlace::ALL.into_iter().filter(stands_out).collect();
    let corners = LegPlace::ALL
        .into_iter()
        .map(|leg| {
            let [sx, sy] = leg.signs();
            (leg, half_x * sx as i64, half_y * sy as i64)
        })
        .collect();
    Centring {
        left: half_x,
        right: half_x,
        front: half_y,
        back: half_y,
        rims,
        corner: to_mark((x * x + y * y).sqrt(), mark),
        under: out.is_empty(),
        out,
        corners,
    }
}

/// Wood that must stay between a head and the top: six millimetres (common practice, no source).
const LEAST_GRIP: f64 = 6.0;
/// Neighbouring screws stand so many times their thickness apart at least (common practice, no source).
const LEAST_APART: f64 = 5.0;
/// Wood that must stay between a screw and a joint's hole: as between two holes.
const LEAST_WALL: f64 = 2.0;

/// Pilot and clearance drills in 64ths of an inch (T68, plate 6B, glenlarchive.com, verified; sound rows only).
fn drills(number: u32, wood: Wood) -> Option<[i64; 2]> {
    let (hard, soft, clear) = match number {
        8 => (7, 5, 11),
        9 => (7, 5, 12),
        10 => (8, 6, 12),
        _ => return None,
    };
    Some([if wood == Wood::Hard { hard } else { soft }, clear])
}

/// Wood screw lengths that are sold, short to long (common practice, no source).
fn stocked(system: System) -> Vec<Length> {
    match system {
        System::Metric => {
            [16, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 120].map(Length::from_mm).to_vec()
        }
        System::Inch => [4, 5, 6, 7, 8, 10, 12, 14, 16, 18, 20, 24, 28, 32]
            .map(|eighths| Length::from_nm(Length::INCH.nm() / 8 * eighths))
            .to_vec(),
    }
}

/// Screws through the rails (rungs whose top edge touches the top) or through cleats, or why they cannot be.
pub(crate) fn fixings(
    spec: &BaseSpec,
    shape: &Shape,
    rungs: &[(Rung, Bar)],
    joints: &[JointPlan],
    warnings: &mut Vec<String>,
) -> Result<Option<Fixings>, Vec<Refusal>> {
    let Some(fixing) = spec.fixing else { return Ok(None) };
    let system = spec.shop.system;
    let fault = |key: &str, message: String| vec![Refusal::new(key, message, system)];
    let Some(top) = &spec.top else {
        let text =
            "Screws need the top's thickness so that none comes through; give `top` or `top_thickness`.";
        return Err(vec![Refusal { unsaid: true, ..Refusal::new("fixing", text.to_string(), system) }]);
    };
    let Some([pilot, clearance]) = drills(fixing.number, fixing.wood) else {
        return Err(fault(
            "fixing.number",
            format!(
                "There is no sound pilot hole on record for screws no. {}; give 8, 9 or 10.",
                fixing.number
            ),
        ));
    };
    if !(1..=20).contains(&fixing.each) {
        return Err(fault(
            "fixing.each",
            format!("{} screws in each rail or cleat; give 1 to 20.", fixing.each),
        ));
    }
    let rails: Vec<(&Bar, Option<&JointPlan>)> = rungs
        .iter()
        .enumerate()
        .map(|(n, (_, bar))| (bar, joints.get(n)))
        .filter(|(bar, _)| is_rail(spec, shape, bar))
        .collect();
    let Some((through, lean_cos)) = passed(&fixing, &rails) else {
        return Err(fault(
            "fixing.through",
            format!(
                "Nothing reaches the top for a screw to pass through; add rungs whose `height` is that of the base, {}, or give `through`, \
                 the thickness of cleats.",
                about(shape.h, system)
            ),
        ));
    };
    let grip = through - fixing.sunk.to_mm();
    if grip < LEAST_GRIP {
        return Err(fault(
            "fixing.sunk",
            format!(
                "Sinking the heads by {} leaves {} of the {} that the screws pass through, and {} must stay: give `sunk` at most {}.",
                fixing.sunk.show(system),
                if grip > 0.0 { about(grip, system) } else { "nothing".to_string() },
                about(through, system),
                about(LEAST_GRIP, system),
                Length::nearest_mm((through - LEAST_GRIP).max(0.0)).floor_to(spec.shop.mark).show(system)
            ),
        ));
    }
    let shank = shank_mm(fixing.number);
    let choice = Choice { fixing: &fixing, lean_cos, mark: spec.shop.mark, system };
    let (longest, length) = choice.longest(top.thickness.to_mm(), grip);
    let Some(length) = length else {
        return Err(fault(
            "fixing",
            format!(
                "No screw that is sold both holds and stays inside the top: it passes through {}, the top is {} thick with {} kept as \
                 cover, so the longest that fits is {}, and it must go in more than {}. {}",
                about(grip, system),
                top.thickness.show(system),
                fixing.cover.show(system),
                longest.show(system),
                about(2.0 * shank, system),
                choice.remedy(top.thickness.to_mm(), grip)
            ),
        ));
    };
    let bite = length.to_mm() - grip;
    let cleats = fixing.through.map_or_else(Vec::new, |thick| cleats(spec, shape, rungs, thick.to_mm()));
    if let Some(cleat) = cleats.iter().find(|c| c.length.to_mm() < c.thickness || c.out < c.thickness / 2.0) {
        return Err(fault(
            "fixing.through",
            format!(
                "Cleats of {} find no room beside each other at {}: give thinner ones as `through`, or spread the legs further.",
                about(cleat.thickness, system),
                cleat.pair.name()
            ),
        ));
    }
    crowded(spec, &fixing, shape, rungs, joints, &cleats)?;
    if bite < 4.0 * shank {
        warnings.push(format!(
            "The screws go only {} into the top; that is under four times their own thickness, so they hold little.",
            about(bite, system)
        ));
    }
    // T70.
    warnings.push(
        "Let the top move: drill the clearance holes long across the strips, or use buttons; screws into plywood edges hold less \
         than in solid wood."
            .to_string(),
    );
    let rows = rows(&rails, &cleats, &fixing, spec.shop.mark);
    let cleat_screws = cleat_screws(&cleats, rungs, system);
    if let (Some(cleat), None) = (cleats.first(), cleat_screws) {
        return Err(fault(
            "fixing.through",
            format!(
                "Cleats of {} are too thin for any screw that is sold to hold them; give thicker ones as `through`.",
                about(cleat.thickness, system)
            ),
        ));
    }
    let screws: Vec<Screw> = rows.iter().flat_map(places).collect();
    let misses = |screw: &&Screw| {
        top.outline.as_ref().is_some_and(|outline| !outline.holds([screw.x.to_mm(), screw.y.to_mm()]))
    };
    let outside = screws.iter().filter(misses).count();
    if outside > 0 {
        return Err(fault(
            "top_spread",
            format!(
                "{outside} of {} screws would stand outside of the top; set the legs closer together, or give a larger top.",
                screws.len()
            ),
        ));
    }
    let sixty_fourth = Length::from_nm(396_875);
    Ok(Some(Fixings {
        number: fixing.number,
        count: screws.len() as u32,
        longest,
        length,
        bite: to_mark(bite, spec.shop.mark),
        pilot: sixty_fourth * pilot,
        clearance: sixty_fourth * clearance,
        through: to_mark(grip, spec.shop.mark),
        in_rails: fixing.through.is_none(),
        cleats,
        cleat_screws,
        rows,
        screws,
    }))
}

/// What the length of a screw is chosen by, besides what it passes through and the thickness of the top.
struct Choice<'a> {
    fixing: &'a Fixing,
    lean_cos: f64,
    mark: Length,
    system: System,
}

impl Choice<'_> {
    /// The longest screw that keeps the cover, and the longest of those sold, if it holds.
    fn longest(&self, thick: f64, grip: f64) -> (Length, Option<Length>) {
        let room = (thick - self.fixing.cover.to_mm()).max(0.0);
        let longest = Length::nearest_mm(grip + room / self.lean_cos).floor_to(self.mark);
        let length = stocked(self.system).into_iter().rev().find(|l| *l <= longest);
        (longest, length.filter(|l| l.to_mm() - grip > 2.0 * shank_mm(self.fixing.number)))
    }

    /// What would do where no screw does, tried mark by mark: heads sunk deeper, then a thicker top.
    fn remedy(&self, thick: f64, grip: f64) -> String {
        let shown = |mm: f64| about(mm, self.system);
        let holds = |thick, grip| self.longest(thick, grip).1.is_some();
        let steps = || (1..=2000).map(|n| f64::from(n) * self.mark.to_mm());
        let deeper = steps().take_while(|by| grip - by >= LEAST_GRIP).find(|by| holds(thick, grip - by));
        let deeper = deeper
            .map(|by| format!("`sunk` of {} ({} more)", shown(self.fixing.sunk.to_mm() + by), shown(by)));
        let thicker = steps().find(|by| holds(thick + by, grip));
        let thicker = thicker.map(|by| format!("a top of {} ({} more)", shown(thick + by), shown(by)));
        let said: Vec<String> = deeper.into_iter().chain(thicker).collect();
        if said.is_empty() {
            "Use buttons instead, or another way through.".to_string()
        } else {
            format!("It would do with {}.", said.join(" or "))
        }
    }
}

/// How far a screw keeps from the end of a rail: clear of the dowels in it. Tenons stand out of the rail.
fn clear_of_joint(joint: Option<&JointPlan>, shank: f64) -> f64 {
    let hole = match joint {
        Some(JointPlan::Dowels(plan)) => plan.hole.to_mm(),
        _ => 0.0,
    };
    hole + shank / 2.0 + LEAST_WALL
}

/// Screws must keep clear of each other by five times their thickness (common practice, no source), or the rail or cleat splits;
/// in a rail they keep clear of the joints in its ends too.
fn crowded(
    spec: &BaseSpec,
    fixing: &Fixing,
    shape: &Shape,
    rungs: &[(Rung, Bar)],
    joints: &[JointPlan],
    cleats: &[Cleat],
) -> Result<(), Vec<Refusal>> {
    let (shank, system) = (shank_mm(fixing.number), spec.shop.system);
    let apart = LEAST_APART * shank;
    let refused = |most: u32, found: String| {
        let change = match most {
            0 => "screw through cleats instead, and give their thickness as `through`".to_string(),
            1 => "give `each` 1".to_string(),
            most => format!("give `each` at most {most}"),
        };
        let text = format!("{found}, and screws stand at least {} apart; {change}.", about(apart, system));
        Err(vec![Refusal::new("fixing.each", text, system)])
    };
    let rails: Vec<_> = rungs.iter().zip(joints).filter(|((_, bar), _)| is_rail(spec, shape, bar)).collect();
    // Cleats have no joints: screws stand half a space from their ends.
    if let Some(length) = cleats.iter().map(|c| c.length.to_mm()).reduce(f64::min) {
        let most = ((length / apart + 1e-9) as u32).max(1);
        if fixing.each > most {
            let found = format!(
                "{} screws find no room in a cleat {} long: they would stand {} apart",
                fixing.each,
                about(length, system),
                about(length / f64::from(fixing.each), system)
            );
            return refused(most, found);
        }
        return Ok(());
    }
    // The rail with the least room decides, as all take as many.
    let room = |((rung, bar), joint): &(&(Rung, Bar), &JointPlan)| {
        let free = shortest_at_top(bar) - 2.0 * clear_of_joint(Some(joint), shank);
        let most = if free < 0.0 { 0 } else { 1 + (free / apart) as u32 };
        (most, free, rung.name.clone())
    };
    match rails.iter().map(room).min_by_key(|(most, ..)| *most) {
        Some((most, free, name)) if fixing.each > most => {
            let free = if free < 0.0 { "none".to_string() } else { about(free, system) };
            let found = format!(
                "{} screws find no room in the {name}: between the joints in its ends {free} are free",
                fixing.each
            );
            refused(most, found)
        }
        _ => Ok(()),
    }
}

/// Whether a rung touches the top, so that screws may go up through it.
fn is_rail(spec: &BaseSpec, shape: &Shape, bar: &Bar) -> bool {
    (bar.top - shape.h).abs() < spec.shop.mark.to_mm()
}

/// Shank of a wood screw: 0.060 + 0.013 n inches (T68, from memory).
fn shank_mm(number: u32) -> f64 {
    (0.060 + 0.013 * f64::from(number)) * 25.4
}

/// What a screw passes through, and the cosine of its lean: through a rail it runs parallel to the rail's face.
fn passed(fixing: &Fixing, rails: &[(&Bar, Option<&JointPlan>)]) -> Option<(f64, f64)> {
    if let Some(through) = fixing.through {
        return Some((through.to_mm(), 1.0));
    }
    let thinnest = rails.iter().map(|(r, _)| r.breadth).fold(f64::INFINITY, f64::min);
    let least_lean = rails.iter().map(|(r, _)| r.lean.cos()).fold(0.0, f64::max);
    (!rails.is_empty()).then_some((thinnest, least_lean))
}

/// Cleats so thick: along the inside of every rung that reaches up beside half of their height at least, so that they lie clear
/// of it and it holds them; where there is none, between the legs at front and back. They are no longer than the legs leave
/// room at the top, and those at left and right end at those at front and back.
fn cleats(spec: &BaseSpec, shape: &Shape, rungs: &[(Rung, Bar)], thickness: f64) -> Vec<Cleat> {
    let mark = spec.shop.mark;
    let cleat = |pair, out: f64, length: f64, rung: Option<(String, Angle)>| {
        let planed = rung.as_ref().map_or(0.0, |(_, lean)| thickness * lean.tan().abs());
        Cleat {
            pair,
            thickness,
            breadth: Length::ceil_mm(thickness + planed, mark),
            length: Length::nearest_mm(length.min(between_legs(shape, pair, thickness)).max(0.0))
                .floor_to(mark),
            out,
            rung,
        }
    };
    let mut all: Vec<Cleat> = Vec::new();
    for pair in [RungPair::FrontAndBack, RungPair::LeftAndRight] {
        let beside = rungs.iter().filter(|(_, bar)| bar.pair == pair && bar.top > shape.h - thickness / 2.0);
        let Some((rung, bar)) = beside.max_by(|a, b| a.1.top.total_cmp(&b.1.top)) else { continue };
        let [inner, _] = bar.corner(Corner::InnerTop);
        let out = inner - thickness / 2.0;
        let between = all.first().map_or(f64::INFINITY, |other| 2.0 * other.out - thickness);
        all.push(cleat(pair, out, shortest_at_top(bar).min(between), Some((rung.name.clone(), bar.lean))));
    }
    if all.is_empty() {
        let [outer, _, inmost, _] = shape.section_at(LegPlace::BackRight, shape.h);
        let out = (outer[1] + inmost[1]) / 2.0;
        all.push(cleat(RungPair::FrontAndBack, out, f64::INFINITY, None));
    }
    all
}

/// The screws of a cleat stand at most so far apart, in millimetres, and there are two at least (common practice, no source).
const CLEAT_SCREWS_APART: f64 = 200.0;

/// What holds the cleats of one base besides glue: the longest screws sold that end within three quarters of the rung behind
/// a cleat; where it lies between legs, one on the slant through each end, no longer than one and a half times its
/// thickness (common practice, no source).
fn cleat_screws(cleats: &[Cleat], rungs: &[(Rung, Bar)], system: System) -> Option<(u32, Length)> {
    let behind = |cleat: &Cleat| {
        let (name, _) = cleat.rung.as_ref()?;
        rungs.iter().find(|(rung, _)| rung.name == *name).map(|(_, bar)| 0.75 * bar.thickness)
    };
    let each = |cleat: &Cleat| match cleat.rung {
        Some(_) => (cleat.length.to_mm() / CLEAT_SCREWS_APART).ceil().max(2.0) as u32,
        None => 2,
    };
    let longest = |cleat: &Cleat| cleat.thickness + behind(cleat).unwrap_or(cleat.thickness / 2.0);
    let most = cleats.iter().map(longest).reduce(f64::min)?;
    let length = stocked(system).into_iter().rev().find(|l| l.to_mm() <= most)?;
    Some((cleats.iter().map(|cleat| 2 * each(cleat)).sum(), length))
}

/// Evenly along each rail or cleat, half a space from its ends and clear of the joints in a rail.
fn rows(
    rails: &[(&Bar, Option<&JointPlan>)],
    cleats: &[Cleat],
    fixing: &Fixing,
    mark: Length,
) -> Vec<ScrewRow> {
    let row = |pair: RungPair, out: f64, length: f64, clear: f64| {
        let each = f64::from(fixing.each);
        let end = (length / (2.0 * each)).max(clear);
        let place = |i| {
            if fixing.each == 1 {
                0.0
            } else {
                end + (length - 2.0 * end) * f64::from(i) / (each - 1.0) - length / 2.0
            }
        };
        let along = (fixing.each / 2..fixing.each).map(|i| to_mark(place(i), mark)).collect();
        ScrewRow { pair, out: to_mark(out, mark), along }
    };
    if !cleats.is_empty() {
        return cleats.iter().map(|c| row(c.pair, c.out, c.length.to_mm(), 0.0)).collect();
    }
    let rail = |(rail, joint): &(&Bar, Option<&JointPlan>)| {
        let ([outer, _], [inner, _]) = (rail.corner(Corner::OuterTop), rail.corner(Corner::InnerTop));
        let clear = clear_of_joint(*joint, shank_mm(fixing.number));
        row(rail.pair, (outer + inner) / 2.0, shortest_at_top(rail), clear)
    };
    rails.iter().map(rail).collect()
}

/// The room between the legs of one side at the top, over so much of their height: how long a cleat can be there.
fn between_legs(shape: &Shape, pair: RungPair, thickness: f64) -> f64 {
    let axis = usize::from(pair == RungPair::LeftAndRight);
    let corners = [shape.h, shape.h - thickness].map(|z| shape.section_at(LegPlace::BackRight, z));
    2.0 * corners.as_flattened().iter().map(|corner| corner[axis]).fold(f64::INFINITY, f64::min)
}

fn shortest_at_top(rail: &Bar) -> f64 {
    rail.length(Corner::InnerTop).min(rail.length(Corner::OuterTop))
}

/// Every screw of a row: on both its sides, and to both sides of the centre line.
fn places(row: &ScrewRow) -> Vec<Screw> {
    let along = row.along.iter().flat_map(|a| if *a == Length::ZERO { vec![*a] } else { vec![-*a, *a] });
    along
        .flat_map(|along| {
            [-row.out, row.out].map(|out| match row.pair {
                RungPair::FrontAndBack => Screw { x: along, y: out },
                RungPair::LeftAndRight => Screw { x: out, y: along },
            })
        })
        .collect()
}

/// Spread as set out with the mark.
pub(crate) fn spread(half: [f64; 2], mark: Length) -> Spread {
    Spread { width: to_mark(2.0 * half[0], mark), depth: to_mark(2.0 * half[1], mark) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn screws_are_sold_in_eighths_of_an_inch() {
        let inches: Vec<String> = stocked(System::Inch).iter().map(|length| length.inch_digits()).collect();
        assert_eq!(
            inches,
            [
                "1/2", "5/8", "3/4", "7/8", "1", "1 1/4", "1 1/2", "1 3/4", "2", "2 1/4", "2 1/2", "3",
                "3 1/2", "4"
            ]
        );
        assert!(stocked(System::Metric).windows(2).all(|two| two[0] < two[1]));
    }
}
