//! What a plan's numbers mean, worked out once and shared by report and scene.

use std::cell::OnceCell;
use std::rc::Rc;

use counterpoise_geometry::{
    CaliperPoints, Contour, CountedRegions, FaceFrame, FrameError, GuideInput, ImagePoint, Landmark,
    MeasuredBrow, Outline as Shape, PerSide, Regions, RemovedStrip, Side, SideGuides, contour_from_calipers,
    contour_from_trace, count_regions, estimate_frame, guides, image_from_side_by, regions, strips,
};
use kurbo::Point;

use crate::convert;
use crate::ground::Ground;
use crate::{NaturalBrow, Outline, Plan, PlanError};

/// What stands between the photo and the face.
pub enum FrameState {
    /// No photo: millimetres only.
    NoPhoto(FaceFrame),
    /// A photo whose landmarks suffice.
    Photo(FaceFrame),
    /// A photo whose landmarks do not suffice yet. The frame inside is the one without a photo, so that what was
    /// taken with calipers can still be measured.
    Missing(FrameError, FaceFrame),
}

impl FrameState {
    pub fn of(plan: &Plan) -> Self {
        let without = || FaceFrame::without_photo(convert::error_model(plan));
        if plan.photo.is_none() {
            return FrameState::NoPhoto(without());
        }
        match estimate_frame(&convert::frame_input(plan)) {
            Ok(frame) => FrameState::Photo(frame),
            Err(error) => FrameState::Missing(error, without()),
        }
    }

    /// The frame that measures are taken in.
    pub const fn measuring(&self) -> &FaceFrame {
        match self {
            FrameState::NoPhoto(frame) | FrameState::Photo(frame) | FrameState::Missing(_, frame) => frame,
        }
    }

    /// The frame of the photo, where there is one.
    pub const fn of_photo(&self) -> Option<&FaceFrame> {
        match self {
            FrameState::Photo(frame) => Some(frame),
            FrameState::NoPhoto(_) | FrameState::Missing(..) => None,
        }
    }
}

/// The natural brow of one side.
pub struct Natural {
    /// Its edge, mm.
    pub contour: Contour,
    /// Its measures with their errors.
    pub brow: MeasuredBrow,
    /// 1 SD of its edge, mm: of the hair's edge, or of the caliper where it was typed.
    pub edge_sd_mm: f64,
}

/// The planned outline of one side.
pub struct Planned {
    /// The curves.
    pub shape: Shape,
    /// The same as a polygon, mm.
    pub contour: Contour,
    /// Where calipers are put, mm.
    pub points: CaliperPoints,
    /// Found when it is asked for: no drawing needs it.
    brow: OnceCell<MeasuredBrow>,
}

impl Planned {
    /// Its measures.
    pub fn brow(&self) -> &MeasuredBrow {
        self.brow.get_or_init(|| MeasuredBrow::planned(&self.contour, self.points, self.shape.area()))
    }
}

/// What follows of one side's outline on its ground. What no drawing shows is found when it is asked for.
pub struct OnSide {
    ground: Rc<Ground>,
    side: Side,
    /// The planned outline: not entered, usable, or refused with a reason.
    pub planned: Option<Result<Planned, PlanError>>,
    /// Kept, removed and added, where both brows are there.
    pub regions: Option<Regions>,
    /// Construction lines.
    pub guides: SideGuides,
    counted: OnceCell<Option<CountedRegions>>,
    strips: OnceCell<Vec<RemovedStrip>>,
    edge_tolerance_mm: f64,
}

/// All of a plan that one side's [`OnSide`] depends on, but for the ground.
#[derive(Clone, PartialEq)]
pub struct SideInputs {
    outline: Option<Outline>,
    edge_tolerance_mm: f64,
    arch_measure_mm: f64,
}

impl SideInputs {
    /// Of a plan.
    pub fn of(plan: &Plan, side: Side) -> SideInputs {
        SideInputs {
            outline: plan.planned.get(side).clone(),
            edge_tolerance_mm: plan.limits.edge_tolerance_mm,
            arch_measure_mm: plan.guides.arch_measure_mm,
        }
    }
}

impl OnSide {
    /// Derives it.
    pub fn of(ground: &Rc<Ground>, side: Side, inputs: &SideInputs) -> OnSide {
        let planned = inputs.outline.as_ref().map(derive_planned);
        let usable = planned.as_ref().and_then(|planned| planned.as_ref().ok());
        let natural = ground.natural(side);
        let regions =
            natural.zip(usable).map(|(natural, planned)| regions(&natural.contour, &planned.contour));
        let landmark = |landmark| ground.frame.of_photo().and_then(|frame| frame.landmark_in_side(landmark));
        let guides = guides(&GuideInput {
            nostril: landmark(Landmark::Nostril(side)),
            outer_corner: landmark(Landmark::OuterCorner(side)),
            bone: landmark(Landmark::Bone(side)),
            natural: natural.map(|natural| *natural.brow.points()),
            planned: usable.map(|planned| planned.points),
            arch_measure_mm: inputs.arch_measure_mm,
        });
        let (counted, strips) = (OnceCell::new(), OnceCell::new());
        OnSide {
            ground: Rc::clone(ground),
            side,
            planned,
            regions,
            guides,
            counted,
            strips,
            edge_tolerance_mm: inputs.edge_tolerance_mm,
        }
    }

    /// The usable planned outline.
    pub fn usable(&self) -> Option<&Planned> {
        self.planned.as_ref()?.as_ref().ok()
    }

    /// What counts as removed, and all areas, where both brows are there.
    pub fn counted(&self) -> Option<&CountedRegions> {
        let count = || {
            let (natural, planned) = (self.ground.natural(self.side)?, self.usable()?);
            let removed = &self.regions.as_ref()?.removed;
            Some(count_regions(&natural.contour, &planned.contour, removed, self.edge_tolerance_mm))
        };
        self.counted.get_or_init(count).as_ref()
    }

    /// Strips of hair to remove.
    pub fn strips(&self) -> &[RemovedStrip] {
        self.strips.get_or_init(|| {
            let both = self.counted().zip(self.usable());
            both.map_or_else(Vec::new, |(counted, planned)| {
                strips(&counted.removed, &planned.contour, &planned.points, self.edge_tolerance_mm)
            })
        })
    }
}

/// Everything derived from a plan.
pub struct Derived {
    /// Photo, face and natural brows.
    pub ground: Rc<Ground>,
    /// What stands on it.
    pub sides: PerSide<Rc<OnSide>>,
}

impl Derived {
    /// Photo and face.
    pub fn frame(&self) -> &FrameState {
        &self.ground.frame
    }

    /// What stands on one side.
    pub fn on(&self, side: Side) -> &OnSide {
        self.sides.get(side)
    }

    /// The usable natural brow of one side.
    pub fn natural(&self, side: Side) -> Option<&Natural> {
        self.ground.natural(side)
    }

    /// The usable planned outline of one side.
    pub fn planned(&self, side: Side) -> Option<&Planned> {
        self.on(side).usable()
    }
}

/// Derives everything.
pub fn derive(plan: &Plan) -> Derived {
    let ground = Rc::new(Ground::of(plan));
    let sides = PerSide::from_fn(|side| Rc::new(OnSide::of(&ground, side, &SideInputs::of(plan, side))));
    Derived { ground, sides }
}

pub const fn needs_frame(natural: &NaturalBrow) -> bool {
    match natural {
        NaturalBrow::Trace { .. } => true,
        NaturalBrow::Shape { at, .. } => at.is_some(),
        NaturalBrow::Calipers(_) => false,
    }
}

pub fn derive_natural(
    plan: &Plan,
    side: Side,
    natural: &NaturalBrow,
    frame: Option<&FaceFrame>,
) -> Result<Natural, PlanError> {
    let contour = natural_contour(side, natural, frame)?;
    let errors = convert::error_model(plan);
    let (brow, edge_sd_mm) = match natural {
        NaturalBrow::Calipers(calipers) => {
            // Nine numbers pin an edge of about 97 mm: one every 11 mm, each as far off as a caliper is, which is near
            // enough to an edge that wanders by itself.
            let brow = MeasuredBrow::typed(&convert::caliper_numbers(calipers), contour.area(), &errors);
            (brow, errors.caliper_mm)
        }
        NaturalBrow::Trace { .. } | NaturalBrow::Shape { .. } => {
            (MeasuredBrow::traced(&contour, &errors), errors.edge_mm)
        }
    };
    Ok(Natural { contour, brow, edge_sd_mm })
}

/// The edge of a natural brow, mm in its side's frame.
///
/// # Errors
/// Why it cannot be used.
pub fn natural_contour(
    side: Side,
    natural: &NaturalBrow,
    frame: Option<&FaceFrame>,
) -> Result<Contour, PlanError> {
    let no_frame = || {
        let missing = FrameError::Missing { landmarks: Side::BOTH.map(Landmark::InnerCorner).to_vec() };
        convert::frame_first(&missing)
    };
    let contour = match natural {
        NaturalBrow::Trace { points_px } => {
            let frame = frame.ok_or_else(no_frame)?;
            let points: Vec<Point> =
                points_px.iter().map(|[x, y]| frame.side_from_image(side, ImagePoint::new(*x, *y))).collect();
            // Stored traces were cleaned when they were drawn; cleaning them again each time would smooth them a
            // little more. Only what some other program wrote is cleaned here.
            Contour::try_new(points.clone())
                .ok()
                .filter(|contour| contour.bounds().x0 >= 0.0)
                .map_or_else(|| contour_from_trace(&points), Ok)
        }
        NaturalBrow::Shape { outline, at } => {
            let contour = shape(outline)?.contour();
            match at {
                None => Ok(contour),
                Some(stamp) => {
                    let frame = frame.ok_or_else(no_frame)?;
                    if frame.image_from_face() == stamp.image_from_face {
                        Ok(contour)
                    } else {
                        let moved = contour.points().iter().map(|point| {
                            let pixel = image_from_side_by(stamp.image_from_face, side, *point);
                            frame.side_from_image(side, pixel)
                        });
                        Contour::try_new(moved.collect())
                    }
                }
            }
        }
        NaturalBrow::Calipers(numbers) => {
            return contour_from_calipers(&convert::caliper_numbers(numbers))
                .map_err(|error| convert::caliper_error(&error));
        }
    };
    contour.map_err(|error| convert::contour_error(side, &error))
}

/// The curves that these numbers make.
///
/// # Errors
/// Why they make none.
pub fn shape(outline: &Outline) -> Result<Shape, PlanError> {
    Shape::try_new(&convert::params(outline)?).map_err(|error| convert::outline_error(&error))
}

fn derive_planned(outline: &Outline) -> Result<Planned, PlanError> {
    let shape = shape(outline)?;
    let contour = shape.contour();
    let points = shape.caliper_points();
    Ok(Planned { shape, contour, points, brow: OnceCell::new() })
}
