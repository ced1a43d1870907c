//! A signature drawn with finger or pen, kept as strokes.

use crate::codes::refused;
use crate::{PlanError, field};

/// Strokes of `[x, y]` in thousandths of the field's height, x right, y down; whole numbers.
pub type Strokes = Vec<Vec<[f64; 2]>>;

/// Thousandths that a hand's line may be off before it looks like another one.
const NEAR: f64 = 4.0;
/// Shortest line that can be a signature, thousandths of the field's height: less is a dot or a slip (judgement).
const SHORTEST: f64 = 400.0;
/// Widest field, thousandths of its height.
const WIDEST: f64 = 12_000.0;
const HEIGHT: f64 = 1_000.0;

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

fn length(strokes: &[Vec<[f64; 2]>]) -> f64 {
    let along =
        |stroke: &Vec<[f64; 2]>| stroke.windows(2).map(|pair| distance(pair[0], pair[1])).sum::<f64>();
    strokes.iter().map(along).sum()
}

/// Strokes as they are kept: inside the field, whole numbers, without points that add nothing.
///
/// # Errors
/// Where it is too short to be a signature, or has numbers that are none.
pub fn cleaned(strokes: &[Vec<[f64; 2]>]) -> Result<Strokes, PlanError> {
    if strokes.iter().flatten().flatten().any(|number| !number.is_finite()) {
        return Err(PlanError::refused(refused::NOT_FINITE, "agreements.signature"));
    }
    let mut near = NEAR;
    loop {
        let kept = thinned(strokes, near);
        if kept.iter().map(Vec::len).sum::<usize>() <= field::SIGNATURE_POINTS {
            check(&kept)?;
            return Ok(kept);
        }
        // Doubling ends: no two points of the field are farther apart than its size.
        near *= 2.0;
        if near > WIDEST {
            return Err(PlanError::refused(refused::SIGNATURE_TOO_LONG, "agreements.signature"));
        }
    }
}

fn thinned(strokes: &[Vec<[f64; 2]>], near: f64) -> Strokes {
    let inside = |[x, y]: [f64; 2]| [x.round().clamp(0.0, WIDEST), y.round().clamp(0.0, HEIGHT)];
    let thin = |stroke: &Vec<[f64; 2]>| {
        let mut kept: Vec<[f64; 2]> = Vec::new();
        for (k, at) in stroke.iter().copied().map(inside).enumerate() {
            let is_end = k == 0 || k + 1 == stroke.len();
            if is_end || kept.last().is_none_or(|last| distance(*last, at) >= near) {
                kept.push(at);
            }
        }
        kept
    };
    strokes.iter().filter(|stroke| !stroke.is_empty()).map(thin).collect()
}

/// Checks strokes that are kept.
///
/// # Errors
/// Too many points, a place outside the field, or too short to be a signature.
pub fn check(strokes: &[Vec<[f64; 2]>]) -> Result<(), PlanError> {
    let subject = "agreements.signature";
    if strokes.iter().map(|stroke| stroke.len().max(1)).sum::<usize>() > field::SIGNATURE_POINTS {
        return Err(PlanError::refused(refused::SIGNATURE_TOO_LONG, subject));
    }
    let is_inside = |[x, y]: &[f64; 2]| (0.0..=WIDEST).contains(x) && (0.0..=HEIGHT).contains(y);
    if !strokes.iter().flatten().all(is_inside) {
        return Err(PlanError::refused(refused::NOT_FINITE, subject));
    }
    if length(strokes) < SHORTEST {
        return Err(PlanError::refused(refused::SIGNATURE_TOO_SHORT, subject));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signature_of_one_dot_is_refused() {
        for strokes in
            [vec![], vec![vec![]], vec![vec![[500.0, 500.0]]], vec![vec![[500.0, 500.0], [520.0, 510.0]]; 3]]
        {
            assert_eq!(cleaned(&strokes).unwrap_err().code, refused::SIGNATURE_TOO_SHORT.code, "{strokes:?}");
        }
        assert_eq!(cleaned(&[vec![[f64::NAN, 0.0]]]).unwrap_err().code, refused::NOT_FINITE.code);
    }

    #[test]
    fn signature_keeps_its_line_and_stays_small() {
        // Five turns of a spiral, drawn so slowly that points lie on each other.
        let spiral: Vec<[f64; 2]> = (0..60_000)
            .map(|k| {
                let turn = f64::from(k) / 60_000.0 * 31.4;
                [1_500.0 + 14.0 * turn * turn.cos(), 500.0 + 14.0 * turn * turn.sin()]
            })
            .collect();
        let kept = cleaned(std::slice::from_ref(&spiral)).unwrap();
        let points = &kept[0];
        assert!(points.len() <= field::SIGNATURE_POINTS, "{}", points.len());
        for at in spiral.iter().step_by(97) {
            let nearest = points.iter().map(|kept| distance(*kept, *at)).fold(f64::INFINITY, f64::min);
            assert!(nearest < 8.0, "{at:?} is {nearest} off");
        }
        assert_eq!(cleaned(&kept).unwrap(), kept, "cleaning again changes nothing");
    }
}
