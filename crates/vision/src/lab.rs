//! Colours as the eye tells them apart.

/// CIE L*a*b* of red, green and blue from 0 to 1 by IEC 61966-2-1 (sRGB), under the D65 white of that standard and the 2° observer.
pub(crate) fn lab(rgb: [f32; 3]) -> [f32; 3] {
    let linear =
        rgb.map(|value| if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) });
    // IEC 61966-2-1; each row is divided by the white, which is its sum.
    const ROWS: [[f32; 3]; 3] =
        [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]];
    // CIE 15: a cube root, straight where it is dark.
    let [x, y, z] = ROWS.map(|row| {
        let white: f32 = row.iter().sum();
        let share: f32 = row.iter().zip(linear).map(|(weight, value)| weight * value).sum::<f32>() / white;
        if share > 216.0 / 24_389.0 { share.cbrt() } else { (24_389.0 / 27.0 * share + 16.0) / 116.0 }
    });
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The corners of sRGB as published with the standard's formulas (Lindbloom's colour calculator, D65; from memory), rounded to 0.01.
    #[test]
    fn corners_of_srgb() {
        for (rgb, wanted) in [
            ([0.0, 0.0, 0.0], [0.0, 0.0, 0.0]),
            ([1.0, 1.0, 1.0], [100.0, 0.0, 0.0]),
            ([1.0, 0.0, 0.0], [53.24, 80.09, 67.20]),
            ([0.0, 1.0, 0.0], [87.73, -86.18, 83.18]),
            ([0.0, 0.0, 1.0], [32.30, 79.19, -107.86]),
        ] {
            for (found, wanted) in lab(rgb).iter().zip(wanted) {
                assert!((found - wanted).abs() < 0.03, "{rgb:?}: {:?}", lab(rgb));
            }
        }
    }
}
