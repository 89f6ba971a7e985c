//! One module a pattern: each lays its pieces out at phase nought and says what it cannot do.

use stripwright_units::{Angle, Length};

use crate::fault::Refusal;
use crate::limits;
use crate::spec::{Lay, Pattern, Point, Sequence, Side};
use crate::tiling::{Blocks, Tiling};

mod basket_weave;
mod chevron;
mod diamond;
mod herringbone;
mod running_bond;
mod straight;
mod sunburst;

/// Bounds of the grown outline, and what else a pattern may have to know.
pub(crate) struct Ground<'a> {
    pub(crate) least: Point,
    pub(crate) most: Point,
    pub(crate) sequence: &'a Sequence,
    pub(crate) mark: Length,
}

impl Ground<'_> {
    /// How far the grown outline reaches from the pin to the left or right, whichever is more.
    fn half_width(&self) -> f64 {
        self.most.x.max(-self.least.x)
    }
}

/// Lays a pattern out.
pub(crate) fn lay_out(pattern: &Pattern, ground: &Ground<'_>) -> Result<Tiling, Vec<Refusal>> {
    if let Pattern::Straight { angle: turn }
    | Pattern::RunningBond { turn, .. }
    | Pattern::BasketWeave { turn, .. } = pattern
    {
        let mut refusals = Vec::new();
        angle_within(*turn, (-360.0, 360.0), &mut refusals);
        if !refusals.is_empty() {
            return Err(refusals);
        }
    }
    match pattern {
        Pattern::Straight { angle } => Ok(straight::lay_out(*angle)),
        Pattern::Chevron { angle, bands, centre } => chevron::lay_out(*angle, *bands, *centre, ground),
        Pattern::Diamond { angle, bands } => diamond::lay_out(*angle, *bands, ground),
        Pattern::Sunburst { wedges, lay } => sunburst::lay_out(*wedges, *lay),
        Pattern::Herringbone { width, length, lay } => herringbone::lay_out(*width, *length, *lay, ground),
        Pattern::RunningBond { width, length, lay, offset, turn } => {
            running_bond::lay_out(*width, *length, *lay, *offset, *turn, ground)
        }
        Pattern::BasketWeave { width, blocks, lay, turn } => {
            basket_weave::lay_out(*width, *blocks, *lay, *turn, ground)
        }
    }
}

fn angle_within(angle: Angle, (least, most): (f64, f64), refusals: &mut Vec<Refusal>) {
    if !(least..=most).contains(&angle.to_degrees()) {
        refusals.push(Refusal::AngleRange { found: angle, least, most });
    }
}

/// Checks a block and counts its laminations. A side given in laminations is that many; the side that they stack up
/// along has to be whole runs of the sequence, so that all blocks are alike.
fn block(
    width: Side,
    length: Side,
    lay: Lay,
    sequence: &Sequence,
) -> Result<(Length, Length, u32), Vec<Refusal>> {
    let mut refusals = Vec::new();
    let mut measure = |side: Side, what: &'static str| match side {
        Side::Given(given) => {
            if !given.is_positive() {
                refusals.push(Refusal::NotPositive { what, found: given });
            }
            given
        }
        Side::Laminations(n) => {
            if !(1..=limits::BANDS).contains(&n) {
                refusals.push(Refusal::CountRange {
                    what: "laminations",
                    found: n,
                    least: 1,
                    most: limits::BANDS,
                });
            }
            sequence.start_exact(i64::from(n.min(limits::BANDS)))
        }
    };
    let (w, l) = (measure(width, "The block's width"), measure(length, "The block's length"));
    if !refusals.is_empty() {
        return Err(refusals);
    }
    let pitch = sequence.pitch();
    let (stack, asked, side) = if lay == Lay::Along { (w, width, "width") } else { (l, length, "length") };
    if stack % pitch != Length::ZERO {
        // In the words that it was asked in.
        let runs = stack / pitch;
        refusals.push(match asked {
            Side::Laminations(found) => {
                let run = sequence.laminations.len() as u32;
                let below = found / run * run;
                let below_one = (below > 0).then_some(below);
                Refusal::BlockRuns { found, run, below: below_one, above: below + run }
            }
            Side::Given(found) => {
                let below = (runs > 0).then_some(pitch * runs);
                Refusal::BlockPitch { side, found, pitch, below, above: pitch * (runs + 1) }
            }
        });
    }
    if w > l {
        refusals.push(Refusal::BlockShape { width: w, length: l });
    }
    if refusals.is_empty() { Ok((w, l, (stack / pitch * sequence.run()) as u32)) } else { Err(refusals) }
}

/// Blocks over a lattice, the common form of the three patterns of blocks.
fn blocks(
    (width, length, laminations): (Length, Length, u32),
    lay: Lay,
    turn: Angle,
    steps: [Point; 2],
    places: Vec<(Point, bool)>,
) -> Tiling {
    let axes = [Point::new(turn.cos(), turn.sin()), Point::new(-turn.sin(), turn.cos())];
    Tiling::Blocks(Blocks { steps, places, width, length, laminations, lay, axes })
}
