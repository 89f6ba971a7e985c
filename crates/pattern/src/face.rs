//! The face: which cells of the tiling the outline needs.

use stripwright_units::Length;

use crate::body::Body;
use crate::fault::Refusal;
use crate::geometry::{Half, TOUCH, area, clip};
use crate::patterns::{Ground, lay_out};
use crate::phase::{Span, best_blocks, best_run, met};
use crate::spec::{Lay, Phase, Point, TopSpec};
use crate::tiling::{Blocks, Cut, RunElement, Runs, Tiling};

/// Where a piece of slab ends up in the face: a turn, perhaps a mirroring, and a shift.
///
/// A piece's own frame is that of the slab it is cut from: `u` along the strips, `v` across the laminations, both in
/// millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// Where a millimetre along `u` goes.
    pub along: Point,
    /// Where a millimetre along `v` goes.
    pub across: Point,
    /// Where the piece's own origin goes.
    pub origin: Point,
}

/// A band, block, wedge or quarter of the face: one piece cut off a slab.
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    /// First lamination that it needs, in the numbering of its own slab (lamination 0 starts at v = 0).
    pub first: i64,
    /// How many laminations it is made of, from the first needed to the last.
    pub laminations: u32,
    /// Cut from a slab and turned over (half a turn about its own long axis).
    pub turned: bool,
    /// From its own frame to the face.
    pub motion: Motion,
    /// Which of [`Face::covers`] it is one of.
    pub cover: usize,
    /// Its convex shape in the face, cut off where nothing is needed any more.
    pub shape: Vec<Point>,
    /// Elements of one chain that follow each other may come from one slab.
    pub(crate) chain: usize,
    /// Where a slab yields one piece, laminations running out past the outline: what is needed of each, along it, in
    /// the piece's own frame. Empty for pieces between two cuts.
    pub(crate) reach: Vec<(f64, f64)>,
    /// Half planes of the face that bound it; none for a slab that is the blank.
    pub(crate) region: Vec<Half>,
}

/// One lamination of one element: what the picture shows as one stripe.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// Index into [`Face::elements`].
    pub element: usize,
    /// Lamination, in the numbering of the element's own slab.
    pub lamination: i64,
    /// The caller's number of its kind of sheet goods.
    pub kind: usize,
    /// Convex corners, anticlockwise.
    pub polygon: Vec<Point>,
}

/// Elements that are cut alike, so that any of them may take the place of any other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cover {
    /// Indices into [`Face::elements`], ascending.
    pub elements: Vec<usize>,
    /// Spare ones a top, besides.
    pub spare: u32,
    /// How many are to be made for all tops: (elements + spare) times tops.
    pub count: u32,
}

/// A cell whose needed part is thinner than the mark: a splinter at the edge of the blank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sliver {
    /// Index into [`Face::cells`].
    pub cell: usize,
    /// How thick its needed part is, in millimetres across the lamination.
    pub thickness: f64,
}

/// How the phase came to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PhaseReason {
    /// The job held it.
    Held,
    /// Fewest laminations, and a lamination's edge, middle, or a block's symmetry point lies on the pin.
    Symmetric,
    /// Fewest laminations; no symmetric phase has as few. It lies in the middle of its range.
    Fewest,
}

/// The tiling as far as the outline needs it.
#[derive(Clone, Debug, PartialEq)]
pub struct Face {
    /// What was asked for.
    pub spec: TopSpec,
    /// Bands from left to right, blocks course by course, wedges anticlockwise.
    pub elements: Vec<Element>,
    /// All needed cells, by element and lamination.
    pub cells: Vec<Cell>,
    /// What is to be made, and how many.
    pub covers: Vec<Cover>,
    /// Shift in millimetres: along the band's edge (second number 0), or along and across the courses of blocks.
    pub phase: (f64, f64),
    /// Why that one.
    pub reason: PhaseReason,
    /// That no phase has fewer laminations. Always so for a free phase of bands and wedges; for blocks, unless the
    /// search ran out of work; not for a phase that was held.
    pub proven: bool,
    /// Needed parts thinner than the mark.
    pub slivers: Vec<Sliver>,
    /// Width of a band, for patterns of bands.
    pub band_width: Option<Length>,
    /// Width and length of a block, for patterns of blocks.
    pub block: Option<(Length, Length)>,
    /// How its elements are cut off their slabs.
    pub(crate) cutting: Cutting,
}

/// How elements are cut off their slabs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Cutting {
    /// Runs: pieces between cuts.
    Runs(Cut),
    /// Blocks: squarely, so long along the laminations.
    Blocks(Length),
}

impl Face {
    /// Laminations of each element, in order: what `laminations[]` of a plan lists.
    pub fn laminations(&self) -> Vec<u32> {
        self.elements.iter().map(|e| e.laminations).collect()
    }
}

/// More cells than any shop glues; what stops a slip of the unit from filling the memory.
const MOST_CELLS: f64 = 200_000.0;

/// A longer sequence than this repeats on no top.
const MOST_IN_SEQUENCE: usize = 100;

/// Lays the pattern out, chooses the phase, and finds the cells that the outline needs.
///
/// A cell is needed when it meets the outline grown by the margin: when the two overlap by more than a nanometre.
/// `mark` is the smallest mark the shop can set: a width that follows from a number of bands is rounded up to it, and
/// needed parts thinner than it are reported as slivers.
///
/// # Errors
/// Everything that is wrong with the outline, the sequence and the pattern, together.
pub fn face(spec: &TopSpec, mark: Length) -> Result<Face, Vec<Refusal>> {
    let mut refusals = Vec::new();
    spec.outline.refusals(&mut refusals);
    let mut positive = |what, found: Length| {
        if !found.is_positive() {
            refusals.push(Refusal::NotPositive { what, found });
        }
    };
    positive("The finished thickness", spec.finished);
    positive("The mark", mark);
    for lamination in &spec.sequence.laminations {
        positive("A sheet's thickness", lamination.thickness);
    }
    if spec.sequence.laminations.is_empty() {
        refusals.push(Refusal::EmptySequence);
    }
    if spec.sequence.laminations.len() > MOST_IN_SEQUENCE {
        refusals.push(Refusal::CountRange {
            what: "laminations in a sequence",
            found: spec.sequence.laminations.len() as u32,
            least: 1,
            most: MOST_IN_SEQUENCE as u32,
        });
    }
    if !refusals.is_empty() {
        return Err(refusals);
    }
    let bodies = spec.outline.bodies(spec.margin);
    let (least, most) = spec.outline.bounds();
    let m = Point::new(spec.margin.to_mm(), spec.margin.to_mm());
    let bounds = (least.minus(m), most.plus(m));
    let ground = Ground { least: bounds.0, most: bounds.1, sequence: &spec.sequence, mark };
    let tiling = lay_out(&spec.pattern, &ground)?;
    let needed = Needed { spec, mark, bodies: &bodies, bounds };
    needed.small_enough(&tiling)?;
    Ok(match tiling {
        Tiling::Runs(runs) => needed.runs(&runs),
        Tiling::Blocks(blocks) => needed.blocks(&blocks),
    })
}

/// The outline as far as the blank needs it: what both forms of tiling are held against.
struct Needed<'a> {
    spec: &'a TopSpec,
    mark: Length,
    bodies: &'a [Body],
    bounds: (Point, Point),
}

impl Needed<'_> {
    fn small_enough(&self, tiling: &Tiling) -> Result<(), Vec<Refusal>> {
        let size = self.bounds.1.minus(self.bounds.0);
        let mean = self.spec.sequence.pitch().to_mm() / self.spec.sequence.run() as f64;
        let cells = match tiling {
            Tiling::Runs(runs) => runs.elements.len() as f64 * (size.length() / mean + 1.0),
            Tiling::Blocks(b) => {
                size.x * size.y / (b.width.to_mm() * b.length.to_mm()) * f64::from(b.laminations)
            }
        };
        if cells > MOST_CELLS { Err(vec![Refusal::TooMany { cells, most: MOST_CELLS }]) } else { Ok(()) }
    }

    /// Smallest and largest of a direction over the grown outline inside a region.
    fn extent(&self, towards: Point, region: &[Half]) -> Option<(f64, f64)> {
        let each = self.bodies.iter().filter_map(|b| b.extent(towards, region));
        each.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
    }

    fn runs(&self, runs: &Runs) -> Face {
        let pieces = self.spans(runs);
        let (phase, reason) = self.run_phase(runs.cut.slant(), &pieces);
        let mut face = self.empty(Cutting::Runs(runs.cut));
        face.phase = (phase * runs.cut.slant(), 0.0);
        face.reason = reason;
        face.proven = reason != PhaseReason::Held;
        if let Cut::Bias { width, .. } | Cut::HalfBias { width, .. } = runs.cut {
            face.band_width = Some(width);
        }
        for (element, span) in pieces {
            self.add_run(&mut face, runs.cut, element, span, phase);
        }
        face.sort_into_covers();
        face
    }

    /// The pieces that the outline needs, each with what is needed of it across its laminations.
    fn spans<'r>(&self, runs: &'r Runs) -> Vec<(&'r RunElement, Span)> {
        let needed = |element: &&RunElement| self.bodies.iter().any(|b| b.meets_region(&element.region));
        let span = |element: &'r RunElement| {
            let (low, high) = self.extent(element.motion.across, &element.region)?;
            let base = element.motion.across.dot(element.motion.origin);
            Some((element, (low - base, high - base)))
        };
        runs.elements.iter().filter(needed).filter_map(span).collect()
    }

    /// The phase across the laminations, and why that one.
    fn run_phase(&self, slant: f64, pieces: &[(&RunElement, Span)]) -> (f64, PhaseReason) {
        let sequence = &self.spec.sequence;
        match self.spec.phase {
            // A whole pitch further is the same face.
            Phase::Held(along, _) => {
                ((along / slant).rem_euclid(sequence.pitch().to_mm()), PhaseReason::Held)
            }
            Phase::Free => {
                let holds_pin = |e: &RunElement| e.region.iter().all(|h| h.over(Point::default()) <= TOUCH);
                let pin = pieces
                    .iter()
                    .find(|(e, _)| holds_pin(e))
                    .or(pieces.first())
                    .map_or(0.0, |(e, _)| e.motion.v_of(Point::default()));
                let spans: Vec<Span> = pieces.iter().map(|(_, span)| *span).collect();
                let (phase, symmetric) = best_run(sequence, &spans, pin);
                (phase, if symmetric { PhaseReason::Symmetric } else { PhaseReason::Fewest })
            }
        }
    }

    /// One piece with its cells, moved to its phase.
    fn add_run(&self, face: &mut Face, cut: Cut, element: &RunElement, span: Span, phase: f64) {
        let sequence = &self.spec.sequence;
        let (first, last) = met(sequence, span, phase);
        let mut motion = element.motion;
        motion.origin = motion.origin.plus(element.slide.times(phase));
        let index = face.elements.len();
        let along = self.extent(motion.along, &element.region).unwrap_or_default();
        let base = motion.along.dot(motion.origin);
        let range = (along.0 - base, along.1 - base);
        let stripe = |from: i64, to: i64| {
            // Between two cuts a lamination's end slants; what the cuts do not bound ends where nothing is needed.
            let slack = if matches!(cut, Cut::None | Cut::Wedge { .. }) {
                0.0
            } else {
                (self.bounds.1.minus(self.bounds.0)).length() * 4.0 + sequence.start(to)
                    - sequence.start(from)
            };
            let (v0, v1) = (sequence.start(from), sequence.start(to));
            let (u0, u1) = (range.0 - slack, range.1 + slack);
            let own = [Point::new(u0, v0), Point::new(u1, v0), Point::new(u1, v1), Point::new(u0, v1)];
            let mut polygon: Vec<Point> = own.iter().map(|&p| motion.apply(p)).collect();
            for &h in &element.region {
                polygon = clip(&polygon, h);
            }
            if area(&polygon) < 0.0 {
                polygon.reverse();
            }
            polygon
        };
        let mut reach = Vec::new();
        for j in first..=last {
            let (v0, v1) = (sequence.start(j), sequence.start(j + 1));
            let at = motion.across.dot(motion.origin);
            let mut region = element.region.clone();
            region.push(Half::new(motion.across, at + v1));
            region.push(Half::new(motion.across.times(-1.0), -(at + v0)));
            if matches!(cut, Cut::None | Cut::Wedge { lay: Lay::Along, .. }) {
                let of = self.extent(motion.along, &region);
                reach.push(of.map_or(range, |(a, b)| (a - base, b - base)));
            }
            // Only an outline with hollows can leave a lamination between the first and the last unmet.
            if self.bodies.len() > 1 && !self.bodies.iter().any(|b| b.meets_region(&region)) {
                continue;
            }
            let thickness = (span.1 - phase).min(v1) - (span.0 - phase).max(v0);
            self.add_cell(
                face,
                Cell { element: index, lamination: j, kind: sequence.at(j).kind, polygon: stripe(j, j + 1) },
                thickness,
            );
        }
        face.elements.push(Element {
            first,
            laminations: (last - first + 1) as u32,
            turned: motion.mirrors(),
            motion,
            cover: 0,
            shape: stripe(first, last + 1),
            chain: element.chain,
            reach,
            region: element.region.clone(),
        });
    }

    /// One cell, and a note of it where what is needed of it is thinner than the mark.
    fn add_cell(&self, face: &mut Face, cell: Cell, thickness: f64) {
        if thickness < self.mark.to_mm() {
            face.slivers.push(Sliver { cell: face.cells.len(), thickness });
        }
        face.cells.push(cell);
    }

    fn blocks(&self, blocks: &Blocks) -> Face {
        let (phase, reason, proven) = match self.spec.phase {
            Phase::Held(along, across) => (Point::new(along, across), PhaseReason::Held, false),
            Phase::Free => {
                let best = best_blocks(blocks, self.bodies, self.bounds);
                let reason = if best.symmetric { PhaseReason::Symmetric } else { PhaseReason::Fewest };
                (best.phase, reason, best.proven)
            }
        };
        let sequence = &self.spec.sequence;
        let (stack, run) = blocks.stack_and_run();
        debug_assert_eq!(stack, sequence.start_exact(i64::from(blocks.laminations)));
        let mut face = self.empty(Cutting::Blocks(run));
        face.phase = (phase.x, phase.y);
        face.reason = reason;
        face.proven = proven;
        face.block = Some((blocks.width, blocks.length));
        let mut needed = blocks.needed(self.bodies, self.bounds, phase);
        // Course by course from below, from left to right, as they are laid.
        needed.sort_by(|&a, &b| {
            let (p, q) = (blocks.corner(a, phase), blocks.corner(b, phase));
            let course = |p: Point| (p.y / TOUCH).round();
            course(p).total_cmp(&course(q)).then(p.x.total_cmp(&q.x)).then(a.cmp(&b))
        });
        for at in needed {
            let upright = blocks.places[at.place].1;
            let motion = blocks.motion(blocks.corner(at, phase), upright);
            let index = face.elements.len();
            for j in 0..i64::from(blocks.laminations) {
                let (v0, v1) = (sequence.start(j), sequence.start(j + 1));
                let own = [(0.0, v0), (run.to_mm(), v0), (run.to_mm(), v1), (0.0, v1)];
                let polygon: Vec<Point> = own.iter().map(|&(u, v)| motion.apply(Point::new(u, v))).collect();
                if !self.bodies.iter().any(|b| b.meets(&polygon)) {
                    continue;
                }
                let thickness = self.thinnest(&polygon, &motion);
                let cell = Cell { element: index, lamination: j, kind: sequence.at(j).kind, polygon };
                self.add_cell(&mut face, cell, thickness);
            }
            face.elements.push(Element {
                first: 0,
                laminations: blocks.laminations,
                turned: false,
                motion,
                cover: 0,
                shape: blocks.shape(at, phase, Point::default()).to_vec(),
                chain: 0,
                reach: Vec::new(),
                region: Vec::new(),
            });
        }
        face.sort_into_covers();
        face
    }

    /// The lesser extent, along or across, of what is needed of a block's lamination.
    fn thinnest(&self, polygon: &[Point], motion: &Motion) -> f64 {
        // Its four corners inside one body: all of it is needed.
        let corner = |b: &Body, p: Point| {
            let tiny =
                [Point::new(-2e-6, -2e-6), Point::new(2e-6, -2e-6), Point::new(0.0, 2e-6)].map(|d| p.plus(d));
            b.meets(&tiny)
        };
        if self.bodies.iter().any(|b| polygon.iter().all(|&p| corner(b, p))) {
            return f64::INFINITY;
        }
        let sides: Vec<Half> = (0..polygon.len())
            .map(|i| {
                let side = polygon[(i + 1) % polygon.len()].minus(polygon[i]);
                let normal = Point::new(side.y, -side.x).times(1.0 / side.length());
                Half::new(normal, normal.dot(polygon[i]))
            })
            .collect();
        let width = |d: Point| self.extent(d, &sides).map_or(0.0, |(a, b)| b - a);
        width(motion.along).min(width(motion.across))
    }

    fn empty(&self, cutting: Cutting) -> Face {
        Face {
            spec: self.spec.clone(),
            elements: Vec::new(),
            cells: Vec::new(),
            covers: Vec::new(),
            phase: (0.0, 0.0),
            reason: PhaseReason::Held,
            proven: false,
            slivers: Vec::new(),
            band_width: None,
            block: None,
            cutting,
        }
    }
}

impl Face {
    /// Sorts the elements into covers: alike are those with the same laminations, since all are cut the same way, and
    /// where laminations run out past the outline, with the same needed of each.
    fn sort_into_covers(&mut self) {
        for i in 0..self.elements.len() {
            let like = |c: &Cover| {
                let (a, b) = (&self.elements[c.elements[0]], &self.elements[i]);
                let close =
                    |p: &(f64, f64), q: &(f64, f64)| (p.0 - q.0).abs() < TOUCH && (p.1 - q.1).abs() < TOUCH;
                a.first == b.first
                    && a.laminations == b.laminations
                    && a.reach.iter().zip(&b.reach).all(|(p, q)| close(p, q))
            };
            let cover = self.covers.iter().position(like).unwrap_or_else(|| {
                self.covers.push(Cover { elements: Vec::new(), spare: 0, count: 0 });
                self.covers.len() - 1
            });
            self.covers[cover].elements.push(i);
            self.elements[i].cover = cover;
        }
        // The spare one is of the kind with the most laminations: cut shorter, it serves for any other.
        let most = (0..self.covers.len())
            .max_by_key(|&c| (self.elements[self.covers[c].elements[0]].laminations, usize::MAX - c));
        if let Some(most) = most {
            self.covers[most].spare = self.spec.spare;
        }
        for cover in &mut self.covers {
            cover.count = (cover.elements.len() as u32 + cover.spare).saturating_mul(self.spec.count);
        }
    }
}
