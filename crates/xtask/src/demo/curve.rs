//! The little geometry that the drawing needs: points, smooth curves through points, polygons. Face frame, mm, y up.

/// A point or a direction, mm.
pub type P = (f64, f64);

/// Straight between two points.
pub fn lerp(a: P, b: P, t: f64) -> P {
    (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t)
}

/// Distance of two points.
pub fn distance(a: P, b: P) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// The unit vector at this angle above the x axis, degrees.
pub fn at_angle(deg: f64) -> P {
    let angle = deg.to_radians();
    (angle.cos(), angle.sin())
}

/// Smooth interpolation between knots `(x, y)` with rising x: monotone cubic Hermite (Fritsch and Carlson 1980,
/// SIAM J. Numer. Anal. 17:238, with the harmonic-mean slopes of Fritsch and Butland 1984). Held constant outside.
pub fn table(knots: &[P], x: f64) -> f64 {
    let last = knots.len() - 1;
    if x <= knots[0].0 {
        return knots[0].1;
    }
    if x >= knots[last].0 {
        return knots[last].1;
    }
    let i = knots.windows(2).position(|pair| x <= pair[1].0).unwrap_or(last - 1);
    let slope = |j: usize| (knots[j + 1].1 - knots[j].1) / (knots[j + 1].0 - knots[j].0);
    let tangent = |j: usize| {
        if j == 0 {
            return slope(0);
        }
        if j == last {
            return slope(last - 1);
        }
        let (before, after) = (slope(j - 1), slope(j));
        if before * after <= 0.0 { 0.0 } else { 2.0 * before * after / (before + after) }
    };
    let (a, b) = (knots[i], knots[i + 1]);
    let width = b.0 - a.0;
    let t = (x - a.0) / width;
    let (t2, t3) = (t * t, t * t * t);
    a.1 * (2.0 * t3 - 3.0 * t2 + 1.0)
        + tangent(i) * width * (t3 - 2.0 * t2 + t)
        + b.1 * (3.0 * t2 - 2.0 * t3)
        + tangent(i + 1) * width * (t3 - t2)
}

/// A smooth curve through points: Catmull-Rom, each piece cut into `pieces`.
pub fn through(points: &[P], closed: bool, pieces: usize) -> Vec<P> {
    let n = points.len();
    let get = |i: isize| {
        if closed {
            points[i.rem_euclid(n as isize) as usize]
        } else {
            points[i.clamp(0, n as isize - 1) as usize]
        }
    };
    let spans = if closed { n } else { n - 1 };
    let mut out = Vec::with_capacity(spans * pieces + 1);
    for span in 0..spans {
        let i = span as isize;
        let (p0, p1, p2, p3) = (get(i - 1), get(i), get(i + 1), get(i + 2));
        for step in 0..pieces {
            let t = step as f64 / pieces as f64;
            let blend = |a: f64, b: f64, c: f64, d: f64| {
                0.5 * (2.0 * b
                    + (c - a) * t
                    + (2.0 * a - 5.0 * b + 4.0 * c - d) * t * t
                    + (3.0 * b - a - 3.0 * c + d) * t * t * t)
            };
            out.push((blend(p0.0, p1.0, p2.0, p3.0), blend(p0.1, p1.1, p2.1, p3.1)));
        }
    }
    if !closed {
        out.push(points[n - 1]);
    }
    out
}

/// The point this far along an open line, as a share of its length.
pub fn along(line: &[P], share: f64) -> P {
    let total: f64 = line.windows(2).map(|pair| distance(pair[0], pair[1])).sum();
    let mut left = total * share.clamp(0.0, 1.0);
    for pair in line.windows(2) {
        let step = distance(pair[0], pair[1]);
        if step > 0.0 && left <= step {
            return lerp(pair[0], pair[1], left / step);
        }
        left -= step;
    }
    line[line.len() - 1]
}

/// Signed area of a polygon, mm²: positive where it runs counter-clockwise.
pub fn area(polygon: &[P]) -> f64 {
    let next = polygon.iter().cycle().skip(1);
    polygon.iter().zip(next).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum::<f64>() / 2.0
}

/// True inside the polygon (even-odd rule).
pub fn contains(polygon: &[P], p: P) -> bool {
    let next = polygon.iter().cycle().skip(1);
    polygon
        .iter()
        .zip(next)
        .filter(|(a, b)| (a.1 > p.1) != (b.1 > p.1) && p.0 < a.0 + (p.1 - a.1) / (b.1 - a.1) * (b.0 - a.0))
        .count()
        % 2
        == 1
}

/// `count` points evenly spaced along a closed polygon.
pub fn even(polygon: &[P], count: usize) -> Vec<P> {
    let mut ring = polygon.to_vec();
    ring.push(polygon[0]);
    (0..count).map(|i| along(&ring, i as f64 / count as f64)).collect()
}
