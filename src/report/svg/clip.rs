//! Curves and areas cut to a rectangle.
//!
//! Plotters clips nothing: it moves each coordinate that lies outside to the edge of the page, which
//! would bend a curve on its way out.

/// A rectangle as an outline.
pub fn rectangle(low: [f64; 2], high: [f64; 2]) -> Vec<[f64; 2]> {
    vec![low, [high[0], low[1]], high, [low[0], high[1]]]
}

/// The parts of runs inside a rectangle, given by its upper left and lower right corner.
pub fn runs_inside(runs: &[Vec<[f64; 2]>], frame: [[f64; 2]; 2]) -> Vec<Vec<[f64; 2]>> {
    let mut visible: Vec<Vec<[f64; 2]>> = Vec::new();
    for run in runs {
        let mut open = false;
        for pair in run.windows(2) {
            match segment_inside(pair[0], pair[1], frame) {
                Some([a, b]) => {
                    match visible.last_mut() {
                        Some(last) if open && last.last() == Some(&a) => last.push(b),
                        _ => visible.push(vec![a, b]),
                    }
                    open = true;
                }
                None => open = false,
            }
        }
    }
    visible
}

/// The part of a segment inside a rectangle (Liang and Barsky).
fn segment_inside(a: [f64; 2], b: [f64; 2], frame: [[f64; 2]; 2]) -> Option<[[f64; 2]; 2]> {
    let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
    for i in 0..2 {
        let step = b[i] - a[i];
        let (low, high) = (frame[0][i] - a[i], frame[1][i] - a[i]);
        if step == 0.0 {
            if 0.0 < low || high < 0.0 {
                return None;
            }
            continue;
        }
        enter = enter.max((low / step).min(high / step));
        leave = leave.min((low / step).max(high / step));
    }
    if leave < enter {
        return None;
    }
    let at = |share: f64| [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];
    let from = if enter == 0.0 { a } else { at(enter) };
    let to = if leave == 1.0 { b } else { at(leave) };
    Some([from, to])
}

/// A closed outline cut to a rectangle (Sutherland and Hodgman).
pub fn ring_inside(outline: Vec<[f64; 2]>, frame: [[f64; 2]; 2]) -> Vec<[f64; 2]> {
    let mut ring = outline;
    for (axis, side, sign) in [
        (0, frame[0][0], 1.0),
        (0, frame[1][0], -1.0),
        (1, frame[0][1], 1.0),
        (1, frame[1][1], -1.0),
    ] {
        let depth = |it: &[f64; 2]| sign * (it[axis] - side);
        let mut kept = Vec::with_capacity(ring.len() + 4);
        for (i, a) in ring.iter().enumerate() {
            let b = &ring[(i + 1) % ring.len()];
            let (from, to) = (depth(a), depth(b));
            if 0.0 <= from {
                kept.push(*a);
            }
            if (0.0 <= from) != (0.0 <= to) {
                let share = from / (from - to);
                kept.push([a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share]);
            }
        }
        ring = kept;
    }
    ring
}
