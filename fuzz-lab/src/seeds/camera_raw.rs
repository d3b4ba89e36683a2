//! Files in cameras' own formats, as far as the decoder library takes them for such: of every maker
//! in its own table, by what stands there. Few are sound; they are to reach every decoder.

use std::collections::BTreeMap;

use lab::tiff::{ByteOrder, Value, directory};
use rawler::decoders::Camera;

const WIDTH: u32 = 64;
const HEIGHT: u32 = 48;

pub(super) fn all() -> Vec<Vec<u8>> {
    let cameras = rawler::global_loader().get_cameras().values();
    // Some of each maker: its first and its last model.
    let mut makers: BTreeMap<&str, Vec<&Camera>> = BTreeMap::new();
    for camera in cameras {
        makers.entry(&camera.make).or_default().push(camera);
    }
    let mut all = Vec::new();
    for (number, cameras) in makers.values_mut().enumerate() {
        cameras.sort_by(|a, b| (&a.model, &a.mode).cmp(&(&b.model, &b.mode)));
        let some = cameras.first().into_iter().chain(cameras.get(cameras.len() / 2));
        for (nth, camera) in some.enumerate() {
            let order = [ByteOrder::LittleEndian, ByteOrder::BigEndian][(number + nth) % 2];
            // Plain, lossless JPEG, and numbers that makers use.
            for compression in [1, 7, 34_713, 32_767] {
                all.push(directories(camera, order, compression));
            }
        }
        all.extend(cameras.last().map(|camera| blocks(camera)));
    }
    let sound = all.first().cloned().unwrap_or_default();
    for magic in [&b"IIRO"[..], b"IIRS", b"MMOR", b"IIU\0", b"FOVb", b"FUJIFILMCCD-RAW 0201"] {
        let mut other = sound.clone();
        other.splice(..magic.len(), magic.iter().copied());
        all.push(other);
    }
    all.push(boxes());
    all.push(heap());
    all
}

/// In the form of a TIFF: a small picture, the samples below it, and Exif with a maker's note.
fn directories(camera: &Camera, order: ByteOrder, compression: u16) -> Vec<u8> {
    let header = match order {
        ByteOrder::LittleEndian => b"II\x2A\0\x08\0\0\0",
        ByteOrder::BigEndian => b"MM\0\x2A\0\0\0\x08",
    };
    let samples: Vec<u8> = (0..WIDTH * HEIGHT * 2).map(|n| (n * 7 % 251) as u8).collect();
    // Offsets are known once everything else is laid out; each part has the same length then.
    let mut bytes = Vec::new();
    let mut places = [0_u32; 4];
    for _ in 0..2 {
        let [below, exif, note, data] = places;
        let main = [
            (254, Value::long(0)),
            (256, Value::long(WIDTH)),
            (257, Value::long(HEIGHT)),
            (258, Value::short(14)),
            (259, Value::short(compression)),
            (262, Value::short(32_803)),
            (271, Value::Ascii(camera.make.clone())),
            (272, Value::Ascii(camera.model.clone())),
            (273, Value::long(data)),
            (277, Value::short(1)),
            (278, Value::long(HEIGHT)),
            (279, Value::long(samples.len() as u32)),
            (330, Value::Longs(vec![below])),
            (33_421, Value::Shorts(vec![2, 2])),
            (33_422, Value::Bytes(vec![0, 1, 1, 2])),
            (34_665, Value::long(exif)),
        ];
        let second: Vec<(u16, Value)> =
            main.iter().filter(|(tag, _)| !matches!(tag, 330 | 34_665)).cloned().collect();
        let own = [(1, Value::long(1)), (12, Value::Shorts(vec![400, 256, 256, 300]))];
        bytes = header.to_vec();
        bytes.extend(directory(order, bytes.len(), &main, 0));
        places[0] = bytes.len() as u32;
        bytes.extend(directory(order, bytes.len(), &second, 0));
        places[1] = bytes.len() as u32;
        let taken = [(33_434, Value::Longs(vec![1, 2])), (37_500, Value::Undefined(vec![0; 60]))];
        bytes.extend(directory(order, bytes.len(), &taken, 0));
        places[2] = bytes.len() as u32;
        bytes.extend(directory(order, note as usize, &own, 0));
        places[3] = bytes.len() as u32;
        bytes.extend(&samples);
    }
    bytes
}

/// Blocks with a size before the samples.
fn blocks(camera: &Camera) -> Vec<u8> {
    let block = |name: &[u8; 4], content: &[u8]| {
        [&name[..], &(content.len() as u32).to_be_bytes(), content].concat()
    };
    let size = [HEIGHT as u16, WIDTH as u16].map(u16::to_be_bytes).concat();
    let layout = [&[0; 8][..], &size, &[0; 4], &[16, 12, 0, 0, 0, 0, 0, 0]].concat();
    let balance = [&[0; 4][..], &[2, 0, 1, 0, 1, 0, 2, 0]].concat();
    let order = ByteOrder::BigEndian;
    let entries =
        [(271, Value::Ascii(camera.make.clone())), (272, Value::Ascii(camera.model.clone()))];
    let tiff = [&b"MM\0\x2A\0\0\0\x08"[..], &directory(order, 8, &entries, 0), &[0; 32]].concat();
    let all =
        [block(b"\0PRD", &layout), block(b"\0WBG", &balance), block(b"\0TTW", &tiff)].concat();
    let samples = vec![3; (WIDTH * HEIGHT * 2) as usize];
    [block(b"\0MRM", &all), samples].concat()
}

fn boxed(kind: &[u8; 4], content: &[u8]) -> Vec<u8> {
    [&(content.len() as u32 + 8).to_be_bytes()[..], kind, content].concat()
}

/// Boxes in boxes.
fn boxes() -> Vec<u8> {
    let table =
        |kind: &[u8; 4]| boxed(kind, &[&[0; 4][..], &1_u32.to_be_bytes(), &[0; 24]].concat());
    let tables = [b"stsd", b"stts", b"stsc", b"stsz", b"co64"].map(table).concat();
    let information = [boxed(b"dinf", &[0; 8]), boxed(b"stbl", &tables)].concat();
    let media = [boxed(b"mdhd", &[0; 24]), boxed(b"hdlr", &[0; 25]), boxed(b"minf", &information)];
    let track = [boxed(b"tkhd", &[0; 84]), boxed(b"mdia", &media.concat())].concat();
    let tiff = [
        &b"MM\0\x2A\0\0\0\x08"[..],
        &directory(ByteOrder::BigEndian, 8, &[(271, Value::Ascii("Studio".to_owned()))], 0),
    ]
    .concat();
    let mut own = b"\x85\xc0\xb6\x87\x82\x0f\x11\xe0\x81\x11\xf4\xce\x46\x2b\x6a\x48".to_vec();
    own.extend(
        [b"CNCV", b"CMT1", b"CMT2", b"CMT3", b"CMT4"].map(|kind| boxed(kind, &tiff)).concat(),
    );
    let movie = [boxed(b"mvhd", &[0; 100]), boxed(b"uuid", &own), boxed(b"trak", &track)].concat();
    let all = [
        boxed(b"ftyp", b"crx \0\0\0\x01crx isom"),
        boxed(b"moov", &movie),
        boxed(b"mdat", &[0; 64]),
    ];
    all.concat()
}

/// A heap of values with its directory at the end, and one in it.
fn heap() -> Vec<u8> {
    let entry = |word: u16, length: u32, at: u32| {
        [&word.to_le_bytes()[..], &length.to_le_bytes(), &at.to_le_bytes()].concat()
    };
    let mut inner = b"Studio\0Camera\0\0\0".to_vec();
    inner.extend(1_u16.to_le_bytes());
    inner.extend(entry(0x080a, 16, 0));
    inner.extend(16_u32.to_le_bytes());
    let length = inner.len() as u32;
    let mut bytes = b"II\x0e\0\0\0HEAPCCDR".to_vec();
    bytes.extend(inner);
    bytes.extend(2_u16.to_le_bytes());
    bytes.extend(entry(0x300a, length, 0));
    bytes.extend(entry(0x4000, 1, 2));
    bytes.extend(length.to_le_bytes());
    bytes
}
