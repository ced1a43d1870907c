//! Millimetres from pixels: every source of scale by itself, and all of them together.
//!
//! Scales are handled as natural logarithms, so that a relative error is a plain error and "half" and "double" are
//! equally far off.

use crate::landmark::Landmark;

/// Mean visible iris width (white to white), mm. Rüfer, Schröder & Erb, Cornea 2005;24:259: 11.71 ± 0.42 in 390
/// adults; the model study on the Face Research Lab London Set used 11.7.
pub const IRIS_WIDTH_MM: f64 = 11.7;
/// SD of the iris width among adults, mm. Same source. It is 3.6 % of the mean, so ±7 % with 95 % confidence.
pub const IRIS_WIDTH_SD_MM: f64 = 0.42;
/// 1 SD of a ruler's or sticker's own length, mm: the largest permissible error of a class II length measure
/// (0.3 mm for short lengths; Directive 2014/32/EU, annex MI-008, from memory) taken as uniform, so divided by √3.
pub const RULER_SD_MM: f64 = 0.17;
/// Sources further apart than this (in ln), beyond three of their standard deviations, cannot both be meant: one of
/// the numbers was mistyped or belongs to other points. 0.2 is a fifth; our choice.
const REFUSED_LN: f64 = 0.2;
/// How many standard deviations a disagreement may have before it counts (both for the flag and for refusal).
const DISAGREE_SD: f64 = 3.0;

/// A distance between two landmarks as taken with calipers on the face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CaliperScale {
    /// One end.
    pub from: Landmark,
    /// Other end.
    pub to: Landmark,
    /// Distance, mm.
    pub mm: f64,
}

/// Where a scale comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ScaleKind {
    /// A ruler or sticker of known length in the photo.
    Ruler,
    /// A caliper distance between two landmarks.
    Caliper {
        /// One end.
        from: Landmark,
        /// Other end.
        to: Landmark,
    },
    /// The visible iris width, by the population mean.
    Iris,
}

impl ScaleKind {
    /// The name in files and messages: `ruler`, `iris` or `caliper:FROM:TO`.
    #[must_use]
    pub fn id(self) -> String {
        match self {
            ScaleKind::Ruler => "ruler".into(),
            ScaleKind::Iris => "iris".into(),
            ScaleKind::Caliper { from, to } => format!("caliper:{}:{}", from.id(), to.id()),
        }
    }
}

/// One scale source by itself, and against the rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScaleSource {
    /// Where it comes from.
    pub kind: ScaleKind,
    /// Scale by this source alone, px per mm.
    pub px_per_mm: f64,
    /// 1 SD of its ln, all causes: placing the points, reading the instrument, the population.
    pub sd_ln: f64,
    /// ln of this source − ln of the combined scale.
    pub residual_ln: f64,
    /// Its share in the combined scale, 0 to 1.
    pub weight: f64,
}

/// A source before it is combined.
#[derive(Clone, Copy, Debug)]
pub(crate) struct RawScale {
    pub kind: ScaleKind,
    /// ln(px per mm).
    pub ln: f64,
    /// Variance of `ln` by placing the landmarks.
    pub picking_var: f64,
    /// Variance of `ln` by everything else; independent between sources.
    pub own_var: f64,
}

/// All sources together.
#[derive(Clone, Debug)]
pub(crate) struct CombinedScale {
    pub ln: f64,
    pub sources: Vec<ScaleSource>,
    /// Factor on the SD of the combined ln, 1 or more: above 1 where the sources disagree by more than their errors
    /// explain.
    pub inflation: f64,
}

/// Why two sources cannot be combined.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Contradiction {
    pub one: ScaleKind,
    pub other: ScaleKind,
    pub ratio: f64,
}

/// Combines scale sources by inverse variance of their ln.
///
/// Where χ² of the residuals exceeds its 95 % point, the SD is inflated by √(χ²/dof) (Birge, Phys. Rev. 1932;40:207).
/// Returns `None` for no source at all.
pub(crate) fn combine(raw: &[RawScale]) -> Result<Option<CombinedScale>, Contradiction> {
    let var = |source: &RawScale| (source.picking_var + source.own_var).max(f64::MIN_POSITIVE);
    for (i, one) in raw.iter().enumerate() {
        for other in raw.iter().skip(i + 1) {
            let apart = one.ln - other.ln;
            if apart.abs() > REFUSED_LN + DISAGREE_SD * (var(one) + var(other)).sqrt() {
                return Err(Contradiction { one: one.kind, other: other.kind, ratio: apart.exp() });
            }
        }
    }
    let total: f64 = raw.iter().map(|source| 1.0 / var(source)).sum();
    if raw.is_empty() {
        return Ok(None);
    }
    let ln = raw.iter().map(|source| source.ln / var(source)).sum::<f64>() / total;
    let sources: Vec<_> = raw
        .iter()
        .map(|source| ScaleSource {
            kind: source.kind,
            px_per_mm: source.ln.exp(),
            sd_ln: var(source).sqrt(),
            residual_ln: source.ln - ln,
            weight: 1.0 / (var(source) * total),
        })
        .collect();
    let chi2: f64 = sources.iter().map(|source| (source.residual_ln / source.sd_ln).powi(2)).sum();
    #[expect(clippy::cast_precision_loss, reason = "a handful of sources")]
    let dof = (sources.len() - 1) as f64;
    let inflation = if dof > 0.0 && chi2 > chi2_95(dof) { (chi2 / dof).sqrt() } else { 1.0 };
    Ok(Some(CombinedScale { ln, sources, inflation }))
}

/// 95 % point of χ² (Wilson & Hilferty, PNAS 1931;17:684): within 3 % for 1 degree of freedom, better above.
fn chi2_95(dof: f64) -> f64 {
    const Z_95: f64 = 1.644_853_6;
    let spread = 2.0 / (9.0 * dof);
    dof * (1.0 - spread + Z_95 * spread.sqrt()).powi(3)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source(kind: ScaleKind, px_per_mm: f64, sd: f64) -> RawScale {
        RawScale { kind, ln: px_per_mm.ln(), picking_var: 0.0, own_var: sd * sd }
    }

    #[test]
    fn no_source_gives_none() {
        assert!(combine(&[]).is_ok_and(|combined| combined.is_none()));
    }

    #[test]
    fn the_better_source_weighs_by_inverse_variance() {
        let combined = combine(&[source(ScaleKind::Ruler, 3.0, 0.01), source(ScaleKind::Iris, 3.1, 0.04)]);
        let combined = combined.ok().flatten().expect("two sources combine");
        // By hand: weights 16:1.
        let expected = (16.0 * 3.0_f64.ln() + 3.1_f64.ln()) / 17.0;
        assert!((combined.ln - expected).abs() < 1e-12);
        assert!((combined.sources[0].weight - 16.0 / 17.0).abs() < 1e-12);
        assert!((combined.inflation - 1.0).abs() < 1e-12, "0.8 SD apart is no disagreement");
    }

    #[test]
    fn disagreement_inflates_and_contradiction_is_refused() {
        let mild = combine(&[source(ScaleKind::Ruler, 3.0, 0.01), source(ScaleKind::Iris, 3.3, 0.02)]);
        let mild = mild.ok().flatten().expect("mild disagreement combines");
        // χ² = (ln 1.1)² / (0.01² + 0.02²) = 18.2 on one degree of freedom.
        let chi2 = 1.1_f64.ln().powi(2) / (0.01_f64.powi(2) + 0.02_f64.powi(2));
        assert!((mild.inflation - chi2.sqrt()).abs() < 1e-9);
        let wild = combine(&[source(ScaleKind::Ruler, 3.0, 0.01), source(ScaleKind::Iris, 6.0, 0.04)]);
        assert!(wild.is_err_and(|error| (error.ratio - 0.5).abs() < 1e-12));
    }

    #[test]
    fn chi2_points_match_tables() {
        // 95 % points for 1, 2, 5, 10 degrees of freedom (any table of χ²).
        for (dof, expected) in [(1.0, 3.841), (2.0, 5.991), (5.0, 11.070), (10.0, 18.307)] {
            assert!((chi2_95(dof) / expected - 1.0).abs() < 0.03, "{dof}: {}", chi2_95(dof));
        }
    }
}
