//! Invented plans with known millimetres, built the way the page builds them: by edits.

use counterpoise_geometry::{Landmark, OutlineParams, Param, PerSide, Side};
use counterpoise_plan::{Edit, Outline, Photo, Plan, PlanError, apply};

/// A simulated photo: everything that lies between face millimetres and pixels.
#[derive(Clone, Copy, Debug)]
pub struct Camera {
    /// px per mm.
    pub px_per_mm: f64,
    /// Roll, radians; positive where the client's left sits higher on the photo.
    pub roll: f64,
    /// Where the face's origin lies, px.
    pub origin: [f64; 2],
    /// True for a mirrored selfie.
    pub mirrored: bool,
    /// Photo width, px.
    pub width_px: u32,
    /// Photo height, px.
    pub height_px: u32,
}

impl Default for Camera {
    fn default() -> Self {
        Camera {
            px_per_mm: 12.0,
            roll: 1.0_f64.to_radians(),
            origin: [1000.0, 900.0],
            mirrored: false,
            width_px: 2000,
            height_px: 1800,
        }
    }
}

impl Camera {
    /// A point of the face (mm, x towards the client's left, y up) on the photo, px.
    #[must_use]
    pub fn pixel(&self, x: f64, y: f64) -> [f64; 2] {
        let (sin, cos) = self.roll.sin_cos();
        let (right, up) = (x * cos - y * sin, x * sin + y * cos);
        let right = if self.mirrored { -right } else { right };
        [self.origin[0] + self.px_per_mm * right, self.origin[1] - self.px_per_mm * up]
    }

    /// The point of the face that lies on this pixel: the inverse of [`Camera::pixel`].
    #[must_use]
    pub fn face(&self, x_px: f64, y_px: f64) -> [f64; 2] {
        let (sin, cos) = self.roll.sin_cos();
        let right = (x_px - self.origin[0]) / self.px_per_mm;
        let right = if self.mirrored { -right } else { right };
        let up = (self.origin[1] - y_px) / self.px_per_mm;
        [right * cos + up * sin, up * cos - right * sin]
    }

    /// A point of a side's own `(out, up)` on the photo, px.
    #[must_use]
    pub fn side_pixel(&self, side: Side, out: f64, up: f64) -> [f64; 2] {
        self.pixel(side.sign() * out, up)
    }
}

/// Where an even invented face has its landmarks, mm in the face frame. Pupils 63 apart (Dodgson 2004), inner corners
/// 32, outer 90, nostrils 34, visible iris 11.7.
#[must_use]
pub fn face_landmark(landmark: Landmark) -> [f64; 2] {
    match landmark {
        Landmark::Pupil(side) => [side.sign() * 31.5, 1.0],
        Landmark::InnerCorner(side) => [side.sign() * 16.0, 0.0],
        Landmark::OuterCorner(side) => [side.sign() * 45.0, 2.0],
        Landmark::IrisInner(side) => [side.sign() * (31.5 - 5.85), 1.0],
        Landmark::IrisOuter(side) => [side.sign() * (31.5 + 5.85), 1.0],
        Landmark::Nostril(side) => [side.sign() * 17.0, -38.0],
        Landmark::Bone(side) => [side.sign() * 42.0, 24.0],
        Landmark::BridgeUpper => [0.0, 2.0],
        Landmark::BridgeLower => [0.0, -18.0],
        Landmark::RulerStart => [-10.0, 55.0],
        Landmark::RulerEnd => [10.0, 55.0],
    }
}

/// The outline with these parameters changed from the natural median.
#[must_use]
pub fn outline(changes: &[(Param, f64)]) -> OutlineParams {
    changes.iter().fold(OutlineParams::natural_median(), |params, (param, value)| params.with(*param, *value))
}

/// The document's form of an outline.
#[must_use]
pub fn written(params: &OutlineParams) -> Outline {
    Outline(Param::ALL.iter().map(|info| (info.id.to_owned(), params.get(info.param))).collect())
}

/// The uneven natural brows of the invented client: her right one sits 2 mm higher at the arch and is fuller.
#[must_use]
pub fn natural_params(side: Side) -> OutlineParams {
    match side {
        Side::Right => outline(&[(Param::ArchY, 28.4), (Param::ArchT, 7.8), (Param::TailY, 16.0)]),
        Side::Left => outline(&[(Param::ArchY, 26.4), (Param::FrontX, 14.6), (Param::TailX, 54.0)]),
    }
}

/// Her photo with every landmark placed and a ruler of 20 mm.
///
/// # Errors
/// Never, unless an edit is wrongly refused.
pub fn photo_plan(camera: &Camera) -> Result<Plan, PlanError> {
    let photo = Photo { width_px: camera.width_px, height_px: camera.height_px, mirrored: camera.mirrored };
    let mut edits = vec![Edit::SetPhoto { photo: Some(photo) }];
    for landmark in Landmark::ALL {
        let [x, y] = face_landmark(landmark);
        let [x_px, y_px] = camera.pixel(x, y);
        edits.push(Edit::PlaceLandmark { landmark: landmark.id().to_owned(), x_px, y_px });
    }
    let mut plan = apply(&Plan::default(), &Edit::Many { edits })?;
    plan.frame.ruler_mm = Some(20.0);
    Ok(plan)
}

/// The traces a steady hand would draw around her natural brows, px.
///
/// # Panics
/// Where the invented outlines are invalid.
#[must_use]
pub fn trace(camera: &Camera, side: Side) -> Vec<[f64; 2]> {
    let shape = counterpoise_geometry::Outline::try_new(&natural_params(side));
    let contour = shape.expect("the invented natural brows are valid").contour();
    contour.points().iter().map(|point| camera.side_pixel(side, point.x, point.y)).collect()
}

/// The even pair that is planned for her.
#[must_use]
pub fn planned_params() -> OutlineParams {
    outline(&[(Param::ArchY, 27.8), (Param::ArchT, 7.6), (Param::TipT, 1.2), (Param::FrontX, 13.8)])
}

/// The whole case: photo, landmarks, both traces, and an even pair planned.
///
/// # Errors
/// Never, unless an edit is wrongly refused.
pub fn whole_plan(camera: &Camera) -> Result<Plan, PlanError> {
    let mut plan = photo_plan(camera)?;
    for side in Side::BOTH {
        plan = apply(&plan, &Edit::TraceNatural { side, points_px: trace(camera, side) })?;
    }
    let planned = Some(written(&planned_params()));
    apply(&plan, &Edit::SetOutlines { outlines: PerSide { right: planned.clone(), left: planned } })
}
