//! What the bytes of a colour mean as light.

/// An sRGB byte as linear light, 0 to 1 (IEC 61966-2-1).
pub fn linear_light(byte: u8) -> f64 {
    let value = f64::from(byte) / 255.0;
    if value <= 0.040_45 { value / 12.92 } else { libm::pow((value + 0.055) / 1.055, 2.4) }
}

/// Relative luminance, 0 to 1 (weights of ITU-R BT.709).
pub fn luminance(rgb: [u8; 3]) -> f64 {
    let [r, g, b] = rgb.map(linear_light);
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn light_comes_before_dark() {
        // White 1, black 0; 18 % grey is sRGB 118 to a step (from memory).
        assert!((luminance([255; 3]) - 1.0).abs() < 1e-12 && luminance([0; 3]) == 0.0);
        assert!((luminance([118; 3]) - 0.18).abs() < 0.002);
        // Yellow is lighter than blue by its weights.
        assert!((luminance([255, 255, 0]) - 0.9278).abs() < 1e-9);
    }
}
