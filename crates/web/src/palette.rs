//! Colours, line patterns and widths of the canvas. Client's right and left differ by hue and by line pattern; what is
//! removed and what is added differ by hue and by fill pattern.

use counterpoise_geometry::Side;
use counterpoise_plan::{Kind, Theme};

/// The colours on one ground. On skin each line lies on an inner halo that sets it off and an outer one that sets off the
/// inner: no single colour but black keeps a contrast of 3:1 on every tone of skin.
#[derive(Clone, Copy, Debug)]
pub struct Palette {
    /// The client's right.
    pub right: &'static str,
    /// The client's left.
    pub left: &'static str,
    /// Guides, and what belongs to no side.
    pub quiet: &'static str,
    /// Hair to remove.
    pub removed: &'static str,
    /// Skin to add.
    pub added: &'static str,
    /// Next to the line.
    pub inner_halo: &'static str,
    /// Around the inner halo.
    pub outer_halo: &'static str,
    /// Pigment in the preview; the page puts the chosen tone in its place.
    pub pigment: &'static str,
    /// Skin over hair that goes; the page puts what it finds on the photo in its place.
    pub skin: &'static str,
}

/// A middle brown and a middle skin, for a face without a photo.
const PIGMENT: &str = "#5b3f2e";
const SKIN: &str = "#d9a987";

const LIGHT: Palette = Palette {
    right: "#0a4ea3",
    left: "#b04400",
    quiet: "#343b46",
    removed: "#9c1070",
    added: "#2f6b1e",
    inner_halo: "#ffffffe6",
    outer_halo: "#10141a73",
    pigment: PIGMENT,
    skin: SKIN,
};

const DARK: Palette = Palette {
    right: "#84c8ff",
    left: "#ffb35c",
    quiet: "#e3e7ee",
    removed: "#ff93dc",
    added: "#9cec6a",
    inner_halo: "#0b0f14e0",
    outer_halo: "#ffffff66",
    pigment: PIGMENT,
    skin: SKIN,
};

impl Palette {
    /// The colours on this ground.
    #[must_use]
    pub const fn of(theme: Theme) -> &'static Palette {
        match theme {
            Theme::Light => &LIGHT,
            Theme::Dark => &DARK,
        }
    }

    /// The colours by the number of their [`Ink`].
    #[must_use]
    pub const fn inks(&self) -> [&'static str; 9] {
        [
            self.right,
            self.left,
            self.quiet,
            self.removed,
            self.added,
            self.inner_halo,
            self.outer_halo,
            self.pigment,
            self.skin,
        ]
    }
}

/// Which colour of a palette; its number is its place in [`Palette::inks`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum Ink {
    /// The client's right.
    Right,
    /// The client's left.
    Left,
    /// Guides, and what belongs to no side.
    Quiet,
    /// Hair to remove.
    Removed,
    /// Skin to add.
    Added,
    /// Next to the line.
    InnerHalo,
    /// Around the inner halo.
    OuterHalo,
    /// Pigment in the preview.
    Pigment,
    /// Skin over hair that goes.
    Skin,
}

impl Ink {
    /// The colour of a side.
    #[must_use]
    pub const fn of(side: Option<Side>) -> Ink {
        match side {
            Some(Side::Right) => Ink::Right,
            Some(Side::Left) => Ink::Left,
            None => Ink::Quiet,
        }
    }

    /// Its number, as the page reads it.
    #[must_use]
    pub const fn number(self) -> f32 {
        self as u8 as f32
    }
}

/// How a kind of shape is painted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Style {
    /// A faint tint in the side's colour.
    Tint,
    /// Slanted lines.
    Hatched,
    /// Dots.
    Dotted,
    /// A line: width in CSS px, dashes in CSS px, in the side's colour or quiet.
    Line {
        /// Width, CSS px.
        width: f64,
        /// Dashes and gaps, CSS px.
        dash: &'static [f64],
        /// True for the side's colour, false for the quiet one.
        by_side: bool,
    },
}

const SOLID: &[f64] = &[];

/// How this kind is painted on this side.
#[must_use]
pub const fn style(kind: Kind, side: Option<Side>) -> Style {
    let left = matches!(side, Some(Side::Left));
    match kind {
        Kind::Kept => Style::Tint,
        Kind::Removed => Style::Hatched,
        Kind::Added => Style::Dotted,
        Kind::Natural => {
            Style::Line { width: 1.4, dash: if left { &[5.0, 3.5] } else { SOLID }, by_side: true }
        }
        Kind::Planned => {
            Style::Line { width: 2.4, dash: if left { &[11.0, 5.0] } else { SOLID }, by_side: true }
        }
        Kind::CentreLine => Style::Line { width: 1.2, dash: &[14.0, 4.0, 2.0, 4.0], by_side: false },
        Kind::HeightLine => Style::Line { width: 1.0, dash: SOLID, by_side: false },
        Kind::FrontLine | Kind::EndLine => Style::Line { width: 1.0, dash: &[6.0, 4.0], by_side: false },
        Kind::ArchMeasure => Style::Line { width: 1.0, dash: &[2.0, 3.0], by_side: false },
        Kind::ArchNatural => Style::Line { width: 1.0, dash: &[8.0, 3.0], by_side: false },
        Kind::ArchBone => Style::Line { width: 1.0, dash: &[8.0, 3.0, 2.0, 3.0], by_side: false },
        Kind::Thread => Style::Line { width: 1.2, dash: &[1.0, 3.0], by_side: true },
        Kind::Ruler => Style::Line { width: 1.6, dash: SOLID, by_side: false },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn linear(hex: &str) -> [f64; 3] {
        std::array::from_fn(|i| {
            let byte = u8::from_str_radix(&hex[1 + 2 * i..3 + 2 * i], 16).unwrap();
            let value = f64::from(byte) / 255.0;
            if value <= 0.040_45 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        })
    }

    /// sRGB (linear) to CIE Lab, D65.
    fn lab([r, g, b]: [f64; 3]) -> [f64; 3] {
        let xyz = [
            (0.412_456_4 * r + 0.357_576_1 * g + 0.180_437_5 * b) / 0.950_47,
            0.212_672_9 * r + 0.715_152_2 * g + 0.072_175 * b,
            (0.019_333_9 * r + 0.119_192 * g + 0.950_304_1 * b) / 1.088_83,
        ];
        let f = xyz.map(|t| if t > 0.008_856 { t.cbrt() } else { 7.787 * t + 16.0 / 116.0 });
        [116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2])]
    }

    /// Machado, Oliveira & Fernandes 2009, "A physiologically-based model for simulation of color vision deficiency",
    /// doi 10.1109/TVCG.2009.113, severity 1.0: protanopia, deuteranopia, tritanopia.
    const DEFICIENCIES: [[[f64; 3]; 3]; 3] = [
        [
            [0.152_286, 1.052_583, -0.204_868],
            [0.114_503, 0.786_281, 0.099_216],
            [-0.003_882, -0.048_116, 1.051_998],
        ],
        [
            [0.367_322, 0.860_646, -0.227_968],
            [0.280_085, 0.672_501, 0.047_413],
            [-0.011_820, 0.042_940, 0.968_881],
        ],
        [
            [1.255_528, -0.076_749, -0.178_779],
            [-0.078_411, 0.930_809, 0.147_602],
            [0.004_733, 0.691_367, 0.303_900],
        ],
    ];

    fn difference(a: &str, b: &str, matrix: Option<&[[f64; 3]; 3]>) -> f64 {
        let seen = |hex: &str| {
            let rgb = linear(hex);
            let rgb = matrix.map_or(rgb, |rows| {
                rows.map(|row| {
                    row.iter().zip(rgb).map(|(weight, value)| weight * value).sum::<f64>().clamp(0.0, 1.0)
                })
            });
            lab(rgb)
        };
        seen(a).iter().zip(seen(b)).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
    }

    #[test]
    fn right_and_left_stay_apart_for_every_colour_vision() {
        for palette in [LIGHT, DARK] {
            for matrix in [None, Some(&DEFICIENCIES[0]), Some(&DEFICIENCIES[1]), Some(&DEFICIENCIES[2])] {
                // 20 CIE76 units are an unmistakable difference; 2.3 are the just noticeable one.
                let apart = difference(palette.right, palette.left, matrix);
                assert!(apart > 30.0, "{} {}: {apart}", palette.right, palette.left);
                let apart = difference(palette.removed, palette.added, matrix);
                assert!(apart > 30.0, "{} {}: {apart}", palette.removed, palette.added);
            }
        }
    }

    #[test]
    fn each_line_stands_out_on_its_inner_halo() {
        let luminance = |hex: &str| {
            let [r, g, b] = linear(hex);
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        for palette in [LIGHT, DARK] {
            for colour in [palette.right, palette.left, palette.quiet, palette.removed, palette.added] {
                let (a, b) = (luminance(colour), luminance(&palette.inner_halo[..7]));
                let contrast = (a.max(b) + 0.05) / (a.min(b) + 0.05);
                // WCAG 2.2, 1.4.3: more than the 3:1 that graphics need.
                assert!(contrast > 4.5, "{colour}: {contrast}");
            }
        }
    }

    #[test]
    fn inks_are_found_by_their_number() {
        let inks = LIGHT.inks();
        let pairs = [
            (Ink::of(Some(Side::Right)), LIGHT.right),
            (Ink::of(Some(Side::Left)), LIGHT.left),
            (Ink::of(None), LIGHT.quiet),
            (Ink::Removed, LIGHT.removed),
            (Ink::Added, LIGHT.added),
            (Ink::InnerHalo, LIGHT.inner_halo),
            (Ink::OuterHalo, LIGHT.outer_halo),
            (Ink::Pigment, LIGHT.pigment),
            (Ink::Skin, LIGHT.skin),
        ];
        for (ink, colour) in pairs {
            assert_eq!(inks[ink as usize], colour, "{ink:?}");
        }
    }

    #[test]
    fn right_and_left_differ_by_pattern_too() {
        for kind in [Kind::Natural, Kind::Planned] {
            assert_ne!(style(kind, Some(Side::Right)), style(kind, Some(Side::Left)));
        }
    }
}
