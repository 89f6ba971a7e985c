//! What the thickness of the sheets as delivered does to the count of strips.

use stripwright_units::Length;

use crate::face::{Face, face};
use crate::fault::Refusal;
use crate::spec::{Lamination, Pattern, Phase, Side, TopSpec};

/// Thickness that a sanded sheet of a nominal thickness may have: `t - (0.4 + 0.03 t)` to `t + (0.2 + 0.03 t)` mm (T5,
/// the ISO 1954 text as adopted in GB/T 9846), to the nearest micrometre.
pub fn sanded_range(nominal: Length) -> (Length, Length) {
    let share = nominal.nm() * 3 / 100;
    let um = |nm: i64| Length::from_um((nm + 500) / 1000);
    (um(nominal.nm() - 400_000 - share), um(nominal.nm() + 200_000 + share))
}

/// What thinner sheets ask for.
#[derive(Clone, Debug, PartialEq)]
pub struct ThinEnd {
    /// Laminations of one top with the sheets as given.
    pub laminations: u32,
    /// Laminations of one top with the thin sheets.
    pub thin: u32,
    /// The most that any one piece takes as given, and with thin sheets: the strips of a slab.
    pub most: (u32, u32),
    /// The face of the thin sheets.
    pub face: Face,
}

impl ThinEnd {
    /// How many laminations more a top takes.
    pub fn more(&self) -> u32 {
        self.thin.saturating_sub(self.laminations)
    }
}

/// How many laminations more a top takes if its sheets come at the thin end of their tolerance, each phase chosen afresh.
///
/// `thin` says how thin the sheets of a lamination may be; [`sanded_range`] serves where nothing better is known. Blocks
/// keep the number of their laminations and grow smaller, so that it takes more blocks.
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
    let counts = |face: &Face| {
        let each = face.laminations();
        (each.iter().sum(), each.iter().copied().max().unwrap_or(0))
    };
    let given: (u32, u32) = counts(&face(&spec, mark)?);
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
    let thinned = counts(&face);
    Ok(ThinEnd { laminations: given.0, thin: thinned.0, most: (given.1, thinned.1), face })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// T5, the table derived there from the formula.
    #[test]
    fn sanded_sheets() {
        for (nominal, low, high) in [
            (12, 11_240, 12_560),
            (15, 14_150, 15_650),
            (18, 17_060, 18_740),
            (21, 19_970, 21_830),
            (24, 22_880, 24_920),
        ] {
            let range = sanded_range(Length::from_mm(nominal));
            assert_eq!(range, (Length::from_um(low), Length::from_um(high)));
        }
    }

    /// T6, derived: 20 strips of nominal 18 mm make 341.2 to 374.8 mm.
    #[test]
    fn twenty_strips() {
        let (low, high) = sanded_range(Length::from_mm(18));
        assert_eq!((low * 20, high * 20), (Length::from_um(341_200), Length::from_um(374_800)));
    }
}
