//! The canvas painter: one of the painters of a scene. It writes down what the page then draws in one go. Everything is
//! turned to CSS px here, so that line widths and patterns do not grow with the zoom; the page has set the context's
//! transform to device px per CSS px.

use counterpoise_plan::{Align, Kind, Label, Scene, shown_in};
use kurbo::{Affine, Point, Rect, Shape as _};

use crate::marks::{Marks, Pen};
use crate::palette::{Ink, Style, style};
use crate::view::{PlacedHandle, Preview, View};

/// The halos and their widths beyond the line, CSS px on each side, lowest first.
const HALOS: [(f64, Ink); 2] = [(1.6, Ink::OuterHalo), (0.9, Ink::InnerHalo)];
/// Distance of hatch lines and of dots, CSS px.
const HATCH_STEP: f64 = 6.0;
const DOT_STEP: f64 = 7.0;
/// Soft edges of the preview, widest first: width, mm, and opacity.
const PIGMENT_EDGES: [(f64, f64); 3] = [(1.5, 0.06), (0.9, 0.08), (0.4, 0.1)];
const SKIN_EDGES: [(f64, f64); 2] = [(1.2, 0.35), (0.6, 0.6)];
/// Opacity of the pigment, and how much each of so many grades towards the tail adds. Many thin grades would change the tone:
/// a canvas rounds each to whole steps of eight bits.
const PIGMENT: f64 = 0.3;
const GRADE: f64 = 0.07;
const GRADES: u32 = 7;
/// What is left of the opacity after healing: an illustration (common practice, no source).
const HEALED: f64 = 0.6;
/// Size of labels, CSS px.
const LABEL_PX: f64 = 12.0;
/// Opacity of kept hair's tint: faint, since the hair itself should be seen.
const TINT: f64 = 0.10;
/// Opacity of guides and the halo they lie on: there, and quiet.
const QUIET: f64 = 0.75;
/// Pattern lines and dots beyond this number say nothing any more and would only cost time.
const MOST_MARKS: f64 = 20_000.0;

/// Paints the scene, then the handles.
#[must_use]
pub fn paint(scene: &Scene, view: &View, handles: &[PlacedHandle]) -> Marks {
    let mut brush = Brush {
        marks: Marks::with_room(),
        scale: view.line_scale,
        screen: Rect::new(0.0, 0.0, view.width, view.height),
    };
    if let Some(preview) = view.preview {
        brush.preview(scene, view, preview);
        return brush.marks;
    }
    brush.items(scene, view);
    brush.labels(scene, view);
    brush.stroke(view);
    brush.handles(handles, view);
    brush.marks
}

struct Brush {
    marks: Marks,
    scale: f64,
    screen: Rect,
}

impl Brush {
    fn items(&mut self, scene: &Scene, view: &View) {
        let Some(screen_from_face) = view.screen_from_face(scene) else { return };
        let origin = screen_from_face * Point::ORIGIN;
        for item in &scene.items {
            if view.hidden.contains(&item.kind) {
                continue;
            }
            let bounds = screen_from_face.transform_rect_bbox(item.path.control_box());
            // Lines may be straight up: an empty box is still on the screen.
            let margin = 4.0 * self.scale;
            if !bounds.is_finite() || !bounds.inflate(margin, margin).overlaps(self.screen) {
                continue;
            }
            self.marks.path(&item.path, screen_from_face);
            let ink = Ink::of(item.side);
            let area = bounds.intersect(self.screen);
            match style(item.kind, item.side) {
                Style::Tint => self.marks.fill(ink, TINT),
                Style::Hatched => {
                    self.marks.clip();
                    hatch(&mut self.marks, area, HATCH_STEP * self.scale, origin);
                    self.haloed(&Pen { width: 1.5, ..Pen::of(Ink::Removed) });
                    self.marks.unclip();
                }
                Style::Dotted => {
                    self.marks.clip();
                    let step = DOT_STEP * self.scale;
                    dots(&mut self.marks, area, step, origin);
                    // A dot is a dash of a hair's breadth with round ends: some engines draw no cap on one of no length
                    // at all. A row of them is one line, which is drawn a good deal faster than each by itself.
                    let dash = [0.01 * step, 0.99 * step];
                    self.haloed(&Pen { width: 2.2, round: true, dash: &dash, ..Pen::of(Ink::Added) });
                    self.marks.unclip();
                }
                Style::Line { width, dash, by_side } => {
                    let quiet = !matches!(item.kind, Kind::Natural | Kind::Planned);
                    let dash: Vec<f64> = dash.iter().map(|length| length * self.scale).collect();
                    self.haloed(&Pen {
                        width,
                        dash: &dash,
                        alpha: if quiet { QUIET } else { 1.0 },
                        ..Pen::of(if by_side { ink } else { Ink::Quiet })
                    });
                }
            }
        }
    }

    /// The pair as pigment: darker towards the tail, soft at its edge, over the hair that stays.
    fn preview(&mut self, scene: &Scene, view: &View, preview: Preview) {
        let Some(screen_from_face) = view.screen_from_face(scene) else { return };
        let per_mm = screen_from_face.determinant().abs().sqrt();
        let of = |kind: Kind| scene.items.iter().filter(move |item| item.kind == kind);
        for item in of(Kind::Removed).filter(|_| preview.cleaned) {
            self.marks.path(&item.path, screen_from_face);
            self.marks.fill(Ink::Skin, 1.0);
            for (width_mm, alpha) in SKIN_EDGES {
                let width = width_mm * per_mm;
                self.marks.stroke(&Pen { width, alpha, round: true, ..Pen::of(Ink::Skin) });
            }
        }
        let strength = if preview.healed { HEALED } else { 1.0 };
        for item in of(Kind::Planned) {
            self.marks.path(&item.path, screen_from_face);
            for (width_mm, alpha) in PIGMENT_EDGES {
                let (width, alpha) = (width_mm * per_mm, strength * alpha);
                self.marks.stroke(&Pen { width, alpha, round: true, ..Pen::of(Ink::Pigment) });
            }
            self.marks.fill(Ink::Pigment, strength * PIGMENT);
            self.marks.clip();
            // Boxes that reach from farther and farther out to the tail: each adds a little, and no seams show.
            let bounds = item.path.control_box();
            let outward = if bounds.center().x < 0.0 { -1.0 } else { 1.0 };
            let (front, end) = if outward < 0.0 { (bounds.x1, bounds.x0) } else { (bounds.x0, bounds.x1) };
            for step in 0..GRADES {
                let from = front + (end - front) * f64::from(step) / f64::from(GRADES);
                let part = Rect::from_points((from, bounds.y0 - 1.0), (end + outward, bounds.y1 + 1.0));
                self.marks.path(&part.to_path(0.0), screen_from_face);
                self.marks.fill(Ink::Pigment, strength * GRADE);
            }
            self.marks.unclip();
        }
    }

    fn labels(&mut self, scene: &Scene, view: &View) {
        let Some(screen_from_face) = view.screen_from_face(scene) else { return };
        self.marks.font(LABEL_PX * self.scale, 3.0 * self.scale);
        let is_turned = screen_from_face.as_coeffs()[0] < 0.0;
        let mut taken: Vec<Rect> = Vec::new();
        for label in &scene.labels {
            let Some(words) = view.texts.get(&label.key) else { continue };
            if kind_of(label).is_some_and(|kind| view.hidden.contains(&kind)) {
                continue;
            }
            let at = screen_from_face * label.at;
            let value = label.value.map(|value| shown_in(&view.texts, "mm", value)).unwrap_or_default();
            // A narrow screen has room for the number alone.
            let text = if words.is_empty() || value.is_empty() {
                format!("{words}{value}")
            } else {
                format!("{words} {value}")
            };
            let room = Room::of(&text, LABEL_PX * self.scale);
            let at = room.beside(seen(label.align, is_turned), at, self.screen);
            let Some(at) = room.free_place(&taken, at) else { continue };
            taken.push(room.at(at));
            self.marks.text(text, at, Ink::of(label.side));
        }
    }

    fn stroke(&mut self, view: &View) {
        let Some(stroke) = &view.stroke else { return };
        self.marks.path(&stroke.path(), Affine::new(view.matrix));
        self.haloed(&Pen { width: 2.0, ..Pen::of(Ink::of(Some(stroke.side))) });
    }

    /// A line on its two halos. The halos of a line are not dashed, so that its gaps stand out as well; those of dots are.
    fn haloed(&mut self, pen: &Pen) {
        let dash = if pen.round { pen.dash } else { &[] };
        for (extra, ink) in HALOS {
            let width = (pen.width + 2.0 * extra * halo_part(pen.width)) * self.scale;
            self.marks.stroke(&Pen { width, ink, dash, ..*pen });
        }
        self.marks.stroke(&Pen { width: pen.width * self.scale, ..*pen });
    }

    fn handles(&mut self, handles: &[PlacedHandle], view: &View) {
        let (selected, others): (Vec<_>, Vec<_>) =
            handles.iter().partition(|handle| view.selected.as_deref() == Some(handle.id.as_str()));
        self.points(&others, false);
        self.points(&selected, true);
        self.rings(&selected, 13.0, 1.6);
    }

    /// A landmark is a ring around its point, so that what it marks stays visible; a handle of an outline is a disc.
    fn points(&mut self, handles: &[&PlacedHandle], selected: bool) {
        let (landmarks, others): (Vec<_>, Vec<_>) =
            handles.iter().copied().partition(|handle| !handle.is_of_outline());
        self.rings(&landmarks, 7.5, if selected { 2.4 } else { 1.6 });
        self.discs(&landmarks, 1.0);
        self.discs(&others, if selected { 6.0 } else { 5.0 });
    }

    /// All halos first, in one go each: drawing the points one by one took longer than everything else.
    fn discs(&mut self, handles: &[&PlacedHandle], radius: f64) {
        for (extra, ink) in HALOS {
            if self.circles(handles, radius + extra, None) {
                self.marks.fill_whole(ink);
            }
        }
        for ink in [Ink::Right, Ink::Left, Ink::Quiet] {
            if self.circles(handles, radius, Some(ink)) {
                self.marks.fill_whole(ink);
            }
        }
    }

    fn rings(&mut self, handles: &[&PlacedHandle], radius: f64, width: f64) {
        for (extra, ink) in HALOS {
            if self.circles(handles, radius, None) {
                let width = (width + 2.0 * extra * halo_part(width)) * self.scale;
                self.marks.stroke(&Pen { width, ..Pen::of(ink) });
            }
        }
        for ink in [Ink::Right, Ink::Left, Ink::Quiet] {
            if self.circles(handles, radius, Some(ink)) {
                self.marks.stroke(&Pen { width: width * self.scale, ..Pen::of(ink) });
            }
        }
    }

    /// Circles round the handles of one colour, or of all; false where there are none.
    fn circles(&mut self, handles: &[&PlacedHandle], radius: f64, only: Option<Ink>) -> bool {
        let mut of_ink =
            handles.iter().filter(|handle| only.is_none_or(|ink| ink == Ink::of(handle.side))).peekable();
        if of_ink.peek().is_none() {
            return false;
        }
        self.marks.begin();
        for handle in of_ink {
            self.marks.circle(Point::new(handle.x, handle.y), radius * self.scale);
        }
        true
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

/// Lines that rise to the right, over this box. They hang on `origin`, so that they move with the face.
fn hatch(marks: &mut Marks, area: Rect, step: f64, origin: Point) {
    marks.begin();
    // x + y is constant along a line; across, lines are `step` apart.
    let apart = step * std::f64::consts::SQRT_2;
    let phase = origin.x + origin.y;
    let (first, last) = (area.x0 + area.y0, area.x1 + area.y1);
    if !(area.width() > 0.0 && area.height() > 0.0) || (last - first) / apart > MOST_MARKS {
        return;
    }
    let mut sum = phase + ((first - phase) / apart).ceil() * apart;
    while sum <= last {
        marks.line(Point::new(sum - area.y0, area.y0), Point::new(sum - area.y1, area.y1));
        sum += apart;
    }
}

/// Rows of dots over this box, staggered, each row a line that begins at its first dot. They hang on `origin`.
fn dots(marks: &mut Marks, area: Rect, step: f64, origin: Point) {
    marks.begin();
    if !(area.width() > 0.0 && area.height() > 0.0) || area.area() / (step * step) > MOST_MARKS {
        return;
    }
    let rows = 0.5 * step * 3.0_f64.sqrt();
    let mut row = ((area.y0 - origin.y) / rows).ceil();
    while origin.y + row * rows <= area.y1 {
        let y = origin.y + row * rows;
        let shift = if row.rem_euclid(2.0) < 0.5 { 0.0 } else { 0.5 * step };
        let first = origin.x + shift + ((area.x0 - origin.x - shift) / step).ceil() * step;
        // A little further than the box, so that rounding takes no dot away at the end.
        marks.line(Point::new(first, y), Point::new(area.x1 + 0.25 * step, y));
        row += 1.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_dots_begin_at_a_dot_of_one_grid() {
        let (step, origin) = (7.0, Point::new(3.0, 5.0));
        let mut marks = Marks::default();
        dots(&mut marks, Rect::new(20.0, 30.0, 60.0, 50.0), step, origin);
        // begin, then a line for each row: move x y, lines 1 x y
        let rows: Vec<&[f32]> = marks.numbers[1..].chunks(7).collect();
        assert_eq!(rows.len(), 3);
        for row in rows {
            let &[_, x, y, _, _, end, same] = row else { unreachable!() };
            let line = (f64::from(y) - origin.y) / (0.5 * step * 3.0_f64.sqrt());
            assert!((line - line.round()).abs() < 1e-4, "{line}");
            let place = (f64::from(x) - origin.x) / step - 0.5 * line.round().rem_euclid(2.0);
            assert!((place - place.round()).abs() < 1e-4, "{place}");
            assert!((20.0..27.0).contains(&x) && end > 60.0 && same == y);
        }
    }

    #[test]
    fn selected_handle_is_drawn_last_and_halos_of_the_others_first() {
        let handle = |id: &str, x| PlacedHandle {
            id: id.into(),
            side: Some(counterpoise_geometry::Side::Right),
            x,
            y: 77.0,
            out_mm: None,
            up_mm: None,
        };
        let handles =
            [handle("planned:right:a", 1.0), handle("planned:right:b", 2.0), handle("planned:right:c", 3.0)];
        let view = View { selected: Some("planned:right:b".into()), ..View::of_size(100.0, 100.0) };
        let marks = paint(&Scene::default(), &view, &handles).numbers;
        let places: Vec<f32> =
            marks.windows(4).filter(|four| four[0] == 5.0 && four[2] == 77.0).map(|four| four[1]).collect();
        assert_eq!(places, [1.0, 3.0, 1.0, 3.0, 1.0, 3.0, 2.0, 2.0, 2.0, 2.0, 2.0, 2.0]);
    }

    #[test]
    fn preview_is_pigment_and_skin_and_nothing_else() {
        let square = |x: f64| Rect::new(x, 10.0, x + 20.0, 16.0).to_path(0.0);
        let item = |kind, x: f64| counterpoise_plan::Item { kind, side: None, path: square(x) };
        let scene = Scene {
            items: vec![item(Kind::Removed, 30.0), item(Kind::Natural, 30.0), item(Kind::Planned, -50.0)],
            ..Scene::default()
        };
        let inks = |cleaned| {
            let preview = Some(Preview { healed: false, cleaned });
            let view = View { preview, ..View::of_size(200.0, 200.0) };
            let drawn = paint(&scene, &view, &[]);
            assert!(drawn.words.is_empty());
            // FILL ink alpha rule and STROKE ink alpha width …
            let found = drawn.numbers.windows(2).filter(|two| two[0] == 6.0 && (7.0..=8.0).contains(&two[1]));
            found.map(|two| two[1]).collect::<Vec<_>>()
        };
        assert!(inks(false).iter().all(|ink| *ink == Ink::Pigment.number()) && inks(false).len() > 2);
        assert_eq!(inks(true).first(), Some(&Ink::Skin.number()), "skin lies under pigment");
    }

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
    fn label_without_words_is_its_number() {
        let label = Label {
            key: "measure.arch_top".into(),
            value: Some(27.24),
            side: None,
            at: Point::ORIGIN,
            align: Align::Middle,
        };
        let scene = Scene { labels: vec![label], ..Scene::default() };
        let painted = |words: &str| {
            let texts = [("measure.arch_top".to_owned(), words.to_owned())].into();
            paint(&scene, &View { texts, ..View::of_size(200.0, 200.0) }, &[]).words
        };
        assert_eq!(painted("arch top"), ["arch top 27.2"]);
        assert_eq!(painted(""), ["27.2"]);
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
