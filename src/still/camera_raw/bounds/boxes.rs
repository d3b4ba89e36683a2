//! Boxes (ISO/IEC 14496-12), as the library goes through them.

use super::{Budget, damaged, directories};
use crate::still::ReadErrorKind;
use crate::still::numbers::Numbers;

/// The box of a maker in `moov` that holds more boxes; others of the kind are not passed over but
/// gone into.
const DESCRIPTION: [u8; 16] = *b"\x85\xc0\xb6\x87\x82\x0f\x11\xe0\x81\x11\xf4\xce\x46\x2b\x6a\x48";
/// Boxes within boxes; no file has more than eight.
const DEEPEST: usize = 16;

/// Refuses boxes that lead back, stand still, or count more than there is.
pub(super) fn walk(bytes: &[u8]) -> Result<(), ReadErrorKind> {
    let mut budget = Budget::of(bytes);
    let mut at = 0;
    // The library stops by itself where the outermost boxes stand still.
    while let Some(found) = Found::at(bytes, at) {
        budget.spend(0)?;
        let end = found.end()?;
        if &found.kind == b"moov" {
            inside(bytes, found.content, end, *b"moov", 0, &mut budget)?;
        }
        if end <= at {
            break;
        }
        at = end;
    }
    Ok(())
}

struct Found {
    start: u64,
    size: u64,
    kind: [u8; 4],
    uuid: Option<[u8; 16]>,
    content: u64,
}

impl Found {
    /// `None` where the file ends before the head of the box does.
    fn at(bytes: &[u8], start: u64) -> Option<Self> {
        let file = Numbers::big_endian(bytes);
        let (size, kind) = (u64::from(file.long(start)?), file.array(start + 4)?);
        let at = start + 8;
        let (size, at) = if size == 1 { (file.long_long(at)?, at + 8) } else { (size, at) };
        let (uuid, at) = match &kind {
            b"uuid" => (Some(file.array(at)?), at + 16),
            _ => (None, at),
        };
        Some(Self { start, size, kind, uuid, content: at })
    }

    fn end(&self) -> Result<u64, ReadErrorKind> {
        self.start.checked_add(self.size).ok_or(damaged("a box in it is longer than the file"))
    }
}

/// Walks the boxes from `at` to `end`, which lie in a box of the kind `within`.
fn inside(
    bytes: &[u8],
    mut at: u64,
    end: u64,
    within: [u8; 4],
    depth: usize,
    budget: &mut Budget,
) -> Result<(), ReadErrorKind> {
    if depth > DEEPEST {
        return Err(damaged("boxes in it lie too deep in one another"));
    }
    while at < end {
        budget.spend(0)?;
        let Some(found) = Found::at(bytes, at) else { return Ok(()) };
        if &within == b"moov" && found.uuid.is_some_and(|uuid| uuid != DESCRIPTION) {
            at = found.content;
            continue;
        }
        let after = found.end()?;
        if after <= at {
            return Err(damaged("a box in it has no size"));
        }
        if after > bytes.len() as u64 {
            return Err(damaged("a box in it is longer than the file"));
        }
        let content = found.content;
        // What stands before the boxes in a box.
        let before = match &found.kind {
            b"trak" | b"mdia" | b"minf" | b"stbl" => Some(0),
            b"uuid" if &within == b"moov" => Some(0),
            b"CDI1" => Some(4),
            b"stsd" => Some(8),
            b"CCTP" => Some(12),
            b"CRAW" => Some(78),
            _ => None,
        };
        if let Some(before) = before {
            inside(bytes, content + before, after, found.kind, depth + 1, budget)?;
        }
        // Room is made for all of a table before it is read.
        let count = match &found.kind {
            b"stts" | b"stsc" | b"co64" => Some(content + 4),
            b"stsz" | b"CTMD" => Some(content + 8),
            _ => None,
        };
        if let Some(count) = count.and_then(|at| Numbers::big_endian(bytes).long(at))
            && u64::from(count) > found.size
        {
            return Err(damaged("a table in it counts more than there is"));
        }
        if let b"CMT1" | b"CMT2" | b"CMT3" | b"CMT4" = &found.kind {
            let block = content as usize..after as usize;
            let told = directories::walk(bytes.get(block).unwrap_or_default(), budget);
            told.map(drop)?;
        }
        at = after;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn boxed(kind: &[u8; 4], content: &[u8]) -> Vec<u8> {
        [&(content.len() as u32 + 8).to_be_bytes()[..], kind, content].concat()
    }

    fn file(moov: &[u8]) -> Vec<u8> {
        [boxed(b"ftyp", b"crx \0\0\0\x01crx isom"), boxed(b"moov", moov), boxed(b"mdat", &[0; 9])]
            .concat()
    }

    fn refused(bytes: &[u8]) -> Option<String> {
        walk(bytes).err().map(|error| error.to_string())
    }

    fn table(kind: &[u8; 4], before: usize, count: u32) -> Vec<u8> {
        boxed(kind, &[&vec![0; before][..], &count.to_be_bytes(), &[0; 24]].concat())
    }

    #[test]
    fn sound_boxes_pass() {
        let stbl = [table(b"stts", 4, 3), table(b"stsz", 8, 1)].concat();
        let moov = boxed(b"trak", &boxed(b"mdia", &boxed(b"minf", &boxed(b"stbl", &stbl))));
        assert_eq!(refused(&file(&moov)), None);
        assert_eq!(refused(b"II\x2A\0\x08\0\0\0\0\0"), None, "no boxes at all");
        let whole = file(&moov);
        for cut in 0..whole.len() {
            let _ = refused(&whole[..cut]);
        }
    }

    #[test]
    fn boxes_that_stand_still_or_lead_back_are_refused() {
        let still = [&0_u32.to_be_bytes()[..], b"free"].concat();
        assert!(refused(&file(&still)).is_some_and(|why| why.contains("no size")));
        let deeper = boxed(b"trak", &still);
        assert!(refused(&file(&deeper)).is_some_and(|why| why.contains("no size")));
        let back = [&1_u32.to_be_bytes()[..], b"free", &u64::MAX.to_be_bytes()].concat();
        assert!(refused(&[file(&[]), back].concat()).is_some_and(|why| why.contains("longer")));
        // Any file that begins so, by the library's own order.
        let any_other = b"IIROmoov\0\0\0\0free\0\0\0\0".to_vec();
        assert!(refused(&any_other).is_some_and(|why| why.contains("no size")));
        let deep = (0..40).fold(Vec::new(), |inner, _| boxed(b"trak", &inner));
        assert!(refused(&file(&deep)).is_some_and(|why| why.contains("deep")));
    }

    #[test]
    fn tables_that_count_more_than_there_is_are_refused() {
        for (kind, before) in [(b"stts", 4), (b"stsc", 4), (b"co64", 4), (b"stsz", 8)] {
            let stbl = boxed(b"stbl", &table(kind, before, u32::MAX));
            let moov = boxed(b"trak", &boxed(b"mdia", &boxed(b"minf", &stbl)));
            assert!(refused(&file(&moov)).is_some_and(|why| why.contains("table")), "{kind:?}");
        }
    }

    #[test]
    fn directories_in_boxes_are_walked() {
        let circle = b"II\x2A\0\x08\0\0\0\x01\0\0\x01\x04\0\x01\0\0\0\x09\0\0\0\x08\0\0\0";
        let mut description = DESCRIPTION.to_vec();
        description.extend(boxed(b"CMT1", circle));
        let moov = boxed(b"uuid", &description);
        assert!(refused(&file(&moov)).is_some_and(|why| why.contains("circle")));
    }
}
