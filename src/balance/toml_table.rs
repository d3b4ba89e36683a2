//! Tables that the user may edit: TOML, one named table an entry, in the user's own order.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use serde::de::DeserializeOwned;

/// One entry as written.
pub(super) struct Entry<T> {
    pub(super) name: String,
    /// File and line, for errors.
    pub(super) place: String,
    pub(super) values: T,
}

/// What does not parse: where, and what is wrong there.
pub(super) struct SyntaxError {
    pub(super) place: String,
    pub(super) message: String,
}

/// A larger file is no table that somebody wrote.
const MOST_BYTES: u64 = 1 << 20;

/// The text of a table's file; never more of it than a table can have.
pub(super) fn text_of(path: &Path) -> io::Result<String> {
    let mut text = String::new();
    let length = File::open(path)?.take(MOST_BYTES + 1).read_to_string(&mut text)?;
    if length as u64 > MOST_BYTES {
        return Err(io::Error::new(io::ErrorKind::InvalidData, "it is too large for a table"));
    }
    Ok(text)
}

/// The entries of `text` in its own order; `origin` names it in errors.
pub(super) fn entries<T: DeserializeOwned>(
    text: &str,
    origin: &str,
) -> Result<Vec<Entry<T>>, SyntaxError> {
    let syntax = |error: &toml::de::Error| SyntaxError {
        place: place(origin, text, error.span().map(|span| span.start)),
        message: error.message().trim_end().replace('\n', "; "),
    };
    let tables = toml::de::DeTable::parse(text).map_err(|error| syntax(&error))?;
    let mut named: Vec<_> = tables.into_inner().into_iter().collect();
    // The parser sorts by name; the user's order is the order of the places in the text.
    named.sort_by_key(|(name, _)| name.span().start);
    named
        .into_iter()
        .map(|(name, value)| {
            let place = place(origin, text, Some(name.span().start));
            let deserializer = toml::de::ValueDeserializer::from(value);
            let values = T::deserialize(deserializer).map_err(|error| syntax(&error))?;
            Ok(Entry { name: name.into_inner().into_owned(), place, values })
        })
        .collect()
}

fn place(origin: &str, text: &str, offset: Option<usize>) -> String {
    match offset.and_then(|offset| text.get(..offset)) {
        Some(before) => format!("{origin}, line {}", before.matches('\n').count() + 1),
        None => origin.to_owned(),
    }
}
