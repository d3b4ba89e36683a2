//! The photos to read: those named, then those listed.

use std::fs::File;
use std::io::{self, BufRead, BufReader};
use std::path::{Path, PathBuf};

use super::exit::RunError;
use super::inputs::is_input;
use super::lines::{Line, lines};

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

/// One path a line; empty lines are passed over, and so is the mark some editors put before the
/// first.
fn paths(input: impl BufRead + Send) -> impl Iterator<Item = io::Result<PathBuf>> + Send {
    lines(input, LONGEST_PATH).enumerate().filter_map(|(index, line)| {
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
        (!line.is_empty()).then(|| path(line))
    })
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
        let list = b"\xef\xbb\xbfa.jpg\r\nb c.jpg\n\n  d.jpg\n\r\ne.jpg".as_slice();
        let read: Vec<_> = paths(list).map(Result::unwrap).collect();
        assert_eq!(read, ["a.jpg", "b c.jpg", "  d.jpg", "e.jpg"].map(PathBuf::from));
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
