//! From an answer of the packing to a plan's plain data.

use stripwright_packing as packing;
use stripwright_packing::{Answer, Direction, Within};
use stripwright_pattern as pattern;
use stripwright_pattern::{
    Across, Centre, Element, Loss, PhaseReason, Place, SlabMake, SlabStrip, Unrolled, Way,
};
use stripwright_units::{Length, Money, System};

use crate::asked::{Asked, AskedTop};
use crate::figures::{Mm, rounded};
use crate::job::{Job, Top};
use crate::mass::mass;
use crate::pin::pin;
use crate::plan;
use crate::sawing::{Areas, Sawn, saw};
use crate::wording::count;
use crate::words::Words;

/// Millimetres a point of a curve may lie off its polygon in [`plan::Face`].
const FINE: f64 = 0.05;

/// The layouts, each with its cuts, and the ledger of the bought sheets.
pub(crate) fn layouts(job: &Job, asked: &Asked, answer: &Answer) -> (Vec<plan::Layout>, plan::Stage) {
    let problem = &asked.problem;
    let size = |piece: usize| (problem.pieces[piece].length, problem.pieces[piece].width);
    let name = |piece: usize| problem.pieces[piece].name.clone();
    let mut total = Areas::default();
    let mut layouts = Vec::new();
    for layout in &answer.layouts {
        let stock = &problem.stocks[layout.stock];
        let Sawn { placed, cuts, offcuts, areas } = saw(layout, stock, &problem.cutting, &size, job.mark);
        let times = i128::from(layout.times);
        total.sheet += times * areas.sheet;
        total.pieces += times * areas.pieces;
        total.trim += times * areas.trim;
        total.kerf += times * areas.kerf;
        total.offcuts += times * areas.offcuts;
        let pieces = placed
            .into_iter()
            .map(|p| plan::Placed {
                part: name(p.piece),
                x: p.x.into(),
                y: p.y.into(),
                length: p.length.into(),
                width: p.width.into(),
                turned: p.turned,
            })
            .collect();
        layouts.push(plan::Layout {
            sheet: stock.name.clone(),
            times: layout.times,
            pieces,
            offcuts,
            cuts,
            region: region(&layout.root, &name),
        });
    }
    let loss = |cause: &str, nm2| plan::Loss { cause: cause.to_string(), amount: mm2(nm2) };
    let stage = plan::Stage {
        stage: "sheets".to_string(),
        unit: "mm2".to_string(),
        input: mm2(total.sheet),
        added: 0.0,
        output: mm2(total.pieces),
        lost: vec![loss("trim", total.trim), loss("kerf", total.kerf), loss("offcuts", total.offcuts)],
    };
    (layouts, stage)
}

fn region(from: &packing::Region, name: &dyn Fn(usize) -> String) -> plan::Region {
    let within = match &from.within {
        Within::Cut(direction, children) => plan::Within::Cut {
            direction: match direction {
                Direction::Rip => plan::Direction::Rip,
                Direction::Crosscut => plan::Direction::Crosscut,
            },
            into: children.iter().map(|child| region(child, name)).collect(),
        },
        Within::Piece { piece, turned } => plan::Within::Piece { part: name(*piece), turned: *turned },
        Within::Offcut => plan::Within::Offcut,
    };
    plan::Region {
        x: from.x.into(),
        y: from.y.into(),
        length: from.length.into(),
        width: from.width.into(),
        within,
    }
}

/// What to buy of each kind of sheet.
pub(crate) fn buy_sheets(job: &Job, asked: &Asked, answer: &Answer) -> Vec<plan::BuySheet> {
    let used = answer.sheets(&asked.problem);
    let bought = job.sheets.iter().zip(used).filter(|(_, count)| *count > 0);
    bought
        .map(|(sheet, count)| plan::BuySheet { name: sheet.name.clone(), count, price: sheet.price.into() })
        .collect()
}

/// The largest of the offcuts to keep, the first of equals.
pub(crate) fn largest_offcut(layouts: &[plan::Layout]) -> Option<plan::LargestOffcut> {
    let mut largest: Option<(i128, plan::LargestOffcut)> = None;
    for layout in layouts {
        for offcut in layout.offcuts.iter().filter(|offcut| offcut.keep) {
            let area = offcut.length.area_nm2(*offcut.width);
            if largest.as_ref().is_none_or(|(known, _)| area > *known) {
                let (length, width) = (offcut.length, offcut.width);
                largest = Some((area, plan::LargestOffcut { sheet: layout.sheet.clone(), length, width }));
            }
        }
    }
    largest.map(|(_, offcut)| offcut)
}

/// An area in square millimetres.
pub(crate) fn mm2(nm2: i128) -> f64 {
    rounded(nm2 as f64 / 1e12)
}

/// The sheets that could be chosen.
pub(crate) fn sheets(job: &Job) -> Vec<plan::Sheet> {
    let sheet = |sheet: &crate::job::Sheet| plan::Sheet {
        name: sheet.name.clone(),
        length: sheet.length.into(),
        width: sheet.width.into(),
        thickness: sheet.thickness.map(Mm),
        measured: sheet.measured.map(Mm),
        price: sheet.price.into(),
        limit: sheet.limit,
        trim: plan::Trim {
            left: sheet.trim[0].into(),
            right: sheet.trim[1].into(),
            bottom: sheet.trim[2].into(),
            top: sheet.trim[3].into(),
        },
    };
    job.sheets.iter().map(sheet).collect()
}

/// The rules of the saw.
pub(crate) fn cutting(job: &Job) -> plan::Cutting {
    plan::Cutting {
        first: job.cutting.first,
        stages: job.cutting.stages,
        rip_kerf: job.cutting.rip_kerf.into(),
        crosscut_kerf: job.cutting.crosscut_kerf.into(),
        longest_rip: job.shop.longest_rip.map(Mm),
        fence_reach: job.shop.fence_reach.map(Mm),
        smallest_rip: job.shop.smallest_rip.map(Mm),
        useful_offcut: job.cutting.keep.map(|keep| keep.map(Mm)),
    }
}

/// Every size that was packed.
pub(crate) fn demands(asked: &Asked, answer: &Answer) -> Vec<plan::Demand> {
    let problem = &asked.problem;
    let spare = |n: usize| answer.spare.iter().find(|(piece, _)| *piece == n).map_or(0, |(_, spare)| *spare);
    let demand = |(n, piece): (usize, &packing::Piece)| plan::Demand {
        id: piece.name.clone(),
        length: piece.length.into(),
        width: piece.width.into(),
        count: piece.count,
        spare: spare(n),
        may_turn: piece.may_turn,
        sheets: piece.stocks.iter().map(|&s| problem.stocks[s].name.clone()).collect(),
    };
    problem.pieces.iter().enumerate().map(demand).collect()
}

/// Bands to cover.
pub(crate) fn covers(asked: &Asked) -> Vec<plan::Cover> {
    asked
        .problem
        .covers
        .iter()
        .map(|cover| plan::Cover { name: cover.name.clone(), count: cover.count })
        .collect()
}

/// Slabs that could have been made.
pub(crate) fn makes(asked: &Asked, answer: &Answer) -> Vec<plan::Make> {
    let problem = &asked.problem;
    let times = |n: usize| answer.makes.iter().find(|(make, _)| *make == n).map_or(0, |(_, times)| *times);
    let make = |(n, make): (usize, &packing::Make)| plan::Make {
        name: make.name.clone(),
        yields: make.yields.clone(),
        uses: make.uses.iter().map(|(piece, n)| (problem.pieces[*piece].name.clone(), *n)).collect(),
        times: times(n),
    };
    problem.makes.iter().enumerate().map(make).collect()
}

/// The certificate, price by price.
pub(crate) fn certificate(from: &packing::Certificate) -> plan::Certificate {
    let branch = |b: &packing::Branch| plan::Branch { sheet: b.stock, least: b.least, most: b.most };
    let leaf = |leaf: &packing::Leaf| plan::Leaf {
        branches: leaf.branches.iter().map(branch).collect(),
        pieces: leaf.pieces.clone(),
        covers: leaf.covers.clone(),
        upper: leaf.upper.clone(),
        lower: leaf.lower.clone(),
        forks: leaf.forks.iter().map(fork).collect(),
    };
    plan::Certificate {
        scale: from.scale,
        proper: from.proper,
        leaves: from.leaves.iter().map(leaf).collect(),
    }
}

fn fork(from: &packing::Fork) -> plan::Fork {
    let packing::Count { stocks, first, what } = &from.count;
    plan::Fork {
        sheets: stocks.clone(),
        first: match first {
            Direction::Rip => plan::Direction::Rip,
            Direction::Crosscut => plan::Direction::Crosscut,
        },
        count: match what {
            packing::Counted::Sheets => plan::Counted::Sheets,
            packing::Counted::Strips { width } => plan::Counted::Strips { width: (*width).into() },
            packing::Counted::Pieces { width, pieces } => {
                plan::Counted::Pieces { width: (*width).into(), demands: pieces.clone() }
            }
        },
        at: from.at,
        more: from.more,
        price: from.price,
    }
}

/// How far money is above its bound, as a share of the money.
pub(crate) fn gap(money: Money, bound: Money) -> f64 {
    if money == bound {
        return 0.0;
    }
    // A plan that is read back may hold any money.
    let above = i128::from(money.minor()) - i128::from(bound.minor());
    rounded(above as f64 / money.minor() as f64)
}

/// One top with its slabs.
pub(crate) fn top(
    job: &Job,
    asked: &Asked,
    n: usize,
    unrolled: &Unrolled,
    layouts: &[plan::Layout],
) -> plan::Top {
    let (from, own) = (&job.tops[n], &asked.tops[n]);
    let face = &own.face;
    let pitch = pitch(face);
    let depth =
        own.makes.first().and_then(|make| make.strips.first()).map_or(from.finished, |(size, _)| size.depth);
    plan::Top {
        name: from.name.clone(),
        count: from.count,
        pattern: chosen_pattern(from, own),
        outline: outline(&from.outline),
        margin: from.margin.into(),
        finished: from.finished.into(),
        pitch: pitch.into(),
        depth: depth.into(),
        bands: face.elements.len() as u32,
        laminations: face.laminations(),
        slabs: slabs(job, asked, own, &from.name, unrolled),
        strips_total: unrolled.strips_total,
        glue: unrolled.glue.iter().map(glue).collect(),
        planer: unrolled.planing.iter().map(planing).collect(),
        flatten: unrolled
            .ways
            .iter()
            .enumerate()
            .map(|(n, way)| flatten(way, n == 0, job.shop.pattern.planer.width, job.system))
            .collect(),
        blank: [unrolled.blank.size.0.into(), unrolled.blank.size.1.into()],
        pin: pin(from, own, unrolled, job.mark),
        ledger: unrolled.ledger.stages.iter().map(stage).collect(),
        area: rounded(from.outline.area() / 1e6),
        mass: Some(rounded(mass(job, asked, own, unrolled, layouts) * 1000.0)),
        face: face_as_laid(job, asked, from, own, unrolled),
    }
}

/// The face to draw, before it is known what its slabs are.
pub(crate) fn face(job: &Job, asked: &Asked, top: &Top, own: &AskedTop) -> plan::Face {
    let cells = own.face.cells.iter();
    let cells = cells.map(|c| cell(job, asked, own, (c.element, c.lamination, c.kind), &c.polygon)).collect();
    plan::Face { outline: edge(top), cells, beyond: Vec::new() }
}

/// The face and its blank as they are glued up.
fn face_as_laid(job: &Job, asked: &Asked, top: &Top, own: &AskedTop, unrolled: &Unrolled) -> plan::Face {
    let [cells, beyond] = unrolled.as_laid(&own.face, &own.makes).map(|laid| {
        let cell =
            |c: &pattern::BuiltCell| cell(job, asked, own, (c.element, c.lamination, c.kind), &c.polygon);
        laid.iter().map(cell).collect()
    });
    plan::Face { outline: edge(top), cells, beyond }
}

fn edge(top: &Top) -> Vec<[f64; 2]> {
    top.outline.edge(FINE).iter().map(|p| point(*p)).collect()
}

pub(crate) fn pitch(face: &pattern::Face) -> Length {
    let sequence = &face.spec.sequence;
    sequence.laminations.iter().map(|lamination| lamination.thickness + sequence.glue_line).sum()
}

pub(crate) fn chosen_pattern(top: &Top, own: &AskedTop) -> plan::Pattern {
    use pattern::Pattern as P;
    let (kind, angle) = match &top.pattern {
        P::Straight { angle } => ("straight", Some(*angle)),
        P::Chevron { angle, .. } => ("chevron", Some(*angle)),
        P::Diamond { angle, .. } => ("diamond", Some(*angle)),
        P::Sunburst { .. } => ("sunburst", None),
        P::Herringbone { .. } => ("herringbone", None),
        P::RunningBond { turn, .. } => ("running bond", Some(*turn)),
        P::BasketWeave { turn, .. } => ("basket weave", Some(*turn)),
    };
    let face = &own.face;
    let centre = match &top.pattern {
        P::Chevron { centre: Some(Centre::Band), .. } => Some("band"),
        P::Chevron { centre: Some(Centre::Seam), .. } => Some("seam"),
        P::Chevron { .. } => Some(if face.elements.len() % 2 == 1 { "band" } else { "seam" }),
        _ => None,
    };
    plan::Pattern {
        kind: kind.to_string(),
        angle: angle.map(|angle| angle.to_degrees()),
        band: face.band_width.map(Mm),
        centre: centre.map(str::to_string),
        block: face.block.map(|(width, length)| [width.into(), length.into()]),
        phase: [rounded(face.phase.0), rounded(face.phase.1)],
        phase_reason: match face.reason {
            PhaseReason::Held => "held",
            PhaseReason::Symmetric => "symmetric",
            PhaseReason::Fewest => "fewest",
        }
        .to_string(),
    }
}

/// Slabs of one make that become the same bands are one entry.
fn slabs(job: &Job, asked: &Asked, own: &AskedTop, name: &str, unrolled: &Unrolled) -> Vec<plan::Slab> {
    let mut alike: Vec<(usize, Vec<Option<usize>>, u32)> = Vec::new();
    for slab in &unrolled.slabs {
        let bands: Vec<Option<usize>> =
            slab.pieces.iter().map(|piece| piece.map(|(_, element)| element)).collect();
        match alike.iter_mut().find(|(make, other, _)| *make == slab.make && *other == bands) {
            Some((_, _, times)) => *times += 1,
            None => alike.push((slab.make, bands, 1)),
        }
    }
    let several = alike.len() > 1;
    let slab = |(n, (make, bands, times)): (usize, &(usize, Vec<Option<usize>>, u32))| {
        let make = &own.makes[*make];
        let mut strips: Vec<plan::Strips> = Vec::new();
        for layer in &make.layers {
            let piece = &asked.problem.pieces[asked.piece(job, layer.size, own.may_turn)];
            match strips.last_mut() {
                Some(last) if last.id == piece.name => last.count += 1,
                _ => strips.push(plan::Strips {
                    id: piece.name.clone(),
                    sheets: piece.stocks.iter().map(|&s| asked.problem.stocks[s].name.clone()).collect(),
                    length: piece.length.into(),
                    width: piece.width.into(),
                    count: 1,
                }),
            }
        }
        let starts: Vec<f64> = make.layers.iter().map(|layer| layer.start).collect();
        let left = starts.iter().copied().fold(f64::INFINITY, f64::min);
        let ends = make.layers.iter().map(|layer| layer.start + layer.size.length.to_mm());
        let right = ends.fold(f64::NEG_INFINITY, f64::max);
        plan::Slab {
            name: if several { format!("{name}, slab {}", n + 1) } else { format!("{name}, slab") },
            times: *times,
            bands: bands.iter().flatten().map(|e| *e as u32 + 1).collect(),
            spare: bands.iter().filter(|band| band.is_none()).count() as u32,
            strips,
            breadth: make.breadth.into(),
            length: if left <= right { Length::nearest_mm(right - left).into() } else { Mm::default() },
            stagger: stagger(&starts).into(),
            parts: make.parts().map(|part| part.len() as u32).collect(),
            layers: layers(job, asked, own, make),
            pieces: pieces(own, make, bands),
        }
    };
    alike.iter().enumerate().map(slab).collect()
}

fn layers(job: &Job, asked: &Asked, own: &AskedTop, make: &SlabMake) -> Vec<plan::Layer> {
    let sequence = &own.face.spec.sequence;
    let layer = |layer: &SlabStrip| plan::Layer {
        id: asked.problem.pieces[asked.piece(job, layer.size, own.may_turn)].name.clone(),
        start: rounded(layer.start),
        length: layer.size.length.into(),
        left: (layer.left < layer.size.length).then(|| layer.left.into()),
        pitch: (sequence.at(layer.lamination).thickness + sequence.glue_line).into(),
    };
    make.layers.iter().map(layer).collect()
}

fn pieces(own: &AskedTop, make: &SlabMake, bands: &[Option<usize>]) -> Vec<plan::SlabPiece> {
    let sequence = &own.face.spec.sequence;
    let halved = matches!(own.face.spec.pattern, pattern::Pattern::Diamond { .. });
    // The cuts are written from the outer face of lamination 0; the slab begins at its first strip.
    let first = make.layers.first().map_or(0.0, |layer| sequence.start(layer.lamination));
    let piece = |(place, band): (&Place, &Option<usize>)| plan::SlabPiece {
        band: band.map(|element| element as u32 + 1),
        turned: band.is_some_and(|element| own.face.elements[element].turned),
        sides: place
            .sides
            .iter()
            .map(|[a, b, c]| [rounded(*a), rounded(*b), rounded(c - b * first)])
            .collect(),
        trim: band.filter(|_| halved).map(|element| {
            let [a, b, c] = middle_line(&own.face.elements[element], &place.own);
            [rounded(a), rounded(b), rounded(c - b * first)]
        }),
    };
    make.places.iter().zip(bands).map(piece).collect()
}

/// The half plane of a slab's frame that comes to lie on an element's side of the middle line, `y = 0` in the face.
fn middle_line(element: &Element, own: &pattern::Motion) -> [f64; 3] {
    let y = |u, v| element.motion.apply(own.apply(pattern::Point::new(u, v))).y;
    let (c, a, b) = (y(0.0, 0.0), y(1.0, 0.0) - y(0.0, 0.0), y(0.0, 1.0) - y(0.0, 0.0));
    let upper = element.shape.iter().map(|p| p.y).sum::<f64>() > 0.0;
    if upper { [-a, -b, c] } else { [a, b, -c] }
}

/// How far strips of like run are slid past one another: the step from strip to strip that is met most often, the first
/// of equals.
fn stagger(starts: &[f64]) -> Length {
    let steps: Vec<Length> = starts.windows(2).map(|w| Length::nearest_mm(w[1] - w[0])).collect();
    let met =
        |step: &Length| steps.iter().filter(|other| (**other - *step).abs() < Length::from_um(1)).count();
    steps.iter().rev().max_by_key(|step| met(step)).copied().unwrap_or_default()
}

fn cell(
    job: &Job,
    asked: &Asked,
    own: &AskedTop,
    (element, lamination, kind): (usize, i64, usize),
    polygon: &[pattern::Point],
) -> plan::Cell {
    let goods = asked.goods.get(kind).and_then(|goods| goods.sheets.first());
    let Element { first, turned, .. } = own.face.elements[element];
    plan::Cell {
        band: element as u32 + 1,
        lamination: lamination - first + 1,
        turned,
        sheet: goods.map(|&s| job.sheets[s].name.clone()).unwrap_or_default(),
        corners: polygon.iter().map(|p| point(*p)).collect(),
    }
}

/// A point of a drawing, to the micrometre: finer than any pen, and short to write.
fn point(p: pattern::Point) -> [f64; 2] {
    let tidy = |v: f64| rounded((v * 1e3).round() / 1e3);
    [tidy(p.x), tidy(p.y)]
}

fn glue(stage: &pattern::GlueStage) -> plan::Glue {
    plan::Glue {
        stage: stage.name.to_string(),
        joints: stage.joints,
        area: rounded(stage.area / 1e6),
        grams: rounded(stage.grams),
        section: stage.section,
        glue_ups: stage.glue_ups,
        clamps_by_spacing: stage.clamps_by_spacing,
        clamps_by_force: stage.clamps_by_force,
        clamp_spacing: stage.clamp_spacing.into(),
    }
}

fn planing(stage: &pattern::PlaneStage) -> plan::Planing {
    plan::Planing {
        stage: stage.name.to_string(),
        from: stage.from.into(),
        to: stage.to.into(),
        passes: stage.passes,
        pieces: stage.pieces,
        feed: rounded(stage.feed),
    }
}

fn flatten(way: &Way, first: bool, planer: Option<Length>, system: System) -> String {
    let planer = planer.unwrap_or_default().show(system);
    let or = if first {
        format!(
            "The blank is wider than the planer ({planer}) and no straight joints part it narrowly enough: flatten it"
        )
    } else {
        "Or flatten it".to_string()
    };
    match way {
        Way::Whole { passes } => {
            format!("The planer takes each blank whole: {}, both faces.", count(*passes, "pass", "passes"))
        }
        Way::Parts { parts, passes, joints } => format!(
            "The blank is wider than the planer ({planer}): plane it in {} ({} in all) and glue {} afterwards.",
            count(*parts, "part", "parts"),
            count(*passes, "pass", "passes"),
            if *joints == 1 { "the last joint".to_string() } else { format!("the last {joints} joints") }
        ),
        Way::Sled { rows, passes, minutes } => format!(
            "{or} with a router on a sled: {} of {}, about {minutes:.0} minutes a blank.",
            count(*passes, "pass", "passes"),
            count(*rows, "row", "rows")
        ),
        Way::DrumSander { passes } => {
            format!("{or} in the drum sander: {}, both faces.", count(*passes, "pass", "passes"))
        }
    }
}

fn stage(stage: &pattern::Stage) -> plan::Stage {
    let loss = |(cause, amount): &(Loss, f64)| plan::Loss {
        cause: match cause {
            Loss::Kerf => "kerf",
            Loss::Trim => "trim",
            Loss::StaggerEnds => "stagger ends",
            Loss::Rounding => "rounding",
            Loss::Shavings => "shavings",
            Loss::Offcuts => "offcuts",
            Loss::OutlineWaste => "outline waste",
            Loss::Dust => "dust",
        }
        .to_string(),
        amount: rounded(*amount),
    };
    plan::Stage {
        stage: stage.name.to_string(),
        unit: "mm3".to_string(),
        input: rounded(stage.input),
        added: rounded(stage.added),
        output: rounded(stage.output),
        lost: stage.losses.iter().map(loss).collect(),
    }
}

pub(crate) fn outline(from: &pattern::Outline) -> plan::Outline {
    use pattern::Outline as O;
    match from {
        O::Round { diameter } => plan::Outline::Round { diameter: (*diameter).into() },
        O::Oval { length, width } => plan::Outline::Oval { length: (*length).into(), width: (*width).into() },
        O::Rectangle { length, width } => plan::Outline::Rectangle {
            length: (*length).into(),
            width: (*width).into(),
            radius: Mm::default(),
        },
        O::RoundedRectangle { length, width, radius } => plan::Outline::Rectangle {
            length: (*length).into(),
            width: (*width).into(),
            radius: (*radius).into(),
        },
        O::Polygon { sides, size } => {
            let flats = match size {
                Across::Flats(flats) => flats.to_mm(),
                Across::Corners(corners) => {
                    corners.to_mm() * stripwright_units::trig::cos(std::f64::consts::PI / f64::from(*sides))
                }
            };
            plan::Outline::Polygon { sides: *sides, across_flats: rounded(flats) }
        }
        O::Free { points } => {
            plan::Outline::Points { points: points.iter().map(|(x, y)| [Mm(*x), Mm(*y)]).collect() }
        }
    }
}

/// What the maker should know: slivers, spares, lengthened strips, sub-slabs.
pub(crate) fn notes(job: &Job, asked: &Asked, unrolled: &[Unrolled]) -> Vec<String> {
    let mut notes = Vec::new();
    for ((top, unrolled), written) in asked.tops.iter().zip(unrolled).zip(&job.tops) {
        let name = &written.name;
        notes.extend(slivers(name, &top.face, Words { system: job.system }));
        let made = |n: usize| unrolled.slabs.iter().any(|slab| slab.make == n);
        if top.makes.iter().enumerate().any(|(n, make)| make.is_carried() && made(n)) {
            notes.push(format!(
                "{name}: slabs shorter than the planer feeds are carried through it by their two outermost strips, which are longer \
                 than their pieces need."
            ));
        }
        if top.makes.iter().enumerate().any(|(n, make)| make.sub_slabs > 1 && made(n)) {
            notes.push(format!(
                "{name}: some slabs are broader than the planer; each is glued and planed in parts that are then joined."
            ));
        }
        notes.extend(spares(name, &top.face, unrolled));
        if unrolled.beyond_clamps
            && let Some(reach) = job.shop.pattern.clamp.reach
        {
            notes.push(format!(
                "{name}: a blank is {} across its joints and the clamps span {}: {}.",
                unrolled.blank.pressed.ceil_to(job.mark).show(job.system),
                reach.show(job.system),
                crate::wording::WIDER_THAN_CLAMPS
            ));
        }
    }
    notes
}

/// Slivers named by their places, as many as a sentence bears.
fn slivers(name: &str, face: &pattern::Face, words: Words) -> Option<String> {
    const NAMED: usize = 4;
    let place = |sliver: &pattern::Sliver| {
        let cell = &face.cells[sliver.cell];
        let lamination = cell.lamination - face.elements[cell.element].first + 1;
        let thickness = words.length(Length::nearest_mm(sliver.thickness));
        format!("lamination {lamination} of piece {}, {thickness}", cell.element + 1)
    };
    let places: Vec<String> = face.slivers.iter().take(NAMED).map(place).collect();
    let many = face.slivers.len();
    let rest = many.saturating_sub(NAMED);
    (many > 0).then(|| {
        format!(
            "{name}: {} of the face {} thinner than the mark at the edge of the blank ({}{}); a larger margin keeps it off the \
             outline.",
            count(many as u64, "lamination", "laminations"),
            if many == 1 { "is" } else { "are" },
            places.join("; "),
            if rest == 0 { String::new() } else { format!("; and {rest} more") }
        )
    })
}

/// What is made beyond the tops: the spare pieces that the job asks for, and those that come along.
fn spares(name: &str, face: &pattern::Face, unrolled: &Unrolled) -> Option<String> {
    let made: u32 = unrolled.spare.iter().map(|(_, n)| n).sum();
    let asked = face.covers.iter().map(|c| c.spare).sum::<u32>() * face.spec.count;
    let besides = made.saturating_sub(asked);
    let one = |n: u32| if n == 1 { "is" } else { "are" };
    match (asked, besides) {
        (0, 0) => None,
        (0, _) => Some(format!(
            "{name}: {} {} made beyond what is needed.",
            count(made, "spare piece", "spare pieces"),
            one(made)
        )),
        (_, 0) => Some(format!(
            "{name}: {} {} made, as asked.",
            count(made, "spare piece", "spare pieces"),
            one(made)
        )),
        _ => Some(format!(
            "{name}: {} {} made, {besides} more than asked, because the slabs give them.",
            count(made, "spare piece", "spare pieces"),
            one(made)
        )),
    }
}
