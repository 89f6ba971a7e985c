//! Where a blank can be glued up and planed in parts: at joints that run straight from edge to edge.

use stripwright_units::Length;

use crate::blank::Laid;
use crate::face::Face;
use crate::geometry::{TOUCH, range};
use crate::spec::Point;

/// Parts of a blank that are planed apart and joined last.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Parting {
    /// Elements of each part, ascending, the parts from one side of the blank to the other.
    pub(crate) groups: Vec<Vec<usize>>,
    /// The way the joints run, and the parts are fed.
    pub(crate) along: Point,
}

/// Elements between two joints that run straight through, and how far they reach across the joints.
struct Lane {
    elements: Vec<usize>,
    from: f64,
    to: f64,
}

impl Face {
    /// The fewest parts that a planer so wide takes of a blank with these pieces, as even as may be; `None` where no straight
    /// joints part it so narrowly.
    pub(crate) fn parting(&self, laid: &[Laid], planer: Length) -> Option<Parting> {
        let mut wood = vec![Vec::new(); self.elements.len()];
        laid.iter().for_each(|piece| wood[piece.element].extend(&piece.polygon));
        let mut best: Option<(usize, Point, Vec<Lane>)> = None;
        for along in self.joint_directions() {
            let lanes = lanes(wood.iter(), along);
            let Some(parts) = parts(&lanes, planer.to_mm()) else { continue };
            if best.as_ref().is_none_or(|(fewest, ..)| parts < *fewest) {
                best = Some((parts, along, lanes));
            }
        }
        let (many, along, lanes) = best?;
        // The narrowest limit that gives as few parts makes them as even as they can be.
        let mut limits: Vec<f64> = lanes
            .iter()
            .enumerate()
            .flat_map(|(n, first)| lanes[n..].iter().map(|last| last.to - first.from))
            .collect();
        limits.sort_by(f64::total_cmp);
        let enough = limits.partition_point(|&limit| parts(&lanes, limit).is_none_or(|parts| parts > many));
        let limit = limits.get(enough).copied().unwrap_or(planer.to_mm());
        let mut groups: Vec<Vec<usize>> = Vec::new();
        let mut from = f64::NEG_INFINITY;
        for lane in &lanes {
            match groups.last_mut() {
                Some(group) if lane.to - from <= limit + TOUCH => group.extend(&lane.elements),
                _ => {
                    from = lane.from;
                    groups.push(lane.elements.clone());
                }
            }
        }
        groups.iter_mut().for_each(|group| group.sort_unstable());
        groups.sort_unstable();
        Some(Parting { groups, along })
    }

    /// Blocks of a group in rows that slide together: courses where joints run straight through, else zigzags, which are
    /// two columns of blocks whose middles lie above one another.
    pub(crate) fn rows(&self, group: &[usize]) -> Vec<Vec<usize>> {
        let shapes = || self.elements.iter().map(|element| &element.shape);
        let all = self.joint_directions().into_iter().map(|along| (along, lanes(shapes(), along)));
        let courses = all.max_by_key(|(_, lanes)| lanes.len()).filter(|(_, lanes)| lanes.len() > 1);
        let (along, rows) = match courses {
            Some((along, lanes)) => (along, lanes.into_iter().map(|lane| lane.elements).collect()),
            None => (Point::new(0.0, 1.0), self.zigzags()),
        };
        let mut rows: Vec<Vec<usize>> = rows;
        for row in &mut rows {
            row.retain(|element| group.contains(element));
            row.sort_by(|a, b| along.dot(self.middle(*a)).total_cmp(&along.dot(self.middle(*b))));
        }
        rows.retain(|row| !row.is_empty());
        rows
    }

    fn middle(&self, element: usize) -> Point {
        let shape = &self.elements[element].shape;
        shape.iter().fold(Point::default(), |sum, p| sum.plus(*p)).times(1.0 / shape.len().max(1) as f64)
    }

    /// Columns of blocks set herringbone, two by two from the left.
    fn zigzags(&self) -> Vec<Vec<usize>> {
        let mut order: Vec<usize> = (0..self.elements.len()).collect();
        order.sort_by(|a, b| self.middle(*a).x.total_cmp(&self.middle(*b).x));
        let columns: Vec<&[usize]> =
            order.chunk_by(|a, b| self.middle(*b).x - self.middle(*a).x < 1e-3).collect();
        columns.chunks(2).map(<[&[usize]]>::concat).collect()
    }

    /// Directions of the elements' sides, each once.
    fn joint_directions(&self) -> Vec<Point> {
        let mut found: Vec<Point> = Vec::new();
        for element in &self.elements {
            for (n, &p) in element.shape.iter().enumerate() {
                let side = element.shape[(n + 1) % element.shape.len()].minus(p);
                let length = side.length();
                if length < TOUCH.max(1e-3) {
                    continue;
                }
                let side = side.times(1.0 / length);
                if found.iter().all(|known| known.cross(side).abs() > 1e-6) {
                    found.push(side);
                }
            }
        }
        found
    }
}

/// Pieces in their order across a direction, parted wherever a line in that direction crosses none.
fn lanes<'p>(pieces: impl Iterator<Item = &'p Vec<Point>>, along: Point) -> Vec<Lane> {
    let mut lanes: Vec<Lane> = pieces
        .enumerate()
        .map(|(n, corners)| {
            let (from, to) = range(corners.iter().map(|p| along.cross(*p)));
            Lane { elements: vec![n], from, to }
        })
        .collect();
    lanes.sort_by(|a, b| a.from.total_cmp(&b.from).then(a.elements.cmp(&b.elements)));
    let mut merged: Vec<Lane> = Vec::new();
    for lane in lanes {
        match merged.last_mut() {
            Some(last) if lane.from < last.to - 1e-3 => {
                last.elements.extend(lane.elements);
                last.to = last.to.max(lane.to);
            }
            _ => merged.push(lane),
        }
    }
    merged
}

/// How many parts no wider than `limit` the lanes make; `None` where one of them is wider.
fn parts(lanes: &[Lane], limit: f64) -> Option<usize> {
    let mut many = 0;
    let mut from = f64::NEG_INFINITY;
    for lane in lanes {
        if lane.to - lane.from > limit + TOUCH {
            return None;
        }
        if lane.to - from > limit + TOUCH {
            many += 1;
            from = lane.from;
        }
    }
    Some(many)
}

#[cfg(test)]
mod tests {
    use stripwright_units::Angle;

    use crate::spec::{
        BandSize, Lamination, Lay, Outline, Pattern, Phase, Sequence, Side, SlabStyle, TopSpec,
    };

    use super::*;

    fn parting(pattern: Pattern, planer: i64) -> Option<Vec<usize>> {
        let mm = Length::from_mm;
        let spec = TopSpec {
            count: 1,
            outline: Outline::Round { diameter: mm(600) },
            margin: mm(6),
            pattern,
            sequence: Sequence {
                laminations: vec![Lamination { kind: 0, thickness: mm(18), longest: mm(2430) }],
                glue_line: Length::ZERO,
            },
            finished: mm(32),
            slab: SlabStyle::Either,
            staggered: true,
            spare: 0,
            phase: Phase::Held(0.0, 0.0),
        };
        let face = crate::face(&spec, Length::from_um(500)).unwrap();
        let whole =
            |(element, own): (usize, &crate::Element)| Laid { top: 0, element, polygon: own.shape.clone() };
        let laid: Vec<Laid> = face.elements.iter().enumerate().map(whole).collect();
        let parting = face.parting(&laid, mm(planer))?;
        let all: usize = parting.groups.iter().map(Vec::len).sum();
        assert_eq!(all, face.elements.len());
        Some(parting.groups.iter().map(Vec::len).collect())
    }

    /// By hand: ten bands of 70 mm are five and five under 410 mm, at most four under 330 mm, and none fits 60 mm. No
    /// line runs straight through blocks set herringbone; a round of an even number of
    /// wedges falls into halves of 306 mm, and no further.
    #[test]
    fn parts_lie_between_joints_that_run_straight_through() {
        let mm = Length::from_mm;
        let chevron =
            || Pattern::Chevron { angle: Angle::degrees(45.0), bands: BandSize::Width(mm(70)), centre: None };
        assert_eq!(parting(chevron(), 410), Some(vec![5, 5]));
        assert_eq!(parting(chevron(), 330), Some(vec![2, 4, 4]));
        assert_eq!(parting(chevron(), 60), None);
        let herringbone = Pattern::Herringbone {
            width: Side::Given(mm(54)),
            length: Side::Given(mm(216)),
            lay: Lay::Along,
        };
        assert_eq!(parting(herringbone, 410), None);
        let sunburst = || Pattern::Sunburst { wedges: 12, lay: Lay::Along };
        assert_eq!(parting(sunburst(), 410), Some(vec![6, 6]));
        assert_eq!(parting(sunburst(), 250), None);
        let weave = Pattern::BasketWeave {
            width: Side::Laminations(2),
            blocks: 3,
            lay: Lay::Along,
            turn: Angle::degrees(0.0),
        };
        assert!(parting(weave, 410).is_some_and(|parts| parts.len() == 2));
    }
}
