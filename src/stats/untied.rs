//! A response whose residuals vanish one at a time.

/// Size of the shifts that keep residuals from vanishing together, as a share of the response's size: far
/// above the rounding of a residual, far below the last digit of a measured value.
const SHIFT: f64 = 1e-10;

/// `y` with a shift of its own on each row.
pub(super) fn shifted(y: &[f64]) -> Vec<f64> {
    let size = y.iter().fold(0.0_f64, |most, y| most.max(y.abs()));
    let size = if size > 0.0 { size } else { 1.0 };
    y.iter().enumerate().map(|(row, y)| y + SHIFT * size * scatter(row as u64)).collect()
}

/// A number in (−1, 1) that looks random, the same for the same row for ever: Steele, Lea and Flood 2014,
/// OOPSLA, 453–472.
pub(super) fn scatter(row: u64) -> f64 {
    let mut z = row.wrapping_add(1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
}
