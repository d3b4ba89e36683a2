//! Pictures: read, judged as a card and as a frame, and written out.

use std::path::Path;

use lab::Rng;
use lab::tiff::ByteOrder;
use mirecast::Told;
use mirecast::balance::PresetTable;
use mirecast::card::{CardOptions, read_card};
use mirecast::frames::{FrameOptions, check_frame};
use mirecast::report::{
    CardSheet, CardTable, Emphasis, FrameFilter, FrameOrder, FrameRecord, FrameTable, FramesPage,
    GroupRecord, PhotoRecord, write_frames_text, write_json_line,
};
use mirecast::still::{ReadOptions, Still, read_bytes};

use super::{FEW_PIXELS, Setting, Target, harmless};
use crate::dice::Dice;
use crate::mutate::{
    Grammar, bend_boxes, bend_bytes, bend_icc, bend_jpeg, bend_png, bend_riff, bend_text,
    bend_tiff, deflate, with_chunk, with_riff_chunk, with_segment,
};
use crate::seeds::{Kind, Seeds, exif, icc_profiles, seeds, xmp};

/// Whole files of one kind.
pub(super) struct Pictures {
    kind: Kind,
    seeds: Seeds,
}

impl Pictures {
    pub(super) fn new(kind: Kind, setting: &Setting) -> Self {
        Self { kind, seeds: seeds(kind, &setting.folders) }
    }
}

impl Target for Pictures {
    fn input(&self, rng: &mut Rng) -> Vec<u8> {
        let rare = rng.once_in(40) && !self.seeds.large.is_empty();
        let from = if rare { &self.seeds.large } else { &self.seeds.small };
        let mut bytes = rng.pick(from).cloned().unwrap_or_default();
        match self.kind {
            _ if rng.once_in(8) => bend_bytes(rng, &mut bytes),
            Kind::Jpeg => bend_jpeg(rng, &mut bytes),
            Kind::Png => bend_png(rng, &mut bytes),
            Kind::WebP => bend_riff(rng, &mut bytes),
            Kind::JpegXl => bend_boxes(rng, &mut bytes),
            Kind::Tiff => bend_tiff(rng, &mut bytes),
            // Raw, whoever's.
            _ if rng.once_in(6) => bend_within(rng, &mut bytes),
            _ => bend_tiff(rng, &mut bytes),
        }
        bytes
    }

    fn run(&self, input: &[u8]) -> Result<String, String> {
        read_all(input, FEW_PIXELS)
    }
}

/// Raw files in cameras' own formats, which go to a decoder library. Its panics cost a user the one
/// file and are not ours to mend; that it comes to an end, and asks for no more memory than there is,
/// is.
#[cfg(feature = "raw-formats")]
pub(super) struct CameraRaw(Pictures);

#[cfg(feature = "raw-formats")]
impl CameraRaw {
    pub(super) fn new(setting: &Setting) -> Self {
        Self(Pictures::new(Kind::CameraRaw, setting))
    }
}

#[cfg(feature = "raw-formats")]
impl Target for CameraRaw {
    fn input(&self, rng: &mut Rng) -> Vec<u8> {
        self.0.input(rng)
    }

    fn run(&self, input: &[u8]) -> Result<String, String> {
        self.0.run(input)
    }

    /// Places in crates from elsewhere are absolute, ours are within the workspace.
    fn forgives(&self, place: &str) -> bool {
        std::path::Path::new(place).is_absolute()
    }
}

/// Changes a compressed picture inside a raw file.
fn bend_within(rng: &mut Rng, bytes: &mut Vec<u8>) {
    let starts = bytes.windows(2).enumerate().filter(|(_, pair)| *pair == [0xFF, 0xD8]);
    let starts: Vec<usize> = starts.map(|(at, _)| at).collect();
    let at = rng.pick(&starts).copied().unwrap_or(0);
    let mut tail = bytes.split_off(at);
    let length = tail.len();
    bend_jpeg(rng, &mut tail);
    // What lies behind stays in its place.
    tail.resize(length, 0);
    bytes.extend(tail);
}

/// What is broken inside a sound file.
#[derive(Debug, Clone, Copy)]
pub(super) enum Part {
    Exif,
    Icc,
    Xmp,
}

/// Sound files of every format with one broken thing beside the pixels.
pub(super) struct Inside {
    part: Part,
    carriers: [Vec<u8>; 3],
    profiles: Vec<Vec<u8>>,
}

impl Inside {
    pub(super) fn new(part: Part) -> Self {
        let none = Vec::new();
        let carrier = |kind| {
            // The last: small and of one colour.
            seeds(kind, &[]).small.into_iter().min_by_key(Vec::len).unwrap_or(none.clone())
        };
        let carriers = [Kind::Jpeg, Kind::Png, Kind::WebP].map(carrier);
        Self { part, carriers, profiles: icc_profiles() }
    }
}

impl Target for Inside {
    fn input(&self, rng: &mut Rng) -> Vec<u8> {
        let mut data = match self.part {
            Part::Exif => {
                let order =
                    [ByteOrder::LittleEndian, ByteOrder::BigEndian][usize::from(rng.once_in(2))];
                let mut block = exif(order);
                bend_tiff(rng, &mut block);
                block
            }
            Part::Icc => {
                let mut profile = rng.pick(&self.profiles).cloned().unwrap_or_default();
                bend_icc(rng, &mut profile);
                profile
            }
            Part::Xmp => {
                let mut packet = xmp();
                bend_text(rng, &mut packet, Grammar::Xml);
                packet
            }
        };
        if rng.once_in(30) {
            data.resize(70_000, 0x20);
        }
        let [jpeg, png, webp] = &self.carriers;
        let joined = |head: &[u8]| [head, &data].concat();
        match (self.part, rng.below(3)) {
            (Part::Exif, 0) => with_segment(jpeg, 0xE1, &joined(b"Exif\0\0")),
            (Part::Exif, 1) => with_chunk(png, *b"eXIf", &data),
            (Part::Exif, _) => with_riff_chunk(webp, *b"EXIF", &data),
            (Part::Icc, 0) => with_segment(jpeg, 0xE2, &joined(b"ICC_PROFILE\0\x01\x01")),
            (Part::Icc, _) => with_chunk(png, *b"iCCP", &[&b"p\0\0"[..], &deflate(&data)].concat()),
            (Part::Xmp, 0) => with_segment(jpeg, 0xE1, &joined(b"http://ns.adobe.com/xap/1.0/\0")),
            (Part::Xmp, 1) => with_chunk(png, *b"iTXt", &joined(b"XML:com.adobe.xmp\0\0\0\0\0")),
            (Part::Xmp, _) => with_riff_chunk(webp, *b"XMP ", &data),
        }
    }

    fn run(&self, input: &[u8]) -> Result<String, String> {
        read_all(input, FEW_PIXELS)
    }
}

/// Small files of any kind under the limits that users have: what says that it is enormous must be
/// refused soon, or be read in bounded time and memory.
pub(super) struct Bombs {
    kinds: Vec<Pictures>,
}

impl Bombs {
    pub(super) fn new(setting: &Setting) -> Self {
        let kinds = [Kind::Jpeg, Kind::Png, Kind::Tiff, Kind::WebP, Kind::Raw];
        Self { kinds: kinds.map(|kind| Pictures::new(kind, setting)).into() }
    }
}

impl Target for Bombs {
    fn input(&self, rng: &mut Rng) -> Vec<u8> {
        let Some(pictures) = rng.pick(&self.kinds) else { return Vec::new() };
        let mut bytes = rng.pick(&pictures.seeds.small).cloned().unwrap_or_default();
        // Sides up to what a format holds, below the limit of pixels together.
        let [width, height] = match rng.below(3) {
            0 => [14_000, 14_000],
            1 => [65_500, 3_000],
            _ => [3_000, 65_500],
        };
        let mut patch = |at: usize, value: u32, size: usize, little: bool| {
            let all = if little { value.to_le_bytes() } else { value.to_be_bytes() };
            let cut = if little { &all[..size] } else { &all[4 - size..] };
            if let Some(place) = bytes.get_mut(at..at + size) {
                place.copy_from_slice(cut);
            }
        };
        match pictures.kind {
            Kind::Png => {
                patch(16, width, 4, false);
                patch(20, height, 4, false);
                let header = bytes.get(16..29).unwrap_or_default().to_vec();
                let fixed = crate::mutate::chunk(*b"IHDR", &header);
                bytes.splice(8..33.min(bytes.len()), fixed);
            }
            Kind::Jpeg => {
                let frame = bytes.windows(2).position(|p| matches!(p, [0xFF, 0xC0..=0xC2]));
                let at = frame.unwrap_or(0);
                let sides = [height as u16, width as u16].map(u16::to_be_bytes).concat();
                if let Some(place) = bytes.get_mut(at + 5..at + 9) {
                    place.copy_from_slice(&sides);
                }
                if rng.once_in(2) {
                    bend_jpeg(rng, &mut bytes);
                }
            }
            Kind::WebP => bend_riff(rng, &mut bytes),
            _ => {
                let little = bytes.starts_with(b"II");
                for (tag, value) in [(256_u16, width), (257, height), (278, height)] {
                    let tag = if little { tag.to_le_bytes() } else { tag.to_be_bytes() };
                    let entry = bytes.windows(2).position(|pair| pair == tag);
                    if let (Some(entry), true) = (entry, rng.once_in(2) || value != height) {
                        let all = if little { value.to_le_bytes() } else { value.to_be_bytes() };
                        if let Some(place) = bytes.get_mut(entry + 8..entry + 12) {
                            place.copy_from_slice(&all);
                        }
                    }
                }
                if rng.once_in(3) {
                    bend_tiff(rng, &mut bytes);
                }
            }
        }
        bytes
    }

    fn run(&self, input: &[u8]) -> Result<String, String> {
        read_all(input, ReadOptions::default().max_pixels)
    }

    fn memory_kib(&self) -> u64 {
        4 << 20
    }
}

/// Reads a picture and makes everything of it that the program would.
fn read_all(input: &[u8], max_pixels: u64) -> Result<String, String> {
    let mut options = ReadOptions::default();
    options.max_pixels = max_pixels;
    let still = match read_bytes(input, &options) {
        Ok(still) => still,
        Err(error) => {
            harmless(error.to_string().as_bytes())?;
            return Ok(error.code().to_owned());
        }
    };
    judge(&still)?;
    options.stored_colours = false;
    read_bytes(input, &options).map_err(|error| format!("read, then not: {error}"))?;
    Ok("read".to_owned())
}

fn judge(still: &Still) -> Result<(), String> {
    let say = |error: std::io::Error| error.to_string();
    let presets = PresetTable::built_in().map_err(|error| error.to_string())?;
    let name = Path::new("a.jpg");
    let card = PhotoRecord::read(name, read_card(still, &CardOptions::new(presets.clone())));
    let frame = FrameRecord::read(name, check_frame(still, &FrameOptions::new(presets)));

    let mut json = Vec::new();
    write_json_line(&mut json, &card).map_err(say)?;
    write_json_line(&mut json, &frame).map_err(say)?;
    // Control characters are written as escapes there.
    harmless(&json)?;
    let line = json.split(|byte| *byte == b'\n').nth(1).unwrap_or_default();
    FrameRecord::from_json(line).map_err(|error| format!("a record is not read back: {error}"))?;

    let mut sheet = CardSheet::new(Vec::new(), Emphasis::None);
    sheet.write(&card).map_err(say)?;
    harmless(&sheet.finish().map_err(say)?)?;
    let mut table = Vec::new();
    CardTable::new(&mut table).map_err(say)?.write(&card).map_err(say)?;
    harmless(&table)?;

    let mut frames = [frame];
    let groups = GroupRecord::of_frames(&mut frames);
    let filter = FrameFilter::All;
    let (order, told) = (FrameOrder::Given, Told::AtTerminal);
    let page = FramesPage { frames: &frames, groups: &groups, filter, order, told };
    let mut text = Vec::new();
    write_frames_text(&mut text, &page, Emphasis::None).map_err(say)?;
    harmless(&text)?;
    let mut table = Vec::new();
    let [frame] = &frames;
    FrameTable::new(&mut table).map_err(say)?.write(frame, &groups).map_err(say)?;
    harmless(&table)
}
