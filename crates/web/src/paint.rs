//! The canvas painter: one of the painters of a scene. Everything is turned to CSS px here, so that line widths and
//! patterns do not grow with the zoom; the page has set the context's transform to device px per CSS px.

use counterpoise_plan::{Align, Kind, Label, Scene, shown};
use kurbo::{Affine, BezPath, PathEl, Point, Rect, Shape};
use wasm_bindgen::JsValue;
use web_sys::js_sys::Array;
use web_sys::{CanvasRenderingContext2d, CanvasWindingRule, Path2d};

use crate::palette::{Palette, Style, style};
use crate::view::{PlacedHandle, View};

/// Width of the halos beyond the line, CSS px on each side.
const INNER_HALO: f64 = 0.9;
const OUTER_HALO: f64 = 1.6;
/// Distance of hatch lines and of dots, CSS px.
const HATCH_STEP: f64 = 6.0;
const DOT_STEP: f64 = 7.0;
/// Size of labels, CSS px.
const LABEL_PX: f64 = 12.0;
/// Opacity of kept hair's tint: faint, since the hair itself should be seen.
const TINT: f64 = 0.10;
/// Opacity of guides and the halo they lie on: there, and quiet.
const QUIET: f64 = 0.75;
/// Pattern lines and dots beyond this number say nothing any more and would only cost time.
const MOST_MARKS: f64 = 20_000.0;

/// Paints the scene, then the handles.
///
/// # Errors
/// What the browser throws.
pub fn paint(
    context: &CanvasRenderingContext2d,
    scene: &Scene,
    view: &View,
    handles: &[PlacedHandle],
) -> Result<(), JsValue> {
    let brush = Brush {
        context,
        palette: Palette::of(view.theme),
        scale: view.line_scale,
        screen: Rect::new(0.0, 0.0, view.width, view.height),
    };
    context.save();
    context.set_line_join("round");
    context.set_line_cap("butt");
    let painted = brush
        .items(scene, view)
        .and_then(|()| brush.labels(scene, view))
        .and_then(|()| brush.stroke(view))
        .and_then(|()| brush.handles(handles, view));
    context.restore();
    painted
}

struct Brush<'a> {
    context: &'a CanvasRenderingContext2d,
    palette: &'static Palette,
    scale: f64,
    screen: Rect,
}

impl Brush<'_> {
    fn items(&self, scene: &Scene, view: &View) -> Result<(), JsValue> {
        let Some(screen_from_face) = view.screen_from_face(scene) else { return Ok(()) };
        let origin = screen_from_face * Point::ORIGIN;
        for item in &scene.items {
            if view.hidden.contains(&item.kind) {
                continue;
            }
            let bounds = screen_from_face.transform_rect_bbox(item.path.bounding_box());
            // Lines may be straight up: an empty box is still on the screen.
            let margin = 4.0 * self.scale;
            if !bounds.is_finite() || !bounds.inflate(margin, margin).overlaps(self.screen) {
                continue;
            }
            let path = to_path2d(&item.path, screen_from_face)?;
            let colour = self.palette.side(item.side);
            match style(item.kind, item.side) {
                Style::Tint => {
                    self.context.set_global_alpha(TINT);
                    self.context.set_fill_style_str(colour);
                    self.context.fill_with_path_2d_and_winding(&path, CanvasWindingRule::Evenodd);
                    self.context.set_global_alpha(1.0);
                }
                Style::Hatched => self.pattern(&path, bounds, |area| {
                    let lines = hatch(area, HATCH_STEP * self.scale, origin)?;
                    self.haloed(&lines, 1.5, &[], self.palette.removed);
                    Ok(())
                })?,
                Style::Dotted => self.pattern(&path, bounds, |area| {
                    let spots = dots(area, DOT_STEP * self.scale, origin)?;
                    self.context.set_line_cap("round");
                    self.haloed(&spots, 2.2, &[], self.palette.added);
                    self.context.set_line_cap("butt");
                    Ok(())
                })?,
                Style::Line { width, dash, by_side } => {
                    let quiet = !matches!(item.kind, Kind::Natural | Kind::Planned);
                    self.context.set_global_alpha(if quiet { QUIET } else { 1.0 });
                    self.haloed(&path, width, dash, if by_side { colour } else { self.palette.quiet });
                    self.context.set_global_alpha(1.0);
                }
            }
        }
        Ok(())
    }

    fn labels(&self, scene: &Scene, view: &View) -> Result<(), JsValue> {
        let Some(screen_from_face) = view.screen_from_face(scene) else { return Ok(()) };
        let context = self.context;
        context.set_font(&format!("{}px system-ui, sans-serif", LABEL_PX * self.scale));
        context.set_text_align("center");
        context.set_text_baseline("middle");
        context.set_line_width(3.0 * self.scale);
        context.set_stroke_style_str(self.palette.inner_halo);
        let is_turned = screen_from_face.as_coeffs()[0] < 0.0;
        let mut taken: Vec<Rect> = Vec::new();
        for label in &scene.labels {
            let Some(words) = view.texts.get(&label.key) else { continue };
            if kind_of(label).is_some_and(|kind| view.hidden.contains(&kind)) {
                continue;
            }
            let at = screen_from_face * label.at;
            let value = label.value.map(|value| format!(" {}", shown("mm", value))).unwrap_or_default();
            let text = format!("{words}{value}");
            let room = Room::of(&text, LABEL_PX * self.scale);
            let at = room.beside(seen(label.align, is_turned), at, self.screen);
            let Some(at) = room.free_place(&taken, at) else { continue };
            taken.push(room.at(at));
            context.stroke_text(&text, at.x, at.y)?;
            context.set_fill_style_str(self.palette.side(label.side));
            context.fill_text(&text, at.x, at.y)?;
        }
        Ok(())
    }

    fn stroke(&self, view: &View) -> Result<(), JsValue> {
        let Some(stroke) = &view.stroke else { return Ok(()) };
        let path = to_path2d(&stroke.path(), Affine::new(view.matrix))?;
        self.haloed(&path, 2.0, &[], self.palette.side(Some(stroke.side)));
        Ok(())
    }

    /// Fills an area with marks: clipped to it, drawn over its part of the screen.
    fn pattern(
        &self,
        path: &Path2d,
        bounds: Rect,
        marks: impl FnOnce(Rect) -> Result<(), JsValue>,
    ) -> Result<(), JsValue> {
        self.context.save();
        self.context.clip_with_path_2d_and_winding(path, CanvasWindingRule::Evenodd);
        let drawn = marks(bounds.intersect(self.screen));
        self.context.restore();
        drawn
    }

    /// A line on its two halos. The halos are not dashed, so that the gaps of the line stand out as well.
    fn haloed(&self, path: &Path2d, width: f64, dash: &[f64], colour: &str) {
        let context = self.context;
        for (extra, halo) in [(OUTER_HALO, self.palette.outer_halo), (INNER_HALO, self.palette.inner_halo)] {
            context.set_line_width((width + 2.0 * extra * halo_part(width)) * self.scale);
            context.set_stroke_style_str(halo);
            context.stroke_with_path(path);
        }
        context.set_line_width(width * self.scale);
        context.set_stroke_style_str(colour);
        if dash.is_empty() {
            context.stroke_with_path(path);
            return;
        }
        self.dash(dash);
        context.stroke_with_path(path);
        self.dash(&[]);
    }

    fn dash(&self, dash: &[f64]) {
        let list = Array::new();
        for length in dash {
            list.push(&JsValue::from_f64(length * self.scale));
        }
        // The browser refuses only lists that are none; the lines would then be solid.
        let _ = self.context.set_line_dash(&list);
    }

    fn handles(&self, handles: &[PlacedHandle], view: &View) -> Result<(), JsValue> {
        let is_selected = |handle: &&PlacedHandle| view.selected.as_deref() == Some(handle.id.as_str());
        for handle in handles.iter().filter(|handle| !is_selected(handle)) {
            self.handle(handle, false)?;
        }
        for handle in handles.iter().filter(is_selected) {
            self.handle(handle, true)?;
        }
        Ok(())
    }

    /// A landmark is a ring around its point, so that what it marks stays visible; a handle of an outline is a disc.
    fn handle(&self, handle: &PlacedHandle, selected: bool) -> Result<(), JsValue> {
        let colour = self.palette.side(handle.side);
        if handle.id.starts_with("landmark:") {
            let ring = self.circle(handle, 7.5)?;
            self.haloed(&ring, if selected { 2.4 } else { 1.6 }, &[], colour);
            self.disc(handle, 1.0, colour)?;
        } else {
            self.disc(handle, if selected { 6.0 } else { 5.0 }, colour)?;
        }
        if selected {
            let ring = self.circle(handle, 13.0)?;
            self.haloed(&ring, 1.6, &[], colour);
        }
        Ok(())
    }

    fn disc(&self, handle: &PlacedHandle, radius: f64, colour: &str) -> Result<(), JsValue> {
        for (extra, fill) in
            [(OUTER_HALO, self.palette.outer_halo), (INNER_HALO, self.palette.inner_halo), (0.0, colour)]
        {
            self.context.set_fill_style_str(fill);
            self.context.fill_with_path_2d(&self.circle(handle, radius + extra)?);
        }
        Ok(())
    }

    fn circle(&self, handle: &PlacedHandle, radius: f64) -> Result<Path2d, JsValue> {
        let path = Path2d::new()?;
        path.arc(handle.x, handle.y, radius * self.scale, 0.0, std::f64::consts::TAU)?;
        Ok(path)
    }
}

/// The alignment on the screen: start and end change places where the view shows the face the other way round.
const fn seen(align: Align, is_turned: bool) -> Align {
    match (align, is_turned) {
        (Align::Start, true) => Align::End,
        (Align::End, true) => Align::Start,
        (align, _) => align,
    }
}

/// The room that a label needs, about: the painter need not ask the browser for the width of each.
struct Room {
    width: f64,
    size: f64,
}

impl Room {
    fn of(text: &str, size: f64) -> Self {
        // Mean advance of a sans-serif letter, in parts of its size (from memory), with a little to spare.
        const ADVANCE: f64 = 0.56;
        #[expect(clippy::cast_precision_loss, reason = "a short text")]
        Room { width: text.chars().count() as f64 * ADVANCE * size, size }
    }

    /// The middle of a label at this end of a line. A label that reads inward on paper stands outside the line here, off
    /// the brow, as far as the screen reaches: zooming in makes room.
    fn beside(&self, align: Align, at: Point, screen: Rect) -> Point {
        let half = 0.5 * (self.width + 0.5 * self.size);
        let x = match align {
            Align::Start => (at.x - half).max(screen.x0 + half),
            Align::Middle => at.x,
            Align::End => (at.x + half).min(screen.x1 - half),
        };
        Point::new(x, at.y)
    }

    /// The room taken by a label in the middle of which is this place.
    fn at(&self, middle: Point) -> Rect {
        Rect::from_center_size(middle, (self.width, 1.15 * self.size))
    }

    /// The first place upward that no other label has, or `None` where it would stand too far from what it names.
    fn free_place(&self, taken: &[Rect], at: Point) -> Option<Point> {
        (0..4)
            .map(|line| Point::new(at.x, at.y - f64::from(line) * 1.2 * self.size))
            .find(|&place| !taken.iter().any(|other| other.overlaps(self.at(place))))
    }
}

/// The kind that a label belongs to: it is hidden with it.
fn kind_of(label: &Label) -> Option<Kind> {
    if label.key.starts_with("measure.") {
        return Some(Kind::HeightLine);
    }
    match label.key.strip_prefix("kind.")? {
        "front_line" => Some(Kind::FrontLine),
        "arch_measure" => Some(Kind::ArchMeasure),
        "arch_natural" => Some(Kind::ArchNatural),
        "arch_bone" => Some(Kind::ArchBone),
        _ => None,
    }
}

/// Thin lines get thin halos.
fn halo_part(width: f64) -> f64 {
    (width / 1.6).clamp(0.55, 1.0)
}

fn to_path2d(path: &BezPath, map: Affine) -> Result<Path2d, JsValue> {
    let made = Path2d::new()?;
    for element in path.elements() {
        match *element {
            PathEl::MoveTo(p) => {
                let p = map * p;
                made.move_to(p.x, p.y);
            }
            PathEl::LineTo(p) => {
                let p = map * p;
                made.line_to(p.x, p.y);
            }
            PathEl::QuadTo(a, p) => {
                let (a, p) = (map * a, map * p);
                made.quadratic_curve_to(a.x, a.y, p.x, p.y);
            }
            PathEl::CurveTo(a, b, p) => {
                let (a, b, p) = (map * a, map * b, map * p);
                made.bezier_curve_to(a.x, a.y, b.x, b.y, p.x, p.y);
            }
            PathEl::ClosePath => made.close_path(),
        }
    }
    Ok(made)
}

/// Lines that rise to the right, over this box. They hang on `origin`, so that they move with the face.
fn hatch(area: Rect, step: f64, origin: Point) -> Result<Path2d, JsValue> {
    let lines = Path2d::new()?;
    // x + y is constant along a line; across, lines are `step` apart.
    let apart = step * std::f64::consts::SQRT_2;
    let phase = origin.x + origin.y;
    let (first, last) = (area.x0 + area.y0, area.x1 + area.y1);
    if !(area.width() > 0.0 && area.height() > 0.0) || (last - first) / apart > MOST_MARKS {
        return Ok(lines);
    }
    let mut sum = phase + ((first - phase) / apart).ceil() * apart;
    while sum <= last {
        lines.move_to(sum - area.y0, area.y0);
        lines.line_to(sum - area.y1, area.y1);
        sum += apart;
    }
    Ok(lines)
}

/// Dots in staggered rows over this box, as lines of no length with round ends. They hang on `origin`.
fn dots(area: Rect, step: f64, origin: Point) -> Result<Path2d, JsValue> {
    let spots = Path2d::new()?;
    if !(area.width() > 0.0 && area.height() > 0.0) || area.area() / (step * step) > MOST_MARKS {
        return Ok(spots);
    }
    let rows = 0.5 * step * 3.0_f64.sqrt();
    let mut row = ((area.y0 - origin.y) / rows).ceil();
    while origin.y + row * rows <= area.y1 {
        let y = origin.y + row * rows;
        let shift = if row.rem_euclid(2.0) < 0.5 { 0.0 } else { 0.5 * step };
        let mut x = origin.x + shift + ((area.x0 - origin.x - shift) / step).ceil() * step;
        while x <= area.x1 {
            spots.move_to(x, y);
            // A hair's breadth: some engines draw no cap on a line of no length at all.
            spots.line_to(x + 0.01, y);
            x += step;
        }
        row += 1.0;
    }
    Ok(spots)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_at_one_place_stand_above_each_other() {
        let at = Point::new(100.0, 100.0);
        let room = Room::of("natural 38.2", 12.0);
        let mut taken = Vec::new();
        for _ in 0..4 {
            let place = room.free_place(&taken, at).unwrap();
            assert!(taken.iter().all(|other: &Rect| !other.overlaps(room.at(place))));
            taken.push(room.at(place));
        }
        assert_eq!(room.free_place(&taken, at), None, "too many are left out");
        assert!(room.free_place(&taken, Point::new(300.0, 100.0)).is_some());
    }

    #[test]
    fn labels_stand_outside_their_lines_but_on_the_screen() {
        let room = Room::of("arch top 27.2", 12.0);
        let screen = Rect::new(0.0, 0.0, 800.0, 600.0);
        let spot = |align, x| room.at(room.beside(align, Point::new(x, 50.0), screen));
        assert!(spot(Align::Start, 200.0).x1 < 200.0);
        assert!(spot(Align::End, 600.0).x0 > 600.0);
        assert!(spot(Align::Start, 20.0).x0 >= 0.0);
        assert!(spot(Align::End, 790.0).x1 <= 800.0);
        assert_eq!(seen(Align::Start, true), Align::End);
        assert_eq!(seen(Align::Middle, true), Align::Middle);
    }

    #[test]
    fn labels_are_hidden_with_their_lines() {
        let label = |key: &str| Label {
            key: key.into(),
            value: None,
            side: None,
            at: Point::ORIGIN,
            align: Align::Middle,
        };
        assert_eq!(kind_of(&label("measure.arch_top")), Some(Kind::HeightLine));
        assert_eq!(kind_of(&label("kind.arch_bone")), Some(Kind::ArchBone));
    }
}
