//! Where the laminations lie against the pin: the phase with the fewest laminations, exactly.
//!
//! **Runs** have one free phase. The part of a piece that the outline needs spans `low..high` across the laminations,
//! and moving the laminations by `f` changes the number they are met by only where a lamination's edge passes `low` or
//! `high`. Between two such places that follow each other the count stays the same, so it is enough to count at each
//! of them (where touching does not count as meeting) and once between each two.
//!
//! **Blocks** have two. For a set of phases, blocks that every phase needs and blocks that some phase needs bound the
//! count from below and above; a rectangle of phases is halved until its lower bound is no better than the best
//! phase found. A block is needed by every phase of a rectangle when it is needed by those at its corners, because the
//! phases that need it form a convex set (the sum of the outline's body and the mirrored block); and by some phase
//! just when the body meets the block swept over the rectangle. Rectangles below a nanometre are not halved further,
//! so that the result is the best of all phases up to a nanometre.

use std::collections::BTreeMap;

use crate::body::Body;
use crate::geometry::TOUCH;
use crate::spec::{Point, Sequence};
use crate::tiling::Blocks;

/// What a piece needs, across its laminations at phase nought.
pub(crate) type Span = (f64, f64);

/// Laminations of one span at a phase: first and last.
pub(crate) fn met(sequence: &Sequence, span: Span, phase: f64) -> (i64, i64) {
    let first = sequence.first_above(span.0 - phase + TOUCH);
    let last = sequence.last_below(span.1 - phase - TOUCH);
    (first, last.max(first))
}

fn count(sequence: &Sequence, spans: &[Span], phase: f64) -> i64 {
    spans
        .iter()
        .map(|&span| {
            let (first, last) = met(sequence, span, phase);
            last - first + 1
        })
        .sum()
}

/// The best phase of runs, in `0..pitch`, and whether it is a symmetric one. `pin` is where the pin lies across the
/// laminations of a piece next to it, at phase nought.
pub(crate) fn best_run(sequence: &Sequence, spans: &[Span], pin: f64) -> (f64, bool) {
    let pitch = sequence.pitch().to_mm();
    let wrap = |f: f64| {
        let f = f.rem_euclid(pitch);
        if pitch - f < TOUCH { 0.0 } else { f }
    };
    // Moving the laminations up, a span's lower end comes to lie in the lamination below (one more is met, once past)
    // and its upper end leaves the last one (one less, from the touch on).
    let mut turns: Vec<(f64, i64, i64)> = Vec::new();
    for &(low, high) in spans {
        for j in 0..sequence.run() {
            turns.push((wrap(low - sequence.start(j)), 1, 0));
            turns.push((wrap(high - sequence.start(j)), 0, 1));
        }
    }
    turns.sort_by(|a, b| a.0.total_cmp(&b.0));
    turns.dedup_by(|b, a| {
        let same = b.0 - a.0 < TOUCH;
        if same {
            (a.1, a.2) = (a.1 + b.1, a.2 + b.2);
        }
        same
    });
    let Some((&first, &last)) = turns.first().zip(turns.last()) else { return (0.0, false) };
    let mut now = count(sequence, spans, (first.0 + last.0 - pitch) / 2.0);
    let mut best = (i64::MAX, 0.0, 0.0);
    for (i, &(turn, more, less)) in turns.iter().enumerate() {
        let next = turns.get(i + 1).map_or(first.0 + pitch, |t| t.0);
        let (at, after) = (now - less, now - less + more);
        // Of equal counts the widest range wins: it forgives most.
        for (n, phase, room) in [(after, (turn + next) / 2.0, next - turn), (at, turn, 0.0)] {
            if n < best.0 || (n == best.0 && room > best.2 + TOUCH) {
                best = (n, wrap(phase), room);
            }
        }
        now = after;
    }
    debug_assert_eq!(count(sequence, spans, best.1), best.0);
    for j in 0..sequence.run() {
        for at in [sequence.start(j), (sequence.start(j) + sequence.start(j + 1)) / 2.0] {
            let phase = wrap(pin - at);
            if count(sequence, spans, phase) == best.0 {
                return (phase, true);
            }
        }
    }
    (best.1, false)
}

/// A block of the plane: which place of the lattice's pattern, and how many of each step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct At {
    pub(crate) steps: (i64, i64),
    pub(crate) place: usize,
}

impl Blocks {
    /// Lower left corner of a block before turning, at a phase.
    pub(crate) fn corner(&self, at: At, phase: Point) -> Point {
        let [a, b] = self.steps;
        let moved = a.times(at.steps.0 as f64).plus(b.times(at.steps.1 as f64));
        self.places[at.place].0.plus(moved).plus(phase)
    }

    /// A block swept over all phases from `phase` to `phase + sweep`, in the face, anticlockwise.
    pub(crate) fn shape(&self, at: At, phase: Point, sweep: Point) -> [Point; 4] {
        let low = self.corner(at, phase);
        let high = low.plus(self.size(self.places[at.place].1)).plus(sweep);
        [low, Point::new(high.x, low.y), high, Point::new(low.x, high.y)].map(|p| self.turned(p))
    }

    /// All blocks that some phase from `phase` to `phase + sweep` may need, by their distance from the outline's
    /// middle alone.
    fn near(&self, bounds: (Point, Point), phase: Point, sweep: Point) -> Vec<At> {
        let [a, b] = self.steps;
        let det = a.cross(b);
        let middle = bounds.0.plus(bounds.1).times(0.5);
        let turned_back = self.turned_back(middle);
        let reach = bounds.1.minus(bounds.0).length() / 2.0 + self.length.to_mm() * 3.0 + sweep.length();
        let centre = turned_back.minus(phase);
        let mut found = Vec::new();
        for (place, &(corner, _)) in self.places.iter().enumerate() {
            // Steps as a function of the point: Cramer's rule on a i + b j = point; a disc of radius `reach` spans
            // `reach |b| / det` of i and `reach |a| / det` of j about its centre's.
            let c = centre.minus(corner);
            let (i, j) = (c.cross(b) / det, a.cross(c) / det);
            let (di, dj) = (reach * b.length() / det.abs(), reach * a.length() / det.abs());
            for p in (i - di).floor() as i64..=(i + di).ceil() as i64 {
                for q in (j - dj).floor() as i64..=(j + dj).ceil() as i64 {
                    if a.times(p as f64).plus(b.times(q as f64)).minus(c).length() <= reach {
                        found.push(At { steps: (p, q), place });
                    }
                }
            }
        }
        found.sort();
        found
    }

    /// The blocks that a phase needs.
    pub(crate) fn needed(&self, bodies: &[Body], bounds: (Point, Point), phase: Point) -> Vec<At> {
        let mut found = self.near(bounds, phase, Point::default());
        found.retain(|&at| {
            let shape = self.shape(at, phase, Point::default());
            bodies.iter().any(|b| b.meets(&shape))
        });
        found
    }
}

/// How a phase of blocks was found.
pub(crate) struct BestBlocks {
    pub(crate) phase: Point,
    pub(crate) symmetric: bool,
    /// That no phase needs fewer blocks. False when the search ran out of work.
    pub(crate) proven: bool,
}

/// Blocks tried against rectangles of phases before giving up the proof, a second's work at most. Ordinary tops take
/// some ten thousand; what takes many are outlines that blocks fit into to within a hair in one direction, all along a
/// line of phases, and thousands of blocks.
const MOST_TRIED: usize = 1_000_000;

/// Rectangles of phases narrower than this, in millimetres, are tried both ways when they are halved.
const FINE: f64 = 1.0;

struct Node {
    low: Point,
    size: Point,
    /// Needed by every phase of the rectangle.
    sure: usize,
    /// Needed by some phases, perhaps.
    open: Vec<At>,
}

/// The best phase of blocks.
pub(crate) fn best_blocks(blocks: &Blocks, bodies: &[Body], bounds: (Point, Point)) -> BestBlocks {
    let mut best: Option<(usize, Point)> = None;
    for phase in symmetric(blocks) {
        let n = blocks.needed(bodies, bounds, phase).len();
        if best.is_none_or(|b| n < b.0) {
            best = Some((n, phase));
        }
    }
    let (mut fewest, mut phase) = best.unwrap_or((usize::MAX, Point::default()));
    let mut symmetric = true;
    // By lower bound, each level a stack: the rectangle with the least bound first, of equals the one found last, so
    // that the search goes deep.
    let mut levels: BTreeMap<usize, Vec<Node>> = BTreeMap::new();
    for &(corner, upright) in &blocks.places {
        let size = blocks.size(upright);
        let node = refine(blocks, bodies, corner, size, 0, &blocks.near(bounds, corner, size));
        levels.entry(node.sure).or_default().push(node);
    }
    let mut tried = 0;
    let mut proven = true;
    while let Some(mut level) = levels.first_entry() {
        let Some(node) = level.get_mut().pop() else {
            level.remove();
            continue;
        };
        if node.sure >= fewest {
            break;
        }
        if tried >= MOST_TRIED {
            proven = false;
            break;
        }
        tried += 1 + 2 * node.open.len();
        let middle = node.low.plus(node.size.times(0.5));
        let here = node.sure + node.open.iter().filter(|&&at| meets(blocks, bodies, at, middle)).count();
        if here < fewest {
            (fewest, phase, symmetric) = (here, middle, false);
        }
        if node.size.x.max(node.size.y) < TOUCH {
            continue;
        }
        let halves = |across: bool| {
            let size = if across {
                Point::new(0.5 * node.size.x, node.size.y)
            } else {
                Point::new(node.size.x, 0.5 * node.size.y)
            };
            let step = if across { Point::new(size.x, 0.0) } else { Point::new(0.0, size.y) };
            [node.low, node.low.plus(step)]
                .map(|low| refine(blocks, bodies, low, size, node.sure, &node.open))
        };
        // Halved across its longer side; a small one the way that settles more blocks. Where blocks on opposite sides
        // change places along a whole line of phases, only rectangles that grow thin across the line get anywhere.
        let across = node.size.x >= node.size.y;
        let mut pair = halves(across);
        if node.size.x.min(node.size.y) < FINE {
            let left = |pair: &[Node; 2]| pair[0].open.len() + pair[1].open.len();
            let other = halves(!across);
            if left(&other) < left(&pair) {
                pair = other;
            }
        }
        for half in pair {
            if half.sure < fewest {
                levels.entry(half.sure).or_default().push(half);
            }
        }
    }
    if !symmetric {
        // The middle of a small rectangle is no number to read out: a round one nearby is as good where it needs no more.
        for grain in [1.0, 0.1, 0.01, 0.001] {
            let round = Point::new((phase.x / grain).round() * grain, (phase.y / grain).round() * grain);
            if blocks.needed(bodies, bounds, round).len() == fewest {
                phase = round;
                break;
            }
        }
    }
    BestBlocks { phase, symmetric, proven }
}

fn meets(blocks: &Blocks, bodies: &[Body], at: At, phase: Point) -> bool {
    let shape = blocks.shape(at, phase, Point::default());
    bodies.iter().any(|b| b.meets(&shape))
}

/// Sorts blocks into needed by all, by some and by none of a rectangle's phases.
fn refine(blocks: &Blocks, bodies: &[Body], low: Point, size: Point, sure: usize, from: &[At]) -> Node {
    let mut node = Node { low, size, sure, open: Vec::new() };
    let corners = [Point::default(), Point::new(size.x, 0.0), size, Point::new(0.0, size.y)];
    for &at in from {
        let swept = blocks.shape(at, low, size);
        if !bodies.iter().any(|b| b.meets(&swept)) {
            continue;
        }
        let shapes = corners.map(|c| blocks.shape(at, low.plus(c), Point::default()));
        if bodies.iter().any(|b| shapes.iter().all(|s| b.meets(s))) {
            node.sure += 1;
        } else {
            node.open.push(at);
        }
    }
    node
}

/// Phases that bring a point of symmetry to the pin: a corner or the middle of a block, and half steps from there.
fn symmetric(blocks: &Blocks) -> Vec<Point> {
    let [a, b] = blocks.steps;
    let mut bases = vec![Point::default()];
    for &(corner, upright) in &blocks.places {
        bases.push(corner.plus(blocks.size(upright).times(0.5)));
    }
    let mut found = Vec::new();
    for base in bases {
        for (i, j) in [(0.0, 0.0), (0.5, 0.0), (0.0, 0.5), (0.5, 0.5)] {
            found.push(a.times(i).plus(b.times(j)).minus(base));
        }
    }
    found
}
