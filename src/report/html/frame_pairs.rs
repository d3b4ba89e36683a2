//! The pictures of the frames on a page: as shot, and corrected.

use std::thread;

use super::thumb::{Correction, FramePair, FramePicture, Room};
use crate::report::{FrameRecord, FramesPage};

/// The pictures of every frame that is listed, by all cores: they are what takes time in making a
/// page. `correction` says by what a frame is corrected.
pub(super) fn pairs(
    page: &FramesPage<'_>,
    pictures: &[Option<FramePicture>],
    correction: impl Fn(&FrameRecord) -> Option<(Correction, [[f64; 3]; 2])> + Sync,
) -> Vec<Option<FramePair>> {
    let frames = page.frames;
    let room = Room::for_frames(frames.len());
    let filter = page.filter;
    let pair = |record: &FrameRecord, picture: Option<&FramePicture>| {
        let picture = picture.filter(|_| filter.lists(record))?;
        picture.pair(correction(record).map(|(_, colours)| colours), room)
    };
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let share = frames.len().div_ceil(cores).max(1);
    thread::scope(|threads| {
        let parts: Vec<_> = frames
            .chunks(share)
            .enumerate()
            .map(|(part, records)| {
                let pair = &pair;
                threads.spawn(move || {
                    let picture = |at: usize| pictures.get(part * share + at);
                    let with_picture =
                        |(at, record)| pair(record, picture(at).and_then(Option::as_ref));
                    records.iter().enumerate().map(with_picture).collect::<Vec<_>>()
                })
            })
            .collect();
        // A part that fails leaves its frames without pictures.
        parts
            .into_iter()
            .zip(frames.chunks(share))
            .flat_map(|(part, records)| part.join().unwrap_or_else(|_| vec![None; records.len()]))
            .collect()
    })
}
