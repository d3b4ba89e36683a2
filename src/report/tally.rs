//! How many photos came out how.

use std::fmt;

use super::words::plural;
use super::{CardVerdict, PhotoRecord};

/// Counts over a run of photos.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    /// Cards whose light is known, and with which nothing is wrong.
    pub good: usize,
    /// Cards whose light is known, with something to note.
    pub noted: usize,
    /// Good cards whose light cannot be placed.
    pub residual_only: usize,
    /// Cards that cannot be balanced from.
    pub refused: usize,
    /// Files that could not be read.
    pub failed: usize,
}

impl Tally {
    /// Counts one more photo.
    pub fn count(&mut self, record: &PhotoRecord) {
        *match record.verdict {
            CardVerdict::Good => &mut self.good,
            CardVerdict::SeeNotes => &mut self.noted,
            CardVerdict::LightUnknown => &mut self.residual_only,
            CardVerdict::Refused => &mut self.refused,
            CardVerdict::Failed => &mut self.failed,
        } += 1;
    }

    /// Photos in all.
    #[must_use]
    pub fn photos(&self) -> usize {
        self.good + self.noted + self.residual_only + self.refused + self.failed
    }
}

impl fmt::Display for Tally {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let counted = [
            (self.good, "good"),
            (self.noted, "with notes"),
            (self.residual_only, "good but in unknown light"),
            (self.refused, "cannot be balanced from"),
            (self.failed, "could not be read"),
        ];
        let photos = self.photos();
        f.write_str(&plural(photos, "photo"))?;
        let present = counted.into_iter().filter(|(number, _)| *number > 0);
        for (index, (number, what)) in present.enumerate() {
            write!(f, "{} {number} {what}", if index == 0 { ":" } else { "," })?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::examples;

    #[test]
    fn each_photo_is_counted_once_and_only_what_occurred_is_said() {
        let mut tally = Tally::default();
        assert_eq!(tally.to_string(), "0 photos");
        for record in examples::of_every_kind() {
            tally.count(&record);
        }
        assert_eq!(tally, Tally { good: 1, noted: 1, residual_only: 1, refused: 1, failed: 1 });
        assert_eq!(tally.photos(), 5);
        assert_eq!(
            tally.to_string(),
            "5 photos: 1 good, 1 with notes, 1 good but in unknown light, 1 cannot be balanced \
             from, 1 could not be read"
        );
        let one = Tally { failed: 1, ..Tally::default() };
        assert_eq!(one.to_string(), "1 photo: 1 could not be read");
    }
}
