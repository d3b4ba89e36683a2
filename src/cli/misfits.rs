//! What is said where no frame could be judged against the card that was named.

use std::path::Path;

use mirecast::frames::Misfit;

use super::complaint::whole_path;

/// Counts frames by whether they fit the card.
#[derive(Debug, Default)]
pub(super) struct Misfits {
    judged: usize,
    by_reason: [usize; Misfit::ALL.len()],
}

impl Misfits {
    /// Counts a frame that was read.
    pub(super) fn count(&mut self, misfit: Option<Misfit>) {
        match misfit {
            None => self.judged += 1,
            Some(misfit) => {
                let counts = Misfit::ALL.iter().zip(&mut self.by_reason);
                counts.filter(|(reason, _)| **reason == misfit).for_each(|(_, count)| *count += 1);
            }
        }
    }

    /// Whether there were frames and none fits.
    pub(super) fn are_all(&self) -> bool {
        self.judged == 0 && self.by_reason.iter().any(|count| *count > 0)
    }

    /// Why none fits, if so.
    pub(super) fn sentence(&self, card: &Path) -> Option<String> {
        let reasons = Misfit::ALL.iter().zip(self.by_reason).filter(|(_, count)| *count > 0);
        let reasons: Vec<_> =
            reasons.map(|(reason, count)| format!("{} ({count})", reason.as_str())).collect();
        self.are_all().then(|| {
            format!(
                "no frame was judged against the card in {}: {}. Photograph the card with the \
                 camera and at the balance of the frames; where a file does not say its balance, \
                 --shot-at does.",
                whole_path(card),
                reasons.join(", ")
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_where_no_frame_fits_is_it_said_and_why() {
        let card = Path::new("card.jpg");
        let mut misfits = Misfits::default();
        assert_eq!(misfits.sentence(card), None, "no frame was read");
        for misfit in [Misfit::Camera, Misfit::Balance, Misfit::Camera] {
            misfits.count(Some(misfit));
        }
        let said = misfits.sentence(card).expect("none fits");
        let wanted = "no frame was judged against the card in card.jpg: shot with another camera \
                      (2), shot at another balance (1). ";
        assert!(said.starts_with(wanted), "{said}");
        misfits.count(None);
        assert_eq!(misfits.sentence(card), None, "the report tells of the others");
    }
}
