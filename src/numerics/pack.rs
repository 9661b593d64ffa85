//! Numbers of several cases in the registers of the processor at hand.
//!
//! A sweep through many nodes is written once, for any width of registers: it takes the lanes that
//! one register holds ([`Sight`]) from start to end, then the next ones. Products and sums are fused
//! on every machine, so the bits do not depend on it.
//!
//! Checked in: this file, and by every test of `heat`.

use std::ops::Add;
use std::ops::Div;
use std::ops::Mul;
use std::ops::Neg;
use std::ops::Sub;

use pulp::Arch;
use pulp::Simd;
use pulp::WithSimd;

use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::Lane;

/// Something done in the registers at hand.
pub trait Sweeping {
    /// Does it; inline it, and all it calls.
    fn sweep<S: Simd>(&mut self, simd: S);
}

/// Does it in the widest registers at hand.
pub fn sweep(it: &mut impl Sweeping) {
    Arch::new().dispatch(Swept(it));
}

/// Hands on the registers.
struct Swept<'a, T>(&'a mut T);

impl<T: Sweeping> WithSimd for Swept<'_, T> {
    type Output = ();
    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        self.0.sweep(simd);
    }
}

/// 1.5 · 2^52: a number to which it is added is rounded to a whole one, which then stands in the low
/// bits of the sum.
pub const ROUND: f64 = 6_755_399_441_055_744.0;

/// Which lanes are looked at: those of one register.
#[derive(Clone, Copy)]
pub struct Sight<S: Simd> {
    simd: S,
    /// Number of the register.
    register: usize,
}

/// Numbers of the lanes of a [`Sight`].
#[derive(Clone, Copy)]
pub struct Pack<S: Simd> {
    simd: S,
    numbers: S::f64s,
}

/// Yes or no for each lane of a [`Sight`].
#[derive(Clone, Copy)]
pub struct Choice<S: Simd> {
    simd: S,
    answers: S::m64s,
}

impl<S: Simd> Sight<S> {
    /// All lanes, one sight after the other.
    #[inline(always)]
    pub fn all_of(simd: S) -> impl Iterator<Item = Self> {
        (0..LANES / S::F64_LANES).map(move |register| Sight { simd, register })
    }

    /// The same number in every lane.
    #[inline(always)]
    pub fn all(self, value: f64) -> Pack<S> {
        self.with(self.simd.splat_f64s(value))
    }

    /// Reads.
    #[inline(always)]
    pub fn read(self, from: &Lane) -> Pack<S> {
        let (all, _) = S::as_simd_f64s(from);
        self.with(all[self.register])
    }

    /// Writes.
    #[inline(always)]
    pub fn write(self, to: &mut Lane, value: Pack<S>) {
        let (all, _) = S::as_mut_simd_f64s(to);
        all[self.register] = value.numbers;
    }

    #[inline(always)]
    fn with(self, numbers: S::f64s) -> Pack<S> {
        Pack {
            simd: self.simd,
            numbers,
        }
    }

    /// The numbers at the first places of an array, as many as there are lanes.
    #[inline(always)]
    pub fn of(self, numbers: &Lane) -> Pack<S> {
        let (all, _) = S::as_simd_f64s(numbers);
        self.with(all[0])
    }

    /// First and second numbers of the pairs that each lane of the register has: pairs are read as
    /// wholes, which halves the loads.
    #[inline(always)]
    pub fn pairs(self, of: impl Fn(usize) -> [f64; 2]) -> [Pack<S>; 2] {
        // What takes them apart expects the even lanes in one register, the odd ones in the other.
        let mut pairs = [[0.0; 2]; LANES];
        let half = S::F64_LANES.div_ceil(2);
        for l in 0..S::F64_LANES {
            pairs[l / 2 + l % 2 * half] = of(l);
        }
        let (all, _) = S::as_simd_f64s(pairs.as_flattened());
        self.simd
            .deinterleave_shfl_f64s([all[0], all[1]])
            .map(|numbers| self.with(numbers))
    }
}

impl<S: Simd> Pack<S> {
    /// `self · factor + summand`, rounded once.
    #[inline(always)]
    pub fn times_plus(self, factor: Self, summand: Self) -> Self {
        self.with(
            self.simd
                .mul_add_f64s(self.numbers, factor.numbers, summand.numbers),
        )
    }

    /// `base − self · factor`, rounded once.
    #[inline(always)]
    pub fn times_from(self, factor: Self, base: Self) -> Self {
        self.with(
            self.simd
                .negate_mul_add_f64s(self.numbers, factor.numbers, base.numbers),
        )
    }

    /// The larger; the other where this is not a number.
    #[inline(always)]
    pub fn max(self, other: Self) -> Self {
        self.with(self.simd.max_f64s(self.numbers, other.numbers))
    }

    /// The smaller; the other where this is not a number.
    #[inline(always)]
    pub fn min(self, other: Self) -> Self {
        self.with(self.simd.min_f64s(self.numbers, other.numbers))
    }

    /// Without sign.
    #[inline(always)]
    pub fn abs(self) -> Self {
        self.with(self.simd.abs_f64s(self.numbers))
    }

    /// Square root.
    #[inline(always)]
    pub fn sqrt(self) -> Self {
        self.with(self.simd.sqrt_f64s(self.numbers))
    }

    /// Where it is the other.
    #[inline(always)]
    pub fn equals(self, other: Self) -> Choice<S> {
        Choice {
            simd: self.simd,
            answers: self.simd.equal_f64s(self.numbers, other.numbers),
        }
    }

    /// Where it is less than the other.
    #[inline(always)]
    pub fn below(self, other: Self) -> Choice<S> {
        Choice {
            simd: self.simd,
            answers: self.simd.less_than_f64s(self.numbers, other.numbers),
        }
    }

    /// Where it is no more than the other.
    #[inline(always)]
    pub fn at_most(self, other: Self) -> Choice<S> {
        Choice {
            simd: self.simd,
            answers: self
                .simd
                .less_than_or_equal_f64s(self.numbers, other.numbers),
        }
    }

    #[inline(always)]
    fn with(self, numbers: S::f64s) -> Self {
        Pack { numbers, ..self }
    }

    /// The numbers, at the first places of an array.
    #[inline(always)]
    pub fn numbers(self) -> Lane {
        let mut out = [0.0; LANES];
        let (all, _) = S::as_mut_simd_f64s(&mut out);
        all[0] = self.numbers;
        out
    }
}

impl<S: Simd> Choice<S> {
    /// One number where yes, the other where no.
    #[inline(always)]
    pub fn pick(self, yes: Pack<S>, no: Pack<S>) -> Pack<S> {
        yes.with(self.simd.select_f64s(self.answers, yes.numbers, no.numbers))
    }

    /// Where both say yes.
    #[inline(always)]
    pub fn and(self, other: Self) -> Self {
        Choice {
            answers: self.simd.and_m64s(self.answers, other.answers),
            ..self
        }
    }

    /// True if every lane says yes.
    #[inline(always)]
    pub fn all(self) -> bool {
        let no = self.simd.not_m64s(self.answers);
        S::F64_LANES <= self.simd.first_true_m64s(no)
    }

    /// True if any lane says yes.
    #[inline(always)]
    pub fn any(self) -> bool {
        self.simd.first_true_m64s(self.answers) < S::F64_LANES
    }
}

macro_rules! operator {
    ($operator:ident, $function:ident, $simd:ident) => {
        impl<S: Simd> $operator for Pack<S> {
            type Output = Self;
            #[inline(always)]
            fn $function(self, other: Self) -> Self {
                self.with(self.simd.$simd(self.numbers, other.numbers))
            }
        }
    };
}

operator!(Add, add, add_f64s);
operator!(Sub, sub, sub_f64s);
operator!(Mul, mul, mul_f64s);
operator!(Div, div, div_f64s);

impl<S: Simd> Neg for Pack<S> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.with(self.simd.neg_f64s(self.numbers))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What every operation makes of two lanes.
    struct All {
        a: Lane,
        b: Lane,
        /// The first of both in every other lane.
        mixed: Lane,
        out: [Lane; 11],
        any: bool,
    }

    impl Sweeping for All {
        #[inline(always)]
        fn sweep<S: Simd>(&mut self, simd: S) {
            for sight in Sight::<S>::all_of(simd) {
                let (a, b) = (sight.read(&self.a), sight.read(&self.b));
                let less = a.below(b);
                let same = a.equals(sight.read(&self.mixed));
                let at = a.numbers();
                let parted = sight.pairs(|l| [at[l], at[l] * at[l]]);
                let found = [
                    a + b,
                    a - b,
                    a * b,
                    a / b,
                    a.times_plus(b, a),
                    a.times_from(b, a),
                    a.max(b) + a.min(b) * sight.all(3.0),
                    less.and(b.at_most(sight.all(2.5))).pick(-a, b.abs().sqrt()),
                    sight.of(&at),
                    parted[0] + sight.all(3.0) * parted[1],
                    same.pick(a, b),
                ];
                for (out, found) in self.out.iter_mut().zip(found) {
                    sight.write(out, found);
                }
                self.any |= less.any();
                assert!(a.equals(a).all() && !a.equals(b).all());
                assert!(S::F64_LANES == 1 || (same.any() && !same.all()));
            }
        }
    }

    /// Against numbers one by one; every lane has its turn.
    fn check(with: impl Fn(Swept<All>)) {
        let mut it = All {
            a: std::array::from_fn(|l| 0.7 + 1.3 * l as f64),
            b: std::array::from_fn(|l| 2.9 - 0.8 * l as f64),
            mixed: std::array::from_fn(|l| {
                if l % 2 == 0 {
                    0.7 + 1.3 * l as f64
                } else {
                    0.0
                }
            }),
            out: [[0.0; LANES]; 11],
            any: false,
        };
        with(Swept(&mut it));
        for l in 0..LANES {
            let (a, b) = (it.a[l], it.b[l]);
            let expected = [
                a + b,
                a - b,
                a * b,
                a / b,
                a.mul_add(b, a),
                (-a).mul_add(b, a),
                a.max(b) + a.min(b) * 3.0,
                if a < b && b <= 2.5 {
                    -a
                } else {
                    b.abs().sqrt()
                },
                a,
                a + 3.0 * (a * a),
                if l % 2 == 0 { a } else { b },
            ];
            for (out, expected) in it.out.iter().zip(expected) {
                assert_eq!(out[l], expected, "lane {l}");
            }
        }
        assert!(it.any);
    }

    #[test]
    fn does_to_every_lane_what_it_says() {
        check(|it| Arch::new().dispatch(it));
        check(|it| Simd::vectorize(pulp::Scalar::new(), it));
    }

    /// Where the widest registers are wider than these, they would be seen by no other test.
    #[cfg(target_arch = "x86_64")]
    #[test]
    fn registers_of_four_do_the_same() {
        let Some(four) = pulp::x86::V3::try_new() else {
            return;
        };
        check(|it| Simd::vectorize(four, it));
    }
}
