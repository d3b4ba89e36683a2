//! Tables that the user may edit: TOML, one named table an entry, in the user's own order.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use serde::de::DeserializeOwned;
use toml::de::{DeTable, DeValue};

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

/// A key that entries may have, and how it is written.
pub(super) struct Field {
    pub(super) key: &'static str,
    pub(super) kind: Kind,
    /// What could stand after the equals sign.
    pub(super) example: &'static str,
}

/// What a key's value is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Number,
    Text,
    YesOrNo,
}

impl Field {
    /// What to write instead of a value of another kind.
    fn instead_of(&self, value: &DeValue<'_>) -> Option<String> {
        let (is_right, how) = match self.kind {
            Kind::Number => (
                matches!(value, DeValue::Integer(_) | DeValue::Float(_)),
                "a number, without quotes",
            ),
            Kind::Text => (matches!(value, DeValue::String(_)), "text in quotes"),
            Kind::YesOrNo => (matches!(value, DeValue::Boolean(_)), "true or false"),
        };
        let Self { key, example, .. } = self;
        (!is_right).then(|| format!("`{key}` is {how}; write it as in `{key} = {example}`"))
    }
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

/// The entries of `text` in its own order; `origin` names it in errors, and `fields` are what an
/// entry may say, the first of them what it is about.
pub(super) fn entries<T: DeserializeOwned>(
    text: &str,
    origin: &str,
    fields: &[Field],
) -> Result<Vec<Entry<T>>, SyntaxError> {
    let syntax = |error: &toml::de::Error| SyntaxError {
        place: place(origin, text, error.span().map(|span| span.start)),
        message: error
            .span()
            .and_then(|span| unit_behind(text, span.start, fields))
            .unwrap_or_else(|| plainly(error.message().trim_end(), fields)),
    };
    let tables = DeTable::parse(text).map_err(|error| syntax(&error))?;
    let mut named: Vec<_> = tables.into_inner().into_iter().collect();
    // The parser sorts by name; the user's order is the order of the places in the text.
    named.sort_by_key(|(name, _)| name.span().start);
    named
        .into_iter()
        .map(|(name, value)| {
            let at = |offset: usize| place(origin, text, Some(offset));
            let place = at(name.span().start);
            let DeValue::Table(table) = value.get_ref() else {
                let message = match value.get_ref() {
                    DeValue::Array(_) => listed(name.get_ref(), fields),
                    _ => no_table(name.get_ref(), fields),
                };
                return Err(SyntaxError { place, message });
            };
            for (key, value) in table {
                let field = fields.iter().find(|field| field.key == key.get_ref().as_ref());
                let instead = field.and_then(|field| field.instead_of(value.get_ref()));
                if let Some(message) = instead {
                    return Err(SyntaxError { place: at(value.span().start), message });
                }
            }
            let deserializer = toml::de::ValueDeserializer::from(value);
            let values = T::deserialize(deserializer).map_err(|error| syntax(&error))?;
            Ok(Entry { name: name.into_inner().into_owned(), place, values })
        })
        .collect()
}

/// What to write where an entry is a list, as under a heading in two pairs of brackets.
fn listed(name: &str, fields: &[Field]) -> String {
    format!(
        "`{name}` is a list; headings are the entries' own names, each in one pair of brackets, as \
         in `[daylight]`{}",
        example(fields)
    )
}

/// What stands under a heading.
fn example(fields: &[Field]) -> String {
    fields.first().map_or_else(String::new, |field| {
        format!(", and under it lines such as `{} = {}`", field.key, field.example)
    })
}

/// What to write where an entry is no table.
fn no_table(name: &str, fields: &[Field]) -> String {
    let example = example(fields);
    if fields.iter().any(|field| field.key == name) {
        return format!("`{name}` stands under no name; write one above it, as in `[daylight]`");
    }
    let is_bare = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    let quote = if name.chars().all(is_bare) { "" } else { "\"" };
    format!("write `{name}` as a heading, `[{quote}{name}{quote}]`{example}")
}

/// What to write where a line at which the parser fails says a number with a unit, as `kelvin = 3200K`.
fn unit_behind(text: &str, at: usize, fields: &[Field]) -> Option<String> {
    let (before, behind) = text.split_at_checked(at)?;
    let (key, told) = before.rsplit('\n').next().unwrap_or_default().split_once('=')?;
    let value = [told, behind.lines().next().unwrap_or_default()].concat();
    let value = value.split('#').next().unwrap_or_default().trim();
    let number = value.trim_end_matches(|c: char| c.is_alphabetic() || c == '°').trim_end();
    let is_one = number.len() < value.len() && number.parse::<f64>().is_ok_and(f64::is_finite);
    let is_number = |field: &&Field| field.kind == Kind::Number && field.key == key.trim();
    let Field { key, .. } = fields.iter().find(is_number).filter(|_| is_one)?;
    Some(format!("`{key}` is a number without a unit; write `{key} = {number}`"))
}

/// A complaint of the parser's, in the words of who writes a table.
fn plainly(message: &str, fields: &[Field]) -> String {
    let message = message.replace('\n', "; ");
    let quoted = message.split('`').nth(1).unwrap_or_default();
    let known = || fields.iter().map(|field| format!("`{}`", field.key)).collect::<Vec<_>>();
    if message.starts_with("unknown field") {
        return format!("there is no `{quoted}` here; write one of {}", known().join(", "));
    }
    if let Some(rest) = message.strip_prefix("unknown variant ") {
        return rest.replacen(", expected", " is not known; write", 1);
    }
    let missing =
        fields.iter().find(|field| message.starts_with("missing field") && field.key == quoted);
    match missing {
        Some(Field { key, example, .. }) => {
            format!("`{key}` is missing; write it as in `{key} = {example}`")
        }
        None => message,
    }
}

fn place(origin: &str, text: &str, offset: Option<usize>) -> String {
    match offset.and_then(|offset| text.get(..offset)) {
        Some(before) => format!("{origin}, line {}", before.matches('\n').count() + 1),
        None => origin.to_owned(),
    }
}
