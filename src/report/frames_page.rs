//! What is shown of a run of frames.

use super::{FrameFilter, FrameOrder, FrameRecord, GroupRecord};
use crate::told::Told;

/// What is printed of a run of frames.
#[derive(Debug, Clone, Copy)]
pub struct FramesPage<'a> {
    /// Every frame, in the order given.
    pub frames: &'a [FrameRecord],
    /// The groups that they are in; empty where they were not grouped.
    pub groups: &'a [GroupRecord],
    /// Which frames the table lists; the summary counts all.
    pub filter: FrameFilter,
    /// In which order it lists them.
    pub order: FrameOrder,
    /// Where the advice is read.
    pub told: Told,
}

impl<'a> FramesPage<'a> {
    /// The frames that are listed, in their order.
    #[must_use]
    pub fn listed(&self) -> Vec<&'a FrameRecord> {
        let mut listed: Vec<_> =
            self.frames.iter().filter(|record| self.filter.lists(record)).collect();
        self.order.sort(&mut listed);
        listed
    }
}
