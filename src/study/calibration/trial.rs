//! What weld trials showed, and how well it was seen.

/// One weld that was made.
#[derive(Clone, Debug, PartialEq)]
pub struct Trial {
    /// Its number or name.
    pub name: String,
    /// Power the machine was set to, W.
    pub power_w: f64,
    /// What was set beside the power, SI: feed rate, passes, turns or time.
    pub setting: f64,
    /// What was seen.
    pub seen: Seen,
}

/// What was seen of a weld; none where nobody looked.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Seen {
    /// The parts hold together.
    pub fused: Option<bool>,
    /// Melt depth of the upper part in a section, m.
    pub upper_melt_depth_m: Option<f64>,
    /// Melt depth of the lower part in a section, m.
    pub lower_melt_depth_m: Option<f64>,
    /// The laser-side surface is marked.
    pub marked: Option<bool>,
    /// The seam is burnt: discoloured, with bubbles or smoke.
    pub burnt: Option<bool>,
}

impl Seen {
    /// Number of things seen that count.
    pub fn count(&self) -> usize {
        let depths = [self.upper_melt_depth_m, self.lower_melt_depth_m];
        let answers = [self.fused, self.marked, self.burnt];
        let depths = if self.depths_count() {
            depths.iter().flatten().count()
        } else {
            0
        };
        depths + answers.iter().flatten().count()
    }

    /// False where the parts do not hold: a lower part may melt below a surface that stays cold, and
    /// a depth read in it jumps from nothing to many micrometres.
    pub fn depths_count(&self) -> bool {
        self.fused != Some(false)
    }
}

/// How well things are seen, and how much one weld differs from the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Noise {
    /// Standard deviation of a melt depth read in a section, m.
    pub depth_m: f64,
    /// Standard deviation of melt depths from weld to weld, as a share of the depth.
    pub depth_relative: f64,
    /// Standard deviation of the margin at which a weld holds, marks or burns, from weld to weld.
    pub margin: f64,
    /// Share of yes-or-no answers that are simply wrong.
    pub slip: f64,
}

impl Default for Noise {
    /// 10 µm, 10 %, 3 % and 1 %: assumptions of ours, to be replaced by the scatter of repeats.
    fn default() -> Self {
        Noise {
            depth_m: 10e-6,
            depth_relative: 0.1,
            margin: 0.03,
            slip: 0.01,
        }
    }
}
