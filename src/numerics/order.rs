//! The larger and the smaller of two numbers, one instruction each: `f64::max` and `f64::min` take five,
//! since they look for what is not a number.
//!
//! Checked in: this file.

/// The larger; `a` where it is not a number.
#[inline(always)]
pub fn larger(a: f64, b: f64) -> f64 {
    if a < b { b } else { a }
}

/// The smaller; `a` where it is not a number.
#[inline(always)]
pub fn smaller(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_a_number_stays_so_in_first_place() {
        assert_eq!((larger(-2.5, 1.7), larger(1.7, -2.5)), (1.7, 1.7));
        assert_eq!((smaller(-2.5, 1.7), smaller(1.7, -2.5)), (-2.5, -2.5));
        assert!(larger(f64::NAN, 1.7).is_nan() && smaller(f64::NAN, 1.7).is_nan());
        assert_eq!((larger(1.7, f64::NAN), smaller(1.7, f64::NAN)), (1.7, 1.7));
    }
}
