//! Laying the photo of another pose over the baseline by points that the brow muscles do not move.

use std::fmt;

use crate::SortedMap;
use kurbo::{Affine, Point, Vec2};

use crate::face_frame::{FaceFrame, FrameErrorTerm};
use crate::landmark::{ImagePoint, Landmark};
use crate::pose::{Eyes, Pose};
use crate::scale::RULER_SD_MM;
use crate::side::Side;
use crate::similarity::{Similarity, middle, similarity};
use crate::turned_head::{TurnedHead, turned_head};
use crate::uncertainty::Estimate;

/// Points that are needed: with two there is nothing to check them by.
pub const STABLE_POINTS_NEEDED: usize = 3;
/// Points that fit no better than this are not of the same face, or not where they should be, mm (root mean square).
/// Ten faces smiling fit themselves neutral within 0.2 to 1.4 mm but for the wings of the nose, which a smile lifts; 51 faces fit
/// each other within 1.5 to 3.9 mm (5 to 95 %), so that 7 of 10 mix-ups are told (this project's check on the Face Research Lab
/// London Set).
pub const DIFFERENT_FACE_MM: f64 = 2.0;
/// A point that lies farther from where the others say than so many of its standard deviations is worth a look.
const OUTLIER_SD: f64 = 3.5;
/// A reflection that fits so many times better means a mirrored photo.
const MIRRORED_RATIO: f64 = 2.0;
/// Share of the pupils in the direction of the eye line, which weighs the pairs by their distance squared: 63² of 32² + 63² +
/// 90² (mm; Dodgson 2004 for the pupils, the others as adults have them).
const PUPIL_SHARE: f64 = 0.3;
/// Least area over which stable points must spread, mm² (sum of squares about their middle): two eye corners 20 mm apart
/// alone would have 200.
const LEAST_SPREAD_MM2: f64 = 100.0;

/// What a registration is made from.
#[derive(Clone, Copy, Debug)]
pub struct RegistrationInput<'a> {
    /// The baseline: upright, eyes open, resting.
    pub baseline: &'a FaceFrame,
    /// Landmarks on the pose's own photo, px.
    pub landmarks: &'a SortedMap<Landmark, ImagePoint>,
    /// True where the pose's photo shows her as in a mirror.
    pub mirrored: bool,
    /// The pose.
    pub pose: Pose,
    /// Length between `RulerStart` and `RulerEnd` on the pose's photo, mm.
    pub ruler_mm: Option<f64>,
}

/// Why a pose's photo cannot be laid over the baseline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RegistrationError {
    /// The baseline has no photo with landmarks to lay it over.
    NoBaseline,
    /// Too few stable points are placed on both photos.
    TooFew {
        /// So many are.
        have: usize,
    },
    /// The points lie on one spot, or are not numbers.
    Unusable,
    /// It fits only as in a mirror.
    Mirrored,
    /// It does not fit at all.
    DifferentFace {
        /// Root mean square of what is left, mm.
        rms_mm: f64,
    },
}

impl fmt::Display for RegistrationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self:?}")
    }
}

impl std::error::Error for RegistrationError {}

/// A pose's photo laid over the baseline face.
#[derive(Clone, Debug, PartialEq)]
pub struct Registration {
    face_from_upright: Similarity,
    mirrored: bool,
    middle: Point,
    count: f64,
    point_var: f64,
    inflation: f64,
    /// How much of the eye line rests on points that the pose does not show.
    unseen_share: f64,
    turn_var: f64,
    ln_scale_var: f64,
    /// How far each point lies from its place on the baseline, face mm.
    pub residuals: Vec<(Landmark, Vec2)>,
    /// Root mean square of the residuals, mm.
    pub rms_mm: f64,
    /// The point to look at again, if one is far from where the others say.
    pub outlier: Option<Landmark>,
    /// How the head was turned against the baseline, where the points can tell.
    pub turned: Option<TurnedHead>,
    /// Scale by the pose's own ruler against that by the face's points, per cent, where there is a ruler.
    pub ruler_pct: Option<Estimate>,
}

/// The points that the brow muscles do not move, as far as they are of use in this pose.
#[must_use]
pub fn stable_landmarks(pose: Pose) -> Vec<Landmark> {
    let mut found = Vec::new();
    for side in Side::BOTH {
        found.extend([Landmark::InnerCorner(side), Landmark::OuterCorner(side), Landmark::Nostril(side)]);
        // A closed eye hides its pupil.
        if pose.eyes == Eyes::Open {
            found.push(Landmark::Pupil(side));
        }
    }
    found.extend([Landmark::BridgeUpper, Landmark::BridgeLower]);
    found
}

/// A photo point with y upwards, and unmirrored.
fn upright(at: ImagePoint, mirrored: bool) -> Point {
    Point::new(if mirrored { -at.x_px } else { at.x_px }, -at.y_px)
}

/// Lays a pose's photo over the baseline.
///
/// # Errors
/// [`RegistrationError`] says what is missing or does not fit.
pub fn register(input: &RegistrationInput) -> Result<Registration, RegistrationError> {
    let baseline = input.baseline;
    if !baseline.has_photo() {
        return Err(RegistrationError::NoBaseline);
    }
    let shared: Vec<(Landmark, Point, Point)> = stable_landmarks(input.pose)
        .into_iter()
        .filter_map(|landmark| {
            let here = upright(*input.landmarks.get(&landmark)?, input.mirrored);
            Some((landmark, here, baseline.landmark_in_face(landmark)?))
        })
        .collect();
    if shared.len() < STABLE_POINTS_NEEDED {
        return Err(RegistrationError::TooFew { have: shared.len() });
    }
    let from: Vec<Point> = shared.iter().map(|(_, here, _)| *here).collect();
    let to: Vec<Point> = shared.iter().map(|(_, _, there)| *there).collect();
    let centre = middle(&to);
    let spread: f64 = to.iter().map(|at| (*at - centre).hypot2()).sum();
    let fitted = similarity(&from, &to).filter(|_| spread > LEAST_SPREAD_MM2);
    let fitted = fitted.ok_or(RegistrationError::Unusable)?;

    let rms_mm = rms(&fitted, &from, &to);
    let reflected: Vec<Point> = from.iter().map(|at| Point::new(-at.x, at.y)).collect();
    let reflected_rms =
        similarity(&reflected, &to).map_or(f64::INFINITY, |other| rms(&other, &reflected, &to));
    if rms_mm > DIFFERENT_FACE_MM {
        return Err(if reflected_rms * MIRRORED_RATIO < rms_mm {
            RegistrationError::Mirrored
        } else {
            RegistrationError::DifferentFace { rms_mm }
        });
    }

    // A point is picked once on each photo.
    let picking = 2.0 * baseline.errors().landmark_mm.powi(2);
    let count = count(from.len());
    let sum = rms_mm * rms_mm * count;
    let freedom = 2.0 * count - 4.0;
    // Points that fit worse than picking explains are that much worse.
    let inflation = if sum > picking * chi_square_95(freedom) { sum / (picking * freedom) } else { 1.0 };
    let point_var = picking * inflation;
    let turn_var = point_var / spread;

    let from_middle = middle(&from);
    let ruler = ruler(input);
    let (scale, ln_scale_var) = match ruler {
        Some(by_ruler) => {
            let (by_face_weight, by_ruler_weight) = (1.0 / turn_var, by_ruler.sd.powi(2).recip());
            let whole = by_face_weight + by_ruler_weight;
            let ln = (by_face_weight * fitted.scale.ln() + by_ruler_weight * by_ruler.value) / whole;
            (ln.exp(), 1.0 / whole)
        }
        None => (fitted.scale, turn_var),
    };
    let face_from_upright = fitted.with_scale(scale, from_middle);
    let residuals: Vec<(Landmark, Vec2)> = shared
        .iter()
        .map(|(landmark, here, there)| (*landmark, face_from_upright.apply(*here) - *there))
        .collect();
    Ok(Registration {
        turned: turned_head(
            &shared.iter().map(|(l, _, at)| (*l, *at)).collect::<Vec<_>>(),
            &residuals,
            point_var,
        ),
        ruler_pct: ruler.map(|by_ruler| Estimate {
            value: 100.0 * (by_ruler.value - fitted.scale.ln()).exp_m1(),
            sd: 100.0 * (by_ruler.sd.powi(2) + turn_var).sqrt(),
        }),
        outlier: outlier(&shared, picking),
        face_from_upright,
        mirrored: input.mirrored,
        middle: centre,
        count,
        point_var,
        inflation,
        unseen_share: if input.pose.eyes == Eyes::Closed { PUPIL_SHARE } else { 0.0 },
        turn_var,
        ln_scale_var,
        residuals,
        rms_mm,
    })
}

#[expect(clippy::cast_precision_loss, reason = "a count of landmarks")]
const fn count(of: usize) -> f64 {
    of as f64
}

fn rms(by: &Similarity, from: &[Point], to: &[Point]) -> f64 {
    let sum: f64 = from.iter().zip(to).map(|(a, b)| (by.apply(*a) - *b).hypot2()).sum();
    (sum / count(from.len())).sqrt()
}

/// ln of the baseline's mm for each px of the pose, by the pose's own ruler.
fn ruler(input: &RegistrationInput) -> Option<Estimate> {
    let mm = input.ruler_mm.filter(|mm| mm.is_finite() && *mm > 0.0)?;
    let end = |landmark| input.landmarks.get(&landmark).map(|at| upright(*at, input.mirrored));
    let px = (end(Landmark::RulerStart)? - end(Landmark::RulerEnd)?).hypot();
    if !(px.is_finite() && px > 0.0) {
        return None;
    }
    let errors = input.baseline.errors();
    let relative = (2.0 * errors.landmark_mm.powi(2) + RULER_SD_MM.powi(2)).sqrt() / mm;
    Some(Estimate { value: (mm / px).ln(), sd: relative.hypot(input.baseline.sd(FrameErrorTerm::LnScale)) })
}

/// The point that lies farthest from where the others say, if that is far.
fn outlier(shared: &[(Landmark, Point, Point)], picking: f64) -> Option<Landmark> {
    let others_needed = STABLE_POINTS_NEEDED;
    if shared.len() <= others_needed {
        return None;
    }
    let mut worst = (OUTLIER_SD, None);
    for (index, (landmark, here, there)) in shared.iter().enumerate() {
        let others =
            || shared.iter().enumerate().filter(move |(other, _)| *other != index).map(|(_, point)| point);
        let from: Vec<Point> = others().map(|point| point.1).collect();
        let to: Vec<Point> = others().map(|point| point.2).collect();
        let Some(fitted) = similarity(&from, &to) else { continue };
        let centre = middle(&to);
        let spread: f64 = to.iter().map(|at| (*at - centre).hypot2()).sum();
        // Picked itself, and said by the others.
        let var = picking * (1.0 + 1.0 / count(from.len()) + (*there - centre).hypot2() / spread);
        let away = (fitted.apply(*here) - *there).hypot() / var.sqrt();
        if away > worst.0 {
            worst = (away, Some(*landmark));
        }
    }
    worst.1
}

/// The 95 % point of the chi-square distribution with so many degrees of freedom.
///
/// *Source:* Wilson, E. B. & Hilferty, M. M. (1931), The distribution of chi-square, doi 10.1073/pnas.17.12.684.
fn chi_square_95(freedom: f64) -> f64 {
    /// 95 % point of the normal distribution.
    const NORMAL_95: f64 = 1.644_854;
    let ninth = 2.0 / (9.0 * freedom);
    freedom * (1.0 - ninth + NORMAL_95 * ninth.sqrt()).powi(3)
}

impl Registration {
    /// A point of the pose's photo in the baseline face frame, mm: x towards the client's left, y up.
    #[must_use]
    pub fn face_from_image(&self, at: ImagePoint) -> Point {
        self.face_from_upright.apply(upright(at, self.mirrored))
    }

    /// The affine map from face mm (x towards the client's left, y up) to the pose's photo, px (y down), `[a, b, c, d, e, f]`
    /// as in SVG's `matrix()`.
    #[must_use]
    pub fn image_from_face(&self) -> [f64; 6] {
        let back = self.face_from_upright.inverse();
        let at = |x: f64, y: f64| {
            let here = back.apply(Point::new(x, y));
            Vec2::new(if self.mirrored { -here.x } else { here.x }, -here.y)
        };
        let origin = at(0.0, 0.0);
        let (x, y) = (at(1.0, 0.0) - origin, at(0.0, 1.0) - origin);
        [x.x, x.y, y.x, y.y, origin.x, origin.y]
    }

    /// A point of the pose's photo in a side's own `(out, up)`, mm.
    #[must_use]
    pub fn side_from_image(&self, side: Side, at: ImagePoint) -> Point {
        let face = self.face_from_image(at);
        Point::new(side.sign() * face.x, face.y)
    }

    /// Variance that a wrong registration puts into the height of a point of the face frame, mm².
    #[must_use]
    pub fn up_var(&self, at: Point) -> f64 {
        let from = at - self.middle;
        self.point_var / self.count + from.x.powi(2) * self.turn_var + from.y.powi(2) * self.ln_scale_var
    }

    /// The same for the difference of two heights, mm²: a shift of the whole photo is in neither.
    #[must_use]
    pub fn up_difference_var(&self, one: Point, other: Point) -> f64 {
        let apart = one - other;
        apart.x.powi(2) * self.turn_var + apart.y.powi(2) * self.ln_scale_var
    }

    /// 1 SD that a wrong registration puts into a number read off points of this photo: `number` gets the map by which each point of the
    /// face frame (mm) is moved. First order, by one SD of each of shift, turn and scale.
    #[must_use]
    pub fn sd_of(&self, number: impl Fn(&dyn Fn(Point) -> Point) -> f64) -> f64 {
        let at = number(&|point| point);
        let shift = (self.point_var / self.count).sqrt();
        let (turn, scale) =
            (Affine::rotate_about(self.turn_var.sqrt(), self.middle), 1.0 + self.ln_scale_var.sqrt());
        let moved = [
            number(&|point| point + Vec2::new(shift, 0.0)),
            number(&|point| point + Vec2::new(0.0, shift)),
            number(&|point| turn * point),
            number(&|point| self.middle + (point - self.middle) * scale),
        ];
        moved.iter().map(|moved| (moved - at).powi(2)).sum::<f64>().sqrt()
    }

    /// The part of [`Registration::up_difference_var`] that adds to the error of the baseline's own frame, mm².
    ///
    /// Laying over and frame rest on the same picks, so most of it is in the frame's error already (a least-squares fit
    /// differs from any other unbiased estimate by what that one is worse: Gauss & Markov). What adds is the share of the
    /// eye line that the pose does not show, twice half of it, and what picking does not explain.
    #[must_use]
    pub fn added_difference_var(&self, one: Point, other: Point) -> f64 {
        self.up_difference_var(one, other) * (1.0 - (1.0 - self.unseen_share) / self.inflation)
    }
}
