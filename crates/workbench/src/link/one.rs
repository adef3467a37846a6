//! What a world is read from: one number for each fact.

/// The quantity that a fact of this kind is.
pub type Of<Q> = Q;

/// The number that stands at a place.
pub fn read(numbers: &[f64], at: usize) -> Option<f64> {
    numbers.get(at).copied()
}

/// One number never disagrees with itself.
pub const fn apart() -> bool {
    false
}
/// As [`apart`].
pub const fn forget_apart() -> bool {
    false
}
/// As [`apart`].
pub const fn set_apart(_: bool) {}
