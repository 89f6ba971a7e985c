//! Every slab worth making, and the strips it takes.

//!
//! A slab yields a run of neighbouring bands of one chain, in their order in the blank (or so many blocks, or wedges).
//! In the slab's frame, `u` along the strips and `v` across, a cut at the angle `a` follows `u sin(a) - v cos(a) =
//! const`, so that bands `b` wide with a kerf `k` before, between and after them take
//! `(m b + (m + 1) k) / sin(a)` of a strip, and while `v` crosses one lamination the cut walks `p cot(a)` along it:
//!
//! `L = (m b + (m + 1) k) / sin(a) + p cot(a) + 2 allow`, rounded up to the mark.
//!
//! Staggered, each strip starts `p cot(a)` after its neighbour; not staggered, every strip has to span the walk over
//! the whole slab, `(n - 1) p cot(a)` more. A square cut has `cot(a) = 0`.

use std::collections::BTreeMap;

use stripwright_units::{Angle, Length};

use crate::face::{Cutting, Face, Motion};
use crate::fault::{Limit, Refusal};
use crate::geometry::range;
use crate::shop::Shop;
use crate::spec::{Lay, Point, Sequence, SlabStyle};
use crate::tiling::Cut;

/// A size of strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StripSize {
    /// The caller's number of its kind of sheet goods.
    pub kind: usize,
    /// Its length, on the mark.
    pub length: Length,
    /// Its depth: the width it is ripped to, on the mark.
    pub depth: Length,
}

/// One strip in its place in a slab.
#[derive(Clone, Debug, PartialEq)]
pub struct SlabStrip {
    /// What to cut.
    pub size: StripSize,
    /// How long it is once the slab is planed: less where it carried the slab through the planer, for that is sawn off.
    pub left: Length,
    /// Lamination number in the slab, from the bottom.
    pub lamination: i64,
    /// Where its near end lies along the slab, in millimetres: grows by the stagger from strip to strip.
    pub start: f64,
    /// What it has to span, both allowances included, in millimetres: its length before rounding up.
    pub spans: f64,
    /// Which of the slab's places (bands in cutting order) it reaches: first and last.
    pub places: (usize, usize),
}

/// What kind of make.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum MakeStyle {
    /// All strips alike.
    Even,
    /// Each strip as long as its own run of bands needs.
    Shaped,
}

/// One piece that is cut off a slab.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// The element it is made for; any of the same cover serves as well.
    pub element: usize,
    /// Half planes `a*u + b*v <= c` that bound it, in the slab's frame.
    pub sides: Vec<[f64; 3]>,
    /// From the slab's frame to the piece's own.
    pub own: Motion,
}

/// One way to make a slab.
#[derive(Clone, Debug, PartialEq)]
pub struct SlabMake {
    /// Even or shaped.
    pub style: MakeStyle,
    /// What is cut off it, in cutting order: a run of neighbouring bands, or so many blocks.
    pub places: Vec<Place>,
    /// (index into [`Face::covers`], how many), ascending.
    pub yields: Vec<(usize, u32)>,
    /// (size, how many), longest first within a kind.
    pub strips: Vec<(StripSize, u32)>,
    /// Every strip in its place, from lamination to lamination.
    pub layers: Vec<SlabStrip>,
    /// Breadth across the laminations.
    pub breadth: Length,
    /// How many sub-slabs it is planed as before they are joined: 1 where the planer takes it whole.
    pub sub_slabs: u32,
    /// Indices into `layers` at which a new sub-slab starts, the first apart.
    pub breaks: Vec<usize>,
}

impl SlabMake {
    /// Whether its outermost strips are longer than its pieces need, because the planer does not feed less.
    pub fn is_carried(&self) -> bool {
        self.layers.iter().any(|layer| layer.left < layer.size.length)
    }

    /// How many strips it takes.
    pub fn strips_total(&self) -> u32 {
        self.layers.len() as u32
    }

    /// The layers of each sub-slab.
    pub fn parts(&self) -> impl Iterator<Item = &[SlabStrip]> {
        let starts = std::iter::once(0).chain(self.breaks.iter().copied());
        let ends = self.breaks.iter().copied().chain(std::iter::once(self.layers.len()));
        starts.zip(ends).map(|(a, b)| &self.layers[a..b])
    }
}

/// Depth that strips are ripped to: `finished + 2 (plane1 + plane2) + sanding`, rounded up to the mark.
pub fn strip_depth(finished: Length, shop: &Shop) -> Length {
    (finished + (shop.plane_slab + shop.plane_blank) * 2 + shop.sanding).ceil_to(shop.mark)
}

/// A strip before it is rounded and checked: what it has to span.
#[derive(Clone, Copy)]
struct Span {
    lamination: i64,
    /// Near end along the slab, allowance included.
    start: f64,
    /// Length, both allowances included.
    length: f64,
    places: (usize, usize),
}

impl Face {
    /// Every slab worth making, in a fixed order, within the limits of sheets, saw, clamps and planer.
    ///
    /// A make is left out when another yields the same from strips that are each no longer. For `B` bands there are
    /// at most `B (B + 1) / 2` runs; runs that mirror each other are one make. A round top of 10 bands has 30 makes, one
    /// of 34 some 300. Over 40 bands (or blocks a slab), only some numbers are offered.
    ///
    /// # Errors
    /// One refusal for each kind of piece that no slab within the limits yields.
    pub fn makes(&self, shop: &Shop) -> Result<Vec<SlabMake>, Vec<Refusal>> {
        let mut all = Makes {
            face: self,
            shop,
            depth: strip_depth(self.spec.finished, shop),
            kept: Vec::new(),
            alike: BTreeMap::new(),
            limits: Vec::new(),
        };
        all.limits.resize(self.covers.len(), None);
        match self.cutting {
            Cutting::Blocks(run) => all.blocks(run),
            Cutting::Runs(Cut::None) => all.single(0.0, &[0]),
            Cutting::Runs(Cut::Bias { angle, width } | Cut::HalfBias { angle, width }) => {
                all.bands(angle, width)
            }
            Cutting::Runs(Cut::Wedge { half, lay: Lay::Along }) => {
                let firsts: Vec<usize> = self.covers.iter().map(|c| c.elements[0]).collect();
                all.single(shop.bias_kerf.to_mm() / half.sin(), &firsts);
            }
            Cutting::Runs(Cut::Wedge { half, lay: Lay::Across }) => all.wedges(half),
        }
        let refusals = all.refusals();
        if refusals.is_empty() { Ok(all.kept.into_iter().flatten().collect()) } else { Err(refusals) }
    }
}

struct Makes<'a> {
    face: &'a Face,
    shop: &'a Shop,
    depth: Length,
    /// `None` where a better one came later.
    kept: Vec<Option<SlabMake>>,
    /// Indices into `kept` by what they yield.
    alike: BTreeMap<Vec<(usize, u32)>, Vec<usize>>,
    /// For each cover that nothing yields yet, the limit that stood in the way of the slab that came nearest.
    limits: Vec<Option<Limit>>,
}

impl Makes<'_> {
    fn sequence(&self) -> &Sequence {
        &self.face.spec.sequence
    }

    fn allow(&self) -> f64 {
        self.shop.end_allowance.to_mm()
    }

    fn wants(&self, style: SlabStyle) -> bool {
        self.face.spec.slab == style || self.face.spec.slab == SlabStyle::Either
    }

    /// Bands by parallel cuts: every run of neighbours.
    fn bands(&mut self, angle: Angle, width: Length) {
        let elements = &self.face.elements;
        for first in 0..elements.len() {
            let chain = elements[first].chain;
            let last =
                (first..elements.len()).take_while(|&e| elements[e].chain == chain).last().unwrap_or(first);
            let whole = elements.iter().filter(|e| e.chain == chain).count();
            for end in (first..=last).filter(|end| worth_making(end - first + 1, whole)) {
                // A longer run needs longer strips: once a run does not fit, neither does any that holds it.
                let mut fits = false;
                if self.wants(SlabStyle::Even) || !self.face.spec.staggered {
                    fits |= self.even_run(first, end, angle, width);
                }
                if self.wants(SlabStyle::Shaped) && self.face.spec.staggered {
                    fits |= self.shaped_run(first, end, angle, width);
                }
                if !fits {
                    break;
                }
            }
        }
    }

    /// All strips alike: the bands slide along their joints by whole runs of the sequence until they all lie within
    /// the laminations of the one that has most.
    fn even_run(&mut self, first: usize, end: usize, angle: Angle, width: Length) -> bool {
        let run = self.sequence().run();
        let elements = &self.face.elements[first..=end];
        let window = |residue: i64| {
            elements
                .iter()
                .map(|e| (e.first - residue).rem_euclid(run) + i64::from(e.laminations))
                .max()
                .unwrap_or(0)
        };
        let residue = (0..run).min_by_key(|&r| (window(r), r)).unwrap_or(0);
        let slides: Vec<i64> =
            elements.iter().map(|e| e.first - residue - (e.first - residue).rem_euclid(run)).collect();
        let span = (residue, residue + window(residue) - 1);
        let layers: Vec<Span> =
            (span.0..=span.1).map(|j| self.band_strip(j, span, (0, end - first), angle, width)).collect();
        self.offer(MakeStyle::Even, layers, self.band_places(first, &slides, angle, width), Some(angle))
    }

    /// Each strip as long as its own run of bands needs; every band keeps its own numbering.
    fn shaped_run(&mut self, first: usize, end: usize, angle: Angle, width: Length) -> bool {
        let elements = &self.face.elements[first..=end];
        let low = elements.iter().map(|e| e.first).min().unwrap_or(0);
        let high = elements.iter().map(|e| e.first + i64::from(e.laminations) - 1).max().unwrap_or(0);
        let mut layers = Vec::new();
        for j in low..=high {
            let needs = |e: &crate::face::Element| (e.first..e.first + i64::from(e.laminations)).contains(&j);
            let (Some(from), Some(to)) = (elements.iter().position(needs), elements.iter().rposition(needs))
            else {
                // Bands that share no lamination do not come from one slab.
                return false;
            };
            layers.push(self.band_strip(j, (low, high), (from, to), angle, width));
        }
        let slides = vec![0; elements.len()];
        self.offer(MakeStyle::Shaped, layers, self.band_places(first, &slides, angle, width), Some(angle))
    }

    fn band_strip(
        &self,
        j: i64,
        slab: (i64, i64),
        places: (usize, usize),
        angle: Angle,
        width: Length,
    ) -> Span {
        let (b, k) = (width.to_mm(), self.shop.bias_kerf.to_mm());
        let many = (places.1 - places.0 + 1) as f64;
        let cuts = (many * b + (many + 1.0) * k) / angle.sin();
        let near = places.0 as f64 * (b + k) / angle.sin() - self.allow();
        let (from, to) = if self.face.spec.staggered { (j, j + 1) } else { (slab.0, slab.1 + 1) };
        let (from, to) = (self.sequence().start(from) * angle.cot(), self.sequence().start(to) * angle.cot());
        Span { lamination: j, start: near + from, length: cuts + (to - from) + 2.0 * self.allow(), places }
    }

    fn band_places(&self, first: usize, slides: &[i64], angle: Angle, width: Length) -> Vec<Place> {
        let (b, k) = (width.to_mm(), self.shop.bias_kerf.to_mm());
        let (s, c) = (angle.sin(), angle.cos());
        slides
            .iter()
            .enumerate()
            .map(|(i, &slide)| {
                let near = i as f64 * (b + k) + k;
                let up = self.sequence().start(slide);
                Place {
                    element: first + i,
                    sides: vec![[s, -c, near + b], [-s, c, -near]],
                    own: Motion { origin: Point::new((up * c - near) / s, up), ..Motion::STILL },
                }
            })
            .collect()
    }

    /// Blocks by square cuts: as many as the sheets' length allows.
    fn blocks(&mut self, run: Length) {
        let (l, k) = (run.to_mm(), self.shop.bias_kerf.to_mm());
        let Some(cover) = self.face.covers.first() else { return };
        let laminations = i64::from(self.face.elements[0].laminations);
        for many in (1..=cover.count as usize).filter(|&many| worth_making(many, many)) {
            let length = many as f64 * l + (many + 1) as f64 * k + 2.0 * self.allow();
            let layers = (0..laminations)
                .map(|lamination| Span { lamination, start: -self.allow(), length, places: (0, many - 1) })
                .collect();
            let places = (0..many)
                .map(|i| {
                    let near = i as f64 * (l + k) + k;
                    Place {
                        element: cover.elements[i % cover.elements.len()],
                        sides: vec![[1.0, 0.0, near + l], [-1.0, 0.0, -near]],
                        own: Motion { origin: Point::new(-near, 0.0), ..Motion::STILL },
                    }
                })
                .collect();
            if !self.offer(MakeStyle::Even, layers, places, Some(Angle::degrees(90.0))) {
                break;
            }
        }
    }

    /// One piece a slab, each strip as long as what is needed of its lamination, with `extra` at either end.
    fn single(&mut self, extra: f64, elements: &[usize]) {
        for &index in elements {
            let element = &self.face.elements[index];
            let strip = |lamination: i64, (a, b): (f64, f64)| Span {
                lamination,
                start: a - extra - self.allow(),
                length: b - a + 2.0 * (extra + self.allow()),
                places: (0, 0),
            };
            let whole = range(element.reach.iter().flat_map(|&(a, b)| [a, b]));
            let shaped = element.reach.iter().zip(element.first..).map(|(&own, j)| strip(j, own)).collect();
            let even = element.reach.iter().zip(element.first..).map(|(_, j)| strip(j, whole)).collect();
            let sides = self.own_sides(index);
            let place = vec![Place { element: index, sides, own: Motion::STILL }];
            if self.wants(SlabStyle::Even) {
                self.offer(MakeStyle::Even, even, place.clone(), None);
            }
            if self.wants(SlabStyle::Shaped) {
                self.offer(MakeStyle::Shaped, shaped, place, None);
            }
        }
    }

    /// An element's region in its own frame.
    fn own_sides(&self, index: usize) -> Vec<[f64; 3]> {
        let element = &self.face.elements[index];
        let m = &element.motion;
        let sides = element.region.iter();
        sides
            .map(|h| [h.normal.dot(m.along), h.normal.dot(m.across), h.reach - h.normal.dot(m.origin)])
            .collect()
    }

    /// Wedges with laminations across them, head to tail: every other one is turned end for end, so that the sides of
    /// neighbours are parallel and one kerf apart.
    fn wedges(&mut self, half: Angle) {
        let tan = half.tan();
        let kerf = self.shop.bias_kerf.to_mm() / half.cos();
        for cover in &self.face.covers {
            let index = cover.elements[0];
            let element = &self.face.elements[index];
            // Where the tip lies in the piece's own frame, and both ends of its laminations.
            let tip = element.motion.v_of(Point::default());
            let (first, last) = (element.first, element.first + i64::from(element.laminations) - 1);
            let (low, high) = (self.sequence().start(first), self.sequence().start(last + 1));
            let step = (low + high - 2.0 * tip) * tan + kerf;
            let most = if self.sequence().run() == 1 { cover.count as usize } else { 1 };
            for many in (1..=most).filter(|&many| worth_making(many, many)) {
                let reach = |place: usize, j: i64| {
                    let wide = if place.is_multiple_of(2) {
                        self.sequence().start(j + 1) - tip
                    } else {
                        low + high - self.sequence().start(j) - tip
                    };
                    wide * tan + kerf + self.allow()
                };
                let span = |j: i64| {
                    let (near, far) = (-reach(0, j), (many - 1) as f64 * step + reach(many - 1, j));
                    Span { lamination: j, start: near, length: far - near, places: (0, many - 1) }
                };
                let shaped: Vec<Span> = (first..=last).map(span).collect();
                let (near, far) = range(shaped.iter().flat_map(|s| [s.start, s.start + s.length]));
                let even = shaped.iter().map(|s| Span { start: near, length: far - near, ..*s }).collect();
                let places: Vec<Place> = (0..many)
                    .map(|i| {
                        let at = i as f64 * step;
                        let own = if i % 2 == 0 {
                            Motion { origin: Point::new(-at, 0.0), ..Motion::STILL }
                        } else {
                            Motion {
                                along: Point::new(-1.0, 0.0),
                                across: Point::new(0.0, -1.0),
                                origin: Point::new(at, low + high),
                            }
                        };
                        let side = |[a, b, c]: [f64; 3]| {
                            let n = Point::new(a, b);
                            [n.dot(own.along), n.dot(own.across), c - n.dot(own.origin)]
                        };
                        let sides = self.own_sides(index).into_iter().map(side).collect();
                        Place { element: cover.elements[i % cover.elements.len()], sides, own }
                    })
                    .collect();
                let mut fits = false;
                if self.wants(SlabStyle::Even) {
                    fits |= self.offer(MakeStyle::Even, even, places.clone(), None);
                }
                if self.wants(SlabStyle::Shaped) {
                    fits |= self.offer(MakeStyle::Shaped, shaped, places, None);
                }
                if !fits {
                    break;
                }
            }
        }
    }

    /// Rounds the strips, checks the limits, and keeps the make unless another is as good. False when it does not fit.
    fn offer(&mut self, style: MakeStyle, spans: Vec<Span>, places: Vec<Place>, cut: Option<Angle>) -> bool {
        let thick = |s: &Span| self.sequence().at(s.lamination).thickness + self.face.spec.sequence.glue_line;
        let thicknesses: Vec<Length> = spans.iter().map(thick).collect();
        let breaks = self.shop.planer.width.map_or_else(Vec::new, |width| parted_evenly(&thicknesses, width));
        let runners = self.runners(&spans, &breaks);
        let mut layers = Vec::with_capacity(spans.len());
        let mut limit = None;
        for (n, (span, &thick)) in spans.iter().zip(&thicknesses).enumerate() {
            let lamination = self.sequence().at(span.lamination);
            let needed = Length::ceil_mm(span.length, self.shop.mark);
            let carrying = runners.iter().find(|(runner, _)| *runner == n);
            let length = carrying
                .map_or(needed, |(_, end)| needed.max(Length::ceil_mm(end - span.start, self.shop.mark)));
            if length > lamination.longest {
                limit.get_or_insert(Limit::SheetLength { strip: length, longest: lamination.longest });
            }
            if let Some(width) = self.shop.planer.width.filter(|&width| thick > width) {
                limit.get_or_insert(Limit::PlanerWidth { strip: thick, width });
            }
            layers.push(SlabStrip {
                size: StripSize { kind: lamination.kind, length, depth: self.depth },
                left: needed,
                lamination: span.lamination,
                start: span.start,
                spans: span.length,
                places: span.places,
            });
        }
        let breadth = thicknesses.iter().copied().sum();
        if let Some(reach) = self.shop.clamp.reach.filter(|&reach| breadth > reach) {
            limit.get_or_insert(Limit::ClampReach { breadth, reach });
        }
        if let (Some(reach), Some(angle)) = (self.shop.saw_reach, cut) {
            let cut = Length::ceil_mm(breadth.to_mm() / angle.sin(), self.shop.mark);
            if cut > reach {
                limit.get_or_insert(Limit::SawReach { cut, reach });
            }
        }
        if let Some(limit) = limit {
            for place in &places {
                self.limits[self.face.elements[place.element].cover].get_or_insert(limit.clone());
            }
            return false;
        }
        let mut yields: Vec<(usize, u32)> = Vec::new();
        for place in &places {
            let cover = self.face.elements[place.element].cover;
            match yields.iter_mut().find(|y| y.0 == cover) {
                Some(y) => y.1 += 1,
                None => yields.push((cover, 1)),
            }
        }
        yields.sort_unstable();
        let strips = count_sizes(layers.iter().map(|l| l.size));
        let sub_slabs = breaks.len() as u32 + 1;
        let make = SlabMake { style, places, yields, strips, layers, breadth, sub_slabs, breaks };
        // Only makes that yield the same compare.
        let same = self.alike.entry(make.yields.clone()).or_default();
        if !same.iter().any(|&k| self.kept[k].as_ref().is_some_and(|k| k.serves_for(&make))) {
            for &k in same.iter() {
                if self.kept[k].as_ref().is_some_and(|k| make.serves_for(k)) {
                    self.kept[k] = None;
                }
            }
            same.push(self.kept.len());
            self.kept.push(Some(make));
        }
        true
    }

    /// The strips that carry what the planer would not feed, each with where it has to end: of every part of a slab shorter than
    /// that, the two outermost, which make it long enough from its near end on (runners at both sides: common practice, no
    /// source).
    fn runners(&self, spans: &[Span], breaks: &[usize]) -> Vec<(usize, f64)> {
        let shortest = self.shop.planer.shortest.to_mm();
        let ends = breaks.iter().copied().chain([spans.len()]);
        let firsts = [0].into_iter().chain(breaks.iter().copied());
        let mut all = Vec::new();
        for (first, end) in firsts.zip(ends) {
            let (near, far) = range(spans[first..end].iter().flat_map(|s| [s.start, s.start + s.length]));
            if far - near < shortest - 1e-6 {
                all.extend([first, end - 1].map(|runner| (runner, near + shortest)));
            }
        }
        all
    }

    fn refusals(&self) -> Vec<Refusal> {
        let yielded =
            |cover: usize| self.kept.iter().flatten().any(|m| m.yields.iter().any(|y| y.0 == cover));
        let missing = (0..self.face.covers.len()).filter(|&c| !yielded(c));
        let refuse = |c: usize| {
            let limit = self.limits[c].clone()?;
            Some(Refusal::NoSlab { element: self.face.covers[c].elements[0] + 1, limit })
        };
        missing.filter_map(refuse).collect()
    }
}

/// Whether slabs of so many pieces, of so many in all, are offered: any number where there are no more than 40, so that
/// a top has a few hundred makes, and beyond that 1, 2, 3, 4, 6, 8, 12, 16, 24 and so on, which make up any number.
fn worth_making(many: usize, of: usize) -> bool {
    let odd = many >> many.trailing_zeros();
    of <= 40 || odd == 1 || odd == 3
}

/// Where strips so thick are parted so that a planer takes every part: as few parts as may be, as even as may be.
fn parted_evenly(thicknesses: &[Length], planer: Length) -> Vec<usize> {
    let fewest = parted(thicknesses, planer);
    let thickest = thicknesses.iter().copied().max().unwrap_or_default();
    if fewest.is_empty() || thickest > planer {
        return fewest;
    }
    // The narrowest limit that gives as few parts makes them as even as they can be.
    let (mut low, mut high) = (thickest.nm(), planer.nm());
    while low < high {
        let middle = low + (high - low) / 2;
        if parted(thicknesses, Length::from_nm(middle)).len() > fewest.len() {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    parted(thicknesses, Length::from_nm(high))
}

/// Where a new part starts when each is filled up to a limit.
fn parted(thicknesses: &[Length], limit: Length) -> Vec<usize> {
    let (mut breaks, mut part) = (Vec::new(), Length::ZERO);
    for (n, &thick) in thicknesses.iter().enumerate() {
        if part.is_positive() && part + thick > limit {
            breaks.push(n);
            part = Length::ZERO;
        }
        part += thick;
    }
    breaks
}

/// Sizes with how many of each, by kind, longest first.
pub(crate) fn count_sizes(sizes: impl Iterator<Item = StripSize>) -> Vec<(StripSize, u32)> {
    let mut all: Vec<StripSize> = sizes.collect();
    all.sort_by_key(|s| (s.kind, std::cmp::Reverse(s.length), s.depth));
    let mut counted: Vec<(StripSize, u32)> = Vec::new();
    for size in all {
        match counted.last_mut() {
            Some(last) if last.0 == size => last.1 += 1,
            _ => counted.push((size, 1)),
        }
    }
    counted
}

impl SlabMake {
    /// Whether this yields what `other` yields from strips of which each is no longer.
    fn serves_for(&self, other: &SlabMake) -> bool {
        if self.yields != other.yields || self.layers.len() > other.layers.len() {
            return false;
        }
        // Longest first within a kind; comparing in that order finds a pairing if there is one.
        let flat = |make: &SlabMake| -> Vec<StripSize> {
            make.strips.iter().flat_map(|&(size, n)| std::iter::repeat_n(size, n as usize)).collect()
        };
        let (mine, theirs) = (flat(self), flat(other));
        let mut kinds: Vec<usize> = theirs.iter().map(|s| s.kind).collect();
        kinds.dedup();
        let of = |all: &[StripSize], kind: usize| -> Vec<Length> {
            all.iter().filter(|s| s.kind == kind).map(|s| s.length).collect()
        };
        mine.iter().all(|s| kinds.contains(&s.kind))
            && kinds.iter().all(|&kind| {
                let (a, b) = (of(&mine, kind), of(&theirs, kind));
                a.len() <= b.len() && a.iter().zip(&b).all(|(x, y)| x <= y)
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 17 strips of 18 mm under 305 mm could be 16 and 1, and are 9 and 8; 33 are three elevens. Of unlike
    /// strips the breadths are even, not the numbers, and no part is broader than the planer.
    #[test]
    fn slabs_are_parted_as_evenly_as_may_be() {
        let mm = Length::from_mm;
        assert_eq!(parted_evenly(&[mm(18); 16], mm(305)), Vec::<usize>::new());
        assert_eq!(parted_evenly(&[mm(18); 17], mm(305)), [9]);
        assert_eq!(parted_evenly(&[mm(18); 33], mm(305)), [11, 22]);
        let unlike = [vec![mm(30); 4], vec![mm(5); 8]].concat();
        assert_eq!(parted_evenly(&unlike, mm(100)), [3]);
        assert_eq!(parted_evenly(&[mm(40); 3], mm(30)), [1, 2]);
    }
}
