//! How far a brow is lifted or drops in another pose, and what of a height difference goes with it.
//!
//! A lift is the height in the pose less the height in the baseline, mm: negative where the brow drops. It is taken at
//! the front (bottom of the bulb), the arch (its top) and the tail end, and runs straight in between.

use kurbo::Point;

use crate::caliper_points::CaliperPoints;
use crate::face_frame::{FaceFrame, FrameErrorTerm};
use crate::landmark::ImagePoint;
use crate::measure::Measure;
use crate::registration::Registration;
use crate::side::{PerSide, Side};
use crate::uncertainty::{Estimate, MeasuredBrow, measure_pair};

/// A place of a brow whose height is taken in every pose.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LiftPlace {
    /// The bottom of the bulb.
    Front,
    /// The top of the arch.
    Arch,
    /// The end of the tail.
    Tail,
}

impl LiftPlace {
    /// Every place, from the front outwards.
    pub const ALL: [LiftPlace; 3] = [LiftPlace::Front, LiftPlace::Arch, LiftPlace::Tail];

    /// The name in files and messages.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            LiftPlace::Front => "front",
            LiftPlace::Arch => "arch",
            LiftPlace::Tail => "tail",
        }
    }

    /// Where it is on a brow, mm `(out, up)`.
    #[must_use]
    pub const fn of(self, points: &CaliperPoints) -> Point {
        match self {
            LiftPlace::Front => points.bulb_bottom,
            LiftPlace::Arch => points.arch_top,
            LiftPlace::Tail => points.tail_end,
        }
    }

    const fn height(self) -> Measure {
        match self {
            LiftPlace::Front => Measure::BulbBottom,
            LiftPlace::Arch => Measure::ArchTop,
            LiftPlace::Tail => Measure::TailUp,
        }
    }
}

/// One value for each place.
pub type PerPlace<T> = [T; 3];

/// The same brow in another pose.
#[derive(Clone, Copy, Debug)]
pub enum PoseBrows<'a> {
    /// Heights above the inner eye corners by calipers, mm.
    Heights(PerSide<Option<PerPlace<f64>>>),
    /// Points on the pose's photo, px, and where that photo lies.
    Points(PerSide<Option<PerPlace<ImagePoint>>>, &'a Registration),
}

/// What a pose does to a pair.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairLift {
    /// Lift of each side and place, mm.
    pub sides: PerSide<Option<PerPlace<Estimate>>>,
    /// Of the height differences, where both sides are there.
    pub splits: Option<PerPlace<Split>>,
}

/// A height difference, right − left, and its two parts, mm: `difference = muscle + sits`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Split {
    /// In the baseline.
    pub difference: Estimate,
    /// What goes in the pose: a brow held up by its muscle.
    pub muscle: Estimate,
    /// What stays in the pose: where the brows sit.
    pub sits: Estimate,
}

/// How far before the points that a photo is laid over the brow lies, mm: a nod between two photos moves the brow by so
/// much more than them. With it one degree moves a brow by 0.17 mm (derived from facial proportions, from memory).
const BROW_DEPTH_MM: f64 = 10.0;

/// What a pose does to the brows of the baseline.
#[must_use]
pub fn pair_lift(brows: PerSide<Option<&MeasuredBrow>>, frame: &FaceFrame, pose: &PoseBrows) -> PairLift {
    // What the baseline's own edge or caliper adds, with a frame that has no error, and all of it.
    let own = measure_pair(brows, &FaceFrame::without_photo(*frame.errors()));
    let all = measure_pair(brows, frame);
    let heights = |place: LiftPlace| {
        let at = place.height();
        (own.iter().find(|row| row.measure == at), all.iter().find(|row| row.measure == at))
    };
    let readings = PerSide::from_fn(|side| Readings::of(side, pose));
    let side_lift = |side: Side, index: usize, place: LiftPlace| -> Option<Estimate> {
        let reading = (*readings.get(side))?.0[index];
        let (own, all) = heights(place);
        let (own, all) = ((*own?.sides.get(side))?, (*all?.sides.get(side))?);
        let value = reading.up - all.value;
        let var = match pose {
            // Calipers stand on the face; a wrong frame is in the baseline's height alone.
            PoseBrows::Heights(_) => all.sd.powi(2) + frame.errors().caliper_mm.powi(2),
            PoseBrows::Points(_, registration) => {
                let nod = frame.errors().yaw_deg.to_radians() * BROW_DEPTH_MM;
                own.sd.powi(2)
                    + frame.errors().landmark_mm.powi(2)
                    + registration.up_var(reading.in_face(side))
                    + nod.powi(2)
                    + (value * frame.sd(FrameErrorTerm::LnScale)).powi(2)
            }
        };
        Some(Estimate { value, sd: var.sqrt() })
    };
    let per_place = |side: Side| -> Option<PerPlace<Estimate>> {
        let [front, arch, tail] = [0, 1, 2].map(|index| side_lift(side, index, LiftPlace::ALL[index]));
        Some([front?, arch?, tail?])
    };
    let split = |index: usize, place: LiftPlace| -> Option<Split> {
        let (right, left) = ((readings.right)?.0[index], (readings.left)?.0[index]);
        let (own, all) = heights(place);
        let (own, difference) = (own?.difference?, all?.difference?);
        let sits = right.up - left.up;
        let (own_var, whole_var) = (own.sd.powi(2), difference.sd.powi(2));
        let (in_pose, muscle_var, sits_var);
        match pose {
            PoseBrows::Heights(_) => {
                in_pose = 2.0 * frame.errors().caliper_mm.powi(2);
                (muscle_var, sits_var) = (whole_var + in_pose, in_pose);
            }
            PoseBrows::Points(_, registration) => {
                let taps = 2.0 * frame.errors().landmark_mm.powi(2);
                let (right, left) = (right.in_face(Side::Right), left.in_face(Side::Left));
                in_pose = taps + registration.up_difference_var(right, left);
                let frame_var = (whole_var - own_var).max(0.0);
                sits_var = taps + frame_var + registration.added_difference_var(right, left);
                muscle_var = own_var + in_pose;
            }
        }
        Some(Split {
            difference,
            muscle: Estimate { value: difference.value - sits, sd: muscle_var.sqrt() },
            sits: Estimate { value: sits, sd: sits_var.sqrt() },
        })
    };
    let [front, arch, tail] = [0, 1, 2].map(|index| split(index, LiftPlace::ALL[index]));
    let splits = front.zip(arch).zip(tail).map(|((front, arch), tail)| [front, arch, tail]);
    PairLift { sides: PerSide::from_fn(per_place), splits }
}

/// Heights of one side in the pose.
#[derive(Clone, Copy)]
struct Readings(PerPlace<Reading>);

#[derive(Clone, Copy)]
struct Reading {
    /// mm outward; 0 where calipers gave the height alone.
    out: f64,
    up: f64,
}

impl Readings {
    fn of(side: Side, pose: &PoseBrows) -> Option<Readings> {
        match pose {
            PoseBrows::Heights(heights) => {
                (*heights.get(side)).map(|heights| Readings(heights.map(|up| Reading { out: 0.0, up })))
            }
            PoseBrows::Points(points, registration) => (*points.get(side)).map(|points| {
                Readings(points.map(|at| {
                    let at = registration.side_from_image(side, at);
                    Reading { out: at.x, up: at.y }
                }))
            }),
        }
    }
}

impl Reading {
    fn in_face(self, side: Side) -> Point {
        Point::new(side.sign() * self.out, self.up)
    }
}

/// A lift along a brow: straight between front, arch and tail end, and level beyond them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LiftProfile {
    out: PerPlace<f64>,
    lift: PerPlace<f64>,
}

impl LiftProfile {
    /// Through these lifts (mm) at the front, arch and tail of a brow with these points.
    #[must_use]
    pub fn new(points: &CaliperPoints, lift: PerPlace<f64>) -> Self {
        LiftProfile { out: LiftPlace::ALL.map(|place| place.of(points).x), lift }
    }

    /// Lift at a distance from the centre line, mm.
    #[must_use]
    pub fn at(&self, out: f64) -> f64 {
        let ([front, arch, tail], [at_front, at_arch, at_tail]) = (self.out, self.lift);
        let between = |a: f64, b: f64, from: f64, to: f64| {
            let part = if b > a { ((out - a) / (b - a)).clamp(0.0, 1.0) } else { 1.0 };
            from + (to - from) * part
        };
        if out < arch {
            between(front, arch, at_front, at_arch)
        } else {
            between(arch, tail, at_arch, at_tail)
        }
    }

    /// A point of the baseline as it lies in the pose; mm `(out, up)`.
    #[must_use]
    pub fn carried(&self, at: Point) -> Point {
        Point::new(at.x, at.y + self.at(at.x))
    }

    /// A point of the pose as it lies in the baseline; mm `(out, up)`. Undoes [`LiftProfile::carried`] but for rounding.
    #[must_use]
    pub fn carried_back(&self, at: Point) -> Point {
        Point::new(at.x, at.y - self.at(at.x))
    }
}
