//! One compound setting of a saw: rounding it, and what rounding costs over a section.

use stripwright_units::{Angle, trig};

use crate::leg::SawSetting;
use crate::spec::Shop;
use crate::steps::fine;

/// Slopes of the cut plane over the section: how far it runs along the piece for one of breadth on the table (p) and
/// for one of height above the table (q). A saw turned by `t` and tilted by `b`, tilt square to the line of the cut,
/// cuts the plane with normal `(cos t cos b, sin t cos b, sin b)`, hence `p = tan t`, `q = tan b / cos t`.
fn slopes(turn: Angle, tilt: Angle) -> [f64; 2] {
    [turn.tan(), tilt.tan() / turn.cos()]
}

/// How far the end is out when it is cut at `set` in place of `exact`, over a section `across` by `high` (mm), square to the
/// cut: with one corner of the section touching, how far the worst corner stands off.
pub(crate) fn end_error(exact: [Angle; 2], set: [Angle; 2], across: f64, high: f64) -> f64 {
    let ([p, q], [set_p, set_q]) = (slopes(exact[0], exact[1]), slopes(set[0], set[1]));
    ((p - set_p).abs() * across + (q - set_q).abs() * high) * exact[0].cos() * exact[1].cos()
}

/// How far an end so cut runs along the piece, from its highest corner to its lowest.
pub(crate) fn run(turn: Angle, tilt: Angle, across: f64, high: f64) -> f64 {
    let [p, q] = slopes(turn, tilt);
    p.abs() * across + q.abs() * high
}

/// The setting and its rounding to the shop's step, over a section `across` the table by `high` above it.
pub(crate) fn setting(turn: Angle, tilt: Angle, across: f64, high: f64, step: Angle) -> SawSetting {
    let (set_turn, set_tilt) = (turn.to_step(step), tilt.to_step(step));
    let error_mm = end_error([turn, tilt], [set_turn, set_tilt], across, high);
    SawSetting { turn, tilt, set_turn, set_tilt, error_mm }
}

/// One way to lay a piece on the saw, with its section as it then lies.
#[derive(Clone, Copy)]
pub(crate) struct Laid {
    /// `plane face down`.
    pub(crate) way: &'static str,
    pub(crate) setting: SawSetting,
    pub(crate) across: f64,
    pub(crate) high: f64,
}

impl Laid {
    /// What this setting at other steps leaves the end out by.
    fn error_at(&self, step: Angle) -> f64 {
        setting(self.setting.turn, self.setting.tilt, self.across, self.high, step).error_mm
    }
}

/// What rounding the saw's setting costs where it costs a mark or more, and what is better.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Rounding {
    pub(crate) cost: String,
    pub(crate) better: String,
}

/// Steps to which finer scales can be set, in degrees.
const FINER: [f64; 7] = [0.5, 0.25, 0.2, 0.1, 0.05, 0.02, 0.01];

/// Looks for a way to lay a piece whose rounded setting is out by a mark or more; nothing where none is.
pub(crate) fn rounding(what: &str, ways: &[Laid; 2], shop: &Shop) -> Option<Rounding> {
    let (mark, system, step) = (shop.mark.to_mm(), shop.system, shop.angle_step);
    let is_bad = |laid: &Laid| laid.setting.error_mm >= mark;
    let [first, second] = ways;
    let out = |laid: &Laid| format!("{} with the {}", fine(laid.setting.error_mm, system), laid.way);
    let (bad, better) = match (is_bad(first), is_bad(second)) {
        (false, false) => return None,
        (true, true) => {
            let finer = FINER.into_iter().map(Angle::degrees).filter(|finer| *finer < step);
            let enough = finer.clone().find_map(|finer| {
                let laid = ways.iter().find(|laid| laid.error_at(finer) < mark)?;
                Some((finer, laid.way, laid.error_at(finer)))
            });
            let better = match enough {
                Some((finer, way, error)) => format!(
                    "Set the saw finer: in steps of {finer} (`angle_step`) it is out by {} with the {way}.",
                    fine(error, system)
                ),
                None => {
                    "No finer steps of the saw are enough: cut them long, and plane or pare them to the line."
                        .to_string()
                }
            };
            (format!("{} and {}", out(first), out(second)), better)
        }
        (first_bad, _) => {
            let (bad, good) = if first_bad { (first, second) } else { (second, first) };
            let better = format!(
                "Lay {what} with the {}: the end is then out by {}.",
                good.way,
                fine(good.setting.error_mm, system)
            );
            (out(bad), better)
        }
    };
    let cost = format!(
        "Rounded to steps of {step}, the saw leaves the ends of {what} out by {bad}, not below the mark of {}.",
        shop.mark.show(system)
    );
    Some(Rounding { cost, better })
}

/// The angle whose tangent is `t`.
pub(crate) fn atan(t: f64) -> Angle {
    Angle::radians(trig::atan(t))
}

/// The angle whose sine is `s`.
pub(crate) fn asin(s: f64) -> Angle {
    Angle::radians(trig::asin(s))
}
