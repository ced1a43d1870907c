//! Whole numbers of any size, as few operations as the reading of a number needs.

use std::cmp::Ordering;

/// Little-endian digits of 32 bits, the last one not 0.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Big(Vec<u32>);

impl Big {
    /// The number that these decimal digits write.
    pub fn from_decimal(digits: impl Iterator<Item = u8>) -> Self {
        let mut big = Big::default();
        digits.for_each(|digit| big.multiply_add(10, u32::from(digit)));
        big
    }

    /// Ten to this power.
    pub fn power_of_ten(exponent: u32) -> Self {
        let mut big = Big(vec![1]);
        (0..exponent).for_each(|_| big.multiply_add(10, 0));
        big
    }

    fn multiply_add(&mut self, factor: u32, summand: u32) {
        let mut carry = u64::from(summand);
        for digit in &mut self.0 {
            let product = u64::from(*digit) * u64::from(factor) + carry;
            *digit = (product & 0xffff_ffff) as u32;
            carry = product >> 32;
        }
        if carry > 0 {
            self.0.push(carry as u32);
        }
    }

    /// Bits from the highest that is set.
    pub fn bits(&self) -> i32 {
        self.0.last().map_or(0, |top| 32 * self.0.len() as i32 - top.leading_zeros() as i32)
    }

    pub fn is_zero(&self) -> bool {
        self.0.is_empty()
    }

    /// Doubled so many times.
    pub fn shifted(mut self, bits: u32) -> Self {
        if self.is_zero() {
            return self;
        }
        for _ in 0..bits % 32 {
            self.double();
        }
        let mut digits = vec![0; bits as usize / 32];
        digits.append(&mut self.0);
        Big(digits)
    }

    pub fn double(&mut self) {
        let mut carry = 0;
        for digit in &mut self.0 {
            let high = *digit >> 31;
            *digit = (*digit << 1) | carry;
            carry = high;
        }
        if carry > 0 {
            self.0.push(carry);
        }
    }

    /// Takes the other number off where it is not larger; says whether it did.
    pub fn take(&mut self, other: &Big) -> bool {
        if self.compare(other) == Ordering::Less {
            return false;
        }
        let mut borrow = false;
        let others = other.0.iter().copied().chain(std::iter::repeat(0));
        for (digit, other) in self.0.iter_mut().zip(others) {
            let (difference, below) = digit.overflowing_sub(other);
            let (difference, again) = difference.overflowing_sub(u32::from(borrow));
            *digit = difference;
            borrow = below || again;
        }
        while self.0.last() == Some(&0) {
            self.0.pop();
        }
        true
    }

    fn compare(&self, other: &Big) -> Ordering {
        self.0.len().cmp(&other.0.len()).then_with(|| self.0.iter().rev().cmp(other.0.iter().rev()))
    }
}
