//! Finds places for labels: clear of each other, of curves and of the frame.
//!
//! Each label proposes places in order of liking; the cheapest is taken. Covering another label or
//! leaving the frame is forbidden, covering a curve costs by the length covered.

/// A rectangle turned about its centre, which a label covers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cover {
    /// Centre, px.
    pub centre: [f64; 2],
    /// Half of width and height, px, before turning.
    pub half: [f64; 2],
    /// Direction of its width, radians clockwise as the y axis points down.
    pub angle: f64,
}

impl Cover {
    /// Corners in order.
    pub fn corners(&self) -> [[f64; 2]; 4] {
        let (sin, cos) = self.angle.sin_cos();
        [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]].map(|[a, b]| {
            let (u, v) = (a * self.half[0], b * self.half[1]);
            [
                self.centre[0] + u * cos - v * sin,
                self.centre[1] + u * sin + v * cos,
            ]
        })
    }

    /// Whether two covers share more than an edge (separating axes).
    pub fn meets(&self, other: &Cover) -> bool {
        let (mine, theirs) = (self.corners(), other.corners());
        for angle in [
            self.angle,
            self.angle + std::f64::consts::FRAC_PI_2,
            other.angle,
            other.angle + std::f64::consts::FRAC_PI_2,
        ] {
            let (sin, cos) = angle.sin_cos();
            let span = |corners: &[[f64; 2]; 4]| {
                corners
                    .iter()
                    .map(|it| it[0] * cos + it[1] * sin)
                    .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), it| {
                        (low.min(it), high.max(it))
                    })
            };
            let (a, b) = (span(&mine), span(&theirs));
            if a.1 <= b.0 + 1e-9 || b.1 <= a.0 + 1e-9 {
                return false;
            }
        }
        true
    }

    /// Length of the segment from `a` to `b` inside the cover, px.
    pub fn length_inside(&self, a: [f64; 2], b: [f64; 2]) -> f64 {
        self.share_inside(a, b).map_or(0.0, |[enter, leave]| {
            (leave - enter) * (b[0] - a[0]).hypot(b[1] - a[1])
        })
    }

    /// Shares of the segment from `a` to `b` at which it enters and leaves the cover.
    pub fn share_inside(&self, a: [f64; 2], b: [f64; 2]) -> Option<[f64; 2]> {
        let reach = self.half[0] + self.half[1];
        if (a[0].min(b[0]) - self.centre[0] > reach)
            || (self.centre[0] - a[0].max(b[0]) > reach)
            || (a[1].min(b[1]) - self.centre[1] > reach)
            || (self.centre[1] - a[1].max(b[1]) > reach)
        {
            return None;
        }
        let (sin, cos) = self.angle.sin_cos();
        let local = |p: [f64; 2]| {
            let (dx, dy) = (p[0] - self.centre[0], p[1] - self.centre[1]);
            [dx * cos + dy * sin, -dx * sin + dy * cos]
        };
        let (from, to) = (local(a), local(b));
        let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
        for i in 0..2 {
            let step = to[i] - from[i];
            if step == 0.0 {
                if self.half[i] < from[i].abs() {
                    return None;
                }
                continue;
            }
            let (one, two) = (
                (-self.half[i] - from[i]) / step,
                (self.half[i] - from[i]) / step,
            );
            enter = enter.max(one.min(two));
            leave = leave.min(one.max(two));
        }
        (enter < leave).then_some([enter, leave])
    }
}

/// A curve without the parts under `covers`.
pub fn uncovered(run: &[[f64; 2]], covers: &[Cover]) -> Vec<Vec<[f64; 2]>> {
    let mut pieces: Vec<Vec<[f64; 2]>> = vec![run.to_vec()];
    for cover in covers {
        let mut kept = Vec::new();
        for piece in pieces {
            let mut open: Vec<[f64; 2]> = piece.first().copied().into_iter().collect();
            for pair in piece.windows(2) {
                let (a, b) = (pair[0], pair[1]);
                let at = |share: f64| [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];
                match cover.share_inside(a, b) {
                    None => open.push(b),
                    Some([enter, leave]) => {
                        open.push(at(enter));
                        kept.push(std::mem::replace(&mut open, vec![at(leave), b]));
                    }
                }
            }
            kept.push(open);
        }
        // What is left between two covered segments has no length.
        kept.retain(|it| it.windows(2).any(|it| it[0] != it[1]));
        pieces = kept;
    }
    pieces
}

/// A proposed place and how little it is liked.
#[derive(Clone, Copy, Debug)]
pub struct Candidate {
    /// What the label would cover.
    pub cover: Cover,
    /// Dislike before collisions.
    pub cost: f64,
}

/// A curve labels keep clear of.
#[derive(Clone, Debug)]
struct Stroke {
    points: Vec<[f64; 2]>,
    cost_per_px: f64,
    of: (usize, usize),
}

/// What already stands on the page.
#[derive(Clone, Debug)]
pub struct Placing {
    frame: [[f64; 2]; 2],
    taken: Vec<Cover>,
    strokes: Vec<Stroke>,
}

impl Placing {
    /// An empty plot between two corners, upper left and lower right.
    pub fn new(frame: [[f64; 2]; 2]) -> Self {
        Placing {
            frame,
            taken: Vec::new(),
            strokes: Vec::new(),
        }
    }

    /// A curve labels should keep clear of, with the cost of covering one px of it; `of` tells
    /// which curve of which mark it is.
    pub fn keep_clear(&mut self, curve: &[[f64; 2]], cost_per_px: f64, of: (usize, usize)) {
        self.strokes.push(Stroke {
            points: curve.to_vec(),
            cost_per_px,
            of,
        });
    }

    /// A place no later label may cover.
    pub fn take(&mut self, cover: Cover) {
        self.taken.push(cover);
    }

    /// The cheapest allowed candidate with its cost, if there is one; curve `own` may be covered.
    pub fn best(
        &self,
        candidates: &[Candidate],
        own: Option<(usize, usize)>,
    ) -> Option<(f64, Cover)> {
        let mut best: Option<(f64, Cover)> = None;
        for candidate in candidates {
            let limit = best.map_or(f64::INFINITY, |it| it.0);
            if limit <= candidate.cost || !self.allows(&candidate.cover) {
                continue;
            }
            let cost = candidate.cost + self.covered(&candidate.cover, own);
            if cost < limit {
                best = Some((cost, candidate.cover));
            }
        }
        best
    }

    fn allows(&self, cover: &Cover) -> bool {
        let [[left, top], [right, bottom]] = self.frame;
        let inside = cover.corners().iter().all(|[x, y]| {
            left + 2.0 <= *x && *x <= right - 2.0 && top + 2.0 <= *y && *y <= bottom - 2.0
        });
        inside && !self.taken.iter().any(|it| it.meets(cover))
    }

    fn covered(&self, cover: &Cover, own: Option<(usize, usize)>) -> f64 {
        let mut cost = 0.0;
        for stroke in self.strokes.iter().filter(|it| Some(it.of) != own) {
            let lengths = stroke.points.windows(2);
            let length: f64 = lengths.map(|it| cover.length_inside(it[0], it[1])).sum();
            cost += stroke.cost_per_px * length;
        }
        cost
    }
}

/// Places along a curve for a label of `size_px`, beside it or on it.
///
/// `liking` is the share of the length where the label goes best.
pub fn along(curve: &[[f64; 2]], size_px: [f64; 2], beside: bool, liking: f64) -> Vec<Candidate> {
    const TRIES: usize = 41;
    const GAP_PX: f64 = 3.0;
    let lengths = running_length(curve);
    let total = lengths.last().copied().unwrap_or(0.0);
    let mut candidates = Vec::new();
    if total < 1.1 * size_px[0] {
        return candidates;
    }
    for i in 0..TRIES {
        let share = i as f64 / (TRIES - 1) as f64;
        let middle = size_px[0] * 0.55 + share * (total - 1.1 * size_px[0]);
        let (a, b) = (
            point_at(curve, &lengths, middle - size_px[0] / 2.0),
            point_at(curve, &lengths, middle + size_px[0] / 2.0),
        );
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let chord = dx.hypot(dy);
        if chord < 0.6 * size_px[0] {
            continue;
        }
        // Reading direction: never upside down.
        let flip = if dx < 0.0 { -1.0 } else { 1.0 };
        let angle = (flip * dy).atan2(flip * dx);
        let (sin, cos) = angle.sin_cos();
        let (mut above, mut below) = (0.0_f64, 0.0_f64);
        for j in 1..8 {
            let at = middle + size_px[0] * (f64::from(j) / 8.0 - 0.5);
            let p = point_at(curve, &lengths, at);
            let off = -(p[0] - a[0]) * sin + (p[1] - a[1]) * cos;
            above = above.max(-off);
            below = below.max(off);
        }
        let bend = above.max(below);
        let place = 40.0 * (share - liking).abs() + 24.0 * angle.abs() + 6.0 * bend;
        let centre = [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0];
        let moved = |off: f64| Cover {
            centre: [centre[0] - off * sin, centre[1] + off * cos],
            half: [size_px[0] / 2.0, size_px[1] / 2.0],
            angle,
        };
        if beside {
            for (step, more) in [(0.0, 0.0), (7.0, 9.0), (14.0, 20.0)] {
                let clear = size_px[1] / 2.0 + GAP_PX + step;
                candidates.push(Candidate {
                    cover: moved(-(above + clear)),
                    cost: place + more,
                });
                candidates.push(Candidate {
                    cover: moved(below + clear),
                    cost: place + more + 4.0,
                });
            }
        } else {
            candidates.push(Candidate {
                cover: moved((below - above) / 2.0),
                cost: place,
            });
        }
    }
    candidates
}

/// Places around a rectangle: above, below, right, left.
pub fn around(low: [f64; 2], high: [f64; 2], size_px: [f64; 2], gap_px: f64) -> Vec<Candidate> {
    let half = [size_px[0] / 2.0, size_px[1] / 2.0];
    let middle = [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0];
    let right = high[0] + gap_px + half[0];
    let left = low[0] - gap_px - half[0];
    let above = low[1] - gap_px - half[1];
    let below = high[1] + gap_px + half[1];
    [
        [middle[0], above],
        [right, middle[1]],
        [middle[0], below],
        [left, middle[1]],
        [right, above + half[1]],
        [right, below - half[1]],
        [left, above + half[1]],
        [left, below - half[1]],
    ]
    .into_iter()
    .zip(0..)
    .map(|(centre, order)| Candidate {
        cover: Cover {
            centre,
            half,
            angle: 0.0,
        },
        cost: f64::from(order) * 2.0,
    })
    .collect()
}

/// Places inside a closed outline, the widest first.
pub fn inside(rings: &[Vec<[f64; 2]>], size_px: [f64; 2]) -> Vec<Candidate> {
    const STEPS: i32 = 24;
    let points = rings.iter().flatten();
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for point in points {
        for i in 0..2 {
            low[i] = low[i].min(point[i]);
            high[i] = high[i].max(point[i]);
        }
    }
    let mut candidates = Vec::new();
    if !(low[0] < high[0] && low[1] < high[1]) {
        return candidates;
    }
    for row in 1..STEPS {
        for column in 1..STEPS {
            let at = |i: usize, step: i32| {
                low[i] + (high[i] - low[i]) * f64::from(step) / f64::from(STEPS)
            };
            let centre = [at(0, column), at(1, row)];
            let cover = Cover {
                centre,
                half: [size_px[0] / 2.0, size_px[1] / 2.0],
                angle: 0.0,
            };
            if cover.corners().iter().all(|it| encloses(rings, *it)) {
                let room = distance(rings, &cover);
                candidates.push(Candidate {
                    cover,
                    cost: -room.min(90.0),
                });
            }
        }
    }
    candidates
}

/// Whether `point` lies inside `rings` by the even-odd rule.
pub fn encloses(rings: &[Vec<[f64; 2]>], point: [f64; 2]) -> bool {
    let mut inside = false;
    for ring in rings {
        for (i, a) in ring.iter().enumerate() {
            let b = ring[(i + 1) % ring.len()];
            if (point[1] < a[1]) != (point[1] < b[1])
                && point[0] < a[0] + (point[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
            {
                inside = !inside;
            }
        }
    }
    inside
}

/// Least distance of the corners and centre of a cover from an outline, px.
fn distance(rings: &[Vec<[f64; 2]>], cover: &Cover) -> f64 {
    let mut least = f64::INFINITY;
    let corners = cover.corners();
    for ring in rings {
        for (i, a) in ring.iter().enumerate() {
            let b = ring[(i + 1) % ring.len()];
            let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
            let squared = dx * dx + dy * dy;
            for p in corners.iter().chain([&cover.centre]) {
                let share = if squared == 0.0 {
                    0.0
                } else {
                    (((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / squared).clamp(0.0, 1.0)
                };
                least = least.min((p[0] - a[0] - share * dx).hypot(p[1] - a[1] - share * dy));
            }
        }
    }
    least
}

fn running_length(curve: &[[f64; 2]]) -> Vec<f64> {
    let mut lengths = vec![0.0];
    let mut total = 0.0;
    for pair in curve.windows(2) {
        total += (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1]);
        lengths.push(total);
    }
    lengths
}

fn point_at(curve: &[[f64; 2]], lengths: &[f64], at: f64) -> [f64; 2] {
    let after = lengths
        .partition_point(|it| *it < at)
        .clamp(1, curve.len() - 1);
    let (a, b) = (curve[after - 1], curve[after]);
    let step = lengths[after] - lengths[after - 1];
    let share = if step == 0.0 {
        0.0
    } else {
        ((at - lengths[after - 1]) / step).clamp(0.0, 1.0)
    };
    [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share]
}
