//! The normal distribution, with the same bits on every machine.

use std::sync::LazyLock;

/// Quantile of the standard normal distribution.
///
/// Wichura, Algorithm AS 241 (PPND16), Applied Statistics 37 (1988) 477–484; relative error below 1e-15 for
/// `0 < u < 1`. Own copy because the general libraries use the machine's logarithm, which differs in the last bit.
pub fn normal_quantile(u: f64) -> f64 {
    let q = u - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        return q * ratio(&CENTRE, r);
    }
    let r = libm::sqrt(-libm::log(if q < 0.0 { u } else { 1.0 - u }));
    let x = if r <= 5.0 { ratio(&MIDDLE, r - 1.6) } else { ratio(&FAR, r - 5.0) };
    if q < 0.0 { -x } else { x }
}

fn ratio(c: &[[f64; 8]; 2], r: f64) -> f64 {
    let poly = |p: &[f64; 8]| p.iter().rev().fold(0.0, |sum, k| sum * r + k);
    poly(&c[0]) / poly(&c[1])
}

/// The same from a table of polynomials, for drawing: within 1e-9 of [`normal_quantile`], several times as fast, and
/// without branches, so that draws run side by side.
#[derive(Debug)]
pub struct Quantile {
    /// Coefficients by the exponent and the leading bits of the smaller tail.
    pieces: [[f64; DEGREE + 1]; PIECES],
}

const DEGREE: usize = 4;
/// Pieces of an octave: leading bits of the mantissa.
const PIECE_BITS: u32 = 4;
/// Octaves below one half; smaller tails than the last are taken for its end. A coordinate of 32 bits has no smaller.
const OCTAVES: u64 = 40;
/// One more for a tail of exactly one half.
const PIECES: usize = (OCTAVES << PIECE_BITS) as usize + 1;
const FIRST: u64 = (1023 - 1 - OCTAVES) << PIECE_BITS;
const MANTISSA: u64 = (1 << (52 - PIECE_BITS)) - 1;

impl Quantile {
    /// The table, made once.
    pub fn table() -> &'static Self {
        static TABLE: LazyLock<Quantile> = LazyLock::new(Quantile::new);
        &TABLE
    }

    fn new() -> Self {
        let pieces = core::array::from_fn(|i| {
            let i = i as u64;
            let low = f64::from_bits((FIRST + i) << (52 - PIECE_BITS));
            let high = f64::from_bits((FIRST + i + 1) << (52 - PIECE_BITS));
            // Newton's differences over Chebyshev's nodes, turned into powers of the place within the piece.
            let nodes: [f64; DEGREE + 1] = core::array::from_fn(|k| {
                let angle = core::f64::consts::PI * (2 * k + 1) as f64 / (2 * DEGREE + 2) as f64;
                0.5 + 0.5 * libm::cos(angle)
            });
            let mut d = nodes.map(|t| normal_quantile(low + t * (high - low)));
            for order in 1..=DEGREE {
                for k in (order..=DEGREE).rev() {
                    d[k] = (d[k] - d[k - 1]) / (nodes[k] - nodes[k - order]);
                }
            }
            let mut powers = [0.0; DEGREE + 1];
            for k in (0..=DEGREE).rev() {
                for p in (1..=DEGREE).rev() {
                    powers[p] = powers[p - 1] - nodes[k] * powers[p];
                }
                powers[0] = d[k] - nodes[k] * powers[0];
            }
            powers
        });
        Self { pieces }
    }

    /// Quantile of the standard normal distribution for `0 < u < 1`.
    #[inline(always)]
    pub fn at(&self, u: f64) -> f64 {
        let tail = u.min(1.0 - u).max(f64::from_bits(FIRST << (52 - PIECE_BITS)));
        let bits = tail.to_bits();
        let piece = &self.pieces[((bits >> (52 - PIECE_BITS)) - FIRST) as usize];
        // The bits below the piece's, as a number from 0 to 1.
        let t = f64::from_bits(1023 << 52 | (bits & MANTISSA) << PIECE_BITS) - 1.0;
        let z = piece.iter().rev().fold(0.0, |sum, c| sum * t + c);
        z.copysign(u - 0.5)
    }
}

/// Share of the standard normal distribution below `z`.
pub fn normal_share(z: f64) -> f64 {
    0.5 * libm::erfc(-z * core::f64::consts::FRAC_1_SQRT_2)
}

const CENTRE: [[f64; 8]; 2] = [
    [
        3.387_132_872_796_366_608,
        133.141_667_891_784_377_45,
        1_971.590_950_306_551_442_7,
        13_731.693_765_509_461_125,
        45_921.953_931_549_871_457,
        67_265.770_927_008_700_853,
        33_430.575_583_588_128_105,
        2_509.080_928_730_122_672_7,
    ],
    [
        1.0,
        42.313_330_701_600_911_252,
        687.187_007_492_057_908_3,
        5_394.196_021_424_751_107_7,
        21_213.794_301_586_595_867,
        39_307.895_800_092_710_61,
        28_729.085_735_721_942_674,
        5_226.495_278_852_854_561,
    ],
];
const MIDDLE: [[f64; 8]; 2] = [
    [
        1.423_437_110_749_683_577_34,
        4.630_337_846_156_545_295_9,
        5.769_497_221_460_691_405_5,
        3.647_848_324_763_204_605_04,
        1.270_458_252_452_368_382_58,
        0.241_780_725_177_450_611_77,
        0.022_723_844_989_269_184_583_3,
        7.745_450_142_783_414_076_4e-4,
    ],
    [
        1.0,
        2.053_191_626_637_758_821_87,
        1.676_384_830_183_803_849_4,
        0.689_767_334_985_100_004_55,
        0.148_103_976_427_480_074_59,
        0.015_198_666_563_616_457_196_6,
        5.475_938_084_995_344_946e-4,
        1.050_750_071_644_416_843_24e-9,
    ],
];
const FAR: [[f64; 8]; 2] = [
    [
        6.657_904_643_501_103_777_2,
        5.463_784_911_164_114_369_9,
        1.784_826_539_917_291_335_8,
        0.296_560_571_828_504_891_23,
        0.026_532_189_526_576_123_093,
        1.242_660_947_388_078_438_6e-3,
        2.711_555_568_743_487_578_15e-5,
        2.010_334_399_292_288_132_65e-7,
    ],
    [
        1.0,
        0.599_832_206_555_887_937_69,
        0.136_929_880_922_735_805_31,
        0.014_875_361_290_850_615_025_5,
        7.868_691_311_456_132_591e-4,
        1.846_318_317_510_054_681_8e-5,
        1.421_511_758_316_445_888_7e-7,
        2.044_263_103_389_939_785_64e-15,
    ],
];

#[cfg(test)]
mod tests {
    use super::{Quantile, normal_quantile};

    /// Against AS 241, across the octaves of both tails and down to the smallest coordinate that is drawn.
    #[test]
    fn table_follows_the_exact_quantile() {
        let table = Quantile::table();
        let mut worst = 0.0_f64;
        for k in 0..400_000 {
            let tail = 0.5 * libm::exp2(-32.0 * f64::from(k) / 400_000.0);
            for u in [tail, 1.0 - tail] {
                worst = worst.max((table.at(u) - normal_quantile(u)).abs());
            }
        }
        assert!(worst < 1e-9, "{worst:e}");
        assert!(table.at(0.5).abs() < 1e-9);
        assert!(table.at(1e-300).is_finite() && table.at(1.0 - f64::EPSILON / 2.0).is_finite());
    }
}
