//! How the finished piece stands: information, never a test and never a refusal.
//!
//! Statics of a rigid body on a level, rough floor (T75, T76). The loads are those of published stability tests for
//! stools as reported in T74: 600 N down at 60 mm inside the seat's edge and 20 N outwards (EN 1022, secondary), and 600 N at 50 mm
//! (ISO 7174-1, verified; its horizontal force was not seen, so only the push that would tip it is given).

use stripwright_units::{Angle, Length, trig};

use crate::bar::{Bar, Corner};
use crate::rung::Rung;
use crate::shape::{Shape, to_mark};
use crate::spec::BaseSpec;

/// Newtons for a kilogram.
const GRAVITY: f64 = 9.806_65;
/// The load on the seat, in newtons.
const LOAD_N: f64 = 600.0;
/// The push at seat height, in newtons.
const PUSH_N: f64 = 20.0;

/// Stability to one pair of opposite sides.
#[derive(Clone, Debug, PartialEq)]
pub struct StandingSide {
    /// `front and back` or `left and right`.
    pub name: String,
    /// From the centre to the line between the two feet on that side.
    pub reach: Length,
    /// How far the empty piece can be tilted that way before it goes over (T76).
    pub tipping: Angle,
    /// Moment that holds over moment that overturns, with 600 N standing 60 mm inside the edge and a push of 20 N at the seat
    /// (T75): it stands when this is at least 1. `None` when the top's outline is not known.
    pub margin: Option<f64>,
    /// The push at seat height that would just tip it with that load on, in newtons; below zero it tips without one.
    pub push_newtons: Option<f64>,
    /// The same push with the load 50 mm inside the edge.
    pub push_at_50_newtons: Option<f64>,
}

/// How the finished piece stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// Mass of base and (if its outline is known) top, in kilograms.
    pub mass_kg: f64,
    /// Height of the centre of gravity of the same, in millimetres.
    pub centre_mm: f64,
    /// Bending moment at the top of one leg with 800 N shared by four legs and neither rungs nor floor helping (T61), in newton metres.
    pub leg_moment_nm: f64,
    /// To the front and back, then to the left and right.
    pub sides: Vec<StandingSide>,
    /// What to make of it, in sentences.
    pub notes: Vec<String>,
}

/// Holding moment that is left when a piece of weight `g` (N) with feet `c` (mm) out carries `v` (N) at `e` (mm) out (T75).
fn holding(g: f64, c: f64, v: f64, e: f64) -> f64 {
    g * c + v * (c - e)
}

/// Weighs the piece and sets it against the published loads.
pub(crate) fn standing(
    spec: &BaseSpec,
    shape: &Shape,
    rungs: &[(Rung, Bar)],
    warnings: &mut Vec<String>,
) -> Standing {
    let wood = spec.shop.density * 1e-9;
    let [w, d] = shape.leg;
    let mut parts = vec![(4.0 * w * d * shape.h * shape.length_factor() * wood, shape.h / 2.0)];
    for (rung, bar) in rungs {
        let faces = [rung.outer, rung.inner];
        let length: f64 = faces.iter().map(|f| f.top_mm + f.bottom_mm).sum::<f64>() / 4.0;
        let middle = Corner::ROUND.into_iter().map(|c| bar.corner(c)[1]).sum::<f64>() / 4.0;
        parts.push((2.0 * length * bar.breadth * bar.thickness * wood, middle));
    }
    let known = spec.top.as_ref().and_then(|top| top.outline.as_ref().map(|outline| (top, outline)));
    if let Some((top, outline)) = known {
        let thick = top.thickness.to_mm();
        parts.push((outline.area_mm2() * thick * top.density * 1e-9, shape.h + thick / 2.0));
    }
    let mass_kg: f64 = parts.iter().map(|(m, _)| m).sum();
    let centre_mm = parts.iter().map(|(m, z)| m * z).sum::<f64>() / mass_kg;
    let feet = shape.half_at(0.0);
    let seat_mm = shape.h + spec.top.as_ref().map_or(0.0, |top| top.thickness.to_mm());
    let mut notes = Vec::new();
    let sides = [(1, "front and back"), (0, "left and right")]
        .into_iter()
        .map(|(way, name)| {
            let c = feet[way];
            let push = |inside: f64| {
                known.map(|(_, outline)| {
                    let edge = (outline.sides()[way].to_mm() / 2.0 - inside).max(0.0);
                    holding(mass_kg * GRAVITY, c, LOAD_N, edge) / seat_mm
                })
            };
            let (push_newtons, push_at_50_newtons) = (push(60.0), push(50.0));
            StandingSide {
                name: name.to_string(),
                reach: to_mark(c, spec.shop.mark),
                tipping: Angle::radians(trig::atan2(c, centre_mm)),
                margin: push_newtons.map(|push| push / PUSH_N),
                push_newtons,
                push_at_50_newtons,
            }
        })
        .collect::<Vec<_>>();
    for side in &sides {
        let (Some(margin), Some(push), Some(at_50)) =
            (side.margin, side.push_newtons, side.push_at_50_newtons)
        else {
            continue;
        };
        let tips = |push: f64| {
            if push > 0.0 {
                format!("it takes {push:.0} N to tip it")
            } else {
                "it tips without any push".to_string()
            }
        };
        let holding = if push > 0.0 {
            format!("the holding moment is {margin:.2} times the overturning one")
        } else {
            "no holding moment is left".to_string()
        };
        let told = format!(
            "with {LOAD_N} N on the seat 60 mm inside its edge and {PUSH_N} N outwards at the seat (the loads of EN 1022, as \
             reported) {holding}: {}. With the {LOAD_N} N 50 mm inside the edge (ISO 7174-1) {}.",
            tips(push),
            tips(at_50)
        );
        if margin < 1.0 {
            warnings.push(format!(
                "As a stool it would TIP to the {}: {told} Spread the feet, lower the seat, or make the top smaller.",
                side.name
            ));
        } else {
            notes.push(format!("To the {}: {told}", side.name));
        }
    }
    if known.is_none() {
        notes.push(
            "The top's outline is not known, so the loads of a stability test cannot be set against it."
                .to_string(),
        );
    }
    notes.push(
        "This is arithmetic on a rigid body standing on a level floor. It replaces no test and says nothing about strength; whether \
         the piece may be used, and which tests it must pass, is decided by local codes."
            .to_string(),
    );
    let resultant = (shape.a.tan() * shape.a.tan() + shape.b.tan() * shape.b.tan()).sqrt();
    Standing { mass_kg, centre_mm, leg_moment_nm: 200.0 * shape.h / 1000.0 * resultant, sides, notes }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// T75, derived there: 28 500 N mm left against 13 000, ratio 2.192.
    #[test]
    fn holds_as_in_the_worked_example() {
        let left = holding(50.0, 150.0, LOAD_N, 175.0 - 60.0);
        assert!((left - 28_500.0).abs() < 1e-9);
        assert!((left / (PUSH_N * 650.0) - 2.192).abs() < 5e-4);
    }
}
