//! Numbers written down: the shortest decimal number that is read as exactly this one, and numbers with a fixed count of decimals.
//!
//! The standard library does both, with more code than the rest of JSON takes here, and a long way of its own for what is seldom. Here the seldom
//! takes the long way that reading has already.

use std::cmp::Ordering;
use std::fmt::Write;

use super::big::Big;
use super::number::Written;

/// Digits that are always enough to tell an `f64` from its neighbours, and those that it always keeps where it is not below the normal ones.
const ENOUGH_DIGITS: u32 = 17;
const KEPT_DIGITS: u32 = 15;
/// Bits of the significand that are written down, and what is added to the exponent there.
const STORED_BITS: u32 = 52;
const BIAS: i32 = 1075;

/// A decimal number: digits of which the last is not 0, and the power of ten of the first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decimal {
    pub digits: u64,
    pub exponent: i32,
}

/// Which of two equally near numbers is taken.
#[derive(Clone, Copy, PartialEq)]
pub enum Tie {
    /// The larger, as the standard library does.
    Up,
    /// The one with the even last digit, as RFC 8785 has it.
    Even,
}

/// A positive number as `whole · 2^exponent`.
fn parted(size: f64) -> (u64, i32) {
    let bits = size.to_bits();
    let stored = bits & ((1 << STORED_BITS) - 1);
    match ((bits >> STORED_BITS) & 0x7ff) as i32 {
        0 => (stored, 1 - BIAS),
        biased => (stored | 1 << STORED_BITS, biased - BIAS),
    }
}

/// `whole · 2^two · 10^ten`, rounded down, how the rest compares with a half, and whether there is one. The result has to fit into 64 bits.
fn cut(whole: u64, two: i32, ten: i32) -> (u64, Ordering, bool) {
    /// Powers of ten up to here have at most 74 bits, which a significand leaves.
    const TENS: i32 = 22;
    let wide = u128::from(whole);
    if (0..=TENS).contains(&ten) && (-127..=0).contains(&two) {
        let number = wide * 10_u128.pow(ten.unsigned_abs());
        let quotient = number >> two.unsigned_abs();
        let rest = number - (quotient << two.unsigned_abs());
        return (quotient as u64, (rest << 1).cmp(&(1 << two.unsigned_abs())), rest != 0);
    }
    let digits = whole.to_string();
    let digits = digits.bytes().map(|digit| digit - b'0');
    let zeros = std::iter::repeat_n(0, ten.max(0).unsigned_abs() as usize);
    let mut number = Big::from_decimal(digits.chain(zeros)).shifted(two.max(0).unsigned_abs());
    let divisor = Big::power_of_ten(ten.min(0).unsigned_abs()).shifted(two.min(0).unsigned_abs() + 63);
    let mut quotient = 0_u64;
    for _ in 0..64 {
        quotient = (quotient << 1) | u64::from(number.take(&divisor));
        number.double();
    }
    let has_rest = !number.is_zero();
    let is_half = number.take(&divisor);
    let order = match (is_half, number.is_zero()) {
        (true, true) => Ordering::Equal,
        (true, false) => Ordering::Greater,
        (false, _) => Ordering::Less,
    };
    (quotient, order, has_rest)
}

/// The shortest decimal number that is read as this positive finite one; of those the nearest.
pub fn shortest(size: f64, tie: Tie) -> Decimal {
    let (whole, two) = parted(size);
    let most = 10_u64.pow(ENOUGH_DIGITS);
    // The logarithm from the highest bit, at most one too small.
    let top = two + 63 - whole.leading_zeros() as i32;
    let mut exponent = (f64::from(top) * std::f64::consts::LOG10_2).floor() as i32;
    let of = |exponent: i32| cut(whole, two, ENOUGH_DIGITS as i32 - 1 - exponent);
    let (mut all, mut order, mut has_rest) = of(exponent);
    if all >= most {
        exponent += 1;
        (all, order, has_rest) = of(exponent);
    }
    let first = if size < f64::MIN_POSITIVE { 1 } else { KEPT_DIGITS };
    for count in first..=ENOUGH_DIGITS {
        let unit = 10_u64.pow(ENOUGH_DIGITS - count);
        let (low, rest) = (all / unit, all % unit);
        let order = match (rest * 2).cmp(&unit) {
            _ if unit == 1 => order,
            Ordering::Equal if has_rest => Ordering::Greater,
            order => order,
        };
        let is_up = match order {
            Ordering::Less => false,
            Ordering::Greater => true,
            Ordering::Equal => tie == Tie::Up || low % 2 == 1,
        };
        for digits in [low + u64::from(is_up), low + u64::from(!is_up)] {
            if Written::of(digits, exponent + 1 - count as i32) == Some(size) {
                return without_zeros(digits, exponent + 1 - count as i32);
            }
        }
    }
    // Seventeen digits always tell.
    without_zeros(all, exponent + 1 - ENOUGH_DIGITS as i32)
}

/// The same number without zeros at the end; `last` is the power of ten of the last digit.
fn without_zeros(mut digits: u64, last: i32) -> Decimal {
    let mut exponent = last;
    while digits > 0 && digits.is_multiple_of(10) {
        digits /= 10;
        exponent += 1;
    }
    Decimal { digits, exponent: exponent + digits.checked_ilog10().unwrap_or(0) as i32 }
}

impl Decimal {
    /// Writes it with as many zeros as it takes, without an exponent; no point where nothing is behind it.
    pub fn write_plain(self, out: &mut String) {
        let digits = self.digits.to_string();
        let zeros = |many: usize| std::iter::repeat_n('0', many);
        if self.exponent < 0 {
            out.push_str("0.");
            out.extend(zeros(self.exponent.unsigned_abs() as usize - 1));
            out.push_str(&digits);
            return;
        }
        let before = self.exponent.unsigned_abs() as usize + 1;
        match digits.split_at_checked(before) {
            Some((whole, rest)) => {
                out.push_str(whole);
                if !rest.is_empty() {
                    out.push('.');
                    out.push_str(rest);
                }
            }
            None => {
                out.push_str(&digits);
                out.extend(zeros(before - digits.len()));
            }
        }
    }

    /// Writes its digits with the point behind the first, if there are more, without the exponent.
    pub fn write_digits(self, out: &mut String) {
        Decimal { exponent: 0, ..self }.write_plain(out);
    }
}

/// Decimals that most numbers of a plan get by with.
const DECIMALS: usize = 4;
const SCALE: f64 = 1e4;

/// A number of up to 15 digits that was multiplied by [`SCALE`]. A plan has hundreds, written at every frame of a drag.
fn write_scaled(out: &mut String, mut scaled: u64) {
    let mut digits = [b'0'; 16];
    // One decimal stays, so that a number that may have decimals looks like one.
    let mut end = digits.len();
    let mut decimals = DECIMALS;
    while decimals > 1 && scaled.is_multiple_of(10) {
        scaled /= 10;
        decimals -= 1;
    }
    let point = digits.len() - decimals;
    for digit in digits.iter_mut().rev() {
        *digit += (scaled % 10) as u8;
        scaled /= 10;
        end -= 1;
        if scaled == 0 && end < point {
            break;
        }
    }
    for (at, digit) in digits.iter().enumerate().skip(end) {
        if at == point {
            out.push('.');
        }
        out.push(char::from(*digit));
    }
}

/// The shortest decimal number that is read as exactly this one, with a point or an exponent; `null` where it is not finite.
pub fn write_number(out: &mut String, value: f64) {
    /// Numbers of up to 15 digits are told apart by an `f64`, so one that gives the value back is the only such one.
    const FIFTEEN_DIGITS: f64 = 1e15;
    /// Powers of ten that are written without an exponent, as the standard library does.
    const PLAIN: std::ops::Range<i32> = -4..16;
    if !value.is_finite() {
        out.push_str("null");
        return;
    }
    if value.is_sign_negative() {
        out.push('-');
    }
    let size = value.abs();
    let scaled = (size * SCALE).round();
    if scaled < FIFTEEN_DIGITS && scaled / SCALE == size {
        write_scaled(out, scaled as u64);
        return;
    }
    let decimal = shortest(size, Tie::Up);
    if PLAIN.contains(&decimal.exponent) {
        let start = out.len();
        decimal.write_plain(out);
        if !out.get(start..).unwrap_or_default().contains('.') {
            out.push_str(".0");
        }
    } else {
        decimal.write_digits(out);
        let _ = write!(out, "e{}", decimal.exponent);
    }
}

/// The number with exactly so many decimals, at most 9, rounded as the standard library does: the nearest, and of two equally near ones the even one.
/// Of a number beyond 64 bits the first 17 digits count. What is no finite number is written as `NaN`, `inf` or `-inf`.
#[must_use]
pub fn fixed(value: f64, decimals: usize) -> String {
    if value.is_nan() {
        return "NaN".into();
    }
    let mut out = String::new();
    if value.is_sign_negative() {
        out.push('-');
    }
    let size = value.abs();
    if size.is_infinite() {
        out.push_str("inf");
        return out;
    }
    let decimals = decimals.min(9);
    let scale = 10_u64.pow(decimals as u32);
    /// Below 2^64 with every scale.
    const MOST: f64 = 1e19;
    if size * scale as f64 >= MOST {
        shortest(size, Tie::Even).write_plain(&mut out);
        if decimals > 0 {
            let (_, after) = out.split_once('.').unwrap_or((&out, ""));
            let missing = decimals.saturating_sub(after.len());
            if !out.contains('.') {
                out.push('.');
            }
            out.extend(std::iter::repeat_n('0', missing));
        }
        return out;
    }
    let (whole, two) = parted(size);
    let (below, order, _) = cut(whole, two, decimals as i32);
    let is_up = order == Ordering::Greater || (order == Ordering::Equal && below % 2 == 1);
    let scaled = below + u64::from(is_up);
    out.push_str(&(scaled / scale).to_string());
    if decimals > 0 {
        let _ = write!(out, ".{:0decimals$}", scaled % scale);
    }
    out
}
