//! Every key a job may hold: its kind, its default and what it means.
//!
//! Reading, the suggestion of the nearest known key, the list of assumptions in a plan and the printed schema all
//! come from these tables, so that they cannot disagree.

use stripwright_pattern::limits;

/// What a value must be.
#[derive(Debug)]
pub enum Kind {
    /// A length above zero: a spelling such as `"18 mm"`, or a bare number in the job's units.
    Length,
    /// A length of zero or more.
    LengthOrZero,
    /// An amount of money: `"92.50"` or `92.5`.
    Money,
    /// A number between two limits, in the unit that the key's description gives.
    Number(f64, f64),
    /// A whole number between two limits.
    Count(u32, u32),
    /// Text that is not empty.
    Text,
    /// true or false.
    Flag,
    /// One of these words.
    Word(&'static [&'static str]),
    /// An object with these keys.
    Shape(&'static Shape),
    /// An object whose `kind` says which keys it has.
    Kinds(&'static str, &'static [&'static Shape]),
    /// A list of the same, of at most so many.
    List(&'static Kind, usize),
    /// A point: a list of two lengths that may be below zero.
    Point,
    /// One length for all, or an object.
    LengthOr(&'static Shape),
}

/// Whether a key may be left out.
#[derive(Debug)]
pub enum Need {
    /// It must be there.
    Must,
    /// It may be missing, and then nothing is assumed.
    May,
    /// It may be missing, and then this value is taken and listed in the plan.
    Else(&'static str),
}

/// One key of an object.
#[derive(Debug)]
pub struct Key {
    /// Its name.
    pub name: &'static str,
    /// What its value must be.
    pub kind: Kind,
    /// Whether it may be left out.
    pub need: Need,
    /// What it means, with its unit.
    pub about: &'static str,
}

/// An object of the job file.
#[derive(Debug)]
pub struct Shape {
    /// What it is; for one of several kinds of object, the word that `kind` has.
    pub name: &'static str,
    /// What it describes.
    pub about: &'static str,
    /// Its keys, in the order the schema lists them.
    pub keys: &'static [Key],
}

/// The most entries a list may have.
pub const MOST_ENTRIES: usize = 1_000;
/// The most of one thing a job may ask for.
pub const MOST_COUNT: u32 = 100_000;
/// The most plain parts a job may ask for in all, and the most plain lengths of lumber.
pub const MOST_IN_ALL: u32 = 100_000;
/// The most pieces of one size that may lie side by side on a sheet or board: the search adds them up one by one.
pub const MOST_ABREAST: i64 = 2_000;
/// The widest kerf: sets of blades for grooves cut up to some 20 mm (common practice, no source).
pub const WIDEST_KERF: stripwright_units::Length = stripwright_units::Length::from_mm(20);
/// The largest sheet, in square metres: larger ones are a slip of the unit, and cost memory without end.
pub const MOST_SQUARE_METRES: i128 = 1_000;
/// The most kinds of sheets, of lumber, and of offcuts in their file.
pub const MOST_SHEETS: usize = 200;
/// The largest job file, in bytes.
pub const MOST_BYTES: usize = 4 << 20;
/// The angles of the patterns that have one, in degrees, least and most.
pub const ANGLES: (f64, f64) = limits::ANGLES;
/// What the currency is called where a job does not name it.
pub const UNNAMED_CURRENCY: &str = "money";
/// The most characters a name or title may have.
pub const MOST_CHARS: usize = 200;

const fn must(name: &'static str, kind: Kind, about: &'static str) -> Key {
    Key { name, kind, need: Need::Must, about }
}

const fn may(name: &'static str, kind: Kind, about: &'static str) -> Key {
    Key { name, kind, need: Need::May, about }
}

const fn or(name: &'static str, kind: Kind, value: &'static str, about: &'static str) -> Key {
    Key { name, kind, need: Need::Else(value), about }
}

/// The whole job.
pub static JOB: Shape = Shape {
    name: "job",
    about: "A cutting job: sheets and lumber to buy, tops, bases and plain parts to make from them.",
    keys: &[
        or("format", Kind::Count(1, 1), "1", "Version of the job file's shape."),
        or("title", Kind::Text, "untitled", "What the job is called on drawings."),
        or("units", Kind::Word(&["mm", "in"]), "mm", "Unit of bare numbers, and of drawings and text."),
        may(
            "mark",
            Kind::Length,
            "The smallest mark the shop can set; computed sizes are rounded up to it (0.5 mm, or 1/32 in).",
        ),
        or("currency", Kind::Text, UNNAMED_CURRENCY, "Name of the currency, for reading only."),
        or("shop", Kind::Shape(&SHOP), "{}", "Machines, glue and allowances of the shop."),
        may(
            "sheets",
            Kind::List(&Kind::Shape(&SHEET), MOST_SHEETS),
            "Sheets that may be bought, and offcuts on hand at price 0; needed for tops and parts.",
        ),
        may(
            "offcuts",
            Kind::Text,
            "Path of a file of offcuts on hand (a list of sheets), beside the job file.",
        ),
        or("cutting", Kind::Shape(&CUTTING), "{}", "How sheets are cut up."),
        may("tops", Kind::List(&Kind::Shape(&TOP), MOST_ENTRIES), "Patterned seats and table tops."),
        may("parts", Kind::List(&Kind::Shape(&PART), MOST_ENTRIES), "Plain rectangular parts."),
        may(
            "lumber",
            Kind::List(&Kind::Shape(&LUMBER), MOST_SHEETS),
            "Lumber that may be bought for legs, rungs and sticks.",
        ),
        may("sticks", Kind::List(&Kind::Shape(&STICK), MOST_ENTRIES), "Plain lengths of lumber."),
        may(
            "bases",
            Kind::List(&Kind::Shape(&BASE), MOST_ENTRIES),
            "Bases of raked and splayed legs and rungs.",
        ),
    ],
};

/// `shop`.
pub static SHOP: Shape = Shape {
    name: "shop",
    about: "Machines, glue and allowances of the shop.",
    keys: &[
        or("table_saw", Kind::Shape(&TABLE_SAW), "{}", "The saw that rips and crosscuts sheets."),
        or("bias_saw", Kind::Shape(&BIAS_SAW), "{}", "The saw that cuts bands or blocks off a slab."),
        or("planer", Kind::Shape(&PLANER), "{}", "The thickness planer."),
        or("glue", Kind::Shape(&GLUE), "{}", "The glue and how it is spread."),
        or("clamp", Kind::Shape(&CLAMP), "{}", "The clamps."),
        or("sled", Kind::Shape(&SLED), "{}", "A router on a sled, for blanks wider than the planer."),
        may("drum_sander", Kind::Shape(&DRUM), "The drum sander, if there is one."),
        or("allow", Kind::Shape(&ALLOW), "{}", "What is left on for later work."),
        or("router", Kind::Shape(&ROUTER), "{}", "The router and its bits."),
        or("sanding", Kind::Shape(&SANDING), "{}", "What is sanded with."),
        or("finish", Kind::Shape(&FINISH), "{}", "The finish and how far it goes."),
        or("times", Kind::Shape(&TIMES), "{}", "Minutes that work takes in this shop."),
        or("rates", Kind::Shape(&RATES), "{}", "What the shop pays and asks; nothing where not given."),
    ],
};

/// `shop.table_saw`.
pub static TABLE_SAW: Shape = Shape {
    name: "table_saw",
    about: "The saw that rips and crosscuts sheets.",
    keys: &[
        or("kerf", Kind::LengthOrZero, "3.2 mm", "Wood lost to one cut: measure one."),
        may("fence_reach", Kind::Length, "The widest rip the fence can be set to."),
        may("longest_rip", Kind::Length, "The longest rip the shop can make."),
        may("smallest_rip", Kind::Length, "The narrowest rip that is safe."),
    ],
};

/// `shop.bias_saw`.
pub static BIAS_SAW: Shape = Shape {
    name: "bias_saw",
    about: "The saw that cuts bands or blocks off a slab.",
    keys: &[
        or("kerf", Kind::LengthOrZero, "2.2 mm", "Wood lost to one cut."),
        may("reach", Kind::Length, "The longest bias cut it can make: limits the cut right across a slab."),
    ],
};

/// `shop.planer`.
pub static PLANER: Shape = Shape {
    name: "planer",
    about: "The thickness planer.",
    keys: &[
        or("width", Kind::Length, "330 mm", "The widest piece it takes."),
        or("bite", Kind::Length, "0.4 mm", "The most it takes off in one pass."),
        or(
            "snipe",
            Kind::LengthOrZero,
            "60 mm",
            "How far from each end it may dig in; said in the steps, not added to strips (shop.allow.ends is).",
        ),
        or("shortest", Kind::LengthOrZero, "305 mm", "The shortest piece that feeds safely."),
    ],
};

/// `shop.glue`.
pub static GLUE: Shape = Shape {
    name: "glue",
    about: "The glue and how it is spread.",
    keys: &[
        or("spread", Kind::Number(10.0, 1000.0), "200", "Grams a square metre of joint."),
        or(
            "open_minutes",
            Kind::Number(0.5, 240.0),
            "10",
            "Minutes from the first spread to the last clamp.",
        ),
        or(
            "strips_a_minute",
            Kind::Number(0.1, 60.0),
            "2",
            "How many strips the shop spreads and sets in a minute.",
        ),
        or("line", Kind::LengthOrZero, "0", "Thickness one glue line adds to the pitch."),
        or("faces", Kind::Count(1, 2), "1", "Faces of each joint that are spread."),
        or(
            "end_grain",
            Kind::Number(0.0, 2.0),
            "0.25",
            "How much more glue a joint takes that is not long grain: 0.25 is a quarter more.",
        ),
        or(
            "squeeze_out",
            Kind::Number(0.0, 1.0),
            "0.1",
            "Share of the glue lost to squeeze-out and the brush, bought besides.",
        ),
        or("bottle", Kind::Number(1.0, 100_000.0), "1000", "Grams a bottle."),
    ],
};

/// `shop.clamp`.
pub static CLAMP: Shape = Shape {
    name: "clamp",
    about: "The clamps.",
    keys: &[
        may(
            "reach",
            Kind::Length,
            "The widest glue-up they span: limits the breadth of a slab, across which the clamps press its strips together.",
        ),
        or("force", Kind::Number(1.0, 1_000_000.0), "4000", "Newtons one clamp gives."),
        or("caul", Kind::LengthOrZero, "30 mm", "Thickness of the cauls between clamp and work."),
        or(
            "pressure",
            Kind::Number(0.01, 10.0),
            "1",
            "Pressure wanted on a joint, newtons a square millimetre.",
        ),
    ],
};

/// `shop.sled`.
pub static SLED: Shape = Shape {
    name: "sled",
    about: "A router that rides over the blank on a sled.",
    keys: &[
        or("cutter", Kind::Length, "25 mm", "Diameter of its cutter."),
        or("step", Kind::Number(0.05, 1.0), "0.8", "Share of the cutter that each row moves over."),
        or("bite", Kind::Length, "1 mm", "Deepest pass."),
        or("feed", Kind::Number(0.1, 50.0), "3", "Metres a minute."),
    ],
};

/// `shop.drum_sander`.
pub static DRUM: Shape = Shape {
    name: "drum_sander",
    about: "The drum sander.",
    keys: &[
        must("width", Kind::Length, "The widest piece it takes."),
        or("bite", Kind::Length, "0.2 mm", "The most it takes off in one pass."),
    ],
};

/// `shop.allow`.
pub static ALLOW: Shape = Shape {
    name: "allow",
    about: "What is left on for later work.",
    keys: &[
        or("ends", Kind::LengthOrZero, "10 mm", "Added to each end of a strip: marking error and snipe."),
        or("first_planing", Kind::LengthOrZero, "0.8 mm", "Planed off each face of a slab."),
        or("second_planing", Kind::LengthOrZero, "0.8 mm", "Planed off each face of a blank."),
        or("sanding", Kind::LengthOrZero, "0.4 mm", "Sanded off both faces together."),
    ],
};

/// `shop.router`.
pub static ROUTER: Shape = Shape {
    name: "router",
    about: "The router and its bits.",
    keys: &[
        or("bit", Kind::Length, "6 mm", "Diameter of the bit that follows the outline."),
        or("pass", Kind::Length, "3 mm", "Deepest pass."),
        or("leave", Kind::LengthOrZero, "1.5 mm", "What rough sawing leaves outside the outline."),
        or("round_over", Kind::LengthOrZero, "3 mm", "Radius that the edges of a top are eased to."),
    ],
};

/// `shop.sanding`.
pub static SANDING: Shape = Shape {
    name: "sanding",
    about: "What is sanded with.",
    keys: &[or(
        "grits",
        Kind::List(&Kind::Count(12, 2500), 12),
        "80, 120, 150, 180",
        "Grits in the order of use, by their P numbers.",
    )],
};

/// `shop.finish`.
pub static FINISH: Shape = Shape {
    name: "finish",
    about: "The finish and how far it goes.",
    keys: &[
        or("name", Kind::Text, "oil", "What it is called."),
        or(
            "coverage",
            Kind::Number(0.5, 200.0),
            "10",
            "Square metres a litre covers in the first coat, on long grain.",
        ),
        or(
            "later_coverage",
            Kind::Number(0.5, 200.0),
            "12",
            "Square metres a litre covers in each later coat.",
        ),
        or(
            "end_grain",
            Kind::Number(1.0, 10.0),
            "2",
            "How many times as much the first coat takes on tops, whose faces are about half end grain.",
        ),
        or("coats", Kind::Count(0, 20), "3", "How many coats; 0 for no finish."),
        or("lost", Kind::Number(0.0, 1.0), "0.1", "Share of what is used that stays in brush, rag and tin."),
        or("tin", Kind::Number(1.0, 100_000.0), "1000", "Millilitres a tin."),
    ],
};

/// A number of minutes with its default.
const fn minutes(name: &'static str, value: &'static str, about: &'static str) -> Key {
    or(name, Kind::Number(0.0, 10_000.0), value, about)
}

/// `shop.times`.
pub static TIMES: Shape = Shape {
    name: "times",
    about: "Minutes that work takes in this shop.",
    keys: &[
        minutes("setting", "3", "Minutes to set and check a fence, a stop, a blade or a planer."),
        minutes("sheet", "5", "Minutes to bring a sheet to the saw and stack what comes off."),
        minutes("cut", "0.5", "Minutes for one rip or crosscut of a sheet."),
        minutes("mark", "0.2", "Minutes to mark one piece."),
        minutes("clamp", "0.5", "Minutes to set one clamp and take it off again."),
        minutes("joint", "1", "Minutes to spread and lay one joint of the second glue-up."),
        minutes("scrape", "15", "Minutes to scrape a square metre of glued face."),
        minutes("pass", "0.3", "Minutes to handle one pass at the planer, besides the feed."),
        or("feed", Kind::Number(0.1, 100.0), "5", "Metres that the planer feeds in a minute."),
        minutes("bias_cut", "1", "Minutes for one cut of the bias saw."),
        minutes("outline", "1", "Minutes for a metre of outline, each pass of the router or the rough saw."),
        minutes("ease", "1", "Minutes to ease a metre of edge."),
        minutes("voids", "15", "Minutes to fill the voids of a square metre of face."),
        minutes("sand", "8", "Minutes to sand a square metre with one grit."),
        minutes("clean", "4", "Minutes to clean a square metre before the finish."),
        minutes("coat", "10", "Minutes to lay one coat on a square metre."),
        minutes("leg_cut", "2", "Minutes for one cut of a leg or a rung."),
        minutes("bore", "1.5", "Minutes to mark and bore one hole."),
        minutes("screw", "1.5", "Minutes to drill for and drive one screw."),
        minutes("assemble", "20", "Minutes to glue up and square one base."),
        minutes("clamped", "60", "Minutes in clamps, to wait."),
        minutes("cure", "1440", "Minutes from glue-up to planing, to wait."),
        minutes("dry", "720", "Minutes from coat to coat, to wait."),
    ],
};

/// `shop.rates`.
pub static RATES: Shape = Shape {
    name: "rates",
    about: "What the shop pays and asks; nothing where not given.",
    keys: &[
        or("labour", Kind::Money, "0", "An hour of labour."),
        or(
            "overhead",
            Kind::Money,
            "0",
            "Overhead for an hour of labour: rent, machines, insurance, sweeping.",
        ),
        or("margin", Kind::Number(0.0, 1000.0), "0", "Margin on the cost, per cent."),
        or("glue", Kind::Money, "0", "A bottle of glue."),
        or("finish", Kind::Money, "0", "A tin of finish."),
        or("dowel", Kind::Money, "0", "A dowel."),
        or("screw", Kind::Money, "0", "A screw."),
        or("sawing", Kind::Money, "0", "Wear of saw blades, for 100 m of cut."),
        or("planing", Kind::Money, "0", "Wear of planer knives, for 100 m of feed."),
        or("abrasive", Kind::Money, "0", "Abrasive for a square metre sanded with one grit."),
        or(
            "offcut_credit",
            Kind::Number(0.0, 100.0),
            "0",
            "Per cent of its price by area that an offcut worth keeping is credited with.",
        ),
    ],
};

/// `sheets[]`.
pub static SHEET: Shape = Shape {
    name: "sheet",
    about: "A panel of sheet goods as bought, or an offcut on hand.",
    keys: &[
        must("name", Kind::Text, "What the plan calls it."),
        must("length", Kind::Length, "Along the face grain."),
        must("width", Kind::Length, "Across the face grain."),
        may("thickness", Kind::Length, "Thickness as sold."),
        may(
            "measured",
            Kind::Length,
            "Thickness as measured, where it differs from what it is sold as; the geometry uses it.",
        ),
        may(
            "tolerance",
            Kind::LengthOrZero,
            "How much thinner than `thickness` a sheet may come; until it is `measured`, the plan says how many strips \
             more that would need.",
        ),
        or(
            "price",
            Kind::Money,
            "1.00",
            "Price of one; 0 for an offcut on hand. With every price left out the plan counts sheets.",
        ),
        may("limit", Kind::Count(0, MOST_COUNT), "How many there are; any number when left out."),
        or("trim", Kind::LengthOr(&TRIM), "0", "What is cut away at every edge first, kerf included."),
        may("density", Kind::Number(50.0, 2000.0), "Kilograms a cubic metre, to reckon the mass of tops."),
    ],
};

/// `sheets[].trim`.
pub static TRIM: Shape = Shape {
    name: "trim",
    about: "What is cut away at each edge of a sheet first, kerf included.",
    keys: &[
        or("left", Kind::LengthOrZero, "0", "At the left end (x = 0)."),
        or("right", Kind::LengthOrZero, "0", "At the right end (x = length)."),
        or("bottom", Kind::LengthOrZero, "0", "At the lower edge (y = 0)."),
        or("top", Kind::LengthOrZero, "0", "At the upper edge (y = width)."),
    ],
};

/// `cutting`.
pub static CUTTING: Shape = Shape {
    name: "cutting",
    about: "How sheets are cut up.",
    keys: &[
        or(
            "first",
            Kind::Word(&["rip", "crosscut", "either"]),
            "either",
            "Direction of a sheet's first cuts.",
        ),
        or(
            "stages",
            Kind::Count(2, 3),
            "3",
            "How often the direction of cutting alternates; a last trimming cut is not counted.",
        ),
        may("rip_kerf", Kind::LengthOrZero, "Wood lost to one rip, where it is not the table saw's kerf."),
        may(
            "crosscut_kerf",
            Kind::LengthOrZero,
            "Wood lost to one crosscut, where it is not the table saw's kerf.",
        ),
        may("keep", Kind::List(&Kind::Length, 2), "Length and width of the smallest offcut worth keeping."),
    ],
};

/// `tops[]`.
pub static TOP: Shape = Shape {
    name: "top",
    about: "A patterned seat or table top.",
    keys: &[
        must("name", Kind::Text, "What the plan calls it."),
        or("count", Kind::Count(1, 1000), "1", "How many are made."),
        may(
            "sheet_thickness",
            Kind::Length,
            "Thickness of the sheets its strips are ripped from; may be left out when all sheets are alike.",
        ),
        may(
            "sequence",
            Kind::List(&Kind::Text, 24),
            "Names of the sheets its laminations are ripped from, over and over, where they are not all alike.",
        ),
        must("finished", Kind::Length, "Finished thickness."),
        or("margin", Kind::LengthOrZero, "6 mm", "What the blank shows all round the outline."),
        must("outline", Kind::Kinds("outline", OUTLINES), "The finished plan shape."),
        must("pattern", Kind::Kinds("pattern", PATTERNS), "How the face is divided."),
        or(
            "slab",
            Kind::Word(&["shaped", "even", "either"]),
            "shaped",
            "Whether each strip is as long as its own bands need, or all strips of a slab are alike.",
        ),
        or("spare", Kind::Count(0, 20), "0", "Spare bands a top."),
        or(
            "staggered",
            Kind::Flag,
            "true",
            "Whether each strip of a slab cut on the bias is slid past its neighbour.",
        ),
        or("may_turn", Kind::Flag, "false", "Whether strips may be cut across the sheet's grain."),
    ],
};

/// Kinds of `tops[].outline`.
pub static OUTLINES: &[&Shape] = &[
    &Shape {
        name: "round",
        about: "A circle.",
        keys: &[must("diameter", Kind::Length, "Across the circle.")],
    },
    &Shape {
        name: "oval",
        about: "An ellipse.",
        keys: &[
            must("length", Kind::Length, "Across the bands (x)."),
            must("width", Kind::Length, "Along the bands (y)."),
        ],
    },
    &Shape {
        name: "rectangle",
        about: "A rectangle.",
        keys: &[
            must("length", Kind::Length, "Across the bands (x)."),
            must("width", Kind::Length, "Along the bands (y)."),
            or("radius", Kind::LengthOrZero, "0", "Radius of its corners."),
        ],
    },
    &Shape {
        name: "rounded rectangle",
        about: "A rectangle with rounded corners.",
        keys: &[
            must("length", Kind::Length, "Across the bands (x)."),
            must("width", Kind::Length, "Along the bands (y)."),
            must("radius", Kind::LengthOrZero, "Radius of its corners."),
        ],
    },
    &Shape {
        name: "polygon",
        about: "A regular polygon with one side at the bottom.",
        keys: &[
            must("sides", Kind::Count(limits::SIDES.0, limits::SIDES.1), "How many sides."),
            may(
                "across_flats",
                Kind::Length,
                "Diameter of the circle that its sides touch; give this or `across_corners`.",
            ),
            may("across_corners", Kind::Length, "Diameter of the circle through its corners."),
        ],
    },
    &Shape {
        name: "points",
        about: "A free polygon; (0, 0) is the centre pin.",
        keys: &[must(
            "points",
            Kind::List(&Kind::Point, limits::CORNERS),
            "Its corners in order, each [x, y]; x across the bands, y along them.",
        )],
    },
];

/// Words for how laminations lie in a block or wedge.
const LAY: Kind = Kind::Word(&["along", "across"]);
/// A free phase that the job holds.
const PHASE: Key = may(
    "phase",
    Kind::List(&Kind::LengthOrZero, 2),
    "How far the laminations (or courses of blocks) are slid; chosen for the fewest laminations when left out.",
);

/// Kinds of `tops[].pattern`.
pub static PATTERNS: &[&Shape] = &[
    &Shape {
        name: "chevron",
        about: "Bands with slanting laminations, every other band turned over.",
        keys: &[
            must(
                "angle",
                Kind::Number(limits::ANGLES.0, limits::ANGLES.1),
                "Degrees between the laminations and the band's edge.",
            ),
            may("band", Kind::Length, "Band width; give this or `bands`."),
            may("bands", Kind::Count(1, limits::BANDS), "Number of bands, from which their width follows."),
            may(
                "centre",
                Kind::Word(&["seam", "band"]),
                "What lies on the centre line: a seam unless `bands` is odd.",
            ),
            PHASE,
        ],
    },
    &Shape {
        name: "straight",
        about: "One slab of parallel laminations.",
        keys: &[
            or(
                "angle",
                Kind::Number(0.0, 180.0),
                "0",
                "Degrees from the x axis to the laminations, anticlockwise.",
            ),
            PHASE,
        ],
    },
    &Shape {
        name: "diamond",
        about: "Chevron bands mirrored about the x axis as well.",
        keys: &[
            must(
                "angle",
                Kind::Number(limits::ANGLES.0, limits::ANGLES.1),
                "Degrees between the laminations and the band's edge.",
            ),
            may("band", Kind::Length, "Band width; with neither this nor `bands` there are two."),
            may("bands", Kind::Count(2, limits::BANDS), "Number of bands, from which their width follows."),
            PHASE,
        ],
    },
    &Shape {
        name: "sunburst",
        about: "Wedges round the pin.",
        keys: &[
            must("wedges", Kind::Count(limits::WEDGES.0, limits::WEDGES.1), "How many."),
            or("lay", LAY, "along", "Laminations along the middle line of each wedge, or across it."),
            PHASE,
        ],
    },
    &Shape {
        name: "herringbone",
        about: "Blocks in pairs at right angles, the zigzag along y.",
        keys: &[
            may("width", Kind::Length, "Short side of a block."),
            may("length", Kind::Length, "Long side of a block."),
            may(
                "laminations",
                Kind::Count(1, 200),
                "Laminations of a block, instead of the side that they stack along.",
            ),
            or("lay", LAY, "along", "Laminations along or across the long side."),
            PHASE,
        ],
    },
    &Shape {
        name: "running bond",
        about: "Blocks in courses, each set over by a share of a block.",
        keys: &[
            may("width", Kind::Length, "Side of a block across the course."),
            may("length", Kind::Length, "Side of a block along the course."),
            may(
                "laminations",
                Kind::Count(1, 200),
                "Laminations of a block, instead of the side that they stack along.",
            ),
            or("lay", LAY, "along", "Laminations along or across the long side."),
            or(
                "set_over",
                Kind::Count(2, 20),
                "2",
                "Each course is set over by 1/n of a block: 2 is half bond.",
            ),
            or(
                "turn",
                Kind::Number(0.0, 180.0),
                "0",
                "Degrees from the x axis to the courses, anticlockwise.",
            ),
            PHASE,
        ],
    },
    &Shape {
        name: "basket weave",
        about: "Squares of parallel blocks, neighbours at right angles.",
        keys: &[
            may("width", Kind::Length, "Short side of a block."),
            may("laminations", Kind::Count(1, 200), "Laminations of a block, instead of `width`."),
            must("blocks", Kind::Count(1, limits::BLOCKS), "Blocks in a square."),
            or("lay", LAY, "along", "Laminations along or across the long side."),
            or("turn", Kind::Number(0.0, 180.0), "0", "Degrees from the x axis, anticlockwise."),
            PHASE,
        ],
    },
];

/// `parts[]`.
pub static PART: Shape = Shape {
    name: "part",
    about: "A plain rectangular part.",
    keys: &[
        must("name", Kind::Text, "What the plan calls it."),
        must("length", Kind::Length, "Along the sheet's length, unless turned."),
        must("width", Kind::Length, "Across the sheet, unless turned."),
        or("count", Kind::Count(1, MOST_COUNT), "1", "How many are wanted."),
        may("thickness", Kind::Length, "Thickness of its sheets; any sheet does when left out."),
        may(
            "sheets",
            Kind::List(&Kind::Text, 200),
            "Names of the sheets it may be cut from; any of its thickness when left out.",
        ),
        may("may_turn", Kind::Flag, "Whether it may lie across the sheet; true unless `grain` is given."),
        may(
            "grain",
            Kind::Word(&["length", "any"]),
            "Whether the face grain must run along the part's length.",
        ),
    ],
};

/// `lumber[]`.
pub static LUMBER: Shape = Shape {
    name: "lumber",
    about: "Lumber that may be bought.",
    keys: &[
        must("name", Kind::Text, "What the plan calls it."),
        may("section", Kind::List(&Kind::Length, 2), "Its two cross sizes, in either order."),
        must("length", Kind::Length, "Length of one stick."),
        or("price", Kind::Money, "1.00", "Price of one stick."),
        may("limit", Kind::Count(0, MOST_COUNT), "How many there are; any number when left out."),
    ],
};

/// `sticks[]`.
pub static STICK: Shape = Shape {
    name: "stick",
    about: "A plain length of lumber.",
    keys: &[
        must("name", Kind::Text, "What the plan calls it."),
        must("length", Kind::Length, "Its length."),
        or("count", Kind::Count(1, MOST_COUNT), "1", "How many are wanted."),
        may("lumber", Kind::Text, "Name of the lumber it is cut from; any when left out."),
    ],
};

/// `bases[]`.
pub static BASE: Shape = Shape {
    name: "base",
    about: "A base of raked and splayed legs and rungs.",
    keys: &[
        must("name", Kind::Text, "What the plan calls it."),
        or("count", Kind::Count(1, 1000), "1", "How many are made."),
        may("height", Kind::Length, "From the floor to the underside of the top."),
        may("seat_height", Kind::Length, "From the floor to the upper face of the top, instead of `height`."),
        may(
            "front_lean",
            Kind::Number(0.0, 45.0),
            "Lean of the legs seen from the front, degrees from vertical; 0 when only the other lean is given.",
        ),
        may(
            "side_lean",
            Kind::Number(0.0, 45.0),
            "Lean of the legs seen from the side, degrees from vertical; 0 when only the other lean is given.",
        ),
        must("leg", Kind::Length, "Breadth of a leg's face to the front or back."),
        may("leg_depth", Kind::Length, "Breadth of its face to the left or right; the same when left out."),
        may(
            "top_spread",
            Kind::Length,
            "Over the outsides of the legs at their upper ends, from left to right.",
        ),
        may("top_spread_depth", Kind::Length, "The same from front to back; as `top_spread` when left out."),
        may("floor_spread", Kind::Length, "Over the outsides of the legs on the floor, from left to right."),
        may(
            "floor_spread_depth",
            Kind::Length,
            "The same from front to back; as `floor_spread` when left out.",
        ),
        may(
            "rungs",
            Kind::List(&Kind::LengthOr(&RUNG), 20),
            "Rungs: heights of their top edges above the floor, or objects.",
        ),
        may(
            "joint",
            Kind::Kinds("joint", &[&DOWELS, &TENON]),
            "How rungs are joined to legs; dowels when left out.",
        ),
        may("top", Kind::Text, "Name of the top that it carries: gives thickness and outline."),
        may("top_thickness", Kind::Length, "Thickness of the top, where the job has no such top."),
        may("screws", Kind::Shape(&SCREWS), "Screws up into the top."),
        may("lumber", Kind::Text, "Name of the lumber it is cut from; any when left out."),
        or(
            "angle_step",
            Kind::Number(0.001, 5.0),
            "0.1",
            "Smallest step of the saw's angle scales, degrees.",
        ),
        or("end_allowance", Kind::LengthOrZero, "15 mm", "Left on each end of a leg or rung blank."),
        or("planing", Kind::LengthOrZero, "1.5 mm", "Planed off each face of a sawn stick."),
        or(
            "edge_squaring",
            Kind::LengthOrZero,
            "5 mm",
            "Taken off one edge of a board to square it, kerf included.",
        ),
        or(
            "density",
            Kind::Number(50.0, 3000.0),
            "700",
            "Density of the base's wood, kilograms a cubic metre.",
        ),
    ],
};

/// `bases[].rungs[]`, written out.
pub static RUNG: Shape = Shape {
    name: "rung",
    about: "Rungs at one level.",
    keys: &[
        must("height", Kind::Length, "From the floor to the top edge."),
        or("sides", Kind::Word(&["all", "front and back", "left and right"]), "all", "Which sides have it."),
        may("width", Kind::Length, "Breadth of its face; as the leg when left out."),
        may("thickness", Kind::Length, "Its thickness; five eighths of the leg's when left out."),
        or(
            "set_in",
            Kind::LengthOrZero,
            "0 mm",
            "How far its outer face lies inside the outer face of the legs.",
        ),
        or(
            "stance",
            Kind::Word(&["leaning", "plumb"]),
            "leaning",
            "Whether it leans with its legs or stands plumb.",
        ),
        or(
            "edges",
            Kind::Word(&["level", "square"]),
            "level",
            "Whether its edges are bevelled to lie level.",
        ),
    ],
};

/// `bases[].joint` of dowels.
pub static DOWELS: Shape = Shape {
    name: "dowels",
    about: "Dowels in the ends of the rungs.",
    keys: &[
        may("diameter", Kind::Length, "Diameter; by the thickness rule when left out."),
        may("length", Kind::Length, "Whole length of a dowel; by the rule of thumb when left out."),
        may("count", Kind::Count(1, 12), "How many in each end; two where they find room when left out."),
    ],
};

/// `bases[].joint` of tenons.
pub static TENON: Shape = Shape {
    name: "tenon",
    about: "A tenon on each end of the rungs.",
    keys: &[
        may("length", Kind::Length, "How far it goes into the leg; two thirds when left out."),
        may("thickness", Kind::Length, "Its thickness; a third of the rung's when left out."),
    ],
};

/// `bases[].screws`.
pub static SCREWS: Shape = Shape {
    name: "screws",
    about: "Screws up into the top.",
    keys: &[
        or("number", Kind::Count(8, 10), "8", "Screw number."),
        or("each", Kind::Count(1, 20), "2", "How many in each rail or cleat."),
        or("sunk", Kind::LengthOrZero, "3 mm", "How deep the head is sunk."),
        or("cover", Kind::LengthOrZero, "6 mm", "Wood that must stay between the point and the top's face."),
        may("through", Kind::Length, "Thickness of the cleats; the rungs under the top when left out."),
        or("wood", Kind::Word(&["hard", "soft"]), "hard", "Wood of the top, for the pilot hole."),
    ],
};
