//! A maker's note straight after the header, with a directory of its own form: four numbers an entry.

use rawler::decoders::FormatHint;
use rawler::rawsource::RawSource;

use super::directories::Told;
use super::{Budget, damaged, fits};
use crate::still::ReadErrorKind;
use crate::still::guard::guarded;
use crate::still::numbers::Numbers;

/// Where the note starts.
const NOTE: usize = 8;
const WIDTH: u32 = 0x108;
const HEIGHT: u32 = 0x109;
/// A part of the file that is not read with the others.
const ELSEWHERE: u32 = 0x110;

/// Whether the library reads such a note in files of this maker and model: it is asked with a file
/// that says nothing else.
pub(super) fn is_one(told: &Told) -> bool {
    /// Longer names are nobody's.
    const LONGEST: usize = 100;
    /// Where the directory and where the names lie in that file.
    const DIRECTORY: usize = 64;
    const NAMES: usize = 128;
    // The library takes a name to its first zero, however many bytes the entry counts.
    let name = |told: &Option<Vec<u8>>| {
        told.as_ref().map(|name| name.split(|byte| *byte == 0).next().unwrap_or_default().to_vec())
    };
    let (Some(maker), Some(model)) = (name(&told.maker), name(&told.model)) else { return false };
    if maker.len().max(model.len()) > LONGEST {
        return false;
    }
    let mut probe = vec![0; NAMES];
    let mut put = |at: usize, bytes: &[u8]| {
        if let Some(place) = probe.get_mut(at..at + bytes.len()) {
            place.copy_from_slice(bytes);
        }
    };
    put(0, b"II\x2A\0");
    put(4, &(DIRECTORY as u32).to_le_bytes());
    // The note's own directory: nothing in it.
    put(NOTE + 8, &16_u32.to_le_bytes());
    put(DIRECTORY, &2_u16.to_le_bytes());
    let mut names = Vec::new();
    for (n, (tag, name)) in [(271_u16, &maker), (272, &model)].into_iter().enumerate() {
        // Never within the entry itself.
        let name = [&name[..], &[0; 5]].concat();
        let entry = DIRECTORY + 2 + 12 * n;
        put(entry, &[tag.to_le_bytes(), 2_u16.to_le_bytes()].concat());
        put(entry + 4, &(name.len() as u32).to_le_bytes());
        put(entry + 8, &((NAMES + names.len()) as u32).to_le_bytes());
        names.extend(name);
    }
    probe.extend(names);
    let hint = guarded(|| {
        rawler::get_decoder(&RawSource::new_from_slice(&probe)).map(|found| found.format_hint())
    });
    matches!(hint, Some(Ok(FormatHint::IIQ)))
}

/// Refuses a note that counts more than there is.
pub(super) fn walk(
    bytes: &[u8],
    max_pixels: u64,
    budget: &mut Budget,
) -> Result<(), ReadErrorKind> {
    let file = Numbers::little_endian(bytes);
    let Some(offset) = file.long(NOTE as u64 + 8) else { return Ok(()) };
    let directory = u64::from(offset) + NOTE as u64;
    let Some(count) = file.long(directory).map(u64::from) else { return Ok(()) };
    let more = || damaged("its maker's note counts more than there is");
    if count * 16 > file.len() {
        return Err(more());
    }
    let [mut width, mut height] = [0, 0];
    for n in 0..count {
        let at = directory + 8 + 16 * n;
        let parts = [0, 4, 8, 12].map(|part| file.long(at + part));
        let [Some(tag), Some(kind), Some(length), Some(value)] = parts else { return Ok(()) };
        let copied = if kind == 1 && tag != ELSEWHERE { length } else { 0 };
        if u64::from(copied) > file.len() {
            return Err(more());
        }
        budget.spend(copied.into())?;
        match tag {
            WIDTH => width = value,
            HEIGHT => height = value,
            _ => {}
        }
    }
    fits([width, height], max_pixels)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn note(count: u32, entries: &[[u32; 4]]) -> Vec<u8> {
        let mut bytes = b"II\x2A\0\x40\0\0\0IIII\0\0\0\0\x10\0\0\0\0\0\0\0".to_vec();
        bytes.resize(24, 0);
        bytes.extend([count, 0].map(u32::to_le_bytes).concat());
        bytes.extend(entries.iter().flatten().flat_map(|number| number.to_le_bytes()));
        bytes
    }

    #[test]
    fn a_note_that_counts_more_than_there_is_is_refused() {
        let limit = 1_000_000;
        let code = |bytes: &[u8]| {
            walk(bytes, limit, &mut Budget::of(bytes)).map_or_else(|error| error.code(), |()| "ok")
        };
        let size = |side: u32| note(2, &[[0x108, 4, 4, side], [0x109, 4, 4, side]]);
        assert_eq!(code(&size(900)), "ok");
        assert_eq!(code(&size(60_000)), "too-large");
        assert_eq!(code(&note(u32::MAX, &[])), "damaged");
        assert_eq!(code(&note(1, &[[0x410, 1, u32::MAX, 0]])), "damaged");
        let whole = size(900);
        for cut in 0..whole.len() {
            let _ = code(&whole[..cut]);
        }
    }

    #[test]
    fn the_library_is_asked_whose_notes_it_reads_so() {
        let cameras = rawler::global_loader().get_cameras().values();
        let with = |camera: &rawler::decoders::Camera, behind: &[u8]| {
            let name = |name: &str| Some([name.as_bytes(), behind].concat());
            let (maker, model) = (name(&camera.make), name(&camera.model));
            is_one(&Told { maker, model, ..Told::default() })
        };
        let asked = |camera| {
            let found = with(camera, b"");
            // However many bytes stand behind the name.
            assert_eq!(with(camera, &[&[0; 4][..], &[7; 4000]].concat()), found);
            found
        };
        let (mut some, mut all) = (0, 0);
        for camera in cameras.filter(|camera| camera.mode.is_empty()) {
            some += usize::from(asked(camera));
            all += 1;
        }
        assert!(some > 0 && some < all / 2, "{some} of {all}");
        assert!(!is_one(&Told::default()));
    }
}
