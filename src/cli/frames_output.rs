//! Frame records on their way out.

use std::io::{self, StdoutLock, Write};

use mirecast::Told;
use mirecast::report::{
    FrameRecord, FrameTable, FramesPage, GroupRecord, write_frames_text, write_json_line,
};

use super::args::Format;
use super::args::Listing;
use super::exit::Outcome;
use super::output::{emphasis, stdout};

/// Prints frames that are all there, with their groups.
pub(crate) fn write_frames(
    frames: &[FrameRecord],
    groups: &[GroupRecord],
    listing: Listing,
) -> io::Result<()> {
    let (filter, order) = (listing.filter(), listing.order());
    let page = FramesPage { frames, groups, filter, order, told: Told::AtTerminal };
    match listing.format {
        Format::Text => write_frames_text(&mut stdout(), &page, emphasis()),
        Format::Json => {
            let mut out = io::stdout().lock();
            page.listed().iter().try_for_each(|record| write_json_line(&mut out, record))?;
            groups.iter().try_for_each(|group| write_json_line(&mut out, group))?;
            out.flush()
        }
        Format::Csv => {
            let mut table = FrameTable::new(io::stdout().lock())?;
            page.listed().iter().try_for_each(|record| table.write(record, groups))
        }
    }
}

/// Prints frames one by one, without groups. Text begins with a summary, so it waits for all.
pub(crate) enum FramesStream {
    Text(Vec<FrameRecord>),
    Json(StdoutLock<'static>),
    Csv(Box<FrameTable<StdoutLock<'static>>>),
}

impl FramesStream {
    pub(crate) fn new(format: Format) -> io::Result<Self> {
        Ok(match format {
            Format::Text => Self::Text(Vec::new()),
            Format::Json => Self::Json(io::stdout().lock()),
            Format::Csv => Self::Csv(Box::new(FrameTable::new(io::stdout().lock())?)),
        })
    }

    pub(crate) fn write(&mut self, record: FrameRecord, listing: Listing) -> io::Result<()> {
        match self {
            Self::Text(records) => records.push(record),
            _ if !listing.filter().lists(&record) => {}
            Self::Json(out) => {
                write_json_line(out, &record)?;
                out.flush()?;
            }
            Self::Csv(table) => table.write(&record, &[])?,
        }
        Ok(())
    }

    pub(crate) fn finish(self, listing: Listing) -> io::Result<()> {
        match self {
            Self::Text(records) => write_frames(&records, &[], listing),
            // Each line was flushed.
            Self::Json(_) | Self::Csv(_) => Ok(()),
        }
    }
}

/// How a run over frames ended, by how many could not be read.
pub(crate) fn outcome(failed: usize) -> Outcome {
    if failed == 0 { Outcome::AllRead } else { Outcome::Incomplete }
}
