//! Doubt: drawing all uncertain facts together, so that chances come out and not stacked worst cases.
//!
//! Facts are drawn by a Sobol sequence with a fixed random digital shift. The wrench that tightened several nuts is one
//! draw; facts that say "same surface" share theirs. Same job, same numbers, on any machine and any number of threads.

use crate::fact::{self, Distribution, Side, list};
use crate::job::Job;
use sobol::{Sobol, params::JoeKuoD6};

/// One uncertain fact and the dimension that draws it.
#[derive(Clone, Copy, Debug)]
struct Line {
    fact: usize,
    middle: f64,
    spread: Distribution,
    dimension: usize,
}

/// How the uncertain facts of a job are drawn.
#[derive(Clone, Debug)]
pub struct Draws {
    lines: Vec<Line>,
    dimensions: usize,
}

impl Draws {
    /// Plans the draws of a job.
    pub fn new(job: &Job) -> Self {
        let mut lines = Vec::new();
        let mut shared: Vec<(String, usize)> = Vec::new();
        let mut dimensions = 0;
        for (i, f) in job.facts.iter().enumerate() {
            let Some(f) = f else { continue };
            if f.spread == Distribution::Exact {
                continue;
            }
            let group = group_of(job, i);
            let known = group.as_ref().and_then(|g| shared.iter().find(|(name, _)| name == g)).map(|(_, d)| *d);
            let dimension = known.unwrap_or_else(|| {
                dimensions += 1;
                if let Some(g) = group {
                    shared.push((g, dimensions - 1));
                }
                dimensions - 1
            });
            lines.push(Line { fact: i, middle: f.value, spread: f.spread, dimension });
        }
        Self { lines, dimensions }
    }

    /// Facts drawn, with the dimension that draws each.
    pub fn facts(&self) -> impl Iterator<Item = (fact::FactId, usize)> + '_ {
        self.lines.iter().map(|l| (fact::FactId(l.fact as u16), l.dimension))
    }

    /// Number of independent draws.
    pub const fn dimensions(&self) -> usize {
        self.dimensions
    }

    /// Points of the unit cube, one after another: `count × dimensions` numbers strictly between 0 and 1.
    pub fn points(&self, count: usize) -> Vec<f64> {
        if self.dimensions == 0 {
            return Vec::new();
        }
        let params = if self.dimensions <= 100 { JoeKuoD6::minimal() } else { JoeKuoD6::standard() };
        let shifts: Vec<u64> = (0..self.dimensions as u64).map(shift).collect();
        let mut out = Vec::with_capacity(count * self.dimensions);
        for point in Sobol::<f64>::new(self.dimensions, &params).take(count) {
            for (u, s) in point.iter().zip(&shifts) {
                let bits = ((u * BITS) as u64) ^ s;
                out.push((bits as f64 + 0.5) / BITS);
            }
        }
        out
    }

    /// Writes one draw over the middle values.
    pub fn draw(&self, point: &[f64], values: &mut [f64]) {
        for l in &self.lines {
            let u = point[l.dimension];
            values[l.fact] = match l.spread {
                Distribution::Exact => l.middle,
                Distribution::Normal { sigma } => l.middle + sigma * normal_quantile(u),
                Distribution::LogNormal { sigma_ln } => l.middle * libm::exp(sigma_ln * normal_quantile(u)),
                Distribution::Uniform { low, high } => low + (high - low) * u,
            };
        }
    }
}

const BITS: f64 = (1_u64 << 52) as f64;

/// SplitMix64 of the dimension's number: the fixed digital shift.
fn shift(dimension: u64) -> u64 {
    let mut z = dimension.wrapping_add(1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    (z ^ (z >> 31)) >> 12
}

fn group_of(job: &Job, i: usize) -> Option<String> {
    let f = job.facts[i].as_ref()?;
    if job.same_surface {
        for (key, name) in
            [(list::FACE_FRICTION, "faces"), (list::THREAD_FRICTION, "threads"), (list::NUT_FRICTION, "nut faces")]
        {
            if Side::BOTH.iter().any(|s| key.of(*s).index() == i) {
                return Some(name.to_owned());
            }
        }
    }
    let tool = f.tool.as_ref()?;
    job.rack.iter().find(|t| t.id == *tool && t.shares_error).map(|t| t.id.clone())
}

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
