//! Glue areas and grams, sections within the open time, clamps.

use std::collections::BTreeMap;

use stripwright_units::Length;

use crate::blank::Laid;
use crate::face::{Cutting, Face};
use crate::geometry::TOUCH;
use crate::makes::{SlabMake, SlabStrip};
use crate::planing::Parts;
use crate::route::{Depths, section};
use crate::shop::{Clamp, Glue, Shop};
use crate::tiling::Cut;
use crate::unroll::Slab;

/// Glue of one stage, for all tops of one spec.
#[derive(Clone, Debug, PartialEq)]
pub struct GlueStage {
    /// `strips into slabs`, `sub-slabs into slabs`, `pieces into blanks`.
    pub name: &'static str,
    /// How many joints.
    pub joints: u32,
    /// Area of all joints, each counted once, in square millimetres.
    pub area: f64,
    /// What is spread: what stays in the joints and what is squeezed out and lost, in grams.
    pub grams: f64,
    /// Strips (or pieces) in a section, within the open time.
    pub section: u32,
    /// Times that clamps are set: sections, and the joining of sections.
    pub glue_ups: u32,
    /// Clamps for one glue-up by spacing: for the longest joint, for strips along all joints and for blocks along all sides
    /// that are pressed at a time.
    pub clamps_by_spacing: u32,
    /// Clamps for one glue-up by force, likewise. Hand clamps rarely reach the book's pressure (T29).
    pub clamps_by_force: u32,
    /// Clamps no further apart than this (T30).
    pub clamp_spacing: Length,
    /// Elements of each section of a blank of blocks; none for anything else.
    pub sections: Vec<Vec<usize>>,
}

/// Pressure fans out from a clamp at 45 degrees and the fans have to overlap at the nearest glue line: spacing is at
/// most twice its distance from the clamp's face, caul included (T30, common practice, no source).
pub fn clamp_spacing(clamp: &Clamp, to_glue_line: Length) -> Length {
    (clamp.caul + to_glue_line) * 2
}

/// Clamps along a joint, by spacing: never fewer than two.
pub fn clamps_by_spacing(joint: Length, spacing: Length) -> u32 {
    if spacing.is_positive() { (((joint.nm() + spacing.nm() - 1) / spacing.nm()) as u32).max(2) } else { 2 }
}

/// Clamps on a joint of so many square millimetres, by force: pressure times area over the force of one (T29).
pub fn clamps_by_force(clamp: &Clamp, area: f64) -> u32 {
    if clamp.force > 0.0 { (clamp.pressure * area / clamp.force - 1e-9).ceil().max(0.0) as u32 } else { 0 }
}

/// Grams to spread on joints of so many square millimetres; `across` where the joint lies in end grain.
pub fn grams(glue: &Glue, area: f64, across: bool) -> f64 {
    let more = if across { 1.0 + glue.end_grain } else { 1.0 };
    area * 1e-6 * glue.spread * f64::from(glue.faces) * more * (1.0 + glue.squeeze_out)
}

/// Joints gathered for one stage.
#[derive(Default)]
struct Joints {
    count: u32,
    area: f64,
    /// The most length that is pressed at a time, and the largest area that clamps of that length press.
    longest: f64,
    largest: f64,
    glue_ups: u32,
}

impl Joints {
    fn add(&mut self, length: f64, depth: Length) {
        self.count += 1;
        self.area += length * depth.to_mm();
        self.press(length, depth);
    }

    /// A glue-up that is pressed along such a length.
    fn press(&mut self, length: f64, depth: Length) {
        self.longest = self.longest.max(length);
        self.largest = self.largest.max(length * depth.to_mm());
    }

    /// So many things glued up side by side, a section at a time, and then the sections.
    fn glue_up(&mut self, things: usize, section: u32) {
        let sections = (things as u32).div_ceil(section.max(1));
        self.glue_ups += if sections > 1 { sections + 1 } else { 1 };
    }

    fn stage(self, name: &'static str, shop: &Shop, across: bool, to_glue_line: Length) -> GlueStage {
        let spacing = clamp_spacing(&shop.clamp, to_glue_line);
        GlueStage {
            name,
            joints: self.count,
            area: self.area,
            grams: grams(&shop.glue, self.area, across),
            section: section(&shop.glue),
            glue_ups: self.glue_ups,
            clamps_by_spacing: clamps_by_spacing(Length::nearest_mm(self.longest), spacing),
            clamps_by_force: clamps_by_force(&shop.clamp, self.largest),
            clamp_spacing: spacing,
            sections: Vec::new(),
        }
    }
}

/// Where a strip begins and ends along its slab.
fn ends(strip: &SlabStrip) -> (f64, f64) {
    (strip.start, strip.start + strip.size.length.to_mm())
}

/// Where two strips lie on each other, from and to; the other way round where they do not.
fn shared(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    (a.0.max(b.0), a.1.min(b.1))
}

/// How far two strips that lie on each other overlap.
fn lap(a: &SlabStrip, b: &SlabStrip) -> f64 {
    let (from, to) = shared(ends(a), ends(b));
    (to - from).max(0.0)
}

/// From the first of some joints to the last, along them.
fn extent(joints: impl Iterator<Item = (f64, f64)>) -> f64 {
    let (from, to) = joints
        .filter(|(from, to)| to > from)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (from, to)| (low.min(from), high.max(to)));
    (to - from).max(0.0)
}

/// The most length along which strips that lie on one another, each from and to, are pressed at a time.
///
/// Where strips are staggered every joint lies further along than the one before, and clamps have to stand along all of
/// them. A section is so many strips; sections are then joined, a joint at a time.
pub fn pressed_length(strips: &[(f64, f64)], section: u32) -> f64 {
    let section = section.max(1) as usize;
    let joint = |pair: &[(f64, f64)]| shared(pair[0], pair[1]);
    let within = strips.chunks(section).map(|strips| extent(strips.windows(2).map(joint)));
    let between = (1..strips.len())
        .filter(|n| n % section == 0)
        .map(|n| extent(std::iter::once(joint(&strips[n - 1..=n]))));
    within.chain(between).fold(0.0, f64::max)
}

pub(crate) fn stages(
    face: &Face,
    shop: &Shop,
    makes: &[SlabMake],
    slabs: &[Slab],
    parts: &Parts,
    laid: &[Laid],
) -> Vec<GlueStage> {
    let depths = Depths::of(face, shop);
    let section = section(&shop.glue);
    let (mut strips, mut subs, mut blanks) = (Joints::default(), Joints::default(), Joints::default());
    for slab in slabs {
        let make = &makes[slab.make];
        for part in make.parts() {
            strips.glue_up(part.len(), section);
            let lying: Vec<(f64, f64)> = part.iter().map(ends).collect();
            strips.press(pressed_length(&lying, section), depths.strip);
            for pair in part.windows(2) {
                strips.add(lap(&pair[0], &pair[1]), depths.strip);
            }
        }
        // Parts of a slab that is the blank are planed a second time before they are joined.
        let whole = matches!(face.cutting, Cutting::Runs(Cut::None));
        let depth = if whole { depths.blank } else { depths.slab };
        for &at in &make.breaks {
            subs.add(lap(&make.layers[at - 1], &make.layers[at]), depth);
        }
        if !make.breaks.is_empty() {
            let joint = |&at: &usize| shared(ends(&make.layers[at - 1]), ends(&make.layers[at]));
            subs.press(extent(make.breaks.iter().map(joint)), depth);
            subs.glue_up(make.breaks.len() + 1, section);
        }
    }
    let blocks = matches!(face.cutting, Cutting::Blocks(_));
    let sections = if blocks { sections(face, &parts.groups, section) } else { Vec::new() };
    for _ in 0..face.spec.count {
        match (blocks, parts.groups.is_empty()) {
            (true, _) => sections.iter().for_each(|part| blanks.glue_up(part.len(), 1)),
            (false, true) => blanks.glue_up(face.elements.len(), section),
            // Each part by itself.
            (false, false) => parts.groups.iter().for_each(|group| blanks.glue_up(group.len(), section)),
        }
        if !parts.groups.is_empty() {
            // The parts when they are planed.
            blanks.glue_up(parts.groups.len(), section);
        }
    }
    let seams = face.seams(laid);
    for seam in &seams {
        blanks.add(seam.length, depths.slab);
    }
    let thinnest = face.spec.sequence.laminations.iter().map(|l| l.thickness).min().unwrap_or_default();
    // The first glue line lies under one strip; in a blank, under one band, block or wedge.
    let piece = match face.cutting {
        Cutting::Runs(Cut::Bias { width, .. } | Cut::HalfBias { width, .. }) => width,
        Cutting::Blocks(_) => face.block.map_or(thinnest, |b| b.0),
        Cutting::Runs(_) => thinnest,
    };
    let mut stages = vec![strips.stage("strips into slabs", shop, false, thinnest)];
    if subs.count > 0 {
        stages.push(subs.stage("sub-slabs into slabs", shop, false, thinnest));
    }
    if !seams.is_empty() {
        let mut stage = blanks.stage("pieces into blanks", shop, face.seams_cross_plies(), piece);
        if matches!(face.cutting, Cutting::Blocks(_)) {
            let pressed = pressings(face, &seams, &sections);
            let most = |clamps: &dyn Fn(f64) -> u32| {
                pressed.iter().map(|sides| sides.iter().map(|side| clamps(*side)).sum()).max().unwrap_or(0)
            };
            stage.clamps_by_spacing =
                most(&|side| clamps_by_spacing(Length::nearest_mm(side), stage.clamp_spacing));
            stage.sections = sections.concat();
            stage.clamps_by_force = most(&|side| clamps_by_force(&shop.clamp, side * depths.slab.to_mm()));
        }
        stages.push(stage);
    }
    stages
}

/// The sections of each part of a blank of blocks: whole rows, as these slide together when they have set. A row of more
/// blocks than a section takes is a section after the other along it.
fn sections(face: &Face, groups: &[Vec<usize>], section: u32) -> Vec<Vec<Vec<usize>>> {
    let most = section.max(1) as usize;
    let whole = [(0..face.elements.len()).collect::<Vec<_>>()];
    let of = |group: &Vec<usize>| {
        let mut sections: Vec<Vec<usize>> = Vec::new();
        // What is left over of a row longer than a section stays by itself.
        let mut whole_rows = false;
        for row in face.rows(group) {
            match sections.last_mut() {
                Some(last) if whole_rows && last.len() + row.len() <= most => last.extend(&row),
                _ => sections.extend(row.chunks(most).map(<[usize]>::to_vec)),
            }
            whole_rows = row.len() <= most;
        }
        sections.iter_mut().for_each(|section| section.sort_unstable());
        sections
    };
    if groups.is_empty() { &whole[..] } else { groups }.iter().map(of).collect()
}

/// The glue-ups of a blank of blocks, each as the lengths that are pressed in it.
///
/// The joints of blocks are short, but clamps press a whole glue-up together: along every direction that joints run in, the
/// glue-up is as long as from the first to the last of them. Sections come first, then they are joined, and parts when
/// they are planed.
fn pressings(face: &Face, seams: &[Seam], sections: &[Vec<Vec<usize>>]) -> Vec<Vec<f64>> {
    // Part and section of each block.
    let mut places = vec![(0, 0); face.elements.len()];
    for (part, sections) in sections.iter().enumerate() {
        for (n, section) in sections.iter().enumerate() {
            section.iter().for_each(|&element| places[element] = (part, n));
        }
    }
    // Within a section, between sections of a part, between parts; and along which direction from where to where.
    type Sides = BTreeMap<i64, (f64, f64)>;
    let mut reach: BTreeMap<(Option<usize>, Option<usize>), Sides> = BTreeMap::new();
    for seam in seams.iter().filter(|seam| seam.top == 0) {
        let (a, b) = (places[seam.elements.0], places[seam.elements.1]);
        let part = (a.0 == b.0).then_some(a.0);
        let glue_up = (part, part.filter(|_| a.1 == b.1).map(|_| a.1));
        let (from, to) = reach
            .entry(glue_up)
            .or_default()
            .entry(seam.direction)
            .or_insert((f64::INFINITY, f64::NEG_INFINITY));
        (*from, *to) = (from.min(seam.from), to.max(seam.to));
    }
    reach.into_values().map(|sides| sides.into_values().map(|(from, to)| to - from).collect()).collect()
}

/// A joint between two pieces of a blank.
struct Seam {
    top: u32,
    elements: (usize, usize),
    /// Which way it runs: joints of one number run alike.
    direction: i64,
    /// From where to where along that direction, in millimetres.
    from: f64,
    to: f64,
    length: f64,
}

impl GlueStage {
    /// Clamps for one glue-up: close enough together, and enough of them to press.
    pub fn clamps(&self) -> u32 {
        self.clamps_by_spacing.max(self.clamps_by_force)
    }
}

impl Face {
    /// Whether the joints of the blank cut the plies: all bias and square cuts do. Only blocks that meet nothing but
    /// the faces of laminations would not, and no pattern is made of these alone.
    fn seams_cross_plies(&self) -> bool {
        !matches!(self.cutting, Cutting::Runs(Cut::None))
    }

    /// The joints between pieces, over all blanks.
    ///
    /// Two pieces share a joint where sides of theirs lie on one line, back to back. A band of an even slab is as
    /// long as its slab is broad, longer than the outline needs, and so is its joint.
    fn seams(&self, laid: &[Laid]) -> Vec<Seam> {
        if self.elements.len() < 2 {
            return Vec::new();
        }
        // Every side as (top, direction, distance of its line from the pin, from, to, which way, piece).
        let mut sides: Vec<(u32, i64, f64, f64, f64, bool, usize)> = Vec::new();
        for (n, Laid { top, polygon, .. }) in laid.iter().enumerate() {
            for (i, &p) in polygon.iter().enumerate() {
                let q = polygon[(i + 1) % polygon.len()];
                let along = q.minus(p);
                let length = along.length();
                if length < 1e-3 {
                    continue;
                }
                let mut along = along.times(1.0 / length);
                let forward = along.y > 1e-6 || (along.y.abs() <= 1e-6 && along.x > 0.0);
                if !forward {
                    along = along.times(-1.0);
                }
                // Directions that differ by less than a thousandth of a degree are one; the odd shift keeps the round
                // angles that patterns use away from the edges between two numbers.
                let direction = (along.x * 1e5 + 0.37).floor() as i64;
                let (a, b) = (along.dot(p), along.dot(q));
                sides.push((*top, direction, along.cross(p), a.min(b), a.max(b), forward, n));
            }
        }
        sides.sort_by(|a, b| {
            (a.0, a.1)
                .cmp(&(b.0, b.1))
                .then(a.2.total_cmp(&b.2))
                .then(a.3.total_cmp(&b.3))
                .then(a.5.cmp(&b.5))
        });
        // Convex pieces meet in one joint at most; where rounding broke a side in two, its parts are one joint.
        let mut seams: BTreeMap<(usize, usize), Seam> = BTreeMap::new();
        for (i, a) in sides.iter().enumerate() {
            for b in &sides[i + 1..] {
                if (b.0, b.1) != (a.0, a.1) || b.2 - a.2 > 1e-4 {
                    break;
                }
                let (from, to) = (a.3.max(b.3), a.4.min(b.4));
                if a.5 != b.5 && to - from > TOUCH {
                    let pair = (a.6.min(b.6), a.6.max(b.6));
                    let elements = (laid[pair.0].element, laid[pair.1].element);
                    let none = Seam { top: a.0, elements, direction: a.1, from, to, length: 0.0 };
                    let seam = seams.entry(pair).or_insert(none);
                    (seam.from, seam.to) = (seam.from.min(from), seam.to.max(to));
                    seam.length += to - from;
                }
            }
        }
        seams.into_values().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// T29, derived: a joint 60 x 400 mm at 1.0 MPa needs 24 kN, or 6 clamps of 4 kN.
    #[test]
    fn clamps_by_pressure() {
        let clamp = Clamp { reach: None, force: 4000.0, caul: Length::from_mm(30), pressure: 1.0 };
        assert_eq!(clamps_by_force(&clamp, 60.0 * 400.0), 6);
        assert_eq!(clamps_by_force(&clamp, 60.0 * 401.0), 7);
    }

    /// T30, common practice: a 30 mm caul and an 18 mm strip give 96 mm.
    #[test]
    fn clamps_by_distance() {
        let clamp = Clamp { reach: None, force: 4000.0, caul: Length::from_mm(30), pressure: 1.0 };
        let spacing = clamp_spacing(&clamp, Length::from_mm(18));
        assert_eq!(spacing, Length::from_mm(96));
        assert_eq!(clamps_by_spacing(Length::from_mm(960), spacing), 10);
        assert_eq!(clamps_by_spacing(Length::from_mm(961), spacing), 11);
        assert_eq!(clamps_by_spacing(Length::from_mm(50), spacing), 2);
    }

    /// By hand: four strips of 300 mm, each 100 mm on, have joints of 200 mm that reach from 100 to 500 mm; two at a time
    /// each joint is pressed by itself, three at a time two joints reach over 300 mm.
    #[test]
    fn staggered_strips_are_pressed_from_the_first_joint_to_the_last() {
        let strips = [(0.0, 300.0), (100.0, 400.0), (200.0, 500.0), (300.0, 600.0)];
        assert_eq!(pressed_length(&strips, 21), 400.0);
        assert_eq!(pressed_length(&strips, 3), 300.0);
        assert_eq!(pressed_length(&strips, 2), 200.0);
        assert_eq!(pressed_length(&[(0.0, 300.0); 9], 4), 300.0);
        assert_eq!(pressed_length(&[(0.0, 10.0), (20.0, 30.0)], 4), 0.0);
    }

    /// T27, common practice: 200 g/m2 on one face; T31 and the design: a share more on end grain; loss on top.
    #[test]
    fn grams_by_area() {
        let mut glue = Glue {
            spread: 200.0,
            faces: 1,
            end_grain: 0.25,
            squeeze_out: 0.0,
            open_minutes: 10.0,
            strips_a_minute: 2.0,
            bottle: 1000.0,
        };
        assert!((grams(&glue, 1e6, false) - 200.0).abs() < 1e-9);
        assert!((grams(&glue, 1e6, true) - 250.0).abs() < 1e-9);
        glue.faces = 2;
        glue.squeeze_out = 0.1;
        assert!((grams(&glue, 1e6, false) - 440.0).abs() < 1e-9);
    }
}
