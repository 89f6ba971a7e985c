//! What is asked for: the base, its parts and the shop that makes it.

use std::fmt;

use stripwright_units::{Angle, Length, System};

/// A four-legged base as a job asks for it.
///
/// Height and any two of leans, top spread and floor spread settle the shape; height may be left out when all three
/// are given. Giving more than is needed is allowed when it agrees to the mark. Leaving the leans out with a single
/// spread means plumb legs.
#[derive(Clone, Debug, PartialEq)]
pub struct BaseSpec {
    /// What the job calls it.
    pub name: String,
    /// How many are made.
    pub count: u32,
    /// From the floor to the underside of the top, or to the seat.
    pub height: Option<Height>,
    /// How far the legs lean.
    pub leans: Option<Leans>,
    /// Over the outsides of the legs at the underside of the top.
    pub top_spread: Option<Spread>,
    /// Over the outsides of the legs on the floor.
    pub floor_spread: Option<Spread>,
    /// The leg's finished section.
    pub leg: Section,
    /// Rungs at any number of levels; each entry is a pair on opposite sides.
    pub rungs: Vec<RungSpec>,
    /// How rungs are joined to legs.
    pub joint: Joint,
    /// The top that the base carries.
    pub top: Option<TopSpec>,
    /// How the base is screwed to the top.
    pub fixing: Option<Fixing>,
    /// The shop that makes it.
    pub shop: Shop,
    /// Sizes that nobody gave and that go with others: a change to those changes them too.
    pub follows: Vec<Follows>,
    /// For each rung the entry it was written in, as rungs of one entry change together. Empty where there are no entries: then
    /// rungs that are alike in everything but their sides do.
    pub entries: Vec<usize>,
}

/// A size that goes with another one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Follows {
    /// The leg is as deep as it is wide.
    LegDepth,
    /// The spread under the top is as deep as it is wide.
    TopDepth,
    /// The spread on the floor is as deep as it is wide.
    FloorDepth,
    /// A rung is as broad as [`RungSpec::usual`] has it.
    RungWidth(usize),
    /// A rung is as thick as [`RungSpec::usual`] has it.
    RungThickness(usize),
}

impl BaseSpec {
    /// Sets every size that follows another one after it.
    pub(crate) fn follow(&mut self) {
        // The leg's own depth first: rungs go by it.
        if self.follows.contains(&Follows::LegDepth) {
            self.leg.thickness = self.leg.width;
        }
        let (leg, mark) = (self.leg, self.shop.mark);
        for follows in &self.follows {
            match *follows {
                Follows::LegDepth => {}
                Follows::TopDepth => self.top_spread.iter_mut().for_each(|s| s.depth = s.width),
                Follows::FloorDepth => self.floor_spread.iter_mut().for_each(|s| s.depth = s.width),
                Follows::RungWidth(n) => {
                    let rung = &mut self.rungs[n];
                    rung.section.width = RungSpec::usual(rung.pair, rung.height, leg, mark).section.width;
                }
                Follows::RungThickness(n) => {
                    let rung = &mut self.rungs[n];
                    let usual = RungSpec::usual(rung.pair, rung.height, leg, mark);
                    rung.section.thickness = usual.section.thickness;
                }
            }
        }
    }

    /// One base with legs of this section and nothing else settled: no height, no leans, no rungs, dowels if rungs
    /// are added, the usual shop.
    pub fn new(name: &str, leg: Section) -> BaseSpec {
        BaseSpec {
            name: name.to_string(),
            count: 1,
            height: None,
            leans: None,
            top_spread: None,
            floor_spread: None,
            leg,
            rungs: Vec::new(),
            joint: Joint::Dowels { diameter: None, length: None, count: None },
            top: None,
            fixing: None,
            shop: Shop::default(),
            follows: Vec::new(),
            entries: Vec::new(),
        }
    }
}

/// What the height is measured to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Height {
    /// To the underside of the top.
    Underside(Length),
    /// To the seat: the top's thickness is taken off.
    Seat(Length),
}

/// The two leans of the legs, from vertical, outward going down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leans {
    /// Seen from the front (`A`): the foot goes out to the left or right.
    pub front: Angle,
    /// Seen from the side (`B`): the foot goes out to the front or back.
    pub side: Angle,
}

/// A rectangle over the outsides of the four legs at one level: between the outer corners of the legs' sections.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spread {
    /// From left to right.
    pub width: Length,
    /// From front to back.
    pub depth: Length,
}

/// A rectangular section of a leg or a rung.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Section {
    /// Of a leg: the breadth of the plane face. Of a rung: the breadth of its face, measured up its slope.
    pub width: Length,
    /// Of a leg: the breadth of the side face. Of a rung: its thickness, square to its face.
    pub thickness: Length,
}

/// A pair of rungs on opposite sides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RungSpec {
    /// Which two sides.
    pub pair: crate::rung::RungPair,
    /// From the floor to the rung's top edge (at its outer face).
    pub height: Length,
    /// Its finished section.
    pub section: Section,
    /// How far its outer face lies inside the outer face of the legs.
    pub set_in: Length,
    /// In the plane of the legs or plumb.
    pub stance: Stance,
    /// Level or square edges.
    pub edges: Edges,
}

impl RungSpec {
    /// A rung in the plane of the legs with level edges, flush with them, as broad as the leg and five eighths as
    /// thick (common practice, no source), up to the mark.
    pub fn usual(pair: crate::rung::RungPair, height: Length, leg: Section, mark: Length) -> RungSpec {
        let section =
            Section { width: leg.width, thickness: Length::ceil_mm(leg.thickness.to_mm() * 0.625, mark) };
        RungSpec { pair, height, section, set_in: Length::ZERO, stance: Stance::InPlane, edges: Edges::Level }
    }
}

/// How a rung's face stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Stance {
    /// Leaning with the two legs it joins.
    #[default]
    InPlane,
    /// Plumb.
    Plumb,
}

/// How a rung's top and bottom edges are cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Edges {
    /// Level, which needs a bevelled rip where the rung leans.
    #[default]
    Level,
    /// Square to the rung's face.
    Square,
}

/// How rungs are joined to legs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Joint {
    /// Dowels; what is `None` is chosen by the rules of thumb in [`crate::joint`].
    Dowels {
        /// Diameter.
        diameter: Option<Length>,
        /// Whole length of a dowel, half in each part.
        length: Option<Length>,
        /// How many in each rung end.
        count: Option<u32>,
    },
    /// A tenon on each rung end; what is `None` is chosen by the rules of thumb.
    Tenon {
        /// How far it goes into the leg.
        length: Option<Length>,
        /// Its thickness.
        thickness: Option<Length>,
    },
}

/// The plan shape of the top.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outline {
    /// A circle.
    Round {
        /// Its diameter.
        diameter: Length,
    },
    /// An ellipse.
    Oval {
        /// From left to right.
        width: Length,
        /// From front to back.
        depth: Length,
    },
    /// A rectangle.
    Rectangle {
        /// From left to right.
        width: Length,
        /// From front to back.
        depth: Length,
    },
    /// Any other shape, by the corners of a polygon in order.
    Free {
        /// To the right of the centre and behind it; negative to the left and in front.
        corners: Vec<[Length; 2]>,
    },
}

impl Outline {
    /// Twice the farthest reach from the centre to left or right, and to front or back.
    pub fn sides(&self) -> [Length; 2] {
        match self {
            Outline::Round { diameter } => [*diameter, *diameter],
            Outline::Oval { width, depth } | Outline::Rectangle { width, depth } => [*width, *depth],
            Outline::Free { corners } => {
                [0, 1].map(|way| corners.iter().map(|c| c[way].abs() * 2).max().unwrap_or_default())
            }
        }
    }

    /// From the centre to the rim along the centre lines, in millimetres: to the left, right, front and back.
    pub(crate) fn rims(&self) -> [f64; 4] {
        let Outline::Free { .. } = self else {
            let [x, y] = self.sides().map(|l| l.to_mm() / 2.0);
            return [x, x, y, y];
        };
        let mut rims = [0.0_f64; 4];
        for [from, to] in self.edges() {
            for (way, other) in [(0, 1), (1, 0)] {
                if (from[other] > 0.0) != (to[other] > 0.0) {
                    let t = from[other] / (from[other] - to[other]);
                    let at = from[way] + t * (to[way] - from[way]);
                    let side = 2 * way + usize::from(at > 0.0);
                    rims[side] = rims[side].max(at.abs());
                }
            }
        }
        rims
    }

    /// Whether a point, from the centre in millimetres, is under the top.
    pub(crate) fn holds(&self, [x, y]: [f64; 2]) -> bool {
        let [rim_x, rim_y] = self.sides().map(|l| l.to_mm() / 2.0);
        match self {
            Outline::Rectangle { .. } => x.abs() <= rim_x && y.abs() <= rim_y,
            Outline::Free { .. } => {
                let beyond = |[from, to]: &[[f64; 2]; 2]| {
                    (from[1] > y) != (to[1] > y)
                        && x < from[0] + (y - from[1]) / (to[1] - from[1]) * (to[0] - from[0])
                };
                self.edges().iter().filter(|edge| beyond(edge)).count() % 2 == 1
            }
            _ => (x / rim_x) * (x / rim_x) + (y / rim_y) * (y / rim_y) <= 1.0,
        }
    }

    /// Sides of the polygon, in millimetres; none of the other shapes.
    pub(crate) fn edges(&self) -> Vec<[[f64; 2]; 2]> {
        let Outline::Free { corners } = self else { return Vec::new() };
        let mm = |n: usize| corners[n % corners.len()].map(Length::to_mm);
        (0..corners.len()).map(|n| [mm(n), mm(n + 1)]).collect()
    }

    /// Area in square millimetres.
    pub fn area_mm2(&self) -> f64 {
        let [width, depth] = self.sides().map(Length::to_mm);
        match self {
            Outline::Rectangle { .. } => width * depth,
            Outline::Free { .. } => {
                let twice: f64 = self.edges().iter().map(|[p, q]| p[0] * q[1] - q[0] * p[1]).sum();
                twice.abs() / 2.0
            }
            _ => width * depth * std::f64::consts::FRAC_PI_4,
        }
    }
}

/// The top that the base carries.
#[derive(Clone, Debug, PartialEq)]
pub struct TopSpec {
    /// Its finished thickness.
    pub thickness: Length,
    /// Its plan shape, if known.
    pub outline: Option<Outline>,
    /// Its density in kilograms a cubic metre.
    pub density: f64,
}

/// How the base is screwed to the top, from below.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fixing {
    /// What each screw passes through before it meets the top: the rail's breadth, or a cleat's thickness.
    /// `None` takes the highest rungs, when their top edges touch the top.
    pub through: Option<Length>,
    /// How deep the head is sunk: countersink or counterbore.
    pub sunk: Length,
    /// Screw number: 8, 9 or 10.
    pub number: u32,
    /// How many in each rail or cleat.
    pub each: u32,
    /// Wood of the top, for the pilot.
    pub wood: Wood,
    /// How much wood must stay between the point and the top's face.
    pub cover: Length,
}

/// Hard or soft, as pilot tables divide woods.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Wood {
    /// Hardwood.
    #[default]
    Hard,
    /// Softwood.
    Soft,
}

/// What the shop can set, loses and allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shop {
    /// The smallest mark the shop can set.
    pub mark: Length,
    /// The smallest step of the saw's angle scales.
    pub angle_step: Angle,
    /// Wood lost to one cut of the saw that rips and crosscuts sticks.
    pub kerf: Length,
    /// Added at each end of a leg or rung blank.
    pub end_allowance: Length,
    /// Planed off each face of a sawn stick.
    pub planing: Length,
    /// Taken off one edge of a board to make it straight and square, kerf included.
    pub edge_squaring: Length,
    /// Density of the base's wood in kilograms a cubic metre.
    pub density: f64,
    /// How lengths are written in sentences.
    pub system: System,
}

impl Default for Shop {
    /// 0.5 mm marks, 0.1 degree steps, a 3.2 mm kerf (T39), 15 mm at each end, 1.5 mm a face, a 5 mm edge-squaring
    /// cut and 700 kg a cubic metre. All but the kerf: common practice, no source.
    fn default() -> Self {
        Shop {
            mark: Length::from_um(500),
            angle_step: Angle::degrees(0.1),
            kerf: Length::from_um(3200),
            end_allowance: Length::from_mm(15),
            planing: Length::from_um(1500),
            edge_squaring: Length::from_mm(5),
            density: 700.0,
            system: System::Metric,
        }
    }
}

/// Why a base cannot be made as asked: one fault, in whole sentences, with what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// The field of the spec, by the job's name for it (`height`, `front_lean`, `rungs[1].height`).
    pub key: String,
    /// The part that it is about, such as `front and back rung 1`; empty for the base as a whole.
    pub piece: String,
    /// What was found, what is allowed and by how much it is missed.
    pub message: String,
    /// Changes of one size each that would do, the smallest first, where they were looked for: not where the message says
    /// what to do, nor behind many other refusals.
    pub changes: Option<Vec<Change>>,
    /// A number of dowels in each end that would do as well, where one was asked for.
    pub dowels: Option<DowelChange>,
    /// What any of those changes cures.
    pub cure: Cure,
    /// Whether what is refused is that something was not said at all.
    pub unsaid: bool,
    /// How lengths are written.
    pub system: System,
}

/// A size to change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The field of the spec, by the job's name for it.
    pub key: String,
    /// What it would have to be.
    pub to: Length,
    /// How much more that is than now; below zero for less.
    pub by: Length,
    /// True when a like rung on the other two sides must stay as it is; otherwise that one changes with it.
    pub alone: bool,
}

/// What a change cures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cure {
    /// With it the base can be made.
    Base,
    /// The refusal, and not the others beside it.
    Alone,
    /// The refusal, behind which there are others that then show.
    Uncovers,
}

/// A number of dowels to change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DowelChange {
    /// How many in each end there would have to be.
    pub to: u32,
    /// How many are asked for.
    pub now: u32,
}

impl Refusal {
    /// A refusal of the base as a whole.
    pub(crate) fn new(key: &str, message: String, system: System) -> Refusal {
        Refusal {
            key: key.to_string(),
            piece: String::new(),
            message,
            changes: None,
            dowels: None,
            cure: Cure::Base,
            unsaid: false,
            system,
        }
    }

    /// The message with what would do.
    pub fn sentence(&self) -> String {
        let Some(changes) = &self.changes else { return self.message.clone() };
        let way = |more: bool| if more { "more" } else { "less" };
        let lengths = changes.iter().map(|change| {
            let (to, by) = (change.to.show(self.system), change.by.abs().show(self.system));
            let key = change.key.rsplit_once("].").map_or(change.key.as_str(), |(_, field)| field);
            format!("`{key}` of {to} ({by} {})", way(change.by.is_positive()))
        });
        let dowels = self.dowels.map(|DowelChange { to, now }| {
            format!("`joint.count` of {to} ({} {})", to.abs_diff(now), way(to > now))
        });
        let said: Vec<String> = lengths.chain(dowels).collect();
        let list = match said.as_slice() {
            [] => {
                return format!(
                    "{} No change of one size was found that would do: change several, or leave it out.",
                    self.message
                );
            }
            [one] => one.clone(),
            [front @ .., last] => format!("{} or {last}", front.join(", ")),
        };
        match self.cure {
            Cure::Base => format!("{} It would do with {list}.", self.message),
            Cure::Alone => format!("{} This alone is cured by {list}.", self.message),
            Cure::Uncovers => format!(
                "{} This is cured by {list}, but then other faults show: more than one size must change.",
                self.message
            ),
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}`: ", self.key)?;
        if !self.piece.is_empty() {
            write!(f, "{}: ", self.piece)?;
        }
        f.write_str(&self.sentence())
    }
}

impl std::error::Error for Refusal {}
