//! What the page says about the screen, and the way from the face onto it.

use std::cell::RefCell;
use std::rc::Rc;

use counterpoise_geometry::{Side, SortedMap};
use counterpoise_plan::notation::{Misread, Read, read};
use counterpoise_plan::{Handle, Kind, Scene, Theme};
use kurbo::{Affine, BezPath, Point, Rect};

/// The view of one drawing.
#[derive(Clone, Debug, PartialEq, Read)]
#[serde(deny_unknown_fields)]
pub struct View {
    /// What `matrix` leads from.
    pub base: Base,
    /// `[a, b, c, d, e, f]` as in SVG's `matrix()`: from photo px (y down) or face mm (y up) to CSS px (y down).
    pub matrix: [f64; 6],
    /// Size of the drawing, CSS px.
    pub width: f64,
    /// Size of the drawing, CSS px.
    pub height: f64,
    /// Light or dark ground.
    #[serde(default)]
    pub theme: Theme,
    /// Kinds that are not drawn.
    #[serde(default)]
    pub hidden: Vec<Kind>,
    /// The recorded pose that the brows are shown in; `None`, or one that cannot be used, is the baseline.
    #[serde(default)]
    pub pose: Option<String>,
    /// How the pair is shown to the client, in place of lines and areas; `None` for the artist.
    #[serde(default)]
    pub preview: Option<Preview>,
    /// Which handles are drawn and can be hit.
    #[serde(default)]
    pub handles: Handles,
    /// Handles of outlines on this side only; `None` is both.
    #[serde(default)]
    pub side: Option<Side>,
    /// The handle that is selected.
    #[serde(default)]
    pub selected: Option<String>,
    /// Lines, patterns and handles are this many times as large: 1 on the screen, more on a large picture.
    #[serde(default = "one")]
    pub line_scale: f64,
    /// Texts of labels by catalogue key; a label without one is left out.
    #[serde(default)]
    pub texts: SortedMap<String, String>,
    /// The stroke that is being drawn.
    #[serde(default)]
    pub stroke: Option<LiveStroke>,
}

thread_local! {
    static LAST: RefCell<Option<(String, Rc<View>)>> = const { RefCell::new(None) };
}

impl View {
    /// Of JSON text. In a drag the view stays as it is, so the last one is kept.
    ///
    /// # Errors
    /// Where the text is no view.
    pub fn of(text: &str) -> Result<Rc<View>, Misread> {
        LAST.with_borrow_mut(|last| {
            if let Some((known, view)) = last
                && known == text
            {
                return Ok(Rc::clone(view));
            }
            let view = Rc::new(read::<View>(text)?);
            *last = Some((text.to_owned(), Rc::clone(&view)));
            Ok(view)
        })
    }
}

/// How the pair is shown to the client.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Read)]
#[serde(deny_unknown_fields)]
pub struct Preview {
    /// True for the lighter tone after healing: an illustration.
    pub healed: bool,
    /// True where hair that goes is painted over with skin.
    pub cleaned: bool,
}

/// A stroke that is being drawn.
#[derive(Clone, Debug, PartialEq, Read)]
#[serde(deny_unknown_fields)]
pub struct LiveStroke {
    /// The client's side whose hair it goes round.
    pub side: Side,
    /// `x, y, x, y, …` in the view's base frame.
    pub points: Vec<f64>,
}

impl LiveStroke {
    /// The open line through the points, in the view's base frame.
    #[must_use]
    pub fn path(&self) -> BezPath {
        let mut path = BezPath::new();
        for &[x, y] in self.points.as_chunks().0 {
            if path.elements().is_empty() { path.move_to((x, y)) } else { path.line_to((x, y)) }
        }
        path
    }
}

fn one() -> f64 {
    1.0
}

/// The frame that the view hangs on. With a photo it is the photo, so that nothing jumps while landmarks move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Read)]
#[serde(rename_all = "lowercase")]
pub enum Base {
    /// Photo px.
    Image,
    /// Face mm.
    Face,
}

/// Which handles are shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Read)]
#[serde(rename_all = "lowercase")]
pub enum Handles {
    /// None.
    #[default]
    None,
    /// Landmarks.
    Landmarks,
    /// Handles of planned outlines.
    Planned,
    /// Handles of natural brows that are outlines.
    Natural,
    /// Points of a pose's photo.
    Pose,
}

/// A handle on the screen.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedHandle {
    /// As in the scene.
    pub id: String,
    /// The client's side, if it belongs to one.
    pub side: Option<Side>,
    /// CSS px from the left edge.
    pub x: f64,
    /// CSS px from the top edge.
    pub y: f64,
    /// mm outward from the centre line (towards the client's left where it belongs to no side); `None` without a frame.
    pub out_mm: Option<f64>,
    /// mm above the inner eye corners; `None` without a frame.
    pub up_mm: Option<f64>,
}

impl PlacedHandle {
    /// Its four numbers: CSS px from the left and top edge, mm outward and up, `NaN` without a frame.
    #[must_use]
    pub fn place(&self) -> [f64; 4] {
        [self.x, self.y, self.out_mm.unwrap_or(f64::NAN), self.up_mm.unwrap_or(f64::NAN)]
    }

    /// False for a point of a photo.
    #[must_use]
    pub fn is_of_outline(&self) -> bool {
        self.id.starts_with("planned:") || self.id.starts_with("natural:")
    }
}

impl View {
    /// A view of the face of this size, CSS px, that shows no handles.
    #[cfg(test)]
    pub fn of_size(width: f64, height: f64) -> View {
        View {
            base: Base::Face,
            pose: None,
            preview: None,
            matrix: [1.0, 0.0, 0.0, -1.0, 0.0, 0.0],
            width,
            height,
            theme: Theme::Light,
            hidden: Vec::new(),
            handles: Handles::None,
            side: None,
            selected: None,
            line_scale: 1.0,
            texts: SortedMap::new(),
            stroke: None,
        }
    }

    /// From face mm to CSS px; `None` while a photo has no frame yet, or where a number is not finite.
    #[must_use]
    pub fn screen_from_face(&self, scene: &Scene) -> Option<Affine> {
        let base = Affine::new(self.matrix);
        let whole = match self.base {
            Base::Face => base,
            Base::Image => base * Affine::new(scene.image_from_face?),
        };
        whole.is_finite().then_some(whole)
    }

    /// The handles that this view shows, where they lie on the screen.
    #[must_use]
    pub fn placed_handles(&self, scene: &Scene) -> Vec<PlacedHandle> {
        let screen_from_face = self.screen_from_face(scene);
        let screen_from_image = (self.base == Base::Image).then(|| Affine::new(self.matrix));
        scene
            .handles
            .iter()
            .filter(|handle| self.shows(handle))
            .filter_map(|handle| {
                let map = if handle.in_image { screen_from_image? } else { screen_from_face? };
                let screen = map * handle.at;
                let sign = handle.side.map_or(1.0, Side::sign);
                let mm = (!handle.in_image).then_some(handle.at);
                screen.is_finite().then(|| PlacedHandle {
                    id: handle.id.clone(),
                    side: handle.side,
                    x: screen.x,
                    y: screen.y,
                    out_mm: mm.map(|at| sign * at.x),
                    up_mm: mm.map(|at| at.y),
                })
            })
            .collect()
    }

    fn shows(&self, handle: &Handle) -> bool {
        let prefix = match self.handles {
            Handles::None => return false,
            Handles::Landmarks => "landmark:",
            Handles::Planned => "planned:",
            Handles::Natural => "natural:",
            Handles::Pose => "pose:",
        };
        let is_point = matches!(self.handles, Handles::Landmarks | Handles::Pose);
        let is_of_side = is_point || self.side.is_none() || self.side == handle.side;
        handle.id.starts_with(prefix) && is_of_side
    }

    /// What should be in view, `[x0, y0, x1, y1]` in the view's base frame; `None` where nothing says so.
    #[must_use]
    pub fn bounds(&self, scene: &Scene) -> Option<[f64; 4]> {
        let [x0, y0, x1, y1] = scene.bounds_mm;
        let mm = Rect::from_points(Point::new(x0, y0), Point::new(x1, y1));
        let rect = match self.base {
            Base::Face => mm,
            Base::Image => Affine::new(scene.image_from_face?).transform_rect_bbox(mm),
        };
        (rect.is_finite() && rect.area() > 0.0).then_some([rect.x0, rect.y0, rect.x1, rect.y1])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn view(base: Base) -> View {
        View {
            base,
            matrix: [2.0, 0.0, 0.0, if base == Base::Face { -2.0 } else { 2.0 }, 100.0, 50.0],
            handles: Handles::Planned,
            ..View::of_size(400.0, 300.0)
        }
    }

    fn handle(id: &str, side: Option<Side>, at: (f64, f64), in_image: bool) -> Handle {
        Handle { id: id.into(), side, at: at.into(), in_image }
    }

    fn scene() -> Scene {
        Scene {
            handles: vec![
                handle("landmark:pupil.right", Some(Side::Right), (-31.0, 0.0), false),
                handle("planned:right:arch", Some(Side::Right), (-38.0, 27.0), false),
                handle("planned:left:arch", Some(Side::Left), (38.0, 26.0), false),
            ],
            bounds_mm: [-60.0, -10.0, 60.0, 40.0],
            ..Scene::default()
        }
    }

    #[test]
    fn clients_right_lies_on_the_left_of_the_screen_and_counts_outward() {
        let placed = view(Base::Face).placed_handles(&scene());
        assert_eq!(placed.len(), 2);
        assert_eq!((placed[0].x, placed[0].y), (24.0, -4.0));
        assert_eq!((placed[0].out_mm, placed[0].up_mm), (Some(38.0), Some(27.0)));
        assert_eq!((placed[1].x, placed[1].out_mm), (176.0, Some(38.0)));
    }

    #[test]
    fn one_side_shows_only_its_handles() {
        let mut one = view(Base::Face);
        one.side = Some(Side::Left);
        let ids: Vec<String> = one.placed_handles(&scene()).into_iter().map(|handle| handle.id).collect();
        assert_eq!(ids, ["planned:left:arch"]);
    }

    #[test]
    fn photo_without_a_frame_shows_landmarks_in_its_own_pixels() {
        let mut of_photo = view(Base::Image);
        of_photo.handles = Handles::Landmarks;
        let mut early = scene();
        early.handles = vec![handle("landmark:pupil.right", Some(Side::Right), (10.0, 20.0), true)];
        let placed = of_photo.placed_handles(&early);
        assert_eq!((placed[0].x, placed[0].y, placed[0].out_mm), (120.0, 90.0, None));
        assert!(
            placed[0].place()[..2] == [120.0, 90.0] && placed[0].place()[2..].iter().all(|mm| mm.is_nan())
        );
        assert_eq!(of_photo.screen_from_face(&early), None);
        assert_eq!(of_photo.bounds(&early), None);
    }

    #[test]
    fn view_of_a_photo_goes_through_the_frame() {
        let mut framed = scene();
        framed.image_from_face = Some([10.0, 0.0, 0.0, -10.0, 500.0, 400.0]);
        let of_photo = view(Base::Image);
        let map = of_photo.screen_from_face(&framed).unwrap();
        assert_eq!(map * Point::new(1.0, 2.0), Point::new(1120.0, 810.0));
        assert_eq!(of_photo.bounds(&framed), Some([-100.0, 0.0, 1100.0, 500.0]));
    }

    #[test]
    fn matrix_that_is_no_number_draws_nothing() {
        let mut broken = view(Base::Face);
        broken.matrix[0] = f64::NAN;
        assert_eq!(broken.screen_from_face(&scene()), None);
        assert!(broken.placed_handles(&scene()).is_empty());
    }
}
