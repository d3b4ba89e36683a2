//! Records of earlier checks, grouped anew.

use std::path::Path;

use lab::Rng;
use mirecast::Told;
use mirecast::balance::PresetTable;
use mirecast::frames::{FrameOptions, check_frame};
use mirecast::report::{
    Emphasis, ErrorRecord, FrameFilter, FrameOrder, FrameRecord, FrameTable, FramesPage,
    GroupRecord, write_frames_text, write_json_line,
};
use mirecast::still::{ReadOptions, read_bytes};

use super::{Target, harmless};
use crate::dice::Dice;
use crate::mutate::{Grammar, bend_text};
use crate::seeds::{Kind, seeds};

pub(super) struct Records {
    lines: Vec<u8>,
}

impl Records {
    pub(super) fn new() -> Self {
        let mut lines = Vec::new();
        let Ok(presets) = PresetTable::built_in() else { return Self { lines } };
        let options = FrameOptions::new(presets);
        let mut records = Vec::new();
        for (n, bytes) in seeds(Kind::Jpeg, &[]).small.iter().enumerate() {
            let name = format!("day/{n:02}.jpg");
            if let Ok(still) = read_bytes(bytes, &ReadOptions::default()) {
                let record = FrameRecord::read(Path::new(&name), check_frame(&still, &options));
                records.push(record);
            }
        }
        records.push(FrameRecord::failure(Path::new("day/none.jpg"), ErrorRecord::stumbled()));
        let groups = GroupRecord::of_frames(&mut records);
        // Writing to memory does not fail.
        for record in &records {
            let _ = write_json_line(&mut lines, record);
        }
        for group in &groups {
            let _ = write_json_line(&mut lines, group);
        }
        Self { lines }
    }
}

impl Target for Records {
    fn input(&self, rng: &mut Rng) -> Vec<u8> {
        let mut bytes = self.lines.clone();
        let lines = bytes.iter().filter(|byte| **byte == b'\n').count();
        // A few lines of them: more inputs in the same time.
        let cut = 1 + rng.below(lines);
        let ends = bytes.iter().enumerate().filter(|(_, byte)| **byte == b'\n');
        let end = ends.map(|(at, _)| at + 1).nth(cut - 1).unwrap_or(bytes.len());
        bytes.truncate(end);
        bend_text(rng, &mut bytes, Grammar::Json);
        bytes
    }

    fn run(&self, input: &[u8]) -> Result<String, String> {
        let say = |error: std::io::Error| error.to_string();
        let lines = input.split(|byte| *byte == b'\n').filter(|line| !line.is_empty());
        let mut bad = 0;
        let mut frames = Vec::new();
        for line in lines {
            match FrameRecord::from_json(line) {
                Ok(record) => frames.extend(record),
                Err(error) => {
                    bad += 1;
                    // The program escapes it on the way out.
                    harmless(mirecast::report::plain(&error.to_string()).as_bytes())?;
                }
            }
        }
        let groups = GroupRecord::of_frames(&mut frames);
        for order in [FrameOrder::Given, FrameOrder::Time, FrameOrder::Cast, FrameOrder::Group] {
            let filter = FrameFilter::All;
            let told = Told::AtTerminal;
            let page = FramesPage { frames: &frames, groups: &groups, filter, order, told };
            let mut text = Vec::new();
            write_frames_text(&mut text, &page, Emphasis::None).map_err(say)?;
            harmless(&text)?;
        }
        let mut table = Vec::new();
        let mut rows = FrameTable::new(&mut table).map_err(say)?;
        frames.iter().try_for_each(|frame| rows.write(frame, &groups)).map_err(say)?;
        drop(rows);
        harmless(&table)?;
        Ok(if bad == 0 { "all lines read" } else { "some lines passed over" }.to_owned())
    }
}
