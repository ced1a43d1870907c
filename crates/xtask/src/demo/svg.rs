//! Writes plain SVG: paths, gradients, opacity. No filters, fonts, scripts or references, so that every browser
//! paints the same picture.

use std::fmt::Write;

use super::curve::P;

/// A drawing being written. Coordinates are mm in the face frame, y up; the frame's matrix turns them into pixels.
#[derive(Default)]
pub struct Svg {
    defs: String,
    body: String,
    glows: Vec<String>,
    n_ids: usize,
}

/// A number with at most two decimals (0.01 mm is a tenth of a pixel) and no needless characters.
pub fn num(value: f64) -> String {
    let rounded = (value * 100.0).round() / 100.0;
    let text = format!("{}", if rounded == 0.0 { 0.0 } else { rounded });
    match text.strip_prefix("0.") {
        Some(rest) => format!(".{rest}"),
        None => match text.strip_prefix("-0.") {
            Some(rest) => format!("-.{rest}"),
            None => text,
        },
    }
}

/// A path being written. Steps are relative and start from the rounded point, so that they are short and do not
/// drift.
struct Path {
    d: String,
    at: P,
}

impl Path {
    fn from(start: P) -> Self {
        let mut path = Path { d: String::from("M"), at: (0.0, 0.0) };
        path.numbers(&[start]);
        path.at = rounded(start);
        path
    }

    fn numbers(&mut self, points: &[P]) {
        for value in points.iter().flat_map(|p| [p.0, p.1]) {
            let text = num(value);
            let after_letter = self.d.ends_with(|c: char| c.is_ascii_alphabetic());
            // A sign or a leading dot after a number with a dot separates by itself.
            let dotted = text.starts_with('.')
                && self
                    .d
                    .rsplit(|c: char| !c.is_ascii_digit() && c != '.')
                    .next()
                    .is_some_and(|n| n.contains('.'));
            if !after_letter && !text.starts_with('-') && !dotted {
                self.d.push(' ');
            }
            self.d.push_str(&text);
        }
    }

    fn step(&mut self, letter: char, points: &[P]) {
        self.d.push(letter);
        let at = self.at;
        let moved: Vec<P> = points.iter().map(|p| (p.0 - at.0, p.1 - at.1)).collect();
        self.numbers(&moved);
        if let Some(&last) = moved.last() {
            self.at = rounded((at.0 + rounded(last).0, at.1 + rounded(last).1));
        }
    }
}

fn rounded(p: P) -> P {
    ((p.0 * 100.0).round() / 100.0, (p.1 * 100.0).round() / 100.0)
}

fn smooth_on(path: &mut Path, points: &[P], closed: bool) {
    let n = points.len() as isize;
    let get = |i: isize| points[if closed { i.rem_euclid(n) } else { i.clamp(0, n - 1) } as usize];
    for i in 0..if closed { n } else { n - 1 } {
        let (p0, p1, p2, p3) = (get(i - 1), get(i), get(i + 1), get(i + 2));
        path.step(
            'c',
            &[
                (p1.0 + (p2.0 - p0.0) / 6.0, p1.1 + (p2.1 - p0.1) / 6.0),
                (p2.0 - (p3.0 - p1.0) / 6.0, p2.1 - (p3.1 - p1.1) / 6.0),
                p2,
            ],
        );
    }
}

/// A smooth path through points (Catmull-Rom written as cubics).
pub fn smooth(points: &[P], closed: bool) -> String {
    let mut path = Path::from(points[0]);
    smooth_on(&mut path, points, closed);
    if closed {
        path.d.push('Z');
    }
    path.d
}

/// A closed path of smooth lines that meet in corners.
pub fn cornered(lines: &[Vec<P>]) -> String {
    let mut path = Path::from(lines[0][0]);
    for (i, line) in lines.iter().enumerate() {
        if i > 0 {
            path.step('l', &line[..1]);
        }
        smooth_on(&mut path, line, false);
    }
    path.d.push('Z');
    path.d
}

/// Straight lines through points, closed.
pub fn polygon(points: &[P]) -> String {
    let mut path = Path::from(points[0]);
    for &p in &points[1..] {
        path.step('l', &[p]);
    }
    path.d.push('Z');
    path.d
}

/// A hair: from root to tip over a bend, `width` mm at the root, running out to nothing.
pub fn hair(root: P, bend: P, tip: P, width: f64) -> String {
    let (dx, dy) = (bend.0 - root.0, bend.1 - root.1);
    let length = dx.hypot(dy).max(1e-6);
    let side = (-dy / length * width / 2.0, dx / length * width / 2.0);
    let mut path = Path::from((root.0 + side.0, root.1 + side.1));
    path.step('q', &[(bend.0 + side.0 * 0.8, bend.1 + side.1 * 0.8), tip]);
    path.step('q', &[(bend.0 - side.0 * 0.8, bend.1 - side.1 * 0.8), (root.0 - side.0, root.1 - side.1)]);
    path.d.push('Z');
    path.d
}

/// A strand through four points, thin at both ends, `width` mm in the middle: two cubics.
pub fn strand(points: &[P; 4], width: f64) -> String {
    // Bezier controls of the cubic through the four points at thirds.
    let [a, b, c, d] = *points;
    let control = |near: P, p: P, q: P, far: P| -> P {
        let one = |near: f64, p: f64, q: f64, far: f64| (-5.0 * near + 18.0 * p - 9.0 * q + 2.0 * far) / 6.0;
        (one(near.0, p.0, q.0, far.0), one(near.1, p.1, q.1, far.1))
    };
    let (c1, c2) = (control(a, b, c, d), control(d, c, b, a));
    let (dx, dy) = (d.0 - a.0, d.1 - a.1);
    let length = dx.hypot(dy).max(1e-6);
    // A control moved by w on both sides widens the middle by 3/4 w.
    let side = (-dy / length * width / 1.5, dx / length * width / 1.5);
    let mut path = Path::from(a);
    path.step('c', &[(c1.0 + side.0, c1.1 + side.1), (c2.0 + side.0, c2.1 + side.1), d]);
    path.step('c', &[(c2.0 - side.0, c2.1 - side.1), (c1.0 - side.0, c1.1 - side.1), a]);
    path.d.push('Z');
    path.d
}

/// A line that is thin at both ends and as wide as told between them, along points.
pub fn swelling(points: &[P], width: impl Fn(f64) -> f64) -> String {
    let last = points.len() - 1;
    let edge = |sign: f64| {
        (0..=last)
            .map(|i| {
                let (a, b) = (points[i.saturating_sub(1)], points[(i + 1).min(last)]);
                let (dx, dy) = (b.0 - a.0, b.1 - a.1);
                let length = dx.hypot(dy).max(1e-9);
                let half = width(i as f64 / last as f64) / 2.0 * sign;
                (points[i].0 - dy / length * half, points[i].1 + dx / length * half)
            })
            .collect::<Vec<P>>()
    };
    let mut ring = edge(1.0);
    let mut back = edge(-1.0);
    back.reverse();
    ring.extend(back);
    smooth(&ring, true)
}

impl Svg {
    fn id(&mut self) -> String {
        self.n_ids += 1;
        format!("a{}", self.n_ids)
    }

    /// A colour that fades from a point outwards: `rx`, `ry` mm, turned by `deg`. Returns the paint.
    pub fn radial(&mut self, centre: P, rx: f64, ry: f64, deg: f64, stops: &[(f64, &str, f64)]) -> String {
        let id = self.id();
        let _ = writeln!(
            self.defs,
            "<radialGradient id=\"{id}\" gradientUnits=\"userSpaceOnUse\" cx=\"0\" cy=\"0\" r=\"1\" \
             gradientTransform=\"translate({} {}) rotate({}) scale({} {})\">{}</radialGradient>",
            num(centre.0),
            num(centre.1),
            num(deg),
            num(rx),
            num(ry),
            stop_list(stops)
        );
        format!("url(#{id})")
    }

    /// A colour that changes from one point to another. Returns the paint.
    pub fn linear(&mut self, from: P, to: P, stops: &[(f64, &str, f64)]) -> String {
        let id = self.id();
        let _ = writeln!(
            self.defs,
            "<linearGradient id=\"{id}\" gradientUnits=\"userSpaceOnUse\" x1=\"{}\" y1=\"{}\" x2=\"{}\" \
             y2=\"{}\">{}</linearGradient>",
            num(from.0),
            num(from.1),
            num(to.0),
            num(to.1),
            stop_list(stops)
        );
        format!("url(#{id})")
    }

    /// A clip with this path. Returns its id.
    pub fn clip(&mut self, d: &str) -> String {
        let id = self.id();
        let _ = writeln!(self.defs, "<clipPath id=\"{id}\"><path d=\"{d}\"/></clipPath>");
        id
    }

    /// Opens a group with these attributes.
    pub fn open(&mut self, attributes: &str) {
        let _ = writeln!(self.body, "<g {attributes}>");
    }

    /// Opens a group that is cut off at this clip.
    pub fn open_clip(&mut self, id: &str) {
        self.open(&format!("clip-path=\"url(#{id})\""));
    }

    /// Closes the last group.
    pub fn close(&mut self) {
        self.body.push_str("</g>\n");
    }

    /// A filled path.
    pub fn fill(&mut self, d: &str, paint: &str, alpha: f64) {
        let _ = writeln!(self.body, "<path d=\"{d}\" fill=\"{paint}\"{}/>", opacity(alpha));
    }

    /// A stroked path with round ends.
    pub fn stroke(&mut self, d: &str, paint: &str, width: f64, alpha: f64) {
        let _ = writeln!(
            self.body,
            "<path d=\"{d}\" fill=\"none\" stroke=\"{paint}\" stroke-width=\"{}\" stroke-linecap=\"round\" \
             stroke-linejoin=\"round\"{}/>",
            num(width),
            opacity(alpha)
        );
    }

    /// A line with soft edges: the same path stroked from wide to narrow. The steps add up to an opaque core inside
    /// a group whose opacity is set once: many faint steps straight on the skin would round to a greenish tint in
    /// 8-bit colour.
    pub fn soft(&mut self, d: &str, paint: &str, width: f64, alpha: f64) {
        // Steps of under a millimetre show no contours. All together leave 3 % open in the core.
        let n_steps = (width * 1.3).clamp(10.0, 28.0) as usize;
        let full = 1.0 - 0.03_f64.powf(1.6 / n_steps as f64);
        let id = self.id();
        let _ = writeln!(self.defs, "<path id=\"{id}\" d=\"{d}\"/>");
        let _ = write!(
            self.body,
            "<g fill=\"none\" opacity=\"{}\" stroke=\"{paint}\" stroke-linecap=\"round\" \
             stroke-linejoin=\"round\">",
            short(alpha)
        );
        for step in 0..n_steps {
            let share = 1.0 - step as f64 / n_steps as f64;
            // Fainter outside: the edge runs out like a bell curve.
            let each = full * (0.25 + 0.75 * step as f64 / (n_steps - 1) as f64);
            let _ = write!(
                self.body,
                "<use href=\"#{id}\" stroke-width=\"{}\" stroke-opacity=\"{}\"/>",
                num(width * 1.15 * share),
                short(each)
            );
        }
        self.body.push_str("</g>\n");
    }

    /// A soft spot of colour.
    pub fn glow(&mut self, centre: P, rx: f64, ry: f64, deg: f64, colour: &str, alpha: f64) {
        let index = match self.glows.iter().position(|known| known == colour) {
            Some(index) => index,
            None => {
                self.glows.push(colour.to_owned());
                // The falloff of a bell curve, cut off at 2.4 SD.
                let stops = [(0.0, 1.0), (0.2, 0.88), (0.4, 0.61), (0.6, 0.33), (0.8, 0.11), (1.0, 0.0)]
                    .map(|(at, a)| (at, colour, a));
                let _ = writeln!(
                    self.defs,
                    "<radialGradient id=\"s{}\">{}</radialGradient>",
                    self.glows.len() - 1,
                    stop_list(&stops)
                );
                self.glows.len() - 1
            }
        };
        let turn = if deg == 0.0 {
            String::new()
        } else {
            format!(" transform=\"rotate({} {} {})\"", num(deg), num(centre.0), num(centre.1))
        };
        let _ = writeln!(
            self.body,
            "<ellipse cx=\"{}\" cy=\"{}\" rx=\"{}\" ry=\"{}\"{turn} fill=\"url(#s{index})\"{}/>",
            num(centre.0),
            num(centre.1),
            num(rx),
            num(ry),
            opacity(alpha)
        );
    }

    /// An ellipse.
    pub fn ellipse(&mut self, centre: P, rx: f64, ry: f64, paint: &str, alpha: f64) {
        let _ = writeln!(
            self.body,
            "<ellipse cx=\"{}\" cy=\"{}\" rx=\"{}\" ry=\"{}\" fill=\"{paint}\"{}/>",
            num(centre.0),
            num(centre.1),
            num(rx),
            num(ry),
            opacity(alpha)
        );
    }

    /// The finished document. Width and height stand as attributes so that an image element knows its size.
    pub fn finish(self, size_px: u32, title: &str) -> String {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{size_px}\" height=\"{size_px}\" \
             viewBox=\"0 0 {size_px} {size_px}\">\n<title>{title}</title>\n<defs>\n{}</defs>\n{}</svg>\n",
            self.defs, self.body
        )
    }
}

fn opacity(alpha: f64) -> String {
    if alpha >= 1.0 { String::new() } else { format!(" opacity=\"{}\"", short(alpha)) }
}

fn short(value: f64) -> String {
    let text = format!("{:.3}", value);
    text.trim_start_matches('0').trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn stop_list(stops: &[(f64, &str, f64)]) -> String {
    let mut list = String::new();
    for (at, colour, alpha) in stops {
        let _ = write!(list, "<stop offset=\"{}\" stop-color=\"{colour}\"", num(*at));
        if *alpha < 1.0 {
            let _ =
                write!(list, " stop-opacity=\"{}\"", if *alpha == 0.0 { "0".into() } else { short(*alpha) });
        }
        list.push_str("/>");
    }
    list
}
