//! Files → one to save.

use std::io::Write;

use flate2::Compression;
use flate2::write::DeflateEncoder;
use mirecast::grade::CorrectionFile;
use rawzip::{CompressionMethod, ZipArchiveWriter};

use super::refusal::Refusal;

/// The files in a ZIP archive, which says no time of its own, so that the same files make the same
/// archive; `None` for no files.
pub(crate) fn zipped(files: &[CorrectionFile]) -> Result<Option<Vec<u8>>, Refusal> {
    if files.is_empty() {
        return Ok(None);
    }
    archive(files).map(Some).map_err(|_| Refusal::Stumbled)
}

fn archive(files: &[CorrectionFile]) -> Result<Vec<u8>, rawzip::Error> {
    let mut archive = ZipArchiveWriter::new(Vec::new());
    for file in files {
        // Not every reader takes files that are only stored and say their size after themselves.
        let entry = archive.new_file(file.name.as_str());
        let (mut entry, data) = entry.compression_method(CompressionMethod::DEFLATE).start()?;
        let mut inside = data.wrap(DeflateEncoder::new(&mut entry, Compression::default()));
        inside.write_all(&file.bytes)?;
        let (encoder, described) = inside.finish()?;
        encoder.finish()?;
        entry.finish(described)?;
    }
    archive.finish()
}

#[cfg(test)]
mod tests {
    use std::io::Read;

    use flate2::read::DeflateDecoder;
    use rawzip::ZipArchive;

    use super::*;

    #[test]
    fn files_come_out_as_they_were_put_in() {
        let file = |name: &str, bytes: &[u8]| CorrectionFile {
            name: name.to_owned(),
            bytes: bytes.to_vec(),
        };
        let files = [file("été_01.cc", b"one"), file("corrections.ccc", b"")];
        let bytes = zipped(&files).unwrap().unwrap();
        assert_eq!(zipped(&files).unwrap().as_ref(), Some(&bytes));
        let archive = ZipArchive::from_slice(&bytes).unwrap();
        let mut entries = archive.entries();
        for wanted in files {
            let entry = entries.next_entry().unwrap().unwrap();
            assert_eq!(entry.file_path().try_normalize().unwrap().as_ref(), wanted.name);
            let data = archive.get_entry(entry.wayfinder()).unwrap();
            let mut inside = Vec::new();
            let decoder = DeflateDecoder::new(data.data());
            data.verifying_reader(decoder).read_to_end(&mut inside).unwrap();
            assert_eq!(inside, wanted.bytes);
        }
        assert!(entries.next_entry().unwrap().is_none());
        assert_eq!(zipped(&[]), Ok(None));
    }
}
