//! Cautions for the work: usual care, never a replacement for the machine's instructions or local rules.

use crate::spec::{BaseSpec, Joint};
use crate::steps::SHORT;

/// One caution.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Caution {
    /// Which operation it belongs to.
    pub operation: String,
    /// What to mind.
    pub text: String,
}

/// The cautions that belong to this base's operations.
pub(crate) fn cautions(spec: &BaseSpec, tilted: bool, bevelled: bool, shortest_mm: f64) -> Vec<Caution> {
    let caution =
        |operation: &str, text: &str| Caution { operation: operation.to_string(), text: text.to_string() };
    let mut all = vec![caution(
        "every machine",
        "Read the machine's own instructions and the rules that hold where you work (local codes, workplace safety rules): they \
         come before anything printed here. Guards, riving knife and extraction in place, eyes and ears protected, machine \
         unplugged for every change of blade or setting.",
    )];
    if tilted {
        all.push(caution(
            "crosscuts with a tilted blade",
            "A tilted blade throws the offcut and can foul fence or guard: check its whole path with the saw off. Clamp the \
             work; let the offcut fall free, never between blade and stop or fence. Set the stop on the kept side only where the \
             offcut stays loose. Try the setting on waste first.",
        ));
        all.push(caution(
            "hands",
            "Keep both hands outside the path of the tilted blade, which is wider than that of an upright one, and on the side \
             that the blade leans away from where the machine allows it.",
        ));
    }
    if bevelled {
        all.push(caution(
            "bevelled rips",
            "Put the fence on the side that the blade leans away from, so that the strip cannot be caught under the blade. Use \
             push sticks or blocks and hold-downs for narrow strips, and keep the guard or its substitute on.",
        ));
    }
    if shortest_mm < SHORT.to_mm() {
        all.push(caution(
            "short parts",
            "Some parts are shorter than about 300 mm (12 in): work that short calls for a holder or another method, with \
             hands at least 75 mm (3 in) from the cutter (Popular Woodworking no. 165). Cut the joint ends while the \
             piece is long, or clamp it to a sled.",
        ));
    }
    if !spec.rungs.is_empty() && matches!(spec.joint, Joint::Dowels { .. }) {
        all.push(caution(
            "drilling",
            "Clamp legs and rungs for every bore; set the depth stop, and drill a trial hole in waste. Lay a leg on \
             its outer face: bores are square to the inner face, which is level then, however the leg will lean.",
        ));
    }
    all.push(caution(
        "before anybody sits on it",
        "Nothing here tests the strength of wood, glue or joints. Try the finished piece with care; where it is sold or put to \
         public use, local codes say which tests it must pass and who may carry them out.",
    ));
    all
}
