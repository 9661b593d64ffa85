//! Random streams, standard errors and scattering angles.

use approx::assert_abs_diff_eq;
use lightseam::numerics::random::{Stream, philox4x64, unit_circle};
use lightseam::numerics::statistics::{BatchMeans, Estimate, ratio_of_means};
use lightseam::optics::photon_monte_carlo::{Direction, Turn};

use super::assert_within_four;

/// Random123 (D. E. Shaw Research), file `kat_vectors`, lines philox4x64 10.
#[test]
fn philox_gives_the_known_answers() {
    let ones = u64::MAX;
    let cases = [
        (
            [0; 4],
            [0; 2],
            [
                0x16554d9eca36314c,
                0xdb20fe9d672d0fdc,
                0xd7e772cee186176b,
                0x7e68b68aec7ba23b,
            ],
        ),
        (
            [ones; 4],
            [ones; 2],
            [
                0x87b092c3013fe90b,
                0x438c3c67be8d0224,
                0x9cc7d7c69cd777b6,
                0xa09caebf594f0ba0,
            ],
        ),
        (
            [
                0x243f6a8885a308d3,
                0x13198a2e03707344,
                0xa4093822299f31d0,
                0x082efa98ec4e6c89,
            ],
            [0x452821e638d01377, 0xbe5466cf34e90c6c],
            [
                0xa528f45403e61d95,
                0x38c72dbd566e9788,
                0xa5a1610e72fd18b5,
                0x57bd43b5e52b7fe6,
            ],
        ),
    ];
    for (counter, key, expected) in cases {
        assert_eq!(philox4x64(counter, key), expected);
    }
}

/// numpy 2.4.6: `Philox(key=[seed, purpose], counter=[2**64-1, index-1, 0, 0]).random_raw(8)`
/// (numpy counts up before each block).
#[test]
fn a_stream_is_the_sequence_numpy_draws() {
    let mut stream = Stream::new(20250, 3, 999);
    for expected in [
        0xff7bfd22dde6ce25,
        0x516af0093295671e,
        0x31d99db61fdeb0ec,
        0xf531b9de07dd5bea,
        0xa9efda25752f818e,
        0xc4fa68ce37752c20,
        0x2fd26f8ad3172bb6,
        0xc58c347e3ee2f1db,
    ] {
        assert_eq!(stream.next_u64(), expected);
    }
    let mut halves = Stream::new(20250, 3, 999);
    assert_eq!(halves.next_u32(), 0xdde6ce25);
    assert_eq!(halves.next_u32(), 0xff7bfd22);
    assert_eq!(halves.next_u32(), 0x3295671e);
    assert_eq!(halves.next_u64(), 0x31d99db61fdeb0ec);
    assert_eq!(halves.next_pair(), [0xa9efda25752f818e, 0xc4fa68ce37752c20]);
}

#[test]
fn uniform_numbers_have_the_moments_of_the_uniform_distribution() {
    let mut stream = Stream::new(3, 1, 4);
    let count = 400_000;
    for draw in [Stream::uniform, Stream::uniform_32] {
        let mut moments = BatchMeans::new(2);
        for _ in 0..count {
            let x = draw(&mut stream);
            assert!(0.0 < x && x < 1.0);
            moments.push(&[x, x * x]);
        }
        assert_within_four("mean", moments.estimate(0), Estimate::exact(0.5));
        assert_within_four("square", moments.estimate(1), Estimate::exact(1.0 / 3.0));
    }
}

/// Against the standard library's sine and cosine; 2^32 steps make a full turn that begins an
/// eighth before the first axis.
#[test]
fn random_points_lie_on_the_unit_circle() {
    for step in 0..100_003u32 {
        let bits = step.wrapping_mul(42_949);
        let (cosine, sine) = unit_circle(bits);
        let turns = (f64::from(bits) + 0.5) / 2f64.powi(32) - 0.125;
        let angle = turns * std::f64::consts::TAU;
        assert_abs_diff_eq!(cosine, angle.cos(), epsilon = 2e-15);
        assert_abs_diff_eq!(sine, angle.sin(), epsilon = 2e-15);
        assert_abs_diff_eq!(cosine.hypot(sine), 1.0, epsilon = 5e-16);
    }
}

/// Worked by hand: 1, 2, 4, 9 has mean 4 and variance 38/3; the ratio to 2, 2, 4, 8 is 1, with
/// residuals −1, 0, 0, 1.
#[test]
fn standard_errors_follow_their_definition() {
    let mut means = BatchMeans::new(1);
    for value in [1.0, 2.0, 4.0, 9.0] {
        means.push(&[value]);
    }
    assert_abs_diff_eq!(means.estimate(0).value, 4.0, epsilon = 1e-15);
    let expected = (38.0f64 / 3.0 / 4.0).sqrt();
    assert_abs_diff_eq!(means.estimate(0).standard_error, expected, epsilon = 1e-14);
    let ratio = ratio_of_means(&[1.0, 2.0, 4.0, 9.0], &[2.0, 2.0, 4.0, 8.0]);
    assert_abs_diff_eq!(ratio.value, 1.0, epsilon = 1e-15);
    let expected = (4.0f64 / 3.0 * 2.0).sqrt() / 16.0;
    assert_abs_diff_eq!(ratio.standard_error, expected, epsilon = 1e-15);
}

/// Henyey and Greenstein (1941): the mean cosine is g and the mean of P2(cos) is g². The azimuth
/// is uniform about any direction.
#[test]
fn scattering_has_the_moments_of_henyey_and_greenstein() {
    let before = Direction {
        x: 0.36,
        y: -0.48,
        z: -0.8,
    };
    let across = Direction {
        x: 0.8,
        y: 0.6,
        z: 0.0,
    };
    let dot = |a: Direction, b: Direction| a.x * b.x + a.y * b.y + a.z * b.z;
    for (index, g) in [-0.6, 0.0, 1e-6, 0.3, 0.8, 0.97].into_iter().enumerate() {
        let mut stream = Stream::new(5, 9, index as u64);
        let mut moments = BatchMeans::new(3);
        for _ in 0..300_000 {
            let after = before.scattered(g, Turn::draw(&mut stream));
            assert_abs_diff_eq!(dot(after, after), 1.0, epsilon = 1e-13);
            let cosine = dot(before, after);
            moments.push(&[cosine, 1.5 * cosine * cosine - 0.5, dot(across, after)]);
        }
        assert_within_four("mean cosine", moments.estimate(0), Estimate::exact(g));
        assert_within_four("P2", moments.estimate(1), Estimate::exact(g * g));
        assert_within_four("azimuth", moments.estimate(2), Estimate::exact(0.0));
    }
}
