//! Lines of bounded length.

use std::io::{self, BufRead, Read};

/// One line.
#[derive(Debug, PartialEq)]
pub(crate) enum Line {
    Whole(Vec<u8>),
    /// Longer than lines may be; the rest of it was passed over.
    TooLong,
}

/// A line is passed over for so many times the length that lines may have. What has none so far has no
/// lines, and perhaps no end, as a device of zeros.
const PASSED_OVER: u64 = 512;

/// The lines of an input, without their ends. One that is longer than `most` bytes costs itself
/// only, and no memory.
pub(crate) fn lines(input: impl BufRead, most: u64) -> impl Iterator<Item = io::Result<Line>> {
    lines_to(b'\n', input, most)
}

/// The same of lines that end with another byte.
pub(crate) fn lines_to(
    end: u8,
    mut input: impl BufRead,
    most: u64,
) -> impl Iterator<Item = io::Result<Line>> {
    std::iter::from_fn(move || next(end, &mut input, most).transpose())
}

fn next(end: u8, input: &mut impl BufRead, most: u64) -> io::Result<Option<Line>> {
    let mut line = Vec::new();
    if input.take(most + 1).read_until(end, &mut line)? == 0 {
        return Ok(None);
    }
    if line.last() == Some(&end) {
        line.pop();
    } else if line.len() as u64 > most {
        let most = most.saturating_mul(PASSED_OVER);
        if input.take(most).skip_until(end)? as u64 == most {
            return Err(io::Error::other("a line of it does not end"));
        }
        return Ok(Some(Line::TooLong));
    }
    if end == b'\n' && line.last() == Some(&b'\r') {
        line.pop();
    }
    Ok(Some(Line::Whole(line)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_that_never_ends_costs_itself_only() {
        let input = b"one\r\n\nfour!\nfiver\nsixsixsix\nlast".as_slice();
        let read: Vec<_> = lines(input, 5).map(Result::unwrap).collect();
        let whole = |text: &str| Line::Whole(text.as_bytes().to_vec());
        let wanted =
            [whole("one"), whole(""), whole("four!"), whole("fiver"), Line::TooLong, whole("last")];
        assert_eq!(read, wanted);
        assert_eq!(lines(b"".as_slice(), 5).count(), 0);
        let endless = lines(io::BufReader::new(io::repeat(0)), 5).next();
        assert!(endless.is_some_and(|line| line.is_err()));
    }
}
