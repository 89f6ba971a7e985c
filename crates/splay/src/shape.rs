//! From what was given to one settled shape: height, leans and spreads that agree, and where the legs' faces are.

use stripwright_units::{Angle, Length, System, trig};

use crate::leg::LegPlace;
use crate::spec::{BaseSpec, Follows, Height, Leans, Refusal, Spread};

/// The steepest lean that is taken: beyond it the sections and joints here make no sense.
const STEEPEST: f64 = 45.0;

/// A settled shape, in millimetres. Everything else is computed from these figures.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Shape {
    pub(crate) a: Angle,
    pub(crate) b: Angle,
    /// Floor to underside.
    pub(crate) h: f64,
    /// Half the top spread: the outer corner of a leg's section at the underside.
    pub(crate) half: [f64; 2],
    /// Breadths of the leg's plane face and side face.
    pub(crate) leg: [f64; 2],
}

impl Shape {
    /// Tangent of the exact turn of the saw with the plane face down: `tan m = tan A cos B` (T52). It is also the
    /// slope of a level line on the plane face.
    pub(crate) fn tan_m(&self) -> f64 {
        self.a.tan() * self.b.cos()
    }

    /// Cosine of that angle.
    pub(crate) fn cos_m(&self) -> f64 {
        1.0 / (1.0 + self.tan_m() * self.tan_m()).sqrt()
    }

    /// Length along the leg for one of height (T52).
    pub(crate) fn length_factor(&self) -> f64 {
        let (ta, tb) = (self.a.tan(), self.b.tan());
        (1.0 + ta * ta + tb * tb).sqrt()
    }

    /// Half the spread at height `z`: the outer corner of a leg's section.
    pub(crate) fn half_at(&self, z: f64) -> [f64; 2] {
        let drop = self.h - z;
        [self.half[0] + drop * self.a.tan(), self.half[1] + drop * self.b.tan()]
    }

    /// A level section through a leg at height `z`, as a parallelogram in (x, y): the outer corner, along the plane
    /// face inwards, the innermost corner, and along the side face inwards (T52: `w / cos m` and `d / cos B`,
    /// leaning `atan(tan A sin B cos B)` off square).
    pub(crate) fn section_at(&self, leg: LegPlace, z: f64) -> [[f64; 2]; 4] {
        let [sx, sy] = leg.signs();
        let [x, y] = self.half_at(z);
        let across = self.leg[0] / self.cos_m();
        let deep = self.leg[1] / self.b.cos();
        let lean = deep * self.tan_m() * self.b.sin();
        [[x, y], [x - across, y], [x - across - lean, y - deep], [x - lean, y - deep]]
            .map(|[x, y]| [sx * x, sy * y])
    }
}

/// Settles height, leans and spreads, or says what is missing or disagrees.
pub(crate) fn settle(spec: &BaseSpec) -> Result<Shape, Vec<Refusal>> {
    let mut faults = Vec::new();
    check_sizes(spec, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    let found = triangle(spec)?;
    let shape = Shape {
        a: found.a,
        b: found.b,
        h: found.height,
        half: found.top.map(|t| t / 2.0),
        leg: [spec.leg.width.to_mm(), spec.leg.thickness.to_mm()],
    };
    check_room(spec, &shape, &mut faults);
    if faults.is_empty() { Ok(shape) } else { Err(faults) }
}

struct Found {
    a: Angle,
    b: Angle,
    height: f64,
    top: [f64; 2],
}

/// A size that nobody gave.
fn missing(key: &str, text: &str, system: System) -> Refusal {
    Refusal { unsaid: true, ..Refusal::new(key, text.to_string(), system) }
}

/// The keys of a spread's width and depth.
const FLOOR: [&str; 2] = ["floor_spread", "floor_spread_depth"];
const TOP: [&str; 2] = ["top_spread", "top_spread_depth"];
/// How a spread runs.
const RUNS: [&str; 2] = ["from left to right", "from front to back"];

fn mm(spread: Spread) -> [f64; 2] {
    [spread.width.to_mm(), spread.depth.to_mm()]
}

/// Height, leans, top spread and floor spread tie up as `floor = top + 2 h tan(lean)`, twice.
fn triangle(spec: &BaseSpec) -> Result<Found, Vec<Refusal>> {
    let system = spec.shop.system;
    let leans = spec.leans.map(|l| [l.front, l.side]);
    let tans = leans.map(|l| l.map(Angle::tan));
    let (top, floor) = (spec.top_spread.map(mm), spec.floor_spread.map(mm));
    let height = match underside(spec) {
        Some(height) => height,
        None => match (tans, top, floor) {
            (Some(tans), Some(top), Some(floor)) => {
                height_from(tans, top, floor, system).map_err(|fault| vec![fault])?
            }
            _ => {
                let text = "The base has no height; give `height` or `seat_height`, or give leans, `top_spread` and \
                            `floor_spread` together so that it follows from them.";
                return Err(vec![missing("height", text, system)]);
            }
        },
    };
    let (tans, top) = match (tans, top, floor) {
        (Some(tans), Some(top), None) => (tans, top),
        (Some(tans), None, Some(floor)) => {
            (tans, [floor[0] - 2.0 * height * tans[0], floor[1] - 2.0 * height * tans[1]])
        }
        (None, Some(top), Some(floor)) => {
            ([(floor[0] - top[0]) / (2.0 * height), (floor[1] - top[1]) / (2.0 * height)], top)
        }
        (None, Some(one), None) | (None, None, Some(one)) => ([0.0; 2], one),
        (Some(tans), Some(top), Some(floor)) => {
            agree(spec, height, tans, top, floor)?;
            (tans, top)
        }
        (_, None, None) => {
            let text = "Nothing says how far apart the legs stand; give `top_spread` (over the outsides of the legs at the \
                        underside of the top) or `floor_spread` (the same on the floor).";
            return Err(vec![missing("top_spread", text, system)]);
        }
    };
    let [a, b] = tans.map(|t| Angle::radians(trig::atan(t)));
    let (a, b) = match leans {
        Some([front, side]) => (front, side),
        None => (a, b),
    };
    for (way, angle) in [a, b].into_iter().enumerate() {
        let floor = top[way] + 2.0 * height * tans[way];
        let text = if angle.to_degrees() < 0.0 {
            format!(
                "The legs would lean inwards: {} they stand {} over their outsides on the floor and {} under the top, {} more. Legs \
                 here lean outwards or stand plumb: give `{}` at least {}.",
                RUNS[way],
                about(floor, system),
                about(top[way], system),
                about(top[way] - floor, system),
                FLOOR[way],
                about(top[way], system)
            )
        } else if angle.to_degrees() > STEEPEST {
            format!(
                "The spreads make the legs lean {angle} {}, and at most {STEEPEST}° is taken: give `{}` at most {}.",
                ["seen from the front", "seen from the side"][way],
                FLOOR[way],
                Length::nearest_mm(top[way] + 2.0 * height * Angle::degrees(STEEPEST).tan())
                    .floor_to(spec.shop.mark)
                    .show(system)
            )
        } else {
            continue;
        };
        return Err(vec![Refusal::new(FLOOR[way], text, system)]);
    }
    Ok(Found { a, b, height, top })
}

/// Floor to the underside of the top, in millimetres.
fn underside(spec: &BaseSpec) -> Option<f64> {
    match spec.height? {
        Height::Underside(height) => Some(height.to_mm()),
        Height::Seat(height) => spec.top.as_ref().map(|top| (height - top.thickness).to_mm()),
    }
}

/// The height at which leans take the top spread to the floor spread, from the larger lean.
fn height_from(tans: [f64; 2], top: [f64; 2], floor: [f64; 2], system: System) -> Result<f64, Refusal> {
    let way = usize::from(tans[1] > tans[0]);
    let height = (floor[way] - top[way]) / (2.0 * tans[way]);
    if tans[way] > 0.0 && height > 0.0 {
        return Ok(height);
    }
    let text = format!(
        "The height does not follow from these leans and spreads: {} the legs lean outwards by {} and stand {} apart under the top and \
         {} on the floor; give `height` or `seat_height`, or a larger `{}`.",
        RUNS[way],
        Angle::radians(trig::atan(tans[way])),
        about(top[way], system),
        about(floor[way], system),
        FLOOR[way]
    );
    Err(Refusal::new("height", text, system))
}

/// When more is given than is needed it must agree, or nobody knows which figure was meant.
fn agree(
    spec: &BaseSpec,
    height: f64,
    tans: [f64; 2],
    top: [f64; 2],
    floor: [f64; 2],
) -> Result<(), Vec<Refusal>> {
    let system = spec.shop.system;
    let follows = [0, 1].map(|way| top[way] + 2.0 * height * tans[way]);
    let off = [0, 1].map(|way| follows[way] - floor[way]);
    let disagrees = off.map(|off| off.abs() > spec.shop.mark.to_mm());
    let shown = |way: usize| to_mark(follows[way], spec.shop.mark).show(system);
    let more_or_less = |way: usize| {
        format!("{} {}", about(off[way].abs(), system), if off[way] > 0.0 { "more" } else { "less" })
    };
    // One figure given for both ways is one fault.
    if spec.follows.contains(&Follows::FloorDepth) && disagrees.contains(&true) {
        let given = Length::nearest_mm(floor[0]).show(system);
        let (made, give) = if shown(0) == shown(1) {
            (format!("{}, {}", shown(0), more_or_less(0)), format!("`{}` of {}", FLOOR[0], shown(0)))
        } else {
            (
                format!("{} {} and {} {}", shown(0), RUNS[0], shown(1), RUNS[1]),
                format!("`{}` of {} and `{}` of {}", FLOOR[0], shown(0), FLOOR[1], shown(1)),
            )
        };
        let text = format!(
            "The legs' spread on the floor is given as {given} both ways, but height, leans and `top_spread` make it {made}; leave \
             `floor_spread` out, or give {give}."
        );
        return Err(vec![Refusal::new(FLOOR[0], text, system)]);
    }
    let give: Vec<String> = [0, 1]
        .into_iter()
        .filter(|way| disagrees[*way])
        .map(|way| format!("`{}` of {}", FLOOR[way], shown(way)))
        .collect();
    let told = |way: usize| {
        let text = format!(
            "The legs' spread on the floor {} is given as {}, but height, leans and `top_spread` make it {}, {}; leave \
             `floor_spread` out, or give {}.",
            RUNS[way],
            Length::nearest_mm(floor[way]).show(system),
            shown(way),
            more_or_less(way),
            give.join(" and ")
        );
        Refusal::new(FLOOR[way], text, system)
    };
    let faults: Vec<Refusal> = [0, 1].into_iter().filter(|way| disagrees[*way]).map(told).collect();
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

/// The nearest whole mark: for figures that are measured or set out, not for demands.
pub(crate) fn to_mark(mm: f64, mark: Length) -> Length {
    Length::from_nm((mm * 1e6 / mark.nm() as f64).round() as i64 * mark.nm())
}

/// The steps that computed sizes are told in.
pub(crate) fn grid(system: System) -> Length {
    if system == System::Metric { Length::from_um(100) } else { Length::from_nm(396_875) }
}

/// A computed size in a sentence: to a tenth of a millimetre, or to a sixty-fourth of an inch.
pub(crate) fn about(mm: f64, system: System) -> String {
    to_mark(mm, grid(system)).show(system)
}

fn check_sizes(spec: &BaseSpec, faults: &mut Vec<Refusal>) {
    let system = spec.shop.system;
    let mut size = |key: &str, length: Length, zero_too: bool| {
        let low = if zero_too { length < Length::ZERO } else { !length.is_positive() };
        if low || length > Length::LONGEST {
            let text = format!(
                "{} is not a usable length here; give one {} and at most {}.",
                length.show(system),
                if zero_too { "not below zero" } else { "above zero" },
                Length::LONGEST.show(system)
            );
            faults.push(Refusal::new(key, text, system));
        }
    };
    size("leg", spec.leg.width, false);
    size("leg", spec.leg.thickness, false);
    match spec.height {
        Some(Height::Underside(height)) => size("height", height, false),
        Some(Height::Seat(height)) => size("seat_height", height, false),
        None => {}
    }
    for (key, spread) in [("top_spread", spec.top_spread), ("floor_spread", spec.floor_spread)] {
        if let Some(spread) = spread {
            size(key, spread.width, false);
            size(key, spread.depth, false);
        }
    }
    for (n, rung) in spec.rungs.iter().enumerate() {
        size(&format!("rungs[{n}].height"), rung.height, false);
        size(&format!("rungs[{n}].section"), rung.section.width, false);
        size(&format!("rungs[{n}].section"), rung.section.thickness, false);
        size(&format!("rungs[{n}].set_in"), rung.set_in, true);
    }
    if let Some(top) = &spec.top {
        size("top.thickness", top.thickness, false);
        for length in top.outline.as_ref().map(|o| o.sides()).into_iter().flatten() {
            size("top.outline", length, false);
        }
    }
    size("mark", spec.shop.mark, false);
    size("kerf", spec.shop.kerf, true);
    size("end_allowance", spec.shop.end_allowance, true);
    size("planing", spec.shop.planing, true);
    size("edge_squaring", spec.shop.edge_squaring, true);
    if let Some(fixing) = spec.fixing {
        size("fixing.sunk", fixing.sunk, true);
        size("fixing.cover", fixing.cover, true);
        if let Some(through) = fixing.through {
            size("fixing.through", through, false);
        }
    }
    if spec.shop.mark > spec.leg.width.min(spec.leg.thickness) {
        let text = format!(
            "The smallest mark, {}, is coarser than the leg is thick, {}; give a mark such as 0.5 mm or 1/32 in.",
            spec.shop.mark.show(system),
            spec.leg.width.min(spec.leg.thickness).show(system)
        );
        faults.push(Refusal::new("mark", text, system));
    }
    if !(1..=10_000).contains(&spec.count) {
        let text = format!("{} bases are asked for; give 1 to 10000.", spec.count);
        faults.push(Refusal::new("count", text, system));
    }
    let step = spec.shop.angle_step.to_degrees();
    if !(0.001..=5.0).contains(&step) {
        let text = format!("An angle step of {step}° cannot be used; give 0.001° to 5°.");
        faults.push(Refusal::new("angle_step", text, system));
    }
    for (key, density) in
        [("density", Some(spec.shop.density)), ("top.density", spec.top.as_ref().map(|t| t.density))]
    {
        if let Some(density) = density.filter(|d| !(50.0..=3000.0).contains(d)) {
            let text =
                format!("A density of {density} kilograms a cubic metre is no wood's; give 50 to 3000.");
            faults.push(Refusal::new(key, text, system));
        }
    }
    if let Some(Leans { front, side }) = spec.leans {
        for (key, lean) in [("front_lean", front.to_degrees()), ("side_lean", side.to_degrees())] {
            if !(0.0..=STEEPEST).contains(&lean) {
                let text = format!(
                    "A lean of {lean}° cannot be made here; give 0° (plumb) to {STEEPEST}°, from vertical, outwards."
                );
                faults.push(Refusal::new(key, text, system));
            }
        }
    }
    if let Some(Height::Seat(height)) = spec.height {
        match &spec.top {
            None => {
                let text = "A seat height needs the top's thickness to be taken off; give `top` or `top_thickness`, or give `height` to \
                            the underside instead.";
                faults.push(missing("seat_height", text, system));
            }
            Some(top) if top.thickness >= height => {
                let text = format!(
                    "A seat height of {} leaves nothing under a top {} thick; give more than {}.",
                    height.show(system),
                    top.thickness.show(system),
                    top.thickness.show(system),
                );
                faults.push(Refusal::new("seat_height", text, system));
            }
            Some(_) => {}
        }
    }
}

/// The legs must stand clear of each other where they are closest: at the top.
fn check_room(spec: &BaseSpec, shape: &Shape, faults: &mut Vec<Refusal>) {
    let [_, inward, inmost, _] = shape.section_at(LegPlace::BackRight, shape.h);
    let room = [inward[0].min(inmost[0]) * 2.0, inmost[1] * 2.0];
    let system = spec.shop.system;
    for (way, name) in ["left and right", "front and back"].into_iter().enumerate() {
        if room[way] <= 0.0 {
            // A trace more than touching.
            let lacking = Length::ceil_mm(-room[way] + 1e-3, spec.shop.mark);
            // The spread that was given is the one to change; both ways grow alike.
            let (key, given) = match (spec.top_spread, spec.floor_spread) {
                (None, Some(floor)) => (FLOOR[way], [floor.width, floor.depth][way]),
                _ => (TOP[way], Length::ceil_mm(2.0 * shape.half[way], spec.shop.mark)),
            };
            let text = format!(
                "The {name} legs run into each other under the top by {}; give `{key}` at least {}, or thinner legs.",
                lacking.show(system),
                (given + lacking).show(system)
            );
            faults.push(Refusal::new(key, text, system));
        }
    }
}
