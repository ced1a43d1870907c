//! Half-precision numbers (IEEE 754-2019, binary16).

/// The number with these bits.
pub fn from_half(bits: u16) -> f32 {
    /// Difference of the exponents' biases, 127 − 15, and of the fractions' lengths, 23 − 10.
    const BIAS: u32 = 112;
    const SHIFT: u32 = 13;
    let sign = u32::from(bits & 0x8000) << 16;
    let exponent = u32::from(bits >> 10) & 0x1f;
    let fraction = u32::from(bits & 0x3ff);
    match exponent {
        // Zero and the numbers below the normal ones: the fraction counts in steps of 2⁻²⁴.
        0 => {
            let size = fraction as f32 * (1.0 / 16_777_216.0);
            if sign == 0 { size } else { -size }
        }
        0x1f => f32::from_bits(sign | 0x7f80_0000 | (fraction << SHIFT)),
        _ => f32::from_bits(sign | ((exponent + BIAS) << 23) | (fraction << SHIFT)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Examples of the half-precision encoding (IEEE 754 binary16; the values are from memory).
    #[test]
    fn half_is_read_as_the_standard_says() {
        for (bits, value) in [
            (0x0000, 0.0_f32),
            (0x3c00, 1.0),
            (0xc000, -2.0),
            (0x7bff, 65_504.0),
            (0x0400, 6.103_515_6e-5),
            (0x03ff, 6.097_555e-5),
            (0x0001, 5.960_464_5e-8),
            (0x3555, 0.333_251_95),
            (0x7c00, f32::INFINITY),
            (0xfc00, f32::NEG_INFINITY),
        ] {
            assert_eq!(from_half(bits).to_bits(), value.to_bits(), "{bits:04x}");
        }
        assert!(from_half(0x7e00).is_nan());
        assert!(from_half(0x8000).is_sign_negative());
    }
}
