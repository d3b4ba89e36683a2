//! Large JPEGs by their block means, held against the full decode of the same files.

use jpeg_encoder::{ColorType, Encoder, SamplingFactor};
use mirecast::balance::White;
use mirecast::frames::{Tolerance, Verdict, estimate, verdict};
use mirecast::still::{LinearFrame, ReadError, ReadOptions, Still, read_bytes};

const SAMPLINGS: [(&str, SamplingFactor); 4] = [
    ("4:4:4", SamplingFactor::F_1_1),
    ("4:2:2", SamplingFactor::F_2_1),
    ("4:4:0", SamplingFactor::F_1_2),
    ("4:2:0", SamplingFactor::F_2_2),
];

/// Repeatable numbers that look random.
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, end: usize) -> usize {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % end
    }
}

/// Surfaces of several colours, fine texture in some, slopes, a bright part that clips, and noise.
fn pixels(width: usize, height: usize) -> Vec<u8> {
    let mut numbers = Numbers(7);
    let mut rgb = Vec::with_capacity(width * height * 3);
    for y in 0..height {
        for x in 0..width {
            let patch = (x / 300 + 2 * (y / 200)) % 5;
            let base =
                [[200, 150, 90], [90, 110, 150], [150, 160, 150], [60, 40, 35], [235, 225, 210]]
                    [patch];
            let texture = if patch % 2 == 0 { 0.0 } else { 20.0 * (x as f32 / 3.0).sin() };
            let slope = 1.0 + 0.2 * (y as f32 / height as f32 - 0.5);
            let noise = numbers.below(7) as f32 - 3.0;
            rgb.extend(base.map(|v| (v as f32 * slope + texture + noise).clamp(0.0, 255.0) as u8));
        }
    }
    rgb
}

struct File {
    sampling: SamplingFactor,
    progressive: bool,
    grey: bool,
    orientation: u8,
}

impl File {
    fn jpeg(&self, width: usize, height: usize) -> Vec<u8> {
        let mut rgb = pixels(width, height);
        let mut jpeg = Vec::new();
        let mut encoder = Encoder::new(&mut jpeg, 90);
        encoder.set_sampling_factor(self.sampling);
        encoder.set_progressive(self.progressive);
        // Big-endian TIFF with one short in its directory.
        let mut exif = b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
        exif.extend([self.orientation, 0, 0, 0, 0, 0, 0]);
        assert!(encoder.add_app_segment(1, exif).is_ok(), "a short segment can be written");
        let mut colour = ColorType::Rgb;
        if self.grey {
            rgb = rgb.as_chunks::<3>().0.iter().map(|[_, green, _]| *green).collect();
            colour = ColorType::Luma;
        }
        let encoded = encoder.encode(&rgb, width as u16, height as u16, colour);
        assert!(encoded.is_ok(), "pixels can be encoded");
        jpeg
    }
}

fn by_blocks(jpeg: &[u8]) -> Result<Still, ReadError> {
    read_bytes(jpeg, &ReadOptions::default().for_frames())
}

/// Decoded in full, with cells of the same size as those made of blocks.
fn in_full(jpeg: &[u8], cells: u32) -> Result<Still, ReadError> {
    let mut options = ReadOptions::default().for_frames();
    options.block_means = false;
    options.long_side_cells = cells;
    read_bytes(jpeg, &options)
}

/// Differences of the cells' light, channel by channel, where neither is clipped.
fn differences(a: &LinearFrame, b: &LinearFrame) -> Vec<f32> {
    let pairs = a.cells.iter().zip(&b.cells);
    let sound = pairs.filter(|(a, b)| a.clipped == 0.0 && b.clipped == 0.0);
    let mut all: Vec<f32> =
        sound.flat_map(|(a, b)| [0, 1, 2].map(|i| (a.mean[i] - b.mean[i]).abs())).collect();
    all.sort_by(f32::total_cmp);
    all
}

#[test]
fn blocks_and_full_decode_give_the_same_light() {
    // Neither side a whole number of blocks or cells.
    let (width, height) = (2077, 1203);
    let plain = |sampling| File { sampling, progressive: false, grey: false, orientation: 1 };
    let mut files = Vec::new();
    for (name, sampling) in SAMPLINGS {
        files.push((name, plain(sampling)));
        files.push((name, File { progressive: true, ..plain(sampling) }));
    }
    let finest = SamplingFactor::F_1_1;
    files.push(("grey", File { grey: true, ..plain(finest) }));
    for orientation in [3, 6, 7] {
        files.push(("turned", File { orientation, ..plain(SamplingFactor::F_2_2) }));
    }
    for (name, file) in files {
        let name = format!("{name}, progressive {}, {}", file.progressive, file.orientation);
        let jpeg = file.jpeg(width, height);
        let blocks = by_blocks(&jpeg).unwrap();
        let frame = &blocks.frame;
        assert_eq!(frame.cell, 8, "{name}");
        let full = in_full(&jpeg, frame.columns.max(frame.rows)).unwrap();
        assert_eq!(blocks.shot, full.shot, "{name}");
        let other = &full.frame;
        let grid = |f: &LinearFrame| (f.width, f.height, f.cell, f.columns, f.rows, f.bits);
        assert_eq!(grid(frame), grid(other), "{name}");
        assert_ne!(frame.cells, other.cells, "{name}: it was decoded in full");
        let apart = differences(frame, other);
        assert!(apart.len() > frame.cells.len(), "{name}: {}", apart.len());
        let at = |part: usize| apart[apart.len() * part / 100];
        // Turned, cells begin at the picture's other end and no longer where blocks do.
        let most = if file.orientation == 1 { 0.04 } else { 0.05 };
        assert!(at(50) < 0.005 && at(95) < most, "{name}: {} {}", at(50), at(95));
        let mean = |f: &LinearFrame| -> [f64; 3] {
            [0, 1, 2].map(|i| {
                f.cells.iter().map(|cell| f64::from(cell.mean[i])).sum::<f64>()
                    / f.cells.len() as f64
            })
        };
        for (got, wanted) in mean(frame).into_iter().zip(mean(other)) {
            assert!((got / wanted - 1.0).abs() < 0.02, "{name}: {got} {wanted}");
        }
        let clipped = |f: &LinearFrame| f.cells.iter().filter(|cell| cell.clipped > 0.02).count();
        let (few, many) = (clipped(other) / 2, clipped(other) * 2);
        assert!((few..=many.max(9)).contains(&clipped(frame)), "{name}: {} {few}", clipped(frame));
    }
}

#[test]
fn small_pictures_are_decoded_in_full() {
    let file =
        File { sampling: SamplingFactor::F_2_2, progressive: false, grey: false, orientation: 1 };
    let jpeg = file.jpeg(2047, 64);
    assert_eq!(by_blocks(&jpeg).unwrap(), in_full(&jpeg, 384).unwrap());
}

/// What came of a file: its verdict and its cast, or that it could not be read.
fn outcome(still: &Result<Still, ReadError>, balance: &White) -> Option<(Verdict, f64)> {
    let posterior = estimate(&still.as_ref().ok()?.frame, balance);
    Some((verdict(&posterior, Tolerance::default()), posterior.mean().0.get()))
}

/// Whether two ways of reading a file agree: both refuse it, or both call it the same. A verdict at a threshold may
/// go either way as long as the casts are as good as one.
fn agree(a: Option<(Verdict, f64)>, b: Option<(Verdict, f64)>) -> bool {
    const SAME_CAST: f64 = 20.0;
    match (a, b) {
        (None, None) => true,
        (Some(a), Some(b)) => a.0 == b.0 || (a.1 - b.1).abs() < SAME_CAST,
        _ => false,
    }
}

/// Bytes changed, cut, repeated and wiped: both ways agree on whether there is a picture, and on what it says.
/// `MIRECAST_MUTATIONS` says how many of each file, `MIRECAST_JPEGS` names more files to take.
#[test]
#[expect(clippy::print_stdout, reason = "a long run by hand is made for its counts")]
fn damaged_files_are_judged_alike() {
    let count = std::env::var("MIRECAST_MUTATIONS").ok().and_then(|n| n.parse().ok()).unwrap_or(60);
    let balance = White::photographic_daylight().unwrap();
    let sampling = SamplingFactor::F_2_2;
    let mut files: Vec<Vec<u8>> = [false, true]
        .map(|progressive| {
            File { sampling, progressive, grey: false, orientation: 1 }.jpeg(2048, 320)
        })
        .into();
    let more = std::env::var("MIRECAST_JPEGS").unwrap_or_default();
    files.extend(more.split_whitespace().map(|path| std::fs::read(path).unwrap()));
    let (mut read, mut refused, mut by_blocks_alone) = (0, 0, 0);
    let mut apart = Vec::new();
    for (number, file) in files.iter().enumerate() {
        let mut numbers = Numbers(number as u64 + 1);
        for mutation in 0..count {
            let mut jpeg = file.clone();
            mutate(&mut jpeg, &mut numbers, mutation);
            let blocks = by_blocks(&jpeg);
            let cells =
                blocks.as_ref().map_or(384, |still| still.frame.columns.max(still.frame.rows));
            let full = in_full(&jpeg, cells);
            let (a, b) = (outcome(&blocks, &balance), outcome(&full, &balance));
            match (&a, &b) {
                (None, None) => refused += 1,
                (Some(_), Some(_)) => read += 1,
                _ => {}
            }
            by_blocks_alone += usize::from(blocks.as_ref().ok() != full.as_ref().ok());
            if !agree(a, b) {
                let error = full.err().map(|error| error.to_string());
                apart.push(format!("file {number}, mutation {mutation}: {a:?} {b:?} {error:?}"));
            }
        }
    }
    println!(
        "{read} read, {refused} refused, {by_blocks_alone} by their blocks, {} apart",
        apart.len()
    );
    assert!(apart.is_empty(), "{}", apart.join("\n"));
    assert!(read > count / 4 && refused > count / 4, "{read} {refused}");
}

fn mutate(jpeg: &mut Vec<u8>, numbers: &mut Numbers, kind: usize) {
    let length = jpeg.len();
    let at = match kind % 3 {
        0 => numbers.below(700.min(length)),
        _ => numbers.below(length),
    };
    let run = 1 + numbers.below(40);
    let end = (at + run).min(length);
    match kind % 8 {
        0..=2 => jpeg[at] = numbers.below(256) as u8,
        3 => jpeg[at] ^= 1 << numbers.below(8),
        4 => jpeg.truncate(at),
        5 => drop(jpeg.drain(at..end)),
        6 => jpeg[at..end].fill(0),
        _ => jpeg.truncate(length - numbers.below(4)),
    }
}
