//! `plan.json`: everything that is known about a job once it is planned, as plain data.
//!
//! Lengths are numbers of millimetres with up to six decimals ([`Mm`]), money is in whole minor units ([`Minor`]),
//! angles are degrees, areas of glue and faces are square metres, volumes are cubic millimetres, masses are grams.
//! On a sheet, x runs along its length and y across its width, from the outer corner of the sheet as bought.
//! On a face, (0, 0) is the centre pin and the bands run along y.
//!
//! A plan holds the sheets, the saw's rules, every demand and every price of its certificate, so that it can be
//! audited by itself.

use serde::{Deserialize, Serialize};
use stripwright_units::Money;

use crate::base::{BasePlan, BoardsPlan};
use crate::figures::{Minor, Mm};
use crate::keys::UNNAMED_CURRENCY;

/// A whole plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// Version of this file's shape: 1.
    pub format: u32,
    /// The job's title.
    pub title: String,
    /// The system that drawings and text are written in.
    pub units: Units,
    /// The smallest mark the shop can set; computed sizes are whole numbers of it.
    pub mark: Mm,
    /// The currency's name, as the job gives it.
    pub currency: String,
    /// What to buy.
    pub buy: Buy,
    /// How good the plan is known to be.
    pub bound: Bound,
    /// At how many distances the rip fence is set, trimming of the sheets' own edges aside.
    pub fence_settings: u32,
    /// The largest offcut that is large enough to keep for another job, if any is.
    pub largest_offcut: Option<LargestOffcut>,
    /// Distinct layouts, each with how many sheets are cut that way.
    pub layouts: Vec<Layout>,
    /// Sticks of lumber, each with how many are cut that way.
    pub sticks: Vec<Stick>,
    /// What the sticks of lumber were asked for and the proof of their bound; missing where the job has no lumber.
    #[serde(default)]
    pub boards: Option<BoardsPlan>,
    /// The tops.
    pub tops: Vec<Top>,
    /// The bases.
    #[serde(default)]
    pub bases: Vec<BasePlan>,
    /// What to do, in shop order.
    pub steps: Vec<Step>,
    /// What to mind, each caution once: its text stands at the step where it first applies.
    pub cautions: Vec<Caution>,
    /// The limits of shop and sheets that the plan met, in whole sentences.
    pub limits: Vec<String>,
    /// What it costs, and what to ask for it.
    pub prices: Prices,
    /// Where the bought sheets' area went.
    pub ledger: Vec<Stage>,
    /// What the job left unsaid and the plan assumed.
    pub assumed: Vec<Assumed>,
    /// What the maker should know before starting, in whole sentences.
    pub notes: Vec<String>,
    /// The kinds of sheet the plan could choose from.
    pub sheets: Vec<Sheet>,
    /// The rules of the saw.
    pub cutting: Cutting,
    /// Every size of piece that was packed.
    pub demands: Vec<Demand>,
    /// Bands that slabs must cover.
    pub covers: Vec<Cover>,
    /// Slabs that could have been made, with how often each is.
    pub makes: Vec<Make>,
    /// Why no plan costs less than the bound.
    pub certificate: Certificate,
}

impl Plan {
    /// Whether sheets and lumber have prices; if not, each counts as one.
    #[must_use]
    pub fn priced(&self) -> bool {
        !self
            .assumed
            .iter()
            .any(|assumed| ["sheets[].price", "lumber[].price"].contains(&assumed.key.as_str()))
    }

    /// An amount as it is told: with the currency where the job names one, and as a number of sheets where nothing has a
    /// price.
    #[must_use]
    pub fn show_money(&self, amount: Money) -> String {
        let sheets = || (amount.minor() / 100).to_string();
        self.in_currency(&if self.priced() { amount.to_string() } else { sheets() })
    }

    /// A figure with what it counts.
    pub(crate) fn in_currency(&self, figure: &str) -> String {
        match (self.priced(), self.currency.as_str()) {
            (false, _) => format!("{figure} {}", if figure == "1" { "sheet" } else { "sheets" }),
            (true, UNNAMED_CURRENCY) => figure.to_string(),
            (true, currency) => format!("{figure} {currency}"),
        }
    }
}

/// The system that a job's bare numbers and its output are in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Units {
    /// Millimetres.
    #[default]
    #[serde(rename = "mm")]
    Metric,
    /// Inches with reduced fractions.
    #[serde(rename = "in")]
    Inch,
}

impl Units {
    /// The same as the units crate says it.
    #[must_use]
    pub fn system(self) -> stripwright_units::System {
        match self {
            Units::Metric => stripwright_units::System::Metric,
            Units::Inch => stripwright_units::System::Inch,
        }
    }
}

/// What to buy.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Buy {
    /// Sheets, in the job's order; kinds that the plan does not use are left out.
    pub sheets: Vec<BuySheet>,
    /// Lumber, in the job's order.
    pub lumber: Vec<BuyLumber>,
    /// Money for all of it.
    pub total: Minor,
    /// Area of all sheets as bought, offcuts on hand included, in square millimetres.
    pub area: f64,
}

/// So many sheets of one kind.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BuySheet {
    /// The sheet's name.
    pub name: String,
    /// How many.
    pub count: u32,
    /// Price of one; zero for an offcut on hand.
    pub price: Minor,
}

/// So many sticks of one kind of lumber.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BuyLumber {
    /// The lumber's name.
    pub name: String,
    /// Length of one stick as bought.
    pub length: Mm,
    /// How many.
    pub count: u32,
    /// Price of one.
    pub price: Minor,
}

/// How good the plan is known to be.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bound {
    /// No plan whatever buys its sheets and lumber for less than this.
    pub money: Minor,
    /// True only when bound and plan meet after an exact check of the certificate.
    pub proven: bool,
    /// `(total - bound) / total`; 0 when proven.
    pub gap: f64,
    /// What letting the slabs be chosen together with the sheets saves against one fixed slab size.
    pub slab_choice: Option<SlabChoice>,
}

/// The plan against the best plan with one fixed slab size.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SlabChoice {
    /// Money of the plan with one fixed slab size.
    pub fixed_money: Minor,
    /// Sheets of the plan with one fixed slab size.
    pub fixed_sheets: u32,
    /// Money saved.
    pub saved_money: Minor,
    /// Sheets saved (less than zero when more but cheaper sheets are bought).
    pub saved_sheets: i64,
}

/// One sheet with every cut on it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Layout {
    /// The sheet's name.
    pub sheet: String,
    /// How many sheets are cut this way.
    pub times: u32,
    /// The pieces, in sawing order.
    pub pieces: Vec<Placed>,
    /// What is left over, largest first; slivers of less than a mark are not listed.
    pub offcuts: Vec<Offcut>,
    /// Every cut, in sawing order.
    pub cuts: Vec<Cut>,
    /// How the usable part of the sheet is divided, cut by cut.
    pub region: Region,
}

/// A piece in its place on the sheet.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Placed {
    /// Name of a plain part, or the id of a strip size that `tops[].slabs[].strips[]` also carries.
    pub part: String,
    /// Its corner's distance from the sheet's left end.
    pub x: Mm,
    /// Its corner's distance from the sheet's lower edge.
    pub y: Mm,
    /// Its extent along x, as it lies.
    pub length: Mm,
    /// Its extent along y, as it lies.
    pub width: Mm,
    /// True when the part's own length runs along y.
    pub turned: bool,
}

/// A rectangle left over.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Offcut {
    /// Its corner's distance from the sheet's left end.
    pub x: Mm,
    /// Its corner's distance from the sheet's lower edge.
    pub y: Mm,
    /// Its extent along x.
    pub length: Mm,
    /// Its extent along y.
    pub width: Mm,
    /// True when it is large enough to keep for another job.
    pub keep: bool,
}

/// The largest offcut that a plan leaves.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LargestOffcut {
    /// Name of the sheet that it is left of.
    pub sheet: String,
    /// Its extent along the sheet's length.
    pub length: Mm,
    /// Its extent across the sheet.
    pub width: Mm,
}

/// Which way a cut runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Direction {
    /// Along the sheet's length.
    Rip,
    /// Across the sheet.
    Crosscut,
}

/// One saw cut.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cut {
    /// Its number in sawing order, from 1.
    pub number: u32,
    /// Rip or crosscut.
    pub direction: Direction,
    /// 0 for trimming the sheet's own edges, 1 for the first cuts of the sheet, and so on; a last trimming cut of a
    /// piece smaller than its place counts one more than the cuts round it.
    pub stage: u8,
    /// Distance from the fence (or stop) to the blade: the size of what this cut frees.
    pub setting: Mm,
    /// Near side of the kerf: y of a rip, x of a crosscut.
    pub at: Mm,
    /// Where the cut begins along its own direction.
    pub from: Mm,
    /// Where it ends.
    pub to: Mm,
}

/// A rectangle of a sheet and what becomes of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Region {
    /// Distance from the sheet's left end.
    pub x: Mm,
    /// Distance from the sheet's lower edge.
    pub y: Mm,
    /// Extent along x.
    pub length: Mm,
    /// Extent along y.
    pub width: Mm,
    /// What becomes of it.
    pub within: Within,
}

/// What becomes of a region.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Within {
    /// Cut in one direction into these, one kerf apart.
    Cut {
        /// The direction of the cuts.
        direction: Direction,
        /// What they free, in order of y (rips) or x (crosscuts).
        into: Vec<Region>,
    },
    /// A piece at the corner nearest the origin, trimmed once if it is smaller than its place.
    Piece {
        /// Name of a plain part or id of a strip size.
        part: String,
        /// True when the part's own length runs along y.
        turned: bool,
    },
    /// Left over.
    Offcut,
}

/// One stick of lumber with every cut on it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stick {
    /// The lumber's name.
    pub lumber: String,
    /// How many sticks are cut this way.
    pub times: u32,
    /// The pieces, from the stick's left end.
    pub pieces: Vec<StickPiece>,
    /// What is left over at the right end.
    pub offcut: Mm,
}

/// A piece of a stick.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StickPiece {
    /// Name of the part it becomes.
    pub part: String,
    /// Distance of its left end from the stick's left end.
    pub x: Mm,
    /// Distance of its near edge from the lumber's edge, before that is squared.
    pub y: Mm,
    /// Its length.
    pub length: Mm,
    /// How wide the lane is that it is cut from.
    pub width: Mm,
    /// How many lie one above another, to be resawn.
    pub layers: u32,
}

/// A finished seat or table top.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Top {
    /// Its name.
    pub name: String,
    /// How many are made.
    pub count: u32,
    /// The pattern, with everything that was free now chosen.
    pub pattern: Pattern,
    /// The finished plan shape.
    pub outline: Outline,
    /// What the blank shows all round the outline.
    pub margin: Mm,
    /// Finished thickness.
    pub finished: Mm,
    /// Strip thickness plus one glue line.
    pub pitch: Mm,
    /// Rip width of the strips: the slab's depth before planing.
    pub depth: Mm,
    /// How many bands (or blocks) one top has.
    pub bands: u32,
    /// How many laminations each band needs, from the left.
    pub laminations: Vec<u32>,
    /// The slabs of all `count` tops.
    pub slabs: Vec<Slab>,
    /// Strips of all slabs of all `count` tops.
    pub strips_total: u32,
    /// Glue, one entry a stage, for all `count` tops.
    pub glue: Vec<Glue>,
    /// Planer work, one entry a stage, for all `count` tops.
    pub planer: Vec<Planing>,
    /// Ways to flatten the blank, in whole sentences; more than one where it is wider than the planer.
    pub flatten: Vec<String>,
    /// Extent of the blank as it is glued up, of whole bands and blocks: from left to right and from bottom to top.
    pub blank: [Mm; 2],
    /// How the centre pin is found on the blank; nothing where the blank has no wood there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pin: Option<Pin>,
    /// Where the strips' volume went, one entry a stage, for all `count` tops.
    pub ledger: Vec<Stage>,
    /// Area of one finished face, square metres.
    pub area: f64,
    /// Mass of one finished top in grams, by the density of its sheets, given or usual; older plans may lack it.
    pub mass: Option<f64>,
    /// The face to draw.
    pub face: Face,
}

impl Top {
    /// What its pieces are called, one and many: `band`, `block`, `wedge` or `panel`.
    #[must_use]
    pub fn piece(&self) -> (&'static str, &'static str) {
        match self.pattern.kind.as_str() {
            "sunburst" => ("wedge", "wedges"),
            "straight" => ("panel", "panels"),
            _ if self.pattern.block.is_some() => ("block", "blocks"),
            _ => ("band", "bands"),
        }
    }
}

/// How a top's face is divided.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pattern {
    /// `straight`, `chevron`, `herringbone` ...
    pub kind: String,
    /// Lamination angle, degrees, where the pattern has one.
    pub angle: Option<f64>,
    /// Band width, where the pattern has bands.
    pub band: Option<Mm>,
    /// What lies on the centre line: `seam` or `band`.
    pub centre: Option<String>,
    /// Width and length of a block, where the pattern has blocks.
    pub block: Option<[Mm; 2]>,
    /// How far the laminations (and courses) are slid, in millimetres.
    pub phase: [f64; 2],
    /// Why that phase: `held`, `symmetric` or `fewest`.
    pub phase_reason: String,
}

/// A finished plan shape. Its centre is the centre pin.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum Outline {
    /// A circle.
    Round {
        /// Its diameter.
        diameter: Mm,
    },
    /// An ellipse.
    Oval {
        /// Its extent along x.
        length: Mm,
        /// Its extent along y.
        width: Mm,
    },
    /// A rectangle, its corners rounded where `radius` is above zero.
    Rectangle {
        /// Its extent along x.
        length: Mm,
        /// Its extent along y.
        width: Mm,
        /// Radius of its corners.
        radius: Mm,
    },
    /// A regular polygon with one side at the bottom.
    Polygon {
        /// How many sides.
        sides: u32,
        /// Diameter of the circle that its sides touch.
        across_flats: f64,
    },
    /// A free polygon.
    Points {
        /// Its corners, in the job's order.
        points: Vec<[Mm; 2]>,
    },
}

/// Where the centre pin lies on a blank.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Pin {
    /// In words: `on the joint between bands 4 and 5`.
    pub lies: String,
    /// What is measured to find it.
    pub measures: Vec<Measure>,
    /// Numbers of the pieces that are named.
    pub pieces: Vec<u32>,
    /// True where blank or outline look different from the underside, left and right changed over.
    pub mirrored: bool,
}

/// A distance that is measured on a blank.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Measure {
    /// Which way, in words that follow the length: `up the joint between bands 4 and 5 from its lower end`.
    pub way: String,
    /// From where to where in the face, in millimetres from the pin.
    pub line: [[f64; 2]; 2],
    /// How far.
    pub length: Mm,
}

/// The face of a top, in millimetres from its centre pin.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Face {
    /// The outline as a closed polygon, fine enough to draw.
    pub outline: Vec<[f64; 2]>,
    /// Every cell that is needed, whole (clip to the outline to see the finished face).
    pub cells: Vec<Cell>,
    /// Cells that lie in the blank besides, because its bands and blocks are whole, and that the outline does not need.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub beyond: Vec<Cell>,
}

impl Face {
    /// Every cell of the blank.
    pub fn laid(&self) -> impl Iterator<Item = &Cell> {
        self.cells.iter().chain(&self.beyond)
    }
}

/// One lamination's share of the face.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cell {
    /// Number of its band (or block), from 1 at the left.
    pub band: u32,
    /// Number of its lamination within the band, from 1 at the bottom of what is needed of it.
    pub lamination: i64,
    /// True when its band was turned over.
    pub turned: bool,
    /// Name of the sheet it is ripped from.
    pub sheet: String,
    /// Its corners, anticlockwise.
    pub corners: Vec<[f64; 2]>,
}

/// A slab, and how often it is made.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Slab {
    /// What steps and drawings call it.
    pub name: String,
    /// How many slabs are made this way.
    pub times: u32,
    /// Numbers of the bands cut from it, in the order they lie, from 1 at the blank's left.
    pub bands: Vec<u32>,
    /// Its strips, first to last as they are glued; neighbours of one length are one entry.
    pub strips: Vec<Strips>,
    /// Breadth across the glued strips.
    pub breadth: Mm,
    /// Length over all, stagger included.
    pub length: Mm,
    /// How far each strip is slid past its neighbour.
    pub stagger: Mm,
    /// Spare bands cut from it besides.
    pub spare: u32,
    /// How many strips each part has that is glued and planed by itself; one part when the planer takes the slab whole.
    pub parts: Vec<u32>,
    /// Where each strip lies, first to last as they are glued: the route's layers, for the slab's drawing.
    pub layers: Vec<Layer>,
    /// What is cut off it, in order along it: the route's cuts.
    pub pieces: Vec<SlabPiece>,
}

impl Slab {
    /// Whether its outermost strips are longer than their pieces need, to carry it through the planer.
    #[must_use]
    pub fn is_carried(&self) -> bool {
        self.layers.iter().any(|layer| layer.left.is_some())
    }
}

/// One strip in its place in a slab.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Layer {
    /// Id of its size.
    pub id: String,
    /// Where its near end lies along the slab, in millimetres.
    pub start: f64,
    /// Its length.
    pub length: Mm,
    /// What is left of it when the slab is planed, where it is longer to carry the slab through the planer.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub left: Option<Mm>,
    /// Its thickness with one glue line: how far the next strip lies across the slab.
    pub pitch: Mm,
}

/// A band or block as it lies in its slab.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SlabPiece {
    /// Number of the band (or block) it becomes; nothing for a spare.
    pub band: Option<u32>,
    /// True when it is turned over before it is glued in.
    pub turned: bool,
    /// Half planes `a x + b y <= c` that bound it: x along the strips, y across them from the first strip's outer
    /// face, in millimetres.
    pub sides: Vec<[f64; 3]>,
    /// For half a band, the half plane that the square cut at its end leaves, as in `sides`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trim: Option<[f64; 3]>,
}

/// Neighbouring strips of one size in a slab.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Strips {
    /// Id of this size of strip, the same that `layouts[].pieces[].part` carries.
    pub id: String,
    /// Name of the sheet kind it is ripped from (several where sizes of sheet share a thickness).
    pub sheets: Vec<String>,
    /// Length to cut.
    pub length: Mm,
    /// Width to rip: the slab's depth.
    pub width: Mm,
    /// How many, side by side, in one slab.
    pub count: u32,
}

/// One glue-up.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Glue {
    /// What is glued: `strips into slabs`, `sub-slabs into slabs`, `pieces into blanks`.
    pub stage: String,
    /// How many joints.
    pub joints: u32,
    /// Their area, square metres.
    pub area: f64,
    /// Glue, grams.
    pub grams: f64,
    /// Strips (or bands) set within the open time.
    pub section: u32,
    /// How many glue-ups this is: sections, and the joining of sections.
    pub glue_ups: u32,
    /// Clamps for one glue-up, by spacing along the longest joint; for strips along all joints and for blocks along all sides
    /// that are pressed at a time.
    pub clamps_by_spacing: u32,
    /// Clamps for one glue-up, by pressure on the largest joint; for strips and blocks on all that is pressed at a time.
    pub clamps_by_force: u32,
    /// Distance from clamp to clamp, at most.
    pub clamp_spacing: Mm,
}

impl Glue {
    /// Clamps for one glue-up: close enough together, and enough of them to press.
    pub(crate) fn clamps(&self) -> u32 {
        self.clamps_by_spacing.max(self.clamps_by_force)
    }
}

/// The planing of one stage.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Planing {
    /// `slabs` or `blanks`.
    pub stage: String,
    /// Thickness before.
    pub from: Mm,
    /// Thickness after.
    pub to: Mm,
    /// Passes of each piece, both faces counted.
    pub passes: u32,
    /// How many pieces go through.
    pub pieces: u32,
    /// Metres fed in all.
    pub feed: f64,
}

/// The balance of one stage: what went in and was added equals what came out plus every loss, in the stage's unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stage {
    /// Name of the stage.
    pub stage: String,
    /// `mm2` for sheets, `mm3` for everything after.
    pub unit: String,
    /// What went in.
    pub input: f64,
    /// What was added here: glue lines, where they have a thickness.
    pub added: f64,
    /// What came out and goes on.
    pub output: f64,
    /// What was lost, and to which cause.
    pub lost: Vec<Loss>,
}

/// One cause of loss.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Loss {
    /// Kerf, trim, shavings, offcuts, outline waste, dust ...
    pub cause: String,
    /// How much, in the stage's unit.
    pub amount: f64,
}

/// One thing to do, in shop order.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// From 1.
    pub number: u32,
    /// A name that stays the same as long as the job asks for the same things: `rip`, `top-1-bias`, `base-2-legs`.
    pub id: String,
    /// Which part of the work it belongs to: `sheets`, `slabs`, `bands`, `blank`, `outline`, `finish`, `base` ...
    pub stage: String,
    /// The job it serves: a top's or base's name; empty for the whole job.
    pub of: String,
    /// What to do, in a few words.
    pub title: String,
    /// How, in whole sentences.
    pub text: Vec<String>,
    /// Settings, each a name and a value with its unit.
    pub settings: Vec<Setting>,
    /// How many of what are made or done here, for all copies.
    pub counts: Vec<Count>,
    /// Saw work in the order in which no fence or stop is set twice; empty for steps away from the table saw.
    pub runs: Vec<Run>,
    /// Drawings to have at hand, by their ids: `layout-2`, `top-1-slab-1`, `base-1-leg` ...
    pub drawings: Vec<String>,
    /// Minutes of work, to a tenth, by the shop's own times.
    pub minutes: f64,
    /// Minutes to wait afterwards, hands free: glue in clamps, a coat drying.
    pub wait: f64,
    /// Ids of the cautions that apply.
    pub cautions: Vec<String>,
}

/// A machine setting.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Setting {
    /// What is set.
    pub name: String,
    /// To what, with its unit, as the job's units have it.
    pub value: String,
    /// The same as a length, where it is one.
    pub length: Option<Mm>,
    /// The same in degrees, where it is an angle.
    pub degrees: Option<f64>,
}

/// So many of something.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Count {
    /// What is counted, as a plural noun.
    pub what: String,
    /// How many.
    pub count: u32,
}

/// Cuts made one after another with a fence or stop left where it is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Run {
    /// Its number in the step, from 1.
    pub number: u32,
    /// Rips are made along the fence, crosscuts against a stop.
    pub direction: Direction,
    /// Size of what each cut of the run frees.
    pub size: Mm,
    /// Distance from fence or stop to the blade. The same as `size`, unless the fence does not reach that far: then
    /// what is freed lies on the free side of the blade, and the fence guides the rest.
    pub setting: Mm,
    /// True when the freed piece lies between fence and blade.
    pub inside: bool,
    /// True when this setting was used before and has to be set a second time; no plan asks for it where an order
    /// without exists.
    pub again: bool,
    /// Cuts of the run on one sheet after another.
    pub cuts: Vec<RunCuts>,
    /// Ids of the pieces that come off finished, in order of their names, each once.
    pub frees: Vec<String>,
}

/// The cuts of a run on the sheets of one layout.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RunCuts {
    /// Number of the layout, from 1 in the order of `layouts`.
    pub layout: u32,
    /// Numbers of the cuts on its drawing.
    pub numbers: Vec<u32>,
}

/// Something to mind, worded once.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Caution {
    /// What steps refer to: `kickback`, `small-pieces` ...
    pub id: String,
    /// A heading of a few words.
    pub title: String,
    /// What to mind, in whole sentences.
    pub text: Vec<String>,
    /// Number of the step where it first applies and where its text stands.
    pub step: u32,
}

/// What the job costs, and what to ask for it. All of it follows from `shop.rates`; nothing is taken from a market.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Prices {
    /// Everything that is paid for, each with its quantity and its rate.
    pub lines: Vec<PriceLine>,
    /// The lines together: their exact sum.
    pub cost: Minor,
    /// Per cent added to the cost.
    pub margin_percent: f64,
    /// That much of the cost, rounded half up to a whole minor unit.
    pub margin: Minor,
    /// Cost and margin: what all quotes come to.
    pub total: Minor,
    /// One for each kind of thing made.
    pub quotes: Vec<Quote>,
    /// Minutes of work: the sum of the steps'.
    pub minutes: f64,
    /// How the figures are made, in whole sentences.
    pub basis: Vec<String>,
}

/// Something paid for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PriceLine {
    /// `material`, `glue`, `finish`, `hardware`, `wear`, `labour` or `overhead`.
    pub group: String,
    /// What it is.
    pub name: String,
    /// How much of it, to a thousandth.
    pub quantity: f64,
    /// What one of the quantity is: `sheets`, `bottles of 1000 g`, `hours` ...
    pub unit: String,
    /// Price of one.
    pub each: Minor,
    /// Quantity times price, rounded half up to a whole minor unit; below zero for a credit.
    pub amount: Minor,
}

/// What to ask for one kind of thing made.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Quote {
    /// `top`, `base`, `part` or `stick`.
    pub kind: String,
    /// The job's name for it.
    pub name: String,
    /// How many are made.
    pub count: u32,
    /// Its share of each group of lines, for all copies; the shares of all quotes sum to the group exactly.
    pub shares: Vec<Share>,
    /// Sum of the shares.
    pub cost: Minor,
    /// Its share of the margin.
    pub margin: Minor,
    /// Cost and margin, for all copies.
    pub total: Minor,
    /// For one, rounded up to a whole minor unit.
    pub one: Minor,
    /// Amounts for one and for all copies.
    pub quantities: Vec<Quantity>,
}

/// A share of a group of price lines.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Share {
    /// The group.
    pub group: String,
    /// How much of it.
    pub amount: Minor,
}

/// How much of something one copy takes, and all of them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Quantity {
    /// What.
    pub name: String,
    /// Its unit.
    pub unit: String,
    /// For one.
    pub one: f64,
    /// For all copies.
    pub all: f64,
}

/// Something the job left unsaid.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Assumed {
    /// The job's key, such as `shop.table_saw.kerf`.
    pub key: String,
    /// The value taken.
    pub value: String,
}

/// A kind of sheet the plan could choose.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sheet {
    /// Its name.
    pub name: String,
    /// Length as bought.
    pub length: Mm,
    /// Width as bought.
    pub width: Mm,
    /// Thickness as sold, where the job gives it.
    pub thickness: Option<Mm>,
    /// Thickness as measured, where the job gives it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured: Option<Mm>,
    /// Price of one.
    pub price: Minor,
    /// How many there are, if not any number.
    pub limit: Option<u32>,
    /// What is cut away at each edge first.
    pub trim: Trim,
}

/// What is cut away at each edge of a sheet before anything else, kerf included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Trim {
    /// At x = 0.
    pub left: Mm,
    /// At x = length.
    pub right: Mm,
    /// At y = 0.
    pub bottom: Mm,
    /// At y = width.
    pub top: Mm,
}

/// Which direction the first cuts of a sheet may take.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum First {
    /// Rips only.
    Rip,
    /// Crosscuts only.
    Crosscut,
    /// Each layout its own choice.
    #[default]
    Either,
}

/// The rules of the saw.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cutting {
    /// Direction of the first cuts.
    pub first: First,
    /// How many alternations of direction.
    pub stages: u8,
    /// Wood lost to one rip.
    pub rip_kerf: Mm,
    /// Wood lost to one crosscut.
    pub crosscut_kerf: Mm,
    /// The longest rip the shop can make, if that matters.
    pub longest_rip: Option<Mm>,
    /// The widest rip the fence can be set to, if that matters.
    pub fence_reach: Option<Mm>,
    /// The narrowest safe rip, if that matters.
    pub smallest_rip: Option<Mm>,
    /// An offcut at least this long and wide is worth keeping.
    pub useful_offcut: Option<[Mm; 2]>,
}

/// One size of piece that was packed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Demand {
    /// Name of a plain part, or id of a strip size.
    pub id: String,
    /// Extent along the sheet's length when not turned.
    pub length: Mm,
    /// Extent across the sheet when not turned.
    pub width: Mm,
    /// How many are wanted as they are, besides those that slabs use.
    pub count: u32,
    /// How many more than needed the plan cuts.
    pub spare: u32,
    /// Whether it may lie across the sheet.
    pub may_turn: bool,
    /// Names of the sheets it may be cut from.
    pub sheets: Vec<String>,
}

/// A band (or kind of block) that slabs must yield.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cover {
    /// What it is.
    pub name: String,
    /// How many are wanted.
    pub count: u32,
}

/// A slab that could be made.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Make {
    /// What it is.
    pub name: String,
    /// What it yields: index into `covers`, how many.
    pub yields: Vec<(usize, u32)>,
    /// What it uses: id of a strip size, how many.
    pub uses: Vec<(String, u32)>,
    /// How often the plan makes it.
    pub times: u32,
}

/// The proof of the bound: prices in whole numbers, minor units of money times `scale`.
#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Certificate {
    /// Prices are minor units divided by this.
    pub scale: i64,
    /// True when the prices hold for layouts whose strips hold no more of a size than the whole plan can need.
    pub proper: bool,
    /// One leaf, or several whose boxes hold every purchase below the bound.
    pub leaves: Vec<Leaf>,
}

/// Prices that hold within one box of sheet counts.
#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Leaf {
    /// The box, besides the sheets' own limits.
    pub branches: Vec<Branch>,
    /// Worth of one of each of `demands`, in their order.
    pub pieces: Vec<i64>,
    /// Worth of one of each of `covers`, in their order.
    pub covers: Vec<i64>,
    /// Worth of one more of each of `sheets` above its upper limit, in their order.
    pub upper: Vec<i64>,
    /// What being made to take one of each of `sheets` costs, in their order.
    pub lower: Vec<i64>,
    /// Which of several cases within the box this is.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub forks: Vec<Fork>,
}

/// One side of a case distinction by something that every plan has a whole number of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fork {
    /// On which of `sheets`, by index.
    pub sheets: Vec<usize>,
    /// On those of them whose first cuts are these.
    pub first: Direction,
    /// What on them is counted.
    pub count: Counted,
    /// At most so many,
    pub at: u32,
    /// or, where this is true, more than that.
    pub more: bool,
    /// What one more would be worth, or, where there are more, what being made to have one costs.
    pub price: i64,
}

/// What a fork counts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Counted {
    /// The sheets themselves.
    Sheets,
    /// Strips as wide as this, between the first cuts; each is as wide as its widest piece.
    Strips {
        /// Across the strip.
        width: Mm,
    },
    /// Pieces in strips as wide as this.
    Pieces {
        /// Across the strip.
        width: Mm,
        /// Which of `demands`, by index.
        demands: Vec<usize>,
    },
}

/// One side of a box.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Branch {
    /// Index into `sheets`.
    pub sheet: usize,
    /// At least so many are bought.
    pub least: u32,
    /// At most so many; nothing means no limit beyond the sheet's own.
    pub most: Option<u32>,
}
