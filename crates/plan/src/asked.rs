//! What the sheets are asked for: tops become slabs that could be made, their strips and the plain parts become
//! pieces, and all of it one packing problem.

use stripwright_packing as packing;
use stripwright_packing::{Cover, Make, Piece, Problem, Stock, Trim};
use stripwright_pattern as pattern;
use stripwright_pattern::{Face, Sequence, SlabMake, StripSize, TopSpec};
use stripwright_units::{Length, System};

use crate::fault::Fault;
use crate::job::{Job, Lamination, Top};
use crate::plan::First;
use crate::{refused, wording};

/// The packing problem of a job, and what its numbers stand for.
pub(crate) struct Asked {
    pub(crate) problem: Problem,
    /// Tops in the job's order.
    pub(crate) tops: Vec<AskedTop>,
    /// Kinds of sheet goods that laminations are ripped from.
    pub(crate) goods: Vec<Goods>,
}

/// One entry of the job's tops.
pub(crate) struct AskedTop {
    pub(crate) face: Face,
    pub(crate) makes: Vec<SlabMake>,
    /// Its first make in the problem; its makes follow in order.
    pub(crate) first_make: usize,
    /// Its first cover in the problem.
    pub(crate) first_cover: usize,
    pub(crate) may_turn: bool,
}

/// Sheets that may stand in for one another in a slab.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Goods {
    /// Indices of the sheets, ascending.
    pub(crate) sheets: Vec<usize>,
    /// What their laminations measure.
    pub(crate) thickness: Length,
}

/// Works out faces and makes, and sets up the problem.
///
/// # Errors
/// Every reason why the job cannot be met that shows without a search.
pub(crate) fn ask(
    job: &Job,
    makes_of: &dyn Fn(&Face, Vec<SlabMake>) -> Vec<SlabMake>,
) -> Result<Asked, Vec<Fault>> {
    let mut faults = Vec::new();
    let mut goods: Vec<Goods> = Vec::new();
    let mut shaped = Vec::new();
    for (n, top) in job.tops.iter().enumerate() {
        let spec = spec_of(job, top, &mut goods);
        match pattern::face(&spec, job.mark)
            .and_then(|face| face.makes(&job.shop.pattern).map(|makes| (face, makes)))
            .map_err(|refusals| refused::by_pattern(job, n, &refusals))
        {
            Ok((face, makes)) => {
                let makes = makes_of(&face, makes);
                shaped.push((top, face, makes));
            }
            Err(more) => faults.extend(more),
        }
    }
    let mut problem = Problem { stocks: stocks(job), cutting: cutting(job), ..Problem::default() };
    for part in &job.parts {
        problem.pieces.push(Piece {
            name: part.name.clone(),
            length: part.length,
            width: part.width,
            count: part.count,
            may_turn: part.may_turn,
            stocks: part.sheets.clone(),
        });
    }
    if !faults.is_empty() {
        // Who mends a top is not to be told of a part only then.
        let parts = Asked { problem, tops: Vec::new(), goods };
        faults.extend(refused::by_packing(job, &parts, &packing::misfits(&parts.problem)));
        return Err(faults);
    }
    let mut ids = Ids::new(job, &shaped);
    ids.first = problem.pieces.len();
    for (name, (size, may_turn)) in ids.names.iter().zip(&ids.sizes) {
        problem.pieces.push(Piece {
            name: name.clone(),
            length: size.length,
            width: size.depth,
            count: 0,
            may_turn: *may_turn,
            stocks: goods[size.kind].sheets.clone(),
        });
    }
    let mut tops = Vec::new();
    for (top, face, makes) in shaped {
        let (first_cover, first_make) = (problem.covers.len(), problem.makes.len());
        for cover in &face.covers {
            let of = cover.elements.iter().map(|e| (e + 1).to_string()).collect::<Vec<_>>().join("/");
            problem.covers.push(Cover { name: format!("{}, band {of}", top.name), count: cover.count });
        }
        for make in &makes {
            let mut uses: Vec<(usize, u32)> =
                make.strips.iter().map(|(size, n)| (ids.piece(*size, top.may_turn), *n)).collect();
            uses.sort_unstable();
            let bands =
                make.places.iter().map(|place| (place.element + 1).to_string()).collect::<Vec<_>>().join("+");
            problem.makes.push(Make {
                name: format!("{}, slab of bands {bands}", top.name),
                yields: make.yields.iter().map(|(cover, n)| (first_cover + cover, *n)).collect(),
                uses,
            });
        }
        tops.push(AskedTop { face, makes, first_make, first_cover, may_turn: top.may_turn });
    }
    let asked = Asked { problem, tops, goods };
    let misfits = packing::misfits(&asked.problem);
    if misfits.is_empty() { Ok(asked) } else { Err(refused::by_packing(job, &asked, &misfits)) }
}

/// Why a top cannot be made, as faults of its place in the job.
pub(crate) fn refused(n: usize, top: &Top, system: System, refusals: Vec<pattern::Refusal>) -> Vec<Fault> {
    let fault = |refusal: pattern::Refusal| {
        let said = wording::in_units(&refusal.to_string(), system);
        Fault::impossible(Some(top.place), format!("tops[{n}]"), format!("{}: {said}", top.name))
    };
    refusals.into_iter().map(fault).collect()
}

impl Asked {
    /// The piece that a strip of this size is.
    pub(crate) fn piece(&self, job: &Job, size: StripSize, may_turn: bool) -> usize {
        let found = self.problem.pieces[job.parts.len()..].iter().position(|piece| {
            piece.length == size.length
                && piece.width == size.depth
                && piece.may_turn == may_turn
                && piece.stocks == self.goods[size.kind].sheets
        });
        job.parts.len() + found.unwrap_or_default()
    }
}

/// Every size of strip that some make uses, each with its id.
struct Ids {
    sizes: Vec<(StripSize, bool)>,
    names: Vec<String>,
    first: usize,
}

impl Ids {
    fn new(job: &Job, tops: &[(&Top, Face, Vec<SlabMake>)]) -> Ids {
        let mut sizes: Vec<(StripSize, bool)> = tops
            .iter()
            .flat_map(|(top, _, makes)| {
                makes.iter().flat_map(|make| make.strips.iter().map(|(size, _)| (*size, top.may_turn)))
            })
            .collect();
        // One kind and depth together, longest first: the order in which a shop rips and cuts to length.
        sizes.sort_by_key(|(size, turn)| (size.kind, size.depth, std::cmp::Reverse(size.length), *turn));
        sizes.dedup();
        let taken = |name: &String| job.parts.iter().any(|part| part.name == *name);
        let names = (1..).map(|n| format!("S{n}")).filter(|name| !taken(name)).take(sizes.len()).collect();
        Ids { sizes, names, first: 0 }
    }

    fn piece(&self, size: StripSize, may_turn: bool) -> usize {
        self.first + self.sizes.iter().position(|known| *known == (size, may_turn)).unwrap_or_default()
    }
}

/// A top as the pattern crate is asked for it.
pub(crate) fn spec_of(job: &Job, top: &Top, goods: &mut Vec<Goods>) -> TopSpec {
    let laminations = top
        .sequence
        .iter()
        .map(|lamination| {
            let sheets: Vec<usize> = match lamination {
                Lamination::Sheet(s) => vec![*s],
                Lamination::Thickness(t) => {
                    (0..job.sheets.len()).filter(|&s| job.sheets[s].thickness == Some(*t)).collect()
                }
            };
            let thickness = sheets.first().and_then(|&s| job.sheets[s].real_thickness()).unwrap_or_default();
            let own = Goods { sheets, thickness };
            let kind = goods.iter().position(|other| *other == own).unwrap_or_else(|| {
                goods.push(own.clone());
                goods.len() - 1
            });
            pattern::Lamination { kind, thickness, longest: longest(job, &own, top.may_turn) }
        })
        .collect();
    TopSpec {
        count: top.count,
        outline: top.outline.clone(),
        margin: top.margin,
        pattern: top.pattern.clone(),
        sequence: Sequence { laminations, glue_line: job.shop.glue_line },
        finished: top.finished,
        slab: top.slab,
        staggered: top.staggered,
        spare: top.spare,
        phase: top.phase,
    }
}

/// The longest strip that these sheets and the saw give.
fn longest(job: &Job, goods: &Goods, may_turn: bool) -> Length {
    let most = goods.sheets.iter().map(|&s| {
        let sheet = &job.sheets[s];
        let along = sheet.length - sheet.trim[0] - sheet.trim[1];
        let across = sheet.width - sheet.trim[2] - sheet.trim[3];
        if may_turn { along.max(across) } else { along }
    });
    most.max().unwrap_or_default()
}

fn stocks(job: &Job) -> Vec<Stock> {
    let stock = |sheet: &crate::job::Sheet| Stock {
        name: sheet.name.clone(),
        length: sheet.length,
        width: sheet.width,
        trim: Trim { left: sheet.trim[0], right: sheet.trim[1], bottom: sheet.trim[2], top: sheet.trim[3] },
        price: sheet.price,
        limit: sheet.limit,
    };
    job.sheets.iter().map(stock).collect()
}

fn cutting(job: &Job) -> packing::Cutting {
    packing::Cutting {
        first: match job.cutting.first {
            First::Rip => packing::First::Rip,
            First::Crosscut => packing::First::Crosscut,
            First::Either => packing::First::Either,
        },
        stages: job.cutting.stages,
        rip_kerf: job.cutting.rip_kerf,
        crosscut_kerf: job.cutting.crosscut_kerf,
        longest_rip: job.shop.longest_rip,
        fence_reach: job.shop.fence_reach,
        smallest_rip: job.shop.smallest_rip,
        useful_offcut: job.cutting.keep.map(|[length, width]| (length, width)),
    }
}
