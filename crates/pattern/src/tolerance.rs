//! What the thickness of the sheets as delivered does to the count of strips.

use stripwright_units::Length;

use crate::face::{Face, face};
use crate::fault::Refusal;
use crate::spec::{Lamination, Pattern, Phase, Side, TopSpec};

/// What thinner sheets ask for.
#[derive(Clone, Debug, PartialEq)]
pub struct ThinEnd {
    /// Laminations of one top with the sheets as given.
    pub laminations: u32,
    /// Laminations of one top with the thin sheets.
    pub thin: u32,
    /// The face of the thin sheets.
    pub face: Face,
}

/// How many laminations more a top takes if its sheets come at the thin end of their tolerance, each phase chosen afresh.
///
/// `thin` says how thin the sheets of a lamination may be. Blocks keep the number of their laminations and grow smaller,
/// so that it takes more blocks.
///
/// # Errors
/// As for [`face`].
pub fn thin_end(
    spec: &TopSpec,
    mark: Length,
    thin: impl Fn(&Lamination) -> Length,
) -> Result<ThinEnd, Vec<Refusal>> {
    let mut spec = spec.clone();
    spec.phase = Phase::Free;
    let laminations = face(&spec, mark)?.laminations().iter().sum();
    let pitch = spec.sequence.pitch();
    let run = spec.sequence.run();
    // Sides across the laminations by their number, so that they shrink with the sheets.
    let count = |side: Side| match side {
        Side::Given(length) if pitch.is_positive() && length % pitch == Length::ZERO => {
            Side::Laminations((length / pitch * run) as u32)
        }
        other => other,
    };
    match &mut spec.pattern {
        Pattern::Herringbone { width, length, lay } | Pattern::RunningBond { width, length, lay, .. } => {
            match lay {
                crate::spec::Lay::Along => *width = count(*width),
                crate::spec::Lay::Across => *length = count(*length),
            }
        }
        Pattern::BasketWeave { width, .. } => *width = count(*width),
        _ => {}
    }
    for lamination in &mut spec.sequence.laminations {
        lamination.thickness = thin(lamination);
    }
    let face = face(&spec, mark)?;
    Ok(ThinEnd { laminations, thin: face.laminations().iter().sum(), face })
}
