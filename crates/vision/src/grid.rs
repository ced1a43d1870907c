//! A patch of a face as equal squares, and what is done to values and sets on it.

use kurbo::{Affine, Point, Rect};

use crate::distance::squared_distance;

/// Squares of a patch, numbered from the lowest row, each row outwards. Lengths are mm in a side's `(out, up)`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Grid {
    pub columns: usize,
    pub rows: usize,
    /// The corner of the first square that is nearest the centre line and lowest.
    pub corner: Point,
    /// Side of a square.
    pub step: f64,
}

/// Farther out a Gaussian bell is nothing, standard deviations (as scipy.ndimage cuts it).
const BELL: f64 = 4.0;

impl Grid {
    /// Squares that cover this box.
    pub fn over(area: Rect, step: f64) -> Grid {
        let count = |length: f64| (length / step).ceil().max(1.0) as usize;
        Grid { columns: count(area.width()), rows: count(area.height()), corner: area.origin(), step }
    }

    pub fn len(&self) -> usize {
        self.columns * self.rows
    }

    /// From squares to mm.
    pub fn to_mm(self) -> Affine {
        Affine::translate(self.corner.to_vec2()) * Affine::scale(self.step)
    }

    /// Column and row of a square.
    fn place(&self, index: usize) -> (usize, usize) {
        (index % self.columns, index / self.columns)
    }

    /// The middle of a square, mm.
    pub fn centre(&self, index: usize) -> Point {
        let (column, row) = self.place(index);
        self.to_mm() * Point::new(column as f64 + 0.5, row as f64 + 0.5)
    }

    /// The value at a place, between the four squares around it; that of the nearest square outside.
    pub fn value_at(&self, values: &[f32], at: Point) -> f32 {
        let at = self.to_mm().inverse() * at;
        let held = |value: f64, most: usize| (value - 0.5).clamp(0.0, most as f64 - 1.0);
        let (x, y) = (held(at.x, self.columns), held(at.y, self.rows));
        let (column, row) = (x as usize, y as usize);
        let (right, up) = ((x - column as f64) as f32, (y - row as f64) as f32);
        let next = |at: usize, most: usize| (at + 1).min(most - 1);
        let get = |column: usize, row: usize| values[row * self.columns + column];
        let along =
            |row: usize| (1.0 - right) * get(column, row) + right * get(next(column, self.columns), row);
        (1.0 - up) * along(row) + up * along(next(row, self.rows))
    }

    /// Squares whose middle lies inside a closed line, by crossings to the left of it.
    pub fn inside(&self, line: &[Point]) -> Vec<bool> {
        let mut inside = vec![false; self.len()];
        let to_squares = self.to_mm().inverse();
        let line: Vec<Point> = line.iter().map(|at| to_squares * *at).collect();
        let edges = line.iter().zip(line.iter().cycle().skip(1));
        let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); self.rows];
        for (a, b) in edges {
            let (low, high) = if a.y <= b.y { (a, b) } else { (b, a) };
            // Middles at `row + 0.5` with `low.y <= middle < high.y`.
            let first = (low.y - 0.5).ceil().max(0.0) as usize;
            for (row, crossings) in crossings.iter_mut().enumerate().skip(first) {
                let y = row as f64 + 0.5;
                if y >= high.y {
                    break;
                }
                crossings.push(low.x + (y - low.y) / (high.y - low.y) * (high.x - low.x));
            }
        }
        for (row, mut crossings) in crossings.into_iter().enumerate() {
            crossings.sort_by(f64::total_cmp);
            for pair in crossings.chunks_exact(2) {
                let held = |x: f64| ((x - 0.5).ceil().max(0.0) as usize).min(self.columns);
                let (from, to) = (held(pair[0]), held(pair[1]));
                inside[row * self.columns + from..row * self.columns + to].fill(true);
            }
        }
        inside
    }

    /// Values under a Gaussian bell of this standard deviation, mm; mirrored at the edges.
    pub fn blurred(&self, values: &[f32], sd_mm: f64) -> Vec<f32> {
        let bell = bell(sd_mm / self.step);
        let reach = bell.len() - 1;
        let weight = |k: usize| bell[k.abs_diff(reach)];
        let mut across = vec![0.0; self.len()];
        let mut padded = vec![0.0; self.columns + 2 * reach];
        for (row, out) in values.chunks_exact(self.columns).zip(across.chunks_exact_mut(self.columns)) {
            padded
                .iter_mut()
                .enumerate()
                .for_each(|(k, value)| *value = row[mirrored(k as i64 - reach as i64, self.columns)]);
            for k in 0..=2 * reach {
                add(out, &padded[k..], weight(k));
            }
        }
        let mut both = vec![0.0; self.len()];
        for (row, out) in both.chunks_exact_mut(self.columns).enumerate() {
            for k in 0..=2 * reach {
                let from = mirrored(row as i64 + k as i64 - reach as i64, self.rows) * self.columns;
                add(out, &across[from..from + self.columns], weight(k));
            }
        }
        both
    }

    /// How deep each square lies in a set, mm: negative outside.
    pub fn depth(&self, set: &[bool]) -> Vec<f32> {
        let outside: Vec<bool> = set.iter().map(|inside| !inside).collect();
        let root = |square: f32| square.sqrt() * self.step as f32;
        let to_inside = squared_distance(set, self.columns, self.rows);
        let to_outside = squared_distance(&outside, self.columns, self.rows);
        to_outside.into_iter().zip(to_inside).map(|(within, without)| root(within) - root(without)).collect()
    }

    /// The set without what no disc of this radius fits into, and then with its bays closed that no such disc fits into.
    pub fn opened_and_closed(&self, set: &[bool], radius_mm: f64) -> Vec<bool> {
        let far = (radius_mm / self.step).powi(2) as f32;
        let shrunk = |set: &[bool]| -> Vec<bool> {
            let outside: Vec<bool> = set.iter().map(|inside| !inside).collect();
            squared_distance(&outside, self.columns, self.rows)
                .into_iter()
                .map(|square| square > far)
                .collect()
        };
        let grown = |set: &[bool]| -> Vec<bool> {
            squared_distance(set, self.columns, self.rows).into_iter().map(|square| square <= far).collect()
        };
        shrunk(&grown(&grown(&shrunk(set))))
    }

    /// The connected part of a set that shares most squares with another set, its holes filled; `None` where no part shares any.
    pub fn part_over(&self, set: &[bool], other: &[bool]) -> Option<Vec<bool>> {
        let mut seen = vec![false; self.len()];
        let mut best: (usize, Vec<usize>) = (0, Vec::new());
        for start in 0..self.len() {
            if set[start] && other[start] && !seen[start] {
                let part = self.reached(start, &mut seen, |at| set[at]);
                let shared = part.iter().filter(|at| other[**at]).count();
                if shared > best.0 {
                    best = (shared, part);
                }
            }
        }
        let mut part = vec![false; self.len()];
        best.1.iter().for_each(|at| part[*at] = true);
        // What cannot be reached from the edge of the patch is a hole.
        let mut outside = vec![false; self.len()];
        for start in 0..self.len() {
            let (column, row) = self.place(start);
            let is_edge = column == 0 || row == 0 || column + 1 == self.columns || row + 1 == self.rows;
            if is_edge && !part[start] && !outside[start] {
                self.reached(start, &mut outside, |at| !part[at]);
            }
        }
        (best.0 > 0).then(|| outside.into_iter().map(|outside| !outside).collect())
    }

    /// Squares that are reached from one by steps along rows and columns.
    fn reached(&self, start: usize, seen: &mut [bool], is_in: impl Fn(usize) -> bool) -> Vec<usize> {
        let mut found = vec![start];
        seen[start] = true;
        let mut next = 0;
        while let Some(&at) = found.get(next) {
            next += 1;
            let (column, row) = self.place(at);
            let around = [
                (column > 0).then(|| at - 1),
                (column + 1 < self.columns).then(|| at + 1),
                (row > 0).then(|| at - self.columns),
                (row + 1 < self.rows).then(|| at + self.columns),
            ];
            for neighbour in around.into_iter().flatten() {
                if is_in(neighbour) && !seen[neighbour] {
                    seen[neighbour] = true;
                    found.push(neighbour);
                }
            }
        }
        found
    }

    /// The line around a connected set without holes, mm, counter-clockwise: the middles of the edges between squares in it and out of it.
    pub fn edge(&self, set: &[bool]) -> Vec<Point> {
        /// Steps along the edges: outwards, up, inwards, down.
        const STEPS: [(i64, i64); 4] = [(1, 0), (0, 1), (-1, 0), (0, -1)];
        /// The squares to the left and to the right before one who goes that way, from the corner he stands on.
        const AHEAD: [[(i64, i64); 2]; 4] =
            [[(0, 0), (0, -1)], [(-1, 0), (0, 0)], [(-1, -1), (-1, 0)], [(0, -1), (-1, -1)]];
        let Some(first) = set.iter().position(|inside| *inside) else { return Vec::new() };
        let (column, row) = self.place(first);
        let start = (column as i64, row as i64);
        let is_in = |(x, y): (i64, i64)| {
            let place = |value: i64, most: usize| usize::try_from(value).ok().filter(|at| *at < most);
            let (column, row) = (place(x, self.columns), place(y, self.rows));
            column.zip(row).is_some_and(|(column, row)| set[row * self.columns + column])
        };
        let to_mm = self.to_mm();
        let mut line = Vec::new();
        let (mut at, mut way) = (start, 0);
        // Each edge is walked once.
        for _ in 0..4 * self.len() {
            let (dx, dy) = STEPS[way];
            line.push(to_mm * Point::new(at.0 as f64 + 0.5 * dx as f64, at.1 as f64 + 0.5 * dy as f64));
            at = (at.0 + dx, at.1 + dy);
            let [left, right] = AHEAD[way].map(|(dx, dy)| is_in((at.0 + dx, at.1 + dy)));
            way = match (left, right) {
                (false, _) => (way + 1) % 4,
                (true, true) => (way + 3) % 4,
                (true, false) => way,
            };
            if at == start && way == 0 {
                break;
            }
        }
        line
    }
}

/// One half of a Gaussian bell, the middle first; the whole sums to one. `sd` in squares.
pub(crate) fn bell(sd: f64) -> Vec<f32> {
    let reach = (BELL * sd + 0.5) as usize;
    let half: Vec<f64> = (0..=reach).map(|k| (-0.5 * (k as f64 / sd).powi(2)).exp()).collect();
    let sum = 2.0 * half.iter().sum::<f64>() - 1.0;
    half.into_iter().map(|value| (value / sum) as f32).collect()
}

/// The index that stands for one beyond the ends: `d c b a | a b c d | d c b a`.
fn mirrored(at: i64, count: usize) -> usize {
    let count = count as i64;
    let at = at.rem_euclid(2 * count);
    (if at < count { at } else { 2 * count - 1 - at }) as usize
}

fn add(out: &mut [f32], values: &[f32], weight: f32) {
    out.iter_mut().zip(values).for_each(|(out, value)| *out += weight * value);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn disc(grid: &Grid, centre: Point, radius: f64) -> Vec<bool> {
        (0..grid.len()).map(|at| grid.centre(at).distance(centre) < radius).collect()
    }

    fn area(line: &[Point]) -> f64 {
        let next = line.iter().cycle().skip(1);
        0.5 * line.iter().zip(next).map(|(a, b)| a.to_vec2().cross(b.to_vec2())).sum::<f64>()
    }

    #[test]
    fn sets_and_lines_lead_to_each_other() {
        let grid = Grid::over(Rect::new(-3.0, 5.0, 17.0, 21.0), 0.25);
        let centre = Point::new(6.0, 12.0);
        let mut set = disc(&grid, centre, 5.0);
        let line = grid.edge(&set);
        // Cutting every corner of the squares takes an eighth of a square at each.
        let counted = set.iter().filter(|inside| **inside).count() as f64 * grid.step.powi(2);
        assert!((area(&line) - counted).abs() < 0.02 * counted, "{} {counted}", area(&line));
        let again = grid.inside(&line);
        assert_eq!(again, set);
        let depth = grid.depth(&set);
        for (at, depth) in depth.iter().enumerate() {
            let wanted = 5.0 - grid.centre(at).distance(centre);
            assert!((f64::from(*depth) - wanted).abs() < 0.3, "{depth} {wanted}");
        }
        // A hole is filled, a speck is dropped, and so is a hair that is thinner than the disc.
        let whole = set.clone();
        for (at, is_in) in set.iter_mut().enumerate() {
            let place = grid.centre(at);
            let is_speck = place.distance(Point::new(15.0, 20.0)) < 0.8;
            let is_strand = place.x > 10.0 && (place.y - 12.0).abs() < 0.2;
            *is_in = is_speck || is_strand || *is_in && place.distance(centre) >= 1.0;
        }
        let kept = grid.part_over(&grid.opened_and_closed(&set, 0.5), &whole).expect("a part");
        let differ = kept.iter().zip(&whole).filter(|(a, b)| a != b).count();
        assert!(differ < 12, "{differ}");
        assert!(grid.part_over(&whole, &vec![false; grid.len()]).is_none());
        assert!(grid.edge(&vec![false; grid.len()]).is_empty());
    }

    #[test]
    fn two_squares_that_touch_at_a_corner_have_an_edge_each() {
        let grid = Grid { columns: 3, rows: 3, corner: Point::ORIGIN, step: 1.0 };
        let mut set = vec![false; 9];
        set[0] = true;
        set[4] = true;
        assert_eq!(grid.edge(&set).len(), 4);
    }

    #[test]
    fn blurring_keeps_the_sum_and_spreads_by_its_deviation() {
        let grid = Grid { columns: 61, rows: 41, corner: Point::ORIGIN, step: 0.5 };
        let mut values = vec![0.0; grid.len()];
        values[20 * 61 + 30] = 1.0;
        let blurred = grid.blurred(&values, 1.5);
        let sum: f32 = blurred.iter().sum();
        assert!((sum - 1.0).abs() < 1e-5, "{sum}");
        let middle = grid.centre(20 * 61 + 30);
        let spread: f64 = blurred
            .iter()
            .enumerate()
            .map(|(at, value)| f64::from(*value) * (grid.centre(at).x - middle.x).powi(2))
            .sum();
        assert!((spread.sqrt() - 1.5).abs() < 0.01, "{}", spread.sqrt());
        let flat = grid.blurred(&vec![3.0; grid.len()], 1.5);
        assert!(flat.iter().all(|value| (value - 3.0).abs() < 1e-5));
    }
}
