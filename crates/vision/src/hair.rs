//! The edge of a brow's hair on a photo.
//!
//! Around a first outline, what lies well inside it is mostly hair and what lies a little outside mostly skin. From these two the rest is told
//! apart, with a little preference for the outline; the edge that comes out is the next outline. Method, numbers and how well it does: this
//! project's study on the Face Research Lab London Set, settings chosen on its faces of even place (`reference_hair` in the tests).

use counterpoise_geometry::{Contour, mean_contour_distance};
use kurbo::{Affine, Point, Vec2};
use serde::Serialize;

use crate::grid::{Grid, bell};
use crate::lab::lab;
use crate::picture::Picture;
use crate::split::{FEATURES, Split, median, split, without_shading};

/// Side of the squares that are looked at, mm.
const STEP: f64 = 0.25;
/// The patch reaches so far beyond the first outline, mm.
const ROOM: f64 = 10.0;
/// Deeper inside the outline than this it is hair, mm.
const SURELY_HAIR: f32 = 1.0;
/// Outside by between these it is skin, mm.
const SURELY_SKIN: [f32; 2] = [2.0, 6.0];
/// Hair is looked for so far outside, mm.
const REACH: f32 = 4.0;
/// Standard deviations of the bells under which colours, their variation and the likeness to hair are looked at, mm.
const COLOUR_BLUR: f64 = 0.35;
const VARIATION_BLUR: f64 = 0.8;
const HAIR_BLUR: f64 = 0.55;
/// At or beyond these, of the way from skin to hair, a square that was called hair or skin counts as such in the second look.
const STILL_HAIR: f32 = 0.4;
const STILL_SKIN: f32 = 0.6;
/// On the outline it is hair from here on; each millimetre deeper makes it so much easier, up to a limit.
const HAIR_FROM: f32 = 0.55;
const EASIER: f32 = 0.42 / 3.0;
const EASIER_WITHIN: f32 = 3.6;
/// Beyond these the likeness counts as much, so that one black hair does not outweigh what is around it.
const HELD: [f32; 2] = [-0.3, 1.3];
/// Radius of the disc that rounds the set, and standard deviation that smooths its edge, mm.
const ROUND: f64 = 0.5;
const SMOOTH: f64 = 0.9;
/// Distance of points of the edge while it is smoothed, mm.
const FINE: f64 = 0.2;
/// Times that an outline leads to the next.
const PASSES: usize = 2;
/// Points of the answer.
const POINTS: usize = 120;
/// Share of the squares around the outline that must be on the picture.
const ON_PICTURE: f64 = 0.98;

/// Signs of an outline that may be wrong; chosen on the same faces.
/// The first outline had to move by more, on average, mm.
const FAR_FROM_SEED: f64 = 1.45;
/// Hair and skin are nearer than this, standard deviations.
const LOW_CONTRAST: f64 = 3.6;
/// The likeness to hair rises across the edge by less than this, on more of the edge than that.
const WEAK_STEP: f32 = 0.25;
const WEAK_SHARE: f64 = 0.3;
/// Half of the way across the edge, mm.
const ACROSS: f64 = 0.8;
/// A brow is no shorter, mm: the shortest of the set's hand-marked ones has 36.
const SHORT: f64 = 36.0;
/// Mean thickness of a brow beyond which a fringe or a shadow is part of it, mm: area over length, in that set at most 9.5.
const THICK: f64 = 9.5;

/// Why an outline is to be looked at closely.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum HairDoubt {
    /// Far from where a brow would be by the rest of the face.
    FarFromFace,
    /// Hair and skin hardly differ.
    LowContrast,
    /// Much of the edge is no step from skin to hair.
    SoftEdge,
    /// Shorter than brows are; its tail or front may be lost.
    Short,
    /// Thicker than brows are; a fringe or a shadow may be part of it.
    Thick,
}

impl HairDoubt {
    /// All of them.
    pub const ALL: [HairDoubt; 5] = [
        HairDoubt::FarFromFace,
        HairDoubt::LowContrast,
        HairDoubt::SoftEdge,
        HairDoubt::Short,
        HairDoubt::Thick,
    ];

    /// The name in messages and files.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            HairDoubt::FarFromFace => "far_from_face",
            HairDoubt::LowContrast => "low_contrast",
            HairDoubt::SoftEdge => "soft_edge",
            HairDoubt::Short => "short",
            HairDoubt::Thick => "thick",
        }
    }
}

/// The hair of one brow as it was found.
pub(crate) struct Hair {
    /// Its edge, mm in the side's `(out, up)`, counter-clockwise.
    pub outline: Contour,
    pub doubts: Vec<HairDoubt>,
    /// CIE L* of the skin around it.
    pub skin_lightness: f64,
}

/// Looks for the hair around a first outline; `to_image` leads from the side's mm to px of the picture. `None` where there is none, or where the
/// patch leaves the picture.
pub(crate) fn find_hair(picture: &Picture, to_image: Affine, first: &[Point]) -> Option<Hair> {
    let first = Contour::try_new(first.to_vec()).ok()?;
    let patch = Patch::of(picture, to_image, &first)?;
    let mut look = patch.look(&first)?;
    for _ in 1..PASSES {
        look = patch.look(&look.outline)?;
    }
    let Look { outline, split, skin_lightness } = look;
    let doubts = patch.doubts(&outline, &first, &split);
    Some(Hair { outline: outline.resampled(POINTS), doubts, skin_lightness })
}

/// The picture around a brow.
struct Patch {
    grid: Grid,
    features: [Vec<f32>; FEATURES],
    /// Middles of the squares, within ±1.
    places: Vec<[f64; 2]>,
    lightness: Vec<f32>,
}

/// What one look gives.
struct Look {
    outline: Contour,
    split: Split,
    skin_lightness: f64,
}

impl Patch {
    fn of(picture: &Picture, to_image: Affine, first: &Contour) -> Option<Patch> {
        let grid = Grid::over(first.bounds().inflate(ROOM, ROOM), STEP);
        let to_px = to_image * grid.to_mm();
        let [width, height] = picture.size().map(|px| px as f64);
        let is_on = |at: Point| (0.0..width).contains(&at.x) && (0.0..height).contains(&at.y);
        let needed = first.bounds().inflate(f64::from(SURELY_SKIN[1]), f64::from(SURELY_SKIN[1]));
        let mut count = [0.0; 2];
        for at in (0..grid.len()).map(|at| grid.centre(at)).filter(|at| needed.contains(*at)) {
            count[usize::from(is_on(to_image * at))] += 1.0;
        }
        if count[1] < ON_PICTURE * (count[0] + count[1]) {
            return None;
        }
        let colours = picture.patch(grid.columns, grid.rows, to_px);
        let labs: Vec<[f32; 3]> = colours.chunks_exact(3).map(|rgb| lab([rgb[0], rgb[1], rgb[2]])).collect();
        let [lightness, green_red, blue_yellow] =
            [0, 1, 2].map(|k| labs.iter().map(|lab| lab[k]).collect::<Vec<f32>>());
        let squares: Vec<f32> = lightness.iter().map(|value| value * value).collect();
        let mean = grid.blurred(&lightness, VARIATION_BLUR);
        let mean_square = grid.blurred(&squares, VARIATION_BLUR);
        let variation = mean
            .iter()
            .zip(mean_square)
            .map(|(mean, square)| (square - mean * mean).max(0.0).sqrt())
            .collect();
        let [shaded, green_red, blue_yellow] =
            [&lightness, &green_red, &blue_yellow].map(|values| grid.blurred(values, COLOUR_BLUR));
        let middle = first.bounds().center();
        let half = 0.5 * grid.step * grid.columns.max(grid.rows) as f64;
        let place = |at: usize| {
            let off = (grid.centre(at) - middle) / half;
            [off.x, off.y]
        };
        let places = (0..grid.len()).map(place).collect();
        Some(Patch { grid, features: [shaded, green_red, blue_yellow, variation], places, lightness })
    }

    fn look(&self, outline: &Contour) -> Option<Look> {
        let grid = &self.grid;
        let inside = grid.inside(outline.points());
        let depth = grid.depth(&inside);
        let squares = |is_in: &dyn Fn(usize) -> bool| -> Vec<usize> {
            (0..grid.len()).filter(|at| is_in(*at)).collect()
        };
        let hair = squares(&|at| depth[at] > SURELY_HAIR);
        let skin = squares(&|at| depth[at] < -SURELY_SKIN[0] && depth[at] > -SURELY_SKIN[1]);
        let flat = without_shading(&self.features, &self.places, &skin);
        let mut found = split(&flat, &hair, &skin)?;
        let mut likeness = grid.blurred(&found.hair, HAIR_BLUR);
        // The first outline may lie beside the hair: what looks like the other class is left out, and both are told apart anew.
        let still = |class: &[usize], is_in: &dyn Fn(f32) -> bool| -> Vec<usize> {
            class.iter().copied().filter(|at| is_in(likeness[*at])).collect()
        };
        let kept = [still(&hair, &|like| like > STILL_HAIR), still(&skin, &|like| like < STILL_SKIN)];
        if let Some(better) = split(&flat, &kept[0], &kept[1]) {
            found = better;
            likeness = grid.blurred(&found.hair, HAIR_BLUR);
        }
        let is_hair = |at: usize| {
            let easier = EASIER * depth[at].clamp(-EASIER_WITHIN, EASIER_WITHIN);
            depth[at] > -REACH && likeness[at].clamp(HELD[0], HELD[1]) + easier > HAIR_FROM
        };
        let set: Vec<bool> = (0..grid.len()).map(is_hair).collect();
        let part = grid.part_over(&grid.opened_and_closed(&set, ROUND), &inside)?;
        let outline = smoothed(&Contour::try_new(grid.edge(&part)).ok()?)?;
        let skin_lightness = median(skin.iter().map(|at| f64::from(self.lightness[*at])));
        Some(Look { outline, split: Split { hair: likeness, ..found }, skin_lightness })
    }

    fn doubts(&self, outline: &Contour, first: &Contour, split: &Split) -> Vec<HairDoubt> {
        let line = outline.sample(POINTS);
        let weak = (0..POINTS).filter(|k| {
            let along = line[(k + 1) % POINTS] - line[(k + POINTS - 1) % POINTS];
            // Outwards, where the line runs counter-clockwise.
            let out = ACROSS * Vec2::new(along.y, -along.x) / along.hypot().max(f64::MIN_POSITIVE);
            let like = |at: Point| self.grid.value_at(&split.hair, at);
            like(line[*k] - out) - like(line[*k] + out) < WEAK_STEP
        });
        let length = outline.bounds().width();
        let signs = [
            mean_contour_distance(outline, first) > FAR_FROM_SEED,
            split.apart < LOW_CONTRAST,
            weak.count() as f64 > WEAK_SHARE * POINTS as f64,
            length < SHORT,
            outline.area() > THICK * length,
        ];
        HairDoubt::ALL
            .into_iter()
            .zip(signs)
            .filter_map(|(doubt, is_there)| is_there.then_some(doubt))
            .collect()
    }
}

/// The line without the steps of the squares: points under a bell along the line, and the shrinking that this brings given back once.
fn smoothed(line: &Contour) -> Option<Contour> {
    /// So many points at least.
    const LEAST: usize = 60;
    let length = line.perimeter();
    let count = ((length / FINE) as usize).max(LEAST);
    let bell = bell(SMOOTH * count as f64 / length);
    let even = line.sample(count);
    let blur = |points: &[Point]| -> Vec<Point> {
        let sum = |at: usize| {
            let mut sum = f64::from(bell[0]) * points[at].to_vec2();
            for (k, weight) in bell.iter().enumerate().skip(1) {
                let [before, after] =
                    [at + count * (k / count + 1) - k, at + k].map(|at| points[at % count].to_vec2());
                sum += f64::from(*weight) * (before + after);
            }
            sum.to_point()
        };
        (0..count).map(sum).collect()
    };
    let once = blur(&even);
    let twice = blur(&once);
    let back = once.iter().zip(twice).map(|(once, twice)| *once + (*once - twice)).collect();
    Contour::try_new(back).ok()
}
