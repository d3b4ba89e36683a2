//! Where in the picture a card's problems are.

use super::banding::Banding;
use super::cell_box::CellBox;
use super::evenness::Evenness;
use super::problem::Problem;
use super::sample::Samples;
use crate::still::LinearFrame;

/// What is known of where things are on a card.
#[derive(Debug, Clone, Default)]
pub(crate) struct Places {
    clipped: Vec<CellBox>,
    glare: Vec<CellBox>,
    marked: Vec<CellBox>,
    bands: Vec<CellBox>,
    /// The dimmest and the brightest part.
    extremes: Vec<CellBox>,
    /// The two ends on which different lights fall.
    ends: Vec<CellBox>,
}

impl Places {
    /// Of a card whose exposure alone was looked at.
    pub(crate) fn of_samples(samples: &Samples) -> Self {
        let left_out = &samples.left_out;
        Self {
            clipped: left_out.clipped.clone(),
            glare: left_out.glare.clone(),
            marked: left_out.marked.clone(),
            ..Self::default()
        }
    }

    /// Of a card that was read.
    pub(crate) fn of(samples: &Samples, banding: Option<&Banding>, evenness: &Evenness) -> Self {
        Self {
            bands: banding.map(|banding| banding.dark_bands(samples)).unwrap_or_default(),
            extremes: evenness.extremes.iter().flatten().copied().collect(),
            ends: evenness.ends.iter().flatten().map(|end| end.cells).collect(),
            ..Self::of_samples(samples)
        }
    }

    /// Where a problem is: rectangles as left, top, width and height in pixels of the upright
    /// picture. Empty where it has no place of its own.
    pub(crate) fn of_problem(&self, problem: &Problem, frame: &LinearFrame) -> Vec<[f64; 4]> {
        let cells = match problem {
            Problem::PartlyClipped { with_spots: true, .. } => {
                let spots = self.clipped.iter().chain(&self.glare);
                return spots.map(|cells| cells.pixels(frame)).collect();
            }
            Problem::Clipped { .. } | Problem::PartlyClipped { .. } => &self.clipped,
            Problem::Glare { .. } => &self.glare,
            Problem::Marked { .. } => &self.marked,
            Problem::Banding => &self.bands,
            Problem::Uneven { .. } => &self.extremes,
            Problem::MixedLight { .. } => &self.ends,
            Problem::Outshone { place, .. } | Problem::Blown { place, .. } => return vec![*place],
            _ => return Vec::new(),
        };
        cells.iter().map(|cells| cells.pixels(frame)).collect()
    }
}
