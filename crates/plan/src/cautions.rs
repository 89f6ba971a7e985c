//! What to mind, each caution worded once, at the step where it first applies.
//!
//! Cautions are the usual care of the trade. None of them replaces a machine's own instructions, a product's own
//! sheet, local codes or licensed practice, and the first of them says so.

use crate::plan::{Caution, Step};
use crate::work::Work;

/// Something to mind.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Care {
    /// What comes before any plan.
    Codes,
    /// Heavy sheets and tops.
    Lifting,
    /// Work thrown back by the table saw.
    Kickback,
    /// Pieces too small to hold by hand.
    SmallPieces,
    /// Fine dust.
    Dust,
    /// Glue in the way of knives.
    GlueLines,
    /// The planer digging in at the ends.
    Snipe,
    /// Cutters meeting end grain.
    EndGrain,
    /// A slab that shifts in an angled cut.
    BiasCut,
    /// A blade that leans.
    TiltedBlade,
    /// The router's feed.
    Router,
    /// Vapours that burn.
    Solvents,
    /// Rags that heat themselves.
    OilyRags,
    /// Bores in leaning legs.
    Drilling,
    /// A finished piece that nobody has tested.
    Sitting,
}

impl Care {
    /// What steps refer to.
    pub(crate) fn id(self) -> &'static str {
        match self {
            Care::Codes => "codes",
            Care::Lifting => "lifting",
            Care::Kickback => "kickback",
            Care::SmallPieces => "small-pieces",
            Care::Dust => "dust",
            Care::GlueLines => "glue-lines",
            Care::Snipe => "snipe",
            Care::EndGrain => "end-grain",
            Care::BiasCut => "bias-cut",
            Care::TiltedBlade => "tilted-blade",
            Care::Router => "router",
            Care::Solvents => "solvents",
            Care::OilyRags => "oily-rags",
            Care::Drilling => "drilling",
            Care::Sitting => "sitting",
        }
    }

    const ALL: [Care; 15] = [
        Care::Codes,
        Care::Lifting,
        Care::Kickback,
        Care::SmallPieces,
        Care::Dust,
        Care::GlueLines,
        Care::Snipe,
        Care::EndGrain,
        Care::BiasCut,
        Care::TiltedBlade,
        Care::Router,
        Care::Solvents,
        Care::OilyRags,
        Care::Drilling,
        Care::Sitting,
    ];

    fn title(self) -> &'static str {
        match self {
            Care::Codes => "Before the first cut",
            Care::Lifting => "Lifting",
            Care::Kickback => "Kickback",
            Care::SmallPieces => "Small pieces",
            Care::Dust => "Dust",
            Care::GlueLines => "Glue lines and knives",
            Care::Snipe => "Snipe and short stock",
            Care::EndGrain => "End grain at the planer",
            Care::BiasCut => "Cuts at an angle",
            Care::TiltedBlade => "Tilted blade",
            Care::Router => "Router",
            Care::Solvents => "Solvents",
            Care::OilyRags => "Oily rags",
            Care::Drilling => "Drilling",
            Care::Sitting => "Before anybody sits on it",
        }
    }

    fn text(self, work: &Work<'_>) -> Vec<String> {
        let words = work.words();
        let inch = work.system == stripwright_units::System::Inch;
        // Round figures of the trade, each in the shop's own system rather than converted.
        let either =
            |metric: &str, imperial: &str| if inch { imperial.to_string() } else { metric.to_string() };
        let shop = &work.job.shop;
        match self {
            Care::Codes => vec![
                "This plan counts and measures; it knows neither your machines nor your wood nor your hands.".into(),
                "Keep guards in place, eyes and ears covered, hair and sleeves tied, and work rested and sober.".into(),
                "Local codes, licensed practice, and the instructions of each machine and product come first: where \
                 they differ from a step or a caution of this plan, they hold."
                    .into(),
            ],
            Care::Lifting => {
                // T7, T8: a sheet of 18 mm birch plywood of 1220 by 2440 mm has about 37 kg.
                let mut text = Vec::new();
                if let Some(mass) = heaviest_sheet(work) {
                    text.push(format!(
                        "The heaviest sheet weighs about {}: carry it upright and by two, or break it down where it lies.",
                        words.mass(mass)
                    ));
                }
                let top = work.plan.tops.iter().filter_map(|t| t.mass).fold(0.0, f64::max) / 1e3;
                if top >= HEAVY {
                    text.push(format!(
                        "The heaviest finished top weighs about {}, its blank more: turn it over by two.",
                        words.mass(top)
                    ));
                }
                text.push("Lift from the knees, clear the way first, and support a sheet fully before the blade starts.".into());
                text
            }
            // T42 (blade height, push stick), T43 and T44 (hood, spreader, fence parallel).
            Care::Kickback => vec![
                "Wood pinched between fence and blade is thrown back at you: keep the riving knife (or spreader) and the \
                 hood in place and true, and never stand in line with the blade."
                    .into(),
                "Let only a straight, sawn edge run along the fence, set the fence parallel to the blade, and hold the \
                 board to it until it has passed the blade."
                    .into(),
                format!(
                    "Raise the blade {} above the work, and take a push stick for every rip under {}.",
                    either("3 mm to 6 mm", "1/8 in to 1/4 in"),
                    either("150 mm", "6 in")
                ),
                "Do not use the fence as the stop of a crosscut: what lies between them jams. Clamp a block to the fence \
                 short of the blade, or use a stop on the sled."
                    .into(),
            ],
            // T37 (hands and holders), T42 (push block, carrier).
            Care::SmallPieces => vec![
                format!(
                    "Pieces under {} long or {} wide bring hands too near the cutter: hold them with a push block, a sled \
                     or a clamp, and keep hands {} off.",
                    either("300 mm", "12 in"),
                    either("50 mm", "2 in"),
                    either("75 mm", "3 in")
                ),
                format!(
                    "Cut anything under {} wide off the free side of the blade or on a carrier board, and let the blade \
                     stop before you reach for it.",
                    either("20 mm", "3/4 in")
                ),
            ],
            // T46.
            Care::Dust => vec![
                "Fine wood dust harms lungs and nose; the stricter limits at work allow 1 or 2 milligrams in a cubic metre \
                 of air over a shift, and a sander without extraction is far above them."
                    .into(),
                "Extract at every machine, wear a mask that fits while sawing, planing, routing and sanding, and vacuum \
                 instead of sweeping or blowing."
                    .into(),
            ],
            // T36, T45.
            Care::GlueLines => vec![
                "Hard beads of glue chip planer knives, and the glue between plies dulls them: scrape every bead off, \
                 look for staples and grit, and let the glue cure first."
                    .into(),
                format!(
                    "Take light passes, here at most {}; a slab that howls or tears wants sharp knives, not a deeper pass.",
                    words.length(shop.pattern.planer.bite)
                ),
            ],
            // T37, T38.
            Care::Snipe => vec![
                format!(
                    "A planer digs in over about the first and last {} of each piece: feed scrap of the same thickness \
                     before and after, or lift the ends gently.",
                    words.length(shop.snipe)
                ),
                format!(
                    "Nothing shorter than {} goes through, and nothing that does not lie flat on the bed.",
                    words.length(shop.pattern.planer.shortest)
                ),
            ],
            // T31, T37.
            Care::EndGrain => vec![
                "About half of the plies in a face of ply edges show end grain; a cutter that meets them square tears \
                 them out and can throw the work."
                    .into(),
                "Feed strips lengthwise and blanks as long as they are, never a single band across its short grain, and \
                 stand to the side of the feed."
                    .into(),
            ],
            Care::BiasCut => vec![
                "A slab creeps along the fence in a cut at an angle: clamp it for every cut, support both sides, and keep \
                 the offcut free to fall away."
                    .into(),
                "Wait until the blade stands still before you take a band away, and do not hold the last narrow piece by \
                 hand."
                    .into(),
            ],
            // T43, T44.
            Care::TiltedBlade => vec![
                "A leaning blade traps what lies under it: put the fence on the side that the blade leans away from, or \
                 cut on a sled."
                    .into(),
                "With the saw unplugged turn the blade by hand and see that guard, riving knife, fence and sled clear it; \
                 then prove both angles in scrap."
                    .into(),
            ],
            // T41.
            Care::Router => vec![
                "Feed against the turning of the bit: by hand round the outside of a top that is anticlockwise seen from \
                 above, unless the tool's own instructions say otherwise; they come first."
                    .into(),
                format!(
                    "Fix the work so that it cannot turn, take at most {} a pass, and unplug the tool to change the bit.",
                    words.length(shop.reckoning.router.pass)
                ),
                "On a top of strips the grain turns as you go round: expect tear-out in two opposite quarters, and take \
                 the last pass there thin and slow."
                    .into(),
            ],
            // T48: alcohol flashes at 12.8 deg C and burns in air from 3.3 %.
            Care::Solvents => vec![
                format!(
                    "Cleaning alcohol gives off vapour that burns from about {} on: no flame, spark or hot machine near, \
                     windows open, only as much as the work needs.",
                    either("13 °C", "55 °F")
                ),
                "Wear gloves, keep it off skin and eyes, close the can, and read the product's own sheet.".into(),
            ],
            // T47.
            Care::OilyRags => vec![
                "Rags wet with drying oil heat themselves and can catch fire within hours in a heap: spread each one flat \
                 or hang it singly out of doors until it is hard, or keep it under water in a lidded metal can."
                    .into(),
                "Soaking does not finish it: the rag must still dry flat before it goes to the waste as the local rules \
                 say."
                    .into(),
            ],
            Care::Drilling => of_base(work, "drilling"),
            Care::Sitting => of_base(work, "before anybody sits on it"),
        }
    }
}

/// What the bases themselves say of an operation: worded where the base is worked out.
fn of_base(work: &Work<'_>, operation: &str) -> Vec<String> {
    let all = work.bases.iter().flat_map(|b| &b.cautions);
    all.filter(|c| c.operation == operation).map(|c| c.text.clone()).take(1).collect()
}

/// From this many kilograms on, one person does not carry it: a rule of thumb, no source.
pub(crate) const HEAVY: f64 = 15.0;

/// Kilograms of a sheet: length, width, nominal thickness, density (T8); nothing where the thickness is not known.
pub(crate) fn sheet_mass(sheet: &crate::job::Sheet) -> Option<f64> {
    let thickness = sheet.thickness.or(sheet.measured)?;
    let volume = sheet.length.to_mm() * sheet.width.to_mm() * thickness.to_mm() / 1e9;
    Some(volume * sheet.density_or_usual())
}

/// The mass of the heaviest sheet that is cut.
pub(crate) fn heaviest_sheet(work: &Work<'_>) -> Option<f64> {
    let used = |sheet: &&crate::job::Sheet| work.plan.buy.sheets.iter().any(|b| b.name == sheet.name);
    work.job.sheets.iter().filter(used).filter_map(sheet_mass).reduce(f64::max)
}

/// The cautions that the steps name, each once, in the order in which they are met.
pub(crate) fn gather(work: &Work<'_>, steps: &[Step]) -> Vec<Caution> {
    let mut found: Vec<Caution> = Vec::new();
    for step in steps {
        for id in &step.cautions {
            if found.iter().any(|c| c.id == *id) {
                continue;
            }
            if let Some(care) = Care::ALL.into_iter().find(|care| care.id() == id) {
                found.push(Caution {
                    id: id.clone(),
                    title: care.title().to_string(),
                    text: care.text(work),
                    step: step.number,
                });
            }
        }
    }
    found
}
