//! Numbers read: the nearest `f64` of a decimal number.
//!
//! The usual fast way needs tables of ten kilobytes each that do not compress. Nearly every number of a plan
//! is settled without one: by one division, or by one division of 128 bits, both exact before they are rounded once.

use super::big::Big;

/// Powers of ten that an `f64` holds exactly.
const EXACT_TENS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];
/// Bits of an `f64`'s significand, and the largest whole number up to which all are exact.
const SIGNIFICAND_BITS: i32 = 53;
const EXACT_WHOLE: u64 = 1 << SIGNIFICAND_BITS;
/// Exponent of the smallest step of an `f64`.
const LEAST_EXPONENT: i32 = -1074;
/// Exponent at which the significand's highest bit would be too large.
const MOST_EXPONENT: i32 = 1023;

/// A number of JSON as it is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Written<'text> {
    text: &'text [u8],
    negative: bool,
    /// The digits without the point, where they fit.
    digits: Option<u64>,
    /// Power of ten that goes with all digits.
    exponent: i32,
    is_whole: bool,
}

impl<'text> Written<'text> {
    /// The number at the start of this text and its length; `None` where the grammar has none there.
    pub fn scan(text: &'text [u8]) -> Option<(Self, usize)> {
        let mut at = 0;
        let negative = text.first() == Some(&b'-');
        at += usize::from(negative);
        let first = at;
        let mut digits = Some(0_u64);
        let mut run = |at: &mut usize| {
            let start = *at;
            while let Some(digit) =
                text.get(*at).map(|byte| byte.wrapping_sub(b'0')).filter(|digit| *digit < 10)
            {
                digits = digits.and_then(|sum| sum.checked_mul(10)?.checked_add(u64::from(digit)));
                *at += 1;
            }
            *at - start
        };
        let whole = run(&mut at);
        if whole == 0 || (whole > 1 && text.get(first) == Some(&b'0')) {
            return None;
        }
        let mut exponent = 0;
        let mut is_whole = true;
        if text.get(at) == Some(&b'.') {
            at += 1;
            let decimals = run(&mut at);
            if decimals == 0 {
                return None;
            }
            // A text is far shorter than this can count.
            exponent = -i32::try_from(decimals).ok()?;
            is_whole = false;
        }
        let end_of_digits = at;
        if matches!(text.get(at), Some(b'e' | b'E')) {
            at += 1;
            let is_below = text.get(at) == Some(&b'-');
            at += usize::from(matches!(text.get(at), Some(b'+' | b'-')));
            let start = at;
            let mut power = 0_i32;
            while let Some(digit) = text.get(at).filter(|byte| byte.is_ascii_digit()) {
                power = power.saturating_mul(10).saturating_add(i32::from(digit - b'0'));
                at += 1;
            }
            if at == start {
                return None;
            }
            exponent = exponent.saturating_add(if is_below { -power } else { power });
            is_whole = false;
        }
        let text = text.get(first..end_of_digits)?;
        Some((Written { text, negative, digits, exponent, is_whole }, at))
    }

    /// The nearest `f64` of `digits · 10^exponent`, as [`value`](Self::value).
    pub(super) fn of(digits: u64, exponent: i32) -> Option<f64> {
        if let Some(size) = quick(digits, exponent) {
            return Some(size);
        }
        let text = digits.to_string();
        let text = text.as_bytes();
        Written { text, negative: false, digits: Some(digits), exponent, is_whole: false }.value()
    }

    /// The whole number: its size, and whether it is below zero. `None` with point or exponent, or beyond 64 bits.
    pub fn whole(&self) -> Option<(u64, bool)> {
        self.digits.filter(|_| self.is_whole).map(|digits| (digits, self.negative))
    }

    /// The nearest `f64`, ties to even; `None` where it would be infinite.
    pub fn value(&self) -> Option<f64> {
        let size = match self.digits {
            Some(0) => Some(0.0),
            Some(digits) => quick(digits, self.exponent).or_else(|| self.exact()),
            None => self.exact(),
        }?;
        Some(if self.negative { -size } else { size })
    }

    /// The long way, for very many digits and very large or small numbers.
    fn exact(&self) -> Option<f64> {
        /// A number half-way between two `f64` has at most 767 digits, so that whatever comes later only says "more".
        const DIGITS: usize = 800;
        let all = || {
            self.text
                .iter()
                .filter(|byte| **byte != b'.')
                .map(|byte| byte - b'0')
                .skip_while(|digit| *digit == 0)
        };
        let count = all().count();
        let kept = count.min(DIGITS);
        let is_cut = all().skip(DIGITS).any(|digit| digit != 0);
        let exponent = self.exponent.saturating_add((count - kept) as i32);
        // The number is below 10^top, and not below 10^(top − 1).
        let top = exponent.saturating_add(kept as i32);
        if top > 310 {
            return None;
        }
        if count == 0 || top < -330 {
            return Some(0.0);
        }
        let mut numerator = Big::from_decimal(all().take(kept));
        let mut denominator = Big::power_of_ten(exponent.min(0).unsigned_abs());
        if exponent > 0 {
            numerator = Big::from_decimal(all().take(kept).chain(std::iter::repeat_n(0, exponent as usize)));
        }
        // Brings the quotient to 64 or 65 bits, then finds it bit by bit.
        let up = 64 - (numerator.bits() - denominator.bits());
        numerator = numerator.shifted(up.max(0).unsigned_abs());
        denominator = denominator.shifted(up.min(0).unsigned_abs() + 65);
        let mut quotient = 0_u128;
        for _ in 0..66 {
            quotient = (quotient << 1) | u128::from(numerator.take(&denominator));
            numerator.double();
        }
        rounded(quotient, is_cut || !numerator.is_zero(), -up)
    }
}

/// `digits · 10^exponent` where that is no long way; `None` says nothing of the number.
fn quick(digits: u64, exponent: i32) -> Option<f64> {
    let below = exponent.unsigned_abs();
    if digits <= EXACT_WHOLE
        && let Some(&tens) = EXACT_TENS.get(below as usize)
    {
        // Both are exact, so the one rounding is the right one (Clinger, PLDI 1990).
        return Some(if exponent < 0 { digits as f64 / tens } else { digits as f64 * tens });
    }
    // Up to here a power of five fits into 64 bits.
    if digits == 0 || exponent >= 0 || below > 27 {
        return None;
    }
    let up = 64 + digits.leading_zeros();
    let numerator = u128::from(digits) << up;
    let denominator = u128::from(5_u64.pow(below));
    let quotient = numerator / denominator;
    let rest = numerator - quotient * denominator;
    rounded(quotient, rest != 0, -(up as i32) - below as i32)
}

/// `whole · 2^exponent`, and a little more where `is_more`, as the nearest `f64`. `whole` has more than 53 bits.
fn rounded(whole: u128, is_more: bool, exponent: i32) -> Option<f64> {
    let bits = 128 - whole.leading_zeros() as i32;
    // Numbers below the normal ones have fewer bits.
    let drop = (bits - SIGNIFICAND_BITS).max(LEAST_EXPONENT - exponent);
    if drop > bits {
        // Less than half of the smallest step.
        return Some(0.0);
    }
    // Bits 53 and down go to `kept`; `drop` is at least 1, and at most 128.
    let kept = whole.checked_shr(drop as u32).unwrap_or(0) as u64;
    let half = 1_u128 << (drop - 1);
    let rest = whole & (half | (half - 1));
    let is_up = rest > half || (rest == half && (is_more || kept & 1 == 1));
    let significand = kept + u64::from(is_up);
    let mut exponent = exponent + drop;
    let mut significand_bits = significand;
    if significand == EXACT_WHOLE {
        significand_bits /= 2;
        exponent += 1;
    }
    if significand_bits < EXACT_WHOLE / 2 {
        // Below the normal numbers the bits are the number.
        return Some(f64::from_bits(significand_bits));
    }
    let top = exponent + SIGNIFICAND_BITS - 1;
    if top > MOST_EXPONENT {
        return None;
    }
    let biased = u64::from((top + MOST_EXPONENT).unsigned_abs());
    Some(f64::from_bits((biased << (SIGNIFICAND_BITS - 1)) | (significand_bits & (EXACT_WHOLE / 2 - 1))))
}
