//! Trigonometry in radians, from a portable library: the platform's own differs in the last bit between
//! machines, and one bit is enough to change which mark a strip is rounded up to.

/// Sine.
pub fn sin(x: f64) -> f64 {
    libm::sin(x)
}
/// Cosine.
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}
/// Tangent.
pub fn tan(x: f64) -> f64 {
    libm::tan(x)
}
/// Inverse sine; the argument is clamped to [-1, 1] against rounding noise.
pub fn asin(x: f64) -> f64 {
    libm::asin(x.clamp(-1.0, 1.0))
}
/// Inverse cosine; the argument is clamped to [-1, 1] against rounding noise.
pub fn acos(x: f64) -> f64 {
    libm::acos(x.clamp(-1.0, 1.0))
}
/// Inverse tangent.
pub fn atan(x: f64) -> f64 {
    libm::atan(x)
}
/// Angle of the vector (x, y).
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}
/// Length of the vector (x, y).
pub fn hypot(x: f64, y: f64) -> f64 {
    libm::hypot(x, y)
}
