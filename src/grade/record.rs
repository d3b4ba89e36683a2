//! The record of a correction.

use schemars::JsonSchema;
use serde::Serialize;

use super::{Decision, Headroom, Plan};

/// What became of a correction, as a record's field.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct CorrectionRecord {
    /// Whether it was made.
    pub status: CorrectionStatus,
    /// Why not, in words; null where it was made.
    pub reason: Option<String>,
    /// The correction; null where it was not made.
    pub made: Option<MadeRecord>,
}

/// Whether a correction was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum CorrectionStatus {
    /// It was made.
    Made,
    /// There is nothing to correct.
    NotNeeded,
    /// None can be made.
    Refused,
}

/// A correction that was made.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct MadeRecord {
    /// Its id in its files, and their name.
    pub id: String,
    /// The names of its files in the folder of corrections; empty where none were asked for.
    pub files: Vec<String>,
    /// The encoding that the footage is in.
    pub footage: String,
    /// How much of it was made, 0–1.
    pub strength: f64,
    /// The colour that it makes neutral, in linear sRGB, largest channel 1.
    pub neutral_linear_srgb: [f64; 3],
    /// The matrix, by rows, on linear red, green and blue of BT.709 primaries: what the `.clf` does.
    pub matrix: [[f64; 3]; 3],
    /// The slopes of red, green and blue on encoded values: what the `.cc` does.
    pub slope: [f64; 3],
    /// Mean CIEDE2000 difference between the two over a 24-patch chart.
    pub fit_mean_delta_e_2000: f64,
    /// The largest of them.
    pub fit_max_delta_e_2000: f64,
    /// What it costs.
    pub headroom: Headroom,
    /// Strength, 0–1, that would do no harm; null where this one does none, or none would do.
    pub safe_strength: Option<f64>,
    /// What to mind, a sentence or two each.
    pub warnings: Vec<String>,
}

impl CorrectionRecord {
    /// The record of a decision; `files` are the names that its files have.
    #[must_use]
    pub fn of(decision: &Decision, files: &[String]) -> Self {
        let (status, reason, made) = match decision {
            Decision::Correct(plan) => {
                (CorrectionStatus::Made, None, Some(MadeRecord::of(plan, files)))
            }
            Decision::NotNeeded(why) => (CorrectionStatus::NotNeeded, Some(why.clone()), None),
            Decision::Refused(why) => (CorrectionStatus::Refused, Some(why.clone()), None),
        };
        Self { status, reason, made }
    }
}

impl MadeRecord {
    fn of(plan: &Plan, files: &[String]) -> Self {
        let round = |value: f64, steps: f64| (value * steps).round() / steps + 0.0;
        Self {
            id: plan.id().to_owned(),
            files: files.to_vec(),
            footage: plan.footage().to_string(),
            strength: plan.correction().strength().get(),
            neutral_linear_srgb: plan.correction().neutral().map(|v| round(v, 1e4)),
            matrix: plan.correction().matrix().0.map(|row| row.map(|v| round(v, 1e8))),
            slope: plan.fit().cdl.slope(),
            fit_mean_delta_e_2000: round(plan.fit().mean_delta_e, 100.0),
            fit_max_delta_e_2000: round(plan.fit().max_delta_e, 100.0),
            headroom: plan.headroom().clone(),
            safe_strength: plan.safe_strength().map(|strength| strength.get()),
            warnings: plan.warnings().to_vec(),
        }
    }
}
