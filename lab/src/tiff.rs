//! Writes TIFF directories (TIFF 6.0, section 2).

/// The order of bytes in a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ByteOrder {
    /// `II`.
    #[default]
    LittleEndian,
    /// `MM`.
    BigEndian,
}

impl ByteOrder {
    /// A number of 16 bits.
    #[must_use]
    pub fn short(self, number: u16) -> [u8; 2] {
        match self {
            Self::LittleEndian => number.to_le_bytes(),
            Self::BigEndian => number.to_be_bytes(),
        }
    }

    /// A number of 32 bits.
    #[must_use]
    pub fn long(self, number: u32) -> [u8; 4] {
        match self {
            Self::LittleEndian => number.to_le_bytes(),
            Self::BigEndian => number.to_be_bytes(),
        }
    }

    /// What a file in this order starts with, up to where its first directory follows.
    #[must_use]
    pub fn header(self) -> Vec<u8> {
        let mark = match self {
            Self::LittleEndian => *b"II",
            Self::BigEndian => *b"MM",
        };
        [&mark[..], &self.short(42), &self.long(HEADER_LENGTH as u32)].concat()
    }
}

/// Length of a file's header, and so the place of its first directory.
pub const HEADER_LENGTH: usize = 8;

/// The values of one entry, in one of the field types.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// BYTE.
    Bytes(Vec<u8>),
    /// ASCII, without its closing zero.
    Ascii(String),
    /// SHORT.
    Shorts(Vec<u16>),
    /// LONG.
    Longs(Vec<u32>),
    /// RATIONAL.
    Rationals(Vec<[u32; 2]>),
    /// SRATIONAL.
    SignedRationals(Vec<[i32; 2]>),
    /// UNDEFINED.
    Undefined(Vec<u8>),
}

impl Value {
    /// One SHORT.
    #[must_use]
    pub fn short(number: u16) -> Self {
        Self::Shorts(vec![number])
    }

    /// One LONG.
    #[must_use]
    pub fn long(number: u32) -> Self {
        Self::Longs(vec![number])
    }

    /// Numbers as RATIONALs in steps of 1/10 000.
    #[must_use]
    pub fn decimals(numbers: &[f64]) -> Self {
        Self::Rationals(numbers.iter().map(|v| [(v * 1e4).round() as u32, 10_000]).collect())
    }

    /// Numbers as SRATIONALs in steps of 1/10 000.
    #[must_use]
    pub fn signed_decimals(numbers: &[f64]) -> Self {
        Self::SignedRationals(numbers.iter().map(|v| [(v * 1e4).round() as i32, 10_000]).collect())
    }

    /// Field type, number of values, and their bytes.
    fn parts(&self, order: ByteOrder) -> (u16, u32, Vec<u8>) {
        let longs = |numbers: &mut dyn Iterator<Item = u32>| {
            numbers.flat_map(|number| order.long(number)).collect::<Vec<u8>>()
        };
        match self {
            Self::Bytes(bytes) => (1, bytes.len() as u32, bytes.clone()),
            Self::Ascii(text) => {
                let bytes: Vec<u8> = text.bytes().chain([0]).collect();
                (2, bytes.len() as u32, bytes)
            }
            Self::Shorts(numbers) => {
                let bytes = numbers.iter().flat_map(|number| order.short(*number)).collect();
                (3, numbers.len() as u32, bytes)
            }
            Self::Longs(numbers) => (4, numbers.len() as u32, longs(&mut numbers.iter().copied())),
            Self::Rationals(numbers) => {
                (5, numbers.len() as u32, longs(&mut numbers.as_flattened().iter().copied()))
            }
            Self::Undefined(bytes) => (7, bytes.len() as u32, bytes.clone()),
            Self::SignedRationals(numbers) => {
                let bits = &mut numbers.as_flattened().iter().map(|number| *number as u32);
                (10, numbers.len() as u32, longs(bits))
            }
        }
    }
}

/// One image file directory at `start` of the file, with `next` the place of the one that follows (0 for none).
///
/// The entries are put in order of their tags. The length does not depend on what numbers the values hold.
#[must_use]
pub fn directory(order: ByteOrder, start: usize, entries: &[(u16, Value)], next: u32) -> Vec<u8> {
    let mut entries: Vec<&(u16, Value)> = entries.iter().collect();
    entries.sort_by_key(|(tag, _)| *tag);
    let table_length = 2 + 12 * entries.len() + 4;
    let mut table = order.short(entries.len() as u16).to_vec();
    let mut overflow = Vec::new();
    for (tag, value) in entries {
        let (kind, count, mut bytes) = value.parts(order);
        table.extend(order.short(*tag));
        table.extend(order.short(kind));
        table.extend(order.long(count));
        if bytes.len() <= 4 {
            bytes.resize(4, 0);
            table.extend(bytes);
        } else {
            table.extend(order.long((start + table_length + overflow.len()) as u32));
            bytes.resize(bytes.len().next_multiple_of(2), 0);
            overflow.extend(bytes);
        }
    }
    table.extend(order.long(next));
    table.extend(overflow);
    table
}
