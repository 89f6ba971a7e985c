//! One compound setting of a saw: rounding it, and what rounding costs over a section.

use stripwright_units::{Angle, trig};

use crate::leg::SawSetting;

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

/// The angle whose tangent is `t`.
pub(crate) fn atan(t: f64) -> Angle {
    Angle::radians(trig::atan(t))
}

/// The angle whose sine is `s`.
pub(crate) fn asin(s: f64) -> Angle {
    Angle::radians(trig::asin(s))
}
