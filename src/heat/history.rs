//! The hand-over from heat to the verdict: what happened in one column.

use crate::heat::closure::FilmOutcome;
use crate::heat::melt::MeltOutcome;

/// Energy per area of seam, from the first light to the end of the run.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ledger {
    /// Light absorbed in the bodies, J/m².
    pub absorbed_j_per_m2: f64,
    /// Rise of the enthalpy of the bodies, J/m².
    pub stored_j_per_m2: f64,
    /// Heat lost through the outer faces, J/m².
    pub lost_j_per_m2: f64,
}

impl Ledger {
    /// (absorbed − stored − lost) / largest of the three; zero where nothing was absorbed or lost.
    pub fn relative_residual(&self) -> f64 {
        let scale = self
            .absorbed_j_per_m2
            .abs()
            .max(self.stored_j_per_m2.abs())
            .max(self.lost_j_per_m2.abs());
        if scale == 0.0 {
            return 0.0;
        }
        (self.absorbed_j_per_m2 - self.stored_j_per_m2 - self.lost_j_per_m2) / scale
    }
}

/// What the run cost.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counters {
    /// Cells in the column.
    pub cells: usize,
    /// Steps kept.
    pub steps: usize,
    /// Steps thrown away because their error was too large.
    pub rejected: usize,
}

/// Why the run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StopReason {
    /// Nothing that is watched can change any more.
    Settled,
    /// The longest time to follow was reached.
    TimeLimit,
}

/// Temperatures kept for figures.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Record {
    /// Times of every kept step, s.
    pub time_s: Vec<f64>,
    /// Interface, upper side, at `time_s`, K.
    pub interface_upper_k: Vec<f64>,
    /// Interface, lower side, at `time_s`, K.
    pub interface_lower_k: Vec<f64>,
    /// Laser-side face of the upper part at `time_s`, K.
    pub laser_side_k: Vec<f64>,
    /// Depths from the laser-side face of the upper part, m (negative inside a clamp); faces of
    /// the bodies are among them, the interface twice, once for either side.
    pub depth_m: Vec<f64>,
    /// Temperature at every `depth_m`, one row for each of `time_s`, K.
    pub temperature_k: Vec<Vec<f64>>,
    /// Collapse at `time_s`, m; zero where it is not followed.
    pub collapse_m: Vec<f64>,
    /// Width of the gap left at `time_s`, m; empty without a film of air.
    pub gap_m: Vec<f64>,
}

/// What happened in one column.
#[derive(Clone, Debug, PartialEq)]
pub struct History {
    /// Highest temperature of the interface, upper side, K.
    pub interface_peak_upper_k: f64,
    /// Highest temperature of the interface, lower side, K.
    pub interface_peak_lower_k: f64,
    /// First time both sides of the interface are at their flow temperature, s.
    pub first_flow_s: Option<f64>,
    /// Time during which both sides of the interface are at or above their flow temperature, s.
    pub time_above_flow_s: f64,
    /// Deepest point of the upper part that reached its flow temperature, m from the interface.
    pub upper_melt_depth_m: f64,
    /// Deepest point of the lower part that reached its flow temperature, m from the interface.
    pub lower_melt_depth_m: f64,
    /// By how much of itself the less certain of both depths may be off, as far as can be told from the
    /// answer; 1 where a part that stayed solid may have melted. See [`Settings::most_doubt`].
    ///
    /// [`Settings::most_doubt`]: crate::heat::Settings::most_doubt
    pub depth_doubt: f64,
    /// Highest temperature at the upper body's `probe_m`, K.
    pub upper_probe_peak_k: f64,
    /// Highest temperature at the lower body's `probe_m`, K.
    pub lower_probe_peak_k: f64,
    /// Highest temperature anywhere in the two parts, K.
    pub body_peak_k: f64,
    /// Where: depth from the laser-side face of the upper part, m.
    pub body_peak_depth_m: f64,
    /// Highest temperature of the laser-side face of the upper part, K.
    pub laser_side_peak_k: f64,
    /// Largest damage integral ∫A exp(−E/RT) dt in the two parts; none without kinetics.
    pub damage_integral: Option<f64>,
    /// Where: depth from the laser-side face of the upper part, m.
    pub damage_depth_m: f64,
    /// Highest temperature at that place, K.
    pub damage_peak_k: f64,
    /// Healing and squeezing, as far as they were followed.
    pub melt: MeltOutcome,
    /// What became of the gap, where there is one.
    pub film: Option<FilmOutcome>,
    /// Lowest and highest temperature met in the upper and in the lower part, K.
    pub range_k: [(f64, f64); 2],
    /// Energy per area.
    pub ledger: Ledger,
    /// What the run cost.
    pub counters: Counters,
    /// What a first run cost, where its answer left a melt depth in doubt.
    pub first_run: Option<Counters>,
    /// Time the run ended, s.
    pub end_s: f64,
    /// Why it ended.
    pub stop: StopReason,
    /// Temperatures kept for figures, where asked for.
    pub record: Option<Box<Record>>,
}
