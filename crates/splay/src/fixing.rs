//! Screws up into the top, and where the base goes under it.

use stripwright_units::{Length, System};

use crate::bar::{Bar, Corner};
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
    /// The rows they stand in, each on two opposite sides.
    pub rows: Vec<ScrewRow>,
    /// Where they enter the top.
    pub screws: Vec<Screw>,
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
    /// Outer corner of each leg's top end from the centre: (leg, to the right, to the back).
    pub corners: Vec<(LegPlace, Length, Length)>,
}

/// The four offsets from the top's centre lines.
pub(crate) fn centring(shape: &Shape, outline: &Outline, mark: Length) -> Centring {
    let [x, y] = shape.half;
    let (half_x, half_y) = (to_mark(x, mark), to_mark(y, mark));
    let [left, right, front, back] = outline.rims();
    let rims = [left - x, right - x, front - y, back - y].map(|mm| to_mark(mm, mark));
    let under = LegPlace::ALL
        .into_iter()
        .all(|leg| shape.section_at(leg, shape.h).into_iter().all(|corner| outline.holds(corner)));
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
        under,
        corners,
    }
}

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
    warnings: &mut Vec<String>,
) -> Result<Option<Fixings>, Vec<Refusal>> {
    let Some(fixing) = spec.fixing else { return Ok(None) };
    let fault = |key: &str, message: String| vec![Refusal { key: key.to_string(), message }];
    let system = spec.shop.system;
    let Some(top) = &spec.top else {
        return Err(fault(
            "fixing",
            "Screws need the top's thickness so that none comes through; give `top`.".to_string(),
        ));
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
    let rails: Vec<&Bar> = rungs
        .iter()
        .map(|(_, bar)| bar)
        .filter(|bar| (bar.top - shape.h).abs() < spec.shop.mark.to_mm())
        .collect();
    let Some((through, lean_cos)) = passed(&fixing, &rails) else {
        return Err(fault(
            "fixing.through",
            "Nothing reaches the top for a screw to pass through; add rungs whose height is the base's height, or give \
             `through`, the thickness of the cleats."
                .to_string(),
        ));
    };
    let grip = through - fixing.sunk.to_mm();
    if grip < 6.0 {
        return Err(fault(
            "fixing.sunk",
            format!(
                "Sinking the heads by {} leaves only {} of the {} that the screws pass through; leave at least {}.",
                fixing.sunk.show(system),
                about(grip, system),
                about(through, system),
                about(6.0, system)
            ),
        ));
    }
    let room = top.thickness.to_mm() - fixing.cover.to_mm();
    let longest = Length::nearest_mm(grip + room.max(0.0) / lean_cos).floor_to(spec.shop.mark);
    let shank = shank_mm(fixing.number);
    let length = stocked(system).into_iter().rev().find(|l| *l <= longest);
    let bite = length.map_or(0.0, |l| l.to_mm() - grip);
    let Some(length) = length.filter(|_| bite > 2.0 * shank) else {
        return Err(fault(
            "fixing",
            format!(
                "No stocked screw both holds and stays inside the top: it passes through {}, the top is {} thick \
                 with {} kept as cover, and the longest that fits is {}. Sink the heads deeper, or use thinner rails or cleats, \
                 so that a screw goes in at least {}.",
                about(grip, system),
                top.thickness.show(system),
                fixing.cover.show(system),
                longest.show(system),
                about(2.0 * shank, system)
            ),
        ));
    };
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
    let rows = rows(shape, &rails, &fixing, spec.shop.mark);
    let screws: Vec<Screw> = rows.iter().flat_map(places).collect();
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
        rows,
        screws,
    }))
}

/// Shank of a wood screw: 0.060 + 0.013 n inches (T68, from memory).
fn shank_mm(number: u32) -> f64 {
    (0.060 + 0.013 * f64::from(number)) * 25.4
}

/// What a screw passes through, and the cosine of its lean: through a rail it runs parallel to the rail's face.
fn passed(fixing: &Fixing, rails: &[&Bar]) -> Option<(f64, f64)> {
    if let Some(through) = fixing.through {
        return Some((through.to_mm(), 1.0));
    }
    let thinnest = rails.iter().map(|r| r.breadth).fold(f64::INFINITY, f64::min);
    let least_lean = rails.iter().map(|r| r.lean.cos()).fold(0.0, f64::max);
    (!rails.is_empty()).then_some((thinnest, least_lean))
}

/// Evenly along each rail, half a space from its ends; without rails, along cleats set between the legs at front and back.
fn rows(shape: &Shape, rails: &[&Bar], fixing: &Fixing, mark: Length) -> Vec<ScrewRow> {
    let row = |pair: RungPair, out: f64, length: f64| {
        let place = |i| length * ((f64::from(i) + 0.5) / f64::from(fixing.each) - 0.5);
        let along = (fixing.each / 2..fixing.each).map(|i| to_mark(place(i), mark)).collect();
        ScrewRow { pair, out: to_mark(out, mark), along }
    };
    if fixing.through.is_some() || rails.is_empty() {
        let [outer, inner, inmost, _] = shape.section_at(LegPlace::BackRight, shape.h);
        let between = 2.0 * inner[0].min(inmost[0]);
        return vec![row(RungPair::FrontAndBack, (outer[1] + inmost[1]) / 2.0, between)];
    }
    rails
        .iter()
        .map(|rail| {
            let ([outer, _], [inner, _]) = (rail.corner(Corner::OuterTop), rail.corner(Corner::InnerTop));
            row(rail.pair, (outer + inner) / 2.0, shortest_at_top(rail))
        })
        .collect()
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
