//! Bracketed roots.

use lightseam::numerics::bracket::Bracket;

/// Seeks the root of `f` as the studies do; evaluations used and root found.
fn seek(f: impl Fn(f64) -> f64, low: f64, high: f64, width: f64) -> (usize, f64) {
    let mut bracket = Bracket::new((low, f(low)), (high, f(high))).unwrap();
    for n in 0..200 {
        let (a, b) = bracket.interval();
        if b - a <= width {
            return (n, bracket.root());
        }
        let at = bracket.proposal();
        bracket.update(at, f(at));
    }
    panic!("no root after 200 evaluations: {:?}", bracket.interval());
}

#[test]
fn brackets_close_on_straight_and_crooked_functions() {
    // Straight, bent, steep at one end, and with a corner: all cross zero at 7.3. Halving alone
    // would take 26 evaluations; a proposal and a halving by turns at most twice as many.
    type Case = (&'static str, fn(f64) -> f64, usize);
    let cases: [Case; 4] = [
        ("straight", |x| 0.2 * (x - 7.3), 4),
        ("logarithm", |x| (x / 7.3).ln(), 12),
        ("exponential", |x| (3.0 * (x - 7.3)).exp() - 1.0, 52),
        (
            "corner",
            |x| {
                if x < 7.3 {
                    0.01 * (x - 7.3)
                } else {
                    9.0 * (x - 7.3)
                }
            },
            52,
        ),
    ];
    for (name, f, most) in cases {
        let (used, root) = seek(f, 0.5, 40.0, 1e-6);
        assert!((root - 7.3).abs() < 2e-6, "{name}: {root}");
        assert!(used <= most, "{name}: {used} evaluations");
    }
}
