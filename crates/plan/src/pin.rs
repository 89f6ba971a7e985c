//! Where the centre pin lies on a blank, told by what can be found on the underside: pieces and the joints between them.
//!
//! The pin is the face's origin. What is measured runs along a joint or square to one, so that it is true from either side.

use std::collections::BTreeMap;

use stripwright_pattern::{Element, Outline, Pattern, Point, Unrolled};
use stripwright_units::Length;

use crate::asked::AskedTop;
use crate::figures::rounded;
use crate::job::Top;
use crate::plan::{Measure, Pin};
use crate::words::{join, numbers};

/// Millimetres within which two computed places are one.
const NEAR: f64 = 1e-3;

/// The wood of each piece of one blank, as corners, by its index in the face.
type Blank = BTreeMap<usize, Vec<Point>>;

/// Where a top's pin lies; nothing where the blank has no piece there.
pub(crate) fn pin(top: &Top, own: &AskedTop, unrolled: &Unrolled, mark: Length) -> Option<Pin> {
    let blanks: Vec<Blank> = (0..top.count).map(|copy| blank(own, unrolled, copy)).collect();
    let first = blanks.first()?;
    let pin = match &top.pattern {
        Pattern::Sunburst { .. } => at("where the points of all wedges meet".to_string()),
        Pattern::Diamond { .. } => {
            let met = first.iter().filter(|(_, wood)| holds(AXES, wood, Point::new(0.0, 0.0)));
            let met: Vec<u32> = met.map(|(n, _)| number(*n)).collect();
            Pin { pieces: met.clone(), ..at(format!("where bands {} meet", numbers(&met))) }
        }
        Pattern::Chevron { .. } => bands(&blanks, mark)?,
        Pattern::Straight { .. } => strips(own, unrolled, top.count)?,
        _ => blocks(first, &own.face.elements)?,
    };
    Some(Pin { mirrored: !(even(first) && symmetric(&top.outline)), ..pin })
}

fn at(lies: String) -> Pin {
    Pin { lies, ..Pin::default() }
}

fn number(element: usize) -> u32 {
    element as u32 + 1
}

fn blank(own: &AskedTop, unrolled: &Unrolled, copy: u32) -> Blank {
    let mut blank = Blank::new();
    for cell in unrolled.built(&own.face, &own.makes, copy) {
        blank.entry(cell.element).or_default().extend(cell.polygon);
    }
    blank
}

/// Left to right and bottom to top.
const AXES: [Point; 2] = [Point::new(1.0, 0.0), Point::new(0.0, 1.0)];

fn dot(a: Point, b: Point) -> f64 {
    a.x * b.x + a.y * b.y
}

/// From where to where points reach in a direction.
fn extent<'p>(towards: Point, points: impl IntoIterator<Item = &'p Point>) -> (f64, f64) {
    let along = points.into_iter().map(|p| dot(towards, *p));
    along.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), d| (low.min(d), high.max(d)))
}

/// Whether a rectangle with sides along these directions holds a point.
fn holds(sides: [Point; 2], wood: &[Point], p: Point) -> bool {
    sides.iter().all(|side| {
        let (low, high) = extent(*side, wood);
        (low - NEAR..=high + NEAR).contains(&dot(*side, p))
    })
}

/// A measurement that ends at some place, so far in a direction from where it begins.
fn measure(way: String, towards: Point, length: f64, end: Point) -> Measure {
    let from = Point::new(end.x - towards.x * length, end.y - towards.y * length);
    let point = |p: Point| [rounded(p.x), rounded(p.y)];
    Measure { way, line: [point(from), point(end)], length: Length::nearest_mm(length.abs()).into() }
}

/// The line between two neighbouring bands of every blank; a band at the rim has a free edge there.
struct Edge {
    x: f64,
    /// What it is called, and when it is spoken of again.
    said: String,
    again: &'static str,
    /// Lower and upper end, where they lie alike in all blanks.
    ends: [Option<f64>; 2],
}

impl Edge {
    fn joint(blanks: &[Blank], left: usize, right: usize, x: f64) -> Edge {
        let said = format!("the joint between bands {} and {}", number(left), number(right));
        Edge { x, said, again: "that joint", ends: Edge::ends(blanks, &[left, right], x) }
    }

    fn free(blanks: &[Blank], band: usize, x: f64) -> Edge {
        let said = "the edge that the drawing of the face shows on the left".to_string();
        Edge { x, said, again: "that edge", ends: Edge::ends(blanks, &[band], x) }
    }

    fn ends(blanks: &[Blank], between: &[usize], x: f64) -> [Option<f64>; 2] {
        let reach = |blank: &Blank| {
            let corners = |n: &usize| blank.get(n).into_iter().flatten();
            let of = |n: &usize| extent(AXES[1], corners(n).filter(|p| (p.x - x).abs() < NEAR));
            let ends = between.iter().map(of);
            ends.fold((f64::NEG_INFINITY, f64::INFINITY), |(low, high), (l, h)| (low.max(l), high.min(h)))
        };
        let all: Vec<(f64, f64)> = blanks.iter().map(reach).collect();
        let alike = |ends: Vec<f64>| {
            let first = ends.first().copied().filter(|end| end.is_finite())?;
            ends.iter().all(|end| (end - first).abs() < NEAR).then_some(first)
        };
        [all.iter().map(|e| e.0).collect(), all.iter().map(|e| e.1).collect()].map(alike)
    }

    /// Along it to the height of the pin, from the lower end if that will do.
    fn along(&self, called: &str) -> Option<Measure> {
        let to = Point::new(self.x, 0.0);
        match self.ends {
            [Some(low), _] => Some(measure(format!("up {called} from its lower end"), AXES[1], -low, to)),
            [None, Some(high)] => {
                Some(measure(format!("down {called} from its upper end"), AXES[1], -high, to))
            }
            [None, None] => None,
        }
    }

    /// Whether the pin's height halves it, as near as can be marked.
    fn halved(&self, mark: Length) -> bool {
        matches!(self.ends, [Some(low), Some(high)] if (low + high).abs() <= mark.to_mm())
    }
}

/// On the joint of two bands or within one band.
fn bands(blanks: &[Blank], mark: Length) -> Option<Pin> {
    let sides: BTreeMap<usize, (f64, f64)> =
        blanks.first()?.iter().map(|(n, wood)| (*n, extent(AXES[0], wood))).collect();
    let here: Vec<usize> =
        sides.iter().filter(|(_, (l, r))| *l <= NEAR && *r >= -NEAR).map(|(n, _)| *n).collect();
    if let [left, right] = here[..] {
        let edge = Edge::joint(blanks, left, right, 0.0);
        let half = if edge.halved(mark) { ", half way along it" } else { "" };
        return Some(Pin {
            lies: format!("on {}{half}", edge.said),
            measures: edge.along(edge.again).into_iter().collect(),
            pieces: vec![number(left), number(right)],
            mirrored: false,
        });
    }
    let band = *here.first()?;
    let (left, right) = sides[&band];
    let next = |x: f64, side: &dyn Fn(&(f64, f64)) -> f64| {
        sides.iter().find(|(n, s)| **n != band && (side(s) - x).abs() < NEAR).map(|(n, _)| *n)
    };
    let (before, after) = (next(left, &|s| s.1), next(right, &|s| s.0));
    let edge = match (before, after) {
        (Some(before), _) => Edge::joint(blanks, before, band, left),
        (None, Some(after)) => Edge::joint(blanks, band, after, right),
        (None, None) => Edge::free(blanks, band, left),
    };
    let middle = if (left + right).abs() < 2.0 * NEAR { ", half way across it" } else { "" };
    let half = if edge.halved(mark) { " and half way along it" } else { "" };
    let along = edge.along(&edge.said);
    let across = format!("square across from {}", if along.is_some() { edge.again } else { &edge.said });
    let pieces = before.into_iter().chain([band]).chain(after.filter(|_| before.is_none())).map(number);
    Some(Pin {
        lies: format!("in band {}{middle}{half}", number(band)),
        measures: along
            .into_iter()
            .chain([measure(across, AXES[0], -edge.x, Point::new(0.0, 0.0))])
            .collect(),
        pieces: pieces.collect(),
        mirrored: false,
    })
}

/// In a block, square from two of its joints; on a joint, from one more.
fn blocks(blank: &Blank, elements: &[Element]) -> Option<Pin> {
    let origin = Point::new(0.0, 0.0);
    let sides = |n: usize| [elements[n].motion.along, elements[n].motion.across];
    let holding =
        |p: Point| blank.iter().filter(move |(n, wood)| holds(sides(**n), wood, p)).map(|(n, _)| *n);
    let here: Vec<usize> = holding(origin).collect();
    let named: Vec<u32> = here.iter().map(|n| number(*n)).collect();
    let block = *here.first()?;
    let mut pieces = named.clone();
    let mut measures = Vec::new();
    for side in sides(block) {
        let (low, high) = extent(side, &blank[&block]);
        // The nearer side first; a joint rather than a free side, for that is cut off or trimmed.
        let mut ways = [(low, -1.0), (high, 1.0)];
        ways.sort_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
        let beyond = |(at, out): (f64, f64)| {
            let d = at + out * 0.5;
            holding(Point::new(side.x * d, side.y * d)).find(|n| *n != block)
        };
        let (way, other) =
            ways.iter().find_map(|way| Some((*way, Some(beyond(*way)?)))).unwrap_or((ways[0], None));
        if way.0.abs() < NEAR {
            continue;
        }
        let said = match other {
            Some(other) => {
                let mut pair = [number(block), number(other)];
                pair.sort_unstable();
                pieces.push(number(other));
                format!("square from the joint between blocks {} and {}", pair[0], pair[1])
            }
            None => format!("square from the free side of block {}", number(block)),
        };
        measures.push(measure(said, side, -way.0, origin));
    }
    pieces.sort_unstable();
    pieces.dedup();
    let lies = match &named[..] {
        [one] => format!("in block {one}"),
        [a, b] => format!("on the joint between blocks {a} and {b}"),
        all => format!("where blocks {} meet", join(&all.iter().map(u32::to_string).collect::<Vec<_>>())),
    };
    if here.len() > 2 {
        (measures, pieces) = (Vec::new(), named);
    }
    Some(Pin { lies, measures, pieces, mirrored: false })
}

/// On a strip of the slab that is the blank, from its first strip and from its end.
fn strips(own: &AskedTop, unrolled: &Unrolled, copies: u32) -> Option<Pin> {
    let motion = own.face.elements.first()?.motion;
    let origin = Point::new(0.0, 0.0);
    let mut found: Option<Pin> = None;
    for copy in 0..copies {
        let built = unrolled.built(&own.face, &own.makes, copy);
        let corners = || built.iter().flat_map(|cell| &cell.polygon);
        let (low, _) = extent(motion.across, corners());
        let (left, _) = extent(motion.along, corners());
        let strips = (1u32..).zip(&built);
        let here: Vec<u32> = strips
            .filter(|(_, cell)| {
                let (from, to) = extent(motion.across, &cell.polygon);
                from <= NEAR && to >= -NEAR
            })
            .map(|(n, _)| n)
            .collect();
        let lies = match here[..] {
            [] => return None,
            [one] => format!("in strip {one}"),
            [a, b, ..] => format!("on the joint between strips {a} and {b}"),
        };
        let across = "square across from the outer face of strip 1".to_string();
        let along = "along the strips from the end that reached furthest left in the glue-up".to_string();
        let measures =
            vec![measure(across, motion.across, -low, origin), measure(along, motion.along, -left, origin)];
        let pin = Pin { measures, ..at(lies) };
        match &mut found {
            None => found = Some(pin),
            Some(first) if *first != pin => first.measures.clear(),
            Some(_) => {}
        }
    }
    found
}

/// Whether the pieces of a blank lie alike to the left and right of the pin.
fn even(blank: &Blank) -> bool {
    let boxes: Vec<[f64; 4]> = blank
        .values()
        .map(|wood| {
            let ((l, r), (b, t)) = (extent(AXES[0], wood), extent(AXES[1], wood));
            [l, r, b, t]
        })
        .collect();
    let like = |[l, r, b, t]: [f64; 4]| {
        let mirrored = [-r, -l, b, t];
        boxes.iter().any(|other| other.iter().zip(mirrored).all(|(p, q)| (p - q).abs() < NEAR))
    };
    boxes.iter().all(|of| like(*of))
}

/// Whether an outline is the same seen from the other side.
fn symmetric(outline: &Outline) -> bool {
    match outline {
        Outline::Free { points } => points.iter().all(|(x, y)| points.contains(&(-*x, *y))),
        _ => true,
    }
}
