//! Cautions for the work: usual care, never a replacement for the machine's instructions or local rules.

/// One caution.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Caution {
    /// Which operation it belongs to.
    pub operation: String,
    /// What to mind.
    pub text: String,
}
