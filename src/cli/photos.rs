//! The photos to read: those named, then those listed.

use std::fs::File;
use std::io::{self, BufRead, BufReader};
use std::path::{Path, PathBuf};

use super::exit::RunError;
use super::inputs::is_input;
use super::lines::{Line, lines_to};

/// No system takes longer ones.
const LONGEST_PATH: u64 = 32 << 10;
const NO_LIST: &str = "a line is longer than any path, so this is no list";
const FOLDER: &str = "it is a folder, not a list; name a file with one path a line";

/// The paths in the order given. A list is read as it is needed, so that it may be endless.
pub(crate) fn photos<'a>(
    named: &'a [PathBuf],
    list: Option<&'a Path>,
) -> Result<impl Iterator<Item = Result<PathBuf, RunError>> + Send + 'a, RunError> {
    let listed = list.map(open).transpose()?.into_iter().flat_map(move |lines| {
        let path = list.unwrap_or(Path::new("")).to_path_buf();
        paths(lines)
            .map(move |line| line.map_err(|source| RunError::List { path: path.clone(), source }))
    });
    Ok(named.iter().cloned().map(Ok).chain(listed))
}

fn open(list: &Path) -> Result<Box<dyn BufRead + Send>, RunError> {
    if list == Path::new("-") {
        return Ok(Box::new(BufReader::new(io::stdin())));
    }
    let cannot = |source| RunError::List { path: list.to_path_buf(), source };
    if list.is_dir() {
        return Err(cannot(io::Error::new(io::ErrorKind::IsADirectory, FOLDER)));
    }
    is_input(list);
    let file = File::open(list).map_err(cannot)?;
    Ok(Box::new(BufReader::new(file)))
}

/// One path a line; empty lines are passed over, blank ones too, and so is the mark some editors put before the first,
/// and quotes round a path that is there only without them. A list may have zero bytes between its paths instead, as
/// `find -print0` writes it: that names a file of blanks, too.
fn paths(mut input: impl BufRead + Send) -> impl Iterator<Item = io::Result<PathBuf>> + Send {
    // What cannot be read is told with the first line.
    let end = if input.fill_buf().is_ok_and(has_zeros_between) { 0 } else { b'\n' };
    lines_to(end, input, LONGEST_PATH).enumerate().filter_map(move |(index, line)| {
        let line = match line {
            Ok(Line::Whole(line)) => line,
            Ok(Line::TooLong) => {
                return Some(Err(io::Error::new(io::ErrorKind::InvalidData, NO_LIST)));
            }
            Err(error) => return Some(Err(error)),
        };
        let mut line = line.as_slice();
        if index == 0 {
            line = line.strip_prefix(b"\xef\xbb\xbf").unwrap_or(line);
        }
        let is_nothing = line.is_empty() || end == b'\n' && line.trim_ascii().is_empty();
        (!is_nothing).then(|| {
            let path = path(line)?;
            match unquoted(&path) {
                Some(bare) if !path.exists() && bare.exists() => Ok(bare.to_owned()),
                _ => Ok(path),
            }
        })
    })
}

/// Whether a list's beginning holds paths with zero bytes between. No path is empty, and UTF-16 has zeros of
/// its own.
fn has_zeros_between(start: &[u8]) -> bool {
    let is_utf_16 = start.starts_with(b"\xff\xfe") || start.starts_with(b"\xfe\xff");
    !is_utf_16 && start.first() != Some(&0) && start.contains(&0)
}

/// A path without the quotes round it.
fn unquoted(path: &Path) -> Option<&Path> {
    let text = path.to_str()?;
    let within = |quote: char| text.strip_prefix(quote)?.strip_suffix(quote);
    within('"').or_else(|| within('\'')).map(Path::new)
}

#[cfg(unix)]
fn path(bytes: &[u8]) -> io::Result<PathBuf> {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    Ok(OsStr::from_bytes(bytes).into())
}

#[cfg(not(unix))]
fn path(bytes: &[u8]) -> io::Result<PathBuf> {
    let text = std::str::from_utf8(bytes)
        .map_err(|_| io::Error::new(io::ErrorKind::InvalidData, "it is not UTF-8 text"))?;
    Ok(text.into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_holds_one_path_a_line_whatever_wrote_it() {
        let list = b"\xef\xbb\xbfa.jpg\r\nb c.jpg\n\n  d.jpg\n\r\ne.jpg\n \t\r\n  ".as_slice();
        let read: Vec<_> = paths(list).map(Result::unwrap).collect();
        assert_eq!(read, ["a.jpg", "b c.jpg", "  d.jpg", "e.jpg"].map(PathBuf::from));
    }

    #[test]
    fn a_list_may_have_zero_bytes_between_its_paths() {
        let read = |list: &'static [u8]| paths(list).map(Result::unwrap).collect::<Vec<_>>();
        assert_eq!(read(b"a.jpg\0b\nc.jpg\0 \0"), ["a.jpg", "b\nc.jpg", " "].map(PathBuf::from));
        assert!(!has_zeros_between(b"\xff\xfea\0\n\0") && !has_zeros_between(b"\0\0\0"));
    }

    #[test]
    fn quotes_round_a_path_are_no_part_of_it() {
        let folder = tempfile::tempdir().unwrap();
        let photo = folder.path().join("a b.jpg");
        std::fs::write(&photo, "").unwrap();
        let list = format!("gone.jpg\n\"{}\"\n\"gone.jpg\"\n", photo.display());
        let read: Vec<_> = paths(io::Cursor::new(list)).map(Result::unwrap).collect();
        let as_it_stands = PathBuf::from("\"gone.jpg\"");
        assert_eq!(
            read,
            [PathBuf::from("gone.jpg"), photo, as_it_stands],
            "what is not there is told"
        );
    }

    #[cfg(unix)]
    #[test]
    fn a_listed_path_need_not_be_unicode() {
        use std::os::unix::ffi::OsStrExt;
        let read: Vec<_> = paths(b"a\xff.jpg\n".as_slice()).map(Result::unwrap).collect();
        assert_eq!(read[0].as_os_str().as_bytes(), b"a\xff.jpg");
    }

    #[test]
    fn named_photos_come_before_listed_ones_and_a_missing_list_is_an_error() {
        let named = [PathBuf::from("a.jpg")];
        assert_eq!(photos(&named, None).unwrap().count(), 1);
        let missing = photos(&named, Some(Path::new("no/such/list.txt"))).map(Iterator::count);
        assert!(
            missing.unwrap_err().to_string().contains("no/such/list.txt: cannot read the list")
        );
    }
}
